"""Lays out linear and angular dimensions in the manner of ISO 129-1: filled arrows, text above its line.

Each side of a view has lanes, the first nearest to the outline. A dimension takes the nearest lane outside every
shorter one that it would run into, so extension lines cross no dimension line, and no text meets another. Where the
arrows do not fit between the extension lines they stand outside; where the text does not fit it goes beside.

Offsets and sizes are our choice within the standard's freedom (from memory of it).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from moldgen.drawing.letters import text_width_mm, written
from moldgen.drawing.model import Arrow, Box, Dimension, Stroke, Text, line
from moldgen.shapes import Arc, Point, Vertex

TEXT_MM: Final = 2.5
ARROW_MM: Final = 2.5
ABOVE_MM: Final = 0.8
"""From the dimension line to the text's base."""
FIRST_LANE_MM: Final = 8.0
LANE_MM: Final = 6.5
GAP_MM: Final = 0.8
"""From the feature to the start of its extension line."""
OVERSHOOT_MM: Final = 1.5
BETWEEN_MM: Final = 1.2
"""Least room between what stands in one lane."""

Side = Literal["below", "above", "left", "right"]


@dataclass(frozen=True, slots=True)
class Placing:
    """Where a view's own frame lies on the sheet."""

    scale: float
    x_mm: float = 0.0
    y_mm: float = 0.0

    def point(self, x: float, y: float) -> Point:
        return Point(self.x_mm + self.scale * x, self.y_mm + self.scale * y)


@dataclass(frozen=True, slots=True)
class Linear:
    """A linear dimension that is wanted on one side of a view; its feature points are in the view's own frame."""

    name: str
    start: Point
    end: Point
    side: Side
    wording: str = "<>"

    @property
    def upright(self) -> bool:
        return self.side in ("left", "right")

    @property
    def value(self) -> float:
        return abs(self.end.y - self.start.y if self.upright else self.end.x - self.start.x)

    @property
    def text(self) -> str:
        return self.wording.replace("<>", written(self.value))


def diameter(name: str, at: float, radius: float, side: Side, middle: float = 0.0) -> Linear:
    """A diameter seen from the side: across the axis, which lies at `middle` of the direction that is measured."""
    low, high = middle - radius, middle + radius
    if side in ("left", "right"):
        return Linear(name, Point(at, low), Point(at, high), side, "Ø<>")
    return Linear(name, Point(low, at), Point(high, at), side, "Ø<>")


@dataclass(frozen=True, slots=True)
class _Fit:
    """How a dimension stands along its line: the sheet coordinates of its arrows, its text, and all that it takes."""

    low: float
    high: float
    text_from: float
    text_to: float
    arrows_inside: bool
    takes_from: float
    takes_to: float

    def meets(self, other: _Fit) -> bool:
        return self.takes_from < other.takes_to - 1e-6 and other.takes_from < self.takes_to - 1e-6


def stacked(wanted: Iterable[Linear], *, placing: Placing, outline: Box) -> tuple[Dimension, ...]:
    """The linear dimensions of a view, laid out round its outline (in sheet mm) by the rule of this module."""
    out: list[Dimension] = []
    by_side: dict[Side, list[Linear]] = {}
    for one in wanted:
        by_side.setdefault(one.side, []).append(one)
    for side, group in by_side.items():
        out += _one_side(group, side, placing, outline, [dimension.text.box for dimension in out])
    return tuple(out)


def _one_side(
    group: Sequence[Linear], side: Side, placing: Placing, outline: Box, taken: Sequence[Box]
) -> Iterator[Dimension]:
    """One side's dimensions; `taken` are the texts of other sides, which may reach round the corner."""
    edge, outwards = {
        "below": (outline.y0, -1.0),
        "above": (outline.y1, 1.0),
        "left": (outline.x0, -1.0),
        "right": (outline.x1, 1.0),
    }[side]
    limits = (outline.y0, outline.y1) if side in ("left", "right") else (outline.x0, outline.x1)
    ends = {one: _ends(one, placing) for one in group}
    lanes: list[tuple[int, _Fit]] = []
    for one in sorted(group, key=lambda d: (round(d.value, 6), ends[d])):
        others = [mark for other in group if other is not one for mark in ends[other]]
        fit = _fit(*ends[one], text_width_mm(one.text, height_mm=TEXT_MM), others, limits)
        lane = max((before + 1 for before, there in lanes if there.meets(fit)), default=0)
        while True:
            laid = _laid(one, fit, edge + outwards * (FIRST_LANE_MM + LANE_MM * lane), placing)
            if not any(laid.text.box.meets(box, 0.5) for box in taken):
                break
            lane += 1
        lanes.append((lane, fit))
        yield laid


def _ends(one: Linear, placing: Placing) -> tuple[float, float]:
    a, b = placing.point(*one.start), placing.point(*one.end)
    low, high = sorted((a.y, b.y) if one.upright else (a.x, b.x))
    return low, high


def _fit(low: float, high: float, width: float, marks: Sequence[float], limits: tuple[float, float]) -> _Fit:
    """Where text and arrows go.

    Text keeps off the marks, at which other dimensions' extension lines pass, and rather between the view's limits.
    """
    room = high - low
    inside = room >= 2.0 * ARROW_MM + 1.5
    tail = 0.0 if inside else 2.0 * ARROW_MM
    if room >= width + 2.0 * GAP_MM:
        span = room - width - 2.0 * GAP_MM
        starts = [low + GAP_MM + span * share for share in (0.5, 0.3, 0.7, 0.1, 0.9, 0.0, 1.0)]
        start = min(starts, key=lambda s: _crossed(s, s + width, marks))  # the first of equals: the middle if it can
        margin = 0.0 if inside else BETWEEN_MM
        return _Fit(low, high, start, start + width, inside, low - tail - margin, high + tail + margin)
    beside = ARROW_MM + 0.6
    after, before = high + beside, low - beside - width
    start = min(
        (after, before),
        key=lambda s: 2 * (s < limits[0] or s + width > limits[1]) + _crossed(s, s + width, marks),
    )
    tail = 2.0 * ARROW_MM
    takes = min(low - tail, start) - BETWEEN_MM, max(high + tail, start + width) + BETWEEN_MM
    return _Fit(low, high, start, start + width, False, *takes)


def _crossed(start: float, end: float, marks: Sequence[float]) -> int:
    return sum(start - 0.5 < mark < end + 0.5 for mark in marks)


def _laid(one: Linear, fit: _Fit, across: float, placing: Placing) -> Dimension:
    """`across` is the sheet coordinate of the dimension line: y of a level one, x of an upright one."""

    def place(along: float, off: float) -> Point:
        return Point(off, along) if one.upright else Point(along, off)

    features = sorted((placing.point(*one.start), placing.point(*one.end)), key=lambda p: p.y if one.upright else p.x)
    strokes: list[Stroke] = []
    for feature, along in zip(features, (fit.low, fit.high), strict=True):
        off = feature.x if one.upright else feature.y
        way = math.copysign(1.0, across - off)
        strokes.append(line(place(along, off + way * GAP_MM), place(along, across + way * OVERSHOOT_MM), "thin"))
    line_from, line_to = fit.low, fit.high
    if not fit.arrows_inside:
        line_from = min(fit.low - 2.0 * ARROW_MM, fit.text_from if fit.text_to < fit.low else fit.low)
        line_to = max(fit.high + 2.0 * ARROW_MM, fit.text_to if fit.text_from > fit.high else fit.high)
    strokes.append(line(place(line_from, across), place(line_to, across), "thin"))
    turn = 90.0 if one.upright else 0.0
    inward = 0.0 if fit.arrows_inside else 180.0
    arrows = (
        Arrow(place(fit.low, across), turn + 180.0 - inward, ARROW_MM),
        Arrow(place(fit.high, across), turn + inward, ARROW_MM),
    )
    # Read from below and from the right, so above an upright line is to its left.
    base = across - ABOVE_MM if one.upright else across + ABOVE_MM
    middle = 0.5 * (fit.text_from + fit.text_to)
    return Dimension(
        kind="linear",
        name=one.name,
        value=one.value,
        scale=placing.scale,
        points=(*features, place(fit.low, across)),
        along_deg=turn,
        wording=one.wording,
        strokes=tuple(strokes),
        arrows=arrows,
        text=Text(one.text, place(middle, base), TEXT_MM, "middle", turn),
    )


def angular(
    name: str, *, corner: Point, radius_mm: float, from_deg: float, to_deg: float, value_deg: float, scale: float
) -> Dimension:
    """A small angle between two legs on the sheet; the arrows stand outside it, the text beyond the upper one."""
    sweep = math.radians(to_deg - from_deg)
    arc = Arc(corner, radius_mm, math.radians(from_deg), sweep)
    tail = 2.0 * ARROW_MM / radius_mm
    start, end = arc.at(0.0), arc.at(1.0)
    outer = Arc(corner, radius_mm, math.radians(from_deg) - tail, sweep + 2.0 * tail)
    first, last = outer.at(0.0), outer.at(1.0)
    wording = "<>°"
    return Dimension(
        kind="angle",
        name=name,
        value=value_deg,
        scale=scale,
        points=(corner, start, end, arc.at(0.5)),
        along_deg=0.0,
        wording=wording,
        strokes=(
            Stroke((Vertex(first.x, first.y, math.tan(outer.sweep / 4.0)), Vertex(last.x, last.y)), "thin"),
            line((corner.x, corner.y), (start.x + 2.0, start.y), "thin"),
        ),
        arrows=(Arrow(start, from_deg + 90.0, ARROW_MM), Arrow(end, to_deg - 90.0, ARROW_MM)),
        text=Text(wording.replace("<>", written(value_deg)), Point(last.x + 1.0, last.y + 0.3), TEXT_MM),
    )
