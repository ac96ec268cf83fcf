"""What somebody would write by hand: the bodies of one tyre mold in plain CadQuery, cut after cut, exported.

The yardstick for `moldgen build`: same part, halves, sprue, vent, keys, screws, nut pockets, channel, pry slots, label
by the kernel's outline font, STEP and STL of every body. No sizing, no proofs, no weigh-out.
"""

import sys
from pathlib import Path

import cadquery as cq

OUT = Path(sys.argv[1] if len(sys.argv) > 1 else "out/plain")
COUNT = int(sys.argv[2]) if len(sys.argv) > 2 else 1
OUT.mkdir(parents=True, exist_ok=True)

BORE, OUTSIDE, WIDTH, EDGE = 28.63, 36.84, 5.09, 0.40
COLUMNS = max(1, round(COUNT**0.5))
PITCH = 48.0
PLACES = [((i % COLUMNS) * PITCH, (i // COLUMNS) * PITCH) for i in range(COUNT)]
CX, CY = (COLUMNS - 1) * PITCH / 2, ((COUNT - 1) // COLUMNS) * PITCH / 2
X, Y = 69.0 + (COLUMNS - 1) * PITCH, 58.0 + ((COUNT - 1) // COLUMNS) * PITCH
LOWER, UPPER = 9.1, 12.0
ENDS = [(sx * (X / 2 - 5.7), sy * (Y / 2 - 5.2)) for sx in (-1, 1) for sy in (-1, 1)]


def ring(bore, outside, width, edge):
    body = cq.Workplane("XY").circle(outside / 2).extrude(width).faces("<Z or >Z").edges("%CIRCLE").fillet(edge)
    return body.cut(cq.Workplane("XY").circle(bore / 2).extrude(width))


part = ring(28.57, 36.76, 5.08, 0.4)
lower = cq.Workplane("XY").box(X, Y, LOWER, centered=(True, True, False)).edges("|Z").fillet(3)
upper = cq.Workplane("XY").box(X, Y, UPPER, centered=(True, True, False)).edges("|Z").fillet(3)
for px, py in PLACES:
    x, y = px - CX, py - CY
    lower = lower.cut(ring(BORE, OUTSIDE, WIDTH, EDGE).translate((x, y, LOWER - WIDTH)))
    channel = cq.Workplane("XY").circle(23.4).circle(21.4).extrude(1.2).translate((x, y, LOWER - 1.2))
    lower = lower.cut(channel)
    sprue = cq.Workplane("XY").circle(1.1).workplane(offset=7).circle(1.8).loft()
    funnel = cq.Workplane("XY").workplane(offset=7).circle(1.8).workplane(offset=5).circle(6).loft()
    upper = upper.cut(sprue.translate((x - 16.2, y, 0))).cut(funnel.translate((x - 16.2, y, 0)))
    vent = cq.Workplane("XY").circle(0.8).workplane(offset=12).circle(1.4).loft()
    upper = upper.cut(vent.translate((x + 16.9, y, 0)))
for x, y in ENDS:
    lower = lower.cut(cq.Workplane("XY").circle(1.7).extrude(LOWER).translate((x, y, 0)))
    lower = lower.cut(cq.Workplane("XY").polygon(6, 6.7).extrude(4).translate((x, y, 0)))
    upper = upper.cut(cq.Workplane("XY").circle(1.7).extrude(UPPER).translate((x, y, 0)))
for side in (-1, 1):
    key = (
        cq.Workplane("XY")
        .circle(4)
        .workplane(offset=5)
        .circle(2.75)
        .loft()
        .translate((side * (X / 2 - 5.7), 9.3, LOWER))
    )
    lower = lower.union(key)
    socket = cq.Workplane("XY").circle(4.15).workplane(offset=5.15).circle(2.9).loft()
    upper = upper.cut(socket.translate((side * (X / 2 - 5.7), 9.3, 0)))
    lower = lower.cut(cq.Workplane("XY").box(10, 7, 3.2).translate((0, side * Y / 2, LOWER)))
wedge = cq.Workplane("XZ").polyline([(-X / 2, 0), (X / 2, 0), (X / 2, 8.7), (-X / 2, 1.5)]).close().extrude(Y)
lower = lower.cut(cq.Workplane("XZ", origin=(0, -Y / 2 + 0.5, 3.4)).text("loop_idler r1", 4, 1.5))
upper = upper.cut(cq.Workplane("XZ", origin=(0, -Y / 2 + 0.5, 6)).text("pu_60a s0.2%", 5, 1.5))

assembly = cq.Assembly()
for name, body in (("part", part), ("mold_lower", lower), ("mold_upper", upper), ("wedge", wedge)):
    cq.exporters.export(body, str(OUT / f"{name}.step"))
    cq.exporters.export(body, str(OUT / f"{name}.stl"), tolerance=0.01, angularTolerance=0.2)
    if name in ("mold_lower", "mold_upper"):
        assembly.add(body, name=name)
assembly.export(str(OUT / "assembly.step"))
