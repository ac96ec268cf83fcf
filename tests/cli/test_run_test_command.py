"""`moldgen run-test` from the command line."""

import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from moldgen import case, sizing
from moldgen.cli.app import app
from moldgen.cli.exits import DONE, UNUSABLE
from moldgen.feedback import history

EXAMPLES = Path(__file__).parents[2] / "part_specs"
BELT_MACHINE = EXAMPLES / "machines" / "loop_player_with_belt.yaml"


def run(*arguments):
    return CliRunner().invoke(app, ["run-test", *(str(argument) for argument in arguments)])


def result(*arguments):
    done = run(*arguments, "--json")
    assert done.exit_code == DONE, done.stderr
    return json.loads(done.stdout)


def test_tape_over_ten_seconds_is_no_real_difference():
    # 37.75 in in 10 s, read to 0.1 in and 0.1 s: 0.667 % over 3.75 in/s, left alone (common practice, no source).
    found = result("--length", "37.75 ± 0.1 in", "--time", "10 ± 0.1 s", "--nominal", "3.75 in/s")
    assert found["speed"]["value"] == pytest.approx(95.885)
    assert found["error_percent"]["value"] == pytest.approx(2.0 / 3.0, rel=1e-6)
    assert found["error_percent"]["low"] < 0.0 < found["error_percent"]["high"]
    assert found["significant"] is False
    assert "Change nothing" in found["verdict"]
    assert found["corrections"] == []


@pytest.mark.parametrize(
    ("arguments", "error", "u"),
    [
        # Reference, computed apart from v = L/t with u² = (u_L/L)² + 2 u_t²/(n t²). ± a is √3 u (JCGM 100, 4.3.7).
        (("--length", "2857.5 ± 3.46410 mm", "--time", "30.4 s", "--nominal", "95.25 mm/s"), -1.3158, 0.69208),
        (
            ("--length", "5715 ± 3.46410 mm", "--time", "30.5 s", "--runs", 5, "--nominal", "7 1/2 in/s"),
            -1.6393,
            0.30787,
        ),
    ],
)
def test_hand_timed_runs_are_those_of_the_reference(arguments, error, u):
    found = result(*arguments, "--reaction", "0.15 s")
    assert found["error_percent"]["value"] == pytest.approx(error, rel=5e-5)
    half = 0.5 * (found["error_percent"]["high"] - found["error_percent"]["low"])
    assert half == pytest.approx(1.96 * u, rel=2e-5)


def test_turns_counted_give_a_platters_speed():
    found = result("--turns", 100, "--time", "3 min", "--nominal", "33 1/3 rpm")
    assert found["speed"]["value"] == pytest.approx(100.0 / 3.0)
    assert found["speed"]["unit"] == "min⁻¹"
    assert found["tolerance_percent"]["high"] == 1.5


@pytest.mark.parametrize(
    ("bars", "mains", "rpm"), [(77, "50 Hz", 77.922), (92, "60 Hz", 78.261), (133, "50 Hz", 45.113)]
)
def test_bars_that_stand_still_give_their_speed(bars, mains, rpm):
    # Arithmetic of every stroboscope disc: 120 f/N.
    found = result("--bars", bars, "--mains", mains, "--nominal", f"{rpm} rpm")
    assert found["speed"]["value"] == pytest.approx(rpm, abs=5e-4)
    assert not found["significant"]


def test_recorded_tone_one_per_cent_fast_reads_3181_5_hz(tmp_path):
    file, t = tmp_path / "tone.wav", np.arange(6 * 44100) / 44100
    soundfile.write(file, 0.5 * np.sin(2.0 * math.pi * 3181.5 * t), 44100)
    found = result("--tone", file, "--tone-frequency", "3150 Hz")
    assert found["tone"]["frequency_hz"] == pytest.approx(3181.5, abs=0.01)
    assert found["error_percent"]["value"] == pytest.approx(1.0, abs=0.01)
    assert found["significant"] is True


def test_machine_file_turns_an_error_into_changes_the_rubber_first():
    found = result("--machine", BELT_MACHINE, "--length", "5715 ± 2 mm", "--time", "59.0 ± 0.15 s")
    assert found["significant"]
    first = found["corrections"][0]
    assert first["spec"]["field"] == "wanted.height"
    assert first["rubber"] is True
    parts = {part["name"] for part in found["machine"]["parts"]}
    assert parts == {"motor, motor pulley", "flywheel, capstan", "drive belt", "pinch roller"}
    sensitivity = {(s["part"], s["dimension"]): s["percent_per_0_1mm"] for s in found["machine"]["sensitivities"]}
    # d ln v/dd = 1/(d + t): 10/6.935 % for 0.1 mm of the capstan.
    assert sensitivity["capstan", "diameter_mm"] == pytest.approx(10.0 / 6.935, rel=1e-5)


def test_machine_alone_is_judged_by_its_dimensions():
    found = result("--machine", EXAMPLES / "machines" / "loop_player.yaml")
    assert "computed" in found["speed"]["basis"]
    idler = next(s for s in found["machine"]["sensitivities"] if s["part"] == "idler")
    assert idler["percent_per_0_1mm"] == 0.0


def test_footprint_is_held_against_the_sizing():
    spec = EXAMPLES / "loop_pinch_sleeve.yaml"
    predicted = json.loads(CliRunner().invoke(app, ["size", str(spec), "--json"]).stdout)[0]["predictions"]
    width = predicted["nip_width_mm"]["value"]
    for reading, agrees in ((width, True), (3.0 * width, False)):
        (check,) = result("--spec", spec, "--footprint", f"{reading:.3f} ± 0.1 mm")["checks"]
        assert check["agrees"] is agrees
    assert run("--spec", spec, "--footprint", f"{width:.3f} ± 0.1 mm").exit_code == DONE


def test_pull_at_which_a_belt_slips_is_held_against_the_sizing():
    found = result(
        "--spec", EXAMPLES / "loop_drive_belt.yaml", "--pull", "0.02 N", "--arm", "39 mm", "--at", "flywheel"
    )
    assert found["checks"][0]["check"] == "pulleys.flywheel.slip_torque_nmm"
    assert not found["checks"][0]["agrees"]
    assert "slack" in found["verdict"]


@pytest.mark.parametrize(("way", "pull_n", "words"), [("free", 20.0, "press too hard"), ("locked", 0.001, "lets go")])
def test_clutch_drum_is_turned_both_ways(way, pull_n, words):
    spec = EXAMPLES / "loop_one_way_pad.yaml"
    found = result("--spec", spec, "--pull", f"{pull_n} N", "--arm", "10 mm", "--way", way)
    assert not found["checks"][0]["agrees"]
    assert words in found["verdict"]


def test_result_is_kept_in_a_builds_history(tmp_path):
    sized = sizing.size(case.load(EXAMPLES / "loop_idler.yaml"))
    (tmp_path / "job.json").write_text(json.dumps(sized.as_json()), encoding="utf-8")
    (tmp_path / "spec.yaml").write_text(sized.case.document.text, encoding="utf-8")
    result("--turns", 100, "--time", "3 min", "--nominal", "33 1/3 rpm", "--record", tmp_path)
    (entry,) = history.entries(tmp_path)
    assert entry["ran"]["verdict"].startswith("No difference")
    assert "33.333" in entry["ran"]["speed"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--length", "37 kg", "--time", "10 s", "--nominal", "3.75 in/s"), "'kg' is not a unit of length"),
        (("--length", "37 in", "--nominal", "3.75 in/s"), "--time is missing"),
        (("--length", "37 in", "--time", "0 s", "--nominal", "3.75 in/s"), "--time is 0 s"),
        (("--length", "37 in", "--time", "10 s"), "--nominal is missing"),
        (("--length", "37 in", "--turns", "4", "--time", "10 s", "--nominal", "3.75 in/s"), "Keep one"),
        ((), "nothing was measured"),
        (("--footprint", "1 mm"), "--spec is missing"),
        (("--spec", EXAMPLES / "loop_drive_belt.yaml", "--pull", "1 N", "--arm", "9 mm"), "--at NAME"),
        (("--tone", "nowhere.wav", "--tone-frequency", "3150 Hz"), "nowhere.wav"),
        (("--machine", "nowhere.yaml"), "nowhere.yaml"),
        (("--turns", "100", "--time", "3 min", "--nominal", "33 rpm", "--record", "nowhere"), "no build"),
    ],
)
def test_unusable_options_end_with_two_and_say_what_to_do(arguments, words):
    done = run(*arguments, "--json")
    assert done.exit_code == UNUSABLE
    assert words in done.stderr
    assert json.loads(done.stdout)["problems"]


def test_person_reads_verdict_lines_and_parts(tmp_path):
    file, t = tmp_path / "tone.wav", np.arange(20 * 44100) / 44100
    hz = 95.25 / (math.pi * 6.935)  # the capstan of the belt-driven example, at its nominal speed
    phase = 2.0 * math.pi * 3150.0 * (t - 0.002 / (2.0 * math.pi * hz) * np.cos(2.0 * math.pi * hz * t))
    soundfile.write(file, 0.5 * np.sin(phase), 44100)
    done = run("--tone", file, "--tone-frequency", "3150 ± 3 Hz", "--machine", BELT_MACHINE)
    assert done.exit_code == DONE
    for words in ("Change nothing", "flywheel, capstan, once a turn", "IEC 60386", "pinch roller"):
        assert words in " ".join(done.stdout.split())


def test_timed_run_loads_neither_numerical_library_nor_kernel():
    code = (
        "import sys; from typer.testing import CliRunner; from moldgen.cli.app import app; "
        "r = CliRunner().invoke(app, ['run-test', '--length', '37 in', '--time', '10 s', '--nominal', '3.75 in/s']); "
        "assert r.exit_code == 0, r; "
        "print([m for m in ('scipy', 'numpy', 'soundfile', 'OCP', 'cadquery') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
