"""The same spec gives the same files whatever the hour, the zone, the language, the folder and the order of hashes."""

import os
import subprocess
import sys
import time
from datetime import UTC, datetime
from hashlib import sha256

import pytest

SPEC = """\
family: outline_part
name: square_stop
machine: loop player, harbour museum
quantity: 3
elastomer: pu_60a
measured: {bolt: 5.00 ± 0.03 mm}
wanted:
  outline: [[-8, -8], [9, -8, 6], [9, 8, 6], [-8, 8], [-10, 0, 2]]
  thickness: 2.5 mm
  holes: [{at: [0, 0], diameter: bolt + 0.3 mm}]
jigs: [trimming_block, coupon]
"""
# Twenty-five hours apart, so that it is never the same day in both. German numbers have a comma, where it is installed.
HERE = {"TZ": "HERE-14", "LC_ALL": "C", "PYTHONHASHSEED": "1"}
THERE = {"TZ": "THERE+11", "LC_ALL": "de_DE.UTF-8", "PYTHONHASHSEED": "2"}


def started(folder, surroundings):
    folder.mkdir(parents=True)
    (folder / "spec.yaml").write_text(SPEC, encoding="utf-8")
    return subprocess.Popen(
        [sys.executable, "-m", "moldgen", "build", "spec.yaml", "--pdf"],
        cwd=folder,
        env={**os.environ, **surroundings, "HOME": str(folder)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )


@pytest.mark.slow
def test_every_file_repeats_byte_for_byte_whatever_surrounds_the_build(tmp_path):
    here = started(tmp_path / "here", HERE)
    time.sleep(1.1)  # more than the second that a stamp would be rounded to
    there = started(tmp_path / "somewhere" / "else", THERE)
    assert [(one.communicate()[1], one.returncode) for one in (here, there)] == [("", 0), ("", 0)]
    one, other = tmp_path / "here" / "out" / "square_stop", tmp_path / "somewhere" / "else" / "out" / "square_stop"
    files = {path.name: path.read_bytes() for path in one.iterdir()}
    assert {name.rpartition(".")[2] for name in files} == {
        "step", "stl", "3mf", "json", "svg", "html", "pdf", "dxf", "png", "yaml", "csv",
    }  # fmt: skip
    assert {"jig_coupon.stl", "jig_trimming_block.step"} <= files.keys()
    digests = {name: sha256(content).hexdigest() for name, content in files.items()}
    assert digests == {path.name: sha256(path.read_bytes()).hexdigest() for path in other.iterdir()}
    today = datetime.now(UTC)  # the one clock that both share
    stamps = [today.strftime(form).encode() for form in ("%Y-%m-%d", "%Y%m%d", "%d.%m.%Y")]
    assert [name for name, content in files.items() if any(stamp in content for stamp in stamps)] == []
