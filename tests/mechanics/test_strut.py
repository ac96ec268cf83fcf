"""One-way struts against statics written separately, handbooks, and our own finite-element runs.

The reference rows come from an independent computation and are printed to five digits. They hold for a
pressing moment of 2 N·mm and a strut of 2.4 N/mm; arms are per mm of depth, of E = 3.60507 MPa, with a tip
patch 0.8 mm wide.
"""

import math
import random

import pytest
from scipy.optimize import minimize_scalar

from moldgen.errors import RangeError
from moldgen.mechanics.strut import (
    ArmStiffness,
    TipForces,
    angle_window,
    arm_stiffness,
    best_angle_deg,
    grip_friction_needed,
    interference_force_n,
    least_friction,
    lock_limit,
    long_shoe_factor,
    pressing_force_n,
    reach_for_angle_mm,
    roll_over,
    roll_over_estimate_nmm,
    short_shoe,
    strut_triangle,
    tip_forces,
    wind_up_deg,
    wound_up_torque_nmm,
)

MOMENT_NMM, STRUT_N_PER_MM = 2.0, 2.4


def printed(value: float) -> object:
    """The value to within half a unit of its fifth digit."""
    return pytest.approx(value, abs=0.5001 * 10.0 ** (math.floor(math.log10(abs(value))) - 4))


def triangle_of(pin: float, drum: float, reach: float):
    return strut_triangle(pin_radius_mm=pin, drum_radius_mm=drum, reach_mm=reach)


def tip_of(pin: float, drum: float, reach: float, friction: float) -> TipForces:
    """The tip of a strut free on its pin."""
    angle_deg = triangle_of(pin, drum, reach).strut_angle_deg
    return tip_forces(
        pressing_force_n=pressing_force_n(moment_nmm=MOMENT_NMM, reach_mm=reach, strut_angle_deg=angle_deg),
        friction=friction,
        strut_angle_deg=angle_deg,
        stiffness_ratio=0.0,
        drum_radius_mm=drum,
    )


E1 = (8.0, 14.0, 6.4)
E3 = (10.0, 16.0, 7.0)


# Geometry


@pytest.mark.parametrize(
    ("sides", "alpha", "tangent", "gamma", "strain"),
    [(E1, 15.165, 0.27103, 12.080, 0.0625), (E3, 23.769, 0.44040, 16.388, 0.14286)],
)
def test_triangles_of_the_reference_rows(sides, alpha, tangent, gamma, strain):
    triangle = triangle_of(*sides)
    assert triangle.strut_angle_deg == printed(alpha)
    assert math.tan(math.radians(triangle.strut_angle_deg)) == printed(tangent)
    assert triangle.center_angle_deg == printed(gamma)
    assert triangle.upright_strain == printed(strain)


@pytest.mark.parametrize("seed", range(30))
def test_triangle_closes_when_drawn(seed):
    # Pin at (Rp, 0), tip at gamma on the drum: their distance is the reach, the tip's angle that of vectors.
    rng = random.Random(seed)
    pin = rng.uniform(3, 20)
    drum = pin + rng.uniform(1, 10)
    triangle = triangle_of(pin, drum, rng.uniform(drum - pin, drum + pin))
    tip = complex(
        drum * math.cos(math.radians(triangle.center_angle_deg)),
        drum * math.sin(math.radians(triangle.center_angle_deg)),
    )
    to_pin, to_center = pin - tip, -tip
    assert abs(to_pin) == pytest.approx(triangle.reach_mm, rel=1e-9)
    between = (to_pin * to_center.conjugate()).real / (abs(to_pin) * abs(to_center))
    assert math.cos(math.radians(triangle.strut_angle_deg)) == pytest.approx(between, rel=1e-9)


@pytest.mark.parametrize("strut_angle_deg", [0.5, 8.0, 15.0, 30.0])
def test_reach_for_an_angle_gives_that_angle(strut_angle_deg):
    reach_mm = reach_for_angle_mm(pin_radius_mm=8.0, drum_radius_mm=14.0, strut_angle_deg=strut_angle_deg)
    assert triangle_of(8.0, 14.0, reach_mm).strut_angle_deg == pytest.approx(strut_angle_deg, rel=1e-9)
    assert reach_mm < math.sqrt(14.0**2 - 8.0**2)  # the shorter of the two


@pytest.mark.parametrize("reach", [5.999, 22.001, math.nan])
def test_strut_that_does_not_reach_the_drum_is_refused(reach):
    with pytest.raises(RangeError) as caught:
        triangle_of(8.0, 14.0, reach)
    assert caught.value.name == "reach_mm"


def test_upright_strut_stands_at_no_angle():
    triangle = triangle_of(8.0, 14.0, 6.0)
    assert (triangle.strut_angle_deg, triangle.center_angle_deg, triangle.upright_strain) == (0.0, 0.0, 0.0)
    assert roll_over(triangle=triangle, along_n_per_mm=2.4).torque_nmm == 0.0


# Gripping


@pytest.mark.parametrize("seed", range(50))
def test_strut_free_on_its_pin_needs_exactly_the_tangent_of_its_angle(seed):
    angle_deg = random.Random(seed).uniform(0.1, 80.0)
    assert grip_friction_needed(strut_angle_deg=angle_deg, stiffness_ratio=0.0) == math.tan(math.radians(angle_deg))


def test_strut_free_on_its_pin_locks_exactly_when_friction_reaches_the_tangent():
    tangent = math.tan(math.radians(17.0))
    for friction, locks in (
        (tangent, True),
        (math.nextafter(tangent, 0.0), False),
        (math.nextafter(tangent, 1.0), True),
    ):
        forces = tip_forces(
            pressing_force_n=1.0,
            friction=friction,
            strut_angle_deg=17.0,
            stiffness_ratio=0.0,
            drum_radius_mm=14.0,
        )
        assert forces.locks is locks


def test_sprag_of_hardened_steel_grips_to_six_degrees():
    # Technology pages of two freewheel makers: mu > tan alpha, 0.11 for hardened steel: 6.28 deg.
    window = angle_window(friction=0.11, stiffness_ratio=0.0)
    assert window is not None
    assert window.least_deg == 0.0
    assert window.most_deg == pytest.approx(6.28, abs=0.01)


def test_wedging_idler_grips_to_half_its_included_angle():
    # Statics of an idler drawn in between two wheels: tan beta <= mu, 24.228 deg at 0.45.
    window = angle_window(friction=0.45, stiffness_ratio=0.0)
    assert window is not None
    assert window.most_deg == pytest.approx(24.228, abs=0.01)


def test_window_of_the_reference_row():
    window = angle_window(friction=0.6, stiffness_ratio=0.03)
    assert window is not None
    assert math.tan(math.radians(window.least_deg)) == printed(0.057160)
    assert math.tan(math.radians(window.most_deg)) == printed(0.52484)


@pytest.mark.parametrize("stiffness_ratio", [0.005, 0.03, 0.06, 0.12])
@pytest.mark.parametrize("friction", [0.3, 0.5, 0.8, 1.2])
def test_strut_grips_inside_its_window_and_nowhere_else(friction, stiffness_ratio):
    window = angle_window(friction=friction, stiffness_ratio=stiffness_ratio)
    assert (window is None) == (friction < least_friction(stiffness_ratio=stiffness_ratio))
    for tenths in range(1, 700):
        angle_deg = tenths / 10.0
        grips = grip_friction_needed(strut_angle_deg=angle_deg, stiffness_ratio=stiffness_ratio) <= friction
        assert grips == (window is not None and window.least_deg <= angle_deg <= window.most_deg)


@pytest.mark.parametrize("stiffness_ratio", [0.0154, 0.0265, 0.106, 0.3])
def test_best_angle_is_where_least_friction_is_needed(stiffness_ratio):
    best = minimize_scalar(
        lambda angle: grip_friction_needed(strut_angle_deg=angle, stiffness_ratio=stiffness_ratio),
        bounds=(0.1, 60.0),
        method="bounded",
        options={"xatol": 1e-8},
    )
    assert best_angle_deg(stiffness_ratio=stiffness_ratio) == pytest.approx(best.x, abs=1e-4)
    assert least_friction(stiffness_ratio=stiffness_ratio) == pytest.approx(best.fun, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_needed_friction_is_that_of_two_springs_moved_along_the_drum(seed):
    # With vectors: radius up, drum along x, strut leaning by a; the tip moved by 1 along the drum.
    rng = random.Random(seed)
    lean, along, across = math.radians(rng.uniform(2, 40)), rng.uniform(1, 3), rng.uniform(0.01, 0.3)
    axis, normal = (math.sin(lean), math.cos(lean)), (math.cos(lean), -math.sin(lean))
    force = [along * axis[0] * axis[i] + across * normal[0] * normal[i] for i in (0, 1)]
    needed = grip_friction_needed(strut_angle_deg=math.degrees(lean), stiffness_ratio=across / along)
    assert needed == pytest.approx(force[0] / force[1], rel=1e-12)


@pytest.mark.parametrize(
    ("angle_deg", "two_spring", "onset", "rigid"),
    [(15.0, 0.58836, 0.58100, 0.26795), (25.0, 0.67544, 0.66148, 0.46631)],
)
def test_bonded_arm_pushes_back_as_in_finite_elements(angle_deg, two_spring, onset, rigid):
    # Our own finite-strain finite-element run of a bonded 6 x 3 arm, its patch carried along the drum by 0.1.
    # The rows' two-spring figures use that arm's stiffness from linear finite elements, the patch kept from
    # rocking; kappa 0.07416 is solved from the first row, so it is the second that tests.
    assert grip_friction_needed(strut_angle_deg=angle_deg, stiffness_ratio=0.07416) == pytest.approx(
        two_spring, abs=1e-5
    )
    assert two_spring == pytest.approx(onset, rel=0.04)
    # From the arm's dimensions alone, with nothing from those runs, as near.
    arm = bonded(6.0, 3.0)
    needed = grip_friction_needed(strut_angle_deg=angle_deg, stiffness_ratio=arm.held_ratio)
    assert needed == pytest.approx(onset, rel=0.04)
    # And a tip thought free to rock asks for too little, if not as little as the rigid strut.
    rocking = grip_friction_needed(strut_angle_deg=angle_deg, stiffness_ratio=arm.ratio)
    assert rigid < rocking < needed
    assert grip_friction_needed(strut_angle_deg=angle_deg, stiffness_ratio=0.0) == printed(rigid)


@pytest.mark.parametrize(
    ("angle_deg", "ratios"),
    [(15.0, (0.58100, 0.54784, 0.53429, 0.55332)), (25.0, (0.66148, 0.59041, 0.52321, 0.46091))],
)
def test_grip_never_needs_more_friction_later_than_at_the_onset(angle_deg, ratios):
    # The same runs at 0.1, 0.6, 1.1 and 1.6 mm along the drum: what holds at the onset goes on holding.
    onset = grip_friction_needed(strut_angle_deg=angle_deg, stiffness_ratio=bonded(6.0, 3.0).held_ratio)
    assert max(ratios) <= 1.04 * onset


# The bonded arm


def bonded(reach: float, thickness: float, *, patch: float = 0.8) -> ArmStiffness:
    return arm_stiffness(
        reach_mm=reach, thickness_mm=thickness, depth_mm=1.0, patch_mm=patch, elastic_modulus_mpa=3.60507
    )


@pytest.mark.parametrize(
    ("reach", "thickness", "along", "across", "ratio", "least", "best", "window"),
    [
        (6.0, 2.0, 1.4808, 0.03927, 0.026519, 0.33457, 9.2492, (2.8405, 28.123)),
        (6.0, 4.0, 2.1976, 0.23221, 0.10566, 0.72692, 18.007, None),
        (8.0, 2.0, 1.1321, 0.017466, 0.015428, 0.25232, 7.0805, (1.5688, 29.395)),
    ],
)
def test_arms_of_the_reference_rows(reach, thickness, along, across, ratio, least, best, window):
    arm = bonded(reach, thickness)
    # The row's E is printed to six digits, its stiffness along the arm to five: hence not printed(along).
    assert arm.along_n_per_mm == pytest.approx(along, rel=5e-5)
    assert arm.across_n_per_mm == pytest.approx(across, rel=5e-5)
    assert arm.ratio == printed(ratio)
    assert least_friction(stiffness_ratio=arm.ratio) == printed(least)
    assert best_angle_deg(stiffness_ratio=arm.ratio) == printed(best)
    found = angle_window(friction=0.6, stiffness_ratio=arm.ratio)
    assert (found is None) == (window is None)
    if found is not None and window is not None:
        assert (found.least_deg, found.most_deg) == (printed(window[0]), printed(window[1]))


@pytest.mark.parametrize(
    ("reach", "thickness", "along", "rocking", "clamped", "ratio"),
    [
        (6.0, 2.0, 1.4788, 0.041266, 0.066726, 0.027906),
        (6.0, 4.0, 2.2080, 0.24563, 0.25845, 0.11124),
        (8.0, 2.0, 1.1308, 0.018167, 0.033391, 0.016066),
    ],
)
def test_arms_are_as_stiff_as_in_finite_elements(reach, thickness, along, rocking, clamped, ratio):
    # Our own linear plane-strain finite-element runs.
    arm = bonded(reach, thickness)
    assert arm.along_n_per_mm == pytest.approx(along, rel=0.02)
    assert arm.across_n_per_mm == pytest.approx(rocking, rel=0.06)
    assert arm.across_held_n_per_mm == pytest.approx(clamped, rel=0.06)
    assert arm.ratio == pytest.approx(ratio, rel=0.06)


def test_arm_far_longer_than_thick_is_a_bar_and_a_cantilever():
    # E' A/L and 3 E' I/L^3 with E' = 4 E/3; a patch over the whole tip, held, makes it 12 E' I/L^3.
    plane_mpa, reach, thickness = 4.0, 500.0, 2.0
    arm = arm_stiffness(
        reach_mm=reach, thickness_mm=thickness, depth_mm=3.0, patch_mm=thickness, elastic_modulus_mpa=3.0
    )
    inertia = 3.0 * thickness**3 / 12.0
    assert arm.along_n_per_mm == pytest.approx(plane_mpa * 3.0 * thickness / reach, rel=1e-12)
    assert arm.across_n_per_mm == pytest.approx(3.0 * plane_mpa * inertia / reach**3, rel=1e-4)
    assert arm.across_held_n_per_mm == pytest.approx(12.0 * plane_mpa * inertia / reach**3, rel=1e-4)


def test_small_patch_is_held_by_next_to_nothing():
    arm = bonded(6.0, 3.0, patch=0.03)
    assert arm.across_held_n_per_mm == pytest.approx(arm.across_n_per_mm, rel=1e-3)
    assert arm.held_ratio > arm.ratio


def test_stiffness_ratio_does_not_depend_on_modulus_or_depth():
    other = arm_stiffness(reach_mm=6.0, thickness_mm=2.0, depth_mm=7.0, patch_mm=0.8, elastic_modulus_mpa=1.7)
    assert other.ratio == pytest.approx(bonded(6.0, 2.0).ratio, rel=1e-12)
    assert other.held_ratio == pytest.approx(bonded(6.0, 2.0).held_ratio, rel=1e-12)


def test_patch_wider_than_the_arm_is_refused():
    with pytest.raises(RangeError):
        bonded(6.0, 2.0, patch=2.1)


# Sliding


@pytest.mark.parametrize(
    ("sides", "friction", "free", "drag", "driving"),
    [
        (E1, 0.2, 0.68738, 1.9247, 4.5583),
        (E3, 0.3, 0.42165, 2.0239, 2.2235),
        (E1, 0.6, 0.37171, 3.1224, None),
    ],
)
def test_tips_of_the_reference_rows(sides, friction, free, drag, driving):
    forces = tip_of(*sides, friction)
    assert forces.free_normal_n == printed(free)
    assert forces.drag_torque_nmm == printed(drag)
    assert forces.locks == (driving is None)
    if driving is not None:
        assert forces.driving_normal_n == printed(driving)
        assert forces.driving_torque_nmm == pytest.approx(friction * driving * sides[1], rel=5e-5)


@pytest.mark.parametrize("seed", range(30))
def test_tip_forces_balance_the_moment_about_the_pin(seed):
    # Vector statics: moment about the pin of normal force and friction, against the pressing moment.
    rng = random.Random(seed)
    drum = rng.uniform(10, 20)
    pin = rng.uniform(0.5, 0.8) * drum
    angle_deg = rng.uniform(5, 30)
    reach = reach_for_angle_mm(pin_radius_mm=pin, drum_radius_mm=drum, strut_angle_deg=angle_deg)
    gamma = math.radians(triangle_of(pin, drum, reach).center_angle_deg)
    arm = (drum * math.cos(gamma) - pin, drum * math.sin(gamma))
    inward, sideways = (-math.cos(gamma), -math.sin(gamma)), (-math.sin(gamma), math.cos(gamma))
    friction = rng.uniform(0.1, 0.9) * math.tan(math.radians(angle_deg))
    forces = tip_of(pin, drum, reach, friction)
    # The tip leans to larger angles; a drum that runs that way sweeps it off, one that runs back erects it.
    for normal_n, sense in ((forces.free_normal_n, 1), (forces.driving_normal_n, -1)):
        force = [normal_n * (inward[i] + sense * friction * sideways[i]) for i in (0, 1)]
        moment = arm[0] * force[1] - arm[1] * force[0]
        assert abs(moment) == pytest.approx(MOMENT_NMM, rel=1e-8)


@pytest.mark.parametrize("stiffness_ratio", [0.0, 0.0265, 0.07])
def test_drag_grows_with_friction_and_never_jams(stiffness_ratio):
    drags = [
        tip_forces(
            pressing_force_n=1.0,
            friction=mu / 20,
            strut_angle_deg=15.0,
            stiffness_ratio=stiffness_ratio,
            drum_radius_mm=14.0,
        ).drag_torque_nmm
        for mu in range(60)
    ]
    assert drags[0] == 0.0
    assert drags == sorted(drags)
    # mu N rho/(rho + mu) stays below N0 rho Rd however rough the drum.
    assert drags[-1] < 14.0 * grip_friction_needed(strut_angle_deg=15.0, stiffness_ratio=stiffness_ratio)


@pytest.mark.parametrize("seed", range(20))
def test_pressed_in_arm_answers_as_two_springs_with_friction(seed):
    # The tip pushed in by d while the drum drags it: solve the two springs for the sideways movement at which
    # the tangential force is mu N, and compare N both ways round.
    rng = random.Random(seed)
    lean, friction, pressed = math.radians(rng.uniform(5, 30)), rng.uniform(0.05, 0.4), rng.uniform(0.05, 0.5)
    arm = bonded(6.0, 2.0)
    along, across = arm.along_n_per_mm, arm.across_n_per_mm
    sine, cosine = math.sin(lean), math.cos(lean)
    stiff_xx = along * sine**2 + across * cosine**2
    stiff_xy = (along - across) * sine * cosine
    stiff_yy = along * cosine**2 + across * sine**2
    forces = tip_forces(
        pressing_force_n=interference_force_n(interference_mm=pressed, strut_angle_deg=math.degrees(lean), arm=arm),
        friction=friction,
        strut_angle_deg=math.degrees(lean),
        stiffness_ratio=arm.ratio,
        drum_radius_mm=14.0,
    )
    # Movement x along the drum towards erecting: F_t = k_xx x + k_xy d, N = k_xy x + k_yy d, F_t = +- mu N.
    for normal_n, sense in ((forces.free_normal_n, -1), (forces.driving_normal_n, 1)):
        moved = pressed * (sense * friction * stiff_yy - stiff_xy) / (stiff_xx - sense * friction * stiff_xy)
        expected_n = stiff_xy * moved + stiff_yy * pressed
        if normal_n is None:
            assert stiff_xx <= friction * stiff_xy
        else:
            assert normal_n == pytest.approx(expected_n, rel=1e-9)


# Shoe brakes of the handbooks


def shoe(*, a: float, b: float, c: float, mu: float, force: float = 1.0, radius: float = 1.0):
    return short_shoe(
        force_n=force, force_arm_mm=a, normal_arm_mm=b, friction_arm_mm=c, friction=mu, drum_radius_mm=radius
    )


def test_short_shoe_of_the_handbooks():
    # Juvinall and Marshek's form, F 10 N, a 50, b 20, c 10, r 25 mm, mu 0.4, worked out separately.
    forces = shoe(a=50, b=20, c=10, mu=0.4, force=10, radius=25)
    assert forces.energised_normal_n == pytest.approx(31.25, rel=1e-12)
    assert forces.energised_torque_nmm == pytest.approx(312.5, rel=1e-12)
    assert forces.opposed_normal_n == pytest.approx(20.83, abs=0.005)
    assert forces.opposed_torque_nmm == pytest.approx(208.3, abs=0.05)
    assert forces.lock_friction == 2.0


def test_short_shoe_of_the_published_example_doubles_its_force_and_locks():
    # Norton, Machine Design, 4th ed., Example 17-2 (a public copy of its worksheet): a 6, b 6 in, mu 0.35;
    # N/F = 2 needs c = 8.571, and c = 17.143 locks.
    assert shoe(a=6, b=6, c=8.5714, mu=0.35).energised_normal_n == pytest.approx(2.0, rel=1e-4)
    assert shoe(a=6, b=6, c=17.143, mu=0.35).lock_friction == pytest.approx(0.35, rel=1e-4)
    assert shoe(a=6, b=6, c=17.13, mu=0.35).energised_normal_n is not None
    assert shoe(a=6, b=6, c=17.15, mu=0.35).energised_normal_n is None


@pytest.mark.parametrize("friction", [0.05, 0.2, 0.26, 0.28, 0.6])
def test_strut_free_on_its_pin_is_a_short_shoe(friction):
    # b = L sin a and c = L cos a about the pin.
    angle_rad = math.radians(triangle_of(*E1).strut_angle_deg)
    same = shoe(a=MOMENT_NMM, b=6.4 * math.sin(angle_rad), c=6.4 * math.cos(angle_rad), mu=friction, radius=14.0)
    forces = tip_of(*E1, friction)
    assert forces.free_normal_n == pytest.approx(same.opposed_normal_n, rel=1e-12)
    assert forces.drag_torque_nmm == pytest.approx(same.opposed_torque_nmm, rel=1e-12)
    assert forces.locks == (same.energised_normal_n is None)
    if not forces.locks:
        assert forces.driving_normal_n == pytest.approx(same.energised_normal_n, rel=1e-9)


def test_long_shoe_of_the_handbooks():
    # Khurmi and Gupta, Theory of Machines, ch. 19 (from memory): mu 0.35 over 90 deg acts as 0.3851.
    assert 0.35 * long_shoe_factor(contact_deg=90.0) == pytest.approx(0.3851, abs=5e-5)
    # Shigley, solutions, Prob. 16-8, eq. (16-15): half angle 60 deg, friction acts at 1.170 radii.
    assert long_shoe_factor(contact_deg=120.0) == pytest.approx(1.170, abs=1e-3)
    assert long_shoe_factor(contact_deg=0.1) == pytest.approx(1.0, abs=1e-6)


def test_long_shoe_brake_of_the_handbook():
    # Khurmi and Gupta's single-block example (statement from memory, numbers worked out from it): drum 250,
    # 90 deg, 700 N on 450 mm, block at 200 mm, friction 50 mm off the pivot: 671 N of friction, 83.9 N m.
    friction = 0.35 * long_shoe_factor(contact_deg=90.0)
    forces = shoe(a=450, b=200, c=50, mu=friction, force=700, radius=125)
    assert forces.energised_torque_nmm is not None
    assert forces.energised_torque_nmm / 125 == pytest.approx(671, rel=5e-3)
    assert forces.energised_torque_nmm == pytest.approx(83.9e3, rel=5e-3)


# Rolling over


@pytest.mark.parametrize(
    ("sides", "torque", "at_deg", "over_deg", "estimate"),
    [(E1, 1.4024, 5.2728, 12.080, 1.5082), (E3, 6.4661, 7.4580, 16.388, 7.6850)],
)
def test_roll_over_of_the_reference_rows(sides, torque, at_deg, over_deg, estimate):
    triangle = triangle_of(*sides)
    over = roll_over(triangle=triangle, along_n_per_mm=STRUT_N_PER_MM)
    assert over.torque_nmm == printed(torque)
    assert over.wind_up_deg == pytest.approx(at_deg, abs=1e-3)
    assert triangle.center_angle_deg == printed(over_deg)
    assert roll_over_estimate_nmm(triangle=triangle, along_n_per_mm=STRUT_N_PER_MM) == printed(estimate)


def test_roll_over_can_come_before_the_strut_carries_its_own_drag():
    # The rows' warning: 1.40 N·mm at the peak against 1.92 N·mm of drag the other way.
    over = roll_over(triangle=triangle_of(*E1), along_n_per_mm=STRUT_N_PER_MM)
    assert over.torque_nmm < tip_of(*E1, 0.2).drag_torque_nmm


@pytest.mark.parametrize("seed", range(30))
def test_torque_is_the_slope_of_the_strut_s_energy(seed):
    # T = dU/dphi with U = k (L - l)^2/2 and l drawn from the points: no lever arm, no law of sines.
    rng = random.Random(seed)
    pin = rng.uniform(5, 12)
    drum = pin + rng.uniform(3, 8)
    triangle = triangle_of(pin, drum, (drum - pin) * rng.uniform(1.03, 1.4))

    def energy(phi_deg: float) -> float:
        left = math.radians(triangle.center_angle_deg - phi_deg)
        length = math.hypot(drum * math.cos(left) - pin, drum * math.sin(left))
        return 0.5 * 2.4 * (triangle.reach_mm - length) ** 2

    step_deg = 1e-4
    for share in (0.1, 0.4, 0.8):
        phi = share * triangle.center_angle_deg
        slope = (energy(phi + step_deg) - energy(phi - step_deg)) / math.radians(2 * step_deg)
        torque = wound_up_torque_nmm(triangle=triangle, along_n_per_mm=2.4, wind_up_deg=phi)
        assert torque == pytest.approx(slope, rel=1e-6)
    peak = minimize_scalar(
        lambda phi: -wound_up_torque_nmm(triangle=triangle, along_n_per_mm=2.4, wind_up_deg=phi),
        bounds=(0.0, triangle.center_angle_deg),
        method="bounded",
        options={"xatol": 1e-7},
    )
    over = roll_over(triangle=triangle, along_n_per_mm=2.4)
    assert over.torque_nmm == pytest.approx(-peak.fun, rel=1e-9)
    assert over.wind_up_deg == pytest.approx(peak.x, abs=1e-3)


@pytest.mark.parametrize("sides", [E1, E3])
def test_first_torque_has_the_slope_of_the_handbook_spring(sides):
    # k Rd^2 sin^2 a phi, good for the first instant only: by the peak it reads about twice too high.
    triangle = triangle_of(*sides)
    slope = 2.4 * (sides[1] * math.sin(math.radians(triangle.strut_angle_deg))) ** 2
    first = wound_up_torque_nmm(triangle=triangle, along_n_per_mm=2.4, wind_up_deg=1e-4)
    assert first == pytest.approx(slope * math.radians(1e-4), rel=1e-4)
    over = roll_over(triangle=triangle, along_n_per_mm=2.4)
    assert slope * math.radians(over.wind_up_deg) > 1.7 * over.torque_nmm


def test_estimate_of_roll_over_is_met_as_the_strut_stands_nearly_upright():
    for gamma_deg, tolerance in ((0.5, 1e-3), (2.0, 5e-3)):
        gamma = math.radians(gamma_deg)
        reach = math.sqrt(8.0**2 + 14.0**2 - 2 * 8.0 * 14.0 * math.cos(gamma))
        triangle = triangle_of(8.0, 14.0, reach)
        over = roll_over(triangle=triangle, along_n_per_mm=2.4)
        assert over.torque_nmm == pytest.approx(
            roll_over_estimate_nmm(triangle=triangle, along_n_per_mm=2.4), rel=tolerance
        )
        assert over.wind_up_deg == pytest.approx(gamma_deg * (1 - 1 / math.sqrt(3)), rel=tolerance)


def test_strut_carries_nothing_at_rest_and_upright():
    triangle = triangle_of(*E3)
    for phi in (0.0, triangle.center_angle_deg):
        assert wound_up_torque_nmm(triangle=triangle, along_n_per_mm=2.4, wind_up_deg=phi) == pytest.approx(
            0.0, abs=1e-12
        )
    with pytest.raises(RangeError):
        wound_up_torque_nmm(triangle=triangle, along_n_per_mm=2.4, wind_up_deg=triangle.center_angle_deg + 0.01)


def test_allowed_strain_limits_the_torque_before_roll_over():
    triangle = triangle_of(*E3)
    over = roll_over(triangle=triangle, along_n_per_mm=2.4)
    assert 0.0 < over.strain < triangle.upright_strain
    generous = lock_limit(triangle=triangle, along_n_per_mm=2.4, allowed_strain=0.2)
    assert generous == over
    assert generous.governed_by == "roll-over"
    strict = lock_limit(triangle=triangle, along_n_per_mm=2.4, allowed_strain=0.05)
    assert strict.governed_by == "strain"
    assert strict.torque_nmm < over.torque_nmm
    # 7 mm shortened by 5 % is 6.65: the drum's angle by the law of cosines, the torque by thrust times lever.
    left = math.acos((10**2 + 16**2 - 6.65**2) / (2 * 10 * 16))
    assert strict.wind_up_deg == pytest.approx(triangle.center_angle_deg - math.degrees(left), rel=1e-9)
    assert strict.torque_nmm == pytest.approx(2.4 * 0.35 * 10 * 16 * math.sin(left) / 6.65, rel=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.01, 0.5, 0.99, 1.0])
def test_wind_up_is_found_back_from_the_torque(share):
    triangle = triangle_of(*E3)
    over = roll_over(triangle=triangle, along_n_per_mm=2.4)
    found = wind_up_deg(triangle=triangle, along_n_per_mm=2.4, torque_nmm=share * over.torque_nmm)
    assert 0.0 <= found <= over.wind_up_deg
    carried = wound_up_torque_nmm(triangle=triangle, along_n_per_mm=2.4, wind_up_deg=found)
    assert carried == pytest.approx(share * over.torque_nmm, rel=1e-9, abs=1e-12)


def test_torque_beyond_roll_over_is_refused():
    triangle = triangle_of(*E1)
    with pytest.raises(RangeError) as caught:
        wind_up_deg(triangle=triangle, along_n_per_mm=STRUT_N_PER_MM, torque_nmm=1.41)
    assert caught.value.name == "torque_nmm"
