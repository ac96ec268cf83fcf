"""`moldgen refine`: from measured castings to corrected figures, and into the user's own files on request."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Final

from moldgen import case as cases
from moldgen import sizing
from moldgen.case import Case
from moldgen.errors import Problem, SpecError
from moldgen.families.base import Sizes
from moldgen.feedback import history
from moldgen.feedback.builds import SPEC_FILE, EarlierBuild, earlier_build
from moldgen.feedback.castings import CALIPER_HALF_WIDTH_MM, Castings, read
from moldgen.feedback.fit import Design, Figure, Judged, Refined, design_of, refined, with_coupon
from moldgen.feedback.proposals import Change, changes, rewritten, shrinkage_to_use
from moldgen.feedback.writing import replace_file
from moldgen.quantities import Estimate
from moldgen.remarks import Remark
from moldgen.spec import document as documents
from moldgen.spec.document import Document

SCHEMA: Final = "moldgen/refine/1"


@dataclass(frozen=True)
class Refinement:
    """The answer of `moldgen refine`."""

    case: Case
    build: EarlierBuild | None
    castings: Castings
    fit: Refined
    changes: tuple[Change, ...]
    """What `--write` puts into the files; empty where no change is called for."""
    next_mold_mm: Mapping[str, tuple[float, float]]
    """The mold's dimensions before and after the changes."""
    remarks: tuple[Remark, ...]
    written: tuple[str, ...] = ()
    """The files that were changed."""

    def as_json(self) -> dict[str, Any]:
        """The contract's `refine` object."""
        figures: dict[str, Any] = {name: _figure_json(figure) for name, figure in self.fit.figures.items()}
        return {
            "schema": SCHEMA,
            "name": self.case.name,
            "family": self.case.spec.family,
            "castings": self.castings.file,
            "build": None if self.build is None else self.build.folder.as_posix(),
            **figures,
            "significant": self.fit.significant,
            "outliers": [_judged_json(one) for one in self.fit.outliers],
            "readings": [_judged_json(one) for one in self.fit.judged],
            "unused": [{"line": r.line, "of": r.of, "dimension": r.dimension} for r in self.fit.unused],
            "scatter": _digits(self.fit.scatter),
            "changes": [change.as_json() for change in self.changes],
            "next_mold_mm": {
                name: {"before": _digits(before), "after": _digits(after)}
                for name, (before, after) in self.next_mold_mm.items()
            },
            "written": list(self.written),
            "warnings": [{"code": r.code, "text": r.text, "field": r.field} for r in self.remarks],
        }


def _figure_json(figure: Figure) -> dict[str, float | bool]:
    return {
        "value": _digits(figure.value),
        "low": _digits(figure.low),
        "high": _digits(figure.high),
        "known": figure.known,
        "before": _digits(figure.before),
        "changed": figure.changed,
    }


def _judged_json(one: Judged) -> dict[str, Any]:
    return {
        "line": one.reading.line,
        "of": one.reading.of,
        "dimension": one.reading.dimension,
        "reading_mm": _digits(one.reading.value_mm),
        "designed_mm": _digits(one.before_mm),
        "fitted_mm": _digits(one.after_mm),
        "sigmas": round(one.sigmas, 2),
        "outlier": one.outlier,
    }


def _digits(value: float) -> float:
    return float(f"{value:.7g}")


def refine(spec: Path, castings: Path, *, out: Path, write: bool, today: date) -> Refinement:
    """Fits the castings of a spec's build; with `write`, puts what they say into the spec and into its history.

    Nominal lengths are those of the build in out/NAME; without one, those that the spec would be built with now.
    Raises SpecError for what the person can mend, a spec changed since its build among it, or OutputError.
    """
    raw = spec.read_bytes() if spec.is_file() else b""
    now = cases.load(spec)
    build = earlier_build(out / now.name)
    changed_since = build is not None and not build.made_from(now)
    if write and changed_since:
        raise SpecError((_changed_since(now.document, build),))
    if write and castings.name in _sources(now):
        raise SpecError((_taken_already(now.document, castings.name),))
    built = now
    if build is not None and changed_since:  # with the build's own copies of the files that it names
        built = cases.load(build.folder / SPEC_FILE)
    design = with_coupon(_design(built, build), _coupon_mm(built, build))
    table = read(
        castings,
        sizes=design.sizes,
        family=built.spec.family,
        cast_on=design.cast_on,
        ground=getattr(built.given.wanted, "grind_allowance_mm", 0.0) > 0.0,
    )
    fit = refined(design, table)
    source = f"{castings.name} of {today.isoformat()}, {len(table.readings)} readings"
    proposed = tuple(changes(built, design, fit, source=source)) if fit.significant else ()
    remarks = tuple(_remarks(build, table, fit, changed_since=changed_since))
    result = Refinement(built, build, table, fit, proposed, _next_mold(built, design, fit), remarks)
    if not (write and proposed):
        return result
    texts = rewritten(built, raw, proposed)
    # Nothing is written that could not be read again: a fit may lead beyond what a spec takes.
    cases.from_document(documents.parse(texts[spec][1].decode("utf-8-sig"), spec.as_posix()))
    for path, (old, new) in texts.items():
        replace_file(path, old=old, new=new)
    if build is not None:
        history.noted(build.folder, "measured", _entry(result, today))
    return replace(result, written=tuple(path.as_posix() for path in texts))


def _sources(case: Case) -> str:
    """Where the spec says that its own figures are from."""
    printer = case.document.data.get("printer")
    return f"{case.elastomer.changed_by}\n{printer.get('source') if isinstance(printer, dict) else ''}"


def _changed_since(document: Document, build: EarlierBuild | None) -> Problem:
    assert build is not None
    return document.problem(
        (),
        given="another than the one that was built",
        limit=f"the castings belong to the build in {build.folder.as_posix()}, whose spec, or a file that it names, "
        "differs from what is here now",
        way_out="Put the figures in by hand, or build and cast again.",
    )


def _taken_already(document: Document, name: str) -> Problem:
    return document.problem(
        (),
        given="refined already",
        limit=f"its figures are from {name} already, and those castings are not of the mold that they lead to",
        way_out="Build, cast and measure again, and give that table another name.",
    )


def _design(case: Case, build: EarlierBuild | None) -> Design:
    """The design as it was built, also where the tables behind it have changed since."""
    sizing.checked(case)
    design = design_of(case)
    design = replace(design, pockets=_pockets(case, design.sizes))
    if build is None:
        return design
    shrinkage = build.linear_shrinkage
    doubt = shrinkage.u if shrinkage.u > 0.0 else design.doubts[0]
    return replace(
        design,
        sizes=build.sizes,
        figures=(float(shrinkage), *design.figures[1:]),
        doubts=(doubt, *design.doubts[1:]),
    )


def _pockets(case: Case, sizes: Sizes) -> int:
    """Halves of the mold that the part's height lies in."""
    from moldgen import planning  # here, because the rest of the loop does without

    cavity = planning.planned_for(case, case.family.shape(case.given, sizes.mold)).cavity
    return 2 if cavity.in_both_halves else 1


def _coupon_mm(case: Case, build: EarlierBuild | None) -> Mapping[str, float]:
    if build is not None:
        return build.coupon_mm
    if "coupon" not in (case.spec.jigs or ()):
        return {}
    from moldgen.jigs import coupon  # loads what jigs are planned with, which few tables of castings need

    return coupon.nominals()


def _next_mold(case: Case, design: Design, fit: Refined) -> dict[str, tuple[float, float]]:
    """The mold's dimensions with the new shrinkage. What the printer does is undone later, in the model."""
    if not fit.significant:
        return {}
    shrinkage = Estimate(shrinkage_to_use(fit.figures["linear_shrinkage"]))
    elastomer = replace(case.given.elastomer, linear_shrinkage=shrinkage)
    sizes = case.family.size(replace(case.given, elastomer=elastomer))
    return {name: (design.sizes.mold[name], float(value)) for name, value in sizes.mold.items()}


def _entry(result: Refinement, today: date) -> dict[str, Any]:
    return {
        "date": today.isoformat(),
        "castings": Path(result.castings.file).name,
        "readings": len(result.castings.readings),
        "outliers": len(result.fit.outliers),
        "found": {
            name: f"{figure.value:.6g} ({figure.low:.6g} to {figure.high:.6g})"
            for name, figure in result.fit.figures.items()
            if figure.known
        },
        "changed": {change.field: change.after for change in result.changes},
        "why": "the readings contradict what the mold was built for (95 %)",
    }


# --- what to say -----------------------------------------------------------------------------------------------------


def _remarks(build: EarlierBuild | None, table: Castings, fit: Refined, *, changed_since: bool) -> Iterator[Remark]:
    if build is None:
        yield Remark("no_build", "There is no build of this part to compare with; what the spec gives now is taken.")
    elif changed_since:
        yield Remark(
            "changed_since_build",
            "The spec, or a file that it names, was changed since the build; the castings are judged by the build's "
            "own.",
        )
    if table.assumed:
        yield Remark(
            "no_uncertainty_given",
            f"{table.assumed} readings have no ±; ±{CALIPER_HALF_WIDTH_MM:g} mm is taken, as of a workshop caliper.",
            "reading",
        )
    if table.not_filled_in:
        yield Remark(
            "not_filled_in",
            f"{table.not_filled_in} rows of the table have no reading and were passed over.",
            "reading",
        )
    if fit.scatter > 1.0:
        yield Remark(
            "scatter",
            f"The readings scatter {fit.scatter:.1f} times as far as their ± allows; the intervals are wider by that.",
        )
    for one in fit.outliers:
        yield Remark(
            "outlier",
            f"{one.reading}: {one.reading.value_mm:.2f} mm, where the others lead to {one.after_mm:.2f} mm; left out. "
            "Measure it again.",
        )
    if fit.unused:
        lines = ", ".join(str(reading.line) for reading in fit.unused)
        yield Remark(
            "tells_nothing",
            f"Lines {lines}: a part cast on its metal is held by it; only its outside tells of shrinkage.",
        )
    yield from _untold(fit)
    if fit.figures["linear_shrinkage"].value < 0.0:
        yield Remark("grown", "The castings are larger than their mold. Was the mold measured, or only modelled?")


def _untold(fit: Refined) -> Iterator[Remark]:
    """What the readings cannot tell, and which ones would."""
    known = {name: figure.known for name, figure in fit.figures.items()}
    of = {one.reading.of for one in fit.judged}
    if "mold" not in of and not known["linear_shrinkage"]:
        yield Remark(
            "scale_or_shrinkage",
            "Castings alone cannot separate the printer's scale from the rubber's shrinkage; the design's own figures "
            "share out what was found. Measure the printed mold too.",
        )
    elif of == {"mold"}:
        yield Remark("no_casting", "Only the mold was measured, which tells nothing of shrinkage.")
    elif not known["linear_shrinkage"]:
        yield Remark("shrinkage_unsure", "The readings are too coarse to tell the shrinkage. Measure longer lengths.")
    if "mold" in of and not (known["print_scale"] and known["print_offset_mm"]):
        yield Remark(
            "scale_or_offset",
            "Scale and wall offset look alike in lengths of one kind. Measure an inside length (over a core) as well "
            "as an outside one.",
        )
