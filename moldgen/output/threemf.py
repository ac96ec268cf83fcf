"""3MF in millimetres with named bodies, by the format's own reference library; the same bytes again each time."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import numpy as np

from moldgen.parts.mesh import Mesh, merged

ZIP_TIME: Final = (1980, 1, 1, 0, 0, 0)


def write_3mf(bodies: Mapping[str, Mesh], path: Path, title: str) -> None:
    """Writes the bodies, each as a named object, where they stand."""
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    model.GetMetaDataGroup().AddMetaData("", "Title", title, "xs:string", True)
    for name, mesh in bodies.items():
        item = model.AddMeshObject()
        item.SetName(name)
        vertices = [lib3mf.Position((_single(x), _single(y), _single(z))) for x, y, z in mesh.points.tolist()]
        triangles = [lib3mf.Triangle((a, b, c)) for a, b, c in mesh.triangles.tolist()]
        item.SetGeometry(vertices, triangles)
        model.AddBuildItem(item, wrapper.GetIdentityTransform())
    raw = bytes(model.QueryWriter("3mf").WriteToBuffer())
    path.write_bytes(_repacked(raw))


def _single(value: float) -> float:
    return float(np.float32(value))


def _repacked(raw: bytes) -> bytes:
    """The same package with fixed times and order, since the library stamps the hour of writing into it."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in sorted(source.namelist()):
            entry = zipfile.ZipInfo(name, ZIP_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            target.writestr(entry, source.read(name))
    return out.getvalue()


def read_3mf(path: Path) -> Mesh:
    """All bodies of a file as one mesh. Strict: any warning of the reader is an error of the file."""
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    points, triangles, base = [], [], 0
    items = model.GetMeshObjects()
    while items.MoveNext():
        item = items.GetCurrentMeshObject()
        corners = np.array([tuple(v.Coordinates) for v in item.GetVertices()], dtype=np.float64)
        faces = np.array([tuple(t.Indices) for t in item.GetTriangleIndices()], dtype=np.int64)
        points.append(corners)
        triangles.append(faces + base)
        base += len(corners)
    return merged(np.concatenate(points), np.concatenate(triangles))
