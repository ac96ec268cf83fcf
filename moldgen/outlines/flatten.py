"""Curves as fine polylines."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final

from moldgen.shapes import Point

FLATNESS_MM: Final = 0.005
"""Farthest that a polyline strays from its curve: a tenth of what a fine printer can follow."""
COARSEST: Final = 4
FINEST: Final = 14
"""Halvings at the least, so that a wave cannot hide between samples, and at most."""


def flattened(curve: Callable[[float], Point], *, flatness_mm: float = FLATNESS_MM) -> tuple[Point, ...]:
    """Points on a curve from parameter 0 to 1, both ends included, dense enough to stay within the flatness."""
    start, end = curve(0.0), curve(1.0)
    return (start, *_between(curve, 0.0, 1.0, start, end, flatness_mm, 0))


def _between(
    curve: Callable[[float], Point], low: float, high: float, start: Point, end: Point, flatness_mm: float, depth: int
) -> Iterator[Point]:
    """Points after the start, up to and with the end."""
    middle = 0.5 * (low + high)
    at_middle = curve(middle)
    if depth >= FINEST or (
        depth >= COARSEST
        and all(
            _distance(p, start, end) <= flatness_mm
            for p in (curve(0.5 * (low + middle)), at_middle, curve(0.5 * (middle + high)))
        )
    ):
        yield end
        return
    yield from _between(curve, low, middle, start, at_middle, flatness_mm, depth + 1)
    yield from _between(curve, middle, high, at_middle, end, flatness_mm, depth + 1)


def _distance(p: Point, start: Point, end: Point) -> float:
    """From a point to a chord."""
    dx, dy = end.x - start.x, end.y - start.y
    length2 = dx * dx + dy * dy
    along = 0.0 if length2 == 0.0 else min(1.0, max(0.0, ((p.x - start.x) * dx + (p.y - start.y) * dy) / length2))
    return math.hypot(p.x - start.x - along * dx, p.y - start.y - along * dy)
