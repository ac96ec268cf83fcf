"""The command line: each command parses, calls one library function, prints, and picks the exit status.

Knows how to talk to a person and to a script; decides nothing about rubber or molds.
"""

from __future__ import annotations

import atexit
import gc
import io
import os
import sys
from pathlib import Path


def main() -> None:
    """Entry point of the `moldgen` command."""
    _without_what_only_costs_time()

    from moldgen.cli import interrupts
    from moldgen.cli.exits import INTERRUPTED, say_interrupted

    heeded, status = interrupts.Heeded(INTERRUPTED), INTERRUPTED

    def leave() -> None:
        """Libraries that were cut short in their work are better not taken down one by one."""
        if heeded.came:
            os._exit(status)

    atexit.register(leave)  # the first to be registered is the last to be called
    try:
        with heeded:
            status = _status()
    except KeyboardInterrupt:
        status = INTERRUPTED
    if status == INTERRUPTED:
        say_interrupted()
    sys.exit(status)


def _without_what_only_costs_time() -> None:
    """Four things that Python and libraries do for long-running programs; together a third of a `moldgen size`."""
    gc.set_threshold(100_000)  # what is imported stays, so looking for what to throw away is in vain
    atexit.register(gc.freeze)  # nor is it worth it on the way out, when all goes at once
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a thread for each core, for matrices of ten rows
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")  # else all packages there are get looked through for some


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
