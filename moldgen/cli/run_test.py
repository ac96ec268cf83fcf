"""`moldgen run-test`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from moldgen.cli import exits
from moldgen.errors import MoldgenError, Problem, SpecError
from moldgen.quantities import Estimate, QuantityError, parsed, parsed_readings

if TYPE_CHECKING:
    from moldgen.feedback.bench_checks import Checked, Expected
    from moldgen.feedback.machine import Machine
    from moldgen.feedback.run_test import RunTest
    from moldgen.feedback.speed import Unit
    from moldgen.remarks import Remark
    from moldgen.spec.document import Document

WAYS: Final = ("--length", "--turns", "--bars", "--tone")


@dataclass(frozen=True, slots=True)
class Asked:
    """The options as typed."""

    length: str | None = None
    turns: str | None = None
    time: tuple[str, ...] = ()
    nominal: str | None = None
    runs: int = 1
    reaction: str | None = None
    bars: int | None = None
    mains: str = "50 Hz"
    passing: float = 0.0
    tone: Path | None = None
    tone_frequency: str | None = None
    machine: Path | None = None
    spec: Path | None = None
    footprint: str | None = None
    pull: str | None = None
    arm: str | None = None
    at: str | None = None
    way: str = "free"
    record: Path | None = None


def run(asked: Asked, *, as_json: bool) -> int:
    """Judges what was measured and prints it; returns the exit status."""
    try:
        result = _result(asked)
        if asked.record is not None:
            _noted(asked.record, result)
    except MoldgenError as error:
        exits.say_problems([error], as_json=as_json)
        return exits.UNUSABLE
    if as_json:
        exits.print_json(result.as_json())
    else:
        from moldgen.cli.feedback_tables import print_run_test

        print_run_test(result)
    return exits.DONE


def _result(asked: Asked) -> RunTest:
    given = [
        name
        for name, value in zip(WAYS, (asked.length, asked.turns, asked.bars, asked.tone), strict=True)
        if value is not None
    ]
    if len(given) > 1:
        raise _problem(given[1], "given too", f"one run is judged at a time, and {given[0]} is given", "Keep one.")
    checks = tuple(_checks(asked))
    machine = _machine(asked.machine)
    if not given and machine is None:
        if not checks:
            raise _problem("the options", "missing", "nothing was measured", f"Give one of {', '.join(WAYS)}.")
        from moldgen.feedback.run_test import RunTest

        wrong = [one for one in checks if not one.agrees]
        verdict = "; ".join(f"{one.expected.key}: {one.verdict}" for one in wrong) or "As expected."
        return RunTest(None, None, None, verdict, None, checks=checks)
    return replace(_speed_result(asked, given, machine), checks=checks)


def _speed_result(asked: Asked, given: list[str], machine: tuple[Machine, Document] | None) -> RunTest:
    from moldgen.feedback import run_test, speed

    if not given:
        assert machine is not None
        return run_test.computed(machine)
    if asked.tone is not None:
        tone = _quantity("--tone-frequency", asked.tone_frequency, "frequency")
        nominal = None if asked.nominal is None and machine is None else _nominal(asked.nominal, machine, None)
        return run_test.from_tone(asked.tone, tone, nominal=nominal, machine=machine)
    remarks: list[Remark] = []
    if asked.bars is not None:
        mains = _quantity("--mains", asked.mains, "frequency")
        watched = _quantity("--time", asked.time[0], "time") if asked.time else Estimate(speed.WATCHED_S)
        measured = speed.from_bars(
            bars=asked.bars,
            mains_hz=mains,
            mains_u_hz=mains.u or speed.MAINS_U * mains,
            passing=asked.passing,
            passing_u=speed.BAR_U,
            time_s=watched,
        )
    else:
        time, assumed = _time(asked)
        if assumed:
            remarks.append(_reaction_remark())
        if asked.length is not None:
            length = _quantity("--length", asked.length, "length")
            measured = speed.from_length(length_mm=length, length_u_mm=length.u, time_s=time, time_u_s=time.u)
        else:
            turns = _quantity("--turns", asked.turns, "number")
            measured = speed.from_turns(turns=turns, turns_u=turns.u, time_s=time, time_u_s=time.u)
    value, _ = _nominal(asked.nominal, machine, measured.unit)
    return run_test.judged(measured, value, machine=machine, remarks=remarks)


def _time(asked: Asked) -> tuple[Estimate, bool]:
    from moldgen.feedback.run_test import time_of_runs

    if not asked.time:
        raise _problem("--time", "missing", "the speed comes from it", "Give the time it took, such as `30.4 s`.")
    times = [_quantity("--time", text, "time") for text in asked.time]
    reaction = None if asked.reaction is None else _quantity("--reaction", asked.reaction, "time")
    return time_of_runs(times, runs=asked.runs, reaction_u_s=None if reaction is None else float(reaction))


def _reaction_remark() -> Remark:
    from moldgen.feedback.speed import REACTION_U_S
    from moldgen.remarks import Remark

    return Remark(
        "reaction_assumed",
        f"The time has no ±; a hand that catches start and stop to {REACTION_U_S:g} s each is taken. A longer run, or "
        "several, tell more.",
        "--time",
    )


def _nominal(text: str | None, machine: tuple[Machine, Document] | None, unit: Unit | None) -> tuple[Estimate, Unit]:
    """The nominal speed and its unit, as typed or as the machine file has it."""
    if text is None:
        if machine is None:
            raise _problem("--nominal", "missing", "the speed is judged by it", "Give it, such as `3 3/4 in/s`.")
        from moldgen.feedback.machine import nominal_speed

        own: Unit = "mm/s" if machine[0].capstan is not None else "min⁻¹"
        if unit is not None and own != unit:
            raise _problem("--nominal", "missing", f"the machine's own is in {own}, the run's in {unit}", "Give it.")
        return nominal_speed(machine[0]), own
    kinds: dict[Unit, str] = {"mm/s": "speed", "min⁻¹": "rotation"}
    if unit is not None:
        return _quantity("--nominal", text, kinds[unit]), unit
    try:
        return parsed(text, "speed"), "mm/s"
    except QuantityError:
        return _quantity("--nominal", text, "rotation"), "min⁻¹"


def _machine(path: Path | None) -> tuple[Machine, Document] | None:
    if path is None:
        return None
    from moldgen.feedback.machine import load

    return load(path)


def _checks(asked: Asked) -> Iterator[Checked]:
    """Bench checks against the sizing of a spec."""
    readings = (("--footprint", asked.footprint), ("--pull", asked.pull))
    wanted = [name for name, value in readings if value is not None]
    if not wanted:
        return
    if asked.spec is None:
        raise _problem("--spec", "missing", f"{wanted[0]} is judged by what a part's spec predicts", "Give the spec.")
    from moldgen import case, sizing
    from moldgen.feedback.bench_checks import checked, expected_checks, torque

    checks = expected_checks(sizing.size(case.load(asked.spec)))
    if asked.footprint is not None:
        footprint = _quantity("--footprint", asked.footprint, "length")
        yield checked(_only("--footprint", [c for c in checks if c.key == "nip_width_mm"]), footprint)
    if asked.pull is not None:
        turned = "lock_torque_nmm" if asked.way == "locked" else "drag_torque_nmm"
        about = [
            c
            for c in checks
            if c.key in ("hub_slip_torque_nmm", turned)
            or (c.key.startswith("pulleys.") and c.key.split(".")[1] == (asked.at or c.key.split(".")[1]))
        ]
        arm = _quantity("--arm", asked.arm, "length")
        yield checked(_only("--pull", about), torque(pull_n=_quantity("--pull", asked.pull, "force"), arm_mm=arm))


def _only(option: str, found: Sequence[Expected]) -> Expected:
    if len(found) == 1:
        return found[0]
    if not found:
        raise _problem(option, "given", "the spec predicts no such figure", "Add a `drive` section, or check the spec.")
    raise _problem(option, "given", "it may be meant for several pulleys", "Say which one by `--at NAME`.")


def _quantity(option: str, text: str | None, kind: str) -> Estimate:
    """An option as a quantity above zero; a list in brackets is the mean of its readings."""
    if text is None:
        raise _problem(option, "missing", "it is needed here", f"Give {option}.")
    stripped = text.strip()
    try:
        if stripped.startswith("[") and stripped.endswith("]"):
            value = parsed_readings([item.strip() for item in stripped[1:-1].split(",")], kind)
        else:
            value = parsed(text, kind)
    except QuantityError as error:
        raise _problem(option, text, error.limit, error.way_out) from None
    if value <= 0.0:
        raise _problem(option, text, "it is more than nothing", "Check the number.")
    return value


def _problem(option: str, given: str, limit: str, way_out: str) -> SpecError:
    return SpecError((Problem("command line", 1, option, given, limit, way_out),))


def _noted(folder: Path, result: RunTest) -> None:
    """Adds the result to the history of a build."""
    from moldgen.feedback import history
    from moldgen.feedback.builds import earlier_build

    if earlier_build(folder) is None:
        raise _problem("--record", str(folder), "there is no build in it", "Give a build's own folder, as out/NAME.")
    entry: dict[str, object] = {"date": date.today().isoformat(), "verdict": result.verdict}
    if result.speed is not None and result.error is not None:
        error = result.error
        entry["speed"] = f"{result.speed.value:.5g} {result.speed.unit} ({result.speed.basis})"
        entry["error_percent"] = f"{100 * error.value:.3g} ({100 * error.low:.3g} to {100 * error.high:.3g})"
    if result.checks:
        entry["checks"] = {one.expected.key: one.verdict for one in result.checks}
    if result.corrections:
        entry["corrections"] = [one.text for one in result.corrections]
    history.noted(folder, "ran", entry)
