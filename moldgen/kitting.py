"""A kit of parts on one bench: what goes into which cup, and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from moldgen.case import Case
from moldgen.casting import kit as cups
from moldgen.casting.recipe import weigh_out_json, weighed
from moldgen.casting.weighing import WeighOut
from moldgen.elastomers import Elastomer
from moldgen.planning import planned
from moldgen.pouring import MIXING_S, MOVING_ON_S, at_shop_s, fill_time_s, recipe
from moldgen.sizing import Sizing

SCHEMA: Final = "moldgen/mix/1"


@dataclass(frozen=True, slots=True)
class KitCup:
    """One cup: what it is weighed from and what it fills."""

    elastomer: Elastomer
    batch: cups.Batch
    weigh_out: WeighOut

    def as_json(self) -> dict[str, Any]:
        return {
            "elastomer": self.elastomer.id,
            "cup": self.batch.number,
            "volume_mm3": round(self.batch.volume_mm3, 3),
            **weigh_out_json(self.weigh_out),
            "parts": list(self.batch.parts),
            "starts_s": round(self.batch.starts_s, 1),
            "poured_s": round(self.batch.poured_s, 1),
            "demould_s": round(self.batch.demould_s, 1),
        }


@dataclass(frozen=True, slots=True)
class WeighedKit:
    """All cups in the order to mix them."""

    cups: tuple[KitCup, ...]
    warnings: tuple[tuple[str, str, str], ...]
    """(code, text, field)."""

    def as_json(self) -> dict[str, Any]:
        return {
            "schema": SCHEMA,
            "batches": [cup.as_json() for cup in self.cups],
            "warnings": [{"code": code, "text": text, "field": field} for code, text, field in self.warnings],
        }


def weigh_out_kit(parts: Sequence[Sizing], *, spare: float | None, scale_step_g: float | None) -> WeighedKit:
    """The cups for one filling of every part's mold. Options given here win over what the specs say.

    Parts share a cup if elastomer, figures, recipe and shop are the same. Raises SpecError where a mold cannot be
    planned.
    """
    cases: dict[str, Case] = {}
    pours: list[cups.Pour] = []
    for part in parts:
        case, plan = part.case, planned(part)
        key = _cup_key(case)
        cases[key] = case
        pours.append(cups.Pour(case.name, key, plan.pour_mm3, fill_time_s(case, plan) + MOVING_ON_S))
    workings = {
        key: cups.Working(
            at_shop_s(case, case.elastomer.pot_life_s.value),
            MIXING_S,
            at_shop_s(case, case.elastomer.demould_s.value),
            taints=case.elastomer.chemistry in TAINTING,
        )
        for key, case in cases.items()
    }
    kit = cups.plan_kit(pours=pours, workings=workings)
    choices = [part.case.spec.pour for part in parts]
    share = spare if spare is not None else max(choice.spare for choice in choices)
    step = scale_step_g if scale_step_g is not None else max(choice.scale_step_g for choice in choices)
    out = tuple(
        KitCup(
            cases[batch.elastomer].elastomer,
            batch,
            weighed(
                cases[batch.elastomer].elastomer,
                recipe(cases[batch.elastomer]),
                volume_mm3=batch.volume_mm3,
                spare=share,
                scale_step_g=step,
            ),
        )
        for batch in kit.batches
    )
    return WeighedKit(out, tuple(_warnings(out, kit.too_slow)))


TAINTING: Final = ("silicone_sn", "polysulfide")
"""Classes whose tin, sulphur or amines stop a platinum-cured silicone: poured last, with tools of their own."""


def _cup_key(case: Case) -> str:
    pour = case.spec.pour
    extras = ", ".join(f"{extra.name} {float(extra.share):g}" for extra in pour.extras)
    return " | ".join((case.elastomer.id, case.elastomer.changed_by, pour.by, extras, f"{float(pour.shop_degc):g}"))


def _warnings(out: Sequence[KitCup], too_slow: Sequence[cups.TooSlow]) -> list[tuple[str, str, str]]:
    found = [
        (
            "ratio_unsure",
            f"{cup.elastomer.label}: on this scale the ratio may be off by "
            f"{cup.weigh_out.ratio_error + cup.weigh_out.reading_error_worst:.1%}, and the cure stands "
            f"{cup.weigh_out.ratio_error_most:.1%}. Mix at least {cup.weigh_out.smallest_sound_batch_g:.1f} g, "
            "or use a finer scale.",
            "pour.scale_step",
        )
        for cup in out
        if not cup.weigh_out.sound
    ]
    found += [
        (
            "outlasts_pot_life",
            f"{slow.pour.name}: filling takes {slow.over_s / 60:.0f} min longer than the pot life leaves. "
            "Use a syringe (`fill: syringe`), or a slower or thinner elastomer.",
            "mold.fill",
        )
        for slow in too_slow
    ]
    return found
