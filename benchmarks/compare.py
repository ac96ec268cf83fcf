"""Times `moldgen` against plain CadQuery scripts of the same bodies, in turn, as whole processes.

Told are seconds by the clock, and CPU seconds of all threads and processes, which other work on the machine stretches
less. A first round of all is not told.

python benchmarks/compare.py [rounds]
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from as_installed import environment

HERE = Path(__file__).resolve().parent
SPEC = HERE.parent / "part_specs" / "loop_idler.yaml"
GANG = HERE / "gang_of_pads.yaml"
BELT = HERE / "long_belt.yaml"
MOLDGEN = [sys.executable, "-m", "moldgen"]
BUILD = [*MOLDGEN, "build", "--again"]


def seconds(command: list[str], folder: str) -> tuple[float, float]:
    """By the clock, and of CPU."""
    silent = subprocess.DEVNULL
    start, before = time.perf_counter(), os.times()
    subprocess.run(command, check=True, stdout=silent, stderr=silent, env=environment(folder))
    after = os.times()
    cpu = after.children_user + after.children_system - before.children_user - before.children_system
    return time.perf_counter() - start, cpu


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as folder:
        claims = {
            "import cadquery": [sys.executable, "-c", "import cadquery"],
            "moldgen --help": [*MOLDGEN, "--help"],
            "moldgen size, one tyre": [*MOLDGEN, "size", str(SPEC)],
            "plain script, one tyre": [sys.executable, str(HERE / "plain_tyre_script.py"), f"{folder}/plain"],
            "moldgen build, one tyre, proofs included": [*BUILD, str(SPEC), "--out", f"{folder}/out"],
            "plain script, 16 pads": [sys.executable, str(HERE / "plain_pads_script.py"), f"{folder}/pads"],
            "moldgen build, 16 pads, proofs included": [*BUILD, str(GANG), "--out", f"{folder}/out"],
            "plain script, belt of 700 mm": [sys.executable, str(HERE / "plain_belt_script.py"), f"{folder}/belt"],
            "moldgen build, belt of 700 mm, proofs included": [*BUILD, str(BELT), "--out", f"{folder}/out"],
        }
        taken: dict[str, list[tuple[float, float]]] = {name: [] for name in claims}
        for turn in range(rounds + 1):
            for name, command in claims.items():
                used = seconds(command, folder)
                if turn:
                    taken[name].append(used)
    for name, times in taken.items():
        clock, cpu = zip(*times, strict=True)
        print(
            f"{name:45s} {statistics.median(clock):6.2f} s   ({min(clock):.2f} to {max(clock):.2f})"
            f"   CPU {statistics.median(cpu):6.2f} s   ({min(cpu):.2f} to {max(cpu):.2f})"
        )


if __name__ == "__main__":
    main()
