"""Propagation against examples of the guide to uncertainty, linear laws, and correlated results."""

import math
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.errors import RangeError, require_range
from moldgen.quantities import Estimate
from moldgen.spec.sections import Coordinate, Length, Section
from moldgen.uncertainty import Uncertain, UnusableReadingError, estimates, propagated

# --- JCGM 100:2008, annex H.1: calibration of a gauge block by comparison ---------------------------


@dataclass(frozen=True)
class EndGauge:
    """l = ls + d − ls (δα θ + αs δθ), the guide's equation H.3, θ split into its mean and its cyclic part (H.1.3.4)."""

    ls_nm: Estimate
    d_nm: Estimate
    alpha_of_standard: Estimate
    delta_alpha: Estimate
    theta_mean: Estimate
    theta_cyclic: Estimate
    delta_theta: Estimate


# From memory of the guide, in nm and °C: ls = 50.000623 mm with u = 25 nm; the difference read is 215 nm with
# u = 9.7 nm (5.8, 3.9 and 6.7 joined); αs = 11.5e-6 ± 2e-6, δα = 0 ± 1e-6, both rectangular; θ = −0.1 °C with
# u 0.2 (mean) and 0.35 (cyclic); δθ = 0 ± 0.05 rectangular. Printed: contributions of 25, 9.7, 2.9 and 16.6 nm,
# u(l) = 32 nm to first order, 34 nm with H.1.7's second order, and l = 50.000838 mm.
H1 = EndGauge(
    ls_nm=Estimate(50_000_623.0, u=25.0),
    d_nm=Estimate(215.0, u=9.7),
    alpha_of_standard=Estimate(11.5e-6, u=2e-6 / math.sqrt(3.0)),
    delta_alpha=Estimate(0.0, u=1e-6 / math.sqrt(3.0)),
    theta_mean=Estimate(-0.1, u=0.2),
    theta_cyclic=Estimate(0.0, u=0.35),
    delta_theta=Estimate(0.0, u=0.05 / math.sqrt(3.0)),
)


def end_gauge(g):
    theta = g.theta_mean + g.theta_cyclic
    return {"l_nm": g.ls_nm + g.d_nm - g.ls_nm * (g.delta_alpha * theta + g.alpha_of_standard * g.delta_theta)}


def test_the_guide_s_end_gauge_comes_out_with_its_uncertainty_and_contributions():
    length = propagated(end_gauge, H1)["l_nm"]
    assert length.value == pytest.approx(50_000_838.0, abs=0.5)
    assert length.u == pytest.approx(32.0, abs=0.5)
    parts = {place[0]: abs(part) for place, part in length.parts.items()}
    assert parts["ls_nm"] == pytest.approx(25.0, abs=0.5)
    assert parts["d_nm"] == pytest.approx(9.7, abs=0.05)
    assert parts["delta_alpha"] == pytest.approx(2.9, abs=0.05)
    assert parts["delta_theta"] == pytest.approx(16.6, abs=0.05)
    for name in ("alpha_of_standard", "theta_mean", "theta_cyclic"):  # the guide's zero sensitivities
        assert parts[name] == pytest.approx(0.0, abs=1e-6)


# --- JCGM 100:2008, annex H.2: resistance and reactance, correlated results -------------------------


@dataclass(frozen=True)
class Circuit:
    volts: Estimate
    milliamperes: Estimate
    phase: Estimate


def test_results_that_share_readings_keep_their_correlation():
    # R = V cos φ/I and X = V sin φ/I from V = 4.9990 V, I = 19.6610 mA, φ = 1.04446 rad (means of table H.2, from
    # memory). Taken as independent, R² + X² = Z² makes Z's parts follow from theirs: the sum of products of the parts
    # is the covariance, so Z = √(R² + X²) must come out with (u(V)/V)² + (u(I)/I)² and nothing from φ.
    given = Circuit(Estimate(4.9990, u=0.0032), Estimate(19.6610, u=0.0095), Estimate(1.04446, u=0.00075))

    def evaluate(g):
        amperes = g.milliamperes / 1000.0
        r, x = g.volts * math.cos(g.phase) / amperes, g.volts * math.sin(g.phase) / amperes
        return {"r": r, "x": x, "z": math.hypot(r, x)}

    found = propagated(evaluate, given)
    assert found["r"].value == pytest.approx(127.732, abs=0.005)  # printed in table H.4: 127.732, 219.847, 254.260
    assert found["x"].value == pytest.approx(219.847, abs=0.005)
    assert found["z"].value == pytest.approx(254.260, abs=0.005)
    covariance = sum(found["r"].parts[p] * found["x"].parts[p] for p in found["r"].parts)
    r, x, z = (found[name].value for name in "rxz")
    by_correlation = math.sqrt(
        (r * found["r"].u / z) ** 2 + (x * found["x"].u / z) ** 2 + 2.0 * r * x * covariance / z**2
    )
    assert found["z"].u == pytest.approx(by_correlation, rel=1e-4)
    assert found["z"].u / z == pytest.approx(math.hypot(0.0032 / 4.9990, 0.0095 / 19.6610), rel=1e-4)
    assert found["z"].share(("phase",)) == pytest.approx(0.0, abs=1e-9)


# --- linear laws -----------------------------------------------------------------------------------

FACTORS = st.lists(st.floats(-20.0, 20.0), min_size=3, max_size=3)
UNCERTAINTIES = st.lists(st.floats(0.001, 2.0), min_size=3, max_size=3)


@dataclass(frozen=True)
class Three:
    readings: tuple[Estimate, ...]


@given(FACTORS, UNCERTAINTIES)
def test_a_linear_sum_is_exact_to_first_order(factors, us):
    # JCGM 100:2008, 5.1.2: u² = Σ (c u)².
    given_ = Three(tuple(Estimate(10.0 * i, u=u) for i, u in enumerate(us)))
    total = propagated(lambda g: {"y": math.fsum(c * x for c, x in zip(factors, g.readings, strict=True))}, given_)["y"]
    wanted = math.sqrt(math.fsum((c * u) ** 2 for c, u in zip(factors, us, strict=True)))
    assert total.u == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    shares = [total.share(("readings", i)) for i in range(3)]
    if wanted > 1e-6:
        assert math.fsum(shares) == pytest.approx(1.0)
        for share, c, u in zip(shares, factors, us, strict=True):
            assert share == pytest.approx((c * u / wanted) ** 2, abs=1e-6)


def test_a_difference_of_one_reading_with_itself_is_certain():
    given_ = Three((Estimate(10.0, u=0.5), Estimate(3.0, u=0.2)))
    found = propagated(lambda g: {"zero": g.readings[0] - g.readings[0], "twice": 2.0 * g.readings[0]}, given_)
    assert found["zero"].u == 0.0
    assert found["twice"].u == pytest.approx(1.0)


@given(st.floats(1.0, 50.0), st.floats(0.001, 0.05), st.floats(1.0, 50.0), st.floats(0.001, 0.05))
def test_relative_uncertainties_of_a_product_add_as_squares(a, ra, b, rb):
    # JCGM 100:2008, 5.1.6, equation 12.
    found = propagated(
        lambda g: {"p": g.readings[0] * g.readings[1]}, Three((Estimate(a, u=a * ra), Estimate(b, u=b * rb)))
    )
    assert found["p"].u / found["p"].value == pytest.approx(math.hypot(ra, rb), rel=1e-9)


def test_the_95_per_cent_interval_is_1_96_standard_uncertainties():
    # JCGM 100:2008, table G.1: the normal distribution's 95 % at 1.960.
    one = Uncertain(10.0, {("a",): 0.3, ("b",): -0.4})
    assert one.u == pytest.approx(0.5)
    assert (one.low, one.high) == pytest.approx((9.02, 10.98), abs=1e-3)


def test_a_result_without_uncertainty_has_no_shares():
    one = Uncertain(10.0, {})
    assert (one.u, one.low, one.high, one.share(("a",))) == (0.0, 10.0, 10.0, 0.0)


# --- where readings stand --------------------------------------------------------------------------


class Wheel(Section):
    groove_diameter_mm: Length
    center_mm: tuple[Coordinate, Coordinate]


class Wheels(Section):
    wheels: tuple[Wheel, ...]
    span_mm: Length | None = None


def wheels():
    return Wheels.model_validate(
        {"wheels": [{"groove_diameter": "12 ± 0.05 mm", "center": ["0", "0"]},
                    {"groove_diameter": "40 mm", "center": ["80 ± 0.3 mm", "-5"]}]}
    )  # fmt: skip


def test_every_quantity_is_found_at_the_place_the_yaml_has_it():
    found = dict(estimates(wheels()))
    assert found == {
        ("wheels", 0, "groove_diameter"): 12.0,
        ("wheels", 0, "center", 0): 0.0,
        ("wheels", 0, "center", 1): 0.0,
        ("wheels", 1, "groove_diameter"): 40.0,
        ("wheels", 1, "center", 0): 80.0,
        ("wheels", 1, "center", 1): -5.0,
    }


def test_a_reading_in_a_list_of_sections_is_moved_and_only_it():
    seen = []

    def evaluate(w):
        seen.append((float(w.wheels[0].groove_diameter_mm), float(w.wheels[1].center_mm[0])))
        return {"distance": w.wheels[1].center_mm[0] - w.wheels[0].groove_diameter_mm}

    found = propagated(evaluate, wheels())["distance"]
    u12, u80 = 0.05 / math.sqrt(3.0), 0.3 / math.sqrt(3.0)
    assert seen == [
        (12.0, 80.0),
        *(
            pytest.approx(pair)
            for pair in ((12.0 + u12, 80.0), (12.0 - u12, 80.0), (12.0, 80.0 + u80), (12.0, 80.0 - u80))
        ),
    ]
    assert found.u == pytest.approx(math.hypot(u12, u80))
    assert found.share(("wheels", 1, "center", 0)) == pytest.approx(36.0 / 37.0)  # 0.3² of 0.3² + 0.05²


def test_a_reading_too_uncertain_to_compute_with_is_named():
    def evaluate(g):
        require_range("wall_mm", g.readings[0] - g.readings[1], 0.5, 100.0)
        return {"wall": g.readings[0] - g.readings[1]}

    with pytest.raises(UnusableReadingError, match="wall_mm") as caught:
        propagated(evaluate, Three((Estimate(10.0, u=0.1), Estimate(9.0, u=0.8))))
    assert caught.value.place == ("readings", 1)


def test_a_calculation_that_fails_at_the_readings_themselves_says_so_as_it_is():
    def evaluate(g):
        require_range("wall_mm", -1.0, 0.5, 100.0)

    with pytest.raises(RangeError):
        propagated(evaluate, Three((Estimate(10.0, u=0.1),)))
