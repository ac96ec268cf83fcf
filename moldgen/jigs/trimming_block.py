"""Trimming block: a pocket in which a flat part lies flush, so that a scalpel takes its flash and nothing else."""

from __future__ import annotations

from typing import Final

from moldgen.errors import GeometryError
from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import BEYOND_MM, Jig, Piece, Upright, label_within, rounded
from moldgen.shapes import Extruded, Path, Point, circle

PLAY_MM: Final = 0.10
"""Between part and pocket all round: the rubber drops in and does not turn (judgement)."""
FLOOR_MM: Final = 4.0
RIM_MM: Final = 10.0
"""On which the blade lies flat."""
HANDLE_MM: Final = 45.0
"""For the hand that holds the block, behind the fence."""
FENCE_MM: Final = 4.0
FENCE_HIGH_MM: Final = 12.0
"""Higher than a scalpel's blade is wide, so that one that slips stops there."""
LEAST_WIDE_MM: Final = 34.0
MOST_PUSH_HOLE_MM: Final = 8.0
PUSH_SHARE: Final = 0.7
"""Of the largest circle inside the part: what is left of it lies on the floor."""
LEAST_PUSH_HOLE_MM: Final = 1.2


def plan(order: JigOrder) -> Jig:
    """The block for a flat part. Raises NotForThisPartError for turned ones, and where the pocket cannot be drawn."""
    shape = order.shape
    if not isinstance(shape, Extruded):
        raise NotForThisPartError("a trimming block is for flat parts", "Leave it out; trim turned parts on an arbor.")
    printer = order.printer
    outline = _pocket(shape.outline, (PLAY_MM + printer.hole_offset_mm), printer.xy_scale)
    x0, y0, x1, y1 = outline.bounds
    middle = Point(0.5 * (x0 + x1), 0.5 * (y0 + y1))
    outline = outline.moved(-middle.x, -middle.y)
    depth = shape.thickness_mm
    wide, deep = max(x1 - x0 + 2.0 * RIM_MM, LEAST_WIDE_MM), y1 - y0 + 2.0 * RIM_MM
    long = deep + FENCE_MM + HANDLE_MM
    if wide > printer.bed_x_mm or long > printer.bed_y_mm:
        raise NotForThisPartError("the block does not lie on the bed", "Leave it out; trim the part on a glass plate.")
    push, at = _push_hole(shape, middle)
    piece = _piece(order, outline, depth, wide, deep, push, at)
    return Jig(
        name="trimming_block",
        what_for="Holds the part flush in a pocket while its flash is cut off with a scalpel.",
        how_to_use=(
            "Press the part into the pocket, flash up; it lies level with the block, so only the flash stands out.",
            "Hold the block by its handle behind the fence. Lay the blade flat on the rim and draw it away from the "
            "fence.",
            f"Push the part out from below through the {push:.1f} mm hole with a blunt rod.",
        ),
        cautions=(
            "A scalpel: fingers stay behind the fence, the blade moves away from them. A fresh blade needs less force.",
        ),
        dimensions={
            "pocket_depth_mm": depth,
            "play_mm": PLAY_MM,
            "pocket_length_mm": x1 - x0,
            "pocket_width_mm": y1 - y0,
            "push_hole_mm": push,
            "fence_height_mm": FENCE_HIGH_MM,
        },
        pieces=(piece,),
    )


def _pocket(outline: Path, outward_mm: float, scale: float) -> Path:
    try:
        return outline.scaled(1.0 / scale).offset(outward_mm)
    except GeometryError as error:
        raise NotForThisPartError(
            f"a pocket {outward_mm:.2f} mm larger than the part cannot be drawn ({error.text})",
            "Leave it out, or smooth that corner of the outline.",
        ) from error


def _push_hole(shape: Extruded, middle: Point) -> tuple[float, Point]:
    """Diameter and place of the hole under the part: a share of the largest circle that its rubber holds."""
    from shapely import Polygon, maximum_inscribed_circle

    area = Polygon(shape.outline.points(0.05), [hole.points(0.05) for hole in shape.holes])
    line = maximum_inscribed_circle(area, tolerance=0.05)
    diameter = min(2.0 * PUSH_SHARE * float(line.length), MOST_PUSH_HOLE_MM)
    if diameter < LEAST_PUSH_HOLE_MM:
        raise NotForThisPartError("the part is too slender to be pushed out of a pocket", "Leave it out.")
    x, y = line.coords[0]
    return diameter, Point(x - middle.x, y - middle.y)


def _piece(order: JigOrder, outline: Path, depth: float, wide: float, deep: float, push: float, at: Point) -> Piece:
    top = FLOOR_MM + depth - order.printer.z_offset_mm
    half_x, front, back = 0.5 * wide, -0.5 * deep, 0.5 * deep
    handle = front - FENCE_MM - HANDLE_MM
    solids = (
        Upright(rounded(-half_x, handle, half_x, back, 4.0), 0.0, top),
        Upright(rounded(-half_x, front - FENCE_MM, half_x, front, 1.5), 0.5 * top, top + FENCE_HIGH_MM),
    )
    cuts = (
        Upright(outline, FLOOR_MM, top + BEYOND_MM),
        Upright(circle(0.5 * push, at.x, at.y), -BEYOND_MM, FLOOR_MM + BEYOND_MM),
    )
    y = front - FENCE_MM - 0.5 * HANDLE_MM
    labels = label_within(f"{depth:.2f}", wide - 6.0, x_mm=0.0, y_mm=y, z_mm=top)
    return Piece("jig_trimming_block", solids, cuts, labels)
