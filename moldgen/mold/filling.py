"""Gates, sprues and vents: where the rubber gets in, where the air gets out, and how the mold stands meanwhile.

A level ceiling holds air by wetting. Where the sprue's head allows it, the mold is filled at a tilt: the rubber comes
in at the low end, the air runs along the ceiling to the high end, and one vent there is enough. Where it does not, the
mold stands level and openings are set so close that air need not creep far. None stands on a running surface.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from moldgen.mold.plan import Attitude, OpeningPlan
from moldgen.remarks import Refusal
from moldgen.shapes import CavityShape, Extruded, Path, Point, Revolved, Shape

if TYPE_CHECKING:
    from shapely import Polygon

TOUCH_MM: Final = 0.01
MARGIN_MM: Final = 0.3
"""Left on each side of a gate, so that its edge stays clear of the part's own edge."""
GATE_SHARE: Final = 0.6
LARGEST_GATE_MM: Final = 4.0
LEAST_GATE_MM: Final = 0.6
"""The thinnest twist drill a hand drill bears, and a syringe still pushes rubber through: judgement."""
LARGEST_VENT_MM: Final = 1.6
VENTS_MM: Final = (1.6, 1.3, 1.0, 0.8, 0.7, 0.6)
"""Tried at a peak, widest first."""
LEFT_MM3: Final = 0.15
"""Air that may stay beyond a vent: half of what the proof of filling allows."""
VENT_SPREAD_MM: Final = 1.2
BETWEEN_MOUTHS_MM: Final = 0.9
"""Plastic between two mouths: two printed lines."""
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
LUER_NECK_MM: Final = LUER_MOUTH_MM - LUER_TAPER * LUER_DEPTH_MM
LEAST_SYRINGE_ROOF_MM: Final = LUER_DEPTH_MM + LAND_MM + 0.5 * (LUER_NECK_MM - LEAST_GATE_MM)
"""Over the highest place of the cavity: the socket, a gate's land, and between them a cone of 45° that prints."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for an opening on the ceiling, and the diameter that it has there."""

    x: float
    y: float
    z: float
    gate_mm: float
    most_spread_mm: float = VENT_SPREAD_MM
    """By how much a vent there may widen towards the top."""


@dataclass(frozen=True, slots=True)
class Filling:
    """How one cavity is filled: its shape turned as it lies in the mold, the attitude, and the openings' places."""

    shape: CavityShape
    attitude: Attitude
    upper_mm: float
    """Least height of the upper half: head enough over the cavity's high end."""
    sprue: Spot
    vents: tuple[Spot, ...]
    left_mm3: float = 0.0
    """Air that is expected to stay beyond the vents of a flat part."""
    further: tuple[Spot, ...] = ()
    """More gates of the same cavity, where the rubber would have far to go from one."""
    hull: Path | None = None
    """The cavity's rim where it is convex, of lines and smooth arcs; None where it has to be looked for."""
    kept_free_mm: float = 0.0
    """Radius of a turned cavity within which core or metal is seated in the upper half, a sound wall included."""

    @property
    def gates(self) -> tuple[Spot, ...]:
        return (self.sprue, *self.further)


def filling(shape: Shape, *, top_z_mm: float, least_wall_mm: float, kept_free_mm: float = 0.0) -> Filling:
    """The way to fill a cavity that leaves the fewest vents to trim; none stands within `kept_free_mm` of the axis."""
    if isinstance(shape, Revolved):
        return _turned(shape, kept_free_mm, least_wall_mm)
    return _flat(shape, top_z_mm)


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


def _turned(shape: Revolved, kept_free_mm: float, least_wall_mm: float) -> Filling:
    _, _, outer, top = shape.profile.bounds
    bands = tuple(replace(b, inner=max(b.inner, kept_free_mm)) for b in ceiling_bands(shape.profile))
    inner, wide = bands[-1].inner, bands[-1].outer
    middle = 0.5 * (inner + wide) if inner > 1e-6 else 0.55 * wide
    width = wide - inner if inner > 1e-6 else 2.0 * min(middle, wide - middle)
    attitude, upper = tilted(low_x=-middle, high_x=outer, top_z_mm=top)
    if attitude.tilt_deg > 0.0:
        slope = math.tan(math.radians(attitude.tilt_deg))
        shoulders = [s for s in _shoulders(shape.profile, slope, kept_free_mm) if not any(b.ends_at(s) for b in bands)]
        vents = (*(_vent_on_shoulder(s, least_wall_mm) for s in shoulders), *(_vent_on_band(b) for b in bands))
        sprue = Spot(-middle, 0.0, bands[-1].z, largest_gate_mm(width))
        return Filling(shape, attitude, upper, sprue, vents, kept_free_mm=kept_free_mm)
    # Level: where there is no bore, the sprue in the middle and vents round the rim.
    with_bore = inner > 1e-6
    sprue_x, sprue_width = (-middle, width) if with_bore else (0.0, 2.0 * wide)
    sprue = Spot(sprue_x, 0.0, bands[-1].z, largest_gate_mm(sprue_width))
    around = tuple(_round_about(bands, with_sprue=with_bore))
    return Filling(shape, attitude, upper, sprue, around, kept_free_mm=kept_free_mm)


@dataclass(frozen=True, slots=True)
class Band:
    """A ceiling of a turned cavity: level between two radii, or a rounded crest about its top."""

    inner: float
    outer: float
    z: float
    crest: float | None = None
    """Radius of the top of a rounded crest."""
    rise: float = 0.0
    """By how much it rises for each mm inwards."""
    runs: bool = False

    def ends_at(self, other: Band) -> bool:
        """Whether the other ceiling is this one seen again."""
        return self.inner <= other.outer <= self.outer + TOUCH_MM and abs(self.z - other.z) < TOUCH_MM


def ceiling_bands(profile: Path) -> tuple[Band, ...]:
    """Every ceiling of the half-section that has open mold above it, lowest first; one that runs has no width.

    A ceiling is a highest place of the cavity's own section: lower ones are shoulders and flanges.
    """
    found = []
    for first, last, runs in _high_places(profile):
        inner, outer = sorted((first.x, last.x))
        if outer - inner >= 2.0 * MARGIN_MM:
            found.append(Band(outer if runs else inner, outer, first.y))
        else:
            top = Point(0.5 * (inner + outer), first.y)
            found.append(Band(*_crest(profile, top), first.y, crest=top.x))
    return tuple(sorted(found, key=lambda b: b.z))


def _shoulders(profile: Path, slope: float, kept_free_mm: float) -> Iterator[Band]:
    """Ceilings with a wall going up at their inner edge that rise less than the mold is tilted, lowest first.

    They hold air at their outer edge on the high side. Left out where it is next to nothing.
    """
    outline = _outline(profile)
    at_high_end = [p.y + slope * p.x for p, _ in outline]
    count = len(outline)
    found = []
    for i, (outer, _) in enumerate(outline):
        top = at_high_end[i]
        if not at_high_end[i - 1] < top > at_high_end[(i + 1) % count]:
            continue
        inwards = [(i + k) % count for k in range(1, count)]
        over = next((k for k, j in enumerate(inwards) if at_high_end[j] > top), None)
        if over is None:
            continue
        lip = min(inwards[:over], key=at_high_end.__getitem__)
        inner = outline[lip][0]
        if inner.x >= outer.x or outline[inwards[0]][0].x >= outer.x:
            continue
        mean = (top - at_high_end[lip]) / (outer.x - inner.x)
        if shoulder_air_mm3(inner_mm=inner.x, outer_mm=outer.x, slope=mean) > LEFT_MM3:
            rise = (inner.y - outer.y) / (outer.x - inner.x)
            beside = max((p.x for p, _ in outline if p.y > inner.y + TOUCH_MM), default=inner.x)
            found.append(Band(max(inner.x, beside, kept_free_mm), outer.x, outer.y, rise=rise, runs=outline[i][1]))
    yield from sorted(found, key=lambda band: band.z)


def shoulder_air_mm3(*, inner_mm: float, outer_mm: float, slope: float) -> float:
    """What a level ring-shaped ceiling holds, tilted, beyond the line that touches its inner edge at the high end.

    s (2/3 (b² − a²)^(3/2) − a A), A = b² acos(a/b) − a sqrt(b² − a²): a circle's segment under a plane of slope s. One
    that itself rises inwards by k holds no more than a level one at a slope of s − k.

    By hand, a = 0: half a disc, s 2/3 b³

    >>> round(shoulder_air_mm3(inner_mm=0.0, outer_mm=3.0, slope=0.1), 9)
    1.8
    """
    a, b = inner_mm, outer_mm
    half_chord = math.sqrt(b * b - a * a)
    segment = b * b * math.acos(a / b) - a * half_chord
    return slope * (2.0 / 3.0 * half_chord**3 - a * segment)


def _high_places(profile: Path) -> list[tuple[Point, Point, bool]]:
    """Ends of each stretch of outline that is a highest place of what lies round it inside, and whether it runs."""
    outline = _outline(profile)
    points = [p for p, _ in outline]
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
            on = end if j > i else after
            turn = (start.x - before.x) * (on.y - start.y) - (start.y - before.y) * (on.x - start.x)
            if turn > 0.0:  # it turns left over the top: the cavity lies below
                found.append((start, end, any(outline[k % count][1] for k in range(i, j))))
    return found


def _outline(profile: Path) -> list[tuple[Point, bool]]:
    """Points of the half-section, and of each whether it runs from there on."""
    return [(p, edge.start.surface == "running") for edge in profile.edges for p in edge.points(0.002)]


def _crest(profile: Path, top: Point) -> tuple[float, float]:
    """Radii about a crest within a quarter of the section's height of its top, as far as nothing runs there."""
    _, low, _, high = profile.bounds
    free: list[float] = []
    running: list[float] = []
    for edge in profile.edges:
        for p in (*edge.points(0.002), Point(edge.end.x, edge.end.y)):
            if p.y >= top.y - 0.25 * (high - low) and abs(p.x - top.x) < 0.5 * (high - low):
                (running if edge.start.surface == "running" else free).append(p.x)
    inner = max((x for x in running if x < top.x), default=-math.inf)
    outer = min((x for x in running if x > top.x), default=math.inf)
    return max(inner, min(free, default=top.x)), min(outer, max(free, default=top.x))


def _vent_on_band(band: Band) -> Spot:
    """As far out on a ceiling as a vent may stand: at a tilt its outer edge is the last place that air leaves."""
    vent = largest_vent_mm(band.outer - band.inner)
    far = max(band.outer - 0.5 * vent - MARGIN_MM, 0.5 * (band.inner + band.outer))
    if band.crest is None:
        return Spot(far, 0.0, band.z, vent)
    return Spot(min(max(band.crest, band.inner + 0.5 * vent + MARGIN_MM), far), 0.0, band.z, vent)


def _vent_on_shoulder(band: Band, least_wall_mm: float) -> Spot:
    """As far out as a vent may stand, with a sound wall between it and what goes up at the shoulder's inner edge."""
    room = 0.0 if band.runs else band.outer - band.inner - least_wall_mm - MARGIN_MM
    vent = min(room, max(room - VENT_SPREAD_MM / 6.0, LEAST_GATE_MM), LARGEST_VENT_MM)
    far = band.outer - 0.5 * vent - MARGIN_MM
    spread = min(2.0 * (room - vent), VENT_SPREAD_MM)
    return Spot(far, 0.0, band.z + band.rise * (band.outer - far), vent, spread)


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
            spots.append(Spot(middle * math.cos(angle), middle * math.sin(angle), band.z, largest_vent_mm(width)))
    return spots


# --- flat parts ------------------------------------------------------------------------------------------------------


def _flat(shape: Extruded, top_z_mm: float) -> Filling:
    """The outline turned so that, raised at its +x end, its air gathers in as few places as can be."""
    best: tuple[tuple[float, ...], Filling] | None = None
    for step in range(TURNS):
        turned = _turned_by(shape, 360.0 * step / TURNS)
        one = _at_this_turn(turned, top_z_mm)
        x0, y0, x1, y1 = turned.outline.bounds
        key = (
            float(one.attitude.tilt_deg == 0.0),
            float(one.left_mm3 > LEFT_MM3),
            float(len(one.vents)),
            -round(min(spot.gate_mm for spot in (one.sprue, *one.vents)), 1),
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
    from shapely import Polygon

    face = Polygon(shape.outline.points(0.02), [hole.points(0.02) for hole in shape.holes])
    _, _, high_x, _ = shape.outline.bounds
    sprue = _sprue_on_face(face, top_z_mm)
    attitude, upper = tilted(low_x=sprue.x, high_x=high_x, top_z_mm=top_z_mm)
    if attitude.tilt_deg == 0.0:
        return Filling(shape, attitude, upper, sprue, tuple(_spread(face, sprue, top_z_mm)))
    slope = math.tan(math.radians(attitude.tilt_deg))
    found = [vent_at_peak(face, peak, slope, top_z_mm) for peak in _peaks(shape.outline.points(0.02))]
    vents = tuple(dict.fromkeys(spot for spot, _ in found))
    return Filling(shape, attitude, upper, sprue, vents, sum(left for _, left in found))


def vent_at_peak(face: Polygon, peak: Point, slope: float, z: float) -> tuple[Spot, float]:
    """The widest vent that leaves next to no air between itself and a peak, and what it leaves.

    Air beyond the vent's far edge stays: about a third of the area there times its depth.
    """
    best: tuple[Spot, float] | None = None
    for gate in VENTS_MM:
        shrunk = face.buffer(-0.5 * gate - MARGIN_MM)
        rims = [part.exterior.coords for part in getattr(shrunk, "geoms", [shrunk]) if not part.is_empty]
        corners = [corner for rim in rims for corner in rim]
        if not corners:
            continue
        x, y = max(corners, key=lambda c: c[0] - math.hypot(c[0] - peak.x, c[1] - peak.y))[:2]
        left = _left_beyond(face, peak, x + 0.5 * gate) * slope
        if best is None or left < best[1]:
            best = Spot(x, y, z, gate), left
        if left <= LEFT_MM3:
            break
    return best if best is not None else (Spot(peak.x, peak.y, z, 0.0), math.inf)


def _left_beyond(face: Polygon, peak: Point, x: float) -> float:
    """A third of the area beyond x that hangs together with a peak, times how far it reaches."""
    from shapely import Point as Place
    from shapely import box

    _, low, right, high = face.bounds
    beyond = face.intersection(box(x, low - 1.0, right + 1.0, high + 1.0))
    near = Place(peak.x, peak.y)
    parts = [part for part in getattr(beyond, "geoms", [beyond]) if not part.is_empty and part.distance(near) < 0.05]
    return float(sum(part.area * (part.bounds[2] - x) / 3.0 for part in parts))


def _sprue_on_face(face: Polygon, top_z_mm: float) -> Spot:
    """The roomiest place in the low half of a face."""
    from shapely import box, maximum_inscribed_circle

    x0, y0, x1, y1 = face.bounds
    low = face.intersection(box(x0, y0, 0.5 * (x0 + x1), y1))
    parts = getattr(low, "geoms", [low])
    circles = [maximum_inscribed_circle(part, tolerance=0.02) for part in parts]
    circle = max(circles, key=lambda c: c.length)
    x, y = circle.coords[0]
    return Spot(x, y, top_z_mm, largest_gate_mm(2.0 * circle.length))


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


def _spread(face: Polygon, sprue: Spot, z: float) -> list[Spot]:
    """Vents round the rim of a level face, the farthest from any opening first, until none is out of reach."""
    from shapely import Point as Place
    from shapely import line_interpolate_point

    inset = 0.5 * LARGEST_VENT_MM + MARGIN_MM
    while (shrunk := face.buffer(-inset)).is_empty or shrunk.geom_type != "Polygon":
        inset *= 0.8
    rim = shrunk.exterior
    steps = max(24, math.ceil(rim.length))
    candidates = [line_interpolate_point(rim, i / steps, normalized=True) for i in range(steps)]
    places = [Place(sprue.x, sprue.y)]
    while True:
        far = max(candidates, key=lambda c: min(c.distance(p) for p in places))
        if len(places) > 1 and min(far.distance(p) for p in places) <= REACH_MM:
            break
        places.append(far)
    return [Spot(p.x, p.y, z, largest_vent_mm(2.0 * face.boundary.distance(p))) for p in places[1:]]


# --- openings --------------------------------------------------------------------------------------------------------


def largest_gate_mm(width_mm: float) -> float:
    """The widest opening on a face of a width."""
    return min(GATE_SHARE * width_mm, width_mm - 2.0 * MARGIN_MM, LARGEST_GATE_MM)


def overhung(shape: Revolved, spot: Spot) -> bool:
    """Whether the cavity itself lies above a place, so that no opening can be led straight up from there."""
    from_z, top_z = spot.z + 0.05, shape.profile.bounds[3]
    if top_z <= from_z:
        return False

    from shapely import Polygon, box

    radius = math.hypot(spot.x, spot.y)
    half = 0.5 * spot.gate_mm + MARGIN_MM
    section = Polygon(shape.profile.points(0.02))
    above = box(max(radius - half, 0.0), from_z, radius + half, top_z + 1.0)
    return bool(section.intersection(above).area > 1e-3)


def largest_vent_mm(width_mm: float) -> float:
    """The widest vent on a face of a width."""
    return min(width_mm - 2.0 * MARGIN_MM, LARGEST_VENT_MM)


def refusal(way: Filling) -> Refusal | None:
    """Why no gate or vent can stand on the ceiling, or None."""
    narrow = min(spot.gate_mm for spot in (*way.gates, *way.vents))
    if narrow >= LEAST_GATE_MM:
        return None
    return Refusal(
        ("mold", "fill"),
        f"the face a gate or vent could stand on leaves room for {max(narrow, 0.0):.2f} mm, and nothing flows through "
        f"less than {LEAST_GATE_MM:g} mm",
        "Choose `fill: press` under `mold`, which needs no gate.",
    )


def too_close(way: Filling) -> Refusal | None:
    """Why sprues and vents of one cavity cannot stand beside each other, or None."""
    for spot, other in ((s, o) for i, s in enumerate(way.gates) for o in (*way.gates[i + 1 :], *way.vents)):
        apart = _apart(spot, other)
        if apart < 0.5 * (spot.gate_mm + other.gate_mm) + BETWEEN_MOUTHS_MM + 0.2:
            return Refusal(
                ("mold", "fill"),
                f"the part is so small that gate and vent would stand {apart:.1f} mm apart and run into each other",
                "Choose `fill: press` under `mold`, which needs no gate.",
            )
    return None


def openings(
    way: Filling, *, top_z_mm: float, syringe: bool, mouth_rooms_mm: Sequence[float], lean_deg: float
) -> tuple[tuple[OpeningPlan, ...], tuple[OpeningPlan, ...]]:
    """Sprues and vents of one cavity, their mouths kept apart from each other and from what is around.

    `mouth_rooms_mm` is the widest that each sprue's mouth may be for the sake of neighbours and walls; a funnel's wall,
    a roof when it is printed, leans no more than `lean_deg`.
    """
    vents = []
    for spot in way.vents:
        # What lies between the two gates is shared out: the vent widens a little, the sprue takes the rest.
        gate = min(way.gates, key=lambda g: _apart(g, spot))
        others = [_apart(v, spot) - 0.5 * (v.gate_mm + spot.gate_mm) for v in way.vents if v is not spot]
        spread = min(
            spot.most_spread_mm,
            0.3 * (2.0 * (_apart(gate, spot) - BETWEEN_MOUTHS_MM) - spot.gate_mm - gate.gate_mm),
            *(between - BETWEEN_MOUTHS_MM for between in others),
        )
        vents.append(_vent(spot, top_z_mm=top_z_mm, spread_mm=max(spread, 0.0)))
    sprues = []
    for gate, around in zip(way.gates, mouth_rooms_mm, strict=True):
        beside = [
            2.0 * (_apart(gate, spot) - BETWEEN_MOUTHS_MM) - vent.mouth_diameter_mm
            for spot, vent in zip(way.vents, vents, strict=True)
        ]
        others = [_apart(gate, other) - BETWEEN_MOUTHS_MM for other in way.gates if other is not gate]
        sprues.append(
            _sprue(
                gate,
                top_z_mm=top_z_mm,
                syringe=syringe,
                room_mm=min(around, *beside, *others),
                cavity_mm3=way.shape.volume_mm3 / len(way.gates),
                lean_deg=lean_deg,
            )
        )
    return tuple(sprues), tuple(vents)


def _apart(one: Spot, other: Spot) -> float:
    return math.hypot(other.x - one.x, other.y - one.y)


def _sprue(
    spot: Spot, *, top_z_mm: float, syringe: bool, room_mm: float, cavity_mm3: float, lean_deg: float
) -> OpeningPlan:
    """A pouring funnel or a syringe's socket above a spot; `room_mm` is the widest that its mouth may be.

    The funnel holds a share of the cavity, so that small parts are not mostly sprue. Where a syringe's socket has no
    room, the tip is held against a plain mouth.
    """
    neck = LUER_NECK_MM
    if syringe and room_mm >= LUER_MOUTH_MM + 0.6:
        gate = min(spot.gate_mm, neck - 0.4)
        return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, neck, top_z_mm, LUER_MOUTH_MM, LUER_DEPTH_MM)
    gate = spot.gate_mm
    mouth = gate + 2.0 * TAPER * (top_z_mm - FUNNEL_MM - spot.z - LAND_MM)
    steepest = mouth + 2.0 * FUNNEL_MM * math.tan(math.radians(lean_deg))
    holding = _funnel_holding(max(FUNNEL_SHARE * cavity_mm3, LEAST_FUNNEL_MM3), mouth)
    funnel = min(WIDEST_FUNNEL_MM, room_mm, steepest, holding)
    if funnel > mouth + 0.5:
        return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, mouth, top_z_mm, funnel, FUNNEL_MM)
    whole = gate + 2.0 * TAPER * (top_z_mm - spot.z - LAND_MM)
    return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, max(min(whole, room_mm), gate), top_z_mm, 0.0, 0.0)


def _funnel_holding(volume_mm3: float, mouth_mm: float) -> float:
    """Diameter of a funnel's mouth: V = pi h (d² + d m + m²)/12 solved for d."""
    rest = 12.0 * volume_mm3 / (math.pi * FUNNEL_MM) - mouth_mm**2
    return 0.5 * (-mouth_mm + math.sqrt(mouth_mm**2 + 4.0 * max(rest, 0.0)))


def _vent(spot: Spot, *, top_z_mm: float, spread_mm: float) -> OpeningPlan:
    """A riser: thin where it is trimmed, wider above so that rubber standing in it is seen and it pulls out whole."""
    gate = spot.gate_mm
    return OpeningPlan(spot.x, spot.y, spot.z, gate, LAND_MM, gate + spread_mm, top_z_mm, 0.0, 0.0)
