"""Decides a mold: every dimension of the plan, from the cavity's shape, the printer and the person's choices.

Each choice made by rule is recorded with its reason. What cannot be made is a Refusal that says what would work.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from moldgen.mold import filling
from moldgen.mold.compensation import for_printer
from moldgen.mold.cores import core_and_insert
from moldgen.mold.frame import Frame, frame_for
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.parting import UNDERCUT_OF_BREAK, undercuts
from moldgen.mold.plan import CavityPlan, Decision, MoldPlan, OpeningPlan, SealPlan
from moldgen.remarks import Refusal
from moldgen.shapes import Extruded, Path, Revolved, Vertex, circle

LAND_MM: Final = 3.0
CHANNEL_MM: Final = 2.0
CHANNEL_DEPTH_MM: Final = 1.2


def design(order: Order) -> MoldPlan:
    """The plan of the whole mold. Raises CannotBeMadeError."""
    decisions: list[Decision] = []
    cavity = _cavity(order, decisions)
    seal = SealPlan(LAND_MM, max(0.15, round(order.printer.layer_mm, 3)), CHANNEL_MM, CHANNEL_DEPTH_MM)
    ceiling = filling.ceiling(cavity.shape, top_z_mm=cavity.above_mm)
    by_press = order.choices.fill == "press"
    if not by_press and (refused := filling.refusal(ceiling.spots, order.printer)):
        raise CannotBeMadeError((refused,))
    frame = frame_for(order, cavity, seal, decisions)
    sprues, vents = ((), ()) if by_press else _openings(order, cavity, frame, ceiling, decisions)
    if by_press:
        decisions.append(
            Decision("no gate", "the lid is pressed onto the filled half; what is too much goes into the channel")
        )
    return MoldPlan(
        name=order.name,
        cavity=cavity,
        places=frame.places,
        block=frame.block,
        seal=seal,
        sprues=sprues,
        vents=vents,
        keys=frame.keys,
        screws=frame.screws,
        pry_slots=frame.pry_slots,
        labels=frame.labels,
        decisions=tuple(decisions),
    )


def _cavity(order: Order, decisions: list[Decision]) -> CavityPlan:
    shape = for_printer(order.shape, order.printer)
    if isinstance(shape, Extruded):
        height = shape.thickness_mm
        decisions.append(
            Decision("parts at the upper face", "its rim is trimmed with a scalpel; the outline stays clean")
        )
        return CavityPlan(shape, -height, height, 0.0, _hull(shape.outline), None, None, bool(shape.holes))
    # Parting at the upper end face: what is turned hangs below z = 0.
    _, low, _, high = shape.profile.bounds
    hung = Revolved(_hung(shape.profile, high))
    decisions.append(
        Decision(
            "parts at the upper end face", "flash lies on an edge that a scalpel reaches, never on the running surface"
        )
    )
    _accept_undercuts(hung, order, decisions)
    core, insert, integral = core_and_insert(hung, order, decisions)
    return CavityPlan(hung, 0.0, high - low, 0.0, circle(hung.profile.bounds[2]), core, insert, integral)


def _hung(profile: Path, high_mm: float) -> Path:
    """The profile moved down so that its top lies at z = 0 exactly, not a rounding error beside it."""
    moved = profile.moved(dy=-high_mm)
    return Path(tuple(replace(v, y=0.0) if abs(v.y) < 1e-9 else v for v in moved.vertices))


def _accept_undercuts(shape: Revolved, order: Order, decisions: list[Decision]) -> None:
    """An undercut is accepted while the fresh rubber can give way by its strain."""
    for undercut in undercuts(shape.profile, pull=+1):
        limit = UNDERCUT_OF_BREAK * order.elongation_at_break
        if undercut.strain > limit:
            raise CannotBeMadeError(
                (
                    Refusal(
                        ("wanted",),
                        f"the part is {undercut.strain:.0%} larger {-undercut.z_mm:.1f} mm below the mouth of its half than there, and "
                        f"this rubber may be strained by {limit:.0%} when it is pulled out",
                        "Make the crown or flange smaller, or take an elastomer with more elongation.",
                    ),
                )
            )
        decisions.append(
            Decision(
                f"undercut of {undercut.strain:.1%} on the {undercut.on}",
                f"the rubber gives way by that when it is pulled out; {limit:.0%} is allowed",
            )
        )


def _hull(outline: Path) -> Path:
    from shapely import MultiPoint

    ring = MultiPoint(outline.points(0.02)).convex_hull.exterior.coords[:-1]
    path = Path(tuple(Vertex(x, y) for x, y in ring))
    return path if path.area > 0.0 else Path(tuple(reversed(path.vertices)))


def _openings(
    order: Order, cavity: CavityPlan, frame: Frame, ceiling: filling.Ceiling, decisions: list[Decision]
) -> tuple[tuple[OpeningPlan, ...], tuple[OpeningPlan, ...]]:
    """Sprue and vents of every cavity, ending at one level."""
    top = frame.block.upper_mm
    first, others = ceiling.spots[0], ceiling.spots[1:]
    vents = [filling.vent(spot, gate_z_mm=ceiling.z_mm, top_z_mm=top) for spot in others]
    # Mouths stay apart, so that the funnel's rubber cannot run into a vent: room to the nearest vent and cavity.
    apart = [
        math.hypot(spot.x - first.x, spot.y - first.y) - 0.5 * v.mouth_diameter_mm - 1.0
        for spot, v in zip(others, vents, strict=True)
    ]
    nearest = min(apart) if apart else math.inf
    neighbours = [math.hypot(x - a, y - b) for i, (x, y) in enumerate(frame.places) for (a, b) in frame.places[i + 1 :]]
    room = min([2.0 * nearest, *(d - 2.0 for d in neighbours), 2.0 * _to_wall(first, frame)])
    sprue = filling.sprue(
        first, gate_z_mm=ceiling.z_mm, top_z_mm=top, syringe=order.choices.fill == "syringe", room_mm=room
    )
    decisions.append(
        Decision(
            f"gate of {sprue.gate_diameter_mm:.1f} mm and {len(vents)} vent{'s' if len(vents) > 1 else ''} on the upper face",
            f"no place on that ceiling is farther than {filling.REACH_MM:g} mm from an opening",
        )
    )

    def everywhere(opening: OpeningPlan) -> tuple[OpeningPlan, ...]:
        return tuple(replace(opening, x_mm=opening.x_mm + x, y_mm=opening.y_mm + y) for x, y in frame.places)

    return everywhere(sprue), tuple(v for opening in vents for v in everywhere(opening))


def _to_wall(spot: filling.Spot, frame: Frame) -> float:
    """Room from a spot of the outermost cavity to the upper half's side."""
    half_x, half_y = 0.5 * frame.block.x_mm - 2.0, 0.5 * frame.block.y_mm - 2.0
    return min(min(half_x - abs(x + spot.x), half_y - abs(y + spot.y)) for x, y in frame.places)
