"""What the drawing tests share: the worked examples, sized, planned, built and drawn once."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from types import SimpleNamespace

from moldgen.case import load
from moldgen.drawing.mold import mold_drawing
from moldgen.drawing.part import part_drawing
from moldgen.mold.bodies import carry_out
from moldgen.planning import planned
from moldgen.sizing import size

SPECS = sorted((Path(__file__).parents[2] / "part_specs").glob("*.yaml"))
NAMES = [spec.stem for spec in SPECS]


@cache
def sized(name):
    return size(load(next(spec for spec in SPECS if spec.stem == name)))


@cache
def part(name):
    return part_drawing(sized=sized(name))


@cache
def mold(name):
    """The mold's plan, bodies and drawing."""
    plan = planned(sized(name))
    bodies = carry_out(plan)
    drawing = mold_drawing(sized=sized(name), plan=plan, bodies=bodies)
    return SimpleNamespace(plan=plan, bodies=bodies, drawing=drawing)


def both(name):
    return part(name), mold(name).drawing
