"""A folder that appears whole or not at all: put together beside its place and moved there at the end.

Whoever puts one together holds its lock until the process ends, however it ends. What lies beside a build without being
held was left by one that was killed; whoever asks for the part's build next clears it away.
"""

from __future__ import annotations

import contextlib
import glob
import hashlib
import os
import platform
import secrets
import shutil
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from moldgen.errors import OutputError

JOB_FILE: Final = "job.json"
"""Every number of a build."""
SPEC_FILE: Final = "spec.yaml"
"""The copy of the spec that it was made from."""
ATTEMPTS: Final = 20
"""Another build of the part can come between two moves; each time one of them gets its own through."""
ABANDONED_S: Final = 86_400.0
"""What another machine put on a disk that both see is left alone for a day: not every disk tells of its locks."""


@contextlib.contextmanager
def replaced(target: Path) -> Iterator[Path]:
    """A working folder that takes the target's place when the block ends well; else it vanishes.

    An earlier target stays untouched until then. Raises OutputError where it cannot be written.
    """
    if target.is_symlink():
        raise OutputError(f"{target}: it is a link, and what it points to is not overwritten. Remove the link.")
    for place in (target, *target.parents):
        if place.exists() and not place.is_dir():
            raise OutputError(f"{target}: {place} is a file and in the way. Move it, or choose another --out.")
    with _workplace(target) as work:
        yield work
        _put(work, target)


def written(path: Path, text: str) -> None:
    """Writes a file whole or not at all; an earlier one stands until then. Raises OutputError."""
    with _workplace(path) as work:
        made = work / path.name
        made.write_text(text, encoding="utf-8", newline="\n")
        made.replace(path)


@contextlib.contextmanager
def _workplace(target: Path) -> Iterator[Path]:
    """A folder beside the target that this process holds, and that is gone afterwards."""
    work, lock = _beside(target, "building"), None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        tidied(target)
        lock = _made_and_locked(work)
        yield work
    except OutputError as error:  # names a file where it was to be, not where it was put together
        raise OutputError(str(error).replace(str(work), str(target))) from error
    except OSError as error:
        raise OutputError(
            f"{target}: cannot be written ({error.strerror}). Check free space and permissions, or give another --out."
        ) from error
    finally:
        _removed(work)
        if lock is not None:
            os.close(lock)


def tidied(target: Path) -> None:
    """Clears away what killed builds of a target left beside it; a build that one had set aside is put back."""
    put_back(target)
    for leftover in (*_left(target, "replaced"), *_left(target, "building")):
        lock = _locked(leftover) if _ours(leftover) or _abandoned(leftover) else None
        if lock is not None:
            _removed(leftover)
            os.close(lock)


def put_back(target: Path) -> None:
    """Puts a build back into its place that one killed between two moves had set aside; for all who read builds.

    Where the disk can exchange two folders in one step, on Linux that is, there is no such moment.
    """
    for aside in () if target.exists() else _left(target, "replaced"):
        with contextlib.suppress(OSError):  # another build of the part has done it, or put its own there
            aside.rename(target)


def _beside(target: Path, what: str) -> Path:
    return target.parent / f".{target.name}.{what}-{_machine()}-{secrets.token_hex(4)}"


def _left(target: Path, what: str) -> list[Path]:
    return sorted(target.parent.glob(f".{glob.escape(target.name)}.{what}-*"))


def _ours(leftover: Path) -> bool:
    return f"-{_machine()}-" in leftover.name


def _abandoned(leftover: Path) -> bool:
    try:
        return time.time() - leftover.lstat().st_mtime > ABANDONED_S
    except FileNotFoundError:  # another build has just cleared it away
        return False


def _machine() -> str:
    return hashlib.sha256(platform.node().encode()).hexdigest()[:6]


def _made_and_locked(work: Path) -> int | None:
    """Makes a folder and holds it; None where folders cannot be held."""
    while True:
        work.mkdir()
        lock = _locked(work, wait=True)
        if work.exists():
            return lock
        if lock is not None:  # another build took it for a leftover in the instant before it was held
            os.close(lock)


def _locked(folder: Path, *, wait: bool = False) -> int | None:
    """A handle by which this process holds the folder until it is closed; None where another does or none can."""
    if sys.platform == "win32":
        return None
    import fcntl

    try:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    except OSError:
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        return None
    return handle


def _put(work: Path, target: Path) -> None:
    """Moves the finished folder to its place; where the disk can, it and the earlier one change places in one step."""
    for attempt in range(1, ATTEMPTS + 1):
        if _exchanged(work, target):
            return
        aside = _beside(target, "replaced")
        try:
            with contextlib.suppress(FileNotFoundError):
                target.rename(aside)
            work.rename(target)
            return
        except OSError:
            if attempt == ATTEMPTS or not target.exists():
                raise
        finally:
            if aside.exists() and not target.exists():  # stopped between the two moves, perhaps by an interrupt
                aside.rename(target)
            _removed(aside)


def _exchanged(one: Path, other: Path) -> bool:
    """Whether two folders have changed places in one step, so that there is no moment without either."""
    if sys.platform != "linux":
        return False
    import ctypes

    exchange = getattr(ctypes.CDLL(None), "renameat2", None)
    here, both = -100, 2  # AT_FDCWD and RENAME_EXCHANGE, see the manual page of rename(2)
    return exchange is not None and exchange(here, os.fsencode(one), here, os.fsencode(other), both) == 0


def _removed(folder: Path) -> None:
    """Removes a folder to the end also where an interrupt comes in between, which is only then passed on."""
    try:
        shutil.rmtree(folder, ignore_errors=True)
    except KeyboardInterrupt:
        shutil.rmtree(folder, ignore_errors=True)
        raise
