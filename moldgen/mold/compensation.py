"""The cavity as modelled, so that what the printer makes of it measures what the mold must measure."""

from __future__ import annotations

from dataclasses import replace

from moldgen.mold.parting import bore_corners
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
            outline=shape.outline.offset(hole).scaled(scale),
            holes=tuple(path.offset(-boss).scaled(scale) for path in shape.holes),
            thickness_mm=shape.thickness_mm - deeper,
        )
    return Revolved(_compensated_profile(shape.profile, hole=hole, boss=boss, deeper=deeper, scale=scale))


def _compensated_profile(profile: Path, *, hole: float, boss: float, deeper: float, scale: float) -> Path:
    """Corners moved along the radius by their wall's offset, heights stretched by what the pocket prints deeper.

    Arcs keep their bulge: an edge form moves with its wall and is not swollen by the offset.
    """
    if hole == boss == deeper == 0.0 and scale == 1.0:
        return profile
    _, low, _, high = profile.bounds
    stretch = 1.0 - deeper / (high - low)
    bore = bore_corners(profile)
    return Path(
        tuple(
            replace(
                vertex,
                x=scale * vertex.x + (0.0 if vertex.x == 0.0 else -boss if i in bore else hole),
                y=high - stretch * (high - vertex.y),
            )
            for i, vertex in enumerate(profile.vertices)
        )
    )
