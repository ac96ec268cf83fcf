"""Air bubbles in mixed elastomer: how fast they rise, which get out in time, what vacuum does to them.

Take the slow law. Small bubbles in a cast mix carry a skin of filler and surfactant and behave like rigid
spheres; the clean-surface law is there to show the most that could be hoped for. The gas's own weight is
neglected.
"""

from __future__ import annotations

import math
from typing import Final

from moldgen.errors import require_range
from moldgen.mechanics.flow import STANDARD_GRAVITY_M_S2

STANDARD_ATMOSPHERE_KPA: Final = 101.325

VESSEL_ROOM: Final = (3.0, 5.0)
"""Vessel over mix volume to leave for the rising foam when degassing (common practice, no source)."""

_VISCOSITY_PA_S: Final = (1e-5, 1e3)
_DENSITY_G_CM3: Final = (0.5, 5.0)
_RIGID: Final = 2.0 / 9.0
_CLEAN: Final = 1.0 / 3.0


def rise_mm_s(*, diameter_mm: float, viscosity_pa_s: float, density_g_cm3: float) -> float:
    """Speed at which a bubble with a rigid skin rises, in mm/s.

    v = (2/9) ρ g r²/η. Source: Stokes; R. Clift, J. R. Grace and M. E. Weber, Bubbles, Drops and Particles,
    1978 (from memory). Range: Reynolds number on the diameter up to 1, where it reads about a tenth high.

    By hand: 2/9 · 1.08 · 9.80665 · 0.25²/3 = 0.049033

    >>> round(rise_mm_s(diameter_mm=0.5, viscosity_pa_s=3.0, density_g_cm3=1.08), 6)
    0.049033
    """
    return _rise_mm_s(_RIGID, diameter_mm, viscosity_pa_s, density_g_cm3)


def clean_rise_mm_s(*, diameter_mm: float, viscosity_pa_s: float, density_g_cm3: float) -> float:
    """Speed at which a bubble with a clean, mobile surface rises, in mm/s: one and a half times as fast.

    v = (1/3) ρ g r²/η. Source: Hadamard and Rybczynski (1911) for a gas without viscosity, as in G. K.
    Batchelor, An Introduction to Fluid Dynamics, 4.9 (from memory). Range: as `rise_mm_s`; hope, not plan.

    By hand: 1/3 · 1.08 · 9.80665 · 0.25²/3 = 0.07355

    >>> round(clean_rise_mm_s(diameter_mm=0.5, viscosity_pa_s=3.0, density_g_cm3=1.08), 5)
    0.07355
    """
    return _rise_mm_s(_CLEAN, diameter_mm, viscosity_pa_s, density_g_cm3)


def rise_time_s(*, height_mm: float, diameter_mm: float, viscosity_pa_s: float, density_g_cm3: float) -> float:
    """Time a bubble with a rigid skin takes to rise through a height, in seconds.

    t = height/v, v as `rise_mm_s`. The mix thickens meanwhile, so this is the least it takes.

    By hand: 20/0.049033 = 407.89

    >>> round(rise_time_s(height_mm=20.0, diameter_mm=0.5, viscosity_pa_s=3.0, density_g_cm3=1.08), 1)
    407.9
    """
    require_range("height_mm", height_mm, 0.0, 1e4)
    speed_mm_s = rise_mm_s(diameter_mm=diameter_mm, viscosity_pa_s=viscosity_pa_s, density_g_cm3=density_g_cm3)
    return height_mm / speed_mm_s


def smallest_clearing_diameter_mm(
    *, height_mm: float, time_s: float, viscosity_pa_s: float, density_g_cm3: float
) -> float:
    """Diameter of the smallest bubble that rises out of a height of mix in the time there is, in mm.

    d = 2 √(9 η h/(2 ρ g t)): `rise_mm_s` turned round. Whatever is smaller stays in the part.
    Range: as `rise_mm_s`; a time so short that only bubbles too fast for the law would clear is refused.

    By hand: 2 · √(9 · 3 · 20/(2 · 1.08 · 9.80665 · 407.89)) = 2 · √0.0625 = 0.5

    >>> round(smallest_clearing_diameter_mm(
    ...     height_mm=20.0, time_s=407.89, viscosity_pa_s=3.0, density_g_cm3=1.08), 4)
    0.5
    """
    require_range("height_mm", height_mm, 1e-3, 1e4)
    require_range("time_s", time_s, 1e-3, math.inf)
    require_range("viscosity_pa_s", viscosity_pa_s, *_VISCOSITY_PA_S)
    require_range("density_g_cm3", density_g_cm3, *_DENSITY_G_CM3)
    speed_mm_s = height_mm / time_s
    diameter_mm = 2.0 * math.sqrt(speed_mm_s * viscosity_pa_s / (_RIGID * density_g_cm3 * STANDARD_GRAVITY_M_S2))
    _require_creeping(diameter_mm, speed_mm_s, viscosity_pa_s, density_g_cm3)
    return diameter_mm


def bubble_diameter_ratio(*, pressure_kpa: float, ambient_kpa: float = STANDARD_ATMOSPHERE_KPA) -> float:
    """Diameter of a bubble at a pressure over that in the open: larger in vacuum, smaller in a pressure pot.

    (p₀/p)^⅓. Source: Boyle's law; isothermal, no gas or vapour coming out of solution. Both pressures
    absolute.
    Range: 0.1 to 1000 kPa; below the vapour pressure of anything in the mix it boils instead.

    By hand: (101.325/3)^⅓ = 33.775^⅓ = 3.2324

    >>> round(bubble_diameter_ratio(pressure_kpa=3.0), 4)
    3.2324
    """
    return math.cbrt(gas_volume_ratio(pressure_kpa=pressure_kpa, ambient_kpa=ambient_kpa))


def bubble_rise_ratio(*, pressure_kpa: float, ambient_kpa: float = STANDARD_ATMOSPHERE_KPA) -> float:
    """Rise speed of a bubble at a pressure over its speed in the open.

    (p₀/p)^⅔, the square of the diameter's ratio. Source and range: as `bubble_diameter_ratio`.

    By hand: 3.23243² = 10.449

    >>> round(bubble_rise_ratio(pressure_kpa=3.0), 3)
    10.449
    """
    return bubble_diameter_ratio(pressure_kpa=pressure_kpa, ambient_kpa=ambient_kpa) ** 2


def gas_volume_ratio(*, pressure_kpa: float, ambient_kpa: float = STANDARD_ATMOSPHERE_KPA) -> float:
    """Volume of trapped gas at an absolute pressure over its volume in the open.

    p₀/p. Source and range: as `bubble_diameter_ratio`.

    By hand: 101.325/3 = 33.775

    >>> round(gas_volume_ratio(pressure_kpa=3.0), 3)
    33.775
    """
    require_range("pressure_kpa", pressure_kpa, 0.1, 1000.0)
    require_range("ambient_kpa", ambient_kpa, 50.0, 110.0)
    return ambient_kpa / pressure_kpa


def foam_volume_mm3(
    *,
    mix_volume_mm3: float,
    air_fraction: float,
    pressure_kpa: float,
    ambient_kpa: float = STANDARD_ATMOSPHERE_KPA,
) -> float:
    """Volume to which a mix with so much stirred-in air swells under vacuum if no bubble breaks, in mm³.

    V (1 - φ + φ p₀/p), φ the air's share of the volume in the open. Bubbles do break, so this is the most.
    Source: Boyle's law. Range: φ up to 0.3; the pressures as `bubble_diameter_ratio`.

    By hand: 100 000 · (0.9 + 0.1 · 33.775) = 427 750

    >>> round(foam_volume_mm3(mix_volume_mm3=100e3, air_fraction=0.1, pressure_kpa=3.0))
    427750
    """
    require_range("mix_volume_mm3", mix_volume_mm3, 0.0, math.inf)
    require_range("air_fraction", air_fraction, 0.0, 0.3)
    swelling = gas_volume_ratio(pressure_kpa=pressure_kpa, ambient_kpa=ambient_kpa)
    return mix_volume_mm3 * (1.0 - air_fraction + air_fraction * swelling)


def degassing_vessel_mm3(*, mix_volume_mm3: float) -> tuple[float, float]:
    """Least and ample volume of the vessel to degas a mix in, in mm³: 3 and 5 times the mix.

    Common practice, no source; 3 to 5 times is what `foam_volume_mm3` gives for 6 to 12 % of air at 3 kPa.

    >>> degassing_vessel_mm3(mix_volume_mm3=40e3)
    (120000.0, 200000.0)
    """
    require_range("mix_volume_mm3", mix_volume_mm3, 0.0, math.inf)
    least, ample = VESSEL_ROOM
    return least * mix_volume_mm3, ample * mix_volume_mm3


def _rise_mm_s(factor: float, diameter_mm: float, viscosity_pa_s: float, density_g_cm3: float) -> float:
    require_range("diameter_mm", diameter_mm, 1e-4, 100.0)
    require_range("viscosity_pa_s", viscosity_pa_s, *_VISCOSITY_PA_S)
    require_range("density_g_cm3", density_g_cm3, *_DENSITY_G_CM3)
    # kg/m³ · m/s² · mm²/(Pa·s) is µm/s; g/cm³ instead of kg/m³ makes it mm/s.
    speed_mm_s = factor * density_g_cm3 * STANDARD_GRAVITY_M_S2 * (diameter_mm / 2.0) ** 2 / viscosity_pa_s
    _require_creeping(diameter_mm, speed_mm_s, viscosity_pa_s, density_g_cm3)
    return speed_mm_s


def _require_creeping(diameter_mm: float, speed_mm_s: float, viscosity_pa_s: float, density_g_cm3: float) -> None:
    reynolds = 1e-3 * density_g_cm3 * speed_mm_s * diameter_mm / viscosity_pa_s
    require_range("the bubble's Reynolds number", reynolds, 0.0, 1.0)
