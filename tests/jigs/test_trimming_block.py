"""The trimming block's pocket takes the part flush."""

import pytest
from jig_examples import jig, order

from moldgen.jigs.order import NotForThisPartError

FLAT = ("changer_brake_shoe", "loop_one_way_pad", "changer_one_way_pad", "loop_washer")


@pytest.mark.parametrize("spec", FLAT)
def test_the_pocket_is_as_deep_as_the_free_part_is_thick(spec):
    block = jig("trimming_block", spec).dimensions
    assert block["pocket_depth_mm"] == pytest.approx(order(spec).free["thickness_mm"], abs=0.001)


def test_the_pocket_is_the_outline_and_play_on_each_side():
    # The brake shoe: 36.0 mm long by the drawing's own scale, with square ends; 0.1 mm of play at each.
    block = jig("trimming_block", "changer_brake_shoe").dimensions
    assert block["pocket_length_mm"] == pytest.approx(36.0 + 0.2, abs=0.01)


def test_the_washers_pocket_has_the_area_of_a_parallel_outline():
    # Steiner: a convex outline moved out by d encloses A + P d + (2 π..4 Σtan) d²; for d = 0.1 the last term is < 0.1.
    washer, (piece,) = order("loop_washer").shape, jig("trimming_block", "loop_washer").pieces
    pocket = piece.cuts[0].outline
    grown = washer.outline.area + 0.1 * washer.outline.length
    assert 0.0 < pocket.area - grown < 0.1


def test_turned_parts_have_no_trimming_block():
    with pytest.raises(NotForThisPartError, match="flat parts"):
        jig("trimming_block", "changer_foot")
