"""Opening the mold: sound ones open, undercuts are measured as by hand, and what holds part or half is found."""

from dataclasses import replace

import pytest
from spoiled import (
    ELONGATION,
    ORDERS,
    QUARTER,
    at,
    caught,
    cut,
    grown,
    profile,
    proofs,
    replanned,
    ring,
    sound,
    with_core,
)

from moldgen.inspection.demoulding import demoulding
from moldgen.parts import kernel

MESH_MM = 0.05


def undercuts(mold, elongation=ELONGATION):
    return [f for f in demoulding(mold, elongation_at_break=elongation) if f.proof == "undercut"]


def radius(finding):
    x, y, _ = finding.where
    return (x * x + y * y) ** 0.5


@pytest.mark.parametrize("kind", ORDERS)
def test_a_sound_mold_passes_every_proof(kind):
    failed = [f.text for found in proofs(sound(kind)).values() for f in found if not f.passed]
    assert failed == []


def test_the_rounded_edge_of_a_tyre_asks_for_its_strain_by_hand():
    # A mouth of 17.6 mm radius in front of 18.0: the ring is squeezed by (18.0 - 17.6)/18.0 = 2.2 %.
    lower, upper = undercuts(sound("tyre"))
    assert lower.value == pytest.approx(0.4 / 18.0, abs=0.001)
    assert lower.where[2] == pytest.approx(-0.4, abs=MESH_MM)
    assert upper.value == 0.0


def test_a_rubber_that_gives_too_little_stays_in_its_mold():
    # 15 % of an elongation of 0.1 is 1.5 %, less than the 2.2 % that the rounded edge asks for.
    (finding,) = caught(sound("tyre"), "demoulding", "undercut", elongation=0.1)
    assert finding.limit == pytest.approx(0.015)
    assert radius(finding) == pytest.approx(18.0, abs=MESH_MM)


def test_a_groove_cut_into_a_turned_wall_asks_for_more_than_planned():
    # From a mouth of 18.0 mm into a groove of 19.0: 1/19 = 5.3 %, where the plan has none.
    (finding,) = caught(cut("washer", "lower", ring(17.0, 19.0, -3.5, -2.0)), "demoulding", "undercut")
    assert finding.value == pytest.approx(1.0 / 19.0, abs=0.001)
    assert radius(finding) == pytest.approx(19.0, abs=MESH_MM)
    assert -3.5 - MESH_MM <= finding.where[2] <= -2.0 + MESH_MM


def test_a_deepened_undercut_beyond_what_the_rubber_stands_is_said_to_be_so():
    mold = cut("washer", "lower", ring(17.0, 19.0, -3.5, -2.0))
    (finding,) = caught(mold, "demoulding", "undercut", elongation=0.3)
    assert finding.limit == pytest.approx(0.15 * 0.3)
    assert "is allowed" in finding.text


def test_a_groove_in_the_core_that_the_lower_half_carries_is_found_in_the_bore():
    # The bore's ring of 13.2 mm must stretch over a core of 14.0: 0.8/13.2 = 6.1 %.
    (finding,) = caught(cut("washer", "lower", ring(13.2, 15.0, -3.5, -2.0)), "demoulding", "undercut")
    assert finding.value == pytest.approx(0.8 / 13.2, abs=0.001)
    assert radius(finding) == pytest.approx(13.2, abs=MESH_MM)


def test_a_nick_on_one_side_only_is_held_against_its_own_mouth():
    nick = kernel.box(17.0, -1.0, -3.0, 19.0, 1.0, -2.0)
    (finding,) = caught(cut("washer", "lower", nick), "demoulding", "undercut")
    assert at(finding, 19.0, 0.0, -2.5, within=1.0 + MESH_MM)
    assert finding.value == pytest.approx(1.0 / 19.0, abs=0.002)


def test_a_groove_in_the_upper_half_is_found_there():
    # At z = 1.2 the bead's wall stands at 12 - 1.2 = 10.8 mm; a groove to 11.6 asks for 0.8/11.6 = 6.9 %.
    (finding,) = caught(cut("bead", "upper", ring(9.5, 11.6, 1.2, 2.0)), "demoulding", "undercut")
    assert finding.value == pytest.approx(0.8 / 11.6, abs=0.002)
    assert radius(finding) == pytest.approx(11.6, abs=MESH_MM)
    assert 1.2 - MESH_MM <= finding.where[2] <= 2.0 + MESH_MM


def test_a_groove_in_the_wall_of_a_cover_on_its_metal_draws_the_rubber_out_along_it():
    # Metal of 11 mm, a mouth of 15, a groove of 15.5: (240.25 - 225)/(225 - 121) = 14.7 %, where a free ring has 3.2 %.
    # It is cut out of what makes the running surface, which is no longer whole besides.
    mold = cut("cover", "lower", ring(14.0, 15.5, -4.0, -3.0))
    (finding,) = caught(mold, "demoulding", "undercut", also=("running", "running"))
    assert finding.value == pytest.approx(15.25 / 104.0, abs=0.004)
    assert radius(finding) == pytest.approx(15.5, abs=MESH_MM)
    assert -4.0 - MESH_MM <= finding.where[2] <= -3.0 + MESH_MM


def test_a_crowned_cover_is_held_against_its_rubber_s_elongation():
    # The crown of 0.25 mm on a wall of 4: (232.56 - 225)/(225 - 121) = 7.3 %; 15 % of an elongation of 0.4 is 6 %.
    assert undercuts(sound("crowned cover"))[0].value == pytest.approx(7.5625 / 104.0, abs=0.003)
    (finding,) = caught(sound("crowned cover"), "demoulding", "undercut", elongation=0.4)
    assert "held by its metal" in finding.text
    assert radius(finding) == pytest.approx(15.25, abs=MESH_MM)


def test_a_wall_that_hangs_from_a_step_is_no_mouth_for_the_step_s_own_corner():
    # Pressed with its step in the lower half, a barrel of 9.3 mm passes its mouth of 9 and not the neck of 6 below it.
    lower, _ = undercuts(sound("stepped plug"))
    assert lower.value == pytest.approx(0.3 / 9.3, abs=0.002)


def test_a_neck_deepened_under_a_step_is_found_below_it():
    # At z = -8 a groove of 7 mm in a neck of 6: what fills it passes the neck, 1/7 = 14.3 %.
    (finding,) = caught(cut("stepped plug", "lower", ring(5.0, 7.0, -8.5, -7.5)), "demoulding", "undercut")
    assert finding.value == pytest.approx(1.0 / 7.0, abs=0.003)
    assert -8.5 - MESH_MM <= finding.where[2] <= -7.5 + MESH_MM


def test_a_pocket_in_the_wall_of_a_flat_part_asks_for_its_depth_over_half_the_width():
    # 1 mm deep in the side wall of a pad 10 mm wide: 1/((10 + 1)/2) = 18.2 %.
    (x, y), *_ = sound("pad").plan.places
    pocket = kernel.box(x + 12.0, y + 9.0, -4.0, x + 15.0, y + 11.0, -2.5)
    (finding,) = caught(cut("pad", "lower", pocket), "demoulding", "undercut")
    assert finding.value == pytest.approx(1.0 / 5.5, abs=0.002)
    assert at(finding, x + 13.5, y + 11.0, -2.5, within=1.5 + MESH_MM)


def test_a_barb_on_the_core_keeps_it_in_the_lower_half():
    # The barb stands in a groove of its own with 0.1 mm of air, so that the mold closes, but never opens.
    barb, groove = ring(3.0, 5.6, -22.5, -21.5), ring(3.0, 5.7, -22.6, -21.4)
    mold = with_core(cut("sleeve", "lower", groove), added=[barb])
    findings = caught(mold, "demoulding", "lifts_off", "undercut")
    (lift,) = [f for f in findings if f.proof == "lifts_off"]
    assert "core" in lift.text
    assert at(lift, 0.0, 0.0, -21.0, within=1.6)


def test_a_full_round_parted_at_its_crest_has_no_mouth_to_leave_by():
    # Squeezed outside and stretched inside by little enough, but the crest's mouth between wall and core is closed.
    crest = profile((14.0, -2.0, QUARTER), (16.0, -4.0, QUARTER), (18.0, -2.0, QUARTER), (16.0, 0.0, QUARTER))
    cavity = sound("pressed washer").plan.cavity
    mold = replanned("pressed washer", cavity=replace(cavity, shape=crest, below_mm=4.0))
    failed = [f for f in demoulding(mold, elongation_at_break=ELONGATION) if not f.passed]
    assert [f.proof for f in failed] == ["throat"]
    assert failed[0].value < 0.1


def test_a_flask_on_its_core_has_too_narrow_a_neck_to_leave_by():
    # What the design refuses: a wall of 18 mm behind a mouth of 15, and a core of 14 in it. 3/18 is little enough for a
    # ring that could give way inwards; on the core (225 - 196)/(324 - 196) = 23 % of its section fit through.
    flask = profile((14.0, -5.0), (18.0, -5.0), (18.0, -3.2), (15.0, 0.0), (14.0, 0.0))
    cavity = replace(sound("pressed washer").plan.cavity, shape=flask)
    (finding,) = caught(replanned("pressed washer", cavity=cavity), "demoulding", "throat")
    assert finding.value == pytest.approx(29.0 / 128.0, abs=0.005)


def test_the_bore_of_a_waisted_sleeve_is_stretched_when_it_is_rolled_off_its_core():
    # Over a core of 5.5 mm at its widest, the ends' bore of 5.0 gives (5.5 - 5.0)/5.0 = 10 %.
    waisted = profile((5.0, -20.0), (12.0, -20.0), (12.0, 0.0), (5.0, 0.0), (5.5, -10.0))
    mold = sound("sleeve")
    mold = replace(mold, plan=replace(mold.plan, cavity=replace(mold.plan.cavity, shape=waisted)))
    (finding,) = [f for f in demoulding(mold, elongation_at_break=0.5) if f.proof == "rolled_off"]
    assert finding.value == pytest.approx(0.1, abs=1e-3)
    assert not finding.passed


def test_a_half_hooked_over_the_other_does_not_lift_off():
    # A post of the lower half with a ledge 0.3 mm above a tongue of the upper one: it closes sideways, and never lifts.
    x = 0.5 * sound("washer").plan.block.x_mm
    shaft = kernel.box(x - 1.5, -6.0, -1.0, x + 1.0, 3.0, 20.0)
    headroom = kernel.box(x - 2.6, -6.0, 3.0, x + 1.0, 3.0, 20.0)
    post = kernel.box(x - 1.2, -5.5, -2.0, x, 2.5, 5.0)
    ledge = kernel.box(x - 2.3, -5.5, 3.3, x, 2.5, 5.0)
    lower, upper = grown("washer", "lower", post, ledge), cut("washer", "upper", shaft, headroom)
    mold = replace(lower, upper=upper.upper, bodies=replace(lower.bodies, upper=upper.bodies.upper))
    (finding,) = caught(mold, "demoulding", "lifts_off")
    assert at(finding, x - 1.9, -1.5, 3.8, within=1.0)


def test_a_height_that_single_precision_rounds_leaves_no_film_over_the_mold():
    # 21.935671342685374 mm is 21.93567085 in a mesh: what lies between is no part of the cavity.
    plan = sound("roller").plan
    top = 21.935671342685374
    openings = {name: tuple(replace(o, top_z_mm=top) for o in getattr(plan, name)) for name in ("sprues", "vents")}
    mold = replanned("roller", block=replace(plan.block, upper_mm=top), **openings)
    assert [f.value for f in undercuts(mold)] == [0.0, 0.0]
