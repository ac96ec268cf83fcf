"""What somebody would write by hand: a mold for a gang of pads in plain CadQuery, cut after cut, exported.

The yardstick for `moldgen build benchmarks/gang_of_pads.yaml`: pads, halves, a sprue and a vent for each, lands'
channels, keys, screws, nut pockets, pry slots, wedge, labels by the kernel's outline font, STEP and STL of every body.
"""

import sys
from pathlib import Path

import cadquery as cq

OUT = Path(sys.argv[1] if len(sys.argv) > 1 else "out/plain_pads")
COUNT = int(sys.argv[2]) if len(sys.argv) > 2 else 16
OUT.mkdir(parents=True, exist_ok=True)

OUTLINE = [(0, 0), (9, 0), (9, 5), (6, 8), (0, 8)]
THICK, LOWER, UPPER = 4.0, 9.0, 12.0
COLUMNS = max(1, round(COUNT**0.5))
ROWS = -(-COUNT // COLUMNS)
PITCH = 20.2
PLACES = [
    ((i % COLUMNS) * PITCH - (COLUMNS - 1) * PITCH / 2, (i // COLUMNS) * PITCH - (ROWS - 1) * PITCH / 2)
    for i in range(COUNT)
]
X, Y = COLUMNS * PITCH + 24, ROWS * PITCH + 11


def outline(grow=0.0):
    wire = cq.Workplane("XY").polyline(OUTLINE).close()
    return wire.offset2D(grow) if grow else wire


part = outline().extrude(THICK)
lower = cq.Workplane("XY").box(X, Y, LOWER, centered=(True, True, False)).edges("|Z").fillet(3)
upper = cq.Workplane("XY").box(X, Y, UPPER, centered=(True, True, False)).edges("|Z").fillet(3)
for x, y in PLACES:
    lower = lower.cut(part.translate((x - 4.5, y - 4, LOWER - THICK)))
    channel = outline(5.0).extrude(1.2).cut(outline(3.0).extrude(1.2))
    lower = lower.cut(channel.translate((x - 4.5, y - 4, LOWER - 1.2)))
    sprue = cq.Workplane("XY").circle(1.35).workplane(offset=7).circle(2.0).loft()
    funnel = cq.Workplane("XY").workplane(offset=7).circle(2.0).workplane(offset=5).circle(2.8).loft()
    upper = upper.cut(sprue.translate((x - 2, y, 0))).cut(funnel.translate((x - 2, y, 0)))
    vent = cq.Workplane("XY").circle(0.8).workplane(offset=12).circle(1.2).loft()
    upper = upper.cut(vent.translate((x + 3.4, y - 1, 0)))
for x, y in [(sx * (X / 2 - 5.7), sy * (Y / 2 - 5.2)) for sx in (-1, 1) for sy in (-1, 1)]:
    lower = lower.cut(cq.Workplane("XY").circle(1.7).extrude(LOWER).translate((x, y, 0)))
    lower = lower.cut(cq.Workplane("XY").polygon(6, 6.7).extrude(4).translate((x, y, 0)))
    upper = upper.cut(cq.Workplane("XY").circle(1.7).extrude(UPPER).translate((x, y, 0)))
for side in (-1, 1):
    key = cq.Workplane("XY").circle(4).workplane(offset=5).circle(2.75).loft()
    lower = lower.union(key.translate((side * (X / 2 - 5.7), 9.3, LOWER)))
    socket = cq.Workplane("XY").circle(4.15).workplane(offset=5.15).circle(2.9).loft()
    upper = upper.cut(socket.translate((side * (X / 2 - 5.7), 9.3, 0)))
    lower = lower.cut(cq.Workplane("XY").box(10, 7, 3.2).translate((0, side * Y / 2, LOWER)))
wedge = cq.Workplane("XZ").polyline([(-X / 2, 0), (X / 2, 0), (X / 2, 12.0), (-X / 2, 1.5)]).close().extrude(Y)
lower = lower.cut(cq.Workplane("XZ", origin=(0, -Y / 2 + 0.5, 3.4)).text("gang_of_pads r1", 4, 1.5))
upper = upper.cut(cq.Workplane("XZ", origin=(0, -Y / 2 + 0.5, 6)).text("pu_70a s0.4%", 5, 1.5))

assembly = cq.Assembly()
for name, body in (("part", part), ("mold_lower", lower), ("mold_upper", upper), ("wedge", wedge)):
    cq.exporters.export(body, str(OUT / f"{name}.step"))
    cq.exporters.export(body, str(OUT / f"{name}.stl"), tolerance=0.01, angularTolerance=0.2)
    if name in ("mold_lower", "mold_upper"):
        assembly.add(body, name=name)
assembly.export(str(OUT / "assembly.step"))
