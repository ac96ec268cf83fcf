"""The steps at the bench: each caution where it matters, and the figures that the hands need."""

import pytest

from moldgen import bench, case, sizing
from moldgen.feedback.bench_checks import expected_checks
from moldgen.planning import planned
from moldgen.pouring import poured
from moldgen.spec import document

TYRE = """\
family: idler_tyre
name: tyre
quantity: QUANTITY
elastomer: ELASTOMER
measured: {hub_diameter: 30 mm, hub_width: 6 mm}
wanted: {fitted_diameter: 38 mm, fitted_width: 5 mm, stretch: 3 %}
"""
SLEEVE = """\
family: pinch_sleeve
name: sleeve
elastomer: ELASTOMER
measured: {core_diameter: 8 mm, core_length: 12 mm}
wanted: {roller_diameter: 14 mm, length: 11 mm, stretch: 3 %, grind_allowance: 0.4 mm}
"""
CLASSES = ("pu_60a", "silicone_pt_40a", "silicone_sn_40a", "polysulfide_30a")


def steps(elastomer, more="", spec=TYRE, quantity=1):
    text = spec.replace("ELASTOMER", elastomer).replace("QUANTITY", str(quantity)) + more
    one = case.from_document(document.parse(text, "part.yaml"))
    sized = sizing.size(one)
    plan = planned(sized)
    return {step.title: step for step in bench.steps(one, plan, poured(one, plan), (), expected_checks(sized))}


def cautions(step):
    return " ".join(step.cautions).lower()


# What a safety data sheet of each class is headed by, at the step where it does its harm: isocyanates sensitise (GHS
# H334, H317), organotin catalysts and old hardeners of polysulfide are toxic, mercaptans smell; platinum-cured silicone
# is harmless but does not cure against latex (makers' notes).
@pytest.mark.parametrize(
    ("elastomer", "step", "words"),
    [
        ("pu_60a", "Weigh", ("isocyanate", "sensitises", "nitrile", "ventilate")),
        ("pu_60a", "Make the mold ready", ("isopropyl alcohol", "flames", "moisture", "photopolymer")),
        ("pu_60a", "Mix", ("moisture",)),
        ("pu_60a", "Let it cure", ("oven that is used for food",)),
        ("silicone_pt_40a", "Weigh", ("nitrile", "never latex")),
        ("silicone_pt_40a", "Make the mold ready", ("sulphur", "tin", "amines", "uncured photopolymer")),
        ("silicone_pt_40a", "Mix", ("latex", "tin-cured silicone and its tools")),
        ("silicone_pt_40a", "Fill", ("slippery",)),
        ("silicone_sn_40a", "Weigh", ("organotin", "skin", "nitrile")),
        ("silicone_sn_40a", "Let it cure", ("alcohol while it cures", "ventilate")),
        ("polysulfide_30a", "Weigh", ("metal oxide", "mercaptans", "sensitise the skin")),
    ],
)
def test_the_caution_stands_at_the_step_where_it_matters(elastomer, step, words):
    said = cautions(steps(elastomer)[step])
    assert [word for word in words if word not in said] == []


@pytest.mark.parametrize("elastomer", CLASSES)
def test_every_hazard_of_the_class_stands_at_some_step_once(elastomer):
    # On a part that is ground, so that the dust has its step.
    found = steps(elastomer, spec=SLEEVE)
    rubber = case.from_document(document.parse(SLEEVE.replace("ELASTOMER", elastomer), "p.yaml")).elastomer
    said = [caution.lower() for step in found.values() for caution in step.cautions]
    for hazard in rubber.hazards:
        assert [hazard.lower() in caution for caution in said].count(True) == 1, hazard


@pytest.mark.parametrize("elastomer", CLASSES)
def test_what_holds_for_all_is_said_for_all(elastomer):
    found = steps(elastomer, spec=SLEEVE)
    assert "no flame" in cautions(found["Make the mold ready"])  # ignition of release sprays
    assert "safety data sheet" in cautions(found["Weigh"])
    assert "fingers" in cautions(found["Open and trim"])  # blades
    assert "mask" in cautions(found["Grind and fit"])  # dust
    assert "oven" in cautions(found["Let it cure"]) or "ventilate" in cautions(found["Let it cure"])
    assert "mains plug" in cautions(found["Check"])


def test_a_part_that_is_not_ground_is_only_fitted():
    found = steps("pu_60a")
    assert "Grind and fit" not in found
    assert "grind" not in found["Fit"].text.lower()


def test_the_sound_cup_is_what_is_weighed_and_why_is_said():
    # A 0.1 g scale and 2 % allowed: about 5 g of each component at least (0.05 · 2/0.02).
    weigh = steps("pu_60a")["Weigh"].text
    assert weigh.startswith("5.3 g A (isocyanate), then 5.1 g B (polyol): 10.4 g together")
    assert "cure stands 2%" in weigh
    fine = steps("pu_60a", "pour: {scale_step: 0.01 g}")["Weigh"].text
    assert "needs only" not in fine
    assert "15% spare" in fine or "16% spare" in fine


def test_pastes_go_in_before_the_tin_that_starts_the_cure():
    # Into the polyol for a polyurethane, into A for the others (common practice, no source).
    extras = "pour: {extras: [{name: thinner, share: 10 %}, {name: pigment paste, share: 2 %}], scale_step: 0.01 g}"
    text = steps("pu_60a", extras)["Weigh"].text
    order = [text.index(name) for name in ("B (polyol)", "thinner", "pigment paste", "A (isocyanate)")]
    assert order == sorted(order)
    assert "before the last tin" in steps("pu_60a", extras)["Mix"].text
    assert "moment A (isocyanate) goes in" in steps("pu_60a", extras)["Mix"].text
    text = steps("silicone_sn_40a", extras)["Weigh"].text
    catalyst = case.from_document(
        document.parse(TYRE.replace("ELASTOMER", "silicone_sn_40a").replace("QUANTITY", "1"), "p.yaml")
    ).elastomer.b_name
    order = [text.index(name) for name in ("thinner", "pigment paste", catalyst)]
    assert order == sorted(order)


@pytest.mark.parametrize(
    ("more", "said"),
    [("", "in the mold or out of it"), ("printer: {based_on: filament_0_4, softens: 60 °C}", "out of the mold, since")],
)
def test_where_a_post_cure_is_done_depends_on_the_print(more, said):
    assert said in steps("pu_60a", more)["Let it cure"].text


def test_degassing_is_asked_for_where_bubbles_stay():
    assert "degas" not in steps("pu_60a")["Mix"].text
    thick = steps("{based_on: pu_60a, mixed_viscosity: 20 Pa·s}")["Mix"].text
    assert "vessel of 30 to 50 ml" in thick  # three to five times 10 ml
    assert "off the pot life" in thick


def test_how_to_fill_follows_the_way_and_the_number_of_funnels():
    assert "the funnel and keep it full" in steps("pu_60a")["Fill"].text
    assert "all funnels in turn" in steps("pu_60a", quantity=3)["Fill"].text
    syringe = steps("pu_60a", "mold: {fill: syringe}")["Fill"].text
    assert "30 N on the plunger of a 16 mm barrel" in syringe
    assert "press it home" in steps("pu_60a", "mold: {fill: press}")["Fill and close"].text


def test_release_and_what_it_sticks_to_are_said_before_the_pour():
    ready = steps("pu_60a")["Make the mold ready"].text
    assert "release agent on every printed face" in ready
    assert "sticks to almost everything" in ready
    assert "not to cured silicone" in ready


def test_what_can_be_told_without_instruments_is_told_with_what_to_expect():
    drive = "\ndrive: {against_diameter: 8 mm, against_speed: 1430 rpm, press_force: 1.5 N}\n"
    document_ = document.parse(TYRE.replace("ELASTOMER", "pu_60a").replace("QUANTITY", "1") + drive, "part.yaml")
    predicted = {p.prediction.key: p.range for p in sizing.size(case.from_document(document_)).predictions}
    check = steps("pu_60a", drive)["Check"].text
    nip, hold = predicted["nip_width_mm"], predicted["hub_slip_torque_nmm"]
    assert f"Expect {nip.low:.3g} to {nip.high:.3g} mm." in check  # the footprint
    assert f"Expect at least {max(hold.low, 0.0):.3g} N·mm." in check  # what turns it on its hub
