"""The wedge that a tilted mold stands on: it carries all of the underside, and its lip all of the end.

The mold is set onto the finished wedge as a plain box, by the plan's tilt about the foot of the lip.
"""

import math
from functools import cache

import numpy as np
import pytest
from manifold3d import Manifold

from moldgen import case, sizing
from moldgen.drawing.model import Stroke
from moldgen.drawing.mold_outside import Standing
from moldgen.inspection.solids import manifold
from moldgen.mold.bodies import carry_out
from moldgen.parts.meshing import meshed
from moldgen.planning import planned
from moldgen.spec.document import parse

TYRE = """\
family: idler_tyre
name: rim
elastomer: pu_60a
measured: {hub_diameter: 30 mm, hub_width: 6 mm}
wanted: {fitted_diameter: 38 mm, fitted_width: 5 mm, stretch: 5 %}
"""
INTO_MM = 0.05


@cache
def made():
    plan = planned(sizing.size(case.from_document(parse(TYRE, "rim.yaml"))))
    return plan, carry_out(plan)


def on_wedge(down_the_ramp=0.0, into_the_ramp=0.0):
    """What the mold's box, set onto the wedge and moved by so much, takes of it."""
    plan, bodies = made()
    block, wedge = plan.block, plan.wedge
    c, s = math.cos(math.radians(wedge.tilt_deg)), math.sin(math.radians(wedge.tilt_deg))
    box = Manifold.cube((block.x_mm, block.y_mm, block.lower_mm)).translate(
        (-down_the_ramp, -0.5 * block.y_mm, -into_the_ramp)
    )
    standing = box.transform([[c, 0.0, -s, -0.5 * wedge.length_mm], [0.0, 1.0, 0.0, 0.0], [s, 0.0, c, wedge.thin_mm]])
    return (standing ^ manifold(meshed(bodies.wedge))).volume()


def test_the_mold_stands_on_its_wedge_without_a_gap_or_an_overlap():
    plan, _ = made()
    wedge, tilt = plan.wedge, math.radians(plan.wedge.tilt_deg)
    assert on_wedge() < 1e-2
    # All of the lip's height bears, along the mold's end; all of the frame that the mold covers, along its underside.
    lip_mm2 = wedge.lip_mm / math.cos(tilt) * wedge.width_mm
    assert on_wedge(down_the_ramp=INTO_MM) == pytest.approx(lip_mm2 * INTO_MM, rel=0.01)
    rim = 2.0 * wedge.rim_mm
    window_mm2 = (wedge.length_mm - 2.0 * rim) * (wedge.width_mm - 2.0 * rim) / math.cos(tilt)
    frame_mm2 = plan.block.x_mm * wedge.width_mm - window_mm2
    assert on_wedge(into_the_ramp=INTO_MM) == pytest.approx(frame_mm2 * INTO_MM, rel=0.01)


def test_the_drawing_sets_the_mold_where_it_stands():
    plan, bodies = made()
    view = Standing.of(plan, bodies).view(1.0, 3)
    foot = (-0.5 * plan.wedge.length_mm, plan.wedge.thin_mm)
    corners = [(v.x, v.y) for item in view.items if isinstance(item, Stroke) for v in item.vertices]
    assert min(math.dist(foot, corner) for corner in corners) < 1e-3
    block, tilt = plan.block, math.radians(plan.wedge.tilt_deg)
    far_end = np.add(foot, (block.x_mm * math.cos(tilt), block.x_mm * math.sin(tilt)))
    assert min(math.dist(far_end, corner) for corner in corners) < 1e-3
