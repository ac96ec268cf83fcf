"""The plan of a mold: volumes by hand, a block that closes one way, hardware that fits, and what is refused."""

import itertools
import math

import pytest

from moldgen import case, sizing
from moldgen.errors import SpecError
from moldgen.mold.hardware import SCREWS
from moldgen.planning import planned
from moldgen.spec.document import parse

STRETCHED = """\
family: idler_tyre
name: rim
elastomer: pu_60a
measured: {hub_diameter: 30 mm, hub_width: 6 mm}
wanted: {fitted_diameter: 38 mm, fitted_width: 5 mm, stretch: 5 %}
"""
CAST_ON = """\
family: idler_tyre
name: rim
elastomer: pu_70a
measured: {hub_diameter: 22 mm, hub_width: 6.35 mm, hub_bore: 4 mm}
wanted: {fitted_diameter: 29 mm, fitted_width: 6.35 mm, mount: cast_on}
"""
SPECS = {
    "stretched": STRETCHED,
    "cast on": CAST_ON,
    "six": STRETCHED + "quantity: 6\n",
    "twelve": STRETCHED + "quantity: 12\n",
    "small": STRETCHED.replace("30 mm", "6 mm").replace("38 mm", "12 mm"),
    "large": STRETCHED.replace("30 mm", "110 mm").replace("38 mm", "125 mm"),
    "tall": STRETCHED.replace("6 mm", "40 mm").replace("5 mm", "38 mm"),
    "clamped": STRETCHED + "mold: {closing: clamp}\n",
    "screwed": STRETCHED.replace("30 mm", "6 mm").replace("38 mm", "12 mm") + "mold: {closing: screws}\n",
    "syringe": STRETCHED + "mold: {fill: syringe}\n",
    "pressed": STRETCHED + "mold: {fill: press}\n",
}
EACH = pytest.mark.parametrize("spec", SPECS.values(), ids=SPECS.keys())


def plan_of(spec):
    return planned(sizing.size(case.from_document(parse(spec, "rim.yaml"))))


def refusals(spec):
    with pytest.raises(SpecError) as caught:
        plan_of(spec)
    return caught.value.problems


def frustum(low, high, height):
    """pi h (r² + r R + R²)/3, from two diameters."""
    r, big = 0.5 * low, 0.5 * high
    return math.pi * height * (r * r + r * big + big * big) / 3.0


def distance(a, b):
    return math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm)


# --- volumes ---------------------------------------------------------------------------------------


def test_a_square_edged_cavity_is_the_hollow_cylinder_of_the_mold_s_dimensions():
    sized = sizing.size(case.from_document(parse(STRETCHED, "rim.yaml")))
    outer, inner, width = (sized.mold[n].value for n in ("outer_diameter_mm", "inner_diameter_mm", "width_mm"))
    assert planned(sized).cavity.volume_mm3 == pytest.approx(math.pi / 4.0 * (outer**2 - inner**2) * width, rel=1e-9)


def test_round_edges_take_two_turned_spandrels_off_the_cavity():
    # A square of side r less its quarter disc: area (1 − pi/4) r², its centroid r (10 − 3 pi)/(12 − 3 pi) from the
    # corner. Turned once round (Pappus) at either edge.
    sized = sizing.size(case.from_document(parse(STRETCHED.replace("5 %}", "5 %, edge: round 0.4 mm}"), "rim.yaml")))
    outer, inner, width, r = (
        sized.mold[n].value for n in ("outer_diameter_mm", "inner_diameter_mm", "width_mm", "edge_mm")
    )
    away = 0.5 * outer - r * (10.0 - 3.0 * math.pi) / (12.0 - 3.0 * math.pi)
    spandrels = 2.0 * (1.0 - math.pi / 4.0) * r * r * math.tau * away
    wanted = math.pi / 4.0 * (outer**2 - inner**2) * width - spandrels
    assert planned(sized).cavity.volume_mm3 == pytest.approx(wanted, rel=1e-9)


@EACH
def test_the_pour_is_cavities_lands_cones_and_funnels(spec):
    plan = plan_of(spec)
    by_hand = len(plan.places) * plan.cavity.volume_mm3
    for o in (*plan.sprues, *plan.vents):
        neck = o.top_z_mm - o.funnel_mm
        by_hand += math.pi / 4.0 * o.gate_diameter_mm**2 * o.land_mm
        by_hand += frustum(o.gate_diameter_mm, o.mouth_diameter_mm, neck - o.gate_z_mm - o.land_mm)
        by_hand += frustum(o.mouth_diameter_mm, o.funnel_diameter_mm, o.funnel_mm) if o.funnel_mm else 0.0
    assert plan.pour_mm3 == pytest.approx(by_hand, rel=1e-9)


@EACH
def test_the_block_is_a_box_with_round_corners(spec):
    block = plan_of(spec).block
    corners = 4.0 * (1.0 - math.pi / 4.0) * block.corner_mm**2
    height = block.lower_mm + block.upper_mm
    assert block.volume_mm3 == pytest.approx((block.x_mm * block.y_mm - corners) * height, rel=1e-12)


# --- openings --------------------------------------------------------------------------------------


@EACH
def test_openings_widen_upwards_end_at_one_level_and_stand_on_their_cavity(spec):
    plan = plan_of(spec)
    openings = (*plan.sprues, *plan.vents)
    assert {o.top_z_mm for o in openings} <= {plan.block.upper_mm}
    for o in openings:
        assert o.gate_diameter_mm < o.mouth_diameter_mm
        assert o.funnel_mm == 0.0 or o.mouth_diameter_mm < o.funnel_diameter_mm
        assert 0.0 < o.land_mm < o.top_z_mm - o.gate_z_mm - o.funnel_mm
        x, y = min(plan.places, key=lambda place: math.hypot(o.x_mm - place[0], o.y_mm - place[1]))
        radius = math.hypot(o.x_mm - x, o.y_mm - y)
        inner, _, outer, _ = plan.cavity.shape.profile.bounds
        assert inner < radius - 0.5 * o.gate_diameter_mm
        assert radius + 0.5 * o.gate_diameter_mm < outer


@EACH
def test_mouths_keep_apart_and_inside_the_block(spec):
    plan = plan_of(spec)
    openings = [(o, max(o.mouth_diameter_mm, o.funnel_diameter_mm)) for o in (*plan.sprues, *plan.vents)]
    for (a, wide_a), (b, wide_b) in itertools.combinations(openings, 2):
        assert distance(a, b) > 0.5 * (wide_a + wide_b)
    for o, wide in openings:
        assert abs(o.x_mm) + 0.5 * wide < 0.5 * plan.block.x_mm
        assert abs(o.y_mm) + 0.5 * wide < 0.5 * plan.block.y_mm


def test_a_pressed_mold_has_no_gate_and_lies_level():
    plan = plan_of(SPECS["pressed"])
    assert (plan.sprues, plan.vents, plan.wedge, plan.attitude.tilt_deg) == ((), (), None, 0.0)
    assert plan.pour_mm3 == plan.cavity.volume_mm3


def test_a_syringe_s_socket_is_the_conical_fitting_s():
    # ISO 80369-7, from memory: a 6 % taper, 4.27 to 4.31 mm at its mouth, at least 7.5 mm deep.
    (sprue,) = plan_of(SPECS["syringe"]).sprues
    assert 4.27 <= sprue.funnel_diameter_mm <= 4.31
    assert sprue.funnel_mm >= 7.5
    assert (sprue.funnel_diameter_mm - sprue.mouth_diameter_mm) / sprue.funnel_mm == pytest.approx(0.06, rel=1e-6)


def test_a_tilted_mold_s_wedge_raises_the_vents_over_the_sprue():
    plan = plan_of(STRETCHED)
    assert plan.attitude.tilt_deg >= 3.0
    assert plan.wedge is not None
    assert plan.wedge.tilt_deg == plan.attitude.tilt_deg
    up_x, _, up_z = plan.attitude.up

    def height(o):
        return o.x_mm * up_x + o.gate_z_mm * up_z

    assert max(map(height, plan.sprues)) < min(map(height, plan.vents))
    # What stands in the funnel must reach the top of the cavity: its low lip over the cavity's high end.
    (sprue,) = plan.sprues
    lip = (sprue.x_mm - 0.5 * sprue.funnel_diameter_mm) * up_x + sprue.top_z_mm * up_z
    assert lip > plan.cavity.shape.profile.bounds[2] * up_x + plan.cavity.above_mm * up_z


# --- the block -------------------------------------------------------------------------------------


@EACH
def test_halves_turned_about_meet_no_socket_with_any_key(spec):
    plan = plan_of(spec)
    assert len(plan.keys) >= 2
    for key in plan.keys:
        assert any(math.hypot(other.x_mm - key.x_mm, other.y_mm - key.y_mm) == 0.0 for other in plan.keys)
        for socket in plan.keys:
            away = math.hypot(-key.x_mm - socket.x_mm, -key.y_mm - socket.y_mm)
            tip_in_mouth = 0.5 * (socket.base_diameter_mm - key.tip_diameter_mm) + socket.clearance_mm
            assert away > tip_in_mouth


@EACH
def test_keys_stand_clear_of_screws_edges_and_channels(spec):
    plan = plan_of(spec)
    half_x, half_y = 0.5 * plan.block.x_mm, 0.5 * plan.block.y_mm
    for key in plan.keys:
        radius = 0.5 * key.base_diameter_mm + key.clearance_mm
        assert key.tip_diameter_mm < key.base_diameter_mm
        assert abs(key.x_mm) + radius < half_x
        assert abs(key.y_mm) + radius < half_y
        for screw in plan.screws:
            assert distance(key, screw) > radius + max(screw.screw.hole_mm, 1.155 * screw.screw.nut_flats_mm) / 2.0
        for x, y in plan.places:
            reach = plan.cavity.footprint.bounds[2] + plan.seal.land_mm + plan.seal.channel_width_mm
            assert math.hypot(key.x_mm - x, key.y_mm - y) > reach + radius
        assert key.height_mm + key.clearance_mm < plan.block.upper_mm


@EACH
def test_every_screw_is_a_stock_length_that_ends_inside_its_nut(spec):
    plan = plan_of(spec)
    for screw in plan.screws:
        kind = screw.screw
        assert screw.length_mm in kind.lengths_mm
        tip = plan.block.upper_mm - screw.length_mm
        roof = -plan.block.lower_mm + screw.nut_pocket_mm
        assert roof - tip >= kind.nut_height_mm  # all of the nut's thread carries
        assert tip >= -plan.block.lower_mm  # and nothing sticks out under the mold
        assert screw.nut_pocket_mm >= kind.nut_height_mm
        assert roof <= -4.0 + 1e-9  # enough plastic between nut and parting: judgement
        corner = 1.155 * kind.nut_flats_mm / 2.0
        assert abs(screw.x_mm) + max(corner, 0.5 * kind.head_diameter_mm) < 0.5 * plan.block.x_mm
        assert abs(screw.y_mm) + max(corner, 0.5 * kind.head_diameter_mm) < 0.5 * plan.block.y_mm


def test_small_molds_and_those_so_ordered_are_clamped():
    assert plan_of(SPECS["small"]).screws == ()
    assert plan_of(SPECS["clamped"]).screws == ()
    assert plan_of(SPECS["screwed"]).screws
    assert plan_of(STRETCHED).screws


@pytest.mark.parametrize(
    ("size", "hole", "head", "flats", "nut"),
    # ISO 273 medium holes, ISO 4762 heads, ISO 4032 nuts' flats and greatest heights, from memory.
    [("M3", 3.4, 5.5, 5.5, 2.4), ("M4", 4.5, 7.0, 7.0, 3.2), ("M5", 5.5, 8.5, 8.0, 4.7)],
)
def test_screws_have_their_standards_dimensions(size, hole, head, flats, nut):
    screw = next(s for s in SCREWS if s.size == size)
    assert (screw.hole_mm, screw.head_diameter_mm, screw.nut_flats_mm, screw.nut_height_mm) == (hole, head, flats, nut)


# --- several at once -------------------------------------------------------------------------------


@EACH
def test_cavities_with_their_lands_and_channels_fit_block_and_bed(spec):
    plan = plan_of(spec)
    reach = plan.cavity.footprint.bounds[2] + plan.seal.land_mm + plan.seal.channel_width_mm
    for x, y in plan.places:
        assert abs(x) + reach < 0.5 * plan.block.x_mm
        assert abs(y) + reach < 0.5 * plan.block.y_mm
    for a, b in itertools.combinations(plan.places, 2):
        assert math.dist(a, b) > 2.0 * reach
    assert plan.block.x_mm <= 220.0
    assert plan.block.y_mm <= 220.0
    assert plan.cavity.below_mm < plan.block.lower_mm
    assert plan.cavity.above_mm < plan.block.upper_mm


@pytest.mark.parametrize(("spec", "count"), [("stretched", 1), ("six", 6), ("twelve", 12)])
def test_as_many_cavities_as_are_wanted_and_fit(spec, count):
    plan = plan_of(SPECS[spec])
    assert len(plan.places) == len(plan.sprues) == count
    assert len(set(plan.places)) == count


def test_a_number_that_fills_no_grid_on_the_bed_is_cast_in_turns():
    # Five in a row need 5 * 48 mm, more than the bed's 220; four in a grid fit, so five take two castings.
    plan = plan_of(STRETCHED + "quantity: 5\n")
    assert len(plan.places) == 4
    assert any("cast 2 times" in decision.why for decision in plan.decisions)


def test_more_than_the_bed_holds_are_cast_in_turns_and_said():
    plan = plan_of(STRETCHED + "quantity: 100\n")
    # A pitch of 37 + 10 + 1.2 = 48 mm on a bed of 220 mm: four a side, sixteen at most.
    assert 1 < len(plan.places) <= 16
    times = math.ceil(100 / len(plan.places))
    assert any(f"cast {times} times" in decision.why for decision in plan.decisions)


def test_a_funnel_leans_no_more_than_the_printer_can():
    # Printed mouth down, its wall is a roof: over a narrow gate a funnel 5 mm deep would lean 47° to be 12 mm wide.
    plan = plan_of(
        "family: turned_part\nname: necked\nelastomer: silicone_pt_40a\nquantity: 6\nmold: {fill: pour}\nmeasured: {}\n"
        "wanted: {profile: [[4.62, 0], [7.79, 0], [6.59, 1.26], [8.94, 2.49], [8.94, 8.11], [6.12, 8.11], "
        "[6.12, 12.94], [4.62, 12.94]], running: none}\n"
    )
    for sprue in plan.sprues:
        lean = math.degrees(math.atan2(0.5 * (sprue.funnel_diameter_mm - sprue.mouth_diameter_mm), sprue.funnel_mm))
        assert 30.0 < lean <= 45.0 + 1e-9


def test_screws_and_nuts_go_in_whatever_the_printer_does_to_holes():
    # An M3 nut is at most 5.5 mm across its flats (ISO 4032), its clearance hole 3.4 mm (ISO 273, medium); from memory.
    # A wall that stands 0.15 mm farther in leaves a hole 0.3 mm narrower.
    (screw, *_) = plan_of(STRETCHED + "printer: {hole_offset: 0.15 mm}\n").screws
    assert screw.screw.size == "M3"
    assert screw.screw.nut_flats_mm - 0.3 >= 5.5 - 1e-9
    assert screw.screw.hole_mm - 0.3 >= 3.4 - 1e-9


# --- lettering -------------------------------------------------------------------------------------


@EACH
def test_each_half_says_what_it_is_for(spec):
    labels = {label.body: label for label in plan_of(spec).labels}
    assert labels["lower"].text.startswith("rim r1")
    assert labels["upper"].text.startswith("pu_")
    for label in labels.values():
        assert label.height_mm >= 2.0


def test_a_name_too_long_for_the_front_loses_its_end_but_not_the_revision():
    name = "a_part_whose_name_is_longer_than_its_mold_is_wide"
    plan = plan_of(STRETCHED.replace("name: rim", f"name: {name}") + "mold: {revision: 12}\n")
    (label,) = (label for label in plan.labels if label.body == "lower")
    kept, _, revision = label.text.rpartition(" ")
    assert revision == "r12"
    assert name.startswith(kept) and 3 < len(kept) < len(name)


# --- what cannot be made ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("spec", "field", "words"),
    [
        (STRETCHED + "printer: {bed_x: 40 mm}\n", "printer.bed_x", "the mold needs"),
        (STRETCHED + "printer: {bed_y: 40 mm}\n", "printer.bed_y", "the mold needs"),
        (STRETCHED + "printer: {bed_z: 11 mm}\n", "printer.bed_z", "mm tall"),
        (STRETCHED + "mold: {cavities: 30}\n", "mold.cavities", "holds"),
        (STRETCHED + "mold: {draft: 20 deg}\n", "mold.draft", "0° and 5°"),
        (STRETCHED + "mold: {draft: -1 deg}\n", "mold.draft", "0° and 5°"),
        (STRETCHED.replace("38 mm", "32.1 mm"), "mold.fill", "leaves room for"),
    ],
)
def test_what_cannot_be_made_is_refused_with_its_place_and_a_way_out(spec, field, words):
    (problem,) = refusals(spec)
    assert problem.field == field
    assert words in problem.limit
    assert problem.way_out


def test_the_wedge_of_a_mold_as_long_as_the_bed_fits_the_bed_too():
    bed = plan_of(STRETCHED).block.x_mm + 0.5
    plan = plan_of(STRETCHED + f"printer: {{bed_x: {bed} mm}}\n")
    assert plan.wedge.length_mm + plan.wedge.rim_mm <= bed


def test_the_bed_that_is_asked_for_would_do():
    (problem,) = refusals(STRETCHED + "printer: {bed_x: 40 mm, bed_y: 40 mm}\n")
    x, y = problem.limit.split("needs ")[1].removesuffix(" mm").split(" x ")
    larger = f"printer: {{bed_x: {int(x) + 1} mm, bed_y: {int(y) + 1} mm}}\n"
    assert plan_of(STRETCHED + larger).places


def test_a_wall_too_thin_for_a_gate_can_be_pressed():
    assert plan_of(STRETCHED.replace("38 mm", "32.1 mm") + "mold: {fill: press}\n").sprues == ()


@pytest.mark.parametrize("width", ["1 mm", "2 mm"])
@pytest.mark.parametrize("count", [1, 2])
def test_a_narrow_tyre_has_its_plan_whatever_room_is_left_for_letters(width, count):
    plan = plan_of(STRETCHED.replace("5 mm", width) + f"mold: {{cavities: {count}}}\n")
    assert len(plan.places) == count
