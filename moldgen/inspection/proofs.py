"""Every proof: what a build runs before it is moved into place, and what `inspect` runs again later."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.inspection.closed_mold import ClosedMold
from moldgen.inspection.findings import Finding
from moldgen.inspection.in_kernel import mold_in_kernel
from moldgen.inspection.on_meshes import mold_on_meshes
from moldgen.sizing import Sizing


def proofs(mold: ClosedMold, sized: Sizing) -> Iterator[Finding]:
    """All findings on a mold's bodies, good and bad."""
    yield from mold_in_kernel(mold.plan, mold.bodies, sized)
    elongation = sized.case.given.elastomer.elongation_at_break
    yield from mold_on_meshes(mold, printer=sized.case.printer, elongation_at_break=elongation)
