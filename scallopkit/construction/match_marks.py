"""Match notches: on every seam of a run, at both pieces in the same sewn place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..pattern.joins import SEAM
from ..pattern.laying import LaidRun
from ..pattern.piece import Piece
from .cut_piece import CutPiece

# How long a notch is, mm: 1/8 in (Oregon 4-H 320-12 family, docslib.org/doc/13006851), and never more than this share
# of the allowance; common practice, no source.
_LENGTH, _SHARE = 3.0, 0.5
# Several notches side by side stand so far apart, mm; common practice, no source.
_APART = 6.0


@dataclass(frozen=True, eq=False)
class MatchMark:
    """One notch on a piece's cutting line.

    Attributes:
        seam: the name of the joint whose seam it is on.
        s: how far from that joint it lies along the seam, mm; the same at the other piece.
        line: from the cutting line inwards (2, 2), on the sheet.
        sewn: the place on the stitching line (2,).
    """

    seam: str
    s: float
    line: Array
    sewn: Array


def match_marks(runs: Sequence[LaidRun], cut: CutPiece) -> list[MatchMark]:
    """The match notches of one piece for all seams at which runs pass over to other pieces.

    The first seam of a run has one notch, the second two, and so on, half way along the shorter of its two edges.
    """
    out: list[MatchMark] = []
    for run in runs:
        seams = [k for k, joint in enumerate(run.joints) if joint.kind == SEAM]
        for number, k in enumerate(seams):
            for leg, part in zip(_legs(run, k), (k, (k + 1) % len(run.parts)), strict=True):
                drawn = run.parts[part]
                if leg is not None and drawn.edge.piece is cut.piece and drawn.copy_of is None:
                    out += _side_by_side(run, k, leg, number + 1, cut)
    return out


def _legs(run: LaidRun, k: int) -> tuple[Array | None, Array | None]:
    met = run.joints[k].meeting
    return (None, None) if met is None or met.legs is None else met.legs


def _side_by_side(run: LaidRun, k: int, leg: Array, count: int, cut: CutPiece) -> list[MatchMark]:
    first, second = _legs(run, k)
    if first is None or second is None:
        return []
    middle = 0.5 * min(measure(first).length, measure(second).length)
    m = measure(leg)
    places = [middle + _APART * (i - 0.5 * (count - 1)) for i in range(count)]
    if places[0] <= 0.0:
        return []
    return [_mark(run.joints[k].name, s, m.points(np.array([s]))[0], cut) for s in places]


def _mark(seam: str, s: float, sewn: Array, cut: CutPiece) -> MatchMark:
    """A notch beside a place, square to the side it lies on."""
    found = [nearest(side.stitching, sewn[None]) for side in cut.sides]
    k = int(np.argmin([float(one.distance[0]) for one in found]))
    side, place = cut.sides[k], found[k]
    foot = cubics.point(side.stitching, place.segment, place.t)[0]
    along = cubics.direction(side.stitching, place.segment, place.t)[0]
    outward = outside_of(cut.piece) * cubics.left(along)
    edge = foot + side.allowance * outward
    length = min(_LENGTH, _SHARE * side.allowance) if side.allowance > 0.0 else _LENGTH
    return MatchMark(seam, s, np.stack([edge, edge - length * outward]), sewn)


def outside_of(piece: Piece) -> int:
    """+1 where the outside of a closed piece lies on the left of someone who walks its outline, -1 on the right."""
    return 1 if cubics.area(piece.curve) > 0.0 else -1
