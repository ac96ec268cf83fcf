"""Many parts in one go: `python benchmarks/many_specs.py [COUNT]` (200 if left out, a good ten minutes on two cores).

Random but valid small specs of five families are built by `moldgen build FOLDER --jobs 2`. Half-way the run is asked
to end; a second run resumes; a third finds everything current. Said are seconds, what failed, what was built twice, and
the memory of the workers. Before that the first twelve are built with one job and with two.
"""

import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from moldgen import case, sizing
from moldgen.errors import MoldgenError
from moldgen.jigs.order import jigs_of
from moldgen.planning import planned

SEED = 4
COMPARED = 12
DRAWN = 20
SAMPLED_S = 0.25
LINGERS_S = 2.0
"""A helper of the workers' library sees the end of its parent a little later."""


def idler_tyre(rng: random.Random) -> str:
    hub = rng.uniform(15.0, 32.0)
    return (
        f"family: idler_tyre\nelastomer: {rng.choice(['pu_60a', 'pu_70a'])}\n"
        f"measured: {{hub_diameter: {hub:.2f} ± 0.03 mm, hub_width: 6.0 ± 0.05 mm}}\n"
        f"wanted: {{fitted_diameter: {hub + rng.uniform(6.0, 10.0):.2f}, fitted_width: 5.0, stretch: 5 %}}\n"
    )


def pinch_sleeve(rng: random.Random) -> str:
    core, length = rng.uniform(8.0, 12.0), rng.uniform(10.0, 14.0)
    return (
        f"family: pinch_sleeve\nelastomer: pu_60a\n"
        f"measured: {{core_diameter: {core:.2f} ± 0.02 mm, core_length: {length:.1f}}}\n"
        f"wanted: {{roller_diameter: {core + rng.uniform(4.0, 8.0):.2f}, length: {length:.1f}, stretch: 4 %}}\n"
    )


def belt(rng: random.Random) -> str:
    return (
        f"family: belt\nelastomer: pu_60a\nmeasured: {{path_length: {rng.uniform(110.0, 180.0):.1f} ± 0.5 mm}}\n"
        f"wanted: {{section: square, height: {rng.uniform(1.8, 2.6):.1f}, stretch: 6 %, make: ring}}\n"
    )


def turned_part(rng: random.Random) -> str:
    outer, high = rng.uniform(8.0, 14.0), rng.uniform(5.0, 10.0)
    return (
        f"family: turned_part\nelastomer: pu_50a\nmeasured: {{}}\n"
        f"wanted: {{profile: [[2, 0], [{outer:.2f}, 0], [{outer - 1.5:.2f}, {high:.2f}], [2, {high:.2f}]]}}\n"
    )


def outline_part(rng: random.Random) -> str:
    x, y = rng.uniform(10.0, 20.0), rng.uniform(6.0, 12.0)
    return (
        f"family: outline_part\nelastomer: pu_70a\nmeasured: {{}}\n"
        f"wanted: {{outline: [[0, 0], [{x:.2f}, 0], [{x:.2f}, {y:.2f}], [0, {y:.2f}]], thickness: 3}}\n"
    )


FAMILIES = (idler_tyre, pinch_sleeve, belt, turned_part, outline_part)


def write_specs(folder: Path, count: int) -> None:
    """Specs that can be used: of those that are refused with a way out another is drawn."""
    rng = random.Random(SEED)
    folder.mkdir()
    for number in range(count):
        path = folder / f"part_{number:03d}.yaml"
        for _ in range(DRAWN):
            path.write_text(f"name: {path.stem}\n{FAMILIES[number % len(FAMILIES)](rng)}", encoding="utf-8")
            try:
                sized = sizing.size(case.load(path))
                planned(sized), jigs_of(sized)
                break
            except MoldgenError as error:
                said = error
        else:
            raise said


class Run:
    """A build of a folder under way, with the memory of its processes."""

    def __init__(self, specs: Path, out: Path, *, jobs: int) -> None:
        self.started = time.perf_counter()
        command = [
            sys.executable,
            "-m",
            "moldgen",
            "build",
            str(specs),
            "--out",
            str(out),
            "--jobs",
            str(jobs),
            "--json",
        ]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8", start_new_session=True
        )
        self.peak_mb: dict[int, int] = defaultdict(int)
        self.course_mb: dict[int, list[int]] = defaultdict(list)
        self._watching = threading.Thread(target=self._watch, daemon=True)
        self._watching.start()

    def _watch(self) -> None:
        while self.process.poll() is None:
            for pid in self._session():
                try:
                    text = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
                except OSError:
                    continue
                of = dict(line.split(":", 1) for line in text.splitlines())
                if "VmHWM" in of:
                    self.peak_mb[pid] = int(of["VmHWM"].split()[0]) // 1024
                    self.course_mb[pid].append(int(of["VmRSS"].split()[0]) // 1024)
            time.sleep(SAMPLED_S)

    def _session(self) -> Iterator[int]:
        for place in Path("/proc").glob("[0-9]*"):
            try:
                if os.getsid(int(place.name)) == self.process.pid:
                    yield int(place.name)
            except OSError:
                continue

    def ended(self) -> tuple[float, str]:
        """Seconds, and what it answered."""
        out, err = self.process.communicate()
        seconds = time.perf_counter() - self.started
        self._watching.join()
        print(f"  exit status {self.process.returncode}, {seconds:.1f} s{', ' + err.strip() if err.strip() else ''}")
        return seconds, out

    def print_memory(self) -> None:
        for pid, course in self.course_mb.items():
            if self.peak_mb[pid] > 100:
                tenths = [max(course[: max(1, len(course) * tenth // 10)]) for tenth in (2, 4, 6, 8, 10)]
                role = "parent" if pid == self.process.pid else "worker"
                print(f"  {role}: at most {self.peak_mb[pid]} MB; by each fifth of its life {tenths} MB")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as folder:
        specs, few, out = Path(folder) / "specs", Path(folder) / "few", Path(folder) / "out"
        write_specs(specs, count)
        few.mkdir()
        for path in sorted(specs.iterdir())[:COMPARED]:
            (few / path.name).write_bytes(path.read_bytes())
        for jobs in (1, 2):
            print(f"{COMPARED} specs, {jobs} jobs")
            Run(few, Path(folder) / f"out_{jobs}", jobs=jobs).ended()

        print(f"{count} specs, 2 jobs, asked to end half-way")
        run = Run(specs, out, jobs=2)
        while run.process.poll() is None and len(list(out.glob("part_*"))) < count // 2:
            time.sleep(SAMPLED_S)
        run.process.send_signal(signal.SIGTERM)
        asked = time.perf_counter()
        first_s, _ = run.ended()
        made = {path: path.stat().st_mtime_ns for path in out.glob("part_*/job.json")}
        print(f"  ended {time.perf_counter() - asked:.1f} s after it was asked to, {len(made)} parts stand,", end=" ")
        time.sleep(LINGERS_S)
        print(f"left behind: {sorted(path.name for path in out.glob('.*'))}, processes: {list(run._session())}")
        run.print_memory()

        print("resumed")
        run = Run(specs, out, jobs=2)
        second_s, answer = run.ended()
        again = sum(path.stat().st_mtime_ns != when for path, when in made.items())
        parts = json.loads(answer)
        print(
            f"  {len(parts)} parts, of those that stood {again} were built again; both runs {first_s + second_s:.0f} s"
        )
        print(f"  proofs do not hold: {[one['name'] for one in parts if not one['inspection']['passed']]}")
        run.print_memory()

        print("once more, all current")
        Run(specs, out, jobs=2).ended()


if __name__ == "__main__":
    main()
