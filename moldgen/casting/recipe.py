"""From an elastomer's figures to the recipe that is weighed."""

from __future__ import annotations

from typing import Any

from moldgen.casting.weighing import Component, MixSystem, WeighOut, weigh_out
from moldgen.elastomers import Elastomer


def mix_system(elastomer: Elastomer) -> MixSystem:
    """The two tins and their parts by weight."""
    return MixSystem(
        tuple(Component(part.name, part.parts_by_weight, part.density_g_cm3.value) for part in elastomer.mix)
    )


def weighed(elastomer: Elastomer, *, volume_mm3: float, spare: float, scale_step_g: float) -> WeighOut:
    """One cup of the elastomer for a volume to be filled."""
    return weigh_out(
        volume_mm3=volume_mm3,
        density_g_cm3=elastomer.density_g_cm3.value,
        system=mix_system(elastomer),
        spare=spare,
        scale_step_g=scale_step_g,
        ratio_error_most=elastomer.ratio_error_most.value,
    )


def weigh_out_json(cup: WeighOut) -> dict[str, Any]:
    """The contract's `mix` object."""
    return {
        "poured_g": round(cup.poured_g, 4),
        "batch_g": round(cup.batch_g, 4),
        "components": [
            {"name": c.name, "grams": round(c.grams, 4), "departure_percent": round(100.0 * c.departure, 4)}
            for c in cup.components
        ],
        "ratio_error_percent": round(100.0 * cup.ratio_error, 4),
        "reading_error_worst_percent": round(100.0 * cup.reading_error_worst, 4),
        "sound": cup.sound,
        "smallest_sound_batch_g": round(cup.smallest_sound_batch_g, 4),
    }
