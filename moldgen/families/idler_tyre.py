"""Idler tyre: a rubber ring stretched, bonded or cast onto a plain hub, carrying the drive from one wheel to another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, TypeAlias

from pydantic import AfterValidator, Field

from moldgen.families.base import Family, Given, Prediction, Sizes
from moldgen.families.rings_on_metal import (
    Mount,
    check_edge,
    check_ring,
    edge_form,
    fitted_stretch,
    hold_predictions,
    ring_shape,
    ring_sizes,
)
from moldgen.quantities import Estimate
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Insert, Shape
from moldgen.spec.sections import Flag, Force, Friction, Length, Line, Rotation, Section, SmallLength, Stretch

NONE = Estimate(0.0, text="0 mm")


class Measured(Section):
    hub_diameter_mm: Length = Field(
        description="Metal hub, across the seat that the tyre sits on. Three readings round it: [30.00, 30.02, 29.99 ± 0.03 mm].",
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
        yield from check_edge(edge_form(wanted.edge), wall_mm=wall, width_mm=wanted.fitted_width_mm)
        most = min(0.25 * wanted.fitted_width_mm, 0.3 * wall)
        if wanted.crown_mm > most:
            yield Refusal(
                ("wanted", "crown"),
                f"for this width and wall a crown of {most:.2f} mm is the most",
                f"Take {most:.2f} mm or less.",
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
    """How it sits on its hub."""
    friction = given.elastomer.friction
    return hold_predictions(
        sizes=sizes, mount=given.wanted.mount, flanged=given.measured.flanged, friction=friction, rubber=given.elastomer
    )


def judge(given: TyreGiven, sizes: Sizes, predictions: Mapping[str, Prediction]) -> Iterator[Refusal | Remark]:
    if given.wanted.grind_allowance_mm > 0.0:
        yield Remark(
            "to_be_ground",
            f"The tyre comes out {given.wanted.grind_allowance_mm:g} mm too large on purpose; once it is on its hub, "
            f"grind it down to {given.wanted.fitted_diameter_mm:.2f} mm.",
            "wanted.grind_allowance",
        )
    if given.wanted.mount == "cast_on":
        yield Remark(
            "waisted",
            "A tyre cast on its hub shrinks more in the middle than at its ends and comes out slightly waisted; "
            "a grinding allowance takes that off.",
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
)
