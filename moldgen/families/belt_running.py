"""A belt at work on its pulleys: loads on shafts, grip, speeds, and what errors of size do to them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from moldgen.families.base import Prediction, Rubber
from moldgen.families.belt_pulleys import Pulleys, driven_of, driver_of, in_place
from moldgen.mechanics.belt_path import BeltPath, belt_path, pitch_circles
from moldgen.mechanics.belt_path import Section as BeltSection
from moldgen.mechanics.belt_tension import (
    BeltDrive,
    Slip,
    SpeedSensitivity,
    StrungBelt,
    first_slip,
    pulley_speeds_rpm,
    shaft_loads_n,
    slip_alone,
    span_tensions_n,
    speed_sensitivity,
    strand_tension_n,
    wedge_factor,
)
from moldgen.mechanics.tolerance import tolerance_mm
from moldgen.remarks import Remark

GRIP_IN_HAND: Final = 2.0
"""Slip load over load below which a drive is called marginal, friction being known no better.

Common practice, no source."""
SPEED_MATTERS: Final = 0.0005
"""Relative change of speed per 0.1 mm below which a thickness error is not worth a word: judgement."""
FARTHEST_CURE_MM: Final = 0.5
"""Change of thickness up to which the derivative says what mends a speed: judgement."""
SPEEDS_AGREE: Final = 0.01
"""Relative difference from a plate's speed that is worth a word: judgement."""


def routed_path(pulleys: Pulleys, section: BeltSection) -> BeltPath:
    """The belt's run; whether it sits in every groove has been asked by `stringing_refusals`."""
    return belt_path(circles=pitch_circles(pulleys=in_place(pulleys), section=section))


@dataclass(frozen=True, slots=True)
class Running:
    """A belt on its pulleys, new and after its tension has relaxed, with the load it carries."""

    pulleys: Pulleys
    belt: StrungBelt
    rubber: Rubber
    new_tension_n: float
    free_area_mm2: float
    friction: float
    load_torque_nmm: float
    """Of the driven pulley; 0 where none is given."""

    @property
    def driver(self) -> int:
        return driver_of(self.pulleys)

    @property
    def driven(self) -> int:
        return driven_of(self.pulleys)

    @property
    def left(self) -> float:
        """Share of the tension that relaxation leaves."""
        return 1.0 - self.rubber.relaxation

    @property
    def drive(self) -> BeltDrive:
        """With the tension that lasts."""
        frictions = tuple(self.friction * wedge_factor(groove=pulley.groove) for pulley in self.belt.pulleys)
        return BeltDrive(self.belt.path, self.left * self.new_tension_n, frictions, self.driver)

    @property
    def slip(self) -> Slip:
        """When the driven pulley is loaded more and more; its load factor is the torque there."""
        return slip_alone(drive=self.drive, pulley=self.driven)

    @property
    def span_tensions_n(self) -> tuple[float, ...]:
        """Under the load, or at the edge of slipping where the load is more than the grip carries."""
        loads = tuple(self.load_torque_nmm if k == self.driven else 0.0 for k in range(len(self.pulleys)))
        if any(loads):
            slip = first_slip(drive=self.drive, load_torques_nmm=loads)
            if slip.load_factor <= 1.0:
                return slip.span_tensions_n
        return span_tensions_n(drive=self.drive, load_torques_nmm=loads)

    @property
    def speed_ratios(self) -> tuple[float, ...]:
        """Speed of each pulley over the driver's, creep included."""
        return pulley_speeds_rpm(
            drive=self.drive,
            span_tensions_n=self.span_tensions_n,
            driver_speed_rpm=1.0,
            shear_modulus_mpa=self.rubber.shear_modulus_mpa,
            free_area_mm2=self.free_area_mm2,
            relaxation=self.left,
        )

    @property
    def stated(self) -> int | None:
        """The pulley whose stated speed the others follow: the driver, else the first that has one."""
        having = [i for i, pulley in enumerate(self.pulleys) if pulley.speed_rpm is not None]
        return self.driver if self.driver in having else having[0] if having else None

    def sensitivity(self, pulley: int) -> SpeedSensitivity:
        return speed_sensitivity(belt=self.belt, driver=self.driver, driven=pulley)


def running(
    pulleys: Pulleys,
    *,
    fitted_section: BeltSection,
    free_section: BeltSection,
    stretch_ratio: float,
    rubber: Rubber,
    friction: float,
    load_torque_nmm: float,
) -> Running:
    """The belt at work."""
    path = routed_path(pulleys, fitted_section)
    return Running(
        pulleys=pulleys,
        belt=StrungBelt(in_place(pulleys), path, fitted_section, stretch_ratio),
        rubber=rubber,
        new_tension_n=strand_tension_n(
            shear_modulus_mpa=rubber.shear_modulus_mpa,
            free_area_mm2=free_section.area_mm2,
            stretch_ratio=stretch_ratio,
            relaxation=1.0,
        ),
        free_area_mm2=free_section.area_mm2,
        friction=friction,
        load_torque_nmm=load_torque_nmm,
    )


def pulley_predictions(work: Running) -> Iterator[Prediction]:
    """What the belt does as a whole, then at each pulley."""
    names = [pulley.name for pulley in work.pulleys]
    driver, driven = names[work.driver], names[work.driven]
    yield Prediction(
        "speed_change_percent_per_0_1mm_thickness",
        10.0 * work.sensitivity(work.driven).per_mm_thickness,
        f"speed of {driven} when every side of the free section is 0.1 mm larger: from the pitch radii",
    )
    ratios, slip = work.speed_ratios, work.slip
    if work.load_torque_nmm > 0.0:
        no_load = work.belt.path.circles[work.driver].radius_mm / work.belt.path.circles[work.driven].radius_mm
        yield Prediction(
            "creep_percent",
            100.0 * (1.0 - ratios[work.driven] / no_load),
            f"speed that {driven} loses under the load: elastic creep, mass of the belt conserved",
        )
    loads = shaft_loads_n(path=work.belt.path, span_tensions_n=(work.new_tension_n,) * len(names))
    for i, name in enumerate(names):
        yield from (
            Prediction(key, value, basis, "pulleys", name)
            for key, value, basis in _at_pulley(work, i, loads[i], ratios, slip, driver, driven)
        )


def _at_pulley(
    work: Running,
    i: int,
    load: tuple[float, float],
    ratios: tuple[float, ...],
    slip: Slip,
    driver: str,
    driven: str,
) -> Iterator[tuple[str, float, str]]:
    circle, of_driven = work.belt.path.circles[i], work.sensitivity(work.driven)
    diameter = 0.0
    if i == work.driver:
        torque, what = slip.torques_nmm[i], f"given to the belt when it slips with {driven} taking all of it"
        diameter = 10.0 * of_driven.per_mm_driver_diameter
    else:
        alone = slip_alone(drive=work.drive, pulley=i)
        torque, what = alone.torques_nmm[i], f"taken alone; the belt then slips on {work.pulleys[alone.pulley].name}"
    if i == work.driven:
        diameter = 10.0 * of_driven.per_mm_driven_diameter
    yield "pitch_diameter_mm", 2.0 * circle.radius_mm, "middle of the fitted section, as it sits in the groove"
    yield "wrap_deg", work.belt.path.wraps_deg[i], "plane geometry of the run"
    yield "shaft_load_n", math.hypot(*load), "belt at rest, just strung, when it pulls most"
    yield "shaft_load_x_n", round(load[0], 9) + 0.0, "as shaft_load_n, along x"
    yield "shaft_load_y_n", round(load[1], 9) + 0.0, "as shaft_load_n, along y"
    yield (
        "slip_torque_nmm",
        torque,
        f"{what}; capstan equation, mean tension after relaxation kept by the belt's length",
    )
    yield "speed_ratio", ratios[i], f"turns for one of {driver}, creep included"
    if work.stated is not None:
        stated = work.pulleys[work.stated]
        assert stated.speed_rpm is not None
        speed = stated.speed_rpm * ratios[i] / ratios[work.stated]
        yield "speed_rpm", speed, f"from the stated speed of {stated.name}, creep included"
    yield (
        "speed_change_percent_per_0_1mm_thickness",
        10.0 * work.sensitivity(i).per_mm_thickness,
        "its own speed when every side of the free section is 0.1 mm larger",
    )
    yield "speed_change_percent_per_0_1mm_diameter", diameter, f"speed of {driven} when this groove is 0.1 mm larger"


def running_remarks(work: Running, *, size_key: str) -> Iterator[Remark]:
    """Slip, speed, and how exact belt and pulleys have to be. `size_key` is the section's height or diameter."""
    names = [f"`{pulley.name}`" for pulley in work.pulleys]
    driven, slip = names[work.driven], work.slip
    yield Remark(
        "slips_first",
        f"Loaded at {driven} more and more, the belt slips on {names[slip.pulley]} first, when {driven} takes "
        f"{slip.torques_nmm[work.driven]:.3g} N·mm.",
        "measured.pulleys",
    )
    if work.load_torque_nmm > 0.0:
        in_hand = slip.torques_nmm[work.driven] / work.load_torque_nmm
        more = "A thicker belt, more stretch, a softer grade that grips better, or more wrap helps."
        if in_hand < 1.0:
            yield Remark(
                "belt_slips",
                f"The load is {1.0 / in_hand:.2g} times what the belt carries. {more}",
                "drive.load_torque",
            )
        elif in_hand < GRIP_IN_HAND:
            yield Remark(
                "little_grip_in_hand",
                f"The belt carries {in_hand:.2g} times the load, and friction is known no better than that. {more}",
                "drive.load_torque",
            )
    for k, m in work.belt.path.crossing_spans:
        yield Remark(
            "strands_cross",
            f"The strands that leave {names[k]} and {names[m]} cross and rub. If the belt was not crossed, a "
            "`turns` is wrong.",
            "measured.pulleys",
        )
    yield _tolerance(work, names, size_key)
    yield from _speeds(work, names)


def _tolerance(work: Running, names: list[str], size_key: str) -> Remark:
    """How exact thickness and pulleys have to be for the driven speed to be right within 1 %."""
    change, driver, driven = work.sensitivity(work.driven), names[work.driver], names[work.driven]
    pulleys = (
        f"±{0.01 / change.per_mm_driver_diameter:.2g} mm of diameter at {driver} or "
        f"±{-0.01 / change.per_mm_driven_diameter:.2g} mm at {driven}"
    )
    per_mm = abs(change.per_mm_thickness)
    if 0.1 * per_mm < SPEED_MATTERS:
        return Remark(
            "thickness_tolerance",
            f"The belt's thickness hardly matters to the speed of {driven}; 1 % of it is {pulleys}.",
            f"wanted.{size_key}",
        )
    size_mm = work.belt.fitted_section.height_mm
    molded_mm = tolerance_mm(dimension_mm=size_mm, grade="M2", kind="fixed")
    way = "faster" if change.per_mm_thickness > 0.0 else "slower"
    return Remark(
        "thickness_tolerance",
        f"{driven} runs {10.0 * per_mm:.2g} % {way} on a belt 0.1 mm thicker: 1 % of its speed is "
        f"±{0.01 / per_mm:.2g} mm of thickness, {pulleys}. A casting within "
        f"class M2 of ISO 3302-1 (±{molded_mm:.2f} mm) is off by up to "
        f"{100.0 * per_mm * molded_mm:.2g} %.",
        f"wanted.{size_key}",
    )


def _speeds(work: Running, names: list[str]) -> Iterator[Remark]:
    """Stated speeds that the drive does not give."""
    if work.stated is None:
        return
    reference, ratios = work.pulleys[work.stated], work.speed_ratios
    assert reference.speed_rpm is not None
    for i, pulley in enumerate(work.pulleys):
        if pulley.speed_rpm is None or i == work.stated:
            continue
        speed = reference.speed_rpm * ratios[i] / ratios[work.stated]
        off = speed / pulley.speed_rpm - 1.0
        if abs(off) > SPEEDS_AGREE:
            per_mm = work.sensitivity(i).per_mm_thickness - work.sensitivity(work.stated).per_mm_thickness
            cure = ""
            if abs(off) < FARTHEST_CURE_MM * abs(per_mm):
                way = "thinner" if off * per_mm > 0.0 else "thicker"
                cure = f" Where its range does not cover that, a belt {abs(off / per_mm):.2g} mm {way} would mend it."
            yield Remark(
                "speed_off",
                f"{names[i]} comes to {speed:.4g} min⁻¹, {100.0 * abs(off):.2g} % "
                f"{'above' if off > 0.0 else 'below'} the {pulley.speed_rpm:g} min⁻¹ stated.{cure}",
                f"measured.pulleys[{i + 1}].speed",
            )
