"""Stroke letters for marking mold bodies: drawn here, so a label looks the same on every machine.

Outline fonts depend on what a machine has installed, and their kerned glyphs overlap into bad solids. These
letters are centre lines on a small grid, given a width by a round pen, and joined into areas that never
touch.

The grid: capitals and figures 6 high, small letters 4, tails 2 below the line. Lines side by side keep about
2 grid units apart, so at 3.5 mm capitals a 0.6 mm groove leaves a ridge of 0.57 mm, which a 0.4 mm nozzle
still prints as one line. `1`, `I` and `l`, and `0` and `O`, are drawn to be told apart.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from moldgen.errors import require_range
from moldgen.shapes import Point

Polyline = tuple[Point, ...]

CAP_GRID = 6.0
_GAP_GRID = 2.0  # between neighbours: as far apart as two lines inside a letter
_SPACE_GRID = 2.0
_CORNER_GRID = 2.0  # a rounded corner starts this far away, or where the leg gives out
_CORNER_PIECES = 3

# Strokes are parted by semicolons, points by blanks; `~` after a point rounds the corner that the point is.
_GLYPHS = {
    " ": "",
    "A": "0,0 2.25,6 4.5,0; 0.75,2 3.75,2",
    "B": "0,3 2.5,3 4,3~ 4,0~ 2.5,0 0,0 0,6 2.3,6 3.6,6~ 3.6,3~ 2.3,3",
    "C": "4.2,4.6 4.2,6~ 0,6~ 0,0~ 4.2,0~ 4.2,1.4",
    "D": "0,0 0,6 1.6,6 4.2,6~ 4.2,0~ 1.6,0 0,0",
    "E": "3.6,6 0,6 0,0 3.6,0; 0,3 3,3",
    "F": "3.6,6 0,6 0,0; 0,3 3,3",
    "G": "4.2,4.7 4.2,6~ 0,6~ 0,0~ 4.2,0~ 4.2,2.7 2.4,2.7",
    "H": "0,0 0,6; 4,0 4,6; 0,3 4,3",
    "I": "0,6 2.4,6; 1.2,6 1.2,0; 0,0 2.4,0",
    "J": "1,6 3,6 3,0~ 0,0~ 0,1.5",
    "K": "0,0 0,6; 4,6 0,2.4; 1.4,3.66 4,0",
    "L": "0,6 0,0 3.5,0",
    "M": "0,0 0,6 2.5,2.4 5,6 5,0",
    "N": "0,0 0,6 4,0 4,6",
    "O": "2.3,6 4.6,6~ 4.6,0~ 0,0~ 0,6~ 2.3,6",
    "P": "0,0 0,6 2.2,6 4,6~ 4,2.7~ 2.2,2.7 0,2.7",
    "Q": "2.3,6 4.6,6~ 4.6,0~ 0,0~ 0,6~ 2.3,6; 2.7,1.9 4.8,-0.4",
    "R": "0,0 0,6 2.2,6 4,6~ 4,2.8~ 2.2,2.8 0,2.8; 2,2.8 4.1,0",
    "S": "3.9,4.9 3.9,6~ 0,6~ 0,3.2~ 4,2.8~ 4,0~ 0,0~ 0,1.1",
    "T": "0,6 4.4,6; 2.2,6 2.2,0",
    "U": "0,6 0,0~ 4.2,0~ 4.2,6",
    "V": "0,6 2.25,0 4.5,6",
    "W": "0,6 1.6,0 3.2,5 4.8,0 6.4,6",
    "X": "0,0 4.2,6; 0,6 4.2,0",
    "Y": "0,6 2.2,2.8 4.4,6; 2.2,2.8 2.2,0",
    "Z": "0,6 4,6 0,0 4,0",
    "a": "3.4,4 3.4,0; 3.4,2 3.4,4~ 0,4~ 0,0~ 3.4,0~ 3.4,2",
    "b": "0,6 0,0; 0,2 0,4~ 3.4,4~ 3.4,0~ 0,0~ 0,2",
    "c": "3.2,3.1 3.2,4~ 0,4~ 0,0~ 3.2,0~ 3.2,0.9",
    "d": "3.4,6 3.4,0; 3.4,2 3.4,4~ 0,4~ 0,0~ 3.4,0~ 3.4,2",
    "e": "0,2 3.5,2 3.5,4~ 0,4~ 0,0~ 1.75,0 3.1,0.1",
    "f": "2.8,6 1.1,6~ 1.1,0; 0,4 2.5,4",
    "g": "3.4,2 3.4,4~ 0,4~ 0,0~ 3.4,0~ 3.4,2; 3.4,4 3.4,-2~ 0.2,-2",
    "h": "0,6 0,0; 0,2 0,4~ 3.3,4~ 3.3,0",
    "i": "0.8,0 0.8,4 0,4; 0.5,6 0.9,6",
    "j": "1.2,4 2,4 2,-2~ 0,-2; 1.7,6 2.1,6",
    "k": "0,6 0,0; 3.2,4 0,1.6; 1.2,2.5 3.3,0",
    "l": "0,6 0,0~ 1.7,0",
    "m": "0,0 0,4; 0,2 0,4~ 2.3,4~ 2.3,0; 2.3,2 2.3,4~ 4.6,4~ 4.6,0",
    "n": "0,0 0,4; 0,2 0,4~ 3.3,4~ 3.3,0",
    "o": "1.75,4 3.5,4~ 3.5,0~ 0,0~ 0,4~ 1.75,4",
    "p": "0,4 0,-2; 0,2 0,4~ 3.4,4~ 3.4,0~ 0,0~ 0,2",
    "q": "3.4,4 3.4,-2; 3.4,2 3.4,4~ 0,4~ 0,0~ 3.4,0~ 3.4,2",
    "r": "0,0 0,4; 0,2 0,4~ 2.4,4",
    "s": "2.9,3.9 1.5,4 0,4~ 0,2.1~ 3.1,1.9~ 3.1,0~ 1.6,0 0,0.1",
    "t": "1.1,5.6 1.1,0~ 2.8,0; 0,4 2.6,4",
    "u": "0,4 0,0~ 3.3,0~ 3.3,2; 3.3,4 3.3,0",
    "v": "0,4 1.75,0 3.5,4",
    "w": "0,4 1.3,0 2.6,3.6 3.9,0 5.2,4",
    "x": "0,0 3.3,4; 0,4 3.3,0",
    "y": "0,4 1.75,0; 3.5,4 1.75,0 0.9,-2",
    "z": "0,4 3.2,4 0,0 3.2,0",
    "0": "2,6 4,6~ 4,0~ 0,0~ 0,6~ 2,6; 2,2.7 2,3.3",
    "1": "0,4.6 1.6,6 1.6,0; 0,0 3.2,0",
    "2": "0,4.4 0,6~ 4,6~ 4,3.6~ 0,0 4,0",
    "3": "0,5.2 0,6~ 3.7,6~ 3.7,3.2~ 1.5,3.2; 1.9,3.2 4,3.2~ 4,0~ 0,0~ 0,0.9",
    "4": "3,0 3,6 0,1.8 4.2,1.8",
    "5": "3.6,6 0.3,6 0,3 2,3.6 4,3.6~ 4,0~ 0,0~ 0,0.9",
    "6": "3.4,6 0,5.4~ 0,0~ 4,0~ 4,3.6~ 0,3.6~ 0,1.8",
    "7": "0,6 4,6 1.4,0",
    "8": "2,3.2 0.5,3.2~ 0.5,6~ 3.5,6~ 3.5,3.2~ 2,3.2 0,3.2~ 0,0~ 4,0~ 4,3.2~ 2,3.2",
    "9": "0.6,0 4,0.6~ 4,6~ 0,6~ 0,2.4~ 4,2.4~ 4,4.2",
    "-": "0,2.8 2.6,2.8",
    "_": "0,-1 4,-1",
    ".": "0,0 0.4,0 0.4,0.4 0,0.4 0,0",
    ",": "0.5,0.2 0,-1.1",
    ":": "0,0.3 0.4,0.3 0.4,0.7 0,0.7 0,0.3; 0,3.3 0.4,3.3 0.4,3.7 0,3.7 0,3.3",
    "/": "0,-0.6 3,6.2",
    "%": "1,6 2,6~ 2,4~ 0,4~ 0,6~ 1,6; 5,2 6,2~ 6,0~ 4,0~ 4,2~ 5,2; 1,0 5,6",
    "+": "0,3 4,3; 2,1 2,5",
    "±": "0,4 4,4; 2,2.2 2,5.8; 0,0 4,0",
    "°": "1.1,6 2.2,6~ 2.2,3.8~ 0,3.8~ 0,6~ 1.1,6",
    "(": "1.6,6.6 0,5~ 0,0.6~ 1.6,-1",
    ")": "0,6.6 1.6,5~ 1.6,0.6~ 0,-1",
    "#": "1.2,0.4 1.8,5.6; 3.4,0.4 4,5.6; 0,2 5,2; 0.2,4 5.2,4",
    "×": "0,1.2 3.4,4.6; 0,4.6 3.4,1.2",
    "=": "0,1.9 3.6,1.9; 0,3.9 3.6,3.9",
    "&": "4.6,0 0.7,4.2~ 0.7,6~ 3.3,6~ 3.3,3.9~ 0,2.6~ 0,0~ 3.2,0~ 4.6,2.6",
    "'": "0,6 0,4.4",
    '"': "0,6 0,4.4; 2,6 2,4.4",
    "Ø": "2.6,6 5,6~ 5,0~ 0.2,0~ 0.2,6~ 2.6,6; 0,-0.6 5.2,6.6",
    "<": "3.2,5 0,3 3.2,1",
    ">": "0,5 3.2,3 0,1",
}
_UNKNOWN = "0,0 4,0 4,6 0,6 0,0 4,6; 0,6 4,0"
_SAME_AS = {"−": "-", "–": "-", "⌀": "Ø", "\N{NO-BREAK SPACE}": " "}


class Outline(NamedTuple):
    """One piece of inked area, in mm: its rim and the islands left standing in it; no point is repeated."""

    exterior: Polyline
    holes: tuple[Polyline, ...]


def _corner(before: Point, corner: Point, after: Point, room_in: float, room_out: float) -> list[Point]:
    """Points of a parabola (quadratic Bézier) that rounds a corner, as large as both legs allow."""
    reach = min(room_in, room_out, _CORNER_GRID)
    start, end = _towards(corner, before, reach), _towards(corner, after, reach)
    points = []
    for i in range(_CORNER_PIECES + 1):
        t = i / _CORNER_PIECES
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        points.append(Point(a * start.x + b * corner.x + c * end.x, a * start.y + b * corner.y + c * end.y))
    return points


def _towards(start: Point, end: Point, distance: float) -> Point:
    share = distance / _distance(start, end)
    return Point(start.x + share * (end.x - start.x), start.y + share * (end.y - start.y))


def _distance(a: Point, b: Point) -> float:
    return math.hypot(a.x - b.x, a.y - b.y)


def _drawn(stroke: str) -> Polyline:
    """A stroke of the table as points on the grid, its rounded corners worked out."""
    words = stroke.split()
    rounded = [word.endswith("~") for word in words]
    corners = [Point(*map(float, word.rstrip("~").split(","))) for word in words]
    points: list[Point] = []
    for i, corner in enumerate(corners):
        if not rounded[i]:
            points.append(corner)
            continue
        # Two rounded corners share the leg between them; a sharp point lets the rounding have all of it.
        before, after = corners[i - 1], corners[i + 1]
        room_in = _distance(before, corner) * (0.5 if rounded[i - 1] else 1.0)
        room_out = _distance(corner, after) * (0.5 if rounded[i + 1] else 1.0)
        points += _corner(before, corner, after, room_in, room_out)
    return tuple(point for i, point in enumerate(points) if i == 0 or _distance(point, points[i - 1]) > 1e-9)


@cache
def _glyph(character: str) -> tuple[tuple[Polyline, ...], float]:
    """Strokes on the grid, moved to begin at x = 0, and how wide they are."""
    plain = _SAME_AS.get(character, character)
    if plain not in _GLYPHS:
        plain = unicodedata.normalize("NFD", plain)[0]  # a letter with an accent is cut without it
    drawing = _GLYPHS.get(plain, _UNKNOWN)
    if not drawing:
        return (), _SPACE_GRID
    lines = [_drawn(stroke) for stroke in drawing.split(";")]
    left = min(point.x for line in lines for point in line)
    right = max(point.x for line in lines for point in line)
    return tuple(tuple(Point(x - left, y) for x, y in line) for line in lines), right - left


def characters() -> str:
    """Every character that has a drawing of its own; any other is cut as a crossed box.

    >>> set("Az09 ±°×") <= set(characters()), "@" in characters()
    (True, False)
    """
    return "".join(_GLYPHS)


def width_mm(*, text: str, height_mm: float) -> float:
    """Width of a line of text from the first centre line to the last; ink adds half a stroke at each end.

    Sum of the glyphs' widths and of 2/6 of the height between neighbours. Range: 1 <= height <= 50 mm.

    By hand: L is 3.5 grid units wide, T 4.4, between them 2; at 6 mm a grid unit is 1 mm: 3.5 + 2 + 4.4 = 9.9

    >>> round(width_mm(text="LT", height_mm=6.0), 6)
    9.9
    """
    require_range("height_mm", height_mm, 1.0, 50.0)
    grid = sum(_glyph(c)[1] for c in text) + _GAP_GRID * max(len(text) - 1, 0)
    return grid * height_mm / CAP_GRID


def strokes(*, text: str, height_mm: float) -> tuple[Polyline, ...]:
    """Centre lines of one line of text, in mm, from (0, 0) at the foot of the first letter.

    `height_mm` is the height of capitals between centre lines; tails reach a third of it below the line.
    Range: 1 <= height <= 50 mm.

    >>> strokes(text="L", height_mm=6.0)
    ((Point(x=0.0, y=6.0), Point(x=0.0, y=0.0), Point(x=3.5, y=0.0)),)
    """
    require_range("height_mm", height_mm, 1.0, 50.0)
    scale = height_mm / CAP_GRID
    at = 0.0
    lines: list[Polyline] = []
    for character in text:
        drawn, width = _glyph(character)
        lines += (tuple(Point((at + x) * scale, y * scale) for x, y in line) for line in drawn)
        at += width + _GAP_GRID
    return tuple(lines)


def outlines(*, text: str, height_mm: float, stroke_width_mm: float) -> tuple[Outline, ...]:
    """Areas that a round pen of the stroke's width inks along the text, in mm; none touches another.

    Rims run anticlockwise, islands clockwise. The pen's quarter circle is three segments, and points that
    shift a rim by less than a ninth of the stroke are left out. Range: 1 <= height <= 50 mm; stroke at most
    a fifth of the height, or neighbouring lines run together, and at least a fiftieth.

    >>> [len(outline.holes) for outline in outlines(text="B8i", height_mm=5.0, stroke_width_mm=0.5)]
    [2, 2, 0, 0]
    """
    require_range("height_mm", height_mm, 1.0, 50.0)
    require_range("stroke_width_mm", stroke_width_mm, height_mm / 50.0, height_mm / 5.0)
    lines = strokes(text=text, height_mm=height_mm)
    if not lines:
        return ()
    from shapely import MultiLineString, get_parts
    from shapely.geometry.polygon import orient

    inked = MultiLineString(lines).buffer(0.5 * stroke_width_mm, quad_segs=3)
    # A ninth of the stroke, 0.07 mm, does not show in a printed groove, and every face left out saves the kernel time.
    slim = inked.simplify(stroke_width_mm / 9.0)
    areas = sorted((orient(part) for part in get_parts(slim)), key=lambda part: part.bounds)
    return tuple(
        Outline(_open_ring(area.exterior.coords), tuple(_open_ring(hole.coords) for hole in area.interiors))
        for area in areas
    )


def _open_ring(coordinates: Iterable[tuple[float, float]]) -> Polyline:
    return tuple(Point(x, y) for x, y in coordinates)[:-1]
