"""The job sheet: it says what the record says, asks nobody for anything, and comes out the same each time."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from jinja2 import UndefinedError
from sheet_pages import SPECS, Page, built, looked_up, number_of

from moldgen import case, job, sizing
from moldgen.output.sheet import html

EXAMPLES = ("loop_idler", "loop_drive_belt", "loop_one_way_pad")
"""A turned part, a belt with its pulleys' table, a flat part with several cavities."""


@pytest.fixture(scope="module", params=EXAMPLES)
def folder(request, tmp_path_factory):
    return built(request.param, tmp_path_factory.mktemp("out")).directory


@pytest.fixture(scope="module")
def record(folder):
    return json.loads((folder / "job.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def page(folder):
    return Page((folder / "sheet.html").read_text(encoding="utf-8"))


def test_every_number_on_the_sheet_is_the_records_rounded(page, record):
    numbers = page.with_key("data")
    assert len(numbers) > 100
    for element in numbers:
        value, shown, half_step = number_of(element, record)
        # The page carries the record's own value along, in the record's unit.
        assert float(element.attributes["value"]) / float(element.attributes.get("data-per", 1)) == pytest.approx(value)
        assert abs(shown - value) <= half_step * (1.0 + 1e-9), element
        assert float(shown) != 0.0 or abs(value) <= half_step, element


def test_every_sentence_with_a_key_is_the_records_word_for_word(page, record):
    sentences = [element for element in page.with_key() if element.tag != "data"]
    assert len(sentences) > 50
    for element in sentences:
        # Backquotes turn into the look of code, as they would in a spec's comment.
        assert element.text == str(looked_up(record, element.attributes["data-key"])).replace("`", "")


def test_no_number_stands_on_the_sheet_that_is_not_the_records(page, record):
    """All that is typed into the template itself is listed here, so that no figure slips in beside the record."""
    files = {entry["path"] for entry in record["files"]} | {"job.json", "spec.yaml"}
    said = {label for label in (text.strip() for text in page.loose) if re.search(r"\d", label)}
    known = {"Four sets, never to be mixed. What stands after ± holds in 19 cases of 20, given how well you measured."}
    known |= {"in 19 cases of 20", "% per 0.1 mm of thickness", "% per 0.1 mm of diameter", "g/cm³", "✓ read back 3mf"}
    assert said - known - files == set()


def test_all_sizes_predictions_steps_cautions_and_proofs_are_there(page, record):
    keys = {element.attributes["data-key"] for element in page.with_key()}
    for stage in ("fitted", "free", "mold"):
        assert {f"{stage}.{name}.value" for name in record[stage]} <= keys
    for name, entry in record["predictions"].items():
        if isinstance(entry, dict):
            assert {f"predictions.{name}.value", f"predictions.{name}.basis"} <= keys
        for index, member in enumerate(entry if isinstance(entry, list) else ()):
            assert {f"predictions.{name}.{index}.{key}.value" for key in member if key != "name"} <= keys
    for index, step in enumerate(record["steps"]):
        assert f"steps.{index}.text" in keys
        assert {f"steps.{index}.cautions.{i}" for i in range(len(step["cautions"]))} <= keys
    assert {f"inspection.findings.{i}.text" for i in range(len(record["inspection"]["findings"]))} <= keys
    assert {f"warnings.{i}.text" for i in range(len(record["warnings"]))} <= keys
    assert {f"measured.{i}.value" for i in range(len(record["measured"]))} <= keys
    figures = [name for name, entry in record["elastomer"].items() if isinstance(entry, dict) and "source" in entry]
    assert len(figures) > 20
    assert {f"elastomer.{name}.source" for name in figures} <= keys


def test_cautions_stand_within_their_step(folder, record):
    text = (folder / "sheet.html").read_text(encoding="utf-8")
    for index, step in enumerate(record["steps"]):
        for caution in range(len(step["cautions"])):
            here = text.index(f'data-key="steps.{index}.cautions.{caution}"')
            assert text.index(f'data-key="steps.{index}.text"') < here
            following = text.find(f'data-key="steps.{index + 1}.title"')
            assert following == -1 or here < following


def test_nothing_is_asked_of_any_network(page, folder, record):
    files = {entry["path"] for entry in record["files"]} | {"job.json"}
    for element in page.elements:
        for name, value in element.attributes.items():
            if name in ("src", "href", "poster", "data", "action", "srcset", "xlink:href"):
                assert value.startswith(("data:image/png;base64,", "#")) or value in files, (element.tag, value)
        assert element.tag not in ("link", "iframe", "object", "embed", "base", "form")
    text = (folder / "sheet.html").read_text(encoding="utf-8")
    # Names of XML vocabularies look like addresses and are none.
    addresses = set(re.findall(r"[a-z]+://[^\s\"'<>)]+", text)) - {"http://www.w3.org/2000/svg"}
    assert addresses == set()
    assert "@import" not in text
    assert "url(" not in text
    for call in ("fetch(", "XMLHttpRequest", "WebSocket", "import("):
        assert call not in text
    policy = next(e for e in page.elements if e.attributes.get("http-equiv") == "Content-Security-Policy")
    assert "default-src 'none'" in policy.attributes["content"]


def test_ids_are_unique_and_every_inner_link_has_its_target(page):
    ids = [element.attributes["id"] for element in page.elements if "id" in element.attributes]
    assert len(ids) == len(set(ids))
    inner = {e.attributes["href"][1:] for e in page.elements if e.attributes.get("href", "").startswith("#")}
    assert inner
    assert inner <= set(ids)


def test_files_named_on_the_sheet_lie_beside_it(page, folder):
    linked = [e.attributes["href"] for e in page.elements if e.tag == "a" and "#" not in e.attributes["href"]]
    assert len(linked) > 8
    assert all((folder / path).is_file() for path in linked)


def test_both_drawings_and_three_pictures_are_in_it(page):
    assert sum(element.tag == "svg" for element in page.elements) == 2
    images = [element for element in page.elements if element.tag == "img"]
    assert len(images) == 3
    for image in images:
        assert image.attributes["alt"]
        assert 20_000 < 0.75 * len(image.attributes["src"]) < 130_000


def test_the_same_build_gives_the_same_bytes(tmp_path):
    first, second = (built("loop_washer", tmp_path / name, pdf=True).directory for name in ("one", "two"))
    for name in ("sheet.html", "sheet.pdf", "part.png", "mold_open.png", "mold_apart.png", "job.json"):
        assert (first / name).read_bytes() == (second / name).read_bytes()


def test_what_people_typed_is_text_and_never_markup(tmp_path):
    spec = tmp_path / "washer.yaml"
    text = (SPECS / "loop_washer.yaml").read_text(encoding="utf-8")
    spec.write_text(
        re.sub(r"^machine:.*\n", "", text, flags=re.MULTILINE)
        + '\nmachine: "<script>alert(1)</script> & <b>`x`</b>"\n',
        encoding="utf-8",
    )
    folder = job.build(sizing.size(case.load(spec)), tmp_path / "out").directory
    page = Page((folder / "sheet.html").read_text(encoding="utf-8"))
    machine = next(element for element in page.with_key() if element.attributes["data-key"] == "machine")
    assert machine.text == "<script>alert(1)</script> & <b>x</b>"
    assert sum(element.tag == "script" for element in page.elements) == 2


def test_templates_refuse_a_name_that_is_not_there():
    with pytest.raises(UndefinedError):
        html.page("kit.html.j2", cards=())


def test_pictures_and_sheet_leave_standard_error_alone(tmp_path):
    """The drawing library complains of a missing display there, which no user can do anything about."""
    code = (
        "from pathlib import Path; import numpy as np; from moldgen.parts.mesh import Mesh\n"
        "from moldgen.output.pictures import Piece, picture\n"
        "points = np.array([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9.0]])\n"
        "mesh = Mesh(points, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]))\n"
        f"picture([Piece(mesh, 'rubber')], Path({str(tmp_path / 'p.png')!r}), size=(200, 100))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120)
    assert done.stderr == ""
    assert Path(tmp_path / "p.png").read_bytes().startswith(b"\x89PNG")
