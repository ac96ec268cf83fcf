"""Measuring sheets: each names all that its family asks for, letters mean one thing, and the arithmetic is right."""

import io
import math
import re

import pytest
from pypdf import PdfReader

from moldgen import families
from moldgen.cli import new
from moldgen.drawing.model import overlapping_texts
from moldgen.measuring import sheet
from moldgen.measuring.advice import ADVICE
from moldgen.measuring.fields import asked, lettered
from moldgen.spec.validation import section_in


def words_of(pdf):
    return re.sub(r"\s+", "", "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def keys_of(section):
    """All keys that a section takes, those of its lists' members too, by the models alone."""
    for attribute, info in section.model_fields.items():
        nested = section_in(info.annotation)
        yield from keys_of(nested) if nested else [(info.alias or attribute, info.description)]


@pytest.mark.parametrize("name", families.names())
def test_sheet_names_and_explains_every_field_of_its_family(name):
    words = words_of(sheet.measuring_sheet(name))
    family = families.find(name)
    for section in (family.measured, family.wanted, family.drive):
        for key, description in keys_of(section) if section else ():
            assert key in words
            assert re.sub(r"[\s`]+", "", description) in words


@pytest.mark.parametrize("name", families.names())
def test_letters_are_of_one_length_each_and_drawings_have_no_texts_that_meet(name):
    letters = lettered(asked(families.find(name)))
    assert len(set(letters.values())) == len(letters)
    own = sheet._own(name)
    drawn = [own.figures(letters.__getitem__), *(ADVICE[a].drawn() for a in own.ADVICE if ADVICE[a].drawn)]
    for views in drawn:
        assert overlapping_texts(sheet.laid_out("", views)) == ()
    # Each length of metal that the caliper is put on is in the drawing under its letter.
    shown = {dimension.name for view, _ in drawn[0] for dimension in view.dimensions}
    assert shown - {""} <= set(letters)


def test_a_family_without_drawings_of_its_own_gets_a_sheet_from_its_models(monkeypatch):
    monkeypatch.setattr(sheet, "_own", lambda name: None)
    words = words_of(sheet.measuring_sheet("idler_tyre"))
    assert "hub_diameter" in words
    assert "Threereadingsofeach" in words


def test_the_same_sheet_has_the_same_bytes():
    assert sheet.measuring_sheet("belt") == sheet.measuring_sheet("belt")


def test_arithmetic_on_the_sheets_is_right():
    # Plain geometry, computed here from the examples' givens by other ways than the sheets' formulas.
    says = {name: " ".join(advice.says) for name, advice in ADVICE.items()}
    # Circles of 6 and 10 mm, 104.5 mm apart, reach from -3 to 109.5 and leave 3 to 99.5 free.
    assert {"112.50", "96.50", "104.50"} <= numbers(says["centres"])
    assert (109.5 + 3.0, 99.5 - 3.0) == (112.5, 96.5)
    # The third axle lies on both circles round the first two.
    x, y = 32.00, 38.42
    assert {"32.00", "38.42"} <= numbers(says["centres"])
    assert (math.hypot(x, y), math.hypot(100.0 - x, y)) == pytest.approx((50.0, 78.10), abs=0.005)
    # A thread's own middle runs once round at floor + t.
    assert {"38.99", "0.40", "12.01"} <= numbers(says["groove_floor"])
    assert math.pi * (12.01 + 0.40) == pytest.approx(38.99, abs=0.02)
    # A wire's middle is as far from each flank, whose slope is 20° off the radius, as its own radius.
    apex, over, wire = 12.15, 20.00, 2.00
    assert {"12.15", "20.00", "2.00"} <= numbers(says["groove_floor"])
    above_apex = 0.5 * (over - wire) - 0.5 * apex
    assert above_apex * math.sin(math.radians(20.0)) == pytest.approx(0.5 * wire, abs=0.002)
    # Shaft of 4, gap of 5, pin of 2: the pin's middle is 2 + 5 + 1 from the shaft's.
    assert 2.0 * (2.0 + 5.0 + 1.0) == 16.0
    assert "16.00" in numbers(says["pin_circle"])


def numbers(text):
    return set(re.findall(r"\d+\.\d+", text))


def test_a_file_that_is_there_is_left_as_it_is(tmp_path, capsys):
    there = tmp_path / "sheet.pdf"
    there.write_text("mine", encoding="utf-8")
    assert new.run("belt", None, there, as_json=False) == 2
    assert there.read_text(encoding="utf-8") == "mine"
    assert "left as it is" in capsys.readouterr().err
