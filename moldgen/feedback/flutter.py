"""Peak flutter of a recorded tone: one figure for how much a machine's pitch wavers, weighted as the ear minds it.

Weighted peak flutter is measured on a tone of 3150 Hz: demodulated, weighted by frequency, detected from peak to peak,
and read as the value that is passed for 5 % of the time ("two sigma") over at least 5 s, half of peak to peak. So say
IEC 60386 (1972) with its amendment 1 (1988), and AES6-2008 with the same requirements, as a notice of the latter sums
them up. A reading is called by the standard's name only where tone and time are the standard's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from moldgen.feedback.tone import Followed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

# Frequency in Hz and weight in dB. From memory, and the same in a public copy of the table of AES6-2008.
WEIGHTS: Final[tuple[tuple[float, float], ...]] = (
    (0.1, -48.0), (0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0), (1.0, -4.2), (1.6, -1.8),
    (2.0, -0.9), (4.0, 0.0), (6.3, -0.9), (10.0, -2.1), (20.0, -5.9), (40.0, -10.4), (63.0, -14.2), (100.0, -17.3),
    (200.0, -23.0),
)  # fmt: skip

STANDARD_TONE_HZ: Final = 3150.0
STANDARD_SECONDS: Final = 5.0
EXCEEDED: Final = 0.05
SLOWEST_HZ: Final = 0.2
FASTEST_HZ: Final = 200.0
"""Band of the unweighted figure: our own choice, the standard's text of it was not to hand."""

EDGE_S: Final = 1.0
"""Left out at either end, where the filter has not settled."""


@dataclass(frozen=True, slots=True)
class PeakFlutter:
    """Weighted and unweighted peak flutter, as ratios to the mean speed."""

    weighted: float
    unweighted: float
    seconds: float
    by_standard: bool
    """Whether the weighted figure may carry the standard's name."""
    method: str


def weight(frequency_hz: float) -> float:
    """Factor by which a deviation at a frequency counts; between the table's points dB go with log f.

    >>> weight(4.0), round(weight(0.8), 3), round(weight(20.0), 3)
    (1.0, 0.501, 0.507)
    """
    import numpy as np

    return float(_weights(np.array([frequency_hz]))[0])


def _weights(frequencies_hz: Array) -> Array:
    import numpy as np

    log_f = np.log([f for f, _ in WEIGHTS])
    decibels = [db for _, db in WEIGHTS]
    asked = np.log(np.maximum(frequencies_hz, 1e-6))
    table: Array = np.interp(asked, log_f, decibels)
    # Beyond the table's ends its last slopes go on: some 17 dB an octave down, 6 up.
    table = table + np.where(asked < log_f[0], (asked - log_f[0]) * 25.1, 0.0)
    table = table - np.where(asked > log_f[-1], (asked - log_f[-1]) * 8.2, 0.0)
    return np.asarray(10.0 ** (table / 20.0))


def peak_flutter(*, track: Followed, error: float, expected_hz: float) -> PeakFlutter | None:
    """Peak flutter of a followed tone; None where the recording is too short for any."""
    import numpy as np

    seconds = track.seconds - 2.0 * EDGE_S
    if seconds < 1.0:
        return None
    deviation = _even(track) / (1.0 + error)
    weighted = _reading(deviation, track.rate_hz, _weights)
    flat = _reading(
        deviation, track.rate_hz, lambda f: np.asarray(((f >= SLOWEST_HZ) & (f <= FASTEST_HZ)).astype(float))
    )
    whole = bool(track.trusted.all())
    by_standard = expected_hz == STANDARD_TONE_HZ and seconds >= STANDARD_SECONDS and whole
    return PeakFlutter(weighted, flat, seconds, by_standard, _method(expected_hz, seconds, whole, by_standard))


def _method(expected_hz: float, seconds: float, whole: bool, by_standard: bool) -> str:
    if by_standard:
        return "weighted peak flutter by IEC 60386 with amendment 1 (two sigma, 3150 Hz)"
    why = [
        f"the tone is {expected_hz:g} Hz" if expected_hz != STANDARD_TONE_HZ else "",
        f"only {seconds:.1f} s were read" if seconds < STANDARD_SECONDS else "",
        "the tone drops out" if not whole else "",
    ]
    return f"weighted as in IEC 60386, but not its reading: {', '.join(reason for reason in why if reason)}"


def _even(track: Followed) -> Array:
    """The deviation about its straight line, dropouts bridged."""
    import numpy as np

    index = np.arange(len(track.deviation), dtype=float)
    bridged = np.interp(index, index[track.trusted], track.deviation[track.trusted])
    line = np.polynomial.Polynomial.fit(index, bridged, 1)
    return np.asarray(bridged - line(index))


def _reading(deviation: Array, rate_hz: float, weigh: Callable[[Array], Array]) -> float:
    """Half of the range that 95 % of the weighted deviation keeps to."""
    import numpy as np

    pad = min(len(deviation) - 1, round(5.0 * rate_hz))
    # Mirrored in both directions at the ends, so that the filter meets no step there.
    before = 2.0 * deviation[0] - deviation[pad:0:-1]
    after = 2.0 * deviation[-1] - deviation[-2 : -pad - 2 : -1]
    extended = np.concatenate([before, deviation, after])
    spectrum = np.fft.rfft(extended) * weigh(np.fft.rfftfreq(len(extended), 1.0 / rate_hz))
    weighed = np.fft.irfft(spectrum, len(extended))
    cut = pad + round(EDGE_S * rate_hz)
    low, high = np.quantile(weighed[cut:-cut], [0.5 * EXCEEDED, 1.0 - 0.5 * EXCEEDED])
    return float(0.5 * (high - low))
