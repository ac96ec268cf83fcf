"""A mold's lower half from above, and the closed mold on its wedge as it stands to be filled."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from moldgen.drawing.callouts import Callout, Tip, placed
from moldgen.drawing.dimensions import Linear, Placing, angular, stacked
from moldgen.drawing.letters import written
from moldgen.drawing.model import Area, Arrow, Box, Item, Stroke, Text, View, box_round, line, outline
from moldgen.drawing.mold_section import DOWNWARD, UPWARD
from moldgen.drawing.sections import CuttingPlane, Face, level_faces
from moldgen.mold.plan import MoldPlan
from moldgen.shapes import Path, Point, Vertex, circle, rectangle

if TYPE_CHECKING:
    from moldgen.mold.bodies import MoldBodies

ALL_ROUND: Final = (45.0, 135.0, -45.0, -135.0, 60.0, 120.0, -60.0, -120.0)
UNDER_PARTING_MM: Final = 0.001
"""How far below a surface it is cut to be seen from above: clear of it, and nothing on the sheet."""


@dataclass(frozen=True)
class FromAbove:
    """The lower half, open, seen from above."""

    plan: MoldPlan
    faces: tuple[Face, ...]

    @classmethod
    def of(cls, plan: MoldPlan, bodies: MoldBodies) -> FromAbove:
        """Its faces just below the lands and, for what the relief has set back, just below the relief."""
        at_lands = level_faces(bodies.plain_lower, z_mm=-UNDER_PARTING_MM)
        set_back = level_faces(bodies.plain_lower, z_mm=-plan.seal.relief_mm - UNDER_PARTING_MM)
        return cls(plan, (*at_lands, *set_back[:1]))

    def view(self, scale: float, plane: CuttingPlane) -> View:
        plan, block, at = self.plan, self.plan.block, Placing(scale)
        items: list[Item] = [outline(path.scaled(scale)) for face in self.faces for path in face]
        half_x, half_y = 0.5 * block.x_mm, 0.5 * block.y_mm
        items += self._fixings(scale)
        for opening in (*plan.sprues, *plan.vents):
            ring = circle(0.5 * opening.gate_diameter_mm, opening.x_mm, opening.y_mm)
            items.append(outline(ring.scaled(scale), "thin"))
        trace = list(self._cutting_line(plane, scale))
        items += trace
        rim = (Point(-half_x * scale, -half_y * scale), Point(half_x * scale, half_y * scale))
        box = box_round((*rim, *(point for item in trace for point in item.extent())))
        items += stacked(self._wanted(), placing=at, outline=box)
        return View("plan", scale, (*items, *placed(self._callouts(scale), among=items)))

    def _fixings(self, scale: float) -> Iterator[Item]:
        plan = self.plan
        for key in plan.keys:
            for size in (key.base_diameter_mm, key.tip_diameter_mm):
                yield outline(circle(0.5 * size, key.x_mm, key.y_mm).scaled(scale))
            yield from _crossed(key.x_mm * scale, key.y_mm * scale, 0.5 * key.base_diameter_mm * scale)
        for screw in plan.screws:
            yield outline(_hexagon(screw.screw.nut_flats_mm, screw.x_mm, screw.y_mm).scaled(scale), "hidden")
            yield from _crossed(screw.x_mm * scale, screw.y_mm * scale, 0.6 * screw.screw.nut_flats_mm * scale)
        if plan.cavity.turned:
            for x, y in plan.places:
                yield from _crossed(x * scale, y * scale, plan.cavity.footprint.bounds[2] * scale)

    def _wanted(self) -> Iterator[Linear]:
        plan, block = self.plan, self.plan.block
        half_x, half_y = 0.5 * block.x_mm, 0.5 * block.y_mm
        yield Linear("plan.block.x_mm", Point(-half_x, -half_y), Point(half_x, -half_y), "below")
        yield Linear("plan.block.y_mm", Point(-half_x, -half_y), Point(-half_x, half_y), "left")
        for key in plan.keys[:1]:
            yield Linear("plan.key.y_mm", Point(half_x, 0.0), Point(-key.x_mm, key.y_mm), "right")
        if plan.keys:
            xs = [key.x_mm for key in plan.keys]
            y = plan.keys[0].y_mm
            yield Linear("plan.keys.pitch_x_mm", Point(min(xs), y), Point(max(xs), y), "above")
        if plan.screws:
            xs, ys = [s.x_mm for s in plan.screws], [s.y_mm for s in plan.screws]
            yield Linear("plan.screws.pitch_y_mm", Point(max(xs), min(ys)), Point(max(xs), max(ys)), "right")
            if not plan.keys or abs(max(xs) - max(k.x_mm for k in plan.keys)) > 1e-6:
                yield Linear("plan.screws.pitch_x_mm", Point(min(xs), max(ys)), Point(max(xs), max(ys)), "above")
        columns, rows = ({round(place[i], 6) for place in plan.places} for i in (0, 1))
        for axis, steps in ((0, sorted(columns)), (1, sorted(rows))):
            if len(steps) > 1:
                start, end = steps[:2]
                other = plan.places[0][1 - axis]
                ends = (
                    (Point(start, other), Point(end, other)) if axis == 0 else (Point(other, start), Point(other, end))
                )
                yield Linear(f"plan.pitch_{'xy'[axis]}_mm", *ends, "below" if axis == 0 else "left")

    def _callouts(self, scale: float) -> Iterator[Callout]:
        plan = self.plan
        if plan.screws:
            hole = plan.screws[0]
            tips = _tips([(s.x_mm, s.y_mm) for s in plan.screws], 0.5 * hole.screw.hole_mm, scale)
            yield Callout("note", tips, f"{len(plan.screws)}× Ø{written(hole.screw.hole_mm)} for {hole.screw.size}")
        if plan.keys:
            key = plan.keys[0]
            sizes = f"Ø{written(key.base_diameter_mm)}/Ø{written(key.tip_diameter_mm)} × {written(key.height_mm)}"
            tips = _tips([(k.x_mm, k.y_mm) for k in plan.keys], 0.5 * key.base_diameter_mm, scale)
            yield Callout("note", tips, f"{len(plan.keys)} keys {sizes}")

    def _cutting_line(self, plane: CuttingPlane, scale: float) -> Iterator[Item]:
        """The cutting plane's trace with thick ends, arrows that show where it is seen from, and its letter."""
        c, s = math.cos(math.radians(plane.along_deg)), math.sin(math.radians(plane.along_deg))
        start, end = _across_block(plane, self.plan)
        length = math.hypot(end.x - start.x, end.y - start.y) * scale
        x0, y0 = start.x * scale, start.y * scale
        for along, way in ((-4.0, 1.0), (length + 4.0, -1.0)):
            foot = Point(x0 + along * c, y0 + along * s)
            inner = Point(foot.x + way * 5.0 * c, foot.y + way * 5.0 * s)
            yield Stroke((Vertex(*foot), Vertex(*inner)), "outline")
            tail = Point(foot.x - 6.0 * s, foot.y + 6.0 * c)
            yield line(foot, tail, "thin")
            yield Arrow(Point(tail.x - 1.0 * s, tail.y + 1.0 * c), plane.along_deg + 90.0, 3.5)
            # Beside the arrow, level with its middle where it can be: below or above it the drawing would grow.
            aside = Point(math.copysign(2.6 + 2.0 * abs(s), c), 0.0) if abs(c) > 0.5 else Point(3.4 * c, 3.4 * s)
            middle = Point(foot.x - way * aside.x - 3.8 * s, foot.y - way * aside.y + 3.8 * c)
            yield Text("A", Point(middle.x, middle.y - 0.5 * 3.5), 3.5, "middle", bold=True)
        yield line((x0 + c, y0 + s), (x0 + (length - 1.0) * c, y0 + (length - 1.0) * s), "cutting")


def _across_block(plane: CuttingPlane, plan: MoldPlan) -> tuple[Point, Point]:
    """Where the plane enters and leaves the block, seen from above."""
    c, s = math.cos(math.radians(plane.along_deg)), math.sin(math.radians(plane.along_deg))
    low, high = -math.inf, math.inf
    for start, step, half in ((plane.through.x, c, 0.5 * plan.block.x_mm), (plane.through.y, s, 0.5 * plan.block.y_mm)):
        if abs(step) > 1e-9:
            a, b = sorted(((-half - start) / step, (half - start) / step))
            low, high = max(low, a), min(high, b)
    return (
        Point(plane.through.x + low * c, plane.through.y + low * s),
        Point(plane.through.x + high * c, plane.through.y + high * s),
    )


def _tips(places: Sequence[tuple[float, float]], radius: float, scale: float) -> tuple[Tip, ...]:
    out = []
    for x, y in places:
        for angle in ALL_ROUND:
            turn = math.radians(angle)
            out.append(
                Tip(Point((x + radius * math.cos(turn)) * scale, (y + radius * math.sin(turn)) * scale), (angle,))
            )
    return tuple(out)


def _crossed(x: float, y: float, reach: float) -> Iterator[Item]:
    far = reach + 2.0
    yield line((x - far, y), (x + far, y), "centre")
    yield line((x, y - far), (x, y + far), "centre")


def _hexagon(flats: float, x: float, y: float) -> Path:
    reach = flats / math.sqrt(3.0)
    return Path(
        tuple(
            Vertex(x + reach * math.cos(math.pi * i / 3.0), y + reach * math.sin(math.pi * i / 3.0)) for i in range(6)
        )
    )


@dataclass(frozen=True)
class Standing:
    """The closed mold on its wedge, seen from the front."""

    plan: MoldPlan
    wedge: Face

    @classmethod
    def of(cls, plan: MoldPlan, bodies: MoldBodies) -> Standing | None:
        if plan.wedge is None or bodies.wedge is None:
            return None
        # Cut near its front, where the frame is whole from end to end.
        front = CuttingPlane(Point(0.0, -0.5 * plan.wedge.width_mm + 1.0), 0.0)
        reach = plan.wedge.length_mm
        return cls(plan, front.faces(front.cut(bodies.wedge, rectangle(-reach, -1.0, reach, reach)))[0])

    def view(self, scale: float, number: int) -> View:
        wedge, block = self.plan.wedge, self.plan.block
        assert wedge is not None
        rim = self.wedge[0].scaled(scale)
        items: list[Item] = [Area(rim, (), "jig"), outline(rim)]
        tilt = math.radians(wedge.tilt_deg)
        c, s = math.cos(tilt), math.sin(tilt)
        corner = Point(-0.5 * wedge.length_mm, wedge.thin_mm)

        def on_mold(x: float, z: float) -> Point:
            along, up = x + 0.5 * block.x_mm, z + block.lower_mm
            return Point((corner.x + along * c - up * s) * scale, (corner.y + along * s + up * c) * scale)

        half = 0.5 * block.x_mm
        corners = [(-half, -block.lower_mm), (half, -block.lower_mm), (half, block.upper_mm), (-half, block.upper_mm)]
        items.append(outline(Path(tuple(Vertex(*on_mold(x, z)) for x, z in corners))))
        items.append(line(on_mold(-half, 0.0), on_mold(half, 0.0), "outline"))
        items += self._filled(on_mold, scale)
        foot, end = on_mold(-half, -block.lower_mm), on_mold(half, -block.lower_mm)
        reach = math.hypot(end.x - foot.x, end.y - foot.y) + 9.0
        items.append(line(end, (foot.x + (reach + 2.0) * c, foot.y + (reach + 2.0) * s), "thin"))
        items.append(
            angular(
                "plan.attitude.tilt_deg",
                corner=foot,
                radius_mm=reach,
                from_deg=0.0,
                to_deg=wedge.tilt_deg,
                value_deg=wedge.tilt_deg,
                scale=scale,
            )
        )
        box = Box(*rim.bounds)
        ends = Point(-0.5 * wedge.length_mm, 0.0), Point(-0.5 * wedge.length_mm, wedge.thin_mm)
        items += stacked([Linear("plan.wedge.thin_mm", *ends, "left")], placing=Placing(scale), outline=box)
        low = Point(0.25 * rim.bounds[2], 0.35 * (rim.bounds[3]))
        full = next(item.vertices[-1] for item in items if isinstance(item, Stroke) and item.kind == "phantom")
        callouts = [
            Callout("item", (Tip(low, DOWNWARD),), str(number)),
            Callout("note", (Tip(Point(full.x - 1.0, full.y), UPWARD),), "full to here"),
        ]
        items += placed(callouts, among=items)
        return View("standing", scale, tuple(items))

    def _filled(self, on_mold: Callable[[float, float], Point], scale: float) -> Iterator[Item]:
        """Sprue and vent behind the front, and the level up to which the rubber stands."""
        plan, count = self.plan, len(self.plan.places)
        for opening in (*plan.sprues[:1], *plan.vents[::count]):
            profile = opening.profile(dip_mm=0.0, beyond_mm=0.0)
            for sign in (1.0, -1.0):
                yield Stroke(tuple(Vertex(*on_mold(opening.x_mm + sign * r, z)) for r, z in profile), "hidden")
        for sprue in plan.sprues[:1]:
            mouth = 0.5 * max(sprue.funnel_diameter_mm, sprue.mouth_diameter_mm)
            lip = on_mold(sprue.x_mm - mouth, sprue.top_z_mm)
            left = on_mold(-0.5 * plan.block.x_mm, plan.block.upper_mm)
            right = on_mold(0.5 * plan.block.x_mm, plan.block.upper_mm)
            yield line((left.x - 2.0, lip.y), (right.x + 2.0, lip.y), "phantom")
