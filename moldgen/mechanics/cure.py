"""How the shop's temperature changes pot life, demould and cure times.

Both laws carry a time given at one temperature to another. Neither knows the mix's own heat: pot lives are
stated for a cup of about 100 g, and a larger cup warms itself and sets sooner (`POT_LIFE_CUP_G`).
"""

from __future__ import annotations

import math
from typing import Final

from moldgen.errors import require_range

GAS_CONSTANT_J_MOL_K: Final = 8.314462618
"""Molar gas constant (CODATA 2018; exact since the SI of 2019, here to ten digits)."""

ZERO_CELSIUS_K: Final = 273.15

POT_LIFE_CUP_G: Final = 100.0
"""Mass of mix for which makers usually state a pot life (an adhesive maker's note); more mass, shorter
life."""

RULE_OF_TEN: Final = 2.0
"""How often a time is halved for 10 degC more (common practice; makers' notes put it at 1.5 to 2.5)."""


def time_by_rule_of_ten_s(
    *, time_s: float, stated_at_degc: float, temperature_degc: float, factor_per_ten: float = RULE_OF_TEN
) -> float:
    """A pot life or cure time, stated at one temperature, at another, in seconds: halved per 10 degC more.

    t = t₀ · f^(-(T - T₀)/10). Source: common practice; an adhesive maker's note gives f = 2 and 1.5 to 2.5 as
    the spread.
    Range: within 40 degC of the stated temperature, 0 to 120 degC, f 1.5 to 2.5.

    By hand: 1800 · 2^(-0.7) = 1800 · 0.61557 = 1108.0

    >>> round(time_by_rule_of_ten_s(time_s=1800.0, stated_at_degc=23.0, temperature_degc=30.0), 1)
    1108.0
    """
    _require_temperatures(stated_at_degc, temperature_degc)
    require_range("time_s", time_s, 0.0, math.inf)
    require_range("temperature_degc", temperature_degc, stated_at_degc - 40.0, stated_at_degc + 40.0)
    require_range("factor_per_ten", factor_per_ten, 1.5, 2.5)
    return time_s * math.pow(factor_per_ten, -(temperature_degc - stated_at_degc) / 10.0)


def time_by_arrhenius_s(
    *, time_s: float, stated_at_degc: float, temperature_degc: float, activation_energy_kj_mol: float
) -> float:
    """A pot life or cure time, stated at one temperature, at another, in seconds, from an activation energy.

    t = t₀ exp[(E/R)(1/T - 1/T₀)], T absolute. Source: Arrhenius, one rate-determining reaction.
    Range: 0 to 120 degC, 10 to 150 kJ/mol.

    By hand: E = 50 kJ/mol, 23 to 30 degC: 6013.6 · (1/303.15 - 1/296.15) = -0.46888; 1800 · 0.62570 = 1126.3

    >>> round(time_by_arrhenius_s(
    ...     time_s=1800.0, stated_at_degc=23.0, temperature_degc=30.0, activation_energy_kj_mol=50.0), 1)
    1126.3
    """
    _require_temperatures(stated_at_degc, temperature_degc)
    require_range("time_s", time_s, 0.0, math.inf)
    require_range("activation_energy_kj_mol", activation_energy_kj_mol, 10.0, 150.0)
    inverse_k = 1.0 / (temperature_degc + ZERO_CELSIUS_K) - 1.0 / (stated_at_degc + ZERO_CELSIUS_K)
    return time_s * math.exp(activation_energy_kj_mol * 1e3 / GAS_CONSTANT_J_MOL_K * inverse_k)


def equivalent_activation_energy_kj_mol(*, low_degc: float, high_degc: float, time_ratio: float) -> float:
    """Activation energy that shortens a time `time_ratio`-fold between two temperatures, in kJ/mol.

    E = R ln(time_ratio)/(1/T_low - 1/T_high). Two data-sheet pot lives at two temperatures give it; for the
    rule of ten it comes out a little different at each temperature. Source: Arrhenius, turned round.
    Range: 0 to 120 degC, at least 1 degC apart, time ratio 1 to 100.

    By hand: 8.31446 · 0.693147/(1/296.15 - 1/306.15) = 5.76315/1.10295e-4 = 52 252 J/mol

    >>> round(equivalent_activation_energy_kj_mol(low_degc=23.0, high_degc=33.0, time_ratio=2.0), 2)
    52.25
    """
    _require_temperatures(low_degc, high_degc)
    require_range("high_degc", high_degc, low_degc + 1.0, 120.0)
    require_range("time_ratio", time_ratio, 1.0, 100.0)
    inverse_k = 1.0 / (low_degc + ZERO_CELSIUS_K) - 1.0 / (high_degc + ZERO_CELSIUS_K)
    return GAS_CONSTANT_J_MOL_K * math.log(time_ratio) / inverse_k * 1e-3


def _require_temperatures(*temperatures_degc: float) -> None:
    for temperature_degc in temperatures_degc:
        require_range("temperature_degc", temperature_degc, 0.0, 120.0)
