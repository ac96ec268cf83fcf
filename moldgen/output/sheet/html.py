"""Writes the job sheet: one HTML file that holds pictures, 3D view and drawings, and asks nothing of a network."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from moldgen.inspection.findings import ClosedMold
from moldgen.output.pictures import pictures
from moldgen.output.sheet.data import job_sheet
from moldgen.output.sheet.scenes import scenes, view_model
from moldgen.parts.mesh import Mesh

if TYPE_CHECKING:
    from jinja2 import Environment

HERE: Final = Path(__file__).parent
SHEET_FILE: Final = "sheet.html"
CAPTIONS: Final = (
    "The part as it comes out of the mold.",
    "The mold open on the bench: lower half left or in front, upper half turned over.",
    "Pulled apart, from the bottom up.",
)
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


def sheet_html(
    content: Mapping[str, Any], *, family: str, mold: ClosedMold, part: Mesh, drawings: tuple[str, ...]
) -> str:
    """The page of a build's record, its bodies, and its drawings as `svg` elements."""
    from markupsafe import Markup

    sheet = job_sheet(dict(content), family=family)
    shown = scenes(mold, part)
    embedded = [
        Picture(base64.b64encode(png).decode("ascii"), *scene.size, caption)
        for png, scene, caption in zip(pictures(shown), shown, CAPTIONS, strict=True)
    ]
    return page(
        "sheet.html.j2",
        sheet=sheet,
        sections=[section for section in SECTIONS if section[0] != "buy" or sheet.rings],
        pictures=embedded,
        bodies=view_model(mold),
        drawings=[Markup(svg) for svg in drawings],  # our own writer's, which escapes what people typed
        script=Markup((HERE / "view.js").read_text(encoding="utf-8")),
    )


def page(template: str, **values: Any) -> str:
    """A template of this folder, filled in; what people typed is escaped."""
    return _environment().get_template(template).render(values) + "\n"


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    made = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.globals["css"] = Markup((HERE / "look.css").read_text(encoding="utf-8"))
    return made
