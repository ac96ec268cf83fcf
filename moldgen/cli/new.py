"""`moldgen new`."""

from __future__ import annotations

import sys
from pathlib import Path

from moldgen import families
from moldgen.cli import exits
from moldgen.errors import OutputError
from moldgen.starter import starter_spec


def run(family: str, to: Path | None, *, as_json: bool) -> int:
    """Writes a starter spec; an existing file is never overwritten. Returns the exit status."""
    try:
        text = starter_spec(family)
    except families.UnknownFamilyError as error:
        hint = f" Did you mean `{error.near}`?" if error.near else ""
        text = f"There is no family `{family}`.{hint} Known: {', '.join(families.names())}."
        return _unusable(text, as_json=as_json)
    if to is not None:
        try:
            with to.open("x", encoding="utf-8") as file:
                file.write(text)
        except FileExistsError:
            text = f"{to}: exists already and is left as it is. Choose another file, or move it away."
            return _unusable(text, as_json=as_json)
        except OSError as error:
            text = f"{to}: cannot be written ({error.strerror}). Choose a folder that exists and can be written."
            return _unusable(text, as_json=as_json)
    if as_json:
        exits.print_json(
            {"schema": "moldgen/new/1", "family": family, "file": None if to is None else str(to), "text": text}
        )
    elif to is None:
        sys.stdout.write(text)
    else:
        print(f"{to}: fill in your readings, then `moldgen size {to}`.")
    return exits.DONE


def _unusable(text: str, *, as_json: bool) -> int:
    exits.say_problems([OutputError(text)], as_json=as_json)
    return exits.UNUSABLE
