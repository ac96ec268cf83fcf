"""The drive from motor to medium, worked by hand, and what to change on it."""

import math
from pathlib import Path

import pytest

from moldgen.errors import SpecError
from moldgen.feedback.corrections import corrected_mm, corrections, levers, percent_per_0_1mm, with_value
from moldgen.feedback.machine import computed_speed, end_speed, load, nominal_speed, suspects, turning
from moldgen.feedback.speed import SpeedError

EXAMPLES = Path(__file__).parents[2] / "part_specs"

BELT = """machine:
  name: a
  nominal_speed: 95.25 mm/s
  motor_speed: 1500 rpm
  drive:
    - kind: belt
      driver: {name: pulley, diameter: 12}
      driven: {name: wheel, diameter: 90}
      thickness: 1.55
      length: 400
  capstan: {diameter: 3.0, media_thickness: 0.035}
"""
RIM = """machine:
  name: b
  nominal_rotation: 33 1/3 rpm
  motor_speed: 1500 rpm
  drive:
    - kind: stepped_idler
      name: stepped
      driver: {name: pulley, diameter: 6.0}
      driven: {name: platter, diameter: 240}
      diameter_in: 45
      diameter_out: 40
"""
PLAIN = """machine:
  name: c
  nominal_rotation: 33 1/3 rpm
  motor_speed: 1500 rpm
  drive:
    - kind: idler
      name: idler
      driver: {name: pulley, diameter: 5.4}
      driven: {name: platter, diameter: 240}
      diameter: 42
"""
LONG = """machine:
  name: d
  nominal_speed: 190.5 mm/s
  motor_speed: 1450 rpm
  drive:
    - {kind: wheels, driver: {name: motor wheel, diameter: 10}, driven: {name: puck, diameter: 40}}
    - {kind: belt, driver: {name: small, diameter: 20}, driven: {name: large, diameter: 30}, thickness: 2, slip: 1 %}
  capstan: {diameter: 12.0}
"""


def machine(tmp_path, text):
    file = tmp_path / "machine.yaml"
    file.write_text(text, encoding="utf-8")
    return load(file)


def lever(drive, name, key="diameter"):
    return next(one for one in levers(drive) if (one.name, one.key) == (name, key))


@pytest.mark.parametrize(
    ("text", "speed"),
    [
        # By hand: 1500 (12 + 1.55)/(90 + 1.55) = 222.009; π (3.035) 222.009/60
        (BELT, math.pi * 3.035 * 1500.0 * 13.55 / 91.55 / 60.0),
        # 1500 (6/45)(40/240) = 33.3333
        (RIM, 100.0 / 3.0),
        # 1500 · 5.4/240: the idler of 42 mm drops out
        (PLAIN, 33.75),
        # 1450 (10/40) (22/32) 0.99; times π 12/60
        (LONG, math.pi * 12.0 * 1450.0 * 0.25 * 22.0 / 32.0 * 0.99 / 60.0),
    ],
)
def test_speed_at_the_end_is_that_of_the_chain_by_hand(tmp_path, text, speed):
    assert end_speed(machine(tmp_path, text)[0]) == pytest.approx(speed, rel=1e-12)


@pytest.mark.parametrize(
    ("v_mm_s", "diameter", "hz"), [(47.625, 2.5, 6.0638), (95.25, 5.0, 6.0638), (190.5, 8.0, 7.5798)]
)
def test_capstan_comes_round_speed_over_girth_times_a_second(tmp_path, v_mm_s, diameter, hz):
    # Arithmetic: f = v/(π d).
    head = f"machine:\n  name: e\n  nominal_speed: {v_mm_s} mm/s\n  motor_speed: {hz} Hz\n"
    text = f"{head}  capstan: {{diameter: {diameter}}}\n"
    drive, _ = machine(tmp_path, text)
    assert end_speed(drive) == pytest.approx(v_mm_s, rel=1e-4)
    (capstan,) = turning(drive)
    assert capstan.frequency_hz == pytest.approx(hz, rel=1e-9)
    assert capstan.name == "motor, capstan"


def test_every_part_comes_round_as_by_hand(tmp_path):
    parts = {part.name: part.frequency_hz for part in turning(machine(tmp_path, BELT)[0])}
    wheel = 25.0 * 13.55 / 91.55
    assert parts["motor, pulley"] == pytest.approx(25.0)
    assert parts["wheel, capstan"] == pytest.approx(wheel)
    assert parts["belt"] == pytest.approx(math.pi * 13.55 * 25.0 / 400.0)
    slow = {part.name: part.frequency_hz for part in turning(machine(tmp_path, BELT)[0], speed_ratio=0.98)}
    assert slow["belt"] == pytest.approx(0.98 * parts["belt"])
    plain = {part.name: part.frequency_hz for part in turning(machine(tmp_path, PLAIN)[0])}
    assert plain["idler"] == pytest.approx(25.0 * 5.4 / 42.0)
    stepped = {part.name: part.frequency_hz for part in turning(machine(tmp_path, RIM)[0])}
    assert stepped["stepped"] == pytest.approx(25.0 * 6.0 / 45.0)


@pytest.mark.parametrize(
    ("name", "key", "to_mm"),
    [
        # Reference, computed apart: pulleys 12 and 90, belt 1.55, 1.2 % too fast.
        ("belt", "thickness", 1.3618),
        ("pulley", "diameter", 11.839),
        ("wheel", "diameter", 91.099),
    ],
)
def test_belt_drive_is_corrected_as_in_the_reference(tmp_path, name, key, to_mm):
    drive, _ = machine(tmp_path, BELT)
    assert corrected_mm(drive, lever(drive, name, key), error=0.012) == pytest.approx(to_mm, rel=5e-5)


@pytest.mark.parametrize(("error", "to_mm"), [(-0.013158, 3.0405), (-0.016393, 3.0506)])
def test_capstan_is_corrected_as_in_the_reference(tmp_path, error, to_mm):
    # Reference, computed apart: capstan of 3 mm, tape of 0.035 mm: (d + t)/(1 + e) - t.
    drive, _ = machine(tmp_path, BELT)
    assert corrected_mm(drive, lever(drive, "capstan"), error=error) == pytest.approx(to_mm, rel=2e-5)


@pytest.mark.parametrize("text", [BELT, RIM, PLAIN, LONG])
@pytest.mark.parametrize("error", [-0.031, -0.002, 0.0007, 0.012, 0.05])
def test_corrected_machine_runs_at_the_wanted_speed(tmp_path, text, error):
    drive, _ = machine(tmp_path, text)
    as_it_runs = nominal_speed(drive) * (1.0 + error)
    tried = 0
    for one in levers(drive):
        new = corrected_mm(drive, one, error=error)
        if new is None:
            continue
        tried += 1
        changed = end_speed(with_value(drive, one.place, new)) / end_speed(drive)
        assert as_it_runs * changed == pytest.approx(nominal_speed(drive), rel=1e-9)
    assert tried >= 2


def test_plain_idler_is_never_offered(tmp_path):
    drive, document = machine(tmp_path, PLAIN)
    offered = {one.lever.name for one in corrections(drive, document, error=SpeedError(0.02, 0.001))}
    assert offered == {"pulley", "platter"}
    assert end_speed(with_value(drive, ("drive", 0, "diameter_mm"), 50.0)) == end_speed(drive)


def test_stepped_idler_is_offered_at_either_step(tmp_path):
    drive, document = machine(tmp_path, RIM)
    offered = {
        (one.lever.name, one.lever.key): one.to_mm
        for one in corrections(drive, document, error=SpeedError(0.02, 0.001))
    }
    # The ratio has Dout/Din: 40/1.02 or 45 · 1.02.
    assert offered["stepped", "diameter_out"] == pytest.approx(40.0 / 1.02, rel=1e-9)
    assert offered["stepped", "diameter_in"] == pytest.approx(45.0 * 1.02, rel=1e-9)


def test_error_below_twice_its_uncertainty_changes_nothing(tmp_path):
    drive, document = machine(tmp_path, BELT)
    assert corrections(drive, document, error=SpeedError(0.0199, 0.01)) == ()
    assert corrections(drive, document, error=SpeedError(0.0201, 0.01)) != ()


def test_correction_carries_the_doubt_of_the_speed(tmp_path):
    drive, document = machine(tmp_path, BELT)
    capstan = next(c for c in corrections(drive, document, error=SpeedError(0.012, 0.002)) if c.lever.name == "capstan")
    # d = 3.035/(1 + e) - 0.035 at e = 0.012 ± 1.96 · 0.002
    assert capstan.low_mm == pytest.approx(3.035 / (1.012 + 0.00392) - 0.035, abs=1e-6)
    assert capstan.high_mm == pytest.approx(3.035 / (1.012 - 0.00392) - 0.035, abs=1e-6)


def test_sensitivities_are_the_derivatives(tmp_path):
    drive, _ = machine(tmp_path, BELT)
    # d ln v/dD1 = 1/(D1 + a), /dD2 = -1/(D2 + a), /da their difference; per 0.1 mm in per cent.
    assert percent_per_0_1mm(drive, lever(drive, "pulley")) == pytest.approx(10.0 / 13.55, rel=1e-6)
    assert percent_per_0_1mm(drive, lever(drive, "wheel")) == pytest.approx(-10.0 / 91.55, rel=1e-6)
    assert percent_per_0_1mm(drive, lever(drive, "belt", "thickness")) == pytest.approx(
        10.0 / 13.55 - 10.0 / 91.55, rel=1e-6
    )


def test_uncertainty_of_the_speed_is_that_of_its_readings(tmp_path):
    text = PLAIN.replace("1500 rpm", "1500 ± 15 rpm").replace("diameter: 5.4", "diameter: 5.40 ± 0.02 mm")
    drive, _ = machine(tmp_path, text.replace("diameter: 42", "diameter: 42 ± 1 mm"))
    speed = computed_speed(drive)
    # A product: relative variances add, JCGM 100:2008, 5.1.6; the idler brings nothing.
    assert speed.u / speed.value == pytest.approx(math.hypot(0.01, 0.02 / 5.4) / math.sqrt(3.0), rel=1e-4)
    assert speed.share(("drive", 0, "diameter")) == 0.0


def test_belt_of_a_spec_comes_as_a_change_to_that_spec(tmp_path):
    drive, document = load(EXAMPLES / "machines" / "loop_player_with_belt.yaml")
    first = corrections(drive, document, error=SpeedError(0.012, 0.001))[0]
    assert first.change is not None
    assert Path(first.change.file).name == "loop_drive_belt.yaml"
    assert first.change.field == "wanted.height"
    assert first.change.before_mm == 2.0
    assert first.change.after_mm == pytest.approx(first.to_mm)
    assert "wanted.height" in first.text


def test_tyre_of_a_spec_on_a_driven_wheel_comes_as_its_fitted_diameter(tmp_path):
    (tmp_path / "tyre.yaml").write_text("family: idler_tyre\nwanted: {fitted_diameter: 40.2 mm}\n", encoding="utf-8")
    text = LONG.replace("{name: puck, diameter: 40}", "{name: puck, diameter: 40, spec: tyre.yaml}")
    drive, document = machine(tmp_path, text)
    first = corrections(drive, document, error=SpeedError(0.02, 0.001))[0]
    assert first.change is not None
    # Too fast by 2 %: the driven puck grows by 2 %, and the spec by as many millimetres.
    assert first.change.after_mm == pytest.approx(40.2 + 0.8, abs=1e-6)
    assert first.lever.rubber


@pytest.mark.parametrize(
    ("old", "new", "line", "field", "words"),
    [
        ("      thickness: 1.55\n", "", 6, "machine.drive[1].thickness", "depends on it"),
        ("length: 400", "diameter: 20", 10, "machine.drive[1].diameter", "has none"),
        ("nominal_speed: 95.25 mm/s", "nominal_rotation: 45 rpm", 3, "machine.nominal_rotation", "judged by"),
        ("kind: belt", "kind: chain", 6, "machine.drive[1].kind", "choices"),
        ("motor_speed", "motr_speed", 4, "machine.motr_speed", "Did you mean `motor_speed`"),
        ("length: 400", "slip: 60 %", 10, "machine.drive[1].slip", "no drive"),
    ],
)
def test_machine_that_does_not_fit_together_is_told_with_its_line(tmp_path, old, new, line, field, words):
    with pytest.raises(SpecError) as caught:
        machine(tmp_path, BELT.replace(old, new))
    told = next(problem for problem in caught.value.problems if problem.field == field)
    assert told.line == line
    assert words in str(told)


def test_spec_that_is_not_there_is_named(tmp_path):
    drive, document = machine(tmp_path, BELT.replace("length: 400", "spec: nowhere.yaml"))
    with pytest.raises(SpecError, match=r"machine\.drive\[1\]\.spec"):
        corrections(drive, document, error=SpeedError(0.02, 0.001))


@pytest.mark.parametrize("example", sorted((EXAMPLES / "machines").glob("*.yaml")), ids=lambda path: path.stem)
def test_example_machines_run_at_their_nominal_speed(example):
    drive, _ = load(example)
    speed = computed_speed(drive)
    assert speed.low <= nominal_speed(drive) <= speed.high


def test_flutter_once_a_turn_names_the_shaft_and_its_eccentricity(tmp_path):
    parts = turning(machine(tmp_path, BELT)[0])
    hz = 25.0 * 13.55 / 91.55
    first = suspects(parts, frequency_hz=hz * 1.001, u_hz=0.005, deviation=0.004)[0]
    assert (first.name, first.times_per_turn) == ("wheel, capstan", 1)
    # e/r: 0.4 % on the 1.5 mm of the capstan.
    assert first.runout_mm == pytest.approx(0.006)


def test_flutter_twice_a_turn_is_told_as_such(tmp_path):
    parts = turning(machine(tmp_path, PLAIN)[0])
    first = suspects(parts, frequency_hz=2.0 * 25.0 * 5.4 / 42.0, u_hz=0.001, deviation=0.001)[0]
    assert (first.name, first.times_per_turn, first.runout_mm) == ("idler", 2, None)


def test_flutter_of_nothing_in_the_machine_has_no_suspect(tmp_path):
    assert suspects(turning(machine(tmp_path, PLAIN)[0]), frequency_hz=17.0, u_hz=0.01, deviation=0.001) == ()
