"""Tension, grip and creep of a strung belt against handbooks, closed forms, and an integration of our own.

The reference rows come from an independent computation; they are printed to five digits. Slip is compared
with a neo-Hookean belt whose mass is conserved, with sticking and creeping arcs and nothing linearised,
solved in the rows' computation and once more here.
"""

import math
import random
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from moldgen.errors import RangeError
from moldgen.mechanics.belt_path import (
    BeltError,
    BottomsError,
    FlatFloor,
    PitchCircle,
    Pulley,
    RectangularSection,
    RidesOutError,
    RoundSection,
    Sense,
    SquareGroove,
    VeeGroove,
    belt_path,
    pitch_radius_mm,
    routed,
    sharp_vee,
)
from moldgen.mechanics.belt_tension import (
    BeltDrive,
    BeltSlipsError,
    StrungBelt,
    capstan_ratio,
    creep,
    first_slip,
    friction_needed,
    pulley_speeds_rpm,
    shaft_loads_n,
    slip_alone,
    span_tensions_n,
    speed_sensitivity,
    strand_tension_n,
    stretch_at_tension,
    strung_belt,
    wedge_factor,
)


def printed(value: float) -> object:
    """The value to within half a unit of its fifth digit."""
    return pytest.approx(value, abs=0.5001 * 10.0 ** (math.floor(math.log10(abs(value))) - 4))


@dataclass(frozen=True)
class Row:
    """A square belt on flat floors, pulley 0 driving pulley 1; the third, if any, idles on the tight side."""

    centers: tuple[tuple[float, float], ...]
    seats: tuple[float, ...]
    senses: tuple[int, ...]
    side: float
    free_length: float
    shear_modulus: float
    friction: float

    def strung(self) -> StrungBelt:
        pulleys = tuple(
            Pulley(x, y, Sense(sense), FlatFloor(seat))
            for (x, y), seat, sense in zip(self.centers, self.seats, self.senses, strict=True)
        )
        return strung_belt(
            pulleys=pulleys,
            free_section=RectangularSection(self.side, self.side),
            free_length_mm=self.free_length,
        )

    def rest_tension(self) -> float:
        return strand_tension_n(
            shear_modulus_mpa=self.shear_modulus,
            free_area_mm2=self.side**2,
            stretch_ratio=self.strung().stretch_ratio,
            relaxation=1.0,
        )

    def drive(self) -> BeltDrive:
        frictions = (self.friction,) * len(self.seats)
        return BeltDrive(self.strung().path, self.rest_tension(), frictions, driver=0)


D1 = Row(((0, 0), (110, 0)), (6, 45), (1, 1), 1.6, 375, 1.0, 0.6)
D4 = Row(((0, 0), (100, 0), (50, 18)), (9, 24, 5), (1, 1, -1), 2.0, 290, 0.8, 0.6)
D5 = Row(((0, 0), (40, 0), (20, 120)), (8, 12, 6), (1, 1, 1), 2.0, 310, 0.8, 0.6)
ROWS = pytest.mark.parametrize("row", [pytest.param(D1, id="D1"), pytest.param(D4, id="D4"), pytest.param(D5, id="D5")])


# At rest


@pytest.mark.parametrize(
    ("row", "length", "stretch", "side", "radii", "wraps", "tension", "load0", "load1"),
    [
        (D1, 399.07, 1.0642, 1.5510, (6.7755, 45.775), (138.47, 221.53), 0.46385,
         (0.86744, 0), (-0.86744, 0)),
        (
            D4, 312.63, 1.0780, 1.9262, (9.9631, 24.963, 5.9631), (169.01, 204.42, 13.430), 0.69627,
            (1.3841, -0.075776), (-1.3584, -0.085021),
        ),
        (
            D5, 341.25, 1.1008, 1.9062, (8.9531, 12.953, 6.9531), (94.665, 108.03, 157.31), 0.88184,
            (1.0367, 0.77915), (-1.0651, 0.94981),
        ),
    ],
)  # fmt: skip
def test_belts_at_rest_of_the_reference_rows(row, length, stretch, side, radii, wraps, tension, load0, load1):
    belt = row.strung()
    assert belt.path.length_mm == printed(length)
    assert belt.stretch_ratio == printed(stretch)
    assert belt.fitted_section.height_mm == printed(side)
    assert [circle.radius_mm for circle in belt.path.circles] == [printed(r) for r in radii]
    assert list(belt.path.wraps_deg) == [printed(wrap) for wrap in wraps]
    assert row.rest_tension() == printed(tension)
    loads = shaft_loads_n(path=belt.path, span_tensions_n=(row.rest_tension(),) * len(radii))
    for load, expected in ((loads[0], load0), (loads[1], load1)):
        assert load == pytest.approx(expected, rel=1e-4, abs=1e-12)


@pytest.mark.parametrize("stretch_ratio", [1.0001, 1.001, 1.01])
def test_small_stretch_pulls_with_modulus_times_area_times_strain(stretch_ratio):
    # Hooke with E = 3 G; the error of an incompressible solid is of the order of the strain.
    elastic_modulus, area, strain = 2.4, 3.24, stretch_ratio - 1.0
    pull = strand_tension_n(
        shear_modulus_mpa=elastic_modulus / 3, free_area_mm2=area, stretch_ratio=stretch_ratio, relaxation=1.0
    )
    assert pull == pytest.approx(elastic_modulus * area * strain, rel=1.5 * strain)


@pytest.mark.parametrize(("stretch_ratio", "over_modulus"), [(1.05, 0.04766), (1.10, 0.09118)])
def test_tension_of_a_neo_hookean_strand_over_its_modulus(stretch_ratio, over_modulus):
    # Treloar, Physics of Rubber Elasticity (from memory): (L - 1/L^2)/3, worked out to four digits.
    pull = strand_tension_n(shear_modulus_mpa=1 / 3, free_area_mm2=1.0, stretch_ratio=stretch_ratio, relaxation=1.0)
    assert pull == pytest.approx(over_modulus, abs=5e-6)


def test_relaxation_takes_its_share_of_the_tension_and_not_of_the_stretch():
    fresh, aged = (
        strand_tension_n(shear_modulus_mpa=0.8, free_area_mm2=4.0, stretch_ratio=1.08, relaxation=q) for q in (1.0, 0.7)
    )
    assert aged == pytest.approx(0.7 * fresh, rel=1e-12)
    back = stretch_at_tension(shear_modulus_mpa=0.8, free_area_mm2=4.0, tension_n=aged, relaxation=0.7)
    assert back == pytest.approx(1.08, rel=1e-11)


@pytest.mark.parametrize("stretch_ratio", [1.0, 1.003, 1.06, 1.2, 1.5])
def test_stretch_is_found_back_from_tension(stretch_ratio):
    pull = strand_tension_n(shear_modulus_mpa=0.5, free_area_mm2=2.0, stretch_ratio=stretch_ratio, relaxation=0.8)
    back = stretch_at_tension(shear_modulus_mpa=0.5, free_area_mm2=2.0, tension_n=pull, relaxation=0.8)
    assert back == pytest.approx(stretch_ratio, rel=1e-11)


@pytest.mark.parametrize("stretch_ratio", [0.99, 1.51, math.nan])
def test_tension_is_refused_outside_the_range_of_its_formula(stretch_ratio):
    with pytest.raises(RangeError):
        strand_tension_n(shear_modulus_mpa=0.5, free_area_mm2=2.0, stretch_ratio=stretch_ratio, relaxation=1.0)


def pair(first: float, second: float, *, apart: float = 120.0) -> tuple[Pulley, ...]:
    return (
        Pulley(0.0, 0.0, Sense.CCW, FlatFloor(first)),
        Pulley(apart, 0.0, Sense.CCW, FlatFloor(second)),
    )


@pytest.mark.parametrize("stretch_ratio", [1.0, 1.03, 1.08, 1.3])
@pytest.mark.parametrize("free_section", [RoundSection(2.6), RectangularSection(1.0, 4.0)])
def test_belt_cut_for_a_stretch_is_strung_at_that_stretch(stretch_ratio, free_section):
    path = routed(pulleys=pair(8.0, 30.0), section=free_section.stretched(stretch_ratio))
    belt = strung_belt(
        pulleys=pair(8.0, 30.0),
        free_section=free_section,
        free_length_mm=path.length_mm / stretch_ratio - 1e-9,
    )
    assert belt.stretch_ratio == pytest.approx(stretch_ratio, rel=1e-9)
    assert belt.path.length_mm == pytest.approx(path.length_mm, rel=1e-9)


@pytest.mark.parametrize("free_length_mm", [500.0, 200.0])
def test_slack_or_overstretched_belt_is_refused(free_length_mm):
    with pytest.raises(RangeError) as caught:
        strung_belt(pulleys=pair(8.0, 30.0), free_section=RoundSection(2.6), free_length_mm=free_length_mm)
    assert caught.value.name == "stretch_ratio"


def test_stretch_decides_whether_a_belt_fits_its_groove():
    # Free it is 2.04 wide, at 8 % stretch 1.963: it fits a groove of 2.0, and not one of 1.95.
    section = RectangularSection(2.04, 2.04)
    length_mm = routed(pulleys=pair(8.0, 30.0), section=section.stretched(1.08)).length_mm / 1.08
    for width_mm, fits in ((2.0, True), (1.95, False)):
        pulleys = (pair(8.0, 30.0)[0], Pulley(120.0, 0.0, Sense.CCW, SquareGroove(30.0, width_mm)))
        if fits:
            belt = strung_belt(pulleys=pulleys, free_section=section, free_length_mm=length_mm)
            assert belt.stretch_ratio == pytest.approx(1.08, rel=1e-9)
        else:
            with pytest.raises(RidesOutError) as caught:
                strung_belt(pulleys=pulleys, free_section=section, free_length_mm=length_mm)
            assert caught.value.pulley == 1


def test_cord_that_stretch_has_thinned_bottoms_in_its_vee():
    # 60 deg: it bottoms below d/2 of height over the apex; 3.0 free lies 1.5 high, 2.887 at 8 % lies 1.443.
    rim_mm = 10.0 + 4.0 / math.tan(math.radians(30))
    vee = VeeGroove(rim_mm, 8.0, 60.0, root_radius_mm=11.47)
    pulleys = (Pulley(0.0, 0.0, Sense.CCW, vee), Pulley(120.0, 0.0, Sense.CCW, FlatFloor(30.0)))
    slackest = routed(pulleys=pulleys, section=RoundSection(3.0)).length_mm
    strung_belt(pulleys=pulleys, free_section=RoundSection(3.0), free_length_mm=slackest / 1.01)
    with pytest.raises(BottomsError):
        strung_belt(pulleys=pulleys, free_section=RoundSection(3.0), free_length_mm=slackest / 1.08)


def test_belt_that_cannot_be_strung_is_refused_by_its_path():
    with pytest.raises(BeltError):
        strung_belt(pulleys=pair(8.0, 30.0, apart=20.0), free_section=RoundSection(2.6), free_length_mm=200.0)


@pytest.mark.parametrize("seed", range(20))
def test_shaft_loads_and_torques_of_a_belt_are_in_balance(seed):
    # The belt has no other support: the forces on the shafts, and their moments and torques, add up to 0.
    rng = random.Random(seed)
    path = belt_path(
        circles=(
            PitchCircle(0, 0, rng.uniform(4, 12), Sense.CCW),
            PitchCircle(60, -5, rng.uniform(4, 8), Sense.CW),
            PitchCircle(120, 0, rng.uniform(10, 20), Sense.CCW),
            PitchCircle(60, 60, rng.uniform(4, 12), Sense.CCW),
        )
    )
    tensions = tuple(rng.uniform(0.1, 2.0) for _ in range(4))
    loads = shaft_loads_n(path=path, span_tensions_n=tensions)
    assert [sum(axis) for axis in zip(*loads, strict=True)] == pytest.approx([0.0, 0.0], abs=1e-12)
    moments = [c.x_mm * load[1] - c.y_mm * load[0] for c, load in zip(path.circles, loads, strict=True)]
    torques = [
        circle.sense * circle.radius_mm * (tensions[k] - tensions[k - 1]) for k, circle in enumerate(path.circles)
    ]
    assert sum(moments) + sum(torques) == pytest.approx(0.0, abs=1e-10)


# Grip: handbooks


def test_rope_round_a_post_as_in_statics_texts():
    # Belt and rope friction in teaching texts: mu 0.25 and 2.5 turns hold 2000 N with 39.4 N; mu 0.3 and two
    # turns give 43.38; mu 0.2 over half a turn leaves 266.74 N of 500 N.
    assert capstan_ratio(friction=0.25, wrap_deg=900.0) == pytest.approx(50.75, abs=0.005)
    assert 2000.0 / capstan_ratio(friction=0.25, wrap_deg=900.0) == pytest.approx(39.4, abs=0.05)
    assert capstan_ratio(friction=0.3, wrap_deg=720.0) == pytest.approx(43.38, abs=0.005)
    assert 500.0 / capstan_ratio(friction=0.2, wrap_deg=180.0) == pytest.approx(266.74, abs=0.005)


def test_flat_belt_of_the_handbook_needs_part_of_its_friction():
    # Shigley, Ex. 17-1: theta 3.0165 rad, f 0.8: exp(f theta) = 11.17; F1a 420, F2 172.4, Fc 25.6 lbf give
    # f' = 0.328.
    wrap_deg = belt_path(circles=(PitchCircle(0, 0, 3, Sense.CCW), PitchCircle(96, 0, 9, Sense.CCW))).wraps_deg[0]
    assert capstan_ratio(friction=0.8, wrap_deg=wrap_deg) == pytest.approx(11.17, abs=0.005)
    needed = friction_needed(tight_n=420 - 25.6, slack_n=172.4 - 25.6, wrap_deg=wrap_deg)
    assert needed == pytest.approx(0.328, abs=5e-4)


def test_second_flat_belt_of_the_handbook_uses_all_its_friction():
    # Shigley 10e, solutions, Prob. 17-1: theta 3.037, f 0.80: exp(f theta) = 11.35; pull 664 and Fc 73.4 lbf
    # give F1 801.5 and F2 138.
    wrap_deg = math.degrees(3.037)
    ratio = capstan_ratio(friction=0.80, wrap_deg=wrap_deg)
    assert ratio == pytest.approx(11.35, abs=0.01)
    assert 73.4 + 664 * ratio / (ratio - 1) == pytest.approx(801.5, abs=0.5)
    needed = friction_needed(tight_n=801.5 - 73.4, slack_n=801.5 - 664 - 73.4, wrap_deg=wrap_deg)
    assert needed == pytest.approx(0.80, abs=0.005)


def test_third_flat_belt_of_the_handbook_carries_its_load():
    # Shigley 10e, solutions, Prob. 17-2: d 2, D 4 in, torque 90.0 lbf in on the small pulley, F1a 147, F2 57,
    # Fc 0.913 lbf. The book takes F1 + F2 = 2 Fi, true far apart only (at its 108 in F1 is 0.5 lbf more), so
    # the shafts are moved apart here. Any consistent units do: lbf and in.
    path = belt_path(circles=(PitchCircle(0, 0, 1, Sense.CCW), PitchCircle(108e3, 0, 2, Sense.CCW)))
    at_rest = (147 + 57) / 2 - 0.913
    drive = BeltDrive(path, at_rest, (0.8, 0.8), driver=0)
    slack, tight = span_tensions_n(drive=drive, load_torques_nmm=(0.0, 180.0))
    assert tight - slack == pytest.approx(90.0, rel=1e-12)
    assert tight + 0.913 == pytest.approx(147, rel=2e-3)
    assert slack + 0.913 == pytest.approx(57, rel=2e-3)


def test_vee_presses_by_one_over_the_sine_of_its_half_angle():
    # Vee-belt homework solution of a university: mu 0.2, half angle 18 deg: 0.647.
    vee = sharp_vee(root_radius_mm=20.0, width_mm=8.0, angle_deg=36.0)
    assert 0.2 * wedge_factor(groove=vee) == pytest.approx(0.64721, abs=5e-6)
    assert wedge_factor(groove=SquareGroove(20.0, 8.0)) == 1.0


@pytest.mark.parametrize(("friction", "wrap_deg"), [(0.1, 30.0), (0.6, 180.0), (2.0, 300.0)])
def test_friction_needed_is_the_capstan_ratio_backwards(friction, wrap_deg):
    ratio = capstan_ratio(friction=friction, wrap_deg=wrap_deg)
    assert friction_needed(tight_n=3.0 * ratio, slack_n=3.0, wrap_deg=wrap_deg) == pytest.approx(friction, rel=1e-12)


# Slip


def stretch_of(force_over_modulus: float) -> float:
    """L of L - 1/L^2 = f: the positive root of L^3 - f L^2 - 1 = 0."""
    roots = np.roots([1.0, -force_over_modulus, 0.0, -1.0])
    return float(max(r.real for r in roots if abs(r.imag) < 1e-9))


def integrated_slip(
    drive: BeltDrive, *, driven: int, modulus_n: float, free_length: float
) -> tuple[float, float, float]:
    """Tight and slack tension and driver's torque at slip, neo-Hookean, by conserving the belt's free length.

    Free length in every piece of path is its length over the stretch ratio there; tension grows as
    exp(mu theta) over the creeping arcs, which follow the sticking ones in the run. `modulus_n` is G A0.
    """
    path, count = drive.path, len(drive.path.circles)
    grip = {k: drive.frictions[k] * path.wraps_rad[k] for k in (drive.driver, driven)}
    x = min(grip.values())
    tight_spans = {(driven + i) % count for i in range((drive.driver - driven) % count)}

    def free_length_at(slack: float) -> float:
        tight = slack * math.exp(x)
        total = 0.0
        for k, span in enumerate(path.spans):
            leaving = tight if k in tight_spans else slack
            arriving = tight if (k - 1) % count in tight_spans else slack
            total += span.length_mm / stretch_of(leaving / modulus_n)
            creeping = x / drive.frictions[k] if k in grip else 0.0
            sticking = path.wraps_rad[k] - creeping
            total += path.circles[k].radius_mm * sticking / stretch_of(arriving / modulus_n)
            if creeping:
                part, _ = quad(
                    lambda angle, mu=drive.frictions[k]: 1.0 / stretch_of(slack * math.exp(mu * angle) / modulus_n),
                    0.0,
                    creeping,
                )
                total += path.circles[k].radius_mm * part
        return total

    slack = brentq(lambda f: free_length_at(f) - free_length, 1e-4 * modulus_n, drive.rest_tension_n, xtol=1e-13)
    tight = slack * math.exp(x)
    return tight, slack, (tight - slack) * path.circles[drive.driver].radius_mm


@pytest.mark.parametrize(
    ("row", "simple", "weighted", "exact", "tight", "slack", "over_two_f0"),
    [
        (D1, 3.8972, 4.5805, 4.5890, 0.88484, 0.20755, 1.1775),
        (D4, 9.8352, 11.034, 11.070, 1.3392, 0.22814, 1.1256),
        (D5, 7.2431, 5.6278, 5.6310, 1.0000, 0.37110, 0.77744),
    ],
)
def test_slip_torques_of_the_reference_rows(row, simple, weighted, exact, tight, slack, over_two_f0):
    drive = row.drive()
    slip = slip_alone(drive=drive, pulley=1)
    assert slip.pulley == 0
    assert slip.torques_nmm[0] == printed(weighted)
    assert slip.torques_nmm[0] == pytest.approx(exact, rel=0.02)
    assert max(slip.span_tensions_n) == pytest.approx(tight, rel=0.02)
    assert min(slip.span_tensions_n) == pytest.approx(slack, rel=0.02)
    # The textbook's F1 + F2 = 2 F0 is what makes the simple form wrong, so it must not come back.
    assert 2 * row.rest_tension() * math.tanh(0.6 * drive.path.wraps_rad[0] / 2) * drive.path.circles[
        0
    ].radius_mm == printed(simple)
    total = max(slip.span_tensions_n) + min(slip.span_tensions_n)
    assert total / (2 * row.rest_tension()) == pytest.approx(over_two_f0, rel=0.02)
    # And the rows' own exact figures, integrated once more by the code above.
    integrated = integrated_slip(
        drive, driven=1, modulus_n=row.shear_modulus * row.side**2, free_length=row.free_length
    )
    assert integrated == pytest.approx((tight, slack, exact), rel=1e-4)


@pytest.mark.parametrize("seed", range(30))
def test_slip_torque_is_that_of_an_integrated_belt_or_up_to_one_per_cent_less(seed):
    rng = random.Random(seed)
    row = Row(
        ((0, 0), (rng.uniform(50, 150), rng.uniform(-20, 20)), (rng.uniform(0, 60), rng.uniform(70, 120))),
        (rng.uniform(4, 15), rng.uniform(8, 24), rng.uniform(4, 15)),
        (1, 1, 1),
        rng.uniform(1.0, 3.0),
        1.0,
        rng.uniform(0.6, 1.5),
        rng.uniform(0.2, 0.8),
    )
    pulleys = tuple(
        Pulley(x, y, Sense.CCW, FlatFloor(seat)) for (x, y), seat in zip(row.centers, row.seats, strict=True)
    )
    section = RectangularSection(row.side, row.side)
    stretch = rng.uniform(1.03, 1.10)
    length = routed(pulleys=pulleys, section=section.stretched(stretch)).length_mm
    row = Row(row.centers, row.seats, row.senses, row.side, length / stretch, row.shear_modulus, row.friction)
    for driven in (1, 2):
        slip = slip_alone(drive=row.drive(), pulley=driven)
        _, _, exact = integrated_slip(
            row.drive(), driven=driven, modulus_n=row.shear_modulus * row.side**2, free_length=row.free_length
        )
        assert 0.99 * exact < slip.torques_nmm[0] < exact


def far_pair(friction: float) -> BeltDrive:
    path = belt_path(circles=(PitchCircle(0, 0, 10, Sense.CCW), PitchCircle(1e6, 0, 10, Sense.CCW)))
    return BeltDrive(path, 1.5, (friction, friction), driver=0)


@pytest.mark.parametrize("friction", [1e-6, 0.1, 0.5, 1.0, 5.0])
def test_equal_pulleys_far_apart_slip_as_the_textbook_says(friction):
    # Shigley, eqs. (17-9), (17-10): 2 T0 r (exp(mu th) - 1)/(exp(mu th) + 1).
    slip = slip_alone(drive=far_pair(friction), pulley=1)
    assert slip.torques_nmm[1] == pytest.approx(2 * 1.5 * 10 * math.tanh(friction * math.pi / 2), rel=1e-3)
    assert sum(slip.span_tensions_n) == pytest.approx(3.0, rel=1e-3)


def test_slip_torque_goes_from_nothing_to_twice_the_rest_tension_times_the_radius():
    assert slip_alone(drive=far_pair(0.0), pulley=1).torques_nmm == (0.0, 0.0)
    assert slip_alone(drive=far_pair(15.0), pulley=1).torques_nmm[1] == pytest.approx(30.0, rel=1e-3)


@ROWS
def test_slip_torque_rises_with_friction_and_with_tension(row):
    drive = row.drive()
    torques = []
    for friction in (0.0, 0.1, 0.3, 0.6, 1.0, 2.0):
        gripping = BeltDrive(drive.path, drive.rest_tension_n, (friction,) * len(row.seats), driver=0)
        torques.append(slip_alone(drive=gripping, pulley=1).torques_nmm[1])
    assert torques == sorted(set(torques))
    doubled = BeltDrive(drive.path, 2 * drive.rest_tension_n, drive.frictions, driver=0)
    assert slip_alone(drive=doubled, pulley=1).torques_nmm[1] == pytest.approx(
        2 * slip_alone(drive=drive, pulley=1).torques_nmm[1], rel=1e-12
    )


def test_pulley_with_the_least_friction_times_wrap_slips_first():
    path = D1.strung().path
    # The driver is wrapped by 138.5 deg, the driven pulley by 221.5: the ratio of frictions must pass 1.6.
    for frictions, slipping in (((0.6, 0.6), 0), ((0.6, 0.38), 0), ((0.6, 0.37), 1), ((2.0, 0.6), 1)):
        slip = slip_alone(drive=BeltDrive(path, 0.46, frictions, driver=0), pulley=1)
        assert slip.pulley == slipping


def averaged_tension(drive: BeltDrive, tensions: tuple[float, ...], steps: int = 4000) -> float:
    """Mean tension, walked along the belt: it sticks, then changes at mu F until it fits the exit."""
    total = 0.0
    for k, circle in enumerate(drive.path.circles):
        arriving, leaving, mu, wrap = (
            tensions[k - 1],
            tensions[k],
            drive.frictions[k],
            drive.path.wraps_rad[k],
        )
        angles = (np.arange(steps) + 0.5) * wrap / steps
        if leaving >= arriving:
            profile = np.maximum(arriving, leaving * np.exp(-mu * (wrap - angles)))
        else:
            profile = np.minimum(arriving, leaving * np.exp(mu * (wrap - angles)))
        total += float(np.mean(profile)) * wrap * circle.radius_mm
        total += drive.path.spans[k].length_mm * tensions[k]
    return total / drive.path.length_mm


def four_pulleys(frictions: tuple[float, ...]) -> BeltDrive:
    path = belt_path(
        circles=(
            PitchCircle(0, 0, 8, Sense.CCW),
            PitchCircle(60, -5, 6, Sense.CW),
            PitchCircle(120, 0, 20, Sense.CCW),
            PitchCircle(60, 60, 12, Sense.CCW),
        )
    )
    return BeltDrive(path, 0.8, frictions, driver=0)


@pytest.mark.parametrize("loads", [(0, 0, 3, 2), (0, 0.1, 1, 1), (0, 1, 0, 0), (0, 0, 0.2, 4), (0, 0, 5, 0)])
@pytest.mark.parametrize("frictions", [(0.6,) * 4, (1.8, 0.3, 0.5, 0.4)])
def test_several_loads_slip_where_a_pulley_reaches_its_capstan_ratio_and_no_other_is_past_it(loads, frictions):
    drive = four_pulleys(frictions)
    slip = first_slip(drive=drive, load_torques_nmm=loads)
    tensions = slip.span_tensions_n
    used = [
        abs(math.log(tensions[k] / tensions[k - 1])) / (drive.frictions[k] * drive.path.wraps_rad[k]) for k in range(4)
    ]
    assert used[slip.pulley] == pytest.approx(1.0, rel=1e-9)
    assert max(used) <= 1.0 + 1e-9
    assert averaged_tension(drive, tensions) == pytest.approx(0.8, rel=1e-6)
    for k in (1, 2, 3):
        assert slip.torques_nmm[k] == pytest.approx(slip.load_factor * loads[k], rel=1e-12)
        torque = (tensions[k] - tensions[k - 1]) * drive.path.circles[k].radius_mm
        assert torque == pytest.approx(slip.torques_nmm[k], abs=1e-12)
    assert slip.torques_nmm[0] == pytest.approx((tensions[3] - tensions[0]) * 8, rel=1e-12)


@pytest.mark.parametrize("share", [0.05, 0.5, 0.999, 1.0 - 1e-13])
def test_loads_below_slip_leave_the_mean_tension_as_it_was(share):
    drive = four_pulleys((0.6,) * 4)
    factor = first_slip(drive=drive, load_torques_nmm=(0, 0, 3, 2)).load_factor
    loads = (0.0, 0.0, 3 * share * factor, 2 * share * factor)
    tensions = span_tensions_n(drive=drive, load_torques_nmm=loads)
    assert averaged_tension(drive, tensions) == pytest.approx(0.8, rel=1e-6)
    assert (tensions[2] - tensions[1]) * 20 == pytest.approx(loads[2], rel=1e-9)
    assert (tensions[3] - tensions[2]) * 12 == pytest.approx(loads[3], rel=1e-9)
    assert tensions[0] == tensions[1]


@pytest.mark.parametrize("seed", range(60))
def test_load_at_the_very_edge_of_slip_is_carried_or_refused_as_slip(seed):
    # Rounding decides on which side of the edge such a load falls; there is no third answer.
    rng = random.Random(seed)
    small = PitchCircle(0, 0, rng.uniform(4, 12), Sense.CCW)
    large = PitchCircle(100, 0, rng.uniform(4, 40), Sense.CCW)
    frictions = (rng.uniform(0.1, 1.0), rng.uniform(0.1, 1.0))
    drive = BeltDrive(belt_path(circles=(small, large)), rng.uniform(0.2, 2.0), frictions, driver=0)
    slip = slip_alone(drive=drive, pulley=1)
    for below in (0.0, 2.0**-53, 2.0**-52):
        try:
            tensions = span_tensions_n(drive=drive, load_torques_nmm=(0.0, slip.torques_nmm[1] * (1 - below)))
        except BeltSlipsError as refusal:
            assert refusal.load_factor == pytest.approx(1.0, rel=1e-15)
        else:
            assert tensions == pytest.approx(slip.span_tensions_n, rel=1e-9)


def test_idle_belt_has_one_tension():
    assert span_tensions_n(drive=four_pulleys((0.6,) * 4), load_torques_nmm=(0, 0, 0, 0)) == (0.8,) * 4


def test_load_beyond_the_grip_is_refused_with_the_pulley_that_slips():
    drive = D1.drive()
    limit = slip_alone(drive=drive, pulley=1).torques_nmm[1]
    with pytest.raises(BeltSlipsError) as caught:
        span_tensions_n(drive=drive, load_torques_nmm=(0.0, 1.25 * limit))
    assert caught.value.pulley == 0
    assert caught.value.load_factor == pytest.approx(0.8, rel=1e-12)


@pytest.mark.parametrize("loads", [(0.0, 0.0), (1.0, 1.0), (0.0, -1.0), (0.0, 1.0, 1.0), (0.0, math.nan)])
def test_loads_that_make_no_sense_are_refused(loads):
    with pytest.raises(RangeError):
        first_slip(drive=D1.drive(), load_torques_nmm=loads)


def test_pulley_that_pushes_the_belt_on_is_refused_as_a_load():
    with pytest.raises(RangeError) as caught:
        first_slip(drive=four_pulleys((0.6,) * 4), load_torques_nmm=(0.0, 0.0, -1.0, 3.0))
    assert caught.value.name == "load_torques_nmm[2]"


# Speed


@pytest.mark.parametrize(
    ("row", "driver_torque", "ratio", "creep_there"),
    [(D1, 1.1691, 0.14802, 0.023619), (D4, 2.9506, 0.39911, 0.032601), (D5, 2.1729, 0.69119, 0.027003)],
)
def test_speeds_and_creep_of_the_reference_rows(row, driver_torque, ratio, creep_there):
    drive = row.drive()
    radii = [circle.radius_mm for circle in drive.path.circles]
    rubber = {"shear_modulus_mpa": row.shear_modulus, "free_area_mm2": row.side**2, "relaxation": 1.0}
    count = len(radii)
    idle = pulley_speeds_rpm(
        drive=drive, span_tensions_n=(drive.rest_tension_n,) * count, driver_speed_rpm=1000.0, **rubber
    )
    assert idle[1] / idle[0] == printed(ratio)
    loads = tuple(driver_torque * radii[1] / radii[0] if k == 1 else 0.0 for k in range(count))
    tensions = span_tensions_n(drive=drive, load_torques_nmm=loads)
    loaded = pulley_speeds_rpm(drive=drive, span_tensions_n=tensions, driver_speed_rpm=1000.0, **rubber)
    assert loaded[0] == pytest.approx(1000.0, rel=1e-12)
    assert 1.0 - loaded[1] / idle[1] == pytest.approx(creep_there, rel=1e-4)
    # An idler on the tight side turns with the tight strand, as the driver does.
    assert loaded[2:] == pytest.approx(idle[2:], rel=1e-12)


def test_speed_ratio_of_an_idle_flat_belt_takes_its_thickness_in():
    # "Slip of belt" in machine-theory texts: n2/n1 = (d1 + t)/(d2 + t); 12, 90 and 1.5 mm fitted: 13.5/91.5.
    path = routed(pulleys=pair(6.0, 45.0), section=RectangularSection(1.5, 4.0))
    speeds = pulley_speeds_rpm(
        drive=BeltDrive(path, 1.0, (0.5, 0.5), driver=0),
        span_tensions_n=(1.0, 1.0),
        driver_speed_rpm=1350.0,
        shear_modulus_mpa=0.8,
        free_area_mm2=6.0,
        relaxation=1.0,
    )
    assert speeds == pytest.approx((1350.0, 1350.0 * 13.5 / 91.5), rel=1e-12)


def test_small_creep_is_the_difference_of_tensions_over_the_stiffness():
    # Machine-theory texts: (T1 - T2)/(E A), here with E = 3 G at very small stretch.
    small = creep(tight_n=0.0105, slack_n=0.0095, shear_modulus_mpa=1.0, free_area_mm2=4.0, relaxation=1.0)
    assert small == pytest.approx(0.001 / (3 * 4.0), rel=5e-3)
    # And about a stretch L, dF/dL = G A0 (1 + 2/L^3); 1 - L2/L1 is (F1 - F2)/(L dF/dL).
    middle = strand_tension_n(shear_modulus_mpa=1.0, free_area_mm2=4.0, stretch_ratio=1.1, relaxation=0.7)
    relaxed = creep(
        tight_n=middle + 5e-5, slack_n=middle - 5e-5, shear_modulus_mpa=1.0, free_area_mm2=4.0, relaxation=0.7
    )
    assert relaxed == pytest.approx(1e-4 / (0.7 * 4.0 * (1 + 2 / 1.1**3)) / 1.1, rel=1e-4)


@ROWS
def test_driven_pulley_gets_less_power_than_the_driver_gives(row):
    drive = row.drive()
    limit = slip_alone(drive=drive, pulley=1).torques_nmm[1]
    for share in (0.1, 0.4, 0.8):
        loads = tuple(share * limit if k == 1 else 0.0 for k in range(len(row.seats)))
        tensions = span_tensions_n(drive=drive, load_torques_nmm=loads)
        speeds = pulley_speeds_rpm(
            drive=drive, span_tensions_n=tensions, driver_speed_rpm=100.0,
            shear_modulus_mpa=row.shear_modulus, free_area_mm2=row.side**2, relaxation=1.0,
        )  # fmt: skip
        given = (max(tensions) - min(tensions)) * drive.path.circles[0].radius_mm * speeds[0]
        assert 0.85 < loads[1] * speeds[1] / given < 1.0


@pytest.mark.parametrize(
    ("row", "thickness", "driver", "driven"),
    [
        (D1, 0.060947, 0.073795, -0.010923),
        (D4, 0.029044, 0.050185, -0.020030),
        (D5, 0.016437, 0.055846, -0.038601),
    ],
)
def test_sensitivities_of_the_reference_rows(row, thickness, driver, driven):
    found = speed_sensitivity(belt=row.strung(), driver=0, driven=1)
    assert found.per_mm_thickness == printed(thickness)
    assert found.per_mm_driver_diameter == printed(driver)
    assert found.per_mm_driven_diameter == printed(driven)


def test_sensitivity_in_vees_is_the_derivative_of_the_speed_ratio():
    small = sharp_vee(root_radius_mm=6.0, width_mm=6.0, angle_deg=40.0)
    large = sharp_vee(root_radius_mm=40.0, width_mm=8.0, angle_deg=60.0)
    pulleys = (Pulley(0.0, 0.0, Sense.CCW, small), Pulley(120.0, 0.0, Sense.CCW, large))
    free = RoundSection(2.6)
    length_mm = routed(pulleys=pulleys, section=free.stretched(1.08)).length_mm / 1.08
    belt = strung_belt(pulleys=pulleys, free_section=free, free_length_mm=length_mm)

    def log_ratio(diameter_mm: float) -> float:
        fitted = RoundSection(diameter_mm).stretched(1.08)
        first, second = (pitch_radius_mm(groove=groove, section=fitted) for groove in (small, large))
        return math.log(first / second)

    step = 1e-5
    slope = (log_ratio(2.6 + step) - log_ratio(2.6 - step)) / (2 * step)
    assert speed_sensitivity(belt=belt, driver=0, driven=1).per_mm_thickness == pytest.approx(slope, rel=1e-6)
    # The pulleys swapped, the belt's error works the other way.
    assert speed_sensitivity(belt=belt, driver=1, driven=0).per_mm_thickness == pytest.approx(-slope, rel=1e-6)
