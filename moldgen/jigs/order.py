"""Which jigs a part gets: those that its spec asks for, or those that it needs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from importlib import import_module

from moldgen.errors import SpecError
from moldgen.jigs import BLADE_MM
from moldgen.jigs.plan import Jig
from moldgen.mechanics.splice import SCARF_DEG
from moldgen.planning import planned
from moldgen.printers import Printer
from moldgen.remarks import Refusal
from moldgen.shapes import Extruded, Insert, Lay, Shape
from moldgen.sizing import Sizing


class NotForThisPartError(Exception):
    """A jig that this part cannot have: why, and what to do."""

    def __init__(self, limit: str, way_out: str) -> None:
        super().__init__(limit, way_out)
        self.limit, self.way_out = limit, way_out


@dataclass(frozen=True)
class JigOrder:
    """What a jig is planned from: the part's dimensions by name, and figures of printer and rubber."""

    name: str
    fitted: Mapping[str, float]
    free: Mapping[str, float]
    mold: Mapping[str, float]
    shape: Shape
    """Of the free part."""
    insert: Insert | None
    printer: Printer
    ground: bool
    lay: Lay = "as_it_is"
    pieces: int = 1
    """How many cords a belt is joined from."""
    scarf_deg: float = SCARF_DEG
    blade_mm: float = BLADE_MM
    blade_offset_mm: float = 0.0
    tension_n: float | None = None
    smallest_pitch_diameter_mm: float | None = None

    @property
    def is_belt(self) -> bool:
        has_section = "diameter_mm" in self.free or {"height_mm", "width_mm"} <= set(self.free)
        return has_section and {"length_mm", "inner_diameter_mm"} <= set(self.free) and "length_mm" in self.fitted

    @property
    def is_roller(self) -> bool:
        return "length_mm" not in self.free and {"inner_diameter_mm", "outer_diameter_mm", "width_mm"} <= set(self.free)

    @property
    def section_mm(self) -> tuple[float, float]:
        """Height along the pulleys' radius and width along the axles, of a belt lying free."""
        if "diameter_mm" in self.free:
            return self.free["diameter_mm"], self.free["diameter_mm"]
        return self.free["height_mm"], self.free["width_mm"]


def ordered(sized: Sizing) -> JigOrder:
    """What the jigs of a sized part are planned from."""
    case = sized.case
    figures = [(item.prediction, item.range.value) for item in sized.predictions]
    pitches = [value for p, value in figures if p.group == "pulleys" and p.name == "pitch_diameter_mm"]
    tensions = [value for p, value in figures if p.name == "tension_n"]
    return JigOrder(
        name=case.name,
        fitted={name: u.value for name, u in sized.fitted.items()},
        free={name: u.value for name, u in sized.free.items()},
        mold={name: u.value for name, u in sized.mold.items()},
        shape=sized.free_shape,
        insert=sized.insert,
        printer=case.printer,
        lay=case.family.lay(case.given),
        pieces=planned(sized).cavity.pieces if case.family.lay(case.given) == "cord" else 1,
        scarf_deg=case.spec.cutting.scarf_deg,
        blade_mm=case.spec.cutting.blade_mm,
        blade_offset_mm=case.spec.cutting.blade_offset_mm,
        ground=getattr(case.spec.wanted, "grind_allowance_mm", 0.0) > 0.0,
        tension_n=tensions[0] if tensions else None,
        smallest_pitch_diameter_mm=min(pitches) if pitches else None,
    )


def jigs_of(sized: Sizing) -> tuple[Jig, ...]:
    """The jigs that the spec asks for, or those that the part needs. Raises SpecError for one that it cannot have."""
    order, asked = ordered(sized), sized.case.spec.jigs
    if asked is None:
        return tuple(_proposed(order))
    jigs, problems = [], []
    for index, name in enumerate(asked):
        try:
            jigs.append(planner(name)(order))
        except NotForThisPartError as error:
            problems.append(sized.case.problem(Refusal(("jigs", index), error.limit, error.way_out)))
    if problems:
        raise SpecError(tuple(problems))
    return tuple(jigs)


def planner(name: str) -> Callable[[JigOrder], Jig]:
    """The function that plans the jig of a name; raises NotForThisPartError where the part has no use for it."""
    found: Callable[[JigOrder], Jig] = import_module(f"moldgen.jigs.{name}").plan
    return found


def needed(order: JigOrder) -> tuple[str, ...]:
    """Names of the jigs without which the part cannot well be finished or checked."""
    if order.is_belt:
        return ("length_gauge", "splice") if order.lay == "cord" else ("length_gauge",)
    if order.is_roller and order.ground:
        return ("arbor", "ring_gauge")
    if isinstance(order.shape, Extruded):
        return ("trimming_block",)
    return ()


def _proposed(order: JigOrder) -> Iterator[Jig]:
    for name in needed(order):
        try:
            yield planner(name)(order)
        except NotForThisPartError:
            continue  # nobody asked for it: a tyre on a thin axle is ground on that axle
