"""Closed solids, and files that are read back: what is torn on disk is found, and where."""

from dataclasses import replace

import numpy as np
import pytest
from spoiled import sound

from moldgen.inspection.in_kernel import closed_solids
from moldgen.inspection.watertight import closed, read_back
from moldgen.output.stl import write_stl
from moldgen.output.threemf import write_3mf
from moldgen.parts import kernel
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import meshed
from moldgen.shapes import rectangle


@pytest.fixture(scope="module")
def body():
    return kernel.revolved(rectangle(15.0, 0.0, 19.0, 5.0), stage="test")


def written(folder, body, mesh):
    """Findings on the files of a mesh that should be the body's."""
    write_stl(mesh, folder / "core.stl", "core")
    write_3mf({"core": meshed(body)}, folder / "core.3mf", "core")
    return list(read_back(folder, {"core": kernel.volume_mm3(body)}))


def test_sound_bodies_are_closed():
    mold = sound("sleeve")
    found = [*closed_solids(mold.bodies.printed), *closed(mold.printed)]
    assert all(finding.passed for finding in found)
    assert len(found) == 2 * len(mold.bodies.printed)


def test_a_body_in_two_pieces_is_no_closed_solid():
    mold = sound("sleeve")
    apart = kernel.common(
        [mold.bodies.lower],
        [kernel.box(-90.0, -90.0, -90.0, -10.0, 90.0, 0.0), kernel.box(10.0, -90.0, -90.0, 90.0, 90.0, 0.0)],
    )
    assert len(kernel.solids_of(apart)) > 1
    found = [f for f in (*closed_solids({"mold_lower": apart}), *closed({"mold_lower": meshed(apart)})) if not f.passed]
    assert [f.proof for f in found] == ["closed_solid"]
    assert "mold_lower" in found[0].text


def test_a_torn_mesh_is_told_with_the_tear_s_place():
    mold = sound("sleeve")
    torn = Mesh(mold.lower.points, mold.lower.triangles[1:])
    (finding,) = closed({"mold_lower": torn})
    corners = mold.lower.points[mold.lower.triangles[0]]
    assert (finding.proof, finding.value) == ("watertight", 3.0)
    assert np.all(np.array(finding.where) >= corners.min(axis=0) - 1e-6)
    assert np.all(np.array(finding.where) <= corners.max(axis=0) + 1e-6)
    assert "3 open edges" in finding.text


def test_files_of_a_sound_body_hold_its_volume_to_a_thousandth(tmp_path, body):
    found = written(tmp_path, body, meshed(body))
    assert {f.proof for f in found} == {"read_back_stl", "read_back_3mf"}
    assert all(f.passed for f in found)


def test_a_torn_file_is_found(tmp_path, body):
    mesh = meshed(body)
    bad = [f for f in written(tmp_path, body, Mesh(mesh.points, mesh.triangles[:-1])) if not f.passed]
    assert {f.proof for f in bad} == {"read_back_stl"}
    assert any("open edges" in f.text for f in bad)


@pytest.mark.parametrize("factor", [0.999, 1.001, 25.4])
def test_a_file_in_another_scale_is_found(tmp_path, body, factor):
    # A thousandth of length is three of volume.
    mesh = meshed(body)
    bad = [f for f in written(tmp_path, body, replace(mesh, points=mesh.points * factor)) if not f.passed]
    assert [f.proof for f in bad] == ["read_back_stl"]
    assert bad[0].value == pytest.approx(factor**3 - 1.0, rel=1e-3, abs=5e-4)  # and the mesh is 0.03 % small


def test_a_file_inside_out_is_found(tmp_path, body):
    mesh = meshed(body)
    bad = [f for f in written(tmp_path, body, Mesh(mesh.points, mesh.triangles[:, ::-1])) if not f.passed]
    assert [f.proof for f in bad] == ["read_back_stl"]
