"""Stroke letters: areas that print, that a kernel can extrude, and that cannot be taken for one another."""

import itertools
import math
import time

import pytest
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.affinity import translate

from moldgen.errors import RangeError
from moldgen.mold.lettering import characters, outlines, strokes, width_mm

WANTED = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.,:/%+±°()#×=&'<>"
DRAWN = [c for c in characters() if c != " "]
NOZZLE_MM = 0.4
# In stroke widths: the pen's dodecagon lies up to (1 - cos 15°)/2 inside its circle, thinning shifts by 1/12.
PEN_SLACK = 0.5 * (1.0 - math.cos(math.radians(15.0))) + 1.0 / 12.0
LABEL = "Idler tyre 40.15 x 5.20 mm A-60 rev B7 &"


def ink(text, height_mm=5.0, stroke_width_mm=0.5):
    drawn = outlines(text=text, height_mm=height_mm, stroke_width_mm=stroke_width_mm)
    return MultiPolygon([Polygon(outline.exterior, outline.holes) for outline in drawn])


def centred(area):
    left, _, right, _ = area.bounds
    return translate(area, -0.5 * (left + right))


def length_mm(text, height_mm=5.0):
    return sum(LineString(line).length for line in strokes(text=text, height_mm=height_mm))


@pytest.mark.parametrize("character", WANTED)
def test_every_promised_character_has_a_drawing_of_its_own(character):
    assert character in characters()
    assert strokes(text=character, height_mm=5.0)
    assert strokes(text=character, height_mm=5.0) != strokes(text="\N{SNOWMAN}", height_mm=5.0)


def test_a_blank_has_width_and_no_strokes_and_no_text_has_neither():
    assert strokes(text=" ", height_mm=5.0) == ()
    assert outlines(text=" ", height_mm=5.0, stroke_width_mm=0.5) == ()
    assert width_mm(text=" ", height_mm=5.0) > 0.0
    assert width_mm(text="", height_mm=5.0) == 0.0


def test_accents_are_dropped_and_typographic_signs_read_as_the_plain_ones():
    assert strokes(text="é−⌀", height_mm=5.0) == strokes(text="e-Ø", height_mm=5.0)


@pytest.mark.parametrize("character", "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")
def test_capitals_and_figures_reach_exactly_their_height_above_the_line(character):
    heights = [y for line in strokes(text=character, height_mm=4.0) for _, y in line]
    assert max(heights) == pytest.approx(4.0, abs=1e-9)
    if character != "Q":  # its tail goes below the line
        assert min(heights) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("text", [LABEL, "Qjgpqy(_,/)", *DRAWN])
def test_ink_fills_the_stated_width_and_half_a_stroke_around_it(text):
    left, low, right, high = ink(text).bounds
    slack_mm = PEN_SLACK * 0.5
    assert left == pytest.approx(-0.25, abs=slack_mm)
    assert right == pytest.approx(width_mm(text=text, height_mm=5.0) + 0.25, abs=slack_mm)
    assert low >= -5.0 / 3.0 - 0.25
    assert high <= 5.0 * 1.1 + 0.25 + 1e-9


def test_width_grows_with_every_letter_and_in_proportion_to_the_height():
    widths = [width_mm(text=LABEL[:n], height_mm=4.0) for n in range(len(LABEL) + 1)]
    assert all(a < b for a, b in itertools.pairwise(widths))
    assert width_mm(text=LABEL, height_mm=6.0) == pytest.approx(1.5 * widths[-1], rel=1e-12)


@pytest.mark.parametrize("character", [*DRAWN, "\N{SNOWMAN}"])
@pytest.mark.parametrize("height_mm, stroke_mm", [(3.5, 0.6), (6.0, 0.4), (5.0, 1.0), (5.0, 0.1)])
def test_area_is_what_a_pen_of_that_width_can_ink_on_that_length(character, height_mm, stroke_mm):
    area = ink(character, height_mm, stroke_mm)
    assert area.is_valid
    ribbon = length_mm(character, height_mm) * stroke_mm
    caps = len(strokes(text=character, height_mm=height_mm)) * math.pi * stroke_mm**2 / 4.0
    # A ribbon and its two round ends cannot be exceeded; where strokes meet, ink is laid twice.
    assert 0.6 * ribbon < area.area <= (ribbon + caps) * (1.0 + 1e-9)


@pytest.mark.parametrize("character", DRAWN)
def test_rim_stays_close_to_that_of_a_truly_round_pen(character):
    fine = MultiLineString(strokes(text=character, height_mm=5.0)).buffer(0.25, quad_segs=64)
    # Twice the slack, since a rim that shifts sideways moves the tip of an acute notch by more.
    assert ink(character).boundary.hausdorff_distance(fine.boundary) < 2.0 * PEN_SLACK * 0.5


def test_rims_turn_anticlockwise_and_islands_clockwise_without_repeating_a_point():
    for outline in outlines(text="".join(characters()), height_mm=5.0, stroke_width_mm=0.5):
        assert Polygon(outline.exterior).exterior.is_ccw
        assert all(not Polygon(hole).exterior.is_ccw for hole in outline.holes)
        for ring in (outline.exterior, *outline.holes):
            assert len(set(ring)) == len(ring) >= 3


@pytest.mark.parametrize("character", DRAWN)
def test_islands_and_slots_of_the_smallest_label_are_as_wide_as_the_nozzle(character):
    area = ink(character, height_mm=3.5, stroke_width_mm=0.6)
    for part in area.geoms:
        assert all(not Polygon(hole).buffer(-0.5 * NOZZLE_MM).is_empty for hole in part.interiors)
    # Closing with a disc as wide as the nozzle fills only sharp inner corners, never a slot.
    closed = area.buffer(0.5 * NOZZLE_MM, quad_segs=8).buffer(-0.5 * NOZZLE_MM, quad_segs=8)
    assert closed.area < 1.05 * area.area
    assert sum(len(p.interiors) for p in area.geoms) == sum(
        len(p.interiors) for p in getattr(closed, "geoms", [closed])
    )


@pytest.mark.parametrize("left", DRAWN)
def test_no_two_neighbours_come_closer_than_the_nozzle(left):
    first = ink(left, height_mm=3.5, stroke_width_mm=0.6)
    for right in DRAWN:
        start_mm = width_mm(text=left + right, height_mm=3.5) - width_mm(text=right, height_mm=3.5)
        second = translate(ink(right, height_mm=3.5, stroke_width_mm=0.6), start_mm)
        assert first.distance(second) > NOZZLE_MM, left + right


@pytest.mark.parametrize("height_mm, stroke_mm", [(6.0, 0.4), (3.5, 0.6)])
def test_no_two_characters_share_nine_tenths_of_their_ink(height_mm, stroke_mm):
    areas = {c: centred(ink(c, height_mm, stroke_mm)) for c in DRAWN}
    for a, b in itertools.combinations(DRAWN, 2):
        differs = areas[a].symmetric_difference(areas[b]).area
        assert differs > 0.1 * min(areas[a].area, areas[b].area), a + b


@pytest.mark.parametrize("pair", ["1I", "1l", "Il", "0O", "5S", "8B", "2Z", "6b", "9g", "0D", "0Q"])
def test_notorious_pairs_differ_by_a_quarter_of_their_ink(pair):
    a, b = (centred(ink(c, height_mm=3.5, stroke_width_mm=0.6)) for c in pair)
    assert a.symmetric_difference(b).area > 0.25 * min(a.area, b.area)


def test_a_label_of_forty_characters_takes_under_thirty_milliseconds():
    assert len(LABEL) == 40
    outlines(text="warm up", height_mm=4.0, stroke_width_mm=0.5)  # the import is not what is timed
    times = []
    for _ in range(3):
        start = time.perf_counter()
        outlines(text=LABEL, height_mm=4.0, stroke_width_mm=0.5)
        times.append(time.perf_counter() - start)
    assert min(times) < 0.030


@pytest.mark.parametrize("height_mm, stroke_mm", [(0.5, 0.1), (5.0, 1.2), (5.0, 0.05), (60.0, 5.0)])
def test_pens_and_heights_that_cannot_be_read_are_refused(height_mm, stroke_mm):
    with pytest.raises(RangeError):
        outlines(text="A", height_mm=height_mm, stroke_width_mm=stroke_mm)
