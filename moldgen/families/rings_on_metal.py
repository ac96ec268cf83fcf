"""What tyre and sleeve share: a ring of rubber held on metal by its stretch, by a bond, or by being cast there.

What they run against is in `ring_nip`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Final, Literal

from moldgen.families.base import Given, Prediction, Rubber, Sizes
from moldgen.mechanics.shrinkage import MOST_SHRINKAGE, mold_length_mm, mold_radius_for_cover_mm
from moldgen.mechanics.stretch import (
    MOST_STRETCH,
    FreeRing,
    fitted_ring,
    free_ring,
    slip_torque_nmm,
    stuck_outer_radius_mm,
)
from moldgen.remarks import Refusal, Remark
from moldgen.shapes import Path, Revolved, Vertex
from moldgen.spec.sections import refused

Mount = Literal["stretched", "bonded", "cast_on"]

LEAST_RUNNING_MM: Final = 0.1
"""Of running surface that edges must leave."""


def fitted_stretch(mount: Mount, stretch: float | None, rubber: Rubber) -> float:
    """Stretch of the bore on the metal: as wanted, else usual for a stretched ring and none for the others."""
    if stretch is not None:
        return stretch
    return rubber.stretch_usual if mount == "stretched" else 0.0


def ring_sizes(
    *,
    metal_mm: float,
    outer_mm: float,
    grind_mm: float,
    width_mm: float,
    crown_mm: float,
    edge_mm: float,
    stretch: float,
    mount: Mount,
    flanged: bool,
    rubber: Rubber,
) -> Sizes:
    """Fitted, free and mold dimensions of a ring on metal; `outer_mm` is the finished diameter.

    What will be ground off is part of the free and of the mold dimensions. A ring cast on its metal cannot shrink
    along it: its bore is the metal's, and the mold is larger only by what the wall loses. Crown and edges flatten with
    the outside as the ring is stretched: rubber keeps its volume, so a crown goes with 1/(radius times width) there,
    an edge, which is as deep as it is wide, with 1/sqrt(radius). They are named only where there are any.
    """
    shrinkage = rubber.linear_shrinkage
    form = {name: size for name, size in (("crown_mm", crown_mm), ("edge_mm", edge_mm)) if size > 0.0}
    fitted = {"inner_diameter_mm": metal_mm, "outer_diameter_mm": outer_mm, "width_mm": width_mm, **form}
    if mount == "cast_on":
        radius = mold_radius_for_cover_mm(
            hub_radius_mm=0.5 * metal_mm,
            cover_radius_mm=0.5 * (outer_mm + grind_mm),
            length_mm=width_mm,
            linear_shrinkage=shrinkage,
        )
        free = {**fitted, "outer_diameter_mm": outer_mm + grind_mm}
        return Sizes(fitted, free, {**fitted, "outer_diameter_mm": 2.0 * radius})
    ring = free_ring(
        hub_radius_mm=0.5 * metal_mm,
        fitted_outer_radius_mm=0.5 * (outer_mm + grind_mm),
        fitted_width_mm=width_mm,
        stretch=stretch,
        held_between_flanges=flanged,
    )
    free = {
        "inner_diameter_mm": ring.inner_diameter_mm,
        "outer_diameter_mm": ring.outer_diameter_mm,
        "width_mm": ring.width_mm,
    }
    longer = (outer_mm + grind_mm) / ring.outer_diameter_mm
    if crown_mm > 0.0:
        free["crown_mm"] = crown_mm * longer * width_mm / ring.width_mm
    if edge_mm > 0.0:
        free["edge_mm"] = edge_mm * math.sqrt(longer)
    mold = {name: mold_length_mm(part_length_mm=value, linear_shrinkage=shrinkage) for name, value in free.items()}
    return Sizes(fitted, free, mold)


def hold_predictions(
    *, sizes: Sizes, mount: Mount, flanged: bool, friction: float, rubber: Rubber
) -> tuple[Prediction, ...]:
    """How the ring sits on its metal: strain, pressure, and the torque at which it slips or the bond gives way."""
    metal_radius, width = 0.5 * sizes.fitted["inner_diameter_mm"], sizes.fitted["width_mm"]
    if mount == "cast_on":
        return (
            Prediction("hoop_strain_bore", 0.0, "cast on the metal: not stretched"),
            Prediction("hub_pressure_kpa", 0.0, "cast on the metal: it holds by its bond, not by pressure"),
            _bond(metal_radius, width, rubber),
        )
    ring = FreeRing(
        0.5 * sizes.free["inner_diameter_mm"], 0.5 * sizes.free["outer_diameter_mm"], sizes.free["width_mm"]
    )
    placed = fitted_ring(
        free=ring, hub_radius_mm=metal_radius, shear_modulus_mpa=rubber.shear_modulus_mpa, held_between_flanges=flanged
    )
    strain = Prediction(
        "hoop_strain_bore", placed.hoop_stretch_ratio_bore - 1.0, "thick incompressible ring on a rigid hub"
    )
    stuck = (
        0.0
        if flanged
        else 2.0 * (placed.outer_radius_mm - stuck_outer_radius_mm(free=ring, hub_radius_mm=metal_radius))
    )
    lost = Prediction(
        "diameter_lost_if_fitted_dry_mm",
        stuck,
        "at most: a dry bore grips before the ring has slid into place; soapy water makes it nothing",
    )
    if mount == "bonded":
        return (
            strain,
            Prediction("hub_pressure_kpa", 1000.0 * placed.hub_pressure_mpa, "stretch alone, without the bond"),
            _bond(metal_radius, width, rubber),
        )
    lasting = placed.hub_pressure_mpa * (1.0 - rubber.relaxation)
    torque = slip_torque_nmm(
        hub_pressure_mpa=lasting, hub_radius_mm=metal_radius, fitted_width_mm=width, friction=friction
    )
    return (
        strain,
        Prediction(
            "hub_pressure_kpa", 1000.0 * placed.hub_pressure_mpa, "neo-Hookean thick ring on a rigid hub, when new"
        ),
        Prediction("hub_slip_torque_nmm", torque, "friction at the pressure that is left after relaxation"),
        lost,
    )


def _bond(metal_radius_mm: float, width_mm: float, rubber: Rubber) -> Prediction:
    """Torque that shears the bond off, all of its area at its strength."""
    torque = rubber.bond_strength_mpa * math.tau * metal_radius_mm**2 * width_mm
    return Prediction(
        "hub_slip_torque_nmm", torque, "shear strength of the bond over all of its area; primed, degreased metal"
    )


def check_ring(
    given: Given[Any, Any, Any], *, metal: str, metal_mm: float, outer: str, outer_mm: float
) -> Iterator[Refusal | Remark]:
    """Limits that tyre and sleeve share, before anything is sized."""
    wanted, rubber = given.wanted, given.elastomer
    if outer_mm <= metal_mm:
        yield Refusal(
            ("wanted", outer),
            f"the metal under it ({metal}) is {metal_mm:.2f} mm already, so no rubber is left",
            f"Check both readings; `{outer}` is the diameter over the rubber once it is in place.",
        )
        return
    if outer_mm > 5.0 * metal_mm:
        yield Refusal(
            ("wanted", outer), f"it is more than five times the metal ({metal_mm:.2f} mm)", "Check both readings."
        )
        return
    wall = 0.5 * (outer_mm - metal_mm)
    if wall < rubber.least_wall_mm:
        yield Refusal(
            ("wanted", outer),
            f"it leaves a wall of {wall:.2f} mm, and {rubber.label} is not cast thinner than "
            f"{rubber.least_wall_mm:g} mm",
            "Take a thinner-flowing elastomer, turn the metal down, or use a standard ring.",
        )
    if wanted.grind_allowance_mm > wall:
        yield Refusal(
            ("wanted", "grind_allowance"),
            f"it would take off half as much rubber as is to stay (a wall of {wall:.2f} mm)",
            f"Take {wall:.2f} mm or less, on the diameter.",
        )
    stretch = fitted_stretch(wanted.mount, wanted.stretch, rubber)
    if wanted.mount == "cast_on" and stretch > 0.0:
        yield Refusal(("wanted", "stretch"), "a part cast on its metal is not stretched", "Leave `stretch` out.")
    elif stretch > rubber.stretch_most:
        yield Refusal(
            ("wanted", "stretch"),
            f"{rubber.label} holds at most {rubber.stretch_most:.0%} for years",
            f"Take {rubber.stretch_most:.0%} or less"
            + (", or choose `mount: bonded` and leave `stretch` out." if wanted.mount == "stretched" else "."),
        )
    elif stretch > MOST_STRETCH:
        yield Refusal(
            ("wanted", "stretch"),
            f"what becomes of a thick ring is known up to {MOST_STRETCH:.0%}",
            f"Take {MOST_STRETCH:.0%} or less.",
        )
    if wanted.mount == "cast_on" and rubber.linear_shrinkage > MOST_SHRINKAGE:
        yield Refusal(
            ("wanted", "mount"),
            f"{rubber.label} shrinks by {rubber.linear_shrinkage:.1%}; a cover on its metal can be sized "
            f"up to {MOST_SHRINKAGE:.0%}",
            "Choose `mount: bonded`, or an elastomer that shrinks less.",
        )
    if wanted.stretch is None and wanted.mount == "stretched":
        yield Remark(
            "stretch_chosen",
            f"No stretch was given; {stretch:.0%} is taken, which is usual for {rubber.label}.",
            "wanted.stretch",
        )


def edge_form(text: str) -> tuple[str, float]:
    """`square`, `round 0.5 mm` or `bevel 0.5 mm` as (form, size)."""
    from moldgen.quantities import QuantityError, parsed

    word, _, size = text.strip().partition(" ")
    if word == "square" and not size:
        return "square", 0.0
    if word in ("round", "bevel") and size:
        try:
            length = parsed(size, "length")
        except QuantityError as error:
            raise refused(error.limit, error.way_out) from None
        if 0.05 <= length <= 20.0:
            return word, float(length)
    raise refused(
        "an edge is `square`, `round SIZE` or `bevel SIZE`, 0.05 mm to 20 mm", "Write for example `round 0.5 mm`."
    )


def check_form(*, edge: tuple[str, float], crown_mm: float, wall_mm: float, width_mm: float) -> Iterator[Refusal]:
    """Edge and crown have to leave some of the running surface, of the end face and of the wall."""
    most = min(0.25 * width_mm, 0.3 * wall_mm)
    if crown_mm > most:
        yield Refusal(
            ("wanted", "crown"),
            f"for this width and wall a crown of {most:.2f} mm is the most",
            f"Take {math.floor(most * 100) / 100:.2f} mm or less.",
        )
    most = min(0.6 * wall_mm, 0.4 * width_mm, 0.5 * (width_mm - LEAST_RUNNING_MM))
    if edge[1] > most:
        yield Refusal(
            ("wanted", "edge"),
            f"a wall of {wall_mm:.2f} mm and a width of {width_mm:.2f} mm leave room for {max(most, 0.0):.2f} mm",
            f"Take {math.floor(most * 20) / 20:.2f} mm or less." if most >= 0.05 else "Leave it square.",
        )


def judge_ring(given: Given[Any, Any, Any], *, part: str, metal: str, finished_mm: float) -> Iterator[Remark]:
    """What a tyre or a sleeve needs once it is out of the mold."""
    wanted = given.wanted
    if wanted.grind_allowance_mm > 0.0:
        yield Remark(
            "to_be_ground",
            f"The {part} comes out {wanted.grind_allowance_mm:g} mm too large on purpose; once it is on its {metal}, "
            f"grind it down to {finished_mm:.2f} mm.",
            "wanted.grind_allowance",
        )
    if wanted.mount == "cast_on":
        yield Remark(
            "waisted",
            f"A {part} cast on its {metal} shrinks more in the middle than at its ends and comes out slightly waisted; "
            "a grinding allowance takes that off.",
            "wanted.mount",
        )


def crown_radius_mm(*, width_mm: float, crown_mm: float) -> float:
    """Radius of the arc that rises by the crown in the middle of the width.

    By hand: 8^2/(8 * 0.2) + 0.1 = 40.1

    >>> round(crown_radius_mm(width_mm=8.0, crown_mm=0.2), 9)
    40.1
    """
    return width_mm**2 / (8.0 * crown_mm) + 0.5 * crown_mm


def crown_drop_mm(*, width_mm: float, crown_mm: float, from_middle_mm: float) -> float:
    """How far the surface stands below its middle, on the radius; 0 without a crown, the crown at the ends.

    >>> round(crown_drop_mm(width_mm=8.0, crown_mm=0.2, from_middle_mm=4.0), 9)
    0.2
    """
    if crown_mm == 0.0:
        return 0.0
    radius = crown_radius_mm(width_mm=width_mm, crown_mm=crown_mm)
    return radius - math.sqrt(radius**2 - from_middle_mm**2)


def ring_shape(dimensions: Mapping[str, float], *, edge: str) -> Revolved:
    """The ring's half-section, anticlockwise from the inner lower corner.

    `outer_diameter_mm` is the diameter at the middle of a crown; `crown_mm` is how far the middle stands above the
    ends, on the radius; `edge` is the form of the outer edges and `edge_mm` its size.
    """
    inner, outer = 0.5 * dimensions["inner_diameter_mm"], 0.5 * dimensions["outer_diameter_mm"]
    width, crown, size = dimensions["width_mm"], dimensions.get("crown_mm", 0.0), dimensions.get("edge_mm", 0.0)
    half = 0.5 * width - size  # of the running surface
    shoulder, bulge = outer, 0.0
    if crown > 0.0:  # one arc over the whole width, whose ends the edge form takes off
        radius = crown_radius_mm(width_mm=width, crown_mm=crown)
        shoulder = outer - crown_drop_mm(width_mm=width, crown_mm=crown, from_middle_mm=half)
        bulge = math.tan(0.5 * math.asin(half / radius))
    bore = Vertex(inner, width, surface="bore")
    if size == 0.0:
        return Revolved(
            Path(
                (
                    Vertex(inner, 0.0, surface="face"),
                    Vertex(shoulder, 0.0, bulge, "running"),
                    Vertex(shoulder, width, surface="face"),
                    bore,
                )
            )
        )
    corner = math.tan(math.pi / 8.0) if edge_form(edge)[0] == "round" else 0.0
    return Revolved(
        Path(
            (
                Vertex(inner, 0.0, surface="face"),
                Vertex(shoulder - size, 0.0, corner, "edge"),
                Vertex(shoulder, size, bulge, "running"),
                Vertex(shoulder, width - size, corner, "edge"),
                Vertex(shoulder - size, width, surface="face"),
                bore,
            )
        )
    )
