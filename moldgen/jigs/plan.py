"""What a jig is before any solid: printed pieces made of plain forms, and what to do with them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from moldgen.mold.lettering import width_mm
from moldgen.printers import Printer
from moldgen.shapes import Path, Vertex

BEYOND_MM: Final = 1.0
"""How far a cut runs past the surface it opens, so that no two faces merely touch."""
LETTER_MM: Final = 4.0
LEAST_LETTER_MM: Final = 3.0
"""Smaller capitals run together under a 0.4 mm nozzle."""
LETTER_DEPTH_MM: Final = 0.5
LETTER_STROKE_MM: Final = 0.6
_QUARTER: Final = math.tan(math.pi / 8.0)
"""Bulge of a quarter circle."""


@dataclass(frozen=True, slots=True)
class Upright:
    """An outline with holes, standing from one height to another."""

    outline: Path
    bottom_mm: float
    top_mm: float
    holes: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Turned:
    """A half-section (x the radius, y the height) turned once round an upright axis."""

    profile: Path
    x_mm: float = 0.0
    y_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Along:
    """A section (x across, y the height) drawn along y from front to back."""

    section: Path
    front_mm: float
    back_mm: float


Form = Upright | Turned | Along


@dataclass(frozen=True, slots=True)
class Label:
    """A line of text cut into a level face; x and y are where its middle lies."""

    text: str
    height_mm: float
    x_mm: float
    y_mm: float
    z_mm: float
    turn_deg: float = 0.0

    def turned(self, by_deg: float) -> Label:
        """Turned about the upright axis through the origin."""
        c, s = math.cos(math.radians(by_deg)), math.sin(math.radians(by_deg))
        x, y = c * self.x_mm - s * self.y_mm, s * self.x_mm + c * self.y_mm
        return replace(self, x_mm=x, y_mm=y, turn_deg=self.turn_deg + by_deg)


@dataclass(frozen=True, slots=True)
class Piece:
    """One printed body, as it lies on the bed: all solids in one, less all cuts and the lettering."""

    role: str
    solids: tuple[Form, ...]
    cuts: tuple[Form, ...] = ()
    labels: tuple[Label, ...] = ()


@dataclass(frozen=True, slots=True)
class Jig:
    """A jig: its pieces, what it is for, how a hand uses it, what to beware of, and its measures."""

    name: str
    what_for: str
    how_to_use: tuple[str, ...]
    cautions: tuple[str, ...]
    dimensions: Mapping[str, float]
    """Names end in their unit; lengths are those that the printed jig must measure."""
    pieces: tuple[Piece, ...] = field(repr=False)
    tables: Mapping[str, str] = field(default_factory=dict, repr=False)
    """Tables to fill in at the bench, as CSV by their files' names."""

    @property
    def role(self) -> str:
        return f"jig_{self.name}"

    def as_json(self) -> dict[str, Any]:
        return {
            "role": self.role,
            "name": self.name,
            "bodies": [piece.role for piece in self.pieces],
            "what_for": self.what_for,
            "how_to_use": list(self.how_to_use),
            "cautions": list(self.cautions),
            "dimensions": {name: float(f"{value:.7g}") for name, value in self.dimensions.items()},
        }


def label_within(
    text: str, room_mm: float, *, x_mm: float, y_mm: float, z_mm: float, turn_deg: float = 0.0
) -> tuple[Label, ...]:
    """The text as large as it fits into a length, at most LETTER_MM; none where it would be too small to print."""
    height = LETTER_MM
    wide = width_mm(text=text, height_mm=LETTER_MM) + LETTER_STROKE_MM
    if wide > room_mm:
        height *= room_mm / wide
    return () if height < LEAST_LETTER_MM else (Label(text, height, x_mm, y_mm, z_mm, turn_deg),)


def hole_mm(printer: Printer, printed_mm: float) -> float:
    """Diameter or width to model so that a hole prints at a size: the printer's scale and wall offset undone."""
    return printed_mm / printer.xy_scale + 2.0 * printer.hole_offset_mm


def boss_mm(printer: Printer, printed_mm: float) -> float:
    """Diameter or width to model so that a pin prints at a size."""
    return printed_mm / printer.xy_scale - 2.0 * printer.boss_offset_mm


def rounded(x0: float, y0: float, x1: float, y1: float, radius_mm: float) -> Path:
    """A rectangle with round corners, anticlockwise."""
    r = radius_mm
    return Path(
        (
            Vertex(x0 + r, y0),
            Vertex(x1 - r, y0, _QUARTER),
            Vertex(x1, y0 + r),
            Vertex(x1, y1 - r, _QUARTER),
            Vertex(x1 - r, y1),
            Vertex(x0 + r, y1, _QUARTER),
            Vertex(x0, y1 - r),
            Vertex(x0, y0 + r, _QUARTER),
        )
    )


def polygon(*corners: tuple[float, float]) -> Path:
    return Path(tuple(Vertex(x, y) for x, y in corners))


def hexagon(across_flats_mm: float) -> Path:
    """A hexagon about the origin, two of its corners on the x axis."""
    r = across_flats_mm / math.sqrt(3.0)
    return polygon(*((r * math.cos(math.pi * i / 3.0), r * math.sin(math.pi * i / 3.0)) for i in range(6)))
