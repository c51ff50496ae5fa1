"""The point of a curve that is nearest to given points.

The squared distance from a point to a cubic is a polynomial of degree six. In Bernstein form its least coefficient
bounds it from below, and the signs of its differences count the places where the distance is least or greatest
(Descartes' rule, https://en.wikipedia.org/wiki/Budan%27s_theorem; Farouki, "The Bernstein polynomial basis: a
centennial retrospective", Computer Aided Geometric Design 29 (2012)). Pieces that cannot hold the nearest point are
dropped, pieces with one least distance go to Newton, all others are halved. So no start value is guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np

from ..errors import RequestError
from .cubics import Array, Bools, Ints, dot, norm, point, powers

_PAIRS = 2**18  # point-segment pairs at once: about 100 MB at the worst
_GAIN = 1e-10  # mm; a piece that could bring a point no nearer than this is not looked at
_DEPTH = 40  # halvings; 2^-40 of a segment is below any drawn detail


@dataclass(frozen=True)
class Nearest:
    """For each of k points the nearest place of a curve; of equally near ones any.

    `segment` (k,) and `t` (k,) are the position on the curve, `point` (k, 2) its coordinates and `distance` (k,)
    the distance to it, in mm.
    """

    segment: Ints
    t: Array
    point: Array
    distance: Array


@dataclass(frozen=True)
class _Pieces:
    """Pieces of segments, each to be searched for one point; `bernstein` (r, 7) is the squared distance on it."""

    owner: Ints
    segment: Ints
    start: Array
    width: Array
    bernstein: Array
    noise: Array

    def __len__(self) -> int:
        return len(self.owner)

    def chosen(self, which: Bools) -> _Pieces:
        return _Pieces(
            self.owner[which],
            self.segment[which],
            self.start[which],
            self.width[which],
            self.bernstein[which],
            self.noise[which],
        )

    def halved(self) -> _Pieces:
        half = 0.5 * self.width
        return _Pieces(
            np.tile(self.owner, 2),
            np.tile(self.segment, 2),
            np.concatenate([self.start, self.start + half]),
            np.tile(half, 2),
            np.concatenate([self.bernstein @ _FIRST_HALF, self.bernstein @ _SECOND_HALF]),
            np.tile(self.noise, 2),
        )


def nearest(curve: Array, points: Array) -> Nearest:
    """The nearest place of `curve` (n, 4, 2) to each of `points` (k, 2).

    The distance is right to 1e-9 mm (for drawings of up to some metres). A curve without segments, or numbers that
    are not finite, raise a RequestError.
    """
    p = np.asarray(points, dtype=float).reshape(-1, 2)
    if len(curve) == 0:
        raise RequestError("there is no curve to measure the distance from: it has no segments; draw one")
    if not (np.isfinite(curve).all() and np.isfinite(p).all()):
        raise RequestError("the distance to a curve needs finite coordinates: a number is missing or too large")
    size = max(1, _PAIRS // len(curve))
    parts = [_nearest_block(curve, p[i : i + size]) for i in range(0, len(p), size)]
    segment = np.concatenate([part[0] for part in parts]) if parts else np.empty(0, dtype=np.intp)
    t = np.concatenate([part[1] for part in parts]) if parts else np.empty(0)
    place = point(curve, segment, t)
    return Nearest(segment, t, place, norm(place - p))


def _nearest_block(curve: Array, points: Array) -> tuple[Ints, Array]:
    """Segment and parameter of the nearest place to each of the points."""
    best, nodes = _samples(curve, points)
    found = [nodes]
    pieces = _first_pieces(curve, points, best)
    for depth in range(_DEPTH):
        pieces = _update_and_prune(pieces, best, found)
        falls, changes = _ups_and_downs(pieces.bernstein)
        found.append(_refine(curve, points, pieces.chosen(falls & (changes == 1))))
        pieces = pieces.chosen(changes > 1)
        if not len(pieces):
            break
        if depth == _DEPTH - 1:
            found.append((pieces.owner, pieces.segment, pieces.start + 0.5 * pieces.width))
        pieces = pieces.halved()
    return _best_of(curve, points, found)


def _samples(curve: Array, points: Array) -> tuple[Array, tuple[Ints, Ints, Array]]:
    """Squared distances (k,) to the nearest of all nodes and midpoints, first bounds from above; the nearest nodes."""
    n = len(curve)
    middles = 0.125 * (curve[:, 0] + 3.0 * (curve[:, 1] + curve[:, 2]) + curve[:, 3])
    squared = _squared(points[:, None, :] - np.concatenate([curve[:, 0], curve[:, 3], middles]))
    which = squared[:, : 2 * n].argmin(axis=1)
    return squared.min(axis=1), (np.arange(len(points)), which % n, (which >= n).astype(float))


def _first_pieces(curve: Array, points: Array, best: Array) -> _Pieces:
    """All whole segments whose control boxes are near enough to hold the nearest point."""
    low, high = curve.min(axis=1), curve.max(axis=1)
    beyond = np.maximum(np.maximum(low - points[:, None, :], points[:, None, :] - high), 0.0)
    owner, segment = np.nonzero(_squared(beyond) <= best[:, None] * (1.0 + 1e-12))
    control = curve[segment] - points[owner][:, None, :]
    bernstein = (control @ control.transpose(0, 2, 1)).reshape(-1, 16) @ _PRODUCT
    noise = 1e-14 * np.abs(control).max(axis=(1, 2), initial=0.0) ** 2
    return _Pieces(owner, segment, np.zeros(len(owner)), np.ones(len(owner)), bernstein, noise)


def _update_and_prune(pieces: _Pieces, best: Array, found: list[tuple[Ints, Ints, Array]]) -> _Pieces:
    """Lower `best` by the ends of the pieces, record the ends that hold it, drop pieces that cannot better it."""
    ends = pieces.bernstein[:, [0, 6]]
    np.minimum.at(best, pieces.owner, ends.min(axis=1))
    for side in (0, 1):
        good = ends[:, side] <= best[pieces.owner] + pieces.noise
        found.append((pieces.owner[good], pieces.segment[good], pieces.start[good] + side * pieces.width[good]))
    aim = np.maximum(np.sqrt(np.maximum(best[pieces.owner], 0.0)) - _GAIN, 0.0) ** 2
    return pieces.chosen(pieces.bernstein.min(axis=1) - pieces.noise < aim)


def _ups_and_downs(bernstein: Array) -> tuple[Bools, Ints]:
    """Whether the first difference that is not zero falls, and the number of changes of sign of the differences."""
    sign = np.sign(bernstein[:, 1:] - bernstein[:, :-1])
    if not sign.all():
        # A zero takes the sign before it, so that it never counts as a change; leading zeros take the one after.
        for column in range(1, 6):
            sign[:, column] = np.where(sign[:, column] == 0.0, sign[:, column - 1], sign[:, column])
        for column in range(4, -1, -1):
            sign[:, column] = np.where(sign[:, column] == 0.0, sign[:, column + 1], sign[:, column])
    return sign[:, 0] < 0.0, (sign[:, 1:] != sign[:, :-1]).sum(axis=1)


def _refine(curve: Array, points: Array, pieces: _Pieces) -> tuple[Ints, Ints, Array]:
    """The least distance on pieces that hold one, by Newton inside a bracket that halves wherever Newton leaves it."""
    low, high = pieces.start, pieces.start + pieces.width
    t = 0.5 * (low + high)
    if not len(t):
        return pieces.owner, pieces.segment, t
    c0, c1, c2, c3 = powers(curve[pieces.segment] - points[pieces.owner][:, None, :])
    twice, thrice, sixfold = 2.0 * c2, 3.0 * c3, 6.0 * c3
    for _ in range(64):
        u = t[:, None]
        gap, speed = c0 + u * (c1 + u * (c2 + u * c3)), c1 + u * (twice + u * thrice)
        slope = dot(gap, speed)
        bend = _squared(speed) + dot(gap, twice + u * sixfold)
        low, high = np.where(slope <= 0.0, t, low), np.where(slope >= 0.0, t, high)
        step = t - slope / np.where(bend > 0.0, bend, 1.0)
        inside = (bend > 0.0) & (step >= low) & (step <= high)
        after = np.where(inside, step, 0.5 * (low + high))
        # After a Newton step so short the next would be below rounding.
        done = np.abs(after - t) <= np.where(inside, 1e-12, 1e-15)
        t = after
        if done.all():
            break
    return pieces.owner, pieces.segment, t


def _best_of(curve: Array, points: Array, found: list[tuple[Ints, Ints, Array]]) -> tuple[Ints, Array]:
    owner = np.concatenate([f[0] for f in found])
    segment = np.concatenate([f[1] for f in found])
    t = np.concatenate([f[2] for f in found])
    distance = norm(point(curve, segment, t) - points[owner])
    order = np.lexsort((t, segment, distance, owner))
    first = order[np.searchsorted(owner[order], np.arange(len(points)))]
    return segment[first], t[first]


def _product_matrix() -> Array:
    """From the 16 products of control points to the seven Bernstein coefficients of the squared length."""
    matrix = np.zeros((16, 7))
    for i in range(4):
        for j in range(4):
            matrix[4 * i + j, i + j] = comb(3, i) * comb(3, j) / comb(6, i + j)
    return matrix


def _half_matrix() -> Array:
    """De Casteljau's halving of degree six: row vector of coefficients to those of the first half."""
    return np.array([[comb(k, i) / 2.0**k if i <= k else 0.0 for k in range(7)] for i in range(7)])


_PRODUCT = _product_matrix()
_FIRST_HALF = _half_matrix()
_SECOND_HALF = np.ascontiguousarray(_FIRST_HALF[::-1, ::-1])


def _squared(vectors: Array) -> Array:
    return dot(vectors, vectors)
