"""A belt joined from cord: how long the cord is cut, and what the scarf joint bears."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from moldgen.errors import require_range

SCARF_DEG: Final = 30.0
"""Between the cut and the cord: a joint twice the section (common practice, no source)."""
LEAST_SCARF_DEG: Final = 10.0
MOST_SCARF_DEG: Final = 90.0


class Joint(NamedTuple):
    """A scarf's area, and the stresses on it in a belt at work."""

    bond_area_mm2: float
    normal_kpa: float
    shear_kpa: float


def overlap_mm(*, height_mm: float, scarf_deg: float) -> float:
    """How far a scarf through a height reaches along the cord: h / tan a.

    Range: 10° to 90°, a butt joint. By hand: 2 / tan 30° = 2 / 0.57735 = 3.4641

    >>> round(overlap_mm(height_mm=2.0, scarf_deg=30.0), 4)
    3.4641
    """
    require_range("scarf_deg", scarf_deg, LEAST_SCARF_DEG, MOST_SCARF_DEG)
    return height_mm / math.tan(math.radians(scarf_deg))


def cord_length_mm(*, belt_length_mm: float, height_mm: float, scarf_deg: float, pieces: int = 1) -> float:
    """How long each cord of a belt is cut, tip to tip: its share of the belt, and the joint's overlap once.

    L/n + h / tan a: the belt's middle line passes each joint in its middle, so every cord has half an overlap more
    at either end. Plane geometry.

    By hand: 350 + 2 / 0.57735 = 353.4641; of two pieces 175 + 3.4641 = 178.4641

    >>> round(cord_length_mm(belt_length_mm=350.0, height_mm=2.0, scarf_deg=30.0), 4)
    353.4641
    >>> round(cord_length_mm(belt_length_mm=350.0, height_mm=2.0, scarf_deg=30.0, pieces=2), 4)
    178.4641
    """
    return belt_length_mm / pieces + overlap_mm(height_mm=height_mm, scarf_deg=scarf_deg)


def joint(*, section_area_mm2: float, scarf_deg: float, tension_n: float) -> Joint:
    """Area of a scarf joint, and the pull's share across and along it.

    A plane inclined by a to a bar's axis has the area A / sin a; a pull F puts F sin² a / A across it and
    F sin a cos a / A along it (uniaxial stress on an inclined plane, any strength-of-materials text). 1 MPa = 1000 kPa.

    By hand: A = 4, a = 30°, F = 0.8 N: 4 / 0.5 = 8; 0.8 × 0.25 / 4 = 0.05 MPa; 0.8 × 0.5 × 0.86603 / 4 = 0.086603 MPa

    >>> [round(value, 2) for value in joint(section_area_mm2=4.0, scarf_deg=30.0, tension_n=0.8)]
    [8.0, 50.0, 86.6]
    """
    require_range("scarf_deg", scarf_deg, LEAST_SCARF_DEG, MOST_SCARF_DEG)
    s, c = math.sin(math.radians(scarf_deg)), math.cos(math.radians(scarf_deg))
    stress_kpa = 1000.0 * tension_n / section_area_mm2
    return Joint(section_area_mm2 / s, stress_kpa * s * s, stress_kpa * s * c)


def bending_strain(*, height_mm: float, under_belt_diameter_mm: float) -> float:
    """Strain of the belt's back on a pulley: h / (D + h), D the diameter that the belt lies on.

    The middle runs at (D + h)/2, the back h/2 outside it; plane sections of a bent bar.

    By hand: 2 / (12 + 2) = 0.142857

    >>> round(bending_strain(height_mm=2.0, under_belt_diameter_mm=12.0), 6)
    0.142857
    """
    return height_mm / (under_belt_diameter_mm + height_mm)
