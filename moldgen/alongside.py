"""Where the work goes that needs no CAD kernel: to a process of its own beside the kernel's, or done in turn."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from importlib import import_module
from multiprocessing.util import Finalize
from typing import Final, ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")


class InTurn(Executor):
    """Does each piece of work as soon as it is handed over, in this process."""

    def submit(self, work: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        done: Future[T] = Future()
        done.set_result(work(*args, **kwargs))
        return done


NEEDED: Final = (
    "moldgen.from_meshes",
    "lib3mf",
    "manifold3d",
    "shapely",
    "vtkmodules.vtkIOGeometry",
    "vtkmodules.vtkRenderingOpenGL2",
)
"""What the second process loads at once, some of which its work would only load when it first calls it."""


def second_process() -> Executor:
    """One more process, which does what it is handed while this one goes on; on a single core, `InTurn`.

    It starts loading what it needs right away. Only for programs whose main module may be imported a second time.
    """
    if os.cpu_count() == 1:
        return InTurn()
    process = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"), _belong_to_parent)
    process.submit(_load)
    return process


def _load() -> None:
    for name in NEEDED:
        import_module(name)


def _belong_to_parent() -> None:
    """Leaves Ctrl-C to the parent, and ends when that has ended, however it did.

    At its own end it goes at once: to take its libraries down one by one costs a tenth of a second.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Finalize(None, os._exit, (0,), exitpriority=0)
    parent = multiprocessing.parent_process()
    assert parent is not None

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
