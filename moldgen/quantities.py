"""What a person types, as a number in the project's units with its standard uncertainty.

The only place where units are parsed: `"1 3/8 in"`, `"31.95 ± 0.03 mm"`, `"4 %"`, `"3 3/4 in/s"`, or a list of
readings. A general units library is not used on purpose: the one tried reads `3 3/4 in/s` as 2.25 in/s.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

LONGEST_TEXT: Final = 80
MOST_READINGS: Final = 50
LARGEST_NUMBER: Final = 1e12

# Factor to the project's unit, which is the first of each kind and the one that a bare number is taken to be in.
UNITS: Final[dict[str, dict[str, float]]] = {
    "length": {
        "mm": 1.0, "cm": 10.0, "m": 1000.0, "µm": 1e-3, "um": 1e-3, "in": 25.4, "inch": 25.4, '"': 25.4, "thou": 0.0254,
    },
    "angle": {"deg": 1.0, "°": 1.0, "rad": 180.0 / math.pi},
    "speed": {"mm/s": 1.0, "cm/s": 10.0, "m/s": 1000.0, "in/s": 25.4, "ips": 25.4},
    "rotation": {"rpm": 1.0, "1/min": 1.0, "min⁻¹": 1.0, "min-1": 1.0, "1/s": 60.0, "Hz": 60.0},
    "frequency": {"Hz": 1.0, "kHz": 1000.0},
    "force": {
        "N": 1.0, "mN": 1e-3, "kN": 1e3, "gf": 9.80665e-3, "kgf": 9.80665, "lbf": 4.4482216152605, "ozf": 0.27801385095,
    },
    "torque": {"N·mm": 1.0, "N mm": 1.0, "Nmm": 1.0, "mN·m": 1.0, "mN m": 1.0, "N·m": 1e3, "N m": 1e3, "Nm": 1e3},
    "modulus": {"MPa": 1.0, "kPa": 1e-3, "N/mm²": 1.0, "N/mm2": 1.0, "psi": 6.894757293168e-3},
    "tear": {"kN/m": 1.0, "N/mm": 1.0},
    "mass": {"g": 1.0, "kg": 1e3, "mg": 1e-3, "oz": 28.349523125},
    "volume": {"mm³": 1.0, "mm3": 1.0, "ml": 1e3, "cm³": 1e3, "cm3": 1e3, "l": 1e6},
    "density": {"g/cm³": 1.0, "g/cm3": 1.0, "g/ml": 1.0, "kg/m³": 1e-3, "kg/m3": 1e-3},
    "viscosity": {
        "Pa·s": 1.0, "Pa s": 1.0, "Pas": 1.0, "mPa·s": 1e-3, "mPa s": 1e-3, "mPas": 1e-3, "cP": 1e-3, "cps": 1e-3,
    },
    "time": {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0},
    "ratio": {"": 1.0, "%": 0.01},
    "number": {"": 1.0, "A": 1.0},  # a Shore A hardness may be typed as "60 A"
}  # fmt: skip
TEMPERATURE: Final = {"°C": (1.0, 0.0), "degC": (1.0, 0.0), "C": (1.0, 0.0), "°F": (5.0 / 9.0, -160.0 / 9.0),
                      "degF": (5.0 / 9.0, -160.0 / 9.0), "F": (5.0 / 9.0, -160.0 / 9.0)}  # fmt: skip

_NUMBER = (
    r"(?:[0-9]{1,9}\s+[0-9]{1,6}/[0-9]{1,6}|[0-9]{1,6}/[0-9]{1,6}|[0-9]+\.?[0-9]*(?:[eE][-+]?[0-9]{1,2})?|\.[0-9]+)"
)
_UNIT = r"(?:1/[a-z]+|[^0-9±+]*?(?:⁻¹|-1|²|³|2|3)?)"
_QUANTITY = re.compile(
    rf"\s*(?P<sign>[-+−]?)\s*(?P<value>{_NUMBER})\s*(?P<unit>{_UNIT})"
    rf"\s*(?:(?:±|\+/-|\+-)\s*(?P<half>{_NUMBER})\s*(?P<half_unit>{_UNIT}))?\s*"
)
_ALIKE: Final = str.maketrans({"μ": "µ", "″": '"', "”": '"'})
"""Letters that look like the ones in UNITS and that keyboards and word processors give instead."""


class QuantityError(ValueError):
    """The text is not a quantity of the wanted kind; `limit` says what is wrong and `way_out` what to type."""

    def __init__(self, limit: str, way_out: str) -> None:
        super().__init__(limit, way_out)
        self.limit, self.way_out = limit, way_out

    def __str__(self) -> str:
        return f"{self.limit}. {self.way_out}"


class Estimate(float):
    """A number in the project's units that knows its standard uncertainty `u` and how it was typed.

    A formula sees the plain float; arithmetic gives plain floats, because uncertainty is carried by running the
    whole sizing again for each reading (see `uncertainty.propagated`), which keeps every correlation. `low` and `high`
    are the ends of what it may be, value ± √3 u unless given; they stay where they are while the value is varied, so
    that a choice made for the worst case does not look like an uncertain dimension.

    >>> x = Estimate(31.95, u=0.0173, text="31.95 ± 0.03 mm")
    >>> x + 1.0, x.u
    (32.95, 0.0173)
    """

    __slots__ = ("high", "low", "text", "u")
    u: float
    text: str
    low: float
    high: float

    def __new__(
        cls, value: float, *, u: float = 0.0, text: str = "", low: float | None = None, high: float | None = None
    ) -> Estimate:
        self = super().__new__(cls, value)
        self.u = u
        self.text = text or f"{value:g}"
        self.low = value - math.sqrt(3.0) * u if low is None else low
        self.high = value + math.sqrt(3.0) * u if high is None else high
        return self

    def __getnewargs_ex__(self) -> tuple[tuple[float], dict[str, object]]:
        return (float(self),), {"u": self.u, "text": self.text, "low": self.low, "high": self.high}


def standard_uncertainty(*, half_width: float) -> float:
    """u = a/√3 of a value known to lie within ± a, any place in it as likely as another.

    Source: JCGM 100:2008 (GUM), 4.3.7.

    >>> round(standard_uncertainty(half_width=0.03), 5)
    0.01732
    """
    return half_width / math.sqrt(3.0)


def mean_of_readings(readings: Sequence[Estimate]) -> Estimate:
    """The mean of repeated readings; their scatter (type A) joined with the instrument's largest u (type B).

    u² = s²/n + u_instrument², s the experimental standard deviation. One instrument reads them all, so its error
    does not average out. Source: JCGM 100:2008 (GUM), 4.2.3 and 5.1.2.

    By hand: 31.95, 31.97, 31.94: mean 31.9533, s = 0.015275, s/√3 = 0.008819

    >>> m = mean_of_readings([Estimate(31.95), Estimate(31.97), Estimate(31.94)])
    >>> round(float(m), 4), round(m.u, 6)
    (31.9533, 0.008819)
    """
    n = len(readings)
    mean = math.fsum(readings) / n
    scatter = math.sqrt(math.fsum((x - mean) ** 2 for x in readings) / (n - 1) / n) if n > 1 else 0.0
    instrument = max(x.u for x in readings)
    text = readings[0].text if n == 1 else "[" + ", ".join(x.text for x in readings) + "]"
    return Estimate(mean, u=math.hypot(scatter, instrument), text=text)


def parsed(text: str, kind: str) -> Estimate:
    """The quantity that a person typed, in the project's unit of its kind (see UNITS; °C for "temperature").

    Raises QuantityError for anything that is not exactly one quantity of that kind.

    >>> parsed("1 3/8 in", "length")
    34.925
    >>> round(parsed("31.95 +/- 0.03 mm", "length").u, 5)
    0.01732
    >>> parsed("3 3/4 in/s", "speed"), parsed("4 %", "ratio")
    (95.25, 0.04)
    """
    example = _EXAMPLES[kind]
    match = _matched(text, kind)
    unit, half_unit = match["unit"].strip(), (match["half_unit"] or "").strip()
    value = _number(match["value"], example) * (-1.0 if match["sign"] in ("-", "−") else 1.0)
    u = 0.0
    if kind == "ratio" and half_unit == "%" and not unit:
        raise QuantityError("it is unclear whether the % belongs to both numbers", "Write `4 % ± 0.5 %`.")
    unit = unit or (half_unit if half_unit != "%" else "")
    factor, offset = _conversion(unit, kind)
    if match["half"] is not None:
        half = _number(match["half"], example)
        if half_unit == "%" and kind != "ratio":
            half_width = abs(value * factor) * half / 100.0
        else:
            half_width = half * _conversion(half_unit or unit, kind)[0]
        u = standard_uncertainty(half_width=half_width)
    return Estimate(value * factor + offset, u=u, text=text.strip())


def _matched(text: str, kind: str) -> re.Match[str]:
    """The parts of a quantity. Raises QuantityError where the text has not its form."""
    example = _EXAMPLES[kind]
    if len(text) > LONGEST_TEXT:
        raise QuantityError(f"a quantity takes at most {LONGEST_TEXT} characters", f"Write it like {example}.")
    match = _QUANTITY.fullmatch(text.translate(_ALIKE))
    if match is not None:
        return match
    if re.search(r"[0-9],[0-9]", text):
        raise QuantityError("a comma is not taken as a decimal sign", f"Write a point: {text.replace(',', '.')}.")
    raise QuantityError(f"this is not a {kind}", f"Write it like {example}.")


def parsed_readings(value: object, kind: str) -> Estimate:
    """As `parsed`, for a text or for a list of repeated readings of the same thing.

    In a list, the half-width of one reading holds for those typed without: one instrument took them all.
    """
    if isinstance(value, Estimate):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        if abs(value) > LARGEST_NUMBER:  # asked here, because Python writes out no number of thousands of digits
            raise QuantityError(f"numbers up to {LARGEST_NUMBER:g} are taken", f"Write it like {_EXAMPLES[kind]}.")
        return parsed(repr(value), kind)
    if isinstance(value, str):
        return parsed(value, kind)
    if isinstance(value, list | tuple) and value:
        if len(value) > MOST_READINGS:
            raise QuantityError(f"at most {MOST_READINGS} readings are taken", "Give fewer readings.")
        if all(isinstance(item, str) for item in value):
            readings = [parsed(item, kind) for item in value]
            _refuse_mixed_units(value, kind)
            return mean_of_readings(readings)
    raise QuantityError(f"a {kind} or a list of readings is wanted here", f"Write it like {_EXAMPLES[kind]}.")


def _refuse_mixed_units(readings: Sequence[str], kind: str) -> None:
    """Inches beside bare numbers, which are millimetres, would give a mean that nobody meant."""
    units = set()
    for text in readings:
        match = _matched(text, kind)
        units.add(match["unit"].strip() or (match["half_unit"] or "").strip().replace("%", ""))
    foreign = sorted(unit for unit in units if _conversion(unit, kind) != (1.0, 0.0))
    if "" in units and foreign:
        raise QuantityError(
            f"some of these readings are in `{foreign[0]}` and some have no unit", "Give each reading its unit."
        )


def _number(text: str, example: str) -> float:
    try:
        value = math.fsum(float(Fraction(part)) if "/" in part else float(part) for part in text.split())
    except ZeroDivisionError:
        raise QuantityError("a fraction cannot have zero below the line", f"Write it like {example}.") from None
    if not value <= LARGEST_NUMBER:
        raise QuantityError(f"numbers up to {LARGEST_NUMBER:g} are taken", f"Write it like {example}.")
    return value


def _conversion(unit: str, kind: str) -> tuple[float, float]:
    if kind == "temperature":
        if unit in TEMPERATURE or not unit:
            return TEMPERATURE.get(unit, (1.0, 0.0))
        known = [name for name in TEMPERATURE if "°" in name]
    else:
        units = UNITS[kind]
        if unit in units or not unit:
            return units.get(unit, 1.0), 0.0
        known = [name for name in units if name]
    if not known:
        raise QuantityError(f"a {kind} takes no unit, and {unit!r} is one", f"Write it like {_EXAMPLES[kind]}.")
    raise QuantityError(f"{unit!r} is not a unit of {kind}", f"Use one of {', '.join(known)}.")


_EXAMPLES: Final = {
    "length": "`31.95 ± 0.03 mm`, `1 3/8 in` or `0.125\"`", "angle": "`45 deg`", "speed": "`9.53 cm/s` or `3 3/4 in/s`",
    "rotation": "`1500 rpm`", "frequency": "`3150 Hz`", "force": "`0.8 N`", "torque": "`12 N·mm`",
    "modulus": "`2.4 MPa`", "tear": "`12 kN/m`", "mass": "`9.5 g`", "volume": "`2.4 ml`", "density": "`1.05 g/cm³`",
    "viscosity": "`1.8 Pa·s`", "time": "`30 min`",
    "ratio": "`4 %` or `0.04`", "number": "`60`", "temperature": "`23 °C`",
}  # fmt: skip
