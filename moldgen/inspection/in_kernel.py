"""What only the kernel can say of its own solids: that each is valid (proof 1), and that nothing is lost (proof 2)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from moldgen.inspection.balance import CAVITY_TOLERANCE
from moldgen.inspection.findings import Finding
from moldgen.mold.bodies import (
    MoldBodies,
    Tools,
    engraved_mm3,
    lower_blank,
    lower_tools,
    set_back_mm3,
    up_to_parting,
    upper_blank,
    upper_tools,
)
from moldgen.mold.compensation import for_printer
from moldgen.mold.draft import with_draft
from moldgen.mold.plan import CavityPlan, KeyPlan, MoldPlan
from moldgen.parts import kernel
from moldgen.shapes import Revolved
from moldgen.sizing import Sizing

KERNEL_TOLERANCE: Final = 1e-6
OVERLAP_MM3: Final = 1e-3
FILM_MM: Final = 1e-4
"""A film of both halves so thick passes unseen here; above it their lands, which touch all over, are out of the way."""


def mold_in_kernel(plan: MoldPlan, bodies: MoldBodies, sized: Sizing) -> Iterator[Finding]:
    """The findings that need the kernel."""
    yield from closed_solids(bodies.printed)
    yield from balance(plan, bodies, _wanted_mm3(plan.cavity, sized))


def _wanted_mm3(cavity: CavityPlan, sized: Sizing) -> float:
    """What a cavity as modelled must hold: the sized one with what the printer adds to it undone."""
    drafted, printer = with_draft(sized.mold_shape, sized.case.spec.mold.draft_deg), sized.case.printer
    above = 0.0
    if isinstance(drafted, Revolved) and cavity.in_both_halves:
        above = cavity.above_mm + printer.z_offset_mm
        drafted = Revolved(drafted.profile.mirrored_y()) if cavity.upside_down else drafted
    wanted = for_printer(drafted, printer, on_metal=sized.insert is not None, above_mm=above)
    return wanted.volume_mm3 * cavity.share


def closed_solids(bodies: Mapping[str, Any]) -> Iterator[Finding]:
    """Each body, by its role, valid and one solid."""
    for role, body in bodies.items():
        count = len(kernel.solids_of(body))
        valid = bool(body.isValid()) and count == 1
        text = f"{role}: one valid solid" if valid else f"{role}: the kernel finds the solid invalid or in pieces"
        yield Finding("closed_solid", valid, float(count), 1.0, None, text)


def balance(plan: MoldPlan, bodies: MoldBodies, wanted_cavity_mm3: float) -> Iterator[Finding]:
    """Block = halves + what was cut away − what was grown on; no overlap; cavity = the part over (1 − s)³.

    The halves come from cuts, what was cut away from an intersection of blank and tools that are made anew from the
    plan, the block, its channel and the keys from closed forms, so that a boolean gone wrong cannot hide.
    """
    removed = _removed_mm3(plan, lower_tools(plan), blank=lower_blank(plan), with_lands=up_to_parting(plan))
    removed += _removed_mm3(plan, upper_tools(plan), blank=upper_blank(plan), with_lands=upper_blank(plan))
    closed = set_back_mm3(plan) + sum(engraved_mm3(label) for label in plan.labels)
    halves = kernel.volume_mm3(bodies.lower) + kernel.volume_mm3(bodies.upper)
    off = (halves + removed + closed - grown_on_mm3(plan)) / plan.block.volume_mm3 - 1.0
    yield Finding(
        "balance_kernel",
        abs(off) <= KERNEL_TOLERANCE,
        off,
        KERNEL_TOLERANCE,
        None,
        f"halves and what was cut from them make up the block to {off:+.1e}",
    )
    cavity = kernel.volume_mm3(bodies.cavities[0])
    off = cavity / wanted_cavity_mm3 - 1.0
    yield Finding(
        "cavity_volume",
        abs(off) <= CAVITY_TOLERANCE,
        off,
        CAVITY_TOLERANCE,
        None,
        f"cavity holds {cavity:.1f} mm³, {off:+.4%} of the part grown by the shrinkage",
    )
    off = kernel.volume_mm3(bodies.poured) / plan.pour_mm3 - 1.0
    yield Finding(
        "poured_volume",
        abs(off) <= CAVITY_TOLERANCE,
        off,
        CAVITY_TOLERANCE,
        None,
        f"{plan.pour_mm3:.1f} mm³ to be filled, {off:+.4%} by the kernel against the plan",
    )
    # One cavity stands for its copies here; the balance on meshes looks at all of them.
    filled, within = kernel.solids_of(bodies.poured)[0], [*bodies.cores, *bodies.inserts]
    lower, upper = bodies.plain_lower, bodies.plain_upper
    into_upper = _shared(_reaching_into(upper, lower), [upper])
    yield _overlap("the lower half", [*into_upper, *_shared([lower], [filled, *within])])
    yield _overlap("the upper half", _shared([upper], [filled, *within]))
    if within:
        yield _overlap("what is filled", _shared([filled], within))


def _removed_mm3(plan: MoldPlan, tools: Tools, *, blank: Any, with_lands: Any) -> float:
    """What the tools share with the half that they cut, one cavity's counted once for each place."""
    first, shared = _shared([with_lands], tools.first), _shared([blank], tools.shared)
    return len(plan.places) * sum(map(kernel.volume_mm3, first)) + sum(map(kernel.volume_mm3, shared))


def _shared(bodies: Sequence[Any], others: Sequence[Any]) -> list[Any]:
    """The solids that two groups of bodies, either of which may be empty, have in common."""
    return kernel.solids_of(kernel.common(bodies, others)) if bodies and others else []


def _reaching_into(upper: Any, lower: Any) -> list[Any]:
    """What of the lower half stands above the lowest of the upper one, mostly its keys.

    All else touches the upper half at best, on every land, and to follow each contact is what takes the kernel long.
    """
    box, z_mm = lower.BoundingBox(), upper.BoundingBox().zmin + FILM_MM
    top_mm = max(box.zmax, z_mm) + 1.0
    return _shared([lower], [kernel.box(box.xmin - 1.0, box.ymin - 1.0, z_mm, box.xmax + 1.0, box.ymax + 1.0, top_mm)])


def _overlap(what: str, pieces: Sequence[Any]) -> Finding:
    volume = sum(kernel.volume_mm3(piece) for piece in pieces)
    if volume <= OVERLAP_MM3:
        return Finding("no_overlap", True, volume, OVERLAP_MM3, None, f"{what} cuts into no other body")
    x, y, z = max(pieces, key=kernel.volume_mm3).Center().toTuple()
    text = f"{what} cuts into another body by {volume:.3f} mm³ at ({x:.2f}, {y:.2f}, {z:.2f}) mm"
    return Finding("no_overlap", False, volume, OVERLAP_MM3, (x, y, z), text)


def grown_on_mm3(plan: MoldPlan) -> float:
    """What stands on the lower half after it was cut: keys above the relief, and pins for the metal's bore."""
    keys = sum(_frustum_above(key, -plan.seal.relief_mm) for key in plan.keys)
    insert = plan.cavity.insert
    pins = len(plan.places) * Revolved(insert.pin).volume_mm3 if insert and insert.pin else 0.0
    return keys + pins


def _frustum_above(key: KeyPlan, z_mm: float) -> float:
    base, tip = 0.5 * key.base_diameter_mm, 0.5 * key.tip_diameter_mm
    low = base - z_mm * (base - tip) / key.height_mm
    return math.pi * (key.height_mm - z_mm) * (low * low + low * tip + tip * tip) / 3.0
