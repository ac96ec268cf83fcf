"""Wound-up pads against reference rows of an independent computation and against the energy of the same springs."""

import cmath
import math
from itertools import pairwise

import pytest

from moldgen.families.clutch_outline import Heel
from moldgen.families.clutch_winding import (
    ALLOWED_STRAIN,
    Foot,
    Winding,
    bonded_winding,
    carried,
    pad_turn_deg,
    pinned_winding,
    wind_up_deg,
)
from moldgen.mechanics.strut import ArmStiffness, strut_triangle

TIP = ArmStiffness(along_n_per_mm=2.4, across_n_per_mm=0.06, across_held_n_per_mm=0.08)


def triangle(pin, drum, reach):
    return strut_triangle(pin_radius_mm=pin, drum_radius_mm=drum, reach_mm=reach)


E1, E3 = triangle(8.0, 14.0, 6.4), triangle(10.0, 16.0, 7.0)
ARM = bonded_winding(triangle=E1, arm=TIP, eye_radius_mm=2.0, arm_thickness_mm=1.5)
HEEL = Heel(triangle(8.0, 14.0, 7.5), wind_up_deg=3.0, pad_turn_deg=6.5)
PAD = pinned_winding(triangle=E1, heel=HEEL, tip=TIP, under_heel=TIP, pin_shaft_mm=1.0)


def strut(of, turned_deg):
    """From pin to tip as a complex number; the drum's centre is 0 and the pin lies on the real axis."""
    return cmath.rect(of.drum_radius_mm, math.radians(of.center_angle_deg - turned_deg)) - of.pin_radius_mm


def energy_nmm(winding, turned_deg):
    """Of all springs: 1/2 k (L - l)^2 of each foot that bears, 1/2 k_b (L turn)^2 of the bent arm."""
    total = 0.0
    for foot in winding.feet:
        bearing = max(0.0, turned_deg - foot.from_deg)
        total += 0.5 * foot.along_n_per_mm * (foot.triangle.reach_mm - abs(strut(foot.triangle, bearing))) ** 2
    tip = winding.feet[0].triangle
    turn = cmath.phase(strut(tip, 0.0) / strut(tip, turned_deg))
    return total + 0.5 * winding.across_n_per_mm * (tip.reach_mm * turn) ** 2


@pytest.mark.parametrize(
    ("of", "torque", "turn"),
    [(E1, 1.4024, 5.2728), (E3, 6.4661, 7.458)],
)
def test_a_strut_without_heel_rolls_over_at_the_reference_torque(of, torque, turn):
    # Rows E1 and E3 of the reference table (an independent computation, k = 2.4 N/mm), five digits.
    limit = carried(Winding((Foot(of, 2.4, 0.0),), bare_mm=1.0), least_friction=1.0)
    assert limit.cause == "it rolls over"
    assert limit.torque_nmm == pytest.approx(torque, rel=1e-4)
    assert limit.wind_up_deg == pytest.approx(turn, abs=2e-3)


@pytest.mark.parametrize("winding", [ARM, PAD], ids=["bonded arm", "pad with a heel"])
@pytest.mark.parametrize("turned_deg", [0.5, 2.0, 4.0, 7.0, 10.0, 12.0])
def test_torque_is_the_slope_of_the_springs_energy(winding, turned_deg):
    # Castigliano: T = dU/dphi, here by a central difference of 1e-4 deg (error of the order of 1e-9).
    step = 1e-4
    slope = (energy_nmm(winding, turned_deg + step) - energy_nmm(winding, turned_deg - step)) / math.radians(2.0 * step)
    assert winding.torque_nmm(turned_deg) == pytest.approx(slope, rel=1e-6)


def test_a_bonded_arm_starts_with_the_friction_of_two_springs():
    # rho = (tan^2 a + kappa)/((1 - kappa) tan a) by hand: tan a = 0.27103 (row E1), kappa = 0.06/2.4 = 0.025:
    # (0.073457 + 0.025)/(0.975 * 0.27103) = 0.37259
    assert ARM.friction_used(1e-4) == pytest.approx(0.37259, rel=1e-4)


@pytest.mark.parametrize("winding", [ARM, Winding((Foot(E3, 2.0, 0.0),), bare_mm=1.0)], ids=["bonded", "free"])
def test_a_gripped_foot_needs_less_friction_the_more_it_is_wound_up(winding):
    # Our own finite-strain finite-element runs of bonded 6 x 3 arms fall from 0.58 to 0.53 and from 0.66 to 0.46.
    whole = winding.feet[0].triangle.center_angle_deg
    used = [winding.friction_used(whole * i / 20.0) for i in range(1, 20)]
    assert all(later < earlier for earlier, later in pairwise(used))


def test_the_strut_turns_by_its_whole_lean_until_it_is_upright():
    # At the pin the strut leans by a + gamma from the drum's radius: 15.165 + 12.080 in row E1.
    upright = pad_turn_deg(triangle=E1, wind_up_deg=E1.center_angle_deg)
    assert upright == pytest.approx(27.245, abs=1e-3)


def test_a_heel_carries_many_times_what_the_tip_alone_does():
    alone = carried(Winding((Foot(E1, 2.4, 0.0),), bare_mm=1.0), least_friction=0.6)
    heeled = carried(PAD, least_friction=0.6)
    assert heeled.torque_nmm > 5.0 * alone.torque_nmm
    assert heeled.wind_up_deg > HEEL.wind_up_deg


def test_before_the_heel_bears_the_tip_is_alone():
    alone = Winding((Foot(E1, 2.4, 0.0),), bare_mm=1.0)
    assert PAD.torque_nmm(2.9) == alone.torque_nmm(2.9)
    assert PAD.torque_nmm(3.2) > alone.torque_nmm(3.2)


def test_a_leaning_heel_lets_a_slippery_drum_slip():
    # The heel leans by more than the tip: with friction between the two the drum slips once the heel carries enough.
    slippery = carried(PAD, least_friction=0.28)
    assert slippery.cause == "the drum slips"
    assert PAD.friction_used(slippery.wind_up_deg) == pytest.approx(0.28, rel=1e-9)
    assert slippery.torque_nmm < carried(PAD, least_friction=0.6).torque_nmm


def test_a_thick_bonded_arm_ends_where_its_rubber_is_strained_as_far_as_allowed():
    thick = bonded_winding(triangle=E3, arm=TIP, eye_radius_mm=2.0, arm_thickness_mm=3.0)
    limit = carried(thick, least_friction=1.0)
    assert limit.cause == "the rubber is strained as far as allowed"
    # Compressed by (L - l)/(L - r), bent by 3 t y/(2 (L - r)^2) at the root of a cantilever pushed aside by y = L turn.
    here = strut(E3, limit.wind_up_deg)
    turn = cmath.phase(strut(E3, 0.0) / here)
    strain = (7.0 - abs(here)) / 5.0 + 1.5 * 3.0 * 7.0 * turn / 5.0**2
    assert strain == pytest.approx(ALLOWED_STRAIN, rel=1e-9)


@pytest.mark.parametrize("share", [0.05, 0.4, 0.95])
def test_lost_motion_ends_where_the_torque_is_reached(share):
    limit = carried(PAD, least_friction=0.6)
    turn = wind_up_deg(PAD, limit, torque_nmm=share * limit.torque_nmm)
    assert PAD.torque_nmm(turn) == pytest.approx(share * limit.torque_nmm, rel=1e-9)
    assert turn < limit.wind_up_deg


def test_more_than_can_be_carried_winds_up_to_the_limit():
    limit = carried(ARM, least_friction=0.6)
    assert wind_up_deg(ARM, limit, torque_nmm=2.0 * limit.torque_nmm) == limit.wind_up_deg
