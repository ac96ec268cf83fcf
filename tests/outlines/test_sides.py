"""What plain Python says of sides and corners, held against the geometry library, which computes it in its own way."""

import math
import random
from itertools import combinations

import pytest
import shapely

from moldgen.outlines.check import faults
from moldgen.outlines.contour import Contour
from moldgen.outlines.sides import Side, encloses, near_pairs
from moldgen.shapes import Path, Point, Vertex


def random_sides(count, *, seed, digits):
    """Without digits their ends are on a coarse grid, so that many touch, cross or lie along one another exactly."""
    dice = random.Random(seed)
    ends = [[Point(*(round(dice.uniform(0.0, 9.0), digits) for _ in "xy")) for _ in range(2)] for _ in range(count)]
    return [Side(a, b, n, 0, n, n) for n, (a, b) in enumerate(ends) if a != b]


def each_with_each(sides):
    lines = [shapely.LineString([side.start, side.end]) for side in sides]
    for (side, line), (other, its_line) in combinations(zip(sides, lines, strict=True), 2):
        yield side, other, line.distance(its_line)


@pytest.mark.parametrize("by_mm", [0.0, 1.0, math.sqrt(2.0)])
def test_sides_that_are_called_far_apart_are(by_mm):
    for side, other, gap_mm in each_with_each(random_sides(120, seed=1, digits=0)):
        assert not side.far_from(other, by_mm) or gap_mm > by_mm


@pytest.mark.parametrize("by_mm", [0.0, 1.0])
def test_there_is_no_doubt_of_sides_in_no_special_place(by_mm):
    for side, other, gap_mm in each_with_each(random_sides(120, seed=4, digits=15)):
        assert side.far_from(other, by_mm) == (gap_mm > by_mm)


def test_no_pair_that_is_near_is_left_out():
    sides = random_sides(150, seed=2, digits=1)
    found = {frozenset((a.number, b.number)) for a, b in near_pairs(sides, 0.5)}
    for side, other, gap_mm in each_with_each(sides):
        assert gap_mm > 0.5 or {side.number, other.number} in found


def test_a_corner_is_in_an_outline_where_the_library_has_it_in():
    dice = random.Random(3)
    star = [
        Point(r * math.cos(i * 0.3), r * math.sin(i * 0.3)) for i, r in enumerate(dice.uniform(3, 9) for _ in range(20))
    ]
    polygon = shapely.Polygon(star)
    for _ in range(500):
        point = Point(dice.uniform(-10, 10), dice.uniform(-10, 10))
        assert encloses(tuple(star), point) == polygon.contains(shapely.Point(point))


def test_a_bow_tie_is_still_told_where_it_crosses():
    path = Path(tuple(Vertex(x, y) for x, y in ((0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0))))
    (fault,) = faults((Contour(path, ("one", "two", "three", "four")),))
    assert fault.where_mm == pytest.approx((2.0, 2.0))
