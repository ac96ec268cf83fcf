"""Every proof in order: what a build runs before it is moved into place, and what `inspect` runs again later."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from moldgen.inspection import balance, watertight
from moldgen.inspection.filling import filling
from moldgen.inspection.findings import ClosedMold, Finding
from moldgen.parts import kernel
from moldgen.sizing import Sizing


def proofs(mold: ClosedMold, sized: Sizing) -> Iterator[Finding]:
    """All findings on the bodies, good and bad."""
    yield from watertight.closed(mold.bodies.printed, mold.printed)
    yield from balance.in_kernel(mold, sized.mold_shape.volume_mm3)
    yield from balance.on_meshes(mold)
    yield from filling(mold)


def read_back_all(folder: Path, mold: ClosedMold) -> Iterator[Finding]:
    """All findings on the printable files in a folder."""
    for role, body in mold.bodies.printed.items():
        yield from watertight.read_back(folder, role, kernel.volume_mm3(body))
