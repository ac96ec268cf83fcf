"""Outlines of clutch pads against areas of circles and tangents written out by hand, and as plain polygons."""

import cmath
import math

import pytest
from shapely import Point, Polygon

from moldgen.families.clutch_outline import FILLET_PER_ARM, Heel, outline_dimensions, pad_shape
from moldgen.mechanics.strut import strut_triangle

TRIANGLE = strut_triangle(pin_radius_mm=8.0, drum_radius_mm=14.0, reach_mm=6.4)
HEEL = Heel(strut_triangle(pin_radius_mm=8.0, drum_radius_mm=14.0, reach_mm=7.5), 3.0, 6.5)


def dimensions(heel, arm=2.4, hub=5.0, play=0.0):
    lengths = outline_dimensions(triangle=TRIANGLE, heel=heel, arm_thickness_mm=arm, hub_diameter_mm=hub, play_mm=play)
    return {**lengths, "bore_diameter_mm": 2.1, "thickness_mm": 3.0}


def half_with_fillet(axis, eye, half, fillet):
    """The half of eye, fillet, arm and round tip above the axis.

    With K the fillet's centre: eye's sector from pi down to K's direction, the triangle below K less the fillet's
    sector, the arm's rectangle up to the tip's centre, a quarter disc.
    """
    root = math.sqrt((eye + fillet) ** 2 - (half + fillet) ** 2)
    up = math.atan2(half + fillet, root)
    eye_part = 0.5 * eye**2 * (math.pi - up)
    root_part = 0.5 * root * (half + fillet) - 0.5 * fillet**2 * (0.5 * math.pi - up)
    return eye_part + root_part + half * (axis - root) + 0.25 * math.pi * half**2


def half_with_heel(axis, eye, half, heel):
    """The half below the axis: a hull of three discs, from the eye over the heel to the tip.

    Fan of triangles over the corners where the tangents touch, and sectors of the discs.
    """

    def normal(start, end, difference):
        # Where the tangent on the right touches, seen from a centre: acos of the radii's difference over the way.
        way = end - start
        return cmath.rect(1.0, cmath.phase(way) - math.acos(difference / abs(way)))

    first, second = normal(0j, heel, eye - half), normal(heel, complex(axis), 0.0)
    corners = [0j, eye * first, heel + half * first, heel, heel + half * second, axis + half * second, complex(axis)]
    fan = sum((a.conjugate() * b).imag for a, b in zip(corners, corners[1:] + corners[:1], strict=True)) / 2.0
    eye_sweep = math.pi + cmath.phase(first)  # from the far end of the axis, anticlockwise
    heel_sweep = cmath.phase(second / first)
    tip_sweep = -cmath.phase(second)
    return fan + 0.5 * eye**2 * eye_sweep + 0.5 * half**2 * (heel_sweep + tip_sweep)


@pytest.mark.parametrize(("arm", "hub"), [(2.4, 5.0), (1.2, 4.0), (3.0, 3.9)])
def test_volume_of_a_bonded_pad_is_that_of_its_circles_and_tangents(arm, hub):
    shape = pad_shape(dimensions(None, arm, hub), locks="ccw")
    # Centre of the tip, from the triangle of pin, contact and tip: 6.4 and arm/2 with the strut angle between them.
    angle = math.radians(TRIANGLE.strut_angle_deg)
    axis = math.sqrt(6.4**2 + (0.5 * arm) ** 2 - 6.4 * arm * math.cos(angle))
    fillet = min(FILLET_PER_ARM * arm, 0.5 * (axis - 0.5 * hub))
    area = 2.0 * half_with_fillet(axis, 0.5 * hub, 0.5 * arm, fillet) - math.pi * 1.05**2
    assert shape.volume_mm3 == pytest.approx(3.0 * area, rel=1e-9)


@pytest.mark.parametrize(("arm", "hub"), [(2.4, 5.0), (2.0, 5.2), (3.0, 3.9)])
def test_volume_of_a_free_pad_is_that_of_its_circles_and_tangents(arm, hub):
    shape = pad_shape(dimensions(HEEL, arm, hub), locks="ccw")
    half, lean = 0.5 * arm, math.radians(TRIANGLE.center_angle_deg)
    tip = cmath.rect(14.0 - half, 0.5 * math.pi - lean) - 8j
    bearing = cmath.rect(14.0 - half, 0.5 * math.pi - math.radians(HEEL.triangle.center_angle_deg)) - 8j
    # The heel is drawn where the drum finds it after the pad has turned by 6.5 deg towards the left.
    heel = bearing * cmath.rect(1.0, -math.radians(6.5)) / (tip / abs(tip))
    fillet = min(FILLET_PER_ARM * arm, 0.5 * (abs(tip) - 0.5 * hub))
    area = half_with_fillet(abs(tip), 0.5 * hub, half, fillet) + half_with_heel(abs(tip), 0.5 * hub, half, heel)
    assert shape.volume_mm3 == pytest.approx(3.0 * (area - math.pi * 1.05**2), rel=1e-9)


@pytest.mark.parametrize("heel", [None, HEEL], ids=["bonded", "free"])
@pytest.mark.parametrize("locks", ["cw", "ccw"])
def test_outline_is_simple_smooth_and_has_its_bore_inside(heel, locks):
    shape = pad_shape(dimensions(heel), locks=locks)
    face, bore = Polygon(shape.outline.points(0.001)), Polygon(shape.holes[0].points(0.001))
    assert face.is_valid and shape.outline.area > 0.0
    assert face.contains(bore)
    # Eye of 5.0 and bore of 2.1 leave 1.45 mm; polygons lie inside their arcs by 0.001 mm at most.
    assert face.exterior.distance(bore) == pytest.approx(1.45, abs=0.002)
    edges = shape.outline.edges
    for before, after in zip((edges[-1], *edges), edges, strict=False):
        assert direction(before, end=True) == pytest.approx(direction(after, end=False), abs=1e-9)


def direction(edge, *, end):
    """Of an edge where it ends or starts: the chord turned by half the arc's sweep."""
    chord = complex(edge.end.x - edge.start.x, edge.end.y - edge.start.y)
    half = 2.0 * math.atan(edge.start.bulge)
    return chord / abs(chord) * cmath.rect(1.0, half if end else -half)


@pytest.mark.parametrize("heel", [None, HEEL], ids=["bonded", "free"])
def test_left_handed_pad_is_the_mirror_image_of_the_right_handed(heel):
    ccw, cw = (pad_shape(dimensions(heel), locks=sense) for sense in ("ccw", "cw"))
    mirrored = Polygon([(p.x, -p.y) for p in ccw.outline.points(0.001)])
    assert Polygon(cw.outline.points(0.001)).symmetric_difference(mirrored).area < 1e-9
    assert cw.volume_mm3 == pytest.approx(ccw.volume_mm3, rel=1e-12)
    assert cw.outline.area > 0.0


def test_the_heel_stands_on_the_side_from_which_the_locking_drum_comes():
    # A drum that locks ccw comes from the right of the arm (its axis running to +x): there the heel stands.
    _, low, _, high = pad_shape(dimensions(HEEL), locks="ccw").outline.bounds
    assert -low > high


@pytest.mark.parametrize(("heel", "marked"), [(None, 1), (HEEL, 2)], ids=["bonded", "free"])
def test_what_touches_the_drum_runs_and_the_hole_is_a_bore(heel, marked):
    shape = pad_shape(dimensions(heel), locks="ccw")
    running = [edge for edge in shape.outline.edges if edge.start.surface == "running"]
    assert len(running) == marked
    assert all(edge.arc.radius == pytest.approx(1.2) for edge in running)
    assert {vertex.surface for vertex in shape.holes[0].vertices} == {"bore"}


def test_caliper_lengths_are_those_of_the_outline():
    lengths = dimensions(HEEL, play=0.05)
    shape = pad_shape(lengths, locks="ccw")
    tip, heel = (edge.arc.centre for edge in reversed(shape.outline.edges) if edge.start.surface == "running")
    # Over all along the arm, over the rounds of eye and tip.
    assert 2.5 + tip.x + 1.2 == pytest.approx(lengths["overall_length_mm"], abs=1e-9)
    assert shape.outline.bounds[0] == pytest.approx(-2.5, abs=1e-9)
    # The farthest place of all from the bore's centre.
    farthest = max(math.hypot(p.x, p.y) for p in shape.outline.points(1e-6))
    assert farthest == pytest.approx(lengths["heel_reach_mm"], abs=1e-5)
    # Across the head: the two rounds lie between parallel jaws as far apart as their centres and one diameter.
    apart = math.hypot(tip.x - heel.x, tip.y - heel.y)
    assert apart + lengths["arm_thickness_mm"] == pytest.approx(lengths["head_width_mm"], abs=1e-9)


def test_play_on_the_pin_sets_the_bore_back_and_nothing_else():
    tight, loose = (pad_shape(dimensions(HEEL, play=play), locks="ccw").outline.edges for play in (0.0, 0.05))
    rounds = [[e.arc.centre for e in edges if e.start.surface == "running"] for edges in (tight, loose)]
    for before, after in zip(*rounds, strict=True):
        assert after.x - before.x == pytest.approx(0.05, abs=1e-9)
        assert after.y == pytest.approx(before.y, abs=1e-9)


def test_the_root_is_filleted_to_the_eye_without_cutting_into_it():
    lengths = dimensions(None)
    face = Polygon(pad_shape(lengths, locks="ccw").outline.points(0.001))
    assert Point(0.0, 0.0).buffer(2.499, quad_segs=256).difference(face).area < 1e-6
