"""Proof 2 again, on meshes that do not know the kernel: the closed bodies leave just what is to be filled."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.solids import arrays, manifold
from moldgen.mold.plan import MoldPlan

if TYPE_CHECKING:
    from manifold3d import Manifold

CAVITY_TOLERANCE: Final = 0.001
INTO_LID_MM: Final = 3.0
"""How far above the cavity the lid is looked at for holes that should not be there."""


def on_meshes(mold: MoldMeshes) -> Iterator[Finding]:
    """The space that the bodies' meshes leave between them inside the lands is the cavity, in its place, no more.

    Told cavity by cavity: what differs in one must not be weighed against what its neighbours hold.
    """
    plan = mold.plan
    solid = mold.solids.lower + mold.solids.upper
    for first in (mold.core_against_halves, next(iter(mold.inserts), None)):
        if first is not None:
            solid += _at_places(manifold(first), plan)
    if solid.is_empty():
        yield Finding(
            "balance_mesh", False, 0.0, 1.0, None, "a body's mesh is not closed, so its volume cannot be told"
        )
        return
    envelope = _envelope(plan)
    space, filled = envelope - solid, envelope ^ manifold(mold.poured)
    short = filled - space  # a half out of place leaves as much too much as it leaves too little
    room, wanted, lacking = (_volumes_mm3(part, plan) for part in (space, filled, short))
    shares = (room - wanted + 2.0 * lacking) / wanted
    off = float(shares.max())
    bad = off > CAVITY_TOLERANCE
    yield Finding(
        "balance_mesh",
        not bad,
        off,
        CAVITY_TOLERANCE,
        _worst_place([space - filled, short]) if bad else None,
        f"the closed bodies' meshes leave {space.volume():.1f} mm³ to be filled near the parting; "
        f"{off:.3%} of a cavity lies elsewhere than it is meant",
    )


def _volumes_mm3(solid: Manifold, plan: MoldPlan) -> NDArray[np.float64]:
    """What of a solid lies in each cavity's box; each of its pieces lies in one."""
    points, triangles = arrays(solid)
    a, b, c = (points[triangles[:, i]] for i in range(3))
    middles = (a + b + c)[:, :2] / 3.0
    x0, y0, x1, y1 = plan.cavity.footprint.bounds
    half, centre = np.array([x1 - x0, y1 - y0]) * 0.5, np.array([x0 + x1, y0 + y1]) * 0.5
    beyond = np.stack([(np.abs(middles - centre - place) - half).max(axis=1) for place in plan.places])
    signed = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
    return np.bincount(np.argmin(beyond, axis=0), signed, len(plan.places)).astype(np.float64)


def _at_places(first: Manifold, plan: MoldPlan) -> Manifold:
    """A body of the first cavity and its copies."""
    from manifold3d import Manifold

    (x0, y0), *_ = plan.places
    return Manifold.compose([first.translate((x - x0, y - y0, 0.0)) for x, y in plan.places])


def _envelope(plan: MoldPlan) -> Manifold:
    """Where only what is filled may be empty: inside each land, from the cavity's floor to some way into the lid.

    The seats of core and metal, and the pin in its bore, have a little air round them and are left out.
    """
    from manifold3d import CrossSection, JoinType, Manifold

    cavity = plan.cavity
    outline = CrossSection([np.array(cavity.footprint.points(0.005))]).offset(
        plan.seal.land_mm - 0.5, JoinType.Round, 2.0, 64
    )
    low, high = -cavity.below_mm, cavity.above_mm + INTO_LID_MM
    prism = Manifold.extrude(outline, high - low).translate((0.0, 0.0, low))
    if cavity.insert is not None:
        prism -= _rod(cavity.insert.body.bounds[2], low - 1.0, 0.0)
    for seat in (cavity.core and cavity.core.upper_seat, cavity.insert and cavity.insert.upper_seat):
        if seat:
            prism -= _rod(seat.bounds[2] + 0.05, cavity.above_mm, high + 1.0)
    return Manifold.compose([prism.translate((x, y, 0.0)) for x, y in plan.places])


def _rod(radius_mm: float, low_mm: float, high_mm: float) -> Manifold:
    from manifold3d import Manifold

    return Manifold.cylinder(high_mm - low_mm, radius_mm, circular_segments=256).translate((0.0, 0.0, low_mm))


def _worst_place(amiss: Sequence[Manifold]) -> tuple[float, float, float]:
    """Centre of gravity of the largest piece by which the space between the bodies and what is to be filled differ.

    Walls that are meant to be one leave thousands of slivers, some of them hanging together with that piece: the mesh
    library would take minutes to part them, and the middle of their box would lie anywhere.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    found: list[tuple[float, tuple[float, float, float]]] = []
    for points, triangles in map(arrays, amiss):
        if len(triangles) == 0:
            continue
        ends = np.concatenate([triangles[:, :2], triangles[:, 1:]])
        links = coo_array((np.ones(len(ends)), ends.T), shape=(len(points), len(points)))
        _, label = connected_components(links, directed=False)
        a, b, c = (points[triangles[:, i]] for i in range(3))
        signed, of = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0, label[triangles[:, 0]]
        volumes = np.bincount(of, weights=signed)
        largest = of == np.argmax(volumes)
        x, y, z = (signed[largest] @ (a + b + c)[largest] / (4.0 * volumes.max())).tolist()
        found.append((float(volumes.max()), (x, y, z)))
    return max(found)[1]
