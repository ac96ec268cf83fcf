"""A new family is one new file: nothing else in the package knows its name."""

import math
import sys

import pytest

from moldgen import case, families, sizing, starter

BUSH = '''
"""Bush: a plain rubber tube between a bolt and a bracket."""

from pydantic import Field

from moldgen.families.base import Family, Prediction, Sizes, nothing
from moldgen.mechanics.shrinkage import mold_length_mm
from moldgen.remarks import Refusal
from moldgen.shapes import Revolved, rectangle
from moldgen.spec.sections import Length, Section


class Measured(Section):
    bolt_diameter_mm: Length = Field(description="The bolt.", examples=["8.00 ± 0.02 mm"])
    bracket_hole_mm: Length = Field(description="The hole in the bracket.", examples=["18.0 ± 0.1 mm"])


class Wanted(Section):
    length_mm: Length = Field(description="Length of the bush.", examples=["9 mm"])


def check(given):
    if given.measured.bracket_hole_mm <= given.measured.bolt_diameter_mm:
        yield Refusal(("measured", "bracket_hole"), "the bolt fills it", "Check both readings.")


def size(given):
    measured = given.measured
    free = {
        "inner_diameter_mm": float(measured.bolt_diameter_mm),
        "outer_diameter_mm": float(measured.bracket_hole_mm),
        "length_mm": float(given.wanted.length_mm),
    }
    s = given.elastomer.linear_shrinkage
    return Sizes(free, free, {k: mold_length_mm(part_length_mm=v, linear_shrinkage=s) for k, v in free.items()})


def predict(given, sizes):
    wall = 0.5 * (sizes.free["outer_diameter_mm"] - sizes.free["inner_diameter_mm"])
    return (Prediction("wall_mm", wall, "half the difference of the diameters"),)


def shape(given, d):
    inner, outer = 0.5 * d["inner_diameter_mm"], 0.5 * d["outer_diameter_mm"]
    return Revolved(rectangle(inner, 0.0, outer, d["length_mm"]))


FAMILY = Family("Bush", Measured, Wanted, None, check, size, predict, nothing, shape)
'''


@pytest.fixture
def bush(tmp_path, monkeypatch):
    folder = tmp_path / "more_families"
    folder.mkdir()
    (folder / "throwaway_bush.py").write_text(BUSH)
    monkeypatch.setattr(families, "__path__", [*families.__path__, str(folder)])
    yield "throwaway_bush"
    sys.modules.pop("moldgen.families.throwaway_bush", None)
    families.__dict__.pop("throwaway_bush", None)
    case.spec_model.cache_clear()


def starter_case(tmp_path, name):
    path = tmp_path / "bush.yaml"
    path.write_text(starter.starter_spec(name))
    return case.load(path)


def test_a_family_of_one_file_is_found_explained_and_sized(tmp_path, bush):
    assert bush in families.names()
    text = starter.starter_spec(bush)
    assert "# The hole in the bracket." in text
    part = sizing.size(starter_case(tmp_path, bush))
    assert part.free["outer_diameter_mm"].value == 18.0
    assert part.free["outer_diameter_mm"].u == pytest.approx(0.1 / math.sqrt(3))  # JCGM 100:2008, 4.3.7
    assert part.free_shape.volume_mm3 == pytest.approx(math.pi * (81 - 16) * 9, rel=1e-12)
    # The wall is half the difference: its doubt is half of both diameters' together.
    assert part.predictions[0].range.u == pytest.approx(0.5 * math.hypot(0.1, 0.02) / math.sqrt(3))


@pytest.mark.slow
def test_a_family_of_one_file_is_built_to_a_proven_mold(tmp_path, bush):
    from moldgen import job

    built = job.build(sizing.size(starter_case(tmp_path, bush)), tmp_path / "out")
    assert [finding.text for finding in built.findings if not finding.passed] == []
    assert {record.role for record in built.files} >= {"part", "mold_lower", "mold_upper", "assembly"}
    shrinkage = built.sizing.case.elastomer.linear_shrinkage.value
    volume = math.pi * (81 - 16) * 9 / (1 - shrinkage) ** 3
    assert built.as_json()["volumes_mm3"]["cavity"] == pytest.approx(volume, rel=1e-3)
