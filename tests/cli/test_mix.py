"""`moldgen mix`: current builds are used, others are built or planned, and the table can be followed."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from moldgen import cli

EXAMPLES = Path(__file__).parents[2] / "part_specs"
IDLER, CAST_ON, WASHER = (EXAMPLES / f"loop_{name}.yaml" for name in ("idler", "rewind_tyre", "washer"))


@pytest.fixture
def run(monkeypatch, capsys):
    """Runs `moldgen mix`; gives its exit status and what it wrote."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["moldgen", "mix", *map(str, arguments)])
        monkeypatch.setenv("COLUMNS", "100")
        with pytest.raises(SystemExit) as ended:
            cli.main()
        return ended.value.code, capsys.readouterr()

    return run


def volumes_from(text):
    return {part["name"]: part["volume_from"] for part in json.loads(text)["parts"]}


def test_without_building_the_plan_is_used_and_no_kernel_loaded(tmp_path):
    probe = (
        "import sys; from moldgen.cli import main\n"
        f"sys.argv = ['moldgen', 'mix', {str(IDLER)!r}, '--no-build', '--json']\n"
        "try:\n    main()\nexcept SystemExit as ended:\n    status = ended.code\n"
        "print(status, sorted({'OCP', 'cadquery', 'trimesh', 'scipy'} & set(sys.modules)), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", probe], cwd=tmp_path, capture_output=True, encoding="utf-8", env=os.environ, check=True
    )
    assert done.stderr.splitlines()[-1] == "0 []"
    assert volumes_from(done.stdout) == {"loop_idler": "plan"}
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_what_is_not_current_is_built_and_then_is_current(run, tmp_path):
    spec, out = tmp_path / "idler.yaml", tmp_path / "out"
    spec.write_bytes(IDLER.read_bytes())
    options = ("--out", out, "--json")
    status, first = run(spec, *options, "--no-build")
    planned_mm3 = json.loads(first.out)["parts"][0]["volume_mm3"]
    assert (status, volumes_from(first.out)) == (0, {"loop_idler": "plan"})

    status, built = run(spec, *options)
    assert (status, volumes_from(built.out)) == (0, {"loop_idler": "built now"})
    job = json.loads((out / "loop_idler" / "job.json").read_text(encoding="utf-8"))
    # The closed form of the plan and the kernel's bodies agree to 1e-6, as the build itself proves.
    assert json.loads(built.out)["parts"][0]["volume_mm3"] == pytest.approx(job["volumes_mm3"]["pour"], abs=0.001)
    assert job["volumes_mm3"]["pour"] == pytest.approx(planned_mm3, rel=1e-6)
    before = (out / "loop_idler" / "job.json").stat().st_mtime_ns

    status, again = run(spec, *options)
    assert (status, volumes_from(again.out)) == (0, {"loop_idler": "build"})
    assert (out / "loop_idler" / "job.json").stat().st_mtime_ns == before
    assert json.loads(again.out)["batches"] == json.loads(built.out)["batches"]

    spec.write_text(
        spec.read_text(encoding="utf-8").replace("fitted_width: 5.0", "fitted_width: 4.9"), encoding="utf-8"
    )
    _, changed = run(spec, *options, "--no-build")
    assert volumes_from(changed.out) == {"loop_idler": "plan"}
    assert json.loads(changed.out)["parts"][0]["volume_mm3"] < planned_mm3


def test_one_table_for_each_cup_with_grams_that_add_up_line_by_line(run, tmp_path):
    status, said = run(IDLER, CAST_ON, "--no-build", "--out", tmp_path, "--scale-step", "0.01")
    assert status == 0
    assert said.out.count("weigh in, g") == 2  # two elastomers
    lines = re.findall(r"^ ?\d   (.+?) +(\d+\.\d\d) +(\d+\.\d\d) *$", said.out, flags=re.MULTILINE)
    assert [name for name, _, _ in lines] == ["A (isocyanate)", "B (polyol)"] * 2
    for (_, first, shows), (_, second, both) in zip(lines[::2], lines[1::2], strict=True):
        assert shows == first
        assert float(both) == pytest.approx(float(first) + float(second), abs=1e-9)
    assert "Zero the scale before each line" in said.out


def test_a_cup_too_small_to_weigh_shows_the_sound_one_and_what_a_finer_scale_would_do(run, tmp_path):
    _, said = run(IDLER, "--no-build", "--out", tmp_path)
    text = " ".join(said.out.split())
    assert "Do not mix less: on a 0.1 g scale" in text
    assert re.search(r"On a 0\.0\d+ g scale [0-9.]+ g A \(isocyanate\) \+ [0-9.]+ g B \(polyol\) would do", text)
    found = json.loads(run(IDLER, "--no-build", "--out", tmp_path, "--json")[1].out)
    (batch,) = found["batches"]
    assert batch["sound"] is False
    assert batch["sound_mix"]["sound"] is True
    assert "10.4" in text
    assert batch["sound_mix"]["batch_g"] == 10.4


def test_times_are_told_in_the_order_of_the_work(run, tmp_path):
    _, said = run(IDLER, "--no-build", "--out", tmp_path)
    order = [said.out.index(words) for words in ("0:00", "The parts meet", "Fill loop_idler", "It sets", "Open")]
    assert order == sorted(order)


def test_several_fillings_are_weighed_once_and_told_each(run, tmp_path):
    spec = tmp_path / "washer.yaml"
    text = WASHER.read_text(encoding="utf-8") + "\nmold:\n  cavities: 1\n"
    spec.write_text(text, encoding="utf-8")
    status, said = run(spec, "--no-build", "--out", tmp_path / "out")
    assert status == 0
    assert said.out.count("weigh in, g") == 1
    assert "filling 2: as cup 1" in said.out
    assert "filling 3: as cup 1" in said.out
    found = json.loads(run(spec, "--no-build", "--out", tmp_path / "out", "--json")[1].out)
    assert (found["parts"][0]["fillings"], len(found["batches"])) == (3, 3)


@pytest.mark.parametrize("option", [("--scale-step", "0"), ("--spare", "-1"), ("--scale-step", "50")])
def test_options_out_of_range_are_refused(run, tmp_path, option):
    status, said = run(IDLER, "--no-build", "--out", tmp_path, *option)
    assert status == 2
    assert option[0] in said.err


def test_a_bad_spec_is_refused_before_anything_is_built(run, tmp_path):
    bad = tmp_path / "bad.yaml"
    bad.write_text("family: idler_tyre\n", encoding="utf-8")
    status, said = run(IDLER, bad, "--out", tmp_path / "out")
    assert status == 2
    assert "bad.yaml" in said.err
    assert not (tmp_path / "out").exists()
