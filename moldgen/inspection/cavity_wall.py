"""The wall of a cavity as triangles, and where openings break through it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from moldgen.errors import GeometryError, require_range

if TYPE_CHECKING:
    from manifold3d import Manifold

Point3 = tuple[float, float, float]
Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

TINY = 1e-30  # keeps a needle of a triangle from dividing by zero


@dataclass(frozen=True, slots=True)
class Opening:
    """The mouth of a vent or sprue: the cavity's wall within `radius_mm` of the point is missing."""

    point_mm: Point3
    radius_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """The cavity's closed surface; its triangles' normals point out of it, into the mold."""

    points: Floats
    corners: Ints
    area_vectors: Floats
    """Half the cross product of each triangle's edges."""


def wall_of(cavity: Manifold) -> Wall:
    mesh = cavity.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    corners = np.array(mesh.tri_verts, dtype=np.int64)
    if len(corners) == 0:
        raise GeometryError(
            stage="air traps",
            text="the cavity is empty",
            way_out="check that the part and the block overlap",
        )
    if len(mesh.merge_from_vert):  # a mesh read from a file may name one point several times
        same = np.arange(len(points))
        same[np.array(mesh.merge_from_vert)] = np.array(mesh.merge_to_vert)
        used, corners = np.unique(same[corners], return_inverse=True)
        points, corners = points[used], corners.reshape(-1, 3)
    return Wall(points, corners, 0.5 * cross_of(points[corners]))


def cross_of(triangles: Floats) -> Floats:
    return np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])


def dot(a: Floats, b: Floats) -> Floats:
    """Row by row."""
    return np.asarray(np.einsum("ij,ij->i", a, b))


def unit(direction: Point3) -> Floats:
    length = math.hypot(*direction)
    require_range("length of up", length, 1e-9, 1e9)
    return np.asarray(direction, dtype=np.float64) / length


def as_point(coordinates: Floats) -> Point3:
    x, y, z = (float(c) for c in coordinates)
    return x, y, z


def mouth_of(wall: Wall, opening: Opening) -> Ints:
    """The triangles that the opening takes away wholly or in part, joined to the one nearest to its point.

    Joined, since a ball may also reach through a thin wall of the mold into the next hollow.
    """
    require_range("radius_mm", opening.radius_mm, 0.01, 500.0)
    centre, radius = np.asarray(opening.point_mm, dtype=np.float64), opening.radius_mm
    triangles = wall.points[wall.corners]
    boxes_meet = (triangles.min(axis=1) <= centre + radius) & (triangles.max(axis=1) >= centre - radius)
    boxed = np.flatnonzero(boxes_meet.all(axis=1))
    distances = np.linalg.norm(nearest(triangles[boxed], centre) - centre, axis=1)
    touched = boxed[distances < radius]
    if len(touched) == 0:
        raise GeometryError(
            stage="air traps",
            where_mm=opening.point_mm,
            text=f"an opening of radius {radius:g} mm does not meet the cavity's wall",
            way_out="move the vent or sprue so that it ends in the wall",
        )
    by_edge: dict[tuple[int, int], list[int]] = {}
    for triangle, corners in zip(touched.tolist(), wall.corners[touched].tolist(), strict=True):
        for i in range(3):
            edge = (min(corners[i - 1], corners[i]), max(corners[i - 1], corners[i]))
            by_edge.setdefault(edge, []).append(triangle)
    ends = wall.points[np.array(list(by_edge))]
    inside = np.linalg.norm(nearest_on_edge(ends[:, 0], ends[:, 1], centre) - centre, axis=1) < radius
    neighbours: dict[int, list[int]] = {}
    for sharing, joins in zip(by_edge.values(), inside.tolist(), strict=True):
        for triangle in sharing if joins else ():
            neighbours.setdefault(triangle, []).extend(sharing)
    waiting = [int(boxed[distances.argmin()])]
    mouth = set(waiting)
    while waiting:
        fresh = set(neighbours.get(waiting.pop(), ())) - mouth
        mouth |= fresh
        waiting += fresh
    return np.array(sorted(mouth))


def highest_in_ball(triangles: Floats, centre: Floats, radius: float, up: Floats) -> Floats:
    """The highest point of each triangle inside a ball that it is known to touch.

    It is a corner, or where an edge leaves the ball, or the top of the circle in which the ball cuts the
    plane.
    """
    candidates = [nearest(triangles, centre)]
    candidates += [triangles[:, i] for i in range(3)]
    for i in range(3):
        start, way = triangles[:, i - 1], triangles[:, i] - triangles[:, i - 1]
        square = np.maximum(dot(way, way), TINY)
        half = dot(way, start - centre) / square
        rest = half**2 - (dot(start - centre, start - centre) - radius**2) / square
        for sign in (-1.0, 1.0):
            along = np.clip(-half + sign * np.sqrt(np.maximum(rest, 0.0)), 0.0, 1.0)
            candidates.append(start + along[:, None] * way)
    normals = cross_of(triangles)
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), TINY)
    off = dot(centre - triangles[:, 0], normals)
    slope = up - (normals @ up)[:, None] * normals
    slope /= np.maximum(np.linalg.norm(slope, axis=1, keepdims=True), 1e-12)
    circle = np.sqrt(np.maximum(radius**2 - off**2, 0.0))
    tops = centre - off[:, None] * normals + circle[:, None] * slope
    candidates.append(nearest(triangles, tops))
    points = np.stack(candidates, axis=1)
    allowed = np.linalg.norm(points - centre, axis=2) <= radius * (1.0 + 1e-9)
    best = np.where(allowed, points @ up, -np.inf).argmax(axis=1)
    return np.asarray(points[np.arange(len(points)), best])


def nearest(triangles: Floats, centre: Floats) -> Floats:
    """The point of each triangle nearest to the centre (one for all, or a row each).

    It is the centre's foot on the triangle's plane if that lies inside, else a point on an edge.
    """
    candidates = [nearest_on_edge(triangles[:, i - 1], triangles[:, i], centre) for i in range(3)]
    normals = cross_of(triangles)
    square = dot(normals, normals)
    off = dot(centre - triangles[:, 0], normals) / np.maximum(square, TINY)
    foot = centre - off[:, None] * normals
    inside = square > TINY
    for i in range(3):
        edge = triangles[:, i] - triangles[:, i - 1]
        inside &= dot(np.cross(edge, foot - triangles[:, i - 1]), normals) >= 0.0
    points = np.stack(candidates, axis=1)
    best = np.linalg.norm(points - np.reshape(centre, (-1, 1, 3)), axis=2).argmin(axis=1)
    return np.where(inside[:, None], foot, points[np.arange(len(points)), best])


def nearest_on_edge(start: Floats, end: Floats, centre: Floats) -> Floats:
    way = end - start
    along = np.clip(dot(centre - start, way) / np.maximum(dot(way, way), TINY), 0.0, 1.0)
    return np.asarray(start + along[:, None] * way)
