"""Corners: the places where an outline turns by 15 degrees or more."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array

CORNER_ANGLE = math.radians(15.0)
# A stray segment shorter than a pencil line is wide says nothing about the direction of an edge.
_STRAY = 0.01


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
    """The corners of an outline in drawing order; the ends of an open line are none."""
    solid = np.flatnonzero(np.ptp(curve, axis=1).max(axis=1) > _STRAY)
    if len(solid) < 2:
        solid = np.arange(len(curve))
    arriving = cubics.direction(curve, solid, np.ones(len(solid)))
    leaving = cubics.direction(curve, solid, np.zeros(len(solid)))
    turn = turns(np.roll(arriving, 1, axis=0), leaving)
    if not closed:
        turn[0] = 0.0
    found = np.flatnonzero(np.abs(turn) >= CORNER_ANGLE - 1e-9)
    return tuple(Corner(f"c{i}", int(solid[k]), float(turn[k])) for i, k in enumerate(found))


def turns(before: Array, after: Array) -> Array:
    """Turns in radians from the directions `before` (k, 2) to `after`, positive to the right hand (y down)."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.arctan2(cross, (before * after).sum(axis=1)))
