"""Gates, sprues and vents: where the rubber gets in and the air gets out.

They stand upright on the cavity's ceiling, on a face that does not run. The ceiling of a turned part is a flat band
round the axis; of a flat part, its top face.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from moldgen.mold.plan import OpeningPlan
from moldgen.printers import Printer
from moldgen.remarks import Refusal
from moldgen.shapes import Extruded, Revolved, Shape

MARGIN_MM: Final = 0.3
"""Left on each side of a gate, so that its edge stays clear of the part's own edge."""
GATE_SHARE: Final = 0.6
LARGEST_GATE_MM: Final = 4.0
LARGEST_VENT_MM: Final = 1.6
LAND_MM: Final = 0.6
"""Straight stretch above a gate, where the plug is cut off: a feather edge there would break."""
REACH_MM: Final = 25.0
"""Farthest that air may have to creep along a level ceiling to an opening: common practice, no source."""
TAPER: Final = math.tan(math.radians(6.0))
FUNNEL_MM: Final = 5.0
WIDEST_FUNNEL_MM: Final = 12.0

# A syringe tip seals in a 6 % taper; the socket's mouth and depth follow the conical fitting of ISO 80369-7 (from
# memory of its figures: opening 4.27 to 4.31 mm, at least 7.5 mm deep).
LUER_MOUTH_MM: Final = 4.30
LUER_DEPTH_MM: Final = 7.5
LUER_TAPER: Final = 0.06

UPPER_LEAST_MM: Final = 12.0


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the ceiling and the width of the face there."""

    x: float
    y: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The highest face of a cavity, as spots that together leave no part of it farther than REACH_MM from one."""

    z_mm: float
    spots: tuple[Spot, ...]
    """The first is for the sprue."""


def ceiling(shape: Shape, *, top_z_mm: float) -> Ceiling:
    """Spots for openings on the top of a cavity whose highest point is at `top_z_mm`."""
    if isinstance(shape, Revolved):
        return Ceiling(top_z_mm, _spots_on_ring(shape, top_z_mm))
    return Ceiling(top_z_mm, _spots_on_face(shape))


def _spots_on_ring(shape: Revolved, top_z_mm: float) -> tuple[Spot, ...]:
    inner, outer = _band(shape, top_z_mm)
    width, radius = outer - inner, 0.5 * (inner + outer)
    if inner < 1e-9:  # no bore: the sprue in the middle, vents near the rim
        rim = max(outer - 0.5 * LARGEST_VENT_MM - 2.0 * MARGIN_MM, 0.6 * outer)
        count = max(2, math.ceil(math.tau * rim / (2.0 * REACH_MM)))
        around = [math.tau * i / count for i in range(count)]
        vents = (Spot(rim * math.cos(a), rim * math.sin(a), 2.0 * (outer - rim)) for a in around)
        return (Spot(0.0, 0.0, 2.0 * outer), *vents)
    count = max(2, math.ceil(math.tau * radius / (2.0 * REACH_MM)))
    angles = [math.tau * i / count for i in range(count)]
    return tuple(Spot(radius * math.cos(a), radius * math.sin(a), width) for a in angles)


def _band(shape: Revolved, top_z_mm: float) -> tuple[float, float]:
    """Radii between which the top is level, or, on a rounded crest, within a tenth of the height of its top."""
    level = [
        x
        for edge in shape.profile.edges
        if abs(edge.start.y - top_z_mm) < 1e-6 and abs(edge.end.y - top_z_mm) < 1e-6
        for x in (edge.start.x, edge.end.x)
    ]
    if level and max(level) - min(level) > 2.0 * MARGIN_MM:
        return min(level), max(level)
    near = [p.x for p in shape.profile.points(0.002) if p.y >= top_z_mm - 0.1 * shape.height_mm]
    return min(near), max(near)


def _spots_on_face(shape: Extruded) -> tuple[Spot, ...]:
    """The roomiest place for the sprue, then the farthest corner of the face again and again."""
    from shapely import Point as Place
    from shapely import Polygon, line_interpolate_point, maximum_inscribed_circle

    face = Polygon(shape.outline.points(0.02), [hole.points(0.02) for hole in shape.holes])
    inside = maximum_inscribed_circle(face, tolerance=0.02)
    centre = inside.coords[0]
    spots = [Spot(centre[0], centre[1], 2.0 * inside.length)]
    # Vents stand as near the rim as a vent of full size may, or on the ridge of a narrower arm.
    for inset in (0.5 * LARGEST_VENT_MM + MARGIN_MM, 0.8, 0.65, 0.5):
        shrunk = face.buffer(-inset)
        if not shrunk.is_empty:
            break
    rim = shrunk.boundary
    steps = max(24, math.ceil(rim.length / 0.5))
    candidates = [line_interpolate_point(rim, i / steps, normalized=True) for i in range(steps)]
    while candidates:
        farthest = max(candidates, key=lambda c: min(math.hypot(c.x - s.x, c.y - s.y) for s in spots))
        gap = min(math.hypot(farthest.x - s.x, farthest.y - s.y) for s in spots)
        if len(spots) > 1 and gap <= REACH_MM:
            break
        if gap < 3.0:
            break
        room = face.boundary.distance(Place(farthest.x, farthest.y))
        spots.append(Spot(farthest.x, farthest.y, 2.0 * room))
    return tuple(spots)


def largest_gate_mm(spot: Spot) -> float:
    return min(GATE_SHARE * spot.width_mm, spot.width_mm - 2.0 * MARGIN_MM, LARGEST_GATE_MM)


def refusal(spots: tuple[Spot, ...], printer: Printer) -> Refusal | None:
    """Why no gate or vent can stand on the ceiling, or None."""
    narrow = min(largest_gate_mm(spot) for spot in spots)
    if narrow >= printer.least_hole_mm:
        return None
    return Refusal(
        ("mold", "fill"),
        f"the face a gate or vent could stand on leaves room for {max(narrow, 0.0):.2f} mm, and {printer.based_on} prints no hole "
        f"under {printer.least_hole_mm:g} mm",
        "Choose `fill: press` under `mold`, which needs no gate.",
    )


def sprue(spot: Spot, *, gate_z_mm: float, top_z_mm: float, syringe: bool, room_mm: float) -> OpeningPlan:
    """A pouring funnel or a syringe's socket above a spot; `room_mm` is the widest that its mouth may be."""
    gate = largest_gate_mm(spot)
    if syringe:
        neck = LUER_MOUTH_MM - LUER_TAPER * LUER_DEPTH_MM
        return OpeningPlan(
            spot.x, spot.y, gate_z_mm, min(gate, neck - 0.4), LAND_MM, neck, top_z_mm, LUER_MOUTH_MM, LUER_DEPTH_MM
        )
    mouth = gate + 2.0 * TAPER * (top_z_mm - FUNNEL_MM - gate_z_mm - LAND_MM)
    funnel = min(WIDEST_FUNNEL_MM, room_mm)
    if funnel <= mouth + 0.5:
        return OpeningPlan(
            spot.x, spot.y, gate_z_mm, gate, LAND_MM, min(mouth, max(room_mm, gate + 0.2)), top_z_mm, 0.0, 0.0
        )
    return OpeningPlan(spot.x, spot.y, gate_z_mm, gate, LAND_MM, mouth, top_z_mm, funnel, FUNNEL_MM)


def vent(spot: Spot, *, gate_z_mm: float, top_z_mm: float) -> OpeningPlan:
    """A riser: thin where it is trimmed, wider above so that rubber standing in it is seen and it pulls out whole."""
    gate = min(largest_gate_mm(spot), LARGEST_VENT_MM)
    return OpeningPlan(spot.x, spot.y, gate_z_mm, gate, LAND_MM, gate + 1.2, top_z_mm, 0.0, 0.0)
