"""The few filters that following a tone takes, written out.

The library that has them loads for longer than all of the command runs. The tests hold each against it.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating[Any]]

FRAMES_AT_ONCE: Final = 1 << 18
"""A recording is gone through piece by piece: as a whole, a long one would take hundreds of megabytes to follow."""


def low_pass(taps: int, cut_off: float) -> Array:
    """Taps of a low-pass without delay about their middle; they add up to 1. The cut-off is over the sampling rate.

    h = 2 f sinc(2 f n) under Hamming's window. Source: the window method of any textbook of digital filters.

    By hand, f = 1/4: beside the middle 2/pi * 0.08 = 0.05093 of it; 0.05093/1.10186 = 0.0462

    >>> [round(float(tap), 4) for tap in low_pass(3, 0.25)]
    [0.0462, 0.9076, 0.0462]
    """
    n = np.arange(taps) - 0.5 * (taps - 1)
    answer = np.sinc(2.0 * cut_off * n) * np.hamming(taps)
    return np.asarray(answer / answer.sum())


def thinned(samples: Array, taps: NDArray[np.complex128], thin: int) -> NDArray[np.complex128]:
    """One in `thin` of the filtered samples, from where the filter no longer hangs over the beginning.

    Samples and taps are cut into lengths of `thin`. One product of matrices brings each length of the one together
    with each of the other, and the sums along its diagonals are what is asked for.

    Two samples' sum, every second one; the filter is filled up with zeros at the end that meets the oldest sample:

    >>> [complex(value) for value in thinned(np.array([1.0, 2.0, 3.0, 4.0, 5.0]), np.array([1.0, 1.0j, 0.0]), 2)]
    [(4+3j)]
    """
    lengths = -(-len(taps) // thin)
    oldest_first = np.concatenate([np.zeros(lengths * thin - len(taps)), taps[::-1]]).reshape(lengths, thin).T
    both = np.concatenate([oldest_first.real, oldest_first.imag], axis=1)
    count = len(samples) // thin - lengths + 1
    at_once = FRAMES_AT_ONCE // thin
    out = np.zeros(max(0, count), dtype=complex)
    for first in range(0, count, at_once):
        some = out[first : first + at_once]
        rows = samples[first * thin : (first + len(some) + lengths - 1) * thin].reshape(-1, thin)
        products = rows.astype(float) @ both
        for k in range(lengths):
            some.real += products[k : k + len(some), k]
            some.imag += products[k : k + len(some), lengths + k]
    return out


def running_median(values: Array, width: int) -> Array:
    """The median of each value and those about it, an odd `width` in all; beyond the ends stand the last ones.

    >>> running_median(np.array([1.0, 9.0, 2.0, 3.0]), 3).tolist()
    [1.0, 2.0, 3.0, 3.0]
    """
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(values, width // 2, mode="edge"), width)
    return np.asarray(np.partition(windows, width // 2, axis=1)[:, width // 2])


def quantile(values: Array, share: float) -> float:
    """What a share of the values lies below; between two of them it goes in proportion.

    NumPy's own, and its median, load masked arrays first, which takes longer than all that is asked of them here.

    >>> quantile(np.array([4.0, 1.0, 2.0, 3.0]), 0.5)
    2.5
    """
    return float(np.interp(share * (len(values) - 1), np.arange(len(values)), np.sort(values)))


def density(values: Array, rate_hz: float, length: int) -> tuple[Array, Array]:
    """Frequencies in Hz and one-sided density of a signal, in its unit squared per Hz.

    The mean over stretches of `length` values that overlap by half, each under Hann's window. Source: P. D. Welch,
    IEEE Trans. Audio Electroacoust. 15 (1967) 70.
    """
    window = np.sin(np.pi * np.arange(length) / length) ** 2
    stretches = np.lib.stride_tricks.sliding_window_view(values, length)[:: length - length // 2]
    power = (np.abs(np.fft.rfft(stretches * window)) ** 2).mean(axis=0) / (rate_hz * (window**2).sum())
    power[1 : (length + 1) // 2] *= 2.0  # each of them stands for its negative frequency too
    return np.fft.rfftfreq(length, 1.0 / rate_hz), power
