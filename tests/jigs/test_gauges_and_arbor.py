"""Jigs that check a belt's length and a roller's diameter agree with the sizes that the part has."""

import math

import pytest
from jig_examples import changed, jig, order

from moldgen.jigs import length_gauge
from moldgen.jigs.order import NotForThisPartError

BELTS = ("loop_drive_belt", "changer_platter_belt", "projector_reel_belt")


@pytest.mark.parametrize("spec", BELTS)
def test_the_gauge_is_as_long_as_the_free_ring(spec):
    # The free ring's middle is a circle midway between inside and outside diameter.
    free, gauge = order(spec).free, jig("length_gauge", spec).dimensions
    ring = math.pi * 0.5 * (free["inner_diameter_mm"] + free["outer_diameter_mm"])
    assert gauge["free_length_mm"] == pytest.approx(ring, abs=0.01)
    height = 0.5 * (free["outer_diameter_mm"] - free["inner_diameter_mm"])
    round_posts = math.pi * (gauge["post_diameter_mm"] + height)
    assert 2 * (gauge["long_side_mm"] + gauge["short_side_mm"]) + round_posts == pytest.approx(ring, abs=0.01)


@pytest.mark.parametrize(("name", "share"), [("1", 0.01), ("2", 0.02), ("5", 0.05)])
def test_a_belt_too_long_by_a_share_lies_on_its_step(name, share):
    free, gauge = order("loop_drive_belt").free, jig("length_gauge", "loop_drive_belt").dimensions
    # Plane geometry: two straight runs, and half a circle round each post along the belt's middle.
    post = gauge[f"post_diameter_{name}_percent_long_mm"]
    length = 2 * gauge["long_side_mm"] + math.pi * (post + free["height_mm"])
    assert length == pytest.approx((1 + share) * free["length_mm"], abs=0.01)


@pytest.mark.parametrize("length_mm", [60.0, 120.0, 400.0, 520.0, 700.0])
def test_gauges_of_all_lengths_measure_their_belt_and_lie_on_the_bed(length_mm):
    belt = order("loop_drive_belt")
    one = changed("loop_drive_belt", free={**belt.free, "length_mm": length_mm})
    gauge = length_gauge.plan(one)
    d = gauge.dimensions
    long_mm = 2 * (d["long_side_mm"] + d["short_side_mm"]) + math.pi * (d["post_diameter_mm"] + belt.free["height_mm"])
    assert long_mm == pytest.approx(length_mm, abs=0.001)
    x0, y0, x1, y1 = gauge.pieces[0].solids[0].outline.bounds
    assert x1 - x0 <= belt.printer.bed_x_mm and y1 - y0 <= belt.printer.bed_y_mm


def test_a_belt_beyond_every_bed_is_told_so():
    belt = order("loop_drive_belt")
    with pytest.raises(NotForThisPartError, match="does not lie on the bed"):
        length_gauge.plan(changed("loop_drive_belt", free={**belt.free, "length_mm": 1500.0}))


def test_the_arbor_holds_the_bore_as_the_metal_does_and_stops_at_the_wanted_diameter():
    # The spec's own readings: an 8.00 mm core (mean of 8.01, 7.99, 8.00), a roller of 14.0 mm, 11.0 mm long.
    arbor, ring = (jig(name, "loop_pinch_sleeve").dimensions for name in ("arbor", "ring_gauge"))
    assert arbor["spigot_diameter_mm"] == pytest.approx(8.0, abs=0.01)
    assert arbor["spigot_length_mm"] == pytest.approx(11.0, abs=0.01)
    assert arbor["stop_diameter_mm"] == pytest.approx(14.0, abs=0.01)
    assert 0.5 * (ring["go_diameter_mm"] + ring["no_go_diameter_mm"]) == pytest.approx(14.0, abs=0.01)
    assert ring["no_go_diameter_mm"] < arbor["stop_diameter_mm"] < ring["go_diameter_mm"]


def test_the_flanges_stay_inside_the_ground_surface_and_overlap_the_rubber():
    arbor = jig("arbor", "loop_idler").dimensions
    assert arbor["spigot_diameter_mm"] < arbor["flange_diameter_mm"] < arbor["stop_diameter_mm"]


def test_a_bore_too_thin_for_a_screw_is_told_what_to_do():
    with pytest.raises(NotForThisPartError, match="screw") as refused:
        jig("arbor", "loop_rewind_tyre")
    assert "steel rod" in refused.value.way_out


@pytest.mark.parametrize("name", ["arbor", "ring_gauge", "trimming_block"])
def test_a_jig_for_other_parts_is_refused_for_a_belt(name):
    with pytest.raises(NotForThisPartError):
        jig(name, "loop_drive_belt")


def test_offsets_of_the_printer_are_undone_in_gauge_and_arbor():
    # A hole's wall that prints 0.1 mm inside makes the hole 0.2 mm too small: model it as much larger.
    from moldgen.jigs.plan import boss_mm, hole_mm

    printer = order("loop_idler").printer.model_copy(update={"hole_offset_mm": 0.1, "boss_offset_mm": 0.05})
    assert hole_mm(printer, 14.0) == pytest.approx(14.2)
    assert boss_mm(printer, 8.0) == pytest.approx(7.9)
