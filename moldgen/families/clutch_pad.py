"""One-way clutch pad: a rubber strut on a pin inside a drum, gripped one way round and trailing the other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Final, Literal, TypeAlias

from pydantic import Field

from moldgen.families.base import Family, Given, Prediction, Sizes
from moldgen.families.clutch_design import Mounting, Seat, layout
from moldgen.families.clutch_in_drum import Pad
from moldgen.families.clutch_outline import pad_shape
from moldgen.families.clutch_remarks import (
    check_choices,
    check_room,
    drag_remarks,
    fitting_refusals,
    grip_remarks,
    neighbour_refusals,
    torque_remarks,
)
from moldgen.families.clutch_winding import wind_up_deg
from moldgen.mechanics.shrinkage import mold_length_mm
from moldgen.mechanics.strut import GRIP_MARGIN, angle_window, best_angle_deg
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Shape
from moldgen.spec.sections import Friction, Length, Section, SmallLength, Torque, counted

USUAL_INTERFERENCE_MM: Final = 0.08
"""Of a bonded pad: more than reading and casting lose, less than drags (judgement)."""
SIDE_CLEARANCE: Final = 0.06
LEAST_SIDE_CLEARANCE_MM: Final = 0.2
"""Of the pad in its pocket, over the depth and at least: squeezed rubber grows sideways (judgement)."""


class Measured(Section):
    drum_diameter_mm: Length = Field(
        description="Inside of the drum, where the pads touch it; take three readings round it.",
        examples=["[28.02, 27.99, 28.00 ± 0.03 mm]"],
    )
    pin_circle_diameter_mm: Length = Field(
        description="Circle through the middles of the pins: over two pins that face each other, less one pin; of "
        "three, from the shaft's middle to a pin's middle, twice.",
        examples=["16.00 ± 0.04 mm"],
    )
    pin_diameter_mm: Length = Field(description="One pin, across the pad's seat.", examples=["2.00 ± 0.02 mm"])
    pin_count: Annotated[int, counted(1, 24)] = Field(
        description="How many pins, and so pads, stand in one drum.", examples=["3"]
    )
    pocket_depth_mm: Length = Field(
        description="Room for the pads along the axle, from floor to lid.", examples=["3.50 ± 0.05 mm"]
    )


class Wanted(Section):
    locks: Literal["cw", "ccw"] = Field(
        description="cw or ccw: which way the drum turns, seen from its open side, when it must be gripped. The mold's "
        "upper face is the pad's face towards the open side; turned over, the pad locks the other way.",
        examples=["cw"],
    )
    mounting: Mounting = Field(
        default="pinned",
        description="pinned: free to turn on its pin; bonded: glued or keyed to it.",
        examples=["pinned"],
    )
    interference_mm: SmallLength | None = Field(
        default=None,
        description="How far the tip of a bonded pad, left free, would stand out beyond the drum's bore, on the "
        "radius; left out, 0.08 mm. A pad free on its pin leans away from it and takes none.",
        examples=["0.08 mm"],
    )
    thickness_mm: Length | None = Field(
        default=None,
        description="Of the pad, along the axle; left out, the pocket less a clearance.",
        examples=["3.2 mm"],
    )
    reach_mm: Length | None = Field(
        default=None,
        description="Pin's centre to the tip's contact with the drum, where an old pad or wear marks still show it; "
        "left out, it is chosen for the grip.",
        examples=["6.4 mm"],
    )
    arm_thickness_mm: Length | None = Field(
        default=None,
        description="Of the arm, where an old pad still shows it; left out, it is chosen.",
        examples=["2 mm"],
    )


class Drive(Section):
    friction: Friction | None = Field(
        default=None,
        description="Of the rubber in the drum, from the lowest to the highest to be expected; left out, the "
        "elastomer's range on clean dry metal is taken.",
        examples=["0.6 ± 0.15"],
    )
    required_torque_nmm: Torque | None = Field(
        default=None, description="That all pads together must carry.", examples=["20 N·mm"]
    )


PadGiven: TypeAlias = Given[Measured, Wanted, Drive]


def seat_of(given: PadGiven) -> Seat:
    measured = given.measured
    return Seat(
        0.5 * measured.drum_diameter_mm,
        0.5 * measured.pin_circle_diameter_mm,
        0.5 * measured.pin_diameter_mm,
        given.elastomer.least_wall_mm,
    )


def friction_range(given: PadGiven) -> tuple[float, float]:
    """Lowest and highest friction to be expected: as said under `drive`, else the elastomer's."""
    stated = given.drive.friction if given.drive is not None else None
    estimate = given.elastomer.friction if stated is None else stated
    return max(0.02, estimate.low), max(0.02, estimate.high)


def thickness_mm(given: PadGiven) -> float:
    wanted, depth = given.wanted.thickness_mm, given.measured.pocket_depth_mm
    return depth - max(LEAST_SIDE_CLEARANCE_MM, SIDE_CLEARANCE * depth) if wanted is None else wanted


def pad_of(given: PadGiven) -> Pad:
    """The pad that the readings and wishes make."""
    wanted, seat = given.wanted, seat_of(given)
    least, most = friction_range(given)
    plan = layout(
        seat,
        mounting=wanted.mounting,
        least_friction=least,
        reach_mm=wanted.reach_mm,
        arm_thickness_mm=wanted.arm_thickness_mm,
    )
    asked = USUAL_INTERFERENCE_MM if wanted.interference_mm is None else wanted.interference_mm
    return Pad(
        seat,
        plan,
        thickness_mm(given),
        asked if wanted.mounting == "bonded" else 0.0,
        least,
        most,
        given.elastomer.modulus_mpa,
    )


def check(given: PadGiven) -> Iterator[Refusal | Remark]:
    measured, wanted, seat = given.measured, given.wanted, seat_of(given)
    refusals = tuple(check_room(seat, given.elastomer.label))
    yield from refusals
    if not refusals:
        yield from check_choices(seat, wanted.reach_mm, wanted.arm_thickness_mm, given.elastomer.label)
    thick = thickness_mm(given)
    if thick > measured.pocket_depth_mm:
        yield Refusal(
            ("wanted", "thickness"),
            f"the pocket is {measured.pocket_depth_mm:.2f} mm deep",
            f"Take {measured.pocket_depth_mm - LEAST_SIDE_CLEARANCE_MM:.2f} mm or less.",
        )
    elif thick < given.elastomer.least_wall_mm:
        yield Refusal(
            ("measured", "pocket_depth") if wanted.thickness_mm is None else ("wanted", "thickness"),
            f"the pad would be {thick:.2f} mm thick, and {given.elastomer.label} is not cast thinner than "
            f"{given.elastomer.least_wall_mm:g} mm",
            "Take a thinner-flowing elastomer.",
        )
    elif measured.pocket_depth_mm - thick < 0.02 * measured.pocket_depth_mm:
        yield Remark(
            "fills_its_pocket",
            "The pad leaves its pocket less than 2 % of clearance; squeezed, it grows sideways and may bind.",
            "wanted.thickness",
        )
    if wanted.mounting == "pinned" and wanted.interference_mm is not None and wanted.interference_mm > 0.0:
        yield Remark(
            "interference_presses_nothing",
            "A pad that is free on its pin leans until it fits: an interference presses it nowhere and is left out. "
            "Choose `mounting: bonded` for a tip that is pressed on.",
            "wanted.interference",
        )
    if wanted.mounting == "bonded" and wanted.interference_mm is None:
        yield Remark(
            "interference_chosen",
            f"No interference was given; {USUAL_INTERFERENCE_MM:g} mm is taken, so that the tip always touches.",
            "wanted.interference",
        )


def size(given: PadGiven) -> Sizes:
    """The pad in its drum, lying free (a bonded one longer by its interference, its bore snug), and its mold."""
    pad = pad_of(given)
    shrinkage = given.elastomer.linear_shrinkage
    mold = {name: mold_length_mm(part_length_mm=value, linear_shrinkage=shrinkage) for name, value in pad.free.items()}
    return Sizes(pad.fitted, pad.free, mold)


def predict(given: PadGiven, sizes: Sizes) -> tuple[Prediction, ...]:
    """How it stands, grips, drags and carries."""
    pad = pad_of(given)
    return (*_grip(pad), *_mounting(pad), *_torques(given, pad))


def _grip(pad: Pad) -> Iterator[Prediction]:
    plan, seat = pad.layout, pad.seat
    friction, ratio = plan.grip_friction, plan.stiffness_ratio
    pinned = plan.heel is not None
    yield Prediction("strut_angle_deg", plan.triangle.strut_angle_deg, "law of cosines: pin, drum's centre, tip")
    allowed = GRIP_MARGIN * pad.least_friction
    window = angle_window(friction=allowed, stiffness_ratio=ratio)
    best = best_angle_deg(stiffness_ratio=ratio)
    upright = seat.triangle(seat.least_reach_mm).strut_angle_deg
    least = max(upright, best if window is None else window.least_deg)
    most = min(seat.largest_angle_deg, best if window is None else window.most_deg)
    basis = (
        f"grips with {GRIP_MARGIN:g} of the lowest friction, {pad.least_friction:.2f}, and does not stand upright"
        if window is not None
        else f"no angle grips with {GRIP_MARGIN:g} of the lowest friction, {pad.least_friction:.2f}; this is the best"
    )
    yield Prediction("least_strut_angle_deg", least, basis)
    yield Prediction("most_strut_angle_deg", most, basis)
    yield Prediction("least_reach_mm", seat.reach_mm(least), "reach at the least angle that works")
    yield Prediction("most_reach_mm", seat.reach_mm(most), "reach at the largest angle that works: its tolerance")
    yield Prediction(
        "grip_friction_needed",
        friction,
        "tangent of the strut angle: a rigid strut on a free pin"
        if pinned
        else "rho of an elastic arm, (tan² a + kappa)/((1 - kappa) tan a), the tip's patch kept from rocking",
    )
    yield Prediction("grip_ratio", pad.least_friction / friction, "lowest friction expected over friction needed")
    proof = friction / GRIP_MARGIN
    yield Prediction("friction_to_prove", proof, f"measured as high as this, it grips with margin ({GRIP_MARGIN:g})")
    yield Prediction(
        "incline_to_prove_deg",
        math.degrees(math.atan(proof)),
        "a block of the cured rubber on a strip as clean, or as oily, as the drum must not slide down so steep a slope",
    )


def _mounting(pad: Pad) -> Iterator[Prediction]:
    """What only a free or only a bonded pad has."""
    plan = pad.layout
    if plan.heel is None:
        yield Prediction("stiffness_ratio", plan.stiffness_ratio, "kappa: arm's stiffness across over along")
        yield Prediction(
            "upright_strain", plan.triangle.upright_strain, "compression at which the tip passes the centre"
        )
        yield Prediction("fitting_strain", pad.fitting_strain, "two springs: squeezed and bent by the interference")
        return
    turned = math.asin(min(1.0, pad.least_friction * pad.seat.pin_shaft_radius_mm / plan.triangle.reach_mm))
    yield Prediction(
        "grip_friction_with_dry_pin",
        math.tan(math.radians(plan.triangle.strut_angle_deg) + turned),
        "friction circle of the eye on its pin, at the lowest friction: what a dry pin asks on top",
    )
    yield Prediction(
        "upright_strain",
        plan.heel.triangle.upright_strain,
        "compression at which the heel, after the tip, passes the centre",
    )
    yield Prediction("stop_wind_up_deg", plan.heel.wind_up_deg, "the heel comes to bear on the drum")


def _torques(given: PadGiven, pad: Pad) -> Iterator[Prediction]:
    count, limit, tip = given.measured.pin_count, pad.limit, pad.tip
    pads = f"all {count} pads" if count > 1 else "one pad"
    pressed = "its own weight at most, and less where it hangs: nothing else presses a pad that is free on its pin"
    yield Prediction(
        "pressing_force_n", pad.pressed_n, pressed if pad.layout.heel is not None else "one pad, when new; two springs"
    )
    yield Prediction(
        "drag_torque_nmm",
        count * tip.drag_torque_nmm,
        f"{pads}, turning free, at the highest friction, {pad.most_friction:.2f}",
    )
    yield Prediction(
        "lock_torque_nmm", count * limit.torque_nmm, f"{pads}, wound up until {limit.cause}, at the lowest friction"
    )
    yield Prediction("lock_wind_up_deg", limit.wind_up_deg, f"turn of the drum until {limit.cause}")
    yield Prediction("lock_strain", limit.strain, "largest strain of the rubber there")
    required = given.drive.required_torque_nmm if given.drive is not None else None
    if required is not None:
        turn = wind_up_deg(pad.winding, limit, torque_nmm=required / count)
        yield Prediction("wind_up_deg", turn, "lost motion until the required torque is carried, or the most that is")


def judge(given: PadGiven, sizes: Sizes, predictions: Mapping[str, Prediction]) -> Iterator[Refusal | Remark]:
    pad, measured = pad_of(given), given.measured
    yield from neighbour_refusals(pad.layout, measured.pin_count)
    if pad.layout.heel is None:
        yield from fitting_refusals(pad.interference_mm, pad.fitting_strain)
    yield from grip_remarks(
        pad.seat,
        pad.layout,
        least_friction=pad.least_friction,
        most_friction=pad.most_friction,
        # The pad is cast; what the metal really measures is not known any better than this.
        room_range_mm=(
            0.5 * (measured.drum_diameter_mm.low - measured.pin_circle_diameter_mm.high),
            0.5 * (measured.drum_diameter_mm.high - measured.pin_circle_diameter_mm.low),
        ),
    )
    stated = given.drive is not None and given.drive.friction is not None
    if not stated:
        slope = predictions["incline_to_prove_deg"].value
        yield Remark(
            "friction_from_table",
            f"No friction was given; {pad.least_friction:.2f} to {pad.most_friction:.2f} is taken, which the table has "
            f"for clean dry metal. A block of the cured rubber that does not slide down a slope of {slope:.0f}° on the "
            "drum's metal settles it.",
            "drive.friction",
        )
    required = given.drive.required_torque_nmm if given.drive is not None else None
    modulus = given.elastomer.modulus_mpa
    yield from torque_remarks(
        pinned=pad.layout.heel is not None,
        limit=pad.limit,
        count=measured.pin_count,
        softest=modulus.low / modulus,
        required_nmm=required,
    )
    yield from drag_remarks(predictions["drag_torque_nmm"].value, required)


def shape(given: PadGiven, dimensions: Mapping[str, float]) -> Shape:
    """The pad that a set of dimensions stands for, its face towards the drum's open side uppermost."""
    return pad_shape(dimensions, locks=given.wanted.locks)


FAMILY: Family = Family(
    title="One-way clutch pad",
    measured=Measured,
    wanted=Wanted,
    drive=Drive,
    check=check,
    size=size,
    predict=predict,
    judge=judge,
    shape=shape,
)
