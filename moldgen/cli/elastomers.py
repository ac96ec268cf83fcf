"""`moldgen elastomers`."""

from __future__ import annotations

from moldgen import elastomers
from moldgen.cli import exits


def run(*, as_json: bool) -> int:
    """Prints the table; returns the exit status."""
    table = elastomers.table()
    if as_json:
        exits.print_json({"schema": "moldgen/elastomers/1", "elastomers": [one.as_json() for one in table]})
    else:
        from moldgen.cli.tables import print_elastomers

        print_elastomers(table)
    return exits.DONE
