"""From a sized part to its mold's plan and its pour: everything that can be known without a solid."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from moldgen.case import Case
from moldgen.casting.recipe import weighed
from moldgen.casting.weighing import WeighOut
from moldgen.errors import SpecError
from moldgen.mechanics.flow import (
    cone_resistance_pa_s_mm3,
    plunger_pressure_pa,
    rising_fill_s,
    series_resistance_pa_s_mm3,
    steady_fill_s,
    tube_resistance_pa_s_mm3,
)
from moldgen.mold.design import design
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.plan import MoldPlan, OpeningPlan
from moldgen.sizing import Sizing

THUMB_N: Final = 30.0
"""Force that a thumb keeps on a plunger for a minute: common practice, no source."""
BARREL_MM: Final = 16.0
"""Inside of a 10 ml syringe, from memory."""
MOVING_ON_S: Final = 60.0
"""From one filled mold to the next: common practice, no source."""


def order(sized: Sizing) -> Order:
    """What the mold is ordered for."""
    case = sized.case
    shrinkage = case.elastomer.linear_shrinkage.value
    return Order(
        name=case.name,
        marking=f"{case.elastomer.id} s{shrinkage * 100:.2g}%",
        shape=sized.mold_shape,
        insert=sized.insert,
        printer=case.printer,
        choices=case.spec.mold,
        quantity=case.spec.quantity,
        elongation_at_break=case.given.elastomer.elongation_at_break,
    )


def planned(sized: Sizing) -> MoldPlan:
    """The mold's plan. Raises SpecError where it cannot be made."""
    try:
        return design(order(sized))
    except CannotBeMadeError as error:
        raise SpecError(tuple(sized.case.problem(refusal) for refusal in error.refusals)) from error


@dataclass(frozen=True, slots=True)
class Pour:
    """What one filling of a mold takes: volume, weigh-out, time."""

    volume_mm3: float
    fill_s: float
    cup: WeighOut


def poured(case: Case, plan: MoldPlan) -> Pour:
    """The pour of one mold by itself."""
    choices = case.spec.pour
    cup = weighed(case.elastomer, volume_mm3=plan.pour_mm3, spare=choices.spare, scale_step_g=choices.scale_step_g)
    return Pour(plan.pour_mm3, fill_time_s(case, plan), cup)


def fill_time_s(case: Case, plan: MoldPlan) -> float:
    """From the first drop to the last vent, one gate after the other, by the flow through the sprue.

    Poured, the head falls as the cavity fills; from a syringe, the thumb keeps its pressure. A mold closed by
    pressing has no gate; it takes as long as pouring out and closing do.
    """
    if not plan.sprues:
        return MOVING_ON_S
    sprue, cavity = plan.sprues[0], plan.cavity
    rubber = case.elastomer
    viscosity, density = rubber.mixed_viscosity_pa_s.value, rubber.density_g_cm3.value
    resistance = sprue_resistance_pa_s_mm3(sprue, viscosity_pa_s=viscosity)
    if case.spec.mold.fill == "syringe":
        pressure = plunger_pressure_pa(force_n=THUMB_N, barrel_diameter_mm=BARREL_MM)
        one = steady_fill_s(volume_mm3=cavity.volume_mm3, pressure_pa=pressure, resistance_pa_s_mm3=resistance)
    else:
        height = cavity.below_mm + cavity.above_mm
        one = rising_fill_s(
            cavity_area_mm2=cavity.volume_mm3 / height,
            rise_mm=height,
            feed_head_mm=sprue.top_z_mm + cavity.below_mm,
            density_g_cm3=density,
            resistance_pa_s_mm3=resistance,
        )
    return len(plan.sprues) * one


def sprue_resistance_pa_s_mm3(sprue: OpeningPlan, *, viscosity_pa_s: float) -> float:
    """Land and cones of a sprue in a row; a funnel wider than the cone formula reaches adds nothing to speak of."""
    points = sprue.profile(dip_mm=0.0, beyond_mm=0.0)
    parts = []
    for (r0, z0), (r1, z1) in pairwise(points):
        length = z1 - z0
        if abs(r1 - r0) < 1e-9:
            parts.append(
                tube_resistance_pa_s_mm3(viscosity_pa_s=viscosity_pa_s, length_mm=length, diameter_mm=2.0 * r0)
            )
        elif r1 - r0 <= STEEPEST_CONE * length:
            parts.append(
                cone_resistance_pa_s_mm3(
                    viscosity_pa_s=viscosity_pa_s,
                    length_mm=length,
                    entry_diameter_mm=2.0 * r1,
                    exit_diameter_mm=2.0 * r0,
                )
            )
    return series_resistance_pa_s_mm3(resistances_pa_s_mm3=parts)


STEEPEST_CONE: Final = 0.33
"""Tangent of the half angle up to which the cone formula was checked (18.4°)."""
