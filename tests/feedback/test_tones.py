"""Recorded test tones whose speed, wow and noise are known: what is read back, and which part is named."""

import math
from pathlib import Path

import numpy as np
import pytest
import soundfile

from moldgen.errors import OutputError
from moldgen.feedback.flutter import WEIGHTS, peak_flutter, weight
from moldgen.feedback.machine import load
from moldgen.feedback.run_test import from_tone
from moldgen.feedback.tone import ToneError, read_tone, recording
from moldgen.quantities import Estimate

EXAMPLES = Path(__file__).parents[2] / "part_specs"
TONE = Estimate(3150.0, u=0.01, text="3150 Hz")


def played(*, seconds=20.0, rate=48000, tone_hz=3150.0, error=0.0, wow=(), drift_per_min=0.0, noise_db=-40.0, seed=1):
    """A tone recorded true and played at speed (1 + e)(1 + sum of d sin(2 pi f t + p)), as samples.

    The phase is the integral of the speed. Noise is white, its level told against the tone's, over the whole band.
    """
    t = np.arange(int(seconds * rate)) / rate
    way = t + drift_per_min / 60.0 * 0.5 * (t - seconds / 2.0) ** 2
    for frequency_hz, deviation, phase in wow:
        way = way - deviation / (2.0 * math.pi * frequency_hz) * np.cos(2.0 * math.pi * frequency_hz * t + phase)
    samples = 0.5 * np.sin(2.0 * math.pi * tone_hz * (1.0 + error) * way)
    noise = 10.0 ** (noise_db / 20.0) * 0.5 / math.sqrt(2.0)
    return samples + noise * np.random.default_rng(seed).standard_normal(len(t))


WOW = ((0.5556, 0.0020, 0.4), (6.0638, 0.0012, 2.0))


@pytest.mark.parametrize("rate", [44100, 48000])
@pytest.mark.parametrize("depth", ["PCM_16", "PCM_24"])
@pytest.mark.parametrize("error", [-0.0213, 0.0047])
def test_speed_and_both_wows_are_read_back(tmp_path, rate, depth, error):
    file = tmp_path / "tone.wav"
    soundfile.write(file, played(rate=rate, error=error, wow=WOW, seconds=15.0), rate, subtype=depth)
    reading = read_tone(*recording(file), 3150.0)
    assert reading.error == pytest.approx(error, abs=1e-4)  # 0.01 %
    assert [line.deviation for line in reading.lines] == sorted(
        (line.deviation for line in reading.lines), reverse=True
    )
    assert len(reading.lines) == 2
    for line, (frequency_hz, deviation, _) in zip(reading.lines, WOW, strict=True):
        assert line.frequency_hz == pytest.approx(frequency_hz, abs=0.05)
        assert line.deviation == pytest.approx(deviation, rel=0.05)


def test_slow_wow_over_a_few_turns_does_not_pass_for_a_speed_error():
    # Four and a half turns of 0.3 Hz at 0.5 %: the plain mean of the frequency would be off by up to
    # 0.005/(pi 4.5) = 0.035 %.
    reading = read_tone(played(seconds=15.0, error=0.01, wow=((0.3, 0.005, 0.0),)), 48000, 3150.0)
    assert reading.error == pytest.approx(0.01, abs=1e-5)


def test_two_parts_that_come_round_nearly_as_often_are_told_apart():
    # Three turns of difference in the whole recording: found one after the other they lean on each other by 1e-3 Hz.
    wow = ((0.5556, 0.0020, 0.4), (0.95, 0.0015, 2.0))
    lines = read_tone(played(seconds=8.0, wow=wow), 48000, 3150.0).lines
    assert len(lines) == 2
    for line, (frequency_hz, deviation, _) in zip(lines, wow, strict=True):
        assert line.frequency_hz == pytest.approx(frequency_hz, abs=1e-4)
        assert line.deviation == pytest.approx(deviation, rel=2e-4)


def test_tone_one_per_cent_fast_reads_3181_5_hz(tmp_path):
    file = tmp_path / "tone.wav"
    soundfile.write(file, played(tone_hz=3181.5, seconds=6.0), 48000)
    result = from_tone(file, TONE, nominal=None, machine=None)
    assert result.tone.reading.frequency_hz == pytest.approx(3181.5, abs=0.01)
    assert (result.speed.value, result.speed.unit) == (pytest.approx(3181.5, abs=0.01), "Hz")
    assert result.error.value == pytest.approx(0.01, abs=1e-5)
    assert result.significant


def test_tone_against_a_nominal_speed_gives_the_mediums_speed(tmp_path):
    file = tmp_path / "tone.wav"
    soundfile.write(file, played(tone_hz=3000.0, error=-0.02, seconds=6.0), 48000)
    result = from_tone(file, Estimate(3000.0), nominal=(Estimate(95.25), "mm/s"), machine=None)
    assert result.speed.value == pytest.approx(95.25 * 0.98, rel=1e-5)
    assert "more than is usual for 3 3/4 in/s" in result.verdict


def test_stated_uncertainties_of_a_wow_are_those_of_repeated_recordings():
    sigmas = []
    for seed in range(30):
        samples = played(seconds=6.0, rate=12000, error=0.01, wow=((3.0, 0.001, 0.3),), noise_db=-20.0, seed=seed)
        (line,) = read_tone(samples, 12000, 3150.0).lines
        sigmas.append(((line.deviation - 0.001) / line.u, (line.frequency_hz - 3.0) / line.u_hz))
    # Thirty trials know a standard deviation to 13 %; stated too small, it would show as more than 1.
    for spread in np.std(sigmas, axis=0):
        assert 0.3 < spread < 1.4


def test_drift_is_told_apart_from_speed():
    reading = read_tone(played(error=-0.005, drift_per_min=0.004), 48000, 3150.0)
    assert reading.error == pytest.approx(-0.005, abs=1e-5)
    assert reading.drift_per_min == pytest.approx(0.004 * 0.995, rel=0.01)
    steady = read_tone(played(error=-0.005), 48000, 3150.0)
    assert abs(steady.drift_per_min) < 3.0 * steady.drift_u_per_min


def test_dropouts_are_left_out():
    samples = played(error=0.003, wow=WOW)
    for second in (3.1, 9.0, 14.7):
        start = int(second * 48000)
        samples[start : start + 2400] = 0.0
    reading = read_tone(samples, 48000, 3150.0)
    # 3 x 50 ms of 20 s, and 10 ms on either side
    assert 0.0075 < reading.lost < 0.015
    assert reading.error == pytest.approx(0.003, abs=1e-4)
    assert reading.lines[0].deviation == pytest.approx(0.0020, rel=0.05)


def test_noise_alone_is_no_wow():
    assert read_tone(played(noise_db=-30.0, seed=4), 48000, 3150.0).lines == ()


def test_of_two_channels_the_one_that_sounds_is_taken(tmp_path):
    file = tmp_path / "stereo.wav"
    samples = played(seconds=5.0, error=0.01)
    soundfile.write(file, np.stack([1e-4 * samples, samples], axis=1), 48000)
    assert read_tone(*recording(file), 3150.0).error == pytest.approx(0.01, abs=1e-5)


@pytest.mark.parametrize(
    ("samples", "words"),
    [
        (played(seconds=2.0), "shorter"),
        (np.random.default_rng(1).standard_normal(10 * 48000), "no steady tone"),
        (played(tone_hz=1000.0, seconds=5.0), "no steady tone"),
        (np.zeros(10 * 48000), "no steady tone"),
    ],
)
def test_recording_without_a_usable_tone_is_refused_with_a_reason(samples, words):
    with pytest.raises(ToneError, match=words):
        read_tone(samples, 48000, 3150.0)


def test_tone_that_is_mostly_gone_is_refused():
    samples = played(seconds=10.0)
    samples.reshape(-1, 4800)[::2] = 0.0
    with pytest.raises(ToneError, match="drops out"):
        read_tone(samples, 48000, 3150.0)


def test_file_that_is_no_sound_is_named(tmp_path):
    (tmp_path / "a.wav").write_text("not a sound")
    for name in ("a.wav", "nowhere.wav"):
        with pytest.raises(OutputError, match=name):
            recording(tmp_path / name)


def test_lines_of_a_recording_name_the_parts_that_come_round_so_often(tmp_path):
    # The example machine runs 0.8 % fast. By hand, the capstan of 4 mm under 0.035 mm of tape comes round
    # 47.625 · 1.008/(π 4.035) = 3.787 times a second, the pinch roller of 14 mm 47.625 · 1.008/(π 14) = 1.0915 times.
    speed = 47.625 * 1.008
    capstan_hz, roller_hz = speed / (math.pi * 4.035), speed / (math.pi * 14.0)
    file = tmp_path / "tone.wav"
    wow = ((capstan_hz, 0.0015, 0.2), (roller_hz, 0.0010, 1.0))
    soundfile.write(file, played(error=0.008, wow=wow, seconds=20.0), 48000, subtype="PCM_16")
    machine = load(EXAMPLES / "machines" / "loop_player.yaml")
    result = from_tone(file, TONE, nominal=(machine[0].nominal_speed_mm_s, "mm/s"), machine=machine)
    named = {line.suspects[0].name: line for line in result.tone.lines}
    assert set(named) == {"flywheel, capstan", "pinch roller"}
    assert all(line.suspects[0].times_per_turn == 1 for line in named.values())
    # e/r: 0.1 % on a radius of 7 mm
    assert named["pinch roller"].suspects[0].runout_mm == pytest.approx(0.007, rel=0.05)
    assert {one.lever.name for one in result.corrections} == {"motor pulley", "flywheel", "capstan"}


# --- peak flutter ----------------------------------------------------------------------------------------------------


def flutter_of(samples, *, tone_hz=3150.0):
    reading = read_tone(samples, 48000, tone_hz)
    return peak_flutter(track=reading.followed, error=reading.error, expected_hz=tone_hz)


@pytest.mark.parametrize(
    ("frequency_hz", "decibels"), [(0.8, -6.0), (2.0, -0.9), (4.0, 0.0), (20.0, -5.9), (63.0, -14.2)]
)
def test_one_wow_reads_its_depth_times_the_standards_weight(frequency_hz, decibels):
    # The table of AES6-2008, as a public copy and memory have it. Two sigma of a sine is sin(0.95 · 90°) = 0.997 of it.
    flutter = flutter_of(played(seconds=12.0, wow=((frequency_hz, 0.002, 0.3),), noise_db=-60.0))
    assert flutter.weighted == pytest.approx(0.002 * 10.0 ** (decibels / 20.0), rel=0.02)
    assert flutter.unweighted == pytest.approx(0.002, rel=0.03)


def test_ear_minds_four_hertz_most_and_about_six_decibels_an_octave_less_to_either_side():
    # As the notice of AES6-2008 sums the curve up.
    assert max(WEIGHTS, key=lambda row: row[1])[0] == 4.0
    assert 20.0 * math.log10(weight(200.0) / weight(100.0)) == pytest.approx(-6.0, abs=0.5)
    assert 20.0 * math.log10(weight(0.63) / weight(1.26)) == pytest.approx(-6.0, abs=1.0)
    assert 20.0 * math.log10(weight(0.2) / weight(0.4)) < -12.0


def test_standards_name_is_used_only_where_tone_and_time_are_the_standards():
    assert flutter_of(played(seconds=8.0)).by_standard
    other = flutter_of(played(seconds=8.0, tone_hz=3000.0), tone_hz=3000.0)
    short = flutter_of(played(seconds=6.0))
    assert not other.by_standard
    assert "3000 Hz" in other.method
    assert not short.by_standard
    assert "not its reading" in short.method
    gap = played(seconds=8.0)
    gap[100000:104000] = 0.0
    assert not flutter_of(gap).by_standard
