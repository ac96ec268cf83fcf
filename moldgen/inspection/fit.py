"""Proof 5, third part: the closed mold seats on its lands, holds its cores and screws, and closes in one way only."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from moldgen.inspection.findings import Finding, MoldMeshes
from moldgen.inspection.measuring import hexagon, pieces, place_2d, prism, rod, section, spoken
from moldgen.inspection.solids import Solids
from moldgen.mold.plan import KeyPlan, MoldPlan, ScrewPlan
from moldgen.printers import Printer

if TYPE_CHECKING:
    from manifold3d import Manifold
    from shapely import MultiPolygon, Point, Polygon

SAG_MM: Final = 0.05
"""By how much a gap between two meshes may read less or more than it is."""
KEY_HEIGHTS: Final = (0.2, 0.5, 0.8)
"""Where a key is looked at, in its height."""
PRESSED: Final = 0.4
"""How far the halves are pressed together to see what touches, in the least gap that must stay open."""
SEATED: Final = 0.25
"""Share of a land's area that must bear; whether it is whole is another proof."""
TOUCHES_MM3: Final = 0.1
"""Overlap of bodies that should just touch, each meshed by itself."""
NOTHING_MM3: Final = 0.02
COLLIDES_MM3: Final = 2.0
"""Overlap that stops the halves from going together: a tenth of a small key."""
NUT_PLAY_MM: Final = 0.5
"""Across the flats, at the most."""
SQUARE_MM: Final = 1.0


def fit(mold: MoldMeshes, *, printer: Printer) -> Iterator[Finding]:
    """Keys, lands, cores, metal, the one way to close, and screws."""
    plan, solids = mold.plan, mold.solids
    yield from _keys(plan, solids)
    yield from _seats(mold)
    yield from _one_way(plan, solids)
    if mold.cores:
        yield from _cores(plan, solids)
    if mold.inserts:
        yield from _inserts(solids)
    yield from _screws(plan, solids, printer)


# --- keys ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Play:
    """Room round a key at one height, and what is wrong with it, if anything."""

    gap_mm: float
    fault: str
    z_mm: float


def _keys(plan: MoldPlan, solids: Solids) -> Iterator[Finding]:
    """Each key of the lower half stands free in its socket by the planned clearance, all round and above."""
    if not plan.keys:
        yield Finding("keys", False, 0.0, 2.0, None, "no key keeps the halves in place")
        return
    heights = {share * key.height_mm for key in plan.keys for share in KEY_HEIGHTS}
    cuts = {z: (section(solids.lower, z), section(solids.upper, z)) for z in heights}
    all_of_them = []
    for key in plan.keys:
        plays = [_all_round(key, z, *cuts[z]) for z in (share * key.height_mm for share in KEY_HEIGHTS)]
        plays.append(_above(key, solids))
        all_of_them += plays
        faults = [play for play in plays if play.fault]
        if faults:
            worst = min(faults, key=lambda play: play.gap_mm)
            where = (key.x_mm, key.y_mm, worst.z_mm)
            text = f"the key at {spoken(where)} {worst.fault}; {key.clearance_mm:.2f} mm is planned"
            yield Finding("keys", False, worst.gap_mm, key.clearance_mm - SAG_MM, where, text)
    if not any(play.fault for play in all_of_them):
        least, planned = min(play.gap_mm for play in all_of_them), min(key.clearance_mm for key in plan.keys)
        text = f"all {len(plan.keys)} keys have {least:.2f} mm all round; {planned:.2f} mm is planned"
        yield Finding("keys", True, least, planned - SAG_MM, None, text)


def _all_round(key: KeyPlan, z_mm: float, lower: MultiPolygon, upper: MultiPolygon) -> _Play:
    from shapely import Point

    middle = Point(key.x_mm, key.y_mm)
    own = next((part for part in lower.geoms if part.intersects(middle)), None)
    socket = _hole_round(middle, upper)
    if own is None or socket is None:
        return _Play(0.0, "is missing" if own is None else "finds no socket", z_mm)
    if not socket.contains(own):
        return _Play(0.0, f"runs into its socket's wall by {own.difference(socket).area:.2f} mm²", z_mm)
    gap = own.distance(socket.exterior)
    if gap < key.clearance_mm - SAG_MM:
        return _Play(gap, f"has {gap:.2f} mm on one side", z_mm)
    widest = max(own.distance(Point(corner)) for corner in socket.exterior.coords)
    if widest > key.clearance_mm + 2.0 * SAG_MM:
        return _Play(gap, f"rattles: its socket is {widest:.2f} mm away on one side", z_mm)
    return _Play(gap, "", z_mm)


def _hole_round(place: Point, shape: MultiPolygon) -> Polygon | None:
    from shapely import Polygon

    holes = (Polygon(ring) for part in shape.geoms for ring in part.interiors)
    return next((hole for hole in holes if hole.contains(place)), None)


def _above(key: KeyPlan, solids: Solids) -> _Play:
    """From the top of a key to the top of its socket."""
    pin = rod(0.25 * key.tip_diameter_mm, 0.1, 2.0 * key.height_mm, key.x_mm, key.y_mm)
    standing, free = pin ^ solids.lower, pin - solids.upper
    if standing.is_empty() or free.is_empty():
        return _Play(0.0, "is missing or finds no socket", key.height_mm)
    top = standing.bounding_box()[5]
    room = float(min(part.bounding_box()[5] for part in free.decompose()) - top)
    return _Play(room, f"has {room:.2f} mm over it" if room < key.clearance_mm - SAG_MM else "", float(top))


# --- closing ---------------------------------------------------------------------------------------------------------


def _seats(mold: MoldMeshes) -> Iterator[Finding]:
    """Pressed together by a little, the halves meet on every land and nowhere else."""
    from manifold3d import CrossSection, JoinType, Manifold

    plan, solids = mold.plan, mold.solids
    press = PRESSED * min([plan.seal.relief_mm, *(key.clearance_mm for key in plan.keys)])
    meeting = solids.lower ^ solids.upper.translate((0.0, 0.0, -press))
    footprint = CrossSection([np.array(plan.cavity.footprint.points(0.01))])
    rim = footprint.offset(plan.seal.land_mm + SAG_MM, JoinType.Round, 2.0, 64)

    def everywhere(flat: CrossSection) -> list[Manifold]:
        column = Manifold.extrude(flat, 2.0 * press + 0.2).translate((0.0, 0.0, -press - 0.1))
        return [column.translate((x, y, 0.0)) for x, y in plan.places]

    stray = list(pieces(meeting - Manifold.compose(everywhere(rim)), NOTHING_MM3))
    for volume, where in stray:
        text = f"the halves meet off the lands, on {volume / press:.1f} mm² at {spoken(where)}"
        yield Finding("seats", False, volume, NOTHING_MM3, where, text)
    wanted = rim.area() - footprint.area()
    bearing = [(meeting ^ land).volume() / press / wanted for land in everywhere(rim - footprint)]
    for (x, y), share in zip(plan.places, bearing, strict=True):
        if share < SEATED:
            text = f"the land round the cavity at ({x:.1f}, {y:.1f}) mm bears on {share:.0%} of its area"
            yield Finding("seats", False, share, SEATED, (x, y, 0.0), text)
    if not stray and min(bearing) >= SEATED:
        text = f"the halves meet on the lands, on {min(bearing):.0%} of their area or more, and nowhere else"
        yield Finding("seats", True, min(bearing), SEATED, None, text)


def _one_way(plan: MoldPlan, solids: Solids) -> Iterator[Finding]:
    """Turned about, the upper half must not find its keys."""
    turns = (90, 180, 270) if abs(plan.block.x_mm - plan.block.y_mm) < SQUARE_MM else (180,)
    least = COLLIDES_MM3
    # Raised off the lands, which else lie in one plane: to tell what touches there takes ten times as long.
    raised = solids.upper.translate((0.0, 0.0, SAG_MM))
    for turn in turns:
        overlap = next(pieces(solids.lower ^ raised.rotate((0.0, 0.0, turn)), 0.0), (0.0, (0.0, 0.0, 0.0)))
        if overlap[0] < COLLIDES_MM3:
            text = f"the upper half also closes turned by {turn}°"
            yield Finding("one_way", False, overlap[0], COLLIDES_MM3, None, text)
            return
        least = max(least, overlap[0])
    text = "turned about, the upper half stands on the keys"
    yield Finding("one_way", True, least, COLLIDES_MM3, None, text)


# --- core and metal --------------------------------------------------------------------------------------------------


def _cores(plan: MoldPlan, solids: Solids) -> Iterator[Finding]:
    """The core sits down in the lower half and has room on every side of its seat in the upper one."""
    core = plan.cavity.core
    assert core is not None
    room = core.upper_seat.bounds[3] - core.profile.bounds[3]
    yield _apart("core", "the core", "the lower half", solids.cores.translate((0.0, 0.0, SAG_MM)), solids.lower)
    half = 0.5 * room
    moves = ((0.0, 0.0, half), (half, 0.0, 0.0), (-half, 0.0, 0.0), (0.0, half, 0.0), (0.0, -half, 0.0))
    found = [next(pieces(solids.cores.translate(move) ^ solids.upper, TOUCHES_MM3), None) for move in moves]
    worst = max((one for one in found if one is not None), default=None)
    if worst is None:
        text = f"the core has its clearance of {room:.2f} mm in the upper half"
        yield Finding("core", True, room, half, None, text)
        return
    text = f"the core has less than {half:.2f} mm of room in the upper half at {spoken(worst[1])}"
    yield Finding("core", False, 0.0, half, worst[1], text)


def _inserts(solids: Solids) -> Iterator[Finding]:
    """The metal goes into its seats and lets the mold close over it."""
    yield _apart("metal", "the metal", "the lower half", solids.inserts.translate((0.0, 0.0, SAG_MM)), solids.lower)
    yield _apart("metal", "the metal", "the upper half", solids.inserts.translate((0.0, 0.0, -SAG_MM)), solids.upper)


def _apart(proof: str, name: str, other: str, body: Manifold, solid: Manifold) -> Finding:
    """Moved out by the sag of the meshes, the one must not be in the other."""
    caught = next(pieces(body ^ solid, TOUCHES_MM3), None)
    if caught is None:
        return Finding(proof, True, 0.0, TOUCHES_MM3, None, f"{name} goes into {other}")
    volume, where = caught
    text = f"{name} runs into {other} by {volume:.2f} mm³ at {spoken(where)}"
    return Finding(proof, False, volume, TOUCHES_MM3, where, text)


# --- screws ----------------------------------------------------------------------------------------------------------


def _screws(plan: MoldPlan, solids: Solids, printer: Printer) -> Iterator[Finding]:
    """Each screw passes, its nut and head find their place, and sound wall stands round all of it."""
    if not plan.screws:
        yield Finding("screws", True, 0.0, 0.0, None, "no screws: held by spring clamps")
        return
    faults = [*_blocked(plan, solids), *_thin_round(plan, solids, printer.least_wall_mm)]
    yield from faults
    if not faults:
        text = f"all {len(plan.screws)} screws pass, with {printer.least_wall_mm:g} mm of wall round hole, nut and head"
        yield Finding("screws", True, 0.0, NOTHING_MM3, None, text)


def _blocked(plan: MoldPlan, solids: Solids) -> Iterator[Finding]:
    from shapely import Point, Polygon

    block = plan.block
    depths = {screw.nut_pocket_mm for screw in plan.screws}
    nuts = {depth: section(solids.lower, -block.lower_mm + 0.5 * depth) for depth in depths}
    levels = [s * block.upper_mm for s in (0.1, 0.5, 0.9)]
    levels += [-s * (block.lower_mm - max(depths)) for s in (0.2, 0.8)]
    cuts = [section(solids.upper if z > 0.0 else solids.lower, z) for z in levels]
    for screw in plan.screws:
        x, y = screw.x_mm, screw.y_mm
        free = Point(x, y).buffer(screw.screw.hole_mm)
        for cut in cuts:
            free = free.difference(cut)
        bolt = 0.5 * float(screw.screw.size.removeprefix("M")) - SAG_MM
        if free.buffer(-bolt).is_empty:
            text = f"an {screw.screw.size} screw does not pass at ({x:.1f}, {y:.1f}) mm"
            yield Finding("screws", False, 0.0, 2.0 * bolt, (x, y, 0.0), text)
        nut = Polygon(hexagon(screw.screw.nut_flats_mm, x, y))
        if (jam := nuts[screw.nut_pocket_mm].intersection(nut)).area > SAG_MM:
            text = f"the {screw.screw.size} nut does not go into its pocket at ({x:.1f}, {y:.1f}) mm"
            yield Finding("screws", False, jam.area, SAG_MM, place_2d(jam, -block.lower_mm), text)


def _thin_round(plan: MoldPlan, solids: Solids, wall_mm: float) -> Iterator[Finding]:
    """Places within a wall's thickness of a screw, nut or head that something else has taken away.

    They are looked at about the holes where these are in the halves, planned or not.
    """
    from manifold3d import Manifold, OpType

    kinds = {(screw.screw, screw.nut_pocket_mm): screw for screw in plan.screws}
    for half, needed, level in (
        (solids.lower, _needed_below, -0.1 * plan.block.lower_mm),
        (solids.upper, _needed_above, 0.5 * plan.block.upper_mm),
    ):
        cut = section(half, level)
        alike = {kind: needed(plan, screw, wall_mm) for kind, screw in kinds.items()}
        found = [_middle_of_hole(cut, screw) for screw in plan.screws]
        walls = [
            alike[screw.screw, screw.nut_pocket_mm].translate((x, y, 0.0))
            for screw, (x, y) in zip(plan.screws, found, strict=True)
        ]
        for volume, where in pieces(Manifold.batch_boolean(walls, OpType.Add) - half, NOTHING_MM3):
            screw = min(plan.screws, key=lambda one: math.hypot(one.x_mm - where[0], one.y_mm - where[1]))
            what = f"{volume:.2f} mm³ of wall is missing beside the {screw.screw.size} screw at {spoken(where)}"
            yield Finding("screws", False, volume, NOTHING_MM3, where, what)


def _middle_of_hole(cut: MultiPolygon, screw: ScrewPlan) -> tuple[float, float]:
    """Where a screw's hole is in a half; its planned place if it is not there or runs into something else."""
    from shapely import Point

    hole = _hole_round(Point(screw.x_mm, screw.y_mm), cut)
    if hole is None or hole.area > screw.screw.hole_mm**2:
        return screw.x_mm, screw.y_mm
    return float(hole.centroid.x), float(hole.centroid.y)


def _needed_below(plan: MoldPlan, screw: ScrewPlan, wall_mm: float) -> Manifold:
    """About the z axis, as if the screw stood there."""
    low, size, flats = -plan.block.lower_mm, screw.screw, screw.screw.nut_flats_mm
    top, roof = -plan.seal.relief_mm - SAG_MM, low + screw.nut_pocket_mm
    walls = rod(0.5 * size.hole_mm + wall_mm, low + SAG_MM, top)
    walls += prism(hexagon(flats + 2.0 * wall_mm), low + SAG_MM, roof + wall_mm)
    nut = prism(hexagon(flats + NUT_PLAY_MM), low, roof + SAG_MM)
    return walls - rod(0.5 * size.hole_mm + SAG_MM, low, top + 1.0) - nut


def _needed_above(plan: MoldPlan, screw: ScrewPlan, wall_mm: float) -> Manifold:
    """As `_needed_below`."""
    top, size = plan.block.upper_mm, screw.screw
    walls = rod(0.5 * size.hole_mm + wall_mm, 3.0 * SAG_MM, top - SAG_MM)
    walls += rod(0.5 * size.head_diameter_mm, top - wall_mm, top - SAG_MM)
    return walls - rod(0.5 * size.hole_mm + SAG_MM, 0.0, top)
