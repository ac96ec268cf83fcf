"""Drawings of molds: cut faces against the plan's closed forms, dimensions against the plan, texts apart."""

import math
from itertools import pairwise

import pytest
from drawings import NAMES, mold, sized

from moldgen.drawing.model import Area, overlapping_texts
from moldgen.drawing.mold import cavity_drawing
from moldgen.drawing.mold_section import Cut, main_plane
from moldgen.drawing.sections import CuttingPlane, hatched, level_faces
from moldgen.drawing.sheet import HEIGHT_MM, SCALES
from moldgen.parts import kernel
from moldgen.shapes import Path, Point, Vertex, rectangle


def planned_value(plan, name):
    """What a dimension's name stands for, looked up in the plan."""
    first, last = plan.places[0], len(plan.places)
    sprue = plan.sprues[0] if plan.sprues else None
    vents = plan.vents[::last]
    axis = [math.hypot(v.x_mm - first[0], v.y_mm - first[1]) for v in vents]
    screws_x, screws_y = ([getattr(s, f"{a}_mm") for s in plan.screws] for a in "xy")
    x0, _, x1, _ = plan.cavity.footprint.bounds
    known = {
        "plan.block.x_mm": [plan.block.x_mm],
        "plan.block.y_mm": [plan.block.y_mm],
        "plan.block.lower_mm": [plan.block.lower_mm],
        "plan.block.upper_mm": [plan.block.upper_mm],
        "plan.cavity.below_mm": [plan.cavity.below_mm],
        "plan.cavity.above_mm": [plan.cavity.above_mm],
        "plan.cavity.outer_diameter_mm": [x1 - x0],
        "plan.sprue.gate_diameter_mm": [sprue and sprue.gate_diameter_mm],
        "plan.sprue.land_mm": [sprue and sprue.land_mm],
        "plan.sprue.funnel_diameter_mm": [sprue and sprue.funnel_diameter_mm],
        "plan.sprue.mouth_diameter_mm": [sprue and sprue.mouth_diameter_mm],
        "plan.sprue.radius_mm": [sprue and math.hypot(sprue.x_mm - first[0], sprue.y_mm - first[1])],
        "plan.vent.gate_diameter_mm": [v.gate_diameter_mm for v in vents],
        "plan.vent.mouth_diameter_mm": [v.mouth_diameter_mm for v in vents],
        "plan.vent.land_mm": [v.land_mm for v in vents],
        "plan.vent.radius_mm": axis,
        "plan.seal.land_mm": [plan.seal.land_mm],
        "plan.seal.channel_width_mm": [plan.seal.channel_width_mm],
        "plan.seal.channel_depth_mm": [plan.seal.channel_depth_mm],
        "plan.seal.relief_mm": [plan.seal.relief_mm],
        "plan.attitude.tilt_deg": [plan.attitude.tilt_deg],
        "plan.wedge.thin_mm": [plan.wedge and plan.wedge.thin_mm],
        "plan.key.y_mm": [key.y_mm for key in plan.keys],
        "plan.keys.pitch_x_mm": [max(k.x_mm for k in plan.keys) - min(k.x_mm for k in plan.keys)],
        "plan.screws.pitch_x_mm": [max(screws_x, default=0.0) - min(screws_x, default=0.0)],
        "plan.screws.pitch_y_mm": [max(screws_y, default=0.0) - min(screws_y, default=0.0)],
        "plan.pitch_x_mm": [b - a for a, b in pairwise(sorted({p[0] for p in plan.places}))],
        "plan.pitch_y_mm": [b - a for a, b in pairwise(sorted({p[1] for p in plan.places}))],
    }
    if name == "plan.cavity.inner_diameter_mm":
        return [2.0 * plan.cavity.shape.bore_radius_mm]
    return known[name]


@pytest.mark.parametrize("name", NAMES)
def test_every_dimension_of_an_example_s_mold_equals_its_plan(name):
    plan, drawing = mold(name).plan, mold(name).drawing
    assert len(drawing.dimensions) >= 12
    for d in drawing.dimensions:
        assert any(abs(d.value - value) < 1e-6 for value in planned_value(plan, d.name)), d.name


@pytest.mark.parametrize("name", NAMES)
def test_an_example_s_mold_drawing_fits_a4_at_a_standard_scale_and_no_texts_meet(name):
    drawing = mold(name).drawing
    assert drawing.scale in SCALES
    assert drawing.width_mm == 180.0 and drawing.height_mm <= HEIGHT_MM
    assert overlapping_texts(drawing) == ()


@pytest.mark.parametrize("name", ["loop_idler", "loop_rewind_tyre", "loop_pinch_sleeve", "projector_bumper"])
def test_the_drawn_rubber_is_what_the_plan_pours(name):
    """Cut through the axis of a turned cavity: twice its profile and, for each opening on the plane, its trapezia."""
    plan, bodies = mold(name).plan, mold(name).bodies
    cut = dict(Cut.of(main_plane(plan), plan, bodies).faces)["rubber"]
    row = [place for place in plan.places if abs(place[1] - plan.places[0][1]) < 1e-9]
    openings = [o for o in (*plan.sprues, *plan.vents) if abs(o.y_mm - plan.places[0][1]) < 1e-9]
    expected = 2.0 * plan.cavity.shape.profile.area * len(row)
    for opening in openings:
        points = opening.profile(dip_mm=0.0, beyond_mm=0.0)
        expected += sum((r0 + r1) * (z1 - z0) for (r0, z0), (r1, z1) in pairwise(points))
    drawn = sum(face[0].area - sum(hole.area for hole in face[1:]) for face in cut)
    # A gate over a rounded crest leaves a sliver between its end and the crest.
    assert drawn == pytest.approx(expected, rel=2e-3)


def test_the_cut_faces_of_a_closed_mold_lie_side_by_side():
    """Halves, metal and rubber never share a place, and they fill the block but for its channels and gaps."""
    plan, bodies = mold("loop_rewind_tyre").plan, mold("loop_rewind_tyre").bodies
    faces = dict(Cut.of(main_plane(plan), plan, bodies).faces)
    total = sum(face[0].area - sum(h.area for h in face[1:]) for group in faces.values() for face in group)
    block = plan.block.x_mm * (plan.block.lower_mm + plan.block.upper_mm)
    assert 0.95 * block < total < block


def test_a_cut_cylinder_shows_a_rectangle_and_a_circle():
    body = kernel.cylinder(3.0, 10.0, 1.0, 2.0, 0.0)
    window = rectangle(-20.0, -20.0, 20.0, 20.0)
    plane = CuttingPlane(Point(1.0, 2.0), 30.0)
    ((side,),) = plane.faces(plane.cut(body, window))
    assert side.bounds == pytest.approx((-3.0, 0.0, 3.0, 10.0)) and len(side.vertices) == 4
    ((round_,),) = level_faces(body, z_mm=4.0)
    assert round_.area == pytest.approx(math.pi * 9.0, rel=1e-9)
    assert all(vertex.bulge != 0.0 for vertex in round_.vertices)


def test_a_cut_ring_has_two_faces_and_a_level_cut_has_a_hole():
    tube = kernel.cut(
        kernel.cylinder(5.0, 10.0, 0.0, 0.0, 0.0), [kernel.cylinder(2.0, 12.0, 0.0, 0.0, -1.0)], stage="tube"
    )
    window = rectangle(-20.0, -20.0, 20.0, 20.0)
    plane = CuttingPlane(Point(0.0, 0.0), 0.0)
    assert [face[0].area for face in plane.faces(plane.cut(tube, window))] == pytest.approx([30.0, 30.0])
    ((rim, hole),) = level_faces(tube, z_mm=5.0)
    assert rim.area - hole.area == pytest.approx(math.pi * (25.0 - 4.0), rel=1e-9)


def test_a_cone_cut_beside_its_axis_shows_its_hyperbola():
    # z of a cone of unit slope, apex up at 10: 10 - sqrt(x² + d²); its area over |x| < sqrt(100 - d²) at d = 6,
    # z > 0: 10·8·2 - 2·∫0..8 sqrt(x² + 36) dx = 160 - (8·10 + 36·asinh(8/6)) = 80 - 36·ln 3 (by hand) = 40.4500.
    body = kernel.cone(10.0, 0.0, 10.0, 0.0, 0.0, 0.0)
    plane = CuttingPlane(Point(0.0, 6.0), 0.0)
    ((face,),) = plane.faces(plane.cut(body, rectangle(-20.0, -1.0, 20.0, 20.0)))
    assert face.area == pytest.approx(80.0 - 36.0 * math.log(3.0), rel=2e-3)


def test_a_cut_out_draws_no_line_along_its_frame():
    window = rectangle(0.0, 0.0, 4.0, 4.0)
    corner = Path((Vertex(0.0, 0.0), Vertex(4.0, 0.0), Vertex(4.0, 2.0), Vertex(0.0, 2.0)))
    area, *strokes = hatched(((corner,),), "lower", 5.0, window=window)
    assert isinstance(area, Area)
    (only,) = strokes
    assert [(v.x, v.y) for v in only.vertices] == [(20.0, 10.0), (0.0, 10.0)]
    whole = rectangle(1.0, 1.0, 2.0, 2.0)
    assert len(list(hatched(((whole,),), "lower", 1.0, window=window))[1].edges) == 4


def test_the_section_passes_through_sprue_and_vent_of_a_flat_part():
    plan = mold("loop_washer").plan
    plane = main_plane(plan)
    sprue, vent = plan.sprues[0], plan.vents[-len(plan.places)]
    for opening in (sprue, vent):
        assert plane.off(opening.x_mm, opening.y_mm) == pytest.approx(0.0, abs=1e-9)
    assert -90.0 <= plane.along_deg < 90.0


def test_a_belt_laid_in_loops_has_its_cavity_drawn_by_itself():
    plan = mold("projector_take_up_belt").plan
    drawing = cavity_drawing(sized=sized("projector_take_up_belt"), plan=plan)
    assert drawing is not None and drawing.height_mm <= HEIGHT_MM and overlapping_texts(drawing) == ()
    x0, y0, x1, y1 = plan.cavity.shape.outline.bounds
    for length in (x1 - x0, y1 - y0, plan.cavity.shape.thickness_mm):
        assert any(abs(d.value - length) < 1e-6 for d in drawing.dimensions)
    assert cavity_drawing(sized=sized("loop_idler"), plan=mold("loop_idler").plan) is None


def test_bodies_on_the_section_are_numbered_and_listed():
    drawing = mold("loop_rewind_tyre").drawing
    texts = {text.text for text in drawing.texts}
    assert {"1", "2", "3", "4", "5", "X", "Y"} <= texts
    assert any("lower half" in text and "metal" in text for text in texts)
