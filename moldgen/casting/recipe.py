"""From an elastomer's figures to the recipe that is weighed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from moldgen.casting.weighing import Component, Extra, MixSystem, Weighed, WeighOut, weigh_out
from moldgen.elastomers import Elastomer


def mix_system(
    elastomer: Elastomer, *, by: Literal["weight", "volume"] = "weight", extras: Sequence[Extra] = ()
) -> MixSystem:
    """The two tins with their parts by weight or by volume, and what goes in besides."""
    components = tuple(
        Component(tin.name, tin.parts_by_weight if by == "weight" else tin.parts_by_volume, tin.density_g_cm3.value)
        for tin in elastomer.mix
    )
    return MixSystem(components, tuple(extras), by)


def weighed(
    elastomer: Elastomer, system: MixSystem, *, volume_mm3: float, spare: float, scale_step_g: float
) -> WeighOut:
    """One cup of the elastomer for a volume to be filled."""
    return weigh_out(
        volume_mm3=volume_mm3,
        density_g_cm3=elastomer.density_g_cm3.value,
        system=system,
        spare=spare,
        scale_step_g=scale_step_g,
        ratio_error_most=elastomer.ratio_error_most.value,
    )


def in_order(elastomer: Elastomer, cup: WeighOut) -> tuple[Weighed, ...]:
    """The lines of a weigh-out in the order in which they go into the cup.

    Extras are stirred in before the tin that starts the cure, which comes last. For a polyurethane that is part A:
    pastes and thinners, which may be damp, go into the polyol (common practice, no source).
    """
    tins, extras = cup.components[: len(elastomer.mix)], cup.components[len(elastomer.mix) :]
    if not extras:
        return tins
    first, last = reversed(tins) if elastomer.chemistry == "polyurethane" else tins
    return (first, *extras, last)


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
        "finer_scale_step_g": cup.finer_scale_step_g,
    }
