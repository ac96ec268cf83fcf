"""Belt: two pulleys with their axles, the three kinds of groove, and the section that it leaves in one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from moldgen.drawing.model import Area, Arrow, Item, line, outline
from moldgen.drawing.sheet import Titled
from moldgen.measuring.drawn import Letters, across, cross, figure, pointing, ring, words
from moldgen.shapes import Path, Point, Vertex

ADVICE: Final = ("centres", "groove_floor", "traces")
PULLEY: Final = "measured.pulleys"


def figures(letters: Letters) -> Sequence[Titled]:
    return _from_the_front(letters), _vee(letters), _square(letters), _round(letters)


def _from_the_front(letters: Letters) -> Titled:
    """Both pulleys with the belt's path; the senses of turning and the axes of the places."""
    x, small, large = 62.0, 7.0, 19.0
    items: list[Item] = [ring(0.0, 0.0, small), ring(x, 0.0, large), *cross(0.0, 0.0, 4.0), *cross(x, 0.0, 4.0)]
    lean = math.acos((small - large) / x)
    for way in (1.0, -1.0):
        c, s = math.cos(lean), way * math.sin(lean)
        items.append(line((small * c, small * s), (x + large * c, large * s), "phantom"))
    items += [words("first pulley: center [0, 0]", 0.0, -15.0), words("y", 13.6, 22.0, "start")]
    items += [words("second: [x, 0]", x, 9.0), words("x", 22.0, 14.8, "start")]
    items += [line((12.0, 15.0), (20.0, 15.0), "thin"), Arrow(Point(21.0, 15.0), 0.0)]
    items += [line((12.0, 15.0), (12.0, 22.0), "thin"), Arrow(Point(12.0, 23.0), 90.0)]
    items.append(line((4.5, 0.0), (x - 4.5, 0.0), "centre"))
    wanted = [
        across(letters, f"{PULLEY}.center", (0.0, -small), (x, -large), "below"),
        across(letters, f"{PULLEY}.groove_diameter", (-small, small), (-small, -small), "left"),
        across(letters, f"{PULLEY}.groove_diameter", (x + large, large), (x + large, -large), "right"),
    ]
    return figure("From the front", items, wanted)


def _grooved(corners: Sequence[tuple[float, float] | tuple[float, float, float]]) -> list[Item]:
    """The rim of a pulley cut through its groove, given by the groove's corners from left to right; axle below."""
    edge = 11.0
    path = Path(
        (
            Vertex(-edge, -12.0),
            Vertex(edge, -12.0),
            Vertex(edge, 6.0),
            *(Vertex(*corner) for corner in reversed(corners)),
            Vertex(-edge, 6.0),
        )
    )
    return [Area(path, (), "metal"), outline(path), line((-14.0, -17.0), (14.0, -17.0), "centre")]


def _vee(letters: Letters) -> Titled:
    items = _grooved([(-6.0, 6.0), (-2.0, -5.0), (2.0, -5.0), (6.0, 6.0)])
    items += pointing(letters(f"{PULLEY}.groove_angle"), (-16.0, 13.0), (-3.6, 0.5))
    wanted = [
        across(letters, f"{PULLEY}.groove_width", (-6.0, 6.0), (6.0, 6.0), "above"),
        across(letters, f"{PULLEY}.groove_diameter", (2.0, -5.0), (2.0, -17.0), "right", of_letter="<> / 2"),
        across(letters, f"{PULLEY}.rim_diameter", (11.0, 6.0), (11.0, -17.0), "right", of_letter="<> / 2"),
    ]
    return figure("Vee groove", items, wanted)


def _square(letters: Letters) -> Titled:
    items = _grooved([(-4.0, 6.0), (-4.0, -3.0), (4.0, -3.0), (4.0, 6.0)])
    belt = Path((Vertex(-3.6, -3.0), Vertex(3.6, -3.0), Vertex(3.6, 4.0), Vertex(-3.6, 4.0)))
    items.append(outline(belt, "phantom"))
    wanted = [
        across(letters, f"{PULLEY}.groove_width", (-4.0, 6.0), (4.0, 6.0), "above"),
        across(letters, "wanted.width", (-3.6, 4.0), (3.6, 4.0), "above"),
        across(letters, f"{PULLEY}.groove_diameter", (4.0, -3.0), (4.0, -17.0), "right", of_letter="<> / 2"),
        across(letters, "wanted.height", (-3.6, -3.0), (-3.6, 4.0), "left"),
    ]
    return figure("Square or flat", items, wanted)


def _round(letters: Letters) -> Titled:
    items = _grooved([(-5.0, 6.0), (-5.0, 1.0), (5.0, 1.0, -1.0), (5.0, 6.0)])
    items.append(ring(0.0, 0.0, 4.0, "phantom"))
    wanted = [
        across(letters, f"{PULLEY}.groove_width", (-5.0, 6.0), (5.0, 6.0), "above"),
        across(letters, f"{PULLEY}.groove_diameter", (0.0, -4.0), (0.0, -17.0), "right", of_letter="<> / 2"),
        across(letters, "wanted.diameter", (-4.0, -4.0), (-4.0, 4.0), "left"),
    ]
    return figure("Round groove", items, wanted)
