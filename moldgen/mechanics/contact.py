"""The nip: how wide, how deep and how hard a metal wheel presses into a rubber roller.

`nip` is the best estimate. The closed forms beside it are its two ends, rubber without a floor (Hertz) and
a film of rubber on metal. Real rollers lie near the first, and the second is off by factors there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

from moldgen.errors import require_range
from moldgen.mechanics.layer import THICKEST_CORE, BondedLayer, LayerContact, flat_layer, round_cover
from moldgen.mechanics.solve import root

WIDEST_OVER_WHEEL: Final = 0.5
"""Half-width over the wheel's radius up to which a parabola stands for the wheel."""

DEEPEST_OVER_WALL: Final = 0.2
"""Indentation over the wall up to which small strain was seen to hold (4 % in our own finite-element run)."""


def relative_radius_mm(*, radius_mm: float, other_radius_mm: float) -> float:
    """The radius of the cylinder that leaves the same gap over a plane: 1/R = 1/R1 + 1/R2.

    Source: geometry, as K. L. Johnson, Contact Mechanics, 1985, ch. 4 (from memory).
    Range: both round outwards; the other may be a plane, infinity.

    By hand, 1.5 on 6: 1.5 * 6/7.5 = 1.2

    >>> round(relative_radius_mm(radius_mm=1.5, other_radius_mm=6.0), 12)
    1.2
    """
    require_range("radius_mm", radius_mm, 0.01, 1e4)
    require_range("other_radius_mm", other_radius_mm, 0.01, math.inf)
    return 1.0 / (1.0 / radius_mm + 1.0 / other_radius_mm)


@dataclass(frozen=True, slots=True)
class HertzContact:
    """Two cylinders pressed together; how near they come depends on what holds them, so it is not here."""

    half_width_mm: float
    peak_pressure_mpa: float


def hertz_line_contact(
    *,
    load_n_per_mm: float,
    relative_radius_mm: float,
    elastic_modulus_mpa: float,
    poisson_ratio: float,
    other_elastic_modulus_mpa: float = math.inf,
    other_poisson_ratio: float = 0.0,
) -> HertzContact:
    """Half-width and peak pressure between two solid cylinders; the other is rigid unless it is given.

    a^2 = 4 P R/(pi E*), p0 = 2 P/(pi a), 1/E* = (1 - nu1^2)/E1 + (1 - nu2^2)/E2; the mean pressure is pi/4
    of the peak.

    Source: H. Hertz; as printed, with diameters, in S. S. Rao, Engineering Optimization, 4th ed., prob. 5.5.
    Range: half-width well under either radius. Rubber 5 half-widths thick carries 4 % more, thinner far more.

    By hand, P = pi, R = 3, E = 3, nu = 0.5: E* = 4, a^2 = 4 pi 3/(4 pi) = 3, p0 = 2 pi/(1.73205 pi) = 1.1547

    >>> from math import pi
    >>> contact = hertz_line_contact(
    ...     load_n_per_mm=pi, relative_radius_mm=3.0, elastic_modulus_mpa=3.0, poisson_ratio=0.5)
    >>> round(contact.half_width_mm**2, 9), round(contact.peak_pressure_mpa, 4)
    (3.0, 1.1547)
    """
    require_range("load_n_per_mm", load_n_per_mm, 1e-9, 1e6)
    require_range("relative_radius_mm", relative_radius_mm, 0.005, 1e6)
    require_range("elastic_modulus_mpa", elastic_modulus_mpa, 0.03, 1e6)
    require_range("other_elastic_modulus_mpa", other_elastic_modulus_mpa, 0.03, math.inf)
    require_range("poisson_ratio", poisson_ratio, 0.0, 0.5)
    require_range("other_poisson_ratio", other_poisson_ratio, 0.0, 0.5)
    compliance = (1.0 - poisson_ratio**2) / elastic_modulus_mpa
    compliance += (1.0 - other_poisson_ratio**2) / other_elastic_modulus_mpa
    half_width_mm = math.sqrt(4.0 * load_n_per_mm * relative_radius_mm * compliance / math.pi)
    return HertzContact(half_width_mm, 2.0 * load_n_per_mm / (math.pi * half_width_mm))


def sliding_film(
    *, load_n_per_mm: float, relative_radius_mm: float, thickness_mm: float, elastic_modulus_mpa: float
) -> LayerContact:
    """The limit of a very thin incompressible layer, bonded below, free to slide under the wheel.

    Rubber is squeezed sideways like a viscous film: h^3/(3 G) p'' = -(delta - x^2/(2R)), p = p' = 0 at the
    edges; with E = 3 G: P = 2 E a^5/(45 R h^3), delta = a^2/(6 R), p0 = E a^4/(24 R h^3) = 15 P/(16 a).

    Source: K. L. Johnson, Contact Mechanics, 1985, section 5.8 (from memory), derived again.
    Range: a limit to check others by, not a nip formula: at half-widths of 1, 5, 20 thicknesses the layer
    carries 45, 3.4, 1.4 times the load given here, and real nips have 0.1 to 1.

    By hand, P = 64, R = 45, h = 1, E = 45: a^5 = 45 * 45 * 64/(2 * 45) = 1440, a = 4.2823, delta =
    18.338/270 = 0.0679

    >>> film = sliding_film(
    ...     load_n_per_mm=64.0, relative_radius_mm=45.0, thickness_mm=1.0, elastic_modulus_mpa=45.0)
    >>> round(film.half_width_mm**5, 6), round(film.indentation_mm, 4)
    (1440.0, 0.0679)
    """
    require_range("load_n_per_mm", load_n_per_mm, 1e-9, 1e6)
    require_range("relative_radius_mm", relative_radius_mm, 0.005, 1e6)
    require_range("thickness_mm", thickness_mm, 0.01, 1000.0)
    require_range("elastic_modulus_mpa", elastic_modulus_mpa, 0.01, 1000.0)
    fifth_power = 22.5 * load_n_per_mm * relative_radius_mm * thickness_mm**3 / elastic_modulus_mpa
    half_width_mm = fifth_power**0.2
    return LayerContact(
        load_n_per_mm=load_n_per_mm,
        half_width_mm=half_width_mm,
        indentation_mm=half_width_mm**2 / (6.0 * relative_radius_mm),
        peak_pressure_mpa=15.0 * load_n_per_mm / (16.0 * half_width_mm),
    )


def stuck_film(
    *, load_n_per_mm: float, relative_radius_mm: float, thickness_mm: float, elastic_modulus_mpa: float
) -> LayerContact:
    """The same limit with rubber that cannot slide under the wheel: P = 8 E a^5/(45 R h^3).

    Held on both faces the film flows as h^3/12 instead of h^3/3, and four times the load makes the same
    contact. So full friction matters most for thin layers. For endless incompressible rubber it makes no
    difference at all, since pressure then moves the surface only up and down.

    Source and range: as `sliding_film`.

    By hand, as there with a quarter of the E: the same a^5 = 1440

    >>> film = stuck_film(
    ...     load_n_per_mm=64.0, relative_radius_mm=45.0, thickness_mm=1.0, elastic_modulus_mpa=11.25)
    >>> round(film.half_width_mm**5, 6)
    1440.0
    """
    # A quarter of the load on a sliding film makes the same half-width.
    sliding = sliding_film(
        load_n_per_mm=load_n_per_mm / 4.0,
        relative_radius_mm=relative_radius_mm,
        thickness_mm=thickness_mm,
        elastic_modulus_mpa=elastic_modulus_mpa,
    )
    return replace(sliding, load_n_per_mm=load_n_per_mm, peak_pressure_mpa=4.0 * sliding.peak_pressure_mpa)


@dataclass(frozen=True, slots=True)
class StripIndentation:
    """How deep a strip of rubber of some width is pressed in, and its two bounds."""

    plane_strain_mm: float
    """Endlessly wide."""
    plane_stress_mm: float
    """A thin sheet on edge."""
    indentation_mm: float

    @property
    def width_factor(self) -> float:
        """What free sides make of the indentation of endlessly wide rubber."""
        return self.indentation_mm / self.plane_strain_mm


def strip_indentation(
    *,
    load_n_per_mm: float,
    relative_radius_mm: float,
    thickness_mm: float,
    width_mm: float,
    elastic_modulus_mpa: float,
) -> StripIndentation:
    """Indentation of a flat bonded strip whose sides are free to bulge, loaded across its whole width.

    delta = delta_strain + exp(-w/(3.3 h)) (delta_stress - delta_strain); plane stress is plane strain with
    nu = 1/3 and E' = E in place of nu = 1/2 and E' = 4 E/3.

    Source: the blend is our own fit. Our own three-dimensional finite-element runs, w/h 1 to 6, are up to
    4 % above it. In them the half-width, averaged over the width, is only 0.5 to 4 % above plane strain's;
    mid-width, which carries more than its share, it is 5 to 7 % wider and the pressure 5 to 8 % higher.
    Range: incompressible, no friction; half-width up to 10 thicknesses even in plane stress.

    The sides of a very wide strip do not count:

    >>> strip = strip_indentation(
    ...     load_n_per_mm=0.6, relative_radius_mm=1.2, thickness_mm=3.0, width_mm=100.0,
    ...     elastic_modulus_mpa=3.6)
    >>> round(strip.width_factor, 4)
    1.0
    """
    require_range("width_mm", width_mm, 0.1, 1000.0)
    strain_mm, stress_mm = (
        layer.under_load(load_n_per_mm=load_n_per_mm, relative_radius_mm=relative_radius_mm).indentation_mm
        for layer in (
            flat_layer(thickness_mm=thickness_mm, elastic_modulus_mpa=elastic_modulus_mpa),
            _sheet_on_edge(thickness_mm, elastic_modulus_mpa),
        )
    )
    share = math.exp(-width_mm / (3.3 * thickness_mm))
    return StripIndentation(strain_mm, stress_mm, strain_mm + share * (stress_mm - strain_mm))


def _sheet_on_edge(thickness_mm: float, elastic_modulus_mpa: float) -> BondedLayer:
    """Plane stress as plane strain: nu/(1 + nu) for nu = 1/2, and E (1 + 2 nu)/(1 + nu)^2 for E."""
    return flat_layer(
        thickness_mm=thickness_mm,
        elastic_modulus_mpa=8.0 / 9.0 * elastic_modulus_mpa,
        poisson_ratio=1.0 / 3.0,
    )


@dataclass(frozen=True, slots=True)
class Nip:
    """What a rigid wheel makes of a rubber roller; the best estimate there is here."""

    press_force_n: float
    half_width_mm: float
    indentation_mm: float
    peak_pressure_mpa: float
    width_factor: float
    """What the free sides add to the indentation, already in it."""
    model: Literal["cover on its core", "flat layer"]
    doubts: tuple[str, ...]
    """What is outside the range that the formulas were compared in; empty when all is well."""

    @property
    def nip_width_mm(self) -> float:
        """Along the surface, from where the wheel touches to where it leaves."""
        return 2.0 * self.half_width_mm


def nip(
    *,
    press_force_n: float,
    wheel_radius_mm: float,
    outer_radius_mm: float,
    core_radius_mm: float,
    width_mm: float,
    elastic_modulus_mpa: float,
) -> Nip:
    """The nip of a rigid wheel on a cover bonded to a rigid core, over `width_mm` of rubber with free sides.

    Half-width and peak pressure are those of the cover in plane strain (`round_cover`; with a wall below 1 %
    of the radius, `flat_layer`), the indentation is the cover's times the `width_factor` of a flat strip.

    Source: derived. Core and width were each compared with finite elements (`round_cover`,
    `strip_indentation`), their product was not. A modulus from hardness leaves pressures uncertain by 20 %.
    Range: half-width up to half the wheel's radius, indentation up to a fifth of the wall, else a doubt is
    attached. Refused where the half-width is beyond the roller's radius or 10 walls, in plane stress too.

    Friction: none. Rubber that cannot slide at all under the wheel is pressed in less, by 6 % at a half-width
    of 0.1 walls, 9 % at 0.3, 13 % at 0.5, and its half-width by 1 % at most (flat layer whose compliance is
    (sinh^2 x - x^2)/(sinh x cosh x + x)). Not modelled: the surface is stretched in the nip, by 4 % at an
    indentation of 7 % of the wall in our own finite-element run, so that a train driven by rubber runs a per
    cent or two off the ratio of its diameters.

    A very thick cover is Hertz's half-plane. By hand, P = pi/100, R = 1/(1/10.52632 + 1/200) = 10, E' = 4:
    a^2 = 4 P R/(pi E') = 0.1

    >>> contact = nip(press_force_n=3.141593, wheel_radius_mm=10.52632, outer_radius_mm=200.0,
    ...               core_radius_mm=100.0, width_mm=100.0, elastic_modulus_mpa=3.0)
    >>> round(contact.half_width_mm**2, 3), contact.model, contact.doubts
    (0.1, 'cover on its core', ())
    """
    require_range("press_force_n", press_force_n, 1e-6, 1e6)
    roller = _roller(wheel_radius_mm, outer_radius_mm, core_radius_mm, width_mm, elastic_modulus_mpa)
    return roller.nip(press_force_n / width_mm)


def press_force_for_nip_width_n(
    *,
    nip_width_mm: float,
    wheel_radius_mm: float,
    outer_radius_mm: float,
    core_radius_mm: float,
    width_mm: float,
    elastic_modulus_mpa: float,
) -> float:
    """The press force that makes a nip this long in the running direction; `nip` undone, with its range."""
    roller = _roller(wheel_radius_mm, outer_radius_mm, core_radius_mm, width_mm, elastic_modulus_mpa)
    require_range("nip_width_mm", nip_width_mm, 2.0 * roller.cover.narrowest_mm, 2.0 * roller.cover.widest_mm)
    return roller.load_n_per_mm(roller.cover, 0.5 * nip_width_mm) * width_mm


def press_force_for_indentation_n(
    *,
    indentation_mm: float,
    wheel_radius_mm: float,
    outer_radius_mm: float,
    core_radius_mm: float,
    width_mm: float,
    elastic_modulus_mpa: float,
) -> float:
    """The press force that brings the wheel this much nearer to the core; `nip` undone, with its range."""
    roller = _roller(wheel_radius_mm, outer_radius_mm, core_radius_mm, width_mm, elastic_modulus_mpa)

    def indentation_at_mm(log_load: float) -> float:
        return roller.nip(math.exp(log_load)).indentation_mm

    sheet = _sheet_on_edge(roller.cover.thickness_mm, elastic_modulus_mpa)
    # A hair inside the range, which exp(log()) might otherwise leave by its last digit.
    least = math.log(1.01 * roller.load_n_per_mm(roller.cover, 2.0 * roller.cover.narrowest_mm))
    most = math.log(0.99 * min(roller.load_n_per_mm(layer, layer.widest_mm) for layer in (roller.cover, sheet)))
    require_range("indentation_mm", indentation_mm, indentation_at_mm(least), indentation_at_mm(most))
    log_load = root(lambda place: math.log(indentation_at_mm(place) / indentation_mm), least, most, tolerance=1e-9)
    return math.exp(log_load) * width_mm


@dataclass(frozen=True, slots=True)
class _Roller:
    """A wheel and the roller it is pressed on."""

    wheel_radius_mm: float
    relative_radius_mm: float
    width_mm: float
    elastic_modulus_mpa: float
    cover: BondedLayer
    model: Literal["cover on its core", "flat layer"]

    def load_n_per_mm(self, layer: BondedLayer, half_width_mm: float) -> float:
        return layer.at_half_width(
            half_width_mm=half_width_mm, relative_radius_mm=self.relative_radius_mm
        ).load_n_per_mm

    def nip(self, load_n_per_mm: float) -> Nip:
        """The plane contact, its indentation corrected for the width."""
        contact = self.cover.under_load(load_n_per_mm=load_n_per_mm, relative_radius_mm=self.relative_radius_mm)
        factor = strip_indentation(
            load_n_per_mm=load_n_per_mm,
            relative_radius_mm=self.relative_radius_mm,
            thickness_mm=self.cover.thickness_mm,
            width_mm=self.width_mm,
            elastic_modulus_mpa=self.elastic_modulus_mpa,
        ).width_factor
        indentation_mm = factor * contact.indentation_mm
        return Nip(
            press_force_n=load_n_per_mm * self.width_mm,
            half_width_mm=contact.half_width_mm,
            indentation_mm=indentation_mm,
            peak_pressure_mpa=contact.peak_pressure_mpa,
            width_factor=factor,
            model=self.model,
            doubts=tuple(self._doubts(contact.half_width_mm, indentation_mm)),
        )

    def _doubts(self, half_width_mm: float, indentation_mm: float) -> Iterator[str]:
        if half_width_mm > WIDEST_OVER_WHEEL * self.wheel_radius_mm:
            yield f"the nip's half-width is {half_width_mm / self.wheel_radius_mm:.2f} of the wheel's radius"
        if indentation_mm > DEEPEST_OVER_WALL * self.cover.thickness_mm:
            yield f"the rubber is pressed in by {indentation_mm / self.cover.thickness_mm:.2f} of its wall"
        if self.width_mm < self.cover.thickness_mm:
            yield "the rubber is narrower than its wall is thick"


def _roller(
    wheel_radius_mm: float,
    outer_radius_mm: float,
    core_radius_mm: float,
    width_mm: float,
    elastic_modulus_mpa: float,
) -> _Roller:
    require_range("width_mm", width_mm, 0.1, 1000.0)
    is_cover = core_radius_mm <= THICKEST_CORE * outer_radius_mm
    return _Roller(
        wheel_radius_mm=wheel_radius_mm,
        relative_radius_mm=relative_radius_mm(radius_mm=wheel_radius_mm, other_radius_mm=outer_radius_mm),
        width_mm=width_mm,
        elastic_modulus_mpa=elastic_modulus_mpa,
        cover=round_cover(
            outer_radius_mm=outer_radius_mm,
            core_radius_mm=core_radius_mm,
            elastic_modulus_mpa=elastic_modulus_mpa,
        )
        if is_cover
        else flat_layer(thickness_mm=outer_radius_mm - core_radius_mm, elastic_modulus_mpa=elastic_modulus_mpa),
        model="cover on its core" if is_cover else "flat layer",
    )
