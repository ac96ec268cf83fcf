"""`moldgen size`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldgen.cli import exits
from moldgen.cli.loading import sized


def run(specs: Sequence[Path], *, strict: bool, as_json: bool) -> int:
    """Prints the sizing of each spec; returns the exit status."""
    done, errors = sized(specs)
    if errors:
        exits.say_problems(errors, as_json=as_json)
        return exits.UNUSABLE
    if as_json:
        exits.print_json([one.as_json() for one in done])
    else:
        from moldgen.cli.tables import print_sizing

        for one in done:
            print_sizing(one)
    return exits.PROOF_FAILED if strict and any(one.remarks for one in done) else exits.DONE
