"""Belts that are not cast as the ring they are: laid out as a comb of hairpins, or cast as straight cord to be joined.

Both are ditches in the lower half under a flat lid, so that flash lies on an edge and not on what runs. They are
filled with the +x end raised: rubber comes in at every low place, air leaves at every high one. No fill meets the next
head-on in between, where it would shut air in; a long way from a gate to its vent gets further gates, each to be used
once the rubber shows in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from moldgen import loops
from moldgen.mold import filling
from moldgen.mold.compensation import for_printer
from moldgen.mold.filling import Filling, Spot
from moldgen.mold.frame import room_mm
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.plan import Attitude, Decision, SealPlan
from moldgen.remarks import Refusal
from moldgen.shapes import Extruded, Point, Revolved, Vertex, rectangle

FLOW_MM: Final = 150.0
"""Farthest that rubber is pushed from one gate: common practice, no source."""
JOINT_PER_HEIGHT: Final = 3.0
"""Length over height that a scarf joint takes: one at 18 degrees. Judgement."""
TRIM_MM: Final = 5.0
"""Cut off at each end of a cord, where gate and vent stood: judgement."""
MOST_PIECES: Final = 12
"""More joints than this are no belt any more: judgement."""

ROUNDING_MM: Final = 1e-6


def laid_out(order: Order, seal: SealPlan, decisions: list[Decision]) -> tuple[Order, Filling, float]:
    """(the order, for as many cavities as its cords take; how one cavity is filled; cavity over part, by volume).

    Raises CannotBeMadeError.
    """
    ring = order.shape
    assert isinstance(ring, Revolved)  # a family has its rings laid out, nothing else
    if order.lay == "cord":
        return _cords(order, ring, seal, decisions)
    return order, _comb(order, ring, seal, decisions), 1.0


def _height_mm(ring: Revolved) -> float:
    inner, _, outer, _ = ring.profile.bounds
    return outer - inner


def _length_mm(ring: Revolved) -> float:
    """Once round, along the middle."""
    inner, _, outer, _ = ring.profile.bounds
    return math.pi * (inner + outer)


def _printed_room_mm(order: Order, seal: SealPlan) -> tuple[float, float]:
    """What the bed has room for, as long as it must measure: the model of it grows by what the printer takes off."""
    printer = order.printer
    x, y = (room - 2.0 * max(printer.hole_offset_mm, 0.0) - ROUNDING_MM for room in room_mm(order, seal))
    return x * printer.xy_scale, y * printer.xy_scale


# --- folded loop -----------------------------------------------------------------------------------------------------


def _comb(order: Order, ring: Revolved, seal: SealPlan, decisions: list[Decision]) -> Filling:
    height, length, scale = _height_mm(ring), _length_mm(ring), order.printer.xy_scale
    room = _printed_room_mm(order, seal)
    comb = loops.comb(length_mm=length, height_mm=height, room_mm=room)
    if comb is None:
        raise CannotBeMadeError((_too_long(order, length, loops.longest(height_mm=height, room_mm=room)),))
    inside, back = _inside_and_back(ring)
    middle = comb.line
    shape = for_printer(
        Extruded(
            loops.parallel(middle, 0.5 * height, back.surface),
            (loops.parallel(middle, -0.5 * height, inside.surface),),
            ring.height_mm,
        ),
        order.printer,
    )
    assert isinstance(shape, Extruded)
    bends = comb.radius_mm / height
    decisions.append(
        Decision(
            f"{_hairpins(comb.hairpins)} with bends of {comb.radius_mm:.1f} mm",
            f"{bends:.1f} times the belt's height, and it is never less than {loops.LEAST_BEND_PER_HEIGHT:g} times. "
            "Lying free the belt keeps the hairpins' waves; drawn straight, its skins are strained by "
            f"{0.5 / bends:.1%} where it was bent, one drawn and the other pressed",
        )
    )
    longest = loops.longest(height_mm=height, room_mm=room)
    assert longest is not None
    decisions.append(
        Decision(
            f"a closed loop, {length:.2f} mm along its middle",
            f"no joint; this bed would hold {longest.length_mm:.0f} mm of this belt",
        )
    )
    vents = comb.vents_mm
    gates, tips = (
        [Point(p.x / scale, p.y / scale) for p in (loops.place_on(middle, along) for along in places)]
        for places in (_with_further(comb.gates_mm, vents, length), vents)
    )
    across = shape.volume_mm3 / shape.thickness_mm / (length / scale)
    _note_order(order, len(gates) - comb.hairpins, decisions)
    return _filled(order, shape, across, gates, tips)


def _hairpins(count: int) -> str:
    return "a single hairpin" if count == 1 else f"{count} hairpins"


def _inside_and_back(ring: Revolved) -> tuple[Vertex, Vertex]:
    """The walls of a ring's section, for what they are for."""
    inner, _, outer, _ = ring.profile.bounds
    upright = [e.start for e in ring.profile.edges if e.start.bulge == 0.0 and e.start.x == e.end.x]
    return min(upright, key=lambda v: abs(v.x - inner)), min(upright, key=lambda v: abs(v.x - outer))


def _too_long(order: Order, length: float, longest: loops.Comb | None) -> Refusal:
    bed = f"a bed of {order.printer.bed_x_mm:g} x {order.printer.bed_y_mm:g} mm"
    holds = (
        f"holds no hairpins of this belt that bend by {loops.LEAST_BEND_PER_HEIGHT:g} times its height"
        if longest is None
        else f"holds at most {longest.length_mm:.0f} mm of this belt in hairpins, and {length:.0f} mm are wanted"
        if length > longest.length_mm
        else f"holds no hairpins that are just {length:.0f} mm long"
    )
    return Refusal(("wanted", "make"), f"{bed} {holds}", "Write `make: cord`, to be joined, or take a larger bed.")


def _with_further(gates: Sequence[float], vents: Sequence[float], round_mm: float) -> tuple[float, ...]:
    """Gates along a closed line, with further ones so that none feeds more than FLOW_MM towards the next vent."""
    further = [
        gate + way * distance * step / count
        for gate in gates
        for way, distance in ((1.0, _next(gate, vents, round_mm, 1.0)), (-1.0, _next(gate, vents, round_mm, -1.0)))
        for count in (math.ceil(distance / FLOW_MM - 1e-9),)
        for step in range(1, count)
    ]
    return (*gates, *further)


def _next(gate: float, vents: Sequence[float], round_mm: float, way: float) -> float:
    return min((way * (vent - gate)) % round_mm for vent in vents)


# --- cord ------------------------------------------------------------------------------------------------------------


def _cords(order: Order, ring: Revolved, seal: SealPlan, decisions: list[Decision]) -> tuple[Order, Filling, float]:
    """Straight ditches side by side, as many as the belt has pieces, each with its ends and its half of two joints."""
    height, length, width = _height_mm(ring), _length_mm(ring), ring.height_mm
    longest, _ = _printed_room_mm(order, seal)
    ends = JOINT_PER_HEIGHT * height + 2.0 * TRIM_MM
    pieces = math.ceil(length / (longest - ends) - 1e-9) if longest > ends else MOST_PIECES + 1
    if pieces > MOST_PIECES:
        raise CannotBeMadeError(
            (
                Refusal(
                    ("wanted", "make"),
                    f"{length:.0f} mm of cord would have to be joined from more than {MOST_PIECES} pieces on a bed "
                    f"that holds {longest:.0f} mm at a stretch",
                    "Take a larger bed.",
                ),
            )
        )
    piece = length / pieces + ends
    what = f"{piece:.1f} mm of cord" if pieces == 1 else f"{pieces} cords of {piece:.1f} mm"
    decisions.append(
        Decision(
            f"{what} for a belt of {length:.1f} mm",
            f"each {ends:.1f} mm longer than its share: {TRIM_MM:g} mm are cut off at either end, where gate and vent "
            f"stood, and {JOINT_PER_HEIGHT * height:.1f} mm lie in the joint",
        )
    )
    bar = rectangle(-0.5 * piece, -0.5 * height, 0.5 * piece, 0.5 * height)
    shape = for_printer(Extruded(bar, (), width), order.printer)
    assert isinstance(shape, Extruded)
    x0, y0, x1, y1 = shape.outline.bounds
    first = x0 + 0.5 * TRIM_MM
    count = math.ceil((x1 - first) / FLOW_MM - 1e-9)
    gates = [Point(first + (x1 - first) * step / count, 0.0) for step in range(count)]
    _note_order(order, count - 1, decisions)
    way = _filled(order, shape, y1 - y0, gates, [Point(x1, 0.0)])
    return replace(order, quantity=order.quantity * pieces), way, piece / length


# --- filling ---------------------------------------------------------------------------------------------------------


def _note_order(order: Order, further: int, decisions: list[Decision]) -> None:
    if further and order.choices.fill != "press":
        decisions.append(
            Decision(
                "the lowest gates are used first, those on the way up once the rubber shows in them",
                f"no gate feeds more than {FLOW_MM:g} mm, and two fronts that meet would shut air in between them",
            )
        )


def _filled(order: Order, shape: Extruded, across_mm: float, gates: Sequence[Point], vents: Sequence[Point]) -> Filling:
    """Gates and vents at places on the middle line, the mold tilted as steeply as the usual head allows, or taller."""
    from shapely import Polygon

    x0, _, x1, _ = shape.outline.bounds
    sprue, *further = (Spot(p.x, p.y, 0.0, filling.largest_gate_mm(across_mm)) for p in gates)
    attitude, upper = filling.tilted(low_x=min(p.x for p in gates), high_x=x1, top_z_mm=0.0)
    if attitude.tilt_deg == 0.0:
        attitude = Attitude(filling.TILTS_DEG[-1])
        rise = (x1 - x0 + filling.WIDEST_FUNNEL_MM) * math.tan(math.radians(attitude.tilt_deg))
        upper = filling.BRIM_OVER_CEILING_MM + rise
    slope = math.tan(math.radians(attitude.tilt_deg))
    face = Polygon(shape.outline.points(0.02), [hole.points(0.02) for hole in shape.holes])
    found = [filling.vent_at_peak(face, Point(x1, p.y), slope, 0.0) for p in vents]
    left = sum(left for _, left in found)
    way = Filling(shape, attitude, upper, sprue, tuple(spot for spot, _ in found), left, tuple(further))
    if order.choices.fill != "press" and (refused := filling.refusal(way) or filling.too_close(way)) is not None:
        raise CannotBeMadeError((refused,))
    return way
