"""Meshes of solids: closed, near enough, welded where faces meet, and honest about gaps."""

import math

import numpy as np
import pytest

from moldgen.parts import kernel
from moldgen.parts.mesh import Mesh, merged
from moldgen.parts.meshing import meshed
from moldgen.shapes import Path, Vertex, circle, rectangle

TETRAHEDRON = Mesh(
    np.array([[0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0], [0.0, 0.0, 4.0]]),
    np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]),
)


def test_a_tetrahedron_s_volume_and_area_are_the_closed_forms():
    # 2*3*4/6; three right triangles and one slanted one of area half |(2,−3,0) x (0,−3,4)| = half √(144 + 64 + 36).
    assert TETRAHEDRON.volume_mm3 == pytest.approx(4.0)
    assert TETRAHEDRON.area_mm2 == pytest.approx(3.0 + 4.0 + 6.0 + 0.5 * math.sqrt(244.0))
    assert len(TETRAHEDRON.open_edges()) == 0


def test_a_missing_triangle_leaves_its_three_edges_open_where_they_are():
    gap = Mesh(TETRAHEDRON.points, TETRAHEDRON.triangles[:3])
    found = {tuple(point) for point in gap.open_edges().tolist()}
    assert found == {(0.0, 0.0, 2.0), (0.0, 1.5, 2.0), (0.0, 1.5, 0.0)}


def test_a_triangle_turned_over_or_given_twice_is_no_closed_surface():
    turned = Mesh(TETRAHEDRON.points, np.vstack([TETRAHEDRON.triangles[:3], TETRAHEDRON.triangles[3:, ::-1]]))
    assert len(turned.open_edges()) > 0
    twice = Mesh(TETRAHEDRON.points, np.vstack([TETRAHEDRON.triangles, TETRAHEDRON.triangles[:1]]))
    assert len(twice.open_edges()) == 3


BODIES = {
    "box": (lambda: kernel.box(-5.0, -4.0, 0.0, 5.0, 4.0, 3.0), 240.0, 1e-6),
    # Round bodies come out small by the sagitta: of the order of angle²/24, 0.04 % at 0.1 rad, more for a small bore.
    "tyre": (lambda: kernel.revolved(rectangle(15.0, 0.0, 19.0, 5.0), stage="t"), 680.0 * math.pi, 1e-3),
    "torus": (lambda: kernel.revolved(circle(2.0, 11.0, 3.0), stage="t"), 88.0 * math.pi**2, 3e-3),
    "ball": (
        lambda: kernel.revolved(Path((Vertex(0.0, -9.0, 1.0), Vertex(0.0, 9.0))), stage="t"), 972.0 * math.pi, 3e-3,
    ),
}  # fmt: skip
EACH_BODY = pytest.mark.parametrize(("make", "volume_mm3", "within"), BODIES.values(), ids=BODIES.keys())


@EACH_BODY
def test_a_solid_s_mesh_is_closed_and_holds_its_volume(make, volume_mm3, within):
    mesh = meshed(make())
    assert len(mesh.open_edges()) == 0
    assert mesh.volume_mm3 == pytest.approx(volume_mm3, rel=within)
    assert mesh.volume_mm3 > 0.0  # seen from outside, triangles run anticlockwise


@pytest.mark.parametrize("name", ["box", "tyre", "ball"])
def test_a_finer_mesh_is_nearer_and_does_not_stick_to_the_solid(name):
    make, volume_mm3, _ = BODIES[name]
    body = make()
    first = meshed(body)
    finer = meshed(body, angle_rad=0.05)
    again = meshed(body)
    assert abs(finer.volume_mm3 - volume_mm3) <= abs(first.volume_mm3 - volume_mm3) + 1e-3
    assert np.array_equal(again.points, first.points)
    assert np.array_equal(again.triangles, first.triangles)


def test_no_point_lies_farther_from_the_surface_than_the_sag():
    # Single precision parts points of the surface by up to 4e-6 mm at 20 mm.
    mesh = meshed(kernel.revolved(rectangle(15.0, 0.0, 19.0, 5.0), stage="t"))
    middles = mesh.points[mesh.triangles].mean(axis=1)
    flat = (np.abs(middles[:, 2]) < 1e-5) | (np.abs(middles[:, 2] - 5.0) < 1e-5)
    radii = np.hypot(middles[~flat, 0], middles[~flat, 1])
    assert np.all(np.minimum(np.abs(radii - 15.0), np.abs(radii - 19.0)) < 0.03)
    corners = np.hypot(mesh.points[:, 0], mesh.points[:, 1])
    assert np.all((corners > 15.0 - 1e-5) & (corners < 19.0 + 1e-5))


def test_faces_share_the_points_where_they_meet():
    # A box has eight corners, whatever the kernel's six faces bring; Euler: V − E + F = 2.
    mesh = meshed(kernel.box(0.0, 0.0, 0.0, 3.0, 4.0, 5.0))
    assert len(mesh.points) == 8
    edges = {
        tuple(sorted(pair)) for t in mesh.triangles.tolist() for pair in ((t[0], t[1]), (t[1], t[2]), (t[2], t[0]))
    }
    assert len(mesh.points) - len(edges) + len(mesh.triangles) == 2


def test_points_that_lie_together_are_made_one_and_slivers_dropped():
    points = np.array(
        [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [1.0 + 4e-6, 0.0, 0.0], [1.0, 1.0, 0.0], [1.0, 4e-6, 0.0]]
    )
    mesh = merged(points, np.array([[0, 1, 2], [3, 4, 2], [1, 3, 5]]))
    assert len(mesh.points) == 4
    assert len(mesh.triangles) == 2


def test_points_farther_apart_than_a_printer_could_tell_stay_two():
    points = np.array(
        [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [1.001, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 1.001, 0.0]]
    )
    assert len(merged(points, np.array([[0, 1, 2], [3, 4, 5]])).points) == 6


def test_the_order_of_triangles_does_not_change_the_points():
    mesh = meshed(kernel.revolved(circle(2.0, 11.0, 3.0), stage="t"))
    corners = mesh.points[mesh.triangles].reshape(-1, 3)
    shuffled = np.random.default_rng(7).permutation(len(corners))
    again = merged(corners[shuffled], np.arange(len(corners)).reshape(-1, 3))
    assert np.allclose(again.points, merged(corners, np.arange(len(corners)).reshape(-1, 3)).points, atol=1e-5)
