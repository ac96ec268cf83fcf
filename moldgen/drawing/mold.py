"""The closed mold's drawing: section through sprue and vent, cut-outs, the lower half from above, the pour's tilt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from moldgen.drawing.letters import ratio, written
from moldgen.drawing.model import Drawing, View
from moldgen.drawing.mold_outside import FromAbove, Standing
from moldgen.drawing.mold_section import Cut, CutOut, MainSection, cut_outs, items_of, main_plane
from moldgen.drawing.names import Names
from moldgen.drawing.part import title_of
from moldgen.drawing.shape_views import shape_view
from moldgen.drawing.sheet import (
    HEIGHT_MM,
    MARGIN_MM,
    SCALES,
    WIDTH_MM,
    Arranged,
    Titled,
    below_views_mm,
    entitled,
    in_column,
    in_row,
    in_rows,
    largest,
    sheet,
    wrapped,
)
from moldgen.mold.plan import MoldPlan
from moldgen.shapes import Drawn, Revolved
from moldgen.sizing import Sizing

if TYPE_CHECKING:
    from moldgen.mold.bodies import MoldBodies

GAP_MM: Final = 7.0
LARGEST: Final = 2.0
CUT_OUT_MM: Final = 46.0
"""Width on the sheet of an enlarged cut-out."""
GATE_MM: Final = 34.0
"""The same for one that shows a gate only."""
STANDING_MM: Final = 46.0
LEAST_BESIDE_MM: Final = 30.0
"""Dimensions on both sides take at least so much."""


def mold_drawing(*, sized: Sizing, plan: MoldPlan, bodies: MoldBodies) -> Drawing:
    """The closed mold with every dimension that its bodies are checked by."""
    rubber = sized.case.elastomer.id
    numbers = items_of(plan, rubber=rubber)
    cut = Cut.of(main_plane(plan), plan, bodies)
    section, above = MainSection(plan, cut.plane, cut.faces), FromAbove.of(plan, bodies)
    details, standing = cut_outs(plan, bodies, cut), Standing.of(plan, bodies)
    notes = _notes(plan, [f"{n.number} {n.words}" for n in numbers])

    aside = [_cut_out_view(detail) for detail in details]
    if standing is not None:
        smaller = _scale_for(max(plan.block.x_mm, plan.block.lower_mm + plan.block.upper_mm), STANDING_MM)
        aside.insert(0, (standing.view(smaller, numbers[-1].number), f"Standing to be filled, {ratio(smaller)}"))

    base = below_views_mm(notes)
    room = HEIGHT_MM - base - GAP_MM
    bare_mm = plan.block.lower_mm + plan.block.upper_mm + plan.block.y_mm

    def compose(scale: float) -> Arranged | None:
        if plan.block.x_mm * scale + LEAST_BESIDE_MM > WIDTH_MM or plan.block.y_mm * scale > HEIGHT_MM:
            return None
        if bare_mm * scale + GAP_MM > room and scale > SCALES[-1]:  # known without setting a dimension
            return None
        main = section.view(scale, numbers, details)
        plan_view = above.view(scale, section.plane)
        return _set_out((main, "Section A–A"), (plan_view, "Lower half from above"), aside)

    scale, arranged = largest(compose, room_mm=room, most=LARGEST)
    views = tuple(view.moved(0.0, base) for view in arranged.views)
    height = base + arranged.height_mm + GAP_MM
    return sheet(title_of(sized, "Mold, closed"), scale=scale, views=views, notes=notes, height_mm=height)


def cavity_drawing(*, sized: Sizing, plan: MoldPlan) -> Drawing | None:
    """The cavity by itself, where it is another shape than the part's: a belt too long to lie as a ring; else None."""
    shape = plan.cavity.shape
    if isinstance(shape, Revolved) == isinstance(sized.mold_shape, Revolved):
        return None
    notes = ["The cavity as modelled, seen from above; the belt's own sizes stand on the part's drawing."]
    if isinstance(shape, Drawn):
        notes.append(f"Its section is round, {written(shape.thickness_mm)} high.")

    def compose(scale: float) -> Arranged | None:
        view = shape_view(shape, name="cavity", scale=scale, names=Names("plan", {}))
        return in_row(entitled([(view, "Cavity")]), gap_mm=0.0)

    base = below_views_mm(notes) + GAP_MM
    scale, arranged = largest(compose, room_mm=HEIGHT_MM - base - GAP_MM, most=LARGEST)
    views = tuple(view.moved(0.0, base) for view in arranged.views)
    height = base + arranged.height_mm + GAP_MM
    return sheet(title_of(sized, "Cavity"), scale=scale, views=views, notes=notes, height_mm=height)


def _set_out(main: Titled, plan_view: Titled, aside: Sequence[Titled]) -> Arranged | None:
    """The section over the view from above; beside them what finds room there, the rest in rows below."""
    column = [entitled([view])[0] for view in (main, plan_view)]
    side = [entitled([view])[0] for view in aside]
    left = min(view.box.x0 for view in column)
    width = max(view.box.x1 for view in column) - left
    room = WIDTH_MM - 2.0 * MARGIN_MM
    if width > room:
        return None
    height = sum(_height(view) for view in column) + GAP_MM
    beside: list[View] = []
    below: list[Titled] = []
    for view, titled in zip(side, aside, strict=True):
        tall = sum(_height(other) + GAP_MM for other in beside) + _height(view)
        fits = width + GAP_MM + view.box.x1 - view.box.x0 <= room and tall <= height
        if fits:
            beside.append(view)
        else:
            below.append(titled)
    side_width = max((view.box.x1 - view.box.x0 for view in beside), default=0.0)
    slack = (room - width - side_width) / (3.0 if beside else 2.0)
    placed = _hung(column, MARGIN_MM + slack - left, height, aligned=True)
    placed += _hung(beside, MARGIN_MM + 2.0 * slack + width, height, aligned=False)
    rows = in_rows(below, gap_mm=GAP_MM)
    return None if rows is None else in_column([Arranged(tuple(placed), height), *rows], gap_mm=GAP_MM)


def _height(view: View) -> float:
    return view.box.y1 - view.box.y0


def _hung(views: Sequence[View], x: float, top: float, *, aligned: bool) -> list[View]:
    """Views one under the other from a height down, their own origins at x or all their left edges there."""
    spare = top - sum(_height(view) for view in views)
    gap = spare / (len(views) - 1) if len(views) > 1 else 0.0
    out = []
    for view in views:
        out.append(view.moved(x if aligned else x - view.box.x0, top - view.box.y1))
        top -= _height(view) + gap
    return out


def _cut_out_view(cut: CutOut) -> Titled:
    scale = _scale_for(cut.size, CUT_OUT_MM if len(cut.wanted) > 2 else GATE_MM)
    return cut.view(scale), f"{cut.letter}, {ratio(scale)}"


def _scale_for(size: float, room: float) -> float:
    return next((scale for scale in SCALES if size * scale <= room), SCALES[-1])


def _notes(plan: MoldPlan, items: Sequence[str]) -> tuple[str, ...]:
    notes = list(wrapped(items))
    if plan.screws:
        screw = plan.screws[0]
        notes.append(
            f"{len(plan.screws)} screws {screw.screw.size} × {screw.length_mm:g} ISO 4762 with nuts ISO 4032, "
            f"their pockets {screw.nut_pocket_mm:.2f} mm deep from below."
        )
    for slot in plan.pry_slots[:1]:
        size = " × ".join(written(length) for length in (slot.width_mm, slot.depth_mm, slot.height_mm))
        notes.append(f"{len(plan.pry_slots)} pry slots {size} at the parting.")
    return tuple(notes)
