"""Rows marked "reference" come from an independent solution of the same contact problem (other code)."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import expm

from moldgen.errors import RangeError
from moldgen.mechanics import contact, layer

# Over a/h: load over Hertz's and over the thin film's, peak pressure times a over load, indentation times
# R/a^2. Reference for the problem of P. Meijers, Appl. Sci. Res. 18 (1968) 353 (citation from memory):
# collocation with 14 and with 24 terms agree, residual below 1e-12; printed to about one unit of the last
# digit.
MEIJERS_LOAD_OVER_HERTZ = {
    0.05: 1.0025, 0.1: 1.0101, 0.2: 1.0406, 0.3: 1.0910, 0.5: 1.2474, 0.75: 1.534, 1.0: 1.903, 1.5: 2.845,
    2.0: 4.047, 3.0: 7.330, 5.0: 18.28,
}  # fmt: skip
MEIJERS_LOAD_OVER_FILM = {
    1.0: 44.84,
    2.0: 11.92,
    3.0: 6.396,
    5.0: 3.446,
    10.0: 1.960,
    20.0: 1.420,
    50.0: 1.154,
}
MEIJERS_PEAK = {0.5: 0.6418, 1.0: 0.6698, 2.0: 0.7241, 5.0: 0.7923}
MEIJERS_INDENTATION = {0.1: 1.2737, 0.2: 0.9556, 0.5: 0.6090, 1.0: 0.4383, 2.0: 0.3323, 5.0: 0.2471}

# Reference, a/h and nu: load in E' h^2/R, indentation in h^2/R, peak pressure in E' h/R; E' = E/(1 - nu^2).
MAP = [
    (0.05, 0.5, 0.0019685, 0.0040266, 0.025064),
    (0.1, 0.5, 0.0079343, 0.012738, 0.050512),
    (0.2, 0.5, 0.032696, 0.038227, 0.1041),
    (0.5, 0.5, 0.24494, 0.15226, 0.31439),
    (1.0, 0.5, 1.4948, 0.43834, 1.0012),
    (3.0, 0.5, 51.819, 2.5962, 13.035),
    (10.0, 0.5, 6534.0, 21.056, 549.83),
    (0.5, 0.4, 0.23454, 0.18772, 0.30049),
    (2.0, 0.3, 7.9122, 2.2846, 2.756),
]

# Reference: C1, C3 a steel shaft on a 6 mm roller with a 3 mm core, C4 on a 20/16 mm tyre (radii). Relative
# radius, radii, modulus, load; half-width, indentation and peak pressure of a flat layer and of the cover.
NIPS = {
    "C1": ((1.2, 6.0, 3.0, 3.60507, 5.0 / 8.0), (0.44088, 0.17713, 0.90256), (0.44411, 0.20695, 0.89575)),
    "C3": ((1.2, 6.0, 3.0, 3.60507, 15.0 / 8.0), (0.74869, 0.40254, 1.5954), (0.76247, 0.4874, 1.5649)),
    "C4": ((10 / 3, 20.0, 16.0, 2.45581, 1.5 / 5.0), (0.61616, 0.1221, 0.31), (0.61776, 0.12853, 0.30917)),
}


def hertz_load(half_width, radius=1.0, plane_modulus=1.0):
    return math.pi * plane_modulus * half_width**2 / (4.0 * radius)


def film_load(half_width, radius=1.0, thickness=1.0, plane_modulus=1.0):
    return 2.0 * 0.75 * plane_modulus * half_width**5 / (45.0 * radius * thickness**3)


def of_unit_layer(half_width, poisson_ratio=0.5):
    """Contact on a layer with h = 1 and E' = 1 under a wheel with R = 1."""
    unit = layer.flat_layer(thickness_mm=1.0, elastic_modulus_mpa=1.0 - poisson_ratio**2, poisson_ratio=poisson_ratio)
    return replace(unit, widest_mm=50.0).at_half_width(half_width_mm=half_width, relative_radius_mm=1.0)


def integrated_through_depth(rates, depth, plane_modulus, held_top=False):
    """Compliance of the loaded side, from (u, v, shear, normal)' = rates times it, through the depth.

    Both displacements are zero at the base; the loaded side has no shear, or, if it is held, no sideways u.
    """
    through = expm(rates * depth)[:, 2:]
    base = np.linalg.solve(through[[0 if held_top else 2, 3]], [0.0, -1.0])
    return -plane_modulus / 2.0 * float(through[1] @ base)


def flat_rates(wave, poisson_ratio):
    """Plane strain with E = 1, u = U sin kx, v = V cos kx; for nu = 1/2 without the pressure."""
    shear = 1.0 / (2.0 * (1.0 + poisson_ratio))
    if poisson_ratio == 0.5:
        return np.array([
            [0.0, wave, 1.0 / shear, 0.0],
            [-wave, 0.0, 0.0, 0.0],
            [4.0 * shear * wave**2, 0.0, 0.0, wave],
            [0.0, 0.0, -wave, 0.0],
        ])  # fmt: skip
    lame = 2.0 * shear * poisson_ratio / (1.0 - 2.0 * poisson_ratio)
    oedometer = lame + 2.0 * shear
    return np.array([
        [0.0, wave, 1.0 / shear, 0.0],
        [-lame * wave / oedometer, 0.0, 0.0, 1.0 / oedometer],
        [wave**2 * (oedometer - lame**2 / oedometer), 0.0, 0.0, wave * lame / oedometer],
        [0.0, 0.0, -wave, 0.0],
    ])  # fmt: skip


def round_rates(waves):
    """Incompressible plane strain with E = 1 in polar coordinates, over ln r; the stresses times r.

    u = U sin n theta round the axis, v = V cos n theta outwards: v' = -(v + n u), t = G (u' - u - n v), and
    balance of forces outwards s' = s_hoop - n t, round t' = n s_hoop - t, with s_hoop = s + 4 G (v + n u).
    """
    shear = 1.0 / 3.0
    return np.array([
        [1.0, waves, 1.0 / shear, 0.0],
        [-waves, -1.0, 0.0, 0.0],
        [4.0 * shear * waves**2, 4.0 * shear * waves, -1.0, waves],
        [4.0 * shear * waves, 4.0 * shear, -waves, 1.0],
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("depth", "compliance"),
    [(0.1, 0.00065488), (0.5, 0.057574), (1.0, 0.24058), (3.0, 0.88672), (8.0, 0.99997)],
)
def test_flat_compliance_has_the_reference_values(depth, compliance):
    # Reference, five digits.
    assert layer.flat_compliance(waves_times_thickness=depth) == pytest.approx(compliance, rel=1e-5)


@pytest.mark.parametrize("poisson_ratio", [0.0, 0.3, 0.45, 0.5])
@pytest.mark.parametrize("depth", [0.05, 0.3, 1.0, 2.5, 6.0])
def test_flat_compliance_agrees_with_the_matrix_exponential_through_the_depth(depth, poisson_ratio):
    integrated = integrated_through_depth(flat_rates(depth, poisson_ratio), 1.0, depth / (1.0 - poisson_ratio**2))
    compliance = layer.flat_compliance(waves_times_thickness=depth, poisson_ratio=poisson_ratio)
    assert compliance == pytest.approx(integrated, rel=1e-8)


def test_flat_compliance_of_long_waves_goes_as_the_cube_and_of_short_ones_to_one():
    # Film flow, h^3/(3 G) k^2 p: L = (2/3) (k h)^3, the error of the order of (k h)^2.
    depth = 0.01
    assert layer.flat_compliance(waves_times_thickness=depth) == pytest.approx(2 / 3 * depth**3, rel=5e-4)
    assert layer.flat_compliance(waves_times_thickness=20.0) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("core", [0.03, 0.25, 0.5, 0.8, 0.97])
@pytest.mark.parametrize("waves", [1, 2, 3, 5])
def test_annulus_compliance_agrees_with_the_matrix_exponential_through_the_wall(waves, core):
    integrated = integrated_through_depth(round_rates(waves), -math.log(core), 4.0 / 3.0 * waves)
    compliance = layer.annulus_compliance(waves_round=waves, core_over_outside=core)
    assert compliance == pytest.approx(integrated, rel=1e-8, abs=1e-12)


def test_annulus_without_a_core_gives_the_solid_disc():
    # N. I. Muskhelishvili's solid disc (from memory): incompressible, L_n = n^2/(n^2 - 1) for n > 1.
    for waves in (2, 3, 5):
        compliance = layer.annulus_compliance(waves_round=waves, core_over_outside=0.02)
        assert compliance == pytest.approx(waves**2 / (waves**2 - 1), rel=0.01)


def test_thin_annulus_is_the_flat_layer():
    # k = n/ro, h = wall; what is left is of the order of the wall over the radius.
    core, waves = 0.99, 100
    round_ = layer.annulus_compliance(waves_round=waves, core_over_outside=core)
    assert round_ == pytest.approx(layer.flat_compliance(waves_times_thickness=waves * (1 - core)), rel=0.02)


@pytest.mark.parametrize(("half_width", "poisson_ratio", "load", "indentation", "peak"), MAP)
def test_flat_layer_follows_the_reference_map(half_width, poisson_ratio, load, indentation, peak):
    pressed = of_unit_layer(half_width, poisson_ratio)
    assert pressed.load_n_per_mm == pytest.approx(load, rel=1e-4)
    assert pressed.indentation_mm == pytest.approx(indentation, rel=1e-4)
    assert pressed.peak_pressure_mpa == pytest.approx(peak, rel=1e-4)


def test_flat_layer_follows_the_table_of_meijers_problem():
    for half_width, ratio in MEIJERS_LOAD_OVER_HERTZ.items():
        load = of_unit_layer(half_width).load_n_per_mm
        assert load / hertz_load(half_width) == pytest.approx(ratio, rel=5e-4)
    for half_width, ratio in MEIJERS_LOAD_OVER_FILM.items():
        load = of_unit_layer(half_width).load_n_per_mm
        assert load / film_load(half_width) == pytest.approx(ratio, rel=6e-4)
    for half_width, shape in MEIJERS_PEAK.items():
        at = of_unit_layer(half_width)
        assert at.peak_pressure_mpa * half_width / at.load_n_per_mm == pytest.approx(shape, rel=5e-4)
    for half_width, share in MEIJERS_INDENTATION.items():
        assert of_unit_layer(half_width).indentation_mm / half_width**2 == pytest.approx(share, rel=5e-4)


@pytest.mark.parametrize("poisson_ratio", [0.0, 0.3, 0.5])
def test_a_very_thick_layer_is_hertz(poisson_ratio):
    # P = pi E' a^2/(4 R), p0 = E' a/(2 R); K. L. Johnson, Contact Mechanics, 1985, ch. 4 (from memory).
    pressed = of_unit_layer(1e-3, poisson_ratio)
    assert pressed.load_n_per_mm == pytest.approx(hertz_load(1e-3), rel=1e-5)
    assert pressed.peak_pressure_mpa == pytest.approx(0.5e-3, rel=1e-5)


def test_a_very_thin_layer_tends_to_the_film():
    # Johnson, section 5.8 (from memory): p0 a/P = 15/16, delta R/a^2 = 1/6, each reached as h/a.
    near, far = of_unit_layer(10.0), of_unit_layer(40.0)
    for value, limit in (
        (lambda at: at.peak_pressure_mpa * at.half_width_mm / at.load_n_per_mm, 15 / 16),
        (lambda at: at.indentation_mm / at.half_width_mm**2, 1 / 6),
        (lambda at: at.load_n_per_mm / film_load(at.half_width_mm), 1.0),
    ):
        assert abs(value(far) / limit - 1) < 0.35 * abs(value(near) / limit - 1)
        # Nearly straight in h/a, which has gone from 1/10 to 1/40.
        extrapolated = value(far) + (value(far) - value(near)) / 3
        assert extrapolated == pytest.approx(limit, rel=0.08)


def test_a_film_carries_as_if_it_were_wider_by_one_and_a_half_thicknesses():
    # Observed by the reference, not derived: a + 1.44 h in place of a is right to 0.3 % for a/h 10 to 20.
    for half_width in (10.0, 20.0):
        load = of_unit_layer(half_width).load_n_per_mm
        assert load == pytest.approx(film_load(half_width + 1.44), rel=0.004)


def test_a_thin_compressible_layer_is_a_bed_of_springs():
    # p = M (delta - x^2/(2R))/h, M = E (1 - nu)/((1 + nu)(1 - 2 nu)): P = 2 M a^3/(3 R h); E = 1 - nu^2.
    poisson_ratio = 0.3
    oedometer = (1 - poisson_ratio) ** 2 / (1 - 2 * poisson_ratio)
    excess = []
    for half_width in (5.0, 10.0, 20.0):
        load = of_unit_layer(half_width, poisson_ratio).load_n_per_mm
        excess.append(load / (2 / 3 * oedometer * half_width**3) - 1)
    assert excess[0] > excess[1] > excess[2] > 0
    assert excess[2] < 0.06


@pytest.mark.parametrize("name", NIPS)
def test_shaft_on_roller_has_the_reference_contact(name):
    (radius, outside, core, modulus, load), flat_row, cover_row = NIPS[name]
    flat = layer.flat_layer(thickness_mm=outside - core, elastic_modulus_mpa=modulus)
    cover = layer.round_cover(outer_radius_mm=outside, core_radius_mm=core, elastic_modulus_mpa=modulus)
    for rubber, (half_width, indentation, peak) in ((flat, flat_row), (cover, cover_row)):
        pressed = rubber.under_load(load_n_per_mm=load, relative_radius_mm=radius)
        assert pressed.load_n_per_mm == pytest.approx(load, rel=2e-9)
        assert pressed.half_width_mm == pytest.approx(half_width, rel=5e-5)
        assert pressed.indentation_mm == pytest.approx(indentation, rel=5e-5)
        assert pressed.peak_pressure_mpa == pytest.approx(peak, rel=5e-5)


@pytest.mark.parametrize(
    ("pressed_in", "load", "inside", "outside", "cover_row", "flat_row"),
    [
        (0.1, 0.2585, 0.28186, 0.30546, (0.28628, 0.1006), 0.088047),
        (0.2, 0.60948, 0.41283, 0.43947, (0.43861, 0.20281), 0.17372),
        (0.3, 1.0274, 0.53739, 0.56797, (0.56782, 0.30687), 0.25874),
        (0.4, 1.5058, 0.64886, 0.68348, (0.6851, 0.41257), 0.34341),
        (0.5, 2.0428, 0.73926, 0.7765, (0.7949, 0.51988), 0.42802),
    ],
)
def test_cover_meets_finite_strain_finite_elements(pressed_in, load, inside, outside, cover_row, flat_row):
    # Our own plane-strain neo-Hookean run of the 6/3 mm roller under a 1.5 mm shaft (E 3.60507): indentation
    # set, load, the last node that touches and the next; the last columns are the reference of linear theory.
    touch = {"load_n_per_mm": load, "relative_radius_mm": 1.2}
    cover = layer.round_cover(outer_radius_mm=6.0, core_radius_mm=3.0, elastic_modulus_mpa=3.60507)
    pressed = cover.under_load(**touch)
    assert (pressed.half_width_mm, pressed.indentation_mm) == pytest.approx(cover_row, rel=1e-4)
    assert pressed.indentation_mm == pytest.approx(pressed_in, rel=0.05)
    assert inside < pressed.half_width_mm < outside * 1.025
    flat = layer.flat_layer(thickness_mm=3.0, elastic_modulus_mpa=3.60507).under_load(**touch)
    assert flat.indentation_mm == pytest.approx(flat_row, rel=1e-4)
    assert 0.85 < flat.indentation_mm / pressed_in < 0.89


def test_a_thin_cover_is_pressed_as_the_flat_layer_is():
    touch = {"load_n_per_mm": 3.0, "relative_radius_mm": 5.0}
    cover = layer.round_cover(outer_radius_mm=50.0, core_radius_mm=49.5, elastic_modulus_mpa=3.0)
    flat = layer.flat_layer(thickness_mm=0.5, elastic_modulus_mpa=3.0)
    round_, straight = cover.under_load(**touch), flat.under_load(**touch)
    assert round_.half_width_mm == pytest.approx(straight.half_width_mm, rel=0.01)
    assert round_.indentation_mm == pytest.approx(straight.indentation_mm, rel=0.01)


@pytest.mark.parametrize(
    "rubber",
    [
        layer.flat_layer(thickness_mm=2.0, elastic_modulus_mpa=2.0),
        layer.flat_layer(thickness_mm=2.0, elastic_modulus_mpa=2.0, poisson_ratio=1 / 3),
        layer.round_cover(outer_radius_mm=8.0, core_radius_mm=0.2, elastic_modulus_mpa=2.0),
        layer.round_cover(outer_radius_mm=8.0, core_radius_mm=5.0, elastic_modulus_mpa=2.0),
        layer.round_cover(outer_radius_mm=8.0, core_radius_mm=7.9, elastic_modulus_mpa=2.0),
    ],
)
def test_wider_contacts_carry_more_and_each_load_leads_back_to_its_half_width(rubber):
    loads, depths = [], []
    for half_width in np.geomspace(rubber.narrowest_mm * 2, rubber.widest_mm, 40):
        pressed = rubber.at_half_width(half_width_mm=half_width, relative_radius_mm=3.0)
        loads.append(pressed.load_n_per_mm)
        depths.append(pressed.indentation_mm)
        assert pressed.peak_pressure_mpa > pressed.load_n_per_mm / (2 * half_width)
    assert np.all(np.diff(loads) > 0)
    assert np.all(np.diff(depths) > 0)
    for load in loads[:-1]:
        again = rubber.under_load(load_n_per_mm=load, relative_radius_mm=3.0)
        by_half_width = rubber.at_half_width(half_width_mm=again.half_width_mm, relative_radius_mm=3.0)
        assert by_half_width.load_n_per_mm == pytest.approx(load, rel=1e-4)


@pytest.mark.parametrize("poisson_ratio", [0.0, 1 / 3, 0.5])
def test_a_load_is_refused_just_above_the_widest_contact(poisson_ratio):
    rubber = layer.flat_layer(thickness_mm=1.0, elastic_modulus_mpa=3.0, poisson_ratio=poisson_ratio)
    most = rubber.at_half_width(half_width_mm=10.0, relative_radius_mm=5.0).load_n_per_mm
    below = rubber.under_load(load_n_per_mm=0.9999 * most, relative_radius_mm=5.0)
    assert 9.99 < below.half_width_mm < 10.0
    with pytest.raises(RangeError, match="load_n_per_mm") as refusal:
        rubber.under_load(load_n_per_mm=1.0001 * most, relative_radius_mm=5.0)
    assert refusal.value.high == pytest.approx(most, rel=1e-9)


def test_loads_and_sizes_outside_the_solved_range_are_refused():
    rubber = layer.flat_layer(thickness_mm=1.0, elastic_modulus_mpa=3.0)
    for load in (0.0, -1.0, math.nan):
        with pytest.raises(RangeError, match="load_n_per_mm"):
            rubber.under_load(load_n_per_mm=load, relative_radius_mm=5.0)
    with pytest.raises(RangeError, match="half_width_mm"):
        rubber.at_half_width(half_width_mm=10.1, relative_radius_mm=5.0)
    with pytest.raises(RangeError, match="poisson_ratio"):
        layer.flat_layer(thickness_mm=1.0, elastic_modulus_mpa=3.0, poisson_ratio=0.51)
    with pytest.raises(RangeError, match="core_radius_mm"):
        layer.round_cover(outer_radius_mm=6.0, core_radius_mm=5.99, elastic_modulus_mpa=3.0)
    with pytest.raises(RangeError, match="waves_round"):
        layer.annulus_compliance(waves_round=0, core_over_outside=0.5)
    with pytest.raises(RangeError, match="waves_times_thickness"):
        layer.flat_compliance(waves_times_thickness=30.0)


def test_a_film_held_on_both_faces_resists_its_flow_four_times_as_much():
    # Independent: the matrix exponential, the top free to slide and held; a long wave, error of order (kh)^2.
    wave = 0.005
    sliding, held = (
        integrated_through_depth(flat_rates(wave, 0.5), 1.0, wave / 0.75, held_top=held) for held in (False, True)
    )
    film = {"relative_radius_mm": 2.0, "thickness_mm": 0.3, "elastic_modulus_mpa": 2.5}
    free = contact.sliding_film(load_n_per_mm=1.0, **film)
    stuck = contact.stuck_film(load_n_per_mm=sliding / held, **film)
    assert stuck.half_width_mm == pytest.approx(free.half_width_mm, rel=1e-4)
    assert stuck.indentation_mm == pytest.approx(free.indentation_mm, rel=1e-4)
    assert stuck.peak_pressure_mpa == pytest.approx(4 * free.peak_pressure_mpa, rel=1e-4)


def test_gauss_nodes_and_weights_are_those_of_the_tables():
    # Closed forms, as in Abramowitz and Stegun, table 25.4: three points at 0 and ±sqrt(3/5), weights 8/9 and 5/9.
    nodes, weights = layer._gauss_legendre(3)
    assert nodes == pytest.approx([-math.sqrt(0.6), 0.0, math.sqrt(0.6)], abs=1e-14)
    assert weights == pytest.approx([5.0 / 9.0, 8.0 / 9.0, 5.0 / 9.0], abs=1e-14)
