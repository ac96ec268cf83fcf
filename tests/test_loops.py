"""Combs of hairpins: exact length, no tight bend, no touching, on any bed."""

import math
import random
from itertools import pairwise

import pytest
from shapely import LineString, Polygon

from moldgen import loops
from moldgen.errors import RangeError
from moldgen.loops import Comb, comb, longest, place_on
from moldgen.shapes import parallel


def beds():
    """300 belts and rooms of usual printers, each belt somewhere between the shortest and the longest comb."""
    draw = random.Random(20)
    for _ in range(300):
        height, room = draw.uniform(0.8, 5.0), (draw.uniform(100.0, 300.0), draw.uniform(100.0, 300.0))
        most = longest(height_mm=height, room_mm=room)
        assert most is not None
        least = math.tau * loops.least_bend_mm(height) + 2.0 * loops.LEAST_LEG_MM
        yield draw.uniform(least, most.length_mm), height, room


BEDS = tuple(beds())


def length_by_chords(line):
    """Without the library's own closed form: the polygon of the line's points, doubled and extrapolated.

    A chord of a circle is short by the square of its angle, so twice as many chords are short by a quarter
    (Richardson's extrapolation). The chord count of each arc is ours, not the path's.
    """

    def polygon(count):
        points = []
        for edge in line.edges:
            x, y, bulge = edge.start.x, edge.start.y, edge.start.bulge
            dx, dy = edge.end.x - x, edge.end.y - y
            sweep = 4.0 * math.atan(bulge)
            for i in range(count):
                if bulge == 0.0:
                    points.append((x + dx * i / count, y + dy * i / count))
                    continue
                # A chord from the start that has turned by a share of the sweep; open DXF reference, bulge.
                part = sweep * i / count
                chord = math.sin(0.5 * part) / math.sin(0.5 * sweep)
                turn = 0.5 * (part - sweep)
                c, s = math.cos(turn), math.sin(turn)
                points.append((x + chord * (c * dx - s * dy), y + chord * (s * dx + c * dy)))
        return LineString([*points, points[0]]).length

    coarse, fine = polygon(64), polygon(128)
    return fine + (fine - coarse) / 3.0


def test_loop_is_as_long_as_wanted_on_300_beds():
    for length, height, room in BEDS:
        found = comb(length_mm=length, height_mm=height, room_mm=room)
        assert found is not None, (length, height, room)
        assert length_by_chords(found.line) == pytest.approx(length, abs=0.001)
        assert found.length_mm == pytest.approx(length, abs=1e-9)


def test_no_bend_is_tighter_than_the_limit():
    for length, height, room in BEDS:
        found = comb(length_mm=length, height_mm=height, room_mm=room)
        radii = [edge.arc.radius for edge in found.line.edges if edge.start.bulge != 0.0]
        assert min(radii) >= loops.LEAST_BEND_PER_HEIGHT * height - 1e-9


def test_loop_never_comes_near_itself_and_lies_in_its_room():
    for length, height, room in BEDS:
        found = comb(length_mm=length, height_mm=height, room_mm=room)
        outside = Polygon(parallel(found.line, 0.5 * height, "side").points(0.001))
        inside = Polygon(parallel(found.line, -0.5 * height, "running").points(0.001))
        assert outside.is_valid and inside.is_valid and outside.contains(inside)
        # Half the web, let grow on either side, does not close: strands stay that far apart.
        grown = outside.buffer(0.5 * loops.LEAST_WEB_MM - 0.02)
        shrunk = inside.buffer(-(0.5 * loops.LEAST_WEB_MM - 0.02))
        assert not grown.interiors
        assert shrunk.geom_type == "Polygon"
        x0, y0, x1, y1 = outside.bounds
        assert x1 - x0 <= room[0] + 0.001 and y1 - y0 <= room[1] + 0.001


def test_band_holds_length_times_height():
    # Steiner: a band about a closed smooth line has the area of its length times its width.
    for length, height, room in BEDS:
        line = comb(length_mm=length, height_mm=height, room_mm=room).line
        band = parallel(line, 0.5 * height, "side").area - parallel(line, -0.5 * height, "running").area
        assert band == pytest.approx(length * height, rel=1e-9)


def test_parallel_lines_are_longer_by_two_pi_times_their_distance():
    # Gauss-Bonnet in the plane: once round, a closed line turns by 2 pi.
    line = Comb(hairpins=3, radius_mm=8.0, leg_mm=40.0, home_mm=5.0).line
    assert parallel(line, 2.0, "side").length - line.length == pytest.approx(4.0 * math.pi, rel=1e-12)


def test_longest_comb_is_where_longer_ones_no_longer_fit():
    for _, height, room in BEDS:
        most = longest(height_mm=height, room_mm=room).length_mm
        assert comb(length_mm=most - 1e-6, height_mm=height, room_mm=room) is not None
        assert comb(length_mm=most + 1e-3, height_mm=height, room_mm=room) is None


def test_longest_comb_by_hand():
    # Room 100 x 44, height 2: r <= 42/2/(2n - 1) and at least 6, so two hairpins of r = 7; the way back lies 5 below;
    # legs 100 - 2 - 5 - 14 = 79. L = 4*79 + 4*7*pi + 4*7 + 2*5 = 354 + 28 pi = 441.96.
    most = longest(height_mm=2.0, room_mm=(100.0, 44.0))
    assert (most.hairpins, most.radius_mm, most.leg_mm) == (2, pytest.approx(7.0), pytest.approx(79.0))
    assert most.length_mm == pytest.approx(441.96, abs=0.005)


def test_a_room_too_narrow_for_one_bend_holds_nothing():
    # A belt 5 high bends by 15 at the least: 30 and its own height across.
    assert longest(height_mm=5.0, room_mm=(200.0, 34.9)) is None
    assert longest(height_mm=5.0, room_mm=(200.0, 35.1)) is not None


def test_a_room_hardly_deeper_than_its_bends_leaves_lengths_out():
    # Height 4, so bends of 12 and a way back 7 below. Room 36.1 x 80: one hairpin, r <= 15.5, is at most
    # 2 pi 15.5 + 2 = 99.4 long, and two, r = 12, are at least 4 + (4 pi + 4) 12 + 14 = 216.8.
    room = (36.1, 80.0)
    lengths = [length for length in range(80, 240) if comb(length_mm=length, height_mm=4.0, room_mm=room)]
    assert lengths == [*range(80, 100), 217]


def test_vents_lie_at_the_highest_places_and_gates_between_them():
    for length, height, room in BEDS:
        found = comb(length_mm=length, height_mm=height, room_mm=room)
        line = found.line
        low, _, high, _ = line.bounds
        assert all(place_on(line, s).x == pytest.approx(high, abs=1e-6) for s in found.vents_mm)
        assert all(place_on(line, s).x <= low + found.home_mm + 1e-6 for s in found.gates_mm)
        kinds = sorted([(s, "vent") for s in found.vents_mm] + [(s, "gate") for s in found.gates_mm])
        assert all(one[1] != other[1] for one, other in pairwise(kinds))


def test_lengths_out_of_reach_are_refused():
    with pytest.raises(RangeError):
        comb(length_mm=0.0, height_mm=2.0, room_mm=(100.0, 100.0))
    with pytest.raises(RangeError):
        comb(length_mm=500.0, height_mm=0.0, room_mm=(100.0, 100.0))
