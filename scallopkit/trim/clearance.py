"""Clear places: how far along a line one must go to be clear of other lines all round.

The places on a straight line that are too near a straight piece make one interval, in closed form. The search goes
to the far end of any interval it stands in until it stands in none, so it can't pass a place. What lies behind a
line is another cloth, or none: it never counts as clear.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array, Ints
from ..geometry.nearest import nearest

_PAIRS = 2**20
_HANDFUL = 32
# A line met nearer to the origin than this share of the reach is the one that passes through the origin.
_AT_ORIGIN = 0.01


def first_clear(
    lines: list[Array], origin: Array, along: Array, reach: float, deepest: Array, accuracy: float
) -> Array:
    """How far along each ray the first place lies that is `reach` from its origin or more, and as far from all lines.

    A line may pass through a ray's origin; where the ray meets one later it ends.

    Args:
        lines: the lines as cubics, one or more.
        origin: where the rays begin (k, 2).
        along: their unit directions (k, 2).
        reach: mm.
        deepest: how far along the rays the lines are looked at, (k,); a place beyond it says that there is none.
        accuracy: a place may be too near by twice this, mm.

    Returns:
        Distances (k,) along the rays, infinite where a ray ends.
    """
    strips = _Strips([cubics.flatten(line, accuracy) for line in lines])
    begin = np.full(len(origin), reach)
    size = max(1, _PAIRS // len(lines))
    blocks = [slice(k, k + size) for k in range(0, len(origin), size)]
    # The pieces lie within the curves by the accuracy. So much less is asked of them, or a circle that is just wide
    # enough would not let the place at its middle pass.
    found = [strips.intervals(origin[b], along[b], deepest[b], reach - accuracy) for b in blocks]
    return np.concatenate([_first_free(begin[b], *f) for b, f in zip(blocks, found, strict=True)] or [begin])


def distances(lines: Sequence[Array], points: Array, within: float) -> Array:
    """Distances (k,) from points to the nearest of some lines of cubics; infinite for some that are beyond `within`."""
    away = np.full(len(points), np.inf)
    if not lines:
        return away
    curve = np.concatenate(lines)
    low, high = curve.min(axis=1) - within, curve.max(axis=1) + within
    # Points that follow each other lie together, so few segments come near a handful of them.
    for k in range(0, len(points), _HANDFUL):
        some = points[k : k + _HANDFUL]
        near = ((low <= some.max(axis=0)) & (high >= some.min(axis=0))).all(axis=1)
        if near.any():
            away[k : k + _HANDFUL] = nearest(curve[near], some).distance
    return away


def _first_free(t: Array, owner: Ints, low: Array, high: Array) -> Array:
    """For each owner the first value from t on that lies inside none of its intervals."""
    t = t.copy()
    while True:
        ahead = high > t[owner]
        owner, low, high = owner[ahead], low[ahead], high[ahead]
        inside = low < t[owner]
        if not inside.any():
            return t
        np.maximum.at(t, owner[inside], high[inside])


class _Strips:
    """Polylines with the circles round them, as one array of straight pieces."""

    def __init__(self, lines: list[Array]) -> None:
        self.a = np.concatenate([line[:-1] for line in lines])
        self.b = np.concatenate([line[1:] for line in lines])
        self.count = np.array([len(line) - 1 for line in lines])
        self.first = np.cumsum(self.count) - self.count
        self.middle = np.array([0.5 * (line.min(axis=0) + line.max(axis=0)) for line in lines])
        self.radius = np.array([0.5 * np.hypot(*np.ptp(line, axis=0)) for line in lines])

    def intervals(self, origin: Array, along: Array, deepest: Array, reach: float) -> tuple[Ints, Array, Array]:
        """Where the rays come nearer than `reach` to a piece: the ray's number, and from where to where along it."""
        gap = self.middle - origin[:, None]
        ahead = np.clip(np.einsum("ijk,ik->ij", gap, along), 0.0, deepest[:, None])
        off = gap - ahead[:, :, None] * along[:, None]
        ray, line = np.nonzero(np.einsum("ijk,ijk->ij", off, off) <= (self.radius + reach) ** 2)
        count = self.count[line]
        owner = np.repeat(ray, count)
        piece = np.repeat(self.first[line] - np.cumsum(count) + count, count) + np.arange(count.sum())
        ax, ay = _in_frame(self.a[piece] - origin[owner], along[owner])
        bx, by = _in_frame(self.b[piece] - origin[owner], along[owner])
        near = np.flatnonzero((np.minimum(ax, bx) < reach) & (np.maximum(ax, bx) > -reach))
        ax, ay, bx, by = ax[near], ay[near], bx[near], by[near]
        low, high = _too_near(ax, ay, bx, by, reach)
        across = np.flatnonzero((ax <= 0.0) != (bx <= 0.0))
        met = ay[across] - ax[across] * (by[across] - ay[across]) / (bx[across] - ax[across])
        high[across[met > _AT_ORIGIN * reach]] = np.inf
        return owner[near], low, high


def _in_frame(vectors: Array, along: Array) -> tuple[Array, Array]:
    """How far vectors lead beside and along a direction."""
    beside = vectors[:, 0] * along[:, 1] - vectors[:, 1] * along[:, 0]
    return beside, vectors[:, 0] * along[:, 0] + vectors[:, 1] * along[:, 1]


def _too_near(ax: Array, ay: Array, bx: Array, by: Array, reach: float) -> tuple[Array, Array]:
    """The part of the line x = 0 nearer than `reach` to the pieces from a to b, none of which lies all beside it.

    That is the line's part in two discs and a rectangle, one convex whole. Its ends lie on a disc's rim or on a long
    side of the rectangle.
    """
    ex, ey = bx - ax, by - ay
    length = np.hypot(ex, ey)
    with np.errstate(divide="ignore", invalid="ignore"):
        half_a, half_b = np.sqrt(reach * reach - ax * ax), np.sqrt(reach * reach - bx * bx)
        low, high = np.fmin(ay - half_a, by - half_b), np.fmax(ay + half_a, by + half_b)
        for side in (reach * length, -reach * length):
            t = ay + (side - ax * ey) / ex
            share = ((t - ay) * ey - ax * ex) / (length * length)
            t = np.where((share >= 0.0) & (share <= 1.0), t, np.nan)
            low, high = np.fmin(low, t), np.fmax(high, t)
    return low, high
