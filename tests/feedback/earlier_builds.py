"""An earlier build's record as `moldgen build` leaves it, without the solids."""

import json
from pathlib import Path

from moldgen import case, sizing
from moldgen.spec.document import kept_at

EXAMPLES = Path(__file__).parents[2] / "part_specs"


def build_record(out, spec):
    """out/NAME with job.json and the copies of the spec and of the files that it names."""
    sized = sizing.size(case.load(spec))
    folder = out / sized.case.name
    folder.mkdir(parents=True)
    (folder / "job.json").write_text(json.dumps(sized.as_json(), ensure_ascii=False), encoding="utf-8")
    (folder / "spec.yaml").write_text(sized.case.document.text, encoding="utf-8")
    for name in sized.case.named_files:
        kept = folder / kept_at(name)
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes((spec.parent / name).read_bytes())
    return folder
