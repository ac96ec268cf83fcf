"""Rows marked "reference" were computed independently of this code."""

import pytest

from moldgen.errors import RangeError
from moldgen.mechanics import bubbles

LIQUID_A = {"viscosity_pa_s": 3.0, "density_g_cm3": 1.08}
LIQUID_B = {"viscosity_pa_s": 1.0, "density_g_cm3": 1.08}


def test_school_bubble_rises_as_the_worked_answer_prints():
    # A worked physics answer: r = 0.1 mm, 1000 kg/m³, 0.0035 Pa·s, g = 9.8: 6.22e-3 m/s (printed 6.2e-3).
    # Ours has standard gravity, 0.07 % more.
    speed = bubbles.rise_mm_s(diameter_mm=0.2, viscosity_pa_s=0.0035, density_g_cm3=1.0)
    assert speed == pytest.approx(6.22, rel=0.002)
    # The clean surface: one and a half times, 9.33e-3 m/s (G. K. Batchelor, 4.9, from memory).
    clean = bubbles.clean_rise_mm_s(diameter_mm=0.2, viscosity_pa_s=0.0035, density_g_cm3=1.0)
    assert clean == pytest.approx(9.33, rel=0.002)
    assert clean / speed == pytest.approx(1.5, rel=1e-12)


@pytest.mark.parametrize(
    ("diameter_mm", "liquid", "rigid", "clean", "minutes"),
    [(0.5, LIQUID_A, 0.049033, 0.07355, 6.7981), (0.2, LIQUID_B, 0.023536, 0.035304, 14.163)],
)
def test_reference_bubbles_rise_twenty_millimetres(diameter_mm, liquid, rigid, clean, minutes):
    # Reference rows, five digits.
    assert bubbles.rise_mm_s(diameter_mm=diameter_mm, **liquid) == pytest.approx(rigid, rel=2e-5)
    assert bubbles.clean_rise_mm_s(diameter_mm=diameter_mm, **liquid) == pytest.approx(clean, rel=2e-5)
    seconds = bubbles.rise_time_s(height_mm=20.0, diameter_mm=diameter_mm, **liquid)
    assert seconds / 60 == pytest.approx(minutes, rel=5e-5)


@pytest.mark.parametrize("diameter_mm", [0.01, 0.1, 0.5, 2.0])
def test_the_bubble_that_just_clears_takes_just_that_time(diameter_mm):
    seconds = bubbles.rise_time_s(height_mm=12.0, diameter_mm=diameter_mm, **LIQUID_A)
    smallest = bubbles.smallest_clearing_diameter_mm(height_mm=12.0, time_s=seconds, **LIQUID_A)
    assert smallest == pytest.approx(diameter_mm, rel=1e-12)


def test_smallest_clearing_bubble_is_the_reference_one():
    # Reference: 0.5 mm needs 6.7981 min for 20 mm.
    smallest = bubbles.smallest_clearing_diameter_mm(height_mm=20.0, time_s=6.7981 * 60, **LIQUID_A)
    assert smallest == pytest.approx(0.5, rel=2e-5)


def test_four_times_the_time_lets_half_the_diameter_out():
    # v goes with d² (Stokes).
    once = bubbles.smallest_clearing_diameter_mm(height_mm=20.0, time_s=300.0, **LIQUID_A)
    longer = bubbles.smallest_clearing_diameter_mm(height_mm=20.0, time_s=1200.0, **LIQUID_A)
    assert longer / once == pytest.approx(0.5, rel=1e-12)


def test_bubbles_beyond_creeping_flow_are_refused():
    with pytest.raises(RangeError, match="Reynolds"):
        bubbles.rise_mm_s(diameter_mm=3.0, viscosity_pa_s=0.05, density_g_cm3=1.0)
    with pytest.raises(RangeError, match="Reynolds"):
        bubbles.smallest_clearing_diameter_mm(height_mm=500.0, time_s=1.0, viscosity_pa_s=0.05, density_g_cm3=1.0)
    with pytest.raises(RangeError, match="viscosity_pa_s"):
        bubbles.rise_mm_s(diameter_mm=0.5, viscosity_pa_s=0.0, density_g_cm3=1.0)


def test_thirty_millibar_makes_bubbles_rise_ten_times_as_fast():
    # Reference: factor 10.449 at 30 mbar.
    assert bubbles.bubble_rise_ratio(pressure_kpa=3.0) == pytest.approx(10.449, rel=5e-5)
    # It is the speed of the larger bubble, by Stokes.
    larger_mm = 0.5 * bubbles.bubble_diameter_ratio(pressure_kpa=3.0)
    ratio = bubbles.rise_mm_s(diameter_mm=larger_mm, **LIQUID_A) / bubbles.rise_mm_s(diameter_mm=0.5, **LIQUID_A)
    assert ratio == pytest.approx(10.449, rel=5e-5)


def test_boyle_in_both_directions():
    # p V is constant: an eighth of the pressure doubles the diameter, eight times the pressure halves it.
    assert bubbles.bubble_diameter_ratio(pressure_kpa=12.5, ambient_kpa=100.0) == pytest.approx(2.0, rel=1e-12)
    assert bubbles.bubble_diameter_ratio(pressure_kpa=800.0, ambient_kpa=100.0) == pytest.approx(0.5, rel=1e-12)
    assert bubbles.bubble_rise_ratio(pressure_kpa=101.325) == pytest.approx(1.0, rel=1e-12)
    with pytest.raises(RangeError, match="pressure_kpa"):
        bubbles.bubble_diameter_ratio(pressure_kpa=0.0)


def test_foam_swells_by_its_air_alone():
    # Boyle: of 100 ml, 10 ml are air; at a tenth of the pressure they are 100 ml: 190 ml with the liquid.
    foam = bubbles.foam_volume_mm3(mix_volume_mm3=100e3, air_fraction=0.1, pressure_kpa=10.0, ambient_kpa=100.0)
    assert foam == pytest.approx(190e3, rel=1e-12)
    still = bubbles.foam_volume_mm3(mix_volume_mm3=100e3, air_fraction=0.0, pressure_kpa=3.0)
    assert still == pytest.approx(100e3, rel=1e-12)


def test_the_customary_vessel_holds_the_foam_of_a_well_stirred_cup():
    # Three to five times the mix is common practice, no source. By Boyle 1 + φ (33.775 - 1) = 3 and 5 at
    # 3 kPa for φ = 2/32.775 = 0.0610 and 4/32.775 = 0.1220.
    least, ample = bubbles.degassing_vessel_mm3(mix_volume_mm3=1000.0)
    for vessel, air_fraction in ((least, 0.0610), (ample, 0.1220)):
        foam = bubbles.foam_volume_mm3(mix_volume_mm3=1000.0, air_fraction=air_fraction, pressure_kpa=3.0)
        assert foam == pytest.approx(vessel, rel=1e-3)
