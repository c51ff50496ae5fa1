"""Strips and bands: straight pieces that finish a trimmed edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..trim.scallops import stitched_length
from ..trim.sharing import Trimmed
from .stitching import flat_stretches


@dataclass(frozen=True)
class Strip:
    """A straight strip that faces an edge.

    Attributes:
        length: its sewn length, mm.
        depth: its depth, mm.
        joins: where it is pieced, mm from its start.
    """

    length: float
    depth: float
    joins: tuple[float, ...] = ()

    @property
    def pieces(self) -> tuple[float, ...]:
        """The sewn lengths of its pieces, mm."""
        return tuple(b - a for a, b in pairwise([0.0, *self.joins, self.length]))


@dataclass(frozen=True)
class Cloth:
    """How long pieces can be cut, and what is added at their ends.

    Attributes:
        longest: the longest piece as it is cut, opened where it lies on a fold, with its allowances, mm.
        seam: the allowance where two pieces are joined, mm.
        ends: the allowance at the start of the first and at the end of the last piece, mm; None on a fold. A piece
            with a fold at either end has a seam at the second.
    """

    longest: float = math.inf
    seam: float = 0.0
    ends: tuple[float | None, float | None] = (0.0, 0.0)

    def most(self, first: bool, last: bool) -> float:
        """The longest that a piece can be net, mm."""
        start, end = self.ends[0] if first else self.seam, self.ends[1] if last else self.seam
        if start is not None and end is not None:
            return self.longest - start - end
        beyond = end if start is None else start
        return 0.5 * self.longest - (self.seam if beyond is None else beyond)

    def each(self, count: int) -> Array:
        """The same of each of so many pieces."""
        return np.array([self.most(k == 0, k == count - 1) for k in range(count)])


def strip_facing(length: float, depth: float, crests: Sequence[float], cloth: Cloth) -> Strip:
    """The straight strip that faces an edge, pieced where a crest lies, for a join in a valley would be clipped into.

    Args:
        length: sewn length of the edge, mm.
        depth: depth of the strip, mm.
        crests: where the crests between its ends lie along the edge, mm, in order.
        cloth: how long its pieces can be.

    Returns:
        The strip, in as few pieces as its joins at crests allow.

    Raises:
        RequestError: a number makes no sense, or the crests are too far apart for strips so short.
    """
    if not (math.isfinite(length + depth) and min(length, depth, cloth.longest) > 0.0):
        raise RequestError(
            f"a strip {length:g} mm long and {depth:g} mm deep, in pieces of at most {cloth.longest:g} mm, can't be "
            "cut: give lengths above 0"
        )
    joins = _farthest(length, crests, cloth)
    if not joins:
        return Strip(length, depth)
    # Of the same number of pieces those that are cut equally long, where that can be.
    room = cloth.each(len(joins) + 1)
    at = np.array(crests, dtype=float)
    wanted = np.cumsum(room)[:-1] * (length / float(room.sum()))
    even = Strip(length, depth, tuple(float(at[np.argmin(np.abs(at - s))]) for s in wanted))
    fits = all(0.0 < piece <= most * (1.0 + 1e-9) for piece, most in zip(even.pieces, room.tolist(), strict=True))
    return even if fits else Strip(length, depth, joins)


def _farthest(length: float, crests: Sequence[float], cloth: Cloth) -> tuple[float, ...]:
    """The joins of pieces each of which goes on to the farthest crest that it can."""
    joins: list[float] = []
    reached = 0.0
    while length - reached > cloth.most(first=not joins, last=True) * (1.0 + 1e-9):
        most = cloth.most(first=not joins, last=False) * (1.0 + 1e-9)
        near = [s for s in crests if reached < s <= reached + most]
        if not near:
            raise RequestError(
                f"strips of at most {cloth.longest:g} mm, allowances and what lies beyond a fold with them, can't be "
                f"joined at crests, which lie up to {float(np.diff([0.0, *crests, length]).max()):.1f} mm apart: "
                "take longer strips"
            )
        reached = max(near)
        joins.append(reached)
    return tuple(joins)


def band_pieces(length: float, cloth: Cloth) -> tuple[float, ...]:
    """The net lengths of the pieces of a band, mm: as few as can be, cut equally long.

    Args:
        length: of the band, mm.
        cloth: how long its pieces can be.

    Raises:
        RequestError: the allowances leave nothing of a piece.
    """
    count = 1
    while float(cloth.each(count).sum()) < length * (1.0 - 1e-9):
        count += 1
        if count > 2 and cloth.most(first=False, last=False) <= 0.0:
            raise RequestError(
                f"pieces of at most {cloth.longest:g} mm are all allowance, {cloth.seam:g} mm at either end: take "
                "longer pieces, or a narrower seam"
            )
    room = cloth.each(count)
    return (length,) if count == 1 else tuple((room * (length / float(room.sum()))).tolist())


def band_length(line: Trimmed) -> float:
    """Length of a binding along the trimmed line, mm: its scallops, what leads on from each, and bare edges at gaps."""
    return stitched_length(line.placed) + sum(measure(curve).length for curve in flat_stretches(line))


def ease(curve: Array, depth: float, cloth: int) -> tuple[float, float]:
    """How much longer or shorter a straight strip's inner edge is than the edge at its depth, where that is worst.

    A stretch of length w that turns by an angle a towards the cloth is w - a d long at the depth d; stretches of twice
    the depth are looked at.

    Args:
        curve: the edge that it is sewn to, mm.
        depth: of the strip, mm.
        cloth: +1 where the cloth lies on the walker's left, -1 on his right.

    Returns:
        The share by which the strip is longer, negative where it is shorter, infinite where the edge has no length left
        there; and the length along the edge of the middle of that stretch, mm.
    """
    m = measure(curve)
    n = max(math.ceil(m.length), 2)
    s = np.linspace(0.0, m.length, n + 1)
    tangents = m.tangents(s)
    steps = np.arctan2(cubics.cross(tangents[:-1], tangents[1:]), cubics.dot(tangents[:-1], tangents[1:]))
    turned = -cloth * np.append(0.0, np.cumsum(steps))
    width = min(n, max(math.ceil(2.0 * depth / m.length * n), 1))
    long = s[width] - s[0]
    inner = long - depth * (turned[width:] - turned[:-width])
    if inner.min() <= 0.0:
        return math.inf, float(s[int(np.argmin(inner))] + 0.5 * long)
    share = long / inner - 1.0
    worst = int(np.argmax(np.abs(share)))
    return float(share[worst]), float(s[worst] + 0.5 * long)
