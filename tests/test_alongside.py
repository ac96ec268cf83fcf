"""Processes that work beside this one: how they are started, and what they do not hear."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import BrokenExecutor

import pytest

from moldgen.alongside import children_spared, mesh_process
from moldgen.cli.interrupts import Heeded, Interrupted


def test_a_child_that_the_block_starts_does_not_hear_ctrl_c():
    with children_spared():
        child = subprocess.Popen([sys.executable, "-c", "import time; print('up', flush=True); time.sleep(0.5)"],
                                 stdout=subprocess.PIPE)  # fmt: skip
    assert child.stdout.readline() == b"up\n"
    child.send_signal(signal.SIGINT)
    child.stdout.close()
    assert child.wait() == 0


def test_a_mesh_process_that_dies_takes_down_what_it_was_at_and_nothing_after(monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    with mesh_process() as alongside:
        assert alongside.submit(os.getpid).result() != os.getpid()
        with pytest.raises(BrokenExecutor):
            alongside.submit(os._exit, 1).result()
        assert alongside.submit(os.getpid).result() == os.getpid()


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
