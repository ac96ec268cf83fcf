"""Outline of a clutch pad: an eye round the pin, an arm, a round tip and, on a free pin, a heel beside the tip.

Frame: the pin's centre is the origin, the arm's axis runs along +x to the tip's centre. The drum that locks comes from
the right of the axis and pushes the tip to the left; the heel stands on the right.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from moldgen.mechanics.strut import StrutTriangle
from moldgen.shapes import Extruded, Path, Point, Vertex, circle

FILLET_PER_ARM: Final = 0.4
"""Root fillet over the arm's thickness: large enough that the root is not where it tears (judgement)."""


@dataclass(frozen=True, slots=True)
class Heel:
    """A second foot that comes to bear on the drum when the pad is wound up, and cannot follow the tip over centre."""

    triangle: StrutTriangle
    """Of pin, drum and heel at the moment when it bears."""
    wind_up_deg: float
    """How far the drum has turned by then."""
    pad_turn_deg: float
    """How far the pad has turned about its pin by then."""


def tip_center(*, triangle: StrutTriangle, tip_radius_mm: float) -> Point:
    """Centre of the round tip that touches the drum at the triangle's corner, in the machine's frame.

    There the pin is the origin, the drum's centre lies at (0, -Rp), and the tip leans to +x.
    """
    angle = math.radians(triangle.center_angle_deg)
    inner = triangle.drum_radius_mm - tip_radius_mm
    return Point(inner * math.sin(angle), inner * math.cos(angle) - triangle.pin_radius_mm)


def heel_center(*, triangle: StrutTriangle, heel: Heel, tip_radius_mm: float) -> Point:
    """Centre of the round heel, in the pad's frame but for the play on the pin."""
    tip = tip_center(triangle=triangle, tip_radius_mm=tip_radius_mm)
    bearing = tip_center(triangle=heel.triangle, tip_radius_mm=tip_radius_mm)
    # The pad has turned towards the left by then; at rest the heel lies as much farther to the right.
    beside = math.atan2(bearing.x, bearing.y) + math.radians(heel.pad_turn_deg) - math.atan2(tip.x, tip.y)
    away = math.hypot(bearing.x, bearing.y)
    return Point(away * math.cos(beside), -away * math.sin(beside))


def outline_dimensions(
    *, triangle: StrutTriangle, heel: Heel | None, arm_thickness_mm: float, hub_diameter_mm: float, play_mm: float
) -> dict[str, float]:
    """The lengths that make the outline, all of which a caliper can read on the part.

    The tip is a full round of the arm's thickness, and so is the heel. The overall length is taken along the arm over
    eye and tip; beside a heel the tip's round may end a few µm before it. Under load the eye bears on the pin with the
    side that is next to the tip: the bore's centre lies behind the pin's by `play_mm`, half the eye's clearance, and
    all distances from it are longer by as much.
    """
    radius = 0.5 * arm_thickness_mm
    tip = tip_center(triangle=triangle, tip_radius_mm=radius)
    to_tip, reach = math.hypot(tip.x, tip.y), triangle.reach_mm
    axis = to_tip + play_mm
    between = (reach**2 + to_tip**2 - radius**2) / (2.0 * reach * to_tip)  # cosine, at the pin, from axis to contact
    out = {
        "reach_mm": math.sqrt(reach**2 + play_mm**2 + 2.0 * reach * play_mm * between),
        "overall_length_mm": 0.5 * hub_diameter_mm + axis + radius,
        "arm_thickness_mm": arm_thickness_mm,
        "tip_radius_mm": radius,
        "hub_diameter_mm": hub_diameter_mm,
        "root_fillet_mm": min(FILLET_PER_ARM * arm_thickness_mm, 0.5 * (axis - 0.5 * hub_diameter_mm)),
    }
    if heel is not None:
        center = heel_center(triangle=triangle, heel=heel, tip_radius_mm=radius)
        out["heel_reach_mm"] = math.hypot(center.x + play_mm, center.y) + radius
        out["head_width_mm"] = math.hypot(center.x - to_tip, center.y) + 2.0 * radius
    return out


def pad_shape(dimensions: Mapping[str, float], *, locks: Literal["cw", "ccw"]) -> Extruded:
    """The pad that `outline_dimensions`, a bore and a thickness stand for, seen from the drum's open side."""
    tip, half = dimensions["tip_radius_mm"], 0.5 * dimensions["arm_thickness_mm"]
    eye, fillet = 0.5 * dimensions["hub_diameter_mm"], dimensions["root_fillet_mm"]
    axis = dimensions["overall_length_mm"] - eye - tip
    root = math.sqrt((eye + fillet) ** 2 - (half + fillet) ** 2)
    share = eye / (eye + fillet)
    left = [
        Vertex(axis, half),
        Vertex(root, half, -math.tan(0.25 * math.acos((half + fillet) / (eye + fillet)))),
        Vertex(root * share, (half + fillet) * share),
    ]
    if "heel_reach_mm" in dimensions:
        away, beside = dimensions["heel_reach_mm"] - tip, dimensions["head_width_mm"] - 2.0 * tip
        along = (away**2 + axis**2 - beside**2) / (2.0 * axis)
        heel = Point(along, -math.sqrt(away**2 - along**2))
        right = _heel_side(eye, heel, Point(axis, 0.0), tip)
    else:
        right = [
            Vertex(root * share, -(half + fillet) * share, left[1].bulge),
            Vertex(root, -half),
            Vertex(axis, -half, math.tan(math.pi / 4.0), "running"),
        ]
    back = _sweep_bulge(left[-1], right[0])
    path = Path((*right, *left[:-1], Vertex(left[-1].x, left[-1].y, back)))
    outline = path if locks == "ccw" else path.mirrored_y()
    return Extruded(
        outline, (circle(0.5 * dimensions["bore_diameter_mm"], surface="bore"),), dimensions["thickness_mm"]
    )


def _heel_side(eye: float, heel: Point, tip: Point, radius: float) -> list[Vertex]:
    """From the eye along a tangent to the heel, round it, straight across to the tip, and round that."""
    leave_eye = _tangent_deg(Point(0.0, 0.0), eye, heel, radius)
    leave_heel = _tangent_deg(heel, radius, tip, radius)

    def at(center: Point, size: float, angle_deg: float) -> tuple[float, float]:
        angle = math.radians(angle_deg)
        return center.x + size * math.cos(angle), center.y + size * math.sin(angle)

    return [
        Vertex(*at(Point(0.0, 0.0), eye, leave_eye)),
        Vertex(*at(heel, radius, leave_eye), math.tan(math.radians((leave_heel - leave_eye) % 360.0) / 4.0), "running"),
        Vertex(*at(heel, radius, leave_heel)),
        Vertex(*at(tip, radius, leave_heel), math.tan(math.radians(90.0 - leave_heel) / 4.0), "running"),
    ]


def _tangent_deg(a: Point, radius_a: float, b: Point, radius_b: float) -> float:
    """Direction, as seen from either centre, of the points where the tangent on the right of the way a to b touches."""
    way = math.degrees(math.atan2(b.y - a.y, b.x - a.x))
    return way - math.degrees(math.acos((radius_a - radius_b) / math.hypot(b.x - a.x, b.y - a.y)))


def _sweep_bulge(start: Vertex, end: Vertex) -> float:
    """Bulge of the arc about the origin that runs anticlockwise from one point to another."""
    return math.tan(((math.atan2(end.y, end.x) - math.atan2(start.y, start.x)) % math.tau) / 4.0)
