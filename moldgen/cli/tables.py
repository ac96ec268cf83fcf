"""What a person reads on the terminal: the same results that --json gives, as tables."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from moldgen.cli.terminal import Table, marked, say
from moldgen.naming import named, unit_at
from moldgen.spec.document import spelled
from moldgen.uncertainty import estimates

if TYPE_CHECKING:
    from moldgen.choosing import Ranked
    from moldgen.elastomers import Elastomer, Figure
    from moldgen.inspection.from_disk import Inspection
    from moldgen.remarks import Remark
    from moldgen.rings import Ring, RingInPlace
    from moldgen.sizing import Predicted, Sizing
    from moldgen.uncertainty import Uncertain

MOST_ALTERNATIVES: Final = 3


@contextlib.contextmanager
def progress(total: int) -> Iterator[Callable[[str], None]]:
    """A bar on standard error while parts are built; silent where standard error is no terminal."""
    if not sys.stderr.isatty():
        yield lambda name: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=total)
        begun = False

        def step(name: str) -> None:
            nonlocal begun
            bar.update(task, description=name, advance=1 if begun else 0)
            begun = True

        yield step


def print_sizing(sized: Sizing) -> None:
    """The four columns, what it will do, what to mind."""
    case = sized.case
    name = marked(case.name, "strong")
    where = f", {case.spec.machine}" if case.spec.machine else ""
    say(f"\n{name}  {case.family.title}{where}; {case.elastomer.label} ({case.elastomer.id})")
    _print_alternatives(sized.standard_rings)
    _print_measured(sized)
    _print_dimensions(sized)
    _print_predictions(sized.predictions)
    _print_readings(sized)
    say_remarks(sized.remarks)


def say_remarks(remarks: Iterable[Remark]) -> None:
    for remark in remarks:
        say(f"  {marked('Mind:', 'mind')} {remark.text}")


def _print_alternatives(found: Sequence[RingInPlace]) -> None:
    """First of all, what need not be cast."""
    for ring in found[:MOST_ALTERNATIVES]:
        of = ring.ring
        say(
            f"  {marked('Would do instead:', 'good')} round ring {of.standard} {of.size} ({of.inner_diameter_mm:g} × "
            f"{of.section_mm:g} mm), stretched {ring.stretch_ratio - 1.0:.1%}, "
            f"{ring.fitted_section_mm:.2f} mm thick in place"
        )


def _print_measured(sized: Sizing) -> None:
    given = sized.case.given
    readings = [(place, e) for place, e in estimates(given) if place[0] == "measured" and (e.u or e)]
    if readings:
        shown = ", ".join(
            f"{spelled(place[1:]).replace('_', ' ')} {value:.2f}{_plus_minus(1.96 * value.u)} "
            f"{unit_at(given.measured, place[1:])}"
            for place, value in readings
        )
        say(f"  measured  {shown}")


def _print_dimensions(sized: Sizing) -> None:
    table = Table(("mm", False), ("fitted", True), ("free", True), ("mold", True))
    names = list(dict.fromkeys((*sized.fitted, *sized.free, *sized.mold)))
    for name in names:
        label, unit = named(name)
        cells = [_dimension(stage.get(name)) for stage in (sized.fitted, sized.free, sized.mold)]
        table.add_row(label if unit == "mm" else f"{label} ({unit})", *cells)
    table.show()


def _dimension(value: Uncertain | None) -> str:
    return "" if value is None else f"{value.value:.2f}{_plus_minus(value.high - value.value)}"


def _plus_minus(half: float) -> str:
    return "" if half < 0.005 else f" ± {half:.2f}"


def _print_predictions(predictions: Sequence[Predicted]) -> None:
    alone = [item for item in predictions if not item.prediction.group]
    if alone:
        table = Table(("it will", False), ("", True), ("95 % range", True), ("", False), ("because", False))
        for item in alone:
            label, unit = named(item.prediction.name)
            table.add_row(label, _short(item.range.value), _spread(item.range), unit, item.prediction.basis)
        table.show()
    for group in dict.fromkeys(p.prediction.group for p in predictions if p.prediction.group):
        _print_group([item for item in predictions if item.prediction.group == group])


def _print_group(items: Sequence[Predicted]) -> None:
    """Like things side by side, a column each; what each figure rests on is in --json and on the sheet."""
    members = list(dict.fromkeys(item.prediction.member for item in items))
    ranges = {(item.prediction.name, item.prediction.member): item.range for item in items}
    table = Table(("", False), *((member, True) for member in members), ("", False))
    for name in dict.fromkeys(item.prediction.name for item in items):
        label, unit = named(name)
        table.add_row(label, *(_with_spread(ranges.get((name, member))) for member in members), unit)
    table.show()


def _spread(value: Uncertain) -> str:
    return f"{_short(value.low)} to {_short(value.high)}" if value.u else ""


def _with_spread(value: Uncertain | None) -> str:
    if value is None:
        return ""
    low, middle, high = _short(value.low), _short(value.value), _short(value.high)
    return middle if low == middle == high else f"{middle} ({low} to {high})"


def _short(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.3g}"


def _print_readings(sized: Sizing) -> None:
    if sized.readings:
        first = sized.readings[0]
        of, _ = named(first.of.removeprefix("mold."))
        parts = ", ".join(f"{r.field} {r.share:.0%}" for r in sized.readings[:4])
        say(f"  What makes the mold's {of} unsure: {parts}. Look at the first one again.")


def print_inspection(inspection: Inspection) -> None:
    """What does not hold, or that all does."""
    failed = [finding for finding in inspection.findings if not finding.passed]
    say(f"{marked(inspection.name, 'strong')}  {inspection.folder.as_posix()}")
    for finding in failed:
        say(f"  {marked(finding.proof, 'bad')}: {finding.text}")
    if not failed:
        say(f"  All {len(inspection.findings)} proofs hold.")


def print_rings(found: Sequence[Ring]) -> None:
    """The nearest rings, the nearest first."""
    table = Table(("standard", False), ("size", False), ("inside, mm", True), ("section, mm", True), ("printed", False))
    for ring in found:
        table.add_row(
            ring.standard,
            ring.size,
            f"{ring.inner_diameter_mm:.2f}{_plus_minus(ring.inner_diameter_tolerance_mm or 0.0)}",
            f"{ring.section_mm:.2f}{_plus_minus(ring.section_tolerance_mm)}",
            ring.printed,
        )
    table.show()


def print_elastomers(table: Sequence[Elastomer]) -> None:
    """The figures that decide; --json has all of them with their sources."""
    shown = Table(
        ("id", False),
        ("class", False),
        ("Shore A", True),
        ("E, MPa", True),
        ("shrinks, %", True),
        ("Pa·s", True),
        ("pot life, min", True),
        ("demould, h", True),
        ("A : B by weight", True),
    )
    for e in table:
        parts: Mapping[str, float] = {c.name: c.parts_by_weight for c in e.mix}
        ratio = " : ".join(f"{value:.3g}" for value in parts.values())
        shown.add_row(
            e.id,
            e.title,
            f"{e.hardness_shore_a.value:g}",
            _range(e.modulus_mpa),
            _range(e.linear_shrinkage, 100.0),
            _range(e.mixed_viscosity_pa_s),
            _range(e.pot_life_s, 1 / 60.0),
            _range(e.demould_s, 1 / 3600.0),
            ratio,
        )
    shown.show()
    classes = Table(("class", False), ("what spoils its cure", False), ("sticks to", False), ("release", False))
    for e in {e.chemistry: e for e in table}.values():
        classes.add_row(e.title, *("\n".join(phrases) for phrases in (e.inhibited_by, e.sticks_to, e.release)))
        classes.add_gap()
    classes.show()
    say(
        "Usual values with their range in brackets. Your supplier's sheet is right where it differs: "
        "put its figures into the spec."
    )


def print_ranked(order: Sequence[Ranked], ageing: Mapping[str, Sequence[str]], not_known: Sequence[str]) -> None:
    """The ranking, how the classes last, and what it does not know."""
    for place, one in enumerate(order, start=1):
        say(f"{place:2d}. {marked(one.elastomer.label, 'strong')} ({one.elastomer.id}), {one.verdict}:")
        say(f"    {'; '.join(one.reasons)}")
    say("How they last:")
    for title, notes in ageing.items():
        say(f"    {title}: {'; '.join(notes)}")
    say("What this does not know:")
    for text in not_known:
        say(f"    {text}")


def _range(figure: Figure, factor: float = 1.0) -> str:
    return f"{figure.value * factor:.3g} ({figure.low * factor:.2g}–{figure.high * factor:.3g})"
