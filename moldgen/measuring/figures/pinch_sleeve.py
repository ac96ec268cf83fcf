"""Pinch sleeve: the core cut along its axle, and the roller on its capstan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from moldgen.drawing.model import Arrow, Item, line
from moldgen.drawing.sheet import Titled
from moldgen.measuring.drawn import Letters, across, caliper, cross, figure, metal, pointing, ring, rubber, words
from moldgen.shapes import Point, rectangle

ADVICE: Final = ("worn", "force")


def figures(letters: Letters) -> Sequence[Titled]:
    return _core(letters), _sleeve(letters), _running(letters)


def _core(letters: Letters) -> Titled:
    items: list[Item] = [
        *metal(-18.0, -6.0, 18.0, 6.0),
        line((-21.0, 0.0), (21.0, 0.0), "centre"),
        *caliper(-18.0, 18.0, -3.0),
    ]
    items += [words("at both ends and in the middle", 0.0, -16.0)]
    wanted = [
        across(letters, "measured.core_diameter", (18.0, -6.0), (18.0, 6.0), "left"),
        across(letters, "measured.core_length", (-18.0, -6.0), (18.0, -6.0), "below"),
    ]
    return figure("The bare core", items, wanted)


def _sleeve(letters: Letters) -> Titled:
    items: list[Item] = [*metal(-18.0, -6.0, 18.0, 6.0), line((-21.0, 0.0), (21.0, 0.0), "centre")]
    items += rubber(rectangle(-13.0, 6.0, 13.0, 12.0), rectangle(-13.0, -12.0, 13.0, -6.0))
    items += pointing("tide mark", (-17.0, 16.0), (-13.0, 6.5))
    wanted = [
        across(letters, "wanted.roller_diameter", (13.0, -12.0), (13.0, 12.0), "right"),
        across(letters, "wanted.length", (-13.0, -12.0), (13.0, -12.0), "below"),
    ]
    return figure("With its sleeve (dashed)", items, wanted)


def _running(letters: Letters) -> Titled:
    items: list[Item] = [ring(0.0, 0.0, 6.0), ring(0.0, 0.0, 12.0, "phantom"), *cross(0.0, 0.0, 3.0)]
    items += [ring(15.5, 0.0, 3.0), *cross(15.5, 0.0, 4.0), line((12.3, -20.0), (12.3, 16.0), "running")]
    items += [line((-24.0, 0.0), (-16.0, 0.0), "thin"), Arrow(Point(-13.0, 0.0), 0.0, 4.0)]
    items += [words("press_force", -22.0, 2.0), words("tape or film", 12.3, -24.0)]
    wanted = [across(letters, "drive.capstan_diameter", (12.5, 0.0), (18.5, 0.0), "above")]
    return figure("Against its shaft", items, wanted)
