"""`moldgen new`."""

from __future__ import annotations

import sys
from pathlib import Path

from moldgen import families
from moldgen.cli import exits
from moldgen.errors import OutputError
from moldgen.starter import starter_spec


def run(family: str, to: Path | None, sheet: Path | None = None, *, as_json: bool) -> int:
    """Writes a starter spec, or a measuring sheet, or both; an existing file is never overwritten.

    Returns the exit status.
    """
    try:
        text = starter_spec(family)
    except families.UnknownFamilyError as error:
        hint = f" Did you mean `{error.near}`?" if error.near else ""
        text = f"There is no family `{family}`.{hint} Known: {', '.join(families.names())}."
        return _unusable(OutputError(text), as_json=as_json)
    try:
        if sheet is not None:
            from moldgen.measuring.sheet import measuring_sheet

            _write_new(sheet, measuring_sheet(family))
        if to is not None:
            _write_new(to, text.encode("utf-8"))
    except OutputError as error:
        return _unusable(error, as_json=as_json)
    if as_json:
        files = {"file": None if to is None else str(to), "sheet": None if sheet is None else str(sheet)}
        exits.print_json({"schema": "moldgen/new/1", "family": family, **files, "text": text})
        return exits.DONE
    if sheet is not None:
        print(f"{sheet}: print it and take it to the machine, with caliper and pencil.")
    if to is not None:
        print(f"{to}: fill in your readings, then `moldgen size {to}`.")
    elif sheet is None:
        sys.stdout.write(text)
    return exits.DONE


def _write_new(path: Path, content: bytes) -> None:
    """Raises OutputError where the file exists already or cannot be written."""
    try:
        with path.open("xb") as file:
            file.write(content)
    except FileExistsError:
        text = f"{path}: exists already and is left as it is. Choose another file, or move it away."
        raise OutputError(text) from None
    except OSError as error:
        text = f"{path}: cannot be written ({error.strerror}). Choose a folder that exists and can be written."
        raise OutputError(text) from error


def _unusable(error: OutputError, *, as_json: bool) -> int:
    exits.say_problems([error], as_json=as_json)
    return exits.UNUSABLE
