"""Proof 4: each half comes off along its direction, the core comes out, and the rubber gives way where it must."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from moldgen.inspection.cavity_wall import TINY, Floats, Point3, as_point
from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.measuring import (
    Facets,
    Flags,
    facets_of,
    pieces,
    polygons,
    radius_mm,
    section,
    spoken,
    taken,
)
from moldgen.mold.parting import LEAST_THROAT, THROAT_LEVELS, UNDERCUT_OF_BREAK, undercuts
from moldgen.mold.plan import MoldPlan
from moldgen.shapes import Drawn, Path, Revolved

if TYPE_CHECKING:
    from manifold3d import Manifold

LEAN: Final = math.sin(math.radians(0.5))
"""Sine of the lean against the opening direction that a facet of an upright wall may show."""
LEAST_MM2: Final = 0.05
"""Area that leans the wrong way and is looked at: less is a seam of the mesh."""
SAME_STRAIN: Final = 0.005
SAME_MM: Final = 0.03
"""By how much the finished half may ask more than its plan: the sag of two meshes."""
FAR_MM: Final = 1000.0
HAIR_MM: Final = 1e-3
FILM_MM: Final = 0.02
ON_RIM_MM: Final = 0.03
SECTORS: Final = 24
"""A turned wall is looked at sector by sector, so that a nick on one side is held against its own mouth."""
ROUND_GATE_MM: Final = 0.5
"""So close to a sprue or vent a wall is still taken for its own."""
LEVEL_MM: Final = 1e-4
"""A facet's corners are at one height within this."""
HANGING_MM: Final = 2.0 * LEVEL_MM
"""By how much the top of a wall that only hangs down from a step is taken to lie below it."""
LIFTS_MM: Final = (0.3, 0.8, 2.0, 4.0, 7.0)
"""Where a body is looked at on its way out; seats, keys and pins are up to 5 mm tall."""
CAUGHT_MM3: Final = 0.1
"""Overlap on the way out that counts: walls that slide on each other are meshed apart."""


def demoulding(mold: MoldMeshes, *, elongation_at_break: float) -> Iterator[Finding]:
    """Undercuts of each half with the stretch they ask of the rubber, and rigid bodies that catch on their way out."""
    from manifold3d import Manifold

    allowed = UNDERCUT_OF_BREAK * elongation_at_break
    plan = mold.plan
    lower, upper, cores, inserts = (mold.solids.lower, mold.solids.upper, mold.solids.cores, mold.solids.inserts)
    for name, half, pull in (("lower", lower, 1), ("upper", upper, -1)):
        spaces = _spaces(plan, half.as_original(), pull)
        asked = _asked(plan, spaces, pull)
        on_metal = ", held by its metal," if mold.inserts else ""
        yield _undercut(name, asked, _planned(plan, pull=pull), allowed, on_metal)
        if asked is not None and plan.cavity.turned and (plan.cavity.core_part_of_lower or mold.cores):
            yield _throat(plan, name, Manifold.compose([space.empty for space in spaces]) - cores, pull)
    if plan.cavity.core is not None:
        yield _rolled_off(plan, allowed)
    yield from _lifted("the upper half", upper, {"the lower half": lower, "a core": cores, "the metal": inserts})
    if mold.cores:
        yield from _lifted("the core", cores, {"the lower half": lower})
    if mold.inserts:
        yield from _lifted("the metal", inserts, {"the lower half": lower})


# --- what the rubber must give ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Asked:
    """The largest strain that a finished half asks for, where, and how much wall leans the wrong way."""

    strain: float
    depth_mm: float
    area_mm2: float
    where: Point3


def _undercut(name: str, asked: _Asked | None, planned: float, allowed: float, on_metal: str) -> Finding:
    if asked is None:
        return Finding("undercut", planned <= allowed, planned, allowed, None, f"{name} half: no wall holds the part")
    reading = (
        f"{name} half: {asked.area_mm2:.1f} mm² of wall holds the part by up to {asked.depth_mm:.2f} mm at "
        f"{spoken(asked.where)} and asks the rubber{on_metal} for a strain of {asked.strain:.1%}"
    )
    slack = SAME_STRAIN + SAME_MM * (asked.strain / asked.depth_mm if asked.depth_mm > 0.0 else 0.0)
    strain = max(asked.strain, planned)
    if strain > allowed:
        return Finding("undercut", False, strain, allowed, asked.where, f"{reading}; {allowed:.0%} is allowed")
    if asked.strain > planned + slack:
        text = f"{reading}, where the plan has {planned:.1%}"
        return Finding("undercut", False, asked.strain, planned + slack, asked.where, text)
    return Finding("undercut", True, strain, allowed, asked.where, f"{reading}; {allowed:.0%} is allowed")


def _planned(plan: MoldPlan, *, pull: int) -> float:
    """What the plan says that a half asks for: exact from a turned part's profile, nothing for upright walls."""
    cavity = plan.cavity
    if isinstance(cavity.shape, Drawn):
        return _squeezed(cavity.shape.section, pull)
    if not isinstance(cavity.shape, Revolved):
        return 0.0
    own = ("outside", "bore") if cavity.core_part_of_lower else ("outside",)
    found = undercuts(cavity.shape.profile, pull=pull, metal_radius_mm=_metal_radius_mm(plan))
    return max((u.strain for u in found if u.on in own), default=0.0)


def _metal_radius_mm(plan: MoldPlan) -> float:
    """Radius of the metal that the rubber is cast on; 0 where there is none."""
    return 0.0 if plan.cavity.insert is None else plan.cavity.insert.body.bounds[2]


def _squeezed(section: Path, pull: int) -> float:
    """How far a wall of a long part's section leans in over it at the parting, over half its width."""
    points = section.points(0.002)
    mouth = [p.x for p in points if p.y == 0.0]
    deep = [p.x for p in points if pull * p.y <= 0.0]
    middle = 0.5 * (min(deep) + max(deep))
    return max(max(deep) - max(mouth), min(mouth) - min(deep)) / (max(deep) - middle)


def _rolled_off(plan: MoldPlan, allowed: float) -> Finding:
    """A part leaves its mold on the separate core, then is rolled off over the core's widest place."""
    shape = plan.cavity.shape
    assert isinstance(shape, Revolved)
    bore = [u for pull in (1, -1) for u in undercuts(shape.profile, pull=pull) if u.on == "bore"]
    strain = max((u.strain for u in bore), default=0.0)
    text = f"the part is stretched by {strain:.1%} when it is rolled off its core; {allowed:.0%} is allowed"
    return Finding("rolled_off", strain <= allowed, strain, allowed, None, text)


def _throat(plan: MoldPlan, name: str, space: Manifold, pull: int) -> Finding:
    """A ring between a wall and a core has to squeeze its section through the mouth: how much of it is left."""
    deep = plan.cavity.below_mm if pull > 0 else plan.cavity.above_mm
    levels = [-pull * float(z) for z in np.linspace(HAIR_MM, deep - HAIR_MM, THROAT_LEVELS)]
    mouth = space.slice(levels[0])
    shares = []
    for level in levels:
        across = space.slice(level)
        mouth = mouth ^ across
        shares.append(mouth.area() / across.area() if across.area() > 0.0 else 1.0)
    share = min(shares)
    text = f"{name} half: the mouth leaves {share:.0%} of the section to pull it through; it wants {LEAST_THROAT:.0%}"
    where = None if share >= LEAST_THROAT else (*plan.places[0], levels[shares.index(share)])
    return Finding("throat", share >= LEAST_THROAT, share, LEAST_THROAT, where, text)


@dataclass(frozen=True, slots=True)
class _Space:
    """A hollow of a finished half, inside a land and open to the parting plane."""

    empty: Manifold
    half_id: int
    """By which the half's own facets are known in the hollow's mesh."""
    axis: Floats
    """x and y of the nearest cavity's origin."""


def _spaces(plan: MoldPlan, half: Manifold, pull: int) -> list[_Space]:
    """Each hollow by itself, so that a hole beside a cavity does not pass for its mouth."""
    from manifold3d import CrossSection, JoinType, Manifold

    outline = CrossSection([np.array(plan.cavity.footprint.points(0.01))])
    inside = outline.offset(plan.seal.land_mm - 0.5, JoinType.Round, 2.0, 64)
    # A little short of the half's outer face: where two planes coincide but for rounding, a film stays between them.
    low, high = (FILM_MM - plan.block.lower_mm, 0.0) if pull > 0 else (0.0, plan.block.upper_mm - FILM_MM)
    column = Manifold.extrude(inside, high - low).translate((0.0, 0.0, low))
    places = np.array(plan.places)
    found = []
    for part in (Manifold.compose([column.translate((x, y, 0.0)) for x, y in plan.places]) - half).decompose():
        box = np.array(part.bounding_box())
        if box[2] < 0.1 and box[5] > -0.1:
            nearest = np.linalg.norm(places - 0.5 * (box[:2] + box[3:5]), axis=1).argmin()
            found.append(_Space(part, half.original_id(), places[nearest]))
    return found


def _asked(plan: MoldPlan, spaces: Sequence[_Space], pull: int) -> _Asked | None:
    """The worst undercut of a half (the lower for `pull` = 1); None if no wall leans inwards over the part."""
    found = []
    for space in spaces:
        walls = _walls(space, pull)
        if pull < 0:
            walls = _without_openings(walls, plan)
        walls = _with_seats_below(walls, plan, space.axis, pull)
        wrong = walls.normals[:, 2] < -LEAN
        area = float(walls.areas_mm2[wrong].sum())
        if area < LEAST_MM2:
            continue
        if plan.cavity.turned:
            strain, depth, where = _turned_strain(walls, wrong, space.axis, _metal_radius_mm(plan))
        else:
            strain, depth, where = _flat_strain(taken(walls, wrong), space.empty, pull)
        found.append(_Asked(strain, depth, area, (where[0], where[1], pull * where[2])))
    return max(found, key=lambda asked: asked.strain, default=None)


def _walls(space: _Space, pull: int) -> Facets:
    """The facets of the half that bound the space, normals out of the half; the upper half turned upside down."""
    mesh = space.empty.to_mesh64()
    runs = np.asarray(mesh.run_index) // 3
    own = np.zeros(len(mesh.tri_verts), dtype=np.bool_)
    for number, start, end in zip(mesh.run_original_id, runs[:-1], runs[1:], strict=True):
        own[start:end] |= number == space.half_id
    triangles = np.asarray(mesh.tri_verts, dtype=np.int64)[own]
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3] * (1.0, 1.0, pull)
    # The space's normals point into the half; turning a facet over turns its normal, and so does a mirrored z.
    return facets_of(points, triangles[:, ::-1] if pull > 0 else triangles)


def _without_openings(walls: Facets, plan: MoldPlan) -> Facets:
    """Sprues and vents widen upwards on purpose: the plug tears off at the gate and stays in the upper half."""
    x, y, z = walls.middles.T
    kept = np.ones(len(x), dtype=np.bool_)
    for o in (*plan.sprues, *plan.vents):
        kept &= np.hypot(x - o.x_mm, y - o.y_mm) > radius_mm(o, -z) + np.where(-z >= o.gate_z_mm, ROUND_GATE_MM, 0.0)
    return taken(walls, kept)


def _with_seats_below(walls: Facets, plan: MoldPlan, axis: Floats, pull: int) -> Facets:
    """The facets, the rims of core's and metal's seats a hair below the cavity that they open into.

    A rim is level with the cavity's floor, and would pass for a mouth that the floor's corner has to get through; it
    is one only for what lies in the seat itself.
    """
    core, metal = plan.cavity.core, plan.cavity.insert
    if pull > 0:
        seats = (core and core.profile, metal and metal.lower_seat)
    else:
        seats = (core and core.upper_seat, metal and metal.upper_seat)
    corners = walls.corners.copy()
    radii = np.hypot(corners[..., 0] - axis[0], corners[..., 1] - axis[1])
    for seat in seats:
        if not seat:
            continue
        # Every seat's wall is the first edge off the axis, whichever way up it is drawn; its rim is the inner end.
        rim = max(seat.vertices[1:3], key=lambda v: pull * v.y)
        on_rim = (np.abs(radii - rim.x) < ON_RIM_MM) & (np.abs(corners[..., 2] - pull * rim.y) < ON_RIM_MM)
        corners[..., 2] -= np.where(on_rim, HAIR_MM, 0.0)
    return replace(walls, corners=corners)


def _turned_strain(walls: Facets, wrong: Flags, place: Floats, metal_radius_mm: float) -> tuple[float, float, Point3]:
    """(strain, depth, place) by which the ring must give: (r − mouth)/r outside, (mouth − r)/r in the bore.

    The mouth is what the same side of the same sector leaves open above. Rubber on metal gives by `strain_on_metal`.
    """
    points = walls.corners - np.array([*place, 0.0])
    radii, heights = np.hypot(points[..., 0], points[..., 1]), points[..., 2]
    # What only hangs down from a step's outer corner, level with it, is no mouth for that corner.
    lips = heights - np.where(heights > heights.min(axis=1, keepdims=True) + LEVEL_MM, HANGING_MM, 0.0)
    sectors = (
        np.floor((np.arctan2(points[..., 1], points[..., 0]) / math.tau + 0.5) * SECTORS).astype(np.int64) % SECTORS
    )
    middles = points.mean(axis=1)
    outward = np.einsum("ij,ij->i", walls.normals[:, :2], middles[:, :2]) / np.maximum(
        np.hypot(middles[:, 0], middles[:, 1]), 1e-9
    )
    worst = (0.0, 0.0, as_point(walls.corners[wrong][0, 0]))
    for sector in np.unique(sectors[wrong]):
        held = (sectors == sector) & wrong[:, None]
        for side, closing in ((-1.0, np.minimum), (1.0, np.maximum)):
            wall = (sectors == sector) & (side * outward > 0.05)[:, None]
            if not wall.any():
                continue
            order = np.argsort(-lips[wall])
            mouths = closing.accumulate(radii[wall][order])
            above = np.searchsorted(-lips[wall][order], -heights[held] + 1e-6, side="right") - 1
            depth = np.where(above >= 0, side * (mouths[np.maximum(above, 0)] - radii[held]), 0.0)
            strain = depth / np.maximum(radii[held], 1e-6)
            if metal_radius_mm > 0.0:
                strain = _on_metal(radii[held], depth, metal_radius_mm, strain)
            i = int(strain.argmax())
            if strain[i] > worst[0]:
                worst = float(strain[i]), float(depth[i]), as_point(walls.corners[held][i])
    return worst


def _on_metal(radii: Floats, depth: Floats, metal_radius_mm: float, free: Floats) -> Floats:
    """The strain of rubber that metal holds; farther in lies the metal's own seat, where the free ring's stands."""
    left = (radii - depth) ** 2 - metal_radius_mm**2
    drawn = np.where(left > 0.0, (radii**2 - (radii - depth) ** 2) / np.maximum(left, TINY), math.inf)
    return np.where((radii > metal_radius_mm + SAME_MM) & (depth > 0.0), drawn, free)


def _flat_strain(wrong: Facets, space: Manifold, pull: int) -> tuple[float, float, Point3]:
    """(strain, depth, place): how far the rubber must move aside, over half its width there."""
    from shapely import LineString, Point, union_all
    from shapely import polygons as triangles
    from shapely.ops import nearest_points

    # A little wider than the facets, so that no hair stays between two of them and passes for a way out.
    roofed = union_all(triangles(wrong.corners[:, :, :2])).buffer(HAIR_MM)
    free = polygons(space.project()).difference(roofed)
    corners = wrong.corners.reshape(-1, 3)
    if free.is_empty:
        return 1.0, 0.0, as_point(corners[0])
    depths = [free.distance(Point(x, y)) - HAIR_MM for x, y, _ in corners]
    i = int(np.argmax(depths))
    x, y, z = as_point(corners[i])
    way_out, _ = nearest_points(free, Point(x, y))
    dx, dy = (FAR_MM * (there - here) / depths[i] for here, there in ((x, way_out.x), (y, way_out.y)))
    inner = 0.95 * corners[i] + 0.05 * wrong.middles[i // 3]  # off the corner, or the line might run along a wall
    start = Point(inner[:2])
    across = section(space, pull * (z - 0.02)).intersection(LineString([start, (start.x + dx, start.y + dy)]))
    part = min(getattr(across, "geoms", [across]), key=start.distance)
    return depths[i] / max(0.5 * part.length, depths[i]), depths[i], (x, y, z)


# --- rigid bodies ----------------------------------------------------------------------------------------------------


def _lifted(name: str, body: Manifold, others: dict[str, Manifold]) -> Iterator[Finding]:
    """Whether a body, moved straight up step by step, catches in one that stays."""
    worst: tuple[float, Point3, str, float] | None = None
    for other, solid in others.items():
        # What already overlaps in the closed mold is a matter of its fit.
        closed = (body ^ solid).volume()
        for lift in LIFTS_MM:
            overlap = body.translate((0.0, 0.0, lift)) ^ solid
            caught = next(pieces(overlap, CAUGHT_MM3), None) if overlap.volume() > closed + CAUGHT_MM3 else None
            if caught is not None and (worst is None or caught[0] > worst[0]):
                worst = (*caught, other, lift)
    if worst is None:
        yield Finding("lifts_off", True, 0.0, CAUGHT_MM3, None, f"{name} lifts off without catching")
        return
    volume, where, other, lift = worst
    text = f"{name}, raised by {lift:g} mm, catches in {other} by {volume:.2f} mm³ at {spoken(where)}"
    yield Finding("lifts_off", False, volume, CAUGHT_MM3, where, text)
