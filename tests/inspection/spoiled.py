"""Sound molds of every kind, ways to spoil them, and what the proofs of the finished bodies say of one.

A spoiled body is cut from or added to by the kernel and meshed again, with the plan left as it was: what the proofs
see is a mold that is not what was planned. Or the plan itself is changed and carried out.
"""

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from typing import Any

from moldgen import printers
from moldgen.case import MoldChoices
from moldgen.inspection.closed_mold import ClosedMold, closed_mold
from moldgen.inspection.demoulding import demoulding
from moldgen.inspection.filling import filling
from moldgen.inspection.findings import Finding
from moldgen.inspection.fit import fit
from moldgen.inspection.in_kernel import closed_solids
from moldgen.inspection.printability import printability
from moldgen.inspection.running import running
from moldgen.inspection.walls import walls
from moldgen.inspection.watertight import closed
from moldgen.mold.bodies import carry_out
from moldgen.mold.design import design
from moldgen.mold.order import Order
from moldgen.output.bodies import on_bed
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed
from moldgen.printers import Printer
from moldgen.shapes import Extruded, Insert, Path, Revolved, Shape, Vertex, circle

FILAMENT = printers.find("filament_0_4")
ELONGATION = 3.0


def profile(*corners: tuple[Any, ...]) -> Revolved:
    return Revolved(Path(tuple(Vertex(*corner) for corner in corners)))


def ordered(shape: Shape, *, insert: Insert | None = None, quantity: int = 1, **choices: Any) -> Order:
    return Order(
        name="spoiled",
        marking="rubber s1%",
        shape=shape,
        insert=insert,
        printer=FILAMENT,
        choices=MoldChoices(**choices),
        quantity=quantity,
        elongation_at_break=ELONGATION,
    )


QUARTER = 0.41421356  # bulge of a quarter circle: tan(90°/4)

# Bore 28, outside 36, 5 high; the tyre's outside runs and its edges are rounded by 0.4.
WASHER = profile((14.0, 0.0), (18.0, 0.0), (18.0, 5.0), (14.0, 5.0, 0.0, "bore"))
TYRE = profile(
    (14.0, 0.0, 0.0, "face"),
    (17.6, 0.0, QUARTER, "edge"),
    (18.0, 0.4, 0.0, "running"),
    (18.0, 4.6, QUARTER, "edge"),
    (17.6, 5.0, 0.0, "face"),
    (14.0, 5.0, 0.0, "bore"),
)
SLEEVE = profile(
    (5.0, 0.0, 0.0, "face"), (12.0, 0.0, 0.0, "running"), (12.0, 20.0, 0.0, "face"), (5.0, 20.0, 0.0, "bore")
)
ROLLER = profile(
    (0.0, 0.0), (9.0, 0.0), (9.0, 2.0), (12.0, 2.0), (12.0, 5.0), (8.0, 5.0, 0.0, "running"), (8.0, 12.0, 0.0, "face"),
    (0.0, 12.0),
)  # fmt: skip
BEAD = profile((6.0, 0.0), (9.0, 0.0), (12.0, 3.0), (12.0, 5.0), (9.0, 8.0), (6.0, 8.0, 0.0, "bore"))
COVER = profile(
    (11.0, 0.0, 0.0, "face"), (15.0, 0.0, 0.0, "running"), (15.0, 6.0, 0.0, "face"), (11.0, 6.0, 0.0, "bore")
)
CROWNED = profile(
    (11.0, 0.0, 0.0, "face"),
    (15.0, 0.0, 2.0 * 0.25 / 6.0, "running"),  # a crown of 0.25 mm over a width of 6
    (15.0, 6.0, 0.0, "face"),
    (11.0, 6.0, 0.0, "bore"),
)
PLUG = profile((0.0, 0.0), (6.0, 0.0), (6.0, 5.0), (9.3, 5.0), (9.0, 10.0), (0.0, 10.0))
PAD = Extruded(
    Path((Vertex(0.0, 0.0), Vertex(20.0, 0.0, 0.0, "running"), Vertex(20.0, 10.0), Vertex(0.0, 10.0))),
    (circle(2.0, 5.0, 5.0),),
    6.0,
)

ORDERS = {
    "washer": ordered(WASHER),
    "tyre": ordered(TYRE),
    "sleeve": ordered(SLEEVE),  # with a separate core
    "roller": ordered(ROLLER),  # parts at its flange; the running surface lies in the upper half
    "bead": ordered(BEAD),  # parts at its widest; both halves carry the core
    "cover": ordered(COVER, insert=Insert(22.0, 6.0, 4.0)),  # cast on its hub
    "crowned cover": ordered(CROWNED, insert=Insert(22.0, 6.0, 4.0)),
    "stepped plug": ordered(PLUG, fill="press"),
    "pad": ordered(PAD),
    "pressed washer": ordered(WASHER, fill="press"),
    "four tyres": ordered(TYRE, quantity=4),
    "four pads": ordered(PAD, quantity=4, fill="syringe"),
}


@cache
def sound(kind: str) -> ClosedMold:
    """A mold as the design makes it."""
    plan = design(ORDERS[kind])
    return closed_mold(plan, carry_out(plan))


def replanned(kind: str, **changes: Any) -> ClosedMold:
    """The mold of a changed plan."""
    plan = replace(sound(kind).plan, **changes)
    return closed_mold(plan, carry_out(plan))


def cut(kind: str, half: str, *tools: Any) -> ClosedMold:
    """A half with something taken out of it."""
    mold = sound(kind)
    return _with_half(mold, half, kernel.cut(getattr(mold.bodies, half), tools, stage="spoiling"))


def grown(kind: str, half: str, *additions: Any) -> ClosedMold:
    """A half with something added to it."""
    mold = sound(kind)
    return _with_half(mold, half, kernel.fused([getattr(mold.bodies, half), *additions], stage="spoiling"))


def shifted(kind: str, half: str, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> ClosedMold:
    """A half that is not where it should be."""
    mold = sound(kind)
    return _with_half(mold, half, kernel.moved(getattr(mold.bodies, half), x, y, z))


def _with_half(mold: ClosedMold, half: str, body: Any) -> ClosedMold:
    return replace(mold, bodies=replace(mold.bodies, **{half: body, f"plain_{half}": body}), **{half: meshed(body)})


def with_core(mold: ClosedMold, *, added: Iterable[Any] = (), name: str = "cores") -> ClosedMold:
    """A mold whose one core (or metal) has something added to it."""
    body = kernel.fused([*getattr(mold.bodies, name), *added], stage="spoiling")
    return replace(mold, bodies=replace(mold.bodies, **{name: (body,)}), **{name: (meshed(body),)})


def ring(inner: float, outer: float, low: float, high: float, x: float = 0.0, y: float = 0.0) -> Any:
    """A ring to cut or to add, square in section."""
    path = Path((Vertex(inner, low), Vertex(outer, low), Vertex(outer, high), Vertex(inner, high)))
    return kernel.moved(kernel.revolved(path, stage="ring"), x, y)


def wedge_of(mold: ClosedMold, *tools: Any) -> ClosedMold:
    """A mold whose wedge has something taken out of it."""
    body = kernel.cut(mold.bodies.wedge, tools, stage="spoiling")
    return replace(mold, bodies=replace(mold.bodies, wedge=body), wedge=meshed(body))


def proofs(
    mold: ClosedMold, *, printer: Printer = FILAMENT, elongation: float = ELONGATION
) -> dict[str, list[Finding]]:
    """What each proof finds, but for the balance, which sees that a body is not the planned one whatever the fault."""
    lying = {role: on_bed(mesh, upside_down=role == "mold_upper") for role, mesh in mold.printed.items()}
    return {
        "watertight": [*closed_solids(mold.bodies.printed), *closed(mold.printed)],
        "filling": list(filling(mold)),
        "demoulding": list(demoulding(mold, elongation_at_break=elongation)),
        "walls": list(walls(mold, printer=printer)),
        "printability": list(printability(mold, lying=lying, printer=printer)),
        "fit": list(fit(mold, printer=printer)),
        "running": list(running(mold)),
    }


def caught(mold: ClosedMold, proof: str, *codes: str, also: tuple[str, ...] = (), **how: Any) -> list[Finding]:
    """The findings of a proof that fail, after making sure that they are of these kinds, and that no other proof fails.

    `also` names a second proof and its kinds, where a fault is two things at once.
    """
    failed = [(name, f) for name, found in proofs(mold, **how).items() for f in found if not f.passed]
    expected = {(proof, code) for code in codes} | {(also[0], code) for code in also[1:]}
    assert {(name, f.proof) for name, f in failed} == expected, [f.text for _, f in failed]
    return [f for name, f in failed if name == proof]


def at(finding: Finding, x: float, y: float, z: float, *, within: float) -> bool:
    """Whether a finding points to a place."""
    assert finding.where is not None
    return all(abs(found - meant) <= within for found, meant in zip(finding.where, (x, y, z), strict=True))
