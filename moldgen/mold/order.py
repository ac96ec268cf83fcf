"""What a mold is ordered for, and the answer when it cannot be made."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.case import MoldChoices
from moldgen.mechanics.splice import SCARF_DEG
from moldgen.printers import Printer
from moldgen.remarks import Refusal
from moldgen.shapes import Insert, Lay, Shape


@dataclass(frozen=True, slots=True)
class Order:
    """What the mold is for: all that its design needs to know."""

    name: str
    marking: str
    """Second line of every body: elastomer and shrinkage."""
    shape: Shape
    """The cavity as it must measure, standing on y = 0 (or from 0 to its thickness)."""
    insert: Insert | None
    printer: Printer
    choices: MoldChoices
    quantity: int
    elongation_at_break: float
    lay: Lay = "as_it_is"
    scarf_deg: float = SCARF_DEG
    """Of the joint that a cord is cut for."""


class CannotBeMadeError(Exception):
    """The mold cannot be designed as ordered; `refusals` say why. Turned into a SpecError where the file is known."""

    def __init__(self, refusals: tuple[Refusal, ...]) -> None:
        super().__init__(refusals)
        self.refusals = refusals
