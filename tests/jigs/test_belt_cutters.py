"""Splice jig, slitting guide and ring cutter: their measures agree with the belt, and the joint's stress by hand."""

import math

import pytest
from jig_examples import FOLDER, changed, jig, order, sized

from moldgen import case, planning, sizing
from moldgen.errors import SpecError
from moldgen.jigs import length_gauge, ring_cutter, slitting, splice
from moldgen.jigs.order import NotForThisPartError, jigs_of, ordered
from moldgen.spec.document import parse

CORD = """
family: belt
name: cord_belt
elastomer: pu_60a
measured: {{path_length: 735 ± 0.5 mm}}
wanted: {{section: {section}, stretch: 5 %, make: {make}}}
printer: {{based_on: filament_0_4, bed_x: {bed} mm, bed_y: {bed} mm}}
jigs: [splice]
cutting: {{{cutting}}}
"""
SQUARE, ROUND = "square, height: 2 mm", "round, diameter: 2 mm"


def cord(*, section=SQUARE, make="cord", bed=180, cutting=""):
    """735 mm round the pulleys: 700 mm free at 5 % of stretch."""
    text = CORD.format(section=section, make=make, bed=bed, cutting=cutting)
    return sizing.size(case.from_document(parse(text, "belt.yaml")))


def engraved(jig_plan):
    return [label.text for piece in jig_plan.pieces for label in piece.labels]


def test_the_splice_of_the_example_belt_by_hand():
    # Fitted section 2.0 x 2.0 mm; motor groove 12.01 mm (mean of 12.02, 12.00, 12.01), the belt lies on its floor:
    # bending strain 2 / (12.01 + 2) = 0.142755. Joint area 4 / 0.5 = 8 mm2.
    d = jig("splice", "loop_drive_belt").dimensions
    assert d["bond_area_mm2"] == pytest.approx(8.0, abs=1e-6)
    assert d["bending_strain"] == pytest.approx(0.142755, abs=1e-6)
    # Neo-Hookean pull (Treloar, 3rd ed., ch. 4) at a stretch L: F = G A0 (L - 1/L2), A0 = 4 L as volume is kept.
    ratio = order("loop_drive_belt").fitted["length_mm"] / order("loop_drive_belt").free["length_mm"]
    shear_mpa = sized("loop_drive_belt").case.given.elastomer.shear_modulus_mpa
    assert d["tension_n"] == pytest.approx(shear_mpa * 4.0 * ratio * (ratio - ratio**-2))
    assert d["joint_normal_kpa"] == pytest.approx(1000.0 * d["tension_n"] / 4.0 * 0.25)
    assert d["joint_shear_kpa"] == pytest.approx(1000.0 * d["tension_n"] / 4.0 * 0.4330127)


@pytest.mark.parametrize("spec", ["loop_drive_belt", "changer_platter_belt"])
def test_cord_joined_with_its_overlap_has_the_length_that_the_gauge_asks_for(spec):
    cord, gauge = jig("splice", spec).dimensions, jig("length_gauge", spec).dimensions
    height, _ = order(spec).section_mm
    overlap = height / math.tan(math.radians(cord["scarf_deg"]))
    assert cord["cut_length_mm"] - overlap == pytest.approx(gauge["free_length_mm"], abs=0.01)


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


@pytest.mark.parametrize("section", [SQUARE, ROUND])
def test_the_length_on_the_jig_is_worked_out_by_hand_and_the_molds_is_longer_by_the_shrinkage(section):
    # 735 mm of path at 5 % of stretch: 700 mm free. Volume kept, the 2 mm section is 2 sqrt(1.05) = 2.049390 mm free.
    # A scarf at 30 degrees through it: 2.049390 / tan 30 = 3.549648 mm. The bed of 180 mm takes six cords to a belt:
    # 700 / 6 + 3.549648 = 120.216315 mm each. In the mold, over 1 - 0.002 and 5 mm to cut off at either end:
    # 120.216315 / 0.998 + 10 = 130.457230 mm.
    found = cord(section=section)
    (one,) = jigs_of(found)
    assert one.dimensions["cut_length_mm"] == pytest.approx(120.2163, abs=0.0005)
    assert "6×120.22" in engraved(one)
    assert one.dimensions["cord_mold_length_mm"] == pytest.approx(130.4572, abs=0.0005)
    x0, _, x1, _ = planning.planned(found).cavity.shape.outline.bounds
    assert x1 - x0 == pytest.approx(130.4572, abs=0.0005)


def test_a_flatter_scarf_takes_a_longer_cord():
    # 2.049390 / tan 20 = 5.630652; 700 / 6 + 5.630652 = 122.297319.
    (one,) = jigs_of(cord(cutting="scarf: 20°"))
    assert "6×122.30" in engraved(one)


def test_one_cord_for_one_belt_has_its_length_alone_on_the_jig():
    # 700 + 3.549648.
    (one,) = jigs_of(cord(make="meander", bed=200))
    assert "703.55" in engraved(one)


def test_ring_cord_gauge_and_cutters_agree_on_one_belt():
    # The same belt, cast as a ring on a bed that holds it: its middle, shrunk, is what cord and gauge are made for.
    ring = cord(make="ring", bed=300)
    shrunk = 1.0 - 0.002
    middle = math.pi * 0.5 * (ring.mold["inner_diameter_mm"].value + ring.mold["outer_diameter_mm"].value) * shrunk
    d = jigs_of(cord())[0].dimensions
    assert d["pieces"] * (d["cut_length_mm"] - d["overlap_mm"]) == pytest.approx(middle, abs=0.01)
    large = ordered(ring)
    gauge = length_gauge.plan(large).dimensions
    height = 2.0 * math.sqrt(1.05)
    over_posts = 2 * (gauge["long_side_mm"] + gauge["short_side_mm"]) + math.pi * (gauge["post_diameter_mm"] + height)
    assert over_posts == pytest.approx(middle, abs=0.01)
    cutter = ring_cutter.plan(large).dimensions
    assert math.pi * (cutter["inner_radius_mm"] + cutter["outer_radius_mm"]) == pytest.approx(middle, abs=0.01)


def test_a_round_joint_by_hand():
    # 2 mm round in place: pi mm2; at 30 degrees twice that.
    (one,) = jigs_of(cord(section=ROUND))
    assert one.dimensions["bond_area_mm2"] == pytest.approx(2.0 * math.pi)
    assert any("line along the cord" in sentence for sentence in one.how_to_use)


def test_what_the_joint_bears_is_told_and_recorded():
    one = jig("splice", "loop_drive_belt")
    recorded = one.as_json()
    for name in ("bond_area_mm2", "joint_normal_kpa", "joint_shear_kpa", "bending_strain"):
        assert recorded["dimensions"][name] == pytest.approx(one.dimensions[name], rel=1e-6)
    assert "8.0 mm²" in one.what_for and "strained by 14.3%" in one.what_for


def test_blades_as_they_are_set_slots_and_distances():
    # 0.6 mm thick: the splice's slot with 0.15 mm of play; the slitting guide's blades 0.2 mm farther apart, both of
    # the ring cutter's 0.2 mm farther out, the splice's slot 0.2 mm off its place, which is as far behind the middle
    # as JOIN is in front of it.
    blades = {"blade_mm": 0.6, "blade_offset_mm": 0.2}
    one = splice.plan(changed("loop_drive_belt", **blades))
    assert one.dimensions["blade_slot_mm"] == pytest.approx(0.75)
    slot, relief_at_join = (cut.outline.centroid for cut in one.pieces[0].cuts[1:3])
    assert slot.y + relief_at_join.y == pytest.approx(0.2)
    guide = slitting.plan(changed("loop_drive_belt", **blades)).dimensions
    assert guide["between_edges_mm"] == pytest.approx(order("loop_drive_belt").free["width_mm"] + 0.2)
    (_, _, x1, _), (x0, _, _, _) = (
        cut.outline.bounds for cut in ring_cutter.plan(changed("loop_drive_belt", **blades)).pieces[0].cuts[:2]
    )
    assert engraved(ring_cutter.plan(changed("loop_drive_belt", **blades))) == engraved(
        jig("ring_cutter", "loop_drive_belt")  # the ring's own diameters, whatever the blades
    )
    free = order("loop_drive_belt").free
    assert x0 - x1 == pytest.approx(0.5 * (free["inner_diameter_mm"] + free["outer_diameter_mm"]) + 0.4 - 0.7)


@pytest.mark.parametrize(
    ("cutting", "field", "limit"),
    [("scarf: 5°", "cutting.scarf", "10 and 90"), ("blade: 3 mm", "cutting.blade", "0.1 and 1.5")],
)
def test_a_blade_or_a_scarf_out_of_reason_is_refused_where_it_stands(cutting, field, limit):
    with pytest.raises(SpecError) as caught:
        cord(cutting=cutting)
    (problem,) = caught.value.problems
    assert problem.field == field and limit in problem.limit


def test_a_tyre_is_not_cut():
    text = (FOLDER / "loop_idler.yaml").read_text(encoding="utf-8") + "\ncutting: {scarf: 30°}\n"
    with pytest.raises(SpecError) as caught:
        case.from_document(parse(text, (FOLDER / "loop_idler.yaml").as_posix()))
    (problem,) = caught.value.problems
    assert problem.field == "cutting" and "not cut" in problem.limit


def test_a_cord_gets_its_splice_unasked():
    text = CORD.format(section=SQUARE, make="cord", bed=300, cutting="").replace("jigs: [splice]", "")
    found = jigs_of(sizing.size(case.from_document(parse(text, "belt.yaml"))))
    assert [one.name for one in found] == ["length_gauge", "splice"]
