"""What a cut face is filled with, by material: patterns of our own in the manner of ISO 128-3.

Neighbouring printed bodies differ in direction, rubber is crossed, metal has pairs of lines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from moldgen.drawing.model import Area, Material
from moldgen.shapes import Point

HATCH_WIDTH_MM: Final = 0.13


@dataclass(frozen=True, slots=True)
class Ruling:
    """Parallel lines: their direction, the pitch between them, and how far the first is from the sheet's corner."""

    angle_deg: float
    pitch_mm: float
    shift_mm: float = 0.0


RULINGS: Final[dict[Material, tuple[Ruling, ...]]] = {
    "rubber": (Ruling(45.0, 1.5), Ruling(135.0, 1.5)),
    "lower": (Ruling(45.0, 2.4),),
    "upper": (Ruling(135.0, 2.4),),
    "core": (Ruling(60.0, 1.6),),
    "metal": (Ruling(45.0, 3.0), Ruling(45.0, 3.0, 0.7)),
    "jig": (Ruling(120.0, 3.2),),
}


def hatch_lines(area: Area) -> Iterator[tuple[Point, Point]]:
    """The pattern's lines inside an area; they run on from one piece of a body to the next."""
    polygons = [path.points(0.02) for path in area.paths]
    for ruling in RULINGS[area.material]:
        yield from _ruled(polygons, ruling)


def _ruled(polygons: Sequence[Sequence[Point]], ruling: Ruling) -> Iterator[tuple[Point, Point]]:
    c, s = math.cos(math.radians(ruling.angle_deg)), math.sin(math.radians(ruling.angle_deg))
    # Seen along the lines: u runs along them, v across.
    turned = [[(c * p.x + s * p.y, -s * p.x + c * p.y) for p in polygon] for polygon in polygons]
    across = [v for polygon in turned for _, v in polygon]
    first = math.ceil((min(across) - ruling.shift_mm) / ruling.pitch_mm)
    last = math.floor((max(across) - ruling.shift_mm) / ruling.pitch_mm)
    for nth in range(first, last + 1):
        v = nth * ruling.pitch_mm + ruling.shift_mm
        cuts = sorted(
            u0 + (v - v0) * (u1 - u0) / (v1 - v0)
            for polygon in turned
            for (u0, v0), (u1, v1) in pairwise([*polygon, polygon[0]])
            if (v0 > v) != (v1 > v)
        )
        for start, end in zip(cuts[::2], cuts[1::2], strict=True):
            if end - start > 0.05:
                yield Point(c * start - s * v, s * start + c * v), Point(c * end - s * v, s * end + c * v)
