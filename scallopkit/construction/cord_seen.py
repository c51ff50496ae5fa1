"""What is seen of a laced cord: its runs parted where it comes from under the cloth, and short strokes for its ends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.intersect import crossings
from .as_worn import Row
from .lacing import OVER, UNDER, Cord, Leg

# An end of the cord is shown so long, mm.
END = 18.0


def strokes(leg: Leg, rows: Sequence[Row]) -> list[tuple[Array, str]]:
    """The parts (2, 2) of a run as it is seen, each with its face; what lies in the gap is seen."""
    start, end = (rows[hole.row].holes[hole.number] for hole in (leg.start, leg.end))
    if leg.wraps:
        at = _over_edge(rows[leg.start.row], leg.start.number, leg.end.number)
        return [(np.stack([start, at]), leg.leaves), (np.stack([at, end]), leg.arrives)]
    if leg.start.row == leg.end.row:
        return [(np.stack([start, end]), leg.leaves)]
    out, into = _leaves_at(leg, rows)
    parts = [(0.0, out, leg.leaves), (out, into, OVER), (into, 1.0, leg.arrives)]
    return [(np.stack([start + a * (end - start), start + b * (end - start)]), face) for a, b, face in _merged(parts)]


def _merged(parts: Sequence[tuple[float, float, str]]) -> list[tuple[float, float, str]]:
    """Neighbouring parts on one face as one; parts without length are dropped."""
    out: list[tuple[float, float, str]] = []
    for begin, finish, face in parts:
        if out and out[-1][2] == face:
            out[-1] = (out[-1][0], finish, face)
        elif finish > begin:
            out.append((begin, finish, face))
    return out


def _leaves_at(leg: Leg, rows: Sequence[Row]) -> tuple[float, float]:
    """The shares of a run at which it leaves the cloth of its first hole, and comes to that of its last."""
    holes = [rows[hole.row].holes[hole.number] for hole in (leg.start, leg.end)]
    insets = [float(rows[hole.row].insets[hole.number]) for hole in (leg.start, leg.end)]
    across = max(abs(float(holes[1][0] - holes[0][0])), sum(insets), 1e-9)
    shares = [insets[0] / across, 1.0 - insets[1] / across]
    straight = cubics.lines(holes)
    for k, hole in enumerate((leg.start, leg.end)):
        found = crossings(straight, rows[hole.row].line)
        if len(found):
            shares[k] = float(found.t_a[-k])
    out, into = shares
    return (out, into) if out <= into else (0.5 * (out + into), 0.5 * (out + into))


def _over_edge(row: Row, i: int, j: int) -> Array:
    """Where a run from hole to hole goes over the edge between their feet."""
    along = row.feet[j] - row.feet[i]
    size = float(np.hypot(*along))
    way = along / size if size else along
    at = [float((row.holes[k] - row.feet[i]) @ way) for k in (i, j)]
    away = [float(row.insets[k]) for k in (i, j)]
    share = away[0] / sum(away) if sum(away) else 0.5
    return np.asarray(row.feet[i] + (at[0] + share * (at[1] - at[0])) * way)


def ends(cord: Cord, rows: Sequence[Row]) -> list[tuple[Array, str]]:
    """Short strokes (2, 2) for the two ends of a cord, each with its face: the one that the run beside it is not on.

    They go up towards the centre line, or on along a single row.
    """
    out = []
    faces = (cord.legs[0].leaves, cord.legs[-1].arrives)
    for holes, inner in zip((cord.holes[:2], cord.holes[:-3:-1]), faces, strict=True):
        at, before = (rows[hole.row].holes[hole.number] for hole in holes)
        way = np.array([-0.5 if at[0] > 0.0 else 0.5, -1.0]) if len(rows) == 2 else at - before
        face = OVER if inner == UNDER else UNDER
        out.append((np.stack([at, at + END * way / float(np.hypot(*way))]), face))
    return out
