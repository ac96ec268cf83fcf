"""Casting elastomers by generic class and hardness: each figure, how far it may lie off, and whence it is.

The figures are in `data/elastomers.csv`, one a row; `data/SOURCES.md` says what stands behind them. They are
what a class is usually like. The supplier's sheet knows better, so each can be replaced: `Elastomer.changed`.
Times are in seconds here and in results; the table itself has the units that people write.
"""

# Annotations are not postponed here: the text of each would be compiled again at every start.

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Final, Self, get_type_hints

from moldgen.errors import MoldgenError, require_range
from moldgen.mechanics.hardness import GENT_USABLE_SHORE_A, gent_modulus_mpa
from moldgen.quantities import TEMPERATURE, UNITS, Estimate

TABLE: Final = Path(__file__).parent / "data" / "elastomers.csv"

GENT_SPREAD: Final = 0.25
"""Share by which Young's modulus may lie off the one that Gent's formula gives from hardness.

Gent 1958, the probit curve of ISO 48 and the table in P. B. Lindley, Engineering Design with Natural Rubber,
4th ed. 1978 (the last two from memory) differ by -25 to +24 % over 30 to 75 A.
"""

EXTRAPOLATED_SPREAD: Final = 0.5
"""The same where the formula is used outside the hardnesses that it describes. Judgement, no source."""

_KINDS: Final = {
    "modulus": ("_mpa", "MPa"),
    "tear": ("_kn_m", "kN/m"),
    "density": ("_g_cm3", "g/cm³"),
    "viscosity": ("_pa_s", "Pa·s"),
    "time": ("_s", "s"),
    "temperature": ("_degc", "°C"),
    "length": ("_mm", "mm"),
    "ratio": ("", ""),
    "number": ("", "A"),  # only hardness is one
}
"""How the names of a kind of figure end, and the unit they end in."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A property of an elastomer: the usual value, the ends of what it may be, and where they are from."""

    low: float
    value: float
    high: float
    source: str

    def as_json(self) -> dict[str, float | str]:
        return {"low": self.low, "value": self.value, "high": self.high, "source": self.source}


@dataclass(frozen=True, slots=True)
class FigureInfo:
    """What a figure is, for the spec, for tables on the screen and for messages."""

    kind: str
    """Kind of quantity, as in `quantities.UNITS`, or "temperature"."""
    least: float
    most: float
    label: str
    description: str

    @property
    def unit(self) -> str:
        """Of the number in code, as people write it; empty for a ratio."""
        return _KINDS[self.kind][1]


@dataclass(frozen=True, slots=True)
class MixComponent:
    """One of the tins: how much of it goes into the cup."""

    name: str
    parts_by_weight: float
    parts_by_volume: float
    density_g_cm3: Figure

    def as_json(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "parts_by_weight": self.parts_by_weight,
            "parts_by_volume": self.parts_by_volume,
            "density_g_cm3": self.density_g_cm3.as_json(),
        }


@dataclass(frozen=True, slots=True)
class Suitability:
    """How well an elastomer serves one family of part."""

    family: str
    verdict: str
    """good, fair or poor."""
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Elastomer:
    """An elastomer of the table, or one `changed` from it. Its annotated fields are the keys of `FIGURES`."""

    id: str
    chemistry: str
    """The class: polyurethane, silicone_pt, silicone_sn, polysulfide."""
    title: str
    """The class in words."""
    changed_by: str = ""
    """Source of the figures that replace the table's; empty for an elastomer of the table."""

    # fmt: off
    hardness_shore_a: Annotated[Figure, FigureInfo("number", 1.0, 95.0, "Hardness",
        "Shore A hardness of the cured rubber; the modulus follows from it.")]
    modulus_mpa: Annotated[Figure, FigureInfo("modulus", 0.05, 200.0, "Young's modulus",
        "Young's modulus at small strain; left out, it follows from the hardness.")]
    density_g_cm3: Annotated[Figure, FigureInfo("density", 0.5, 3.0, "Density",
        "Density of the mix, and of the cured rubber.")]
    linear_shrinkage: Annotated[Figure, FigureInfo("ratio", 0.0, 0.15, "Linear shrinkage",
        "Mold less part, over mold, a day or more after demoulding.")]
    b_per_a_by_weight: Annotated[Figure, FigureInfo("ratio", 0.001, 100.0, "B to A by weight",
        "Grams of B for one gram of A: 0.1 for a mix of 100 to 10.")]
    b_per_a_by_volume: Annotated[Figure, FigureInfo("ratio", 0.001, 100.0, "B to A by volume",
        "Volume of B for one volume of A: 0.5 for a mix of 2 to 1.")]
    a_density_g_cm3: Annotated[Figure, FigureInfo("density", 0.5, 3.0, "Density of A",
        "Density of the liquid in tin A.")]
    b_density_g_cm3: Annotated[Figure, FigureInfo("density", 0.5, 3.0, "Density of B",
        "Density of the liquid in tin B.")]
    ratio_error_most: Annotated[Figure, FigureInfo("ratio", 0.001, 0.5, "Mixing error allowed",
        "Error of the mixing ratio that the cure still stands.")]
    mixed_viscosity_pa_s: Annotated[Figure, FigureInfo("viscosity", 0.01, 1000.0, "Mixed viscosity",
        "Viscosity of the fresh mix at 23 °C.")]
    pot_life_s: Annotated[Figure, FigureInfo("time", 30.0, 86400.0, "Pot life",
        "Time from mixing until it no longer flows, at 23 °C.")]
    demould_s: Annotated[Figure, FigureInfo("time", 60.0, 1e6, "Demoulding",
        "Time from pouring until the part can leave its mold, at 23 °C.")]
    full_cure_s: Annotated[Figure, FigureInfo("time", 60.0, 1e7, "Full cure",
        "Time from pouring until the part may work, at 23 °C.")]
    post_cure_degc: Annotated[Figure | None, FigureInfo("temperature", 20.0, 250.0, "Post-cure",
        "Temperature of a later cure that completes the properties.")]
    post_cure_time_s: Annotated[Figure | None, FigureInfo("time", 60.0, 1e6, "Post-cure time",
        "How long it is held at that temperature.")]
    elongation_at_break: Annotated[Figure, FigureInfo("ratio", 0.1, 20.0, "Elongation at break",
        "Longer by this share of its length when it breaks: 5.5 for 550 %.")]
    tensile_mpa: Annotated[Figure, FigureInfo("modulus", 0.1, 100.0, "Tensile strength",
        "Stress on the first section at break.")]
    tear_kn_m: Annotated[Figure, FigureInfo("tear", 0.1, 300.0, "Tear strength",
        "Force that tears it, over the thickness.")]
    service_min_degc: Annotated[Figure, FigureInfo("temperature", -150.0, 30.0, "Coldest use",
        "It stays rubber above this.")]
    service_max_degc: Annotated[Figure, FigureInfo("temperature", 30.0, 350.0, "Hottest use",
        "It lasts below this.")]
    stretch_usual: Annotated[Figure, FigureInfo("ratio", 0.0, 0.5, "Usual stretch",
        "Stretch at which it is usually fitted for years: 0.05 for 5 %.")]
    stretch_most: Annotated[Figure, FigureInfo("ratio", 0.0, 0.5, "Largest stretch",
        "Largest stretch that it bears for years.")]
    relaxation: Annotated[Figure, FigureInfo("ratio", 0.0, 1.0, "Relaxation",
        "Share of a stretched part's tension that is lost in the first weeks.")]
    friction: Annotated[Figure, FigureInfo("ratio", 0.02, 3.0, "Friction",
        "Coefficient of friction on clean dry metal.")]
    bond_strength_mpa: Annotated[Figure, FigureInfo("modulus", 0.0, 50.0, "Bond to primed metal",
        "Strength of the bond when cast onto blasted, degreased, primed metal.")]
    bond_strength_unprimed_mpa: Annotated[Figure, FigureInfo("modulus", 0.0, 50.0, "Bond to bare metal",
        "Strength of the bond when cast onto roughened, degreased metal.")]
    least_wall_mm: Annotated[Figure, FigureInfo("length", 0.1, 50.0, "Thinnest wall",
        "Thinnest wall that fills and comes out sound.")]
    # fmt: on

    a_name: str
    b_name: str
    inhibited_by: tuple[str, ...]
    sticks_to: tuple[str, ...]
    does_not_stick_to: tuple[str, ...]
    release: tuple[str, ...]
    hazards: tuple[str, ...]
    notes: tuple[str, ...]
    uses: tuple[Suitability, ...]

    @property
    def label(self) -> str:
        """Class and hardness, for messages."""
        return f"{self.title}, {self.hardness_shore_a.value:g} A"

    @property
    def mix(self) -> tuple[MixComponent, MixComponent]:
        """The two tins and their parts, with 100 parts of A."""
        return (
            MixComponent(self.a_name, 100.0, 100.0, self.a_density_g_cm3),
            MixComponent(
                self.b_name,
                100.0 * self.b_per_a_by_weight.value,
                100.0 * self.b_per_a_by_volume.value,
                self.b_density_g_cm3,
            ),
        )

    def figure(self, name: str) -> Figure:
        """The figure of a name in `FIGURES`. Raises UnknownFigureError, also where the class has none."""
        figure: Figure | None = getattr(self, name) if name in FIGURES else None
        if figure is None:
            raise UnknownFigureError(self.id, name)
        return figure

    def suitability(self, family: str) -> Suitability | None:
        """What the table says of the family, or None where it says nothing."""
        return next((use for use in self.uses if use.family == family), None)

    def changed(self, *, source: str, **figures: float) -> Self:
        """A copy in which the given figures, in the units of their names, replace those of the table.

        A plain number is taken as it stands; the half-width typed with an `Estimate` gives low and high.
        What follows from the new figures follows anew: the modulus from a hardness (Gent 1958) unless it
        is given too, and each mixing ratio from the other and the densities unless both are given.
        Raises RangeError for a figure outside its limits in `FIGURES`.
        """
        unknown = figures.keys() - FIGURES.keys()
        if unknown:
            raise UnknownFigureError(self.id, min(unknown))
        for name, value in figures.items():
            require_range(name, value, FIGURES[name].least, FIGURES[name].most)
        new = {name: _given(value, source, FIGURES[name]) for name, value in figures.items()}
        if "hardness_shore_a" in new and "modulus_mpa" not in new:
            new["modulus_mpa"] = modulus_from_hardness(hardness_shore_a=new["hardness_shore_a"].value)
        changes: dict[str, Any] = new
        changed = replace(self, changed_by=source, **changes)
        if figures.keys() >= {"b_per_a_by_weight", "b_per_a_by_volume"}:
            return changed
        if "b_per_a_by_volume" in figures:
            return replace(changed, b_per_a_by_weight=_by_weight(changed))
        if figures.keys() & {"b_per_a_by_weight", "a_density_g_cm3", "b_density_g_cm3"}:
            return replace(changed, b_per_a_by_volume=_by_volume(changed))
        return changed

    def as_json(self) -> dict[str, Any]:
        """The row that `moldgen elastomers --json` prints; a figure that the class has not got is null."""
        figures = {name: getattr(self, name) for name in FIGURES}
        return {
            "id": self.id,
            "class": self.chemistry,
            "label": self.label,
            "changed_by": self.changed_by or None,
            **{name: figure.as_json() if figure else None for name, figure in figures.items()},
            "mix": [component.as_json() for component in self.mix],
            **{name: list(getattr(self, name)) for name in _PHRASES},
            "uses": {use.family: {"verdict": use.verdict, "reason": use.reason} for use in self.uses},
        }


FIGURES: Final[Mapping[str, FigureInfo]] = {
    name: hint.__metadata__[0]
    for name, hint in get_type_hints(Elastomer, include_extras=True).items()
    if hasattr(hint, "__metadata__")
}
"""Every figure, in the order above. The limits refuse slips of the unit; they are not what rubber can be."""

_PHRASES: Final = ("inhibited_by", "sticks_to", "does_not_stick_to", "release", "hazards", "notes")
_OPTIONAL: Final = ("post_cure_degc", "post_cure_time_s")
_USE: Final = "use_"


class UnknownElastomerError(MoldgenError, KeyError):
    """There is no elastomer of this id; `near` holds the ids most like it."""

    def __init__(self, id: str, near: tuple[str, ...]) -> None:
        super().__init__(id, near)
        self.id, self.near = id, near

    def __str__(self) -> str:
        hint = f"; did you mean {' or '.join(self.near)}?" if self.near else ""
        return f"there is no elastomer {self.id!r}{hint}"


class UnknownFigureError(MoldgenError, KeyError):
    """The elastomer has no figure of this name."""

    def __init__(self, id: str, name: str) -> None:
        super().__init__(id, name)
        self.id, self.name = id, name

    def __str__(self) -> str:
        return f"{self.id} has no figure {self.name!r}"


class ElastomerTableError(MoldgenError):
    """The table cannot be used; the message says which row or figure."""


@cache
def table() -> tuple[Elastomer, ...]:
    """Every elastomer, in the order of the file."""
    return _made_of(_of_the_table())


def find(id: str) -> Elastomer:
    """The elastomer of an id, as in `pu_60a`. Raises UnknownElastomerError."""
    things = _of_the_table()
    if "class" in things.get(id, {}):
        return _elastomer(id, things)
    from difflib import get_close_matches

    near = get_close_matches(id.lower(), [name for name, rows in things.items() if "class" in rows], n=3, cutoff=0.6)
    raise UnknownElastomerError(id, tuple(near))


def modulus_from_hardness(*, hardness_shore_a: float) -> Figure:
    """Young's modulus by Gent 1958 and its spread, wider outside 20 to 80 A, where the source says so."""
    least, most = GENT_USABLE_SHORE_A
    modulus_mpa = gent_modulus_mpa(hardness_shore_a=hardness_shore_a)
    spread, source = GENT_SPREAD, "from the hardness by Gent 1958"
    if not least <= hardness_shore_a <= most:
        spread = EXTRAPOLATED_SPREAD
        source += f", extrapolated: outside {least:g} to {most:g} A it is not known to hold, measure it"
    source += f"; ± {100.0 * spread:.0f} %"
    return Figure(modulus_mpa * (1.0 - spread), modulus_mpa, modulus_mpa * (1.0 + spread), source)


def _given(value: float, source: str, info: FigureInfo) -> Figure:
    # Undoes u = a/√3, which the spec made of a typed ± a.
    half_width = math.sqrt(3.0) * value.u if isinstance(value, Estimate) else 0.0
    low, high = max(info.least, value - half_width), min(info.most, value + half_width)
    return Figure(low, float(value), high, source)


def _by_volume(elastomer: Elastomer) -> Figure:
    factor = elastomer.a_density_g_cm3.value / elastomer.b_density_g_cm3.value
    return _scaled(elastomer.b_per_a_by_weight, factor, "from the ratio by weight and the densities of A and B")


def _by_weight(elastomer: Elastomer) -> Figure:
    factor = elastomer.b_density_g_cm3.value / elastomer.a_density_g_cm3.value
    return _scaled(elastomer.b_per_a_by_volume, factor, "from the ratio by volume and the densities of A and B")


def _scaled(figure: Figure, factor: float, source: str) -> Figure:
    return Figure(figure.low * factor, figure.value * factor, figure.high * factor, source)


# --- the file ------------------------------------------------------------------------------------------

_Rows = dict[str, list[tuple[int, dict[str, str]]]]
"""What is said of one thing: the rows of each heading, with their line."""


def read(path: Path) -> tuple[Elastomer, ...]:
    """The elastomers in a file. Raises ElastomerTableError."""
    return _made_of(_things(path))


def _made_of(things: dict[str, _Rows]) -> tuple[Elastomer, ...]:
    return tuple(_elastomer(id, things) for id, rows in things.items() if "class" in rows)


@cache
def _of_the_table() -> dict[str, _Rows]:
    return _things(TABLE)


def _things(path: Path) -> dict[str, _Rows]:
    """All that the file speaks of; what has a row `class` is an elastomer, the others are classes."""
    things: dict[str, _Rows] = {}
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        for row in reader:
            things.setdefault(row["of"], {}).setdefault(row["what"], []).append((reader.line_num, row))
    return things


def _elastomer(id: str, things: dict[str, _Rows]) -> Elastomer:
    """The elastomer of an id; its own rows go before those of its class."""
    rows = {**things[_words(things[id], "class", id)[0]], **things[id]}
    unknown = [what for what in rows if what not in _HEADINGS and not what.startswith(_USE)]
    if unknown:
        raise ElastomerTableError(f"{id}: nothing is called {unknown[0]!r} (line {rows[unknown[0]][0][0]})")
    figures: dict[str, Any] = {}
    for name, info in FIGURES.items():
        heading = _heading(name, info)
        if heading in rows:
            figures[name] = _figure_of(id, info, *rows[heading][0])
        elif name in _OPTIONAL:
            figures[name] = None
        elif name == "modulus_mpa":
            figures[name] = modulus_from_hardness(hardness_shore_a=figures["hardness_shore_a"].value)
        else:
            raise ElastomerTableError(f"{id}: no row says {heading!r}, nor does its class's")
    phrases: dict[str, Any] = {what: _words(rows, what, id) for what in _PHRASES}
    uses = tuple(
        Suitability(what.removeprefix(_USE), *_words(rows, what, id)[0].split(": ", 1))
        for what in rows
        if what.startswith(_USE)
    )
    return Elastomer(
        id=id,
        chemistry=_words(rows, "class", id)[0],
        title=_words(rows, "title", id)[0],
        a_name=_words(rows, "a_name", id)[0],
        b_name=_words(rows, "b_name", id)[0],
        uses=uses,
        **phrases,
        **figures,
    )


def _heading(name: str, info: FigureInfo) -> str:
    """What the table and a spec call a figure: its name without the unit."""
    return name.removesuffix(_KINDS[info.kind][0])


_HEADINGS: Final = {_heading(name, info) for name, info in FIGURES.items()} | {
    "class",
    "title",
    "a_name",
    "b_name",
    *_PHRASES,
}


def _words(rows: _Rows, what: str, id: str) -> tuple[str, ...]:
    if what not in rows:
        raise ElastomerTableError(f"{id}: no row says {what!r}, nor does its class's")
    return tuple(row["words"] for _, row in rows[what])


def _figure_of(id: str, info: FigureInfo, line: int, row: dict[str, str]) -> Figure:
    try:
        factor = TEMPERATURE[row["unit"]][0] if info.kind == "temperature" else UNITS[info.kind][row["unit"]]
        # Twelve digits: 35 % is to read 0.35 and not 0.35000000000000003.
        low, value, high = (float(f"{float(row[end]) * factor:.12g}") for end in ("low", "value", "high"))
    except (KeyError, ValueError):
        raise ElastomerTableError(f"{id}: line {line} wants three numbers and a unit of {info.kind}") from None
    if not info.least <= low <= value <= high <= info.most or not row["words"]:
        raise ElastomerTableError(
            f"{id}: line {line} wants low <= value <= high, within {info.least:g} to {info.most:g}, and words"
        )
    return Figure(low, value, high, row["words"])
