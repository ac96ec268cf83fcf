"""Roofs that no printer builds: the plan tells them before the mold is cut, and what is built prints.

Whatever the plan says is held against the proof of printability of the finished bodies, which looks at triangles.
"""

import math

import pytest

from moldgen import printers
from moldgen.case import MoldChoices
from moldgen.inspection.closed_mold import closed_mold
from moldgen.inspection.printability import bed_and_overhangs
from moldgen.mold.bodies import carry_out
from moldgen.mold.design import design
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.roofs import REACH_MM, worst_roof
from moldgen.output.bodies import on_bed
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed
from moldgen.shapes import Path, Revolved, Vertex

FILAMENT = printers.find("filament_0_4")


def half_section(*corners):
    return Path(tuple(Vertex(*corner) for corner in corners))


def grooved(bottom, neck, top=8.0):
    """A solid with a waist, lying below z = 0: the mold of its foot reaches over it as far as the waist is deep."""
    return half_section(
        (0.0, -9.0), (bottom, -9.0), (bottom, -6.0), (neck, -6.0), (neck, -3.0), (top, -3.0), (top, 0.0), (0.0, 0.0)
    )


def coned(rise):
    """A foot of 9 mm under a neck of 5, the mold's wall between them rising by so much."""
    return half_section((0.0, -9.0), (9.0, -9.0), (9.0, -7.0), (5.0, -7.0 + rise), (5.0, 0.0), (0.0, 0.0))


def roof_of(profile):
    return worst_roof(profile, printer=FILAMENT, separate_core=False)


def proven(profile):
    """The overhang that the proof finds on a block which the profile is cut out of."""
    _, low, outer, _ = profile.bounds
    block = kernel.box(-outer - 5.0, -outer - 5.0, low - 4.0, outer + 5.0, outer + 5.0, 0.0)
    mesh = meshed(kernel.cut(block, [kernel.revolved(profile, stage="cavity")], stage="half"))
    found = bed_and_overhangs({"half": on_bed(mesh, upside_down=False)}, standing={"half": mesh}, printer=FILAMENT)
    return next(f for f in found if f.proof == "overhang")


@pytest.mark.parametrize(
    ("profile", "reach"),
    [
        (grooved(7.0, 6.0), None),  # 1.0 mm, which holds by itself
        (grooved(9.0, 6.0), 3.0),  # 3.0 mm, and past the waist a bridge would be 2 sqrt(81 − 36) = 13.4 mm long
        (grooved(5.0, 2.0), None),  # as far out, but all of a foot of 10 mm across can be bridged
        (coned(3.5), 4.0),  # 48.8° from upright
        (coned(4.5), None),  # 41.6°: it holds line by line
    ],
)
def test_a_roof_is_told_as_the_proof_finds_it(profile, reach):
    roof, finding = roof_of(profile), proven(profile)
    assert (roof is None) == finding.passed == (reach is None)
    if reach is not None:
        assert roof.reach_mm == pytest.approx(reach, abs=1e-6)
        assert finding.value == pytest.approx(reach, abs=0.1)
        assert roof.z_mm == pytest.approx(finding.where[2], abs=max(abs(profile.bounds[1] + 9.0), 3.6))


def test_a_roof_in_the_upper_half_is_looked_at_upside_down():
    roof = roof_of(grooved(9.0, 6.0).mirrored_y())
    assert (roof.reach_mm, roof.z_mm) == (pytest.approx(3.0), pytest.approx(6.0))


def test_a_roof_between_two_walls_is_held_by_both():
    # A ring-shaped pocket of 2.2 mm under the floor between core and wall: 1.1 mm from either side.
    pocket = half_section(
        (6.0, -9.0), (8.2, -9.0), (8.2, -6.0), (9.0, -6.0), (9.0, 0.0), (5.0, 0.0), (5.0, -6.0), (6.0, -6.0)
    )
    assert roof_of(pocket) is None


def test_a_collar_of_a_separate_core_is_told_at_its_height():
    # A bore of 5 mm widened to 7 over its middle: the core's collar starts 2 mm out with nothing under it.
    collared = half_section(
        (5.0, -12.0), (12.0, -12.0), (12.0, 0.0), (5.0, 0.0), (5.0, -4.0), (7.0, -4.0), (7.0, -8.0), (5.0, -8.0)
    )
    roof = worst_roof(collared, printer=FILAMENT, separate_core=True)
    assert (roof.reach_mm, roof.z_mm) == (pytest.approx(2.0), pytest.approx(-8.0))


@pytest.mark.parametrize("upside_down", [False, True])
def test_a_core_thicker_at_one_end_stands_on_it_and_has_no_roof(upside_down):
    # A bore of 4.4 mm widened to 8.6 at one end, as for a screw's head: whichever way up, its core has a foot.
    recessed = half_section((2.2, -14.0), (12.0, -14.0), (12.0, 0.0), (4.3, 0.0), (4.3, -6.0), (2.2, -6.0))
    if upside_down:
        recessed = recessed.mirrored_y().moved(dy=-14.0)
    assert worst_roof(recessed, printer=FILAMENT, separate_core=True) is None


# --- what the design does with them ----------------------------------------------------------------


def order(shape, **choices):
    return Order(
        name="roof",
        marking="",
        shape=Revolved(shape),
        insert=None,
        printer=FILAMENT,
        choices=MoldChoices(**choices),
        quantity=1,
        elongation_at_break=6.0,
    )


# Rollers 16 mm across with flanges of 22: one in the middle, one at an end, one at either end.
COLLARED = half_section(
    (0.0, 0.0), (8.0, 0.0), (8.0, 4.0), (11.0, 4.0), (11.0, 7.0), (8.0, 7.0), (8.0, 11.0), (0.0, 11.0)
)
SPOOL = half_section(
    (0.0, 0.0), (11.0, 0.0), (11.0, 3.0), (8.0, 3.0), (8.0, 9.0), (11.0, 9.0), (11.0, 12.0), (0.0, 12.0)
)
FLANGED = half_section((0.0, 0.0), (11.0, 0.0), (11.0, 3.0), (8.0, 3.0), (8.0, 9.0), (0.0, 9.0))


def test_a_roller_whose_flange_would_lie_under_a_roof_is_refused_and_told_what_would_do():
    with pytest.raises(CannotBeMadeError) as caught:
        design(order(COLLARED, fill="press"))
    (refusal,) = caught.value.refusals
    assert "would reach out by 3.0 mm over its cavity" in refusal.limit
    assert f"builds {REACH_MM:g} mm without supports" in refusal.limit
    assert "`fill: pour`" in refusal.way_out


def test_what_the_refusal_names_can_be_made_and_prints():
    plan = design(order(COLLARED, fill="pour"))
    mold = closed_mold(plan, carry_out(plan))
    lying = {role: on_bed(mesh, upside_down=role == "mold_upper") for role, mesh in mold.printed.items()}
    found = list(bed_and_overhangs(lying, standing=mold.printed, printer=FILAMENT))
    assert [f.text for f in found if not f.passed] == []


def test_a_spool_is_refused_however_it_is_filled_and_no_way_is_named_that_would_fail():
    with pytest.raises(CannotBeMadeError) as caught:
        design(order(SPOOL))
    (refusal,) = caught.value.refusals
    assert "shallower" in refusal.way_out
    assert "fill" not in refusal.way_out


def test_a_roller_with_one_flange_is_pressed_with_the_flange_up():
    plan = design(order(FLANGED, fill="press"))
    assert any(decision.what == "cast upside down" for decision in plan.decisions)
    assert plan.cavity.above_mm == pytest.approx(0.0)


def test_a_printer_that_bridges_farther_makes_what_another_cannot():
    # All of a foot of 22 mm across, and to the next of the directions in which a bridge is tried.
    able = FILAMENT.model_copy(update={"bridge_mm": 2.0 * math.hypot(11.0, 8.0)})
    assert worst_roof(grooved(11.0, 8.0), printer=able, separate_core=False) is None
