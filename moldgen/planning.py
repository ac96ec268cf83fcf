"""From a sized part to its mold's plan."""

from __future__ import annotations

from functools import lru_cache

from moldgen.case import Case
from moldgen.errors import SpecError
from moldgen.mold.design import design
from moldgen.mold.order import CannotBeMadeError, Order
from moldgen.mold.plan import MoldPlan
from moldgen.shapes import Shape
from moldgen.sizing import Sizing


def order(case: Case, mold_shape: Shape) -> Order:
    """What the mold is ordered for."""
    shrinkage = case.elastomer.linear_shrinkage.value
    return Order(
        name=case.name,
        marking=f"{case.elastomer.id} s{shrinkage * 100:.2g}%",
        shape=mold_shape,
        insert=case.family.insert(case.given),
        printer=case.printer,
        choices=case.spec.mold,
        quantity=case.spec.quantity,
        elongation_at_break=case.given.elastomer.elongation_at_break,
        lay=case.family.lay(case.given),
        scarf_deg=case.spec.cutting.scarf_deg,
    )


def planned(sized: Sizing) -> MoldPlan:
    """The mold's plan. Raises SpecError where it cannot be made."""
    return planned_for(sized.case, sized.mold_shape)


def planned_for(case: Case, mold_shape: Shape) -> MoldPlan:
    """The same without the part's ranges and predictions, which no mold depends on. Raises SpecError."""
    try:
        return _designed(order(case, mold_shape))
    except CannotBeMadeError as error:
        raise SpecError(tuple(case.problem(refusal) for refusal in error.refusals)) from error


@lru_cache(maxsize=64)
def _designed(asked: Order) -> MoldPlan:
    """Kept, because a command asks for it at each of its stages: whether it can be made, whether a build is current."""
    return design(asked)
