"""From castings to the spec: proposals, the person's files, and what is refused."""

from datetime import date
from shutil import rmtree

import pytest
from earlier_builds import EXAMPLES, build_record

from moldgen import case
from moldgen.errors import OutputError, SpecError
from moldgen.feedback import history
from moldgen.feedback.refine import refine

TODAY = date(2026, 5, 1)

# The build's mold is 28.63 / 36.84 / 5.09 mm. Printed at 99.7 % with walls 0.06 mm proud, cast with 0.8 % shrinkage:
# 28.63 x 0.997 + 0.12 = 28.66; 36.84 x 0.997 - 0.12 = 36.61; times 0.992: 28.43 and 36.32.
CASTINGS = """of,dimension,reading
mold,inner_diameter,28.66 ± 0.03 mm
mold,outer_diameter,36.61 ± 0.03 mm
mold,inner_diameter,28.67 ± 0.03 mm
mold,outer_diameter,36.60 ± 0.03 mm
casting,inner_diameter,28.43 ± 0.03 mm
casting,outer_diameter,36.32 ± 0.03 mm
casting,inner_diameter,28.44 ± 0.03 mm
casting,outer_diameter,36.31 ± 0.03 mm
"""


@pytest.fixture
def bench(tmp_path):
    """A spec of the person's own, its build, and a table of castings."""
    spec, table = tmp_path / "tyre.yaml", tmp_path / "castings.csv"
    spec.write_bytes((EXAMPLES / "loop_idler.yaml").read_bytes())
    table.write_text(CASTINGS, encoding="utf-8")
    folder = build_record(tmp_path / "out", spec)
    return spec, table, folder


def run(bench, *, write=False, out=None):
    spec, table, folder = bench
    return refine(spec, table, out=out or folder.parent, write=write, today=TODAY)


def test_figures_come_out_as_the_castings_were_made(bench):
    refinement = run(bench)
    figures = refinement.fit.figures
    assert refinement.fit.significant
    assert figures["linear_shrinkage"].low <= 0.008 <= figures["linear_shrinkage"].high
    assert figures["print_scale"].low <= 0.997 <= figures["print_scale"].high
    assert figures["print_offset_mm"].low <= 0.06 <= figures["print_offset_mm"].high
    assert refinement.written == ()


def test_writing_keeps_every_comment_and_the_order_and_the_spec_means_it(bench):
    spec, _, _ = bench
    before = spec.read_text(encoding="utf-8").splitlines()
    refinement = run(bench, write=True)
    after = spec.read_text(encoding="utf-8").splitlines()
    kept = [line for line in before if not line.startswith("elastomer:")]
    assert [line for line in after if line in kept and line] == [line for line in kept if line]
    assert sum("#" in line for line in after) == sum("#" in line for line in before) > 2
    assert refinement.written == (spec.as_posix(),)
    now = case.load(spec)
    figures = refinement.fit.figures
    assert now.given.elastomer.linear_shrinkage == pytest.approx(figures["linear_shrinkage"].value, abs=1e-5)
    assert now.given.elastomer.linear_shrinkage.u == pytest.approx(figures["linear_shrinkage"].u, rel=0.05)
    assert now.printer.xy_scale == pytest.approx(figures["print_scale"].value, abs=1e-5)
    assert now.printer.hole_offset_mm == now.printer.boss_offset_mm
    assert now.printer.hole_offset_mm == pytest.approx(figures["print_offset_mm"].value, abs=1e-3)
    assert now.spec.mold.revision == 2
    assert "2026-05-01" in now.elastomer.changed_by
    assert now.printer.z_offset_mm == 0.0  # no height was measured, so nothing is said of it


def test_next_mold_undoes_the_shrinkage_that_was_found(bench):
    refinement = run(bench)
    shrinkage = refinement.fit.figures["linear_shrinkage"].value
    before, after = refinement.next_mold_mm["outer_diameter_mm"]
    # Mold = part/(1 - s), as in ASTM D2566: the free part stays, only s changes from 0.2 %.
    assert after == pytest.approx(before * (1.0 - 0.002) / (1.0 - shrinkage), rel=1e-6)


def test_what_was_done_and_why_stands_in_the_builds_history(bench):
    _, _, folder = bench
    run(bench, write=True)
    (entry,) = history.entries(folder)
    measured = entry["measured"]
    assert measured["date"] == "2026-05-01"
    assert measured["readings"] == 8
    assert set(measured["changed"]) >= {"elastomer.linear_shrinkage", "printer.xy_scale", "mold.revision"}
    assert measured["why"]


def test_spec_changed_since_the_build_is_not_written(bench):
    spec, _, _ = bench
    changed = spec.read_text(encoding="utf-8").replace("38.0 ± 0.1 mm", "38.2 ± 0.1 mm")
    spec.write_text(changed, encoding="utf-8")
    with pytest.raises(SpecError) as caught:
        run(bench, write=True)
    (problem,) = caught.value.problems
    assert problem.file == spec.as_posix()
    assert "differs" in problem.limit
    assert spec.read_text(encoding="utf-8") == changed


def test_castings_are_judged_by_their_build_where_the_spec_has_moved_on(bench):
    spec, _, _ = bench
    as_built = run(bench)
    spec.write_text(spec.read_text(encoding="utf-8").replace("38.0 ± 0.1 mm", "39.5 ± 0.1 mm"), encoding="utf-8")
    moved_on = run(bench)
    assert moved_on.fit == as_built.fit
    assert "changed_since_build" in [remark.code for remark in moved_on.remarks]


def test_castings_that_led_to_the_figures_are_not_applied_twice(bench, tmp_path):
    run(bench, write=True)
    with pytest.raises(SpecError, match="already"):
        run(bench, write=True, out=tmp_path / "nothing_built")


def test_castings_as_designed_change_nothing(bench):
    spec, table, _ = bench
    table.write_text(
        "of,dimension,reading\nmold,outer_diameter,36.84 ± 0.03 mm\ncasting,outer_diameter,36.76 ± 0.05 mm\n"
        "mold,inner_diameter,28.63 ± 0.03 mm\n",
        encoding="utf-8",
    )
    before = spec.read_bytes()
    refinement = run(bench, write=True)
    assert not refinement.fit.significant
    assert (refinement.changes, refinement.written) == ((), ())
    assert spec.read_bytes() == before


def test_what_the_castings_cannot_tell_is_said(bench):
    _, table, _ = bench
    table.write_text("\n".join(line for line in CASTINGS.splitlines() if "mold" not in line), encoding="utf-8")
    refinement = run(bench)
    assert not refinement.fit.figures["print_scale"].known
    told = {remark.code: remark.text for remark in refinement.remarks}
    assert "Measure the printed mold too" in told["scale_or_shrinkage"]


def test_elastomer_and_printer_in_files_of_their_own_are_written_there(bench):
    spec, _, folder = bench
    own = spec.parent
    (own / "tin.yaml").write_text("# the tin on the shelf\nbased_on: pu_60a\ndensity: 1.05\n", encoding="utf-8")
    (own / "printer.yaml").write_text("based_on: filament_0_4   # back room\n", encoding="utf-8")
    text = spec.read_text(encoding="utf-8").replace("elastomer: pu_60a", "elastomer: {file: tin.yaml}")
    spec.write_text(text + "\nprinter: {file: printer.yaml}\n", encoding="utf-8")
    rmtree(folder)
    build_record(folder.parent, spec)
    refinement = run(bench, write=True)
    assert set(refinement.written) == {(own / n).as_posix() for n in ("tyre.yaml", "tin.yaml", "printer.yaml")}
    assert (own / "tin.yaml").read_text(encoding="utf-8").startswith("# the tin on the shelf\nbased_on: pu_60a\n")
    assert "# back room" in (own / "printer.yaml").read_text(encoding="utf-8")
    assert "{file: tin.yaml}" in spec.read_text(encoding="utf-8")
    figures = refinement.fit.figures
    assert case.load(spec).given.elastomer.linear_shrinkage == pytest.approx(
        figures["linear_shrinkage"].value, abs=1e-5
    )


def test_a_printers_shared_figures_that_another_part_has_refined_are_not_refined_again(bench):
    spec, _, folder = bench
    profile = spec.parent / "printer.yaml"
    profile.write_text("based_on: filament_0_4\n", encoding="utf-8")
    spec.write_text(spec.read_text(encoding="utf-8") + "\nprinter: {file: printer.yaml}\n", encoding="utf-8")
    rmtree(folder)
    build_record(folder.parent, spec)
    as_built = run(bench)
    refined = "based_on: filament_0_4\nxy_scale: 0.997\nhole_offset: 0.06 mm\nboss_offset: 0.06 mm\n"
    profile.write_text(refined, encoding="utf-8")
    assert run(bench).fit == as_built.fit  # told by the figures that the mold was built with
    with pytest.raises(SpecError, match="a file that it names"):
        run(bench, write=True)
    assert profile.read_text(encoding="utf-8") == refined


def test_spoiled_build_is_named(bench):
    _, _, folder = bench
    (folder / "job.json").write_text("{", encoding="utf-8")
    with pytest.raises(OutputError, match="Build the part again"):
        run(bench)
