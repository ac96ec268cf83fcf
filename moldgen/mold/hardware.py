"""Screws and nuts that hold a mold together, by standard size.

Sources: heads ISO 4762, nuts ISO 4032, clearance holes ISO 273 (medium series), stock lengths ISO 4762; dimensions
from memory of the standards, which trade catalogues repeat.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from moldgen.printers import Printer


@dataclass(frozen=True, slots=True)
class Screw:
    """A socket head cap screw with its hexagon nut."""

    size: str
    hole_mm: float
    head_diameter_mm: float
    head_height_mm: float
    nut_flats_mm: float
    nut_height_mm: float
    lengths_mm: tuple[float, ...]

    @property
    def frame_mm(self) -> float:
        """Width of the strip in which the screw stands with walls round its nut and head."""
        return max(self.nut_flats_mm * 1.155, self.head_diameter_mm) + 4.0

    def modelled(self, printer: Printer) -> Screw:
        """With its hole and its nut's pocket as much wider as this printer makes holes narrower."""
        narrower = 2.0 * max(printer.hole_offset_mm, 0.0)
        return replace(self, hole_mm=self.hole_mm + narrower, nut_flats_mm=self.nut_flats_mm + narrower)


SCREWS: Final = (
    Screw("M3", 3.4, 5.5, 3.0, 5.5, 2.4, (8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50)),
    Screw("M4", 4.5, 7.0, 4.0, 7.0, 3.2, (10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 60, 70)),
    Screw("M5", 5.5, 8.5, 5.0, 8.0, 4.7, (12, 16, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100)),
)
