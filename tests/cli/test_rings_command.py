"""`moldgen rings`, and the rings that a sizing lists before anything is cast."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from moldgen.cli.app import app

EXAMPLES = Path(__file__).parents[2] / "part_specs"


def run(*arguments):
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def test_nearest_rings_as_json_keep_to_the_contract():
    # AS568 (from memory): -143 is 2.425 in x 0.103 in, that is 61.60 x 2.62 mm, the nearest to 62 x 2.6.
    result = run("rings", "--inside", "62", "--section", "2.6", "--json")
    assert result.exit_code == 0
    document = json.loads(result.stdout)
    assert set(document) == {"schema", "rings"}
    first = document["rings"][0]
    assert (first["standard"], first["size"]) == ("AS568", "143")
    assert first["inner_diameter_mm"] == pytest.approx(61.60, abs=0.02)
    assert first["section_mm"] == pytest.approx(2.62, abs=0.006)


@pytest.mark.parametrize("count", [1, 7])
def test_as_many_rings_as_asked_for(count):
    result = run("rings", "--inside", "62", "--count", count, "--json")
    assert len(json.loads(result.stdout)["rings"]) == count


def test_sizes_may_be_typed_in_inches():
    inches, millimetres = (
        run("rings", "--inside", inside, "--section", section, "--json").stdout
        for inside, section in (("2 1/2 in", "0.103 in"), ("63.5", "2.6162 mm"))
    )
    assert json.loads(inches) == json.loads(millimetres)


def test_people_get_a_table():
    result = run("rings", "--inside", "62", "--section", "2.6")
    assert result.exit_code == 0
    assert "AS568" in result.stdout
    assert "61.60" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--inside", "6x"), ("--inside is 6x", "not a unit of length")),
        (("--inside", "2000"), ("--inside is 2000", "1000 mm")),
        (("--inside", "62", "--section", "0"), ("--section is 0", "0.2 mm")),
        (("--inside", "62", "--section", "-2"), ("--section is -2", "0.2 mm")),
    ],
)
def test_sizes_that_cannot_be_are_refused_with_the_option_and_the_limit(arguments, words):
    result = run("rings", *arguments, "--json")
    assert result.exit_code == 2
    assert all(word in result.stderr for word in words)
    (problem,) = json.loads(result.stdout)["problems"]
    assert problem["field"] == words[0].split(" ")[0]
    assert problem["way_out"]


def test_sizing_says_first_which_ring_would_do():
    result = run("size", EXAMPLES / "loop_drive_belt.yaml")
    assert result.exit_code == 0
    assert 0 < result.stdout.index("Would do instead: round ring") < result.stdout.index("fitted")


def test_tyre_and_belt_list_rings_with_the_stretch_they_would_have():
    # A tyre's stretch is hub over bore (gland-design articles: (hardware diameter - ID)/ID); its hub is 30.00 mm.
    result = run("size", EXAMPLES / "loop_idler.yaml", EXAMPLES / "loop_drive_belt.yaml", "--json")
    tyre, belt = (one["alternatives"] for one in json.loads(result.stdout))
    assert tyre
    for ring in tyre:
        assert ring["stretch"] == pytest.approx(30.00 / ring["inner_diameter_mm"] - 1, abs=1e-4)
        assert 0.02 <= ring["stretch"] <= 0.12
    # 5 to 12 % is where bought rings run as belts (common practice, no source).
    assert belt
    assert all(0.05 <= ring["stretch"] <= 0.12 and ring["along"] == "centre_line" for ring in belt)


@pytest.mark.parametrize("change", ["mount: bonded", "fitted_width: 11 mm"])
def test_a_tyre_that_no_round_ring_replaces_lists_none(change, tmp_path):
    text = (EXAMPLES / "loop_idler.yaml").read_text(encoding="utf-8").replace("hub_width: 6.0", "hub_width: 12.0")
    key = change.split(":")[0]
    lines = [line for line in text.splitlines() if not line.strip().startswith((f"{key}:", "stretch:"))]
    spec = tmp_path / "tyre.yaml"
    place = lines.index("wanted:") + 1
    spec.write_text("\n".join([*lines[:place], f"  {change}", *lines[place:]]) + "\n", encoding="utf-8")
    result = run("size", spec, "--json")
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout)[0]["alternatives"] == []
