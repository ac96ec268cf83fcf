"""`moldgen elastomers`."""

from __future__ import annotations

import sys

from moldgen import elastomers, families
from moldgen.cli import exits


def run(family: str | None, *, as_json: bool) -> int:
    """Prints the table, or the table ranked for a family; returns the exit status."""
    if family is not None and family not in families.names():
        print(f"There is no family `{family}`. Known: {', '.join(families.names())}.", file=sys.stderr)
        return exits.UNUSABLE
    if family is not None:
        return _ranked(family, as_json=as_json)
    table = elastomers.table()
    if as_json:
        exits.print_json({"schema": "moldgen/elastomers/1", "elastomers": [one.as_json() for one in table]})
    else:
        from moldgen.cli.tables import print_elastomers

        print_elastomers(table)
    return exits.DONE


def _ranked(family: str, *, as_json: bool) -> int:
    from moldgen.choosing import NOT_KNOWN, ageing, ranked

    order = ranked(family)
    if as_json:
        exits.print_json(
            {
                "schema": "moldgen/elastomers/1",
                "for": family,
                "ranked": [one.as_json() for one in order],
                "elastomers": [one.elastomer.as_json() for one in order],
                "ageing": {title: list(notes) for title, notes in ageing().items()},
                "not_known": list(NOT_KNOWN),
            }
        )
    else:
        from moldgen.cli.tables import print_ranked

        print_ranked(order, ageing(), NOT_KNOWN)
    return exits.DONE
