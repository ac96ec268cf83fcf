"""What a drawing is made of, in millimetres of the sheet, y upwards from the lower left corner.

Line kinds and widths follow ISO 128-2 (line group 0.5: wide 0.5 mm, narrow 0.25 mm; from memory of the standard).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal, NamedTuple, TypeAlias

from moldgen.drawing.letters import text_width_mm
from moldgen.shapes import Edge, Path, Point, Vertex

LineKind = Literal["outline", "thin", "hidden", "centre", "cutting", "running", "phantom"]
"""Visible outline, thin line (dimensions, leaders, limits of a cut-out), hidden edge, centre line, cutting plane, mark
of a surface that runs, neighbouring part: the line types 01.2, 01.1, 02.1, 04.1, 04.1, 04.2 and 05.1 of ISO 128-2."""
Material = Literal["rubber", "lower", "upper", "core", "metal", "jig"]

WIDE_MM: Final = 0.5
NARROW_MM: Final = 0.25
WIDTH_MM: Final[dict[LineKind, float]] = {
    "outline": WIDE_MM,
    "thin": NARROW_MM,
    "hidden": NARROW_MM,
    "centre": NARROW_MM,
    "cutting": NARROW_MM,
    "running": WIDE_MM,
    "phantom": NARROW_MM,
}
BEYOND_MM: Final = 3.0
"""How far a centre line runs beyond the outline."""
DASHES_MM: Final[dict[LineKind, tuple[float, ...]]] = {
    # Dash 12 d, long dash 24 d, gap 3 d, dot under 0.5 d, d the line's width; those of 04.2 halved for short marks.
    "hidden": (3.0, 0.75),
    "centre": (6.0, 0.75, 0.125, 0.75),
    "cutting": (6.0, 0.75, 0.125, 0.75),
    "running": (3.0, 0.75, 0.25, 0.75),
    "phantom": (6.0, 0.75, 0.125, 0.75, 0.125, 0.75),
}


class Box(NamedTuple):
    """An upright rectangle."""

    x0: float
    y0: float
    x1: float
    y1: float

    def meets(self, other: Box, gap_mm: float = 0.0) -> bool:
        """Whether less than a gap lies between two boxes; a touch with no gap does not count."""
        return (
            self.x0 < other.x1 + gap_mm
            and other.x0 < self.x1 + gap_mm
            and self.y0 < other.y1 + gap_mm
            and other.y0 < self.y1 + gap_mm
        )

    def grown(self, by_mm: float) -> Box:
        return Box(self.x0 - by_mm, self.y0 - by_mm, self.x1 + by_mm, self.y1 + by_mm)


def box_round(points: Iterator[Point] | tuple[Point, ...]) -> Box:
    """The least box that holds all points."""
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True, slots=True)
class Stroke:
    """One drawn line: straight, bent or round, open or closed; bulges as in `shapes.Vertex`."""

    vertices: tuple[Vertex, ...]
    kind: LineKind
    closed: bool = False

    @property
    def edges(self) -> tuple[Edge, ...]:
        ends = (*self.vertices[1:], self.vertices[0]) if self.closed else self.vertices[1:]
        return tuple(Edge(a, b) for a, b in zip(self.vertices, ends, strict=False))

    def moved(self, dx: float, dy: float) -> Stroke:
        return replace(self, vertices=tuple(replace(v, x=v.x + dx, y=v.y + dy) for v in self.vertices))

    def extent(self) -> Iterator[Point]:
        for edge in self.edges:
            yield from edge.points(0.05)
            yield Point(edge.end.x, edge.end.y)


def line(start: tuple[float, float], end: tuple[float, float], kind: LineKind) -> Stroke:
    return Stroke((Vertex(*start), Vertex(*end)), kind)


def outline(path: Path, kind: LineKind = "outline") -> Stroke:
    """A closed path as a line."""
    return Stroke(path.vertices, kind, closed=True)


@dataclass(frozen=True, slots=True)
class Arrow:
    """A filled arrow head, 15° wide (ISO 129-1), its tip pointing along `angle_deg`."""

    tip: Point
    angle_deg: float
    length_mm: float = 2.5

    @property
    def corners(self) -> tuple[Point, Point, Point]:
        back = math.radians(self.angle_deg + 180.0)
        half = math.radians(7.5)
        reach = self.length_mm / math.cos(half)
        left, right = (
            Point(self.tip.x + reach * math.cos(back + turn), self.tip.y + reach * math.sin(back + turn))
            for turn in (half, -half)
        )
        return self.tip, left, right

    def moved(self, dx: float, dy: float) -> Arrow:
        return replace(self, tip=Point(self.tip.x + dx, self.tip.y + dy))

    def extent(self) -> Iterator[Point]:
        yield from self.corners


@dataclass(frozen=True, slots=True)
class Dot:
    """The end of a leader that lies on an area."""

    at: Point
    radius_mm: float = 0.5

    def moved(self, dx: float, dy: float) -> Dot:
        return replace(self, at=Point(self.at.x + dx, self.at.y + dy))

    def extent(self) -> Iterator[Point]:
        yield self.at


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text on its base line; `height_mm` is that of capitals and figures."""

    text: str
    at: Point
    height_mm: float
    anchor: Literal["start", "middle", "end"] = "start"
    angle_deg: float = 0.0
    bold: bool = False

    @property
    def box(self) -> Box:
        """The room that it takes, tails included, by an estimate of its width."""
        width = text_width_mm(self.text, height_mm=self.height_mm, bold=self.bold)
        left = {"start": 0.0, "middle": -0.5 * width, "end": -width}[self.anchor]
        low, high = -0.25 * self.height_mm, 1.05 * self.height_mm
        c, s = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        corners = ((left, low), (left + width, low), (left + width, high), (left, high))
        return box_round(tuple(Point(self.at.x + c * x - s * y, self.at.y + s * x + c * y) for x, y in corners))

    def moved(self, dx: float, dy: float) -> Text:
        return replace(self, at=Point(self.at.x + dx, self.at.y + dy))

    def extent(self) -> Iterator[Point]:
        box = self.box
        yield Point(box.x0, box.y0)
        yield Point(box.x1, box.y1)


@dataclass(frozen=True, slots=True)
class Area:
    """A cut face, hatched by material; its outline is drawn apart."""

    rim: Path
    holes: tuple[Path, ...]
    material: Material

    @property
    def paths(self) -> tuple[Path, ...]:
        return (self.rim, *self.holes)

    def moved(self, dx: float, dy: float) -> Area:
        return replace(self, rim=self.rim.moved(dx, dy), holes=tuple(hole.moved(dx, dy) for hole in self.holes))

    def extent(self) -> Iterator[Point]:
        yield from self.rim.points(0.05)


DimensionKind = Literal["linear", "radius", "diameter", "angle"]


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension, laid out: what it measures, and the lines, arrows and text that show it.

    `points` are on the sheet: linear, both feature points and a point of the dimension line; radius, the centre and
    the arrow's tip; diameter, two opposite points; angle, the corner, a point of each leg and one of the arc.
    """

    kind: DimensionKind
    name: str
    """What it is in the sizing or the plan, for example `free.outer_diameter_mm`; empty for a plain reading."""
    value: float
    """In millimetres or degrees of the real thing."""
    scale: float
    """Sheet over real, in its view."""
    points: tuple[Point, ...]
    along_deg: float
    """Direction in which a linear dimension measures."""
    wording: str
    """Its text with `<>` for the number."""
    strokes: tuple[Stroke, ...]
    arrows: tuple[Arrow, ...]
    text: Text

    def moved(self, dx: float, dy: float) -> Dimension:
        return replace(
            self,
            points=tuple(Point(p.x + dx, p.y + dy) for p in self.points),
            strokes=tuple(stroke.moved(dx, dy) for stroke in self.strokes),
            arrows=tuple(arrow.moved(dx, dy) for arrow in self.arrows),
            text=self.text.moved(dx, dy),
        )

    def extent(self) -> Iterator[Point]:
        pieces: tuple[Stroke | Arrow | Text, ...] = (*self.strokes, *self.arrows, self.text)
        for piece in pieces:
            yield from piece.extent()


@dataclass(frozen=True, slots=True)
class Leader:
    """A remark that points at something, or the number of an item in its ring."""

    strokes: tuple[Stroke, ...]
    end: Arrow | Dot
    text: Text

    def moved(self, dx: float, dy: float) -> Leader:
        return Leader(
            tuple(stroke.moved(dx, dy) for stroke in self.strokes), self.end.moved(dx, dy), self.text.moved(dx, dy)
        )

    def extent(self) -> Iterator[Point]:
        pieces: tuple[Stroke | Arrow | Dot | Text, ...] = (*self.strokes, self.end, self.text)
        for piece in pieces:
            yield from piece.extent()


Item: TypeAlias = Area | Stroke | Arrow | Dot | Text | Dimension | Leader


@dataclass(frozen=True)
class View:
    """One view of the drawing, at its own scale; without slots, so that its box is reckoned once."""

    name: str
    scale: float
    items: tuple[Item, ...]

    @cached_property
    def box(self) -> Box:
        return box_round(tuple(point for item in self.items for point in item.extent()))

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        return tuple(item for item in self.items if isinstance(item, Dimension))

    def moved(self, dx: float, dy: float) -> View:
        return replace(self, items=tuple(item.moved(dx, dy) for item in self.items))


@dataclass(frozen=True, slots=True)
class Drawing:
    """A sheet with its views; `scale` is that of the main view, stated in the title block."""

    name: str
    title: str
    scale: float
    width_mm: float
    height_mm: float
    views: tuple[View, ...]

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        return tuple(dimension for view in self.views for dimension in view.dimensions)

    @property
    def texts(self) -> tuple[Text, ...]:
        """Every text, those of dimensions and leaders included."""
        return tuple(text for view in self.views for item in view.items for text in texts_of(item))


def texts_of(item: Item) -> tuple[Text, ...]:
    if isinstance(item, Text):
        return (item,)
    return (item.text,) if isinstance(item, Dimension | Leader) else ()


def overlapping_texts(drawing: Drawing) -> tuple[tuple[str, str], ...]:
    """Pairs of texts that run into each other, and texts that leave the sheet (paired with an empty one)."""
    texts = drawing.texts
    boxes = [text.box for text in texts]
    found = [(texts[i].text, texts[j].text) for i in range(len(texts)) for j in range(i) if boxes[i].meets(boxes[j])]
    sheet = Box(0.0, 0.0, drawing.width_mm, drawing.height_mm)
    found += [
        (text.text, "")
        for text, box in zip(texts, boxes, strict=True)
        if box.x0 < sheet.x0 or box.y0 < sheet.y0 or box.x1 > sheet.x1 or box.y1 > sheet.y1
    ]
    return tuple(found)
