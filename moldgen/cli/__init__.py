"""The command line: each command parses, calls one library function, prints, and picks the exit status.

Knows how to talk to a person and to a script; decides nothing about rubber or molds.
"""

from __future__ import annotations

import io
import sys


def main() -> None:
    """Entry point of the `moldgen` command."""
    from moldgen.cli.app import app
    from moldgen.cli.exits import INTERRUPTED, say_interrupted, status_of

    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a ± on a terminal that has none is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    try:
        status = app(standalone_mode=False)
    except BaseException as error:
        status = status_of(error)
    if status == INTERRUPTED:
        say_interrupted()
    sys.exit(status)
