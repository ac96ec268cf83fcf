"""Where a rising pour shuts air in: pockets, ceilings that hold air by wetting, parts that nothing reaches.

Liquid rises with a level surface. Air leaves as long as the space it is in is joined, above the liquid, to
an opening that is not yet under. Lowering the level from the top instead, the space above it falls into
regions: one is born at each high point of the ceiling, two join at a saddle. A region's air is shut in at
the level where it first meets an opening, or a region that has one; what lies above that level is the
pocket.

Regions are followed on the cavity's triangles alone. A region of space has just one piece of wall that
closes it from above; any further piece of its wall is the top of an island (a post, a core) and has open
space over it, so a ray from the island's highest point straight up finds a wall of the same region. With
those rays the regions of the wall and of the space are the same, and a pocket's volume is the integral of
the height above its level over the wall, signed by which way the wall faces: exact to the triangles,
without cutting the mesh. (Cutting and splitting into bodies would take an island's shell for a body.)

What this does not know: surface tension, compression of what is shut in, liquid that pours over an edge
faster than it levels. Hollows that touch in nothing but a point or an edge may count as joined. A sprue
counts as an opening only if the stream leaves room for air beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from moldgen.errors import GeometryError, require_range
from moldgen.inspection.cavity_wall import (
    TINY,
    Floats,
    Ints,
    Opening,
    Point3,
    Wall,
    as_point,
    cross_of,
    dot,
    highest_in_ball,
    mouth_of,
    nearest,
    unit,
    wall_of,
)

if TYPE_CHECKING:
    from manifold3d import Manifold

FLAT_DEG = 3.0
"""A ceiling inclined less than this does not shed its air reliably. Common practice, no source."""

_TIE_MM = 1e-7  # heights closer than this are one height; rounding makes 1e-14 of a level ceiling
_LEAST_VOLUME_MM3 = 1e-6  # far below any pocket that matters; rounding leaves about 1e-9 in a large cavity


@dataclass(frozen=True, slots=True)
class AirPocket:
    """Air that cannot leave."""

    volume_mm3: float
    depth_mm: float
    """From its highest point down to the liquid that shuts it in."""
    top_mm: Point3
    """Its highest point, where a vent would empty it."""
    exit_mm: Point3 | None
    """The rim of a mouth or the saddle whose going under shut it in; None if it never had a way out."""


@dataclass(frozen=True, slots=True)
class FarCeiling:
    """A connected stretch of nearly level ceiling, as far as it is too far from any opening."""

    area_mm2: float
    farthest_mm: Point3
    """Its point farthest from any opening, where a vent would help most."""
    distance_mm: float
    """From there to the rim of the nearest opening; infinite if there is no opening."""


@dataclass(frozen=True, slots=True)
class Unreached:
    """A part of the cavity that no sprue leads to."""

    volume_mm3: float
    point_mm: Point3
    """A point on its wall."""


def air_pockets(*, cavity: Manifold, openings: Sequence[Opening], up: Point3) -> tuple[AirPocket, ...]:
    """Every pocket of air left when the cavity has filled, largest first, for the attitude in which `up` is
    up.

    A mouth breathes until its highest point goes under. A part of the cavity without any opening is a
    pocket as a whole. Pockets below a millionth of a mm3 are left out. An opening whose point is farther
    than its radius from the wall is a GeometryError: it would vent nothing, or not what it was meant to.
    """
    wall = wall_of(cavity)
    direction = unit(up)
    heights = wall.points @ direction
    peak_of, passes = _peaks_and_passes(wall, heights, direction)
    for opening in openings:
        passes += _breaths(wall, opening, heights, peak_of, direction)
    passes.sort(key=lambda event: -event.height)
    return _measured(wall, heights, peak_of, direction, _sealed(_Regions(peak_of), passes))


def far_ceilings(
    *, cavity: Manifold, openings: Sequence[Opening], up: Point3, distance_mm: float
) -> tuple[FarCeiling, ...]:
    """Ceilings inclined less than `FLAT_DEG` and farther than `distance_mm` from the rim of every opening.

    Facets that the distance cuts through are halved along their longest edge until no edge exceeds a
    sixteenth of distance and radius together, then counted by their centre. Largest first.
    """
    require_range("distance_mm", distance_mm, 0.1, 1000.0)
    wall = wall_of(cavity)
    level_share = wall.area_vectors @ unit(up) / np.maximum(np.linalg.norm(wall.area_vectors, axis=1), TINY)
    flat = np.flatnonzero(level_share > math.cos(math.radians(FLAT_DEG)))
    triangles = wall.points[wall.corners[flat]]
    stretch = _connected(wall.corners[flat])
    if openings:
        triangles, stretch = _beyond(triangles, stretch, openings, distance_mm)
    areas = 0.5 * np.linalg.norm(cross_of(triangles), axis=1)
    clear = _clear_distances(triangles, openings)
    found = []
    for label in np.unique(stretch):
        mine = np.flatnonzero(stretch == label)
        row, corner = divmod(int(clear[mine].argmax()), 3)
        found.append(
            FarCeiling(
                area_mm2=float(areas[mine].sum()),
                farthest_mm=as_point(triangles[mine[row], corner]),
                distance_mm=float(clear[mine[row], corner]),
            )
        )
    return tuple(sorted(found, key=lambda ceiling: -ceiling.area_mm2))


def unreached(*, cavity: Manifold, sprues: Sequence[Opening]) -> tuple[Unreached, ...]:
    """The separate parts of the cavity into whose wall no sprue opens, largest first."""
    wall = wall_of(cavity)
    direction = unit((0.0, 0.0, 1.0))  # any attitude does: only what hangs together counts
    peak_of, passes = _peaks_and_passes(wall, wall.points @ direction, direction)
    regions = _Regions(peak_of)
    for meeting in passes:
        regions.join(meeting.peak, meeting.other)
    del regions.members[_OPEN_AIR]  # no opening was let in
    part_of_peak = np.arange(len(wall.points))
    for part, peaks in regions.members.items():
        part_of_peak[list(peaks)] = part
    part_of = part_of_peak[peak_of[wall.corners[:, 0]]]
    fed = {int(part_of[triangle]) for sprue in sprues for triangle in mouth_of(wall, sprue)}
    corners = wall.points[wall.corners]
    volumes = dot(corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    left = [
        Unreached(volume_mm3=float(volumes[part_of == part].sum()), point_mm=as_point(wall.points[part]))
        for part in regions.members.keys() - fed
    ]
    return tuple(sorted(left, key=lambda part: -part.volume_mm3))


_OPEN_AIR = -1
"""Stands among the peaks for all that is outside the cavity."""


@dataclass(frozen=True, slots=True)
class _Meeting:
    """At this height the region under `peak` meets the one under `other`, which may be open air."""

    height: float
    peak: int
    other: int
    point: Floats


class _Regions:
    """Which peaks lie in one region, as the level sinks (union-find, the shorter list relabelled)."""

    def __init__(self, peak_of: Ints) -> None:
        peaks: list[int] = [_OPEN_AIR, *np.unique(peak_of).tolist()]
        self._root = {peak: peak for peak in peaks}
        self.members: dict[int, tuple[int, ...]] = {peak: (peak,) for peak in peaks}

    def root(self, peak: int) -> int:
        return self._root[peak]

    def join(self, peak: int, other: int) -> None:
        a, b = self._root[peak], self._root[other]
        if a == b:
            return
        if len(self.members[a]) < len(self.members[b]):
            a, b = b, a
        moved = self.members.pop(b)
        self._root.update(dict.fromkeys(moved, a))
        self.members[a] += moved

    def breathes(self, peak: int) -> bool:
        return self._root[peak] == self._root[_OPEN_AIR]


@dataclass(frozen=True, slots=True)
class _Sealed:
    """A region at the moment when it is cut off from open air."""

    peaks: tuple[int, ...]
    level: float
    exit_point: Floats | None


def _sealed(regions: _Regions, meetings: Sequence[_Meeting]) -> list[_Sealed]:
    """What is shut in, and where, as the level sinks through the meetings.

    Meetings at one height happen at once: two shafts over one flat ceiling are two pockets, in whichever
    order rounding lists the ways along that ceiling.
    """
    sealed = []
    start = 0
    while start < len(meetings):
        level = meetings[start].height
        end = start + 1
        while end < len(meetings) and meetings[end].height > level - _TIE_MM:
            end += 1
        shut: dict[int, _Sealed] = {}
        for meeting in meetings[start:end]:
            for root in (regions.root(meeting.peak), regions.root(meeting.other)):
                if root not in shut and not regions.breathes(root):
                    shut[root] = _Sealed(regions.members[root], level, meeting.point)
        for meeting in meetings[start:end]:
            regions.join(meeting.peak, meeting.other)
        sealed += [region for root, region in shut.items() if regions.breathes(root)]
        start = end
    never = [peaks for root, peaks in regions.members.items() if not regions.breathes(root)]
    return sealed + [_Sealed(peaks, -math.inf, None) for peaks in never]


def _peaks_and_passes(wall: Wall, heights: Floats, up: Floats) -> tuple[Ints, list[_Meeting]]:
    """The peak that the steepest way up the wall's edges leads to from each point, and the passes between
    peaks, highest first.

    Equal heights are told apart by the points' numbers, which amounts to tilting the wall by less than
    anything measurable.
    """
    count = len(heights)
    order = np.argsort(heights, kind="stable")
    rank = np.empty(count, dtype=np.int64)
    rank[order] = np.arange(count)
    a, b = rank[wall.corners].ravel(), rank[np.roll(wall.corners, -1, axis=1)].ravel()
    once = a < b  # a closed surface runs along each edge once each way
    low, high = a[once], b[once]
    above = np.arange(count)
    np.maximum.at(above, low, high)
    while not np.array_equal(further := above[above], above):
        above = further
    peak_of = order[above[rank]]

    crossing = above[low] != above[high]
    pass_rank, side_a, side_b = low[crossing], above[low[crossing]], above[high[crossing]]
    # Of the peaks along one level top only the last can need a ray: the others join it at that height.
    leads_on = heights[order[np.minimum(side_a, side_b)]] - heights[order[pass_rank]] < _TIE_MM
    peaks = np.setdiff1d(np.flatnonzero(above == np.arange(count)), np.minimum(side_a, side_b)[leads_on])
    islands = _island_tops(wall, order[peaks], up)
    tops, roofs = _roofs(wall, islands, heights, up)
    pass_rank = np.concatenate([pass_rank, rank[tops]])
    side_a = np.concatenate([side_a, rank[tops]])
    side_b = np.concatenate([side_b, above[rank[roofs]]])
    # Between two peaks only the highest pass matters.
    downwards = np.argsort(-pass_rank, kind="stable")
    pair = (np.minimum(side_a, side_b) * count + np.maximum(side_a, side_b))[downwards]
    first = downwards[np.sort(np.unique(pair, return_index=True)[1])]
    rows = zip(order[pass_rank[first]], order[side_a[first]], order[side_b[first]], strict=True)
    return peak_of, [_Meeting(float(heights[at]), int(p), int(q), wall.points[at]) for at, p, q in rows]


def _island_tops(wall: Wall, peaks: Ints, up: Floats) -> Ints:
    """Those peaks of the wall that have cavity over them.

    The sum of the normals at a corner, weighted by the angles there, tells the two sides of a closed
    surface apart for every point nearest to that corner, and straight up from a peak they all are. Source:
    J. A. Bærentzen and H. Aanæs, IEEE Trans. Vis. Comput. Graph. 11 (2005) 243, from memory.
    """
    is_peak = np.zeros(len(wall.points), dtype=bool)
    is_peak[peaks] = True
    facing = np.zeros(len(wall.points))
    lengths = np.linalg.norm(wall.area_vectors, axis=1)
    for corner in range(3):
        at = wall.corners[:, corner]
        near = np.flatnonzero(is_peak[at] & (lengths > 0.0))
        tip = wall.points[at[near]]
        one = wall.points[wall.corners[near, corner - 1]] - tip
        two = wall.points[wall.corners[near, corner - 2]] - tip
        angle = np.arctan2(2.0 * lengths[near], dot(one, two))
        np.add.at(facing, at[near], angle * (wall.area_vectors[near] @ up) / lengths[near])
    return peaks[facing[peaks] < 0.0]


def _roofs(wall: Wall, islands: Ints, heights: Floats, up: Floats) -> tuple[Ints, Ints]:
    """Each island's top and the highest corner of the triangle straight above it."""
    if len(islands) == 0:
        return islands, islands
    axis = np.eye(3)[np.abs(up).argmin()]
    across = np.cross(up, axis)
    across /= np.linalg.norm(across)
    plan = wall.points @ np.stack([across, np.cross(up, across)], axis=1)
    shadows = wall.area_vectors @ up
    # A wall that the ray only grazes has neighbours that it meets.
    level = np.flatnonzero(np.abs(shadows) > 1e-9 * np.linalg.norm(wall.area_vectors, axis=1))
    corners = wall.corners[level]
    flat, high = plan[corners], heights[corners]
    lowest, highest, ceiling = flat.min(axis=1), flat.max(axis=1), high.max(axis=1)
    reach = 1e-9 * float(np.ptp(wall.points, axis=0).max())
    roofs = np.empty_like(islands)
    for i, top in enumerate(islands):
        x, y = plan[top]
        near = np.flatnonzero(
            (lowest[:, 0] <= x + reach)
            & (highest[:, 0] >= x - reach)
            & (lowest[:, 1] <= y + reach)
            & (highest[:, 1] >= y - reach)
            & (ceiling > heights[top])
            & (corners != top).all(axis=1)
        )
        shares = _shares(flat[near], plan[top])
        met = dot(shares, high[near])
        inside = (shares.min(axis=1) >= -1e-9) & (met > heights[top] + reach)
        if not inside.any():
            raise GeometryError(
                stage="air traps",
                where_mm=as_point(wall.points[top]),
                text="no wall of the cavity above a point inside it",
                way_out="check the cavity's mesh for open or crossing faces",
            )
        roof = corners[near[inside][met[inside].argmin()]]
        roofs[i] = roof[heights[roof].argmax()]
    return islands, roofs


def _shares(triangles: Floats, at: Floats) -> Floats:
    """Barycentric coordinates of a point in each of these plane triangles."""
    one, two = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    to = at - triangles[:, 0]
    whole = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    second = (to[:, 0] * two[:, 1] - to[:, 1] * two[:, 0]) / whole
    third = (one[:, 0] * to[:, 1] - one[:, 1] * to[:, 0]) / whole
    return np.stack([1.0 - second - third, second, third], axis=1)


def _measured(
    wall: Wall, heights: Floats, peak_of: Ints, up: Floats, sealed: Sequence[_Sealed]
) -> tuple[AirPocket, ...]:
    """Volume of each region above the level that shuts it in, by the divergence theorem.

    V = integral of (height - level) over the wall's plan, upward faces positive: the field (0, 0, z -
    level) has divergence 1 and vanishes on the level. A triangle belongs to the region of its highest
    corner.
    """
    tops = [max(s.peaks, key=heights.__getitem__) for s in sealed]
    number = np.full(len(heights), -1)
    for i, region in enumerate(sealed):
        number[list(region.peaks)] = i
    of_point = number[peak_of]
    bottoms = np.full(len(sealed), np.inf)
    inside = of_point >= 0
    np.minimum.at(bottoms, of_point[inside], heights[inside])
    levels = np.maximum(bottoms, [region.level for region in sealed])

    tall = heights[wall.corners]
    of_triangle = of_point[wall.corners[np.arange(len(tall)), tall.argmax(axis=1)]]
    mine = np.flatnonzero(of_triangle >= 0)
    of_triangle = of_triangle[mine]
    depths = np.sort(tall[mine] - levels[of_triangle][:, None], axis=1)
    shares = wall.area_vectors[mine] @ up * _mean_positive_part(depths)
    volumes = np.bincount(of_triangle, shares, minlength=len(sealed))
    found = [
        AirPocket(
            volume_mm3=float(volume),
            depth_mm=float(heights[top] - level),
            top_mm=as_point(wall.points[top]),
            exit_mm=None if region.exit_point is None else as_point(region.exit_point),
        )
        for region, top, level, volume in zip(sealed, tops, levels, volumes, strict=True)
        if volume > _LEAST_VOLUME_MM3 and heights[top] - level > _TIE_MM
    ]
    return tuple(sorted(found, key=lambda pocket: -pocket.volume_mm3))


def _mean_positive_part(depths: Floats) -> Floats:
    """Mean over each triangle of max(depth, 0), its corners' depths sorted upwards and linear between.

    With one corner c above the level, the corner cut off holds c/(c - a) * c/(c - b) of the triangle at a
    mean depth of c/3; with one corner below, the mean of all three less that corner's share.
    """
    a, b, c = depths.T
    mean = depths.mean(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        one_above = c**3 / (3.0 * (c - a) * (c - b))
        one_below = mean - a**3 / (3.0 * (a - b) * (a - c))
    return np.where(a >= 0.0, mean, np.where(b >= 0.0, one_below, np.where(c > 0.0, one_above, 0.0)))


def _breaths(wall: Wall, opening: Opening, heights: Floats, peak_of: Ints, up: Floats) -> list[_Meeting]:
    """For each triangle in the mouth its highest point there, down to which the opening serves the
    region."""
    mouth = mouth_of(wall, opening)
    corners = wall.corners[mouth]
    highest = highest_in_ball(wall.points[corners], np.asarray(opening.point_mm), opening.radius_mm, up)
    tops = corners[np.arange(len(mouth)), heights[corners].argmax(axis=1)]
    # Rounding must not lift a breath above the corner whose region it is for.
    levels = np.minimum(highest @ up, heights[tops])
    return [
        _Meeting(level, peak, _OPEN_AIR, point)
        for level, peak, point in zip(levels.tolist(), peak_of[tops].tolist(), highest, strict=True)
    ]


def _connected(corners: Ints) -> Ints:
    """A number for each triangle, equal for triangles joined through shared corners."""
    label = np.arange(int(corners.max(initial=0)) + 1)
    while True:
        lowest = label[corners].min(axis=1)
        before = label.copy()
        np.minimum.at(label, corners, lowest[:, None])
        label = label[label]
        if np.array_equal(label, before):
            return label[corners[:, 0]]


def _beyond(triangles: Floats, stretch: Ints, openings: Sequence[Opening], distance_mm: float) -> tuple[Floats, Ints]:
    """What of the triangles is farther than the distance from every opening, each piece with its number."""
    reaches = [distance_mm + opening.radius_mm for opening in openings]
    centres = [np.asarray(opening.point_mm, dtype=np.float64) for opening in openings]
    finest = min(reaches) / 16.0
    kept_triangles, kept_stretch = [np.empty((0, 3, 3))], [np.empty(0, dtype=np.int64)]
    while len(triangles):
        far = np.ones(len(triangles), dtype=bool)
        near = np.zeros(len(triangles), dtype=bool)
        centre_far = np.ones(len(triangles), dtype=bool)
        for reach, centre in zip(reaches, centres, strict=True):
            near |= (np.linalg.norm(triangles - centre, axis=2) <= reach).all(axis=1)
            far &= np.linalg.norm(nearest(triangles, centre) - centre, axis=1) > reach
            centre_far &= np.linalg.norm(triangles.mean(axis=1) - centre, axis=1) > reach
        edges = np.linalg.norm(triangles - np.roll(triangles, -1, axis=1), axis=2)
        fine = edges.max(axis=1) <= finest
        keep = far | (fine & centre_far)
        kept_triangles.append(triangles[keep])
        kept_stretch.append(stretch[keep])
        split = np.flatnonzero(~far & ~near & ~fine)
        longest = edges[split].argmax(axis=1)
        a, b, c = (triangles[split, (longest + i) % 3] for i in range(3))
        middle = 0.5 * (a + b)
        triangles = np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])
        stretch = np.concatenate([stretch[split], stretch[split]])
    return np.concatenate(kept_triangles), np.concatenate(kept_stretch)


def _clear_distances(triangles: Floats, openings: Sequence[Opening]) -> Floats:
    """From each corner to the rim of the nearest opening."""
    clear = np.full(triangles.shape[:2], np.inf)
    for opening in openings:
        away = np.linalg.norm(triangles - np.asarray(opening.point_mm), axis=2) - opening.radius_mm
        clear = np.minimum(clear, away)
    return clear
