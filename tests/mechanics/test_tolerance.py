"""ISO 3302-1, table 1, as three independent copies print it: a molder's, a distributor's, a rubber lexicon's.

Known slips in copies, not followed: M2 fixed 0.20 up to 4 mm, and a last row but one that begins at 10 mm.
"""

from __future__ import annotations

import itertools
import math

import pytest

from moldgen.errors import RangeError
from moldgen.mechanics.tolerance import GRADES, finest_class, tolerance_mm

# over, up to and including, then fixed and closure for M1, M2, M3, and M4's single figure
PRINTED = """
    0     4.0  .08  .10  .10  .15  .25  .40  .50
    4.0   6.3  .10  .12  .15  .20  .25  .40  .50
    6.3  10    .10  .15  .20  .20  .30  .50  .70
   10    16    .15  .20  .20  .25  .40  .60  .80
   16    25    .20  .20  .25  .35  .50  .80 1.00
   25    40    .20  .25  .35  .40  .60 1.00 1.30
   40    63    .25  .35  .40  .50  .80 1.30 1.60
   63   100    .35  .40  .50  .70 1.00 1.60 2.00
  100   160    .40  .50  .70  .80 1.30 2.00 2.50
"""
PER_CENT_BEYOND_160 = (0.3, 0.4, 0.5, 0.7, 0.8, 1.3, 1.5)

COLUMNS = [*itertools.product(("M1", "M2", "M3"), ("fixed", "closure")), ("M4", "fixed")]
ROWS = [[float(word) for word in line.split()] for line in PRINTED.strip().splitlines()]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"to {row[1]:g} mm")
def test_every_printed_cell_holds_from_just_over_to_including_its_end(row):
    over_mm, to_mm, *cells = row
    for (grade, kind), cell in zip(COLUMNS, cells, strict=True):
        for dimension_mm in (over_mm + 0.01, to_mm):
            assert tolerance_mm(dimension_mm=dimension_mm, grade=grade, kind=kind) == cell


@pytest.mark.parametrize("dimension_mm", [160.1, 250.0, 1000.0])
def test_long_dimensions_have_a_share_of_their_length(dimension_mm):
    for (grade, kind), per_cent in zip(COLUMNS, PER_CENT_BEYOND_160, strict=True):
        tolerance = tolerance_mm(dimension_mm=dimension_mm, grade=grade, kind=kind)
        assert tolerance == pytest.approx(dimension_mm * per_cent / 100.0, rel=1e-12)


@pytest.mark.parametrize("grade", GRADES)
def test_tolerance_grows_with_size_and_across_the_parting(grade):
    sizes_mm = [row[1] for row in ROWS]
    fixed, closure = (
        [tolerance_mm(dimension_mm=size_mm, grade=grade, kind=kind) for size_mm in sizes_mm]
        for kind in ("fixed", "closure")
    )
    assert fixed == sorted(fixed)
    assert closure == sorted(closure)
    assert all(across >= within for within, across in zip(fixed, closure, strict=True))


def test_m4_makes_no_difference_between_fixed_and_closure():
    for size_mm in (3.0, 30.0, 300.0):
        fixed, closure = (tolerance_mm(dimension_mm=size_mm, grade="M4", kind=kind) for kind in ("fixed", "closure"))
        assert fixed == closure


@pytest.mark.parametrize(
    ("half_width_mm", "kind", "grade"),
    [
        # Over 25 to 40 mm: fixed .20 .35 .60 1.30, closure .25 .40 1.00 1.30
        (0.0, "fixed", "M1"),
        (0.20, "fixed", "M1"),
        (0.21, "fixed", "M2"),
        (0.21, "closure", "M1"),
        (0.40, "closure", "M2"),
        (0.41, "closure", "M3"),
        (0.61, "fixed", "M4"),
        (1.30, "closure", "M4"),
        (1.31, "closure", None),
    ],
)
def test_finest_class_is_the_first_that_is_wide_enough(half_width_mm, kind, grade):
    assert finest_class(dimension_mm=32.0, half_width_mm=half_width_mm, kind=kind) == grade


@pytest.mark.parametrize("dimension_mm", [-1.0, 0.0, math.nan])
def test_dimension_that_is_none_is_refused(dimension_mm):
    with pytest.raises(RangeError, match="dimension_mm"):
        tolerance_mm(dimension_mm=dimension_mm, grade="M2", kind="fixed")


def test_negative_half_width_is_refused():
    with pytest.raises(RangeError, match="half_width_mm"):
        finest_class(dimension_mm=10.0, half_width_mm=-0.1, kind="fixed")
