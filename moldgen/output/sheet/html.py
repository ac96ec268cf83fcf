"""Writes the job sheet: one HTML file that holds pictures, 3D view and drawings, and asks nothing of a network."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from moldgen.output.sheet.data import job_sheet

if TYPE_CHECKING:
    from moldgen.output.sheet.look import Look

HERE: Final = Path(__file__).parent
SHEET_FILE: Final = "sheet.html"
PART_PICTURE: Final = "part.png"
PICTURES: Final = (
    (PART_PICTURE, "The part as it comes out of the mold."),
    ("mold_open.png", "The mold open on the bench: lower half left or behind, upper half turned over."),
    ("mold_apart.png", "Pulled apart, from the bottom up."),
)
"""File and caption of each scene."""
SECTIONS: Final = (
    ("buy", "Buy instead?"),
    ("look", "Pictures"),
    ("sizes", "Sizes"),
    ("does", "What it will do"),
    ("drawings", "Drawings"),
    ("print", "Print"),
    ("pour", "Pour"),
    ("check", "Check"),
    ("proofs", "Proofs"),
    ("sources", "Sources"),
)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as it stands in the page."""

    png: str
    width: int
    height: int
    caption: str


def write_sheet(folder: Path, content: Mapping[str, Any], *, family: str, look: Look, drawings: Iterable[str]) -> None:
    """Writes the page of a build's record with its drawings (`svg` elements), and its pictures as files."""
    sheet = job_sheet(dict(content), family=family)
    text = page(
        "sheet.html.j2",
        sheet=sheet,
        sections=[section for section in SECTIONS if section[0] != "buy" or sheet.rings],
        pictures=[
            Picture(embedded(png), *size, caption)
            for png, size, (_, caption) in zip(look.images, look.sizes, PICTURES, strict=True)
        ],
        bodies=look.bodies,
        drawings=[Markup(svg) for svg in drawings],  # our own writer's, which escapes what people typed
        script=Markup((HERE / "view.js").read_text(encoding="utf-8")),
    )
    (folder / SHEET_FILE).write_text(text, encoding="utf-8", newline="\n")
    for png, (name, _) in zip(look.images, PICTURES, strict=True):
        (folder / name).write_bytes(png)


def embedded(png: bytes) -> str:
    """A picture as a page holds it."""
    return base64.b64encode(png).decode("ascii")


def page(template: str, **values: Any) -> str:
    """A template of this folder, filled in; what people typed is escaped."""
    return _environment().get_template(template).render(values) + "\n"


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.filters["coded"] = _coded
    made.globals["css"] = Markup((HERE / "look.css").read_text(encoding="utf-8"))
    return made


def _coded(text: str) -> Markup:
    """A text whose `quoted` words, which people find again in their spec, are set as code."""
    return Markup(re.sub("`([^`]+)`", r"<code>\1</code>", str(escape(text))))
