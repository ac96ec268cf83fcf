"""Tyres built in a row: by one process alone, by one job with the processes that help it, and by two workers.

python benchmarks/workers.py [tyres] [rounds]

Told are seconds by the clock, start-up included, for half and for all of them, and what each of the second half costs.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from as_installed import environment

SPEC = Path(__file__).resolve().parents[1] / "part_specs" / "loop_idler.yaml"
BUILD = [sys.executable, "-m", "moldgen", "build", "--again"]


def alone(folder: Path) -> None:
    """Builds all specs of a folder in this process."""
    from moldgen import build, load, size

    for spec in sorted(folder.glob("*.yaml")):
        build(size(load(spec)), folder / "out")


def written(folder: Path, count: int) -> Path:
    """A folder with so many specs of one tyre under different names."""
    folder.mkdir()
    text = SPEC.read_text(encoding="utf-8")
    for number in range(count):
        named = text.replace("name: loop_idler", f"name: tyre_{number:02d}")
        (folder / f"tyre_{number:02d}.yaml").write_text(named, encoding="utf-8")
    return folder


def seconds(command: list[str], compiled: str) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment(compiled))
    return time.perf_counter() - start


def main() -> None:
    if sys.argv[1:2] == ["--alone"]:
        alone(Path(sys.argv[2]))
        return
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with tempfile.TemporaryDirectory() as folder:
        first, half, whole = (
            written(Path(folder) / name, n) for name, n in (("first", 1), ("half", count // 2), ("whole", count))
        )
        ways = {
            "one process alone": [sys.executable, __file__, "--alone"],
            "--jobs 1, with its helpers": [*BUILD, "--out", f"{folder}/out", "--jobs", "1"],
            "--jobs 2": [*BUILD, "--out", f"{folder}/out", "--jobs", "2"],
        }
        taken: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
        for command in ways.values():
            seconds([*command, str(first)], folder)  # compiles
        for _ in range(rounds):
            for name, command in ways.items():
                taken[name].append((seconds([*command, str(half)], folder), seconds([*command, str(whole)], folder)))
    for name, times in taken.items():
        few, all_ = (statistics.median(column) for column in zip(*times, strict=True))
        each = (all_ - few) / (count - count // 2)
        print(f"{name:30s} {count // 2} in {few:6.2f} s   {count} in {all_:6.2f} s   each further one {each:5.2f} s")


if __name__ == "__main__":
    main()
