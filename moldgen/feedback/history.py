"""`history.yaml` of a build: its revisions, what was measured on them, what was changed, and why.

Entries are only ever added at the end, so notes that a person writes between them stay. A build's entry carries no
date: the same spec must give the same folder.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from moldgen.errors import OutputError

HISTORY_FILE: Final = "history.yaml"
HEAD: Final = "# What became of this part: builds, what was measured on them, what was changed, and why.\n"
LARGEST: Final = 1_000_000


def carried_over(earlier: Path, folder: Path, *, revision: int, spec_text: str, mold_mm: Mapping[str, float]) -> None:
    """Writes the history of a new build: that of the build it replaces, and an entry where the spec is another."""
    text = _text(earlier)
    digest = hashlib.sha256(spec_text.encode()).hexdigest()
    last = next((entry for entry in reversed(_entries(text, earlier)) if "built" in entry), None)
    if last is None or last["built"].get("spec_sha256") != digest:
        mold = {name: round(value, 3) for name, value in mold_mm.items()}
        text += _dumped({"built": {"revision": revision, "spec_sha256": digest, "mold": mold}})
    (folder / HISTORY_FILE).write_text(text, encoding="utf-8")


def noted(folder: Path, what: str, entry: Mapping[str, Any]) -> None:
    """Adds an entry to the history of an earlier build. Raises OutputError where that cannot be written."""
    text = _text(folder) + _dumped({what: dict(entry)})
    path = folder / HISTORY_FILE
    work = path.with_name(f".{HISTORY_FILE}.writing")
    try:
        work.write_text(text, encoding="utf-8")
        work.replace(path)
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror}). Check permissions and free space.") from error


def entries(folder: Path) -> tuple[Mapping[str, Any], ...]:
    """All entries of a build's history, oldest first; none where there is no history."""
    return tuple(_entries(_text(folder), folder))


def _text(folder: Path) -> str:
    path = folder / HISTORY_FILE
    try:
        if path.stat().st_size > LARGEST:
            raise OutputError(f"{path}: larger than 1 MB. Move it away; a new one is begun.")
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return HEAD
    except (OSError, UnicodeDecodeError) as error:
        raise OutputError(f"{path}: cannot be read ({error}). Move it away; a new one is begun.") from error
    return text if text.endswith("\n") else text + "\n"


def _entries(text: str, folder: Path) -> list[dict[str, Any]]:
    import yaml

    try:
        entries = yaml.safe_load(text) or []
    except (yaml.YAMLError, RecursionError) as error:
        raise OutputError(f"{folder / HISTORY_FILE}: it is no longer YAML. Mend it, or move it away.") from error
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise OutputError(f"{folder / HISTORY_FILE}: it is not a list of entries. Mend it, or move it away.")
    return entries


def _dumped(entry: dict[str, Any]) -> str:
    import yaml

    return yaml.safe_dump([entry], sort_keys=False, allow_unicode=True, width=110)
