"""What the sheet's pictures and its 3D view show: the part, the open mold, and the bodies one above the other."""

from __future__ import annotations

import base64
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from moldgen.inspection.findings import MoldMeshes
from moldgen.inspection.solids import arrays, manifold
from moldgen.output.pictures import COLOURS, Piece, Scene
from moldgen.parts.mesh import Mesh

if TYPE_CHECKING:
    from manifold3d import Manifold

WIDE: Final = (840, 560)
TALL: Final = (700, 886)
BESIDE_MM: Final = 8.0
APART: Final = 0.18
"""Gap between bodies pulled apart, over the longest side of the mold: enough to look in between."""
LEVEL: Final = (0.9, -1.7, 0.85)
"""From where bodies above each other hide least of each other."""
SAG_MM: Final = 0.02
COARSEST_SAG_MM: Final = 0.4
MOST_TRIANGLES: Final = 9000
"""Per body in the 3D view, so that the page stays small and a phone turns it smoothly."""


@dataclass(frozen=True, slots=True)
class Body:
    """A body of the mold as it is shown: its name for people, its colour, and how far it moves up when apart."""

    title: str
    kind: str
    solid: Manifold
    """As fine as it is printed: made coarser, strips along cones fold, and pictures show the folds as edges."""
    lift_mm: float

    @property
    def mesh(self) -> Mesh:
        return Mesh(*arrays(self.solid))


def apart(mold: MoldMeshes) -> tuple[Body, ...]:
    """The bodies from the bottom up, each lifted clear of the one below it; the wedge, if there is one, last."""
    block = mold.plan.block
    gap = APART * max(block.x_mm, block.y_mm, block.lower_mm + block.upper_mm)
    out: list[Body] = []
    top = -np.inf
    for title, kind, solid in _bodies(mold):
        _, _, low, _, _, high = solid.bounding_box()
        lift = 0.0 if kind == "lower" else max(0.0, top + gap - low)
        top = high + lift
        out.append(Body(title, kind, solid, lift))
    if mold.wedge is not None:
        high = float(mold.wedge.points[:, 2].max())
        out.append(Body("wedge", "jig", manifold(mold.wedge), -block.lower_mm - gap - high))
    return tuple(out)


def _bodies(mold: MoldMeshes) -> Iterator[tuple[str, str, Manifold]]:
    yield "lower half", "lower", mold.solids.lower
    if mold.cores:
        yield "core", "core", mold.solids.cores
    if mold.inserts:
        yield "metal", "metal", mold.solids.inserts
    yield "rubber, with its plugs", "rubber", manifold(mold.poured)
    yield "upper half", "upper", mold.solids.upper


def scenes(mold: MoldMeshes, bodies: Sequence[Body], part: Mesh) -> tuple[Scene, Scene, Scene]:
    """The free part, both halves open as they lie on the bench, and everything pulled apart."""
    block = mold.plan.block
    along = block.x_mm <= 1.4 * block.y_mm
    shift = (block.x_mm + BESIDE_MM, 0.0) if along else (0.0, block.y_mm + BESIDE_MM)
    aside = (*shift, block.upper_mm - block.lower_mm)
    meshes = [(body, body.mesh) for body in bodies if body.kind != "jig"]
    lying = tuple(
        Piece(mesh, body.kind, aside, flipped=True) if body.kind == "upper" else Piece(mesh, body.kind)
        for body, mesh in meshes
        if body.kind != "rubber"
    )
    pulled = tuple(Piece(mesh, body.kind, (0.0, 0.0, body.lift_mm)) for body, mesh in meshes)
    return Scene((Piece(part, "rubber"),), WIDE), Scene(lying, WIDE), Scene(pulled, TALL, LEVEL)


def view_model(mold: MoldMeshes, bodies: Sequence[Body]) -> list[dict[str, Any]]:
    """The bodies for the 3D view, whole and cut open through a sprue (a pressed mold has none) or a cavity."""
    sprues = [sprue.y_mm for sprue in mold.plan.sprues]
    cut_at_mm = min(sprues or [y for _, y in mold.plan.places], key=abs)
    return [_shown(body, cut_at_mm) for body in bodies]


def _shown(body: Body, cut_at_mm: float) -> dict[str, Any]:
    solid = _coarse(body.solid)
    return {
        "title": body.title,
        "colour": [round(float(c), 3) for c in COLOURS[body.kind]],
        "lift": round(body.lift_mm, 3),
        "whole": _packed(solid),
        "half": _packed(solid.trim_by_plane((0.0, 1.0, 0.0), cut_at_mm)),
    }


def _coarse(solid: Manifold) -> Manifold:
    sag = SAG_MM
    coarse = solid.simplify(sag)
    while coarse.num_tri() > MOST_TRIANGLES and sag < COARSEST_SAG_MM:
        sag *= 2.0
        coarse = coarse.simplify(sag)  # of what is coarse already: the sags add up to less than twice the last
    return coarse


def _packed(solid: Manifold) -> dict[str, Any]:
    """Corners as 16-bit steps of the body's own box, triangles by the numbers of their corners."""
    points, triangles = arrays(solid)
    low, high = points.min(axis=0, initial=np.inf), points.max(axis=0, initial=-np.inf)
    steps = np.round((points - low) / np.maximum(high - low, 1e-9) * 65535.0).astype("<u2")
    wide = len(points) > 65535
    return {
        "low": [round(float(x), 4) for x in low] if len(points) else [],
        "size": [round(float(x), 4) for x in high - low] if len(points) else [],
        "wide": wide,
        "points": base64.b64encode(steps.tobytes()).decode("ascii"),
        "triangles": base64.b64encode(triangles.astype("<u4" if wide else "<u2").tobytes()).decode("ascii"),
    }
