"""Joins loose lines and arcs, drawn in any order and sense, to closed contours."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final, TypeAlias

from moldgen.outlines.contour import Contour, Fault, Piece
from moldgen.outlines.reading import UnreadableDrawingError
from moldgen.shapes import Edge, Path, Point, Vertex

GAP_MM: Final = 0.02
"""Ends no farther apart are one corner: drawings are often saved to a hundredth of a millimetre."""
MEET_MM: Final = 1e-4
"""Ends this close meet as drawn; looking for these first keeps outlines of very short lines apart."""
ALIKE_MM: Final = 1e-3
"""A line that agrees with another to this in both ends and its middle is that line drawn again."""
MOST_ENDS: Final = 100
"""So many lines that end in one place are no outline."""
MOST_TOLD: Final = 20
"""Faults named; more would not help."""
POINT_MM: Final = 1e-6
"""Shorter edges are dropped."""

End: TypeAlias = tuple[int, int]
"""Number of a piece, and 0 for its start or 1 for its end."""


def chained(pieces: Iterable[Piece]) -> tuple[tuple[Contour, ...], tuple[Fault, ...]]:
    """Closed contours, anticlockwise, in the order drawn; and a fault wherever lines do not go on in just one way."""
    contours: list[Contour] = []
    loose: list[Piece] = []
    faults: list[Fault] = []
    for piece in pieces:
        if piece.closed:
            contours += _contour((piece,))
        elif len(piece.vertices) > 1:
            loose.append(piece)
    loose, doubled = _once(loose)
    faults += doubled
    corners = _corners(loose)
    bad = {number for number, ends in corners.items() if len(ends) != 2}
    at = {end: number for number, ends in corners.items() for end in ends}
    for group in _groups(loose, corners, at):
        broken = sorted({at[i, side] for i in group for side in (0, 1)} & bad)
        if broken:
            told = broken[: max(0, MOST_TOLD - len(faults))]
            faults += (_unclear(corners[number], loose, corners) for number in told)
        else:
            contours += _contour(_in_order(group, loose, corners, at))
    return tuple(contours), tuple(faults[:MOST_TOLD])


def _once(pieces: Sequence[Piece]) -> tuple[list[Piece], list[Fault]]:
    """The pieces less those that lie on an earlier one from end to end, and a fault for each of these."""
    kept: list[Piece] = []
    faults: list[Fault] = []
    seen: dict[tuple[tuple[int, int], ...], list[Piece]] = defaultdict(list)
    for piece in pieces:
        middle = _middle(piece)
        cells = [(round(p.x / ALIKE_MM), round(p.y / ALIKE_MM)) for p in (*piece.ends, middle)]
        key = (*sorted(cells[:2]), cells[2])
        if key in seen:
            faults.append(
                Fault(
                    f"{piece.source} lies on {seen[key][0].source}: this stretch is drawn twice",
                    "Delete one of the two.",
                    middle,
                )
            )
        else:
            kept.append(piece)
        seen[key].append(piece)
    return kept, faults


def _middle(piece: Piece) -> Point:
    half = (len(piece.vertices) - 1) // 2
    if len(piece.vertices) % 2:
        return Point(piece.vertices[half].x, piece.vertices[half].y)
    return Edge(piece.vertices[half], piece.vertices[half + 1]).middle


def _corners(pieces: Sequence[Piece]) -> dict[int, list[End]]:
    """Ends that are one corner, under a number for each: those that meet, then loose ones within the gap."""
    met = _near([(i, side) for i in range(len(pieces)) for side in (0, 1)], pieces, MEET_MM)
    loose = [ends[0] for ends in met if len(ends) == 1]
    return dict(enumerate([*(ends for ends in met if len(ends) > 1), *_near(loose, pieces, GAP_MM)]))


def _near(ends: Sequence[End], pieces: Sequence[Piece], gap_mm: float) -> list[list[End]]:
    """The ends in groups, each within the gap of another one of its group."""
    grid: dict[tuple[int, int], list[End]] = defaultdict(list)
    root = {end: end for end in ends}

    def found(end: End) -> End:
        while root[end] != end:
            root[end] = root[root[end]]  # halves the way for the next that asks
            end = root[end]
        return end

    for end in ends:
        p = pieces[end[0]].ends[end[1]]
        column, row = math.floor(p.x / gap_mm), math.floor(p.y / gap_mm)
        for cell in ((column + dx, row + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)):
            for other in grid.get(cell, ()):
                if math.dist(p, pieces[other[0]].ends[other[1]]) <= gap_mm:
                    root[found(other)] = found(end)
        grid[column, row].append(end)
        if len(grid[column, row]) > MOST_ENDS:
            raise UnreadableDrawingError(
                f"more than {MOST_ENDS} lines end at ({p.x:.2f}, {p.y:.2f}) mm", "Save the outline alone."
            )
    groups: dict[End, list[End]] = defaultdict(list)
    for end in ends:
        groups[found(end)].append(end)
    return list(groups.values())


def _groups(pieces: Sequence[Piece], corners: dict[int, list[End]], at: dict[End, int]) -> Iterator[list[int]]:
    """Numbers of the pieces that hang together, group by group."""
    left = dict.fromkeys(range(len(pieces)))
    while left:
        first = next(iter(left))
        del left[first]
        group, front = [first], [first]
        while front:
            i = front.pop()
            for side in (0, 1):
                for other, _ in corners[at[i, side]]:
                    if other in left:
                        del left[other]
                        group.append(other)
                        front.append(other)
        yield group


def _in_order(
    group: Sequence[int], pieces: Sequence[Piece], corners: dict[int, list[End]], at: dict[End, int]
) -> tuple[Piece, ...]:
    """The pieces of a ring one after the other, each run so that it goes on where the last one ends, gaps closed."""
    out = []
    i, entered = group[0], 0
    for _ in group:
        piece = pieces[i] if entered == 0 else pieces[i].reversed()
        start, end = (_centre(corners[at[i, side]], pieces) for side in (entered, 1 - entered))
        first, *inner, last = piece.vertices
        ends = (replace(first, x=start.x, y=start.y), *inner, replace(last, x=end.x, y=end.y))
        out.append(replace(piece, vertices=ends))
        a, b = corners[at[i, 1 - entered]]
        i, entered = b if a == (i, 1 - entered) else a
    return tuple(out)


def _centre(ends: Sequence[End], pieces: Sequence[Piece]) -> Point:
    points = [pieces[i].ends[side] for i, side in ends]
    return Point(math.fsum(p.x for p in points) / len(points), math.fsum(p.y for p in points) / len(points))


def _contour(ring: Sequence[Piece]) -> Iterator[Contour]:
    """The contour of pieces in order; none if nothing but points is left of it."""
    vertices: list[Vertex] = []
    sources: list[str] = []
    for piece in ring:
        started = piece.vertices if piece.closed else piece.vertices[:-1]
        vertices += started
        sources += [piece.source] * len(started)
    kept = [edge.chord > POINT_MM for edge in Path(tuple(vertices)).edges]
    path = Path(tuple(v for v, keep in zip(vertices, kept, strict=True) if keep))
    if len(path.vertices) > 1:
        yield Contour(path, tuple(s for s, keep in zip(sources, kept, strict=True) if keep)).anticlockwise()


def _unclear(ends: Sequence[End], pieces: Sequence[Piece], corners: dict[int, list[End]]) -> Fault:
    """A corner at which one line ends, or more than two meet."""
    here = _centre(ends, pieces)
    sources = list(dict.fromkeys(pieces[i].source for i, _ in ends))
    if len(ends) > 2:
        return Fault(
            f"{len(ends)} lines meet in one point ({', '.join(sources[:4])}), so it is unclear how the outline goes on",
            "Leave only the outline itself: put other lines on another layer, or delete them.",
            here,
        )
    gaps = [
        (math.hypot(p.x - here.x, p.y - here.y), pieces[others[0][0]].source)
        for others in corners.values()
        if len(others) == 1 and others != ends
        for p in [_centre(others, pieces)]
    ]
    nearest = ""
    if gaps:
        gap, other = min(gaps)
        nearest = f"; the nearest other loose end ({other}) is {gap:.2f} mm away"
    return Fault(f"the outline is open: {sources[0]} ends with nothing to go on{nearest}", "Close the gap.", here)
