"""The page of a kit: a card for each part that was built together, and one weigh-out for all of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from moldgen.kitting import KitPart, weigh_out_kit
from moldgen.output import directory
from moldgen.output.sheet.data import HOURS, Cup, cup
from moldgen.output.sheet.figures import Number, Record, Words, fixed, plain
from moldgen.output.sheet.html import PART_PICTURE, SHEET_FILE, embedded, page

if TYPE_CHECKING:
    from moldgen.job import Build
    from moldgen.many import Standing

KIT_FILE: Final = "index.html"


@dataclass(frozen=True, slots=True)
class Card:
    """A part of the kit, with the way to its own sheet."""

    name: Words
    family: str
    machine: Words | None
    elastomer: Words
    quantity: Number
    sheet: str
    png: str
    passed: bool
    hours: Number
    plastic: Number


@dataclass(frozen=True, slots=True)
class KitCupBlock:
    """A cup of the kit: what is weighed, when, and what it fills."""

    number: Number
    round: Number
    elastomer: Words
    parts: tuple[Words, ...]
    cup: Cup
    starts: str
    poured: str
    opens: str


def write_kit_page(out: Path, builds: Sequence[Build | Standing]) -> Path:
    """Writes out/index.html for parts built together; an earlier one stands until then. Raises OutputError."""
    parts = [KitPart(build.sizing.case, build.plan, build.plan.pour_mm3, "built now", build.passed) for build in builds]
    kit = weigh_out_kit(parts, spare=None, scale_step_g=None).as_json()
    record = Record({"kit": kit, "builds": [build.as_json() for build in builds]})
    text = page(
        "kit.html.j2",
        cards=tuple(_card(record, index, build) for index, build in enumerate(builds)),
        cups=tuple(_cups(record)),
        rounds=max(entry["round"] for entry in kit["batches"]),
        warnings=tuple(record.words(f"kit.warnings.{i}.text") for i in range(len(kit["warnings"]))),
    )
    path = out / KIT_FILE
    directory.written(path, text)
    return path


def _card(record: Record, index: int, build: Build | Standing) -> Card:
    key = f"builds.{index}"
    return Card(
        record.words(f"{key}.name"),
        build.sizing.case.family.title,
        record.words(f"{key}.machine") if record[f"{key}.machine"] else None,
        record.words(f"{key}.elastomer.label"),
        record.number(f"{key}.quantity", plain),
        f"{build.directory.name}/{SHEET_FILE}",
        embedded((build.directory / PART_PICTURE).read_bytes()),
        build.passed,
        record.number(f"{key}.printing.time_s", fixed(1), per=HOURS),
        record.number(f"{key}.printing.plastic_g", fixed(0)),
    )


def _cups(record: Record) -> Iterator[KitCupBlock]:
    batches: list[dict[str, Any]] = record["kit.batches"]
    labels = {record[f"builds.{i}.elastomer.id"]: f"builds.{i}.elastomer.label" for i in range(len(record["builds"]))}
    for index, batch in enumerate(batches):
        key = f"kit.batches.{index}"
        yield KitCupBlock(
            record.number(f"{key}.cup", plain),
            record.number(f"{key}.round", plain),
            record.words(labels[batch["elastomer"]]),
            record.all_words(f"{key}.parts"),
            cup(record, f"{key}.sound_mix" if batch["sound_mix"] else key, poured=f"{key}.poured_g"),
            *(_clock(batch[f"{name}_s"]) for name in ("starts", "poured", "demould")),
        )


def _clock(seconds: float) -> str:
    """Since the first cup, in hours and minutes, as a timer shows it."""
    minutes = round(seconds / 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}"
