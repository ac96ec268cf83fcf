"""Where a belt runs: seats in grooves, straight spans, wraps, length, and why a belt cannot be strung.

Pulleys are listed in the order in which the belt runs over them, each with the sense in which it turns. Span
k leaves pulley k and arrives at pulley k + 1, the last one back at pulley 0. Everything lies on the belt's
neutral line, taken through the centroid of its section.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache
from typing import assert_never

from moldgen.errors import MoldgenError, require_range

MOST_WRAP_RAD = math.radians(300.0)
"""A wrap that comes out larger is a small negative one plus a full turn: the belt misses that pulley.

Our own judgement; with two pulleys every sense is possible, so it is asked from three on."""

TOUCHING = 1e-9
"""Rounding allowed where circles, strands and widths just touch (mm) or a wrap just vanishes (rad)."""


class Sense(IntEnum):
    """The way a pulley turns, seen from the side on which x runs right and y up."""

    CW = -1
    CCW = 1


class BeltError(MoldgenError, ValueError):
    """The belt cannot be strung; the subclass says why, its attributes say where."""


class PulleysOverlapError(BeltError):
    """Two pulleys occupy the same space."""

    def __init__(self, pulleys: tuple[int, int], distance_mm: float, needed_mm: float) -> None:
        super().__init__(pulleys, distance_mm, needed_mm)
        self.pulleys, self.distance_mm, self.needed_mm = pulleys, distance_mm, needed_mm

    def __str__(self) -> str:
        first, second = self.pulleys
        return (
            f"pulleys[{first}] and pulleys[{second}] overlap: centres {self.distance_mm:.2f} mm apart, "
            f"radii add up to {self.needed_mm:.2f} mm"
        )


class NoTangentError(BeltError):
    """No straight strand touches both pulleys of a span with the senses asked for."""

    def __init__(self, span: int, pulleys: tuple[int, int], distance_mm: float, needed_mm: float) -> None:
        super().__init__(span, pulleys, distance_mm, needed_mm)
        self.span, self.pulleys, self.distance_mm, self.needed_mm = span, pulleys, distance_mm, needed_mm

    def __str__(self) -> str:
        first, second = self.pulleys
        return (
            f"no straight strand runs from pulleys[{first}] to pulleys[{second}] with these senses: centres "
            f"{self.distance_mm:.2f} mm apart, more than {self.needed_mm:.2f} mm needed"
        )


class ImpossibleSenseError(BeltError):
    """The belt passes by a pulley, or would have to loop it, when it turns in the sense asked for."""

    def __init__(self, pulley: int, wrap_deg: float) -> None:
        super().__init__(pulley, wrap_deg)
        self.pulley, self.wrap_deg = pulley, wrap_deg

    def __str__(self) -> str:
        return (
            f"pulleys[{self.pulley}] cannot turn in that sense at that place in the order: the belt would "
            f"wrap it by {self.wrap_deg:.1f} deg, so in truth it runs past it"
        )


class WrongOrderError(BeltError):
    """The pulleys are listed against the way the belt runs (or all of them turn the other way)."""

    def __str__(self) -> str:
        return "the pulleys are listed against the belt's run: reverse their order, or the sense of every one"


class SpanBlockedError(BeltError):
    """A strand would run through a pulley that is not at either of its ends."""

    def __init__(self, span: int, pulley: int, overlap_mm: float) -> None:
        super().__init__(span, pulley, overlap_mm)
        self.span, self.pulley, self.overlap_mm = span, pulley, overlap_mm

    def __str__(self) -> str:
        return (
            f"the strand that leaves pulleys[{self.span}] runs {self.overlap_mm:.2f} mm deep through "
            f"pulleys[{self.pulley}]: that pulley is missing from this place in the order"
        )


class GrooveFitError(BeltError):
    """The section does not sit in a groove as it should; `excess_mm` says by how much."""

    def __init__(self, pulley: int, excess_mm: float) -> None:
        super().__init__(pulley, excess_mm)
        self.pulley, self.excess_mm = pulley, excess_mm


class BottomsError(GrooveFitError):
    """A belt for the flanks of a vee lies on its bottom and grips no better than on a flat pulley."""

    def __str__(self) -> str:
        return (
            f"the belt bottoms in the vee of pulleys[{self.pulley}]: held by the flanks it would lie "
            f"{self.excess_mm:.2f} mm deeper than the metal goes"
        )


class RidesOutError(GrooveFitError):
    """The belt is too wide for its groove and rests on the rims."""

    def __str__(self) -> str:
        return f"the belt rides out of the groove of pulleys[{self.pulley}]: {self.excess_mm:.2f} mm too wide"


@dataclass(frozen=True, slots=True)
class RoundSection:
    """A cord."""

    diameter_mm: float

    def __post_init__(self) -> None:
        require_range("diameter_mm", self.diameter_mm, 0.1, 50.0)

    @property
    def height_mm(self) -> float:
        return self.diameter_mm

    @property
    def width_mm(self) -> float:
        return self.diameter_mm

    @property
    def area_mm2(self) -> float:
        return math.pi / 4.0 * self.diameter_mm**2

    def stretched(self, stretch_ratio: float) -> RoundSection:
        """The same cord drawn to `stretch_ratio` times its length: d' = d/sqrt(L), the volume is kept."""
        return RoundSection(self.diameter_mm * _thinning(stretch_ratio))


@dataclass(frozen=True, slots=True)
class RectangularSection:
    """A square or flat belt: height along the pulley's radius, width along its axis."""

    height_mm: float
    width_mm: float

    def __post_init__(self) -> None:
        require_range("height_mm", self.height_mm, 0.1, 50.0)
        require_range("width_mm", self.width_mm, 0.1, 200.0)

    @property
    def area_mm2(self) -> float:
        return self.height_mm * self.width_mm

    def stretched(self, stretch_ratio: float) -> RectangularSection:
        """The same belt drawn to `stretch_ratio` times its length: sides by 1/sqrt(L), the volume is kept.

        A belt of 2.0 mm at stretch ratio 1.0816: 2.0/1.04 = 1.923

        >>> round(RectangularSection(2.0, 2.0).stretched(1.0816).height_mm, 3)
        1.923
        """
        thinning = _thinning(stretch_ratio)
        return RectangularSection(self.height_mm * thinning, self.width_mm * thinning)


Section = RoundSection | RectangularSection


def _thinning(stretch_ratio: float) -> float:
    require_range("stretch_ratio", stretch_ratio, 0.5, 2.0)
    return 1.0 / math.sqrt(stretch_ratio)


@dataclass(frozen=True, slots=True)
class FlatFloor:
    """A plain or crowned pulley, or one whose flanges stand well clear of the belt."""

    floor_radius_mm: float


@dataclass(frozen=True, slots=True)
class SquareGroove:
    """Upright walls; the belt lies on the floor between them."""

    floor_radius_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class RoundGroove:
    """A groove of half-round profile, `width_mm` across."""

    floor_radius_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class VeeGroove:
    """Sloping flanks that hold the belt off the bottom; `angle_deg` from flank to flank, width at the rim."""

    rim_radius_mm: float
    width_mm: float
    angle_deg: float
    root_radius_mm: float
    """Where the metal is deepest. A vee with a flat bottom has its root outside its apex."""

    def __post_init__(self) -> None:
        require_range("angle_deg", self.angle_deg, 10.0, 170.0)
        # A sharp vee's root is its apex, computed by whoever built it: leave room for the last digit.
        deepest_mm = max(self.apex_radius_mm - TOUCHING, 0.0)
        require_range("root_radius_mm", self.root_radius_mm, deepest_mm, self.rim_radius_mm)

    @property
    def half_angle_rad(self) -> float:
        return math.radians(self.angle_deg / 2.0)

    @property
    def apex_radius_mm(self) -> float:
        """Where the flanks would meet: r_rim - (b/2)/tan(th/2)."""
        return self.rim_radius_mm - self.width_mm / 2.0 / math.tan(self.half_angle_rad)


Groove = FlatFloor | SquareGroove | RoundGroove | VeeGroove


def sharp_vee(*, root_radius_mm: float, width_mm: float, angle_deg: float) -> VeeGroove:
    """The vee whose flanks meet at its bottom, from the bottom's radius: r_rim = r_root + (b/2)/tan(th/2).

    By hand, 90 deg and 6 mm wide: 10 + 3/1 = 13

    >>> round(sharp_vee(root_radius_mm=10.0, width_mm=6.0, angle_deg=90.0).rim_radius_mm, 9)
    13.0
    """
    require_range("angle_deg", angle_deg, 10.0, 170.0)
    rim_radius_mm = root_radius_mm + width_mm / 2.0 / math.tan(math.radians(angle_deg / 2.0))
    return VeeGroove(rim_radius_mm, width_mm, angle_deg, root_radius_mm)


def pitch_radius_mm(*, groove: Groove, section: Section) -> float:
    """Radius of a belt's neutral line in a groove (fitted section); `require_fit` says whether it sits there.

    Flat floor, square groove, cord in a round groove: r_floor + h/2. Flat belt in a round groove of profile
    radius R: it lies on its lower edges, R - sqrt(R^2 - (w/2)^2) higher. Cord in a vee of full angle th:
    r_apex + (d/2)/sin(th/2). Square belt in a vee, on its lower edges: r_apex + (w/2)/tan(th/2) + h/2.

    Source: plane geometry.
    Range: fitted sections; the neutral line is taken through the centroid (no cord or fabric in the belt).

    By hand, cord of 3 in a vee of 60 deg: the centre lies 1.5/0.5 = 3 above the apex.

    >>> groove = VeeGroove(rim_radius_mm=20.0, width_mm=6.0, angle_deg=60.0, root_radius_mm=15.0)
    >>> round(pitch_radius_mm(groove=groove, section=RoundSection(3.0)) - groove.apex_radius_mm, 9)
    3.0
    """
    match groove:
        case FlatFloor() | SquareGroove():
            return groove.floor_radius_mm + section.height_mm / 2.0
        case RoundGroove():
            lift_mm = 0.0
            if isinstance(section, RectangularSection):
                profile_mm = groove.width_mm / 2.0
                half_width_mm = min(section.width_mm / 2.0, profile_mm)  # wider belts lie on the rims
                lift_mm = profile_mm - math.sqrt(profile_mm**2 - half_width_mm**2)
            return groove.floor_radius_mm + lift_mm + section.height_mm / 2.0
        case VeeGroove():
            if isinstance(section, RoundSection):
                return groove.apex_radius_mm + section.diameter_mm / 2.0 / math.sin(groove.half_angle_rad)
            edge_mm = groove.apex_radius_mm + section.width_mm / 2.0 / math.tan(groove.half_angle_rad)
            return edge_mm + section.height_mm / 2.0
        case _:
            assert_never(groove)


def pitch_radius_per_thickness(*, groove: Groove, section: Section) -> float:
    """How much the pitch radius grows when every side of the fitted section grows by 1 (mm per mm).

    That is the error of a mold printed a little large all round. 1/2 on a floor; in a vee 1/(2 sin(th/2)) for
    a cord, 1/2 + 1/(2 tan(th/2)) for a square belt; in a round groove a flat belt's edges add
    (w/4)/sqrt(R^2 - (w/2)^2).

    Source: derivative of `pitch_radius_mm`.
    Range: flat belts up to 0.99 of a round groove's width, where the edges climb without limit.

    By hand, cord in a vee of 60 deg: 0.5/0.5 = 1

    >>> groove = VeeGroove(rim_radius_mm=20.0, width_mm=6.0, angle_deg=60.0, root_radius_mm=15.0)
    >>> round(pitch_radius_per_thickness(groove=groove, section=RoundSection(3.0)), 9)
    1.0
    """
    match groove:
        case FlatFloor() | SquareGroove():
            return 0.5
        case RoundGroove():
            if isinstance(section, RoundSection):
                return 0.5
            profile_mm, half_width_mm = groove.width_mm / 2.0, section.width_mm / 2.0
            require_range("width_mm", section.width_mm, 0.1, 0.99 * groove.width_mm)
            return 0.5 + half_width_mm / 2.0 / math.sqrt(profile_mm**2 - half_width_mm**2)
        case VeeGroove():
            if isinstance(section, RoundSection):
                return 0.5 / math.sin(groove.half_angle_rad)
            return 0.5 + 0.5 / math.tan(groove.half_angle_rad)
        case _:
            assert_never(groove)


def require_fit(*, groove: Groove, section: Section, pulley: int = 0) -> None:
    """Raises BottomsError or RidesOutError, naming `pulley`, unless the fitted section sits as it should.

    A vee must hold the belt clear of its root (cord: r_pitch - d/2 > r_root) and below its rim (a cord
    touches the flank at r_pitch - (d/2) sin(th/2) <= r_rim). Other grooves must be at least as wide as the
    belt.
    """
    match groove:
        case FlatFloor():
            return
        case SquareGroove() | RoundGroove():
            if section.width_mm > groove.width_mm + TOUCHING:
                raise RidesOutError(pulley, section.width_mm - groove.width_mm)
        case VeeGroove():
            pitch_mm = pitch_radius_mm(groove=groove, section=section)
            lowest_mm = pitch_mm - section.height_mm / 2.0
            touched_mm = lowest_mm
            if isinstance(section, RoundSection):
                touched_mm = pitch_mm - section.diameter_mm / 2.0 * math.sin(groove.half_angle_rad)
            if touched_mm > groove.rim_radius_mm + TOUCHING:
                too_wide_mm = 2.0 * (touched_mm - groove.rim_radius_mm) * math.tan(groove.half_angle_rad)
                raise RidesOutError(pulley, too_wide_mm)
            if lowest_mm <= groove.root_radius_mm:
                raise BottomsError(pulley, groove.root_radius_mm - lowest_mm)
        case _:
            assert_never(groove)


@dataclass(frozen=True, slots=True)
class Pulley:
    """A pulley in its place."""

    x_mm: float
    y_mm: float
    sense: Sense
    groove: Groove

    @property
    def metal_radius_mm(self) -> float:
        """As far as the metal is known to reach; of a square or round groove only the floor is measured."""
        if isinstance(self.groove, VeeGroove):
            return self.groove.rim_radius_mm
        return self.groove.floor_radius_mm


@dataclass(frozen=True, slots=True)
class PitchCircle:
    """What the belt's neutral line sees of a pulley."""

    x_mm: float
    y_mm: float
    radius_mm: float
    sense: Sense
    metal_radius_mm: float | None = None
    """Radius that must not overlap another pulley's; the pitch radius where it is not known."""

    @property
    def signed_radius_mm(self) -> float:
        return self.sense * self.radius_mm

    @property
    def body_radius_mm(self) -> float:
        return self.radius_mm if self.metal_radius_mm is None else self.metal_radius_mm


Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Span:
    """A straight strand, from where it leaves one pulley to where it meets the next."""

    start_mm: Point
    end_mm: Point
    length_mm: float
    heading_rad: float

    @property
    def direction(self) -> Point:
        return math.cos(self.heading_rad), math.sin(self.heading_rad)


@dataclass(frozen=True, slots=True)
class BeltPath:
    """The closed run of a belt: `spans[k]` leaves `circles[k]`, on which the belt lies for `wraps_rad[k]`."""

    circles: tuple[PitchCircle, ...]
    spans: tuple[Span, ...]
    wraps_rad: tuple[float, ...]

    @property
    def arcs_mm(self) -> tuple[float, ...]:
        return tuple(c.radius_mm * w for c, w in zip(self.circles, self.wraps_rad, strict=True))

    @property
    def length_mm(self) -> float:
        return math.fsum((*(span.length_mm for span in self.spans), *self.arcs_mm))

    @property
    def wraps_deg(self) -> tuple[float, ...]:
        return tuple(math.degrees(wrap) for wrap in self.wraps_rad)

    @property
    def crossing_spans(self) -> tuple[tuple[int, int], ...]:
        """Pairs of strands that cross and so rub: meant in a crossed belt, else a sense was mistyped."""
        return tuple(
            (k, m)
            for (k, first), (m, second) in itertools.combinations(enumerate(self.spans), 2)
            if _cross(first, second)
        )


@lru_cache(maxsize=256)
def belt_path(*, circles: tuple[PitchCircle, ...]) -> BeltPath:
    """The run of a belt over pitch circles in the order given.

    With s = +1 for ccw and -1 for cw, rho = s r, and D the centre distance at bearing b:
    heading = b - asin((rho_j - rho_i)/D), span = sqrt(D^2 - (rho_j - rho_i)^2),
    wrap_i = s_i (heading_i - heading_{i-1}) modulo a turn, length = sum of the spans and of r wrap.

    Source: plane geometry; for two pulleys it is the open and crossed belt of the machine-design handbooks.
    Range: one plane; 2 to 100 pulleys. Raises a BeltError that says where when the belt cannot be strung.

    By hand, equal pulleys of radius 10, 100 apart: 2 * 100 + 2 pi 10 = 262.832

    >>> pair = (PitchCircle(0.0, 0.0, 10.0, Sense.CCW), PitchCircle(100.0, 0.0, 10.0, Sense.CCW))
    >>> round(belt_path(circles=pair).length_mm, 3)
    262.832
    """
    require_range("number of pulleys", len(circles), 2, 100)
    for index, circle in enumerate(circles):
        require_range(f"pulleys[{index}] pitch radius", circle.radius_mm, 0.1, 1e6)
    _refuse_overlaps(circles)
    spans = _spans(circles)
    wraps_rad = _wraps_rad(circles, spans)
    _refuse_impossible_wraps(circles, wraps_rad)
    _refuse_blocked_spans(circles, spans)
    return BeltPath(circles, spans, wraps_rad)


def pitch_circles(*, pulleys: tuple[Pulley, ...], section: Section) -> tuple[PitchCircle, ...]:
    """The pulleys as the neutral line of a belt of this fitted section sees them, whether it fits or not."""
    return tuple(
        PitchCircle(
            pulley.x_mm,
            pulley.y_mm,
            pitch_radius_mm(groove=pulley.groove, section=section),
            pulley.sense,
            pulley.metal_radius_mm,
        )
        for pulley in pulleys
    )


def routed(*, pulleys: tuple[Pulley, ...], section: Section) -> BeltPath:
    """The run of a belt of this fitted section, refused if it does not sit properly in some groove."""
    for index, pulley in enumerate(pulleys):
        require_fit(groove=pulley.groove, section=section, pulley=index)
    return belt_path(circles=pitch_circles(pulleys=pulleys, section=section))


def _distance_mm(first: PitchCircle, second: PitchCircle) -> float:
    return math.hypot(second.x_mm - first.x_mm, second.y_mm - first.y_mm)


def _refuse_overlaps(circles: tuple[PitchCircle, ...]) -> None:
    for (i, first), (j, second) in itertools.combinations(enumerate(circles), 2):
        distance_mm, needed_mm = _distance_mm(first, second), first.body_radius_mm + second.body_radius_mm
        if distance_mm < needed_mm - TOUCHING:
            raise PulleysOverlapError((i, j), distance_mm, needed_mm)


def _spans(circles: tuple[PitchCircle, ...]) -> tuple[Span, ...]:
    spans = []
    for k, leaving in enumerate(circles):
        following = (k + 1) % len(circles)
        meeting = circles[following]
        distance_mm = _distance_mm(leaving, meeting)
        step_mm = meeting.signed_radius_mm - leaving.signed_radius_mm
        if distance_mm <= abs(step_mm):
            raise NoTangentError(k, (k, following), distance_mm, abs(step_mm))
        bearing_rad = math.atan2(meeting.y_mm - leaving.y_mm, meeting.x_mm - leaving.x_mm)
        heading_rad = bearing_rad - math.asin(step_mm / distance_mm)
        spans.append(
            Span(
                start_mm=_tangent_point(leaving, heading_rad),
                end_mm=_tangent_point(meeting, heading_rad),
                length_mm=math.sqrt((distance_mm - step_mm) * (distance_mm + step_mm)),
                heading_rad=heading_rad,
            )
        )
    return tuple(spans)


def _tangent_point(circle: PitchCircle, heading_rad: float) -> Point:
    """Where a strand of this heading touches the circle: on its right for a pulley that turns ccw."""
    return (
        circle.x_mm + circle.signed_radius_mm * math.sin(heading_rad),
        circle.y_mm - circle.signed_radius_mm * math.cos(heading_rad),
    )


def _wraps_rad(circles: tuple[PitchCircle, ...], spans: tuple[Span, ...]) -> tuple[float, ...]:
    wraps = []
    for k, circle in enumerate(circles):
        wrap = (circle.sense * (spans[k].heading_rad - spans[k - 1].heading_rad)) % math.tau
        # A pulley that the strand just touches has no wrap; rounding must not make a whole turn of it.
        wraps.append(0.0 if math.tau - wrap < TOUCHING else wrap)
    return tuple(wraps)


def _turns(circles: tuple[PitchCircle, ...], wraps_rad: tuple[float, ...]) -> int:
    """How many times the belt turns round on its run: 1 or -1 for a plain loop, 0 for a crossed belt."""
    return round(math.fsum(c.sense * w for c, w in zip(circles, wraps_rad, strict=True)) / math.tau)


def _refuse_impossible_wraps(circles: tuple[PitchCircle, ...], wraps_rad: tuple[float, ...]) -> None:
    if len(circles) == 2 or (max(wraps_rad) <= MOST_WRAP_RAD and abs(_turns(circles, wraps_rad)) <= 1):
        return
    mirrored = tuple(PitchCircle(c.x_mm, c.y_mm, c.radius_mm, Sense(-c.sense)) for c in circles)
    other_way = _wraps_rad(mirrored, _spans(mirrored))
    if max(other_way) <= MOST_WRAP_RAD and abs(_turns(mirrored, other_way)) <= 1:
        raise WrongOrderError
    worst = max(range(len(circles)), key=wraps_rad.__getitem__)
    raise ImpossibleSenseError(worst, math.degrees(wraps_rad[worst]))


def _refuse_blocked_spans(circles: tuple[PitchCircle, ...], spans: tuple[Span, ...]) -> None:
    for k, span in enumerate(spans):
        for m, circle in enumerate(circles):
            if m in (k, (k + 1) % len(circles)):
                continue
            overlap_mm = max(circle.radius_mm, circle.body_radius_mm) - _clearance_mm(span, circle)
            if overlap_mm > TOUCHING:
                raise SpanBlockedError(k, m, overlap_mm)


def _clearance_mm(span: Span, circle: PitchCircle) -> float:
    """From the circle's centre to the nearest point of the strand."""
    along_x, along_y = span.direction
    to_x, to_y = circle.x_mm - span.start_mm[0], circle.y_mm - span.start_mm[1]
    nearest_mm = min(max(to_x * along_x + to_y * along_y, 0.0), span.length_mm)
    return math.hypot(to_x - nearest_mm * along_x, to_y - nearest_mm * along_y)


def _cross(first: Span, second: Span) -> bool:
    """Whether each strand has the other's ends on opposite sides."""

    def side(span: Span, point: Point) -> float:
        along_x, along_y = span.direction
        return along_x * (point[1] - span.start_mm[1]) - along_y * (point[0] - span.start_mm[0])

    return (
        side(first, second.start_mm) * side(first, second.end_mm) < 0.0
        and side(second, first.start_mm) * side(second, first.end_mm) < 0.0
    )
