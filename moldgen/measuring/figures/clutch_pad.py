"""Clutch pad: the open drum with its pins, a pin and its pad, and the pocket cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from moldgen.drawing.model import Item, line
from moldgen.drawing.sheet import Titled
from moldgen.measuring.drawn import Letters, across, cross, figure, lettered_line, metal, pointing, ring, rubber, words
from moldgen.shapes import Path, Vertex

ADVICE: Final = ("pin_circle", "pads")
DRUM, PINS, PIN = 21.0, 12.0, 1.8
"""Radii as drawn."""


def figures(letters: Letters) -> Sequence[Titled]:
    return _open(letters), _pad(letters), _pocket(letters)


def _at(radius: float, degrees: float) -> tuple[float, float]:
    return radius * math.cos(math.radians(degrees)), radius * math.sin(math.radians(degrees))


def _open(letters: Letters) -> Titled:
    items: list[Item] = [ring(0.0, 0.0, DRUM), ring(0.0, 0.0, DRUM + 3.0), ring(0.0, 0.0, 2.5), *cross(0.0, 0.0, 4.0)]
    items.append(ring(0.0, 0.0, PINS, "centre"))
    items += [ring(*_at(PINS, degrees), PIN) for degrees in (90.0, 210.0, 330.0)]
    wanted = [
        across(letters, "measured.drum_diameter", (-DRUM, 0.0), (DRUM, 0.0), "below"),
        across(letters, "measured.pin_circle_diameter", (-PINS, 0.0), (PINS, 0.0), "above"),
    ]
    return figure("Drum, open side", items, wanted)


def _pad(letters: Letters) -> Titled:
    """One pin three times as large, with the outline that wear marks may still show."""
    tip = (3.0, 22.0)
    pad = Path((Vertex(-6.0, -3.0), Vertex(6.0, -3.0), Vertex(5.0, 20.0), Vertex(-1.0, 21.5)))
    items: list[Item] = [
        ring(0.0, 3.0, 2.8),
        *cross(0.0, 3.0, 4.0),
        *rubber(pad),
        line((-16.0, 22.0), (16.0, 22.0), "outline"),
    ]
    items += [*lettered_line(letters("wanted.reach"), (0.0, 3.0), tip), words("wall of the drum", -8.0, 23.5)]
    items += pointing("where the tip has polished it", (17.0, 27.0), tip)
    wanted = [
        across(letters, "measured.pin_diameter", (-2.8, 3.0), (2.8, 3.0), "below"),
        across(letters, "wanted.arm_thickness", (-6.0, -3.0), (6.0, -3.0), "below"),
    ]
    return figure("A pin and its pad", items, wanted)


def _pocket(letters: Letters) -> Titled:
    items: list[Item] = [*metal(-14.0, -8.0, 14.0, -4.0), *metal(-14.0, 6.0, 14.0, 9.0), *metal(-10.0, -4.0, -6.4, 4.0)]
    items += rubber(Path((Vertex(-12.0, -3.4), Vertex(2.0, -3.4), Vertex(2.0, 5.2), Vertex(-12.0, 5.2))))
    items += [words("lid", 8.0, 11.0), words("floor", 8.0, -12.0)]
    wanted = [
        across(letters, "measured.pocket_depth", (14.0, -4.0), (14.0, 6.0), "right"),
        across(letters, "wanted.thickness", (-12.0, -3.4), (-12.0, 5.2), "left"),
    ]
    return figure("Pocket, cut", items, wanted)
