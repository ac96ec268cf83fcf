"""What can go wrong, and how it is said.

    MoldgenError
    ├── SpecError       the person can mend it: a tuple of Problems, all found at once     -> exit 2
    ├── RangeError      a formula was asked for a value outside the range it is known for
    ├── GeometryError   the kernel refused a stage of the part or of the mold              -> exit 2
    └── OutputError     a file could not be read or written                                -> exit 2

What an inspection sees on a finished mold is a Finding, never an exception.
"""

from __future__ import annotations

from dataclasses import dataclass


class MoldgenError(Exception):
    """Base of everything that moldgen raises on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing in a file that the person can mend."""

    file: str
    line: int
    field: str
    """As the YAML spells it, sections joined by dots: `wanted.stretch`."""
    given: str
    """As the person typed it, unit and all."""
    limit: str
    way_out: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.field} is {self.given}; {self.limit}. {self.way_out}"


class SpecError(MoldgenError, ValueError):
    """The input cannot be used; `problems` says all that is wrong with it."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems)  # kept in args, so the error survives the trip back from a worker process
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class RangeError(MoldgenError, ValueError):
    """A value lies outside the range in which a formula is known to hold."""

    def __init__(self, name: str, value: float, low: float, high: float) -> None:
        super().__init__(name, value, low, high)
        self.name, self.value, self.low, self.high = name, value, low, high

    def __str__(self) -> str:
        return f"{self.name} is {self.value:g}; the formula holds from {self.low:g} to {self.high:g}"


class GeometryError(MoldgenError):
    """The kernel refused, or silently spoiled, a stage of the geometry."""

    def __init__(self, *, stage: str, text: str, way_out: str, where_mm: tuple[float, ...] | None = None) -> None:
        super().__init__(stage, text, way_out, where_mm)
        self.stage, self.text, self.way_out, self.where_mm = stage, text, way_out, where_mm

    def __reduce__(self) -> tuple[object, ...]:
        return _geometry_error, (self.stage, self.text, self.way_out, self.where_mm)

    def __str__(self) -> str:
        place = "" if self.where_mm is None else f" at ({', '.join(f'{x:.2f}' for x in self.where_mm)}) mm"
        return f"{self.stage}: {self.text}{place}. {self.way_out}"


def _geometry_error(stage: str, text: str, way_out: str, where_mm: tuple[float, ...] | None) -> GeometryError:
    """Rebuilds a GeometryError on the other side of a process boundary (its arguments are keyword-only)."""
    return GeometryError(stage=stage, text=text, way_out=way_out, where_mm=where_mm)


class OutputError(MoldgenError):
    """A file or folder could not be read or written; the message says which and what to do."""


def require_range(name: str, value: float, low: float, high: float) -> None:
    """Raises RangeError unless low <= value <= high; NaN never passes."""
    if not low <= value <= high:
        raise RangeError(name, value, low, high)
