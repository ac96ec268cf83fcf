"""Gates, sprues and vents: where the rubber gets in, where the air gets out, and how the mold stands meanwhile.

A level ceiling holds air by wetting. Where the sprue's head allows it, the mold is filled at a tilt: the rubber comes
in at the low end, the air runs along the ceiling to the high end, and one vent there is enough. Where it does not, the
mold stands level and openings are set so close that air need not creep far. None stands on a running surface.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from moldgen.mold.plan import Attitude, OpeningPlan
from moldgen.remarks import Refusal
from moldgen.shapes import Extruded, Path, Point, Revolved, Shape

MARGIN_MM: Final = 0.3
"""Left on each side of a gate, so that its edge stays clear of the part's own edge."""
GATE_SHARE: Final = 0.6
LARGEST_GATE_MM: Final = 4.0
LEAST_GATE_MM: Final = 0.6
"""The thinnest twist drill a hand drill bears, and a syringe still pushes rubber through: judgement."""
LARGEST_VENT_MM: Final = 1.6
LAND_MM: Final = 0.6
"""Straight stretch above a gate, where the plug is cut off: a feather edge there would break."""
REACH_MM: Final = 25.0
"""Farthest that air may have to creep along a level ceiling to an opening: common practice, no source."""
TILTS_DEG: Final = (6.0, 5.0, 4.0, 3.5)
"""Tried in this order; under 3° a ceiling does not shed its air reliably (common practice, no source)."""
ROOF_MM: Final = 12.0
"""Usual height of rubber in sprue and vents: the head that fills the cavity."""
TALLEST_ROOF_MM: Final = 20.0
LEAST_ROOF_MM: Final = 7.0
"""Over the highest place of the cavity: room for a gate's land, its cone and the funnel."""
BRIM_OVER_CEILING_MM: Final = 3.0
"""The funnel's low lip must stand this much higher than the cavity's highest place, or it never fills."""
TAPER: Final = math.tan(math.radians(6.0))
FUNNEL_MM: Final = 5.0
WIDEST_FUNNEL_MM: Final = 12.0
FUNNEL_SHARE: Final = 0.25
LEAST_FUNNEL_MM3: Final = 80.0
"""A drop or two from a stick or a small syringe."""

# A syringe tip seals in a 6 % taper; the socket's mouth and depth follow the conical fitting of ISO 80369-7 (from
# memory of its figures: opening 4.27 to 4.31 mm, at least 7.5 mm deep).
LUER_MOUTH_MM: Final = 4.30
LUER_DEPTH_MM: Final = 7.5
LUER_TAPER: Final = 0.06


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for an opening: on the ceiling at height z, where the face is so wide."""

    x: float
    y: float
    z: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Filling:
    """How one cavity is filled: its shape turned as it lies in the mold, the attitude, and the openings' places."""

    shape: Shape
    attitude: Attitude
    upper_mm: float
    """Least height of the upper half: head enough over the cavity's high end."""
    sprue: Spot
    vents: tuple[Spot, ...]


def filling(shape: Shape, *, top_z_mm: float) -> Filling:
    """The way to fill a cavity that leaves the fewest vents to trim."""
    return _turned(shape) if isinstance(shape, Revolved) else _flat(shape, top_z_mm)


def tilted(*, low_x: float, high_x: float, top_z_mm: float) -> tuple[Attitude, float]:
    """The tilt and the upper half's height at which the funnel's low lip stands above the cavity's high end.

    The largest tilt that the usual head allows, else the largest that a taller one does, else level.
    """
    usual = max(ROOF_MM, top_z_mm + LEAST_ROOF_MM)
    across = high_x - low_x + 0.5 * WIDEST_FUNNEL_MM
    for most in (usual, max(usual, TALLEST_ROOF_MM)):
        for tilt in TILTS_DEG:
            need = top_z_mm + BRIM_OVER_CEILING_MM + across * math.tan(math.radians(tilt))
            if need <= most:
                return Attitude(tilt), max(usual, need)
    return Attitude(0.0), usual


# --- turned parts ----------------------------------------------------------------------------------------------------


def _turned(shape: Revolved) -> Filling:
    _, _, outer, top = shape.profile.bounds
    bands = ceiling_bands(shape.profile)
    inner, wide = bands[-1].inner, bands[-1].outer
    middle = 0.5 * (inner + wide) if inner > 1e-6 else 0.55 * wide
    width = wide - inner if inner > 1e-6 else 2.0 * min(middle, wide - middle)
    attitude, upper = tilted(low_x=-middle, high_x=outer, top_z_mm=top)
    if attitude.tilt_deg > 0.0:
        vents = tuple(_vent_on_band(band) for band in bands)
        return Filling(shape, attitude, upper, Spot(-middle, 0.0, bands[-1].z, width), vents)
    # Level: where there is no bore, the sprue in the middle and vents round the rim.
    with_bore = inner > 1e-6
    sprue = Spot(-middle, 0.0, bands[-1].z, width) if with_bore else Spot(0.0, 0.0, bands[-1].z, 2.0 * wide)
    return Filling(shape, attitude, upper, sprue, tuple(_round_about(bands, with_sprue=with_bore)))


@dataclass(frozen=True, slots=True)
class Band:
    """A ceiling of a turned cavity: level between two radii, or a rounded crest about its top."""

    inner: float
    outer: float
    z: float


def ceiling_bands(profile: Path) -> tuple[Band, ...]:
    """Every ceiling of the half-section that has open mold above it and does not run, lowest first.

    A ceiling is a highest place of the cavity's own section: lower ones are shoulders and flanges.
    """
    found = []
    for first, last in _high_places(profile):
        inner, outer = sorted((first.x, last.x))
        if outer - inner < 2.0 * MARGIN_MM:
            inner, outer = _crest(profile, Point(0.5 * (inner + outer), first.y))
        found.append(Band(inner, outer, first.y))
    return tuple(sorted(found, key=lambda b: b.z))


def _high_places(profile: Path) -> list[tuple[Point, Point]]:
    """Ends of each stretch of outline that is a local highest place of what the outline encloses."""
    points = profile.points(0.002)
    count = len(points)
    level = [abs(points[i].y - points[(i + 1) % count].y) < 1e-7 for i in range(count)]
    found = []
    for i in range(count):
        if level[i - 1]:
            continue  # inside or at the end of a level stretch, which its first point stands for
        j = i
        while level[j % count] and j < i + count:
            j += 1
        before, start, end, after = points[i - 1], points[i], points[j % count], points[(j + 1) % count]
        if before.y < start.y and after.y < end.y:
            turn = (start.x - before.x) * (after.y - start.y) - (start.y - before.y) * (after.x - start.x)
            if turn > 0.0:  # it turns left over the top: the cavity lies below
                found.append((start, end))
    return found


def _crest(profile: Path, top: Point) -> tuple[float, float]:
    """Radii between which a rounded crest lies within a quarter of the section's height of its top."""
    _, low, _, high = profile.bounds
    near = [
        p.x
        for p in profile.points(0.002)
        if p.y >= top.y - 0.25 * (high - low) and abs(p.x - top.x) < 0.5 * (high - low)
    ]
    return min(near), max(near)


def _vent_on_band(band: Band) -> Spot:
    """As far out on a ceiling as a vent may stand: at a tilt its outer edge is the last place that air leaves."""
    width = band.outer - band.inner
    radius = 0.5 * min(LARGEST_VENT_MM, largest_gate_mm(width))
    return Spot(max(band.outer - radius - MARGIN_MM, 0.5 * (band.inner + band.outer)), 0.0, band.z, width)


def _round_about(bands: Sequence[Band], *, with_sprue: bool) -> list[Spot]:
    """Vents round each ceiling of a mold that stands level, none farther than REACH_MM from the next opening."""
    spots = []
    for band in bands:
        width, middle = band.outer - band.inner, 0.5 * (band.inner + band.outer)
        if band.inner <= 1e-6:
            middle, width = 0.8 * band.outer, 0.4 * band.outer
        count = max(2, math.ceil(math.tau * middle / (2.0 * REACH_MM)))
        taken = 1 if with_sprue and band is bands[-1] else 0
        for i in range(taken, count):
            angle = math.pi + math.tau * i / count
            spots.append(Spot(middle * math.cos(angle), middle * math.sin(angle), band.z, width))
    return spots


# --- flat parts ------------------------------------------------------------------------------------------------------


def _flat(shape: Extruded, top_z_mm: float) -> Filling:
    """The outline turned so that, raised at its +x end, its air gathers in as few places as can be."""
    best: tuple[tuple[float, ...], Filling] | None = None
    for step in range(TURNS):
        turned = _turned_by(shape, 360.0 * step / TURNS)
        one = _at_this_turn(turned, top_z_mm)
        x0, y0, x1, y1 = turned.outline.bounds
        level = one.attitude.tilt_deg == 0.0
        key = (
            float(level),
            float(len(one.vents)),
            -round(min(s.width_mm for s in (one.sprue, *one.vents)), 1),
            (x1 - x0) * (y1 - y0),
        )
        if best is None or key < best[0]:
            best = key, one
    assert best is not None
    return best[1]


TURNS: Final = 16


def _turned_by(shape: Extruded, angle_deg: float) -> Extruded:
    if angle_deg == 0.0:
        return shape
    return Extruded(
        shape.outline.rotated(angle_deg), tuple(h.rotated(angle_deg) for h in shape.holes), shape.thickness_mm
    )


def _at_this_turn(shape: Extruded, top_z_mm: float) -> Filling:
    from shapely import Point as Place
    from shapely import Polygon

    face = Polygon(shape.outline.points(0.02), [hole.points(0.02) for hole in shape.holes])
    _, _, high_x, _ = shape.outline.bounds
    sprue = _sprue_on_face(face, top_z_mm)
    attitude, upper = tilted(low_x=sprue.x, high_x=high_x, top_z_mm=top_z_mm)
    inset = 0.5 * LARGEST_VENT_MM + MARGIN_MM
    while (shrunk := face.buffer(-inset)).is_empty or shrunk.geom_type != "Polygon":
        inset *= 0.8
    spots = []
    for peak in _peaks(shape.outline.points(0.02)) if attitude.tilt_deg > 0.0 else _spread(face, shrunk, sprue):
        near = max(shrunk.exterior.coords, key=lambda c: c[0] - 2.0 * math.hypot(c[0] - peak[0], c[1] - peak[1]))
        room = face.boundary.distance(Place(near))
        spots.append(Spot(near[0], near[1], top_z_mm, 2.0 * room))
    return Filling(shape, attitude, upper, sprue, tuple(dict.fromkeys(spots)))


def _sprue_on_face(face: object, top_z_mm: float) -> Spot:
    """The roomiest place in the low half of a face."""
    from shapely import box, maximum_inscribed_circle

    x0, y0, x1, y1 = face.bounds  # type: ignore[attr-defined]
    low = face.intersection(box(x0, y0, 0.5 * (x0 + x1), y1))  # type: ignore[attr-defined]
    parts = getattr(low, "geoms", [low])
    circles = [maximum_inscribed_circle(part, tolerance=0.02) for part in parts]
    circle = max(circles, key=lambda c: c.length)
    x, y = circle.coords[0]
    return Spot(x, y, top_z_mm, 2.0 * circle.length)


def _peaks(rim: Sequence[Point]) -> list[Point]:
    """Corners of the rim that lie farther to +x than both their neighbours, the face being on the low side."""
    count = len(rim)
    found = []
    for i in range(count):
        before, here = rim[i - 1], rim[i]
        j = i
        while abs(rim[(j + 1) % count].x - rim[j % count].x) < 1e-7 and j < i + count:
            j += 1
        last, after = rim[j % count], rim[(j + 1) % count]
        if before.x < here.x - 1e-9 and after.x < last.x - 1e-9:
            turn = (here.x - before.x) * (after.y - here.y) - (here.y - before.y) * (after.x - here.x)
            if turn > 0.0:
                found.append(Point(here.x, 0.5 * (here.y + last.y)))
    return found


def _spread(face: object, shrunk: object, sprue: Spot) -> list[Point]:
    """Places round the rim of a level face, the farthest from any opening first, until none is out of reach."""
    from shapely import line_interpolate_point

    rim = shrunk.exterior  # type: ignore[attr-defined]
    steps = max(24, math.ceil(rim.length))
    candidates = [line_interpolate_point(rim, i / steps, normalized=True) for i in range(steps)]
    places = [Point(sprue.x, sprue.y)]
    while True:
        far = max(candidates, key=lambda c: min(math.hypot(c.x - p.x, c.y - p.y) for p in places))
        if len(places) > 1 and min(math.hypot(far.x - p.x, far.y - p.y) for p in places) <= REACH_MM:
            return places[1:]
        places.append(Point(far.x, far.y))


# --- openings --------------------------------------------------------------------------------------------------------


def largest_gate_mm(width_mm: float) -> float:
    """The widest opening on a face of a width."""
    return min(GATE_SHARE * width_mm, width_mm - 2.0 * MARGIN_MM, LARGEST_GATE_MM)


def overhung(shape: Revolved, spot: Spot) -> bool:
    """Whether the cavity itself lies above a place, so that no opening can be led straight up from there."""
    from shapely import Polygon, box

    radius = math.hypot(spot.x, spot.y)
    half = 0.5 * largest_gate_mm(spot.width_mm) + MARGIN_MM
    section = Polygon(shape.profile.points(0.02))
    above = box(max(radius - half, 0.0), spot.z + 0.05, radius + half, shape.profile.bounds[3] + 1.0)
    return bool(section.intersection(above).area > 1e-3)


def refusal(way: Filling) -> Refusal | None:
    """Why no gate or vent can stand on the ceiling, or None."""
    narrow = min(largest_gate_mm(spot.width_mm) for spot in (way.sprue, *way.vents))
    if narrow >= LEAST_GATE_MM:
        return None
    return Refusal(
        ("mold", "fill"),
        f"the face a gate or vent could stand on leaves room for {max(narrow, 0.0):.2f} mm, and nothing flows through "
        f"less than {LEAST_GATE_MM:g} mm",
        "Choose `fill: press` under `mold`, which needs no gate.",
    )


def sprue(spot: Spot, *, top_z_mm: float, syringe: bool, room_mm: float, cavity_mm3: float) -> OpeningPlan:
    """A pouring funnel or a syringe's socket above a spot; `room_mm` is the widest that its mouth may be.

    The funnel holds a share of the cavity, so that small parts are not mostly sprue.
    """
    gate = largest_gate_mm(spot.width_mm)
    if syringe:
        neck = LUER_MOUTH_MM - LUER_TAPER * LUER_DEPTH_MM
        gate = min(gate, neck - 0.4)
        return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, neck, top_z_mm, LUER_MOUTH_MM, LUER_DEPTH_MM)
    mouth = gate + 2.0 * TAPER * (top_z_mm - FUNNEL_MM - spot.z - LAND_MM)
    funnel = min(WIDEST_FUNNEL_MM, room_mm, _funnel_holding(max(FUNNEL_SHARE * cavity_mm3, LEAST_FUNNEL_MM3), mouth))
    if funnel <= mouth + 0.5:
        narrow = min(mouth, max(room_mm, gate + 0.2))
        return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, narrow, top_z_mm, 0.0, 0.0)
    return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, mouth, top_z_mm, funnel, FUNNEL_MM)


def _funnel_holding(volume_mm3: float, mouth_mm: float) -> float:
    """Diameter of a funnel's mouth: V = pi h (d² + d m + m²)/12 solved for d."""
    rest = 12.0 * volume_mm3 / (math.pi * FUNNEL_MM) - mouth_mm**2
    return 0.5 * (-mouth_mm + math.sqrt(mouth_mm**2 + 4.0 * max(rest, 0.0)))


def vent(spot: Spot, *, top_z_mm: float) -> OpeningPlan:
    """A riser: thin where it is trimmed, wider above so that rubber standing in it is seen and it pulls out whole."""
    gate = min(largest_gate_mm(spot.width_mm), LARGEST_VENT_MM)
    return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, gate + 1.2, top_z_mm, 0.0, 0.0)
