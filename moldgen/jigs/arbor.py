"""Grinding arbor: holds a tyre or sleeve as its own metal does, so that its running surface can be ground true."""

from __future__ import annotations

import math
from typing import Final

from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import BEYOND_MM, Jig, Piece, Turned, Upright, boss_mm, hexagon, label_within, polygon
from moldgen.mold.hardware import SCREWS, Screw
from moldgen.shapes import circle

FLANGE_MM: Final = 4.0
"""Of plastic beyond the pocket for the screw's head, and of the washer."""
BELOW_SURFACE_MM: Final = 0.5
"""The flanges' rims stay this far inside the ground surface, on the radius, clear of the abrasive."""
LEAST_WALL_MM: Final = 1.6
"""Round the screw; two or more printed lines on each side (common practice, no source)."""
LEAST_RIM_MM: Final = 0.8
"""By which a flange overlaps the rubber, on the radius (judgement)."""
PINCH_MM: Final = 0.3
"""By which the spigot is shorter than a metal hub, so that the washer holds the hub."""
LEAD_MM: Final = 0.5
POCKET_PLAY_MM: Final = 0.3
SHANK_MM: Final = 20.0
"""Of the screw beyond its nut, for the chuck."""


def plan(order: JigOrder) -> Jig:
    """The arbor for a part's bore. Raises NotForThisPartError where no printed spigot fits into it."""
    if not order.is_roller:
        raise NotForThisPartError("a grinding arbor is for tyres and sleeves", "Leave it out.")
    stop, insert = order.fitted["outer_diameter_mm"], order.insert
    if insert is not None and insert.bore_mm is None:
        raise NotForThisPartError(
            "this part is cast on metal without a bore", "Grind it on that metal, and ask for `ring_gauge` alone."
        )
    if insert is not None:
        assert insert.bore_mm is not None
        bore, spigot_long = insert.bore_mm, insert.width_mm - PINCH_MM
        holds, spigot = "the metal by its bore", bore - order.printer.clearance_mm
    else:
        bore, spigot_long = order.fitted["inner_diameter_mm"], order.fitted["width_mm"]
        holds, spigot = "the rubber at its fitted stretch", bore
    screw = _screw(spigot)
    flange = stop - 2.0 * BELOW_SURFACE_MM
    seat = insert.diameter_mm if insert is not None else bore
    pocket = screw.nut_flats_mm + POCKET_PLAY_MM
    corner = 2.0 * pocket / math.sqrt(3.0) + 2.0 * LEAST_WALL_MM * 0.75
    if flange < max(seat, spigot) + 2.0 * LEAST_RIM_MM or flange < corner:
        raise NotForThisPartError(
            f"a flange of {flange:.1f} mm, which clears the abrasive, is too small for its screw and bore",
            "Grind the part on its own metal or on a turned steel rod.",
        )
    head = screw.head_height_mm + POCKET_PLAY_MM
    stack = 2.0 * FLANGE_MM + spigot_long + screw.nut_height_mm
    return Jig(
        name="arbor",
        what_for=f"Holds {holds} while its running surface is ground to {stop:.2f} mm.",
        how_to_use=(
            f"Put a hexagon {screw.size} screw, at least {stack + SHANK_MM:.0f} mm long under its head, through the "
            "flange from below; the pocket keeps its head from turning.",
            "Slide the part over the spigot with soapy water, wipe it dry, put the washer and a nut on, hand-tight: "
            "the spigot takes the nut's force, not the rubber.",
            "Clamp the free end of the screw in a drill or lathe. See with a dial gauge or a marked card that the "
            "spigot runs within 0.05 mm before the rubber goes on; if not, true it or turn one from metal.",
            f"Grind with a flat stick of 120, then 240 grit, light and moving, to {stop:.2f} mm; let it cool before "
            "each measurement.",
        ),
        cautions=(
            "A spinning arbor: lowest speed that grinds, tool rest close, goggles, no gloves, sleeves, hair or cord "
            "near it.",
            "Rubber dust: extraction or a wet abrasive, FFP2 mask; never with a flame near.",
        ),
        dimensions={
            "spigot_diameter_mm": spigot,
            "spigot_length_mm": spigot_long,
            "flange_diameter_mm": flange,
            "stop_diameter_mm": stop,
            "screw_hole_mm": screw.hole_mm,
            "screw_length_at_least_mm": stack + SHANK_MM,
        },
        pieces=_pieces(order, stop, flange, spigot, spigot_long, screw, head),
    )


def _screw(spigot_mm: float) -> Screw:
    for screw in reversed(SCREWS):
        if spigot_mm >= screw.hole_mm + 2.0 * LEAST_WALL_MM:
            return screw
    raise NotForThisPartError(
        f"a spigot of {spigot_mm:.1f} mm has no room for a screw through it",
        "Grind the part on its own metal or on a steel rod of that diameter.",
    )


def _pieces(
    order: JigOrder, stop: float, flange: float, spigot: float, spigot_long: float, screw: Screw, head: float
) -> tuple[Piece, ...]:
    thick = head + FLANGE_MM
    rim, pin = 0.5 * flange, 0.5 * boss_mm(order.printer, spigot)
    body = polygon(
        (0.0, 0.0),
        (rim, 0.0),
        (rim, thick),
        (pin, thick),
        (pin, thick + spigot_long - LEAD_MM),
        (pin - LEAD_MM, thick + spigot_long),
        (0.0, thick + spigot_long),
    )
    through = Upright(circle(0.5 * screw.hole_mm), -BEYOND_MM, thick + spigot_long + BEYOND_MM)
    pocket = Upright(hexagon(screw.nut_flats_mm + POCKET_PLAY_MM), -BEYOND_MM, head)
    washer = Upright(circle(rim), 0.0, FLANGE_MM, (circle(0.5 * screw.hole_mm),))
    inner = 0.5 * screw.hole_mm + 1.0
    middle = 0.5 * (rim - 1.0 + inner)
    room = 2.0 * math.sqrt(max((rim - 0.8) ** 2 - (middle + 2.0) ** 2, 0.0)) if rim - 1.0 - inner > 4.6 else 0.0
    labels = label_within(f"Ø{stop:.2f}", room, x_mm=0.0, y_mm=middle, z_mm=FLANGE_MM)
    return (Piece("jig_arbor", (Turned(body),), (through, pocket)), Piece("jig_arbor_washer", (washer,), (), labels))
