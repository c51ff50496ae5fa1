"""Marks and where they fall on the outlines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import cubics
from ..geometry.nearest import nearest
from .corners import corners
from .piece import Mark, Pattern, Piece, Warn

# A mark further from an outline than this belongs to none.
REACH = 3.0
# A mark drawn by hand this close to a corner or an open end means that corner or end.
AT_CORNER = 1.0


@dataclass(frozen=True)
class SnappedMark:
    """A mark on an outline: its place (segment, t), how far it lay from there, and the corner it fell on."""

    name: str
    segment: int
    t: float
    distance: float
    corner: str | None


def snap(piece: Piece, marks: tuple[Mark, ...], reach: float = REACH) -> tuple[SnappedMark, ...]:
    """The marks that belong to the piece's outline, each at its nearest place on it."""
    if not marks:
        return ()
    points = np.array([(mark.x, mark.y) for mark in marks])
    found = nearest(piece.curve, points)
    solid = _firm_places(piece)
    out = []
    for i, mark in enumerate(marks):
        if found.distance[i] > reach:
            continue
        segment, t, corner = int(found.segment[i]), float(found.t[i]), None
        for name, (node, at) in solid.items():
            place = piece.curve[node, 3 if at else 0]
            if np.hypot(*(place - points[i])) <= AT_CORNER:
                segment, t, corner = node, at, name
        out.append(SnappedMark(mark.name, segment, t, float(found.distance[i]), corner))
    return tuple(out)


def nearby(piece: Piece, marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """The marks that could belong to the piece, by the box around it: all that do, and few others."""
    low, high = cubics.bounds(piece.curve)
    (x0, y0), (x1, y1) = (low - REACH).tolist(), (high + REACH).tolist()
    return tuple(mark for mark in marks if x0 <= mark.x <= x1 and y0 <= mark.y <= y1)


def _firm_places(piece: Piece) -> dict[str, tuple[int, float]]:
    places = {c.name: (c.node, 0.0) for c in corners(piece.curve, piece.closed)}
    if not piece.closed:
        places |= {"start": (0, 0.0), "end": (len(piece.curve) - 1, 1.0)}
    return places


def stray_marks(pattern: Pattern) -> tuple[Warn, ...]:
    """A warning for each mark that lies near no outline."""
    if not pattern.marks or not pattern.pieces:
        return ()
    points = np.array([(mark.x, mark.y) for mark in pattern.marks])
    distance = np.full(len(points), np.inf)
    for piece in pattern.pieces:
        distance = np.minimum(distance, nearest(piece.curve, points).distance)
    return tuple(
        Warn(
            "stray-mark",
            f'the mark "{mark.name}" lies {away:.1f} mm from the nearest outline; move it within {REACH:g} mm of one',
            None,
            mark.x,
            mark.y,
        )
        for mark, away in zip(pattern.marks, distance, strict=True)
        if away > REACH
    )
