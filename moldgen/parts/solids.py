"""A shape as a solid."""

from __future__ import annotations

from typing import TYPE_CHECKING

from moldgen.parts import kernel
from moldgen.shapes import CavityShape, Drawn, Extruded

if TYPE_CHECKING:
    from moldgen.parts.kernel import Body


def solid(shape: CavityShape, *, stage: str) -> Body:
    """The shape's solid: turned round the z axis, standing from z = 0 to its thickness, or drawn along its line."""
    if isinstance(shape, Extruded):
        return kernel.extruded(shape.outline, shape.holes, shape.thickness_mm, stage=stage)
    if isinstance(shape, Drawn):
        return kernel.drawn(shape, stage=stage)
    return kernel.revolved(shape.profile, stage=stage)
