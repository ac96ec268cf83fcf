"""`moldgen refine` from the command line."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from moldgen.cli.app import app
from moldgen.cli.exits import DONE, UNUSABLE

EXAMPLES = Path(__file__).parents[2] / "part_specs"
SPEC = EXAMPLES / "loop_idler.yaml"
CASTINGS = EXAMPLES / "castings" / "loop_idler.csv"


def run(*arguments):
    return CliRunner().invoke(app, ["refine", *(str(argument) for argument in arguments)])


@pytest.fixture
def nowhere(tmp_path):
    return tmp_path / "no_builds"


def test_json_keeps_to_the_contract(nowhere):
    result = run(SPEC, "--castings", CASTINGS, "--out", nowhere, "--json")
    assert result.exit_code == DONE
    document = json.loads(result.stdout)
    for name in ("linear_shrinkage", "print_scale", "print_offset_mm"):
        figure = document[name]
        assert figure["low"] <= figure["value"] <= figure["high"]
        assert isinstance(figure["known"], bool)
    assert isinstance(document["significant"], bool)
    assert document["outliers"] == []
    assert document["written"] == []


def test_without_json_a_person_reads_what_was_found(nowhere):
    result = run(SPEC, "--castings", CASTINGS, "--out", nowhere)
    assert result.exit_code == DONE
    for words in ("shrinkage", "printer's scale", "walls stand proud by", "Nothing was written"):
        assert words in result.stdout


def test_writing_changes_the_file_and_says_so(tmp_path, nowhere):
    spec = tmp_path / "tyre.yaml"
    spec.write_bytes(SPEC.read_bytes())
    document = json.loads(run(spec, "--castings", CASTINGS, "--out", nowhere, "--write", "--json").stdout)
    assert document["written"] == [spec.as_posix()]
    text = spec.read_text(encoding="utf-8")
    for change in document["changes"]:
        assert change["after"] in text


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("of,dimension,reading\nmold,outer_diametre,36.8\n", ":2: castings[1].dimension is outer_diametre"),
        ("of,dimension,reading\nmold,outer_diameter,3680\n", ":2: castings[1].reading is 3680"),
    ],
)
def test_unusable_table_ends_with_two_and_names_the_line(tmp_path, nowhere, table, words):
    file = tmp_path / "castings.csv"
    file.write_text(table, encoding="utf-8")
    result = run(SPEC, "--castings", file, "--out", nowhere, "--json")
    assert result.exit_code == UNUSABLE
    assert words in result.stderr
    (problem,) = json.loads(result.stdout)["problems"]
    assert problem["file"] == file.as_posix()
    assert problem["line"] == 2


def test_missing_files_end_with_two_and_no_traceback(tmp_path, nowhere):
    for spec, castings in ((tmp_path / "no.yaml", CASTINGS), (SPEC, tmp_path / "no.csv")):
        result = run(spec, "--castings", castings, "--out", nowhere)
        assert result.exit_code == UNUSABLE
        assert "no." in result.stderr
