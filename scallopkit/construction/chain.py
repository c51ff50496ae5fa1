"""Chains of curves that follow each other, and places on them: the number of the segment plus the parameter."""

from __future__ import annotations

import math

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array

# A cut so near to a node, mm, is at it, or a segment of mere rounding would be left. Below what halves may part by.
_AT_NODE = 1e-7


def on_line(chain: Array, point: Array, normal: Array) -> Array:
    """Where a chain meets a straight line, in order; nodes that rounding puts beside the line are on it."""
    segment, t = cubics.meets_line(chain, point, normal)
    place = cubics.point(chain, segment, t)
    t = np.where(cubics.norm(place - chain[segment, 0]) <= _AT_NODE, 0.0, t)
    t = np.where(cubics.norm(place - chain[segment, 3]) <= _AT_NODE, 1.0, t)
    starts, ends = (np.flatnonzero(np.abs((chain[:, k] - point) @ normal) <= _AT_NODE) for k in (0, 3))
    return np.unique(np.concatenate([segment + t, starts, ends + 1]))


def points_at(chain: Array, places: Array) -> Array:
    """The points (k, 2) at places (k,) on a chain."""
    segment = np.minimum(places.astype(np.intp), len(chain) - 1)
    return cubics.point(chain, segment, places - segment)


def between(chain: Array, start: float, end: float) -> Array:
    """The part of a chain between two places."""
    first, last = int(start), max(math.ceil(end) - 1, 0)
    return cubics.stretch(chain, (first, start - first), (last, end - last)) if first <= last else chain[:0]
