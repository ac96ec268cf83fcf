"""From a durometer reading to a modulus, and from a modulus to how far a bonded pad gives under a load.

None of this deserves three digits. Two readings of one part differ by up to five points, and the curves
below, Gent, the IRHD scale and Lindley's table, differ by up to 26 % from each other between 30 and 75
points: a force or a deflection that comes from a hardness is good to a quarter, a shape is not touched by it.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Final

from moldgen.errors import require_range
from moldgen.mechanics.solve import root

GENT_USABLE_SHORE_A: Final = (20.0, 80.0)
"""Hardnesses between which Gent's formula describes real rubber; it can be evaluated a little further."""

GENT_SHORE_A: Final = (0.0, 95.0)
"""Hardnesses for which Gent's formula is evaluated at all; at 100 it runs to infinity."""


def gent_modulus_mpa(*, hardness_shore_a: float) -> float:
    """Young's modulus of rubber from its Shore A hardness, in MPa.

    E = 0.0981 (56 + 7.62336 S)/[0.137505 (254 - 2.54 S)]: the durometer's spring over the elastic indentation
    by a flat punch as wide as its blunt cone is on average.

    Source: A. N. Gent, Rubber Chem. Technol. 31 (1958) 896, as commonly given.
    Range: computed for 0 <= S <= 95; of use for 20 <= S <= 80, `GENT_USABLE_SHORE_A`.

    By hand, S = 50: 0.0981 * 437.168 / (0.137505 * 127) = 42.88618/17.46314 = 2.4558

    >>> round(gent_modulus_mpa(hardness_shore_a=50.0), 4)
    2.4558
    """
    require_range("hardness_shore_a", hardness_shore_a, *GENT_SHORE_A)
    return 0.0981 * (56.0 + 7.62336 * hardness_shore_a) / (0.137505 * (254.0 - 2.54 * hardness_shore_a))


def gent_hardness_shore_a(*, youngs_modulus_mpa: float) -> float:
    """The Shore A hardness that rubber of this modulus would show; `gent_modulus_mpa` solved for S.

    S = (0.137505 * 254 E - 0.0981 * 56)/(0.0981 * 7.62336 + 0.137505 * 2.54 E)

    Source and range: as `gent_modulus_mpa`, 0.158 to 43.8 MPa.

    By hand, E = 1: (34.92627 - 5.4936)/(0.747852 + 0.349263) = 29.43267/1.097115 = 26.827

    >>> round(gent_hardness_shore_a(youngs_modulus_mpa=1.0), 3)
    26.827
    """
    least, most = (gent_modulus_mpa(hardness_shore_a=end) for end in GENT_SHORE_A)
    require_range("youngs_modulus_mpa", youngs_modulus_mpa, least, most)
    return (0.137505 * 254.0 * youngs_modulus_mpa - 0.0981 * 56.0) / (
        0.0981 * 7.62336 + 0.137505 * 2.54 * youngs_modulus_mpa
    )


_IRHD_LOG10_E_AT_50: Final = 0.364
_IRHD_POINTS_PER_DECADE_AT_50: Final = 57.0
_IRHD_SPREAD_DECADES: Final = 100.0 / (_IRHD_POINTS_PER_DECADE_AT_50 * math.sqrt(2.0 * math.pi))
"""Standard deviation of the normal curve whose steepest slope is 57 points per decade of modulus: 0.6999."""


def irhd(*, youngs_modulus_mpa: float) -> float:
    """Hardness in international rubber hardness degrees: a normal distribution curve over log10 E.

    H = 100 Phi[(log10 E - 0.364)/0.6999], E in MPa.

    Source: the definition of the IRHD scale in ISO 48 (now ISO 48-2), its two constants from memory.
    Range: 0.3 to 30 MPa; for well elastic rubber about Shore A between 30 and 85 (from memory).

    By hand, E = 10^0.364 = 2.312: Phi(0) = 1/2, H = 50

    >>> round(irhd(youngs_modulus_mpa=10.0**0.364), 9)
    50.0
    """
    require_range("youngs_modulus_mpa", youngs_modulus_mpa, 0.3, 30.0)
    deviation = (math.log10(youngs_modulus_mpa) - _IRHD_LOG10_E_AT_50) / _IRHD_SPREAD_DECADES
    return 50.0 * math.erfc(-deviation / math.sqrt(2.0))


def modulus_from_irhd_mpa(*, hardness_irhd: float) -> float:
    """Young's modulus from hardness in IRHD; `irhd` solved for E.

    Source: as `irhd`.
    Range: 15 to 90 IRHD.

    By hand: 50 IRHD is 10^0.364 = 2.312 MPa

    >>> round(modulus_from_irhd_mpa(hardness_irhd=50.0), 3)
    2.312
    """
    require_range("hardness_irhd", hardness_irhd, 15.0, 90.0)
    return root(lambda e_mpa: irhd(youngs_modulus_mpa=e_mpa) - hardness_irhd, 0.3, 30.0)


@dataclass(frozen=True, slots=True)
class LindleyRubber:
    """Natural rubber of one hardness by Lindley's table: gum up to 48 IRHD or so, carbon black above."""

    hardness_irhd: float
    youngs_modulus_mpa: float
    shear_modulus_mpa: float
    """Less than a third of the modulus from 50 IRHD on: filler breaks E = 3 G."""
    shape_constant: float
    """The k of `bonded_modulus_mpa`."""
    bulk_modulus_mpa: float


_LINDLEY: Final = tuple(
    LindleyRubber(*row)
    for row in (
        (30.0, 0.92, 0.30, 0.93, 1000.0),
        (35.0, 1.18, 0.37, 0.89, 1000.0),
        (40.0, 1.50, 0.45, 0.85, 1000.0),
        (45.0, 1.80, 0.54, 0.80, 1000.0),
        (50.0, 2.20, 0.64, 0.73, 1030.0),
        (55.0, 3.25, 0.81, 0.64, 1090.0),
        (60.0, 4.45, 1.06, 0.57, 1150.0),
        (65.0, 5.85, 1.37, 0.54, 1210.0),
        (70.0, 7.35, 1.73, 0.53, 1270.0),
        (75.0, 9.40, 2.22, 0.52, 1330.0),
    )
)


def lindley_rubber(*, hardness_irhd: float) -> LindleyRubber:
    """Moduli and shape constant of natural rubber of a hardness, between the table's rows in proportion.

    Source: P. B. Lindley, Engineering Design with Natural Rubber, 4th ed., 1978, from memory and not
    re-verified.
    Range: 30 to 75 IRHD. Other rubbers of that hardness: the shape constant at best.

    By hand, half-way between 50 and 55: k = (0.73 + 0.64)/2 = 0.685

    >>> round(lindley_rubber(hardness_irhd=52.5).shape_constant, 9)
    0.685
    """
    require_range("hardness_irhd", hardness_irhd, _LINDLEY[0].hardness_irhd, _LINDLEY[-1].hardness_irhd)
    upper = bisect_right(_LINDLEY, hardness_irhd, key=lambda row: row.hardness_irhd)
    softer, harder = _LINDLEY[upper - 1], _LINDLEY[min(upper, len(_LINDLEY) - 1)]
    if softer is harder:
        return softer
    share = (hardness_irhd - softer.hardness_irhd) / (harder.hardness_irhd - softer.hardness_irhd)

    def between(low: float, high: float) -> float:
        return low + share * (high - low)

    return LindleyRubber(
        hardness_irhd,
        between(softer.youngs_modulus_mpa, harder.youngs_modulus_mpa),
        between(softer.shear_modulus_mpa, harder.shear_modulus_mpa),
        between(softer.shape_constant, harder.shape_constant),
        between(softer.bulk_modulus_mpa, harder.bulk_modulus_mpa),
    )


def shape_factor(*, loaded_area_mm2: float, free_area_mm2: float) -> float:
    """Loaded area, one face, over the area that is free to bulge: the S of `bonded_modulus_mpa`.

    That is D/(4 t) for a disc, a b/[2 t (a + b)] for a rectangle, (Do - Di)/(4 t) for a ring free on both
    sides.

    Source: A. N. Gent and P. B. Lindley, Proc. IMechE 173 (1959) 111, as commonly given.
    Range: any.

    By hand, a square of 20 mm, 5 mm thick: 400/(4 * 20 * 5) = 1

    >>> shape_factor(loaded_area_mm2=400.0, free_area_mm2=400.0)
    1.0
    """
    require_range("loaded_area_mm2", loaded_area_mm2, 0.0, math.inf)
    require_range("free_area_mm2", free_area_mm2, math.ulp(0.0), math.inf)
    return loaded_area_mm2 / free_area_mm2


def bonded_modulus_mpa(*, youngs_modulus_mpa: float, shape_factor: float, shape_constant: float = 1.0) -> float:
    """Apparent modulus of a pad between bonded faces, Ec = E (1 + 2 k S^2), of a disc or nearly a square.

    k is 1 for a gum and less for a filled rubber, see `lindley_rubber`.

    Source: A. N. Gent and P. B. Lindley, Proc. IMechE 173 (1959) 111, as given in P. B. Lindley, Engineering
    Design with Natural Rubber, 4th ed., 1978.
    Range: 0 <= S <= 20. With k = 1 it is 6 % below our own finite-element run at S = 0.25 and 1 %
    above it at S = 1.

    By hand: 2.2 * (1 + 2 * 0.73 * 1.25^2) = 2.2 * 3.28125 = 7.21875

    >>> round(bonded_modulus_mpa(youngs_modulus_mpa=2.2, shape_factor=1.25, shape_constant=0.73), 5)
    7.21875
    """
    _require_pad(youngs_modulus_mpa, shape_factor, shape_constant)
    return youngs_modulus_mpa * (1.0 + 2.0 * shape_constant * shape_factor**2)


def bonded_strip_modulus_mpa(*, youngs_modulus_mpa: float, shape_factor: float, shape_constant: float = 1.0) -> float:
    """Apparent modulus of a long strip between bonded faces, Ec = (4/3) E (1 + k S^2), S = width/(2 t).

    Source: as `bonded_modulus_mpa`. A long strip cannot get longer, hence E/(1 - nu^2) = 4/3 E.
    Range: 0 <= S <= 20, length over five times the width (our own judgement).

    By hand: 4/3 * 3 * (1 + 0.5 * 2^2) = 12

    >>> round(bonded_strip_modulus_mpa(youngs_modulus_mpa=3.0, shape_factor=2.0, shape_constant=0.5), 9)
    12.0
    """
    _require_pad(youngs_modulus_mpa, shape_factor, shape_constant)
    return 4.0 / 3.0 * youngs_modulus_mpa * (1.0 + shape_constant * shape_factor**2)


def with_bulk_mpa(*, apparent_modulus_mpa: float, bulk_modulus_mpa: float) -> float:
    """The apparent modulus of a pad whose rubber also gives in volume: 1/(1/Ec + 1/K).

    Matters only for thin wide pads: rubber's K is about 1000 to 1300 MPa.

    Source: Gent and Lindley 1959, as given in Strojniški vestnik - J. Mech. Eng. 60 (2014) 506.
    Range: positive moduli.

    By hand: 1/(1/1000 + 1/1000) = 500

    >>> round(with_bulk_mpa(apparent_modulus_mpa=1000.0, bulk_modulus_mpa=1000.0), 9)
    500.0
    """
    require_range("apparent_modulus_mpa", apparent_modulus_mpa, math.ulp(0.0), math.inf)
    require_range("bulk_modulus_mpa", bulk_modulus_mpa, math.ulp(0.0), math.inf)
    return apparent_modulus_mpa * bulk_modulus_mpa / (apparent_modulus_mpa + bulk_modulus_mpa)


MOST_PAD_COMPRESSION: Final = 0.2
"""Deflection over thickness; at this our own finite-element run finds a disc of S = 1 already 8 % stiffer."""


def pad_force_n(
    *, apparent_modulus_mpa: float, loaded_area_mm2: float, thickness_mm: float, deflection_mm: float
) -> float:
    """The load that a bonded pad bears when pressed by `deflection_mm`: F = A (Ec/3)(L^-2 - L), L = 1 - x/t.

    Source: simple compression of a neo-Hookean solid with Ec in place of E, as given in P. B. Lindley,
    Engineering Design with Natural Rubber, 4th ed., 1978.
    Range: compression up to 20 %. At 10 % our own finite-element run is 6 % above it for a disc of S = 0.25,
    3 % for S = 1; flat pads stiffen more than this at 20 %.

    By hand, L = 0.9: 100 * (3/3) * (1/0.81 - 0.9) = 33.4568

    >>> round(pad_force_n(apparent_modulus_mpa=3.0, loaded_area_mm2=100.0, thickness_mm=10.0,
    ...                   deflection_mm=1.0), 4)
    33.4568
    """
    require_range("thickness_mm", thickness_mm, 0.1, 1000.0)
    compression = deflection_mm / thickness_mm
    require_range("compression", compression, 0.0, MOST_PAD_COMPRESSION)
    return loaded_area_mm2 * apparent_modulus_mpa * _pad_stress(compression)


def pad_deflection_mm(
    *, apparent_modulus_mpa: float, loaded_area_mm2: float, thickness_mm: float, force_n: float
) -> float:
    """How far a bonded pad gives under a load; `pad_force_n` solved for the deflection.

    Source and range: as `pad_force_n`; a load beyond 20 % is refused.

    By hand, the pad above: 33.4568 N press it by 1 mm

    >>> round(pad_deflection_mm(apparent_modulus_mpa=3.0, loaded_area_mm2=100.0, thickness_mm=10.0,
    ...                         force_n=33.4568), 5)
    1.0
    """
    require_range("thickness_mm", thickness_mm, 0.1, 1000.0)
    unit_n = loaded_area_mm2 * apparent_modulus_mpa
    require_range("force_n", force_n, 0.0, unit_n * _pad_stress(MOST_PAD_COMPRESSION))
    return thickness_mm * root(lambda x: unit_n * _pad_stress(x) - force_n, 0.0, MOST_PAD_COMPRESSION)


def _pad_stress(compression: float) -> float:
    """Pressure on the unpressed area over the apparent modulus."""
    length_ratio = 1.0 - compression
    return (length_ratio**-2 - length_ratio) / 3.0


def _require_pad(youngs_modulus_mpa: float, shape_factor: float, shape_constant: float) -> None:
    require_range("youngs_modulus_mpa", youngs_modulus_mpa, 0.01, 100.0)
    require_range("shape_factor", shape_factor, 0.0, 20.0)
    require_range("shape_constant", shape_constant, 0.4, 1.0)
