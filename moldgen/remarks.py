"""What a stage of the work has to say to the person, before it is tied to a file and a line."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.spec.document import Place


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a spec cannot be built as it stands."""

    place: Place
    limit: str
    way_out: str


@dataclass(frozen=True, slots=True)
class Remark:
    """Something the person should know, though the part can be built."""

    code: str
    text: str
    field: str = ""
