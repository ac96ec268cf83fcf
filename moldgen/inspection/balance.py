"""Proof 2: nothing is lost and nothing overlaps, in the kernel and again on meshes that do not know the kernel."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from moldgen.inspection.findings import ClosedMold, Finding
from moldgen.inspection.solids import arrays, manifold
from moldgen.mold.bodies import channels_beyond_relief_mm3, engraved_mm3, lower_blank, upper_blank
from moldgen.mold.plan import KeyPlan, MoldPlan
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed
from moldgen.shapes import Revolved

if TYPE_CHECKING:
    from manifold3d import Manifold

KERNEL_TOLERANCE: Final = 1e-6
CAVITY_TOLERANCE: Final = 0.001
OVERLAP_MM3: Final = 1e-3
INTO_LID_MM: Final = 3.0
"""How far above the cavity the lid is looked at for holes that should not be there."""


def in_kernel(mold: ClosedMold, wanted_cavity_mm3: float) -> Iterator[Finding]:
    """Block = halves + what was cut away − what was grown on; no overlap; cavity = the part over (1 − s)³.

    The halves come from cuts, what was cut away from an intersection of blank and tools, the block and the keys from
    closed forms, so that a boolean gone wrong cannot hide.
    """
    plan, bodies = mold.plan, mold.bodies
    removed = sum(
        kernel.volume_mm3(kernel.common([blank], tools))
        for blank, tools in ((lower_blank(plan), bodies.lower_tools), (upper_blank(plan), bodies.upper_tools))
    )
    closed = channels_beyond_relief_mm3(plan) + sum(engraved_mm3(label) for label in plan.labels)
    halves = kernel.volume_mm3(bodies.lower) + kernel.volume_mm3(bodies.upper)
    off = (halves + removed + closed - grown_on_mm3(plan)) / plan.block.volume_mm3 - 1.0
    yield Finding(
        "balance_kernel",
        abs(off) <= KERNEL_TOLERANCE,
        off,
        KERNEL_TOLERANCE,
        None,
        f"halves and what was cut from them make up the block to {off:+.1e}",
    )
    cavity = kernel.volume_mm3(bodies.cavities[0])
    off = cavity / wanted_cavity_mm3 - 1.0
    yield Finding(
        "cavity_volume",
        abs(off) <= CAVITY_TOLERANCE,
        off,
        CAVITY_TOLERANCE,
        None,
        f"cavity holds {cavity:.1f} mm³, {off:+.4%} of the part grown by the shrinkage",
    )
    off = kernel.volume_mm3(bodies.poured) / plan.pour_mm3 - 1.0
    yield Finding(
        "poured_volume",
        abs(off) <= CAVITY_TOLERANCE,
        off,
        CAVITY_TOLERANCE,
        None,
        f"{plan.pour_mm3:.1f} mm³ to be filled, {off:+.4%} by the kernel against the plan",
    )
    for what, group, others in (
        # One cavity stands for its copies here; `on_meshes` looks at all of them.
        (
            "what is filled",
            kernel.solids_of(bodies.poured)[:1],
            [bodies.lower, bodies.upper, *bodies.cores, *bodies.inserts],
        ),
        ("the lower half", [bodies.lower], [bodies.upper, *bodies.cores, *bodies.inserts]),
        ("the upper half", [bodies.upper], [*bodies.cores, *bodies.inserts]),
    ):
        if others:
            yield _overlap(what, kernel.common(group, others))


def _overlap(what: str, shared: Any) -> Finding:
    pieces = kernel.solids_of(shared)
    volume = sum(kernel.volume_mm3(piece) for piece in pieces)
    if volume <= OVERLAP_MM3:
        return Finding("no_overlap", True, volume, OVERLAP_MM3, None, f"{what} cuts into no other body")
    x, y, z = max(pieces, key=kernel.volume_mm3).Center().toTuple()
    text = f"{what} cuts into another body by {volume:.3f} mm³ at ({x:.2f}, {y:.2f}, {z:.2f}) mm"
    return Finding("no_overlap", False, volume, OVERLAP_MM3, (x, y, z), text)


def grown_on_mm3(plan: MoldPlan) -> float:
    """What stands on the lower half after it was cut: keys above the relief, and pins for the metal's bore."""
    keys = sum(_frustum_above(key, -plan.seal.relief_mm) for key in plan.keys)
    insert = plan.cavity.insert
    pins = len(plan.places) * Revolved(insert.pin).volume_mm3 if insert and insert.pin else 0.0
    return keys + pins


def _frustum_above(key: KeyPlan, z_mm: float) -> float:
    base, tip = 0.5 * key.base_diameter_mm, 0.5 * key.tip_diameter_mm
    low = base - z_mm * (base - tip) / key.height_mm
    return math.pi * (key.height_mm - z_mm) * (low * low + low * tip + tip * tip) / 3.0


def on_meshes(mold: ClosedMold) -> Iterator[Finding]:
    """The space that the bodies' meshes leave between them inside the lands is the cavity, in its place, no more.

    Told cavity by cavity: what differs in one must not be weighed against what its neighbours hold.
    """
    plan = mold.plan
    solid = mold.solids.lower + mold.solids.upper
    for alike in (mold.bodies.cores, mold.bodies.inserts):
        if alike:  # as coarse as the halves, so that walls that touch have the same facets
            solid += _at_places(manifold(meshed(alike[0])), plan)
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
