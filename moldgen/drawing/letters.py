"""How wide a text will be, before any font has drawn it, and how a number is written.

Widths are those of DejaVu Sans, the widest of the fonts that the drawings ask for, so what keeps apart in it keeps
apart in the others.
"""

from __future__ import annotations

from typing import Final

CAPITAL_SHARE: Final = 0.729
"""Height of capitals over font size."""
BOLD: Final = 1.12
_EMS: Final = {
    0.28: "ijlIJ'",
    0.34: ".,:;/| ·",
    0.40: "-()[]tr!f²",
    0.53: "sz–°_",
    0.60: "ckvxyTLFY",
    0.64: "0123456789abdeghnopqu",
    0.70: "ABCEKPRSVXZ",
    0.79: "DGHNOQUØ",
    0.84: "w×±+=−→",
    1.00: "mMW%—",
}
_WIDTH: Final = {letter: ems for ems, letters in _EMS.items() for letter in letters}
_OTHER_EMS: Final = 0.8


def text_width_mm(text: str, *, height_mm: float, bold: bool = False) -> float:
    """Width of a line whose capitals are `height_mm` high, rather too large than too small."""
    ems = sum(_WIDTH.get(letter, _OTHER_EMS) for letter in text)
    return ems * height_mm / CAPITAL_SHARE * (BOLD if bold else 1.0)


def fitted(text: str, *, height_mm: float, room_mm: float, least_mm: float, bold: bool = False) -> tuple[str, float]:
    """The text and its height, made smaller down to `least_mm` and then shorter, so that it fits."""
    width = text_width_mm(text, height_mm=height_mm, bold=bold)
    if width <= room_mm:
        return text, height_mm
    height = max(least_mm, height_mm * room_mm / width)
    while text_width_mm(text, height_mm=height, bold=bold) > room_mm + 1e-6 and len(text) > 2:
        text = text[:-2] + "…"
    return text, height


def written(value: float, decimals: int = 2) -> str:
    """A number as drawings write it: rounded, without zeros at its end.

    >>> written(36.400001), written(5.0), written(-0.001)
    ('36.4', '5', '0')
    """
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def ratio(scale: float) -> str:
    """A scale as ISO 5455 writes it.

    >>> ratio(2.0), ratio(1.0), ratio(0.5)
    ('2:1', '1:1', '1:2')
    """
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{1.0 / scale:g}"
