"""A mold as built or as read back: the kernel's solids and the meshes made of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Final

import numpy as np

from moldgen.inspection.findings import MoldMeshes
from moldgen.inspection.solids import without_idle_corners
from moldgen.mold.bodies import MoldBodies
from moldgen.mold.plan import MoldPlan
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import ANGLE_RAD, FINE_ANGLE_RAD, meshed
from moldgen.shapes import Drawn

ROUND_ANGLE_RAD: Final = 0.1
"""Of long round belts: the coarser angle leaves what their molds hold 0.2 to 0.7 % small."""


@dataclass(frozen=True)
class ClosedMold(MoldMeshes):
    """A closed mold's meshes together with the solids that they were made of."""

    bodies: MoldBodies

    @property
    def meshes(self) -> MoldMeshes:
        """The meshes alone."""
        return MoldMeshes(**{field.name: getattr(self, field.name) for field in fields(MoldMeshes)})


def closed_mold(plan: MoldPlan, bodies: MoldBodies) -> ClosedMold:
    """The mold with every body meshed once; like bodies share one mesh, shifted."""
    angle = ROUND_ANGLE_RAD if isinstance(plan.cavity.shape, Drawn) else ANGLE_RAD
    return ClosedMold(
        plan=plan,
        lower=without_idle_corners(meshed(bodies.lower, angle_rad=angle)),
        upper=without_idle_corners(meshed(bodies.upper, angle_rad=angle)),
        cores=_at_places(bodies.cores, plan, FINE_ANGLE_RAD),
        core_against_halves=meshed(bodies.cores[0]) if bodies.cores else None,
        inserts=_at_places(bodies.inserts, plan),
        cavities=_at_places(bodies.cavities, plan, angle),
        wedge=None if bodies.wedge is None else meshed(bodies.wedge),
        poured=without_idle_corners(meshed(bodies.poured, angle_rad=angle)),
        bodies=bodies,
    )


def _at_places(bodies: Sequence[Any], plan: MoldPlan, angle_rad: float = ANGLE_RAD) -> tuple[Mesh, ...]:
    if not bodies:
        return ()
    first = meshed(bodies[0], angle_rad=angle_rad)
    (x0, y0), *_ = plan.places
    return tuple(Mesh(first.points + np.array([x - x0, y - y0, 0.0]), first.triangles) for x, y in plan.places)
