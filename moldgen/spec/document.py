"""A YAML file as nested dicts and lists of plain texts, with the line of every key, read defensively.

Numbers stay text, so that `1/2 in` and `0.10` arrive as typed. Anchors, aliases, tags, duplicate keys, deep nesting,
several documents, large files and endless lists are refused: a spec needs none of them, and each has been used to do
harm or has silently lost a value. Control characters are refused as well, escaped ones too: in a message they would
steer the terminal, and no drawing can hold them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePath
from typing import Any, Final, TypeAlias

from moldgen.errors import OutputError, Problem, SpecError

LARGEST_FILE: Final = 1_000_000
DEEPEST_NESTING: Final = 12
MOST_ENTRIES: Final = 20_000
"""Keys and values together: an outline of a thousand rounded corners has 5000."""
SPEC_FILES: Final = "spec_files"
"""Folder of a build that keeps copies of the files which its spec names."""

_UNFIT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
"""Control characters but tab and line ends, other line ends, what turns the writing direction, and no characters."""

Node: TypeAlias = "str | list[Node] | dict[str, Node] | None"
Place: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True)
class Document:
    """What a YAML file says, and where it says it."""

    file: str
    data: dict[str, Node]
    lines: dict[Place, int] = field(default_factory=dict)
    text: str = ""

    def line(self, place: Place) -> int:
        """The line of a field, or of the nearest section around it that the file has; 1 for the file as a whole."""
        while place and place not in self.lines:
            place = place[:-1]
        return self.lines.get(place, 1)

    def given(self, place: Place) -> str:
        """The field as typed, or "missing"."""
        node: Node = self.data
        for step in place:
            if isinstance(node, dict) and isinstance(step, str) and step in node:  # noqa: SIM114 (types)
                node = node[step]
            elif isinstance(node, list) and isinstance(step, int) and step < len(node):
                node = node[step]
            else:
                return "missing"
        if node is None or node == "":
            return "empty"
        text = node if isinstance(node, str) else _shown(node)
        return text if len(text) <= 60 else text[:57] + "..."

    def problem(self, place: Place, *, limit: str, way_out: str, given: str | None = None) -> Problem:
        """A Problem at a place of this file."""
        return Problem(
            file=self.file,
            line=self.line(place),
            field=spelled(place) or "the file",
            given=self.given(place) if given is None else given,
            limit=limit,
            way_out=way_out,
        )


def spelled(place: Place) -> str:
    """A place as people write it: `drive.pulleys[2].turns`."""
    out = ""
    for step in place:
        out += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if out else step
    return out


def kept_at(name: str) -> PurePath:
    """Where a build keeps its copy of a file that its spec names, as seen from the build's copy of the spec.

    A folder of its own, so that no drawing of the person's is taken for one that the build makes; and below it
    whatever the name says.

    >>> kept_at("../shop/blue.yaml").as_posix()
    'spec_files/shop/blue.yaml'
    """
    path = PurePath(name)
    return PurePath(SPEC_FILES, *(part for part in path.parts if part not in (path.anchor, "..")))


def named_file(folder: Path, name: str) -> Path:
    """The file that a spec in this folder names; in a build's folder, the build's own copy of it."""
    kept = folder / kept_at(name)
    try:
        return kept if kept.is_file() else folder / name
    except OSError:  # a name that no file can have; what reads it says so
        return folder / name


def read(path: Path) -> Document:
    """The document in a file. Raises SpecError for what the person can mend, OutputError if it cannot be read."""
    file = path.as_posix()
    try:
        if not path.is_file():
            raise OutputError(
                f"{file}: there is no such file. Give the path of a spec, or make one with `moldgen new`."
            )
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise SpecError(
                (_file_problem(file, "larger than 1 MB", "a spec may hold 1 MB at most", "Give the spec itself."),)
            )
        raw = path.read_bytes() if size else b""  # a system's log is a file of no size that one waits at
    except OSError as error:
        raise OutputError(f"{file}: cannot be read ({error.strerror}). Check the path and its permissions.") from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise SpecError(
            (_file_problem(file, "not UTF-8 text", "a spec is a YAML text file", "Save it as UTF-8 text.", line),)
        ) from error
    return parse(text, file)


def parse(text: str, file: str) -> Document:
    """The document in a YAML text; `file` is only used in messages."""
    import yaml  # here, so that commands which read no file do not pay for it

    refuse_control_characters(text, file)
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    builder = _Builder(file)
    try:
        builder.build(yaml.parse(text, Loader=loader))
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        raise SpecError(
            (
                _file_problem(
                    file,
                    "not YAML",
                    f"{error.problem or 'the text cannot be read'}",
                    "Check indentation, colons and quotes on this line; `moldgen new FAMILY` writes a sound one.",
                    1 if mark is None else mark.line + 1,
                ),
            )
        ) from error
    except yaml.YAMLError as error:
        raise SpecError(
            (_file_problem(file, "not YAML", "the text cannot be read", "Save it as plain text."),)
        ) from error
    if builder.problems:
        raise SpecError(tuple(builder.problems))
    if not isinstance(builder.root, dict):
        raise SpecError(
            (
                _file_problem(
                    file,
                    "not a list of `key: value` lines",
                    "a spec has sections such as `family`, `measured`, `wanted`",
                    "Start from `moldgen new FAMILY`.",
                ),
            )
        )
    return Document(file=file, data=builder.root, lines=builder.lines, text=text)


def refuse_control_characters(text: str, file: str) -> None:
    """Raises SpecError at the first one."""
    if (unfit := _UNFIT.search(text)) is not None:
        line = text.count("\n", 0, unfit.start()) + 1
        limit, way_out = "it is read as plain text", "Delete it."
        raise SpecError((_file_problem(file, "a control character", limit, way_out, line),))


def _file_problem(file: str, given: str, limit: str, way_out: str, line: int = 1) -> Problem:
    return Problem(file=file, line=line, field="the file", given=given, limit=limit, way_out=way_out)


def _shown(node: Node) -> str:
    if isinstance(node, dict):
        return "{" + ", ".join(f"{key}: {_shown(value)}" for key, value in node.items()) + "}"
    if isinstance(node, list):
        return "[" + ", ".join(_shown(item) for item in node) + "]"
    return "" if node is None else str(node)


class _Builder:
    """Turns parser events into nodes; events are flat, so nesting cannot exhaust the stack."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.root: Node = None
        self.lines: dict[Place, int] = {}
        self.problems: list[Problem] = []
        self._stack: list[tuple[dict[str, Node] | list[Node], Place]] = []
        self._key: list[str | None] = []
        self._entries = 0

    def build(self, events: Iterator[Any]) -> None:
        import yaml

        documents = 0
        for event in events:
            line = event.start_mark.line + 1
            if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
                self._refuse(
                    line, "an anchor or alias (& or *)", "a spec repeats nothing by reference", "Write the value out."
                )
            if tag := getattr(event, "tag", None):
                self._refuse(line, f"a tag ({tag})", "a spec needs no tags", "Delete it.")
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._refuse(
                        line, "a second document (---)", "one file holds one part", "Use one file for each part."
                    )
            elif isinstance(event, yaml.ScalarEvent):
                if _UNFIT.search(event.value):
                    self._refuse(line, "an escaped control character", "it is read as plain text", "Delete it.")
                plain_null = not event.style and event.value in ("", "~", "null")
                self._add(None if plain_null else event.value, line)
            elif isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
                if len(self._stack) >= DEEPEST_NESTING:
                    self._refuse(line, "too deeply nested", f"{DEEPEST_NESTING} levels are the most", "Flatten it.")
                container: dict[str, Node] | list[Node] = {} if isinstance(event, yaml.MappingStartEvent) else []
                place = self._add(container, line)
                self._stack.append((container, place))
                self._key.append(None)
            elif isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
                self._stack.pop()
                self._key.pop()

    def _refuse(self, line: int, given: str, limit: str, way_out: str) -> None:
        # These leave the tree unsound, so reading stops at the first.
        raise SpecError((_file_problem(self.file, given, limit, way_out, line),))

    def _add(self, node: Node, line: int) -> Place:
        self._entries += 1
        if self._entries > MOST_ENTRIES:
            self._refuse(
                line, "too long", f"{MOST_ENTRIES} keys and values are the most", "Leave out what is not needed."
            )
        if not self._stack:
            self.root = node
            return ()
        container, place = self._stack[-1]
        if isinstance(container, list):
            here: Place = (*place, len(container))
            container.append(node)
            self.lines[here] = line
            return here
        key = self._key[-1]
        if key is None:
            if not isinstance(node, str) or not node:
                self._refuse(line, "a key that is not a word", "keys are plain words", "Write `key: value`.")
            assert isinstance(node, str)
            here = (*place, node)
            if node in container:
                self.problems.append(
                    Problem(
                        file=self.file,
                        line=line,
                        field=spelled(here),
                        given="given twice",
                        limit=f"it stands on line {self.lines[here]} already",
                        way_out="Keep one of the two.",
                    )
                )
            else:
                self.lines[here] = line
            self._key[-1] = node
            return here
        here = (*place, key)
        container[key] = node
        self._key[-1] = None
        return here
