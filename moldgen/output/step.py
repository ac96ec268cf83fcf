"""STEP files whose bytes repeat: the header's time is pinned and nothing in them names the machine."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from moldgen.parts import kernel

PINNED_TIME: Final = "2000-01-01T00:00:00"
_FILE_NAME = re.compile(rb"FILE_NAME\(.*?\);", re.DOTALL)


def write_step(bodies: Sequence[tuple[str, Any]], path: Path, title: str) -> None:
    """Writes one or several named solids, in millimetres."""
    kernel.write_step(bodies, path)
    head = f"FILE_NAME('{title}','{PINNED_TIME}',('moldgen'),(''),'','moldgen','');".encode("ascii", "replace")
    path.write_bytes(_FILE_NAME.sub(lambda _: head, path.read_bytes(), count=1))
