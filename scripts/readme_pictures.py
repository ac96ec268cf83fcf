"""Makes the README's pictures from a real build of an example: docs/pictures/*.png."""

from pathlib import Path

from moldgen import case, planning, sizing
from moldgen.inspection.findings import closed_mold
from moldgen.mold.bodies import carry_out
from moldgen.output.pictures import Piece, picture
from moldgen.parts import kernel
from moldgen.parts.mesh import meshed
from moldgen.parts.solids import solid

HERE = Path(__file__).resolve().parents[1]
SPEC = HERE / "part_specs" / "loop_idler.yaml"
TO = HERE / "docs" / "pictures"
SIZE = (1000, 620)


def main() -> None:
    TO.mkdir(parents=True, exist_ok=True)
    sized = sizing.size(case.load(SPEC))
    plan = planning.planned(sized)
    bodies = carry_out(plan)
    mold = closed_mold(plan, bodies)
    part = meshed(solid(sized.free_shape, stage="part"))
    beside, lift = plan.block.x_mm + 8.0, plan.block.upper_mm - plan.block.lower_mm
    picture([Piece(part, "rubber")], TO / "part.png", size=SIZE)
    picture(
        [Piece(mold.lower, "lower"), Piece(mold.upper, "upper", shift_mm=(beside, 0.0, lift), flipped=True)],
        TO / "open_mold.png",
        size=SIZE,
    )
    behind = kernel.box(-500.0, 0.0, -500.0, 500.0, 500.0, 500.0)
    cut = [(bodies.lower, "lower"), (bodies.upper, "upper"), (bodies.poured, "rubber")]
    halves = [Piece(meshed(kernel.common([body], [behind])), kind) for body, kind in cut]
    picture(halves, TO / "section.png", size=SIZE, view=(0.15, -1.6, 0.45))


if __name__ == "__main__":
    main()
