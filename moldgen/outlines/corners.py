"""Outlines from lists of corners, some of them rounded."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from moldgen.errors import require_range
from moldgen.shapes import Path, Point, Vertex

SAME_MM: Final = 1e-9
"""Below this a stretch between two fillets is nothing: they run into each other."""


@dataclass(frozen=True, slots=True)
class Rounded:
    """The path, and for each of its edges the corner it belongs to: a fillet's own, or the one that a side leaves."""

    path: Path
    corners: tuple[int, ...]
    fillets: tuple[bool, ...]


def rounded(points: Sequence[Point], radii_mm: Sequence[float]) -> Rounded:
    """The closed outline through points, with each corner rounded by its radius (0 leaves it sharp).

    A fillet takes r tan(phi/2) of both sides, phi the angle by which the outline turns; its bulge is tan(phi/4).
    Source: plane geometry; bulge as in the open DXF reference. Raises RangeError for a fillet that has no room.
    """
    turns = [_turn(points, i) for i in range(len(points))]
    taken = [tangent_mm(radius, turn) for radius, turn in zip(radii_mm, turns, strict=True)]
    vertices: list[Vertex] = []
    corners: list[int] = []
    fillets: list[bool] = []
    count = len(points)
    for i, point in enumerate(points):
        after = points[(i + 1) % count]
        side = math.dist(point, after)
        here, there = taken[i], taken[(i + 1) % count]
        require_range("fillets' share of a side", (here + there) / side, 0.0, 1.0 + SAME_MM)
        if here > 0.0:
            before = points[i - 1]
            start = _towards(point, before, here)
            vertices.append(Vertex(start.x, start.y, math.tan(turns[i] / 4.0), "edge"))
            corners.append(i)
            fillets.append(True)
        if side - here - there > SAME_MM:
            leave = _towards(point, after, here)
            vertices.append(Vertex(leave.x, leave.y))
            corners.append(i)
            fillets.append(False)
    return Rounded(Path(tuple(vertices)), tuple(corners), tuple(fillets))


def room_mm(points: Sequence[Point], radii_mm: Sequence[float], corner: int) -> float:
    """The largest fillet that one corner takes while its neighbours keep theirs."""
    count = len(points)
    before, after = (corner - 1) % count, (corner + 1) % count
    turn = _turn(points, corner)
    left = min(
        math.dist(points[corner], points[other]) - tangent_mm(radii_mm[other], _turn(points, other))
        for other in (before, after)
    )
    lever = math.tan(abs(turn) / 2.0)
    return max(left, 0.0) / lever if lever > 0.0 else math.inf


def tangent_mm(radius_mm: float, turn_rad: float) -> float:
    """What a fillet takes of each side.

    By hand: a right angle turns by 90 degrees, tan 45 = 1, so a fillet takes its own radius.

    >>> round(tangent_mm(2.0, math.pi / 2), 12)
    2.0
    """
    return radius_mm * math.tan(abs(turn_rad) / 2.0)


def _turn(points: Sequence[Point], i: int) -> float:
    """The signed angle by which an outline turns at a corner, positive to the left, within ±pi."""
    before, here, after = points[i - 1], points[i], points[(i + 1) % len(points)]
    ux, uy, vx, vy = here.x - before.x, here.y - before.y, after.x - here.x, after.y - here.y
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def _towards(start: Point, other: Point, by_mm: float) -> Point:
    share = by_mm / math.dist(start, other)
    return Point(start.x + share * (other.x - start.x), start.y + share * (other.y - start.y))
