"""Solids against closed forms, and the kernel's silent failures made loud."""

import math

import pytest

from moldgen.errors import GeometryError, OutputError
from moldgen.parts import kernel
from moldgen.parts.solids import solid
from moldgen.shapes import Extruded, Path, Revolved, Vertex, circle, rectangle

EXACT = 1e-9
"""The kernel's surface integrals agree with closed forms far below this."""


def box_of(body):
    b = body.BoundingBox()
    return b.xmin, b.ymin, b.zmin, b.xmax, b.ymax, b.zmax


# --- bodies ----------------------------------------------------------------------------------------

TORUS = circle(2.0, 11.0, 3.0)
HALF_DISC = Path((Vertex(0.0, -3.0, 1.0), Vertex(0.0, 3.0)))
CROWNED = Path((Vertex(10.0, 0.0), Vertex(14.0, 0.0, 0.2), Vertex(14.0, 6.0), Vertex(10.0, 6.0)))


@pytest.mark.parametrize(
    ("profile", "volume_mm3"),
    [
        (rectangle(15.0, 0.0, 19.0, 5.0), math.pi * (19.0**2 - 15.0**2) * 5.0),
        (TORUS, 2.0 * math.pi**2 * 11.0 * 2.0**2),
        (HALF_DISC, 4.0 / 3.0 * math.pi * 3.0**3),
        (Path((Vertex(0.0, 0.0), Vertex(6.0, 0.0), Vertex(0.0, 9.0))), math.pi * 6.0**2 * 9.0 / 3.0),
        (Path((Vertex(4.0, 0.0), Vertex(6.0, 0.0), Vertex(3.0, 9.0), Vertex(1.0, 9.0))),
         math.pi * 9.0 / 3.0 * ((36.0 + 18.0 + 9.0) - (16.0 + 4.0 + 1.0))),
    ],
    ids=["hollow cylinder", "torus", "ball", "cone", "hollow frustum"],
)  # fmt: skip
def test_a_turned_solid_has_the_closed_form_s_volume(profile, volume_mm3):
    body = solid(Revolved(profile), stage="test")
    assert body.isValid()
    assert kernel.volume_mm3(body) == pytest.approx(volume_mm3, rel=EXACT)


@pytest.mark.parametrize("profile", [CROWNED, TORUS, CROWNED.mirrored_y()], ids=["crowned", "torus", "upside down"])
def test_a_turned_solid_agrees_with_pappus(profile):
    body = kernel.revolved(profile, stage="test")
    assert kernel.volume_mm3(body) == pytest.approx(math.tau * profile.centroid.x * profile.area, rel=EXACT)
    _, low, outer, high = profile.bounds
    assert box_of(body) == pytest.approx((-outer, -outer, low, outer, outer, high), abs=1e-5)


def test_an_extruded_solid_stands_on_zero_with_its_holes():
    shape = Extruded(rectangle(0.0, 0.0, 20.0, 10.0), (circle(2.0, 5.0, 5.0), circle(1.0, 15.0, 5.0)), 3.0)
    body = solid(shape, stage="test")
    assert kernel.volume_mm3(body) == pytest.approx((200.0 - 5.0 * math.pi) * 3.0, rel=EXACT)
    assert box_of(body) == pytest.approx((0.0, 0.0, 0.0, 20.0, 10.0, 3.0), abs=1e-5)
    raised = kernel.extruded(shape.outline, shape.holes, 3.0, stage="test", z_mm=-1.5)
    assert box_of(raised)[2::3] == pytest.approx((-1.5, 1.5), abs=1e-5)


def test_a_rounded_box_loses_four_corners():
    body = kernel.rounded_box(-10.0, -6.0, -4.0, 10.0, 6.0, 5.0, 3.0)
    assert kernel.volume_mm3(body) == pytest.approx((240.0 - (4.0 - math.pi) * 9.0) * 9.0, rel=EXACT)


def test_a_hexagonal_prism_holds_its_closed_form():
    # Area of a hexagon of circumradius 3: 3 sqrt(3)/2 * 9.
    corners = [(3.0 * math.cos(math.pi * i / 3.0), 3.0 * math.sin(math.pi * i / 3.0)) for i in range(6)]
    body = kernel.prism(corners, 4.0, -1.0)
    assert kernel.volume_mm3(body) == pytest.approx(1.5 * math.sqrt(3.0) * 9.0 * 4.0, rel=EXACT)


def test_a_cone_is_a_frustum():
    body = kernel.cone(4.0, 2.5, 5.0, 1.0, 2.0, -1.0)
    assert kernel.volume_mm3(body) == pytest.approx(math.pi * 5.0 / 3.0 * (16.0 + 10.0 + 6.25), rel=EXACT)
    assert box_of(body) == pytest.approx((-3.0, -2.0, -1.0, 5.0, 6.0, 4.0), abs=1e-5)


def test_a_moved_body_turns_about_its_own_axis_first():
    body = kernel.moved(kernel.box(0.0, 0.0, 0.0, 4.0, 2.0, 1.0), 10.0, 20.0, 5.0, turn_deg=90.0)
    assert box_of(body) == pytest.approx((8.0, 20.0, 5.0, 10.0, 24.0, 6.0), abs=1e-5)


def test_a_flat_body_stood_up_faces_the_front():
    # What was up (z from 0 to 1) points to smaller y, what was away (y from 0 to 2) points up.
    body = kernel.stood_up(kernel.box(0.0, 0.0, 0.0, 4.0, 2.0, 1.0), 10.0, -30.0, 5.0)
    assert box_of(body) == pytest.approx((10.0, -31.0, 5.0, 14.0, -30.0, 7.0), abs=1e-5)


# --- booleans --------------------------------------------------------------------------------------


def test_a_cut_takes_away_what_is_shared_and_leaves_its_body_as_it_was():
    block = kernel.box(0.0, 0.0, 0.0, 10.0, 10.0, 10.0)
    holes = [kernel.cylinder(1.0, 12.0, x, 5.0, -1.0) for x in (2.5, 7.5)]
    assert kernel.volume_mm3(kernel.cut(block, holes, stage="test")) == pytest.approx(
        1000.0 - 20.0 * math.pi, rel=EXACT
    )
    assert kernel.volume_mm3(block) == pytest.approx(1000.0, rel=EXACT)


def test_a_cut_that_misses_is_refused_with_its_stage():
    block = kernel.box(0.0, 0.0, 0.0, 10.0, 10.0, 10.0)
    with pytest.raises(GeometryError, match=r"^vent: the cut took nothing away"):
        kernel.cut(block, [kernel.cylinder(1.0, 5.0, 50.0, 0.0, 0.0)], stage="vent")


def test_a_cut_that_parts_its_body_is_refused_with_the_smaller_piece_s_place():
    block = kernel.box(0.0, 0.0, 0.0, 10.0, 10.0, 10.0)
    with pytest.raises(GeometryError, match="2 loose pieces") as caught:
        kernel.cut(block, [kernel.box(6.0, -1.0, -1.0, 8.0, 11.0, 11.0)], stage="lower half")
    assert caught.value.where_mm == pytest.approx((9.0, 5.0, 5.0))
    assert caught.value.way_out


def test_a_cut_that_leaves_nothing_is_refused():
    with pytest.raises(GeometryError, match="0 loose pieces"):
        kernel.cut(
            kernel.box(0.0, 0.0, 0.0, 1.0, 1.0, 1.0), [kernel.box(-1.0, -1.0, -1.0, 2.0, 2.0, 2.0)], stage="test"
        )


def test_bodies_that_touch_are_fused_and_loose_ones_refused():
    a, b, far = (kernel.box(x, 0.0, 0.0, x + 2.0, 2.0, 2.0) for x in (0.0, 1.5, 9.0))
    assert kernel.volume_mm3(kernel.fused([a, b], stage="keys")) == pytest.approx(3.5 * 4.0, rel=EXACT)
    with pytest.raises(GeometryError, match=r"^keys: 2 loose pieces"):
        kernel.fused([a, far], stage="keys")


def test_what_two_groups_share_is_counted_once():
    a = [kernel.box(0.0, 0.0, 0.0, 4.0, 4.0, 4.0)]
    b = [kernel.box(3.0, 0.0, 0.0, 6.0, 4.0, 4.0), kernel.box(2.0, 0.0, 0.0, 5.0, 4.0, 4.0)]
    shared = kernel.common(a, b)
    assert sum(kernel.volume_mm3(piece) for piece in kernel.solids_of(shared)) == pytest.approx(2.0 * 16.0, rel=EXACT)
    assert kernel.solids_of(kernel.common(a, [kernel.box(9.0, 0.0, 0.0, 10.0, 1.0, 1.0)])) == []


BOW_TIE = Path((Vertex(1.0, 0.0), Vertex(5.0, 4.0), Vertex(5.0, 0.0), Vertex(1.0, 4.0)))


@pytest.mark.parametrize(
    "make",
    [
        lambda: kernel.revolved(rectangle(-3.0, 0.0, 5.0, 4.0), stage="part"),
        lambda: kernel.extruded(BOW_TIE, [], 3.0, stage="part"),
        lambda: kernel.extruded(circle(3.0), [circle(5.0)], 3.0, stage="part"),
        lambda: kernel.extruded(circle(3.0), [circle(1.0, 10.0)], 3.0, stage="part"),
        lambda: kernel.extruded(Path((Vertex(0.0, 0.0), Vertex(4.0, 0.0), Vertex(8.0, 0.0))), [], 3.0, stage="part"),
        lambda: kernel.extruded(Path((Vertex(0.0, 0.0), Vertex(0.0, 0.0), Vertex(8.0, 8.0))), [], 3.0, stage="part"),
    ],
    ids=[
        "across the axis", "crossed", "hole too large", "hole beside", "no area", "a point twice",
    ],
)  # fmt: skip
def test_an_outline_that_bounds_nothing_sensible_is_refused_with_its_stage(make):
    with pytest.raises(GeometryError) as caught:
        make()
    assert caught.value.stage == "part"
    assert caught.value.way_out


# --- files -----------------------------------------------------------------------------------------


def test_solids_come_back_from_a_step_file_with_their_volume(tmp_path):
    path = tmp_path / "two.step"
    bodies = [("ring", kernel.revolved(TORUS, stage="test")), ("block", kernel.box(50.0, 0.0, 0.0, 60.0, 5.0, 5.0))]
    kernel.write_step(bodies, path)
    back = sorted(kernel.volume_mm3(body) for body in kernel.solids_of(kernel.read_step(path)))
    assert back == pytest.approx([250.0, 88.0 * math.pi**2], rel=1e-6)
    text = path.read_text(encoding="ascii")
    assert "'ring'" in text
    assert "'block'" in text
    assert "SI_UNIT(.MILLI.,.METRE.)" in text


def test_what_is_no_step_file_is_refused(tmp_path):
    path = tmp_path / "not.step"
    path.write_text("solid no\n", encoding="ascii")
    with pytest.raises(OutputError, match=r"not\.step"):
        kernel.read_step(path)
    with pytest.raises(OutputError):
        kernel.read_step(tmp_path / "none.step")


def test_a_step_file_that_cannot_be_written_is_told(tmp_path):
    with pytest.raises(OutputError, match="could not be written"):
        kernel.write_step([("a", kernel.box(0.0, 0.0, 0.0, 1.0, 1.0, 1.0))], tmp_path / "none" / "a.step")
