"""The whole job, stage after stage: spec, sizing, plan, bodies, proofs, pour, files."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from moldgen.bench import steps
from moldgen.case import Case
from moldgen.casting.recipe import weigh_out_json
from moldgen.inspection.findings import ClosedMold, Finding, closed_mold
from moldgen.inspection.proofs import proofs, read_back_all
from moldgen.mold.bodies import carry_out
from moldgen.mold.plan import MoldPlan
from moldgen.output import directory
from moldgen.output.bodies import FileRecord, recorded, write_part, write_printed
from moldgen.output.directory import JOB_FILE, SPEC_FILE
from moldgen.output.step import write_step
from moldgen.parts.mesh import meshed
from moldgen.parts.solids import solid
from moldgen.planning import planned
from moldgen.pouring import Pour, poured
from moldgen.sizing import Sizing, remark_json
from moldgen.spec.document import kept_at, named_file

SCHEMA: Final = "moldgen/build/1"


@dataclass(frozen=True)
class Build:
    """What a build made, proved and wrote."""

    sizing: Sizing
    plan: MoldPlan
    findings: tuple[Finding, ...]
    pour: Pour
    files: tuple[FileRecord, ...]
    directory: Path
    seconds: dict[str, float] = field(compare=False)

    @property
    def passed(self) -> bool:
        return all(finding.passed for finding in self.findings)

    def as_json(self) -> dict[str, Any]:
        """The contract's `build` object."""
        return {
            **record(self.sizing, self.plan, self.findings, self.pour, self.files),
            "directory": self.directory.as_posix(),
            "seconds": {stage: round(s, 3) for stage, s in self.seconds.items()},
        }


def record(
    sized: Sizing, plan: MoldPlan, findings: tuple[Finding, ...], pour: Pour, files: tuple[FileRecord, ...]
) -> dict[str, Any]:
    """All that does not change from one run to the next: what job.json holds."""
    cavity = plan.cavity.volume_mm3
    size = sized.as_json()
    return {
        **size,
        "schema": SCHEMA,
        "warnings": [*size["warnings"], *(remark_json(remark) for remark in pour.remarks)],
        "cavities": len(plan.places),
        "decisions": [{"what": d.what, "why": d.why} for d in plan.decisions],
        "volumes_mm3": {
            "part_free": round(sized.free_shape.volume_mm3, 3),
            "cavity": round(cavity, 3),
            "runners": round(plan.pour_mm3 - cavity * len(plan.places), 3),
            "pour": round(plan.pour_mm3, 3),
        },
        "mix": weigh_out_json(pour.cup),
        "pour": pour.as_json(),
        "steps": [step.as_json() for step in steps(sized.case, plan, pour)],
        "inspection": {"passed": all(f.passed for f in findings), "findings": [f.as_json() for f in findings]},
        "files": [f.as_json() for f in files],
    }


def build(sized: Sizing, out: Path) -> Build:
    """Makes, proves and writes the mold of a sized part into out/NAME, whole or not at all.

    Raises SpecError, GeometryError or OutputError; then nothing of this build is left and an earlier one stands.
    """
    seconds: dict[str, float] = {}
    with _timed(seconds, "plan"):
        plan = planned(sized)
    with _timed(seconds, "bodies"):
        part = solid(sized.free_shape, stage="part")
        bodies = carry_out(plan)
    with _timed(seconds, "mesh"):
        mold = closed_mold(plan, bodies)
    pour = poured(sized.case, plan)
    target = out / sized.case.name
    with directory.replaced(target) as folder:
        with _timed(seconds, "files"):
            files = _write(folder, sized, mold, part)
        with _timed(seconds, "proofs"):
            findings = (*read_back_all(folder, mold), *proofs(mold, sized))
        made = record(sized, plan, findings, pour, files)
        (folder / JOB_FILE).write_text(json.dumps(made, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return Build(sized, plan, findings, pour, files, target, seconds)


def _write(folder: Path, sized: Sizing, mold: ClosedMold, part: Any) -> tuple[FileRecord, ...]:
    name = sized.case.name
    files = list(write_part(folder, part, meshed(part), name))
    for role, body in mold.bodies.printed.items():
        files += write_printed(folder, role, body, mold.printed[role], name)
    standing = [("mold_lower", mold.bodies.lower), ("mold_upper", mold.bodies.upper)]
    standing += [("core", core) for core in mold.bodies.cores] + [("metal", metal) for metal in mold.bodies.inserts]
    write_step(standing, folder / "assembly.step", f"{name} assembly")
    files.append(recorded(folder, "assembly", "assembly.step"))
    (folder / SPEC_FILE).write_text(sized.case.document.text, encoding="utf-8")
    files.append(recorded(folder, "spec", SPEC_FILE))
    return (*files, *_spec_files(folder, sized.case))


def _spec_files(folder: Path, case: Case) -> Iterator[FileRecord]:
    """Copies of the files that the spec names, so that it can be built again from the folder alone."""
    for name in case.named_files:
        kept = folder / kept_at(name)
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(named_file(Path(case.document.file).parent, name).read_bytes())
        yield recorded(folder, "spec", kept_at(name).as_posix())


@contextmanager
def _timed(seconds: dict[str, float], stage: str) -> Iterator[None]:
    start = time.perf_counter()
    yield
    seconds[stage] = time.perf_counter() - start
