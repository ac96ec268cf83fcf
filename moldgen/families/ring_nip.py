"""The nip of a ring on metal with the wheel or shaft it runs against, straight or crowned, as predictions.

A crowned ring is taken as slices, each a plane contact of its own that is pressed in less the farther it is from the
middle. That is usual for crowned rollers; here it also holds because a thin wall on metal carries little sideways.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from moldgen.errors import RangeError
from moldgen.families.base import Prediction
from moldgen.mechanics.solve import root
from moldgen.remarks import Remark

if TYPE_CHECKING:
    from moldgen.mechanics.contact import Nip

ROUGH_STEEPNESS: Final = 1.2
"""Load goes with about this power of the indentation; only to begin the search with."""


@dataclass(frozen=True, slots=True)
class RollingPair:
    """A rigid wheel and the ring in place that it is pressed on."""

    wheel_radius_mm: float
    outer_radius_mm: float
    """In the middle of a crown."""
    metal_radius_mm: float
    running_mm: float
    """The running surface across, between the edges."""
    drop_mm: float
    """How far its ends stand below its middle; 0 for a straight ring."""
    modulus_mpa: float


@dataclass(frozen=True, slots=True)
class Footprint:
    """What a press force makes of a pair; all but the length is that of the middle, where a crown is pressed most."""

    press_force_n: float
    running_mm: float
    nip_width_mm: float
    """The way it runs."""
    nip_length_mm: float
    """Across: how much of the running surface touches."""
    indentation_mm: float
    peak_pressure_mpa: float
    drop_over_indentation: float
    steepness: float
    """The power of a slice's indentation that its load goes with."""
    doubts: tuple[str, ...]

    def share_within(self, width_mm: float) -> float:
        """The share of the press force that the middle `width_mm` of the surface carries."""
        inner = min(width_mm / self.running_mm, 1.0)
        return carried(self.drop_over_indentation, self.steepness, inner) / carried(
            self.drop_over_indentation, self.steepness
        )


def carried(drop_over_indentation: float, steepness: float, inner: float = 1.0) -> float:
    """What the middle `inner` of a crowned surface carries, over a straight one loaded all along as in the middle.

    A slice at t, from 0 in the middle to 1 at the end, is pressed in by 1 - k t^2 of the middle's indentation and
    carries the m-th power of that: integral of (1 - k t^2)^m dt from 0 to `inner`, as far as they touch. With
    t = sin(x)/sqrt(k) it is smooth: integral of cos(x)^(2 m + 1) dx/sqrt(k), by Simpson's rule.

    By hand, k = 1, m = 1: 1 - 1/3

    >>> round(carried(1.0, 1.0), 5), carried(0.0, 1.2, 0.5)
    (0.66667, 0.5)
    """
    scale = math.sqrt(drop_over_indentation)
    if scale < 1e-6:
        return inner
    step = math.asin(min(1.0, scale * inner)) / 32
    power = 2.0 * steepness + 1.0
    heights = [math.pow(math.cos(step * i), power) for i in range(32)]
    heights.append(math.pow(max(0.0, math.cos(step * 32)), power))  # rounded, a quarter of a turn may be more than that
    return step / 3.0 * (heights[0] + heights[-1] + 4.0 * sum(heights[1::2]) + 2.0 * sum(heights[2:-1:2])) / scale


@lru_cache(maxsize=512)
def footprint(pair: RollingPair, press_force_n: float) -> Footprint:
    """The nip of the pair under this force.

    Beyond what the contact can be solved for it is the nearest that can, and a doubt says so.
    """
    load = press_force_n / pair.running_mm
    if pair.drop_mm == 0.0:
        return _footprint(pair, press_force_n, _solvable(pair, load), ROUGH_STEEPNESS)
    level = _solvable(pair, load)
    near = _middle_load(pair, load, _load(pair, level), level.indentation_mm, ROUGH_STEEPNESS)
    # Two contacts about the rough answer tell how load and indentation really go together there.
    low, high = _solvable(pair, near / 1.25), _solvable(pair, near * 1.25)
    if high.indentation_mm <= low.indentation_mm:  # both at the end of what can be solved
        return _footprint(pair, press_force_n, high, ROUGH_STEEPNESS)
    steepness = math.log(high.press_force_n / low.press_force_n) / math.log(high.indentation_mm / low.indentation_mm)
    middle = _middle_load(pair, load, _load(pair, high), high.indentation_mm, steepness)
    return _footprint(pair, press_force_n, _solvable(pair, middle), steepness)


def _middle_load(pair: RollingPair, mean: float, load: float, indentation_mm: float, steepness: float) -> float:
    """N/mm in the middle of a crown when the mean over the surface is known, from one load and its indentation."""

    def excess(log_ratio: float) -> float:
        pressed_mm = indentation_mm * math.exp(log_ratio / steepness)
        return log_ratio + math.log(carried(pair.drop_mm / pressed_mm, steepness) * load / mean)

    return load * math.exp(root(excess, -20.0, 20.0, tolerance=1e-12))


def _footprint(pair: RollingPair, press_force_n: float, middle: Nip, steepness: float) -> Footprint:
    drop_over_indentation = pair.drop_mm / middle.indentation_mm
    doubts = middle.doubts
    carried_n = middle.press_force_n * carried(drop_over_indentation, steepness)
    if abs(carried_n / press_force_n - 1.0) > 0.01:
        doubts = (f"the contact can only be solved for {carried_n:.3g} N, and these figures are for that", *doubts)
    return Footprint(
        press_force_n=press_force_n,
        running_mm=pair.running_mm,
        nip_width_mm=middle.nip_width_mm,
        nip_length_mm=pair.running_mm * min(1.0, drop_over_indentation**-0.5 if drop_over_indentation > 0.0 else 1.0),
        indentation_mm=middle.indentation_mm,
        peak_pressure_mpa=middle.peak_pressure_mpa,
        drop_over_indentation=drop_over_indentation,
        steepness=steepness,
        doubts=doubts,
    )


def _load(pair: RollingPair, contact: Nip) -> float:
    return contact.press_force_n / pair.running_mm


def _solvable(pair: RollingPair, load_n_per_mm: float) -> Nip:
    """The plane contact under this load, or under the nearest load that it can be solved for."""
    for _ in range(3):  # the cover, and a flat strip in two ways, each have their own range
        try:
            return _plane(pair, load_n_per_mm)
        except RangeError as error:
            if error.name != "load_n_per_mm":
                raise
            load_n_per_mm = min(max(load_n_per_mm, 1.001 * error.low), 0.999 * error.high)
    return _plane(pair, load_n_per_mm)


def _plane(pair: RollingPair, load_n_per_mm: float) -> Nip:
    from moldgen.mechanics.contact import nip  # here, so that a spec without a drive does not pay for numpy

    return nip(
        press_force_n=load_n_per_mm * pair.running_mm,
        wheel_radius_mm=pair.wheel_radius_mm,
        outer_radius_mm=pair.outer_radius_mm,
        core_radius_mm=pair.metal_radius_mm,
        width_mm=pair.running_mm,
        elastic_modulus_mpa=pair.modulus_mpa,
    )


def nip_predictions(mark: Footprint, *, group: str = "", member: str = "") -> tuple[Prediction, ...]:
    """Width, length, depth and pressure of a nip."""
    beyond = f"; beyond what it was compared with: {' and '.join(mark.doubts)}" if mark.doubts else ""
    crowned = ", in the middle of the crown" if mark.drop_over_indentation > 0.0 else ""
    across = "across: slices of the crown, each by itself" if crowned else "across: all of the running surface"
    rows = (
        ("nip_width_mm", mark.nip_width_mm, f"the way it runs{crowned}; rubber bonded to a round core, sliding freely"),
        ("nip_length_mm", mark.nip_length_mm, across),
        ("indentation_mm", mark.indentation_mm, f"as nip width{crowned}; what free sides add is in it"),
        ("peak_pressure_kpa", 1000.0 * mark.peak_pressure_mpa, f"as nip width{crowned}"),
    )
    return tuple(Prediction(name, value, basis + beyond, group, member) for name, value, basis in rows)


def nip_remarks(mark: Footprint, *, part: str) -> Iterator[Remark]:
    """What is doubtful about a nip, and a crown that does not lie down."""
    if mark.doubts:
        yield Remark(
            "nip_out_of_range",
            f"The nip is beyond what its formulas were compared with: {'; '.join(mark.doubts)}. Take its figures as a "
            "rough guess; check the press force, or make the wall thicker, the rubber harder or wider.",
            "drive.press_force",
        )
    if mark.nip_length_mm < mark.running_mm:
        yield Remark(
            "crown_not_pressed_flat",
            f"Under this force only the middle {mark.nip_length_mm:.1f} mm of the {part}'s {mark.running_mm:.1f} mm "
            "touch; a smaller crown or a softer rubber would bring more of it down.",
            "wanted.crown",
        )
