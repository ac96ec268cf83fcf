"""Pinch-roller sleeve: rubber on a metal core that presses the medium onto the capstan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Final, TypeAlias

from pydantic import AfterValidator, Field

from moldgen.families.base import Family, Given, Prediction, Sizes
from moldgen.families.ring_nip import Footprint, RollingPair, footprint, nip_predictions, nip_remarks
from moldgen.families.rings_on_metal import (
    Mount,
    check_form,
    check_ring,
    crown_drop_mm,
    edge_form,
    fitted_stretch,
    hold_predictions,
    judge_ring,
    ring_shape,
    ring_sizes,
)
from moldgen.quantities import Estimate
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Insert, Shape
from moldgen.spec.sections import Force, Friction, Length, Line, Section, SmallLength, Stretch

NONE = Estimate(0.0, text="0 mm")

HELD_MM: Final = 1.0
"""Least length of core beyond either end of a sleeve cast on it, for the mold to hold it by. Judgement, no source."""

PRESSES: Final = (("50 %", 0.5), ("100 %", 1.0), ("150 %", 1.5))
"""Press forces of the table, over the one given: springs and arms of old machines are rarely what they were."""


class Measured(Section):
    core_diameter_mm: Length = Field(
        description="Metal core, across the seat that the sleeve sits on; take three readings round it.",
        examples=["[6.01, 5.99, 6.00 ± 0.02 mm]"],
    )
    core_length_mm: Length = Field(
        description="The core, from end to end; a sleeve that is cast on leaves its two ends bare.",
        examples=["12.0 ± 0.05 mm"],
    )


class Wanted(Section):
    roller_diameter_mm: Length = Field(
        description="Outside diameter once the sleeve is on its core and ground; in the middle, if it has a crown.",
        examples=["12.0 ± 0.05 mm"],
    )
    length_mm: Length = Field(description="Length of the sleeve on its core.", examples=["8.0 mm"])
    stretch: Stretch | None = Field(
        default=None,
        description="Core over free bore, less one; left out, the elastomer's usual value is taken.",
        examples=["5 %"],
    )
    mount: Mount = Field(
        default="stretched",
        description="How it is held: stretched, bonded, or cast_on (cast straight onto the core).",
        examples=["stretched"],
    )
    grind_allowance_mm: SmallLength = Field(
        default=NONE,
        description="Left on the diameter to be ground off once it is in place; 0 to run it as cast.",
        examples=["0.4 mm"],
    )
    crown_mm: SmallLength = Field(
        default=NONE,
        description="How far the middle stands above the ends, on the radius; 0 for a straight sleeve.",
        examples=["0.05 mm"],
    )
    edge: Annotated[Line, AfterValidator(lambda text: (edge_form(text), text)[1])] = Field(
        default="square",
        description="Form of the two outer edges: square, `round 0.3 mm` or `bevel 0.3 mm`.",
        examples=["round 0.3 mm"],
    )


class Drive(Section):
    capstan_diameter_mm: Length = Field(description="The shaft that it presses on.", examples=["3.00 ± 0.01 mm"])
    press_force_n: Force = Field(
        description="Force that presses the roller on, with the medium between (spring balance, at the roller's axle).",
        examples=["5.0 ± 0.5 N"],
    )
    media_width_mm: Length | None = Field(
        default=None,
        description="Width of the medium; left out, it is taken to be as wide as the sleeve.",
        examples=["6.3 mm"],
    )
    friction: Friction | None = Field(
        default=None,
        description="Lowest friction expected of the medium on the capstan; left out, the elastomer's figure on clean "
        "dry metal is taken.",
        examples=["0.3"],
    )


SleeveGiven: TypeAlias = Given[Measured, Wanted, Drive]


def check(given: SleeveGiven) -> Iterator[Refusal | Remark]:
    measured, wanted = given.measured, given.wanted
    yield from check_ring(
        given,
        metal="core_diameter",
        metal_mm=measured.core_diameter_mm,
        outer="roller_diameter",
        outer_mm=wanted.roller_diameter_mm,
    )
    wall = 0.5 * (wanted.roller_diameter_mm - measured.core_diameter_mm)
    if wall > 0.0:
        yield from check_form(
            edge=edge_form(wanted.edge), crown_mm=wanted.crown_mm, wall_mm=wall, width_mm=wanted.length_mm
        )
    beyond = measured.core_length_mm - wanted.length_mm
    if wanted.mount == "cast_on" and beyond < 2.0 * HELD_MM - 1e-9:
        most = measured.core_length_mm - 2.0 * HELD_MM
        yield Refusal(
            ("wanted", "length"),
            f"the core it is cast on is {measured.core_length_mm:g} mm long, and the mold holds it by {HELD_MM:g} mm "
            "beyond either end of the sleeve",
            f"Take {most:g} mm or less, or choose `mount: stretched` or `mount: bonded`."
            if most > 0.0
            else "Choose `mount: stretched` or `mount: bonded`.",
        )
    elif beyond < -1e-9:
        yield Remark(
            "longer_than_core",
            f"The sleeve ({wanted.length_mm:g} mm) is longer than its core ({measured.core_length_mm:g} mm); "
            "its ends are not carried.",
            "wanted.length",
        )


def size(given: SleeveGiven) -> Sizes:
    """The free sleeve that, on its core, comes out at the wanted diameter and length, and the mold for it."""
    measured, wanted = given.measured, given.wanted
    return ring_sizes(
        metal_mm=measured.core_diameter_mm,
        outer_mm=wanted.roller_diameter_mm,
        grind_mm=wanted.grind_allowance_mm,
        width_mm=wanted.length_mm,
        crown_mm=wanted.crown_mm,
        edge_mm=edge_form(wanted.edge)[1],
        stretch=fitted_stretch(wanted.mount, wanted.stretch, given.elastomer),
        mount=wanted.mount,
        flanged=False,
        rubber=given.elastomer,
    )


def predict(given: SleeveGiven, sizes: Sizes) -> tuple[Prediction, ...]:
    """How it sits on its core, and what it does at the capstan."""
    held = hold_predictions(
        sizes=sizes,
        mount=given.wanted.mount,
        flanged=False,
        friction=given.elastomer.friction,
        rubber=given.elastomer,
    )
    return held if given.drive is None else (*held, *_drive_predictions(given, given.drive))


def _mark(given: SleeveGiven, drive: Drive, times: float = 1.0) -> Footprint:
    """The nip of the finished sleeve, ground and on its core, under so many times the press force."""
    measured, wanted = given.measured, given.wanted
    running = wanted.length_mm - 2.0 * edge_form(wanted.edge)[1]
    pair = RollingPair(
        wheel_radius_mm=0.5 * drive.capstan_diameter_mm,
        outer_radius_mm=0.5 * wanted.roller_diameter_mm,
        metal_radius_mm=0.5 * measured.core_diameter_mm,
        running_mm=running,
        drop_mm=crown_drop_mm(width_mm=wanted.length_mm, crown_mm=wanted.crown_mm, from_middle_mm=0.5 * running),
        modulus_mpa=given.elastomer.modulus_mpa,
    )
    return footprint(pair, times * drive.press_force_n)


def _drive_predictions(given: SleeveGiven, drive: Drive) -> Iterator[Prediction]:
    mark = _mark(given, drive)
    yield from nip_predictions(mark)
    friction = given.elastomer.friction if drive.friction is None else drive.friction
    media_mm = given.wanted.length_mm if drive.media_width_mm is None else drive.media_width_mm
    yield Prediction(
        "drive_force_n",
        friction * drive.press_force_n * mark.share_within(media_mm),
        "pull of the capstan on the medium: friction times the part of the press force that goes through the medium; "
        "rubber beyond its edges, which the capstan turns directly, can add up to as much again",
    )
    for member, times in PRESSES:
        pressed = _mark(given, drive, times)
        yield Prediction("press_force_n", pressed.press_force_n, f"{member} of the press force given", "press", member)
        yield from nip_predictions(pressed, group="press", member=member)


def judge(given: SleeveGiven, sizes: Sizes, predictions: Mapping[str, Prediction]) -> Iterator[Refusal | Remark]:
    wanted, drive = given.wanted, given.drive
    yield from judge_ring(given, part="sleeve", metal="core", finished_mm=wanted.roller_diameter_mm)
    if drive is None:
        return
    mark = _mark(given, drive)
    yield from nip_remarks(mark, part="sleeve")
    if drive.media_width_mm is not None and drive.media_width_mm > mark.nip_length_mm:
        yield Remark(
            "medium_wider_than_nip",
            f"The medium ({drive.media_width_mm:g} mm) is wider than what is pressed on it "
            f"({mark.nip_length_mm:.1f} mm); its edges are not driven.",
            "drive.media_width",
        )
    if drive.friction is None:
        yield Remark(
            "friction_assumed",
            f"No friction was given; {given.elastomer.friction:g} is taken, the rubber's on clean dry metal. The "
            "medium may slip on the capstan at less: lay it half round the stopped capstan, hang a weight on one end, "
            "pull at the other with a spring balance; friction is ln(pull/weight)/3.14.",
            "drive.friction",
        )


def shape(given: SleeveGiven, dimensions: Mapping[str, float]) -> Shape:
    """The ring that a set of dimensions stands for."""
    return ring_shape(dimensions, edge=given.wanted.edge)


def insert(given: SleeveGiven) -> Insert | None:
    """The core, held by its outside beyond the sleeve's two ends."""
    if given.wanted.mount != "cast_on":
        return None
    return Insert(given.measured.core_diameter_mm, given.measured.core_length_mm, None)


FAMILY = Family(
    title="Pinch-roller sleeve",
    measured=Measured,
    wanted=Wanted,
    drive=Drive,
    check=check,
    size=size,
    predict=predict,
    judge=judge,
    shape=shape,
    insert=insert,
)
