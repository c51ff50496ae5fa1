"""A survey: what a drawing holds, measured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..geometry import cubics
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from .corners import corners
from .marks import REACH, SnappedMark, nearby, snap, stray_marks
from .piece import Pattern, Piece, Warn
from .proposing import ProposedJoin, proposed_joins

# Of the whole outline: what is longer is the longer way round.
_SHORTER = 0.5
# A mark nearer than this to a corner, mm, lies on it.
_SAME = 1e-3


@dataclass(frozen=True)
class SurveyedCorner:
    """A corner: its name, place in mm, length along the outline, and turn in radians (positive to the right)."""

    name: str
    x: float
    y: float
    s: float
    turn: float


@dataclass(frozen=True)
class SurveyedEdge:
    """The stretch between two neighbouring corners or ends, with its length in mm.

    `via` is None where its ends alone name it; else, on the longer way round, a mark on it, or empty if there is none.
    """

    start: str
    end: str
    length: float
    via: str | None = None

    @property
    def name(self) -> str:
        """What names it; where nothing does yet, what to do."""
        if self.via is None:
            return f"{self.start}..{self.end}"
        return f"{self.start}..{self.via or '(put a mark here)'}..{self.end}"


@dataclass(frozen=True)
class SurveyedMark:
    """A mark on an outline: its place in mm, length along, how far it lay from the outline, the corner it fell on."""

    name: str
    x: float
    y: float
    s: float
    distance: float
    corner: str | None


@dataclass(frozen=True)
class SurveyedPiece:
    """One piece, measured in mm."""

    name: str
    names: tuple[str, ...]
    closed: bool
    width: float
    height: float
    length: float
    corners: tuple[SurveyedCorner, ...]
    edges: tuple[SurveyedEdge, ...]
    marks: tuple[SurveyedMark, ...]


@dataclass(frozen=True)
class Survey:
    """All pieces, the joins that the drawing suggests, and what its maker should know."""

    pieces: tuple[SurveyedPiece, ...]
    joins: tuple[ProposedJoin, ...]
    warnings: tuple[Warn, ...]

    @property
    def lacks_seams(self) -> bool:
        """Whether it holds pieces that could be sewn together, and no seam was found."""
        several = sum(piece.closed for piece in self.pieces) > 1
        return several and all(join.kind != "seam" for join in self.joins)


def survey(pattern: Pattern) -> Survey:
    """Measures every piece of the pattern, and looks for edges that are sewn together."""
    pieces = tuple(_piece(pattern, piece) for piece in pattern.pieces)
    return Survey(pieces, proposed_joins(pattern), _strays(pattern))


def _strays(pattern: Pattern) -> tuple[Warn, ...]:
    """The warnings of `stray_marks`; only marks near no box of a piece are held against every outline."""
    belong = set()
    for piece in pattern.pieces:
        marks = nearby(piece, pattern.marks)
        if marks:
            distance = nearest(piece.curve, np.array([(mark.x, mark.y) for mark in marks])).distance
            belong |= {mark for mark, away in zip(marks, distance, strict=True) if away <= REACH}
    return stray_marks(replace(pattern, marks=tuple(mark for mark in pattern.marks if mark not in belong)))


def _piece(pattern: Pattern, piece: Piece) -> SurveyedPiece:
    measured = measure(piece.curve)
    low, high = cubics.bounds(piece.curve)
    found = corners(piece.curve, piece.closed)
    nodes = np.array([c.node for c in found], dtype=np.intp)
    s = measured.lengths(nodes, np.zeros(len(nodes)))
    turning = tuple(
        SurveyedCorner(c.name, float(piece.curve[c.node, 0, 0]), float(piece.curve[c.node, 0, 1]), float(at), c.turn)
        for c, at in zip(found, s, strict=True)
    )
    marks = tuple(_mark(measured, m) for m in snap(piece, nearby(piece, pattern.marks)))
    return SurveyedPiece(
        piece.name,
        piece.names,
        piece.closed,
        float(high[0] - low[0]),
        float(high[1] - low[1]),
        measured.length,
        turning,
        _edges(turning, marks, measured.length, piece.closed),
        marks,
    )


def _mark(measured: Measured, mark: SnappedMark) -> SurveyedMark:
    segment, t = np.array([mark.segment]), np.array([mark.t])
    x, y = cubics.point(measured.curve, segment, t)[0]
    s = float(measured.lengths(segment, t)[0])
    return SurveyedMark(mark.name, float(x), float(y), s, mark.distance, mark.corner)


def _edges(
    turning: tuple[SurveyedCorner, ...], marks: tuple[SurveyedMark, ...], length: float, closed: bool
) -> tuple[SurveyedEdge, ...]:
    """The stretches between neighbouring corners; an open line's ends count."""
    stops = [(c.name, c.s) for c in turning]
    if not closed:
        stops = [("start", 0.0), *stops, ("end", length)]
        pairs = list(pairwise(stops))
    else:
        pairs = list(zip(stops, stops[1:] + stops[:1], strict=True))
    out = []
    for (a, s), (b, t) in pairs:
        own = (t - s) % length or length
        # By its two ends alone an edge is found the shorter way round.
        longer = closed and len(stops) > 1 and own > _SHORTER * length
        on_it = [mark.name for mark in marks if _SAME < (mark.s - s) % length < own - _SAME]
        out.append(SurveyedEdge(a, b, own, (on_it[0] if on_it else "") if longer else None))
    return tuple(out)
