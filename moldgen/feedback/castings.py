"""Measured castings and printed molds: a CSV table or a YAML list, each reading tied to a dimension of the build.

    of,dimension,reading
    mold,outer_diameter,36.70 ± 0.03 mm
    casting,outer_diameter,36.61 ± 0.05 mm
    fitted,outer_diameter,37.84 ± 0.05 mm

A build with a calibration coupon has the coupon's lengths too. Rows without a reading are those not measured yet.
Both become one `Document`, so that a slip is told with its file, line, field and way out in either.
"""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import Field

from moldgen.errors import OutputError, Problem, SpecError
from moldgen.families.base import Sizes
from moldgen.quantities import Estimate, standard_uncertainty
from moldgen.spec import document as documents
from moldgen.spec.document import Document, Node, Place
from moldgen.spec.sections import Line, Section, quantity
from moldgen.spec.validation import validated

Of = Literal["mold", "casting", "fitted"]
"""What was measured: the printed mold, the part lying free, or the part in place on its metal."""

Over = Literal["outside", "inside", "one_wall", "middle", "height"]
"""What a length runs between, told on the part: its outside (two walls of the cavity), its inside (over a core),
from a middle to one outer wall, between middles, or along the printer's upright axis."""

CALIPER_HALF_WIDTH_MM: Final = 0.03
"""Taken for a reading typed without ±: what a workshop caliper is good for (common practice, no source)."""

FARTHEST: Final = 0.2
FARTHEST_MM: Final = 1.0
"""A reading that is off by more than both is a slip of unit or of name, not a shrinkage."""

MOST_READINGS: Final = 500

_OVER: Final[Mapping[str, Over]] = {
    "outer_diameter_mm": "outside",
    "inner_diameter_mm": "inside",
    "bore_diameter_mm": "inside",
    "pin_bore_diameter_mm": "inside",
    "reach_mm": "one_wall",
    "tip_radius_mm": "one_wall",
    "length_mm": "middle",
    "width_mm": "height",
    "thickness_mm": "height",
    "height_mm": "height",
    "diameter_mm": "outside",
}
_OVER_IN_FAMILY: Final[Mapping[tuple[str, str], Over]] = {
    ("belt", "height_mm"): "outside",  # along the pulleys' radius, which lies flat on the bed
    ("outline_part", "length_mm"): "outside",
    ("outline_part", "width_mm"): "outside",
}
_TOO_SMALL: Final = ("crown_mm", "edge_mm")

COUPON: Final = "coupon_"
"""What the names of a calibration coupon's lengths begin with."""
_OVER_ON_COUPON: Final[Mapping[str, Over]] = {
    # Told as on a part cast over it: a pin is a core, a hole is a cavity.
    "boss": "inside",
    "plate": "inside",
    "hole": "outside",
    "slot": "outside",
    "bar": "outside",
    "step": "height",
}


class CastingRow(Section):
    """One reading, as a row of the table or an item of the list."""

    of: Of = Field(description="What was measured: mold, casting, or fitted (the part in place).")
    dimension: Line = Field(description="Its name in the build's mold and free dimensions, such as outer_diameter.")
    reading_mm: Annotated[Estimate, quantity("length", 0.05, 2000.0)] = Field(
        description="What the caliper says, with its ±."
    )
    length: Over | None = Field(
        default=None,
        description="Only where the name does not tell: outside, inside, one_wall, middle or height.",
    )
    piece: Line | None = Field(default=None, description="Which casting, for your own records.")
    note: Line | None = Field(default=None, description="Anything worth keeping.")


class CastingsFile(Section):
    """A YAML file of castings."""

    castings: tuple[CastingRow, ...] = Field(description="The readings, one item each.")


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured length and the dimension of the build that it is a reading of."""

    of: Of
    dimension: str
    """With its unit, as in `sizing.mold`."""
    over: Over
    value_mm: Estimate
    line: int

    def __str__(self) -> str:
        return f"line {self.line}: {self.of} {self.dimension.removesuffix('_mm').replace('_', ' ')}"


@dataclass(frozen=True, slots=True)
class Castings:
    """All readings of a file."""

    file: str
    readings: tuple[Reading, ...]
    assumed: int
    """How many were typed without ± and taken as a caliper's."""
    not_filled_in: int = 0
    """Rows of a table that have no reading."""


def read(path: Path, *, sizes: Sizes, family: str, cast_on: bool = False, ground: bool = False) -> Castings:
    """The readings in a CSV or YAML file, each checked against the build's dimensions.

    `ground` says that the part is ground once it is in place. Raises SpecError with every problem, OutputError where
    the file cannot be read.
    """
    text, file = _text(path), path.as_posix()
    not_filled_in = 0
    if path.suffix.lower() in (".yaml", ".yml"):
        document = documents.parse(text, file)
    else:
        document, not_filled_in = _table(text, file)
    rows = validated(CastingsFile, document).castings
    if not 1 <= len(rows) <= MOST_READINGS:
        problem = document.problem(
            ("castings",), limit=f"1 to {MOST_READINGS} readings are taken", way_out="Give one row for each reading."
        )
        raise SpecError((problem,))
    problems: list[Problem] = []
    readings: list[Reading] = []
    for index, row in enumerate(rows):
        wrong = _wrong(document, index, row, sizes, family, cast_on=cast_on, ground=ground)
        if wrong is not None:
            problems.append(wrong)
            continue
        name = full_name(row.dimension)
        over = row.length or over_of(name, family)
        assert over is not None
        readings.append(Reading(row.of, name, over, _sure(row.reading_mm), document.line(("castings", index))))
    if problems:
        raise SpecError(tuple(problems))
    assumed = sum(row.reading_mm.u == 0.0 for row in rows)
    return Castings(document.file, tuple(readings), assumed, not_filled_in)


def full_name(dimension: str) -> str:
    """A dimension's name as the build has it: people leave the unit out.

    >>> full_name("outer diameter"), full_name("width_mm")
    ('outer_diameter_mm', 'width_mm')
    """
    name = dimension.strip().lower().replace(" ", "_")
    return name if name.endswith("_mm") else f"{name}_mm"


def over_of(name: str, family: str) -> Over | None:
    """What a dimension of a family runs between; None where only the person knows.

    >>> over_of("height_mm", "belt"), over_of("height_mm", "turned_part"), over_of("hole_2_diameter_mm", "outline_part")
    ('outside', 'height', 'inside')
    >>> over_of("coupon_boss_1_diameter_mm", "belt"), over_of("coupon_hole_5_diameter_mm", "belt")
    ('inside', 'outside')
    """
    if name.startswith("hole_"):
        return "inside"
    if name.startswith(COUPON):
        return _OVER_ON_COUPON.get(name.removeprefix(COUPON).split("_")[0])
    return _OVER_IN_FAMILY.get((family, name)) or _OVER.get(name)


def _sure(reading: Estimate) -> Estimate:
    if reading.u > 0.0:
        return reading
    return Estimate(reading, u=standard_uncertainty(half_width=CALIPER_HALF_WIDTH_MM), text=reading.text)


def _wrong(
    document: Document, index: int, row: CastingRow, sizes: Sizes, family: str, *, cast_on: bool, ground: bool
) -> Problem | None:
    """The first thing wrong with a row, judged by the build."""
    name = full_name(row.dimension)
    nominals = {"mold": sizes.mold, "casting": sizes.free, "fitted": sizes.fitted}[row.of]

    def problem(key: str, limit: str, way_out: str) -> Problem:
        return document.problem(("castings", index, key), limit=limit, way_out=way_out)

    if name not in nominals:
        near = difflib.get_close_matches(name, nominals, n=1, cutoff=0.5)
        known = ", ".join(key.removesuffix("_mm") for key in nominals)
        hint = f"Did you mean `{near[0].removesuffix('_mm')}`? " if near else ""
        return problem("dimension", f"the build has no such dimension of a {row.of}", f"{hint}It has {known}.")
    if name in _TOO_SMALL:
        return problem("dimension", "it is too small to tell anything of shrinkage", "Leave this row out.")
    if row.length is not None and name.startswith(COUPON):
        return problem("length", "the coupon's own lengths are known", "Leave this cell empty.")
    if row.length is None and over_of(name, family) is None:
        return problem(
            "length", "how the printer treats this length is not known from its name", "Say `outside` or `inside`."
        )
    if row.of == "fitted" and cast_on:
        return problem("of", "a part cast on its metal is not stretched", "Write `casting`.")
    if row.of == "fitted" and ground and name == "outer_diameter_mm":
        return problem("of", "in place it has been ground, so it tells nothing", "Measure it before, as `casting`.")
    nominal = nominals[name]
    if abs(row.reading_mm - nominal) > max(FARTHEST * nominal, FARTHEST_MM):
        return problem("reading", f"the build has {nominal:.2f} mm here", "Check the unit, the name and the reading.")
    return None


# --- CSV -------------------------------------------------------------------------------------------------------------


def _text(path: Path) -> str:
    file = path.as_posix()
    try:
        if not path.is_file():
            raise OutputError(f"{file}: there is no such file. Give the path of a table of castings.")
        if path.stat().st_size > documents.LARGEST_FILE:
            raise OutputError(f"{file}: larger than 1 MB, which is no table of castings. Give the table itself.")
        return path.read_bytes().decode("utf-8-sig") if path.stat().st_size else ""
    except OSError as error:
        raise OutputError(f"{file}: cannot be read ({error.strerror}). Check the path and its permissions.") from error
    except UnicodeDecodeError as error:
        raise OutputError(f"{file}: it is not UTF-8 text. Save the table as UTF-8 text.") from error


def _table(text: str, file: str) -> tuple[Document, int]:
    """A CSV table as the document that the YAML form would be, every place with its line; and its rows not filled in.

    A row is not filled in where it names what to measure and its reading is empty.
    """
    documents.refuse_control_characters(text, file)
    header, rows = _cells(text, file)
    _check_header(file, header)
    if len(rows) > MOST_READINGS:
        limit, way_out = f"1 to {MOST_READINGS} readings are taken", "Give one row for each reading."
        raise SpecError((Problem(file, rows[MOST_READINGS][0], "the table", f"{len(rows)} rows", limit, way_out),))
    items: list[Node] = []
    lines: dict[Place, int] = {("castings",): 1}
    waiting = 0
    for line, cells in rows:
        if len(cells) > len(header):
            limit, way_out = f"the table has {len(header)} columns", "Put quotes round a cell that holds a comma."
            raise SpecError((Problem(file, line, "the row", f"{len(cells)} cells", limit, way_out),))
        row: dict[str, Node] = {key: cell for key, cell in zip(header, cells, strict=False) if cell}
        if "reading" not in row and {"of", "dimension"} <= row.keys():
            waiting += 1
            continue
        place = ("castings", len(items))
        lines |= {place: line} | {(*place, key): line for key in header}
        items.append(row)
    if waiting and not items:
        limit = "it is needed, and none of the table's rows has one"
        way_out = "Fill in what you measured, as in 12.04 ± 0.03 mm."
        raise SpecError((Problem(file, rows[0][0], "castings[1].reading", "empty", limit, way_out),))
    return Document(file=file, data={"castings": items}, lines=lines, text=text), waiting


def _cells(text: str, file: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The header, and the rows below it with their lines; empty ones and those that begin with # are left out."""
    table = csv.reader(io.StringIO(text), delimiter=_delimiter(text), skipinitialspace=True)
    rows = []
    begins = 1
    try:
        for row in table:
            cells = [cell.strip() for cell in row]
            if any(cells) and not cells[0].startswith("#"):
                rows.append((begins, cells))
            begins = table.line_num + 1
    except csv.Error as error:
        problem = Problem(file, table.line_num, "the row", "not CSV", str(error), "Check the quotes on this line.")
        raise SpecError((problem,)) from error
    if not rows:
        return [], []
    return [cell.lower() for cell in rows[0][1]], rows[1:]


def _delimiter(text: str) -> str:
    """Spreadsheets of countries with a decimal comma write semicolons."""
    first = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    return ";" if first.count(";") > first.count(",") else ","


def _check_header(file: str, header: list[str]) -> None:
    problems = tuple(_header_problems(file, header))
    if problems:
        raise SpecError(problems)


def _header_problems(file: str, header: list[str]) -> Iterator[Problem]:
    known = {info.alias or name: info for name, info in CastingRow.model_fields.items()}
    if len(header) > 2 * len(known):
        yield Problem(file, 1, "the header", f"{len(header)} columns", f"known: {', '.join(known)}", "Keep these.")
        return
    missing = [key for key, info in known.items() if info.is_required() and key not in header]
    for key in header:
        if key in known:
            if header.count(key) > 1:
                yield Problem(file, 1, "the header", f"`{key}` twice", "a column has one name", "Keep one of the two.")
                return
            continue
        near = difflib.get_close_matches(key, missing or known, n=1, cutoff=0.6)
        if near:
            missing = [other for other in missing if other != near[0]]
        way_out = f"Did you mean `{near[0]}`?" if near else f"Known: {', '.join(known)}."
        yield Problem(file, 1, "the header", f"`{key}`", "there is no column of this name", way_out)
    for key in missing:
        yield Problem(
            file,
            1,
            "the header",
            "missing",
            f"a column `{key}` is needed",
            "The first line reads `of,dimension,reading`.",
        )
