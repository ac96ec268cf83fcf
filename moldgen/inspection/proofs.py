"""Every proof: what a build runs before it is moved into place, and what `inspect` runs again later."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.inspection import in_kernel
from moldgen.inspection.closed_mold import ClosedMold
from moldgen.inspection.findings import Finding
from moldgen.inspection.on_meshes import mold_on_meshes
from moldgen.mold.compensation import for_printer
from moldgen.mold.draft import with_draft
from moldgen.sizing import Sizing


def proofs(mold: ClosedMold, sized: Sizing) -> Iterator[Finding]:
    """All findings on a mold's bodies, good and bad."""
    yield from mold_in_kernel(mold, sized)
    elongation = sized.case.given.elastomer.elongation_at_break
    yield from mold_on_meshes(mold, printer=sized.case.printer, elongation_at_break=elongation)


def mold_in_kernel(mold: ClosedMold, sized: Sizing) -> Iterator[Finding]:
    """The findings that need the kernel."""
    yield from in_kernel.closed_solids(mold.bodies.printed)
    drafted = with_draft(sized.mold_shape, sized.case.spec.mold.draft_deg)
    wanted = for_printer(drafted, sized.case.printer, on_metal=sized.insert is not None)
    yield from in_kernel.balance(mold.plan, mold.bodies, wanted.volume_mm3 * mold.plan.cavity.share)
