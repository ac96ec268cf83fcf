"""A ledge in the lower half: no opening reaches it, and what the design refuses the proof of filling finds."""

from dataclasses import replace

import pytest
from spoiled import caught, profile, replanned, sound

from moldgen.mold.filling import shoulder_air_mm3


def test_air_under_a_ledge_of_the_lower_half_is_shut_in():
    # A foot of 19.15 mm under a wall of 18: short enough to print and to demould, but air stays under its high end.
    footed = profile((14.0, -5.0), (19.15, -5.0), (19.15, -3.0), (18.0, -3.0), (18.0, 0.0), (14.0, 0.0))
    plan = sound("washer").plan
    (finding,) = caught(replanned("washer", cavity=replace(plan.cavity, shape=footed)), "filling", "air_pockets")
    slope = plan.attitude.up[0] / plan.attitude.up[2]
    held = shoulder_air_mm3(inner_mm=18.0, outer_mm=19.15, slope=slope)
    assert finding.value == pytest.approx(held, rel=0.05)
    x, _, z = finding.where
    assert (x, z) == (pytest.approx(19.15, abs=0.1), pytest.approx(-3.0, abs=0.05))
