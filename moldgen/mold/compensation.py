"""The cavity as modelled, so that what the printer makes of it measures what the mold must measure."""

from __future__ import annotations

from moldgen.printers import Printer
from moldgen.shapes import Extruded, Path, Revolved, Shape


def for_printer(shape: Shape, printer: Printer) -> Shape:
    """The shape with the printer's scale and wall offsets undone.

    A wall of a hole prints `hole_offset` inside the modelled one, a pin's `boss_offset` outside, a pocket `z_offset`
    deeper: the model gives way by as much. The bore is made by a pin, every other wall by the pocket.
    """
    hole, boss, deeper = printer.hole_offset_mm, printer.boss_offset_mm, printer.z_offset_mm
    scale = 1.0 / printer.xy_scale
    if isinstance(shape, Extruded):
        return Extruded(
            outline=shape.outline.scaled(scale).offset(hole),
            holes=tuple(path.scaled(scale).offset(-boss) for path in shape.holes),
            thickness_mm=shape.thickness_mm - deeper,
        )
    return Revolved(_compensated_profile(shape.profile.scaled(scale, 1.0), hole, boss, deeper))


def _compensated_profile(profile: Path, hole: float, boss: float, deeper: float) -> Path:
    least_r, floor, _, _ = profile.bounds
    amounts = []
    for edge in profile.edges:
        level = edge.start.bulge == 0.0 and edge.start.y == edge.end.y
        if level:
            amounts.append(-deeper if edge.start.y == floor else 0.0)
        elif edge.start.surface == "bore" or max(edge.start.x, edge.end.x) <= least_r:
            amounts.append(boss if least_r > 0.0 else 0.0)
        else:
            amounts.append(hole)
    return profile.offset_each(amounts)
