"""Draft: the slight taper of long walls that lets a part start to move in its mold."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from moldgen.mold.order import CannotBeMadeError
from moldgen.remarks import Refusal
from moldgen.shapes import Extruded, Path, Revolved, Shape

LONG_MM: Final = 25.0
"""Rubber shrinks off a wall and gives way, so that shorter ones need no draft: common practice, no source."""
USUAL_DEG: Final = 0.5
STEEPEST_DEG: Final = 5.0


def with_draft(shape: Shape, draft_deg: float | None) -> Shape:
    """The shape, its straight upright outside walls leaning out towards the top about their middle height.

    Left to the rule, only walls longer than LONG_MM that do not run get draft; a running surface stays straight. The
    diameter at the middle, and with it the volume, stays to second order. Raises CannotBeMadeError.
    """
    if draft_deg is not None and not 0.0 <= draft_deg <= STEEPEST_DEG:
        raise CannotBeMadeError(
            (
                Refusal(
                    ("mold", "draft"),
                    f"a draft lies between 0° and {STEEPEST_DEG:g}°",
                    "Leave it out to take what the rule gives.",
                ),
            )
        )
    if isinstance(shape, Extruded):
        if draft_deg:
            raise CannotBeMadeError(
                (Refusal(("mold", "draft"), "the walls of a flat part are upright", "Leave `draft` out."),)
            )
        return shape
    return Revolved(_leaning(shape.profile, draft_deg))


def _leaning(profile: Path, draft_deg: float | None) -> Path:
    shifts = [0.0] * len(profile.vertices)
    for i, edge in enumerate(profile.edges):
        rise = edge.end.y - edge.start.y
        upright = edge.start.bulge == 0.0 and abs(edge.end.x - edge.start.x) < 1e-6
        if not upright or rise <= 0.0:
            continue
        by_rule = USUAL_DEG if rise > LONG_MM and edge.start.surface != "running" else 0.0
        lean = 0.5 * rise * math.tan(math.radians(by_rule if draft_deg is None else draft_deg))
        shifts[i] -= lean
        shifts[(i + 1) % len(shifts)] += lean
    if not any(shifts):
        return profile
    return Path(tuple(replace(v, x=v.x + dx) for v, dx in zip(profile.vertices, shifts, strict=True)))
