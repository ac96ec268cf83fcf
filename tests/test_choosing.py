"""Which elastomer for which part: the order, the reasons, and what is not known."""

import pytest

from moldgen import elastomers
from moldgen.choosing import HARDNESS_USUAL, NOT_KNOWN, ageing, ranked

FAMILIES = ("idler_tyre", "belt", "clutch_pad", "pinch_sleeve")


@pytest.mark.parametrize("family", FAMILIES)
def test_every_elastomer_has_a_place_and_reasons(family):
    order = ranked(family)
    assert {one.elastomer.id for one in order} == {one.id for one in elastomers.table()}
    assert [one.score for one in order] == sorted((one.score for one in order), reverse=True)
    for one in order:
        said = " ".join(one.reasons)
        for word in ("friction", "tear", "tension", "shrinks"):
            assert word in said, (one.elastomer.id, word)


@pytest.mark.parametrize("family", FAMILIES)
def test_what_the_table_calls_poor_never_comes_before_what_it_calls_good(family):
    verdicts = [one.verdict for one in ranked(family)]
    assert "good" in verdicts
    assert "poor" in verdicts
    assert verdicts.index("poor") > max(i for i, verdict in enumerate(verdicts) if verdict == "good")


@pytest.mark.parametrize("family", FAMILIES)
def test_the_first_choice_has_a_hardness_that_has_worked(family):
    # Service practice, from memory: tyres 40 to 75 A, belts 60 to 85, pads 50 to 80, pinch rollers 50 to 70.
    low, high = HARDNESS_USUAL[family]
    assert low <= ranked(family)[0].elastomer.hardness_shore_a.value <= high


def test_silicone_is_no_belt():
    # It tears from any nick (makers' notes); a belt is nicked sooner or later.
    order = [one.elastomer.chemistry for one in ranked("belt")]
    assert order[0] == "polyurethane"
    assert order.index("silicone_pt") > order.index("polyurethane")


def test_a_thick_mix_and_a_hardness_out_of_the_usual_are_told():
    reasons = {one.elastomer.id: " ".join(one.reasons) for one in ranked("belt")}
    assert "bubbles stay" in reasons["silicone_sn_40a"]  # 30 Pa·s
    assert "bubbles stay" not in reasons["pu_60a"]  # 2 Pa·s
    assert "60 to 85 A has worked" in reasons["pu_20a"]
    assert "has worked" not in reasons["pu_60a"]


def test_how_each_class_lasts_is_told():
    notes = {title: " ".join(found) for title, found in ageing().items()}
    assert set(notes) == {one.title for one in elastomers.table()}
    # Esters of polyurethane hydrolyse: Bertram and Cuddihy, IEEE Trans. Magn. 18 (1982) 993, as the table cites it.
    assert "hydrolyse" in notes["Polyurethane"]
    assert "tear strength" in notes["Tin-cured silicone"]
    assert "set" in notes["Polysulfide"]
    assert all(notes.values())


def test_what_is_not_known_is_admitted():
    said = " ".join(NOT_KNOWN)
    for word in ("Friction", "decades", "ester"):
        assert word in said


def test_a_family_without_verdicts_is_ranked_by_figures_alone():
    order = ranked("outline_part")
    assert {one.verdict for one in order} == {"unknown"}
    assert len(order) == len(elastomers.table())
