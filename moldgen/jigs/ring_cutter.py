"""Ring cutter: a bar that turns about a pin and carries two blades, for a belt cut as a ring from sheet."""

from __future__ import annotations

from typing import Final

from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import BEYOND_MM, Jig, Piece, Upright, hole_mm, label_within, rounded
from moldgen.shapes import circle, rectangle

PIN_MM: Final = 3.0
"""A steel pin or nail in the board, round which the bar turns."""
BLADE_WIDE_MM: Final = 9.0
"""Of a segment of a snap-off knife."""
BLADE_PLAY_MM: Final = 0.1
HIGH_MM: Final = 14.0
WIDE_MM: Final = 24.0
BEYOND_BLADE_MM: Final = 14.0
"""Of bar beyond each blade, for the fingers."""
LEAST_RADIUS_MM: Final = 8.0
STANDS_OUT_MM: Final = 1.0
"""How far a blade goes into the board beneath the sheet."""


def plan(order: JigOrder) -> Jig:
    """The cutter for a belt's ring. Raises NotForThisPartError where it is not cut from sheet."""
    if not order.is_belt or "diameter_mm" in order.free:
        raise NotForThisPartError("a ring cutter is for belts of square or flat section", "Leave it out.")
    inner, outer = 0.5 * order.free["inner_diameter_mm"], 0.5 * order.free["outer_diameter_mm"]
    height, width = order.section_mm
    long = inner + outer + 2.0 * BEYOND_BLADE_MM
    bed = max(order.printer.bed_x_mm, order.printer.bed_y_mm)
    if long > bed:
        raise NotForThisPartError(
            f"the bar is {long:.0f} mm long and the bed {bed:g} mm", "Cut cord and join it: ask for `splice`."
        )
    if inner < LEAST_RADIUS_MM:
        raise NotForThisPartError("the ring is too small for a bar with blades", "Cut it with two punches.")
    blade = HIGH_MM + width + STANDS_OUT_MM - 1.0
    return Jig(
        name="ring_cutter",
        what_for=f"Cuts a ring of {2 * inner:.2f} mm inside and {2 * outer:.2f} mm outside from sheet {width:.2f} mm "
        "thick.",
        how_to_use=(
            f"Drive a {PIN_MM:g} mm pin through the sheet into a flat board; tape the sheet down outside the ring.",
            f"Break two blades {order.blade_mm:g} mm thick to {blade:.0f} mm and push them with pliers into the slots "
            "until they are level with the bar's top, points leading as the bar turns anticlockwise, seen from above. "
            "A drop of hot glue holds them.",
            "Set the bar over the pin, press it down with a palm on its middle and turn it anticlockwise by its ends, "
            "a few light turns rather than a deep one.",
            f"Measure the ring lying flat: it should be {height:.2f} mm from inside to outside.",
        ),
        cautions=(
            "Blades stand out below the bar: never lift it by its underside, and keep the other hand off the board "
            "while it turns.",
            "Break and set blades with pliers and goggles; put used ones into a closed tin.",
        ),
        dimensions={
            "inner_radius_mm": inner,
            "outer_radius_mm": outer,
            "blade_thickness_mm": order.blade_mm,
            "blade_offset_mm": order.blade_offset_mm,
            "blade_length_mm": blade,
            "pin_diameter_mm": PIN_MM,
        },
        pieces=(_piece(order, inner, outer),),
    )


def _piece(order: JigOrder, inner: float, outer: float) -> Piece:
    """The bar along the bed's longer side: the inner blade to one side of the pin, the outer to the other."""
    slot = hole_mm(order.printer, order.blade_mm + BLADE_PLAY_MM)
    along, back = 0.5 * slot, BLADE_WIDE_MM + BLADE_PLAY_MM
    ends, half = (-inner - BEYOND_BLADE_MM, outer + BEYOND_BLADE_MM), 0.5 * WIDE_MM
    bar, upper = rounded(ends[0], -half, ends[1], half, 6.0), HIGH_MM + BEYOND_MM
    # The point that cuts leads and lies abreast of the pin, so that its distance from the pin is the ring's radius.
    left, right = inner + order.blade_offset_mm, outer + order.blade_offset_mm
    blades = (
        rectangle(-left - along, 0.0, -left + along, back),
        rectangle(right - along, -back, right + along, 0.0),
    )
    pin = circle(0.5 * hole_mm(order.printer, PIN_MM + order.printer.clearance_mm))
    turn = 0.0 if order.printer.bed_x_mm >= order.printer.bed_y_mm else 90.0
    labels = label_within(f"Ø{2 * inner:.2f}", inner - 8.0, x_mm=-0.5 * inner, y_mm=0.0, z_mm=HIGH_MM) + label_within(
        f"Ø{2 * outer:.2f}", outer - 8.0, x_mm=0.5 * outer, y_mm=0.0, z_mm=HIGH_MM
    )
    cuts = tuple(Upright(path.rotated(turn), -BEYOND_MM, upper) for path in (*blades, pin))
    return Piece(
        "jig_ring_cutter",
        (Upright(bar.rotated(turn), 0.0, HIGH_MM),),
        cuts,
        tuple(label.turned(turn) for label in labels),
    )
