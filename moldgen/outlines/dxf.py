"""The closed contours of a DXF file.

Lines, arcs, circles and polylines keep their arcs; ellipses and splines become fine polylines. Blocks are taken apart.
Text, dimensions and hatches are left out and counted. The drawing's unit is its header's $INSUNITS.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import count, islice
from pathlib import Path
from typing import Any, Final

from moldgen.outlines.chain import chained
from moldgen.outlines.contour import Drawing, Piece
from moldgen.outlines.flatten import FLATNESS_MM
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
from moldgen.shapes import Vertex

# $INSUNITS codes from the open DXF reference, with what one unit is in mm; 0 states none.
INSUNITS: Final = {
    1: ("in", 25.4),
    2: ("ft", 304.8),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    8: ("µin", 25.4e-6),
    9: ("mil", 0.0254),
    10: ("yd", 914.4),
    13: ("µm", 1e-3),
    14: ("dm", 100.0),
}
MOST_ENTITIES: Final = 20_000
"""Inserted blocks, and what is left out, counted too."""
DEEPEST_BLOCK: Final = 16
LEVEL_MM: Final = 0.01
"""What lies within this height is flat."""
MOST_PAIRS: Final = 500_000
"""Of a code and a value, which is what a DXF file consists of."""
MOST_STARTS: Final = 50_000
"""Of entities, their corners, blocks and layers: each takes the reader as long as ten pairs."""
BINARY: Final = b"\x1a\x00"
"""With this ends the first line of a file in the binary form (the open DXF reference)."""
LARGEST_BINARY: Final = 500_000
HIGHEST_DEGREE: Final = 11
MOST_FIT_POINTS: Final = 500
"""A curve through points is found from a full matrix of them."""
SPLINE_FRAME: Final = 16
"""Flag of a polyline's vertex that steers its curve and does not lie on it."""


def drawing(path: Path, *, unit: str | None, layer: str | None) -> Drawing:
    """The file's contours in mm. Raises UnreadableDrawingError."""
    import ezdxf

    raw = path.read_bytes()
    _require_short(raw, path.name)
    try:
        document = ezdxf.readfile(path, errors="ignore")  # letters of names only: an outline has none
    except Exception as error:  # the reader lets errors of any kind through where a file is broken
        raise UnreadableDrawingError(
            f"{path.name} is no sound DXF file ({in_a_line(error)})", "Save it again as DXF."
        ) from error
    # For a file that does not say, the reader makes up metres.
    code = int(document.header["$INSUNITS"]) if b"$INSUNITS" in raw else 0
    stated, scale = INSUNITS.get(code, (None, 1.0))
    if stated is None and code != 0:
        raise UnreadableDrawingError(
            f"{path.name} is drawn in a unit that is not taken ($INSUNITS {code})", "Save it in millimetres."
        )
    stated_once(stated, unit)
    scale = UNITS_MM[unit] if unit is not None else scale
    hidden = {entry.dxf.name for entry in document.layers if entry.is_off() or entry.is_frozen()} | {"Defpoints"}
    pieces: list[Piece] = []
    left_out: Counter[str] = Counter()
    try:
        entities = list(_entities(document.modelspace(), "0", 0, count()))
    except UnreadableDrawingError:
        raise
    except Exception as error:  # as above: blocks are only taken apart here
        raise UnreadableDrawingError(
            f"{path.name} has a damaged block ({in_a_line(error)})", "Explode the blocks."
        ) from error
    corners = 0
    for entity, on in entities:
        if on in hidden or entity.dxf.get("invisible", 0) or (layer is not None and on != layer):
            continue
        kind = entity.dxftype()
        if kind in PIECES:
            handle = f" #{entity.dxf.handle}" if entity.dxf.handle else ""
            source = printable(f"{kind}{handle} on layer {on}")
            pieces.append(_in_mm(_piece(entity, source, scale), scale))
            corners += len(pieces[-1].vertices)
            if corners > MOST_CORNERS:
                raise too_many_corners(path.name)
        else:
            left_out[printable(kind)] += 1
    counted = tuple(f"{count} {kind}" for kind, count in sorted(left_out.items()))
    if not pieces:
        if layer is not None:
            names = ", ".join(sorted({on for _, on in entities} - hidden)) or "none"
            raise UnreadableDrawingError(f"there is no outline on layer {layer}", f"Layers in use: {printable(names)}.")
        raise nothing_in(path.name, counted)
    contours, faults = chained(pieces)
    if not contours and not faults:
        raise nothing_in(path.name, counted)
    return Drawing(path.name, contours, faults, stated is not None or unit is not None, counted)


def _require_short(raw: bytes, file: str) -> None:
    """Raises UnreadableDrawingError for a file that would take long to read, before it is read."""
    if BINARY in raw[:40]:
        too_long = len(raw) > LARGEST_BINARY
    else:
        codes = raw.split(b"\n")[::2]
        too_long = len(codes) > MOST_PAIRS or sum(code.strip() == b"0" for code in codes) > MOST_STARTS
    if too_long:
        raise UnreadableDrawingError(f"{file} holds far more than an outline", "Save the outline alone, as text DXF.")


def _entities(container: Iterable[Any], block_layer: str, depth: int, met: Iterator[int]) -> Iterator[tuple[Any, str]]:
    """Every entity and the layer it is seen on, blocks taken apart; in a block, layer 0 is the layer of its insert.

    `met` counts all that is met on the way, for blocks of blocks may be many and hold nothing.
    """
    if depth > DEEPEST_BLOCK:
        raise UnreadableDrawingError("its blocks are nested too deeply", "Explode the blocks.")
    for entity in container:
        _count(met)
        on = entity.dxf.get("layer", "0")
        on = block_layer if on == "0" else on
        if entity.dxftype() == "INSERT":
            for insert in entity.multi_insert() if entity.mcount > 1 else (entity,):
                _count(met)
                yield from _entities(insert.virtual_entities(), on, depth + 1, met)
        else:
            yield entity, on


def _count(met: Iterator[int]) -> None:
    if next(met) >= MOST_ENTITIES:
        raise UnreadableDrawingError(f"it holds more than {MOST_ENTITIES} entities", "Save the outline alone.")


def _piece(entity: Any, source: str, scale: float) -> Piece:
    try:
        return PIECES[entity.dxftype()](entity, source, scale)
    except UnreadableDrawingError:
        raise
    except Exception as error:  # as above: an entity's numbers are only looked at here
        raise UnreadableDrawingError(f"{source} is damaged ({in_a_line(error)})", "Draw it again.") from error


def _in_mm(piece: Piece, scale: float) -> Piece:
    vertices = tuple(Vertex(float(v.x) * scale, float(v.y) * scale, float(v.bulge)) for v in piece.vertices)
    return within_reach(Piece(vertices, piece.source, piece.closed))


def _sense(entity: Any, source: str) -> float:
    """+1 for an entity drawn in the plan, -1 for one drawn on its back, which is how mirrored ones are saved."""
    x, y, z = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if math.hypot(x, y) > 1e-6 * abs(z):
        raise _tilted(source)
    return 1.0 if z > 0.0 else -1.0


def _flat(heights: Iterable[float], source: str, scale: float) -> None:
    known = list(heights)
    if (max(known) - min(known)) * scale > LEVEL_MM:
        raise _tilted(source)


def _tilted(source: str) -> UnreadableDrawingError:
    return UnreadableDrawingError(f"{source} does not lie flat in the plan", "Draw the outline in the x-y plane.")


def _line(entity: Any, source: str, scale: float) -> Piece:
    start, end = entity.dxf.start, entity.dxf.end
    _flat((start.z, end.z), source, scale)
    return Piece((Vertex(start.x, start.y), Vertex(end.x, end.y)), source)


def _arc(entity: Any, source: str, _: float) -> Piece:
    sense = _sense(entity, source)
    sweep = (entity.dxf.end_angle - entity.dxf.start_angle) % 360.0
    if sweep < 1e-9:
        return _circle(entity, source, _)
    bulge = sense * math.tan(math.radians(sweep) / 4.0)
    start, end = entity.start_point, entity.end_point
    return Piece((Vertex(start.x, start.y, bulge), Vertex(end.x, end.y)), source)


def _circle(entity: Any, source: str, _: float) -> Piece:
    _sense(entity, source)
    centre = entity.ocs().to_wcs(entity.dxf.center)
    x, y, r = centre.x, centre.y, abs(entity.dxf.radius)
    return Piece((Vertex(x + r, y, 1.0), Vertex(x - r, y, 1.0)), source, closed=True)


def _lwpolyline(entity: Any, source: str, _: float) -> Piece:
    sense = _sense(entity, source)
    vertices = tuple(Vertex(sense * x, y, sense * bulge) for x, y, bulge in entity.get_points("xyb"))
    return Piece(vertices, source, bool(entity.closed))


def _polyline(entity: Any, source: str, scale: float) -> Piece:
    if not (entity.is_2d_polyline or entity.is_3d_polyline):
        raise UnreadableDrawingError(f"{source} is a mesh, not an outline", "Draw the outline as a polyline.")
    sense = _sense(entity, source) if entity.is_2d_polyline else 1.0
    on_curve = [v.dxf for v in entity.vertices if not v.dxf.flags & SPLINE_FRAME]
    _flat((v.location.z for v in on_curve), source, scale)
    vertices = tuple(Vertex(sense * v.location.x, v.location.y, sense * v.get("bulge", 0.0)) for v in on_curve)
    return Piece(vertices, source, bool(entity.is_closed))


def _ellipse(entity: Any, source: str, scale: float) -> Piece:
    _sense(entity, source)
    require_near((scale * x for point in (entity.dxf.center, entity.dxf.major_axis) for x in point), source)
    return _curve(entity.flattening(FLATNESS_MM / scale, segments=16), source, scale)


def _spline(entity: Any, source: str, scale: float) -> Piece:
    points = [*entity.control_points, *entity.fit_points]
    if entity.dxf.degree > HIGHEST_DEGREE or len(points) > MOST_CORNERS or len(entity.fit_points) > MOST_FIT_POINTS:
        raise UnreadableDrawingError(
            f"{source} has too many points, or too high a degree", "Draw it in shorter curves."
        )
    require_near((scale * float(x) for point in points for x in point), source)
    return _curve(entity.flattening(FLATNESS_MM / scale, segments=8), source, scale)


def _curve(points: Iterable[Any], source: str, scale: float) -> Piece:
    listed = list(islice(points, MOST_CORNERS + 1))
    _flat((p.z for p in listed), source, scale)
    return Piece(tuple(Vertex(p.x, p.y) for p in listed), source)


PIECES: Final = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}
