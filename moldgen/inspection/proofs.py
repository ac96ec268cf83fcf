"""Every proof in order: what a build runs before it is moved into place, and what `inspect` runs again later."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from moldgen.inspection import balance, watertight
from moldgen.inspection.demoulding import demoulding
from moldgen.inspection.filling import filling
from moldgen.inspection.findings import ClosedMold, Finding
from moldgen.inspection.fit import fit
from moldgen.inspection.printability import printability
from moldgen.inspection.running import running
from moldgen.inspection.walls import walls
from moldgen.mold.compensation import for_printer
from moldgen.mold.draft import with_draft
from moldgen.output.bodies import as_printed
from moldgen.parts import kernel
from moldgen.sizing import Sizing


def proofs(mold: ClosedMold, sized: Sizing) -> Iterator[Finding]:
    """All findings on the bodies, good and bad."""
    printer = sized.case.printer
    yield from watertight.closed(mold.bodies.printed, mold.printed)
    drafted = with_draft(sized.mold_shape, sized.case.spec.mold.draft_deg)
    wanted = for_printer(drafted, printer, on_metal=sized.insert is not None)
    yield from balance.in_kernel(mold, wanted.volume_mm3 * mold.plan.cavity.share)
    yield from balance.on_meshes(mold)
    yield from filling(mold)
    yield from demoulding(mold, elongation_at_break=sized.case.given.elastomer.elongation_at_break)
    yield from running(mold)
    yield from fit(mold, printer=printer)
    yield from walls(mold, printer=printer)
    lying = {role: as_printed(role, mesh) for role, mesh in mold.printed.items()}
    yield from printability(mold, lying=lying, printer=printer)


def read_back_all(folder: Path, mold: ClosedMold) -> Iterator[Finding]:
    """All findings on the printable files in a folder."""
    for role, body in mold.bodies.printed.items():
        yield from watertight.read_back(folder, role, kernel.volume_mm3(body))
