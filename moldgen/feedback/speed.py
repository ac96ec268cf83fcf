"""How fast a machine runs: from a length run in a time, from turns counted, or from bars under a lamp.

What a stopwatch and a ruler leave uncertain decides whether a difference means anything. Start and stop are caught
independently, so their doubt counts twice over one run and falls with the number of runs; the length's does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from moldgen.errors import require_range
from moldgen.uncertainty import COVERAGE_95

Unit = Literal["mm/s", "min⁻¹", "Hz"]

REACTION_U_S: Final = 0.15
"""Standard uncertainty with which a hand on a stopwatch catches either end (common practice, no source)."""

MAINS_U: Final = 0.0006
"""Of a grid's frequency: within ±0.05 Hz of 50 Hz nearly always (common practice, no source)."""

BAR_U: Final = 0.5 / math.sqrt(3.0)
"""Of bars counted passing a mark: half a bar either way."""
WATCHED_S: Final = 10.0
"""How long bars are taken to have been watched that are said to stand still."""

SIGNIFICANT: Final = 2.0
"""A difference below this many standard uncertainties calls for no change: half of such changes make it worse."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A speed with its standard uncertainty, and how it was found."""

    value: float
    u: float
    unit: Unit
    basis: str

    @property
    def low(self) -> float:
        return self.value - COVERAGE_95 * self.u

    @property
    def high(self) -> float:
        return self.value + COVERAGE_95 * self.u


def timing_u_s(*, time_u_s: float, reaction_u_s: float, runs: int) -> float:
    """Standard uncertainty of the mean time of several runs: u² = u_t² + 2 u_r²/n.

    `time_u_s` is the watch's own and does not average out; `reaction_u_s` is that of each end of each run.

    Source: JCGM 100:2008 (GUM), 5.1.2; start and stop independent.
    Range: 1 to 1000 runs.

    By hand, 0.15 s at either end of one run: 0.15 sqrt(2) = 0.21213

    >>> round(timing_u_s(time_u_s=0.0, reaction_u_s=0.15, runs=1), 5)
    0.21213
    """
    require_range("runs", runs, 1, 1000)
    return math.sqrt(time_u_s**2 + 2.0 * reaction_u_s**2 / runs)


def from_length(*, length_mm: float, length_u_mm: float, time_s: float, time_u_s: float) -> Measured:
    """The speed of a mark that runs a length in a time: v = L/t, (u/v)² = (u_L/L)² + (u_t/t)².

    Source: JCGM 100:2008 (GUM), 5.1.6, a quotient of independent readings.
    Range: lengths from 1 mm, times from 0.1 s.

    By hand: 2857.5/30.4 = 93.997; sqrt((2/2857.5)² + (0.21213/30.4)²) = 0.0070128; times 93.997 = 0.65918

    >>> run = from_length(length_mm=2857.5, length_u_mm=2.0, time_s=30.4, time_u_s=0.21213)
    >>> round(run.value, 3), round(run.u, 4)
    (93.997, 0.6592)
    """
    require_range("length_mm", length_mm, 1.0, 1e7)
    require_range("time_s", time_s, 0.1, 1e5)
    value = length_mm / time_s
    share = math.hypot(length_u_mm / length_mm, time_u_s / time_s)
    return Measured(value, value * share, "mm/s", f"{length_mm:g} mm in {time_s:g} s")


def from_turns(*, turns: float, turns_u: float, time_s: float, time_u_s: float) -> Measured:
    """The rotation of a wheel that makes a number of turns in a time: n = 60 N/t.

    Source and range: as `from_length`; from one turn.

    By hand: 60 * 100/180 = 33.3333

    >>> round(from_turns(turns=100, turns_u=0.0, time_s=180.0, time_u_s=0.2).value, 4)
    33.3333
    """
    require_range("turns", turns, 1.0, 1e6)
    require_range("time_s", time_s, 0.1, 1e5)
    value = 60.0 * turns / time_s
    share = math.hypot(turns_u / turns, time_u_s / time_s)
    return Measured(value, value * share, "min⁻¹", f"{turns:g} turns in {time_s:g} s")


def from_bars(
    *, bars: int, mains_hz: float, mains_u_hz: float, passing: float, passing_u: float, time_s: float
) -> Measured:
    """The rotation at which bars on a rim stand still, or creep past, under a lamp on the mains.

    A lamp flashes twice a period, so N bars stand at n = 60 (2 f)/N; if m of them pass a fixed mark in a time t, in
    the sense of rotation, n = 60 (2 f + m/t)/N. Backward passing is negative: the wheel is slow.

    Source: arithmetic of the stroboscope.
    Range: 4 to 1000 bars, 40 to 70 Hz; passing by less than half of the flashes, or it is another speed's pattern.

    By hand, 180 bars at 50 Hz: 60 * 100/180 = 33.3333

    >>> round(from_bars(bars=180, mains_hz=50.0, mains_u_hz=0.0, passing=0, passing_u=0.0, time_s=60.0).value, 4)
    33.3333
    """
    require_range("bars", bars, 4, 1000)
    require_range("mains_hz", mains_hz, 40.0, 70.0)
    require_range("time_s", time_s, 0.1, 1e5)
    require_range("passing", passing / time_s, -mains_hz, mains_hz)
    value = 60.0 * (2.0 * mains_hz + passing / time_s) / bars
    u = 60.0 * math.hypot(2.0 * mains_u_hz, passing_u / time_s) / bars
    moving = "standing still" if passing == 0 else f"{passing:+g} passing in {time_s:g} s"
    return Measured(value, u, "min⁻¹", f"{bars} bars under a lamp on {mains_hz:g} Hz, {moving}")


def bars_for(*, rotation_rpm: float, mains_hz: float) -> float:
    """How many bars a disc would need to stand still, a whole number or not: 120 f/n.

    By hand: 120 * 50/45 = 133.333

    >>> round(bars_for(rotation_rpm=45.0, mains_hz=50.0), 3)
    133.333
    """
    require_range("rotation_rpm", rotation_rpm, 0.1, 1e5)
    return 120.0 * mains_hz / rotation_rpm


@dataclass(frozen=True, slots=True)
class SpeedError:
    """How far a speed is off its nominal, as a ratio less one."""

    value: float
    u: float

    @property
    def low(self) -> float:
        return self.value - COVERAGE_95 * self.u

    @property
    def high(self) -> float:
        return self.value + COVERAGE_95 * self.u

    @property
    def significant(self) -> bool:
        return abs(self.value) >= SIGNIFICANT * self.u


def speed_error(*, measured: Measured, nominal: float, nominal_u: float = 0.0) -> SpeedError:
    """e = v/v0 - 1 with u(e) = (1 + e) sqrt((u_v/v)² + (u_0/v0)²).

    Source: JCGM 100:2008 (GUM), 5.1.6.

    By hand: 93.997/95.25 - 1 = -0.013155; (1 - 0.013155) 0.0070128 = 0.0069206

    >>> e = speed_error(measured=Measured(93.997, 93.997 * 0.0070128, "mm/s", ""), nominal=95.25)
    >>> round(e.value, 6), round(e.u, 6)
    (-0.013155, 0.006921)
    """
    require_range("nominal", nominal, 1e-6, 1e9)
    ratio = measured.value / nominal
    return SpeedError(ratio - 1.0, ratio * math.hypot(measured.u / measured.value, nominal_u / nominal))


# --- what is usual ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Usual:
    """A speed that machines were made for, and how far off it may be."""

    value: float
    unit: Unit
    name: str
    low: float
    """As a ratio less one."""
    high: float
    source: str


_TAPE = "DIN 45500's least demand on hi-fi tape machines, mean over 30 s, as a museum's page reproduces it"
_DISC = "DIN 45500's least demand on hi-fi record players, from memory"
_FILM = "common practice, no source"

USUAL: Final[tuple[Usual, ...]] = (
    *(
        Usual(25.4 * inches, "mm/s", f"{name} in/s", -0.015, 0.015, _TAPE)
        for inches, name in ((0.9375, "15/16"), (1.875, "1 7/8"), (3.75, "3 3/4"), (7.5, "7 1/2"), (15.0, "15"))
    ),
    *(
        Usual(rpm, "min⁻¹", name, -0.010, 0.015, _DISC)
        for rpm, name in ((50.0 / 3.0, "16 2/3"), (100.0 / 3.0, "33 1/3"), (45.0, "45"), (78.0, "78"))
    ),
    # Frames a second as turns of a shaft that makes one turn a frame.
    *(Usual(60.0 * frames, "min⁻¹", f"{frames} frames/s", -0.02, 0.02, _FILM) for frames in (16, 18, 24)),
    *(
        Usual(pitch * frames, "mm/s", f"{name}, {frames} frames/s", -0.02, 0.02, _FILM)
        for pitch, name, frames in (
            (3.81, "8 mm film", 16),
            (3.81, "8 mm film", 18),
            (25.4 / 6.0, "Super 8 film", 18),
            (25.4 / 6.0, "Super 8 film", 24),
            (7.62, "16 mm film", 24),
        )
    ),
)
"""Tape speeds halve from 15 in/s down (IEC 60094-1, clause 10). Perforation pitches of film: from memory (SMPTE)."""

SAME: Final = 0.004
"""4.76 for 4.7625 cm/s, 78 for 78.26 min⁻¹ (60 Hz) and 77.92 min⁻¹ (50 Hz)."""


def usual_speed(*, nominal: float, unit: Unit) -> Usual | None:
    """The usual speed that a nominal one stands for, if any.

    >>> usual_speed(nominal=95.3, unit="mm/s").name
    '3 3/4 in/s'
    """
    near = [usual for usual in USUAL if usual.unit == unit and abs(nominal / usual.value - 1.0) < SAME]
    return min(near, key=lambda usual: abs(nominal - usual.value)) if near else None


def verdict(*, error: SpeedError, usual: Usual | None) -> str:
    """What the error means, in a sentence or two."""
    percent, half = 100.0 * error.value, 100.0 * COVERAGE_95 * error.u
    found = f"{abs(percent):.2g} % {'slow' if percent < 0.0 else 'fast'}, known to ±{half:.2g} %"
    if not error.significant:
        coarse = usual is not None and max(error.high - usual.high, usual.low - error.low) > 0.0
        more = (
            " The test is too coarse to say whether it keeps the usual tolerance: take a longer run." if coarse else ""
        )
        return f"No difference that this test can tell ({found}). Change nothing.{more}"
    if usual is None:
        return f"It runs {found}: a real difference."
    limits = f"{100.0 * usual.low:+.2g} to {100.0 * usual.high:+.2g} % ({usual.source})"
    if usual.low <= error.value <= usual.high:
        return f"It runs {found}: a real difference, but within what is usual for {usual.name}, {limits}."
    return f"It runs {found}: more than is usual for {usual.name}, {limits}."
