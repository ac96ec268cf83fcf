"""Running surfaces: a gate, a hole or a parting line on one is found, beside one it is not."""

from dataclasses import replace

import pytest
from spoiled import at, caught, cut, proofs, replanned, ring, sound

from moldgen.inspection.running import running
from moldgen.parts import kernel
from moldgen.shapes import Revolved


def test_a_mold_without_a_running_surface_has_nothing_to_keep_clean():
    (finding,) = running(sound("washer"))
    assert finding.passed
    assert "no surface" in finding.text


def test_a_gate_on_the_shoulder_may_stand_close_to_the_running_surface():
    # 2 mm wide and upright at 9.6 mm from the axis: 0.6 mm beside the roller's 8.0 mm.
    (sprue,) = sound("roller").plan.sprues
    pipe = replace(sprue, gate_diameter_mm=2.0, mouth_diameter_mm=2.0, gate_z_mm=0.0)
    mold = replanned("roller", sprues=(replace(pipe, x_mm=-9.6, y_mm=0.0),))
    assert all(f.passed for f in running(mold))


def test_a_gate_moved_to_the_running_surface_is_found():
    # The roller runs at 8.0 mm from its axis; a gate of 2 mm at 8.5 cuts 0.5 mm into the wall behind it.
    (sprue,) = sound("roller").plan.sprues
    moved = replace(sprue, x_mm=-8.5, y_mm=0.0, gate_z_mm=0.0, gate_diameter_mm=2.0)
    findings = caught(replanned("roller", sprues=(moved,)), "running", "running")
    assert at(findings[0], -8.1, 0.0, 3.5, within=3.6)


def test_a_vent_moved_to_the_running_surface_is_found():
    # Its flange keeps its own vent; what it let out of the high end stays there.
    at_flange, at_top = sound("roller").plan.vents
    moved = replace(at_top, x_mm=0.0, y_mm=8.6, gate_z_mm=0.0)
    spoiled = replanned("roller", vents=(at_flange, moved))
    findings = caught(spoiled, "running", "running", also=("filling", "air_pockets"))
    assert at(findings[0], 0.0, 8.1, 3.5, within=3.6)


def test_a_parting_plane_through_the_running_surface_is_found():
    # The tyre moved up by half its height, so that the halves meet in the middle of its running surface.
    plan = sound("tyre").plan
    cavity, raised = plan.cavity, {"gate_z_mm": plan.sprues[0].gate_z_mm + 2.5}
    assert isinstance(cavity.shape, Revolved)
    sprues, vents = ([replace(o, **raised) for o in openings] for openings in (plan.sprues, plan.vents))
    middle = replace(cavity, shape=Revolved(cavity.shape.profile.moved(dy=2.5)), below_mm=2.5, above_mm=2.5)
    spoiled = replanned("tyre", cavity=middle, sprues=tuple(sprues), vents=tuple(vents))
    findings = caught(spoiled, "running", "running")
    crossed, joint = findings
    assert at(crossed, 18.0, 0.0, 0.0, within=1e-6)
    assert "joint" in joint.text


def test_a_groove_worn_into_the_running_wall_is_found():
    # 0.3 mm deep and 1 mm high; the rubber would come out of it, and no roof is too long, but it shows on the tread.
    mold = cut("tyre", "lower", ring(17.0, 18.3, -3.0, -2.0))
    failed = [(name, f) for name, found in proofs(mold).items() for f in found if not f.passed]
    assert {name for name, _ in failed} == {"running", "demoulding"}
    (finding,) = [f for name, f in failed if name == "running"]
    assert finding.value == pytest.approx(2.0 * 3.14159 * 18.15 * 1.0, rel=0.05)
    assert finding.where[2] == pytest.approx(-2.5, abs=0.05)


def test_a_hole_into_the_running_end_of_a_pad_is_found():
    (x, y), *_ = sound("pad").plan.places
    hole = kernel.box(x + 19.0, y + 4.0, -20.0, x + 21.0, y + 6.0, 0.0)
    mold = cut("pad", "lower", hole)
    (finding,) = [f for f in running(mold) if not f.passed]
    assert at(finding, x + 20.1, y + 5.0, -3.0, within=0.2)
    # 2 mm wide over the height of 6 mm
    assert finding.value == pytest.approx(12.0, rel=0.02)


def test_the_same_hole_in_a_wall_that_does_not_run_is_not_a_matter_of_running():
    (x, y), *_ = sound("pad").plan.places
    mold = cut("pad", "lower", kernel.box(x + 10.0, y + 9.0, -20.0, x + 12.0, y + 11.0, 0.0))
    assert all(f.passed for f in running(mold))


def test_only_the_spoiled_one_of_four_is_named():
    *_, (x, y) = sound("four tyres").plan.places
    mold = cut("four tyres", "lower", kernel.box(x + 17.0, y - 0.5, -3.0, x + 18.6, y + 0.5, -2.0))
    (finding,) = [f for f in running(mold) if not f.passed]
    assert at(finding, x + 18.1, y, -2.5, within=0.2)
