"""Leaders: radii, diameters of holes, remarks and item numbers, put where they run into nothing.

Each is tried at several tips, directions and lengths. A place where its text meets another text is never taken if
there is any other; among the rest, few crossed lines and a short leader win.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from moldgen.drawing.dimensions import ABOVE_MM, ARROW_MM, TEXT_MM
from moldgen.drawing.letters import text_width_mm, written
from moldgen.drawing.model import (
    Area,
    Arrow,
    Box,
    Dimension,
    Dot,
    Item,
    Leader,
    Stroke,
    Text,
    box_round,
    line,
    outline,
    texts_of,
)
from moldgen.shapes import Point, circle

LENGTHS_MM: Final = (5.0, 7.0, 9.0, 12.0, 15.0, 19.0, 24.0, 30.0, 38.0, 47.0)
LETTER_LENGTHS_MM: Final = (2.6, 4.0, 6.0, 9.0)
LENGTH_COST: Final = 0.3
TURN_COST: Final = 0.2
"""For each direction after the first."""
LINE_COST: Final = 25.0
"""For each line that runs through the text."""
LETTER_COST: Final = 1.0
"""The same for a single letter, whose rim of paper stops lines."""
ITEM_TEXT_MM: Final = 3.5
ITEM_RING_MM: Final = 3.2


@dataclass(frozen=True, slots=True)
class Tip:
    """A place that a leader may point at, and the directions in which it may leave it."""

    at: Point
    directions_deg: tuple[float, ...]
    centre: Point | None = None
    """Of the circle that it lies on, where a radius or diameter is to be shown."""


@dataclass(frozen=True, slots=True)
class Callout:
    """A leader that is wanted; all places on the sheet. The tips of a radius or diameter lie on circles.

    An `item` is a number in a ring; a `letter` stands by itself close to its tip.
    """

    kind: Literal["radius", "diameter", "note", "item", "letter"]
    tips: tuple[Tip, ...]
    wording: str
    name: str = ""
    value: float = 0.0
    scale: float = 1.0
    dot: bool = False

    @property
    def text(self) -> str:
        return self.wording.replace("<>", written(self.value))


def on_circle(centre: Point, radius_mm: float, angle_deg: float, *, inwards: bool = False) -> Tip:
    """The tip on a circle at an angle; its leader goes straight out or, through the centre, in."""
    turn = math.radians(angle_deg)
    at = Point(centre.x + radius_mm * math.cos(turn), centre.y + radius_mm * math.sin(turn))
    return Tip(at, (angle_deg + 180.0 if inwards else angle_deg,), centre)


def placed(wanted: Iterable[Callout], *, among: Sequence[Item]) -> list[Item]:
    """The callouts as dimensions and leaders, one after the other, each clear of all before it."""
    room = _Room(among)
    out: list[Item] = []
    for one in wanted:
        best = _best(one, room)
        room.add(best)
        out.append(best)
    return out


Laid = Dimension | Leader | Text


def _best(one: Callout, room: _Room) -> Laid:
    """The cheapest way to lay it out; shorter leaders come first, so the search ends when none can be cheaper."""
    found: tuple[float, Laid] | None = None
    for length in LETTER_LENGTHS_MM if one.kind == "letter" else LENGTHS_MM:
        if found is not None and found[0] <= LENGTH_COST * length:
            break
        for tip in one.tips:
            for nth, direction in enumerate(tip.directions_deg):
                laid = _laid(one, tip, direction, length)
                most = math.inf if found is None else found[0]
                cost = room.cost(laid, LENGTH_COST * length + TURN_COST * nth, most)
                if cost < most:
                    found = cost, laid
    assert found is not None, "a callout needs a tip"
    return found[1]


def _laid(one: Callout, tip: Tip, direction_deg: float, length: float) -> Laid:
    turn = math.radians(direction_deg)
    elbow = Point(tip.at.x + length * math.cos(turn), tip.at.y + length * math.sin(turn))
    if one.kind == "letter":
        return Text(one.text, Point(elbow.x, elbow.y - 0.5 * ITEM_TEXT_MM), ITEM_TEXT_MM, "middle")
    if one.kind == "item":
        ring = circle(ITEM_RING_MM, elbow.x, elbow.y)
        near = Point(elbow.x - ITEM_RING_MM * math.cos(turn), elbow.y - ITEM_RING_MM * math.sin(turn))
        text = Text(one.text, Point(elbow.x, elbow.y - 0.5 * ITEM_TEXT_MM), ITEM_TEXT_MM, "middle")
        return Leader((line(tip.at, near, "thin"), outline(ring, "thin")), Dot(tip.at), text)
    rightwards = math.cos(turn) >= -1e-9
    width = text_width_mm(one.text, height_mm=TEXT_MM)
    shelf = Point(elbow.x + (width + 1.0 if rightwards else -width - 1.0), elbow.y)
    text = Text(one.text, Point(0.5 * (elbow.x + shelf.x), elbow.y + ABOVE_MM), TEXT_MM, "middle")
    strokes = (line(tip.at, elbow, "thin"), line(elbow, shelf, "thin"))
    arrow = Arrow(tip.at, direction_deg + 180.0, ARROW_MM)
    if one.kind == "note":
        return Leader(strokes, Dot(tip.at) if one.dot else arrow, text)
    assert tip.centre is not None, "a radius or diameter is shown on a circle"
    opposite = Point(2.0 * tip.centre.x - tip.at.x, 2.0 * tip.centre.y - tip.at.y)
    return Dimension(
        kind=one.kind,
        name=one.name,
        value=one.value,
        scale=one.scale,
        points=(tip.centre if one.kind == "radius" else opposite, tip.at),
        along_deg=0.0,
        wording=one.wording,
        strokes=strokes,
        arrows=(arrow,),
        text=text,
    )


Segment = tuple[Point, Point]


class _Room:
    """What already stands on the sheet, as boxes of text, segments and cut faces."""

    def __init__(self, items: Iterable[Item]) -> None:
        self.texts: list[Box] = []
        self.segments: list[Segment] = []
        self.areas: list[tuple[Box, list[tuple[Point, ...]]]] = []
        self.text_boxes = self.segment_boxes = np.empty((0, 4))
        self.add(*items)

    def add(self, *items: Item) -> None:
        texts = [text.box.grown(0.6) for item in items for text in texts_of(item)]
        segments = [segment for item in items for segment in _segments(item)]
        self.texts += texts
        self.segments += segments
        self.text_boxes = np.concatenate([self.text_boxes, np.array(texts).reshape(-1, 4)])
        around = np.array([_around(segment) for segment in segments]).reshape(-1, 4)
        self.segment_boxes = np.concatenate([self.segment_boxes, around])
        for item in items:
            if isinstance(item, Area):
                paths = [path.points(0.1) for path in item.paths]
                self.areas.append((box_round(paths[0]), paths))

    def cost(self, laid: Laid, cost: float, most: float) -> float:
        """What a layout costs on top of `cost`; given up as soon as it is more than `most`."""
        box, own = _taken(laid)
        mine = [(_around(segment), segment) for segment in own]
        whole = _joint([box, *(around for around, _ in mine)])
        texts = [self.texts[i] for i in _meeting(whole, self.text_boxes)]
        cost += 1000.0 * sum(box.meets(other) for other in texts)
        cost += 200.0 * sum(near.meets(other) and _enters(leader, other) for near, leader in mine for other in texts)
        if cost >= most:
            return cost
        middle = Point(0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1))
        inside = (around.meets(Box(*middle, *middle)) and _inside(middle, paths) for around, paths in self.areas)
        cost += 0.0 if isinstance(laid, Text) else 60.0 * sum(inside)
        for i in _meeting(whole, self.segment_boxes):
            if cost >= most:
                return cost
            segment = self.segments[i]
            around = _around(segment)
            if around.meets(box) and _enters(segment, box):
                cost += LETTER_COST if isinstance(laid, Text) else LINE_COST
            cost += 3.0 * sum(near.meets(around) and _cross(leader, segment) for near, leader in mine)
        return cost


def _joint(boxes: Sequence[Box]) -> Box:
    return Box(
        min(box.x0 for box in boxes),
        min(box.y0 for box in boxes),
        max(box.x1 for box in boxes),
        max(box.y1 for box in boxes),
    )


def _meeting(box: Box, boxes: NDArray[np.float64]) -> list[int]:
    """Which of the boxes (n, 4) one box meets."""
    apart = (boxes[:, 0] >= box.x1) | (boxes[:, 1] >= box.y1) | (boxes[:, 2] <= box.x0) | (boxes[:, 3] <= box.y0)
    found: list[int] = np.flatnonzero(~apart).tolist()
    return found


def _taken(laid: Laid) -> tuple[Box, list[Segment]]:
    """The room of a layout's text, its ring if it has one, and the segments of its leader."""
    if isinstance(laid, Text):
        return laid.box.grown(0.2), []
    strokes = laid.strokes
    if strokes[-1].closed:
        at, reach = laid.text.at, ITEM_RING_MM + 0.5
        middle = at.y + 0.5 * ITEM_TEXT_MM
        return Box(at.x - reach, middle - reach, at.x + reach, middle + reach), _segments(strokes[0])
    return laid.text.box.grown(0.3), [segment for stroke in strokes for segment in _segments(stroke)]


def _around(segment: Segment) -> Box:
    (x0, y0), (x1, y1) = segment
    return Box(
        (x0 if x0 < x1 else x1) - 1e-6,
        (y0 if y0 < y1 else y1) - 1e-6,
        (x1 if x0 < x1 else x0) + 1e-6,
        (y1 if y0 < y1 else y0) + 1e-6,
    )


def _segments(item: Item) -> list[Segment]:
    if isinstance(item, Stroke):
        out: list[Segment] = []
        for edge in item.edges:
            points = [*edge.points(0.2), Point(edge.end.x, edge.end.y)]
            out += pairwise(points)
        return out
    if isinstance(item, Dimension | Leader):
        return [segment for stroke in item.strokes for segment in _segments(stroke)]
    return []


def _enters(segment: Segment, box: Box) -> bool:
    """Whether a segment runs through a box: what is left of it between the box's sides (Liang and Barsky's clip)."""
    (x0, y0), (x1, y1) = segment
    low, high = 0.0, 1.0
    for start, step, least, most in ((x0, x1 - x0, box.x0, box.x1), (y0, y1 - y0, box.y0, box.y1)):
        if abs(step) < 1e-12:
            if not least < start < most:
                return False
            continue
        first, second = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, first), min(high, second)
        if low >= high:
            return False
    return True


def _cross(a: Segment, b: Segment) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x)

    return side(*a, b[0]) * side(*a, b[1]) < -1e-12 and side(*b, a[0]) * side(*b, a[1]) < -1e-12


def _inside(point: Point, paths: Sequence[Sequence[Point]]) -> bool:
    """Whether an area's paths enclose a point (an odd number of crossings to its right)."""
    odd = False
    for path in paths:
        for a, b in zip(path, (*path[1:], path[0]), strict=True):
            if (a.y > point.y) != (b.y > point.y) and point.x < a.x + (point.y - a.y) * (b.x - a.x) / (b.y - a.y):
                odd = not odd
    return odd
