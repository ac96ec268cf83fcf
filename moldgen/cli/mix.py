"""`moldgen mix`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldgen.cli import exits
from moldgen.cli.loading import sized
from moldgen.errors import MoldgenError


def run(specs: Sequence[Path], *, spare_percent: float | None, scale_step_g: float | None, as_json: bool) -> int:
    """Prints one weigh-out for each elastomer of the kit; returns the exit status."""
    done, errors = sized(specs)
    if not errors:
        from moldgen.kitting import weigh_out_kit

        try:
            kit = weigh_out_kit(
                done, spare=None if spare_percent is None else spare_percent / 100.0, scale_step_g=scale_step_g
            )
        except MoldgenError as error:
            errors.append(error)
    if errors:
        exits.say_problems(errors, as_json=as_json)
        return exits.UNUSABLE
    if as_json:
        exits.print_json(kit.as_json())
    else:
        from moldgen.cli.tables import print_kit

        print_kit(kit)
    return exits.DONE
