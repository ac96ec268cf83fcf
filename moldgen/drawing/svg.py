"""Writes a drawing as SVG: sheet millimetres as user units, text as text, everything to two decimals.

All styling is in attributes, so that the picture may stand by itself or inside a page without touching its style.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from markupsafe import escape

from moldgen.drawing.hatching import HATCH_WIDTH_MM, hatch_lines
from moldgen.drawing.letters import CAPITAL_SHARE
from moldgen.drawing.model import (
    DASHES_MM,
    WIDTH_MM,
    Area,
    Arrow,
    Dimension,
    Dot,
    Drawing,
    Item,
    Leader,
    LineKind,
    Material,
    Stroke,
    Text,
    View,
)
from moldgen.shapes import Edge, Point

FONTS: Final = "Helvetica, Arial, Liberation Sans, DejaVu Sans, sans-serif"
PAPER: Final = "#ffffff"
INK: Final = "#24282c"
FINE: Final = "#3f5266"
"""Dimensions, leaders and centre lines: a calmer ink, so that the part stands out."""
RUNNING: Final = "#a2492f"
TINTS: Final[dict[Material, str]] = {
    "rubber": "#c9ccd0",
    "lower": "#f3ebd8",
    "upper": "#e2eaed",
    "core": "#f2ddcf",
    "metal": "#efe8c8",
    "jig": "#e7ecdd",
}
HATCH_INK: Final[dict[Material, str]] = {
    "rubber": "#5d636b",
    "lower": "#b09a64",
    "upper": "#7d95a0",
    "core": "#b57a52",
    "metal": "#9a8636",
    "jig": "#8c9a72",
}


def svg_text(drawing: Drawing) -> str:
    """The drawing as one `svg` element, to stand alone or in a page."""
    width, height = _n(drawing.width_mm), _n(drawing.height_mm)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}" '
        f'role="img" aria-label="{escape(drawing.title)}" font-family="{escape(FONTS)}" fill="none" '
        'stroke-linejoin="round">'
    )
    pen = _Pen(drawing.height_mm)
    body = [f"<title>{escape(drawing.title)}</title>", f'<rect width="{width}" height="{height}" fill="{PAPER}"/>']
    for view in drawing.views:
        body += pen.view(view)
    return "\n".join([head, *body, "</svg>"])


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class _Pen:
    """Turns items into elements, y downwards from the sheet's upper edge."""

    def __init__(self, height_mm: float) -> None:
        self._height_mm = height_mm

    def view(self, view: View) -> Iterator[str]:
        yield f'<g data-view="{escape(view.name)}" data-scale="{view.scale:g}">'
        for area in (item for item in view.items if isinstance(item, Area)):
            yield from self._area(area)
        yield from self._strokes(item for item in view.items if isinstance(item, Stroke))
        for item in view.items:
            yield from self._item(item)
        yield "</g>"

    def _xy(self, point: Point) -> str:
        return f"{_n(point.x)} {_n(self._height_mm - point.y)}"

    def _area(self, area: Area) -> Iterator[str]:
        rims = "".join(self._track(path.edges, closed=True) for path in area.paths)
        lines = "".join(f"M{self._xy(a)}L{self._xy(b)}" for a, b in hatch_lines(area))
        yield f'<path data-material="{area.material}" d="{rims}" fill="{TINTS[area.material]}" fill-rule="evenodd"/>'
        yield f'<path d="{lines}" stroke="{HATCH_INK[area.material]}" stroke-width="{HATCH_WIDTH_MM}"/>'

    def _strokes(self, strokes: Iterable[Stroke]) -> Iterator[str]:
        by_kind: dict[LineKind, list[str]] = {}
        for stroke in strokes:
            by_kind.setdefault(stroke.kind, []).append(self._track(stroke.edges, closed=stroke.closed))
        for kind in sorted(by_kind, key=lambda k: (k == "outline", k)):  # outlines last, over what is thin
            yield f'<path class="{kind}" d="{"".join(by_kind[kind])}" {_look(kind)}/>'

    def _item(self, item: Item) -> Iterator[str]:
        if isinstance(item, Text):
            yield self._text(item, INK)
        elif isinstance(item, Arrow | Dot):
            yield self._end(item, INK)
        elif isinstance(item, Dimension):
            given = f' data-name="{escape(item.name)}"' if item.name else ""
            yield f'<g class="dimension" data-kind="{item.kind}" data-value="{item.value:.7g}"{given}>'
            yield from self._annotation(item.strokes, item.arrows, item.text)
            yield "</g>"
        elif isinstance(item, Leader):
            yield '<g class="leader">'
            yield from self._annotation(item.strokes, (item.end,), item.text)
            yield "</g>"

    def _annotation(self, strokes: tuple[Stroke, ...], ends: Iterable[Arrow | Dot], text: Text) -> Iterator[str]:
        track = "".join(self._track(stroke.edges, closed=stroke.closed) for stroke in strokes)
        yield f'<path d="{track}" {_look("thin")}/>'
        for end in ends:
            yield self._end(end, FINE)
        yield self._text(text, INK)

    def _end(self, end: Arrow | Dot, colour: str) -> str:
        if isinstance(end, Dot):
            x, y = self._xy(end.at).split()
            return f'<circle cx="{x}" cy="{y}" r="{_n(end.radius_mm)}" fill="{colour}"/>'
        tip, left, right = (self._xy(corner) for corner in end.corners)
        return f'<path d="M{tip}L{left}L{right}Z" fill="{colour}"/>'

    def _text(self, text: Text, colour: str) -> str:
        x, y = self._xy(text.at).split()
        turn = f' transform="rotate({_n(-text.angle_deg)} {x} {y})"' if text.angle_deg else ""
        weight = ' font-weight="bold"' if text.bold else ""
        size = _n(text.height_mm / CAPITAL_SHARE)
        # A rim of paper keeps lines that must pass from touching the letters.
        return (
            f'<text x="{x}" y="{y}" font-size="{size}" text-anchor="{text.anchor}" fill="{colour}" '
            f'stroke="{PAPER}" stroke-width="0.7" paint-order="stroke"{weight}{turn}>{escape(text.text)}</text>'
        )

    def _track(self, edges: tuple[Edge, ...], *, closed: bool) -> str:
        out = [f"M{self._xy(Point(edges[0].start.x, edges[0].start.y))}"]
        for edge in edges:
            end = Point(edge.end.x, edge.end.y)
            if edge.start.bulge == 0.0:
                out.append(f"L{self._xy(end)}")
                continue
            arc = edge.arc
            wide = int(abs(arc.sweep) > math.pi)
            # y runs down here, so what turns anticlockwise on the sheet is the negative sense.
            out.append(f"A{_n(arc.radius)} {_n(arc.radius)} 0 {wide} {int(arc.sweep < 0.0)} {self._xy(end)}")
        return "".join(out) + ("Z" if closed else "")


def _look(kind: LineKind) -> str:
    dashes = DASHES_MM.get(kind)
    colour = {"outline": INK, "hidden": INK, "running": RUNNING}.get(kind, FINE)
    dash = f' stroke-dasharray="{" ".join(_n(d) for d in dashes)}"' if dashes else ""
    return f'stroke="{colour}" stroke-width="{WIDTH_MM[kind]}"{dash}'
