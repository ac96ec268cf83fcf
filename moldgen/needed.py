"""What must lie on the bench before the first tin is opened."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from moldgen.case import Case
from moldgen.mold.plan import MoldPlan
from moldgen.pouring import Pour

ROOM_TO_STIR: Final = 2.5
"""A cup's volume over the batch's. Common practice, no source."""
LEAST_CUP_ML: Final = 20.0
"""Smaller ones cannot be stirred in. Common practice, no source."""


def needed(case: Case, plan: MoldPlan, pour: Pour) -> tuple[str, ...]:
    """One line for each thing, with how much of it."""
    return tuple(_needed(case, plan, pour))


def _needed(case: Case, plan: MoldPlan, pour: Pour) -> Iterator[str]:
    rubber, cup = case.elastomer, pour.sound_cup or pour.cup
    yield f"{rubber.label}: {' and '.join(f'{c.grams:g} g {c.name}' for c in cup.components)}"
    yield f"scale that shows {cup.scale_step_g:g} g"
    batch_ml = cup.batch_g / rubber.density_g_cm3.value
    yield f"cup for {max(ROOM_TO_STIR * batch_ml, LEAST_CUP_ML):.0f} ml or more, stick, timer"
    if case.spec.mold.fill == "syringe":
        yield "syringe whose tip fits the mold's socket"
    for (size, length), count in sorted(Counter((s.screw.size, s.length_mm) for s in plan.screws).items()):
        yield f"{count} cap screws {size} × {length:g} (ISO 4762), {count} nuts {size} (ISO 4032), hexagon key"
    if not plan.screws:
        yield "two clamps, or a weight"
    if rubber.release:
        yield f"release: {rubber.release[0]}"
    if case.spec.pour.extras:
        yield ", ".join(extra.name for extra in case.spec.pour.extras)
    yield "nitrile gloves, goggles, paper towels, a window that opens"
    yield "blunt blade to open the mold, fresh scalpel blade to trim, caliper"
