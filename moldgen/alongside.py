"""Where the work goes that needs no CAD kernel: to a process of its own beside the kernel's, or done in turn."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")


class InTurn(Executor):
    """Does each piece of work as soon as it is handed over, in this process."""

    def submit(self, work: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        done: Future[T] = Future()
        done.set_result(work(*args, **kwargs))
        return done


def second_process() -> Executor:
    """One more process, which does what it is handed while this one goes on; on a single core, `InTurn`.

    It begins with the first work. Only for programs whose main module may be imported a second time, as ours may.
    """
    if os.cpu_count() == 1:
        return InTurn()
    return ProcessPoolExecutor(1, multiprocessing.get_context("spawn"), _belong_to_parent)


def _belong_to_parent() -> None:
    """Leaves Ctrl-C to the parent, and ends when that has ended, however it did."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    assert parent is not None

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
