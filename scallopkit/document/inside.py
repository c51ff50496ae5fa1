"""Room inside a piece: for what is written on it, and for its grain line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.winding import winding
from .lettering import text_extent
from .styles import LEADING

# Sizes of the letters, mm, the best first; the last is the least that is read at arm's length (common practice, no
# source).
SIZES = (4.0, 3.5, 3.0, 2.5)
# What is left free round a text, in its sizes.
_FREE = 0.4
# Lines are looked at in places so far apart, mm; less than what is left free.
_STEP = 0.5
# A grain line takes so much of the room it has, is no longer than this, mm, and leaves room beside it for a text.
_TAKES, _LONGEST = 0.7, 60.0
# It is drawn where there is nearly as much room as anywhere, or enough, mm, near this share of the way along.
_NEARLY, _ENOUGH, _WHERE = 0.9, 60.0, 0.12
_LOOKED_AT = 16


@dataclass(frozen=True, eq=False)
class Writing:
    """A text in its place.

    Attributes:
        lines: the text.
        centre: the middle (2,) of its box.
        size: of its letters, mm.
        angle: by which it is turned about its middle, radians, clockwise as seen.
    """

    lines: tuple[str, ...]
    centre: Array
    size: float
    angle: float = 0.0

    @property
    def at(self) -> Array:
        """The middle of its first line's foot, before it is turned."""
        height = len(self.lines) * LEADING * self.size
        return np.asarray(self.centre + np.array([0.0, 0.85 * LEADING * self.size - 0.5 * height]))

    @property
    def box(self) -> Array:
        """The corners (4, 2) of the room that it takes at the most."""
        w, h = (0.5 * side for side in text_extent(self.lines, self.size))
        c, s = math.cos(self.angle), math.sin(self.angle)
        corners = np.array([(-w, -h), (w, -h), (w, h), (-w, h)])
        return np.asarray(self.centre + corners @ np.array([[c, s], [-s, c]]))


def written(texts: Sequence[tuple[str, ...]], rings: Sequence[Array], places: Array, clear: Sequence[Array]) -> Writing:
    """A text in the piece, in the largest letters that have room; else below the piece.

    Args:
        texts: the same text in lines of several lengths, the best first.
        rings: the closed lines that bound the piece.
        places: points (k, 2) along its middle, in order: where the text may stand, upright or along them.
        clear: further lines that it must not cover.
    """
    dots = np.concatenate([_dotted(curve) for curve in (*rings, *clear)])
    inside = winding(np.concatenate(list(rings)), places) != 0
    order = sorted(np.flatnonzero(inside).tolist(), key=lambda k: abs(2 * k - len(places) + 1))
    ways = np.gradient(places, axis=0)
    for size, lines, along in product(SIZES, texts, (False, True)):
        half = 0.5 * np.array(text_extent(lines, size)) + _FREE * size
        for k in order:
            angle = _upright(math.atan2(ways[k, 1], ways[k, 0])) if along else 0.0
            c, s = math.cos(angle), math.sin(angle)
            local = np.abs((dots - places[k]) @ np.array([[c, -s], [s, c]]))
            if not (local < half).all(axis=1).any():
                return Writing(lines, places[k], size, angle)
    low, high = dots.min(axis=0), dots.max(axis=0)
    width, height = text_extent(texts[0], SIZES[-1])
    left = max(0.5 * (low[0] + high[0]), low[0] + 0.5 * width)
    return Writing(texts[0], np.array([left, high[1] + 0.5 * height + SIZES[-1]]), SIZES[-1])


def grain_inside(rings: Sequence[Array], places: Array, along: Array) -> Array:
    """A grain line (2, 2) in the piece, where there is much room for it.

    Args:
        rings: the closed lines that bound the piece.
        places: points (k, 2) along its middle, in order.
        along: the grain's unit direction.
    """
    curve = np.concatenate(list(rings))
    inside = places[winding(curve, places) != 0]
    chords = [(place, *_chord(curve, place, along)) for place in inside[:: max(1, len(inside) // _LOOKED_AT)]]
    if not chords:
        middle = places[len(places) // 2]
        return np.stack([middle - along, middle + along])
    long = np.array([high - low for _, low, high in chords])
    roomy = np.flatnonzero(long >= min(_NEARLY * float(long.max()), _ENOUGH))
    k = int(roomy[np.argmin(np.abs(roomy - _WHERE * len(chords)))])
    place, low, high = chords[k]
    half = 0.5 * min(_TAKES * (high - low), _LONGEST)
    middle = min(0.5 * (low + high), low + 0.5 * (1.0 - _TAKES) * _LONGEST + half)
    return np.stack([place + (middle - half) * along, place + (middle + half) * along])


def _chord(curve: Array, place: Array, along: Array) -> tuple[float, float]:
    """From where to where the straight line through a place in the piece lies in it, along the line."""
    segment, t = cubics.meets_line(curve, place, cubics.left(along))
    s = (cubics.point(curve, segment, t) - place) @ along
    return float(s[s < 0.0].max(initial=s.min(initial=0.0))), float(s[s > 0.0].min(initial=s.max(initial=0.0)))


def _dotted(curve: Array) -> Array:
    # Three times its longest control leg is the greatest speed of a segment.
    legs = cubics.norm(np.diff(curve, axis=1))
    segment, t = cubics.in_steps(np.ceil(3.0 * legs.max(axis=1) / _STEP))
    return np.concatenate([cubics.point(curve, segment, t), curve[-1:, 3]])


def _upright(angle: float) -> float:
    """The angle, or the opposite one, at which a text is not upside down."""
    turned = math.remainder(angle, math.pi)
    return turned if turned > -0.5 * math.pi + 1e-9 else 0.5 * math.pi
