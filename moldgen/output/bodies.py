"""Every printed body as STL and 3MF, as it lies on the printer's bed; and the record of a file."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from moldgen.output.stl import write_stl
from moldgen.output.threemf import write_3mf
from moldgen.parts.mesh import Mesh


@dataclass(frozen=True, slots=True)
class FileRecord:
    """One file of a build."""

    role: str
    format: str
    path: str
    bytes: int
    sha256: str

    def as_json(self) -> dict[str, Any]:
        return {"role": self.role, "format": self.format, "path": self.path, "bytes": self.bytes, "sha256": self.sha256}


def recorded(folder: Path, role: str, name: str) -> FileRecord:
    """The record of a file that has just been written."""
    data = (folder / name).read_bytes()
    return FileRecord(role, name.rsplit(".", 1)[-1], name, len(data), hashlib.sha256(data).hexdigest())


def on_bed(mesh: Mesh, *, upside_down: bool) -> Mesh:
    """The mesh standing on z = 0, its middle over the origin; upside down for a half whose cavity looks down."""
    points = mesh.points * ((1.0, -1.0, -1.0) if upside_down else (1.0, 1.0, 1.0))
    low, high = points.min(axis=0), points.max(axis=0)
    return Mesh(points - np.array([0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), low[2]]), mesh.triangles)


def as_printed(role: str, mesh: Mesh) -> Mesh:
    """A body as it lies on the bed: the upper half on its outer face, a core on its thicker end, all else as it is."""
    return on_bed(mesh, upside_down=role == "mold_upper" or (role == "core" and _thicker_above(mesh)))


def _thicker_above(mesh: Mesh) -> bool:
    """Whether an upright round body is thicker over its middle height than under it."""
    low, high = mesh.points.min(axis=0), mesh.points.max(axis=0)
    middle = 0.5 * (low + high)
    radius = np.hypot(mesh.points[:, 0] - middle[0], mesh.points[:, 1] - middle[1])
    above = mesh.points[:, 2] > middle[2]
    return bool(radius[above].max(initial=0.0) > radius[~above].max(initial=0.0) + 0.05)


def write_printed(folder: Path, role: str, mesh: Mesh, title: str) -> None:
    """STL and 3MF of one printed body."""
    lying = as_printed(role, mesh)
    write_stl(lying, folder / f"{role}.stl", f"{title} {role}")
    write_3mf({role: lying}, folder / f"{role}.3mf", f"{title} {role}")
