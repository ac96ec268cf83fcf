"""Printing without supports: what does not fit, hangs in the air or closes up is found where it is."""

from dataclasses import replace

import pytest
from spoiled import FILAMENT, at, caught, cut, grown, profile, proofs, replanned, ring, sound, with_core

from moldgen.parts import kernel
from moldgen.parts.meshing import meshed

MESH_MM = 0.05


def printer(**figures):
    return FILAMENT.model_copy(update=figures)


def readings(mold, code, **how):
    return [f for f in proofs(mold, **how)["printability"] if f.proof == code]


def test_bodies_are_measured_on_the_bed_they_lie_on():
    # The plan's block, and its wedge with the lip of 4 mm on which the mold rests.
    mold = sound("tyre")
    lower, upper, wedge = readings(mold, "bed", printer=printer(bed_x_mm=75.0))
    assert lower.value == upper.value == pytest.approx(mold.plan.block.x_mm)
    assert wedge.value == pytest.approx(mold.plan.block.x_mm + 4.0)
    assert lower.passed and upper.passed and wedge.passed


def test_a_mold_longer_than_the_bed_does_not_print():
    findings = caught(sound("tyre"), "printability", "bed", printer=printer(bed_x_mm=70.0))
    assert [f.text.split(":")[0] for f in findings] == ["jig_wedge"]
    findings = caught(sound("tyre"), "printability", "bed", printer=printer(bed_y_mm=50.0))
    assert len(findings) == 3


def test_a_mold_taller_than_the_printer_does_not_print():
    # 28 mm of lower half with keys of 5 mm on it.
    (finding,) = caught(sound("sleeve"), "printability", "bed", printer=printer(bed_z_mm=30.0))
    assert finding.value == pytest.approx(33.0)


def test_a_shelf_wider_than_a_bridge_needs_support():
    # A slot from the side, 14 mm wide where 10 mm can be bridged and 5 mm deep.
    y = 0.5 * sound("washer").plan.block.y_mm
    slot = kernel.box(-7.0, y - 5.0, -7.9, 7.0, y + 1.0, -6.5)
    (finding,) = caught(cut("washer", "lower", slot), "printability", "overhang")
    assert at(finding, 0.0, y, -6.5, within=3.5)
    assert finding.value == pytest.approx(5.0, abs=0.3)


def test_the_same_shelf_with_walls_closer_than_a_bridge_prints():
    y = 0.5 * sound("washer").plan.block.y_mm
    slot = kernel.box(-4.5, y - 5.0, -7.9, 4.5, y + 1.0, -6.5)
    failed = [f for found in proofs(cut("washer", "lower", slot)).values() for f in found if not f.passed]
    assert failed == []


def test_a_short_shelf_prints_whatever_its_width():
    y = 0.5 * sound("washer").plan.block.y_mm
    slot = kernel.box(-12.0, y - 1.1, -7.9, 12.0, y + 1.0, -6.5)
    lower = readings(cut("washer", "lower", slot), "overhang")[0]
    assert lower.passed
    assert lower.value == pytest.approx(1.1, abs=MESH_MM)


def test_a_shelf_on_the_upper_half_is_judged_upside_down_and_told_as_it_stands():
    # Lying on its top, a slot's floor becomes its roof: here the face at z = 4.
    y = 0.5 * sound("pressed washer").plan.block.y_mm
    slot = kernel.box(-7.0, y - 4.0, 4.0, 7.0, y + 1.0, 6.0)
    (finding,) = caught(cut("pressed washer", "upper", slot), "printability", "overhang")
    assert finding.text.startswith("mold_upper")
    assert at(finding, 0.0, y, 4.0, within=3.5)
    assert finding.where[2] == pytest.approx(4.0, abs=1e-3)


def test_a_collar_on_the_core_hangs_in_the_air():
    mold = with_core(sound("sleeve"), added=[ring(3.0, 7.5, -12.0, -10.0)])
    (finding,) = caught(mold, "printability", "overhang")
    assert finding.text.startswith("core")
    assert finding.value == pytest.approx(2.5, abs=MESH_MM)
    assert finding.where[2] == pytest.approx(-12.0, abs=MESH_MM)


def test_a_funnel_too_flat_for_the_printer_hangs():
    # From the sprue's mouth of some 3 mm to 12 mm over 1.5 mm of height: more than 70° from upright.
    (sprue,) = sound("washer").plan.sprues
    (finding,) = caught(replanned("washer", sprues=(replace(sprue, funnel_mm=1.5),)), "printability", "overhang")
    assert finding.text.startswith("mold_upper")
    assert at(finding, sprue.x_mm, sprue.y_mm, sprue.top_z_mm - 1.5, within=3.0)


def test_a_printer_of_flatter_overhangs_takes_the_same_funnel():
    (sprue,) = sound("washer").plan.sprues
    mold = replanned("washer", sprues=(replace(sprue, funnel_mm=1.5),))
    assert all(f.passed for f in readings(mold, "overhang", printer=printer(overhang_deg=80.0)))


def test_a_wide_undercut_under_a_narrow_mouth_cannot_be_printed_cavity_up():
    # The groove's roof reaches out by 2.5 mm all round, where 1.2 mm hold by themselves.
    mold = cut("washer", "lower", ring(17.0, 20.5, -4.0, -2.5))
    failed = {(name, f.proof): f for name, found in proofs(mold).items() for f in found if not f.passed}
    assert set(failed) == {("printability", "overhang"), ("demoulding", "undercut")}
    assert failed["printability", "overhang"].value == pytest.approx(2.5, abs=MESH_MM)


def test_a_flange_planned_into_a_half_that_would_be_a_roof_over_it_hangs():
    # What the design parts otherwise or refuses: 16 mm at the lid, 18 at the floor, a roof of 2.0 mm between.
    flanged = profile((14.0, -5.0), (18.0, -5.0), (18.0, -3.2), (16.0, -3.2), (16.0, 0.0), (14.0, 0.0))
    cavity = replace(sound("pressed washer").plan.cavity, shape=flanged)
    (finding,) = caught(replanned("pressed washer", cavity=cavity), "printability", "overhang")
    assert finding.text.startswith("mold_lower")
    assert finding.value == pytest.approx(2.0, abs=MESH_MM)
    assert finding.where[2] == pytest.approx(-3.2, abs=MESH_MM)


def test_something_that_starts_in_the_air_is_found():
    # A bridge between two walls of a slot is held at both ends; a tongue that hangs from above is held by nothing.
    y = 0.5 * sound("washer").plan.block.y_mm
    slot = kernel.box(-4.5, y - 4.0, -8.0, 4.5, y + 1.0, -4.0)
    tongue = kernel.box(-1.5, y - 2.5, -6.0, 1.5, y - 0.5, -3.0)
    mold = cut("washer", "lower", slot)
    body = kernel.fused([mold.bodies.lower, tongue], stage="spoiling")
    mold = replace(mold, bodies=replace(mold.bodies, lower=body), lower=meshed(body))
    (finding,) = caught(mold, "printability", "overhang")
    assert at(finding, 0.0, y - 1.5, -6.0, within=1.6)


def test_a_vent_too_fine_for_the_printer_closes_up():
    (vent,) = sound("washer").plan.vents
    (finding,) = caught(replanned("washer", vents=(replace(vent, gate_diameter_mm=0.7),)), "printability", "hole")
    assert finding.value == pytest.approx(0.7, abs=0.02)
    assert at(finding, vent.x_mm, vent.y_mm, 0.3, within=0.3)


def test_a_gate_choked_on_one_side_is_measured_by_what_goes_through():
    # A gate of 2.2 mm and more, with half of it filled up: about 0.9 mm goes through at the land.
    (sprue,) = sound("washer").plan.sprues
    radius = 0.5 * sprue.gate_diameter_mm
    plug = kernel.box(sprue.x_mm - 3.0, -3.0, 0.0, sprue.x_mm + radius - 0.9, 3.0, 1.0)
    # Filling wants half of the gate open right through, and says so too.
    also = ("filling", "openings_open", "reached")
    (finding,) = caught(grown("washer", "upper", plug), "printability", "hole", also=also)
    assert finding.value == pytest.approx(0.9, abs=MESH_MM)
    assert at(finding, sprue.x_mm, sprue.y_mm, 0.3, within=0.3)


def test_a_plugged_vent_is_no_hole_and_left_to_the_proof_of_filling():
    (vent,) = sound("washer").plan.vents
    mold = grown("washer", "upper", kernel.cylinder(2.0, 3.0, vent.x_mm, vent.y_mm, 0.0))
    findings = caught(mold, "filling", "openings_open", "air_pockets")
    assert at(findings[0], vent.x_mm, vent.y_mm, vent.gate_z_mm, within=1e-6)
