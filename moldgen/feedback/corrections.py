"""Which dimension of a drive to change, and to what, so that the speed comes right.

A plain idler between two wheels drops out of the ratio: its diameter sets its reach and its grip, never the speed. So
it is not among the dimensions looked at here, however soft and easy to cast it is.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from moldgen.errors import OutputError, Problem, SpecError
from moldgen.feedback.machine import Link, Machine, end_speed
from moldgen.feedback.speed import SpeedError
from moldgen.mechanics.solve import NoRootError, root
from moldgen.quantities import Estimate, QuantityError, parsed_readings
from moldgen.spec import document as documents
from moldgen.spec.document import Document, Node, Place

MOST_CHANGE: Final = 0.25
"""A dimension that would have to change by a larger share is not the one to change."""

WANTED_KEY: Final = {
    "idler_tyre": "fitted_diameter",
    "pinch_sleeve": "roller_diameter",
    "belt": "height",
}
"""The field of a part spec that a drive's dimension comes from."""


@dataclass(frozen=True, slots=True)
class Lever:
    """A dimension that the speed depends on and that a person can change."""

    name: str
    key: str
    place: Place
    value_mm: float
    spec: str | None
    rubber: bool


@dataclass(frozen=True, slots=True)
class SpecChange:
    """The same correction as a change to a part spec."""

    file: str
    field: str
    before_mm: float
    after_mm: float


@dataclass(frozen=True, slots=True)
class Correction:
    """A dimension and what to make of it."""

    lever: Lever
    to_mm: float
    low_mm: float
    high_mm: float
    """What the speed's own uncertainty makes of it (95 %)."""
    change: SpecChange | None

    @property
    def text(self) -> str:
        lever = self.lever
        if self.change is not None:
            was, now = self.change.before_mm, self.change.after_mm
            return f"{self.change.file}: {self.change.field}: {now:.3f} mm in place of {was:.3f} mm"
        return f"{lever.name}: {lever.key} {self.to_mm:.3f} mm in place of {lever.value_mm:.3f} mm"

    def as_json(self) -> dict[str, Any]:
        return {
            "part": self.lever.name,
            "dimension": f"{self.lever.key}_mm",
            "from_mm": round(self.lever.value_mm, 6),
            "to_mm": {"value": round(self.to_mm, 6), "low": round(self.low_mm, 6), "high": round(self.high_mm, 6)},
            "rubber": self.lever.rubber,
            "spec": None
            if self.change is None
            else {
                "file": self.change.file,
                "field": self.change.field,
                "before_mm": round(self.change.before_mm, 6),
                "after_mm": round(self.change.after_mm, 6),
            },
            "text": self.text,
        }


def levers(machine: Machine) -> Iterator[Lever]:
    """The dimensions that set the speed. The plain idler's is not one of them."""
    for index, link in enumerate(machine.drive):
        place: Place = ("drive", index)
        for key in ("driver", "driven"):
            wheel = getattr(link, key)
            yield Lever(
                wheel.name,
                "diameter",
                (*place, key, "diameter_mm"),
                wheel.diameter_mm,
                wheel.spec,
                wheel.spec is not None,
            )
        yield from _link_levers(link, place)
    if machine.capstan is not None:
        capstan = machine.capstan
        yield Lever(
            capstan.name,
            "diameter",
            ("capstan", "diameter_mm"),
            capstan.diameter_mm,
            capstan.spec,
            capstan.spec is not None,
        )


def _link_levers(link: Link, place: Place) -> Iterator[Lever]:
    if link.kind == "belt" and link.thickness_mm:
        yield Lever(link.label, "thickness", (*place, "thickness_mm"), link.thickness_mm, link.spec, True)
    if link.kind == "stepped_idler":
        assert link.diameter_in_mm is not None and link.diameter_out_mm is not None
        yield Lever(link.label, "diameter_in", (*place, "diameter_in_mm"), link.diameter_in_mm, link.spec, True)
        yield Lever(link.label, "diameter_out", (*place, "diameter_out_mm"), link.diameter_out_mm, link.spec, True)


def with_value(node: Any, place: Place, value_mm: float) -> Any:
    """The machine with one of its dimensions changed."""
    if not place:
        return Estimate(value_mm)
    step, rest = place[0], place[1:]
    if isinstance(step, int):
        return (*node[:step], with_value(node[step], rest, value_mm), *node[step + 1 :])
    return node.model_copy(update={step: with_value(getattr(node, step), rest, value_mm)})


def percent_per_0_1mm(machine: Machine, lever: Lever) -> float:
    """Per cent of speed for 0.1 mm of a dimension."""
    step = 1e-4 * lever.value_mm
    above, below = (end_speed(with_value(machine, lever.place, lever.value_mm + s)) for s in (step, -step))
    return 100.0 * 0.1 * (above - below) / (2.0 * step) / end_speed(machine)


def corrected_mm(machine: Machine, lever: Lever, *, error: float) -> float | None:
    """What the dimension must become so that a machine which is off by `error` (ratio less one) runs right.

    The machine as it is runs (1 + e) times too fast, so the drive must be geared down by as much, whatever its slip
    and its motor's true speed are. None where no reasonable size of this dimension does that.
    """
    target = end_speed(machine) / (1.0 + error)
    low, high = (1.0 - MOST_CHANGE) * lever.value_mm, (1.0 + MOST_CHANGE) * lever.value_mm
    try:
        return root(lambda mm: end_speed(with_value(machine, lever.place, mm)) / target - 1.0, low, high)
    except NoRootError:
        return None


def corrections(machine: Machine, document: Document, *, error: SpeedError) -> tuple[Correction, ...]:
    """Every single change that brings the speed right, rubber first; none where the error is not significant.

    Raises SpecError where a part spec that the machine names cannot be read.
    """
    if not error.significant:
        return ()
    found = []
    for lever in levers(machine):
        values = [corrected_mm(machine, lever, error=e) for e in (error.value, error.low, error.high)]
        if values[0] is None:
            continue
        low, high = sorted(values[0] if value is None else value for value in values[1:])
        change = _spec_change(document, lever, values[0]) if lever.spec is not None else None
        found.append(Correction(lever, values[0], low, high, change))
    return tuple(sorted(found, key=lambda c: (c.change is None, not c.lever.rubber)))


def _spec_change(document: Document, lever: Lever, to_mm: float) -> SpecChange | None:
    """The change as the part's own spec would have it; None for a family whose field is not known."""
    assert lever.spec is not None
    path = Path(os.path.normpath(Path(document.file).parent / lever.spec))
    try:
        spec = documents.read(path)
    except OutputError as error:
        raise SpecError((_no_spec(document, lever),)) from error
    family, wanted = spec.data.get("family"), spec.data.get("wanted")
    key = WANTED_KEY.get(family) if isinstance(family, str) else None
    if key is None or not isinstance(wanted, dict):
        return None
    if key not in wanted and "diameter" in wanted:  # a cord's height is its diameter
        key = "diameter"
    before = _length(wanted.get(key))
    if before is None:
        return None
    return SpecChange(path.as_posix(), f"wanted.{key}", before, before + to_mm - lever.value_mm)


def _length(node: Node) -> float | None:
    try:
        value = float(parsed_readings(node, "length"))
    except QuantityError:
        return None
    return value if math.isfinite(value) else None


def _no_spec(document: Document, lever: Lever) -> Problem:
    place = ("machine", *lever.place[:-1], "spec")
    return document.problem(
        place, limit="no part spec can be read there", way_out="Give its path as seen from the machine file's folder."
    )
