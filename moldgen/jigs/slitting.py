"""Slitting guide: a tunnel with two blades through its roof; a strip of sheet pulled through comes out as cord."""

from __future__ import annotations

from typing import Final

from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import BEYOND_MM, Along, Form, Jig, Piece, Upright, hole_mm, label_within, rounded
from moldgen.shapes import rectangle

BLADE_WIDE_MM: Final = 9.0
"""Of a segment of a snap-off knife."""
BLADE_PLAY_MM: Final = 0.1
SHEET_PLAY_MM: Final = 0.2
EDGE_MM: Final = 3.0
"""Of the strip on either side of the cord; it is thrown away."""
FLOOR_MM: Final = 4.0
INTO_FLOOR_MM: Final = 1.0
BRIDGE_HIGH_MM: Final = 15.0
"""Roof over the tunnel: the blades stand inside it and end below its top."""
BRIDGE_LONG_MM: Final = 24.0
TABLE_MM: Final = 40.0
"""Of open floor before and behind the bridge, for the fingers."""
WALL_MM: Final = 8.0
SIDE_MM: Final = 3.0
"""Height of the walls that lead the strip, above it."""


def plan(order: JigOrder) -> Jig:
    """The guide for a belt's section. Raises NotForThisPartError where it is not cut from sheet."""
    if not order.is_belt or "diameter_mm" in order.free:
        raise NotForThisPartError("a slitting guide is for belts of square or flat section", "Leave it out.")
    height, width = order.section_mm
    strip = width + 2.0 * EDGE_MM
    printer = order.printer
    if strip > printer.bridge_mm:
        raise NotForThisPartError(
            f"the roof over a strip of {strip:.1f} mm is wider than the {printer.bridge_mm:g} mm that print without "
            "support",
            "Cut flat belts along a steel rule.",
        )
    between = width + order.blade_offset_mm
    if between - order.blade_mm - BLADE_PLAY_MM < printer.least_wall_mm:
        raise NotForThisPartError(
            f"between blades {between:.2f} mm apart no wall of {printer.least_wall_mm:g} mm is left",
            "Cut so narrow a belt along a steel rule.",
        )
    blade_long = INTO_FLOOR_MM + height + SHEET_PLAY_MM + BRIDGE_HIGH_MM - 2.0
    return Jig(
        name="slitting",
        what_for=f"Cuts cord {width:.2f} mm wide from sheet {height:.2f} mm thick.",
        how_to_use=(
            f"Cut a strip {strip:.1f} mm wide along a steel rule.",
            f"Break two blades {order.blade_mm:g} mm thick to {blade_long:.0f} mm and push them with pliers down the "
            "slots, edges to the side marked IN, until they stand in the floor. A drop of hot glue on top holds them "
            "and lets go when they are blunt.",
            "Feed the strip in at IN, draw it out on the other side with pliers in one steady pull.",
            f"Measure the cord lying free; if it is not {width:.2f} mm, the difference is the blade offset.",
        ),
        cautions=(
            "Blades: they stay inside the bridge; never reach into the tunnel, draw with pliers, and clamp the guide "
            "to the bench.",
            "Break and set blades with pliers and goggles; put used ones into a closed tin.",
        ),
        dimensions={
            "cord_width_mm": width,
            "sheet_thickness_mm": height,
            "strip_width_mm": strip,
            "between_edges_mm": between,
            "blade_thickness_mm": order.blade_mm,
            "blade_offset_mm": order.blade_offset_mm,
            "blade_length_mm": blade_long,
        },
        pieces=(_piece(order, height, strip, between),),
    )


def _piece(order: JigOrder, height: float, strip: float, between: float) -> Piece:
    tunnel, high = hole_mm(order.printer, strip + SHEET_PLAY_MM), height + SHEET_PLAY_MM
    slot = hole_mm(order.printer, order.blade_mm + BLADE_PLAY_MM)
    half_x, half_y = 0.5 * tunnel + WALL_MM, 0.5 * BRIDGE_LONG_MM + TABLE_MM
    side, top = FLOOR_MM + high + SIDE_MM, FLOOR_MM + high + BRIDGE_HIGH_MM
    half_bridge, half_blade = 0.5 * BRIDGE_LONG_MM, 0.5 * (BLADE_WIDE_MM + BLADE_PLAY_MM)
    solids: tuple[Form, ...] = (
        Upright(rounded(-half_x, -half_y, half_x, half_y, 3.0), 0.0, side),
        Upright(rectangle(-half_x, -half_bridge, half_x, half_bridge), 0.5 * FLOOR_MM, top),
    )
    open_top = side + BEYOND_MM
    half, wide = 0.5 * tunnel, 0.5 * slot
    # Such blades are ground on both sides: the edge lies in the middle of their thickness.
    blades = [rectangle(x - wide, -half_blade, x + wide, half_blade) for x in (-0.5 * between, 0.5 * between)]
    cuts: tuple[Form, ...] = (
        Along(rectangle(-half, FLOOR_MM, half, FLOOR_MM + high), -half_y - BEYOND_MM, half_y + BEYOND_MM),
        Along(rectangle(-half, FLOOR_MM + 0.5 * high, half, open_top), -half_y - BEYOND_MM, -half_bridge),
        Along(rectangle(-half, FLOOR_MM + 0.5 * high, half, open_top), half_bridge, half_y + BEYOND_MM),
        *(Upright(path, FLOOR_MM - INTO_FLOOR_MM, top + BEYOND_MM) for path in blades),
    )
    labels = label_within("IN", WALL_MM, x_mm=-half - 0.5 * WALL_MM, y_mm=-half_y + 8.0, z_mm=side)
    return Piece("jig_slitting", solids, cuts, labels)
