"""Outlines of lines and arcs against closed forms, against polygons of a geometry library, and there and back."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from moldgen.errors import GeometryError
from moldgen.shapes import Edge, Extruded, Path, Revolved, Vertex, circle, rectangle

QUARTER = math.tan(math.pi / 8.0)
"""Bulge of a quarter circle: the tangent of a quarter of 90°."""


def rounded(x0, y0, x1, y1, r):
    """An upright rectangle with quarter circles at its corners, anticlockwise from the lower left's end."""
    return Path(
        (
            Vertex(x0 + r, y0),
            Vertex(x1 - r, y0, QUARTER),
            Vertex(x1, y0 + r),
            Vertex(x1, y1 - r, QUARTER),
            Vertex(x1 - r, y1),
            Vertex(x0 + r, y1, QUARTER),
            Vertex(x0, y1 - r),
            Vertex(x0, y0 + r, QUARTER),
        )
    )


def crowned(inner, shoulder, width, rise):
    """A tyre's half-section whose running surface is one arc, `rise` over its chord."""
    bulge = 2.0 * rise / width  # the DXF bulge: sagitta over half the chord
    return Path((Vertex(inner, 0.0), Vertex(shoulder, 0.0, bulge), Vertex(shoulder, width), Vertex(inner, width)))


def grooved(inner, outer, width, depth):
    """The same with the arc hollow."""
    return Path(
        (Vertex(inner, 0.0), Vertex(outer, 0.0, -2.0 * depth / width), Vertex(outer, width), Vertex(inner, width))
    )


SHAPES = {
    "rectangle": rectangle(3.0, -2.0, 11.0, 5.0),
    "circle": circle(4.0, 9.0, -1.0),
    "rounded": rounded(2.0, 1.0, 14.0, 8.0, 1.5),
    "crowned": crowned(10.0, 14.0, 6.0, 0.8),
    "grooved": grooved(10.0, 14.0, 6.0, 0.8),
    "drop": Path((Vertex(5.0, 0.0, 0.2), Vertex(12.0, 3.0, 1.7), Vertex(6.0, 9.0, -0.3))),
}
EVERY = pytest.mark.parametrize("path", SHAPES.values(), ids=SHAPES.keys())


def polygon(path):
    """The outline as a polygon of the geometry library, its corners within 1e-5 mm of the arcs."""
    return shapely.Polygon(path.points(1e-5))


# --- areas, centroids, lengths ---------------------------------------------------------------------


def test_a_circle_has_the_area_of_a_circle():
    path = circle(4.0, 9.0, -1.0)
    assert path.area == pytest.approx(16.0 * math.pi, rel=1e-13)
    assert path.length == pytest.approx(8.0 * math.pi, rel=1e-13)
    assert path.centroid == pytest.approx((9.0, -1.0), abs=1e-12)
    assert path.bounds == pytest.approx((5.0, -5.0, 13.0, 3.0), abs=1e-12)


def test_round_corners_take_four_minus_pi_radii_squared_off_a_rectangle():
    path = rounded(2.0, 1.0, 14.0, 8.0, 1.5)
    assert path.area == pytest.approx(12.0 * 7.0 - (4.0 - math.pi) * 1.5**2, rel=1e-13)
    assert path.length == pytest.approx(2.0 * (9.0 + 4.0) + 2.0 * math.pi * 1.5, rel=1e-13)
    assert path.centroid == pytest.approx((8.0, 4.5), abs=1e-12)


def test_a_half_disc_s_centroid_lies_four_thirds_of_a_radius_over_pi_from_its_chord():
    # Closed form in any handbook of mechanics: 4 r/(3 pi).
    path = Path((Vertex(0.0, -3.0, 1.0), Vertex(0.0, 3.0)))
    assert path.area == pytest.approx(4.5 * math.pi, rel=1e-13)
    assert path.centroid == pytest.approx((4.0 * 3.0 / (3.0 * math.pi), 0.0), abs=1e-12)


@pytest.mark.parametrize(("build", "sign"), [(crowned, 1.0), (grooved, -1.0)])
def test_a_crown_adds_and_a_groove_takes_one_circular_segment(build, sign):
    # Segment of chord c = 6 and sagitta h = 0.8: r = c²/8h + h/2 = 6.025; area r² acos(1 − h/r) − (r − h) c/2.
    r = 6.0**2 / (8.0 * 0.8) + 0.4
    segment = r * r * math.acos(1.0 - 0.8 / r) - (r - 0.8) * 3.0
    assert build(10.0, 14.0, 6.0, 0.8).area == pytest.approx(4.0 * 6.0 + sign * segment, rel=1e-12)


@EVERY
def test_area_centroid_length_and_bounds_agree_with_a_fine_polygon(path):
    other = polygon(path)
    assert path.area == pytest.approx(other.area, rel=1e-5)
    assert path.centroid == pytest.approx((other.centroid.x, other.centroid.y), abs=1e-4)
    assert path.length == pytest.approx(other.length, rel=1e-5)
    assert path.bounds == pytest.approx(other.bounds, abs=2e-5)


@EVERY
@pytest.mark.parametrize("sagitta_mm", [0.1, 0.01, 0.001])
def test_a_polygon_stays_within_its_sagitta_of_the_outline(path, sagitta_mm):
    coarse, fine = shapely.LinearRing(path.points(sagitta_mm)), shapely.LinearRing(path.points(1e-6))
    assert fine.hausdorff_distance(coarse) <= sagitta_mm * 1.01 + 2e-6


def test_bounds_reach_past_the_corners_where_an_arc_does():
    # A crown's arc is widest in its middle: 14 + 0.8.
    assert crowned(10.0, 14.0, 6.0, 0.8).bounds == pytest.approx((10.0, 0.0, 14.8, 6.0), abs=1e-12)
    # A hollow one is not: its greatest radius stays at the corners.
    assert grooved(10.0, 14.0, 6.0, 0.8).bounds == pytest.approx((10.0, 0.0, 14.0, 6.0), abs=1e-12)


@pytest.mark.parametrize("bulge", [1.7, 1.0, 0.3, -0.3, -1.0, -1.7])
def test_a_bulge_is_the_tangent_of_a_quarter_of_the_arc_s_angle(bulge):
    # The open DXF reference's definition, with which the sagitta over half the chord is the bulge as well.
    edge = Edge(Vertex(1.0, 2.0, bulge), Vertex(4.0, 6.0))
    assert abs(edge.arc.sweep) == pytest.approx(4.0 * math.atan(abs(bulge)))
    left = (-4.0 / 5.0, 3.0 / 5.0)  # of the way from start to end; an anticlockwise arc bulges to the right of it
    middle = (2.5 - left[0] * bulge * 2.5, 4.0 - left[1] * bulge * 2.5)
    assert edge.middle == pytest.approx(middle, abs=1e-12)
    for end, point in ((edge.start, edge.arc.at(0.0)), (edge.end, edge.arc.at(1.0))):
        assert point == pytest.approx((end.x, end.y), abs=1e-12)


# --- turned about ----------------------------------------------------------------------------------


@EVERY
def test_a_mirrored_outline_keeps_its_size_and_stays_anticlockwise(path):
    x0, y0, x1, y1 = path.bounds
    assert path.mirrored_y().area == pytest.approx(path.area, rel=1e-12)
    assert path.mirrored_y().bounds == pytest.approx((x0, -y1, x1, -y0), abs=1e-12)
    assert path.mirrored_x().area == pytest.approx(path.area, rel=1e-12)
    assert path.mirrored_x().bounds == pytest.approx((-x1, y0, -x0, y1), abs=1e-12)
    assert path.mirrored_y().centroid == pytest.approx((path.centroid.x, -path.centroid.y), abs=1e-12)


@EVERY
def test_mirrored_twice_is_the_outline_again(path):
    twice = path.mirrored_y().mirrored_y()
    assert polygon(twice).symmetric_difference(polygon(path)).area < 1e-3


def test_a_reversed_outline_is_clockwise_and_keeps_each_edge_s_surface():
    path = Path((Vertex(10.0, 0.0, surface="face"), Vertex(14.0, 0.0, 0.3, "running"), Vertex(14.0, 6.0, 0.0, "bore")))
    back = path.reversed()
    assert back.area == pytest.approx(-path.area)

    def named(p):
        return {(*sorted(((e.start.x, e.start.y), (e.end.x, e.end.y))), e.start.surface) for e in p.edges}

    assert named(back) == named(path)


@EVERY
@pytest.mark.parametrize("angle_deg", [0.0, 33.0, 90.0, -170.0])
def test_a_turned_outline_keeps_area_and_length_and_turns_its_centroid(path, angle_deg):
    turned = path.rotated(angle_deg)
    assert turned.area == pytest.approx(path.area, rel=1e-12)
    assert turned.length == pytest.approx(path.length, rel=1e-12)
    z = complex(*path.centroid) * complex(math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
    assert turned.centroid == pytest.approx((z.real, z.imag), abs=1e-9)
    assert turned.bounds == pytest.approx(polygon(turned).bounds, abs=2e-5)


@EVERY
def test_a_scaled_outline_grows_by_the_square(path):
    assert path.scaled(1.01).area == pytest.approx(1.01**2 * path.area, rel=1e-12)
    assert path.moved(dx=3.0, dy=-4.0).area == pytest.approx(path.area, rel=1e-12)


# --- parallel outlines -----------------------------------------------------------------------------


def test_a_circle_moved_out_is_a_larger_circle():
    assert circle(4.0).offset(0.5).area == pytest.approx(math.pi * 4.5**2, rel=1e-12)
    assert circle(4.0).offset(-0.5).area == pytest.approx(math.pi * 3.5**2, rel=1e-12)


def test_a_rectangle_moved_out_keeps_its_sharp_corners():
    assert rectangle(0.0, 0.0, 8.0, 5.0).offset(0.3).area == pytest.approx(8.6 * 5.6, rel=1e-12)


def test_round_corners_moved_out_agree_with_steiner():
    # Steiner's formula for a convex outline without sharp corners: A + L d + pi d².
    path = rounded(2.0, 1.0, 14.0, 8.0, 1.5)
    for d in (0.4, -0.4):
        assert path.offset(d).area == pytest.approx(path.area + path.length * d + math.pi * d * d, rel=1e-12)


@EVERY
@pytest.mark.parametrize("outward_mm", [0.25, -0.25, 0.01])
def test_there_and_back_is_the_outline_again(path, outward_mm):
    # Where an arc runs into a line the two only touch, and rounding of 1e-16 moves their crossing by its root.
    back = path.offset(outward_mm).offset(-outward_mm)
    for found, wanted in zip(back.vertices, path.vertices, strict=True):
        assert (found.x, found.y) == pytest.approx((wanted.x, wanted.y), abs=1e-7)
        assert found.bulge == pytest.approx(wanted.bulge, abs=1e-7)
        assert found.surface == wanted.surface


@EVERY
@pytest.mark.parametrize("outward_mm", [0.3, -0.3])
def test_a_parallel_outline_agrees_with_the_geometry_library_s(path, outward_mm):
    # Its mitred buffer carries corners on to meet as well; between an arc and a line the mitre is straight, hence the
    # corner's own small triangle of tolerance.
    other = polygon(path).buffer(outward_mm, join_style="mitre", mitre_limit=20.0)
    assert path.offset(outward_mm).area == pytest.approx(other.area, abs=0.02)


def test_each_edge_may_move_by_its_own_amount():
    # A bore 0.2 smaller, a running surface 0.1 larger, the lower face 0.05 lower: 4.3 by 6.05.
    path = rectangle(10.0, 0.0, 14.0, 6.0)
    moved = path.offset_each((0.05, 0.1, 0.0, 0.2))
    assert moved.bounds == pytest.approx((9.8, -0.05, 14.1, 6.0))
    assert moved.area == pytest.approx(4.3 * 6.05, rel=1e-12)


def test_an_arc_that_vanishes_is_refused_with_its_place():
    with pytest.raises(GeometryError, match="vanishes") as caught:
        rounded(2.0, 1.0, 14.0, 8.0, 1.5).offset(-1.6)
    assert caught.value.where_mm is not None


def test_edges_that_no_longer_meet_are_refused():
    # Two arcs about (0, ±3) of radius 5 form a lens 4 wide; 2.5 inwards their circles lie apart.
    lens = Path((Vertex(4.0, 0.0, 0.5), Vertex(-4.0, 0.0, 0.5)))
    assert lens.bounds == pytest.approx((-4.0, -2.0, 4.0, 2.0))
    with pytest.raises(GeometryError, match="no longer meet"):
        lens.offset(-2.5)


# --- volumes ---------------------------------------------------------------------------------------


def test_a_straight_tyre_is_a_hollow_cylinder():
    tyre = Revolved(rectangle(15.0, 0.0, 19.0, 5.0))
    assert tyre.volume_mm3 == pytest.approx(math.pi * (19.0**2 - 15.0**2) * 5.0, rel=1e-13)
    assert (tyre.bore_radius_mm, tyre.height_mm, tyre.plan_size_mm) == (15.0, 5.0, (38.0, 38.0))


def test_a_turned_circle_is_a_torus():
    # 2 pi² R r².
    assert Revolved(circle(2.0, 11.0, 3.0)).volume_mm3 == pytest.approx(2.0 * math.pi**2 * 11.0 * 4.0, rel=1e-13)


def test_a_half_disc_on_the_axis_is_a_ball():
    half = Path((Vertex(0.0, -3.0, 1.0), Vertex(0.0, 3.0)))
    assert Revolved(half).volume_mm3 == pytest.approx(4.0 / 3.0 * math.pi * 27.0, rel=1e-12)


def test_a_cone_is_a_third_of_its_cylinder():
    cone = Path((Vertex(0.0, 0.0), Vertex(6.0, 0.0), Vertex(0.0, 9.0)))
    assert Revolved(cone).volume_mm3 == pytest.approx(math.pi * 36.0 * 9.0 / 3.0, rel=1e-13)


@pytest.mark.parametrize(("x", "y", "bulge"), [(12.0, 3.0, 1.7), (12.0, 3.0, 0.0), (9.0, 1.0, -0.4)])
def test_a_turned_volume_agrees_with_slices_of_its_polygon(x, y, bulge):
    # Shoelace of the turned volume: each side of the polygon sweeps a frustum, pi/3 (z1 − z0)(r0² + r0 r1 + r1²).
    path = Path((Vertex(5.0, 0.0, 0.2), Vertex(x, y, bulge), Vertex(6.0, 9.0, -0.3)))
    points = path.points(1e-5)
    swept = math.fsum(
        math.pi / 3.0 * (b.y - a.y) * (a.x**2 + a.x * b.x + b.x**2)
        for a, b in zip(points, (*points[1:], points[0]), strict=True)
    )
    most = 1e-5 * path.length * math.tau * path.bounds[2]  # the polygon's sagitta over the whole turned surface
    assert Revolved(path).volume_mm3 == pytest.approx(swept, abs=most)


def test_a_washer_is_its_outline_less_its_holes_times_its_thickness():
    washer = Extruded(circle(10.0), (circle(4.0), circle(1.0, 7.0, 0.0)), 2.5)
    assert washer.volume_mm3 == pytest.approx(math.pi * (100.0 - 16.0 - 1.0) * 2.5, rel=1e-13)
    assert (washer.height_mm, washer.plan_size_mm) == (2.5, pytest.approx((20.0, 20.0)))


@given(st.floats(0.5, 2.0))
def test_a_scaled_shape_s_volume_grows_by_the_cube(factor):
    washer = Extruded(rounded(2.0, 1.0, 14.0, 8.0, 1.5), (circle(1.0, 7.0, 4.0),), 2.5)
    assert washer.scaled(factor).volume_mm3 == pytest.approx(factor**3 * washer.volume_mm3, rel=1e-12)
    tyre = Revolved(crowned(10.0, 14.0, 6.0, 0.8))
    assert tyre.scaled(factor).volume_mm3 == pytest.approx(factor**3 * tyre.volume_mm3, rel=1e-12)


@given(st.floats(-3.0, 3.0), st.floats(1.0, 20.0), st.floats(1.0, 20.0))
def test_any_two_arcs_agree_with_their_polygon(bulge, dx, dy):
    path = Path((Vertex(0.0, 0.0, bulge), Vertex(dx, 0.0), Vertex(dx, 60.0 + dy), Vertex(0.0, 60.0 + dy)))
    assert path.area == pytest.approx(_shoelace(path.points(1e-4)), abs=1e-4 * path.length)


@given(st.floats(-12.0, -3.0))
def test_a_flat_arc_s_moments_tend_to_those_of_a_parabola(exponent):
    # A circular segment of chord c and small sagitta h = b c/2 has area 2 c h/3, its centroid 2 h/5 above the chord.
    bulge = 10.0**exponent
    area, _, first = Edge(Vertex(-3.0, 0.0, -bulge), Vertex(3.0, 0.0)).moments()
    rise = 3.0 * bulge if bulge >= 1e-7 else 0.0
    assert area == pytest.approx(-4.0 * rise, rel=1e-5, abs=1e-15)
    assert first == pytest.approx(-4.0 * rise * 0.4 * rise, rel=1e-3, abs=1e-9)


def test_an_arc_that_rises_by_nothing_worth_telling_is_a_line():
    tyre = crowned(10.0, 14.0, 6.0, 1e-9)
    assert tyre.vertices[1].bulge == 0.0
    assert Revolved(tyre).volume_mm3 == pytest.approx(math.pi * (14.0**2 - 10.0**2) * 6.0)


def _shoelace(points):
    return 0.5 * math.fsum(a.x * b.y - b.x * a.y for a, b in zip(points, (*points[1:], points[0]), strict=True))


def test_an_arc_through_a_height_is_parted_there_and_stays_the_same_arc():
    # A circle of radius 2 about (5, 0) as two half arcs from top and bottom: it passes y = 1 at x = 5 ± sqrt(3).
    ring = Path((Vertex(5.0, 2.0, 1.0, "side"), Vertex(5.0, -2.0, 1.0, "running")))
    parted = Path(tuple(vertex for edge in ring.edges for vertex in edge.arcs_parted_at(1.0)))
    at_level = sorted(vertex.x for vertex in parted.vertices if vertex.y == 1.0)
    assert at_level == pytest.approx([5.0 - math.sqrt(3.0), 5.0 + math.sqrt(3.0)])
    assert parted.area == pytest.approx(4.0 * math.pi)
    assert [vertex.surface for vertex in parted.vertices].count("running") == 2


def test_an_arc_that_ends_at_a_height_is_left_alone():
    ring = Path((Vertex(5.0, 2.0, 1.0), Vertex(5.0, -2.0, 1.0)))
    assert [v for edge in ring.edges for v in edge.arcs_parted_at(2.0)] == list(ring.vertices)
