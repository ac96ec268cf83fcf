"""Views of a part's shape with all its dimensions: a turned part in full section, a flat one from above and the side.

The dimensions come from the shape itself, so every family has them; where the sizing has a dimension of that size, the
drawing's takes its name.
"""

from __future__ import annotations

from moldgen.drawing.flat_views import flat_items
from moldgen.drawing.model import View
from moldgen.drawing.names import Names
from moldgen.drawing.turned_views import turned_items
from moldgen.shapes import CavityShape, Drawn, Extruded, Insert, Revolved


def shape_view(
    shape: CavityShape, *, name: str, scale: float, names: Names, insert: Insert | None = None, detailed: bool = False
) -> View:
    """The shape with its dimensions, standing at the sheet's origin; radii only if no enlarged section shows them.

    A drawn one is shown by its silhouettes, as a flat one.
    """
    if isinstance(shape, Revolved):
        return View(name, scale, tuple(turned_items(shape, scale, names, insert, detailed)))
    if not isinstance(shape, Drawn):
        return View(name, scale, tuple(flat_items(shape, scale, names)))
    flat = Extruded(shape.outline, shape.holes, shape.thickness_mm)
    _, low, _, _ = shape.section.bounds
    end = None if shape.closed else shape.section.rotated(-90.0).moved(dx=-low)  # seen along a straight one
    return View(name, scale, tuple(flat_items(flat, scale, names, end)))
