"""Random but valid specs of every family: each ends in a mold whose proofs hold, or in an error with a way out."""

import random

import pytest

from moldgen import case, planning, sizing
from moldgen.errors import SpecError
from moldgen.inspection.closed_mold import closed_mold
from moldgen.inspection.proofs import proofs
from moldgen.mold.bodies import carry_out
from moldgen.spec.document import parse

SEED = 20_261_125
IN_CI = 60


def head(rng: random.Random, family: str) -> str:
    elastomer = rng.choice(["pu_50a", "pu_60a", "pu_75a", "silicone_pt_40a", "polysulfide_30a"])
    printer = rng.choice(["filament_0_4", "filament_0_25", "photopolymer"])
    fill = rng.choice(["pour", "pour", "syringe", "press"])
    return (
        f"family: {family}\nname: random\nelastomer: {elastomer}\nprinter: {printer}\n"
        f"quantity: {rng.choice([1, 1, 2, 3, 6])}\nmold: {{fill: {fill}}}\n"
    )


def idler_tyre(rng: random.Random) -> str:
    hub = rng.uniform(6.0, 45.0)
    outer = hub + 2.0 * rng.uniform(1.5, 8.0)
    width = rng.uniform(2.0, 16.0)
    mount = rng.choice(["stretched", "stretched", "bonded", "cast_on"])
    edge = rng.choice(["square", "round 0.4 mm", "bevel 0.3 mm"])
    crown = rng.choice([0.0, 0.0, 0.15])
    return head(rng, "idler_tyre") + (
        f"measured: {{hub_diameter: {hub:.2f} ± 0.03 mm, hub_width: {width + rng.choice([0.0, 2.0]):.2f}, "
        f"hub_bore: {0.3 * hub:.2f}}}\n"
        f"wanted: {{fitted_diameter: {outer:.2f}, fitted_width: {width:.2f}, mount: {mount}, edge: {edge}, "
        f"crown: {crown}, grind_allowance: {rng.choice([0.0, 0.3])}}}\n"
    )


def pinch_sleeve(rng: random.Random) -> str:
    core = rng.uniform(4.0, 14.0)
    length = rng.uniform(6.0, 22.0)
    mount = rng.choice(["stretched", "bonded", "cast_on"])
    return head(rng, "pinch_sleeve") + (
        f"measured: {{core_diameter: {core:.2f} ± 0.03 mm, core_length: {length + 3.0:.2f}}}\n"
        f"wanted: {{roller_diameter: {core + 2 * rng.uniform(2.0, 6.0):.2f}, length: {length:.2f}, mount: {mount}, "
        f"grind_allowance: 0.3}}\n"
    )


def belt(rng: random.Random) -> str:
    section = rng.choice(
        [
            "section: round, diameter: {a:.2f}",
            "section: square, height: {a:.2f}",
            "section: flat, height: {a:.2f}, width: {b:.2f}",
        ]
    )
    a = rng.uniform(1.6, 4.0)
    return head(rng, "belt") + (
        f"measured: {{path_length: {rng.uniform(90.0, 420.0):.1f} ± 0.5 mm}}\n"
        f"wanted: {{{section.format(a=a, b=a * rng.uniform(1.5, 3.0))}, stretch: {rng.uniform(3.0, 8.0):.1f} %}}\n"
    )


def clutch_pad(rng: random.Random) -> str:
    drum = rng.uniform(20.0, 40.0)
    gap = rng.uniform(4.0, 8.0)
    return head(rng, "clutch_pad") + (
        f"measured: {{drum_diameter: {drum:.2f} ± 0.05 mm, pin_circle_diameter: {drum - 2.0 * gap:.2f} ± 0.05 mm, "
        f"pin_diameter: {rng.uniform(1.5, 2.5):.2f}, pin_count: 3, pocket_depth: {rng.uniform(3.0, 6.0):.1f}}}\n"
        f"wanted: {{locks: {rng.choice(['cw', 'ccw'])}, mounting: {rng.choice(['pinned', 'bonded'])}, "
        f"interference: 0.2, thickness: {rng.uniform(2.5, 4.5):.1f}}}\n"
    )


def turned_part(rng: random.Random) -> str:
    outline = rng.choice([tapered, stepped])(rng)
    listed = ", ".join(f"[{r:.2f}, {z:.2f}]" for r, z in outline)
    return head(rng, "turned_part") + f"measured: {{}}\nwanted: {{profile: [{listed}], running: none}}\n"


def tapered(rng: random.Random) -> list[tuple[float, float]]:
    """A bush with a waist or a taper."""
    bore, outer, height = rng.uniform(1.5, 4.0), rng.uniform(7.0, 14.0), rng.uniform(4.0, 14.0)
    waist = outer - rng.choice([0.0, 0.0, 0.8])
    top = outer - rng.uniform(0.0, 1.5)
    return [(bore, 0.0), (outer, 0.0), (waist, 0.5 * height), (top, height), (bore, height)]


def stepped(rng: random.Random) -> list[tuple[float, float]]:
    """Flanges, necks and cones over each other, solid or bored."""
    bore = rng.choice([0.0, rng.uniform(1.5, 5.0)])
    radius, height = bore + rng.uniform(3.0, 9.0), 0.0
    outline = [(bore, 0.0)]
    for _ in range(rng.choice([2, 3, 4])):
        outline.append((radius, height))
        height += rng.uniform(1.0, 6.0)
        radius = max(bore + 1.5, radius + rng.choice([0.0, 0.0, rng.uniform(-2.0, 2.0)]))
        outline.append((radius, height))
        step = rng.uniform(-4.0, 4.0)
        radius = max(bore + 1.5, radius + step)
        height += rng.choice([0.0, 0.0, rng.uniform(0.1, 1.2) * abs(step)])
    return [*outline, (bore, outline[-1][1])]


def outline_part(rng: random.Random) -> str:
    x, y = rng.uniform(8.0, 40.0), rng.uniform(6.0, 20.0)
    notch = rng.uniform(0.2, 0.5) * y
    points = [[0, 0], [x, 0], [x, y - notch], [0.6 * x, y], [0, y]]
    listed = ", ".join(f"[{a:.2f}, {b:.2f}]" for a, b in points)
    return head(rng, "outline_part") + (
        f"measured: {{}}\nwanted: {{outline: [{listed}], thickness: {rng.uniform(2.0, 8.0):.1f}}}\n"
    )


MAKERS = (idler_tyre, pinch_sleeve, belt, clutch_pad, turned_part, outline_part)


def random_spec(number: int) -> str:
    rng = random.Random(SEED + number)
    return MAKERS[number % len(MAKERS)](rng)


def outcome(number: int) -> list[tuple[str, str]]:
    """Failed proofs of one random spec; empty if all hold or the spec is refused with a way out."""
    try:
        sized = sizing.size(case.from_document(parse(random_spec(number), "random.yaml")))
        plan = planning.planned(sized)
    except SpecError as error:
        assert all(problem.field and problem.limit and problem.way_out for problem in error.problems)
        return []
    mold = closed_mold(plan, carry_out(plan))
    return [(f.proof, f.text) for f in proofs(mold, sized) if not f.passed]


@pytest.mark.slow
@pytest.mark.parametrize("number", range(IN_CI))
def test_a_random_spec_ends_in_a_sound_mold_or_a_refusal(number):
    assert outcome(number) == []


def test_most_random_specs_are_built_and_not_refused():
    # A generator that is always refused would prove nothing.
    built = 0
    for number in range(IN_CI):
        try:
            planning.planned(sizing.size(case.from_document(parse(random_spec(number), "random.yaml"))))
        except SpecError:
            continue
        built += 1
    assert built >= 0.6 * IN_CI
