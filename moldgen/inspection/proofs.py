"""Every proof: what a build runs before it is moved into place, and what `inspect` runs again later."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.inspection import in_kernel
from moldgen.inspection.closed_mold import ClosedMold
from moldgen.inspection.findings import Finding
from moldgen.inspection.on_meshes import mold_on_meshes
from moldgen.mold.bodies import MoldBodies
from moldgen.mold.compensation import for_printer
from moldgen.mold.draft import with_draft
from moldgen.mold.plan import CavityPlan, MoldPlan
from moldgen.shapes import Revolved
from moldgen.sizing import Sizing


def proofs(mold: ClosedMold, sized: Sizing) -> Iterator[Finding]:
    """All findings on a mold's bodies, good and bad."""
    yield from mold_in_kernel(mold.plan, mold.bodies, sized)
    elongation = sized.case.given.elastomer.elongation_at_break
    yield from mold_on_meshes(mold, printer=sized.case.printer, elongation_at_break=elongation)


def mold_in_kernel(plan: MoldPlan, bodies: MoldBodies, sized: Sizing) -> Iterator[Finding]:
    """The findings that need the kernel."""
    yield from in_kernel.closed_solids(bodies.printed)
    yield from in_kernel.balance(plan, bodies, _wanted_mm3(plan.cavity, sized))


def _wanted_mm3(cavity: CavityPlan, sized: Sizing) -> float:
    """What a cavity as modelled must hold: the sized one with what the printer adds to it undone."""
    drafted, printer = with_draft(sized.mold_shape, sized.case.spec.mold.draft_deg), sized.case.printer
    above = 0.0
    if isinstance(drafted, Revolved) and cavity.in_both_halves:
        above = cavity.above_mm + printer.z_offset_mm
        drafted = Revolved(drafted.profile.mirrored_y()) if cavity.upside_down else drafted
    wanted = for_printer(drafted, printer, on_metal=sized.insert is not None, above_mm=above)
    return wanted.volume_mm3 * cavity.share
