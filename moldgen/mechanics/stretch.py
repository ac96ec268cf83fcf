"""A rubber ring pulled over a rigid hub: what it looks like there, and which free ring comes out as wanted.

The ring is thick: its wall thins less at the outside than at the bore. It is incompressible and neo-Hookean,
and each cross section stays plane, so that one number, the axial stretch, settles all else. Either the ends
are free and the ring gets narrower, or flanges hold its width; a bore that grips the hub instead of sliding
along it lies between the two, see `stuck_outer_radius_mm`.

There is no relaxation and no set in it: rubber that has sat on its hub for weeks presses on it with 0.5 to
0.7 of the pressure given here (common practice, no source); the dimensions stay.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from moldgen.errors import require_range
from moldgen.mechanics.shrinkage import hold_of_length
from moldgen.mechanics.solve import root

MOST_STRETCH: Final = 0.30
"""Above this, real rubber stiffens and the neo-Hookean solid reads low (L. R. G. Treloar, The Physics of
Rubber Elasticity, 3rd ed., 1975, as commonly given)."""


@dataclass(frozen=True, slots=True)
class FreeRing:
    """A plain ring as it lies on the bench."""

    inner_radius_mm: float
    outer_radius_mm: float
    width_mm: float

    @property
    def inner_diameter_mm(self) -> float:
        return 2.0 * self.inner_radius_mm

    @property
    def outer_diameter_mm(self) -> float:
        return 2.0 * self.outer_radius_mm

    @property
    def wall_mm(self) -> float:
        return self.outer_radius_mm - self.inner_radius_mm

    @property
    def volume_mm3(self) -> float:
        return math.pi * (self.outer_radius_mm**2 - self.inner_radius_mm**2) * self.width_mm


@dataclass(frozen=True, slots=True)
class FittedRing:
    """The ring in place on its hub."""

    hub_radius_mm: float
    outer_radius_mm: float
    width_mm: float
    axial_stretch_ratio: float
    """Fitted over free width: below 1 with free ends, 1 between flanges."""
    hoop_stretch_ratio_bore: float
    hoop_stretch_ratio_outside: float
    hub_pressure_mpa: float
    """Just after fitting; it falls as the rubber relaxes."""
    hoop_stress_bore_mpa: float
    hoop_stress_outside_mpa: float

    @property
    def outer_diameter_mm(self) -> float:
        return 2.0 * self.outer_radius_mm

    @property
    def wall_mm(self) -> float:
        return self.outer_radius_mm - self.hub_radius_mm

    @property
    def volume_mm3(self) -> float:
        return math.pi * (self.outer_radius_mm**2 - self.hub_radius_mm**2) * self.width_mm


def fitted_ring(
    *, free: FreeRing, hub_radius_mm: float, shear_modulus_mpa: float, held_between_flanges: bool = False
) -> FittedRing:
    """The ring on a rigid frictionless hub: its outside, width, stretches, stresses and pressure on the hub.

    With lz the axial stretch, capitals free and small letters fitted, every cylinder R goes to
    r^2 = ri^2 + (R^2 - Ri^2)/lz, and with a = ri^2 - Ri^2/lz the pressure on the hub is
    p = (G/lz) [ln(Ro/Ri) - ln(ro/ri) + (a/2)(1/ri^2 - 1/ro^2)].
    Between flanges lz = 1; with free ends it is the lz at which the axial force vanishes. The dimensions do
    not depend on G, the stresses are proportional to it.

    Source: derived from the inflation of an incompressible tube (R. S. Rivlin; R. W. Ogden, Non-linear
    Elastic Deformations, 1984, from memory). Our own axisymmetric finite-element run agrees to 0.001 mm in
    the outside, 0.003 mm in the width and 0.1 % in the pressure.
    Range: bore stretched by 0 to 30 %, outer radius up to 10 times the inner.

    By hand, flanged, bore 20 on a hub of 22 mm: ro = sqrt(11^2 + 12^2 - 10^2) = sqrt(165) = 12.8452

    >>> flanged = fitted_ring(free=FreeRing(10.0, 12.0, 5.0), hub_radius_mm=11.0, shear_modulus_mpa=0.5,
    ...                       held_between_flanges=True)
    >>> round(flanged.outer_radius_mm, 4), flanged.width_mm
    (12.8452, 5.0)
    """
    _require_ring(free.inner_radius_mm, free.outer_radius_mm)
    require_range("width_mm", free.width_mm, 0.1, 1000.0)
    require_range("shear_modulus_mpa", shear_modulus_mpa, 0.01, 100.0)
    # Rounded, so that a ring of `free_ring` passes at the very ends of the range.
    require_range("stretch", round(hub_radius_mm / free.inner_radius_mm - 1.0, 12), 0.0, MOST_STRETCH)
    section_mm2 = free.outer_radius_mm**2 - free.inner_radius_mm**2

    def outer_radius_mm(axial_stretch_ratio: float) -> float:
        return math.sqrt(hub_radius_mm**2 + section_mm2 / axial_stretch_ratio)

    def end_force(axial_stretch_ratio: float) -> float:
        return _end_force(
            free.inner_radius_mm,
            free.outer_radius_mm,
            hub_radius_mm,
            outer_radius_mm(axial_stretch_ratio),
            axial_stretch_ratio,
        )

    axial_stretch_ratio = 1.0 if held_between_flanges else root(end_force, *_AXIAL_BRACKET)
    fitted_outer_mm = outer_radius_mm(axial_stretch_ratio)
    bore = hub_radius_mm / free.inner_radius_mm
    outside = fitted_outer_mm / free.outer_radius_mm
    pressure_mpa = shear_modulus_mpa * _pressure(
        free.inner_radius_mm, free.outer_radius_mm, hub_radius_mm, fitted_outer_mm, axial_stretch_ratio
    )

    def hoop_over_radial_mpa(hoop: float) -> float:
        """G (lam_theta^2 - lam_r^2), the radial stretch being what keeps the volume."""
        return shear_modulus_mpa * (hoop**2 - (hoop * axial_stretch_ratio) ** -2)

    return FittedRing(
        hub_radius_mm=hub_radius_mm,
        outer_radius_mm=fitted_outer_mm,
        width_mm=free.width_mm * axial_stretch_ratio,
        axial_stretch_ratio=axial_stretch_ratio,
        hoop_stretch_ratio_bore=bore,
        hoop_stretch_ratio_outside=outside,
        hub_pressure_mpa=pressure_mpa,
        hoop_stress_bore_mpa=hoop_over_radial_mpa(bore) - pressure_mpa,
        hoop_stress_outside_mpa=hoop_over_radial_mpa(outside),
    )


def free_ring(
    *,
    hub_radius_mm: float,
    fitted_outer_radius_mm: float,
    fitted_width_mm: float,
    stretch: float,
    held_between_flanges: bool = False,
) -> FreeRing:
    """The ring that, pulled over the hub, comes out at the wanted outside and width; `fitted_ring` undone.

    Ri = ri/(1 + stretch), Ro^2 = Ri^2 + lz (ro^2 - ri^2), W = w/lz, with lz as in `fitted_ring`.

    Source and range: as `fitted_ring`; `stretch` is hub over free bore less one.

    By hand, flanged, hub 22 and outside 26 mm, 10 %: Ri = 11/1.1 = 10, Ro^2 = 10^2 + 13^2 - 11^2 = 148

    >>> free = free_ring(hub_radius_mm=11.0, fitted_outer_radius_mm=13.0, fitted_width_mm=5.0, stretch=0.10,
    ...                  held_between_flanges=True)
    >>> round(free.inner_radius_mm, 4), round(free.outer_radius_mm**2, 4), free.width_mm
    (10.0, 148.0, 5.0)
    """
    _require_ring(hub_radius_mm, fitted_outer_radius_mm)
    require_range("fitted_width_mm", fitted_width_mm, 0.1, 1000.0)
    require_range("stretch", stretch, 0.0, MOST_STRETCH)
    inner_radius_mm = hub_radius_mm / (1.0 + stretch)
    fitted_section_mm2 = fitted_outer_radius_mm**2 - hub_radius_mm**2

    def outer_radius_mm(axial_stretch_ratio: float) -> float:
        return math.sqrt(inner_radius_mm**2 + fitted_section_mm2 * axial_stretch_ratio)

    def end_force(axial_stretch_ratio: float) -> float:
        return _end_force(
            inner_radius_mm,
            outer_radius_mm(axial_stretch_ratio),
            hub_radius_mm,
            fitted_outer_radius_mm,
            axial_stretch_ratio,
        )

    axial_stretch_ratio = 1.0 if held_between_flanges else root(end_force, *_AXIAL_BRACKET)
    free_outer_mm = outer_radius_mm(axial_stretch_ratio)
    _require_ring(inner_radius_mm, free_outer_mm)
    return FreeRing(inner_radius_mm, free_outer_mm, fitted_width_mm / axial_stretch_ratio)


def stuck_outer_radius_mm(*, free: FreeRing, hub_radius_mm: float) -> float:
    """Mean outer radius of a free-ended ring whose bore sticks to the hub and so cannot get narrower.

    Friction only ever takes diameter away, at most this much: ro = ro_free - hold (ro_free - ro_flanged), the
    same `hold_of_length` that keeps a cover cast on its hub from shrinking along it, with width over wall.
    The truth lies between this and `fitted_ring`; soapy water brings it near the latter (common practice, no
    source).

    Source: our own axisymmetric finite-element run with a bore that cannot slide. Six rings on a 30 mm hub,
    at most twice as wide as thick and stretched by 4 to 12 %, lost 0 to 0.14 % of their diameter; a sleeve
    loses more (0.26 % with a 2 mm wall, 10 mm wide, 12 %). The hold was seen within 0.1 of the runs for hubs
    of half the outer radius and more, widths of 0.5 to 15 walls, stretches of 2 to 20 %.
    Range: as `fitted_ring`. The ends stand proud of the mean by some hundredths.

    Unstretched, there is nothing to hold:

    >>> stuck_outer_radius_mm(free=FreeRing(10.0, 12.0, 5.0), hub_radius_mm=10.0)
    12.0
    """
    # The shape does not depend on the modulus.
    sliding, held = (
        fitted_ring(free=free, hub_radius_mm=hub_radius_mm, shear_modulus_mpa=1.0, held_between_flanges=flanges)
        for flanges in (False, True)
    )
    hold = hold_of_length(length_over_wall=free.width_mm / free.wall_mm)
    return sliding.outer_radius_mm - hold * (sliding.outer_radius_mm - held.outer_radius_mm)


def slip_torque_nmm(*, hub_pressure_mpa: float, hub_radius_mm: float, fitted_width_mm: float, friction: float) -> float:
    """The torque at which the ring turns on its hub, T = mu p (2 pi ri w) ri, in N·mm.

    Source: Coulomb friction at a uniform pressure.
    Range: any; give the pressure that is left after relaxation, and the lowest friction to be expected.

    By hand: 0.5 * 0.1 * 2 pi * 10^2 * 2 = 20 pi = 62.832

    >>> round(slip_torque_nmm(hub_pressure_mpa=0.1, hub_radius_mm=10.0, fitted_width_mm=2.0, friction=0.5), 3)
    62.832
    """
    require_range("hub_pressure_mpa", hub_pressure_mpa, 0.0, 100.0)
    require_range("friction", friction, 0.0, 5.0)
    return friction * hub_pressure_mpa * 2.0 * math.pi * hub_radius_mm**2 * fitted_width_mm


_AXIAL_BRACKET: Final = (0.5, 1.05)
"""A thin ring stretched by 30 % narrows to 1/sqrt(1.3) = 0.877, a thick one less."""


def _require_ring(inner_radius_mm: float, outer_radius_mm: float) -> None:
    require_range("inner_radius_mm", inner_radius_mm, 0.1, 1000.0)
    # Below 0.1 % of the radius the wall is a film, and the differences of logarithms lose their last digits.
    require_range("outer_radius_mm", outer_radius_mm, 1.001 * inner_radius_mm, 10.0 * inner_radius_mm)


def _pressure(
    free_inner_mm: float, free_outer_mm: float, inner_mm: float, outer_mm: float, axial_stretch_ratio: float
) -> float:
    """Pressure on the hub over the shear modulus."""
    offset_mm2 = inner_mm**2 - free_inner_mm**2 / axial_stretch_ratio
    logarithms = math.log(free_outer_mm / free_inner_mm) - math.log(outer_mm / inner_mm)
    return (logarithms + 0.5 * offset_mm2 * (inner_mm**-2 - outer_mm**-2)) / axial_stretch_ratio


def _end_force(
    free_inner_mm: float, free_outer_mm: float, inner_mm: float, outer_mm: float, axial_stretch_ratio: float
) -> float:
    """Axial pull on the ring's section over pi G, zero where the ends are free.

    The axial stress is s_rr + G (lz^2 - lam_r^2). Integrated by parts over the section, the balance of radial
    forces turns s_rr into the pressure on the bore and the hoop stress.
    """
    offset_mm2 = inner_mm**2 - free_inner_mm**2 / axial_stretch_ratio
    half_mm2 = 0.5 * (outer_mm**2 - inner_mm**2)
    hoop = (half_mm2 + offset_mm2 * math.log(free_outer_mm / free_inner_mm)) / axial_stretch_ratio
    radial = (half_mm2 - offset_mm2 * math.log(outer_mm / inner_mm)) / axial_stretch_ratio
    pressure = _pressure(free_inner_mm, free_outer_mm, inner_mm, outer_mm, axial_stretch_ratio)
    return inner_mm**2 * pressure + 2.0 * axial_stretch_ratio**2 * half_mm2 - hoop - radial
