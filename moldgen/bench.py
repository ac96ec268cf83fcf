"""The work at the bench in order: what to do, what to watch, and the caution where it matters.

Words made from a case, its plan and its pour; numbers come from there and from nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldgen.case import Case
from moldgen.casting.recipe import in_order
from moldgen.fill_time import BARREL_MM, THUMB_N, VENTS_TO_FILL
from moldgen.jigs.plan import Jig
from moldgen.mold.plan import MoldPlan
from moldgen.pouring import BUBBLE_THAT_SHOWS_MM, MIXING_S, RESTING_S, SOFT_BELOW_K, Pour
from moldgen.printers import Printer
from moldgen.printing import INFILL, WALLS

if TYPE_CHECKING:
    from moldgen.feedback.bench_checks import Expected

SHEET_FIRST = "The maker's safety data sheet, local rules and licensed practice come before anything said here."


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do."""

    title: str
    text: str
    cautions: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {"title": self.title, "text": self.text, "cautions": list(self.cautions)}


def steps(
    case: Case, plan: MoldPlan, pour: Pour, jigs: tuple[Jig, ...], checks: tuple[Expected, ...]
) -> tuple[Step, ...]:
    """From the printer to the machine; `checks` are what can be told there without instruments."""
    return tuple(_steps(case, plan, pour, jigs, checks))


def _steps(
    case: Case, plan: MoldPlan, pour: Pour, jigs: tuple[Jig, ...], checks: tuple[Expected, ...]
) -> Iterator[Step]:
    rubber = case.elastomer
    yield _print(case, plan)
    yield Step(
        "Make the mold ready",
        f"Try the halves together; scrape what keeps them apart. Release: "
        f"{'; '.join(rubber.release) or 'none is needed'}. It sticks to {', '.join(rubber.sticks_to)}; not to "
        f"{', '.join(rubber.does_not_stick_to)}. " + _insert_text(plan),
        (
            "Release sprays and solvents: open windows, no flame, no running motor near them.",
            *_at("ready", rubber.hazards),
            *(_spoils(phrase) for phrase in rubber.inhibited_by),
        ),
    )
    yield _weigh(case, pour)
    yield _mix(case, pour)
    yield _fill(case, plan, pour)
    yield Step(
        "Let it cure",
        f"Do not open before {_hours(pour.demould_s)}. It may work after {_hours(pour.full_cure_s)}."
        + _post_cure(case),
        _at("cure", rubber.hazards) or ("Never cure or post-cure in an oven that is used for food.",),
    )
    yield Step(
        "Open and trim",
        "Take the screws or clamps off, put a blunt blade into a pry slot and turn it; work round from slot to slot. "
        "Cut the plugs off at the gate and vents, and the flash along the parting edge, with a fresh blade.",
        ("Cut away from your fingers and hold the part down, not in the hand.",),
    )
    for jig in jigs:
        title = f"With the {jig.name.replace('_', ' ')}"
        yield Step(title, " ".join((jig.what_for, *jig.how_to_use)), jig.cautions)
    yield _grind_and_fit(case)
    yield Step(
        "Check",
        "Measure the casting as it lies (free) and on its metal (fitted), note both, and compare with the four "
        "columns. What is off tells the next mold." + "".join(f" {sentence}" for sentence in _to_check(checks)),
        ("Pull the mains plug before you reach into a machine; keep fingers and sleeves off turning rollers.",),
    )


def _to_check(checks: tuple[Expected, ...]) -> Iterator[str]:
    """How each thing is checked on the machine, and what to expect there; of several pulleys in one sentence."""
    for how in dict.fromkeys(check.how for check in checks):
        alike = [check for check in checks if check.how == how]
        yield f"{how} Expect {', '.join(f'{one.limits} {_where(one)}'.strip() for one in alike)}."


def _where(check: Expected) -> str:
    return f"({check.member})" if check.member else ""


_MATTERS_AT = {"ready": ("cleaning",), "fill": ("spilt",), "cure": ("post-cure", "while it cures"), "grind": ("grind",)}
"""Words of a hazard by which it belongs to another step than the weighing."""


def _at(step: str, hazards: tuple[str, ...]) -> tuple[str, ...]:
    """The hazards that matter at a step, as sentences."""
    found = []
    for phrase in hazards:
        places = [place for place, words in _MATTERS_AT.items() if any(word in phrase for word in words)]
        if step in (places or ["weigh"]):
            found.append(f"{phrase[0].upper()}{phrase[1:]}.")
    return tuple(found)


def _spoils(phrase: str) -> str:
    """What keeps it from curing, as a sentence."""
    if phrase.startswith("little"):
        return f"Little spoils its cure{phrase.removeprefix('little')}."
    return f"Spoils the cure: {phrase}."


def _print(case: Case, plan: MoldPlan) -> Step:
    bodies = "Lower half cavity up, upper half with the mouth of its sprue on the bed"
    core = ", core upright" if plan.cavity.core is not None else ""
    wedge = ", and the wedge as it lies" if plan.wedge is not None else ""
    printer = case.printer
    drilled = sorted({round(o.gate_diameter_mm, 1) for o in (*plan.sprues, *plan.vents) if o.drilled})
    drill = f" Drill the gate or vent through with {' and '.join(f'{d:.1f}' for d in drilled)} mm." if drilled else ""
    return Step(
        "Print",
        f"{bodies}{core}{wedge}.{drill} {printer.plastic.upper()}, {printer.layer_mm:g} mm layers, {_inside(printer)}"
        "no supports; slow outer walls, since every line of the cavity shows on the part.",
    )


def _inside(printer: Printer) -> str:
    """What lies behind a body's surface, as the estimate of the print takes it too."""
    return "solid, " if printer.plastic == "photopolymer" else f"{WALLS} walls, {INFILL:.0%} filling, "


def _insert_text(plan: MoldPlan) -> str:
    if plan.cavity.insert is None:
        return ""
    return (
        "Blast or sand the metal's seat bright, degrease it, prime it if the maker has a primer, and do not "
        "touch it again. "
        "Lay it into the lower half; keep release off it."
    )


def _weigh(case: Case, pour: Pour) -> Step:
    need, mixed = pour.cup, pour.mixed
    grams = ", then ".join(f"{c.grams:g} g {c.name}" for c in in_order(case.elastomer, mixed))
    text = f"{grams}: {mixed.batch_g:g} g together"
    if mixed is need:
        text += f", with {need.spare:.0%} spare."
    else:
        finer = "" if need.finer_scale_step_g is None else f", enough for a {need.finer_scale_step_g:g} g scale"
        text += (
            f". The mold needs only {need.batch_g:g} g{finer}, but on a {need.scale_step_g:g} g scale so small a cup "
            f"may miss the ratio by {need.ratio_error + need.reading_error_worst:.0%}, and the cure stands "
            f"{need.ratio_error_most:.0%}."
        )
    text += " Zero the scale before each. If the tins say another mixing ratio, theirs is right: put it into the spec."
    return Step("Weigh", text, (*_at("weigh", case.elastomer.hazards), SHEET_FIRST))


def _mix(case: Case, pour: Pour) -> Step:
    last = in_order(case.elastomer, pour.mixed)[-1].name
    extras = " Stir what goes in besides well in before the last tin." if case.spec.pour.extras else ""
    degas = ""
    if pour.bubble_cup_mm > BUBBLE_THAT_SHOWS_MM:
        least, ample = pour.vessel_ml
        degas = (
            f" With a vacuum pump degas it now, in a vessel of {least:.0f} to {ample:.0f} ml, since it rises, until "
            "the foam has fallen back; this comes off the pot life."
        )
    return Step(
        "Mix",
        f"{extras} Stir slowly for two minutes, scraping wall and bottom; let it stand {RESTING_S / 60:.0f} min. From "
        f"the moment {last} goes in it stays pourable for {pour.pot_life_s / 60:.0f} min at "
        f"{case.spec.pour.shop_degc:.0f} °C. Bubbles over {pour.bubble_cup_mm:.2g} mm leave the cup while it "
        f"stands.{degas}".lstrip(),
        tuple(_spoils(phrase) for phrase in case.elastomer.inhibited_by if _from_hand_or_air(phrase)),
    )


def _from_hand_or_air(phrase: str) -> bool:
    """Whether what spoils a cure comes from gloves, tools or damp, and so at the mixing too."""
    return any(word in phrase for word in ("moisture", "gloves", "tools", "air"))


def _fill(case: Case, plan: MoldPlan, pour: Pour) -> Step:
    if not plan.sprues:
        return Step(
            "Fill and close",
            "Fill the lower half a little over full, tip the upper half on from one side so that it pushes the air "
            "out, and press it home; what is too much runs into the channel. Clamp it.",
            _at("fill", case.elastomer.hazards),
        )
    stand = (
        f"Stand the closed mold on its wedge, the funnel's end low ({plan.attitude.tilt_deg:g}°)"
        if plan.wedge is not None
        else "Stand the closed mold level"
    )
    several = len(plan.sprues) > 1
    if case.spec.mold.fill == "syringe":
        each = "each socket in turn" if several else "the socket"
        how = f"press the syringe into {each} and push steadily"
    else:
        each = "all funnels in turn and keep them full" if several else "the funnel and keep it full"
        how = f"pour a thin stream into {each}"
    return Step(
        "Fill",
        f"{stand}. Then {how} until the rubber stands at {VENTS_TO_FILL:.0%} of the height in every vent: about "
        f"{max(pour.fill_s / 60, 0.5):.1f} min, and there are {max(pour.time_to_pour_s, 0) / 60:.0f} min for it after "
        f"{MIXING_S / 60:.0f} min of mixing.{_thumb(pour)}",
        _at("fill", case.elastomer.hazards),
    )


def _thumb(pour: Pour) -> str:
    """How hard to push."""
    if pour.plunger_n is None:
        return ""
    least = f"; {pour.plunger_n:.0f} N just do it in time" if pour.plunger_n >= 1.0 else ""
    return f" That is with {THUMB_N:.0f} N on the plunger of a {BARREL_MM:.0f} mm barrel{least}."


def _post_cure(case: Case) -> str:
    cure, hours = case.elastomer.post_cure_degc, case.elastomer.post_cure_time_s
    if cure is None:
        return ""
    length = f" for {hours.value / 3600:.0f} h" if hours is not None else ""
    softens = case.printer.softens_degc
    where = (
        f"out of the mold, since the print softens at {softens:.0f} °C"
        if cure.value > softens - SOFT_BELOW_K
        else f"in the mold or out of it (the print softens at {softens:.0f} °C)"
    )
    return f" A post-cure at {cure.value:.0f} °C{length} completes it, {where}."


def _grind_and_fit(case: Case) -> Step:
    allowance = getattr(case.spec.wanted, "grind_allowance_mm", 0.0)
    ground = (
        "Put it on its metal first, then grind the running surface true with a fine abrasive, little by little, "
        "down to the "
        "fitted diameter. "
        if allowance > 0.0
        else ""
    )
    return Step(
        "Grind and fit" if ground else "Fit",
        f"{ground}Soapy water lets a stretched part slide into place; wipe it off and let it dry. Clean what it "
        f"runs on.",
        (
            "Grinding: extraction or a wet abrasive, FFP2 mask, goggles; nothing loose near a turning spindle.",
            *_at("grind", case.elastomer.hazards),
        )
        if ground
        else (),
    )


def _hours(seconds: float) -> str:
    hours = seconds / 3600.0
    return f"{hours:.0f} h" if hours < 72.0 else f"{hours / 24.0:.0f} days"
