"""`moldgen build`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldgen.cli import exits
from moldgen.cli.loading import sized
from moldgen.errors import GeometryError, MoldgenError
from moldgen.paper.typesetting import require_typesetter


def run(specs: Sequence[Path], out: Path, *, strict: bool, as_json: bool, pdf: bool = False) -> int:
    """Builds each spec into a folder of its own, several with a page for all of them; returns the exit status.

    Nothing is written unless all specs can be used. A part that the kernel refuses leaves the others standing.
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

    from moldgen import planning
    from moldgen.jigs.order import jigs_of

    for one in done:
        try:
            planning.planned(one)
            jigs_of(one)
        except MoldgenError as error:
            errors.append(error)
    if errors:
        exits.say_problems(errors, as_json=as_json)
        return exits.UNUSABLE

    from moldgen import job  # the CAD kernel comes in here, once it is known that there is something to build
    from moldgen.cli.tables import print_build, progress

    builds = []
    with progress(len(done)) as step:
        for one in done:
            step(one.case.name)
            try:
                builds.append(job.build(one, out, pdf=pdf))
            except GeometryError as error:
                errors.append(exits.placed(error, one.case.document.file))
            except MoldgenError as error:
                errors.append(error)
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
            print_build(build)
    if errors:
        return exits.UNUSABLE
    failed = any(not build.passed for build in builds) or (strict and any(build.sizing.remarks for build in builds))
    return exits.PROOF_FAILED if failed else exits.DONE
