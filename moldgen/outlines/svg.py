"""The closed contours of an SVG file.

Lines and circular arcs are kept, other curves become fine polylines; transforms and the view box are applied. The
page's width must be stated in a real unit, or the person says what the file's numbers are. The page's y axis points
down: it is turned over, so that the part is as seen on the screen, with the origin in the page's lower left corner.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from io import BytesIO
from itertools import pairwise
from typing import Any, Final
from xml.etree import ElementTree

from moldgen.outlines.chain import chained
from moldgen.outlines.contour import Drawing, Piece
from moldgen.outlines.flatten import flattened
from moldgen.outlines.reading import (
    MOST_CORNERS,
    UNITS_MM,
    UnreadableDrawingError,
    in_a_line,
    nothing_in,
    printable,
    require_near,
    stated_once,
    too_many_corners,
    within_reach,
)
from moldgen.shapes import Point, Vertex

# CSS Values and Units 3, section 6.2: 1 in = 2.54 cm = 96 px = 72 pt = 6 pc, 1 Q = 1/40 cm.
LENGTHS_MM: Final = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0, "q": 0.25}
PIXEL_MM: Final = 25.4 / 96.0
NAMESPACE: Final = "{http://www.w3.org/2000/svg}"
LINK: Final = "{http://www.w3.org/1999/xlink}href"
UNSEEN: Final = ("clipPath", "mask", "marker", "pattern", "filter", "metadata")
"""Elements whose shapes are not part of the picture."""
SHAPES: Final = {"Path": "path", "Rect": "rect", "Circle": "circle", "Ellipse": "ellipse", "SimpleLine": "line",
                 "Polyline": "polyline", "Polygon": "polygon"}  # fmt: skip
MOST_ELEMENTS: Final = 20_000
LETTERS_AN_ELEMENT: Final = 30
"""So many letters of a path, a transform or a style take as long to understand as an element."""
DEEPEST: Final = 60


def drawing(raw: bytes, *, file: str, unit: str | None) -> Drawing:
    """The file's contours in mm. Raises UnreadableDrawingError."""
    from svgelements import SVG

    root = _root(raw, file)
    page, box = _page_mm(root), _view_box(root)
    stated_once(None if page is None else "by its page's width", unit)
    if page is None and unit is None:
        raise UnreadableDrawingError(
            f"{file} does not say how large its page is, so its numbers could be anything",
            "Give the page `width` and `height` in mm, or write `outline: {file: ..., unit: mm}`.",
        )
    if page is None:  # without a size of its own the page is as large as its view box: the numbers stay as they are
        root.attrib.pop("width", None)
        root.attrib.pop("height", None)
    elif box and root.get("height", "auto") in ("auto", "100%"):  # then the page keeps the view box's proportions
        root.set("height", f"{page * box[1] / box[0]!r}mm")
    try:
        picture = SVG.parse(BytesIO(ElementTree.tostring(root)), ppi=96.0, on_error="raise")
    except Exception as error:  # the parser lets errors of any kind through where an attribute is no number
        raise UnreadableDrawingError(
            f"{file} cannot be understood ({in_a_line(error)})", "Save it as plain SVG."
        ) from error
    scale = _scale(picture, page, unit)
    height = float(picture.height) * scale
    pieces: list[Piece] = []
    corners = 0
    left_out: Counter[str] = Counter()
    for element in picture.elements():
        kind = type(element).__name__
        if kind in SHAPES and _seen(element):
            label = printable(str(element.id))
            name = f"{SHAPES[kind]} “{label}”" if element.id else f"{SHAPES[kind]} {len(pieces) + 1}"
            for piece in _pieces(element, name, scale, height):
                pieces.append(within_reach(piece))
                corners += len(piece.vertices)
                if corners > MOST_CORNERS:
                    raise too_many_corners(file)
        elif kind in ("Text", "Image"):
            left_out[kind.lower()] += 1
    counted = tuple(f"{count} {kind}" for kind, count in sorted(left_out.items()))
    if not pieces:
        raise nothing_in(file, counted)
    contours, faults = chained(pieces)
    if not contours and not faults:
        raise nothing_in(file, counted)
    return Drawing(file, contours, faults, left_out=counted)


# --- before it is interpreted ----------------------------------------------------------------------------------------


def _root(raw: bytes, file: str) -> ElementTree.Element:
    """The document without what is not seen; refused if it could blow up or would be misread."""
    if b"\0" in raw:
        raise UnreadableDrawingError(f"{file} is not UTF-8 text", "Save it as plain SVG.")
    if b"<!ENTITY" in raw:
        raise UnreadableDrawingError(f"{file} declares entities of its own", "Save it as plain SVG.")
    try:
        root = ElementTree.fromstring(raw)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise UnreadableDrawingError(
            f"{file} is no sound SVG file ({in_a_line(error)})", "Save it again as SVG."
        ) from error
    if root.tag != f"{NAMESPACE}svg":
        raise UnreadableDrawingError(f"{file} is no SVG file: its root is not svg", "Save it again as SVG.")
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag in [NAMESPACE + name for name in UNSEEN]:
                parent.remove(child)
    if next(root.iter(f"{NAMESPACE}symbol"), None) is not None:
        raise UnreadableDrawingError(f"{file} uses symbols", "Save it as plain SVG, symbols turned into groups.")
    known = {element.get("id"): element for element in root.iter() if element.get("id")}
    if _weight(root, known, 0) > MOST_ELEMENTS:
        raise UnreadableDrawingError(
            f"{file} holds more than {MOST_ELEMENTS} elements, or as much in fewer", "Save the outline alone."
        )
    return root


def _weight(element: ElementTree.Element, known: dict[str | None, ElementTree.Element], depth: int) -> int:
    """How many elements there are once every `use` is replaced by what it stands for; stops once there are too many.

    Long ones count for several.
    """
    if depth > DEEPEST:
        raise UnreadableDrawingError("its groups are nested too deeply, or one holds itself", "Save it as plain SVG.")
    letters = sum(len(value) for key, value in element.attrib.items() if not key.endswith("href"))
    if element.tag == f"{NAMESPACE}style":
        letters += len(element.text or "")
    total = 1 + letters // LETTERS_AN_ELEMENT
    meant = (element.get(LINK) or element.get("href") or "").removeprefix("#")
    stands_for = [known[meant]] if element.tag == f"{NAMESPACE}use" and meant in known else []
    for child in (*element, *stands_for):
        total += _weight(child, known, depth + 1)
        if total > MOST_ELEMENTS:
            break
    return total


def _page_mm(root: ElementTree.Element) -> float | None:
    """The page's width in mm; None if it is not stated in a real unit."""
    match = re.fullmatch(r"\s*([0-9.]+(?:[eE][-+]?[0-9]+)?)\s*([a-zA-Z]+)\s*", root.get("width", ""))
    if match is None or match[2].lower() not in LENGTHS_MM:
        return None
    try:
        width = float(match[1]) * LENGTHS_MM[match[2].lower()]
    except ValueError:
        return None
    return width if 0.0 < width < math.inf else None


def _view_box(root: ElementTree.Element) -> tuple[float, float] | None:
    """Width and height of the view box in the file's own numbers."""
    numbers = re.findall(r"[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?", root.get("viewBox", ""))
    try:
        width, height = (float(n) for n in numbers[2:4])
    except ValueError:
        return None
    return (width, height) if width > 0.0 and height > 0.0 else None


def _scale(picture: Any, page_mm: float | None, unit: str | None) -> float:
    """Millimetres for one of the interpreter's pixels.

    It takes an inch for 25.39998 mm, so a page with a view box is scaled by its own width instead.
    """
    if unit is not None:
        return UNITS_MM[unit]
    assert page_mm is not None
    return page_mm / float(picture.width) if picture.viewbox is not None else PIXEL_MM


# --- shapes ----------------------------------------------------------------------------------------------------------


def _seen(element: Any) -> bool:
    return str(element.values.get("visibility", "")).lower() not in ("hidden", "collapse")


def _pieces(shape: Any, name: str, scale: float, height_mm: float) -> Iterator[Piece]:
    """The strokes of a shape, one for each time the pen is put down."""
    from svgelements import Arc, Close, Line, Move, Path

    vertices: list[Vertex] = []
    last = Vertex(0.0, 0.0)

    def placed(point: Any) -> Point:
        there = Point(float(point.x) * scale, height_mm - float(point.y) * scale)
        require_near(there, name)
        return there

    def done(*, closed: bool) -> Iterator[Piece]:
        if len(vertices) > 1 or (closed and vertices):
            yield Piece((*vertices, *(() if closed else (last,))), name, closed)
        elif vertices:
            yield Piece((*vertices, last), name)
        vertices.clear()

    for segment in Path(shape):
        if isinstance(segment, Move):
            yield from done(closed=False)
        elif isinstance(segment, Close):
            if segment.start is not None:
                vertices.append(Vertex(*placed(segment.start)))
            yield from done(closed=True)
        else:
            if segment.start is None or segment.end is None:
                raise UnreadableDrawingError(f"{name} does not begin with a move (M)", "Draw it again.")
            if isinstance(segment, Line):
                vertices.append(Vertex(*placed(segment.start)))
            elif isinstance(segment, Arc) and abs(segment.rx - segment.ry) <= 1e-9 * segment.rx:
                vertices += _round(segment, placed)
            else:
                points = flattened(_curve(segment, placed))
                vertices += (Vertex(*p) for p in points[:-1])
            last = Vertex(*placed(segment.end))
            if len(vertices) > MOST_CORNERS:
                raise too_many_corners(name)
    yield from done(closed=False)


def _curve(segment: Any, placed: Any) -> Callable[[float], Point]:
    """The place on the page at a share of the way along a segment."""
    from svgelements import CubicBezier, QuadraticBezier

    if isinstance(segment, CubicBezier):
        return partial(_bezier, tuple(map(placed, (segment.start, segment.control1, segment.control2, segment.end))))
    if isinstance(segment, QuadraticBezier):
        return partial(_bezier, tuple(map(placed, (segment.start, segment.control, segment.end))))
    return lambda share: placed(segment.point(share))


def _bezier(controls: tuple[Point, ...], share: float) -> Point:
    """By taking the controls together two by two (de Casteljau); the library takes ten times as long for one point."""
    while len(controls) > 1:
        controls = tuple(Point(a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)) for a, b in pairwise(controls))
    return controls[0]


def _round(arc: Any, placed: Any) -> Iterator[Vertex]:
    """A circular arc in parts of at most half a circle; its sense is turned over with the page."""
    sweep = float(arc.sweep)
    parts = max(1, math.ceil(abs(sweep) / math.pi - 1e-9))
    for i in range(parts):
        start = placed(arc.start if i == 0 else arc.point(i / parts))
        yield Vertex(start.x, start.y, -math.tan(sweep / parts / 4.0))
