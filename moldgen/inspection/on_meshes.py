"""Every proof that looks at meshes, in order: none of them asks the CAD kernel, so another process can run them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from moldgen.inspection import balance, watertight
from moldgen.inspection.demoulding import demoulding
from moldgen.inspection.filling import filling
from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.fit import fit
from moldgen.inspection.printability import bed_and_overhangs, printability
from moldgen.inspection.running import running
from moldgen.inspection.walls import walls
from moldgen.output.bodies import as_printed, on_bed
from moldgen.parts.mesh import Mesh
from moldgen.printers import Printer


def mold_on_meshes(mold: MoldMeshes, *, printer: Printer, elongation_at_break: float) -> Iterator[Finding]:
    """All findings on a mold, good and bad."""
    yield from watertight.closed(mold.printed)
    yield from balance.on_meshes(mold)
    yield from filling(mold)
    yield from demoulding(mold, elongation_at_break=elongation_at_break)
    yield from running(mold)
    yield from fit(mold, printer=printer)
    yield from walls(mold, printer=printer)
    lying = {role: as_printed(role, mesh) for role, mesh in mold.printed.items()}
    yield from printability(mold, lying=lying, printer=printer)


def jigs_on_meshes(meshes: Mapping[str, Mesh], *, printer: Printer) -> Iterator[Finding]:
    """All findings on jigs, by role: each closed, on the bed, and printed without supports."""
    yield from watertight.closed(meshes)
    lying = {role: on_bed(mesh, upside_down=False) for role, mesh in meshes.items()}
    yield from bed_and_overhangs(lying, standing=meshes, printer=printer)
