"""Arcs of an outline: smooth joints, whole circles, and where a leader may point at an arc."""

from __future__ import annotations

import math
from collections.abc import Iterator

from moldgen.drawing.callouts import Tip, on_circle
from moldgen.drawing.names import SAME_MM
from moldgen.shapes import Edge, Path, Point


def tangent(edge: Edge, *, at_end: bool) -> float:
    if edge.start.bulge == 0.0:
        return math.atan2(edge.end.y - edge.start.y, edge.end.x - edge.start.x)
    arc = edge.arc
    angle = arc.start + (arc.sweep if at_end else 0.0)
    return angle + math.copysign(0.5 * math.pi, arc.sweep)


def is_smooth(before: Edge, after: Edge) -> bool:
    turn = tangent(after, at_end=False) - tangent(before, at_end=True)
    return abs(math.remainder(turn, math.tau)) < math.radians(1.0)


def round_tips(edge: Edge, scale: float, *, lying: int = 0) -> Iterator[Tip]:
    """Places along an arc, to be pointed at from outside and from its centre's side.

    `lying` is +1 or -1 for the upper or lower cut of a turned part, whose axis lies; 0 for a flat one.
    """

    def place(p: Point) -> Point:
        return Point(p.y * scale, lying * p.x * scale) if lying else Point(p.x * scale, p.y * scale)

    centre = place(edge.arc.centre)
    for share in (0.5, 0.25, 0.75):
        at = place(edge.arc.at(share))
        reach = math.hypot(at.x - centre.x, at.y - centre.y)
        angle = math.degrees(math.atan2(at.y - centre.y, at.x - centre.x))
        yield on_circle(centre, reach, angle)
        yield on_circle(centre, reach, angle, inwards=True)


def times(count: int) -> str:
    return f"{count}× " if count > 1 else ""


def round_path(path: Path) -> tuple[Point, float] | None:
    """Centre and radius of an outline that is one circle."""
    if any(edge.start.bulge == 0.0 for edge in path.edges):
        return None
    arcs = [edge.arc for edge in path.edges]
    centre, radius = arcs[0].centre, arcs[0].radius
    same = all(
        math.hypot(a.centre.x - centre.x, a.centre.y - centre.y) < SAME_MM and abs(a.radius - radius) < SAME_MM
        for a in arcs
    )
    return (centre, radius) if same else None
