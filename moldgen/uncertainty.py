"""Carries the readings' uncertainty through a whole calculation, and says which reading matters most.

Each uncertain input is moved by its standard uncertainty both ways and the calculation run again, so that no formula
has to know of uncertainty and every correlation between results is kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, Final, TypeVar

from moldgen.errors import MoldgenError
from moldgen.quantities import Estimate
from moldgen.spec.document import Place
from moldgen.spec.sections import Section, without_unit_suffix

G = TypeVar("G")

COVERAGE_95: Final = 1.96
"""Half-width of the 95 % interval over the standard uncertainty (JCGM 100:2008, table G.1, normal distribution)."""


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A result with the 95 % interval that its inputs leave it, and each input's part in it."""

    value: float
    parts: Mapping[Place, float]
    """Signed change of the result for one standard uncertainty of each input."""

    @property
    def u(self) -> float:
        return math.sqrt(math.fsum(part * part for part in self.parts.values()))

    @property
    def low(self) -> float:
        return self.value - COVERAGE_95 * self.u

    @property
    def high(self) -> float:
        return self.value + COVERAGE_95 * self.u

    def share(self, place: Place) -> float:
        """The fraction of the result's variance that one input brings."""
        variance = self.u**2
        return self.parts.get(place, 0.0) ** 2 / variance if variance > 0.0 else 0.0


class UnusableReadingError(MoldgenError, ValueError):
    """A reading is so uncertain that the calculation fails at the edge of its interval."""

    def __init__(self, place: Place, cause: Exception) -> None:
        super().__init__(place, cause)
        self.place, self.cause = place, cause

    def __str__(self) -> str:
        return str(self.cause)


MOST_UNCERTAIN: Final = 100
"""Each costs two runs of the whole calculation."""


class TooManyReadingsError(MoldgenError, ValueError):
    """More readings are uncertain than can be followed; `place` is the first beyond."""

    def __init__(self, place: Place) -> None:
        super().__init__(place)
        self.place = place

    def __str__(self) -> str:
        return f"at most {MOST_UNCERTAIN} uncertain readings are followed"


def propagated(evaluate: Callable[[G], Mapping[str, float]], given: G) -> dict[str, Uncertain]:
    """Every result of `evaluate(given)` with its uncertainty.

    part_i = ½ [f(x_i + u_i) − f(x_i − u_i)], u² = Σ part_i². Source: JCGM 100:2008 (GUM), 5.1.2 and 5.1.3 note 2.
    Inputs are taken as independent. Raises UnusableReadingError if the calculation fails one u away from a reading,
    be it by a root or an arc sine of what it cannot be taken of, and TooManyReadingsError.
    """
    uncertain = [(place, estimate) for place, estimate in estimates(given) if estimate.u > 0.0]
    if len(uncertain) > MOST_UNCERTAIN:
        raise TooManyReadingsError(uncertain[MOST_UNCERTAIN][0])
    central = evaluate(given)
    parts: dict[str, dict[Place, float]] = {name: {} for name in central}
    for place, estimate in uncertain:
        try:
            above = evaluate(_moved(given, place, estimate + estimate.u))
            below = evaluate(_moved(given, place, estimate - estimate.u))
        except (MoldgenError, ArithmeticError, ValueError) as error:
            raise UnusableReadingError(place, error) from error
        for name in central:
            parts[name][place] = 0.5 * (above[name] - below[name])
    return {name: Uncertain(value, parts[name]) for name, value in central.items()}


def estimates(given: Any, place: Place = ()) -> Iterator[tuple[Place, Estimate]]:
    """All quantities of a section or record and of those within it, with their places as the YAML spells them."""
    if isinstance(given, Estimate):
        yield place, given
    elif isinstance(given, tuple):
        for index, item in enumerate(given):
            yield from estimates(item, (*place, index))
    else:
        for name, key in _names(given):
            yield from estimates(_field(given, name), (*place, key))


def _names(given: Any) -> Iterator[tuple[str, str]]:
    """(attribute, key) of each field."""
    if isinstance(given, Section):
        for name, info in type(given).model_fields.items():
            yield name, info.alias or name
        for name in given.model_extra or {}:
            yield name, name
    elif is_dataclass(given):
        for item in fields(given):
            yield item.name, without_unit_suffix(item.name)


def _field(given: Any, name: str) -> Any:
    """An attribute, or a reading under a name of the person's own, which may be that of a method."""
    extra = (given.model_extra or {}) if isinstance(given, Section) else {}
    return extra[name] if name in extra else getattr(given, name)


def _moved(given: Any, place: Place, value: float) -> Any:
    if not place:
        return Estimate(value, low=given.low, high=given.high)
    step, rest = place[0], place[1:]
    if isinstance(step, int):
        return (*given[:step], _moved(given[step], rest, value), *given[step + 1 :])
    name = next(name for name, key in _names(given) if key == step)
    change = {name: _moved(_field(given, name), rest, value)}
    return given.model_copy(update=change) if isinstance(given, Section) else replace(given, **change)
