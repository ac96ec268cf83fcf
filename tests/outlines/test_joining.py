import itertools
import math
import random

import pytest

from moldgen.outlines.chain import GAP_MM, chained
from moldgen.outlines.contour import Piece
from moldgen.shapes import Vertex


def line(x0, y0, x1, y1, source="line"):
    return Piece((Vertex(x0, y0), Vertex(x1, y1)), source)


def slot():
    """A 10 x 6 rectangle between two half circles, in four pieces."""
    return [
        line(0, -3, 10, -3, "below"),
        Piece((Vertex(10, -3, 1.0), Vertex(10, 3)), "right"),
        line(10, 3, 0, 3, "above"),
        Piece((Vertex(0, 3, 1.0), Vertex(0, -3)), "left"),
    ]


@pytest.mark.parametrize("seed", range(8))
def test_pieces_drawn_in_any_order_and_sense_make_one_outline(seed):
    pieces = slot()
    shuffle = random.Random(seed)
    shuffle.shuffle(pieces)
    pieces = [p.reversed() if shuffle.random() < 0.5 else p for p in pieces]
    (contour,), faults = chained(pieces)
    assert faults == ()
    assert contour.path.area == pytest.approx(60 + 9 * math.pi, rel=1e-12)
    arcs = [s for s, edge in zip(contour.sources, contour.path.edges, strict=True) if edge.start.bulge]
    assert sorted(arcs) == ["left", "right"]


def test_several_outlines_are_kept_apart():
    squares = [line(x, y, u, v) for k in (0, 20) for x, y, u, v in
               [(k, 0, k + 4, 0), (k + 4, 0, k + 4, 4), (k + 4, 4, k, 4), (k, 4, k, 0)]]  # fmt: skip
    contours, faults = chained(squares)
    assert faults == ()
    assert [c.path.area for c in contours] == pytest.approx([16.0, 16.0])


def test_a_gap_within_tolerance_is_closed_in_its_middle():
    gap = 0.75 * GAP_MM
    pieces = [line(0, 0, 10, 0), line(10, gap, 10, 10), line(10, 10, 0, 10), line(0, 10, 0, 0)]
    (contour,), faults = chained(pieces)
    assert faults == ()
    assert any(v.x == 10 and v.y == pytest.approx(0.5 * gap) for v in contour.path.vertices)


def test_an_open_outline_is_refused_at_both_ends_with_the_gap():
    pieces = [line(0, 0, 10, 0, "floor"), line(10, 0.3, 10, 10, "wall"), line(10, 10, 0, 0, "slope")]
    contours, faults = chained(pieces)
    assert contours == ()
    assert [(f.where_mm.x, f.where_mm.y) for f in faults] == [(10, 0), (10, 0.3)]
    assert all("open" in f.text and "0.30 mm" in f.text for f in faults)
    assert "floor" in faults[0].text and "wall" in faults[0].text


def test_a_line_drawn_twice_is_refused_at_its_middle():
    pieces = [*slot(), line(10, -3, 0, -3, "again")]
    (contour,), (fault,) = chained(pieces)
    assert (fault.where_mm.x, fault.where_mm.y) == (5.0, -3.0)
    assert "again" in fault.text and "below" in fault.text and "twice" in fault.text
    assert contour.path.area == pytest.approx(60 + 9 * math.pi)


def test_a_junction_is_refused_where_it_is():
    pieces = [*slot(), line(10, 3, 15, 9, "stray")]
    contours, faults = chained(pieces)
    assert contours == ()
    junction = next(f for f in faults if "meet in one point" in f.text)
    assert (junction.where_mm.x, junction.where_mm.y) == pytest.approx((10.0, 3.0))
    loose = next(f for f in faults if "open" in f.text)
    assert (loose.where_mm.x, loose.where_mm.y) == pytest.approx((15.0, 9.0))


def test_an_outline_of_lines_shorter_than_the_gap_tolerance_is_still_joined():
    # A circle of radius 1 in 800 lines of 0.0079 mm each; area of a regular polygon, n/2 r² sin(2π/n).
    n = 800
    points = [(math.cos(math.tau * k / n), math.sin(math.tau * k / n)) for k in range(n + 1)]
    pieces = [line(*a, *b) for a, b in itertools.pairwise(points)]
    random.Random(1).shuffle(pieces)
    (contour,), faults = chained(pieces)
    assert faults == ()
    assert contour.path.area == pytest.approx(n / 2 * math.sin(math.tau / n), rel=1e-9)


def test_a_polyline_whose_ends_meet_is_closed_and_run_anticlockwise():
    clockwise = Piece((Vertex(0, 0), Vertex(0, 5), Vertex(5, 5), Vertex(0, 0)), "triangle")
    (contour,), faults = chained([clockwise])
    assert faults == ()
    assert contour.path.area == pytest.approx(12.5)
    assert len(contour.path.vertices) == 3
