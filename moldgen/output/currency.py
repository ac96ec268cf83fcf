"""Whether the build in a folder is still what its spec asks for. Needs no solids."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

from moldgen.case import Case
from moldgen.output.directory import JOB_FILE, SPEC_FILE
from moldgen.spec.document import kept_at, named_file

SAME_VOLUME: Final = 1e-6
"""Within this a build's record and today's plan are of one mold: each build proves its own volume to as much. The
record's last digit adds a little for a small mold."""


@dataclass(frozen=True, slots=True)
class CurrentBuild:
    """What is needed of a build that need not be made again."""

    folder: Path
    pour_mm3: float
    """Everything to be filled, as the build has it."""
    passed: bool
    """Whether all its proofs hold."""


def current_build(folder: Path, case: Case, *, pour_mm3: float) -> CurrentBuild | None:
    """The build in a folder if it was made from just this spec and nothing of it has changed since, else None.

    Spec and the files that it names are compared letter for letter, the files of the build with their digests, and
    the volume with what the plan gives today (`pour_mm3`). Another version may have drawn the mold otherwise.
    """
    try:
        record: dict[str, Any] = json.loads((folder / JOB_FILE).read_text(encoding="utf-8"))
        recorded_mm3 = float(record["volumes_mm3"]["pour"])
        passed = bool(record["inspection"]["passed"])
        current = (
            record["version"] == version("moldgen")
            and _same_spec(folder, case)
            and all(_unchanged(folder, entry) for entry in record["files"])
        )
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None  # no build, or one that can no longer be read: either way it has to be made
    # The record is written to three decimals.
    same_volume = abs(recorded_mm3 - pour_mm3) <= SAME_VOLUME * pour_mm3 + 0.0006
    return CurrentBuild(folder, recorded_mm3, passed) if current and same_volume else None


def _same_spec(folder: Path, case: Case) -> bool:
    home = Path(case.document.file).parent
    copy = (folder / SPEC_FILE).read_bytes().decode()
    # Some systems end the lines of the copy in another way.
    if copy.replace("\r\n", "\n") != case.document.text.replace("\r\n", "\n"):
        return False
    return all(
        (folder / kept_at(name)).read_bytes() == named_file(home, name).read_bytes() for name in case.named_files
    )


def _unchanged(folder: Path, entry: dict[str, Any]) -> bool:
    return bool(hashlib.sha256((folder / entry["path"]).read_bytes()).hexdigest() == entry["sha256"])
