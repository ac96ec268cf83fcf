"""Belts too long to lie as a ring: a comb of hairpins, all lines and arcs, so that its length is a closed form.

The comb's fingers point to +x, one above the other. Anticlockwise: out along the lowest leg, round a half circle and
back, round a valley, a half circle of the other sense, into the next finger, and so on; from the last leg a quarter
circle down to the way back, which runs straight past all valleys, and another quarter circle into the first leg.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from moldgen.errors import require_range
from moldgen.shapes import Edge, Path, Point, Vertex

LEAST_BEND_PER_HEIGHT: Final = 3.0
"""Smallest bend of the middle line over the belt's height: there its skins are strained by 1/6 once it is drawn
straight, no more than on a pulley of five times its height. Judgement."""
LEAST_WEB_MM: Final = 3.0
"""Plastic left between two strands: enough lines to seal, and stiff enough to be printed as deep as a belt is wide."""
LEAST_LEG_MM: Final = 1.0
"""A hairpin keeps a straight stretch, so that no edge of its outline vanishes."""
QUARTER: Final = math.tan(math.pi / 8.0)
"""Bulge of a quarter circle."""


@dataclass(frozen=True, slots=True)
class Comb:
    """A closed line of hairpins."""

    hairpins: int
    radius_mm: float
    """Of every bend, at the middle of the belt."""
    leg_mm: float
    """Straight stretch of a leg, from the middle of a valley's arc to that of a finger's."""
    home_mm: float
    """From a valley's lowest place to the way back; 0 for a single hairpin, which needs none."""

    @property
    def length_mm(self) -> float:
        """Of the middle line: 2 n legs, 2 n - 1 half circles and two quarters, the way back, and the way to it.

        L = 2 n l + 2 n π r + 4 (n - 1) r + 2 d.

        By hand, two hairpins of r = 10, l = 50, d = 6: 200 + 40 π + 40 + 12 = 377.66

        >>> round(Comb(hairpins=2, radius_mm=10.0, leg_mm=50.0, home_mm=6.0).length_mm, 2)
        377.66
        """
        n = self.hairpins
        return 2.0 * n * self.leg_mm + _per_radius(n) * self.radius_mm + 2.0 * self.home_mm

    @property
    def size_mm(self) -> tuple[float, float]:
        """Along the fingers and across them, between the outermost middle lines."""
        return (
            self.leg_mm + 2.0 * self.radius_mm + self.home_mm,
            2.0 * (2 * self.hairpins - 1) * self.radius_mm,
        )

    @property
    def line(self) -> Path:
        """The middle line, anticlockwise, its box about the origin."""
        n, r, leg, home = self.hairpins, self.radius_mm, self.leg_mm, self.home_mm
        corners = []
        for i in range(n):
            y = 4.0 * i * r
            corners.append(Vertex(0.0 if i else -home, y))
            corners.append(Vertex(leg, y, 1.0))
            corners.append(Vertex(leg, y + 2.0 * r))
            if i < n - 1:
                corners.append(Vertex(0.0, y + 2.0 * r, -1.0))
        last = 2.0 * (2 * n - 1) * r
        if n == 1:
            corners.append(Vertex(0.0, last, 1.0))
        else:
            corners.append(Vertex(-home, last, QUARTER))
            corners.append(Vertex(-home - r, last - r))
            corners.append(Vertex(-home - r, r, QUARTER))
        return Path(tuple(corners)).moved(0.5 * (home - leg), -0.5 * last)

    @property
    def hull(self) -> Path:
        """The convex line about it: a rectangle with round corners; of a single hairpin, itself."""
        if self.hairpins == 1:
            return self.line
        (x0, y0, x1, y1), r = self.line.bounds, self.radius_mm
        corners = (
            (x0 + r, y0),
            (x1 - r, y0),
            (x1, y0 + r),
            (x1, y1 - r),
            (x1 - r, y1),
            (x0 + r, y1),
            (x0, y1 - r),
            (x0, y0 + r),
        )
        return Path(tuple(Vertex(x, y, QUARTER if i % 2 else 0.0) for i, (x, y) in enumerate(corners)))

    @property
    def vents_mm(self) -> tuple[float, ...]:
        """How far along the line each finger's tip lies: its highest places once its fingers are raised."""
        return tuple(self._to_tip + i * self._finger for i in range(self.hairpins))

    @property
    def gates_mm(self) -> tuple[float, ...]:
        """How far along the line each valley's floor lies, and a place on the way back, which is a valley too.

        On the way back that is below the middle finger, so that it stands clear of the valleys' own gates.
        """
        n, r = self.hairpins, self.radius_mm
        valleys = [self._to_tip + (i + 0.5) * self._finger for i in range(n - 1)]
        if n == 1:
            return (self.length_mm - 0.5 * math.pi * r,)
        below_finger = 4.0 * (n // 2) * r  # from the first finger's middle, where the way back ends
        return (*valleys, self.length_mm - 0.5 * math.pi * r - below_finger)

    @property
    def _to_tip(self) -> float:
        return self.home_mm + self.leg_mm + 0.5 * math.pi * self.radius_mm

    @property
    def _finger(self) -> float:
        """From one tip to the next."""
        return 2.0 * self.leg_mm + 2.0 * math.pi * self.radius_mm


def _per_radius(hairpins: int) -> float:
    return 2.0 * math.pi * hairpins + 4.0 * (hairpins - 1)


def comb(*, length_mm: float, height_mm: float, room_mm: tuple[float, float]) -> Comb | None:
    """The comb of a length with the widest bends that a room holds, or None.

    `room_mm` is along the fingers and across; the belt's height, `height_mm`, lies in the plane. Fewer hairpins leave
    wider bends, so the first number that fits is best, and for it the widest bend is also the shortest comb. A room
    hardly deeper than its bends leaves lengths out between one number of hairpins and the next.
    """
    require_range("length_mm", length_mm, 1.0, 100_000.0)
    require_range("height_mm", height_mm, 0.1, 100.0)
    for hairpins in range(1, _most_hairpins(height_mm, room_mm) + 1):
        home = _home(hairpins, height_mm)
        bends = length_mm - 2.0 * home - 2.0 * hairpins * LEAST_LEG_MM
        radius = min(bends / _per_radius(hairpins), _widest(hairpins, height_mm, room_mm))
        leg = (length_mm - 2.0 * home - _per_radius(hairpins) * radius) / (2.0 * hairpins)
        found = Comb(hairpins, radius, leg, home)
        if radius >= least_bend_mm(height_mm) and found.size_mm[0] + height_mm <= room_mm[0]:
            return found
    return None


def longest(*, height_mm: float, room_mm: tuple[float, float]) -> Comb | None:
    """The longest comb that a room holds, or None where it holds none.

    Of n hairpins, the widest bend makes the longest comb too: at a given size along the fingers, dL/dr =
    2 n π - 4 > 0.
    """
    best = None
    for hairpins in range(1, _most_hairpins(height_mm, room_mm) + 1):
        home = _home(hairpins, height_mm)
        along = room_mm[0] - height_mm - home
        radius = min(_widest(hairpins, height_mm, room_mm), 0.5 * (along - LEAST_LEG_MM))
        found = Comb(hairpins, radius, along - 2.0 * radius, home)
        if radius >= least_bend_mm(height_mm) and (best is None or found.length_mm > best.length_mm):
            best = found
    return best


def least_bend_mm(height_mm: float) -> float:
    """The smallest bend of the middle line: what the rubber bears, and the web between two legs."""
    return max(LEAST_BEND_PER_HEIGHT * height_mm, 0.5 * (height_mm + LEAST_WEB_MM))


def _home(hairpins: int, height_mm: float) -> float:
    return 0.0 if hairpins == 1 else height_mm + LEAST_WEB_MM


def _widest(hairpins: int, height_mm: float, room_mm: tuple[float, float]) -> float:
    """The widest bend that goes across the room."""
    return (room_mm[1] - height_mm) / (2.0 * (2 * hairpins - 1))


def _most_hairpins(height_mm: float, room_mm: tuple[float, float]) -> int:
    across = (room_mm[1] - height_mm) / (2.0 * least_bend_mm(height_mm))
    return max(0, math.floor(0.5 * (across + 1.0) + 1e-9))


def place_on(line: Path, along_mm: float, outward_mm: float = 0.0) -> Point:
    """The place on a closed line so far along from its first corner, or so far out to the right of it."""
    left = along_mm % line.length
    for edge in line.edges:
        if left <= edge.length:
            return _place_on(edge, left / edge.length, outward_mm)
        left -= edge.length
    return _place_on(line.edges[0], 0.0, outward_mm)


def _place_on(edge: Edge, fraction: float, outward_mm: float) -> Point:
    if edge.start.bulge != 0.0:
        arc = edge.arc
        return replace(arc, radius=arc.radius + math.copysign(outward_mm, outward_mm * arc.sweep)).at(fraction)
    x, y, way = edge.start.x, edge.start.y, edge.heading
    return Point(
        x + fraction * (edge.end.x - x) + outward_mm * way.y, y + fraction * (edge.end.y - y) - outward_mm * way.x
    )
