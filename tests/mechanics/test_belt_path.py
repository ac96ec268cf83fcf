"""Belt paths against two-pulley closed forms, handbook examples, convex hulls, and reference rows.

The reference rows come from an independent computation of the same geometry, itself checked against hull
perimeters and walked polylines. They are printed to five digits: half a unit of the fifth is all there is to
agree with.
"""

import math
import pickle
import random

import pytest
import shapely

from moldgen.errors import MoldgenError, RangeError
from moldgen.mechanics.belt_path import (
    BeltPath,
    BottomsError,
    FlatFloor,
    ImpossibleSenseError,
    NoTangentError,
    PitchCircle,
    Pulley,
    PulleysOverlapError,
    RectangularSection,
    RidesOutError,
    RoundGroove,
    RoundSection,
    Sense,
    SpanBlockedError,
    SquareGroove,
    VeeGroove,
    WrongOrderError,
    belt_path,
    pitch_radius_mm,
    pitch_radius_per_thickness,
    require_fit,
    routed,
    sharp_vee,
)


def printed(value: float) -> object:
    """The value to within half a unit of its fifth digit."""
    return pytest.approx(value, abs=0.5001 * 10.0 ** (math.floor(math.log10(abs(value))) - 4))


def path_over(*circles: tuple[float, float, float, int]) -> BeltPath:
    return belt_path(circles=tuple(PitchCircle(x, y, r, Sense(s)) for x, y, r, s in circles))


def two_pulleys(*, small: float, large: float, centers: float, crossed: bool) -> BeltPath:
    """Diameters, as the handbooks give them."""
    return path_over((0.0, 0.0, small / 2, 1), (centers, 0.0, large / 2, -1 if crossed else 1))


# Two pulleys: handbooks


def test_open_belt_of_the_handbook_is_230_074_in_long():
    # Shigley's Mechanical Engineering Design, solutions to ch. 17, eqs. (17-1), (17-2): d 6, D 18, C 96 in.
    path = two_pulleys(small=6, large=18, centers=96, crossed=False)
    assert path.length_mm == pytest.approx(230.074, abs=1e-3)
    assert path.wraps_rad == pytest.approx((3.016511, 3.266674), abs=2e-6)


def test_second_open_belt_of_the_handbook():
    # Same, Prob. 17-2: d 2, D 4, C 108 in, theta_d printed as 3.123; the length follows from eq. (17-2).
    path = two_pulleys(small=2, large=4, centers=108, crossed=False)
    assert path.wraps_rad[0] == pytest.approx(3.123, abs=5e-4)
    assert path.length_mm == pytest.approx(225.434, abs=1e-3)


def test_crossed_belt_of_the_handbook_is_231_201_in_long():
    # Shigley eq. (17-3), the number worked out from it; beware of prints with a minus sign in the wrap.
    path = two_pulleys(small=6, large=18, centers=96, crossed=True)
    assert path.length_mm == pytest.approx(231.2011, abs=1e-4)
    assert path.wraps_rad == pytest.approx((3.392248, 3.392248), abs=2e-6)


@pytest.mark.parametrize(
    ("small", "large", "centers", "open_mm", "crossed_mm"),
    [
        (10, 60, 80, 277.8338, 285.5279),
        (10, 60, 40, 206.1623, 223.2661),
        (8, 90, 60, 303.2409, 316.8411),
    ],
)
def test_lengths_of_close_pulleys(small, large, centers, open_mm, crossed_mm):
    # Exact open and crossed forms worked out separately; the handbooks' approximation is up to 1.2 % off.
    assert two_pulleys(small=small, large=large, centers=centers, crossed=False).length_mm == pytest.approx(
        open_mm, abs=1e-4
    )
    assert two_pulleys(small=small, large=large, centers=centers, crossed=True).length_mm == pytest.approx(
        crossed_mm, abs=1e-4
    )


@pytest.mark.parametrize(("small", "large", "centers"), [(10, 60, 80), (10, 60, 300), (8, 90, 2000), (7, 7, 50)])
def test_handbook_approximation_is_met_when_pulleys_are_far_apart(small, large, centers):
    # Machinery's Handbook: 2C + pi (D + d)/2 + (D -+ d)^2/4C; the next term is (D -+ d)^4/(192 C^3).
    for crossed, difference in ((False, large - small), (True, large + small)):
        approximate = 2 * centers + math.pi * (large + small) / 2 + difference**2 / (4 * centers)
        path = two_pulleys(small=small, large=large, centers=centers, crossed=crossed)
        assert path.length_mm == pytest.approx(approximate, abs=difference**4 / (100 * centers**3) + 1e-9)


@pytest.mark.parametrize("turned_deg", [0.0, 37.0, 180.0, 271.0])
def test_two_pulleys_follow_the_closed_forms_at_any_bearing_and_sense(turned_deg):
    r1, r2, centers = 7.0, 23.0, 61.0
    x, y = centers * math.cos(math.radians(turned_deg)), centers * math.sin(math.radians(turned_deg))
    lean = math.asin((r2 - r1) / centers)
    open_mm = 2 * math.sqrt(centers**2 - (r1 - r2) ** 2) + math.pi * (r1 + r2) + 2 * (r2 - r1) * lean
    across = math.asin((r1 + r2) / centers)
    crossed_mm = 2 * math.sqrt(centers**2 - (r1 + r2) ** 2) + (r1 + r2) * (math.pi + 2 * across)
    for sense in (1, -1):
        opened = path_over((3.0, -2.0, r1, sense), (3.0 + x, -2.0 + y, r2, sense))
        crossed = path_over((3.0, -2.0, r1, sense), (3.0 + x, -2.0 + y, r2, -sense))
        assert opened.length_mm == pytest.approx(open_mm, rel=1e-12)
        assert crossed.length_mm == pytest.approx(crossed_mm, rel=1e-12)
        assert opened.crossing_spans == ()
        assert crossed.crossing_spans == ((0, 1),)


# Many pulleys


@pytest.mark.parametrize(
    ("centers", "radii", "length_mm", "wraps_deg", "spans_mm"),
    [
        pytest.param([(0, 0), (120, 0)], [8, 30], 363.43, [158.87, 201.13], [117.97, 117.97], id="two"),
        pytest.param(
            [(0, 0), (100, 0), (60, 70)],
            [10, 25, 6],
            362.81,
            [124.46, 142.00, 93.536],
            [98.869, 78.352, 92.109],
            id="three",
        ),
        pytest.param(
            [(0, 0), (90, -10), (110, 60), (40, 80), (-20, 50)],
            [10, 20, 8, 15, 5],
            429.94,
            [60.846, 96.223, 74.995, 56.601, 71.336],
            [90.0, 71.805, 72.464, 66.332, 53.619],
            id="five",
        ),
    ],
)
def test_paths_of_the_reference_rows(centers, radii, length_mm, wraps_deg, spans_mm):
    path = path_over(*((x, y, r, 1) for (x, y), r in zip(centers, radii, strict=True)))
    assert path.length_mm == printed(length_mm)
    assert list(path.wraps_deg) == [printed(wrap) for wrap in wraps_deg]
    assert [span.length_mm for span in path.spans] == [printed(span) for span in spans_mm]


def hull_case(rng: random.Random, *, segments: int) -> tuple[list[tuple[float, float, float]], float]:
    """Discs on a common hull, in its order (anticlockwise), and the hull's perimeter, all by shapely."""
    while True:
        discs: list[tuple[float, float, float]] = []
        for _ in range(rng.randint(2, 7)):
            disc = (rng.uniform(-100, 100), rng.uniform(-100, 100), rng.uniform(2, 30))
            if all(math.hypot(disc[0] - x, disc[1] - y) > disc[2] + r + 0.5 for x, y, r in discs):
                discs.append(disc)
        shapes = [shapely.Point(x, y).buffer(r, quad_segs=segments) for x, y, r in discs]
        hull = shapely.orient_polygons(shapely.union_all(shapes).convex_hull)
        order: list[int] = []
        for x, y in hull.exterior.coords:
            # The disc on whose rim this corner lies.
            owner = min(
                range(len(discs)),
                key=lambda k: abs(math.hypot(x - discs[k][0], y - discs[k][1]) - discs[k][2]),
            )
            if not order or order[-1] != owner:
                order.append(owner)
        if len(order) > 1 and order[0] == order[-1]:
            order.pop()
        if len(order) > 1 and len(set(order)) == len(order):
            return [discs[k] for k in order], hull.length


@pytest.mark.parametrize("seed", range(200))
def test_belt_round_pulleys_of_one_sense_is_their_convex_hull(seed):
    # An inscribed polygon of N corners is pi^2/(6 N^2) short on its arcs: 2.6e-8 with N = 8000.
    discs, perimeter_mm = hull_case(random.Random(seed), segments=2000)
    forward = path_over(*((x, y, r, 1) for x, y, r in discs))
    backward = path_over(*((x, y, r, -1) for x, y, r in reversed(discs)))
    assert forward.length_mm == pytest.approx(perimeter_mm, rel=1e-6)
    assert backward.length_mm == pytest.approx(perimeter_mm, rel=1e-6)
    assert sum(forward.wraps_deg) == pytest.approx(360.0, abs=1e-9)
    assert forward.crossing_spans == ()


def walked(path: BeltPath, step_rad: float = 1e-4) -> float:
    """Length of the polyline through the spans' ends and finely along the arcs between them."""
    points = []
    for k, circle in enumerate(path.circles):
        x, y = path.spans[k - 1].end_mm
        from_rad = math.atan2(y - circle.y_mm, x - circle.x_mm)
        count = max(2, math.ceil(path.wraps_rad[k] / step_rad))
        for i in range(count + 1):
            angle = from_rad + circle.sense * path.wraps_rad[k] * i / count
            points.append(
                (
                    circle.x_mm + circle.radius_mm * math.cos(angle),
                    circle.y_mm + circle.radius_mm * math.sin(angle),
                )
            )
        # The walk along the arc must arrive where the next strand leaves.
        assert points[-1] == pytest.approx(path.spans[k].start_mm, abs=1e-9)
    return shapely.LinearRing(points).length


def test_serpentine_path_is_as_long_as_a_walk_along_it():
    # A polyline of steps d is d^2/24 short on its arcs: 4e-10.
    serpentine = path_over((0, 0, 10, 1), (60, -5, 8, -1), (120, 0, 20, 1), (60, 60, 12, 1))
    assert serpentine.length_mm == pytest.approx(walked(serpentine), rel=1e-9)
    assert serpentine.crossing_spans == ()
    assert sum(c.sense * w for c, w in zip(serpentine.circles, serpentine.wraps_deg, strict=True)) == pytest.approx(360)
    crossed = path_over((0, 0, 10, 1), (90, 0, 25, -1))
    assert crossed.length_mm == pytest.approx(walked(crossed), rel=1e-9)


@pytest.mark.parametrize("first", range(4))
def test_strand_that_only_points_at_another_does_not_cross_it(first):
    # A back idler deep in the loop: its strands, drawn out, would cut the strands opposite.
    loop = [(0, 0, 5, 1), (50, 30, 5, -1), (100, 0, 5, 1), (50, 100, 5, 1)]
    assert path_over(*loop[first:], *loop[:first]).crossing_spans == ()


def test_strands_touch_their_pulleys_at_right_angles_to_the_radius():
    path = path_over((0, 0, 10, 1), (100, 0, 25, 1), (60, 70, 6, 1))
    for k, span in enumerate(path.spans):
        for circle, (x, y) in ((path.circles[k], span.start_mm), (path.circles[(k + 1) % 3], span.end_mm)):
            along_x, along_y = span.direction
            assert math.hypot(x - circle.x_mm, y - circle.y_mm) == pytest.approx(circle.radius_mm, rel=1e-12)
            assert (x - circle.x_mm) * along_x + (y - circle.y_mm) * along_y == pytest.approx(0.0, abs=1e-12)
        assert math.dist(span.start_mm, span.end_mm) == pytest.approx(span.length_mm, rel=1e-12)


def test_pulley_that_a_strand_just_touches_has_no_wrap():
    # Three equal pulleys in line, at many bearings: rounding makes some of these wraps negative.
    for tenths in range(0, 3600, 7):
        turn = complex(math.cos(math.radians(tenths / 10)), math.sin(math.radians(tenths / 10)))
        centers = [turn * point for point in (0, 33, 100, 50 + 80j)]
        path = path_over(*((center.real, center.imag, 10.0, 1) for center in centers))
        assert path.wraps_deg[1] == pytest.approx(0.0, abs=1e-6)


# What cannot be strung


@pytest.mark.parametrize("centers", [39.9, 25.0, 10.0])
def test_overlapping_pulleys_are_named(centers):
    # Also closer than (D - d)/2 and (D + d)/2, where the handbooks' open and crossed forms have no root.
    for sense in (1, -1):
        with pytest.raises(PulleysOverlapError) as caught:
            path_over((500, 0, 3, 1), (0, 0, 10, 1), (centers, 0, 30, sense))
        assert caught.value.pulleys == (1, 2)
        assert caught.value.needed_mm == 40.0


def test_metal_that_clears_is_no_overlap_though_the_pitch_circles_meet():
    # 1.0 mm between the metal, less than the belt, which runs outside: 2 * 21 + 2 pi 11 by hand.
    pair = tuple(PitchCircle(x, 0.0, 11.0, Sense.CCW, metal_radius_mm=10.0) for x in (0.0, 21.0))
    assert belt_path(circles=pair).length_mm == pytest.approx(42.0 + 22.0 * math.pi, rel=1e-12)


def test_crossed_belt_between_touching_pitch_circles_has_no_tangent():
    with pytest.raises(NoTangentError) as caught:
        belt_path(
            circles=(
                PitchCircle(0.0, 0.0, 11.0, Sense.CCW, metal_radius_mm=10.0),
                PitchCircle(21.0, 0.0, 11.0, Sense.CW, metal_radius_mm=10.0),
            )
        )
    assert (caught.value.span, caught.value.pulleys) == (0, (0, 1))
    assert "more than 22.00 mm" in str(caught.value)


def test_crossed_pair_may_wrap_further_than_300_deg():
    # pi + 2 asin(22/23) = 326.2 deg: with two pulleys no sense is impossible.
    path = path_over((0, 0, 10, 1), (23, 0, 12, -1))
    assert path.wraps_deg[0] == pytest.approx(180 + 2 * math.degrees(math.asin(22 / 23)), rel=1e-12)


def test_idler_that_the_belt_runs_past_is_named():
    # An idler inside the loop, listed as if it turned with it: its wrap would be negative by a few degrees.
    with pytest.raises(ImpossibleSenseError) as caught:
        path_over((0, 0, 10, 1), (50, 2, 6, 1), (100, 0, 10, 1), (50, 80, 10, 1))
    assert caught.value.pulley == 1
    assert caught.value.wrap_deg > 300.0


def test_idler_on_the_wrong_side_is_named():
    # A back idler far outside the loop cannot bend the strand towards itself while turning the other way.
    with pytest.raises(ImpossibleSenseError) as caught:
        path_over((0, 0, 10, 1), (50, -30, 6, -1), (100, 0, 10, 1), (50, 80, 10, 1))
    assert caught.value.pulley == 1


def test_order_against_the_run_is_recognised():
    with pytest.raises(WrongOrderError):
        path_over((60, 70, 6, 1), (100, 0, 25, 1), (0, 0, 10, 1))
    # With every sense reversed the same order runs.
    assert path_over((60, 70, 6, -1), (100, 0, 25, -1), (0, 0, 10, -1)).length_mm == printed(362.81)


def test_strand_through_a_pulley_out_of_its_turn_is_named():
    # Five pulleys, but the strand from 0 to 1 runs through number 3, which stands between them.
    with pytest.raises(SpanBlockedError) as caught:
        path_over((0, 0, 10, 1), (100, 0, 10, 1), (100, 100, 10, 1), (50, -8, 5, -1), (0, 100, 10, 1))
    assert (caught.value.span, caught.value.pulley) == (0, 3)


@pytest.mark.parametrize("count", [0, 1])
def test_belt_needs_two_pulleys(count):
    with pytest.raises(RangeError):
        path_over(*((50.0 * k, 0.0, 10.0, 1) for k in range(count)))


def test_refusals_survive_the_way_back_from_a_worker_process():
    refusals = [
        PulleysOverlapError((0, 1), 5.0, 8.0),
        NoTangentError(1, (1, 0), 5.0, 8.0),
        ImpossibleSenseError(2, 355.0),
        WrongOrderError(),
        SpanBlockedError(0, 2, 1.5),
        BottomsError(1, 0.2),
        RidesOutError(1, 0.2),
    ]
    for refusal in refusals:
        copy = pickle.loads(pickle.dumps(refusal))
        assert isinstance(copy, MoldgenError)
        assert str(copy) == str(refusal)
        assert vars(copy) == vars(refusal)


# Seats in grooves


@pytest.mark.parametrize(("angle_deg", "height_mm"), [(40.0, 4.3857), (60.0, 3.0)])
def test_cord_lies_half_its_width_over_the_sine_above_the_apex(angle_deg, height_mm):
    # Plane geometry, cord of 3 mm: (w/2)/sin(alpha).
    groove = VeeGroove(
        rim_radius_mm=20.0,
        width_mm=8.0,
        angle_deg=angle_deg,
        root_radius_mm=20 - 4 / math.tan(math.radians(angle_deg / 2)) + 0.1,
    )
    pitch_mm = pitch_radius_mm(groove=groove, section=RoundSection(3.0))
    assert pitch_mm - groove.apex_radius_mm == pytest.approx(height_mm, abs=1e-4)


@pytest.mark.parametrize("angle_deg", [30.0, 60.0, 90.0, 120.0])
def test_sections_in_a_vee_touch_its_flanks_and_do_not_cut_them(angle_deg):
    # Drawn with shapely: the section placed at its pitch radius must be tangent to the flank's line.
    groove = sharp_vee(root_radius_mm=20.0, width_mm=12.0, angle_deg=angle_deg)
    half_rad = math.radians(angle_deg / 2)
    flank = shapely.LineString([(0, 20.0), (60 * math.sin(half_rad), 20.0 + 60 * math.cos(half_rad))])
    cord = pitch_radius_mm(groove=groove, section=RoundSection(3.0))
    assert shapely.Point(0, cord).distance(flank) == pytest.approx(1.5, rel=1e-12)
    square = pitch_radius_mm(groove=groove, section=RectangularSection(2.0, 3.0))
    box = shapely.box(-1.5, square - 1.0, 1.5, square + 1.0)
    assert box.distance(flank) == pytest.approx(0.0, abs=1e-12)
    assert box.buffer(-1e-6).distance(flank) > 0.0


def test_belt_on_a_floor_runs_half_its_height_above_it():
    # "Slip of belt" in machine-theory texts: the effective diameter is d + t.
    for groove in (FlatFloor(45.0), SquareGroove(45.0, 3.0)):
        assert pitch_radius_mm(groove=groove, section=RectangularSection(1.6, 2.0)) == 45.8
    assert pitch_radius_mm(groove=RoundGroove(45.0, 3.0), section=RoundSection(1.6)) == 45.8


def test_flat_belt_in_a_round_groove_lies_on_its_edges():
    # 3-4-5 triangle: profile radius 5, half width 3, so the edges lie 5 - 4 = 1 above the floor.
    pitch_mm = pitch_radius_mm(groove=RoundGroove(20.0, 10.0), section=RectangularSection(1.0, 6.0))
    assert pitch_mm == pytest.approx(21.5, rel=1e-12)


@pytest.mark.parametrize(
    "groove",
    [
        FlatFloor(20.0),
        SquareGroove(20.0, 8.0),
        RoundGroove(20.0, 8.0),
        sharp_vee(root_radius_mm=20.0, width_mm=8.0, angle_deg=38.0),
    ],
)
def test_growth_of_the_pitch_radius_is_its_derivative(groove):
    step = 1e-6
    for section, thicker in (
        (RoundSection(3.0), RoundSection(3.0 + step)),
        (RectangularSection(1.0, 5.0), RectangularSection(1.0 + step, 5.0 + step)),
    ):
        rise_mm = pitch_radius_mm(groove=groove, section=thicker) - pitch_radius_mm(groove=groove, section=section)
        assert pitch_radius_per_thickness(groove=groove, section=section) == pytest.approx(rise_mm / step, rel=1e-5)


def test_cord_bottoms_when_the_root_is_as_high_as_its_underside():
    # 60 deg: the underside lies d/2 (1/sin 30 - 1) = d/2 above the apex, so 1.5 above 10 for d = 3.
    apex_mm = 10.0
    rim_mm = apex_mm + 4.0 / math.tan(math.radians(30))
    for root_mm, sits in ((11.49, True), (11.51, False)):
        groove = VeeGroove(rim_mm, 8.0, 60.0, root_mm)
        if sits:
            require_fit(groove=groove, section=RoundSection(3.0))
        else:
            with pytest.raises(BottomsError) as caught:
                require_fit(groove=groove, section=RoundSection(3.0), pulley=3)
            assert (caught.value.pulley, caught.value.excess_mm) == (3, pytest.approx(0.01, abs=1e-9))


def test_cord_rides_out_when_it_would_touch_the_flanks_above_the_rim():
    # A flank is touched (d/2) cos(th/2) from the middle: at 60 deg, 4 mm at the rim, d = 4/cos 30 at most.
    groove = sharp_vee(root_radius_mm=10.0, width_mm=4.0, angle_deg=60.0)
    limit_mm = 4.0 / math.cos(math.radians(30))
    require_fit(groove=groove, section=RoundSection(limit_mm - 0.01))
    with pytest.raises(RidesOutError) as caught:
        require_fit(groove=groove, section=RoundSection(limit_mm + 0.01), pulley=2)
    assert caught.value.pulley == 2
    assert caught.value.excess_mm == pytest.approx(0.01 * math.cos(math.radians(30)), rel=1e-6)


@pytest.mark.parametrize(
    "groove",
    [
        SquareGroove(20.0, 3.0),
        RoundGroove(20.0, 3.0),
        sharp_vee(root_radius_mm=20.0, width_mm=3.0, angle_deg=40.0),
    ],
)
def test_belt_wider_than_its_groove_rides_out(groove):
    require_fit(groove=groove, section=RectangularSection(1.0, 3.0 - 1e-3))
    with pytest.raises(RidesOutError) as caught:
        require_fit(groove=groove, section=RectangularSection(1.0, 3.2))
    assert caught.value.excess_mm == pytest.approx(0.2, rel=1e-9)


def test_square_belt_on_the_flat_bottom_of_a_vee_bottoms():
    # 90 deg: the flanks are 2 mm apart 1 mm above the apex; a belt 1.8 mm wide would lie 0.9 above it.
    groove = VeeGroove(rim_radius_mm=23.0, width_mm=6.0, angle_deg=90.0, root_radius_mm=21.0)
    with pytest.raises(BottomsError):
        require_fit(groove=groove, section=RectangularSection(1.8, 1.8))
    require_fit(groove=groove, section=RectangularSection(2.2, 2.2))


def test_route_names_the_pulley_whose_groove_does_not_fit():
    pulleys = (
        Pulley(0.0, 0.0, Sense.CCW, FlatFloor(8.0)),
        Pulley(80.0, 0.0, Sense.CCW, SquareGroove(30.0, 1.8)),
    )
    with pytest.raises(RidesOutError) as caught:
        routed(pulleys=pulleys, section=RectangularSection(2.0, 2.0))
    assert caught.value.pulley == 1
    # 1.6 mm fits: the open belt over radii 8.8 and 30.8 by the handbooks' closed form.
    lean = math.asin(22.0 / 80.0)
    expected_mm = 2 * math.sqrt(80**2 - 22**2) + math.pi * 39.6 + 2 * 22.0 * lean
    assert routed(pulleys=pulleys, section=RectangularSection(1.6, 1.6)).length_mm == pytest.approx(
        expected_mm, rel=1e-12
    )


def test_rims_that_overlap_are_refused_though_the_pitch_circles_do_not():
    vee = sharp_vee(root_radius_mm=10.0, width_mm=6.0, angle_deg=40.0)  # rim at 18.24
    pulleys = tuple(Pulley(x, 0.0, Sense.CCW, vee) for x in (0.0, 36.0))
    with pytest.raises(PulleysOverlapError):
        routed(pulleys=pulleys, section=RoundSection(2.0))


def test_vee_without_depth_is_refused():
    with pytest.raises(RangeError):
        VeeGroove(rim_radius_mm=20.0, width_mm=6.0, angle_deg=60.0, root_radius_mm=21.0)
    with pytest.raises(RangeError):
        VeeGroove(rim_radius_mm=20.0, width_mm=6.0, angle_deg=60.0, root_radius_mm=10.0)  # below the apex


@pytest.mark.parametrize("stretch_ratio", [1.0, 1.06, 1.2, 1.5])
def test_stretched_section_keeps_its_volume(stretch_ratio):
    for section in (RoundSection(2.6), RectangularSection(1.0, 4.0)):
        assert section.stretched(stretch_ratio).area_mm2 * stretch_ratio == pytest.approx(section.area_mm2, rel=1e-12)


def test_stretched_cord_thins_as_seal_handbooks_say():
    # Loss of section at constant volume, 1 - 1/sqrt(1 + s), worked out for s = 5, 10, 25 %.
    for stretch_ratio, loss_percent in ((1.05, 2.410), (1.10, 4.654), (1.25, 10.557)):
        thinned = RoundSection(10.0).stretched(stretch_ratio).diameter_mm
        assert 100.0 * (1.0 - thinned / 10.0) == pytest.approx(loss_percent, abs=1e-3)
