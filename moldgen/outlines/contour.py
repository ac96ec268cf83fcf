"""What the readers make: pieces as drawn, contours once joined, and what is wrong with them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldgen.shapes import Path, Point, Vertex


@dataclass(frozen=True, slots=True)
class Piece:
    """A line, arc, polyline or whole outline as it is drawn; the last vertex of an open one starts no edge."""

    vertices: tuple[Vertex, ...]
    source: str
    """What it is in the drawing, for messages: "LINE #2A on layer cut"."""
    closed: bool = False

    @property
    def ends(self) -> tuple[Point, Point]:
        first, last = self.vertices[0], self.vertices[-1]
        return Point(first.x, first.y), Point(last.x, last.y)

    def reversed(self) -> Piece:
        """An open piece run the other way."""
        bulges = [-v.bulge or 0.0 for v in self.vertices[-2::-1]] + [0.0]
        turned = [Vertex(v.x, v.y, bulge) for v, bulge in zip(self.vertices[::-1], bulges, strict=True)]
        return Piece(tuple(turned), self.source)


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed outline and, for each of its edges, what it was drawn as."""

    path: Path
    sources: tuple[str, ...]

    def anticlockwise(self) -> Contour:
        return self if self.path.area >= 0.0 else Contour(self.path.reversed(), self.sources[::-1])

    @property
    def diameter_mm(self) -> float | None:
        """The diameter of a contour that is one full circle; None for any other."""
        edges = self.path.edges
        if any(edge.start.bulge == 0.0 for edge in edges):
            return None
        arcs = [edge.arc for edge in edges]
        first = arcs[0]
        tolerance = 1e-6 * first.radius
        round_about = all(
            abs(a.radius - first.radius) < tolerance
            and math.hypot(a.centre.x - first.centre.x, a.centre.y - first.centre.y) < tolerance
            for a in arcs
        )
        return 2.0 * first.radius if round_about else None


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a contour cannot be cast, and where."""

    text: str
    way_out: str
    where_mm: Point
    contour: int = 0
    edge: int = 0
    """The edge of the contour at which it was found, counted as the path has them."""

    @property
    def place(self) -> str:
        return f"at ({self.where_mm.x:.2f}, {self.where_mm.y:.2f}) mm"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A file's closed contours, anticlockwise, in mm."""

    file: str
    contours: tuple[Contour, ...]
    faults: tuple[Fault, ...] = ()
    """What kept lines from being joined."""
    unit_stated: bool = True
    """False if the file does not say what its numbers are, and millimetres were taken."""
    left_out: tuple[str, ...] = ()
    """What the file holds besides outlines, counted: "2 TEXT"."""
