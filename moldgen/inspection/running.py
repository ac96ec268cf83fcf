"""Proof 6: running surfaces carry no parting line, gate or vent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from moldgen.inspection.cavity_wall import Floats, Point3
from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.measuring import drawn, pieces, spoken, turned
from moldgen.inspection.solids import Solids
from moldgen.mold.plan import CavityPlan
from moldgen.shapes import Drawn, Edge, Extruded, Path, Point, Revolved

if TYPE_CHECKING:
    from manifold3d import Manifold

NEAR_MM: Final = 0.03
FAR_MM: Final = 0.25
"""The mold is looked at in a skin so far behind the running surface: past the sag of its mesh, well within any wall."""
PARTING_MM: Final = 0.3
"""So close to the parting plane the skin's ends may lean over it."""
LEAST_MM2: Final = 0.05
SAGITTA_MM: Final = 0.005
CROSSES_MM: Final = 1e-4


def running(mold: MoldMeshes) -> Iterator[Finding]:
    """What the finished bodies show behind each running surface: wall of one body, without a hole or a joint."""
    from manifold3d import Manifold

    plan, cavity = mold.plan, mold.plan.cavity
    runs = _runs(cavity)
    if not runs:
        yield Finding("running", True, 0.0, 0.0, None, "no surface is marked as running")
        return
    spoiled = [*_crossed(cavity, runs)]
    for run in runs:
        skin = _skin(cavity, run)
        everywhere = Manifold.compose([skin.translate((x, y, 0.0)) for x, y in plan.places])
        spoiled += [*_holes(everywhere, mold.solids), *_joints(everywhere, mold.solids)]
    yield from spoiled
    if not spoiled:
        yield Finding("running", True, 0.0, LEAST_MM2, None, "running surfaces carry no parting line, gate or vent")


def _runs(cavity: CavityPlan) -> tuple[tuple[Edge, ...], ...]:
    """Stretches of outline that run, edge after edge as they hang together."""
    shape = cavity.shape
    if isinstance(shape, Extruded):
        paths = (shape.outline, *(hole.reversed() for hole in shape.holes))
    else:
        paths = (shape.profile if isinstance(shape, Revolved) else shape.section,)
    return tuple(run for path in paths for run in _runs_of(path))


def _runs_of(path: Path) -> list[tuple[Edge, ...]]:
    edges = path.edges
    start = next((i for i, edge in enumerate(edges) if edge.start.surface != "running"), 0)
    runs: list[tuple[Edge, ...]] = [()]
    for edge in (*edges[start:], *edges[:start]):
        if edge.start.surface == "running":
            runs[-1] += (edge,)
        elif runs[-1]:
            runs.append(())
    return [run for run in runs if run]


def _crossed(cavity: CavityPlan, runs: Sequence[tuple[Edge, ...]]) -> Iterator[Finding]:
    """Runs of a turned or a drawn part with the parting plane through them: exact from its section."""
    if isinstance(cavity.shape, Extruded):
        return
    for run in runs:
        points = _points(run)
        heights = [p.y for p in points]
        if min(heights) < -CROSSES_MM and max(heights) > CROSSES_MM:
            x = min(points, key=lambda p: abs(p.y)).x
            text = f"the parting plane crosses the running surface at {_told(cavity, x)}"
            yield Finding("running", False, max(heights) - min(heights), 0.0, (x, 0.0, 0.0), text)


def _told(cavity: CavityPlan, x: float) -> str:
    return f"radius {x:.2f} mm" if cavity.turned else f"{x:.2f} mm from its middle line"


def _points(run: Sequence[Edge]) -> list[Point]:
    return [*(p for edge in run for p in edge.points(SAGITTA_MM)), Point(run[-1].end.x, run[-1].end.y)]


def _skin(cavity: CavityPlan, run: Sequence[Edge]) -> Manifold:
    """A thin layer of the mold just behind a run."""
    from manifold3d import CrossSection, FillRule, Manifold

    strip = _strip(np.array(_points(run)))
    if cavity.turned:
        return turned(strip)
    if isinstance(cavity.shape, Drawn):
        return drawn(strip, cavity.shape)
    flat = CrossSection([strip], FillRule.NonZero)
    return Manifold.extrude(flat, cavity.shape.height_mm - 2.0 * NEAR_MM).translate(
        (0.0, 0.0, cavity.base_z_mm + NEAR_MM)
    )


def _strip(points: Floats) -> Floats:
    """The band to the right of a line (outside of an anticlockwise path), from NEAR_MM to FAR_MM off it."""
    ways = np.diff(points, axis=0)
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    closed = bool(np.allclose(points[0], points[-1]))
    before = np.concatenate([ways[-1:] if closed else ways[:1], ways])
    after = np.concatenate([ways, ways[:1] if closed else ways[-1:]])
    middle = before + after
    middle /= np.linalg.norm(middle, axis=1, keepdims=True)
    # Carried on to meet at corners: the band keeps its width on both sides of one.
    stretch = 1.0 / np.maximum(np.einsum("ij,ij->i", middle, after), 0.3)
    normals = np.stack([middle[:, 1], -middle[:, 0]], axis=1) * stretch[:, None]
    near, far = points + NEAR_MM * normals, points + FAR_MM * normals
    return np.concatenate([far, near[::-1]])


def _holes(skin: Manifold, solids: Solids) -> Iterator[Finding]:
    """Where no body stands behind the surface: the mouth of a gate, a vent, or any other hole."""
    bare = skin - solids.lower - solids.upper - solids.cores - solids.inserts
    for volume, where in pieces(bare, LEAST_MM2 * (FAR_MM - NEAR_MM)):
        area = volume / (FAR_MM - NEAR_MM)
        text = f"a gate, vent or hole takes {area:.2f} mm² out of the running surface at {spoken(where)}"
        yield Finding("running", False, area, LEAST_MM2, where, text)


def _joints(skin: Manifold, solids: Solids) -> Iterator[Finding]:
    """Where two bodies share the surface: their joint leaves flash on it."""
    above, below = skin.trim_by_plane((0.0, 0.0, 1.0), PARTING_MM), skin.trim_by_plane((0.0, 0.0, -1.0), PARTING_MM)
    off_parting = above + below
    least = LEAST_MM2 * (FAR_MM - NEAR_MM)
    shares: list[tuple[float, Point3]] = []
    for body in (solids.lower, solids.upper, solids.cores, solids.inserts):
        found = list(pieces(off_parting ^ body, least))
        if found:
            shares.append((sum(volume for volume, _ in found), found[0][1]))
    if len(shares) > 1:
        volume, where = min(shares)
        area = volume / (FAR_MM - NEAR_MM)
        text = f"a joint lies on the running surface: {area:.2f} mm² of it belong to another body, at {spoken(where)}"
        yield Finding("running", False, area, LEAST_MM2, where, text)
