"""The part in full size, to be printed and laid on: what of it shows from above, free and in place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from moldgen.drawing.dimensions import Placing, diameter, stacked
from moldgen.drawing.model import BEYOND_MM, Box, Drawing, Item, View, line, outline
from moldgen.drawing.names import Names
from moldgen.drawing.part import title_of
from moldgen.drawing.shape_views import shape_view
from moldgen.drawing.sheet import HEIGHT_MM, Titled, below_views_mm, in_column, in_rows, sheet
from moldgen.shapes import Extruded, Revolved, Shape, circle
from moldgen.sizing import Sizing

GAP_MM: Final = 8.0
NOTES: Final = (
    "Printed at “actual size”: lay the part on its outline. First measure the 100 mm line in the margin.",
    "A casting that lies free must cover its line all round; one that does not is told by calipers, not by this.",
)


def template_drawing(*, sized: Sizing) -> Drawing | None:
    """The part's outlines at 1:1, or None where it is larger than the page."""
    views: list[Titled] = [(_from_above(sized.free_shape, "free", _names(sized, "free")), "Free, 1:1")]
    if isinstance(sized.free_shape, Revolved):
        fitted = _names(sized, "fitted")
        if set(fitted.values) >= set(sized.free):
            shape = sized.case.family.shape(sized.case.given, fitted.values)
            views.append((_from_above(shape, "fitted", fitted), "Fitted, 1:1"))
    rows = in_rows(views, gap_mm=GAP_MM)
    if rows is None:
        return None
    arranged, base = in_column(rows, gap_mm=GAP_MM), below_views_mm(NOTES) + GAP_MM
    height = base + arranged.height_mm + GAP_MM
    if height > HEIGHT_MM:
        return None
    placed = tuple(view.moved(0.0, base) for view in arranged.views)
    return sheet(title_of(sized, "Full-size template"), scale=1.0, views=placed, notes=NOTES, height_mm=height)


def _names(sized: Sizing, stage: str) -> Names:
    sizes = {"free": sized.free, "fitted": sized.fitted}[stage]
    return Names(stage, {name: size.value for name, size in sizes.items()})


def _from_above(shape: Shape, stage: str, names: Names) -> View:
    if isinstance(shape, Extruded):
        return shape_view(shape, name=stage, scale=1.0, names=names)
    return View(stage, 1.0, tuple(_rings(shape, names)))


def _rings(shape: Revolved, names: Names) -> Iterator[Item]:
    """Outer edge and bore of a turned part as it lies, with their diameters."""
    inner, _, outer, _ = shape.profile.bounds
    radii = [outer] if inner < 1e-6 else [outer, inner]
    for radius in radii:
        yield outline(circle(radius))
    reach = outer + BEYOND_MM
    yield line((-reach, 0.0), (reach, 0.0), "centre")
    yield line((0.0, -reach), (0.0, reach), "centre")
    wanted = [diameter(names.of(2.0 * radius, across=True), 0.0, radius, "below") for radius in radii]
    yield from stacked(wanted, placing=Placing(1.0), outline=Box(-outer, -outer, outer, outer))
