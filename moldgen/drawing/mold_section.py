"""A closed mold cut through sprue and vents, and pieces of that cut enlarged.

Outlines come from the finished solids, dimensions from the plan.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from moldgen.drawing.callouts import Callout, Tip, placed
from moldgen.drawing.dimensions import Linear, Placing, diameter, stacked
from moldgen.drawing.hatching import hatch_lines
from moldgen.drawing.model import (
    BEYOND_MM,
    Area,
    Box,
    Item,
    Material,
    Stroke,
    View,
    line,
    outline,
)
from moldgen.drawing.sections import CuttingPlane, Face, hatched
from moldgen.mold.plan import MoldPlan, OpeningPlan
from moldgen.shapes import Path, Point, Revolved, rectangle

if TYPE_CHECKING:
    from moldgen.mold.bodies import MoldBodies
    from moldgen.parts.kernel import Body

UPWARD: Final = (90.0, 75.0, 105.0, 60.0, 120.0, 45.0, 135.0)
DOWNWARD: Final = tuple(-angle for angle in UPWARD)


@dataclass(frozen=True, slots=True)
class ItemNumber:
    """A body of the mold in the list of items."""

    number: int
    material: Material
    words: str


def items_of(plan: MoldPlan, *, rubber: str) -> tuple[ItemNumber, ...]:
    """The mold's bodies in the order of their numbers."""
    cavity = plan.cavity
    bodies: list[tuple[Material, str]] = [("lower", "lower half"), ("upper", "upper half")]
    if cavity.core is not None:
        bodies.append(("core", "core"))
    if cavity.insert is not None:
        bodies.append(("metal", "the real metal, primed"))
    bodies.append(("rubber", f"{rubber}, with what stands in sprue and vent" if plan.sprues else rubber))
    if plan.wedge is not None:
        bodies.append(("jig", "wedge"))
    return tuple(ItemNumber(i + 1, material, words) for i, (material, words) in enumerate(bodies))


def main_plane(plan: MoldPlan) -> CuttingPlane:
    """The upright plane through the first cavity's sprue and last vent; along x where there is no such pair."""
    x, y = plan.places[0]
    if plan.cavity.turned or not (plan.sprues and plan.vents):
        return CuttingPlane(Point(x, y), 0.0)
    sprue, vent = plan.sprues[0], plan.vents[-len(plan.places)]
    angle = math.degrees(math.atan2(vent.y_mm - sprue.y_mm, vent.x_mm - sprue.x_mm))
    return CuttingPlane(Point(sprue.x_mm, sprue.y_mm), (angle + 90.0) % 180.0 - 90.0)


def on_plane(plane: CuttingPlane, openings: Sequence[OpeningPlan]) -> list[tuple[float, OpeningPlan]]:
    """The openings whose axis lies on the plane, with their places along it."""
    return [(plane.at(o.x_mm, o.y_mm), o) for o in openings if abs(plane.off(o.x_mm, o.y_mm)) < 0.01]


def _bodies(bodies: MoldBodies) -> tuple[tuple[Material, tuple[Body, ...]], ...]:
    return (
        ("lower", (bodies.plain_lower,)),
        ("upper", (bodies.plain_upper,)),
        ("core", bodies.cores),
        ("metal", bodies.inserts),
        ("rubber", (bodies.poured,)),
    )


@dataclass(frozen=True)
class Cut:
    """The finished solids cut on an upright plane; cut once, drawn at any scale and in pieces."""

    plane: CuttingPlane
    cuts: tuple[tuple[Material, tuple[Body, ...]], ...]

    @classmethod
    def of(cls, plane: CuttingPlane, plan: MoldPlan, bodies: MoldBodies) -> Cut:
        reach = plan.block.x_mm + plan.block.y_mm
        window = rectangle(-reach, -plan.block.lower_mm - 1.0, reach, plan.block.upper_mm + 1.0)
        return cls(plane, _cuts(plane, _bodies(bodies), window))

    def within(self, window: Path) -> Cut:
        return Cut(self.plane, _cuts(self.plane, self.cuts, window))

    @property
    def faces(self) -> tuple[tuple[Material, tuple[Face, ...]], ...]:
        return tuple((m, tuple(face for cut in group for face in self.plane.faces(cut))) for m, group in self.cuts)


def _cuts(
    plane: CuttingPlane, groups: tuple[tuple[Material, tuple[Body, ...]], ...], window: Path
) -> tuple[tuple[Material, tuple[Body, ...]], ...]:
    return tuple((material, tuple(plane.cut(body, window) for body in group)) for material, group in groups)


@dataclass(frozen=True)
class MainSection:
    """The cut through the first cavity's sprue and vent."""

    plan: MoldPlan
    plane: CuttingPlane
    faces: tuple[tuple[Material, tuple[Face, ...]], ...]

    def view(self, scale: float, numbers: Sequence[ItemNumber], details: Sequence[CutOut]) -> View:
        """Section A–A with its dimensions and item numbers; its origin is on the parting plane."""
        plan, at = self.plan, Placing(scale)
        items: list[Item] = [item for material, faces in self.faces for item in hatched(faces, material, scale)]
        xs = [x for _, faces in self.faces for face in faces for x in face[0].bounds[::2]]
        low, high = min(xs), max(xs)
        block = plan.block
        box = Box(low * scale, -block.lower_mm * scale, high * scale, block.upper_mm * scale)
        for level in (box.y0, box.y1):  # the rims of holes behind the cut
            items.append(line((box.x0, level), (box.x1, level), "outline"))
        items += self._axes(scale)
        items += stacked([*self._heights(low, high), *self._cavity(), *self._openings()], placing=at, outline=box)
        marked = [cut for cut in details if cut.plane == self.plane]
        items += [cut.marked(scale) for cut in marked]
        callouts = [cut.lettered(scale) for cut in marked]
        callouts += [self._numbered(number, items) for number in numbers if number.material != "jig"]
        return View("A-A", scale, (*items, *placed(callouts, among=items)))

    def _axes(self, scale: float) -> Iterator[Item]:
        plan = self.plan
        lows = -plan.block.lower_mm * scale - BEYOND_MM, plan.block.upper_mm * scale + BEYOND_MM
        if plan.cavity.turned:
            for x, y in plan.places:
                if abs(self.plane.off(x, y)) < 0.01:
                    along = self.plane.at(x, y) * scale
                    yield line((along, lows[0]), (along, lows[1]), "centre")
        for along, opening in on_plane(self.plane, (*plan.sprues, *plan.vents)):
            yield line((along * scale, opening.gate_z_mm * scale - BEYOND_MM), (along * scale, lows[1]), "centre")

    def _heights(self, low: float, high: float) -> Iterator[Linear]:
        plan, block = self.plan, self.plan.block
        yield Linear("plan.block.lower_mm", Point(low, -block.lower_mm), Point(low, 0.0), "left")
        yield Linear("plan.block.upper_mm", Point(low, 0.0), Point(low, block.upper_mm), "left")
        x0, _, x1, _ = plan.cavity.footprint.bounds
        rim = x1 if plan.cavity.turned else 0.5 * (x0 + x1)
        yield Linear("plan.cavity.below_mm", Point(rim, -plan.cavity.below_mm), Point(high, 0.0), "right")
        if plan.cavity.above_mm > 0.0:
            yield Linear("plan.cavity.above_mm", Point(high, 0.0), Point(rim, plan.cavity.above_mm), "right")

    def _cavity(self) -> Iterator[Linear]:
        """Outside and bore of a turned cavity as modelled."""
        shape = self.plan.cavity.shape
        if not isinstance(shape, Revolved):
            return
        inner, low, outer, _ = shape.profile.bounds
        yield diameter("plan.cavity.outer_diameter_mm", low, outer, "below")
        if inner > 0.0:
            yield diameter("plan.cavity.inner_diameter_mm", low, inner, "below")

    def _openings(self) -> Iterator[Linear]:
        """Mouths, and on a turned cavity how far from the axis gates and vents stand."""
        plan, count = self.plan, len(self.plan.places)
        for kind, group in (("sprue", plan.sprues[:1]), ("vent", plan.vents[::count])):
            for along, opening in on_plane(self.plane, group):
                mouth = max(opening.mouth_diameter_mm, opening.funnel_diameter_mm)
                which = "funnel" if opening.funnel_diameter_mm >= opening.mouth_diameter_mm else "mouth"
                name = f"plan.{kind}.{which}_diameter_mm"
                yield diameter(name, opening.top_z_mm, 0.5 * mouth, "above", along)
                if plan.cavity.turned and abs(along) > 0.01:
                    top = opening.top_z_mm
                    yield Linear(f"plan.{kind}.radius_mm", Point(0.0, top), Point(along, top), "above")

    def _numbered(self, number: ItemNumber, items: Sequence[Item]) -> Callout:
        """The number, pointing into the longest stretches of its body's hatching."""
        stretches = sorted(
            (
                pair
                for item in items
                if isinstance(item, Area) and item.material == number.material
                for pair in hatch_lines(item)
            ),
            key=lambda pair: -round(math.hypot(pair[1].x - pair[0].x, pair[1].y - pair[0].y), 3),
        )[:12:2]
        directions = {"lower": DOWNWARD, "upper": UPWARD}.get(number.material, (*DOWNWARD, *UPWARD))
        tips = tuple(Tip(Point(0.5 * (a.x + b.x), 0.5 * (a.y + b.y)), directions) for a, b in stretches)
        return Callout("item", tips, str(number.number))


# --- enlarged cut-outs -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class CutOut:
    """A piece of a section, to be enlarged."""

    letter: str
    plane: CuttingPlane
    window: Path
    """An upright rectangle in the plane's own frame."""
    faces: tuple[tuple[Material, tuple[Face, ...]], ...]
    wanted: tuple[Linear, ...]

    @property
    def size(self) -> float:
        x0, y0, x1, y1 = self.window.bounds
        return max(x1 - x0, y1 - y0)

    def view(self, scale: float) -> View:
        """The cut-out with its dimensions, where it lies on the plane."""
        items: list[Item] = [
            item for material, faces in self.faces for item in hatched(faces, material, scale, window=self.window)
        ]
        frame = self.window.scaled(scale)
        items.append(outline(frame, "thin"))
        items += stacked(self.wanted, placing=Placing(scale), outline=Box(*frame.bounds))
        return View(self.letter, scale, tuple(items))

    def marked(self, scale: float) -> Stroke:
        """The frame that marks it in the main section."""
        return outline(self.window.scaled(scale), "thin")

    def lettered(self, scale: float) -> Callout:
        """Its letter, beside that frame."""
        x0, y0, x1, y1 = self.window.scaled(scale).bounds
        tips = tuple(
            Tip(Point(x, y), (angle,))
            for x, y, angle in ((x1, y0, -45.0), (x1, y1, 45.0), (x0, y0, -135.0), (x0, y1, 135.0))
        )
        return Callout("letter", tips, self.letter)


def cut_outs(plan: MoldPlan, bodies: MoldBodies, main: Cut) -> tuple[CutOut, ...]:
    """The gate, and the land and channel that seal, with the vent where it stands near."""
    plane, out = main.plane, []
    sprues, vents = on_plane(plane, plan.sprues[:1]), on_plane(plane, plan.vents)
    if sprues:
        out.append(_gate_cut_out("X", "sprue", main, *sprues[0]))
    seal, (seal_plane, edge) = plan.seal, _seal_place(plan)
    near, far = edge - 0.8, edge + seal.land_mm + seal.channel_width_mm + 0.8
    low, high = -seal.channel_depth_mm - 0.8, 1.0
    wanted = _seal(plan, edge)
    beside = [(along, vent) for along, vent in vents if plan.cavity.turned and 0.0 < edge - along < 4.0]
    beside = [one for one in beside if abs(one[1].gate_z_mm) < 1.0]
    if beside:
        along, vent = beside[-1]
        near = along - 0.5 * vent.gate_diameter_mm - 0.8
        high = vent.gate_z_mm + vent.land_mm + 0.8
        wanted += _gate("vent", along, vent, "left")
    across = main if seal_plane == plane else Cut.of(seal_plane, plan, bodies)
    out.append(_cut_out("Y" if out else "X", across, rectangle(near, low, far, high), wanted))
    if vents and not beside:
        out.append(_gate_cut_out("Z", "vent", main, *vents[-1]))
    return tuple(out)


def _gate_cut_out(letter: str, kind: str, cut: Cut, along: float, opening: OpeningPlan) -> CutOut:
    half, gate = 0.5 * opening.gate_diameter_mm + 1.2, opening.gate_z_mm
    window = rectangle(along - half, gate - 1.2, along + half, gate + opening.land_mm + 1.2)
    return _cut_out(letter, cut, window, _gate(kind, along, opening, "right"))


def _cut_out(letter: str, cut: Cut, window: Path, wanted: tuple[Linear, ...]) -> CutOut:
    return CutOut(letter, cut.plane, window, cut.within(window).faces, wanted)


def _seal_place(plan: MoldPlan) -> tuple[CuttingPlane, float]:
    """A plane along x through the farthest point of the row's last footprint, where land and channel are cut square,
    and that point's place along it."""
    first = plan.places[0]
    last = max((place for place in plan.places if abs(place[1] - first[1]) < 1e-6), key=lambda place: place[0])
    _, _, reach, _ = plan.cavity.footprint.bounds
    points = plan.cavity.footprint.points(0.001)
    farthest = [p.y for p in points if p.x > reach - 0.01]
    beside = 0.0 if plan.cavity.turned else 0.5 * (min(farthest) + max(farthest))
    return CuttingPlane(Point(first[0], last[1] + beside), 0.0), last[0] - first[0] + reach


def _gate(kind: str, along: float, opening: OpeningPlan, side: Literal["left", "right"]) -> tuple[Linear, ...]:
    half = 0.5 * opening.gate_diameter_mm
    gate, land = opening.gate_z_mm, opening.gate_z_mm + opening.land_mm
    edge = along + half if side == "right" else along - half
    return (
        diameter(f"plan.{kind}.gate_diameter_mm", land, half, "above", along),
        Linear(f"plan.{kind}.land_mm", Point(edge, gate), Point(edge, land), side),
    )


def _seal(plan: MoldPlan, edge: float) -> tuple[Linear, ...]:
    seal = plan.seal
    land = edge + seal.land_mm
    far = land + seal.channel_width_mm
    return (
        Linear("plan.seal.land_mm", Point(edge, 0.0), Point(land, 0.0), "below"),
        Linear(
            "plan.seal.channel_width_mm",
            Point(land, -seal.channel_depth_mm),
            Point(far, -seal.channel_depth_mm),
            "below",
        ),
        Linear("plan.seal.channel_depth_mm", Point(far, -seal.channel_depth_mm), Point(far, 0.0), "right"),
        Linear("plan.seal.relief_mm", Point(far, -seal.relief_mm), Point(far, 0.0), "right"),
    )
