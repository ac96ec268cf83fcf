"""A folder that appears whole or not at all: put together beside its place and moved there at the end."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from moldgen.errors import OutputError

JOB_FILE: Final = "job.json"
"""Every number of a build."""
SPEC_FILE: Final = "spec.yaml"
"""The copy of the spec that it was made from."""


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
    mark = f"{os.getpid()}-{secrets.token_hex(3)}"
    work = target.parent / f".{target.name}.building-{mark}"
    aside = target.parent / f".{target.name}.replaced-{mark}"
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        work.mkdir()
        yield work
        if target.exists():
            target.rename(aside)
        work.rename(target)
    except OSError as error:
        raise OutputError(
            f"{target}: cannot be written ({error.strerror}). Check free space and permissions, or give another --out."
        ) from error
    finally:
        shutil.rmtree(work, ignore_errors=True)
        if aside.exists() and not target.exists():  # stopped between the two moves, perhaps by an interrupt
            aside.rename(target)
        shutil.rmtree(aside, ignore_errors=True)
