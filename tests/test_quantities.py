"""The grammar of quantities against the promised forms, the guide to uncertainty, and texts meant to do harm."""

import math
import pickle
import statistics
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.quantities import (
    TEMPERATURE,
    UNITS,
    Estimate,
    QuantityError,
    mean_of_readings,
    parsed,
    parsed_readings,
    standard_uncertainty,
)

# --- what may be typed -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        # 1 in = 25.4 mm exactly (international yard and pound agreement, 1959); the rest is arithmetic on it.
        ("12.7 mm", "length", 12.7),
        ("1/2 in", "length", 12.7),
        ("1 3/8 in", "length", 34.925),
        ('0.125"', "length", 3.175),
        ('1 3/8"', "length", 34.925),
        ("5 thou", "length", 0.127),
        ("25 µm", "length", 0.025),
        ("4.2 cm", "length", 42.0),
        ("1 m", "length", 1000.0),
        ("31.95 +/- 0.03 mm", "length", 31.95),
        ("31.95 ± 0.03 mm", "length", 31.95),
        ("31.95±0.03mm", "length", 31.95),
        ("-2.5 mm", "length", -2.5),
        ("−2.5 mm", "length", -2.5),
        ("4 %", "ratio", 0.04),
        ("0.04", "ratio", 0.04),
        ("45 deg", "angle", 45.0),
        ("0.5 rad", "angle", 90.0 / math.pi),
        ("0.8 N", "force", 0.8),
        ("80 gf", "force", 0.784532),  # standard gravity 9.80665 m/s² (CGPM 1901)
        ("1 lbf", "force", 4.4482216152605),  # 0.45359237 kg * 9.80665 m/s²
        ("12 N·mm", "torque", 12.0),
        ("0.5 N m", "torque", 500.0),
        ("5 mN·m", "torque", 5.0),
        ("2.4 MPa", "modulus", 2.4),
        ("350 psi", "modulus", 350.0 * 4.4482216152605 / 25.4**2),
        ("1050 kg/m³", "density", 1.05),
        ("1800 mPa·s", "viscosity", 1.8),
        ("2.4 ml", "volume", 2400.0),
        ("1 1/2 h", "time", 5400.0),
        ("60 A", "number", 60.0),
        ("68 °F", "temperature", 20.0),
        ("-40 °F", "temperature", -40.0),
        ("23 °C", "temperature", 23.0),
        ("1500 rpm", "rotation", 1500.0),
        ("1500 1/min", "rotation", 1500.0),
        ("1500 min⁻¹", "rotation", 1500.0),
        ("25 1/s", "rotation", 1500.0),
    ],
)
def test_a_quantity_is_read_as_the_person_means_it(text, kind, value):
    assert parsed(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "cm_per_s"),
    [("15/16 in/s", 2.38125), ("1 7/8 in/s", 4.7625), ("3 3/4 in/s", 9.525), ("7 1/2 in/s", 19.05),
     ("15 ips", 38.1), ("30 in/s", 76.2)],
)  # fmt: skip
def test_recorder_speeds_in_inches_are_the_usual_centimetres(text, cm_per_s):
    # The ladder of tape speeds as tables of tape specifications give it: 2.38, 4.76, 9.53, 19.05, 38.1, 76.2 cm/s.
    speed = parsed(text, "speed")
    assert speed == pytest.approx(10.0 * cm_per_s, rel=1e-12)
    assert speed == pytest.approx(parsed(f"{cm_per_s} cm/s", "speed"), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "half_width"),
    [
        ("31.95 ± 0.03 mm", 0.03),
        ("31.95 mm ± 0.03 mm", 0.03),
        ("31.95 +/- 0.03 mm", 0.03),
        ("31.95 ± 0.03", 0.03),
        ("1 in ± 0.001 in", 0.0254),
        ("1 ± 0.001 in", 0.0254),
        ("1 in ± 1 thou", 0.0254),
        ("5 1/2 ± 1/64 in", 25.4 / 64.0),
        ("40 mm ± 1 %", 0.4),
        ("-40 mm ± 1 %", 0.4),
        ("31.95 mm", 0.0),
    ],
)
def test_the_half_width_has_the_unit_it_is_typed_with_or_that_of_the_value(text, half_width):
    assert parsed(text, "length").u == pytest.approx(half_width / math.sqrt(3.0), rel=1e-12, abs=0.0)


def test_a_temperature_s_half_width_is_a_difference_without_an_offset():
    # 4 °F of difference are 20/9 °C.
    assert parsed("73 ± 4 °F", "temperature").u == pytest.approx(20.0 / 9.0 / math.sqrt(3.0))


def test_a_per_cent_after_both_numbers_is_refused_because_it_has_two_readings():
    with pytest.raises(QuantityError, match="unclear"):
        parsed("4 ± 0.5 %", "ratio")
    assert parsed("4 % ± 0.5 %", "ratio").u == pytest.approx(0.005 / math.sqrt(3.0))


@pytest.mark.parametrize(("text", "plain"), [("5 μm", "5 µm"), ("1/2 ″", '1/2 "'), ("1/2”", '1/2"')])
def test_letters_that_only_look_like_a_unit_s_are_taken_for_it(text, plain):
    # Greek mu for the micro sign, the double prime and a word processor's quotation mark for inches.
    assert text != plain
    assert parsed(text, "length") == parsed(plain, "length")


def test_spaces_of_any_kind_part_whole_and_fraction():
    assert parsed("1\u00a03/8\u00a0in", "length") == parsed("1\t3/8 in", "length") == 34.925


def test_what_was_typed_is_kept():
    assert parsed(" 1 3/8 in ", "length").text == "1 3/8 in"
    assert parsed_readings(["30.01", "29.99 ± 0.03 mm"], "length").text == "[30.01, 29.99 ± 0.03 mm]"


# --- uncertainty of one reading and of several ------------------------------------------------------


@pytest.mark.parametrize(
    ("half_width", "u", "within"),
    [
        (0.40e-6, 0.23e-6, 0.005e-6),  # JCGM 100:2008, 4.3.7, example 1: copper's expansion, printed with two digits
        (1.5, 0.87, 0.005),  # rectangular distribution in the analysts' guide to uncertainty (E.1), printed 0.87
        (0.02, 0.01155, 0.00001),  # caliper to 200 mm; a/sqrt(3) by hand
        (0.03, 0.01732, 0.00001),  # caliper to 300 mm
    ],
)
def test_a_half_width_is_a_rectangular_distribution(half_width, u, within):
    assert standard_uncertainty(half_width=half_width) == pytest.approx(u, abs=within)


# JCGM 100:2008, 4.4.3 and its table 1: twenty temperatures in °C, from memory; the guide prints mean 100.145 °C,
# experimental standard deviation 1.489 °C and standard deviation of the mean 0.333 °C, which they give.
TWENTY = (96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95,
          101.11, 101.20, 101.57, 101.84, 102.36, 102.72)  # fmt: skip


def test_the_guide_s_twenty_readings_give_its_mean_and_scatter():
    mean = parsed_readings([f"{t:.2f}" for t in TWENTY], "temperature")
    assert mean == pytest.approx(100.145, abs=0.0005)
    assert mean.u == pytest.approx(0.333, abs=0.0005)
    assert mean.u * math.sqrt(20.0) == pytest.approx(1.489, abs=0.0005)


@given(st.lists(st.floats(1.0, 900.0), min_size=2, max_size=20), st.floats(0.0, 0.1))
def test_scatter_and_instrument_add_as_variances(values, instrument):
    # JCGM 100:2008, 4.2.3 and 5.1.2, with the standard library's statistics as the other way to the scatter.
    mean = mean_of_readings([Estimate(v, u=instrument) for v in values])
    assert mean == pytest.approx(statistics.fmean(values), rel=1e-12)
    scatter = statistics.stdev(values) / math.sqrt(len(values))
    assert mean.u == pytest.approx(math.sqrt(scatter**2 + instrument**2), rel=1e-9, abs=1e-9)


def test_the_instrument_s_half_width_on_one_reading_holds_for_the_whole_list():
    # The promised form [31.95, 31.97, 31.94 +/- 0.03]. By hand: mean 31.95333, s = 0.0152753, s/√3 = 0.0088192;
    # 0.03/√3 = 0.0173205; together √(7.7778e-5 + 3e-4) = 0.0194365.
    mean = parsed_readings(["31.95", "31.97", "31.94 +/- 0.03"], "length")
    assert mean == pytest.approx(31.953333, abs=1e-6)
    assert mean.u == pytest.approx(0.0194365, abs=1e-7)


def test_centres_from_a_reading_over_two_shafts_have_the_worked_uncertainty():
    # C = M − (d1 + d2)/2 with u² = uM² + (u1² + u2²)/4 (JCGM 100:2008, 5.1.2), every reading within ± 0.02 mm:
    # C = 85.00 − 5.00 = 80.00 and u = 0.01414, worked by hand from 0.02/√3.
    m, d1, d2 = (parsed(text, "length") for text in ("85.00 ± 0.02 mm", "6.00 ± 0.02 mm", "4.00 ± 0.02 mm"))
    assert m - (d1 + d2) / 2.0 == 80.0
    assert math.sqrt(m.u**2 + (d1.u**2 + d2.u**2) / 4.0) == pytest.approx(0.01414, abs=1e-5)


@pytest.mark.parametrize(
    ("readings", "kind"),
    [(["1.181", "1.182 in"], "length"), (["1.181", "1.182 ± 0.001 in"], "length"), (["4 %", "5"], "ratio"),
     (["73 °F", "74"], "temperature")],
)  # fmt: skip
def test_readings_in_a_foreign_unit_beside_bare_numbers_are_refused(readings, kind):
    with pytest.raises(QuantityError, match="some have no unit"):
        parsed_readings(readings, kind)


def test_readings_may_each_have_a_unit_of_their_own():
    assert parsed_readings(["25.4 mm", "1 in"], "length") == pytest.approx(25.4)
    assert parsed_readings(["25.4 mm", "25.4"], "length") == pytest.approx(25.4)


@pytest.mark.parametrize("value", [[], ["6"] * 51, ["6", 6.0], [["6"]], {"a": "6"}, None, True, b"6"])
def test_what_is_neither_a_text_nor_a_list_of_texts_is_refused(value):
    with pytest.raises(QuantityError):
        parsed_readings(value, "length")


# --- there and back --------------------------------------------------------------------------------

EVERY_UNIT = [(kind, unit) for kind, units in UNITS.items() for unit in units]


@given(st.sampled_from(EVERY_UNIT), st.floats(1e-3, 1e6))
def test_every_unit_goes_there_and_back(kind_and_unit, number):
    kind, unit = kind_and_unit
    value = parsed(f"{number!r} {unit}", kind)
    back = value / UNITS[kind][unit]
    assert back == pytest.approx(number, rel=1e-12)
    bare = parsed(f"{float(value):.12f}", kind)
    assert bare == pytest.approx(value, rel=1e-9, abs=1e-12)


@given(st.sampled_from(sorted(TEMPERATURE)), st.floats(-50.0, 300.0))
def test_temperatures_go_there_and_back(unit, number):
    in_degc = parsed(f"{number:.6f} {unit}", "temperature")
    fahrenheit = in_degc * 9.0 / 5.0 + 32.0 if unit in ("°F", "degF", "F") else in_degc
    assert fahrenheit == pytest.approx(number, abs=2e-6)


@given(st.integers(0, 99), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.sampled_from(["in", '"']))
def test_a_mixed_fraction_is_its_whole_and_its_part(whole, numerator, denominator, unit):
    found = parsed(f"{whole} {numerator}/{denominator} {unit}", "length")
    assert found / 25.4 == pytest.approx(whole + numerator / denominator, rel=1e-12)


@given(st.floats(0.2, 1000.0), st.floats(0.001, 1.0))
def test_an_estimate_survives_the_way_to_another_process(value, u):
    there = Estimate(value, u=u, text="as typed")
    back = pickle.loads(pickle.dumps(there))
    assert (back, back.u, back.text, back.low, back.high) == (there, u, "as typed", there.low, there.high)


@given(st.floats(0.2, 1000.0), st.floats(0.0, 1.0))
def test_the_ends_of_a_typed_range_are_half_a_width_away(value, half):
    found = parsed(f"{value:.6f} ± {half:.6f} mm", "length")
    assert (found.low, found.high) == pytest.approx((value - half, value + half), abs=2e-6)


# --- what must be refused --------------------------------------------------------------------------

HOSTILE = [
    "nan", "NaN mm", ".nan", "inf", "-inf mm", "Infinity", "1e400", "1e13 mm", "9" * 79, "9" * 5000 + " mm",
    "10**10 mm", "10**10**10 mm", "1e3e3", "0x10 mm", "1_000 mm", "1 000 mm", "１２ mm", "١٢ mm", "½ in", "1 2 mm",
    "1/0 in", "5 1/0 in", "0/0", "1-1/2 in", "31.95 ± 0.03 ± 0.01 mm", "31.95 ± -0.03 mm", "31.95 ± nan mm", "± 3 mm",
    "", " ", "mm", "± 1", "1\n2 mm", "5 mm mm", "5 mm)", "(5) mm", "5; import os", "__import__('os')", "{0}", "%s",
    "5 mm\x00", "5 furlong", "5 MM", "5 mm²", "5 N", "3 in/s", "5 °C", "twelve", "⁵ mm", "5 \u202emm", "1,234.5 mm",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_what_is_not_a_length_is_refused_with_a_way_out(text):
    with pytest.raises(QuantityError) as caught:
        parsed(text, "length")
    assert caught.value.limit
    assert caught.value.way_out.endswith(".")


def test_a_decimal_comma_is_named_and_the_point_form_shown():
    with pytest.raises(QuantityError, match=r"comma") as caught:
        parsed("12,7 mm", "length")
    assert "12.7 mm" in caught.value.way_out


def test_a_wrong_unit_is_named_with_those_that_would_do():
    with pytest.raises(QuantityError, match="'N' is not a unit of length") as caught:
        parsed("6 N", "length")
    assert "mm" in caught.value.way_out


NEARLY = st.text(alphabet="0123456789./ ±+-−%eE mincs\"'", max_size=80)


@given(st.one_of(st.text(max_size=90), NEARLY), st.sampled_from([*UNITS, "temperature"]))
def test_any_text_is_a_finite_quantity_or_a_refusal(text, kind):
    try:
        found = parsed(text, kind)
    except QuantityError:
        return
    assert math.isfinite(found)
    assert math.isfinite(found.u)
    assert found.u >= 0.0


def test_a_text_made_to_be_slow_is_answered_at_once():
    started = time.perf_counter()
    for text in (" " * 79 + "x", "1" * 40 + "/" + "1" * 39, "- " * 40, "1 " + "±" * 78, "1" + " m" * 39):
        with pytest.raises(QuantityError):
            parsed(text, "length")
    assert time.perf_counter() - started < 0.5
