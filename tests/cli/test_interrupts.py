"""Ctrl-C, a request to end, a closed terminal: one way out for all, its exit status kept."""

import signal
import subprocess
import sys
import time

import pytest

from moldgen.cli import interrupts
from moldgen.cli.interrupts import Heeded, Interrupted


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_each_of_them_is_an_interrupt_and_afterwards_all_is_as_before(number):
    before = [signal.getsignal(one) for one in interrupts.SIGNALS]
    with pytest.raises(KeyboardInterrupt), Heeded(130):
        signal.raise_signal(number)
    assert [signal.getsignal(one) for one in interrupts.SIGNALS] == before


def test_what_an_interrupt_sets_off_in_a_library_is_still_an_interrupt():
    with pytest.raises(Interrupted), Heeded(130):
        try:
            signal.raise_signal(signal.SIGTERM)
        except KeyboardInterrupt:
            raise ImportError("half loaded") from None


def test_one_in_the_midst_of_an_import_waits_for_its_end(tmp_path, monkeypatch):
    (tmp_path / "half_loaded.py").write_text(
        "import signal\nsignal.raise_signal(signal.SIGTERM)\nLOADED = True\n", encoding="utf-8"
    )
    monkeypatch.syspath_prepend(tmp_path)
    with pytest.raises(Interrupted), Heeded(130):
        import half_loaded

        assert half_loaded.LOADED
        time.sleep(5.0)
        pytest.fail("it was never raised")


def test_a_second_one_at_once_does_not_cut_the_clearing_away_short():
    cleared = []
    with pytest.raises(KeyboardInterrupt), Heeded(130):
        try:
            signal.raise_signal(signal.SIGINT)
        finally:
            signal.raise_signal(signal.SIGINT)
            cleared.append(True)
    assert cleared


def test_what_the_starter_switched_off_stays_off():
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)  # as `nohup` does
    try:
        with Heeded(130):
            signal.raise_signal(signal.SIGHUP)
    finally:
        signal.signal(signal.SIGHUP, before)


@pytest.mark.parametrize(
    ("work", "status"),
    [
        ("exec('signal.raise_signal(signal.SIGTERM)')", 7),  # within code that is run from text
        ("signal.raise_signal(signal.SIGINT)", 7),
        # The first is swallowed by a library; whoever asks again after a while is not kept waiting.
        (
            "with contextlib.suppress(KeyboardInterrupt): signal.raise_signal(signal.SIGINT)\n"
            "    time.sleep(1.2)\n"
            "    signal.raise_signal(signal.SIGINT)",
            130,
        ),
    ],
)
def test_a_process_ends_with_its_own_status_and_not_by_a_signal(tmp_path, work, status):
    (tmp_path / "probe.py").write_text(
        "import contextlib, signal, sys, time\n"
        "from moldgen.cli.interrupts import Heeded\n"
        f"def work():\n    {work}\n"
        "try:\n    with Heeded(130): work()\n"
        "except KeyboardInterrupt: sys.exit(7)\n",
        encoding="utf-8",
    )
    ended = subprocess.run([sys.executable, "-m", "probe"], cwd=tmp_path, check=False, capture_output=True)
    assert (ended.returncode, ended.stderr) == (status, b"")
