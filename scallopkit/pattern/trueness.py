"""Trueness: whether two edges, laid flat so that they meet, go on into each other in one smooth line.

A join that is not true shows as a dip or a peak once it is sewn. Both are measured against the arc of a circle between
two places well away from the joint; the smooth line that would make the join true runs between the same places.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array, Ints
from ..geometry.length import Measured, measure
from .corners import CORNER_ANGLE, turns

REACH = 20.0
# Direction of an edge: nodes nearer to its end than a millimetre may be strays; one that turns less than half a degree
# is none, as where a smooth line was split. Segments that are no longer than coordinates are rounded have no direction.
_FIRM = 1.0
_ROUNDED = 1e-3
_STRAY_TURN = math.radians(0.5)
# What would be left of an edge, in mm, and leans, in radians, below which there is nothing to see.
_SLIVER = 1e-6
_STRAIGHT = 1e-7
# A line that never turns back bends ever more sharply as one lean goes to nothing beside the other. From a tenth on it
# may turn back a little instead.
_LEAST_RATIO = 0.1
# A cubic over a wider turn leaves an arc of 40 mm by more than 0.001 mm.
_WIDEST = math.radians(60.0)
# Of the parameter: on a line of 40 mm some 1e-7 mm.
_BESIDE = 1e-9
_SAMPLES = 64
_ZOOMS = 14


@dataclass(frozen=True, eq=False)
class Trueness:
    """How far two edges are from one smooth line at the joint where they meet, and such a line.

    Attributes:
        angle: turn at the joint from one edge's direction to the other's, in radians, positive to the right hand.
        dip: largest distance in mm from the edges to the arc between the places that `line` joins.
        side: the hand of the arc on which the edges' farthest place lies: +1 left, -1 right, 0 when they lie on it.
        line: the smooth line (n, 4, 2) from the place before the joint to the place after it; it leaves and meets the
            edges in their own direction.
        before: length of edge in mm that the line replaces before the joint.
        after: length of edge in mm that it replaces after the joint.
    """

    angle: float
    dip: float
    side: int
    line: Array
    before: float
    after: float


def trueness(before: Array, after: Array, reach: float = REACH) -> Trueness:
    """How true the join of two edges is.

    Args:
        before: the edge (n, 4, 2) that ends at the joint.
        after: the edge (m, 4, 2) that starts there.
        reach: how far from the joint, in mm along the edges, the arc and the smooth line begin and end; a shorter edge
            is taken whole.

    Returns:
        Turn, dip and smooth line. Where the edges lean unequally against the chord of the arc, the arc leans by their
        mean, so it touches both where the join is symmetric. The dip is right to 1e-6 mm.

    Raises:
        RequestError: the edges double back on each other.
    """
    first, last = _Side.of(cubics.reverse(before), reach), _Side.of(after, reach)
    _refuse_hairpin(first, last)
    ends = _Ends(first.place, -first.outward, last.place, last.outward)
    farthest = _farthest(np.concatenate([cubics.reverse(first.near), last.near]), ends)
    turn = turns(-firm_direction(cubics.reverse(before))[None], firm_direction(after)[None])
    return Trueness(
        angle=float(turn[0]),
        dip=abs(farthest),
        side=0 if abs(farthest) <= _SLIVER else int(math.copysign(1.0, farthest)),
        line=_smooth_line(ends),
        before=first.length,
        after=last.length,
    )


def trued(before: Array, after: Array, joint: Array, along: Array, true: Trueness) -> tuple[Array, Array]:
    """Both edges with the smooth line in place of what lies near the joint.

    Args:
        before: the edge (n, 4, 2) that ends at the joint, as given to `trueness`.
        after: the edge (m, 4, 2) that starts there.
        joint: the joint (2,).
        along: direction (2,) of the seam line, which is straight through the joint.
        true: what `trueness` gave for the two edges.

    Returns:
        The two edges; the first ends where the second starts, at the same point on the seam line.

    Raises:
        RequestError: the smooth line does not cross the seam line exactly once.
    """
    first, last = parted(true.line, joint, along)
    kept_before = cubics.reverse(_Side.of(cubics.reverse(before), true.before).far)
    kept_after = _Side.of(after, true.after).far
    return np.concatenate([kept_before, first]), np.concatenate([last, kept_after])


def firm_direction(curve: Array) -> Array:
    """The unit direction (2,) in which a curve (n, 4, 2) leaves its first point, whatever stray nodes lie there.

    It is the tangent, unless the first millimetre holds a stray node: its first segment is shorter, and a node turns by
    more than half a degree, or the tangent leans as a corner does. Then it is the direction of the chord over that
    millimetre, or over the whole of a shorter curve. For the other end give the reversed curve, which points inwards.
    """
    solid = curve[np.ptp(curve, axis=1).max(axis=1) > _ROUNDED]
    if not len(solid):
        solid = cubics.without_points(curve)
    tangent, _ = cubics.ends_direction(solid[:1])
    # Nodes are looked for among the first segments, which are longer than their chords.
    beyond = np.cumsum(cubics.norm(solid[:, 3] - solid[:, 0])) >= _FIRM
    if beyond[0]:
        return tangent
    m = measure(solid[: int(beyond.argmax()) + 1] if beyond[-1] else solid)
    chord = m.points(np.array([_FIRM]))[0] - solid[0, 0]
    size = float(cubics.norm(chord))
    if size == 0.0 or not _strays(m, tangent, chord):
        return tangent
    return np.asarray(chord / size)


def _strays(m: Measured, tangent: Array, chord: Array) -> bool:
    """Whether the first millimetre holds a stray node."""
    node = np.arange(1, len(m.curve))
    node = node[m.lengths(node - 1, np.ones(len(node))) < _FIRM]
    if not len(node):
        return False
    arriving = cubics.direction(m.curve, node - 1, np.ones(len(node)))
    leaving = cubics.direction(m.curve, node, np.zeros(len(node)))
    kinked = np.abs(turns(arriving, leaving)).max() > _STRAY_TURN
    return bool(kinked or abs(turns(tangent[None], chord[None])[0]) >= CORNER_ANGLE)


@dataclass(frozen=True, eq=False)
class _Side:
    """One edge, walked away from the joint: what lies within reach (`near`), the rest, which may be empty (`far`).

    `length` is that of `near`, `place` (2,) where it ends, `outward` (2,) the edge's direction there.
    """

    near: Array
    far: Array
    length: float
    place: Array
    outward: Array

    @classmethod
    def of(cls, curve: Array, reach: float) -> _Side:
        m = measure(curve)
        if m.length <= reach + _SLIVER:
            return cls(curve, curve[:0], m.length, curve[-1, 3], -firm_direction(cubics.reverse(curve)))
        far = m.part(reach, m.length)
        # A node at the very place leaves a first segment of mere rounding.
        far = far[np.argmax(np.ptp(far, axis=1).max(axis=1) > 0.5 * _SLIVER) :]
        outward, _ = cubics.ends_direction(far)
        return cls(m.part(0.0, reach), far, reach, far[0, 0], outward)


def _refuse_hairpin(first: _Side, last: _Side) -> None:
    if cubics.norm(last.place - first.place) <= _SLIVER:
        raise RequestError(
            f"two edges double back on each other where they meet: {first.length:.4g} mm before the joint and "
            f"{last.length:.4g} mm after it they are at the same place; give both edges in sewing order"
        )


@dataclass(frozen=True, eq=False)
class _Ends:
    """Two places with the directions walked there; leans are turns to the chord and from it, positive to the right."""

    start: Array
    from_start: Array
    end: Array
    to_end: Array

    @property
    def half(self) -> float:
        return 0.5 * float(cubics.norm(self.end - self.start))

    @property
    def middle(self) -> Array:
        return np.asarray(0.5 * (self.start + self.end))

    @property
    def along(self) -> Array:
        return np.asarray((self.end - self.start) / (2.0 * self.half))

    @property
    def leans(self) -> tuple[float, float]:
        chord = self.along
        a, b = turns(np.stack([self.from_start, chord]), np.stack([chord, self.to_end]))
        return float(a), float(b)

    @property
    def lean(self) -> float:
        a, b = self.leans
        return 0.5 * (a + b)


def _beyond_arc(points: Array, ends: _Ends) -> Array:
    """Distances (k,) from the arc of mean lean to points (k, 2), positive on the arc's left.

    The distance from the centre less the radius, multiplied out so that it holds for a straight line too.
    """
    m, h = ends.lean, ends.half
    from_middle = points - ends.middle
    x, y = from_middle @ ends.along, cubics.cross(ends.along, from_middle)
    bend = math.sin(m) / h
    power = bend * (cubics.dot(from_middle, from_middle) - h * h) - 2.0 * y * math.cos(m)
    signed = power / (np.hypot(bend * x, bend * y - math.cos(m)) + 1.0)
    about_centre = np.abs(np.arctan2(bend * x, math.cos(m) - bend * y))
    beside = about_centre <= abs(m) if abs(m) > _STRAIGHT else np.abs(x) <= h
    to_end = np.minimum(cubics.norm(points - ends.start), cubics.norm(points - ends.end))
    return np.where(beside, signed, np.copysign(to_end, signed))


def _farthest(curve: Array, ends: _Ends) -> float:
    """The distance beyond the arc that is largest in size, with its sign: every sampled peak closed in on."""

    def beyond(segment: Ints, t: Array) -> Array:
        return _beyond_arc(cubics.point(curve, segment.ravel(), t.ravel()), ends).reshape(t.shape)

    number = np.arange(len(curve))
    grid = np.tile(np.linspace(0.0, 1.0, _SAMPLES + 1), (len(curve), 1))
    size = np.abs(beyond(np.broadcast_to(number[:, None], grid.shape), grid))
    beside = np.pad(size, ((0, 0), (1, 1)))
    segment, peak = np.nonzero((size >= beside[:, :-2]) & (size >= beside[:, 2:]))
    t, width = grid[segment, peak], 1.0 / _SAMPLES
    for _ in range(_ZOOMS):
        tries = np.clip(t[:, None] + width * np.linspace(-1.0, 1.0, 9), 0.0, 1.0)
        best = np.abs(beyond(np.broadcast_to(segment[:, None], tries.shape), tries)).argmax(axis=1)
        t, width = tries[np.arange(len(t)), best], 0.25 * width
    found = beyond(segment, t)
    return float(found[np.abs(found).argmax()])


def _smooth_line(ends: _Ends) -> Array:
    """A line that starts and ends in the given directions, an arc of a circle where they lean equally."""
    a, b = ends.leans
    one_way = a * b > 0.0 and min(abs(a), abs(b)) >= _LEAST_RATIO * max(abs(a), abs(b))
    return _slanted_arc(ends) if one_way and abs(ends.lean) > _STRAIGHT else _by_handles(ends)


def _slanted_arc(ends: _Ends) -> Array:
    """The arc of mean lean m, carried by the affine map that keeps the chord and slants the tangents to both leans.

    An affine map keeps the side to which a line bends, so there is no turning back. With the chord from (-1, 0) to
    (1, 0) the tangents of leans a and b meet at (sin(b - a), 2 sin a sin b) / sin(a + b), those of the arc at
    (0, tan m).
    """
    (a, b), m = ends.leans, ends.lean
    count = max(1, math.ceil(abs(2.0 * m) / _WIDEST - 1e-9))
    step = 2.0 * m / count
    past = np.linspace(-m, m, count + 1)
    node = np.stack([np.sin(past), 2.0 * np.sin(0.5 * (m + past)) * np.sin(0.5 * (m - past))], axis=1) / math.sin(m)
    handle = np.stack([np.cos(past), -np.sin(past)], axis=1) * (4.0 / 3.0 * math.tan(0.25 * step) / math.sin(m))
    arc = np.stack([node[:-1], node[:-1] + handle[:-1], node[1:] - handle[1:], node[1:]], axis=1)
    x = arc[..., 0] + arc[..., 1] * (math.sin(b - a) / (2.0 * math.sin(m) ** 2))
    y = arc[..., 1] * (math.sin(a) * math.sin(b) / math.sin(m) ** 2)
    line = ends.middle + ends.half * (x[..., None] * ends.along + y[..., None] * cubics.left(ends.along))
    line[0, 0], line[-1, 3] = ends.start, ends.end
    return np.asarray(line)


def _by_handles(ends: _Ends) -> Array:
    """One cubic; its two handles are together as long as the arc's, the longer one where the lean is smaller."""
    a, b = (abs(lean) + _STRAIGHT for lean in ends.leans)
    a, b = max(a, _LEAST_RATIO * b), max(b, _LEAST_RATIO * a)
    both = 8.0 / 3.0 * ends.half / max(1.0 + math.cos(ends.lean), 0.5)
    forth = ends.start + ends.from_start * (both * b / (a + b))
    back = ends.end - ends.to_end * (both * a / (a + b))
    return np.stack([ends.start, forth, back, ends.end])[None]


def parted(line: Array, joint: Array, along: Array) -> tuple[Array, Array]:
    """A smooth line in two, parted where it crosses the seam line.

    Raises:
        RequestError: it does not cross exactly once.
    """
    # Loaded only where edges are trued.
    from ..geometry.intersect import crossings

    size = float(cubics.norm(line - joint).max()) + 1.0
    way = np.asarray(along, dtype=float) / float(cubics.norm(along)) * size
    found = crossings(line, cubics.lines([joint - way, joint + way]))
    sides = cubics.cross(way, np.stack([line[0, 0], line[-1, 3]]) - joint)
    if len(found) != 1 or not sides.min() < 0.0 < sides.max():
        raise RequestError(
            "the smooth line at a joint does not cross the seam line exactly once: "
            "check which way the seam runs there, or true the two edges by hand"
        )
    t = float(found.t_a[0])
    # Beside a node the node is taken, or one half would end in a segment of mere rounding.
    t = round(t) if min(t, 1.0 - t) <= _BESIDE else t
    place = int(found.segment_a[0]), t
    return cubics.stretch(line, (0, 0.0), place), cubics.stretch(line, place, (len(line) - 1, 1.0))
