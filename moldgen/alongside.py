"""Processes that do part of a build beside the one that builds, or nobody: then all is done in turn.

Two kinds of work can be handed over. What needs no CAD kernel goes to a process that never loads it, and is up before
the kernel is; what needs it, to a copy of a process that has it, as it takes more than a second to load.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from dataclasses import dataclass, field
from importlib import import_module
from multiprocessing.resource_tracker import ensure_running
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


@dataclass(frozen=True)
class Alongside:
    """Who does what a build hands over; `InTurn` where nothing else is said."""

    kernel: Executor = field(default_factory=InTurn)
    """What needs the CAD kernel."""
    meshes: Executor = field(default_factory=InTurn)
    """What does not."""


class _Beside(ProcessPoolExecutor):
    """A process of its own; where it cannot be started, or has died over one part, what follows is done in turn."""

    def submit(self, work: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        try:
            return super().submit(work, *args, **kwargs)
        except (BrokenExecutor, OSError):  # the latter where there is no room for a process
            return InTurn().submit(work, *args, **kwargs)


NEEDED: Final = (
    "moldgen.from_meshes",
    "moldgen.inspection.on_meshes",
    "moldgen.output.sheet.look",
    "moldgen.drawing.dxf",
    "ezdxf",
    "manifold3d",
    "shapely",
    "vtkmodules.vtkRenderingOpenGL2",
)
"""What the second process loads at once, some of which its work would only load when it first calls it."""


def mesh_process() -> Executor:
    """One more process, which does what it is handed while this one goes on; on a single core, `InTurn`.

    It starts loading what it needs right away. Only for programs whose main module may be imported a second time.
    """
    if os.cpu_count() == 1:
        return InTurn()
    process = _Beside(1, multiprocessing.get_context("spawn"), _belong_to_parent)
    with children_spared():
        process.submit(_load)
    return process


def kernel_process() -> Executor:
    """A copy of this process, made at once, with all that it has loaded; `InTurn` on a single core.

    Also where processes are not safely copied, once they have loaded libraries of the system: on anything but Linux.
    """
    if os.cpu_count() == 1 or sys.platform != "linux":
        return InTurn()
    process = _Beside(1, multiprocessing.get_context("fork"), _belong_to_parent)
    with children_spared():
        process.submit(os.getpid)
    return process


@contextlib.contextmanager
def children_spared() -> Iterator[None]:
    """Processes that the block starts never hear Ctrl-C, which a terminal sends to all: it is their parent's to heed.

    They take over that it is held back when they start; to do it as their first act would be too late, as the
    interpreter's own start takes a while. In this process it is put off, and so is a request to end: a child that is
    left half started complains.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    ensure_running()  # a helper that would be started first, and let go what is held back
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        with _put_off():
            yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextlib.contextmanager
def _put_off() -> Iterator[None]:
    """Keeps signals until the block has ended, also those that reach another thread, which a library may have begun."""
    kept: list[int] = []
    handlers = {}
    if threading.current_thread() is threading.main_thread():  # no other may choose who handles them
        # The alarm is how an interrupt comes that was put off before, in the midst of an import.
        for one in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGALRM):
            if callable(handler := signal.getsignal(one)):
                handlers[one] = handler
                signal.signal(one, lambda number, _: kept.append(number))
    try:
        yield
    finally:
        for one, handler in handlers.items():
            signal.signal(one, handler)
        for number in kept:
            signal.raise_signal(number)


def _load() -> None:
    for name in NEEDED:
        import_module(name)
    gc.freeze()  # what is loaded stays: to look through it again and again took a tenth of the work


def _belong_to_parent() -> None:
    """Ends when the parent has ended, however it did.

    At its own end it goes at once: to take its libraries down one by one costs a tenth of a second.
    """
    gc.set_threshold(100_000)
    for one in (signal.SIGTERM, signal.SIGHUP, signal.SIGALRM) if hasattr(signal, "SIGHUP") else ():
        signal.signal(one, signal.SIG_DFL)  # a copy has its parent's ways out, which are not for it to take
    Finalize(None, os._exit, (0,), exitpriority=0)
    parent = multiprocessing.parent_process()
    assert parent is not None

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
