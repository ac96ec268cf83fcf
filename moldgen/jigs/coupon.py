"""Calibration coupon: graded pins, holes, slots and steps, and a trough for a bar of the part's own rubber.

Its lengths are the same for every part and printer, and are modelled with the printer's figures undone, as a mold is.
So what the print measures beside them tells how far those figures are off, as readings of a mold do, only better:
walls stand outside the model on a pin and inside it in a hole, so scale and wall offset part from each other.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Final

from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import (
    BEYOND_MM,
    Along,
    Form,
    Jig,
    Label,
    Piece,
    Upright,
    boss_mm,
    hole_mm,
    label_within,
    polygon,
    rounded,
)
from moldgen.printers import Printer
from moldgen.shapes import circle, rectangle

TABLE: Final = "coupon.csv"
"""The file to fill in."""
PREFIX: Final = "coupon_"

PLATE_MM: Final = (110.0, 70.0, 4.0)
"""Length, width and thickness: small enough for every printer of the table, long enough to tell its scale by."""
# All sizes: judgement. A caliper's inside jaws go into 5 mm, and its outside ones between neighbours 9 mm apart.
BOSSES_MM: Final = (4.0, 8.0, 12.0, 16.0)
HOLES_MM: Final = (6.0, 8.0, 12.0, 16.0)
SLOTS_MM: Final = (5.0, 8.0, 12.0)
STEPS_MM: Final = (6.0, 9.0, 12.0, 15.0)
"""Heights of the treads above the underside."""
BAR_MM: Final = (80.0, 8.0, 6.0)
"""Length, width and depth of the trough."""

BOSS_HIGH_MM: Final = 8.0
SLOT_LONG_MM: Final = 10.0
TREAD_MM: Final = 11.0
WALL_MM: Final = 3.0
"""Round the trough."""
EDGE_MM: Final = 5.0
"""From the plate's left edge to the first of a row."""
LETTER_ROOM_MM: Final = 8.0
APART_MM: Final = 12.0
"""Between neighbours of a row: their number stands there, and a jaw goes in."""
TROUGH_Y_MM: Final = 26.0
BOSS_Y_MM: Final = 6.0
HOLE_Y_MM: Final = -12.0
SLOT_Y_MM: Final = -28.0
STEPS_X_MM: Final = 10.0
"""Where the stairs begin; they stand at the front edge, so that a jaw reaches each tread."""


def nominals() -> dict[str, float]:
    """Every length of the coupon by its name, which holds the number that is engraved beside it."""
    out: dict[str, float] = {}
    for kind, measure, sizes in (
        ("boss", "diameter", BOSSES_MM),
        ("hole", "diameter", HOLES_MM),
        ("slot", "width", SLOTS_MM),
        ("step", "height", STEPS_MM),
    ):
        for size in sizes:
            out[f"{PREFIX}{kind}_{len(out) + 1}_{measure}_mm"] = size
    length, width, _ = BAR_MM
    out[f"{PREFIX}bar_{len(out) + 1}_length_mm"] = length
    out[f"{PREFIX}bar_{len(out)}_width_mm"] = width  # the same bar, so the same number
    out[f"{PREFIX}plate_length_mm"], out[f"{PREFIX}plate_width_mm"], _ = PLATE_MM
    return out


def plan(order: JigOrder) -> Jig:
    """The coupon. Raises NotForThisPartError where the printer is too small for it."""
    printer = order.printer
    length, width, _ = PLATE_MM
    x, y = boss_mm(printer, length), boss_mm(printer, width)
    if x > printer.bed_x_mm or y > printer.bed_y_mm or max(STEPS_MM) - printer.z_offset_mm > printer.bed_z_mm:
        raise NotForThisPartError(
            f"the coupon of {length:g} x {width:g} mm does not lie on the bed", "Leave it out and measure a mold."
        )
    bar_length, bar_width, bar_depth = BAR_MM
    return Jig(
        name="coupon",
        what_for="Tells what this printer makes of a length, and how far this batch of rubber shrinks.",
        how_to_use=(
            "Print it with the settings, plastic and layer height of the mold, and let it cool on the bed.",
            f"Copy {TABLE} out of the build's folder, since the next build puts an empty one there, and fill in the "
            "readings with their ±. A row's number is engraved beside what it names; rows left empty are passed over.",
            "Rows `mold` are of the print: pins and the plate with the outside jaws, clear of the lowest two layers; "
            "holes, slots and the trough with the inside jaws; steps from the underside to the tread.",
            f"Fill the trough level with what is left in the cup, or weigh out "
            f"{bar_length * bar_width * bar_depth / 1000.0:.1f} cm³ more. Rows `casting` are of the bar, lying free, "
            "along its underside, a day after it has come out.",
            f"`moldgen refine SPEC --castings {TABLE}` turns the table into the printer's and the rubber's figures.",
        ),
        cautions=("The bar is cast of the same rubber as the part: the same gloves, air and release agent.",),
        dimensions=nominals(),
        pieces=(_piece(printer),),
        tables={TABLE: table(nominals())},
    )


def table(dimensions: Mapping[str, float]) -> str:
    """The CSV to fill in: a row for each reading, those of the print first, then those of the cast bar."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(("of", "dimension", "reading", "note"))
    of_bar = [name for name in dimensions if name.startswith(f"{PREFIX}bar_")]
    for of, names in (("mold", list(dimensions)), ("casting", of_bar)):
        for name in names:
            rows.writerow((of, name.removesuffix("_mm"), "", _note(of, name, dimensions[name])))
    return text.getvalue()


def _note(of: str, name: str, nominal_mm: float) -> str:
    kind = name.removeprefix(PREFIX).split("_")[0]
    if of == "casting":
        return f"of the cast bar; the trough was to be {nominal_mm:g} mm"
    how = {"boss": "outside jaws", "plate": "outside jaws", "step": "from the underside"}.get(kind, "inside jaws")
    return f"{how}; was to be {nominal_mm:g} mm"


# --- the body --------------------------------------------------------------------------------------------------------


def _piece(printer: Printer) -> Piece:
    length, width, thick = PLATE_MM
    half_x, half_y = 0.5 * boss_mm(printer, length), 0.5 * boss_mm(printer, width)
    left = EDGE_MM - 0.5 * length
    solids: list[Form] = [Upright(rounded(-half_x, -half_y, half_x, half_y, 4.0), 0.0, thick)]
    cuts: list[Form] = []
    labels: list[Label] = []
    number = 0
    x = left
    for size in BOSSES_MM:
        number += 1
        pin = circle(0.5 * boss_mm(printer, size), x + 0.5 * size, BOSS_Y_MM)
        solids.append(Upright(pin, 0.5 * thick, thick + BOSS_HIGH_MM))
        labels += _number(number, x + size, BOSS_Y_MM, thick)
        x += size + APART_MM
    x = left
    for size in HOLES_MM:
        number += 1
        hole = circle(0.5 * hole_mm(printer, size), x + 0.5 * size, HOLE_Y_MM)
        cuts.append(Upright(hole, -BEYOND_MM, thick + BEYOND_MM))
        labels += _number(number, x + size, HOLE_Y_MM, thick)
        x += size + APART_MM
    x = left
    for size in SLOTS_MM:
        number += 1
        half, middle = 0.5 * hole_mm(printer, size), x + 0.5 * size
        slot = rectangle(middle - half, SLOT_Y_MM - 0.5 * SLOT_LONG_MM, middle + half, SLOT_Y_MM + 0.5 * SLOT_LONG_MM)
        cuts.append(Upright(slot, -BEYOND_MM, thick + BEYOND_MM))
        labels += _number(number, x + size, SLOT_Y_MM, thick)
        x += size + APART_MM
    tops = [step - printer.z_offset_mm for step in STEPS_MM]
    solids.append(_stairs(tops, 0.5 * thick))
    for i, top in enumerate(tops):
        number += 1
        labels += label_within(
            str(number), TREAD_MM - 2.0, x_mm=STEPS_X_MM + (i + 0.5) * TREAD_MM, y_mm=SLOT_Y_MM, z_mm=top
        )
    block, trough = _trough(printer, thick)
    solids.append(block)
    cuts.append(trough)
    labels += _number(number + 1, 0.5 * BAR_MM[0] + WALL_MM, TROUGH_Y_MM, thick)
    return Piece("jig_coupon", tuple(solids), tuple(cuts), tuple(labels))


def _number(number: int, right_of_mm: float, y_mm: float, z_mm: float) -> tuple[Label, ...]:
    """Engraved in the gap to the right of what it names."""
    return label_within(str(number), LETTER_ROOM_MM, x_mm=right_of_mm + 0.5 * APART_MM, y_mm=y_mm, z_mm=z_mm)


def _stairs(tops: list[float], from_mm: float) -> Along:
    """One body, drawn from front to back; the lowest tread is the left one."""
    profile = [(STEPS_X_MM, from_mm), (STEPS_X_MM + len(tops) * TREAD_MM, from_mm)]
    for i in reversed(range(len(tops))):
        profile += [(STEPS_X_MM + (i + 1) * TREAD_MM, tops[i]), (STEPS_X_MM + i * TREAD_MM, tops[i])]
    return Along(polygon(*profile), SLOT_Y_MM - 0.5 * TREAD_MM, SLOT_Y_MM + 0.5 * TREAD_MM)


def _trough(printer: Printer, thick: float) -> tuple[Upright, Upright]:
    """The block, and what is taken out of it: walls upright, so that the bar is as long below as above."""
    length, width, depth = BAR_MM
    half_x, half_y = 0.5 * hole_mm(printer, length), 0.5 * hole_mm(printer, width)
    wall_x, wall_y, top = half_x + WALL_MM, half_y + WALL_MM, thick + depth
    block = rounded(-wall_x, TROUGH_Y_MM - wall_y, wall_x, TROUGH_Y_MM + wall_y, 2.0)
    room = rectangle(-half_x, TROUGH_Y_MM - half_y, half_x, TROUGH_Y_MM + half_y)
    return Upright(block, 0.5 * thick, top), Upright(room, thick, top + BEYOND_MM)
