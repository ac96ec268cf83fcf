"""Sides of outlines that come near one another, looked for in plain Python.

The geometry library finds them in any drawing, and where they meet. But importing it, and numpy, takes ten times as
long as to see that the few sides of most outlines keep apart, which is all that there is to say of a sound one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from moldgen.shapes import Point

FEW: Final = 500
"""Sides up to which this is the quicker way."""
ALONG: Final = 1e-9
"""A corner nearer than this to a side's line, in mm, may lie on it."""


@dataclass(frozen=True, slots=True)
class Side:
    """A straight stretch of a contour, arcs taken as many."""

    start: Point
    end: Point
    contour: int
    edge: int
    number: int
    following: int
    """Number of the side that goes on from it."""

    def far_from(self, other: Side, by_mm: float) -> bool:
        """Whether they surely keep at least `by_mm` apart, and do not touch where that is zero; False in doubt."""
        if not (self._has_on_one_side(other) or other._has_on_one_side(self)):
            return False
        return by_mm == 0.0 or all(
            side.distance_mm(corner) > by_mm
            for side, corner in ((self, other.start), (self, other.end), (other, self.start), (other, self.end))
        )

    def distance_mm(self, point: Point) -> float:
        """From the point to the nearest of the side."""
        dx, dy = self.end.x - self.start.x, self.end.y - self.start.y
        px, py = point.x - self.start.x, point.y - self.start.y
        share = min(max((px * dx + py * dy) / (dx * dx + dy * dy), 0.0), 1.0)
        return math.hypot(px - share * dx, py - share * dy)

    def _has_on_one_side(self, other: Side) -> bool:
        dx, dy = self.end.x - self.start.x, self.end.y - self.start.y
        near = ALONG * math.hypot(dx, dy)
        first = dx * (other.start.y - self.start.y) - dy * (other.start.x - self.start.x)
        last = dx * (other.end.y - self.start.y) - dy * (other.end.x - self.start.x)
        return (first > near and last > near) or (first < -near and last < -near)


def near_pairs(sides: Iterable[Side], near_mm: float) -> Iterator[tuple[Side, Side]]:
    """Pairs whose boxes come within a distance of each other: a line swept over them from left to right."""
    under: list[Side] = []
    for side in sorted(sides, key=lambda side: min(side.start.x, side.end.x)):
        left = min(side.start.x, side.end.x) - near_mm
        low, high = sorted((side.start.y, side.end.y))
        under = [other for other in under if max(other.start.x, other.end.x) >= left]
        for other in under:
            if min(other.start.y, other.end.y) <= high + near_mm and max(other.start.y, other.end.y) >= low - near_mm:
                yield other, side
        under.append(side)


def encloses(corners: tuple[Point, ...], point: Point) -> bool:
    """Whether a polygon has the point in it, by how often a way out to the right crosses it; none is asked on its rim.

    >>> square = (Point(0.0, 0.0), Point(2.0, 0.0), Point(2.0, 2.0), Point(0.0, 2.0))
    >>> encloses(square, Point(1.0, 1.0)), encloses(square, Point(3.0, 1.0))
    (True, False)
    """
    inside = False
    before = corners[-1]
    for corner in corners:
        if (before.y > point.y) != (corner.y > point.y):
            share = (point.y - before.y) / (corner.y - before.y)
            if before.x + share * (corner.x - before.x) > point.x:
                inside = not inside
        before = corner
    return inside
