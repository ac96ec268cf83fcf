"""`moldgen new`."""

from __future__ import annotations

import sys
from pathlib import Path

from moldgen import families
from moldgen.cli import exits
from moldgen.starter import starter_spec


def run(family: str, to: Path | None, *, as_json: bool) -> int:
    """Writes a starter spec; an existing file is never overwritten. Returns the exit status."""
    try:
        text = starter_spec(family)
    except families.UnknownFamilyError as error:
        hint = f" Did you mean `{error.near}`?" if error.near else ""
        print(f"There is no family `{family}`.{hint} Known: {', '.join(families.names())}.", file=sys.stderr)
        return exits.UNUSABLE
    if to is not None:
        try:
            with to.open("x", encoding="utf-8") as file:
                file.write(text)
        except FileExistsError:
            print(f"{to}: exists already and is left as it is. Choose another file, or move it away.", file=sys.stderr)
            return exits.UNUSABLE
        except OSError as error:
            print(
                f"{to}: cannot be written ({error.strerror}). Choose a folder that exists and can be written.",
                file=sys.stderr,
            )
            return exits.UNUSABLE
    if as_json:
        exits.print_json(
            {"schema": "moldgen/new/1", "family": family, "file": None if to is None else str(to), "text": text}
        )
    elif to is None:
        sys.stdout.write(text)
    else:
        print(f"{to}: fill in your readings, then `moldgen size {to}`.")
    return exits.DONE
