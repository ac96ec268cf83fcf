"""Full disks, folders that may not be written to and readers that go away: told in words, and what was there stays."""

import contextlib
import ctypes
import json
import os
import resource
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from killed_builds import MOLDGEN, SPEC, contents

EARLIER = {"job.json": "the earlier build's"}
LARGEST_FILE = 300_000  # enough for a mesh on its way from the kernel, too little for the largest STEP
NO_WRITING_PAST_PERMISSIONS = (24, 1)  # PR_CAPBSET_DROP, CAP_DAC_OVERRIDE: root is then held to what a folder allows


@pytest.fixture
def spec(tmp_path):
    path = tmp_path / "buffer.yaml"
    path.write_text(SPEC.format(name="buffer", long=14), encoding="utf-8")
    return path


def with_earlier_build(out: Path) -> Path:
    (out / "buffer").mkdir(parents=True)
    for name, text in EARLIER.items():
        (out / "buffer" / name).write_text(text, encoding="utf-8")
    return out


def built(spec: Path, out: Path, beforehand: Callable[[], None] | None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*MOLDGEN, "build", str(spec), "--out", str(out), "--json"],
        check=False,
        capture_output=True,
        encoding="utf-8",
        preexec_fn=beforehand,
    )


@contextlib.contextmanager
def short_of_room(out: Path, kilobytes: int) -> Iterator[Callable[[], None] | None]:
    """A small disk for the folder where one may be mounted, else a limit to each file that a process may write."""
    out.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(out)], check=False, capture_output=True
    )
    if mounted.returncode == 0:
        try:
            yield None
        finally:
            subprocess.run(["umount", str(out)], check=True)
    else:
        yield lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (LARGEST_FILE, LARGEST_FILE))


@pytest.mark.slow
@pytest.mark.parametrize("kilobytes", [800, 2600])  # in the midst of what the kernel writes; when most is written
def test_a_disk_that_fills_leaves_the_earlier_build_and_is_told_with_file_and_way_out(spec, tmp_path, kilobytes):
    with short_of_room(tmp_path / "out", kilobytes) as beforehand:
        out = with_earlier_build(tmp_path / "out")
        before = contents(out)
        ended = built(spec, out, beforehand)
        assert contents(out) == before
        assert [path.name for path in out.iterdir()] == ["buffer"]
    assert ended.returncode == 2
    assert ended.stderr.startswith(f"{out}/buffer")
    assert "could not be written" in ended.stderr or "cannot be written" in ended.stderr
    assert "free space" in ended.stderr
    assert ended.stderr.count("\n") == 1
    (problem,) = json.loads(ended.stdout)["problems"]
    assert problem["limit"] == ended.stderr.strip()


@pytest.mark.slow
def test_a_folder_that_may_not_be_written_to_keeps_its_build_and_is_told(spec, tmp_path):
    out = with_earlier_build(tmp_path / "out")
    before = contents(out)
    out.chmod(0o555)
    ended = built(spec, out, lambda: ctypes.CDLL(None).prctl(*NO_WRITING_PAST_PERMISSIONS))
    out.chmod(0o755)
    assert (ended.returncode, ended.stderr) == (
        2,
        f"{out}/buffer: cannot be written (Permission denied). Check free space and permissions, or give another "
        "--out.\n",
    )
    assert contents(out) == before
    assert [path.name for path in out.iterdir()] == ["buffer"]


@pytest.mark.parametrize(
    "arguments", [("elastomers", "--json"), ("elastomers",), ("rings", "--inside", "62", "--json"), ("--help",)]
)
def test_answers_that_cannot_be_written_end_in_words_or_as_the_shell_expects(arguments):
    with Path("/dev/full").open("w") as full:
        ended = subprocess.run([*MOLDGEN, *arguments], check=False, stdout=full, stderr=subprocess.PIPE, text=True)
    assert (ended.returncode, ended.stderr) == (
        2,
        "standard output: cannot be read or written (No space left on device). Check free space and permissions, or "
        "choose another place.\n",
    )
    reading, writing = os.pipe()
    os.close(reading)
    with open(writing, "w") as nobody_reads:  # noqa: PTH123
        gone = subprocess.run([*MOLDGEN, *arguments], check=False, stdout=nobody_reads, stderr=subprocess.PIPE)
    assert (gone.returncode, gone.stderr) == (128 + 13, b"")  # as of a program that SIGPIPE, number 13, has ended


def test_closed_streams_are_no_reason_to_stop():
    shell = f'"{sys.executable}" -m moldgen rings --inside 62 --json'
    answer = subprocess.run(shell + " 2>&-", shell=True, check=False, capture_output=True, text=True)
    assert (answer.returncode, json.loads(answer.stdout)["rings"][0].keys() >= {"standard"}) == (0, True)
    assert subprocess.run(shell + " >&-", shell=True, check=False, capture_output=True).stderr == b""
