"""Files read back by others than wrote them, the same bytes twice, and folders that appear whole or not at all."""

import hashlib
import math
import os
import re
import subprocess
import sys
import time
import zipfile

import numpy as np
import pytest
import trimesh

from moldgen.errors import GeometryError, OutputError
from moldgen.output import directory
from moldgen.output.bodies import on_bed, recorded
from moldgen.output.directory import replaced
from moldgen.output.step import write_assembly, write_step
from moldgen.output.stl import read_stl, write_stl
from moldgen.output.threemf import read_3mf, write_3mf
from moldgen.parts import kernel
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import meshed
from moldgen.shapes import rectangle


@pytest.fixture(scope="module")
def body():
    """A tyre: bore 30, outside 38, 5 high."""
    return kernel.revolved(rectangle(15.0, 0.0, 19.0, 5.0), stage="test")


@pytest.fixture(scope="module")
def mesh(body):
    return meshed(body)


# --- STL -------------------------------------------------------------------------------------------


def test_an_stl_reads_back_as_it_was(tmp_path, mesh):
    write_stl(mesh, tmp_path / "tyre.stl", "tyre")
    back = read_stl(tmp_path / "tyre.stl")
    assert len(back.open_edges()) == 0
    assert len(back.triangles) == len(mesh.triangles)
    assert back.volume_mm3 == pytest.approx(mesh.volume_mm3, rel=1e-6)


def test_an_independent_reader_finds_the_stl_closed_outward_and_of_the_same_volume(tmp_path, mesh):
    write_stl(mesh, tmp_path / "tyre.stl", "tyre")
    other = trimesh.load_mesh(tmp_path / "tyre.stl")
    assert other.is_watertight
    assert other.is_winding_consistent
    assert other.volume == pytest.approx(mesh.volume_mm3, rel=1e-5)
    assert other.extents == pytest.approx([38.0, 38.0, 5.0], abs=0.04)  # a sag of 0.02 at either end


def test_a_binary_stl_has_the_format_s_size_and_a_header_that_is_no_text_file_s(tmp_path, mesh):
    # 80 bytes of header, a count, 50 bytes a triangle; a header that begins with "solid" would read as text.
    write_stl(mesh, tmp_path / "tyre.stl", "tyre ü" * 30)
    data = (tmp_path / "tyre.stl").read_bytes()
    assert len(data) == 84 + 50 * len(mesh.triangles)
    assert int.from_bytes(data[80:84], "little") == len(mesh.triangles)
    assert not data.lower().startswith(b"solid")
    assert b"tyre" in data[:80]


def test_the_stl_s_own_normals_are_those_of_its_triangles(tmp_path, mesh):
    write_stl(mesh, tmp_path / "tyre.stl", "tyre")
    rows = np.frombuffer((tmp_path / "tyre.stl").read_bytes(), dtype="<u1", offset=84).reshape(-1, 50)
    written = np.frombuffer(rows[:, :12].tobytes(), dtype="<f4").reshape(-1, 3)
    other = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    large = other.area_faces > 1e-4  # the direction of a sliver is rounding
    assert np.allclose(written[large], other.face_normals[large], atol=1e-3)


def test_an_stl_without_a_triangle_is_refused(tmp_path):
    (tmp_path / "empty.stl").write_bytes(b" " * 80 + b"\0\0\0\0")
    with pytest.raises(OutputError, match="no triangle"):
        read_stl(tmp_path / "empty.stl")


# --- 3MF -------------------------------------------------------------------------------------------


def test_a_3mf_reads_back_strictly_as_it_was(tmp_path, mesh):
    write_3mf({"tyre": mesh}, tmp_path / "tyre.3mf", "a tyre")
    back = read_3mf(tmp_path / "tyre.3mf")
    assert len(back.open_edges()) == 0
    assert back.volume_mm3 == pytest.approx(mesh.volume_mm3, rel=1e-6)


def test_a_3mf_is_in_millimetres_and_names_its_bodies(tmp_path, mesh):
    shifted = Mesh(mesh.points + np.array([60.0, 0.0, 0.0]), mesh.triangles)
    write_3mf({"left": mesh, "right": shifted}, tmp_path / "two.3mf", "two & more")
    with zipfile.ZipFile(tmp_path / "two.3mf") as package:
        model = package.read("3D/3dmodel.model").decode("utf-8")
        assert package.testzip() is None
    assert 'unit="millimeter"' in model
    assert 'name="left"' in model
    assert 'name="right"' in model
    assert "two &amp; more" in model
    assert read_3mf(tmp_path / "two.3mf").volume_mm3 == pytest.approx(2.0 * mesh.volume_mm3, rel=1e-6)


def test_a_3mf_names_no_hour_and_no_machine(tmp_path, mesh):
    write_3mf({"tyre": mesh}, tmp_path / "tyre.3mf", "a tyre")
    with zipfile.ZipFile(tmp_path / "tyre.3mf") as package:
        assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}  # the format's zero
        names = [entry.filename for entry in package.infolist()]
    assert names == sorted(names)


# --- STEP ------------------------------------------------------------------------------------------


def test_a_step_file_s_header_names_no_hour_and_no_machine(tmp_path, body):
    write_step([("tyre", body)], tmp_path / "tyre.step", "a tyre")
    text = (tmp_path / "tyre.step").read_text(encoding="ascii")
    assert "FILE_NAME('a tyre','2000-01-01T00:00:00'" in text
    assert time.strftime("%Y-%m-%d") not in text
    assert os.uname().nodename not in text
    assert kernel.volume_mm3(kernel.read_step(tmp_path / "tyre.step")) == pytest.approx(
        kernel.volume_mm3(body), rel=1e-9
    )


def test_an_assembly_holds_the_solids_of_other_files_and_its_own_all_named(tmp_path):
    boxes = {f"box {size}": kernel.box(0.0, 0.0, 0.0, size, size, size) for size in (2.0, 3.0)}
    files = [tmp_path / f"{name}.step" for name in boxes]
    for file, (name, box) in zip(files, boxes.items(), strict=True):
        write_step([(name, box)], file, name)
    pins = [("pin", kernel.cylinder(1.0, 4.0, x, 0.0, 0.0)) for x in (10.0, 20.0)]
    write_assembly(files, pins, tmp_path / "whole.step", "whole")
    read = kernel.solids_of(kernel.read_step(tmp_path / "whole.step"))
    # Closed forms: cubes, and two cylinders of 4 pi mm³.
    assert sorted(kernel.volume_mm3(solid) for solid in read) == pytest.approx(
        [8.0, 4.0 * math.pi, 4.0 * math.pi, 27.0]
    )
    assert sorted(solid.Center().x for solid in read) == pytest.approx([1.0, 1.5, 10.0, 20.0])
    text = (tmp_path / "whole.step").read_text(encoding="ascii")
    assert re.findall(r"MANIFOLD_SOLID_BREP\('([^']*)'", text) == ["box 2.0", "box 3.0", "pin", "pin"]
    numbers = re.findall(r"^#(\d+) = ", text, re.MULTILINE)
    assert numbers == [str(i + 1) for i in range(len(numbers))]
    assert {int(n) for n in re.findall(r"#(\d+)", text)} == set(range(1, len(numbers) + 1))


def test_a_step_file_has_no_number_that_only_stands_for_zero(tmp_path):
    # Which of two faces in one plane the kernel keeps depends on where they lie in memory, and their heights differ by
    # rounding; so does the sign of its zeros.
    turned = kernel.moved(kernel.box(0.0, 0.0, 0.0, 3.0, 2.0, 1.0), 1.0, 0.0, 0.0, turn_deg=90.0)
    write_step([("turned", turned)], tmp_path / "turned.step", "turned")
    text = (tmp_path / "turned.step").read_text(encoding="ascii")
    numbers = [abs(float(number)) for number in re.findall(r"(?<=[(,])-?\d+\.\d*(?:E[+-]?\d+)?", text)]
    assert numbers
    assert all(number == 0.0 or number > 1e-12 for number in numbers)
    assert "-0." not in re.findall(r"(?<=[(,])-?\d+\.(?=[,)])", text)
    assert kernel.volume_mm3(kernel.read_step(tmp_path / "turned.step")) == pytest.approx(6.0, rel=1e-9)


def test_products_are_named_after_their_bodies_and_counted_within_the_file(tmp_path, body):
    core = kernel.cylinder(2.0, 5.0, 0.0, 0.0, 0.0)
    bodies = [("mold_lower", body), ("core", kernel.moved(core, 30.0, 0.0)), ("core", kernel.moved(core, 40.0, 0.0))]
    for _ in range(2):  # the kernel itself counts on from file to file
        write_step(bodies, tmp_path / "three.step", "three")
        text = (tmp_path / "three.step").read_text(encoding="ascii")
        assert re.findall(r"PRODUCT\('([^']*)'", text) == ["mold_lower", "core", "core 2"]


# --- the same bytes --------------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", ["step", "stl", "3mf"])
def test_the_same_body_gives_the_same_bytes_in_any_folder_at_any_time(tmp_path, body, suffix):
    digests = set()
    for folder in (tmp_path / "a", tmp_path / "b" / "deeper"):
        folder.mkdir(parents=True)
        path = folder / f"tyre.{suffix}"
        mesh = meshed(body)
        if suffix == "step":
            write_step([("tyre", body)], path, "tyre")
        elif suffix == "stl":
            write_stl(mesh, path, "tyre")
        else:
            write_3mf({"tyre": mesh}, path, "tyre")
        digests.add(hashlib.sha256(path.read_bytes()).hexdigest())
        time.sleep(1.1)  # the formats' clocks tick in seconds
    assert len(digests) == 1


def test_a_record_has_the_file_s_size_and_digest(tmp_path):
    (tmp_path / "a.step").write_bytes(b"abc")
    found = recorded(tmp_path, "part", "a.step")
    # FIPS 180-2, appendix B.1: the digest of "abc".
    assert found.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert (found.role, found.format, found.path, found.bytes) == ("part", "step", "a.step", 3)


# --- on the bed ------------------------------------------------------------------------------------


@pytest.mark.parametrize("upside_down", [False, True])
def test_a_body_on_the_bed_stands_on_zero_over_the_origin_and_keeps_its_volume(upside_down):
    cone = meshed(kernel.cone(4.0, 2.0, 5.0, 30.0, -20.0, -7.0))
    lying = on_bed(cone, upside_down=upside_down)
    low, high = lying.points.min(axis=0), lying.points.max(axis=0)
    assert low == pytest.approx([-4.0, -4.0, 0.0], abs=0.02)  # the mesh's sag
    assert high == pytest.approx([4.0, 4.0, 5.0], abs=0.02)
    assert lying.volume_mm3 == pytest.approx(cone.volume_mm3, rel=1e-6)  # turned over, not mirrored
    wide = np.hypot(lying.points[:, 0], lying.points[:, 1]) > 3.9
    assert lying.points[wide, 2] == pytest.approx(5.0 if upside_down else 0.0, abs=1e-5)


# --- whole or not at all ---------------------------------------------------------------------------


@pytest.fixture
def earlier(tmp_path):
    """A folder with an earlier build in it."""
    target = tmp_path / "out" / "rim"
    target.mkdir(parents=True)
    (target / "old.step").write_text("old", encoding="ascii")
    return target


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_folder_appears_with_all_it_was_given(tmp_path):
    target = tmp_path / "deep" / "er" / "rim"
    with replaced(target) as work:
        (work / "a.step").write_text("a", encoding="ascii")
        assert not target.exists()
        assert work.parent == target.parent  # on the same disk, so that the last move cannot fail half-way
    assert names_in(target) == ["a.step"]
    assert names_in(target.parent) == ["rim"]


def test_a_new_build_takes_the_earlier_one_s_place_and_leaves_nothing_of_it(earlier):
    with replaced(earlier) as work:
        (work / "new.step").write_text("new", encoding="ascii")
        assert names_in(earlier) == ["old.step"]
    assert names_in(earlier) == ["new.step"]
    assert names_in(earlier.parent) == ["rim"]


@pytest.mark.parametrize(
    "error",
    [KeyboardInterrupt(), GeometryError(stage="s", text="t", way_out="w"), ValueError("a fault"), SystemExit(1)],
)
def test_an_error_inside_leaves_the_earlier_build_and_no_trace(earlier, error):
    with pytest.raises(type(error)), replaced(earlier) as work:
        (work / "new.step").write_text("new", encoding="ascii")
        raise error
    assert names_in(earlier) == ["old.step"]
    assert names_in(earlier.parent) == ["rim"]


def test_a_full_disk_is_an_error_of_output_and_leaves_the_earlier_build(earlier):
    with pytest.raises(OutputError, match=r"rim: cannot be written \(No space left.*--out"), replaced(earlier):
        raise OSError(28, "No space left on device")
    assert names_in(earlier) == ["old.step"]
    assert names_in(earlier.parent) == ["rim"]


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), OSError(5, "Input/output error")])
def test_stopped_between_the_two_moves_the_earlier_build_comes_back(earlier, monkeypatch, stop):
    path_type = type(earlier)
    move = path_type.rename

    def stubborn(self, to):
        if ".building-" in self.name:
            raise stop
        return move(self, to)

    monkeypatch.setattr(path_type, "rename", stubborn)
    monkeypatch.setattr(directory, "_exchanged", lambda one, other: False)  # as on a disk that takes two moves for it
    with pytest.raises((KeyboardInterrupt, OutputError)), replaced(earlier) as work:
        (work / "new.step").write_text("new", encoding="ascii")
    assert names_in(earlier) == ["old.step"]
    assert names_in(earlier.parent) == ["rim"]


def test_where_a_disk_takes_two_moves_the_new_build_gets_there_too(earlier, monkeypatch):
    monkeypatch.setattr(directory, "_exchanged", lambda one, other: False)
    with replaced(earlier) as work:
        (work / "new.step").write_text("new", encoding="ascii")
    assert names_in(earlier) == ["new.step"]
    assert names_in(earlier.parent) == ["rim"]


def test_while_two_builds_of_a_part_take_turns_there_is_never_none(earlier):
    swaps = (
        "import sys; from pathlib import Path; from moldgen.output.directory import replaced\n"
        "for _ in range(200):\n"
        "    with replaced(Path(sys.argv[1])) as work: (work / 'new.step').write_text('new')"
    )
    running = [subprocess.Popen([sys.executable, "-c", swaps, str(earlier)]) for _ in range(2)]
    missing = 0
    while any(one.poll() is None for one in running):
        missing += not earlier.exists()
    assert [one.returncode for one in running] == [0, 0]
    assert missing == 0
    assert names_in(earlier) == ["new.step"]
    assert names_in(earlier.parent) == ["rim"]


def test_what_a_killed_build_left_is_cleared_by_the_next_but_not_what_one_is_still_at(earlier):
    killed = (
        "import os, sys; from pathlib import Path; from moldgen.output.directory import replaced\n"
        "with replaced(Path(sys.argv[1])) as work: (work / 'half').write_text('x'); os.kill(os.getpid(), 9)"
    )
    subprocess.run([sys.executable, "-c", killed, str(earlier)], check=False)
    (left,) = set(names_in(earlier.parent)) - {"rim"}
    with replaced(earlier) as one:
        assert not (earlier.parent / left).exists()
        with replaced(earlier) as two:
            assert one.exists()
            (two / "a.step").write_text("2", encoding="ascii")
        (one / "a.step").write_text("1", encoding="ascii")
    assert names_in(earlier.parent) == ["rim"]
    assert (earlier / "a.step").read_text(encoding="ascii") == "1"


def test_what_another_machine_is_at_is_left_alone_for_a_day(earlier):
    theirs = earlier.with_name(".rim.building-abcdef-01234567")
    theirs.mkdir()
    with replaced(earlier):
        assert theirs.exists()
    os.utime(theirs, (time.time() - 90_000, time.time() - 90_000))
    with replaced(earlier):
        assert not theirs.exists()


def test_a_link_that_looks_like_a_leftover_is_not_followed(earlier, tmp_path):
    (tmp_path / "precious").mkdir()
    (tmp_path / "precious" / "photo.png").write_text("x", encoding="ascii")
    earlier.with_name(".rim.building-abcdef-01234567").symlink_to(tmp_path / "precious")
    os.utime(earlier.with_name(".rim.building-abcdef-01234567"), (0, 0), follow_symlinks=False)
    with replaced(earlier):
        pass
    assert names_in(tmp_path / "precious") == ["photo.png"]


def test_a_build_that_one_killed_between_two_moves_had_set_aside_is_put_back(earlier):
    earlier.rename(directory._beside(earlier, "replaced"))
    directory.put_back(earlier)
    assert names_in(earlier) == ["old.step"]
    assert names_in(earlier.parent) == ["rim"]


def test_a_link_is_not_followed_and_what_it_points_to_stays(tmp_path):
    elsewhere = tmp_path / "precious"
    elsewhere.mkdir()
    (elsewhere / "photo.png").write_text("x", encoding="ascii")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "rim").symlink_to(elsewhere, target_is_directory=True)
    with pytest.raises(OutputError, match="it is a link"), replaced(tmp_path / "out" / "rim"):
        pytest.fail("the block is not entered")
    assert names_in(elsewhere) == ["photo.png"]


def test_a_dangling_link_is_not_followed_either(tmp_path):
    (tmp_path / "rim").symlink_to(tmp_path / "nowhere")
    with pytest.raises(OutputError, match="it is a link"), replaced(tmp_path / "rim"):
        pytest.fail("the block is not entered")
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("place", ["rim", "out"])
def test_a_file_in_the_way_is_named_and_kept(tmp_path, place):
    target = tmp_path / "out" / "rim" if place == "out" else tmp_path / "rim"
    (tmp_path / place).write_text("kept", encoding="ascii")
    with pytest.raises(OutputError, match=rf"{place} is a file and in the way"), replaced(target):
        pytest.fail("the block is not entered")
    assert (tmp_path / place).read_text(encoding="ascii") == "kept"


def test_two_builds_at_once_do_not_share_a_working_folder(tmp_path):
    with replaced(tmp_path / "rim") as one, replaced(tmp_path / "rim") as two:
        assert one != two
        (one / "a").write_text("1", encoding="ascii")
        (two / "a").write_text("2", encoding="ascii")
    assert names_in(tmp_path) == ["rim"]
    assert (tmp_path / "rim" / "a").read_text(encoding="ascii") == "1"  # the one that ended last
