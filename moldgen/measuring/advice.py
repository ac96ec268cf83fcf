"""How to reach what a caliper does not reach: words, arithmetic with an example, and a drawing.

The ways are common practice, no source; the arithmetic is plain geometry and stands with its example.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from moldgen.drawing.dimensions import Linear
from moldgen.drawing.model import Area, Item, line, outline
from moldgen.drawing.sheet import Titled
from moldgen.measuring.drawn import caliper, cross, figure, lettered_line, pointing, ring, words
from moldgen.shapes import Path, Point, Vertex, rectangle


@dataclass(frozen=True, slots=True)
class Advice:
    """One way of measuring: its title, its sentences, its drawings."""

    title: str
    says: tuple[str, ...]
    drawn: Callable[[], tuple[Titled, ...]] | None = None


def _over_the_shafts() -> tuple[Titled, ...]:
    """Both readings of one centre distance."""
    first, second, gap = 5.0, 7.0, 46.0

    def pair(wanted: str, x0: float, x1: float, inside: bool) -> Titled:
        items: list[Item] = [ring(0.0, 0.0, first), ring(gap, 0.0, second), *cross(0.0, 0.0, first + 2.0)]
        items += [*cross(gap, 0.0, second + 2.0), *caliper(x0, x1, -1.0, inside=inside)]
        items += [words("d1", 0.0, 1.6), words("d2", gap, 1.6)]
        lines = [
            Linear("", Point(x0, -1.0), Point(x1, -1.0), "below", wanted),
            Linear("", Point(0.0, 0.0), Point(gap, 0.0), "below", "centre distance"),
        ]
        return figure(wanted, items, lines)

    return pair("outside", -first, gap + second, False), pair("inside", first, gap - second, True)


def _over_wires() -> tuple[Titled, ...]:
    """A groove cut, with a wire on its floor at either side, and a thread's turn laid flat."""
    floor, wire, rim = 8.0, 2.0, 11.0
    above = ((8.0, rim), (4.0, rim), (4.0, floor), (-4.0, floor), (-4.0, rim), (-8.0, rim))
    path = Path(tuple(Vertex(x, y) for x, y in (*above, *((-x, -y) for x, y in above))))
    items: list[Item] = [Area(path, (), "metal"), outline(path)]
    items += [ring(0.0, way * (floor + wire), wire) for way in (1.0, -1.0)]
    items.append(line((-12.0, 0.0), (12.0, 0.0), "centre"))
    items += pointing("wire or drill shank, w thick", (-11.0, 17.0), (-1.4, floor + 2.0 * wire - 0.4))
    over = floor + 2.0 * wire
    wires = figure(
        "Over two wires",
        items,
        [
            Linear("", Point(0.0, -over), Point(0.0, over), "right", "M"),
            Linear("", Point(4.0, -floor), Point(4.0, floor), "right", "floor"),
        ],
    )
    thread: list[Item] = [ring(0.0, 0.0, 9.0), ring(0.0, 0.0, 10.0, "thin"), *cross(0.0, 0.0, 3.0)]
    thread += [
        line((9.0, -2.5), (11.5, -3.5), "outline"),
        *pointing("t thick; cut both ends", (17.0, 4.0), (11.0, -3.3)),
    ]
    thread += [line((-14.0, -18.0), (26.0, -18.0), "outline")]
    laid = [Linear("", Point(-14.0, -18.0), Point(26.0, -18.0), "below", "L, laid straight")]
    return wires, figure("One turn of thread", thread, laid)


def _what_tar_shows() -> tuple[Titled, ...]:
    """A groove whose flanks show how deep the belt sat, and a plate with the line below a span."""
    corners = (
        (-10.0, -6.0),
        (10.0, -6.0),
        (10.0, 9.0),
        (5.0, 9.0),
        (2.0, -1.0),
        (-2.0, -1.0),
        (-5.0, 9.0),
        (-10.0, 9.0),
    )
    path = Path(tuple(Vertex(*corner) for corner in corners))
    items: list[Item] = [Area(path, (), "metal"), outline(path)]
    for way in (1.0, -1.0):
        items.append(line((way * 2.7, 0.0), (way * 4.3, 6.6), "running"))
    items += pointing("bright: the belt rubbed here", (-14.0, 15.0), (-4.2, 6.2))
    groove = figure(
        "Groove, cut",
        items,
        [
            Linear("", Point(-4.3, 6.6), Point(4.3, 6.6), "above", "widest bright: its width"),
            Linear("", Point(4.3, 0.0), Point(4.3, 6.6), "right", "its height"),
        ],
    )
    plate: list[Item] = [
        outline(rectangle(-22.0, -13.0, 34.0, 13.0), "thin"),
        ring(-12.0, 0.0, 4.0),
        ring(22.0, 0.0, 8.0),
    ]
    plate += [line((-12.6, 4.0), (21.0, 8.0), "running"), line((-12.6, -4.0), (21.0, -8.0), "running")]
    plate += [
        *cross(-12.0, 0.0, 2.5),
        *cross(22.0, 0.0, 2.5),
        *pointing("tar below the spans", (-8.0, 18.0), (-4.0, 5.0)),
    ]
    plate += [ring(6.0, -9.0, 2.2), *pointing("clean: never touched", (12.0, -20.0), (7.0, -11.2))]
    return groove, figure("Plate, from the front", plate)


def _over_pins() -> tuple[Titled, ...]:
    items: list[Item] = [ring(0.0, 0.0, 14.0, "centre"), ring(0.0, 0.0, 3.0), *cross(0.0, 0.0, 4.5)]
    items += [ring(0.0, 14.0, 2.0), ring(12.12, -7.0, 2.0), ring(-12.12, -7.0, 2.0)]
    items += lettered_line("s", (2.6, -1.5), (10.39, -6.0))
    return (figure("Three pins: from the shaft to a pin", items),)


ADVICE: Final[Mapping[str, Advice]] = {
    "readings": Advice(
        "Three readings of each",
        (
            "Pull the mains plug before you reach into a machine. Close the jaws on a clean strip of paper, draw it "
            "out, close them again: the caliper must show 0.",
            "Clean the metal; tar under a jaw reads as metal. Turn round things by a third between readings, and "
            "shift long ones along. Press as lightly as you would hold an egg.",
            "Write what it shows, not what it ought to be. In the spec the three stand in brackets with what your "
            "caliper may be off by: `[30.01, 29.99, 30.00 ± 0.03 mm]`. A cheap digital caliper is good for ± 0.03 mm, "
            "a vernier for ± 0.05 mm, a ruler for ± 0.5 mm.",
        ),
    ),
    "centres": Advice(
        "Distance of two centres",
        (
            "No jaw stands in the middle of a shaft. Measure both shafts, d1 and d2, then over both from outside: "
            "centre distance = outside − (d1 + d2) / 2. Or between them: centre distance = inside + (d1 + d2) / 2.",
            "Shafts of 6.00 and 10.00 mm, outside 112.50 mm: 112.50 − 16.00 / 2 = 104.50 mm. Inside 96.50 mm: 96.50 + "
            "8.00 = 104.50 mm. Do both: where they differ by over 0.1 mm a jaw stood askew.",
            "Three axles: call the first [0, 0] and lay x through the second, c away. A third that is a from the "
            "first and b from the second lies at x = (a² − b² + c²) / (2 c), y = √(a² − x²). With a = 50, b = 78.10, "
            "c = 100: x = (2500 − 6099.6 + 10000) / 200 = 32.00, y = √(2500 − 1024) = 38.42.",
            "A tensioner that swings or slides: in the middle of its travel.",
        ),
        _over_the_shafts,
    ),
    "groove_floor": Advice(
        "Floor of a groove",
        (
            "The jaws are too thick for it. Lay two equal wires, or the shanks of two small drills, w thick, into the "
            "groove at opposite sides and measure over both, M: floor = M − 2 w. M = 16.01 and w = 2.00: 12.01 mm.",
            "Or wind thread, t thick, once round on the floor, cut through both ends where they overlap, and lay it "
            "straight along a ruler, L: floor = L / 3.1416 − t. L = 38.99 and t = 0.40: 12.41 − 0.40 = 12.01 mm. Five "
            "turns side by side, each laid on the floor, make it five times as sure.",
            "In a vee the wire rests on the flanks. With the angle v between them the flanks meet at M − w − w / "
            "sin(v / 2). For 40°, M = 20.00, w = 2.00: 20.00 − 2.00 − 2.00 / 0.3420 = 12.15 mm.",
        ),
        _over_wires,
    ),
    "traces": Advice(
        "A belt that has melted",
        (
            "Take photographs before you clean anything: the tar is the drawing. Wear gloves; it stains for good.",
            "Its path: tar lies on the plate below the spans, and on the pulleys that it touched. A pulley with tar "
            "on its rim but not in a groove was touched by the belt's back. Lay thread along it and mark where it "
            "crosses itself.",
            "Its section: on cleaned flanks the bright band is as high as the belt; in a square groove it ends at the "
            "belt's thickness; on a flat pulley the bright strip is the belt's width. Tar squeezes out: measure the "
            "metal it polished, never the tar.",
            "No trace at all: take a square belt about three quarters as wide as its groove, and try it as cord first.",
        ),
        _what_tar_shows,
    ),
    "pin_circle": Advice(
        "Circle of the pins",
        (
            "Two or four pins: over two that face each other, less one pin. 18.00 − 2.00 = 16.00 mm.",
            "Three pins: no two face each other. Measure the gap s between the shaft and a pin: circle = 2 s + shaft "
            "+ pin. With s = 5.00, a shaft of 4.00 and pins of 2.00: 10.00 + 4.00 + 2.00 = 16.00 mm. Do it at each "
            "pin; where they differ the mean is right.",
        ),
        _over_pins,
    ),
    "pads": Advice(
        "Pads that have run out",
        (
            "The tip polished a band in the drum, and the pocket's floor shows a clean shape where the pad lay. From "
            "the pin's middle to that band is the reach. Left blank, the reach is chosen for the grip.",
            "Turn the drum by hand each way and write down which way must be gripped, seen from its open side.",
        ),
    ),
    "worn": Advice(
        "What the old rubber left",
        (
            "The outside diameter is gone with the rubber. Look for it on what it ran against: a bright track as wide "
            "as the tyre was, and how far the axle can move. With both axles held where they run, the distance of "
            "their centres times two, less the other wheel, is the diameter that just touches; press-on adds a little.",
            "Axles 22.00 mm apart, other wheel 8.00 mm: 44.00 − 8.00 = 36.00 mm just touches.",
        ),
    ),
    "force": Advice(
        "How hard it presses",
        (
            "Hook a spring balance, or thread over the edge of a kitchen scale, to the axle. Pull straight away from "
            "the other wheel and read when a strip of paper between them comes free. 100 g is about 1 N.",
        ),
    ),
    "sketch": Advice(
        "Sketch it",
        (
            "Draw it large on the squares. Number the corners once round, and give each reading a name in small "
            "letters: `base_height`. The spec may reckon with names: `base / 2`, `base_height + 2 mm`.",
            "Measure all from one edge, not from reading to reading: errors would add up.",
        ),
    ),
}
