"""Kills builds at random moments and says what was found: `python benchmarks/kills.py [COUNT] [SEED]`.

Each trial is a build of its own process over an earlier build, which SIGKILL, SIGINT or SIGTERM ends, to all of its
processes or to the first alone; every fifth builds two parts with `--jobs 2`. Every fourth moment is aimed at the swap
of the folders. What is looked at stands in tests/hostile/killed_builds.py; the tests run a few of the same trials.
"""

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "hostile"))
from killed_builds import Bench, kills


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    found: Counter[str] = Counter()
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        benches = {jobs: Bench(Path(folder) / f"jobs_{jobs}", jobs=jobs) for jobs in (1, 2)}
        seconds = {jobs: bench.seconds for jobs, bench in benches.items()}
        for number, kill in enumerate(kills(count, seed=seed, seconds=seconds)):
            ended = benches[kill.jobs].trial(kill)
            moment = "at the swap" if kill.at_the_swap else "anywhere"
            found[f"{kill.by.name}, {moment}: {' + '.join(sorted(set(ended.states)))}"] += 1
            found["leftovers cleared away by the next build"] += ended.leftovers
            found["faults"] += bool(ended.faults)
            if number % 20 == 19:
                print(f"{number + 1} killed, {found['faults']} with faults", file=sys.stderr)
            if ended.faults:
                print(f"--- {number}: {kill}", *ended.faults, sep="\n", flush=True)
    for what, times in sorted(found.items()):
        print(f"{times:5d}  {what}")
    print(f"{count} builds killed in {time.perf_counter() - start:.0f} s, seed {seed}")


if __name__ == "__main__":
    main()
