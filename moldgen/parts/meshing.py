"""Triangles of a solid of the kernel, made once and used for files, pictures and proofs alike."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import OutputError
from moldgen.parts.cad import (
    BRep_Tool,
    BRepAdaptor_Surface,
    BRepMesh_IncrementalMesh,
    BRepTools,
    GeomAbs_SurfaceType,
    IMeshTools_MeshAlgoType,
    IMeshTools_Parameters,
    StlAPI_Writer,
    TopLoc_Location,
)
from moldgen.parts.cones import Cone, with_strips
from moldgen.parts.mesh import STL_TRIANGLE, Mesh, merged

SAG_MM: Final = 0.01
ANGLE_RAD: Final = 0.2
"""The sag rules from 2 mm of radius up, the angle below; a ring comes out 0.03 % small. Much finer explodes on tori."""
SHORTEST_MM: Final = 0.08
"""No facet is shorter along a curve: at a radius of 0.1 mm that is still less than the sag. Halves a rounded ring."""
FINE_ANGLE_RAD: Final = 0.05
"""For cores, whose cones the coarser angle leaves more than 0.1 % small."""
ROUND_DIGITS: Final = 6


def meshed(body: Any, *, angle_rad: float = ANGLE_RAD) -> Mesh:
    """The body's surface as a mesh whose faces share their vertices.

    The quicker of the kernel's two ways to lay triangles now and then leaves a face bare; then the other is taken.
    """
    mesh = _laid(body, angle_rad, IMeshTools_MeshAlgoType.IMeshTools_MeshAlgoType_Delabella)
    if len(mesh.open_edges()) == 0:
        return mesh
    return _laid(body, angle_rad, IMeshTools_MeshAlgoType.IMeshTools_MeshAlgoType_Watson)


def _laid(body: Any, angle_rad: float, way: Any) -> Mesh:
    """Triangles as the kernel lays them.

    A mesh left on a shape would silently be reused where it is finer, and go along wherever the shape goes, so it is
    cleaned off; the deflection is absolute. The kernel hands triangles over one object at a time, which costs more than
    the meshing; through a file in its own binary form they come as one array. Single precision is what STL and 3MF hold
    in any case.
    """
    shape = body.wrapped
    asked = IMeshTools_Parameters()
    asked.Deflection, asked.Angle, asked.MinSize, asked.MeshAlgo = SAG_MM, angle_rad, SHORTEST_MM, way
    BRepMesh_IncrementalMesh(shape, asked)
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    with TemporaryDirectory() as folder:
        path = Path(folder) / "mesh.stl"
        if not writer.Write(shape, str(path)):
            raise OutputError(f"{folder}: no room for a working file. Free some space, or point TMPDIR elsewhere.")
        cones = list(_cones(body))
        BRepTools.Clean_s(shape)
        read: NDArray[np.float64] = np.fromfile(path, dtype=STL_TRIANGLE, offset=84)["corners"].astype(np.float64)
    corners = np.round(read, ROUND_DIGITS) + 0.0  # the kernel's zeros are now 5e-17, now -5e-17, and not all alike
    corners = with_strips(corners, cones)
    return merged(corners.reshape(-1, 3), np.arange(3 * len(corners), dtype=np.int64).reshape(-1, 3))


def _cones(body: Any) -> Iterator[Cone]:
    """Where the cones' facets are among all of a body on which they lie; they are written face by face."""
    done = 0
    for face in body.Faces():
        laid = BRep_Tool.Triangulation_s(face.wrapped, TopLoc_Location())
        first, done = done, done + (laid.NbTriangles() if laid else 0)
        surface = BRepAdaptor_Surface(face.wrapped, False)
        if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cone:
            axis = surface.Cone().Axis()
            foot, way = axis.Location(), axis.Direction()
            yield Cone(first, done, *(np.array([of.X(), of.Y(), of.Z()]) for of in (foot, way)))
