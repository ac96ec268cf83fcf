"""From a document to a frozen section, or to everything that is wrong with it at once."""

from typing import Annotated, Any, Literal

import pytest
from pydantic import Field

from moldgen.errors import SpecError
from moldgen.spec.document import parse
from moldgen.spec.sections import (
    Angle,
    Flag,
    Length,
    Line,
    Name,
    Readings,
    Section,
    SmallLength,
    Stretch,
    counted,
    without_unit_suffix,
)
from moldgen.spec.validation import validated


class Pulley(Section):
    name: Line = Field(description="What it is called.")
    groove_diameter_mm: Length = Field(description="At the groove's floor.")
    turns: Literal["cw", "ccw"] = "cw"


class Measured(Section):
    hub_diameter_mm: Length = Field(description="Across the seat; take three readings.")
    hub_width_mm: Length
    flanged: Flag = False


class Wanted(Section):
    stretch: Stretch | None = None
    crown_mm: SmallLength = Field(default=0.0)
    tilt_deg: Angle | None = None


class Drive(Section):
    pulleys: tuple[Pulley, ...]


class Part(Section):
    name: Name
    quantity: Annotated[int, counted(1, 20)] = 1
    measured: Measured
    wanted: Wanted = Wanted()
    drive: Drive | None = None


class Free(Section):
    measured: Readings


def part(text: str, model: type[Section] = Part) -> Any:
    return validated(model, parse(text, "part.yaml"))


def problems(text: str, model: type[Section] = Part):
    with pytest.raises(SpecError) as caught:
        part(text, model)
    return caught.value.problems


SOUND = """\
name: rim
measured:
  hub_diameter: 1 1/4 in
  hub_width: 6 mm
drive:
  pulleys:
    - name: motor
      groove_diameter: 8 mm
    - name: platter
      groove_diameter: 120 ± 0.5 mm
      turns: ccw
"""


def test_yaml_keys_carry_no_unit_and_attributes_do():
    found = part(SOUND)
    assert found.measured.hub_diameter_mm == 31.75  # 1.25 * 25.4
    assert [p.groove_diameter_mm for p in found.drive.pulleys] == [8.0, 120.0]
    assert found.drive.pulleys[1].turns == "ccw"
    (problem,) = problems(SOUND.replace("hub_width:", "hub_width_mm:"))
    assert problem.field == "measured.hub_width_mm"
    assert problem.way_out == "Did you mean `hub_width`?"


@pytest.mark.parametrize(
    ("name", "key"),
    [("hub_diameter_mm", "hub_diameter"), ("against_speed_rpm", "against_speed"), ("load_torque_nmm", "load_torque"),
     ("press_force_n", "press_force"), ("medium_speed_mm_s", "medium_speed"), ("stretch", "stretch"),
     ("pin_count", "pin_count"), ("groove_angle_deg", "groove_angle"), ("turns", "turns")],
)  # fmt: skip
def test_only_a_unit_is_taken_off_a_name(name, key):
    assert without_unit_suffix(name) == key


def test_sections_cannot_be_changed():
    found = part(SOUND)
    with pytest.raises(ValueError, match="frozen"):
        found.measured.hub_width_mm = 3.0


def test_everything_wrong_is_told_at_once_in_the_order_of_the_lines():
    found = problems(
        """\
name: ../rim
quantity: 0
measured:
  hub_diameter: 12,7 mm
  hub_widht: 6 mm
  flanged: perhaps
wanted:
  stretch: 90 %
  crown: 2 N
colour: red
drive:
  pulleys:
    - name: motor
      groove_diameter: -8 mm
    - groove_diameter: 3 mm
      turns: left
"""
    )
    assert [(p.line, p.field) for p in found] == [
        (1, "name"),
        (2, "quantity"),
        (4, "measured.hub_diameter"),
        (5, "measured.hub_widht"),
        (6, "measured.flanged"),
        (8, "wanted.stretch"),
        (9, "wanted.crown"),
        (10, "colour"),
        (14, "drive.pulleys[1].groove_diameter"),
        (15, "drive.pulleys[2].name"),
        (16, "drive.pulleys[2].turns"),
    ]
    assert all(p.file == "part.yaml" and p.given and p.limit and p.way_out for p in found)


def test_a_misspelt_needed_key_is_one_problem_not_two():
    (problem,) = problems(SOUND.replace("hub_width", "hub_widht"))
    assert problem.given == "6 mm"
    assert problem.way_out == "Did you mean `hub_width`?"


def test_a_misspelt_key_beside_the_right_one_takes_nothing_from_a_missing_one():
    found = problems(SOUND.replace("  hub_diameter: 1 1/4 in\n", "  flangd: yes\n"))
    assert [(p.field, p.given) for p in found] == [("measured.hub_diameter", "missing"), ("measured.flangd", "yes")]
    assert found[1].way_out == "Did you mean `flanged`?"


def test_a_key_like_no_other_is_answered_with_all_that_are_known():
    (problem,) = problems(SOUND + "zzz: 1\n")
    assert problem.way_out == "Known here: name, quantity, measured, wanted, drive."


def test_a_misspelt_key_in_a_list_knows_the_keys_of_its_item():
    (problem,) = problems(SOUND.replace("groove_diameter: 8 mm", "groove_diametre: 8 mm"))
    assert (problem.line, problem.field) == (8, "drive.pulleys[1].groove_diametre")
    assert problem.way_out == "Did you mean `groove_diameter`?"


def test_a_missing_field_is_told_with_what_it_is_and_where_it_belongs():
    (problem,) = problems(SOUND.replace("  hub_diameter: 1 1/4 in\n", ""))
    assert (problem.line, problem.field, problem.given) == (2, "measured.hub_diameter", "missing")
    assert problem.way_out == "Add it. Across the seat; take three readings."


def test_a_missing_section_is_told_as_one_problem():
    (problem,) = problems("name: rim\n")
    assert (problem.field, problem.given) == ("measured", "missing")


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("name: rim\nmeasured: 3 mm\n", "measured"),
        ("name: rim\nmeasured: [1, 2]\n", "measured"),
        ("name: rim\nmeasured:\n", "measured"),
        (SOUND.split("drive:")[0] + "drive: {pulleys: many}\n", "drive.pulleys"),
        (SOUND.split("drive:")[0] + "drive: {pulleys: {a: 1}}\n", "drive.pulleys"),
        (SOUND.split("drive:")[0] + "drive: {pulleys: [motor]}\n", "drive.pulleys[1]"),
        (SOUND.replace("hub_width: 6 mm", "hub_width: {a: 1}"), "measured.hub_width"),
        (SOUND.replace("hub_width: 6 mm", "hub_width:\n    - [6, 6]"), "measured.hub_width"),
        (SOUND.replace("name: rim", "name: [rim]"), "name"),
    ],
)
def test_a_thing_of_the_wrong_shape_is_told_in_the_person_s_words(text, field):
    (problem,) = problems(text)
    assert problem.field == field
    said = f"{problem.limit} {problem.way_out}".lower()
    for machinery in ("pydantic", "input should", "valid dictionary", "instance", "tuple"):
        assert machinery not in said


@pytest.mark.parametrize(
    "name",
    ["", ".", "..", "../x", "a/b", "a\\b", "/etc/passwd", "C:x", "a b", "-x", ".x", "_x", "x.", "con", "NUL",
     "com1.txt", "ü", "a" * 65, "a\u202eb", "~", "$HOME"],
)  # fmt: skip
def test_a_name_that_is_no_plain_folder_s_name_is_refused(name):
    found = problems(SOUND.replace("name: rim", f"name: {name!r}", 1))
    assert [p.field for p in found] == ["name"]


@pytest.mark.parametrize("name", ["rim", "rim-2", "rim_2.b", "7", "a" * 64, "console"])
def test_a_plain_name_is_taken(name):
    assert part(SOUND.replace("name: rim", f"name: {name}", 1)).name == name


@pytest.mark.parametrize(("text", "value"), [("yes", True), ("no", False), ("True", True), ("FALSE", False)])
def test_yes_and_no_are_taken_in_any_case(text, value):
    assert part(SOUND.replace("6 mm\n", f"6 mm\n  flanged: {text}\n", 1)).measured.flanged is value


@pytest.mark.parametrize("count", ["0", "21", "1.5", "-1", "1e1", "two", "１", "", "[1]", "1000000000000"])
def test_a_count_is_a_whole_number_within_its_limits(count):
    (problem,) = problems(SOUND + f"quantity: {count}\n")
    assert problem.field == "quantity"
    assert "from 1 to 20" in problem.limit


@pytest.mark.parametrize("size", ["0.19 mm", "1001 mm", "0", "-5 mm", "1e9", "40 in"])
def test_sizes_outside_0_2_mm_to_1_m_are_refused(size):
    (problem,) = problems(SOUND.replace("6 mm", size, 1))
    assert "0.2 mm to 1000 mm" in problem.limit


@pytest.mark.parametrize("size", ["0.2 mm", "1000 mm", "1 m", "39 in"])
def test_sizes_at_the_limits_are_taken(size):
    assert part(SOUND.replace("6 mm", size, 1))


# --- readings under names of the person's own -------------------------------------------------------


def test_own_readings_are_read_like_any_length():
    found = part("measured:\n  plate_thickness: 1/8 in\n  copy: 3 mm\n", Free)
    assert dict(found.measured.model_extra) == {"plate_thickness": 3.175, "copy": 3.0}


def test_own_readings_are_checked_like_any_length():
    (problem,) = problems("measured:\n  plate_thickness: 3 N\n", Free)
    assert (problem.line, problem.field) == (2, "measured.plate_thickness")


@pytest.mark.parametrize("name", ["Plate", "plate thickness", "1st", "a-b", "x" * 41, "__class__"])
def test_own_readings_have_plain_names(name):
    (problem,) = problems(f"measured:\n  {name}: 3 mm\n", Free)
    assert "plain word" in problem.limit
