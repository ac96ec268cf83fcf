"""Clutch pads from readings to predictions, and the finished outline hung into its drum.

The statics below are written with plain vectors and a stiffness matrix, apart from the code that they check.
"""

import cmath
import math
import re
from pathlib import Path

import numpy
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from moldgen import case, sizing
from moldgen.errors import SpecError
from moldgen.families.clutch_pad import pad_of
from moldgen.job import build
from moldgen.spec import document
from moldgen.starter import starter_spec

SPECS = Path(__file__).parents[2] / "part_specs"
EXAMPLES = ("changer_one_way_pad", "loop_one_way_pad")
SURE = {"friction": "0.6 ± 0.15"}
PLAY_MM = 0.05
"""Half of the clearance of the eye on a free pin."""


def spec(
    *, drum="28.00", circle="16.00", pin="2.00", count="3", pocket="3.50", rubber="pu_70a", wanted=None, drive=None
):
    lines = ["family: clutch_pad", "name: pad", f"elastomer: {rubber}", "measured:"]
    lines += [f"  drum_diameter: {drum} ± 0.02 mm", f"  pin_circle_diameter: {circle} ± 0.02 mm"]
    lines += [f"  pin_diameter: {pin} ± 0.01 mm", f"  pin_count: {count}", f"  pocket_depth: {pocket} ± 0.05 mm"]
    lines += ["wanted:", *(f"  {key}: {value}" for key, value in ({"locks": "ccw"} | (wanted or {})).items())]
    if drive:
        lines += ["drive:", *(f"  {key}: {value}" for key, value in drive.items())]
    return "\n".join(lines)


def sized(text):
    return sizing.size(case.from_document(document.parse(text, "pad.yaml")))


def refused(text):
    with pytest.raises(SpecError) as caught:
        sized(text)
    return caught.value.problems


def predicted(done):
    return {item.prediction.name: item.prediction.value for item in done.predictions}


def codes(done):
    return {remark.code for remark in done.remarks}


def hung(done, *, turned_deg=0.0):
    """From the frame of a ccw pad's outline to that of its drum: drum's centre at 0, pin straight above it.

    The pad stands as the sizing means it to, its bore pushed against the pin from the tip's side, and is then turned
    about the pin by `turned_deg` towards the upright.
    """
    one = pad_of(done.case.given)
    plan, half = one.layout, 0.5 * one.layout.arm_thickness_mm
    drum = one.seat.drum_radius_mm + one.interference_mm
    tip = cmath.rect(drum - half, 0.5 * math.pi - math.radians(plan.triangle.center_angle_deg))
    pin = 1j * one.seat.pin_circle_radius_mm
    way = (tip - pin) / abs(tip - pin) * cmath.rect(1.0, math.radians(turned_deg))
    play = PLAY_MM if plan.heel is not None else 0.0
    return lambda places: pin + way * (places - play)


def flat(done, sagitta=1e-5):
    return numpy.array([complex(p.x, p.y) for p in done.free_shape.outline.points(sagitta)])


def rounds(done):
    """(centre, radius) of the heel's round and of the tip's, in the outline's frame; of a bonded pad just the tip's."""
    arcs = [edge.arc for edge in done.free_shape.outline.edges if edge.start.surface == "running"]
    return [(complex(*arc.centre), arc.radius) for arc in arcs]


# Reference rows and closed forms


@pytest.mark.parametrize(
    ("circle", "drum", "reach", "alpha", "tangent"),
    [("16.00", "28.00", "6.4 mm", 15.165, 0.27103), ("20.00", "32.00", "7.0 mm", 23.769, 0.44040)],
)
def test_strut_angle_and_friction_needed_are_those_of_the_reference_rows(circle, drum, reach, alpha, tangent):
    # Rows E1 and E3 of the reference table (an independent computation), five digits.
    done = predicted(sized(spec(circle=circle, drum=drum, wanted={"reach": reach})))
    assert done["strut_angle_deg"] == pytest.approx(alpha, abs=5e-4)
    assert done["grip_friction_needed"] == pytest.approx(tangent, abs=5e-6)


@pytest.mark.parametrize("lowest", [0.35, 0.45, 0.6])
def test_a_pad_on_a_free_pin_grips_where_tan_a_is_no_more_than_the_friction(lowest):
    # The textbook's strut: tan a <= mu. With the margin of 0.7 the window of angles ends at atan(0.7 mu).
    done = predicted(sized(spec(drive={"friction": f"0.65 ± {0.65 - lowest:.2f}"})))
    assert done["grip_friction_needed"] == pytest.approx(math.tan(math.radians(done["strut_angle_deg"])), rel=1e-12)
    assert math.tan(math.radians(done["most_strut_angle_deg"])) == pytest.approx(0.7 * lowest, rel=1e-9)
    assert done["grip_ratio"] == pytest.approx(lowest / done["grip_friction_needed"], rel=1e-9)


def test_a_bonded_arm_needs_the_friction_of_two_springs():
    done = predicted(sized(spec(wanted={"mounting": "bonded", "reach": "6.3 mm", "arm_thickness": "1.5 mm"})))
    pull = two_spring_force(math.radians(done["strut_angle_deg"]), done["stiffness_ratio"], carried=1.0)
    assert done["grip_friction_needed"] == pytest.approx(pull[0] / pull[1], rel=1e-9)
    assert done["grip_friction_needed"] > 1.3 * math.tan(math.radians(done["strut_angle_deg"]))


def two_spring_force(angle, ratio, *, carried):
    """(tangential, normal) force of the drum on a tip that it has carried by `carried` towards the upright.

    x is the way of the locking drum, y points out to the drum. From the pin the strut, stiff by 1 along itself and by
    `ratio` across, leans back against that way; the drum keeps the tip from moving in y.
    """
    along, across = numpy.array([-math.sin(angle), math.cos(angle)]), numpy.array([math.cos(angle), math.sin(angle)])
    stiff = numpy.outer(along, along) + ratio * numpy.outer(across, across)
    x, y = stiff @ numpy.array([carried, 0.0])
    return x, -y  # what presses the tip inwards counts as normal force


def test_the_slope_that_proves_the_friction_is_its_angle():
    # A block slides when the slope's tangent exceeds mu; with a margin of 0.7 mu must be tan a/0.7.
    done = predicted(sized(spec(wanted={"reach": "6.4 mm"})))
    assert done["friction_to_prove"] == pytest.approx(0.27103 / 0.7, abs=1e-5)
    assert done["incline_to_prove_deg"] == pytest.approx(math.degrees(math.atan(0.27103 / 0.7)), abs=1e-3)


def test_a_dry_pin_asks_for_the_friction_circle_on_top():
    # The thrust passes the pin's centre at mu r: sin e = 0.4 * 1/6.4 at this class's lowest friction, e = 3.583 deg.
    done = predicted(sized(spec(wanted={"reach": "6.4 mm"})))
    assert done["grip_friction_with_dry_pin"] == pytest.approx(math.tan(math.radians(15.165 + 3.583)), abs=2e-5)


def test_drag_of_a_bonded_pad_is_the_opposed_short_shoe():
    # N = N0 rho/(rho + mu), torque mu N Rd, three pads, at the highest friction.
    wanted = {"mounting": "bonded", "interference": "0.1 mm"}
    done = predicted(sized(spec(rubber="pu_40a", wanted=wanted, drive={"friction": "0.8 ± 0.2"})))
    rho = done["grip_friction_needed"]
    torque = 3 * 1.0 * done["pressing_force_n"] * rho / (rho + 1.0) * 14.0
    assert done["drag_torque_nmm"] == pytest.approx(torque, rel=1e-9)


def test_interference_presses_in_proportion():
    def pressed(interference):
        wanted = {"mounting": "bonded", "interference": f"{interference} mm", "reach": "6.3 mm"}
        return predicted(sized(spec(wanted=wanted)))["pressing_force_n"]

    assert pressed(0.1) == pytest.approx(2.0 * pressed(0.05), rel=1e-9)
    assert pressed(0.0) == 0.0


def test_a_free_pad_is_pressed_by_its_weight_at_most():
    done = sized(spec())
    # Volume times 1.1e-3 g/mm3 times 9.80665e-3 N/g acting half-way along a pad of 9 mm is of the order of a milligram.
    weight = done.free_shape.volume_mm3 * 1.1e-3 * 9.80665e-3
    assert 0.0 < predicted(done)["pressing_force_n"] < 4.0 * weight


# What is drawn


@pytest.mark.parametrize("mounting", ["pinned", "bonded"])
def test_the_free_pad_stands_out_from_the_drum_by_its_interference(mounting):
    wanted = {"mounting": mounting, "interference": "0.12 mm"} if mounting == "bonded" else {"mounting": mounting}
    done = sized(spec(wanted=wanted))
    out = numpy.abs(hung(done)(flat(done))).max() - 14.0
    assert out == pytest.approx(0.12 if mounting == "bonded" else 0.0, abs=2e-5)


def test_the_outline_touches_the_drum_where_the_strut_angle_says():
    done = sized(spec(drive=SURE))
    points = hung(done)(flat(done))
    contact, pin = points[numpy.abs(points).argmax()], 8j
    angle = cmath.phase((contact - pin) / contact)
    assert math.degrees(abs(angle)) == pytest.approx(predicted(done)["strut_angle_deg"], abs=0.05)
    # Seen from the open side, a drum that turns ccw pushes the tip back to above the pin: it lies to the right.
    assert contact.real > 0.0


@pytest.mark.parametrize("lowest", [0.35, 0.45, 0.7])
def test_the_heel_bears_on_the_drum_when_the_pad_has_been_wound_up_as_predicted(lowest):
    done = sized(spec(drive={"friction": f"0.75 ± {0.75 - lowest:.2f}"}))
    (heel, radius), (tip, _) = rounds(done)
    turned = pad_of(done.case.given).layout.heel.pad_turn_deg
    assert abs(hung(done)(heel)) + radius < 14.0 - 0.1  # clear of the drum as it trails
    assert abs(hung(done, turned_deg=turned)(heel)) + radius == pytest.approx(14.0, abs=1e-9)
    assert abs(hung(done, turned_deg=turned)(tip)) + radius > 14.0  # the tip has been squeezed by then


def test_a_free_pad_cannot_pass_the_centre_without_being_squeezed_by_a_fifth():
    done = sized(spec(drive=SURE))
    pad = flat(done)
    deepest = max(numpy.abs(hung(done, turned_deg=turn)(pad)).max() for turn in numpy.arange(0.0, 75.0, 0.5))
    # The heel upright stands out beyond the drum: reach L with 1 - 6/L = 0.2 means 7.5 mm where there are 6.
    assert deepest - 14.0 >= 1.5 - 1e-3


@pytest.mark.parametrize("mounting", ["pinned", "bonded"])
def test_cw_and_ccw_are_mirror_images_of_one_size(mounting):
    ccw, cw = (sized(spec(wanted={"locks": sense, "mounting": mounting}, drive=SURE)) for sense in ("ccw", "cw"))
    assert predicted(cw) == predicted(ccw)
    assert [p.y for p in cw.free_shape.outline.points()] != [p.y for p in ccw.free_shape.outline.points()]
    assert cw.free_shape.outline.area == pytest.approx(ccw.free_shape.outline.area, rel=1e-12)
    assert cw.free_shape.outline.centroid.y == pytest.approx(-ccw.free_shape.outline.centroid.y, abs=1e-9)


@pytest.mark.parametrize("mounting", ["pinned", "bonded"])
def test_the_mold_is_the_free_pad_over_one_less_the_shrinkage(mounting):
    done = sized(spec(wanted={"mounting": mounting}))
    factor = 1.0 / (1.0 - done.case.elastomer.linear_shrinkage.value)
    assert done.mold_shape.volume_mm3 == pytest.approx(done.free_shape.volume_mm3 * factor**3, rel=1e-9)
    assert {"reach_mm", "bore_diameter_mm", "thickness_mm", "tip_radius_mm"} <= done.free.keys() == done.mold.keys()


# Readings


def test_a_doubtful_friction_is_no_doubt_about_a_dimension():
    known, doubtful = (sized(spec(drive={"friction": f"{0.45 + half:.2f} ± {half}"})) for half in (0.05, 0.3))
    for name, at in known.mold.items():
        assert (doubtful.mold[name].low, doubtful.mold[name].high) == pytest.approx((at.low, at.high), rel=1e-9)


@pytest.mark.parametrize("mounting", ["pinned", "bonded"])
def test_reach_is_as_sure_as_drum_and_pin_circle(mounting):
    # L follows the room Rd - Rp nearly one to one: half of ± 0.02 on either diameter, u = 0.01/sqrt(3) twice.
    done = sized(spec(wanted={"mounting": mounting}, drive=SURE))
    room = 1.96 * math.hypot(0.01, 0.01) / math.sqrt(3.0)
    assert done.fitted["reach_mm"].high - done.fitted["reach_mm"].value == pytest.approx(room, rel=0.15)


# Refused


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        (spec(circle="24.00"), "measured.pin_circle_diameter", "from a pin's middle to the drum"),
        (spec(circle="30.00"), "measured.pin_circle_diameter", "from a pin's middle to the drum"),
        (spec(circle="8.00"), "measured.pin_circle_diameter", "cannot make a pad lean"),
        (spec(drum="60.00", circle="20.00", pin="11.00"), "measured.pin_diameter", "no room"),
        (spec(wanted={"reach": "5.9 mm"}), "wanted.reach", "would not touch"),
        (spec(wanted={"reach": "6.03 mm"}), "wanted.reach", "jam both ways"),
        (spec(wanted={"reach": "11 mm"}), "wanted.reach", "cannot be erected"),
        (spec(wanted={"arm_thickness": "0.5 mm"}), "wanted.arm_thickness", "not cast thinner"),
        (spec(wanted={"arm_thickness": "5 mm"}), "wanted.arm_thickness", "the most"),
        (spec(wanted={"thickness": "3.8 mm"}), "wanted.thickness", "the pocket is 3.50 mm deep"),
        (spec(pocket="0.9"), "measured.pocket_depth", "mm thick"),
        (spec(count="12"), "measured.pin_count", "of one another"),
        (spec(wanted={"mounting": "bonded", "interference": "1.5 mm"}), "wanted.interference", "assembled"),
        (spec(wanted={"locks": "left"}), "wanted.locks", "not one of the choices"),
    ],
)  # fmt: skip
def test_what_cannot_be_assembled_or_jams_both_ways_is_refused(text, field, words):
    problems = refused(text)
    assert [p.field for p in problems] == [field]
    assert words in problems[0].limit
    assert problems[0].way_out


# Built with a warning


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        (spec(wanted={"reach": "6.5 mm"}, drive={"friction": "0.6 ± 0.2"}), "grip_without_margin", "A reach of 6.4"),
        (spec(wanted={"reach": "7 mm"}, drive={"friction": "0.6 ± 0.2"}), "grip_doubtful", "A reach of 6.4"),
        (spec(wanted={"reach": "7.5 mm"}, drive={"friction": "0.3 ± 0.1"}), "no_grip", "not gripped"),
        (
            spec(wanted={"mounting": "bonded", "reach": "6.3 mm", "arm_thickness": "2 mm"}, drive=SURE),
            "grip_doubtful", "`mounting: pinned`",
        ),
        (
            spec(drum="40.00", circle="22.00", wanted={"mounting": "bonded", "arm_thickness": "2.6 mm"},
                 drive={"friction": "0.75 ± 0.15"}),
            "grip_without_margin", "an arm of",
        ),
        (spec(drive=SURE | {"required_torque": "400 N·mm"}), "torque_short", "modulus"),
        (spec(wanted={"mounting": "bonded"}, drive=SURE), "roll_over_not_excluded", "heel"),
        (spec(wanted={"mounting": "bonded"}, drive=SURE | {"required_torque": "30 N·mm"}), "torque_short", "heel"),
        (spec(), "friction_from_table", "slope"),
        (spec(wanted={"interference": "0.1 mm"}), "interference_presses_nothing", "bonded"),
        (spec(wanted={"thickness": "3.48 mm"}), "fills_its_pocket", "sideways"),
        (spec(drum="34.00", circle="20.00", pin="5.00", drive={"friction": "0.65 ± 0.05"}), "dry_pin", "Grease"),
        (
            spec(wanted={"mounting": "bonded", "interference": "0.2 mm"}, drive=SURE | {"required_torque": "2 N·mm"}),
            "drag_high", "interference",
        ),
    ],
)  # fmt: skip
def test_what_the_metal_leaves_no_margin_for_is_built_and_said(text, code, words):
    remark = next((r for r in sized(text).remarks if r.code == code), None)
    assert remark is not None
    assert words in remark.text


def test_a_reach_that_the_warning_names_has_the_margin():
    text = next(
        r.text for r in sized(spec(wanted={"reach": "7 mm"}, drive=SURE)).remarks if r.code == "grip_without_margin"
    )
    reach = float(text.split("A reach of ")[1].split(" mm")[0])
    done = predicted(sized(spec(wanted={"reach": f"{reach} mm"}, drive=SURE)))
    assert done["grip_friction_needed"] == pytest.approx(0.7 * 0.45, rel=0.02)


def test_the_arm_and_reach_that_the_warning_names_have_the_margin():
    def bonded(**more):
        wanted = {"mounting": "bonded", **more}
        return sized(spec(drum="40.00", circle="22.00", wanted=wanted, drive={"friction": "0.6 ± 0.2"}))

    text = next(r.text for r in bonded(arm_thickness="3 mm").remarks if r.code.startswith("grip"))
    arm, reach = re.search(r"an arm of (\S+) mm with a reach of (\S+) mm", text).groups()
    mended = bonded(arm_thickness=f"{arm} mm", reach=f"{reach} mm")
    assert predicted(mended)["grip_friction_needed"] <= 0.7 * 0.4
    assert not any(code.startswith("grip") for code in codes(mended))


def test_coarse_readings_of_a_pad_that_barely_leans_are_called_out():
    text = spec(wanted={"reach": "6.08 mm"}).replace("28.00 ± 0.02", "28.00 ± 0.2")
    assert "may_stand_upright" in codes(sized(text))


def test_a_sound_pad_is_taken_without_a_word():
    done = sized(spec(drive=SURE | {"required_torque": "20 N·mm"}))
    assert codes(done) == set()
    assert "wind_up_deg" in predicted(done)


# No pad taken without a warning jams or rolls over


@st.composite
def drums(draw):
    drum = draw(st.floats(22.0, 60.0))
    mounting = draw(st.sampled_from(["pinned", "bonded"]))
    lowest = draw(st.floats(0.3, 0.9))
    drive = {"friction": f"{lowest + 0.15:.3f} ± 0.15"}
    if mounting == "bonded" or draw(st.booleans()):
        drive["required_torque"] = f"{draw(st.floats(0.5, 60.0)):.2f} N·mm"
    wanted = {"mounting": mounting, "locks": "ccw"}
    if mounting == "bonded":
        wanted["interference"] = f"{draw(st.floats(0.01, 0.1)):.3f} mm"
    circle = drum * draw(st.floats(0.45, 0.7))
    if draw(st.booleans()):
        wanted["reach"] = f"{0.5 * (drum - circle) * draw(st.floats(1.015, 1.12)):.3f} mm"
    return spec(
        drum=f"{drum:.2f}", circle=f"{circle:.2f}", pin=f"{draw(st.floats(1.5, 3.0)):.2f}",
        count=str(draw(st.integers(1, 4))), pocket=f"{draw(st.floats(3.0, 8.0)):.2f}",
        rubber=draw(st.sampled_from(["pu_50a", "pu_70a"])), wanted=wanted, drive=drive,
    )  # fmt: skip


@given(drums())
@settings(
    max_examples=80,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
def test_no_pad_taken_without_a_warning_jams_backwards_or_rolls_over(text):
    try:
        done = sized(text)
    except SpecError:
        assume(False)
    assume(not codes(done))
    one, said = pad_of(done.case.given), predicted(done)
    drum, pin = one.seat.drum_radius_mm, 1j * one.seat.pin_circle_radius_mm
    pad = flat(done, sagitta=1e-4)
    points = hung(done)(pad)
    contact = points[numpy.abs(points).argmax()]
    # Let go by a drum that turns the other way, the pad is drawn off: nothing of it comes nearer to the drum.
    for turn in (0.5, 2.0, 5.0):
        assert numpy.abs(hung(done, turned_deg=-turn)(pad)).max() < numpy.abs(points).max()
    inward, erecting = -contact / abs(contact), 1j * contact / abs(contact)
    for friction in numpy.linspace(one.least_friction, one.most_friction, 5):
        if one.layout.heel is not None:
            # Moment of the drum's force about the pin: off the drum backwards, into it when it locks.
            backwards = moment(contact - pin, inward - friction * erecting)
            locking = moment(contact - pin, inward + friction * erecting)
            assert backwards < 0.0 < locking
            continue
        angle = math.radians(said["strut_angle_deg"])
        pulled = two_spring_force(angle, said["stiffness_ratio"], carried=1.0)
        assert 0.0 < pulled[0] <= friction * pulled[1]  # carried along to lock, it presses harder and does not slide
        assert two_spring_force(angle, said["stiffness_ratio"], carried=-1.0)[1] < 0.0  # carried back, it presses less
    if one.layout.heel is not None:
        deepest = max(numpy.abs(hung(done, turned_deg=turn)(pad)).max() for turn in numpy.arange(0.0, 80.0, 2.0))
        room = drum - abs(pin)
        assert deepest - drum >= 0.24 * room  # 1 - room/L = 0.2 is L = 1.25 room; 2 deg of step lose under 0.01
    required = done.case.given.drive.required_torque_nmm
    if required is not None:
        assert reached_before_upright(one, required / done.case.given.measured.pin_count)


def moment(arm, force):
    return (arm.conjugate() * force).imag


def reached_before_upright(one, torque):
    """Whether springs as soft as the rubber may be bear the torque while it still rises and the tip still leans."""
    soft = one.modulus_mpa.low / one.modulus_mpa
    triangles = [one.layout.triangle] + ([one.layout.heel.triangle] if one.layout.heel is not None else [])
    starts = [0.0] + ([one.layout.heel.wind_up_deg] if one.layout.heel is not None else [])
    springs = [foot.along_n_per_mm * soft for foot in one.winding.feet]
    across = 0.0 if one.layout.heel is not None else one.arm.across_n_per_mm * soft

    def stored(turn):
        total = 0.0
        for of, start, spring in zip(triangles, starts, springs, strict=True):
            way = cmath.rect(of.drum_radius_mm, math.radians(of.center_angle_deg - max(0.0, turn - start)))
            total += 0.5 * spring * (of.reach_mm - abs(way - of.pin_radius_mm)) ** 2
        of = triangles[0]
        ways = [
            cmath.rect(of.drum_radius_mm, math.radians(of.center_angle_deg - t)) - of.pin_radius_mm for t in (0.0, turn)
        ]
        return total + 0.5 * across * (of.reach_mm * cmath.phase(ways[0] / ways[1])) ** 2

    turns = numpy.linspace(0.0, triangles[0].center_angle_deg, 400)
    slopes = numpy.diff([stored(turn) for turn in turns]) / math.radians(turns[1] - turns[0])
    falling = numpy.flatnonzero(numpy.diff(slopes) < 0.0)
    usable = slopes[: falling[0] + 1] if falling.size else slopes
    return bool(usable.max() >= 0.99 * torque)


# Examples


@pytest.mark.parametrize("name", EXAMPLES)
def test_example_builds_with_every_proof_held_and_no_warning(name, tmp_path):
    done = sizing.size(case.load(SPECS / f"{name}.yaml"))
    assert codes(done) == set()
    made = build(done, tmp_path)
    assert made.passed, [f for f in made.findings if not f.passed]
    assert len(made.plan.places) == 3


def test_the_starter_builds_as_it_is(tmp_path):
    done = sized(starter_spec("clutch_pad"))
    assert build(done, tmp_path).passed


def test_one_pinned_and_one_bonded_are_among_the_examples():
    mountings = {case.load(SPECS / f"{name}.yaml").given.wanted.mounting for name in EXAMPLES}
    assert mountings == {"pinned", "bonded"}
