"""Length gauge: posts with steps, round which the finished belt lies without slack and without stretch."""

from __future__ import annotations

import math
from typing import Final

from moldgen.jigs.order import JigOrder, NotForThisPartError
from moldgen.jigs.plan import Form, Jig, Label, Piece, Turned, Upright, boss_mm, label_within, polygon, rounded
from moldgen.shapes import Path

TOO_LONG: Final = (0.0, 0.01, 0.02, 0.05)
"""What the steps stand for, from the top down."""
POST_MM: Final = 8.0
"""Diameter of the top step: stiff enough when printed upright (judgement)."""
BASE_MM: Final = 4.0
RIM_MM: Final = 6.0
OVER_BELT_MM: Final = 1.0
"""A step is as high as the belt is wide, and this."""
APART_MM: Final = 2.0
OFF_BED_MM: Final = 2.0


def post_diameter_mm(*, top_diameter_mm: float, free_length_mm: float, too_long: float) -> float:
    """Diameter of the step on which a belt lies that is too long by a share; all posts are alike.

    Round any ring of equal posts the belt's middle runs 2 Σc + π (p + h), so a belt longer by k L wants posts thicker
    by k L/π, wherever the posts stand. Plane geometry.

    By hand: 8 + 0.02 × 350 / π = 8 + 2.2282 = 10.2282

    >>> round(post_diameter_mm(top_diameter_mm=8.0, free_length_mm=350.0, too_long=0.02), 4)
    10.2282
    """
    return top_diameter_mm + too_long * free_length_mm / math.pi


def sides_mm(*, free_length_mm: float, post_diameter_mm: float, height_mm: float) -> float:
    """What is left of the belt's length for the straight runs of its two long sides together with the short ones.

    Half of L − π (p + h): the middle of a belt of height h lies h/2 outside the post.

    By hand: (350 − π × (8 + 2)) / 2 = 159.2920

    >>> round(sides_mm(free_length_mm=350.0, post_diameter_mm=8.0, height_mm=2.0), 4)
    159.292
    """
    return 0.5 * (free_length_mm - math.pi * (post_diameter_mm + height_mm))


def plan(order: JigOrder) -> Jig:
    """The gauge of a belt's free length. Raises NotForThisPartError where there is no belt, or no bed to hold it."""
    if not order.is_belt:
        raise NotForThisPartError("a length gauge is for belts", "Leave it out.")
    length, (height, width) = order.free["length_mm"], order.section_mm
    thicker = max(TOO_LONG) * length / math.pi
    top = POST_MM
    half = sides_mm(free_length_mm=length, post_diameter_mm=top, height_mm=height)
    if half < top + thicker + APART_MM:  # too short for two posts: one mandrel
        top, half = length / math.pi - height, 0.0
    steps = [post_diameter_mm(top_diameter_mm=top, free_length_mm=length, too_long=k) for k in TOO_LONG]
    long_mm, short_mm = _sides(order, half, steps[-1])
    step = width + OVER_BELT_MM
    pieces = (_piece(order, length, steps, long_mm, short_mm, step),)
    slack = ", ".join(f"{k:.0%}" for k in TOO_LONG[1:])
    return Jig(
        name="length_gauge",
        what_for=f"Tells whether the finished belt has its free length of {length:.2f} mm.",
        how_to_use=(
            "Lay the belt over the top step of the posts without pulling it: it must lie there without slack.",
            f"A belt that is too long sinks to a lower step; from the top down they stand for 0, {slack} too long.",
            "A belt that has to be stretched to go over the top step is too short.",
            "Measure the top step and the distance over the posts with the caliper once; a print may be off.",
        ),
        cautions=(),
        dimensions={
            "free_length_mm": length,
            "post_diameter_mm": steps[0],
            "long_side_mm": long_mm,
            "short_side_mm": short_mm,
            "over_posts_mm": long_mm + steps[0],
            "step_height_mm": step,
            **{f"post_diameter_{k * 100:.0f}_percent_long_mm": p for k, p in zip(TOO_LONG[1:], steps[1:], strict=True)},
        },
        pieces=pieces,
    )


def _sides(order: JigOrder, half: float, thickest: float) -> tuple[float, float]:
    """Distances between the posts' middles along the bed's longer and shorter side."""
    printer = order.printer
    around = thickest + 2.0 * (RIM_MM + OFF_BED_MM)
    room_long = max(printer.bed_x_mm, printer.bed_y_mm) - around
    room_short = min(printer.bed_x_mm, printer.bed_y_mm) - around
    if half <= room_long:
        return half, 0.0
    short = max(half - room_long, thickest + APART_MM)  # four posts at the corners of a rectangle
    if short > room_short:
        raise NotForThisPartError(
            f"a gauge for {order.free['length_mm']:.0f} mm does not lie on the bed",
            "Leave it out and measure the belt's length with a tape, cut open or along its inside.",
        )
    return half - short, short


def _piece(order: JigOrder, length: float, steps: list[float], long_mm: float, short_mm: float, step: float) -> Piece:
    along_x = order.printer.bed_x_mm >= order.printer.bed_y_mm
    half_x, half_y = (0.5 * long_mm, 0.5 * short_mm) if along_x else (0.5 * short_mm, 0.5 * long_mm)
    places = sorted({(x, y) for x in (-half_x, half_x) for y in (-half_y, half_y)})
    rim = 0.5 * steps[-1] + RIM_MM
    window: tuple[Path, ...] = ()
    if len(places) == 4 and half_x > rim + 2.0 and half_y > rim + 2.0:
        window = (rounded(rim - half_x, rim - half_y, half_x - rim, half_y - rim, 2.0),)
    base = Upright(rounded(-half_x - rim, -half_y - rim, half_x + rim, half_y + rim, RIM_MM), 0.0, BASE_MM, window)
    outline = [(0.0, 0.5 * BASE_MM)]
    heights = [0.5 * BASE_MM, *(BASE_MM + step * i for i in range(1, len(steps) + 1))]
    for number, diameter in enumerate(reversed(steps)):
        radius = 0.5 * boss_mm(order.printer, diameter)
        outline += [(radius, heights[number]), (radius, heights[number + 1])]
    outline.append((0.0, heights[-1]))
    posts: list[Form] = [Turned(polygon(*outline), x, y) for x, y in places]
    labels: tuple[Label, ...] = ()
    text, turn = f"{length:.2f}  0 1 2 5 %", 0.0 if along_x else 90.0
    if len(places) > 1:
        room = long_mm - steps[-1] - 2.0
        x, y = (0.0, -half_y) if along_x else (half_x, 0.0)
        labels = label_within(text, room, x_mm=x, y_mm=y, z_mm=BASE_MM, turn_deg=turn)
    else:
        labels = label_within(f"{length:.1f}", 0.8 * steps[0], x_mm=0.0, y_mm=0.0, z_mm=heights[-1])
    return Piece("jig_length_gauge", (base, *posts), (), labels)
