"""What casting shrinkage does to a part, free in the mold or held by the hub that it was cast on.

`linear_shrinkage` is always the free one, s = (mold - part)/mold, and only what comes after the gel point:
until then the sprue feeds the cavity. A cover bonded to a rigid hub cannot shrink along or around the hub, so
nearly all of its volume shrinkage goes into the wall. The usual "three times s of the wall" holds for a thin
long layer only; the exact long cylinder and the exact flat disc are given here, and a rule between them for
real lengths.

The cover comes out waisted and its end faces dished, for the ends draw in along the axis and lose less
radius. Only finite elements tell by how much: hub 10, mold 16 and length 10 mm at s = 0.6 % in our own run
ends 0.023 mm larger in diameter than it is in the middle, each end face drawn in by 0.033 mm outside.
"""

from __future__ import annotations

import math
from typing import Final, Literal, assert_never

from moldgen.errors import require_range
from moldgen.mechanics.solve import root

CoverPlace = Literal["middle", "mean"]
"""Where along a cover's length its radius is meant: in its middle, or on average from end to end."""

MOST_SHRINKAGE: Final = 0.02
"""The cover formulas are linear in s; beyond this the next term no longer hides behind a caliper's error."""


def mold_length_mm(*, part_length_mm: float, linear_shrinkage: float) -> float:
    """The length that the cavity must have for a free part to come out right: part/(1 - s), not part (1 + s).

    Source: shrinkage counted on the mold, as in ASTM D2566 and ISO 294-4.
    Range: 0 <= s <= 0.2; a part that nothing in the mold holds.

    By hand: 49/(1 - 0.02) = 50

    >>> round(mold_length_mm(part_length_mm=49.0, linear_shrinkage=0.02), 9)
    50.0
    """
    require_range("linear_shrinkage", linear_shrinkage, 0.0, 0.2)
    return part_length_mm / (1.0 - linear_shrinkage)


def long_cover_radius_change_mm(*, hub_radius_mm: float, mold_radius_mm: float, linear_shrinkage: float) -> float:
    """Change of a long cover's outer radius far from its ends, negative: -1.5 s (Rm^2 - ri^2)/Rm.

    Incompressible and bonded all along, it keeps its length, so the wall takes all of the 3 s of volume.

    Source: derived for plane strain; S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, on thermal
    stress in a long cylinder (from memory).
    Range: s up to 2 %, linear.

    By hand: -1.5 * 0.01 * (10^2 - 5^2)/10 = -0.1125

    >>> round(long_cover_radius_change_mm(hub_radius_mm=5.0, mold_radius_mm=10.0, linear_shrinkage=0.01), 9)
    -0.1125
    """
    _require_cover(hub_radius_mm, mold_radius_mm, linear_shrinkage)
    return -1.5 * linear_shrinkage * (mold_radius_mm**2 - hub_radius_mm**2) / mold_radius_mm


def disc_cover_radius_change_mm(*, hub_radius_mm: float, mold_radius_mm: float, linear_shrinkage: float) -> float:
    """Change of a thin disc's outer radius on its hub, negative: -s (Rm^2 - ri^2)/Rm / (1 + (ri/Rm)^2/3).

    Incompressible and in plane stress: it may shrink along the axis as it likes.

    Source: derived; plane stress solution of a disc on a rigid hub.
    Range: s up to 2 %, linear.

    By hand: -0.01 * (10^2 - 5^2)/10 / (1 + 0.25/3) = -0.075/1.08333 = -0.06923

    >>> round(disc_cover_radius_change_mm(hub_radius_mm=5.0, mold_radius_mm=10.0, linear_shrinkage=0.01), 5)
    -0.06923
    """
    _require_cover(hub_radius_mm, mold_radius_mm, linear_shrinkage)
    free_mm = -linear_shrinkage * (mold_radius_mm**2 - hub_radius_mm**2) / mold_radius_mm
    return free_mm / (1.0 + (hub_radius_mm / mold_radius_mm) ** 2 / 3.0)


def hold_of_length(*, length_over_wall: float, at: CoverPlace = "mean") -> float:
    """How far a rubber layer held along its hub is from a thin disc (0) towards a long cylinder (1).

    With x = length/wall: 1 - exp(-0.149 x^1.34) in the middle, 1 - exp(-0.128 x) as the mean over the length.

    Source: our own fit to our own axisymmetric finite-element run (incompressible, bonded, hub over outer
    radius 0.33 to 0.95, x 0.5 to 20): within 0.05 of s times the wall in the middle, within 0.075 as the
    mean.
    Range: any x; outside 0.5 to 20 only the limits 0 and 1 are known.

    By hand: 1 - exp(-0.128 * 5) = 1 - 0.52729 = 0.47271

    >>> round(hold_of_length(length_over_wall=5.0), 5)
    0.47271
    """
    require_range("length_over_wall", length_over_wall, 0.0, math.inf)
    match at:
        case "middle":
            return -math.expm1(-0.149 * length_over_wall**1.34)
        case "mean":
            return -math.expm1(-0.128 * length_over_wall)
        case _:
            assert_never(at)


def cover_radius_change_mm(
    *,
    hub_radius_mm: float,
    mold_radius_mm: float,
    length_mm: float,
    linear_shrinkage: float,
    at: CoverPlace = "mean",
) -> float:
    """Change of a cast-on cover's outer radius as it cures, negative: disc + hold (long - disc).

    Source: the two limits above, and `hold_of_length` between them; within 3 % of finite elements in four
    cases from hub 10 on mold 13 and length 20 mm to hub 32 on mold 40 and length 5 mm.
    Range: bonded, s up to 2 %.

    By hand, a wall of 5 and 25 mm long: -0.06923 + 0.47271 * (-0.1125 + 0.06923) = -0.08968

    >>> round(cover_radius_change_mm(hub_radius_mm=5.0, mold_radius_mm=10.0, length_mm=25.0,
    ...                              linear_shrinkage=0.01), 5)
    -0.08968
    """
    require_range("length_mm", length_mm, 0.1, 1000.0)
    long_mm = long_cover_radius_change_mm(
        hub_radius_mm=hub_radius_mm, mold_radius_mm=mold_radius_mm, linear_shrinkage=linear_shrinkage
    )
    disc_mm = disc_cover_radius_change_mm(
        hub_radius_mm=hub_radius_mm, mold_radius_mm=mold_radius_mm, linear_shrinkage=linear_shrinkage
    )
    hold = hold_of_length(length_over_wall=length_mm / (mold_radius_mm - hub_radius_mm), at=at)
    return disc_mm + hold * (long_mm - disc_mm)


def mold_radius_for_cover_mm(
    *,
    hub_radius_mm: float,
    cover_radius_mm: float,
    length_mm: float,
    linear_shrinkage: float,
    at: CoverPlace = "mean",
) -> float:
    """The cavity's radius from which a cast-on cover shrinks to the wanted one: Rm + dR(Rm) = ro.

    The bore needs no such thing: it is the hub.

    Source and range: as `cover_radius_change_mm`. For a cover that will be ground, ask for the largest
    radius.

    Without shrinkage the mold is the part:

    >>> mold_radius_for_cover_mm(hub_radius_mm=5.0, cover_radius_mm=8.0, length_mm=10.0, linear_shrinkage=0.0)
    8.0
    """
    _require_cover(hub_radius_mm, cover_radius_mm, linear_shrinkage)

    def excess_mm(mold_radius_mm: float) -> float:
        change_mm = cover_radius_change_mm(
            hub_radius_mm=hub_radius_mm,
            mold_radius_mm=mold_radius_mm,
            length_mm=length_mm,
            linear_shrinkage=linear_shrinkage,
            at=at,
        )
        return mold_radius_mm + change_mm - cover_radius_mm

    # No cover loses more than a long one without a hub, 1.5 s Rm.
    return root(excess_mm, cover_radius_mm, cover_radius_mm / (1.0 - 1.5 * linear_shrinkage))


def _require_cover(hub_radius_mm: float, outer_radius_mm: float, linear_shrinkage: float) -> None:
    require_range("hub_radius_mm", hub_radius_mm, 0.1, 1000.0)
    require_range("outer_radius_mm", outer_radius_mm, 1.001 * hub_radius_mm, 1000.0)
    require_range("linear_shrinkage", linear_shrinkage, 0.0, MOST_SHRINKAGE)
