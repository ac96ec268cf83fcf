"""Everything that a job sheet shows, read from a build's record and set in the order of the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from moldgen.elastomers import FIGURES
from moldgen.naming import named
from moldgen.output.sheet.figures import Number, Record, Words, fixed, plain, short

SHOWN_HALF_WIDTH_MM: Final = 0.005
"""A half-width that would read 0.00 is not shown."""
MOST_RINGS: Final = 5
HOURS: Final = 3600.0
STAGES: Final = ("fitted", "free", "mold")
BODIES: Final = {
    "mold_lower": "lower half",
    "mold_upper": "upper half",
    "core": "core",
    "jig_wedge": "wedge to pour on",
}


@dataclass(frozen=True, slots=True)
class Size:
    """One dimension at one stage, with the half-width of its 95 % range."""

    value: Number
    half: Number | None


@dataclass(frozen=True, slots=True)
class DimensionRow:
    """One dimension in all three stages."""

    label: str
    unit: str
    stages: tuple[Size | None, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """What was measured, as typed, and how much of the worst uncertainty it brings."""

    name: Words
    given: Words
    size: Size
    unit: str


@dataclass(frozen=True, slots=True)
class Share:
    """What an input adds to the uncertainty of the mold's least certain dimension."""

    field: Words
    given: Words
    percent: Number


@dataclass(frozen=True, slots=True)
class Expected:
    """A prediction with its range, and what it rests on."""

    label: str
    unit: str
    value: Number
    range: tuple[Number, Number] | None
    basis: Words


@dataclass(frozen=True, slots=True)
class Group:
    """Predictions of several like things: one column for each."""

    title: str
    members: tuple[Words, ...]
    rows: tuple[tuple[Expected | None, ...], ...]

    @property
    def units(self) -> tuple[str, ...]:
        return tuple(next(cell for cell in row if cell).unit for row in self.rows)

    @property
    def bases(self) -> tuple[tuple[str, Words], ...]:
        """What each row rests on, once."""
        firsts = [next(cell for cell in row if cell) for row in self.rows]
        return tuple((first.label, first.basis) for first in firsts)


@dataclass(frozen=True, slots=True)
class StandardRing:
    """A ring that can be bought, and how it would sit."""

    name: Words
    size: Words
    inner: Number
    section: Number
    stretch_percent: Number
    in_place: Number


@dataclass(frozen=True, slots=True)
class PrintRow:
    """A body on the printer."""

    what: str
    file: str
    copies: Number
    lies: Words
    size: tuple[Number, ...]
    plastic: Number
    hours: Number


@dataclass(frozen=True, slots=True)
class Cup:
    """What goes into the cup."""

    lines: tuple[tuple[Words, Number], ...]
    total: Number
    poured: Number
    sound: bool
    off_percent: Number
    reading_percent: Number


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, with the cautions that belong there."""

    title: Words
    text: Words
    cautions: tuple[Words, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """One proof's findings."""

    title: str
    passed: bool
    findings: tuple[tuple[bool, Words], ...]


@dataclass(frozen=True, slots=True)
class Source:
    """A figure of the elastomer, its range and where it is from."""

    label: str
    unit: str
    value: Number
    low: Number
    high: Number
    source: Words


@dataclass(frozen=True)
class JobSheet:
    """All that the page says; pictures and drawings come beside it."""

    name: Words
    family: str
    machine: Words | None
    elastomer: Words
    elastomer_id: Words
    changed_by: Words | None
    revision: Number
    quantity: Number
    cavities: Number
    proofs_count: Number
    passed: bool
    warnings: tuple[Words, ...]
    glance: tuple[tuple[str, Number, str], ...]
    rings: tuple[StandardRing, ...]
    readings: tuple[Reading, ...]
    dimensions: tuple[DimensionRow, ...]
    shares: tuple[Share, ...]
    unsure: str
    """The dimension that the shares are of."""
    predictions: tuple[Expected, ...]
    groups: tuple[Group, ...]
    decisions: tuple[tuple[Words, Words], ...]
    printed: tuple[PrintRow, ...]
    settings: tuple[tuple[str, Number | Words, str], ...]
    print_rule: Words
    print_total: tuple[Number, Number]
    needed: tuple[Words, ...]
    cup: Cup
    finer: Number | None
    """Step of a scale on which the smaller cup would be sure, where it is not on this one."""
    times: tuple[tuple[str, Number, str], ...]
    steps: tuple[Step, ...]
    bubbles: tuple[Number, Number]
    vessel: tuple[Number, Number]
    proofs: tuple[Proof, ...]
    sources: tuple[Source, ...]
    notes: tuple[Words, ...]
    files: tuple[tuple[str, tuple[str, ...]], ...]


def job_sheet(content: dict[str, Any], *, family: str) -> JobSheet:
    """The sheet of a build's record; `family` is its name for people."""
    record = Record(content)
    mix = "pour.sound_mix" if record["pour.sound_mix"] else "mix"
    return JobSheet(
        name=record.words("name"),
        family=family,
        machine=record.words("machine") if record["machine"] else None,
        elastomer=record.words("elastomer.label"),
        elastomer_id=record.words("elastomer.id"),
        changed_by=record.words("elastomer.changed_by") if record["elastomer.changed_by"] else None,
        revision=record.number("revision", plain),
        quantity=record.number("quantity", plain),
        cavities=record.number("cavities", plain),
        proofs_count=record.number("inspection.findings", plain),
        passed=bool(record["inspection.passed"]),
        warnings=tuple(record.words(f"warnings.{i}.text") for i in range(len(record["warnings"]))),
        glance=(
            ("to print", record.number("printing.time_s", fixed(1), per=HOURS), "h"),
            ("plastic", record.number("printing.plastic_g", fixed(0)), "g"),
            ("to mix", record.number(f"{mix}.batch_g", plain), "g"),
            ("to pour", record.number("volumes_mm3.pour", fixed(2), per=1000.0), "ml"),
            ("opens after", *_duration(record, "pour.demould_s")),
            ("may work after", *_duration(record, "pour.full_cure_s")),
        ),
        rings=tuple(_ring(record, f"alternatives.{i}") for i in range(min(MOST_RINGS, len(record["alternatives"])))),
        readings=tuple(_reading(record, i) for i in range(len(record["measured"]))),
        dimensions=tuple(_dimensions(record)),
        shares=tuple(
            Share(
                record.words(f"readings.{i}.field"),
                record.words(f"readings.{i}.given"),
                record.number(f"readings.{i}.share", fixed(0), per=0.01),
            )
            for i, reading in enumerate(record["readings"])
            if reading["share"] >= 0.005
        ),
        unsure=_unsure(record),
        predictions=tuple(
            _expected(record, f"predictions.{name}", name)
            for name, entry in record["predictions"].items()
            if isinstance(entry, dict)
        ),
        groups=tuple(_groups(record)),
        decisions=tuple(
            (record.words(f"decisions.{i}.what"), record.words(f"decisions.{i}.why"))
            for i in range(len(record["decisions"]))
        ),
        printed=tuple(_print_row(record, f"printing.bodies.{i}") for i in range(len(record["printing.bodies"]))),
        settings=tuple(_settings(record)),
        print_rule=record.words("printing.rule"),
        print_total=(
            record.number("printing.plastic_g", fixed(0)),
            record.number("printing.time_s", fixed(1), per=HOURS),
        ),
        needed=record.all_words("needed"),
        cup=cup(record, mix, poured="mix.poured_g"),
        finer=_finer(record),
        times=tuple(_times(record)),
        steps=tuple(
            Step(
                record.words(f"steps.{i}.title"),
                record.words(f"steps.{i}.text"),
                record.all_words(f"steps.{i}.cautions"),
            )
            for i in range(len(record["steps"]))
        ),
        bubbles=(
            record.number("pour.smallest_bubble_that_leaves_the_cup_mm", fixed(2)),
            record.number("pour.smallest_bubble_that_leaves_the_part_mm", fixed(2)),
        ),
        vessel=(
            record.number("pour.degassing_vessel_ml.0", fixed(0)),
            record.number("pour.degassing_vessel_ml.1", fixed(0)),
        ),
        proofs=tuple(_proofs(record)),
        sources=tuple(_sources(record)),
        notes=record.all_words("elastomer.notes"),
        files=tuple(_files(record)),
    )


def _duration(record: Record, key: str) -> tuple[Number, str]:
    """In minutes, hours or days, whichever people would say."""
    seconds = float(record[key])
    for unit, per, most in (("min", 60.0, 5400.0), ("h", HOURS, 72.0 * HOURS)):
        if seconds < most:
            return record.number(key, fixed(0), per=per), unit
    return record.number(key, fixed(1) if seconds % 86400.0 else fixed(0), per=86400.0), "days"


def _size(record: Record, key: str) -> Size:
    half = record.number(f"{key}.high", fixed(2), less=f"{key}.value")
    return Size(record.number(f"{key}.value", fixed(2)), half if half.value >= SHOWN_HALF_WIDTH_MM else None)


def _reading(record: Record, index: int) -> Reading:
    key = f"measured.{index}"
    return Reading(
        record.words(f"{key}.name"), record.words(f"{key}.given"), _taken_as(record, key), str(record[f"{key}.unit"])
    )


def _taken_as(record: Record, key: str) -> Size:
    """A reading; other than lengths they are anything from seconds to revolutions a minute."""
    if record[f"{key}.unit"] == "mm":
        return _size(record, key)
    half = record.number(f"{key}.high", short, less=f"{key}.value")
    return Size(record.number(f"{key}.value", plain), half if half.value else None)


def _dimensions(record: Record) -> Iterator[DimensionRow]:
    names = dict.fromkeys(name for stage in STAGES for name in record[stage])
    for name in names:
        label, unit = named(name)
        yield DimensionRow(
            label,
            unit,
            tuple(_size(record, f"{stage}.{name}") if name in record[stage] else None for stage in STAGES),
        )


def _unsure(record: Record) -> str:
    readings = record["readings"]
    return named(readings[0]["of"].removeprefix("mold."))[0] if readings else ""


def _expected(record: Record, key: str, name: str) -> Expected:
    label, unit = named(name)
    low, value, high = (record.number(f"{key}.{end}", short) for end in ("low", "value", "high"))
    spread = None if low.text == value.text == high.text else (low, high)
    return Expected(label, unit, value, spread, record.words(f"{key}.basis"))


def _groups(record: Record) -> Iterator[Group]:
    for title, members in record["predictions"].items():
        if not isinstance(members, list) or not members:
            continue
        names = dict.fromkeys(name for member in members for name in member if name != "name")
        yield Group(
            title,
            tuple(record.words(f"predictions.{title}.{i}.name") for i in range(len(members))),
            tuple(
                tuple(
                    _expected(record, f"predictions.{title}.{i}.{name}", name) if name in member else None
                    for i, member in enumerate(members)
                )
                for name in names
            ),
        )


def _ring(record: Record, key: str) -> StandardRing:
    return StandardRing(
        record.words(f"{key}.standard"),
        record.words(f"{key}.size"),
        record.number(f"{key}.inner_diameter_mm", plain),
        record.number(f"{key}.section_mm", plain),
        record.number(f"{key}.stretch", fixed(1), per=0.01),
        record.number(f"{key}.fitted_section_mm", fixed(2)),
    )


def _print_row(record: Record, key: str) -> PrintRow:
    role = str(record[f"{key}.role"])
    return PrintRow(
        BODIES.get(role, role.replace("_", " ")),
        f"{role}.3mf",
        record.number(f"{key}.copies", plain),
        record.words(f"{key}.lies"),
        tuple(record.number(f"{key}.size_mm.{axis}", fixed(0)) for axis in range(3)),
        record.number(f"{key}.plastic_g", fixed(0)),
        record.number(f"{key}.time_s", fixed(1), per=HOURS),
    )


def _settings(record: Record) -> Iterator[tuple[str, Number | Words, str]]:
    yield "plastic", record.words("printing.plastic"), ""
    yield "layer", record.number("printing.layer_mm", plain), "mm"
    yield "line", record.number("printing.line_width_mm", plain), "mm"
    if record["printing.walls"] is not None:
        yield "walls", record.number("printing.walls", plain), "lines"
        yield "infill", record.number("printing.infill", fixed(0), per=0.01), "%"
    yield "softens at", record.number("printing.softens_degc", fixed(0)), "°C"


def cup(record: Record, key: str, *, poured: str) -> Cup:
    """The weigh-out at a key; `poured` is the key of what fills the molds."""
    return Cup(
        tuple(
            (record.words(f"{key}.components.{i}.name"), record.number(f"{key}.components.{i}.grams", plain))
            for i in range(len(record[f"{key}.components"]))
        ),
        record.number(f"{key}.batch_g", plain),
        record.number(poured, fixed(2)),
        bool(record[f"{key}.sound"]),
        record.number(f"{key}.ratio_error_percent", fixed(1)),
        record.number(f"{key}.reading_error_worst_percent", fixed(1)),
    )


def _finer(record: Record) -> Number | None:
    found = record["mix.finer_scale_step_g"]
    return record.number("mix.finer_scale_step_g", plain) if found is not None else None


def _times(record: Record) -> Iterator[tuple[str, Number, str]]:
    yield "stays pourable", *_duration(record, "pour.pot_life_s")
    yield "left to pour", *_duration(record, "pour.time_to_pour_s")
    yield "filling takes", record.number("pour.fill_s", fixed(1), per=60.0), "min"
    yield "do not open before", *_duration(record, "pour.demould_s")
    yield "may work after", *_duration(record, "pour.full_cure_s")


def _proofs(record: Record) -> Iterator[Proof]:
    """One block for each proof, those that failed first."""
    blocks: dict[str, list[tuple[bool, Words]]] = {}
    for index, finding in enumerate(record["inspection.findings"]):
        words = record.words(f"inspection.findings.{index}.text")
        blocks.setdefault(finding["proof"], []).append((finding["passed"], words))
    proofs = [Proof(name.replace("_", " "), all(ok for ok, _ in of), tuple(of)) for name, of in blocks.items()]
    yield from sorted(proofs, key=lambda proof: proof.passed)


_SHOWN_AS: Final[Mapping[str, tuple[str, float]]] = {"s": ("h", HOURS)}
_SHORT_TIMES: Final = ("pot_life_s",)
_SAID_AS_NUMBERS: Final = ("b_per_a_by_weight", "b_per_a_by_volume", "friction")


def _sources(record: Record) -> Iterator[Source]:
    for name, info in FIGURES.items():
        if record[f"elastomer.{name}"] is None:
            continue
        unit, per = _SHOWN_AS.get(info.unit, (info.unit, 1.0))
        if name in _SHORT_TIMES:
            unit, per = "min", 60.0
        if info.kind == "ratio" and name not in _SAID_AS_NUMBERS:
            unit, per = "%", 0.01
        low, value, high = (
            record.number(f"elastomer.{name}.{end}", short, per=per) for end in ("low", "value", "high")
        )
        yield Source(info.label, unit, value, low, high, record.words(f"elastomer.{name}.source"))


def _files(record: Record) -> Iterator[tuple[str, tuple[str, ...]]]:
    by_role: dict[str, list[str]] = {}
    for entry in record["files"]:
        by_role.setdefault(entry["role"], []).append(entry["path"])
    for role, paths in by_role.items():
        yield BODIES.get(role, role.replace("_", " ")), tuple(paths)
