"""The job sheet as PDF: what the page says, then its drawings and a template in full size, true to scale.

It is made from the page itself, element by element, so that the two cannot differ. What only a screen can do is left
out: the view that turns, the links within the page.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping, Sequence
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Final

from moldgen.drawing.model import Drawing
from moldgen.drawing.sheet import HEIGHT_MM, WIDTH_MM
from moldgen.drawing.svg import svg_text
from moldgen.output.sheet.html import SHEET_FILE
from moldgen.paper.typesetting import Document, typeset

PDF_FILE: Final = "sheet.pdf"
LEFT_OUT: Final = ("head", "script", "style", "nav", "svg")
ONLY_ON_SCREENS: Final = ("screen", "drawing")
EMPTY: Final = ("img", "br", "input", "meta", "link", "hr")
INLINE: Final = (
    "p",
    "h1",
    "h2",
    "h3",
    "li",
    "th",
    "td",
    "dt",
    "dd",
    "a",
    "b",
    "strong",
    "span",
    "small",
    "code",
    "data",
)
"""Within these the space between two words counts; `figcaption` and the rest hold text by itself or blocks."""

Element = dict[str, Any]


def write_pdf(folder: Path, content: Mapping[str, Any], drawings: Sequence[Drawing]) -> None:
    """Writes the PDF of the page that lies in a build's folder. Raises OutputError where no PDF can be made."""
    read = _Reader()
    read.feed((folder / SHEET_FILE).read_text(encoding="utf-8"))
    read.close()
    name, revision = content["name"], content["revision"]
    data = {
        "title": f"{name}: job sheet",
        "foot": f"{name} · revision {revision} · {content['elastomer']['label']}",
        "page": read.top["children"],
        "drawings": [_placed(f"drawing-{i}.svg", drawing) for i, drawing in enumerate(drawings)],
    }
    svgs = {f"drawing-{i}.svg": svg_text(drawing).encode("utf-8") for i, drawing in enumerate(drawings)}
    (folder / PDF_FILE).write_bytes(typeset(Document("job_sheet.typ", data, {**read.pictures, **svgs})))


def _placed(file: str, drawing: Drawing) -> dict[str, Any]:
    """A drawing as it stands on its page; one that is too tall for it is made smaller, and said to be."""
    shrunk = min(1.0, HEIGHT_MM / drawing.height_mm)
    return {"file": file, "title": drawing.title, "width_mm": WIDTH_MM * shrunk, "true": shrunk == 1.0}


class _Reader(HTMLParser):
    """The page as nested elements, for a template that has no parser of its own; pictures beside it."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.top = _element("page", {})
        self.pictures: dict[str, bytes] = {}
        self._open = [self.top]
        self._skipped = 0
        """How many elements deep within one that is left out."""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if self._skipped or _left_out(tag, given):
            self._skipped += tag not in EMPTY
            return
        element = _element(tag, given)
        element["head"] = tag in ("th", "thead") or (tag == "tr" and self._open[-1]["tag"] == "thead")
        if tag == "img":
            element["src"] = f"picture-{len(self.pictures)}.png"
            self.pictures[element["src"]] = base64.b64decode(given["src"].partition("base64,")[2])
        self._open[-1]["children"].append(element)
        if tag not in EMPTY:
            self._open.append(element)

    def handle_endtag(self, tag: str) -> None:
        if self._skipped:
            self._skipped -= 1
        else:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        inner = self._open[-1]
        if not self._skipped and (data.strip() or inner["tag"] in INLINE):
            inner["children"].append(re.sub(r"\s+", " ", data))


def _left_out(tag: str, given: Mapping[str, str]) -> bool:
    classes = given.get("class", "").split()
    return tag in LEFT_OUT or given.get("id") == "view" or any(name in classes for name in ONLY_ON_SCREENS)


def _element(tag: str, given: Mapping[str, str]) -> Element:
    return {
        "tag": tag,
        "id": given.get("id", ""),
        "class": given.get("class", ""),
        "alt": given.get("alt", ""),
        "colspan": int(given.get("colspan", "1")),
        "head": False,
        "children": [],
    }
