"""An earlier build's record as `moldgen build` leaves it, without the solids."""

import json
from pathlib import Path

from moldgen import case, sizing

EXAMPLES = Path(__file__).parents[2] / "part_specs"


def build_record(out, spec):
    """out/NAME with job.json and the copy of the spec."""
    sized = sizing.size(case.load(spec))
    folder = out / sized.case.name
    folder.mkdir(parents=True)
    (folder / "job.json").write_text(json.dumps(sized.as_json(), ensure_ascii=False), encoding="utf-8")
    (folder / "spec.yaml").write_text(sized.case.document.text, encoding="utf-8")
    return folder
