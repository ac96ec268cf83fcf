"""What a build makes of its meshes: printable files, proofs and pictures. None of it needs the CAD kernel."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from moldgen.inspection import watertight
from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.on_meshes import jigs_on_meshes, mold_on_meshes
from moldgen.output.bodies import on_bed, write_printed
from moldgen.output.sheet.html import Look, look_of
from moldgen.output.stl import write_stl
from moldgen.parts.mesh import Mesh
from moldgen.printers import Printer


@dataclass(frozen=True)
class Meshes:
    """Every body of a build as a mesh, and what is to be made of them."""

    name: str
    mold: MoldMeshes
    part: Mesh
    jigs: Mapping[str, Mesh]
    volumes_mm3: Mapping[str, float]
    """Of the solids that are printed, by role, as the kernel has them."""
    printer: Printer
    elongation_at_break: float


@dataclass(frozen=True)
class Made:
    """What came of them."""

    findings: tuple[Finding, ...]
    look: Look
    seconds: Mapping[str, float]


def made(meshes: Meshes, folder: Path) -> Made:
    """Writes the printable files, reads them back, proves the bodies, and draws what the page shows."""
    started = time.perf_counter()
    write_stl(on_bed(meshes.part, upside_down=False), folder / "part.stl", f"{meshes.name} part")
    for role, mesh in (*meshes.mold.printed.items(), *meshes.jigs.items()):
        write_printed(folder, role, mesh, meshes.name)
    written = time.perf_counter()
    findings = (
        *watertight.read_back(folder, meshes.volumes_mm3),
        *mold_on_meshes(meshes.mold, printer=meshes.printer, elongation_at_break=meshes.elongation_at_break),
        *jigs_on_meshes(meshes.jigs, printer=meshes.printer),
    )
    proved = time.perf_counter()
    look = look_of(meshes.mold, meshes.part)
    drawn = time.perf_counter()
    seconds = {"printable files": written - started, "proofs on meshes": proved - written, "pictures": drawn - proved}
    return Made(findings, look, seconds)
