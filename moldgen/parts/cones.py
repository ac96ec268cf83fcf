"""Cones laid with strips from rim to rim, as cylinders are, where the kernel's mesher lays squares.

The squares' own corners say nothing that the rims do not: along a cone everything is straight. They made two thirds of
all facets of a mold with many openings, and lie twice as far apart as the rims' corners, which made the cone smaller.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from moldgen.parts.mesh import Mesh, merged

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LEVEL_MM: Final = 1e-4
"""Corners of a rim are at one height within this."""


@dataclass(frozen=True, slots=True, eq=False)
class Cone:
    """Facets `first` up to `end` of a mesh lie on one cone; a point of its axis, and the axis' direction, (3,) each."""

    first: int
    end: int
    foot: Floats
    axis: Floats


def with_strips(corners: Floats, cones: Sequence[Cone]) -> Floats:
    """Facets (n, 3, 3), those of each cone laid anew that ends in two level rims; any other cone's as they are.

    `cones` come in the order of their facets.
    """
    out, done = [], 0
    for cone in cones:
        out += [corners[done : cone.first], _strip(corners[cone.first : cone.end], cone)]
        done = cone.end
    return np.concatenate([*out, corners[done:]])


def _strip(corners: Floats, cone: Cone) -> Floats:
    """A facet for each edge of either rim, which ends in the corner that the other rim has got to by then.

    The edges of both rims are taken in one order, that of their middles' angles about the axis.
    """
    mesh = merged(corners.reshape(-1, 3), np.arange(3 * len(corners), dtype=np.int64).reshape(-1, 3))
    edges = _border(mesh)
    heights = (mesh.points - cone.foot) @ cone.axis
    low, high = heights < heights.min() + LEVEL_MM, heights > heights.max() - LEVEL_MM
    lower, upper = (edges[on[edges].all(axis=1)] for on in (low, high))
    # A cone that does not go all round has two straight edges besides.
    straight = edges[low[edges].any(axis=1) & high[edges].any(axis=1)]
    if len(lower) == 0 or len(upper) == 0 or len(lower) + len(upper) + len(straight) < len(edges):
        return corners
    aside = np.cross(cone.axis, np.eye(3)[np.abs(cone.axis).argmin()])
    flat = (mesh.points - cone.foot) @ np.column_stack([aside, np.cross(cone.axis, aside)]) @ (1.0, 1.0j)
    if len(straight):
        flat /= flat[lower].sum()  # the middle of the arc lies ahead, the gap behind, where angles leap
    below, above = _Rim.of(lower, flat), _Rim.of(upper, flat)
    strip = [
        np.column_stack([below.edges, above.reached[np.searchsorted(above.angles, below.angles, side="left")]]),
        np.column_stack([above.edges, below.reached[np.searchsorted(below.angles, above.angles, side="right")]]),
    ]
    return np.asarray(mesh.points[np.concatenate(strip)])


def _border(mesh: Mesh) -> Ints:
    """Edges (k, 2) that no other triangle has, in the sense of their own."""
    edges, count = mesh.half_edges, len(mesh.points)
    return edges[~np.isin(edges @ (count, 1), edges @ (1, count))]


@dataclass(frozen=True, slots=True, eq=False)
class _Rim:
    """The edges (n, 2) of a rim in the order of their middles' angles, and the corner (n + 1) before and after each."""

    edges: Ints
    angles: Floats
    reached: Ints

    @classmethod
    def of(cls, edges: Ints, flat: NDArray[np.complex128]) -> _Rim:
        start, end = flat[edges].T
        forwards = float((start.conj() * end).imag.sum()) > 0.0
        angles = np.angle(start + end)
        order = np.argsort(angles)
        edges = edges[order]
        before, after = edges.T if forwards else edges.T[::-1]
        return cls(edges, angles[order], np.concatenate([before[:1], after]))
