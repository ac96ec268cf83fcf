"""What to put on the scale: from a volume to the grams of every component, in steps the scale can show.

Two errors spoil a ratio. One is known beforehand: the grams asked for are multiples of the scale's step, so
the ratio is a little off as written. The other is the reading: the scale rounds what is really in the cup.
Their sum, both at their worst, is held against what the elastomer stands.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from moldgen.errors import MoldgenError, require_range
from moldgen.mechanics.cure import POT_LIFE_CUP_G

SCALE_STEPS_G: Final = (1.0, 0.5, 0.1, 0.05, 0.01, 0.005, 0.001)
"""Steps of scales that people can get hold of, coarse to fine (common practice, no source)."""

LEAST_SHARE: Final = 0.0005
"""Of all components together; what is less goes in as a pre-mix (judgement, no source)."""

# A ratio this much of the allowed error better is not worth a larger batch.
_NEGLIGIBLE: Final = 1.0 / 20.0


class MixError(MoldgenError, ValueError):
    """A mix system that cannot be weighed out as described; the message says why and what to give."""


@dataclass(frozen=True, slots=True)
class Component:
    """One of the parts that cure together; `parts` by weight or by volume, as its MixSystem says."""

    name: str
    parts: float
    density_g_cm3: float | None = None
    """Needed only where parts are by volume."""


@dataclass(frozen=True, slots=True)
class Extra:
    """What goes in besides and does not decide the cure: thinner, pigment paste."""

    name: str
    fraction: float
    """Mass over that of all components together: 3 % of A + B is 0.03."""


@dataclass(frozen=True, slots=True)
class MixSystem:
    """An elastomer's recipe. The first component is the one that the others' ratios refer to."""

    components: tuple[Component, ...]
    extras: tuple[Extra, ...] = ()
    by: Literal["weight", "volume"] = "weight"

    def __post_init__(self) -> None:
        require_range("number of components", len(self.components), 1, 6)
        require_range("number of extras", len(self.extras), 0, 6)
        names = [component.name for component in self.components] + [extra.name for extra in self.extras]
        if len(set(names)) < len(names):
            raise MixError(f"two of {', '.join(names)} have the same name; name each component once")
        for component in self.components:
            require_range(f"parts of {component.name}", component.parts, 1e-6, 1e6)
            if component.density_g_cm3 is not None:
                require_range(f"density of {component.name}", component.density_g_cm3, 0.5, 5.0)
            elif self.by == "volume":
                raise MixError(f"{component.name} is given by volume without a density; give its density in g/cm³")
        for component, parts in zip(self.components, self.mass_parts, strict=True):
            if parts < LEAST_SHARE:
                raise MixError(
                    f"{component.name} is {100.0 * parts:.2f} % of the components, too little to weigh in; "
                    "stir it into one of the others first and give that pre-mix instead"
                )
        for extra in self.extras:
            require_range(f"fraction of {extra.name}", extra.fraction, 1e-4, 1.0)

    @property
    def mass_parts(self) -> tuple[float, ...]:
        """Each component's share of the mass of all components: parts, times density where by volume."""
        masses = [c.parts * (c.density_g_cm3 or 1.0) if self.by == "volume" else c.parts for c in self.components]
        return tuple(mass / math.fsum(masses) for mass in masses)

    @property
    def extras_over_components(self) -> float:
        """Mass of all extras over the mass of all components."""
        return math.fsum(extra.fraction for extra in self.extras)


@dataclass(frozen=True, slots=True)
class Weighed:
    """One line of the weigh-out table."""

    name: str
    grams: float
    departure: float
    """By how much this is over (+) or under (-) what the recipe asks for, relative: a component against the
    first component as weighed, an extra against all components as weighed."""


@dataclass(frozen=True, slots=True)
class WeighOut:
    """One cup: what to weigh, and how far the ratio can be trusted."""

    poured_g: float
    """What fills the molds, before any spare."""
    batch_g: float
    """The sum of all components and extras."""
    components: tuple[Weighed, ...]
    """In the recipe's order, extras last."""
    ratio_error: float
    """The largest departure of a component, without sign, as the grams are written."""
    reading_error_worst: float
    """What the scale's rounding of each tared reading can add at most."""
    reading_error_standard: float
    """The same as a standard uncertainty."""
    ratio_error_most: float
    """What the elastomer stands."""
    sound: bool
    """Ratio error and worst reading error together stay within what the elastomer stands."""
    smallest_sound_batch_g: float
    """On this scale; smaller batches exist that are sound by luck of the reading, none that is sure to be."""
    scale_step_g: float
    finer_scale_step_g: float | None
    """The coarsest finer scale on which this batch would be sound; None if it already is, or none would
    do."""

    @property
    def spare(self) -> float:
        """What is mixed beyond what fills the molds, over the latter."""
        # Where nothing is spare, the two may differ in their sixteenth digit.
        return max(0.0, self.batch_g / self.poured_g - 1.0)

    @property
    def large_cup(self) -> bool:
        """More in one cup than pot lives are stated for: it warms itself and sets sooner."""
        return self.batch_g > POT_LIFE_CUP_G


def reading_error_worst(*, first_g: float, second_g: float, scale_step_g: float) -> float:
    """The most by which the ratio of two tared readings can be off, relative.

    (d/2)(1/m_A + 1/m_B): each reading is up to half a step d off, in opposite senses.
    Source: propagation of the two limits to first order. Range: steps small against the masses.

    By hand: 0.05 · (1/9.524 + 1/0.476) = 0.05 · 2.20584 = 0.11029: such a small hardener cannot be weighed so

    >>> round(reading_error_worst(first_g=9.524, second_g=0.476, scale_step_g=0.1), 5)
    0.11029
    """
    _require_reading(first_g, second_g, scale_step_g)
    return scale_step_g / 2.0 * (1.0 / first_g + 1.0 / second_g)


def reading_error_standard(*, first_g: float, second_g: float, scale_step_g: float) -> float:
    """Standard uncertainty of the ratio of two tared readings, relative.

    (d/√12) √(1/m_A² + 1/m_B²): a rounded reading is anywhere within half a step d of the truth.
    Source: JCGM 100:2008, 4.3.7 and F.2.2.1. Range: steps small against the masses.

    By hand: 0.1/3.4641 · √(1/15² + 1/15²) = 0.0288675 · 0.0942809 = 0.0027217

    >>> round(reading_error_standard(first_g=15.0, second_g=15.0, scale_step_g=0.1), 7)
    0.0027217
    """
    _require_reading(first_g, second_g, scale_step_g)
    return scale_step_g / math.sqrt(12.0) * math.hypot(1.0 / first_g, 1.0 / second_g)


def weigh_out(
    *,
    volume_mm3: float,
    density_g_cm3: float,
    system: MixSystem,
    spare: float = 0.15,
    scale_step_g: float = 0.1,
    ratio_error_most: float = 0.02,
) -> WeighOut:
    """The grams of every component for one cup, in steps of the scale, never less than volume and spare need.

    Batches from what is needed up to one step of the smallest component more are tried, with each component
    rounded down and up. Those that are sure to be sound come first, then the better ratio, then the smaller
    batch. Extras follow to the nearest step, one step at least. Volume includes runners, sprue and vents; the
    density is the mix's.

    By hand: 8.7 ml at 1 g/cm³ and 15 % spare need 10.005 g. At 100:5 that is 0.48 g of hardener: 0.5 g with
    10.0 g keeps the ratio, but reading it is 0.05 · (1/10 + 1/0.5) = 10.5 % uncertain. 2 % ask for 2.625 g of
    hardener: 2.7 g with 54.

    >>> recipe = MixSystem((Component("A", 100), Component("B", 5)))
    >>> cup = weigh_out(volume_mm3=8700, density_g_cm3=1.0, system=recipe)
    >>> [(line.name, line.grams) for line in cup.components], round(cup.reading_error_worst, 4)
    ([('A', 10.0), ('B', 0.5)], 0.105)
    >>> cup.sound, cup.smallest_sound_batch_g, cup.finer_scale_step_g
    (False, 56.7, 0.01)
    """
    require_range("volume_mm3", volume_mm3, 1.0, 1e8)
    require_range("density_g_cm3", density_g_cm3, 0.5, 5.0)
    require_range("spare", spare, 0.0, 2.0)
    require_range("scale_step_g", scale_step_g, 1e-4, 10.0)
    require_range("ratio_error_most", ratio_error_most, 0.001, 0.5)
    poured_g = volume_mm3 * density_g_cm3 * 1e-3
    needed_g = poured_g * (1.0 + spare)
    best = _best(system, _steps(needed_g, scale_step_g), ratio_error_most)
    smallest = _smallest_sound(system, ratio_error_most)
    return WeighOut(
        poured_g=poured_g,
        batch_g=_grams(best.total, scale_step_g),
        components=_lines(system, best, scale_step_g),
        ratio_error=best.ratio_error,
        reading_error_worst=best.reading_worst,
        reading_error_standard=best.reading_standard,
        ratio_error_most=ratio_error_most,
        sound=best.sound(ratio_error_most),
        smallest_sound_batch_g=_grams(smallest.total, scale_step_g),
        scale_step_g=scale_step_g,
        finer_scale_step_g=None
        if best.sound(ratio_error_most)
        else _finer_scale_g(system, needed_g, scale_step_g, ratio_error_most),
    )


class _Trial(NamedTuple):
    """A way to weigh a batch, counted in steps of the scale; nothing in it depends on the step itself."""

    components: tuple[int, ...]
    extras: tuple[int, ...]
    ratio_error: float

    @property
    def total(self) -> int:
        return sum(self.components) + sum(self.extras)

    @property
    def reading_worst(self) -> float:
        first, *others = self.components
        if not others:
            return 0.0
        return reading_error_worst(first_g=first, second_g=min(others), scale_step_g=1.0)

    @property
    def reading_standard(self) -> float:
        first, *others = self.components
        if not others:
            return 0.0
        return reading_error_standard(first_g=first, second_g=min(others), scale_step_g=1.0)

    def sound(self, ratio_error_most: float) -> bool:
        return self.ratio_error + self.reading_worst <= ratio_error_most


def _best(system: MixSystem, needed: int, ratio_error_most: float) -> _Trial:
    one_step_of_the_least = math.ceil((1.0 + system.extras_over_components) / min(system.mass_parts))
    trials = {
        trial
        for total in range(needed, needed + one_step_of_the_least + 1)
        for trial in _trials(system, total)
        if trial.total >= needed
    }
    return min(
        trials,
        key=lambda trial: (
            not trial.sound(ratio_error_most),
            max(trial.ratio_error, _NEGLIGIBLE * ratio_error_most),
            trial.total,
            trial,
        ),
    )


def _smallest_sound(system: MixSystem, ratio_error_most: float) -> _Trial:
    # Below this the reading alone spoils the ratio; at three times as much, rounding no longer can.
    first, *others = (parts / (1.0 + system.extras_over_components) for parts in system.mass_parts)
    reading = (1.0 / first + 1.0 / min(others)) / (2.0 * ratio_error_most) if others else 0.0
    least = max(1, math.floor(reading) - len(system.components) - len(system.extras))
    return next(
        trial
        for total in itertools.count(least)
        for trial in _trials(system, total)
        # Only those that come out at their own total: `_best` meets the same trial when asked for this batch.
        if trial.total == total and trial.sound(ratio_error_most)
    )


def _finer_scale_g(system: MixSystem, needed_g: float, scale_step_g: float, ratio_error_most: float) -> float | None:
    for step_g in SCALE_STEPS_G:
        if step_g < scale_step_g:
            best = _best(system, _steps(needed_g, step_g), ratio_error_most)
            if best.sound(ratio_error_most):
                return step_g
    return None


def _trials(system: MixSystem, total: int) -> Iterator[_Trial]:
    """Every way to round the components of a batch of so many steps down or up, the extras following."""
    parts = system.mass_parts
    scale = total / (1.0 + system.extras_over_components)
    choices = ({max(1, math.floor(scale * part)), max(1, math.ceil(scale * part))} for part in parts)
    for components in itertools.product(*map(sorted, choices)):
        extras = tuple(max(1, round(extra.fraction * sum(components))) for extra in system.extras)
        off = (
            abs(count * parts[0] / (components[0] * part) - 1.0) for count, part in zip(components, parts, strict=True)
        )
        # Twelve digits, so that a ratio which is exact on paper is exact here and ties are ties.
        yield _Trial(components, extras, round(max(off), 12))


def _lines(system: MixSystem, trial: _Trial, scale_step_g: float) -> tuple[Weighed, ...]:
    first_part, first_count = system.mass_parts[0], trial.components[0]
    cures = [
        Weighed(
            component.name,
            _grams(count, scale_step_g),
            round(count * first_part / (first_count * part) - 1.0, 12),
        )
        for component, part, count in zip(system.components, system.mass_parts, trial.components, strict=True)
    ]
    besides = [
        Weighed(
            extra.name,
            _grams(count, scale_step_g),
            count / (extra.fraction * sum(trial.components)) - 1.0,
        )
        for extra, count in zip(system.extras, trial.extras, strict=True)
    ]
    return (*cures, *besides)


def _steps(grams: float, scale_step_g: float) -> int:
    """Steps of the scale that are not less than so many grams (a billionth of a step is rounding of ours)."""
    return max(1, math.ceil(grams / scale_step_g - 1e-9))


def _grams(steps: int, scale_step_g: float) -> float:
    """Steps in grams, as short as the scale shows them."""
    return round(steps * scale_step_g, 9)


def _require_reading(first_g: float, second_g: float, scale_step_g: float) -> None:
    require_range("first_g", first_g, 1e-4, 1e8)
    require_range("second_g", second_g, 1e-4, 1e8)
    require_range("scale_step_g", scale_step_g, 1e-4, 10.0)
