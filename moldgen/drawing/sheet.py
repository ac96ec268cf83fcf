"""The sheet round the views: frame, title block with our own projection symbol, scales, and how views are set out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from moldgen.drawing.letters import fitted, ratio, text_width_mm
from moldgen.drawing.model import Drawing, Item, Text, View, line, outline
from moldgen.shapes import Path, Point, Vertex, circle, rectangle

WIDTH_MM: Final = 180.0
"""Drawing space of an A4 sheet within its frame (ISO 5457: 210 mm less a 20 mm and a 10 mm margin)."""
HEIGHT_MM: Final = 277.0
"""The same, upright: 297 mm less two margins of 10 mm."""
SCALES: Final = (20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05)
"""ISO 5455, largest first."""
MARGIN_MM: Final = 6.0
TITLE_MM: Final = 22.0
NOTE_MM: Final = 2.5
NOTE_PITCH_MM: Final = 4.6


Titled = tuple[View, str]


@dataclass(frozen=True, slots=True)
class Title:
    """What the title block says."""

    name: str
    what: str
    elastomer: str
    machine: str
    revision: int


def sheet(title: Title, *, scale: float, views: Sequence[View], notes: Sequence[str], height_mm: float) -> Drawing:
    """The drawing: views where they stand, notes and title block below them, a frame round all."""
    base = TITLE_MM + MARGIN_MM
    texts = tuple(Text(*_note(note, base + NOTE_PITCH_MM * (len(notes) - 1 - i))) for i, note in enumerate(notes))
    frame = View("sheet", 1.0, (*_title_block(title, scale), *texts, outline(rectangle(0.0, 0.0, WIDTH_MM, height_mm))))
    return Drawing(title.name, f"{title.name}: {title.what}", scale, WIDTH_MM, height_mm, (*views, frame))


def _note(note: str, y: float) -> tuple[str, Point, float]:
    text, height = fitted(note, height_mm=NOTE_MM, room_mm=WIDTH_MM - 2.0 * MARGIN_MM, least_mm=1.8)
    return text, Point(MARGIN_MM, y), height


def wrapped(pieces: Sequence[str], *, room_mm: float = WIDTH_MM - 2.0 * MARGIN_MM) -> Iterator[str]:
    """Short pieces joined into as few lines as a width allows."""
    row = ""
    for piece in pieces:
        longer = f"{row} · {piece}" if row else piece
        if row and text_width_mm(longer, height_mm=NOTE_MM) > room_mm:
            yield row
            longer = piece
        row = longer
    if row:
        yield row


def below_views_mm(notes: Sequence[str]) -> float:
    """Height that notes and title block take."""
    return TITLE_MM + MARGIN_MM + NOTE_PITCH_MM * len(notes) + (4.0 if notes else 0.0)


@dataclass(frozen=True, slots=True)
class Arranged:
    """Views set out on the sheet, and the height that they take from `y = 0` up."""

    views: tuple[View, ...]
    height_mm: float


def largest(
    compose: Callable[[float], Arranged | None], *, room_mm: float, most: float = SCALES[0]
) -> tuple[float, Arranged]:
    """The views at the largest standard scale at which they fit the width and a height.

    If none fits the height, the sheet grows by as little as any scale allows.
    """
    tallest: list[tuple[float, float, Arranged]] = []
    for scale in SCALES:
        if scale > most or (arranged := compose(scale)) is None:
            continue
        if arranged.height_mm <= room_mm:
            return scale, arranged
        tallest.append((arranged.height_mm, scale, arranged))
    _, scale, arranged = min(tallest, key=lambda one: one[:2])
    return scale, arranged


def in_row(views: Sequence[View], *, gap_mm: float) -> Arranged | None:
    """Views side by side, their own origins at one height, the room left over shared out; None if too wide."""
    boxes = [view.box for view in views]
    width = sum(box.x1 - box.x0 for box in boxes)
    room = WIDTH_MM - 2.0 * MARGIN_MM
    if width + gap_mm * (len(views) - 1) > room:
        return None
    share = (room - width) / (len(views) + 1)
    low, high = min(box.y0 for box in boxes), max(box.y1 for box in boxes)
    x = MARGIN_MM + share
    placed = []
    for view, box in zip(views, boxes, strict=True):
        placed.append(view.moved(x - box.x0, -low))
        x += box.x1 - box.x0 + share
    return Arranged(tuple(placed), high - low)


def in_rows(views: Sequence[Titled], *, gap_mm: float) -> list[Arranged] | None:
    """Views with their titles, as many to a row as fit; None if one alone is too wide."""
    rows: list[Arranged] = []
    waiting = list(views)
    while waiting:
        for count in range(len(waiting), 0, -1):
            row = in_row(entitled(waiting[:count]), gap_mm=gap_mm)
            if row is not None:
                rows.append(row)
                waiting = waiting[count:]
                break
        else:
            return None
    return rows


def in_column(rows: Sequence[Arranged], *, gap_mm: float) -> Arranged:
    """Rows one above the other, the first on top."""
    y = 0.0
    out: list[View] = []
    for row in reversed(rows):
        out = [view.moved(0.0, y) for view in row.views] + out
        y += row.height_mm + gap_mm
    return Arranged(tuple(out), y - gap_mm)


def entitled(views: Sequence[Titled]) -> tuple[View, ...]:
    """Views of one row with their titles over them, at one height."""
    top = max(view.box.y1 for view, _ in views) + 4.0
    return tuple(replace(view, items=(*view.items, _view_title(view, title, top))) for view, title in views)


def _view_title(view: View, title: str, y: float) -> Text:
    box = view.box
    return Text(title, Point(0.5 * (box.x0 + box.x1), y), 3.5, "middle", bold=True)


def _title_block(title: Title, scale: float) -> Iterator[Item]:
    width, height = WIDTH_MM, TITLE_MM
    half = 0.5 * height
    yield line((0.0, height), (width, height), "outline")
    for x in (70.0, 126.0, 150.0):
        yield line((x, 0.0), (x, height), "thin")
    yield line((70.0, half), (150.0, half), "thin")
    yield from _cell("", title.name, 0.0, 70.0, half, 5.0)
    yield from _cell("", title.what, 0.0, 70.0, 1.0, 3.5)
    yield from _cell("Rubber", title.elastomer, 70.0, 126.0, half, 3.0)
    yield from _cell("Machine", title.machine, 70.0, 126.0, 0.0, 3.0)
    yield from _cell("Scale", ratio(scale), 126.0, 150.0, half, 3.5)
    yield from _cell("Lengths", "mm", 126.0, 140.0, 0.0, 3.5)
    yield from _cell("Rev.", str(title.revision), 139.0, 150.0, 0.0, 3.5)
    yield from _projection_symbol(165.0, half + 1.5)
    yield Text("first angle", Point(165.0, 2.2), 2.0, "middle")


def _cell(label: str, value: str, x0: float, x1: float, y0: float, height: float) -> Iterator[Item]:
    bold = height >= 5.0
    text, size = fitted(value, height_mm=height, room_mm=x1 - x0 - 4.0, least_mm=2.0, bold=bold)
    if label:
        yield Text(label, Point(x0 + 2.0, y0 + 8.0), 1.6)
    yield Text(text, Point(x0 + 2.0, y0 + 2.6), size, bold=bold)


def _projection_symbol(x: float, y: float) -> Iterator[Item]:
    """A blunted cone from the side and, to its right, from its thin end: what is seen from the left stands right."""
    cone = Path(
        (Vertex(x - 11.0, y - 1.75), Vertex(x - 2.0, y - 3.5), Vertex(x - 2.0, y + 3.5), Vertex(x - 11.0, y + 1.75))
    )
    yield outline(cone)
    for radius in (1.75, 3.5):
        yield outline(circle(radius, x + 6.0, y))
    yield line((x - 12.5, y), (x + 11.0, y), "centre")
    yield line((x + 6.0, y - 5.0), (x + 6.0, y + 5.0), "centre")
