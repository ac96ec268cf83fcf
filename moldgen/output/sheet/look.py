"""What the page shows of the bodies: pictures, and what its 3D view turns about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from moldgen.inspection.findings import MoldMeshes
from moldgen.output.pictures import pictures
from moldgen.output.sheet.scenes import apart, scenes, view_model
from moldgen.parts.mesh import Mesh


@dataclass(frozen=True, slots=True)
class Look:
    """What the page shows of the bodies."""

    images: tuple[bytes, ...]
    """A PNG for each of the page's PICTURES."""
    sizes: tuple[tuple[int, int], ...]
    bodies: tuple[Mapping[str, Any], ...]
    """Of the 3D view."""


def look_of(mold: MoldMeshes, part: Mesh) -> Look:
    """Draws a mold and its part. Raises OutputError where nothing can be drawn."""
    bodies = apart(mold)
    shown = scenes(mold, bodies, part)
    return Look(pictures(shown), tuple(scene.size for scene in shown), tuple(view_model(mold, bodies)))
