"""CPU and wall seconds of the commands that need no CAD, each over `import cadquery`, as whole processes in turn.

python benchmarks/startup.py [rounds]

CPU time is that of all threads, because it does not grow much when other work shares the machine. A first round is not
told. Asked of each: under 0.3 s, and at most a tenth of `import cadquery`.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
import wave
from array import array
from math import pi, sin
from pathlib import Path

from as_installed import environment

ROOT = Path(__file__).resolve().parents[1]
SPECS = sorted((ROOT / "part_specs").glob("*.yaml"))
IDLER, SLEEVE = (ROOT / "part_specs" / f"loop_{name}.yaml" for name in ("idler", "pinch_sleeve"))
CASTINGS = ROOT / "part_specs" / "castings" / "loop_idler.csv"
MACHINE = ROOT / "part_specs" / "machines" / "loop_player.yaml"
FAMILIES = ("belt", "clutch_pad", "idler_tyre", "outline_part", "pinch_sleeve", "turned_part")
CAD = "import cadquery"


def commands(folder: Path) -> dict[str, list[str]]:
    tone = folder / "tone.wav"
    record(tone)
    nothing_built = ["--out", str(folder / "out")]
    asked = {
        "--help": [],
        **{f"size {spec.stem}": [str(spec)] for spec in SPECS},
        **{f"new {family}": [] for family in FAMILIES},
        "elastomers": [],
        "elastomers --for idler_tyre": [],
        "rings --inside 62": [],
        "refine loop_idler": [str(IDLER), "--castings", str(CASTINGS), *nothing_built],
        "run-test, counted": ["--length", "37.75 in", "--time", "10.05 s", "--machine", str(MACHINE)],
        "run-test, ten seconds of a tone (scipy)": ["--tone", str(tone), "--tone-frequency", "3150 Hz"],
        "mix --no-build, two parts": ["--no-build", str(IDLER), str(SLEEVE), *nothing_built],
    }
    named_in_full = ("new", "elastomers", "rings", "--help")
    out = {CAD: [sys.executable, "-c", CAD]}
    for name, rest in asked.items():
        words = name.split() if name.startswith(named_in_full) else [name.replace(",", "").split()[0]]
        out[name] = [sys.executable, "-m", "moldgen", *words, *rest]
    return out


def record(path: Path) -> None:
    """A test tone of ten seconds."""
    rate = 48_000
    samples = array("h", (round(10_000 * sin(2.0 * pi * 3150.0 * i / rate)) for i in range(10 * rate)))
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, rate, 0, "NONE", ""))
        file.writeframes(samples.tobytes())


def seconds(command: list[str], folder: str) -> tuple[float, float]:
    """CPU and wall."""
    start = time.perf_counter()
    process = subprocess.Popen(command, env=environment(folder), stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command)
    return used.ru_utime + used.ru_stime, time.perf_counter() - start


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as folder:
        taken: dict[str, list[tuple[float, float]]] = {}
        for turn in range(rounds + 1):
            for name, command in commands(Path(folder)).items():
                used = seconds(command, folder)
                if turn:
                    taken.setdefault(name, []).append(used)
    medians = {name: [statistics.median(times) for times in zip(*all_, strict=True)] for name, all_ in taken.items()}
    print(f"{'':42s} {'CPU, s':>7s} {'wall, s':>8s} {'of the import':>14s}")
    for name, (cpu, wall) in medians.items():
        print(f"{name:42s} {cpu:7.3f} {wall:8.3f} {cpu / medians[CAD][0]:14.3f}")


if __name__ == "__main__":
    main()
