"""Straps, bands and bindings: straight strips by their finished size, and how they are cut and pieced."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from .strip import Cloth, band_pieces

# How a strap is made: of one layer, folded double along its middle, cut on the bias to bind an edge, or bought as cord.
FLAT, DOUBLE, BIAS, CORD = "1", "2", "bias", "cord"
FOLDS = (DOUBLE, FLAT, BIAS, CORD)

# Allowance along a strap, at each of its ends, and at a join of two of its pieces, mm; common practice, no source.
SEAM, ENDS, JOIN = 10.0, 10.0, 6.0
# Cord beyond a run at each end, from the knot on, mm: about 250 (a sum on shoe laces at
# excelmathmike.blogspot.com/2010/01, stored copy).
TAIL = 250.0
# Between the ends of a piece that is broken off, mm; common practice, no source.
_BREAK = 6.0


@dataclass(frozen=True)
class Making:
    """How a strap is made; lengths in mm.

    Attributes:
        fold: one of FOLDS.
        width: its finished width; of a binding what is seen of it on one side; of a cord 0 where it is not told.
        seam: the allowance along each of its long edges; of a binding what is turned in there.
        ends: the allowance at each end; of a cord what hangs beyond it.
        join: the allowance where two pieces are joined, square to that seam.
        longest: the longest piece there can be, as it is cut.
    """

    fold: str
    width: float
    seam: float
    ends: float
    join: float = JOIN
    longest: float = math.inf

    @property
    def cut_width(self) -> float:
        """How wide it is cut, mm: one width or two, and the allowance of both edges; a cord is not cut in width."""
        if self.fold == CORD:
            return self.width
        return (1.0 if self.fold == FLAT else 2.0) * self.width + 2.0 * self.seam

    @property
    def folds(self) -> tuple[float, ...]:
        """Where it is folded lengthwise, mm from one long edge as cut."""
        middle = self.seam + self.width
        return {DOUBLE: (middle,), BIAS: (self.seam, middle, middle + self.width)}.get(self.fold, ())

    @property
    def at_join(self) -> float:
        """How far a piece goes on beyond the middle of a join, mm along the strap.

        The join lies at 45 degrees, so that its bulk is spread: an allowance `a` square to it is a sqrt 2 along the
        strap, and half the cut width goes on beyond the middle (plane geometry).
        """
        return math.sqrt(2.0) * self.join + 0.5 * self.cut_width


@dataclass(frozen=True)
class StrapPiece:
    """A piece of a strap.

    Attributes:
        length: its length along the middle, from end to end or join to join, mm.
        before, after: how far it goes on beyond these, mm, at its farthest point.
        joined: whether it is joined to another at its start, and at its end.
        number: how many of it there are in one strap.
    """

    length: float
    before: float
    after: float
    joined: tuple[bool, bool]
    number: int = 1

    @property
    def cut(self) -> float:
        """How long it is cut, mm."""
        return self.before + self.length + self.after


def cut_length(length: float, making: Making) -> float:
    """How long a strap is cut in one piece, mm."""
    return length + 2.0 * making.ends


def strap_pieces(length: float, making: Making) -> tuple[StrapPiece, ...]:
    """The pieces of a strap, alike ones together: as few as can be, cut equally long.

    Args:
        length: the finished length, mm.
        making: how it is made.

    Raises:
        RequestError: a length is not above 0, or the pieces are too short for their joins.
    """
    if not (length > 0.0 and (making.width > 0.0 or making.fold == CORD)):
        raise RequestError(
            f"a strap {length:g} mm long and {making.width:g} mm wide can't be cut: give lengths above 0"
        )
    net = band_pieces(length, Cloth(making.longest, making.at_join, (making.ends, making.ends)))
    if len(net) == 1:
        return (StrapPiece(length, making.ends, making.ends, (False, False)),)
    first = StrapPiece(net[0], making.ends, making.at_join, (False, True))
    last = StrapPiece(net[-1], making.at_join, making.ends, (True, False))
    if len(net) == 2:
        return first, last
    return first, StrapPiece(net[1], making.at_join, making.at_join, (True, True), len(net) - 2), last


def strap_outline(piece: StrapPiece, making: Making) -> Array:
    """The cutting line (4, 4, 2) of a piece, closed; its start, or the middle of its first join, lies at x = 0.

    The slants of two pieces that are joined are parallel when both lie face up.
    """
    half = 0.5 * making.cut_width
    slants = [half if joined else 0.0 for joined in piece.joined]
    left, right = slants[0] - piece.before, piece.length + piece.after - slants[1]
    corners = [
        (left - slants[0], 0.0),
        (right - slants[1], 0.0),
        (right + slants[1], making.cut_width),
        (left + slants[0], making.cut_width),
    ]
    return cubics.lines([*corners, corners[0]])


def strap_folds(piece: StrapPiece, making: Making) -> tuple[Array, ...]:
    """Its fold lines, from one end to the other as it is cut."""
    outline = strap_outline(piece, making)[:, 0]
    out = []
    for height in making.folds:
        share = height / making.cut_width
        start, end = (outline[a] + share * (outline[b] - outline[a]) for a, b in ((0, 3), (1, 2)))
        out.append(cubics.lines(np.stack([start, end])))
    return tuple(out)


@dataclass(frozen=True, eq=False)
class Broken:
    """A piece too long to be drawn, as two ends with a break mark between them; lines as cubics.

    Attributes:
        outlines: the cutting lines of both ends, open towards the break.
        folds: the fold lines of both ends.
        breaks: the zigzags where the ends are broken off.
    """

    outlines: tuple[Array, Array]
    folds: tuple[Array, ...]
    breaks: tuple[Array, Array]


def broken_off(piece: StrapPiece, making: Making, drawn: float) -> Broken:
    """A piece drawn shorter than it is cut; its ends are as `strap_outline` has them.

    Args:
        piece: the piece.
        making: how it is made.
        drawn: how long it is drawn, mm.
    """
    short = replace(piece, length=piece.length - (piece.cut - drawn))
    outline = strap_outline(short, making)[:, 0]
    middle, half = 0.5 * float(outline[:, 0].min() + outline[:, 0].max()), 0.5 * _BREAK
    folds = []
    for fold in strap_folds(short, making):
        start, end = fold[0, 0], fold[-1, 3]
        parts = ((start, (middle - half, start[1])), ((middle + half, end[1]), end))
        folds += [cubics.lines(np.array(part)) for part in parts]
    outlines, breaks = [], []
    for x, (top, bottom) in ((middle - half, (0, 3)), (middle + half, (1, 2))):
        outlines.append(cubics.lines([(x, 0.0), outline[top], outline[bottom], (x, making.cut_width)]))
        breaks.append(_zigzag(x, making.cut_width))
    return Broken((outlines[0], outlines[1]), tuple(folds), (breaks[0], breaks[1]))


def broken_cord(length: float) -> Broken:
    """A cord drawn as a line so long, mm, with a break mark in its middle."""
    middle, half = 0.5 * length, 0.5 * _BREAK
    ends = cubics.lines([(0.0, 0.0), (middle - half, 0.0)]), cubics.lines([(middle + half, 0.0), (length, 0.0)])
    marks = [_zigzag(x, 2.0 * _BREAK) - np.array([0.0, _BREAK]) for x in (middle - half, middle + half)]
    return Broken(ends, (), (marks[0], marks[1]))


def _zigzag(x: float, width: float) -> Array:
    """Across a strip at a place along it, as drawings of the trade break off what is long."""
    out = min(0.5 * _BREAK, 0.2 * width)
    steps = [(0.0, 0.0), (0.0, 0.4), (out, 0.45), (-out, 0.55), (0.0, 0.6), (0.0, 1.0)]
    return cubics.lines([(x + across, share * width) for across, share in steps])
