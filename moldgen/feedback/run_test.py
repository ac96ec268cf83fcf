"""`moldgen run-test`: how fast the machine runs, whether that matters, and what to change on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from moldgen.feedback.speed import (
    REACTION_U_S,
    Measured,
    SpeedError,
    Unit,
    speed_error,
    timing_u_s,
    usual_speed,
    verdict,
)
from moldgen.quantities import Estimate, mean_of_readings
from moldgen.remarks import Remark
from moldgen.uncertainty import COVERAGE_95

if TYPE_CHECKING:  # each only where it is used: most runs have no tone, or no machine, or nothing that a spec predicts
    from moldgen.feedback.bench_checks import Checked
    from moldgen.feedback.corrections import Correction
    from moldgen.feedback.flutter import PeakFlutter
    from moldgen.feedback.machine import Machine, Suspect, Turning
    from moldgen.feedback.tone import Line, ToneReading
    from moldgen.spec.document import Document

SCHEMA: Final = "moldgen/run-test/1"


@dataclass(frozen=True, slots=True)
class FlutterLine:
    """A line of the tone's flutter and the parts that may be behind it."""

    frequency_hz: float
    u_hz: float
    deviation: float
    u: float
    band: str
    suspects: tuple[Suspect, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "frequency_hz": _digits(self.frequency_hz),
            "frequency_u_hz": _digits(self.u_hz),
            "deviation_percent": _interval(100.0 * self.deviation, 100.0 * self.u),
            "band": self.band,
            "suspects": [
                {
                    "part": one.name,
                    "times_per_turn": one.times_per_turn,
                    "rotation_hz": _digits(one.frequency_hz),
                    "eccentricity_mm": None if one.runout_mm is None else _digits(one.runout_mm),
                }
                for one in self.suspects
            ],
        }


@dataclass(frozen=True, slots=True)
class ToneResult:
    """What the recording said."""

    reading: ToneReading
    expected_hz: float
    lines: tuple[FlutterLine, ...]
    flutter: PeakFlutter | None

    def as_json(self) -> dict[str, Any]:
        reading, flutter = self.reading, self.flutter
        return {
            "expected_hz": _digits(self.expected_hz),
            "frequency_hz": _digits(reading.frequency_hz),
            "drift_percent_per_min": _interval(100.0 * reading.drift_per_min, 100.0 * reading.drift_u_per_min),
            "seconds": _digits(reading.seconds),
            "lost_share": _digits(reading.lost),
            "lines": [line.as_json() for line in self.lines],
            "flutter": None
            if flutter is None
            else {
                "weighted_percent": _digits(100.0 * flutter.weighted),
                "unweighted_percent": _digits(100.0 * flutter.unweighted),
                "by_standard": flutter.by_standard,
                "method": flutter.method,
            },
        }


@dataclass(frozen=True)
class RunTest:
    """The answer of `moldgen run-test`."""

    speed: Measured | None
    nominal: Estimate | None
    error: SpeedError | None
    verdict: str
    tolerance: tuple[float, float, str] | None
    corrections: tuple[Correction, ...] = ()
    machine: Machine | None = None
    parts: tuple[Turning, ...] = ()
    tone: ToneResult | None = None
    checks: tuple[Checked, ...] = ()
    remarks: tuple[Remark, ...] = field(default=())

    @property
    def significant(self) -> bool:
        """Whether anything found calls for a change."""
        return (self.error is not None and self.error.significant) or any(not one.agrees for one in self.checks)

    def as_json(self) -> dict[str, Any]:
        """The contract's `run-test` object."""
        speed, error = self.speed, self.error
        return {
            "schema": SCHEMA,
            "speed": None
            if speed is None
            else {**_interval(speed.value, speed.u), "unit": speed.unit, "basis": speed.basis},
            "nominal": None if self.nominal is None else {"value": _digits(self.nominal), "text": self.nominal.text},
            "error_percent": None if error is None else _interval(100.0 * error.value, 100.0 * error.u),
            "significant": self.significant,
            "verdict": self.verdict,
            "tolerance_percent": None
            if self.tolerance is None
            else {
                "low": _digits(100.0 * self.tolerance[0]),
                "high": _digits(100.0 * self.tolerance[1]),
                "source": self.tolerance[2],
            },
            "corrections": [one.as_json() for one in self.corrections],
            "machine": None if self.machine is None else _machine_json(self.machine, self.parts),
            "tone": None if self.tone is None else self.tone.as_json(),
            "checks": [one.as_json() for one in self.checks],
            "warnings": [{"code": r.code, "text": r.text, "field": r.field} for r in self.remarks],
        }


def _machine_json(machine: Machine, parts: tuple[Turning, ...]) -> dict[str, Any]:
    from moldgen.feedback.corrections import levers, percent_per_0_1mm
    from moldgen.feedback.machine import computed_speed

    computed = computed_speed(machine)
    return {
        "name": machine.name,
        "computed_speed": _interval(computed.value, computed.u),
        "parts": [{"name": part.name, "frequency_hz": _digits(part.frequency_hz)} for part in parts],
        "sensitivities": [
            {
                "part": lever.name,
                "dimension": f"{lever.key}_mm",
                "percent_per_0_1mm": _digits(percent_per_0_1mm(machine, lever)),
                "rubber": lever.rubber,
            }
            for lever in levers(machine)
        ]
        + [
            {"part": link.label, "dimension": "diameter_mm", "percent_per_0_1mm": 0.0, "rubber": True}
            for link in machine.drive
            if link.kind == "idler"
        ],
    }


def _interval(value: float, u: float) -> dict[str, float]:
    return {"value": _digits(value), "low": _digits(value - COVERAGE_95 * u), "high": _digits(value + COVERAGE_95 * u)}


def _digits(value: float) -> float:
    return float(f"{value:.8g}")


# --- the tests -------------------------------------------------------------------------------------------------------


def time_of_runs(times: Sequence[Estimate], *, runs: int, reaction_u_s: float | None) -> tuple[Estimate, bool]:
    """The mean time of one or several runs with its uncertainty, and whether a hand's reaction was assumed.

    Typed ± is the time's own, start and stop in it. A time typed without ± was stopped by hand, `REACTION_U_S` at each
    end. Several times show their own scatter; the larger of the two counts, since a few runs may agree by luck.
    """
    count = max(runs, len(times))
    assumed = reaction_u_s is None and all(time.u == 0.0 for time in times)
    reaction = REACTION_U_S if assumed else reaction_u_s or 0.0
    mean = mean_of_readings(times)
    own = max(time.u for time in times)
    scatter = math.sqrt(max(mean.u**2 - own**2, 0.0))
    ends = timing_u_s(time_u_s=0.0, reaction_u_s=reaction, runs=count)
    return Estimate(mean, u=math.hypot(own, max(scatter, ends)), text=mean.text), assumed


def judged(
    speed: Measured, nominal: Estimate, *, machine: tuple[Machine, Document] | None, remarks: Sequence[Remark] = ()
) -> RunTest:
    """The verdict on a speed, and what to change on the machine where that is called for."""
    error = speed_error(measured=speed, nominal=nominal, nominal_u=nominal.u)
    return _with_error(RunTest(speed, nominal, error, "", None, remarks=tuple(remarks)), error, speed.unit, machine)


def computed(machine: tuple[Machine, Document]) -> RunTest:
    """The same for a machine that was only measured: the speed that its drive leads to."""
    from moldgen.feedback.machine import computed_speed, nominal_speed

    drive = machine[0]
    speed = computed_speed(drive)
    unit: Unit = "mm/s" if drive.capstan is not None else "min⁻¹"
    basis = "computed from the motor's speed and the drive's dimensions"
    return judged(Measured(speed.value, speed.u, unit, basis), nominal_speed(drive), machine=machine)


def from_tone(
    path: Path,
    tone: Estimate,
    *,
    nominal: tuple[Estimate, Unit] | None,
    machine: tuple[Machine, Document] | None,
    remarks: Sequence[Remark] = (),
) -> RunTest:
    """The verdict on a recorded test tone. Raises ToneError or OutputError where it cannot be used."""
    from moldgen.feedback.flutter import peak_flutter
    from moldgen.feedback.tone import read_tone, recording

    samples, rate_hz = recording(path)
    reading = read_tone(samples, rate_hz, float(tone))
    error = SpeedError(reading.error, (1.0 + reading.error) * math.hypot(reading.u, tone.u / tone))
    basis = f"{reading.seconds:.1f} s of a {tone:g} Hz tone, against the recorder's own clock"
    if nominal is None:
        speed, value = Measured(reading.frequency_hz, error.u * tone, "Hz", basis), tone
    else:
        value, unit = nominal
        speed = Measured(value * (1.0 + error.value), value * error.u, unit, basis)
    flutter = peak_flutter(track=reading.followed, error=reading.error, expected_hz=float(tone))
    result = RunTest(speed, value, error, "", None, remarks=(*remarks, *_tone_remarks(reading, tone)))
    result = _with_error(result, error, speed.unit, machine)
    lines = tuple(
        FlutterLine(
            line.frequency_hz,
            line.u_hz,
            line.deviation,
            line.u,
            _band(line.frequency_hz),
            _suspects(result.parts, line),
        )
        for line in reading.lines
    )
    return replace(result, tone=ToneResult(reading, float(tone), lines, flutter))


def _with_error(result: RunTest, error: SpeedError, unit: Unit, machine: tuple[Machine, Document] | None) -> RunTest:
    """With the verdict, the usual tolerance and, where there is a machine, its parts and the changes called for."""
    nominal = result.nominal
    usual = None if nominal is None else usual_speed(nominal=nominal, unit=unit)
    result = replace(
        result,
        verdict=verdict(error=error, usual=usual),
        tolerance=None if usual is None else (usual.low, usual.high, usual.source),
    )
    if machine is None:
        return result
    from moldgen.feedback.corrections import corrections
    from moldgen.feedback.machine import end_speed, nominal_speed, turning

    drive, document = machine
    true_over_computed = nominal_speed(drive) * (1.0 + error.value) / end_speed(drive)
    return replace(
        result,
        machine=drive,
        parts=turning(drive, speed_ratio=true_over_computed),
        corrections=corrections(drive, document, error=error),
    )


def _suspects(parts: tuple[Turning, ...], line: Line) -> tuple[Suspect, ...]:
    if not parts:
        return ()
    from moldgen.feedback.machine import suspects

    return suspects(parts, frequency_hz=line.frequency_hz, u_hz=line.u_hz, deviation=line.deviation)


def _band(frequency_hz: float) -> str:
    """Drift, wow or flutter by the limits in common use, 0.5 and 6 Hz (a measurement forum's note)."""
    return "drift" if frequency_hz < 0.5 else "wow" if frequency_hz <= 6.0 else "flutter"


def _tone_remarks(reading: ToneReading, tone: Estimate) -> tuple[Remark, ...]:
    remarks = []
    if tone.u == 0.0:
        remarks.append(
            Remark("tone_taken_as_exact", "The tone on the medium is taken as exact; a test tape states its own ±.")
        )
    if reading.lost > 0.0:
        remarks.append(
            Remark("dropouts", f"The tone drops out for {reading.lost:.1%} of the time; nothing was taken from there.")
        )
    if abs(reading.drift_per_min) > 2.0 * reading.drift_u_per_min and abs(reading.drift_per_min) > 1e-4:
        remarks.append(
            Remark(
                "drift",
                f"The speed drifts by {100.0 * reading.drift_per_min:+.2g} % in a minute: let the machine warm up, or "
                "look for a belt that slips or a brake that drags.",
            )
        )
    return tuple(remarks)
