"""Reading tables of castings: what is taken, and how a slip is told."""

from pathlib import Path

import pytest

from moldgen import case
from moldgen.errors import OutputError, SpecError
from moldgen.feedback import castings

SPEC = Path(__file__).parents[2] / "part_specs" / "loop_idler.yaml"


@pytest.fixture(scope="module")
def sizes():
    loaded = case.load(SPEC)
    return loaded.family.size(loaded.given)


def read(tmp_path, text, sizes, *, name="castings.csv", **options):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return castings.read(file, sizes=sizes, family="idler_tyre", **options)


def problems(tmp_path, text, sizes, **options):
    with pytest.raises(SpecError) as caught:
        read(tmp_path, text, sizes, **options)
    return caught.value.problems


TABLE = """of,dimension,reading
mold,outer_diameter,36.80 ± 0.03 mm

# lying free, a day later
casting,Outer Diameter,1.4437 in
fitted,width_mm,"4.98 ± 0.05 mm"
"""


def test_rows_keep_line_name_unit_and_uncertainty(tmp_path, sizes):
    table = read(tmp_path, TABLE, sizes)
    assert [(r.of, r.dimension, r.over, r.line) for r in table.readings] == [
        ("mold", "outer_diameter_mm", "outside", 2),
        ("casting", "outer_diameter_mm", "outside", 5),
        ("fitted", "width_mm", "height", 6),
    ]
    assert table.readings[1].value_mm == pytest.approx(1.4437 * 25.4)
    # JCGM 100:2008, 4.3.7: u = a/√3.
    assert table.readings[0].value_mm.u == pytest.approx(0.03 / 3**0.5)


def test_reading_without_uncertainty_is_taken_as_a_calipers(tmp_path, sizes):
    table = read(tmp_path, TABLE, sizes)
    assert table.assumed == 1
    assert table.readings[1].value_mm.u == pytest.approx(0.03 / 3**0.5)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("c.csv", "of;dimension;reading\nmold;outer_diameter;36.80 ± 0.03 mm\n"),
        ("c.csv", "﻿reading,of,dimension,note\n36.80 ± 0.03 mm,mold,outer_diameter,first\n"),
        ("c.yaml", "castings:\n  - {of: mold, dimension: outer_diameter, reading: 36.80 ± 0.03 mm}\n"),
    ],
)
def test_semicolons_other_orders_and_yaml_say_the_same(tmp_path, sizes, name, text):
    (reading,) = read(tmp_path, text, sizes, name=name).readings
    assert (reading.of, reading.dimension, float(reading.value_mm)) == ("mold", "outer_diameter_mm", 36.8)


def test_repeated_readings_of_a_yaml_list_become_their_mean(tmp_path, sizes):
    text = "castings:\n  - {of: mold, dimension: width, reading: [5.08, 5.10, 5.12 ± 0.03 mm]}\n"
    (reading,) = read(tmp_path, text, sizes, name="c.yml").readings
    assert reading.value_mm == pytest.approx(5.10)


@pytest.mark.parametrize(
    ("row", "field", "words"),
    [
        ("mould,outer_diameter,36.8", "castings[1].of", ["mould", "`mold`"]),
        ("mold,outer_diametre,36.8", "castings[1].dimension", ["Did you mean `outer_diameter`?"]),
        ("mold,outer_diameter,3.68", "castings[1].reading", ["36.84 mm here", "unit"]),
        ("mold,outer_diameter,36.8 kg", "castings[1].reading", ["not a unit of length"]),
        ("mold,outer_diameter,", "castings[1].reading", ["needed"]),
        ("mold,edge,0.4", "castings[1].dimension", ["too small"]),
    ],
)
def test_slip_is_told_with_file_line_field_and_way_out(tmp_path, sizes, row, field, words):
    (problem,) = problems(tmp_path, f"of,dimension,reading\n# a comment\n{row}\n", sizes)
    assert problem.file.endswith("castings.csv")
    assert (problem.line, problem.field) == (3, field)
    assert problem.way_out
    for word in words:
        assert word in str(problem)


def test_all_slips_of_a_table_are_told_at_once(tmp_path, sizes):
    text = "of,dimension,reading\nmold,bore,28\nmold,outer_diameter,3.6\nmold,width,0.4 s\n"
    assert len(problems(tmp_path, text.replace("0.4 s", "50"), sizes)) == 3


@pytest.mark.parametrize(
    ("header", "way_out"),
    [
        ("of,dimnsion,reading", "`dimension`"),
        ("of,reading", "of,dimension,reading"),
        ("of,of,dimension,reading", "one"),
    ],
)
def test_header_that_does_not_fit_is_one_problem(tmp_path, sizes, header, way_out):
    (problem,) = problems(tmp_path, f"{header}\nmold,width,5\n", sizes)
    assert problem.line == 1
    assert way_out in problem.way_out


def test_part_cast_on_metal_is_not_measured_in_place(tmp_path, sizes):
    (problem,) = problems(tmp_path, "of,dimension,reading\nfitted,width,5\n", sizes, cast_on=True)
    assert "`casting`" in problem.way_out


def test_diameter_that_has_been_ground_in_place_is_refused(tmp_path, sizes):
    (problem,) = problems(tmp_path, "of,dimension,reading\nfitted,outer_diameter,38\n", sizes, ground=True)
    assert "ground" in problem.limit


def test_file_that_cannot_be_read_is_named(tmp_path, sizes):
    with pytest.raises(OutputError, match=r"nowhere\.csv"):
        castings.read(tmp_path / "nowhere.csv", sizes=sizes, family="idler_tyre")


def test_table_of_headers_only_is_refused(tmp_path, sizes):
    assert "readings" in problems(tmp_path, "of,dimension,reading\n", sizes)[0].limit
