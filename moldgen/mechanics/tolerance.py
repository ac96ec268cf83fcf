"""How exact a molded rubber part can be asked to be: the classes of ISO 3302-1.

The standard means press-molded series parts, M3 being the usual class, and leaves out O-rings. A single
cold-cast part may fairly be held to M2 in its fixed dimensions, to M3 across the parting (our own judgement).
"""

from __future__ import annotations

from bisect import bisect_left
from typing import Final, Literal

from moldgen.errors import require_range

Grade = Literal["M1", "M2", "M3", "M4"]
"""From precise to coarse."""

Kind = Literal["fixed", "closure"]
"""Fixed: shaped within one half of the mold. Closure: across its parting, so flash comes on top."""

GRADES: Final[tuple[Grade, ...]] = ("M1", "M2", "M3", "M4")

_UP_TO_MM: Final = (4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0, 160.0)
"""Upper ends of the ranges, each of which includes its own."""

# ISO 3302-1:1996 and 2014, table 1: half-widths in mm for the ranges above, then a share of the dimension.
# Three independent copies of the table agree on these; M4 makes no difference between fixed and closure.
_M4: Final = ((0.50, 0.50, 0.70, 0.80, 1.00, 1.30, 1.60, 2.00, 2.50), 0.015)
_TABLE: Final[dict[tuple[Grade, Kind], tuple[tuple[float, ...], float]]] = {
    ("M1", "fixed"): ((0.08, 0.10, 0.10, 0.15, 0.20, 0.20, 0.25, 0.35, 0.40), 0.003),
    ("M1", "closure"): ((0.10, 0.12, 0.15, 0.20, 0.20, 0.25, 0.35, 0.40, 0.50), 0.004),
    ("M2", "fixed"): ((0.10, 0.15, 0.20, 0.20, 0.25, 0.35, 0.40, 0.50, 0.70), 0.005),
    ("M2", "closure"): ((0.15, 0.20, 0.20, 0.25, 0.35, 0.40, 0.50, 0.70, 0.80), 0.007),
    ("M3", "fixed"): ((0.25, 0.25, 0.30, 0.40, 0.50, 0.60, 0.80, 1.00, 1.30), 0.008),
    ("M3", "closure"): ((0.40, 0.40, 0.50, 0.60, 0.80, 1.00, 1.30, 1.60, 2.00), 0.013),
    ("M4", "fixed"): _M4,
    ("M4", "closure"): _M4,
}


def tolerance_mm(*, dimension_mm: float, grade: Grade, kind: Kind) -> float:
    """The half-width ± that a class allows on a dimension.

    Source: ISO 3302-1:1996 and 2014, table 1, as three independent copies give it.
    Range: 0.01 mm to 10 m; past 160 mm a share of the dimension. Measure no sooner than 16 h after the cure.

    25 mm is the last of its row, and 200 mm has 0.5 % = 1 mm:

    >>> tolerance_mm(dimension_mm=25.0, grade="M2", kind="fixed")
    0.25
    >>> tolerance_mm(dimension_mm=200.0, grade="M2", kind="fixed")
    1.0
    """
    require_range("dimension_mm", dimension_mm, 0.01, 10_000.0)
    half_widths_mm, share_beyond = _TABLE[grade, kind]
    row = bisect_left(_UP_TO_MM, dimension_mm)
    return half_widths_mm[row] if row < len(half_widths_mm) else share_beyond * dimension_mm


def finest_class(*, dimension_mm: float, half_width_mm: float, kind: Kind) -> Grade | None:
    """The most precise class that a dimension known to ± `half_width_mm` keeps; None if not even M4.

    Source and range: as `tolerance_mm`.

    31.95 ± 0.3 mm lies between M1 (0.20) and M2 (0.35):

    >>> finest_class(dimension_mm=31.95, half_width_mm=0.3, kind="fixed")
    'M2'
    """
    require_range("half_width_mm", half_width_mm, 0.0, 10_000.0)
    for grade in GRADES:
        if half_width_mm <= tolerance_mm(dimension_mm=dimension_mm, grade=grade, kind=kind):
            return grade
    return None
