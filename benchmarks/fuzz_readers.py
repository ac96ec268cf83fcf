"""Looks for files that a reader chokes on, by coverage: `fuzz_readers.py FOLDER [libFuzzer's options]`.

    python -m pip install atheris
    python benchmarks/fuzz_readers.py /tmp/fuzz -max_total_time=1800 -max_len=16384

FOLDER keeps what was tried and reached something new (`corpus`) and what broke a reader (`finds/READER`, a file for
each place in the code, with a `.why` beside it). A find is an error that is none of the house's own, or more than five
seconds of the processor's time. What is worth keeping goes to tests/hostile/files/, where a test runs it for good.

The first byte of an input picks the reader. Atheris is not among the project's dependencies: it has no wheel for
every system, and nothing else needs it.
"""

from __future__ import annotations

import hashlib
import io
import signal
import sys
import traceback
import wave
from pathlib import Path
from types import FrameType
from typing import Final

import atheris
import numpy as np

HERE: Final = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(HERE / "tests" / "hostile"))
with atheris.instrument_imports(include=["moldgen", "svgelements", "readers_under_attack"]):
    import readers_under_attack as attacked

    from moldgen import families
    from moldgen.outlines import check, corners, dxf, svg  # noqa: F401 (imported late otherwise, and not followed then)

    for family in families.names():
        families.find(family)

PATIENCE_S: Final = 5
NAMES: Final = tuple(attacked.READERS)
WORDS: Final = (
    *("±", "+/-", " mm", " in", "1/2", "%", "°C", "e99", "1e400", ".nan", ".inf", "-", "−", "٣", "9" * 60, "\ufeff"),
    *("&a ", "*a", "!!python/object:os.system", "---\n", "<<: ", "[[[[[[", "{{{{{{", "? ", "|\n", "\\0", "\\ud800"),
    *(
        "family: ",
        "measured: ",
        "wanted: ",
        "drive: ",
        "pulleys: ",
        "printer: ",
        "mold: ",
        "pour: ",
        "jigs: ",
        "file: ",
    ),
    *("idler_tyre", "pinch_sleeve", "belt", "clutch_pad", "turned_part", "outline_part", "based_on: ", "profile: "),
    *("of,dimension,reading\n", "mold,outer_diameter,", "casting,", "fitted,", ";", '"'),
    *(
        "<svg ",
        "viewBox=",
        'width="1e9mm"',
        "<path d=",
        "M0,0",
        "A1e9,1,0,1,1,",
        "C",
        "Z",
        "transform=",
        "rotate(1e308)",
    ),
    *("<use xlink:href=", "<g ", "matrix(0,0,0,0,0,0)", "NaN", "inf", "0\nSECTION\n2\nENTITIES\n", "0\nSPLINE\n"),
    *(
        "0\nINSERT\n",
        "0\nBLOCK\n",
        "0\nLWPOLYLINE\n",
        "0\nARC\n",
        "0\nELLIPSE\n",
        "$INSUNITS",
        "70\n999999999\n",
        "fmt ",
    ),
)


class TooSlowError(Exception):
    """A reader took more than PATIENCE_S of the processor's time, so that a busy machine makes no find."""


def too_slow(number: int, frame: FrameType | None) -> None:
    raise TooSlowError


def seeds() -> list[bytes]:
    """Sound files for each reader, from the examples."""
    specs = HERE / "part_specs"
    tone = io.BytesIO()
    with wave.open(tone, "wb") as file:
        file.setparams((1, 1, 4200, 0, "NONE", "not compressed"))
        times = np.arange(13000) / 4200
        file.writeframes((128 + 100 * np.sin(2 * np.pi * 1490 * times + 2 * np.sin(3 * times))).astype("u1").tobytes())
    dxf = (
        "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\n0\n20\n0\n11\n9\n21\n0\n0\nARC\n8\n0\n10\n4.5\n20\n0\n40\n4.5\n"
        "50\n0\n51\n180\n0\nENDSEC\n0\nEOF\n"
    )
    curves = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" viewBox="0 0 30 30"><g transform="rotate(3)">'
        '<path d="M1,1 h9 c1,2 3,4 0,9 A5 4 10 0 1 2,9 Z"/></g><circle r="3" cx="20" cy="20"/></svg>'
    )
    texts: dict[str, list[bytes]] = {
        "quantity": [b"1 3/8 in", "31.95 ± 0.03 mm".encode(), b"4 % +/- 1 %", b"-3e2 degC", b"3 3/4 in/s"],
        "spec": [path.read_bytes() for path in sorted(specs.glob("*.yaml"))],
        "elastomer": [b"based_on: pu_60a\nhardness_shore_a: 58\nlinear_shrinkage: 0.8 %\nsource: sheet\n"],
        "printer": [b"based_on: filament_0_4\nbed_x: 200 mm\nclearance: 0.25 mm\nhole_offset: 0.08 mm\n"],
        "castings_csv": [b"of,dimension,reading\nmold,outer_diameter,36.9 +/- 0.03 mm\ncasting,width,5.0 mm\n"],
        "castings_yaml": [b"castings:\n- {of: mold, dimension: width, reading: 5.1 mm, length: height}\n"],
        "machine": [path.read_bytes() for path in sorted(specs.glob("machines/*.yaml"))],
        "dxf": [dxf.encode()],
        "svg": [curves.encode(), (specs / "changer_brake_shoe.svg").read_bytes()],
        "svg_of_stated_unit": [curves.replace(' width="30mm"', "").encode()],
        "tone": [tone.getvalue()],
    }
    return [bytes([NAMES.index(name)]) + seed for name, several in texts.items() for seed in several]


def tried(folder: Path, raw: bytes) -> None:
    """One input; what breaks its reader is kept under a name that stands for the place in the code."""
    if not raw:
        return
    name = NAMES[raw[0] % len(NAMES)]
    ending, reader = attacked.READERS[name]
    path = folder / f"input{ending}"
    path.write_bytes(raw[1:])
    signal.setitimer(signal.ITIMER_PROF, PATIENCE_S)
    try:
        attacked.refused(reader, path)
    except Exception as error:
        signal.setitimer(signal.ITIMER_PROF, 0)
        frames = [f for f in traceback.extract_tb(error.__traceback__) if "/moldgen/" in f.filename]
        at = f"{type(error).__name__}:{frames[-1].filename}:{frames[-1].lineno}" if frames else type(error).__name__
        kept = folder / "finds" / name / f"{hashlib.sha256(at.encode()).hexdigest()[:10]}{ending}"
        if not kept.exists():
            kept.parent.mkdir(parents=True, exist_ok=True)
            kept.write_bytes(raw[1:])
            kept.with_suffix(".why").write_text("".join(traceback.format_exception(error)), encoding="utf-8")
            print(f"FOUND {at} {kept}", flush=True)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def main() -> None:
    folder = Path(sys.argv[1]).resolve()
    corpus = folder / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(seeds()):
        (corpus / f"seed_{number:02}").write_bytes(seed)
    words = folder / "words.dict"
    quoted = ("".join(f"\\x{byte:02x}" for byte in word.encode()) for word in WORDS)
    words.write_text("".join(f'"{word}"\n' for word in quoted), encoding="ascii")
    signal.signal(signal.SIGPROF, too_slow)
    options = [
        f"-dict={words}",
        "-timeout=60",
        "-rss_limit_mb=2000",
        f"-artifact_prefix={folder}/",
        *sys.argv[2:],
        str(corpus),
    ]
    atheris.Setup([sys.argv[0], *options], lambda raw: tried(folder, raw))
    atheris.Fuzz()


if __name__ == "__main__":
    main()
