"""Drawings of parts: their views against closed forms, and every worked example's dimensions against its sizing."""

import math

import pytest
from drawings import NAMES, part, sized

from moldgen.drawing.model import Area, overlapping_texts
from moldgen.drawing.names import Names
from moldgen.drawing.shape_views import shape_view
from moldgen.drawing.sheet import HEIGHT_MM, SCALES
from moldgen.drawing.turned_views import section_paths, without_fillets
from moldgen.shapes import Extruded, Path, Point, Revolved, Vertex, circle, rectangle

QUARTER = math.tan(math.pi / 8.0)

RING = Revolved(
    Path(
        (
            Vertex(10.0, 0.0, surface="face"),
            Vertex(14.5, 0.0, QUARTER, "edge"),
            Vertex(15.0, 0.5, surface="running"),
            Vertex(15.0, 5.5, QUARTER, "edge"),
            Vertex(14.5, 6.0, surface="face"),
            Vertex(10.0, 6.0, surface="bore"),
        )
    )
)


def values(view, *, kind=None):
    return sorted(round(d.value, 6) for d in view.dimensions if kind in (None, d.kind))


def view_of(shape, scale=2.0, **named):
    return shape_view(shape, name="free", scale=scale, names=Names("free", named))


def test_a_ring_shows_two_diameters_its_width_and_its_edges():
    view = view_of(RING, inner_diameter_mm=20.0, outer_diameter_mm=30.0, width_mm=6.0, edge_mm=0.5)
    assert {d.name: d.value for d in view.dimensions} == {
        "free.inner_diameter_mm": 20.0,
        "free.outer_diameter_mm": 30.0,
        "free.width_mm": 6.0,
        "free.edge_mm": pytest.approx(0.5),
    }
    assert "2× R0.5" in [d.text.text for d in view.dimensions]


def test_both_cut_faces_have_the_profile_s_area():
    lower, upper = section_paths(RING.profile)
    assert lower.area == pytest.approx(RING.profile.area) and upper.area == pytest.approx(RING.profile.area)
    assert lower.bounds == pytest.approx((0.0, -15.0, 6.0, -10.0)) and upper.bounds == pytest.approx(
        (0.0, 10.0, 6.0, 15.0)
    )


def test_a_part_without_a_bore_is_cut_in_one_face():
    (face,) = section_paths(rectangle(0.0, 0.0, 4.0, 7.0))
    assert face.area == pytest.approx(8.0 * 7.0)


def test_a_stepped_part_shows_every_cylinder_and_shoulder():
    profile = Path(
        tuple(Vertex(*p) for p in ((3.0, 0.0), (10.0, 0.0), (10.0, 4.0), (7.0, 4.0), (7.0, 9.0), (3.0, 9.0)))
    )
    view = view_of(Revolved(profile))
    assert values(view) == [4.0, 6.0, 9.0, 14.0, 20.0]


def test_a_bevel_is_told_by_its_size_and_not_by_two_diameters():
    profile = Path(
        tuple(Vertex(*p) for p in ((3.0, 0.0), (9.5, 0.0), (10.0, 0.5), (10.0, 7.5), (9.5, 8.0), (3.0, 8.0)))
    )
    view = view_of(Revolved(profile))
    assert values(view) == [6.0, 8.0, 20.0]
    assert "2× 0.5 × 45°" in [t.text for item in view.items if hasattr(item, "end") for t in (item.text,)]


def test_fillets_are_carried_on_to_their_corner():
    rounded = without_fillets(RING.profile)
    assert [(v.x, v.y) for v in rounded.vertices] == [
        pytest.approx(corner) for corner in ((10.0, 0.0), (15.0, 0.0), (15.0, 6.0), (10.0, 6.0))
    ]


def test_a_round_cord_ring_shows_its_section_s_diameter():
    view = view_of(Revolved(circle(1.5, 40.0, 1.5)))
    assert values(view, kind="diameter") == [3.0]
    assert values(view, kind="linear") == [77.0, 83.0]


def test_a_crown_shows_its_middle_and_its_ends():
    # Sagitta of an arc over a chord of 10 mm: 0.2 mm asks for R = 10²/(8·0.2) + 0.2/2 = 62.6 mm.
    bulge = math.tan(0.5 * math.asin(5.0 / 62.6))
    profile = Path((Vertex(5.0, 0.0), Vertex(9.8, 0.0, bulge), Vertex(9.8, 10.0), Vertex(5.0, 10.0)))
    view = view_of(Revolved(profile))
    assert values(view, kind="linear") == pytest.approx([10.0, 10.0, 19.6, 20.0])
    assert values(view, kind="radius") == pytest.approx([62.6], abs=1e-6)


def test_a_flat_part_shows_extents_holes_places_and_thickness():
    shape = Extruded(rectangle(0.0, 0.0, 30.0, 12.0), (circle(2.0, 6.0, 5.0), circle(2.0, 24.0, 5.0)), 3.0)
    view = view_of(shape)
    assert values(view, kind="linear") == [3.0, 5.0, 6.0, 12.0, 24.0, 30.0]
    assert values(view, kind="diameter") == [4.0]
    assert "2× Ø4" in [d.text.text for d in view.dimensions]


def test_a_slot_shows_its_size_and_place():
    shape = Extruded(rectangle(0.0, 0.0, 30.0, 12.0), (rectangle(8.0, 4.0, 19.0, 6.0),), 3.0)
    assert values(view_of(shape)) == [2.0, 3.0, 4.0, 8.0, 11.0, 12.0, 30.0]


def test_a_view_is_drawn_at_its_scale():
    faces = [item for item in view_of(RING, scale=5.0).items if isinstance(item, Area)]
    assert sum(face.rim.area for face in faces) == pytest.approx(2.0 * RING.profile.area * 25.0)


def test_names_are_given_once_and_what_is_left_is_said_in_words():
    names = Names("free", {"width_mm": 4.0, "height_mm": 4.0, "length_mm": 321.125, "bore_diameter_mm": 4.0})
    assert [names.of(4.0), names.of(4.0), names.of(4.0)] == ["free.width_mm", "free.height_mm", ""]
    assert names.of(4.0, across=True) == "free.bore_diameter_mm"
    assert names.not_shown([4.0]) == ("length 321.12",)
    assert names.not_shown([321.125]) == ()


@pytest.mark.parametrize("name", NAMES)
def test_every_named_dimension_of_an_example_equals_its_sizing(name):
    named = [d for d in part(name).dimensions if d.name]
    assert named
    for d in named:
        stage, key = d.name.split(".")
        assert d.value == pytest.approx(getattr(sized(name), stage)[key].value, abs=1e-6)


@pytest.mark.parametrize("name", ["loop_idler", "loop_rewind_tyre", "loop_pinch_sleeve"])
def test_a_ring_on_metal_shows_all_it_is_sized_by_at_each_stage(name):
    # The contract's keys of these families.
    shown = {d.name for d in part(name).dimensions}
    for stage in ("free", "fitted", "mold"):
        assert {f"{stage}.{key}" for key in ("inner_diameter_mm", "outer_diameter_mm", "width_mm")} <= shown


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_of_an_example_s_free_and_mold_sizes_stands_on_its_drawing(name):
    drawing = part(name)
    words = " ".join(text.text for text in drawing.texts)
    shown = [d.value for d in drawing.dimensions]
    for stage in ("free", "mold"):
        for key, u in getattr(sized(name), stage).items():
            spelled = f"{u.value:.2f}".rstrip("0").rstrip(".")
            assert any(abs(u.value - value) < 1e-6 for value in shown) or spelled in words, f"{stage}.{key}"


@pytest.mark.parametrize("name", NAMES)
def test_an_example_s_part_drawing_fits_a4_at_a_standard_scale_and_no_texts_meet(name):
    drawing = part(name)
    # ISO 5455 scales, A4 within its frame by ISO 5457 (both from memory of the standards).
    assert drawing.scale in SCALES
    assert drawing.width_mm == 180.0 and drawing.height_mm <= HEIGHT_MM == 277.0
    assert overlapping_texts(drawing) == ()


def test_metal_that_a_part_is_cast_on_is_drawn_as_metal():
    views = {view.name: view for view in part("loop_rewind_tyre").views}
    for stage in ("free", "fitted"):
        metal = [item for item in views[stage].items if isinstance(item, Area) and item.material == "metal"]
        scale = views[stage].scale
        # Hub 22.00 across, 1/4 in wide, bored 4.00 (the spec): two rectangles of 9 x 6.35 mm.
        assert [face.rim.area / scale**2 for face in metal] == pytest.approx([9.0 * 6.35] * 2)


def test_running_surfaces_are_marked_outside():
    marks = [item for view in part("loop_idler").views for item in view.items if getattr(item, "kind", "") == "running"]
    assert len(marks) == 6  # above and below in each of three views
    assert all(isinstance(v, Vertex) for mark in marks for v in mark.vertices)
    free = next(view for view in part("loop_idler").views if view.name == "free")
    top = max(v.y for item in free.items if isinstance(item, Area) for v in item.rim.vertices)
    assert max(v.y for m in marks for v in m.vertices) > top


def test_a_point_on_the_sheet_is_where_the_view_is():
    view = view_of(RING).moved(10.0, 20.0)
    assert view.box.x0 == pytest.approx(view_of(RING).box.x0 + 10.0)
    assert isinstance(view.dimensions[0].points[0], Point)
