"""Files that are small to describe and large to read: `make FOLDER` writes them, `read FOLDER` says what each took.

Run as a script, each in a process of its own, so that the peak of memory is that of the readers alone.
"""

from __future__ import annotations

import importlib
import io
import json
import math
import resource
import sys
import time
import wave
from collections.abc import Iterator
from pathlib import Path

import readers_under_attack as attacked

HEAD = "family: {}\nname: a\nelastomer: pu_60a\n"
TYRE = HEAD.format("idler_tyre")
OUTLINE = HEAD.format("outline_part") + "wanted:\n  thickness: 2\n  outline: "
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" viewBox="0 0 100 100">{}</svg>'


def attacks() -> Iterator[tuple[str, str, bytes]]:
    """Name, reader, content."""
    for name, reader, text in (
        ("keys", "spec", TYRE + "".join(f"k{i}: 1\n" for i in range(95_000))),
        ("the same key", "spec", TYRE + "name: b\n" * 120_000),
        ("brackets", "spec", TYRE + "x: " + "[" * 900_000),
        ("braces", "spec", TYRE + "x: " + "{a: " * 240_000),
        ("empty lists", "spec", TYRE + "x: [" + "[]," * 300_000 + "]"),
        ("a list of readings", "spec", TYRE + "measured: {hub_diameter: [" + "1," * 490_000 + "]}\n"),
        ("jigs", "spec", TYRE + "jigs: [" + "a," * 490_000 + "]\n"),
        ("digits", "spec", TYRE + "measured: {hub_diameter: " + "9" * 990_000 + "}\n"),
        ("corners that are none", "spec", OUTLINE + "[" + "a," * 490_000 + "]\n"),
        ("blanks", "spec", OUTLINE + '[["a' + " " * 990_000 + '!", 0], [1, 0], [1, 1]]\n'),
        ("uncertain corners", "spec", OUTLINE + f"[{','.join(uncertain_corners())}]\n"),
        ("figures", "elastomer", "based_on: pu_60a\n" + "".join(f"k{i}: 1\n" for i in range(9_000))),
        ("rows", "castings_csv", "of,dimension,reading\n" + "a,b,c\n" * 160_000),
        ("columns", "castings_csv", ",".join("readin" for _ in range(140_000)) + "\n1\n"),
        ("an open quote", "castings_csv", 'of,dimension,reading\n"' + "mold,width,5.1\n" * 60_000),
        ("castings", "castings_yaml", "castings:\n" + "- a\n" * 240_000),
        ("rollers", "machine", f"machine: {{rollers: [{'{name: a, diameter: 3 ± 1},' * 30_000}]}}\n"),
        ("curves", "svg", SVG.format("<path d='M0,0" + "c1e3,1e3 -1e3,1e3 1,1" * 20_000 + "z'/>")),
        ("lines", "svg", SVG.format("<path d='M0,0" + "l1,1" * 1_200_000 + "z'/>")),
        ("styles", "svg", SVG.format("<style>" + "/*" * 2_400_000 + "</style>")),
        ("groups", "svg", SVG.format("<g>" * 700_000 + "</g>" * 700_000)),
        ("a star", "svg", SVG.format(f"<polygon points='{' '.join(star(18_000))}'/>")),
        ("a fan", "svg", SVG.format("".join(f"<path d='M50,50L{i % 99},{i // 99}'/>" for i in range(4_000)))),
        ("loose ends", "svg", SVG.format(f"<path d='{''.join(loose_ends(9_000))}'/>")),
        (
            "entities",
            "dxf",
            "0\nSECTION\n2\nENTITIES\n" + "0\nPOINT\n8\n0\n10\n1\n20\n1\n" * 60_000 + "0\nENDSEC\n0\nEOF\n",
        ),
        ("binary entities", "dxf", "DXF\r\n\x1a\x00" + "\x00POINT\x00" * 600_000),
        ("fit points", "dxf", dxf_spline(fit_points=20_000)),
    ):
        yield name, reader, text.encode()
    yield "three minutes", "tone", recording(seconds=179.0, rate_hz=48_000)


def uncertain_corners() -> Iterator[str]:
    for i in range(900):
        angle = 2.0 * math.pi * i / 900
        yield f"[{300 * math.cos(angle):.2f} ± 0.01, {300 * math.sin(angle):.2f} ± 0.01]"


def star(count: int) -> Iterator[str]:
    """A polygon each of whose sides crosses nearly all others."""
    for i in range(count):
        angle = i * math.pi * 0.99983
        yield f"{50 + 40 * math.cos(angle):.3f},{50 + 40 * math.sin(angle):.3f}"


def loose_ends(count: int) -> Iterator[str]:
    for i in range(count):
        yield f"M{i % 100},{i // 100}h.1"


def dxf_spline(*, fit_points: int) -> str:
    points = "".join(f"11\n{i % 100}\n21\n{i * 7 % 91}\n31\n0\n" for i in range(fit_points))
    return (
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
        f"0\nSPLINE\n5\nFF\n100\nAcDbEntity\n8\n0\n100\nAcDbSpline\n70\n8\n71\n3\n74\n{fit_points}\n{points}"
        "0\nENDSEC\n0\nEOF\n"
    )


def recording(*, seconds: float, rate_hz: int) -> bytes:
    """Two channels of a tone with one line of wow."""
    import numpy as np

    times = np.arange(int(seconds * rate_hz)) / rate_hz
    tone = (9000 * np.sin(2 * np.pi * 1490 * times + 3 * np.sin(7 * times))).astype("<i2")
    content = io.BytesIO()
    with wave.open(content, "wb") as file:
        file.setparams((2, 2, rate_hz, 0, "NONE", "not compressed"))
        file.writeframes(np.repeat(tone, 2).tobytes())
    return content.getvalue()


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)


def make(folder: Path) -> None:
    """Writes each attack into a folder of its own below its reader's."""
    for name, reader, content in attacks():
        path = folder / reader / name / f"attack{attacked.READERS[reader][0]}"
        path.parent.mkdir(parents=True)
        path.write_bytes(content)


def read(folder: Path) -> dict[str, dict[str, object]]:
    """Seconds of the processor's time, growth of the peak of memory so far, and what was said."""
    for module in ("ezdxf", "scipy.ndimage", "scipy.optimize", "scipy.signal", "shapely", "soundfile", "svgelements"):
        importlib.import_module(module)  # what the readers load is no memory that a file takes
    took: dict[str, dict[str, object]] = {}
    before_mb = peak_mb()
    for path in sorted(folder.glob("*/*/attack.*")):
        started = time.process_time()
        said = attacked.refused(attacked.READERS[path.parts[-3]][1], path)
        seconds = time.process_time() - started
        took[path.parts[-2]] = {"seconds": seconds, "mb": peak_mb() - before_mb, "said": said[:500]}
    return took


if __name__ == "__main__":
    if sys.argv[1] == "make":
        make(Path(sys.argv[2]))
    else:
        json.dump(read(Path(sys.argv[2])), sys.stdout)
