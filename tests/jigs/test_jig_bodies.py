"""Every jig of every example: one closed solid on the bed that prints without supports; volumes by hand."""

import dataclasses
import math

import pytest
from jig_examples import FOLDER, jig, order, sized, without_letters
from shapely import Polygon

from moldgen.errors import GeometryError
from moldgen.inspection.in_kernel import closed_solids
from moldgen.inspection.on_meshes import jigs_on_meshes
from moldgen.jigs import NAMES
from moldgen.jigs.bodies import carried_out, made
from moldgen.jigs.order import NotForThisPartError, jigs_of
from moldgen.jigs.plan import Jig
from moldgen.mold.hardware import SCREWS
from moldgen.mold.lettering import outlines
from moldgen.parts import kernel

SPECS = sorted(path.stem for path in FOLDER.glob("*.yaml"))
DEFAULT = {
    "loop_pinch_sleeve": ["arbor", "ring_gauge"],
    "loop_rewind_tyre": ["ring_gauge"],
    "projector_feed_roller": ["ring_gauge"],
    "loop_idler": [],
    "loop_drive_belt": ["length_gauge"],
    "changer_brake_shoe": ["trimming_block"],
    "loop_one_way_pad": ["trimming_block"],
    "changer_foot": [],
}


def possible(spec):
    found = []
    for name in NAMES:
        try:
            found.append(jig(name, spec))
        except NotForThisPartError:
            continue
    return tuple(found)


@pytest.mark.parametrize(("spec", "names"), DEFAULT.items())
def test_parts_get_the_jigs_that_they_need(spec, names):
    assert [one.name for one in jigs_of(sized(spec))] == names


@pytest.mark.slow
@pytest.mark.parametrize("spec", SPECS)
def test_every_jig_that_an_example_can_have_holds_its_proofs(spec):
    jigs = possible(spec)
    bodies = made(jigs, carried_out(jigs))
    findings = [*closed_solids(bodies.bodies), *jigs_on_meshes(bodies.meshes, printer=order(spec).printer)]
    failed = [f.text for f in findings if not f.passed]
    assert failed == []
    for role, mesh in bodies.meshes.items():
        assert mesh.volume_mm3 == pytest.approx(kernel.volume_mm3(bodies.bodies[role]), rel=1e-3), role


def test_the_names_that_a_spec_may_ask_for_are_the_names_of_the_jigs():
    for spec in SPECS:
        for one in possible(spec):
            assert isinstance(one, Jig) and one.name in NAMES
            assert one.pieces[0].role == f"jig_{one.name}"
            assert one.what_for and one.how_to_use


def bare(jig_plan):
    """The jig's bodies without lettering."""
    pieces = tuple(without_letters(piece) for piece in jig_plan.pieces)
    plain = Jig(jig_plan.name, "", (), (), {}, pieces)
    return {role: kernel.volume_mm3(body) for role, body in carried_out((plain,)).items()}


def test_the_arbors_volume_is_that_of_its_cylinders():
    d = jig("arbor", "loop_idler").dimensions
    (screw,) = (s for s in SCREWS if s.hole_mm == d["screw_hole_mm"])
    head = screw.head_height_mm + 0.3
    thick, pocket = head + 4.0, screw.nut_flats_mm + 0.3
    quarter = math.pi / 4
    # The spigot's chamfer is a cone 0.5 mm high: π h (R² + R r + r²) / 3.
    big = 0.5 * d["spigot_diameter_mm"]
    small = big - 0.5
    lead = math.pi * 0.5 * (big**2 + big * small + small**2) / 3
    solid = quarter * d["flange_diameter_mm"] ** 2 * thick
    solid += math.pi * big**2 * (d["spigot_length_mm"] - 0.5) + lead
    hole = quarter * screw.hole_mm**2 * (4.0 + d["spigot_length_mm"])
    hexagon = math.sqrt(3) / 2 * pocket**2 * head  # area of a hexagon by its width across flats
    volumes = bare(jig("arbor", "loop_idler"))
    assert volumes["jig_arbor"] == pytest.approx(solid - hole - hexagon, rel=1e-6)
    washer = quarter * (d["flange_diameter_mm"] ** 2 - screw.hole_mm**2) * 4.0
    assert volumes["jig_arbor_washer"] == pytest.approx(washer, rel=1e-6)


def test_the_length_gauges_volume_is_that_of_plate_and_steps():
    d = jig("length_gauge", "loop_drive_belt").dimensions
    steps = [d["post_diameter_mm"], *(d[f"post_diameter_{k}_percent_long_mm"] for k in (1, 2, 5))]
    rim = 0.5 * steps[-1] + 6.0
    plate = (d["long_side_mm"] + 2 * rim) * 2 * rim - (4 - math.pi) * 6.0**2
    posts = 2 * math.pi / 4 * sum(step**2 for step in steps) * d["step_height_mm"]
    volumes = bare(jig("length_gauge", "loop_drive_belt"))
    assert volumes["jig_length_gauge"] == pytest.approx(4.0 * plate + posts, rel=1e-6)


def test_the_ring_gauges_volume_is_the_plate_less_two_holes():
    d = jig("ring_gauge", "loop_pinch_sleeve").dimensions
    go, no_go = d["go_diameter_mm"], d["no_go_diameter_mm"]
    plate = (go + no_go + 15.0) * (go + 10.0 + 9.0) - (4 - math.pi) * 3.0**2
    holes = math.pi / 4 * (go**2 + no_go**2)
    assert bare(jig("ring_gauge", "loop_pinch_sleeve"))["jig_ring_gauge"] == pytest.approx(5.0 * (plate - holes))


def test_lettering_takes_something_from_the_gauge():
    whole = bare(jig("ring_gauge", "loop_pinch_sleeve"))["jig_ring_gauge"]
    (engraved,) = carried_out((jig("ring_gauge", "loop_pinch_sleeve"),)).values()
    assert 5.0 < whole - kernel.volume_mm3(engraved) < 50.0


def test_the_splice_lids_volume_is_plate_and_ribs_less_holes_and_slot():
    d = jig("splice", "loop_drive_belt").dimensions
    lid = jig("splice", "loop_drive_belt").pieces[1]
    x0, y0, x1, y1 = lid.solids[0].outline.bounds
    holes = 4 * math.pi / 4 * 4.5**2  # M4, medium clearance of ISO 273
    # A slot of width t from side to side of a strip 2 b wide, at 30° to its length: 2 b t / sin 30°.
    across = d["channel_width_mm"] + 12.0
    slot = across * d["blade_slot_mm"] / 0.5
    plate = 8.0 * ((x1 - x0) * (y1 - y0) - (4 - math.pi) * 4.0**2 - holes - slot)
    # Ribs a clearance narrower than the channel on each side, from 1 mm inside the rim to 1.5 mm off the overlap.
    rib = (d["channel_width_mm"] - 0.4) * (y1 - 1.0 - 0.5 * d["overlap_mm"] - 1.5) * 0.08 * d["channel_depth_mm"]
    volumes = bare(jig("splice", "loop_drive_belt"))
    # The slot passes between the ribs' ends and takes at most a thousandth of the lid from them.
    assert volumes["jig_splice_lid"] == pytest.approx(plate + 2 * rib, rel=1e-3)


def test_the_ring_cutters_volume_is_the_bar_less_slots_and_pin():
    d = jig("ring_cutter", "loop_drive_belt").dimensions
    long = d["inner_radius_mm"] + d["outer_radius_mm"] + 28.0
    bar = long * 24.0 - (4 - math.pi) * 6.0**2
    cuts = 2 * 0.5 * 9.1 + math.pi / 4 * 3.2**2
    assert bare(jig("ring_cutter", "loop_drive_belt"))["jig_ring_cutter"] == pytest.approx(14.0 * (bar - cuts))


def test_letters_on_levels_of_one_body_take_their_own_areas_and_no_more():
    # The coupon's numbers stand on its plate and on four treads; each takes its inked area times 0.5 mm.
    coupon = jig("coupon", "loop_idler")
    inked = sum(
        Polygon(area.exterior, area.holes).area
        for label in coupon.pieces[0].labels
        for area in outlines(text=label.text, height_mm=label.height_mm, stroke_width_mm=0.6)
    )
    (engraved,) = carried_out((coupon,)).values()
    assert bare(coupon)["jig_coupon"] - kernel.volume_mm3(engraved) == pytest.approx(0.5 * inked, rel=1e-4)


def test_text_over_an_edge_is_refused():
    gauge = jig("ring_gauge", "loop_pinch_sleeve")
    (piece,) = gauge.pieces
    off = dataclasses.replace(piece.labels[0], x_mm=piece.labels[0].x_mm - 12.0)
    spoiled = dataclasses.replace(gauge, pieces=(dataclasses.replace(piece, labels=(off,)),))
    with pytest.raises(GeometryError, match="beyond the face"):
        carried_out((spoiled,))
