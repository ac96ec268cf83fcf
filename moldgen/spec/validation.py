"""From a document and a model to a frozen section, or to every Problem at once."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from moldgen.errors import Problem, SpecError
from moldgen.spec.document import Document, Node, Place
from moldgen.spec.sections import Section

S = TypeVar("S", bound=Section)


def validated(model: type[S], document: Document, *, data: Node = None, place: Place = ()) -> S:
    """The document (or the part `data` of it that stands at `place`) as the model.

    Fields that name a file find the document's folder in their validation context, under "folder". Raises SpecError
    with all problems. A misspelt key, which arrives as one missing and one unknown, is one problem.
    """
    given = document.data if data is None and not place else data
    try:
        return model.model_validate(given if given is not None else {}, context={"folder": Path(document.file).parent})
    except ValidationError as error:
        details = error.errors(include_url=False)
        raise SpecError(_problems(details, model, document, place)) from None


def _problems(
    details: list[ErrorDetails], model: type[Section], document: Document, base: Place
) -> tuple[Problem, ...]:
    unknown = [d for d in details if d["type"] == "extra_forbidden"]
    missing = {tuple(d["loc"]) for d in details if d["type"] == "missing"}
    problems: list[Problem] = []
    for detail in unknown:
        loc = tuple(detail["loc"])
        keys = _keys_at(model, loc[:-1])
        near = difflib.get_close_matches(str(loc[-1]), keys, n=1, cutoff=0.5)
        way_out = f"Did you mean `{near[0]}`?" if near else f"Known here: {', '.join(keys)}."
        if near:
            missing.discard((*loc[:-1], near[0]))
        place = (*base, *loc)
        problems.append(
            document.problem(
                place, limit="there is no field of this name", way_out=way_out, given=document.given(place)
            )
        )
    for detail in details:
        loc = tuple(detail["loc"])
        place = (*base, *loc)
        if detail["type"] == "extra_forbidden":
            continue
        if detail["type"] == "missing":
            if loc in missing:
                about = _description(model, loc)
                problems.append(
                    document.problem(place, limit="it is needed", way_out=f"Add it. {about}".strip(), given="missing")
                )
        elif detail["type"] == "refused":
            context = detail.get("ctx", {})
            problems.append(document.problem(place, limit=str(context["limit"]), way_out=str(context["way_out"])))
        else:
            problems.append(_other(detail, document, place))
    return tuple(sorted(problems, key=lambda p: p.line))


def _other(detail: ErrorDetails, document: Document, place: Place) -> Problem:
    """Problems that pydantic itself words: choices and shapes."""
    if detail["type"] == "literal_error":
        expected = str(detail.get("ctx", {}).get("expected", "")).replace("'", "`")
        return document.problem(place, limit="it is not one of the choices", way_out=f"Write {expected}.")
    if detail["type"] in ("model_type", "model_attributes_type", "dict_type"):
        return document.problem(
            place, limit="a section with `key: value` lines is wanted here", way_out="Indent its fields below it."
        )
    if detail["type"] in ("tuple_type", "list_type", "too_short", "too_long"):
        return document.problem(place, limit="a list is wanted here", way_out="Write `- item` lines or `[a, b]`.")
    return document.problem(place, limit=detail["msg"], way_out="Compare with `moldgen new` for this family.")


def _model_at(model: Any, loc: Place) -> Any:
    """The model of the section at a place, following lists, optional sections and choices between sections."""
    for step in loc:
        if isinstance(step, int):
            continue
        fields: Mapping[str, Any] = getattr(model, "model_fields", {})
        for name, info in fields.items():
            if (info.alias or name) == step:
                model = section_in(info.annotation)
                break
    return model


def section_in(annotation: Any) -> Any:
    """The section that a field holds, in a list or as a choice too; None where it holds none."""
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return annotation
    for argument in getattr(annotation, "__args__", ()):
        found = section_in(argument)
        if found is not None:
            return found
    return None


def _keys_at(model: type[Section], loc: Place) -> list[str]:
    section = _model_at(model, loc)
    return [info.alias or name for name, info in getattr(section, "model_fields", {}).items()]


def _description(model: type[Section], loc: Place) -> str:
    section = _model_at(model, loc[:-1])
    for name, info in getattr(section, "model_fields", {}).items():
        if (info.alias or name) == loc[-1]:
            return info.description or ""
    return ""
