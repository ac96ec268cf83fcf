"""Triangles of a solid, made once and used for files, pictures and proofs alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

SAG_MM: Final = 0.02
ANGLE_RAD: Final = 0.1
"""Finer than 0.01 mm and 0.05 rad explodes on tori; the volume error goes with the square of the angle."""
MERGE_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Mesh:
    """A closed triangle mesh: `points` (n, 3) in mm, `triangles` (m, 3) seen anticlockwise from outside."""

    points: NDArray[np.float64]
    triangles: NDArray[np.int64]

    @property
    def volume_mm3(self) -> float:
        a, b, c = (self.points[self.triangles[:, i]] for i in range(3))
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)

    @property
    def area_mm2(self) -> float:
        a, b, c = (self.points[self.triangles[:, i]] for i in range(3))
        return float(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum())

    def open_edges(self) -> NDArray[np.float64]:
        """Midpoints (k, 3) of edges that do not have exactly one neighbour in the other sense; empty if watertight."""
        t = self.triangles
        half = np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]])
        n = len(self.points)
        forward, counts = np.unique(half[:, 0] * n + half[:, 1], return_counts=True)
        backward = half[:, 1] * n + half[:, 0]
        bad = forward[(counts != 1) | ~np.isin(forward, backward)]
        return 0.5 * (self.points[bad // n] + self.points[bad % n])


def meshed(body: Any, *, sag_mm: float = SAG_MM, angle_rad: float = ANGLE_RAD) -> Mesh:
    """The body's surface as a mesh whose faces share their vertices.

    A finer mesh left on a shape would silently be reused, so it is cleaned off first; the deflection is absolute.
    """
    shape = body.wrapped
    BRepTools.Clean_s(shape)
    BRepMesh_IncrementalMesh(shape, sag_mm, False, angle_rad, True)
    points: list[NDArray[np.float64]] = []
    triangles: list[NDArray[np.int64]] = []
    base = 0
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face_s(explorer.Current())
        location = TopLoc_Location()
        patch = BRep_Tool.Triangulation_s(face, location)
        explorer.Next()
        if patch is None:
            continue  # an empty face shows up as open edges in the watertight proof
        transform = location.Transformation()
        nodes = np.array([_node(patch, i, transform) for i in range(1, patch.NbNodes() + 1)])
        corners = np.array([patch.Triangle(i).Get() for i in range(1, patch.NbTriangles() + 1)], dtype=np.int64)
        if face.Orientation() == TopAbs_REVERSED:
            corners = corners[:, ::-1]
        points.append(nodes)
        triangles.append(corners - 1 + base)
        base += len(nodes)
    return merged(np.concatenate(points), np.concatenate(triangles))


def _node(patch: Any, index: int, transform: Any) -> tuple[float, float, float]:
    point = patch.Node(index).Transformed(transform)
    return point.X(), point.Y(), point.Z()


def merged(points: NDArray[np.float64], triangles: NDArray[np.int64]) -> Mesh:
    """Equal points made one, in a fixed order, and triangles that this leaves without area dropped."""
    keys = np.round(points / MERGE_MM).astype(np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    corners = inverse.reshape(-1)[triangles]
    proper = (corners[:, 0] != corners[:, 1]) & (corners[:, 1] != corners[:, 2]) & (corners[:, 2] != corners[:, 0])
    return Mesh(points[first], corners[proper])
