"""Cuts through the finished solids, as areas and outlines of a drawing.

The solids are cut and not the plan redrawn: what stands on the sheet is then what is printed, whatever the mold's
design may come to do, and a solid that strayed from its plan shows beside the plan's dimensions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from moldgen.drawing.model import Area, Item, Material, Stroke, outline
from moldgen.shapes import Edge, Path, Point, Vertex

if TYPE_CHECKING:
    from moldgen.parts.kernel import Body, Plane

Face = tuple[Path, ...]
"""Outline and holes of one cut face, in mm of the real thing."""
ON_SIDE_MM: Final = 1e-4


@dataclass(frozen=True, slots=True)
class CuttingPlane:
    """An upright plane through a place of the mold; its own x runs from there at an angle, its y is the height."""

    through: Point
    along_deg: float

    def at(self, x: float, y: float) -> float:
        """How far along the plane a place of the mold lies."""
        c, s = math.cos(math.radians(self.along_deg)), math.sin(math.radians(self.along_deg))
        return (x - self.through.x) * c + (y - self.through.y) * s

    def off(self, x: float, y: float) -> float:
        """How far beside the plane a place of the mold lies, behind it positive."""
        c, s = math.cos(math.radians(self.along_deg)), math.sin(math.radians(self.along_deg))
        return (y - self.through.y) * c - (x - self.through.x) * s

    def cut(self, body: Body, window: Path) -> Body:
        """What a body, or an earlier cut of it, has within a window on the plane."""
        return self._kernel_plane().cut(body, window)

    def faces(self, cut: Body) -> tuple[Face, ...]:
        """A cut's faces in the plane's own frame."""
        return _in_order(self._kernel_plane().outlines(cut))

    def _kernel_plane(self) -> Plane:
        from moldgen.parts.kernel import Plane

        c, s = math.cos(math.radians(self.along_deg)), math.sin(math.radians(self.along_deg))
        return Plane((self.through.x, self.through.y, 0.0), (c, s, 0.0), (0.0, 0.0, 1.0))


def level_faces(body: Body, *, z_mm: float) -> tuple[Face, ...]:
    """The body's cut faces at a height, at which none of its own may lie, seen from above."""
    from moldgen.parts.kernel import Plane

    level = Plane((0.0, 0.0, z_mm), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    return _in_order(level.outlines_across(body))


def _in_order(cut: list[list[Path]]) -> tuple[Face, ...]:
    """Largest first, and from left to right among equals: the kernel's own order is no promise."""
    faces = [tuple(_joined(path) for path in face) for face in cut]
    return tuple(
        sorted(faces, key=lambda f: (-round(f[0].area, 4), round(f[0].bounds[0], 4), round(f[0].bounds[1], 4)))
    )


def _joined(path: Path) -> Path:
    """The outline without corners in the middle of a straight line, begun at its lowest, leftmost corner."""
    edges = path.edges
    kept = [
        edge.start
        for before, edge in zip((edges[-1], *edges[:-1]), edges, strict=True)
        if not _goes_straight_on(before, edge)
    ]
    first = min(range(len(kept)), key=lambda i: (round(kept[i].y, 6), round(kept[i].x, 6)))
    return Path((*kept[first:], *kept[:first]))


def _goes_straight_on(before: Edge, after: Edge) -> bool:
    if before.start.bulge != 0.0 or after.start.bulge != 0.0:
        return False
    ax, ay = before.end.x - before.start.x, before.end.y - before.start.y
    bx, by = after.end.x - after.start.x, after.end.y - after.start.y
    return abs(ax * by - ay * bx) < 1e-7 * before.chord * after.chord and ax * bx + ay * by > 0.0


def hatched(faces: tuple[Face, ...], material: Material, scale: float, *, window: Path | None = None) -> Iterator[Item]:
    """Cut faces on the sheet, their outlines drawn except where they end at the window that they were cut out by."""
    for face in faces:
        paths = [path.scaled(scale) for path in face]
        yield Area(paths[0], tuple(paths[1:]), material)
        for real, path in zip(face, paths, strict=True):
            yield from (outline(path),) if window is None else _within(real, path, window)


def _within(real: Path, path: Path, window: Path) -> Iterator[Stroke]:
    """The stretches of an outline that do not lie on the window's sides."""
    shown = [not _on_side(edge, window) for edge in real.edges]
    if all(shown):
        yield outline(path)
        return
    run: list[Vertex] = []
    count = len(shown)
    first = shown.index(False)
    for step in range(1, count + 1):
        edge = path.edges[(first + step) % count]
        if shown[(first + step) % count]:
            run = [*run[:-1], edge.start, Vertex(edge.end.x, edge.end.y)]
        elif run:
            yield Stroke(tuple(run), "outline")
            run = []


def _on_side(edge: Edge, window: Path) -> bool:
    """Whether an edge lies on one side of an upright rectangle."""
    x0, y0, x1, y1 = window.bounds
    a, b = edge.start, edge.end
    return any(abs(a.x - x) + abs(b.x - x) < ON_SIDE_MM for x in (x0, x1)) or any(
        abs(a.y - y) + abs(b.y - y) < ON_SIDE_MM for y in (y0, y1)
    )
