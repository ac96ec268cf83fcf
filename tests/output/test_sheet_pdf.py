"""The job sheet as PDF: it says what the page says, its drawings are true to scale, and no table loses its head."""

import hashlib
import json
import re
import subprocess
import sys

import pytest
from pdf_pages import lines_mm, texts
from sheet_pages import SPECS, Page, built

from moldgen import case, planning, sizing
from moldgen.output.sheet.pdf import write_pdf

SPEC = SPECS / "loop_idler.yaml"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return built("loop_idler", tmp_path_factory.mktemp("out"), pdf=True).directory


@pytest.fixture(scope="module")
def pages(folder):
    return texts(folder / "sheet.pdf")


@pytest.fixture(scope="module")
def drawn(pages):
    """Numbers of the pages with the part's drawing, the mold's, and the template."""
    return tuple(next(i for i, text in enumerate(pages) if what in text) for what in TITLES)


TITLES = ("Nominalsizes", "Mold,closed", "Full-sizetemplate")


def test_it_is_listed_among_the_files_with_its_digest(folder):
    files = json.loads((folder / "job.json").read_text(encoding="utf-8"))["files"]
    entry = next(entry for entry in files if entry["path"] == "sheet.pdf")
    assert (entry["role"], entry["format"]) == ("sheet", "pdf")
    assert entry["sha256"] == hashlib.sha256((folder / "sheet.pdf").read_bytes()).hexdigest()


def test_everything_the_page_takes_from_the_record_is_on_paper(folder, pages):
    page = Page((folder / "sheet.html").read_text(encoding="utf-8"))
    paper = "".join(pages)
    said = [re.sub(r"\s+", "", element.text) for element in page.with_key()]
    assert len(said) > 150
    assert [text for text in said if text not in paper] == []
    assert "DrawingsOnthelastpages" in paper


def test_drawings_carry_the_sizes_of_the_sizing_and_of_the_plan(pages, drawn):
    sized = sizing.size(case.load(SPEC))
    plan = planning.planned(sized)
    part, mold, template = (pages[number] for number in drawn)
    for stage in (sized.free, sized.fitted, sized.mold):
        for name, size in stage.items():
            if name != "edge_mm":  # drawn as two radii
                assert _written(size.value) in part, name
    block, sprue = plan.block, plan.sprues[0]
    for length in (block.x_mm, block.y_mm, block.lower_mm, block.upper_mm, sprue.funnel_diameter_mm):
        assert _written(length) in mold
    for stage in (sized.free, sized.fitted):
        assert "Ø" + _written(stage["outer_diameter_mm"].value) in template


def _written(value):
    return f"{value:.2f}".rstrip("0").rstrip(".")


def test_every_drawing_has_a_line_of_100_mm_that_measures_100_mm(folder, drawn):
    for number in drawn:
        assert any(length == pytest.approx(100.0, abs=0.01) for length in lines_mm(folder / "sheet.pdf", number))


def test_lengths_on_paper_are_the_parts_own_at_the_stated_scale(folder, drawn):
    # The spec's own fitted diameter is 38 mm: full size on the template, twice that on the part's drawing at 2:1,
    # whose frame is 180 mm wide as ISO 5457 leaves it on A4.
    part, _, template = (lines_mm(folder / "sheet.pdf", number) for number in drawn)
    assert any(length == pytest.approx(38.0, abs=0.02) for length in template)
    assert any(length == pytest.approx(76.0, abs=0.02) for length in part)
    assert any(length == pytest.approx(180.0, abs=0.02) for length in part)


def test_a_table_that_goes_on_over_the_page_has_its_head_again_and_tears_no_row(tmp_path):
    rows = "".join(f"<tr><th>first{i}</th><td>{'word ' * 60}last{i}</td></tr>" for i in range(60))
    table = f"<table class='prose'><thead><tr><th>of what</th><th>said</th></tr></thead><tbody>{rows}</tbody></table>"
    (tmp_path / "sheet.html").write_text(f"<main>{table}</main>", encoding="utf-8")
    record = {"name": "long", "revision": 1, "elastomer": {"label": "any"}}
    write_pdf(tmp_path, record, [])
    pages = texts(tmp_path / "sheet.pdf")
    assert len(pages) > 3
    for text in pages:
        assert text.startswith("ofwhatsaid")
        assert re.findall(r"first(\d+)", text) == re.findall(r"last(\d+)", text) != []


def test_without_the_typesetter_the_way_out_is_told_before_the_kernel_is_loaded(tmp_path):
    code = (
        "import sys; sys.modules['typst'] = None\n"
        "from moldgen.cli import main\n"
        f"sys.argv = ['moldgen', 'build', {str(SPEC)!r}, '--pdf', '--out', 'out']\n"
        "try: main()\n"
        "except SystemExit as ended: print(ended.code, 'OCP' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["2", "False"]
    assert "pip install 'moldgen[pdf]'" in done.stderr
    assert not (tmp_path / "out").exists()
