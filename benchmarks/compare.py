"""Times `moldgen` against plain CadQuery scripts of the same bodies, in turn, as whole processes.

python benchmarks/compare.py [rounds]
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
SPEC = HERE.parent / "part_specs" / "loop_idler.yaml"
GANG = HERE / "gang_of_pads.yaml"
MOLDGEN = [sys.executable, "-m", "moldgen"]
BUILD = [*MOLDGEN, "build", "--again"]


def seconds(command: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as folder:
        claims = {
            "import cadquery": [sys.executable, "-c", "import cadquery"],
            "moldgen --help": [*MOLDGEN, "--help"],
            "moldgen size, one tyre": [*MOLDGEN, "size", str(SPEC)],
            "plain script, one tyre": [sys.executable, str(HERE / "plain_tyre_script.py"), f"{folder}/plain"],
            "moldgen build, one tyre, proofs included": [
                *MOLDGEN,
                "build",
                str(SPEC),
                "--again",
                "--out",
                f"{folder}/out",
            ],
            "plain script, 16 pads": [sys.executable, str(HERE / "plain_pads_script.py"), f"{folder}/pads"],
            "moldgen build, 16 pads, proofs included": [
                *MOLDGEN,
                "build",
                str(GANG),
                "--again",
                "--out",
                f"{folder}/out",
            ],
        }
        taken: dict[str, list[float]] = {name: [] for name in claims}
        for _ in range(rounds):
            for name, command in claims.items():
                taken[name].append(seconds(command))
    for name, times in taken.items():
        print(f"{name:45s} {statistics.median(times):6.2f} s   ({min(times):.2f} to {max(times):.2f})")


if __name__ == "__main__":
    main()
