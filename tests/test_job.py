"""The whole job on the harbour museum's two tyres: proofs, volumes by separate routes, repeated bytes, interrupts."""

import hashlib
import json
import math
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import trimesh

from moldgen import case, job, sizing
from moldgen.mold.bodies import carry_out
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed
from moldgen.planning import planned

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[1] / "part_specs"
STRETCHED, CAST_ON = EXAMPLES / "loop_idler.yaml", EXAMPLES / "loop_rewind_tyre.yaml"


def sized(spec):
    return sizing.size(case.load(spec))


@pytest.fixture(scope="module", params=[STRETCHED, CAST_ON], ids=["stretched", "cast on"])
def built(request, tmp_path_factory):
    """Both tyres, built once."""
    return job.build(sized(request.param), tmp_path_factory.mktemp("out"))


@pytest.fixture(scope="module")
def stretched(tmp_path_factory):
    return job.build(sized(STRETCHED), tmp_path_factory.mktemp("stretched"))


def digests(folder):
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


# --- proofs and files ------------------------------------------------------------------------------


def test_every_proof_holds(built):
    assert [finding.text for finding in built.findings if not finding.passed] == []
    assert built.passed
    assert {finding.proof for finding in built.findings} >= {
        "closed_solid", "watertight", "read_back_stl", "read_back_3mf", "balance_kernel", "balance_mesh", "no_overlap",
        "cavity_volume", "poured_volume", "openings_open", "reached", "air_pockets",
    }  # fmt: skip


def test_every_printed_body_and_the_part_are_there_and_read_back_closed(built):
    files = {(record.role, record.format) for record in built.files}
    assert files >= {("part", "step"), ("part", "stl"), ("assembly", "step")}
    for role in ("mold_lower", "mold_upper"):
        assert files >= {(role, "step"), (role, "stl"), (role, "3mf")}
    there = {path.name for path in built.directory.iterdir()}
    assert there == {record.path for record in built.files} | {"job.json", "history.yaml"}
    for record in built.files:
        if record.format == "stl":
            assert trimesh.load_mesh(built.directory / record.path).is_watertight, record.path


def test_the_record_is_what_the_command_answers(built):
    on_disk = json.loads((built.directory / "job.json").read_text(encoding="utf-8"))
    answered = json.loads(json.dumps(built.as_json()))
    assert answered.pop("directory") == built.directory.as_posix()
    assert answered.pop("seconds").keys() == built.seconds.keys()
    assert answered == on_disk


def test_pieces_print_on_the_bed(built):
    for record in built.files:
        if record.format == "stl":
            low, high = trimesh.load_mesh(built.directory / record.path).bounds
            assert low[2] == pytest.approx(0.0, abs=1e-4)
            assert low[:2] == pytest.approx(-high[:2], abs=1e-4)


# --- volumes ---------------------------------------------------------------------------------------


def ring_mm3(size):
    """Hollow cylinder less the spandrels of two round edges: (1 − pi/4) r² each, its centroid
    r (10 − 3 pi)/(12 − 3 pi) from the corner, turned once round (Pappus)."""
    outer, inner, width, r = (
        size[name].value for name in ("outer_diameter_mm", "inner_diameter_mm", "width_mm", "edge_mm")
    )
    away = 0.5 * outer - r * (10.0 - 3.0 * math.pi) / (12.0 - 3.0 * math.pi)
    return math.pi / 4.0 * (outer**2 - inner**2) * width - 2.0 * (1.0 - math.pi / 4.0) * r * r * math.tau * away


def test_the_free_ring_s_volume_is_the_fitted_one_s(stretched):
    # Rubber keeps its volume when it is stretched.
    assert ring_mm3(stretched.sizing.free) == pytest.approx(ring_mm3(stretched.sizing.fitted), rel=1e-3)


def test_the_cavity_is_the_free_part_over_one_less_the_shrinkage_cubed_by_the_kernel(stretched):
    s = stretched.sizing.case.elastomer.linear_shrinkage.value
    wanted = ring_mm3(stretched.sizing.free) / (1.0 - s) ** 3
    (cavity,) = carry_out(planned(stretched.sizing)).cavities
    assert kernel.volume_mm3(cavity) == pytest.approx(wanted, rel=1e-3)
    assert trimesh.Trimesh(*_arrays(meshed(cavity))).volume == pytest.approx(wanted, rel=1e-3)
    assert stretched.as_json()["volumes_mm3"]["cavity"] == pytest.approx(wanted, rel=1e-3)


def _arrays(mesh):
    return mesh.points, mesh.triangles


def test_the_printed_lower_half_leaves_that_cavity_under_its_lid(stretched):
    # From the file alone: what a disc over the ring, as deep as the cavity, does not share with the half. The bodies'
    # facets make round things up to 0.04 % small, outside and core alike.
    s = stretched.sizing.case.elastomer.linear_shrinkage.value
    wanted = ring_mm3(stretched.sizing.free) / (1.0 - s) ** 3
    plan = stretched.plan
    lower = trimesh.load_mesh(stretched.directory / "mold_lower.stl")
    radius = plan.cavity.footprint.bounds[2] + 1.5
    disc = trimesh.creation.cylinder(radius=radius, height=plan.cavity.below_mm, sections=720)
    disc.apply_translation((0.0, 0.0, plan.block.lower_mm - 0.5 * plan.cavity.below_mm))
    left = trimesh.boolean.difference([disc, lower], engine="manifold")
    assert left.volume == pytest.approx(wanted, rel=1e-3)


def test_the_part_s_file_holds_the_free_volume(stretched):
    part = trimesh.load_mesh(stretched.directory / "part.stl")
    assert part.volume == pytest.approx(ring_mm3(stretched.sizing.free), rel=1e-3)
    step = kernel.read_step(stretched.directory / "part.step")
    assert kernel.volume_mm3(step) == pytest.approx(ring_mm3(stretched.sizing.free), rel=1e-6)


def test_the_weigh_out_fills_the_mold_with_its_spare(built):
    mix = built.as_json()["mix"]
    grams = sum(component["grams"] for component in mix["components"])
    assert grams == pytest.approx(mix["batch_g"], abs=1e-6)
    density = built.sizing.case.elastomer.density_g_cm3.value
    poured_g = built.plan.pour_mm3 / 1000.0 * density
    step = built.sizing.case.spec.pour.scale_step_g
    assert poured_g * 1.15 - 1e-9 <= grams <= poured_g * 1.15 + 3.0 * step + 0.1 * poured_g


# --- again -----------------------------------------------------------------------------------------


def test_a_repeated_build_has_the_same_bytes_in_another_folder(built, tmp_path):
    again = job.build(built.sizing, tmp_path / "some" / "where" / "else")
    assert digests(again.directory) == digests(built.directory)


def test_another_process_in_another_folder_gives_the_same_bytes(stretched, tmp_path):
    (tmp_path / "bench").mkdir()
    (tmp_path / "bench" / "mine.yaml").write_text(STRETCHED.read_text(encoding="utf-8"), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", "from moldgen.cli import main; main()", "build", "mine.yaml", "--json"],
        cwd=tmp_path / "bench",
        check=False,
        capture_output=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    (answer,) = json.loads(done.stdout)
    assert answer["directory"] == "out/loop_idler"
    assert digests(tmp_path / "bench" / "out" / "loop_idler") == digests(stretched.directory)


def test_a_build_replaces_the_one_before_whole(stretched, tmp_path):
    out = tmp_path / "out"
    (out / "loop_idler").mkdir(parents=True)
    (out / "loop_idler" / "older.step").write_text("older", encoding="ascii")
    job.build(stretched.sizing, out)
    assert digests(out / "loop_idler") == digests(stretched.directory)
    assert [path.name for path in out.iterdir()] == ["loop_idler"]


def test_an_interrupt_leaves_the_build_before_and_nothing_half_written(tmp_path):
    out = tmp_path / "out"
    (out / "loop_idler").mkdir(parents=True)
    (out / "loop_idler" / "older.step").write_text("older", encoding="ascii")
    running = subprocess.Popen(
        [sys.executable, "-c", "from moldgen.cli import main; main()", "build", str(STRETCHED), "--out", str(out)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )
    deadline = time.monotonic() + 120.0
    while not list(out.glob(".loop_idler.building-*")):
        assert running.poll() is None, running.stderr.read()
        assert time.monotonic() < deadline
        time.sleep(0.005)
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=120.0)
    assert running.returncode == 130
    assert "Interrupted" in err
    assert "Traceback" not in err
    assert [path.name for path in out.iterdir()] == ["loop_idler"]
    assert [path.name for path in (out / "loop_idler").iterdir()] == ["older.step"]
