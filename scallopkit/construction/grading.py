"""Grading: the layers of a turned allowance trimmed to different widths, so that they leave no ridge.

Sewn and turned, the layer next to the outside of the garment stays widest and covers the steps of the others (common
practice: allowances trimmed to 1/8 to 1/4 inch, the widest outermost; Apparel, g-w online textbooks, 2012, p. 451-452).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import RequestError

# The narrowest allowance that holds a seam in firm cloth, mm; common practice, no source.
LEAST = 3.0
# The widest that lies flat when it is turned inside a curve, mm; common practice, no source.
WIDEST = 6.0
# Widths are told to this, mm, and rounded down to it.
_TOLD = 0.1


@dataclass(frozen=True)
class Layer:
    """A layer of the allowance, and the width in mm to which it is trimmed."""

    name: str
    allowance: float


@dataclass(frozen=True)
class Grading:
    """How the layers are trimmed.

    Attributes:
        layers: in order, the one next to the outside first and widest.
        tight: whether the curve, or what is left of the allowance, is so narrow that the layers are trimmed to less
            than the least that holds a seam: bind the edge or stitch it close instead.
    """

    layers: tuple[Layer, ...]
    tight: bool


def turnable(radius: float, widest: float = WIDEST) -> float:
    """The widest allowance that lies flat once it is turned inside a curve, mm, rounded down to 0.1 mm.

    Half the radius, and no more than `widest` (common practice, no source): turned inside a bulging curve, a cut edge
    of radius r + a lies on one of r - a; at half the radius that is a third of it.

    Args:
        radius: the smallest radius of the curve, mm; infinite for straight sides.
        widest: mm.
    """
    return _down(min(widest, 0.5 * radius))


def graded(
    layers: Sequence[str], radius: float, least: float = LEAST, widest: float = WIDEST, step: float = 1.5
) -> Grading:
    """The width of each layer's allowance, rounded down to 0.1 mm.

    The first is as wide as can be turned (`turnable`). Each further layer is a step narrower, but not less than
    `least`; where steps run out, the last ones are equal. Where even the first is narrower than `least`, all are as
    narrow.

    Args:
        layers: their names, from the outside of the garment in.
        radius: the smallest radius of the edge's curves, mm; infinite for straight sides.
        least: the narrowest allowance that holds the seam, mm: 3 for firm cloth, more where it frays (common practice).
        widest: of the outermost layer, mm: no more than the allowance is when it is clipped.
        step: from layer to layer, mm: 1.5 for thin cloth, 2 for thicker (common practice, no source).

    Raises:
        RequestError: no layers, no radius, or widths that contradict each other.
    """
    if not layers:
        raise RequestError("there are no layers to grade: name one or more")
    if not radius > 0.0:
        raise RequestError(f"a curve can't have a radius of {radius:g} mm: give one above 0")
    if not (0.0 < least < math.inf and 0.0 < widest < math.inf):
        raise RequestError(f"allowances can't be graded from {widest:g} mm down to {least:g} mm: give widths above 0")
    if not 0.0 <= step < math.inf:
        raise RequestError(f"layers can't be trimmed in steps of {step:g} mm: give 0 or more")
    first = turnable(radius, widest)
    trimmed = (Layer(name, _down(max(first - k * step, min(least, first)))) for k, name in enumerate(layers))
    return Grading(tuple(trimmed), min(widest, 0.5 * radius) < least)


def _down(width: float) -> float:
    """A width rounded down to 0.1 mm; what is narrower than that stays."""
    # What is a whole number of tenths but for rounding is one.
    return math.floor(width / _TOLD + 1e-6) / round(1.0 / _TOLD) if width >= _TOLD else width
