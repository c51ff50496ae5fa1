"""How often closed curves run round a place: which side of an outline is inside.

Numbers are counted clockwise on the drawing as seen (y down), by the crossings of a ray with pieces of the curves
that only rise or only fall: https://en.wikipedia.org/wiki/Point_in_polygon#Winding_number_algorithm
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .cubics import Array, Ints, cut, point, point_and_derivative

_BLOCK = 2**20  # pairs of place and piece looked at together


@dataclass(frozen=True)
class _Slopes:
    """Pieces of curves along which y only grows or only falls: numbers, parameters, y at both ends, x between."""

    segment: Ints
    t0: Array
    t1: Array
    y0: Array
    y1: Array
    least: Array
    most: Array


def winding(rings: Array, points: Array) -> Ints:
    """How often the closed curves `rings` (n, 4, 2), one or several in a row, run round each of `points` (k, 2).

    Clockwise as seen counts +1. For a point on a curve the side is left to rounding.
    """
    slopes = _slopes(rings)
    number = np.zeros(len(points), dtype=np.intp)
    size = max(1, _BLOCK // max(1, len(slopes.segment)))
    for first in range(0, len(points), size):
        x, y = points[first : first + size, :1], points[first : first + size, 1:]
        place, piece = np.nonzero(((slopes.y0 <= y) != (slopes.y1 <= y)) & (slopes.most >= x))
        beyond = slopes.least[piece] > x[place, 0]
        unsure = np.flatnonzero(~beyond)
        beyond[unsure] = _x_at(rings, slopes, piece[unsure], y[place[unsure], 0]) > x[place[unsure], 0]
        np.add.at(number, place + first, np.where(slopes.y1[piece] > slopes.y0[piece], 1, -1) * beyond)
    return number


def _slopes(rings: Array) -> _Slopes:
    """The curves cut where dy/dt vanishes; ends of neighbouring pieces agree to the last bit."""
    n = len(rings)
    y = rings[:, :, 1]
    a, b, c = y[:, 3] - 3.0 * y[:, 2] + 3.0 * y[:, 1] - y[:, 0], y[:, 2] - 2.0 * y[:, 1] + y[:, 0], y[:, 1] - y[:, 0]
    with np.errstate(all="ignore"):
        q = -(b + np.copysign(np.sqrt(b * b - a * c), b))
        roots = np.stack([q / a, c / q], axis=1)
    roots = np.sort(np.where((roots > 0.0) & (roots < 1.0), roots, 1.0), axis=1)
    t = np.concatenate([np.zeros((n, 1)), roots, np.ones((n, 1))], axis=1)
    segment = np.repeat(np.arange(n), 4)
    nodes = point(rings, segment, t.ravel()).reshape(n, 4, 2)
    nodes[:, 0] = rings[:, 0]
    nodes[t == 1.0] = rings[segment.reshape(n, 4)[t == 1.0], 3]
    whole = np.flatnonzero((t[:, 1:] > t[:, :-1]).ravel())
    number = segment.reshape(n, 4)[:, :3].ravel()[whole]
    t0, t1 = t[:, :-1].ravel()[whole], t[:, 1:].ravel()[whole]
    x = cut(rings, number, t0, t1)[:, :, 0]
    heights = nodes[:, :, 1]
    y0, y1 = heights[:, :-1].ravel()[whole], heights[:, 1:].ravel()[whole]
    return _Slopes(number, t0, t1, y0, y1, x.min(axis=1), x.max(axis=1))


def _x_at(rings: Array, slopes: _Slopes, piece: Ints, y: Array) -> Array:
    """Where the pieces, which only rise or only fall, pass the height y, as x: Newton in a bracket that halves."""
    if not len(piece):
        return np.empty(0)
    segment, low, high = slopes.segment[piece], slopes.t0[piece], slopes.t1[piece]
    rises = slopes.y1[piece] > slopes.y0[piece]
    t = 0.5 * (low + high)
    for _ in range(52):
        place, onward = point_and_derivative(rings, segment, t)
        rise, speed = place[:, 1] - y, onward[:, 1]
        before = (rise <= 0.0) == rises
        low, high = np.where(before, t, low), np.where(before, high, t)
        step = t - rise / np.where(speed != 0.0, speed, 1.0)
        inside = (speed != 0.0) & (step >= low) & (step <= high)
        after = np.where(inside, step, 0.5 * (low + high))
        still = np.abs(after - t) <= np.where(inside, 1e-12, 1e-16)
        t = after
        if still.all():
            break
    return point(rings, segment, t)[:, 0]
