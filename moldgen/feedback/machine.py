"""A machine's drive from the motor to the medium: speed at the end, what it depends on, and how fast each part turns.

    machine:
      name: loop player, harbour museum
      nominal_speed: 3 3/4 in/s
      motor_speed: 1430 ± 10 rpm
      drive:
        - kind: belt
          name: drive belt
          driver: {name: motor pulley, diameter: 12.00 ± 0.02 mm}
          driven: {name: flywheel, diameter: 78.0 ± 0.03 mm}
          thickness: 2.0 ± 0.05 mm
      capstan: {diameter: 4.00 ± 0.01 mm, media_thickness: 0.035 mm}

Every link's driver sits on the shaft of the wheel that the link before it drives, the first on the motor's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from pydantic import Field

from moldgen.errors import Problem, SpecError
from moldgen.quantities import Estimate
from moldgen.remarks import Refusal
from moldgen.spec import document as documents
from moldgen.spec.document import Document, Place
from moldgen.spec.sections import (
    Length,
    Line,
    Rotation,
    Section,
    Share,
    SmallLength,
    Speed,
)
from moldgen.spec.validation import validated
from moldgen.uncertainty import Uncertain, propagated

NOTHING: Final = Estimate(0.0, text="0")
MOST_LINKS: Final = 12

Kind = Literal["belt", "idler", "stepped_idler", "wheels"]


class Wheel(Section):
    """Something round that turns."""

    name: Line = Field(description="What you call it.")
    diameter_mm: Length = Field(description="Where the drive runs: a groove's floor, a rim, a tyre in place.")
    spec: Line | None = Field(default=None, description="Part spec of its rubber, if it is one of yours.")


class Link(Section):
    """One step of the drive, from a wheel that drives to a wheel that is driven."""

    kind: Kind = Field(description="belt, idler (a plain wheel between two), stepped_idler, or wheels (rim on rim).")
    name: Line | None = Field(default=None, description="What you call the belt or idler.")
    driver: Wheel = Field(description="The wheel that drives.")
    driven: Wheel = Field(description="The wheel that is driven.")
    thickness_mm: SmallLength | None = Field(
        default=None,
        description="Of a belt in place. Where it lies in a vee: give pitch diameters, and 0 here.",
    )
    length_mm: Length | None = Field(default=None, description="Of a belt in place, once round; to find its flutter.")
    diameter_mm: Length | None = Field(default=None, description="Of a plain idler; to find its flutter.")
    diameter_in_mm: Length | None = Field(default=None, description="Of a stepped idler, where the driver runs.")
    diameter_out_mm: Length | None = Field(default=None, description="Of a stepped idler, where it drives.")
    slip: Share = Field(default=NOTHING, description="Share of the speed lost here, such as a belt's creep.")
    spec: Line | None = Field(default=None, description="Part spec of the belt or the idler's tyre.")

    @property
    def label(self) -> str:
        return self.name or self.kind.replace("_", " ")


class Capstan(Section):
    """The shaft that moves the medium."""

    name: Line = Field(default="capstan", description="What you call it.")
    diameter_mm: Length = Field(description="Where the medium runs, sleeve and all.")
    media_thickness_mm: SmallLength = Field(default=NOTHING, description="Of the tape: its middle is what moves.")
    spec: Line | None = Field(default=None, description="Part spec of its sleeve, if it has one.")


class Machine(Section):
    """The drive of a machine."""

    name: Line = Field(description="Which machine it is.")
    nominal_speed_mm_s: Speed | None = Field(default=None, description="Of the medium; with a capstan.")
    nominal_rotation_rpm: Rotation | None = Field(default=None, description="Of the last wheel, such as a platter.")
    motor: Line = Field(default="motor", description="What you call the motor.")
    motor_speed_rpm: Rotation = Field(description="Its speed under load.")
    drive: tuple[Link, ...] = Field(default=(), description="The steps from the motor on, in order.")
    capstan: Capstan | None = Field(default=None, description="On the last wheel's shaft; left out for a platter.")
    rollers: tuple[Wheel, ...] = Field(default=(), description="Wheels that the medium turns; to find their flutter.")


class MachineFile(Section):
    """A file with a machine in it."""

    machine: Machine = Field(description="The drive from the motor to the medium.")


def load(path: Path) -> tuple[Machine, Document]:
    """The machine in a YAML file. Raises SpecError with every problem, OutputError where it cannot be read."""
    document = documents.read(path)
    machine = validated(MachineFile, document).machine
    problems: tuple[Problem, ...] = tuple(
        document.problem(refusal.place, limit=refusal.limit, way_out=refusal.way_out) for refusal in _check(machine)
    )
    if problems:
        raise SpecError(problems)
    return machine, document


_NEEDS: Final[dict[Kind, tuple[str, ...]]] = {
    "belt": ("thickness",),
    "idler": (),
    "stepped_idler": ("diameter_in", "diameter_out"),
    "wheels": (),
}
_MAY: Final[dict[Kind, tuple[str, ...]]] = {
    "belt": ("thickness", "length"),
    "idler": ("diameter",),
    "stepped_idler": ("diameter_in", "diameter_out"),
    "wheels": (),
}


def _check(machine: Machine) -> Iterator[Refusal]:
    """What is missing, too much, or contradicts itself."""
    if len(machine.drive) > MOST_LINKS:
        yield Refusal(("machine", "drive"), f"at most {MOST_LINKS} steps are taken", "Leave out what turns together.")
    wanted, other = ("nominal_speed", "nominal_rotation")
    if machine.capstan is None:
        wanted, other = other, wanted
    if getattr(machine, _attribute(wanted)) is None:
        where = "a capstan" if machine.capstan is not None else "no capstan"
        yield Refusal(("machine", wanted), f"a machine with {where} is judged by it", "Add it.")
    if getattr(machine, _attribute(other)) is not None:
        yield Refusal(("machine", other), f"this machine is judged by its `{wanted}`", "Leave it out.")
    if machine.rollers and machine.capstan is None:
        yield Refusal(("machine", "rollers"), "without a capstan no medium turns them", "Leave them out.")
    for index, link in enumerate(machine.drive):
        place: Place = ("machine", "drive", index)
        for key in ("thickness", "length", "diameter", "diameter_in", "diameter_out"):
            given = getattr(link, f"{key}_mm") is not None
            if key in _NEEDS[link.kind] and not given:
                yield Refusal((*place, key), f"the speed over a {link.kind} depends on it", "Measure and add it.")
            elif given and key not in _MAY[link.kind]:
                yield Refusal((*place, key), f"a {link.kind} has none", "Leave it out, or change `kind`.")
        if link.slip >= 0.5:
            yield Refusal((*place, "slip"), "half of the speed and more is no drive", "Check it.")


def _attribute(key: str) -> str:
    return {"nominal_speed": "nominal_speed_mm_s", "nominal_rotation": "nominal_rotation_rpm"}[key]


# --- how fast it runs ------------------------------------------------------------------------------------------------


def ratio(link: Link) -> float:
    """Driven over driver speed of a link.

    Belt of thickness a on wheels D1, D2: (D1 + a)/(D2 + a), its middle being what keeps its speed. A plain idler
    between two wheels drops out: D1/D2. A stepped one turns with the wheel at its `in` and drives with its `out`:
    (D1/Din)(Dout/D2). Less what slips.

    Source: rolling without slip.
    """
    driver, driven, kept = link.driver.diameter_mm, link.driven.diameter_mm, 1.0 - link.slip
    if link.kind == "belt":
        assert link.thickness_mm is not None
        return kept * (driver + link.thickness_mm) / (driven + link.thickness_mm)
    if link.kind == "stepped_idler":
        assert link.diameter_in_mm is not None and link.diameter_out_mm is not None
        return kept * driver / link.diameter_in_mm * link.diameter_out_mm / driven
    return kept * driver / driven


def shaft_speeds_rpm(machine: Machine) -> tuple[float, ...]:
    """The motor's shaft and the one behind each link."""
    speeds = [float(machine.motor_speed_rpm)]
    for link in machine.drive:
        speeds.append(speeds[-1] * ratio(link))
    return tuple(speeds)


def end_speed(machine: Machine) -> float:
    """Speed of the medium in mm/s, v = π n (d + tape's thickness)/60; without a capstan, of the last wheel in min⁻¹."""
    last = shaft_speeds_rpm(machine)[-1]
    if machine.capstan is None:
        return last
    return math.pi * last / 60.0 * (machine.capstan.diameter_mm + machine.capstan.media_thickness_mm)


def nominal_speed(machine: Machine) -> Estimate:
    """What `end_speed` ought to be."""
    nominal = machine.nominal_speed_mm_s if machine.capstan is not None else machine.nominal_rotation_rpm
    assert nominal is not None
    return nominal


def computed_speed(machine: Machine) -> Uncertain:
    """The speed at the end with the uncertainty that the readings leave it, and each reading's part in it."""
    return propagated(lambda m: {"speed": end_speed(m)}, machine)["speed"]


# --- how fast its parts turn -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Turning:
    """A part, or several on one shaft, and how often it comes round."""

    name: str
    frequency_hz: float
    radius_mm: float | None
    """Where it runs, for the eccentricity behind a flutter line; None where that is not a matter of one radius."""


def turning(machine: Machine, *, speed_ratio: float = 1.0) -> tuple[Turning, ...]:
    """Every part that comes round, with its frequency when the machine runs at `speed_ratio` times its computed speed.

    Shafts first, then what runs between them, then what the medium turns. f = n/60; of a belt, its speed over its
    length; of a roller, v/(π D).
    """
    return tuple(
        Turning(part.name, part.frequency_hz * speed_ratio, part.radius_mm)
        for part in (*_shafts(machine), *_between(machine), *_on_the_medium(machine))
    )


def _shafts(machine: Machine) -> Iterator[Turning]:
    speeds = shaft_speeds_rpm(machine)
    for index, speed in enumerate(speeds):
        names = [machine.motor] if index == 0 else []
        radius = None
        if index > 0:
            names.append(machine.drive[index - 1].driven.name)
            radius = 0.5 * machine.drive[index - 1].driven.diameter_mm
        if index < len(machine.drive):  # the smaller radius shows more of the same eccentricity
            names.append(machine.drive[index].driver.name)
            radius = 0.5 * machine.drive[index].driver.diameter_mm
        elif machine.capstan is not None:
            names.append(machine.capstan.name)
            radius = 0.5 * machine.capstan.diameter_mm
        yield Turning(", ".join(dict.fromkeys(names)), speed / 60.0, radius)


def _between(machine: Machine) -> Iterator[Turning]:
    for link, speed in zip(machine.drive, shaft_speeds_rpm(machine), strict=False):
        rim_mm_s = math.pi * speed / 60.0 * (link.driver.diameter_mm + (link.thickness_mm or 0.0))
        if link.kind == "belt" and link.length_mm is not None:
            yield Turning(link.label, rim_mm_s / link.length_mm, None)
        across = link.diameter_in_mm if link.kind == "stepped_idler" else link.diameter_mm
        if across is not None:
            yield Turning(link.label, rim_mm_s / (math.pi * across), 0.5 * across)


def _on_the_medium(machine: Machine) -> Iterator[Turning]:
    if machine.capstan is None:
        return
    for roller in machine.rollers:
        yield Turning(roller.name, end_speed(machine) / (math.pi * roller.diameter_mm), 0.5 * roller.diameter_mm)


@dataclass(frozen=True, slots=True)
class Suspect:
    """A part that may be behind a flutter line."""

    name: str
    times_per_turn: int
    """1: it runs out of true. 2: it is oval, or its rubber has two flats."""
    frequency_hz: float
    runout_mm: float | None
    """Eccentricity that would do it, for a line once a turn: e/r is the peak deviation."""


HARMONICS: Final = (1, 2, 3)
NEAR: Final = 0.015
"""A drive's speed and diameters are known to about this."""
NEAR_HZ: Final = 0.04


def suspects(parts: tuple[Turning, ...], *, frequency_hz: float, u_hz: float, deviation: float) -> tuple[Suspect, ...]:
    """The parts whose rotation, or a low multiple of it, agrees with a line; the likeliest first.

    A single bump shows at every multiple of the rotation, an eccentricity at the rotation itself: nearer is likelier,
    and so is once a turn.
    """
    found: list[tuple[float, Suspect]] = []
    for part in parts:
        for times in HARMONICS:
            expected = times * part.frequency_hz
            off = abs(frequency_hz - expected) / math.hypot(NEAR * expected, NEAR_HZ, 2.0 * u_hz)
            if off > 1.0:
                continue
            runout = deviation * part.radius_mm if times == 1 and part.radius_mm is not None else None
            found.append((off + 0.5 * (times - 1), Suspect(part.name, times, part.frequency_hz, runout)))
    return tuple(suspect for _, suspect in sorted(found, key=lambda item: item[0]))
