"""What a gripped pad carries as the drum winds it up: a pad on a free pin with its heel, or a bonded arm.

The drum turns by phi with the tip stuck to it. Each foot is a spring between two points, as in `mechanics.strut`; a
bonded arm resists sideways as well. The way ends at the first of: the tip stands upright, the torque stops rising (the
pad rolls over), the rubber is strained as far as allowed, the drum slips at the lowest friction.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from moldgen.families.clutch_outline import Heel
from moldgen.mechanics.solve import root
from moldgen.mechanics.strut import ArmStiffness, StrutTriangle, wound_up_torque_nmm

ALLOWED_STRAIN: Final = 0.20
"""Compression, or compression and bending together, that rubber bears time and again: common practice, no source."""
STEPS: Final = 96
"""Places looked at for the first limit, before it is found exactly."""

Cause = Literal["it stands upright", "it rolls over", "the rubber is strained as far as allowed", "the drum slips"]


@dataclass(frozen=True, slots=True)
class Foot:
    """A place where the pad bears on the drum, from the drum's turn at which it begins to bear."""

    triangle: StrutTriangle
    along_n_per_mm: float
    from_deg: float

    def length_mm(self, wind_up_deg: float) -> float:
        """Pin to foot, which no longer shortens once the foot stands upright."""
        left = math.radians(max(0.0, self.triangle.center_angle_deg - max(0.0, wind_up_deg - self.from_deg)))
        pin, drum = self.triangle.pin_radius_mm, self.triangle.drum_radius_mm
        return math.sqrt((drum - pin) ** 2 + 4.0 * pin * drum * math.sin(0.5 * left) ** 2)

    def torque_nmm(self, wind_up_deg: float) -> float:
        turned = min(max(0.0, wind_up_deg - self.from_deg), self.triangle.center_angle_deg)
        return wound_up_torque_nmm(triangle=self.triangle, along_n_per_mm=self.along_n_per_mm, wind_up_deg=turned)

    def normal_n(self, wind_up_deg: float) -> float:
        """Thrust times the cosine of the strut angle at that length (law of cosines)."""
        length, pin, drum = self.length_mm(wind_up_deg), self.triangle.pin_radius_mm, self.triangle.drum_radius_mm
        thrust = self.along_n_per_mm * (self.triangle.reach_mm - length)
        return thrust * (drum**2 + length**2 - pin**2) / (2.0 * drum * length)


@dataclass(frozen=True, slots=True)
class Winding:
    """Torque, force and strain of one pad over the drum's turn."""

    feet: tuple[Foot, ...]
    """The tip first."""
    bare_mm: float
    """Part of the reach that is not rubber under strain: the pin, or the eye of a bonded pad."""
    across_n_per_mm: float = 0.0
    arm_thickness_mm: float = 0.0
    """Both of a bonded arm, else zero."""

    def torque_nmm(self, wind_up_deg: float) -> float:
        """Sum of the feet, and of the bending of a bonded arm: k_b (L Δ)(L dΔ/dphi), Δ the strut's turn.

        At the start that is Rd² (k_a sin² a + k_b cos² a) phi, the two springs of `grip_friction_needed`.
        """
        pushed = math.fsum(foot.torque_nmm(wind_up_deg) for foot in self.feet)
        return pushed + self._bent_n(wind_up_deg) * self._bending_lever_mm(wind_up_deg)

    def normal_n(self, wind_up_deg: float) -> float:
        """What the feet press on the drum, less what the bent arm lifts off it: Q sin a, sin a = Rp sin(left)/l."""
        triangle = self.feet[0].triangle
        left = math.radians(triangle.center_angle_deg - wind_up_deg)
        sine = triangle.pin_radius_mm * math.sin(left) / self.feet[0].length_mm(wind_up_deg)
        return math.fsum(foot.normal_n(wind_up_deg) for foot in self.feet) - self._bent_n(wind_up_deg) * sine

    def friction_used(self, wind_up_deg: float) -> float:
        """Tangential over normal force on the drum, all feet together."""
        drum_mm = self.feet[0].triangle.drum_radius_mm
        return self.torque_nmm(wind_up_deg) / (drum_mm * self.normal_n(wind_up_deg))

    def strain(self, wind_up_deg: float) -> float:
        """The largest compression of a foot, and the bending at the root of a bonded arm on top."""
        worst = max(
            (f.triangle.reach_mm - f.length_mm(wind_up_deg)) / (f.triangle.reach_mm - self.bare_mm) for f in self.feet
        )
        arm = self.feet[0].triangle.reach_mm - self.bare_mm
        return worst + 1.5 * self.arm_thickness_mm * self._turn(wind_up_deg) * self.feet[0].triangle.reach_mm / arm**2

    def _turn(self, wind_up_deg: float) -> float:
        triangle = self.feet[0].triangle
        return _lean_rad(triangle, 0.0) - _lean_rad(triangle, wind_up_deg)

    def _bent_n(self, wind_up_deg: float) -> float:
        return self.across_n_per_mm * self.feet[0].triangle.reach_mm * self._turn(wind_up_deg)

    def _bending_lever_mm(self, wind_up_deg: float) -> float:
        triangle = self.feet[0].triangle
        left = math.radians(triangle.center_angle_deg - wind_up_deg)
        beside = triangle.drum_radius_mm - triangle.pin_radius_mm * math.cos(left)
        return triangle.reach_mm * triangle.drum_radius_mm * beside / self.feet[0].length_mm(wind_up_deg) ** 2


def _lean_rad(triangle: StrutTriangle, wind_up_deg: float) -> float:
    """At the pin, from the drum's radius to the tip, after the drum's turn."""
    left = math.radians(triangle.center_angle_deg - wind_up_deg)
    drum = triangle.drum_radius_mm
    return math.atan2(drum * math.sin(left), drum * math.cos(left) - triangle.pin_radius_mm)


def pad_turn_deg(*, triangle: StrutTriangle, wind_up_deg: float) -> float:
    """How far the strut from pin to tip turns about the pin while the drum turns by `wind_up_deg`, the tip stuck.

    By hand, pin 3, drum 5, reach 4: the tip stands square to the pin's radius, and upright it has turned by 90 deg.

    >>> from moldgen.mechanics.strut import strut_triangle
    >>> triangle = strut_triangle(pin_radius_mm=3.0, drum_radius_mm=5.0, reach_mm=4.0)
    >>> round(pad_turn_deg(triangle=triangle, wind_up_deg=triangle.center_angle_deg), 6)
    90.0
    """
    return math.degrees(_lean_rad(triangle, 0.0) - _lean_rad(triangle, wind_up_deg))


def pinned_winding(
    *, triangle: StrutTriangle, heel: Heel, tip: ArmStiffness, under_heel: ArmStiffness, pin_shaft_mm: float
) -> Winding:
    """A pad free on a pin of radius `pin_shaft_mm`, tip first and then its heel as well."""
    return Winding(
        (
            Foot(triangle, tip.along_n_per_mm, 0.0),
            Foot(heel.triangle, under_heel.along_n_per_mm, heel.wind_up_deg),
        ),
        pin_shaft_mm,
    )


def bonded_winding(
    *, triangle: StrutTriangle, arm: ArmStiffness, eye_radius_mm: float, arm_thickness_mm: float
) -> Winding:
    """An arm bonded or keyed to its pin; its tip is taken as free to rock, the weaker case."""
    return Winding((Foot(triangle, arm.along_n_per_mm, 0.0),), eye_radius_mm, arm.across_n_per_mm, arm_thickness_mm)


@dataclass(frozen=True, slots=True)
class Carried:
    """The most that one pad carries, and why not more."""

    torque_nmm: float
    wind_up_deg: float
    strain: float
    cause: Cause


@lru_cache(maxsize=64)
def carried(winding: Winding, *, least_friction: float) -> Carried:
    """The first limit on the way from rest to the tip upright.

    The friction that a single foot needs falls as it is wound up, so that it cannot slip once it grips; a heel, which
    leans more than the tip, may let the drum slip before it is pressed any further.
    """
    whole = winding.feet[0].triangle.center_angle_deg
    step = whole / STEPS

    def falling(turn: float) -> float:
        return winding.torque_nmm(turn - 0.05 * step) - winding.torque_nmm(turn + 0.05 * step)

    def strained(turn: float) -> float:
        return winding.strain(turn) - ALLOWED_STRAIN

    def slipping(turn: float) -> float:
        return winding.friction_used(turn) - least_friction

    limits: list[tuple[float, Cause]] = [
        (whole, "it stands upright"),
        (_first(falling, step, whole - step), "it rolls over"),
        (_first(strained, 0.0, whole), "the rubber is strained as far as allowed"),
    ]
    if len(winding.feet) > 1:
        limits.append((_first(slipping, winding.feet[1].from_deg, whole), "the drum slips"))
    turn, cause = min(limits)
    return Carried(winding.torque_nmm(turn), turn, winding.strain(turn), cause)


def _first(excess: Callable[[float], float], start: float, end: float) -> float:
    """Where a limit is first passed between two turns; infinity if it is not."""
    before = start
    if excess(start) >= 0.0:
        return start
    for i in range(1, STEPS + 1):
        here = start + (end - start) * i / STEPS
        if excess(here) >= 0.0:
            return root(excess, before, here)
        before = here
    return math.inf


def wind_up_deg(winding: Winding, limit: Carried, *, torque_nmm: float) -> float:
    """Lost motion until one pad carries the torque, at most that of its limit."""
    if torque_nmm >= limit.torque_nmm:
        return limit.wind_up_deg
    return root(lambda turn: winding.torque_nmm(turn) - torque_nmm, 0.0, limit.wind_up_deg)
