"""`moldgen build`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.cli import exits
from moldgen.cli.loading import sized
from moldgen.errors import GeometryError, MoldgenError
from moldgen.paper.typesetting import require_typesetter

if TYPE_CHECKING:
    from moldgen.alongside import Alongside
    from moldgen.job import Build
    from moldgen.many import Standing


def run(specs: Sequence[Path], out: Path, *, strict: bool, as_json: bool, pdf: bool, jobs: int, again: bool) -> int:
    """Builds each spec into a folder of its own, several with a page for all of them; returns the exit status.

    Nothing is written unless all specs can be used. A part that the kernel refuses leaves the others standing. Unless
    `again`, a part whose build is current is left as it is.
    """
    done, errors = sized(specs)
    if pdf:
        try:
            require_typesetter()
        except MoldgenError as error:
            errors.append(error)
    if errors:
        exits.say_problems(errors, as_json=as_json)
        return exits.UNUSABLE

    from moldgen.alongside import Alongside
    from moldgen.jigs.order import jigs_of
    from moldgen.many import build_each, standing

    made: dict[str, Build | Standing] = {}
    for one in done:
        try:
            earlier = standing(one, out, pdf=pdf)
            jigs_of(one)
        except MoldgenError as error:
            errors.append(error)
            continue
        if earlier is not None and not again:
            made[one.case.name] = earlier
    if errors:
        exits.say_problems(errors, as_json=as_json)
        return exits.UNUSABLE

    from moldgen.cli.build_tables import print_made
    from moldgen.cli.tables import progress

    missing = [one for one in done if one.case.name not in made]
    jobs = max(1, min(jobs, len(missing)))
    with (
        _helpers() if missing and jobs == 1 else nullcontext(Alongside()) as alongside,
        closing(build_each(missing, out, jobs=jobs, pdf=pdf, alongside=alongside)) as results,
        progress(len(missing)) as step,
    ):
        for one in missing:
            step(one.case.name)
            result = next(results)
            if isinstance(result, GeometryError):
                errors.append(exits.placed(result, one.case.document.file))
            elif isinstance(result, MoldgenError):
                errors.append(result)
            else:
                made[one.case.name] = result
    builds = [made[one.case.name] for one in done if one.case.name in made]
    if len(builds) > 1:
        from moldgen.output.sheet.kit import write_kit_page

        try:
            write_kit_page(out, builds)
        except MoldgenError as error:
            errors.append(error)
    if errors:
        exits.say_problems(errors, as_json=as_json and not builds)
    if as_json and (builds or not errors):
        exits.print_json([build.as_json() for build in builds])
    elif not as_json:
        for build in builds:
            print_made(build)
    if errors:
        return exits.UNUSABLE
    failed = any(not build.passed for build in builds) or (strict and any(build.sizing.remarks for build in builds))
    return exits.PROOF_FAILED if failed else exits.DONE


@contextmanager
def _helpers() -> Iterator[Alongside]:
    """Two more processes: one for meshes, which loads what it needs meanwhile; a copy of this one, kernel and all."""
    from moldgen.alongside import Alongside, kernel_process, mesh_process

    with mesh_process() as meshes:
        from moldgen import job  # noqa: F401

        with kernel_process() as kernel:
            yield Alongside(kernel, meshes)
