"""Ring gauge: a hole that the roller must go through and one that it must not."""

from __future__ import annotations

from typing import Final

from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import LETTER_MM, Jig, Label, Piece, Upright, hole_mm, label_within, rounded
from moldgen.shapes import circle

HALF_TOLERANCE_MM: Final = 0.10
"""Between the running diameter and each hole: about what a printed hole can be told by (judgement)."""
THICK_MM: Final = 5.0
WALL_MM: Final = 5.0
TEXT_BAND_MM: Final = LETTER_MM + 5.0


def plan(order: JigOrder) -> Jig:
    """The gauge for the diameter in place. Raises NotForThisPartError where nothing runs on an outside."""
    if not order.is_roller:
        raise NotForThisPartError("a ring gauge is for tyres and sleeves", "Leave it out.")
    running = order.fitted["outer_diameter_mm"]
    go, no_go = running + HALF_TOLERANCE_MM, running - HALF_TOLERANCE_MM
    wide = go + no_go + 3.0 * WALL_MM
    deep = go + 2.0 * WALL_MM + TEXT_BAND_MM
    bed = sorted((order.printer.bed_x_mm, order.printer.bed_y_mm))
    if deep > bed[0] or wide > bed[1]:
        raise NotForThisPartError("a plate with both holes does not lie on the bed", "Leave it out and use a caliper.")
    return Jig(
        name="ring_gauge",
        what_for=f"Tells when the running surface has come down to {running:.2f} ± {HALF_TOLERANCE_MM:.2f} mm.",
        how_to_use=(
            "Stop the spindle, wipe the dust off, and try the roller at both ends and in the middle.",
            "It is right when it falls through GO by its own weight and NO GO stops it; rubber can be pushed through "
            "any hole, so do not push.",
            "Measure both holes with the caliper once and note what they are; scrape GO or print again if they are "
            "more than 0.05 mm off.",
        ),
        cautions=("Never hold the gauge to a turning roller.",),
        dimensions={"running_diameter_mm": running, "go_diameter_mm": go, "no_go_diameter_mm": no_go},
        pieces=(_piece(order, go, no_go, wide, deep),),
    )


def _piece(order: JigOrder, go: float, no_go: float, wide: float, deep: float) -> Piece:
    """Holes side by side, what they are beneath them."""
    along_x = order.printer.bed_x_mm >= wide
    across = 0.5 * wide
    go_x, no_go_x = WALL_MM + 0.5 * go - across, across - WALL_MM - 0.5 * no_go
    hole_y = 0.5 * deep - WALL_MM - 0.5 * go
    text_y = -0.5 * deep + 0.5 * TEXT_BAND_MM
    outline = rounded(-across, -0.5 * deep, across, 0.5 * deep, 3.0)
    holes = tuple(circle(0.5 * hole_mm(order.printer, d), x, hole_y) for d, x in ((go, go_x), (no_go, no_go_x)))
    labels = (
        *_told("GO", go, x_mm=go_x, y_mm=text_y),
        *_told("NO GO", no_go, x_mm=no_go_x, y_mm=text_y),
    )
    turn = 0.0 if along_x else 90.0
    if turn:
        outline, holes = outline.rotated(turn), tuple(hole.rotated(turn) for hole in holes)
        labels = tuple(label.turned(turn) for label in labels)
    return Piece("jig_ring_gauge", (Upright(outline, 0.0, THICK_MM, holes),), (), labels)


def _told(word: str, diameter: float, *, x_mm: float, y_mm: float) -> tuple[Label, ...]:
    room = diameter + WALL_MM - 1.0
    return label_within(f"{word} {diameter:.2f}", room, x_mm=x_mm, y_mm=y_mm, z_mm=THICK_MM) or label_within(
        word, room, x_mm=x_mm, y_mm=y_mm, z_mm=THICK_MM
    )
