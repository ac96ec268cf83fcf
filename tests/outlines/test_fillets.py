import math

import pytest

from moldgen.errors import RangeError
from moldgen.outlines.corners import room_mm, rounded
from moldgen.shapes import Point

SQUARE = (Point(0, 0), Point(20, 0), Point(20, 10), Point(0, 10))


def test_rounding_a_rectangle_takes_four_minus_pi_radii_squared():
    # Each corner loses r² - πr²/4.
    made = rounded(SQUARE, (3.0,) * 4)
    assert made.path.area == pytest.approx(20 * 10 - (4 - math.pi) * 9, rel=1e-12)
    assert made.path.length == pytest.approx(2 * (14 + 4) + math.tau * 3, rel=1e-12)
    assert made.fillets == (True, False) * 4
    assert made.corners == (0, 0, 1, 1, 2, 2, 3, 3)


def test_fillets_that_use_up_a_side_make_a_stadium():
    # Two half circles of radius 5 and a 10 x 10 square between them.
    made = rounded(SQUARE, (5.0,) * 4)
    assert made.path.area == pytest.approx(100 + math.pi * 25, rel=1e-12)
    assert made.fillets.count(False) == 2


def test_a_corner_that_turns_inwards_is_filled():
    # An L of 20 x 20 less 10 x 10; a fillet of 4 in its inner corner adds 16 - 4π.
    corners = [Point(*p) for p in [(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)]]
    made = rounded(corners, (0, 0, 0, 4.0, 0, 0))
    assert made.path.area == pytest.approx(300 + 16 - 4 * math.pi, rel=1e-12)
    assert rounded(corners[::-1], (0, 0, 4.0, 0, 0, 0)).path.area == pytest.approx(-(300 + 16 - 4 * math.pi))


def test_an_incircle_is_the_largest_fillet_of_all_three_corners():
    # A 3-4-5 triangle: inradius (3 + 4 - 5)/2 = 1, and the three fillets together are the whole incircle.
    corners = (Point(0, 0), Point(4, 0), Point(0, 3))
    made = rounded(corners, (1.0, 1.0, 1.0))
    assert made.path.area == pytest.approx(math.pi, rel=1e-9)
    assert made.path.bounds == pytest.approx((0.0, 0.0, 2.0, 2.0), abs=1e-9)


def test_room_at_a_corner_is_what_its_neighbours_leave():
    # A right angle takes its radius of each side: 10 less the neighbour's 4.
    assert room_mm(SQUARE, (0.0, 0.0, 0.0, 0.0), 1) == pytest.approx(10.0)
    assert room_mm(SQUARE, (0.0, 0.0, 4.0, 0.0), 1) == pytest.approx(6.0)
    # At 60° the lever is tan 60°: an equilateral triangle of side 6 gives 6/√3.
    triangle = (Point(0, 0), Point(6, 0), Point(3, 3 * math.sqrt(3)))
    assert room_mm(triangle, (0.0, 0.0, 0.0), 0) == pytest.approx(6 / math.sqrt(3))


def test_a_fillet_without_room_is_refused():
    with pytest.raises(RangeError):
        rounded(SQUARE, (0.0, 6.0, 4.1, 0.0))
    rounded(SQUARE, (0.0, 6.0, 4.0, 0.0))


def test_a_fillet_on_a_straight_line_changes_nothing():
    corners = (Point(0, 0), Point(10, 0), Point(20, 0), Point(20, 10), Point(0, 10))
    assert rounded(corners, (0, 5.0, 0, 0, 0)).path.area == pytest.approx(200.0, rel=1e-12)
