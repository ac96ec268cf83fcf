"""The block round the cavities: how many there are and where, outside sizes, keys, screws, pry slots, lettering."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from moldgen.mold.cores import thicker_mm
from moldgen.mold.hardware import SCREWS, Screw
from moldgen.mold.lettering import width_mm
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.plan import (
    BlockPlan,
    CavityPlan,
    Decision,
    KeyPlan,
    LabelPlan,
    PrySlotPlan,
    ScrewPlan,
    SealPlan,
)
from moldgen.remarks import Refusal

FLOOR_MM: Final = 4.0
LOWER_LEAST_MM: Final = 9.0
"""So that there is room for a nut below and for the lettering beside the pry slot."""
SIDE_MM: Final = 5.5
CORNER_MM: Final = 3.0
BETWEEN_MM: Final = 1.2
KEY_BASE_MM: Final = 8.0
KEY_TIP_MM: Final = 5.5
KEY_HEIGHT_MM: Final = 5.0
CLAMPED_UP_TO_MM: Final = 26.0
"""A field of cavities no larger than this is held by a spring clamp on its faces."""
M4_FROM_MM: Final = 70.0
M5_FROM_MM: Final = 150.0
SCREWS_APART_MM: Final = 110.0
PRY_MM: Final = (10.0, 3.5, 1.6)
LETTERS_MM: Final = (3.0, 4.5)
LETTER_MARGIN_MM: Final = 1.2


@dataclass(frozen=True, slots=True)
class Frame:
    places: tuple[tuple[float, float], ...]
    block: BlockPlan
    keys: tuple[KeyPlan, ...]
    screws: tuple[ScrewPlan, ...]
    pry_slots: tuple[PrySlotPlan, ...]
    labels: tuple[LabelPlan, ...]


@dataclass(frozen=True, slots=True)
class _Grid:
    columns: int
    rows: int
    pitch_x: float
    pitch_y: float

    @property
    def places(self) -> tuple[tuple[float, float], ...]:
        return tuple(
            ((i - 0.5 * (self.columns - 1)) * self.pitch_x, (j - 0.5 * (self.rows - 1)) * self.pitch_y)
            for j in range(self.rows)
            for i in range(self.columns)
        )

    @property
    def field(self) -> tuple[float, float]:
        return self.columns * self.pitch_x - BETWEEN_MM, self.rows * self.pitch_y - BETWEEN_MM


def frame_for(order: Order, cavity: CavityPlan, upper_mm: float, seal: SealPlan, decisions: list[Decision]) -> Frame:
    """The frame round as many cavities as are wanted and fit. Raises CannotBeMadeError."""
    grid, (block_x, block_y), screw = _arranged(order, cavity, seal, decisions)
    places = _centred(grid.places, cavity)
    under_nuts = 0.0 if screw is None else _shallowest_pocket_mm(screw) + FLOOR_MM
    below = max(max(cavity.below_mm, _deepest(cavity)) + FLOOR_MM, LOWER_LEAST_MM, under_nuts)
    upper = max(upper_mm, _highest(cavity) + FLOOR_MM)
    fixing = None if screw is None else _fixing(screw, below, upper)
    if screw is not None and fixing is None:
        decisions.append(Decision("held by spring clamps", "the mold is taller than any stock screw"))
    elif fixing is not None:
        upper = fixing.upper_mm
        decisions.append(
            Decision(f"{fixing.screw.size} x {fixing.length_mm:g} screws", "a stock length that ends inside its nut")
        )
    block = BlockPlan(block_x, block_y, below, upper, CORNER_MM)
    end_x = 0.5 * (grid.field[0] + block_x) / 2.0
    screws = () if fixing is None else _screws(fixing, block, end_x)
    keys = _keys(order, block, end_x, screw)
    _refuse_taller_than_the_bed(order, max(below + max(key.height_mm for key in keys), upper))
    return Frame(places, block, keys, screws, _pry_slots(block), _labels(order, block))


def _refuse_taller_than_the_bed(order: Order, tall_mm: float) -> None:
    if tall_mm > order.printer.bed_z_mm:
        raise CannotBeMadeError(
            (
                Refusal(
                    ("printer", "bed_z"),
                    f"a half of the mold is {tall_mm:.0f} mm tall, and the printer prints up to "
                    f"{order.printer.bed_z_mm:g} mm",
                    "Take a taller printer, or make the part in shorter pieces.",
                ),
            )
        )


def _centred(places: tuple[tuple[float, float], ...], cavity: CavityPlan) -> tuple[tuple[float, float], ...]:
    """Places of the cavities' origins, their footprints centred on the grid."""
    x0, y0, x1, y1 = cavity.footprint.bounds
    return tuple((x - 0.5 * (x0 + x1), y - 0.5 * (y0 + y1)) for x, y in places)


def _deepest(cavity: CavityPlan) -> float:
    parts = [path for path in (cavity.core and cavity.core.profile, cavity.insert and cavity.insert.body) if path]
    return max((-path.bounds[1] for path in parts), default=0.0)


def _highest(cavity: CavityPlan) -> float:
    parts = [path for path in (cavity.core and cavity.core.upper_seat, cavity.insert and cavity.insert.body) if path]
    return max((path.bounds[3] for path in parts), default=0.0)


def _arranged(
    order: Order, cavity: CavityPlan, seal: SealPlan, decisions: list[Decision]
) -> tuple[_Grid, tuple[float, float], Screw | None]:
    """The grid with the smallest block that the bed holds."""
    x0, y0, x1, y1 = cavity.footprint.bounds
    grow = 2.0 * (seal.land_mm + seal.channel_width_mm) + BETWEEN_MM
    pitch = (x1 - x0 + grow, y1 - y0 + grow)
    wanted = order.choices.cavities or order.quantity
    bed = (order.printer.bed_x_mm, order.printer.bed_y_mm)
    for count in range(min(wanted, 64), 0, -1):
        options = []
        for columns in range(1, count + 1):
            if count % columns:
                continue
            grid = _Grid(columns, count // columns, *pitch)
            screw = _screw_for(order, grid)
            size = _block_size(grid, screw)
            if size[0] <= bed[0] and size[1] <= bed[1]:
                options.append((size[0] * size[1], columns, grid, size, screw))
        if options:
            _, _, grid, size, screw = min(options, key=lambda option: option[:2])
            if count < wanted:
                if order.choices.cavities is not None:
                    raise CannotBeMadeError(
                        (
                            Refusal(
                                ("mold", "cavities"),
                                f"a bed of {bed[0]:g} x {bed[1]:g} mm holds {count}",
                                f"Take {count} or fewer.",
                            ),
                        )
                    )
                decisions.append(
                    Decision(
                        f"{count} " + ("cavity" if count == 1 else "cavities"),
                        f"more do not fit the bed in a full grid; cast {math.ceil(wanted / count)} times",
                    )
                )
            elif count > 1:
                decisions.append(
                    Decision(
                        f"{count} cavities in {grid.rows} x {grid.columns}",
                        "each has its own gate, so there is no runner to waste",
                    )
                )
            if screw is None:
                decisions.append(Decision("held by spring clamps", "the mold is small"))
            return grid, size, screw
    alone = _Grid(1, 1, *pitch)
    need = _block_size(alone, _screw_for(order, alone))
    if order.lay == "ring":
        raise CannotBeMadeError(
            (
                Refusal(
                    ("wanted", "make"),
                    f"lying as a ring, its mold needs {need[0]:.0f} x {need[1]:.0f} mm, and the bed is "
                    f"{bed[0]:g} x {bed[1]:g} mm",
                    "Write `make: meander`, and it is cast folded up, without a joint.",
                ),
            )
        )
    raise CannotBeMadeError(
        (
            Refusal(
                ("printer", "bed_x" if need[0] > bed[0] else "bed_y"),
                f"the mold needs {need[0]:.0f} x {need[1]:.0f} mm",
                f"Take a printer with a bed of at least {need[0]:.0f} x {need[1]:.0f} mm, or make the part smaller.",
            ),
        )
    )


def room_mm(order: Order, seal: SealPlan) -> tuple[float, float]:
    """The largest single cavity, seen from above, whose frame the bed still holds."""
    grow = 2.0 * (seal.land_mm + seal.channel_width_mm)
    rooms = []
    for screw in (None, *(screw.modelled(order.printer) for screw in SCREWS)):
        end = _end_mm(screw)
        x = order.printer.bed_x_mm - 2.0 * end - grow
        y = order.printer.bed_y_mm - 2.0 * _side_mm(screw, x + grow) - grow
        asked = _screw_for(order, _Grid(1, 1, x + grow + BETWEEN_MM, y + grow + BETWEEN_MM))
        if _end_mm(asked) <= end and (asked is None or screw is not None):
            rooms.append((x, y))
    return rooms[0]


def _screw_for(order: Order, grid: _Grid) -> Screw | None:
    reach = max(grid.field)
    if order.choices.closing == "clamp" or (order.choices.closing == "by_rule" and reach <= CLAMPED_UP_TO_MM):
        return None
    return SCREWS[2 if reach >= M5_FROM_MM else 1 if reach >= M4_FROM_MM else 0].modelled(order.printer)


def _block_size(grid: _Grid, screw: Screw | None) -> tuple[float, float]:
    field_x, field_y = grid.field
    end = _end_mm(screw)
    side = _side_mm(screw, field_x)
    # Room for two screws and, off the middle, the key between them.
    least_y = 2.2 * KEY_BASE_MM + 2.0 + (0.0 if screw is None else 2.0 * screw.frame_mm)
    return field_x + 2.0 * end, max(field_y + 2.0 * side, least_y)


def _end_mm(screw: Screw | None) -> float:
    """Width of the strips at either end, for keys and screws."""
    return KEY_BASE_MM + 4.0 if screw is None else max(screw.frame_mm, KEY_BASE_MM + 3.0)


def _side_mm(screw: Screw | None, field_x: float) -> float:
    """Width of the strips along the sides, which carry screws only where the ends' are far apart."""
    return SIDE_MM if screw is None or field_x < 2.0 * SCREWS_APART_MM else screw.frame_mm


@dataclass(frozen=True, slots=True)
class _Fixing:
    screw: Screw
    length_mm: float
    pocket_mm: float
    upper_mm: float


def _shallowest_pocket_mm(screw: Screw) -> float:
    """The nut sunk a little below the underside."""
    return screw.nut_height_mm + 0.5


def _fixing(screw: Screw, below_mm: float, upper_mm: float) -> _Fixing | None:
    """The longest stock screw that a deeper nut pocket brings home, else a thicker upper half for the next one."""
    shallowest = _shallowest_pocket_mm(screw)
    deepest = below_mm - FLOOR_MM
    for length in reversed(screw.lengths_mm):
        pocket = below_mm + upper_mm - length + shallowest
        if shallowest <= pocket <= deepest:
            return _Fixing(screw, length, pocket, upper_mm)
    longer = [length for length in screw.lengths_mm if length >= below_mm + upper_mm]
    return _Fixing(screw, longer[0], shallowest, longer[0] - below_mm) if longer else None


def _screws(fixing: _Fixing, block: BlockPlan, end_x: float) -> tuple[ScrewPlan, ...]:
    screw = fixing.screw
    edge_y = 0.5 * (block.y_mm - screw.frame_mm)
    spans = max(1, math.ceil(2.0 * edge_y / SCREWS_APART_MM))
    ys = [-edge_y + 2.0 * edge_y * i / spans for i in range(spans + 1)]
    places = [(x, y) for x in (-end_x, end_x) for y in ys]
    if block.x_mm - 2.0 * (block.x_mm / 2.0 - end_x) > 2.0 * SCREWS_APART_MM:
        places += [(0.0, -edge_y), (0.0, edge_y)]
    return tuple(ScrewPlan(x, y, screw, fixing.length_mm, fixing.pocket_mm) for x, y in places)


def _keys(order: Order, block: BlockPlan, end_x: float, screw: Screw | None) -> tuple[KeyPlan, ...]:
    """A key on each end, both off the middle to the same side: turned about, neither finds its socket.

    Printed, a key has its clearance: what the printer adds to pin and hole is modelled besides.
    """
    room = 0.5 * block.y_mm - (0.0 if screw is None else screw.frame_mm)
    y = min(max(0.75 * KEY_BASE_MM, 0.5 * room), room - 0.5 * KEY_BASE_MM - 1.0)
    clearance = 0.75 * order.printer.clearance_mm + thicker_mm(order)
    return tuple(KeyPlan(x, y, KEY_BASE_MM, KEY_TIP_MM, KEY_HEIGHT_MM, clearance) for x in (-end_x, end_x))


def _pry_slots(block: BlockPlan) -> tuple[PrySlotPlan, ...]:
    width, depth, height = PRY_MM
    width = min(width, 0.3 * block.x_mm)
    half = 0.5 * block.y_mm
    return (PrySlotPlan(0.0, -half, width, depth, height, 1), PrySlotPlan(0.0, half, width, depth, height, -1))


def _labels(order: Order, block: BlockPlan) -> tuple[LabelPlan, ...]:
    """On the front of each half: which part this is, of what rubber, shrunk by how much, which revision.

    A name too long for the smallest letters loses its end, never the revision.
    """
    out = []
    for body, name, tail, low, high in (
        ("lower", order.name, f" r{order.choices.revision}", -block.lower_mm, -PRY_MM[2] - 0.5),
        ("upper", order.marking, "", 0.0, block.upper_mm),
    ):
        room_x, room_z = block.x_mm - 2.0 * CORNER_MM - 2.0, high - low - 2.0 * LETTER_MARGIN_MM
        least, most = LETTERS_MM
        height = min(most, room_z / 1.5)
        kept, fitting = name, name + tail
        while width_mm(text=fitting, height_mm=height) > room_x and height > least:
            height -= 0.1
        while width_mm(text=fitting, height_mm=height) > room_x and len(kept) > 1:
            kept = kept[:-1].rstrip("_-")
            fitting = kept + tail
        z = low + 0.5 * (high - low) - 0.4 * height
        out.append(LabelPlan(body, fitting, height, -0.5 * width_mm(text=fitting, height_mm=height), z))
    return tuple(out)
