"""Where a trim lies on the cloth: lines at a distance inside an edge, from side to side and parted at its joints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import NoFitError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.intersect import crossings
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from .chain import on_line, points_at

# Parallels are drawn this near to the true ones, mm.
_ACCURACY = 0.005
# An end of a parallel farther than this, mm, from where it belongs was cut off by another part of it.
_REACHED = 0.05
# Places nearer than this, mm, are one.
_SAME = 1e-6


@dataclass(frozen=True, eq=False)
class Side:
    """What a line inside an edge goes up to at one end: a line (n, 4, 2) walked away from the edge, or nothing."""

    curve: Array | None = None


@dataclass(frozen=True, eq=False)
class Across:
    """The line of a joint: its place on the edge, its direction into the cloth, and its normal in walking direction."""

    point: Array
    along: Array
    square: Array


@dataclass(frozen=True)
class Told:
    """How messages speak of a line inside an edge: what it is, and what to do where there is none."""

    what: str = "the trim"
    cure: str = "give a smaller --offset, or a narrower trim"


@dataclass(frozen=True, eq=False)
class Inside:
    """A line inside an edge.

    Attributes:
        measured: the line with its lengths.
        joints: where it crosses the lines of joints, mm along it.
    """

    measured: Measured
    joints: tuple[float, ...]

    def corner(self, edge: Measured, at: float, distance: float) -> float:
        """Where along it, mm, the corner lies that the edge has at a length along it; `distance` as for `inside`.

        Two lines at a distance d inside edges with the unit normals n and m cross at d (n + m) / (1 + n m) from their
        corner (plane geometry).
        """
        step = 1e-3
        before, after = edge.normals(np.array([at - step, at + step]))
        foot = edge.points(np.array([at]))
        tip = foot + distance * (before + after) / (1.0 + float(cubics.dot(before, after)))
        found = nearest(self.measured.curve, tip)
        return float(self.measured.lengths(found.segment, found.t)[0])


def inside(
    curve: Array, distance: float, closed: bool, sides: tuple[Side, Side], joints: Sequence[Across], told: Told
) -> Inside:
    """The line at a distance inside an edge.

    Args:
        curve: the edge, mm.
        distance: how far to the walker's left, mm; negative to the right.
        closed: whether it is a whole closed outline.
        sides: what it goes up to at its start and at its end; square to the edge where there is nothing.
        joints: the joints that it crosses, in order.
        told: how messages speak of it.

    Raises:
        NoFitError: there is no single line so far inside the edge, or it does not reach a side.
    """
    line = _parallel(curve, distance, closed, told)
    if closed:
        line = _begun_at(line, curve[0, 0])
    else:
        line = _up_to(line, curve, distance, sides[1], told)
        back = _up_to(cubics.reverse(line), cubics.reverse(curve), -distance, sides[0], told)
        line = cubics.reverse(back)
    m = measure(line)
    return Inside(m, tuple(_crossing(m, joint, abs(distance), told) for joint in joints))


def _parallel(curve: Array, distance: float, closed: bool, told: Told) -> Array:
    if distance == 0.0:
        return curve
    found = offset(curve, distance, closed=closed, accuracy=_ACCURACY)
    if len(found) != 1:
        raise NoFitError(f"{_far(distance)} inside the edge there is no single line for {told.what}: {told.cure}")
    return found[0]


def _far(distance: float) -> str:
    return f"{abs(distance):g} mm"


def _begun_at(line: Array, point: Array) -> Array:
    """A closed line that begins at its place nearest to a point."""
    place = nearest(line, point[None])
    # A corner is met exactly: rounding would leave a hair of its other side.
    node = int(np.argmin(np.hypot(*(line[:, 0] - place.point[0]).T)))
    at_node = float(np.hypot(*(line[node, 0] - place.point[0]))) < _SAME
    segment, t = (node, 0.0) if at_node else (int(place.segment[0]), float(place.t[0]))
    last = len(line) - 1
    parts = [(segment, t), (last, 1.0)], [(0, 0.0), (segment, t)]
    return cubics.without_points(np.concatenate([cubics.stretch(line, a, b) for a, b in parts if a != b]))


def _up_to(line: Array, curve: Array, distance: float, side: Side, told: Told) -> Array:
    """A line that ends where its side is, longer or shorter than the edge beside it."""
    if side.curve is None or distance == 0.0:
        _, onward = cubics.ends_direction(curve)
        end = curve[-1, 3] + distance * cubics.left(onward)
        if float(np.hypot(*(line[-1, 3] - end))) > _REACHED:
            raise NoFitError(
                f"{told.what}, {_far(distance)} inside the edge, runs into itself near its end: {told.cure}"
            )
        return line
    _, onward = cubics.ends_direction(line)
    far = line[-1, 3] + 4.0 * abs(distance) * onward
    longer = np.concatenate([line, cubics.lines([line[-1, 3], far])])
    found = crossings(longer, side.curve)
    if not len(found.point):
        raise NoFitError(
            f"{told.what}, {_far(distance)} inside the edge, does not reach the side of its piece: {told.cure}"
        )
    k = int(np.argmin(np.hypot(*(found.point - line[-1, 3]).T)))
    cut = (int(found.segment_a[k]), float(found.t_a[k]))
    return cubics.without_points(cubics.stretch(longer, (0, 0.0), cut))


def _crossing(m: Measured, joint: Across, depth: float, told: Told) -> float:
    """Where a line crosses that of a joint, mm along it: the place nearest to the joint, so deep in the cloth."""
    places = on_line(m.curve, joint.point, joint.square)
    if not len(places):
        raise NoFitError(f"{told.what}, {_far(depth)} inside the edge, does not reach a joint: {told.cure}")
    points = points_at(m.curve, places)
    place = float(places[int(np.argmin(np.hypot(*(points - joint.point - depth * joint.along).T)))])
    segment = min(int(place), len(m.curve) - 1)
    return float(m.lengths(np.array([segment]), np.array([place - segment]))[0])
