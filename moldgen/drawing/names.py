"""Which of the sizing's names a dimension on the sheet has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from moldgen.drawing.letters import written

SAME_MM: Final = 1e-6


@dataclass(slots=True)
class Names:
    """What the sizing calls a length; each name is given once."""

    stage: str
    values: Mapping[str, float]
    _given: set[str] = field(default_factory=set)

    def of(self, value: float, *, across: bool = False) -> str:
        """The name of a length, or of a diameter if it is measured `across`; empty if the sizing has none such."""
        for name, known in self.values.items():
            is_diameter = name.endswith("diameter_mm")
            if name not in self._given and is_diameter == across and abs(known - value) < SAME_MM:
                self._given.add(name)
                return f"{self.stage}.{name}"
        return ""

    def not_shown(self, shown: Sequence[float]) -> tuple[str, ...]:
        """In words, what the sizing knows besides the lengths that are shown: a belt's length, a pad's reach."""
        return tuple(
            f"{name.removesuffix('_mm').replace('_', ' ')} {written(known)}"
            for name, known in self.values.items()
            if name not in self._given and not any(abs(known - value) < SAME_MM for value in shown)
        )
