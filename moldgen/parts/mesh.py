"""Triangles, which files, pictures and proofs share; nothing here knows the CAD kernel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

STL_TRIANGLE: Final = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
"""One record of the binary STL format."""
MERGE_MM: Final = 1e-5
"""Above the last digit of single precision at 100 mm, far below any detail that is meant."""


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

    @property
    def size_mm(self) -> tuple[float, float, float]:
        """Along x, y and z."""
        x, y, z = (self.points.max(axis=0) - self.points.min(axis=0)).tolist()
        return x, y, z

    @property
    def half_edges(self) -> NDArray[np.int64]:
        """The three edges (3 m, 2) of every triangle in its own sense: first edges of all, then second, then third."""
        t = self.triangles
        return np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]])

    def open_edges(self) -> NDArray[np.float64]:
        """Midpoints (k, 3) of edges that do not have exactly one neighbour in the other sense; empty if watertight."""
        half, n = self.half_edges, len(self.points)
        forward, backward = half[:, 0] * n + half[:, 1], half[:, 1] * n + half[:, 0]
        in_order = np.sort(forward)
        if np.all(in_order[1:] > in_order[:-1]) and np.array_equal(in_order, np.sort(backward)):
            return np.empty((0, 3))
        once, counts = np.unique(forward, return_counts=True)
        bad = once[(counts != 1) | ~np.isin(once, backward)]
        middles: NDArray[np.float64] = 0.5 * (self.points[bad // n] + self.points[bad % n])
        return middles


def merged(points: NDArray[np.float64], triangles: NDArray[np.int64]) -> Mesh:
    """Points that lie together made one, in a fixed order, and triangles that this leaves without area dropped.

    The kernel's faces meet within its own tolerance, not exactly, and single precision parts them further. Two points
    are one if each of their coordinates falls into the same cluster of values closer than MERGE_MM to the next.
    """
    keys = np.stack([_clusters(points[:, axis]) for axis in range(3)], axis=1)
    order = np.lexsort(keys.T)
    ordered = keys[order]
    new = np.ones(len(points), dtype=bool)
    new[1:] = np.any(ordered[1:] != ordered[:-1], axis=1)
    number = np.empty(len(points), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    corners = number[triangles]
    proper = (corners[:, 0] != corners[:, 1]) & (corners[:, 1] != corners[:, 2]) & (corners[:, 2] != corners[:, 0])
    return Mesh(points[order][new], corners[proper])


def _clusters(values: NDArray[np.float64]) -> NDArray[np.int64]:
    """A number for each value, the same for values that a chain of gaps under MERGE_MM joins."""
    order = np.argsort(values, kind="stable")
    step = np.diff(values[order], prepend=values[order[0]]) > MERGE_MM
    out = np.empty(len(values), dtype=np.int64)
    out[order] = np.cumsum(step)
    return out
