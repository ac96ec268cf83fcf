"""CPU seconds that the job sheet costs of a build: drawings, pictures with page and 3D view, and the PDF.

python benchmarks/sheet_time.py [rounds]

Every example is built in this one process, so that no start-up is counted; the first is built once more before. CPU
time, that of all threads together, because it does not grow when other work shares the machine. Asked of drawings,
pictures and page together: at most 2 s for each part.
"""

import statistics
import sys
import tempfile
import time
from pathlib import Path
from unittest import mock

from moldgen import case, job, sizing

SPECS = sorted((Path(__file__).resolve().parents[1] / "part_specs").glob("*.yaml"))
STAGES = ("drawings", "drawing of the mold", "pictures", "sheet", "pdf")
ASKED_S = 2.0


def stages(spec: Path, out: Path) -> dict[str, float]:
    with mock.patch.object(job.time, "perf_counter", time.process_time):
        return job.build(sizing.size(case.load(spec)), out, pdf=True).seconds


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    with tempfile.TemporaryDirectory() as folder:
        stages(SPECS[0], Path(folder))
        print(f"{'CPU seconds, medians':28s}" + "".join(f"{stage:>20s}" for stage in (*STAGES, "asked", "build")))
        for spec in SPECS:
            taken = [stages(spec, Path(folder)) for _ in range(rounds)]
            median = {stage: statistics.median(one[stage] for one in taken) for stage in taken[0]}
            asked = sum(median[stage] for stage in STAGES if stage != "pdf")
            row = [*(median[stage] for stage in STAGES), asked, sum(median.values())]
            late = "" if asked <= ASKED_S else "   over"
            print(f"{spec.stem:28s}" + "".join(f"{seconds:20.2f}" for seconds in row) + late, flush=True)


if __name__ == "__main__":
    main()
