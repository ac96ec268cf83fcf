"""Slow flow of mixed elastomer through sprues, runners and vents, and how long a cavity takes to fill.

A passage resists: pressure drop = resistance · flow, like a resistor. Resistances carry Pa·s/mm³, so that
pressures in Pa give flows in mm³/s. All of it is creeping flow (Reynolds number far below one) of a liquid of
one viscosity that sticks to the wall. Mixed elastomers thicken with shear and with age: give the maker's
mixed viscosity at the shop's temperature, and 1.5 to 2 times as much near the end of the pot life (judgement,
no source). A liquid without viscosity is refused; jets (Torricelli) are not what happens in a mold.

A vent passes air, some 10⁵ times thinner than the mix, so it throttles nothing until mix enters it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from moldgen.errors import require_range
from moldgen.mechanics.solve import root

STANDARD_GRAVITY_M_S2: Final = 9.80665
"""Standard acceleration of free fall (3rd General Conference on Weights and Measures, 1901; exact)."""

CONE_HALF_ANGLE_MOST_DEG: Final = 18.5
"""Up to here the cone's correction has been compared with finite elements."""

# From air to a paste that hardly pours; no passage of a mold is longer than a few of its largest parts.
_VISCOSITY_PA_S: Final = (1e-5, 1e3)
_LENGTH_MM: Final = (0.01, 1e4)
_DIAMETER_MM: Final = (0.05, 1e3)
_DENSITY_G_CM3: Final = (0.5, 5.0)


def tube_resistance_pa_s_mm3(*, viscosity_pa_s: float, length_mm: float, diameter_mm: float) -> float:
    """Flow resistance of a round passage of one diameter, in Pa·s/mm³.

    R = 128 η L/(π d⁴). Source: Hagen-Poiseuille, as in any fluid mechanics text.
    Range: creeping flow; the few tenths of a diameter that inlet and outlet add are left out.

    By hand: 128 · 3 · 15/(3.14159 · 5⁴) = 5760/1963.5 = 2.9335

    >>> round(tube_resistance_pa_s_mm3(viscosity_pa_s=3.0, length_mm=15.0, diameter_mm=5.0), 4)
    2.9335
    """
    _require_passage(viscosity_pa_s, length_mm)
    require_range("diameter_mm", diameter_mm, *_DIAMETER_MM)
    return 128.0 * viscosity_pa_s * length_mm / (math.pi * diameter_mm**4)


def cone_resistance_pa_s_mm3(
    *, viscosity_pa_s: float, length_mm: float, entry_diameter_mm: float, exit_diameter_mm: float
) -> float:
    """Flow resistance of a conical passage, in Pa·s/mm³; the same whichever end is entered.

    R = (8 η L/π) (r₁² + r₁ r₂ + r₂²)/(3 r₁³ r₂³) · (1 + 1.2 tan² α), α the half angle. The first two factors
    are Hagen-Poiseuille integrated along the cone; for 8 mm on 2 mm the mean diameter gives a quarter of it.
    The last factor is our fit to our own axisymmetric finite-element run of Stokes flow, within 0.3 % up
    to 18 degrees.
    Range: half angle up to 18.5 degrees. A wider funnel hardly counts: it adds no more than about one radius
    of straight tube at its narrow end.

    By hand: 8 · 3 · 15/π · (16 + 4 + 1)/(3 · 64 · 1) = 114.59 · 0.109375 = 12.533; times
    1 + 1.2 · 0.2² = 1.048 gives 13.135

    >>> round(cone_resistance_pa_s_mm3(
    ...     viscosity_pa_s=3.0, length_mm=15.0, entry_diameter_mm=8.0, exit_diameter_mm=2.0), 3)
    13.135
    """
    lubrication = cone_lubrication_pa_s_mm3(
        viscosity_pa_s=viscosity_pa_s,
        length_mm=length_mm,
        entry_diameter_mm=entry_diameter_mm,
        exit_diameter_mm=exit_diameter_mm,
    )
    half_angle_deg = math.degrees(math.atan2(abs(entry_diameter_mm - exit_diameter_mm) / 2.0, length_mm))
    return lubrication * cone_factor(half_angle_deg=half_angle_deg)


def cone_lubrication_pa_s_mm3(
    *, viscosity_pa_s: float, length_mm: float, entry_diameter_mm: float, exit_diameter_mm: float
) -> float:
    """Flow resistance of a very slender cone, in Pa·s/mm³: every slice taken as a short tube.

    R = (8 η L/π) (r₁² + r₁ r₂ + r₂²)/(3 r₁³ r₂³). Source: Hagen-Poiseuille integrated over the length.
    Range: reads low as the cone widens, by 1 % at a half angle of 5 degrees; `cone_resistance_pa_s_mm3` mends
    that.

    By hand: 8 · 20 · 12/π · (4 + 2 + 1)/(3 · 8 · 1) = 611.15 · 0.291667 = 178.25

    >>> round(cone_lubrication_pa_s_mm3(
    ...     viscosity_pa_s=20.0, length_mm=12.0, entry_diameter_mm=4.0, exit_diameter_mm=2.0), 2)
    178.25
    """
    _require_passage(viscosity_pa_s, length_mm)
    require_range("entry_diameter_mm", entry_diameter_mm, *_DIAMETER_MM)
    require_range("exit_diameter_mm", exit_diameter_mm, *_DIAMETER_MM)
    r1, r2 = entry_diameter_mm / 2.0, exit_diameter_mm / 2.0
    return 8.0 * viscosity_pa_s * length_mm / math.pi * (r1 * r1 + r1 * r2 + r2 * r2) / (3.0 * r1**3 * r2**3)


def cone_factor(*, half_angle_deg: float) -> float:
    """By how much a cone resists more than its slices taken as tubes.

    1 + 1.2 tan² α. Source: our fit to our own axisymmetric finite-element run of Stokes flow.
    Range: half angle 0 to 18.5 degrees, within 0.3 %.

    By hand: tan 11.3099° = 0.2; 1 + 1.2 · 0.04 = 1.048

    >>> round(cone_factor(half_angle_deg=11.3099), 4)
    1.048
    """
    require_range("half_angle_deg", half_angle_deg, 0.0, CONE_HALF_ANGLE_MOST_DEG)
    return 1.0 + 1.2 * math.tan(math.radians(half_angle_deg)) ** 2


def slot_resistance_pa_s_mm3(*, viscosity_pa_s: float, length_mm: float, width_mm: float, gap_mm: float) -> float:
    """Flow resistance of a rectangular passage, in Pa·s/mm³.

    R = 12 η L/(w h³)/[1 - (192 h/(π⁵ w)) Σ tanh(n π w/2h)/n⁵], n = 1, 3, 5 …; w the long side, h the short
    one.
    Source: the series of Boussinesq (1868) for laminar flow in a rectangular duct, as given in F. M. White,
    Viscous Fluid Flow (from memory). Range: gap up to the width; a square is right too.

    By hand: w = 10, h = 1: 12 · 1 · 10/10 = 12; 192/306.02 · 1.00452 = 0.63025; 12/(1 - 0.063025) = 12.807

    >>> round(slot_resistance_pa_s_mm3(viscosity_pa_s=1.0, length_mm=10.0, width_mm=10.0, gap_mm=1.0), 3)
    12.807
    """
    _require_passage(viscosity_pa_s, length_mm)
    require_range("width_mm", width_mm, *_DIAMETER_MM)
    require_range("gap_mm", gap_mm, _DIAMETER_MM[0], width_mm)
    # The terms fall with n to the fifth: thirty of them leave less than 1e-8.
    series = sum(math.tanh(n * math.pi * width_mm / (2.0 * gap_mm)) / n**5 for n in range(1, 60, 2))
    open_share = 1.0 - 192.0 / math.pi**5 * gap_mm / width_mm * series
    return 12.0 * viscosity_pa_s * length_mm / (width_mm * gap_mm**3 * open_share)


def series_resistance_pa_s_mm3(*, resistances_pa_s_mm3: Iterable[float]) -> float:
    """Resistance of passages one after the other: their sum.

    Source: the same flow goes through each, and the pressure drops add. Range: each above zero.

    >>> series_resistance_pa_s_mm3(resistances_pa_s_mm3=(12.0, 3.0))
    15.0
    """
    return math.fsum(_checked(resistances_pa_s_mm3))


def parallel_resistance_pa_s_mm3(*, resistances_pa_s_mm3: Iterable[float]) -> float:
    """Resistance of passages side by side: 1/R = Σ 1/Rᵢ.

    Source: each sees the same pressure, and the flows add. Range: each above zero, at least one.

    By hand: 1/(1/12 + 1/4) = 12/4 = 3

    >>> round(parallel_resistance_pa_s_mm3(resistances_pa_s_mm3=(12.0, 4.0)), 9)
    3.0
    """
    resistances = _checked(resistances_pa_s_mm3)
    require_range("number of passages", len(resistances), 1, math.inf)
    return 1.0 / math.fsum(1.0 / resistance for resistance in resistances)


def tube_diameter_mm(*, viscosity_pa_s: float, length_mm: float, resistance_pa_s_mm3: float) -> float:
    """Diameter of the round passage that resists just so much: the sprue or vent that would do.

    d = (128 η L/(π R))^¼. Source: Hagen-Poiseuille, turned round. Range: as `tube_resistance_pa_s_mm3`.

    By hand: (128 · 3 · 15/(π · 2.9335))^¼ = 625^¼ = 5

    >>> round(tube_diameter_mm(viscosity_pa_s=3.0, length_mm=15.0, resistance_pa_s_mm3=2.9335), 3)
    5.0
    """
    _require_passage(viscosity_pa_s, length_mm)
    require_range("resistance_pa_s_mm3", resistance_pa_s_mm3, 1e-9, 1e12)
    return math.pow(128.0 * viscosity_pa_s * length_mm / (math.pi * resistance_pa_s_mm3), 0.25)


def cone_gate_diameter_mm(
    *, viscosity_pa_s: float, length_mm: float, half_angle_deg: float, resistance_pa_s_mm3: float
) -> float:
    """Diameter of the narrow end of the conical sprue of this angle that resists just so much.

    `cone_resistance_pa_s_mm3` solved for its narrow end. Range: half angle 0 to 18.5 degrees.

    By hand: the docstring there has 8 mm on 2 mm over 15 mm, tan α = 0.2, with 13.135 Pa·s/mm³.

    >>> round(cone_gate_diameter_mm(
    ...     viscosity_pa_s=3.0, length_mm=15.0, half_angle_deg=11.3099, resistance_pa_s_mm3=13.135), 3)
    2.0
    """
    widens_mm = 2.0 * length_mm * math.tan(math.radians(half_angle_deg))
    factor = cone_factor(half_angle_deg=half_angle_deg)
    tube_mm = tube_diameter_mm(
        viscosity_pa_s=viscosity_pa_s, length_mm=length_mm, resistance_pa_s_mm3=resistance_pa_s_mm3
    )

    # R · d⁴ over that of a tube is 1 for no taper; logarithms keep the steep fall with d easy to bracket.
    def excess(gate_mm: float) -> float:
        g = gate_mm / (gate_mm + widens_mm)
        return math.log(factor * (g + g * g + g**3) / 3.0) - 4.0 * math.log(gate_mm / tube_mm)

    # A tube as narrow as the gate resists more than the cone, less its factor: that is the upper end.
    return root(excess, 1e-4 * tube_mm, 1.001 * tube_mm * factor**0.25)


def head_pressure_pa(*, head_mm: float, density_g_cm3: float) -> float:
    """Pressure under a column of mix, in Pa: ρ g h, h the height from flow front to feed level.

    Source: hydrostatics. Range: density 0.5 to 5 g/cm³; a negative head pushes back.

    By hand: 1.08 · 9.80665 · 25 = 264.78

    >>> round(head_pressure_pa(head_mm=25.0, density_g_cm3=1.08), 2)
    264.78
    """
    require_range("density_g_cm3", density_g_cm3, *_DENSITY_G_CM3)
    return density_g_cm3 * STANDARD_GRAVITY_M_S2 * head_mm


def flow_mm3_s(*, pressure_pa: float, resistance_pa_s_mm3: float) -> float:
    """Flow that a pressure difference drives through a passage, in mm³/s; no pressure, no flow.

    Q = Δp/R. Source: definition of the resistance; linear because creeping. Range: resistance above zero.

    By hand: 264.78/12.533 = 21.126

    >>> round(flow_mm3_s(pressure_pa=264.78, resistance_pa_s_mm3=12.533), 2)
    21.13
    """
    require_range("resistance_pa_s_mm3", resistance_pa_s_mm3, 1e-9, 1e12)
    return pressure_pa / resistance_pa_s_mm3


def steady_fill_s(*, volume_mm3: float, pressure_pa: float, resistance_pa_s_mm3: float) -> float:
    """Time to press a volume through a passage at one pressure, in seconds; infinite without pressure.

    t = V R/Δp. For a syringe, and for a cavity low enough that the head hardly changes: a cavity that rises
    to two thirds of the head takes 1.65 times as long (`rising_fill_s`). Range: volume and pressure from
    zero.

    By hand: 1500 · 178.25/50000 = 5.3475

    >>> round(steady_fill_s(volume_mm3=1500.0, pressure_pa=50e3, resistance_pa_s_mm3=178.25), 4)
    5.3475
    """
    require_range("volume_mm3", volume_mm3, 0.0, math.inf)
    require_range("pressure_pa", pressure_pa, 0.0, math.inf)
    flow = flow_mm3_s(pressure_pa=pressure_pa, resistance_pa_s_mm3=resistance_pa_s_mm3)
    return volume_mm3 / flow if flow > 0.0 else math.inf


def rising_fill_s(
    *,
    cavity_area_mm2: float,
    rise_mm: float,
    feed_head_mm: float,
    density_g_cm3: float,
    resistance_pa_s_mm3: float,
    feed_area_mm2: float = math.inf,
) -> float:
    """Time for the mix to rise so far in an upright cavity fed from below, in seconds.

    The head falls as the cavity rises and, unless the funnel is kept topped up (`feed_area_mm2` infinite), as
    the feed sinks: with n = 1 + A/A_feed, t = R A/(ρ g n) · ln(H/(H - n z)); H is the feed's level over the
    cavity's floor at the start. Infinite where the levels meet before z is reached: equal heads, no flow.

    Source: mass balance dz/dt = ρ g (H - n z)/(R A), integrated. Range: as the resistance's.

    By hand: 12.533 · 200/(1.08 · 9.80665) · ln(30/10) = 236.67 · 1.09861 = 260.0

    >>> round(rising_fill_s(cavity_area_mm2=200.0, rise_mm=20.0, feed_head_mm=30.0, density_g_cm3=1.08,
    ...                     resistance_pa_s_mm3=12.533), 1)
    260.0
    """
    require_range("cavity_area_mm2", cavity_area_mm2, 1e-6, math.inf)
    require_range("feed_area_mm2", feed_area_mm2, 1e-6, math.inf)
    require_range("rise_mm", rise_mm, 0.0, math.inf)
    require_range("resistance_pa_s_mm3", resistance_pa_s_mm3, 1e-9, 1e12)
    sinking = 1.0 + cavity_area_mm2 / feed_area_mm2
    left_mm = feed_head_mm - sinking * rise_mm
    if left_mm <= 0.0:
        return math.inf
    pressure_per_mm_pa = head_pressure_pa(head_mm=1.0, density_g_cm3=density_g_cm3)
    time_constant_s = resistance_pa_s_mm3 * cavity_area_mm2 / (pressure_per_mm_pa * sinking)
    return time_constant_s * math.log(feed_head_mm / left_mm)


def plunger_pressure_pa(*, force_n: float, barrel_diameter_mm: float) -> float:
    """Pressure that a syringe gives for a force on its plunger, in Pa.

    p = F/(π d²/4), d the barrel's inside diameter. The plunger's own friction comes off the force first (a
    few newtons; try it empty). Source: definition of pressure. Range: force from zero.

    By hand: 15.708/(π · 20²/4) = 15.708/314.159 = 0.05 N/mm² = 50 000 Pa

    >>> round(plunger_pressure_pa(force_n=15.708, barrel_diameter_mm=20.0))
    50000
    """
    require_range("force_n", force_n, 0.0, 2000.0)
    require_range("barrel_diameter_mm", barrel_diameter_mm, *_DIAMETER_MM)
    return force_n / (math.pi * barrel_diameter_mm**2 / 4.0) * 1e6


def plunger_force_n(*, pressure_pa: float, barrel_diameter_mm: float) -> float:
    """Force on a syringe's plunger for a pressure in its barrel, in N, without the plunger's own friction.

    F = p π d²/4. A thinner syringe needs less force for the same pressure. Range: pressure from zero.

    By hand: 0.05 N/mm² · π · 20²/4 = 15.708

    >>> round(plunger_force_n(pressure_pa=50e3, barrel_diameter_mm=20.0), 3)
    15.708
    """
    require_range("pressure_pa", pressure_pa, 0.0, math.inf)
    require_range("barrel_diameter_mm", barrel_diameter_mm, *_DIAMETER_MM)
    return pressure_pa * 1e-6 * math.pi * barrel_diameter_mm**2 / 4.0


def tube_reynolds(*, flow_mm3_s: float, diameter_mm: float, viscosity_pa_s: float, density_g_cm3: float) -> float:
    """Reynolds number in a round passage; everything here holds while it is well below one.

    Re = 4 ρ Q/(π d η). Source: definition, on mean speed and diameter.

    By hand: 4 · 1080 kg/m³ · 21.126e-9 m³/s/(π · 0.002 m · 3 Pa·s) = 0.00484

    >>> round(tube_reynolds(flow_mm3_s=21.126, diameter_mm=2.0, viscosity_pa_s=3.0, density_g_cm3=1.08), 5)
    0.00484
    """
    require_range("viscosity_pa_s", viscosity_pa_s, *_VISCOSITY_PA_S)
    require_range("diameter_mm", diameter_mm, *_DIAMETER_MM)
    require_range("density_g_cm3", density_g_cm3, *_DENSITY_G_CM3)
    # g/cm³ · mm³/s over mm · Pa·s is 1e-3 of the pure number.
    return 4e-3 * density_g_cm3 * abs(flow_mm3_s) / (math.pi * diameter_mm * viscosity_pa_s)


def _require_passage(viscosity_pa_s: float, length_mm: float) -> None:
    require_range("viscosity_pa_s", viscosity_pa_s, *_VISCOSITY_PA_S)
    require_range("length_mm", length_mm, *_LENGTH_MM)


def _checked(resistances_pa_s_mm3: Iterable[float]) -> tuple[float, ...]:
    resistances = tuple(resistances_pa_s_mm3)
    for resistance in resistances:
        require_range("resistance_pa_s_mm3", resistance, 1e-9, 1e12)
    return resistances
