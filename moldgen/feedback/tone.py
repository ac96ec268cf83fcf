"""What a recorded test tone says of a machine: speed, drift, and what comes round at which frequency.

The tone is brought down to zero frequency and its phase followed; the slope of the phase is the speed at every moment.
Speed, drift and every line of the flutter are then fitted to it together, so that a slow wow over a few turns does not
pass for a speed error. Where the tone drops out, nothing is taken from it.

SciPy and soundfile are imported only when a recording is read: they take longer than all else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from moldgen.errors import MoldgenError, OutputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

SHORTEST_S: Final = 3.0
LONGEST_S: Final = 180.0
FASTEST_RATE_HZ: Final = 96000.0
MOST_CHANNELS: Final = 2
FRAMES_AT_ONCE: Final = 1 << 18
"""A recording is gone through piece by piece: as a whole, a long one would take hundreds of megabytes to follow."""
FARTHEST: Final = 0.15
"""How far off its frequency a tone is looked for."""

FASTEST_HZ: Final = 200.0
"""Flutter above this is scrape, and hum."""
LOUDEST: Final = 1e6
"""Of a sample; 1 is full scale, which floating-point files may pass."""
RATE_HZ: Final = 1000.0
"""At which the speed is followed, about."""
PASS_HZ: Final = 260.0
STOP_HZ: Final = 500.0

DROPOUT: Final = 0.35
"""The tone is not trusted where it falls below this share of its usual level, nor close by."""
GUARD_S: Final = 0.01
MOST_LOST: Final = 0.3

MOST_LINES: Final = 12
LINE_OVER_NOISE: Final = 6.0
LEAST_DEVIATION: Final = 2e-5
"""A line is one if it stands this far over the noise around it, and matters."""

CLOCK_U: Final = 0.00003
"""Of the recorder's own clock: a crystal within ±50 parts in a million (common practice, no source)."""


class ToneError(MoldgenError, ValueError):
    """The recording holds no usable test tone; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Line:
    """One sinusoidal part of the speed's deviation."""

    frequency_hz: float
    u_hz: float
    deviation: float
    """Peak, over the mean speed."""
    u: float


@dataclass(frozen=True)
class Followed:
    """The speed's deviation from the expected tone, sample after sample; see `followed`."""

    rate_hz: float
    deviation: Array
    """Instantaneous over expected frequency, less one."""
    trusted: NDArray[np.bool_]

    @property
    def seconds(self) -> float:
        return len(self.deviation) / self.rate_hz


@dataclass(frozen=True)
class ToneReading:
    """Speed, drift and flutter lines of a recording."""

    frequency_hz: float
    """Mean frequency of the tone as recorded, wow and drift taken out."""
    error: float
    """Over the expected frequency, less one."""
    u: float
    """Of the error: noise of the recording and the recorder's clock; not the tone's own."""
    drift_per_min: float
    """Change of speed in a minute, as a ratio."""
    drift_u_per_min: float
    lines: tuple[Line, ...]
    """Largest deviation first."""
    seconds: float
    lost: float
    """Share of the recording in which the tone dropped out."""
    followed: Followed


def recording(path: Path) -> tuple[Array, float]:
    """Samples and sampling rate of a sound file; of several channels, the one with the most signal.

    Channels are not added: two heads a little out of line would cancel a tone. Raises OutputError or ToneError.
    """
    import soundfile

    try:
        if not path.is_file():  # a pipe would be waited for
            raise OutputError(f"{path}: there is no such file. Give a WAV file of the tone.")
        with soundfile.SoundFile(path) as file:
            rate = float(file.samplerate)
            if file.frames > LONGEST_S * rate:
                raise ToneError(f"{path}: longer than {LONGEST_S / 60:.0f} minutes. Cut out the tone.")
            if rate > FASTEST_RATE_HZ or file.channels > MOST_CHANNELS:
                raise ToneError(
                    f"{path}: {file.channels} channels at {rate:g} samples a second. Save it as mono at 48000."
                )
            samples = _loudest(file)
    except (OSError, RuntimeError) as error:
        raise OutputError(f"{path}: cannot be read as a sound file. Give a WAV file of the tone.") from error
    if samples is None:
        raise ToneError(f"{path}: it holds values that are no numbers. Save it as 16-bit PCM.")
    return samples, rate


def _loudest(file: Any) -> Array | None:
    """The channel of an open sound file with the most signal; None where a sample is no number a recorder gives."""
    import numpy as np

    power = np.zeros(file.channels)
    mean = np.zeros(file.channels)
    for block in file.blocks(FRAMES_AT_ONCE, dtype="float64", always_2d=True):
        if not np.abs(block).max() <= LOUDEST:
            return None
        power += (block**2).sum(axis=0)
        mean += block.sum(axis=0)
    loudest = int(np.argmax(power - mean**2 / max(1, file.frames)))
    file.seek(0)
    blocks = [b[:, loudest] for b in file.blocks(FRAMES_AT_ONCE, dtype="float32", always_2d=True)]
    samples: Array = np.concatenate(blocks) if blocks else np.zeros(0, dtype=np.float32)
    return samples


def followed(samples: Array, rate_hz: float, expected_hz: float) -> Followed:
    """The tone's deviation from what is expected, at about a thousand samples a second.

    The tone is shifted to zero frequency by the frequency it really has, low-passed, thinned out, and its phase's
    steps taken from sample to sample. Raises ToneError where there is no tone to follow.
    """
    import numpy as np
    from scipy import signal

    if len(samples) < SHORTEST_S * rate_hz:
        raise ToneError(f"the recording is shorter than {SHORTEST_S:g} s. Record at least ten seconds of the tone.")
    if expected_hz < 3.0 * STOP_HZ or expected_hz > rate_hz / 2.0 - STOP_HZ:
        raise ToneError(
            f"a tone of {expected_hz:g} Hz is not followed at {rate_hz:g} samples a second. Use 3000 or 3150 Hz."
        )
    carrier_hz = _carrier_hz(samples, rate_hz, expected_hz)
    thin = max(1, round(rate_hz / RATE_HZ))
    taps = 2 * math.ceil(1.7 * rate_hz / (STOP_HZ - PASS_HZ)) + 1
    low_pass = signal.firwin(taps, 0.5 * (PASS_HZ + STOP_HZ), fs=rate_hz)
    edge = math.ceil(taps / thin)  # where the filter hangs over either end
    last = (len(samples) - 1 + taps - 1) // thin + 1 - edge
    step = math.ceil(FRAMES_AT_ONCE / thin)
    pieces = []
    for first in range(edge, last, step):
        end = min(first + step, last)
        index = np.arange((first - edge) * thin, min((end - 1) * thin + 1, len(samples)))
        turns = index * (carrier_hz / rate_hz)
        shifted = samples[index[0] : index[-1] + 1] * np.exp(-2j * math.pi * (turns % 1.0))
        pieces.append(signal.upfirdn(low_pass, shifted, 1, thin)[edge : edge + end - first])
    base = np.concatenate(pieces)
    rate = rate_hz / thin
    steps_hz = np.angle(base[1:] * np.conj(base[:-1])) * rate / (2.0 * math.pi)
    level = np.abs(base)
    sound = level > DROPOUT * np.median(level)
    guard = np.ones(2 * round(GUARD_S * rate) + 1)
    sound = np.convolve(~sound, guard, "same") < 0.5
    trusted = sound[1:] & sound[:-1]
    if trusted.mean() < 1.0 - MOST_LOST:
        raise ToneError("the tone drops out for too much of the time. Clean the head and record again.")
    return Followed(rate, (carrier_hz + steps_hz) / expected_hz - 1.0, trusted)


def _carrier_hz(samples: Array, rate_hz: float, expected_hz: float) -> float:
    """Where the tone is, to about a hertz."""
    import numpy as np

    length = min(len(samples), 1 << 20)
    middle = (len(samples) - length) // 2
    piece = samples[middle : middle + length]
    spectrum = np.abs(np.fft.rfft(piece * np.hanning(length))) ** 2
    frequencies = np.fft.rfftfreq(length, 1.0 / rate_hz)
    # Wow spreads the tone over many bins of a long record, most of it to the edges: take the window with most in it.
    step_hz = frequencies[1]
    half = round(0.05 * expected_hz / step_hz)
    sums = np.concatenate([[0.0], np.cumsum(spectrum)])
    middles = np.arange(half, len(spectrum) - half)
    middles = middles[np.abs(frequencies[middles] / expected_hz - 1.0) < FARTHEST]
    top = frequencies[middles[np.argmax(sums[middles + half + 1] - sums[middles - half])]]
    hump = np.abs(frequencies - top) <= half * step_hz
    beside = (np.abs(frequencies - expected_hz) < 2.0 * FARTHEST * expected_hz) & ~hump
    if not spectrum[hump].sum() > 3.0 * spectrum[beside].sum():  # silence has neither
        raise ToneError(
            f"no steady tone stands out near {expected_hz:g} Hz. Is it the right tone, and the right speed setting?"
        )
    return float((frequencies[hump] * spectrum[hump]).sum() / spectrum[hump].sum())


def read_tone(samples: Array, rate_hz: float, expected_hz: float) -> ToneReading:
    """Speed, drift and flutter lines of a recording of a tone whose true frequency is `expected_hz`.

    Lines are found one after the other, the highest over its surroundings first; then speed, drift and all lines are
    fitted once more together. Source: least squares; Hann window and parabola through the peak to begin with.
    """
    import numpy as np

    track = followed(samples, rate_hz, expected_hz)
    times = (np.arange(len(track.deviation)) + 0.5) / track.rate_hz - 0.5 * track.seconds
    frequencies = _found_lines(track, times)
    frequencies = _settled(track, times, frequencies)
    solution, rest = _linear_fit(track, times, frequencies)
    noise = _noise_density(rest, track)
    error = float(solution[0])
    lines = []
    for index, frequency in enumerate(frequencies):
        sine, cosine = solution[2 + 2 * index : 4 + 2 * index]
        # What the step from sample to sample takes off a fast line.
        seen = float(np.sinc(frequency / track.rate_hz)) * (1.0 + error)
        deviation = math.hypot(sine, cosine) / seen
        density = _noise_at(noise, frequency)
        u = math.sqrt(density / track.seconds) / seen
        # Of a sine in white noise it would be a third of this; but phase noise counts most where the record ends.
        u_hz = math.sqrt(24.0 * density / track.seconds) / (math.pi * deviation * track.seconds)
        lines.append(Line(frequency, u_hz, deviation, u))
    # White noise of one-sided density S: u² = S/(2T) of the mean, 12 of that over T² of the slope.
    expected_u = math.sqrt(_noise_at(noise, 0.0) / (2.0 * track.seconds))
    return ToneReading(
        frequency_hz=expected_hz * (1.0 + error),
        error=error,
        u=math.hypot(expected_u, CLOCK_U * (1.0 + error)),
        drift_per_min=60.0 * float(solution[1]),
        drift_u_per_min=60.0 * math.sqrt(12.0) * expected_u / track.seconds,
        lines=tuple(sorted(lines, key=lambda line: -line.deviation)),
        seconds=track.seconds,
        lost=1.0 - float(track.trusted.mean()),
        followed=track,
    )


def _columns(times: Array, frequencies: list[float]) -> Array:
    """Speed, drift, and a sine and a cosine of each line."""
    import numpy as np

    columns = [np.ones_like(times), times]
    for frequency in frequencies:
        angle = 2.0 * math.pi * frequency * times
        columns += [np.sin(angle), np.cos(angle)]
    return np.stack(columns, axis=1)


def _linear_fit(track: Followed, times: Array, frequencies: list[float]) -> tuple[Array, Array]:
    """The coefficients of `_columns`, and what is left (zero where the tone is not trusted)."""
    import numpy as np

    trusted = track.trusted
    columns = _columns(times[trusted], frequencies)
    solution = _solved(columns.T @ columns, columns.T @ track.deviation[trusted])
    rest = np.zeros_like(track.deviation)
    rest[trusted] = track.deviation[trusted] - columns @ solution
    return solution, rest


def _solved(gram: Array, right: Array) -> Array:
    """Solution of the normal equations; where two lines were moved onto each other, that which splits them evenly."""
    import numpy as np

    try:
        return np.linalg.solve(gram, right)
    except np.linalg.LinAlgError:
        return np.linalg.lstsq(gram, right)[0]


def _found_lines(track: Followed, times: Array) -> list[float]:
    """Frequencies of the lines, by taking the highest out of what is left until none stands out."""
    import numpy as np

    found: list[float] = []
    while len(found) < MOST_LINES:
        _, rest = _linear_fit(track, times, found)
        window = np.hanning(len(rest))
        padded = 4 * len(rest)
        amplitude = np.abs(np.fft.rfft(rest * window, padded)) * 2.0 / window.sum()
        frequencies = np.fft.rfftfreq(padded, 1.0 / track.rate_hz)
        noise = _surroundings(amplitude, frequencies, track)
        looked = (frequencies > 2.0 / track.seconds) & (frequencies < FASTEST_HZ)
        stands_out = np.where(looked & (amplitude > LEAST_DEVIATION), amplitude / noise, 0.0)
        # Among those that stand out it is the largest that hides others.
        candidates = stands_out > LINE_OVER_NOISE
        if not candidates.any():
            break
        top = int(np.argmax(np.where(candidates, amplitude, 0.0)))
        left, middle, right = np.log(amplitude[top - 1 : top + 2])
        shift = 0.5 * (left - right) / (left - 2.0 * middle + right)
        frequency = float(frequencies[top] + shift * (frequencies[1] - frequencies[0]))
        if any(abs(frequency - other) < 1.0 / track.seconds for other in found):
            break  # what is left beside a line that wanders is not another line
        found.append(frequency)
    return found


def _surroundings(amplitude: Array, frequencies: Array, track: Followed) -> Array:
    """The usual amplitude around each frequency: a running median over some forty independent bins."""
    import numpy as np
    from scipy import ndimage

    bins = max(3, round(40.0 / track.seconds / (frequencies[1] - frequencies[0]))) | 1
    usual: Array = ndimage.median_filter(amplitude[:: max(1, bins // 40)], size=min(41, bins), mode="nearest")
    spread: Array = np.interp(frequencies, frequencies[:: max(1, bins // 40)], usual)
    return np.maximum(spread, 1e-12)


def _settled(track: Followed, times: Array, frequencies: list[float]) -> list[float]:
    """All frequencies moved together to where the fit is best; speed, drift and amplitudes follow from them."""
    if not frequencies:
        return []
    import numpy as np
    from scipy.optimize import least_squares

    trusted = track.trusted
    taken = times[trusted]
    scale = 0.1 / track.seconds

    def rest(shift: Array) -> Array:
        _, left = _linear_fit(track, times, list(np.array(frequencies) + scale * shift))
        return left[trusted]

    def slopes(shift: Array) -> Array:
        now = np.array(frequencies) + scale * shift
        solution, _ = _linear_fit(track, times, list(now))
        columns = _columns(taken, list(now))
        gram = columns.T @ columns
        out = np.empty((len(taken), len(now)))
        for index, frequency in enumerate(now):
            angle = 2.0 * math.pi * frequency * taken
            sine, cosine = solution[2 + 2 * index : 4 + 2 * index]
            turned = -2.0 * math.pi * scale * taken * (sine * np.cos(angle) - cosine * np.sin(angle))
            # Kaufman's projection: what amplitudes can take up is no slope of the frequencies.
            out[:, index] = turned - columns @ _solved(gram, columns.T @ turned)
        return out

    best: Any = least_squares(rest, np.zeros(len(frequencies)), jac=slopes, method="lm", xtol=1e-10, max_nfev=50)
    moved: list[float] = [float(f) for f in np.array(frequencies) + scale * best.x]
    return moved


def _noise_density(rest: Array, track: Followed) -> tuple[Array, Array]:
    """Frequencies and one-sided density of what no line explains."""
    from scipy import signal

    length = min(len(rest), max(256, round(4.0 * track.rate_hz)))
    frequencies, density = signal.welch(rest, track.rate_hz, nperseg=length, detrend=False)
    return frequencies, density / max(float(track.trusted.mean()), 0.1)


def _noise_at(noise: tuple[Array, Array], frequency_hz: float) -> float:
    """Mean density around a frequency; near zero, that up to 2 Hz, so that a slow wander counts as a doubt."""
    import numpy as np

    frequencies, density = noise
    half = max(1.0, 0.1 * frequency_hz)
    off_hz = np.abs(frequencies - max(frequency_hz, half))
    # A short recording knows so few frequencies that none may lie near: the nearest stands for them.
    return float(density[off_hz <= max(half, float(off_hz.min()))].mean())
