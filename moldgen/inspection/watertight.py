"""Proof 1 on meshes: every body is closed, and what stands on disk reads back closed with the solid's volume."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from moldgen.inspection.findings import Finding
from moldgen.parts.mesh import Mesh

VOLUME_TOLERANCE: Final = 0.001


def closed(meshes: Mapping[str, Mesh]) -> Iterator[Finding]:
    """Each mesh, by its body's role, without an open edge."""
    for role, mesh in meshes.items():
        yield _watertight("watertight", role, mesh)


def _watertight(proof: str, what: str, mesh: Mesh) -> Finding:
    gaps = mesh.open_edges()
    if len(gaps) == 0:
        return Finding(proof, True, 0.0, 0.0, None, f"{what}: watertight, {len(mesh.triangles)} triangles")
    x, y, z = (float(v) for v in gaps[0])
    text = f"{what}: {len(gaps)} open edges, the first at ({x:.2f}, {y:.2f}, {z:.2f}) mm"
    return Finding(proof, False, float(len(gaps)), 0.0, (x, y, z), text)


def read_back(folder: Path, volumes_mm3: Mapping[str, float]) -> Iterator[Finding]:
    """Each body's STL and 3MF, read from disk by readers that did not write them; volumes are the solids', by role."""
    from moldgen.output.stl import read_stl
    from moldgen.output.threemf import read_3mf

    for role, volume in volumes_mm3.items():
        for suffix, read in (("stl", read_stl), ("3mf", read_3mf)):
            mesh = read(folder / f"{role}.{suffix}")
            yield _watertight(f"read_back_{suffix}", f"{role}.{suffix}", mesh)
            yield _volume(f"read_back_{suffix}", f"{role}.{suffix}", mesh.volume_mm3, volume)


def _volume(proof: str, what: str, found_mm3: float, wanted_mm3: float) -> Finding:
    off = found_mm3 / wanted_mm3 - 1.0
    text = f"{what}: holds {found_mm3:.1f} mm³, {off:+.3%} of the solid"
    return Finding(proof, abs(off) <= VOLUME_TOLERANCE, off, VOLUME_TOLERANCE, None, text)
