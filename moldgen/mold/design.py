"""Decides a mold: every dimension of the plan, from the cavity's shape, the printer and the person's choices.

Each choice made by rule is recorded with its reason. What cannot be made is a Refusal that says what would work.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from moldgen.mold import filling
from moldgen.mold.compensation import for_printer, in_halves
from moldgen.mold.cores import core_and_insert, has_separate_core, kept_free_mm
from moldgen.mold.draft import with_draft
from moldgen.mold.filling import Filling
from moldgen.mold.frame import Frame, frame_for
from moldgen.mold.long_belts import laid_out
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.parting import LEAST_THROAT, UNDERCUT_OF_BREAK, Parting, partings, throat
from moldgen.mold.plan import Attitude, CavityPlan, Decision, MoldPlan, OpeningPlan, SealPlan, WedgePlan
from moldgen.mold.roofs import REACH_MM, worst_roof
from moldgen.remarks import Refusal
from moldgen.shapes import Drawn, Extruded, Path, Revolved, Vertex, circle

LAND_MM: Final = 3.0
CHANNEL_MM: Final = 2.0
CHANNEL_DEPTH_MM: Final = 1.2
HULL_MM: Final = 0.1
"""By how much a land may be narrower than meant, so that its outline has few corners."""
WEDGE_THIN_MM: Final = 1.5
WEDGE_LIP_MM: Final = 3.0
WEDGE_RIM_MM: Final = 4.0


def design(order: Order) -> MoldPlan:
    """The plan of the whole mold. Raises CannotBeMadeError."""
    decisions: list[Decision] = []
    seal = SealPlan(LAND_MM, max(0.15, round(order.printer.layer_mm, 3)), CHANNEL_MM, CHANNEL_DEPTH_MM)
    if order.lay in ("meander", "cord"):
        parts = order.quantity
        order, way, share = laid_out(order, seal, decisions)
        cavity = replace(_cavity(order, way, None, decisions), share=share, pieces=order.quantity // parts)
    else:
        way, parting = _way(order)
        cavity = _cavity(order, way, parting, decisions)
    frame = frame_for(order, cavity, way.upper_mm, seal, decisions)
    sprues: tuple[OpeningPlan, ...] = ()
    vents: tuple[OpeningPlan, ...] = ()
    wedge = None
    if order.choices.fill == "press":
        decisions.append(
            Decision("no gate", "the lid is pressed onto the filled half; what is too much runs into the channel")
        )
        way = replace(way, attitude=Attitude(0.0))
    else:
        sprues, vents = _openings(order, way, frame, decisions)
        wedge = _wedge(order, way, frame, decisions)
    return MoldPlan(
        name=order.name,
        cavity=cavity,
        places=frame.places,
        block=frame.block,
        seal=seal,
        attitude=way.attitude,
        wedge=wedge,
        sprues=sprues,
        vents=vents,
        keys=frame.keys,
        screws=frame.screws,
        pry_slots=frame.pry_slots,
        labels=frame.labels,
        decisions=tuple(decisions),
    )


def _way(order: Order) -> tuple[Filling, Parting | None]:
    """The best parting that can be demoulded, printed and filled, and how it is filled.

    Raises CannotBeMadeError, whose way out names those choices under `mold` that were tried and would do.
    """
    try:
        return _as_ordered(order)
    except CannotBeMadeError as error:
        words = [words for change, words in _OTHER_WAYS if _would_do(order, change)]
        tried = f"Choose under `mold` {', or '.join(words)}." if words else _NO_OTHER_WAY
        raise CannotBeMadeError(
            tuple(replace(r, way_out=tried) if words or r.place == ("mold", "fill") else r for r in error.refusals)
        ) from error


_OTHER_WAYS: Final = (
    ({"fill": "pour"}, "`fill: pour`"),
    ({"fill": "press"}, "`fill: press`, which needs no gate"),
    ({"core": "part_of_lower"}, "`core: part_of_lower`, which leaves a gate more room"),
)
_NO_OTHER_WAY: Final = "No other way of filling would do: make the part thicker, or give it a flat end face."


def _would_do(order: Order, change: dict[str, str]) -> bool:
    """Whether a mold can be made with other choices."""
    try:
        _cavity(order, *_as_ordered(replace(order, choices=order.choices.model_copy(update=change))), [])
    except CannotBeMadeError:
        return False
    return True


def _as_ordered(order: Order) -> tuple[Filling, Parting | None]:
    drafted = with_draft(order.shape, order.choices.draft_deg)
    by_press = order.choices.fill == "press"
    if isinstance(drafted, Extruded):
        shape = for_printer(drafted, order.printer)
        assert isinstance(shape, Extruded)
        way = _filled(shape, order, top_z_mm=0.0)
        _refuse(None if by_press else filling.refusal(way) or filling.too_close(way))
        return way, None
    refusals: list[Refusal] = []
    for parting in _candidates(order, drafted):
        if by_press and not parting.at_end_face:
            continue
        hung = Revolved(parting.profile)
        if (amiss := _too_much(parting, order) or _stuck(hung, order) or _too_far_out(hung, order)) is not None:
            refusals.append(amiss)
            continue
        way = _filled(hung, order, top_z_mm=parting.profile.bounds[3])
        blocked = [s for s in way.vents if s.z < 0.0 or filling.overhung(hung, s)]
        if blocked and not by_press:
            refusals.append(_shut_in(blocked[0]))
        elif not by_press and (narrow := filling.refusal(way) or filling.too_close(way)) is not None:
            refusals.append(narrow)
        else:
            return way, parting
    raise CannotBeMadeError((refusals[0] if refusals else _nowhere(by_press),))


def _filled(shape: Extruded | Revolved, order: Order, *, top_z_mm: float) -> Filling:
    kept_free = kept_free_mm(shape, order) if isinstance(shape, Revolved) else 0.0
    way = filling.filling(shape, top_z_mm=top_z_mm, least_wall_mm=order.printer.least_wall_mm, kept_free_mm=kept_free)
    roof = filling.LEAST_SYRINGE_ROOF_MM if order.choices.fill == "syringe" else 0.0
    return replace(way, upper_mm=max(way.upper_mm, top_z_mm + roof))


def _refuse(refusal: Refusal | None) -> None:
    if refusal is not None:
        raise CannotBeMadeError((refusal,))


def _candidates(order: Order, drafted: Revolved) -> Iterator[Parting]:
    """Partings as modelled, best first; metal that is cast on stands on its end face, so only that one will do."""
    printer, metal = order.printer, order.insert
    modelled = partial(in_halves, printer=printer, on_metal=metal is not None)
    metal_radius = 0.0 if metal is None else drafted.bore_radius_mm / printer.xy_scale
    for parting in partings(drafted.profile, metal_radius_mm=metal_radius, modelled=modelled):
        if metal is None or (parting.at_end_face and not parting.flipped):
            yield parting


def _too_much(parting: Parting, order: Order) -> Refusal | None:
    limit = UNDERCUT_OF_BREAK * order.elongation_at_break
    if parting.strain <= limit:
        return None
    worst = max(parting.undercuts, key=lambda u: u.strain)
    way = "stretched" if worst.on == "bore" else "squeezed" if order.insert is None else "drawn out along its metal"
    much = f" by {worst.strain:.0%}" if math.isfinite(worst.strain) else " without end"
    return Refusal(
        ("wanted",),
        f"to leave its mold the part would be {way}{much} {abs(worst.z_mm):.1f} mm from the parting, "
        f"and this rubber may be strained by {limit:.0%} while fresh",
        "Make the crown, flange or groove shallower, or take an elastomer with more elongation.",
    )


def _stuck(hung: Revolved, order: Order) -> Refusal | None:
    if hung.bore_radius_mm == 0.0 or order.insert is not None:
        return None
    share = min(throat(hung.profile, pull=pull) for pull in (1, -1))
    if share >= LEAST_THROAT:
        return None
    return Refusal(
        ("wanted",),
        f"on its core the part would have to leave its mold through a mouth with room for {share:.0%} of its section, "
        f"and it takes {LEAST_THROAT:.0%}",
        "Make the crown, flange or groove shallower, or the bore narrower.",
    )


def _too_far_out(hung: Revolved, order: Order) -> Refusal | None:
    roof = worst_roof(hung.profile, printer=order.printer, separate_core=has_separate_core(hung, order))
    if roof is None:
        return None
    out = f"reach out by {roof.reach_mm:.1f} mm" if math.isfinite(roof.reach_mm) else "hang in the air"
    return Refusal(
        ("wanted",),
        f"{abs(roof.z_mm):.1f} mm from the parting the mold would {out} over its cavity, and a printer builds "
        f"{REACH_MM:g} mm without supports",
        "Make the flange or groove shallower, or its flank steeper than the printer's limit of "
        f"{order.printer.overhang_deg:g}° from upright.",
    )


def _shut_in(spot: filling.Spot) -> Refusal:
    over = "the lower half" if spot.z < 0.0 else "the part itself"
    return Refusal(
        ("wanted",),
        f"air would be shut in under a shoulder at radius {math.hypot(spot.x, spot.y):.1f} mm, over which {over} lies",
        "Leave the undercut out and cut it after casting.",
    )


def _nowhere(by_press: bool) -> Refusal:
    if by_press:
        return Refusal(
            ("mold", "fill"),
            "pressing wants a flat lid, and this part cannot part at an end face",
            "Choose `fill: pour`.",
        )
    return Refusal(
        ("wanted",),
        "wherever the mold parts, its flash lies on a running surface",
        "Mark less of the surface as running.",
    )


def _cavity(order: Order, way: Filling, parting: Parting | None, decisions: list[Decision]) -> CavityPlan:
    shape = way.shape
    if isinstance(shape, Extruded):
        height = shape.thickness_mm
        decisions.append(
            Decision("parts at the upper face", "its rim is trimmed with a scalpel; the outline stays clean")
        )
        return CavityPlan(shape, -height, height, 0.0, way.hull or _hull(shape.outline), None, None, bool(shape.holes))
    if isinstance(shape, Drawn):
        _, low, _, high = shape.section.bounds
        return CavityPlan(shape, 0.0, -low, high, way.hull or _hull(shape.outline), None, None, shape.closed)
    assert parting is not None
    _, low, outer, high = shape.profile.bounds
    if parting.at_end_face:
        decisions.append(
            Decision(
                "parts at the upper end face",
                "flash lies on an edge that a scalpel reaches, not on what runs",
            )
        )
    else:
        decisions.append(
            Decision(
                f"parts {high:.2f} mm below the top",
                "there its flash lies off the running surface and both halves let go of it",
            )
        )
    if parting.flipped:
        decisions.append(Decision("cast upside down", "that way it is strained less when it is pulled out"))
    for undercut in parting.undercuts:
        limit = UNDERCUT_OF_BREAK * order.elongation_at_break
        what = f"undercut of {undercut.strain:.1%} on the {undercut.on}"
        decisions.append(Decision(what, f"the rubber gives way by that when it is pulled out; {limit:.0%} is allowed"))
    core, insert, integral = core_and_insert(shape, order, decisions)
    footprint = circle(outer)
    return CavityPlan(shape, 0.0, -low, high, footprint, core, insert, integral, upside_down=parting.flipped)


def _hull(outline: Path) -> Path:
    """The convex outline that lands and channels follow."""
    from shapely import MultiPoint

    hull = MultiPoint(outline.points(0.02)).convex_hull.simplify(HULL_MM)
    ring = hull.exterior.coords[:-1]
    path = Path(tuple(Vertex(x, y) for x, y in ring))
    return path if path.area > 0.0 else path.reversed()


def _openings(
    order: Order, way: Filling, frame: Frame, decisions: list[Decision]
) -> tuple[tuple[OpeningPlan, ...], tuple[OpeningPlan, ...]]:
    """Sprues and vents of every cavity, ending at one level."""
    places = frame.places
    sprues, vents = filling.openings(
        way,
        top_z_mm=frame.block.upper_mm,
        syringe=order.choices.fill == "syringe",
        mouth_rooms_mm=[_mouth_room(gate, way, frame) for gate in way.gates],
        lean_deg=order.printer.overhang_deg,
    )
    sprues, vents = _drilled(order, sprues), _drilled(order, vents)
    count = f"{len(vents)} vent" + ("s" if len(vents) > 1 else "")
    why = (
        f"filled at a tilt of {way.attitude.tilt_deg:g}°, the air runs to the high end by itself"
        if way.attitude.tilt_deg > 0.0
        else f"it is filled level, and no place on the ceiling is farther than {filling.REACH_MM:g} mm from an opening"
    )
    gate = "gate" if len(sprues) == 1 else f"{len(sprues)} gates"
    decisions.append(Decision(f"{gate} of {sprues[0].gate_diameter_mm:.1f} mm and {count}", why))
    _note_drilling(order, (*sprues, *vents), decisions)

    def everywhere(opening: OpeningPlan) -> tuple[OpeningPlan, ...]:
        return tuple(replace(opening, x_mm=opening.x_mm + x, y_mm=opening.y_mm + y) for x, y in places)

    return (
        tuple(s for opening in sprues for s in everywhere(opening)),
        tuple(v for opening in vents for v in everywhere(opening)),
    )


def _mouth_room(gate: filling.Spot, way: Filling, frame: Frame) -> float:
    """The widest that a sprue's mouth may be between the walls and the neighbouring cavities' openings."""
    places = frame.places
    room = [2.0 * _to_wall(gate, frame)]
    if way.kept_free_mm > 0.0:
        room.append(2.0 * (math.hypot(gate.x, gate.y) - way.kept_free_mm))
    for i, (x, y) in enumerate(places):
        for a, b in places[:i] + places[i + 1 :]:
            for other in way.gates:
                apart = math.hypot(a + other.x - x - gate.x, b + other.y - y - gate.y)
                room.append(apart - filling.BETWEEN_MOUTHS_MM)
            room += [
                2.0 * (math.hypot(a + v.x - x - gate.x, b + v.y - y - gate.y) - filling.BETWEEN_MOUTHS_MM)
                - v.gate_mm
                - filling.VENT_SPREAD_MM
                for v in way.vents
            ]
    return min(room)


def _drilled(order: Order, openings: tuple[OpeningPlan, ...]) -> tuple[OpeningPlan, ...]:
    """The openings, those that would print closed marked as drilled."""
    least = order.printer.least_hole_mm
    return tuple(replace(o, drilled=o.gate_diameter_mm < least - 1e-9) for o in openings)


def _note_drilling(order: Order, openings: tuple[OpeningPlan, ...], decisions: list[Decision]) -> None:
    thin = sorted({round(o.gate_diameter_mm, 1) for o in openings if o.drilled})
    if thin:
        sizes = " and ".join(f"{d:.1f} mm" for d in thin)
        why = f"{order.printer.based_on} leaves no hole under {order.printer.least_hole_mm:g} mm open"
        decisions.append(Decision(f"drill gate or vent through with {sizes}", why))


def _to_wall(spot: filling.Spot, frame: Frame) -> float:
    """Room from a spot of the outermost cavity to the upper half's side."""
    half_x, half_y = 0.5 * frame.block.x_mm - 2.0, 0.5 * frame.block.y_mm - 2.0
    return min(min(half_x - abs(x + spot.x), half_y - abs(y + spot.y)) for x, y in frame.places)


def _wedge(order: Order, way: Filling, frame: Frame, decisions: list[Decision]) -> WedgePlan | None:
    tilt = way.attitude.tilt_deg
    if tilt == 0.0:
        return None
    decisions.append(
        Decision("stands on a printed wedge while it is filled", "the sprue's end low, the vents' end high")
    )
    # A mold as long as the bed stands out over its wedge's thick end by as much as the lip takes of the bed.
    length = min(frame.block.x_mm, order.printer.bed_x_mm - WEDGE_RIM_MM)
    return WedgePlan(length, frame.block.y_mm, WEDGE_THIN_MM, tilt, WEDGE_LIP_MM, WEDGE_RIM_MM)
