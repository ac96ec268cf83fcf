"""The example specs with the jigs that each can have."""

import dataclasses
from functools import cache
from pathlib import Path

from moldgen import case, sizing
from moldgen.jigs.order import ordered, planner

FOLDER = Path(__file__).parents[2] / "part_specs"


@cache
def sized(name):
    return sizing.size(case.load(FOLDER / f"{name}.yaml"))


@cache
def order(name):
    return ordered(sized(name))


def jig(name, spec):
    return planner(name)(order(spec))


def changed(spec, **changes):
    return dataclasses.replace(order(spec), **changes)


def without_letters(piece):
    return dataclasses.replace(piece, labels=())
