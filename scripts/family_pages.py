"""Writes docs/families/: a page for each family and one for what all specs share, made from the section models.

    python scripts/family_pages.py

What is predicted comes from sizing the family's examples. Nothing on these pages is written by hand, so they cannot say
what the program does not do; a test holds the committed pages to what this makes.
"""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, Literal, get_args, get_origin

from pydantic import PlainValidator, WrapValidator
from pydantic.fields import FieldInfo

from moldgen import case, families, sizing
from moldgen.elastomers import FIGURES
from moldgen.families.base import Family
from moldgen.naming import named
from moldgen.printers import PRINTERS, Printer
from moldgen.quantities import UNITS
from moldgen.sizing import Sizing
from moldgen.spec.sections import Counted, Quantified, Readings, Section, without_unit_suffix
from moldgen.spec.validation import section_in

ROOT: Final = Path(__file__).resolve().parents[1]
FOLDER: Final = ROOT / "docs" / "families"
HEAD: Final = "<!-- Made by scripts/family_pages.py from the section models; change those. -->\n"
PLAIN: Final = {
    "_flag": "yes or no",
    "_line": "a line of text",
    "_name": "letters, digits, `-`, `_`, `.`",
    "_position": "a length, or one that follows from a reading",
    "_jig": "a jig's name",
    "_drawn": "a file, or ",
}
"""What validators take that are functions, by their name."""
SECTIONS: Final = {
    "measured": "What the surviving metal says.",
    "wanted": "What the part must be in place. Every length is a fitted one.",
    "drive": "What it runs with. Needed only for predictions.",
}


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in pages().items():
        (FOLDER / name).write_text(text, encoding="utf-8")


def pages() -> dict[str, str]:
    """Names and texts of all pages."""
    examples: dict[str, list[tuple[str, Sizing]]] = {name: [] for name in families.names()}
    for path in sorted((ROOT / "part_specs").glob("*.yaml")):
        sized = sizing.size(case.load(path))
        examples[sized.case.spec.family].append((path.name, sized))
    made = {f"{name}.md": "\n".join(family_page(name, examples[name])) + "\n" for name in families.names()}
    return {"README.md": "\n".join(common_page()) + "\n", **made}


def family_page(name: str, examples: list[tuple[str, Sizing]]) -> Iterator[str]:
    family = families.find(name)
    yield HEAD
    yield f"# {family.title}"
    yield ""
    yield about(family)
    yield ""
    yield f"`moldgen new {name}` writes a spec of this family that builds as it is."
    if examples:
        links = ", ".join(f"[{file}](../../part_specs/{file})" for file, _ in examples)
        yield f"Examples: {links}."
    yield "What all specs share is on [a page of its own](README.md)."
    for key, section in (("measured", family.measured), ("wanted", family.wanted), ("drive", family.drive)):
        yield ""
        yield f"## `{key}`"
        yield ""
        if section is None:
            yield "This family has none: nothing is predicted of a drive."
            continue
        yield SECTIONS[key]
        yield ""
        yield from fields_of(section, key)
    if examples:
        yield ""
        yield "## What comes out"
        yield ""
        yield from results(family, [sized for _, sized in examples])


def about(family: Family) -> str:
    """What the family's own file says of it first, less the title."""
    told = inspect.getdoc(sys.modules[family.size.__module__]) or ""
    text = " ".join(told.split("\n\n")[0].split())
    _, colon, rest = text.partition(": ")
    return rest[:1].upper() + rest[1:] if colon else text


def common_page() -> Iterator[str]:
    yield HEAD
    yield "# Part specs"
    yield ""
    yield "A spec is a YAML file with one part. Lengths are millimetres unless a unit is given (`12.7 mm`, `1 3/8 in`);"
    yield "`31.95 ± 0.03 mm` says how sure a reading is, and a list of readings is taken as repeated ones."
    yield ""
    yield "| family | |"
    yield "|---|---|"
    for name in families.names():
        yield f"| [`{name}`]({name}.md) | {cell(about(families.find(name)))} |"
    yield ""
    yield "## What every spec has"
    yield ""
    own = [name for name in case.PartSpec.model_fields if name not in SECTIONS]
    yield from fields_of(case.PartSpec, "", only=own)
    yield ""
    yield "## `elastomer`"
    yield ""
    yield "An id from `moldgen elastomers`, or one with figures of your own, as your supplier's sheet has them:"
    yield '`{based_on: pu_60a, hardness_shore_a: 58, source: "supplier\'s sheet"}`. The same may stand in a file that'
    yield "several specs share: `{file: ../shop/blue.yaml}`."
    yield ""
    yield "| figure | takes | what it is |"
    yield "|---|---|---|"
    for name, info in FIGURES.items():
        takes = by_validator(Quantified(info.kind, info.least, info.most, ""))
        yield f"| `{without_unit_suffix(name)}` | {takes} | {cell(info.description)} |"
    yield ""
    yield "## `printer`"
    yield ""
    yield f"One of {', '.join(f'`{kind}`' for kind in PRINTERS)}, or figures of your own, in a file of their own if"
    yield f"several specs share them: `{{based_on: {case.DEFAULT_PRINTER}, clearance: 0.25 mm}}`."
    yield ""
    yield from fields_of(Printer, "", needed=False)


def fields_of(
    section: type[Section], place: str, *, only: list[str] | None = None, needed: bool = True
) -> Iterator[str]:
    """A section's fields as a table, and a table for each section within."""
    if issubclass(section, Readings):
        yield "Any lengths under names of your own: `overall_length: 40.0 ± 0.1 mm`."
        if section.model_fields:
            yield ""
    if section.model_fields:
        yield "| field | takes | left out | what it is |"
        yield "|---|---|---|---|"
    inner: list[tuple[str, type[Section]]] = []
    for name, info in section.model_fields.items():
        if only is not None and name not in only:
            continue
        key = info.alias or name
        within = section_in(info.annotation)
        if within is not None:
            inner.append((f"{place}.{key}".removeprefix("."), within))
        otherwise = default(info) if needed else "as its kind"
        yield f"| `{key}` | {cell(taken(info))} | {cell(otherwise)} | {cell(info.description or '')} |"
    for key, within in inner:
        yield ""
        yield f"### `{key}`"
        yield ""
        yield from fields_of(within, key)


def cell(text: str) -> str:
    return " ".join(text.replace("|", "\\|").split())


def default(info: FieldInfo) -> str:
    if info.is_required():
        return "needed"
    value = info.default
    if value is None or isinstance(value, Section) or value == ():
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"`{getattr(value, 'text', value)}`"


def taken(info: FieldInfo) -> str:
    """What a field takes, in words."""
    return described(info.annotation, tuple(info.metadata)) or "see the text"


def described(annotation: Any, metadata: tuple[Any, ...] = ()) -> str:
    """Empty where there is nothing to say: None, and what only a spec's reader knows."""
    before = ""
    for item in metadata:
        if isinstance(item, PlainValidator):
            return by_validator(item.func)
        if isinstance(item, WrapValidator):
            before = PLAIN[item.func.__name__]
    if hasattr(annotation, "__metadata__"):
        return before + described(annotation.__origin__, annotation.__metadata__)
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return before + "a section"
    arguments = get_args(annotation)
    if get_origin(annotation) is Literal:
        return before + ", ".join(f"`{choice}`" for choice in arguments)
    if get_origin(annotation) is tuple:
        of = described(arguments[0])
        if arguments[-1] is not Ellipsis:
            return f"{before}a list of {len(arguments)}, each {of}"
        if of.startswith("a list"):
            return f"{before}a list of lists, {of.partition(', ')[2]}"
        return before + ("a list of sections" if of == "a section" else f"a list, each {of}")
    return before + " or ".join(filter(None, (described(argument) for argument in arguments)))


def by_validator(function: Any) -> str:
    if isinstance(function, Counted):
        return f"a whole number, {function.least} to {function.most}"
    if isinstance(function, Quantified):
        unit = "°C" if function.kind == "temperature" else next(iter(UNITS[function.kind]))
        least, most = function.least, function.most
        if function.kind == "ratio" and most <= 1.0:
            unit, least, most = "%", 100.0 * least, 100.0 * most
        kind = {"ratio": "a ratio", "angle": "an angle", "number": "a number"}.get(function.kind, f"a {function.kind}")
        return f"{kind}, {number(least)} to {number(most)} {unit}".rstrip()
    return PLAIN[function.__name__]


def number(value: float) -> str:
    """As people write it: 1000000 and not 1e+06."""
    return f"{value:.0f}" if abs(value) >= 1e5 else f"{value:g}"


def results(family: Family, sized: list[Sizing]) -> Iterator[str]:
    """Names of all dimensions and predictions that the examples have; a basis as the first of them says it."""
    sizes: dict[str, list[str]] = {stage: [] for stage in sizing.STAGES}
    rests_on: dict[tuple[str, str], tuple[str, str]] = {}
    for one in sized:
        for stage in sizing.STAGES:
            names = (re.sub(r"_[0-9]+_", "_N_", name) for name in getattr(one, stage))  # holes are numbered
            sizes[stage] = list(dict.fromkeys((*sizes[stage], *names)))
        for p in one.predictions:
            rests_on.setdefault((p.prediction.group, p.prediction.name), (p.prediction.basis, one.case.name))
    for stage, names in sizes.items():
        yield f"- **{stage}**: {', '.join(f'`{name}`' for name in names)}"
    yield ""
    yield "Predictions, each with its range. What they rest on is said as in the example named; figures in it are that"
    yield "example's."
    yield ""
    yield "| prediction | unit | rests on | example |"
    yield "|---|---|---|---|"
    for (group, name), (basis, example) in rests_on.items():
        words, unit = named(name)
        of = f", each of `{group}`" if group else ""
        yield f"| `{name}` ({words}{of}) | {unit} | {cell(basis)} | {example} |"


if __name__ == "__main__":
    main()
