"""Proof 5, first part: no wall thinner than the printer lays soundly, and a whole land round each cavity."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from moldgen.inspection.cavity_wall import TINY, Floats, Ints, Point3, as_point, dot
from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.measuring import NEEDLE_MM2, Facets, Flags, facets, section, shared_edges, spoken, taken
from moldgen.inspection.solids import manifold
from moldgen.mold.plan import LETTER_DEPTH_MM
from moldgen.parts.mesh import Mesh
from moldgen.printers import Printer

if TYPE_CHECKING:
    from manifold3d import Manifold
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

SAMPLE_MM2: Final = 0.4
"""Surface that one sample stands for: a wall of 2 x 2 mm is looked at from ten places on either side."""
CLOSER: Final = 20
CLOSER_MM: Final = 1.0
"""The surface so close to so many of the thinnest places is looked at again, so many times as densely."""
LOOK: Final = 4.0
"""As far as the other side of a wall is looked for, in least walls."""
TRUE_MM: Final = 1e-3
FACING: Final = -0.8
"""Product of the normals on both sides of a wall: at more than 37° to each other they are an edge, not a wall."""
UPRIGHT: Final = 1.0 - 1e-6
"""A side of the box has this or more of its normal along one axis."""
SHARP: Final = math.cos(math.radians(40.0))
LIP_MM: Final = 1.5
"""What thins out to a sharp edge over no more than this is a lip that its root holds: judgement."""
LEAST_LAND_MM: Final = 2.0
"""Narrower, a land prints as little more than two rims and leaks: judgement."""
LOOK_LAND_MM: Final = 4.0
SECTION_MM: Final = 0.01
"""Depth under a half's face at which its land is looked at; the relief beside it is ten times as deep."""
SEEN_MM: Final = 0.1
"""Two meshes of one rim lie this close at the worst: where a rounded edge runs out into the parting plane."""
HAIR_MM: Final = 0.01


def walls(mold: MoldMeshes, *, printer: Printer) -> Iterator[Finding]:
    """The thinnest wall of each printed body, and each half's land."""
    for role, mesh in mold.printed.items():
        half = {"mold_lower": mold.solids.lower, "mold_upper": mold.solids.upper}.get(role)
        front = float(mesh.points[:, 1].min()) + LETTER_DEPTH_MM
        body = _Body(mesh, half or manifold(mesh), facets(mesh), -math.inf if half is None else front)
        yield _wall(role, body, printer.least_wall_mm)
    yield from _lands(mold)


# --- walls -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Body:
    mesh: Mesh
    solid: Manifold
    surface: Facets
    lettered_y_mm: float
    """What lies in front of this is skin with letters in it: only its faces to the front are looked at."""

    @property
    def low(self) -> Floats:
        """The corner (3,) of its box."""
        return np.asarray(self.mesh.points.min(axis=0))

    @property
    def high(self) -> Floats:
        return np.asarray(self.mesh.points.max(axis=0))

    def on_box(self, points: Floats) -> Flags:
        """Which coordinates (..., 3) lie on a side of the box."""
        return np.asarray((points < self.low + TRUE_MM) | (points > self.high - TRUE_MM))


def _wall(role: str, body: _Body, least_mm: float) -> Finding:
    """The thinnest wall, looked for inwards from samples all over the surface, then closer about the thinnest of them.

    From the sides of the body's box one does not look, half of most bodies' surface: a wall that ends in one is seen
    from its other side, and what lies between two of them is the body's own size. Ridges between engraved letters, no
    deeper than they are wide, are not walls; nor is a lip at its sharp edge.
    """
    on_box = np.any(np.all(body.on_box(body.surface.corners), axis=1), axis=1)
    surface = taken(body.surface, (body.surface.areas_mm2 > NEEDLE_MM2) & ~on_box)
    sharp = _sharp_edges(body)
    first = _measured(body, surface, sharp, SAMPLE_MM2, least_mm)
    near = first.places[np.argsort(first.across)[:CLOSER]]
    apart = np.linalg.norm(surface.middles[:, None] - near[None], axis=2).min(axis=1, initial=math.inf)
    closer = _measured(body, taken(surface, apart < CLOSER_MM), sharp, SAMPLE_MM2 / CLOSER, least_mm)
    whole = float((body.high - body.low).min()), as_point(0.5 * (body.low + body.high))
    thickness, where = min((whole, first.thinnest, closer.thinnest), key=lambda found: found[0])
    if thickness >= least_mm - TRUE_MM:
        seen = f"{thickness:.2f} mm" if thickness < LOOK * least_mm else f"over {LOOK * least_mm:.1f} mm"
        return Finding("wall", True, thickness, least_mm, None, f"{role}: its thinnest wall measures {seen}")
    text = f"{role}: a wall of {thickness:.2f} mm at {spoken(where)}; the printer wants {least_mm:g} mm"
    return Finding("wall", False, thickness, least_mm, where, text)


@dataclass(frozen=True, slots=True, eq=False)
class _Measured:
    """Places on a surface, and how far it is straight inwards to the other side, as far as one looked."""

    places: Floats
    inwards: Floats
    across: Floats

    @property
    def thinnest(self) -> tuple[float, Point3]:
        if len(self.across) == 0:
            return math.inf, (0.0, 0.0, 0.0)
        i = int(self.across.argmin())
        return float(self.across[i]), as_point(self.places[i] + 0.5 * self.across[i] * self.inwards[i])


def _measured(body: _Body, surface: Facets, sharp: Floats, each_mm2: float, least_mm: float) -> _Measured:
    places, rows = _samples(surface, each_mm2)
    kept = (places[:, 1] > body.lettered_y_mm + TRUE_MM) | (surface.normals[rows, 1] < FACING)
    places, normals, look = places[kept], surface.normals[rows[kept]], LOOK * least_mm
    across, opposite = _across(body.solid, places, normals, look)
    facing = dot(normals, opposite)
    # The box is not looked from; from there a wall that leans is as thick as it is straight down to its nearest place.
    across_box = np.any(body.on_box(places - across[:, None] * normals) & (np.abs(opposite) > UPRIGHT), axis=1)
    across[across_box] *= -facing[across_box]
    across[facing > FACING] = look
    thin = np.flatnonzero(across < least_mm - TRUE_MM)
    across[thin[_on_a_lip(sharp, places[thin])]] = look
    return _Measured(places, -normals, across)


def _samples(surface: Facets, each_mm2: float) -> tuple[Floats, Ints]:
    """Places spread evenly over a surface, and the facet of each; the same ones every time.

    A large facet gets many, small ones share: one place whenever another `each_mm2` of area has gone by.
    """
    ends = np.cumsum(surface.areas_mm2) / each_mm2
    counts = np.diff(np.ceil(ends), prepend=0.0).astype(np.int64)
    rows = np.repeat(np.arange(len(counts)), counts)
    # The plane's own even sequence (additive, by the plastic number), folded into the triangle.
    number = np.arange(len(rows))
    u, v = (0.7548776662466927 * number) % 1.0, (0.5698402909980532 * number) % 1.0
    over = u + v > 1.0
    u, v = np.where(over, 1.0 - u, u), np.where(over, 1.0 - v, v)
    a, b, c = surface.corners[rows].transpose(1, 0, 2)
    return a + u[:, None] * (b - a) + v[:, None] * (c - a), rows


def _across(solid: Manifold, places: Floats, normals: Floats, look_mm: float) -> tuple[Floats, Floats]:
    """Distance straight inwards to the other side, no more than one looks, and the normal there."""
    distances, opposite = np.full(len(places), look_mm), np.zeros_like(places)
    starts, ends = places - TRUE_MM * normals, places - look_mm * normals
    for i, hits in enumerate(map(solid.ray_cast, starts.tolist(), ends.tolist())):
        if hits:
            distances[i] = TRUE_MM + hits[0].distance * (look_mm - TRUE_MM)
            opposite[i] = hits[0].normal
    return distances, opposite


def _on_a_lip(sharp: Floats, places: Floats) -> Flags:
    """Which places lie within LIP_MM of an edge at which the body thins out to nothing."""
    near = np.zeros(len(places), dtype=np.bool_)
    if len(sharp) == 0:
        return near
    start, way = sharp[:, 0], sharp[:, 1] - sharp[:, 0]
    square = np.maximum(dot(way, way), TINY)
    for i, place in enumerate(places):
        along = np.clip(dot(place - start, way) / square, 0.0, 1.0)
        near[i] = np.linalg.norm(start + along[:, None] * way - place, axis=1).min() < LIP_MM
    return near


def _sharp_edges(body: _Body) -> Floats:
    """Ends (k, 2, 3) of the edges at which two facets enclose less than 40° of material."""
    one, other, ends = shared_edges(body.mesh)
    normals, starts = body.surface.normals, body.mesh.points[ends[:, 0]]
    folded = dot(normals[one], normals[other]) < -SHARP
    convex = dot(normals[one], body.surface.middles[other] - starts) <= TRUE_MM
    return np.asarray(body.mesh.points[ends[folded & convex]])


# --- lands -----------------------------------------------------------------------------------------------------------


def _lands(mold: MoldMeshes) -> Iterator[Finding]:
    """The land of each half, measured from the cavity's mouth to the nearest place that does not seal."""
    from shapely import Polygon, union_all
    from shapely.affinity import translate

    # What else fills the plane inside the mouths, a bore in the metal included.
    within: dict[float, list[Polygon]] = {
        -1.0: [],
        1.0: [],
    }
    solids = mold.solids
    for body in (solids.cores, solids.inserts):
        for side, shapes in within.items():
            shapes += [Polygon(part.exterior) for part in section(body, side * SECTION_MM).geoms]
    first, (x0, y0), *_ = manifold(mold.cavities[0]), *mold.plan.places
    # A half may end inside the other's mouth, at a shoulder: the land lies outside of both.
    mouth = union_all([section(first, side * SECTION_MM) for side in within])
    mouths = [translate(mouth, x - x0, y - y0) for x, y in mold.plan.places]
    for role, half, side in (("mold_lower", solids.lower, -1.0), ("mold_upper", solids.upper, 1.0)):
        solid = union_all([section(half, side * SECTION_MM), *within[side]])
        yield _land(role, mouths, solid, side * SECTION_MM)


def _land(role: str, mouths: Sequence[BaseGeometry], solid: BaseGeometry, z_mm: float) -> Finding:
    """How wide the narrowest land is: a hole in it leaves only what lies between hole and mouth."""
    from shapely.ops import nearest_points

    narrowest, where = LOOK_LAND_MM, None
    for mouth in mouths:
        leaks = mouth.buffer(LOOK_LAND_MM).difference(solid).difference(mouth.buffer(SEEN_MM))
        leaks = leaks.buffer(-HAIR_MM).buffer(HAIR_MM)
        if not leaks.is_empty and (width := mouth.distance(leaks)) < narrowest:
            _, there = nearest_points(mouth, leaks)
            narrowest, where = width, (float(there.x), float(there.y), z_mm)
    if narrowest >= LEAST_LAND_MM or where is None:
        text = f"{role}: at least {narrowest:.2f} mm of land round each cavity"
        return Finding("land", True, narrowest, LEAST_LAND_MM, None, text)
    text = f"{role}: the land is {narrowest:.2f} mm wide at {spoken(where)}; it wants {LEAST_LAND_MM:g} mm to seal"
    return Finding("land", False, narrowest, LEAST_LAND_MM, where, text)
