"""Cones as strips: only rims have corners, and a frustum's volume is the handbook's, less what chords cut off."""

import math

import cadquery as cq
import numpy as np
import pytest

from moldgen.parts import kernel
from moldgen.parts.meshing import ANGLE_RAD, meshed

LOW_MM, HIGH_MM, TALL_MM = 3.0, 2.0, 10.0


def frustum(angle_deg=360.0):
    return cq.Solid.makeCone(LOW_MM, HIGH_MM, TALL_MM, cq.Vector(4, 5, 6), cq.Vector(1, 2, 2), angle_deg)


def heights(mesh):
    return (mesh.points - (4.0, 5.0, 6.0)) @ np.array([1.0, 2.0, 2.0]) / 3.0


@pytest.mark.parametrize("angle_deg", [360.0, 100.0, 250.0])
def test_a_frustum_has_corners_on_its_rims_only(angle_deg):
    mesh = meshed(frustum(angle_deg))
    assert len(mesh.open_edges()) == 0
    on_rims = [np.isclose(heights(mesh), level, atol=1e-4) for level in (0.0, TALL_MM)]
    assert np.logical_or(*on_rims).all()


def test_a_frustum_holds_what_inscribed_polygons_make_of_the_handbooks_volume():
    """V = pi h/3 (R^2 + R r + r^2), in any handbook; a polygon of n sides has n/(2 pi) sin(2 pi/n) of its circle."""
    mesh = meshed(frustum())
    handbook = math.pi * TALL_MM / 3.0 * (LOW_MM**2 + LOW_MM * HIGH_MM + HIGH_MM**2)
    n, m = (int(np.isclose(heights(mesh), level, atol=1e-4).sum()) for level in (0.0, TALL_MM))
    assert n == m >= math.tau / ANGLE_RAD
    assert mesh.volume_mm3 / handbook == pytest.approx(n / math.tau * math.sin(math.tau / n), rel=1e-6)


def test_every_facet_of_a_strip_faces_out_and_none_is_laid_twice():
    """Each rim edge has one facet, so that n + m facets and two lids of n - 2 and m - 2 make up the body."""
    mesh = meshed(frustum())
    n, m = (int(np.isclose(heights(mesh), level, atol=1e-4).sum()) for level in (0.0, TALL_MM))
    assert len(mesh.triangles) == (n + m) + (n - 2) + (m - 2)
    a, b, c = (mesh.points[mesh.triangles[:, i]] for i in range(3))
    normals = np.cross(b - a, c - a)
    inside = np.array([4.0, 5.0, 6.0]) + 5.0 * np.array([1.0, 2.0, 2.0]) / 3.0
    assert (np.einsum("ij,ij->i", normals, a - inside) > 0.0).all()  # a frustum is convex


def test_a_hole_widens_as_well_as_a_plug():
    block = cq.Workplane().box(20, 20, 10, centered=(True, True, False)).val()
    plug = cq.Solid.makeCone(LOW_MM, HIGH_MM, TALL_MM)
    holed = block.cut(plug)
    mesh = meshed(holed)
    assert len(mesh.open_edges()) == 0
    assert set(np.round(mesh.points[:, 2], 4)) == {0.0, 10.0}
    assert mesh.volume_mm3 == pytest.approx(20 * 20 * 10 - meshed(plug).volume_mm3, rel=1e-6)


@pytest.mark.parametrize("high_mm", [0.0, 2.0])
def test_a_cone_with_a_point_or_a_slanting_end_stays_as_the_kernel_laid_it(high_mm):
    body = cq.Solid.makeCone(LOW_MM, high_mm, TALL_MM)
    if high_mm:
        slanting = cq.Solid.makeBox(20, 20, 20, cq.Vector(-10, -10, 0)).rotate((0, 0, 0), (1, 0, 0), 20.0)
        body = body.cut(slanting.translate(cq.Vector(0, 0, 5)))
    mesh = meshed(body)
    assert len(mesh.open_edges()) == 0
    # Inner corners 0.2 rad apart: a polygon with so many sides is 1 - sin(0.2)/0.2 = 0.7 % small.
    assert kernel.volume_mm3(body) * (1.0 - 0.007) < mesh.volume_mm3 < kernel.volume_mm3(body)
    assert not np.isin(np.round(mesh.points[:, 2], 4), [0.0, TALL_MM]).all()
