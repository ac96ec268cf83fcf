"""The closed mold: keys, lands, core, metal and screws, and one way to close; each spoiled and found at its place."""

from dataclasses import replace

import pytest
from spoiled import FILAMENT, at, caught, cut, grown, proofs, replanned, ring, shifted, sound, with_core

from moldgen.inspection.fit import fit
from moldgen.inspection.measuring import hexagon
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed

MESH_MM = 0.05


def readings(mold, code):
    return [f for f in fit(mold, printer=FILAMENT) if f.proof == code]


def lower_of(mold, body):
    return replace(mold, bodies=replace(mold.bodies, lower=body), lower=meshed(body))


# --- keys ------------------------------------------------------------------------------------------------------------


def test_keys_have_the_planned_clearance():
    # 0.75 of the printer's 0.2 mm.
    (finding,) = readings(sound("tyre"), "keys")
    assert finding.value == pytest.approx(0.15, abs=0.02)


def test_a_half_shifted_by_0_3_runs_into_the_keys():
    mold = shifted("tyre", "upper", x=0.3)
    findings = caught(mold, "fit", "keys", "seats")
    assert len(findings) == 4
    for key in mold.plan.keys:
        assert sum(at(finding, key.x_mm, key.y_mm, 2.5, within=3.0) for finding in findings) == 2


def test_a_half_shifted_within_the_clearance_is_measured():
    # 0.15 mm less 0.1 mm on the one side.
    findings = caught(shifted("tyre", "upper", y=0.1), "fit", "keys")
    assert findings[0].value == pytest.approx(0.05, abs=0.02)


def test_a_key_on_the_wrong_side_is_missed_in_its_place_and_met_in_the_other():
    mold = sound("tyre")
    key = mold.plan.keys[0]
    without = kernel.cut(mold.bodies.lower, [kernel.cylinder(5.0, 10.0, key.x_mm, key.y_mm, -0.15)], stage="spoiling")
    cone = kernel.cone(4.2, 2.75, 5.5, key.x_mm, -key.y_mm, -0.5)
    findings = caught(lower_of(mold, kernel.fused([without, cone], stage="spoiling")), "fit", "keys", "seats")
    missing, met = findings
    assert at(missing, key.x_mm, key.y_mm, 2.5, within=2.6)
    assert "missing" in missing.text
    assert at(met, key.x_mm, -key.y_mm, 2.5, within=2.6)


def test_a_missing_key_is_found():
    mold = sound("tyre")
    key = mold.plan.keys[1]
    body = kernel.cut(mold.bodies.lower, [kernel.cylinder(5.0, 10.0, key.x_mm, key.y_mm, -0.15)], stage="spoiling")
    (finding,) = caught(lower_of(mold, body), "fit", "keys")
    assert at(finding, key.x_mm, key.y_mm, 2.5, within=2.6)


def test_a_key_too_tall_for_its_socket_is_found():
    key = sound("tyre").plan.keys[0]
    taller = kernel.cylinder(2.0, 1.07, key.x_mm, key.y_mm, 4.0)
    (finding,) = caught(grown("tyre", "lower", taller), "fit", "keys")
    # 5.07 mm under a socket of 5.15.
    assert finding.value == pytest.approx(0.08, abs=0.01)
    assert at(finding, key.x_mm, key.y_mm, 5.07, within=0.1)


def test_a_socket_too_wide_lets_its_key_rattle():
    key = sound("tyre").plan.keys[0]
    wider = kernel.cone(4.4, 3.15, 5.0, key.x_mm, key.y_mm, 0.0)
    (finding,) = caught(cut("tyre", "upper", wider), "fit", "keys")
    assert "rattles" in finding.text


def test_keys_in_the_middle_close_both_ways():
    mold = sound("tyre")
    keys = tuple(replace(key, y_mm=0.0) for key in mold.plan.keys)
    (finding,) = caught(replanned("tyre", keys=keys), "fit", "one_way")
    assert "180" in finding.text


def test_a_square_mold_is_turned_by_quarters_as_well():
    # Two pairs of keys alike under a quarter turn, none alike under a half turn alone.
    mold = sound("tyre")
    side = mold.plan.block.x_mm
    key = mold.plan.keys[0]
    r = 0.5 * side - 5.5
    keys = tuple(replace(key, x_mm=x, y_mm=y) for x, y in ((r, 0.0), (0.0, r), (-r, 0.0), (0.0, -r)))
    square = replace(mold.plan.block, y_mm=side)
    spoiled = replanned("tyre", block=square, keys=keys, screws=(), pry_slots=(), labels=())
    (finding,) = [f for f in readings(spoiled, "one_way") if not f.passed]
    assert "90" in finding.text


# --- lands -----------------------------------------------------------------------------------------------------------


def test_a_grain_under_the_upper_half_keeps_it_off_its_lands():
    x = 0.5 * sound("tyre").plan.block.x_mm - 8.0
    grain = kernel.box(x, -1.0, -0.5, x + 2.0, 1.0, 0.0)
    (finding,) = caught(grown("tyre", "lower", grain), "fit", "seats")
    assert at(finding, x + 1.0, 0.0, 0.0, within=0.1)
    assert "4.0 mm²" in finding.text


def test_a_bump_on_the_upper_half_is_found_as_well():
    x = 0.5 * sound("tyre").plan.block.x_mm - 8.0
    bump = kernel.box(x, -1.0, -0.2, x + 2.0, 1.0, 1.0)
    (finding,) = caught(grown("tyre", "upper", bump), "fit", "seats")
    assert at(finding, x + 1.0, 0.0, -0.1, within=0.2)


def test_halves_that_stay_apart_do_not_seal():
    # Not on the lands; and just above the parting plane there is no land of the upper half at all.
    mold = shifted("tyre", "upper", z=0.08)
    failed = {(name, f.proof): f for name, found in proofs(mold).items() for f in found if not f.passed}
    assert set(failed) == {("fit", "seats"), ("walls", "land")}
    assert failed["fit", "seats"].value == 0.0
    assert "bears" in failed["fit", "seats"].text


def test_one_sunken_land_of_four_is_found():
    *_, (x, y) = sound("four pads").plan.places
    mold = sound("four pads")
    x0, y0, x1, y1 = mold.plan.cavity.footprint.bounds
    sunken = kernel.box(x + x0 - 3.2, y + y0 - 3.2, -0.08, x + x1 + 3.2, y + y1 + 3.2, 1.0)
    found = [f for f in fit(cut("four pads", "lower", sunken), printer=FILAMENT) if not f.passed]
    assert [f.proof for f in found] == ["seats"]
    assert at(found[0], x, y, 0.0, within=1e-6)


# --- core and metal --------------------------------------------------------------------------------------------------


def test_a_core_too_long_at_the_top_holds_the_mold_open():
    mold = with_core(sound("sleeve"), added=[kernel.cylinder(2.0, 2.0, 0.0, 0.0, 3.0)])
    (finding,) = caught(mold, "fit", "core")
    assert "upper" in finding.text
    assert at(finding, 0.0, 0.0, 4.5, within=0.6)


def test_a_core_too_long_at_the_bottom_does_not_go_down():
    mold = with_core(sound("sleeve"), added=[kernel.cylinder(4.4, 2.0, 0.0, 0.0, -25.0)])
    (finding,) = caught(mold, "fit", "core")
    assert "lower" in finding.text
    assert at(finding, 0.0, 0.0, -24.5, within=0.6)


def test_a_core_that_touches_its_upper_seat_all_round_is_found():
    # The seat has 0.1 mm of room on every side; a collar takes 0.08 of it.
    seat = ring(3.0, 5.08, 0.05, 1.3)
    (finding,) = caught(with_core(sound("sleeve"), added=[seat]), "fit", "core")
    assert finding.where[2] == pytest.approx(0.7, abs=0.6)


def test_a_seat_that_is_filled_up_is_found():
    mold = grown("sleeve", "upper", kernel.cylinder(1.0, 3.0, 1.0, 1.0, 3.5))
    (finding,) = caught(mold, "fit", "core")
    assert at(finding, 1.0, 1.0, 3.75, within=0.4)


def test_metal_too_wide_holds_the_mold_open():
    mold = with_core(sound("cover"), added=[ring(3.0, 10.0, -1.0, 0.3)], name="inserts")
    (finding,) = caught(mold, "fit", "metal")
    assert "upper" in finding.text
    assert at(finding, 0.0, 0.0, 0.1, within=0.3)


def test_a_pin_too_thick_for_the_bore_is_found():
    # The metal's bore is 2.0 mm in radius.
    mold = grown("cover", "lower", kernel.cylinder(2.3, 2.0, 0.0, 0.0, -6.0))
    (finding,) = caught(mold, "fit", "metal")
    assert "lower" in finding.text
    assert at(finding, 0.0, 0.0, -5.0, within=1.2)


# --- screws ----------------------------------------------------------------------------------------------------------


def test_a_screw_hole_that_is_closed_is_found():
    screw = sound("tyre").plan.screws[0]
    mold = grown("tyre", "upper", kernel.cylinder(2.0, 3.0, screw.x_mm, screw.y_mm, 5.0))
    (finding,) = caught(mold, "fit", "screws")
    assert "does not pass" in finding.text
    assert at(finding, screw.x_mm, screw.y_mm, 6.0, within=6.1)


def test_a_nut_that_does_not_go_into_its_pocket_is_found():
    screw = sound("tyre").plan.screws[2]
    low = -sound("tyre").plan.block.lower_mm
    side = kernel.box(screw.x_mm + 2.0, screw.y_mm - 4.0, low, screw.x_mm + 4.0, screw.y_mm + 4.0, low + 3.0)
    (finding,) = caught(grown("tyre", "lower", side), "fit", "screws")
    assert "nut" in finding.text
    assert at(finding, screw.x_mm + 2.5, screw.y_mm, low, within=2.0)


def test_a_nut_pocket_cut_right_through_has_nothing_to_hold_the_nut():
    screw = sound("tyre").plan.screws[1]
    low = -sound("tyre").plan.block.lower_mm
    through = kernel.cylinder(3.1, 40.0, screw.x_mm, screw.y_mm, low - 1.0)
    findings = caught(cut("tyre", "lower", through), "fit", "screws")
    assert at(findings[0], screw.x_mm, screw.y_mm, -3.0, within=3.5)


def test_a_nut_pocket_that_reaches_into_the_cavity_is_found():
    # A screw in the middle of a flat part: its nut's pocket breaks through the floor.
    mold = sound("pad")
    screw = mold.plan.screws[0]
    (x, y), *_ = mold.plan.places
    moved = replace(screw, x_mm=x + 12.0, y_mm=y + 5.0, nut_pocket_mm=5.0)
    low = -mold.plan.block.lower_mm - 1.0
    hole = kernel.cylinder(0.5 * screw.screw.hole_mm, 60.0, moved.x_mm, moved.y_mm, low)
    nut = kernel.prism(hexagon(screw.screw.nut_flats_mm + 0.3, moved.x_mm, moved.y_mm), 6.0, low)
    lower, upper = cut("pad", "lower", hole, nut), cut("pad", "upper", hole)
    bodies = replace(lower.bodies, upper=upper.bodies.upper, plain_upper=upper.bodies.plain_upper)
    plan = replace(mold.plan, screws=(moved, *mold.plan.screws[1:]))
    found = [
        f for f in fit(replace(lower, plan=plan, upper=upper.upper, bodies=bodies), printer=FILAMENT) if not f.passed
    ]
    assert {f.proof for f in found} == {"screws"}
    assert any(at(f, x + 12.0, y + 5.0, -4.0, within=4.0) for f in found)


def test_a_channel_led_through_a_screw_is_found():
    screw = sound("tyre").plan.screws[3]
    trench = kernel.box(screw.x_mm - 9.0, screw.y_mm - 0.6, -1.2, screw.x_mm, screw.y_mm + 0.6, 1.0)
    findings = caught(cut("tyre", "lower", trench), "fit", "screws")
    assert at(findings[0], screw.x_mm - 2.2, screw.y_mm, -0.7, within=0.8)


def test_a_funnel_under_a_screws_head_is_found():
    mold = sound("tyre")
    screw, top = mold.plan.screws[0], mold.plan.block.upper_mm
    bowl = kernel.cone(0.5, 3.0, 3.0, screw.x_mm + 3.5, screw.y_mm, top - 2.9)
    found = [f for f in fit(cut("tyre", "upper", bowl), printer=FILAMENT) if not f.passed]
    assert {f.proof for f in found} == {"screws"}
    assert at(found[0], screw.x_mm + 2.0, screw.y_mm, top - 0.5, within=1.2)


def test_a_mold_without_screws_is_clamped():
    mold = replanned("tyre", screws=())
    assert all(f.passed for found in proofs(mold).values() for f in found)
