"""What `refine` and `run-test` say to a person."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from rich import box
from rich.table import Table

from moldgen.cli.tables import console

if TYPE_CHECKING:
    from moldgen.feedback.fit import Figure
    from moldgen.feedback.refine import Refinement

WORDS: Final = {
    "linear_shrinkage": ("shrinkage", "%", 100.0),
    "print_scale": ("printer's scale", "%", 100.0),
    "print_offset_mm": ("walls stand proud by", "mm", 1.0),
    "print_z_offset_mm": ("heights too large by", "mm", 1.0),
}


def print_refinement(refinement: Refinement) -> None:
    """What was found, what it would change, what was written."""
    out = console()
    case = refinement.case
    build = "no build" if refinement.build is None else refinement.build.folder.as_posix()
    out.print(f"\n[bold]{case.name}[/bold]  {len(refinement.castings.readings)} readings against {build}")
    table = _table(
        ("", False), ("found", True), ("95 % range", True), ("built for", True), ("", False), ("known", False)
    )
    for name, figure in refinement.fit.figures.items():
        table.add_row(*_row(name, figure))
    out.print(table)
    for remark in refinement.remarks:
        out.print(f"  [yellow]Mind:[/yellow] {remark.text}")
    if not refinement.fit.significant:
        out.print("  Nothing to change: the readings agree with what the mold was built for.")
        return
    for change in refinement.changes:
        was = f" (was {change.before})" if change.before else ""
        out.print(f"  {change.field}: {change.after}{was}")
    moved = [
        f"{name.removesuffix('_mm').replace('_', ' ')} {before:.2f} -> {after:.2f}"
        for name, (before, after) in refinement.next_mold_mm.items()
        if f"{before:.2f}" != f"{after:.2f}"
    ]
    if moved:
        out.print(f"  The next mold: {', '.join(moved)} mm.")
    if refinement.written:
        out.print(f"  Written into {', '.join(refinement.written)}.")
    else:
        out.print("  Nothing was written; `--write` puts this into the spec.")


def _row(name: str, figure: Figure) -> tuple[str, ...]:
    words, unit, factor = WORDS[name]
    found, low, high, before = (f"{factor * x:.3f}" for x in (figure.value, figure.low, figure.high, figure.before))
    known = "yes" if figure.known else "no: the design's own figure stands in"
    return words, found, f"{low} to {high}", before, unit, known


def _table(*columns: tuple[str, bool]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for title, right in columns:
        table.add_column(title, justify="right" if right else "left", overflow="fold")
    return table
