"""Belts that are not cast as the ring they are: laid out as a comb of hairpins, or cast as straight cord to be joined.

One with flat sides is a ditch in the lower half under a flat lid, so that flash lies on an edge and not on what runs.
A round one lies in both halves, which part where no groove touches it: in its middle, or a little beside it, where the
rubber gives way by as much as the mouth is narrower. Both are filled with the +x end raised: rubber comes in at every
low place, air leaves at every high one. No fill meets the next head-on in between, where it would shut air in; a long
way from a gate to its vent gets further gates, each to be used once the rubber shows in it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from moldgen import loops
from moldgen.mechanics.splice import cord_length_mm
from moldgen.mold import filling
from moldgen.mold.compensation import for_printer, in_halves
from moldgen.mold.filling import Filling, Spot
from moldgen.mold.frame import room_mm
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.parting import UNDERCUT_OF_BREAK, partings
from moldgen.mold.plan import Attitude, Decision, SealPlan
from moldgen.remarks import Refusal
from moldgen.shapes import CavityShape, Drawn, Edge, Extruded, Path, Point, Revolved, Vertex, parallel, rectangle

FLOW_MM: Final = 150.0
"""Farthest that rubber is pushed from one gate: common practice, no source."""
TRIM_MM: Final = 5.0
"""Cut off at each end of a cord, where gate and vent stood: judgement."""
MOST_PIECES: Final = 12
"""More joints than this are no belt any more: judgement."""

NOT_ROUND: Final = "Write `section: square` where the grooves allow it, or buy round cord and join it."
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
    gates = [along / scale for along in _with_further(comb.gates_mm, comb.vents_mm, length)]
    vents = [along / scale for along in comb.vents_mm]
    _note_order(order, len(gates) - comb.hairpins, decisions)
    line = comb.line.scaled(1.0 / scale)
    way = (
        _as_round(order, ring, line, gates, vents, decisions)
        if is_round(ring)
        else _as_ditch(order, ring, comb, gates, vents)
    )
    rim = comb.hull.scaled(1.0 / scale)
    return replace(way, hull=parallel(rim, way.shape.plan_size_mm[0] / 2.0 - rim.bounds[2], "side"))


def _as_round(
    order: Order, ring: Revolved, line: Path, gates: Sequence[float], vents: Sequence[float], decisions: list[Decision]
) -> Filling:
    section, roof = _parted(order, ring, decisions)
    return _filled_at_crest(order, Drawn(section, line.edges), roof, partial(loops.place_on, line), gates, vents)


def _as_ditch(
    order: Order, ring: Revolved, comb: loops.Comb, gates: Sequence[float], vents: Sequence[float]
) -> Filling:
    height, line = _height_mm(ring), comb.line.scaled(1.0 / order.printer.xy_scale)
    inside, back = _inside_and_back(ring)
    shape = for_printer(
        Extruded(
            parallel(comb.line, 0.5 * height, back.surface),
            (parallel(comb.line, -0.5 * height, inside.surface),),
            ring.height_mm,
        ),
        order.printer,
    )
    assert isinstance(shape, Extruded)
    across = shape.volume_mm3 / shape.thickness_mm / line.length
    return _filled(order, shape, across, *([loops.place_on(line, at) for at in places] for places in (gates, vents)))


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


# --- round sections --------------------------------------------------------------------------------------------------


def is_round(ring: Revolved) -> bool:
    return all(edge.start.bulge != 0.0 for edge in ring.profile.edges)


@dataclass(frozen=True, slots=True)
class _Roof:
    """Where openings may stand on a round belt as it lies, told by how far out of its middle line."""

    inner_mm: float
    outer_mm: float
    crest_mm: float
    z_mm: float
    """Height of the crest."""
    radius_mm: float

    @property
    def gate_mm(self) -> float:
        return filling.largest_gate_mm(self.outer_mm - self.inner_mm)

    @property
    def vent_mm(self) -> float:
        return filling.largest_vent_mm(self.outer_mm - self.inner_mm)

    def highest_mm(self, tilt_deg: float) -> float:
        """Where a vent stands: at a tip that is raised the highest place of a round roof moves outward by r sin t."""
        beside = 0.5 * self.vent_mm + filling.MARGIN_MM
        wanted = self.crest_mm + self.radius_mm * math.sin(math.radians(tilt_deg))
        return min(max(wanted, self.inner_mm + beside), self.outer_mm - beside)


def _parted(order: Order, ring: Revolved, decisions: list[Decision]) -> tuple[Path, _Roof]:
    """A round section about its middle line, as modelled, its parting at y = 0; and the roof over it.

    The ring's own partings serve: their flash lies off what runs. Of these, the one that squeezes the belt least.
    """
    if order.choices.fill == "press":
        raise CannotBeMadeError((_pressed(),))
    limit = UNDERCUT_OF_BREAK * order.elongation_at_break
    found = partings(ring.profile, modelled=partial(in_halves, printer=order.printer))
    ways = [(squeeze(parting.profile), parting.profile) for parting in found]
    strain, profile = min(ways, key=lambda way: round(way[0], 6), default=(math.inf, ring.profile))
    roofs = filling.ceiling_bands(profile)
    if strain > limit or not roofs:
        raise CannotBeMadeError((_touched_all_over(),))
    decisions.append(_how_parted(strain, limit))
    inner, _, outer, _ = profile.bounds
    middle, band = 0.5 * (inner + outer), roofs[-1]
    crest = middle if band.crest is None else band.crest
    roof = _Roof(band.inner - middle, band.outer - middle, crest - middle, band.z, 0.5 * (outer - inner))
    return profile.moved(dx=-middle), roof


def squeeze(section: Path) -> float:
    """By how much the mouth at y = 0 is narrower than the section, over its width: what the rubber has to give way.

    By hand, a circle parted at 18° over its middle: 1 − cos 18° = 0.0489

    >>> over, under = math.tan(math.radians(144 / 4)), math.tan(math.radians(216 / 4))
    >>> round(squeeze(Path((Vertex(0.9511, 0.0, over), Vertex(-0.9511, 0.0, under)))), 3)
    0.049
    """
    inner, _, outer, _ = section.bounds
    mouth = [v.x for v in section.vertices if abs(v.y) < ROUNDING_MM]
    return 1.0 - (max(mouth, default=0.0) - min(mouth, default=0.0)) / (outer - inner)


def _how_parted(strain: float, limit: float) -> Decision:
    if strain < ROUNDING_MM:
        return Decision(
            "parts through the middle of the round section",
            "flash lies on the belt's inner and outer line, and grooves touch it to both sides of these",
        )
    return Decision(
        "parts beside the middle of the round section",
        "a groove touches the belt's inner line, so flash is kept off it; the deeper half's mouth is "
        f"{strain:.1%} narrower than the belt, and the rubber gives way by that when it is pulled out; {limit:.0%} is "
        "allowed",
    )


def _pressed() -> Refusal:
    return Refusal(
        ("mold", "fill"),
        "pressing wants a flat lid, and a round belt lies in both halves",
        "Choose `fill: pour` or `fill: syringe`.",
    )


def _touched_all_over() -> Refusal:
    return Refusal(
        ("wanted", "make"),
        "grooves touch the belt where a mold in two halves would leave its flash, or where gates and vents would stand",
        NOT_ROUND,
    )


# --- cord ------------------------------------------------------------------------------------------------------------


def _cords(order: Order, ring: Revolved, seal: SealPlan, decisions: list[Decision]) -> tuple[Order, Filling, float]:
    """Straight channels side by side, as many as the belt has pieces, each with its ends and its half of two joints."""
    length, scale = _length_mm(ring), order.printer.xy_scale
    pieces, piece = _piece(order, ring, seal)
    what = f"{piece:.1f} mm of cord" if pieces == 1 else f"{pieces} cords of {piece:.1f} mm"
    decisions.append(
        Decision(
            f"{what} for a belt of {length:.1f} mm",
            f"each {piece - length / pieces:.1f} mm longer than its share: {TRIM_MM:g} mm are cut off at either end, "
            f"where gate and vent stood, and {piece - length / pieces - 2.0 * TRIM_MM:.1f} mm lie in a joint cut at "
            f"{order.scarf_deg:g}°",
        )
    )
    hole, boss = order.printer.hole_offset_mm, order.printer.boss_offset_mm
    half = 0.5 * piece / scale
    count = math.ceil((piece - 0.5 * TRIM_MM) / FLOW_MM - 1e-9)
    _note_order(order, count - 1, decisions)

    def gates_to(end: float) -> list[float]:
        first = 0.5 * TRIM_MM - end
        return [first + (end - first) * step / count for step in range(count)]

    if is_round(ring):
        section, roof = _parted(_of_pockets(order), ring, decisions)
        end = half + hole
        straight = (Edge(Vertex(-end, 0.0), Vertex(end, 0.0)),)
        tip = end - 0.5 * roof.vent_mm - filling.MARGIN_MM
        way = _filled_at_crest(
            order, Drawn(section, straight), roof, lambda x, out: Point(x, -out), gates_to(end), [tip]
        )
    else:
        bar = rectangle(-0.5 * piece, -0.5 * _height_mm(ring), 0.5 * piece, 0.5 * _height_mm(ring))
        shape = for_printer(Extruded(bar, (), ring.height_mm), order.printer)
        assert isinstance(shape, Extruded)
        _, y0, x1, y1 = shape.outline.bounds
        way = _filled(order, shape, y1 - y0, [Point(x, 0.0) for x in gates_to(x1)], [Point(x1, 0.0)])
    across = _height_mm(ring) / scale
    share = piece / length * (1.0 + hole / half) * (across + 2.0 * hole) / (across + hole + boss)
    return replace(order, quantity=order.quantity * pieces), way, share


def _of_pockets(order: Order) -> Order:
    """A pin makes a ring's inside, but a pocket both walls of a cord."""
    pocket = {"boss_offset_mm": order.printer.hole_offset_mm}
    return replace(order, printer=order.printer.model_copy(update=pocket))


def _piece(order: Order, ring: Revolved, seal: SealPlan) -> tuple[int, float]:
    """How many cords a belt is joined from, and the length of each."""
    longest, _ = _printed_room_mm(order, seal)
    for pieces in range(1, MOST_PIECES + 1):
        piece = 2.0 * TRIM_MM + cord_length_mm(
            belt_length_mm=_length_mm(ring), height_mm=_height_mm(ring), scarf_deg=order.scarf_deg, pieces=pieces
        )
        if piece <= longest:
            return pieces, piece
    raise CannotBeMadeError(
        (
            Refusal(
                ("wanted", "make"),
                f"{_length_mm(ring):.0f} mm of cord would have to be joined from more than {MOST_PIECES} pieces on a "
                f"bed that holds {max(longest, 0.0):.0f} mm at a stretch",
                "Take a larger bed.",
            ),
        )
    )


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
    """Gates and vents at places on a ditch's middle line; a vent moves as far to the raised end as it may."""
    from shapely import Polygon

    spots = [Spot(p.x, p.y, 0.0, filling.largest_gate_mm(across_mm)) for p in gates]
    attitude, upper = _attitude(shape, spots, 0.0)
    _, _, x1, _ = shape.outline.bounds
    slope = math.tan(math.radians(attitude.tilt_deg))
    face = Polygon(shape.outline.points(0.02), [hole.points(0.02) for hole in shape.holes])
    found = [filling.vent_at_peak(face, Point(x1, p.y), slope, 0.0) for p in vents]
    left = sum(left for _, left in found)
    return _sound(order, Filling(shape, attitude, upper, spots[0], tuple(s for s, _ in found), left, tuple(spots[1:])))


def _filled_at_crest(
    order: Order,
    shape: Drawn,
    roof: _Roof,
    place: Callable[[float, float], Point],
    gates: Sequence[float],
    vents: Sequence[float],
) -> Filling:
    """Gates and vents so far along a round belt; `place` puts what is so far along and so far out of its middle."""
    out = 0.5 * (roof.inner_mm + roof.outer_mm)
    spots = [Spot(*place(along, out), roof.z_mm, roof.gate_mm) for along in gates]
    attitude, upper = _attitude(shape, spots, roof.z_mm)
    high = roof.highest_mm(attitude.tilt_deg if shape.closed else 0.0)
    tips = tuple(Spot(*place(along, high), roof.z_mm, roof.vent_mm) for along in vents)
    return _sound(order, Filling(shape, attitude, upper, spots[0], tips, further=tuple(spots[1:])))


def _attitude(shape: CavityShape, gates: Sequence[Spot], top_z_mm: float) -> tuple[Attitude, float]:
    """The mold tilted as steeply as the usual head allows, or taller; and the upper half's height."""
    half = 0.5 * shape.plan_size_mm[0]
    attitude, upper = filling.tilted(low_x=min(gate.x for gate in gates), high_x=half, top_z_mm=top_z_mm)
    if attitude.tilt_deg > 0.0:
        return attitude, upper
    steep = filling.TILTS_DEG[-1]
    rise = (2.0 * half + filling.WIDEST_FUNNEL_MM) * math.tan(math.radians(steep))
    return Attitude(steep), top_z_mm + filling.BRIM_OVER_CEILING_MM + rise


def _sound(order: Order, way: Filling) -> Filling:
    if order.choices.fill == "press":
        return way
    refused = filling.refusal(way) or filling.too_close(way)
    if refused is not None and isinstance(way.shape, Drawn):  # which is not pressed
        refused = Refusal(("wanted", "make"), refused.limit, NOT_ROUND)
    if refused is not None:
        raise CannotBeMadeError((refused,))
    return way
