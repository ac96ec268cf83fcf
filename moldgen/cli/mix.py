"""`moldgen mix`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldgen.cli import exits
from moldgen.cli.loading import sized
from moldgen.errors import GeometryError, MoldgenError
from moldgen.sizing import Sizing


def run(
    specs: Sequence[Path],
    out: Path,
    *,
    may_build: bool,
    spare_percent: float | None,
    scale_step_g: float | None,
    as_json: bool,
) -> int:
    """Prints a weigh-out for each cup of the kit; returns the exit status.

    Molds that have no current build in `out` are built, unless that is not wanted. Nothing is built if a spec cannot
    be used.
    """
    done, errors = sized(specs)
    errors += _unplanned(done)
    if not errors:
        from moldgen.cli.tables import progress
        from moldgen.kitting import kit_part, weigh_out_kit

        parts = []
        with progress(len(done)) as step:
            for one in done:
                step(one.case.name)
                try:
                    parts.append(kit_part(one, out=out, may_build=may_build))
                except GeometryError as error:
                    errors.append(exits.placed(error, one.case.document.file))
                except MoldgenError as error:
                    errors.append(error)
        if not errors:
            try:
                spare = None if spare_percent is None else spare_percent / 100.0
                kit = weigh_out_kit(parts, spare=spare, scale_step_g=scale_step_g)
            except MoldgenError as error:
                errors.append(error)
    if errors:
        exits.say_problems(errors, as_json=as_json)
        return exits.UNUSABLE
    if as_json:
        exits.print_json(kit.as_json())
    else:
        from moldgen.cli.kit_tables import print_kit

        print_kit(kit)
    return exits.DONE if kit.proved else exits.PROOF_FAILED


def _unplanned(done: Sequence[Sizing]) -> list[MoldgenError]:
    """Why molds cannot be planned, before any is built."""
    from moldgen.planning import planned

    errors: list[MoldgenError] = []
    for one in done:
        try:
            planned(one)
        except MoldgenError as error:
            errors.append(error)
    return errors
