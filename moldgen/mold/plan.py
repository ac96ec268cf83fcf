"""Every dimension of a mold, decided and frozen before there is a solid.

Frame: the parting plane is z = 0, the lower half lies below it, the upper above. A cavity's own frame has its axis
(or the outline's origin) at x = y = 0. All lengths in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from moldgen.mold.hardware import Screw
from moldgen.shapes import CavityShape, Path, Revolved

LETTER_DEPTH_MM: Final = 0.5


@dataclass(frozen=True, slots=True)
class Decision:
    """What the design chose by rule, and why, in words for the sheet."""

    what: str
    why: str


@dataclass(frozen=True, slots=True)
class CorePlan:
    """A separate core: a pin with a conical seat at each end."""

    profile: Path
    """Half-section of the core itself, from the axis out."""
    lower_seat: Path | None
    """Half-section of the seat in the lower half where it is wider than the core's own cone."""
    upper_seat: Path
    """Half-section of the wider and deeper seat in the upper half."""


@dataclass(frozen=True, slots=True)
class InsertPlan:
    """Real metal that sits in the mold as the core of a cast-on part."""

    body: Path
    """Half-section of the metal where it stands in the mold, in the measure in which the halves are modelled."""
    lower_seat: Path
    """Half-section of what the lower half loses to the metal, down to where it stands."""
    upper_seat: Path | None
    pin: Path | None
    """Half-section of the pin of the lower half that centres the metal by its bore."""


@dataclass(frozen=True, slots=True)
class CavityPlan:
    """One cavity, in its own frame."""

    shape: CavityShape
    """As modelled, printer compensation included; its parting level at z = 0."""
    base_z_mm: float
    """Height of an extruded shape's underside (0 for a turned one, whose profile carries its own heights)."""
    below_mm: float
    above_mm: float
    footprint: Path
    """Outline, seen from above, of everything that the parting plane must seal."""
    core: CorePlan | None
    insert: InsertPlan | None
    core_part_of_lower: bool
    share: float = 1.0
    """Volume of the cavity over the part's: less than one for a cord that is joined from several."""
    pieces: int = 1
    """How many castings a part is joined from."""
    upside_down: bool = False
    """Whether a turned part is cast the other way up than its family draws it."""

    @property
    def volume_mm3(self) -> float:
        return self.shape.volume_mm3

    @property
    def turned(self) -> bool:
        return isinstance(self.shape, Revolved)

    @property
    def in_both_halves(self) -> bool:
        """Whether the part is made by a pocket of each half, no mere rounding over the parting."""
        return self.above_mm > 1e-6


@dataclass(frozen=True, slots=True)
class Attitude:
    """How the closed mold stands while it is filled: level, or its +x end raised so that air runs there."""

    tilt_deg: float

    @property
    def up(self) -> tuple[float, float, float]:
        """Which way is up, in the mold's own frame."""
        tilt = math.radians(self.tilt_deg)
        return math.sin(tilt), 0.0, math.cos(tilt)


@dataclass(frozen=True, slots=True)
class WedgePlan:
    """What the mold stands on while it is filled at a tilt; its thick end goes under the mold's +x end."""

    length_mm: float
    width_mm: float
    thin_mm: float
    tilt_deg: float
    lip_mm: float
    """Height of the lip at the thin end, square to the ramp, against which the end of the mold rests."""
    rim_mm: float
    """Thickness of that lip, and half the width of the frame that the mold stands on."""


@dataclass(frozen=True, slots=True)
class OpeningPlan:
    """A sprue or a vent: round, upright, from the cavity's ceiling to the top of the upper half.

    From `gate_z_mm` a short straight land, then a cone that widens upwards, so that the cured plug leaves with it.
    """

    x_mm: float
    y_mm: float
    gate_z_mm: float
    gate_diameter_mm: float
    land_mm: float
    mouth_diameter_mm: float
    top_z_mm: float
    funnel_diameter_mm: float
    funnel_mm: float
    """A wider pouring funnel over the last stretch; 0 for none."""
    drilled: bool = False
    """Too small to print open: drilled through its land afterwards."""

    def profile(self, *, dip_mm: float, beyond_mm: float) -> tuple[tuple[float, float], ...]:
        """(radius, z) from bottom to top, carried on into the cavity by `dip_mm` and over the top by `beyond_mm`."""
        gate, mouth, funnel = (
            0.5 * d for d in (self.gate_diameter_mm, self.mouth_diameter_mm, self.funnel_diameter_mm)
        )
        neck = self.top_z_mm - self.funnel_mm
        points = [(gate, self.gate_z_mm - dip_mm), (gate, self.gate_z_mm + self.land_mm), (mouth, neck)]
        if self.funnel_mm > 0.0:
            points.append((funnel, self.top_z_mm))
        if beyond_mm > 0.0:
            points.append((points[-1][0], self.top_z_mm + beyond_mm))
        return tuple(points)

    @property
    def volume_mm3(self) -> float:
        """From the ceiling to the top, filled to the brim (frusta)."""
        points = self.profile(dip_mm=0.0, beyond_mm=0.0)
        return sum(math.pi * (z1 - z0) * (r0 * r0 + r0 * r1 + r1 * r1) / 3.0 for (r0, z0), (r1, z1) in pairwise(points))


@dataclass(frozen=True, slots=True)
class KeyPlan:
    """A conical key on the lower half and its socket in the upper."""

    x_mm: float
    y_mm: float
    base_diameter_mm: float
    tip_diameter_mm: float
    height_mm: float
    clearance_mm: float


@dataclass(frozen=True, slots=True)
class ScrewPlan:
    """One screw through both halves, its nut in a pocket under the lower one."""

    x_mm: float
    y_mm: float
    screw: Screw
    length_mm: float
    nut_pocket_mm: float
    """Depth of the nut's pocket."""


@dataclass(frozen=True, slots=True)
class PrySlotPlan:
    """A slot at the parting line for a blunt blade, cut into the lower half."""

    x_mm: float
    y_mm: float
    width_mm: float
    depth_mm: float
    height_mm: float
    inward: int
    """+1 if it opens to the front (towards smaller y), -1 if to the back."""


@dataclass(frozen=True, slots=True)
class LabelPlan:
    """Lettering engraved into the front face of a half."""

    body: str
    text: str
    height_mm: float
    x_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True)
class SealPlan:
    """How the parting plane seals: a land round each cavity, the rest set back, a channel that takes the overflow."""

    land_mm: float
    relief_mm: float
    channel_width_mm: float
    channel_depth_mm: float


@dataclass(frozen=True, slots=True)
class BlockPlan:
    """Both halves' outside, symmetric about the origin in plan."""

    x_mm: float
    y_mm: float
    lower_mm: float
    upper_mm: float
    corner_mm: float

    @property
    def area_mm2(self) -> float:
        """Seen from above."""
        return self.x_mm * self.y_mm - (4.0 - math.pi) * self.corner_mm**2

    @property
    def volume_mm3(self) -> float:
        return self.area_mm2 * (self.lower_mm + self.upper_mm)


@dataclass(frozen=True, slots=True)
class MoldPlan:
    """The whole mold."""

    name: str
    cavity: CavityPlan
    places: tuple[tuple[float, float], ...]
    """Where each cavity's origin stands."""
    block: BlockPlan
    seal: SealPlan
    attitude: Attitude
    wedge: WedgePlan | None
    sprues: tuple[OpeningPlan, ...]
    vents: tuple[OpeningPlan, ...]
    keys: tuple[KeyPlan, ...]
    screws: tuple[ScrewPlan, ...]
    pry_slots: tuple[PrySlotPlan, ...]
    labels: tuple[LabelPlan, ...]
    decisions: tuple[Decision, ...]

    @property
    def pour_mm3(self) -> float:
        """Everything to be filled: cavities, sprues and vents up to the brim. Closed form; the kernel must agree."""
        return self.cavity.volume_mm3 * len(self.places) + sum(o.volume_mm3 for o in (*self.sprues, *self.vents))
