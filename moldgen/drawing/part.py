"""The part's drawing: as it leaves the mold and as it is in place, side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from moldgen.drawing.letters import ratio
from moldgen.drawing.model import Drawing, Text, View
from moldgen.drawing.names import Names
from moldgen.drawing.shape_views import shape_view
from moldgen.drawing.sheet import (
    HEIGHT_MM,
    NOTE_MM,
    NOTE_PITCH_MM,
    SCALES,
    Arranged,
    Title,
    Titled,
    below_views_mm,
    in_column,
    in_rows,
    largest,
    sheet,
    wrapped,
)
from moldgen.drawing.turned_views import enlarged_section
from moldgen.shapes import Point, Revolved, Shape
from moldgen.sizing import Sizing
from moldgen.uncertainty import Uncertain

LARGEST_MM: Final = 130.0
"""Size on the sheet up to which a part is enlarged."""
GAP_MM: Final = 8.0
SPECK_MM: Final = 6.0
"""Least size on the sheet of a cut face that carries its own dimensions."""
DETAIL_MM: Final = 30.0


def part_drawing(*, sized: Sizing) -> Drawing:
    """The part free and fitted, with every dimension of its shape; flat parts from above and from the side."""
    free, fitted = _values(sized.free), _values(sized.fitted)
    shapes = [("free", "Free", sized.free_shape, free)]
    if set(free) <= set(fitted) and any(abs(fitted[name] - free[name]) > 1e-9 for name in free):
        in_place = sized.case.family.shape(sized.case.given, fitted)
        shapes.append(("fitted", "Fitted", in_place, fitted))
    shapes.append(("mold", "Mold", sized.mold_shape, _values(sized.mold)))
    notes = _notes(sized.free_shape)

    def compose(scale: float) -> Arranged | None:
        views: list[Titled] = []
        section: list[Titled] = []
        for stage, title, shape, values in shapes:
            names = Names(stage, values)
            larger = _larger(shape, scale)
            view = shape_view(
                shape, name=stage, scale=scale, names=names, insert=sized.insert, detailed=larger is not None
            )
            shown = view.dimensions
            if stage == "free" and larger is not None and isinstance(shape, Revolved):
                enlarged = _section(shape, larger, names)
                section.append((enlarged, f"Section, {ratio(larger)}"))
                shown += enlarged.dimensions
            views.append((_with_words(view, names.not_shown([d.value for d in shown])), title))
        rows = in_rows([*views, *section], gap_mm=GAP_MM)
        return None if rows is None else in_column(rows, gap_mm=GAP_MM)

    base = below_views_mm(notes) + GAP_MM
    size = max(max(*shape.plan_size_mm, shape.height_mm) for _, _, shape, _ in shapes)
    most = next((scale for scale in SCALES if scale * size <= LARGEST_MM), SCALES[-1])
    scale, arranged = largest(compose, room_mm=HEIGHT_MM - base - GAP_MM, most=most)
    views = tuple(view.moved(0.0, base) for view in arranged.views)
    return sheet(
        title_of(sized, "Part"), scale=scale, views=views, notes=notes, height_mm=base + arranged.height_mm + GAP_MM
    )


def _larger(shape: Shape, scale: float) -> float | None:
    """The scale at which a thin ring's section is shown by itself, where it would be a speck at the main one."""
    if not isinstance(shape, Revolved):
        return None
    inner, low, outer, high = shape.profile.bounds
    if min(outer - inner, high - low) * scale >= SPECK_MM:
        return None
    larger = next((s for s in SCALES if s * max(outer - inner, high - low) <= DETAIL_MM), SCALES[-1])
    return larger if larger > scale else None


def _section(shape: Revolved, scale: float, names: Names) -> View:
    """The enlarged section, its middle at the level of the other views' axis."""
    inner, _, outer, _ = shape.profile.bounds
    view = enlarged_section(shape, name="section", scale=scale, names=names)
    return view.moved(0.0, -0.5 * (inner + outer) * scale)


def _with_words(view: View, words: tuple[str, ...]) -> View:
    """The view with what it does not show written under it."""
    box = view.box
    rows = wrapped(words, room_mm=max(50.0, box.x1 - box.x0))
    middle = 0.5 * (box.x0 + box.x1)
    texts = (
        Text(row, Point(middle, box.y0 - NOTE_PITCH_MM * (i + 1)), NOTE_MM, "middle") for i, row in enumerate(rows)
    )
    return replace(view, items=(*view.items, *texts))


def _values(stage: Mapping[str, Uncertain]) -> dict[str, float]:
    return {name: uncertain.value for name, uncertain in stage.items()}


def _notes(shape: Shape) -> tuple[str, ...]:
    running = isinstance(shape, Revolved) and any(v.surface == "running" for v in shape.profile.vertices)
    mark = ("Thick dash-dotted: running surface, no flash, gate or vent on it.",) if running else ()
    words = "Free: as it leaves the mold. Fitted: finished and in place. Mold: what the cavity must measure."
    return (words, *mark, "Nominal sizes; what the readings leave open of each stands on the job sheet.")


def title_of(sized: Sizing, what: str) -> Title:
    case = sized.case
    return Title(
        case.name,
        what,
        f"{case.elastomer.id}, {case.elastomer.label}",
        case.spec.machine or "",
        case.spec.mold.revision,
    )
