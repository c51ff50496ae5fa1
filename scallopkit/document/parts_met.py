"""Parts of different runs that lie on each other: eyelets, buttonholes, snaps and buttons are set through one cloth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ..geometry.cubics import Array, cross
from ..geometry.motion import apply
from ..pattern.piece import Warn
from ..trim.fastenings import BAR, BUTTON, BUTTONHOLE, WORKED, Buttonhole
from .runs import Run
from .sheet import parts_at, to_sheet

# Parts that overlap by less, mm, touch.
_TOUCHING = 1e-6


@dataclass(frozen=True, eq=False)
class _Part:
    """A part on the sheet: its piece, what it is, its spine from end to end (2, 2), and the room round that; mm."""

    piece: str
    what: str
    spine: Array
    half: float


@dataclass(frozen=True, eq=False)
class Pair:
    """Two parts of different runs on one piece.

    Attributes:
        piece: the piece.
        at: the middle (2,) of the first one's, mm on the sheet.
        apart: how far their edges lie from each other, mm; below 0 where they overlap.
        closes: whether one is a button and the other a buttonhole.
    """

    piece: str
    at: Array
    apart: float
    closes: bool


def parts_met(runs: Sequence[Run], about: str = "") -> list[Warn]:
    """A warning for each two runs some of whose parts overlap on a piece, with the place where they do.

    Args:
        runs: the runs as they are now.
        about: a run's name; only pairs with it are told. All if empty.
    """
    out = []
    for one, other in combinations([run for run in runs if run.eyelets], 2):
        if about and about not in (one.name, other.name):
            continue
        met = [pair for pair in nearest_parts(one, other) if pair.apart < -_TOUCHING]
        if met:
            piece, (x, y) = met[0].piece, met[0].at
            text = (
                f'parts of "{one.name}" and of "{other.name}" lie on each other on "{piece}" ({len(met)} of them): '
                "move one of the rows, or leave it out"
            )
            out.append(Warn("parts-meet", text, piece, float(x), float(y)))
    return out


def nearest_parts(one: Run, other: Run) -> list[Pair]:
    """For each part of a run the nearest of another run on the same piece, if there is one."""
    theirs: dict[str, list[_Part]] = {}
    for part in _on_pieces(other):
        theirs.setdefault(part.piece, []).append(part)
    out = []
    for part in _on_pieces(one):
        pairs = [_pair(part, its) for its in theirs.get(part.piece, ())]
        if pairs:
            out.append(min(pairs, key=lambda pair: pair.apart))
    return out


def _pair(one: _Part, other: _Part) -> Pair:
    apart = _between(one.spine, other.spine) - one.half - other.half
    return Pair(one.piece, one.spine.mean(axis=0), apart, {one.what, other.what} == {BUTTON, BUTTONHOLE})


def _between(a: Array, b: Array) -> float:
    """How far two straight lines (2, 2) lie from each other."""
    (u, v), way = (a[1] - a[0], b[1] - b[0]), b[0] - a[0]
    turn = float(cross(u, v))
    if turn and all(0.0 <= float(cross(way, one)) / turn <= 1.0 for one in (u, v)):
        return 0.0
    return min(_from_line(point, line) for points, line in ((a, b), (b, a)) for point in points)


def _from_line(point: Array, line: Array) -> float:
    along = line[1] - line[0]
    share = np.clip((point - line[0]) @ along / max(float(along @ along), 1e-18), 0.0, 1.0)
    return float(np.hypot(*(line[0] + share * along - point)))


def _on_pieces(run: Run) -> Iterator[_Part]:
    """Each part of a run; of two halves of one piece on both."""
    for row in run.eyelets:
        parts, turns = parts_at(run, row.points, row.s)
        size, long = row.size, np.zeros((len(row), 2))
        half = 0.5 * size.flange
        if isinstance(size, Buttonhole):
            half = 0.5 * WORKED
            long = (0.5 * size.length + BAR - half) * row.slits
        for point, way, part, turn in zip(row.points, long, parts.tolist(), turns.tolist(), strict=True):
            spine = apply(to_sheet(run.laid, part, turn), np.stack([point - way, point + way]))
            yield _Part(run.laid.parts[part].edge.piece.name, size.part, spine, half)
