import math
import textwrap

import pytest

from moldgen import case, sizing
from moldgen.errors import SpecError
from moldgen.starter import starter_spec


def sized(tmp_path, text, shrinkage="0 %"):
    path = tmp_path / "part.yaml"
    head = f"family: turned_part\nname: part\nelastomer: {{based_on: pu_60a, linear_shrinkage: {shrinkage}}}\n"
    path.write_text(head + textwrap.dedent(text))
    return sizing.size(case.load(path))


def problems(tmp_path, text):
    with pytest.raises(SpecError) as caught:
        sized(tmp_path, text)
    return caught.value.problems


def profile(*corners):
    return "wanted:\n  profile:\n" + "".join(f"  - [{', '.join(map(str, c))}]\n" for c in corners)


def edge_ring(radius, fillet):
    """Volume that a fillet takes off the outer edge of a cylinder, by Pappus.

    Square r² with its centroid at R - r/2, less the quarter disc πr²/4 with its centroid at R - r + 4r/(3π).
    """
    moment = fillet**2 * (radius - fillet / 2)
    moment -= math.pi * fillet**2 / 4 * (radius - fillet + 4 * fillet / (3 * math.pi))
    return math.tau * moment


def inner_edge_ring(radius, fillet):
    """The same at the mouth of a bore: the corner lies at the small radius."""
    moment = fillet**2 * (radius + fillet / 2)
    moment -= math.pi * fillet**2 / 4 * (radius + fillet - 4 * fillet / (3 * math.pi))
    return math.tau * moment


SOLIDS = {
    "cone frustum": ([(0, 0), (10, 0), (4, 12), (0, 12)], math.pi / 3 * 12 * (100 + 40 + 16)),
    "tube": ([(3, 0), (10, 0), (10, 12), (3, 12)], math.pi * (100 - 9) * 12),
    "cylinder with rounded edges": (
        [(0, 0), (10, 0, 1.5), (10, 12, 2), (0, 12)],
        math.pi * 100 * 12 - edge_ring(10, 1.5) - edge_ring(10, 2),
    ),
    "tube with a rounded mouth": (
        [(3, 0), (10, 0), (10, 12), (3, 12, 2)],
        math.pi * 91 * 12 - inner_edge_ring(3, 2),
    ),
    "stepped shaft with a filled root": (
        # The fillet adds at the root what it takes at a mouth of the same radius.
        [(0, 0), (10, 0), (10, 5), (6, 5, 2), (6, 12), (0, 12)],
        math.pi * (100 * 5 + 36 * 7) + inner_edge_ring(6, 2),
    ),
    "ball, all fillet": ([(0, 0), (10, 0, 10), (10, 20, 10), (0, 20)], 4 / 3 * math.pi * 1000),
    "ring of round section": (
        [(8, -2, 2), (12, -2, 2), (12, 2, 2), (8, 2, 2)],
        math.tau * 10 * math.pi * 4,  # Pappus: a disc of radius 2 swept at radius 10
    ),
}


@pytest.mark.parametrize("name", SOLIDS)
@pytest.mark.parametrize("backwards", [False, True])
def test_volume_is_the_closed_form_whichever_way_round_the_corners_run(tmp_path, name, backwards):
    corners, volume = SOLIDS[name]
    part = sized(tmp_path, profile(*(corners[::-1] if backwards else corners)))
    assert part.free_shape.volume_mm3 == pytest.approx(volume, rel=1e-6)
    assert part.free_shape.profile.area > 0.0
    assert next(p for p in part.predictions if p.prediction.name == "volume_mm3").range.value == pytest.approx(volume)


@pytest.mark.parametrize("name", SOLIDS)
def test_the_kernels_solid_has_that_volume_too(tmp_path, name):
    from moldgen.parts import kernel
    from moldgen.parts.solids import solid

    corners, volume = SOLIDS[name]
    part = sized(tmp_path, profile(*corners))
    assert kernel.volume_mm3(solid(part.free_shape, stage="part")) == pytest.approx(volume, rel=1e-6)


def test_every_length_of_the_mold_is_larger_by_the_shrinkage_fillets_too(tmp_path):
    # Shrinkage counted on the mold: 0.98 of it is left. So mold = part/0.98, and volumes go by its cube.
    corners, volume = SOLIDS["tube with a rounded mouth"]
    part = sized(tmp_path, profile(*corners), shrinkage="2 %")
    assert part.mold_shape.volume_mm3 == pytest.approx(volume / 0.98**3, rel=1e-9)
    for name, free in part.free.items():
        assert part.mold[name].value == pytest.approx(free.value / 0.98, rel=1e-12)
        assert part.fitted[name].value == free.value
    arc = next(edge for edge in part.mold_shape.profile.edges if edge.start.bulge)
    assert arc.arc.radius == pytest.approx(2 / 0.98, rel=1e-9)


def test_the_result_names_diameters_and_height(tmp_path):
    part = sized(tmp_path, profile((3, 5), (10, 5), (10, 17), (3, 17)))
    assert {name: u.value for name, u in part.free.items()} == {
        "outer_diameter_mm": 20.0,
        "inner_diameter_mm": 6.0,
        "height_mm": 12.0,
    }
    assert part.free_shape.profile.bounds == (3.0, 0.0, 10.0, 12.0)  # stands on height 0
    assert "inner_diameter_mm" not in sized(tmp_path, profile((0, 0), (10, 0), (0, 12))).free


GROMMET = """
    measured:
      hole: 10.0 ± 0.1 mm
      plate: 1/16 in
      not_needed: 3 mm
    wanted:
      profile:
      - [2, 0]
      - [hole / 2 + 1 mm, 0]
      - [hole / 2 + 1 mm, 1.5]
      - [hole/2, 1.5]
      - [hole / 2, plate + 1.5 mm]
      - [6, plate + 1.5 mm]
      - [6, 5]
      - [2, 5]
    """


def test_readings_carry_value_and_uncertainty_into_the_profile(tmp_path):
    part = sized(tmp_path, GROMMET.replace("- [6,", "- [5.5,"))
    assert part.free["outer_diameter_mm"].value == pytest.approx(12.0)
    # ± 0.1 is u = 0.1/√3 (JCGM 100:2008, 4.3.7), and the diameter has all of it.
    assert part.free["outer_diameter_mm"].u == pytest.approx(0.1 / math.sqrt(3), rel=1e-9)
    # Flange, groove of 1.5875 mm, head; by discs.
    discs = 36 * 1.5 + 25 * 1.5875 + 5.5**2 * (5 - 3.0875) - 4 * 5
    assert part.free_shape.volume_mm3 == pytest.approx(math.pi * discs, rel=1e-9)


def test_readings_that_nothing_refers_to_are_kept(tmp_path):
    part = sized(tmp_path, GROMMET)
    assert float(part.case.given.measured.model_extra["not_needed"]) == 3.0
    assert all("not_needed" not in reading.field for reading in part.readings)


def test_readings_may_be_left_out_and_have_any_plain_name(tmp_path):
    corners = profile((0, 0), (10, 0), (0, 12))
    assert sized(tmp_path, corners)
    assert sized(tmp_path, "measured:\n  copy: 10 mm\n" + corners.replace("10, 0", "copy, 0"))
    (problem,) = problems(tmp_path, "measured:\n  Hole No 1: 10 mm\n" + corners)
    assert problem.field == "measured" and "Hole No 1" in problem.limit


def test_a_reading_that_was_not_taken_is_refused_with_the_nearest(tmp_path):
    (problem,) = problems(tmp_path, GROMMET.replace("[hole / 2, plate", "[hole / 2, palte"))
    assert problem.field == "wanted.profile[5][2]"
    assert problem.line == 15
    assert "Did you mean `plate`?" in problem.way_out


@pytest.mark.parametrize(
    ("corners", "field", "words"),
    [
        ([(0, 0), (10, 0), (10, 5), (-1, 5)], "wanted.profile[4][1]", "distance from the axis"),
        ([(0.05, 0), (10, 0), (10, 5)], "wanted.profile[1][1]", "0.2 mm"),
        ([(0, 0), (501, 0), (501, 5), (0, 5)], "wanted.profile[2]", "1000 mm"),
        ([(0, 0, 1), (10, 0), (10, 5), (0, 5)], "wanted.profile[1]", "axis cannot be rounded"),
        ([(0, 0), (10, -5), (10, 5)], "wanted.profile[1]", "single point"),
        ([(0, 0), (9, 0), (9, 9), (0, 9), (0, 6), (4, 6), (4, 3), (0, 3)], "wanted.profile[4]", "second time"),
        ([(3, 0), (10, 0), (10, 0), (10, 5)], "wanted.profile[3]", "same place"),
        ([(2, 0), (10, 0), (2, 8), (10, 8)], "wanted.profile[4]", "at (6.00, 4.00) mm"),
        ([(2, 0), (10, 0), (10, 4), (15, 4), (10, 4), (10, 8), (2, 8)], "wanted.profile[4]", "turns back"),
        ([(2, 0), (10, 0), (10, 8, -1), (2, 8)], "wanted.profile[3][3]", "not negative"),
        ([(2, 0), (10, 0), (10, 8, 5), (2, 8, 4)], "wanted.profile[3][3]", "room for a radius of 4.00 mm"),
    ],
)
def test_profiles_that_make_no_solid_are_refused_at_the_corner(tmp_path, corners, field, words):
    found = {p.field: p for p in problems(tmp_path, profile(*corners))}
    assert field in found
    assert words in found[field].limit
    assert found[field].line == 5 + int(field.split("[")[1].rstrip("]"))


def test_a_fillet_that_swallows_a_neighbouring_corner_is_refused(tmp_path):
    # The fillet's own sides are long enough, but the outline pokes a tip into the corner that it cuts off.
    corners = [(2, 0), (30, 0, 20), (30, 30), (29, 30), (28.9, 1), (28.8, 30), (2, 30)]
    (problem, *_) = problems(tmp_path, profile(*corners))
    assert "crosses or touches itself" in problem.limit and "fillet at corner 2" in problem.limit


def test_a_last_corner_that_only_closes_the_outline_is_no_fault(tmp_path):
    part = sized(tmp_path, profile((3, 0), (10, 0), (10, 12), (3, 12), (3, 0)))
    assert part.free_shape.volume_mm3 == pytest.approx(math.pi * 91 * 12, rel=1e-9)


def test_a_radius_that_may_be_nothing_is_refused(tmp_path):
    (problem,) = problems(tmp_path, profile(("0.2 ± 0.3 mm", 0), (10, 0), (10, 5), (3, 5)))
    assert problem.field == "wanted.profile[1][1]" and "uncertain" in problem.limit


@pytest.mark.parametrize(
    ("corner", "words"),
    [
        ("[3]", "two places"),
        ("[3, 0, 1, 1]", "two places"),
        ("[3, x y]", "not a length"),
        ("[3, 2 kg]", "unit of length"),
    ],
)
def test_corners_that_cannot_be_read_are_refused_at_their_line(tmp_path, corner, words):
    text = f"wanted:\n  profile:\n  - [10, 0]\n  - {corner}\n  - [10, 5]\n"
    (problem,) = problems(tmp_path, text)
    assert problem.line == 7
    assert words in problem.limit


def test_outline_of_two_corners_and_a_drive_are_refused(tmp_path):
    assert "corners" in problems(tmp_path, profile((3, 0), (10, 0)))[0].limit
    (problem,) = problems(tmp_path, profile((0, 0), (10, 0), (0, 12)) + "drive:\n  force: 1 N\n")
    assert problem.field == "drive"


@pytest.mark.parametrize(
    ("running", "outside", "bore"),
    [("none", "side", "bore"), ("outside", "running", "bore"), ("bore", "side", "running")],
)
def test_running_walls_are_marked_and_faces_and_edges_are_not(tmp_path, running, outside, bore):
    corners = profile((3, 0), (10, 0), (10, 12, 1), (3, 12))
    part = sized(tmp_path, corners + f"  running: {running}\n")
    marks = {(round(e.middle.x, 1), round(e.middle.y, 1)): e.start.surface for e in part.free_shape.profile.edges}
    assert marks[10.0, 5.5] == outside
    assert marks[3.0, 6.0] == bore
    assert marks[6.5, 0.0] == "face"
    assert marks[6.0, 12.0] == "face"
    assert list(marks.values()).count("edge") == 1


def test_the_starter_spec_sizes_as_it_is(tmp_path):
    path = tmp_path / "starter.yaml"
    path.write_text(starter_spec("turned_part"))
    part = sizing.size(case.load(path))
    assert part.free["height_mm"].value == pytest.approx(12.0)  # as its example profile says
