"""Sheets taken apart as a reader would: numbers, texts, links and what a browser would ask the network for."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from moldgen import case, job, sizing

SPECS = Path(__file__).parents[2] / "part_specs"
VOID = ("meta", "img", "input", "br", "link", "hr")


def built(name: str, out: Path, *, pdf: bool = False) -> job.Build:
    return job.build(sizing.size(case.load(SPECS / f"{name}.yaml")), out, pdf=pdf)


@dataclass
class Element:
    """One element with its own text and that of all within it."""

    tag: str
    attributes: dict[str, str]
    text: str = ""
    inside_svg: bool = False
    said: bool = False
    """It, or an element round it, claims to be from the record."""


@dataclass
class Page(HTMLParser):
    """All elements in their order; complains where tags do not nest."""

    source: str
    elements: list[Element] = field(default_factory=list)
    loose: list[str] = field(default_factory=list)
    """Pieces of text that no element takes from the record."""

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[Element] = []
        self.feed(self.source)
        self.close()
        assert not self.open, f"never closed: {[element.tag for element in self.open]}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        element.inside_svg = tag == "svg" or any(outer.tag == "svg" for outer in self.open)
        element.said = "data-key" in element.attributes or any(outer.said for outer in self.open)
        self.elements.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag if self.open else ''}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        for element in self.open:
            element.text += data
        inner = self.open[-1] if self.open else None
        if inner and not inner.said and not inner.inside_svg and inner.tag not in ("style", "script", "title"):
            self.loose.append(data)

    def with_key(self, tag: str | None = None) -> list[Element]:
        return [e for e in self.elements if "data-key" in e.attributes and tag in (None, e.tag)]


def looked_up(record: Any, key: str) -> Any:
    for step in key.split("."):
        record = record[int(step)] if isinstance(record, list) else record[step]
    return record


def number_of(element: Element, record: Any) -> tuple[float, float, float]:
    """What the record says in the shown unit, what is shown, and half a step of the last digit that is shown."""
    found = looked_up(record, element.attributes["data-key"])
    value = float(len(found)) if isinstance(found, list) else float(found)
    if "data-less" in element.attributes:
        value -= float(looked_up(record, element.attributes["data-less"]))
    text = element.text.replace("−", "-")
    digits = text.partition("e")[0].lstrip("-")
    exponent = int(text.partition("e")[2] or 0)
    step = 10.0 ** (exponent - len(digits.partition(".")[2]))
    return value / float(element.attributes.get("data-per", "1")), float(text), 0.5 * step
