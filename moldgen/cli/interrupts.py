"""Ctrl-C, a request to end, a terminal closed: all take the one way out, on which what was begun is cleared away.

Python knows only the first of them as KeyboardInterrupt; at the others the process would be gone at once.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import signal
import time
from collections.abc import Iterator
from types import FrameType
from typing import Final

SIGNALS: Final = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
PATIENCE_S: Final = 1.0
"""Within this a second signal is the same request again: a shell and a wrapper often send one each."""


class Interrupted(KeyboardInterrupt):
    """What is raised. A kind of its own: where KeyboardInterrupt itself passes through code that is run from text, as
    when a dataclass is made, the interpreter ends itself by a signal in the end, whatever the exit status was to be.
    """


@contextlib.contextmanager
def heeded(status: int) -> Iterator[None]:
    """While the block runs the first signal raises Interrupted; one more, if that takes long, ends with a status.

    A signal that whoever started the process had switched off stays off (`nohup`).
    """
    first_s: float | None = None

    def heard(number: int, frame: FrameType | None) -> None:
        nonlocal first_s
        if first_s is None:
            first_s = time.monotonic()
            raise Interrupted
        if time.monotonic() - first_s > PATIENCE_S:
            os._exit(status)

    earlier = {one: signal.getsignal(one) for one in SIGNALS}
    for one, before in earlier.items():
        if before is not signal.SIG_IGN:
            signal.signal(one, heard)
    atexit.register(_ignored)
    try:
        yield
    except BaseException as error:
        # Whatever an interrupt set off on its way, in a library that was just being loaded, say, is still an interrupt.
        if first_s is not None and not isinstance(error, KeyboardInterrupt):
            raise Interrupted from error
        raise
    finally:
        for one, before in earlier.items():
            signal.signal(one, before)


def _ignored() -> None:
    """While the interpreter goes down all is written and said; there is nothing left to interrupt."""
    for one in SIGNALS:
        signal.signal(one, signal.SIG_IGN)
