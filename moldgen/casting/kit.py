"""A kit of molds on one bench: which of them are poured from one cup, in what order, and when.

One person, one cup at a time. A mold is filled from one cup without a break, since a front that has begun to
set does not join. So a cup holds what can be poured between the end of mixing and the end of its pot life,
and no more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from moldgen.errors import MoldgenError, require_range


class KitError(MoldgenError, ValueError):
    """A kit that cannot be planned as described; the message says why and what to give."""


@dataclass(frozen=True, slots=True)
class Pour:
    """One filling of one mold. A mold that is filled twice is two pours."""

    name: str
    elastomer: str
    volume_mm3: float
    """Everything to be filled: cavities, runners, sprue and vents."""
    fill_s: float
    """From the first drop to the last vent, moving on to the next mold included."""


@dataclass(frozen=True, slots=True)
class Working:
    """How an elastomer wants to be worked, at the shop's temperature."""

    pot_life_s: float
    preparation_s: float
    """Mixing, degassing and drawing up, from the moment the components touch."""
    demould_s: float
    taints: bool = False
    """Carries tin, sulphur or amines, which stop a platinum-cured silicone from curing: poured last."""

    @property
    def pouring_s(self) -> float:
        """What is left of the pot life for pouring."""
        return self.pot_life_s - self.preparation_s


@dataclass(frozen=True, slots=True)
class Batch:
    """One cup and the molds that it fills, the slowest first, while the mix is thinnest."""

    elastomer: str
    number: int
    """Of the cups of this elastomer, from 1."""
    pours: tuple[Pour, ...]
    pouring_s: float
    """What the pot life leaves for pouring."""
    starts_s: float
    """When its components are put together, from the start of the kit."""
    poured_s: float
    """When its last mold is full."""
    demould_s: float
    """When its last mold can be opened."""

    @property
    def parts(self) -> tuple[str, ...]:
        return tuple(pour.name for pour in self.pours)

    @property
    def volume_mm3(self) -> float:
        return math.fsum(pour.volume_mm3 for pour in self.pours)

    @property
    def fill_s(self) -> float:
        return math.fsum(pour.fill_s for pour in self.pours)

    @property
    def pourable_mm3(self) -> float:
        """What could be poured within the pot life at the rate of these molds; never less than the volume."""
        return self.volume_mm3 * self.pouring_s / self.fill_s


@dataclass(frozen=True, slots=True)
class TooSlow:
    """A mold that no cup can fill within its pot life."""

    pour: Pour
    over_s: float
    """By how much its filling outlasts what the pot life leaves for pouring: all of it if nothing is left."""


@dataclass(frozen=True, slots=True)
class Kit:
    """The cups in the order to mix them, and what cannot be poured as it is."""

    batches: tuple[Batch, ...]
    too_slow: tuple[TooSlow, ...]


def plan_kit(*, pours: Iterable[Pour], workings: Mapping[str, Working]) -> Kit:
    """The cups for a set of molds in order: by elastomer, as few as the pot life allows, evenly filled.

    The number of cups is what first fit decreasing finds (at most 11/9 of the fewest, plus one; usually the
    fewest). The molds are then spread over as many cups evenly (longest first, to the cup with the least), so
    that none is hurried and none too small to weigh; where that does not fit, the first packing stands.

    Elastomers that taint others come last. Otherwise the one that takes longest to demould comes first: that
    opens the last mold soonest. Source of both rules: R. L. Graham, SIAM J. Appl. Math. 17 (1969) 416 for the
    spreading, J. R. Jackson's rule (1955) for the order (both from memory). The cups of one elastomer follow
    each other.

    Two molds of 5 min do not fit into the 8 min that a pot life of 12 min leaves after 4 min of mixing:

    >>> mold = Pour("tyre", "soft", volume_mm3=2000.0, fill_s=300.0)
    >>> soft = Working(pot_life_s=720.0, preparation_s=240.0, demould_s=6 * 3600.0)
    >>> [(cup.parts, cup.starts_s) for cup in plan_kit(pours=(mold, mold), workings={"soft": soft}).batches]
    [(('tyre',), 0.0), (('tyre',), 540.0)]
    """
    queues: dict[str, list[Pour]] = {}
    for pour in pours:
        require_range(f"volume_mm3 of {pour.name}", pour.volume_mm3, 1.0, 1e8)
        require_range(f"fill_s of {pour.name}", pour.fill_s, 0.1, math.inf)
        queues.setdefault(pour.elastomer, []).append(pour)
    for elastomer in queues:
        if elastomer not in workings:
            raise KitError(f"no working times for {elastomer}; give its pot life, preparation and demould time")
        _require_working(elastomer, workings[elastomer])

    batches: list[Batch] = []
    too_slow: list[TooSlow] = []
    now_s = 0.0
    for elastomer in sorted(queues, key=lambda name: _turn(name, workings[name])):
        working = workings[elastomer]
        # Names settle ties, so that the same kit in another order is the same plan.
        queue = sorted(queues[elastomer], key=lambda pour: (-pour.fill_s, -pour.volume_mm3, pour.name))
        left_s = max(working.pouring_s, 0.0)
        too_slow += [TooSlow(pour, pour.fill_s - left_s) for pour in queue if pour.fill_s > left_s]
        cups = _cups([pour for pour in queue if pour.fill_s <= left_s], left_s)
        for number, cup in enumerate(cups, start=1):
            poured_s = now_s + working.preparation_s + math.fsum(pour.fill_s for pour in cup)
            batches.append(
                Batch(
                    elastomer=elastomer,
                    number=number,
                    pours=tuple(cup),
                    pouring_s=left_s,
                    starts_s=now_s,
                    poured_s=poured_s,
                    demould_s=poured_s + working.demould_s,
                )
            )
            now_s = poured_s
    return Kit(tuple(batches), tuple(too_slow))


def _turn(elastomer: str, working: Working) -> tuple[bool, float, str]:
    return working.taints, -working.demould_s, elastomer


def _cups(queue: list[Pour], pouring_s: float) -> list[list[Pour]]:
    """Pours, longest first, shared out to cups none of which takes longer than `pouring_s`."""
    packed: list[list[Pour]] = []
    for pour in queue:
        for cup in packed:
            if _fits([*cup, pour], pouring_s):
                cup.append(pour)
                break
        else:
            packed.append([pour])

    spread: list[list[Pour]] = [[] for _ in packed]
    for pour in queue:
        min(spread, key=lambda cup: math.fsum(held.fill_s for held in cup)).append(pour)
    return spread if all(_fits(cup, pouring_s) for cup in spread) else packed


def _fits(cup: list[Pour], pouring_s: float) -> bool:
    return math.fsum(pour.fill_s for pour in cup) <= pouring_s


def _require_working(elastomer: str, working: Working) -> None:
    require_range(f"pot_life_s of {elastomer}", working.pot_life_s, 1.0, math.inf)
    require_range(f"preparation_s of {elastomer}", working.preparation_s, 0.0, math.inf)
    require_range(f"demould_s of {elastomer}", working.demould_s, 0.0, math.inf)
