"""What makes the bore of a turned part: the halves themselves, a separate core, or the real metal that is cast on."""

from __future__ import annotations

import math
from typing import Final

from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.parting import bore_side
from moldgen.mold.plan import CorePlan, Decision, InsertPlan
from moldgen.remarks import Refusal
from moldgen.shapes import Path, Revolved, Vertex

SEAT_MM: Final = 4.0
OPENING_TAPER: Final = math.tan(math.radians(7.0))
"""A little more than sprues and vents widen on each side."""
SEAT_TAPER: Final = math.tan(math.radians(8.0))
DEEPEST_GROOVE: Final = 2.0
"""Depth over wall up to which a ring can be reached in its groove and the halves may carry the core."""
TALLEST_CORE: Final = 1.5
"""Height over diameter up to which a printed core on the lower half is stiff."""
BORE_LEAD_MM: Final = 0.6


def core_and_insert(
    shape: Revolved, order: Order, decisions: list[Decision]
) -> tuple[CorePlan | None, InsertPlan | None, bool]:
    """(separate core, insert, whether the halves carry the core) for a profile parted at z = 0."""
    if order.insert is not None:
        decisions.append(
            Decision("the real metal is the core", "the rubber bonds to it; the mold seals on its end faces")
        )
        return None, _insert(shape, order), False
    bore = shape.bore_radius_mm
    if bore <= 0.0:
        return None, None, False
    _, _, _, high = shape.profile.bounds
    wall, deepest = _groove(shape)
    choice = order.choices.core
    groove = f"a groove {deepest:.1f} mm deep and {wall:.1f} mm wide"
    if not has_separate_core(shape, order):
        carrier = "the lower half" if high <= 0.0 else "both halves"
        why = "as ordered" if choice == "part_of_lower" else f"{groove} lets the ring out by hand"
        decisions.append(Decision(f"the core is part of {carrier}", why))
        return None, None, True
    why = "as ordered" if choice == "separate" else f"{groove} would hold the part"
    decisions.append(
        Decision("a separate core, seated in both halves", f"{why}; the part comes out on its core and is rolled off")
    )
    return _core(bore_side(shape.profile), order), None, False


def _groove(shape: Revolved) -> tuple[float, float]:
    """Width and depth of the groove that the cavity would be with its core part of the halves."""
    inner, low, outer, high = shape.profile.bounds
    return outer - inner, max(-low, high)


def has_separate_core(shape: Revolved, order: Order) -> bool:
    """Whether the bore asks for a core of its own; none is made where real metal is the core."""
    if order.insert is not None:
        return False
    wall, deepest = _groove(shape)
    slender = deepest > DEEPEST_GROOVE * wall or deepest > 2.0 * TALLEST_CORE * shape.bore_radius_mm
    choice = order.choices.core
    return bool(bore_side(shape.profile)) and (choice == "separate" or (choice == "by_rule" and slender))


def kept_free_mm(shape: Revolved, order: Order) -> float:
    """Radius within which the upper half seats core or metal, a sound wall about it included; no opening there."""
    wall = order.printer.least_wall_mm
    if order.insert is not None:
        beyond = _beyond_mm(shape, order)
        # An opening widens upwards beside the metal.
        seat = 0.5 * order.insert.diameter_mm / order.printer.xy_scale + _slip_mm(order) + OPENING_TAPER * beyond
        return seat + wall if beyond > 0.0 else 0.0
    if shape.bore_radius_mm <= 0.0 or not has_separate_core(shape, order):
        return 0.0
    return bore_side(shape.profile)[-1].x + 0.5 * order.printer.clearance_mm + thicker_mm(order) + wall


def thicker_mm(order: Order) -> float:
    """By how much a printed pin, core or key, and the printed wall round it come closer than they are modelled."""
    return max(order.printer.boss_offset_mm + order.printer.hole_offset_mm, 0.0)


def _beyond_mm(shape: Revolved, order: Order) -> float:
    """How far the metal reaches beyond the rubber at either end, `shape` being the cavity as modelled."""
    assert order.insert is not None
    return 0.5 * (order.insert.width_mm - (shape.height_mm + order.printer.z_offset_mm))


def _slip_mm(order: Order) -> float:
    """Gap to model round metal that a printed hole takes in."""
    return 0.25 * order.printer.clearance_mm + max(order.printer.hole_offset_mm, 0.0)


def _core(side: tuple[Vertex, ...], order: Order) -> CorePlan:
    """A pin that fills the bore and centres itself on a cone at each end.

    The lower seat prints as the core's own cone: its weight closes the gap. A cone that is 0.1 mm too thick would stand
    0.7 mm too high, so the seat gives way by what the printer adds to cone and hole. The upper seat is deeper and wider
    by the printer's clearance besides, so that it guides the core without holding the halves apart.
    """
    low, high, below, above = side[0].y, side[-1].y, side[0].x, side[-1].x
    seat = min(SEAT_MM, 1.5 * min(below, above))
    lower_tip, upper_tip = below - seat * SEAT_TAPER, above - seat * SEAT_TAPER
    if min(lower_tip, upper_tip) < 1.0:
        raise CannotBeMadeError(
            (
                Refusal(
                    ("mold", "core"),
                    f"a bore of {2 * min(below, above):.2f} mm asks for a separate core too thin to print",
                    "Choose `core: part_of_lower` under `mold`, or make the part without its bore and drill it.",
                ),
            )
        )
    gap, thicker = 0.5 * order.printer.clearance_mm, thicker_mm(order)
    profile = Path(
        (
            Vertex(0.0, low - seat),
            Vertex(lower_tip, low - seat),
            *side,
            Vertex(upper_tip, high + seat),
            Vertex(0.0, high + seat),
        )
    )
    lower = _from_axis((lower_tip + thicker, low - seat), (below + thicker, low)) if thicker > 0.0 else None
    wider = gap + thicker
    upper = _from_axis((above + wider, high), (upper_tip + wider, high + seat + gap))
    return CorePlan(profile, lower, upper)


def _insert(shape: Revolved, order: Order) -> InsertPlan:
    """The metal in the mold: centred by its bore on a pin, or by its outside in a recess of each half.

    What stands beyond the rubber on either side lies in the halves; a hub no wider than its tyre stands on the floor.
    The metal is what it is: where the printer makes the mold larger or smaller than its model, it is drawn so.
    """
    metal, printer = order.insert, order.printer
    assert metal is not None
    radius, height = 0.5 * metal.diameter_mm / printer.xy_scale, shape.height_mm  # it parts at its upper end face
    beyond = _beyond_mm(shape, order)
    # The upper recess prints deeper as every pocket does; one that would be no deeper than that is left out.
    rise = beyond if beyond <= 0.0 else max(beyond - printer.z_offset_mm, 0.0)
    bore = 0.5 * metal.bore_mm / printer.xy_scale if metal.bore_mm is not None else 0.0
    body = Path(
        (
            Vertex(bore, -height - beyond),
            Vertex(radius, -height - beyond),
            Vertex(radius, rise),
            Vertex(bore, rise),
        )
    )
    wide = radius + _slip_mm(order)
    upper = None
    if beyond > 0.0:
        lower = _from_axis((wide, -height - beyond), (wide, -height), (radius, -height), (radius, 0.0))
        upper = _from_axis((wide, 0.0), (wide, rise)) if rise > 0.0 else None
    else:
        lower = _from_axis((radius, -height), (radius, 0.0))
    pin = None
    if bore > 0.0:
        pin_radius = bore - 0.25 * printer.clearance_mm - max(printer.boss_offset_mm, 0.0)
        top = beyond - 0.2 * metal.width_mm
        lead = min(BORE_LEAD_MM, 0.3 * pin_radius)
        pin = _from_axis((pin_radius, -height - beyond), (pin_radius, top - lead), (pin_radius - lead, top))
    return InsertPlan(body, lower, upper, pin)


def _from_axis(*points: tuple[float, float]) -> Path:
    """A half-section bounded by the axis and by points that run upwards."""
    return Path((Vertex(0.0, points[0][1]), *(Vertex(r, z) for r, z in points), Vertex(0.0, points[-1][1])))
