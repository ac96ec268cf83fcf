"""Splice jig: cuts both ends of a cord to a scarf and holds them in line while they are glued to a belt."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import (
    BEYOND_MM,
    Along,
    Form,
    Jig,
    Piece,
    Upright,
    hole_mm,
    label_within,
    polygon,
    rounded,
)
from moldgen.mechanics.shrinkage import mold_length_mm
from moldgen.mechanics.splice import MOST_SCARF_DEG, bending_strain, cord_length_mm, joint, overlap_mm
from moldgen.mold.hardware import SCREWS
from moldgen.mold.long_belts import TRIM_MM
from moldgen.shapes import circle, rectangle

BLADE_PLAY_MM: Final = 0.15
CHANNEL_PLAY_MM: Final = 0.1
SQUEEZE: Final = 0.08
"""Share of its width by which the lid presses the cord down (judgement)."""
FLOOR_MM: Final = 5.0
INTO_FLOOR_MM: Final = 1.0
"""How far the blade runs below the channel."""
BESIDE_MM: Final = 6.0
"""How far the slot guides the blade on either side of the channel."""
RELIEF_MM: Final = 1.5
"""Free space round the joint, so that glue reaches neither floor nor walls."""
LID_MM: Final = 8.0
"""Thickness of the lid: the blade's edge works this far below the fingers."""
SCREW: Final = SCREWS[1]
BESIDE_SCREW_MM: Final = 8.0
"""From the slot's end to a screw, and from there to the rim."""


def plan(order: JigOrder) -> Jig:
    """The jig for a belt's section. Raises NotForThisPartError where there is no belt."""
    if not order.is_belt:
        raise NotForThisPartError("a splice jig is for belts", "Leave it out.")
    height, width = order.section_mm
    length, scarf = order.free["length_mm"], order.scarf_deg
    overlap = overlap_mm(height_mm=height, scarf_deg=scarf)
    cut = cord_length_mm(belt_length_mm=length, height_mm=height, scarf_deg=scarf, pieces=order.pieces)
    in_mold = mold_length_mm(part_length_mm=cut, linear_shrinkage=_shrinkage(order)) + 2.0 * TRIM_MM
    figures = _figures(order)
    cords = "cord" if order.pieces == 1 else f"{order.pieces} cords"
    return Jig(
        name="splice",
        what_for=f"Cuts {cords} at {scarf:.0f}° and joins the ends to a belt of {length:.2f} mm free length."
        + _stress(figures),
        how_to_use=(
            *_laid_in(order),
            f"Cut: lay the cord into the channel, its end {TRIM_MM:.0f} mm past the slot marked CUT; screw the lid "
            "down over it and draw the blade through the lid's slot. Turn the cord end for end, not over, and cut the "
            f"other end {cut:.2f} mm from the first, tip to tip (its mold is {in_mold:.2f} mm long).",
            "Join: lay both ends into the place marked JOIN so that the scarfs meet without pull, glue sparingly with "
            "a glue that this rubber's maker names, and screw the lid down until it has set.",
            *(("The joint's thin outer edge should trail on the pulleys.",) if scarf < MOST_SCARF_DEG else ()),
        ),
        cautions=(
            "A scalpel: it stands upright in the lid's slot and is drawn, never pushed towards the hand that holds the "
            "block; fingers stay on the lid's ends.",
            "Glue: gloves, open windows; keep it off skin and eyes.",
        ),
        dimensions={
            "free_length_mm": length,
            "pieces": float(order.pieces),
            "scarf_deg": scarf,
            "overlap_mm": overlap,
            "cut_length_mm": cut,
            "cord_mold_length_mm": in_mold,
            "channel_width_mm": height + CHANNEL_PLAY_MM,
            "channel_depth_mm": width,
            "blade_thickness_mm": order.blade_mm,
            "blade_offset_mm": order.blade_offset_mm,
            "blade_slot_mm": order.blade_mm + BLADE_PLAY_MM,
            **figures,
        },
        pieces=_pieces(order, height, width, overlap, cut),
    )


def _stress(figures: Mapping[str, float]) -> str:
    """What the joint bears, in words; nothing where neither tension nor pulleys are known."""
    out = ""
    if "joint_shear_kpa" in figures:
        out += (
            f" At the belt's tension of {figures['tension_n']:.2f} N the glue carries "
            f"{figures['joint_normal_kpa']:.0f} kPa across and {figures['joint_shear_kpa']:.0f} kPa along its "
            f"{figures['bond_area_mm2']:.1f} mm²."
        )
    if "bending_strain" in figures:
        out += f" On the smallest pulley its outside is strained by {figures['bending_strain']:.1%}."
    return out


def _laid_in(order: JigOrder) -> tuple[str, ...]:
    """How the cord lies in the channel, so that both scarfs are cut through the belt's height and meet."""
    if "diameter_mm" in order.free:
        return (
            "Draw a line along the cord with a marker while it lies straight. Keep it on top at both cuts and in the "
            "joint: a cord that has rolled brings scarfs that do not meet.",
        )
    return ("Lay the cord on its side: the belt's height goes across the channel, and its inside to the same wall.",)


def _shrinkage(order: JigOrder) -> float:
    """As the sizing has it: free = mold × (1 − s)."""
    return 1.0 - order.free["length_mm"] / order.mold["length_mm"]


def _figures(order: JigOrder) -> dict[str, float]:
    """What the joint bears in place; the section in place is the fitted one."""
    fitted = order.fitted
    if "diameter_mm" in fitted:
        height, area = fitted["diameter_mm"], 0.25 * math.pi * fitted["diameter_mm"] ** 2
    else:
        height, area = fitted["height_mm"], fitted["height_mm"] * fitted["width_mm"]
    out: dict[str, float] = {}
    if order.tension_n is not None:
        made = joint(section_area_mm2=area, scarf_deg=order.scarf_deg, tension_n=order.tension_n)
        out = {
            "tension_n": order.tension_n,
            "bond_area_mm2": made.bond_area_mm2,
            "joint_normal_kpa": made.normal_kpa,
            "joint_shear_kpa": made.shear_kpa,
        }
    if order.smallest_pitch_diameter_mm is not None:
        under = order.smallest_pitch_diameter_mm - height
        out["bending_strain"] = bending_strain(height_mm=height, under_belt_diameter_mm=under)
    return out


def _pieces(order: JigOrder, height: float, width: float, overlap: float, cut: float) -> tuple[Piece, ...]:
    """A block with two places in one channel, and a lid that fits both."""
    channel = hole_mm(order.printer, height + CHANNEL_PLAY_MM)
    slot = hole_mm(order.printer, order.blade_mm + BLADE_PLAY_MM)
    tan = math.tan(math.radians(order.scarf_deg))
    reach = (0.5 * channel + BESIDE_MM) / tan  # of the slot along the cord, to either side
    beside = order.blade_offset_mm
    screw_y = max(reach + abs(beside) + 4.0, 14.0)
    half_lid = screw_y + 6.0
    place = half_lid + 1.0  # of the two places along y: CUT behind, JOIN in front
    top = FLOOR_MM + width
    skew = 0.5 * slot / math.sin(math.radians(order.scarf_deg))
    slit_x = 0.5 * channel + BESIDE_MM
    screw_x = slit_x + BESIDE_SCREW_MM
    half_x, half_y = screw_x + BESIDE_SCREW_MM, 2.0 * half_lid + 2.0
    printer = order.printer
    if 2.0 * half_x > printer.bed_x_mm or 2.0 * half_y > printer.bed_y_mm or top > printer.bed_z_mm:
        raise NotForThisPartError(
            f"a block for a section of {height:.1f} by {width:.1f} mm does not lie on the bed", "Cut it by hand."
        )

    def slit(y: float, bottom: float, upper: float) -> Upright:
        corners = ((slit_x, reach + skew), (-slit_x, skew - reach), (-slit_x, -reach - skew), (slit_x, reach - skew))
        return Upright(polygon(*((x, y + dy) for x, dy in corners)), bottom, upper)

    relief_y = 0.5 * overlap + RELIEF_MM
    relief = rectangle(-0.5 * channel - RELIEF_MM, -place - relief_y, 0.5 * channel + RELIEF_MM, -place + relief_y)
    cuts: list[Form] = [
        Along(
            rectangle(-0.5 * channel, FLOOR_MM, 0.5 * channel, top + BEYOND_MM), -half_y - BEYOND_MM, half_y + BEYOND_MM
        ),
        slit(place + beside, FLOOR_MM - INTO_FLOOR_MM, top + BEYOND_MM),
        Upright(relief, FLOOR_MM - RELIEF_MM, top + BEYOND_MM),
    ]
    holes = [(x, y) for x in (-screw_x, screw_x) for y in (-screw_y, screw_y)]
    cuts += [
        Upright(circle(0.5 * SCREW.hole_mm, x, middle + y), -BEYOND_MM, top + BEYOND_MM)
        for middle in (-place, place)
        for x, y in holes
    ]
    block = Upright(rounded(-half_x, -half_y, half_x, half_y, 4.0), 0.0, top)
    turned = {"turn_deg": 90.0, "z_mm": top}
    labels = (
        *label_within(
            f"{cut:.2f}" if order.pieces == 1 else f"{order.pieces}×{cut:.2f}",
            2.0 * half_lid - 4.0,
            x_mm=slit_x + 3.0,
            y_mm=-place,
            **turned,
        ),
        *label_within("JOIN", half_lid, x_mm=-slit_x - 3.0, y_mm=-place, **turned),
        *label_within("CUT", half_lid, x_mm=-slit_x - 3.0, y_mm=place, **turned),
    )
    # The lid is printed upside down: its rib, which dips into the channel, stands up and leaves the joint free.
    rib = 0.5 * (channel - 2.0 * order.printer.clearance_mm)
    high = LID_MM + SQUEEZE * width
    free = 0.5 * overlap + RELIEF_MM
    ribs = tuple(
        Upright(rectangle(-rib, y0, rib, y1), 0.5 * LID_MM, high)
        for y0, y1 in ((-half_lid + 1.0, -free), (free, half_lid - 1.0))
    )
    lid = Upright(
        rounded(-half_x, -half_lid, half_x, half_lid, 4.0),
        0.0,
        LID_MM,
        tuple(circle(0.5 * SCREW.hole_mm, x, y) for x, y in holes),
    )
    mirrored = Upright(slit(beside, -BEYOND_MM, high + BEYOND_MM).outline.mirrored_x(), -BEYOND_MM, high + BEYOND_MM)
    return (
        Piece("jig_splice", (block,), tuple(cuts), labels),
        Piece("jig_splice_lid", (lid, *ribs), (mirrored,)),
    )
