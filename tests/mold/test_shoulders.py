"""A turned part's shoulder, whose air a tilt drives to its outer edge, has a vent of its own."""

import math

import pytest

from moldgen import printers
from moldgen.case import MoldChoices
from moldgen.mold.bodies import carry_out
from moldgen.mold.design import design
from moldgen.mold.filling import MARGIN_MM, filling, refusal, shoulder_air_mm3
from moldgen.mold.order import Order
from moldgen.parts import kernel
from moldgen.shapes import Path, Revolved, Vertex

SLOPE = math.tan(math.radians(6.0))


def stepped(flange: float, surface: str = "") -> Revolved:
    """A solid of 16 mm, 10 high, on a flange 3 high."""
    corners = ((0.0, -3.0), (flange, -3.0), (flange, 0.0, 0.0, surface), (8.0, 0.0), (8.0, 7.0), (0.0, 7.0))
    return Revolved(Path(tuple(Vertex(*corner) for corner in corners)))


def test_air_under_a_shoulder_is_that_of_the_circles_segment():
    # By numbers: columns of 0.001 mm between x = 8 and 12, each as long as the chord and (x − 8) times the slope deep.
    columns = (8.0 + 0.001 * (i + 0.5) for i in range(4000))
    counted = sum(2.0 * math.sqrt(144.0 - x * x) * (x - 8.0) * SLOPE * 0.001 for x in columns)
    assert shoulder_air_mm3(inner_mm=8.0, outer_mm=12.0, slope=SLOPE) == pytest.approx(counted, rel=1e-4)


def test_a_shoulder_has_a_vent_at_its_high_end():
    way = filling(stepped(12.0), top_z_mm=7.0)
    low, high = way.vents
    assert (low.z, high.z) == (0.0, 7.0)
    assert low.x + 0.5 * low.gate_mm == pytest.approx(12.0 - MARGIN_MM)


def test_a_ledge_that_holds_next_to_nothing_has_none():
    assert len(filling(stepped(8.4), top_z_mm=7.0).vents) == 1


def test_a_shoulder_that_runs_bears_no_vent():
    assert refusal(filling(stepped(12.0, "running"), top_z_mm=7.0)) is not None


def test_a_gate_does_not_come_out_through_a_wall_that_leans_in_under_it():
    # A vent's edge 0.3 mm inside the rim; 1 mm below it the wall stands 0.4 mm farther in.
    corners = ((2.0, -4.3), (12.7, -4.3), (12.6, -2.1), (13.4, 0.0), (2.0, 0.0))
    shape = Revolved(Path(tuple(Vertex(*corner) for corner in corners)))
    order = Order(
        name="lean",
        marking="",
        shape=shape,
        insert=None,
        printer=printers.find("filament_0_4"),
        choices=MoldChoices(core="part_of_lower"),
        quantity=1,
        elongation_at_break=5.0,
    )
    bodies = carry_out(design(order))
    assert kernel.volume_mm3(kernel.common([bodies.poured], [bodies.lower])) < 1e-6
