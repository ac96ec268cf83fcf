"""Outline part: a plate with a hole, its readings from one corner."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from moldgen.drawing.dimensions import Linear
from moldgen.drawing.model import Item, line, outline
from moldgen.drawing.sheet import Titled
from moldgen.measuring.drawn import Letters, across, cross, figure, ring, words
from moldgen.shapes import Path, Point, Vertex, rectangle

ADVICE: Final = ("centres", "sketch")


def figures(letters: Letters) -> Sequence[Titled]:
    path = Path((Vertex(0.0, 0.0), Vertex(44.0, 0.0), Vertex(44.0, 14.0), Vertex(28.0, 22.0), Vertex(0.0, 22.0)))
    items: list[Item] = [outline(path), ring(11.0, 11.0, 3.5), *cross(11.0, 11.0, 5.0), words("0, 0", -4.0, -2.6)]
    wanted = [
        Linear("", Point(0.0, 0.0), Point(44.0, 0.0), "below", "overall_length"),
        Linear("", Point(0.0, 0.0), Point(11.0, 11.0), "below", "hole_x"),
        Linear("", Point(0.0, 0.0), Point(11.0, 11.0), "left", "hole_y"),
        Linear("", Point(0.0, 22.0), Point(28.0, 22.0), "above", "straight_edge"),
        Linear("", Point(44.0, 0.0), Point(44.0, 14.0), "right", "low_side"),
    ]
    side: list[Item] = [outline(rectangle(0.0, 0.0, 5.0, 22.0)), line((2.5, -3.0), (2.5, 25.0), "centre")]
    thick = [across(letters, "wanted.thickness", (0.0, 0.0), (5.0, 0.0), "below")]
    return (
        figure("From above, from one corner", items, wanted),
        figure("From the side", side, thick),
    )
