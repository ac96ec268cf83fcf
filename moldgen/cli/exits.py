"""Exit statuses, and how an error is said to a person and to a script."""

from __future__ import annotations

import contextlib
import json
import sys
from collections.abc import Iterable
from typing import Any, Final

from moldgen.errors import GeometryError, MoldgenError, Problem, SpecError

DONE: Final = 0
PROOF_FAILED: Final = 1
UNUSABLE: Final = 2
INTERRUPTED: Final = 130
READER_GONE: Final = 141
"""What a shell says of a program whose reader, `head` for one, has closed the pipe: 128 + 13, the signal's number."""


def say_interrupted() -> None:
    with contextlib.suppress(OSError):  # the terminal may be what has gone
        print("Interrupted; nothing half-written is left.", file=sys.stderr)


def status_of(error: BaseException) -> int:
    """Says the error on standard error and returns the exit status that it stands for."""
    import typer

    if isinstance(error, KeyboardInterrupt | typer.Abort):
        return INTERRUPTED
    if hasattr(error, "show") and hasattr(error, "exit_code"):  # a wrong option or argument, worded by typer
        error.show()
        return UNUSABLE
    if isinstance(error, MoldgenError):
        print(error, file=sys.stderr)
        return UNUSABLE
    # The command line's library makes an exit of it, with a status that means something else here.
    if isinstance(error, BrokenPipeError) or isinstance(error.__context__, BrokenPipeError):
        return READER_GONE
    if isinstance(error, OSError):
        print(
            f"{error.filename or 'standard output'}: cannot be read or written ({error.strerror}). Check free space "
            "and permissions, or choose another place.",
            file=sys.stderr,
        )
        return UNUSABLE
    raise error


def problems_of(error: MoldgenError) -> tuple[Problem, ...]:
    """The problems behind an error; one without a place in a file stands for itself."""
    if isinstance(error, SpecError):
        return error.problems
    return (Problem(file="", line=0, field="", given="", limit=str(error), way_out=""),)


def placed(error: GeometryError, file: str) -> SpecError:
    """What the kernel refused, under the spec that it was refused for."""
    place = "" if error.where_mm is None else f" at ({', '.join(f'{x:.2f}' for x in error.where_mm)}) mm"
    problem = Problem(
        file=file,
        line=1,
        field=error.stage,
        given="refused by the kernel",
        limit=error.text + place,
        way_out=error.way_out,
    )
    return SpecError((problem,))


def say_problems(errors: Iterable[MoldgenError], *, as_json: bool) -> None:
    """Every problem of every error: a line each on standard error, one document on standard output for a script."""
    listed = list(errors)
    for error in listed:
        print(error, file=sys.stderr)
    if as_json:
        problems = [p for error in listed for p in problems_of(error)]
        print_json(
            {
                "schema": "moldgen/problems/1",
                "problems": [
                    {
                        "file": p.file,
                        "line": p.line,
                        "field": p.field,
                        "given": p.given,
                        "limit": p.limit,
                        "way_out": p.way_out,
                    }
                    for p in problems
                ],
            }
        )


def print_json(document: Any) -> None:
    """One JSON document on standard output. Not-a-number and infinity are refused: they are not JSON."""
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    json.dump(document, sys.stdout, indent=1, ensure_ascii=not unicode, allow_nan=False)
    sys.stdout.write("\n")
