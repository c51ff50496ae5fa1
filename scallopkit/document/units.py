"""Lengths and angles as text: those of SVG attributes, and those a maker writes on the command line."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from ..errors import DrawingError, RequestError

# CSS Values and Units: 1 in = 25.4 mm = 96 px = 72 pt = 6 pc. https://www.w3.org/TR/css-values-4/#absolute-lengths
MM = {"mm": 1.0, "cm": 10.0, "q": 0.25, "in": 25.4, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0, "px": 25.4 / 96.0}
MM_PER_PX = MM["px"]
RADIANS = {
    "": math.pi / 180.0,
    "deg": math.pi / 180.0,
    "°": math.pi / 180.0,
    "grad": math.pi / 200.0,
    "rad": 1.0,
    "turn": 2.0 * math.pi,
}

Sign = Literal["any", "not-negative", "positive"]

_DECIMAL = r"[-+]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][-+]?[0-9]+)?"
_MEASURE = re.compile(rf"\s*({_DECIMAL})\s*([A-Za-z%°]*)\s*")
_FRACTION = re.compile(r"\s*([-+]?)(?:([0-9]+)(?:\s+|\s*-\s*))?([0-9]+)\s*/\s*([0-9]+)\s*([A-Za-z]*)\s*")
_MAKERS_MM = {**MM, "": 1.0, "m": 1000.0, "inch": 25.4, "inches": 25.4}


@dataclass(frozen=True)
class SvgLength:
    """A length of an SVG attribute: its number, and its unit in lower case ("" and "%" included)."""

    number: float
    unit: str

    @property
    def mm(self) -> float:
        """The length in mm, a bare number being px; a share in % has none and raises DrawingError."""
        if self.unit == "%":
            raise DrawingError(f"{self.number:g}% is no length of its own; write it in mm")
        return self.number * MM[self.unit or "px"]

    def user(self, whole: float) -> float:
        """The length in user units (px), a share in % being one of `whole`."""
        if self.unit == "%":
            return self.number / 100.0 * whole
        return self.number if self.unit in ("", "px") else self.number * (MM[self.unit] / MM_PER_PX)


def svg_length(text: str) -> SvgLength:
    """Read a length of an SVG attribute; blanks before the unit and a decimal comma are accepted.

    Raises:
        DrawingError: it is no length, not finite, or in a unit that hangs on a font or a window.
    """
    match = _MEASURE.fullmatch(text)
    number = _number(match[1]) if match else math.nan
    if not match or not math.isfinite(number):
        raise DrawingError(f"{text!r} is no length; write a number with a unit, such as 30mm")
    unit = match[2].lower()
    if unit not in ("", "%") and unit not in MM:
        raise DrawingError(f"the unit of {text!r} has no fixed size; write the length in mm")
    return SvgLength(number, unit)


def parse_length(text: str, what: str = "the length", sign: Sign = "any") -> float:
    """A maker's length in mm: `30mm`, `3 cm`, `1.25in`, `1 1/4in`, `3,5cm`; a bare number is mm.

    Raises:
        RequestError: it cannot be read, is not finite, or has a sign that `sign` refuses.
    """
    fraction = _FRACTION.fullmatch(text)
    match = None if fraction else _MEASURE.fullmatch(text)
    unit = (fraction[5] if fraction else match[2] if match else "?").lower()
    number = _fraction(fraction) if fraction else _number(match[1]) if match else math.nan
    if fraction and not unit:
        raise RequestError(f"{what} {text.strip()!r} is a fraction without a unit; write {text.strip()}in for inches")
    if unit not in _MAKERS_MM or not math.isfinite(number):
        raise RequestError(
            f"{what} {text!r} cannot be read; write it like 30mm, 3 cm, 1.25in or 1 1/4in (a bare number is mm)"
        )
    return _with_sign(number * _MAKERS_MM[unit], text, what, sign)


def parse_share(text: str, what: str = "the share", sign: Sign = "any") -> float:
    """A share such as `40%` as a number (0.4).

    Raises:
        RequestError: it cannot be read, is not finite, or has a sign that `sign` refuses.
    """
    match = _MEASURE.fullmatch(text)
    number = _number(match[1]) if match and match[2] == "%" else math.nan
    if not math.isfinite(number):
        raise RequestError(f"{what} {text!r} cannot be read; write a share with its sign, like 40%")
    return _with_sign(number / 100.0, text, what, sign)


def parse_angle(text: str, what: str = "the angle", sign: Sign = "any") -> float:
    """An angle in radians: `30` and `30deg` are degrees; `rad`, `grad` and `turn` are known too.

    Raises:
        RequestError: it cannot be read, is not finite, or has a sign that `sign` refuses.
    """
    match = _MEASURE.fullmatch(text)
    number = _number(match[1]) if match else math.nan
    unit = match[2].lower() if match else "?"
    if unit not in RADIANS or not math.isfinite(number):
        raise RequestError(f"{what} {text!r} cannot be read; write it in degrees, like 30 or 30deg")
    return _with_sign(number * RADIANS[unit], text, what, sign)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _fraction(match: re.Match[str]) -> float:
    sign, whole, top, bottom, _ = match.groups()
    if not int(bottom):
        return math.nan
    value = float(whole or 0) + float(top) / float(bottom)
    return -value if sign == "-" else value


def _with_sign(value: float, text: str, what: str, sign: Sign) -> float:
    if sign == "positive" and value <= 0.0:
        raise RequestError(f"{what} {text.strip()!r} must be more than zero")
    if sign == "not-negative" and value < 0.0:
        raise RequestError(f"{what} {text.strip()!r} must not be negative")
    return value
