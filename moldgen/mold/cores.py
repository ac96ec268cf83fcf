"""What makes the bore of a turned part: the lower half itself, a separate core, or the real metal that is cast on."""

from __future__ import annotations

import math
from typing import Final

from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.plan import CorePlan, Decision, InsertPlan
from moldgen.remarks import Refusal
from moldgen.shapes import Path, Revolved, Vertex

SEAT_MM: Final = 4.0
SEAT_TAPER: Final = math.tan(math.radians(8.0))
DEEPEST_GROOVE: Final = 2.0
"""Depth over wall up to which a ring can be reached in its groove and the lower half may carry the core."""
TALLEST_CORE: Final = 1.5
"""Height over diameter up to which a printed core on the lower half is stiff."""
BORE_LEAD_MM: Final = 0.6


def core_and_insert(
    shape: Revolved, order: Order, decisions: list[Decision]
) -> tuple[CorePlan | None, InsertPlan | None, bool]:
    """(separate core, insert, whether the lower half carries the core) for a shape that hangs below z = 0."""
    if order.insert is not None:
        decisions.append(
            Decision("the real metal is the core", "the rubber bonds to it; the mold seals on its end faces")
        )
        return None, _insert(shape, order), False
    bore, height = shape.bore_radius_mm, shape.height_mm
    if bore <= 0.0:
        return None, None, False
    wall = shape.profile.bounds[2] - bore
    slender = height > DEEPEST_GROOVE * wall or height > 2.0 * TALLEST_CORE * bore
    choice = order.choices.core
    if choice == "part_of_lower" or (choice == "by_rule" and not slender):
        why = (
            "as ordered"
            if choice != "by_rule"
            else f"a groove {height:.1f} mm deep and {wall:.1f} mm wide lets the ring out by hand"
        )
        decisions.append(Decision("the core is part of the lower half", why))
        return None, None, True
    why = (
        "as ordered"
        if choice != "by_rule"
        else f"a groove {height:.1f} mm deep and {wall:.1f} mm wide would hold the part"
    )
    decisions.append(
        Decision("a separate core, seated in both halves", f"{why}; the part comes out on its core and is rolled off")
    )
    return _core(shape, order), None, False


def _core(shape: Revolved, order: Order) -> CorePlan:
    """A pin that fills the bore and centres itself on a cone at each end.

    The lower seat is the core's own cone: its weight closes the gap. The upper seat is deeper and wider by the
    printer's clearance, so that it guides the core without holding the halves apart.
    """
    radius, height = shape.bore_radius_mm, shape.height_mm
    seat = min(SEAT_MM, 1.5 * radius)
    tip = radius - seat * SEAT_TAPER
    if tip < 1.0:
        raise CannotBeMadeError(
            (
                Refusal(
                    ("mold", "core"),
                    f"a bore of {2 * radius:.2f} mm asks for a separate core too thin to print",
                    "Choose `core: part_of_lower` under `mold`, or make the part without its bore and drill it.",
                ),
            )
        )
    gap = 0.5 * order.printer.clearance_mm
    profile = _from_axis((tip, -height - seat), (radius, -height), (radius, 0.0), (tip, seat))
    lower = _from_axis((tip, -height - seat), (radius, -height))
    upper = _from_axis((radius + gap, 0.0), (tip + gap, seat + gap))
    return CorePlan(profile, lower, upper)


def _insert(shape: Revolved, order: Order) -> InsertPlan:
    """The metal in the mold: centred by its bore on a pin, or by its outside in a recess of each half.

    What stands beyond the rubber on either side lies in the halves; a hub no wider than its tyre stands on the floor.
    """
    metal = order.insert
    assert metal is not None
    radius, height = 0.5 * metal.diameter_mm, shape.height_mm
    beyond = 0.5 * (metal.width_mm - height)
    bore = 0.5 * metal.bore_mm if metal.bore_mm is not None else 0.0
    body = Path(
        (
            Vertex(bore, -height - beyond),
            Vertex(radius, -height - beyond),
            Vertex(radius, beyond),
            Vertex(bore, beyond),
        )
    )
    slip = 0.25 * order.printer.clearance_mm
    upper = None
    if beyond > 0.0:
        lower = _from_axis(
            (radius + slip, -height - beyond), (radius + slip, -height), (radius, -height), (radius, 0.0)
        )
        upper = _from_axis((radius + slip, 0.0), (radius + slip, beyond))
    else:
        lower = _from_axis((radius, -height), (radius, 0.0))
    pin = None
    if bore > 0.0:
        pin_radius = bore - slip
        top = beyond - 0.2 * metal.width_mm
        lead = min(BORE_LEAD_MM, 0.3 * pin_radius)
        pin = _from_axis((pin_radius, -height - beyond), (pin_radius, top - lead), (pin_radius - lead, top))
    return InsertPlan(body, lower, upper, pin)


def _from_axis(*points: tuple[float, float]) -> Path:
    """A half-section bounded by the axis and by points that run upwards."""
    return Path((Vertex(0.0, points[0][1]), *(Vertex(r, z) for r, z in points), Vertex(0.0, points[-1][1])))
