"""One file per part family; the file's name is the family's name.

Families know rubber and machines. They must not know molds, printers, files, the screen or the CAD kernel.
"""

from __future__ import annotations

import difflib
import importlib
import pkgutil

from moldgen.errors import MoldgenError
from moldgen.families.base import Family

_NOT_FAMILIES = {
    "base",
    "belt_pulleys",
    "belt_running",
    "clutch_design",
    "clutch_in_drum",
    "clutch_outline",
    "clutch_remarks",
    "clutch_winding",
    "points",
    "ring_nip",
    "rings_on_metal",
}


class UnknownFamilyError(MoldgenError, KeyError):
    """There is no family of this name; `near` has the nearest known one, if any."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        near = difflib.get_close_matches(name, names(), n=1, cutoff=0.4)
        self.name, self.near = name, near[0] if near else ""


def names() -> tuple[str, ...]:
    """All families, in alphabetical order; reads the folder and imports none of them."""
    return tuple(sorted(m.name for m in pkgutil.iter_modules(__path__) if m.name not in _NOT_FAMILIES))


def find(name: str) -> Family:
    """The family of a name; imports only that family's file. Raises UnknownFamilyError."""
    if name not in names():
        raise UnknownFamilyError(name)
    family: Family = importlib.import_module(f"{__name__}.{name}").FAMILY
    return family
