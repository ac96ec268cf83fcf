"""What the figures of measuring sheets are drawn with: metal, calipers, wires, and dimensions that carry a letter."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Literal, TypeAlias

from moldgen.drawing.dimensions import Linear, Placing, Side, stacked
from moldgen.drawing.model import Area, Arrow, Item, LineKind, Stroke, Text, View, box_round, line, outline
from moldgen.drawing.sheet import Titled
from moldgen.shapes import Path, Point, Vertex, circle, rectangle

Letters: TypeAlias = Callable[[str], str]
"""From a field, as in `measured.hub_diameter`, to its letter."""
Figures: TypeAlias = Callable[[Letters], Sequence[Titled]]

WORDS_MM = 2.2


def figure(title: str, items: Sequence[Item], wanted: Sequence[Linear] = ()) -> Titled:
    """A view with its title; its dimensions stand outside all that is drawn."""
    box = box_round(tuple(point for item in items for point in item.extent()))
    return View(title, 1.0, (*items, *stacked(wanted, placing=Placing(1.0), outline=box))), title


def across(
    letters: Letters,
    field: str,
    start: tuple[float, float],
    end: tuple[float, float],
    side: Side,
    *,
    of_letter: str = "<>",
) -> Linear:
    """A dimension line that carries its field's letter; `<> / 2` where only half of it is drawn."""
    return Linear(field, Point(*start), Point(*end), side, of_letter.replace("<>", letters(field)))


def metal(x0: float, y0: float, x1: float, y1: float) -> tuple[Item, ...]:
    """A cut piece of metal."""
    path = rectangle(x0, y0, x1, y1)
    return Area(path, (), "metal"), outline(path)


def rubber(*paths: Path) -> tuple[Item, ...]:
    """The part that is gone, as it was."""
    return tuple(outline(path, "phantom") for path in paths)


def ring(x: float, y: float, radius: float, kind: LineKind = "outline") -> Stroke:
    return outline(circle(radius, x, y), kind)


def cross(x: float, y: float, reach: float) -> tuple[Stroke, Stroke]:
    """Centre lines."""
    return line((x - reach, y), (x + reach, y), "centre"), line((x, y - reach), (x, y + reach), "centre")


def words(text: str, x: float, y: float, anchor: Literal["start", "middle", "end"] = "middle") -> Text:
    return Text(text, Point(x, y), WORDS_MM, anchor)


def pointing(text: str, at: tuple[float, float], to: tuple[float, float]) -> tuple[Item, ...]:
    """Words with an arrow from them to what they are about."""
    angle = math.degrees(math.atan2(to[1] - at[1], to[0] - at[0]))
    leftwards = to[0] < at[0]
    where = (at[0] + 1.0, at[1] - 0.8) if leftwards else (at[0] - 1.0, at[1] - 0.8)
    return line(at, to, "thin"), Arrow(Point(*to), angle), words(text, *where, "start" if leftwards else "end")


def lettered_line(
    letter: str, start: tuple[float, float], end: tuple[float, float], off: float = 1.2
) -> Iterator[Item]:
    """A slanting or inner dimension line with a letter at its middle."""
    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    yield line(start, end, "thin")
    yield Arrow(Point(*start), angle + 180.0)
    yield Arrow(Point(*end), angle)
    x, y = 0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1])
    turned = math.radians(angle + 90.0)
    yield Text(letter, Point(x + off * math.cos(turned), y + off * math.sin(turned)), 2.5, "middle", bold=True)


def caliper(x0: float, x1: float, y: float, *, inside: bool = False, reach: float = 16.0) -> tuple[Item, ...]:
    """A caliper from above, its jaws at x0 and x1, their tips at y, measuring outside or in between."""
    beam, jaw, tip = y + reach, 4.0, 1.2
    out = -1.0 if inside else 1.0

    def one(x: float, way: float) -> Path:
        """A jaw whose measuring edge is at x; its metal lies on the side `way`."""
        corners = ((x, y), (x, beam), (x + way * jaw, beam), (x + way * jaw, y + 6.0), (x + way * tip, y))
        path = Path(tuple(Vertex(*corner) for corner in corners))
        return path if way < 0.0 else path.reversed()

    low, high = (x0, x1) if inside else (x0 - jaw, x1 + jaw)
    return (
        outline(one(x0, -out), "thin"),
        outline(one(x1, out), "thin"),
        outline(rectangle(low, beam, high + 14.0, beam + 4.0), "thin"),
        *(line((x, beam), (x, beam + 1.6), "thin") for x in _steps(low + 2.0, high + 13.0)),
    )


def _steps(first: float, last: float) -> Iterator[float]:
    return (first + 2.0 * i for i in range(int((last - first) / 2.0) + 1))
