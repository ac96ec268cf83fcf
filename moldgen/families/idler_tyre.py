"""Idler tyre: a rubber ring stretched, bonded or cast onto a hub, carrying the drive from one wheel to another."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, TypeAlias

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
from moldgen.rings import RingInPlace, that_would_do
from moldgen.shapes import Insert, Shape
from moldgen.spec.sections import Flag, Force, Friction, Length, Line, Rotation, Section, SmallLength, Stretch

NONE = Estimate(0.0, text="0 mm")
SNUG_STRETCH_RATIO = 1.02
"""Least stretch of a bought ring on its hub: the 2 % that seal-design guides call ideal for a seated ring."""
WIDEST_FOR_A_RING = 2.0
"""Width over wall up to which a round ring, which runs on a line, stands in for a tyre: judgement."""
THICKEST_RING_MM = 20.0
"""Wall beyond which no ring is looked for; the table ends at 7 mm."""


class Measured(Section):
    hub_diameter_mm: Length = Field(
        description="Metal hub, across the seat that the tyre sits on; take three readings round it.",
        examples=["[30.01, 29.99, 30.00 ± 0.03 mm]"],
    )
    hub_width_mm: Length = Field(description="The seat, along the axle.", examples=["6.0 ± 0.05 mm"])
    flanged: Flag = Field(
        default=False, description="yes if cheeks on both sides keep the tyre from getting wider.", examples=["no"]
    )
    hub_bore_mm: Length | None = Field(
        default=None,
        description="Bore of the hub; only for `mount: cast_on`, where a pin in the mold centres the hub by it.",
        examples=["6.00 ± 0.02 mm"],
    )


class Wanted(Section):
    fitted_diameter_mm: Length = Field(
        description="Outside diameter once the tyre is on its hub and ground.", examples=["38.0 ± 0.1 mm"]
    )
    fitted_width_mm: Length = Field(description="Width of the tyre on its hub.", examples=["5.0 mm"])
    stretch: Stretch | None = Field(
        default=None,
        description="Hub over free bore, less one; left out, the elastomer's usual value is taken.",
        examples=["5 %"],
    )
    crown_mm: SmallLength = Field(
        default=NONE,
        description="How far the middle stands above the ends, on the radius; 0 for a straight tyre.",
        examples=["0.2 mm"],
    )
    edge: Annotated[Line, AfterValidator(lambda text: (edge_form(text), text)[1])] = Field(
        default="square",
        description="Form of the two outer edges: square, `round 0.5 mm` or `bevel 0.5 mm`.",
        examples=["round 0.4 mm"],
    )
    mount: Mount = Field(
        default="stretched",
        description="How it is held: stretched, bonded, or cast_on (cast straight onto the hub).",
        examples=["stretched"],
    )
    grind_allowance_mm: SmallLength = Field(
        default=NONE,
        description="Left on the diameter to be ground off once it is in place; 0 to run it as cast.",
        examples=["0.3 mm"],
    )


class Drive(Section):
    against_diameter_mm: Length = Field(
        description="The wheel that the tyre runs against.", examples=["8.00 ± 0.02 mm"]
    )
    against_speed_rpm: Rotation | None = Field(default=None, description="Speed of that wheel.", examples=["1500 rpm"])
    press_force_n: Force = Field(
        description="Force that presses the two together (spring balance).", examples=["1.5 ± 0.3 N"]
    )
    friction: Friction | None = Field(
        default=None,
        description="Lowest friction expected; left out, the elastomer's figure on clean dry metal is taken.",
        examples=["0.6"],
    )


TyreGiven: TypeAlias = Given[Measured, Wanted, Drive]


def check(given: TyreGiven) -> Iterator[Refusal | Remark]:
    measured, wanted = given.measured, given.wanted
    yield from check_ring(
        given,
        metal="hub_diameter",
        metal_mm=measured.hub_diameter_mm,
        outer="fitted_diameter",
        outer_mm=wanted.fitted_diameter_mm,
    )
    wall = 0.5 * (wanted.fitted_diameter_mm - measured.hub_diameter_mm)
    if wall > 0.0:
        yield from check_form(
            edge=edge_form(wanted.edge), crown_mm=wanted.crown_mm, wall_mm=wall, width_mm=wanted.fitted_width_mm
        )
    if wanted.mount != "cast_on":
        if wanted.fitted_width_mm > measured.hub_width_mm + 1e-9:
            yield Remark(
                "wider_than_hub",
                f"The tyre ({wanted.fitted_width_mm:g} mm) is wider than its seat ({measured.hub_width_mm:g} mm); "
                "its edges are not carried.",
                "wanted.fitted_width",
            )
        return
    if measured.flanged:
        yield Refusal(
            ("measured", "flanged"),
            "a hub with two cheeks cannot be laid into a mold that opens along the axle",
            "Choose `mount: stretched` or `mount: bonded`.",
        )
    if wanted.fitted_width_mm > measured.hub_width_mm + 1e-9:
        yield Refusal(
            ("wanted", "fitted_width"),
            f"the hub it is cast on is only {measured.hub_width_mm:g} mm wide",
            f"Take {measured.hub_width_mm:g} mm or less.",
        )
    if measured.hub_bore_mm is None and measured.hub_width_mm - wanted.fitted_width_mm < 1.0:
        yield Refusal(
            ("measured", "hub_bore"),
            "a hub as wide as its tyre can only be centred in the mold by its bore",
            "Measure the bore and add `hub_bore`.",
        )
    if measured.hub_bore_mm is not None and measured.hub_bore_mm > 0.9 * measured.hub_diameter_mm:
        yield Refusal(("measured", "hub_bore"), "it leaves no metal under the tyre", "Check both readings of the hub.")


def size(given: TyreGiven) -> Sizes:
    """The free ring that, on its hub, comes out at the wanted diameter and width, and the mold for it."""
    measured, wanted = given.measured, given.wanted
    return ring_sizes(
        metal_mm=measured.hub_diameter_mm,
        outer_mm=wanted.fitted_diameter_mm,
        grind_mm=wanted.grind_allowance_mm,
        width_mm=wanted.fitted_width_mm,
        crown_mm=wanted.crown_mm,
        edge_mm=edge_form(wanted.edge)[1],
        stretch=fitted_stretch(wanted.mount, wanted.stretch, given.elastomer),
        mount=wanted.mount,
        flanged=measured.flanged,
        rubber=given.elastomer,
    )


def predict(given: TyreGiven, sizes: Sizes) -> tuple[Prediction, ...]:
    """How it sits on its hub, and what it does in its drive."""
    held = hold_predictions(
        sizes=sizes,
        mount=given.wanted.mount,
        flanged=given.measured.flanged,
        friction=given.elastomer.friction,
        rubber=given.elastomer,
    )
    return held if given.drive is None else (*held, *_drive_predictions(given, given.drive))


def _mark(given: TyreGiven, drive: Drive) -> Footprint:
    """The nip of the finished tyre, ground and on its hub, with the wheel it runs against."""
    measured, wanted = given.measured, given.wanted
    running = wanted.fitted_width_mm - 2.0 * edge_form(wanted.edge)[1]
    pair = RollingPair(
        wheel_radius_mm=0.5 * drive.against_diameter_mm,
        outer_radius_mm=0.5 * wanted.fitted_diameter_mm,
        metal_radius_mm=0.5 * measured.hub_diameter_mm,
        running_mm=running,
        drop_mm=crown_drop_mm(width_mm=wanted.fitted_width_mm, crown_mm=wanted.crown_mm, from_middle_mm=0.5 * running),
        modulus_mpa=given.elastomer.modulus_mpa,
    )
    return footprint(pair, drive.press_force_n)


def _drive_predictions(given: TyreGiven, drive: Drive) -> Iterator[Prediction]:
    yield from nip_predictions(_mark(given, drive))
    friction, whose = (
        (drive.friction, "the friction given")
        if drive.friction is not None
        else (given.elastomer.friction, "the elastomer's friction on clean dry metal")
    )
    yield Prediction(
        "drive_force_n", friction * drive.press_force_n, f"{whose} times the press force: at more the tyre slips"
    )
    if drive.against_speed_rpm is not None:
        speed = drive.against_speed_rpm
        yield Prediction(
            "surface_speed_mm_s",
            math.pi * drive.against_diameter_mm * speed / 60.0,
            "of the wheel it runs against; the tyre's own is 1 or 2 % less, because a nip stretches its rubber",
        )
        yield Prediction(
            "tyre_speed_rpm",
            speed * drive.against_diameter_mm / given.wanted.fitted_diameter_mm,
            "ratio of the diameters; not in the range: a nip stretches the rubber, and the tyre turns 1 or 2 % slower",
        )


def judge(given: TyreGiven, sizes: Sizes, predictions: Mapping[str, Prediction]) -> Iterator[Refusal | Remark]:
    yield from judge_ring(given, part="tyre", metal="hub", finished_mm=given.wanted.fitted_diameter_mm)
    if given.drive is None:
        return
    yield from nip_remarks(_mark(given, given.drive), part="tyre")
    yield Remark(
        "idler_sets_no_speed",
        "Between two wheels the tyre's own diameter drops out of the speed ratio: it sets reach and press force. A "
        "train that runs fast or slow is corrected at the driving wheel, not here.",
        "wanted.fitted_diameter",
    )
    hub_n = predictions["hub_slip_torque_nmm"].value / (0.5 * given.wanted.fitted_diameter_mm)
    drive_n = predictions["drive_force_n"].value
    if hub_n < drive_n:
        yield Remark(
            "hub_slips_first",
            f"If the hub itself takes or gives the drive, the tyre turns on it at {hub_n:.2g} N at its surface, before "
            f"the nip slips at {drive_n:.2g} N. An idler that only hands the drive on, wheel to wheel, does not mind.",
            "wanted.mount",
        )


def shape(given: TyreGiven, dimensions: Mapping[str, float]) -> Shape:
    """The ring that a set of dimensions stands for."""
    return ring_shape(dimensions, edge=given.wanted.edge)


def insert(given: TyreGiven) -> Insert | None:
    measured = given.measured
    if given.wanted.mount != "cast_on":
        return None
    return Insert(measured.hub_diameter_mm, measured.hub_width_mm, measured.hub_bore_mm)


def standard_rings(given: TyreGiven, sizes: Sizes) -> tuple[RingInPlace, ...]:
    """Round rings that could be stretched onto the hub instead; their fitted section says how far out they run."""
    hub, free = given.measured.hub_diameter_mm, sizes.free
    wall = 0.5 * (free["outer_diameter_mm"] - free["inner_diameter_mm"])
    if given.wanted.mount != "stretched" or free["width_mm"] > WIDEST_FOR_A_RING * wall or wall > THICKEST_RING_MM:
        return ()
    found = that_would_do(
        free_inner_diameter_mm=free["inner_diameter_mm"],
        section_mm=wall,
        stretch_ratio=hub / free["inner_diameter_mm"],
        along="bore",
        stretch_ratio_least=SNUG_STRETCH_RATIO,
    )
    return tuple(ring for ring in found if ring.fitted_section_mm <= given.measured.hub_width_mm)


FAMILY = Family(
    title="Idler tyre",
    measured=Measured,
    wanted=Wanted,
    drive=Drive,
    check=check,
    size=size,
    predict=predict,
    judge=judge,
    shape=shape,
    insert=insert,
    standard_rings=standard_rings,
)
