"""Rows marked "reference" were computed independently of this code."""

import pytest

from moldgen.errors import RangeError
from moldgen.mechanics import cure


@pytest.mark.parametrize(("temperature_degc", "gel_min", "cure_min"), [(35.0, 5.0, 30.0), (45.0, 2.5, 15.0)])
def test_rule_of_ten_as_an_adhesive_makers_note_tabulates_it(temperature_degc, gel_min, cure_min):
    # Note: at 25 degC gel 10 min and cure 60 min; exact halving.
    def at(time_min):
        seconds = cure.time_by_rule_of_ten_s(
            time_s=time_min * 60, stated_at_degc=25.0, temperature_degc=temperature_degc
        )
        return seconds / 60

    assert at(10.0) == pytest.approx(gel_min, rel=1e-12)
    assert at(60.0) == pytest.approx(cure_min, rel=1e-12)


@pytest.mark.parametrize(
    ("temperature_degc", "rule_min", "arrhenius_min"), [(30.0, 18.467, 18.771), (15.0, 52.233, 52.718)]
)
def test_half_an_hour_at_23_degrees_in_a_warm_and_a_cold_shop(temperature_degc, rule_min, arrhenius_min):
    # Reference rows: rule of ten, and Arrhenius with 50 kJ/mol.
    given = {"time_s": 1800.0, "stated_at_degc": 23.0, "temperature_degc": temperature_degc}
    assert cure.time_by_rule_of_ten_s(**given) / 60 == pytest.approx(rule_min, rel=2e-5)
    arrhenius_s = cure.time_by_arrhenius_s(**given, activation_energy_kj_mol=50.0)
    assert arrhenius_s / 60 == pytest.approx(arrhenius_min, rel=2e-5)


@pytest.mark.parametrize(
    ("low_degc", "high_degc", "energy"), [(23.0, 33.0, 52.252), (20.0, 30.0, 51.21), (25.0, 35.0, 52.95)]
)
def test_activation_energy_of_a_halving_per_ten_degrees(low_degc, high_degc, energy):
    # Reference rows, four digits, the last two with R rounded to 8.314 J/(mol K), 6e-5 low.
    found = cure.equivalent_activation_energy_kj_mol(low_degc=low_degc, high_degc=high_degc, time_ratio=2.0)
    assert found == pytest.approx(energy, rel=1.6e-4)


def test_arrhenius_with_the_equivalent_energy_is_the_rule_of_ten_over_those_ten_degrees():
    energy = cure.equivalent_activation_energy_kj_mol(low_degc=23.0, high_degc=33.0, time_ratio=2.0)
    seconds = cure.time_by_arrhenius_s(
        time_s=1800.0, stated_at_degc=23.0, temperature_degc=33.0, activation_energy_kj_mol=energy
    )
    assert seconds == pytest.approx(900.0, rel=1e-12)


@pytest.mark.parametrize("temperature_degc", [5.0, 15.0, 23.0, 40.0, 60.0])
def test_warmer_is_faster_and_the_stated_temperature_degchanges_nothing(temperature_degc):
    given = {"time_s": 1800.0, "stated_at_degc": 23.0}
    for factor in (1.5, 2.0, 2.5):
        here = cure.time_by_rule_of_ten_s(**given, temperature_degc=temperature_degc, factor_per_ten=factor)
        warmer = cure.time_by_rule_of_ten_s(**given, temperature_degc=temperature_degc + 1, factor_per_ten=factor)
        assert warmer < here
    assert cure.time_by_rule_of_ten_s(**given, temperature_degc=23.0) == 1800.0
    arrhenius = cure.time_by_arrhenius_s(**given, temperature_degc=23.0, activation_energy_kj_mol=50.0)
    assert arrhenius == 1800.0


def test_far_temperatures_and_impossible_energies_are_refused():
    with pytest.raises(RangeError, match="temperature_degc"):
        cure.time_by_rule_of_ten_s(time_s=1800.0, stated_at_degc=23.0, temperature_degc=80.0)
    with pytest.raises(RangeError, match="temperature_degc"):
        cure.time_by_arrhenius_s(
            time_s=1800.0, stated_at_degc=23.0, temperature_degc=-5.0, activation_energy_kj_mol=50.0
        )
    with pytest.raises(RangeError, match="activation_energy_kj_mol"):
        cure.time_by_arrhenius_s(
            time_s=1800.0, stated_at_degc=23.0, temperature_degc=30.0, activation_energy_kj_mol=0.0
        )
    with pytest.raises(RangeError, match="high_degc"):
        cure.equivalent_activation_energy_kj_mol(low_degc=23.0, high_degc=23.0, time_ratio=2.0)
