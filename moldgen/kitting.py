"""A kit of parts on one bench: what goes into which cup, and when."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, Literal

from moldgen.case import Case
from moldgen.casting import kit as cups
from moldgen.casting.recipe import weigh_out_json, weighed
from moldgen.casting.weighing import WeighOut
from moldgen.elastomers import Elastomer
from moldgen.fill_time import MOVING_ON_S, fill_time_s, quicker
from moldgen.mold.plan import MoldPlan
from moldgen.output.currency import current_build
from moldgen.planning import planned
from moldgen.pouring import MIXING_S, THICKENS, at_shop_s, recipe, sound_cup
from moldgen.remarks import Remark
from moldgen.sizing import Sizing, remark_json

SCHEMA: Final = "moldgen/mix/1"

TAINTING: Final = ("silicone_sn", "polysulfide")
"""Classes whose tin, sulphur or amines stop a platinum-cured silicone: poured last, with tools of their own."""
TAINTED: Final = "silicone_pt"


@dataclass(frozen=True, slots=True)
class KitPart:
    """A part with its mold, and where the mold's volume is known from."""

    case: Case
    plan: MoldPlan
    volume_mm3: float
    """Everything to be filled, once."""
    volume_from: Literal["build", "built now", "plan"]
    proved: bool
    """False where a proof of the build failed."""

    @property
    def cavities(self) -> int:
        return len(self.plan.places)

    @property
    def fillings(self) -> int:
        """How often the mold is filled for as many parts as are wanted."""
        return math.ceil(self.castings / self.cavities)

    @property
    def castings(self) -> int:
        """What is cast in all: a long belt may be joined from several cords."""
        return self.case.spec.quantity * self.plan.cavity.pieces

    def as_json(self) -> dict[str, Any]:
        return {
            "name": self.case.name,
            "elastomer": self.case.elastomer.id,
            "quantity": self.case.spec.quantity,
            "cavities": self.cavities,
            "fillings": self.fillings,
            "volume_mm3": round(self.volume_mm3, 3),
            "volume_from": self.volume_from,
        }


@dataclass(frozen=True, slots=True)
class KitCup:
    """One cup: what it is weighed from and what it fills."""

    case: Case
    """Of any of its parts: elastomer, recipe and shop are the same for all."""
    batch: cups.Batch
    weigh_out: WeighOut
    sound: WeighOut | None
    """The smallest cup whose ratio is sure on this scale, where `weigh_out` is not."""
    fine: WeighOut | None
    """The cup that is needed, on the coarsest scale on which its ratio is sure, where `weigh_out` is not."""
    round: int = 1
    """Of the fillings: a mold that is cast several times is filled again once it has been opened."""

    @property
    def elastomer(self) -> Elastomer:
        return self.case.elastomer

    @property
    def mixed(self) -> WeighOut:
        """The cup to mix on this scale."""
        return self.weigh_out if self.sound is None else self.sound

    @property
    def sets_s(self) -> float:
        """When its pot life ends."""
        return self.batch.starts_s + at_shop_s(self.case, self.elastomer.pot_life_s.value)

    def later(self, *, starts_s: float, round: int) -> KitCup:
        """The same cup in a later round, which begins then."""
        batch = replace(
            self.batch,
            starts_s=starts_s + self.batch.starts_s,
            poured_s=starts_s + self.batch.poured_s,
            demould_s=starts_s + self.batch.demould_s,
        )
        return replace(self, batch=batch, round=round)

    def as_json(self) -> dict[str, Any]:
        return {
            "elastomer": self.elastomer.id,
            "cup": self.batch.number,
            "round": self.round,
            "volume_mm3": round(self.batch.volume_mm3, 3),
            **weigh_out_json(self.weigh_out),
            "sound_mix": None if self.sound is None else weigh_out_json(self.sound),
            "parts": list(self.batch.parts),
            "pours": [{"part": pour.name, "fill_s": round(pour.fill_s, 1)} for pour in self.batch.pours],
            "starts_s": round(self.batch.starts_s, 1),
            "poured_s": round(self.batch.poured_s, 1),
            "sets_s": round(self.sets_s, 1),
            "demould_s": round(self.batch.demould_s, 1),
        }


@dataclass(frozen=True, slots=True)
class WeighedKit:
    """All cups in the order to mix them."""

    parts: tuple[KitPart, ...]
    cups: tuple[KitCup, ...]
    warnings: tuple[Remark, ...]

    @property
    def proved(self) -> bool:
        return all(part.proved for part in self.parts)

    def as_json(self) -> dict[str, Any]:
        return {
            "schema": SCHEMA,
            "parts": [part.as_json() for part in self.parts],
            "batches": [cup.as_json() for cup in self.cups],
            "warnings": [remark_json(remark) for remark in self.warnings],
        }


def kit_part(sized: Sizing, *, out: Path, may_build: bool) -> KitPart:
    """The part with the volume of its build in out/NAME where that is current; else it is built, or the plan's is used.

    The plan's volume is a closed form, which each build proves against the kernel's. Raises SpecError where the mold
    cannot be planned, GeometryError and OutputError where it cannot be built.
    """
    case, plan = sized.case, planned(sized)
    found = current_build(out / case.name, case, pour_mm3=plan.pour_mm3)
    if found is not None:
        return KitPart(case, plan, found.pour_mm3, "build", found.passed)
    if not may_build:
        return KitPart(case, plan, plan.pour_mm3, "plan", proved=True)
    from moldgen import job  # the CAD kernel comes in here, and only if there is something to build

    build = job.build(sized, out)
    return KitPart(case, build.plan, build.plan.pour_mm3, "built now", build.passed)


def weigh_out_kit(parts: Sequence[KitPart], *, spare: float | None, scale_step_g: float | None) -> WeighedKit:
    """The cups for all fillings of every part's mold. Options given here win over what the specs say.

    Parts share a cup if elastomer, figures, recipe and shop are the same. A mold is filled again when it has been
    opened, so each further filling is a round of its own.
    """
    step = scale_step_g if scale_step_g is not None else max(part.case.spec.pour.scale_step_g for part in parts)
    found: list[KitCup] = []
    remarks: list[Remark] = []
    round_cups: tuple[KitCup, ...] = ()
    round_parts: list[KitPart] = []
    starts_s = 0.0
    for number in range(1, max(part.fillings for part in parts) + 1):
        again = [part for part in parts if part.fillings >= number]
        if again != round_parts:
            round_parts = again
            round_cups, said = _round(again, spare=spare, scale_step_g=step)
            remarks += [remark for remark in said if remark not in remarks]
        found += [cup.later(starts_s=starts_s, round=number) for cup in round_cups]
        next_names = {part.case.name for part in parts if part.fillings > number}
        opened = [cup.batch.demould_s for cup in round_cups if next_names.intersection(cup.batch.parts)]
        starts_s += max(opened, default=0.0)
    return WeighedKit(tuple(parts), tuple(found), (*remarks, *_of_the_kit(parts)))


def _round(
    parts: Sequence[KitPart], *, spare: float | None, scale_step_g: float
) -> tuple[tuple[KitCup, ...], tuple[Remark, ...]]:
    """The cups for one filling of each mold, and what they call for."""
    cases = {_cup_key(part.case): part.case for part in parts}
    pours = [_pour(part) for part in parts]
    workings = {key: _working(case, [pour for pour in pours if pour.elastomer == key]) for key, case in cases.items()}
    kit = cups.plan_kit(pours=pours, workings=workings)
    by_name = {part.case.name: part for part in parts}
    found = []
    for batch in kit.batches:
        asked = max(by_name[name].case.spec.pour.spare for name in batch.parts)
        found.append(_cup(cases[batch.elastomer], batch, spare if spare is not None else asked, scale_step_g))
    remarks = [_too_slow(by_name[slow.pour.name], slow.pour) for slow in kit.too_slow]
    return tuple(found), (*_warnings(found), *remarks)


def _pour(part: KitPart) -> cups.Pour:
    fill_s = fill_time_s(part.case, part.plan) + MOVING_ON_S
    return cups.Pour(part.case.name, _cup_key(part.case), part.volume_mm3, fill_s)


def _pouring_s(case: Case) -> float:
    """What the pot life leaves once the mix is ready."""
    return max(at_shop_s(case, case.elastomer.pot_life_s.value) - MIXING_S, 0.0)


def _working(case: Case, pours: Sequence[cups.Pour]) -> cups.Working:
    """Times to plan with: the mix thickens, so a cup is not shared up to the end of its pot life.

    A mold that takes longer by itself, and still fits, may have all of it.
    """
    left_s = _pouring_s(case)
    fitting = [pour.fill_s for pour in pours if pour.fill_s <= left_s]
    return cups.Working(
        pot_life_s=MIXING_S + max(left_s / THICKENS, *fitting, 0.0),
        preparation_s=MIXING_S,
        demould_s=at_shop_s(case, case.elastomer.demould_s.value),
        taints=case.elastomer.chemistry in TAINTING,
    )


def _cup(case: Case, batch: cups.Batch, spare: float, scale_step_g: float) -> KitCup:
    system = recipe(case)

    def on_scale(step_g: float) -> WeighOut:
        return weighed(case.elastomer, system, volume_mm3=batch.volume_mm3, spare=spare, scale_step_g=step_g)

    cup = on_scale(scale_step_g)
    return KitCup(
        case,
        batch,
        cup,
        None if cup.sound else sound_cup(case.elastomer, system, cup, spare=spare),
        None if cup.finer_scale_step_g is None else on_scale(cup.finer_scale_step_g),
    )


def _cup_key(case: Case) -> str:
    """What must be the same for two molds to be filled from one cup."""
    pour, rubber = case.spec.pour, case.elastomer
    extras = ", ".join(f"{extra.name} {float(extra.share):g}" for extra in pour.extras)
    figures: Mapping[str, Any] = rubber.as_json() if rubber.changed_by else {}
    kinetics = f"{float(pour.shop_degc):g} {pour.activation_energy}"
    return " | ".join((rubber.id, repr(figures), pour.by, extras, kinetics))


def _warnings(found: Sequence[KitCup]) -> Iterator[Remark]:
    for cup in found:
        need, mixed = cup.weigh_out, cup.mixed
        if not need.sound:
            finer = f", or weigh on a {need.finer_scale_step_g:g} g scale" if need.finer_scale_step_g else ""
            yield Remark(
                "ratio_unsure",
                f"{cup.elastomer.label}, cup {cup.batch.number}: on a {need.scale_step_g:g} g scale the ratio of "
                f"{need.batch_g:g} g may be off by {need.ratio_error + need.reading_error_worst:.1%}, and the cure "
                f"stands {need.ratio_error_most:.1%}. Mix at least {need.smallest_sound_batch_g:g} g{finer}.",
                "pour.scale_step",
            )
        if mixed.large_cup:
            yield Remark(
                "large_cup",
                f"{cup.elastomer.label}, cup {cup.batch.number}: {mixed.batch_g:.0f} g in one cup warm themselves and "
                "set sooner than the pot life says. Split it, or pour it out flat at once.",
                "quantity",
            )


def _too_slow(part: KitPart, pour: cups.Pour) -> Remark:
    left_s = _pouring_s(part.case)
    return Remark(
        "outlasts_pot_life",
        f"{pour.name}: filling takes {pour.fill_s / 60:.0f} min, and the pot life leaves {left_s / 60:.0f} min after "
        "mixing, so it is in no cup. " + quicker(part.case, part.plan, max(left_s - MOVING_ON_S, 1.0)),
        "mold.fill",
    )


def _castings(part: KitPart) -> str:
    parts, pieces = part.case.spec.quantity, part.plan.cavity.pieces
    whole = f"{parts} parts" if parts > 1 else "the part"
    return whole if pieces == 1 else f"{part.castings} pieces for {whole}"


def _of_the_kit(parts: Sequence[KitPart]) -> Iterator[Remark]:
    """What the parts call for together."""
    classes = {part.case.elastomer.chemistry: part.case.elastomer.title for part in parts}
    taints = sorted(classes[chemistry] for chemistry in classes if chemistry in TAINTING)
    if taints and TAINTED in classes:
        yield Remark(
            "taints",
            f"{' and '.join(taints)} stops {classes[TAINTED]} from curing: give each its own cups, sticks, gloves and "
            "molds, and pour it last.",
            "elastomer",
        )
    for part in parts:
        if part.fillings > 1:
            yield Remark(
                "several_fillings",
                f"{part.case.name}: {_castings(part)} from {part.cavities} "
                f"{'cavity' if part.cavities == 1 else 'cavities'} are {part.fillings} fillings, one after the other. "
                "A second print of the mold halves that.",
                "mold.cavities",
            )
        if not part.proved:
            yield Remark(
                "proof_failed",
                f"{part.case.name}: a proof of its mold does not hold. See `moldgen inspect` before you pour it.",
                "name",
            )
