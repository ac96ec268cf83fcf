"""Many parts in one go: what is current is left alone, the rest goes to workers, and no failure stops the others."""

from __future__ import annotations

import contextlib
import functools
import json
import os
import threading
import time
import warnings
from collections.abc import Generator, Sequence
from concurrent.futures import BrokenExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from moldgen.alongside import Alongside, children_spared
from moldgen.errors import MoldgenError, OutputError
from moldgen.output.currency import current_build
from moldgen.output.directory import JOB_FILE, tidied
from moldgen.planning import planned
from moldgen.sizing import Sizing

if TYPE_CHECKING:
    from moldgen.job import Build
    from moldgen.mold.plan import MoldPlan

LOOKS_UP_S: Final = 0.5
"""How often a worker looks whether whoever started it is still there."""


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
    tidied(folder)
    if current_build(folder, sized.case, pour_mm3=plan.pour_mm3) is None:
        return None
    record = json.loads((folder / JOB_FILE).read_text(encoding="utf-8"))
    if pdf and not any(file["format"] == "pdf" for file in record["files"]):
        return None
    return Standing(sized, plan, folder, record)


def build_each(
    parts: Sequence[Sizing],
    out: Path,
    *,
    jobs: int | None = None,
    pdf: bool = False,
    alongside: Alongside | None = None,
) -> Generator[Build | MoldgenError, None, None]:
    """Builds each part into out/NAME and yields, in their order, its build or the error that it ended in.

    The work goes to joblib: `jobs` processes of this machine, or, left out, whatever `joblib.parallel_config` has
    chosen, a cluster's backend among others (its workers have to see the same folders). With one job, `alongside` helps
    with each part in turn. The same files come out.
    """
    if jobs == 1:
        yield from (_one(part, out, pdf, alongside) for part in parts)
        return
    waiting = list(parts)
    try:
        while waiting:
            with contextlib.closing(_by_workers(tuple(waiting), out, jobs=jobs, pdf=pdf)) as results:
                try:
                    for result in results:
                        del waiting[0]
                        yield result
                except BrokenExecutor:
                    # One that takes its process down, in the kernel, say, or for want of memory, takes all others down.
                    yield _by_itself(waiting.pop(0), out, jobs=jobs, pdf=pdf)
    finally:
        for part in parts:  # workers that were ended leave what they had begun
            tidied(out / part.case.name)


def _by_itself(part: Sizing, out: Path, *, jobs: int | None, pdf: bool) -> Build | MoldgenError:
    try:
        (result,) = _by_workers((part,), out, jobs=jobs, pdf=pdf)
    except BrokenExecutor:
        return OutputError(
            f"{out / part.case.name}: the process that built it came to an end, perhaps for want of memory. Close "
            "other programs, and build it again by itself."
        )
    return result


def _by_workers(
    parts: Sequence[Sizing], out: Path, *, jobs: int | None, pdf: bool
) -> Generator[Build | MoldgenError, None, None]:
    """The results as they come, in order. Closed before the end, it ends the workers too."""
    from joblib import Parallel, delayed
    from joblib.externals.loky.backend import resource_tracker

    if jobs is None:
        workers, work = Parallel(return_as="generator"), functools.partial(_one, out=out, pdf=pdf)
    else:
        workers = Parallel(n_jobs=jobs, backend="loky", return_as="generator")
        work = functools.partial(_for_parent, out=out, pdf=pdf, parent=os.getpid())
    resource_tracker.ensure_running()  # of the workers' library; see children_spared
    with children_spared():
        results = workers(delayed(work)(part) for part in parts)
    try:
        for result in results:  # noqa: UP028 - `yield from` would close them first, with a warning
            yield result
    finally:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # that not all was done is what was asked for
            results.close()


def _for_parent(part: Sizing, out: Path, pdf: bool, parent: int) -> Build | MoldgenError:
    if os.getpid() != parent:
        _belong_to(parent)
    return _one(part, out, pdf)


@functools.cache
def _belong_to(parent: int) -> None:
    """Has this process end soon after its parent, however that ended."""

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(LOOKS_UP_S)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _one(part: Sizing, out: Path, pdf: bool, alongside: Alongside | None = None) -> Build | MoldgenError:
    from moldgen import job

    try:
        return job.build(part, out, pdf=pdf, alongside=alongside)
    except MoldgenError as error:
        return error
