"""A spec joined with its family, its elastomer and its printer."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen import case, elastomers
from moldgen.elastomers import FIGURES
from moldgen.errors import OutputError, SpecError
from moldgen.spec.document import parse
from moldgen.spec.sections import without_unit_suffix

SPEC = """\
family: idler_tyre
name: rim
elastomer: ELASTOMER
measured:
  hub_diameter: 30 ± 0.03 mm
  hub_width: 6 mm
wanted:
  fitted_diameter: 38 ± 0.1 mm
  fitted_width: 5 mm
"""


def loaded(elastomer="pu_60a", more=""):
    return case.from_document(parse(SPEC.replace("ELASTOMER", elastomer) + more, "part.yaml"))


def problems(elastomer="pu_60a", more=""):
    with pytest.raises(SpecError) as caught:
        loaded(elastomer, more)
    assert caught.value.problems
    return caught.value.problems


# --- the elastomer ---------------------------------------------------------------------------------


def test_an_id_brings_the_table_s_figures():
    found = loaded()
    assert found.elastomer == elastomers.find("pu_60a")
    assert found.given.elastomer.label == "Polyurethane, 60 A"


def test_a_hardness_of_one_s_own_brings_its_modulus_by_gent():
    # A. N. Gent, Rubber Chem. Technol. 31 (1958) 896, worked by hand for 58 A:
    # 0.0981 (56 + 7.62336 * 58)/(0.137505 (254 - 2.54 * 58)) = 0.0981 * 498.15488/(0.137505 * 106.68) = 3.33141.
    found = loaded("{based_on: pu_60a, hardness_shore_a: 58, linear_shrinkage: 0.8 %, source: supplier's sheet}")
    rubber = found.elastomer
    assert rubber.modulus_mpa.value == pytest.approx(3.3314, abs=1e-4)
    assert "Gent" in rubber.modulus_mpa.source
    assert (rubber.hardness_shore_a.value, rubber.hardness_shore_a.source) == (58.0, "supplier's sheet")
    assert (rubber.linear_shrinkage.low, rubber.linear_shrinkage.value, rubber.linear_shrinkage.high) == (0.008,) * 3
    assert rubber.density_g_cm3 == elastomers.find("pu_60a").density_g_cm3
    assert found.given.elastomer.modulus_mpa == rubber.modulus_mpa.value


def test_a_modulus_given_beside_the_hardness_stands():
    rubber = loaded("{based_on: pu_60a, hardness_shore_a: 58, modulus: 2.4 ± 0.2 MPa}").elastomer
    assert (rubber.modulus_mpa.low, rubber.modulus_mpa.value, rubber.modulus_mpa.high) == pytest.approx((2.2, 2.4, 2.6))


def test_a_range_becomes_a_rectangular_distribution():
    # JCGM 100:2008, 4.3.7: half-width over √3; ± 0.3 % gives 0.173 %.
    rubber = loaded("{based_on: pu_60a, linear_shrinkage: 1.2 % ± 0.3 %}").given.elastomer
    assert rubber.linear_shrinkage == pytest.approx(0.012)
    assert rubber.linear_shrinkage.u == pytest.approx(0.00173, abs=5e-6)


def test_figures_may_stand_in_a_file_of_their_own(tmp_path):
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "blue.yaml").write_text(
        "based_on: pu_60a\nhardness_shore_a: 58\nfriction: 0.7\n", encoding="utf-8"
    )
    spec = tmp_path / "part.yaml"
    spec.write_text(SPEC.replace("ELASTOMER", "{file: shop/blue.yaml}"), encoding="utf-8")
    rubber = case.load(spec).elastomer
    assert rubber.hardness_shore_a.value == 58.0
    assert rubber.friction.source == "blue.yaml"  # the file's name, not its path, so that results do not depend on it


def test_a_problem_in_the_elastomer_s_file_names_that_file_and_its_line(tmp_path):
    (tmp_path / "blue.yaml").write_text("based_on: pu_60a\n\nhardnes_shore_a: 58\n", encoding="utf-8")
    spec = tmp_path / "part.yaml"
    spec.write_text(SPEC.replace("ELASTOMER", "{file: blue.yaml}"), encoding="utf-8")
    with pytest.raises(SpecError) as caught:
        case.load(spec)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.field) == ((tmp_path / "blue.yaml").as_posix(), 3, "hardnes_shore_a")
    assert "`hardness_shore_a`" in problem.way_out


def test_a_file_that_is_missing_is_told_beside_the_spec_s_other_problems(tmp_path):
    spec = tmp_path / "part.yaml"
    spec.write_text(SPEC.replace("ELASTOMER", "{file: none.yaml}").replace("6 mm", "6 N"), encoding="utf-8")
    with pytest.raises(SpecError) as caught:
        case.load(spec)
    assert [(p.line, p.field) for p in caught.value.problems] == [(3, "elastomer.file"), (6, "measured.hub_width")]


def test_a_file_beside_figures_is_refused():
    (problem,) = problems("{file: blue.yaml, friction: 0.7}")
    assert problem.limit == "`file` stands alone"


@pytest.mark.parametrize(
    ("given_", "field"),
    [
        ("pu_61a", "elastomer"),
        ("", "elastomer"),
        ("~", "elastomer"),
        ("[pu_60a]", "elastomer"),
        ("{hardness_shore_a: 58}", "elastomer.based_on"),
        ("{based_on: pu_61a}", "elastomer.based_on"),
        ("{based_on: pu_60a, hardnes: 58}", "elastomer.hardnes"),
        ("{based_on: pu_60a, hardness_shore_a: 580}", "elastomer.hardness_shore_a"),
        ("{based_on: pu_60a, linear_shrinkage: -1 %}", "elastomer.linear_shrinkage"),
        ("{based_on: pu_60a, linear_shrinkage: 8}", "elastomer.linear_shrinkage"),
        ("{based_on: pu_60a, density: 1.05 kg}", "elastomer.density"),
        ("{file: [a]}", "elastomer"),
    ],
)
def test_an_elastomer_that_cannot_be_used_is_one_problem_with_its_place(given_, field):
    (problem,) = problems(given_)
    assert (problem.line, problem.field) == (3, field)
    assert problem.way_out


def test_the_nearest_ids_are_suggested():
    assert "`pu_60a`" in problems("pu_6oa")[0].way_out


def test_a_wrong_base_and_a_wrong_figure_are_told_together():
    found = problems("{based_on: pu_61a, friction: 40}")
    assert {p.field for p in found} == {"elastomer.based_on", "elastomer.friction"}


@given(
    st.sampled_from(sorted(FIGURES)),
    st.sampled_from(["", "nan", "-1e9", "1e12", "x", "[1]", "5 furlong", "0", "1", "50"]),
)
def test_any_figure_is_taken_or_refused_in_the_person_s_words(name, value):
    key = without_unit_suffix(name)
    try:
        loaded(f"{{based_on: pu_60a, {key}: {value}}}")
    except SpecError as error:
        assert [p.field for p in error.problems] == [f"elastomer.{key}"]


# --- the rest --------------------------------------------------------------------------------------


def test_everything_wrong_with_spec_elastomer_and_printer_is_told_at_once():
    found = problems("pu_61a", "printer: resin\nquantity: none\npour: {spare: -5 %}\n")
    assert [(p.line, p.field) for p in found] == [
        (3, "elastomer"),
        (10, "printer"),
        (11, "quantity"),
        (12, "pour.spare"),
    ]


@pytest.mark.parametrize("family", ["idle_tire", "Idler_tyre", "base", "rings_on_metal", "../idler_tyre", "os", "''"])
def test_what_is_no_family_is_refused_with_those_that_are(family):
    text = SPEC.replace("idler_tyre", family).replace("ELASTOMER", "pu_60a")
    with pytest.raises(SpecError) as caught:
        case.from_document(parse(text, "part.yaml"))
    (problem,) = caught.value.problems
    assert (problem.line, problem.field) == (1, "family")
    assert "idler_tyre" in problem.way_out


def test_a_spec_without_a_family_says_which_there_are():
    with pytest.raises(SpecError) as caught:
        case.from_document(parse("name: rim\n", "part.yaml"))
    assert "pinch_sleeve" in caught.value.problems[0].way_out


def test_optional_sections_bring_the_usual_choices():
    spec = loaded().spec
    assert (spec.mold.fill, spec.mold.core, spec.mold.revision) == ("pour", "by_rule", 1)
    assert (spec.pour.spare, spec.pour.scale_step_g, spec.pour.shop_degc) == (0.15, 0.1, 23.0)
    assert (spec.quantity, spec.machine, spec.drive) == (1, None, None)


def test_a_file_that_is_not_there_is_an_error_of_its_own(tmp_path):
    with pytest.raises(OutputError):
        case.load(tmp_path / "none.yaml")
