"""The part's drawing: as it leaves the mold and as it is in place, side by side."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from moldgen.drawing.letters import ratio
from moldgen.drawing.model import Drawing, View
from moldgen.drawing.shape_views import Names, enlarged_section, shape_view
from moldgen.drawing.sheet import (
    SCALES,
    Arranged,
    Title,
    below_views_mm,
    entitled,
    in_column,
    in_row,
    largest,
    sheet,
)
from moldgen.shapes import Revolved, Shape
from moldgen.sizing import Sizing

TALLEST_MM: Final = 130.0
"""Height that the views take at most, so that a small ring is not blown up to the whole sheet."""
GAP_MM: Final = 8.0
SPECK_MM: Final = 6.0
"""Least size on the sheet of a cut face that carries its own dimensions."""
DETAIL_MM: Final = 30.0


def part_drawing(*, sized: Sizing) -> Drawing:
    """The part free and fitted, with every dimension of its shape; flat parts from above and from the side."""
    free, fitted = _values(sized.free), _values(sized.fitted)
    shapes = [("free", "Free: as it leaves the mold", sized.free_shape, free)]
    if set(free) <= set(fitted) and any(abs(fitted[name] - free[name]) > 1e-9 for name in free):
        in_place = sized.case.family.shape(sized.case.given, fitted)
        shapes.append(("fitted", "Fitted: finished and in place", in_place, fitted))
    shapes.append(("mold", "Mold: what the cavity must measure", sized.mold_shape, _values(sized.mold)))
    notes = _notes(sized.free_shape)

    def compose(scale: float) -> Arranged | None:
        detail = _detail(sized, free, scale)
        views = [
            (
                shape_view(
                    shape,
                    name=stage,
                    scale=scale,
                    names=Names(stage, values),
                    insert=sized.insert,
                    detailed=detail is not None,
                ),
                title,
            )
            for stage, title, shape, values in shapes
        ]
        views += [detail] if detail else []
        if (row := in_row(entitled(views), gap_mm=GAP_MM)) is not None:
            return row
        rows = [in_row(entitled([view]), gap_mm=0.0) for view in views]
        return None if None in rows else in_column([row for row in rows if row is not None], gap_mm=GAP_MM)

    base = below_views_mm(notes) + GAP_MM
    scale, arranged = largest(compose, room_mm=TALLEST_MM)
    views = tuple(view.moved(0.0, base) for view in arranged.views)
    return sheet(
        title_of(sized, "Part"), scale=scale, views=views, notes=notes, height_mm=base + arranged.height_mm + GAP_MM
    )


def _detail(sized: Sizing, free: Mapping[str, float], scale: float) -> tuple[View, str] | None:
    """The free section enlarged, where a thin ring's own would be a speck."""
    shape = sized.free_shape
    if not isinstance(shape, Revolved):
        return None
    inner, low, outer, high = shape.profile.bounds
    size = max(outer - inner, high - low)
    if min(outer - inner, high - low) * scale >= SPECK_MM:
        return None
    larger = next((s for s in SCALES if s * size <= DETAIL_MM), SCALES[-1])
    if larger <= scale:
        return None
    view = enlarged_section(shape, name="section", scale=larger, names=Names("free", free))
    inner_sheet = inner * larger  # the face itself to the level of the axis of the other views
    return view.moved(0.0, -inner_sheet - 0.5 * (outer - inner) * larger), f"Section, {ratio(larger)}"


def _values(stage: Mapping[str, object]) -> dict[str, float]:
    return {name: uncertain.value for name, uncertain in stage.items()}  # type: ignore[attr-defined]


def _notes(shape: Shape) -> tuple[str, ...]:
    running = isinstance(shape, Revolved) and any(v.surface == "running" for v in shape.profile.vertices)
    mark = ("Thick dash-dotted: running surface, no flash, gate or vent on it.",) if running else ()
    return (*mark, "Nominal sizes; what the readings leave open of each stands on the job sheet.")


def title_of(sized: Sizing, what: str) -> Title:
    case = sized.case
    return Title(
        case.name,
        what,
        f"{case.elastomer.id}, {case.elastomer.label}",
        case.spec.machine or "",
        case.spec.mold.revision,
    )
