"""What is refused of a clutch pad, and what is said of one that is built: each with what would mend it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from moldgen.families.clutch_design import (
    CLEAR_OF_DRUM_MM,
    Layout,
    Seat,
    arm_for_ratio_mm,
    bonded_ratio,
    largest_stiffness_ratio,
    layout,
)
from moldgen.families.clutch_outline import heel_center, tip_center
from moldgen.families.clutch_winding import ALLOWED_STRAIN, Carried
from moldgen.mechanics.strut import GRIP_MARGIN, angle_window, grip_friction_needed
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Point

LEAST_PIN_CIRCLE: Final = 0.3
"""Pin circle over drum under which no strut leans enough to get past the centre only by compression (judgement)."""
MOST_DRAG: Final = 0.25
"""Drag over the torque to be carried that is worth a word (judgement)."""


def check_room(seat: Seat, label: str) -> Iterator[Refusal]:
    """Whether any pad can stand between pin and drum."""
    if seat.room_mm < seat.least_room_mm:
        yield Refusal(
            ("measured", "pin_circle_diameter"),
            f"it leaves {seat.room_mm:.2f} mm from a pin's middle to the drum, and a pad of {label} on this pin wants "
            f"{seat.least_room_mm:.2f} mm",
            "Check the readings of drum, pin circle and pin; else take an elastomer that is cast thinner.",
        )
    elif seat.pin_circle_radius_mm < LEAST_PIN_CIRCLE * seat.drum_radius_mm:
        yield Refusal(
            ("measured", "pin_circle_diameter"),
            "pins so near the drum's middle cannot make a pad lean: "
            f"{LEAST_PIN_CIRCLE:g} of the drum's diameter is the least",
            "Check both readings.",
        )
    elif seat.pin_shaft_radius_mm >= 0.5 * seat.pin_circle_radius_mm:
        yield Refusal(
            ("measured", "pin_diameter"),
            f"a pin circle of {2.0 * seat.pin_circle_radius_mm:.2f} mm has no room for such pins and a hub",
            "Check both readings.",
        )


def check_choices(seat: Seat, reach_mm: float | None, arm_mm: float | None, label: str) -> Iterator[Refusal]:
    """Whether a reach and an arm taken from an old pad can stand in this drum."""
    if reach_mm is not None and reach_mm < seat.room_mm:
        yield Refusal(
            ("wanted", "reach"),
            f"the tip would not touch: it is {seat.room_mm:.2f} mm from a pin's middle straight out to the drum",
            f"Take {seat.least_reach_mm:.2f} mm to {seat.largest_reach_mm:.2f} mm, or leave it out.",
        )
    elif reach_mm is not None and reach_mm < seat.least_reach_mm:
        yield Refusal(
            ("wanted", "reach"),
            f"the pad would stand upright in its {seat.room_mm:.2f} mm and jam both ways",
            f"Take {seat.least_reach_mm:.2f} mm to {seat.largest_reach_mm:.2f} mm, or leave it out.",
        )
    elif reach_mm is not None and reach_mm > seat.largest_reach_mm:
        yield Refusal(
            ("wanted", "reach"),
            f"from {seat.largest_reach_mm:.2f} mm on the pad lies along its pin circle and cannot be erected",
            f"Take {seat.least_reach_mm:.2f} mm to {seat.largest_reach_mm:.2f} mm, or leave it out.",
        )
    if arm_mm is not None and not seat.least_wall_mm <= arm_mm <= seat.thickest_arm_mm:
        yield Refusal(
            ("wanted", "arm_thickness"),
            f"{label} is not cast thinner than {seat.least_wall_mm:g} mm, and between pin and drum an arm of "
            f"{seat.thickest_arm_mm:.2f} mm is the most",
            f"Take {seat.least_wall_mm:.2f} mm to {math.floor(seat.thickest_arm_mm * 20.0) / 20.0:.2f} mm, or leave it "
            "out.",
        )


def fitting_refusals(interference_mm: float, strain: float) -> Iterator[Refusal]:
    if strain > ALLOWED_STRAIN:
        most = interference_mm * ALLOWED_STRAIN / strain
        yield Refusal(
            ("wanted", "interference"),
            f"the drum would strain the arm by {strain:.0%} at rest, so that it cannot be assembled without harm; "
            f"{ALLOWED_STRAIN:.0%} is the most",
            f"Take {math.floor(most * 100.0) / 100.0:.2f} mm or less.",
        )


def neighbour_refusals(plan: Layout, count: int) -> Iterator[Refusal]:
    """Whether the pads, all alike, stand clear of one another."""
    bones = _bones(plan)
    turn = math.tau / count
    for k in range(1, count):
        gap = min(
            _distance(a, b, _turned(c, plan, k * turn), _turned(d, plan, k * turn)) - thick - other
            for a, b, thick in bones
            for c, d, other in bones
        )
        if gap < CLEAR_OF_DRUM_MM:
            yield Refusal(
                ("measured", "pin_count"),
                f"pads of this size would come within {max(gap, 0.0):.2f} mm of one another",
                "Check the count and the pin circle; else give a smaller `arm_thickness` or a shorter `reach`.",
            )
            return


Bone = tuple[Point, Point, float]
"""A stretch between two points, and the rubber's half-width round it."""


def _bones(plan: Layout) -> tuple[Bone, ...]:
    """The pad as eye, arm and heel, in the machine's frame (pin at the origin, drum's centre below it)."""
    half, pin = 0.5 * plan.arm_thickness_mm, Point(0.0, 0.0)
    tip = tip_center(triangle=plan.triangle, tip_radius_mm=half)
    bones = [(pin, pin, 0.5 * plan.hub_diameter_mm), (pin, tip, half)]
    if plan.heel is not None:
        heel = heel_center(triangle=plan.triangle, heel=plan.heel, tip_radius_mm=half)
        lean = math.atan2(tip.y, tip.x)
        c, s = math.cos(lean), math.sin(lean)
        placed = Point(c * heel.x - s * heel.y, s * heel.x + c * heel.y)
        bones += [(pin, placed, half), (tip, placed, half)]
    return tuple(bones)


def _turned(point: Point, plan: Layout, angle: float) -> Point:
    """Turned about the drum's centre."""
    c, s, up = math.cos(angle), math.sin(angle), point.y + plan.triangle.pin_radius_mm
    return Point(c * point.x - s * up, s * point.x + c * up - plan.triangle.pin_radius_mm)


def _distance(a: Point, b: Point, c: Point, d: Point) -> float:
    """Between two stretches that do not cross."""
    return min(_to_stretch(a, c, d), _to_stretch(b, c, d), _to_stretch(c, a, b), _to_stretch(d, a, b))


def _to_stretch(p: Point, a: Point, b: Point) -> float:
    dx, dy = b.x - a.x, b.y - a.y
    length2 = dx * dx + dy * dy
    share = 0.0 if length2 == 0.0 else min(1.0, max(0.0, ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2))
    return math.hypot(p.x - a.x - share * dx, p.y - a.y - share * dy)


def grip_remarks(
    seat: Seat, plan: Layout, *, least_friction: float, most_friction: float, room_range_mm: tuple[float, float]
) -> Iterator[Remark]:
    """Whether it grips at the lowest friction, with margin, wherever the metal lies within its readings."""
    needed = [_friction_needed(seat, plan, room) for room in room_range_mm]
    if None in needed:
        yield Remark(
            "may_stand_upright",
            f"Within the readings, pin and drum may lie {room_range_mm[1]:.2f} mm apart, where a reach of "
            f"{plan.triangle.reach_mm:.2f} mm stands upright or does not touch. Read drum and pin circle more closely, "
            "or take a longer reach.",
            "measured.pin_circle_diameter",
        )
    worst = max([plan.grip_friction, *(n for n in needed if n is not None)])
    allowed = GRIP_MARGIN * least_friction
    if worst <= allowed:
        pinned = plan.heel is not None
        dry = math.radians(plan.triangle.strut_angle_deg) + math.asin(
            min(1.0, least_friction * seat.pin_shaft_radius_mm / plan.triangle.reach_mm)
        )
        if pinned and math.tan(dry) > least_friction:
            yield Remark(
                "dry_pin",
                f"The eye rubbing on its pin asks for a friction of {math.tan(dry):.2f} in the drum, more than the "
                f"lowest expected ({least_friction:.2f}). Grease the pin, or put a sleeve on it; keep the drum dry.",
                "measured.pin_diameter",
            )
        return
    if worst <= least_friction:
        code, found = "grip_without_margin", "is gripped, but with less margin than it should have"
    elif plan.grip_friction <= most_friction:
        code, found = "grip_doubtful", "may slip"
    else:
        code, found = "no_grip", "slips, and even at the highest it is not gripped"
    proof = worst / GRIP_MARGIN
    yield Remark(
        code,
        f"At the lowest friction expected, {least_friction:.2f}, the pad {found}: it needs {worst:.2f} and should "
        f"need no more than {GRIP_MARGIN:g} of it. {_ways_out(seat, plan, least_friction)} "
        f"Or prove a friction of {proof:.2f}: a block of the cured rubber must not slide down a slope of "
        f"{math.degrees(math.atan(proof)):.0f}° on a strip of the drum's metal, as clean or as oily as the drum.",
        "wanted.reach",
    )


def _friction_needed(seat: Seat, plan: Layout, room_mm: float) -> float | None:
    """Of the pad as it is in a drum whose room differs; None where it does not lean any more."""
    moved = Seat(
        seat.pin_circle_radius_mm + room_mm, seat.pin_circle_radius_mm, seat.pin_shaft_radius_mm, seat.least_wall_mm
    )
    if plan.triangle.reach_mm <= moved.room_mm:
        return None
    angle = moved.triangle(plan.triangle.reach_mm).strut_angle_deg
    return grip_friction_needed(strut_angle_deg=max(angle, 0.01), stiffness_ratio=plan.stiffness_ratio)


def _ways_out(seat: Seat, plan: Layout, least_friction: float) -> str:
    """What would give the margin: reach, arm, mounting; in words."""
    allowed = GRIP_MARGIN * least_friction
    if plan.heel is not None:
        angle = min(math.degrees(math.atan(allowed)), seat.largest_angle_deg)
        most = seat.reach_mm(angle)
        if most >= seat.least_reach_mm:
            return f"A reach of {most:.2f} mm would give the margin, or a softer elastomer of higher friction."
        return "No reach gives the margin here: an elastomer of higher friction would, or a rougher, cleaner drum."
    reach = plan.triangle.reach_mm
    ratio = largest_stiffness_ratio(friction=allowed, strut_angle_deg=plan.triangle.strut_angle_deg)
    arm = arm_for_ratio_mm(seat, reach, ratio)
    best = layout(seat, mounting="bonded", least_friction=least_friction, reach_mm=None, arm_thickness_mm=None)
    ways = []
    if bonded_ratio(seat, reach, arm) <= ratio * (1.0 + 1e-9) and arm < plan.arm_thickness_mm:
        ways.append(f"an arm of {math.floor(arm * 100.0) / 100.0:.2f} mm at this reach")
    if best.grip_friction <= allowed:
        thin = math.floor(best.arm_thickness_mm * 100.0) / 100.0
        ways.append(f"an arm of {thin:.2f} mm with a reach of {best.triangle.reach_mm:.2f} mm")
    window = angle_window(friction=allowed, stiffness_ratio=plan.stiffness_ratio)
    if window is not None and window.least_deg < seat.largest_angle_deg:
        least, most = seat.reach_mm(window.least_deg), seat.reach_mm(min(window.most_deg, seat.largest_angle_deg))
        ways.append(f"a reach of {least:.2f} to {most:.2f} mm with this arm")
    ways.append("a softer elastomer of higher friction")
    if math.tan(math.radians(plan.triangle.strut_angle_deg)) <= allowed:
        ways.append("`mounting: pinned`, where the arm does not resist")
    return f"Margin would come from {', or from '.join(ways)}."


def torque_remarks(
    *, pinned: bool, limit: Carried, count: int, softest: float, required_nmm: float | None
) -> Iterator[Remark]:
    """Whether the required torque is carried, the rubber being as soft as it may be (`softest` of its modulus).

    Without a required torque, a pad on a free pin is kept from rolling over by its heel; a bonded arm is not.
    """
    least = count * limit.torque_nmm * softest
    if required_nmm is None:
        if not pinned:
            yield Remark(
                "roll_over_not_excluded",
                f"Without a required torque it cannot be said whether these arms hold: {least:.3g} N·mm, with the "
                f"rubber as soft as it may be, is the most before {limit.cause}. Give `required_torque`, or choose "
                "`mounting: pinned`, whose pad has a heel that stops it.",
                "drive.required_torque",
            )
        return
    if required_nmm <= least:
        return
    factor = required_nmm / least
    more = "a thicker pad or arm" if limit.cause != "the drum slips" else "a higher friction, to be measured"
    stop = "" if pinned else ", or `mounting: pinned`, whose pad has a heel that bears on the drum"
    yield Remark(
        "torque_short",
        f"The pads carry {least:.3g} N·mm for sure, rubber as soft as it may be, before {limit.cause}; "
        f"{required_nmm:.3g} N·mm is required. It would take {more}, a modulus {factor:.2g} times as high (a harder "
        f"elastomer, if it grips as well){stop}.",
        "drive.required_torque",
    )


def drag_remarks(drag_nmm: float, required_nmm: float | None) -> Iterator[Remark]:
    if required_nmm is not None and drag_nmm > MOST_DRAG * required_nmm:
        yield Remark(
            "drag_high",
            f"Turning free, the pads drag with up to {drag_nmm:.3g} N·mm, more than {MOST_DRAG:.0%} of the torque they "
            "are to carry. Less interference, or a softer elastomer, drags less.",
            "wanted.interference",
        )
