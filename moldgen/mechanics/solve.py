"""Bracketed root finding.

Our own twenty lines, because importing a numerical library for it costs more than a whole `moldgen size`.
"""

from __future__ import annotations

from collections.abc import Callable

from moldgen.errors import MoldgenError


class NoRootError(MoldgenError, ArithmeticError):
    """The function has the same sign at both ends of the bracket."""


def root(function: Callable[[float], float], low: float, high: float, *, tolerance: float = 1e-13) -> float:
    """The x in [low, high] at which `function` changes sign, to within `tolerance` of the bracket's scale.

    Regula falsi with the Illinois step (the retained end's value is halved when an end is kept twice), safeguarded
    by bisection. Source: M. Dowell and P. Jarratt, BIT 11 (1971) 168, as commonly given.

    >>> round(root(lambda x: x * x - 2.0, 0.0, 2.0), 12)
    1.414213562373
    """
    at_low, at_high = function(low), function(high)
    if at_low == 0.0:
        return low
    if at_high == 0.0:
        return high
    if (at_low > 0.0) == (at_high > 0.0):
        raise NoRootError(f"no change of sign between {low:g} and {high:g} ({at_low:g}, {at_high:g})")
    scale = max(abs(low), abs(high))
    kept = 0
    for step in range(200):
        width = high - low
        if abs(width) <= tolerance * scale:
            break
        middle = high - at_high * width / (at_high - at_low)
        if step % 8 == 7 or not min(low, high) < middle < max(low, high):
            middle = 0.5 * (low + high)
        at_middle = function(middle)
        if at_middle == 0.0:
            return middle
        if (at_middle > 0.0) == (at_high > 0.0):
            high, at_high = middle, at_middle
            at_low = at_low * 0.5 if kept == -1 else at_low
            kept = -1
        else:
            low, at_low = middle, at_middle
            at_high = at_high * 0.5 if kept == 1 else at_high
            kept = 1
    return 0.5 * (low + high)
