"""Facings: the pieces that are sewn face to face to the trimmed edge and turned to the inside.

A shaped facing is the strip between the trimmed line and a parallel of the run's own edge line inside the cloth, as it
lies in the run's flat frame, where darts are closed. It keeps the garment's seams unless they are faced in one piece.
Beside a kept seam it ends along the piece's own seam edge, at the same sewn length on both sides; on the far side of
the edge, where scallops pass over the seam, along the straight line that parts them. All lines are stitching lines.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.intersect import crossings
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from ..geometry.winding import winding
from ..pattern.joins import DART, LAP
from ..pattern.joins import FOLD as FOLD_JOIN
from ..pattern.laying import Joint, LaidRun
from ..pattern.piece import Warn
from ..trim.sharing import Share, Trimmed, whole
from .edge_line import edge_line, part_of, unbroken

# How a facing ends: at a seam that it keeps, on a fold, or free, along the edge of its piece.
SEAM, FOLD, FREE = "seam", "fold", "free"

# Places nearer than this, mm, are one: what halves of the trimmed line may part by.
_MEETS = 1e-6
# A gap is told of from here on, mm; a thread's width, common practice, no source.
_SEEN_GAP = 0.1
# Of the parallel, mm; a quarter of what is promised.
_ACCURACY = 0.005
# The inner edge is led to where it meets its neighbour over this length, mm, or so many times the way it is moved.
_LED, _LED_TIMES = 20.0, 10.0
# The flattest angle, as its sine, at which a seam may leave the edge for the reach of its facing to be foreseen.
_FLATTEST = 0.2
# Lines are looked at in places about so far apart, mm.
_STEP = 1.0


@dataclass(frozen=True, eq=False)
class Facing:
    """One piece of a facing, net, in the flat frame of its first part.

    Attributes:
        parts: numbers of the run's parts that it faces, in order.
        edge: the trimmed stitching line (n, 4, 2), walked in the run's direction.
        inner: its inner edge, walked in the run's direction.
        start, end: the lines at its two ends, walked from the trimmed line inwards; of a ring, which has none, empty.
        ends: SEAM, FOLD or FREE at its start and at its end; of a ring empty.
        depth: from the edge line to the inner edge, mm.
        source: the run's own edge line along it.
        begin, finish: from where to where along the run it goes, mm; round a loop perhaps on into the next turn.
        cloth: +1 where the cloth lies on the walker's left, -1 on his right.
    """

    parts: tuple[int, ...]
    edge: Array
    inner: Array
    start: Array
    end: Array
    ends: tuple[str, ...]
    depth: float
    source: Array
    begin: float
    finish: float
    cloth: int

    @property
    def ring(self) -> bool:
        """Whether it goes round without ends."""
        return not self.ends

    @property
    def outline(self) -> Array:
        """The closed outline of a facing with ends: edge, end, inner edge and start, in the run's direction."""
        if self.ring:
            raise ValueError("a ring has two outlines: take its rings")
        return np.concatenate([self.edge, self.end, cubics.reverse(self.inner), cubics.reverse(self.start)])

    @property
    def rings(self) -> tuple[Array, ...]:
        """The closed curves that bound it: one, or of a ring the edge and the inner edge, walked the other way."""
        return (self.edge, cubics.reverse(self.inner)) if self.ring else (self.outline,)

    @cached_property
    def area(self) -> float:
        """Its net area, mm²."""
        return abs(sum(cubics.area(ring) for ring in self.rings))


@dataclass(frozen=True, eq=False)
class _Group:
    """Parts that are faced in one piece.

    Numbers of parts and joints count on round a loop: part n is part 0 a turn later, joint -1 the last a turn before.

    Attributes:
        run: the run laid flat.
        first, last: the first and the last part; `first` lies on the loop's first turn.
    """

    run: LaidRun
    first: int
    last: int

    @property
    def parts(self) -> tuple[int, ...]:
        return tuple(k % len(self.run.parts) for k in range(self.first, self.last + 1))

    @property
    def inner_joints(self) -> range:
        """The joints between its parts."""
        return range(self.first, self.last)

    @property
    def begin(self) -> float:
        """Where it begins along the run, mm."""
        return self.run.parts[self.first].begin

    @property
    def end(self) -> float:
        """Where it ends along the run, mm; round a loop perhaps a turn further on."""
        turn, k = divmod(self.last, len(self.run.parts))
        return self.run.parts[k].end + turn * self.run.line.measured.length

    @property
    def originals(self) -> tuple[int, ...]:
        """The parts that are drawn for its own."""
        copies = ((k, self.run.parts[k].copy_of) for k in self.parts)
        return tuple(sorted(k if other is None else other for k, other in copies))


@dataclass(frozen=True, eq=False)
class _End:
    """What a facing ends along.

    Attributes:
        kind: SEAM, FOLD or FREE.
        name: what the place is called.
        joint: the number of the run's joint, of a SEAM.
        line: from the edge into the cloth, in the flat frame, drawn on straight far enough.
        along: its unit direction there.
        drawn: how much of it the piece has, mm; infinite where it is no edge of it.
        straight: whether it is one straight line, also outside the edge.
        piece: the piece's name, and `place` on the sheet.
        beyond: how far beyond the end of its parts it lies, mm along the run.
    """

    kind: str
    name: str
    joint: int | None
    line: Array
    along: Array
    drawn: float
    straight: bool
    piece: str
    place: Array
    beyond: float = 0.0


@dataclass(frozen=True, eq=False)
class _Draft:
    """A facing with ends before its neighbours have agreed where their inner edges meet.

    Attributes:
        group: its parts.
        source: the edge line (n, 4, 2).
        edge: the trimmed line along it.
        inner: the parallel between the lines that it ends along.
        ends: those lines.
        lengths: how far along each the inner edge meets it, mm.
        cloth: +1 where the cloth lies on the walker's left, -1 on his right.
    """

    group: _Group
    source: Array
    edge: Array
    inner: Array
    ends: tuple[_End, _End]
    lengths: tuple[float, float]
    cloth: int


def shaped_facings(
    run: LaidRun,
    line: Trimmed,
    shares: Sequence[Share],
    origin: float,
    depth: float,
    merged: Collection[int] = (),
    most_gap: float = 1.0,
    turn: float = 0.0,
) -> tuple[tuple[Facing, ...], tuple[Warn, ...]]:
    """The shaped facings of a run; parts that are copies beyond a fold have none of their own.

    Args:
        run: the run laid flat.
        line: its trimmed line.
        shares: what of that lies on each part.
        origin: where along the run the course of a loop begins, mm.
        depth: how deep they are, from the edge line into the cloth, mm.
        merged: numbers of the joints, seams and butts, over which the facing goes in one piece. Darts always are.
        most_gap: the widest gap or overlap, mm, at a seam that is faced in one piece; where it is wider the seam stays.
        turn: how much lower than the garment's the facing's scallops are, mm, so that the seam rolls to the inside once
            it is turned: the turn of cloth. Their valleys stay where they are.

    Returns:
        The facings in the run's order, and warnings with their places on the sheet: `facing-gap`, `facing-past-dart`
        and `facing-too-deep`.

    Raises:
        RequestError: no facing of that depth can be drawn.
    """
    if not (math.isfinite(depth) and depth > 0.0):
        raise RequestError(f"a facing {depth:g} mm deep can't be drawn: give a depth above 0")
    _refuse_turn(line, turn)
    kept, warnings = _kept(run, merged, depth, most_gap)
    if run.loop and not kept:
        facing, found = _ring(run, line, depth, most_gap, turn)
        return (facing,), (*warnings, *found)
    drafts = [_draft(group, line, shares, origin, depth, turn) for group in _groups(run, kept)]
    agreed = _agreed(drafts)
    facings = []
    for draft in _drawn_once(drafts):
        facing = _faced(draft, agreed, depth)
        facings.append(facing)
        warnings += _end_warnings(draft, depth)
        warnings += _depth_warnings(draft.group, draft.source, facing.inner, depth, most_gap)
    return tuple(facings), tuple(warnings)


def _refuse_turn(line: Trimmed, turn: float) -> None:
    least = float(line.placed.depth.min())
    if not 0.0 <= turn < least:
        raise RequestError(
            f"a turn of cloth of {turn:g} mm leaves nothing of scallops {least:.4g} mm deep: give less, or none"
        )


def seam_line(run: LaidRun, facing: Facing, k: int) -> Array:
    """The seam that a facing goes over at its k-th inner joint, counted from 0, as it lies in the facing's frame.

    From outside the edge straight to the joint, on along the seam edge of the piece before it, and straight again.
    """
    number = facing.parts[0] + k
    turn, own = divmod(number, len(run.parts))
    joint, on = run.joints[own], run.turned(turn)
    point, along = motion.apply(on, joint.point), on[:, :2] @ joint.along
    tangent = cubics.ends_direction(run.line.measured.part(0.0, joint.s))[1]
    into = facing.cloth * cubics.left(on[:, :2] @ tangent)
    along = along if along @ into > 0.0 else -along
    far = _far(facing.depth)
    before = cubics.lines([point - far * along, point])
    legs = _seam_edges(run, number)
    if legs is None:
        return np.concatenate([before, cubics.lines([point, point + far * along])])
    onward = cubics.ends_direction(legs[0])[1]
    return np.concatenate([before, legs[0], cubics.lines([legs[0][-1, 3], legs[0][-1, 3] + far * onward])])


# ---------------------------------------------------------------- which seams stay


def _kept(run: LaidRun, merged: Collection[int], depth: float, most_gap: float) -> tuple[set[int], list[Warn]]:
    """The joints at which the facing ends, and what is to be told of those that it is to go over."""
    wanted = {_twin(run, k) for k in merged}
    kept, warnings = set(), []
    for k, joint in enumerate(run.joints):
        if joint.kind == DART:
            continue
        if joint.kind in (FOLD_JOIN, LAP) and k in merged:
            raise RequestError(
                f'a facing can\'t go on over the {joint.kind} at "{joint.name}": only seams and butts are faced in one '
                "piece"
            )
        if _twin(run, k) not in wanted:
            kept.add(k)
            continue
        gap = _gap(run, k, depth)
        if abs(gap) > most_gap:
            kept.add(k)
        if abs(gap) > min(_SEEN_GAP, most_gap) and _twin(run, k) == k:
            warnings.append(_gap_warning(joint, gap, depth, abs(gap) > most_gap))
    if run.loop and run.joints and not kept and not _closes_flat(run):
        kept.add(len(run.joints) - 1)
        warnings.append(_closing_warning(run))
    return kept, warnings


def _twin(run: LaidRun, k: int) -> int:
    """The first joint that is the same place of the same pieces, beyond a fold."""
    return next(i for i in range(k + 1) if i == k or _mirrored_twins(run, i, k))


def _mirrored_twins(run: LaidRun, i: int, k: int) -> bool:
    n = len(run.parts)
    if run.joints[i].kind != run.joints[k].kind or run.parts[i].mirrored == run.parts[k].mirrored:
        return False
    a, b = run.joints[i].meeting, run.joints[k].meeting
    if a is None or b is None:
        return False
    crossed = (run.parts[i].edge.piece, run.parts[(i + 1) % n].edge.piece) == (b.second.piece, b.first.piece)
    ends = ((a.first.curve[-1, 3], b.second.curve[0, 0]), (a.second.curve[0, 0], b.first.curve[-1, 3]))
    return crossed and all(float(np.hypot(*(p - q))) < _MEETS for p, q in ends)


def _closes_flat(run: LaidRun) -> bool:
    """Whether all of a loop comes to lie where it lay, a turn later."""
    box = cubics.bounds(run.line.curve)
    corners = np.array([(x, y) for x in box[:, 0] for y in box[:, 1]])
    return bool(cubics.norm(motion.apply(run.closing, corners) - corners).max() <= _MEETS)


def _closing_warning(run: LaidRun) -> Warn:
    begin, end = run.line.curve[0, 0], run.line.curve[-1, 3]
    angle = math.degrees(abs(math.atan2(run.closing[1, 0], run.closing[0, 0])))
    text = f'once all its other joins are closed the ends at "{run.joints[-1].name}" lie '
    text += (
        f"{float(np.hypot(*(end - begin))):.2f} mm apart and {angle:.1f} degrees off each other: the facing keeps a "
    )
    return _at_joint("facing-gap", text + "seam there", run.joints[-1])


def _gap(run: LaidRun, k: int, depth: float) -> float:
    """The widest gap of the flat pieces beside a joint within the facing, mm; negative where they overlap."""
    legs = _seam_edges(run, k)
    if legs is None:
        return 0.0
    joint = run.joints[k]
    tangent = run.line.measured.tangents(np.array([joint.s]))[0]
    reach = depth / max(abs(float(cubics.cross(joint.along, tangent))), _FLATTEST)
    first, second = (measure(leg) for leg in legs)
    reach = min(reach, first.length, second.length)
    s = np.linspace(0.0, reach, max(2, math.ceil(reach / _STEP) + 1))
    apart = (second.points(s) - first.points(s)) @ joint.square
    return float(apart[np.argmax(np.abs(apart))])


def _seam_edges(run: LaidRun, k: int) -> tuple[Array, Array] | None:
    """The edges that leave a joint into the cloth, laid flat beside each other."""
    met = run.joints[k % len(run.parts)].meeting
    if met is None:
        return None
    legs = met.legs if met.legs is not None else (met.first.after, met.second.before)
    if legs[0] is None or legs[1] is None:
        return None
    return motion.apply(_laid(run, k), legs[0]), motion.apply(_laid(run, k + 1), legs[1])


def _laid(run: LaidRun, k: int) -> Array:
    """The motion that lays part `k` flat, its number counted on round a loop."""
    turn, part = divmod(k, len(run.parts))
    return motion.compose(run.turned(turn), run.parts[part].motion)


def _gap_warning(joint: Joint, gap: float, depth: float, stays: bool) -> Warn:
    what = "gape" if gap > 0.0 else "overlap"
    text = f'within a facing of {depth:g} mm the flat pieces {what} by up to {abs(gap):.2f} mm at "{joint.name}"'
    cure = ", too much to be faced in one piece: the facing keeps a seam there" if stays else ", which the facing evens"
    return _at_joint("facing-gap", text + cure, joint)


def _at_joint(code: str, text: str, joint: Joint) -> Warn:
    if joint.meeting is None:
        return Warn(code, text)
    x, y = joint.meeting.first.curve[-1, 3]
    return Warn(code, text, joint.meeting.first.piece.name, float(x), float(y))


def _groups(run: LaidRun, kept: set[int]) -> list[_Group]:
    """The parts between the kept joints; round a loop those that lie over its beginning come last."""
    n, at = len(run.parts), sorted(kept)
    if not run.loop:
        return [_Group(run, a + 1, b) for a, b in pairwise([-1, *at, n - 1])]
    groups = [_Group(run, a + 1, b) for a, b in pairwise([*at, at[0] + n])]
    # After the loop's last joint its first part comes on the first turn.
    return [_Group(run, 0, g.last - n) if g.first == n else g for g in groups]


def _drawn_once(drafts: Sequence[_Draft]) -> list[_Draft]:
    """The facings without those of copies and those that are another's mirror image, in the run's order."""
    own: dict[tuple[int, ...], _Draft] = {}
    for some in (False, True):
        for draft in drafts:
            copies = [draft.group.run.parts[k].copy_of is not None for k in draft.group.parts]
            if any(copies) == some and not all(copies) and (not some or draft.group.originals not in own):
                own[draft.group.originals] = draft
    return sorted(own.values(), key=lambda draft: draft.group.first)


# ---------------------------------------------------------------- one facing with ends


def _draft(group: _Group, line: Trimmed, shares: Sequence[Share], origin: float, depth: float, turn: float) -> _Draft:
    run = group.run
    cloth = _cloth(run, line)
    ends = _end(group, cloth, depth, at_end=False), _end(group, cloth, depth, at_end=True)
    begin, end = group.begin - ends[0].beyond, group.end + ends[1].beyond
    source = part_of(run.line.measured, begin, end)
    edge = edge_line(line, _share(line, group, shares), begin - origin, end - origin, turn)
    _refuse_shallow(edge, source, -cloth, depth)
    inner = _parallel(source, cloth * depth, group)
    at, lengths = _met(inner, ends, group, depth)
    return _Draft(group, source, edge, unbroken(cubics.stretch(inner, *at)), ends, lengths, cloth)


def _cloth(run: LaidRun, line: Trimmed) -> int:
    """+1 where the cloth lies on the walker's left, -1 on his right."""
    return -(run.line.outside or line.course.side)


def _share(line: Trimmed, group: _Group, shares: Sequence[Share]) -> Share:
    """What of the trimmed line lies on all parts of a facing."""
    turn, k = divmod(group.last, len(group.run.parts))
    end = shares[k].end
    return Share(group.first, shares[group.first].begin, replace(end, element=end.element + turn * line.elements))


def _refuse_shallow(edge: Array, source: Array, outside: int, depth: float) -> None:
    """Refuses a facing that is no deeper than the trimmed line reaches into the cloth."""
    points = cubics.flatten(edge, 0.05)
    foot = nearest(source, points)
    out = outside * cubics.left(cubics.direction(source, foot.segment, foot.t))
    least = max(0.0, float(-cubics.dot(points - foot.point, out).min()))
    if depth <= least + _SEEN_GAP:
        raise RequestError(
            f"the trimmed line reaches {least:.1f} mm into the cloth, so a facing {depth:g} mm deep leaves nothing "
            "there: make it deeper"
        )


def _parallel(source: Array, distance: float, group: _Group) -> Array:
    """The parallel of an edge line, with what goes on beyond either end as far as it may be needed there."""
    closed = float(np.hypot(*(source[-1, 3] - source[0, 0]))) <= _MEETS
    found = offset(source, distance, closed=closed, accuracy=_ACCURACY)
    if not found:
        raise _no_facing(group.run, abs(distance), "its inner edge vanishes")
    at_ends = source[[0, -1], [0, 3]] + distance * cubics.left(np.stack(cubics.ends_direction(source)))
    return _opened(found[0], at_ends[0]) if closed else _drawn_on(found[0], at_ends, source, _far(abs(distance)))


def _opened(inner: Array, place: Array) -> Array:
    """A closed parallel opened near a place, and going round a quarter further at either end."""
    m = measure(inner, motion.IDENTITY)
    foot = nearest(inner, place[None])
    s = float(m.lengths(foot.segment, foot.t)[0])
    return part_of(m, s - 0.25 * m.length, s + 1.25 * m.length)


def _drawn_on(inner: Array, at_ends: Array, source: Array, far: float) -> Array:
    """A parallel that goes on straight beyond its ends, where these are the normals at the ends of its line."""
    first, last = cubics.ends_direction(source)
    before, after = np.zeros((0, 4, 2)), np.zeros((0, 4, 2))
    if float(np.hypot(*(inner[0, 0] - at_ends[0]))) < 2.0 * _ACCURACY:
        before = cubics.lines([inner[0, 0] - far * first, inner[0, 0]])
    if float(np.hypot(*(inner[-1, 3] - at_ends[1]))) < 2.0 * _ACCURACY:
        after = cubics.lines([inner[-1, 3], inner[-1, 3] + far * last])
    return np.concatenate([before, inner, after])


def _far(depth: float) -> float:
    """How far lines are drawn on to be sure to meet."""
    return 5.0 * depth + 10.0


def _no_facing(run: LaidRun, depth: float, why: str) -> RequestError:
    return RequestError(f'no facing {depth:g} mm deep can be drawn along "{run.line.name}": {why}; take less depth')


Position = tuple[int, float]


def _met(
    inner: Array, ends: tuple[_End, _End], group: _Group, depth: float
) -> tuple[tuple[Position, Position], tuple[float, float]]:
    """Where the parallel meets the lines at both ends: places on it, and lengths along the lines."""
    m = measure(inner)
    places, lengths, along = [], [], []
    for i, end in enumerate(ends):
        found = crossings(inner, end.line)
        s = m.lengths(found.segment_a, found.t_a)
        # A line may go on to meet the parallel at its other end, too.
        near = np.flatnonzero(s >= 0.5 * m.length if i else s <= 0.5 * m.length)
        if not len(near):
            raise _no_facing(group.run, depth, f'its inner edge does not meet the line that leaves "{end.name}"')
        reach = measure(end.line).lengths(found.segment_b, found.t_b)
        k = int(near[np.argmin(reach[near])])
        places.append((int(found.segment_a[k]), float(found.t_a[k])))
        lengths.append(float(reach[k]))
        along.append(float(s[k]))
    if along[1] - along[0] < _MEETS:
        raise _no_facing(group.run, depth, f'the lines that leave "{ends[0].name}" and "{ends[1].name}" cross before')
    return (places[0], places[1]), (lengths[0], lengths[1])


# ---------------------------------------------------------------- ends


def _end(group: _Group, cloth: int, depth: float, at_end: bool) -> _End:
    """What a facing ends along at one end of its parts; `cloth` is +1 where that lies on the walker's left."""
    run = group.run
    part = group.last if at_end else group.first
    edge = run.parts[part % len(run.parts)].edge
    name, place = (edge.end, edge.curve[-1, 3]) if at_end else (edge.start, edge.curve[0, 0])
    drawn = edge.after if at_end else edge.before
    leg = None if drawn is None else motion.apply(_laid(run, part), drawn)
    end = _End(FREE, name, None, np.zeros((0, 4, 2)), np.zeros(2), math.inf, False, edge.piece.name, place)
    tangent = run.line.measured.tangents(np.array([group.end if at_end else group.begin]))[0]
    into = cloth * cubics.left(tangent)
    if not run.loop and (part == len(run.parts) - 1 if at_end else part == 0):
        fold = run.folds[1 if at_end else 0]
        if fold is not None:
            return _straight_end(replace(end, kind=FOLD), fold.point, fold.along, into, leg, depth)
        point = run.line.curve[-1, 3] if at_end else run.line.curve[0, 0]
        return _drawn_end(end, leg, depth) if leg is not None else _straight_end(end, point, into, into, None, depth)
    return _joint_end(end, group, leg, into, depth, at_end)


def _joint_end(end: _End, group: _Group, leg: Array | None, into: Array, depth: float, at_end: bool) -> _End:
    run = group.run
    turn, k = divmod(group.last if at_end else group.first - 1, len(run.parts))
    joint, on = run.joints[k], run.turned(turn)
    point, along = motion.apply(on, joint.point), on[:, :2] @ joint.along
    if joint.kind == FOLD_JOIN:
        return _straight_end(replace(end, kind=FOLD), point, along, into, leg, depth)
    if joint.kind == LAP:
        beyond = joint.lap if at_end else -joint.lap
        end, point = replace(end, beyond=joint.lap), point + beyond * (on[:, :2] @ joint.square)
    else:
        end = replace(end, kind=SEAM, name=joint.name, joint=_twin(run, k))
    return _drawn_end(end, leg, depth) if leg is not None else _straight_end(end, point, along, into, None, depth)


def _straight_end(end: _End, point: Array, along: Array, into: Array, leg: Array | None, depth: float) -> _End:
    """The end along the straight line through a place; the line of an open one's joint has no sure way into cloth."""
    along = along if along @ into > 0.0 else -along
    line = cubics.lines([point, point + _far(depth) * along])
    return replace(end, line=line, along=along, drawn=math.inf if leg is None else measure(leg).length, straight=True)


def _drawn_end(end: _End, leg: Array, depth: float) -> _End:
    """The end along an edge of the piece, which is drawn on straight where it is short."""
    first, last = cubics.ends_direction(leg)
    line = np.concatenate([leg, cubics.lines([leg[-1, 3], leg[-1, 3] + _far(depth) * last])])
    return replace(end, line=line, along=first, drawn=measure(leg).length)


def _agreed(drafts: Sequence[_Draft]) -> dict[int, float]:
    """How far from the edge, mm along the seam, the inner edges on both sides of each kept seam meet it: the mean."""
    found: dict[int, list[float]] = {}
    for draft in drafts:
        for end, length in zip(draft.ends, draft.lengths, strict=True):
            if end.joint is not None:
                found.setdefault(end.joint, []).append(length)
    return {joint: sum(lengths) / len(lengths) for joint, lengths in found.items()}


def _faced(draft: _Draft, agreed: dict[int, float], depth: float) -> Facing:
    first, last = (
        own if end.joint is None else agreed[end.joint] for end, own in zip(draft.ends, draft.lengths, strict=True)
    )
    start = _end_line(draft.ends[0], draft.edge[0, 0], first, depth)
    end = _end_line(draft.ends[1], draft.edge[-1, 3], last, depth)
    inner = _led(draft.inner, end[-1, 3])
    inner = cubics.reverse(_led(cubics.reverse(inner), start[-1, 3]))
    kinds = (draft.ends[0].kind, draft.ends[1].kind)
    begin, finish = draft.group.begin - draft.ends[0].beyond, draft.group.end + draft.ends[1].beyond
    return Facing(
        draft.group.parts,
        draft.edge,
        inner,
        start,
        end,
        kinds,
        depth,
        draft.source,
        begin,
        finish,
        draft.cloth,
    )


def _end_line(end: _End, top: Array, length: float, depth: float) -> Array:
    """The line from the end of the trimmed line, outside the edge straight on, to a length along what it ends along."""
    m = measure(end.line)
    bottom = m.points(np.array([length]))[0]
    if end.straight:
        return cubics.lines([top, bottom])
    since = 0.0
    if (top - end.line[0, 0]) @ end.along > _MEETS:
        foot = nearest(end.line, top[None])
        since = float(m.lengths(foot.segment, foot.t)[0])
    if since > length - _MEETS:
        raise RequestError(
            f'at "{end.name}" the trimmed line reaches {since:.1f} mm into the cloth, past the inner edge of a facing '
            f"{depth:g} mm deep: make it deeper"
        )
    line = part_of(m, since, length)
    if float(np.hypot(*(line[0, 0] - top))) > _MEETS:
        line = np.concatenate([cubics.lines([top, line[0, 0]]), line])
    line[0, 0], line[-1, 3] = top, bottom
    return line


def _led(inner: Array, place: Array) -> Array:
    """An inner edge whose end is led to a place by what lies near it; its direction there stays."""
    way = place - inner[-1, 3]
    size = float(np.hypot(*way))
    out = inner.copy()
    if size > _MEETS:
        m = measure(inner)
        reach = min(max(_LED, _LED_TIMES * size), 0.5 * m.length)
        kept = part_of(m, 0.0, m.length - reach)
        led = _eased(part_of(m, m.length - reach, m.length), way)
        led[0, 0] = kept[-1, 3]
        out = np.concatenate([kept, led])
    out[0, 0], out[-1, 3] = inner[0, 0], place
    return out


def _eased(curve: Array, way: Array) -> Array:
    """A curve whose end is moved and whose beginning is not: by 3 u² - 2 u³ of the way, u the share of its length."""
    m = measure(curve)
    number = np.arange(len(curve))
    out = curve.copy()
    for node, handle, t in ((0, 1, 0.0), (3, 2, 1.0)):
        u = m.lengths(number, np.full(len(number), t)) / m.length
        # Handles turn with the slope of that, so smooth nodes stay smooth.
        onward = (1.0 - 2.0 * t) * cubics.norm(curve[:, handle] - curve[:, node]) / m.length
        share = u * u * (3.0 - 2.0 * u)
        out[:, node] += share[:, None] * way
        out[:, handle] += (share + 6.0 * u * (1.0 - u) * onward)[:, None] * way
    return unbroken(out)


# ---------------------------------------------------------------- rings


def _ring(run: LaidRun, line: Trimmed, depth: float, most_gap: float, turn: float) -> tuple[Facing, list[Warn]]:
    """The facing of a loop that closes flat, in one piece without ends."""
    first = float(line.placed.row.s_start[0])
    edge = edge_line(line, whole(line), first, first + line.course.measured.length, turn)
    edge[-1, 3] = edge[0, 0]
    source = run.line.curve
    _refuse_shallow(edge, source, -_cloth(run, line), depth)
    group = _Group(run, 0, len(run.parts) - 1)
    found = offset(source, _cloth(run, line) * depth, closed=True, accuracy=_ACCURACY)
    if not found:
        raise _no_facing(run, depth, "its inner edge vanishes")
    warnings = _depth_warnings(group, source, found[0], depth, most_gap)
    if len(found) > 1:
        text = f"a facing {depth:g} mm deep closes up where the piece is narrow: only the largest of {len(found)} "
        text += "openings inside it is left open"
        warnings.append(Warn("facing-too-deep", text, run.parts[0].edge.piece.name))
    nothing = np.zeros((0, 4, 2))
    inner, length = unbroken(found[0]), run.line.measured.length
    return Facing(
        group.parts, edge, inner, nothing, nothing, (), depth, source, 0.0, length, _cloth(run, line)
    ), warnings


# ---------------------------------------------------------------- too deep


def _end_warnings(draft: _Draft, depth: float) -> Iterator[Warn]:
    """A warning for each end along an edge that is shorter than the facing is deep."""
    for end, length in zip(draft.ends, draft.lengths, strict=True):
        if length > end.drawn + _SEEN_GAP:
            text = f'a facing {depth:g} mm deep goes {length:.1f} mm along the edge that leaves "{end.name}", which is '
            text += (
                f"only {end.drawn:.1f} mm long up to its next corner: it is drawn on straight there; take less depth"
            )
            yield Warn("facing-too-deep", text, end.piece, float(end.place[0]), float(end.place[1]))


def _depth_warnings(group: _Group, source: Array, inner: Array, depth: float, most_gap: float) -> list[Warn]:
    out = list(_past_darts(group, source, depth))
    found = _outside_cloth(group, inner)
    # What lies in the gap of a seam that is faced in one piece is no fault.
    if found is not None and found[0] > max(_SEEN_GAP, most_gap if len(group.parts) > 1 else 0.0):
        away, part, place = found
        text = f"the inner edge of a facing {depth:g} mm deep lies up to {away:.1f} mm outside the cloth: take less "
        text += "depth, or face the opposite edge with it"
        out.append(Warn("facing-too-deep", text, part, float(place[0]), float(place[1])))
    return out


def _past_darts(group: _Group, source: Array, depth: float) -> Iterator[Warn]:
    """A warning for each dart that ends within the facing."""
    run = group.run
    around = bool(run.joints) and run.loop and len(group.parts) == len(run.parts)
    for k in [*group.inner_joints, *([group.last] if around else [])]:
        joint = run.joints[k % len(run.joints)]
        if joint.kind != DART or joint.meeting is None or joint.meeting.apex is None:
            continue
        apex = motion.apply(_laid(run, k), joint.meeting.apex)
        long = float(nearest(source, apex[None]).distance[0])
        if depth > long + _SEEN_GAP:
            text = (
                f'a facing {depth:g} mm deep goes past the dart at "{joint.name}", which ends {long:.1f} mm from the '
            )
            text += "edge: beyond its apex the cloth is fuller than the facing; take less depth"
            yield _at_joint("facing-past-dart", text, joint)


def _outside_cloth(group: _Group, inner: Array) -> tuple[float, str, Array] | None:
    """How far an inner edge leaves the laid pieces, mm, the piece it leaves, and the place on the sheet."""
    run = group.run
    numbers = range(group.first, group.last + 1)
    pieces = [run.parts[k % len(run.parts)].edge.piece for k in numbers]
    if not all(piece.closed for piece in pieces):
        return None
    m = measure(inner)
    points = m.points(np.linspace(0.0, m.length, math.ceil(m.length / _STEP) + 1))
    cloths = [piece.curve if piece.around is None else piece.around for piece in pieces]
    outlines = [motion.apply(_laid(run, k), curve) for k, curve in zip(numbers, cloths, strict=True)]
    for outline in outlines:
        points = points[winding(outline, points) == 0]
    if not len(points):
        return None
    away = np.stack([nearest(outline, points).distance for outline in outlines])
    worst = int(np.argmax(away.min(axis=0)))
    k = int(np.argmin(away[:, worst]))
    place = motion.apply(motion.inverse(_laid(run, group.first + k)), points[worst])
    return float(away[k, worst]), pieces[k].name, place
