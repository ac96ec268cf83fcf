"""The command line: each command parses, calls one library function, prints, and picks the exit status.

Knows how to talk to a person and to a script; decides nothing about rubber or molds.
"""

from __future__ import annotations

import sys


def main() -> None:
    """Entry point of the `moldgen` command."""
    from moldgen.cli.app import app

    try:
        status = app(standalone_mode=False)
    except BaseException as error:
        from moldgen.cli.exits import status_of

        status = status_of(error)
    sys.exit(status)
