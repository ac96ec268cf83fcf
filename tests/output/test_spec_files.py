"""A build folder holds all that its spec names: it can be sized, inspected and built from that folder alone."""

import shutil
from pathlib import Path

import pytest

from moldgen import case, job, sizing
from moldgen.inspection.from_disk import inspect

EXAMPLES = Path(__file__).parents[2] / "part_specs"

ELASTOMER = "based_on: pu_70a\nlinear_shrinkage: 1 %\n"


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The brake shoe, its drawing beside the spec and its elastomer in a file of the shop's; then both are gone."""
    home = tmp_path_factory.mktemp("home")
    specs, shop = home / "specs", home / "shop"
    specs.mkdir()
    shop.mkdir()
    (shop / "blue.yaml").write_text(ELASTOMER, encoding="utf-8")
    shutil.copy(EXAMPLES / "changer_brake_shoe.svg", specs)
    text = (EXAMPLES / "changer_brake_shoe.yaml").read_text(encoding="utf-8")
    spec = specs / "shoe.yaml"
    spec.write_text(text.replace("elastomer: pu_70a", "elastomer: {file: ../shop/blue.yaml}"), encoding="utf-8")
    build = job.build(sizing.size(case.load(spec)), home / "out")
    shutil.rmtree(specs)
    shutil.rmtree(shop)
    return build


def test_drawing_and_figures_lie_beside_the_spec_and_are_recorded(built):
    assert {f.path for f in built.files if f.role == "spec"} == {
        "spec.yaml",
        "spec_files/changer_brake_shoe.svg",
        "spec_files/shop/blue.yaml",
    }
    drawing = built.directory / "spec_files" / "changer_brake_shoe.svg"
    assert drawing.read_bytes() == (EXAMPLES / "changer_brake_shoe.svg").read_bytes()


def test_a_build_from_a_drawing_can_be_inspected_without_the_folder_it_came_from(built):
    inspection = inspect(built.directory)
    assert inspection.passed, [f.text for f in inspection.findings if not f.passed]


def test_the_copy_of_the_spec_gives_the_same_sizes(built):
    again = sizing.size(case.load(built.directory / "spec.yaml"))
    assert again.mold == built.sizing.mold
    # 1 % of shrinkage is the file's, not the table's 0.4 %: mold = part/(1 − s).
    assert again.mold["length_mm"].value / again.free["length_mm"].value == pytest.approx(1.0 / 0.99, rel=1e-9)


def test_a_copy_that_was_changed_is_found(built, tmp_path):
    folder = tmp_path / "copy"
    shutil.copytree(built.directory, folder)
    drawing = folder / "spec_files" / "changer_brake_shoe.svg"
    # The rim of the slot a tenth of a millimetre lower: the same scale, another part.
    drawing.write_bytes(drawing.read_bytes().replace(b'y="10" width="10"', b'y="10.1" width="10"'))
    failed = [f for f in inspect(folder).findings if not f.passed]
    assert "spec_files/changer_brake_shoe.svg: is not the file that was built" in [f.text for f in failed]
