"""A roof that slopes and has a wall below it is held by that wall, however the wall's facets lie."""

import pytest

from moldgen import printers
from moldgen.inspection.printability import bed_and_overhangs
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed

FILAMENT = printers.find("filament_0_4")
# A groove that climbs 4 mm over 5 mm, 39° from level: too flat to print freely, as the stroke of a letter 2 is.
STROKE = [(2.0, 2.0), (3.0, 2.0), (8.0, 6.0), (7.0, 6.0)]


def overhang(depth_mm):
    """The farthest roof of a block with the groove engraved so deep into its front."""
    flat = kernel.prism(STROKE, depth_mm + 1.0, -depth_mm)
    block = kernel.cut(
        kernel.box(0.0, 0.0, 0.0, 10.0, 8.0, 10.0), [kernel.stood_up(flat, 0.0, 0.0, 0.0)], stage="groove"
    )
    mesh = meshed(block)
    found = {f.proof: f for f in bed_and_overhangs({"block": mesh}, standing={"block": mesh}, printer=FILAMENT)}
    return found["overhang"]


def test_an_engraved_stroke_hangs_on_its_back_wall():
    finding = overhang(0.5)
    assert finding.passed
    assert finding.value <= 0.5 + 1e-6  # from the wall to the front, no farther


def test_a_stroke_engraved_too_deep_hangs_over():
    # Nothing but the wall at its back holds it.
    finding = overhang(4.0)
    assert not finding.passed
    assert finding.value == pytest.approx(4.0, abs=0.1)
