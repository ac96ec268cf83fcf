"""Every reader of something that a person brings, as a function from a file to nothing.

Whatever the file holds, a reader either comes back or raises one of the house's own errors. The fuzzer in benchmarks/
and the tests of this folder call the same functions.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from moldgen import case, planning, sizing
from moldgen.errors import MoldgenError
from moldgen.families.base import Sizes
from moldgen.feedback import castings, machine, tone
from moldgen.outlines import reading
from moldgen.quantities import UNITS, QuantityError, parsed, parsed_readings
from moldgen.spec import document

TONE_HZ: Final = 1500.0
SPEC: Final = """\
family: {family}
name: attacked
elastomer: {elastomer}
printer: {printer}
measured: {measured}
wanted: {wanted}
"""
TYRE: Final = {
    "family": "idler_tyre",
    "elastomer": "pu_60a",
    "printer": "filament_0_4",
    "measured": "{hub_diameter: 30 mm, hub_width: 6 mm}",
    "wanted": "{fitted_diameter: 38 mm, fitted_width: 5 mm}",
}
SIZES: Final = Sizes(
    *({"inner_diameter_mm": bore, "outer_diameter_mm": 37.0, "width_mm": 5.0} for bore in (30.0, 28.6, 28.7))
)


def quantity(path: Path) -> None:
    """A text as a quantity of every kind, by itself and as one of several readings."""
    text = path.read_bytes().decode("utf-8", "replace")
    for kind in (*UNITS, "temperature"):
        for read in (parsed, lambda t, k: parsed_readings([t, "1", t], k)):
            try:
                read(text, kind)
            except QuantityError as error:
                assert error.limit and error.way_out


def spec(path: Path) -> None:
    """Everything that `moldgen build` does with a spec before it loads the kernel."""
    planning.planned(sizing.size(case.load(path)))


def elastomer(path: Path) -> None:
    _beside(path, elastomer=f"{{file: {path.name}}}")


def printer(path: Path) -> None:
    _beside(path, printer=f"{{file: {path.name}}}")


def outline(path: Path) -> None:
    _beside(
        path,
        family="outline_part",
        measured="{}",
        wanted=f"{{outline: {path.name}, thickness: 2 mm}}",
    )


def drawing(path: Path) -> None:
    """An outline whose unit the person has stated; a file that states its own refuses it early."""
    reading.read(path, unit="mm")


def readings(path: Path) -> None:
    castings.read(path, sizes=SIZES, family="idler_tyre")


def drive(path: Path) -> None:
    loaded, _ = machine.load(path)
    machine.computed_speed(loaded)
    machine.turning(loaded)


def recording(path: Path) -> None:
    samples, rate_hz = tone.recording(path)
    tone.read_tone(samples, rate_hz, TONE_HZ)


def _beside(path: Path, **sections: str) -> None:
    """A sound spec in the file's folder that names the file."""
    text = SPEC.format(**{**TYRE, **sections})
    sizing.size(case.from_document(document.parse(text, (path.parent / "attacked.yaml").as_posix())))


READERS: Final[dict[str, tuple[str, Callable[[Path], None]]]] = {
    "quantity": (".txt", quantity),
    "spec": (".yaml", spec),
    "elastomer": (".yaml", elastomer),
    "printer": (".yaml", printer),
    "castings_csv": (".csv", readings),
    "castings_yaml": (".yaml", readings),
    "machine": (".yaml", drive),
    "dxf": (".dxf", outline),
    "svg": (".svg", outline),
    "svg_of_stated_unit": (".svg", drawing),
    "tone": (".wav", recording),
}
"""Name of a reader: how its files' names end, and the reader."""


def refused(reader: Callable[[Path], None], path: Path) -> str:
    """What the reader says against a file, "" if it takes it. Lets every error through that is not the house's."""
    try:
        reader(path)
    except MoldgenError as error:
        said = str(error)
        assert said and "Traceback" not in said
        said.encode("utf-8")  # it can be printed
        return said
    return ""
