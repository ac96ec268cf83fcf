"""A turned part's shoulder, whose air a tilt drives to its outer edge, has a vent of its own."""

import math
from dataclasses import replace

import pytest

from moldgen import printers
from moldgen.case import MoldChoices
from moldgen.mold.bodies import carry_out
from moldgen.mold.design import design
from moldgen.mold.filling import MARGIN_MM, filling, openings, refusal, shoulder_air_mm3
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.plan import OpeningPlan
from moldgen.parts import kernel
from moldgen.shapes import Path, Revolved, Vertex

SLOPE = math.tan(math.radians(6.0))


def stepped(flange: float, surface: str = "") -> Revolved:
    """A solid of 16 mm, 10 high, on a flange 3 high."""
    corners = ((0.0, -3.0), (flange, -3.0), (flange, 0.0, 0.0, surface), (8.0, 0.0), (8.0, 7.0), (0.0, 7.0))
    return Revolved(Path(tuple(Vertex(*corner) for corner in corners)))


def ordered(shape: Revolved, **choices: str) -> Order:
    return Order(
        name="lean",
        marking="",
        shape=shape,
        insert=None,
        printer=printers.find("filament_0_4"),
        choices=MoldChoices(**choices),
        quantity=1,
        elongation_at_break=3.0,
    )


def test_air_under_a_shoulder_is_that_of_the_circles_segment():
    # By numbers: columns of 0.001 mm between x = 8 and 12, each as long as the chord and (x − 8) times the slope deep.
    columns = (8.0 + 0.001 * (i + 0.5) for i in range(4000))
    counted = sum(2.0 * math.sqrt(144.0 - x * x) * (x - 8.0) * SLOPE * 0.001 for x in columns)
    assert shoulder_air_mm3(inner_mm=8.0, outer_mm=12.0, slope=SLOPE) == pytest.approx(counted, rel=1e-4)


def test_a_shoulder_has_a_vent_at_its_high_end():
    way = filling(stepped(12.0), top_z_mm=7.0, least_wall_mm=0.9)
    low, high = way.vents
    assert (low.z, high.z) == (0.0, 7.0)
    assert low.x + 0.5 * low.gate_mm == pytest.approx(12.0 - MARGIN_MM)


def test_a_ledge_that_holds_next_to_nothing_has_none():
    assert len(filling(stepped(8.4), top_z_mm=7.0, least_wall_mm=0.9).vents) == 1


def test_a_shoulder_that_runs_bears_no_vent():
    assert refusal(filling(stepped(12.0, "running"), top_z_mm=7.0, least_wall_mm=0.9)) is not None


def shoulder_vent(shape: Revolved) -> OpeningPlan:
    way = filling(shape, top_z_mm=7.0, least_wall_mm=0.9)
    _, vents = openings(way, top_z_mm=way.upper_mm, syringe=False, mouth_rooms_mm=[20.0], lean_deg=45.0)
    return min(vents, key=lambda vent: vent.gate_z_mm)


def test_a_vent_on_a_shoulder_leaves_a_sound_wall_beside_what_goes_up_there():
    # Between the vent where it is widest, at the top, and the upright wall of 8 mm radius: 0.9 mm of plastic.
    vent = shoulder_vent(stepped(11.0))
    assert vent.x_mm - 0.5 * vent.mouth_diameter_mm - 8.0 >= 0.9 - 1e-9


def test_a_wall_that_leans_out_over_the_shoulder_takes_its_vent_s_room():
    corners = ((0.0, -3.0), (11.0, -3.0), (11.0, 0.0), (8.0, 0.0), (9.0, 7.0), (0.0, 7.0))
    vent = shoulder_vent(Revolved(Path(tuple(Vertex(*corner) for corner in corners))))
    assert vent.x_mm - 0.5 * vent.mouth_diameter_mm - 9.0 >= 0.9 - 1e-9


def test_a_shoulder_that_rises_less_than_the_mold_is_tilted_has_a_vent_too():
    # It rises inwards by 0.2 mm over 4 mm, 2.9°, and the mold is tilted by 6°; one of 0.6 mm, 8.5°, sheds its air.
    def shouldered(rise):
        corners = ((0.0, -3.0), (12.0, -3.0), (12.0, 0.0), (8.0, rise), (8.0, 7.0), (0.0, 7.0))
        return Revolved(Path(tuple(Vertex(*corner) for corner in corners)))

    way = filling(shouldered(0.2), top_z_mm=7.0, least_wall_mm=0.9)
    assert way.attitude.tilt_deg == 6.0
    low, _ = way.vents
    assert low.z == pytest.approx(0.05 * (12.0 - low.x))
    assert len(filling(shouldered(0.6), top_z_mm=7.0, least_wall_mm=0.9).vents) == 1


def test_a_flared_end_is_a_ceiling_too():
    corners = ((0.0, -9.0), (4.0, -9.0), (4.0, -2.0), (6.5, 0.0), (0.0, 0.0))
    way = filling(Revolved(Path(tuple(Vertex(*corner) for corner in corners))), top_z_mm=0.0, least_wall_mm=0.9)
    (vent,) = way.vents
    assert vent.x + 0.5 * vent.gate_mm == pytest.approx(6.5 - MARGIN_MM)


def test_an_end_face_that_runs_bears_neither_gate_nor_vent():
    corners = ((0.0, -9.0), (6.0, -9.0), (6.0, 0.0, 0.0, "running"), (0.0, 0.0))
    disc = Revolved(Path(tuple(Vertex(*corner) for corner in corners)))
    assert refusal(filling(disc, top_z_mm=0.0, least_wall_mm=0.9)) is not None
    # Turned over, its other face is the ceiling.
    plan = design(ordered(disc))
    assert any(decision.what == "cast upside down" for decision in plan.decisions)


def test_air_under_a_ledge_of_the_lower_half_has_no_way_up_and_the_part_is_refused():
    # Ends of 10 mm across and a neck of 8: the ledge over the lower one is short enough to print, and holds air.
    corners = ((0.0, 0.0), (5.0, 0.0), (5.0, 3.0), (4.0, 3.0), (4.0, 9.0), (5.0, 9.0), (5.0, 12.0), (0.0, 12.0))
    with pytest.raises(CannotBeMadeError) as caught:
        design(ordered(Revolved(Path(tuple(Vertex(*corner) for corner in corners)))))
    (refused,) = caught.value.refusals
    assert "over which the lower half lies" in refused.limit
    assert "`fill: press`" in refused.way_out


def test_a_syringe_s_socket_stays_clear_of_its_gate_over_a_tall_upper_half():
    # A flange half-way up: parted at its one face, the other end stands 7 mm high in the upper half.
    corners = ((0.0, 0.0), (8.0, 0.0), (8.0, 6.0), (11.0, 6.0), (11.0, 9.0), (8.0, 9.0), (8.0, 16.0), (0.0, 16.0))
    plan = design(ordered(Revolved(Path(tuple(Vertex(*corner) for corner in corners))), fill="syringe"))
    assert plan.cavity.above_mm >= 6.0
    for sprue in plan.sprues:
        # A cone no flatter than 45° leads from the gate's land to the socket, so that it prints.
        cone = sprue.top_z_mm - sprue.funnel_mm - sprue.gate_z_mm - sprue.land_mm
        assert cone >= 0.5 * (sprue.mouth_diameter_mm - sprue.gate_diameter_mm)


def test_a_gate_does_not_come_out_through_a_wall_that_leans_in_under_it():
    # A vent's edge 0.3 mm inside the rim; 1 mm below it the wall stands 0.4 mm farther in.
    corners = ((2.0, -4.3), (12.7, -4.3), (12.6, -2.1), (13.4, 0.0), (2.0, 0.0))
    shape = Revolved(Path(tuple(Vertex(*corner) for corner in corners)))
    order = replace(ordered(shape, core="part_of_lower"), elongation_at_break=5.0)
    bodies = carry_out(design(order))
    assert kernel.volume_mm3(kernel.common([bodies.poured], [bodies.lower])) < 1e-6
