"""How long a mold takes to fill, and what would make it quicker.

Flow through what the mix passes one after the other: sprue, cavity, vents. Creeping flow, so that resistances in
Pa·s/mm³ add up; the viscosity is that of the fresh mix.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from moldgen.case import Case
from moldgen.mechanics.flow import (
    cone_resistance_pa_s_mm3,
    head_pressure_pa,
    parallel_resistance_pa_s_mm3,
    plunger_force_n,
    plunger_pressure_pa,
    rising_fill_s,
    series_resistance_pa_s_mm3,
    slot_resistance_pa_s_mm3,
    steady_fill_s,
    tube_resistance_pa_s_mm3,
)
from moldgen.mechanics.solve import root
from moldgen.mold.filling import LARGEST_GATE_MM
from moldgen.mold.plan import MoldPlan, OpeningPlan
from moldgen.shapes import CavityShape, Revolved

MOVING_ON_S: Final = 60.0
"""From one filled mold to the next: common practice, no source."""
TURN_S: Final = 10.0
"""To fill one funnel and go to the next of the same mold: judgement."""
THUMB_N: Final = 30.0
"""Force that a thumb keeps on a plunger for a minute: common practice, no source."""
BARREL_MM: Final = 16.0
"""Inside of a 10 ml syringe, from memory."""
STEEPEST_CONE: Final = 0.33
"""Tangent of the half angle up to which the cone formula was checked (18.4°)."""
VENTS_TO_FILL: Final = 0.9
"""Share of their height to which the vents are filled before pouring stops; at equal heads nothing flows."""


def fill_time_s(case: Case, plan: MoldPlan) -> float:
    """Time from the first drop until every cavity and its vents are full.

    The gate opens into the ceiling, so that while the cavity fills the whole height of the sprue drives the flow,
    through the sprue and as much of the cavity as is full; then the vents fill against a falling head. Funnels are
    filled in turn and kept full, so that the cavities fill side by side. A syringe serves one socket after the other,
    the thumb keeping its pressure. A mold closed by pressing has no gate and takes as long as pouring out and closing
    do. Several gates of one cavity, as a long belt has them, are used one after the other, and each feeds its share.
    """
    return _fill_s(case, plan, _first_openings(plan)) if plan.sprues else MOVING_ON_S


def _fill_s(case: Case, plan: MoldPlan, openings: _Openings) -> float:
    one = _one_fill_s(case, plan, openings)
    side_by_side = case.spec.mold.fill == "pour" and openings.sprue.funnel_mm > 0.0
    return one + (len(plan.sprues) - 1) * TURN_S if side_by_side else one * len(plan.places)


def _gates(plan: MoldPlan) -> int:
    """Of one cavity."""
    return len(plan.sprues) // len(plan.places)


@dataclass(frozen=True, slots=True)
class _Openings:
    """Sprue and vents of one cavity."""

    sprue: OpeningPlan
    vents: tuple[OpeningPlan, ...]

    def with_gate(self, diameter_mm: float) -> _Openings:
        return _Openings(_widened(self.sprue, diameter_mm), self.vents)

    def with_vents(self, diameter_mm: float) -> _Openings:
        return _Openings(self.sprue, tuple(_widened(vent, diameter_mm) for vent in self.vents))


def _widened(opening: OpeningPlan, diameter_mm: float) -> OpeningPlan:
    """The opening drilled out to a diameter, where it is narrower."""
    gate = max(opening.gate_diameter_mm, diameter_mm)
    return replace(opening, gate_diameter_mm=gate, mouth_diameter_mm=max(opening.mouth_diameter_mm, gate))


def _first_openings(plan: MoldPlan) -> _Openings:
    return _Openings(plan.sprues[0], plan.vents[:: len(plan.places)])


def _one_fill_s(case: Case, plan: MoldPlan, openings: _Openings) -> float:
    rubber, volume = case.elastomer, plan.cavity.volume_mm3
    viscosity, density = rubber.mixed_viscosity_pa_s.value, rubber.density_g_cm3.value
    through_sprue = opening_resistance_pa_s_mm3(openings.sprue, viscosity_pa_s=viscosity)
    # From each gate the rubber goes as far as the next: one gate after the other, each with its share of the volume.
    through_cavity = cavity_resistance_pa_s_mm3(plan.cavity.shape, viscosity_pa_s=viscosity) / _gates(plan)
    # The front moves through the cavity at one pressure, so that on the way half of the cavity resists on average.
    while_filling = through_sprue + 0.5 * through_cavity
    if case.spec.mold.fill == "syringe":
        pressure = plunger_pressure_pa(force_n=THUMB_N, barrel_diameter_mm=BARREL_MM)
        return steady_fill_s(volume_mm3=volume, pressure_pa=pressure, resistance_pa_s_mm3=while_filling)
    head = openings.sprue.top_z_mm - openings.sprue.gate_z_mm
    pressure = head_pressure_pa(head_mm=head, density_g_cm3=density)
    cavity = steady_fill_s(volume_mm3=volume, pressure_pa=pressure, resistance_pa_s_mm3=while_filling)
    if not openings.vents:
        return cavity
    # Each vent resists as if it stood full from the start: most of that is its gate, which fills first.
    up_vents = parallel_resistance_pa_s_mm3(
        resistances_pa_s_mm3=[opening_resistance_pa_s_mm3(vent, viscosity_pa_s=viscosity) for vent in openings.vents]
    )
    return cavity + rising_fill_s(
        cavity_area_mm2=sum(vent.volume_mm3 / (vent.top_z_mm - vent.gate_z_mm) for vent in openings.vents),
        rise_mm=VENTS_TO_FILL * head,
        feed_head_mm=head,
        density_g_cm3=density,
        resistance_pa_s_mm3=through_sprue + through_cavity + up_vents,
    )


def opening_resistance_pa_s_mm3(opening: OpeningPlan, *, viscosity_pa_s: float) -> float:
    """Land and cones of a sprue or vent in a row; a funnel wider than the cone formula reaches adds next to nothing."""
    parts = []
    for (r0, z0), (r1, z1) in pairwise(opening.profile(dip_mm=0.0, beyond_mm=0.0)):
        length = z1 - z0
        if abs(r1 - r0) < 1e-9:
            parts.append(
                tube_resistance_pa_s_mm3(viscosity_pa_s=viscosity_pa_s, length_mm=length, diameter_mm=2.0 * r0)
            )
        elif abs(r1 - r0) <= STEEPEST_CONE * length:
            wide, narrow = max(r0, r1), min(r0, r1)
            parts.append(
                cone_resistance_pa_s_mm3(
                    viscosity_pa_s=viscosity_pa_s,
                    length_mm=length,
                    entry_diameter_mm=2.0 * wide,
                    exit_diameter_mm=2.0 * narrow,
                )
            )
    return series_resistance_pa_s_mm3(resistances_pa_s_mm3=parts)


def cavity_resistance_pa_s_mm3(shape: CavityShape, *, viscosity_pa_s: float) -> float:
    """From the gate to the far end of a cavity, taken as a rectangular passage of the same section and length.

    A ring, or a loop that lies flat, is filled both ways round at once.
    """
    if isinstance(shape, Revolved):
        inner, low, outer, high = shape.profile.bounds
        area = shape.profile.area
        if inner > 0.0:
            long_side = max(outer - inner, high - low)
            return 0.5 * _passage(math.pi * 0.5 * (inner + outer), long_side, area / long_side, viscosity_pa_s)
        return _passage(2.0 * outer, outer, area / outer, viscosity_pa_s)
    rim = shape.outline.length
    area = shape.volume_mm3 / shape.thickness_mm
    loop = any(hole.length > 0.5 * rim for hole in shape.holes)
    # The sides of the rectangle that has this area and this rim; a strip as long as half the rim, if it is slender.
    half = 0.5 * (rim + sum(hole.length for hole in shape.holes if loop))
    length = 0.5 * (half + math.sqrt(max(half * half - 4.0 * area, 0.0)))
    width = area / length
    if loop:
        return 0.5 * _passage(0.5 * length, width, shape.thickness_mm, viscosity_pa_s)
    return _passage(length, width, shape.thickness_mm, viscosity_pa_s)


def _passage(length_mm: float, width_mm: float, height_mm: float, viscosity_pa_s: float) -> float:
    gap, width = sorted((width_mm, height_mm))
    return slot_resistance_pa_s_mm3(viscosity_pa_s=viscosity_pa_s, length_mm=length_mm, width_mm=width, gap_mm=gap)


def plunger_to_fill_n(case: Case, plan: MoldPlan, *, time_s: float) -> float | None:
    """Force on the plunger that fills every cavity in a time, or None where there is no syringe."""
    if case.spec.mold.fill != "syringe":
        return None
    pressure = plunger_pressure_pa(force_n=THUMB_N, barrel_diameter_mm=BARREL_MM)
    # Creeping flow: half the time asks for twice the pressure.
    return plunger_force_n(pressure_pa=pressure * fill_time_s(case, plan) / time_s, barrel_diameter_mm=BARREL_MM)


def gate_that_would_do_mm(case: Case, plan: MoldPlan, time_s: float) -> float | None:
    """The gate that fills the mold in a time, or None where even the largest one does not."""
    openings = _first_openings(plan)
    return _that_would_do_mm(case, plan, time_s, openings.sprue.gate_diameter_mm, openings.with_gate)


def vent_that_would_do_mm(case: Case, plan: MoldPlan, time_s: float) -> float | None:
    """The diameter that the vents need at their narrowest for the mold to fill in a time, or None as above."""
    openings = _first_openings(plan)
    if not openings.vents:
        return None
    narrowest = min(vent.gate_diameter_mm for vent in openings.vents)
    return _that_would_do_mm(case, plan, time_s, narrowest, openings.with_vents)


def _that_would_do_mm(
    case: Case, plan: MoldPlan, time_s: float, narrow_mm: float, widened: Callable[[float], _Openings]
) -> float | None:
    def over(diameter_mm: float) -> float:
        return _fill_s(case, plan, widened(diameter_mm)) - time_s

    if over(LARGEST_GATE_MM) > 0.0:
        return None
    return root(over, narrow_mm, LARGEST_GATE_MM, tolerance=1e-3)


def quicker(case: Case, plan: MoldPlan, time_s: float) -> str:
    """What would fill the mold in a time, in words: wider openings, another way to fill, another mix."""
    ways = []
    if plan.sprues and case.spec.mold.fill == "pour":
        if (gate := gate_that_would_do_mm(case, plan, time_s)) is not None:
            ways.append(f"a gate of {_up(gate):.1f} mm would do")
        elif (vent := vent_that_would_do_mm(case, plan, time_s)) is not None:
            ways.append(f"vents drilled out to {_up(vent):.1f} mm would do")
    if case.spec.mold.fill == "pour":
        ways.append("use a syringe (`fill: syringe`)")
    ways.append("take a slower or thinner elastomer")
    text = "; ".join(ways[:-1]) + "; or " + ways[-1] if len(ways) > 1 else ways[0]
    return f"{text[0].upper()}{text[1:]}."


def _up(diameter_mm: float) -> float:
    """To the next tenth, as drills come."""
    return math.ceil(10.0 * diameter_mm - 1e-6) / 10.0
