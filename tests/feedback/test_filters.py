"""Each against that of SciPy or NumPy which takes too long to load for the command itself."""

import math

import numpy as np
import pytest
from scipy import ndimage, signal

from moldgen.feedback import filters

RANDOM = np.random.default_rng(3)


@pytest.mark.parametrize("taps", [3, 64, 681])
def test_low_pass_has_the_taps_of_scipys_window_method(taps):
    assert filters.low_pass(taps, 0.008) == pytest.approx(signal.firwin(taps, 0.008, fs=1.0), abs=1e-15)


@pytest.mark.parametrize(("samples", "taps", "thin"), [(1000, 31, 7), (1003, 28, 7), (700_000, 681, 48), (40, 5, 1)])
def test_thinned_samples_are_every_so_manieth_of_the_convolution(samples, taps, thin, monkeypatch):
    monkeypatch.setattr(filters, "FRAMES_AT_ONCE", max(thin, samples // 3))  # so that pieces meet
    values = RANDOM.standard_normal(samples)
    answer = RANDOM.standard_normal(taps) + 1j * RANDOM.standard_normal(taps)
    thin_ones = filters.thinned(values, answer, thin)
    newest = math.ceil(taps / thin) * thin - 1 + thin * np.arange(len(thin_ones))
    assert newest[-1] < samples <= newest[-1] + thin
    assert thin_ones == pytest.approx(signal.oaconvolve(values, answer)[newest], abs=1e-10)


@pytest.mark.parametrize("width", [1, 3, 41])
def test_running_median_is_scipys(width):
    values = RANDOM.standard_normal(500)
    assert np.array_equal(filters.running_median(values, width), ndimage.median_filter(values, width, mode="nearest"))


@pytest.mark.parametrize("share", [0.0, 0.025, 0.5, 1.0])
def test_quantile_is_numpys(share):
    values = RANDOM.standard_normal(500)
    assert filters.quantile(values, share) == pytest.approx(float(np.quantile(values, share)), rel=1e-12)


@pytest.mark.parametrize("length", [256, 257, 3000])
def test_density_is_scipys_of_welchs_method(length):
    values = RANDOM.standard_normal(3000)
    frequencies, density = filters.density(values, 1000.0, length)
    other_frequencies, other_density = signal.welch(values, 1000.0, nperseg=length, detrend=False)
    assert frequencies == pytest.approx(other_frequencies)
    assert density == pytest.approx(other_density, rel=1e-9)
