"""Binary STL: written from our mesh, read back by a library that did not write it."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from moldgen.errors import OutputError
from moldgen.parts.mesh import STL_TRIANGLE, Mesh, merged


def write_stl(mesh: Mesh, path: Path, name: str) -> None:
    """Writes the mesh in millimetres; the header carries the name and no time, so the bytes repeat."""
    corners = mesh.points[mesh.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    records = np.zeros(len(corners), dtype=STL_TRIANGLE)
    records["normal"] = normal / np.where(length > 0.0, length, 1.0)
    records["corners"] = corners
    header = f"moldgen {name} (mm)".encode("ascii", "replace")[:80].ljust(80, b" ")
    path.write_bytes(header + len(corners).to_bytes(4, "little") + records.tobytes())


def read_stl(path: Path) -> Mesh:
    """The mesh in a file, equal corners made one."""
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkIOGeometry import vtkSTLReader

    reader = vtkSTLReader()
    reader.SetFileName(str(path))
    reader.MergingOff()
    reader.Update()
    data = reader.GetOutput()
    if data.GetNumberOfCells() == 0:
        raise OutputError(f"{path}: there is no triangle in it. Build again.")
    points = vtk_to_numpy(data.GetPoints().GetData()).astype(np.float64)
    corners = vtk_to_numpy(data.GetPolys().GetConnectivityArray()).astype(np.int64).reshape(-1, 3)
    return merged(points, corners)
