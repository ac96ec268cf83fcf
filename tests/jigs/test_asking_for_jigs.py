"""`jigs:` in a spec: names are checked, unfit ones refused, and what is made stands in record and folder."""

import json

import pytest
from jig_examples import FOLDER

from moldgen import case, job, sizing
from moldgen.errors import SpecError
from moldgen.inspection.from_disk import inspect
from moldgen.jigs.order import jigs_of
from moldgen.spec.document import parse


def loaded(name, jigs):
    text = (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")
    return case.from_document(parse(f"{text}\njigs: {jigs}\n", (FOLDER / f"{name}.yaml").as_posix()))


def test_a_misspelt_jig_is_answered_with_the_near_name():
    with pytest.raises(SpecError, match="Did you mean `length_gauge`"):
        loaded("loop_drive_belt", "[lenght_gauge]")


def test_a_jig_that_the_part_has_no_use_for_is_refused_where_it_stands():
    sized = sizing.size(loaded("loop_drive_belt", "[length_gauge, arbor]"))
    with pytest.raises(SpecError) as refused:
        jigs_of(sized)
    (problem,) = refused.value.problems
    assert problem.field == "jigs[2]" and "tyres and sleeves" in problem.limit


def test_an_empty_list_asks_for_none_and_twice_the_same_is_once():
    assert jigs_of(sizing.size(loaded("loop_drive_belt", "[]"))) == ()
    twice = jigs_of(sizing.size(loaded("loop_idler", "[ring_gauge, ring_gauge]")))
    assert [jig.name for jig in twice] == ["ring_gauge"]


def test_a_build_writes_proves_and_records_its_jigs(tmp_path):
    built = job.build(sizing.size(loaded("loop_idler", "[arbor, ring_gauge, coupon]")), tmp_path)
    assert built.passed
    record = json.loads((built.directory / "job.json").read_text(encoding="utf-8"))
    assert [(jig["role"], jig["name"]) for jig in record["jigs"]] == [
        ("jig_arbor", "arbor"),
        ("jig_ring_gauge", "ring_gauge"),
        ("jig_coupon", "coupon"),
    ]
    assert record["jigs"][0]["cautions"] and record["jigs"][0]["dimensions"]["stop_diameter_mm"] == 38.0
    roles = {(entry["role"], entry["format"]) for entry in record["files"]}
    for role in ("jig_arbor", "jig_arbor_washer", "jig_ring_gauge", "jig_coupon"):
        assert {(role, kind) for kind in ("step", "stl", "3mf")} <= roles
        assert role in {body["role"] for body in record["printing"]["bodies"]}
    assert ("jig_coupon", "csv") in roles
    assert (built.directory / "coupon.csv").read_text(encoding="utf-8").startswith("of,dimension,reading,note\n")
    assert {"With the arbor", "With the ring gauge"} <= {step["title"] for step in record["steps"]}
    assert inspect(built.directory).passed
