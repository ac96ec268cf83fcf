"""The part's fitted, free and mold dimensions and what it will do, with the uncertainty that readings leave."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from moldgen.case import Case
from moldgen.errors import RangeError, SpecError
from moldgen.families.base import Given, Prediction
from moldgen.naming import in_words, unit_at
from moldgen.quantities import Estimate
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Insert, Shape
from moldgen.spec.document import Place, spelled
from moldgen.uncertainty import (
    COVERAGE_95,
    TooManyReadingsError,
    Uncertain,
    UnusableReadingError,
    estimates,
    propagated,
)

if TYPE_CHECKING:
    from moldgen.rings import RingInPlace

SCHEMA: Final = "moldgen/size/1"
STAGES: Final = ("fitted", "free", "mold")


@dataclass(frozen=True, slots=True)
class Predicted:
    """A prediction with its range."""

    prediction: Prediction
    range: Uncertain


@dataclass(frozen=True, slots=True)
class ReadingShare:
    """How much of the worst dimension's uncertainty one input brings."""

    field: str
    given: str
    share: float
    of: str
    """The dimension it is a share of, for example `mold.outer_diameter_mm`."""


@dataclass(frozen=True)
class Sizing:
    """The answer of `moldgen size` for one spec."""

    case: Case
    fitted: Mapping[str, Uncertain]
    free: Mapping[str, Uncertain]
    mold: Mapping[str, Uncertain]
    predictions: tuple[Predicted, ...]
    readings: tuple[ReadingShare, ...]
    standard_rings: tuple[RingInPlace, ...]
    remarks: tuple[Remark, ...]
    free_shape: Shape
    mold_shape: Shape
    insert: Insert | None

    def as_json(self) -> dict[str, Any]:
        """The result as the contract's `size` object."""
        case = self.case
        return {
            "schema": SCHEMA,
            "name": case.name,
            "family": case.spec.family,
            "machine": case.spec.machine,
            "quantity": case.spec.quantity,
            "elastomer": case.elastomer.as_json(),
            "measured": [_reading_json(case, place, reading) for place, reading in measured(case)],
            **{stage: {name: _interval(u) for name, u in getattr(self, stage).items()} for stage in STAGES},
            "predictions": _predictions_json(self.predictions, case.family.groups),
            "readings": [
                {"field": r.field, "given": r.given, "share": round(r.share, 4), "of": r.of} for r in self.readings
            ],
            "alternatives": [ring.as_json() for ring in self.standard_rings],
            "warnings": [remark_json(remark) for remark in self.remarks],
        }


def measured(case: Case) -> tuple[tuple[Place, Estimate], ...]:
    """What was measured, with its place within `measured`; a bare 0 is a place that one measures from."""
    return tuple((place[1:], e) for place, e in estimates(case.given) if place[0] == "measured" and (e.u or e))


def _reading_json(case: Case, place: Place, reading: Estimate) -> dict[str, Any]:
    half = COVERAGE_95 * reading.u
    return {
        "name": in_words(case.given.measured, place),
        "field": spelled(("measured", *place)),
        "given": reading.text,
        "value": _digits(reading),
        "low": _digits(reading - half),
        "high": _digits(reading + half),
        "unit": unit_at(case.given.measured, place),
    }


def remark_json(remark: Remark) -> dict[str, str]:
    """A remark as the contract's warning."""
    return {"code": remark.code, "text": remark.text, "field": remark.field}


def _interval(u: Uncertain) -> dict[str, float]:
    return {"value": _digits(u.value), "low": _digits(u.low), "high": _digits(u.high)}


def _digits(value: float) -> float:
    """Seven significant digits: more than any reading bears, few enough to read."""
    return float(f"{value:.7g}")


def _predictions_json(predictions: tuple[Predicted, ...], groups: tuple[str, ...]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    members: dict[tuple[str, str], dict[str, Any]] = {}
    for item in predictions:
        p = item.prediction
        entry = {**_interval(item.range), "basis": p.basis}
        if not p.group:
            out[p.name] = entry
            continue
        member = members.get((p.group, p.member))
        if member is None:
            member = members[p.group, p.member] = {"name": p.member}
            out.setdefault(p.group, []).append(member)
        member[p.name] = entry
    for group in groups:
        out.setdefault(group, [])
    return out


def size(case: Case) -> Sizing:
    """Sizes and predicts. Raises SpecError with every reason why the part cannot be made as the spec has it."""
    family, given = case.family, case.given
    before = checked(case)
    try:
        sizes = family.size(given)
        predictions = family.predict(given, sizes)
        ranges = propagated(lambda g: _flat(case, g), given)
    except TooManyReadingsError as error:
        refusal = Refusal(error.place, str(error), "Leave out the ± of those that matter least.")
        raise SpecError((case.problem(refusal),)) from error
    except UnusableReadingError as error:
        refusal = Refusal(
            error.place,
            f"it is so uncertain that the sizing fails at the edge of its range ({error})",
            "Measure it again.",
        )
        raise SpecError((case.problem(refusal),)) from error
    except RangeError as error:
        refusal = Refusal(("wanted",), f"the sizing leaves the range its formulas hold in: {error}", "Check the sizes.")
        raise SpecError((case.problem(refusal),)) from error
    after = tuple(family.judge(given, sizes, {p.key: p for p in predictions}))
    case.refuse(item for item in after if isinstance(item, Refusal))
    remarks = (*before, *(item for item in after if isinstance(item, Remark)))
    stages = {stage: {name: ranges[f"{stage}.{name}"] for name in getattr(sizes, stage)} for stage in STAGES}
    return Sizing(
        case=case,
        **stages,
        predictions=tuple(Predicted(p, ranges[f"predictions.{p.key}"]) for p in predictions),
        readings=_reading_shares(case, stages["mold"]),
        standard_rings=family.standard_rings(given, sizes),
        remarks=(*remarks, *_unstated(case)),
        free_shape=family.shape(given, sizes.free),
        mold_shape=family.shape(given, sizes.mold),
        insert=family.insert(given),
    )


def checked(case: Case) -> tuple[Remark, ...]:
    """What is worth saying before anything is computed. Raises SpecError with every reason why nothing can be."""
    said = tuple(case.family.check(case.given))
    case.refuse(item for item in said if isinstance(item, Refusal))
    return tuple(item for item in said if isinstance(item, Remark))


def _flat(case: Case, given: Given[Any, Any, Any]) -> dict[str, float]:
    sizes = case.family.size(given)
    out = {f"{stage}.{name}": value for stage in STAGES for name, value in getattr(sizes, stage).items()}
    out |= {f"predictions.{p.key}": p.value for p in case.family.predict(given, sizes)}
    return out


def _reading_shares(case: Case, mold: Mapping[str, Uncertain]) -> tuple[ReadingShare, ...]:
    """Shares of the mold dimension that is least certain for its size, largest first."""
    name, worst = max(mold.items(), key=lambda item: item[1].u / abs(item[1].value))
    shares = [
        ReadingShare(spelled(place), estimate.text, worst.share(place), f"mold.{name}")
        for place, estimate in estimates(case.given)
        if worst.share(place) > 0.0005
    ]
    return tuple(sorted(shares, key=lambda s: -s.share))


def _unstated(case: Case) -> tuple[Remark, ...]:
    """Readings typed without ±: taken as exact, which a caliper never is. A bare 0 is a place one measures from."""
    bare = [spelled(place) for place, e in estimates(case.given) if place[0] == "measured" and e.u == 0.0 and e != 0.0]
    if not bare:
        return ()
    text = (
        f"{', '.join(bare)}: no ± given, so taken as exact. A workshop caliper reads to about ±0.03 mm; "
        "write `31.95 ± 0.03 mm`, or three readings as a list."
    )
    return (Remark("no_uncertainty_given", text, bare[0]),)
