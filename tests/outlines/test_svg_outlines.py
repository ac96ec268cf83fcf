import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.outlines import UnreadableDrawingError, read
from moldgen.outlines.check import faults
from moldgen.outlines.svg import drawing as from_bytes

TRIANGLE = '<path d="M 0 0 L 10 0 L 0 4 Z"/>'


def svg(body, page='width="100mm" height="50mm" viewBox="0 0 100 50"'):
    return f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {page}>{body}</svg>'


def drawn(body, page='width="100mm" height="50mm" viewBox="0 0 100 50"', unit=None):
    return from_bytes(svg(body, page).encode(), file="part.svg", unit=unit)


def corners(contour):
    return sorted((round(v.x, 6), round(v.y, 6)) for v in contour.path.vertices)


@pytest.mark.parametrize(
    ("page", "unit_mm"),
    # CSS Values and Units 3, section 6.2: 1 in = 25.4 mm = 96 px = 72 pt = 6 pc; the view box maps onto the page.
    [
        ('width="40mm" height="30mm" viewBox="0 0 400 300"', 0.1),
        ('width="4cm" height="3cm" viewBox="0 0 400 300"', 0.1),
        ('width="4in" height="3in" viewBox="0 0 400 300"', 0.254),
        ('width="288pt" height="216pt" viewBox="0 0 4 3"', 25.4),
        ('width="40mm" viewBox="0 0 400 300"', 0.1),
        ('width="400mm" viewBox="0 0 4 300"', 100.0),
        ('width="100mm" height="80mm"', 25.4 / 96),
    ],
)
def test_page_and_view_box_set_the_scale(page, unit_mm):
    (rect,) = drawn('<rect x="1" y="0.5" width="2" height="1"/>', page).contours
    x0, y0, x1, y1 = rect.path.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((2 * unit_mm, unit_mm), rel=1e-9)
    assert x0 == pytest.approx(unit_mm, rel=1e-9)


def test_a_view_box_may_start_anywhere():
    (rect,) = drawn(
        '<rect x="-90" y="-40" width="20" height="10"/>', 'width="100mm" height="50mm" viewBox="-100 -50 200 100"'
    ).contours
    # Half a millimetre for each unit; y counts up from the page's lower edge: 50 mm - 5 mm.
    assert rect.path.bounds == pytest.approx((5, 40, 15, 45))


def test_the_page_is_not_seen_mirrored():
    (triangle,) = drawn(TRIANGLE).contours
    assert corners(triangle) == [(0, 46), (0, 50), (10, 50)]


def test_a_view_box_of_other_proportions_is_fitted_and_centred():
    # SVG 1.1, 7.8, xMidYMid meet: 100 x 50 mm holds a 10 x 10 box at 5 mm a unit, 25 mm from the left.
    (rect,) = drawn('<rect width="10" height="10"/>', 'width="100mm" height="50mm" viewBox="0 0 10 10"').contours
    assert rect.path.bounds == pytest.approx((25, 0, 75, 50))


def test_nested_and_mirrored_transforms_are_applied_in_their_order():
    # (x, y) -> scaled (2x, 2y) -> mirrored and moved (60 - 2x, 2y) -> turned by 90° (-2y, 60 - 2x) -> moved (50, -30).
    body = (
        '<g transform="translate(50,-30)"><g transform="rotate(90)"><g transform="translate(60,0) scale(-1,1)">'
        f'<g transform="scale(2)">{TRIANGLE}</g></g></g></g>'
    )
    (triangle,) = drawn(body).contours
    # (0,0) -> (50, 30); (10,0) -> (50, 10); (0,4) -> (42, 30); then y is 50 - y.
    assert corners(triangle) == [(42, 20), (50, 20), (50, 40)]


step = st.one_of(
    st.tuples(st.just("translate"), st.floats(-50, 50), st.floats(-50, 50)),
    st.tuples(st.just("rotate"), st.floats(-180, 180)),
    st.tuples(st.just("scale"), st.sampled_from([-2.0, -1.0, 0.5, 1.5]), st.sampled_from([-1.0, 0.5, 2.0])),
)


@given(st.lists(step, min_size=1, max_size=4))
@settings(max_examples=60, deadline=None)
def test_any_nest_of_transforms_is_their_matrix_product(steps):
    body = TRIANGLE
    for name, *numbers in reversed(steps):
        body = f'<g transform="{name}({",".join(f"{n:.9f}" for n in numbers)})">{body}</g>'
    (triangle,) = drawn(body).contours

    def placed(x, y):
        for name, *n in reversed(steps):  # innermost first
            if name == "translate":
                x, y = x + n[0], y + n[1]
            elif name == "scale":
                x, y = x * n[0], y * n[1]
            else:
                c, s = math.cos(math.radians(n[0])), math.sin(math.radians(n[0]))
                x, y = c * x - s * y, s * x + c * y
        return x, 50 - y

    for corner in [(0, 0), (10, 0), (0, 4)]:
        expected = placed(*corner)
        assert min(math.dist(expected, (v.x, v.y)) for v in triangle.path.vertices) < 1e-5
    assert triangle.path.area == pytest.approx(
        20 * abs(math.prod(n[0] * n[1] for name, *n in steps if name == "scale")), rel=1e-6
    )


def test_round_shapes_stay_arcs():
    ring, plate = drawn('<circle cx="20" cy="20" r="5"/><rect x="40" width="20" height="10" rx="3"/>').contours
    assert ring.diameter_mm == pytest.approx(10.0, rel=1e-9)
    assert ring.path.area == pytest.approx(25 * math.pi, rel=1e-9)
    assert plate.path.area == pytest.approx(200 - (4 - math.pi) * 9, rel=1e-9)


def test_large_arcs_and_mirrored_arcs_are_kept():
    # Three quarters of a disc of radius 8, and the same mirrored: 48 π each.
    pie = '<path d="M 20 20 L 28 20 A 8 8 0 1 1 20 12 Z"/>'
    first, second = drawn(f'{pie}<g transform="translate(80,0) scale(-1,1)">{pie}</g>').contours
    assert first.path.area == pytest.approx(48 * math.pi, rel=1e-9)
    assert second.path.area == pytest.approx(48 * math.pi, rel=1e-9)
    assert first.path.bounds == pytest.approx((12, 22, 28, 38), abs=1e-9)
    assert second.path.bounds == pytest.approx((52, 22, 68, 38), abs=1e-9)


@pytest.mark.parametrize(
    ("path", "area"),
    [
        ("M 0 0 Q 10 16 20 0 Z", 2 / 3 * 20 * 8),  # parabola: two thirds of base times height
        ("M 0 0 C 0 12 20 12 20 0 Z", 0.6 * 20 * 12),  # cubic with upright ends: ∫ y dx = 3/5 base times handle
        ("M 0 10 A 20 10 0 0 1 40 10 Z", math.pi * 20 * 10 / 2),
    ],
)
def test_curves_become_polylines_within_their_flatness(path, area):
    (contour,) = drawn(f'<path d="{path}"/>').contours
    assert contour.path.area == pytest.approx(area, abs=0.005 * contour.path.length)
    assert contour.path.area < area  # chords of a bulging curve lie inside


def test_one_path_may_hold_outline_and_holes():
    drawing = drawn('<path d="M 0 0 H 40 V 20 H 0 Z M 5 5 h 5 v 5 h -5 z m 15 0 h 5 v 5 h -5 z"/>')
    assert [c.path.area for c in drawing.contours] == pytest.approx([800, 25, 25])
    assert faults(drawing.contours) == ()


def test_loose_lines_are_chained():
    body = '<line x1="0" y1="0" x2="10" y2="0"/><polyline points="0,0 0,8 10,8"/><line x1="10" y1="8" x2="10" y2="0"/>'
    drawing = drawn(body)
    assert drawing.faults == ()
    assert drawing.contours[0].path.area == pytest.approx(80.0)


def test_reused_shapes_are_placed():
    (rect,) = drawn('<defs><rect id="r" width="4" height="2"/></defs><use xlink:href="#r" x="10" y="20"/>').contours
    assert rect.path.bounds == pytest.approx((10, 28, 14, 30))


def test_what_is_not_seen_does_not_count():
    hidden = (
        '<g style="display:none"><circle r="3"/></g><circle r="4" visibility="hidden"/>'
        '<clipPath id="c"><rect width="9" height="9"/></clipPath><marker id="m"><circle r="1"/></marker>'
    )
    drawing = drawn(f"{hidden}{TRIANGLE}<text>brake shoe</text>")
    assert len(drawing.contours) == 1
    assert drawing.left_out == ("1 text",)


def test_an_open_path_is_refused_with_its_name_and_place():
    drawing = drawn('<path id="shoe" d="M 0 0 H 30 V 20 H 0.4"/>')
    assert drawing.contours == ()
    assert all("open" in f.text and "“shoe”" in f.text for f in drawing.faults)
    assert sorted(f.where_mm for f in drawing.faults) == [pytest.approx((0, 50)), pytest.approx((0.4, 30))]


def test_a_crossing_is_refused_at_its_place_on_the_page():
    (fault,) = faults(drawn('<polygon id="bow" points="0,0 20,20 20,0 0,20"/>').contours)
    assert (fault.where_mm.x, fault.where_mm.y) == pytest.approx((10, 40))
    assert "“bow”" in fault.text


@pytest.mark.parametrize(
    "page", ['viewBox="0 0 100 50"', 'width="100" height="50"', 'width="100px"', 'width="100%"', ""]
)
def test_a_page_without_a_real_size_is_refused(page):
    with pytest.raises(UnreadableDrawingError, match="how large its page is"):
        drawn(TRIANGLE, page)


@pytest.mark.parametrize(
    "page", ['viewBox="0 0 100 50"', 'width="400" height="200" viewBox="0 0 100 50"', 'width="100"']
)
def test_a_person_may_say_what_the_numbers_of_such_a_page_are(page):
    (triangle,) = drawn(TRIANGLE, page, unit="in").contours
    x0, y0, x1, y1 = triangle.path.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((254.0, 101.6))


def test_a_person_may_not_contradict_the_page():
    with pytest.raises(UnreadableDrawingError, match="states its unit"):
        drawn(TRIANGLE, unit="in")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "not a drawing",
        "<html/>",
        svg(""),
        svg("<text>only text</text>"),
        svg('<path d="M 0 0 L nan 3 L 4 4 Z"/>'),
        svg('<symbol id="s"><circle r="3"/></symbol><use href="#s"/>'),
        svg('<g id="a"><use href="#a"/></g>'),
        svg("<g>" * 200 + TRIANGLE + "</g>" * 200),
        '<!DOCTYPE svg [<!ENTITY a "1">]>' + svg(TRIANGLE),
    ],
)
def test_broken_and_hostile_files_are_refused(tmp_path, text):
    path = tmp_path / "part.svg"
    path.write_text(text)
    with pytest.raises(UnreadableDrawingError):
        read(path)


def test_shapes_that_multiply_by_reuse_are_refused_quickly():
    # Twenty levels, each using the one below twice: a million circles.
    levels = ['<circle id="l0" r="3"/>']
    levels += [f'<g id="l{k + 1}"><use href="#l{k}"/><use href="#l{k}"/></g>' for k in range(20)]
    with pytest.raises(UnreadableDrawingError, match="elements"):
        drawn(f'<defs>{"".join(levels)}</defs><use href="#l20"/>')
