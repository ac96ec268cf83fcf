"""Molds for belts that are not cast as rings: folded up, or straight."""

import dataclasses
import math

import pytest

from moldgen import case, planning, sizing
from moldgen.errors import SpecError
from moldgen.inspection.closed_mold import ROUND_ANGLE_RAD, closed_mold
from moldgen.inspection.demoulding import demoulding
from moldgen.inspection.fit import fit
from moldgen.inspection.printability import printability
from moldgen.inspection.proofs import proofs
from moldgen.inspection.running import running
from moldgen.inspection.walls import walls
from moldgen.mold.bodies import carry_out
from moldgen.mold.compensation import for_printer
from moldgen.output.bodies import on_bed
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed
from moldgen.parts.solids import solid
from moldgen.shapes import Path
from moldgen.spec.document import parse

SPEC = """
family: belt
name: long_belt
elastomer: pu_60a
quantity: {quantity}
measured: {measured}
wanted: {{section: {section}, stretch: 5 %, make: {make}}}
printer: {{based_on: filament_0_4, bed_x: {bed} mm, bed_y: {bed} mm{offsets}}}
mold: {{fill: {fill}}}
"""
SQUARE = "square, height: 2 mm"
FLAT = "flat, height: 1.6 mm, width: 6 mm"
ROUND = "round, diameter: 3 mm"
VEE = "groove: vee, groove_angle: {angle}°, groove_width: 12 mm, turns: ccw"
IN_VEES = f"""{{{{pulleys: [
    {{{{name: motor, center: [0, 0], groove_diameter: 30 mm, {VEE}, driver: yes}}}},
    {{{{name: wheel, center: [90 mm, 0], groove_diameter: 40 mm, {VEE}}}}}]}}}}"""
OFFSETS = ", hole_offset: 0.1 mm, boss_offset: 0.05 mm, xy_scale: 0.995"


def sized(*, path=735, measured="", section=SQUARE, make="meander", bed=180, fill="syringe", quantity=1, offsets=""):
    """By default 735 mm round its pulleys: 700 mm free at 5 % of stretch."""
    text = SPEC.format(
        measured=measured or f"{{path_length: {path} ± 0.5 mm}}",
        section=section,
        make=make,
        bed=bed,
        fill=fill,
        quantity=quantity,
        offsets=offsets,
    )
    return sizing.size(case.from_document(parse(text, "belt.yaml")))


def round_loop_mm3(found):
    """Free: 700 mm of 3 mm round, 5 % more area (volume kept); mold: all lengths over 1 - s."""
    return 700.0 * 1.05 * math.pi / 4.0 * 9.0 / (1.0 - found.case.elastomer.linear_shrinkage.value) ** 3


def refused(**choices):
    with pytest.raises(SpecError) as caught:
        planning.planned(sized(**choices))
    (problem,) = caught.value.problems
    return problem


@pytest.mark.parametrize("fill", ["pour", "syringe", "press"])
@pytest.mark.parametrize(("section", "area"), [(SQUARE, 4.0), (FLAT, 9.6)])
def test_folded_cavity_holds_section_times_length(section, area, fill):
    # Free: 700 mm long, the section larger by 5 % of area (volume kept); mold: all lengths over 1 - s.
    found = sized(section=section, fill="press" if section == FLAT else fill)
    shrinkage = found.case.elastomer.linear_shrinkage.value
    cavity = planning.planned(found).cavity
    assert cavity.volume_mm3 == pytest.approx(700.0 * 1.05 * area / (1.0 - shrinkage) ** 3, rel=1e-6)
    assert cavity.below_mm == pytest.approx(math.sqrt(1.05) * (2.0 if section == SQUARE else 6.0) / (1.0 - shrinkage))


def test_inside_of_a_folded_belt_runs_and_parts_at_its_edge():
    cavity = planning.planned(sized()).cavity
    assert {v.surface for v in cavity.shape.holes[0].vertices} == {"running"}
    assert {v.surface for v in cavity.shape.outline.vertices} == {"side"}
    assert cavity.above_mm == 0.0


def test_one_vent_for_each_hairpin_and_no_gate_feeds_far():
    plan = planning.planned(sized())
    words = " ".join(f"{d.what} {d.why}" for d in plan.decisions)
    assert "2 hairpins" in words and "times the belt's height" in words and "this bed would hold" in words
    assert len(plan.vents) == 2
    assert len(plan.sprues) >= 700.0 / (2.0 * 150.0)
    assert plan.attitude.tilt_deg >= 3.0


def test_ring_too_large_for_its_bed_is_refused_with_the_meander():
    # Free outside diameter 700/pi + 2 = 225 mm.
    problem = refused(make="ring")
    assert problem.field == "wanted.make"
    assert "make: meander" in problem.way_out


def test_ring_that_fits_is_cast_as_a_ring():
    assert planning.planned(sized(make="ring", path=300)).cavity.turned


def test_meander_too_long_is_refused_with_the_longest_and_the_cord():
    problem = refused(path=990, bed=110)
    assert problem.field == "wanted.make"
    assert "at most" in problem.limit and "make: cord" in problem.way_out
    longest = float(problem.limit.split("at most ")[1].split(" mm")[0])
    planning.planned(sized(path=1.04 * longest, bed=110))  # a belt a hundredth shorter fits


def test_bed_too_small_for_any_bend_is_refused():
    problem = refused(section="flat, height: 12 mm, width: 4 mm", path=500, bed=100)
    assert problem.field == "wanted.make" and "holds no hairpins" in problem.limit


def test_a_round_loop_holds_section_times_length_in_the_kernel_and_as_a_mesh():
    found = sized(section=ROUND)
    plan = planning.planned(found)
    wanted = round_loop_mm3(found)
    space = solid(plan.cavity.shape, stage="cavity")
    assert plan.cavity.volume_mm3 == pytest.approx(wanted, rel=1e-9)
    assert kernel.volume_mm3(space) == pytest.approx(wanted, rel=1e-9)
    assert meshed(space, angle_rad=ROUND_ANGLE_RAD).volume_mm3 == pytest.approx(wanted, rel=1e-3)


def test_a_round_loop_of_unknown_grooves_parts_beside_its_inner_line():
    # A groove's floor touches 18 degrees to both sides of the inner line; there the mouth is 1 - cos 18 = 4.9 % less.
    found = sized(section=ROUND)
    plan = planning.planned(found)
    radius = 0.5 * found.mold["diameter_mm"].value
    assert plan.cavity.below_mm == pytest.approx(radius * (1.0 + math.sin(math.radians(18.0))))
    assert plan.cavity.above_mm == pytest.approx(radius * (1.0 - math.sin(math.radians(18.0))))
    assert any("4.9% narrower" in decision.why for decision in plan.decisions)


def test_a_round_loop_in_vees_parts_through_its_middle():
    # Flanks of a 60 degree vee touch it 60 degrees to both sides of the inner line, which is free.
    found = sized(section=ROUND, measured=IN_VEES.format(angle=60))
    plan = planning.planned(found)
    radius = 0.5 * found.mold["diameter_mm"].value
    assert (plan.cavity.below_mm, plan.cavity.above_mm) == pytest.approx((radius, radius))
    assert any(decision.what == "parts through the middle of the round section" for decision in plan.decisions)


def test_a_corner_right_at_a_round_belts_top_is_no_end_face_to_part_at():
    # Of a 36 degree vee: 72 degrees from the inner line, so that what runs ends at 72 + 18 = 90.
    found = sized(section=ROUND, make="ring", bed=300, measured=IN_VEES.format(angle=36).replace("90 mm", "180 mm"))
    cavity, radius = planning.planned(found).cavity, 0.5 * found.mold["diameter_mm"].value
    assert (cavity.below_mm, cavity.above_mm) == pytest.approx((radius, radius))


def test_flanks_that_touch_the_top_leave_no_place_for_a_gate():
    # Of a 24 degree vee: 78 degrees from the inner line, so from 60 to 96 degrees.
    problem = refused(section=ROUND, measured=IN_VEES.format(angle=24).replace("90 mm", "180 mm"))
    assert problem.field == "wanted.make" and "section: square" in problem.way_out


@pytest.mark.parametrize("make", ["meander", "cord"])
def test_a_round_belt_is_not_pressed(make):
    problem = refused(section=ROUND, make=make, fill="press")
    assert problem.field == "mold.fill" and "fill: pour" in problem.way_out


@pytest.mark.parametrize("section", [SQUARE, ROUND])
def test_cords_together_are_the_belt_and_their_joints(section):
    # Each piece: its share of the length, 5 mm cut off at either end, and a joint cut at 30 degrees: h / tan 30.
    found = sized(make="cord", section=section)
    plan = planning.planned(found)
    pieces = len(plan.places)
    x0, y0, x1, y1 = plan.cavity.shape.outline.bounds
    joint = math.sqrt(3.0) * (y1 - y0)
    assert pieces * (x1 - x0 - 10.0 - joint) == pytest.approx(found.mold["length_mm"].value, abs=1e-6)
    assert y1 - y0 == pytest.approx(found.mold["height_mm" if section == SQUARE else "diameter_mm"].value)
    assert plan.block.x_mm <= 180.0 and plan.block.y_mm <= 180.0
    assert len(plan.sprues) == len(plan.vents) == pieces


@pytest.mark.parametrize("make", ["meander", "cord"])
@pytest.mark.parametrize("section", [SQUARE, FLAT, ROUND])
def test_on_a_printer_with_offsets_the_cavity_is_still_the_parts_share(section, make):
    # What a ring's mold would hold on that printer, by the lengths' ratio; a cord's walls are both a pocket's.
    found = sized(section=section, make=make, offsets=OFFSETS, path=400)
    cavity = planning.planned(found).cavity
    ring = for_printer(found.mold_shape, found.case.printer)
    assert cavity.volume_mm3 == pytest.approx(ring.volume_mm3 * cavity.share, rel=1e-3)


def test_flash_on_the_line_that_runs_is_caught():
    found = sized(section=ROUND, path=200)
    plan = planning.planned(found)
    section = plan.cavity.shape.section
    _, low, _, high = section.bounds
    parted = Path(tuple(v for e in section.moved(dy=-0.5 * (low + high)).edges for v in e.arcs_parted_at(0.0)))
    half = 0.5 * (high - low)
    shape = dataclasses.replace(plan.cavity.shape, section=parted)
    cavity = dataclasses.replace(plan.cavity, shape=shape, below_mm=half, above_mm=half)
    spoiled = dataclasses.replace(plan, cavity=cavity)
    failed = [f for f in running(closed_mold(spoiled, carry_out(spoiled))) if not f.passed]
    assert failed and "the parting plane crosses the running surface" in failed[0].text


def test_two_belts_of_cord_take_twice_the_channels():
    assert len(planning.planned(sized(make="cord", quantity=2)).places) == 2 * len(
        planning.planned(sized(make="cord")).places
    )


def test_cord_of_too_many_pieces_is_refused():
    assert refused(make="cord", path=990, bed=90).field == "wanted.make"


@pytest.mark.slow
@pytest.mark.parametrize(
    "choices",
    [
        {"fill": "syringe"},
        {"fill": "pour"},
        {"fill": "press"},
        {"section": FLAT, "path": 990, "bed": 150},
        {"make": "cord", "fill": "syringe"},
        {"make": "cord", "fill": "pour", "bed": 250},
        {"make": "cord", "fill": "press"},
        {"make": "cord", "section": FLAT, "path": 300},
        {"section": ROUND, "path": 160, "bed": 110},
        {"make": "cord", "section": ROUND, "measured": IN_VEES.format(angle=60), "fill": "pour"},
    ],
    ids=str,
)
def test_every_proof_holds(choices):
    found = sized(**choices)
    plan = planning.planned(found)
    mold = closed_mold(plan, carry_out(plan))
    printer = found.case.printer
    lying = {role: on_bed(mesh, upside_down=role == "mold_upper") for role, mesh in mold.printed.items()}
    findings = (
        *proofs(mold, found),
        *running(mold),
        *demoulding(mold, elongation_at_break=found.case.given.elastomer.elongation_at_break),
        *walls(mold, printer=printer),
        *printability(mold, lying=lying, printer=printer),
        *fit(mold, printer=printer),
    )
    assert [(f.proof, f.text, f.where) for f in findings if not f.passed] == []
