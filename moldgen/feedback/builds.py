"""The record of an earlier build: what was made, and from which spec."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from moldgen.case import Case
from moldgen.errors import OutputError
from moldgen.families.base import Sizes
from moldgen.quantities import Estimate
from moldgen.spec.document import kept_at, named_file

# Spelt out here, because the package that writes them stands below the line where the CAD kernel begins.
JOB_FILE: Final = "job.json"
SPEC_FILE: Final = "spec.yaml"

STAGES: Final = ("fitted", "free", "mold")


@dataclass(frozen=True)
class EarlierBuild:
    """A build folder's numbers and its copy of the spec."""

    folder: Path
    spec_text: str
    sizes: Sizes
    linear_shrinkage: Estimate
    coupon_mm: Mapping[str, float]
    """Lengths of the calibration coupon that was built with it; empty without one."""

    def made_from(self, case: Case) -> bool:
        """Whether it was made from this very spec and from the files that it names, as they are now.

        A printer's figures may be shared by many specs: refined by one part's castings, they are no longer those that
        another part's mold was built with.
        """
        home = Path(case.document.file).parent
        return _digest(self.spec_text) == _digest(case.document.text) and all(
            _same_bytes(self.folder / kept_at(name), named_file(home, name)) for name in case.named_files
        )


def _digest(text: str) -> str:
    """Of the letters: some systems end the lines of the copy in another way."""
    text = text.replace("\r\n", "\n")
    return hashlib.sha256(text.encode()).hexdigest()


def _same_bytes(kept: Path, now: Path) -> bool:
    try:
        return kept.read_bytes() == now.read_bytes()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise OutputError(f"{error.filename}: cannot be read ({error.strerror}). Check its permissions.") from error


def earlier_build(folder: Path) -> EarlierBuild | None:
    """The build in a folder; None where there is none. Raises OutputError where it is no longer whole."""
    try:
        record: dict[str, Any] = json.loads((folder / JOB_FILE).read_text(encoding="utf-8"))
        text = (folder / SPEC_FILE).read_bytes().decode()
        stages = [{name: float(entry["value"]) for name, entry in record[stage].items()} for stage in STAGES]
        figure = record["elastomer"]["linear_shrinkage"]
        low, value, high = (float(figure[key]) for key in ("low", "value", "high"))
        coupons = [jig["dimensions"] for jig in record.get("jigs", ()) if jig["name"] == "coupon"]
        coupon_mm = {name: float(mm) for one in coupons for name, mm in one.items()}
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise OutputError(f"{folder}: the build in it can no longer be read. Build the part again.") from error
    shrinkage = Estimate(value, u=(high - low) / 12**0.5, low=low, high=high)
    return EarlierBuild(folder, text, Sizes(*stages), shrinkage, coupon_mm)
