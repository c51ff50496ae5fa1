"""Rows of holes as they are worn: each edge laid beside the centre line of its opening, or a single row as it is.

The frame of what is worn has the centre line at x = 0 and y pointing down, in mm. Each edge stands upright there: the
straight line between its ends is parallel to the centre line, and two edges start at one height.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..errors import RequestError, counted
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.motion import apply, compose, moved, scaled

# Ends nearer to each other than this, mm, give an edge, or a row, no direction.
_NO_CHORD = 1e-6
_MIRROR: Array = scaled(-1.0, 1.0)


@dataclass(frozen=True, eq=False)
class Row:
    """A row of holes along an edge.

    Attributes:
        name: what the maker calls it.
        holes: the middles of the holes in order (n, 2), mm.
        feet: for each the place on the edge that it belongs to (n, 2), mm.
        line: the edge as a curve (m, 4, 2), mm.
        hand: +1 where the outside of the edge is on the left of someone who walks along the holes, else -1.
        ends: where the edge starts and where it ends (2, 2), mm.
        back: whether the holes are walked from the end of the edge to its start.
    """

    name: str
    holes: Array
    feet: Array
    line: Array
    hand: int
    ends: Array
    back: bool = False

    def __len__(self) -> int:
        return len(self.holes)

    @property
    def insets(self) -> Array:
        """How far each hole is from the edge (n,), mm."""
        return cubics.norm(self.holes - self.feet)

    @property
    def heights(self) -> Array:
        """How far up each hole is, of a row that is laid beside the centre line (n,), mm."""
        return -self.holes[:, 1]

    @property
    def walked_back(self) -> Row:
        """The same row from its last hole to its first."""
        return replace(self, holes=self.holes[::-1], feet=self.feet[::-1], hand=-self.hand, back=not self.back)

    def carried(self, motion: Array) -> Row:
        """The row carried by a rigid motion; one that mirrors changes its hand."""
        flips = float(np.linalg.det(motion[:, :2])) < 0.0
        holes, feet, line, ends = (apply(motion, one) for one in (self.holes, self.feet, self.line, self.ends))
        return Row(self.name, holes, feet, line, -self.hand if flips else self.hand, ends, self.back)


def upright(start: Array, end: Array) -> Array:
    """The motion that lays an edge upright: its start (2,) at the origin, its end (2,) straight above it.

    So both edges of an opening are laid, whatever they do between their ends.

    Raises:
        RequestError: the edge ends where it starts.
    """
    along = end - start
    size = float(np.hypot(*along))
    if size < _NO_CHORD:
        raise RequestError("an edge that ends where it starts has no heights: name one side of the opening")
    x, y = (along / size).tolist()
    # The rotation that carries the direction to (0, -1).
    turn = np.array([[-y, x, 0.0], [-x, -y, 0.0]])
    foot = apply(turn, start)
    return compose(moved(-float(foot[0]), -float(foot[1])), turn)


def beside_centre(row: Row, gap: float) -> Row:
    """A row laid with its first hole lowest, its outside towards the centre line; its edge starts at y = 0.

    The edge stands upright, and half the gap from the centre line where its outer holes belong (the mean of both).

    Args:
        row: the row, of two holes or more.
        gap: how far the two edges stand apart, mm.

    Raises:
        RequestError: the row has a single hole, or it or its edge ends where it begins.
    """
    if len(row) < 2 or float(np.hypot(*(row.holes[-1] - row.holes[0]))) < _NO_CHORD:
        raise RequestError(
            f'the row "{row.name}" has {counted(len(row), "hole")} and no direction to be laced '
            "along: set 2 eyelets or more along an open edge"
        )
    lower, upper = row.ends[::-1] if row.back else row.ends
    worn = row.carried(upright(lower, upper))
    off = 0.5 * row.hand * gap - 0.5 * float(worn.feet[0, 0] + worn.feet[-1, 0])
    return worn.carried(moved(off, -float(worn.ends[0, 1])))


def facing_rows(row: Row, other: Row | None, gap: float) -> tuple[Row, Row]:
    """Two rows as worn on both sides of an opening, their lowest holes first.

    Where both edges start at the bottom, or both at the top, they start at one height; else their middles are level.

    Args:
        row: one row, walked upward.
        other: the other row, walked either way; None for the first one's mirror image.
        gap: how far the edges stand apart, mm.

    Raises:
        RequestError: a row has no direction.
    """
    first = beside_centre(row, gap)
    if other is None:
        return first, first.carried(_MIRROR)
    # Two edges face each other when their outsides are on other hands of two who walk up both.
    second = beside_centre(other if other.hand != row.hand else other.walked_back, gap)
    if second.back == first.back:
        return first, second
    return first, second.carried(moved(0.0, float(first.ends[:, 1].mean() - second.ends[:, 1].mean())))


def overlap(first: Row, second: Row) -> float:
    """How far two edges reach over each other at the most, mm; 0 where they leave a gap everywhere.

    The edges are compared where they reach farthest over the centre line, whatever their heights.
    """
    left, right = sorted((first, second), key=lambda row: float(row.holes[:, 0].mean()))
    over = cubics.bounds(left.line)[1, 0], -cubics.bounds(right.line)[0, 0]
    return max(0.0, float(over[0]), float(over[1]))
