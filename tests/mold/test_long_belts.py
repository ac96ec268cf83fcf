"""Molds for belts that are not cast as rings: folded up, or straight."""

import math

import pytest

from moldgen import case, planning, sizing
from moldgen.errors import SpecError
from moldgen.inspection.closed_mold import closed_mold
from moldgen.inspection.demoulding import demoulding
from moldgen.inspection.fit import fit
from moldgen.inspection.printability import printability
from moldgen.inspection.proofs import proofs
from moldgen.inspection.running import running
from moldgen.inspection.walls import walls
from moldgen.mold.bodies import carry_out
from moldgen.output.bodies import on_bed
from moldgen.spec.document import parse

SPEC = """
family: belt
name: long_belt
elastomer: pu_60a
quantity: {quantity}
measured: {{path_length: {path} ± 0.5 mm}}
wanted: {{section: {section}, stretch: 5 %, make: {make}}}
printer: {{based_on: filament_0_4, bed_x: {bed} mm, bed_y: {bed} mm}}
mold: {{fill: {fill}}}
"""
SQUARE = "square, height: 2 mm"
FLAT = "flat, height: 1.6 mm, width: 6 mm"


def sized(*, path=735, section=SQUARE, make="meander", bed=180, fill="syringe", quantity=1):
    """By default 735 mm round its pulleys: 700 mm free at 5 % of stretch."""
    text = SPEC.format(path=path, section=section, make=make, bed=bed, fill=fill, quantity=quantity)
    return sizing.size(case.from_document(parse(text, "belt.yaml")))


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


def test_cords_together_are_the_belt_and_their_joints():
    # Each piece: its share of the length, 5 mm cut off at either end, three heights for the joint.
    found = sized(make="cord")
    plan = planning.planned(found)
    pieces = len(plan.places)
    x0, y0, x1, y1 = plan.cavity.shape.outline.bounds
    assert pieces * (x1 - x0 - 10.0 - 3.0 * (y1 - y0)) == pytest.approx(found.mold["length_mm"].value, abs=1e-6)
    assert y1 - y0 == pytest.approx(found.mold["height_mm"].value)
    assert plan.block.x_mm <= 180.0 and plan.block.y_mm <= 180.0
    assert len(plan.sprues) == len(plan.vents) == pieces


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
