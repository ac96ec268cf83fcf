"""`moldgen rings`."""

from __future__ import annotations

from typing import Final

from moldgen import rings
from moldgen.cli import exits
from moldgen.errors import Problem, SpecError
from moldgen.quantities import QuantityError, parsed

LEAST_MM: Final = 0.2
MOST_INSIDE_MM: Final = 1000.0
MOST_SECTION_MM: Final = 100.0


def run(inside: str, section: str | None, count: int, *, as_json: bool) -> int:
    """Prints the nearest standard rings; returns the exit status."""
    try:
        section_mm = None if section is None else _length("--section", section, MOST_SECTION_MM)
        found = rings.nearest(inside_mm=_length("--inside", inside, MOST_INSIDE_MM), section_mm=section_mm, count=count)
    except SpecError as error:
        exits.say_problems([error], as_json=as_json)
        return exits.UNUSABLE
    if as_json:
        exits.print_json({"schema": "moldgen/rings/1", "rings": [ring.as_json() for ring in found]})
    else:
        from moldgen.cli.tables import print_rings

        print_rings(found)
    return exits.DONE


def _length(option: str, text: str, most_mm: float) -> float:
    """A length as typed behind an option. Raises SpecError."""
    try:
        length_mm = parsed(text, "length")
        if not LEAST_MM <= length_mm <= most_mm:
            limit = f"rings from {LEAST_MM:g} mm to {most_mm:g} mm are looked for"
            raise QuantityError(limit, "Check the number and its unit.")
    except QuantityError as error:
        problem = Problem(
            file="command line", line=1, field=option, given=text, limit=error.limit, way_out=error.way_out
        )
        raise SpecError((problem,)) from None
    return length_mm
