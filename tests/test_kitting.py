"""A kit of parts: cups, rounds, what is shared, and whose volume is used."""

import hashlib
import json
import math
from importlib.metadata import version
from pathlib import Path

import pytest

from moldgen import case, sizing
from moldgen.kitting import kit_part, weigh_out_kit
from moldgen.output.currency import current_build
from moldgen.planning import planned
from moldgen.spec import document

EXAMPLES = Path(__file__).parents[1] / "part_specs"
LOOP = sorted(EXAMPLES.glob("loop_*.yaml"))

TYRE = """\
family: idler_tyre
name: NAME
quantity: 1
elastomer: pu_60a
measured: {hub_diameter: 30 mm, hub_width: 6 mm}
wanted: {fitted_diameter: 38 mm, fitted_width: 5 mm, stretch: 3 %}
"""

SYRINGE = "mold: {fill: syringe}"  # silicones are too thick for a funnel


def part(name, tmp_path, more="", elastomer="pu_60a", quantity=1):
    text = TYRE.replace("NAME", name).replace("pu_60a", elastomer).replace("quantity: 1", f"quantity: {quantity}")
    one = sizing.size(case.from_document(document.parse(text + more, f"{name}.yaml")))
    return kit_part(one, out=tmp_path, may_build=False)


def kit_of(*parts, spare=None, scale_step_g=None):
    return weigh_out_kit(parts, spare=spare, scale_step_g=scale_step_g)


def codes(kit):
    return [remark.code for remark in kit.warnings]


# --- the museum's kit, poured on paper -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def museum(tmp_path_factory):
    out = tmp_path_factory.mktemp("out")
    return kit_of(*(kit_part(sizing.size(case.load(spec)), out=out, may_build=False) for spec in LOOP))


def test_each_part_of_the_museum_s_kit_is_in_a_cup_or_said_to_be_too_slow(museum):
    in_cups = {name for cup in museum.cups if cup.round == 1 for name in cup.batch.parts}
    said = {part.case.name for part in museum.parts if any(part.case.name in r.text for r in museum.warnings)}
    assert in_cups | said >= {spec.stem for spec in LOOP}
    assert {"loop_idler", "loop_one_way_pad", "loop_pinch_sleeve", "loop_rewind_tyre", "loop_washer"} <= in_cups


def test_mass_of_the_museum_s_kit_adds_up(museum):
    for cup in museum.cups:
        for weighed in (cup.weigh_out, cup.mixed):
            assert math.fsum(line.grams for line in weighed.components) == pytest.approx(weighed.batch_g, abs=1e-9)
            assert all(line.grams == pytest.approx(round(line.grams, 1), abs=1e-9) for line in weighed.components)
        # Volume times density, with 15 % to spare: what is mixed is never less.
        poured_g = cup.batch.volume_mm3 / 1000.0 * cup.elastomer.density_g_cm3.value
        assert cup.weigh_out.poured_g == pytest.approx(poured_g)
        assert cup.mixed.batch_g >= cup.weigh_out.batch_g >= 1.15 * poured_g - 1e-9
        assert cup.mixed.sound
    first = [cup for cup in museum.cups if cup.round == 1]
    volume = {part.case.name: part.volume_mm3 for part in museum.parts}
    for cup in first:
        assert cup.batch.volume_mm3 == pytest.approx(sum(volume[name] for name in cup.batch.parts))


def test_no_cup_of_the_museum_s_kit_outlasts_its_pot_life_nor_meets_the_next(museum):
    ends = 0.0
    for cup in museum.cups:
        assert cup.batch.starts_s >= ends
        assert cup.batch.poured_s < cup.sets_s
        ends = cup.batch.poured_s
    # The table's pot life: 20 min for 60 A, 15 min for 70 A, at 23 °C.
    assert {(cup.elastomer.id, round((cup.sets_s - cup.batch.starts_s) / 60)) for cup in museum.cups} == {
        ("pu_60a", 20),
        ("pu_70a", 15),
    }


def test_the_kit_as_json_keeps_its_contract(museum):
    found = json.loads(json.dumps(museum.as_json()))
    assert found.keys() >= {"schema", "batches", "warnings", "parts"}
    for batch in found["batches"]:
        assert batch.keys() >= {"elastomer", "volume_mm3", "batch_g", "components", "ratio_error_percent", "parts"}
        assert math.fsum(c["grams"] for c in batch["components"]) == pytest.approx(batch["batch_g"], abs=1e-6)
        first, second = (component["grams"] for component in batch["components"])
        rubber = next(cup.elastomer for cup in museum.cups if cup.elastomer.id == batch["elastomer"])
        error = second / first / rubber.b_per_a_by_weight.value - 1.0
        assert batch["ratio_error_percent"] == pytest.approx(abs(100.0 * error), abs=1e-3)
        assert [pour["part"] for pour in batch["pours"]] == batch["parts"]
    for warning in found["warnings"]:
        assert warning.keys() == {"code", "text", "field"}
    assert {one["volume_from"] for one in found["parts"]} == {"plan"}


# --- who shares a cup ------------------------------------------------------------------------------------------------


def test_parts_of_one_elastomer_share_a_cup_and_others_do_not(tmp_path):
    kit = kit_of(part("a", tmp_path), part("b", tmp_path), part("c", tmp_path, SYRINGE, elastomer="silicone_sn_40a"))
    assert sorted(sorted(cup.batch.parts) for cup in kit.cups) == [["a", "b"], ["c"]]


@pytest.mark.parametrize(
    "other",
    [
        {"more": "pour: {extras: [{name: pigment, share: 2 %}]}"},
        {"more": "pour: {by: volume}"},
        {"more": "pour: {shop: 18 °C}"},
        {"more": "pour: {activation_energy: 50}"},
        {"elastomer": "{based_on: pu_60a, b_per_a_by_weight: 0.9}"},
    ],
)
def test_another_recipe_or_shop_is_another_cup(tmp_path, other):
    assert len(kit_of(part("a", tmp_path), part("b", tmp_path, **other)).cups) == 2


def test_figures_of_one_s_own_that_are_the_same_share_a_cup(tmp_path):
    own = "{based_on: pu_60a, b_per_a_by_weight: 0.9, source: tin}"
    kit = kit_of(part("a", tmp_path, elastomer=own), part("b", tmp_path, elastomer=own))
    assert [cup.batch.parts for cup in kit.cups] == [("a", "b")]


def test_what_taints_a_platinum_cure_is_poured_last_and_said(tmp_path):
    # Makers' notes: tin stops a platinum cure.
    tin = part("t", tmp_path, SYRINGE, elastomer="silicone_sn_40a")
    platinum = part("p", tmp_path, SYRINGE, elastomer="silicone_pt_10a")
    kit = kit_of(tin, platinum)
    assert "taints" in codes(kit)
    assert [cup.batch.parts for cup in kit.cups] == [("p",), ("t",)]  # though the tin one takes longer to demould
    assert "taints" not in codes(kit_of(platinum))


def test_thinner_and_pigment_are_weighed_in_per_cent_of_both_tins(tmp_path):
    extras = "pour: {extras: [{name: thinner, share: 10 %}, {name: pigment, share: 2 %}]}"
    (cup,) = kit_of(part("a", tmp_path, extras), scale_step_g=0.001).cups
    a, b, thinner, pigment = (line.grams for line in cup.weigh_out.components)
    # Half a step of 0.001 g on 0.05 g is 1 %.
    assert thinner == pytest.approx(0.10 * (a + b), abs=0.0006)
    assert pigment == pytest.approx(0.02 * (a + b), abs=0.0006)


def test_by_volume_the_grams_follow_the_tins_densities(tmp_path):
    # Two to one by volume, 1.1 and 0.95 g/cm³: 0.5 · 0.95/1.1 = 0.43182 g of B for each gram of A.
    own = "{based_on: pu_60a, b_per_a_by_volume: 0.5, a_density: 1.1 g/cm³, b_density: 0.95 g/cm³}"
    (cup,) = kit_of(part("a", tmp_path, "pour: {by: volume}", elastomer=own), scale_step_g=0.001).cups
    a, b = (line.grams for line in cup.weigh_out.components)
    assert b / a == pytest.approx(0.43182, abs=0.0015)


def test_options_win_over_what_the_specs_say(tmp_path):
    one = part("a", tmp_path, "pour: {spare: 10 %, scale_step: 0.1 g}")
    (asked,) = kit_of(one, scale_step_g=0.001).cups
    (more,) = kit_of(one, spare=0.5, scale_step_g=0.001).cups
    assert asked.weigh_out.spare == pytest.approx(0.10, abs=0.01)
    assert more.weigh_out.spare == pytest.approx(0.50, abs=0.01)


def test_what_a_finer_scale_would_do_is_the_cup_that_is_needed(tmp_path):
    (cup,) = kit_of(part("a", tmp_path)).cups
    assert not cup.weigh_out.sound
    assert cup.sound.sound
    assert cup.fine.sound
    assert cup.fine.batch_g == pytest.approx(1.15 * cup.weigh_out.poured_g, rel=0.02)
    assert cup.fine.scale_step_g < 0.1


# --- several fillings ------------------------------------------------------------------------------------------------


def test_a_mold_is_filled_as_often_as_the_parts_ask_for(tmp_path):
    # Five parts from two cavities: three fillings, each when the mold of the one before has been opened.
    one = part("a", tmp_path, "mold: {cavities: 2}", quantity=5)
    kit = kit_of(one, part("b", tmp_path))
    assert (one.cavities, one.fillings) == (2, 3)
    assert [(cup.round, sorted(cup.batch.parts)) for cup in kit.cups] == [(1, ["a", "b"]), (2, ["a"]), (3, ["a"])]
    demould_s = one.case.elastomer.demould_s.value
    for earlier, later in zip(kit.cups, kit.cups[1:], strict=False):
        assert later.batch.starts_s == pytest.approx(earlier.batch.demould_s)
        assert later.batch.demould_s - later.batch.poured_s == pytest.approx(demould_s)
    assert codes(kit).count("several_fillings") == 1
    # All that is poured is all that all castings hold.
    assert sum(cup.batch.volume_mm3 for cup in kit.cups) == pytest.approx(3 * one.volume_mm3 + kit.parts[1].volume_mm3)


def test_a_cord_joined_from_pieces_is_cast_as_often_as_it_has_pieces(tmp_path):
    # A bed of 180 mm holds no 694 mm of cord at a stretch: five or more pieces for each of two belts.
    text = (EXAMPLES / "projector_take_up_belt.yaml").read_text(encoding="utf-8").replace("make: meander", "make: cord")
    one = kit_part(
        sizing.size(case.from_document(document.parse(text + "\nquantity: 2\n", "belt.yaml"))),
        out=tmp_path,
        may_build=False,
    )
    pieces = one.plan.cavity.pieces
    assert pieces >= 5
    assert one.castings == 2 * pieces
    assert one.fillings == math.ceil(2 * pieces / one.cavities)


def test_a_mold_too_slow_for_any_cup_is_left_out_and_said(tmp_path):
    slow = part("slow", tmp_path, elastomer="{based_on: pu_60a, pot_life: 5 min}")
    kit = kit_of(slow, part("b", tmp_path))
    assert [cup.batch.parts for cup in kit.cups] == [("b",)]
    (remark,) = [r for r in kit.warnings if r.code == "outlasts_pot_life"]
    assert remark.text.startswith("slow: filling takes ")


# --- whose volume ----------------------------------------------------------------------------------------------------


def folder_of(one, out, *, pour_mm3=None, passed=True):
    """A build's folder as far as its currency is concerned: record, copy of the spec, and one file."""
    folder = out / one.case.name
    folder.mkdir(parents=True)
    (folder / "spec.yaml").write_text(one.case.document.text, encoding="utf-8")
    (folder / "part.stl").write_bytes(b"solid")
    volume = planned(one).pour_mm3 if pour_mm3 is None else pour_mm3
    record = {
        "version": version("moldgen"),
        "volumes_mm3": {"pour": round(volume, 3)},
        "inspection": {"passed": passed},
        "files": [{"path": "part.stl", "sha256": hashlib.sha256(b"solid").hexdigest()}],
    }
    (folder / "job.json").write_text(json.dumps(record), encoding="utf-8")
    return folder


@pytest.fixture
def spec(tmp_path):
    path = tmp_path / "tyre.yaml"
    path.write_text(TYRE.replace("NAME", "tyre"), encoding="utf-8")
    return path


def sized_from(path):
    return sizing.size(case.load(path))


def is_current(one, folder):
    return current_build(folder, one.case, pour_mm3=planned(one).pour_mm3) is not None


def test_the_volume_of_a_current_build_is_used(spec, tmp_path):
    one = sized_from(spec)
    folder_of(one, tmp_path / "out")
    found = kit_part(one, out=tmp_path / "out", may_build=False)
    assert found.volume_from == "build"
    assert found.volume_mm3 == pytest.approx(planned(one).pour_mm3, abs=0.001)
    assert kit_part(one, out=tmp_path / "elsewhere", may_build=False).volume_from == "plan"


def test_a_build_with_a_failed_proof_is_used_and_said(spec, tmp_path):
    one = sized_from(spec)
    folder_of(one, tmp_path / "out", passed=False)
    kit = kit_of(kit_part(one, out=tmp_path / "out", may_build=False))
    assert not kit.proved
    assert "proof_failed" in codes(kit)


def test_a_build_of_another_text_is_not_current(spec, tmp_path):
    folder = folder_of(sized_from(spec), tmp_path / "out")
    assert is_current(sized_from(spec), folder)
    spec.write_text(spec.read_text(encoding="utf-8") + "# looked at again\n", encoding="utf-8")
    assert not is_current(sized_from(spec), folder)


def test_line_ends_do_not_make_a_build_old(spec, tmp_path):
    folder = folder_of(sized_from(spec), tmp_path / "out")
    copy = folder / "spec.yaml"
    copy.write_bytes(copy.read_bytes().replace(b"\n", b"\r\n"))
    assert is_current(sized_from(spec), folder)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda folder: (folder / "part.stl").write_bytes(b"other"),
        lambda folder: (folder / "part.stl").unlink(),
        lambda folder: (folder / "spec.yaml").unlink(),
        lambda folder: (folder / "job.json").unlink(),
        lambda folder: (folder / "job.json").write_text("{}", encoding="utf-8"),
        lambda folder: (folder / "job.json").write_text("[1]", encoding="utf-8"),
        lambda folder: (folder / "job.json").write_text("{", encoding="utf-8"),
    ],
    ids=["file changed", "file gone", "spec gone", "record gone", "record empty", "record a list", "record cut"],
)
def test_a_folder_that_is_not_as_built_is_not_current(spec, tmp_path, spoil):
    one = sized_from(spec)
    folder = folder_of(one, tmp_path / "out")
    spoil(folder)
    assert not is_current(one, folder)


def test_a_build_by_other_rules_is_not_current(spec, tmp_path):
    # The mold is drawn otherwise today: a thousandth more to fill, where builds prove a millionth.
    one = sized_from(spec)
    assert not is_current(one, folder_of(one, tmp_path / "out", pour_mm3=1.001 * planned(one).pour_mm3))


def test_a_changed_file_that_the_spec_names_makes_a_build_old(spec, tmp_path):
    shop = tmp_path / "shop.yaml"
    shop.write_text("based_on: pu_60a\nlinear_shrinkage: 0.3 %\n", encoding="utf-8")
    spec.write_text(
        spec.read_text(encoding="utf-8").replace("elastomer: pu_60a", "elastomer: {file: shop.yaml}"), encoding="utf-8"
    )
    one = sized_from(spec)
    folder = folder_of(one, tmp_path / "out")
    (folder / "spec_files").mkdir()
    (folder / "spec_files" / "shop.yaml").write_bytes(shop.read_bytes())
    assert is_current(one, folder)
    shop.write_text("based_on: pu_60a\nlinear_shrinkage: 0.3 %\n# new tin\n", encoding="utf-8")
    assert not is_current(sized_from(spec), folder)
