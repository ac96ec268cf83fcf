"""Builds that are killed, and builds of one part at the same time: whole folders, whatever happens, and no leftovers.

`benchmarks/kills.py` runs such trials by the hundred.
"""

import signal
import subprocess
import time
from dataclasses import replace

import pytest
from killed_builds import MOLDGEN, SPEC, Bench, kills, outliving

from moldgen import case, sizing
from moldgen.many import standing

IN_CI = 6
SEED = 3

pytestmark = pytest.mark.slow


def test_a_build_killed_at_any_moment_leaves_the_earlier_folder_or_the_new_one_and_the_next_build_works(tmp_path):
    bench = Bench(tmp_path, jobs=1)
    faults, states = [], set()
    for any_kill in kills(IN_CI, seed=SEED, seconds={1: bench.seconds}):
        kill = replace(any_kill, first=False, jobs=1)
        ended = bench.trial(kill)
        faults += [f"{kill}: {fault}" for fault in ended.faults]
        states.update(ended.states)
    assert faults == []
    assert "earlier" in states  # else no build was hit


@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGKILL])
def test_workers_end_with_their_parent(tmp_path, by):
    for name in ("buffer", "stop"):
        (tmp_path / f"{name}.yaml").write_text(SPEC.format(name=name, long=14), encoding="utf-8")
    out = tmp_path / "out"
    running = subprocess.Popen(
        [*MOLDGEN, "build", str(tmp_path), "--out", str(out), "--jobs", "2"],
        stderr=subprocess.PIPE,
        encoding="utf-8",
        start_new_session=True,
    )
    deadline = time.monotonic() + 120.0
    while not list(out.glob(".*.building-*")):
        assert running.poll() is None, running.stderr.read()
        assert time.monotonic() < deadline
        time.sleep(0.005)
    running.send_signal(by)
    _, said = running.communicate(timeout=120.0)
    assert outliving(running.pid) == ""
    if by is signal.SIGTERM:
        assert (running.returncode, said) == (130, "Interrupted; nothing half-written is left.\n")
        assert [path.name for path in out.iterdir() if path.name.startswith(".")] == []


def test_two_builds_of_one_part_at_the_same_time_do_not_mix(tmp_path):
    specs = [tmp_path / "one.yaml", tmp_path / "two.yaml"]
    for spec, long_mm in zip(specs, (14, 15), strict=True):
        spec.write_text(SPEC.format(name="buffer", long=long_mm), encoding="utf-8")
    out = tmp_path / "out"
    running = [
        subprocess.Popen(
            [*MOLDGEN, "build", str(spec), "--out", str(out)], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
        )
        for spec in specs
    ]
    assert [(one.communicate()[1], one.returncode) for one in running] == [(b"", 0), (b"", 0)]
    # `standing` holds every file against its digest and the spec against the folder's copy.
    (whole,) = [found for spec in specs if (found := standing(sizing.size(case.load(spec)), out))]
    recorded = {file["path"] for file in whole.record["files"]}
    assert {path.name for path in (out / "buffer").iterdir()} == recorded | {"job.json", "history.yaml"}
    assert [path.name for path in out.iterdir()] == ["buffer"]
