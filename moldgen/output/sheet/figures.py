"""Numbers and words of a build's record, each with the key that it stands under there.

The sheet shows nothing that the record does not hold: a number carries its key and its whole value into the page,
so that it can be held against the record again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Number:
    """A number of the record as it is shown."""

    key: str
    """Where it stands: `mold.outer_diameter_mm.value`; of a list, its length is meant."""
    value: float
    text: str
    per: float = 1.0
    """How many of the record's units make one of the unit shown: 60 for minutes where the record has seconds."""
    less: str = ""
    """Key of a number that is taken off first, as in the half-width of a range."""


@dataclass(frozen=True, slots=True)
class Words:
    """A text of the record, word for word."""

    key: str
    text: str


@dataclass(frozen=True)
class Record:
    """The record of a build (what job.json holds), read by key."""

    content: dict[str, Any]

    def __getitem__(self, key: str) -> Any:
        found: Any = self.content
        for step in key.split("."):
            found = found[int(step)] if isinstance(found, list) else found[step]
        return found

    def words(self, key: str) -> Words:
        return Words(key, str(self[key]))

    def all_words(self, key: str) -> tuple[Words, ...]:
        """Of a list, or of nothing where it is null."""
        return tuple(self.words(f"{key}.{index}") for index in range(len(self[key] or ())))

    def number(self, key: str, shown: Callable[[float], str], *, per: float = 1.0, less: str = "") -> Number:
        found = self[key]
        value = float(len(found)) if isinstance(found, list) else float(found)
        value -= float(self[less]) if less else 0.0
        return Number(key, value, shown(value / per), per, less)


def fixed(digits: int) -> Callable[[float], str]:
    """So many digits after the point."""
    return lambda value: _minus(f"{value:.{digits}f}")


def short(value: float) -> str:
    """Three significant digits: more than a prediction bears."""
    return _minus(f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.3g}")


def plain(value: float) -> str:
    """All the digits that a person typed or a scale shows."""
    return _minus(f"{value:g}")


def _minus(text: str) -> str:
    return text.replace("-", "−") if text.startswith("-") and float(text) else text.removeprefix("-")
