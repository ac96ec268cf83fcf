"""The rubber strut of a one-way clutch: when it grips, how it drags the other way, what it carries.

A strut of length `reach` stands on a pin (at `pin_radius` from the drum's centre) and touches the drum's
bore with its tip, leaning by the strut angle a from the drum's radius. The drum that sweeps the tip away
from the pin runs free; the drum that pushes the tip back erects the strut and is gripped. Everything is per
strut, in one plane, with a pointed tip.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from moldgen.errors import require_range
from moldgen.mechanics.solve import root

GRIP_MARGIN = 0.7
"""Share of the lowest credible friction that a design may need; 0.5 to 0.7 is common practice, no source."""


@dataclass(frozen=True, slots=True)
class StrutTriangle:
    """Drum centre, pin and tip."""

    pin_radius_mm: float
    drum_radius_mm: float
    reach_mm: float
    strut_angle_deg: float
    """At the tip, from the drum's radius to the strut."""
    center_angle_deg: float
    """At the drum's centre, from the pin to the tip: wound up by this much the strut stands upright."""

    @property
    def upright_strain(self) -> float:
        """Compression at which the strut passes the centre and rolls over: 1 - (Rd - Rp)/L."""
        return 1.0 - (self.drum_radius_mm - self.pin_radius_mm) / self.reach_mm


def strut_triangle(*, pin_radius_mm: float, drum_radius_mm: float, reach_mm: float) -> StrutTriangle:
    """The triangle of drum centre, pin and tip.

    cos a = (Rd^2 + L^2 - Rp^2)/(2 Rd L), cos gamma = (Rp^2 + Rd^2 - L^2)/(2 Rp Rd).

    Source: law of cosines.
    Range: the tip must reach the drum: Rd - Rp <= L <= Rd + Rp.

    By hand, 3-4-5: cos gamma = (9 + 25 - 16)/30 = 0.6, gamma = 53.130; cos a = (25 + 16 - 9)/40 = 0.8, a =
    36.870

    >>> triangle = strut_triangle(pin_radius_mm=3.0, drum_radius_mm=5.0, reach_mm=4.0)
    >>> round(triangle.center_angle_deg, 3), round(triangle.strut_angle_deg, 3)
    (53.13, 36.87)
    """
    require_range("drum_radius_mm", drum_radius_mm, 0.2, 1000.0)
    require_range("pin_radius_mm", pin_radius_mm, 0.1, drum_radius_mm)
    require_range("reach_mm", reach_mm, drum_radius_mm - pin_radius_mm, drum_radius_mm + pin_radius_mm)
    return StrutTriangle(
        pin_radius_mm,
        drum_radius_mm,
        reach_mm,
        _angle_deg(opposite=pin_radius_mm, beside=drum_radius_mm, other=reach_mm),
        _angle_deg(opposite=reach_mm, beside=drum_radius_mm, other=pin_radius_mm),
    )


def _angle_deg(*, opposite: float, beside: float, other: float) -> float:
    cosine = (beside**2 + other**2 - opposite**2) / (2.0 * beside * other)
    return math.degrees(math.acos(min(1.0, max(-1.0, cosine))))  # rounding, when the triangle is flat


def reach_for_angle_mm(*, pin_radius_mm: float, drum_radius_mm: float, strut_angle_deg: float) -> float:
    """Reach of the strut that stands at this angle: L = Rd cos a - sqrt(Rp^2 - Rd^2 sin^2 a).

    Source: law of cosines, the shorter of its two lengths (the longer one leans across the drum).
    Range: sin a <= Rp/Rd.

    By hand, Rp 5, Rd 8, 30 deg: 8 * 0.866025 - sqrt(25 - 16) = 6.9282 - 3 = 3.9282

    >>> round(reach_for_angle_mm(pin_radius_mm=5.0, drum_radius_mm=8.0, strut_angle_deg=30.0), 4)
    3.9282
    """
    require_range("pin_radius_mm", pin_radius_mm, 0.1, drum_radius_mm)
    steepest_deg = math.degrees(math.asin(pin_radius_mm / drum_radius_mm))
    require_range("strut_angle_deg", strut_angle_deg, 0.0, steepest_deg)
    angle_rad = math.radians(strut_angle_deg)
    beside_mm = math.sqrt(max(0.0, pin_radius_mm**2 - (drum_radius_mm * math.sin(angle_rad)) ** 2))
    return drum_radius_mm * math.cos(angle_rad) - beside_mm


def grip_friction_needed(*, strut_angle_deg: float, stiffness_ratio: float) -> float:
    """Least friction at which the drum is gripped, in place of the textbook's tan a.

    rho = (tan^2 a + kappa)/((1 - kappa) tan a), written here as (tan a + kappa/tan a)/(1 - kappa). It is
    tangential over normal force on a tip that the drum carries along: the strut has stiffness k_a along
    itself and k_b across, kappa = k_b/k_a. A strut free to turn on its pin has kappa = 0, and rho = tan a.

    Source: derived, two springs. Our own finite-strain finite-element runs of a bonded 6 x 3 arm agree
    within 2.2 % at the onset; as the strut winds up the ratio falls, so the onset governs.
    Range: small first movement, pointed tip, no friction in the pin.

    By hand, tan a = 0.5, kappa = 0.1: (0.5 + 0.2)/0.9 = 0.7778

    >>> from math import atan, degrees
    >>> round(grip_friction_needed(strut_angle_deg=degrees(atan(0.5)), stiffness_ratio=0.1), 4)
    0.7778
    """
    require_range("strut_angle_deg", strut_angle_deg, 0.01, 89.0)
    require_range("stiffness_ratio", stiffness_ratio, 0.0, 0.9)
    tangent = math.tan(math.radians(strut_angle_deg))
    return (tangent + stiffness_ratio / tangent) / (1.0 - stiffness_ratio)


@dataclass(frozen=True, slots=True)
class AngleWindow:
    """Strut angles between which the strut grips."""

    least_deg: float
    most_deg: float


def angle_window(*, friction: float, stiffness_ratio: float) -> AngleWindow | None:
    """Strut angles that grip at this friction, or None when no angle does.

    tan a from (q - sqrt(q^2 - 4 kappa))/2 to (q + sqrt(q^2 - 4 kappa))/2, q = mu (1 - kappa). For kappa = 0
    that is 0 <= tan a <= mu, the strut angle of freewheel makers' handbooks.

    Source: `grip_friction_needed` set equal to mu.

    By hand, mu = 0.6, kappa = 0.05: q = 0.57, sqrt(0.3249 - 0.2) = 0.35341; tan a = 0.10829 and 0.46171,
    6.18 and 24.78 deg

    >>> window = angle_window(friction=0.6, stiffness_ratio=0.05)
    >>> round(window.least_deg, 2), round(window.most_deg, 2)
    (6.18, 24.78)
    """
    require_range("friction", friction, 0.0, 5.0)
    require_range("stiffness_ratio", stiffness_ratio, 0.0, 0.9)
    reduced = friction * (1.0 - stiffness_ratio)
    square = reduced**2 - 4.0 * stiffness_ratio
    if square < 0.0:
        return None
    largest = (reduced + math.sqrt(square)) / 2.0
    least = (reduced - math.sqrt(square)) / 2.0
    return AngleWindow(math.degrees(math.atan(least)), math.degrees(math.atan(largest)))


def least_friction(*, stiffness_ratio: float) -> float:
    """Friction below which no strut angle grips: 2 sqrt(kappa)/(1 - kappa).

    Source: minimum of `grip_friction_needed` over the angle.

    By hand, kappa = 0.04: 0.4/0.96 = 0.4167

    >>> round(least_friction(stiffness_ratio=0.04), 4)
    0.4167
    """
    require_range("stiffness_ratio", stiffness_ratio, 0.0, 0.9)
    return 2.0 * math.sqrt(stiffness_ratio) / (1.0 - stiffness_ratio)


def best_angle_deg(*, stiffness_ratio: float) -> float:
    """Strut angle that grips with the least friction: tan a = sqrt(kappa).

    Source: minimum of `grip_friction_needed` over the angle.

    By hand, kappa = 0.04: atan 0.2 = 11.31 deg

    >>> round(best_angle_deg(stiffness_ratio=0.04), 2)
    11.31
    """
    require_range("stiffness_ratio", stiffness_ratio, 0.0, 0.9)
    return math.degrees(math.atan(math.sqrt(stiffness_ratio)))


@dataclass(frozen=True, slots=True)
class ArmStiffness:
    """Stiffness of a bonded rubber arm at its tip."""

    along_n_per_mm: float
    across_n_per_mm: float
    """Across, the tip free to rock on the drum: the hopeful end, a low stiffness across makes gripping
    easy."""
    across_held_n_per_mm: float
    """Across, the tip's patch kept from rocking by the drum that carries it: the cautious end."""

    @property
    def ratio(self) -> float:
        """Across over along, kappa, of a tip free to rock."""
        return self.across_n_per_mm / self.along_n_per_mm

    @property
    def held_ratio(self) -> float:
        """Across over along, kappa, of a patch that does not rock: ask with it whether a pad is sure to
        grip."""
        return self.across_held_n_per_mm / self.along_n_per_mm


def arm_stiffness(
    *, reach_mm: float, thickness_mm: float, depth_mm: float, patch_mm: float, elastic_modulus_mpa: float
) -> ArmStiffness:
    """Stiffness along and across a straight arm bonded at its root and loaded over a patch on its tip.

    Per mm of depth, with E' = 4 E/3 and G = E/3 (incompressible, plane strain), c the patch's width:
    k_a = 1/(L/(E' t) + 2/(pi E') (ln(t/c) - 0.53)),   k_b = 1/(4 L^3/(E' t^3) + 1.2 L/(G t)),
    and with the patch held the first term of k_b times (4 u + s)/(4 u + 4 s), s = 3 pi c^2 L/(4 t^3),
    u = 1 - (c/t)^2. A patch nearly as wide as the arm spreads no load: the bracket of k_a is then 0, not
    less.

    Source: bar and Timoshenko beam; the 0.53 is our own fit. A held patch is a spring pi E' c^2/16 against
    tilting (flat punch on a half-plane, K. L. Johnson, Contact Mechanics, 1985, from memory) at the end of
    that beam, made rigid by 1/u as the patch takes up the whole tip (our own interpolation). Our own
    plane-strain finite-element runs, c/t 0.2 to 0.8: k_a within 2 % to c/t 0.4 and 6 % low at 0.8, k_b 3 to 8
    % higher than here, held k_b 4 to 12 % higher. The truth lies between free and held.
    Range: small strain; patch up to the arm's thickness.

    By hand, 6 x 2, depth 1, patch 0.8, E = 3: k_a = 1/(0.75 + 0.159155 * 0.386291) = 1/0.81148 = 1.2323;
    k_b = 1/(27 + 3.6) = 0.0327; s = 1.13097, u = 0.84, k_b held = 1/(27 * 4.49097/7.88389 + 3.6) = 0.0527

    >>> arm = arm_stiffness(
    ...     reach_mm=6.0, thickness_mm=2.0, depth_mm=1.0, patch_mm=0.8, elastic_modulus_mpa=3.0)
    >>> round(arm.along_n_per_mm, 4), round(arm.across_n_per_mm, 4), round(arm.across_held_n_per_mm, 4)
    (1.2323, 0.0327, 0.0527)
    """
    require_range("elastic_modulus_mpa", elastic_modulus_mpa, 0.03, 300.0)
    require_range("depth_mm", depth_mm, 0.1, 1000.0)
    require_range("thickness_mm", thickness_mm, 0.1, 3.0 * reach_mm)
    require_range("patch_mm", patch_mm, 0.01 * thickness_mm, thickness_mm)
    plane_mpa, shear_mpa = 4.0 * elastic_modulus_mpa / 3.0, elastic_modulus_mpa / 3.0
    slenderness = reach_mm / thickness_mm
    spreading = max(0.0, math.log(thickness_mm / patch_mm) - 0.53)
    along = slenderness / plane_mpa + 2.0 / (math.pi * plane_mpa) * spreading
    bending, shear = 4.0 * slenderness**3 / plane_mpa, 1.2 * slenderness / shear_mpa
    holding = 0.75 * math.pi * patch_mm**2 * reach_mm / thickness_mm**3
    yielding = 1.0 - (patch_mm / thickness_mm) ** 2
    held_bending = bending * (yielding + holding / 4.0) / (yielding + holding)
    return ArmStiffness(depth_mm / along, depth_mm / (bending + shear), depth_mm / (held_bending + shear))


def pressing_force_n(*, moment_nmm: float, reach_mm: float, strut_angle_deg: float) -> float:
    """Normal force of a tip pressed out by a moment about the pin, without friction: N0 = M0/(L sin a).

    Source: moments about the pin.

    By hand, 2 N·mm, 4 mm, 30 deg: 2/(4 * 0.5) = 1

    >>> round(pressing_force_n(moment_nmm=2.0, reach_mm=4.0, strut_angle_deg=30.0), 9)
    1.0
    """
    require_range("moment_nmm", moment_nmm, 0.0, 1e6)
    require_range("reach_mm", reach_mm, 0.1, 1000.0)
    require_range("strut_angle_deg", strut_angle_deg, 0.01, 89.0)
    return moment_nmm / (reach_mm * math.sin(math.radians(strut_angle_deg)))


def interference_force_n(*, interference_mm: float, strut_angle_deg: float, arm: ArmStiffness) -> float:
    """Normal force of a bonded arm's tip pushed in by the drum, without friction.

    N0 = d/(cos^2 a/k_a + sin^2 a/k_b), d radial at the tip: the arm gives along itself and, mostly, across.

    Source: derived, two springs.
    Range: small strain.

    By hand, d = 0.2, a = 30 deg, k_a = 3, k_b = 0.25: 0.2/(0.25 + 1) = 0.16

    >>> arm = ArmStiffness(along_n_per_mm=3.0, across_n_per_mm=0.25, across_held_n_per_mm=0.25)
    >>> round(interference_force_n(interference_mm=0.2, strut_angle_deg=30.0, arm=arm), 9)
    0.16
    """
    require_range("interference_mm", interference_mm, 0.0, 10.0)
    require_range("strut_angle_deg", strut_angle_deg, 0.0, 89.0)
    angle_rad = math.radians(strut_angle_deg)
    along = math.cos(angle_rad) ** 2 / arm.along_n_per_mm
    across = math.sin(angle_rad) ** 2 / arm.across_n_per_mm
    return interference_mm / (along + across)


@dataclass(frozen=True, slots=True)
class TipForces:
    """What the drum feels of one tip, both ways round; None where it is gripped and no finite force slips."""

    free_normal_n: float
    drag_torque_nmm: float
    driving_normal_n: float | None
    driving_torque_nmm: float | None

    @property
    def locks(self) -> bool:
        return self.driving_normal_n is None


def tip_forces(
    *,
    pressing_force_n: float,
    friction: float,
    strut_angle_deg: float,
    stiffness_ratio: float,
    drum_radius_mm: float,
) -> TipForces:
    """Forces and torques of one tip sliding in the drum, free and driving.

    N = N0 rho/(rho + mu) when free, N0 rho/(rho - mu) when driving, gripped as soon as mu >= rho; torque mu
    N Rd. With kappa = 0 this is M0/(L (sin a ± mu cos a)), the short shoe of the handbooks.

    Source: statics; derived from two springs for kappa > 0.
    Range: as `grip_friction_needed`. Take drag at the highest friction to be expected, locking at the lowest.

    By hand, N0 = 1, mu = 0.25, tan a = 0.75, drum 10: free 0.75/1 = 0.75, drag 0.25 * 0.75 * 10 = 1.875;
    driving 0.75/0.5 = 1.5

    >>> from math import atan, degrees
    >>> forces = tip_forces(
    ...     pressing_force_n=1.0, friction=0.25, strut_angle_deg=degrees(atan(0.75)), stiffness_ratio=0.0,
    ...     drum_radius_mm=10.0)
    >>> round(forces.free_normal_n, 6), round(forces.drag_torque_nmm, 6), round(forces.driving_normal_n, 6)
    (0.75, 1.875, 1.5)
    """
    require_range("pressing_force_n", pressing_force_n, 0.0, 1e5)
    require_range("friction", friction, 0.0, 5.0)
    needed = grip_friction_needed(strut_angle_deg=strut_angle_deg, stiffness_ratio=stiffness_ratio)
    free_n = pressing_force_n * needed / (needed + friction)
    drag_nmm = friction * free_n * drum_radius_mm
    if needed <= friction:
        return TipForces(free_n, drag_nmm, None, None)
    driving_n = pressing_force_n * needed / (needed - friction)
    return TipForces(free_n, drag_nmm, driving_n, friction * driving_n * drum_radius_mm)


@dataclass(frozen=True, slots=True)
class ShoeForces:
    """A short shoe on a drum, both ways round; None where it locks by itself."""

    energised_normal_n: float | None
    energised_torque_nmm: float | None
    opposed_normal_n: float
    opposed_torque_nmm: float
    lock_friction: float


def short_shoe(
    *,
    force_n: float,
    force_arm_mm: float,
    normal_arm_mm: float,
    friction_arm_mm: float,
    friction: float,
    drum_radius_mm: float,
) -> ShoeForces:
    """Normal force and braking torque of a short pivoted shoe, turning both ways.

    N = F a/(b - mu c) energised, F a/(b + mu c) opposed; torque mu N r. Arms about the pivot: a of the
    applied force, b of the normal force, c of the friction. Locks at mu >= b/c.

    Source: as given in machine-design handbooks (Juvinall and Marshek; Shigley, ch. 16).
    Range: contact short against the drum; for a long one see `long_shoe_factor`.

    By hand, F 10, a 50, b 20, c 10, mu 0.4, r 25: 500/(20 - 4) = 31.25, torque 0.4 * 31.25 * 25 = 312.5

    >>> shoe = short_shoe(
    ...     force_n=10.0, force_arm_mm=50.0, normal_arm_mm=20.0, friction_arm_mm=10.0, friction=0.4,
    ...     drum_radius_mm=25.0)
    >>> shoe.energised_normal_n, shoe.energised_torque_nmm, shoe.lock_friction
    (31.25, 312.5, 2.0)
    """
    require_range("friction", friction, 0.0, 5.0)
    require_range("normal_arm_mm", normal_arm_mm, 1e-6, 1e4)
    require_range("friction_arm_mm", friction_arm_mm, 1e-6, 1e4)
    turning_nmm = force_n * force_arm_mm
    opposed_n = turning_nmm / (normal_arm_mm + friction * friction_arm_mm)
    lock_friction = normal_arm_mm / friction_arm_mm
    energised_n = None
    if friction < lock_friction:
        energised_n = turning_nmm / (normal_arm_mm - friction * friction_arm_mm)
    return ShoeForces(
        energised_n,
        None if energised_n is None else friction * energised_n * drum_radius_mm,
        opposed_n,
        friction * opposed_n * drum_radius_mm,
        lock_friction,
    )


def long_shoe_factor(*, contact_deg: float) -> float:
    """By how much contact over an arc raises friction's lever: 4 sin th/(2 th + sin 2 th), 2 th the arc.

    Multiply the friction of a shoe by it; times the drum's radius it is the distance at which the friction
    acts.

    Source: pressure in proportion to the cosine from the middle of a pivoted shoe, as given in Khurmi and
    Gupta, Theory of Machines, ch. 19, and Shigley, eq. (16-15).
    Range: arcs to 180 deg; 1 for a short one.

    By hand, 90 deg: 4 * 0.707107/(1.570796 + 1) = 1.1002

    >>> round(long_shoe_factor(contact_deg=90.0), 4)
    1.1002
    """
    require_range("contact_deg", contact_deg, 0.01, 180.0)
    half_rad = math.radians(contact_deg / 2.0)
    return 4.0 * math.sin(half_rad) / (2.0 * half_rad + math.sin(2.0 * half_rad))


def wound_up_torque_nmm(*, triangle: StrutTriangle, along_n_per_mm: float, wind_up_deg: float) -> float:
    """Torque of one gripped strut after the drum has turned by `wind_up_deg` with its tip stuck.

    T = k (L - l) Rp Rd sin(gamma - phi)/l with l^2 = Rp^2 + Rd^2 - 2 Rp Rd cos(gamma - phi): thrust of the
    shortened strut times its lever about the drum's centre. Zero again where the strut stands upright.

    Source: statics of a spring between two points.
    Range: strut free on its pin, linear along itself, 0 <= phi <= gamma.

    >>> triangle = strut_triangle(pin_radius_mm=3.0, drum_radius_mm=5.0, reach_mm=4.0)
    >>> wound_up_torque_nmm(triangle=triangle, along_n_per_mm=2.0, wind_up_deg=0.0) < 1e-12
    True
    """
    require_range("along_n_per_mm", along_n_per_mm, 1e-6, 1e6)
    require_range("wind_up_deg", wind_up_deg, 0.0, triangle.center_angle_deg)
    left_rad = math.radians(triangle.center_angle_deg - wind_up_deg)
    length_mm = _length_mm(triangle, left_rad)
    lever_mm = triangle.pin_radius_mm * triangle.drum_radius_mm * math.sin(left_rad) / length_mm
    return along_n_per_mm * (triangle.reach_mm - length_mm) * lever_mm


def _length_mm(triangle: StrutTriangle, left_rad: float) -> float:
    """Pin to tip when `left_rad` at the drum's centre is left before the strut stands upright."""
    pin_mm, drum_mm = triangle.pin_radius_mm, triangle.drum_radius_mm
    return math.sqrt((drum_mm - pin_mm) ** 2 + 4.0 * pin_mm * drum_mm * math.sin(left_rad / 2.0) ** 2)


@dataclass(frozen=True, slots=True)
class LockLimit:
    """The most that one gripped strut carries."""

    torque_nmm: float
    wind_up_deg: float
    strain: float
    """Compression of the strut there, a ratio of its reach."""
    governed_by: Literal["roll-over", "strain"]


def roll_over(*, triangle: StrutTriangle, along_n_per_mm: float) -> LockLimit:
    """The peak of `wound_up_torque_nmm`: a higher torque rolls the strut over the centre.

    Where (L/l - 1) cos psi = (L/l^3) Rp Rd sin^2 psi, psi = gamma - phi.

    Source: dT/dphi = 0, solved numerically.
    Range: as `wound_up_torque_nmm`.
    """
    reach_mm = triangle.reach_mm
    radii_mm2 = triangle.pin_radius_mm * triangle.drum_radius_mm

    def slope(left_rad: float) -> float:
        length_mm = _length_mm(triangle, left_rad)
        softening = reach_mm * radii_mm2 * math.sin(left_rad) ** 2 / length_mm**3
        return (reach_mm / length_mm - 1.0) * math.cos(left_rad) - softening

    left_rad = root(slope, 0.0, math.radians(triangle.center_angle_deg))
    wind_up_deg = triangle.center_angle_deg - math.degrees(left_rad)
    return LockLimit(
        wound_up_torque_nmm(triangle=triangle, along_n_per_mm=along_n_per_mm, wind_up_deg=wind_up_deg),
        wind_up_deg,
        1.0 - _length_mm(triangle, left_rad) / reach_mm,
        "roll-over",
    )


def roll_over_estimate_nmm(*, triangle: StrutTriangle, along_n_per_mm: float) -> float:
    """Roll-over torque in one line: k (Rp Rd/(Rd - Rp))^2 gamma^3/(3 sqrt 3), at gamma (1 - 1/sqrt 3).

    Reads high: 5 to 8 % at gamma 10 to 12 deg, 19 % at 16 deg. It shows what counts: the cube of gamma.

    Source: leading term of `wound_up_torque_nmm` for small gamma.

    By hand, Rp 5, Rd 10, gamma 0.2, k 3 sqrt 3: (50/5)^2 * 0.008 = 0.8

    >>> from math import cos, sqrt
    >>> triangle = strut_triangle(pin_radius_mm=5, drum_radius_mm=10, reach_mm=sqrt(125 - 100 * cos(0.2)))
    >>> round(roll_over_estimate_nmm(triangle=triangle, along_n_per_mm=3 * sqrt(3)), 6)
    0.8
    """
    gap_mm = triangle.drum_radius_mm - triangle.pin_radius_mm
    lever_mm = triangle.pin_radius_mm * triangle.drum_radius_mm / gap_mm
    return along_n_per_mm * lever_mm**2 * math.radians(triangle.center_angle_deg) ** 3 / (3.0 * math.sqrt(3.0))


def lock_limit(*, triangle: StrutTriangle, along_n_per_mm: float, allowed_strain: float) -> LockLimit:
    """What one gripped strut carries before it rolls over or is compressed beyond the allowed strain.

    Source: `roll_over`, or `wound_up_torque_nmm` at l = L (1 - strain) if that comes first.
    Range: allowed strain to 0.5; the strut's linear stiffness reads low from about 0.2 on.
    """
    require_range("allowed_strain", allowed_strain, 0.001, 0.5)
    over = roll_over(triangle=triangle, along_n_per_mm=along_n_per_mm)
    if over.strain <= allowed_strain:
        return over
    shortened_mm = triangle.reach_mm * (1.0 - allowed_strain)
    left_deg = _angle_deg(opposite=shortened_mm, beside=triangle.drum_radius_mm, other=triangle.pin_radius_mm)
    wind_up_deg = triangle.center_angle_deg - left_deg
    torque_nmm = wound_up_torque_nmm(triangle=triangle, along_n_per_mm=along_n_per_mm, wind_up_deg=wind_up_deg)
    return LockLimit(torque_nmm, wind_up_deg, allowed_strain, "strain")


def wind_up_deg(*, triangle: StrutTriangle, along_n_per_mm: float, torque_nmm: float) -> float:
    """Lost motion: how far the drum turns before one gripped strut carries this torque.

    Source: `wound_up_torque_nmm`, solved for the angle on its rising side.
    Range: torque up to the roll-over torque.
    """
    over = roll_over(triangle=triangle, along_n_per_mm=along_n_per_mm)
    require_range("torque_nmm", torque_nmm, 0.0, over.torque_nmm)

    def excess_nmm(angle_deg: float) -> float:
        carried_nmm = wound_up_torque_nmm(triangle=triangle, along_n_per_mm=along_n_per_mm, wind_up_deg=angle_deg)
        return carried_nmm - torque_nmm

    return root(excess_nmm, 0.0, over.wind_up_deg)
