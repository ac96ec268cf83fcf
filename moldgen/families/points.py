"""What the two general families share: places typed as numbers or taken from readings, and outlines made of them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, TypeAlias

from pydantic import AfterValidator, PlainValidator

from moldgen.outlines.check import faults
from moldgen.outlines.contour import Contour, Fault
from moldgen.outlines.corners import Rounded, room_mm, rounded
from moldgen.quantities import LONGEST_TEXT, Estimate, QuantityError, parsed_readings
from moldgen.remarks import Refusal
from moldgen.shapes import Point
from moldgen.spec.document import Place
from moldgen.spec.sections import LARGEST_SIZE_MM, Readings, refused

_NAMED = re.compile(
    r"\s*(?P<minus>[-−]?)\s*(?P<name>[a-z][a-z0-9_]*)\s*(?:/\s*(?P<parts>[2-9]))?\s*(?:(?P<sign>[-+−])(?P<more>.*))?"
)


@dataclass(frozen=True, slots=True)
class Named:
    """A place that follows from a reading: `plate_thickness + 2 mm`, `hole / 2`, `-length / 2`."""

    reading: str
    factor: float
    more_mm: Estimate


Position: TypeAlias = "Estimate | Named"


def _position(value: Any) -> Position:
    match = _NAMED.fullmatch(value) if isinstance(value, str) and len(value) <= LONGEST_TEXT else None
    try:
        if match is None:
            length = parsed_readings(value, "length")
        else:
            more = parsed_readings(match["more"], "length") if match["sign"] else Estimate(0.0)
            minus = -1.0 if match["sign"] in ("-", "−") else 1.0
            length = Estimate(minus * more, u=more.u, text=more.text)
    except QuantityError as error:
        raise refused(error.limit, error.way_out) from None
    if not -LARGEST_SIZE_MM <= length <= LARGEST_SIZE_MM:
        raise refused("it lies between -1000 mm and 1000 mm", "Check the number and its unit.")
    if match is None:
        return length
    return Named(match["name"], (-1.0 if match["minus"] else 1.0) / float(match["parts"] or 1), length)


Placed = Annotated[Estimate | Named, PlainValidator(_position, json_schema_input_type=str)]
"""A length, or one that follows from a reading under `measured`."""


def _two_or_three(point: tuple[Position, ...]) -> tuple[Position, ...]:
    if len(point) not in (2, 3):
        raise refused("a corner has two places and may have a fillet", "Write `[10, 4]`, or `[10, 4, 1]` to round it.")
    return point


Corner = Annotated[tuple[Placed, ...], AfterValidator(_two_or_three)]
"""`[x, y]`, or `[x, y, fillet radius]`."""


def _outline(corners: tuple[Any, ...]) -> tuple[Any, ...]:
    if not 3 <= len(corners) <= 1000:
        raise refused("an outline has from 3 to 1000 corners", "List its corners in order, once round.")
    return corners


Corners = Annotated[tuple[Corner, ...], AfterValidator(_outline)]
"""A closed outline, corner after corner."""


def value_mm(position: Position, measured: Readings) -> float:
    """The place in mm, readings put in."""
    if isinstance(position, Estimate):
        return float(position)
    return position.factor * float((measured.model_extra or {})[position.reading]) + float(position.more_mm)


def unknown_readings(given: Any, measured: Readings, place: Place) -> Iterator[Refusal]:
    """A refusal for each place that names a reading which was not taken."""
    known = list(measured.model_extra or {})
    if isinstance(given, Named):
        if given.reading not in known:
            near = difflib.get_close_matches(given.reading, known, n=1)
            hint = f"Did you mean `{near[0]}`?" if near else f"Known: {', '.join(known)}." if known else ""
            yield Refusal(place, f"there is no reading `{given.reading}` under `measured`", hint or "Add it there.")
    elif isinstance(given, tuple):
        for i, item in enumerate(given):
            yield from unknown_readings(item, measured, (*place, i))


@dataclass(frozen=True, slots=True)
class Listed:
    """An outline typed as corners, in mm, in the order typed; a last corner that only closes it is left out."""

    points: tuple[Point, ...]
    fillets_mm: tuple[float, ...]

    def rounded(self) -> Rounded:
        """Raises RangeError where a fillet has no room."""
        return rounded(self.points, self.fillets_mm)


def listed(corners: tuple[tuple[Position, ...], ...], measured: Readings) -> Listed:
    values = [tuple(value_mm(position, measured) for position in corner) for corner in corners]
    if len(values) > 3 and values[-1] == values[0]:
        values.pop()
    return Listed(tuple(Point(v[0], v[1]) for v in values), tuple(v[2] if len(v) > 2 else 0.0 for v in values))


def refused_corners(one: Listed, place: Place) -> tuple[Refusal, ...]:
    """What is wrong with a list of corners, each at the corner that it is wrong with."""
    sharp = _contour(rounded(one.points, (0.0,) * len(one.points))) if _all_apart(one.points) else None
    if sharp is None:
        return tuple(
            Refusal((*place, i), "it is the same place as the corner before it", "Delete one of the two.")
            for i in range(len(one.points))
            if one.points[i] == one.points[i - 1]
        )
    wrong = [_refusal(fault, fault.edge, place) for fault in faults((sharp,))]
    wrong += [
        Refusal((*place, i, 2), "a radius is not negative", "Write 0 or leave it out for a sharp corner.")
        for i, radius in enumerate(one.fillets_mm)
        if radius < 0.0
    ]
    return tuple(wrong) or _refused_fillets(one, place)


def _refused_fillets(one: Listed, place: Place) -> tuple[Refusal, ...]:
    wrong = []
    for i, radius in enumerate(one.fillets_mm):
        room = room_mm(one.points, one.fillets_mm, i)
        if radius > room * (1.0 + 1e-9):
            alone = room_mm(one.points, [0.0] * len(one.points), i)
            limit = f"the sides at this corner leave room for a radius of {room:.2f} mm"
            if alone > room:
                limit += f" beside its neighbours' ({alone:.2f} mm without them)"
            wrong.append(Refusal((*place, i, 2), limit, "Take a smaller radius here or at the next corner."))
    if wrong:
        return tuple(wrong)
    made = one.rounded()
    return tuple(_refusal(fault, made.corners[fault.edge], place) for fault in faults((_contour(made),)))


def _all_apart(points: Sequence[Point]) -> bool:
    return all(point != points[i - 1] for i, point in enumerate(points))


def _contour(made: Rounded) -> Contour:
    """For messages: corners are counted from 1, as people count."""
    names = (
        f"the fillet at corner {corner + 1}" if fillet else f"the side from corner {corner + 1}"
        for corner, fillet in zip(made.corners, made.fillets, strict=True)
    )
    return Contour(made.path, tuple(names))


def _refusal(fault: Fault, corner: int, place: Place) -> Refusal:
    return Refusal((*place, corner), f"{fault.text} {fault.place}", fault.way_out)
