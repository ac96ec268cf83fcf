"""The tyre against a wheel. Row C4 comes from an independent solution of the same nip (other code)."""

import math
from itertools import pairwise

import pytest

from moldgen.case import from_document
from moldgen.families.ring_nip import RollingPair, carried, footprint
from moldgen.mechanics.contact import press_force_for_indentation_n
from moldgen.sizing import size
from moldgen.spec.document import parse

NIP = {"nip_width_mm", "nip_length_mm", "indentation_mm", "peak_pressure_kpa"}
SPEED = {"surface_speed_mm_s", "tyre_speed_rpm"}

# Row C4 (radii 4 on a tyre of 20/16, width 5, 1.5 N, Shore A 50).
WANTED = {"fitted_diameter": "40", "fitted_width": "5", "stretch": "5 %"}
DRIVE = {"against_diameter": "8", "press_force": "1.5 N"}
C4 = {"half_width": 0.61776, "indentation": 0.17263, "peak": 0.30917}


def lines(fields):
    return "".join(f"  {key}: {value}\n" for key, value in fields.items())


def sized(*, drive=DRIVE, elastomer="{based_on: pu_50a, modulus: 2.45581 MPa}", hub="32", **wanted):
    text = (
        f"family: idler_tyre\nname: tyre\nelastomer: {elastomer}\n"
        f"measured:\n  hub_diameter: {hub}\n  hub_width: 500\nwanted:\n{lines(WANTED | wanted)}"
        + (f"drive:\n{lines(drive)}" if drive else "")
    )
    return size(from_document(parse(text, "tyre.yaml")))


def predicted(sizing):
    return {item.prediction.name: item.prediction for item in sizing.predictions}


def codes(sizing):
    return {remark.code for remark in sizing.remarks}


def test_nip_of_the_reference_row():
    predictions = predicted(sized())
    assert predictions["nip_width_mm"].value == pytest.approx(2 * C4["half_width"], rel=5e-5)
    assert predictions["nip_length_mm"].value == 5.0
    assert predictions["indentation_mm"].value == pytest.approx(C4["indentation"], rel=5e-5)
    assert predictions["peak_pressure_kpa"].value == pytest.approx(1000 * C4["peak"], rel=5e-5)
    assert "beyond" not in predictions["nip_width_mm"].basis
    assert "nip_out_of_range" not in codes(sized())


def test_nip_of_a_very_thick_wide_tyre_is_hertz():
    # a^2 = 4 P R/(pi E') with P = pi/100 N/mm, 1/R = 1/10.526316 + 1/200, E' = 4 E/3 = 4: 0.1; p0 = 2 P/(pi a).
    predictions = predicted(
        sized(
            elastomer="{based_on: pu_50a, modulus: 3 MPa}",
            hub="200",
            fitted_diameter="400",
            fitted_width="100",
            drive={"against_diameter": f"{2 * 10.526316}", "press_force": f"{math.pi} N"},
        )
    )
    half_width = math.sqrt(0.1)
    assert predictions["nip_width_mm"].value == pytest.approx(2 * half_width, rel=1e-3)
    assert predictions["peak_pressure_kpa"].value == pytest.approx(1000 * 0.02 / half_width, rel=1e-3)


def test_grinding_allowance_is_gone_before_it_runs():
    # The same tyre in place, however much was ground off on the way.
    ground, plain = predicted(sized(grind_allowance="0.6 mm")), predicted(sized())
    for name in NIP:
        assert ground[name].value == plain[name].value


def test_edges_carry_nothing():
    # Row C4 again: 6 mm of tyre whose bevels take 0.5 mm from each side run on 5 mm.
    predictions = predicted(sized(fitted_width="6", edge="bevel 0.5 mm"))
    assert predictions["nip_length_mm"].value == pytest.approx(5.0)
    assert predictions["indentation_mm"].value == pytest.approx(C4["indentation"], rel=5e-5)


def test_force_it_can_hand_on_is_friction_times_press_force():
    given = predicted(sized(drive=DRIVE | {"friction": "0.4"}))["drive_force_n"]
    assert given.value == pytest.approx(0.4 * 1.5)
    assert "given" in given.basis
    # The elastomer's figure where there is none.
    taken = predicted(sized(elastomer="{based_on: pu_50a, friction: 0.8}"))["drive_force_n"]
    assert taken.value == pytest.approx(0.8 * 1.5)
    assert "elastomer" in taken.basis


def test_tyre_runs_at_the_surface_speed_of_its_wheel():
    # 8 mm at 1500 rpm: pi * 8 * 25 = 628.32 mm/s, on 40 mm a fifth of the speed.
    predictions = predicted(sized(drive=DRIVE | {"against_speed": "1500 rpm"}))
    assert predictions["surface_speed_mm_s"].value == pytest.approx(628.3185, rel=1e-6)
    assert predictions["tyre_speed_rpm"].value == pytest.approx(300.0)
    for name in SPEED:
        assert "1 or 2 %" in predictions[name].basis


def test_names_depend_on_what_is_given_and_not_on_numbers():
    assert not NIP & set(predicted(sized(drive=None)))
    assert {"hub_pressure_kpa", "hub_slip_torque_nmm"} <= set(predicted(sized(drive=None)))
    assert not SPEED & set(predicted(sized()))
    for force in ("0.001 N", "1.5 N", "10 kN"):
        for crown in ("0 mm", "0.3 mm"):
            drive = DRIVE | {"press_force": force, "against_speed": "1500"}
            names = set(predicted(sized(drive=drive, crown=crown)))
            assert names >= NIP | SPEED | {"drive_force_n"}


def test_person_is_told_that_an_idler_sets_no_speed():
    assert "idler_sets_no_speed" in codes(sized())
    assert "idler_sets_no_speed" not in codes(sized(drive=None))


def test_person_is_told_when_the_hub_slips_before_the_nip():
    # 60 N at friction 0.7 turn with 42 N on 20 mm; a tyre stretched by 0.5 % holds next to nothing.
    assert "hub_slips_first" in codes(sized(stretch="0.5 %", drive=DRIVE | {"press_force": "60 N"}))
    assert "hub_slips_first" not in codes(sized())


@pytest.mark.parametrize("crown", ["0 mm", "0.3 mm"])
@pytest.mark.parametrize("force", ["12 N", "300 N", "10 kN"])
def test_overpressed_nip_is_still_predicted_and_doubted(force, crown):
    # 12 N: Hertz alone, a^2 = 4 * 2.4 * 3.3333/(pi * 3.2744) = 3.11, says a half-width of 1.76, near half of the
    # wheel's 4 mm, and an indentation over a fifth of the wall; 10 kN would press the wheel through the hub.
    sizing = sized(drive=DRIVE | {"press_force": force}, crown=crown)
    assert "nip_out_of_range" in codes(sizing)
    predictions = predicted(sizing)
    for name in NIP:
        assert math.isfinite(predictions[name].value)
        assert "beyond what it was compared with" in predictions[name].basis or name == "nip_length_mm"
    assert predictions["indentation_mm"].value > 0.8


def test_uncertain_modulus_makes_the_nip_uncertain():
    # Hertz, which is near: nip width goes with E^-1/2, pressure with E^1/2, so both move by half of what E does.
    sizing = sized(elastomer="pu_50a")
    modulus = sizing.case.elastomer.modulus_mpa
    u = (modulus.high - modulus.low) / math.sqrt(12.0) / modulus.value
    for item in sizing.predictions:
        if item.prediction.name in ("nip_width_mm", "peak_pressure_kpa"):
            assert item.range.u / item.range.value == pytest.approx(0.5 * u, rel=0.1)


# --- crown -----------------------------------------------------------------------------------------------------------

PAIR = {"wheel_radius_mm": 4.0, "outer_radius_mm": 20.0, "modulus_mpa": 2.45581}


def crowned(drop_mm, force_n=1.5):
    return footprint(RollingPair(metal_radius_mm=16.0, running_mm=5.0, drop_mm=drop_mm, **PAIR), force_n)


@pytest.mark.parametrize("steepness", [1.0, 1.2, 1.5])
@pytest.mark.parametrize("drop", [1.0, 4.0, 100.0])
def test_load_on_a_crown_is_the_beta_function(drop, steepness):
    # Integral of (1 - t^2)^m dt from 0 to 1 is sqrt(pi)/2 Gamma(m + 1)/Gamma(m + 3/2) (NIST DLMF 5.12.1 with t^2 for t,
    # from memory); a drop of k indentations leaves 1/sqrt(k) of the surface in touch.
    whole = math.sqrt(math.pi) / 2 * math.gamma(steepness + 1) / math.gamma(steepness + 1.5)
    assert carried(drop, steepness) == pytest.approx(whole / math.sqrt(drop), rel=1e-6)


def test_load_on_a_crown_that_is_pressed_flat_and_on_part_of_it():
    # m = 1: integral of 1 - k t^2 from 0 to b is b - k b^3/3.
    assert carried(0.3, 1.0) == pytest.approx(1 - 0.1, rel=1e-7)
    assert carried(0.3, 1.0, 0.5) == pytest.approx(0.5 - 0.0125, rel=1e-7)
    assert carried(0.0, 1.0, 0.5) == 0.5


def test_share_of_the_middle():
    straight = crowned(0.0)
    assert straight.share_within(2.0) == pytest.approx(0.4)
    assert straight.share_within(5.0) == straight.share_within(9.0) == 1.0
    high = crowned(0.5)
    assert high.share_within(2.0) > 0.4
    assert high.share_within(high.nip_length_mm) == pytest.approx(1.0, abs=1e-9)


def test_crown_as_low_as_a_hair_changes_nothing():
    straight, hair = crowned(0.0), crowned(1e-6)
    for name in ("nip_width_mm", "nip_length_mm", "indentation_mm", "peak_pressure_mpa"):
        assert getattr(hair, name) == pytest.approx(getattr(straight, name), rel=1e-4)


@pytest.mark.parametrize("drop", [0.05, 0.2, 0.6])
@pytest.mark.parametrize("force", [0.05, 1.5, 4.0])
def test_slices_of_a_crown_add_up_to_the_press_force(drop, force):
    # Each slice asked by itself for the force of its own indentation, and summed by the midpoint rule.
    mark = crowned(drop, force)
    count = 200
    total = 0.0
    for i in range(count):
        pressed = mark.indentation_mm - drop * ((i + 0.5) / count) ** 2
        if pressed > 1e-4 * mark.indentation_mm:
            total += press_force_for_indentation_n(
                indentation_mm=pressed,
                wheel_radius_mm=4.0,
                outer_radius_mm=20.0,
                core_radius_mm=16.0,
                width_mm=5.0,
                elastic_modulus_mpa=2.45581,
            )
    assert total / count == pytest.approx(force, rel=0.01)


def test_higher_crown_is_shorter_deeper_and_harder():
    marks = [crowned(drop) for drop in (0.0, 0.1, 0.3, 0.6)]
    for lower, higher in pairwise(marks):
        assert higher.nip_length_mm <= lower.nip_length_mm
        assert higher.indentation_mm > lower.indentation_mm
        assert higher.peak_pressure_mpa > lower.peak_pressure_mpa
    assert marks[-1].nip_length_mm < marks[0].nip_length_mm


def test_person_is_told_that_a_crown_does_not_lie_down():
    high = sized(crown="0.6 mm")
    assert "crown_not_pressed_flat" in codes(high)
    assert "crown" in predicted(high)["nip_width_mm"].basis
    # The length of touch is where the drop equals the indentation: as the square root of their ratio.
    length, depth = (predicted(high)[name].value for name in ("nip_length_mm", "indentation_mm"))
    assert length == pytest.approx(5.0 * math.sqrt(depth / 0.6), rel=1e-6)
    assert "crown_not_pressed_flat" not in codes(sized(crown="0.05 mm"))
