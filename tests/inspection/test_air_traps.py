"""Air pockets against closed forms, against cutting level by level, and with vents spoiled on purpose."""

import itertools
import math
import time

import numpy as np
import pytest
from manifold3d import CrossSection, Manifold, OpType
from scipy.integrate import quad

from moldgen.errors import GeometryError, RangeError
from moldgen.inspection.air_traps import Opening, air_pockets, far_ceilings, unreached

UP = (0.0, 0.0, 1.0)
ROUND = 256
# A regular n-gon in a circle holds sin(2 pi/n)/(2 pi/n) of its area: 1e-4 less at 256 corners.
MESH = 2e-3


def box(x, y, z, at=(0.0, 0.0, 0.0)):
    """A box standing on z = 0, centred in x and y, moved to `at`."""
    return Manifold.cube((x, y, z)).translate((at[0] - x / 2, at[1] - y / 2, at[2]))


def shaft(radius, low, high, x=0.0, y=0.0):
    return Manifold.cylinder(high - low, radius, circular_segments=ROUND).translate((x, y, low))


def pockets(cavity, *openings, up=UP):
    return air_pockets(cavity=cavity, openings=openings, up=up)


def volumes(cavity, *openings, up=UP):
    return [pocket.volume_mm3 for pocket in pockets(cavity, *openings, up=up)]


def tilted(degrees, about_deg=0.0):
    tilt, about = math.radians(degrees), math.radians(about_deg)
    return (math.sin(tilt) * math.cos(about), math.sin(tilt) * math.sin(about), math.cos(tilt))


# --- upside-down cups -----------------------------------------------------------------------------


def cup():
    """Room for a cup standing upside down: wall 3, height 20, bottom 3 thick and uppermost."""
    return shaft(12.0, 0.0, 20.0) - shaft(9.0, -1.0, 17.0)


def test_an_upside_down_cup_with_a_vent_in_its_bottom_keeps_no_air():
    assert pockets(cup(), Opening((0.0, 0.0, 20.0), 0.5)) == ()


def test_a_cup_vented_low_in_its_side_keeps_all_above_the_mouth():
    # The mouth's rim, 1 mm about (12, 0, 5), is uppermost at z = 6. Above it: pi (144 - 81) 11 + pi 144 * 3.
    (pocket,) = pockets(cup(), Opening((12.0, 0.0, 5.0), 1.0))
    assert pocket.volume_mm3 == pytest.approx(math.pi * (63.0 * 11.0 + 144.0 * 3.0), rel=MESH)
    assert pocket.depth_mm == pytest.approx(14.0, abs=1e-2)
    assert pocket.top_mm[2] == pytest.approx(20.0)
    assert pocket.exit_mm == pytest.approx((12.0, 0.0, 6.0), abs=0.1)


def test_a_cup_without_any_opening_keeps_its_whole_volume_and_names_no_exit():
    (pocket,) = pockets(cup())
    assert pocket.volume_mm3 == pytest.approx(math.pi * (63.0 * 17.0 + 144.0 * 3.0), rel=MESH)
    assert pocket.exit_mm is None
    assert pocket.depth_mm == pytest.approx(20.0)


def test_the_right_way_up_a_cup_vented_at_its_rim_keeps_no_air():
    assert pockets(cup(), Opening((10.5, 0.0, 0.0), 0.5), up=(0.0, 0.0, -1.0)) == ()


# --- shafts over a room, and saddles --------------------------------------------------------------


def test_each_blind_shaft_over_a_vented_ceiling_is_a_pocket_of_its_own():
    room = box(60.0, 20.0, 10.0) + shaft(4.0, 9.0, 17.0, x=-15.0) + shaft(5.0, 9.0, 15.0, x=15.0)
    found = pockets(room, Opening((0.0, 0.0, 10.0), 1.0))
    assert [p.volume_mm3 for p in found] == pytest.approx([math.pi * 25 * 5, math.pi * 16 * 7], rel=MESH)
    assert [round(p.top_mm[2], 6) for p in found] == [15.0, 17.0]


TALL = Opening((-15.0, 0.0, 30.0), 0.5)
SHORT = Opening((15.0, 0.0, 25.0), 0.5)
A_ABOVE, B_ABOVE = math.pi * 25.0 * 12.0, math.pi * 16.0 * 7.0


def joined_shafts():
    """A room with two shafts, tops at 30 and 25, and a square channel between them, its ceiling at 18."""
    shafts = shaft(5.0, 8.0, 30.0, x=-15.0) + shaft(4.0, 8.0, 25.0, x=15.0)
    return box(60.0, 20.0, 10.0) + shafts + box(30.0, 4.0, 4.0, at=(0.0, 0.0, 14.0))


@pytest.mark.parametrize(
    "openings, expected",
    [
        ((TALL, SHORT), []),
        ((TALL,), [B_ABOVE]),  # shut in at the saddle, where the channel's ceiling goes under
        ((SHORT,), [A_ABOVE]),
        ((Opening((0.0, 0.0, 18.0), 1.0),), [A_ABOVE, B_ABOVE]),  # moved into the channel: two pockets
    ],
)
def test_shafts_joined_by_a_channel_hold_what_is_above_the_channels_ceiling(openings, expected):
    assert volumes(joined_shafts(), *openings) == pytest.approx(expected, rel=MESH)


def test_shafts_vented_below_their_channel_are_shut_in_together():
    # A vent in the room's ceiling, z = 10: both shafts (20 and 15 high) and the channel hang over it as one.
    # The channel is 4 x 4 over the clear distance between the shafts' round walls, whose mean reach, of
    # sqrt(r^2 - y^2) over |y| <= 2, is (y sqrt(r^2 - y^2) + r^2 asin(y/r))/4 at y = 2.
    def mean_reach(radius):
        return (2.0 * math.sqrt(radius**2 - 4.0) + radius**2 * math.asin(2.0 / radius)) / 4.0

    channel = 16.0 * (30.0 - mean_reach(5.0) - mean_reach(4.0))
    (pocket,) = pockets(joined_shafts(), Opening((0.0, 8.0, 10.0), 1.0))
    assert pocket.volume_mm3 == pytest.approx(math.pi * (25.0 * 20.0 + 16.0 * 15.0) + channel, rel=MESH)
    assert pocket.top_mm[2] == pytest.approx(30.0)


def test_an_unvented_part_beside_a_vented_one_is_a_pocket_as_a_whole():
    room = box(10.0, 10.0, 10.0) + box(3.0, 4.0, 5.0, at=(20.0, 0.0, 2.0))
    (pocket,) = pockets(room, Opening((0.0, 0.0, 10.0), 1.0))
    assert pocket.volume_mm3 == pytest.approx(60.0, rel=1e-12)
    assert pocket.exit_mm is None
    assert pocket.depth_mm == pytest.approx(5.0)


# --- islands --------------------------------------------------------------------------------------


def test_posts_and_loose_cores_under_a_vented_ceiling_hold_no_air():
    island = Manifold.sphere(2.0, 64).translate((-6.0, 0.0, 5.0))
    room = box(30.0, 20.0, 10.0) - shaft(3.0, -1.0, 7.0, x=5.0) - island
    assert pockets(room, Opening((0.0, 5.0, 10.0), 1.0)) == ()


def test_a_post_is_part_of_the_room_it_stands_in_and_not_of_the_next_one_up():
    lower = box(20.0, 20.0, 10.0) - shaft(3.0, -1.0, 7.0)
    (pocket,) = pockets(lower + box(8.0, 8.0, 3.0, at=(0.0, 0.0, 12.0)), Opening((8.0, 8.0, 10.0), 0.5))
    assert pocket.volume_mm3 == pytest.approx(192.0)


def test_a_post_reaching_into_a_blind_shaft_takes_its_share_of_the_pocket():
    # Straight under the shaft's wall stands the post's wall: same radius below, half the radius above z = 10.
    room = box(30.0, 30.0, 10.0) + shaft(6.0, 9.0, 20.0) - shaft(6.0, -1.0, 5.0) - shaft(3.0, 4.0, 16.0)
    (volume,) = volumes(room, Opening((12.0, 0.0, 10.0), 1.0))
    assert volume == pytest.approx(math.pi * (36.0 * 10.0 - 9.0 * 6.0), rel=MESH)


def test_a_loose_core_inside_a_pocket_takes_its_volume_from_it():
    ball = Manifold.sphere(2.0, ROUND).translate((0.0, 0.0, 15.0))
    room = box(30.0, 30.0, 10.0) + shaft(6.0, 9.0, 20.0) - ball
    (volume,) = volumes(room, Opening((12.0, 0.0, 10.0), 1.0))
    assert volume == pytest.approx(math.pi * 36.0 * 10.0 - 4.0 / 3.0 * math.pi * 8.0, rel=MESH)


# --- tilted flat ceilings -------------------------------------------------------------------------


@pytest.mark.parametrize("degrees", [0.01, 0.5, 2.0, 10.0])
@pytest.mark.parametrize("length", [0.757, 3.0, 15.0])
def test_a_tilted_flat_ceiling_holds_the_wedge_beyond_its_vent(degrees, length):
    # From the mouth's upper rim the ceiling runs `length` uphill to the end wall, square to it: the wedge's
    # section is a right triangle with that leg and length * tan(tilt). 0.757 mm at 2 deg, 10 wide: 0.100 mm3.
    vent = Opening((20.0 - length - 0.6, 0.0, 8.0), 0.6)
    found = volumes(box(40.0, 10.0, 8.0), vent, up=tilted(degrees))
    expected = 10.0 * length**2 * math.tan(math.radians(degrees)) / 2.0
    assert found == pytest.approx([expected], rel=1e-6)


def test_a_level_ceiling_has_no_pocket_wherever_its_vent_is():
    assert pockets(box(40.0, 10.0, 8.0), Opening((17.0, 3.0, 8.0), 0.5)) == ()


def test_a_wedge_of_a_tenth_of_a_cubic_millimetre_is_found_under_a_tyres_tilted_ceiling():
    # Annular ceiling of outer radius 20, tilted by 2 deg, vented uphill. Beyond the line at distance
    # c from the axis the wedge is (x - c) tan(tilt) high, which integrated over the circle's segment is
    # tan(tilt) (2/3 (R^2 - c^2)^(3/2) - c (R^2 acos(c/R) - c sqrt(R^2 - c^2))).
    tyre = Manifold.cylinder(5.0, 20.0, circular_segments=2048) - shaft(14.0, -1.0, 6.0)
    outer, line = 20.0, 19.2
    chord = math.sqrt(outer**2 - line**2)
    segment = outer**2 * math.acos(line / outer) - line * chord
    expected = math.tan(math.radians(2.0)) * (2.0 / 3.0 * chord**3 - line * segment)
    assert 0.05 < expected < 0.1
    (volume,) = volumes(tyre, Opening((line - 0.4, 0.0, 5.0), 0.4), up=tilted(2.0))
    assert volume == pytest.approx(expected, rel=0.02)


# --- tori -----------------------------------------------------------------------------------------

MIDDLE, TUBE = 20.0, 4.0


@pytest.fixture(scope="module")
def torus():
    """Round about z; 24576 triangles."""
    return CrossSection.circle(TUBE, 96).translate((MIDDLE, 0.0)).revolve(128)


def lying_above(height):
    """Pappus: the circular segment above the height, its centroid on the middle circle, carried round."""
    segment = TUBE**2 * math.acos(height / TUBE) - height * math.sqrt(TUBE**2 - height**2)
    return 2.0 * math.pi * MIDDLE * segment


def standing_above(height):
    """Shells about the axis: 2 sqrt(r^2 - (rho - R)^2) wide, the arc 2 acos(h/rho) of each above h > 0."""
    low = max(MIDDLE - TUBE, height)
    return quad(
        lambda rho: 2.0 * math.sqrt(TUBE**2 - (rho - MIDDLE) ** 2) * 2.0 * rho * math.acos(min(1.0, height / rho)),
        low,
        MIDDLE + TUBE,
    )[0]


def test_a_lying_torus_with_a_vent_on_its_crest_keeps_no_air(torus):
    assert pockets(torus, Opening((MIDDLE, 0.0, TUBE), 0.5)) == ()


@pytest.mark.parametrize("radius_mm", [0.3, 1.0])
def test_a_lying_torus_vented_at_its_widest_keeps_what_is_above_the_mouth(torus, radius_mm):
    # The rim's top lies a chord of one radius up the tube: height r sin(2 asin(radius/(2 r))).
    mouth_top = TUBE * math.sin(2.0 * math.asin(radius_mm / (2.0 * TUBE)))
    found = volumes(torus, Opening((MIDDLE + TUBE, 0.0, 0.0), radius_mm))
    assert found == pytest.approx([lying_above(mouth_top)], rel=0.02)


def test_a_standing_torus_with_a_vent_on_top_keeps_no_air(torus):
    assert pockets(torus, Opening((MIDDLE + TUBE, 0.0, 0.0), 0.5), up=(1.0, 0.0, 0.0)) == ()


@pytest.mark.parametrize("moved_deg", [15.0, 40.0, 80.0])
def test_a_standing_torus_with_its_vent_moved_down_keeps_what_is_above_it(torus, moved_deg):
    away = math.radians(moved_deg)
    outer = MIDDLE + TUBE
    vent = Opening((outer * math.cos(away), outer * math.sin(away), 0.0), 0.5)
    mouth_top = outer * math.cos(away - 2.0 * math.asin(0.5 / (2.0 * outer)))
    found = volumes(torus, vent, up=(1.0, 0.0, 0.0))
    assert found == pytest.approx([standing_above(mouth_top)], rel=0.02)


# --- laws -----------------------------------------------------------------------------------------


def test_turning_cavity_vents_and_attitude_together_changes_nothing():
    # Manifold.rotate turns about x, then y, then z, in degrees.
    angles = np.radians([31.0, -47.0, 112.0])
    (cx, cy, cz), (sx, sy, sz) = np.cos(angles), np.sin(angles)
    turn_x = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    turn_y = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    turn_z = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    turn = turn_z @ turn_y @ turn_x
    vent = Opening((0.0, 0.0, 18.0), 1.0)
    turned_vent = Opening(tuple(turn @ vent.point_mm), 1.0)
    found = volumes(joined_shafts().rotate((31.0, -47.0, 112.0)), turned_vent, up=tuple(turn @ UP))
    assert found == pytest.approx(volumes(joined_shafts(), vent), rel=1e-6)


VENT = 0.05


def heap(seed):
    """Boxes and rods thrown together, and places on their common surface."""
    random = np.random.default_rng(seed)
    bodies = []
    for _ in range(6):
        if random.random() < 0.5:
            body = Manifold.cube(tuple(random.uniform(4.0, 16.0, 3)), True)
        else:
            length, radius = random.uniform(8.0, 25.0), random.uniform(2.0, 5.0)
            body = Manifold.cylinder(length, radius, circular_segments=24, center=True)
        turn, place = random.uniform(0.0, 360.0, 3), random.uniform(-9.0, 9.0, 3)
        bodies.append(body.rotate(tuple(turn)).translate(tuple(place)))
    cavity = Manifold.batch_boolean(bodies, OpType.Add)
    mesh = cavity.to_mesh64()
    triangles = np.array(mesh.vert_properties)[:, :3][np.array(mesh.tri_verts).astype(int)]
    places = [tuple(triangles[i].mean(axis=0)) for i in random.integers(0, len(triangles), 3)]
    return cavity, [Opening(place, VENT) for place in places], tuple(random.normal(size=3))


@pytest.mark.parametrize("seed", range(8))
def test_pockets_agree_with_cutting_the_cavity_level_by_level(seed):
    """By the definition: a layer is shut in if its body above it, split off by manifold3d, has no mouth."""
    cavity, vents, up = heap(seed)
    direction = np.array(up) / np.linalg.norm(up)
    heights = np.array(cavity.to_mesh64().vert_properties)[:, :3] @ direction
    layer = float(np.ptp(heights)) / 200
    balls = [Manifold.sphere(vent.radius_mm, 24).translate(vent.point_mm) for vent in vents]
    shut_in = widest = 0.0
    for level in np.arange(heights.min() + layer / 2, heights.max(), layer):
        for body in cavity.trim_by_plane(up, level).decompose():
            section = (body.volume() - body.trim_by_plane(up, level + layer / 4).volume()) / (layer / 4)
            widest = max(widest, section)
            if all((body ^ ball).volume() < 1e-9 for ball in balls):
                shut_in += section * layer
    found = sum(volumes(cavity, *vents, up=up))
    # A pocket's lower edge falls between two layers, and a mouth's ball reaches off the wall into the room.
    assert found == pytest.approx(shut_in, rel=0.005, abs=(layer / 2 + VENT) * widest)


@pytest.mark.parametrize("seed", range(8))
def test_another_vent_never_adds_air(seed):
    cavity, vents, up = heap(seed)
    totals = [sum(volumes(cavity, *vents[:count], up=up)) for count in range(len(vents) + 1)]
    assert totals[0] == pytest.approx(cavity.volume(), rel=1e-9)
    assert all(less <= more + 1e-9 for more, less in itertools.pairwise(totals))


@pytest.mark.parametrize("seed", range(8))
def test_a_vent_at_each_pockets_top_empties_the_cavity(seed):
    cavity, vents, up = heap(seed)
    more = [Opening(pocket.top_mm, 0.05) for pocket in pockets(cavity, *vents, up=up)]
    # A pocket may hide a second, lower one behind a saddle inside it; each round finds what is left.
    for _ in range(12):
        left = pockets(cavity, *vents, *more, up=up)
        more += [Opening(pocket.top_mm, 0.05) for pocket in left]
    assert left == ()


# --- mouths ---------------------------------------------------------------------------------------


def test_a_vent_that_misses_the_wall_is_refused_with_its_place():
    with pytest.raises(GeometryError) as caught:
        pockets(cup(), Opening((0.0, 0.0, 22.0), 1.0))
    assert caught.value.where_mm == (0.0, 0.0, 22.0)


def test_a_mouth_does_not_reach_through_a_thin_wall_into_the_next_hollow():
    # Two hollows 0.4 apart; the left one's vent is 1 mm wide and ends beside the wall between them.
    hollows = box(10.0, 10.0, 10.0, at=(-5.2, 0.0, 0.0)) + box(10.0, 10.0, 10.0, at=(5.2, 0.0, 0.0))
    (pocket,) = pockets(hollows, Opening((-0.5, 0.0, 10.0), 1.0))
    assert pocket.volume_mm3 == pytest.approx(1000.0)
    assert pocket.top_mm[0] > 0.0


def test_a_mouth_on_one_side_of_a_thin_fin_does_not_serve_the_other_side():
    # The fin, 0.4 thick at the ceiling, hangs 5 mm down to an edge that its sides share. The mouth on its left
    # reaches through to its right side, yet not down to that edge: the right keeps all above the edge.
    fin = CrossSection([[(-0.2, 5.0), (0.0, 0.0), (0.2, 5.0)]]).extrude(12.0).rotate((90.0, 0.0, 0.0))
    room = box(30.0, 10.0, 10.0) - fin.translate((0.0, 6.0, 5.0))
    right, left = pockets(room, Opening((-0.06, 0.0, 6.5), 0.8))
    assert right.volume_mm3 == pytest.approx(10.0 * 5.0 * (15.0 - 0.1))
    assert right.exit_mm[2] == pytest.approx(5.0)
    assert left.depth_mm == pytest.approx(10.0 - 6.5 - 0.8, abs=0.01)


def test_a_mouth_over_a_ridge_serves_both_sides_of_it():
    # A thin wall hangs from the ceiling's middle and ends 1 mm below it; the mouth of 3 mm spans it.
    room = box(30.0, 10.0, 10.0) - box(0.4, 12.0, 1.0, at=(0.0, 0.0, 9.0))
    assert pockets(room, Opening((0.0, 0.0, 9.0), 3.0)) == ()
    (one_side,) = volumes(room, Opening((-5.0, 0.0, 10.0), 0.5))
    assert one_side == pytest.approx(14.8 * 10.0 * 1.0)


@pytest.mark.parametrize("radius_mm", [0.0, -1.0, math.nan])
def test_openings_without_width_are_refused(radius_mm):
    with pytest.raises(RangeError):
        pockets(cup(), Opening((0.0, 0.0, 20.0), radius_mm))


def test_an_up_without_direction_and_an_empty_cavity_are_refused():
    with pytest.raises(RangeError):
        pockets(cup(), up=(0.0, 0.0, 0.0))
    with pytest.raises(GeometryError):
        pockets(Manifold())


# --- flat ceilings, unreached parts, speed --------------------------------------------------------


def ceilings(cavity, *openings, up=UP, distance_mm=4.5):
    return far_ceilings(cavity=cavity, openings=openings, up=up, distance_mm=distance_mm)


def test_a_flat_ceiling_counts_where_it_is_farther_from_the_mouths_rim_than_allowed():
    (ceiling,) = ceilings(box(40.0, 20.0, 8.0), Opening((0.0, 0.0, 8.0), 0.5))
    assert ceiling.area_mm2 == pytest.approx(800.0 - math.pi * 5.0**2, rel=0.005)
    assert ceiling.distance_mm == pytest.approx(math.hypot(20.0, 10.0) - 0.5)
    assert (abs(ceiling.farthest_mm[0]), abs(ceiling.farthest_mm[1])) == pytest.approx((20.0, 10.0))


def test_overlapping_reaches_are_not_taken_away_twice():
    # Two discs of radius 5, centres 6 apart: a lens of 2 r^2 acos(d/2r) - d/2 sqrt(4 r^2 - d^2) is common.
    lens = 50.0 * math.acos(0.6) - 3.0 * math.sqrt(64.0)
    vents = [Opening((x, 0.0, 8.0), 0.5) for x in (-3.0, 3.0)]
    (ceiling,) = ceilings(box(40.0, 20.0, 8.0), *vents)
    assert ceiling.area_mm2 == pytest.approx(800.0 - 2.0 * math.pi * 25.0 + lens, rel=0.005)


@pytest.mark.parametrize("degrees, counted", [(0.0, True), (2.9, True), (3.1, False), (180.0, False)])
def test_only_ceilings_inclined_less_than_three_degrees_hold_air(degrees, counted):
    found = ceilings(box(40.0, 20.0, 8.0), Opening((0.0, 0.0, 0.0), 0.5), up=tilted(degrees), distance_mm=7.0)
    assert any(ceiling.farthest_mm[2] == pytest.approx(8.0) for ceiling in found) is counted


def test_two_ceilings_are_told_apart_and_without_openings_both_count_whole():
    room = box(20.0, 20.0, 8.0) + box(5.0, 5.0, 12.0)
    high, low = sorted(ceilings(room), key=lambda ceiling: ceiling.area_mm2)
    assert (high.area_mm2, low.area_mm2) == pytest.approx((25.0, 375.0))
    assert high.farthest_mm[2] == pytest.approx(12.0)
    assert high.distance_mm == math.inf


def test_a_ceiling_within_reach_of_its_vent_is_not_reported():
    assert ceilings(box(4.0, 4.0, 8.0), Opening((0.0, 0.0, 8.0), 0.5)) == ()


def test_parts_of_the_cavity_that_no_sprue_opens_into_are_listed():
    sprue = Opening((0.0, 0.0, 10.0), 1.0)
    core = box(2.0, 2.0, 2.0, at=(0.0, 0.0, 4.0))  # a loose core makes no part of its own
    room = box(10.0, 10.0, 10.0) - core
    assert unreached(cavity=room, sprues=[sprue]) == ()
    apart = room + box(3.0, 4.0, 5.0, at=(20.0, 0.0, 0.0)) + box(1.0, 1.0, 1.0, at=(-20.0, 0.0, 0.0))
    large, small = unreached(cavity=apart, sprues=[sprue])
    assert (large.volume_mm3, small.volume_mm3) == pytest.approx((60.0, 1.0))
    assert large.point_mm[0] > 18.0
    (main,) = unreached(cavity=room, sprues=[])
    assert main.volume_mm3 == pytest.approx(992.0)


def test_one_attitude_of_a_fine_mesh_takes_well_under_a_second(torus):
    assert torus.num_tri() > 20000
    vents = [Opening((MIDDLE * c, MIDDLE * s, TUBE), 0.5) for c, s in ((1, 0), (0, 1), (-1, 0), (0, -1))]
    start = time.perf_counter()
    pockets(torus, *vents, up=tilted(2.0, 30.0))
    assert time.perf_counter() - start < 0.5
