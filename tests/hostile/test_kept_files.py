"""Files that a fuzzer found or that are known to do harm: each ends in a message or is read, soon."""

import os
import time
from pathlib import Path

import pytest
import readers_under_attack as attacked

from moldgen.errors import MoldgenError

FILES = Path(__file__).parent / "files"
PATIENCE_S = 5.0
REFUSED_WITH = {
    "spec/aliases_of_aliases.yaml": "anchor or alias",
    "spec/arc_sine_at_the_edge_of_a_reading.yaml": "so uncertain",
    "spec/digits_of_another_script.yaml": "not a length",
    "spec/escaped_escape.yaml": "escaped control character",
    "spec/escaped_zero.yaml": "escaped control character",
    "spec/one_to_the_400.yaml": "not a length",
    "spec/utf16.yaml": "UTF-8",
    "spec/writing_turned_round.yaml": "control character",
    "castings_csv/escape_in_a_cell.csv": "control character",
    "castings_csv/utf16.csv": "UTF-8",
    "dxf/a_billion_inserts.dxf": "more than 20000 entities",
    "dxf/block_in_itself.dxf": "nested too deeply",
    "dxf/blocks_of_blocks_of_nothing.dxf": "more than 20000 entities",
    "dxf/ellipse_of_no_number.dxf": "no number",
    "dxf/nothing_but_a_point.dxf": "no outline",
    "dxf/spline_beyond_the_stars.dxf": "more than 100 m",
    "svg/entities_in_utf16.svg": "UTF-8",
    "svg/entities_of_entities.svg": "entities",
    "svg/line_without_a_move.svg": "begin with a move",
    "svg/scaled_to_infinity.svg": "no number",
    "svg/smooth_curve_without_a_move.svg": "begin with a move",
    "svg/uses_of_uses.svg": "nested too deeply",
    "tone/highest_rate.wav": "cannot be read",
    "tone/length_that_lies.wav": "shorter than 3 s",
}
"""What must be said of some of them; the others may be taken or not."""
READ = ("spec/byte_order_mark.yaml", "tone/two_lines_become_one.wav")


def test_no_kept_file_ends_in_a_traceback_or_takes_long():
    told, seconds = {}, {}
    for folder in sorted(FILES.iterdir()):
        _, reader = attacked.READERS[folder.name]
        for path in sorted(folder.iterdir()):
            name = f"{folder.name}/{path.name}"
            started = time.process_time()
            told[name] = attacked.refused(reader, path)
            seconds[name] = time.process_time() - started
    assert set(attacked.READERS) == {folder.name for folder in FILES.iterdir()}
    assert {name: s for name, s in seconds.items() if s > PATIENCE_S} == {}
    assert {name: told[name] for name, words in REFUSED_WITH.items() if words not in told[name]} == {}
    assert [told[name] for name in READ] == ["", ""]


@pytest.fixture
def no_files(tmp_path):
    """What stands where a file is expected and is none, for each way in which a reader's files are named."""
    made = {}
    for ending in {ending for ending, _ in attacked.READERS.values()}:
        folder = tmp_path / f"folder{ending}"
        folder.mkdir()
        pipe = tmp_path / f"pipe{ending}"
        os.mkfifo(pipe)
        loop = tmp_path / f"loop{ending}"
        loop.symlink_to(loop)
        device = tmp_path / f"device{ending}"
        device.symlink_to("/dev/zero")
        dangling = tmp_path / f"dangling{ending}"
        dangling.symlink_to(tmp_path / "gone")
        long = tmp_path / ("n" * 300 + ending)
        deep = tmp_path.joinpath(*["d"] * 3000, f"deep{ending}")
        made[ending] = (folder, pipe, loop, device, dangling, long, deep)
    return made


def test_what_is_no_file_is_told_at_once(no_files):
    # A pipe without a writer is waited for, /dev/zero never ends: reading either would show as a test that hangs.
    for name, (ending, reader) in attacked.READERS.items():
        if name == "quantity":  # a text, not a file
            continue
        for path in no_files[ending]:
            with pytest.raises(MoldgenError) as told:
                reader(path)
            assert str(told.value).strip(), (name, path.name[:20])


def test_a_file_without_permission_is_told(tmp_path, monkeypatch):
    def forbidden(self, *_, **__):
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "read_bytes", forbidden)  # root may read everything, and CI may be root
    for name in ("spec", "castings_csv", "castings_yaml", "machine", "svg", "elastomer", "printer"):
        ending, reader = attacked.READERS[name]
        path = tmp_path / f"locked_{name}{ending}"
        path.write_text("a", encoding="utf-8")
        with pytest.raises(MoldgenError, match=r"Permission denied|no file can be read"):
            reader(path)
