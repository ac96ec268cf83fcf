"""Roofs in a turned cavity's mold that no printer builds without supports, told from the profile before it is cut.

Each half prints with its cavity up, the upper one turned over, a separate core on its thicker end. Where the cavity is
wider deep down than at its mouth, the mold is a roof over it, held at one rim and reaching out from there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from moldgen.mold.parting import SAGITTA_MM, TOUCH_MM, bore_corners
from moldgen.printers import Printer
from moldgen.shapes import Path, Point

REACH_MM: Final = 1.2
"""How far a roof may stick out over nothing: two or three lines hang on to each other (common practice, no source)."""
LEAN: Final = math.radians(1.0)
"""How much flatter than the printer's limit a roof may be: a cone right at the limit, and a mesh's own steps."""
LEVEL_MM: Final = 0.3
"""The two ends of a bridge lie no farther apart in height."""
THICKER_MM: Final = 0.05
"""A core is printed on its thicker end if the ends differ by more than this in radius."""
WAYS: Final = 12
"""Directions in which a bridge is tried."""


@dataclass(frozen=True, slots=True)
class Roof:
    """A stretch of the mold's wall under which a printer would lay its lines on air."""

    reach_mm: float
    """How far it sticks out from the rim that holds it; infinite where nothing does."""
    z_mm: float


def worst_roof(profile: Path, *, printer: Printer, separate_core: bool) -> Roof | None:
    """The roof that reaches out farthest of those that do not print, for a profile parted at z = 0; None if all print.

    A roof prints if it is steep enough, or short enough, or a level ring so narrow that straight bridges cross it
    inside the rim that holds it: past its inner edge they are 2 sqrt(R² − r² cos² φ) long, φ being how far the nearest
    of the directions in which a bridge is tried lies beside the edge at worst.
    """
    turned = separate_core and _thicker_above(profile)
    core_here, core_there = (True, None) if separate_core else (False, False)
    found = [*_of_the_lower_half(profile, printer, core_there if turned else core_here)]
    for roof in _of_the_lower_half(profile.mirrored_y(), printer, core_here if turned else core_there):
        found.append(Roof(roof.reach_mm, -roof.z_mm))
    return max(found, key=lambda roof: roof.reach_mm, default=None)


def _thicker_above(profile: Path) -> bool:
    """Whether a bore is wider over its middle height than under it: its core prints upside down."""
    bore = [profile.vertices[i] for i in bore_corners(profile)]
    middle = 0.5 * (bore[0].y + bore[-1].y)
    above, below = (max(v.x for v in bore if (v.y > middle) == upper) for upper in (True, False))
    return above > below + THICKER_MM


@dataclass(frozen=True, slots=True)
class _Step:
    """A straight piece of the anticlockwise profile, and whether a roof may lie along it."""

    a: Point
    b: Point
    counts: bool


def _of_the_lower_half(profile: Path, printer: Printer, with_core: bool | None) -> Iterator[Roof]:
    """Roofs below z = 0, where the profile runs inwards over the cavity.

    A separate core has its own at all heights (`with_core` is true), or is looked at elsewhere (it is None).
    """
    steps = _steps(profile, with_core)
    flattest = math.tan(min(math.radians(printer.overhang_deg) + LEAN, 0.5 * math.pi))
    flat = [s.counts and s.a.x - s.b.x > max(TOUCH_MM, flattest * abs(s.b.y - s.a.y)) for s in steps]
    for first, last in _runs(flat):
        outer, inner = steps[first].a, steps[last].b
        before, after = steps[first - 1], steps[(last + 1) % len(steps)]
        held_outside, held_inside = before.a.y < outer.y - TOUCH_MM, after.b.y < inner.y - TOUCH_MM
        reach = (outer.x - inner.x) * (0.5 if held_outside and held_inside else 1.0)
        if not (held_outside or held_inside):
            reach = math.inf
        beside = inner.x * math.cos(0.5 * math.pi / WAYS)
        level = abs(inner.y - outer.y) < LEVEL_MM
        bridged = held_outside and level and 2.0 * math.sqrt(outer.x**2 - beside**2) <= printer.bridge_mm
        if reach > REACH_MM and not bridged:
            yield Roof(reach, outer.y)


def _steps(profile: Path, with_core: bool | None) -> list[_Step]:
    """The profile from its highest corner on, so that no roof is cut in two, parted where it crosses z = 0."""
    bore = bore_corners(profile)[:-1] if with_core is not False else ()
    edges = list(enumerate(profile.edges))
    top = max(edges, key=lambda edge: edge[1].start.y)[0]
    steps = []
    for i, edge in (*edges[top:], *edges[:top]):
        for a, b in pairwise([*edge.points(SAGITTA_MM), Point(edge.end.x, edge.end.y)]):
            ends = [a, b]
            if a.y * b.y < 0.0:
                share = a.y / (a.y - b.y)
                ends.insert(1, Point(a.x + share * (b.x - a.x), 0.0))
            for start, end in pairwise(ends):
                below = start.y + end.y < -TOUCH_MM
                steps.append(_Step(start, end, with_core is True if i in bore else below))
    return steps


def _runs(flags: list[bool]) -> Iterator[tuple[int, int]]:
    """First and last number of each stretch of true ones."""
    first = None
    for i, flag in enumerate([*flags, False]):
        if flag and first is None:
            first = i
        elif not flag and first is not None:
            yield first, i - 1
            first = None
