"""Splice jig, slitting guide and ring cutter: their measures agree with the belt, and the joint's stress by hand."""

import math

import pytest
from jig_examples import changed, jig, order

from moldgen.errors import RangeError
from moldgen.jigs import splice
from moldgen.jigs.order import NotForThisPartError


def test_the_stress_on_a_scarf_worked_out_by_hand():
    # A 2 x 2 mm belt pulls 0.8 N: 0.8 / 4 = 0.2 MPa along it. Cut at 30°: the joint is 4 / sin 30° = 8 mm2.
    # Force across the joint 0.8 sin 30° = 0.4 N, along it 0.8 cos 30° = 0.692820 N; over 8 mm2:
    # 0.4 / 8 = 0.05 MPa = 50 kPa across, 0.692820 / 8 = 0.0866025 MPa = 86.6025 kPa along.
    made = splice.joint(section_area_mm2=4.0, scarf_deg=30.0, tension_n=0.8)
    assert made.bond_area_mm2 == pytest.approx(8.0)
    assert made.normal_kpa == pytest.approx(50.0)
    assert made.shear_kpa == pytest.approx(86.6025, abs=1e-3)


def test_a_butt_joint_carries_the_whole_stress_and_no_shear():
    made = splice.joint(section_area_mm2=4.0, scarf_deg=90.0, tension_n=0.8)
    assert made.normal_kpa == pytest.approx(200.0)
    assert made.shear_kpa == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("scarf_deg", [10.0, 25.0, 45.0, 70.0])
def test_forces_on_the_joint_add_up_to_the_pull(scarf_deg):
    # Two perpendicular parts of one force: their squares add up.
    made = splice.joint(section_area_mm2=3.0, scarf_deg=scarf_deg, tension_n=1.7)
    force = math.hypot(made.normal_kpa, made.shear_kpa) * made.bond_area_mm2 / 1000.0
    assert force == pytest.approx(1.7)


def test_a_scarf_too_flat_to_cut_is_refused():
    with pytest.raises(RangeError):
        splice.joint(section_area_mm2=4.0, scarf_deg=5.0, tension_n=1.0)


def test_the_splice_of_the_example_belt_by_hand():
    # Fitted section 2.0 x 2.0 mm; motor groove 12.01 mm (mean of 12.02, 12.00, 12.01), the belt lies on its floor:
    # bending strain 2 / (12.01 + 2) = 0.142755. Joint area 4 / 0.5 = 8 mm2.
    d = jig("splice", "loop_drive_belt").dimensions
    assert d["bond_area_mm2"] == pytest.approx(8.0, abs=1e-6)
    assert d["bending_strain"] == pytest.approx(0.142755, abs=1e-6)
    assert d["joint_normal_kpa"] == pytest.approx(1000.0 * d["tension_n"] / 4.0 * 0.25)
    assert d["joint_shear_kpa"] == pytest.approx(1000.0 * d["tension_n"] / 4.0 * 0.4330127)


@pytest.mark.parametrize("spec", ["loop_drive_belt", "changer_platter_belt"])
def test_cord_joined_with_its_overlap_has_the_length_that_the_gauge_asks_for(spec):
    cord, gauge = jig("splice", spec).dimensions, jig("length_gauge", spec).dimensions
    height, _ = order(spec).section_mm
    overlap = height / math.tan(math.radians(cord["scarf_deg"]))
    assert cord["cut_length_mm"] - overlap == pytest.approx(gauge["free_length_mm"], abs=0.01)


def test_the_cords_mold_is_longer_by_the_shrinkage():
    # Cut length and twice 5 mm to trim, over 1 - s; s of this polyurethane is 0.2 % in the table.
    d = jig("splice", "loop_drive_belt").dimensions
    assert d["cord_mold_length_mm"] == pytest.approx((d["cut_length_mm"] + 10.0) / (1 - 0.002), abs=0.01)


def test_a_belt_of_unknown_pulleys_has_a_splice_without_bending():
    one = changed("loop_drive_belt", smallest_pitch_diameter_mm=None)
    assert "bending_strain" not in splice.plan(one).dimensions


def test_the_slitting_guide_and_the_ring_cutter_cut_the_same_belt():
    free = order("loop_drive_belt").free
    guide, cutter = jig("slitting", "loop_drive_belt"), jig("ring_cutter", "loop_drive_belt").dimensions
    assert guide.dimensions["between_edges_mm"] == pytest.approx(free["width_mm"], abs=0.01)
    assert guide.dimensions["sheet_thickness_mm"] == pytest.approx(free["height_mm"], abs=0.01)
    assert cutter["outer_radius_mm"] - cutter["inner_radius_mm"] == pytest.approx(free["height_mm"], abs=0.01)
    middle = math.pi * (cutter["outer_radius_mm"] + cutter["inner_radius_mm"])
    assert middle == pytest.approx(jig("length_gauge", "loop_drive_belt").dimensions["free_length_mm"], abs=0.01)


def test_blades_stand_where_the_edges_are_to_be():
    # Middle planes of the two slots as far apart as the cord is wide.
    guide = jig("slitting", "loop_drive_belt")
    (x0, _, x1, _), (x2, _, x3, _) = (cut.outline.bounds for cut in guide.pieces[0].cuts[-2:])
    assert 0.5 * (x2 + x3) - 0.5 * (x0 + x1) == pytest.approx(guide.dimensions["between_edges_mm"])


def test_the_points_of_the_ring_cutters_blades_are_at_the_rings_radii():
    cutter = jig("ring_cutter", "loop_drive_belt")
    inner, outer = (cut.outline.bounds for cut in cutter.pieces[0].cuts[:2])
    # Turning anticlockwise, the blade at positive x moves to positive y: its leading end is at the greatest y.
    assert math.hypot(0.5 * (outer[0] + outer[2]), outer[3]) == pytest.approx(cutter.dimensions["outer_radius_mm"])
    assert math.hypot(0.5 * (inner[0] + inner[2]), inner[1]) == pytest.approx(cutter.dimensions["inner_radius_mm"])


@pytest.mark.parametrize("name", ["slitting", "ring_cutter"])
def test_round_cord_is_not_cut_from_sheet(name):
    with pytest.raises(NotForThisPartError, match="square or flat"):
        jig(name, "changer_platter_belt")
