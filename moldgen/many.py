"""Many parts in one go: what is current is left alone, the rest goes to workers, and no failure stops the others."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.errors import MoldgenError
from moldgen.output.currency import current_build
from moldgen.output.directory import JOB_FILE
from moldgen.planning import planned
from moldgen.sizing import Sizing

if TYPE_CHECKING:
    from moldgen.job import Build
    from moldgen.mold.plan import MoldPlan


@dataclass(frozen=True)
class Standing:
    """A build made earlier that is still what its spec asks for."""

    sizing: Sizing
    plan: MoldPlan
    directory: Path
    record: dict[str, Any]

    @property
    def passed(self) -> bool:
        return bool(self.record["inspection"]["passed"])

    def as_json(self) -> dict[str, Any]:
        """The contract's `build` object; no stage took any time."""
        return {**self.record, "directory": self.directory.as_posix(), "seconds": {}}


def standing(sized: Sizing, out: Path, *, pdf: bool = False) -> Standing | None:
    """The build of a part in out/NAME if nothing that it was made from or that it wrote has changed, else None.

    With `pdf` one that has no PDF does not count. Raises SpecError where the mold cannot be planned.
    """
    plan, folder = planned(sized), out / sized.case.name
    if current_build(folder, sized.case, pour_mm3=plan.pour_mm3) is None:
        return None
    record = json.loads((folder / JOB_FILE).read_text(encoding="utf-8"))
    if pdf and not any(file["format"] == "pdf" for file in record["files"]):
        return None
    return Standing(sized, plan, folder, record)


def build_each(
    parts: Sequence[Sizing], out: Path, *, jobs: int | None = None, pdf: bool = False
) -> Iterator[Build | MoldgenError]:
    """Builds each part into out/NAME and yields, in their order, its build or the error that it ended in.

    The work goes to joblib: `jobs` processes of this machine, or, left out, whatever `joblib.parallel_config` has
    chosen, a cluster's backend among others (its workers have to see the same folders). The same files come out.
    """
    if jobs == 1:
        yield from (_one(part, out, pdf) for part in parts)
        return
    from joblib import Parallel, delayed

    yield from Parallel(n_jobs=jobs, return_as="generator")(delayed(_one)(part, out, pdf) for part in parts)


def _one(part: Sizing, out: Path, pdf: bool) -> Build | MoldgenError:
    from moldgen import job

    try:
        return job.build(part, out, pdf=pdf)
    except MoldgenError as error:
        return error
