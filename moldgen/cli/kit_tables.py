"""What `mix` says to a person: what the molds hold, and the cups in the order to mix them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from moldgen.casting.recipe import in_order
from moldgen.cli.terminal import Table, marked, say
from moldgen.pouring import MIXING_S

if TYPE_CHECKING:
    from moldgen.kitting import KitCup, WeighedKit


def print_kit(kit: WeighedKit) -> None:
    """What the molds hold, then a block for each cup in the order to mix them, then what to mind."""
    table = Table(
        ("part", False),
        ("elastomer", False),
        ("cavities", True),
        ("fillings", True),
        ("ml each", True),
        ("from", False),
    )
    for part in kit.parts:
        table.add_row(
            part.case.name,
            part.case.elastomer.id,
            f"{part.cavities}",
            f"{part.fillings}",
            f"{part.volume_mm3 / 1000:.2f}",
            part.volume_from,
        )
    table.show()
    shown: list[tuple[object, ...]] = []
    for number, cup in enumerate(kit.cups, start=1):
        # A later filling of the same molds is weighed in the same way: only its times differ.
        alike = (cup.elastomer.id, cup.batch.number, cup.batch.parts, cup.weigh_out)
        if alike in shown:
            name, same = marked(f"Cup {number}", "strong"), 1 + shown.index(alike)
            say(f"\n{name}  filling {cup.round}: as cup {same}, at {_at(cup)}.")
        else:
            _print_cup(number, len(kit.cups), cup)
        shown.append(alike)
    if kit.cups:
        say("\nZero the scale before each line: without zeroing, the ratio may be off by twice as much.")
    for remark in kit.warnings:
        if remark.code != "ratio_unsure":  # said where the cup is weighed
            say(f"{marked('Mind:', 'mind')} {remark.text}")


def _print_cup(number: int, count: int, cup: KitCup) -> None:
    need, mixed = cup.weigh_out, cup.mixed
    title = marked(f"Cup {number} of {count}   {cup.elastomer.label}", "strong")
    say(f"\n{title}  ({cup.elastomer.id})")
    table = Table(("", True), ("into the cup", False), ("weigh in, g", True), ("scale shows without zeroing, g", True))
    decimals = max(0, -math.floor(math.log10(mixed.scale_step_g) + 1e-9))
    shows = 0.0
    for line, part in enumerate(in_order(cup.elastomer, mixed), start=1):
        shows += part.grams
        table.add_row(f"{line}", part.name, marked(f"{part.grams:.{decimals}f}", "strong"), f"{shows:.{decimals}f}")
    table.show()
    say(
        f"{cup.batch.volume_mm3 / 1000:.2f} ml ({need.poured_g:.{decimals}f} g) go into the molds"
        + (f"; {need.spare:.0%} spare." if cup.sound is None else ".")
        + f" Ratio {mixed.ratio_error:.1%} off as written, {mixed.ratio_error_most:.0%} allowed."
    )
    if cup.sound is not None:
        say(
            f"Do not mix less: on a {mixed.scale_step_g:g} g scale the ratio of {need.batch_g:g} g may be off by "
            f"{need.ratio_error + need.reading_error_worst:.1%}." + _on_a_finer_scale(cup)
        )
    times = Table(("at, h:min", True), ("", False))
    start = cup.batch.starts_s
    times.add_row(_clock(start), f"The parts meet: stir, scrape, let stand; {MIXING_S / 60:.0f} min in all")
    now = start + MIXING_S
    for pour in cup.batch.pours:
        times.add_row(_clock(now), f"{marked(f'Fill {pour.name}', 'strong')}: {_minutes(pour.fill_s)}")
        now += pour.fill_s
    times.add_row(_clock(cup.sets_s), f"It sets; {_minutes(cup.sets_s - cup.batch.poured_s)} to spare")
    times.add_row(_clock(cup.batch.demould_s), "Open")
    times.show()


def _on_a_finer_scale(cup: KitCup) -> str:
    if cup.fine is None:
        return ""
    decimals = max(0, -math.floor(math.log10(cup.fine.scale_step_g) + 1e-9))
    grams = " + ".join(f"{part.grams:.{decimals}f} g {part.name}" for part in in_order(cup.elastomer, cup.fine))
    return f" On a {cup.fine.scale_step_g:g} g scale {grams} would do."


def _minutes(seconds: float) -> str:
    return f"{seconds / 60.0:.0f} min" if seconds >= 90.0 else f"{seconds:.0f} s"


def _at(cup: KitCup) -> str:
    return f"{_clock(cup.batch.starts_s)}, full by {_clock(cup.batch.poured_s)}, open at {_clock(cup.batch.demould_s)}"


def _clock(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}"
