"""What `moldgen new` writes: it explains every field, works as it is, and so does each line once its # is gone."""

import re
from types import UnionType
from typing import get_args

import pytest

from moldgen import case, families, sizing
from moldgen.case import spec_model
from moldgen.families import UnknownFamilyError
from moldgen.planning import planned
from moldgen.spec.document import parse
from moldgen.spec.sections import Section
from moldgen.starter import starter_spec

EACH_FAMILY = pytest.mark.parametrize("family", families.names())
SECTIONS = ("measured", "wanted", "drive", "mold", "pour", "cutting")
OPTION = re.compile(r"^( *)# ([a-z_]+):( .*)?$")


def loaded(text, name="starter.yaml"):
    return case.from_document(parse(text, name))


def section_in(annotation):
    """The first section model in an annotation."""
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return annotation
    return next((found for a in get_args(annotation) if (found := section_in(a)) is not None), None)


@EACH_FAMILY
def test_a_starter_is_sized_and_planned_as_it_is(family):
    sized = sizing.size(loaded(starter_spec(family)))
    assert sized.case.spec.family == family
    assert sized.fitted or sized.free
    assert planned(sized).pour_mm3 > sized.mold_shape.volume_mm3


@EACH_FAMILY
def test_every_field_of_every_model_is_there_with_its_explanation(family):
    text = starter_spec(family)
    fields = spec_model(family).model_fields
    for name, info in fields.items():
        model = section_in(info.annotation)
        if name in ("drive", "cutting") and model is None:
            continue  # nothing is predicted of a drive, nothing is cut
        assert re.search(rf"^(# )?{name}:", text, re.MULTILINE), name
        if name not in SECTIONS or model is None:
            continue
        for attribute, field in model.model_fields.items():
            key = field.alias or attribute
            assert re.search(rf"^  (# )?{key}:", text, re.MULTILINE), f"{name}.{key}"
            assert field.description, f"{name}.{key}"
            words = " ".join(re.sub(r"^ *#? *", "", line) for line in text.splitlines())
            assert " ".join(field.description.split()) in words, f"{name}.{key}"


@EACH_FAMILY
def test_items_of_lists_are_explained_too(family):
    text = starter_spec(family)
    for name, info in spec_model(family).model_fields.items():
        model = section_in(info.annotation)
        if name not in SECTIONS or model is None:
            continue
        for field in model.model_fields.values():
            item = section_in(field.annotation)
            for attribute, inner in (item.model_fields if item else {}).items():
                assert re.search(rf"^ *#? *-? *{inner.alias or attribute}:", text, re.MULTILINE)


def options(text):
    """(line number, section) of each line that is offered behind a #, examples of several lines left out."""
    lines = text.splitlines()
    section = ""
    for number, line in enumerate(lines):
        if match := re.match(r"^(?:# )?(measured|wanted|drive|mold|pour|cutting):$", line):
            section = match[1]
        match = OPTION.match(line)
        follows = lines[number + 1] if number + 1 < len(lines) else ""
        if match and not follows.startswith(match[1] + "#  ") and line.strip("# ") not in (f"{s}:" for s in SECTIONS):
            yield number, section if match[1] else ""


@EACH_FAMILY
def test_each_line_can_be_used_by_taking_its_number_sign_away(family):
    text = starter_spec(family)
    lines = text.splitlines()
    known = set(keys_of(family))
    tried = 0
    for number, section in options(text):
        match = OPTION.match(lines[number])
        if match[2] not in known or not (match[3] or "").strip():
            continue
        changed = list(lines)
        changed[number] = f"{match[1]}{match[2]}:{match[3]}"
        changed = [re.sub(rf"^# {section}:$", f"{section}:", line) if section else line for line in changed]
        assert loaded("\n".join(changed)), lines[number]
        tried += 1
    assert tried >= 8  # fill, core, closing, revision, spare, scale step, shop, printer at the least


def keys_of(family):
    for name, info in spec_model(family).model_fields.items():
        yield name
        model = section_in(info.annotation)
        for attribute, field in (model.model_fields if model and name in SECTIONS else {}).items():
            yield field.alias or attribute


@EACH_FAMILY
def test_a_starter_fits_a_narrow_screen_and_ends_its_lines(family):
    text = starter_spec(family)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert not re.search(r"[ \t]$", text, re.MULTILINE)
    assert text.endswith("\n")


def test_an_unknown_family_is_answered_with_the_nearest():
    with pytest.raises(UnknownFamilyError) as caught:
        starter_spec("idle_tire")
    assert caught.value.near == "idler_tyre"


def test_unions_are_looked_through():
    assert section_in(spec_model("idler_tyre").model_fields["drive"].annotation) is families.find("idler_tyre").drive
    assert isinstance(spec_model("idler_tyre").model_fields["drive"].annotation, UnionType)
