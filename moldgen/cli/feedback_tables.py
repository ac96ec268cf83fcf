"""What `refine` and `run-test` say to a person."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from moldgen.cli.tables import say_remarks
from moldgen.cli.terminal import Table, marked, say

if TYPE_CHECKING:
    from moldgen.feedback.fit import Figure
    from moldgen.feedback.refine import Refinement
    from moldgen.feedback.run_test import FlutterLine, RunTest

WORDS: Final = {
    "linear_shrinkage": ("shrinkage", "%", 100.0),
    "print_scale": ("printer's scale", "%", 100.0),
    "print_offset_mm": ("walls stand proud by", "mm", 1.0),
    "print_z_offset_mm": ("heights too large by", "mm", 1.0),
}


def print_refinement(refinement: Refinement) -> None:
    """What was found, what it would change, what was written."""
    case = refinement.case
    build = "no build" if refinement.build is None else refinement.build.folder.as_posix()
    say(f"\n{marked(case.name, 'strong')}  {len(refinement.castings.readings)} readings against {build}")
    table = Table(
        ("", False), ("found", True), ("95 % range", True), ("built for", True), ("", False), ("known", False)
    )
    for name, figure in refinement.fit.figures.items():
        table.add_row(*_row(name, figure))
    table.show()
    say_remarks(refinement.remarks)
    if not refinement.fit.significant:
        say("  Nothing to change: the readings agree with what the mold was built for.")
        return
    for change in refinement.changes:
        was = f" (was {change.before})" if change.before else ""
        say(f"  {change.field}: {change.after}{was}")
    moved = [
        f"{name.removesuffix('_mm').replace('_', ' ')} {before:.2f} -> {after:.2f}"
        for name, (before, after) in refinement.next_mold_mm.items()
        if f"{before:.2f}" != f"{after:.2f}"
    ]
    if moved:
        say(f"  The next mold: {', '.join(moved)} mm.")
    if refinement.written:
        say(f"  Written into {', '.join(refinement.written)}.")
    else:
        say("  Nothing was written; `--write` puts this into the spec.")


def _row(name: str, figure: Figure) -> tuple[str, ...]:
    words, unit, factor = WORDS[name]
    found, low, high, before = (f"{factor * x:.3f}" for x in (figure.value, figure.low, figure.high, figure.before))
    known = "yes" if figure.known else "no: the design's own figure stands in"
    return words, found, f"{low} to {high}", before, unit, known


def print_run_test(result: RunTest) -> None:
    """Speed, verdict, what to change, and what comes round."""
    speed, error = result.speed, result.error
    if speed is not None and error is not None and result.nominal is not None:
        say(
            f"\n{marked(f'{speed.value:.5g} {speed.unit}', 'strong')} in place of {result.nominal:.5g}: "
            f"{100 * error.value:+.3g} % ({100 * error.low:+.3g} to {100 * error.high:+.3g} %); {speed.basis}"
        )
        say(f"  {result.verdict}")
    for one in result.checks:
        expected = one.expected
        reading = f"{one.reading:.3g} {expected.unit}"
        say(f"  {expected.words}: {reading}, expected {expected.limits}; {one.verdict}")
    for correction in result.corrections:
        rubber = " (rubber)" if correction.lever.rubber else ""
        say(f"  Either {correction.text}{rubber}; {correction.low_mm:.3f} to {correction.high_mm:.3f} mm.")
    if result.tone is not None:
        _print_tone(result)
    if result.parts:
        table = Table(("comes round", False), ("Hz", True))
        for part in result.parts:
            table.add_row(part.name, f"{part.frequency_hz:.3f}")
        table.show()
    say_remarks(result.remarks)


def _print_tone(result: RunTest) -> None:
    tone = result.tone
    assert tone is not None
    reading = tone.reading
    say(
        f"  {tone.expected_hz:g} Hz reads {reading.frequency_hz:.2f} Hz; drift "
        f"{100 * reading.drift_per_min:+.2g} ± {196 * reading.drift_u_per_min:.1g} % a minute."
    )
    if tone.flutter is not None:
        say(
            f"  Peak flutter ±{100 * tone.flutter.weighted:.3f} %, unweighted ±{100 * tone.flutter.unweighted:.3f} %: "
            f"{tone.flutter.method}."
        )
    if tone.lines:
        table = Table(("Hz", True), ("±%", True), ("", False), ("suspects", False))
        for line in tone.lines:
            table.add_row(f"{line.frequency_hz:.3f}", f"{100 * line.deviation:.3f}", line.band, _suspects(line))
        table.show()


def _suspects(line: FlutterLine) -> str:
    words = {1: "once a turn", 2: "twice a turn", 3: "three times a turn"}
    return "; ".join(
        f"{one.name}, {words[one.times_per_turn]}"
        + (f" ({1000 * one.runout_mm:.0f} µm out of true)" if one.runout_mm is not None else "")
        for one in line.suspects
    )
