"""Ctrl-C, a request to end, a terminal closed: all take the one way out, on which what was begun is cleared away.

Python knows only the first of them as KeyboardInterrupt; at the others the process would be gone at once.
"""

from __future__ import annotations

import atexit
import os
import signal
import time
from types import FrameType, TracebackType
from typing import Any, Final

SIGNALS: Final = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
CAN_PUT_OFF: Final = hasattr(signal, "setitimer")
PUT_OFF_S: Final = 0.02
PATIENCE_S: Final = 1.0
"""Within this a second signal is the same request again: a shell and a wrapper often send one each."""


class Interrupted(KeyboardInterrupt):
    """What is raised. A kind of its own: where KeyboardInterrupt itself passes through code that is run from text, as
    when a dataclass is made, the interpreter ends itself by a signal in the end, whatever the exit status was to be.
    """


class Heeded:
    """While its block runs the first signal raises Interrupted; one more, if that takes long, ends with a status.

    One that comes in the midst of an import is put off to its end: libraries that are half loaded do not bear it, and
    some print what they met. A signal that whoever started the process had switched off stays off (`nohup`).
    """

    def __init__(self, status: int) -> None:
        self._status = status
        self._first_s: float | None = None
        self._earlier: dict[signal.Signals, Any] = {}

    @property
    def came(self) -> bool:
        """Whether there was one."""
        return self._first_s is not None

    def __enter__(self) -> None:
        self._earlier = {one: signal.getsignal(one) for one in SIGNALS}
        for one, before in self._earlier.items():
            if before is not signal.SIG_IGN:
                signal.signal(one, self._heard)
        if CAN_PUT_OFF:
            self._earlier[signal.SIGALRM] = signal.signal(signal.SIGALRM, self._passed_on)
        atexit.register(_ignored)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if CAN_PUT_OFF:
            signal.setitimer(signal.ITIMER_REAL, 0.0)
        for one, before in self._earlier.items():
            signal.signal(one, before)
        # Whatever an interrupt set off on its way is still an interrupt.
        if self.came and error is not None and not isinstance(error, KeyboardInterrupt):
            raise Interrupted from error

    def _heard(self, number: int, frame: FrameType | None) -> None:
        if self._first_s is None:
            self._first_s = time.monotonic()
            self._passed_on(number, frame)
        elif time.monotonic() - self._first_s > PATIENCE_S:
            os._exit(self._status)

    def _passed_on(self, number: int, frame: FrameType | None) -> None:
        if CAN_PUT_OFF and _importing(frame):
            signal.setitimer(signal.ITIMER_REAL, PUT_OFF_S)
        else:
            raise Interrupted


def _importing(frame: FrameType | None) -> bool:
    while frame is not None:
        if frame.f_code.co_filename == "<frozen importlib._bootstrap>":
            return True
        frame = frame.f_back
    return False


def _ignored() -> None:
    """While the interpreter goes down all is written and said; there is nothing left to interrupt."""
    for one in SIGNALS:
        signal.signal(one, signal.SIG_IGN)
