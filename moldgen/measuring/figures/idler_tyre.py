"""Idler tyre: the hub from the side and cut, and the tyre between the two wheels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from moldgen.drawing.model import Arrow, Item, line
from moldgen.drawing.sheet import Titled
from moldgen.measuring.drawn import Letters, across, caliper, cross, figure, metal, ring, rubber, words
from moldgen.shapes import Point, rectangle

ADVICE: Final = ("worn", "force")


def figures(letters: Letters) -> Sequence[Titled]:
    return _round_it(letters), _cut(letters), _running(letters)


def _round_it(letters: Letters) -> Titled:
    """Where the three readings are taken."""
    items: list[Item] = [
        ring(0.0, 0.0, 15.0),
        ring(0.0, 0.0, 3.0),
        *cross(0.0, 0.0, 4.5),
        *caliper(-15.0, 15.0, -2.0, reach=20.0),
    ]
    for number, degrees in enumerate((180.0, 240.0, 300.0), start=1):
        x, y = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        items += [line((9.0 * x, 9.0 * y), (15.0 * x, 15.0 * y), "thin"), words(str(number), 7.5 * x, 7.5 * y - 1.0)]
    name = letters("measured.hub_diameter")
    items.append(words(f"{name}: at 1, 2 and 3", 2.0, -22.0))
    return figure("The bare hub", items)


def _cut(letters: Letters) -> Titled:
    items: list[Item] = [*metal(-6.0, 3.0, 6.0, 15.0), *metal(-6.0, -15.0, 6.0, -3.0)]
    items += [line((-6.0, y), (6.0, y), "outline") for y in (-3.0, 3.0)] + [line((-9.0, 0.0), (9.0, 0.0), "centre")]
    items += rubber(rectangle(-5.0, 15.0, 5.0, 19.0), rectangle(-5.0, -19.0, 5.0, -15.0))
    wanted = [
        across(letters, "measured.hub_diameter", (6.0, -15.0), (6.0, 15.0), "right"),
        across(letters, "measured.hub_bore", (-6.0, -3.0), (-6.0, 3.0), "left"),
        across(letters, "measured.hub_width", (-6.0, -15.0), (6.0, -15.0), "below"),
        across(letters, "wanted.fitted_width", (-5.0, 19.0), (5.0, 19.0), "above"),
        across(letters, "wanted.fitted_diameter", (5.0, -19.0), (5.0, 19.0), "right"),
    ]
    return figure("Cut along the axle", items, wanted)


def _running(letters: Letters) -> Titled:
    items: list[Item] = [ring(0.0, 0.0, 12.0), ring(0.0, 0.0, 16.0, "phantom"), *cross(0.0, 0.0, 3.0)]
    items += [ring(22.0, 0.0, 6.0), *cross(22.0, 0.0, 3.0)]
    items += [line((-28.0, 0.0), (-20.0, 0.0), "thin"), Arrow(Point(-17.0, 0.0), 0.0, 4.0)]
    items += [words("press_force", -25.0, 2.0), words("hub", 0.0, -6.0), words("the wheel it runs on", 22.0, -20.0)]
    wanted = [across(letters, "drive.against_diameter", (16.0, 0.0), (28.0, 0.0), "above")]
    return figure("Where it runs", items, wanted)
