"""Checks without instruments, beside what a sizing predicts."""

import math
from pathlib import Path

import pytest

from moldgen import case, sizing
from moldgen.feedback.bench_checks import Expected, checked, expected_checks, torque
from moldgen.quantities import Estimate
from moldgen.uncertainty import Uncertain

EXAMPLES = Path(__file__).parents[2] / "part_specs"


def expected(sense, value=10.0, u=1.0):
    return Expected("x", "do this", Uncertain(value, {("reading",): u}), sense, "too little", "too much")


@pytest.mark.parametrize(
    ("sense", "reading", "agrees", "words"),
    [
        # Joint standard uncertainty of 1.0 and 0.75: 1.25, so 2.5 either way is no difference (JCGM 100:2008, 5.1.2).
        ("about", 12.4, True, "as expected"),
        ("about", 12.6, False, "too much"),
        ("about", 7.4, False, "too little"),
        ("at_least", 20.0, True, "too much"),
        ("at_least", 7.4, False, "too little"),
        ("at_most", 1.0, True, "too little"),
        ("at_most", 12.6, False, "too much"),
    ],
)
def test_reading_differs_only_beyond_twice_the_joint_uncertainty(sense, reading, agrees, words):
    found = checked(expected(sense), Estimate(reading, u=0.75))
    assert found.agrees is agrees
    assert words in found.verdict


def test_torque_is_pull_times_arm_with_both_doubts():
    # 0.8 N at 25 mm: 20 N·mm; relative variances add: sqrt(0.05² + 0.02²) = 0.05385.
    found = torque(pull_n=Estimate(0.8, u=0.04), arm_mm=Estimate(25.0, u=0.5))
    assert float(found) == pytest.approx(20.0)
    assert found.u == pytest.approx(20.0 * math.hypot(0.05, 0.02))


@pytest.mark.parametrize(
    ("spec", "keys"),
    [
        ("loop_idler", {"hub_slip_torque_nmm": "at_least", "nip_width_mm": "about"}),
        ("loop_pinch_sleeve", {"hub_slip_torque_nmm": "at_least", "nip_width_mm": "about"}),
        (
            "loop_drive_belt",
            {"pulleys.motor.slip_torque_nmm": "about", "pulleys.flywheel.slip_torque_nmm": "about"},
        ),
        ("loop_one_way_pad", {"drag_torque_nmm": "at_most", "lock_torque_nmm": "at_least"}),
    ],
)
def test_every_part_has_the_checks_of_its_kind(spec, keys):
    sized = sizing.size(case.load(EXAMPLES / f"{spec}.yaml"))
    found = expected_checks(sized)
    assert {one.key: one.sense for one in found} == keys
    values = {item.prediction.key: item.range for item in sized.predictions}
    for one in found:
        assert one.range == values[one.key]
        assert one.how.endswith((".", "radius."))
