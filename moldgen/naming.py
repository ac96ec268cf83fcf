"""Keys of results as people read them: `hub_pressure_kpa` is "hub pressure" in kPa."""

from __future__ import annotations

from typing import Any, Final

from moldgen.spec.document import Place

UNITS: Final = (
    ("_percent_per_0_1mm_thickness", "% per 0.1 mm of thickness"),
    ("_percent_per_0_1mm_diameter", "% per 0.1 mm of diameter"),
    ("_percent", "%"),
    ("_nmm", "N·mm"),
    ("_mm3", "mm³"),
    ("_mm_s", "mm/s"),
    ("_mm2", "mm²"),
    ("_mm", "mm"),
    ("_kpa", "kPa"),
    ("_mpa", "MPa"),
    ("_rpm", "min⁻¹"),
    ("_deg", "°"),
    ("_n", "N"),
    ("_g", "g"),
    ("_s", "s"),
)


def named(key: str) -> tuple[str, str]:
    """A result's key as words and its unit.

    >>> named("hub_pressure_kpa")
    ('hub pressure', 'kPa')
    """
    for suffix, unit in UNITS:
        if key.endswith(suffix):
            return key.removesuffix(suffix).replace("_", " "), unit
    return key.replace("_", " "), ""


def unit_at(section: Any, place: Place) -> str:
    """Of the reading at a place of a section, by the name that it has in code; the person's own are lengths."""
    name = ""
    for step in place:
        name = name if isinstance(step, int) else _attribute(section, step)
        section = _within(section, step)
    return named(name)[1] or "mm"


def in_words(section: Any, place: Place) -> str:
    """The reading at a place of a section as people say it; one of several like things goes by its own name."""
    words: list[str] = []
    for step in place:
        point = isinstance(section, tuple) and len(section) == 2 and all(isinstance(x, float) for x in section)
        section = _within(section, step)
        if isinstance(step, int):
            words[-1] = getattr(section, "name", f"{words[-1]} {'xy'[step] if point else step + 1}")
        else:
            words.append(step.replace("_", " "))
    return ", ".join(words)


def _within(section: Any, step: str | int) -> Any:
    return section[step] if isinstance(step, int) else getattr(section, _attribute(section, step), None)


def _attribute(section: Any, step: str) -> str:
    """The name in code of a section's key; empty for a reading under a name of the person's own."""
    return next((name for name, info in type(section).model_fields.items() if info.alias == step), "")
