"""Carries a mold plan out: few cuts per body, each with all its tools at once and proven to have happened."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from moldgen.mold.lettering import outlines
from moldgen.mold.plan import LETTER_DEPTH_MM, KeyPlan, LabelPlan, MoldPlan, OpeningPlan, WedgePlan
from moldgen.parts import kernel
from moldgen.parts.solids import solid
from moldgen.shapes import Drawn, Edge, Path, Revolved, Vertex, parallel, polygon, rectangle

if TYPE_CHECKING:
    from moldgen.parts.kernel import Body

BEYOND_MM: Final = 1.0
"""How far a tool runs past the surface it opens, so that no two faces merely touch."""
SHALLOW_MM: Final = 0.1
"""A gate reaches no deeper below a level ceiling, lest it come out through a wall that leans in under it."""
LETTER_STROKE_MM: Final = 0.6


@dataclass(frozen=True)
class Tools:
    """What is cut from a half, but for its channel and lettering; the tools of different cavities never meet."""

    first: tuple[Body, ...]
    """Of the first cavity."""
    copies: tuple[Body, ...]
    """The same at all other places."""
    shared: tuple[Body, ...]

    @property
    def all(self) -> tuple[Body, ...]:
        return (*self.first, *self.copies, *self.shared)

    @classmethod
    def of(cls, plan: MoldPlan, each: Iterable[Body], shared: Iterable[Body]) -> Tools:
        """`each` as it stands at a cavity's own origin."""
        first, *others = plan.places
        bodies = tuple(each)
        copies = (kernel.moved(body, x, y) for x, y in others for body in bodies)
        return cls(tuple(kernel.moved(body, *first) for body in bodies), tuple(copies), tuple(shared))


@dataclass(frozen=True)
class Half:
    """A finished half of the mold."""

    body: Body
    plain: Body
    """Before its letters were sunk in, with a fraction of the faces."""


@dataclass(frozen=True)
class MoldBodies:
    """The finished solids, where they are when the mold is closed."""

    lower: Body
    upper: Body
    cores: tuple[Body, ...]
    inserts: tuple[Body, ...]
    cavities: tuple[Body, ...]
    """The space that becomes the parts, one solid each."""
    wedge: Body | None
    """What the mold stands on while it is filled."""
    poured: Body
    """All that is filled: cavities with their sprues and vents, up to the brim."""
    plain_lower: Body
    plain_upper: Body
    """The halves before their letters were sunk in: what drawings and overlaps cut."""

    @property
    def printed(self) -> dict[str, Body]:
        """The bodies that a printer makes, by role; cores are all alike, so one stands for all."""
        bodies = {"mold_lower": self.lower, "mold_upper": self.upper}
        bodies |= {"core": self.cores[0]} if self.cores else {}
        return bodies | ({"jig_wedge": self.wedge} if self.wedge is not None else {})


def carry_out(plan: MoldPlan) -> MoldBodies:
    """All bodies of the mold. Raises GeometryError with the stage at which the kernel refused."""
    return with_halves(plan, lower_half(plan), upper_half(plan))


def lower_half(plan: MoldPlan) -> Half:
    """The lower half, begun without the lands, while the kernel has few faces to look at."""
    tools = lower_tools(plan)
    ground = kernel.cut(lower_blank(plan), tools.shared, stage="lower half") if tools.shared else lower_blank(plan)
    keyed = kernel.fused([ground, *(_key(key) for key in plan.keys)], stage="keys of the lower half")
    landed = kernel.engraved(keyed, [_channel(plan)], stage="channel")
    cut = kernel.cut(landed, [*tools.first, *tools.copies], stage="lower half")
    return _lettered(plan, "lower", kernel.fused([cut, *_pins(plan)], stage="pin for the metal's bore"))


def upper_half(plan: MoldPlan) -> Half:
    return _lettered(plan, "upper", kernel.cut(upper_blank(plan), upper_tools(plan).all, stage="upper half"))


def with_halves(plan: MoldPlan, lower: Half, upper: Half) -> MoldBodies:
    """The halves together with all that lies between them, or that they stand on."""
    insert, space, core = plan.cavity.insert, _space(plan), _core(plan)
    return MoldBodies(
        lower=lower.body,
        upper=upper.body,
        cores=() if core is None else _everywhere(core, plan),
        inserts=() if insert is None else _everywhere(kernel.revolved(insert.body, stage="metal"), plan),
        cavities=_everywhere(space, plan),
        wedge=None if plan.wedge is None else _wedge(plan.wedge),
        poured=_poured(plan, space),
        plain_lower=lower.plain,
        plain_upper=upper.plain,
    )


def lower_tools(plan: MoldPlan) -> Tools:
    """What is cut from the lower half's blank besides its channels."""
    return Tools.of(plan, _lower_each(plan), _lower_shared(plan))


def upper_tools(plan: MoldPlan) -> Tools:
    """What is cut from the upper half's blank."""
    return Tools.of(plan, _upper_each(plan), _upper_shared(plan))


def _space(plan: MoldPlan) -> Body:
    """One cavity at its own origin."""
    cavity = plan.cavity
    body = solid(cavity.shape, stage="cavity")
    return kernel.moved(body, 0.0, 0.0, cavity.base_z_mm) if cavity.base_z_mm else body


def _core(plan: MoldPlan) -> Body | None:
    core = plan.cavity.core
    return None if core is None else kernel.revolved(core.profile, stage="core")


def _poured(plan: MoldPlan, space: Body) -> Body:
    """All that is filled: one cavity with its own sprue and vents, then copies of it."""
    stems = [
        kernel.moved(kernel.revolved(_rising(opening.profile(dip_mm=dip, beyond_mm=0.0)), stage="gate"), x, y)
        for opening, dip, x, y in _openings_of_one(plan)
    ]
    one = kernel.fused([space, *stems], stage="what is filled")
    return kernel.together(_everywhere(one, plan))


def lower_blank(plan: MoldPlan) -> Body:
    """Up to where all beyond the channel ends, a little under the lands; these are put on it."""
    return _blank(plan, -plan.block.lower_mm, -plan.seal.relief_mm)


def up_to_parting(plan: MoldPlan) -> Body:
    """The lower half's blank, were it all as high as the lands."""
    return _blank(plan, -plan.block.lower_mm, 0.0)


def upper_blank(plan: MoldPlan) -> Body:
    return _blank(plan, 0.0, plan.block.upper_mm)


def _blank(plan: MoldPlan, low_mm: float, high_mm: float) -> Body:
    half_x, half_y = 0.5 * plan.block.x_mm, 0.5 * plan.block.y_mm
    return kernel.rounded_box(-half_x, -half_y, low_mm, half_x, half_y, high_mm, plan.block.corner_mm)


def _everywhere(body: Body, plan: MoldPlan) -> tuple[Body, ...]:
    return tuple(kernel.moved(body, x, y) for x, y in plan.places)


# --- lower half ------------------------------------------------------------------------------------------------------


def _lower_each(plan: MoldPlan) -> Iterable[Body]:
    cavity = plan.cavity
    yield _space(plan)
    if cavity.core is not None:
        yield _core(plan)
        if cavity.core.lower_seat is not None:
            yield kernel.revolved(cavity.core.lower_seat, stage="core seat")
    if cavity.insert is not None:
        yield kernel.revolved(cavity.insert.lower_seat, stage="seat of the metal")


def _lower_shared(plan: MoldPlan) -> Iterable[Body]:
    block = plan.block
    for screw in plan.screws:
        yield kernel.cylinder(
            0.5 * screw.screw.hole_mm,
            block.lower_mm + 2.0 * BEYOND_MM,
            screw.x_mm,
            screw.y_mm,
            -block.lower_mm - BEYOND_MM,
        )
        yield kernel.prism(
            _hexagon(screw.screw.nut_flats_mm + 0.3, screw.x_mm, screw.y_mm),
            screw.nut_pocket_mm + BEYOND_MM,
            -block.lower_mm - BEYOND_MM,
        )
    for slot in plan.pry_slots:
        y0, y1 = sorted((slot.y_mm - slot.inward * BEYOND_MM, slot.y_mm + slot.inward * slot.depth_mm))
        yield kernel.box(
            slot.x_mm - 0.5 * slot.width_mm, y0, -slot.height_mm, slot.x_mm + 0.5 * slot.width_mm, y1, BEYOND_MM
        )


def _channel(plan: MoldPlan) -> kernel.Pocket:
    """What takes the overflow: a channel round the land of a single cavity, one pocket round the lands of several.

    Lands stand higher than all beyond it, so that nothing else keeps the halves apart.
    """
    seal = plan.seal
    return kernel.pocket_with_plateaus(
        _field(plan),
        grown(plan.cavity.footprint, seal.land_mm),
        plan.places,
        floor_z=-seal.channel_depth_mm,
        rim_z=-seal.relief_mm,
        plateau_z=0.0,
        stage="channel",
    )


def _field(plan: MoldPlan) -> Path:
    """Outer edge of the channel: parallel to a single land, a rectangle with round corners about several."""
    seal, footprint = plan.seal, plan.cavity.footprint
    beyond = seal.land_mm + seal.channel_width_mm
    if len(plan.places) == 1:
        ((x, y),) = plan.places
        return grown(footprint, beyond).moved(x, y)
    x0, y0, x1, y1 = footprint.bounds
    xs, ys = [x for x, _ in plan.places], [y for _, y in plan.places]
    return grown(rectangle(min(xs) + x0, min(ys) + y0, max(xs) + x1, max(ys) + y1), beyond)


def set_back_mm3(plan: MoldPlan) -> float:
    """What the lower half lacks up to the parting: all round the lands the relief, and the channel below it."""
    seal = plan.seal
    lands = len(plan.places) * grown(plan.cavity.footprint, seal.land_mm).area
    channel = (_field(plan).area - lands) * (seal.channel_depth_mm - seal.relief_mm)
    return (plan.block.area_mm2 - lands) * seal.relief_mm + channel


def grown(footprint: Path, by_mm: float) -> Path:
    """The footprint, which is convex, wider all round: its sides moved out, its corners true arcs."""
    if any(vertex.bulge for vertex in footprint.vertices):  # smooth: it has no corners
        return parallel(footprint, by_mm, "side")
    corners: list[Vertex] = []
    edges = footprint.edges
    for before, after in zip((edges[-1], *edges[:-1]), edges, strict=True):
        (ax, ay), (bx, by) = _outward(before), _outward(after)
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        at = after.start
        corners.append(Vertex(at.x + by_mm * ax, at.y + by_mm * ay, math.tan(turn / 4.0)))
        corners.append(Vertex(at.x + by_mm * bx, at.y + by_mm * by))
    return Path(tuple(corners))


def _outward(edge: Edge) -> tuple[float, float]:
    """Unit vector that points out of an anticlockwise outline across a straight edge."""
    return (edge.end.y - edge.start.y) / edge.chord, -(edge.end.x - edge.start.x) / edge.chord


def _key(key: KeyPlan) -> Body:
    """A cone that starts inside the lower half, so that it grows together with it."""
    slope = 0.5 * (key.base_diameter_mm - key.tip_diameter_mm) / key.height_mm
    root = 0.5 * key.base_diameter_mm + slope * BEYOND_MM
    return kernel.cone(root, 0.5 * key.tip_diameter_mm, key.height_mm + BEYOND_MM, key.x_mm, key.y_mm, -BEYOND_MM)


def _wedge(wedge: WedgePlan) -> Body:
    """A ramp with a lip at its thin end, hollowed to a frame; it stands on its underside at z = 0.

    The lip leans back square to the ramp, as the mold's end does that rests against it.
    """
    slope = math.tan(math.radians(wedge.tilt_deg))
    half_x, half_y, lip = 0.5 * wedge.length_mm, 0.5 * wedge.width_mm, wedge.rim_mm
    thick = wedge.thin_mm + slope * wedge.length_mm
    side = [
        (-half_x - lip, 0.0),
        (half_x, 0.0),
        (half_x, thick),
        (-half_x, wedge.thin_mm),
        (-half_x - slope * wedge.lip_mm, wedge.thin_mm + wedge.lip_mm),
        (-half_x - lip, wedge.thin_mm + wedge.lip_mm),
    ]
    ramp = kernel.stood_up(kernel.prism(side, wedge.width_mm, -half_y), 0.0, 0.0, 0.0)
    rim = 2.0 * wedge.rim_mm
    window = kernel.box(-half_x + rim, -half_y + rim, -BEYOND_MM, half_x - rim, half_y - rim, thick + BEYOND_MM)
    return kernel.cut(ramp, [window], stage="wedge")


def _pins(plan: MoldPlan) -> Iterable[Body]:
    insert = plan.cavity.insert
    if insert is not None and insert.pin is not None:
        rooted = Path(
            tuple(Vertex(v.x, v.y - BEYOND_MM if v.y == insert.pin.bounds[1] else v.y) for v in insert.pin.vertices)
        )
        yield from _everywhere(kernel.revolved(rooted, stage="pin for the metal's bore"), plan)


# --- upper half ------------------------------------------------------------------------------------------------------


def _upper_each(plan: MoldPlan) -> Iterable[Body]:
    cavity = plan.cavity
    if cavity.above_mm > 0.0:
        yield _space(plan)
    for opening, dip, x, y in _openings_of_one(plan):
        profile = _rising(opening.profile(dip_mm=dip, beyond_mm=BEYOND_MM))
        yield kernel.moved(kernel.revolved(profile, stage="sprue or vent"), x, y)
    if cavity.core is not None:
        yield kernel.revolved(cavity.core.upper_seat, stage="core seat")
        if cavity.above_mm > 0.0:
            yield _core(plan)
    if cavity.insert is not None and cavity.insert.upper_seat is not None:
        yield kernel.revolved(cavity.insert.upper_seat, stage="seat of the metal")


def _upper_shared(plan: MoldPlan) -> Iterable[Body]:
    block = plan.block
    for key in plan.keys:
        grow, deeper = key.clearance_mm, key.clearance_mm
        slope = 0.5 * (key.base_diameter_mm - key.tip_diameter_mm) / key.height_mm
        yield kernel.cone(
            0.5 * key.base_diameter_mm + grow + slope * BEYOND_MM,
            0.5 * key.tip_diameter_mm + grow,
            key.height_mm + deeper + BEYOND_MM,
            key.x_mm,
            key.y_mm,
            -BEYOND_MM,
        )
    for screw in plan.screws:
        yield kernel.cylinder(
            0.5 * screw.screw.hole_mm, block.upper_mm + 2.0 * BEYOND_MM, screw.x_mm, screw.y_mm, -BEYOND_MM
        )


def _openings_of_one(plan: MoldPlan) -> Iterable[tuple[OpeningPlan, float, float, float]]:
    """Sprues and vents of the first cavity, how far each dips into it, and where they stand from its own origin."""
    (x, y), *others = plan.places
    each = 1 + len(others)
    for opening in (*plan.sprues[::each], *plan.vents[::each]):
        yield opening, _dip_mm(plan, opening), opening.x_mm - x, opening.y_mm - y


def _dip_mm(plan: MoldPlan, opening: OpeningPlan) -> float:
    """How far an opening is carried on into the cavity: little from a straight ceiling, more from a rounded crest."""
    shape = plan.cavity.shape
    if isinstance(shape, Drawn):
        return min(BEYOND_MM, 0.3 * shape.thickness_mm)
    if not isinstance(shape, Revolved):
        return SHALLOW_MM
    radius = min(math.hypot(opening.x_mm - x, opening.y_mm - y) for x, y in plan.places)
    reach = 0.5 * opening.gate_diameter_mm
    for start, end in ((e.start, e.end) for e in shape.profile.edges if e.start.bulge == 0.0 and e.end.x < e.start.x):
        if end.x <= max(radius - reach, 0.0) and radius + reach <= start.x:
            rise = (end.y - start.y) / (start.x - end.x)
            if abs(start.y + rise * (start.x - radius) - opening.gate_z_mm) < 1e-6:
                return SHALLOW_MM + abs(rise) * reach
    return BEYOND_MM


def _rising(points: tuple[tuple[float, float], ...]) -> Path:
    """A half-section bounded by the axis and by points that run upwards."""
    return Path((Vertex(0.0, points[0][1]), *(Vertex(r, z) for r, z in points), Vertex(0.0, points[-1][1])))


# --- both ------------------------------------------------------------------------------------------------------------


def _hexagon(across_flats: float, x: float, y: float) -> list[tuple[float, float]]:
    radius = across_flats / math.sqrt(3.0)
    return [(x + radius * math.cos(math.pi * i / 3.0), y + radius * math.sin(math.pi * i / 3.0)) for i in range(6)]


def _lettered(plan: MoldPlan, which: str, plain: Body) -> Half:
    """A half with its lettering in the front."""
    letters = list(_letters(plan, which))
    return Half(kernel.engraved(plain, letters, stage="lettering") if letters else plain, plain)


def _letters(plan: MoldPlan, which: str) -> Iterable[kernel.Pocket]:
    front = -0.5 * plan.block.y_mm
    for label in plan.labels:
        if label.body == which:
            for rim, holes in _areas(label):
                yield kernel.pocket(rim, holes, LETTER_DEPTH_MM, x=label.x_mm, front_y=front, z=label.z_mm)


def _areas(label: LabelPlan) -> Iterable[tuple[Path, list[Path]]]:
    stroke = min(LETTER_STROKE_MM, label.height_mm / 5.0)
    for area in outlines(text=label.text, height_mm=label.height_mm, stroke_width_mm=stroke):
        yield polygon(area.exterior), [polygon(hole) for hole in area.holes]


def engraved_mm3(label: LabelPlan) -> float:
    """What a label takes from its half: the letters' areas times their depth."""
    areas = [rim.area - sum(hole.area for hole in holes) for rim, holes in _areas(label)]
    return LETTER_DEPTH_MM * sum(areas)
