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
        if isinstance(step, int):
            section = section[step]
            continue
        fields = type(section).model_fields
        name = next((attribute for attribute, info in fields.items() if info.alias == step), "")
        section = getattr(section, name, None)
    return named(name)[1] or "mm"
