"""The history of a build: entries are added, none is lost, a build leaves no date."""

import pytest
import yaml

from moldgen.errors import OutputError
from moldgen.feedback import history

MOLD = {"outer_diameter_mm": 36.83567}


def carried(earlier, folder, text="family: x\n", revision=1):
    folder.mkdir(exist_ok=True)
    history.carried_over(earlier, folder, revision=revision, spec_text=text, mold_mm=MOLD)


def test_first_build_begins_it_and_the_same_spec_adds_nothing(tmp_path):
    carried(tmp_path / "none", tmp_path / "a")
    carried(tmp_path / "a", tmp_path / "b")
    first, second = ((tmp_path / name / "history.yaml").read_bytes() for name in ("a", "b"))
    assert first == second
    (entry,) = history.entries(tmp_path / "a")
    assert entry["built"]["revision"] == 1
    assert entry["built"]["mold"] == {"outer_diameter_mm": 36.836}


def test_another_spec_adds_a_revision_and_notes_between_stay(tmp_path):
    carried(tmp_path / "none", tmp_path / "a")
    history.noted(tmp_path / "a", "measured", {"date": "2026-05-01", "changed": {"x": "0.8 %"}})
    file = tmp_path / "a" / "history.yaml"
    file.write_text(file.read_text() + "# poured too cold\n")
    carried(tmp_path / "a", tmp_path / "b", text="family: y\n", revision=2)
    text = (tmp_path / "b" / "history.yaml").read_text()
    assert "# poured too cold" in text
    assert [next(iter(entry)) for entry in yaml.safe_load(text)] == ["built", "measured", "built"]


@pytest.mark.parametrize("text", ["- [\n", "just words\n"])
def test_spoiled_history_is_named_and_not_overwritten(tmp_path, text):
    (tmp_path / "history.yaml").write_text(text)
    with pytest.raises(OutputError, match=r"history\.yaml"):
        carried(tmp_path, tmp_path / "b")
    assert (tmp_path / "history.yaml").read_text() == text
