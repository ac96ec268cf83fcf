"""Where a mold parts, and what that asks of the rubber when it is pulled out.

Flash lies where the halves meet, so the parting never crosses a running surface. Parting at an end face keeps the
flash on an edge that a scalpel reaches; what then lies under a narrower mouth is an undercut, and the rubber has to
give way by its strain.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from moldgen.shapes import Path, Point

SAGITTA_MM: Final = 0.002
UNDERCUT_OF_BREAK: Final = 0.15
"""Strain allowed when a part is pulled from an undercut, over the elongation at break: judgement, so that a fresh,
half-cured part is neither torn nor set."""


@dataclass(frozen=True, slots=True)
class Undercut:
    """The largest strain that one half asks of the rubber, and the height where it does."""

    strain: float
    z_mm: float
    on: str
    """"outside" (the ring is squeezed) or "bore" (it is stretched)."""


def level_spans(profile: Path, z_mm: float) -> tuple[float, float]:
    """(least, greatest) radius of the profile's edges that lie level at a height; (0, 0) if none does."""
    radii = [
        r
        for edge in profile.edges
        if edge.start.bulge == 0.0 and abs(edge.start.y - z_mm) < 1e-6 and abs(edge.end.y - z_mm) < 1e-6
        for r in (edge.start.x, edge.end.x)
    ]
    return (min(radii), max(radii)) if radii else (0.0, 0.0)


def undercuts(profile: Path, *, pull: int) -> tuple[Undercut, ...]:
    """Strains that pulling the part asks, up (`pull` = +1) out of the lower half or down out of the upper.

    Outside walls: (r − least radius of the mouth still to pass)/r. Bore walls (made by a core that stays behind):
    (greatest radius still to pass − r)/r. Exact to the profile, sampled at 2 µm.
    """
    outside, bore = _walls(profile)
    found = []
    for name, wall in (("outside", outside), ("bore", bore)):
        worst = Undercut(0.0, 0.0, name)
        passing: float | None = None
        for point in sorted(wall, key=lambda p: -pull * p.y):
            if passing is None:
                passing = point.x
            strain = (point.x - passing if name == "outside" else passing - point.x) / point.x if point.x > 0.0 else 0.0
            if strain > worst.strain:
                worst = Undercut(strain, point.y, name)
            passing = min(passing, point.x) if name == "outside" else max(passing, point.x)
        if worst.strain > 1e-9:
            found.append(worst)
    return tuple(found)


def _walls(profile: Path) -> tuple[list[Point], list[Point]]:
    """Points of the outside and of the bore: which way an anticlockwise edge runs tells them apart (up: outside)."""
    outside: list[Point] = []
    bore: list[Point] = []
    for edge in profile.edges:
        points = [*edge.points(SAGITTA_MM), Point(edge.end.x, edge.end.y)]
        for a, b in zip(points, points[1:], strict=False):
            if b.y > a.y + 1e-9:
                outside += [a, b]
            elif b.y < a.y - 1e-9 and max(a.x, b.x) > 1e-9:
                bore += [a, b]
    return outside, bore
