"""Grain lines: straight lines drawn in a piece that lie along the warp once it is cut."""

from __future__ import annotations

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.winding import winding
from .piece import Pattern, Piece

_WORD = "grain"
# A line that bows by more than this share of its length is none; what drawing by hand leaves is less.
_BOW = 0.01


def grain_of(pattern: Pattern, piece: Piece) -> Array | None:
    """The grain line of a piece, its two ends (2, 2) in mm; None where none is drawn.

    It is an open, straight line of the drawing with "grain" in one of its names, in any case, whose middle lies in the
    piece. Of several it is the longest.
    """
    if not piece.closed:
        return None
    lines = [_ends(other.curve) for other in pattern.pieces if not other.closed and _is_grain(other)]
    inside = [ends for ends in lines if winding(piece.curve, ends.mean(axis=0)[None])[0] != 0]
    return max(inside, key=_length, default=None)


def _is_grain(line: Piece) -> bool:
    if not any(_WORD in name.lower() for name in line.names):
        return False
    ends = _ends(line.curve)
    long = _length(ends)
    if long == 0.0:
        return False
    across = cubics.left((ends[1] - ends[0]) / long)
    return bool(np.abs((line.curve - ends[0]) @ across).max() <= _BOW * long)


def _ends(curve: Array) -> Array:
    return np.stack([curve[0, 0], curve[-1, 3]])


def _length(ends: Array) -> float:
    return float(np.hypot(*(ends[1] - ends[0])))
