"""Proof 3: the rubber reaches every part of the cavity, and all the air finds its way out, as the mold stands."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import numpy as np

from moldgen.inspection.air_traps import air_pockets, far_ceilings, unreached
from moldgen.inspection.cavity_wall import Opening
from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.solids import manifold
from moldgen.mold.filling import REACH_MM
from moldgen.mold.plan import OpeningPlan
from moldgen.parts.mesh import Mesh

if TYPE_CHECKING:
    from manifold3d import Manifold

LARGEST_POCKET_MM3: Final = 0.3
"""A bubble of 0.8 mm at a vent's foot, which is trimmed in any case: judgement."""
LARGEST_CEILING_MM2: Final = 2.0
FREE_SHARE: Final = 0.6
"""Share of an opening's diameter that must be seen through from the ceiling to the top."""


def filling(mold: MoldMeshes) -> Iterator[Finding]:
    """Openings that are open, pockets of air, cavities without a sprue, and level ceilings out of reach.

    A mold closed by pressing is filled while it is open, so there is nothing to shut air in.
    """
    plan = mold.plan
    if not plan.sprues:
        yield Finding("filling", True, 0.0, 0.0, None, "filled open and closed by pressing: air leaves over the land")
        return
    upper = manifold(mold.upper)
    plugged = {o for o in (*plan.sprues, *plan.vents) if _plugged(upper, o)}
    for opening in plugged:
        kind = "sprue" if opening in plan.sprues else "vent"
        where = (opening.x_mm, opening.y_mm, opening.gate_z_mm)
        yield Finding("openings_open", False, 0.0, 1.0, where, f"a {kind} is not open from the cavity to the top")
    if not plugged:
        count = len(plan.sprues) + len(plan.vents)
        yield Finding(
            "openings_open", True, float(count), float(count), None, f"all {count} sprues and vents are open to the top"
        )
    yield from _cavities(mold, plugged)


def _plugged(upper: Manifold, opening: OpeningPlan) -> bool:
    """Whether a rod through the opening's narrowest place meets the upper half."""
    from manifold3d import Manifold

    radius = 0.5 * FREE_SHARE * opening.gate_diameter_mm
    rod = Manifold.cylinder(opening.top_z_mm - opening.gate_z_mm + 1.0, radius, circular_segments=16)
    return bool((upper ^ rod.translate((opening.x_mm, opening.y_mm, opening.gate_z_mm - 0.5))).volume() > 1e-3)


def _cavities(mold: MoldMeshes, plugged: set[OpeningPlan]) -> Iterator[Finding]:
    """Like cavities with like openings are looked at once."""
    plan = mold.plan
    each = len(plan.places)
    seen: dict[tuple[tuple[float, float], ...], list[Finding]] = {}
    for number, ((x, y), mesh) in enumerate(zip(plan.places, mold.cavities, strict=True)):
        sprues = [o for i, o in enumerate(plan.sprues) if i % each == number and o not in plugged]
        vents = [o for i, o in enumerate(plan.vents) if i % each == number and o not in plugged]
        key = tuple(sorted((round(o.x_mm - x, 3), round(o.y_mm - y, 3)) for o in (*sprues, *vents)))
        if key not in seen:
            seen[key] = list(_one_cavity(mesh, sprues, vents, plan.attitude.up))
            yield from seen[key]


def _one_cavity(
    mesh: Mesh, sprues: list[OpeningPlan], vents: list[OpeningPlan], up: tuple[float, float, float]
) -> Iterator[Finding]:
    cavity = manifold(mesh)
    mouths = [_mouth(opening) for opening in (*sprues, *vents)]
    left = unreached(cavity=cavity, sprues=[_mouth(sprue) for sprue in sprues]) if sprues else ()
    for part in left:
        yield Finding(
            "reached", False, part.volume_mm3, 0.0, part.point_mm, f"{part.volume_mm3:.1f} mm³ is reached by no sprue"
        )
    if not sprues:
        yield Finding("reached", False, mesh.volume_mm3, 0.0, _middle(mesh), "this cavity has no open sprue")
    elif not left:
        yield Finding("reached", True, 0.0, 0.0, None, "every part of the cavity is reached from its sprue")
    yield from _pockets(cavity, mouths, up)
    if up[2] > math.cos(math.radians(0.5)):
        yield from _ceilings(cavity, mouths, up)


def _mouth(opening: OpeningPlan) -> Opening:
    return Opening((opening.x_mm, opening.y_mm, opening.gate_z_mm), 0.5 * opening.gate_diameter_mm)


def _pockets(cavity: Manifold, mouths: list[Opening], up: tuple[float, float, float]) -> Iterator[Finding]:
    pockets = air_pockets(cavity=cavity, openings=mouths, up=up)
    bad = [pocket for pocket in pockets if pocket.volume_mm3 > LARGEST_POCKET_MM3]
    for pocket in bad:
        text = f"{pocket.volume_mm3:.2f} mm³ of air is shut in, {pocket.depth_mm:.2f} mm deep; vent it there"
        yield Finding("air_pockets", False, pocket.volume_mm3, LARGEST_POCKET_MM3, pocket.top_mm, text)
    if not bad:
        most = max((pocket.volume_mm3 for pocket in pockets), default=0.0)
        text = f"no pocket of air larger than {most:.2f} mm³ stays in the cavity"
        yield Finding("air_pockets", True, most, LARGEST_POCKET_MM3, None, text)


def _ceilings(cavity: Manifold, mouths: list[Opening], up: tuple[float, float, float]) -> Iterator[Finding]:
    far = [
        c
        for c in far_ceilings(cavity=cavity, openings=mouths, up=up, distance_mm=REACH_MM)
        if c.area_mm2 > LARGEST_CEILING_MM2
    ]
    for ceiling in far:
        text = f"{ceiling.area_mm2:.1f} mm² of level ceiling lies up to {ceiling.distance_mm:.1f} mm from an opening"
        yield Finding("far_ceilings", False, ceiling.distance_mm, REACH_MM, ceiling.farthest_mm, text)
    if not far:
        text = f"no level ceiling lies farther than {REACH_MM:g} mm from an opening"
        yield Finding("far_ceilings", True, 0.0, REACH_MM, None, text)


def _middle(mesh: Mesh) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in np.mean(mesh.points, axis=0))
    return x, y, z
