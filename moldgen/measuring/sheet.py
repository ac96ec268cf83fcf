"""The measuring sheet of a family as PDF: its fields with boxes, what they are in drawings, and how to reach them."""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from types import ModuleType
from typing import Any, Final

from moldgen import families
from moldgen.drawing.model import Drawing
from moldgen.drawing.sheet import WIDTH_MM, Titled, in_column, in_rows
from moldgen.drawing.svg import svg_text
from moldgen.measuring.advice import ADVICE, Advice
from moldgen.measuring.fields import Asked, AskedSection, asked, lettered
from moldgen.paper.typesetting import Document, typeset
from moldgen.spec.sections import Readings

ALWAYS: Final = "readings"
GAP_MM: Final = 6.0
RIM_MM: Final = 1.0
MEMBERS: Final = 4
"""Blocks for several like things, such as pulleys, on one sheet."""
OWN_READINGS: Final = 8
"""Blank rows of a family whose readings have names of the person's own."""


def measuring_sheet(name: str) -> bytes:
    """The sheet of a family as a PDF. Raises families.UnknownFamilyError, or OutputError where no PDF can be made."""
    return typeset(document(name))


def document(name: str) -> Document:
    """What the sheet of a family says. Raises families.UnknownFamilyError."""
    family = families.find(name)
    sections = asked(family)
    own = _own(name)
    files: dict[str, bytes] = {}
    shown = tuple(own.figures(lettered(sections).__getitem__)) if own else ()
    data = {
        "family": name,
        "title": family.title,
        "figures": _drawn("figures.svg", f"What to measure: {family.title}", shown, files),
        "sections": [_section(section) for section in sections],
        "members": MEMBERS,
        "own_readings": OWN_READINGS if issubclass(family.measured, Readings) else 0,
        "advice": list(_advised((ALWAYS, *(own.ADVICE if own else ())), files)),
    }
    return Document("measuring.typ", data, files)


def _own(name: str) -> ModuleType | None:
    """The file of drawings that a family has, if it has one."""
    module = f"{__package__}.figures.{name}"
    return importlib.import_module(module) if importlib.util.find_spec(module) else None


def _section(section: AskedSection) -> dict[str, Any]:
    return {
        "name": section.name,
        "fields": [_field(field) for field in section.fields],
        "lists": [
            {"key": key, "description": description, "fields": [_field(field) for field in fields]}
            for key, description, fields in section.lists
        ],
    }


def _field(field: Asked) -> dict[str, Any]:
    return {**asdict(field), "name": field.name}


def _advised(names: Sequence[str], files: dict[str, bytes]) -> Iterator[dict[str, Any]]:
    for name in names:
        advice: Advice = ADVICE[name]
        views = advice.drawn() if advice.drawn is not None else ()
        yield {
            "title": advice.title,
            "says": list(advice.says),
            "drawing": _drawn(f"{name}.svg", advice.title, views, files),
        }


def _drawn(file: str, title: str, views: Sequence[Titled], files: dict[str, bytes]) -> str:
    """Sets views out in rows as wide as the page, adds them to the files, and says under which name; "" for none."""
    if not views:
        return ""
    files[file] = svg_text(laid_out(title, views)).encode("utf-8")
    return file


def laid_out(title: str, views: Sequence[Titled]) -> Drawing:
    """Views in rows as wide as the page, with a rim of paper round them."""
    rows = in_rows(views, gap_mm=GAP_MM)
    assert rows is not None, f"a figure of {title} is wider than the page"
    arranged = in_column(rows, gap_mm=GAP_MM)
    placed = tuple(view.moved(0.0, RIM_MM) for view in arranged.views)
    return Drawing(title, title, 1.0, WIDTH_MM, arranged.height_mm + 2.0 * RIM_MM, placed)
