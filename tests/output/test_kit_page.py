"""The page of several parts that were built together."""

import json
import re

from sheet_pages import SPECS, Page, built, number_of

from moldgen.cli.build import run
from moldgen.output.sheet.kit import KIT_FILE, write_kit_page


def test_a_card_for_each_part_and_the_joint_weigh_out(tmp_path):
    from moldgen.kitting import KitPart, weigh_out_kit

    builds = [built(name, tmp_path) for name in ("loop_washer", "loop_idler")]
    text = write_kit_page(tmp_path, builds).read_text(encoding="utf-8")
    page = Page(text)
    kit = weigh_out_kit(
        [KitPart(b.sizing.case, b.plan, b.plan.pour_mm3, "built now", b.passed) for b in builds],
        spare=None,
        scale_step_g=None,
    ).as_json()
    record = {
        "kit": kit,
        "builds": [json.loads((b.directory / "job.json").read_text(encoding="utf-8")) for b in builds],
    }
    numbers = page.with_key("data")
    for element in numbers:
        value, shown, half_step = number_of(element, record)
        assert abs(shown - value) <= half_step * (1.0 + 1e-9), element
    keys = {element.attributes["data-key"] for element in numbers}
    for index, batch in enumerate(kit["batches"]):
        mix = f"kit.batches.{index}" + (".sound_mix" if batch["sound_mix"] else "")
        assert f"{mix}.batch_g" in keys
        assert {f"{mix}.components.{i}.grams" for i in range(len(batch["components"]))} <= keys
    linked = {e.attributes["href"] for e in page.elements if e.tag == "a" and "#" not in e.attributes["href"]}
    assert linked == {"loop_washer/sheet.html", "loop_idler/sheet.html"}
    assert all((tmp_path / path).is_file() for path in linked)
    assert not re.findall(r"[a-z]+://", text)


def test_one_part_alone_needs_no_kit_page(tmp_path, capsys):
    how = {"strict": False, "as_json": True, "pdf": False, "jobs": 1, "again": False}
    assert run([SPECS / "loop_washer.yaml"], tmp_path, **how) in (0, 1)
    assert not (tmp_path / KIT_FILE).exists()
    assert run([SPECS / "loop_washer.yaml", SPECS / "loop_idler.yaml"], tmp_path, **how) in (0, 1)
    assert sorted(path.name for path in tmp_path.iterdir()) == [KIT_FILE, "loop_idler", "loop_washer"]
