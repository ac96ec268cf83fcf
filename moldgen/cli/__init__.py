"""The command line: each command parses, calls one library function, prints, and picks the exit status.

Knows how to talk to a person and to a script; decides nothing about rubber or molds.
"""

from __future__ import annotations

import io
import os
import sys
from pathlib import Path


def main() -> None:
    """Entry point of the `moldgen` command."""
    from moldgen.cli import interrupts
    from moldgen.cli.exits import INTERRUPTED, say_interrupted

    try:
        with interrupts.heeded(INTERRUPTED):
            status = _status()
    except KeyboardInterrupt:
        status = INTERRUPTED
    if status == INTERRUPTED:
        say_interrupted()
    sys.exit(status)


def _status() -> int:
    """Runs the command that was asked for, and says what went wrong; the exit status."""
    from moldgen.cli.exits import status_of

    try:
        _streams_made_ready()
        from moldgen.cli.app import app

        status: int = app(standalone_mode=False)
    except BaseException as error:
        status = status_of(error)
    try:
        sys.stdout.flush()
    except OSError as error:
        # The interpreter would try once more on its way out, and complain.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = status_of(error)
    return status


def _streams_made_ready() -> None:
    """None is missing, lest a file take its number, and a ± on a terminal that has none is no reason to stop."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
