"""Writes a drawing as DXF: true size, a layer for each kind of line, real dimensions and hatches, the same bytes again.

The main view's millimetres are the file's. A view at another scale keeps its ratio to it, and its dimensions carry
the factor (DIMLFAC) that brings their reading back to the real size. What each dimension looks like is drawn by our own
layout into its block, so the file looks as the sheet does and asks for no font measuring.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from typing import Any, Final

from moldgen.drawing.dimensions import ARROW_MM, GAP_MM, OVERSHOOT_MM, TEXT_MM
from moldgen.drawing.hatching import HATCH_WIDTH_MM, RULINGS
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
    Stroke,
    Text,
)
from moldgen.shapes import Path, Point

MILLIMETRES: Final = 4
"""$INSUNITS of the open DXF reference."""
DIMENSIONS: Final = "dimensions"
TEXTS: Final = "texts"
HATCHES: Final = "hatches"
STYLE: Final = "moldgen"
RED: Final = 1
DEFAULT_COLOUR: Final = 7
FAINT: Final = 8
SHAPE_BIT: Final = 32
"""Of a dimension's type: its block belongs to it alone."""
TEXT_PLACED_BIT: Final = 128
TYPE: Final = {"linear": 0, "diameter": 3, "radius": 4, "angle": 5}


def dxf_text(drawing: Drawing) -> str:
    """The drawing as DXF R2010."""
    with _pinned():
        doc = _document(drawing)
        # The library adds these classes from a set, whose order changes from one process to the next.
        doc.classes.add_required_classes(doc.dxfversion)
        doc.classes.classes = dict(sorted(doc.classes.classes.items()))
        out = StringIO()
        doc.write(out)
    return out.getvalue()


@contextmanager
def _pinned() -> Iterator[None]:
    """Time stamps and GUIDs that do not change from one run to the next."""
    import ezdxf

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _document(drawing: Drawing) -> Any:
    import ezdxf

    doc = ezdxf.new("R2010", units=MILLIMETRES)
    shrink = 1.0 / drawing.scale
    doc.header["$LTSCALE"] = shrink
    doc.header["$DIMSCALE"] = shrink
    kinds: tuple[LineKind, ...] = tuple(WIDTH_MM)
    for kind in kinds:
        if kind in DASHES_MM:
            doc.linetypes.add(kind.upper(), _dashes(DASHES_MM[kind]))
        colour = RED if kind == "running" else DEFAULT_COLOUR
        linetype = kind.upper() if kind in DASHES_MM else "Continuous"
        doc.layers.add(kind, color=colour, linetype=linetype, lineweight=round(100 * WIDTH_MM[kind]))
    doc.layers.add(DIMENSIONS, color=DEFAULT_COLOUR, lineweight=round(100 * WIDTH_MM["thin"]))
    doc.layers.add(TEXTS, color=DEFAULT_COLOUR, lineweight=round(100 * WIDTH_MM["thin"]))
    doc.layers.add(HATCHES, color=FAINT, lineweight=round(100 * HATCH_WIDTH_MM))
    doc.styles.add(STYLE, font="arial.ttf")
    style = doc.dimstyles.add(STYLE)
    for name, value in {
        "dimtxsty": STYLE,
        "dimscale": shrink,
        "dimtxt": TEXT_MM,
        "dimasz": ARROW_MM,
        "dimexo": GAP_MM,
        "dimexe": OVERSHOOT_MM,
        "dimgap": GAP_MM,
        "dimtad": 1,  # text above its line
        "dimtih": 0,  # and along it
        "dimtoh": 0,
        "dimdec": 2,
        "dimzin": 8,  # no zeros at the end
        "dimdsep": ord("."),
        "dimadec": 1,
    }.items():
        style.dxf.set(name, value)
    writer = _Writer(doc, drawing.scale)
    for view in drawing.views:
        for area in (item for item in view.items if isinstance(item, Area)):
            writer.item(doc.modelspace(), area)
        for item in view.items:
            if not isinstance(item, Area):
                writer.item(doc.modelspace(), item)
    return doc


def _dashes(lengths: tuple[float, ...]) -> list[float]:
    """A line type's pattern as the format has it: total, then dashes and (negative) gaps."""
    return [sum(lengths), *(length if i % 2 == 0 else -length for i, length in enumerate(lengths))]


class _Writer:
    """Draws items, from sheet millimetres to true size."""

    def __init__(self, doc: Any, scale: float) -> None:
        self._doc = doc
        self._scale = scale

    def _xy(self, point: Point) -> tuple[float, float]:
        return point.x / self._scale, point.y / self._scale

    def item(self, space: Any, item: Item) -> None:
        if isinstance(item, Area):
            self._hatch(space, item)
        elif isinstance(item, Stroke):
            self._stroke(space, item, item.kind)
        elif isinstance(item, Text):
            self._text(space, item, TEXTS)
        elif isinstance(item, Arrow | Dot):
            self._end(space, item, TEXTS)
        elif isinstance(item, Dimension):
            self._dimension(space, item)
        else:
            self._leader(space, item)

    def _stroke(self, space: Any, stroke: Stroke, layer: str) -> None:
        at = {"layer": layer}
        vertices = stroke.vertices
        if len(vertices) == 2 and stroke.closed and all(v.bulge == 1.0 for v in vertices):
            a, b = vertices
            middle = Point(0.5 * (a.x + b.x), 0.5 * (a.y + b.y))
            radius = 0.5 * math.hypot(a.x - b.x, a.y - b.y) / self._scale
            space.add_circle(self._xy(middle), radius, dxfattribs=at)
        elif len(vertices) == 2 and not stroke.closed and vertices[0].bulge == 0.0:
            space.add_line(*(self._xy(Point(v.x, v.y)) for v in vertices), dxfattribs=at)
        else:
            points = [(*self._xy(Point(v.x, v.y)), v.bulge) for v in vertices]
            space.add_lwpolyline(points, format="xyb", close=stroke.closed, dxfattribs=at)

    def _hatch(self, space: Any, area: Area) -> None:
        hatch = space.add_hatch(dxfattribs={"layer": HATCHES})
        lines: list[tuple[float, tuple[float, ...], tuple[float, ...], list[float]]] = []
        for ruling in RULINGS[area.material]:
            turn = math.radians(ruling.angle_deg)
            across = -math.sin(turn), math.cos(turn)
            base = tuple(ruling.shift_mm / self._scale * way for way in across)
            step = tuple(ruling.pitch_mm / self._scale * way for way in across)
            lines.append((ruling.angle_deg, base, step, []))
        hatch.set_pattern_fill(area.material.upper(), color=FAINT, pattern_type=0, definition=lines)
        for nth, path in enumerate(area.paths):
            hatch.paths.add_polyline_path(self._corners(path), is_closed=True, flags=1 if nth == 0 else 16)

    def _corners(self, path: Path) -> list[tuple[float, float, float]]:
        return [(*self._xy(Point(v.x, v.y)), v.bulge) for v in path.vertices]

    def _text(self, space: Any, text: Text, layer: str) -> None:
        from ezdxf.enums import TextEntityAlignment

        align = {
            "start": TextEntityAlignment.LEFT,
            "middle": TextEntityAlignment.CENTER,
            "end": TextEntityAlignment.RIGHT,
        }[text.anchor]
        attributes = {"layer": layer, "style": STYLE, "rotation": text.angle_deg}
        written = text.text.replace("Ø", "%%c").replace("°", "%%d")
        entity = space.add_text(written, height=text.height_mm / self._scale, dxfattribs=attributes)
        entity.set_placement(self._xy(text.at), align=align)

    def _end(self, space: Any, end: Arrow | Dot, layer: str) -> None:
        if isinstance(end, Arrow):
            a, b, c = (self._xy(corner) for corner in end.corners)
            space.add_solid([a, b, c, c], dxfattribs={"layer": layer})
        else:
            space.add_circle(self._xy(end.at), end.radius_mm / self._scale, dxfattribs={"layer": layer})

    def _leader(self, space: Any, leader: Leader) -> None:
        for stroke in leader.strokes:
            self._stroke(space, stroke, DIMENSIONS)
        self._end(space, leader.end, DIMENSIONS)
        self._text(space, leader.text, DIMENSIONS)

    def _dimension(self, space: Any, dimension: Dimension) -> None:
        block = self._doc.blocks.new_anonymous_block(type_char="D")
        for stroke in dimension.strokes:
            self._stroke(block, stroke, DIMENSIONS)
        for arrow in dimension.arrows:
            self._end(block, arrow, DIMENSIONS)
        self._text(block, dimension.text, DIMENSIONS)
        attributes: dict[str, Any] = {
            "layer": DIMENSIONS,
            "dimstyle": STYLE,
            "geometry": block.name,
            "dimtype": TYPE[dimension.kind] | SHAPE_BIT | TEXT_PLACED_BIT,
            "text": _wording(dimension),
            "text_midpoint": self._middle(dimension.text),
            "attachment_point": 5,
            "actual_measurement": math.radians(dimension.value) if dimension.kind == "angle" else dimension.value,
        }
        attributes |= self._measured(dimension)
        entity = space.new_entity("DIMENSION", attributes)
        factor = self._scale / dimension.scale
        if dimension.kind != "angle" and not math.isclose(factor, 1.0):
            style = entity.override()
            style["dimlfac"] = factor
            style.commit()

    def _measured(self, dimension: Dimension) -> dict[str, Any]:
        """The definition points, by the group codes that each kind of dimension has."""
        points = [self._xy(point) for point in dimension.points]
        if dimension.kind == "linear":
            start, end, on_line = points
            return {"defpoint2": start, "defpoint3": end, "defpoint": on_line, "angle": dimension.along_deg}
        if dimension.kind == "angle":
            corner, start, end, on_arc = points
            return {"defpoint4": corner, "defpoint2": start, "defpoint3": end, "defpoint": on_arc}
        first, second = points
        return {"defpoint": first, "defpoint4": second}

    def _middle(self, text: Text) -> tuple[float, float]:
        box = text.box
        return self._xy(Point(0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1)))


def _wording(dimension: Dimension) -> str:
    """The text override: `<>` stands for the reading, to which readers add the sign of radius and diameter."""
    words = dimension.wording.replace("Ø", "%%c").replace("°", "%%d")
    if dimension.kind == "radius":
        words = words.replace("R<>", "<>")
    elif dimension.kind == "diameter":
        words = words.replace("%%c<>", "<>")
    elif dimension.kind == "angle":
        words = words.replace("<>%%d", "<>")
    return "" if words == "<>" else words
