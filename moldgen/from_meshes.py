"""What a build makes of its meshes besides files: proofs and pictures. None of it needs the CAD kernel.

What does it is imported when it is done, as the process that hands meshes over does not need it.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.parts.mesh import Mesh
from moldgen.printers import Printer

if TYPE_CHECKING:
    from moldgen.output.sheet.look import Look


@dataclass(frozen=True)
class Meshes:
    """Every body of a build as a mesh, and what they are held against."""

    mold: MoldMeshes
    part: Mesh
    jigs: Mapping[str, Mesh]
    printer: Printer
    elongation_at_break: float


@dataclass(frozen=True)
class Seen:
    """What came of them."""

    findings: tuple[Finding, ...]
    look: Look
    seconds: Mapping[str, float]


def seen(meshes: Meshes) -> Seen:
    """Proves the bodies, and draws what the page shows."""
    from moldgen.inspection.on_meshes import jigs_on_meshes, mold_on_meshes
    from moldgen.output.sheet.look import look_of

    started = time.perf_counter()
    findings = (
        *mold_on_meshes(meshes.mold, printer=meshes.printer, elongation_at_break=meshes.elongation_at_break),
        *jigs_on_meshes(meshes.jigs, printer=meshes.printer),
    )
    proved = time.perf_counter()
    look = look_of(meshes.mold, meshes.part)
    return Seen(findings, look, {"proofs on meshes": proved - started, "pictures": time.perf_counter() - proved})
