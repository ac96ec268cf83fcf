"""A mold as built or as read back: the kernel's solids and the meshes made of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Final

import numpy as np

from moldgen.inspection.findings import MoldMeshes
from moldgen.mold.bodies import MoldBodies
from moldgen.mold.plan import MoldPlan
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import ANGLE_RAD, FINE_ANGLE_RAD, meshed
from moldgen.shapes import Drawn

if TYPE_CHECKING:
    from moldgen.parts.kernel import Body

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
    return with_meshed_halves(plan, bodies, meshed_half(plan, bodies.lower), meshed_half(plan, bodies.upper))


def meshed_half(plan: MoldPlan, half: Body) -> Mesh:
    return meshed(half, angle_rad=_angle_rad(plan))


def with_meshed_halves(plan: MoldPlan, bodies: MoldBodies, lower: Mesh, upper: Mesh) -> ClosedMold:
    """The mold, of whose bodies only the halves are meshed already."""
    angle = _angle_rad(plan)
    return ClosedMold(
        plan=plan,
        lower=lower,
        upper=upper,
        cores=_at_places(bodies.cores, plan, FINE_ANGLE_RAD),
        core_against_halves=meshed(bodies.cores[0]) if bodies.cores else None,
        inserts=_at_places(bodies.inserts, plan),
        cavities=_at_places(bodies.cavities, plan, angle),
        wedge=None if bodies.wedge is None else meshed(bodies.wedge),
        poured=meshed(bodies.poured, angle_rad=angle),
        bodies=bodies,
    )


def _angle_rad(plan: MoldPlan) -> float:
    return ROUND_ANGLE_RAD if isinstance(plan.cavity.shape, Drawn) else ANGLE_RAD


def _at_places(bodies: Sequence[Body], plan: MoldPlan, angle_rad: float = ANGLE_RAD) -> tuple[Mesh, ...]:
    if not bodies:
        return ()
    first = meshed(bodies[0], angle_rad=angle_rad)
    (x0, y0), *_ = plan.places
    return tuple(Mesh(first.points + np.array([x - x0, y - y0, 0.0]), first.triangles) for x, y in plan.places)
