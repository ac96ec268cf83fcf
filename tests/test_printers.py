"""Printers by kind, and the printer of one's own."""

import pytest

from moldgen import case, printers
from moldgen.errors import SpecError
from moldgen.printers import PRINTERS, Printer, UnknownPrinterError
from moldgen.spec.document import parse

EACH = pytest.mark.parametrize("printer", PRINTERS.values(), ids=PRINTERS.keys())

SPEC = """\
family: idler_tyre
name: rim
elastomer: pu_60a
measured: {hub_diameter: 30 mm, hub_width: 6 mm}
wanted: {fitted_diameter: 38 mm, fitted_width: 5 mm}
"""


def printer(text):
    return case.from_document(parse(SPEC + text, "part.yaml")).printer


def problems(text):
    with pytest.raises(SpecError) as caught:
        printer(text)
    return caught.value.problems


@EACH
def test_a_wall_is_two_lines_and_a_hole_no_narrower_than_a_line(printer):
    # Public design tables for filament printing: walls of two lines at least.
    assert printer.least_wall_mm >= 2.0 * printer.line_width_mm - 1e-9
    assert printer.least_hole_mm >= printer.line_width_mm
    assert printer.layer_mm < printer.line_width_mm


@EACH
def test_a_printer_prints_true_until_it_is_measured(printer):
    assert printer.xy_scale == 1.0
    assert (printer.hole_offset_mm, printer.boss_offset_mm, printer.z_offset_mm) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("kind", ["filament_0_4", "filament_0_25"])
def test_filament_kinds_hold_to_the_public_design_tables(kind):
    # Overhang 45°, bridges up to 10 mm, 0.2 mm between parts that fit together; PETG's glass transition 77 °C by
    # data-sheet compilations.
    found = printers.find(kind)
    assert found.overhang_deg == 45.0
    assert found.bridge_mm <= 10.0
    assert found.clearance_mm <= 0.2
    assert (found.plastic, found.softens_degc) == ("petg", 77.0)


def test_the_usual_printer_is_taken_where_none_is_named():
    assert printer("") == PRINTERS["filament_0_4"]
    assert printer("printer:\n") == PRINTERS["filament_0_4"]


def test_a_kind_is_taken_by_its_name():
    assert printer("printer: photopolymer\n") == PRINTERS["photopolymer"]


def test_figures_of_one_s_own_replace_the_kind_s_and_no_others():
    own = printer(
        "printer: {based_on: photopolymer, bed_x: 6 in, clearance: 0.15 mm, xy_scale: 99.7 %, plastic: abs}\n"
    )
    usual = PRINTERS["photopolymer"]
    assert own.bed_x_mm == pytest.approx(152.4)
    assert (own.clearance_mm, own.xy_scale, own.plastic) == (0.15, 0.997, "abs")
    for name in Printer.model_fields.keys() - {"bed_x_mm", "clearance_mm", "xy_scale", "plastic"}:
        assert getattr(own, name) == getattr(usual, name), name


def test_figures_without_a_kind_replace_the_usual_printer_s():
    own = printer("printer: {bed_x: 300 mm}\n")
    assert (own.bed_x_mm, own.bed_y_mm) == (300.0, PRINTERS["filament_0_4"].bed_y_mm)


def test_an_unknown_kind_is_answered_with_those_that_are_known():
    (problem,) = problems("printer: resin\n")
    assert (problem.line, problem.field, problem.given) == (6, "printer", "resin")
    assert all(kind in problem.way_out for kind in PRINTERS)
    with pytest.raises(UnknownPrinterError):
        printers.find("resin")


def test_an_unknown_kind_and_a_wrong_figure_are_told_together():
    found = problems("printer:\n  based_on: resin\n  bed_x: 5 N\n  bedy: 3 mm\n")
    assert [(p.line, p.field) for p in found] == [
        (7, "printer.based_on"),
        (8, "printer.bed_x"),
        (9, "printer.bedy"),
    ]
    assert "`bed_y`" in found[2].way_out


@pytest.mark.parametrize(
    ("figure", "value"),
    [("xy_scale", "0"), ("xy_scale", "-1"), ("xy_scale", "0.5"), ("layer", "0 mm"), ("clearance", "200 mm"),
     ("line_width", "0 mm"), ("clearance", "-0.1 mm"), ("overhang", "120 deg"), ("hole_offset", "3 mm"),
     ("bed_x", "0 mm"), ("bed_z", "20 m"), ("plastic", "wood"), ("softens", "400 °C"), ("least_wall", "nan")],
)  # fmt: skip
def test_figures_that_no_mold_could_be_planned_with_are_refused(figure, value):
    (problem,) = problems(f"printer: {{{figure}: {value}}}\n")
    assert problem.field == f"printer.{figure}"


@pytest.mark.parametrize("value", ["[a]", "3 mm", "''"])
def test_a_printer_is_a_kind_or_figures(value):
    (problem,) = problems(f"printer: {value}\n")
    assert problem.field == "printer"
