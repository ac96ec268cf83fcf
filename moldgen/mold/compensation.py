"""The cavity as modelled, so that what the printer makes of it measures what the mold must measure."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from moldgen.mold.parting import TOUCH_MM, bore_corners
from moldgen.printers import Printer
from moldgen.shapes import Edge, Extruded, Path, Point, Revolved, Shape, Vertex

ROUNDING_MM: Final = 1e-9


def for_printer(shape: Shape, printer: Printer, *, on_metal: bool = False, above_mm: float = 0.0) -> Shape:
    """The shape with the printer's scale and wall offsets undone.

    A wall of a hole prints `hole_offset` inside the modelled one, a pin's `boss_offset` outside, a pocket `z_offset`
    deeper: the model gives way by as much. A turned part of which `above_mm` lie over the parting is made by two
    pockets, each of which prints deeper; the parting keeps its height. The bore is made by a pin, every other wall by
    the pocket; of a part that is cast `on_metal` nobody prints the bore, so that only the scale is undone there, in
    which all is drawn.
    """
    hole, deeper = printer.hole_offset_mm, printer.z_offset_mm
    boss = 0.0 if on_metal else printer.boss_offset_mm
    scale = 1.0 / printer.xy_scale
    if isinstance(shape, Extruded):
        return Extruded(
            outline=shape.outline.scaled(scale).offset(hole),
            holes=tuple(path.scaled(scale).offset(-boss) for path in shape.holes),
            thickness_mm=shape.thickness_mm - deeper,
        )
    outline = shape.profile
    if deeper != 0.0 and above_mm > 0.0:
        outline = _with_corners_at(outline, outline.bounds[3] - above_mm)
    moved = _compensated_profile(outline, hole=hole, boss=boss, deeper=deeper, scale=scale, above_mm=above_mm)
    return Revolved(moved)


def in_halves(profile: Path, above_mm: float, *, printer: Printer, on_metal: bool = False) -> Path | None:
    """The half-section of which `above_mm` lie over the parting with the printer undone in each half, if it can be.

    A half that prints deeper by as much as the part stands in it cannot be drawn.
    """
    if 0.0 < above_mm <= 2.0 * printer.z_offset_mm:
        return None
    shape = for_printer(Revolved(profile), printer, on_metal=on_metal, above_mm=above_mm)
    assert isinstance(shape, Revolved)
    return shape.profile


def _compensated_profile(
    profile: Path, *, hole: float, boss: float, deeper: float, scale: float, above_mm: float
) -> Path:
    """Walls moved along the radius by their offset, heights stretched by what each half's pocket prints deeper.

    An edge form moves with its walls and is not swollen by the offset.
    """
    if hole == boss == deeper == 0.0 and scale == 1.0:
        return profile
    _, low, _, high = profile.bounds
    level = high - above_mm
    below = 1.0 - deeper / (level - low)
    above = 1.0 - deeper / above_mm if above_mm > 0.0 else below
    shifts = _wall_shifts(profile, hole=hole, boss=boss)

    def moved(x: float, y: float, shift: float) -> Point:
        return Point(scale * x + shift, level + (above if y > level else below) * (y - level))

    corners = [moved(v.x, v.y, shift[0]) for v, shift in zip(profile.vertices, shifts, strict=True)]
    out = []
    for i, edge in enumerate(profile.edges):
        here, there = corners[i], corners[(i + 1) % len(corners)]
        middle = moved(*edge.middle, shifts[i][1])
        after = Edge(replace(edge.start, x=here.x, y=here.y, bulge=0.0), Vertex(there.x, there.y))
        out.append(replace(after.start, bulge=_bulge(edge, after, middle)))
    return Path(tuple(out))


def _with_corners_at(profile: Path, height: float) -> Path:
    """The profile with a corner wherever it passes through a height."""
    out: list[Vertex] = []
    for edge in profile.edges:
        a, b = edge.start, edge.end
        out += edge.arcs_parted_at(height)
        if a.bulge == 0.0 and (a.y - height) * (b.y - height) < 0.0:
            out.append(replace(a, x=a.x + (height - a.y) / (b.y - a.y) * (b.x - a.x), y=height))
    return Path(tuple(out))


def _wall_shifts(profile: Path, *, hole: float, boss: float) -> list[tuple[float, float]]:
    """How far outwards each corner and the middle of the edge behind it go, their walls being moved by the offsets.

    The bore goes in by the pin's, all else out by the hole's; on the axis there is no wall. A round section has no end
    faces to tell its walls apart: there it is the more, the nearer to the innermost and the outermost line. So it ought
    to become an ellipse; the few arcs that it has come within 10 µm of one.
    """
    inner, _, outer, _ = profile.bounds
    bore = bore_corners(profile)
    if not bore and inner > TOUCH_MM:
        centre, half = 0.5 * (inner + outer), 0.5 * (outer - inner)

        def at(x: float) -> float:
            return (x - centre) / half * (hole if x > centre else boss)

        return [(at(edge.start.x), at(edge.middle.x)) for edge in profile.edges]
    own = [0.0 if v.x == 0.0 else -boss if i in bore else hole for i, v in enumerate(profile.vertices)]
    return [(a, 0.5 * (a + b)) for a, b in zip(own, (*own[1:], own[0]), strict=True)]


def _bulge(before: Edge, after: Edge, middle: Point) -> float:
    """The bulge with which a moved edge goes through its own moved middle, less where it would leave its corner.

    Where the ends of an arc moved by different amounts its chord has turned, and one that ran out level into an end
    face would rise over it by some nanometres: no flat lid could close the mold. Then what the chord has turned is
    taken off the arc at both ends.
    """
    bulge = before.start.bulge
    if bulge == 0.0:
        return 0.0
    (ax, ay), (bx, by) = _along(before), _along(after)
    through = 2.0 * ((middle.x - after.start.x) * by - (middle.y - after.start.y) * bx) / after.chord**2
    if _leaves_corner(before) or not _leaves_corner(Edge(replace(after.start, bulge=through), after.end)):
        return through
    turned = abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
    return math.copysign(math.tan(max(math.atan(abs(bulge)) - 0.5 * turned, 0.0)), bulge)


def _along(edge: Edge) -> tuple[float, float]:
    return edge.end.x - edge.start.x, edge.end.y - edge.start.y


def _leaves_corner(edge: Edge) -> bool:
    """Whether an arc reaches beyond the upright rectangle that its ends span."""
    ends = Path((replace(edge.start, bulge=0.0), replace(edge.end, bulge=0.0)))
    arc = Path((edge.start, replace(edge.end, bulge=0.0)))
    return any(abs(a - b) > ROUNDING_MM for a, b in zip(arc.bounds, ends.bounds, strict=True))
