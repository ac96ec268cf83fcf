"""What each stage of a build costs, against the number of cavities: seconds by the clock, as the build tells them.

python benchmarks/stages.py [rounds]

Whole processes. `starting` is all that no stage holds: Python, libraries, the kernel, the spec, the end. What the
second process does (`proofs on meshes`, `pictures`) goes on beside the stages above it.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

GANG = Path(__file__).resolve().parent / "gang_of_pads.yaml"
CAVITIES = (1, 4, 9, 16)
BESIDE = ("proofs on meshes", "pictures")


def stages(spec: Path, out: str) -> dict[str, float]:
    start = time.perf_counter()
    command = [sys.executable, "-m", "moldgen", "build", str(spec), "--again", "--json", "--out", out]
    told = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    whole = time.perf_counter() - start
    (build,) = json.loads(told)
    taken = build["seconds"]
    beside = {stage: taken.pop(stage) for stage in BESIDE}
    return {"starting": whole - sum(taken.values()), **taken, **beside, "whole build": whole}


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    columns: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        for count in CAVITIES:
            spec = Path(folder) / f"pads_{count}.yaml"
            spec.write_text(GANG.read_text(encoding="utf-8").replace("quantity: 16", f"quantity: {count}"))
            taken = [stages(spec, folder) for _ in range(rounds)]
            columns.append({stage: statistics.median(one[stage] for one in taken) for stage in taken[0]})
    print(f"{'seconds, medians; cavities':34s}" + "".join(f"{count:8d}" for count in CAVITIES))
    for stage in columns[0]:
        print(f"{stage:34s}" + "".join(f"{column[stage]:8.2f}" for column in columns))


if __name__ == "__main__":
    main()
