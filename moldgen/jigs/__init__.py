"""Jigs: the printed tools that trim, grind, splice, slit and check a part, and the coupon that checks
the printer.

A jig's plan holds every dimension and is made of plain forms, so it can be compared with the part's sizes without a
solid; `bodies` alone carries plans out. A jig gets the part's dimensions by their names and knows no family.
"""

from typing import Final

NAMES: Final = (
    "length_gauge",
    "arbor",
    "ring_gauge",
    "trimming_block",
    "splice",
    "slitting",
    "ring_cutter",
    "coupon",
)
"""What a spec may ask for; each is a module of this package."""
BLADE_MM: Final = 0.4
"""Thickness of a scalpel's blade, and of a segment of a snap-off knife 9 mm wide: common practice, no source."""
