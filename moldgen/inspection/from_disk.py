"""An earlier build, read back from its folder and proved again: nothing is taken from memory, and little on trust."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldgen import case, planning, sizing
from moldgen.errors import OutputError
from moldgen.inspection import watertight
from moldgen.inspection.closed_mold import ClosedMold, closed_mold
from moldgen.inspection.findings import Finding
from moldgen.inspection.in_kernel import closed_solids
from moldgen.inspection.on_meshes import jigs_on_meshes
from moldgen.inspection.proofs import proofs
from moldgen.jigs.bodies import JigBodies, made
from moldgen.jigs.order import jigs_of
from moldgen.mold.bodies import carry_out
from moldgen.output.directory import JOB_FILE, SPEC_FILE
from moldgen.parts import kernel
from moldgen.sizing import Sizing


@dataclass(frozen=True)
class Inspection:
    """What was found in the folder of an earlier build."""

    folder: Path
    name: str
    findings: tuple[Finding, ...]

    @property
    def passed(self) -> bool:
        return all(finding.passed for finding in self.findings)

    def as_json(self) -> dict[str, Any]:
        return {
            "schema": "moldgen/inspect/1",
            "directory": self.folder.as_posix(),
            "name": self.name,
            "inspection": {"passed": self.passed, "findings": [finding.as_json() for finding in self.findings]},
        }


def inspect(folder: Path) -> Inspection:
    """Reads STEP, STL and 3MF back and proves again what the build claimed.

    The plan is made anew from the folder's copy of the spec; halves and cores are the STEP files' solids. Raises
    OutputError where the folder holds no build, SpecError where its spec can no longer be used.
    """
    record = _record(folder)
    sized = sizing.size(case.load(folder / SPEC_FILE))
    findings = [*_unchanged(folder, record), *_claims(record, sized)]
    if all((folder / entry["path"]).is_file() for entry in record["files"]):
        mold = _read_mold(folder, sized)
        jigs = _read_jigs(folder, sized)
        solids = {**mold.bodies.printed, **jigs.bodies}
        findings += watertight.read_back(folder, {role: kernel.volume_mm3(body) for role, body in solids.items()})
        findings += proofs(mold, sized)
        findings += [*closed_solids(jigs.bodies), *jigs_on_meshes(jigs.meshes, printer=sized.case.printer)]
    return Inspection(folder, sized.case.name, tuple(findings))


def _record(folder: Path) -> dict[str, Any]:
    try:
        record = json.loads((folder / JOB_FILE).read_text(encoding="utf-8"))
        record["volumes_mm3"], [(e["path"] + "", e["sha256"] + "") for e in record["files"]]  # a build's has all
    except FileNotFoundError:
        raise OutputError(
            f"{folder}: there is no {JOB_FILE} in it. Give the folder of a build, such as out/NAME."
        ) from None
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise OutputError(f"{folder / JOB_FILE}: it is not the record of a build ({error}). Build again.") from error
    return dict(record)


def _unchanged(folder: Path, record: dict[str, Any]) -> Iterator[Finding]:
    """Every file that the record lists is there, byte for byte."""
    bad = 0
    for entry in record["files"]:
        path = folder / entry["path"]
        if not path.is_file():
            bad += 1
            yield Finding("files_unchanged", False, 0.0, 1.0, None, f"{entry['path']}: is missing")
        elif hashlib.sha256(path.read_bytes()).hexdigest() != entry["sha256"]:
            bad += 1
            yield Finding("files_unchanged", False, 0.0, 1.0, None, f"{entry['path']}: is not the file that was built")
    if not bad:
        count = float(len(record["files"]))
        yield Finding(
            "files_unchanged", True, count, count, None, f"all {len(record['files'])} files are as they were built"
        )


def _claims(record: dict[str, Any], sized: Sizing) -> Iterator[Finding]:
    """The record's volumes are those that its own spec gives."""
    plan = planning.planned(sized)
    for name, value in (
        ("pour", plan.pour_mm3),
        ("cavity", plan.cavity.volume_mm3),
        ("part_free", sized.free_shape.volume_mm3),
    ):
        claimed = float(record["volumes_mm3"][name])
        off = claimed / value - 1.0
        text = f"{name}: {claimed:.1f} mm³ claimed, {value:.1f} mm³ by the spec in the folder"
        yield Finding("claims", abs(off) < 1e-5, off, 1e-5, None, text)


def _read_mold(folder: Path, sized: Sizing) -> ClosedMold:
    """The closed mold with the solids of the STEP files in place of what the plan would give."""
    plan = planning.planned(sized)
    bodies = carry_out(plan)
    (x0, y0), *_ = plan.places
    core = kernel.read_step(folder / "core.step") if bodies.cores else None
    lower, upper = (
        kernel.only_solid(kernel.read_step(folder / f"{role}.step"), stage=f"{role}.step")
        for role in ("mold_lower", "mold_upper")
    )
    found = replace(
        bodies,
        lower=lower,
        upper=upper,
        plain_lower=lower,  # with its letters: a file has no other
        plain_upper=upper,
        cores=() if core is None else tuple(kernel.moved(core, x - x0, y - y0) for x, y in plan.places),
        wedge=None if bodies.wedge is None else kernel.read_step(folder / "jig_wedge.step"),
    )
    return closed_mold(plan, found)


def _read_jigs(folder: Path, sized: Sizing) -> JigBodies:
    """The jigs that the spec calls for, with the solids of the STEP files."""
    jigs = jigs_of(sized)
    roles = [piece.role for jig in jigs for piece in jig.pieces]
    bodies = {
        role: kernel.only_solid(kernel.read_step(folder / f"{role}.step"), stage=f"{role}.step") for role in roles
    }
    return made(jigs, bodies)
