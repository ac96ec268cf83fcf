"""What a fit puts into the user's files: values as a person would type them, and the files with these in them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from moldgen.case import Case
from moldgen.feedback.fit import NAMES, Design, Figure, Name, Refined
from moldgen.feedback.writing import with_values

TOLD: Final = 0.9
"""A figure is proposed for the spec if the readings leave it at most this share of the design's doubt."""

LONGEST_SOURCE: Final = 120
"""As a spec takes a line of text."""


@dataclass(frozen=True, slots=True)
class Change:
    """A value for one of the user's files."""

    section: str
    key: str
    before: str
    after: str

    @property
    def field(self) -> str:
        return f"{self.section}.{self.key}"

    def as_json(self) -> dict[str, str]:
        return {"field": self.field, "before": self.before, "after": self.after}


def changes(case: Case, design: Design, fit: Refined, *, source: str) -> Iterator[Change]:
    """What the spec ought to say instead, for every figure that the readings tell something of."""
    told = {
        name: fit.figures[name]
        for name, doubt in zip(NAMES, design.doubts, strict=True)
        if fit.figures[name].u < TOLD * doubt
    }
    if (figure := told.get("linear_shrinkage")) is not None:
        before = case.given.elastomer.linear_shrinkage
        half = _half_width(figure)
        after = f"{_rounded(100.0 * shrinkage_to_use(figure), 100.0 * half)} % ± {_two_digits(100.0 * half)} %"
        yield Change("elastomer", "linear_shrinkage", f"{100.0 * before:.3g} %", after)
        yield Change("elastomer", "source", "", _joined(case.elastomer.changed_by, source))
    printer, changed = case.printer, False
    rows: tuple[tuple[str, Name, float], ...] = (
        ("xy_scale", "print_scale", 0.0),
        ("hole_offset", "print_offset_mm", printer.hole_offset_mm - design.figures[2]),
        ("boss_offset", "print_offset_mm", printer.boss_offset_mm - design.figures[2]),
        ("z_offset", "print_z_offset_mm", 0.0),
    )
    for key, name, moved in rows:
        shown = told.get(name)
        if shown is None:
            continue
        changed = True
        unit = "" if key == "xy_scale" else " mm"
        half = _half_width(shown)
        before = getattr(printer, key if key == "xy_scale" else f"{key}_mm")
        after = f"{_rounded(shown.value + moved, half)} ± {_two_digits(half)}{unit}"
        yield Change("printer", key, f"{before:.4g}{unit}", after)
    if changed:
        yield Change("printer", "source", "", source)
    revision = case.spec.mold.revision
    yield Change("mold", "revision", str(revision), str(revision + 1))


def shrinkage_to_use(figure: Figure) -> float:
    """Rubber does not grow: a fit a little below nothing is nothing."""
    return max(figure.value, 0.0)


def _half_width(figure: Figure) -> float:
    """As a person would type it: the half-width whose standard uncertainty is the fit's."""
    return math.sqrt(3.0) * figure.u


def _two_digits(half: float) -> str:
    return f"{half:.{_decimals(half)}f}"


def _rounded(value: float, half: float) -> str:
    return f"{value:.{_decimals(half)}f}"


def _decimals(half: float) -> int:
    """So that the half-width shows two digits."""
    return max(0, 1 - math.floor(math.log10(half)))


def _joined(earlier: str, source: str) -> str:
    """The new source behind the earlier one, which other figures may still come from."""
    both = f"{earlier}; shrinkage: {source}"
    return both if earlier and len(both) <= LONGEST_SOURCE else source


def rewritten(case: Case, raw: bytes, changes: tuple[Change, ...]) -> dict[Path, tuple[bytes, bytes]]:
    """The user's files with the changes in them, as (old, new) bytes; nothing is written yet. `raw` is the spec's."""
    spec = Path(case.document.file)
    texts: dict[Path, str] = {spec: case.document.text}
    olds: dict[Path, bytes] = {spec: raw}
    by_section: dict[str, dict[str, str]] = {}
    for change in changes:
        by_section.setdefault(change.section, {})[change.key] = change.after
    for section, values in by_section.items():
        node = case.document.data.get(section)
        own = node.get("file") if isinstance(node, dict) else None
        path = spec.parent / own if isinstance(own, str) else spec
        if path not in texts:
            olds[path] = path.read_bytes()
            texts[path] = olds[path].decode("utf-8-sig")
        base = {"based_on": case.printer.based_on} if section == "printer" and node is None else {}
        texts[path] = with_values(
            texts[path],
            section=None if path != spec else section,
            values={**base, **values},
            file=path.as_posix(),
            short="based_on",
        )
    mark = b"\xef\xbb\xbf"
    return {
        path: (olds[path], (mark if olds[path].startswith(mark) else b"") + text.encode())
        for path, text in texts.items()
    }
