"""The coupon's table from build to figures: filled in by a printer and a rubber that the program does not know."""

import csv
import io
import json
from datetime import date

import pytest
from earlier_builds import EXAMPLES, build_record

from moldgen import case, sizing
from moldgen.errors import SpecError
from moldgen.feedback.refine import refine
from moldgen.jigs.order import jigs_of

SCALE, PROUD_MM, LOWER_MM, SHRINKAGE = 0.9965, 0.08, 0.06, 0.0072
TODAY = date(2026, 5, 1)
# Where a print's walls stand proud by w, a pin's diameter grows by 2 w and a hole's shrinks by 2 w: plane geometry.
PROUD = {"boss": 2, "plate": 2, "hole": -2, "slot": -2, "bar": -2}


@pytest.fixture(params=["loop_idler", "loop_rewind_tyre"])  # stretched onto its metal, and cast onto it
def bench(request, tmp_path):
    """A spec that asks for the coupon, its build's record, and the empty table."""
    spec = tmp_path / "part.yaml"
    spec.write_text(
        (EXAMPLES / f"{request.param}.yaml").read_text(encoding="utf-8") + "\njigs: [coupon]\n", encoding="utf-8"
    )
    folder = build_record(tmp_path / "out", spec)
    (jig,) = jigs_of(sizing.size(case.load(spec)))
    record = json.loads((folder / "job.json").read_text(encoding="utf-8"))
    (folder / "job.json").write_text(json.dumps({**record, "jigs": [jig.as_json()]}), encoding="utf-8")
    return spec, jig


def measured(kind, nominal_mm):
    return nominal_mm + LOWER_MM if kind == "step" else SCALE * nominal_mm + PROUD[kind] * PROUD_MM


def filled_in(jig, *, leave=()):
    """The table with every reading, save those of some kinds."""
    rows = list(csv.DictReader(io.StringIO(jig.tables["coupon.csv"])))
    for row in rows:
        kind = row["dimension"].split("_")[1]
        reading = measured(kind, jig.dimensions[f"{row['dimension']}_mm"])
        reading *= 1.0 - SHRINKAGE if row["of"] == "casting" else 1.0
        row["reading"] = "" if kind in leave else f"{reading:.3f} ± 0.02 mm"
    text = io.StringIO()
    table = csv.DictWriter(text, rows[0])
    table.writeheader()
    table.writerows(rows)
    return text.getvalue()


def refined(bench, tmp_path, text):
    table = tmp_path / "mine.csv"
    table.write_text(text, encoding="utf-8")
    return refine(bench[0], table, out=tmp_path / "out", write=False, today=TODAY)


def test_scale_offsets_and_shrinkage_come_back_as_the_coupon_was_made(bench, tmp_path):
    fit = refined(bench, tmp_path, filled_in(bench[1])).fit
    assert fit.significant and not fit.outliers and not fit.unused
    # Readings are rounded to 0.001 mm; over the plate's 110 mm that is a hundred-thousandth.
    made = {
        "linear_shrinkage": (SHRINKAGE, 2e-5),
        "print_scale": (SCALE, 2e-5),
        "print_offset_mm": (PROUD_MM, 1e-3),
        "print_z_offset_mm": (LOWER_MM, 1e-3),
    }
    for name, (value, within) in made.items():
        assert fit.figures[name].known, name
        assert fit.figures[name].value == pytest.approx(value, abs=within), name


def test_rows_left_empty_are_passed_over_and_said(bench, tmp_path):
    refinement = refined(bench, tmp_path, filled_in(bench[1], leave=("slot", "step", "bar")))
    (said,) = [remark.text for remark in refinement.remarks if remark.code == "not_filled_in"]
    # Three slots, four steps, and two lengths of the bar, in the trough and cast.
    assert said.startswith("11 rows")
    assert not refinement.fit.figures["print_z_offset_mm"].known
    assert refinement.fit.figures["print_scale"].value == pytest.approx(SCALE, abs=2e-5)


def test_a_table_with_no_reading_at_all_is_refused(bench, tmp_path):
    with pytest.raises(SpecError, match="none of the table's rows has one"):
        refined(bench, tmp_path, bench[1].tables["coupon.csv"])


def test_what_a_coupons_length_runs_between_is_not_the_persons_to_say(bench, tmp_path):
    with pytest.raises(SpecError, match="Leave this cell empty"):
        refined(bench, tmp_path, "of,dimension,reading,length\nmold,coupon_boss_2_diameter,8.02 mm,outside\n")


def test_without_a_coupon_in_the_spec_there_are_no_such_lengths(tmp_path):
    spec, table = tmp_path / "part.yaml", tmp_path / "mine.csv"
    spec.write_bytes((EXAMPLES / "loop_idler.yaml").read_bytes())
    table.write_text("of,dimension,reading\nmold,coupon_boss_2_diameter,8.02 mm\n", encoding="utf-8")
    with pytest.raises(SpecError, match="no such dimension"):
        refine(spec, table, out=tmp_path / "out", write=False, today=TODAY)


def test_the_coupon_is_known_before_anything_is_built(bench, tmp_path):
    table = tmp_path / "mine.csv"
    table.write_text(filled_in(bench[1]), encoding="utf-8")
    fit = refine(bench[0], table, out=tmp_path / "nothing", write=False, today=TODAY).fit
    assert fit.figures["print_scale"].value == pytest.approx(SCALE, abs=2e-5)
