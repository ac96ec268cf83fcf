"""Which elastomer for which part: the table's classes ranked for a family, with the reasons, and what is not known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from moldgen import elastomers
from moldgen.elastomers import Elastomer

VERDICTS: Final = {"good": 2.0, "fair": 1.0, "poor": 0.0}
HARDNESS_USUAL: Final = {
    "idler_tyre": (40.0, 75.0),
    "belt": (60.0, 85.0),
    "clutch_pad": (50.0, 80.0),
    "pinch_sleeve": (50.0, 70.0),
}
"""Shore A of parts that have worked: service practice, from memory."""
NOT_KNOWN: Final = (
    "Friction on your metal: clean, dry and unworn it is what the table says; oil, glaze and age change it by more "
    "than the choice of class does. Measure it.",
    "How long a cast part lasts next to the one that melted: nobody has tested these classes over decades.",
    "Whether a polyurethane is of the ester or the ether type, unless the maker says so. Esters turn to tar in "
    "damp air.",
)

AGEING_WORDS: Final = ("hydrolyse", "age", "tear strength", "creep", "oil")
"""Words of the table's notes that tell how a class lasts."""


@dataclass(frozen=True, slots=True)
class Ranked:
    """One elastomer with its place and why."""

    elastomer: Elastomer
    score: float
    verdict: str
    reasons: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "id": self.elastomer.id,
            "label": self.elastomer.label,
            "score": round(self.score, 3),
            "verdict": self.verdict,
            "reasons": list(self.reasons),
        }


def ranked(family: str) -> tuple[Ranked, ...]:
    """Every elastomer of the table for a family, best first.

    The class's own verdict counts most; hardness near what has worked, grip, tear, lasting tension, shrinkage and ease
    of casting settle the rest. The weights are judgement; the reasons stand beside them so that anybody can weigh anew.
    """
    found = [_rank(elastomer, family) for elastomer in elastomers.table()]
    return tuple(sorted(found, key=lambda r: (-r.score, r.elastomer.id)))


def ageing() -> dict[str, tuple[str, ...]]:
    """For each class, by its title, how it lasts: what is known of hydrolysis, oil, creep and tearing with age."""
    classes = {elastomer.title: elastomer.notes for elastomer in elastomers.table()}
    return {
        title: tuple(note for note in notes if any(word in note for word in AGEING_WORDS))
        for title, notes in classes.items()
    }


def _rank(elastomer: Elastomer, family: str) -> Ranked:
    use = elastomer.suitability(family)
    reasons = [] if use is None else [use.reason]
    score = 1.0 if use is None else VERDICTS[use.verdict]
    hardness = elastomer.hardness_shore_a.value
    low, high = HARDNESS_USUAL.get(family, (30.0, 90.0))
    off = max(low - hardness, hardness - high, 0.0)
    score -= off / 20.0
    if off:
        reasons.append(f"{hardness:g} A, where {low:g} to {high:g} A has worked")
    tear, lost, grip = elastomer.tear_kn_m.value, elastomer.relaxation.value, elastomer.friction.value
    shrinkage, viscosity = elastomer.linear_shrinkage.value, elastomer.mixed_viscosity_pa_s.value
    score += 0.2 * min(grip, 1.0) + min(tear, 40.0) / 80.0 - lost - 10.0 * shrinkage - viscosity / 60.0
    reasons += [f"friction about {grip:g}", f"tear {tear:g} kN/m"]
    reasons += [f"loses {lost:.0%} of its tension in the first weeks", f"shrinks {shrinkage:.2%}"]
    if viscosity > 8.0:
        reasons.append(f"thick ({viscosity:g} Pa·s): bubbles stay, thin gates fill slowly")
    if elastomer.pot_life_s.value < 600.0:
        reasons.append(f"sets in {elastomer.pot_life_s.value / 60.0:.0f} min")
    return Ranked(elastomer, score, "unknown" if use is None else use.verdict, tuple(reasons))
