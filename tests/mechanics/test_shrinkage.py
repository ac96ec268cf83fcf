"""Cast-on covers against closed forms and our own finite elements; free parts against the definition.

Reference covers B1 to B6 are radius changes per unit of shrinkage, computed by a separate program and printed
to five digits. The finite-element rows are our own axisymmetric run (nu = 0.4999, bonded).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.errors import RangeError
from moldgen.mechanics.shrinkage import (
    cover_radius_change_mm,
    disc_cover_radius_change_mm,
    hold_of_length,
    long_cover_radius_change_mm,
    mold_length_mm,
    mold_radius_for_cover_mm,
)

SHRINKAGE = 0.006


def five_digits(value: float) -> object:
    """Agrees with a figure printed to five significant digits."""
    return pytest.approx(value, abs=0.5001 * 10.0 ** (math.floor(math.log10(abs(value))) - 4))


@dataclass(frozen=True)
class Cover:
    hub_diameter_mm: float
    mold_diameter_mm: float
    length_mm: float
    long: float
    disc: float
    rule_middle: float
    rule_mean: float
    mold_diameter_if_long_mm: float
    mold_diameter_by_rule_mm: float
    middle_by_finite_elements: float
    mean_by_finite_elements: float

    @property
    def radii_mm(self) -> dict[str, float]:
        return {"hub_radius_mm": self.hub_diameter_mm / 2, "mold_radius_mm": self.mold_diameter_mm / 2}

    def change(self, at: str) -> float:
        """By the rule, per unit of shrinkage."""
        change_mm = cover_radius_change_mm(**self.radii_mm, length_mm=self.length_mm, linear_shrinkage=SHRINKAGE, at=at)
        return change_mm / SHRINKAGE


# fmt: off
B1 = Cover(10, 16, 10, -7.3125, -4.3134, -5.8928, -5.355, 16.089, 16.064, -5.9236, -5.3583)
B3 = Cover(10, 20, 15, -11.25, -6.9231, -8.9898, -8.3028, 20.136, 20.1, -8.9682, -8.219)
B5 = Cover(32, 40, 5, -10.8, -5.9341, -6.8198, -6.6535, 40.131, 40.08, -6.7807, -6.6164)
B6 = Cover(10, 13, 20, -3.9808, -2.2166, -3.9661, -3.6606, 13.048, 13.044, -3.9571, -3.6381)
# fmt: on
COVERS = pytest.mark.parametrize("cover", [B1, B3, B5, B6], ids=["B1", "B3", "B5", "B6"])


@COVERS
def test_limits_and_rule_have_the_reference_values(cover):
    long_mm = long_cover_radius_change_mm(**cover.radii_mm, linear_shrinkage=SHRINKAGE)
    disc_mm = disc_cover_radius_change_mm(**cover.radii_mm, linear_shrinkage=SHRINKAGE)
    assert long_mm / SHRINKAGE == five_digits(cover.long)
    assert disc_mm / SHRINKAGE == five_digits(cover.disc)
    assert cover.change("middle") == five_digits(cover.rule_middle)
    assert cover.change("mean") == five_digits(cover.rule_mean)


@COVERS
def test_rule_agrees_with_finite_elements(cover):
    assert cover.change("middle") == pytest.approx(cover.middle_by_finite_elements, rel=0.04)
    assert cover.change("mean") == pytest.approx(cover.mean_by_finite_elements, rel=0.04)


def test_three_times_s_of_the_wall_is_not_what_happens():
    # Hub 10, mold 16, length 10 mm: the rule of thumb says -9, finite elements -5.36 per unit of shrinkage.
    rule_of_thumb = -3.0 * (B1.mold_diameter_mm - B1.hub_diameter_mm) / 2.0
    assert B1.change("mean") > 0.85 * rule_of_thumb
    assert B1.change("middle") > 0.85 * rule_of_thumb


@COVERS
def test_mold_for_a_wanted_cover_has_the_reference_diameter(cover):
    mold_mm = 2.0 * mold_radius_for_cover_mm(
        hub_radius_mm=cover.hub_diameter_mm / 2,
        cover_radius_mm=cover.mold_diameter_mm / 2,
        length_mm=cover.length_mm,
        linear_shrinkage=SHRINKAGE,
    )
    # The reference stopped after the first fixed-point step, Rm = ro - dR(ro); the next adds some 3 s of it.
    first_step_mm = cover.mold_diameter_mm - 2.0 * SHRINKAGE * cover.change("mean")
    assert first_step_mm == five_digits(cover.mold_diameter_by_rule_mm)
    assert mold_mm == pytest.approx(first_step_mm, abs=0.001)
    assert mold_mm > first_step_mm


@COVERS
def test_long_cover_keeps_its_volume_less_three_s(cover):
    # Exact for any s: Rm^2 = ri^2 + (ro^2 - ri^2)/(1 - s)^3. The rule is linear, so it errs by a share of the
    # change in the order of s.
    hub_mm, outer_mm = cover.hub_diameter_mm / 2, cover.mold_diameter_mm / 2
    exact_mm = math.sqrt(hub_mm**2 + (outer_mm**2 - hub_mm**2) / (1.0 - SHRINKAGE) ** 3)
    assert 2.0 * exact_mm == five_digits(cover.mold_diameter_if_long_mm)
    mold_mm = mold_radius_for_cover_mm(
        hub_radius_mm=hub_mm, cover_radius_mm=outer_mm, length_mm=1000.0, linear_shrinkage=SHRINKAGE
    )
    assert mold_mm - outer_mm == pytest.approx(exact_mm - outer_mm, rel=1.5 * SHRINKAGE)


def test_thin_wide_layer_loses_three_s_of_its_wall():
    # Flat layer on a rigid base: dt/t = -s (1 + nu)/(1 - nu) = -3 s at nu = 1/2 (thermal stress texts).
    change_mm = long_cover_radius_change_mm(hub_radius_mm=99.8, mold_radius_mm=100, linear_shrinkage=0.01)
    assert change_mm == pytest.approx(-3.0 * 0.01 * 0.2, rel=2e-3)


def test_disc_without_a_hub_shrinks_freely():
    change_mm = disc_cover_radius_change_mm(hub_radius_mm=0.1, mold_radius_mm=100.0, linear_shrinkage=0.01)
    assert change_mm == pytest.approx(-0.01 * 100.0, rel=1e-5)


@pytest.mark.parametrize("at", ["middle", "mean"])
def test_hold_grows_from_a_disc_to_a_long_cylinder(at):
    holds = [hold_of_length(length_over_wall=x, at=at) for x in (0.0, 0.5, 1.0, 2.0, 5.0, 20.0, 1000.0)]
    assert holds[0] == 0.0
    assert holds[-1] == pytest.approx(1.0)
    assert holds == sorted(holds)


HUBS = st.floats(1.0, 100.0)
RATIOS = st.floats(1.05, 3.0)
LENGTHS = st.floats(1.0, 200.0)
SHRINKAGES = st.floats(0.0, 0.02)


@given(HUBS, RATIOS, LENGTHS, SHRINKAGES, st.sampled_from(["middle", "mean"]))
def test_cover_cast_in_its_mold_shrinks_to_the_wanted_radius(hub_mm, ratio, length_mm, shrinkage, at):
    wanted_mm = ratio * hub_mm
    mold_mm = mold_radius_for_cover_mm(
        hub_radius_mm=hub_mm,
        cover_radius_mm=wanted_mm,
        length_mm=length_mm,
        linear_shrinkage=shrinkage,
        at=at,
    )
    change_mm = cover_radius_change_mm(
        hub_radius_mm=hub_mm,
        mold_radius_mm=mold_mm,
        length_mm=length_mm,
        linear_shrinkage=shrinkage,
        at=at,
    )
    assert mold_mm + change_mm == pytest.approx(wanted_mm, rel=1e-12)
    assert mold_mm >= wanted_mm


@given(HUBS, RATIOS, LENGTHS, st.floats(1e-4, 0.02))
def test_cover_lies_between_disc_and_long_cylinder_and_ends_waisted(hub_mm, ratio, length_mm, shrinkage):
    radii_mm = {"hub_radius_mm": hub_mm, "mold_radius_mm": ratio * hub_mm, "linear_shrinkage": shrinkage}
    least_mm, most_mm = disc_cover_radius_change_mm(**radii_mm), long_cover_radius_change_mm(**radii_mm)
    mean_mm = cover_radius_change_mm(**radii_mm, length_mm=length_mm)
    assert most_mm <= mean_mm <= least_mm < 0.0
    wall_mm = (ratio - 1.0) * hub_mm
    if length_mm > wall_mm:  # the middle of a length below the wall is not distinct from its mean
        assert cover_radius_change_mm(**radii_mm, length_mm=length_mm, at="middle") <= mean_mm


def test_free_part_shrinks_by_a_share_of_the_mold():
    # ASTM D2566 and ISO 294-4 refer shrinkage to the mold: (mold - part)/mold.
    mold_mm = mold_length_mm(part_length_mm=30.0, linear_shrinkage=0.012)
    assert (mold_mm - 30.0) / mold_mm == pytest.approx(0.012, rel=1e-12)
    assert mold_mm > 30.0 * 1.012


@pytest.mark.parametrize("linear_shrinkage", [-0.001, 0.0201, math.nan])
def test_shrinkage_beyond_the_linear_range_is_refused_for_covers(linear_shrinkage):
    with pytest.raises(RangeError, match="linear_shrinkage"):
        mold_radius_for_cover_mm(
            hub_radius_mm=5.0, cover_radius_mm=8.0, length_mm=10.0, linear_shrinkage=linear_shrinkage
        )


@pytest.mark.parametrize("linear_shrinkage", [-0.001, 0.21])
def test_impossible_shrinkage_of_a_free_part_is_refused(linear_shrinkage):
    with pytest.raises(RangeError, match="linear_shrinkage"):
        mold_length_mm(part_length_mm=10.0, linear_shrinkage=linear_shrinkage)


def test_cover_without_wall_is_refused():
    with pytest.raises(RangeError, match="outer_radius_mm"):
        long_cover_radius_change_mm(hub_radius_mm=5.0, mold_radius_mm=5.0, linear_shrinkage=0.01)
