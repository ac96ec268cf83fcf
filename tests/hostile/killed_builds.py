"""Builds that are killed for real, at a moment of one's choice, and what is to be found afterwards.

A bench holds two states of an output folder, that of an earlier build and that of the build which takes its place. A
trial lays out the earlier one, starts that build in a process, kills it, and says everything that is not as promised.
Each folder is the earlier or the later one, byte for byte. Whoever was asked to end ended in order and left nothing. No
process is left. The next build works, clears away what a killed one left, and touches nothing of one under way.
"""

import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from pathlib import Path

from moldgen.output.directory import replaced

MOLDGEN = [sys.executable, "-m", "moldgen"]
SPEC = """\
family: outline_part
name: {name}
elastomer: pu_70a
measured: {{}}
wanted: {{outline: [[0, 0], [{long}, 0], [{long}, 8], [0, 8]], thickness: 3 mm}}
"""
EARLIER_MM, LATER_MM = 14, 15
AT_THE_SWAP_S = 0.003
"""From the last file's writing to the end of the clearing away it takes about as long."""
PATIENCE_S = 120.0


@dataclass(frozen=True)
class Kill:
    """How a build is ended."""

    by: signal.Signals
    group: bool
    """All its processes get the signal, as a terminal does it, or the first alone, as `kill` does."""
    after_s: float
    at_the_swap: bool
    """Counted from when the folder is complete and about to take its place, else from the start."""
    first: bool
    """There is no earlier build."""
    jobs: int

    def __str__(self) -> str:
        since = " after the folder was complete" if self.at_the_swap else ""
        to = " to all its processes" if self.group else ""
        kind = "a first build" if self.first else "a build"
        return f"{self.by.name}{to}, {self.after_s:.4f} s{since}, of {kind} with {self.jobs} jobs"


def kills(count: int, *, seed: int, seconds: dict[int, float]) -> Iterator[Kill]:
    """Random kills: the signals in turn, the moment anywhere in the run, every fourth at the swap of the folders.

    `seconds`: what a whole build takes, by the number of jobs that are tried.
    """
    rng = random.Random(seed)
    for number in range(count):
        jobs = rng.choices((1, 2), (4, 1))[0]
        at_the_swap = number % 4 == 3
        yield Kill(
            by=(signal.SIGKILL, signal.SIGINT, signal.SIGTERM)[number % 3],
            group=rng.random() < 0.5,
            after_s=rng.uniform(0.0, AT_THE_SWAP_S if at_the_swap else seconds[jobs]),
            at_the_swap=at_the_swap,
            first=rng.random() < 0.15,
            jobs=jobs,
        )


@dataclass(frozen=True)
class Ended:
    """What a trial found."""

    states: tuple[str, ...]
    """Of each part's folder: earlier, later or a description of what it should not be."""
    status: int
    leftovers: int
    """Beside the folders, when the process was gone."""
    faults: tuple[str, ...]


class Bench:
    """The two states of an output folder, for one part or for two that are built with two jobs."""

    def __init__(self, folder: Path, *, jobs: int) -> None:
        self.folder, self.jobs = folder, jobs
        self.names = ("buffer", "stop")[:jobs]
        for state, long_mm in (("earlier", EARLIER_MM), ("later", LATER_MM)):
            (folder / state).mkdir(parents=True)
            for name in self.names:
                spec = SPEC.format(name=name, long=long_mm)
                (folder / state / f"{name}.yaml").write_text(spec, encoding="utf-8")
        self._built("earlier", folder / "earlier_out")
        shutil.copytree(folder / "earlier_out", folder / "later_out")
        start = time.perf_counter()
        self._built("later", folder / "later_out")
        self.seconds = time.perf_counter() - start

    @cached_property
    def _first_out(self) -> Path:
        self._built("later", self.folder / "first_out")
        return self.folder / "first_out"

    def _built(self, state: str, out: Path) -> None:
        subprocess.run(self._command(state, out), check=True, capture_output=True)

    def _command(self, state: str, out: Path) -> list[str]:
        return [*MOLDGEN, "build", str(self.folder / state), "--out", str(out), "--jobs", str(self.jobs)]

    def trial(self, kill: Kill) -> Ended:
        """Builds, kills, looks, and builds again.

        Not again where all is just as it was before: the next build would be the one that was begun.
        """
        out, faults = self.folder / "out", []
        shutil.rmtree(out, ignore_errors=True)
        later = self._first_out if kill.first else self.folder / "later_out"
        if kill.first:
            out.mkdir()
        else:
            shutil.copytree(self.folder / "earlier_out", out)
        with contextlib.ExitStack() as under_way:
            work = under_way.enter_context(_build_under_way(out / self.names[0]))
            status, said, heeded = self._killed(kill, out, work)
            states = tuple(
                _state(out / name, None if kill.first else self.folder / "earlier_out" / name, later / name)
                for name in (*self.names, *(("index.html",) if self.jobs > 1 else ()))
            )
            faults += [state for state in states if state not in ("earlier", "later")]
            left = _leftovers(out) - {work.name}
            if kill.by is not signal.SIGKILL and heeded:
                if status not in (0, 130):
                    faults.append(f"exit status {status}")
                if left:
                    faults.append(f"left behind: {sorted(left)}")
                if "Traceback" in said or (status == 130 and said != "Interrupted; nothing half-written is left.\n"):
                    faults.append(f"said: {said}")
            if left or set(states) != {"earlier"}:
                again = subprocess.run(self._command("later", out), check=False, capture_output=True, encoding="utf-8")
                if again.returncode != 0:
                    faults.append(f"the next build ended with {again.returncode}: {again.stderr}")
                faults += [
                    f"{name} differs after the next build"
                    for name in self.names
                    if contents(out / name) != contents(later / name)
                ]
                if _leftovers(out) != {work.name}:
                    faults.append(f"the next build leaves {sorted(_leftovers(out))} where {work.name} is under way")
        return Ended(states, status, len(left), tuple(faults))

    def _killed(self, kill: Kill, out: Path, other: Path) -> tuple[int, str, bool]:
        """Exit status, what was said, and whether the program was far enough to heed a signal."""
        running = subprocess.Popen(
            self._command("later", out),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            start_new_session=True,
            preexec_fn=hears_ctrl_c,  # noqa: PLW1509 - there is one thread
        )
        if kill.at_the_swap:  # the history is the last file that is written
            step_s = 0.01
            while running.poll() is None and not any((work / "history.yaml").exists() for work in _works(out, other)):
                time.sleep(step_s)
                step_s = 0.0001 if _works(out, other) else 0.01
        time.sleep(kill.after_s)
        heeded = _catches(running.pid, signal.SIGTERM)
        with contextlib.suppress(ProcessLookupError):
            (os.killpg if kill.group else os.kill)(running.pid, kill.by)
        _, said = running.communicate(timeout=PATIENCE_S)
        if left := outliving(running.pid):
            raise AssertionError(f"{kill}: processes that outlive it: {left}")
        return running.returncode, said, heeded


def hears_ctrl_c() -> None:
    """What a shell starts in the background does not, and neither would what that starts."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class _GivenUpError(Exception):
    pass


@contextlib.contextmanager
def _build_under_way(target: Path) -> Iterator[Path]:
    """Another build of the part, which this process is at and gives up in the end."""
    with contextlib.suppress(_GivenUpError), replaced(target) as work:
        (work / "half.step").write_text("half", encoding="ascii")
        yield work
        raise _GivenUpError


def contents(folder: Path) -> dict[str, str] | None:
    """The digest of every file in a folder, or of a file itself; None where there is nothing."""
    if not folder.exists():
        return None
    files = [folder] if folder.is_file() else [file for file in folder.rglob("*") if file.is_file()]
    return {file.relative_to(folder).as_posix(): sha256(file.read_bytes()).hexdigest() for file in files}


def _state(place: Path, earlier: Path | None, later: Path) -> str:
    found = contents(place)
    if found == (None if earlier is None else contents(earlier)):
        return "earlier"
    if found == contents(later):
        return "later"
    return f"{place.name} is neither the earlier nor the later: {sorted(found or ())}"


def _leftovers(out: Path) -> set[str]:
    return {path.name for path in out.iterdir() if path.name.startswith(".")}


def _works(out: Path, other: Path) -> list[Path]:
    return [work for work in out.glob(".*.building-*") if work != other]


def _catches(pid: int, number: int) -> bool:
    with contextlib.suppress(OSError):
        for line in Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines():
            if line.startswith("SigCgt:"):
                return bool(int(line.split()[1], 16) >> (number - 1) & 1)
    return False


def outliving(session: int) -> str:
    """The command lines of a session's processes that are still there when there was time enough to end."""
    deadline = time.monotonic() + PATIENCE_S / 4.0
    while (still := _processes_of(session)) and time.monotonic() < deadline:
        time.sleep(0.02)
    return "; ".join(still)


def _processes_of(session: int) -> list[str]:
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            state, _, _, its_session, *_ = stat.read_text(encoding="utf-8").rpartition(")")[2].split()
            if int(its_session) == session and state != "Z":
                found.append(stat.with_name("cmdline").read_text(encoding="utf-8").replace("\0", " "))
    return found
