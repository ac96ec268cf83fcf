"""`moldgen refine`."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from moldgen.cli import exits
from moldgen.errors import MoldgenError


def run(spec: Path, castings: Path, out: Path, *, write: bool, as_json: bool) -> int:
    """Fits the castings and prints what they say; returns the exit status."""
    from moldgen.feedback.refine import refine

    try:
        refinement = refine(spec, castings, out=out, write=write, today=date.today())
    except MoldgenError as error:
        exits.say_problems([error], as_json=as_json)
        return exits.UNUSABLE
    if as_json:
        exits.print_json(refinement.as_json())
    else:
        from moldgen.cli.feedback_tables import print_refinement

        print_refinement(refinement)
    return exits.DONE
