"""How a clutch pad is laid out between pin and drum: strut angle, arm, eye, and the heel of a pad on a free pin.

The friction is known only as a range. Locking is judged at its low end, drag at its high end; both ends stay where they
are while the readings are varied, so that a choice made here does not look like an uncertain dimension.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from moldgen.families.clutch_outline import Heel
from moldgen.families.clutch_winding import pad_turn_deg
from moldgen.mechanics.solve import root
from moldgen.mechanics.strut import (
    GRIP_MARGIN,
    ArmStiffness,
    StrutTriangle,
    arm_stiffness,
    grip_friction_needed,
    reach_for_angle_mm,
    roll_over,
    strut_triangle,
)

AIM: Final = 0.9
"""Share of the friction allowed by the margin that a design of our own uses: the rest is for reading and casting."""
STEEPEST_SHARE: Final = 0.9
"""Largest strut angle over the one at which the strut would lie square to the pin's radius (judgement)."""
LARGEST_ANGLE_DEG: Final = 24.0
"""Of a design of our own: workable pads on a free pin stand at 15 to 24 deg (judgement from the roll-over torque)."""
UPRIGHT_SHARE: Final = 0.01
"""Reach over the room between pin and drum, less one, under which a pad stands upright and wedges both ways."""
ROLL_OVER_STRAIN: Final = 0.20
"""Compression needed to pass the centre at which roll-over counts as excluded: 0.15 to 0.20 (judgement)."""
STOP_SHARE: Final = 0.6
"""Turn of the drum at which the heel bears, over the turn at which the tip alone would roll over: well before it."""
ARM_PER_REACH: Final = 0.4
"""Thickness over reach of an arm on a free pin, which may be stout since it need not bend (judgement)."""
HEEL_APART: Final = 1.2
"""Distance of heel and tip in arm thicknesses, at least."""
PATCH_PER_ARM: Final = 0.4
"""Width of the flattened tip over the arm's thickness, as in our own finite-element runs of such arms."""
CLEAR_OF_DRUM_MM: Final = 0.3
"""Left between the eye and the drum, and between the pads (common practice, no source)."""

Mounting = Literal["pinned", "bonded"]


@dataclass(frozen=True, slots=True)
class Seat:
    """The metal between which the pad stands, and the rubber's thinnest wall."""

    drum_radius_mm: float
    pin_circle_radius_mm: float
    pin_shaft_radius_mm: float
    least_wall_mm: float

    @property
    def room_mm(self) -> float:
        """From the pin's centre straight out to the drum."""
        return self.drum_radius_mm - self.pin_circle_radius_mm

    @property
    def least_room_mm(self) -> float:
        """A wall round the pin and a short arm of rubber want as much."""
        return self.pin_shaft_radius_mm + 2.0 * self.least_wall_mm + CLEAR_OF_DRUM_MM

    @property
    def thickest_arm_mm(self) -> float:
        return min(0.6 * self.room_mm, self.room_mm - self.pin_shaft_radius_mm - 2.0 * CLEAR_OF_DRUM_MM)

    @property
    def least_reach_mm(self) -> float:
        return (1.0 + UPRIGHT_SHARE) * self.room_mm

    @property
    def largest_angle_deg(self) -> float:
        return STEEPEST_SHARE * math.degrees(math.asin(self.pin_circle_radius_mm / self.drum_radius_mm))

    @property
    def largest_reach_mm(self) -> float:
        return self.reach_mm(self.largest_angle_deg)

    def reach_mm(self, strut_angle_deg: float) -> float:
        return reach_for_angle_mm(
            pin_radius_mm=self.pin_circle_radius_mm,
            drum_radius_mm=self.drum_radius_mm,
            strut_angle_deg=strut_angle_deg,
        )

    def triangle(self, reach_mm: float) -> StrutTriangle:
        return strut_triangle(
            pin_radius_mm=self.pin_circle_radius_mm, drum_radius_mm=self.drum_radius_mm, reach_mm=reach_mm
        )


@dataclass(frozen=True, slots=True)
class Layout:
    """A pad as it stands in the drum."""

    triangle: StrutTriangle
    arm_thickness_mm: float
    hub_diameter_mm: float
    stiffness_ratio: float
    """Across over along: 0 on a free pin, else the cautious one of a tip that cannot rock."""
    heel: Heel | None

    @property
    def grip_friction(self) -> float:
        return grip_friction_needed(strut_angle_deg=self.triangle.strut_angle_deg, stiffness_ratio=self.stiffness_ratio)


def layout(
    seat: Seat, *, mounting: Mounting, least_friction: float, reach_mm: float | None, arm_thickness_mm: float | None
) -> Layout:
    """The pad that grips at the lowest friction with margin, as far as what is given leaves a choice.

    On a free pin the largest angle that keeps the margin: least drag, and farthest from rolling over. A bonded arm at
    the angle that lets it be as thick as can be, for it is the arm that carries.
    """
    allowed = AIM * GRIP_MARGIN * least_friction
    if mounting == "pinned":
        return _pinned(seat, allowed, reach_mm, arm_thickness_mm)
    return _bonded(seat, allowed, reach_mm, arm_thickness_mm)


def _pinned(seat: Seat, allowed: float, reach_mm: float | None, arm_mm: float | None) -> Layout:
    if reach_mm is None:
        angle = min(math.degrees(math.atan(allowed)), LARGEST_ANGLE_DEG, seat.largest_angle_deg)
        reach_mm = max(seat.reach_mm(angle), seat.least_reach_mm)
    arm = min(max(ARM_PER_REACH * reach_mm, seat.least_wall_mm), seat.thickest_arm_mm) if arm_mm is None else arm_mm
    wall = max(seat.least_wall_mm, min(1.6 * seat.pin_shaft_radius_mm, 0.5 * (seat.room_mm - seat.pin_shaft_radius_mm)))
    triangle = seat.triangle(reach_mm)
    return Layout(triangle, arm, _eye_mm(seat, wall, arm), 0.0, _heel(triangle, arm))


def _eye_mm(seat: Seat, wall_mm: float, arm_mm: float) -> float:
    """Diameter of the eye: never less than the arm needs to run into it with a fillet."""
    return 2.0 * max(seat.pin_shaft_radius_mm + wall_mm, 0.65 * arm_mm)


def _heel(triangle: StrutTriangle, arm_mm: float) -> Heel:
    """The heel that bears before the tip rolls over, so long that passing the centre takes ROLL_OVER_STRAIN."""
    wind_up = STOP_SHARE * roll_over(triangle=triangle, along_n_per_mm=1.0).wind_up_deg
    turn = pad_turn_deg(triangle=triangle, wind_up_deg=wind_up)
    pin, drum = triangle.pin_radius_mm, triangle.drum_radius_mm
    at_tip = triangle.strut_angle_deg + triangle.center_angle_deg - turn  # at the pin, from the drum's radius
    beside = math.radians(at_tip) + HEEL_APART * arm_mm / triangle.reach_mm
    apart = math.sqrt(drum**2 - (pin * math.sin(beside)) ** 2) - pin * math.cos(beside)
    reach = max((drum - pin) / (1.0 - ROLL_OVER_STRAIN), apart)
    return Heel(strut_triangle(pin_radius_mm=pin, drum_radius_mm=drum, reach_mm=reach), wind_up, turn)


def _bonded(seat: Seat, allowed: float, reach_mm: float | None, arm_mm: float | None) -> Layout:
    if reach_mm is None:
        angle = _bonded_angle_deg(seat, allowed, arm_mm)
        reach_mm = max(seat.reach_mm(angle), seat.least_reach_mm)
    triangle = seat.triangle(reach_mm)
    if arm_mm is None:
        wanted = largest_stiffness_ratio(friction=allowed, strut_angle_deg=triangle.strut_angle_deg)
        arm_mm = arm_for_ratio_mm(seat, reach_mm, wanted)
    ratio = bonded_ratio(seat, reach_mm, arm_mm)
    return Layout(triangle, arm_mm, _eye_mm(seat, seat.least_wall_mm, arm_mm), ratio, None)


def _bonded_angle_deg(seat: Seat, allowed: float, arm_mm: float | None) -> float:
    """tan a = sqrt(kappa), where an arm grips with least friction, kappa being the largest that still grips or, if the
    arm cannot be made so thin, the arm's own.

    The window of angles closes where mu (1 - kappa) = 2 sqrt(kappa): sqrt(kappa) = tan(atan(mu)/2).
    """
    closing = math.tan(0.5 * math.atan(allowed)) ** 2
    largest = min(LARGEST_ANGLE_DEG, seat.largest_angle_deg)

    def beyond(angle_deg: float) -> float:
        reach = seat.reach_mm(angle_deg)
        stiffest = bonded_ratio(seat, reach, seat.least_wall_mm if arm_mm is None else arm_mm)
        ratio = max(closing, stiffest) if arm_mm is None else stiffest
        return math.tan(math.radians(angle_deg)) - math.sqrt(ratio)

    return root(beyond, 0.01, largest) if beyond(largest) > 0.0 else largest


def largest_stiffness_ratio(*, friction: float, strut_angle_deg: float) -> float:
    """The kappa at which rho equals the friction: (mu - tan a)/(1/tan a + mu); 0 where the angle alone is too large.

    Source: `grip_friction_needed` solved for kappa.

    By hand, mu = 0.6, tan a = 0.5: 0.1/(2 + 0.6) = 0.0385

    >>> round(largest_stiffness_ratio(friction=0.6, strut_angle_deg=math.degrees(math.atan(0.5))), 4)
    0.0385
    """
    tangent = math.tan(math.radians(strut_angle_deg))
    return max(0.0, (friction - tangent) / (1.0 / tangent + friction))


def arm_for_ratio_mm(seat: Seat, reach_mm: float, stiffness_ratio: float) -> float:
    """The arm of a stiffness ratio, no thinner than it can be cast and no thicker than there is room."""
    least, most = seat.least_wall_mm, seat.thickest_arm_mm
    if bonded_ratio(seat, reach_mm, least) >= stiffness_ratio:
        return least
    if bonded_ratio(seat, reach_mm, most) <= stiffness_ratio:
        return most
    return root(lambda arm: bonded_ratio(seat, reach_mm, arm) - stiffness_ratio, least, most)


def bonded_ratio(seat: Seat, reach_mm: float, arm_mm: float) -> float:
    """kappa of a bonded arm; neither the modulus nor the thickness of the pad changes it."""
    eye = _eye_mm(seat, seat.least_wall_mm, arm_mm)
    return stiffness(reach_mm=reach_mm, bare_mm=0.5 * eye, arm_mm=arm_mm, thickness_mm=1.0, modulus_mpa=1.0).held_ratio


def stiffness(
    *, reach_mm: float, bare_mm: float, arm_mm: float, thickness_mm: float, modulus_mpa: float
) -> ArmStiffness:
    """Of the arm from `bare_mm` (the pin's surface, or the eye's rim where the arm is to bend) to the tip."""
    return arm_stiffness(
        reach_mm=reach_mm - bare_mm,
        thickness_mm=arm_mm,
        depth_mm=thickness_mm,
        patch_mm=PATCH_PER_ARM * arm_mm,
        elastic_modulus_mpa=modulus_mpa,
    )
