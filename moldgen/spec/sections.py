"""How a section of a spec is declared: frozen models whose names end in their unit, and the kinds of field they hold.

YAML says `hub_diameter: 1 1/4 in`; code says `hub_diameter_mm`. One alias rule joins the two.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final, Self

from pydantic import BaseModel, ConfigDict, PlainValidator, model_validator
from pydantic_core import PydanticCustomError

from moldgen.quantities import Estimate, QuantityError, parsed_readings

SMALLEST_SIZE_MM: Final = 0.2
LARGEST_SIZE_MM: Final = 1000.0

IN_STARTER: Final[dict[str, Any]] = {"in_starter": True}
"""`json_schema_extra` of a field that a starter spec fills in, though not every spec needs it."""

_UNIT_SUFFIX = re.compile(r"_(mm3|mm|deg|mm_s|rpm|hz|nmm|n|mpa|kn_m|pa_s|g_cm3|g|degc|s|min|h)$")


def without_unit_suffix(name: str) -> str:
    """The YAML key of an attribute.

    >>> without_unit_suffix("hub_diameter_mm"), without_unit_suffix("against_speed_rpm"), without_unit_suffix("stretch")
    ('hub_diameter', 'against_speed', 'stretch')
    """
    return _UNIT_SUFFIX.sub("", name)


class Section(BaseModel):
    """One section of a spec."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=without_unit_suffix,
        populate_by_name=False,
        arbitrary_types_allowed=True,
        hide_input_in_errors=True,
    )


def refused(limit: str, way_out: str) -> PydanticCustomError:
    """The error a field raises; `validation` turns it into a Problem."""
    return PydanticCustomError("refused", "{limit}", {"limit": limit, "way_out": way_out})


@dataclass(frozen=True, slots=True)
class Quantified:
    """Takes a quantity of one kind between two limits; the documentation reads them off."""

    kind: str
    least: float
    most: float
    limit: str

    def __call__(self, value: Any) -> Estimate:
        try:
            estimate = parsed_readings(value, self.kind)
        except QuantityError as error:
            raise refused(error.limit, error.way_out) from None
        if not self.least <= estimate <= self.most:
            raise refused(self.limit, "Check the number and its unit.")
        return estimate


def _quantity(kind: str, low: float, high: float, limit: str) -> PlainValidator:
    return PlainValidator(Quantified(kind, low, high, limit), json_schema_input_type=str)


def quantity(kind: str, least: float, most: float) -> PlainValidator:
    """A quantity of one kind between two limits: `Annotated[Estimate, quantity("length", 0.1, 5.0)]`."""
    return _quantity(kind, least, most, f"it lies between {least:g} and {most:g}")


def quantity_field(kind: str, least: float, most: float) -> Any:
    """A field for a quantity of one kind between two limits, for sections that are made from a table."""
    return Annotated[Estimate, quantity(kind, least, most)]


Length = Annotated[
    Estimate,
    _quantity(
        "length",
        SMALLEST_SIZE_MM,
        LARGEST_SIZE_MM,
        f"sizes from {SMALLEST_SIZE_MM:g} mm to {LARGEST_SIZE_MM:g} mm are taken",
    ),
]
"""A size of a part or of metal, 0.2 mm to 1 m."""

SmallLength = Annotated[Estimate, _quantity("length", 0.0, LARGEST_SIZE_MM, "it lies between 0 and 1000 mm")]
"""An allowance, a rise or a radius, which may be zero."""

Coordinate = Annotated[
    Estimate, _quantity("length", -LARGEST_SIZE_MM, LARGEST_SIZE_MM, "it lies between -1000 mm and 1000 mm")
]
"""A place, which may be negative."""

Offset = Annotated[Estimate, _quantity("length", -2.0, 2.0, "it lies between -2 mm and 2 mm")]
Stretch = Annotated[Estimate, _quantity("ratio", 0.0, 0.5, "it lies between 0 % and 50 %")]
Share = Annotated[Estimate, _quantity("ratio", 0.0, 1.0, "it lies between 0 % and 100 %")]
Ratio = Annotated[Estimate, _quantity("ratio", 0.0, 100.0, "it lies between 0 and 100")]
Friction = Annotated[Estimate, _quantity("ratio", 0.02, 3.0, "a coefficient of friction lies between 0.02 and 3")]
Angle = Annotated[Estimate, _quantity("angle", -360.0, 360.0, "it lies between -360° and 360°")]
Rotation = Annotated[Estimate, _quantity("rotation", 0.01, 1e5, "speeds from 0.01 rpm to 100000 rpm are taken")]
Speed = Annotated[Estimate, _quantity("speed", 0.01, 1e5, "speeds from 0.01 mm/s to 100 m/s are taken")]
Force = Annotated[Estimate, _quantity("force", 0.001, 1e4, "forces from 0.001 N to 10 kN are taken")]
Torque = Annotated[Estimate, _quantity("torque", 0.0, 1e6, "torques from 0 to 1000 N·m are taken")]
Temperature = Annotated[Estimate, _quantity("temperature", -50.0, 300.0, "it lies between -50 °C and 300 °C")]
ActivationEnergy = quantity_field("number", 10.0, 150.0)
"""Of a cure, in kJ/mol."""

Duration = Annotated[Estimate, _quantity("time", 0.01, 1e8, "times from 0.01 s to three years are taken")]


def _flag(value: Any) -> bool:
    text = str(value).strip().lower()
    if text in ("yes", "true"):
        return True
    if text in ("no", "false"):
        return False
    raise refused("yes or no is wanted here", "Write `yes` or `no`.")


Flag = Annotated[bool, PlainValidator(_flag, json_schema_input_type=str)]


@dataclass(frozen=True, slots=True)
class Counted:
    """Takes a whole number between two limits."""

    least: int
    most: int

    def __call__(self, value: Any) -> int:
        text = str(value).strip()
        if not re.fullmatch(r"[0-9]{1,6}", text) or not self.least <= int(text) <= self.most:
            raise refused(
                f"a whole number from {self.least} to {self.most} is wanted here",
                f"Write a whole number, at least {self.least}.",
            )
        return int(text)


def counted(low: int, high: int) -> PlainValidator:
    """A whole number between two limits."""
    return PlainValidator(Counted(low, high), json_schema_input_type=str)


_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)


def _name(value: Any) -> str:
    text = value if isinstance(value, str) else ""
    way_out = "Use letters, digits, `-` and `_`, for example `idler-tyre`."
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,63}", text) or text.endswith("."):
        raise refused("it becomes a folder's name, so it takes 1 to 64 letters, digits, - _ or . and no path", way_out)
    if _RESERVED.fullmatch(text):
        raise refused("some systems keep this name for a device", way_out)
    return text


Name = Annotated[str, PlainValidator(_name, json_schema_input_type=str)]


def _line(value: Any) -> str:
    if not isinstance(value, str) or not 0 < len(value.strip()) <= 120 or "\n" in value:
        raise refused("one line of 1 to 120 characters is wanted here", "Write it as one line.")
    return value.strip()


Line = Annotated[str, PlainValidator(_line, json_schema_input_type=str)]
"""A line of free text."""


class Readings(Section):
    """A section whose names are the person's own: any length that was measured, under a plain word."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Length]
    examples: ClassVar[tuple[str, ...]] = ()
    """Lines for a starter spec, which has no fields to make them from."""

    @model_validator(mode="after")
    def _plain_words(self) -> Self:
        for name in self.__pydantic_extra__:
            if not re.fullmatch(r"[a-z][a-z0-9_]{0,39}", name):
                raise refused(
                    f"a reading's name is a plain word, and `{name}` is not",
                    "Use small letters, digits and _, for example `plate_thickness`.",
                )
        return self
