"""Hardness, modulus and bonded pads, against the published curves and our own finite elements.

Gent's coefficients agree in three independent public sources. Lindley's table and the constants of the IRHD
scale are from memory and not re-verified.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.errors import RangeError
from moldgen.mechanics.hardness import (
    bonded_modulus_mpa,
    bonded_strip_modulus_mpa,
    gent_hardness_shore_a,
    gent_modulus_mpa,
    irhd,
    lindley_rubber,
    modulus_from_irhd_mpa,
    pad_deflection_mm,
    pad_force_n,
    shape_factor,
    with_bulk_mpa,
)


def five_digits(value: float) -> object:
    """Agrees with a figure printed to five significant digits."""
    return pytest.approx(value, abs=0.5001 * 10.0 ** (math.floor(math.log10(abs(value))) - 4))


# Gent 1958 worked out apart from this package.
GENT = [
    (0, 0.1573),
    (20, 0.7319),
    (25, 0.9235),
    (30, 1.1424),
    (35, 1.3950),
    (40, 1.6896),
    (45, 2.0379),
    (50, 2.4558),
    (55, 2.9666),
    (60, 3.6051),
    (65, 4.4260),
    (70, 5.5205),
    (75, 7.0529),
    (80, 9.3514),
    (85, 13.182),
    (90, 20.844),
]


@pytest.mark.parametrize(("hardness_shore_a", "modulus_mpa"), GENT)
def test_modulus_of_a_hardness_is_gents(hardness_shore_a, modulus_mpa):
    # Four digits after the point or five significant ones: half a unit of the last.
    half_unit = 0.00005 if modulus_mpa < 10 else 0.0005
    assert gent_modulus_mpa(hardness_shore_a=hardness_shore_a) == pytest.approx(modulus_mpa, abs=half_unit)


@pytest.mark.parametrize(("modulus_mpa", "hardness_shore_a"), [(1, 26.827), (2, 44.497), (3, 55.292), (5, 67.813)])
def test_hardness_of_a_modulus_undoes_gent(modulus_mpa, hardness_shore_a):
    assert gent_hardness_shore_a(youngs_modulus_mpa=modulus_mpa) == pytest.approx(hardness_shore_a, abs=0.0005)


@given(st.floats(0.0, 95.0))
def test_hardness_comes_back_from_its_modulus(hardness_shore_a):
    modulus_mpa = gent_modulus_mpa(hardness_shore_a=hardness_shore_a)
    assert gent_hardness_shore_a(youngs_modulus_mpa=modulus_mpa) == pytest.approx(hardness_shore_a, abs=1e-9)


@pytest.mark.parametrize("hardness_shore_a", [20, 50, 80])
def test_gent_is_a_flat_punch_as_wide_as_the_blunt_cone(hardness_shore_a):
    # Type A indenter (ISO 48-4, ASTM D2240; not re-verified): radius 0.395 mm at the cone's tip, 0.635 mm at
    # its shank; spring force 56 + 7.62336 S grams-force; travel 2.54 mm at 0, none at 100. Flat punch on a
    # half-space: E = 0.75 F/(2 r w).
    force_n = (56 + 7.62336 * hardness_shore_a) * 9.80665e-3
    travel_mm = 0.0254 * (100 - hardness_shore_a)
    radius_mm = (0.395 + 0.635) / 2
    modulus_mpa = 0.75 * force_n / (2 * radius_mm * travel_mm)
    assert gent_modulus_mpa(hardness_shore_a=hardness_shore_a) == pytest.approx(modulus_mpa, rel=0.002)


@pytest.mark.parametrize("hardness_shore_a", [-0.1, 95.1, 100.0, math.nan])
def test_hardness_outside_the_formula_is_refused(hardness_shore_a):
    with pytest.raises(RangeError, match="hardness_shore_a"):
        gent_modulus_mpa(hardness_shore_a=hardness_shore_a)


@pytest.mark.parametrize("modulus_mpa", [0.0, 0.157, 50.0])
def test_modulus_outside_the_formula_is_refused(modulus_mpa):
    with pytest.raises(RangeError, match="youngs_modulus_mpa"):
        gent_hardness_shore_a(youngs_modulus_mpa=modulus_mpa)


# The IRHD curve of ISO 48 worked out apart from this package: log10 E = 0.364 at 50, 57 points per decade.
IRHD = [(30, 0.993), (40, 1.537), (50, 2.312), (60, 3.478), (70, 5.383), (80, 8.975)]


@pytest.mark.parametrize(("hardness_irhd", "modulus_mpa"), IRHD)
def test_irhd_is_a_normal_curve_over_the_logarithm_of_the_modulus(hardness_irhd, modulus_mpa):
    assert modulus_from_irhd_mpa(hardness_irhd=hardness_irhd) == pytest.approx(modulus_mpa, abs=0.0005)
    assert irhd(youngs_modulus_mpa=modulus_mpa) == pytest.approx(hardness_irhd, abs=0.02)


def test_irhd_is_steepest_at_50_with_57_points_per_decade():
    e50_mpa = modulus_from_irhd_mpa(hardness_irhd=50.0)
    step = 1e-3
    above, below = (irhd(youngs_modulus_mpa=e50_mpa * 10.0**decades) for decades in (step / 2, -step / 2))
    assert (above - below) / step == pytest.approx(57.0, rel=1e-4)


@pytest.mark.parametrize("hardness", range(30, 81, 5))
def test_gent_and_the_irhd_curve_agree_within_a_sixth(hardness):
    ratio = gent_modulus_mpa(hardness_shore_a=hardness) / modulus_from_irhd_mpa(hardness_irhd=hardness)
    assert 1.00 <= ratio <= 1.16


@pytest.mark.parametrize("hardness_irhd", [14.9, 90.1])
def test_hardness_outside_the_irhd_curve_is_refused(hardness_irhd):
    with pytest.raises(RangeError, match="hardness_irhd"):
        modulus_from_irhd_mpa(hardness_irhd=hardness_irhd)
    with pytest.raises(RangeError, match="youngs_modulus_mpa"):
        irhd(youngs_modulus_mpa=0.0)


# P. B. Lindley, Engineering Design with Natural Rubber, 4th ed., 1978: IRHD, E0, G, k, bulk modulus (not
# re-verified), then Gent's modulus over E0 and 3 G over E0, worked out apart from this package.
LINDLEY = [
    (30, 0.92, 0.30, 0.93, 1000, 1.242, 0.978),
    (35, 1.18, 0.37, 0.89, 1000, 1.182, 0.941),
    (40, 1.50, 0.45, 0.85, 1000, 1.126, 0.900),
    (45, 1.80, 0.54, 0.80, 1000, 1.132, 0.900),
    (50, 2.20, 0.64, 0.73, 1030, 1.116, 0.873),
    (55, 3.25, 0.81, 0.64, 1090, 0.913, 0.748),
    (60, 4.45, 1.06, 0.57, 1150, 0.810, 0.715),
    (65, 5.85, 1.37, 0.54, 1210, 0.757, 0.703),
    (70, 7.35, 1.73, 0.53, 1270, 0.751, 0.706),
    (75, 9.40, 2.22, 0.52, 1330, 0.750, 0.709),
]


@pytest.mark.parametrize(("hardness", "e_mpa", "g_mpa", "k", "bulk_mpa", "gent_over_e", "three_g_over_e"), LINDLEY)
def test_lindleys_rows(hardness, e_mpa, g_mpa, k, bulk_mpa, gent_over_e, three_g_over_e):
    rubber = lindley_rubber(hardness_irhd=hardness)
    assert (rubber.youngs_modulus_mpa, rubber.shear_modulus_mpa) == (e_mpa, g_mpa)
    assert (rubber.shape_constant, rubber.bulk_modulus_mpa) == (k, bulk_mpa)
    gent_mpa = gent_modulus_mpa(hardness_shore_a=hardness)
    assert gent_mpa / rubber.youngs_modulus_mpa == pytest.approx(gent_over_e, abs=0.0005001)
    assert abs(gent_mpa / rubber.youngs_modulus_mpa - 1.0) <= 0.26
    assert 3.0 * rubber.shear_modulus_mpa / rubber.youngs_modulus_mpa == pytest.approx(three_g_over_e, abs=0.0005001)


@given(st.floats(30.0, 75.0), st.floats(30.0, 75.0))
def test_harder_rubber_is_stiffer_and_has_the_smaller_shape_constant(one, other):
    softer, harder = (lindley_rubber(hardness_irhd=hardness) for hardness in sorted((one, other)))
    assert softer.youngs_modulus_mpa <= harder.youngs_modulus_mpa
    assert softer.shear_modulus_mpa <= harder.shear_modulus_mpa
    assert softer.bulk_modulus_mpa <= harder.bulk_modulus_mpa
    assert softer.shape_constant >= harder.shape_constant


@pytest.mark.parametrize("hardness_irhd", [29.9, 75.1, math.nan])
def test_hardness_outside_lindleys_table_is_refused(hardness_irhd):
    with pytest.raises(RangeError, match="hardness_irhd"):
        lindley_rubber(hardness_irhd=hardness_irhd)


def disc(diameter_mm: float, thickness_mm: float) -> tuple[float, float]:
    """Loaded area and shape factor, from the areas."""
    area_mm2 = math.pi / 4.0 * diameter_mm**2
    return area_mm2, shape_factor(loaded_area_mm2=area_mm2, free_area_mm2=math.pi * diameter_mm * thickness_mm)


def test_shape_factor_of_a_disc_is_a_quarter_of_diameter_over_thickness():
    # d/(4 t); a maker of damping materials gives 1.25 for 50 mm and 10 mm.
    _, factor = disc(50.0, 10.0)
    assert factor == pytest.approx(1.25, rel=1e-12)


def test_shape_factor_of_a_rectangle_and_of_a_ring():
    # a b/[2 t (a + b)] and (Do - Di)/(4 t), by plane geometry.
    rectangle = shape_factor(loaded_area_mm2=30.0 * 20.0, free_area_mm2=2.0 * (30.0 + 20.0) * 6.0)
    assert rectangle == pytest.approx(30.0 * 20.0 / (2.0 * 6.0 * 50.0), rel=1e-12)
    ring = shape_factor(
        loaded_area_mm2=math.pi / 4.0 * (20.0**2 - 12.0**2), free_area_mm2=math.pi * (20.0 + 12.0) * 2.0
    )
    assert ring == pytest.approx((20.0 - 12.0) / (4.0 * 2.0), rel=1e-12)


@pytest.mark.parametrize(
    ("diameter_mm", "thickness_mm", "hardness", "plain_mpa", "with_bulk", "gum_mpa"),
    [(50, 10, 50, 7.2188, 7.1685, 9.0750), (25, 5, 60, 12.3766, 12.2448, 18.3563)],
)
def test_bonded_disc_has_the_reference_modulus(diameter_mm, thickness_mm, hardness, plain_mpa, with_bulk, gum_mpa):
    # Ec = E0 (1 + 2 k S^2) with Lindley's E0 and k, worked out apart from this package.
    rubber, (_, factor) = lindley_rubber(hardness_irhd=hardness), disc(diameter_mm, thickness_mm)
    modulus_mpa = bonded_modulus_mpa(
        youngs_modulus_mpa=rubber.youngs_modulus_mpa,
        shape_factor=factor,
        shape_constant=rubber.shape_constant,
    )
    assert modulus_mpa == pytest.approx(plain_mpa, rel=1e-4)
    compressible_mpa = with_bulk_mpa(apparent_modulus_mpa=modulus_mpa, bulk_modulus_mpa=rubber.bulk_modulus_mpa)
    assert compressible_mpa == pytest.approx(with_bulk, rel=1e-4)
    assert bonded_modulus_mpa(youngs_modulus_mpa=rubber.youngs_modulus_mpa, shape_factor=factor) == pytest.approx(
        gum_mpa, rel=1e-4
    )


def test_bonded_disc_of_50_by_10_has_the_reference_stiffness():
    # 1417.4 N/mm from 7.21875 MPa, worked out apart from this package.
    area_mm2, factor = disc(50.0, 10.0)
    modulus_mpa = bonded_modulus_mpa(youngs_modulus_mpa=2.20, shape_factor=factor, shape_constant=0.73)
    deflection_mm = 1e-5
    force_n = pad_force_n(
        apparent_modulus_mpa=modulus_mpa,
        loaded_area_mm2=area_mm2,
        thickness_mm=10.0,
        deflection_mm=deflection_mm,
    )
    assert force_n / deflection_mm == pytest.approx(1417.4, rel=5e-4)


@pytest.mark.parametrize(
    (
        "diameter_mm",
        "thickness_mm",
        "hardness",
        "force_n",
        "modulus_mpa",
        "linear_mm",
        "finite_mm",
        "plain_mm",
    ),
    [
        pytest.param(20, 8, 50, 20, 3.8564, 0.13207, 0.12991, 0.20738, id="G3"),
        pytest.param(12, 10, 60, 15, 3.975, 0.33366, 0.32278, 0.3679, id="G5"),
    ],
)
def test_bonded_foot_gives_by_the_reference_deflection(
    diameter_mm, thickness_mm, hardness, force_n, modulus_mpa, linear_mm, finite_mm, plain_mm
):
    # Gent's modulus with Lindley's k, computed by a separate program and printed to five digits.
    area_mm2, factor = disc(diameter_mm, thickness_mm)
    gent_mpa = gent_modulus_mpa(hardness_shore_a=hardness)
    apparent_mpa = bonded_modulus_mpa(
        youngs_modulus_mpa=gent_mpa,
        shape_factor=factor,
        shape_constant=lindley_rubber(hardness_irhd=hardness).shape_constant,
    )
    assert apparent_mpa == five_digits(modulus_mpa)
    assert force_n * thickness_mm / (area_mm2 * apparent_mpa) == five_digits(linear_mm)
    assert force_n * thickness_mm / (area_mm2 * gent_mpa) == five_digits(plain_mm)
    deflection_mm = pad_deflection_mm(
        apparent_modulus_mpa=apparent_mpa,
        loaded_area_mm2=area_mm2,
        thickness_mm=thickness_mm,
        force_n=force_n,
    )
    assert deflection_mm == five_digits(finite_mm)


@pytest.mark.parametrize(
    ("thickness_mm", "factor", "modulus_fe", "stress_fe", "modulus_law", "stress_law"),
    [
        pytest.param(10.0, 0.25, 1.2003, (0.13277, 0.29479), 1.125, (0.12546, 0.28594), id="tall"),
        pytest.param(2.5, 1.0, 2.9665, (0.34578, 0.82847), 3.0, (0.33457, 0.7625), id="flat"),
    ],
)
def test_gum_disc_agrees_with_finite_elements(thickness_mm, factor, modulus_fe, stress_fe, modulus_law, stress_law):
    # Our own run: E = 1, bulk modulus 667, k = 1, radius 5 mm, pressed by 0.2, 10 and 20 %.
    area_mm2, computed_factor = disc(10.0, thickness_mm)
    assert computed_factor == pytest.approx(factor, rel=1e-12)
    modulus_mpa = bonded_modulus_mpa(youngs_modulus_mpa=1.0, shape_factor=factor)
    assert modulus_mpa == five_digits(modulus_law)
    assert modulus_mpa == pytest.approx(modulus_fe, rel=0.08)
    for strain, by_fe, by_law in zip((0.1, 0.2), stress_fe, stress_law, strict=True):
        stress_mpa = (
            pad_force_n(
                apparent_modulus_mpa=modulus_mpa,
                loaded_area_mm2=area_mm2,
                thickness_mm=thickness_mm,
                deflection_mm=strain * thickness_mm,
            )
            / area_mm2
        )
        assert stress_mpa == five_digits(by_law)
        assert stress_mpa == pytest.approx(by_fe, rel=0.08)


def test_limits_of_the_bonded_pad():
    # Lindley: no shape factor, no stiffening; a strip cannot get longer, hence 4/3; nothing beats the bulk.
    assert bonded_modulus_mpa(youngs_modulus_mpa=2.0, shape_factor=0.0) == 2.0
    strip_mpa = bonded_strip_modulus_mpa(youngs_modulus_mpa=3.0, shape_factor=0.0, shape_constant=0.6)
    assert strip_mpa == pytest.approx(4.0, rel=1e-12)
    assert with_bulk_mpa(apparent_modulus_mpa=1e9, bulk_modulus_mpa=1e3) == pytest.approx(1e3, rel=1e-5)


@given(st.floats(0.0, 0.2), st.floats(0.5, 50.0))
def test_deflection_comes_back_from_its_force(compression, thickness_mm):
    pad = {"apparent_modulus_mpa": 4.0, "loaded_area_mm2": 200.0, "thickness_mm": thickness_mm}
    force_n = pad_force_n(**pad, deflection_mm=compression * thickness_mm)
    deflection_mm = pad_deflection_mm(**pad, force_n=force_n)
    assert deflection_mm == pytest.approx(compression * thickness_mm, rel=1e-9, abs=1e-12)


def test_overloaded_pad_is_refused():
    pad = {"apparent_modulus_mpa": 3.0, "loaded_area_mm2": 100.0, "thickness_mm": 10.0}
    with pytest.raises(RangeError, match="compression"):
        pad_force_n(**pad, deflection_mm=2.1)
    with pytest.raises(RangeError, match="force_n"):
        pad_deflection_mm(**pad, force_n=80.0)  # 76.25 N is 20 %
    with pytest.raises(RangeError, match="force_n"):
        pad_deflection_mm(**pad, force_n=-1.0)


def test_impossible_pads_are_refused():
    with pytest.raises(RangeError, match="shape_factor"):
        bonded_modulus_mpa(youngs_modulus_mpa=2.0, shape_factor=-0.1)
    with pytest.raises(RangeError, match="shape_constant"):
        bonded_strip_modulus_mpa(youngs_modulus_mpa=2.0, shape_factor=1.0, shape_constant=1.1)
    with pytest.raises(RangeError, match="free_area_mm2"):
        shape_factor(loaded_area_mm2=10.0, free_area_mm2=0.0)
