"""The pour of one mold, from its spec: times, ratios, bubbles, and what is flagged."""

import math
import pathlib
from dataclasses import replace

import pytest

from moldgen import case, fill_time, sizing
from moldgen.errors import SpecError
from moldgen.fill_time import (
    cavity_resistance_pa_s_mm3,
    fill_time_s,
    gate_that_would_do_mm,
    opening_resistance_pa_s_mm3,
    plunger_to_fill_n,
    quicker,
    vent_that_would_do_mm,
)
from moldgen.mold.plan import OpeningPlan
from moldgen.planning import planned
from moldgen.pouring import at_shop_s, poured
from moldgen.shapes import Extruded, Path, Revolved, Vertex, circle
from moldgen.spec import document

EXAMPLES = pathlib.Path(__file__).parents[1] / "part_specs"
TYRE = """\
family: idler_tyre
name: tyre
quantity: 1
elastomer: pu_60a
measured: {hub_diameter: 30 mm, hub_width: 6 mm}
wanted: {fitted_diameter: 38 mm, fitted_width: 5 mm, stretch: 3 %}
"""


def tyre(elastomer="pu_60a", more="", quantity=1):
    text = TYRE.replace("pu_60a", elastomer).replace("quantity: 1", f"quantity: {quantity}") + more
    return case.from_document(document.parse(text, "tyre.yaml"))


def plan_of(one):
    return planned(sizing.size(one))


def pour_of(elastomer="pu_60a", more="", quantity=1):
    one = tyre(elastomer, more, quantity)
    return poured(one, plan_of(one))


def codes(pour):
    return {remark.code for remark in pour.remarks}


# --- filling ---------------------------------------------------------------------------------------------------------

# The idler tyre's mold in round numbers: a ring of 28 by 36 mm, 5 mm high, below 12 mm of sprue and one vent.
RING = Revolved(Path((Vertex(14.0, 0.0), Vertex(18.0, 0.0), Vertex(18.0, 5.0), Vertex(14.0, 5.0))))
SPRUE = OpeningPlan(-16.0, 0.0, 5.0, 2.2, 0.6, 4.4, 17.0, 12.0, 5.0)
VENT = OpeningPlan(17.0, 0.0, 5.0, 1.6, 0.6, 1.6, 17.0, 0.0, 0.0)


def round_numbers(one, count=1):
    plan = plan_of(one)
    return replace(
        plan,
        cavity=replace(plan.cavity, shape=RING),
        places=plan.places[:1] * count,
        sprues=(SPRUE,) * count,
        vents=(VENT,) * count,
    )


def test_fill_time_of_the_idler_s_mold_by_hand():
    # Polyurethane of the table: 2 Pa·s, 1.04 g/cm³. Resistances in Pa·s/mm³, Hagen-Poiseuille throughout.
    # Land: 128 · 2 · 0.6/(π · 2.2⁴) = 153.6/73.594 = 2.0871.
    # Cone, 2.2 to 4.4 mm over 6.4 mm: (8 · 2 · 6.4/π) · (2.2² + 2.2 · 1.1 + 1.1²)/(3 · 2.2³ · 1.1³)
    #   = 32.595 · 8.47/42.517 = 6.4934, times 1 + 1.2 · (1.1/6.4)² = 1.03545: 6.7236. The funnel adds nothing.
    # Ring: each way round π · 16 = 50.265 mm of a slot of 5 by 4 mm, 12 · 2 · 50.265/(5 · 4³ · 0.51521) = 7.3173
    #   (0.51521 = 1 − 0.62740 · 0.8 · 0.96588, Boussinesq's series); both ways at once 3.6586, half of it on average.
    # Head 12 mm: 1.04 · 9.80665 · 12 = 122.39 Pa. Volume π · (18² − 14²) · 5 = 2010.6 mm³.
    # Cavity: 2010.6 · (2.0871 + 6.7236 + 1.8293)/122.39 = 174.8 s.
    # Vent, 1.6 mm over 12 mm: 128 · 2 · 12/(π · 1.6⁴) = 149.21; area 2.0106 mm². Up to nine tenths of its height:
    #   2.0106 · (8.8107 + 3.6586 + 149.21)/(1.04 · 9.80665) · ln 10 = 73.4 s.
    one = tyre()
    assert fill_time_s(one, round_numbers(one)) == pytest.approx(174.8 + 73.4, abs=0.1)


def test_the_idler_s_own_sprue_resists_as_its_slices_do():
    # Independent: 8 η/(π r⁴) summed over thin slices of the sprue's profile below the funnel; the formula adds
    # 1 + 1.2 tan² α for the cone, 1.4 % at the 6° that sprues widen by.
    sprue = plan_of(tyre()).sprues[0]
    (r0, z0), (r1, z1), (r2, z2), *_ = sprue.profile(dip_mm=0.0, beyond_mm=0.0)
    steps = 4000
    cone = sum(
        8.0 * 2.0 / math.pi * ((z2 - z1) / steps) / (r1 + (r2 - r1) * (i + 0.5) / steps) ** 4 for i in range(steps)
    )
    land = 8.0 * 2.0 / math.pi * (z1 - z0) / r0**4
    factor = 1.0 + 1.2 * ((r2 - r1) / (z2 - z1)) ** 2
    found = opening_resistance_pa_s_mm3(sprue, viscosity_pa_s=2.0)
    assert found == pytest.approx(land + factor * cone, rel=1e-5)


def test_at_equal_heads_nothing_flows(monkeypatch):
    # A vent filled to the level of the funnel: the last of it takes for ever.
    one = tyre()
    monkeypatch.setattr(fill_time, "VENTS_TO_FILL", 1.0)
    assert fill_time_s(one, round_numbers(one)) == math.inf


def test_twice_as_thick_takes_twice_as_long():
    # Creeping flow has no other time scale: without viscosity there is none at all (no inertia, no Torricelli).
    thin = tyre("{based_on: pu_60a, mixed_viscosity: 1 Pa·s}")
    thick = tyre("{based_on: pu_60a, mixed_viscosity: 2 Pa·s}")
    plan = round_numbers(thin)
    assert fill_time_s(thick, plan) == pytest.approx(2.0 * fill_time_s(thin, plan), rel=1e-12)


def test_funnels_fill_side_by_side_and_a_syringe_serves_one_after_the_other():
    one, syringe = tyre(), tyre(more="mold: {fill: syringe}")
    # Ten seconds to fill a funnel and go to the next (judgement, as the code says).
    assert fill_time_s(one, round_numbers(one, 4)) == pytest.approx(fill_time_s(one, round_numbers(one)) + 30.0)
    assert fill_time_s(syringe, round_numbers(syringe, 4)) == pytest.approx(
        4.0 * fill_time_s(syringe, round_numbers(syringe))
    )


def test_further_gates_of_one_cavity_are_no_further_cavities_to_fill():
    # As by hand above, but a quarter of the ring behind each of four gates: 3.6586/4 = 0.9147, half of it on average.
    # Cavity: 2010.6 · (8.8107 + 0.4573)/122.39 = 152.25 s; vent: 2.0106 · (8.8107 + 0.9147 + 149.21)/10.199 · ln 10
    # = 72.15 s; and three times ten seconds to go on to the next funnel.
    one = tyre()
    plan = replace(round_numbers(one), sprues=(SPRUE,) * 4)
    assert fill_time_s(one, plan) == pytest.approx(152.25 + 72.15 + 30.0, abs=0.1)


def test_a_folded_belt_fills_by_all_its_gates():
    belt = case.load(EXAMPLES / "projector_take_up_belt.yaml")
    plan = plan_of(belt)
    assert (len(plan.places), len(plan.sprues)) == (1, 4)
    # One gate for each quarter of the ditch: never slower than the whole of it through one, funnels to walk to aside.
    lone = replace(plan, sprues=plan.sprues[:1])
    assert fill_time_s(belt, plan) < fill_time_s(belt, lone) + 30.0


def test_syringe_by_hand():
    # 30 N on a barrel of 16 mm: 30/(π/4 · 16²) = 0.14921 N/mm² = 149 208 Pa instead of a head of 122 Pa, and no
    # vents to wait for: 2010.6 · 10.640/149 208 = 0.1434 s.
    one = tyre(more="mold: {fill: syringe}")
    plan = round_numbers(one)
    assert fill_time_s(one, plan) == pytest.approx(0.1434, abs=5e-5)
    # A tenth of the force takes ten times as long.
    assert plunger_to_fill_n(one, plan, time_s=1.434) == pytest.approx(3.0, rel=1e-3)
    assert plunger_to_fill_n(tyre(), plan, time_s=1.0) is None


def test_a_thin_loop_resists_as_two_channels_side_by_side():
    # A frame of 100 by 60 mm, 2 mm wide and 2 mm high, flat: centre line 2 · (98 + 58) = 312 mm, so two square
    # channels of 156 mm. Square duct: R = 28.454 η L/h⁴ (F. M. White, Viscous Fluid Flow, from memory). The rounding of
    # the corners' share of length is what is left, under 2 %.
    outer = Path((Vertex(0, 0), Vertex(100, 0), Vertex(100, 60), Vertex(0, 60)))
    inner = Path((Vertex(2, 2), Vertex(98, 2), Vertex(98, 58), Vertex(2, 58)))
    found = cavity_resistance_pa_s_mm3(Extruded(outer, (inner,), 2.0), viscosity_pa_s=1.0)
    assert found == pytest.approx(28.454 * 156.0 / 2.0**4 / 2.0, rel=0.02)


def test_a_bar_resists_as_one_channel_whatever_small_holes_it_has():
    bar = Path((Vertex(0, 0), Vertex(50, 0), Vertex(50, 4), Vertex(0, 4)))
    found = cavity_resistance_pa_s_mm3(Extruded(bar, (), 4.0), viscosity_pa_s=1.0)
    assert found == pytest.approx(28.454 * 50.0 / 4.0**4, rel=1e-4)
    drilled = cavity_resistance_pa_s_mm3(Extruded(bar, (circle(0.5, 10, 2),), 4.0), viscosity_pa_s=1.0)
    assert drilled == pytest.approx(found, rel=0.05)


def test_the_gate_and_the_vent_that_would_do_do():
    one = tyre()
    plan = round_numbers(one)
    gate = gate_that_would_do_mm(one, plan, 200.0)
    wider = replace(SPRUE, gate_diameter_mm=gate, mouth_diameter_mm=max(4.4, gate))
    assert fill_time_s(one, replace(plan, sprues=(wider,))) == pytest.approx(200.0, abs=0.5)
    assert gate > 2.2
    # The cavity alone takes 174.8 s through this sprue, whatever the vents.
    vent = vent_that_would_do_mm(one, plan, 240.0)
    wider = replace(VENT, gate_diameter_mm=vent, mouth_diameter_mm=vent)
    assert fill_time_s(one, replace(plan, vents=(wider,))) == pytest.approx(240.0, abs=0.5)
    assert vent_that_would_do_mm(one, plan, 170.0) is None
    assert gate_that_would_do_mm(one, plan, 20.0) is None


def test_what_would_be_quicker_is_said_only_where_it_would():
    one, syringe = tyre(), tyre(more="mold: {fill: syringe}")
    assert quicker(one, round_numbers(one), 200.0).startswith("A gate of ")
    assert quicker(one, round_numbers(one), 20.0).startswith("Use a syringe")
    assert "syringe" not in quicker(syringe, round_numbers(syringe), 0.01)


def test_a_mix_that_sets_too_soon_is_flagged_with_the_way_out():
    pour = pour_of("{based_on: pu_60a, pot_life: 5 min}")
    (remark,) = [r for r in pour.remarks if r.code == "outlasts_pot_life"]
    assert pour.fill_s > pour.time_to_pour_s == pytest.approx(60.0)
    assert "fill: syringe" in remark.text
    assert "outlasts_pot_life" not in codes(pour_of())


# --- the shop's temperature ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pour", "minutes"),
    [
        # Reference row F10, computed independently: 30 min at 23 °C.
        ("shop: 30 °C", 18.467),
        ("shop: 15 °C", 52.233),
        ("{shop: 30 °C, activation_energy: 50}", 18.771),
        ("{shop: 15 °C, activation_energy: 50}", 52.718),
        # The rule of ten at 23 to 33 °C is 52.25 kJ/mol.
        ("shop: 33 °C", 15.0),
        ("{shop: 33 °C, activation_energy: 52.252}", 15.0),
    ],
)
def test_pot_life_at_the_shop_s_temperature(pour, minutes):
    pour = pour if pour.startswith("{") else f"{{{pour}}}"
    one = tyre("{based_on: pu_60a, pot_life: 30 min}", f"pour: {pour}")
    assert at_shop_s(one, one.elastomer.pot_life_s.value) / 60.0 == pytest.approx(minutes, abs=1e-3)


def test_demould_and_full_cure_follow_the_shop_too():
    at_23, at_13 = pour_of(), pour_of(more="pour: {shop: 13 °C}")
    assert at_13.demould_s == pytest.approx(2.0 * at_23.demould_s)
    assert at_13.full_cure_s == pytest.approx(2.0 * at_23.full_cure_s)


@pytest.mark.parametrize(
    ("field", "value"),
    [("shop", "80 °C"), ("activation_energy", "180"), ("scale_step", "20 g"), ("extras", "[{name: dye, share: 0 %}]")],
)
def test_what_the_formulas_do_not_hold_for_is_refused_with_its_line(field, value):
    with pytest.raises(SpecError) as caught:
        tyre(more=f"pour:\n  {field}: {value}\n")
    (problem,) = caught.value.problems
    assert (problem.line, problem.field.startswith(f"pour.{field}")) == (8, True)


# --- cup and bubbles -------------------------------------------------------------------------------------------------


def test_too_small_a_cup_brings_the_smallest_sound_one():
    # 2 % of the ratio by weight 100 : 96.2 on a 0.1 g scale: 0.05 · (1/a + 1/b) must stay below, so about 5 g of each.
    pour = pour_of()
    assert not pour.cup.sound
    assert pour.sound_cup.sound
    assert pour.mixed is pour.sound_cup
    assert pour.sound_cup.batch_g == pour.cup.smallest_sound_batch_g
    assert 10.0 <= pour.sound_cup.batch_g <= 11.0
    assert "ratio_unsure" in codes(pour)
    fine = pour_of(more="pour: {scale_step: 0.01 g}")
    assert fine.sound_cup is None
    assert fine.mixed is fine.cup
    assert "ratio_unsure" not in codes(fine)


def test_bubbles_and_vessel_by_hand():
    # The cup to mix holds 10.4 g/1.04 = 10 ml: 10 000/(π/4 · 50²) = 5.093 mm high in a cup of 50 mm. In 2 min a bubble
    # must rise 5.093/120 = 0.04244 mm/s: Stokes, d = 2 √(9 · 2 · 0.04244/(2 · 1.04 · 9.80665)) = 0.3871 mm.
    pour = pour_of()
    assert pour.mixed.batch_g == 10.4
    assert pour.bubble_cup_mm == pytest.approx(0.3871, abs=1e-4)
    assert pour.vessel_ml == pytest.approx((30.0, 50.0))  # three to five times the mix
    assert "bubbles_stay" not in codes(pour)


def test_in_a_thick_mix_bubbles_stay_and_the_vessel_is_said():
    # 20 Pa·s instead of 2: bubbles √10 times as large.
    pour = pour_of("{based_on: pu_60a, mixed_viscosity: 20 Pa·s}")
    assert pour.bubble_cup_mm == pytest.approx(0.3871 * math.sqrt(10.0), abs=1e-3)
    (remark,) = [r for r in pour.remarks if r.code == "bubbles_stay"]
    assert "30 to 50 ml" in remark.text
    assert "pressure pot" in remark.text
    assert "fill: press" in remark.text


def test_more_in_a_cup_than_pot_lives_are_stated_for_is_flagged():
    # Pot lives are stated for 100 g (an adhesive maker's note). A bed full of tyres, and as much again to spare.
    pour = pour_of("{based_on: pu_60a, density: 1.3 g/cm³}", "pour: {spare: 100 %}", quantity=40)
    assert pour.mixed.batch_g > 100.0
    assert "large_cup" in codes(pour)
    assert "large_cup" not in codes(pour_of())


def test_pot_life_shorter_than_mixing_is_said_and_not_a_crash():
    pour = pour_of("{based_on: pu_60a, pot_life: 1 min}")
    assert pour.time_to_pour_s < 0.0
    assert "outlasts_pot_life" in codes(pour)


# --- print against rubber --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("elastomer", "printer", "flagged"),
    [
        # Makers' notes: uncured photopolymer stops a platinum cure; tin and polysulfide do not mind.
        ("silicone_pt_30a", "photopolymer", True),
        ("silicone_pt_30a", "filament_0_4", False),
        ("silicone_sn_30a", "photopolymer", False),
        ("polysulfide_30a", "photopolymer", False),
        ("pu_60a", "photopolymer", True),  # amines left in the print: a tacky surface
    ],
)
def test_a_print_that_stops_the_cure_is_flagged(elastomer, printer, flagged):
    assert ("cure_inhibited" in codes(pour_of(elastomer, f"printer: {printer}"))) is flagged


@pytest.mark.parametrize(
    ("elastomer", "softens", "flagged"),
    [
        # Post-cure 65 °C (polyurethane) and 80 °C (platinum silicone) in the table; 10 K are kept from softening.
        ("pu_60a", 76, False),
        ("pu_60a", 74, True),
        ("silicone_pt_30a", 77, True),
        ("silicone_pt_30a", 105, False),
        ("silicone_sn_30a", 60, False),  # has no post-cure
    ],
)
def test_a_post_cure_that_softens_the_print_is_flagged(elastomer, softens, flagged):
    more = f"printer: {{based_on: filament_0_4, softens: {softens} °C}}"
    assert ("post_cure_softens_print" in codes(pour_of(elastomer, more))) is flagged


def test_a_cure_too_warm_for_the_print_is_flagged():
    more = "printer: {based_on: filament_0_4, softens: 59 °C}\npour: {shop: 50 °C}"
    assert "cure_softens_print" in codes(pour_of(more=more))
    assert "cure_softens_print" not in codes(pour_of(more="pour: {shop: 50 °C}"))  # PETG, 77 °C
