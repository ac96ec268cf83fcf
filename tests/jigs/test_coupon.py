"""The calibration coupon: its volume by hand, the printer's figures undone in it, its numbers and its table."""

import csv
import io
import math

import pytest
from jig_examples import changed, jig, order, without_letters

from moldgen.jigs import coupon
from moldgen.jigs.bodies import carried_out
from moldgen.jigs.order import NotForThisPartError
from moldgen.jigs.plan import Jig
from moldgen.parts import kernel


def test_the_volume_is_that_of_plate_pins_stairs_and_trough_less_the_holes():
    (piece,) = jig("coupon", "loop_idler").pieces
    (body,) = carried_out((Jig("coupon", "", (), (), {}, (without_letters(piece),)),)).values()
    quarter = math.pi / 4
    plate = 4.0 * (110.0 * 70.0 - (4 - math.pi) * 4.0**2)
    pins = 8.0 * quarter * (4**2 + 8**2 + 12**2 + 16**2)
    stairs = 11.0**2 * (2.0 + 5.0 + 8.0 + 11.0)  # above the plate
    trough = 6.0 * (86.0 * 14.0 - (4 - math.pi) * 2.0**2 - 80.0 * 8.0)
    holes = 4.0 * (quarter * (6**2 + 8**2 + 12**2 + 16**2) + 10.0 * (5 + 8 + 12))
    assert kernel.volume_mm3(body) == pytest.approx(plate + pins + stairs + trough - holes, rel=1e-6)


def test_a_printer_whose_figures_are_known_prints_the_coupon_true():
    figures = {"xy_scale": 0.99, "hole_offset_mm": 0.1, "boss_offset_mm": 0.05, "z_offset_mm": 0.2}
    printer = order("loop_idler").printer.model_copy(update=figures)
    (piece,) = coupon.plan(changed("loop_idler", printer=printer)).pieces
    # The printed length is the scale times the modelled one, with walls 0.05 mm out on pins and 0.1 mm in in holes;
    # both offsets are modelled lengths.
    x0, _, x1, _ = piece.solids[1].outline.bounds
    assert 0.99 * (x1 - x0 + 2 * 0.05) == pytest.approx(4.0)
    x0, _, x1, _ = piece.cuts[0].outline.bounds
    assert 0.99 * (x1 - x0 - 2 * 0.1) == pytest.approx(6.0)
    assert max(y for _, y in ((v.x, v.y) for v in piece.solids[-2].section.vertices)) + 0.2 == pytest.approx(15.0)


def test_every_number_in_a_name_is_engraved_once():
    plan = jig("coupon", "loop_idler")
    engraved = sorted(int(label.text) for label in plan.pieces[0].labels)
    named = {int(word) for name in plan.dimensions for word in name.split("_") if word.isdigit()}
    assert engraved == sorted(named) == list(range(1, 17))


def test_the_table_has_a_row_for_each_length_and_two_for_the_bar():
    plan = jig("coupon", "loop_idler")
    rows = list(csv.DictReader(io.StringIO(plan.tables["coupon.csv"])))
    assert [f"{row['dimension']}_mm" for row in rows if row["of"] == "mold"] == list(plan.dimensions)
    assert [row["dimension"] for row in rows if row["of"] == "casting"] == [
        "coupon_bar_16_length",
        "coupon_bar_16_width",
    ]
    assert {row["reading"] for row in rows} == {""}


def test_a_bed_too_small_for_it_is_refused():
    printer = order("loop_idler").printer.model_copy(update={"bed_x_mm": 100.0})
    with pytest.raises(NotForThisPartError, match="110 x 70 mm"):
        coupon.plan(changed("loop_idler", printer=printer))
