"""The whole job, stage after stage: spec, sizing, plan, bodies, proofs, pour, files."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import BrokenExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final, ParamSpec, TypeAlias, TypeVar

from moldgen import from_meshes
from moldgen.alongside import Alongside
from moldgen.bench import steps
from moldgen.case import Case
from moldgen.casting.recipe import weigh_out_json
from moldgen.drawing.dxf import dxf_text
from moldgen.drawing.model import Drawing
from moldgen.drawing.mold import mold_drawing
from moldgen.drawing.part import part_drawing
from moldgen.drawing.svg import svg_text
from moldgen.drawing.template import template_drawing
from moldgen.errors import OutputError
from moldgen.feedback import history
from moldgen.feedback.bench_checks import expected_checks
from moldgen.from_meshes import Meshes
from moldgen.inspection.closed_mold import ClosedMold, meshed_half, with_meshed_halves
from moldgen.inspection.findings import Finding
from moldgen.inspection.in_kernel import closed_solids, mold_in_kernel
from moldgen.inspection.watertight import read_back
from moldgen.jigs.bodies import JigBodies, carried_out, made
from moldgen.jigs.order import jigs_of
from moldgen.jigs.plan import Jig
from moldgen.mold.bodies import Half, MoldBodies, lower_half, upper_half, with_halves
from moldgen.mold.plan import MoldPlan
from moldgen.needed import needed
from moldgen.output import directory
from moldgen.output.bodies import FileRecord, on_bed, recorded, write_printed
from moldgen.output.directory import JOB_FILE, SPEC_FILE
from moldgen.output.sheet.html import PICTURES, SHEET_FILE, write_sheet
from moldgen.output.sheet.pdf import PDF_FILE, write_pdf
from moldgen.output.step import write_assembly, write_step
from moldgen.output.stl import write_stl
from moldgen.parts import kernel
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import meshed
from moldgen.parts.solids import solid
from moldgen.planning import planned
from moldgen.pouring import Pour, poured
from moldgen.printing import PrintJob, print_job, print_settings
from moldgen.sizing import Sizing, remark_json
from moldgen.spec.document import kept_at, named_file

P = ParamSpec("P")
T = TypeVar("T")

SCHEMA: Final = "moldgen/build/1"


@dataclass(frozen=True)
class Build:
    """What a build made, proved and wrote."""

    sizing: Sizing
    plan: MoldPlan
    findings: tuple[Finding, ...]
    pour: Pour
    jigs: tuple[Jig, ...]
    printed: tuple[PrintJob, ...]
    files: tuple[FileRecord, ...]
    directory: Path
    seconds: dict[str, float] = field(compare=False)

    @property
    def passed(self) -> bool:
        return all(finding.passed for finding in self.findings)

    def as_json(self) -> dict[str, Any]:
        """The contract's `build` object."""
        return {
            **record(self.sizing, self.plan, self.findings, self.pour, self.jigs, self.printed, self.files),
            "directory": self.directory.as_posix(),
            "seconds": {stage: round(s, 3) for stage, s in self.seconds.items()},
        }


def record(
    sized: Sizing,
    plan: MoldPlan,
    findings: tuple[Finding, ...],
    pour: Pour,
    jigs: tuple[Jig, ...],
    printed: tuple[PrintJob, ...],
    files: tuple[FileRecord, ...],
) -> dict[str, Any]:
    """All that does not change from one run to the next: what job.json holds."""
    cavity = plan.cavity.volume_mm3
    size = sized.as_json()
    return {
        **size,
        "schema": SCHEMA,
        "version": version("moldgen"),
        "warnings": [*size["warnings"], *(remark_json(remark) for remark in pour.remarks)],
        "revision": sized.case.spec.mold.revision,
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
        "needed": list(needed(sized.case, plan, pour)),
        "printing": {
            **print_settings(sized.case.printer),
            "plastic_g": round(sum(job.plastic_g for job in printed), 1),
            "time_s": round(sum(job.time_s for job in printed)),
            "bodies": [job.as_json() for job in printed],
        },
        "steps": [step.as_json() for step in steps(sized.case, plan, pour, jigs, expected_checks(sized))],
        "jigs": [jig.as_json() for jig in jigs],
        "inspection": {"passed": all(f.passed for f in findings), "findings": [f.as_json() for f in findings]},
        "files": [f.as_json() for f in files],
    }


def build(sized: Sizing, out: Path, *, pdf: bool = False, alongside: Alongside | None = None) -> Build:
    """Makes, proves and writes the mold of a sized part into out/NAME, whole or not at all; the sheet as PDF if wanted.

    What others can do is done by `alongside` while this process goes on, or in turn where there is nobody. Raises
    SpecError, GeometryError or OutputError; then nothing of this build is left and an earlier one stands.
    """
    seconds: dict[str, float] = {}
    alongside = alongside or Alongside()
    target = out / sized.case.name
    with directory.replaced(target) as folder, _told_if_lost():
        with _timed(seconds, "plan"):
            plan = planned(sized)
            jigs = jigs_of(sized)
        with _timed(seconds, "bodies and meshes"):
            one_half = alongside.kernel.submit(_meshed_half, plan, lower_half)
            other_half = _meshed_half(plan, upper_half)
            part = solid(sized.free_shape, stage="part")
            free = meshed(part)
            made_jigs = made(jigs, carried_out(jigs))
            mold = _closed(plan, one_half.result(), other_half)
        seen = alongside.meshes.submit(from_meshes.seen, _meshes(sized, mold, free, made_jigs))
        drawn = alongside.kernel.submit(_clocked, mold_drawing, sized=sized, plan=plan, bodies=mold.bodies)
        proven = alongside.kernel.submit(_clocked, _proven_in_kernel, sized, plan, mold.bodies)
        pour = poured(sized.case, plan)
        volumes_mm3 = {role: kernel.volume_mm3(body) for role, body in _solids(mold, made_jigs).items()}
        printed = _printed(mold, made_jigs, volumes_mm3, sized.case)
        with _timed(seconds, "files"):
            files = [*_write_bodies(folder, sized, mold, part, free), *_write_jigs(folder, sized, made_jigs)]
        with _timed(seconds, "proofs on files"):
            proven_here = (*closed_solids(made_jigs.bodies), *read_back(folder, volumes_mm3))
        with _timed(seconds, "drawings"):
            drawings = {"part": part_drawing(sized=sized)}
        with _timed(seconds, "waiting"):
            drawings["mold"], seconds["drawing of the mold"] = drawn.result()
            dxfs = {name: alongside.meshes.submit(dxf_text, drawing) for name, drawing in drawings.items()}
            proven_in_kernel, seconds["proofs in the kernel"] = proven.result()
            look, proven_on_meshes = seen.result().look, seen.result().findings
        with _timed(seconds, "drawings"):
            files += _write_drawings(folder, drawings, {name: dxf.result() for name, dxf in dxfs.items()})
        findings = (*proven_in_kernel, *proven_here, *proven_on_meshes)
        seconds |= seen.result().seconds
        with _timed(seconds, "sheet"):
            svgs = [svg_text(drawing) for drawing in drawings.values()]
            content = record(sized, plan, findings, pour, jigs, printed, _recorded(folder, files))
            write_sheet(folder, content, family=sized.case.family.title, look=look, drawings=svgs)
            files += [("sheet", SHEET_FILE), *(("picture", name) for name, _ in PICTURES)]
        if pdf:
            with _timed(seconds, "pdf"):
                template = template_drawing(sized=sized)
                pages = [*drawings.values(), *([template] if template else [])]
                write_pdf(folder, content, pages)
            files.append(("sheet", PDF_FILE))
        records = _recorded(folder, files)
        whole = record(sized, plan, findings, pour, jigs, printed, records)
        (folder / JOB_FILE).write_text(json.dumps(whole, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
        history.carried_over(
            target,
            folder,
            revision=sized.case.spec.mold.revision,
            spec_text=sized.case.document.text,
            mold_mm={name: size.value for name, size in sized.mold.items()},
        )
    return Build(sized, plan, findings, pour, jigs, printed, records, target, seconds)


@dataclass(frozen=True)
class _MeshedHalf:
    half: Half
    mesh: Mesh


def _meshed_half(plan: MoldPlan, make: Callable[[MoldPlan], Half]) -> _MeshedHalf:
    half = make(plan)
    return _MeshedHalf(half, meshed_half(plan, half.body))


def _closed(plan: MoldPlan, lower: _MeshedHalf, upper: _MeshedHalf) -> ClosedMold:
    return with_meshed_halves(plan, with_halves(plan, lower.half, upper.half), lower.mesh, upper.mesh)


def _meshes(sized: Sizing, mold: ClosedMold, free: Mesh, made_jigs: JigBodies) -> Meshes:
    return Meshes(
        mold=mold.meshes,
        part=free,
        jigs=made_jigs.meshes,
        printer=sized.case.printer,
        elongation_at_break=sized.case.given.elastomer.elongation_at_break,
    )


def _proven_in_kernel(sized: Sizing, plan: MoldPlan, bodies: MoldBodies) -> tuple[Finding, ...]:
    return tuple(mold_in_kernel(plan, bodies, sized))


def _clocked(work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> tuple[T, float]:
    """What the work gives, and the seconds that it took."""
    start = time.perf_counter()
    return work(*args, **kwargs), time.perf_counter() - start


@contextmanager
def _told_if_lost() -> Iterator[None]:
    """Raises OutputError where the process that works alongside comes to an end."""
    try:
        yield
    except BrokenExecutor as error:
        raise OutputError(
            "a process that helps with the mold has come to an end, perhaps for want of memory. Close other programs, "
            "and build again."
        ) from error


def _solids(mold: ClosedMold, made_jigs: JigBodies) -> dict[str, Any]:
    """What a printer makes, by role."""
    return {**mold.bodies.printed, **made_jigs.bodies}


def _printed(
    mold: ClosedMold, made_jigs: JigBodies, volumes_mm3: Mapping[str, float], case: Case
) -> tuple[PrintJob, ...]:
    copies = {"core": len(mold.cores)}
    meshes = {**mold.printed, **made_jigs.meshes}
    return tuple(
        print_job(
            role,
            printer=case.printer,
            size_mm=meshes[role].size_mm,
            volume_mm3=volume_mm3,
            area_mm2=meshes[role].area_mm2,
            copies=copies.get(role, 1),
        )
        for role, volume_mm3 in volumes_mm3.items()
    )


File: TypeAlias = tuple[str, str]
"""Role and path of a file in the build's folder."""


def _recorded(folder: Path, files: Iterable[File]) -> tuple[FileRecord, ...]:
    return tuple(recorded(folder, role, path) for role, path in files)


def _write_drawings(folder: Path, drawings: Mapping[str, Drawing], dxfs: Mapping[str, str]) -> Iterator[File]:
    for name, drawing in drawings.items():
        for suffix, text in (("svg", svg_text(drawing) + "\n"), ("dxf", dxfs[name])):
            (folder / f"{name}.{suffix}").write_text(text, encoding="utf-8", newline="\n")
            yield "drawing", f"{name}.{suffix}"


def _write_bodies(folder: Path, sized: Sizing, mold: ClosedMold, part: Any, free: Mesh) -> Iterator[File]:
    """Part and mold, the assembly as it stands closed, and the specs."""
    name = sized.case.name
    write_step([("part", part)], folder / "part.step", f"{name} part")
    write_stl(on_bed(free, upside_down=False), folder / "part.stl", f"{name} part")
    yield from (("part", f"part.{suffix}") for suffix in ("step", "stl"))
    for role, body in mold.bodies.printed.items():
        yield from _write_printed(folder, role, body, mold.printed[role], name)
    between = [("core", core) for core in mold.bodies.cores] + [("metal", metal) for metal in mold.bodies.inserts]
    halves = [folder / f"{role}.step" for role in ("mold_lower", "mold_upper")]
    write_assembly(halves, between, folder / "assembly.step", f"{name} assembly")
    yield "assembly", "assembly.step"
    (folder / SPEC_FILE).write_text(sized.case.document.text, encoding="utf-8")
    yield "spec", SPEC_FILE
    yield from _spec_files(folder, sized.case)


def _write_jigs(folder: Path, sized: Sizing, made_jigs: JigBodies) -> Iterator[File]:
    for role, body in made_jigs.bodies.items():
        yield from _write_printed(folder, role, body, made_jigs.meshes[role], sized.case.name)
    for jig in made_jigs.jigs:
        for table, text in jig.tables.items():
            (folder / table).write_text(text, encoding="utf-8", newline="")
            yield jig.role, table


def _write_printed(folder: Path, role: str, body: Any, mesh: Mesh, name: str) -> Iterator[File]:
    """STEP where it stands in the closed mold, STL and 3MF as it lies on the bed."""
    write_step([(role, body)], folder / f"{role}.step", f"{name} {role}")
    write_printed(folder, role, mesh, name)
    yield from ((role, f"{role}.{suffix}") for suffix in ("step", "stl", "3mf"))


def _spec_files(folder: Path, case: Case) -> Iterator[File]:
    """Copies of the files that the spec names, so that it can be built again from the folder alone."""
    for name in case.named_files:
        kept = folder / kept_at(name)
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(named_file(Path(case.document.file).parent, name).read_bytes())
        yield "spec", kept_at(name).as_posix()


@contextmanager
def _timed(seconds: dict[str, float], stage: str) -> Iterator[None]:
    start = time.perf_counter()
    yield
    seconds[stage] = seconds.get(stage, 0.0) + time.perf_counter() - start
