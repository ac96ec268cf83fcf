"""A drawing file as closed contours in millimetres."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

from moldgen.errors import MoldgenError
from moldgen.outlines.contour import Drawing, Piece

LARGEST_FILE: Final = 5_000_000
LONGEST_NAME: Final = 200
UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""What a person may say of a file that does not say it itself."""
FARTHEST_MM: Final = 1e5
"""Beyond this from the origin, a tenth of a micrometre is lost to rounding in what follows."""
MOST_CORNERS: Final = 20_000
"""Of a drawing, curves taken as the fine polylines that they become."""


class UnreadableDrawingError(MoldgenError, ValueError):
    """The file gives no outlines; `limit` says why and `way_out` what to do."""

    def __init__(self, limit: str, way_out: str) -> None:
        super().__init__(limit, way_out)
        self.limit, self.way_out = limit, way_out

    def __str__(self) -> str:
        return f"{self.limit}. {self.way_out}"


def read(path: Path, *, unit: str | None = None, layer: str | None = None) -> Drawing:
    """The closed contours of a DXF or SVG file.

    `unit` is only for a file that does not state its own; `layer` keeps to one layer of a DXF. What is wrong with
    single lines is told in the drawing's `faults`. Raises UnreadableDrawingError if there is no drawing at all.
    """
    kind = path.suffix.lower()
    if kind not in (".dxf", ".svg"):
        raise UnreadableDrawingError("a drawing is a .dxf or .svg file", "Save it as DXF or SVG, or list the points.")
    try:
        if not path.is_file():
            raise UnreadableDrawingError(
                f"there is no file {path.as_posix()}", "Give its path as seen from the spec's folder."
            )
        if path.stat().st_size > LARGEST_FILE:
            raise UnreadableDrawingError("a drawing may hold 5 MB at most", "Save the outline alone.")
        raw = path.read_bytes() if kind == ".svg" else b""
    except OSError as error:
        raise UnreadableDrawingError(f"it cannot be read ({error.strerror})", "Check its permissions.") from error
    if kind == ".svg":
        if layer is not None:
            raise UnreadableDrawingError("an SVG has no layers to choose from", "Leave `layer` out.")
        from moldgen.outlines.svg import drawing as from_svg

        return from_svg(raw, file=path.name, unit=unit)
    from moldgen.outlines.dxf import drawing as from_dxf

    return from_dxf(path, unit=unit, layer=layer)


def within_reach(piece: Piece) -> Piece:
    """The piece. Raises UnreadableDrawingError for coordinates that are no numbers, or lost in space."""
    require_near((length for v in piece.vertices for length in (v.x, v.y, v.bulge)), piece.source)
    return piece


def require_near(lengths_mm: Iterable[float], source: str) -> None:
    """Raises UnreadableDrawingError for coordinates that are no numbers, or lost in space.

    Asked before a curve is made fine, too: one of that size would have points without end.
    """
    if not all(abs(length) <= FARTHEST_MM for length in lengths_mm):
        raise UnreadableDrawingError(
            f"{source} has a coordinate that is no number, or lies more than 100 m from the origin",
            "Move the drawing to the origin and save it again.",
        )


def too_many_corners(file: str) -> UnreadableDrawingError:
    return UnreadableDrawingError(
        f"{file} has more than {MOST_CORNERS} corners, curves taken as fine polylines",
        "Save the outline alone, drawn with arcs, or with fewer points.",
    )


def stated_once(stated: str | None, unit: str | None) -> None:
    """Raises UnreadableDrawingError if the file states one unit and the person another."""
    if unit is not None and stated is not None and stated != unit:
        raise UnreadableDrawingError(f"the file states its unit itself ({stated})", "Leave `unit` out.")


def nothing_in(file: str, left_out: Sequence[str]) -> UnreadableDrawingError:
    what = f" (it holds {', '.join(left_out)})" if left_out else ""
    return UnreadableDrawingError(
        f"there is no outline in {file}{what}", "Draw it with lines, arcs, circles or curves; turn text into paths."
    )


def in_a_line(error: Exception) -> str:
    """A parser's own message, which may run over several lines and quote what cannot be printed."""
    return printable(" ".join(str(error).split()))


def printable(text: str) -> str:
    """A name out of a drawing, fit for a message: no more than a line, nothing that steers a terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in text[:LONGEST_NAME])
