"""Rows marked "reference" were computed independently of this code (quadrature, own finite elements)."""

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from moldgen.errors import RangeError
from moldgen.mechanics import flow

SPRUE_F1 = {"viscosity_pa_s": 3.0, "length_mm": 15.0, "entry_diameter_mm": 8.0, "exit_diameter_mm": 2.0}
R_F1 = 12.533  # Pa·s/mm³; reference: 1.2533e10 Pa·s/m³ for the cone integral of SPRUE_F1
SPRUE_F3 = {"viscosity_pa_s": 20.0, "length_mm": 12.0, "entry_diameter_mm": 4.0, "exit_diameter_mm": 2.0}


def test_glycerine_in_a_long_tube_drops_the_printed_pressure():
    # A solved school-physics problem (attributed to NCERT Physics XI): 1.5 m of tube, radius 1.0 cm,
    # 4.0e-3 kg/s of glycerine, 1.3e3 kg/m³, 0.83 Pa·s; printed 9.8e2 Pa and Re = 0.3, with more digits
    # 975.5 Pa and 0.307.
    resistance = flow.tube_resistance_pa_s_mm3(viscosity_pa_s=0.83, length_mm=1500.0, diameter_mm=20.0)
    flow_mm3_s = 4.0e-3 / 1.3e3 * 1e9
    assert resistance * flow_mm3_s == pytest.approx(975.5, rel=0.0005)
    reynolds = flow.tube_reynolds(flow_mm3_s=flow_mm3_s, diameter_mm=20.0, viscosity_pa_s=0.83, density_g_cm3=1.3)
    assert reynolds == pytest.approx(0.307, abs=0.0005)


@pytest.mark.parametrize(
    ("sprue", "resistance", "mean_share"), [(SPRUE_F1, 12.533, 0.23406), (SPRUE_F3, 178.25, 0.67725)]
)
def test_cone_integral_and_what_the_mean_diameter_makes_of_it(sprue, resistance, mean_share):
    # Reference: R = 1.2533e10 and 1.7825e11 Pa·s/m³, by quadrature.
    cone = flow.cone_lubrication_pa_s_mm3(**sprue)
    assert cone == pytest.approx(resistance, rel=5e-5)
    mean_mm = (sprue["entry_diameter_mm"] + sprue["exit_diameter_mm"]) / 2
    tube = flow.tube_resistance_pa_s_mm3(
        viscosity_pa_s=sprue["viscosity_pa_s"], length_mm=sprue["length_mm"], diameter_mm=mean_mm
    )
    assert tube / cone == pytest.approx(mean_share, abs=1e-5)


@pytest.mark.parametrize(("entry", "exit_"), [(1.0, 9.0), (3.0, 3.01), (20.0, 6.0)])
def test_cone_integral_agrees_with_quadrature_of_tubes(entry, exit_):
    # Independent: numerical quadrature of 128 η/(π d⁴) along the cone.
    slices = quad(lambda x: 128 * 2.0 / (math.pi * (entry + (exit_ - entry) * x / 30) ** 4), 0, 30, epsrel=1e-10)[0]
    cone = flow.cone_lubrication_pa_s_mm3(
        viscosity_pa_s=2.0, length_mm=30.0, entry_diameter_mm=entry, exit_diameter_mm=exit_
    )
    assert cone == pytest.approx(slices, rel=1e-6)


@pytest.mark.parametrize(
    ("wide_mm", "length_mm", "half_angle_deg", "over_lubrication"),
    [(4.0, 12.0, 4.7636, 1.0091), (6.0, 6.0, 18.435, 1.1358)],
)
def test_cone_factor_meets_the_finite_elements(wide_mm, length_mm, half_angle_deg, over_lubrication):
    # Reference: our own axisymmetric finite-element run of Stokes flow (Taylor-Hood), 2 mm narrow end. The
    # fit's stated tolerance is 0.3 %.
    assert flow.cone_factor(half_angle_deg=half_angle_deg) == pytest.approx(over_lubrication, rel=0.003)
    cone = {
        "viscosity_pa_s": 3.0,
        "length_mm": length_mm,
        "entry_diameter_mm": wide_mm,
        "exit_diameter_mm": 2.0,
    }
    ratio = flow.cone_resistance_pa_s_mm3(**cone) / flow.cone_lubrication_pa_s_mm3(**cone)
    assert ratio == pytest.approx(over_lubrication, rel=0.003)


def test_cone_resists_alike_in_both_directions_and_without_taper_is_a_tube():
    there = flow.cone_resistance_pa_s_mm3(**SPRUE_F1)
    turned = SPRUE_F1 | {"entry_diameter_mm": 2.0, "exit_diameter_mm": 8.0}
    assert flow.cone_resistance_pa_s_mm3(**turned) == pytest.approx(there, rel=1e-12)
    straight = SPRUE_F1 | {"entry_diameter_mm": 2.0}
    tube = flow.tube_resistance_pa_s_mm3(viscosity_pa_s=3.0, length_mm=15.0, diameter_mm=2.0)
    assert flow.cone_resistance_pa_s_mm3(**straight) == pytest.approx(tube, rel=1e-12)


def test_cone_wider_than_the_finite_elements_saw_is_refused():
    with pytest.raises(RangeError, match="half_angle_deg"):
        flow.cone_resistance_pa_s_mm3(viscosity_pa_s=3.0, length_mm=5.0, entry_diameter_mm=8.0, exit_diameter_mm=2.0)


@pytest.mark.parametrize(
    ("sides", "k1"),
    [(1.0, 0.1406), (1.5, 0.196), (2.0, 0.229), (3.0, 0.263), (4.0, 0.281), (5.0, 0.291), (10.0, 0.312)],
)
def test_slot_flow_matches_the_torsion_of_a_bar_of_its_section(sides, k1):
    # The same Poisson equation governs both: Q = J Δp/(4 η L), J = k1 w h³. k1 after S. Timoshenko and
    # J. N. Goodier, Theory of Elasticity, table of rectangular bars in torsion (from memory, not
    # re-verified); three digits printed.
    resistance = flow.slot_resistance_pa_s_mm3(viscosity_pa_s=1.0, length_mm=1.0, width_mm=2.0 * sides, gap_mm=2.0)
    assert 4.0 / (resistance * 2.0 * sides * 2.0**3) == pytest.approx(k1, abs=0.0006)


def test_square_slot_agrees_with_a_finite_difference_solution():
    # Independent: Poisson's equation on a 161 x 161 grid by sine transform; second order, so 1e-3 is ample.
    n = 160
    k = np.arange(1, n)
    sines = np.sin(np.pi * np.outer(k, k) / n)
    eigen = 2 * n**2 * (1 - np.cos(np.pi * k / n))
    source = (2 / n) ** 2 * sines @ np.ones((n - 1, n - 1)) @ sines
    speed = sines @ (source / (eigen[:, None] + eigen[None, :])) @ sines
    flow_through_unit_square = speed.sum() / n**2
    resistance = flow.slot_resistance_pa_s_mm3(viscosity_pa_s=1.0, length_mm=1.0, width_mm=1.0, gap_mm=1.0)
    assert 1.0 / resistance == pytest.approx(flow_through_unit_square, rel=1e-3)


def test_thin_slot_tends_to_flow_between_plates_and_a_slot_taller_than_wide_is_refused():
    plates = 12.0 * 1.0 * 5.0 / (500.0 * 0.5**3)
    slot = flow.slot_resistance_pa_s_mm3(viscosity_pa_s=1.0, length_mm=5.0, width_mm=500.0, gap_mm=0.5)
    assert slot == pytest.approx(plates, rel=1e-3)
    assert slot > plates  # the ends hold back
    with pytest.raises(RangeError, match="gap_mm"):
        flow.slot_resistance_pa_s_mm3(viscosity_pa_s=1.0, length_mm=5.0, width_mm=1.0, gap_mm=2.0)


def test_tubes_in_series_are_a_longer_tube_and_four_in_parallel_carry_four_times():
    def tube(length_mm):
        return flow.tube_resistance_pa_s_mm3(viscosity_pa_s=3.0, length_mm=length_mm, diameter_mm=2.0)

    joined = flow.series_resistance_pa_s_mm3(resistances_pa_s_mm3=(tube(4.0), tube(11.0)))
    assert joined == pytest.approx(tube(15.0), rel=1e-12)
    side_by_side = flow.parallel_resistance_pa_s_mm3(resistances_pa_s_mm3=[tube(15.0)] * 4)
    assert side_by_side == pytest.approx(tube(15.0) / 4, rel=1e-12)
    with pytest.raises(RangeError, match="number of passages"):
        flow.parallel_resistance_pa_s_mm3(resistances_pa_s_mm3=())
    with pytest.raises(RangeError):
        flow.series_resistance_pa_s_mm3(resistances_pa_s_mm3=(1.0, -1.0))


def test_constant_head_fills_two_millilitres_as_in_the_reference():
    # Reference: head 25 mm, 1080 kg/m³: Q = 0.021126 ml/s, t = 94.671 s.
    head = flow.head_pressure_pa(head_mm=25.0, density_g_cm3=1.08)
    resistance = flow.cone_lubrication_pa_s_mm3(**SPRUE_F1)
    assert flow.flow_mm3_s(pressure_pa=head, resistance_pa_s_mm3=resistance) == pytest.approx(21.126, rel=5e-5)
    seconds = flow.steady_fill_s(volume_mm3=2000.0, pressure_pa=head, resistance_pa_s_mm3=resistance)
    assert seconds == pytest.approx(94.671, rel=1e-5)


def test_syringe_fills_one_and_a_half_millilitres_as_in_the_reference():
    # Reference: 50 kPa, Q = 0.2805 ml/s, t = 5.3476 s. On a 20 mm plunger that is 0.05 · 314.159 = 15.708 N.
    pressure = flow.plunger_pressure_pa(force_n=15.70796, barrel_diameter_mm=20.0)
    resistance = flow.cone_lubrication_pa_s_mm3(**SPRUE_F3)
    assert flow.flow_mm3_s(pressure_pa=pressure, resistance_pa_s_mm3=resistance) == pytest.approx(280.5, rel=2e-4)
    seconds = flow.steady_fill_s(volume_mm3=1500.0, pressure_pa=pressure, resistance_pa_s_mm3=resistance)
    assert seconds == pytest.approx(5.3476, rel=1e-5)
    assert flow.plunger_force_n(pressure_pa=pressure, barrel_diameter_mm=20.0) == pytest.approx(15.70796)


RISING = {"cavity_area_mm2": 200.0, "rise_mm": 20.0, "feed_head_mm": 30.0, "density_g_cm3": 1.08}


def test_rising_cavity_takes_the_reference_time_and_constant_head_is_two_fifths_too_short():
    # Reference: 260.02 s in closed form and by numerical integration; constant head over it 0.60683.
    resistance = flow.cone_lubrication_pa_s_mm3(**SPRUE_F1)
    rising = flow.rising_fill_s(**RISING, resistance_pa_s_mm3=resistance)
    assert rising == pytest.approx(260.02, rel=2e-5)
    head = flow.head_pressure_pa(head_mm=30.0, density_g_cm3=1.08)
    constant = flow.steady_fill_s(volume_mm3=4000.0, pressure_pa=head, resistance_pa_s_mm3=resistance)
    assert constant / rising == pytest.approx(0.60683, abs=1e-5)


@pytest.mark.parametrize("feed_area_mm2", [500.0, 2000.0])
def test_sinking_feed_agrees_with_stepping_the_levels(feed_area_mm2):
    # Independent: the two levels integrated numerically until the cavity stands at 20 mm.
    def levels(_, y):
        cavity, feed = y
        q = 1.08 * 9.80665 * (feed - cavity) / R_F1
        return [q / 200.0, -q / feed_area_mm2]

    def full(_, y):
        return y[0] - 20.0

    full.terminal = True
    run = solve_ivp(levels, (0, 1e4), [0.0, 30.0], events=full, rtol=1e-9, atol=1e-9)
    seconds = flow.rising_fill_s(**RISING, resistance_pa_s_mm3=R_F1, feed_area_mm2=feed_area_mm2)
    assert seconds == pytest.approx(run.t_events[0][0], rel=1e-6)


def test_low_rise_tends_to_constant_head():
    low = RISING | {"rise_mm": 0.003}
    head = flow.head_pressure_pa(head_mm=30.0, density_g_cm3=1.08)
    constant = flow.steady_fill_s(volume_mm3=200.0 * 0.003, pressure_pa=head, resistance_pa_s_mm3=R_F1)
    assert flow.rising_fill_s(**low, resistance_pa_s_mm3=R_F1) == pytest.approx(constant, rel=1e-4)


@pytest.mark.parametrize(
    ("changed", "feed_area_mm2"),
    [
        ({"rise_mm": 30.0}, math.inf),  # the cavity's top is level with the feed
        ({"rise_mm": 40.0}, math.inf),
        ({"rise_mm": 15.0}, 200.0),  # the feed sinks as fast as the cavity rises: they meet half way
        ({"feed_head_mm": 0.0, "rise_mm": 1.0}, math.inf),
    ],
)
def test_equal_heads_never_fill(changed, feed_area_mm2):
    seconds = flow.rising_fill_s(**(RISING | changed), resistance_pa_s_mm3=R_F1, feed_area_mm2=feed_area_mm2)
    assert seconds == math.inf


def test_equal_heads_do_not_flow():
    level = flow.head_pressure_pa(head_mm=0.0, density_g_cm3=1.08)
    assert flow.flow_mm3_s(pressure_pa=level, resistance_pa_s_mm3=R_F1) == 0.0
    assert flow.steady_fill_s(volume_mm3=1.0, pressure_pa=level, resistance_pa_s_mm3=R_F1) == math.inf


def test_a_liquid_without_viscosity_is_refused():
    # No jets here: without viscosity none of these laws holds.
    with pytest.raises(RangeError, match="viscosity_pa_s"):
        flow.tube_resistance_pa_s_mm3(viscosity_pa_s=0.0, length_mm=10.0, diameter_mm=2.0)
    with pytest.raises(RangeError, match="viscosity_pa_s"):
        flow.slot_resistance_pa_s_mm3(viscosity_pa_s=0.0, length_mm=10.0, width_mm=2.0, gap_mm=1.0)
    with pytest.raises(RangeError, match="viscosity_pa_s"):
        flow.cone_resistance_pa_s_mm3(**(SPRUE_F1 | {"viscosity_pa_s": 0.0}))


@pytest.mark.parametrize("diameter_mm", [0.5, 2.0, 8.0])
def test_tube_diameter_undoes_tube_resistance(diameter_mm):
    resistance = flow.tube_resistance_pa_s_mm3(viscosity_pa_s=3.0, length_mm=15.0, diameter_mm=diameter_mm)
    back = flow.tube_diameter_mm(viscosity_pa_s=3.0, length_mm=15.0, resistance_pa_s_mm3=resistance)
    assert back == pytest.approx(diameter_mm, rel=1e-12)


@pytest.mark.parametrize("half_angle_deg", [0.0, 1.0, 8.0, 18.0])
@pytest.mark.parametrize("gate_mm", [0.1, 2.0, 20.0])
@pytest.mark.parametrize("length_mm", [0.5, 15.0, 400.0])
def test_cone_gate_undoes_cone_resistance(half_angle_deg, gate_mm, length_mm):
    mouth_mm = gate_mm + 2 * length_mm * math.tan(math.radians(half_angle_deg))
    resistance = flow.cone_resistance_pa_s_mm3(
        viscosity_pa_s=3.0, length_mm=length_mm, entry_diameter_mm=mouth_mm, exit_diameter_mm=gate_mm
    )
    back = flow.cone_gate_diameter_mm(
        viscosity_pa_s=3.0,
        length_mm=length_mm,
        half_angle_deg=half_angle_deg,
        resistance_pa_s_mm3=resistance,
    )
    assert back == pytest.approx(gate_mm, rel=1e-9)
