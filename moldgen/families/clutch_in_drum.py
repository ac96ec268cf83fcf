"""A clutch pad in its drum: its lengths free and in place, how its tip is pressed, and how it is wound up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from moldgen.families.clutch_design import Layout, Seat, stiffness
from moldgen.families.clutch_outline import outline_dimensions, pad_shape
from moldgen.families.clutch_winding import Carried, Winding, bonded_winding, carried, pinned_winding
from moldgen.mechanics.strut import (
    ArmStiffness,
    TipForces,
    interference_force_n,
    pressing_force_n,
    strut_triangle,
    tip_forces,
)
from moldgen.shapes import Extruded

RUNNING_CLEARANCE_MM: Final = 0.10
"""Of the eye on a free pin, on the diameter (common practice, no source)."""
SNUG: Final = 0.02
"""By which share the bore of a bonded eye is smaller than its pin, so that the glue line closes (judgement)."""
DENSITY_G_MM3: Final = 1.1e-3
"""Casting rubbers lie between 1.0 and 1.3 g/cm³ (from memory); only the weight of a free pad hangs on it."""
GRAVITY_N_G: Final = 9.80665e-3


@dataclass(frozen=True, slots=True)
class Pad:
    """All that is known of one pad in its drum."""

    seat: Seat
    layout: Layout
    thickness_mm: float
    interference_mm: float
    least_friction: float
    most_friction: float
    modulus_mpa: float

    @property
    def arm(self) -> ArmStiffness:
        """From the eye's rim to the tip of a bonded arm, from the pin's surface to the tip of a free pad."""
        return self._stiffness(self.layout.triangle.reach_mm)

    @property
    def winding(self) -> Winding:
        plan = self.layout
        if plan.heel is None:
            return bonded_winding(
                triangle=plan.triangle,
                arm=self.arm,
                eye_radius_mm=self.bare_mm,
                arm_thickness_mm=plan.arm_thickness_mm,
            )
        return pinned_winding(
            triangle=plan.triangle,
            heel=plan.heel,
            tip=self.arm,
            under_heel=self._stiffness(plan.heel.triangle.reach_mm),
            pin_shaft_mm=self.bare_mm,
        )

    @property
    def bare_mm(self) -> float:
        return self.seat.pin_shaft_radius_mm if self.layout.heel is not None else 0.5 * self.layout.hub_diameter_mm

    @property
    def limit(self) -> Carried:
        return carried(self.winding, least_friction=self.least_friction)

    @property
    def pressed_n(self) -> float:
        """The tip's force on a drum at rest: a bonded arm pushed in by the drum, or the weight of a free pad.

        Both at their highest: the patch held, the pad's centre of mass level with its pin.
        """
        angle = self.layout.triangle.strut_angle_deg
        if self.layout.heel is None:
            held = ArmStiffness(self.arm.along_n_per_mm, self.arm.across_held_n_per_mm, self.arm.across_held_n_per_mm)
            return interference_force_n(interference_mm=self.interference_mm, strut_angle_deg=angle, arm=held)
        body = pad_shape(self.free, locks="ccw")
        return pressing_force_n(
            moment_nmm=_weight_moment_nmm(body), reach_mm=self.layout.triangle.reach_mm, strut_angle_deg=angle
        )

    @property
    def tip(self) -> TipForces:
        """Of one pad, at the highest friction."""
        return tip_forces(
            pressing_force_n=self.pressed_n,
            friction=self.most_friction,
            strut_angle_deg=self.layout.triangle.strut_angle_deg,
            stiffness_ratio=self.layout.stiffness_ratio,
            drum_radius_mm=self.seat.drum_radius_mm,
        )

    @property
    def fitting_strain(self) -> float:
        """Of the rubber of a bonded pad at rest in its drum: compression along the arm and bending at its root."""
        triangle, arm = self.layout.triangle, self.arm
        angle, length = math.radians(triangle.strut_angle_deg), triangle.reach_mm - self.bare_mm
        force = interference_force_n(
            interference_mm=self.interference_mm, strut_angle_deg=triangle.strut_angle_deg, arm=arm
        )
        squeezed = force * math.cos(angle) / arm.along_n_per_mm / length
        bent = 1.5 * self.layout.arm_thickness_mm * force * math.sin(angle) / arm.across_n_per_mm / length**2
        return squeezed + bent

    @property
    def free(self) -> dict[str, float]:
        """Lengths of the pad lying free: a bonded one with its tip out by the interference and its bore snug."""
        plan, turn = self.layout, math.radians(self.layout.triangle.center_angle_deg)
        pin, out = self.seat.pin_circle_radius_mm, self.seat.drum_radius_mm + self.interference_mm
        reach = math.hypot(out * math.sin(turn), out * math.cos(turn) - pin)
        pinned, shaft = plan.heel is not None, 2.0 * self.seat.pin_shaft_radius_mm
        return {
            **outline_dimensions(
                triangle=strut_triangle(pin_radius_mm=pin, drum_radius_mm=out, reach_mm=reach),
                heel=plan.heel,
                arm_thickness_mm=plan.arm_thickness_mm,
                hub_diameter_mm=plan.hub_diameter_mm,
                play_mm=0.5 * RUNNING_CLEARANCE_MM if pinned else 0.0,
            ),
            "bore_diameter_mm": shaft + RUNNING_CLEARANCE_MM if pinned else shaft * (1.0 - SNUG),
            "thickness_mm": self.thickness_mm,
        }

    @property
    def fitted(self) -> dict[str, float]:
        """Lengths of the pad in its place: its reach from the pin's centre to the drum."""
        length = self.free["overall_length_mm"] - self.free["reach_mm"] + self.layout.triangle.reach_mm
        out = {**self.free, "reach_mm": self.layout.triangle.reach_mm}
        if self.layout.heel is None:
            out |= {"overall_length_mm": length, "bore_diameter_mm": 2.0 * self.seat.pin_shaft_radius_mm}
        return out

    def _stiffness(self, reach_mm: float) -> ArmStiffness:
        return stiffness(
            reach_mm=reach_mm,
            bare_mm=self.bare_mm,
            arm_mm=self.layout.arm_thickness_mm,
            thickness_mm=self.thickness_mm,
            modulus_mpa=self.modulus_mpa,
        )


def _weight_moment_nmm(body: Extruded) -> float:
    """Weight times the distance of the centre of mass from the pin; the bore, about the pin, takes nothing from it."""
    center = body.outline.centroid
    return DENSITY_G_MM3 * GRAVITY_N_G * body.outline.area * body.thickness_mm * math.hypot(center.x, center.y)
