"""The matrix: every way of filling, one cavity and several, cast on and not, flat and turned. All proofs must hold."""

import pytest

from moldgen import case, planning, sizing
from moldgen.inspection.closed_mold import closed_mold
from moldgen.inspection.proofs import proofs
from moldgen.mold.bodies import carry_out
from moldgen.spec.document import parse

TYRE = """
family: idler_tyre
name: tyre
elastomer: pu_60a
quantity: {count}
measured: {{hub_diameter: 20 ± 0.03 mm, hub_width: 8 mm}}
wanted: {{fitted_diameter: 28, fitted_width: 6, crown: 0.1, edge: round 0.3 mm}}
mold: {{fill: {fill}}}
"""
CAST_ON = """
family: idler_tyre
name: caston
elastomer: pu_70a
quantity: {count}
measured: {{hub_diameter: 16 ± 0.03 mm, hub_width: 8 mm, hub_bore: 3 mm}}
wanted: {{fitted_diameter: 22, fitted_width: 6, mount: cast_on}}
mold: {{fill: {fill}}}
"""
SLEEVE = """
family: idler_tyre
name: sleeve
elastomer: pu_60a
quantity: {count}
measured: {{hub_diameter: 8 ± 0.03 mm, hub_width: 14 mm}}
wanted: {{fitted_diameter: 14, fitted_width: 14}}
mold: {{fill: {fill}}}
"""
PLATE = """
family: outline_part
name: plate
elastomer: pu_70a
quantity: {count}
measured: {{}}
wanted:
  outline: [[0, 0], [16, 0, 2], [16, 7], [9, 11, 1], [0, 11]]
  thickness: 4 mm
  holes: [{{at: [5, 5], diameter: 3.2 mm}}]
mold: {{fill: {fill}}}
"""
BELT = """
family: belt
name: belt
elastomer: pu_75a
quantity: {count}
measured: {{path_length: 150 ± 0.5 mm}}
wanted: {{section: round, diameter: 2.5 mm, stretch: 6 %}}
mold: {{fill: {fill}}}
"""
WAYS = [
    (spec, fill, count)
    for spec in ("TYRE", "CAST_ON", "SLEEVE", "PLATE", "BELT")
    for fill in ("pour", "syringe", "press")
    for count in (1, 4, 9)
    if (spec, fill) != ("BELT", "press")  # a round belt parts beside its crest, and pressing wants a flat lid
]


def made(text: str):
    """The sized part and the closed mold of a spec."""
    sized = sizing.size(case.from_document(parse(text, "matrix.yaml")))
    plan = planning.planned(sized)
    return sized, closed_mold(plan, carry_out(plan))


@pytest.mark.slow
@pytest.mark.parametrize(("spec", "fill", "count"), WAYS)
def test_every_proof_holds_however_it_is_filled(spec, fill, count):
    sized, mold = made(globals()[spec].format(fill=fill, count=count))
    assert len(mold.plan.places) == count
    failed = [(f.proof, f.text, f.where) for f in proofs(mold, sized) if not f.passed]
    assert failed == []


@pytest.mark.parametrize("fill", ["pour", "syringe"])
def test_a_mold_for_pouring_has_a_sprue_for_each_cavity_and_a_vent_at_its_high_end(fill):
    sized = sizing.size(case.from_document(parse(TYRE.format(fill=fill, count=4), "matrix.yaml")))
    plan = planning.planned(sized)
    assert len(plan.sprues) == len(plan.vents) == 4
    for (x, _), vent, sprue in zip(plan.places, plan.vents, plan.sprues, strict=True):
        assert vent.x_mm > x > sprue.x_mm  # the +x end is raised
    assert plan.attitude.tilt_deg >= 3.0  # common practice, no source: less does not shed air


def test_pressing_needs_neither_sprue_nor_wedge():
    sized = sizing.size(case.from_document(parse(TYRE.format(fill="press", count=1), "matrix.yaml")))
    plan = planning.planned(sized)
    assert plan.sprues == plan.vents == ()
    assert plan.wedge is None
