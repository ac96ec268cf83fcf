"""From caliper readings on bare metal to a printed two-part mold and a weighed pour.

    import moldgen

    sized = moldgen.size(moldgen.load(Path("part_specs/loop_idler.yaml")))
    plan = moldgen.planned(sized)
    build = moldgen.build(sized, Path("out"))

Each stage hands a frozen record to the next; `as_json()` of a record is what the command of the same name prints. The
names in `__all__` are what a script may rely on; everything else may move. Importing this package imports none of
the stages: a name is looked up where it lives when it is first used, and only `build`, `inspect` and a `kit_part` that
has to be built load the CAD kernel.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from moldgen import elastomers, rings
    from moldgen.case import Case, load
    from moldgen.errors import GeometryError, MoldgenError, OutputError, Problem, RangeError, SpecError
    from moldgen.inspection.findings import Finding
    from moldgen.inspection.from_disk import Inspection, inspect
    from moldgen.job import Build, build
    from moldgen.kitting import KitPart, WeighedKit, kit_part, weigh_out_kit
    from moldgen.mold.plan import MoldPlan
    from moldgen.planning import planned
    from moldgen.pouring import Pour, poured
    from moldgen.sizing import Sizing, size
    from moldgen.uncertainty import Uncertain

__all__ = [
    "Build",
    "Case",
    "Finding",
    "GeometryError",
    "Inspection",
    "KitPart",
    "MoldPlan",
    "MoldgenError",
    "OutputError",
    "Pour",
    "Problem",
    "RangeError",
    "Sizing",
    "SpecError",
    "Uncertain",
    "WeighedKit",
    "build",
    "elastomers",
    "inspect",
    "kit_part",
    "load",
    "planned",
    "poured",
    "rings",
    "size",
    "weigh_out_kit",
]

_HOMES: Final = {
    "case": ("Case", "load"),
    "errors": ("GeometryError", "MoldgenError", "OutputError", "Problem", "RangeError", "SpecError"),
    "inspection.findings": ("Finding",),
    "inspection.from_disk": ("Inspection", "inspect"),
    "job": ("Build", "build"),
    "kitting": ("KitPart", "WeighedKit", "kit_part", "weigh_out_kit"),
    "mold.plan": ("MoldPlan",),
    "planning": ("planned",),
    "pouring": ("Pour", "poured"),
    "sizing": ("Sizing", "size"),
    "uncertainty": ("Uncertain",),
}
_MODULES: Final = ("elastomers", "rings")
"""Public as they are: `elastomers.table()`, `elastomers.find("pu_60a")`, `rings.nearest(inside_mm=62.0)`."""


def __getattr__(name: str) -> Any:
    if name in _MODULES:
        return import_module(f"moldgen.{name}")
    for module, names in _HOMES.items():
        if name in names:
            value = getattr(import_module(f"moldgen.{module}"), name)
            globals()[name] = value  # found at once the next time
            return value
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
