"""Several parts in one run: the same files however many workers, what is current left alone, failures kept apart."""

import json
import os
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

import pytest

from moldgen import case, sizing
from moldgen.cli import build as command
from moldgen.errors import GeometryError, OutputError
from moldgen.many import build_each, standing

SMALL = """\
family: outline_part
name: {name}
elastomer: pu_70a
measured: {{}}
wanted: {{outline: [[0, 0], [{long}, 0], [{long}, 8], [0, 8]], thickness: 3 mm}}
"""


@pytest.fixture
def specs(tmp_path):
    folder = tmp_path / "specs"
    folder.mkdir()
    for name, long in (("buffer", 14), ("stop", 18)):
        (folder / f"{name}.yaml").write_text(SMALL.format(name=name, long=long), encoding="utf-8")
    return folder


def run(specs, out, *, jobs=1, again=False):
    return command.run([specs], out, strict=False, as_json=True, pdf=False, jobs=jobs, again=again)


def digests(folder: Path):
    return {str(f.relative_to(folder)): sha256(f.read_bytes()).hexdigest() for f in folder.rglob("*") if f.is_file()}


@pytest.mark.slow
def test_workers_give_the_same_files_and_a_second_run_leaves_them_alone(specs, tmp_path, capsys):
    assert run(specs, tmp_path / "one") == 0
    assert run(specs, tmp_path / "two", jobs=2) == 0
    assert digests(tmp_path / "one") == digests(tmp_path / "two")
    capsys.readouterr()
    touched = (tmp_path / "one" / "stop" / "sheet.html").stat().st_mtime_ns
    assert run(specs, tmp_path / "one") == 0
    buffer, stop = json.loads(capsys.readouterr().out)
    assert (buffer["name"], buffer["seconds"], stop["seconds"]) == ("buffer", {}, {})
    assert (tmp_path / "one" / "stop" / "sheet.html").stat().st_mtime_ns == touched
    # A changed spec and a spoiled file are each built anew, and only they.
    (specs / "stop.yaml").write_text(SMALL.format(name="stop", long=19), encoding="utf-8")
    assert run(specs, tmp_path / "one") == 0
    buffer, stop = json.loads(capsys.readouterr().out)
    assert buffer["seconds"] == {}
    assert stop["seconds"]["bodies and meshes"] > 0.0
    (tmp_path / "one" / "stop" / "mold_upper.stl").write_bytes(b"")
    part = sizing.size(case.load(specs / "stop.yaml"))
    assert standing(part, tmp_path / "one") is None


@pytest.mark.slow
def test_a_cluster_s_backend_builds_too(specs, tmp_path):
    from dask.distributed import Client, LocalCluster
    from joblib import parallel_config

    part = sizing.size(case.load(specs / "buffer.yaml"))
    cluster = LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None, local_directory=tmp_path)
    with cluster, Client(cluster), parallel_config(backend="dask"):
        (built,) = build_each([part], tmp_path / "out")
    assert built.passed
    assert standing(part, tmp_path / "out").record == json.loads(
        (tmp_path / "out" / "buffer" / "job.json").read_text(encoding="utf-8")
    )


def test_one_that_fails_leaves_the_others(specs, tmp_path, monkeypatch):
    from moldgen import job

    def refuse_the_first(part, out, **_):
        if part.case.name == "buffer":
            raise GeometryError(stage="part", text="no solid", way_out="Change it.")
        return part.case.name

    monkeypatch.setattr(job, "build", refuse_the_first)
    parts = [sizing.size(case.load(path)) for path in sorted(specs.glob("*.yaml"))]
    refused, built = build_each(parts, tmp_path, jobs=1)
    assert isinstance(refused, GeometryError)
    assert built == "stop"


class Deadly:
    """Stands for a part on which the kernel takes its process down: to receive it is enough."""

    case = SimpleNamespace(name="deadly")

    def __reduce__(self):
        return os._exit, (1,)


@pytest.mark.slow
def test_one_that_takes_its_worker_down_is_told_and_leaves_the_others(specs, tmp_path):
    part = sizing.size(case.load(specs / "buffer.yaml"))
    lost, built = build_each([Deadly(), part], tmp_path / "out", jobs=2)
    assert isinstance(lost, OutputError)
    assert str(lost).startswith(f"{tmp_path}/out/deadly: the process that built it came to an end")
    assert built.passed
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["buffer"]


def test_a_folder_without_specs_is_refused(tmp_path, capsys):
    assert run(tmp_path, tmp_path / "out") == 2
    assert "no spec" in capsys.readouterr().err + capsys.readouterr().out
