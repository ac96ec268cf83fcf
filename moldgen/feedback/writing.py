"""Puts new figures into the user's own YAML file: every other letter of it stays where it was.

The values are replaced in the text itself, at the places that the YAML reader reports, rather than by writing the whole
document anew: that would keep the comments, but not the person's indentation, quotes and columns. What comes out is
read again and must say what was meant before it takes the file's place in one step.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from moldgen.errors import OutputError
from moldgen.spec import document as documents
from moldgen.spec.document import Node


def with_values(text: str, *, section: str | None, values: Mapping[str, str], file: str, short: str = "") -> str:
    """The YAML text with some keys of a section set, the section added where it is missing.

    `section` None sets keys of the document itself. A section written short, as in `elastomer: pu_60a`, is written
    long, its value under the key `short`. Raises OutputError where the place is written in a way that cannot be
    changed without touching more than the value.

    >>> print(with_values("elastomer: pu_60a  # as bought", section="elastomer", values={"linear_shrinkage": "0.8 %"},
    ...                   file="spec.yaml", short="based_on"))
    elastomer: {based_on: pu_60a, linear_shrinkage: 0.8 %}  # as bought
    """
    before = documents.parse(text, file).data
    meant = _meant(before, section, values, short)
    new = text
    if section is not None and section not in before:
        new = _appended(text, section, values)
    else:
        behind = ""
        for key, value in values.items():
            new = _with_value(new, section, key, value, short, behind)
            behind = key
    if documents.parse(new, file).data != meant:
        where = f"`{section}`" if section else "the file"
        wanted = ", ".join(f"{key}: {value}" for key, value in values.items())
        raise OutputError(f"{file}: {where} is written in a way that is not changed here. Put in yourself: {wanted}.")
    return new


def _meant(data: dict[str, Node], section: str | None, values: Mapping[str, str], short: str) -> dict[str, Node]:
    if section is None:
        return {**data, **values}
    now = data.get(section)
    inside: dict[str, Node] = dict(now) if isinstance(now, dict) else {short: now} if isinstance(now, str) else {}
    return {**data, section: {**inside, **values}}


def _with_value(text: str, section: str | None, key: str, value: str, short: str, behind: str) -> str:
    root = _composed(text)
    if section is None:
        return _set_in(text, root, key, value, behind)
    holder = _value_of(root, section)
    if holder.id == "scalar":
        long = f"{{{key}: {_quoted(value)}}}"
        if holder.value:  # as typed, quotes and all
            typed = text[holder.start_mark.index : holder.end_mark.index]
            long = f"{{{short}: {typed}, {key}: {_quoted(value)}}}"
        gap = "" if text[holder.start_mark.index - 1].isspace() else " "
        return _replaced(text, holder, gap + long)
    return _set_in(text, holder, key, value, behind) if holder.id == "mapping" else text


def _composed(text: str) -> Any:
    import yaml

    return yaml.compose(text, Loader=yaml.SafeLoader)  # the C reader counts its marks in another way


def _value_of(mapping: Any, key: str) -> Any:
    return next((value for name, value in mapping.value if name.value == key), None)


def _set_in(text: str, mapping: Any, key: str, value: str, behind: str) -> str:
    """A key of a mapping node set: its value replaced, or the key put in behind another one, else behind the first."""
    old = _value_of(mapping, key)
    if old is not None:
        gap = "" if text[old.start_mark.index - 1].isspace() else " "
        return _replaced(text, old, gap + _quoted(value))
    entry = f"{key}: {_quoted(value)}"
    if mapping.flow_style:
        if not mapping.value:
            return _inserted(text, mapping.end_mark.index - 1, entry)
        # Straight after the last value: between it and the brace there may be a comment.
        return _inserted(text, mapping.value[-1][1].end_mark.index, f", {entry}")
    first, before = mapping.value[0][0].start_mark, _value_of(mapping, behind) or mapping.value[0][1]
    indent = " " * first.column
    below = text.find("\n", before.end_mark.index) + 1
    if before.id != "scalar" or below == 0:  # where a list ends is not known well enough: put it at the top
        return _inserted(text, first.index, entry + _newline(text) + indent)
    return _inserted(text, below, indent + entry + _newline(text))


def _inserted(text: str, at: int, what: str) -> str:
    return text[:at] + what + text[at:]


def _replaced(text: str, node: Any, by: str) -> str:
    """The text with a node's own letters exchanged; left as it is where comments stand between them."""
    own = text[node.start_mark.index : node.end_mark.index]
    if node.id != "scalar" and (not node.flow_style or "#" in own):
        return text
    return text[: node.start_mark.index] + by + text[node.end_mark.index :]


def _appended(text: str, section: str, values: Mapping[str, str]) -> str:
    newline = _newline(text)
    lines = [f"{section}:", *(f"  {key}: {_quoted(value)}" for key, value in values.items())]
    return text + ("" if text.endswith(newline) else newline) + newline + "".join(line + newline for line in lines)


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _quoted(value: str) -> str:
    """The value as it can stand in a flow mapping: plain where that is safe."""
    safe = value and all(c.isalnum() or c in " .%±_-/" for c in value) and value[0].isalnum() and value == value.strip()
    return value if safe else json.dumps(value, ensure_ascii=False)


def replace_file(path: Path, *, old: bytes, new: bytes) -> None:
    """The file with new content, in one step, and only if it still holds `old`. Raises OutputError."""
    target = path.resolve()
    work = target.with_name(f".{target.name}.writing-{secrets.token_hex(4)}")
    try:
        if target.read_bytes() != old:
            raise OutputError(f"{path}: it was changed while this ran, and is left as it is. Start again.")
        with work.open("xb") as file:
            file.write(new)
            file.flush()
            os.fsync(file.fileno())
        work.chmod(target.stat().st_mode & 0o777)
        work.replace(target)
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror}). Check permissions and free space.") from error
    finally:
        with contextlib.suppress(FileNotFoundError):
            work.unlink()
