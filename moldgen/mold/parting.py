"""Where a mold parts, and what that asks of the rubber when it is pulled out.

Flash lies where the halves meet, so the parting never crosses a running surface. Parting at an end face keeps the
flash on an edge that a scalpel reaches; what then lies under a narrower mouth is an undercut, and the rubber has to
give way by its strain.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from moldgen.shapes import Edge, Path, Point, Vertex

SAGITTA_MM: Final = 0.002
UNDERCUT_OF_BREAK: Final = 0.15
"""Strain allowed when a part is pulled from an undercut, over the elongation at break: judgement, so that a fresh,
half-cured part is neither torn nor set."""
LEAST_THROAT: Final = 0.35
"""Rubber keeps its volume, so squeezed to a third of its width it stands three times as high: judgement."""
THROAT_LEVELS: Final = 16
LID_WORTH: Final = 0.03
"""Strain that is rather borne than giving up a plain flat lid: judgement."""
TOUCH_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Undercut:
    """The largest strain that one half asks of the rubber, and the height where it does."""

    strain: float
    z_mm: float
    on: str
    """"outside" (the ring is squeezed) or "bore" (it is stretched)."""


@dataclass(frozen=True, slots=True)
class Parting:
    """A way to part a turned part."""

    profile: Path
    """The half-section with the parting level at z = 0, upside down where that is better."""
    flipped: bool
    at_end_face: bool
    undercuts: tuple[Undercut, ...]

    @property
    def strain(self) -> float:
        return max((u.strain for u in self.undercuts), default=0.0)


def partings(
    profile: Path,
    *,
    metal_radius_mm: float = 0.0,
    modelled: Callable[[Path, float], Path | None] = lambda path, above_mm: path,
) -> tuple[Parting, ...]:
    """Every way to part a profile whose flash stays off running surfaces, best first.

    Tried are the heights of all corners and of the widest and narrowest places, both ways up. Least strain wins; a flat
    lid is worth 3 % of it. `modelled` makes of the profile, and of how much of it lies over the parting, what the
    halves are cut by, if they can be; the parting keeps its height.
    """
    found = []
    for flipped, upright in ((False, profile), (True, profile.mirrored_y())):
        _, low, _, high = upright.bounds
        for level in _levels(upright):
            if level <= low + TOUCH_MM or _flash_runs(upright, level):
                continue
            at_end_face = level >= high - TOUCH_MM
            if at_end_face and not _ends_flat(upright):
                continue
            drawn = modelled(upright, 0.0 if at_end_face else high - level)
            if drawn is None:
                continue
            hung = _at_zero(drawn, level)
            both = [u for pull in (1, -1) for u in undercuts(hung, pull=pull, metal_radius_mm=metal_radius_mm)]
            found.append(Parting(hung, flipped, at_end_face, tuple(both)))
    return tuple(sorted(found, key=lambda p: (round(p.strain + (0.0 if p.at_end_face else LID_WORTH), 6), p.flipped)))


def _ends_flat(profile: Path) -> bool:
    """Whether a profile has an upper end face, and not just a top, at which a half would have no mouth."""
    high = profile.bounds[3]
    return any(e.start.bulge == 0.0 and min(e.start.y, e.end.y) > high - TOUCH_MM for e in profile.edges)


def _levels(profile: Path) -> list[float]:
    """Heights worth trying: corners, and where an arc is widest or narrowest."""
    heights = [v.y for v in profile.vertices]
    for edge in profile.edges:
        if edge.start.bulge != 0.0:
            arc = edge.arc
            least_r, _, most_r, _ = Path((edge.start, edge.end)).bounds if edge.chord > 0.0 else profile.bounds
            if min(abs(arc.centre.x + arc.radius - most_r), abs(arc.centre.x - arc.radius - least_r)) < TOUCH_MM:
                heights.append(arc.centre.y)
    heights.sort(reverse=True)
    return [h for i, h in enumerate(heights) if i == 0 or heights[i - 1] - h > TOUCH_MM]


def _flash_runs(profile: Path, level: float) -> bool:
    """Whether the parting plane crosses the inside of a running stretch, which may be several edges in a row."""
    edges = profile.edges
    inside = any(edge.start.surface == "running" and _crosses(edge, level) for edge in edges)
    at_joint = any(
        before.start.surface == after.start.surface == "running" and abs(after.start.y - level) < TOUCH_MM
        for before, after in zip((edges[-1], *edges[:-1]), edges, strict=True)
    )
    return inside or at_joint


def _crosses(edge: Edge, level: float) -> bool:
    points = [*edge.points(SAGITTA_MM), Point(edge.end.x, edge.end.y)]
    heights = [p.y for p in points]
    return min(heights) < level - 1e-4 and max(heights) > level + 1e-4


def _at_zero(profile: Path, level: float) -> Path:
    """Moved so that the level lies at z = 0 exactly, not a rounding error beside it.

    Arcs that cross it get a vertex there: the halves then hold the same faces as what is filled, in the same facets.
    """
    moved = profile.moved(dy=-level)
    level_there = Path(tuple(replace(v, y=0.0) if abs(v.y) < TOUCH_MM else v for v in moved.vertices))
    return Path(tuple(vertex for edge in level_there.edges for vertex in edge.arcs_parted_at(0.0)))


def undercuts(profile: Path, *, pull: int, metal_radius_mm: float = 0.0) -> tuple[Undercut, ...]:
    """Strains that one half, parting level z = 0, asks: the lower (`pull` = +1) or the upper (`pull` = -1).

    Outside walls: (r − m)/r, m the least radius of the mouth still to pass. Bore walls (made by a core that stays
    behind): (greatest radius still to pass − r)/r. What is cast on metal gives way by `strain_on_metal`. Exact to the
    profile, sampled at 2 µm.
    """
    found = []
    for name, wall in zip(("outside", "bore"), _walls(profile, pull), strict=True):
        worst = Undercut(0.0, 0.0, name)
        passing: float | None = None
        # At one height the foot of a wall above comes first: the head of one that hangs below has to pass it, and not
        # the other way round.
        for point, _ in sorted(wall, key=lambda end: (-pull * end[0].y, end[1])):
            if passing is None:
                passing = point.x
            give = point.x - passing if name == "outside" else passing - point.x
            strain = _strain(give, point.x, metal_radius_mm)
            if strain > worst.strain:
                worst = Undercut(strain, point.y, name)
            passing = min(passing, point.x) if name == "outside" else max(passing, point.x)
        if worst.strain > 1e-6:
            found.append(worst)
    return tuple(found)


def _strain(give_mm: float, radius_mm: float, metal_radius_mm: float) -> float:
    """What giving way asks of the rubber at a radius: of a ring all round, of a cover on metal along it."""
    if give_mm <= 0.0 or radius_mm <= 0.0:
        return 0.0
    if metal_radius_mm == 0.0:
        return give_mm / radius_mm
    return strain_on_metal(radius_mm=radius_mm, mouth_mm=radius_mm - give_mm, metal_radius_mm=metal_radius_mm)


def strain_on_metal(*, radius_mm: float, mouth_mm: float, metal_radius_mm: float) -> float:
    """By how much a cover that is cast on metal is drawn out along it where it is squeezed through a mouth.

    Its inside cannot get smaller round as a free ring's does: only the wall gives. Rubber keeps its volume, so that the
    section of the ring, pi (r² − a²) before and pi (m² − a²) in the mouth, is made up for by length:
    (r² − m²)/(m² − a²), infinite where the mouth leaves no wall.

    Source: derived here. Held against our own axisymmetric finite-element runs (neo-Hookean, bonded, pulled past a
    frictionless lip): a quarter of the wall under the skin they read 0.95 to 1.07 of it for crowns on covers up to
    four times as long as their wall is thick; at the bond at most 1.4 of it, for one eleven times as long. The skin
    that slides over the lip is strained up to three times as much, and a thin wall near it up to twice: what is allowed
    is so small a share of the elongation at break to cover that.

    By hand, a crown of 0.3 mm on a wall of 4 mm: (225 − 216.09)/(216.09 − 121) = 8.91/95.09

    >>> round(strain_on_metal(radius_mm=15.0, mouth_mm=14.7, metal_radius_mm=11.0), 4)
    0.0937
    """
    left = mouth_mm**2 - metal_radius_mm**2
    return (radius_mm**2 - mouth_mm**2) / left if mouth_mm > metal_radius_mm else math.inf


def throat(profile: Path, *, pull: int) -> float:
    """Share of a ring's section that the mouth of one half, parting level z = 0, leaves to pull it through on its core.

    Least over the half's depth, of what all that lies nearer to the parting leaves open: (m² − b²)/(r² − b²) for a
    bore of b, a wall of r and a mouth of m. 1 where the half holds nothing.
    """
    _, low, _, high = profile.bounds
    deep = -low if pull > 0 else high
    share, mouth = 1.0, [(0.0, math.inf)]
    for i in range(THROAT_LEVELS):
        section = _across(profile, -pull * deep * (i + 0.5) / THROAT_LEVELS)
        mouth = [(max(a, c), min(b, d)) for a, b in mouth for c, d in section if max(a, c) < min(b, d)]
        if section:
            share = min(share, _ring_area(mouth) / _ring_area(section))
    return share


def _across(profile: Path, height: float) -> list[tuple[float, float]]:
    """Radii between which the half-section lies at a height."""
    radii = sorted(
        a.x + (height - a.y) / (b.y - a.y) * (b.x - a.x) for a, b in _steps(profile) if (a.y < height) != (b.y < height)
    )
    return list(zip(radii[::2], radii[1::2], strict=True))


def _ring_area(rings: list[tuple[float, float]]) -> float:
    """Over pi."""
    return sum(b * b - a * a for a, b in rings)


def _walls(profile: Path, pull: int) -> tuple[list[tuple[Point, bool]], list[tuple[Point, bool]]]:
    """Ends of the steps of the outside and of the bore on one side of z = 0, and whether each is its step's head.

    Which way an anticlockwise edge runs tells the walls apart: up is outside.
    """
    outside: list[tuple[Point, bool]] = []
    bore: list[tuple[Point, bool]] = []
    for a, b in _steps(profile):
        middle = 0.5 * pull * (a.y + b.y)
        if middle > 0.0:
            continue  # on the other side of the parting
        ends = [(p, pull * p.y > middle) for p in (a, b) if pull * p.y <= TOUCH_MM]
        if b.y > a.y + 1e-9:
            outside += ends
        elif b.y < a.y - 1e-9 and max(a.x, b.x) > 1e-9:
            bore += ends
    return outside, bore


def _steps(profile: Path) -> Iterator[tuple[Point, Point]]:
    for edge in profile.edges:
        yield from pairwise([*edge.points(SAGITTA_MM), Point(edge.end.x, edge.end.y)])


def bore_side(profile: Path) -> tuple[Vertex, ...]:
    """The wall of the bore from the lower end face to the upper; empty without a bore or without end faces."""
    corners = bore_corners(profile)
    if not corners:
        return ()
    down = [profile.vertices[i] for i in corners]
    bulges = [0.0, *(-v.bulge or 0.0 for v in down[:-1])]  # of the edge that leads up from each corner
    return tuple(Vertex(v.x, v.y, bulge) for v, bulge in zip(reversed(down), reversed(bulges), strict=True))


def bore_corners(profile: Path) -> tuple[int, ...]:
    """Numbers of the bore's corners from the upper end face down to the lower; empty without a bore or end faces."""
    least_r, low, _, high = profile.bounds
    top, bottom = _innermost(profile, high), _innermost(profile, low)
    if least_r <= TOUCH_MM or top is None or bottom is None:
        return ()
    count = len(profile.vertices)
    return tuple((top + i) % count for i in range((bottom - top) % count + 1))


def _innermost(profile: Path, height: float) -> int | None:
    level = [i for i, v in enumerate(profile.vertices) if abs(v.y - height) < TOUCH_MM]
    return min(level, key=lambda i: profile.vertices[i].x) if level else None
