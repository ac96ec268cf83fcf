"""Turned part: anything round that has no family of its own, by its half-section. Feet, grommets, bumpers, rollers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Final, Literal, TypeAlias

from pydantic import Field

from moldgen.families.base import Family, Given, Prediction, Sizes, nothing
from moldgen.families.points import Corners, Listed, Named, listed, refused_corners, unknown_readings
from moldgen.mechanics.shrinkage import mold_length_mm
from moldgen.outlines.corners import Rounded
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Path, Revolved, Shape, Surface, Vertex
from moldgen.spec.sections import LARGEST_SIZE_MM, SMALLEST_SIZE_MM, Readings, Section
from moldgen.uncertainty import estimates

PLACE: Final = ("wanted", "profile")
FLAT: Final = 1.0
"""Rise over run above which a side of the profile is a wall and not an end face or a shoulder: 45°."""

PROFILE = """\

- [0, 0]
- [base_diameter / 2, 0, 0.5]
- [7, 12, 2]
- [0, 12]"""


class Measured(Readings):
    """Any lengths worth keeping; a profile may refer to them."""

    examples = ("# Any reading under a name of your own; the profile may refer to it.", "base_diameter: 20.0 ± 0.1 mm")


class Wanted(Section):
    profile: Corners = Field(
        description="Half of the section, corner by corner once round, in either sense: `[radius, height]`, or "
        "`[radius, height, fillet]` to round that corner by so many mm. The axis is radius 0; heights count from "
        "anywhere. A number may be taken from a reading: `hole / 2`, `plate_thickness + 2 mm`.",
        examples=[PROFILE],
    )
    running: Literal["outside", "bore", "none"] = Field(
        default="none",
        description="Which walls run on something and must stay free of flash, gate and vents: outside, bore or none.",
        examples=["none"],
    )


TurnedGiven: TypeAlias = Given[Measured, Wanted, Section]


def check(given: TurnedGiven) -> Iterator[Refusal | Remark]:
    profile, measured = given.wanted.profile, given.measured
    unknown = tuple(unknown_readings(profile, measured, PLACE))
    if unknown:
        yield from unknown
        return
    corners = listed(profile, measured)
    beside = tuple(_off_the_axis(given, corners))
    yield from beside or refused_corners(corners, PLACE)


def _off_the_axis(given: TurnedGiven, corners: Listed) -> Iterator[Refusal]:
    """What a half-section may not do at its axis."""
    radii = [point.x for point in corners.points]
    if 2.0 * max(radii) > LARGEST_SIZE_MM:
        i = radii.index(max(radii))
        yield Refusal((*PLACE, i), f"parts up to {LARGEST_SIZE_MM:g} mm across are taken", "Check the radius.")
    for i, radius in enumerate(radii):
        if radius < 0.0:
            yield Refusal((*PLACE, i, 0), "the first number is the distance from the axis", "Write 0 or more.")
        elif 0.0 < radius < 0.5 * SMALLEST_SIZE_MM:
            limit = f"a bore is at least {SMALLEST_SIZE_MM:g} mm wide"
            yield Refusal((*PLACE, i, 0), limit, "Write 0, or a larger radius.")
        elif radius == 0.0 and corners.fillets_mm[i] > 0.0:
            yield Refusal((*PLACE, i), "a corner on the axis cannot be rounded", "Leave its fillet out.")
        elif (doubt := _doubt_mm(given, i)) > 0.0 and radius <= 2.0 * doubt:
            yield Refusal(
                (*PLACE, i, 0), "it is so uncertain that it may be on the axis or off it", "Measure it again."
            )
    on_axis = [radius == 0.0 for radius in radii]
    starts = [i for i, on in enumerate(on_axis) if on and not on_axis[i - 1]]
    if len(starts) > 1 and on_axis[0] and on_axis[-1]:  # the last stretch goes on into the first corner
        starts.insert(0, starts.pop())
    if len(starts) > 1:
        yield Refusal(
            (*PLACE, starts[1]), "the profile comes to the axis a second time", "Make one part of each stretch."
        )
    for i in starts:
        if not on_axis[(i + 1) % len(on_axis)]:
            yield Refusal(
                (*PLACE, i),
                "the profile touches the axis in a single point, where no rubber would be left",
                "Give the axis two corners, or keep off it.",
            )


def _doubt_mm(given: TurnedGiven, corner: int) -> float:
    """Standard uncertainty of a corner's radius."""
    position = given.wanted.profile[corner][0]
    own = max((estimate.u for _, estimate in estimates(position)), default=0.0)
    if not isinstance(position, Named):
        return own
    return own + abs(position.factor) * float((given.measured.model_extra or {})[position.reading].u)


def _profile(given: TurnedGiven) -> Path:
    """The half-section with fillets, anticlockwise, each stretch marked with what it is for."""
    made = listed(given.wanted.profile, given.measured).rounded()
    return _marked(made, given.wanted.running)


def _marked(made: Rounded, running: str) -> Path:
    path = made.path if made.path.area > 0.0 else made.path.reversed()
    vertices = []
    for edge in path.edges:
        start = edge.start
        vertices.append(
            start if start.surface == "edge" else replace(start, surface=_surface(start, edge.end, running))
        )
    return Path(tuple(vertices))


def _surface(start: Vertex, end: Vertex, running: str) -> Surface:
    """An anticlockwise half-section runs up along outer walls and down along those that face the axis."""
    run, rise = end.x - start.x, end.y - start.y
    if abs(rise) <= FLAT * abs(run):
        return "face"
    if rise > 0.0:
        return "running" if running == "outside" else "side"
    if max(start.x, end.x) <= 0.0:
        return "side"  # the axis itself
    return "running" if running == "bore" else "bore"


def size(given: TurnedGiven) -> Sizes:
    """The part as drawn: nothing stretches it in place, and the mold is larger by the shrinkage all over."""
    least_r, low, most_r, high = _profile(given).bounds
    free = {"outer_diameter_mm": 2.0 * most_r}
    if least_r > 0.0:
        free["inner_diameter_mm"] = 2.0 * least_r
    free["height_mm"] = high - low
    shrinkage = given.elastomer.linear_shrinkage
    mold = {name: mold_length_mm(part_length_mm=length, linear_shrinkage=shrinkage) for name, length in free.items()}
    return Sizes(fitted=free, free=free, mold=mold)


def predict(given: TurnedGiven, sizes: Sizes) -> tuple[Prediction, ...]:
    return (
        Prediction("volume_mm3", Revolved(_profile(given)).volume_mm3, "area of the half-section swept once round"),
    )


def shape(given: TurnedGiven, dimensions: Mapping[str, float]) -> Shape:
    """The part scaled to a set of dimensions, standing on height 0."""
    profile = _profile(given)
    _, low, _, high = profile.bounds
    return Revolved(profile.moved(dy=-low).scaled(dimensions["height_mm"] / (high - low)))


FAMILY = Family(
    title="Turned part",
    measured=Measured,
    wanted=Wanted,
    drive=None,
    check=check,
    size=size,
    predict=predict,
    judge=nothing,
    shape=shape,
)
