"""What a proof reports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from moldgen.inspection.solids import Solids, joined, manifold
from moldgen.mold.bodies import MoldBodies
from moldgen.mold.plan import MoldPlan
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import ANGLE_RAD, FINE_ANGLE_RAD, meshed


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was checked: what came out, what was allowed, and where."""

    proof: str
    passed: bool
    value: float
    limit: float
    where: tuple[float, float, float] | None
    text: str

    def as_json(self) -> dict[str, Any]:
        return {
            "proof": self.proof,
            "passed": self.passed,
            "value": self.value,
            "limit": self.limit,
            "where": None if self.where is None else [round(x, 3) for x in self.where],
            "text": self.text,
        }


@dataclass(frozen=True)
class ClosedMold:
    """A mold as built (or as read back), with the meshes that files, pictures and proofs share."""

    plan: MoldPlan
    bodies: MoldBodies
    lower: Mesh
    upper: Mesh
    cores: tuple[Mesh, ...]
    inserts: tuple[Mesh, ...]
    cavities: tuple[Mesh, ...]
    wedge: Mesh | None

    @cached_property
    def poured(self) -> Mesh:
        """All that is filled, as one mesh."""
        return meshed(self.bodies.poured)

    @cached_property
    def solids(self) -> Solids:
        """Halves, cores and metal as solids of the mesh library."""
        return Solids(manifold(self.lower), manifold(self.upper), joined(self.cores), joined(self.inserts))

    @property
    def printed(self) -> dict[str, Mesh]:
        """Meshes of what is printed, by role."""
        out = {"mold_lower": self.lower, "mold_upper": self.upper}
        out |= {"core": self.cores[0]} if self.cores else {}
        return out | ({"jig_wedge": self.wedge} if self.wedge is not None else {})


def closed_mold(plan: MoldPlan, bodies: MoldBodies) -> ClosedMold:
    """The mold with every body meshed once; like bodies share one mesh, shifted."""
    return ClosedMold(
        plan=plan,
        bodies=bodies,
        lower=meshed(bodies.lower),
        upper=meshed(bodies.upper),
        cores=_at_places(bodies.cores, plan, FINE_ANGLE_RAD),
        inserts=_at_places(bodies.inserts, plan),
        cavities=_at_places(bodies.cavities, plan),
        wedge=None if bodies.wedge is None else meshed(bodies.wedge),
    )


def _at_places(bodies: Sequence[Any], plan: MoldPlan, angle_rad: float = ANGLE_RAD) -> tuple[Mesh, ...]:
    if not bodies:
        return ()
    first = meshed(bodies[0], angle_rad=angle_rad)
    (x0, y0), *_ = plan.places
    return tuple(Mesh(first.points + np.array([x - x0, y - y0, 0.0]), first.triangles) for x, y in plan.places)
