"""Plain geometry of a part before any solid exists: closed paths of lines and arcs, and what is made of them.

Families describe their part with these; the mold plan reads them; only `parts` turns them into solids. Areas,
centroids and volumes are closed forms, so they can check the kernel.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal, NamedTuple, Self

from moldgen.errors import GeometryError

Surface = Literal["running", "bore", "face", "edge", "side"]
"""What a stretch of outline is for: `running` surfaces carry no flash, gate or vent; a `bore` sits on metal."""


FLATTEST_BULGE: Final = 1e-7
"""A flatter arc is a line: over 1 m it rises by 50 nm, and its circle is too large for the kernel."""


class Point(NamedTuple):
    """A point in a plane, in mm; for a turned profile x is the radius and y the height."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Vertex:
    """A corner of a path and the edge that leaves it.

    `bulge` is the tangent of a quarter of the edge's arc angle, positive when the arc turns anticlockwise, zero for
    a straight line (the open DXF reference's definition).
    """

    x: float
    y: float
    bulge: float = 0.0
    surface: Surface = "side"

    def __post_init__(self) -> None:
        if abs(self.bulge) < FLATTEST_BULGE:
            object.__setattr__(self, "bulge", 0.0)


@dataclass(frozen=True, slots=True)
class Arc:
    """The circle behind a bulged edge: centre, radius, start angle and signed sweep in radians."""

    centre: Point
    radius: float
    start: float
    sweep: float

    def at(self, fraction: float) -> Point:
        angle = self.start + fraction * self.sweep
        return Point(self.centre.x + self.radius * math.cos(angle), self.centre.y + self.radius * math.sin(angle))


@dataclass(frozen=True, slots=True)
class Edge:
    """One line or arc of a path."""

    start: Vertex
    end: Vertex

    @property
    def chord(self) -> float:
        return math.hypot(self.end.x - self.start.x, self.end.y - self.start.y)

    @property
    def arc(self) -> Arc:
        """The circle of a bulged edge (only where bulge is not zero)."""
        b = self.start.bulge
        dx, dy = self.end.x - self.start.x, self.end.y - self.start.y
        # The centre lies on the chord's bisector, (1/b - b)/4 chord lengths to the left of the way for b > 0.
        k = (1.0 / b - b) / 4.0
        centre = Point(0.5 * (self.start.x + self.end.x) - k * dy, 0.5 * (self.start.y + self.end.y) + k * dx)
        radius = self.chord * (1.0 + b * b) / (4.0 * abs(b))
        start = math.atan2(self.start.y - centre.y, self.start.x - centre.x)
        return Arc(centre, radius, start, 4.0 * math.atan(b))

    @property
    def length(self) -> float:
        b = self.start.bulge
        return self.chord if b == 0.0 else abs(self.arc.sweep) * self.arc.radius

    @property
    def middle(self) -> Point:
        if self.start.bulge != 0.0:
            return self.arc.at(0.5)
        return Point(0.5 * (self.start.x + self.end.x), 0.5 * (self.start.y + self.end.y))

    @property
    def heading(self) -> Point:
        """Unit vector of its way at the start: of an arc, its chord turned back by half the sweep."""
        turn = -2.0 * math.atan(self.start.bulge)
        dx, dy = (self.end.x - self.start.x) / self.chord, (self.end.y - self.start.y) / self.chord
        c, s = math.cos(turn), math.sin(turn)
        return Point(c * dx - s * dy, s * dx + c * dy)

    def scaled(self, factor: float) -> Edge:
        return Edge(*(replace(v, x=v.x * factor, y=v.y * factor) for v in (self.start, self.end)))

    def points(self, sagitta_mm: float) -> Iterator[Point]:
        """Start point and, on an arc, points between, no farther from the arc than the sagitta; not the end point."""
        yield Point(self.start.x, self.start.y)
        if self.start.bulge != 0.0:
            arc = self.arc
            step = 2.0 * math.acos(max(0.0, 1.0 - min(sagitta_mm / arc.radius, 1.0)))
            count = max(2, math.ceil(abs(arc.sweep) / step))
            for i in range(1, count):
                yield arc.at(i / count)

    def arcs_parted_at(self, y: float) -> Iterator[Vertex]:
        """The start and, on an arc, a further vertex wherever it passes through a height between its ends."""
        shares = [0.0]
        if self.start.bulge != 0.0:
            arc = self.arc
            rise = (y - arc.centre.y) / arc.radius
            if abs(rise) < 1.0:
                for angle in (math.asin(rise), math.pi - math.asin(rise)):
                    turn = (angle - arc.start) % math.tau if arc.sweep > 0.0 else (arc.start - angle) % math.tau
                    if 1e-6 < turn / abs(arc.sweep) < 1.0 - 1e-6:
                        shares.append(turn / abs(arc.sweep))
        shares.sort()
        for share, after in pairwise((*shares, 1.0)):
            at = self.start if share == 0.0 else Point(self.arc.at(share).x, y)
            bulge = math.tan((after - share) * math.atan(self.start.bulge))
            yield replace(self.start, x=at.x, y=at.y, bulge=bulge if len(shares) > 1 else self.start.bulge)

    def moments(self) -> tuple[float, float, float]:
        """(∮x dy, ∮x²/2 dy, -∮y²/2 dx) of the edge: its share of the area and of the area's first moments."""
        x0, y0, x1, y1 = self.start.x, self.start.y, self.end.x, self.end.y
        dx, dy = x1 - x0, y1 - y0
        area = 0.5 * (x0 + x1) * dy
        mx = (x0 * x0 + x0 * x1 + x1 * x1) * dy / 6.0
        my = -(y0 * y0 + y0 * y1 + y1 * y1) * dx / 6.0
        if self.start.bulge != 0.0:
            # The segment between chord and arc, counted positive when it bulges outwards of an anticlockwise path.
            arc = self.arc
            sweep, r = arc.sweep, arc.radius
            segment = 0.5 * r * r * _less_its_sine(sweep)
            distance = 4.0 * r * math.sin(0.5 * sweep) ** 3 / (3.0 * _less_its_sine(sweep))
            towards = arc.start + 0.5 * sweep
            area += segment
            mx += segment * (arc.centre.x + distance * math.cos(towards))
            my += segment * (arc.centre.y + distance * math.sin(towards))
        return area, mx, my


@dataclass(frozen=True, slots=True)
class Path:
    """A closed outline, anticlockwise, of at least two vertices; the last edge leads back to the first."""

    vertices: tuple[Vertex, ...]

    @property
    def edges(self) -> tuple[Edge, ...]:
        following = (*self.vertices[1:], self.vertices[0])
        return tuple(Edge(a, b) for a, b in zip(self.vertices, following, strict=True))

    @property
    def area(self) -> float:
        """Enclosed area in mm², positive when anticlockwise."""
        return math.fsum(edge.moments()[0] for edge in self.edges)

    @property
    def centroid(self) -> Point:
        area = self.area
        return Point(
            math.fsum(edge.moments()[1] for edge in self.edges) / area,
            math.fsum(edge.moments()[2] for edge in self.edges) / area,
        )

    @property
    def length(self) -> float:
        return math.fsum(edge.length for edge in self.edges)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(least x, least y, greatest x, greatest y), arcs included exactly."""
        xs = [v.x for v in self.vertices]
        ys = [v.y for v in self.vertices]
        for edge in self.edges:
            if edge.start.bulge != 0.0:
                arc = edge.arc
                for quarter in range(4):
                    angle = 0.5 * math.pi * quarter
                    turn = (angle - arc.start) % math.tau if arc.sweep > 0 else (arc.start - angle) % math.tau
                    if turn <= abs(arc.sweep):
                        xs.append(arc.centre.x + arc.radius * math.cos(angle))
                        ys.append(arc.centre.y + arc.radius * math.sin(angle))
        return min(xs), min(ys), max(xs), max(ys)

    def points(self, sagitta_mm: float = 0.01) -> tuple[Point, ...]:
        """The outline as a polygon whose sides stay within `sagitta_mm` of the arcs."""
        return tuple(point for edge in self.edges for point in edge.points(sagitta_mm))

    def scaled(self, x: float, y: float | None = None) -> Path:
        """The outline stretched about the origin; arcs keep their bulge, so unequal factors are for small changes."""
        k = x if y is None else y
        return Path(tuple(replace(v, x=v.x * x, y=v.y * k) for v in self.vertices))

    def moved(self, dx: float = 0.0, dy: float = 0.0) -> Path:
        return Path(tuple(replace(v, x=v.x + dx, y=v.y + dy) for v in self.vertices))

    def reversed(self) -> Path:
        """The same outline run the other way about."""
        return Path(tuple(Vertex(e.end.x, e.end.y, -e.start.bulge or 0.0, e.start.surface) for e in self.edges[::-1]))

    def mirrored_y(self) -> Path:
        """Mirrored in the x axis (y -> -y), kept anticlockwise."""
        return Path(tuple(replace(v, y=-v.y, bulge=-v.bulge) for v in self.vertices)).reversed()

    def mirrored_x(self) -> Path:
        """Mirrored in the y axis (x -> -x), kept anticlockwise."""
        return Path(tuple(replace(v, x=-v.x, bulge=-v.bulge) for v in self.vertices)).reversed()

    def rotated(self, angle_deg: float) -> Path:
        c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
        return Path(tuple(replace(v, x=c * v.x - s * v.y, y=s * v.x + c * v.y) for v in self.vertices))

    def offset(self, outward_mm: float) -> Path:
        """The parallel outline, `outward_mm` outside (negative: inside), its corners carried on to meet.

        Raises GeometryError where neighbouring edges no longer meet.
        """
        return self.offset_each((outward_mm,) * len(self.vertices))

    def offset_each(self, outward_mm: Sequence[float]) -> Path:
        """As `offset`, with an amount for each edge in order."""
        if not any(outward_mm):
            return self
        amounts = tuple(outward_mm)
        carriers = [_carrier(edge, amount) for edge, amount in zip(self.edges, amounts, strict=True)]
        corners = [_meeting(carriers[i - 1], carriers[i], vertex) for i, vertex in enumerate(self.vertices)]
        out = []
        for i, vertex in enumerate(self.vertices):
            here, there, carrier = corners[i], corners[(i + 1) % len(corners)], carriers[i]
            bulge = math.tan(_sweep(carrier, here, there) / 4.0) if isinstance(carrier, Arc) else 0.0
            out.append(Vertex(here.x, here.y, bulge, vertex.surface))
        return Path(tuple(out))


def parallel(line: Path, outward_mm: float, surface: Surface) -> Path:
    """A smooth closed line moved outward: lines and arcs stay what they are, each corner moves along its normal."""
    return Path(
        tuple(
            replace(
                e.start, x=e.start.x + outward_mm * e.heading.y, y=e.start.y - outward_mm * e.heading.x, surface=surface
            )
            for e in line.edges
        )
    )


def _less_its_sine(x: float) -> float:
    """x − sin x, by its series where the two nearly cancel."""
    if abs(x) > 0.5:
        return x - math.sin(x)
    term = total = x**3 / 6.0
    for n in range(4, 14, 2):
        term *= -x * x / (n * (n + 1))
        total += term
    return total


def _carrier(edge: Edge, outward: float) -> Arc | tuple[Point, Point]:
    """The line or circle that an edge lies on once it is moved outward."""
    if edge.start.bulge != 0.0:
        arc = edge.arc
        radius = arc.radius + (outward if arc.sweep > 0.0 else -outward)
        if radius <= 0.0:
            raise GeometryError(
                stage="parallel outline",
                text=f"an arc of radius {arc.radius:.3f} mm vanishes when moved {outward:.3f} mm",
                way_out="Use a smaller clearance or a larger fillet.",
                where_mm=edge.middle,
            )
        return Arc(arc.centre, radius, arc.start, arc.sweep)
    dx, dy = edge.end.x - edge.start.x, edge.end.y - edge.start.y
    nx, ny = outward * dy / edge.chord, -outward * dx / edge.chord
    return Point(edge.start.x + nx, edge.start.y + ny), Point(edge.end.x + nx, edge.end.y + ny)


def _sweep(arc: Arc, start: Point, end: Point) -> float:
    a = math.atan2(start.y - arc.centre.y, start.x - arc.centre.x)
    b = math.atan2(end.y - arc.centre.y, end.x - arc.centre.x)
    return (b - a) % math.tau if arc.sweep > 0 else -((a - b) % math.tau)


def _meeting(before: Arc | tuple[Point, Point], after: Arc | tuple[Point, Point], corner: Vertex) -> Point:
    """Where two carriers cross, nearest to the corner they come from."""
    candidates = _crossings(before, after)
    if not candidates:
        raise GeometryError(
            stage="parallel outline",
            text="two edges no longer meet when the outline is moved",
            way_out="Use a smaller clearance, or smooth this corner.",
            where_mm=(corner.x, corner.y),
        )
    return min(candidates, key=lambda p: math.hypot(p.x - corner.x, p.y - corner.y))


def _crossings(a: Arc | tuple[Point, Point], b: Arc | tuple[Point, Point]) -> list[Point]:
    if not isinstance(a, Arc) and not isinstance(b, Arc):
        (p, q), (r, s) = a, b
        ux, uy, vx, vy = q.x - p.x, q.y - p.y, s.x - r.x, s.y - r.y
        cross = ux * vy - uy * vx
        if abs(cross) < 1e-9 * math.hypot(ux, uy) * math.hypot(vx, vy):
            return [q]  # one straight line goes on into the next
        t = ((r.x - p.x) * vy - (r.y - p.y) * vx) / cross
        return [Point(p.x + t * ux, p.y + t * uy)]
    if isinstance(a, Arc) and isinstance(b, Arc):
        dx, dy = b.centre.x - a.centre.x, b.centre.y - a.centre.y
        d = math.hypot(dx, dy)
        if d < 1e-9:
            return [a.at(1.0)]  # one circle goes on into the next
        along = (d * d + a.radius**2 - b.radius**2) / (2.0 * d)
        foot = Point(a.centre.x + along * dx / d, a.centre.y + along * dy / d)
        direction = Point(-dy / d, dx / d)
        height2 = a.radius**2 - along**2
        tolerance = 1e-9 * a.radius**2
    else:
        arc, line = (a, b) if isinstance(a, Arc) else (b, a)
        assert isinstance(arc, Arc) and not isinstance(line, Arc)
        p, q = line
        length = math.hypot(q.x - p.x, q.y - p.y)
        direction = Point((q.x - p.x) / length, (q.y - p.y) / length)
        t = (arc.centre.x - p.x) * direction.x + (arc.centre.y - p.y) * direction.y
        foot = Point(p.x + t * direction.x, p.y + t * direction.y)
        height2 = arc.radius**2 - ((foot.x - arc.centre.x) ** 2 + (foot.y - arc.centre.y) ** 2)
        tolerance = 1e-9 * arc.radius**2
    if height2 < -tolerance:
        return []
    h = math.sqrt(max(height2, 0.0))
    return [Point(foot.x + sign * h * direction.x, foot.y + sign * h * direction.y) for sign in (1.0, -1.0)]


@dataclass(frozen=True, slots=True)
class Revolved:
    """A turned part: its half-section (x the radius, y the height, anticlockwise) swept once round the axis."""

    profile: Path

    @property
    def volume_mm3(self) -> float:
        """Pappus: the section's first moment about the axis, once round."""
        return math.tau * math.fsum(edge.moments()[1] for edge in self.profile.edges)

    @property
    def height_mm(self) -> float:
        _, low, _, high = self.profile.bounds
        return high - low

    @property
    def plan_size_mm(self) -> tuple[float, float]:
        diameter = 2.0 * self.profile.bounds[2]
        return diameter, diameter

    @property
    def bore_radius_mm(self) -> float:
        """Least radius of the profile; 0 for a part without a bore."""
        return self.profile.bounds[0]

    def scaled(self, factor: float) -> Self:
        return replace(self, profile=self.profile.scaled(factor))


@dataclass(frozen=True, slots=True)
class Extruded:
    """A flat part: an outline with holes, standing `thickness_mm` high from y = 0 of its own frame."""

    outline: Path
    holes: tuple[Path, ...]
    thickness_mm: float

    @property
    def volume_mm3(self) -> float:
        return (self.outline.area - math.fsum(hole.area for hole in self.holes)) * self.thickness_mm

    @property
    def height_mm(self) -> float:
        return self.thickness_mm

    @property
    def plan_size_mm(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.outline.bounds
        return x1 - x0, y1 - y0

    def scaled(self, factor: float) -> Self:
        return replace(
            self,
            outline=self.outline.scaled(factor),
            holes=tuple(hole.scaled(factor) for hole in self.holes),
            thickness_mm=self.thickness_mm * factor,
        )


@dataclass(frozen=True, slots=True)
class Drawn:
    """A long part that lies flat: its section drawn along a smooth closed line, or along one straight edge to +x.

    The section's x points to the right of the line's way, which is out of an anticlockwise one; its y is the height.
    """

    section: Path
    line: tuple[Edge, ...]

    @property
    def closed(self) -> bool:
        return len(self.line) > 1

    @property
    def length_mm(self) -> float:
        return math.fsum(edge.length for edge in self.line)

    @property
    def volume_mm3(self) -> float:
        """Pappus, edge by edge: area times length, and the section's moment times the angle that the line turns by."""
        turned = math.fsum(edge.arc.sweep for edge in self.line if edge.start.bulge != 0.0)
        moment = math.fsum(edge.moments()[1] for edge in self.section.edges)
        return self.section.area * self.length_mm + moment * turned

    @property
    def outline(self) -> Path:
        """Its rim, seen from above."""
        inner, _, outer, _ = self.section.bounds
        if self.closed:
            return parallel(self._closed_line, outer, "side")
        (only,) = self.line
        return rectangle(only.start.x, only.start.y - outer, only.end.x, only.start.y - inner)

    @property
    def holes(self) -> tuple[Path, ...]:
        return (parallel(self._closed_line, self.section.bounds[0], "side"),) if self.closed else ()

    @property
    def thickness_mm(self) -> float:
        _, low, _, high = self.section.bounds
        return high - low

    @property
    def height_mm(self) -> float:
        return self.thickness_mm

    @property
    def plan_size_mm(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.outline.bounds
        return x1 - x0, y1 - y0

    @property
    def bare_section(self) -> Path:
        """The section in as few arcs as it takes, whatever each is for; still parted at y = 0."""
        edges = self.section.edges
        kept = [not _goes_on(edges[i - 1], edge) or abs(edge.start.y) < 1e-9 for i, edge in enumerate(edges)]
        if not any(kept):
            return self.section
        first = kept.index(True)
        out: list[Vertex] = []
        for i in (*range(first, len(edges)), *range(first)):
            if kept[i]:
                out.append(edges[i].start)
            else:
                sweep = math.atan(out[-1].bulge) + math.atan(edges[i].start.bulge)
                out[-1] = replace(out[-1], bulge=math.tan(sweep))
        return Path(tuple(out))

    @property
    def _closed_line(self) -> Path:
        return Path(tuple(edge.start for edge in self.line))

    def scaled(self, factor: float) -> Self:
        return replace(self, section=self.section.scaled(factor), line=tuple(e.scaled(factor) for e in self.line))


def _goes_on(before: Edge, after: Edge) -> bool:
    """Whether two arcs in a row are of one circle."""
    if before.start.bulge == 0.0 or after.start.bulge == 0.0:
        return False
    one, other = before.arc, after.arc
    apart = math.hypot(other.centre.x - one.centre.x, other.centre.y - one.centre.y)
    return max(apart, abs(other.radius - one.radius)) < 1e-9


Shape = Revolved | Extruded
"""Of a part."""
CavityShape = Shape | Drawn
"""As it is cast: a belt that is no ring in its mold may be drawn along a line."""
Lay = Literal["as_it_is", "ring", "meander", "cord"]
"""How a ring lies to be cast: `ring` as it is, though it may be laid out otherwise; folded; straight, to be joined."""


@dataclass(frozen=True, slots=True)
class Insert:
    """The real metal that a part is cast onto; it sits in the mold as the core."""

    diameter_mm: float
    width_mm: float
    bore_mm: float | None
    """Bore by which the mold can centre it; None if it can only be held by its outside."""


def polygon(corners: Sequence[Point]) -> Path:
    """Straight sides from corner to corner, anticlockwise whichever way the corners run."""
    path = Path(tuple(Vertex(p.x, p.y) for p in corners))
    return path if path.area > 0.0 else path.reversed()


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Path:
    """An upright rectangle, anticlockwise from its lower left corner."""
    return Path((Vertex(x0, y0), Vertex(x1, y0), Vertex(x1, y1), Vertex(x0, y1)))


def circle(radius: float, x: float = 0.0, y: float = 0.0, surface: Surface = "side") -> Path:
    """A circle as two half arcs, anticlockwise."""
    return Path((Vertex(x + radius, y, 1.0, surface), Vertex(x - radius, y, 1.0, surface)))
