"""How dimensions, leaders and texts are laid out, on made-up views."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.drawing.callouts import Callout, Tip, on_circle, placed
from moldgen.drawing.dimensions import ARROW_MM, Linear, Placing, angular, diameter, stacked
from moldgen.drawing.hatching import RULINGS, hatch_lines
from moldgen.drawing.letters import fitted, text_width_mm
from moldgen.drawing.model import Area, Box, Drawing, Text, View, line, overlapping_texts
from moldgen.shapes import Path, Point, Vertex, circle, rectangle

# Advance widths of Helvetica in thousandths of the font size, and the height of its capitals: the metrics files of the
# 14 standard PostScript fonts, from memory.
HELVETICA = {
    "0": 556,
    "7": 556,
    ".": 278,
    "-": 333,
    "A": 667,
    "M": 833,
    "W": 944,
    "e": 556,
    "i": 222,
    "m": 833,
    " ": 278,
}
HELVETICA_CAPITALS = 718


def sheet(*items):
    return Drawing("made_up", "made up", 1.0, 400.0, 400.0, (View("only", 1.0, tuple(items)),))


def level(start, end, side="below"):
    return Linear("", Point(start, 0.0), Point(end, 0.0), side)


def laid(*wanted, scale=1.0, outline=None):
    return stacked(wanted, placing=Placing(scale, 150.0, 150.0), outline=outline or Box(150.0, 150.0, 250.0, 200.0))


def test_estimated_widths_are_never_less_than_helvetica():
    for letter, width in HELVETICA.items():
        assert text_width_mm(letter, height_mm=1.0) >= width / HELVETICA_CAPITALS


def test_a_long_text_is_made_smaller_then_shorter():
    text, height = fitted("a rather long remark", height_mm=3.0, room_mm=20.0, least_mm=2.0)
    assert height == 2.0 and text.endswith("…")
    assert text_width_mm(text, height_mm=height) <= 20.0
    assert fitted("short", height_mm=3.0, room_mm=60.0, least_mm=2.0) == ("short", 3.0)


def test_a_roomy_dimension_has_its_text_above_and_arrows_inside():
    # ISO 129-1: dimensional values parallel to and above their line, near its middle (from memory of the standard).
    (one,) = laid(level(10.0, 50.0))
    low, high, on_line = one.points
    assert (low.x, high.x) == (160.0, 200.0)
    box = one.text.box
    assert 0.5 * (box.x0 + box.x1) == pytest.approx(180.0, abs=0.01)
    assert 0.0 < one.text.at.y - on_line.y < 1.5
    left, right = one.arrows
    assert (left.tip.x, right.tip.x) == (160.0, 200.0)
    assert all(160.0 <= corner.x <= 200.0 for arrow in one.arrows for corner in arrow.corners)


def test_a_narrow_dimension_has_its_text_beside_and_arrows_outside():
    (one,) = laid(level(10.0, 11.0))
    box = one.text.box
    assert box.x0 > 161.0 or box.x1 < 160.0
    left, right = one.arrows
    assert all(corner.x <= 160.0 for corner in left.corners) and all(corner.x >= 161.0 for corner in right.corners)


def test_an_upright_dimension_is_read_from_the_right():
    (one,) = laid(Linear("", Point(0.0, 0.0), Point(0.0, 40.0), "right"))
    assert one.text.angle_deg == 90.0
    assert one.text.box.x1 < one.points[2].x + 0.5  # above its line is to its left


def test_a_longer_dimension_stands_outside_the_shorter_ones_within_it():
    dimensions = laid(level(0.0, 90.0), level(0.0, 30.0), level(30.0, 60.0))
    off = {round(d.value): d.points[2].y for d in dimensions}
    assert off[90] < off[30] < 150.0
    assert [d.points[2].y for d in dimensions].count(off[30]) == 2  # the chained ones share a lane


def test_what_it_measures_is_the_real_length_at_any_scale():
    for scale in (0.1, 2.0, 20.0):
        (one,) = laid(level(1.25, 8.5), scale=scale)
        assert one.value == pytest.approx(7.25, abs=1e-12)
        assert one.text.text == "7.25"
        assert abs(one.points[1].x - one.points[0].x) == pytest.approx(7.25 * scale, abs=1e-9)


def test_a_diameter_from_the_side_carries_its_sign():
    (one,) = laid(diameter("free.outer_diameter_mm", 3.0, 12.5, "right"))
    assert (one.value, one.text.text, one.name) == (25.0, "Ø25", "free.outer_diameter_mm")


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["below", "above", "left", "right"]),
            st.floats(0.0, 50.0),
            st.floats(0.05, 60.0),
        ),
        min_size=2,
        max_size=14,
    )
)
def test_texts_of_stacked_dimensions_never_meet(wanted):
    lines = [
        Linear("", Point(0.0, start), Point(0.0, start + length), side)
        if side in ("left", "right")
        else Linear("", Point(start, 0.0), Point(start + length, 0.0), side)
        for side, start, length in wanted
    ]
    boxes = [d.text.box for d in laid(*lines)]
    assert not [(a, b) for i, a in enumerate(boxes) for b in boxes[:i] if a.meets(b)]


def test_texts_that_overlap_or_leave_the_sheet_are_found():
    a, b = Text("12.5", Point(20.0, 20.0), 2.5), Text("13", Point(22.0, 20.5), 2.5)
    far, over = Text("14", Point(60.0, 20.0), 2.5), Text("too far", Point(395.0, 20.0), 2.5)
    assert overlapping_texts(sheet(a, far)) == ()
    assert overlapping_texts(sheet(a, b, far)) == (("13", "12.5"),)
    assert overlapping_texts(sheet(a, over)) == (("too far", ""),)


def test_a_leader_keeps_clear_of_texts_in_its_way():
    wall = [Text("standing here", Point(105.0 + 12.0 * i, 104.0 + 4.0 * j), 2.5) for i in range(2) for j in range(3)]
    tip = Tip(Point(100.0, 100.0), (45.0, 135.0))
    (leader,) = placed([Callout("note", (tip,), "look here")], among=wall)
    assert not any(leader.text.box.meets(text.box) for text in wall)


def test_a_radius_points_at_its_arc_from_the_centre():
    tip = on_circle(Point(50.0, 50.0), 4.0, 30.0)
    (one,) = placed([Callout("radius", (tip,), "2× R<>", "free.edge_mm", 0.4, 10.0)], among=[])
    centre, at = one.points
    assert math.dist(centre, at) == pytest.approx(one.value * one.scale)
    assert one.text.text == "2× R0.4"
    (start, end) = one.strokes[0].vertices
    assert (end.y - start.y) / (end.x - start.x) == pytest.approx(math.tan(math.radians(30.0)))


def test_an_angle_stands_between_its_legs():
    one = angular("tilt", corner=Point(0.0, 0.0), radius_mm=50.0, from_deg=0.0, to_deg=6.0, value_deg=6.0, scale=1.0)
    _, start, end, _ = one.points
    assert math.degrees(math.atan2(end.y, end.x) - math.atan2(start.y, start.x)) == pytest.approx(6.0)
    assert one.text.text == "6°"


@pytest.mark.parametrize("material", sorted(RULINGS))
def test_hatch_lines_cover_the_area_once_per_ruling(material):
    # Lines a pitch apart rule an area: their length times the pitch is the area, to the strip at the rim.
    rim = circle(30.0, 40.0, 40.0)
    area = Area(rim, (circle(10.0, 45.0, 40.0),), material)
    length = sum(math.dist(a, b) for a, b in hatch_lines(area))
    expected = sum(math.pi * (30.0**2 - 10.0**2) / ruling.pitch_mm for ruling in RULINGS[material])
    assert length == pytest.approx(expected, rel=0.02)


def test_hatch_lines_stay_out_of_holes():
    hole = rectangle(20.0, 20.0, 30.0, 30.0)
    area = Area(rectangle(10.0, 10.0, 40.0, 40.0), (hole,), "lower")
    for a, b in hatch_lines(area):
        for share in (0.01, 0.25, 0.5, 0.75, 0.99):
            x, y = a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)
            assert not (20.01 < x < 29.99 and 20.01 < y < 29.99)


def test_neighbouring_bodies_are_hatched_differently():
    # ISO 128-3: hatchings of adjacent parts differ in direction or spacing (from memory of the standard).
    assert len(set(RULINGS.values())) == len(RULINGS)


def test_arrow_heads_are_fifteen_degrees_wide():
    (one,) = laid(level(10.0, 50.0))
    tip, left, right = one.arrows[0].corners
    width, length = math.dist(left, right), math.dist(tip, left)
    assert 2.0 * math.degrees(math.asin(0.5 * width / length)) == pytest.approx(15.0)
    assert length * math.cos(math.radians(7.5)) == pytest.approx(ARROW_MM)


def test_an_open_line_has_no_closing_edge():
    assert [edge.chord for edge in line((0.0, 0.0), (3.0, 4.0), "thin").edges] == [5.0]
    closed = Path((Vertex(0.0, 0.0), Vertex(1.0, 0.0), Vertex(0.0, 1.0)))
    assert len(closed.edges) == 3
