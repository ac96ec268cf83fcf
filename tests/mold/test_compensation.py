"""What the printer adds is undone: printed by hand from the plan, every family's cavity measures what it must.

A printer that makes everything 0.2 % too small in the plane, walls of holes stand 0.07 mm inside the model and walls of
pins 0.06 mm outside it, and pockets 0.05 mm too deep. So a hole of model diameter D prints k D - 2 * 0.07, a pin
k D + 2 * 0.06, a depth T + 0.05: a hole that prints small has to be drawn larger. By the definitions of the fields;
k acts on the model, the offsets on the print, k times 0.07 being 0.07 to a tenth of a micrometre.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from moldgen import case, sizing
from moldgen.inspection.closed_mold import closed_mold
from moldgen.inspection.in_kernel import mold_in_kernel
from moldgen.inspection.proofs import proofs
from moldgen.mold.bodies import carry_out
from moldgen.planning import planned
from moldgen.shapes import Path as Outline
from moldgen.shapes import Revolved
from moldgen.spec.document import parse

EXAMPLES = Path(__file__).parents[2] / "part_specs"
SCALE, HOLE, BOSS, DEEPER = 0.998, 0.07, 0.06, 0.05
PRINTER = f"{{xy_scale: {SCALE}, hole_offset: {HOLE} mm, boss_offset: {BOSS} mm, z_offset: {DEEPER} mm}}"
MICROMETRE = 1e-3
TYRE = """\
family: idler_tyre
name: rim
elastomer: pu_60a
measured: {hub_diameter: 30 mm, hub_width: WIDTH mm}
wanted: {fitted_diameter: 38 mm, fitted_width: WIDE mm, stretch: 5 %, edge: round 0.4 mm}
"""
CAST_ON = """\
family: idler_tyre
name: rim
elastomer: pu_70a
measured: {hub_diameter: 22 mm, hub_width: 7.35 mm, hub_bore: 4 mm}
wanted: {fitted_diameter: 29 mm, fitted_width: 6.35 mm, mount: cast_on}
"""


def both(text, printer=PRINTER, file="rim.yaml"):
    """The sized part and its mold's plan."""
    document = parse(text + f"\nprinter: {printer}\n", file)
    sized = sizing.size(case.from_document(document))
    return sized, planned(sized)


def example(name):
    return (EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8")


def hole(model_mm):
    return SCALE * model_mm - 2.0 * HOLE


def pin(model_mm):
    return SCALE * model_mm + 2.0 * BOSS


def about(mm):
    return pytest.approx(mm, abs=MICROMETRE)


def ring_as_printed(plan):
    """(bore, outside, width) of a ring's cavity, whose width lies in one half or in both."""
    inner, low, outer, high = plan.cavity.shape.profile.bounds
    pockets = [depth + DEEPER for depth in (-low, high) if depth > 1e-6]
    return pin(2.0 * inner), hole(2.0 * outer), sum(pockets)


def test_a_stretched_tyre_and_its_lid_stays_flat():
    sized, plan = both(TYRE.replace("WIDTH", "6").replace("WIDE", "5"))
    mold = sized.mold
    assert ring_as_printed(plan) == (
        about(mold["inner_diameter_mm"].value),
        about(mold["outer_diameter_mm"].value),
        about(mold["width_mm"].value),
    )
    # Its rounded edges still run out level into the end face: the lid lies on it, and no half holds a rim of the edge.
    assert plan.cavity.shape.profile.bounds[3] == pytest.approx(0.0, abs=1e-9)
    assert plan.cavity.above_mm == pytest.approx(0.0, abs=1e-9)


def test_metal_that_is_cast_on_goes_in_and_is_no_print():
    sized, plan = both(CAST_ON)
    metal = plan.cavity.insert
    inner, low, outer, high = plan.cavity.shape.profile.bounds
    assert SCALE * 2.0 * inner == about(22.0)  # the metal itself: no pin prints it thicker
    assert hole(2.0 * outer) == about(sized.mold["outer_diameter_mm"].value)
    width = high - low + DEEPER
    assert width == about(sized.mold["width_mm"].value)
    # Half of what is left over lies in each half, in a recess that takes the metal in with a little play.
    for seat, depth in ((metal.lower_seat, -low), (metal.upper_seat, 0.0)):
        assert 22.0 < hole(2.0 * seat.bounds[2]) < 22.0 + 0.2
        recess = max(-seat.bounds[1], seat.bounds[3]) - depth
        assert recess + (DEEPER if depth == 0.0 else 0.0) == about(0.5 * (7.35 - width))
    assert 4.0 - 0.2 < pin(2.0 * metal.pin.bounds[2]) < 4.0


def test_a_separate_core_sits_down_on_its_cone():
    _, plan = both(TYRE.replace("WIDTH", "22").replace("WIDE", "20") + "mold: {core: separate}")
    core = plan.cavity.core
    low = plan.cavity.shape.profile.bounds[1]
    at_floor = next(v.x for v in core.profile.vertices if v.y == low and v.x > 0.0)
    # Printed, cone and seat are of one size at the cavity's floor; the upper seat has half of the 0.2 mm clearance.
    assert hole(2.0 * core.lower_seat.bounds[2]) == about(pin(2.0 * at_floor))
    at_ceiling = next(v.x for v in core.profile.vertices if v.y == 0.0 and v.x > 0.0)
    assert 0.5 * (hole(2.0 * core.upper_seat.bounds[2]) - pin(2.0 * at_ceiling)) == about(0.1)


def test_a_key_stands_free_in_its_socket_as_it_does_without_offsets():
    def printed_gaps(printer, hole, pin):
        (key, *_) = both(TYRE.replace("WIDTH", "6").replace("WIDE", "5"), printer)[1].keys
        across = (key.base_diameter_mm, key.tip_diameter_mm)
        return [0.5 * (hole(d + 2.0 * key.clearance_mm) - pin(d)) for d in across]

    # 0.15 mm of the printer's 0.2 on each side, however much it adds to walls: 0.07 and 0.06 mm would leave 0.02.
    assert printed_gaps("filament_0_4", lambda d: d, lambda d: d) == [about(0.15)] * 2
    assert printed_gaps(PRINTER, hole, pin) == [about(0.15)] * 2


def test_without_offsets_the_lower_half_loses_just_the_core():
    _, plan = both(TYRE.replace("WIDTH", "22").replace("WIDE", "20") + "mold: {core: separate}", "filament_0_4")
    assert plan.cavity.core.lower_seat is None


@pytest.mark.parametrize("name", ["loop_pinch_sleeve", "changer_platter_belt", "projector_reel_belt"])
def test_sleeves_and_round_belts(name):
    sized, plan = both(example(name))
    (inner, _, outer, _), width = sized.mold_shape.profile.bounds, sized.mold_shape.height_mm
    # A round section is drawn as a few arcs where it ought to be an ellipse: 10 µm on each side, of layers of 150 µm.
    rounded = pytest.approx(width, abs=0.02)
    assert ring_as_printed(plan) == (about(2.0 * inner), about(2.0 * outer), rounded)


def test_each_of_two_halves_prints_deeper_and_is_drawn_shallower():
    # A flange half-way up: parted at its face, what is over it and what is under it print as they are wanted.
    text = """\
family: turned_part
name: collared
elastomer: pu_60a
measured: {}
wanted: {profile: [[0, 0], [8, 0], [8, 4], [11, 4], [11, 7], [8, 7], [8, 13], [0, 13]], running: none}
"""
    sized, plan = both(text)
    grown = sized.mold["height_mm"].value / 13.0
    _, low, _, high = plan.cavity.shape.profile.bounds
    assert (high + DEEPER, -low + DEEPER) == (about(6.0 * grown), about(7.0 * grown))
    failed = [f.text for f in proofs(closed_mold(plan, carry_out(plan)), sized) if not f.passed]
    assert failed == []
    # Drawn as if only one of them printed deeper, it is caught: 0.05 mm of 16 mm across, 3 per mille of the part.
    once = with_heights_times(plan, (high - low + DEEPER) / (high - low))
    failed = [f.proof for f in mold_in_kernel(once, carry_out(once), sized) if not f.passed]
    assert failed == ["cavity_volume"]


def with_heights_times(plan, factor):
    """The plan with its cavity drawn taller; its openings stay where the ceilings go."""
    profile = plan.cavity.shape.profile
    taller = Revolved(Outline(tuple(replace(v, y=factor * v.y) for v in profile.vertices)))
    _, low, _, high = taller.profile.bounds
    openings = {
        name: tuple(replace(o, gate_z_mm=factor * o.gate_z_mm) for o in getattr(plan, name))
        for name in ("sprues", "vents")
    }
    return replace(plan, cavity=replace(plan.cavity, shape=taller, below_mm=-low, above_mm=high), **openings)


@pytest.mark.parametrize("name", ["loop_one_way_pad", "changer_one_way_pad", "changer_brake_shoe"])
def test_flat_parts_outline_thickness_and_holes(name):
    sized, plan = both(example(name), file=(EXAMPLES / f"{name}.yaml").as_posix())
    wanted, model = sized.mold_shape, plan.cavity.shape
    assert model.thickness_mm + DEEPER == about(wanted.thickness_mm)
    # It may lie turned about in its mold; rim and area tell its size whichever way. Going out by d all round adds
    # rim d + pi d² to an area whose corners are round (Steiner), a little more where they are sharp.
    d = HOLE
    assert model.outline.area == pytest.approx(
        (wanted.outline.area / SCALE**2) + wanted.outline.length / SCALE * d, abs=10.0 * d * d
    )
    for before, after in zip(wanted.holes, model.holes, strict=True):
        assert after.area == pytest.approx(before.area / SCALE**2 - before.length / SCALE * BOSS, abs=10.0 * BOSS**2)


def test_a_folded_belt_keeps_its_section_and_its_length():
    text = example("projector_take_up_belt")
    section = "  bed_y: 180 mm"
    assert section in text
    keys = PRINTER.strip("{}").replace(", ", "\n  ")
    sized = sizing.size(case.from_document(parse(text.replace(section, f"{section}\n  {keys}"), "belt.yaml")))
    shape, mold = planned(sized).cavity.shape, sized.mold
    (inside,) = shape.holes
    assert shape.thickness_mm + DEEPER == about(mold["width_mm"].value)
    # Both walls of the ditch are parallel to its middle line: ditch area over mean rim is its width as drawn.
    middle = 0.5 * (shape.outline.length + inside.length)
    drawn = (shape.outline.area - inside.area) / middle
    assert SCALE * drawn - HOLE - BOSS == about(mold["height_mm"].value)
    # The outline's turning is one whole turn: going out by d makes it longer by 2 pi d, the inside shorter likewise.
    assert SCALE * middle == pytest.approx(mold["length_mm"].value, abs=0.05)


def test_a_round_cord_lies_in_two_pockets():
    text = """\
family: belt
name: round
elastomer: pu_70a
measured: {path_length: 735 ± 0.5 mm}
wanted: {section: round, diameter: 3 mm, stretch: 5 %, make: cord}
"""
    sized, plan = both(text)
    cavity = plan.cavity
    # As for a ring: a few arcs stand for an ellipse.
    assert cavity.below_mm + cavity.above_mm + 2.0 * DEEPER == pytest.approx(sized.mold_shape.height_mm, abs=0.02)
    # What it must hold, drawn shallower in each half, and what the kernel makes of it.
    failed = [f.text for f in mold_in_kernel(plan, carry_out(plan), sized) if not f.passed]
    assert failed == []


def test_printed_walls_that_fall_short_are_undone_the_other_way_about():
    printer = "{xy_scale: 1.002, hole_offset: -0.05 mm, boss_offset: -0.04 mm, z_offset: -0.03 mm}"
    sized, plan = both(TYRE.replace("WIDTH", "6").replace("WIDE", "5"), printer)
    assert isinstance(plan.cavity.shape, Revolved)
    inner, low, outer, high = plan.cavity.shape.profile.bounds
    assert 1.002 * 2.0 * inner - 0.08 == about(sized.mold["inner_diameter_mm"].value)
    assert 1.002 * 2.0 * outer + 0.10 == about(sized.mold["outer_diameter_mm"].value)
    assert high == pytest.approx(0.0, abs=1e-9)
    assert high - low - 0.03 == about(sized.mold["width_mm"].value)
