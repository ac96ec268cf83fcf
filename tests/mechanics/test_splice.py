"""A scarf joint's length, area and stresses, by hand and by what holds for all of them."""

import math

import pytest

from moldgen.errors import RangeError
from moldgen.mechanics import splice


def test_the_stress_on_a_scarf_worked_out_by_hand():
    # A 2 x 2 mm belt pulls 0.8 N: 0.8 / 4 = 0.2 MPa along it. Cut at 30°: the joint is 4 / sin 30° = 8 mm2.
    # Force across the joint 0.8 sin 30° = 0.4 N, along it 0.8 cos 30° = 0.692820 N; over 8 mm2:
    # 0.4 / 8 = 0.05 MPa = 50 kPa across, 0.692820 / 8 = 0.0866025 MPa = 86.6025 kPa along.
    made = splice.joint(section_area_mm2=4.0, scarf_deg=30.0, tension_n=0.8)
    assert made.bond_area_mm2 == pytest.approx(8.0)
    assert made.normal_kpa == pytest.approx(50.0)
    assert made.shear_kpa == pytest.approx(86.6025, abs=1e-3)


def test_a_butt_joint_carries_the_whole_stress_and_no_shear():
    made = splice.joint(section_area_mm2=4.0, scarf_deg=90.0, tension_n=0.8)
    assert made.normal_kpa == pytest.approx(200.0)
    assert made.shear_kpa == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("scarf_deg", [10.0, 25.0, 45.0, 70.0])
def test_forces_on_the_joint_add_up_to_the_pull(scarf_deg):
    # Two perpendicular parts of one force: their squares add up.
    made = splice.joint(section_area_mm2=3.0, scarf_deg=scarf_deg, tension_n=1.7)
    force = math.hypot(made.normal_kpa, made.shear_kpa) * made.bond_area_mm2 / 1000.0
    assert force == pytest.approx(1.7)


def test_a_scarf_too_flat_to_cut_is_refused():
    with pytest.raises(RangeError):
        splice.joint(section_area_mm2=4.0, scarf_deg=5.0, tension_n=1.0)


@pytest.mark.parametrize("pieces", [1, 2, 5])
def test_cords_less_their_overlaps_are_the_belt(pieces):
    # Each of n joints takes one overlap, h / tan a, out of the sum of the cords.
    cord = splice.cord_length_mm(belt_length_mm=350.0, height_mm=2.0, scarf_deg=40.0, pieces=pieces)
    assert pieces * (cord - 2.0 / math.tan(math.radians(40.0))) == pytest.approx(350.0)
