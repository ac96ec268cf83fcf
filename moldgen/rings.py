"""Rings and cord that can be bought: nobody should cast what a seal dealer has in a drawer.

The sizes are in `data/rings.csv`; `data/SOURCES.md` says what stands behind them, and which charts are wrong.
Seal-design guides allow a seated ring a stretch of 1 to 5 %; that is about sealing life and binds no belt.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal, TypeAlias

from moldgen.errors import require_range
from moldgen.mechanics.solve import root

TABLE: Final = Path(__file__).parent / "data" / "rings.csv"
CORD: Final = "metric cord"

RING_STRETCH_RATIO_LEAST: Final = 1.05
RING_STRETCH_RATIO_MOST: Final = 1.12
"""Bought rings of 60 to 80 A run as belts at 5 to 12 %; 10 to 30 % of the tension goes in the first days.

Common practice, no source. Silicone rings tear."""

_MOST_STRETCH_RATIO: Final = 1.5

Along: TypeAlias = Literal["centre_line", "bore"]
"""Where stretch is measured: a belt's along the centre of its section, a tyre's along its bore."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A round ring of a standard, as it lies on the bench."""

    standard: str
    size: str
    inner_diameter_mm: float
    section_mm: float
    inner_diameter_tolerance_mm: float | None
    """Half-width; None where it is not known for sure."""
    section_tolerance_mm: float
    printed: str
    """The size as its standard prints it, in its unit."""
    confidence: str
    """`seen` in a public copy and in step with its series, in step by `rule`, or from `memory`."""

    @property
    def outer_diameter_mm(self) -> float:
        return self.inner_diameter_mm + 2.0 * self.section_mm

    @property
    def centre_line_mm(self) -> float:
        """Length along the centre of the section, π (inside diameter + section)."""
        return math.pi * (self.inner_diameter_mm + self.section_mm)

    def as_json(self) -> dict[str, Any]:
        return {
            "standard": self.standard,
            "size": self.size,
            "inner_diameter_mm": self.inner_diameter_mm,
            "section_mm": self.section_mm,
            "outer_diameter_mm": round(self.outer_diameter_mm, 2),
            "centre_line_mm": round(self.centre_line_mm, 2),
            "inner_diameter_tolerance_mm": self.inner_diameter_tolerance_mm,
            "section_tolerance_mm": self.section_tolerance_mm,
            "printed": self.printed,
            "confidence": self.confidence,
        }


@dataclass(frozen=True, slots=True)
class Cord:
    """Round cord by the metre, to be joined to any length."""

    section_mm: float
    confidence: str

    def as_json(self) -> dict[str, Any]:
        return {"standard": CORD, "section_mm": self.section_mm, "confidence": self.confidence}


@dataclass(frozen=True, slots=True)
class RingInPlace:
    """A bought ring in the place of a part that was sized."""

    ring: Ring
    along: Along
    stretch_ratio: float
    fitted_section_mm: float

    def as_json(self) -> dict[str, Any]:
        return {
            **self.ring.as_json(),
            "along": self.along,
            "stretch": round(self.stretch_ratio - 1.0, 4),
            "fitted_section_mm": round(self.fitted_section_mm, 3),
        }


@cache
def table() -> tuple[Ring, ...]:
    """Every ring, in the order of the file."""
    return tuple(
        Ring(
            standard=row["standard"],
            size=row["size"],
            inner_diameter_mm=float(row["inner_diameter_mm"]),
            section_mm=float(row["section_mm"]),
            inner_diameter_tolerance_mm=_number_or_none(row["inner_diameter_tolerance_mm"]),
            section_tolerance_mm=float(row["section_tolerance_mm"]),
            printed=row["printed"],
            confidence=row["confidence"],
        )
        for row in _rows()
        if row["standard"] != CORD
    )


@cache
def cords() -> tuple[Cord, ...]:
    """Sections of round cord that are sold by the metre."""
    return tuple(Cord(float(row["section_mm"]), row["confidence"]) for row in _rows() if row["standard"] == CORD)


def nearest(*, inside_mm: float, section_mm: float | None = None, count: int = 5) -> tuple[Ring, ...]:
    """The `count` rings whose inside diameter, and section if one is given, are nearest, the nearest first.

    Nearness is by ratio and not by millimetres: 1 mm is much of a section and little of a large ring.

    >>> [ring.size for ring in nearest(inside_mm=25.0, section_mm=3.53, count=1)]
    ['214']
    """
    require_range("inside_mm", inside_mm, 0.2, 1000.0)
    if section_mm is not None:
        require_range("section_mm", section_mm, 0.2, 100.0)

    def distance(ring: Ring) -> float:
        inside = _ratio_off(ring.inner_diameter_mm, inside_mm)
        return inside if section_mm is None else inside + _ratio_off(ring.section_mm, section_mm)

    return tuple(sorted(table(), key=distance)[:count])


def that_would_do(
    *,
    free_inner_diameter_mm: float,
    section_mm: float,
    stretch_ratio: float,
    along: Along,
    stretch_ratio_least: float = RING_STRETCH_RATIO_LEAST,
    stretch_ratio_most: float = RING_STRETCH_RATIO_MOST,
    section_off_most: float = 0.15,
    count: int = 5,
) -> tuple[RingInPlace, ...]:
    """Rings that could take the place of one that has these free sizes and is stretched so, the best first.

    A belt (`along="centre_line"`) lies with its inside on the floors of its grooves and goes once round, so a
    section that is thicker by d in place lengthens the centre line by π d. A tyre (`along="bore"`) sits on
    its hub. Each ring that comes back has a stretch between the two limits and a free section within
    `section_off_most` of the wanted, as a share; they are in order of how far stretch and section are off, as
    ratios. Of a belt that is not round, give the height.
    """
    require_range("free_inner_diameter_mm", free_inner_diameter_mm, 0.2, 1000.0)
    require_range("section_mm", section_mm, 0.2, 100.0)
    require_range("stretch_ratio", stretch_ratio, 1.0, _MOST_STRETCH_RATIO)
    fits = (
        _in_place(ring, free_inner_diameter_mm, section_mm, stretch_ratio, along)
        for ring in table()
        if abs(ring.section_mm / section_mm - 1.0) <= section_off_most
    )
    good = [fit for fit in fits if fit and stretch_ratio_least <= fit.stretch_ratio <= stretch_ratio_most]
    good.sort(
        key=lambda fit: _ratio_off(fit.stretch_ratio, stretch_ratio) + _ratio_off(fit.ring.section_mm, section_mm)
    )
    return tuple(good[:count])


def fitted_cord_section_mm(*, section_mm: float, stretch_ratio: float) -> float:
    """Diameter of a round cord that is stretched along its length.

    Volume is kept and the section stays round, so w = w0 / sqrt(L), L stretched over free length.

    Source: constancy of volume, as seal-design guides state it for rings. The curve that seal handbooks
    fitted to measurements loses 0.7 to 1.9 % of w0 more (curve from memory).
    Range: 1 <= L <= 1.5.

    By hand: 3.00 / sqrt(1.10) = 3.00 / 1.04881 = 2.8604

    >>> round(fitted_cord_section_mm(section_mm=3.0, stretch_ratio=1.10), 4)
    2.8604
    """
    require_range("section_mm", section_mm, 0.2, 100.0)
    require_range("stretch_ratio", stretch_ratio, 1.0, _MOST_STRETCH_RATIO)
    return section_mm / math.sqrt(stretch_ratio)


def fitted_ring_section_mm(*, inner_diameter_mm: float, section_mm: float, stretch_ratio: float) -> float:
    """Diameter of the section of a round ring that is pulled onto a hub, L hub over free inside diameter.

    Volume is kept and the section stays round: w^2 (L D + w) = w0^2 (D + w0), the volume of a torus,
    π^2 w^2 (D + w) / 4, before and after.

    Source: constancy of volume, as for `fitted_cord_section_mm`.
    Range: 1 <= L <= 1.5.

    By hand, D = 2, w0 = 1, L = 1.5: w^2 (3 + w) = 3 at w = 0.8794, for 0.77334 * 3.8794 = 3.0001

    >>> round(fitted_ring_section_mm(inner_diameter_mm=2.0, section_mm=1.0, stretch_ratio=1.5), 4)
    0.8794
    """
    require_range("inner_diameter_mm", inner_diameter_mm, 0.2, 1000.0)
    require_range("section_mm", section_mm, 0.2, 100.0)
    require_range("stretch_ratio", stretch_ratio, 1.0, _MOST_STRETCH_RATIO)
    volume = section_mm**2 * (inner_diameter_mm + section_mm)
    hub_mm = inner_diameter_mm * stretch_ratio
    return root(lambda w: w**2 * (hub_mm + w) - volume, 0.0, section_mm)


def _in_place(
    ring: Ring, free_inner_diameter_mm: float, section_mm: float, stretch_ratio: float, along: Along
) -> RingInPlace | None:
    """The ring where the sized part would sit, or None if slack or stretched out of all reason."""
    if along == "bore":
        stretched = free_inner_diameter_mm * stretch_ratio / ring.inner_diameter_mm
        if not 1.0 <= stretched <= _MOST_STRETCH_RATIO:
            return None
        fitted_mm = fitted_ring_section_mm(
            inner_diameter_mm=ring.inner_diameter_mm, section_mm=ring.section_mm, stretch_ratio=stretched
        )
        return RingInPlace(ring, along, stretched, fitted_mm)
    path_mm = math.pi * (free_inner_diameter_mm + section_mm) * stretch_ratio
    inside_path_mm = path_mm - math.pi * fitted_cord_section_mm(section_mm=section_mm, stretch_ratio=stretch_ratio)

    def too_long(stretched: float) -> float:
        """How much longer the stretched ring is than the path of the section it then has."""
        return stretched * ring.centre_line_mm - inside_path_mm - math.pi * ring.section_mm / math.sqrt(stretched)

    if too_long(1.0) > 0.0 or too_long(_MOST_STRETCH_RATIO) < 0.0:
        return None
    stretched = root(too_long, 1.0, _MOST_STRETCH_RATIO)
    return RingInPlace(
        ring, along, stretched, fitted_cord_section_mm(section_mm=ring.section_mm, stretch_ratio=stretched)
    )


def _number_or_none(text: str) -> float | None:
    return float(text) if text else None


def _ratio_off(a: float, b: float) -> float:
    return abs(math.log(a / b))


@cache
def _rows() -> tuple[dict[str, str], ...]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))
