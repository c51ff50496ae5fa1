"""Numbers and curves as SVG text: short, without exponents, and fine enough for full-size work."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from itertools import islice

import numpy as np

from ..errors import OutputError
from ..geometry.cubics import Array, Bools

# The step of written coordinates: a tenth of the 1e-4 mm that are promised, so that sums of a few stay within it.
STEP_MM = 1e-5

_NOT_FINITE = "the result holds a coordinate that is not a number, so it was not written"
_TRAILING = re.compile(r"\.?0+(?![\d.])")
_MINUS_NOUGHT = re.compile(r"-0(?![\d.])")


def decimal(value: float, places: int) -> str:
    """The number with at most `places` decimals, without exponent, trailing zeros or a minus before zero.

    Raises:
        OutputError: the value is not finite.
    """
    if not math.isfinite(value):
        raise OutputError(_NOT_FINITE)
    return _trimmed(f"{value:.{places}f}", places)


def decimals(values: Array, places: int) -> list[str]:
    """The same for a whole array, in reading order.

    Raises:
        OutputError: one of the values is not finite.
    """
    flat = np.asarray(values, dtype=float).ravel()
    if not np.isfinite(flat).all():
        raise OutputError(_NOT_FINITE)
    return _trimmed(" ".join([f"%.{places}f"] * len(flat)) % tuple(flat.tolist()), places).split()


def _trimmed(text: str, places: int) -> str:
    """Written numbers without trailing zeros and without a minus before zero."""
    if places > 0:
        text = _TRAILING.sub("", text)
    return _MINUS_NOUGHT.sub("0", text)


def rounded(length: float) -> float:
    """A length in mm as reports give it, to 0.000001 mm."""
    return round(float(length), 6)


def places_for(unit_mm: float) -> int:
    """How many decimals make written coordinates steps of `STEP_MM` or finer where a user unit is `unit_mm` mm.

    Raises:
        OutputError: the unit is not a positive length.
    """
    if not (math.isfinite(unit_mm) and unit_mm > 0.0):
        raise OutputError(f"a drawing whose user unit is {unit_mm} mm cannot be written to")
    # The little that is taken off keeps 1 mm at five places where the unit itself comes out of a rounded division.
    return max(0, math.ceil(math.log10(unit_mm / STEP_MM) - 1e-9))


def path_text(curve: Array, places: int, closed: bool = False) -> str:
    """The `d` text of one curve (n, 4, 2) in user units, n at least 1: absolute `M`, `L` and `C`.

    A segment is written as a line where its handles lie at even thirds, to a hundredth of the last written place.
    A closed curve gets a `Z`; where its last segment is a line back to the first point, `Z` alone draws it.
    """
    words = decimals(curve, places)
    points = [f"{x},{y}" for x, y in zip(words[::2], words[1::2], strict=True)]
    straight = _straight(curve, 0.01 * 10.0**-places)
    parts = [f"M {points[0]}"]
    for i, line in enumerate(straight.tolist()):
        p1, p2, p3 = points[4 * i + 1 : 4 * i + 4]
        parts.append(f"L {p3}" if line else f"C {p1} {p2} {p3}")
    if closed:
        if straight[-1] and points[-1] == points[0]:
            parts.pop()
        parts.append("Z")
    return " ".join(parts)


def lines_texts(lines: Sequence[Array], places: int) -> list[str]:
    """The `d` texts of straight lines through points (k, 2) in user units, all numbers written in one go."""
    words = decimals(np.concatenate([points.ravel() for points in lines]), places) if lines else []
    pairs = (f"{x},{y}" for x, y in zip(words[::2], words[1::2], strict=True))
    return [f"M {' L '.join(islice(pairs, len(points)))}" for points in lines]


def _straight(curve: Array, tolerance: float) -> Bools:
    """Which cubics are straight lines of even speed."""
    a, b = curve[:, 0], curve[:, 3]
    third = (b - a) / 3.0
    off = np.maximum(np.abs(curve[:, 1] - a - third), np.abs(curve[:, 2] - b + third)).max(axis=1)
    return np.asarray(off <= tolerance)
