"""Makes the README's pictures from a real build of an example: docs/pictures/*.png.

    python scripts/readme_pictures.py

The job sheet is looked at in Debian's chromium, the paper ones are set by the typesetter that makes the PDFs.
"""

import os
import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from moldgen import case, job, planning, sizing
from moldgen.inspection.closed_mold import closed_mold
from moldgen.measuring.sheet import document
from moldgen.mold.bodies import carry_out
from moldgen.output.pictures import Piece, picture
from moldgen.output.sheet.html import SHEET_FILE
from moldgen.paper.typesetting import first_page
from moldgen.parts import kernel
from moldgen.parts.meshing import meshed
from moldgen.parts.solids import solid
from moldgen.sizing import Sizing

HERE = Path(__file__).resolve().parents[1]
SPEC = HERE / "part_specs" / "loop_idler.yaml"
TO = HERE / "docs" / "pictures"
SIZE = (1000, 620)
WIDE = 1000
BELOW = 16
"""Room left under the last thing that is shown of the job sheet, its pictures."""


def main() -> None:
    TO.mkdir(parents=True, exist_ok=True)
    sized = sizing.size(case.load(SPEC))
    bodies_pictures(sized)
    (TO / "measuring_sheet.png").write_bytes(first_page(document(sized.case.spec.family)))
    with tempfile.TemporaryDirectory() as folder:
        sheet_picture(job.build(sized, Path(folder)).directory / SHEET_FILE)


def sheet_picture(sheet: Path) -> None:
    """The upper part of the job sheet as a browser shows it."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    flags = ["--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
    if os.geteuid() == 0:
        flags.append("--no-sandbox")  # the browser's sandbox refuses to run as root, as in a container
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=flags)
        page = browser.new_page(viewport={"width": WIDE, "height": WIDE})
        page.goto(sheet.as_uri())
        pictures = page.locator(".pictures").bounding_box()
        assert pictures is not None
        high = pictures["y"] + pictures["height"] + BELOW
        page.screenshot(path=TO / "job_sheet.png", full_page=True, clip={"x": 0, "y": 0, "width": WIDE, "height": high})
        browser.close()


def bodies_pictures(sized: Sizing) -> None:
    """The part, the open mold, and the filled mold cut open."""
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
