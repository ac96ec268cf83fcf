"""The work at the bench in order: what to do, what to watch, and the caution where it matters.

Words made from a case, its plan and its pour; numbers come from there and from nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from moldgen.case import Case
from moldgen.mold.plan import MoldPlan
from moldgen.pouring import MIXING_S, RESTING_S, VENTS_TO_FILL, Pour

SHEET_FIRST = "The maker's safety data sheet, local rules and licensed practice come before anything said here."


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do."""

    title: str
    text: str
    cautions: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {"title": self.title, "text": self.text, "cautions": list(self.cautions)}


def steps(case: Case, plan: MoldPlan, pour: Pour) -> tuple[Step, ...]:
    """From the printer to the machine."""
    return tuple(_steps(case, plan, pour))


def _steps(case: Case, plan: MoldPlan, pour: Pour) -> Iterator[Step]:
    rubber = case.elastomer
    yield _print(case, plan)
    yield Step(
        "Make the mold ready",
        f"Try the halves together; scrape what keeps them apart. Release: "
        f"{'; '.join(rubber.release) or 'none is needed'}. " + _insert_text(plan),
        ("Release sprays and solvents: open windows, no flame, no running motor near them.",),
    )
    yield _weigh(pour, rubber.hazards)
    yield Step(
        "Mix",
        f"Stir slowly for two minutes, scraping wall and bottom; let it stand {RESTING_S / 60:.0f} min. From the "
        f"moment the "
        f"parts touch it stays pourable for {pour.pot_life_s / 60:.0f} min at {case.spec.pour.shop_degc:.0f} °C. "
        f"Bubbles over {pour.bubble_cup_mm:.2g} mm leave the cup while it stands.",
        tuple(f"Keep away: {phrase}." for phrase in rubber.inhibited_by),
    )
    yield _fill(case, plan, pour)
    yield Step(
        "Let it cure",
        f"Do not open before {_hours(pour.demould_s)}. It may work after {_hours(pour.full_cure_s)}."
        + _post_cure(case),
        ("Never cure or post-cure in an oven that is used for food.",),
    )
    yield Step(
        "Open and trim",
        "Take the screws or clamps off, put a blunt blade into a pry slot and turn it; work round from slot to slot. "
        "Cut the plugs off at the gate and vents, and the flash along the parting edge, with a fresh blade.",
        ("Cut away from your fingers and hold the part down, not in the hand.",),
    )
    yield _grind_and_fit(case)
    yield Step(
        "Check",
        "Measure the casting as it lies (free) and on its metal (fitted), note both, and compare with the four "
        "columns. "
        "What is off tells the next mold.",
        ("Pull the mains plug before you reach into a machine; keep fingers and sleeves off turning rollers.",),
    )


def _print(case: Case, plan: MoldPlan) -> Step:
    bodies = "Lower half cavity up, upper half with the mouth of its sprue on the bed"
    core = ", core upright" if plan.cavity.core is not None else ""
    wedge = ", and the wedge as it lies" if plan.wedge is not None else ""
    printer = case.printer
    return Step(
        "Print",
        f"{bodies}{core}{wedge}. {printer.plastic.upper()}, {printer.layer_mm:g} mm layers, three or four walls, "
        f"20 % filling, "
        "no supports; slow outer walls, since every line of the cavity shows on the part.",
    )


def _insert_text(plan: MoldPlan) -> str:
    if plan.cavity.insert is None:
        return ""
    return (
        "Blast or sand the metal's seat bright, degrease it, prime it if the maker has a primer, and do not "
        "touch it again. "
        "Lay it into the lower half; keep release off it."
    )


def _weigh(pour: Pour, hazards: tuple[str, ...]) -> Step:
    cup = pour.cup
    grams = ", then ".join(f"{c.grams:g} g {c.name}" for c in cup.components)
    text = f"{grams}: {cup.batch_g:g} g together, with {cup.spare:.0%} spare."
    if pour.sound_cup is not None:
        better = ", then ".join(f"{c.grams:g} g {c.name}" for c in pour.sound_cup.components)
        text += (
            f" On a {cup.scale_step_g:g} g scale so small a cup may miss the ratio by "
            f"{cup.ratio_error + cup.reading_error_worst:.0%}; mix {pour.sound_cup.batch_g:g} g instead: {better}."
        )
    text += " If the tins say another mixing ratio, theirs is right: put it into the spec."
    return Step("Weigh", text, (*hazards, SHEET_FIRST))


def _fill(case: Case, plan: MoldPlan, pour: Pour) -> Step:
    if not plan.sprues:
        return Step(
            "Fill and close",
            "Fill the lower half a little over full, tip the upper half on from one side so that it pushes the "
            "air out, "
            "and press it home; what is too much runs into the channel. Clamp it.",
        )
    stand = (
        f"Stand the closed mold on its wedge, the funnel's end low ({plan.attitude.tilt_deg:g}°)"
        if plan.wedge is not None
        else "Stand the closed mold level"
    )
    how = (
        "press the syringe into the socket and push steadily"
        if case.spec.mold.fill == "syringe"
        else "pour a thin stream into the funnel and keep it full"
    )
    force = f" About {pour.plunger_n:.0f} N on the plunger does it in time." if pour.plunger_n is not None else ""
    return Step(
        "Fill",
        f"{stand}. Then {how} until the rubber stands at {VENTS_TO_FILL:.0%} of the height in every vent: about "
        f"{max(pour.fill_s / 60, 0.5):.1f} min, and there are {max(pour.time_to_pour_s, 0) / 60:.0f} min for it after "
        f"{MIXING_S / 60:.0f} min of mixing.{force}",
    )


def _post_cure(case: Case) -> str:
    cure, hours = case.elastomer.post_cure_degc, case.elastomer.post_cure_time_s
    if cure is None:
        return ""
    length = f" for {hours.value / 3600:.0f} h" if hours is not None else ""
    return f" A post-cure at {cure.value:.0f} °C{length} completes it; out of the mold, if the print would soften."


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
        ("Grinding: extraction or a wet abrasive, FFP2 mask, goggles; nothing loose near a turning spindle.",)
        if ground
        else (),
    )


def _hours(seconds: float) -> str:
    hours = seconds / 3600.0
    return f"{hours:.0f} h" if hours < 72.0 else f"{hours / 24.0:.0f} days"
