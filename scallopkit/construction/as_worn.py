"""Rows of holes as they are worn: each edge laid beside the centre line of its opening, or a single row as it is.

The frame of what is worn has the centre line at x = 0 and y pointing down, in mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.motion import apply, compose, moved, scaled
from ..wording import counted

# Ends of a row nearer to each other than this, mm, give it no direction.
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
    """

    name: str
    holes: Array
    feet: Array
    line: Array
    hand: int

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
        return replace(self, holes=self.holes[::-1], feet=self.feet[::-1], hand=-self.hand)

    def carried(self, motion: Array) -> Row:
        """The row carried by a rigid motion; one that mirrors changes its hand."""
        flips = float(np.linalg.det(motion[:, :2])) < 0.0
        holes, feet, line = (apply(motion, one) for one in (self.holes, self.feet, self.line))
        return Row(self.name, holes, feet, line, -self.hand if flips else self.hand)


def beside_centre(row: Row, gap: float) -> Row:
    """A row laid with its first hole lowest, its outside towards the centre line.

    The chord of its first and last holes is parallel to the centre line and stands half the gap and its holes' inset
    (the mean of its ends') from it; the middle of the chord lies at y = 0.

    Args:
        row: the row, of two holes or more.
        gap: how far the two edges stand apart, mm.

    Raises:
        RequestError: the row has a single hole, or ends where it begins, so that it has no direction.
    """
    chord = row.holes[-1] - row.holes[0]
    length = float(np.hypot(*chord))
    if len(row) < 2 or length < _NO_CHORD:
        raise RequestError(
            f'the row "{row.name}" has {counted(len(row), "hole")} and no direction to be laced '
            "along: set 2 eyelets or more along an open edge"
        )
    x, y = (chord / length).tolist()
    # The rotation that carries the chord's direction to (0, -1).
    turn = np.array([[-y, x, 0.0], [-x, -y, 0.0]])
    middle = apply(turn, 0.5 * (row.holes[0] + row.holes[-1]))
    off = 0.5 * gap + 0.5 * float(row.insets[0] + row.insets[-1])
    return row.carried(compose(moved(row.hand * off - float(middle[0]), -float(middle[1])), turn))


def facing_rows(row: Row, other: Row | None, gap: float) -> tuple[Row, Row]:
    """Two rows as worn on both sides of an opening, their lowest holes first.

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
    return first, beside_centre(other if other.hand != row.hand else other.walked_back, gap)


def overlap(first: Row, second: Row) -> float:
    """How far two edges reach over each other at the most, mm; 0 where they leave a gap everywhere.

    The edges are compared where they reach farthest over the centre line, whatever their heights.
    """
    left, right = sorted((first, second), key=lambda row: float(row.holes[:, 0].mean()))
    over = cubics.bounds(left.line)[1, 0], -cubics.bounds(right.line)[0, 0]
    return max(0.0, float(over[0]), float(over[1]))
