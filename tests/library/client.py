"""A script of somebody who uses moldgen as a library; the type checker reads it in strict mode as part of CI."""

from pathlib import Path

import moldgen


def pressures_kpa(spec: Path) -> dict[str, float]:
    """The predicted pressures of a part."""
    sized: moldgen.Sizing = moldgen.size(moldgen.load(spec))
    return {p.prediction.name: p.range.value for p in sized.predictions if p.prediction.name.endswith("_kpa")}


def cups(specs: list[Path], out: Path) -> list[tuple[str, float]]:
    """What each cup of a kit weighs, molds not built."""
    parts = [moldgen.kit_part(moldgen.size(moldgen.load(spec)), out=out, may_build=False) for spec in specs]
    kit: moldgen.WeighedKit = moldgen.weigh_out_kit(parts, spare=None, scale_step_g=None)
    return [(cup.case.elastomer.id, cup.weigh_out.batch_g) for cup in kit.cups]


def failed(spec: Path, out: Path) -> list[str]:
    """What does not hold on the finished mold, asked twice: as it is built, and as read back from disk."""
    build: moldgen.Build = moldgen.build(moldgen.size(moldgen.load(spec)), out)
    again: moldgen.Inspection = moldgen.inspect(build.directory)
    found: tuple[moldgen.Finding, ...] = (*build.findings, *again.findings)
    return [finding.text for finding in found if not finding.passed]


def problems(spec: Path) -> tuple[moldgen.Problem, ...]:
    """What keeps a spec from being used."""
    try:
        plan: moldgen.MoldPlan = moldgen.planned(moldgen.size(moldgen.load(spec)))
    except moldgen.SpecError as error:
        return error.problems
    assert plan.pour_mm3 > 0.0
    return ()


def softest() -> str:
    """An elastomer's id, out of the table."""
    return min(moldgen.elastomers.table(), key=lambda e: e.figure("hardness_shore_a").value).id


def belt_to_buy(inside_mm: float) -> float:
    """Inside of the nearest standard ring."""
    return moldgen.rings.nearest(inside_mm=inside_mm)[0].inner_diameter_mm
