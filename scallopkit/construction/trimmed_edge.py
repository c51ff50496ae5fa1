"""The cutting line beyond a trimmed edge: a scalloped one at a distance, or a straight one beyond the crests.

Both are drawn where the run lies flat, with the darts closed, so that what lies on either side of a dart or a seam
goes on smoothly. Beyond a seam or a fold the line goes on as its own mirror image there: the allowance of a seam that
is pressed open lies folded back under its own piece, and is cut with it. Where a seam leans so far out that its
allowance would reach over the scallops beside it, the allowance is cut straight on instead, square to the seam.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.arcs import circle_arcs
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from ..pattern.joins import DART
from ..pattern.laying import LaidRun
from ..pattern.trueness import firm_direction
from ..trim.scallops import Scallops
from ..trim.sharing import Share, Trimmed, share_curves
from .cap import TOWARD_START, dart_cap
from .chain import between, on_line, points_at
from .edge_line import lowered

# How the cloth is cut beyond the stitching line of a trimmed edge.
STRAIGHT, SCALLOPED, ON_LINE = "straight", "scalloped", "on-line"

# Ends nearer than this, mm, are one place.
_MEETS = 1e-6
# Cutting lines are within 0.02 mm of the true parallel; this leaves room for what is done with them afterwards.
_ACCURACY = 0.005
# How far an arc may be drawn on to meet its neighbour's, radians.
_DRAWN_ON = 0.8
# Shears hardly turn in a slit narrower than this, mm, and deeper than that; common practice, no source.
_SLIT, _DEEP = 5.0, 5.0
# So far beyond a seam, mm, its allowance may lie: an inch, the widest that is usual; common practice, no source.
_WIDEST = 25.4
# A seam leans where its cosine with the edge is more.
_SQUARE = 0.02
# Lines are looked at in places so far apart, mm, and from here on where they run together.
_LOOKED, _NEAR = 0.1, 1e-3
# A direction that turns less from one place to the next, radians, is rounding.
_SEEN = 1e-9


@dataclass(frozen=True)
class Cut:
    """How a trimmed edge is cut.

    Attributes:
        kind: SCALLOPED, at the distance from the stitching line; STRAIGHT, so far beyond the crests; or ON_LINE.
        distance: mm.
    """

    kind: str
    distance: float = 0.0

    @property
    def beyond_crests(self) -> bool:
        """Whether the distance is measured from the crests."""
        return self.kind == STRAIGHT


@dataclass(frozen=True, eq=False)
class DartLeg:
    """Where a leg of a dart comes to the stitching line, and drawn on straight to the cutting line, on the sheet.

    Attributes:
        dart: the name of the dart's joint.
        sewn: its place (2,) on the stitching line.
        foot: its place (2,) on the cutting line.
    """

    dart: str
    sewn: Array
    foot: Array


@dataclass(frozen=True, eq=False)
class EdgeCut:
    """The trimmed edge of one piece, from one end or seam to the next, closed darts opened again with their caps.

    Attributes:
        parts: numbers of the run's parts it covers.
        flat: its stitching line (n, 4, 2) where the first of these lies flat, walked in the run's direction.
        stitching: that line on the sheet.
        cutting: its cutting line, walked likewise; it runs on past seams and folds.
        legs: of its darts, two each.
    """

    parts: tuple[int, ...]
    flat: Array
    stitching: Array
    cutting: Array
    legs: tuple[DartLeg, ...] = ()


@dataclass(frozen=True, eq=False)
class Bow:
    """A stretch of a stitching line, and of a circular arc the centre and radius.

    `along` is the direction from its beginning to its end, of a scallop that of its whole base line.
    """

    curve: Array
    along: Array
    centre: Array | None = None
    radius: float = 0.0


def groups_of(run: LaidRun) -> list[tuple[int, ...]]:
    """The parts that lie on one piece with nothing but darts between them, in the run's order; copies left out."""
    parts = [k for k, part in enumerate(run.parts) if part.copy_of is None]
    out: list[list[int]] = []
    for k in parts:
        joined = out and out[-1][-1] == k - 1 and run.joints[k - 1].kind == DART
        if joined:
            out[-1].append(k)
        else:
            out.append([k])
    if run.loop and len(out) > 1 and run.joints and run.joints[-1].kind == DART and out[-1][-1] + 1 == len(run.parts):
        out[0] = out.pop() + out[0]
    return [tuple(group) for group in out]


def drawn_along(run: LaidRun, group: Sequence[int]) -> Array:
    """The drawn edge of a group from end to end, straight across its darts, as it lies on the sheet."""
    first, last = run.parts[group[0]].drawn.curve, run.parts[group[-1]].drawn.curve
    if group[0] == group[-1]:
        return first
    return np.concatenate([first, cubics.lines([first[-1, 3], last[0, 0]]), last])


def edge_cuts(
    run: LaidRun,
    line: Trimmed,
    shares: Sequence[Share],
    origin: float,
    cut: Cut,
    reach: float,
    pressed: Mapping[int, int],
    beside: tuple[bool, bool] = (False, False),
    known: Mapping[tuple[int, ...], Array] = MappingProxyType({}),
) -> list[EdgeCut]:
    """The cutting lines of a trimmed run, piece by piece.

    Args:
        run: the run laid flat.
        line: its trimmed line.
        shares: what of it lies on each part.
        origin: where along the run the course of a loop begins, mm.
        cut: how it is cut.
        reach: how far the lines run on beyond seams and folds, mm.
        pressed: for the number of each dart's joint the side to which it is pressed, as `dart_cap` takes it.
        beside: whether another trimmed edge begins where an open run starts, and where it ends: no allowance of a
            seam or a hem is turned back there, so the line ends square to its own end.
        known: cutting lines as `flat_cut` has made them already, by their parts.

    Raises:
        RequestError: a line can't be drawn; the text says where.
    """
    if run.loop and not run.joints:
        sewn = np.concatenate([bow.curve for bow in stitching(line, shares[0], run, origin)])
        return [EdgeCut((0,), sewn, sewn, flat_cut(run, line, shares, origin, cut, reach))]
    stitched = [stitching(line, share, run, origin) for share in shares]
    out = []
    for group in groups_of(run):
        sewn = np.concatenate([bow.curve for bow in _chain(run, stitched, group)])
        cutting = known.get(group)
        if cutting is None:
            cutting = flat_cut(run, line, shares, origin, cut, reach, group, beside, stitched)
        out.append(_edge_cut(run, group, sewn, cutting, pressed))
    return out


def _edge_cut(run: LaidRun, group: tuple[int, ...], sewn: Array, cutting: Array, pressed: Mapping[int, int]) -> EdgeCut:
    """Both lines of a group with its darts opened again."""
    lines = _opened(run, group, sewn, pressed), _opened(run, group, cutting, pressed)
    return EdgeCut(group, sewn, *lines, _legs(run, group, sewn, cutting))


def _legs(run: LaidRun, group: tuple[int, ...], sewn: Array, cutting: Array) -> tuple[DartLeg, ...]:
    out: list[DartLeg] = []
    parts = zip(opened_parts(run, group, sewn), opened_parts(run, group, cutting), strict=True)
    for k, (before, after) in zip(group[:-1], pairwise(parts), strict=True):
        name = run.joints[k].name
        out += [DartLeg(name, *(part[-1, 3] for part in before)), DartLeg(name, *(part[0, 0] for part in after))]
    return tuple(out)


def flat_cut(
    run: LaidRun,
    line: Trimmed,
    shares: Sequence[Share],
    origin: float,
    cut: Cut,
    reach: float,
    parts: tuple[int, ...] = (),
    beside: tuple[bool, bool] = (False, False),
    stitched: Sequence[Sequence[Bow]] = (),
) -> Array:
    """The cutting line beyond some parts that follow each other, where the first of them lies flat.

    Args:
        run: the run laid flat.
        line: its trimmed line.
        shares: what of it lies on each part.
        origin: where along the run the course of a loop begins, mm.
        cut: how it is cut.
        reach: how far the line runs on beyond seams and folds, mm.
        parts: numbers of the parts; none for a ring, the whole of a loop that closes in one plane.
        beside: whether another trimmed edge begins where an open run starts, and where it ends.
        stitched: the stitching lines of all parts, where they are known already.

    Raises:
        RequestError: the line can't be drawn; the text says where.
    """
    stitched = stitched or [stitching(line, share, run, origin) for share in shares]
    outside, side = outside_of(run, line), line.course.side
    if cut.kind == STRAIGHT:
        m, height = line.course.measured, greatest_height(line, outside) + cut.distance
        followed: Sequence[Sequence[Bow]] = [[_plain(m.part(p.begin - origin, p.end - origin))] for p in run.parts]
    else:
        height, followed = (cut.distance if cut.kind == SCALLOPED else 0.0), stitched
    if not parts:
        return _cut_along([bow for bows in followed for bow in bows], height, outside, side, closed=True)
    base = _chain(run, followed, parts)
    tips = stitched[0][0].curve[0, 0], stitched[-1][-1].curve[-1, 3]
    starts, ends = _end_lines(run, parts, tips)
    starts = None if beside[0] and parts[0] == 0 and not run.loop else starts
    ends = None if beside[1] and parts[-1] + 1 == len(run.parts) and not run.loop else ends
    before = _beside(run, followed, parts, base, starts, reach, at_end=False)
    after = _beside(run, followed, parts, base, ends, reach, at_end=True)
    cutting = _cut_beyond(before, base, after, height, outside, side)
    notch = height if cut.kind == SCALLOPED else 0.0
    begun = cubics.reverse(_turned_back(cubics.reverse(cutting), starts, -base[0].along, -outside, reach, notch))
    return _turned_back(begun, ends, base[-1].along, outside, reach, notch)


def seam_cut(run: LaidRun, allowance: float, reach: float, pressed: Mapping[int, int]) -> EdgeCut:
    """The cutting line beyond an untrimmed edge of one piece with darts in it, at an allowance.

    Args:
        run: the edge's parts, with a dart between any two.
        allowance: mm.
        reach: how far the line runs on straight beyond both ends, mm.
        pressed: as for `edge_cuts`.

    Raises:
        RequestError: the line can't be drawn; the text says where.
    """
    group = tuple(range(len(run.parts)))
    return parallel_cut(run, group, run.line.curve, allowance, run.line.outside, reach, pressed)


def parallel_cut(
    run: LaidRun,
    group: tuple[int, ...],
    sewn: Array,
    allowance: float,
    outside: int,
    reach: float,
    pressed: Mapping[int, int],
) -> EdgeCut:
    """The cutting line at an allowance beyond any line along some parts of one piece with darts between them.

    Args:
        run: the run laid flat.
        group: numbers of the parts.
        sewn: the line, where the first of them lies flat.
        allowance: mm.
        outside: +1 where the outside of the cloth lies on the walker's left, -1 on his right.
        reach: how far the cutting line runs on straight beyond both ends, mm; no closed line does.
        pressed: as for `edge_cuts`.

    Raises:
        RequestError: the line can't be drawn; the text says where.
    """
    closed = float(np.hypot(*(sewn[-1, 3] - sewn[0, 0]))) <= _MEETS
    cutting = _cut_along([_plain(sewn)], allowance, outside, outside, closed)
    cutting = cutting if closed else _drawn_on(cutting, reach)
    return _edge_cut(run, group, sewn, cutting, pressed)


def _drawn_on(curve: Array, reach: float) -> Array:
    first, last = cubics.ends_direction(curve)
    before = cubics.lines([curve[0, 0] - reach * first, curve[0, 0]])
    return np.concatenate([before, curve, cubics.lines([curve[-1, 3], curve[-1, 3] + reach * last])])


def _chain(run: LaidRun, bows: Sequence[Sequence[Bow]], group: Sequence[int]) -> list[Bow]:
    """The lines of a group's parts as one, where its first part lies flat; a loop's first part lies a turn later."""
    return [_carried(bow, run.turned(int(k < group[0]))) for k in group for bow in bows[k]]


def _beside(
    run: LaidRun,
    bows: Sequence[Sequence[Bow]],
    group: Sequence[int],
    own: Sequence[Bow],
    line: StraightLine | None,
    reach: float,
    at_end: bool,
) -> list[Bow]:
    """What goes on beyond an end of a group, as far as the reach: the next part, or beyond a fold its own image."""
    if line is None:
        return []
    last = len(run.parts) - 1
    k = group[-1] if at_end else group[0] - 1
    if (run.loop or 0 <= k < last) and run.joints[k].lap == 0.0:
        following = (k + 1) % len(run.parts) if at_end else k % len(run.parts)
        turns = int(group[-1] < group[0]) + int(following < group[-1]) if at_end else -int(following > group[0])
        return _nearest([_carried(bow, run.turned(turns)) for bow in bows[following]], reach, first=at_end)
    return _mirrored(_nearest(own, reach, first=not at_end), motion.mirrored(line.point, line.along))


def _turned_back(
    curve: Array, line: StraightLine | None, onward: Array, outside: int, reach: float, notch: float
) -> Array:
    """A cutting line that goes on beyond a seam or a fold at its end as its own mirror image there.

    Where the image would run over the edge that it belongs to, or leave but a slit beside it, the line goes on
    straight instead, square to the seam. Of a line that comes to the seam just past a valley the image has that
    valley once more: one that lies nearer to the first than `notch` mm is left out.

    Args:
        curve: the line, walked on over the seam.
        line: the seam's line; None where there is none.
        onward: unit direction (2,) of the edge towards the seam.
        outside: +1 where the outside of the cloth lies on the walker's left, -1 on his right.
        reach: how far the line goes on, mm.
        notch: mm; 0 leaves no valley out.
    """
    if line is None or not len(on_line(curve, line.point, cubics.left(line.along))):
        return curve
    own, _ = _parted(curve, line, "the end of the run")
    m = measure(own)
    tail = _tail(m.part(max(m.length - reach, 0.0), m.length), line, onward, outside)
    if _in_its_way(tail):
        return np.concatenate([own, cubics.lines([own[-1, 3], own[-1, 3] - reach * tail.inward])])
    image = cubics.reverse(motion.apply(motion.mirrored(line.point, line.along), _past_notch(tail, notch)))
    return np.concatenate([own, image])


@dataclass(frozen=True, eq=False)
class _Tail:
    """The end of a cutting line at a seam's line, and places on it, walked back from there.

    Attributes:
        curve: the end of the line (n, 4, 2), walked up to the seam's line.
        inward: unit direction (2,) square to the seam's line, to the side of the edge.
        s: how far back the places (k,) are along the line, mm.
        off: how far they lie off the seam's line, mm, on the edge's side positive.
        beyond: how far out of the cloth they lie from the end, as seen along the seam, mm.
        leans: whether the seam leans out, so that edge and seam make more than a right angle.
    """

    curve: Array
    inward: Array
    s: Array
    off: Array
    beyond: Array
    leans: bool


def _tail(curve: Array, line: StraightLine, onward: Array, outside: int) -> _Tail:
    m, square = measure(curve), cubics.left(line.along)
    inward = -square if onward @ square > 0.0 else square
    out = line.along if outside * float(cubics.left(onward) @ line.along) > 0.0 else -line.along
    close = m.at(m.length - np.geomspace(_NEAR, 1.0).clip(max=m.length))
    # Even steps of the parameter have every node among them, and cost no search by length.
    all_along = cubics.in_steps(np.ceil(cubics.norm(np.diff(curve, axis=1)).sum(axis=1) / _LOOKED))
    segment, t = (np.concatenate(both) for both in zip(close, all_along, strict=True))
    s, first = np.unique(m.length - m.lengths(segment, t), return_index=True)
    way = cubics.point(curve, segment[first], t[first]) - curve[-1, 3]
    return _Tail(curve, inward, s, way @ inward, way @ out, float(out @ onward) < -_SQUARE)


def _in_its_way(tail: _Tail) -> bool:
    """Whether the mirror image of a line's end would run over that end, or leave but a slit beside it."""
    far = np.flatnonzero(tail.off > _WIDEST)
    near = slice(0, int(far[0]) if len(far) else None)
    slit = tail.leans & (tail.s[near] > _DEEP) & (tail.off[near] < 0.5 * _SLIT)
    return bool(((tail.off[near] < -_MEETS) | slit).any())


def _past_notch(tail: _Tail, notch: float) -> Array:
    """A line's end without the valley just before the seam: straight from what comes before that up to the seam."""
    # Seen from the seam, a line that bulges turns inwards; behind a valley it comes out again.
    angle = np.arctan2(tail.off[1:], tail.beyond[1:])
    turns = np.diff(angle)
    valley = int(np.argmax(turns < -_SEEN)) + 1
    if tail.beyond[1] >= 0.0 or not (turns < -_SEEN).any() or 2.0 * tail.off[valley] > notch:
        return tail.curve
    # It comes out until it is touched, but a hollow as wide as a valley is left.
    in_reach = tail.s[valley:-1] < tail.s[valley] + notch
    touched = valley + int(np.argmin((turns[valley - 1 :] < -_SEEN) & in_reach))
    m = measure(tail.curve)
    before = m.part(0.0, m.length - float(tail.s[touched]))
    return np.concatenate([before, cubics.lines([before[-1, 3], tail.curve[-1, 3]])])


def _end_lines(
    run: LaidRun, group: Sequence[int], tips: tuple[Array, Array]
) -> tuple[StraightLine | None, StraightLine | None]:
    """The straight lines in which the edge of a group is mirrored at its ends; None where it ends at no corner.

    `tips` are the ends (2,) of the whole trimmed line: where a free end has half a scallop, that ends in its crest.
    """
    first, last = group[0], group[-1]
    if first > 0 or run.loop:
        joint = run.joints[first - 1]
        before = StraightLine(joint.point - joint.lap * joint.square, joint.along)
        starts: StraightLine | None = before if first > 0 else before.carried(motion.inverse(run.closing))
    else:
        starts = _free_end(run, tips[0], at_end=False)
    if last == len(run.joints):
        return starts, _free_end(run, tips[1], at_end=True)
    joint = run.joints[last]
    after = StraightLine(joint.point + joint.lap * joint.square, joint.along)
    return starts, after.carried(run.closing) if last < first else after


def _free_end(run: LaidRun, tip: Array, at_end: bool) -> StraightLine | None:
    """The line in which an open run ends: up to the crest of half a scallop, else that of the neighbouring edge."""
    line = end_line(run, at_end)
    if line is None or run.folds[int(at_end)] is not None:
        return line
    up = tip - line.point
    if abs(float(up @ cubics.left(line.along))) <= _NEAR:
        return line
    return StraightLine(line.point, up / float(np.hypot(*up)))


def end_line(run: LaidRun, at_end: bool) -> StraightLine | None:
    """The fold, or the line of the neighbouring edge, at which an open run starts or ends; None where there is none."""
    fold = run.folds[int(at_end)]
    if fold is not None:
        return StraightLine(fold.point, fold.along)
    part = run.parts[-1 if at_end else 0]
    neighbour = part.edge.after if at_end else part.edge.before
    if neighbour is None:
        return None
    point = run.line.curve[-1, 3] if at_end else run.line.curve[0, 0]
    return StraightLine(point, part.motion[:, :2] @ firm_direction(neighbour))


@dataclass(frozen=True, eq=False)
class StraightLine:
    """A straight line: a point on it and its unit direction."""

    point: Array
    along: Array

    def carried(self, by: Array) -> StraightLine:
        """The line carried by a motion."""
        return StraightLine(motion.apply(by, self.point), by[:, :2] @ self.along)


def _opened(run: LaidRun, group: Sequence[int], flat: Array, pressed: Mapping[int, int]) -> Array:
    """A line over the closed darts of a group as it lies on the sheet, with a cap between the legs of each dart."""
    parts = _parts(run, group, flat)
    out = []
    for i, k in enumerate(group):
        out.append(motion.apply(_to_sheet(run, group, k), parts[i]))
        if i + 1 < len(group):
            back = motion.inverse(run.turned(int(k < group[0])))
            line = [motion.apply(back, part) for part in parts[i:]]
            out.append(dart_cap(run, k, line, pressed.get(k, TOWARD_START)).curve)
    return np.concatenate(out)


def opened_parts(run: LaidRun, group: Sequence[int], flat: Array) -> list[Array]:
    """A line over the closed darts of a group as it lies on the sheet, part by part, from leg to leg.

    Args:
        run: the run laid flat.
        group: numbers of parts of one piece with darts between them.
        flat: the line, where the first of them lies flat.

    Raises:
        RequestError: the line does not pass over one of the darts; the text says which.
    """
    parts = _parts(run, group, flat)
    return [motion.apply(_to_sheet(run, group, k), part) for k, part in zip(group, parts, strict=True)]


def _parts(run: LaidRun, group: Sequence[int], flat: Array) -> list[Array]:
    """A line over the parts of a group, parted at the darts between them."""
    out, rest = [], flat
    for k in group[:-1]:
        joint = run.joints[k]
        line = StraightLine(joint.point, joint.along).carried(run.turned(int(k < group[0])))
        own, rest = _parted(rest, line, joint.name)
        out.append(own)
    return [*out, rest]


def _to_sheet(run: LaidRun, group: Sequence[int], k: int) -> Array:
    """The map from where the first part of a group lies flat to the sheet, for the part `k` of it."""
    return motion.inverse(motion.compose(run.turned(int(k < group[0])), run.parts[k].motion))


def _parted(curve: Array, line: StraightLine, name: str) -> tuple[Array, Array]:
    """A curve parted where it crosses a joint's line nearest to the joint."""
    places = on_line(curve, line.point, cubics.left(line.along))
    if not len(places):
        raise RequestError(f'the cutting line does not pass over "{name}": let it be cut straight there')
    points = points_at(curve, places)
    k = int(np.argmin(np.hypot(*(points - line.point).T)))
    before, after = between(curve, 0.0, float(places[k])), between(curve, float(places[k]), float(len(curve)))
    for part, node in ((before, (-1, 3)), (after, (0, 0))):
        if len(part):
            part[node] = points[k]
    return before, after


def outside_of(run: LaidRun, line: Trimmed) -> int:
    """+1 where the cloth ends on the walker's left, -1 on his right; of an open line where its scallops bulge to."""
    return run.line.outside or line.course.side


def greatest_height(line: Trimmed, outside: int) -> float:
    """How far the trimmed line lies outside the run's own line, at most, mm: its crests, or its valleys."""
    row, curve = line.placed.row, line.course.measured.curve
    points = np.concatenate([line.placed.crest, row.start, row.end])
    found = nearest(curve, points)
    foot = cubics.point(curve, found.segment, found.t)
    outward = outside * cubics.left(cubics.direction(curve, found.segment, found.t))
    return float(np.where(cubics.dot(points - foot, outward) > 0.0, found.distance, 0.0).max(initial=0.0))


# ---------------------------------------------------------------- stitching lines, in the run's flat frame


def stitching(line: Trimmed, share: Share, run: LaidRun, origin: float, lower: float = 0.0) -> list[Bow]:
    """The stitching line of one part without gaps, in the frame in which the part lies flat.

    Where a gap leaves the edge bare, the run's own line is stitched. The scallops are made `lower` mm lower.
    """
    m, row = line.course.measured, line.placed.row
    part = run.parts[share.part]
    reached, end = part.begin - origin, part.end - origin
    out: list[Bow] = []
    for element, curve in share_curves(line, share):
        turn, own = divmod(element, line.elements)
        i, is_link = divmod(own, 2)
        forth = motion.power(run.closing, turn)
        begins = float(row.s_start[i]) + turn * m.length
        if not is_link and begins - reached > _MEETS and not (out and _follows(out[-1].curve, forth, curve)):
            out.append(_plain(m.part(reached, begins)))
        if is_link:
            out.append(_carried(_plain(curve), forth))
        elif lower:
            out.append(_carried(_plain(lowered(line, element, curve, lower)), forth))
        else:
            out.append(_bow(line.placed, i, curve, forth))
        reached = end if is_link else float(row.s_end[i]) + turn * m.length
    if end - reached > _MEETS:
        out.append(_plain(m.part(reached, end)))
    return out


def _follows(before: Array, forth: Array, curve: Array) -> bool:
    return float(np.hypot(*(motion.apply(forth, curve[0, 0]) - before[-1, 3]))) <= _MEETS


def _bow(placed: Scallops, i: int, curve: Array, forth: Array) -> Bow:
    chord = placed.row.end[i] - placed.row.start[i]
    along = chord / math.hypot(*chord.tolist())
    radius = float(placed.radius[i])
    if math.isnan(radius):
        return _carried(Bow(curve, along), forth)
    return _carried(Bow(curve, along, placed.crest[i] - radius * placed.axis[i], radius), forth)


def _plain(curve: Array) -> Bow:
    chord = curve[-1, 3] - curve[0, 0]
    return Bow(curve, chord / max(float(np.hypot(*chord)), 1e-12))


def _mirrored(bows: Sequence[Bow], mirror: Array) -> list[Bow]:
    """The mirror image of a stretch, walked on from its end, or up to its beginning."""
    return [
        Bow(
            cubics.reverse(motion.apply(mirror, bow.curve)),
            -(mirror[:, :2] @ bow.along),
            None if bow.centre is None else motion.apply(mirror, bow.centre),
            bow.radius,
        )
        for bow in reversed(bows)
    ]


def _nearest(bows: Sequence[Bow], reach: float, first: bool) -> list[Bow]:
    """So many bows at one end as come to a length, mm, from end to end; in their own order."""
    ordered = list(bows) if first else list(bows)[::-1]
    end = ordered[0].curve[0, 0] if first else ordered[0].curve[-1, 3]
    count = 0
    for bow in ordered:
        count += 1
        far = bow.curve[-1, 3] if first else bow.curve[0, 0]
        if float(np.hypot(*(far - end))) > reach:
            break
    return ordered[:count] if first else ordered[:count][::-1]


def _carried(bow: Bow, by: Array) -> Bow:
    if by is motion.IDENTITY:
        return bow
    centre = None if bow.centre is None else motion.apply(by, bow.centre)
    return Bow(motion.apply(by, bow.curve), by[:, :2] @ bow.along, centre, bow.radius)


# ---------------------------------------------------------------- cutting lines, in the run's flat frame


def _cut_along(bows: Sequence[Bow], distance: float, outside: int, side: int, closed: bool = False) -> Array:
    """The parallel of a stitching line at a distance, as one curve; `side` is the hand to which scallops bulge."""
    if distance <= 0.0:
        return np.concatenate([bow.curve for bow in bows])
    found = _of_arcs(bows, distance, side, closed) if side == outside else None
    if found is not None:
        return found
    return _outermost(np.concatenate([_coarse(bow, side) for bow in bows]), distance, outside, closed)


def _cut_beyond(
    before: Sequence[Bow], base: Sequence[Bow], after: Sequence[Bow], distance: float, outside: int, side: int
) -> Array:
    """The parallel of an edge with what goes on beyond its ends, where that does not run over the edge itself."""
    if distance > 0.0 and side == outside:
        for bows in ([*before, *base, *after], base):
            found = _of_arcs(bows, distance, side, closed=False)
            if found is not None:
                return found
    try:
        return _cut_along([*before, *base, *after], distance, outside, side)
    except RequestError:
        # A scallop that leans over its end meets its own image there; beyond it the cut goes straight on.
        return _cut_along(base, distance, outside, side)


def _outermost(curve: Array, distance: float, outside: int, closed: bool) -> Array:
    found = offset(curve, distance * outside, closed, accuracy=_ACCURACY)
    if not found:
        x, y = curve[0, 0]
        raise RequestError(
            f"no cutting line lies {distance:g} mm beyond the trimmed line that starts at ({x:.1f}, {y:.1f}) mm: "
            "give a smaller distance"
        )
    return found[0]


def _coarse(bow: Bow, side: int) -> Array:
    if bow.centre is None:
        return bow.curve
    start, end = bow.curve[:1, 0], bow.curve[-1:, 3]
    turn = side * _sweep(bow, start[0], end[0], side)
    return circle_arcs(bow.centre[None], start, end, np.array([turn]), _ACCURACY)


def _of_arcs(bows: Sequence[Bow], distance: float, side: int, closed: bool) -> Array | None:
    """The parallel in closed form where all is circular arcs that meet their neighbours'; else None.

    The arcs of the parallel have the same centres; two of them meet where two circles cross.
    """
    if any(bow.centre is None for bow in bows):
        return None
    nodes = [] if closed else [_moved_out(bows[0], bows[0].curve[0, 0], distance)]
    for a, b in pairwise([bows[-1], *bows] if closed else bows):
        node = _circles_meet(a, b, distance, side)
        if node is None:
            return None
        nodes.append(node)
    nodes.append(nodes[0] if closed else _moved_out(bows[-1], bows[-1].curve[-1, 3], distance))
    turns = []
    for bow, start, end in zip(bows, nodes[:-1], nodes[1:], strict=True):
        own = _sweep(bow, bow.curve[0, 0], bow.curve[-1, 3], side)
        turns.append(_sweep(bow, start, end, side))
        if not 0.0 < turns[-1] < own + _DRAWN_ON:
            return None
    centres, places = np.array([bow.centre for bow in bows]), np.array(nodes)
    return circle_arcs(centres, places[:-1], places[1:], side * np.array(turns), _ACCURACY)


def _moved_out(bow: Bow, place: Array, distance: float) -> Array:
    assert bow.centre is not None  # noqa: S101  # only arcs come here
    return np.asarray(bow.centre + (place - bow.centre) * ((bow.radius + distance) / bow.radius))


def _circles_meet(a: Bow, b: Bow, distance: float, side: int) -> Array | None:
    """Where the parallels of two arcs that follow each other meet, on the outside of the cloth."""
    end, start = _moved_out(a, a.curve[-1, 3], distance), _moved_out(b, b.curve[0, 0], distance)
    if float(np.hypot(*(end - start))) <= _MEETS:
        return 0.5 * (end + start)
    assert a.centre is not None  # noqa: S101  # only arcs come here
    assert b.centre is not None  # noqa: S101  # only arcs come here
    way = b.centre - a.centre
    apart = float(np.hypot(*way))
    first, second = a.radius + distance, b.radius + distance
    if apart < _MEETS:
        return None
    foot = (apart * apart + first * first - second * second) / (2.0 * apart)
    square = first * first - foot * foot
    if square < 0.0:
        return None
    normal = cubics.left(way / apart)
    outward = side * cubics.left(a.along + b.along)
    rise = math.copysign(math.sqrt(square), float(normal @ outward))
    return np.asarray(a.centre + foot * way / apart + rise * normal)


def _sweep(bow: Bow, start: Array, end: Array, side: int) -> float:
    assert bow.centre is not None  # noqa: S101  # only arcs come here
    a, b = start - bow.centre, end - bow.centre
    return side * (math.atan2(b[1], b[0]) - math.atan2(a[1], a[0])) % (2.0 * math.pi)
