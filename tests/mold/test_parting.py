"""Where a mold parts, and the strain of pulling the part out, against values worked by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.mold.parting import bore_side, partings, strain_on_metal, throat, undercuts
from moldgen.shapes import Path, Vertex


def ring(*outside, bore=((15.0, 6.0), (15.0, 0.0))):
    """A half-section: corners of the outside from the lower face up, each (r, z, surface), and the bore downwards."""
    corners = [Vertex(r, z, surface=surface) for r, z, surface in outside]
    corners += [Vertex(r, z, surface="bore") for r, z in bore]
    return Path(tuple(corners))


def crowned(outer, width, crown, inner=15.0):
    """A tyre whose running surface is one arc, `crown` over its ends."""
    return Path(
        (
            Vertex(inner, 0.0, surface="face"),
            Vertex(outer - crown, 0.0, 2.0 * crown / width, "running"),
            Vertex(outer - crown, width, surface="face"),
            Vertex(inner, width, surface="bore"),
        )
    )


def bevelled(outer, width, size):
    """A tyre with equal bevels at both outer edges; the bottom face leaves the bore's foot."""
    return ring(
        (outer - size, 0.0, "edge"),
        (outer, size, "running"),
        (outer, width - size, "edge"),
        (outer - size, width, "face"),
        bore=((15.0, width), (15.0, 0.0)),
    )


STRAIGHT = ring((19.0, 0.0, "running"), (19.0, 6.0, "face"))


# --- strains ---------------------------------------------------------------------------------------


def test_a_straight_tyre_leaves_its_mold_unstrained_from_an_end_face():
    best = partings(STRAIGHT)[0]
    assert (best.at_end_face, best.flipped, best.undercuts, best.strain) == (True, False, (), 0.0)
    assert best.profile.bounds == pytest.approx((15.0, -6.0, 19.0, 0.0))


@pytest.mark.parametrize(("outer", "crown"), [(19.0, 0.4), (19.0, 0.1), (12.0, 1.0)])
def test_a_crown_is_squeezed_through_the_narrower_mouth(outer, crown):
    # Parted at an end face the mouth has the end's radius, R − c, and the crown R has to pass it: c/R.
    best = partings(crowned(outer, 8.0, crown, inner=8.0))[0]
    assert best.at_end_face
    (undercut,) = best.undercuts
    assert undercut.on == "outside"
    assert undercut.strain == pytest.approx(crown / outer, abs=0.002 / outer)  # profiles are sampled at 2 µm
    # Half-way down, as near as an arc of that radius stays within the 2 µm.
    assert undercut.z_mm == pytest.approx(-4.0, abs=math.sqrt(2.0 * (64.0 / (8.0 * crown) + 0.5 * crown) * 0.002))


def test_a_small_bevel_is_squeezed_out_rather_than_giving_up_the_flat_lid():
    # 0.5/19 = 2.6 %, under the 3 % that a flat lid is worth.
    best = partings(bevelled(19.0, 6.0, 0.5))[0]
    assert best.at_end_face
    assert best.strain == pytest.approx(0.5 / 19.0, rel=1e-6)


def test_a_large_bevel_moves_the_parting_to_where_nothing_is_strained():
    # 0.8/19 = 4.2 % is more than a flat lid is worth; at the bevel's inner corner both halves let go freely.
    best = partings(bevelled(19.0, 6.0, 0.8))[0]
    assert (best.at_end_face, best.strain) == (False, 0.0)
    assert best.profile.bounds == pytest.approx((15.0, -5.2, 19.0, 0.8))


def test_a_bevel_on_one_side_is_cast_with_that_side_down():
    one_sided = ring((19.0, 0.0, "running"), (19.0, 5.2, "edge"), (18.2, 6.0, "face"))
    best = partings(one_sided)[0]
    assert (best.flipped, best.at_end_face, best.strain) == (True, True, 0.0)


def test_a_waist_squeezes_the_flange_below_it():
    # The mold's wall stands in the waist at 17; the flange of 19 below has to pass it: 2/19. From either end alike.
    waisted = ring(
        (19.0, 0.0, "edge"), (19.0, 2.0, "edge"), (17.0, 2.0, "running"), (17.0, 4.0, "edge"), (19.0, 4.0, "edge"),
        (19.0, 6.0, "face"),
    )  # fmt: skip
    found = {(p.at_end_face, p.flipped): p.strain for p in partings(waisted) if p.at_end_face}
    assert found == {(True, False): pytest.approx(2.0 / 19.0), (True, True): pytest.approx(2.0 / 19.0)}
    # Parted at a corner of the waist each half holds one flange and what runs stays whole; the lower half's mouth is
    # then the waist, and only the flange below it is squeezed.
    assert all(p.strain == pytest.approx(2.0 / 19.0) or p.strain == 0.0 for p in partings(waisted))


def test_a_rib_in_the_bore_is_stretched_over_the_core():
    # A rib of radius 14 half-way up a bore of 15: it has to pass the core's 15 above it: 1/14.
    ribbed = ring(
        (19.0, 0.0, "running"),
        (19.0, 6.0, "face"),
        bore=((15.0, 6.0), (15.0, 4.0), (14.0, 4.0), (14.0, 2.0), (15.0, 2.0), (15.0, 0.0)),
    )
    found = [u for p in partings(ribbed) if p.at_end_face and not p.flipped for u in p.undercuts]
    assert [(u.on, u.strain) for u in found] == [("bore", pytest.approx(1.0 / 14.0))]


def test_a_groove_in_the_bore_lets_go_of_a_ring_only_by_stretching_what_lies_under_it():
    # A groove of 16 in a bore of 15, made by a rib of the core: all rubber of 15 below the rib has to pass 16: 1/15.
    grooved = ring(
        (19.0, 0.0, "running"),
        (19.0, 6.0, "face"),
        bore=((15.0, 6.0), (15.0, 4.0), (16.0, 4.0), (16.0, 2.0), (15.0, 2.0), (15.0, 0.0)),
    )
    (undercut,) = next(p for p in partings(grooved) if p.at_end_face and not p.flipped).undercuts
    assert (undercut.on, undercut.strain) == ("bore", pytest.approx(1.0 / 15.0))
    assert undercut.z_mm <= -4.0  # under the rib


def test_the_two_halves_are_asked_apart():
    # A cone on top and a cone below, widest at the parting: nothing is strained. Turned inside out, both halves are.
    spindle = Path((Vertex(5.0, -4.0), Vertex(9.0, 0.0), Vertex(5.0, 4.0)))
    waist = Path((Vertex(9.0, -4.0), Vertex(5.0, 0.0), Vertex(9.0, 4.0), Vertex(2.0, 4.0), Vertex(2.0, -4.0)))
    for pull in (1, -1):
        assert undercuts(spindle, pull=pull) == ()
        (undercut,) = undercuts(waist, pull=pull)
        assert undercut.strain == pytest.approx(4.0 / 9.0)
        assert undercut.z_mm == pytest.approx(-4.0 * pull)


@given(st.floats(0.05, 2.0), st.floats(10.0, 60.0))
def test_strain_is_free_of_scale(bevel, factor):
    plain = min(p.strain for p in partings(bevelled(19.0, 6.0, bevel)) if p.at_end_face)
    scaled = partings(bevelled(19.0, 6.0, bevel).scaled(factor / 10.0))
    assert min(p.strain for p in scaled if p.at_end_face) == pytest.approx(plain, rel=1e-6)
    assert plain == pytest.approx(bevel / 19.0, rel=1e-6)


@pytest.mark.parametrize(
    ("metal", "outer", "width", "crown", "read"),
    # Our own axisymmetric finite-element runs: neo-Hookean, nu = 0.4975, bonded to the metal, pulled past a
    # frictionless lip rounded by 0.05 to 0.08 mm; the largest principal elongation below a quarter of the wall.
    [(11.0, 15.0, 6.0, 0.3, 0.095), (11.0, 15.0, 6.0, 0.6, 0.218), (5.0, 8.0, 12.0, 0.3, 0.144),
     (2.5, 5.5, 10.0, 0.3, 0.147)],
)  # fmt: skip
def test_a_crown_cast_on_metal_is_drawn_out_as_finite_elements_read(metal, outer, width, crown, read):
    cover = crowned(outer, width, crown, inner=metal)
    (undercut,) = undercuts(partings(cover)[0].profile, pull=1, metal_radius_mm=metal)
    assert undercut.strain == pytest.approx(read, rel=0.08)
    # The free ring's figure, a crown over the radius, is a third of it and less.
    (free,) = undercuts(partings(cover)[0].profile, pull=1)
    assert free.strain < 0.4 * read


def test_a_mouth_as_narrow_as_the_metal_lets_no_rubber_through():
    assert strain_on_metal(radius_mm=6.0, mouth_mm=5.0, metal_radius_mm=5.0) == math.inf


@given(st.floats(1.0, 20.0), st.floats(0.5, 10.0), st.floats(0.01, 0.95))
def test_a_cover_drawn_out_keeps_its_volume(metal, wall, share):
    outer, mouth = metal + wall, metal + (1.0 - share) * wall
    longer = 1.0 + strain_on_metal(radius_mm=outer, mouth_mm=mouth, metal_radius_mm=metal)
    assert longer * (mouth**2 - metal**2) == pytest.approx(outer**2 - metal**2)


def test_what_stands_out_under_a_ledge_passes_the_wall_above_it():
    # A foot of 7.4 mm under a wall that starts at 7.2 and leans out: 0.2/7.4. In the other half alike.
    ledge = ring(
        (5.0, -9.0, "edge"),
        (7.4, -5.0, "edge"),
        (7.2, -5.0, "edge"),
        (9.0, 0.0, "edge"),
        bore=((3.0, 0.0), (3.0, -9.0)),
    )
    for half, pull in ((ledge, 1), (ledge.mirrored_y(), -1)):
        (undercut,) = undercuts(half, pull=pull)
        assert undercut.strain == pytest.approx(0.2 / 7.4)


def test_a_throat_is_the_share_of_the_ring_that_the_mouth_leaves():
    # A bore of 3, a barrel of 6 behind a mouth of 4.5: (20.25 - 9)/(36 - 9) = 41.7 %. Upside down there is no mouth.
    flask = ring(
        (6.0, -8.0, "edge"),
        (6.0, -4.0, "edge"),
        (4.5, -4.0, "edge"),
        (4.5, 0.0, "edge"),
        bore=((3.0, 0.0), (3.0, -8.0)),
    )
    assert throat(flask, pull=1) == pytest.approx(11.25 / 27.0)
    assert throat(flask.mirrored_y().moved(dy=-8.0), pull=1) == 1.0
    assert throat(flask, pull=-1) == 1.0
    # A core of 4 in the mouth leaves (20.25 - 16)/(36 - 9) = 15.7 % of it.
    ribbed = ring(
        (6.0, -8.0, "edge"), (6.0, -4.0, "edge"), (4.5, -4.0, "edge"), (4.5, 0.0, "edge"),
        bore=((4.0, 0.0), (4.0, -2.0), (3.0, -2.0), (3.0, -8.0)),
    )  # fmt: skip
    assert throat(ribbed, pull=1) == pytest.approx((20.25 - 16.0) / 27.0)


def test_the_lower_corner_of_a_step_need_not_pass_the_upper_one_s_wall():
    # Upside down: 9 mm at the mouth, a barrel of 9.3 down to a step, and a neck of 6 that widens to 6.6 under it. The
    # barrel passes 9, 0.3/9.3; what hangs under the step passes 6, 0.6/6.6; the barrel never has to pass the neck.
    stepped = ring(
        (6.6, -9.0, "edge"),
        (6.0, -5.0, "edge"),
        (9.3, -5.0, "edge"),
        (9.0, 0.0, "edge"),
        bore=((3.0, 0.0), (3.0, -9.0)),
    )
    (undercut,) = undercuts(stepped, pull=1)
    assert undercut.strain == pytest.approx(0.6 / 6.6)


# --- where flash may lie ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "profile",
    [STRAIGHT, crowned(19.0, 6.0, 0.4), bevelled(19.0, 6.0, 0.8)],
    ids=["straight", "crowned", "bevelled"],
)
def test_no_parting_crosses_what_runs(profile):
    found = partings(profile)
    assert found
    for parting in found:
        for edge in parting.profile.edges:
            if edge.start.surface == "running":
                low, high = sorted((edge.start.y, edge.end.y))
                assert not low + 1e-6 < 0.0 < high - 1e-6


def test_partings_come_best_first_and_keep_the_part_as_it_is():
    profile = bevelled(19.0, 6.0, 0.8)
    found = partings(profile)
    cost = [p.strain + (0.0 if p.at_end_face else 0.03) for p in found]
    assert cost == sorted(cost)
    for parting in found:
        assert parting.profile.area == pytest.approx(profile.area)
        assert parting.profile.centroid.x == pytest.approx(profile.centroid.x)


def test_a_ball_parts_at_its_equator():
    ball = Path((Vertex(0.0, -5.0, 1.0), Vertex(0.0, 5.0)))
    best = partings(ball)[0]
    assert best.strain == pytest.approx(0.0, abs=1e-6)
    assert best.profile.bounds == pytest.approx((0.0, -5.0, 5.0, 5.0))


def test_a_ball_that_runs_all_over_can_part_nowhere():
    ball = Path((Vertex(0.0, -5.0, 1.0, "running"), Vertex(0.0, 5.0)))
    assert not [p for p in partings(ball) if not p.at_end_face]


# --- the bore --------------------------------------------------------------------------------------


def test_the_bore_s_side_runs_from_the_lower_face_to_the_upper():
    side = bore_side(STRAIGHT)
    assert [(v.x, v.y) for v in side] == [(15.0, 0.0), (15.0, 6.0)]


def test_a_part_without_a_bore_has_no_side_of_it():
    assert bore_side(Path((Vertex(0.0, 0.0), Vertex(8.0, 0.0), Vertex(8.0, 5.0), Vertex(0.0, 5.0)))) == ()


def test_an_arc_in_the_bore_keeps_its_sense():
    # A quarter circle from (15, 2) up to (17, 4), read downwards by the outline and upwards by the side.
    quarter = math.tan(math.pi / 8.0)
    profile = Path(
        (Vertex(15.0, 0.0), Vertex(19.0, 0.0), Vertex(19.0, 4.0), Vertex(17.0, 4.0, quarter), Vertex(15.0, 2.0))
    )
    side = bore_side(profile)
    assert [(v.x, v.y) for v in side] == [(15.0, 0.0), (15.0, 2.0), (17.0, 4.0)]
    assert [v.bulge for v in side] == pytest.approx([0.0, -quarter, 0.0])
