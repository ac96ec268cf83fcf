"""A starter spec for a family, made from its section models, so that it explains every field that exists."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any, Final

from pydantic.fields import FieldInfo

from moldgen.case import PartSpec, spec_model
from moldgen.spec.sections import IN_STARTER, Readings, Section

WIDTH: Final = 100
ELASTOMER: Final = {"clutch_pad": "pu_70a", "pinch_sleeve": "pu_60a"}
USUAL_ELASTOMER: Final = "pu_60a"
HEAD: Final = """\
# A part spec for moldgen. Lengths are millimetres unless a unit is given, as in
# 12.7 mm, 1/2 in, 1 3/8 in or 0.125". Say how sure you are, as in 31.95 ± 0.03 mm,
# or take several readings, as in [31.95, 31.97, 31.94 ± 0.03 mm].
# Replace the numbers by your own. Lines behind # are what else can be said; take the
# # away to use one.
"""


def starter_spec(family: str) -> str:
    """YAML text of a spec with every field explained: needed ones filled in, the others commented out.

    Raises families.UnknownFamilyError.
    """
    model = spec_model(family)
    lines = [
        *HEAD.splitlines(),
        "",
        f"family: {family}",
    ]
    fields = dict(model.model_fields)
    for name in ("name", "machine", "quantity", "elastomer"):
        lines += _field(
            name, fields[name], {"name": f"my_{family}", "elastomer": ELASTOMER.get(family, USUAL_ELASTOMER)}.get(name)
        )
    for name in ("measured", "wanted", "drive"):
        section = _section(fields[name])
        if section is not None:
            body = list(_section_lines(section))
            title = f"{name}:" if any(not line.lstrip().startswith("#") for line in body) else f"# {name}:"
            lines += ["", *_comment(fields[name].description or ""), title, *body]
    for name in ("mold", "pour"):
        section = _section(PartSpec.model_fields[name])
        assert section is not None
        title = {"mold": "What you want of the mold; the rest is decided by rule.", "pour": "Your shop and scale."}[
            name
        ]
        lines += ["", *_comment(title), f"# {name}:", *_section_lines(section)]
    lines += ["", *_field("jigs", fields["jigs"], None)]
    if (cutting := _section(fields["cutting"])) is not None:
        lines += ["", *_comment(fields["cutting"].description or ""), "# cutting:", *_section_lines(cutting)]
    lines += ["", *_comment(fields["printer"].description or ""), "# printer: filament_0_4"]
    return "\n".join(lines) + "\n"


def _section(info: FieldInfo) -> type[Section] | None:
    for candidate in (info.annotation, *getattr(info.annotation, "__args__", ())):
        if isinstance(candidate, type) and issubclass(candidate, Section):
            return candidate
    return None


def _section_lines(section: type[Section]) -> Iterator[str]:
    if issubclass(section, Readings):
        yield from ("  " + line for line in section.examples)
    for name, info in section.model_fields.items():
        yield from ("  " + line for line in _field(info.alias or name, info, None))


def _field(key: str, info: FieldInfo, example: str | None) -> list[str]:
    shown = example if example is not None else _example(info)
    out = _comment(info.description or "")
    nested = _section(info)
    if nested is not None:
        for name, item in nested.model_fields.items():
            first, *more = textwrap.wrap(f"{item.alias or name}: {item.description}", WIDTH - 8)
            out += [f"#   {first}", *(f"#     {line}" for line in more)]
    if info.is_required() or example is not None or info.json_schema_extra == IN_STARTER:
        first, *rest = shown.splitlines() or [""]
        return [*out, f"{key}: {first}".rstrip(), *rest]
    first, *rest = shown.splitlines() or [""]
    return [*out, f"# {key}: {first}".rstrip(), *(f"# {line}" for line in rest)]


def _example(info: FieldInfo) -> str:
    if info.examples:
        return str(info.examples[0])
    default: Any = info.default
    if isinstance(default, bool):
        return "yes" if default else "no"
    return str(getattr(default, "text", default)) if default is not None else ""


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in textwrap.wrap(text, WIDTH - 4)]
