"""A waisted disc pressed round a separate core: the seat of the core begins where the cavity's floor ends."""

import pytest

from moldgen import case, planning, sizing
from moldgen.inspection.closed_mold import closed_mold
from moldgen.inspection.demoulding import demoulding
from moldgen.mold.bodies import carry_out
from moldgen.spec.document import parse

WAISTED = """
family: turned_part
name: waisted
elastomer: pu_75a
mold: {fill: press}
measured: {}
wanted: {profile: [[1.69, 0.00], [9.82, 0.00], [9.02, 3.73], [9.43, 7.47], [1.69, 7.47]], running: none}
"""


def test_the_seat_of_a_core_is_no_mouth_that_the_floor_s_corner_must_pass():
    sized = sizing.size(case.from_document(parse(WAISTED, "waisted.yaml")))
    plan = planning.planned(sized)
    assert plan.cavity.core is not None
    found = list(demoulding(closed_mold(plan, carry_out(plan)), elongation_at_break=2.5))
    asked = next(f for f in found if f.proof == "undercut" and f.text.startswith("lower"))
    # By hand, cast upside down: the floor's corner, 9.43 mm, has to pass the waist of 9.02 mm.
    assert asked.value == pytest.approx((9.43 - 9.02) / 9.43, abs=0.005)
    assert all(f.passed for f in found)
