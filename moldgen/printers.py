"""Printers by generic kind: what they can print, and by how much what they print differs from the model.

Every figure can be overridden in the spec (`printer: {based_on: filament_0_4, clearance: 0.25 mm}`), because the
calibration coupon of one's own printer is right. Offsets are zero until measured.
"""

# Annotations are not postponed here: the text of each would be compiled again at every start.

from typing import Annotated, Final, Literal

from pydantic import Field

from moldgen.errors import MoldgenError
from moldgen.quantities import Estimate
from moldgen.spec.sections import Length, Line, Offset, Section, SmallLength, Temperature, quantity

Plastic = Literal["pla", "petg", "abs", "photopolymer"]
# Limits refuse slips of the unit and what no mold could be planned with; they are not what printers can do.
Bead = Annotated[Estimate, quantity("length", 0.01, 5.0)]
Detail = Annotated[Estimate, quantity("length", 0.05, 20.0)]
Gap = Annotated[Estimate, quantity("length", 0.0, 2.0)]
Scale = Annotated[Estimate, quantity("ratio", 0.9, 1.1)]
Lean = Annotated[Estimate, quantity("angle", 0.0, 90.0)]


class Printer(Section):
    """What a mold may ask of the printer that makes it."""

    based_on: Annotated[Line, Field(description="The kind of printer that the figures not given here come from.")]
    bed_x_mm: Length = Field(description="Bed, left to right, as far as it prints.")
    bed_y_mm: Length = Field(description="Bed, front to back.")
    bed_z_mm: Length = Field(description="Tallest print.")
    line_width_mm: Bead = Field(description="Width of one printed line (nozzle), or of one voxel of a resin printer.")
    layer_mm: Bead = Field(description="Layer height for molds.")
    least_wall_mm: Detail = Field(description="Thinnest wall that comes out sound.")
    least_hole_mm: Detail = Field(description="Smallest upright hole that comes out open; smaller ones are drilled.")
    overhang_deg: Lean = Field(description="Steepest lean from upright that prints without support.")
    bridge_mm: SmallLength = Field(description="Longest flat bridge that prints without support.")
    clearance_mm: Gap = Field(description="Gap on each side so that two printed bodies slide together.")
    xy_scale: Scale = Field(description="Printed length over modelled length in the bed's plane.")
    hole_offset_mm: Offset = Field(description="How far the wall of a hole or cavity stands inside the modelled wall.")
    boss_offset_mm: Offset = Field(description="How far the wall of a pin or core stands outside the modelled wall.")
    z_offset_mm: Offset = Field(description="Printed height less modelled height.")
    plastic: Plastic = Field(description="What it prints with: pla, petg, abs or photopolymer.")
    softens_degc: Temperature = Field(description="Where the print begins to give: its glass transition.")


def _printer(kind: str, **figures: float | str) -> Printer:
    values = {
        "based_on": kind,
        "xy_scale": 1.0,
        "hole_offset": 0.0,
        "boss_offset": 0.0,
        "z_offset": 0.0,
        **figures,
    }
    return Printer.model_validate(
        {key: value if isinstance(value, str) else Estimate(value) for key, value in values.items()}
    )


# Walls of two lines, 45° and 10 mm bridges: public design tables for filament printing agree on these, and on 0.2 mm
# of clearance for parts that fit together. Figures of the fine and resin kinds: common practice, no source.
# Glass transitions: data-sheet compilations (PLA 59 °C, PETG 77 °C); ABS and photopolymer from memory.
PRINTERS: Final[dict[str, Printer]] = {
    "filament_0_4": _printer(
        "filament_0_4",
        bed_x=220.0,
        bed_y=220.0,
        bed_z=240.0,
        line_width=0.45,
        layer=0.15,
        least_wall=0.9,
        least_hole=1.0,
        overhang=45.0,
        bridge=10.0,
        clearance=0.2,
        plastic="petg",
        softens=77.0,
    ),
    "filament_0_25": _printer(
        "filament_0_25",
        bed_x=180.0,
        bed_y=180.0,
        bed_z=180.0,
        line_width=0.28,
        layer=0.1,
        least_wall=0.6,
        least_hole=0.8,
        overhang=45.0,
        bridge=10.0,
        clearance=0.15,
        plastic="petg",
        softens=77.0,
    ),
    "photopolymer": _printer(
        "photopolymer",
        bed_x=140.0,
        bed_y=80.0,
        bed_z=160.0,
        line_width=0.2,
        layer=0.05,
        least_wall=0.8,
        least_hole=0.6,
        overhang=60.0,
        bridge=10.0,
        clearance=0.1,
        plastic="photopolymer",
        softens=60.0,
    ),
}


class UnknownPrinterError(MoldgenError, KeyError):
    """There is no printer kind of this name."""


def find(kind: str) -> Printer:
    """The printer of a generic kind; raises UnknownPrinterError."""
    try:
        return PRINTERS[kind]
    except KeyError:
        raise UnknownPrinterError(kind) from None
