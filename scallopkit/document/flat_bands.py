"""The bands of cloth in the picture of a run laid flat: each part's edge, its sides, and where its cloth fades out."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.intersect import self_crossings
from ..geometry.length import measure
from ..geometry.offset import offset
from ..pattern.joins import LAP
from ..pattern.laying import Joint, Part
from .end_to_end import linked
from .flat_view import View

# What share of the depth is tried, where a piece is too narrow for all of it.
_SHARES = (1.0, 0.75, 0.5, 0.35, 0.2)


@dataclass(frozen=True, eq=False)
class Band:
    """The cloth of one part beside its edge, in the flat frame.

    Attributes:
        edge: the part's edge.
        sides: the edges at its start and its end, walked into the cloth.
        drawn: whether the sides are edges of the piece, rather than where an open line has none.
        fade: from the one side's end to the other's, where the picture leaves off; None where the cloth is too narrow.
    """

    edge: Array
    sides: tuple[Array, Array]
    drawn: tuple[bool, bool]
    fade: Array | None


def bands_of(view: View) -> list[Band]:
    """The band of each part; none for a whole closed outline, which is shown whole."""
    laid = view.run.laid
    if laid.loop and not laid.joints:
        return []
    return [_band(view, k, part) for k, part in enumerate(laid.parts)]


def _band(view: View, k: int, part: Part) -> Band:
    edge = motion.apply(part.motion, part.edge.curve)
    joints = view.joint(k, end=False), view.joint(k, end=True)
    neighbours = [None if n is None else motion.apply(part.motion, n) for n in (part.edge.before, part.edge.after)]
    drawn = (joints[0] or neighbours[0]) is not None, (joints[1] or neighbours[1]) is not None
    for share in _SHARES:
        depth = share * view.depth
        first, last = (
            _side(edge, end, depth, view.out, joint, neighbour)
            for end, joint, neighbour in zip((False, True), joints, neighbours, strict=True)
        )
        deepest = max(measure(side).length for side in (first, last))
        fade = _fade(edge, first, last, -view.out * min(depth, deepest))
        if fade is not None:
            break
    return Band(edge, (first, last), drawn, fade)


def _side(edge: Array, end: bool, depth: float, out: int, joint: Joint | None, neighbour: Array | None) -> Array:
    """The side of a band, walked into the cloth: the neighbouring edge, else a straight line."""
    if joint is not None and joint.kind == LAP:
        begin = joint.point + (joint.lap if end else -joint.lap) * joint.square
        return cubics.lines([begin, begin + depth * joint.along])
    if neighbour is not None:
        m = measure(neighbour)
        return m.part(0.0, min(depth, m.length))
    begin = edge[-1, 3] if end else edge[0, 0]
    along = joint.along if joint is not None else -out * cubics.left(cubics.ends_direction(edge)[end])
    return cubics.lines([begin, begin + depth * along])


def _fade(edge: Array, first: Array, last: Array, distance: float) -> Array | None:
    """A line that runs along the edge from side to side; None where it would cross the band's other lines."""
    try:
        found = offset(edge, distance, closed=False, accuracy=0.1)
    except RequestError:
        return None
    if not found:
        return None
    m = measure(found[0])
    s = np.linspace(0.0, m.length, 2 + math.ceil(m.length / max(4.0, m.length / 200.0)))
    points = m.points(s)
    # The sides are seldom square to the edge, so the parallel's ends are pulled over to theirs.
    over = min(m.length, 3.0 * abs(distance))
    pulls = first[-1, 3] - points[0], last[-1, 3] - points[-1]
    points = points + np.clip(1.0 - s / over, 0.0, 1.0)[:, None] ** 1.5 * pulls[0]
    points = points + np.clip(1.0 - (m.length - s) / over, 0.0, 1.0)[:, None] ** 1.5 * pulls[1]
    fade = cubics.lines(points)
    around = linked([edge, last, cubics.reverse(fade), cubics.reverse(first)])
    return None if len(self_crossings(around, closed=True)) else fade
