"""Reading YAML defensively: lines, and everything that a spec has no need of."""

from pathlib import Path

import pytest

from moldgen.errors import OutputError, SpecError
from moldgen.spec.document import parse, read, spelled

SOUND = """\
# a comment
family: idler_tyre
name: rim            # and another

measured:
  hub_diameter: [30.01, 29.99, 30.00 ± 0.03 mm]
  hub_width: 6.0 ± 0.05 mm
drive:
  pulleys:
    - name: motor
      center: [0, 0]
    - name: platter
      turns: cw
"""


def problems(text):
    with pytest.raises(SpecError) as caught:
        parse(text, "part.yaml")
    return caught.value.problems


def only_problem(text):
    (problem,) = problems(text)
    return problem


# --- what it says and where -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "line"),
    [
        (("family",), 2),
        (("name",), 3),
        (("measured",), 5),
        (("measured", "hub_diameter"), 6),
        (("measured", "hub_diameter", 2), 6),
        (("measured", "hub_width"), 7),
        (("drive", "pulleys", 0), 10),
        (("drive", "pulleys", 0, "center"), 11),
        (("drive", "pulleys", 1, "turns"), 13),
    ],
)
def test_every_key_and_item_knows_its_line(place, line):
    assert parse(SOUND, "part.yaml").line(place) == line


def test_a_field_that_is_missing_stands_at_the_nearest_section_around_it():
    document = parse(SOUND, "part.yaml")
    assert document.line(("measured", "flanged")) == 5
    assert document.line(("drive", "pulleys", 1, "center", 0)) == 12
    assert document.line(("wanted",)) == 1


def test_lines_count_the_same_with_other_line_ends(tmp_path):
    path = tmp_path / "part.yaml"
    path.write_bytes(SOUND.replace("\n", "\r\n").encode("utf-8-sig"))  # as one system's editors save it
    assert read(path).line(("measured", "hub_width")) == 7


def test_numbers_stay_as_they_were_typed():
    data = parse("a: 0.10\nb: 1/2 in\nc: 007\nd: 1e3\ne: yes\nf: 12:30:00\ng: 2024-01-02\nh: .nan\ni: 0x10\n", "f").data
    assert data == {"a": "0.10", "b": "1/2 in", "c": "007", "d": "1e3", "e": "yes", "f": "12:30:00", "g": "2024-01-02",
                    "h": ".nan", "i": "0x10"}  # fmt: skip


def test_an_empty_field_is_none_and_an_empty_text_is_a_text():
    assert parse("a:\nb: ~\nc: null\nd: ''\ne: '~'\n", "f").data == {"a": None, "b": None, "c": None, "d": "", "e": "~"}


@pytest.mark.parametrize(
    ("place", "text"),
    [
        (("drive", "pulleys", 1, "turns"), "drive.pulleys[2].turns"),
        (("measured",), "measured"),
        ((), ""),
        (("wanted", "profile", 0, 1), "wanted.profile[1][2]"),
    ],
)
def test_places_are_spelled_as_people_count(place, text):
    assert spelled(place) == text


def test_what_was_given_is_shown_as_typed_and_cut_short_where_it_is_long():
    document = parse(SOUND + f"long: {'x' * 200}\n", "part.yaml")
    assert document.given(("measured", "hub_width")) == "6.0 ± 0.05 mm"
    assert document.given(("measured", "hub_diameter")) == "[30.01, 29.99, 30.00 ± 0.03 mm]"
    assert document.given(("wanted", "stretch")) == "missing"
    assert len(document.given(("long",))) == 60


# --- what a spec has no need of ---------------------------------------------------------------------


def test_a_key_given_twice_is_told_with_both_lines():
    problem = only_problem("measured:\n  hub_width: 6 mm\n  hub_diameter: 30 mm\n  hub_width: 7 mm\n")
    assert (problem.line, problem.field) == (4, "measured.hub_width")
    assert "line 2" in problem.limit


def test_every_key_given_twice_is_told_at_once():
    assert [p.line for p in problems("a: 1\na: 2\nb:\n  c: 1\n  c: 2\n")] == [2, 5]


def test_the_same_key_in_two_sections_is_no_duplicate():
    assert parse("a:\n  x: 1\nb:\n  x: 2\nc:\n  - x: 1\n  - x: 2\n", "f").data["b"] == {"x": "2"}


BILLION = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{b}: &{b} [{', '.join([f'*{a}'] * 9)}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize(
    ("text", "line", "word"),
    [
        (BILLION, 1, "anchor"),
        ("a: 1\nb: *a\n", 2, "alias"),
        ("a: &x 1\n", 1, "anchor"),
        ("a: 1\nb: !!python/object/apply:os.system ['true']\n", 2, "tag"),
        ("a: !!int 3\n", 1, "tag"),
        ("a: !local 3\n", 1, "tag"),
        ("a: 1\n---\nb: 2\n", 2, "second document"),
        ("? [a, b]\n: 1\n", 1, "key"),
        ("? {a: b}\n: 1\n", 1, "key"),
        ("'': 1\n", 1, "key"),
        ("a: " + "[" * 13 + "]" * 13 + "\n", 1, "nested"),
        ("a:\n" + "".join("  " * i + "- \n" for i in range(1, 4)) + "b: \x07\n", 5, "control character"),
        ("a: 1\nb: a\x00b\n", 2, "control character"),
        ("a: 1\nb: \x1b[31mred\n", 2, "control character"),
        ("a: 1\nb: \x85c\n", 2, "control character"),
        ("a: 1\nb: x\x0cy\n", 2, "control character"),
        ("a: 1\nb: x\x1ey\n", 2, "control character"),
    ],
)
def test_what_does_harm_or_loses_values_is_refused_with_its_line(text, line, word):
    problem = only_problem(text)
    assert word in f"{problem.given} {problem.limit}"
    assert problem.line == line
    assert problem.way_out


@pytest.mark.parametrize(
    "text", ["a: " + "[" * 100_000, "[" * 5000 + "]" * 5000, "{a: " * 3000, "- " * 20_000, "? " * 9000]
)
def test_nesting_without_end_is_refused_and_exhausts_nothing(text):
    assert problems(text)


def test_deep_but_sensible_nesting_is_read():
    assert parse("a: " + "[" * 10 + "]" * 10 + "\n", "f").data["a"] is not None


@pytest.mark.parametrize(
    ("text", "line"),
    [("a: [1, 2\nb: 3\n", 2), ("a: 1\n\tb: 2\n", 2), ("a: 'x\n", 2), ("a: b: c\n", 1), ("%PDF-1.4\n", 1),
     ("a: @x\n", 1)],
)  # fmt: skip
def test_what_is_not_yaml_is_told_with_its_line_and_a_way_out(text, line):
    problem = only_problem(text)
    assert (problem.field, problem.given) == ("the file", "not YAML")
    assert abs(problem.line - line) <= 1  # where the reader noticed, which may be a line later
    assert "moldgen new" in problem.way_out


@pytest.mark.parametrize("text", ["", "# nothing\n", "just words\n", "- a\n- b\n", "42\n", "---\n", "null\n"])
def test_what_is_yaml_but_not_sections_is_refused(text):
    assert "key: value" in only_problem(text).given


# --- files -----------------------------------------------------------------------------------------


def test_a_file_over_a_megabyte_is_refused_unread(tmp_path):
    path = tmp_path / "large.yaml"
    path.write_bytes(b"a: 1\n# " + b"x" * 1_000_000)
    with pytest.raises(SpecError, match="1 MB"):
        read(path)
    path.write_bytes(b"a: 1\n#" + b"x" * 999_000 + b"\n")
    assert read(path).data == {"a": "1"}


@pytest.mark.parametrize(
    ("raw", "line"),
    [(b"a: 1\nb: 30 \xb1 0.1 mm\n", 2), ("a: 1\n".encode("utf-16"), 1), (b"\x89PNG\r\n\x1a\n\x00\x00", 1)],
)  # fmt: skip
def test_a_file_that_is_not_utf_8_is_refused_with_its_line(tmp_path, raw, line):
    path = tmp_path / "latin.yaml"
    path.write_bytes(raw)
    with pytest.raises(SpecError, match="UTF-8") as caught:
        read(path)
    assert caught.value.problems[0].line == line


def test_a_file_that_is_not_there_is_an_error_of_its_own(tmp_path):
    with pytest.raises(OutputError, match=r"no such file.*moldgen new"):
        read(tmp_path / "none.yaml")
    with pytest.raises(OutputError, match="no such file"):
        read(tmp_path)


def test_messages_name_the_file_as_it_was_given(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "p.yaml").write_text("a: *b\n", encoding="utf-8")
    with pytest.raises(SpecError) as caught:
        read(Path("p.yaml"))
    assert str(caught.value).startswith("p.yaml:1: ")
