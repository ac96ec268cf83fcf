"""`moldgen inspect`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldgen.cli import exits
from moldgen.errors import MoldgenError


def run(folders: Sequence[Path], *, as_json: bool) -> int:
    """Proves each folder again and prints what is wrong; returns the exit status."""
    from moldgen.inspection.from_disk import inspect
    from moldgen.output.directory import put_back

    done, errors = [], []
    for folder in folders:
        put_back(folder)
        try:
            done.append(inspect(folder))
        except MoldgenError as error:
            errors.append(error)
    if errors:
        exits.say_problems(errors, as_json=as_json)
        return exits.UNUSABLE
    if as_json:
        exits.print_json([one.as_json() for one in done])
    else:
        from moldgen.cli.tables import print_inspection

        for one in done:
            print_inspection(one)
    return exits.DONE if all(one.passed for one in done) else exits.PROOF_FAILED
