"""What every part family is made of, and the few things that families share.

A family says, without any CAD, what is measured, what is wanted, how the part is sized, what it will do, and its
outline. It knows nothing of molds, printers, files or the screen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from moldgen.quantities import Estimate
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Insert, Lay, Shape
from moldgen.spec.sections import Section

if TYPE_CHECKING:
    from moldgen.rings import RingInPlace

M = TypeVar("M", bound=Section)
W = TypeVar("W", bound=Section)
D = TypeVar("D", bound=Section)


@dataclass(frozen=True, slots=True)
class Rubber:
    """The figures of the elastomer that sizing and prediction use, each with its uncertainty."""

    modulus_mpa: Estimate
    linear_shrinkage: Estimate
    friction: Estimate
    """On clean dry metal; a `friction` under `drive` takes its place."""
    relaxation: Estimate
    """Share of a stretched part's tension that is lost in the first weeks."""
    stretch_usual: float
    stretch_most: float
    elongation_at_break: float
    bond_strength_mpa: Estimate
    least_wall_mm: float
    label: str
    """For messages: class and hardness."""

    @property
    def shear_modulus_mpa(self) -> float:
        """G = E/3 of an incompressible solid."""
        return self.modulus_mpa / 3.0


@dataclass(frozen=True, slots=True)
class Given(Generic[M, W, D]):
    """All that sizing starts from."""

    measured: M
    wanted: W
    drive: D | None
    elastomer: Rubber


@dataclass(frozen=True, slots=True)
class Sizes:
    """The four sets of dimensions less the first, each a map from a name that ends in its unit to its value."""

    fitted: Mapping[str, float]
    free: Mapping[str, float]
    mold: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Prediction:
    """What the part will do, and in words what the figure rests on.

    `group` and `member` gather the predictions of several like things: ("pulleys", "motor").
    """

    name: str
    value: float
    basis: str
    group: str = ""
    member: str = ""

    @property
    def key(self) -> str:
        return f"{self.group}.{self.member}.{self.name}" if self.group else self.name


def no_insert(given: Any) -> None:
    """For families that are never cast on."""


def as_it_is(given: Any) -> Lay:
    """For families whose parts lie in the mold as they are."""
    return "as_it_is"


def nothing(*_: Any) -> tuple[()]:
    """For families with nothing to say at a stage."""
    return ()


@dataclass(frozen=True, slots=True)
class Family:
    """The functions and sections that make a family. Each function is pure and takes `Given` first."""

    title: str
    """For people: "Idler tyre"."""
    measured: type[Section]
    wanted: type[Section]
    drive: type[Section] | None
    check: Callable[[Given[Any, Any, Any]], Iterable[Refusal | Remark]]
    """What is wrong or worth saying before anything is computed."""
    size: Callable[[Given[Any, Any, Any]], Sizes]
    predict: Callable[[Given[Any, Any, Any], Sizes], tuple[Prediction, ...]]
    judge: Callable[[Given[Any, Any, Any], Sizes, Mapping[str, Prediction]], Iterable[Refusal | Remark]]
    """What is wrong or worth saying once sizes and predictions are known."""
    shape: Callable[[Given[Any, Any, Any], Mapping[str, float]], Shape]
    """The solid that a map of dimensions (`free` or `mold`) stands for."""
    insert: Callable[[Given[Any, Any, Any]], Insert | None] = no_insert
    """The metal it is cast onto."""
    lay: Callable[[Given[Any, Any, Any]], Lay] = as_it_is
    """How it lies to be cast."""
    standard_rings: Callable[[Given[Any, Any, Any], Sizes], tuple[RingInPlace, ...]] = nothing
    """Rings that can be bought and would serve instead, with the stretch that they would have."""
    groups: tuple[str, ...] = ()
    """Groups that the result lists even where they have no member."""
