"""What somebody would write by hand: the mold of a long belt, folded up, in plain CadQuery, cut after cut, exported.

The yardstick for `moldgen build benchmarks/long_belt.yaml`: the belt's ring, halves with the hairpins' ditch, sprues,
vents, channel, keys, screws, nut pockets, pry slots, wedge, labels by the kernel's outline font, STEP and STL of every
body. No sizing, no proofs, no weigh-out; the bends' places were worked out beforehand.
"""

import sys
from pathlib import Path

import cadquery as cq

OUT = Path(sys.argv[1] if len(sys.argv) > 1 else "out/plain_belt")
OUT.mkdir(parents=True, exist_ok=True)

HEIGHT, DEPTH, RADIUS = 2.053, 2.053, 26.158
HOME, LEFT, RIGHT, TOP = -60.93, -29.72, 34.77, 78.47  # of the middle line: way back, valley, fingers, uppermost leg
VALLEY = TOP - 2 * RADIUS
X, Y, LOWER, UPPER = 160.4, 180.0, 9.2, 15.8
GATES = [(-55.87, 0), (-60.92, 52.32), (-51.02, -72.81), (0.01, 78.47)]
VENTS = [(61.0, -51.31), (61.0, 53.32)]
SCREWS = [(x, y) for x in (-73.57, 73.57) for y in (-83.38, 0, 83.38)]


def loop(outward):
    """The middle line moved outward, all lines and half or quarter circles."""
    outer, inner, corner = RADIUS + outward, RADIUS - outward, (RADIUS + outward) * 2**-0.5
    middle = TOP - RADIUS
    return (
        cq.Workplane("XY")
        .moveTo(HOME + RADIUS, -middle - outer)
        .lineTo(RIGHT, -middle - outer)
        .threePointArc((RIGHT + outer, -middle), (RIGHT, -middle + outer))
        .lineTo(LEFT, -VALLEY + outward)
        .threePointArc((LEFT - inner, 0), (LEFT, VALLEY - outward))
        .lineTo(RIGHT, VALLEY - outward)
        .threePointArc((RIGHT + outer, middle), (RIGHT, middle + outer))
        .lineTo(HOME + RADIUS, middle + outer)
        .threePointArc((HOME + RADIUS - corner, middle + corner), (HOME - outward, middle))
        .lineTo(HOME - outward, -middle)
        .threePointArc((HOME + RADIUS - corner, -middle - corner), (HOME + RADIUS, -middle - outer))
        .close()
    )


def box_round_it(beyond):
    """A box with round corners about the whole loop."""
    wide, deep = 2 * (RIGHT + RADIUS + HEIGHT / 2 + beyond), 2 * (TOP + HEIGHT / 2 + beyond)
    return cq.Workplane("XY").rect(wide, deep).extrude(1.2).edges("|Z").fillet(RADIUS + HEIGHT / 2 + beyond)


part = cq.Workplane("XY").circle(112.43).circle(110.38).extrude(2.05)
lower = cq.Workplane("XY").box(X, Y, LOWER, centered=(True, True, False)).edges("|Z").fillet(3)
upper = cq.Workplane("XY").box(X, Y, UPPER, centered=(True, True, False)).edges("|Z").fillet(3)
belt = loop(HEIGHT / 2).extrude(DEPTH).cut(loop(-HEIGHT / 2).extrude(DEPTH))
lower = lower.cut(belt.translate((0, 0, LOWER - DEPTH)))
lower = lower.cut(box_round_it(5.0).cut(box_round_it(3.0)).translate((0, 0, LOWER - 1.2)))
relief = cq.Workplane("XY").rect(X + 2, Y + 2).extrude(1).cut(box_round_it(4.0))
lower = lower.cut(relief.translate((0, 0, LOWER - 0.15)))
for x, y in GATES:
    sprue = cq.Workplane("XY").circle(0.62).workplane(offset=10.8).circle(1.69).loft()
    funnel = cq.Workplane("XY").workplane(offset=10.8).circle(1.69).workplane(offset=5).circle(4.9).loft()
    upper = upper.cut(sprue.translate((x, y, 0))).cut(funnel.translate((x, y, 0)))
for x, y in VENTS:
    vent = cq.Workplane("XY").circle(0.65).workplane(offset=UPPER).circle(1.25).loft()
    upper = upper.cut(vent.translate((x, y, 0)))
for x, y in SCREWS:
    lower = lower.cut(cq.Workplane("XY").circle(2.75).extrude(LOWER).translate((x, y, 0)))
    lower = lower.cut(cq.Workplane("XY").polygon(6, 9.6).extrude(5.2).translate((x, y, 0)))
    upper = upper.cut(cq.Workplane("XY").circle(2.75).extrude(UPPER).translate((x, y, 0)))
for side in (-1, 1):
    key = cq.Workplane("XY").circle(4).workplane(offset=5).circle(2.75).loft()
    lower = lower.union(key.translate((side * 73.57, 38.38, LOWER)))
    socket = cq.Workplane("XY").circle(4.15).workplane(offset=5.15).circle(2.9).loft()
    upper = upper.cut(socket.translate((side * 73.57, 38.38, 0)))
    lower = lower.cut(cq.Workplane("XY").box(10, 7, 3.2).translate((0, side * Y / 2, LOWER)))
wedge = cq.Workplane("XZ").polyline([(-X / 2, 0), (X / 2, 0), (X / 2, 11.3), (-X / 2, 1.5)]).close().extrude(Y)
lower = lower.cut(cq.Workplane("XZ", origin=(0, -Y / 2 + 0.5, 3.4)).text("long_belt r1", 4, 1.5))
upper = upper.cut(cq.Workplane("XZ", origin=(0, -Y / 2 + 0.5, 7)).text("pu_60a s0.2%", 5, 1.5))

assembly = cq.Assembly()
for name, body in (("part", part), ("mold_lower", lower), ("mold_upper", upper), ("wedge", wedge)):
    cq.exporters.export(body, str(OUT / f"{name}.step"))
    cq.exporters.export(body, str(OUT / f"{name}.stl"), tolerance=0.01, angularTolerance=0.2)
    if name in ("mold_lower", "mold_upper"):
        assembly.add(body, name=name)
assembly.export(str(OUT / "assembly.step"))
