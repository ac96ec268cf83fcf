"""What a family asks for, read from its section models: the rows and boxes of its measuring sheet."""

from __future__ import annotations

import string
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count
from types import UnionType
from typing import Any, Final, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from moldgen.families.base import Family
from moldgen.naming import named
from moldgen.quantities import Estimate
from moldgen.spec.sections import Section
from moldgen.spec.validation import section_in

SECTIONS: Final = ("measured", "wanted", "drive")


@dataclass(frozen=True, slots=True)
class Asked:
    """One field: its key as the spec spells it, what it is, and how it is answered."""

    key: str
    """From the section on: `pulleys.groove_diameter`."""
    description: str
    kind: Literal["reading", "place", "choice", "text"]
    """Three readings; x and y; one of some words to tick; or a box."""
    needed: bool
    unit: str = ""
    choices: tuple[str, ...] = ()
    letter: str = ""
    """By which the drawings name a length; empty for what has none."""

    @property
    def name(self) -> str:
        return self.key.rpartition(".")[2]


@dataclass(frozen=True, slots=True)
class AskedSection:
    """One section's own fields, and those of each of several like things in it, by the key of their list."""

    name: str
    fields: tuple[Asked, ...]
    lists: tuple[tuple[str, str, tuple[Asked, ...]], ...]
    """Key, description, fields."""


def asked(family: Family) -> tuple[AskedSection, ...]:
    """All that the family asks for, section by section; lengths and angles get the letters A, B, C … in their order."""
    letters = count()
    models = {name: getattr(family, name) for name in SECTIONS}
    return tuple(_section(name, model, letters) for name, model in models.items() if model is not None)


def lettered(sections: tuple[AskedSection, ...]) -> dict[str, str]:
    """Each letter, by its section and key: `measured.pulleys.groove_diameter`."""
    return {
        f"{section.name}.{field.key}": field.letter
        for section in sections
        for field in (*section.fields, *(field for _, _, fields in section.lists for field in fields))
        if field.letter
    }


def _section(name: str, model: type[Section], letters: Iterator[int]) -> AskedSection:
    fields: list[Asked] = []
    lists: list[tuple[str, str, tuple[Asked, ...]]] = []
    for attribute, info in model.model_fields.items():
        key = info.alias or attribute
        nested = section_in(info.annotation)
        if nested is not None:
            members = tuple(
                _lettered(_asked(f"{key}.{member.alias or inner}", inner, member), letters)
                for inner, member in nested.model_fields.items()
            )
            lists.append((key, info.description or "", members))
        else:
            fields.append(_lettered(_asked(key, attribute, info), letters))
    return AskedSection(name, tuple(fields), tuple(lists))


def _lettered(field: Asked, letters: Iterator[int]) -> Asked:
    is_length = field.kind in ("reading", "place") and field.unit in ("mm", "°")
    return replace(field, letter=_letter(next(letters))) if is_length else field


def _letter(index: int) -> str:
    """A to Z without I, J and O, which read as other signs; then AA, AB …"""
    usable = [letter for letter in string.ascii_uppercase if letter not in "IJO"]
    more, rest = divmod(index, len(usable))
    return (usable[more - 1] if more else "") + usable[rest]


def _asked(key: str, attribute: str, info: FieldInfo) -> Asked:
    leaves = tuple(_leaves(info.annotation))
    words = tuple(str(word) for word in _words(info.annotation))
    kind: Literal["reading", "place", "choice", "text"] = "text"
    if leaves.count(Estimate) == 2:
        kind = "place"
    elif Estimate in leaves:
        kind = "reading"
    elif words or bool in leaves:
        kind = "choice"
    return Asked(
        key,
        info.description or "",
        kind,
        info.is_required(),
        unit=named(attribute)[1],
        choices=words or (("yes", "no") if bool in leaves else ()),
    )


def _leaves(annotation: Any) -> Iterator[type]:
    """The plain types that an annotation is made of."""
    if isinstance(annotation, type) and get_origin(annotation) is None:
        yield annotation
    for part in () if get_origin(annotation) is Literal else get_args(annotation):
        yield from _leaves(part)


def _words(annotation: Any) -> Iterator[Any]:
    """The words that a field takes, if it takes one of a few."""
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    elif get_origin(annotation) in (Union, UnionType):
        for part in get_args(annotation):
            yield from _words(part)
