import math
import textwrap

import ezdxf
import pytest

from moldgen import case, sizing
from moldgen.errors import SpecError
from moldgen.starter import starter_spec


def sized(tmp_path, text, shrinkage="0 %"):
    path = tmp_path / "part.yaml"
    head = f"family: outline_part\nname: part\nelastomer: {{based_on: pu_60a, linear_shrinkage: {shrinkage}}}\n"
    path.write_text(head + textwrap.dedent(text))
    return sizing.size(case.load(path))


def problems(tmp_path, text):
    with pytest.raises(SpecError) as caught:
        sized(tmp_path, text)
    return caught.value.problems


def predicted(part, name):
    return next(p.range.value for p in part.predictions if p.prediction.name == name)


def dxf(tmp_path, draw, units=4):
    document = ezdxf.new("R2010", units=units)
    draw(document.modelspace())
    document.saveas(tmp_path / "part.dxf")


def svg(tmp_path, body, page='width="40mm" height="20mm" viewBox="0 0 400 200"'):
    (tmp_path / "part.svg").write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{body}</svg>')


PLATE = """
    wanted:
      outline:
      - [0, 0, 3]
      - [40, 0, 3]
      - [40, 20, 3]
      - [0, 20, 3]
      thickness: 4
      holes:
      - {at: [10, 10], diameter: 5}
      - {at: [30, 10], diameter: 3.2 mm}
    """
PLATE_AREA = 800 - (4 - math.pi) * 9 - math.pi * (2.5**2 + 1.6**2)


def test_area_and_volume_are_the_closed_form(tmp_path):
    part = sized(tmp_path, PLATE)
    assert predicted(part, "area_mm2") == pytest.approx(PLATE_AREA, rel=1e-6)
    assert predicted(part, "hole_count") == 2
    assert part.free_shape.volume_mm3 == pytest.approx(4 * PLATE_AREA, rel=1e-6)
    assert {name: u.value for name, u in part.free.items()} == pytest.approx(
        {"length_mm": 40, "width_mm": 20, "thickness_mm": 4, "hole_1_diameter_mm": 5, "hole_2_diameter_mm": 3.2}
    )


def test_the_kernels_solid_has_that_volume_too(tmp_path):
    from moldgen.parts import kernel
    from moldgen.parts.solids import solid

    part = sized(tmp_path, PLATE)
    assert kernel.volume_mm3(solid(part.free_shape, stage="part")) == pytest.approx(4 * PLATE_AREA, rel=1e-6)


def test_every_length_of_the_mold_is_larger_by_the_shrinkage_holes_and_fillets_too(tmp_path):
    # Shrinkage counted on the mold: part = 0.98 mold.
    part = sized(tmp_path, PLATE, shrinkage="2 %")
    assert part.mold_shape.volume_mm3 == pytest.approx(4 * PLATE_AREA / 0.98**3, rel=1e-9)
    for name, free in part.free.items():
        assert part.mold[name].value == pytest.approx(free.value / 0.98, rel=1e-12)
    radii = {round(e.arc.radius * 0.98, 9) for e in part.mold_shape.outline.edges if e.start.bulge}
    assert radii == {3.0}


def test_the_outline_may_run_either_way(tmp_path):
    text = "wanted:\n  outline: [[0, 0], [0, 20], [40, 20, 5], [40, 0]]\n  thickness: 4\n"
    assert predicted(sized(tmp_path, text), "area_mm2") == pytest.approx(800 - (1 - math.pi / 4) * 25, rel=1e-9)


def test_readings_carry_value_and_uncertainty(tmp_path):
    part = sized(
        tmp_path,
        """
        measured: {across: 30.0 ± 0.2 mm, bolt: 6.0 ± 0.1 mm, plate: 2.0 mm}
        wanted:
          outline: [[-across / 2, 0], [across/2, 0], [across / 2, 10], [-across / 2, 10]]
          thickness: plate + 1 mm
          holes: [{at: [0, 5], diameter: bolt - 0.5 mm}]
        """,
    )
    assert part.free["length_mm"].value == pytest.approx(30.0)
    assert part.free["length_mm"].u == pytest.approx(0.2 / math.sqrt(3), rel=1e-9)  # JCGM 100:2008, 4.3.7
    assert part.free["hole_1_diameter_mm"].value == pytest.approx(5.5)
    assert part.free["hole_1_diameter_mm"].u == pytest.approx(0.1 / math.sqrt(3), rel=1e-9)
    assert part.free["thickness_mm"].value == pytest.approx(3.0)


def ring_and_slot(space):
    space.add_lwpolyline([(0, 0), (36, 0), (36, 20), (0, 20)], close=True)
    space.add_circle((8, 10), 3)
    space.add_lwpolyline([(20, 8, 0), (30, 8, 1), (30, 12, 0), (20, 12, 1)], format="xyb", close=True)


@pytest.mark.parametrize(("units", "unit_mm"), [(4, 1.0), (1, 25.4)])
def test_a_dxf_is_read_beside_the_spec_in_its_own_unit(tmp_path, units, unit_mm):
    dxf(tmp_path, ring_and_slot, units)
    part = sized(tmp_path, "wanted: {outline: part.dxf, thickness: 4 mm}\n")
    area = 720 - 9 * math.pi - (40 + 4 * math.pi)
    assert predicted(part, "area_mm2") == pytest.approx(area * unit_mm**2, rel=1e-6)
    assert part.free["length_mm"].value == pytest.approx(36 * unit_mm)
    assert part.free["hole_1_diameter_mm"].value == pytest.approx(6 * unit_mm)
    assert "hole_2_diameter_mm" not in part.free  # a slot has none
    assert part.remarks == ()


def test_an_svg_is_read_in_millimetres_and_holes_may_be_added(tmp_path):
    svg(tmp_path, '<rect x="50" y="20" width="300" height="160" rx="40"/><circle cx="120" cy="100" r="25"/>')
    part = sized(tmp_path, "wanted:\n  outline: part.svg\n  thickness: 4\n  holes:\n  - {at: [28, 10], diameter: 5}\n")
    area = 30 * 16 - (4 - math.pi) * 16 - 2 * math.pi * 6.25
    assert predicted(part, "area_mm2") == pytest.approx(area, rel=1e-6)
    assert predicted(part, "hole_count") == 2
    # In the part's own frame the outline's middle, (20, 10) on the page, is the origin.
    middles = sorted(hole.centroid for hole in part.free_shape.holes)
    assert middles == [pytest.approx((-8, 0), abs=1e-9), pytest.approx((8, 0), abs=1e-9)]


def test_a_drawing_that_states_no_unit_says_what_was_taken(tmp_path):
    dxf(tmp_path, ring_and_slot, units=0)
    part = sized(tmp_path, "wanted: {outline: part.dxf, thickness: 4 mm}\n")
    (remark,) = part.remarks
    assert remark.code == "unit_assumed" and "36.00 mm by 20.00 mm" in remark.text
    stated = sized(tmp_path, "wanted: {outline: part.dxf, file_unit: in, thickness: 4 mm}\n")
    assert stated.remarks == ()
    assert stated.free["length_mm"].value == pytest.approx(36 * 25.4)


def test_the_scale_is_checked_with_a_caliper(tmp_path):
    dxf(tmp_path, ring_and_slot)
    text = "measured: {overall: %s}\nwanted: {outline: part.dxf, thickness: 4, check_length: overall}\n"
    assert sized(tmp_path, text % "35.4 mm")
    (problem,) = problems(tmp_path, text % "35.2 mm")
    assert problem.field == "wanted.check_length" and "36.00 mm" in problem.limit
    (problem,) = problems(tmp_path, text % "36.2 cm")
    assert problem.way_out == "Its numbers look like centimetres."


@pytest.mark.parametrize(
    ("units", "body", "words"),
    [
        (4, lambda s: s.add_lwpolyline([(0, 0), (40, 20), (40, 0), (0, 20)], close=True), "(20.00, 10.00) mm"),
        (4, lambda s: s.add_lwpolyline([(0, 0), (40, 0), (40, 20), (0, 20)]), "(0.00, 20.00) mm"),
        (4, lambda s: [s.add_circle((9, 9), 5), s.add_circle((9, 9), 5)], "drawn twice at (14.00, 9.00) mm"),
        (6, lambda s: s.add_circle((0, 0), 5), "1000 mm is the most"),
        (4, lambda s: s.add_circle((0, 0), 0.05), "only 0.1 mm by 0.1 mm"),
        (4, lambda s: [s.add_circle((9, 9), 5), s.add_circle((29, 9), 4)], "beside the outline"),
    ],
    ids=["crossing", "open", "doubled", "large", "small", "two"],
)
def test_unsound_drawings_are_refused_with_place_and_entity(tmp_path, units, body, words):
    dxf(tmp_path, body, units)
    found = problems(tmp_path, "wanted:\n  outline: part.dxf\n  thickness: 4\n")
    assert all(p.field == "wanted.outline" and p.line == 5 and p.given == "part.dxf" for p in found)
    assert any(words in p.limit for p in found)
    assert all("CIRCLE #" in p.limit + p.way_out or "LWPOLYLINE #" in p.limit or units == 6 for p in found)
    assert all("in part.dxf" in p.limit for p in found)


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        ("nowhere.dxf", "there is no file"),
        ("part.png", ".dxf or .svg"),
        ("empty.svg", "no outline"),
    ],
)
def test_files_without_an_outline_are_refused_at_their_line(tmp_path, outline, words):
    (tmp_path / "part.png").write_bytes(b"picture")
    (tmp_path / "empty.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" width="4mm" height="4mm"/>')
    (problem,) = problems(tmp_path, f"wanted:\n  thickness: 4\n  outline: {outline}\n")
    assert problem.field == "wanted.outline" and problem.line == 6
    assert words in problem.limit


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        (("diameter: 5}", "diameter: 25}"), "wanted.holes[1]", "cross or touch"),
        (("at: [30, 10]", "at: [60, 10]"), "wanted.holes[2]", "beside the outline"),
        (("at: [30, 10]", "at: [10, 10]"), "wanted.holes[2]", "within a hole"),
        (("at: [30, 10]", "at: [38, 10]"), "wanted.holes[2]", "left between"),
        (("thickness: 4", "thickness: 0.1"), "wanted.thickness", "thick"),
        (("thickness: 4", "thickness: pad"), "wanted.thickness", "`pad`"),
        (("diameter: 5}", "diameter: bolt}"), "wanted.holes[1].diameter", "`bolt`"),
        (("at: [30, 10]", "at: [30, mid]"), "wanted.holes[2].at[2]", "`mid`"),
        (("[40, 20, 3]", "[40, 20, 18]"), "wanted.outline[3][3]", "room for a radius of 17.00 mm"),
        (("[40, 0, 3]", "[40, 0, 3]\n      - [0, 40]"), "wanted.outline[4]", "at (20.00, 20.00) mm"),
        (
            ("thickness: 4", "thickness: 4\n      file_layer: cut"),
            "wanted.file_layer",
            "only for an outline from a file",
        ),
    ],
)
def test_what_cannot_be_cast_is_refused_at_its_field(tmp_path, change, field, words):
    assert change[0] in PLATE
    found = {p.field: p for p in problems(tmp_path, PLATE.replace(*change))}
    assert field in found
    assert words in found[field].limit


def test_the_starter_spec_sizes_as_it_is(tmp_path):
    path = tmp_path / "starter.yaml"
    path.write_text(starter_spec("outline_part"))
    part = sizing.size(case.load(path))
    assert part.free["thickness_mm"].value == pytest.approx(4.0)  # as its example says


def test_the_largest_outline_is_the_part_wherever_it_stands_in_the_file(tmp_path):
    svg(tmp_path, '<circle cx="120" cy="100" r="25"/><rect x="50" y="20" width="300" height="160"/>')
    part = sized(tmp_path, "wanted: {outline: part.svg, thickness: 4 mm}\n")
    assert predicted(part, "area_mm2") == pytest.approx(480 - math.pi * 6.25, rel=1e-6)
