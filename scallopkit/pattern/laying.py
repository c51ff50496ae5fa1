"""Runs laid flat: edges of any pieces, in sewing order, as one line as they will lie when the joins are closed.

Each edge is carried into the run's flat frame by one rigid motion, never stretched; what lies beyond a fold is the
mirror image. A loop goes on from its last edge into its first by a motion of its own, for the laid edges of a cone or
of a neckline do not close in one plane.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..errors import RequestError, counted
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from .edge import Edge, Spot, joint_name, on_line, same_stretch
from .joins import FOLD, LAP, Join, Meeting, meeting, straight_direction
from .piece import Warn
from .sewing_order import Stretch, refuse_other_hand, refuse_unmet, turned_over
from .trueness import REACH, Trueness, firm_direction, parted, trued, trueness

_MIRROR = motion.scaled(-1.0, 1.0)
# Joins that turn by less, or lie less far from the smooth line, need no correction; common practice, no source.
_TRUE_ANGLE, _TRUE_DIP = math.radians(1.0), 0.1
# Named places closer than this along the run, mm, are one place.
_SAME = 1e-6


@dataclass(frozen=True, eq=False)
class Part:
    """One edge in its place in the run.

    Attributes:
        drawn: the edge as drawn.
        edge: the line that the run follows, on the sheet.
        motion: the rigid motion (2, 3) that lays it flat, from the sheet to the flat frame.
        mirrored: whether that motion turns the piece over.
        begin, end: its lengths along the run, mm.
        copy_of: the number of the part that is drawn for it, where it is the other half of a folded piece; else None.
        net: whether the line is a stitching line inside an outline that is drawn with its allowance on.
    """

    drawn: Edge
    edge: Edge
    motion: Array
    mirrored: bool
    begin: float
    end: float
    copy_of: int | None = None
    net: bool = False


@dataclass(frozen=True, eq=False)
class Joint:
    """Where one part goes on into the next.

    Attributes:
        kind: the join's kind.
        name: the mark at both ends, or the names of the two ends, with their pieces where these differ.
        s: its length along the run, mm; a loop's closing joint lies at its end.
        point: where it lies in the flat frame.
        along: unit direction of the seam there, into the cloth.
        square: its unit normal, in the walking direction.
        lap: how far the trim of either part goes on beyond it, mm.
        true: how smoothly the edges go on.
        trued: whether the smooth line was taken instead of the edges.
        meeting: the edges beside it, as they lie on the sheet; None at a fold where the run ends.
    """

    kind: str
    name: str
    s: float
    point: Array
    along: Array
    square: Array
    lap: float
    true: Trueness
    trued: bool
    meeting: Meeting | None


@dataclass(frozen=True, eq=False)
class LaidRun:
    """A run laid flat.

    Attributes:
        line: the whole run as one edge in the flat frame: its curve, its named places, its corners between the joints.
        parts: the edges in sewing order.
        joints: where they meet; of a loop as many as parts, the last one closing it.
        folds: the joints at the ends of an open run that starts or ends at a fold.
        warnings: what the maker should know.
    """

    line: Edge
    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    folds: tuple[Joint | None, Joint | None] = (None, None)
    warnings: tuple[Warn, ...] = ()

    @property
    def loop(self) -> bool:
        """Whether the run closes."""
        return self.line.loop

    @property
    def closing(self) -> Array:
        """The motion that carries a loop on into its next turn; nothing for an open run."""
        return motion.IDENTITY if self.line.closing is None else self.line.closing

    def turned(self, turns: int) -> Array:
        """The motion that carries the flat frame on by so many turns of a loop."""
        return motion.power(self.closing, turns)


def lay(
    stretches: Sequence[Stretch],
    joins: Sequence[Join],
    name: str,
    folds: tuple[bool, bool] = (False, False),
    true_up: bool = False,
) -> LaidRun:
    """Lays edges flat in sewing order.

    Args:
        stretches: the edges. One edge without a join lies flat as it is drawn.
        joins: what lies between them, one fewer than edges; as many make a loop.
        name: what the run is called in messages.
        folds: whether an open run starts, and ends, at a fold.
        true_up: whether smooth lines are taken instead of the edges beside each joint.

    Raises:
        RequestError: edges do not meet, or have their cloth on different hands; the text names both ends and a cure.
    """
    loop = len(joins) == len(stretches)
    if len(stretches) - len(joins) not in (0, 1):
        raise RequestError(
            f"{counted(len(stretches), 'edge')} and {counted(len(joins), 'join')} make no run: give a join between "
            "any two edges that follow each other, and one more to close a loop"
        )
    meetings, stretches = _meetings(stretches, joins)
    over = turned_over(stretches, joins)
    refuse_other_hand(stretches, over)
    motions = _motions(stretches, meetings, over)
    closing = stretches[0].edge.closing if not joins else None
    if loop:
        if over[-1]:
            raise RequestError("a loop needs an even number of folds: beyond the last one the edges are mirrored")
        closing = motion.compose(motions.pop(), motion.inverse(motions[0]))
    curves = [motion.apply(m, s.edge.curve) for m, s in zip(motions, stretches, strict=True)]
    joints = [
        _joint(join, found, motions[k], curves[k], _following(curves, k, closing), over[k], true_up)
        for k, (join, found) in enumerate(zip(joins, meetings, strict=True))
    ]
    ends = _fold_ends(stretches, motions, curves, folds, true_up)
    if true_up:
        curves, joints, ends = _trued_up(curves, joints, ends, closing)
        stretches = [_on_trued(s, m, curve) for s, m, curve in zip(stretches, motions, curves, strict=True)]
    return _assembled(name, stretches, motions, over, curves, joints, ends, closing)


def _meetings(stretches: Sequence[Stretch], joins: Sequence[Join]) -> tuple[list[Meeting], list[Stretch]]:
    """How each edge meets the next; laps shorten the edges beside them."""
    taken, found = list(stretches), []
    for k, join in enumerate(joins):
        following = (k + 1) % len(taken)
        refuse_unmet(stretches, joins, k)
        met = meeting(taken[k].edge, taken[following].edge, join)
        found.append(met)
        if join.kind == LAP:
            taken[k] = replace(taken[k], edge=met.first)
            if following == k:
                met = meeting(taken[k].edge, taken[following].edge, join)
                raise RequestError(
                    f'"{taken[k].edge.name}" laps over itself: name it as two edges, with a mark between'
                )
            taken[following] = replace(taken[following], edge=met.second)
    return found, taken


# ---------------------------------------------------------------- motions


def _motions(stretches: Sequence[Stretch], meetings: Sequence[Meeting], turned: Sequence[bool]) -> list[Array]:
    """The motion of each edge; for a loop one more, which lays its first edge down again behind the last."""
    out = [_MIRROR if turned[0] else motion.IDENTITY]
    for k, met in enumerate(meetings):
        following = (k + 1) % len(stretches)
        over = turned[0] if k + 1 == len(stretches) else turned[k + 1]
        first, second = stretches[k].edge, stretches[following].edge
        along = out[k][:, :2] @ met.leaving[0]
        out.append(_onto(second.curve[0, 0], met.leaving[1], motion.apply(out[k], first.curve[-1, 3]), along, over))
    return out


def _onto(point: Array, direction: Array, flat_point: Array, flat_direction: Array, over: bool) -> Array:
    """The rigid motion that carries a point and a unit direction onto others; turned over where asked."""
    source = direction * (-1.0, 1.0) if over else direction
    c, s = float(cubics.dot(source, flat_direction)), float(cubics.cross(source, flat_direction))
    size = float(np.hypot(c, s))
    turn = np.array([[c, -s], [s, c]]) / size
    linear = turn @ _MIRROR[:, :2] if over else turn
    return np.concatenate([linear, (flat_point - linear @ point)[:, None]], axis=1)


def _following(curves: list[Array], k: int, closing: Array | None) -> Array:
    """The flat curve that goes on from curve `k`."""
    if k + 1 < len(curves):
        return curves[k + 1]
    return motion.apply(motion.IDENTITY if closing is None else closing, curves[0])


# ---------------------------------------------------------------- joints


def _joint(join: Join, met: Meeting, laid: Array, before: Array, after: Array, over: bool, true_up: bool) -> Joint:
    after = after + (before[-1, 3] - after[0, 0])
    along = laid[:, :2] @ met.leaving[0]
    if met.square:
        # The cloth of an edge lies on the hand that is not its outside.
        hand = met.first.outside * (-1 if over else 1)
        along = cubics.left(along) * (-1.0 if hand > 0 else 1.0)
    name = joint_name(met.first, met.second)
    true = trueness(before, after, _reach(before, after, true_up))
    square = _square(along, before)
    return Joint(join.kind, name, 0.0, before[-1, 3], along, square, join.width, true, False, met)


def _reach(before: Array, after: Array, true_up: bool) -> float:
    """How far smooth lines reach; two at the ends of one short edge leave each other room."""
    return min(REACH, 0.5 * measure(before).length, 0.5 * measure(after).length) if true_up else REACH


def _square(along: Array, before: Array) -> Array:
    normal = cubics.left(along)
    _, walking = cubics.ends_direction(before)
    return np.asarray(normal if normal @ walking > 0.0 else -normal)


def _fold_ends(
    stretches: Sequence[Stretch],
    motions: Sequence[Array],
    curves: Sequence[Array],
    folds: tuple[bool, bool],
    true_up: bool,
) -> tuple[Joint | None, Joint | None]:
    """The joints at folds where an open run starts or ends, with its own mirror image beyond them."""
    first, last = stretches[0].edge, stretches[-1].edge
    out: list[Joint | None] = [None, None]
    for i, (edge, leaving) in enumerate(((first, first.before), (last, last.after))):
        if not folds[i]:
            continue
        laid, curve = motions[-i], curves[-i]
        if leaving is None:
            along = cubics.left(firm_direction(cubics.reverse(curve) if i else curve))
        else:
            along = laid[:, :2] @ straight_direction(leaving)[0]
        point = curve[-1, 3] if i else curve[0, 0]
        image = cubics.reverse(motion.apply(motion.mirrored(point, along), curve))
        before, after = (curve, image) if i else (image, curve)
        true = trueness(before, after, _reach(before, after, true_up))
        name = edge.end if i else edge.start
        out[i] = Joint(FOLD, name, 0.0, point, along, _square(along, before), 0.0, true, False, None)
    return out[0], out[1]


def _trued_up(
    curves: list[Array], joints: list[Joint], ends: tuple[Joint | None, Joint | None], closing: Array | None
) -> tuple[list[Array], list[Joint], tuple[Joint | None, Joint | None]]:
    """The curves with smooth lines where they are not true, and the joints where these cross the seams."""
    curves, out = list(curves), []
    for k, joint in enumerate(joints):
        if is_true(joint):
            out.append(joint)
            continue
        leaving, arriving = curves[k], _following(curves, k, closing)
        only = len(curves) == 1
        if only:
            # The line goes on into itself: its end and its beginning are smoothed apart.
            m = measure(curves[0])
            beginning, leaving = m.part(0.0, 0.5 * m.length), m.part(0.5 * m.length, m.length)
            arriving = motion.apply(motion.IDENTITY if closing is None else closing, beginning)
        first, second = trued(leaving, arriving, joint.point, joint.along, joint.true)
        out.append(replace(joint, point=first[-1, 3], trued=True))
        if k + 1 == len(curves) and closing is not None:
            second = motion.apply(motion.inverse(closing), second)
        curves[k] = np.concatenate([second, first]) if only else first
        if not only:
            curves[(k + 1) % len(curves)] = second
    folded = list(ends)
    for i, fold in enumerate(ends):
        if fold is not None and not is_true(fold):
            image = cubics.reverse(motion.apply(motion.mirrored(fold.point, fold.along), curves[-i]))
            before, after = (curves[-i], image) if i else (image, curves[-i])
            both = trued(before, after, fold.point, fold.along, fold.true)
            curves[-i] = both[0] if i else both[1]
            folded[i] = replace(fold, point=both[0][-1, 3], trued=True)
    return curves, out, (folded[0], folded[1])


def _on_trued(stretch: Stretch, laid: Array, curve: Array) -> Stretch:
    on_sheet = motion.apply(motion.inverse(laid), curve)
    edge = stretch.edge
    return replace(stretch, edge=on_line(edge, on_sheet, edge.before, edge.after, REACH))


# ---------------------------------------------------------------- all together


def true_lines(run: LaidRun) -> list[tuple[int, Array]]:
    """The smooth lines at joints that are not true: numbers of parts, and lines on the sheet.

    A join counts as true where its edges turn by less than a degree, or lie less than a tenth of a mm beside the line.
    """
    out: list[tuple[int, Array]] = []
    for k, joint in enumerate(run.joints):
        halves = _halves(joint)
        if halves is not None:
            following = (k + 1) % len(run.parts)
            back = run.closing if k + 1 == len(run.parts) else motion.IDENTITY
            after = motion.compose(back, run.parts[following].motion)
            out.append((k, motion.apply(motion.inverse(run.parts[k].motion), halves[0])))
            out.append((following, motion.apply(motion.inverse(after), halves[1])))
    for i, fold in enumerate(run.folds):
        halves = None if fold is None else _halves(fold)
        if halves is not None:
            part = len(run.parts) - 1 if i else 0
            out.append((part, motion.apply(motion.inverse(run.parts[part].motion), halves[0] if i else halves[1])))
    return out


def is_true(joint: Joint) -> bool:
    """Whether the edges beside a joint go on smoothly enough."""
    return abs(joint.true.angle) < _TRUE_ANGLE or joint.true.dip < _TRUE_DIP


def _halves(joint: Joint) -> tuple[Array, Array] | None:
    if is_true(joint):
        return None
    try:
        return parted(joint.true.line, joint.point, joint.along)
    except RequestError:
        # There is no smooth line to propose; the angle and the dip say enough.
        return None


def _assembled(
    name: str,
    stretches: Sequence[Stretch],
    motions: Sequence[Array],
    turned: Sequence[bool],
    curves: list[Array],
    joints: list[Joint],
    folds: tuple[Joint | None, Joint | None],
    closing: Array | None,
) -> LaidRun:
    for a, b in pairwise(curves):
        # Rounding parts them by some 1e-13 mm.
        b[0, 0] = a[-1, 3]
    ends = np.cumsum([0.0, *(measure(curve).length for curve in curves)])
    parts = []
    for k, stretch in enumerate(stretches):
        copy_of = next((i for i in range(k) if same_stretch(stretches[i].drawn, stretch.drawn)), None)
        begin, end = float(ends[k]), float(ends[k + 1])
        parts.append(Part(stretch.drawn, stretch.edge, motions[k], turned[k], begin, end, copy_of, stretch.net))
    placed = [replace(joint, s=part.end) for joint, part in zip(joints, parts, strict=False)]
    last = None if folds[1] is None else replace(folds[1], s=parts[-1].end)
    found = [joint.meeting.warnings for joint in joints if joint.meeting is not None]
    line = parts[0].edge if not joints and not turned[0] else _line(name, parts, curves, closing)
    return LaidRun(line, tuple(parts), tuple(placed), (folds[0], last), tuple(w for some in found for w in some))


def _line(name: str, parts: Sequence[Part], curves: Sequence[Array], closing: Array | None) -> Edge:
    """The whole run as one edge in the flat frame."""
    first, last = parts[0], parts[-1]
    outside = next((p.edge.outside * (-1 if p.mirrored else 1) for p in parts if p.edge.outside), 0)

    def laid(part: Part, curve: Array | None) -> Array | None:
        return None if curve is None else motion.apply(part.motion, curve)

    return Edge(
        name,
        first.edge.piece,
        np.concatenate(curves),
        closing is not None,
        first.edge.start,
        first.edge.start if closing is not None else last.edge.end,
        _corners(parts),
        _spots(parts, parts[-1].end if closing is not None else None),
        outside,
        None,
        None if closing is not None else laid(first, first.edge.before),
        None if closing is not None else laid(last, last.edge.after),
        closing,
    )


def _on_run(part: Part, spot: Spot) -> Spot:
    return replace(spot, s=part.begin + spot.s, turn=-spot.turn if part.mirrored else spot.turn)


def _corners(parts: Sequence[Part]) -> tuple[Spot, ...]:
    """Corners between the joints; their piece is named where another piece has one of the same name."""
    every = [(part, _on_run(part, spot)) for part in parts for spot in part.edge.corners]
    pieces: dict[str, set[str]] = {}
    for part, spot in every:
        pieces.setdefault(spot.name, set()).add(part.edge.piece.name)
    return tuple(
        replace(spot, name=f"{part.edge.piece.name}:{spot.name}") if len(pieces[spot.name]) > 1 else spot
        for part, spot in every
    )


def _spots(parts: Sequence[Part], around: float | None) -> tuple[Spot, ...]:
    """Named places of all parts, each also with its piece's name; one that means places of two pieces only so.

    A place of a folded piece is there once for each of its halves.
    """
    found: dict[str, list[tuple[Part, Spot]]] = {}
    for part in parts:
        for spot in part.edge.spots:
            place = _on_run(part, spot)
            place = replace(place, s=place.s % around) if around is not None else place
            for called in dict.fromkeys((spot.name, f"{part.edge.piece.name}:{spot.name}")):
                found.setdefault(called, []).append((part, replace(place, name=called)))
    out: list[Spot] = []
    for places in found.values():
        s = [spot.s for _, spot in places]
        if len({part.edge.piece.name for part, _ in places}) == 1 or max(s) - min(s) <= _SAME:
            kept: list[Spot] = []
            for _, spot in places:
                if all(abs(spot.s - other.s) > _SAME for other in kept):
                    kept.append(spot)
            out += kept
    return tuple(out)
