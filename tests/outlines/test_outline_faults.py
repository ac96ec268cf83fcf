import math

import pytest

from moldgen.outlines.check import faults, thin_walls
from moldgen.outlines.contour import Contour
from moldgen.shapes import Path, Vertex, circle, rectangle


def contour(path, source="outline"):
    return Contour(path, tuple(f"{source} side {k + 1}" for k in range(len(path.vertices))))


def polygon(*corners):
    return contour(Path(tuple(Vertex(x, y) for x, y in corners)))


def place(fault):
    return pytest.approx((fault.where_mm.x, fault.where_mm.y), abs=1e-6)


def test_a_sound_outline_with_holes_has_no_faults():
    plate = contour(rectangle(0, 0, 30, 20))
    assert faults((plate, contour(circle(3, 8, 8)), contour(circle(3, 22, 8)))) == ()


def test_a_bow_tie_is_refused_where_it_crosses():
    # (0, 0) to (10, 10) and (10, 0) to (0, 12): y = x and y = 12 - 1.2 x, so x = 12/2.2.
    (fault,) = faults((polygon((0, 0), (10, 10), (10, 0), (0, 12)),))
    assert place(fault) == (12 / 2.2, 12 / 2.2)
    assert "crosses or touches itself" in fault.text
    assert "side 1" in fault.text and "side 3" in fault.text


def test_an_arc_that_bulges_through_the_other_side_is_refused_where_it_comes_out():
    # Half circle of radius 5 on the lower side, bulging up through the upper side at height 3: x = 5 ± 4.
    slab = contour(Path((Vertex(0, 0, -1.0), Vertex(10, 0), Vertex(12, 3), Vertex(-2, 3))))
    found = faults((slab,))
    places = sorted(f.where_mm.x for f in found)
    assert places == pytest.approx([1.0, 9.0], abs=0.01)  # as near as the arc's 2 µm polygon comes at this slope
    assert all(f.where_mm.y == pytest.approx(3.0) for f in found)


def test_a_corner_that_touches_the_far_side_is_refused():
    (fault, *_) = faults((polygon((0, 0), (10, 0), (10, 10), (5, 0), (0, 10)),))
    assert place(fault) == (5.0, 0.0)


def test_a_spike_is_refused_at_its_tip():
    found = faults((polygon((0, 0), (10, 0), (10, 5), (18, 5), (10, 5), (10, 10), (0, 10)),))
    assert any("turns back" in f.text and (f.where_mm.x, f.where_mm.y) == (18.0, 5.0) for f in found)


def test_a_point_given_twice_is_refused_there():
    (fault,) = faults((polygon((0, 0), (10, 0), (10, 0), (10, 10)),))
    assert place(fault) == (10.0, 0.0)
    assert fault.edge == 1


def test_an_outline_drawn_twice_is_refused_whatever_point_it_starts_from():
    ring, again = contour(circle(10), "first"), contour(circle(10).rotated(37.0), "second")
    (fault,) = faults((ring, again))
    assert "drawn twice" in fault.text and "first" in fault.text and "second" in fault.text
    assert fault.contour == 1


def test_outlines_that_share_a_stretch_run_along_each_other():
    plate, hole = contour(rectangle(0, 0, 20, 20), "plate"), contour(rectangle(5, 0, 15, 8), "notch")
    found = faults((plate, hole))
    along = next(f for f in found if "along each other" in f.text)
    assert place(along) == (10.0, 0.0)


def test_a_hole_that_breaks_the_rim_is_refused_at_both_places():
    # Circle of radius 3 centred 2 mm inside the rim x = 20: it crosses at y = 10 ± √5.
    found = faults((contour(rectangle(0, 0, 20, 20), "plate"), contour(circle(3, 18, 10), "hole")))
    assert sorted(f.where_mm.y for f in found) == pytest.approx([10 - math.sqrt(5), 10 + math.sqrt(5)], abs=0.01)
    assert all("plate" in f.text and "hole" in f.text for f in found)


def test_a_second_outline_beside_the_first_is_refused():
    (fault,) = faults((contour(rectangle(0, 0, 20, 20)), contour(circle(3, 40, 10), "stray")))
    assert "beside" in fault.text and "stray" in fault.text
    assert place(fault) == (43.0, 10.0)


def test_an_island_in_a_hole_is_refused():
    (fault,) = faults((contour(circle(10)), contour(circle(6)), contour(circle(2), "island")))
    assert "within a hole" in fault.text and "island" in fault.text


@pytest.mark.parametrize("size", [0.15, 1001.0])
def test_sizes_outside_a_fifth_of_a_millimetre_to_a_metre_are_refused(size):
    (fault,) = faults((contour(rectangle(0, 0, size, max(size, 1.0) if size < 1 else 5.0)),))
    assert "mm" in fault.text
    assert fault.where_mm.x == pytest.approx(size / 2)


def test_sizes_at_the_limits_are_taken():
    assert faults((contour(rectangle(0, 0, 1000.0, 0.2)),)) == ()


def test_a_thin_wall_between_hole_and_rim_is_found_where_it_is_thinnest():
    plate, hole = contour(rectangle(0, 0, 20, 20), "plate"), contour(circle(3, 16.5, 10), "hole")
    (fault,) = thin_walls((plate, hole), 1.0)  # 20 - 16.5 - 3 = 0.5 mm
    assert "0.50 mm" in fault.text
    assert (fault.where_mm.x, fault.where_mm.y) == pytest.approx((19.75, 10.0), abs=0.01)
    assert tuple(thin_walls((plate, hole), 0.5)) == ()
