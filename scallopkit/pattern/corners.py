"""Corners: the places where an outline turns by 15 degrees or more."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array, Ints

CORNER_ANGLE = math.radians(15.0)
# A stray segment shorter than a pencil line is wide says nothing about the direction of an edge.
_STRAY = 0.01
# Nodes whose distances differ by less, mm, are equally far.
_AS_FAR = 1e-6


@dataclass(frozen=True)
class Corner:
    """A corner of an outline.

    Attributes:
        name: c0, c1, … in drawing order.
        node: the number of the segment that starts at it.
        turn: the turn of the walking direction in radians, positive to the right hand.
    """

    name: str
    node: int
    turn: float


def corners(curve: Array, closed: bool) -> tuple[Corner, ...]:
    """The corners of an outline in drawing order; the ends of an open line are none.

    Where stray segments lie at a corner, it is that one of their ends which is nearest to where the directions of the
    segments beside them cross. An outline's first point keeps the corner that such a segment before it might take.
    """
    solid = np.flatnonzero(np.ptp(curve, axis=1).max(axis=1) > _STRAY)
    if len(solid) < 2:
        solid = np.arange(len(curve))
    arriving = cubics.direction(curve, solid, np.ones(len(solid)))
    leaving = cubics.direction(curve, solid, np.zeros(len(solid)))
    turn = turns(np.roll(arriving, 1, axis=0), leaving)
    if not closed:
        turn[0] = 0.0
    found = np.flatnonzero(np.abs(turn) >= CORNER_ANGLE - 1e-9)
    nodes = [_node(curve, solid, arriving, leaving, k) for k in found.tolist()]
    return tuple(Corner(f"c{i}", node, float(turn[k])) for i, (node, k) in enumerate(zip(nodes, found, strict=True)))


def _node(curve: Array, solid: Ints, arriving: Array, leaving: Array, k: int) -> int:
    """The node of the corner before the segment solid[k], at which any stray segments begin or end."""
    nodes = np.arange(solid[k - 1] + 1 if k else 0, solid[k] + 1)
    a, b = arriving[k - 1], leaving[k]
    across = float(cubics.cross(a, b))
    if len(nodes) == 1 or abs(across) < 1e-6:
        # On the way straight back there is no crossing.
        return int(nodes[0])
    start = curve[solid[k - 1], 3]
    meet = start + a * (float(cubics.cross(curve[solid[k], 0] - start, b)) / across)
    away = cubics.norm(curve[nodes, 0] - meet)
    return int(nodes[away <= away.min() + _AS_FAR][0])


def turns(before: Array, after: Array) -> Array:
    """Turns in radians from the directions `before` (k, 2) to `after`, positive to the right hand (y down)."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.arctan2(cross, (before * after).sum(axis=1)))
