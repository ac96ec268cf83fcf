"""How each body of a mold is printed: how it lies, and an estimate of the plastic and the hours that it takes.

An estimate, to decide whether the spool lasts and the printer may run overnight; the slicer knows better.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

from moldgen.errors import require_range
from moldgen.printers import Plastic, Printer

WALLS: Final = 4
"""Printed lines side by side: a cavity's wall must not show what fills the block. Common practice, no source."""
INFILL: Final = 0.20
"""Share of the inside that is filled. Common practice, no source."""
ALONG_THE_LINE_MM_S: Final = 40.0
"""Mean speed of the nozzle along a line that shows, travel between lines included. Common practice, no source."""
PER_FILAMENT_LAYER_S: Final = 4.0
"""What a layer takes besides: lifting, first touch, wiping. Judgement, no source."""
PER_RESIN_LAYER_S: Final = 9.0
"""Exposure and lift of one resin layer. Common practice, no source."""
DENSITY_G_CM3: Final[dict[Plastic, float]] = {"pla": 1.24, "petg": 1.27, "abs": 1.04, "photopolymer": 1.18}
"""Of the solid plastic: data sheets of the classes, from memory."""
WAYS: Final = {
    "mold_lower": "cavity up, as the file lies",
    "mold_upper": "upside down: cavity up, the sprue's mouth on the bed",
    "core": "upright, wide end on the bed",
}


@dataclass(frozen=True, slots=True)
class PrintJob:
    """One body on the printer."""

    role: str
    copies: int
    lies: str
    size_mm: tuple[float, float, float]
    volume_mm3: float
    plastic_g: float
    """Of all copies."""
    time_s: float
    """Of all copies."""

    def as_json(self) -> dict[str, Any]:
        return {
            "role": self.role,
            "copies": self.copies,
            "lies": self.lies,
            "size_mm": [round(length, 2) for length in self.size_mm],
            "volume_mm3": round(self.volume_mm3, 3),
            "plastic_g": round(self.plastic_g, 1),
            "time_s": round(self.time_s),
        }


def print_job(
    role: str,
    *,
    printer: Printer,
    size_mm: tuple[float, float, float],
    volume_mm3: float,
    area_mm2: float,
    copies: int = 1,
) -> PrintJob:
    """How a body is printed, and what it takes."""
    plastic = plastic_mm3(printer=printer, volume_mm3=volume_mm3, area_mm2=area_mm2)
    return PrintJob(
        role=role,
        copies=copies,
        lies=WAYS.get(role, "flat"),
        size_mm=size_mm,
        volume_mm3=volume_mm3,
        plastic_g=copies * plastic * DENSITY_G_CM3[printer.plastic] / 1000.0,
        time_s=copies * time_s(printer=printer, plastic_mm3=plastic, height_mm=size_mm[2]),
    )


def plastic_mm3(*, printer: Printer, volume_mm3: float, area_mm2: float) -> float:
    """Plastic in a body: a skin as thick as the walls all round its surface, and a fifth of what lies within.

    skin = min(area × walls × line width, volume); plastic = skin + infill × (volume − skin). Resin prints are solid.
    Common practice, no source; corners make the skin a little too thick.

    By hand, a 20 mm cube, lines 0.45 mm: skin 2400 × 4 × 0.45 = 4320; 4320 + 0.2 × (8000 − 4320) = 5056

    >>> from moldgen.printers import find
    >>> plastic_mm3(printer=find("filament_0_4"), volume_mm3=8000.0, area_mm2=2400.0)
    5056.0
    """
    require_range("volume_mm3", volume_mm3, 0.0, 1e9)
    require_range("area_mm2", area_mm2, 0.0, 1e8)
    if printer.plastic == "photopolymer":
        return volume_mm3
    skin = min(area_mm2 * WALLS * float(printer.line_width_mm), volume_mm3)
    return skin + INFILL * (volume_mm3 - skin)


def time_s(*, printer: Printer, plastic_mm3: float, height_mm: float) -> float:
    """Time on the printer: the plastic through the nozzle, and a little for each layer; resin, so much for each layer.

    t = plastic / (line width × layer × speed) + layers × 4 s; resin, t = layers × 9 s. Common practice, no source.

    By hand, the 20 mm cube: 5056 / (0.45 × 0.15 × 40) = 1872.6 s; 134 layers × 4 = 536 s; together 2408.6 s

    >>> from moldgen.printers import find
    >>> round(time_s(printer=find("filament_0_4"), plastic_mm3=5056.0, height_mm=20.0), 1)
    2408.6
    """
    require_range("height_mm", height_mm, 0.0, 1000.0)
    layers = math.ceil(height_mm / printer.layer_mm - 1e-9)
    if printer.plastic == "photopolymer":
        return layers * PER_RESIN_LAYER_S
    flow_mm3_s = float(printer.line_width_mm) * float(printer.layer_mm) * ALONG_THE_LINE_MM_S
    return plastic_mm3 / flow_mm3_s + layers * PER_FILAMENT_LAYER_S


def print_settings(printer: Printer) -> dict[str, Any]:
    """What all bodies share, and the rule of the estimate in words."""
    resin = printer.plastic == "photopolymer"
    return {
        "plastic": printer.plastic,
        "layer_mm": float(printer.layer_mm),
        "line_width_mm": float(printer.line_width_mm),
        "walls": None if resin else WALLS,
        "infill": None if resin else INFILL,
        "softens_degc": float(printer.softens_degc),
        "rule": (
            f"printed solid, {DENSITY_G_CM3[printer.plastic]:g} g/cm³, {PER_RESIN_LAYER_S:g} s a layer"
            if resin
            else f"a skin of {WALLS} lines all round and {INFILL:.0%} of what lies within, "
            f"{DENSITY_G_CM3[printer.plastic]:g} g/cm³; {ALONG_THE_LINE_MM_S:g} mm/s along the line and "
            f"{PER_FILAMENT_LAYER_S:g} s more a layer"
        )
        + ". Common practice, no source: your slicer knows better.",
    }
