"""Reads and sizes several specs, collecting what is wrong with any of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from moldgen import case, sizing
from moldgen.errors import MoldgenError, OutputError, SpecError
from moldgen.sizing import Sizing

SUFFIX: Final = ".yaml"


def sized(specs: Sequence[Path]) -> tuple[list[Sizing], list[MoldgenError]]:
    """The sizings of all specs, and the errors of those that cannot be used (names given twice among them).

    A folder stands for the specs that lie in it.
    """
    done: list[Sizing] = []
    errors: list[MoldgenError] = []
    names: dict[str, str] = {}
    for path in _each(specs, errors):
        try:
            one = case.load(path)
            first = names.setdefault(one.name.lower(), one.document.file)
            if first != one.document.file:
                problem = one.document.problem(
                    ("name",),
                    limit=f"{first} has this name already, and both would go into one folder",
                    way_out="Name each part differently.",
                )
                raise SpecError((problem,))
            done.append(sizing.size(one))
        except MoldgenError as error:
            errors.append(error)
    return done, errors


def _each(specs: Sequence[Path], errors: list[MoldgenError]) -> Iterator[Path]:
    for path in specs:
        if not path.is_dir():
            yield path
        elif inside := sorted(path.glob(f"*{SUFFIX}")):
            yield from inside
        else:
            errors.append(OutputError(f"{path}: no spec (*{SUFFIX}) lies in this folder. Give another, or a file."))
