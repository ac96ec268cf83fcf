"""What each stage of a build costs, against the number of cavities: seconds by the clock, as the build tells them.

python benchmarks/stages.py [rounds]

Each stage by itself: one process does all in turn, with its libraries loaded before. `starting` is all before the
build: Python, libraries, the kernel, the spec. `whole build` is the command's, which has two more processes to help.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from importlib import import_module
from pathlib import Path

from as_installed import environment

GANG = Path(__file__).resolve().parent / "gang_of_pads.yaml"
CAVITIES = (1, 4, 9, 16)
GEOMETRY = ("bodies and meshes", "files")
PROOFS = ("proofs in the kernel", "proofs on meshes", "proofs on files")


def in_turn(spec: Path, out: str) -> dict[str, float]:
    """Builds in this process; what a fresh one prints for its parent."""
    from moldgen import alongside, build, load, size

    sized = size(load(spec))
    for name in alongside.NEEDED:
        import_module(name)
    started = time.perf_counter()
    seconds = build(sized, Path(out)).seconds
    return {"starting": started - float(os.environ["STARTED"]), **seconds}


def stages(spec: Path, out: str) -> dict[str, float]:
    command = [sys.executable, __file__, "--in-turn", str(spec), out]
    started = {"STARTED": str(time.perf_counter())}
    told = subprocess.run(
        command, check=True, capture_output=True, text=True, env={**environment(out), **started}
    ).stdout
    taken: dict[str, float] = json.loads(told)
    geometry, proofs = (sum(taken[stage] for stage in group) for group in (GEOMETRY, PROOFS))
    start = time.perf_counter()
    command = [sys.executable, "-m", "moldgen", "build", str(spec), "--again", "--out", out]
    subprocess.run(command, check=True, capture_output=True, env=environment(out))
    whole = time.perf_counter() - start
    return {**taken, "whole build": whole, "all proofs": proofs, "over bodies, meshes, files": proofs / geometry}


def main() -> None:
    if sys.argv[1:2] == ["--in-turn"]:
        print(json.dumps(in_turn(Path(sys.argv[2]), sys.argv[3])))
        return
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    columns: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        for count in CAVITIES:
            spec = Path(folder) / f"pads_{count}.yaml"
            spec.write_text(GANG.read_text(encoding="utf-8").replace("quantity: 16", f"quantity: {count}"))
            stages(spec, folder)
            taken = [stages(spec, folder) for _ in range(rounds)]
            columns.append({stage: statistics.median(one[stage] for one in taken) for stage in taken[0]})
    print(f"{'seconds, medians; cavities':34s}" + "".join(f"{count:8d}" for count in CAVITIES))
    for stage in columns[0]:
        print(f"{stage:34s}" + "".join(f"{column[stage]:8.2f}" for column in columns))


if __name__ == "__main__":
    main()
