"""Belt: a closed belt of square, flat or round section, stretched over its pulleys.

It is cast as a ring, folded into hairpins where a ring outgrows the bed, or as cord to be joined.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any, Final, Literal, TypeAlias

from pydantic import Field

from moldgen.errors import RangeError
from moldgen.families.base import Family, Given, Prediction, Sizes
from moldgen.families.belt_pulleys import (
    PulleyReadings,
    assumptions,
    check_pulleys,
    in_place,
    stringing_refusals,
)
from moldgen.families.belt_running import Running, pulley_predictions, routed_path, running, running_remarks
from moldgen.mechanics.belt_path import BeltError, RectangularSection, RoundSection
from moldgen.mechanics.belt_path import Section as BeltSection
from moldgen.mechanics.belt_tension import strand_tension_n, strung_belt
from moldgen.mechanics.shrinkage import mold_length_mm
from moldgen.remarks import Refusal, Remark
from moldgen.rings import RING_STRETCH_RATIO_LEAST, RING_STRETCH_RATIO_MOST, RingInPlace, that_would_do
from moldgen.shapes import Lay, Path, Revolved, Shape, Surface, Vertex
from moldgen.spec.sections import IN_STARTER, Friction, Length, Section, Stretch, Torque

LEAST_STRETCH: Final = 0.005
"""Less than this is lost in the readings and in relaxation: judgement."""
MOST_HEIGHT_MM: Final = 50.0
MOST_WIDTH_MM: Final = 200.0
LEAST_BORE_PER_HEIGHT: Final = 2.0
"""A ring with a smaller bore for its height is no belt that could be bent round anything: judgement."""
CONTACT_DEG: Final = 18.0
"""Half the stretch of a round belt's section that a groove touches: judgement, for a belt that settles a little."""
MOST_RINGS: Final = 5
ABOUT_SQUARE: Final = 1.5
"""Width over height up to which a round ring stands in for a rectangular belt: judgement."""

PULLEYS_EXAMPLE: Final = """
  - name: motor
    center: [0, 0]
    groove_diameter: [12.02, 12.00, 12.01 ± 0.03 mm]
    groove: square
    groove_width: 2.6 ± 0.1 mm
    turns: ccw
    driver: yes
    speed: 1500 ± 10 rpm
  - name: flywheel
    center: [104.5 ± 0.3 mm, 0]
    groove_diameter: [78.00, 77.96, 77.98 ± 0.03 mm]
    turns: ccw"""


class Measured(Section):
    pulleys: tuple[PulleyReadings, ...] = Field(
        default=(),
        description="Every pulley that the belt touches, in the order in which it runs over them. Of each:",
        examples=[PULLEYS_EXAMPLE],
        json_schema_extra=IN_STARTER,
    )
    path_length_mm: Length | None = Field(
        default=None,
        description="In place of pulleys: once round along the middle of the belt, by a thread laid in the grooves.",
        examples=["361 ± 1 mm"],
    )
    thread_diameter_mm: Length | None = Field(
        default=None,
        description="Of the thread, if it lay on the floors of the grooves: the belt's middle then runs farther out.",
        examples=["0.4 mm"],
    )


class Wanted(Section):
    section: Literal["square", "flat", "round"] = Field(
        description="square (needs height), flat (height and width) or round (diameter).", examples=["square"]
    )
    height_mm: Length | None = Field(
        default=None,
        description="Thickness in place, along the pulleys' radius.",
        examples=["2.0 ± 0.05 mm"],
        json_schema_extra=IN_STARTER,
    )
    width_mm: Length | None = Field(
        default=None, description="Width in place, along the axles; of a flat belt.", examples=["5.0 mm"]
    )
    diameter_mm: Length | None = Field(
        default=None, description="Of the cord in place; of a round belt.", examples=["3.0 mm"]
    )
    stretch: Stretch | None = Field(
        default=None,
        description="Path over free length, less one; left out, the elastomer's usual value is taken.",
        examples=["5 %"],
    )
    make: Literal["ring", "meander", "cord"] = Field(
        default="ring",
        description="ring: cast as it is; meander: a closed loop folded into hairpins, where the bed is too small for "
        "the ring; cord: straight, to be joined.",
        examples=["ring"],
    )


class Drive(Section):
    friction: Friction | None = Field(
        default=None,
        description="Between belt and pulleys; left out, the elastomer's figure on clean dry metal is taken.",
        examples=["0.6"],
    )
    load_torque_nmm: Torque | None = Field(
        default=None,
        description="What the driven pulley takes when running.",
        examples=["5 ± 1 N·mm"],
        json_schema_extra=IN_STARTER,
    )


BeltGiven: TypeAlias = Given[Measured, Wanted, Drive]

NEEDS: Final[Mapping[str, tuple[str, ...]]] = {
    "square": ("height",),
    "flat": ("height", "width"),
    "round": ("diameter",),
}


def check(given: BeltGiven) -> Iterator[Refusal | Remark]:
    measured, wanted = given.measured, given.wanted
    found = [*_check_source(measured), *_check_section(given), *_check_stretch(given)]
    if measured.pulleys:
        found += check_pulleys(measured.pulleys)
    refused = any(isinstance(item, Refusal) for item in found)
    if measured.pulleys and not refused:
        found += stringing_refusals(measured.pulleys, fitted_section(wanted))
        found += assumptions(measured.pulleys)
    if not any(isinstance(item, Refusal) for item in found):
        found += _check_ring(given)
    yield from found


def _check_source(measured: Measured) -> Iterator[Refusal | Remark]:
    """The path comes from pulleys or from a thread, not from both."""
    if not measured.pulleys and measured.path_length_mm is None:
        yield Refusal(
            ("measured", "pulleys"),
            "the belt's length comes from them",
            "List the pulleys, or lay a thread in the grooves and give its `path_length`.",
        )
    if measured.pulleys and measured.path_length_mm is not None:
        yield Refusal(
            ("measured", "path_length"), "the pulleys say how long the path is already", "Keep one of the two."
        )
    if measured.thread_diameter_mm is not None and measured.path_length_mm is None:
        yield Refusal(
            ("measured", "thread_diameter"), "it belongs to a `path_length`, and there is none", "Leave it out."
        )


def _check_section(given: BeltGiven) -> Iterator[Refusal]:
    """The section has the sizes that its form needs and no others, within what can be cast."""
    wanted, rubber = given.wanted, given.elastomer
    needs = NEEDS[wanted.section]
    told = f"a {wanted.section} belt is told by {' and '.join(f'`{key}`' for key in needs)}"
    sizes = (
        ("height", wanted.height_mm, MOST_HEIGHT_MM),
        ("width", wanted.width_mm, MOST_WIDTH_MM),
        ("diameter", wanted.diameter_mm, MOST_HEIGHT_MM),
    )
    for key, value, most in sizes:
        if value is None:
            if key in needs:
                yield Refusal(("wanted", key), told, f"Add `{key}`, as it is to measure in place.")
        elif key not in needs:
            if wanted.section != "square" or key != "width":
                yield Refusal(("wanted", key), f"{told} alone", "Leave it out, or change `section`.")
            elif value != wanted.height_mm:
                yield Refusal(("wanted", key), "a square belt is as wide as high", "Write `section: flat`.")
        elif not rubber.least_wall_mm <= value <= most:
            yield Refusal(
                ("wanted", key),
                f"belts of {rubber.label} are cast from {rubber.least_wall_mm:g} mm to {most:g} mm",
                "Check the size, or take an elastomer that flows thinner.",
            )


def _check_stretch(given: BeltGiven) -> Iterator[Refusal | Remark]:
    rubber, stretch = given.elastomer, given.wanted.stretch
    if stretch is None:
        yield Remark(
            "stretch_chosen",
            f"No stretch was given; {rubber.stretch_usual:.0%} is taken, which is usual for {rubber.label}.",
            "wanted.stretch",
        )
    elif stretch > rubber.stretch_most:
        yield Refusal(
            ("wanted", "stretch"),
            f"{rubber.label} holds at most {rubber.stretch_most:.0%} for years",
            f"Take {rubber.stretch_most:.0%} or less.",
        )
    elif stretch < LEAST_STRETCH:
        yield Refusal(
            ("wanted", "stretch"),
            "a belt drives by its tension, and without stretch it has none",
            f"Take {rubber.stretch_usual:.0%}, which is usual for {rubber.label}, or at least {LEAST_STRETCH:.1%}.",
        )


def _check_ring(given: BeltGiven) -> Iterator[Refusal | Remark]:
    """The free ring has a bore worth the name; a thread's path is taken at its word."""
    measured, free = given.measured, size(given).free
    height = _height(free)
    if free["inner_diameter_mm"] < LEAST_BORE_PER_HEIGHT * height:
        yield Refusal(
            ("wanted", "section"),
            f"lying free, a ring {free['length_mm']:.1f} mm long and {height:.2f} mm thick leaves a bore of only "
            f"{free['inner_diameter_mm']:.1f} mm",
            "Check the section and the path.",
        )
    if measured.path_length_mm is not None and measured.thread_diameter_mm is None:
        yield Remark(
            "path_taken_as_neutral",
            f"{measured.path_length_mm:g} mm is taken as the path of the belt's middle. A thin thread on the floors of "
            f"the grooves runs about {math.pi * _height(section_sizes(given.wanted)):.1f} mm shorter for a belt that "
            "goes round once; give `thread_diameter` and that is added.",
            "measured.path_length",
        )


def section_sizes(wanted: Wanted) -> dict[str, float]:
    """The fitted section's sizes by name; a square's width is its height."""
    if wanted.section == "round":
        assert wanted.diameter_mm is not None
        return {"diameter_mm": wanted.diameter_mm}
    assert wanted.height_mm is not None
    width = wanted.height_mm if wanted.section == "square" else wanted.width_mm
    assert width is not None
    return {"height_mm": wanted.height_mm, "width_mm": width}


def _as_section(sizes: Mapping[str, float]) -> BeltSection:
    if "diameter_mm" in sizes:
        return RoundSection(sizes["diameter_mm"])
    return RectangularSection(sizes["height_mm"], sizes["width_mm"])


def fitted_section(wanted: Wanted) -> BeltSection:
    return _as_section(section_sizes(wanted))


def _height(sizes: Mapping[str, float]) -> float:
    """Along the pulleys' radius."""
    return sizes["diameter_mm"] if "diameter_mm" in sizes else sizes["height_mm"]


def _stretch_ratio(given: BeltGiven) -> float:
    stretch = given.wanted.stretch
    return 1.0 + (given.elastomer.stretch_usual if stretch is None else stretch)


def _path_mm(given: BeltGiven) -> float:
    """Once round along the neutral line. A belt that goes round once runs 2 π (h/2 − t/2) farther than its thread."""
    measured, fitted = given.measured, fitted_section(given.wanted)
    if measured.path_length_mm is None:
        return routed_path(measured.pulleys, fitted).length_mm
    if measured.thread_diameter_mm is None:
        return measured.path_length_mm
    return measured.path_length_mm + math.pi * (fitted.height_mm - measured.thread_diameter_mm)


def size(given: BeltGiven) -> Sizes:
    """The free ring that, stretched over its path, has the wanted section, and the mold for it.

    Volume kept: sides fitted = free / sqrt(L), L = 1 + stretch. The ring's neutral line runs through its centroid,
    so its inside diameter is length/π less the height; a mold that is no ring has no such diameter.
    """
    ratio, path_mm = _stretch_ratio(given), _path_mm(given)
    fitted = section_sizes(given.wanted)
    section = {name: value * math.sqrt(ratio) for name, value in fitted.items()}
    length_mm = path_mm / ratio
    middle_mm, height_mm = length_mm / math.pi, _height(section)
    free = {
        "length_mm": length_mm,
        **section,
        "inner_diameter_mm": middle_mm - height_mm,
        "outer_diameter_mm": middle_mm + height_mm,
    }
    shrinkage = given.elastomer.linear_shrinkage
    in_mold = free if given.wanted.make == "ring" else {"length_mm": length_mm, **section}
    mold = {name: mold_length_mm(part_length_mm=value, linear_shrinkage=shrinkage) for name, value in in_mold.items()}
    return Sizes({"length_mm": path_mm, **fitted}, free, mold)


def predict(given: BeltGiven, sizes: Sizes) -> tuple[Prediction, ...]:
    """Tension, and where the pulleys are known what happens at each of them."""
    rubber = given.elastomer
    tension = strand_tension_n(
        shear_modulus_mpa=rubber.shear_modulus_mpa,
        free_area_mm2=_as_section(sizes.free).area_mm2,
        stretch_ratio=_stretch_ratio(given),
        relaxation=1.0,
    )
    strand = (
        Prediction("tension_n", tension, "neo-Hookean strand at this stretch, just strung"),
        Prediction(
            "tension_after_relaxation_n",
            tension * (1.0 - rubber.relaxation),
            "what relaxation leaves of it after the first weeks",
        ),
    )
    if not given.measured.pulleys:
        return strand
    return (*strand, *pulley_predictions(_running(given, sizes)))


def _running(given: BeltGiven, sizes: Sizes) -> Running:
    drive = given.drive
    friction = drive.friction if drive is not None and drive.friction is not None else given.elastomer.friction
    load = drive.load_torque_nmm if drive is not None and drive.load_torque_nmm is not None else 0.0
    return running(
        given.measured.pulleys,
        fitted_section=fitted_section(given.wanted),
        free_section=_as_section(sizes.free),
        stretch_ratio=_stretch_ratio(given),
        rubber=given.elastomer,
        friction=friction,
        load_torque_nmm=load,
    )


def judge(given: BeltGiven, sizes: Sizes, predictions: Mapping[str, Prediction]) -> Iterator[Refusal | Remark]:
    if given.measured.pulleys:
        size_key = "diameter" if given.wanted.section == "round" else "height"
        yield from running_remarks(_running(given, sizes), size_key=size_key)


def shape(given: BeltGiven, dimensions: Mapping[str, float]) -> Shape:
    """The ring that a set of dimensions stands for; its inside runs, and its back where a pulley turns against it.

    Anticlockwise from the inner lower corner. A belt that is cast otherwise is the same ring laid out.
    """
    middle, half = dimensions["length_mm"] / math.tau, 0.5 * _height(dimensions)
    inner, outer = middle - half, middle + half
    both_ways = len({pulley.turns for pulley in given.measured.pulleys}) > 1
    back: Surface = "running" if both_ways else "side"
    if "diameter_mm" in dimensions:
        contacts = _contact_angles_deg(given.measured.pulleys)
        contacts |= {180.0 - contact for contact in contacts} if both_ways else set()
        return Revolved(_round_profile(middle, half, contacts))
    width = dimensions["width_mm"]
    return Revolved(
        Path(
            (
                Vertex(inner, 0.0, surface="face"),
                Vertex(outer, 0.0, surface=back),
                Vertex(outer, width, surface="face"),
                Vertex(inner, width, surface="running"),
            )
        )
    )


def _contact_angles_deg(pulleys: Sequence[PulleyReadings]) -> set[float]:
    """Where grooves touch a round belt, as angles about its centre line from its innermost line.

    A vee's flanks touch it at 90° less half the vee's angle, to both sides; every other groove at the innermost line.
    """
    angles = {
        90.0 - 0.5 * p.groove_angle_deg if p.groove == "vee" and p.groove_angle_deg is not None else 0.0
        for p in pulleys
    }
    return angles or {0.0}


def _round_profile(middle: float, radius: float, contacts_deg: set[float]) -> Path:
    """A circle whose stretches within CONTACT_DEG of a contact run, and the others do not: there the mold may part."""
    bounds = sorted(
        {min(max(c + d, 0.0), 180.0) for c in contacts_deg for d in (-CONTACT_DEG, CONTACT_DEG)} | {0.0, 180.0}
    )
    upper = [(a, b) for a, b in pairwise(bounds) if b - a > 1e-6]
    # From the innermost line over the top to the outermost is clockwise; the path wants it the other way about.
    stretches = [(180.0 - b, 180.0 - a, _runs(a, b, contacts_deg)) for a, b in reversed(upper)]
    stretches += [(180.0 + a, 180.0 + b, _runs(a, b, contacts_deg)) for a, b in upper]
    return Path(
        tuple(
            Vertex(
                middle + radius * math.cos(math.radians(start)),
                radius + radius * math.sin(math.radians(start)),
                math.tan(math.radians(end - start) / 4.0),
                "running" if runs else "side",
            )
            for start, end, runs in stretches
        )
    )


def _runs(start_deg: float, end_deg: float, contacts_deg: set[float]) -> bool:
    middle = 0.5 * (start_deg + end_deg)
    return any(abs(middle - contact) < CONTACT_DEG for contact in contacts_deg)


def lay(given: BeltGiven) -> Lay:
    """How it lies to be cast."""
    return given.wanted.make


def standard_rings(given: BeltGiven, sizes: Sizes) -> tuple[RingInPlace, ...]:
    """Round rings that could be bought instead; where the pulleys are known, each is strung over them."""
    fitted, free = sizes.fitted, sizes.free
    if given.wanted.section == "flat" and fitted["width_mm"] > ABOUT_SQUARE * fitted["height_mm"]:
        return ()
    wanted: dict[str, Any] = {
        "free_inner_diameter_mm": free["inner_diameter_mm"],
        "section_mm": _height(free),
        "stretch_ratio": _stretch_ratio(given),
        "along": "centre_line",
    }
    if not given.measured.pulleys:
        return that_would_do(**wanted)
    # Flanks of a vee and turns both ways change what a thicker section adds to the path: look wider, then string each.
    near = that_would_do(**wanted, stretch_ratio_least=1.0, stretch_ratio_most=1.25, count=100)
    strung = [ring for found in near if (ring := _strung(given, found)) is not None]
    strung.sort(key=lambda ring: _off(ring, _stretch_ratio(given), _height(free)))
    return tuple(strung[:MOST_RINGS])


def _off(ring: RingInPlace, stretch_ratio: float, section_mm: float) -> float:
    """How far stretch and section are from the wanted, as ratios."""
    return abs(math.log(ring.stretch_ratio / stretch_ratio)) + abs(math.log(ring.ring.section_mm / section_mm))


def _strung(given: BeltGiven, found: RingInPlace) -> RingInPlace | None:
    """The ring on the pulleys; None where it cannot be strung or is too slack or too tight."""
    ring = found.ring
    try:
        belt = strung_belt(
            pulleys=in_place(given.measured.pulleys),
            free_section=RoundSection(ring.section_mm),
            free_length_mm=ring.centre_line_mm,
        )
    except (BeltError, RangeError):  # does not sit in some groove, or hangs slack
        return None
    if not RING_STRETCH_RATIO_LEAST <= belt.stretch_ratio <= RING_STRETCH_RATIO_MOST:
        return None
    return RingInPlace(ring, found.along, belt.stretch_ratio, belt.fitted_section.height_mm)


FAMILY = Family(
    title="Belt",
    measured=Measured,
    wanted=Wanted,
    drive=Drive,
    check=check,
    size=size,
    predict=predict,
    judge=judge,
    shape=shape,
    lay=lay,
    standard_rings=standard_rings,
    groups=("pulleys",),
)
