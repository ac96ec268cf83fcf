"""Rubber bonded to metal, pressed by a rigid cylinder: line contact without friction, solved exactly.

A layer is known by its compliance: how far a pressure that goes as cos(kx) along the surface pushes it in,
over how far the same would push endless rubber in. A flat layer has it as a function of k times thickness,
the cover of a round core for each whole number of waves round it. From there on both are solved alike.
Exact means linear: what finite strain makes of it is said where it was tried.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import RangeError, require_range
from moldgen.mechanics.solve import NoRootError

Array = NDArray[np.float64]

WIDEST_OVER_THICKNESS: Final = 10.0
"""Half-width over thickness; beyond it rubber is pressed harder than it stays incompressible, or survives."""

THICKEST_CORE: Final = 0.99
"""Core over outside of a cover. A thinner cover is flat but for 1 % of its indentation."""

THINNEST_CORE: Final = 0.02
"""Core over outside."""

_ENDLESS: Final = 20.0
"""Depth in units of 1/k at which the base is no longer felt: 1 - L is then 1e-14."""

_NEARLY_ENDLESS: Final = 14.0
"""Where 1 - L is 5e-10: a thin cover has hundreds of harmonics up to here, and more would tell nothing."""


@dataclass(frozen=True, slots=True)
class LayerContact:
    """A rigid cylinder pressed into a layer, per millimetre of width."""

    load_n_per_mm: float
    half_width_mm: float
    indentation_mm: float
    """How far the cylinder has come towards the bonded base since it first touched."""
    peak_pressure_mpa: float


def flat_compliance(*, waves_times_thickness: float, poisson_ratio: float = 0.5) -> float:
    """How far a wave of pressure pushes a bonded flat layer in, over how far it pushes endless rubber in.

    With x = k h, K = 3 - 4 nu: L = (2 K sinh 2x - 4x)/(2 K cosh 2x + 4 x^2 + 1 + K^2), plane strain, no
    friction on top; the surface goes in by u = 2 (1 - nu^2)/E (L/k) p. For nu = 1/2 and long waves L is
    (2/3) x^3.

    Source: derived; both displacements are zero at the base.
    Range: 1e-3 <= k h <= 20, beyond which L is 1; 0 <= nu <= 0.5. In plane stress put nu/(1 + nu) for nu.

    By hand, nu = 0.5, x = 1: (sinh 2 - 2)/(cosh 2 + 3) = 1.626860/6.762196 = 0.240582

    >>> round(flat_compliance(waves_times_thickness=1.0), 6)
    0.240582
    """
    require_range("waves_times_thickness", waves_times_thickness, 1e-3, _ENDLESS)
    require_range("poisson_ratio", poisson_ratio, 0.0, 0.5)
    return float(_flat_compliances(np.array([waves_times_thickness]), poisson_ratio)[0])


def annulus_compliance(*, waves_round: int, core_over_outside: float) -> float:
    """How far n waves of pressure round a cover push it in, over what so short a wave does to endless rubber.

    With S = ln(outside/core),
    L_n = n^2/(n^2 - 1) (sinh 2nS - n sinh 2S)/(cosh 2nS + 1 + n^2 (cosh 2S - 1)), L_1 = S/2 - tanh(2S)/4.
    The outside, radius ro, goes in by u = 3/(2 E) (ro L_n/n) p cos n theta. As S -> 0 with n S = k h kept, it
    is the flat layer.

    Source: derived. An incompressible solid in plane strain moves as slow viscous flow does; its stream
    function is r phi(ln r) sin n theta, phi made of cosh and sinh of (n + 1) ln r and (n - 1) ln r. At the
    core both displacements are zero, outside there is no shear.
    Range: nu = 1/2, plane strain; core 0.02 to 0.99 of the outside; n S <= 20, beyond it only n^2/(n^2 - 1)
    is left.

    By hand, n = 1, S = 1: 0.5 - 0.964028/4 = 0.258993

    >>> from math import exp
    >>> round(annulus_compliance(waves_round=1, core_over_outside=exp(-1.0)), 6)
    0.258993
    """
    require_range("core_over_outside", core_over_outside, THINNEST_CORE, THICKEST_CORE)
    depth = -math.log(core_over_outside)
    require_range("waves_round", waves_round, 1, _ENDLESS / depth)
    return float(_annulus_compliances(waves_round, depth)[-1])


@dataclass(frozen=True, slots=True)
class _Factors:
    """A contact without its scale; E' = E/(1 - nu^2)."""

    load: float
    """Over Hertz's load at the same half-width, pi E' a^2/(4 R)."""
    indentation: float
    """Times R/a^2."""
    peak: float
    """Peak pressure times R/(E' a)."""


@dataclass(frozen=True, slots=True)
class BondedLayer:
    """Rubber bonded to rigid metal, ready to be pressed; made by `flat_layer` or `round_cover`."""

    thickness_mm: float
    plane_modulus_mpa: float
    """E/(1 - nu^2)."""
    widest_mm: float
    """Half-width up to which contacts are solved."""
    _factors: Callable[[float, _Grid], _Factors]
    """Of the half-width in millimetres."""

    @property
    def narrowest_mm(self) -> float:
        return 1e-5 * self.thickness_mm

    def at_half_width(self, *, half_width_mm: float, relative_radius_mm: float) -> LayerContact:
        """The contact that has this half-width; 1/R = 1/R_wheel + 1/R_rubber."""
        require_range("half_width_mm", half_width_mm, self.narrowest_mm, self.widest_mm)
        require_range("relative_radius_mm", relative_radius_mm, 0.01, 1e4)
        return self._contact(half_width_mm, relative_radius_mm, self._grid_for(half_width_mm))

    def under_load(self, *, load_n_per_mm: float, relative_radius_mm: float) -> LayerContact:
        """The contact that carries this load.

        By secants of log load over log half-width, which is nearly straight, from a rough guess.
        """
        require_range("relative_radius_mm", relative_radius_mm, 0.01, 1e4)
        hertz_over_square = 0.25 * math.pi * self.plane_modulus_mpa / relative_radius_mm
        require_range("load_n_per_mm", load_n_per_mm, hertz_over_square * self.narrowest_mm**2, math.inf)
        hertz_mm = math.sqrt(load_n_per_mm / hertz_over_square)
        half_width_mm = min(hertz_mm / (1.0 + (hertz_mm / self.thickness_mm) ** 2) ** 0.24, self.widest_mm)
        grid = self._grid_for(half_width_mm)
        before: tuple[float, float] | None = None
        for _ in range(50):  # 3 to 9 are enough
            contact = self._contact(half_width_mm, relative_radius_mm, grid)
            place, excess = math.log(half_width_mm), math.log(contact.load_n_per_mm / load_n_per_mm)
            overloaded = excess < 0.0 and half_width_mm == self.widest_mm
            if overloaded or abs(excess) < 1e-9:
                finer = self._grid_for(half_width_mm)
                if finer.asked.size > grid.asked.size:  # the guess was too narrow
                    grid, before = finer, None
                    continue
                if overloaded and excess < -1e-9:
                    raise RangeError("load_n_per_mm", load_n_per_mm, 0.0, contact.load_n_per_mm)
                return contact
            if before is None:
                # The same rough fit to the incompressible flat layer, load over Hertz's (1 + (a/h)^2)^0.87.
                square = (half_width_mm / self.thickness_mm) ** 2
                slope = 2.0 + 1.74 * square / (1.0 + square)
            else:
                slope = (excess - before[1]) / (place - before[0])
            before = place, excess
            half_width_mm = min(math.exp(place - excess / slope), self.widest_mm)
        raise NoRootError(f"no half-width carries {load_n_per_mm:g} N/mm")

    def _contact(self, half_width_mm: float, relative_radius_mm: float, grid: _Grid) -> LayerContact:
        factors = self._factors(half_width_mm, grid)
        pressure_mpa = self.plane_modulus_mpa * half_width_mm / relative_radius_mm
        return LayerContact(
            load_n_per_mm=0.25 * math.pi * pressure_mpa * half_width_mm * factors.load,
            half_width_mm=half_width_mm,
            indentation_mm=half_width_mm**2 / relative_radius_mm * factors.indentation,
            peak_pressure_mpa=pressure_mpa * factors.peak,
        )

    def _grid_for(self, half_width_mm: float) -> _Grid:
        """Fine enough for contacts up to this half-width: 9 digits on a flat layer, 4 on a round cover.

        It grows in steps, so that grids can be kept; from one to the next a contact's load jumps by its
        last digits.
        """
        return _grid(6 + 2 * math.ceil(2.0 * half_width_mm / self.thickness_mm))


def flat_layer(*, thickness_mm: float, elastic_modulus_mpa: float, poisson_ratio: float = 0.5) -> BondedLayer:
    """A flat layer on a rigid base, its top free of friction, in plane strain.

    Integral of g(x - s) p(s) ds = delta - x^2/(2R) over |x| < a, p(a) = 0; g, the answer to a line load, is
    2 (1 - nu^2)/(pi E) times -ln|x| and a smooth rest (`flat_compliance`). p is sqrt(1 - (x/a)^2) times
    even Chebyshev polynomials, for which the logarithm integrates exactly; collocation.

    Source: derived; the problem is that of P. Meijers, Appl. Sci. Res. 18 (1968) 353 (from memory).
    Range: half-widths up to 10 thicknesses; small strain, so well under the wheel's radius, and
    indentations well under the thickness.

    Twenty times as thick as the contact's half-width it is nearly Hertz's half-plane, P = pi E' a^2/(4 R),
    E' = 4 E/3. By hand, E' = 4, a = 1, R = 10 pi: 0.1

    >>> contact = flat_layer(thickness_mm=20.0, elastic_modulus_mpa=3.0).at_half_width(
    ...     half_width_mm=1.0, relative_radius_mm=31.415927)
    >>> round(contact.load_n_per_mm, 3)
    0.1
    """
    require_range("thickness_mm", thickness_mm, 0.01, 1000.0)
    require_range("elastic_modulus_mpa", elastic_modulus_mpa, 0.01, 1000.0)
    require_range("poisson_ratio", poisson_ratio, 0.0, 0.5)
    return BondedLayer(
        thickness_mm=thickness_mm,
        plane_modulus_mpa=elastic_modulus_mpa / (1.0 - poisson_ratio**2),
        widest_mm=WIDEST_OVER_THICKNESS * thickness_mm,
        _factors=lambda half_width_mm, grid: _flat_factors(half_width_mm / thickness_mm, poisson_ratio, grid),
    )


def round_cover(*, outer_radius_mm: float, core_radius_mm: float, elastic_modulus_mpa: float) -> BondedLayer:
    """An incompressible cover on a rigid round core, its outside free of friction, in plane strain.

    As `flat_layer`, the answer to a line load being g = 3/(2 pi E) [-ln(2 sin(theta/2)) + sum (L_n - 1)/n
    cos(n theta)], x = ro theta (`annulus_compliance`). What L_n keeps at large n, n^2/(n^2 - 1), is summed
    in closed form, the rest dies out as exp(-2 n wall/ro).

    Source: derived. Our own finite-strain finite-element run of a 6 mm roller with a 3 mm core gave
    indentations 0.6 % below at 3 % of the wall, 2 % at 10 %, 4 % at 17 %; a flat layer is 12 to 14 % low
    there.
    Range: core 0.02 to 0.99 of the outside; half-widths up to 10 walls and to the outer radius; small strain.

    It gives more than a flat layer as thick, its free outside being longer than the core that holds it:

    >>> touch = {"half_width_mm": 0.5, "relative_radius_mm": 1.2}
    >>> cover = round_cover(outer_radius_mm=6.0, core_radius_mm=3.0, elastic_modulus_mpa=3.6)
    >>> flat = flat_layer(thickness_mm=3.0, elastic_modulus_mpa=3.6)
    >>> cover.at_half_width(**touch).load_n_per_mm < flat.at_half_width(**touch).load_n_per_mm
    True
    """
    require_range("outer_radius_mm", outer_radius_mm, 0.1, 1000.0)
    require_range("core_radius_mm", core_radius_mm, THINNEST_CORE * outer_radius_mm, THICKEST_CORE * outer_radius_mm)
    require_range("elastic_modulus_mpa", elastic_modulus_mpa, 0.01, 1000.0)
    wall_mm = outer_radius_mm - core_radius_mm
    depth = math.log(outer_radius_mm / core_radius_mm)
    compliances = _annulus_compliances(math.ceil(_NEARLY_ENDLESS / depth), depth)
    return BondedLayer(
        thickness_mm=wall_mm,
        plane_modulus_mpa=4.0 / 3.0 * elastic_modulus_mpa,
        widest_mm=min(WIDEST_OVER_THICKNESS * wall_mm, outer_radius_mm),
        _factors=lambda half_width_mm, grid: _annulus_factors(half_width_mm / outer_radius_mm, compliances, grid),
    )


def _flat_compliances(x: Array, poisson_ratio: float) -> Array:
    kolosov = 3.0 - 4.0 * poisson_ratio
    over = 2.0 * kolosov * np.sinh(2.0 * x) - 4.0 * x
    under = 2.0 * kolosov * np.cosh(2.0 * x) + 4.0 * x**2 + 1.0 + kolosov**2
    return np.asarray(over / under)


def _annulus_compliances(most_waves: int, depth: float) -> Array:
    """L_1 ... L_most."""
    n = np.arange(2.0, most_waves + 1.0)
    over = np.sinh(2.0 * n * depth) - n * math.sinh(2.0 * depth)
    under = np.cosh(2.0 * n * depth) + 1.0 + n**2 * (math.cosh(2.0 * depth) - 1.0)
    first = depth / 2.0 - math.tanh(2.0 * depth) / 4.0
    return np.concatenate(([first], n**2 / (n**2 - 1.0) * over / under))


@dataclass(frozen=True, slots=True)
class _Grid:
    """What collocation with so many terms needs and no layer changes; xi = x/a in the open half (0, 1)."""

    asked: Array
    """xi at which the surfaces must meet, one more than there are terms (the indentation is unknown too)."""
    loaded: Array
    """s/a of the quadrature, over (-1, 1)."""
    pressures: Array
    """sqrt(1 - s^2) U_2m(s) with the quadrature's weight; a row per s, a column per m."""
    half_loaded: Array
    """Those s >= 0, which are enough for what is even in s."""
    half_pressures: Array
    """Theirs and their mirror images' together."""
    logarithm: Array
    """Integral of -ln|xi - s| sqrt(1 - s^2) U_2m(s) ds; a row per xi, a column per m."""
    signs: Array
    """U_2m(0)."""


@lru_cache(maxsize=32)
def _grid(terms: int) -> _Grid:
    """Chebyshev's points: zeros of T_(2 terms + 2) to ask at, of U_(2 terms + 1) to load at, none in common.

    sqrt(1 - s^2) U_n = (T_n - T_(n+2))/(2 sqrt(1 - s^2)), and -ln|xi - s| T_n(s)/sqrt(1 - s^2) integrates
    to pi T_n(xi)/n, for n = 0 to pi ln 2 (a standard pair; Mason and Handscomb, Chebyshev Polynomials, 2003,
    from memory).
    """
    points = 2 * (terms + 1)
    order = 2.0 * np.arange(terms)
    asked_angle = (np.arange(terms + 1) + 0.5) * math.pi / points
    loaded_angle = np.arange(1, points) * math.pi / points
    sines = np.sin(loaded_angle)[:, np.newaxis]
    polynomials = np.sin(loaded_angle[:, np.newaxis] * (order + 1.0)) / sines
    cosines = np.cos(asked_angle[:, np.newaxis] * order)
    following = np.cos(asked_angle[:, np.newaxis] * (order + 2.0)) / (order + 2.0)
    divisor = np.concatenate(([1.0 / math.log(2.0)], order[1:]))
    loaded = np.cos(loaded_angle)
    pressures = polynomials * sines**2 * math.pi / points
    middle = terms  # where s = 0
    return _Grid(
        asked=np.cos(asked_angle),
        loaded=loaded,
        pressures=pressures,
        half_loaded=loaded[: middle + 1],
        half_pressures=np.concatenate((2.0 * pressures[:middle], pressures[middle : middle + 1])),
        logarithm=0.5 * math.pi * (cosines / divisor - following),
        signs=np.cos(0.5 * math.pi * order),
    )


def _waves(grid: _Grid, waves: Array, heights: Array) -> Array:
    """Integral of sum heights cos(waves (xi - s)) sqrt(1 - s^2) U_2m(s) ds; a row per xi, a column per m.

    The sines' half of the cosine of a difference meets an even pressure and leaves nothing.
    """
    asked = np.cos(grid.asked[:, np.newaxis] * waves) * heights
    loaded = np.cos(grid.half_loaded[:, np.newaxis] * waves)
    return np.asarray(asked @ (loaded.T @ grid.half_pressures))


def _collocated(grid: _Grid, rest: Array) -> _Factors:
    """Solves (2/pi) sum c_m (logarithm + rest)_m = delta R/a^2 - xi^2/2 at every point asked.

    `rest` is what the layer adds to the logarithm, integrated like it; c_m in units of E' a/R.
    """
    terms = grid.signs.size
    matrix = np.empty((terms + 1, terms + 1))
    matrix[:, :terms] = 2.0 / math.pi * (grid.logarithm + rest)
    matrix[:, terms] = -1.0
    solution = np.linalg.solve(matrix, -0.5 * grid.asked**2)
    pressures = solution[:terms]
    return _Factors(
        load=2.0 * float(pressures[0]), indentation=float(solution[terms]), peak=float(pressures @ grid.signs)
    )


@lru_cache(maxsize=32)
def _gauss_legendre(points: int) -> tuple[Array, Array]:
    """Nodes and weights of Gauss's quadrature over (-1, 1).

    The nodes are the eigenvalues of the matrix of the Legendre polynomials' recurrence, the weights twice the squares
    of its eigenvectors' first components (G. H. Golub and J. H. Welsch, Math. Comp. 23 (1969) 221). numpy has them
    too, in a package that takes longer to import than a nip takes.
    """
    n = np.arange(1.0, points)
    nodes, vectors = np.linalg.eigh(np.diag(n / np.sqrt(4.0 * n**2 - 1.0), -1))
    return nodes, 2.0 * vectors[0] ** 2


@lru_cache(maxsize=64)
def _flat_spectrum(points: int, poisson_ratio: float) -> tuple[Array, Array, float]:
    """Nodes t = k h, weights with (1 - L)/t in them, and the constant of a line load's answer.

    Integral L/t cos(ty) dt = -ln y + integral [exp(-t) - (1 - L) cos(ty)]/t dt, from 0 to infinity, since
    -ln y = integral [cos(ty) - exp(-t)]/t dt; the constant is exp(-t)/t, singular at 0 without its partner.
    """
    nodes, weights = _gauss_legendre(points)
    reach = 1.5 * _ENDLESS  # where exp(-t) is gone as well
    t = 0.5 * reach * (nodes + 1.0)
    weights = 0.5 * reach * weights / t
    heights = weights * (1.0 - _flat_compliances(t, poisson_ratio))
    felt = heights > 1e-17 * heights[0]
    return t[felt], heights[felt], float(weights @ np.exp(-t))


def _flat_factors(half_width_over_thickness: float, poisson_ratio: float, grid: _Grid) -> _Factors:
    t, weights, constant = _flat_spectrum(8 * grid.asked.size, poisson_ratio)
    waves = _waves(grid, t * half_width_over_thickness, weights)
    level = constant - math.log(half_width_over_thickness)
    return _collocated(grid, level * grid.half_pressures.sum(axis=0) - waves)


def _annulus_factors(half_angle_rad: float, compliances: Array, grid: _Grid) -> _Factors:
    """From sum cos(n theta)/n = -ln(2 sin(theta/2)) follows, for what is left of L_n at large n,

    sum over n > 1 of cos(n theta)/(n (n^2 - 1)) = (1 - cos theta) ln(2 sin(theta/2)) + (3/4) cos theta - 1/2.
    """
    n = np.arange(1.0, compliances.size + 1.0)
    at_large_n = np.concatenate(([1.0], n[1:] ** 2 / (n[1:] ** 2 - 1.0)))
    angle = half_angle_rad * np.abs(grid.asked[:, np.newaxis] - grid.loaded)
    chord = 2.0 * np.sin(0.5 * angle)
    cosine = np.cos(angle)
    closed = (1.0 - cosine) * np.log(chord) + 0.75 * cosine - 0.5
    smooth = closed - np.log(chord / angle) - math.log(half_angle_rad)
    waves = _waves(grid, half_angle_rad * n, (compliances - at_large_n) / n)
    return _collocated(grid, smooth @ grid.pressures + waves)
