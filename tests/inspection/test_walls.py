"""Walls and lands: what is thinned or pierced on purpose is found where it is, and measured as it was cut."""

from dataclasses import replace

import pytest
from spoiled import FILAMENT, at, caught, cut, replanned, ring, sound, wedge_of

from moldgen.inspection.walls import walls
from moldgen.parts import kernel
from moldgen.shapes import Path, Vertex

MESH_MM = 0.05


def test_a_floor_thinned_from_below_is_found_under_the_cavity():
    # The cavity's floor lies at z = -5.0; a pocket up to z = -5.5 leaves half a millimetre.
    mold = cut("tyre", "lower", kernel.box(-3.0, -19.0, -20.0, 3.0, -13.0, -5.5))
    (finding,) = caught(mold, "walls", "wall")
    assert finding.value == pytest.approx(0.5, abs=0.01)
    assert finding.limit == FILAMENT.least_wall_mm
    assert at(finding, 0.0, -16.0, -5.25, within=3.0)
    assert finding.where[2] == pytest.approx(-5.25, abs=MESH_MM)


def test_a_side_wall_thinned_from_outside_is_found_where_it_is_thinnest():
    # The cavity's wall stands at 18.0 mm from the axis, a slot from the side ends at 18.6: 0.6 mm between them.
    mold = cut("tyre", "lower", kernel.box(-4.0, 18.6, -4.2, 4.0, 40.0, -3.0))
    (finding,) = caught(mold, "walls", "wall")
    assert finding.value == pytest.approx(0.6, abs=MESH_MM)
    assert at(finding, 0.0, 18.3, -3.6, within=1.5)


def test_a_corner_that_points_at_the_side_is_as_near_to_it_as_it_is():
    # Its faces lean by 30 degrees, and straight in from them the side is 0.6/cos 30 = 0.69 mm away.
    mold = sound("tyre")
    x, low = -0.5 * mold.plan.block.x_mm, -mold.plan.block.lower_mm
    corner = Path((Vertex(x + 0.6, 0.0), Vertex(x + 3.0, -4.1569), Vertex(x + 3.0, 4.1569)))  # tan 30 = 2.4/4.1569
    pocket = kernel.extruded(corner, [], 3.0, stage="pocket", z_mm=low - 1.0)
    (finding,) = caught(cut("tyre", "lower", pocket), "walls", "wall")
    assert finding.value == pytest.approx(0.6, abs=0.02)
    assert at(finding, x + 0.3, 0.0, low + 1.0, within=1.5)


def test_a_body_thin_all_over_is_measured_across_its_own_box():
    mold = sound("tyre")
    (finding,) = caught(wedge_of(mold, kernel.box(-100.0, -100.0, 0.5, 100.0, 100.0, 100.0)), "walls", "wall")
    assert finding.text.startswith("jig_wedge")
    assert finding.value == pytest.approx(0.5, abs=1e-4)


def test_the_wedge_is_measured_as_well():
    mold = sound("tyre")
    x = -0.5 * mold.plan.block.x_mm + 2.0
    # 1.5 mm thick at its thin end, and 2 mm farther in 0.2 mm more; a pocket of 1.1 mm leaves 0.6.
    pocket = kernel.box(x, -2.0, -1.0, x + 4.0, 2.0, 1.1)
    (finding,) = caught(wedge_of(mold, pocket), "walls", "wall")
    assert finding.text.startswith("jig_wedge")
    assert finding.value == pytest.approx(1.5 + 2.0 * 0.10510 - 1.1, abs=0.02)  # tan 6° = 0.10510


def test_a_wall_between_two_cavities_is_found_in_a_mold_of_four():
    # From below, a slot beside the last cavity's wall at 18.0 mm from its axis leaves 0.7 mm of it.
    (x, y) = sound("four tyres").plan.places[-1]
    slot = kernel.box(x - 21.0, y - 3.0, -20.0, x - 18.7, y + 3.0, -2.5)
    (finding,) = caught(cut("four tyres", "lower", slot), "walls", "wall")
    assert finding.value == pytest.approx(0.7, abs=MESH_MM)
    assert at(finding, x - 18.35, y, -3.5, within=1.5)


def test_the_same_wall_is_enough_for_a_finer_printer():
    mold = cut("tyre", "lower", kernel.box(-3.0, -19.0, -20.0, 3.0, -13.0, -5.7))
    fine = FILAMENT.model_copy(update={"least_wall_mm": 0.6})
    found = list(walls(mold, printer=fine))
    assert all(f.passed for f in found)
    assert found[0].value == pytest.approx(0.7, abs=0.01)


def test_ridges_between_letters_are_no_walls():
    # Strokes 0.5 mm deep stand closer together than the least wall; a deep slot as narrow would be one.
    mold = sound("tyre")
    assert mold.plan.labels
    front = -0.5 * mold.plan.block.y_mm
    slots = [kernel.box(x, front - 1.0, -7.5, x + 1.0, front + 3.0, -6.0) for x in (-10.0, -8.4)]
    (finding,) = caught(cut("tyre", "lower", *slots), "walls", "wall")
    assert finding.value == pytest.approx(0.6, abs=0.01)
    assert at(finding, -8.7, front + 1.5, -6.75, within=1.6)


def test_a_hole_through_the_lower_land_leaves_what_lies_between_it_and_the_mouth():
    # The tyre's mouth is 17.6 mm in radius and, 0.01 mm under the parting, about 0.09 more; a hole from 18.9 on.
    mold = cut("tyre", "lower", kernel.cylinder(0.6, 40.0, 0.0, 19.5, -20.0))
    (finding,) = caught(mold, "walls", "land")
    assert finding.text.startswith("mold_lower")
    assert finding.value == pytest.approx(18.9 - 17.6 - 0.09, abs=0.06)
    assert at(finding, 0.0, 18.9, 0.0, within=0.1)


def test_a_hole_in_the_upper_half_over_the_land_is_found_too():
    mold = cut("washer", "upper", kernel.cylinder(0.6, 40.0, 0.0, 19.5, -1.0))
    (finding,) = caught(mold, "walls", "land")
    assert finding.text.startswith("mold_upper")
    assert at(finding, 0.0, 18.9, 0.0, within=0.1)


def test_a_slot_across_the_land_leaves_nothing():
    mold = cut("washer", "lower", kernel.box(17.0, -0.5, -0.4, 22.0, 0.5, 1.0))
    (finding,) = caught(mold, "walls", "land")
    assert finding.value < 0.2
    assert at(finding, 18.0, 0.0, 0.0, within=0.6)


def test_a_land_shaved_all_round_is_too_narrow():
    mold = cut("washer", "lower", ring(19.4, 22.0, -0.5, 1.0))
    (finding,) = caught(mold, "walls", "land")
    assert finding.value == pytest.approx(1.4, abs=MESH_MM)


def test_a_dent_beside_the_mouth_of_a_flat_part_is_found():
    (x, y), *_ = sound("pad").plan.places
    dent = kernel.box(x + 8.0, y + 11.3, -0.3, x + 9.0, y + 12.0, 1.0)
    (finding,) = caught(cut("pad", "lower", dent), "walls", "land")
    assert finding.value == pytest.approx(1.3, abs=MESH_MM)
    assert at(finding, x + 8.5, y + 11.3, 0.0, within=0.6)


def test_a_land_of_the_last_of_four_cavities_is_looked_at():
    *_, (x, y) = sound("four pads").plan.places
    mold = cut("four pads", "lower", kernel.box(x + 8.0, y + 11.3, -0.3, x + 9.0, y + 12.0, 1.0))
    (finding,) = caught(mold, "walls", "land")
    assert at(finding, x + 8.5, y + 11.3, 0.0, within=0.6)


def test_a_gate_moved_onto_the_land_is_a_leak():
    plan = sound("washer").plan
    (sprue,) = plan.sprues
    mold = replanned("washer", sprues=(replace(sprue, x_mm=-19.0),))
    (finding,) = caught(mold, "walls", "land")
    assert finding.text.startswith("mold_upper")
    assert at(finding, -18.1, 0.0, 0.0, within=1.0)


def test_a_vent_moved_too_close_to_the_sprue_leaves_a_thin_wall():
    plan = sound("pad").plan
    (sprue,), (vent,) = plan.sprues, plan.vents
    apart = 0.5 * (sprue.gate_diameter_mm + vent.gate_diameter_mm) + 0.4
    straight = replace(vent, x_mm=sprue.x_mm, y_mm=sprue.y_mm + apart, mouth_diameter_mm=vent.gate_diameter_mm)
    pipe = replace(sprue, mouth_diameter_mm=sprue.gate_diameter_mm, funnel_diameter_mm=0.0, funnel_mm=0.0)
    spoiled = replanned("pad", sprues=(pipe,), vents=(straight,))
    (finding,) = caught(spoiled, "walls", "wall", also=("filling", "air_pockets"))  # nothing vents the high end now
    assert finding.text.startswith("mold_upper")
    assert finding.value == pytest.approx(0.4, abs=MESH_MM)


def test_a_lip_that_thins_out_over_a_rounded_edge_is_no_thin_wall():
    # The tyre's rounded edge of 0.4 mm ends tangent to the parting plane: the lower half thins out to nothing there.
    assert all(f.passed for f in walls(sound("tyre"), printer=FILAMENT))


def test_a_thin_sheet_is_found_though_it_ends_in_a_sharp_edge():
    # A fin 0.5 mm thick over the relief, standing free by 6 mm: only its outermost 1.5 mm could pass for a lip.
    mold = sound("washer")
    x = -0.5 * mold.plan.block.x_mm
    slot = kernel.box(x - 1.0, -4.0, -4.0, x + 6.0, 4.0, -0.65)
    (finding,) = caught(cut("washer", "lower", slot), "walls", "wall")
    assert finding.value == pytest.approx(0.5, abs=0.01)  # under a relief of 0.15 mm
