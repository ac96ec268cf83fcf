"""A turned part in full section, its axis lying, with every dimension of its profile."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final, Literal

from moldgen.drawing.callouts import Callout, Tip, on_circle, placed
from moldgen.drawing.dimensions import Linear, Placing, diameter, stacked
from moldgen.drawing.model import BEYOND_MM, Area, Box, Item, Stroke, View, line, outline
from moldgen.drawing.names import SAME_MM, Names
from moldgen.drawing.roundings import is_smooth, round_path, round_tips, tangent, times
from moldgen.shapes import Edge, Insert, Path, Point, Revolved, Vertex

MARK_MM: Final = 0.9
"""From a running surface to the line that marks it."""
MOST_RADII: Final = 8


def turned_items(shape: Revolved, scale: float, names: Names, insert: Insert | None, detailed: bool) -> list[Item]:
    _, low, outer, high = shape.profile.bounds
    profile = shape.profile.moved(dy=-low)
    width = high - low
    at = Placing(scale)
    items: list[Item] = []
    for path in section_paths(profile):
        rim = path.scaled(scale)
        items += [Area(rim, (), "rubber"), outline(rim)]
    first, last, most = 0.0, width, outer
    if insert is None:
        items += _edges_behind(profile, scale)
    else:
        middle = 0.5 * width
        first, last = min(0.0, middle - 0.5 * insert.width_mm), max(width, middle + 0.5 * insert.width_mm)
        most = max(outer, 0.5 * insert.diameter_mm)
        items += _metal(insert, middle, scale)
    items += [
        line(at.point(first - BEYOND_MM / scale, 0.0), at.point(last + BEYOND_MM / scale, 0.0), "centre"),
        *_running_marks(profile, scale),
    ]
    box = Box(first * scale, -most * scale, last * scale, most * scale)
    sharp = without_fillets(profile)
    lengths = () if round_path(profile) else _lengths(sharp, names)
    items += stacked([*_diameters(sharp, outer, names), *lengths], placing=at, outline=box)
    return items if detailed else [*items, *placed(_roundings(profile, names, scale), among=items)]


def section_paths(profile: Path) -> tuple[Path, ...]:
    """Both cut faces of a profile in full section, the axis lying: x the height, y the radius.

    A part without a bore is cut in one face across the axis.
    """
    upper = Path(tuple(Vertex(v.y, v.x, -v.bulge or 0.0, v.surface) for v in profile.vertices)).reversed()
    lower = Path(tuple(Vertex(v.y, -v.x, v.bulge, v.surface) for v in profile.vertices))
    on_axis = [i for i, e in enumerate(lower.edges) if abs(e.start.y) < SAME_MM and abs(e.end.y) < SAME_MM]
    if len(on_axis) != 1:
        return lower, upper
    return (Path((*_opened(lower), *_opened(upper))),)


def _opened(path: Path) -> tuple[Vertex, ...]:
    """The outline without its edge on the axis: from that edge's end all the way round, less the last corner."""
    edges = path.edges
    cut = next(i for i, e in enumerate(edges) if abs(e.start.y) < SAME_MM and abs(e.end.y) < SAME_MM)
    return tuple(edge.start for edge in (*edges[cut + 1 :], *edges[:cut]))


def _edges_behind(profile: Path, scale: float) -> Iterator[Item]:
    """The bore's edges behind the cut: circles seen from the side, and where a rounding turns its back."""
    edges = profile.edges
    _, low, _, high = profile.bounds
    for edge in (e for e in edges if e.start.bulge != 0.0):
        x0, y0, x1, y1 = Path((edge.start, replace(edge.end, bulge=0.0))).bounds
        radius = edge.arc.centre.x
        for height in {y0, y1} & {low, high}:
            if x0 - SAME_MM <= radius <= x1 + SAME_MM:
                yield line((height * scale, -radius * scale), (height * scale, radius * scale), "outline")
    for before, after in zip((edges[-1], *edges[:-1]), edges, strict=True):
        corner = after.start
        if corner.x > SAME_MM and (_goes_down(before) or _goes_down(after)) and not is_smooth(before, after):
            yield line((corner.y * scale, -corner.x * scale), (corner.y * scale, corner.x * scale), "outline")


def _goes_down(edge: Edge) -> bool:
    """Whether an anticlockwise edge is a wall of the bore."""
    return edge.end.y < edge.start.y - SAME_MM


def _metal(insert: Insert, middle: float, scale: float) -> Iterator[Item]:
    """The metal it is cast on, cut along its axis."""
    bore = 0.5 * insert.bore_mm if insert.bore_mm is not None else 0.0
    outer, half = 0.5 * insert.diameter_mm, 0.5 * insert.width_mm
    x0, x1 = (middle - half) * scale, (middle + half) * scale
    faces = [(bore * scale, outer * scale), (-outer * scale, -bore * scale)]
    if bore == 0.0:
        faces = [(-outer * scale, outer * scale)]
    for y0, y1 in faces:
        rim = Path((Vertex(x0, y0), Vertex(x1, y0), Vertex(x1, y1), Vertex(x0, y1)))
        yield from (Area(rim, (), "metal"), outline(rim))
    if bore > 0.0:
        for x in (x0, x1):
            yield line((x, -bore * scale), (x, bore * scale), "outline")


def _running_marks(profile: Path, scale: float) -> Iterator[Item]:
    for edge in profile.edges:
        if edge.start.surface != "running":
            continue
        off = MARK_MM / scale
        a, b = _shifted(edge, off, at_end=False), _shifted(edge, off, at_end=True)
        bulge = edge.start.bulge
        yield Stroke((Vertex(a.y * scale, a.x * scale, -bulge), Vertex(b.y * scale, b.x * scale)), "running")
        yield Stroke((Vertex(a.y * scale, -a.x * scale, bulge), Vertex(b.y * scale, -b.x * scale)), "running")


def _shifted(edge: Edge, outward: float, *, at_end: bool) -> Point:
    vertex, normal = (edge.end if at_end else edge.start), tangent(edge, at_end=at_end) - 0.5 * math.pi
    return Point(vertex.x + outward * math.cos(normal), vertex.y + outward * math.sin(normal))


def _diameters(profile: Path, most: float, names: Names) -> Iterator[Linear]:
    """Every cylinder, every widest and narrowest place, and both ends of every cone; the bore's on the left.

    Corners that a rounding takes off count where the edges would meet, but nothing beyond what a caliper can find.
    """
    seen: set[tuple[str, float]] = set()
    for corner_radius, height_from, height_to, wall in _radii(profile):
        radius = min(corner_radius, most)
        key = (wall, round(radius, 6))
        if radius < SAME_MM or key in seen:
            continue
        seen.add(key)
        side: Literal["left", "right"] = "right" if wall == "outside" else "left"
        at = max(height_from, height_to) if side == "right" else min(height_from, height_to)
        yield diameter(names.of(2.0 * radius, across=True), at, radius, side)


def _radii(profile: Path) -> Iterator[tuple[float, float, float, str]]:
    """(radius, height from, height to, wall) of all that has a diameter worth a dimension."""
    edges = profile.edges
    for before, edge, after in zip((edges[-1], *edges[:-1]), edges, (*edges[1:], edges[0]), strict=True):
        wall = "bore" if _goes_down(edge) else "outside"
        if edge.start.bulge != 0.0:
            yield from _widest_of_arc(edge)
            ends = ((edge.start, is_smooth(before, edge)), (edge.end, is_smooth(edge, after)))
            yield from ((end.x, end.y, end.y, wall) for end, smooth in ends if not smooth)
        elif abs(edge.end.y - edge.start.y) < SAME_MM:
            continue
        elif abs(edge.end.x - edge.start.x) < SAME_MM:
            yield edge.start.x, edge.start.y, edge.end.y, wall
        elif not _is_bevel(edge, profile):
            for end in (edge.start, edge.end):
                yield end.x, end.y, end.y, wall


def _widest_of_arc(edge: Edge) -> Iterator[tuple[float, float, float, str]]:
    """An arc's place farthest from the axis and nearest to it, where it runs along the axis."""
    arc = edge.arc
    for angle in (0.0, math.pi):
        turn = (angle - arc.start) * math.copysign(1.0, arc.sweep)
        if (turn + 1e-6) % math.tau < abs(arc.sweep) + 2e-6:
            wall = "outside" if (angle == 0.0) == (arc.sweep > 0.0) else "bore"
            yield arc.centre.x + arc.radius * math.cos(angle), arc.centre.y, arc.centre.y, wall


def without_fillets(profile: Path) -> Path:
    """The profile with each rounding between two straight edges carried on to its corner, where it is dimensioned."""
    edges = profile.edges
    corners: list[Vertex] = []
    skipped = -1
    for i, (before, edge, after) in enumerate(
        zip((edges[-1], *edges[:-1]), edges, (*edges[1:], edges[0]), strict=True)
    ):
        straight = before.start.bulge == 0.0 == after.start.bulge and abs(edge.start.bulge) < 0.9
        if edge.start.bulge != 0.0 and straight and is_smooth(before, edge) and is_smooth(edge, after):
            meeting = _meeting(before, after)
            corners.append(Vertex(meeting.x, meeting.y, 0.0, after.start.surface))
            skipped = (i + 1) % len(edges)  # the fillet's end goes with it
        elif i != skipped:
            corners.append(edge.start)
    if skipped == 0:
        corners = corners[1:]
    return Path(tuple(corners))


def _meeting(a: Edge, b: Edge) -> Point:
    """Where two straight edges meet when they are carried on."""
    ux, uy = a.end.x - a.start.x, a.end.y - a.start.y
    vx, vy = b.end.x - b.start.x, b.end.y - b.start.y
    t = ((b.start.x - a.start.x) * vy - (b.start.y - a.start.y) * vx) / (ux * vy - uy * vx)
    return Point(a.start.x + t * ux, a.start.y + t * uy)


def _is_bevel(edge: Edge, profile: Path) -> bool:
    """A short edge at 45°."""
    _, low, _, high = profile.bounds
    dx, dy = abs(edge.end.x - edge.start.x), abs(edge.end.y - edge.start.y)
    return edge.start.bulge == 0.0 and dx > SAME_MM and abs(dx - dy) < 1e-3 * dx and dy < 0.35 * (high - low)


def _lengths(profile: Path, names: Names) -> Iterator[Linear]:
    """The whole width below; every shoulder between, from the left face, above."""
    _, low, _, high = profile.bounds
    faces: dict[float, float] = {}
    for edge in profile.edges:
        straight = edge.start.bulge == 0.0 and edge.chord > SAME_MM
        level = straight and abs(edge.end.y - edge.start.y) < SAME_MM
        cone = straight and not level and abs(edge.end.x - edge.start.x) > SAME_MM and not _is_bevel(edge, profile)
        for end in (edge.start, edge.end) if level or cone else ():
            height = round(end.y, 9)
            faces[height] = max(faces.get(height, 0.0), end.x)
    left, right = _reach_at(profile, low), _reach_at(profile, high)
    yield Linear(names.of(high - low), Point(low, -left), Point(high, -right), "below")
    for height, radius in sorted(faces.items()):
        if low + SAME_MM < height < high - SAME_MM:
            yield Linear(names.of(height - low), Point(low, left), Point(height, radius), "above")


def _reach_at(profile: Path, height: float) -> float:
    """The largest radius that the profile has at its lower or upper limit."""
    points = [p for edge in profile.edges for p in (*edge.points(0.001), Point(edge.end.x, edge.end.y))]
    nearest = min(abs(p.y - height) for p in points)
    return max(p.x for p in points if abs(p.y - height) < nearest + SAME_MM)


def _roundings(profile: Path, names: Names, scale: float) -> Iterator[Callout]:
    """Radii and bevels, equal ones together; a round cord's section has one diameter."""
    if (cord := round_path(profile)) is not None:
        centre, radius = Point(cord[0].y * scale, cord[0].x * scale), cord[1]
        tips = tuple(on_circle(centre, radius * scale, angle) for angle in (45.0, 60.0, 135.0, 30.0))
        yield Callout("diameter", tips, "Ø<>", names.of(2.0 * radius, across=True), 2.0 * radius, scale)
        return
    arcs: dict[float, list[Edge]] = {}
    bevels: dict[float, list[Edge]] = {}
    for edge in profile.edges:
        if edge.start.bulge != 0.0:
            arcs.setdefault(round(edge.arc.radius, 6), []).append(edge)
        elif _is_bevel(edge, profile):
            bevels.setdefault(round(abs(edge.end.y - edge.start.y), 6), []).append(edge)
    for edges in list(arcs.values())[:MOST_RADII]:
        radius = edges[0].arc.radius
        tips = tuple(tip for edge in edges for sign in (1, -1) for tip in round_tips(edge, scale, lying=sign))
        yield Callout("radius", tips, f"{times(len(edges))}R<>", names.of(radius), radius, scale)
    for size, edges in bevels.items():
        tips = tuple(
            Tip(Point(edge.middle.y * scale, sign * edge.middle.x * scale), directions)
            for edge in edges
            for sign, directions in ((1.0, (60.0, 120.0, 90.0)), (-1.0, (-60.0, -120.0, -90.0)))
        )
        yield Callout("note", tips, f"{times(len(edges))}<> × 45°", names.of(size), size, scale)


def enlarged_section(shape: Revolved, *, name: str, scale: float, names: Names) -> View:
    """One cut face by itself, large enough to carry the dimensions of a thin ring's section."""
    inner, low, outer, high = shape.profile.bounds
    profile = shape.profile.moved(dy=-low)
    upper = section_paths(profile)[-1].scaled(scale)
    items: list[Item] = [Area(upper, (), "rubber"), outline(upper)]
    if round_path(profile) is None:
        wanted = [
            *(_on_upper(one) for one in _lengths(without_fillets(profile), names)),
            Linear(names.of(outer - inner), Point(0.0, inner), Point(0.0, outer), "left"),
        ]
        box = Box(0.0, inner * scale, (high - low) * scale, outer * scale)
        items += stacked(wanted, placing=Placing(scale), outline=box)
    callouts = [_upper_only(one) for one in _roundings(profile, names, scale)]
    return View(name, scale, (*items, *placed(callouts, among=items)))


def _on_upper(one: Linear) -> Linear:
    return replace(one, start=Point(one.start.x, abs(one.start.y)), end=Point(one.end.x, abs(one.end.y)))


def _upper_only(one: Callout) -> Callout:
    return replace(one, tips=tuple(tip for tip in one.tips if tip.at.y > 0.0))
