"""Sections drawn along a line: their volume by Pappus, in the kernel too, and what they are seen from above."""

import math

import pytest

from moldgen.loops import Comb
from moldgen.parts import kernel
from moldgen.shapes import Drawn, Edge, Revolved, Vertex, circle, parallel, rectangle

COMB = Comb(hairpins=3, radius_mm=8.0, leg_mm=30.0, home_mm=6.0).line


def test_once_round_a_circle_it_is_the_turned_part():
    # Pappus, for a section that lies to one side of its line.
    section = rectangle(-0.5, -1.0, 2.0, 1.5)
    ring = Revolved(section.moved(dx=20.0))
    assert Drawn(section, circle(20.0).edges).volume_mm3 == pytest.approx(ring.volume_mm3, rel=1e-12)


def test_the_kernel_keeps_the_section_upright_and_outward_round_bends_of_both_senses():
    # A lopsided one: the band between two parallel lines, which has a closed form of its own, times its height.
    section = rectangle(-0.5, -1.0, 2.0, 1.5)
    body = kernel.drawn(Drawn(section, COMB.edges), stage="test")
    band = parallel(COMB, 2.0, "side").area - parallel(COMB, -0.5, "side").area
    assert kernel.volume_mm3(body) == pytest.approx(2.5 * band, rel=1e-9)
    box = body.BoundingBox()
    x0, y0, x1, y1 = parallel(COMB, 2.0, "side").bounds
    assert (box.xmin, box.ymin, box.zmin) == pytest.approx((x0, y0, -1.0), abs=1e-3)
    assert (box.xmax, box.ymax, box.zmax) == pytest.approx((x1, y1, 1.5), abs=1e-3)


def test_a_straight_one_is_a_cylinder_along_x():
    rod = Drawn(circle(1.5), (Edge(Vertex(-30.0, 0.0), Vertex(30.0, 0.0)),))
    assert kernel.volume_mm3(kernel.drawn(rod, stage="test")) == pytest.approx(math.pi * 1.5**2 * 60.0, rel=1e-9)
    assert rod.outline.bounds == (-30.0, -1.5, 30.0, 1.5) and rod.holes == ()


def test_seen_from_above_it_is_as_wide_as_its_section():
    # Steiner: a band about a closed line has the area of its length times its width.
    drawn = Drawn(circle(1.5), COMB.edges)
    (hole,) = drawn.holes
    assert drawn.outline.area - hole.area == pytest.approx(3.0 * COMB.length, rel=1e-12)
