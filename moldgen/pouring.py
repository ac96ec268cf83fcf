"""The pour of one mold: what to weigh, how long it takes against how long there is, which bubbles leave, when it opens.

Everything here follows from the plan and the elastomer's figures; no solid is needed. Times of setting are taken from
the temperature they are stated at to the shop's. What can spoil the casting is said as Remarks with a way out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from moldgen.case import Case
from moldgen.casting.recipe import mix_system, weigh_out_json, weighed
from moldgen.casting.weighing import Extra, MixSystem, WeighOut
from moldgen.elastomers import Elastomer
from moldgen.fill_time import fill_time_s, plunger_to_fill_n, quicker
from moldgen.mechanics.bubbles import degassing_vessel_mm3, smallest_clearing_diameter_mm
from moldgen.mechanics.cure import POT_LIFE_CUP_G, time_by_arrhenius_s, time_by_rule_of_ten_s
from moldgen.mold.plan import MoldPlan
from moldgen.remarks import Remark

STATED_AT_DEGC: Final = 23.0
"""Temperature that the table's times are stated at."""
MIXING_S: Final = 240.0
"""Weighing B into A, stirring, waiting for the worst bubbles, drawing up: common practice, no source."""
RESTING_S: Final = 120.0
"""Of that, how long the cup stands still: common practice, no source."""
CUP_MM: Final = 50.0
"""Inside of a small mixing cup; a larger one is taken to be as wide as the mix stands high in it."""
LEAST_FLOWING_S: Final = 60.0
"""What a bubble in the part has at the least, even where filling outlasts the pot life: judgement."""
THICKENS: Final = 1.25
"""By how much the mix resists more on average where filling takes the whole pot life: half as much again at its end,
a quarter on average (judgement)."""
SOFT_BELOW_K: Final = 10.0
"""A print is kept so far below its softening point: judgement."""
BUBBLE_THAT_SHOWS_MM: Final = 0.5
"""A hole of this size in a running surface is felt: judgement."""


@dataclass(frozen=True, slots=True)
class Pour:
    """What one filling of a mold takes."""

    volume_mm3: float
    cup: WeighOut
    sound_cup: WeighOut | None
    """The smallest cup whose ratio is sure on this scale, where `cup` is not."""
    fill_s: float
    """From the first drop to the last vent."""
    pot_life_s: float
    """At the shop's temperature, from when the components touch."""
    demould_s: float
    """At the shop's temperature, as is the full cure."""
    full_cure_s: float
    bubble_cup_mm: float
    """Smallest bubble that leaves the cup while it stands."""
    bubble_part_mm: float
    """Smallest bubble that rises to the top of the cavity while the mix still flows."""
    vessel_ml: tuple[float, float]
    """Least and ample size of a vessel for degassing the batch."""
    plunger_n: float | None
    """For a syringe: force on the plunger that fills the mold in the time there is."""
    remarks: tuple[Remark, ...] = ()

    @property
    def mixed(self) -> WeighOut:
        """The cup to mix: the one that is needed, or the smallest that is sure to cure."""
        return self.cup if self.sound_cup is None else self.sound_cup

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
    sound = None if cup.sound else sound_cup(case.elastomer, recipe(case), cup, spare=choices.spare)
    fill = fill_time_s(case, plan)
    pot_life = at_shop_s(case, rubber.pot_life_s.value)
    batch_mm3 = 1000.0 * (sound or cup).batch_g / rubber.density_g_cm3.value
    vessel = degassing_vessel_mm3(mix_volume_mm3=batch_mm3)
    flowing = max(pot_life - MIXING_S - fill, LEAST_FLOWING_S)
    first = Pour(
        volume_mm3=plan.pour_mm3,
        cup=cup,
        sound_cup=sound,
        fill_s=fill,
        pot_life_s=pot_life,
        demould_s=at_shop_s(case, rubber.demould_s.value),
        full_cure_s=at_shop_s(case, rubber.full_cure_s.value),
        bubble_cup_mm=_clearing_mm(case, _height_in_cup_mm(batch_mm3), RESTING_S),
        bubble_part_mm=_clearing_mm(case, plan.cavity.below_mm + plan.cavity.above_mm, flowing),
        vessel_ml=(0.001 * vessel[0], 0.001 * vessel[1]),
        plunger_n=plunger_to_fill_n(case, plan, time_s=max(pot_life - MIXING_S, 1.0)),
    )
    return replace(first, remarks=tuple(_remarks(case, plan, first)))


def sound_cup(rubber: Elastomer, system: MixSystem, cup: WeighOut, *, spare: float) -> WeighOut:
    """The smallest cup whose ratio is sure on the same scale."""
    needed = 1000.0 * cup.smallest_sound_batch_g / rubber.density_g_cm3.value
    return weighed(rubber, system, volume_mm3=needed / (1.0 + spare), spare=spare, scale_step_g=cup.scale_step_g)


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


def _height_in_cup_mm(volume_mm3: float) -> float:
    """How high the mix stands in its cup."""
    wide = max(CUP_MM, math.cbrt(4.0 * volume_mm3 / math.pi))
    return volume_mm3 / (0.25 * math.pi * wide**2)


def _clearing_mm(case: Case, height_mm: float, time_s: float) -> float:
    return smallest_clearing_diameter_mm(
        height_mm=height_mm,
        time_s=time_s,
        viscosity_pa_s=case.elastomer.mixed_viscosity_pa_s.value,
        density_g_cm3=case.elastomer.density_g_cm3.value,
    )


# --- what can spoil it -----------------------------------------------------------------------------------------------


def _remarks(case: Case, plan: MoldPlan, pour: Pour) -> Iterator[Remark]:
    rubber, mixed = case.elastomer, pour.mixed
    yield from _ratio(pour.cup)
    yield from _time(case, plan, pour)
    if pour.bubble_cup_mm > BUBBLE_THAT_SHOWS_MM:
        least, ample = pour.vessel_ml
        yield Remark(
            "bubbles_stay",
            f"Only bubbles over {pour.bubble_cup_mm:.1f} mm leave the cup while it stands {RESTING_S / 60:.0f} min. "
            f"Degas it right after stirring: under vacuum the mix rises, so take a vessel of {least:.0f} to "
            f"{ample:.0f} ml. Without a pump, stir slowly and pour in a thin stream, then cure it in a pressure pot; "
            "or press it (`fill: press`), or take a thinner elastomer.",
            "elastomer",
        )
    if mixed.large_cup:
        yield Remark(
            "large_cup",
            f"{mixed.batch_g:.0f} g in one cup warm themselves and set sooner than the pot life says, which is stated "
            f"for {POT_LIFE_CUP_G:.0f} g. Split the batch, or pour it out flat at once.",
            "quantity",
        )
    yield from _print_against_rubber(case)
    yield from _heat(case, rubber)


def _print_against_rubber(case: Case) -> Iterator[Remark]:
    """Where the mold's own plastic spoils the cure."""
    phrase = next((phrase for phrase in case.elastomer.inhibited_by if "photopolymer" in phrase), None)
    if case.printer.plastic == "photopolymer" and phrase is not None:
        yield Remark(
            "cure_inhibited",
            f"{case.elastomer.title} does not cure well against a print of photopolymer ({phrase}). Wash, cure and "
            "bake the print, varnish it, and test a spot first; or print the mold in filament.",
            "printer",
        )


def _heat(case: Case, rubber: Elastomer) -> Iterator[Remark]:
    """Where the print would soften while it holds the part."""
    printer, shop = case.printer, case.spec.pour.shop_degc
    limit, what = printer.softens_degc - SOFT_BELOW_K, f"({printer.plastic}, {printer.softens_degc:.0f} °C)"
    if shop > limit:
        yield Remark(
            "cure_softens_print",
            f"At {shop:.0f} °C the print would soften {what} while the rubber cures in it. Cure it cooler.",
            "pour.shop",
        )
    if rubber.post_cure_degc is not None and rubber.post_cure_degc.value > limit:
        yield Remark(
            "post_cure_softens_print",
            f"The post-cure at {rubber.post_cure_degc.value:.0f} °C would soften the print {what}. Take the part out "
            "of the mold first.",
            "printer.softens",
        )


def _ratio(cup: WeighOut) -> Iterator[Remark]:
    if cup.sound:
        return
    finer = f", or weigh on a {cup.finer_scale_step_g:g} g scale" if cup.finer_scale_step_g is not None else ""
    yield Remark(
        "ratio_unsure",
        f"On a {cup.scale_step_g:g} g scale the ratio of {cup.batch_g:g} g may be off by "
        f"{cup.ratio_error + cup.reading_error_worst:.1%}, and the cure stands {cup.ratio_error_most:.1%}. Mix at "
        f"least {cup.smallest_sound_batch_g:.1f} g{finer}.",
        "pour.scale_step",
    )


def _time(case: Case, plan: MoldPlan, pour: Pour) -> Iterator[Remark]:
    left_s = max(pour.time_to_pour_s, 0.0)
    if pour.fill_s > left_s:
        yield Remark(
            "outlasts_pot_life",
            f"Filling takes {pour.fill_s / 60:.1f} min, and the pot life leaves {left_s / 60:.1f} min after mixing. "
            + quicker(case, plan, max(left_s, 1.0)),
            "mold.fill",
        )
    elif THICKENS * pour.fill_s > left_s:
        yield Remark(
            "near_pot_life",
            f"Filling takes {pour.fill_s / 60:.1f} min of the {left_s / 60:.1f} min that the pot life leaves, and the "
            "mix thickens meanwhile. " + quicker(case, plan, left_s / THICKENS),
            "mold.fill",
        )
