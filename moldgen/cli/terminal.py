"""Words and tables on standard output: wrapped to the terminal's width, with colour only where it shows.

A library could do it, but importing it takes longer than to size a part; and what a person wrote into a spec, square
brackets or not, is printed as it stands.
"""

from __future__ import annotations

import contextlib
import os
import re
import sys
import unicodedata
from collections.abc import Iterator
from typing import Final, Literal

USUAL_WIDTH: Final = 80
"""Where the output goes to a file, and nothing says otherwise."""
GAP: Final = "   "
"""Between columns, where there is room."""

Mark = Literal["strong", "faint", "good", "mind", "bad"]
_CODES: Final[dict[Mark, str]] = {"strong": "1", "faint": "2", "good": "32", "mind": "33", "bad": "1;31"}
_END: Final = "\x1b[0m"
_ESCAPE: Final = re.compile(r"\x1b\[[0-9;]*m")


def marked(text: str, mark: Mark) -> str:
    """The text in colour or in bold letters, if standard output is a terminal that has them."""
    plain = "NO_COLOR" in os.environ or os.environ.get("TERM") == "dumb"
    plain |= os.name == "nt" and "WT_SESSION" not in os.environ  # the old console shows the codes themselves
    return text if plain or not sys.stdout.isatty() else f"\x1b[{_CODES[mark]}m{text}{_END}"


def say(text: str) -> None:
    """Prints a paragraph; where it is wrapped, its other lines are indented like the first."""
    indent = " " * (len(text) - len(text.lstrip(" ")))
    first, *others = wrapped(text.lstrip(" "), max(1, width() - len(indent)))
    print(indent + first)
    for line in others:
        print((indent + line).rstrip())


class Table:
    """Columns under a title each, the numbers among them flush right."""

    def __init__(self, *columns: tuple[str, bool]) -> None:
        """Each column by its title and whether it is flush right."""
        self._titles = tuple(title for title, _ in columns)
        self._right = tuple(right for _, right in columns)
        self._rows: list[tuple[str, ...]] = []

    def add_row(self, *cells: str) -> None:
        self._rows.append(cells)

    def add_gap(self) -> None:
        """An empty line."""
        self._rows.append(("",) * len(self._titles))

    def show(self) -> None:
        """Prints it, as wide as it needs to be or as there is room."""
        widths, gap = self._laid_out(width())
        rule = "─" if (sys.stdout.encoding or "").lower().startswith("utf") else "-"
        self._show_row(self._titles, widths, gap)
        print(rule * (sum(widths) + len(gap) * (len(widths) - 1)))
        for row in self._rows:
            self._show_row(row, widths, gap)

    def _laid_out(self, room: int) -> tuple[list[int], str]:
        """Width of each column and what is between them. With too little room the widest give way, cut words last."""
        columns = list(zip(self._titles, *self._rows, strict=True))
        widths = [max(_room(line) for cell in column for line in cell.split("\n")) for column in columns]
        longest_words = [max((_room(w) for cell in column for w in cell.split()), default=1) for column in columns]
        gap = GAP if sum(longest_words) + len(GAP) * (len(widths) - 1) <= room else " "
        room -= len(gap) * (len(widths) - 1)
        for least in (longest_words, [1] * len(widths)):
            while sum(widths) > room and any(one > low for one, low in zip(widths, least, strict=True)):
                _, widest = max((one, i) for i, one in enumerate(widths) if one > least[i])
                widths[widest] -= 1
        return widths, gap

    def _show_row(self, cells: tuple[str, ...], widths: list[int], gap: str) -> None:
        columns = [list(wrapped(cell, room)) for cell, room in zip(cells, widths, strict=True)]
        for i in range(max(map(len, columns))):
            line = []
            for lines, room, right in zip(columns, widths, self._right, strict=True):
                text = lines[i] if i < len(lines) else ""
                blank = " " * (room - _room(text))
                line.append(blank + text if right else text + blank)
            print(gap.join(line).rstrip())


def wrapped(text: str, room: int) -> Iterator[str]:
    """The text in lines of at most so many letters, at least one line; a mark that a line leaves open ends with it.

    >>> list(wrapped("Look at the first one again.", 12))
    ['Look at the', 'first one', 'again.']
    """
    mark = ""
    for line in _lines(text, room):
        codes = _ESCAPE.findall(line)
        before, mark = mark, ("" if codes[-1] == _END else codes[-1]) if codes else mark
        yield before + line + (_END if mark else "")


def _lines(text: str, room: int) -> Iterator[str]:
    for paragraph in text.split("\n"):
        line = ""
        for word in re.findall(r"\s*\S+\s*", paragraph):
            if line and _room(line) + _room(word.rstrip()) > room:
                yield line.rstrip()
                line = ""
            line += word
            while _room(line.rstrip()) > room:  # a word longer than a line
                cut = next(i for i in range(len(line), 0, -1) if _room(line[:i]) <= room or i == 1)
                yield line[:cut]
                line = line[cut:]
        yield line.rstrip()


def _room(text: str) -> int:
    """How many letters wide it is: some scripts take two places for a sign, and accents of their own take none."""
    text = _ESCAPE.sub("", text)
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text
    )


def width() -> int:
    """Letters in a line: what COLUMNS says, else of the terminal that any of the standard streams is."""
    said = os.environ.get("COLUMNS", "")
    if said.isdecimal() and int(said) > 0:
        return int(said)
    for stream in (1, 2, 0):
        with contextlib.suppress(OSError):
            if (columns := os.get_terminal_size(stream).columns) > 0:
                return columns
    return USUAL_WIDTH
