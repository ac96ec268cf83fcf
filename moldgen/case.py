"""A part spec of any family, read and checked: the one thing that every later stage starts from."""

# Annotations are not postponed here: the text of each would be compiled again at every start.

import difflib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, PlainValidator, create_model

from moldgen import elastomers, families, printers
from moldgen.elastomers import FIGURES, Elastomer
from moldgen.errors import OutputError, Problem, SpecError
from moldgen.families.base import Family, Given, Rubber, as_it_is
from moldgen.jigs import BLADE_MM
from moldgen.jigs import NAMES as JIGS
from moldgen.mechanics.splice import LEAST_SCARF_DEG, MOST_SCARF_DEG, SCARF_DEG
from moldgen.printers import Printer
from moldgen.quantities import Estimate
from moldgen.remarks import Refusal
from moldgen.spec import document as documents
from moldgen.spec.document import Document, Node, Place
from moldgen.spec.sections import (
    ActivationEnergy,
    Angle,
    Line,
    Name,
    Offset,
    Readings,
    Section,
    Share,
    counted,
    quantity,
    quantity_field,
    refused,
)
from moldgen.spec.validation import validated


class MoldChoices(Section):
    """`mold:` what the person wants of the mold; everything else is decided by rule."""

    fill: Literal["pour", "syringe", "press"] = Field(
        default="pour",
        description="How the rubber gets in: pour, syringe (through a tip), or press (lid onto a filled half).",
    )
    cavities: Annotated[int | None, counted(1, 64)] = Field(
        default=None, description="Parts cast at once; left out: the quantity, or as many as the bed holds."
    )
    core: Literal["by_rule", "separate", "part_of_lower"] = Field(
        default="by_rule", description="The body that makes the bore: by_rule, separate, or part_of_lower."
    )
    closing: Literal["by_rule", "screws", "clamp"] = Field(
        default="by_rule", description="What holds the halves together: by_rule, screws, or clamp."
    )
    draft_deg: Angle | None = Field(default=None, description="Draft of long walls; left out: by rule.")
    revision: Annotated[int, counted(1, 999)] = Field(
        default=1, description="Engraved on every body; count it up with each change."
    )


Portion = Annotated[Estimate, quantity("ratio", 1e-4, 1.0)]
ScaleStep = Annotated[Estimate, quantity("mass", 0.001, 10.0)]
ShopTemperature = Annotated[Estimate, quantity("temperature", 0.0, 60.0)]  # as far as the laws of setting times reach


class ExtraChoice(Section):
    """One thing mixed in besides the components."""

    name: Line = Field(description="What it is: pigment paste, thinner.")
    share: Portion = Field(description="Its mass over that of all components together.")


class PourChoices(Section):
    """`pour:` the shop and the scale."""

    by: Literal["weight", "volume"] = Field(
        default="weight", description="Which of the tins' two mixing ratios is used; either way it is weighed out."
    )
    extras: tuple[ExtraChoice, ...] = Field(
        default=(),
        description="What goes in besides, in per cent of all components together.",
        examples=["[{name: pigment paste, share: 2 %}]"],
    )

    spare: Share = Field(
        default=Estimate(0.15, text="15 %"), description="Mixed beyond what the mold holds, for cup and stick."
    )
    scale_step_g: ScaleStep = Field(default=Estimate(0.1, text="0.1 g"), description="The scale's step.")
    activation_energy: ActivationEnergy | None = Field(
        default=None,
        description="Activation energy of the cure in kJ/mol, if the supplier gives one; else times halve per 10 °C.",
    )
    shop_degc: ShopTemperature = Field(
        default=Estimate(23.0, text="23 °C"), description="Temperature where the casting is done."
    )


ScarfAngle = Annotated[Estimate, quantity("angle", LEAST_SCARF_DEG, MOST_SCARF_DEG)]
BladeThickness = Annotated[Estimate, quantity("length", 0.1, 1.5)]


class CuttingChoices(Section):
    """`cutting:` blades and joint, where a belt is cut from cord or sheet."""

    scarf_deg: ScarfAngle = Field(
        default=Estimate(SCARF_DEG, text=f"{SCARF_DEG:g}°"),
        description="Between a joint's cut and the cord: the flatter, the more glue holds it; 90° is a butt joint.",
    )
    blade_mm: BladeThickness = Field(
        default=Estimate(BLADE_MM, text=f"{BLADE_MM:g} mm"),
        description="Thickness of the blades that you have, by the micrometer.",
    )
    blade_offset_mm: Offset = Field(
        default=Estimate(0.0, text="0 mm"),
        description="Added to the distance between a slitting guide's blades, to both radii of a ring cutter and to "
        "where the splice's slot stands: what a first cut came out too narrow, small or short by.",
    )


def _jig(value: Any) -> str:
    name = str(value).strip()
    if name in JIGS:
        return name
    near = difflib.get_close_matches(name, JIGS, n=1, cutoff=0.5)
    hint = f"Did you mean `{near[0]}`? " if near else ""
    raise refused("there is no jig of this name", f"{hint}There are {', '.join(JIGS)}.")


def _jigs(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names))


JigName = Annotated[str, PlainValidator(_jig, json_schema_input_type=str)]


class PartSpec(Section):
    """A part spec as YAML has it; each family puts its own sections in place of the three open ones."""

    family: Line = Field(description="What kind of part this is.")
    name: Name = Field(description="Names the output folder and is engraved on the mold.")
    machine: Line | None = Field(default=None, description="The machine it belongs to.")
    quantity: Annotated[int, counted(1, 1000)] = Field(default=1, description="How many are needed.")
    elastomer: Any = Field(
        description="An id from `moldgen elastomers`, or `{based_on: ID, ...}` with figures of your own."
    )
    measured: Any
    wanted: Any
    drive: Any = None
    printer: Any = Field(
        default=None, description="A kind of printer, or `{based_on: KIND, ...}` with figures of your own."
    )
    jigs: Annotated[tuple[JigName, ...], AfterValidator(_jigs)] | None = Field(
        default=None,
        description=f"Printed tools to make besides: any of {', '.join(JIGS)}. Left out: those that the part needs; "
        "`[]`: none.",
        examples=["[]"],
    )
    cutting: CuttingChoices = Field(
        default=CuttingChoices(), description="Blades and joint, where a belt is cut from cord or sheet."
    )
    mold: MoldChoices = MoldChoices()
    pour: PourChoices = PourChoices()


_NAMED = (("elastomer", "file"), ("printer", "file"), ("wanted", "outline"))
"""Fields whose text is the name of a file."""


@dataclass(frozen=True)
class Case:
    """A part spec that has been read, checked, and joined with its family, elastomer and printer."""

    spec: PartSpec
    family: Family
    elastomer: Elastomer
    printer: Printer
    given: Given[Any, Any, Any]
    document: Document

    def __reduce__(self) -> tuple[Any, ...]:
        """Read again on the other side of a process boundary: models made from a family's sections do not travel."""
        return from_document, (self.document,)

    @property
    def name(self) -> str:
        return self.spec.name

    @property
    def named_files(self) -> tuple[str, ...]:
        """The other files that the spec is made with, as it spells them: a drawing, figures kept elsewhere."""
        nodes = ((self.document.data.get(section), key) for section, key in _NAMED)
        names = (node.get(key) for node, key in nodes if isinstance(node, dict))
        return tuple(dict.fromkeys(name for name in names if isinstance(name, str)))

    def problem(self, refusal: Refusal) -> Problem:
        return self.document.problem(refusal.place, limit=refusal.limit, way_out=refusal.way_out)

    def refuse(self, refusals: Iterable[Refusal]) -> None:
        """Raises SpecError with every refusal, if there is one."""
        problems = tuple(self.problem(refusal) for refusal in refusals)
        if problems:
            raise SpecError(problems)


@lru_cache
def spec_model(family: str) -> type[PartSpec]:
    """The PartSpec of one family. Raises families.UnknownFamilyError."""
    kind = families.find(family)
    fields: dict[str, Any] = {
        "measured": (kind.measured, Field(description="What the surviving metal says.")),
        "wanted": (kind.wanted, Field(description="What the part must be in place.")),
        "drive": (Annotated[None, PlainValidator(_no_drive)], None),
    }
    if issubclass(kind.measured, Readings):  # none of them is needed
        fields["measured"] = (
            kind.measured,
            Field(default=kind.measured.model_validate({}), description="Readings to keep, any names."),
        )
    if kind.lay is as_it_is:
        fields["cutting"] = (Annotated[None, PlainValidator(_not_cut)], CuttingChoices())
    if kind.drive is not None:
        fields["drive"] = (
            kind.drive | None,
            Field(default=None, description="What it runs with; needed only for predictions."),
        )
    return create_model(f"{family}_spec", __base__=PartSpec, **fields)


def _no_drive(value: Any) -> None:
    raise refused("nothing is predicted of a drive for this family", "Leave `drive` out.")


def _not_cut(value: Any) -> None:
    raise refused("parts of this family are not cut from cord or sheet", "Leave `cutting` out.")


def load(path: Path) -> Case:
    """The case in a spec file. Raises SpecError with every problem, or OutputError if the file cannot be read."""
    return from_document(documents.read(path))


def from_document(document: Document) -> Case:
    """The case in a document. Raises SpecError with every problem."""
    model = spec_model(_family_name(document))
    problems: list[Problem] = []
    spec = _collected(problems, lambda: validated(model, document, data=document.data))
    elastomer = _collected(problems, lambda: _elastomer(document))
    printer = _collected(problems, lambda: _printer(document))
    if spec is None or elastomer is None or printer is None:
        raise SpecError(tuple(sorted(problems, key=lambda p: p.line)))
    family = families.find(spec.family)
    given = Given(measured=spec.measured, wanted=spec.wanted, drive=spec.drive, elastomer=rubber(elastomer))
    return Case(spec=spec, family=family, elastomer=elastomer, printer=printer, given=given, document=document)


def _collected(problems: list[Problem], stage: Any) -> Any:
    try:
        return stage()
    except SpecError as error:
        problems.extend(error.problems)
        return None


def _family_name(document: Document) -> str:
    name = document.data.get("family")
    known = ", ".join(families.names())
    if not isinstance(name, str) or not name:
        raise SpecError(
            (document.problem(("family",), limit="it is needed", way_out=f"Write `family:` and one of {known}."),)
        )
    try:
        families.find(name)
    except families.UnknownFamilyError as error:
        hint = f"Did you mean `{error.near}`? Known: {known}." if error.near else f"Known: {known}."
        problem = document.problem(("family",), limit="there is no family of this name", way_out=hint)
        raise SpecError((problem,)) from None
    return name


# --- elastomer -------------------------------------------------------------------------------------------------------


@lru_cache
def _elastomer_model() -> type[Section]:
    """`elastomer:` as a section: the id it is based on, a source, and any figure of the table."""
    figures: dict[str, Any] = {
        name: (
            quantity_field(figure.kind, figure.least, figure.most) | None,
            Field(default=None, description=figure.description),
        )
        for name, figure in FIGURES.items()
    }
    return create_model(
        "elastomer_choice",
        __base__=Section,
        based_on=(Line, Field(description="Id of the elastomer that all other figures come from.")),
        source=(
            Line | None,
            Field(default=None, description="Where your figures are from, for example the supplier's sheet."),
        ),
        **figures,
    )


def _elastomer(document: Document) -> Elastomer:
    place: Place = ("elastomer",)
    if "elastomer" not in document.data:
        raise SpecError(())  # the spec's own model already says that it is missing
    node = document.data["elastomer"]
    if isinstance(node, dict) and "file" in node:
        document, node, place = _own_file(document, node, "elastomer")
    if isinstance(node, str):
        return _known_elastomer(node, document, place)
    if not isinstance(node, dict):
        raise SpecError(
            (document.problem(place, limit="an id or figures are wanted here", way_out="See `moldgen elastomers`."),)
        )
    choice, base = _with_base(_elastomer_model(), document, node, place, find=_known_elastomer)
    figures = {name: getattr(choice, name) for name in FIGURES if getattr(choice, name) is not None}
    changed: Elastomer = base.changed(source=choice.source or Path(document.file).name, **figures)
    return changed


def _with_base(
    model: type[Section],
    document: Document,
    node: dict[str, Node],
    place: Place,
    *,
    find: Callable[[str, Document, Place], Any],
    otherwise: str | None = None,
) -> tuple[Any, Any]:
    """Figures of the person's own, and what they are based on. What is wrong with either is raised together."""
    problems: list[Problem] = []
    choice = _collected(problems, lambda: validated(model, document, data=node, place=place))
    named = node.get("based_on", otherwise)
    base = _collected(problems, lambda: find(named, document, (*place, "based_on"))) if isinstance(named, str) else None
    if problems:
        raise SpecError(tuple(problems))
    return choice, base


def _own_file(document: Document, node: dict[str, Node], section: str) -> tuple[Document, Node, Place]:
    """A section that stands in a file of its own, so that several specs share it."""
    name = node["file"]
    if len(node) > 1 or not isinstance(name, str):
        raise SpecError(
            (
                document.problem(
                    (section,),
                    limit="`file` stands alone",
                    way_out="Put the figures into that file, or here without `file`.",
                ),
            )
        )
    try:
        there = documents.read(documents.named_file(Path(document.file).parent, name))
    except OutputError as error:
        problem = document.problem(
            (section, "file"),
            limit="no file can be read there",
            way_out="Give its path as seen from this spec's folder.",
        )
        raise SpecError((problem,)) from error
    return there, there.data, ()


def _known_elastomer(name: str, document: Document, place: Place) -> Elastomer:
    try:
        return elastomers.find(name)
    except elastomers.UnknownElastomerError as error:
        near = f"Did you mean {' or '.join(f'`{n}`' for n in error.near)}? " if error.near else ""
        problem = document.problem(
            place, limit="there is no elastomer of this id", way_out=f"{near}`moldgen elastomers` lists them all."
        )
        raise SpecError((problem,)) from None


def rubber(elastomer: Elastomer) -> Rubber:
    """The elastomer's figures that sizing uses; low and high are the ends of a rectangular distribution."""

    def estimate(name: str) -> Estimate:
        figure = elastomer.figure(name)
        return Estimate(figure.value, u=(figure.high - figure.low) / 12**0.5, low=figure.low, high=figure.high)

    return Rubber(
        modulus_mpa=estimate("modulus_mpa"),
        linear_shrinkage=estimate("linear_shrinkage"),
        friction=estimate("friction"),
        relaxation=estimate("relaxation"),
        bond_strength_mpa=estimate("bond_strength_mpa"),
        stretch_usual=elastomer.figure("stretch_usual").value,
        stretch_most=elastomer.figure("stretch_most").value,
        elongation_at_break=elastomer.figure("elongation_at_break").low,
        least_wall_mm=elastomer.figure("least_wall_mm").value,
        label=elastomer.label,
    )


# --- printer ---------------------------------------------------------------------------------------------------------

DEFAULT_PRINTER = "filament_0_4"


@lru_cache
def _printer_model() -> type[Section]:
    """`printer:` as a section: the kind it is based on, and any figure of it."""
    fields: dict[str, Any] = {
        name: (info.rebuild_annotation() | None, Field(default=None, description=info.description))
        for name, info in Printer.model_fields.items()
        if name != "based_on"
    }
    return create_model(
        "printer_choice",
        __base__=Section,
        based_on=(Line, Field(default=DEFAULT_PRINTER, description="The kind.")),
        source=(Line | None, Field(default=None, description="Where your figures are from, for example a coupon.")),
        **fields,
    )


def _printer(document: Document) -> Printer:
    node = document.data.get("printer")
    if node is None:
        return printers.find(DEFAULT_PRINTER)
    place: Place = ("printer",)
    if isinstance(node, dict) and "file" in node:
        document, node, place = _own_file(document, node, "printer")
    if isinstance(node, str):
        return _known_printer(node, document, place)
    if not isinstance(node, dict):
        raise SpecError((document.problem(place, limit="a kind or figures are wanted here", way_out=_printer_kinds()),))
    choice, base = _with_base(_printer_model(), document, node, place, find=_known_printer, otherwise=DEFAULT_PRINTER)
    changes: Mapping[str, Any] = {
        name: getattr(choice, name)
        for name in Printer.model_fields
        if name != "based_on" and getattr(choice, name) is not None
    }
    changed: Printer = base.model_copy(update=dict(changes))
    return changed


def _known_printer(kind: str, document: Document, place: Place) -> Printer:
    try:
        return printers.find(kind)
    except printers.UnknownPrinterError:
        problem = document.problem(place, limit="there is no printer of this kind", way_out=_printer_kinds())
        raise SpecError((problem,)) from None


def _printer_kinds() -> str:
    return f"Use one of {', '.join(printers.PRINTERS)}."
