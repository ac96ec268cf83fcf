"""Outline part: anything flat, by its outline and thickness. Brake shoes, pads, washers that are not round."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, TypeAlias

from pydantic import Field, ValidationInfo, ValidatorFunctionWrapHandler, WrapValidator

from moldgen.families.base import Family, Given, Prediction, Sizes, nothing
from moldgen.families.points import Corners, Placed, listed, refused_corners, unknown_readings, value_mm
from moldgen.mechanics.shrinkage import mold_length_mm
from moldgen.outlines import Contour, Drawing, UnreadableDrawingError, read
from moldgen.outlines.check import faults, largest, thin_walls
from moldgen.outlines.reading import UNITS_MM
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Extruded, Path, Shape, circle
from moldgen.spec.document import Place, named_file
from moldgen.spec.sections import LARGEST_SIZE_MM, Line, Readings, Section, refused

SCALE_DOUBT: Final = 0.02
"""How far a drawing may be off the length that was measured: more is a wrong scale and not a worn part."""
OTHER_UNITS: Final = {"cm": "centimetres", "m": "metres", "in": "inches"}
OUTLINE: Final = ("wanted", "outline")

POINTS = """\

- [0, 0, 3]
- [overall_length, 0, 3]
- [overall_length, 12, 3]
- [0, 18, 3]"""


class Measured(Readings):
    """Any lengths worth keeping; the outline may refer to them."""

    examples = (
        "# Any reading under a name of your own; the outline may refer to it.",
        "overall_length: 40.0 ± 0.1 mm",
    )


class Hole(Section):
    at: tuple[Placed, Placed] = Field(description="Centre, in the outline's own coordinates.")
    diameter_mm: Placed = Field(description="Diameter of the hole in the part.")


def _drawn(value: Any, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
    """The drawing that the spec names, read here so that sizing knows no files; or the corners."""
    if not isinstance(value, str):
        return handler(value)
    folder: FilePath = (info.context or {}).get("folder", FilePath())
    try:
        return read(named_file(folder, value), unit=info.data.get("file_unit"), layer=info.data.get("file_layer"))
    except UnreadableDrawingError as error:
        raise refused(error.limit, error.way_out) from None


if TYPE_CHECKING:
    Outline = Corners | Drawing
else:  # declared as corners, so that what is wrong with one of them is told at that corner
    Outline = Annotated[Corners, WrapValidator(_drawn)]


class Wanted(Section):
    file_unit: Literal["mm", "cm", "m", "in"] | None = Field(
        default=None, description="What the numbers of an outline's file are, if it does not state it.", examples=["mm"]
    )
    file_layer: Line | None = Field(
        default=None, description="The one layer of a DXF that holds the outline; left out, all.", examples=["cut"]
    )
    outline: Outline = Field(
        description="A DXF or SVG file in full size (its path as seen from this spec), or the outline's corners once "
        "round: `[x, y]`, or `[x, y, fillet]` to round that corner by so many mm. Closed outlines within a file's "
        "largest are holes. A number may be taken from a reading: `overall_length / 2`.",
        examples=[POINTS],
    )
    thickness_mm: Placed = Field(description="Thickness of the part.", examples=["4.0 mm"])
    holes: tuple[Hole, ...] = Field(
        default=(),
        description="Round holes besides those in the file, in the outline's coordinates.",
        examples=["\n- {at: [10, 8], diameter: 3.2 mm}"],
    )
    check_length_mm: Placed | None = Field(
        default=None,
        description="Overall length along x, by caliper; a drawing that is out of scale by more than 2 % is refused.",
        examples=["overall_length"],
    )


FlatGiven: TypeAlias = Given[Measured, Wanted, Section]


def check(given: FlatGiven) -> Iterator[Refusal | Remark]:
    wanted, measured = given.wanted, given.measured
    unknown = tuple(_unknown(given))
    if unknown:
        yield from unknown
        return
    if isinstance(wanted.outline, Drawing):
        wrong = tuple(_refused_drawing(wanted.outline))
        yield from _remarks(wanted.outline)
    else:
        wrong = refused_corners(listed(wanted.outline, measured), OUTLINE)
        if wanted.file_unit is not None or wanted.file_layer is not None:
            key = "file_unit" if wanted.file_unit is not None else "file_layer"
            yield Refusal(("wanted", key), "it is only for an outline from a file", "Leave it out.")
    yield from wrong or _refused_part(given)
    thickness, least = value_mm(wanted.thickness_mm, measured), given.elastomer.least_wall_mm
    if not least <= thickness <= LARGEST_SIZE_MM:
        limit = f"{given.elastomer.label} is cast from {least:g} mm to {LARGEST_SIZE_MM:g} mm thick"
        yield Refusal(("wanted", "thickness"), limit, "Check the number and its unit.")


def _unknown(given: FlatGiven) -> Iterator[Refusal]:
    wanted, measured = given.wanted, given.measured
    if not isinstance(wanted.outline, Drawing):
        yield from unknown_readings(wanted.outline, measured, OUTLINE)
    for key, position in (("thickness", wanted.thickness_mm), ("check_length", wanted.check_length_mm)):
        yield from unknown_readings(position, measured, ("wanted", key))
    for i, hole in enumerate(wanted.holes):
        yield from unknown_readings(hole.at, measured, ("wanted", "holes", i, "at"))
        yield from unknown_readings(hole.diameter_mm, measured, ("wanted", "holes", i, "diameter"))


def _refused_drawing(drawing: Drawing) -> Iterator[Refusal]:
    for fault in drawing.faults or faults(drawing.contours):
        yield Refusal(OUTLINE, f"{fault.text} {fault.place} in {drawing.file}", fault.way_out)


def _remarks(drawing: Drawing) -> Iterator[Remark]:
    if not drawing.unit_stated:
        x0, y0, x1, y1 = drawing.contours[largest(drawing.contours)].path.bounds if drawing.contours else (0.0,) * 4
        yield Remark(
            "unit_assumed",
            f"{drawing.file} does not state its unit; millimetres are taken, which makes the outline {x1 - x0:.2f} mm "
            f"by {y1 - y0:.2f} mm. Check that with a caliper and say `file_unit`, or give `check_length`.",
            "wanted.outline",
        )
    if drawing.left_out:
        text = f"{drawing.file} also holds {', '.join(drawing.left_out)}; these are no outlines and are left out."
        yield Remark("left_out_of_drawing", text, "wanted.outline")


def _refused_part(given: FlatGiven) -> Iterator[Refusal]:
    """What is wrong with outline and holes together."""
    contours, places = _contours(given)
    wrong = faults(contours) or tuple(thin_walls(contours, given.elastomer.least_wall_mm))
    for fault in wrong:
        yield Refusal(places[fault.contour], f"{fault.text} {fault.place}", fault.way_out)
    if given.wanted.check_length_mm is not None:
        yield from _refused_scale(contours[0].path, value_mm(given.wanted.check_length_mm, given.measured))


def _refused_scale(outline: Path, measured_mm: float) -> Iterator[Refusal]:
    x0, _, x1, _ = outline.bounds
    factor = measured_mm / (x1 - x0)
    if abs(factor - 1.0) <= SCALE_DOUBT:
        return
    seems = [name for unit, name in OTHER_UNITS.items() if abs(factor / UNITS_MM[unit] - 1.0) <= SCALE_DOUBT]
    hint = f"Its numbers look like {seems[0]}." if seems else "Draw it in full size."
    yield Refusal(
        ("wanted", "check_length"), f"the outline is {x1 - x0:.2f} mm long, {1.0 / factor:.3g} times as long", hint
    )


def _contours(given: FlatGiven) -> tuple[tuple[Contour, ...], tuple[Place, ...]]:
    """The outline first, then its holes; and where in the spec each is from."""
    wanted, measured = given.wanted, given.measured
    if isinstance(wanted.outline, Drawing):
        drawn = wanted.outline.contours
        rim = largest(drawn)
        contours = [drawn[rim], *(contour for i, contour in enumerate(drawn) if i != rim)]
    else:
        path = listed(wanted.outline, measured).rounded().path
        contours = [Contour(path, ("the outline",) * len(path.vertices)).anticlockwise()]
    places: list[Place] = [OUTLINE] * len(contours)
    for i, hole in enumerate(wanted.holes):
        x, y = (value_mm(position, measured) for position in hole.at)
        contours.append(Contour(circle(0.5 * value_mm(hole.diameter_mm, measured), x, y), (f"hole {i + 1}",) * 2))
        places.append(("wanted", "holes", i))
    return tuple(contours), tuple(places)


def _part(given: FlatGiven) -> Extruded:
    """The part, its middle over the origin."""
    contours, _ = _contours(given)
    rim, *holes = (contour.path for contour in contours)
    x0, y0, x1, y1 = rim.bounds
    dx, dy = -0.5 * (x0 + x1), -0.5 * (y0 + y1)
    thickness = value_mm(given.wanted.thickness_mm, given.measured)
    return Extruded(rim.moved(dx, dy), tuple(hole.moved(dx, dy) for hole in holes), thickness)


def size(given: FlatGiven) -> Sizes:
    """The part as drawn: nothing stretches it in place, and the mold is larger by the shrinkage all over."""
    contours, _ = _contours(given)
    x0, y0, x1, y1 = contours[0].path.bounds
    free = {
        "length_mm": x1 - x0,
        "width_mm": y1 - y0,
        "thickness_mm": value_mm(given.wanted.thickness_mm, given.measured),
    }
    for number, hole in enumerate(contours[1:], start=1):
        if (diameter := hole.diameter_mm) is not None:
            free[f"hole_{number}_diameter_mm"] = diameter
    shrinkage = given.elastomer.linear_shrinkage
    mold = {name: mold_length_mm(part_length_mm=length, linear_shrinkage=shrinkage) for name, length in free.items()}
    return Sizes(fitted=free, free=free, mold=mold)


def predict(given: FlatGiven, sizes: Sizes) -> tuple[Prediction, ...]:
    part = _part(given)
    return (
        Prediction("area_mm2", part.volume_mm3 / part.thickness_mm, "within the outline, less the holes"),
        Prediction("hole_count", float(len(part.holes)), "closed outlines within the largest, and those listed"),
        Prediction("volume_mm3", part.volume_mm3, "area times thickness"),
    )


def shape(given: FlatGiven, dimensions: Mapping[str, float]) -> Shape:
    """The part scaled to a set of dimensions."""
    part = _part(given)
    return part.scaled(dimensions["thickness_mm"] / part.thickness_mm)


FAMILY = Family(
    title="Outline part",
    measured=Measured,
    wanted=Wanted,
    drive=None,
    check=check,
    size=size,
    predict=predict,
    judge=nothing,
    shape=shape,
)
