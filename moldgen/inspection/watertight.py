"""Proof 1: every body is a valid closed solid, and what stands on disk reads back watertight with the same volume."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from moldgen.inspection.findings import Finding
from moldgen.parts import kernel
from moldgen.parts.mesh import Mesh

VOLUME_TOLERANCE: Final = 0.001


def closed(bodies: Mapping[str, Any], meshes: Mapping[str, Mesh]) -> Iterator[Finding]:
    """Each body valid, one solid, its mesh without an open edge."""
    for role, body in bodies.items():
        valid = bool(body.isValid()) and len(kernel.solids_of(body)) == 1
        text = f"{role}: one valid solid" if valid else f"{role}: the kernel finds the solid invalid or in pieces"
        yield Finding("closed_solid", valid, float(len(kernel.solids_of(body))), 1.0, None, text)
        yield _watertight("watertight", role, meshes[role])


def _watertight(proof: str, what: str, mesh: Mesh) -> Finding:
    gaps = mesh.open_edges()
    if len(gaps) == 0:
        return Finding(proof, True, 0.0, 0.0, None, f"{what}: watertight, {len(mesh.triangles)} triangles")
    x, y, z = (float(v) for v in gaps[0])
    text = f"{what}: {len(gaps)} open edges, the first at ({x:.2f}, {y:.2f}, {z:.2f}) mm"
    return Finding(proof, False, float(len(gaps)), 0.0, (x, y, z), text)


def read_back(folder: Path, stem: str, volume_mm3: float) -> Iterator[Finding]:
    """The STL and 3MF of one body, read from disk by readers that did not write them."""
    from moldgen.output.stl import read_stl
    from moldgen.output.threemf import read_3mf

    for suffix, mesh in (("stl", read_stl(folder / f"{stem}.stl")), ("3mf", read_3mf(folder / f"{stem}.3mf"))):
        yield _watertight(f"read_back_{suffix}", f"{stem}.{suffix}", mesh)
        yield _volume(f"read_back_{suffix}", f"{stem}.{suffix}", mesh.volume_mm3, volume_mm3)


def _volume(proof: str, what: str, found_mm3: float, wanted_mm3: float) -> Finding:
    off = found_mm3 / wanted_mm3 - 1.0
    text = f"{what}: holds {found_mm3:.1f} mm³, {off:+.3%} of the solid"
    return Finding(proof, abs(off) <= VOLUME_TOLERANCE, off, VOLUME_TOLERANCE, None, text)
