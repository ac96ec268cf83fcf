"""3MF in millimetres with named bodies, by the format's own reference library; the same bytes again each time."""

from __future__ import annotations

import io
import uuid
import zipfile
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from moldgen.parts.mesh import Mesh

ZIP_TIME: Final = (1980, 1, 1, 0, 0, 0)


def write_3mf(bodies: Mapping[str, Mesh], path: Path, title: str) -> None:
    """Writes the bodies, each as a named object, where they stand."""
    import lib3mf

    wrapper = _library()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    model.GetMetaDataGroup().AddMetaData("", "Title", title, "xs:string", True)
    for name, mesh in bodies.items():
        item = model.AddMeshObject()
        item.SetName(name)
        points, corners = mesh.points.astype("<f4"), mesh.triangles.astype("<u4")
        item.SetGeometry(
            (lib3mf.Position * len(points)).from_buffer_copy(points.tobytes()),
            (lib3mf.Triangle * len(corners)).from_buffer_copy(corners.tobytes()),
        )
        item.SetUUID(_uuid(title, name))
        model.AddBuildItem(item, wrapper.GetIdentityTransform()).SetUUID(_uuid(title, name, "item"))
    model.SetBuildUUID(_uuid(title))
    raw = bytes(model.QueryWriter("3mf").WriteToBuffer())
    path.write_bytes(_repacked(raw))


@cache
def _library() -> Any:
    """Loaded once, since the package loads it anew each time that it is asked."""
    import lib3mf

    return lib3mf.get_wrapper()


def _uuid(*names: str) -> str:
    """An identifier made from names; the library's own are drawn anew for each file."""
    return str(uuid.uuid5(uuid.NAMESPACE_OID, "/".join(("moldgen", *names))))


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
    """All bodies of a file as one mesh, joined where the file joins them. Strict: a reader's warning is an error."""
    model = _library().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    points, triangles, base = [], [], 0
    items = model.GetMeshObjects()
    while items.MoveNext():
        item = items.GetCurrentMeshObject()
        corners = _as_array(item.GetVertices(), "<f4").astype(np.float64)
        faces = _as_array(item.GetTriangleIndices(), "<u4").astype(np.int64)
        points.append(corners)
        triangles.append(faces + base)
        base += len(corners)
    return Mesh(np.concatenate(points), np.concatenate(triangles))


def _as_array(items: list[Any], kind: str) -> NDArray[Any]:
    """Rows of three numbers: the records of a list from the library all lie in one block of memory."""
    if not items:
        return np.zeros((0, 3), dtype=kind)
    return np.frombuffer(items[0]._b_base_, dtype=kind).reshape(len(items), 3)
