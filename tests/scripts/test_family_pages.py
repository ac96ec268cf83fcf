"""The committed pages about families are those that the section models make now."""

import importlib.util
from pathlib import Path

from moldgen import families

ROOT = Path(__file__).parents[2]


def script():
    found = importlib.util.spec_from_file_location("family_pages", ROOT / "scripts" / "family_pages.py")
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def test_the_committed_pages_are_what_the_models_make():
    made = script().pages()
    assert set(made) == {"README.md", *(f"{name}.md" for name in families.names())}
    assert {path.name: path.read_text(encoding="utf-8") for path in (ROOT / "docs" / "families").iterdir()} == made


def test_every_field_of_a_family_stands_on_its_page_with_what_it_takes():
    # Fields and choices as each family's own tests write them in specs; a length lies between 0.2 mm and 1 m.
    page = script().pages()
    assert "| `hub_diameter` | a length, 0.2 to 1000 mm | needed |" in page["idler_tyre.md"]
    assert "| `mount` | `stretched`, `bonded`, `cast_on` | `stretched` |" in page["idler_tyre.md"]
    for key in ("drum_diameter", "pin_circle_diameter", "pin_count", "locks", "required_torque"):
        assert f"| `{key}` |" in page["clutch_pad.md"]
    assert "| `turns` | `cw`, `ccw` | needed |" in page["belt.md"]
    assert "`hub_pressure_kpa` (hub pressure) | kPa |" in page["pinch_sleeve.md"]
    assert all("see the text" not in text for name, text in page.items() if name != "README.md")
