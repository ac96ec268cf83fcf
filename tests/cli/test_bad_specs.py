"""Bad specs through the real command line: exit 2, a message that says what to do, and nothing written."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from moldgen import cli

SOUND = """\
family: idler_tyre
name: rim
elastomer: pu_60a
measured:
  hub_diameter: 30.00 ± 0.03 mm
  hub_width: 6.0 ± 0.05 mm
wanted:
  fitted_diameter: 38.0 ± 0.1 mm
  fitted_width: 5.0 mm
  stretch: 5 %
"""


def spoiled(old, new):
    assert SOUND.count(old) == 1
    return SOUND.replace(old, new)


# name: (spec, line, field, value as typed, words of the limit, words of the way out)
BAD = {
    "missing field": (
        spoiled("  hub_width: 6.0 ± 0.05 mm\n", ""), 4, "measured.hub_width", "missing", "needed", "Add it.",
    ),
    "misspelt key": (
        spoiled("hub_width:", "hub_widht:"), 6, "measured.hub_widht", "6.0 ± 0.05 mm", "no field of this name",
        "Did you mean `hub_width`?",
    ),
    "wrong unit": (
        spoiled("6.0 ± 0.05 mm", "6.0 N"), 6, "measured.hub_width", "6.0 N", "'N' is not a unit of length", "mm, cm",
    ),
    "negative": (spoiled("6.0 ± 0.05 mm", "-6 mm"), 6, "measured.hub_width", "-6 mm", "0.2 mm to 1000 mm", "Check"),
    "not a number": (spoiled("6.0 ± 0.05 mm", ".nan"), 6, "measured.hub_width", ".nan", "not a length", "Write it"),
    "infinite": (spoiled("6.0 ± 0.05 mm", ".inf"), 6, "measured.hub_width", ".inf", "not a length", "Write it"),
    "decimal comma": (spoiled("5.0 mm", "5,0 mm"), 9, "wanted.fitted_width", "5,0 mm", "comma", "5.0 mm"),
    "hub larger than tyre": (
        spoiled("38.0 ± 0.1 mm", "28.0 mm"), 8, "wanted.fitted_diameter", "28.0 mm", "30.00 mm", "Check both readings",
    ),
    "stretch beyond the elastomer": (
        spoiled("5 %", "22 %"), 10, "wanted.stretch", "22 %", "holds at most", "`mount: bonded`",
    ),
    "wall thinner than it can be cast": (
        spoiled("38.0 ± 0.1 mm", "31.0 mm"), 8, "wanted.fitted_diameter", "31.0 mm", "not cast thinner than",
        "standard ring",
    ),
    "reading too unsure": (
        spoiled("38.0 ± 0.1 mm", "38.0 ± 20 mm"), 8, "wanted.fitted_diameter", "38.0 ± 20 mm", "so uncertain",
        "Measure it again.",
    ),
    "bed too small": (
        SOUND + "printer: {bed_x: 30 mm, bed_y: 30 mm}\n", 11, "printer.bed_x", "30 mm", "the mold needs",
        "bed of at least",
    ),
    "more cavities than the bed holds": (
        SOUND + "mold: {cavities: 64}\n", 11, "mold.cavities", "64", "holds", "or fewer",
    ),
    "unknown elastomer": (
        spoiled("pu_60a", "pu_61a"), 3, "elastomer", "pu_61a", "no elastomer of this id", "Did you mean `pu_60a`",
    ),
    "unknown family": (
        spoiled("idler_tyre", "idle_tyre"), 1, "family", "idle_tyre", "no family of this name", "`idler_tyre`",
    ),
    "unknown printer": (SOUND + "printer: resin\n", 11, "printer", "resin", "no printer of this kind", "photopolymer"),
    "path in name": (
        spoiled("name: rim", "name: ../../rim"), 2, "name", "../../rim", "becomes a folder's name", "letters, digits",
    ),
    "key given twice": (
        SOUND + "name: rim2\n", 11, "name", "given twice", "line 2", "Keep one",
    ),
    "choice that is none": (
        SOUND + "mold: {fill: pore}\n", 11, "mold.fill", "pore", "not one of the choices", "`syringe`",
    ),
    "not YAML at all": ("%PDF-1.4\n%\u00e2\u00e3\n1 0 obj <<\n", 1, "the file", "not YAML", "", "moldgen new"),
    "a letter": ("Dear museum,\nthe tyre is 38 mm.\n", 1, "the file", "not a list", "sections such as", "moldgen new"),
    "empty": ("", 1, "the file", "not a list", "sections such as", "moldgen new"),
    "binary": ("GIF89a\x00\x01", 1, "the file", "a control character", "plain text", "Delete it."),
}  # fmt: skip
EACH_BAD = pytest.mark.parametrize(("spec", "line", "field", "value", "limit", "way_out"), BAD.values(), ids=BAD.keys())


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder to work in, with an earlier build in out/ that must stay as it is."""
    monkeypatch.chdir(tmp_path)
    earlier = tmp_path / "out" / "rim"
    earlier.mkdir(parents=True)
    (earlier / "job.json").write_text("{}", encoding="utf-8")
    return tmp_path


def everything_in(folder):
    return sorted((path.relative_to(folder).as_posix(), path.stat().st_mtime_ns) for path in folder.rglob("*"))


def run(monkeypatch, capsys, *arguments):
    """Exit status, standard output and standard error of the command, run as the shell runs it."""
    monkeypatch.setattr(sys, "argv", ["moldgen", *arguments])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    said = capsys.readouterr()
    return ended.value.code, said.out, said.err


@EACH_BAD
def test_build_refuses_with_file_line_field_value_limit_and_way_out(
    bench, monkeypatch, capsys, spec, line, field, value, limit, way_out
):
    (bench / "rim.yaml").write_text(spec, encoding="utf-8")
    before = everything_in(bench)
    status, out, err = run(monkeypatch, capsys, "build", "rim.yaml", "--out", "out")
    assert (status, out) == (2, "")
    assert err.startswith(f"rim.yaml:{line}: {field} is {value}")
    assert limit in err
    assert way_out in err
    assert "Traceback" not in err
    assert everything_in(bench) == before


@EACH_BAD
def test_json_is_one_document_with_the_same_problem(
    bench, monkeypatch, capsys, spec, line, field, value, limit, way_out
):
    (bench / "rim.yaml").write_text(spec, encoding="utf-8")
    before = everything_in(bench)
    status, out, err = run(monkeypatch, capsys, "build", "rim.yaml", "--json")
    document = json.loads(out)
    assert status == 2
    assert document["schema"] == "moldgen/problems/1"
    first = document["problems"][0]
    assert set(first) == {"file", "line", "field", "given", "limit", "way_out"}
    assert (first["file"], first["line"], first["field"]) == ("rim.yaml", line, field)
    assert first["given"].startswith(value)
    assert limit in first["limit"]
    assert way_out in first["way_out"]
    assert len(err.splitlines()) == len(document["problems"])
    assert everything_in(bench) == before


def test_a_shell_gets_the_same(tmp_path):
    (tmp_path / "rim.yaml").write_text(spoiled("5 %", "22 %"), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", "from moldgen.cli import main; main()", "build", "rim.yaml"],
        cwd=tmp_path,
        check=False,
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("rim.yaml:10: wanted.stretch is 22 %; ")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["rim.yaml"]


@pytest.mark.parametrize("command", ["size", "mix"])
def test_the_other_commands_refuse_alike(bench, monkeypatch, capsys, command):
    (bench / "rim.yaml").write_text(spoiled("pu_60a", "pu_61a"), encoding="utf-8")
    status, out, err = run(monkeypatch, capsys, command, "rim.yaml")
    assert (status, out) == (2, "")
    assert err.startswith("rim.yaml:3: elastomer is pu_61a; ")


def test_everything_wrong_in_two_specs_is_told_at_once(bench, monkeypatch, capsys):
    (bench / "a.yaml").write_text(spoiled("pu_60a", "pu_61a").replace("6.0 ±", "6.0 mm ±"), encoding="utf-8")
    (bench / "b.yaml").write_text(spoiled("5 %", "22 %").replace("rim", "rim2"), encoding="utf-8")
    status, _, err = run(monkeypatch, capsys, "build", "a.yaml", "none.yaml", "b.yaml")
    assert status == 2
    assert [line.split(": ")[0] for line in err.splitlines()] == ["a.yaml:3", "none.yaml", "b.yaml:10"]


def test_a_sound_spec_beside_a_bad_one_is_not_built_either(bench, monkeypatch, capsys):
    (bench / "a.yaml").write_text(SOUND, encoding="utf-8")
    (bench / "b.yaml").write_text(SOUND.replace("rim", "rim2") + "printer: {bed_x: 30 mm}\n", encoding="utf-8")
    before = everything_in(bench)
    status, _, err = run(monkeypatch, capsys, "build", "a.yaml", "b.yaml")
    assert status == 2
    assert err.startswith("b.yaml:11: printer.bed_x is 30 mm")
    assert everything_in(bench) == before


def test_two_specs_of_one_name_are_refused_because_they_would_share_a_folder(bench, monkeypatch, capsys):
    (bench / "a.yaml").write_text(SOUND, encoding="utf-8")
    (bench / "b.yaml").write_text(SOUND.replace("rim", "RIM"), encoding="utf-8")
    status, _, err = run(monkeypatch, capsys, "size", "a.yaml", "b.yaml")
    assert status == 2
    assert err.startswith("b.yaml:2: name is RIM; a.yaml has this name already")


@pytest.mark.parametrize(
    "arguments",
    [("build",), ("build", "rim.yaml", "--nonsense"), ("melt",), ("mix", "rim.yaml", "--spare", "much")],
)
def test_a_wrong_command_or_option_is_exit_2_with_a_word_of_help(bench, monkeypatch, capsys, arguments):
    status, out, err = run(monkeypatch, capsys, *arguments)
    assert (status, out) == (2, "")
    assert "--help" in err


@pytest.mark.parametrize(("spare", "step"), [("-5", "0.1"), ("nan", "0.1"), ("15", "0"), ("15", "-1"), ("inf", "0.1")])
def test_a_spare_or_scale_that_cannot_be_is_refused(bench, monkeypatch, capsys, spare, step):
    (bench / "rim.yaml").write_text(SOUND, encoding="utf-8")
    status, out, err = run(monkeypatch, capsys, "mix", "rim.yaml", "--spare", spare, "--scale-step", step)
    assert (status, out) == (2, "")
    assert err


@pytest.mark.slow
def test_an_out_folder_that_cannot_be_written_is_told(bench, monkeypatch, capsys):
    (bench / "rim.yaml").write_text(SOUND, encoding="utf-8")
    (bench / "in_the_way").write_text("a file", encoding="utf-8")
    status, out, err = run(monkeypatch, capsys, "build", "rim.yaml", "--out", "in_the_way")
    assert (status, out) == (2, "")
    assert err.startswith("in_the_way/rim: ")
    assert "--out" in err
    assert (bench / "in_the_way").read_text(encoding="utf-8") == "a file"


def test_an_interrupt_is_exit_130_and_said(bench, monkeypatch, capsys):
    from moldgen.cli import size

    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(size, "run", interrupted)
    status, out, err = run(monkeypatch, capsys, "size", "rim.yaml")
    assert (status, out) == (130, "")
    assert "half-written" in err


def test_a_terminal_without_the_letters_gets_an_answer_all_the_same(tmp_path):
    (tmp_path / "rim.yaml").write_text(SOUND, encoding="utf-8")
    for arguments in (("size", "rim.yaml"), ("size", "rim.yaml", "--json"), ("elastomers",)):
        done = subprocess.run(
            [sys.executable, "-c", "from moldgen.cli import main; main()", *arguments],
            cwd=tmp_path,
            check=False,
            capture_output=True,
            encoding="ascii",
            env={**os.environ, "PYTHONIOENCODING": "ascii"},
        )
        assert (done.returncode, done.stderr) == (0, "")
        if "--json" in arguments:
            assert "± 0.1 mm" in str(json.loads(done.stdout))


def test_new_never_overwrites_and_refuses_unknown_families(bench, monkeypatch, capsys):
    status, out, _ = run(monkeypatch, capsys, "new", "idler_tyre", "--to", "mine.yaml")
    assert status == 0
    assert "moldgen size mine.yaml" in out
    Path("mine.yaml").write_text("kept", encoding="utf-8")
    status, out, err = run(monkeypatch, capsys, "new", "idler_tyre", "--to", "mine.yaml")
    assert (status, out) == (2, "")
    assert "exists already" in err
    assert Path("mine.yaml").read_text(encoding="utf-8") == "kept"
    status, out, err = run(monkeypatch, capsys, "new", "idle_tire", "--json")
    assert status == 2
    assert "`idler_tyre`" in json.loads(out)["problems"][0]["limit"]
    assert "`idler_tyre`" in err
