"""A template and its data, set as PDF: the same bytes each time, no network, no font of this machine.

What people typed reaches a template as data and is never read as markup. The letters are those that the CAD kernel's
drawing library brings along (DejaVu), so that the drawings' texts are as wide as their layout takes them to be.
"""

from __future__ import annotations

import importlib.util
import json
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from moldgen.errors import OutputError

HERE: Final = Path(__file__).parent
TYPESETTER: Final = "typst"
FONTS_FROM: Final = "matplotlib"
FONTS: Final = ("mpl-data", "fonts", "ttf")


def require_typesetter() -> None:
    """Raises OutputError, with the way out, where no PDF can be made; loads nothing."""
    missing = [name for name in (TYPESETTER, FONTS_FROM) if importlib.util.find_spec(name) is None]
    if missing:
        raise OutputError(
            f"a PDF needs {' and '.join(missing)}, which this Python does not have. Install it with "
            "`pip install 'moldgen[pdf]'`, or print sheet.html from a browser."
        )


def typeset(template: str, *, data: Mapping[str, Any], files: Mapping[str, bytes]) -> bytes:
    """A template of this package set with its data (`data.json` to it) and files; one document, as PDF.

    Raises OutputError where the typesetter is missing.
    """
    require_typesetter()
    import typst

    sources = {"main.typ": (HERE / template).read_bytes(), "look.typ": (HERE / "look.typ").read_bytes()}
    given = json.dumps(data, ensure_ascii=False).encode("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        for name, content in {**sources, "data.json": given, **files}.items():
            (Path(folder) / name).write_bytes(content)
        made = typst.compile(
            Path(folder) / "main.typ",
            root=Path(folder),
            font_paths=[_fonts()],
            ignore_system_fonts=True,
            format="pdf",
        )
    assert isinstance(made, bytes)
    return made


def _fonts() -> Path:
    found = importlib.util.find_spec(FONTS_FROM)
    assert found is not None and found.submodule_search_locations is not None
    return Path(found.submodule_search_locations[0]).joinpath(*FONTS)
