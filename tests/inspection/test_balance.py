"""Material balance in the kernel and on meshes: sound molds pass, each spoiled in one way is caught, and where."""

import math
from dataclasses import replace

import pytest
from spoiled import ORDERS, cut, grown, ring, shifted, sound

from moldgen.inspection.balance import on_meshes
from moldgen.inspection.filling import filling
from moldgen.inspection.in_kernel import balance, grown_on_mm3
from moldgen.parts import kernel
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import meshed
from moldgen.shapes import Path, Revolved

THREE_KINDS = pytest.mark.parametrize("kind", ["sleeve", "cover", "pad"])


def failed(mold, wanted_mm3=None):
    """Codes of what fails in the kernel and on meshes."""
    wanted = mold.plan.cavity.volume_mm3 if wanted_mm3 is None else wanted_mm3
    return {
        finding.proof for finding in (*balance(mold.plan, mold.bodies, wanted), *on_meshes(mold)) if not finding.passed
    }


def mesh_finding(mold):
    (finding,) = on_meshes(mold)
    return finding


# --- sound -----------------------------------------------------------------------------------------


MANY = pytest.mark.slow
KINDS = [pytest.param(kind, marks=MANY) if kind.startswith("four") else kind for kind in ORDERS]


@pytest.mark.parametrize("kind", KINDS)
def test_a_sound_mold_balances_with_the_part_that_was_ordered(kind):
    mold = sound(kind)
    assert failed(mold, ORDERS[kind].shape.volume_mm3) == set()
    assert mesh_finding(mold).value < 1e-4  # ten times below what is let pass


def test_what_stands_on_the_lower_half_is_frusta_of_its_keys():
    # A key of 8 mm at z = 0 and 5.5 mm at 5 mm, seen from the relief below z = 0: its cone carried on.
    plan = sound("tyre").plan
    relief = plan.seal.relief_mm
    foot = 4.0 + 1.25 * relief / 5.0
    one = math.pi * (5.0 + relief) / 3.0 * (foot**2 + foot * 2.75 + 2.75**2)
    assert grown_on_mm3(plan) == pytest.approx(len(plan.keys) * one, rel=1e-9)


# --- spoiled ---------------------------------------------------------------------------------------


@THREE_KINDS
@pytest.mark.parametrize("half", ["lower", "upper"])
def test_a_half_shifted_by_0_3_mm_is_caught_in_the_kernel_and_on_meshes(kind, half):
    assert {"no_overlap", "balance_mesh"} <= failed(shifted(kind, half, x=0.3))


@THREE_KINDS
def test_a_gaping_mold_is_caught_on_meshes(kind):
    # Lifted by 0.2 mm the upper half overlaps nothing; what shows is the room between the lands.
    assert "balance_mesh" in failed(shifted(kind, "upper", z=0.2))


def test_a_plugged_vent_is_caught_by_balance_and_by_filling():
    mold = sound("tyre")
    (vent,) = mold.plan.vents
    plug = kernel.cylinder(vent.mouth_diameter_mm, vent.top_z_mm, vent.x_mm, vent.y_mm, 0.0)
    spoiled = grown("tyre", "upper", plug)
    assert {"balance_kernel", "no_overlap", "balance_mesh"} <= failed(spoiled)
    x, y, z = mesh_finding(spoiled).where
    assert math.hypot(x - vent.x_mm, y - vent.y_mm) < 1.0
    assert 0.0 <= z <= vent.top_z_mm
    assert "openings_open" in {finding.proof for finding in filling(spoiled) if not finding.passed}


def test_a_shrunk_core_is_caught_on_meshes_at_the_bore():
    # Two per cent off the core's radius of 5 leaves 0.1 mm too much all round the bore.
    mold = sound("sleeve")
    core = kernel.revolved(mold.plan.cavity.core.profile.scaled(0.98, 1.0), stage="spoiling")
    spoiled = replace(
        mold, bodies=replace(mold.bodies, cores=(core,)), cores=(meshed(core),), core_against_halves=meshed(core)
    )
    assert failed(spoiled) == {"balance_mesh"}
    finding = mesh_finding(spoiled)
    # pi (5² − 4.9²) of the 7520 mm³ of a sleeve 24 outside, 10 inside, 20 high: the whole length counts.
    height = mold.plan.cavity.below_mm + mold.plan.cavity.above_mm
    assert finding.value == pytest.approx(math.pi * (25.0 - 4.9**2) * height / 7520.0, rel=0.1)


def test_a_swollen_core_is_caught_in_the_kernel_too():
    mold = sound("sleeve")
    core = kernel.revolved(mold.plan.cavity.core.profile.scaled(1.02, 1.0), stage="spoiling")
    spoiled = replace(
        mold, bodies=replace(mold.bodies, cores=(core,)), cores=(meshed(core),), core_against_halves=meshed(core)
    )
    assert {"no_overlap", "balance_mesh"} <= failed(spoiled)


def test_a_cavity_without_its_shrinkage_is_caught():
    # Left out, 0.5 % of linear shrinkage is 1.5 % of volume.
    mold = sound("tyre")
    assert failed(mold, mold.plan.cavity.volume_mm3 / 0.995**3) == {"cavity_volume"}


def test_a_pour_that_the_plan_does_not_know_of_is_caught():
    mold = sound("tyre")
    sprue = replace(mold.plan.sprues[0], funnel_diameter_mm=mold.plan.sprues[0].funnel_diameter_mm + 0.5)
    spoiled = replace(mold, plan=replace(mold.plan, sprues=(sprue,)))
    assert failed(spoiled) == {"poured_volume", "balance_kernel"}  # the upper half lacks that room, too


def test_a_missing_key_is_caught_in_the_kernel():
    key = sound("tyre").plan.keys[0]
    chisel = kernel.cylinder(5.0, 6.0, key.x_mm, key.y_mm, 0.0)
    assert failed(cut("tyre", "lower", chisel)) == {"balance_kernel"}


def test_a_scratch_across_the_land_is_caught_by_both():
    outer = sound("tyre").plan.cavity.footprint.bounds[2]
    scratch = kernel.box(outer - 0.5, -0.5, -0.5, outer + 4.0, 0.5, 1.0)
    spoiled = cut("tyre", "lower", scratch)
    assert failed(spoiled) == {"balance_kernel", "balance_mesh"}
    x, y, _ = mesh_finding(spoiled).where
    assert outer < x < outer + 4.0
    assert abs(y) < 0.5


@MANY
def test_one_spoiled_cavity_of_four_is_caught_where_it_is():
    plan = sound("four tyres").plan
    x, y = plan.places[2]
    bump = ring(15.5, 16.5, -plan.cavity.below_mm - 1.0, -plan.cavity.below_mm + 0.2, x, y)
    finding = mesh_finding(grown("four tyres", "lower", bump))
    # pi (16.5² − 15.5²) 0.2 = 20.1 mm³ of one cavity's 2022 mm³ and what stands over it near the lid.
    assert finding.value == pytest.approx(math.pi * 32.0 * 0.2 / 2022.0, rel=0.02)
    assert not finding.passed
    assert math.hypot(finding.where[0] - x, finding.where[1] - y) < 1.0


def test_a_mesh_with_a_hole_cannot_be_balanced_and_says_so():
    mold = sound("tyre")
    torn = Mesh(mold.lower.points, mold.lower.triangles[:-1])
    finding = mesh_finding(replace(mold, lower=torn))
    assert not finding.passed
    assert "not closed" in finding.text


def test_metal_larger_than_its_seat_is_caught_in_the_kernel():
    mold = sound("cover")
    body = kernel.revolved(Path(mold.plan.cavity.insert.body.vertices).offset(0.2), stage="spoiling")
    spoiled = replace(mold, bodies=replace(mold.bodies, inserts=(body,)), inserts=(meshed(body),))
    assert "no_overlap" in failed(spoiled)


def test_the_kernel_s_cavity_is_the_closed_form_s():
    mold = sound("bead")
    assert kernel.volume_mm3(mold.bodies.cavities[0]) == pytest.approx(
        Revolved(mold.plan.cavity.shape.profile).volume_mm3, rel=1e-9
    )
