"""Match notches: on seams at both pieces in the same sewn place, at the legs of darts, and a run's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..pattern.joins import SEAM
from ..pattern.laying import LaidRun
from ..trim.notches import SNIP, Notches, notch_length, square_out
from .cut_piece import CutPiece
from .trimmed_edge import DartLeg

# How long a notch is, mm: 1/8 in (Oregon 4-H 320-12 family, docslib.org/doc/13006851), and never more than this share
# of the allowance; common practice, no source.
_LENGTH, _SHARE = 3.0, 0.5
# Several notches side by side stand so far apart, mm; common practice, no source.
_APART = 6.0
# A cutting line nearer to the place that is sewn than this, mm, leaves no allowance.
_NOTHING = 1e-3
# A notch is carried so many times as far as the allowance is wide to the nearest cutting line, and no farther.
_FARTHEST = 2.0


@dataclass(frozen=True, eq=False)
class MatchMark:
    """One notch on a piece's cutting line.

    Attributes:
        seam: the name of the joint whose seam, or dart, it is on; empty for a notch of a run along its edge.
        s: how far from that joint it lies along the seam, mm, the same at the other piece; or how far along the run.
        line: from the cutting line inwards (2, 2), on the sheet; of a V or triangle there and back to it (3, 2).
        sewn: the place on the stitching line (2,).
        foot: where it stands (2,): on the cutting line, unless it could not be carried out to it.
        run: the run whose notch it is; empty on a seam.
        inside: how far the cutting line is away, mm, from a notch that could not be carried out to it, 0 where there is
            no allowance; else None.
    """

    seam: str
    s: float
    line: Array
    sewn: Array
    foot: Array
    run: str = ""
    inside: float | None = None


@dataclass(frozen=True, eq=False)
class SewnNotch:
    """A notch of a run where it is sewn.

    Attributes:
        run: the run's name.
        part: the number of the run's part that it lies on.
        s: how far along the run, mm.
        place: the place (2,) on the stitching line.
        outward: unit vector (2,) out of the piece, square to that line.
        line: the notch (k, 2) as the run draws it.
        kind: SNIP, V or TRIANGLE, as notches have it.
        asked: the length that was asked for, mm; None for the usual one.
    """

    run: str
    part: int
    s: float
    place: Array
    outward: Array
    line: Array
    kind: str
    asked: float | None = None

    def carried(self, by: Array) -> SewnNotch:
        """The notch carried by a motion."""
        place, line = motion.apply(by, self.place), motion.apply(by, self.line)
        return replace(self, place=place, outward=by[:, :2] @ self.outward, line=line)


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


def run_marks(notches: Sequence[SewnNotch], cut: CutPiece, stitched: Mapping[str, Array]) -> list[MatchMark]:
    """The notches of runs on a piece, carried out from where they are sewn to its cutting line.

    One that the cutting line is too far from, or on a trimmed edge without an allowance, stays where it is sewn. Beside
    other sides without an allowance, as of an outline that is drawn with it on, the run has put it on the cutting line.

    Args:
        notches: the notches, as they lie on the piece.
        cut: the piece as it is cut.
        stitched: the stitching lines of the trimmed edges on it, by the names of their sides.

    Raises:
        RequestError: one is too long for its allowance; the text says where.
    """
    out = []
    for notch in notches:
        k = _side_of(notch, cut, stitched)
        side, cutting = cut.sides[k], cut.cutting.sides[k]
        if side.allowance <= _NOTHING or not len(cutting):
            out.append(_as_drawn(notch, 0.0 if side.name in stitched else None))
            continue
        sewn = stitched.get(side.name, side.stitching)
        out.append(carried_out(notch, cutting, side.allowance, sewn, f'"{cut.piece.name}"'))
    return out


def dart_marks(legs: Sequence[DartLeg]) -> list[MatchMark]:
    """The notches at which darts are folded: where their legs, drawn on straight, come to the cutting line.

    Where a leg ends without an allowance its end is plain to see and gets none.
    """
    out = []
    for leg in legs:
        way = leg.sewn - leg.foot
        allowance = float(cubics.norm(way))
        if allowance > _NOTHING:
            tip = leg.foot + way * (usual_length(allowance) / allowance)
            out.append(MatchMark(leg.dart, 0.0, np.stack([leg.foot, tip]), leg.sewn, leg.foot))
    return out


def places_along(length: float, count: int) -> list[float]:
    """Where so many notches stand side by side half way along a seam, mm from its beginning; none if it is too short.

    Args:
        length: of the seam, of two unlike edges that of the shorter one, mm.
        count: how many they are.
    """
    places = [0.5 * length + _APART * (i - 0.5 * (count - 1)) for i in range(count)]
    return places if places and places[0] > 0.0 else []


def usual_length(allowance: float) -> float:
    """How long a snip is beside an allowance, mm: clear of the seam, and the usual length where there is none."""
    return min(_LENGTH, _SHARE * allowance) if allowance > 0.0 else _LENGTH


def carried_out(notch: SewnNotch, cutting: Array, allowance: float, stitching: Array, whose: str) -> MatchMark:
    """A notch of a run on a cutting line beside it.

    It stands where the line square to the stitching line meets the cutting line, or else in the nearest place, unless
    that is farther away than twice the allowance: then it stays where it is sewn.

    Args:
        notch: the notch where it is sewn.
        cutting: the cutting line of its edge.
        allowance: how far beyond the stitching line the edge is cut, mm.
        stitching: the stitching line that no cut may reach.
        whose: what is cut, for messages.

    Raises:
        RequestError: it is too long for its allowance; the text says which.
    """
    foot, inwards = square_out(cutting, notch.place, notch.outward), -notch.outward
    if foot is None:
        near = nearest(cutting, notch.place[None])
        away = float(near.distance[0])
        if away > _FARTHEST * allowance:
            return _as_drawn(notch, away)
        foot = near.point[0]
        inwards = (notch.place - foot) / away if away > _NOTHING else inwards
    room = float(nearest(stitching, foot[None]).distance[0])
    if room <= _NOTHING:
        return _as_drawn(notch, 0.0)
    try:
        length = notch_length(notch.kind, notch.asked, room)
    except RequestError as error:
        where = f'the notch {notch.s:.6g} mm along "{notch.run}" on the cutting line of {whose}'
        raise RequestError(f"{where}: {error}") from None
    line = Notches(foot[None], inwards[None], np.zeros(1), length, notch.kind, notch.place[None]).curve(0)
    if notch.kind != SNIP:
        # The cutting line may run aslant there, or turn at a valley: both feet stand on it.
        line[[0, -1]] = nearest(cutting, line[[0, -1]]).point
    return MatchMark("", notch.s, line, notch.place, foot, notch.run)


def _as_drawn(notch: SewnNotch, away: float | None) -> MatchMark:
    """A notch that stays where its run draws it, so far inside the cutting line; None where it is on it."""
    foot = notch.line[0] if notch.kind == SNIP else 0.5 * (notch.line[0] + notch.line[-1])
    return MatchMark("", notch.s, notch.line, notch.place, foot, notch.run, away)


def _side_of(notch: SewnNotch, cut: CutPiece, stitched: Mapping[str, Array]) -> int:
    """The number of the side that a notch lies on: of its run's own ones, if there are any, the nearest."""
    own = [k for k, side in enumerate(cut.sides) if side.name == notch.run and side.name in stitched]
    known = own or range(len(cut.sides))
    return min(known, key=lambda k: float(nearest(cut.sides[k].stitching, notch.place[None]).distance[0]))


def _legs(run: LaidRun, k: int) -> tuple[Array | None, Array | None]:
    met = run.joints[k].meeting
    return (None, None) if met is None or met.legs is None else met.legs


def _side_by_side(run: LaidRun, k: int, leg: Array, count: int, cut: CutPiece) -> list[MatchMark]:
    first, second = _legs(run, k)
    if first is None or second is None:
        return []
    m, shorter = measure(leg), min(measure(first).length, measure(second).length)
    return [_mark(run.joints[k].name, s, m.points(np.array([s]))[0], cut) for s in places_along(shorter, count)]


def _mark(seam: str, s: float, sewn: Array, cut: CutPiece) -> MatchMark:
    """A notch beside a place, square to the side it lies on."""
    found = [nearest(side.stitching, sewn[None]) for side in cut.sides]
    k = int(np.argmin([float(one.distance[0]) for one in found]))
    side, place = cut.sides[k], found[k]
    foot = cubics.point(side.stitching, place.segment, place.t)[0]
    along = cubics.direction(side.stitching, place.segment, place.t)[0]
    outward = cut.piece.outside * cubics.left(along)
    edge = foot + side.allowance * outward
    return MatchMark(seam, s, np.stack([edge, edge - usual_length(side.allowance) * outward]), sewn, edge)
