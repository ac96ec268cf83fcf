"""What the proofs measure a finished body with: its facets, flat sections, and the pieces that bodies share."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from moldgen.inspection.cavity_wall import Floats, Ints, Point3, as_point, cross_of
from moldgen.mold.plan import OpeningPlan
from moldgen.parts.mesh import Mesh
from moldgen.shapes import Drawn, Edge

if TYPE_CHECKING:
    from manifold3d import CrossSection, Manifold
    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

Flags = npt.NDArray[np.bool_]

ROUND = 128
"""Corners of a round tool: at a radius of 20 mm its chords lie 6 µm inside the circle."""
ALONG_MM = 0.005
NEEDLE_MM2 = 1e-7
"""A facet with less area than this has no normal that can be trusted."""


@dataclass(frozen=True, slots=True, eq=False)
class Facets:
    """Triangles of a body's surface, row by row."""

    corners: Floats
    """(n, 3, 3): corner, coordinate."""
    normals: Floats
    """Out of the body; zero for needles."""
    areas_mm2: Floats

    @property
    def middles(self) -> Floats:
        return np.asarray(self.corners.mean(axis=1))


def facets(mesh: Mesh) -> Facets:
    """Every triangle of a mesh with its normal and area."""
    return facets_of(mesh.points, mesh.triangles)


def facets_of(points: Floats, triangles: Ints) -> Facets:
    """Triangles by their corners' numbers, with normals and areas."""
    corners = points[triangles]
    doubled = cross_of(corners)
    lengths = np.linalg.norm(doubled, axis=1)
    sound = lengths > 2.0 * NEEDLE_MM2
    normals = np.where(sound[:, None], doubled / np.where(sound, lengths, 1.0)[:, None], 0.0)
    return Facets(corners, normals, 0.5 * lengths)


def taken(surface: Facets, rows: Flags) -> Facets:
    """Some of the facets."""
    return Facets(surface.corners[rows], surface.normals[rows], surface.areas_mm2[rows])


def shared_edges(mesh: Mesh) -> tuple[Ints, Ints, Ints]:
    """Of every edge of a closed mesh: the two facets that share it (k), (k), and its ends' numbers (k, 2)."""
    ends = np.sort(mesh.half_edges, axis=1)
    facet = np.tile(np.arange(len(mesh.triangles)), 3)
    order = np.lexsort((ends[:, 1], ends[:, 0]))
    return facet[order[0::2]], facet[order[1::2]], ends[order[0::2]]


def section(solid: Manifold, z_mm: float) -> MultiPolygon:
    """The solid cut at a height, as polygons with their holes."""
    return polygons(solid.slice(z_mm))


def polygons(cut: CrossSection) -> MultiPolygon:
    """A flat section as polygons with their holes."""
    from shapely import MultiPolygon, Polygon

    found = []
    for piece in cut.decompose():
        rings = sorted(piece.to_polygons(), key=_doubled_area)  # the shell runs anticlockwise, holes clockwise
        if rings:
            found.append(Polygon(rings[-1], rings[:-1]))
    return MultiPolygon(found)


def _doubled_area(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def hexagon(across_flats_mm: float, x: float = 0.0, y: float = 0.0) -> list[tuple[float, float]]:
    """Corners of a nut, one of them towards +x."""
    radius = across_flats_mm / math.sqrt(3.0)
    return [(x + radius * math.cos(math.pi * i / 3.0), y + radius * math.sin(math.pi * i / 3.0)) for i in range(6)]


def prism(outline: Sequence[tuple[float, float]], low_mm: float, high_mm: float) -> Manifold:
    """A polygon standing from one height to another."""
    from manifold3d import CrossSection, Manifold

    return Manifold.extrude(CrossSection([np.asarray(outline)]), high_mm - low_mm).translate((0.0, 0.0, low_mm))


def rod(radius_mm: float, low_mm: float, high_mm: float, x: float = 0.0, y: float = 0.0) -> Manifold:
    """A cylinder from one height to another."""
    from manifold3d import Manifold

    return Manifold.cylinder(high_mm - low_mm, radius_mm, circular_segments=ROUND).translate((x, y, low_mm))


def turned(outline: Floats) -> Manifold:
    """A closed half-section (r, z) turned about the z axis."""
    from manifold3d import CrossSection, FillRule, Manifold

    return Manifold.revolve(CrossSection([outline], FillRule.NonZero), circular_segments=2 * ROUND)


def drawn(outline: Floats, shape: Drawn) -> Manifold:
    """A closed section (out of the line, height) drawn along the line of a long part."""
    from manifold3d import CrossSection, FillRule, Manifold, Mesh64

    if not shape.closed:
        (only,) = shape.line
        along = Manifold.extrude(CrossSection([outline], FillRule.NonZero), shape.length_mm)
        upright = [[0.0, 0.0, -1.0, only.end.x], [-1.0, 0.0, 0.0, only.end.y], [0.0, 1.0, 0.0, 0.0]]
        return along.transform(np.array(upright))
    section = outline if _doubled_area(outline) > 0.0 else outline[::-1]
    stations, out = (np.array(values) for values in zip(*_stations(shape.line), strict=True))
    flat = stations[:, None] + section[None, :, :1] * out[:, None]
    heights = np.broadcast_to(section[None, :, 1:], (*flat.shape[:2], 1))
    count, corners = flat.shape[:2]
    here = np.arange(count * corners).reshape(count, corners)
    ahead, beside = np.roll(here, -1, axis=0), np.roll(here, -1, axis=1)
    onward = np.roll(ahead, -1, axis=1)
    triangles = np.concatenate([np.stack(t, axis=-1) for t in ((here, ahead, beside), (beside, ahead, onward))])
    return Manifold(Mesh64(np.concatenate([flat, heights], axis=2).reshape(-1, 3), triangles.reshape(-1, 3)))


def _stations(line: Sequence[Edge]) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Places along a line no farther from it than ALONG_MM, and which way is out there."""
    for edge in line:
        yield (edge.start.x, edge.start.y), (edge.heading.y, -edge.heading.x)
        if edge.start.bulge == 0.0:
            continue
        arc, (_, *between) = edge.arc, edge.points(ALONG_MM)
        radius = math.copysign(arc.radius, arc.sweep)
        for x, y in between:
            yield (x, y), ((x - arc.centre.x) / radius, (y - arc.centre.y) / radius)


def radius_mm(opening: OpeningPlan, z_mm: Floats) -> Floats:
    """Radius of a sprue or vent at given heights; 0 below its gate."""
    points = np.array(opening.profile(dip_mm=0.0, beyond_mm=0.0))
    return np.asarray(np.interp(z_mm, points[:, 1], points[:, 0], left=0.0))


def pieces(solid: Manifold, least_mm3: float) -> Iterator[tuple[float, Point3]]:
    """Volume and middle of each separate piece larger than that, the largest first."""
    found = sorted(((part.volume(), part) for part in solid.decompose()), key=lambda pair: -pair[0])
    for volume, part in found:
        if volume > least_mm3:
            box = np.array(part.bounding_box())
            yield float(volume), as_point(0.5 * (box[:3] + box[3:]))


def spoken(where: Point3) -> str:
    """A place in words."""
    return f"({where[0]:.1f}, {where[1]:.1f}, {where[2]:.1f}) mm"


def place_2d(spot: BaseGeometry, z_mm: float) -> Point3:
    """A point that lies in a flat shape."""
    inside = spot.representative_point()
    return float(inside.x), float(inside.y), z_mm
