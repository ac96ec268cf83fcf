"""What keeps contours from being cast: crossings, stretches drawn twice, wrong sizes, outlines beside one another."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, islice
from typing import TYPE_CHECKING, Any, Final

from moldgen.outlines.contour import Contour, Fault
from moldgen.outlines.sides import FEW, Side, encloses, near_pairs
from moldgen.shapes import Edge, Path, Point

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SMALLEST_MM: Final = 0.2
LARGEST_MM: Final = 1000.0
SAGITTA_MM: Final = 0.002
"""Arcs are looked at as polygons that stray no farther."""
SAME_MM: Final = 0.02
"""Contours that agree to this are one drawn twice."""
MOST_SIDES: Final = 20_000
MOST_CONTOURS: Final = 300
MOST_MEETINGS: Final = 2_000
"""Of sides with sides, looked at; in a drawing with more, most of them say the same."""
AT_ONCE: Final = 64
"""Sides looked at together: in a tangle, each of them meets all others."""
MOST_TOLD_OF_ONE: Final = 20
MOST_TOLD: Final = 3
"""Crossings named for each pair of contours; more of the same would not help."""


def faults(contours: Sequence[Contour]) -> tuple[Fault, ...]:
    """All that is wrong with single contours and between them; empty if the largest one encloses sound holes."""
    if len(contours) > MOST_CONTOURS:
        return (_too_much(contours, f"the drawing has {len(contours)} outlines, and {MOST_CONTOURS} are the most"),)
    found = [f for i, contour in enumerate(contours) for f in _by_itself(i, contour)]
    if found:
        return tuple(found[:MOST_TOLD_OF_ONE])
    sides = islice((p for c in contours for e in c.path.edges for p in e.points(SAGITTA_MM)), MOST_SIDES + 1)
    if sum(1 for _ in sides) > MOST_SIDES:
        return (_too_much(contours, f"the drawing has more than {MOST_SIDES} sides, arcs taken as fine polygons"),)
    found = list(_doubled(contours))
    found += _crossings(contours, {f.contour for f in found})
    found = found or list(_slivers(contours))
    return tuple(found) or tuple(_nesting(contours))


def _too_much(contours: Sequence[Contour], text: str) -> Fault:
    first = contours[0].path.vertices[0]
    return Fault(text, "Save the outline alone, drawn with arcs, or with fewer points.", Point(first.x, first.y))


def largest(contours: Sequence[Contour]) -> int:
    """Number of the contour that encloses most."""
    return max(range(len(contours)), key=lambda i: contours[i].path.area)


def _by_itself(i: int, contour: Contour) -> Iterator[Fault]:
    """Points given twice, spikes, and sizes that are not taken."""
    edges = contour.path.edges
    for k, edge in enumerate(edges):
        here = Point(edge.start.x, edge.start.y)
        if edge.chord == 0.0:
            yield Fault(f"{contour.sources[k]} has no length: a point is given twice", "Delete one.", here, i, k)
    if any(edge.chord == 0.0 for edge in edges):
        return
    for k, edge in enumerate(edges):
        before, here = edges[k - 1], Point(edge.start.x, edge.start.y)
        if len(edges) > 2 and _turns_back(before, edge):
            text = f"the outline turns back on itself from {contour.sources[k - 1]} to {contour.sources[k]}"
            yield Fault(text, "Delete the spike.", here, i, k)
    x0, y0, x1, y1 = contour.path.bounds
    middle = Point(0.5 * (x0 + x1), 0.5 * (y0 + y1))
    size = f"{x1 - x0:.4g} mm by {y1 - y0:.4g} mm"
    if max(x1 - x0, y1 - y0) > LARGEST_MM:
        way_out = "Check the unit of the drawing, and that it is drawn in full size."
        yield Fault(f"an outline is {size}, and {LARGEST_MM:g} mm is the most", way_out, middle, i)
    elif min(x1 - x0, y1 - y0) < SMALLEST_MM:
        yield _nothing(contour, f"an outline is only {size}", middle, i)


def _slivers(contours: Sequence[Contour]) -> Iterator[Fault]:
    """Contours as slim as a hair; looked for last, because the area of one that crosses itself says nothing."""
    for i, contour in enumerate(contours):
        if abs(contour.path.area) < SMALLEST_MM**2:
            start = contour.path.vertices[0]
            yield _nothing(
                contour, f"an outline encloses only {abs(contour.path.area):.2g} mm²", Point(start.x, start.y), i
            )


def _nothing(contour: Contour, text: str, where: Point, i: int) -> Fault:
    return Fault(text, f"Check the unit of the drawing, or delete {contour.sources[0]}.", where, i)


def _turns_back(before: Edge, after: Edge) -> bool:
    """Whether two straight sides leave their corner in the same direction."""
    if before.start.bulge != 0.0 or after.start.bulge != 0.0:
        return False
    ux, uy = before.end.x - before.start.x, before.end.y - before.start.y
    vx, vy = after.end.x - after.start.x, after.end.y - after.start.y
    return ux * vx + uy * vy < 0.0 and abs(ux * vy - uy * vx) <= 1e-6 * before.chord * after.chord


def _doubled(contours: Sequence[Contour]) -> Iterator[Fault]:
    """A contour drawn twice: same box, same length, same area."""
    marks = [(*c.path.bounds, c.path.length, math.sqrt(abs(c.path.area))) for c in contours]
    for (i, a), (j, b) in combinations(enumerate(marks), 2):
        if all(abs(p - q) <= SAME_MM for p, q in zip(a, b, strict=True)):
            text = f"{contours[j].sources[0]} lies on {contours[i].sources[0]}: this outline is drawn twice"
            start = contours[j].path.vertices[0]
            yield Fault(text, "Delete one of the two.", Point(start.x, start.y), j)


# --- crossings -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Sides:
    """All contours as straight sides."""

    ends: NDArray[np.float64]
    """(n, 2, 2)"""
    contour: NDArray[np.int64]
    edge: NDArray[np.int64]
    following: NDArray[np.int64]
    """Number of the side that goes on from each."""


def _crossings(contours: Sequence[Contour], but: set[int]) -> Iterator[Fault]:
    """Places where contours cross or touch themselves or one another, or run along one another."""
    plain = _plain_sides(contours, but)
    if len(plain) <= FEW and all(
        a.following == b.number or b.following == a.number or a.far_from(b, 0.0) for a, b in near_pairs(plain, 0.0)
    ):
        return
    import numpy as np
    import shapely

    sides = _sides(plain)
    lines = shapely.linestrings(sides.ends)
    tree = shapely.STRtree(lines)
    pairs: list[NDArray[np.int64]] = []
    count = 0
    for first in range(0, len(lines), AT_ONCE):
        a, b = tree.query(lines[first : first + AT_ONCE], predicate="intersects")
        a += first
        apart = (a < b) & (sides.following[a] != b) & (sides.following[b] != a)
        pairs.append(np.stack((a[apart], b[apart])))
        count += pairs[-1].shape[1]
        if count >= MOST_MEETINGS:
            break
    a, b = np.concatenate(pairs, axis=1)[:, :MOST_MEETINGS] if pairs else np.empty((2, 0), dtype=np.int64)
    meetings = shapely.intersection(lines[a], lines[b])
    order = np.lexsort((sides.edge[b], sides.edge[a], sides.contour[b], sides.contour[a]))
    told: dict[tuple[int, int], list[Point]] = {}
    for k in order:
        i, j = int(sides.contour[a[k]]), int(sides.contour[b[k]])
        where = _point(meetings[k])
        known = told.setdefault((i, j), [])
        if len(known) >= MOST_TOLD or any(math.dist(where, p) < SAME_MM for p in known):
            continue
        known.append(where)
        edge, other = int(sides.edge[a[k]]), int(sides.edge[b[k]])
        yield _crossing(contours, (i, edge), (j, other), where, along=meetings[k].length > SAME_MM)


def _crossing(
    contours: Sequence[Contour], one: tuple[int, int], two: tuple[int, int], where: Point, *, along: bool
) -> Fault:
    a, b = contours[one[0]].sources[one[1]], contours[two[0]].sources[two[1]]
    between = f"{a} and {b}" if a != b else f"two stretches of {a}"
    if along:
        return Fault(f"{between} run along each other", "Delete what is drawn twice.", where, *two)
    if one[0] == two[0]:
        text = f"the outline crosses or touches itself, where {between} meet"
    else:
        text = f"two outlines cross or touch, where {between} meet"
    return Fault(text, "Move them apart, or delete what is not outline.", where, *two)


def _plain_sides(contours: Sequence[Contour], but: set[int]) -> list[Side]:
    sides: list[Side] = []
    for i, one in enumerate(contours):
        if i in but:
            continue
        points = [(p, k) for k, e in enumerate(one.path.edges) for p in e.points(SAGITTA_MM)]
        first, count = len(sides), len(points)
        sides += [
            Side(p, points[(n + 1) % count][0], i, k, first + n, first + (n + 1) % count)
            for n, (p, k) in enumerate(points)
        ]
    return sides


def _sides(plain: Sequence[Side]) -> _Sides:
    import numpy as np

    return _Sides(
        np.array([(side.start, side.end) for side in plain], dtype=np.float64).reshape(-1, 2, 2),
        np.array([side.contour for side in plain]),
        np.array([side.edge for side in plain]),
        np.array([side.following for side in plain]),
    )


def _point(meeting: Any) -> Point:
    """A crossing, or the middle of a stretch in common."""
    centre = meeting.centroid
    return Point(float(centre.x), float(centre.y))


# --- one outline, holes in it ----------------------------------------------------------------------------------------


def _nesting(contours: Sequence[Contour]) -> Iterator[Fault]:
    """Contours that are not simply holes of the largest."""
    polygons = [c.path.points(SAGITTA_MM) for c in contours]
    bounds = [c.path.bounds for c in contours]
    rim = largest(contours) if contours else 0

    def holds(j: int, corner: Point) -> bool:
        x0, y0, x1, y1 = bounds[j]
        return x0 <= corner.x <= x1 and y0 <= corner.y <= y1 and encloses(polygons[j], corner)

    for i, contour in enumerate(contours):
        if i == rim:
            continue
        start = contour.path.vertices[0]
        where = Point(start.x, start.y)
        if not holds(rim, where):
            text = f"{contour.sources[0]} lies beside the outline, not in it"
            yield Fault(text, "One spec makes one part: leave one outline, and holes within it.", where, i)
        if any(j not in (i, rim) and holds(j, where) for j in range(len(contours))):
            text = f"{contour.sources[0]} lies within a hole"
            yield Fault(text, "Delete it: nothing can stand inside a hole.", where, i)


def thin_walls(contours: Sequence[Contour], least_mm: float) -> Iterator[Fault]:
    """Places where less than the least wall is left between two contours."""
    plain = _plain_sides(contours, set())
    if len(plain) <= FEW and all(
        a.contour == b.contour or a.far_from(b, least_mm) for a, b in near_pairs(plain, least_mm)
    ):
        return
    import shapely

    rings = [polygon(c.path).exterior for c in contours]
    tree = shapely.STRtree(rings)
    close = tree.query(rings, predicate="dwithin", distance=least_mm - SAGITTA_MM)
    for i, j in sorted((int(i), int(j)) for i, j in close.T if i < j)[:MOST_TOLD_OF_ONE]:
        a, b = rings[i], rings[j]
        if (gap := float(a.distance(b))) < least_mm - SAGITTA_MM:
            near, far = (shapely.Point(c) for c in shapely.shortest_line(a, b).coords)
            where = Point(0.5 * (near.x + far.x), 0.5 * (near.y + far.y))
            text = f"only {gap:.2f} mm are left between {contours[i].sources[0]} and {contours[j].sources[0]}"
            yield Fault(text, f"Leave {least_mm:g} mm or more.", where, j)


def polygon(path: Path) -> Any:
    """The outline as a polygon of the geometry library."""
    import shapely

    return shapely.Polygon(path.points(SAGITTA_MM))
