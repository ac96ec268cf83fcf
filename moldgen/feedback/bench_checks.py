"""What a restorer can check without instruments, beside what the sizing leads one to expect.

A strip of paper in the nip shows its footprint; a spring balance on a thread round a wheel shows where a belt or a tyre
slips; a clutch drum turned both ways shows its drag and whether it locks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final, Literal

from moldgen.feedback.speed import SIGNIFICANT
from moldgen.quantities import Estimate
from moldgen.sizing import Predicted, Sizing
from moldgen.uncertainty import COVERAGE_95, Uncertain

Sense = Literal["about", "at_least", "at_most"]
Way = Literal["free", "locked"]


@dataclass(frozen=True, slots=True)
class Expected:
    """A figure that can be checked on the bench."""

    key: str
    how: str
    """What to do, for the job sheet."""
    range: Uncertain
    sense: Sense
    if_less: str
    if_more: str

    @property
    def unit(self) -> str:
        return "mm" if self.key.endswith("_mm") else "N·mm"

    @property
    def member(self) -> str:
        """Of which of several, such as a belt's pulleys; empty where there is one."""
        return self.key.split(".")[-2] if "." in self.key else ""

    @property
    def words(self) -> str:
        """What is checked, as a person says it."""
        name = self.key.split(".")[-1].removesuffix("_mm").removesuffix("_nmm").replace("_", " ")
        return f"{self.member}, {name}" if self.member else name

    @property
    def limits(self) -> str:
        """What to expect, in words."""
        low, high = f"{max(self.range.low, 0.0):.3g}", f"{self.range.high:.3g}"
        if self.sense == "at_least":
            return f"at least {low} {self.unit}"
        return f"at most {high} {self.unit}" if self.sense == "at_most" else f"{low} to {high} {self.unit}"


@dataclass(frozen=True, slots=True)
class Checked:
    """A reading beside what was expected."""

    expected: Expected
    reading: Estimate
    agrees: bool
    verdict: str

    def as_json(self) -> dict[str, Any]:
        half = COVERAGE_95 * self.reading.u
        range_ = self.expected.range
        return {
            "check": self.expected.key,
            "reading": {"value": float(self.reading), "low": self.reading - half, "high": self.reading + half},
            "expected": {"value": range_.value, "low": range_.low, "high": range_.high},
            "sense": self.expected.sense,
            "agrees": self.agrees,
            "verdict": self.verdict,
        }


_FOOTPRINT: Final = (
    "Press a strip of paper with carbon paper on it into the nip at rest, and measure the mark the way it runs.",
    "too little force, rubber too hard, or a wheel that is too small",
    "too much force, or rubber too soft",
)
_BELT: Final = (
    "Hold every other pulley, wind a thread round this one and pull with a spring balance until the belt slips: pull "
    "times radius.",
    "the belt is slack, greasy or its rubber slippery: clean it and the pulleys before anything is made anew",
    "more tension than planned: mind the bearings",
)
_HOLD: Final = (
    "Hold the metal, wind a thread round the rubber and pull with a spring balance until it turns on the metal: pull "
    "times radius.",
    "it will creep round on its metal: degrease both, or take more stretch or a bond",
    "it holds better than asked for",
)
_DRAG: Final = (
    "Turn the drum its free way by a thread round it and a spring balance: pull times radius.",
    "less drag than at the highest friction, as it should be",
    "the pads press too hard or the drum is tarry: look at the interference",
)
_LOCK: Final = (
    "Turn the drum the other way: pull times radius that it carries before it gives.",
    "it lets go too early: clean the drum, prove the friction on a slope, look at the angle",
    "it carries more than asked for",
)


def expected_checks(sizing: Sizing) -> tuple[Expected, ...]:
    """Every figure of a sizing that can be checked on the bench."""
    found = []
    for item in sizing.predictions:
        key, name = item.prediction.key, item.prediction.name
        if key == "nip_width_mm":
            found.append(_expected(item, _FOOTPRINT, "about"))
        elif name == "slip_torque_nmm":
            found.append(_expected(item, _BELT, "about"))
        elif key == "hub_slip_torque_nmm":
            found.append(_expected(item, _HOLD, "at_least"))
        elif key == "drag_torque_nmm":
            found.append(_expected(item, _DRAG, "at_most"))
        elif key == "lock_torque_nmm":
            found.append(_expected(item, _LOCK, "at_least"))
    return tuple(found)


def _expected(item: Predicted, words: tuple[str, str, str], sense: Sense) -> Expected:
    how, less, more = words
    return Expected(item.prediction.key, how, item.range, sense, less, more)


def checked(expected: Expected, reading: Estimate) -> Checked:
    """The reading's verdict: the two differ if they do so by more than twice their joint standard uncertainty.

    Source: JCGM 100:2008 (GUM), 5.1.2, of a difference.
    """
    off = reading - expected.range.value
    within = SIGNIFICANT * math.hypot(reading.u, expected.range.u)
    short, over = off < -within, off > within
    agrees = not (short and expected.sense != "at_most") and not (over and expected.sense != "at_least")
    if short:
        verdict = f"less than expected: {expected.if_less}"
    elif over:
        verdict = f"more than expected: {expected.if_more}"
    else:
        verdict = "as expected"
    return Checked(expected, reading, agrees, verdict)


def torque(*, pull_n: Estimate, arm_mm: Estimate) -> Estimate:
    """Pull times arm with its uncertainty, in N·mm.

    By hand: 0.8 * 25 = 20

    >>> float(torque(pull_n=Estimate(0.8), arm_mm=Estimate(25.0)))
    20.0
    """
    value = pull_n * arm_mm
    share = math.hypot(pull_n.u / pull_n, arm_mm.u / arm_mm)
    return Estimate(value, u=value * share, text=f"{pull_n.text} at {arm_mm.text}")
