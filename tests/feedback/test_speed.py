"""Speed from a run, from turns, from bars; its uncertainty; what is usual.

Rows named "reference" were computed apart from this code, from v = L/t and the rule of JCGM 100:2008 (GUM), 5.1.2.
"""

import math
import random
import statistics

import pytest

from moldgen.errors import RangeError
from moldgen.feedback.run_test import time_of_runs
from moldgen.feedback.speed import (
    USUAL,
    Measured,
    bars_for,
    from_bars,
    from_length,
    from_turns,
    speed_error,
    timing_u_s,
    usual_speed,
    verdict,
)
from moldgen.quantities import Estimate


def run(length_mm, time_s, *, length_u_mm=2.0, reaction_u_s=0.15, runs=1):
    time_u_s = timing_u_s(time_u_s=0.0, reaction_u_s=reaction_u_s, runs=runs)
    return from_length(length_mm=length_mm, length_u_mm=length_u_mm, time_s=time_s, time_u_s=time_u_s)


@pytest.mark.parametrize(
    ("length_mm", "time_s", "runs", "nominal_mm_s", "error", "u"),
    [
        (2857.5, 30.4, 1, 95.25, -0.013158, 0.0069208),  # reference
        (5715.0, 30.5, 5, 190.5, -0.016393, 0.0030787),  # reference
    ],
)
def test_timed_run_has_the_error_and_uncertainty_of_the_reference(length_mm, time_s, runs, nominal_mm_s, error, u):
    found = speed_error(measured=run(length_mm, time_s, runs=runs), nominal=nominal_mm_s)
    assert found.value == pytest.approx(error, rel=5e-5)  # five digits are printed
    assert found.u == pytest.approx(u, rel=2e-5)


def test_first_reference_run_is_no_real_difference_and_the_second_is():
    assert not speed_error(measured=run(2857.5, 30.4), nominal=95.25).significant
    assert speed_error(measured=run(5715.0, 30.5, runs=5), nominal=190.5).significant


def test_uncertainty_is_that_of_simulated_stopwatches():
    rng = random.Random(5)
    errors = []
    for _ in range(20000):
        ends = [rng.gauss(30.5, 0.15) - rng.gauss(0.0, 0.15) for _ in range(5)]
        errors.append(rng.gauss(5715.0, 2.0) / statistics.fmean(ends) / 190.5 - 1.0)
    assert speed_error(measured=run(5715.0, 30.5, runs=5), nominal=190.5).u == pytest.approx(
        statistics.stdev(errors), rel=0.02
    )


def test_tape_timed_over_ten_seconds_cannot_tell_two_thirds_of_a_per_cent():
    # A mark that travels 37.75 in in 10 s, read to 0.1 in and 0.1 s at either end, against 3.75 in/s: 0.667 % fast, and
    # a restorer shrugs (common practice, no source). By hand: u = 1.00667 sqrt((0.0577/37.75)² + 2 (0.0577/10)²)
    # = 0.00836.
    half = 0.1 / math.sqrt(3.0)
    measured = run(37.75 * 25.4, 10.0, length_u_mm=half * 25.4, reaction_u_s=half)
    error = speed_error(measured=measured, nominal=3.75 * 25.4)
    assert error.value == pytest.approx(0.0066667, abs=1e-6)
    assert error.u == pytest.approx(0.00836, abs=1e-5)
    assert error.low < 0.0 < error.high
    assert not error.significant
    told = verdict(error=error, usual=usual_speed(nominal=95.25, unit="mm/s"))
    assert "Change nothing" in told
    assert "longer run" in told  # up to 2.3 % fast is not excluded, and 1.5 % is usual


def test_reaction_over_half_a_minute_is_most_of_a_per_cent():
    # 0.15 s at either end of 30 s: 0.15 sqrt(2)/30 = 0.7 %.
    measured = run(3000.0, 30.0, length_u_mm=0.0)
    assert measured.u / measured.value == pytest.approx(0.007, abs=1e-4)


@pytest.mark.parametrize(
    ("rotation_rpm", "mains_hz", "bars", "exact_rpm"),
    [
        # Arithmetic: a lamp flashes twice a period, so N bars stand still at 120 f/N.
        (100 / 3, 50.0, 180, 33.3333),
        (100 / 3, 60.0, 216, 33.3333),
        (45.0, 50.0, 133, 45.1128),
        (45.0, 60.0, 160, 45.0),
        (78.0, 50.0, 77, 77.9221),
        (78.0, 60.0, 92, 78.2609),
    ],
)
def test_strobe_bars_are_those_on_every_disc(rotation_rpm, mains_hz, bars, exact_rpm):
    assert round(bars_for(rotation_rpm=exact_rpm, mains_hz=mains_hz), 2) == bars
    assert abs(bars_for(rotation_rpm=rotation_rpm, mains_hz=mains_hz) - bars) < 1.0
    still = from_bars(bars=bars, mains_hz=mains_hz, mains_u_hz=0.0, passing=0.0, passing_u=0.0, time_s=60.0)
    assert still.value == pytest.approx(exact_rpm, abs=5e-5)


def test_bars_that_creep_past_tell_the_speed():
    # 100 flashes a second; 60 bars forward in a minute is 1 more a second: 1 % fast.
    fast = from_bars(bars=180, mains_hz=50.0, mains_u_hz=0.0, passing=60.0, passing_u=0.0, time_s=60.0)
    assert fast.value == pytest.approx(1.01 * 100 / 3, rel=1e-12)
    slow = from_bars(bars=180, mains_hz=50.0, mains_u_hz=0.0, passing=-60.0, passing_u=0.0, time_s=60.0)
    assert slow.value == pytest.approx(0.99 * 100 / 3, rel=1e-12)


def test_turns_and_time_give_the_rotation():
    measured = from_turns(turns=45, turns_u=0.1, time_s=60.0, time_u_s=0.0)
    assert measured.value == pytest.approx(45.0)
    assert measured.u == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("text_cm_s", "name"), [(4.76, "1 7/8"), (9.53, "3 3/4"), (19.05, "7 1/2"), (38.1, "15"), (2.38, "15/16")]
)
def test_tape_speeds_halve_and_are_known_by_their_rounded_names(text_cm_s, name):
    # Nominal tape speeds as tables of them print them; 15 in/s and its halves are exact in inches.
    usual = usual_speed(nominal=10.0 * text_cm_s, unit="mm/s")
    assert usual is not None
    assert usual.name == f"{name} in/s"
    assert (usual.low, usual.high) == (-0.015, 0.015)  # DIN 45500, as a museum's page reproduces it


@pytest.mark.parametrize(("rpm", "name"), [(33.33, "33 1/3"), (45.0, "45"), (78.26, "78"), (77.92, "78")])
def test_disc_speeds_are_known(rpm, name):
    assert usual_speed(nominal=rpm, unit="min⁻¹").name == name


@pytest.mark.parametrize(
    ("mm_s", "name"),
    [
        # Perforation pitch times frames a second (SMPTE pitches, from memory): 3.81, 25.4/6 and 7.62 mm.
        (60.96, "8 mm film, 16 frames/s"),
        (68.58, "8 mm film, 18 frames/s"),
        (76.2, "Super 8 film, 18 frames/s"),
        (101.6, "Super 8 film, 24 frames/s"),
        (182.88, "16 mm film, 24 frames/s"),
    ],
)
def test_film_speeds_are_pitch_times_frames(mm_s, name):
    assert name in {usual.name for usual in USUAL if abs(usual.value - mm_s) < 1e-9}


def test_no_speed_is_usual_for_two_things_of_different_tolerance():
    for usual in USUAL:
        assert usual_speed(nominal=usual.value, unit=usual.unit) is usual


def test_unusual_speed_has_no_tolerance():
    assert usual_speed(nominal=100.0, unit="mm/s") is None


@pytest.mark.parametrize(
    ("percent", "words"), [(1.0, "within what is usual"), (2.0, "more than is usual"), (-2.0, "slow")]
)
def test_real_difference_is_held_against_what_is_usual(percent, words):
    measured = Measured(95.25 * (1.0 + percent / 100.0), 0.05, "mm/s", "")
    told = verdict(error=speed_error(measured=measured, nominal=95.25), usual=usual_speed(nominal=95.25, unit="mm/s"))
    assert words in told


def test_time_typed_with_its_uncertainty_has_no_hand_added_to_it():
    time, assumed = time_of_runs([Estimate(30.0, u=0.1)], runs=1, reaction_u_s=None)
    assert (time.u, assumed) == (pytest.approx(0.1), False)


def test_bare_time_is_taken_as_stopped_by_hand():
    time, assumed = time_of_runs([Estimate(30.0)], runs=4, reaction_u_s=None)
    # 0.15 sqrt(2/4)
    assert (time.u, assumed) == (pytest.approx(0.10607, abs=1e-5), True)


def test_scatter_of_several_runs_counts_where_it_is_the_larger():
    times = [Estimate(30.0), Estimate(31.0), Estimate(32.0)]
    # Type A, JCGM 100:2008, 4.2.3: s = 1, over sqrt(3).
    assert time_of_runs(times, runs=1, reaction_u_s=0.01)[0].u == pytest.approx(1.0 / math.sqrt(3.0))
    lucky = [Estimate(30.0), Estimate(30.0)]
    assert time_of_runs(lucky, runs=1, reaction_u_s=0.15)[0].u == pytest.approx(0.15)


@pytest.mark.parametrize("change", [{"time_s": 0.0}, {"length_mm": -1.0}])
def test_run_that_is_none_is_refused(change):
    good = {"length_mm": 100.0, "length_u_mm": 0.1, "time_s": 10.0, "time_u_s": 0.1}
    with pytest.raises(RangeError):
        from_length(**{**good, **change})
