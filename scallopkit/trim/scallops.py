"""Scallops as drawn: the profile laid on each base line of a fitted row."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..geometry import cubics
from ..geometry.arcs import ellipse_arc
from ..geometry.cubics import Array, Bools
from ..geometry.length import measure
from ..geometry.motion import apply
from .profiles import Motif, arc_radius
from .row import FIRST_HALF, SECOND_HALF, WHOLE, Row
from .shape import Shape

_ACCURACY = 1e-7


@dataclass(frozen=True, eq=False)
class Scallops:
    """The scallops of a course, as arrays of one entry a scallop, lengths in mm.

    Attributes:
        row: where they stand.
        shape: profile and depth.
        side: +1 where they bulge to the walker's left, -1 to the right.
        axis: unit vector from the base line out to the crest, (n, 2).
        depth: height of the crest over the base line.
        radius: of the circular arc; nan where the profile is none.
        large: whether the drawn arc is more than half a circle.
        crest: the outermost points (n, 2).
        ends: directions at the first and the last valley that a smooth profile takes up; None for its own.
        closing: the rigid motion by which a loop goes on beyond its end, as in `Measured`; None where the row is open.
    """

    row: Row
    shape: Shape
    side: int
    axis: Array
    depth: Array
    radius: Array
    large: Bools
    crest: Array
    ends: tuple[Array | None, Array | None] = (None, None)
    closing: Array | None = None

    def __len__(self) -> int:
        return len(self.row)

    @property
    def drawn_start(self) -> Array:
        """Where the drawn line of each begins: its valley, or the crest of a second half."""
        return np.where((self.row.part == SECOND_HALF)[:, None], self.crest, self.row.start)

    @property
    def drawn_end(self) -> Array:
        """Where the drawn line of each ends: its valley, or the crest of a first half."""
        return np.where((self.row.part == FIRST_HALF)[:, None], self.crest, self.row.end)

    def curves(self) -> Iterator[Array]:
        """The drawn line of each scallop as cubics, in order."""
        before, after = _valley_turns(self)
        shared: dict[float, Motif] = {}
        for i in range(len(self)):
            if self.row.turn[i] != 0.0:
                yield _round_corner(self, i)
                continue
            share = round(float(self.depth[i] / self.row.width[i]), 10)
            if share not in shared:
                shared[share] = self.shape.motif(float(self.row.width[i]))
            motif = shared[share]
            curve = _laid(motif.curve, self.row.start[i], self.row.end[i], self.axis[i])
            if self.shape.profile == "wave":
                curve = _smoothed(curve, float(before[i]), float(after[i]))
            yield _half(curve, motif, int(self.row.part[i]))


def scallops(
    row: Row,
    shape: Shape,
    side: int,
    ends: tuple[Array | None, Array | None] = (None, None),
    closing: Array | None = None,
) -> Scallops:
    """The scallops of a fitted row.

    Args:
        row: where they stand.
        shape: profile and depth.
        side: +1 where they bulge to the walker's left, -1 to the right.
        ends: unit directions that a smooth profile has at the first and the last valley, where the row goes on as its
            own mirror image there.
        closing: round a loop the motion by which its course goes on beyond its end.
    """
    chord = row.end - row.start
    length = np.hypot(chord[:, 0], chord[:, 1])
    axis = side * cubics.left(chord) / length[:, None]
    size, which = np.unique(np.round(row.size, 9), return_inverse=True)
    depth = np.array([shape.depth(float(w)) for w in size])[which]
    shares = depth / row.size
    arc = shape.own is None and shape.motif(float(row.size[0])).arc
    radius = np.array([arc_radius(float(w), shape.depth(float(w))) for w in size])[which] if arc else None
    if radius is None:
        radius, large = np.full(len(row), np.nan), np.zeros(len(row), dtype=bool)
    else:
        angle = 4.0 * np.arctan(2.0 * shares) + np.abs(row.turn)
        depth = np.where(row.turn != 0.0, radius * (1.0 - np.cos(0.5 * angle)), depth)
        large = (angle > math.pi) & (row.part == WHOLE)
    crest_x = shape.own.crest if shape.own is not None else 0.5
    crest = row.start + crest_x * chord + depth[:, None] * axis
    return Scallops(row, shape, side, axis, depth, radius, large, crest, ends, closing)


def _laid(motif: Array, start: Array, end: Array, axis: Array) -> Array:
    """A motif of width 1 laid on the base line, its y along the axis."""
    chord = end - start
    width = float(np.hypot(*chord))
    return np.asarray(start + motif[..., :1] * chord + motif[..., 1:] * (width * axis))


def _half(curve: Array, motif: Motif, part: int) -> Array:
    if part == WHOLE:
        return curve
    return curve[motif.half :] if part == SECOND_HALF else curve[: motif.half]


def _round_corner(all_of_them: Scallops, i: int) -> Array:
    """The arc of a scallop that wraps a corner."""
    row = all_of_them.row
    a, b, crest, r = row.start[i], row.end[i], all_of_them.crest[i], float(all_of_them.radius[i])
    centre = crest - r * all_of_them.axis[i]
    angle0 = math.atan2(*(a - centre)[::-1])
    sweep = all_of_them.side * (math.atan2(*(b - centre)[::-1]) - angle0) % (2.0 * math.pi)
    curve = ellipse_arc((centre[0], centre[1]), (r, r), 0.0, angle0, all_of_them.side * sweep, _ACCURACY)
    curve[0, 0], curve[-1, 3] = a, b
    return curve


def following(points: Array, closing: Array | None = None) -> Array:
    """For each scallop the next one's point (n, 2); the last is followed by the first, a turn of the loop later."""
    out = np.roll(points, -1, axis=0)
    if closing is not None:
        out[-1:] = apply(closing, points[:1])
    return out


def chord_turns(row: Row, closing: Array | None = None) -> Array:
    """The turn of the base lines at the valley after each scallop, radians, positive to the right.

    The last entry is the turn from the last to the first a turn later, of use on a loop.
    """
    chord = row.end - row.start
    coming = following(row.end, closing) - following(row.start, closing)
    return np.asarray(np.arctan2(cubics.cross(chord, coming), cubics.dot(chord, coming)))


def meets_next(row: Row, closing: Array | None = None) -> Bools:
    """Whether each scallop ends at the valley where the next one starts; the last is compared with the first."""
    gap = np.hypot(*(following(row.start, closing) - row.end).T)
    return np.asarray(gap <= 1e-6)


def _valley_turns(all_of_them: Scallops) -> tuple[Array, Array]:
    """Half the turn at the valleys before and after each scallop, 0 where no neighbour meets it."""
    row = all_of_them.row
    turn = np.where(meets_next(row, all_of_them.closing), 0.5 * chord_turns(row, all_of_them.closing), 0.0)
    before, after = np.roll(turn, 1), turn.copy()
    first, last = all_of_them.ends
    if first is not None:
        before[0] = _turn(first, row.end[0] - row.start[0])
    if last is not None:
        after[-1] = _turn(row.end[-1] - row.start[-1], last)
    return before, after


def _turn(a: Array, b: Array) -> float:
    return math.atan2(float(a[0] * b[1] - a[1] * b[0]), float(a @ b))


def _smoothed(curve: Array, before: float, after: float) -> Array:
    """First and last handles turned onto the common direction of the neighbouring base lines."""
    curve = curve.copy()
    curve[0, 1] = _turned(curve[0, 1] - curve[0, 0], -before) + curve[0, 0]
    curve[-1, 2] = _turned(curve[-1, 2] - curve[-1, 3], after) + curve[-1, 3]
    return curve


def _turned(vector: Array, angle: float) -> Array:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([c * vector[0] - s * vector[1], s * vector[0] + c * vector[1]])


def valleys(row: Row, closing: Array | None = None) -> tuple[Array, Array]:
    """The valley points (k, 2) in order, and their lengths along the course; shared ones once.

    On a loop `closing` tells by which motion its course goes on: what it makes of the first valley is no new one.
    """
    points: list[Array] = []
    lengths: list[float] = []
    for i in range(len(row)):
        if row.part[i] != SECOND_HALF and not (i > 0 and np.hypot(*(row.start[i] - points[-1])) <= 1e-6):
            points.append(row.start[i])
            lengths.append(float(row.s_start[i]))
        if row.part[i] != FIRST_HALF:
            points.append(row.end[i])
            lengths.append(float(row.s_end[i]))
    again = points[:1] if closing is None else [apply(closing, point) for point in points[:1]]
    if len(points) > 1 and np.hypot(*(again[0] - points[-1])) <= 1e-6:
        points.pop()
        lengths.pop()
    return np.array(points).reshape(-1, 2), np.array(lengths)


def crest_lengths(row: Row) -> Array:
    """Lengths along the course below the crests: half way between valleys; for a half, its mirror line."""
    middle = 0.5 * (row.s_start + row.s_end)
    middle = np.where(row.part == SECOND_HALF, row.s_start, middle)
    return np.asarray(np.where(row.part == FIRST_HALF, row.s_end, middle))


def stitched_length(placed: Scallops) -> float:
    """Length in mm of the scalloped line itself, spaces left out."""
    row = placed.row
    half = np.where(row.part == WHOLE, 1.0, 0.5)
    if not np.isnan(placed.radius).any():
        angle = 4.0 * np.arctan(2.0 * placed.depth / row.width)
        return float((placed.radius * angle * half).sum())
    sizes, which = np.unique(np.round(row.size, 9), return_inverse=True)
    unit = np.array([measure(placed.shape.motif(float(w)).curve).length for w in sizes])
    return float((unit[which] * row.width * half).sum())
