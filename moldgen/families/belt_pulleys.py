"""Pulleys as they are measured for a belt: readings, grooves, and why a belt cannot be strung over them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final, Literal

from pydantic import Field

from moldgen.mechanics.belt_path import (
    BeltError,
    BottomsError,
    FlatFloor,
    Groove,
    ImpossibleSenseError,
    NoTangentError,
    Pulley,
    PulleysOverlapError,
    RectangularSection,
    RidesOutError,
    RoundGroove,
    RoundSection,
    Sense,
    SpanBlockedError,
    SquareGroove,
    VeeGroove,
    WrongOrderError,
    belt_path,
    pitch_circles,
    require_fit,
    sharp_vee,
)
from moldgen.mechanics.belt_path import Section as BeltSection
from moldgen.remarks import Refusal, Remark
from moldgen.spec.document import Place
from moldgen.spec.sections import Angle, Coordinate, Flag, Length, Line, Rotation, Section

MOST_PULLEYS: Final = 20
FLANKS_AGREE_MM: Final = 0.5
"""How far above the measured floor the flanks of a vee may meet (on the radius) before a reading must be wrong.

Our own judgement: a worn or rounded bottom is read low, and an angle to a degree."""
ABOUT_AS_LARGE: Final = 0.95
WIDEST_IN_ROUND: Final = 0.95
"""Width of a rectangular belt over a round groove's, up to which its depth follows its width: judgement."""


class PulleyReadings(Section):
    name: Line = Field(description="What you call it.")
    center_mm: tuple[Coordinate, Coordinate] = Field(
        description="[x, y] of its axle, x to the right and y up, looking at the side that the senses are told from."
    )
    groove_diameter_mm: Length = Field(description="Across the floor of the groove, where it is deepest.")
    groove: Literal["flat", "square", "vee", "round"] = Field(
        default="flat",
        description="flat (plain, crowned, or flanges well clear of the belt), square, vee or round.",
    )
    groove_width_mm: Length | None = Field(
        default=None, description="From wall to wall; of a vee and of a round groove at the rim. Not for flat."
    )
    groove_angle_deg: Angle | None = Field(default=None, description="Of a vee, from flank to flank.")
    rim_diameter_mm: Length | None = Field(
        default=None,
        description="Of a vee with a flat or rounded bottom: over the rims. Left out, its flanks meet at the floor.",
    )
    turns: Literal["cw", "ccw"] = Field(description="The way it turns: cw or ccw.")
    driver: Flag = Field(default=False, description="yes for the one that drives the belt.")
    driven: Flag = Field(
        default=False, description="yes for the one that takes the load; left out, the largest of the others."
    )
    speed_rpm: Rotation | None = Field(
        default=None,
        description="Speed by the machine's plate. Of the driver, all others follow; of others, it is compared.",
    )

    @property
    def floor_radius_mm(self) -> float:
        return 0.5 * self.groove_diameter_mm


Pulleys = Sequence[PulleyReadings]


def driver_of(pulleys: Pulleys) -> int:
    """The pulley marked as driver, else the first."""
    return next((i for i, pulley in enumerate(pulleys) if pulley.driver), 0)


def driven_of(pulleys: Pulleys) -> int:
    """The pulley marked as driven, else the largest but the driver; the first of those about as large."""
    driver = driver_of(pulleys)
    others = [i for i in range(len(pulleys)) if i != driver]
    largest_mm = max(pulleys[i].groove_diameter_mm for i in others)
    # Two equal ones must not change places when a reading is moved by its uncertainty, be it below zero.
    least_mm = largest_mm - (1.0 - ABOUT_AS_LARGE) * abs(largest_mm)
    large = [i for i in others if pulleys[i].groove_diameter_mm >= least_mm]
    return next((i for i in others if pulleys[i].driven), large[0])


def in_place(pulleys: Pulleys) -> tuple[Pulley, ...]:
    """The pulleys as the belt meets them; their readings have passed `check_pulleys`."""
    return tuple(
        Pulley(*pulley.center_mm, Sense.CCW if pulley.turns == "ccw" else Sense.CW, _groove(pulley))
        for pulley in pulleys
    )


def _groove(pulley: PulleyReadings) -> Groove:
    width, angle = pulley.groove_width_mm, pulley.groove_angle_deg
    if pulley.groove == "flat":
        return FlatFloor(pulley.floor_radius_mm)
    assert width is not None
    if pulley.groove == "square":
        return SquareGroove(pulley.floor_radius_mm, width)
    if pulley.groove == "round":
        return RoundGroove(pulley.floor_radius_mm, width)
    assert angle is not None
    if pulley.rim_diameter_mm is None:
        return sharp_vee(root_radius_mm=pulley.floor_radius_mm, width_mm=width, angle_deg=angle)
    rim_mm = 0.5 * pulley.rim_diameter_mm
    root_mm = max(pulley.floor_radius_mm, _apex_radius_mm(rim_mm, width, angle))
    return VeeGroove(rim_mm, width, angle, root_mm)


def _apex_radius_mm(rim_radius_mm: float, width_mm: float, angle_deg: float) -> float:
    """Where flanks through the rims meet."""
    return rim_radius_mm - 0.5 * width_mm / math.tan(math.radians(0.5 * angle_deg))


def place_of(pulley: int, key: str = "") -> Place:
    """A pulley, or one of its readings, in the spec."""
    return ("measured", "pulleys", pulley, key) if key else ("measured", "pulleys", pulley)


def check_pulleys(pulleys: Pulleys) -> Iterator[Refusal]:
    """Readings that are missing, too many, or contradict each other."""
    if not 2 <= len(pulleys) <= MOST_PULLEYS:
        yield Refusal(
            ("measured", "pulleys"), f"a belt runs over 2 to {MOST_PULLEYS} pulleys", "List those it runs over."
        )
        return
    for i, pulley in enumerate(pulleys):
        yield from _check_groove(i, pulley)
        if pulley.name in (other.name for other in pulleys[:i]):
            yield Refusal(place_of(i, "name"), "another pulley has this name", "Name each differently.")
    for key, what in (("driver", "drives the belt"), ("driven", "is taken to carry the load")):
        marked = [i for i, pulley in enumerate(pulleys) if getattr(pulley, key)]
        for i in marked[1:]:
            yield Refusal(
                place_of(i, key),
                f"`{pulleys[marked[0]].name}` is marked already, and one pulley {what}",
                f"Keep `{key}: yes` at one of them.",
            )
    if pulleys[driver_of(pulleys)].driven:
        yield Refusal(
            place_of(driver_of(pulleys), "driven"), "the driver cannot be driven as well", "Mark another pulley."
        )


def _check_groove(i: int, pulley: PulleyReadings) -> Iterator[Refusal]:
    width, angle, rim = pulley.groove_width_mm, pulley.groove_angle_deg, pulley.rim_diameter_mm
    if pulley.groove != "flat" and width is None:
        yield Refusal(
            place_of(i, "groove_width"),
            f"a {pulley.groove} groove has to be wide enough for the belt",
            "Measure it across the rims, or write `groove: flat` where nothing holds the belt sideways.",
        )
    if pulley.groove != "vee":
        for key, reading in (("groove_angle", angle), ("rim_diameter", rim)):
            if reading is not None:
                yield Refusal(
                    place_of(i, key),
                    f"it belongs to a vee, and this groove is {pulley.groove}",
                    "Leave it out, or write `groove: vee`.",
                )
        return
    if angle is None:
        yield Refusal(
            place_of(i, "groove_angle"),
            "how deep the belt lies in a vee depends on it",
            "Measure it from flank to flank.",
        )
    elif not 10.0 <= angle <= 170.0:
        yield Refusal(place_of(i, "groove_angle"), "from flank to flank, a vee has 10° to 170°", "Check the reading.")
    elif rim is not None and width is not None:
        yield from _check_rim(i, pulley, rim, width, angle)


def _check_rim(i: int, pulley: PulleyReadings, rim: float, width: float, angle: float) -> Iterator[Refusal]:
    apex_mm = _apex_radius_mm(0.5 * rim, width, angle)
    if rim <= pulley.groove_diameter_mm:
        yield Refusal(
            place_of(i, "rim_diameter"),
            f"the groove's floor is {pulley.groove_diameter_mm:.2f} mm across, so the rims are more",
            "Check both readings.",
        )
    elif apex_mm > pulley.floor_radius_mm + FLANKS_AGREE_MM:
        yield Refusal(
            place_of(i, "rim_diameter"),
            f"flanks of {angle:g}°, {width:g} mm apart there, meet at a diameter of {2.0 * apex_mm:.2f} mm already, "
            f"above the floor ({pulley.groove_diameter_mm:.2f} mm)",
            "Check both diameters, the width and the angle.",
        )


def stringing_refusals(pulleys: Pulleys, section: BeltSection) -> tuple[Refusal, ...]:
    """Why a belt of this fitted section cannot be strung: every groove it does not sit in, else the first obstacle."""
    metal = in_place(pulleys)
    unfit = []
    for i, pulley in enumerate(metal):
        groove = pulley.groove
        if (
            isinstance(groove, RoundGroove)
            and isinstance(section, RectangularSection)
            and WIDEST_IN_ROUND < section.width_mm / groove.width_mm <= 1.0
        ):
            unfit.append(
                Refusal(
                    place_of(i, "groove_width"),
                    f"a belt with corners, all but as wide as the round groove of `{pulleys[i].name}`, lies on its "
                    "steepest part, where nobody can say how deep",
                    f"Take a belt at most {WIDEST_IN_ROUND * groove.width_mm:.2f} mm wide, or `section: round`.",
                )
            )
        try:
            require_fit(groove=pulley.groove, section=section, pulley=i)
        except BeltError as error:
            unfit.append(_refusal(error, pulleys, section))
    if unfit:
        return tuple(unfit)
    try:
        belt_path(circles=pitch_circles(pulleys=metal, section=section))
    except BeltError as error:
        return (_refusal(error, pulleys, section),)
    return ()


def _refusal(error: BeltError, pulleys: Pulleys, section: BeltSection) -> Refusal:
    """The obstacle with the names of the pulleys and the reading to look at."""
    name = [f"`{pulley.name}`" for pulley in pulleys]
    size = "diameter" if isinstance(section, RoundSection) else "width"
    match error:
        case BottomsError():
            i = error.pulley
            return Refusal(
                place_of(i, "groove_width"),
                f"the belt bottoms in the vee of {name[i]}: held by the flanks it would lie {error.excess_mm:.2f} mm "
                "deeper than the metal goes, and a belt on the floor of a vee does not grip",
                f"Take a larger `{size}` under `wanted`, or check this groove's width, angle and diameters.",
            )
        case RidesOutError():
            i = error.pulley
            return Refusal(
                place_of(i, "groove_width"),
                f"the belt rides out of the groove of {name[i]}, being {error.excess_mm:.2f} mm too wide for it",
                f"Take a smaller `{size}` under `wanted`, or check this groove's width.",
            )
        case PulleysOverlapError():
            i, j = error.pulleys
            return Refusal(
                place_of(j, "center"),
                f"{name[i]} and {name[j]} would overlap: {error.distance_mm:.2f} mm from axle to axle, and their radii "
                f"add up to {error.needed_mm:.2f} mm",
                "Check both centers and both diameters.",
            )
        case NoTangentError():
            i, j = error.pulleys
            return Refusal(
                place_of(j, "turns"),
                f"no straight strand leads from {name[i]} to {name[j]} with these senses: {error.distance_mm:.2f} mm "
                f"from axle to axle, and more than {error.needed_mm:.2f} mm is needed",
                "Check the way each turns, both centers and both diameters.",
            )
        case ImpossibleSenseError():
            i = error.pulley
            return Refusal(
                place_of(i, "turns"),
                f"turning this way, {name[i]} would be wrapped by {error.wrap_deg:.0f}° at its place in the order: in "
                "truth the belt runs past it",
                "Check the way it turns and the order of the pulleys.",
            )
        case SpanBlockedError():
            i = error.pulley
            return Refusal(
                place_of(i, "center"),
                f"the strand that leaves {name[error.span]} would run {error.overlap_mm:.2f} mm deep through {name[i]}",
                f"List {name[i]} where the belt comes to it, or check its center.",
            )
        case WrongOrderError():
            return Refusal(
                ("measured", "pulleys"),
                "the pulleys are listed against the way the belt runs",
                "Turn their order about, or the sense of every one.",
            )
        case _:
            raise error


def assumptions(pulleys: Pulleys) -> Iterator[Remark]:
    """What had to be taken for granted about who drives whom."""
    driver, driven = pulleys[driver_of(pulleys)], pulleys[driven_of(pulleys)]
    if not driver.driver:
        yield Remark(
            "driver_assumed",
            f"No pulley is marked as the driver; `{driver.name}` is taken, being the first. Write `driver: yes`.",
            "measured.pulleys",
        )
    if len(pulleys) > 2 and not driven.driven:
        yield Remark(
            "driven_assumed",
            f"No pulley is marked as the driven one; `{driven.name}` is taken, being the largest. Write `driven: yes`.",
            "measured.pulleys",
        )
