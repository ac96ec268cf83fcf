"""PDFs taken apart as a printer would: the text of each page, and every straight line with its length on the paper."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path

from pypdf import PdfReader
from pypdf.generic import ContentStream, DictionaryObject

PT_PER_MM = 72.0 / 25.4
"""ISO 32000-1, 8.3.2.3: a unit of default user space is 1/72 inch."""
Matrix = tuple[float, float, float, float, float, float]
PLAIN: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def texts(path: Path) -> list[str]:
    """Of each page, with all white space left out."""
    return [re.sub(r"\s+", "", page.extract_text()) for page in PdfReader(path).pages]


def lines_mm(path: Path, number: int) -> list[float]:
    """Lengths of all straight lines of a page, those within its drawings too."""
    reader = PdfReader(path)
    page = reader.pages[number]
    return [length / PT_PER_MM for length in _lengths(page.get_contents(), page["/Resources"], PLAIN, reader)]


def _lengths(stream: object, resources: DictionaryObject, outer: Matrix, reader: PdfReader) -> Iterator[float]:
    now, kept = outer, []
    here = (0.0, 0.0)
    for operands, operator in ContentStream(stream, reader).operations:
        if operator == b"q":
            kept.append(now)
        elif operator == b"Q":
            now = kept.pop()
        elif operator == b"cm":
            now = _within(tuple(float(x) for x in operands), now)
        elif operator in (b"m", b"l"):
            there = _at(float(operands[0]), float(operands[1]), now)
            if operator == b"l":
                yield math.dist(here, there)
            here = there
        elif operator == b"Do":
            form = resources["/XObject"][operands[0]].get_object()
            if form["/Subtype"] == "/Form":
                inner = _within(tuple(float(x) for x in form.get("/Matrix", PLAIN)), now)
                yield from _lengths(form, form.get("/Resources", resources), inner, reader)


def _at(x: float, y: float, m: Matrix) -> tuple[float, float]:
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


def _within(inner: Matrix, outer: Matrix) -> Matrix:
    (a, b), (c, d) = _turned(inner[0], inner[1], outer), _turned(inner[2], inner[3], outer)
    return (a, b, c, d, *_at(inner[4], inner[5], outer))


def _turned(x: float, y: float, m: Matrix) -> tuple[float, float]:
    return m[0] * x + m[2] * y, m[1] * x + m[3] * y
