"""What a proof reports, and the meshes that it looks at."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from moldgen.inspection.solids import Solids, joined, manifold
from moldgen.mold.plan import MoldPlan
from moldgen.parts.mesh import Mesh


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
class MoldMeshes:
    """A closed mold as files, pictures and proofs see it, without the kernel: another process can be sent it."""

    plan: MoldPlan
    lower: Mesh
    upper: Mesh
    cores: tuple[Mesh, ...]
    core_against_halves: Mesh | None
    """The first core again, as coarse as the halves, so that walls that touch have the same facets."""
    inserts: tuple[Mesh, ...]
    cavities: tuple[Mesh, ...]
    wedge: Mesh | None
    poured: Mesh
    """All that is filled."""

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
