"""The pour of one mold: what to weigh, how long it takes against how long there is, which bubbles leave, when it opens.

Everything here follows from the plan and the elastomer's figures; no solid is needed. Times of setting are taken from
the temperature they are stated at to the shop's. What can spoil the casting is said as Remarks with a way out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Final

from moldgen.case import Case
from moldgen.casting.recipe import mix_system, weigh_out_json, weighed
from moldgen.casting.weighing import Extra, MixSystem, WeighOut
from moldgen.mechanics.bubbles import degassing_vessel_mm3, smallest_clearing_diameter_mm
from moldgen.mechanics.cure import time_by_arrhenius_s, time_by_rule_of_ten_s
from moldgen.mechanics.flow import (
    cone_resistance_pa_s_mm3,
    head_pressure_pa,
    plunger_force_n,
    plunger_pressure_pa,
    rising_fill_s,
    series_resistance_pa_s_mm3,
    steady_fill_s,
    tube_resistance_pa_s_mm3,
)
from moldgen.mechanics.solve import root
from moldgen.mold.filling import LARGEST_GATE_MM
from moldgen.mold.plan import MoldPlan, OpeningPlan
from moldgen.remarks import Remark

STATED_AT_DEGC: Final = 23.0
"""Temperature that the table's times are stated at."""
MIXING_S: Final = 240.0
"""Weighing B into A, stirring, waiting for the worst bubbles, drawing up: common practice, no source."""
RESTING_S: Final = 120.0
"""Of that, how long the cup stands still: common practice, no source."""
MOVING_ON_S: Final = 60.0
"""From one filled mold to the next: common practice, no source."""
THUMB_N: Final = 30.0
"""Force that a thumb keeps on a plunger for a minute: common practice, no source."""
BARREL_MM: Final = 16.0
"""Inside of a 10 ml syringe, from memory."""
CUP_MM: Final = 50.0
"""Inside of a small mixing cup."""
STEEPEST_CONE: Final = 0.33
"""Tangent of the half angle up to which the cone formula was checked (18.4°)."""
BUBBLE_THAT_SHOWS_MM: Final = 0.5
"""A hole of this size in a running surface is felt: judgement."""
VENTS_TO_FILL: Final = 0.9
"""Share of their height to which the vents are filled before pouring stops; at equal heads nothing flows."""


@dataclass(frozen=True, slots=True)
class Pour:
    """What one filling of a mold takes."""

    volume_mm3: float
    cup: WeighOut
    sound_cup: WeighOut | None
    """The smallest cup whose ratio is sure on this scale, where `cup` is not."""
    fill_s: float
    """From the first drop to the last vent, one gate after the other."""
    pot_life_s: float
    """At the shop's temperature, from when the components touch."""
    demould_s: float
    full_cure_s: float
    bubble_cup_mm: float
    """Smallest bubble that leaves the cup while it stands."""
    bubble_part_mm: float
    """Smallest bubble that rises to the top of the cavity while the mix still flows."""
    vessel_ml: tuple[float, float]
    """Least and ample size of a vessel for degassing the batch."""
    plunger_n: float | None
    """For a syringe: force on the plunger that fills the mold in the time there is."""
    remarks: tuple[Remark, ...]

    @property
    def time_to_pour_s(self) -> float:
        """What the pot life leaves once the mix is ready."""
        return self.pot_life_s - MIXING_S

    def as_json(self) -> dict[str, Any]:
        return {
            "volume_mm3": round(self.volume_mm3, 3),
            "fill_s": _seconds(self.fill_s),
            "pot_life_s": _seconds(self.pot_life_s),
            "time_to_pour_s": _seconds(self.time_to_pour_s),
            "demould_s": _seconds(self.demould_s),
            "full_cure_s": _seconds(self.full_cure_s),
            "smallest_bubble_that_leaves_the_cup_mm": round(self.bubble_cup_mm, 3),
            "smallest_bubble_that_leaves_the_part_mm": round(self.bubble_part_mm, 3),
            "degassing_vessel_ml": [round(v, 1) for v in self.vessel_ml],
            "plunger_force_n": None if self.plunger_n is None else round(self.plunger_n, 2),
            "sound_mix": None if self.sound_cup is None else weigh_out_json(self.sound_cup),
        }


def _seconds(value: float) -> float:
    return round(value, 1)


def poured(case: Case, plan: MoldPlan) -> Pour:
    """The pour of one mold by itself, at the shop's temperature."""
    rubber, choices = case.elastomer, case.spec.pour
    cup = weighed(
        rubber, recipe(case), volume_mm3=plan.pour_mm3, spare=choices.spare, scale_step_g=choices.scale_step_g
    )
    fill = fill_time_s(case, plan)
    pot_life = at_shop_s(case, rubber.pot_life_s.value)
    batch_mm3 = 1000.0 * cup.batch_g / rubber.density_g_cm3.value
    vessel = degassing_vessel_mm3(mix_volume_mm3=batch_mm3)
    flowing = max(pot_life - MIXING_S - fill, 1.0)
    first = Pour(
        volume_mm3=plan.pour_mm3,
        cup=cup,
        sound_cup=None if cup.sound else _sound_cup(case, cup),
        fill_s=fill,
        pot_life_s=pot_life,
        demould_s=at_shop_s(case, rubber.demould_s.value),
        full_cure_s=at_shop_s(case, rubber.full_cure_s.value),
        bubble_cup_mm=_clearing_mm(case, batch_mm3 / (0.25 * math.pi * CUP_MM**2), RESTING_S),
        bubble_part_mm=_clearing_mm(case, plan.cavity.below_mm + plan.cavity.above_mm, flowing),
        vessel_ml=(0.001 * vessel[0], 0.001 * vessel[1]),
        plunger_n=_plunger_n(case, plan, max(pot_life - MIXING_S, 1.0)),
        remarks=(),
    )
    return replace(first, remarks=tuple(_remarks(case, plan, first)))


def _sound_cup(case: Case, cup: WeighOut) -> WeighOut:
    rubber, spare = case.elastomer, case.spec.pour.spare
    needed = 1000.0 * cup.smallest_sound_batch_g / rubber.density_g_cm3.value
    return weighed(rubber, recipe(case), volume_mm3=needed / (1.0 + spare), spare=spare, scale_step_g=cup.scale_step_g)


def recipe(case: Case) -> MixSystem:
    """What goes into the cup, in which ratio."""
    extras = [Extra(extra.name, extra.share) for extra in case.spec.pour.extras]
    return mix_system(case.elastomer, by=case.spec.pour.by, extras=extras)


def at_shop_s(case: Case, stated_s: float) -> float:
    """A time of setting at the shop's temperature, by the activation energy if given, else by the rule of ten."""
    pour = case.spec.pour
    if pour.activation_energy is not None:
        return time_by_arrhenius_s(
            time_s=stated_s,
            stated_at_degc=STATED_AT_DEGC,
            temperature_degc=pour.shop_degc,
            activation_energy_kj_mol=pour.activation_energy,
        )
    return time_by_rule_of_ten_s(time_s=stated_s, stated_at_degc=STATED_AT_DEGC, temperature_degc=pour.shop_degc)


def _clearing_mm(case: Case, height_mm: float, time_s: float) -> float:
    return smallest_clearing_diameter_mm(
        height_mm=height_mm,
        time_s=time_s,
        viscosity_pa_s=case.elastomer.mixed_viscosity_pa_s.value,
        density_g_cm3=case.elastomer.density_g_cm3.value,
    )


# --- filling ---------------------------------------------------------------------------------------------------------


def fill_time_s(case: Case, plan: MoldPlan) -> float:
    """Time to fill every cavity through its sprue, one after the other.

    The gate opens into the ceiling, so that while the cavity fills the whole height of the sprue drives the flow; then
    the vents fill against a falling head. From a syringe, the thumb keeps its pressure. A mold closed by pressing has
    no gate and takes as long as pouring out and closing do.
    """
    if not plan.sprues:
        return MOVING_ON_S
    gate_mm = plan.sprues[0].gate_diameter_mm
    return len(plan.sprues) * _one_fill_s(case, plan, gate_mm)


def _one_fill_s(case: Case, plan: MoldPlan, gate_mm: float) -> float:
    sprue = replace(plan.sprues[0], gate_diameter_mm=gate_mm)
    rubber, volume = case.elastomer, plan.cavity.volume_mm3
    resistance = sprue_resistance_pa_s_mm3(sprue, viscosity_pa_s=rubber.mixed_viscosity_pa_s.value)
    if case.spec.mold.fill == "syringe":
        pressure = plunger_pressure_pa(force_n=THUMB_N, barrel_diameter_mm=BARREL_MM)
        return steady_fill_s(volume_mm3=volume, pressure_pa=pressure, resistance_pa_s_mm3=resistance)
    head = sprue.top_z_mm - sprue.gate_z_mm
    density = rubber.density_g_cm3.value
    pressure = head_pressure_pa(head_mm=head, density_g_cm3=density)
    cavity = steady_fill_s(volume_mm3=volume, pressure_pa=pressure, resistance_pa_s_mm3=resistance)
    if not plan.vents:
        return cavity
    each = len(plan.places)
    vent_area = sum(o.volume_mm3 / (o.top_z_mm - o.gate_z_mm) for o in plan.vents[::each])
    return cavity + rising_fill_s(
        cavity_area_mm2=vent_area,
        rise_mm=VENTS_TO_FILL * head,
        feed_head_mm=head,
        density_g_cm3=density,
        resistance_pa_s_mm3=resistance,
    )


def sprue_resistance_pa_s_mm3(sprue: OpeningPlan, *, viscosity_pa_s: float) -> float:
    """Land and cones of a sprue in a row; a funnel wider than the cone formula reaches adds nothing to speak of."""
    parts = []
    for (r0, z0), (r1, z1) in pairwise(sprue.profile(dip_mm=0.0, beyond_mm=0.0)):
        length = z1 - z0
        if abs(r1 - r0) < 1e-9:
            parts.append(
                tube_resistance_pa_s_mm3(viscosity_pa_s=viscosity_pa_s, length_mm=length, diameter_mm=2.0 * r0)
            )
        elif abs(r1 - r0) <= STEEPEST_CONE * length:
            wide, narrow = max(r0, r1), min(r0, r1)
            parts.append(
                cone_resistance_pa_s_mm3(
                    viscosity_pa_s=viscosity_pa_s,
                    length_mm=length,
                    entry_diameter_mm=2.0 * wide,
                    exit_diameter_mm=2.0 * narrow,
                )
            )
    return series_resistance_pa_s_mm3(resistances_pa_s_mm3=parts)


def _plunger_n(case: Case, plan: MoldPlan, time_s: float) -> float | None:
    """Force on the plunger that fills every cavity in a time, or None where there is no syringe."""
    if case.spec.mold.fill != "syringe":
        return None
    resistance = sprue_resistance_pa_s_mm3(plan.sprues[0], viscosity_pa_s=case.elastomer.mixed_viscosity_pa_s.value)
    flow = plan.cavity.volume_mm3 * len(plan.places) / time_s
    return plunger_force_n(pressure_pa=flow * resistance, barrel_diameter_mm=BARREL_MM)


def gate_that_would_do_mm(case: Case, plan: MoldPlan, time_s: float) -> float | None:
    """The gate that fills the mold in a time, or None where even the largest one does not."""
    count = len(plan.sprues)

    def over(gate_mm: float) -> float:
        return count * _one_fill_s(case, plan, gate_mm) - time_s

    if over(LARGEST_GATE_MM) > 0.0:
        return None
    return root(over, plan.sprues[0].gate_diameter_mm, LARGEST_GATE_MM, tolerance=1e-3)


# --- what can spoil it -----------------------------------------------------------------------------------------------


def _remarks(case: Case, plan: MoldPlan, pour: Pour) -> Iterator[Remark]:
    rubber, printer = case.elastomer, case.printer
    yield from _ratio(case, pour.cup)
    yield from _time(case, plan, pour)
    if pour.bubble_cup_mm > BUBBLE_THAT_SHOWS_MM:
        least, ample = pour.vessel_ml
        yield Remark(
            "bubbles_stay",
            f"Only bubbles over {pour.bubble_cup_mm:.1f} mm leave the cup while it stands {RESTING_S / 60:.0f} min. "
            f"Stir slowly and pour in a thin stream. Under vacuum the mix rises: take a vessel of {least:.0f} to "
            f"{ample:.0f} ml. Without a pump, cure it in a pressure pot, or take a thinner elastomer.",
            "elastomer",
        )
    if pour.cup.large_cup:
        yield Remark(
            "large_cup",
            f"{pour.cup.batch_g:.0f} g in one cup warm themselves and set sooner than the pot life says. Split "
            f"the batch.",
            "quantity",
        )
    if printer.plastic == "photopolymer" and any("photopolymer" in phrase for phrase in rubber.inhibited_by):
        yield Remark(
            "cure_inhibited",
            f"{rubber.title} does not cure against uncured photopolymer. Wash, cure and bake the print, varnish it, "
            "and test a spot first, or print the mold in filament.",
            "printer",
        )
    if rubber.post_cure_degc is not None and rubber.post_cure_degc.value > printer.softens_degc - 10.0:
        yield Remark(
            "post_cure_softens_print",
            f"The post-cure at {rubber.post_cure_degc.value:.0f} °C would soften the print ({printer.plastic}, "
            f"{printer.softens_degc:.0f} °C). Take the part out of the mold first.",
            "printer.softens",
        )


def _ratio(case: Case, cup: WeighOut) -> Iterator[Remark]:
    if cup.sound:
        return
    finer = f", or weigh on a {cup.finer_scale_step_g:g} g scale" if cup.finer_scale_step_g is not None else ""
    yield Remark(
        "ratio_unsure",
        f"On this scale the ratio may be off by {cup.ratio_error + cup.reading_error_worst:.1%}, and the cure stands "
        f"{cup.ratio_error_most:.1%}. Mix at least {cup.smallest_sound_batch_g:.1f} g{finer}.",
        "pour.scale_step",
    )


def _time(case: Case, plan: MoldPlan, pour: Pour) -> Iterator[Remark]:
    if pour.fill_s <= pour.time_to_pour_s:
        return
    if case.spec.mold.fill == "syringe" or not plan.sprues:
        way_out = "Take a slower or thinner elastomer, or fill fewer cavities from one cup."
    else:
        gate = gate_that_would_do_mm(case, plan, max(pour.time_to_pour_s, 1.0))
        wider = f"a gate of {gate:.1f} mm would do; " if gate is not None else ""
        way_out = f"{wider}use a syringe (`fill: syringe`), or a slower or thinner elastomer."
        way_out = way_out[0].upper() + way_out[1:]
    yield Remark(
        "outlasts_pot_life",
        f"Filling takes {pour.fill_s / 60:.1f} min, and the pot life leaves "
        f"{max(pour.time_to_pour_s, 0.0) / 60:.1f} min "
        f"after mixing. {way_out}",
        "mold.fill",
    )
