"""A flat part from above and from the side, with its outline's, holes' and openings' dimensions."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final, Literal

from moldgen.drawing.callouts import Callout, on_circle, placed
from moldgen.drawing.dimensions import Linear, Placing, stacked
from moldgen.drawing.model import BEYOND_MM, Box, Item, line, outline
from moldgen.drawing.names import SAME_MM, Names
from moldgen.drawing.roundings import is_smooth, round_path, round_tips, times
from moldgen.shapes import Edge, Extruded, Path, Point, rectangle

SIDE_VIEW_MM: Final = 18.0
MOST_RADII: Final = 8


def flat_items(shape: Extruded, scale: float, names: Names, end: Path | None = None) -> list[Item]:
    """The items of both views; `end` is what is seen from the side if it is no rectangle, from x = 0 on."""
    rim = shape.outline.scaled(scale)
    x0, y0, x1, y1 = shape.outline.bounds
    at = Placing(scale)
    items: list[Item] = [outline(rim)]
    wanted = [
        Linear(names.of(x1 - x0), _lowest(shape.outline, x0, "x"), _lowest(shape.outline, x1, "x"), "below"),
        Linear(names.of(y1 - y0), _lowest(shape.outline, y0, "y"), _lowest(shape.outline, y1, "y"), "left"),
    ]
    rounds = []
    for hole in shape.holes:
        items.append(outline(hole.scaled(scale)))
        if (found := round_path(hole)) is not None:
            rounds.append(found)
            items += _cross_lines(found[0], found[1], scale)
        else:
            wanted += _opening_sizes(hole, shape.outline, names)
    wanted += _hole_places(shape, rounds, names)
    items += stacked(wanted, placing=at, outline=Box(x0 * scale, y0 * scale, x1 * scale, y1 * scale))
    items += placed([*_hole_sizes(rounds, names, scale), *_outline_radii(shape, names, scale)], among=items)
    reach = max(p.x for item in items for p in item.extent())
    return [*items, *_from_the_side(shape, rounds, reach + SIDE_VIEW_MM, scale, names, end)]


def _cross_lines(centre: Point, radius: float, scale: float) -> Iterator[Item]:
    x, y, reach = centre.x * scale, centre.y * scale, radius * scale + 2.0
    yield line((x - reach, y), (x + reach, y), "centre")
    yield line((x, y - reach), (x, y + reach), "centre")


def _hole_places(shape: Extruded, rounds: list[tuple[Point, float]], names: Names) -> Iterator[Linear]:
    """Where each round hole is: from the outline's left and lower limit, or from where the sizing counts."""
    x0, y0, x1, y1 = shape.outline.bounds
    seen: set[tuple[str, float]] = set()
    for centre, _ in rounds:
        if ("x", round(centre.x, 6)) not in seen:
            seen.add(("x", round(centre.x, 6)))
            name = names.of(x1 - centre.x)
            limit = x1 if name else x0
            name = name or names.of(centre.x - x0)
            yield Linear(name, _lowest(shape.outline, limit, "x"), centre, "above")
        if ("y", round(centre.y, 6)) not in seen:
            seen.add(("y", round(centre.y, 6)))
            name = names.of(y1 - centre.y)
            limit = y1 if name else y0
            name = name or names.of(centre.y - y0)
            yield Linear(name, _lowest(shape.outline, limit, "y"), centre, "left")


def _opening_sizes(hole: Path, rim: Path, names: Names) -> Iterator[Linear]:
    """Length and width of an opening that is not round, and where its left and lower limits are."""
    x0, y0, x1, y1 = hole.bounds
    left, below, _, _ = rim.bounds
    yield Linear(names.of(x1 - x0), _lowest(hole, x0, "x"), _lowest(hole, x1, "x"), "above")
    yield Linear(names.of(x0 - left), _lowest(rim, left, "x"), _lowest(hole, x0, "x"), "above")
    yield Linear(names.of(y1 - y0), _lowest(hole, y0, "y"), _lowest(hole, y1, "y"), "right")
    yield Linear(names.of(y0 - below), _lowest(rim, below, "y"), _lowest(hole, y0, "y"), "right")


def _hole_sizes(rounds: list[tuple[Point, float]], names: Names, scale: float) -> Iterator[Callout]:
    groups: dict[float, list[Point]] = {}
    for centre, radius in rounds:
        groups.setdefault(round(radius, 6), []).append(centre)
    for radius, centres in groups.items():
        tips = [
            on_circle(Point(c.x * scale, c.y * scale), radius * scale, angle)
            for c in centres
            for angle in (60.0, 45.0, 120.0, 135.0, 30.0, 150.0, -45.0, -60.0, -120.0, -135.0)
        ]
        name = names.of(2.0 * radius, across=True)
        yield Callout("diameter", tuple(tips), f"{times(len(centres))}Ø<>", name, 2.0 * radius, scale)


def _outline_radii(shape: Extruded, names: Names, scale: float) -> Iterator[Callout]:
    """Each radius of the outline once, with the number of arcs that have it."""
    arcs: dict[float, list[Edge]] = {}
    others = [hole for hole in shape.holes if round_path(hole) is None]
    for path in (shape.outline, *others):
        for edge in path.edges:
            if edge.start.bulge != 0.0:
                arcs.setdefault(round(edge.arc.radius, 4), []).append(edge)
    for edges in list(arcs.values())[:MOST_RADII]:
        count = len({(round(e.arc.centre.x, 4), round(e.arc.centre.y, 4)) for e in edges})
        tips = [tip for edge in edges[:12] for tip in round_tips(edge, scale)]
        radius = edges[0].arc.radius
        yield Callout("radius", tuple(tips), f"{times(count)}R<>", names.of(radius), radius, scale)


def _from_the_side(
    shape: Extruded, rounds: list[tuple[Point, float]], x_mm: float, scale: float, names: Names, end: Path | None
) -> Iterator[Item]:
    """The part seen from the left, standing to the right of its main view (first angle)."""
    _, y0, _, y1 = shape.outline.bounds
    thick = shape.thickness_mm
    at = Placing(scale, x_mm, 0.0)
    yield outline((end or rectangle(0.0, y0, thick, y1)).scaled(scale).moved(dx=x_mm))
    for height in _corners_from_left(shape.outline):
        if y0 + SAME_MM < height < y1 - SAME_MM:
            yield line(at.point(0.0, height), at.point(thick, height), "outline")
    for centre, radius in rounds:
        for height in (centre.y - radius, centre.y + radius):
            yield line(at.point(0.0, height), at.point(thick, height), "hidden")
        yield line(at.point(-BEYOND_MM / scale, centre.y), at.point(thick + BEYOND_MM / scale, centre.y), "centre")
    low, high = at.point(0.0, y0), at.point(thick, y1)
    thickness = Linear(names.of(thick), Point(0.0, y0), Point(thick, y0), "below")
    yield from stacked([thickness], placing=at, outline=Box(low.x, low.y, high.x, high.y))


def _corners_from_left(path: Path) -> list[float]:
    """Heights of sharp corners that nothing of the part hides from the left."""
    edges = path.edges
    rim = path.points(0.01)
    found = []
    for before, after in zip((edges[-1], *edges[:-1]), edges, strict=True):
        corner = after.start
        if is_smooth(before, after):
            continue
        crossings = [
            a.x + (corner.y - a.y) * (b.x - a.x) / (b.y - a.y)
            for a, b in pairwise([*rim, rim[0]])
            if (a.y > corner.y) != (b.y > corner.y)
        ]
        if not any(x < corner.x - 1e-3 for x in crossings):
            found.append(corner.y)
    return found


def _lowest(path: Path, value: float, axis: Literal["x", "y"]) -> Point:
    """The point of an outline on one of its limits, nearest to the dimension below or on the left."""
    points = [p for edge in path.edges for p in (*edge.points(0.001), Point(edge.end.x, edge.end.y))]

    def off(p: Point) -> float:
        return abs((p.x if axis == "x" else p.y) - value)

    near = min(off(p) for p in points) + 0.002
    chosen = min((p for p in points if off(p) <= near), key=lambda p: p.y if axis == "x" else p.x)
    return Point(value, chosen.y) if axis == "x" else Point(chosen.x, value)
