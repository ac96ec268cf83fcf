"""Meshes as solids of a library that shares no code with the CAD kernel, so that it can check the kernel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from moldgen.parts.mesh import Mesh

if TYPE_CHECKING:
    from manifold3d import Manifold


@dataclass(frozen=True, slots=True)
class Solids:
    """A closed mold's bodies, made once for all proofs; like bodies at all their places are one."""

    lower: Manifold
    upper: Manifold
    cores: Manifold
    inserts: Manifold


def manifold(mesh: Mesh) -> Manifold:
    """The mesh as a solid of the mesh library."""
    from manifold3d import Manifold
    from manifold3d import Mesh as Triangles

    return Manifold(Triangles(mesh.points.astype(np.float32), mesh.triangles.astype(np.uint32)))


def arrays(solid: Manifold) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Points (n, 3) and triangles (m, 3) of a solid of the mesh library."""
    mesh = solid.to_mesh()
    return (
        np.asarray(mesh.vert_properties)[:, :3].astype(np.float64),
        np.asarray(mesh.tri_verts).astype(np.int64),
    )


def joined(meshes: Iterable[Mesh]) -> Manifold:
    """Several meshes as one solid; nothing for none."""
    from manifold3d import Manifold, OpType

    return Manifold.batch_boolean([manifold(mesh) for mesh in meshes], OpType.Add)
