"""Turned part: half a section with its corners numbered, as the profile is typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from moldgen.drawing.dimensions import Linear
from moldgen.drawing.model import Area, Item, line, outline
from moldgen.drawing.sheet import Titled
from moldgen.measuring.drawn import Letters, figure, words
from moldgen.shapes import Path, Point, Vertex

ADVICE: Final = ("sketch",)
CORNERS: Final = ((4.0, 0.0), (20.0, 0.0), (20.0, 8.0), (13.0, 8.0), (13.0, 20.0), (4.0, 20.0))


def figures(letters: Letters) -> Sequence[Titled]:
    path = Path(tuple(Vertex(*corner) for corner in CORNERS))
    items: list[Item] = [Area(path, (), "rubber"), outline(path), line((0.0, -4.0), (0.0, 24.0), "centre")]
    items += [
        words(str(i + 1), x + (1.8 if x > 10.0 else -1.8), y + (1.0 if y > 0.0 else -2.4))
        for i, (x, y) in enumerate(CORNERS)
    ]
    items.append(words("axis", 0.0, 25.5))
    wanted = [
        Linear("", Point(0.0, 0.0), Point(20.0, 0.0), "below", "base / 2"),
        Linear("", Point(0.0, 0.0), Point(4.0, 0.0), "below", "hole / 2"),
        Linear("", Point(0.0, 20.0), Point(13.0, 20.0), "above", "neck / 2"),
        Linear("", Point(20.0, 0.0), Point(20.0, 8.0), "right", "base_height"),
        Linear("", Point(13.0, 0.0), Point(13.0, 20.0), "right", "height"),
    ]
    return (figure("Half of the section, corners numbered", items, wanted),)
