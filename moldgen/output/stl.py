"""Binary STL: an 80-byte header, then triangles; written from our mesh, read back by trimesh, which did not write it."""

from __future__ import annotations

from pathlib import Path

import numpy as np

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
    import trimesh

    loaded = trimesh.load(path, file_type="stl", process=False)
    return merged(np.asarray(loaded.vertices, dtype=np.float64), np.asarray(loaded.faces, dtype=np.int64))
