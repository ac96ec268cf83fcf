"""Proof 5, second part: each body, as it lies on the bed, fits it and prints without supports."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from moldgen.inspection.cavity_wall import TINY, Floats, Ints, as_point
from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.measuring import Flags, facets, section, shared_edges, spoken
from moldgen.mold.roofs import LEAN, LEVEL_MM, REACH_MM, WAYS
from moldgen.parts.mesh import Mesh
from moldgen.printers import Printer

if TYPE_CHECKING:
    from manifold3d import Manifold
    from shapely import Polygon

ON_BED_MM: Final = 0.05
LEAST_MM2: Final = 0.05
STEP_MM: Final = 0.8
"""A roof is looked at in steps of this."""
UNHELD_MM: Final = 1000.0
"""Reach of a roof that nothing holds: it would print in the air."""
TOUCH_MM: Final = 1e-3
HOLE_MM: Final = 0.03
"""A round hole's mesh reads smaller than the hole by the sag on both sides."""


def printability(mold: MoldMeshes, *, lying: Mapping[str, Mesh], printer: Printer) -> Iterator[Finding]:
    """Bed, overhangs and holes; `lying` is each printed body as it lies on the bed, its triangles in the same order."""
    yield from bed_and_overhangs(lying, standing=mold.printed, printer=printer)
    yield _holes(mold, printer)


def bed_and_overhangs(
    lying: Mapping[str, Mesh], *, standing: Mapping[str, Mesh], printer: Printer
) -> Iterator[Finding]:
    """Of each body, lying and as it stands when it is used: whether it fits the bed, and its farthest roof."""
    for role, mesh in lying.items():
        yield _bed(role, mesh, printer)
        yield _overhang(role, mesh, standing[role], printer)


def _bed(role: str, mesh: Mesh, printer: Printer) -> Finding:
    size = np.ptp(mesh.points, axis=0)
    bed = np.array([printer.bed_x_mm, printer.bed_y_mm, printer.bed_z_mm])
    over = int((size - bed).argmax())
    fits = bool(size[over] <= bed[over] + 1e-3)
    measures = " x ".join(f"{s:.1f}" for s in size)
    text = f"{role}: {measures} mm on a bed of {' x '.join(f'{b:g}' for b in bed)} mm"
    return Finding("bed", fits, float(size[over]), float(bed[over]), None, text)


# --- overhangs -------------------------------------------------------------------------------------------------------


def _overhang(role: str, mesh: Mesh, standing: Mesh, printer: Printer) -> Finding:
    """The roof that reaches farthest from what holds it without being a bridge; found lying, told as it stands."""
    worst, where = 0.0, None
    for roof in _roofs(mesh, printer):
        places, rows = _spread(mesh, roof.rows)
        out = _reach(roof.held, places[:, :2])
        hanging = _one_a_cell(out, places)
        hanging = hanging[~_bridged(roof.held, places[hanging], printer.bridge_mm)]
        out[out > REACH_MM] = np.where(np.isin(np.flatnonzero(out > REACH_MM), hanging), out[out > REACH_MM], 0.0)
        i = int(out.argmax())
        if out[i] > worst:
            worst, where = float(out[i]), as_point(_moved(mesh, standing, int(rows[i]), places[i]))
    if worst <= REACH_MM:
        text = (
            f"{role}: no roof reaches out by more than {worst:.1f} mm, save bridges of up to {printer.bridge_mm:g} mm"
        )
        return Finding("overhang", True, worst, REACH_MM, None, text)
    assert where is not None
    text = f"{role}: a roof reaches out {worst:.1f} mm at {spoken(where)} with nothing under it; it would need support"
    return Finding("overhang", False, worst, REACH_MM, where, text)


@dataclass(frozen=True, slots=True, eq=False)
class _Roof:
    """Facets that hang together and face down too steeply, and the edges where something below holds them."""

    rows: Ints
    held: Floats
    """(k, 2, 3)"""


def _reach(held: Floats, places: Floats) -> Floats:
    """How far each place lies, seen from above, from the nearest held edge."""
    from shapely import STRtree, linestrings, points

    if len(held) == 0:
        return np.full(len(places), UNHELD_MM)
    near, out = STRtree(linestrings(held[:, :, :2])).query_nearest(
        points(places), return_distance=True, all_matches=False
    )
    return np.asarray(out[np.argsort(near[0])])


def _one_a_cell(out: Floats, places: Floats) -> Ints:
    """Of the places that reach out too far, the farthest in each square of STEP_MM."""
    far = np.flatnonzero(out > REACH_MM)
    far = far[np.argsort(-out[far], kind="stable")]
    _, first = np.unique(np.floor(places[far, :2] / STEP_MM), axis=0, return_index=True)
    return far[first]


def _bridged(held: Floats, places: Floats, longest_mm: float) -> Flags:
    """Which places lie on a level line between two held edges that is no longer than a bridge."""
    out = np.zeros(len(places), dtype=np.bool_)
    for i, place in enumerate(places):
        level = held[np.abs(held[:, :, 2] - place[2]).max(axis=1) < LEVEL_MM]
        out[i] = any(_span(level, place, math.pi * k / WAYS) <= longest_mm for k in range(WAYS))
    return out


def _span(held: Floats, place: Floats, angle: float) -> float:
    """Distance between the nearest held edges on both sides of a place in one direction; infinite if one is missing."""
    if len(held) == 0:
        return math.inf
    way = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-way[1], way[0]])
    ends = held[:, :, :2] - place[:2]
    side, ahead = ends @ across, ends @ way
    # A place on the roof's own rim is met by edges that end there.
    crossing = (side.min(axis=1) <= TOUCH_MM) & (side.max(axis=1) >= -TOUCH_MM) & (np.ptp(side, axis=1) > TOUCH_MM)
    side, ahead = side[crossing], ahead[crossing]
    share = np.clip(side[:, 0] / (side[:, 0] - side[:, 1]), 0.0, 1.0)
    at = ahead[:, 0] + share * (ahead[:, 1] - ahead[:, 0])
    front, back = at[at >= -TOUCH_MM], at[at <= TOUCH_MM]
    return float(front.min() - back.max()) if len(front) and len(back) else math.inf


def _roofs(mesh: Mesh, printer: Printer) -> Iterator[_Roof]:
    surface = facets(mesh)
    heights = surface.corners[:, :, 2]
    steep = surface.normals[:, 2] < -math.sin(math.radians(printer.overhang_deg) + LEAN)
    steep &= heights.max(axis=1) > ON_BED_MM
    one, other, ends = shared_edges(mesh)
    inner = steep[one] & steep[other]
    patches = _patches(len(steep), one[inner], other[inner])
    # An edge of the roof is held where the surface goes on downwards from it, or where it lies on the bed.
    rim = steep[one] != steep[other]
    roof, beside, ends = np.where(steep[one], one, other)[rim], np.where(steep[one], other, one)[rim], ends[rim]
    edges = mesh.points[ends]
    goes_down = _drop(surface.corners[beside], edges) < -1e-4
    held = goes_down | (edges[:, :, 2].max(axis=1) < ON_BED_MM)
    for number in np.unique(patches[steep]):
        rows = np.flatnonzero(steep & (patches == number))
        if surface.areas_mm2[rows].sum() > LEAST_MM2:
            yield _Roof(rows, edges[held & (patches[roof] == number)])


def _drop(triangles: Floats, edges: Floats) -> Floats:
    """How far each triangle leads up from an edge of it, negative where down.

    Square to the edge: beside one that slopes, a triangle below it may reach no lower than the edge's own lower end.
    """
    start, way = edges[:, 0], edges[:, 1] - edges[:, 0]
    square = np.maximum(np.einsum("ij,ij->i", way, way), TINY)
    # The two corners that the triangle has in common with the edge add nothing.
    off = (triangles - start[:, None]).sum(axis=1) - way
    share = np.einsum("ij,ij->i", off, way) / square
    return np.asarray((off - share[:, None] * way)[:, 2])


def _patches(count: int, one: Ints, other: Ints) -> Ints:
    """A number for each facet, the same for those that the pairs join."""
    number = np.arange(count)
    while True:
        least = np.minimum(number[one], number[other])
        before = number.copy()
        np.minimum.at(number, one, least)
        np.minimum.at(number, other, least)
        number = number[number]
        if np.array_equal(number, before):
            return number


def _spread(mesh: Mesh, rows: Ints) -> tuple[Floats, Ints]:
    """Places on facets, their corners and more the larger a facet is; and a facet of each."""
    triangles = mesh.triangles[rows]
    corners = mesh.points[triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    steps = np.ceil(longest / STEP_MM).astype(np.int64)
    own, first = np.unique(triangles, return_index=True)
    places, facet = [mesh.points[own]], [rows[first // 3]]
    for count in np.unique(steps[steps > 1]):
        weights = np.array([(i, j, count - i - j) for i in range(count + 1) for j in range(count + 1 - i)]) / count
        alike = steps == count
        places.append(np.einsum("wc,fcx->fwx", weights, corners[alike]).reshape(-1, 3))
        facet.append(np.repeat(rows[alike], len(weights)))
    return np.concatenate(places), np.concatenate(facet)


def _moved(lying: Mesh, standing: Mesh, row: int, place: Floats) -> Floats:
    """A place on a facet of the lying body, where it is on the same facet of the standing one."""
    corners = lying.points[lying.triangles[row]]
    weights = np.linalg.lstsq(np.vstack([corners.T, np.ones(3)]), np.append(place, 1.0), rcond=None)[0]
    return np.asarray(weights @ standing.points[standing.triangles[row]])


# --- holes -----------------------------------------------------------------------------------------------------------


def _holes(mold: MoldMeshes, printer: Printer) -> Finding:
    """The smallest of gates, vents and screw holes, measured across the finished halves; closed ones are no holes."""
    plan = mold.plan
    drilled = [o for o in (*plan.sprues, *plan.vents) if o.drilled]
    wanted = [
        _Bore("upper", o.x_mm, o.y_mm, o.gate_z_mm + 0.5 * o.land_mm, 0.5 * o.gate_diameter_mm, kind)
        for kind, openings in (("gate", plan.sprues), ("vent", plan.vents))
        for o in openings
        if not o.drilled
    ]
    wanted += [
        _Bore(half, s.x_mm, s.y_mm, z, 0.5 * s.screw.hole_mm, f"{s.screw.size} hole")
        for half, z in (("upper", 0.5 * plan.block.upper_mm), ("lower", -0.5 * plan.seal.relief_mm))
        for s in plan.screws
    ]
    levels = {(bore.half, bore.z_mm) for bore in wanted}
    open_at = {(half, z): _open(getattr(mold.solids, half), z) for half, z in levels}
    found = [
        (width, (bore.x_mm, bore.y_mm, bore.z_mm), bore.kind)
        for bore in wanted
        for width in _widths_mm(bore, open_at[bore.half, bore.z_mm])
    ]
    least = printer.least_hole_mm
    if not found:
        return Finding("hole", True, 0.0, least, None, "there is no hole to print")
    across, where, kind = min(found)
    if across >= least - HOLE_MM:
        text = f"the smallest hole that is printed is a {kind} of {across:.2f} mm"
        text += f"; {len(drilled)} smaller ones are drilled, as the design says" if drilled else ""
        return Finding("hole", True, across, least, None, text)
    text = f"a {kind} of {across:.2f} mm at {spoken(where)}; the printer leaves none under {least:g} mm open: drill it"
    return Finding("hole", False, across, least, where, text)


@dataclass(frozen=True, slots=True)
class _Bore:
    """A round hole that a half should have, and a height at which it is looked at."""

    half: str
    x_mm: float
    y_mm: float
    z_mm: float
    radius_mm: float
    kind: str


def _open(half: Manifold, z_mm: float) -> list[Polygon]:
    """What is open in a half at a height."""
    from shapely import Polygon

    return [Polygon(ring) for part in section(half, z_mm).geoms for ring in part.interiors]


def _widths_mm(bore: _Bore, holes: Iterable[Polygon]) -> Iterator[float]:
    """Width of the hole at the bore's place, if there is one: of the largest circle that goes through."""
    from shapely import Point, maximum_inscribed_circle

    at = Point(bore.x_mm, bore.y_mm)
    found = next((hole for hole in holes if hole.distance(at) < bore.radius_mm), None)
    if found is not None:
        yield 2.0 * float(maximum_inscribed_circle(found, tolerance=0.005).length)
