"""Lacing: the way of a cord through one row of holes or two, and how long it has to be.

The holes of two rows are counted from the end where the cord lies level across, upward to the end where it is tied. An
open cord makes one run fewer than it goes through holes: 2n - 1 through n pairs. Lengths of crossed and straight
lacing are those of Halton, "The shoelace problem", The Mathematical Intelligencer 17 (1995); his third, which ends in
one long diagonal, is none of ours. No open cord that goes from one row to the other at every run is shorter than the
crossed one (same place).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ..errors import RequestError
from ..geometry.cubics import Array, cross, dot, norm
from .as_worn import Row
from .level_rows import staggered

CROSSED, STRAIGHT, SPIRAL = "crossed", "straight", "spiral"
RUNNING, WRAPPED = "running", "wrapped"
TWO_ROWS, ONE_ROW = (CROSSED, STRAIGHT, SPIRAL), (RUNNING, WRAPPED)
PATHS = (*TWO_ROWS, *ONE_ROW)

OVER, UNDER = "over", "under"

BOW, KNOT, PLAIN = "bow", "knot", "plain"
# What tying takes of each end, mm: a bow's loop and half its knot, or a knot that keeps the end from slipping out. The
# bow's leaves ends of about 250 mm from the knot with the tail below, as laces are sold (excelmathmike.blogspot.com,
# 2010/01); the others are common practice, no source.
TYING = {BOW: 200.0, KNOT: 30.0, PLAIN: 0.0}
# What hangs of each end once it is tied, mm; common practice, no source.
TAIL = 50.0

# Holes of rows for a spiral stand at least this share of a space from those across, but for the end pairs.
_APART = 0.25


class Hole(NamedTuple):
    """A hole by its row (0 or 1) and its number in that row, from 0."""

    row: int
    number: int


@dataclass(frozen=True)
class Leg:
    """One run of the cord from hole to hole.

    Attributes:
        start, end: the holes.
        leaves, arrives: on which face of the cloth it lies at either, OVER or UNDER.
        wraps: whether it goes round the edge on its way.
    """

    start: Hole
    end: Hole
    leaves: str
    arrives: str
    wraps: bool = False


@dataclass(frozen=True, eq=False)
class Cord:
    """One piece of cord.

    Attributes:
        legs: its runs in order, from one of its ends to the other.
        lengths: how long each run is, without what goes through the cloth (k,), mm.
        passes: how often it goes through the cloth or round its edge.
        thickness: what each pass takes, mm.
        end: what is left at each of its two ends, tying included, mm.
    """

    legs: tuple[Leg, ...]
    lengths: Array
    passes: int
    thickness: float
    end: float

    @property
    def holes(self) -> tuple[Hole, ...]:
        """The holes in the order of the cord."""
        return (self.legs[0].start, *(leg.end for leg in self.legs))

    @property
    def length(self) -> float:
        """From its first hole to its last, passes included, mm."""
        return float(self.lengths.sum()) + self.passes * self.thickness

    @property
    def cut(self) -> float:
        """How long it is cut, mm."""
        return self.length + 2.0 * self.end


def cords_of(path: str, rows: Sequence[Row], cords: int, thickness: float, end: float) -> tuple[Cord, ...]:
    """The cords that lace an opening, or a single row.

    Args:
        path: one of PATHS.
        rows: two rows as worn, lowest holes first, or the single one.
        cords: among how many cords the holes are shared out, in order and as evenly as can be.
        thickness: what each pass through the cloth takes, mm.
        end: what is left at each end, mm.

    Raises:
        RequestError: the rows do not go with the path, or hold too few holes for so many cords.
    """
    if len(rows) != (1 if path in ONE_ROW else 2):
        raise ValueError(f"{len(rows)} rows are none for {path}")
    if path == SPIRAL:
        if cords != 1:
            raise RequestError("a spiral is laced with one cord: leave out --cords, or take --path crossed")
        ways = [spiral(*rows)]
    else:
        lace = {CROSSED: crossed, STRAIGHT: straight, RUNNING: running, WRAPPED: wrapped}[path]
        ways = [lace(first, last) for first, last in shared_out(_places(path, rows), cords, path in TWO_ROWS)]
    return tuple(_cord(legs, rows, thickness, end) for legs in ways)


def _places(path: str, rows: Sequence[Row]) -> int:
    """How many pairs, or holes of a single row, there are."""
    if path in TWO_ROWS and len(rows[0]) != len(rows[1]):
        few, many = sorted(rows, key=len)
        raise RequestError(
            f'"{few.name}" has {len(few)} holes and "{many.name}" has {len(many)}: {path} lacing takes as many on both '
            f'sides, so set {len(many)} on "{few.name}" or {len(few)} on "{many.name}"'
        )
    return len(rows[0])


def shared_out(count: int, cords: int, pairs: bool) -> list[tuple[int, int]]:
    """The first and the last of the places that each cord laces, two at least.

    Raises:
        RequestError: there are too few; the text tells how many cords they are enough for.
    """
    what = "pairs of holes" if pairs else "holes"
    if count < 2:
        raise RequestError(f"lacing takes 2 {what} or more, and here is {count}: set more eyelets")
    if count < 2 * cords:
        raise RequestError(
            f"{count} {what} are too few for {cords} cords, which take 2 each: give --cords {count // 2} or fewer"
        )
    parts = np.array_split(np.arange(count), cords)
    return [(int(part[0]), int(part[-1])) for part in parts]


def _cord(legs: tuple[Leg, ...], rows: Sequence[Row], thickness: float, end: float) -> Cord:
    lengths = np.array([_length(leg, rows) for leg in legs])
    return Cord(legs, lengths, len(legs) + 1 + sum(leg.wraps for leg in legs), thickness, end)


def _length(leg: Leg, rows: Sequence[Row]) -> float:
    start, end = rows[leg.start.row], rows[leg.end.row]
    i, j = leg.start.number, leg.end.number
    if not leg.wraps:
        return float(norm(end.holes[j] - start.holes[i]))
    return float(np.hypot(*unfolded(start, i, j)))


def unfolded(row: Row, i: int, j: int) -> tuple[float, float]:
    """A run from hole to hole round the edge, the cloth behind it turned up: how far along the edge, and across, mm.

    The edge is taken as straight between the feet of the two holes.
    """
    along = row.feet[j] - row.feet[i]
    size = float(norm(along))
    if size == 0.0:
        return 0.0, float(row.insets[i] + row.insets[j])
    away = [abs(float(cross(row.holes[k] - row.feet[i], along))) / size for k in (i, j)]
    return abs(float(dot(row.holes[j] - row.holes[i], along))) / size, sum(away)


# ---------------------------------------------------------------- two rows


def crossed(first: int, last: int) -> tuple[Leg, ...]:
    """From a bar under the lowest pair both ends cross to the other row's next hole, each from under it.

    n pairs that are d apart, g across, take g + 2 (n - 1) sqrt(d² + g²).
    """
    left, right = ([Hole((row + k) % 2, first + k) for k in range(last - first + 1)] for row in (0, 1))
    up = [Leg(a, b, OVER, UNDER) for a, b in pairwise(right)]
    down = [_back(Leg(a, b, OVER, UNDER)) for a, b in pairwise(left)][::-1]
    return (*down, Leg(left[0], right[0], UNDER, UNDER), *up)


def straight(first: int, last: int) -> tuple[Leg, ...]:
    """Level bars over the cloth at every pair but the last, each end climbing two pairs at a time under it.

    n pairs that are d apart, g across, take (n - 1) g + 2 sqrt(d² + g²) + (n - 2) sqrt(4 d² + g²).
    """
    left, right = (_ladder(row, first, last) for row in (0, 1))
    up = [_rung(a, b) for a, b in pairwise(right)]
    down = [_back(_rung(a, b)) for a, b in pairwise(left)][::-1]
    return (*down, _rung(left[0], right[0]), *up)


def _ladder(row: int, first: int, last: int) -> list[Hole]:
    """The holes of the end that starts in a row: every other level from the first or second on, and one of the last."""
    holes = [Hole(row, first)]
    for level in range(first + 1 + row, last, 2):
        holes += [Hole(1 - row, level), Hole(row, level)]
    return [*holes, Hole(1 - row, last)]


def _rung(a: Hole, b: Hole) -> Leg:
    face = OVER if a.number == b.number else UNDER
    return Leg(a, b, face, face)


def _back(leg: Leg) -> Leg:
    return replace(leg, start=leg.end, end=leg.start, leaves=leg.arrives, arrives=leg.leaves)


def spiral(first: Row, second: Row) -> tuple[Leg, ...]:
    """One cord that winds from row to row through the next hole up, always over the edge it leaves.

    The holes of one row stand half a space above those of the other, but for the lowest and the highest pair, which may
    be level. Two rows of n holes so set, d apart and g across, take 2 g + (2 n - 3) sqrt(d² / 4 + g²).

    Raises:
        RequestError: they do not stand so; the text tells where the second row's would have to be.
    """
    rows = (first, second)
    holes = [Hole(row, number) for row in (0, 1) for number in range(len(rows[row]))]
    heights = {hole: float(rows[hole.row].heights[hole.number]) for hole in holes}
    order = _alternating(sorted(holes, key=lambda hole: heights[hole]))
    steps = np.diff([heights[hole] for hole in order])
    least = _APART * min(float(np.diff(row.heights).mean()) for row in rows)
    if any(a.row == b.row for a, b in pairwise(order)) or (steps[1:-1] < least).any():
        raise RequestError(
            f'a spiral takes staggered rows, and those of "{first.name}" and "{second.name}" are not: lace them with '
            f"--path crossed, or set the holes of the second at {_between(first)} mm above the lowest, as --level-with "
            "and --staggered do"
        )
    return tuple(Leg(a, b, OVER, UNDER) for a, b in pairwise(order))


def _alternating(order: list[Hole]) -> list[Hole]:
    """The holes with their lowest two, and their highest two, swapped where that lets rows alternate."""
    if len(order) > 2 and order[1].row == order[2].row:
        order = [order[1], order[0], *order[2:]]
    if len(order) > 3 and order[-2].row == order[-3].row:
        order = [*order[:-2], order[-1], order[-2]]
    return order


def _between(row: Row) -> str:
    """Heights of a second row: level at both ends, half way between the holes of the first elsewhere."""
    every = staggered(row.heights - row.heights[0])
    return ", ".join(f"{round(float(height), 1):g}" for height in every)


# ---------------------------------------------------------------- one row


def running(first: int, last: int) -> tuple[Leg, ...]:
    """In and out along a row; both ends come out over the cloth where the number of holes is even."""
    faces = [UNDER if k % 2 == 0 else OVER for k in range(last - first)]
    return tuple(Leg(Hole(0, first + k), Hole(0, first + k + 1), face, face) for k, face in enumerate(faces))


def wrapped(first: int, last: int) -> tuple[Leg, ...]:
    """Over the edge from each hole and up through the next one."""
    return tuple(Leg(Hole(0, k), Hole(0, k + 1), OVER, UNDER, wraps=True) for k in range(first, last))
