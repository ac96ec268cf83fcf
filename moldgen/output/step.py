"""STEP files whose bytes repeat: the header's time is pinned and nothing in them names the machine."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from moldgen.parts import kernel

PINNED_TIME: Final = "2000-01-01T00:00:00"
_FILE_NAME = re.compile(rb"FILE_NAME\(.*?\);", re.DOTALL)
_PRODUCT = re.compile(rb"PRODUCT\('([^']*) \d+',\s*'\1 \d+'")
"""The kernel counts on behind every product's name, over all the files that one run writes."""
_ROUNDING = re.compile(rb"([(,])(?:-?\d\.\d*E-(?:1[3-9]|[2-9]\d|\d{3})|-0\.(?=[,)]))")
"""Numbers that stand for zero. Of two faces in one plane the kernel keeps either, by where they lie in memory."""
_NUMBER = re.compile(rb"#(\d+)")
_DATA, _END = b"DATA;\n", b"ENDSEC;\nEND-ISO-10303-21;"
_BREAK = re.compile(rb"\n +")
"""A line broken within an entity, which depends on how long its numbers are."""


def write_step(bodies: Sequence[tuple[str, Any]], path: Path, title: str) -> None:
    """Writes one or several named solids, in millimetres."""
    kernel.write_step(bodies, path)
    text = _entitled(path.read_bytes(), title)
    path.write_bytes(_ROUNDING.sub(rb"\g<1>0.", _BREAK.sub(b"", _recounted(text))))


def write_assembly(parts: Sequence[Path], others: Sequence[tuple[str, Any]], path: Path, title: str) -> None:
    """Writes one file of what stands in files of `write_step` already, and of other named solids.

    The kernel would take as long over the former again as it took at first. Their entities are taken over instead,
    numbered on from those before.
    """
    texts = [part.read_bytes() for part in parts]
    if others:
        write_step(others, path, title)
        texts.append(path.read_bytes())
    head, entities, end = _parted(texts[0])
    for text in texts[1:]:
        last = int(entities[entities.rindex(b"\n#") + 2 :].split(b" ", 1)[0])
        entities += _numbered_on(_parted(text)[1], last)
    path.write_bytes(_entitled(head + entities + end, title))


def _parted(text: bytes) -> tuple[bytes, bytes, bytes]:
    """A file's head, its entities, one a line, and its end."""
    begin, end = text.index(_DATA) + len(_DATA), text.rindex(_END)
    return text[:begin], text[begin:end], text[end:]


def _numbered_on(entities: bytes, last: int) -> bytes:
    return _NUMBER.sub(lambda match: b"#%d" % (int(match[1]) + last), entities)


def _entitled(text: bytes, title: str) -> bytes:
    head = f"FILE_NAME('{title}','{PINNED_TIME}',('moldgen'),(''),'','moldgen','');".encode("ascii", "replace")
    return _FILE_NAME.sub(lambda _: head, text, count=1)


def _recounted(text: bytes) -> bytes:
    """Each product under its body's name, further ones of the same name counted within this file."""
    seen: Counter[bytes] = Counter()

    def named(match: re.Match[bytes]) -> bytes:
        seen[match[1]] += 1
        name = match[1] if seen[match[1]] == 1 else b"%s %d" % (match[1], seen[match[1]])
        return b"PRODUCT('%s','%s'" % (name, name)

    return _PRODUCT.sub(named, text)
