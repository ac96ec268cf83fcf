"""A template and its data, set as PDF: the same bytes each time, no network, no font of this machine.

What people typed reaches a template as data and is never read as markup. The letters are those that the CAD kernel's
drawing library brings along (DejaVu), so that the drawings' texts are as wide as their layout takes them to be.
"""

from __future__ import annotations

import importlib.util
import json
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

from moldgen.errors import OutputError

HERE: Final = Path(__file__).parent
TYPESETTER: Final = "typst"
FONTS_FROM: Final = "matplotlib"
PICTURE_PPI: Final = 110.0
FONTS: Final = ("mpl-data", "fonts", "ttf")


def require_typesetter() -> None:
    """Raises OutputError, with the way out, where no PDF can be made; loads nothing."""
    missing = [name for name in (TYPESETTER, FONTS_FROM) if importlib.util.find_spec(name) is None]
    if missing:
        raise OutputError(
            f"a PDF needs {' and '.join(missing)}, which this Python does not have. Install it with "
            "`pip install 'moldgen[pdf]'`, or print sheet.html from a browser."
        )


@dataclass(frozen=True, slots=True)
class Document:
    """What is to be set: a template of this package, what it reads as `data.json`, and the files that it shows."""

    template: str
    data: Mapping[str, Any]
    files: Mapping[str, bytes]


def typeset(document: Document) -> bytes:
    """The document as PDF. Raises OutputError where the typesetter is missing."""
    made = _set(document, "pdf")
    assert isinstance(made, bytes)
    return made


def first_page(document: Document) -> bytes:
    """The document's first page as PNG, for who wants to show what the PDF looks like."""
    made = _set(document, "png")
    return made if isinstance(made, bytes) else made[0]


def _set(document: Document, form: Literal["pdf", "png"]) -> bytes | list[bytes]:
    require_typesetter()
    import typst

    given = json.dumps(document.data, ensure_ascii=False).encode("utf-8")
    templates = {"main.typ": (HERE / document.template).read_bytes(), "look.typ": (HERE / "look.typ").read_bytes()}
    with tempfile.TemporaryDirectory() as folder:
        for name, content in {**templates, "data.json": given, **document.files}.items():
            (Path(folder) / name).write_bytes(content)
        return typst.compile(
            Path(folder) / "main.typ",
            root=Path(folder),
            font_paths=[_fonts()],
            ignore_system_fonts=True,
            format=form,
            ppi=PICTURE_PPI,
        )


def _fonts() -> Path:
    found = importlib.util.find_spec(FONTS_FROM)
    assert found is not None and found.submodule_search_locations is not None
    return Path(found.submodule_search_locations[0]).joinpath(*FONTS)
