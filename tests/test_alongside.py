"""Processes that work beside this one: how they are started, and what they do not hear."""

import errno
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import BrokenExecutor, Future
from pathlib import Path

import pytest

from moldgen import build, load, size
from moldgen.alongside import Alongside, InTurn, children_spared, kernel_process, mesh_process
from moldgen.cli.interrupts import Heeded, Interrupted
from moldgen.errors import OutputError

EXAMPLES = Path(__file__).resolve().parents[1] / "part_specs"
HERE = os.getpid()


def started_by():
    return HERE


class Lost(InTurn):
    """A process that is gone before it has answered."""

    def submit(self, work, /, *args, **kwargs):
        done = Future()
        done.set_exception(BrokenExecutor())
        return done


def test_a_child_that_the_block_starts_does_not_hear_ctrl_c():
    with children_spared():
        child = subprocess.Popen([sys.executable, "-c", "import time; print('up', flush=True); time.sleep(0.5)"],
                                 stdout=subprocess.PIPE)  # fmt: skip
    assert child.stdout.readline() == b"up\n"
    child.send_signal(signal.SIGINT)
    child.stdout.close()
    assert child.wait() == 0


@pytest.mark.parametrize("process", [mesh_process, kernel_process])
def test_a_process_that_dies_takes_down_what_it_was_at_and_nothing_after(process, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    with process() as alongside:
        assert alongside.submit(os.getpid).result() != os.getpid()
        with pytest.raises(BrokenExecutor):
            alongside.submit(os._exit, 1).result()
        assert alongside.submit(os.getpid).result() == os.getpid()


def test_without_room_for_a_process_its_work_is_done_in_turn(monkeypatch):
    def refused():
        raise OSError(errno.ENOMEM, "Cannot allocate memory")

    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(os, "fork", refused)
    with kernel_process() as alongside:
        assert alongside.submit(os.getpid).result() == HERE


def test_a_copy_has_what_this_process_has_loaded_and_not_its_ways_out(monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    with Heeded(130), kernel_process() as copy:
        assert copy.submit(started_by).result() == HERE
        assert copy.submit(signal.getsignal, signal.SIGTERM).result() == signal.SIG_DFL


@pytest.mark.parametrize("fault", ["kernel", "meshes"])
def test_a_build_whose_helper_dies_says_so_and_leaves_the_earlier_one(fault, tmp_path):
    sized = size(load(EXAMPLES / "projector_feed_roller.yaml"))
    (tmp_path / sized.case.name).mkdir()
    (tmp_path / sized.case.name / "earlier").touch()
    with pytest.raises(OutputError, match="come to an end"):
        build(sized, tmp_path, alongside=Alongside(**{fault: Lost()}))
    assert [path.name for path in tmp_path.rglob("*")] == [sized.case.name, "earlier"]


def test_the_same_bytes_come_out_whoever_helps(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    sized = size(load(EXAMPLES / "projector_feed_roller.yaml"))
    alone = build(sized, tmp_path / "alone")
    with mesh_process() as meshes, kernel_process() as kernel:
        helped = build(sized, tmp_path / "helped", alongside=Alongside(kernel, meshes))
    assert helped.findings == alone.findings
    assert helped.files == alone.files  # their digests among them
    assert helped.seconds.keys() == alone.seconds.keys()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupt_meanwhile_comes_when_the_child_is_there(number):
    started = []
    with pytest.raises(Interrupted), Heeded(130), children_spared():
        os.kill(os.getpid(), number)
        started.append(True)
    assert started


def test_so_does_one_that_an_import_had_put_off(tmp_path, monkeypatch):
    (tmp_path / "loaded_late.py").write_text("import signal\nsignal.raise_signal(signal.SIGTERM)\n", encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    started = []
    with pytest.raises(Interrupted), Heeded(130):
        import loaded_late  # noqa: F401

        with children_spared():
            time.sleep(0.1)
            started.append(True)
    assert started
