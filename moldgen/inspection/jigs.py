"""Proofs of jigs: each body a closed solid that lies on the bed, prints without supports, and reads back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from moldgen.inspection import watertight
from moldgen.inspection.findings import Finding
from moldgen.inspection.printability import bed_and_overhangs
from moldgen.jigs.bodies import JigBodies
from moldgen.output.bodies import on_bed
from moldgen.parts import kernel
from moldgen.printers import Printer


def jig_proofs(made: JigBodies, printer: Printer) -> Iterator[Finding]:
    """All findings on the bodies of jigs, good and bad."""
    yield from watertight.closed(made.bodies, made.meshes)
    lying = {role: on_bed(mesh, upside_down=False) for role, mesh in made.meshes.items()}
    yield from bed_and_overhangs(lying, standing=made.meshes, printer=printer)


def jigs_read_back(folder: Path, made: JigBodies) -> Iterator[Finding]:
    """All findings on the printable files of jigs in a folder."""
    for role, body in made.bodies.items():
        yield from watertight.read_back(folder, role, kernel.volume_mm3(body))
