"""The keys that other programs rely on, of the idler tyre and of the tables."""

import hashlib
import json
import sys
from pathlib import Path

import pytest

from moldgen import cli

EXAMPLES = Path(__file__).parents[2] / "part_specs"
IDLER, CAST_ON = EXAMPLES / "loop_idler.yaml", EXAMPLES / "loop_rewind_tyre.yaml"
RING = {"inner_diameter_mm", "outer_diameter_mm", "width_mm"}


@pytest.fixture
def answer(monkeypatch, capsys):
    """Runs a command with --json; gives its exit status and the one document on standard output."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["moldgen", *map(str, arguments), "--json"])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        return ended.value.code, json.loads(capsys.readouterr().out, parse_constant=pytest.fail)

    return run


def test_size_gives_one_object_per_spec_in_their_order(answer):
    status, found = answer("size", IDLER, CAST_ON)
    assert status == 0
    assert [one["name"] for one in found] == ["loop_idler", "loop_rewind_tyre"]


@pytest.mark.parametrize("spec", [IDLER, CAST_ON], ids=["stretched", "cast on"])
def test_size_has_the_promised_keys(answer, spec):
    _, (found,) = answer("size", spec)
    assert found.keys() >= {
        "schema", "name", "family", "elastomer", "fitted", "free", "mold", "predictions", "readings", "alternatives",
        "warnings",
    }  # fmt: skip
    assert found["schema"].startswith("moldgen/size/")
    assert found["family"] == "idler_tyre"
    assert found["elastomer"].keys() >= {"id", "hardness_shore_a", "modulus_mpa", "linear_shrinkage"}
    for stage in ("fitted", "free", "mold"):
        for name, interval in found[stage].items():
            assert name.endswith(("_mm", "_mm2", "_deg"))
            assert interval["low"] <= interval["value"] <= interval["high"]
    assert found["free"].keys() >= RING
    assert found["mold"].keys() >= RING
    assert found["predictions"].keys() >= {"hub_pressure_kpa", "hub_slip_torque_nmm"}
    for prediction in found["predictions"].values():
        assert prediction["low"] <= prediction["value"] <= prediction["high"]
        assert prediction["basis"]
    for warning in found["warnings"]:
        assert warning.keys() == {"code", "text", "field"}
    shares = [reading["share"] for reading in found["readings"]]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0, abs=0.01)


def test_with_a_drive_the_nip_is_predicted(answer, tmp_path):
    spec = tmp_path / "rim.yaml"
    drive = "drive: {against_diameter: 8 mm, against_speed: 1500 rpm, press_force: 1.5 ± 0.3 N}\n"
    text = IDLER.read_text(encoding="utf-8")
    spec.write_text(text if "\ndrive:" in text else text + drive, encoding="utf-8")
    _, (found,) = answer("size", spec)
    assert found["predictions"].keys() >= {"nip_width_mm", "indentation_mm", "peak_pressure_kpa", "drive_force_n"}


def test_sizes_agree_with_a_hand_calculation_of_the_mold(answer):
    # Linear shrinkage by ASTM D2566 is mold less part over mold, so every mold length is the free one over (1 − s).
    _, (found,) = answer("size", IDLER)
    s = found["elastomer"]["linear_shrinkage"]["value"]
    for name in RING:
        assert found["mold"][name]["value"] == pytest.approx(found["free"][name]["value"] / (1.0 - s), rel=1e-6)
    # The hub's mean of 30.01, 29.99 and 30.00 at a stretch of 5 %: a bore of 30/1.05 = 28.571 mm.
    assert found["fitted"]["inner_diameter_mm"]["value"] == pytest.approx(30.0)
    assert found["free"]["inner_diameter_mm"]["value"] == pytest.approx(28.5714, abs=1e-4)
    assert found["fitted"]["outer_diameter_mm"]["value"] == 38.0


def test_strict_makes_a_warning_a_failure_and_answers_all_the_same(answer):
    status, (found,) = answer("size", CAST_ON, "--strict")
    assert found["warnings"]
    assert status == 1


def test_elastomers_have_the_promised_keys(answer):
    status, found = answer("elastomers")
    assert status == 0
    assert found.keys() == {"schema", "elastomers"}
    for one in found["elastomers"]:
        assert one.keys() >= {"id", "class", "hardness_shore_a", "modulus_mpa", "density_g_cm3", "linear_shrinkage"}
        for name in ("hardness_shore_a", "modulus_mpa", "density_g_cm3", "linear_shrinkage"):
            assert one[name].keys() == {"low", "value", "high", "source"}


def test_mix_has_the_promised_keys_and_adds_up(answer, tmp_path):
    status, found = answer(
        "mix", IDLER, CAST_ON, "--spare", "20", "--scale-step", "0.01", "--no-build", "--out", tmp_path
    )
    assert status == 0
    assert found.keys() >= {"schema", "batches", "warnings"}
    assert {name for batch in found["batches"] for name in batch["parts"]} == {"loop_idler", "loop_rewind_tyre"}
    for batch in found["batches"]:
        assert batch.keys() >= {"elastomer", "volume_mm3", "batch_g", "components", "ratio_error_percent", "parts"}
        grams = [component["grams"] for component in batch["components"]]
        assert sum(grams) == pytest.approx(batch["batch_g"], abs=1e-6)
        assert all(g == pytest.approx(round(g, 2), abs=1e-9) for g in grams)  # whole steps of the scale
        # Polyurethane weighs 1.0 to 1.1 g/cm³ (the table's range), and a fifth more than the volume is mixed.
        assert 1.2 * 1.0 <= batch["batch_g"] / (batch["volume_mm3"] / 1000.0) <= 1.25 * 1.15


def test_new_gives_the_text_as_a_document(answer):
    status, found = answer("new", "idler_tyre")
    assert status == 0
    assert "family: idler_tyre" in found["text"]


@pytest.mark.slow
def test_build_has_the_promised_keys_and_its_files_are_as_said(answer, tmp_path):
    status, (found,) = answer("build", IDLER, "--out", tmp_path / "out")
    assert status == 0
    assert found.keys() >= {"directory", "files", "volumes_mm3", "mix", "inspection", "seconds", "free", "predictions"}
    folder = Path(found["directory"])
    assert folder == tmp_path / "out" / "loop_idler"
    for entry in found["files"]:
        assert entry.keys() == {"role", "format", "path", "bytes", "sha256"}
        data = (folder / entry["path"]).read_bytes()
        assert (len(data), hashlib.sha256(data).hexdigest()) == (entry["bytes"], entry["sha256"])
    formats = {}
    for entry in found["files"]:
        formats.setdefault(entry["role"], set()).add(entry["format"])
    assert formats["part"] == {"step", "stl"}
    for role in ("mold_lower", "mold_upper"):
        assert formats[role] == {"step", "stl", "3mf"}
    assert "step" in formats["assembly"]
    volumes = found["volumes_mm3"]
    assert volumes.keys() >= {"part_free", "cavity", "runners", "pour"}
    assert volumes["pour"] == pytest.approx(found["cavities"] * volumes["cavity"] + volumes["runners"], abs=0.01)
    mix = found["mix"]
    assert mix.keys() >= {"batch_g", "components", "ratio_error_percent"}
    assert sum(component["grams"] for component in mix["components"]) == pytest.approx(mix["batch_g"], abs=1e-6)
    assert found["inspection"]["passed"] is True
    for finding in found["inspection"]["findings"]:
        assert finding.keys() == {"proof", "passed", "value", "limit", "where", "text"}
