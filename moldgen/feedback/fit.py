"""From measured castings to what printer and rubber really do: shrinkage, scale and wall offset, fitted together.

One model for every reading. The printer makes of a length M of the cavity

    printed = k (M/k0 + w (d - d0))        flat on the bed, w walls that stand proud: -2 over an outside, +2 over a bore
    printed = M + (z - z0)                 upright

where k0, d0, z0 are what the mold was already compensated for, and the rubber makes of that (1 - s) of it, or less on
metal that it cannot shrink along. Weighted least squares finds s, k, d and z. What the readings themselves tell is
taken from them alone; the design's own figure and its doubt come in only for what they cannot tell, and then say so.

The fit is four unknowns and nearly linear, so it is done here in plain numbers: a numerical library would take longer
to load than all of the command. The tests hold it against one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Final, Literal, TypeAlias

from moldgen.case import Case
from moldgen.families.base import Sizes
from moldgen.feedback.castings import COUPON, Castings, Over, Reading
from moldgen.mechanics.shrinkage import cover_radius_change_mm
from moldgen.mechanics.stretch import MOST_STRETCH, FreeRing, fitted_ring
from moldgen.quantities import Estimate
from moldgen.uncertainty import COVERAGE_95

Name = Literal["linear_shrinkage", "print_scale", "print_offset_mm", "print_z_offset_mm"]
NAMES: Final[tuple[Name, ...]] = ("linear_shrinkage", "print_scale", "print_offset_mm", "print_z_offset_mm")
Values: TypeAlias = tuple[float, float, float, float]
"""One number for each of NAMES."""
Matrix: TypeAlias = list[list[float]]

# How far a design's figure may lie off where it came without ±: half-widths. Public guides for filament printing
# state 0.2 to 0.5 mm or up to 1 % and bores 0.1 to 0.3 mm too small (from memory); the rest is judgement.
UNSURE: Final[Values] = (0.001, 0.005, 0.15, 0.2)

KNOWN: Final = 0.5
"""A figure is known from the readings if they alone leave it less than this share of the design's own doubt."""

OUTLIER_SIGMAS: Final = 3.5
"""A reading this far from what the others say is left out: one sound reading in 2000 is."""
LEAST_CHECKED: Final = 0.1
"""Share of a reading's variance that the others must be able to check before it can be called an outlier."""
MOST_OUTLIERS: Final = 0.25

CHI2_95: Final = (3.841, 5.991, 7.815, 9.488)
"""Chi-square exceeded by chance once in 20 times, for 1 to 4 degrees of freedom (any statistical table)."""

WALLS: Final[dict[Over, float]] = {"outside": -2.0, "inside": 2.0, "one_wall": -1.0, "middle": 0.0, "height": 0.0}
"""Walls of plastic by which a proud print makes a length longer."""


@dataclass(frozen=True)
class Design:
    """What was built, and what it was built for."""

    sizes: Sizes
    figures: Values
    doubts: Values
    """Standard uncertainties of the figures."""
    hole_offset_mm: float
    boss_offset_mm: float
    cast_on: bool
    flanged: bool
    pockets: int = 1
    """Halves of the mold that a part's height lies in: each prints deeper by the z offset."""


def design_of(case: Case) -> Design:
    """The design that a case stands for."""
    printer, shrinkage = case.printer, case.given.elastomer.linear_shrinkage
    hole, boss, z = printer.hole_offset_mm, printer.boss_offset_mm, printer.z_offset_mm
    given = (shrinkage, printer.xy_scale, Estimate(0.5 * (hole + boss), u=0.5 * (hole.u + boss.u)), z)
    return Design(
        sizes=case.family.size(case.given),
        figures=_values(float(figure) for figure in given),
        doubts=_values(e.u if e.u > 0.0 else unsure / math.sqrt(3.0) for e, unsure in zip(given, UNSURE, strict=True)),
        hole_offset_mm=float(hole),
        boss_offset_mm=float(boss),
        cast_on=case.family.insert(case.given) is not None,
        flanged=bool(getattr(case.given.measured, "flanged", False)),
    )


def with_coupon(design: Design, coupon_mm: Mapping[str, float]) -> Design:
    """The design with a calibration coupon's lengths among its own: printed like the mold, cast of the same rubber."""
    sizes, kept = design.sizes, 1.0 - design.figures[0]
    free = {**sizes.free, **{name: kept * mm for name, mm in coupon_mm.items()}}
    return replace(design, sizes=replace(sizes, free=free, mold={**sizes.mold, **coupon_mm}))


def _values(numbers: Iterator[float]) -> Values:
    first, second, third, fourth = numbers
    return first, second, third, fourth


# --- what a reading ought to be --------------------------------------------------------------------------------------


def printed_mm(design: Design, dimension: str, over: Over, figures: Values) -> float:
    """What the printer makes of a dimension of the cavity.

    At the figures it was designed for this is the mold's dimension itself.
    """
    _, scale, offset_mm, z_mm = figures
    _, scale_0, offset_0_mm, z_0_mm = design.figures
    mold_mm = design.sizes.mold[dimension]
    if over == "height":
        pockets = 1 if dimension.startswith(COUPON) else design.pockets
        return mold_mm + pockets * (z_mm - z_0_mm)
    return scale * (mold_mm / scale_0 + WALLS[over] * (offset_mm - offset_0_mm))


def expected_mm(design: Design, reading: Reading, figures: Values) -> float | None:
    """The reading that the figures lead to; None where the length tells nothing of them."""
    printed = printed_mm(design, reading.dimension, reading.over, figures)
    if design.cast_on and reading.dimension == "inner_diameter_mm":
        return None  # in the mold it is the metal itself, which nobody printed
    if reading.of == "mold":
        return printed
    if design.cast_on and not reading.dimension.startswith(COUPON):
        return _cast_on_mm(design, reading, printed, figures)
    free = printed * (1.0 - figures[0])
    if reading.of == "casting":
        return free
    return _in_place_mm(design, reading, free, figures)


def _cast_on_mm(design: Design, reading: Reading, printed: float, figures: Values) -> float | None:
    """A cover bonded to its metal: only its outside shrinks, and by a law of its own.

    The bore is the metal's. The end faces draw in unevenly, so its width tells nothing that a caliper could use.
    """
    if reading.dimension != "outer_diameter_mm":
        return None
    mold = design.sizes.mold
    hundredth = 0.01  # the law is linear in the shrinkage, and so holds for trial values that a real rubber never has
    change_mm = cover_radius_change_mm(
        hub_radius_mm=0.5 * mold["inner_diameter_mm"],
        mold_radius_mm=0.5 * printed,
        length_mm=mold["width_mm"],
        linear_shrinkage=hundredth,
    )
    return printed + 2.0 * change_mm * figures[0] / hundredth


_RING: Final = ("inner_diameter_mm", "outer_diameter_mm", "width_mm")


def _in_place_mm(design: Design, reading: Reading, free: float, figures: Values) -> float:
    """A stretched part measured on its metal.

    A ring follows the thick-ring law from bore, outside and width together; any other section thins by the square
    root of a stretch that does not change here, so it keeps its ratio to the free one.
    """
    fitted_mm, free_0_mm = design.sizes.fitted[reading.dimension], design.sizes.free[reading.dimension]
    if reading.dimension in ("outer_diameter_mm", "width_mm") and set(_RING) <= design.sizes.fitted.keys():
        now = _ring_in_place_mm(design, reading.dimension, figures)
        at_design = _ring_in_place_mm(design, reading.dimension, design.figures)
        return fitted_mm * now / at_design
    return fitted_mm * free / free_0_mm


def _ring_in_place_mm(design: Design, dimension: str, figures: Values) -> float:
    def free_mm(name: str, over: Over) -> float:
        return printed_mm(design, name, over, figures) * (1.0 - figures[0])

    metal_mm = design.sizes.fitted["inner_diameter_mm"]
    bore_mm = free_mm("inner_diameter_mm", "inside")
    ring = FreeRing(
        # A bonded ring is not stretched, and a trial value may even be loose: then it lies on its metal as it is.
        min(max(bore_mm, metal_mm / (1.0 + MOST_STRETCH)), metal_mm) / 2.0,
        free_mm("outer_diameter_mm", "outside") / 2.0,
        free_mm("width_mm", "height"),
    )
    placed = fitted_ring(
        free=ring, hub_radius_mm=metal_mm / 2.0, shear_modulus_mpa=1.0, held_between_flanges=design.flanged
    )
    return placed.outer_diameter_mm if dimension == "outer_diameter_mm" else placed.width_mm


# --- the fit ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Figure:
    """One fitted figure with its 95 % interval."""

    value: float
    u: float
    known: bool
    """From the readings; False where the design's own figure had to stand in for what they cannot tell."""
    before: float
    """What the mold was built for."""

    @property
    def low(self) -> float:
        return self.value - COVERAGE_95 * self.u

    @property
    def high(self) -> float:
        return self.value + COVERAGE_95 * self.u

    @property
    def changed(self) -> bool:
        """Whether what it was built for lies outside the interval."""
        return not self.low <= self.before <= self.high


@dataclass(frozen=True, slots=True)
class Judged:
    """A reading beside what the fit makes of it."""

    reading: Reading
    before_mm: float
    """What the design led one to expect."""
    after_mm: float
    sigmas: float
    """How far off the fit it is, over its own uncertainty; of an outlier, against the fit without it."""
    outlier: bool


@dataclass(frozen=True, slots=True)
class Refined:
    """What the castings say."""

    figures: dict[Name, Figure]
    judged: tuple[Judged, ...]
    unused: tuple[Reading, ...]
    """Readings of lengths that tell nothing of any figure."""
    significant: bool
    """Whether the design's figures together contradict the readings (95 %)."""
    scatter: float
    """How many times their own ± the readings scatter, where that is more than chance; else 1."""

    @property
    def outliers(self) -> tuple[Judged, ...]:
        return tuple(one for one in self.judged if one.outlier)


def refined(design: Design, castings: Castings) -> Refined:
    """Shrinkage, scale and offsets fitted to the castings."""
    useful, unused = _told(design, castings.readings)
    kept, fit = list(useful), _fit(design, useful)
    dropped: list[Reading] = []
    most = int(MOST_OUTLIERS * len(useful)) if len(useful) >= 4 else 0
    while len(dropped) < most:
        worst = max(range(len(kept)), key=lambda i: abs(fit.deleted_sigmas[i]))
        if abs(fit.deleted_sigmas[worst]) <= OUTLIER_SIGMAS * _usual_sigmas(fit):
            break
        dropped.append(kept.pop(worst))
        fit = _fit(design, tuple(kept))
    scatter = _scatter(fit)
    figures: dict[Name, Figure] = {}
    for i, name in enumerate(NAMES):
        u = math.sqrt(fit.covariance[i][i]) * design.doubts[i] * (scatter if fit.known[i] else 1.0)
        figures[name] = Figure(fit.figures[i], u, fit.known[i], design.figures[i])
    judged = tuple(_judged(design, reading, fit.figures, outlier=reading in dropped) for reading in useful)
    gain = (fit.chi2_design - fit.chi2 - fit.pull) / scatter**2
    significant = gain > CHI2_95[max(1, min(4, fit.directions)) - 1]
    return Refined(figures, judged, unused, significant, scatter)


def _usual_sigmas(fit: _Fit) -> float:
    """How far readings lie off as a rule, where that is more than they should: then the far ones are no outliers.

    1.4826 times the median is the standard deviation of a normal distribution.
    """
    checked = [abs(sigmas) for sigmas in fit.deleted_sigmas if sigmas != 0.0]
    return max(1.0, 1.4826 * median(checked)) if checked else 1.0


def _told(design: Design, readings: Sequence[Reading]) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
    told = tuple(r for r in readings if expected_mm(design, r, design.figures) is not None)
    return told, tuple(r for r in readings if r not in told)


def _judged(design: Design, reading: Reading, figures: Values, *, outlier: bool) -> Judged:
    before, after = expected_mm(design, reading, design.figures), expected_mm(design, reading, figures)
    assert before is not None and after is not None
    return Judged(reading, before, after, (reading.value_mm - after) / reading.value_mm.u, outlier)


@dataclass(frozen=True, slots=True)
class _Fit:
    """Everything in units of the design's doubts, so that the four unknowns are of one size."""

    figures: Values
    known: tuple[bool, ...]
    covariance: Matrix
    deleted_sigmas: tuple[float, ...]
    """Each reading against the fit without it."""
    chi2: float
    """Of the readings."""
    pull: float
    """What the design's doubts add to it, for figures that they had to stand in for."""
    chi2_design: float
    """Of the readings against the design as it was."""
    freedom: float
    """Readings less what they were used up for."""
    directions: int
    """How many independent things the readings tell."""


def _fit(design: Design, readings: tuple[Reading, ...]) -> _Fit:
    """Gauss-Newton; the model is nearly linear, so a few steps settle it."""

    def standardised(x: Sequence[float]) -> list[float]:
        figures = _figures(design, x)
        out = []
        for reading in readings:
            expected = expected_mm(design, reading, figures)
            assert expected is not None
            out.append((reading.value_mm - expected) / reading.value_mm.u)
        return out

    at_design = [0.0] * 4
    information = _gram(_slopes(standardised, at_design))
    known = _known(information)
    prior = [1e-9 if one else 1.0 for one in known]  # all but nothing: it only keeps the normal equations regular
    x = at_design
    for _ in range(4):
        residuals, slopes = standardised(x), _slopes(standardised, x)
        down = [math.fsum(row[i] * r for row, r in zip(slopes, residuals, strict=True)) for i in range(4)]
        pulled = [d - p * a for d, p, a in zip(down, prior, x, strict=True)]
        x = [a + b for a, b in zip(x, _solved(_with_diagonal(_gram(slopes), prior), pulled), strict=True)]
    slopes, residuals = _slopes(standardised, x), standardised(x)
    covariance = _inverse(_with_diagonal(_gram(slopes), prior))
    leverage = [_quadratic(covariance, row) for row in slopes]
    told = _product(information, _inverse(_with_diagonal(information, [1.0] * 4)))
    return _Fit(
        figures=_figures(design, x),
        known=known,
        covariance=covariance,
        deleted_sigmas=tuple(
            r / math.sqrt(1.0 - h) if 1.0 - h > LEAST_CHECKED else 0.0 for r, h in zip(residuals, leverage, strict=True)
        ),
        chi2=math.fsum(r * r for r in residuals),
        pull=math.fsum(p * a * a for p, a in zip(prior, x, strict=True)),
        chi2_design=math.fsum(r * r for r in standardised(at_design)),
        freedom=len(readings) - math.fsum(leverage),
        directions=math.ceil(math.fsum(told[i][i] for i in range(4)) - 0.1),
    )


def _figures(design: Design, x: Sequence[float]) -> Values:
    return _values(f + u * a for f, u, a in zip(design.figures, design.doubts, x, strict=True))


def _known(information: Matrix) -> tuple[bool, ...]:
    """Which figures the readings settle by themselves, all others left free."""
    barely = 1e-9  # what nothing is known of gets a variance of 1e9 instead of infinity
    alone = _inverse(_with_diagonal(information, [barely] * 4))
    return tuple(alone[i][i] < KNOWN**2 for i in range(4))


def _scatter(fit: _Fit) -> float:
    """Root of chi-square over its degrees of freedom, where chance would make it so large once in 100 times.

    Source: R. T. Birge, Phys. Rev. 40 (1932) 207, as commonly given; the percentile after E. B. Wilson and
    M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684, as commonly given.
    """
    if fit.freedom < 0.5:
        return 1.0
    spread = 2.0 / (9.0 * fit.freedom)
    usual = fit.freedom * (1.0 - spread + 2.326 * math.sqrt(spread)) ** 3
    return math.sqrt(fit.chi2 / fit.freedom) if fit.chi2 > usual else 1.0


# --- four by four ----------------------------------------------------------------------------------------------------


def _slopes(function: Callable[[Sequence[float]], list[float]], x: Sequence[float]) -> Matrix:
    """Minus the derivatives of standardised residuals, a row for each reading."""
    step = 0.01
    columns = []
    for i in range(4):
        above, below = ([a + sign * step * (i == j) for j, a in enumerate(x)] for sign in (1.0, -1.0))
        columns.append([(b - a) / (2.0 * step) for a, b in zip(function(above), function(below), strict=True)])
    return [list(row) for row in zip(*columns, strict=True)]


def _gram(rows: Matrix) -> Matrix:
    return [[math.fsum(row[i] * row[j] for row in rows) for j in range(4)] for i in range(4)]


def _with_diagonal(matrix: Matrix, diagonal: Sequence[float]) -> Matrix:
    return [[value + (diagonal[i] if i == j else 0.0) for j, value in enumerate(row)] for i, row in enumerate(matrix)]


def _product(a: Matrix, b: Matrix) -> Matrix:
    return [
        [math.fsum(x * y for x, y in zip(row, column, strict=True)) for column in zip(*b, strict=True)] for row in a
    ]


def _quadratic(matrix: Matrix, vector: Sequence[float]) -> float:
    return math.fsum(a * m * b for a, row in zip(vector, matrix, strict=True) for m, b in zip(row, vector, strict=True))


def _solved(matrix: Matrix, right: Sequence[float]) -> list[float]:
    """x of matrix x = right, a symmetric positive matrix, by elimination with pivots."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    n = len(rows)
    for i in range(n):
        pivot = max(range(i, n), key=lambda k: abs(rows[k][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        for k in range(i + 1, n):
            factor = rows[k][i] / rows[i][i]
            rows[k] = [a - factor * b for a, b in zip(rows[k], rows[i], strict=True)]
    x = [0.0] * n
    for i in reversed(range(n)):
        x[i] = (rows[i][n] - math.fsum(rows[i][j] * x[j] for j in range(i + 1, n))) / rows[i][i]
    return x


def _inverse(matrix: Matrix) -> Matrix:
    columns = [_solved(matrix, [1.0 if i == j else 0.0 for j in range(4)]) for i in range(4)]
    return [list(row) for row in zip(*columns, strict=True)]
