"""Clips and wedges: where the allowance of a faced edge is snipped and notched, so that it lies flat once turned.

Turned along a stitching line, what lies at its distance s outside comes to lie at s inside. Along a line that bulges
it then has too little room: as much as 2 s times the angle through which the line turns is taken out in wedges. Along
a hollow line it is too short by as much, and opens at clips. At a valley the cut edges of both sides meet before they
have come to its end, and one clip runs from there to the stitched valley; so a little of either side's angle is lost
to the raw edge. At a point that bulges both turned-in edges meet likewise, and all that lies between is one wedge.

A circular scallop of radius r and angle theta: 2 s theta of the (r + s) theta of its raw edge (plane geometry).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array, Bools, Ints
from ..geometry.length import Measured, measure
from ..trim.course import Stop
from ..trim.row import FIRST_HALF, SECOND_HALF
from ..trim.scallops import following
from ..trim.sharing import Trimmed
from .grading import turnable

# Kinds of clip.
VALLEY, HOLLOW = "valley", "hollow"
# How far from the stitching a clip or a wedge stops, mm: 1 to 1.5, common practice, no source.
SHORT = 1.25
# The widest mouth of a wedge, mm, and no wider than the allowance: common practice, no source.
WIDEST_WEDGE = 6.0
# The widest that a clip on a hollow curve may open, mm. On hollows of 20 to 40 mm radius with 6 mm of allowance, it
# puts the clips 1/4 to 1/2 in apart, which is how far apart "Apparel" (g-wonlinetextbooks, 2012, pp. 451-452) has them.
WIDEST_GAP = 4.0

# The farthest that two clips on a hollow curve are apart, mm: 1/2 in, same source.
_FARTHEST = 12.7
# The nearest, mm, where the hollow is narrower than the allowance and the raw edge has no length there: common
# practice, no source.
_NEAREST = 3.0
# What cloth gives by itself, mm: no clip and no wedge for less; common practice, no source.
_GIVES = 1.0
# A corner turns by at least this, radians; what turns less is part of a curve.
_CORNER = math.radians(15.0)
# A node that turns by less, radians, was meant to be smooth.
_SMOOTH = math.radians(0.5)
# A turn this near to right round, radians, has no sure hand.
_HAIRPIN = math.pi - 0.02
# Angles below this, radians, are rounding.
_STRAIGHT = 1e-9
# No turn on the spot is needed for less, radians.
_ON_THE_SPOT = 1e-7
_MEETS = 1e-6
# Into how many straight pieces two raw edges are parted to find where they cross; into more where that finds nothing.
_COARSE, _FINE = 16, 64
_LOOKS = np.linspace(0.0, 1.0, 9)


@dataclass(frozen=True, eq=False)
class Clip:
    """A snip into the allowance, in the flat frame of the run.

    Attributes:
        point: its inner end (2,), short of the stitching line.
        start: where it begins (2,), at the raw edge.
        s: its length along the course, mm.
        kind: VALLEY or HOLLOW.
        scallop: number of the scallop in the row; at a valley that two share the one before it, on what leads on from
            a scallop that scallop.
    """

    point: Array
    start: Array
    s: float
    kind: str
    scallop: int


@dataclass(frozen=True, eq=False)
class Wedge:
    """A V to take out of the allowance, in the flat frame of the run.

    Attributes:
        tip: its inner end (2,), short of the stitching line.
        mouth: its two ends (2, 2) on the raw edge, in the walking direction.
        width: mm between them along the raw edge, which runs round corners at its distance.
        s, scallop: as of a clip.
    """

    tip: Array
    mouth: Array
    width: float
    s: float
    scallop: int

    @property
    def middle(self) -> Array:
        """The middle of its mouth (2,), which tells of what piece's raw edge it is taken."""
        return np.asarray(self.mouth.mean(axis=0))


@dataclass(frozen=True, eq=False)
class Tight:
    """A bulge that is no wider than the allowance, which so can't be turned.

    Attributes:
        point: where it is tightest (2,), on the stitching line.
        radius: its radius there, mm.
        s, scallop: as of a clip.
    """

    point: Array
    radius: float
    s: float
    scallop: int

    @property
    def trim_to(self) -> float:
        """To how much the allowance is trimmed first, mm: as much as can be turned there."""
        return turnable(self.radius)


@dataclass(frozen=True, eq=False)
class Clipping:
    """All clips and wedges of a run, in order.

    Attributes:
        clips: the clips. One on a fold is listed once, and counts for both halves.
        wedges: the wedges, those at points among them. Of one on a fold the half that lies on the run.
        taken_out: what the wedges take out of the raw edge, mm.
        opened: by how much the clips on hollow curves open, mm.
        cannot_turn: the bulges too tight for the allowance, which get no wedges: trim it first.
        least_radius: the smallest radius of all bulges that turn, mm; infinite where nothing bulges.
    """

    clips: tuple[Clip, ...]
    wedges: tuple[Wedge, ...]
    taken_out: float
    opened: float
    cannot_turn: tuple[Tight, ...]
    least_radius: float = math.inf


def clipping(
    line: Trimmed,
    allowance: float,
    short: float = SHORT,
    widest_wedge: float | None = None,
    widest_gap: float = WIDEST_GAP,
    *,
    stops: Sequence[Stop] = (),
    outside: int | None = None,
) -> Clipping:
    """Where the allowance of a faced edge is clipped and notched.

    Args:
        line: the trimmed line of the run; where a gap leaves the edge bare, before the first scallop and behind the
            last one too, its course is stitched. Free ends, where the line ends in a seam, get no clip.
        allowance: what lies beyond the stitching line when it is clipped, mm: at a straight cut after trimming.
        short: how far from the stitching clips and wedges stop, mm; at corners from their point.
        widest_wedge: the widest mouth of a wedge along a curve, mm; by default WIDEST_WEDGE, or the allowance where
            that is less.
        widest_gap: the widest that a clip on a hollow curve may open, mm.
        stops: the stops of the run; what lies beyond one at a fold is the mirror image.
        outside: +1 where the allowance lies on the walker's left, -1 on his right; by default where scallops bulge to.

    Raises:
        RequestError: a length that makes no sense.
    """
    widest_wedge = min(WIDEST_WEDGE, allowance) if widest_wedge is None else widest_wedge
    _check(allowance, short, widest_wedge, widest_gap)
    walk = _walk(line, stops, line.course.side if outside is None else outside)
    met = _meetings(walk, allowance)
    points = _points(walk, met, allowance)
    cells = _cells(walk, met, points, allowance)
    if line.course.loop:
        walk = _whole_turn(walk, cells, line)
    stretches = _stretches(walk, cells, met, points)
    tight = _tight(walk, cells, stretches, line, allowance)
    clips = [
        *_valley_clips(walk, met, line, allowance, short),
        *_hollow_clips(walk, cells, stretches, met, line, allowance, short, widest_gap),
    ]
    wedges = [
        *_point_wedges(walk, cells, points, line, allowance, short),
        *_curve_wedges(walk, cells, stretches, ~tight.any_of(stretches), line, allowance, short, widest_wedge),
    ]
    clips.sort(key=lambda found: found[0])
    wedges.sort(key=lambda found: found[0])
    opened = 2.0 * allowance * sum(stretches.angle[_needs_clips(stretches, allowance)].tolist())
    return Clipping(
        tuple(clip for _, clip in clips),
        tuple(wedge for _, wedge in wedges),
        math.fsum(wedge.width for _, wedge in wedges),
        opened,
        tight.places,
        tight.least_radius,
    )


def cut_valley(radius: float, width: float, allowance: float, large: bool = False) -> float:
    """How far beyond the stitched valley of equal circular scallops on a straight line the cut one lies, mm.

    sqrt((r + s)² - w² / 4) - sqrt(r² - w² / 4), from the two right triangles over half the width.

    Args:
        radius: of the stitched scallops, mm.
        width: of the scallops, valley to valley, mm.
        allowance: distance of the raw edge, mm.
        large: whether the scallops are more than half a circle, so that their valleys lie below their centres.

    Raises:
        RequestError: no scallop of that radius is so wide, or a length is no length.
    """
    if not (0.0 < width <= 2.0 * radius * (1.0 + 1e-12) and math.isfinite(radius) and 0.0 <= allowance < math.inf):
        raise RequestError(
            f"no scallop of {radius:g} mm radius is {width:g} mm wide with {allowance:g} mm of allowance: give a width "
            "above 0 and up to twice the radius, and an allowance of 0 or more"
        )
    stitched = math.sqrt(max(radius * radius - 0.25 * width * width, 0.0))
    cut = math.sqrt((radius + allowance) ** 2 - 0.25 * width * width)
    return cut + stitched if large else cut - stitched


def _check(allowance: float, short: float, widest_wedge: float, widest_gap: float) -> None:
    for what, length in (
        ("an allowance", allowance),
        ("a wedge", widest_wedge),
        ("the gap at a clip", widest_gap),
    ):
        if not 0.0 < length < math.inf:
            raise RequestError(f"{what} can't be {length:g} mm wide: give a width above 0")
    if not 0.0 <= short < allowance:
        raise RequestError(
            f"clips can't stop {short:g} mm short of the stitching in an allowance of {allowance:g} mm: "
            "give a distance of 0 or more and below the allowance"
        )


# ------------------------------------------------ the stitching line as it is walked


_SCALLOP, _LINK, _LEAD = 0, 1, 2


@dataclass(frozen=True, eq=False)
class _Items:
    """A line as cubics and circular arcs, among these turns on the spot, of radius 0.

    Attributes:
        curve: the cubics (n, 4, 2); of an arc twice each end.
        round: which of them are arcs.
        ahead: the direction (n, 2) at the beginning of each.
        turn: of each arc the angle, positive to the right.
        bow: of each arc the radius, with the sign of its turn.
        owner: the number of each one's element: a scallop, or what leads on from it.
    """

    curve: Array
    round: Bools
    ahead: Array
    turn: Array
    bow: Array
    owner: Ints

    def __len__(self) -> int:
        return len(self.curve)

    def __getitem__(self, which: Ints | Bools | slice) -> _Items:
        return _Items(*(getattr(self, field.name)[which] for field in fields(self)))

    @cached_property
    def lengths(self) -> Array:
        """The length of each, mm."""
        return self.length(np.arange(len(self)), np.ones(len(self)))

    @cached_property
    def _legs(self) -> Array:
        return np.asarray(cubics.norm(np.diff(self.curve, axis=1)).max(axis=1))

    @cached_property
    def _measured(self) -> tuple[Measured, Ints, Array]:
        """The cubics with their lengths, the number among them of each item, and the lengths up to each."""
        number = np.cumsum(~self.round) - 1
        m = measure(self.curve[~self.round])
        return m, number, m.lengths(np.maximum(number, 0), np.zeros(len(self)))

    def points(self, item: Ints, t: Array) -> Array:
        """Points (k, 2)."""
        if not self.round.any():
            return cubics.point(self.curve, item, t)
        out, arc, other = np.empty((len(item), 2)), *_both(self.round[item])
        out[other] = cubics.point(self.curve, item[other], t[other])
        i = item[arc]
        swung = cubics.left(_turned(self.ahead[i], self.turn[i] * t[arc]) - self.ahead[i])
        out[arc] = self.curve[i, 0] + self.bow[i][:, None] * swung
        return out

    def tangents(self, item: Ints, t: Array) -> Array:
        """Unit tangents (k, 2) in the walking direction."""
        out, arc, other = np.empty((len(item), 2)), *_both(self.round[item])
        i = item[other]
        d = cubics.derivative(self.curve, i, t[other])
        size = cubics.norm(d)
        # Where a cubic stands still its direction takes longer to find.
        slow = size <= 1e-6 * self._legs[i]
        size[slow] = 1.0
        d /= size[:, None]
        d[slow] = cubics.direction(self.curve, i[slow], t[other][slow])
        out[other] = d
        out[arc] = _turned(self.ahead[item[arc]], self.turn[item[arc]] * t[arc])
        return out

    def rates(self, item: Ints, t: Array) -> tuple[Array, Array]:
        """How length and turned angle grow with the parameter."""
        other = np.flatnonzero(~self.round[item])
        speed, bend = self.bow[item] * self.turn[item], self.turn[item].copy()
        if len(other):
            d = cubics.derivative(self.curve, item[other], t[other])
            speed[other] = cubics.norm(d)
            e = cubics.second_derivative(self.curve, item[other], t[other])
            with np.errstate(divide="ignore", invalid="ignore"):
                bent = cubics.cross(d, e) / speed[other] ** 2
            bend[other] = np.where(np.isfinite(bent), bent, 0.0)
        return speed, bend

    def turned(self, item: Ints, t0: Array, t1: Array) -> Array:
        """The angles between two parameters, positive to the right; of cubics below half a turn."""
        first, last = self.tangents(item, t0), self.tangents(item, t1)
        angle = np.arctan2(cubics.cross(first, last), cubics.dot(first, last))
        return np.where(self.round[item], self.turn[item] * (t1 - t0), angle)

    def length(self, item: Ints, t: Array) -> Array:
        """The lengths from the beginning of each item to a parameter, mm."""
        out = self.bow[item] * self.turn[item] * t
        other = np.flatnonzero(~self.round[item])
        if len(other):
            m, number, begins = self._measured
            i = item[other]
            out[other] = m.lengths(number[i], t[other]) - begins[i]
        return out

    def carried(self, by: Array) -> _Items:
        """Moved and turned, not mirrored."""
        return replace(self, curve=motion.apply(by, self.curve), ahead=self.ahead @ by[:, :2].T)

    def mirrored(self, by: Array) -> _Items:
        """The mirror image, walked the other way."""
        number = np.arange(len(self))
        back = -self.tangents(number, np.ones(len(self)))
        curve = cubics.reverse(motion.apply(by, self.curve))
        return replace(self[::-1], curve=curve, ahead=(back @ by[:, :2].T)[::-1])


def _both(which: Bools) -> tuple[Ints, Ints]:
    return np.flatnonzero(which), np.flatnonzero(~which)


def _turned(vectors: Array, angle: Array) -> Array:
    """Vectors turned to the right, each by its own angle."""
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    return np.asarray(c * vectors - s * cubics.left(vectors))


def _joined(parts: Sequence[_Items]) -> _Items:
    return _Items(*(np.concatenate([getattr(part, field.name) for part in parts]) for field in fields(_Items)))


def _of_curve(curve: Array, owner: Ints) -> _Items:
    """Cubics as items, those without length left out."""
    something = np.ptp(curve, axis=1).max(axis=1) > 0.0
    curve, owner = curve[something], owner[something]
    n = len(curve)
    ahead = cubics.direction(curve, np.arange(n), np.zeros(n))
    return _Items(curve, np.zeros(n, dtype=bool), ahead, np.zeros(n), np.zeros(n), owner)


def _rounded(items: _Items) -> _Items:
    """The same line with arcs for its smooth parts that are circular to a hundred-millionth of its size."""
    n = len(items)
    ends = items.tangents(np.arange(n), np.ones(n))
    corner = cubics.norm(ends[:-1] - items.ahead[1:]) > 1e-6
    starts = np.flatnonzero(np.append(True, corner))
    stops = np.append(starts[1:], n)
    return _joined([_round_part(items[a:b]) for a, b in zip(starts, stops, strict=True)])


def _round_part(part: _Items) -> _Items:
    number, looks = np.repeat(np.arange(len(part)), len(_LOOKS)), np.tile(_LOOKS, len(part))
    places = part.points(number, looks)
    turn = float(part.turned(np.arange(len(part)), np.zeros(len(part)), np.ones(len(part))).sum())
    if len(part) < 2 or abs(turn) < 0.1:
        return part
    # The circle by its tangent at one end and the chord to a place half way.
    chord = places[len(places) // 2] - places[0]
    bow = -float(chord @ chord) / (2.0 * float(chord @ cubics.left(part.ahead[0])))
    off = cubics.norm(places - (places[0] - bow * cubics.left(part.ahead[0]))) - abs(bow)
    if np.abs(off).max() > 1e-8 * np.ptp(places, axis=0).max():
        return part
    curve = np.stack([places[0], places[0], places[-1], places[-1]])
    one = np.ones(1)
    return _Items(curve[None], one > 0.0, part.ahead[:1], turn * one, bow * one, part.owner[:1])


@dataclass(frozen=True, eq=False)
class _Walk:
    """The stitching line without gaps, with a turn on the spot at each of its corners.

    Places on it are numbers of items plus a parameter, so that the direction changes steadily with the place.

    Attributes:
        items: the line.
        corner: of each turn on the spot the angle of the whole corner, positive where it bulges; else 0.
        middle: the place in the middle of that corner.
        kind, scallop, turns: of each element what it is, its scallop, and how many turns of a loop on it lies. Those
            before the beginning and behind the end are as the line goes on.
        first: the number of the first item of each element, and of the item beyond the last.
        begin, end: the places between which clips and wedges are wanted.
        outside: +1 where the allowance lies on the walker's left.
    """

    items: _Items
    corner: Array
    middle: Array
    kind: Ints
    scallop: Ints
    turns: Ints
    first: Ints
    begin: float
    end: float
    outside: int

    def at(self, x: Array) -> tuple[Ints, Array]:
        """Items and parameters of places."""
        item = np.clip(np.floor(x).astype(np.intp), 0, len(self.items) - 1)
        return item, x - item

    def points(self, x: Array) -> Array:
        return self.items.points(*self.at(x))

    def outward(self, x: Array) -> Array:
        """Unit normals to where the allowance lies."""
        return self.outside * cubics.left(self.items.tangents(*self.at(x)))

    def raw(self, x: Array, distance: float) -> Array:
        """The points (k, 2) at a distance outside the places, or inside where it is negative."""
        return np.asarray(self.points(x) + distance * self.outward(x))

    def growth(self, item: Ints, t: Array, distance: float) -> Array:
        """How the length of the parallel at a distance outside grows with the parameter; below 0 it runs backward."""
        speed, bend = self.items.rates(item, t)
        return np.asarray(speed + distance * self.outside * bend)


def _walk(line: Trimmed, stops: Sequence[Stop], outside: int) -> _Walk:
    items, kind, scallop = _line(line)
    loop = line.course.loop
    number, scallops = np.arange(len(kind)), np.flatnonzero(kind == _SCALLOP)
    if loop:
        closing = line.course.measured.closing
        closing = motion.IDENTITY if closing is None else closing
        before, after = number[scallops[-1] :], number[: scallops[1] if len(scallops) > 1 else len(kind)]
        first, last = _copied(items, before).carried(motion.inverse(closing)), _copied(items, after).carried(closing)
        folds = (False, False)
    else:
        images = [_image(line, stop) for stop in (stops[0], stops[-1])] if stops else [None, None]
        folds = (images[0] is not None, images[1] is not None)
        before, after = number[: scallops[0] + 1][::-1], number[scallops[-1] :][::-1]
        first, last = (
            _copied(items, elements).mirrored(motion.IDENTITY if image is None else image)
            for elements, image in zip((before, after), images, strict=True)
        )
        before, first = (before, first) if folds[0] else (before[:0], first[:0])
        after, last = (after, last) if folds[1] else (after[:0], last[:0])
    begin, end = len(before), len(before) + len(kind)
    every = _joined(
        [
            first,
            replace(items, owner=items.owner + begin),
            replace(last, owner=last.owner + end),
        ]
    )
    order = np.concatenate([before, number, after])
    turns = np.repeat([-1, 0, 1], [len(before), len(kind), len(after)]) * int(loop)
    return _with_turns(every, kind[order], scallop[order], turns, (begin, end), folds, outside)


def _copied(items: _Items, elements: Ints) -> _Items:
    """The items of some elements, which are numbered anew in the order given."""
    number = np.full(int(items.owner[-1]) + 1, -1)
    number[elements] = np.arange(len(elements))
    return replace(items, owner=number[items.owner])[number[items.owner] >= 0]


def _line(line: Trimmed) -> tuple[_Items, Ints, Ints]:
    """The trimmed line, and of each of its elements the kind and the scallop; along gaps its course."""
    links, first = _links(line), _lead(line)
    n, lead = len(links), len(first) > 0
    linked = np.array([len(link) > 0 for link in links])
    kind = np.concatenate([np.full(int(lead), _LEAD), np.full(n, _SCALLOP), np.full(int(linked.sum()), _LINK)])
    scallop = np.concatenate([np.zeros(int(lead), dtype=np.intp), np.arange(n), np.flatnonzero(linked)])
    order = np.lexsort((kind != _SCALLOP, scallop, kind != _LEAD))
    number = np.empty(len(order), dtype=np.intp)
    number[order] = np.arange(len(order))
    own = number[int(lead) : int(lead) + n]
    parts = _scallops(line, own)
    between = [link for link in links if len(link)]
    if between:
        parts.append(_of_curve(np.concatenate(between), np.repeat(number[int(lead) + n :], [len(b) for b in between])))
    if lead:
        parts.append(_of_curve(first, np.zeros(len(first), dtype=np.intp)))
    items = _joined(parts)
    return items[np.argsort(items.owner, kind="stable")], kind[order], scallop[order]


def _scallops(line: Trimmed, number: Ints) -> list[_Items]:
    """The scallops as items; those with one motif are laid all at once."""
    placed, row = line.placed, line.placed.row
    share = np.round(placed.depth / row.width, 10)
    alike = (row.turn == 0.0) & (placed.shape.profile != "wave")
    parts = []
    for i in np.flatnonzero(~alike):
        own = _of_curve(line.curves[i], np.full(len(line.curves[i]), number[i]))
        parts.append(own if row.turn[i] == 0.0 else _rounded(own))
    for value, part in sorted({(float(share[i]), int(row.part[i])) for i in np.flatnonzero(alike)}):
        which = np.flatnonzero(alike & (share == value) & (row.part == part))
        motif = placed.shape.motif(float(row.width[which[0]]))
        half = {FIRST_HALF: slice(None, motif.half), SECOND_HALF: slice(motif.half, None)}.get(part, slice(None))
        curve = motif.curve[half]
        parts.append(_laid(_rounded(_of_curve(curve, np.zeros(len(curve), dtype=np.intp))), line, which, number[which]))
    return parts


def _laid(motif: _Items, line: Trimmed, which: Ints, number: Ints) -> _Items:
    """A motif of width 1, its y along the axis, laid on the base lines of some scallops."""
    row, p = line.placed.row, len(motif)
    start, chord = row.start[which], (row.end - row.start)[which]
    width = cubics.norm(chord)
    axis = width[:, None] * line.placed.axis[which]
    across, up = motif.curve[None, ..., :1], motif.curve[None, ..., 1:]
    curve = start[:, None, None] + across * chord[:, None, None] + up * axis[:, None, None]
    ahead = (motif.ahead[:, :1] * chord[:, None] + motif.ahead[:, 1:] * axis[:, None]) / width[:, None, None]
    hand = -float(line.placed.side)
    return _Items(
        curve.reshape(-1, 4, 2),
        np.tile(motif.round, len(which)),
        ahead.reshape(-1, 2),
        np.tile(hand * motif.turn, len(which)),
        (hand * width[:, None] * motif.bow).ravel(),
        np.repeat(number, p),
    )


def _links(line: Trimmed) -> list[Array]:
    """What leads on from each scallop; along gaps the course, where the scallops stand on it, else a straight line.

    Behind the last one an open course is bare up to its end.
    """
    row, m = line.placed.row, line.course.measured
    s_next = np.append(row.s_start[1:], row.s_start[:1] + m.length)
    onward = following(row.start, m.closing)
    out: list[Array] = []
    for i, link in enumerate(line.links):
        if link is None and (i + 1 < len(row) or line.course.loop):
            end, start, s_end = row.end[i], onward[i], float(row.s_end[i])
            link = m.part(s_end, float(s_next[i])) if s_next[i] - s_end > _MEETS else cubics.lines([end, start])
            if max(cubics.norm(link[0, 0] - end), cubics.norm(link[-1, 3] - start)) > _MEETS:
                link = cubics.lines([end, start])
        elif link is None:
            link = _bare(line, row.end[i], float(row.s_end[i]), m.length)
        out.append(np.zeros((0, 4, 2)) if link is None else link)
    return out


def _lead(line: Trimmed) -> Array:
    """What leads to the first scallop; nothing of a loop."""
    if line.lead is not None or line.course.loop:
        return np.zeros((0, 4, 2)) if line.lead is None else line.lead
    row = line.placed.row
    before = _bare(line, row.start[0], float(row.s_start[0]), 0.0)
    return np.zeros((0, 4, 2)) if before is None else cubics.reverse(before)


def _bare(line: Trimmed, place: Array, s: float, end: float) -> Array | None:
    """The course from a scallop's end, at a length along it, to one of its own ends, walked away from the scallop."""
    if abs(end - s) <= _MEETS:
        return None
    curve = line.course.measured.part(min(s, end), max(s, end))
    curve = curve if end > s else cubics.reverse(curve)
    stands = float(cubics.norm(curve[0, 0] - place)) <= _MEETS
    return curve if stands else np.concatenate([cubics.lines([place, curve[0, 0]]), curve])


def _image(line: Trimmed, stop: Stop) -> Array | None:
    """The map that mirrors in a fold."""
    if not stop.fold or stop.mirror is None:
        return None
    return motion.mirrored(line.course.measured.points(np.array([stop.s]))[0], cubics.left(np.array(stop.mirror)))


def _with_turns(
    items: _Items,
    kind: Ints,
    scallop: Ints,
    turns: Ints,
    inner: tuple[int, int],
    folds: tuple[bool, bool],
    outside: int,
) -> _Walk:
    """The walk with a turn on the spot wherever items meet at an angle; at folds it is parted in halves."""
    n, owner = len(items), items.owner
    arriving = items.tangents(np.arange(n), np.ones(n))
    turn = np.arctan2(cubics.cross(arriving[:-1], items.ahead[1:]), cubics.dot(arriving[:-1], items.ahead[1:]))
    between = owner[1:] != owner[:-1]
    for k in np.flatnonzero(np.abs(turn) > _HAIRPIN):
        turn[k] = math.copysign(turn[k], _hairpin_hand(items, int(k)))
    at_fold = np.zeros(n - 1, dtype=bool)
    for fold, element in zip(folds, inner, strict=True):
        at_fold |= fold & between & (owner[1:] == element)
    halves = np.where(np.abs(turn) > _ON_THE_SPOT, np.where(at_fold, 2, 1), 0)
    joint = np.repeat(np.arange(n - 1), halves)
    second = np.append(False, joint[1:] == joint[:-1])[: len(joint)]
    share = turn[joint] / halves[joint]
    before, after, of_fold = owner[joint], owner[joint + 1], at_fold[joint]
    spots = _Items(
        np.repeat(items.curve[joint, 3][:, None], 4, axis=1),
        np.ones(len(joint), dtype=bool),
        _turned(arriving[joint], share * second),
        share,
        np.zeros(len(joint)),
        # A corner belongs to the scallop before it, else to the one behind it; on a fold each half to its own.
        np.where(np.where(of_fold, second, kind[before] != _SCALLOP), after, before),
    )
    order = np.argsort(np.concatenate([np.arange(n), joint + 0.5]), kind="stable")
    # An element ends with the corner behind it.
    first = np.searchsorted(np.concatenate([owner, before])[order], np.arange(len(kind) + 1))
    on_fold = np.array([bool(np.any(halves[between & (owner[1:] == k)] == 2)) for k in inner])
    middle = np.concatenate([np.zeros(n), np.where(of_fold, np.where(second, 0.0, 1.0), 0.5)])
    return _Walk(
        _joined([items, spots])[order],
        np.concatenate([np.zeros(n), outside * turn[joint]])[order],
        middle[order] + np.arange(len(order)),
        kind,
        scallop,
        turns,
        first,
        float(first[inner[0]] - on_fold[0]),
        float(first[inner[1]] - on_fold[1]),
        outside,
    )


def _hairpin_hand(items: _Items, k: int) -> float:
    """The side, right positive, to which the line turns back behind an item: the one where it then lies."""
    there, back = items.points(np.array([k, k + 1]), np.array([0.75, 0.25])) - items.curve[k, 3]
    return -float(cubics.cross(there, back))


# ------------------------------------------------ where raw edges meet


@dataclass(frozen=True, eq=False)
class _Meetings:
    """Where two stretches of the raw, or of the turned-in, edge meet, and what lies between is lost.

    Attributes:
        left, right: the places between which the edge runs backward or turns on the spot, (k,).
        a, b: the places between which it is lost.
        point: where the two meet, (k, 2).
        corner: whether a corner of the stitching line lies there.
    """

    left: Array
    right: Array
    a: Array
    b: Array
    point: Array
    corner: Bools

    def over(self, x: Array) -> Ints:
        """For each place the number of the meeting to which it is lost, or -1."""
        if not len(self.a):
            return np.full(len(x), -1, dtype=np.intp)
        k = np.searchsorted(self.a, x, side="right") - 1
        return np.where((k >= 0) & (x <= self.b[k]), k, -1)


def _meetings(walk: _Walk, s: float) -> _Meetings:
    """Where the raw edge's own valleys are."""
    left, right = _merged(*_hollows(walk, s))
    a, b = _met(walk, left, right, s)
    left, right, a, b = _over_links(walk, left, right, a, b, s)
    left, right, a, b = _over_lost(walk, left, right, a, b, s)
    missed = np.isnan(a)
    a, b = np.where(missed, left, a), np.where(missed, right, b)
    point = walk.raw(a, s)
    point[missed] = _mitre(walk, left[missed], right[missed], s)
    sharp = np.flatnonzero(walk.corner <= -_CORNER)
    corner = np.searchsorted(sharp, right - 0.5) > np.searchsorted(sharp, left - 0.5)
    return _Meetings(left, right, a, b, point, corner)


def _points(walk: _Walk, met: _Meetings, s: float) -> _Meetings:
    """The corners that bulge, and between which places the turned-in edges beside them would lie on each other."""
    spots = np.flatnonzero(walk.corner >= _CORNER).astype(float)
    left, right = _merged(spots, spots + 1.0)
    a, b = _met(walk, left, right, -s)
    # Where the turned-in edge of a side is lost as a whole, all of its raw edge is taken out.
    a, b = np.where(np.isnan(a), -np.inf, a), np.where(np.isnan(b), np.inf, b)
    before, after = np.append(-np.inf, right), np.append(left, np.inf)
    a, b = np.maximum(a, 0.5 * (before[:-1] + left)), np.minimum(b, 0.5 * (after[1:] + right))
    if len(met.a):
        k = np.searchsorted(met.right, left, side="right")
        a = np.maximum(a, np.where(k > 0, met.b[np.maximum(k - 1, 0)], -np.inf))
        b = np.minimum(b, np.where(k < len(met.a), met.a[np.minimum(k, len(met.a) - 1)], np.inf))
    a, b = np.minimum(np.maximum(a, 0.0), left), np.maximum(np.minimum(b, float(len(walk.items))), right)
    return _Meetings(left, right, a, b, walk.raw(0.5 * (left + right), s), np.ones(len(left), dtype=bool))


def _hollows(walk: _Walk, s: float) -> tuple[Array, Array]:
    """The places between which the raw edge runs backward: at hollow corners, and where a hollow is narrower than s."""
    spots = np.flatnonzero(walk.corner < -_SMOOTH).astype(float)
    hollow = (walk.outside * _bends(walk.items)).min(axis=0) < 0.0
    arc = walk.items.round & (walk.items.bow != 0.0) & (walk.outside * walk.items.turn < 0.0)
    items = np.flatnonzero(arc | (hollow & ~walk.items.round))
    growth = walk.growth(np.repeat(items, len(_LOOKS)), np.tile(_LOOKS, len(items)), s)
    backward = np.pad((growth < 0.0).reshape(-1, len(_LOOKS)), ((0, 0), (1, 1)))
    begins, ends = np.nonzero(~backward[:, :-1] & backward[:, 1:]), np.nonzero(backward[:, :-1] & ~backward[:, 1:])
    return (
        np.concatenate([spots, _turning_back(walk, items[begins[0]], begins[1] - 1, begins[1], s)]),
        np.concatenate([spots + 1.0, _turning_back(walk, items[ends[0]], ends[1], ends[1] - 1, s)]),
    )


def _turning_back(walk: _Walk, item: Ints, forward: Ints, backward: Ints, s: float) -> Array:
    """The places where the raw edge turns back, between two looks at an item; or its end, where it does all along."""
    f, b = np.append(_LOOKS, 1.0)[np.maximum(forward, 0)], _LOOKS[backward]
    for _ in range(40):
        middle = 0.5 * (f + b)
        back = walk.growth(item, middle, s) < 0.0
        f, b = np.where(back, f, middle), np.where(back, middle, b)
    return np.asarray(item + np.where((forward < 0) | (forward >= len(_LOOKS)), _LOOKS[backward], b))


def _merged(left: Array, right: Array) -> tuple[Array, Array]:
    """Intervals in order, those that touch made one."""
    order = np.argsort(left, kind="stable")
    left, right = left[order], right[order]
    new = np.append(True, left[1:] > np.maximum.accumulate(right)[:-1] + 1e-9)[: len(left)]
    starts = np.flatnonzero(new)
    return left[new], np.maximum.reduceat(right, starts) if len(starts) else right


def _met(walk: _Walk, left: Array, right: Array, distance: float) -> tuple[Array, Array]:
    """The places (k,), (k,) before and behind each interval whose parallels cross; nan where none do."""
    before, after = np.append(0.0, right[:-1]), np.append(left[1:], float(len(walk.items)))
    return _crossing(walk, before[: len(left)], left, right, after[len(after) - len(left) :], distance)


def _crossing(
    walk: _Walk, a0: Array, a1: Array, b0: Array, b1: Array, distance: float, near: bool = True
) -> tuple[Array, Array]:
    """Where the parallels of stretches from a0 to a1, and from b0 to b1 behind them, cross farthest from a1 and b0.

    Only what lies within an element or two is looked at. With `near` there should be one, and one so close to both ends
    that straight pieces miss it is found too.
    """
    if not len(a1):
        return a1, b0
    element = [
        walk.items.owner[np.clip(x.astype(np.intp), 0, len(walk.items.owner) - 1)] for x in (np.ceil(a1) - 1.0, b0)
    ]
    last = len(walk.first) - 1
    a0 = np.minimum(np.maximum(a0, walk.first[np.maximum(element[0] - 1, 0)]), a1)
    b1 = np.maximum(np.minimum(b1, walk.first[np.minimum(element[1] + 2, last)]), b0)
    xa, xb, found = _pieces_crossing(walk, a0, a1, b0, b1, distance, _COARSE)
    again = np.flatnonzero(~found)
    if near and len(again):
        finer = _pieces_crossing(walk, a0[again], a1[again], b0[again], b1[again], distance, _FINE)
        xa[again], xb[again], found[again] = finer
    first = xa.copy(), xb.copy()
    for _ in range(12):
        gap, da, db = _gaps(walk, xa, xb, distance)
        exact = cubics.norm(gap) <= 1e-10
        if exact.all():
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            both = cubics.cross(da, db)
            step_a, step_b = -cubics.cross(gap, db) / both, cubics.cross(da, gap) / both
        step_a, step_b = (np.where(np.isfinite(step), step, 0.0) for step in (step_a, step_b))
        xa, xb = np.clip(xa + step_a, a0, a1), np.clip(xb + step_b, b0, b1)
    ok = exact & (found | near)
    return (
        np.where(ok, xa, np.where(found, first[0], np.nan)),
        np.where(ok, xb, np.where(found, first[1], np.nan)),
    )


def _gaps(walk: _Walk, xa: Array, xb: Array, distance: float) -> tuple[Array, Array, Array]:
    """The gaps between pairs of places on the parallel, and its derivatives at either."""
    out = []
    for x in (xa, xb):
        item, t = walk.at(x)
        tangent = walk.items.tangents(item, t)
        foot, growth = walk.items.points(item, t), walk.growth(item, t, distance)
        out.append((foot + distance * walk.outside * cubics.left(tangent), growth[:, None] * tangent))
    (a, da), (b, db) = out
    return a - b, da, db


def _pieces_crossing(
    walk: _Walk, a0: Array, a1: Array, b0: Array, b1: Array, distance: float, pieces: int
) -> tuple[Array, Array, Bools]:
    """As `_crossing`, of parallels taken as straight pieces; where none cross, their near ends."""
    k, share = len(a1), np.linspace(0.0, 1.0, pieces + 1)
    xa, xb = a1[:, None] - (a1 - a0)[:, None] * share, b0[:, None] + (b1 - b0)[:, None] * share
    pa, pb = (walk.raw(x.ravel(), distance).reshape(k, pieces + 1, 2) for x in (xa, xb))
    # Pairs by pairs, x and y apart: this is where the time goes.
    da, db = (np.moveaxis(np.diff(p, axis=1), 2, 0) for p in (pa, pb))
    (ax, ay), (bx, by) = da[..., None], db[:, :, None]
    x, y = np.moveaxis(pb[:, None, :-1] - pa[:, :-1, None], 3, 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        both = ax * by - ay * bx
        on_a, on_b = (x * by - y * bx) / both, (x * ay - y * ax) / both
        hit = (on_a >= -1e-9) & (on_a <= 1.0 + 1e-9) & (on_b >= -1e-9) & (on_b <= 1.0 + 1e-9)
    far_a = np.where(hit, np.arange(pieces)[:, None] + on_a, -1.0).reshape(k, -1)
    far_b = np.where(hit, np.arange(pieces) + on_b, 0.0).reshape(k, -1)
    best = far_a.argmax(axis=1)
    number = np.arange(k)
    found = hit.reshape(k, -1)[number, best]
    share_a, share_b = (np.where(found, far[number, best], 0.0) / pieces for far in (far_a, far_b))
    return a1 - (a1 - a0) * share_a, b0 + (b1 - b0) * share_b, np.asarray(found)


_Places = tuple[Array, Array, Array, Array]


def _over_links(walk: _Walk, left: Array, right: Array, a: Array, b: Array, s: float) -> _Places:
    """The meetings, with those at both ends of a link made one where the raw edges of its neighbours meet over it."""
    own = walk.items.owner[(0.5 * (right[:-1] + left[1:])).astype(np.intp)]
    all_of_it = (walk.first[own] <= left[:-1] + 2.0) & (walk.items.owner[np.ceil(left[1:]).astype(np.intp) - 1] == own)
    k = np.flatnonzero((walk.kind[own] != _SCALLOP) & all_of_it)
    xa, xb = _crossing_over(walk, left, right, k, s)
    # Not where it only touches the link's own raw edge, or misses.
    meet = (xa <= a[k]) & (xb >= b[k + 1])
    k, xa, xb = k[meet], xa[meet], xb[meet]
    few = _every_second(k)
    return _made_one((left, right, a, b), k[few], xa[few], xb[few])


def _over_lost(walk: _Walk, left: Array, right: Array, a: Array, b: Array, s: float) -> _Places:
    """The meetings, with those at both ends of a stretch that has no raw edge left made one, until there are none."""
    while True:
        k = np.flatnonzero(b[:-1] >= a[1:])
        k = k[_every_second(k)] if len(k) else _missed(walk, left, right, a, s)
        if not len(k):
            return left, right, a, b
        xa, xb = _crossing_over(walk, left, right, k, s)
        left, right, a, b = _made_one((left, right, a, b), k, xa, xb)


def _crossing_over(walk: _Walk, left: Array, right: Array, k: Ints, s: float) -> tuple[Array, Array]:
    """Where the raw edge before a meeting crosses the one behind the next meeting; nan where it does not."""
    before, after = np.append(0.0, right), np.append(left, float(len(walk.items)))
    return _crossing(walk, before[k], left[k], right[k + 1], after[k + 2], s, near=False)


def _every_second(k: Ints) -> Bools:
    """Of numbers in order so many that no two follow each other."""
    run = np.cumsum(np.append(True, np.diff(k) > 1)[: len(k)])
    return np.asarray((np.arange(len(k)) - np.searchsorted(run, run)) % 2 == 0)


def _made_one(places: _Places, k: Ints, xa: Array, xb: Array) -> _Places:
    """Meetings, each of those numbered made one with the next."""
    left, right, a, b = (part.copy() for part in places)
    a[k], b[k], right[k] = xa, xb, right[k + 1]
    left, right, a, b = (np.delete(part, k + 1) for part in (left, right, a, b))
    return left, right, a, b


def _missed(walk: _Walk, left: Array, right: Array, a: Array, s: float) -> Ints:
    """The number of the meeting before a stretch that is lost because one beside it was not found; none or one."""
    for k in map(int, np.flatnonzero(np.isnan(a))):
        # The side that lies nearer to the other is the one lost.
        sides = [n for n in (k - 1, k) if 0 <= n < len(left) - 1]
        near = [_farthest(walk, right[n], left[n + 1], left[k] if n == k else right[k], s) for n in sides]
        if near and min(near) < s:
            return np.array([sides[int(np.argmin(near))]])
    return np.zeros(0, dtype=np.intp)


def _farthest(walk: _Walk, start: float, stop: float, corner: float, s: float) -> float:
    """How far the raw edge between two places comes away from the stitching line beyond a corner."""
    raw = walk.raw(np.linspace(start, stop, _FINE), s)
    beyond = np.linspace(0.0, corner, 8 * _FINE) if corner <= start else np.linspace(corner, len(walk.items), 8 * _FINE)
    other = walk.points(beyond)
    return float(cubics.norm(raw[:, None] - other).min(axis=1).max())


def _mitre(walk: _Walk, left: Array, right: Array, s: float) -> Array:
    """Where the parallels of the tangents beside corners meet; no farther than twice the distance."""
    middle = 0.5 * (left + right)
    there, back = (walk.items.tangents(*walk.at(x)) for x in (left, right))
    half = 0.5 * np.arctan2(cubics.cross(there, back), cubics.dot(there, back))
    reach = s / np.maximum(np.cos(half), 0.5)
    return np.asarray(walk.points(middle) + reach[:, None] * walk.outward(middle))


# ------------------------------------------------ curves that bulge and hollows


@dataclass(frozen=True, eq=False)
class _Cells:
    """The walk in pieces that turn one way.

    Attributes:
        x: their bounds (n + 1,).
        item, t0, t1: each one's item, and its parameters there.
        angle: through which each turns, positive where it bulges.
        length: of each, mm.
    """

    x: Array
    item: Ints
    t0: Array
    t1: Array
    angle: Array
    length: Array

    @property
    def middle(self) -> Array:
        """A place in each."""
        return 0.5 * (self.x[:-1] + self.x[1:])

    def run(self, s: float, bulging: bool = False) -> Array:
        """How long the raw edge is up to each bound, mm; with `bulging` as if no cell were hollow."""
        angle = np.maximum(self.angle, 0.0) if bulging else self.angle
        return np.append(0.0, np.cumsum(self.length + s * angle))


@dataclass(frozen=True, eq=False)
class _Stretches:
    """Stretches that bulge, or are hollow, all along.

    Attributes:
        cell: the cells that make them up, in order, (n,).
        group: each cell's stretch.
        first, last: the first and the last of each stretch's entries in `cell`, (k,).
        bulges: whether each bulges.
        angle: through which each turns, positive.
        length: of the stitching line along each, mm.
        crowded: whether the raw edge has no length along some of a hollow.
    """

    cell: Ints
    group: Ints
    first: Ints
    last: Ints
    bulges: Bools
    angle: Array
    length: Array
    crowded: Bools


def _cells(walk: _Walk, met: _Meetings, points: _Meetings, s: float) -> _Cells:
    bounds = [np.arange(len(walk.items) + 1.0), _inflections(walk.items), met.a, met.b, points.a, points.b]
    x = np.unique(np.concatenate([*bounds, walk.middle[walk.corner != 0.0]]))
    item = (0.5 * (x[:-1] + x[1:])).astype(np.intp)
    t0, t1 = x[:-1] - item, x[1:] - item
    length = walk.items.length(item, t1) - walk.items.length(item, t0)
    return _Cells(x, item, t0, t1, walk.outside * walk.items.turned(item, t0, t1), length)


def _inflections(items: _Items) -> Array:
    """Where cubics change the way they turn, and places between which none turns by half a circle."""
    c01, c02, c12 = _bends(items)
    roots = np.stack(cubics.quadratic_roots(c01 - c02 + c12, c02 - 2.0 * c01, c01), axis=1)
    item, which = np.nonzero((roots > 1e-9) & (roots < 1.0 - 1e-9) & ~items.round[:, None])
    d = np.diff(items.curve, axis=1)
    legs = np.arctan2(np.abs(cubics.cross(d[:, :-1], d[:, 1:])), cubics.dot(d[:, :-1], d[:, 1:])).sum(axis=1)
    wide = np.flatnonzero((legs > 2.5) & ~items.round)
    return np.concatenate([item + roots[item, which], (wide[:, None] + _LOOKS[1:-1]).ravel()])


def _bends(items: _Items) -> Array:
    """The product of a cubic's first and second derivative as a quadratic a (1-t)² + b t (1-t) + c t²: a, b, c (3, n).

    They are products of the control legs (from the product of Bernstein polynomials); what is rounding is 0.
    """
    out, other = np.zeros((3, len(items))), np.flatnonzero(~items.round)
    d = np.diff(items.curve[other], axis=1)
    products = np.stack([cubics.cross(d[:, i], d[:, j]) for i, j in ((0, 1), (0, 2), (1, 2))])
    out[:, other] = np.where(np.abs(products) > 1e-12 * np.square(d).sum(axis=(1, 2)), products, 0.0)
    return out


def _whole_turn(walk: _Walk, cells: _Cells, line: Trimmed) -> _Walk:
    """The walk round a loop, begun where that parts no stretch: behind a corner, else where its turning changes."""
    period = walk.end - walk.begin
    corners = np.flatnonzero(np.abs(walk.corner) >= _CORNER) + 1.0
    turning = np.flatnonzero(np.abs(cells.angle) > _STRAIGHT)
    change = turning[1:][np.diff(np.sign(cells.angle[turning])) != 0.0]
    for places in (corners, cells.x[change]):
        fit = places[(places >= walk.begin) & (places < walk.end) & (places + period <= len(walk.items))]
        if len(fit):
            return replace(walk, begin=float(fit[0]), end=float(fit[0]) + period)
    return walk


def _stretches(walk: _Walk, cells: _Cells, met: _Meetings, points: _Meetings) -> _Stretches:
    """The stretches whose raw edge is to be clipped or notched, corners left out."""
    middle = cells.middle
    lost, notched = met.over(middle), points.over(middle) >= 0
    at_corner = (lost >= 0) & met.corner[lost] if len(met.a) else lost >= 0
    out = notched | at_corner | ((lost >= 0) & (cells.angle > 0.0)) | (middle < walk.begin) | (middle > walk.end)
    taken = np.flatnonzero(~out & (np.abs(cells.angle) > _STRAIGHT))
    barrier = np.cumsum(out)[taken]
    bulges = cells.angle[taken] > 0.0
    new = np.append(True, (bulges[1:] != bulges[:-1]) | (barrier[1:] != barrier[:-1]))[: len(taken)]
    first = np.flatnonzero(new)
    if not len(first):
        none, nothing = np.zeros(0, dtype=np.intp), np.zeros(0)
        return _Stretches(none, none, none, none, none > 0, nothing, nothing, none > 0)
    return _Stretches(
        taken,
        np.cumsum(new) - 1,
        first,
        np.append(first[1:], len(taken)) - 1,
        bulges[first],
        np.add.reduceat(np.abs(cells.angle[taken]), first),
        np.add.reduceat(cells.length[taken], first),
        np.logical_or.reduceat(lost[taken] >= 0, first),
    )


def _spread(walk: _Walk, cells: _Cells, stretches: _Stretches, which: Ints, count: Ints) -> tuple[Ints, Ints, Array]:
    """So many places on each of some stretches, evenly by the angle turned: the stretch of each, its cell, its t."""
    owner = np.repeat(which, count)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    size = np.abs(cells.angle[stretches.cell])
    reached = np.append(0.0, np.cumsum(size))
    target = reached[stretches.first[owner]] + (number + 0.5) / np.repeat(count, count) * stretches.angle[owner]
    entry = np.clip(np.searchsorted(reached, target, side="right") - 1, stretches.first[owner], stretches.last[owner])
    cell = stretches.cell[entry]
    return owner, cell, _turned_by(walk, cells, cell, np.clip(target - reached[entry], 0.0, size[entry]))


def _turned_by(walk: _Walk, cells: _Cells, cell: Ints, angle: Array) -> Array:
    """The parameter at which a cell has turned by an angle: there its derivative has no part across that direction."""
    item, t0, t1 = cells.item[cell], cells.t0[cell], cells.t1[cell]
    hand = walk.outside * np.sign(cells.angle[cell])
    ahead = _turned(walk.items.tangents(item, t0), hand * angle)
    d = np.diff(walk.items.curve[item], axis=1)
    c0, c1, c2 = (cubics.cross(d[:, k], ahead) for k in range(3))
    share = angle / np.abs(cells.angle[cell])
    even = t0 + (t1 - t0) * share
    roots = np.stack(cubics.quadratic_roots(c0 - 2.0 * c1 + c2, 2.0 * (c1 - c0), c0), axis=1)
    roots = np.where(np.isfinite(roots), roots, np.inf)
    off = np.maximum(t0[:, None] - roots, roots - t1[:, None])
    best = roots[np.arange(len(cell)), off.argmin(axis=1)]
    good = (off.min(axis=1) <= 1e-6) & ~walk.items.round[item]
    return np.clip(np.where(good, best, even), t0, t1)


# ------------------------------------------------ clips, wedges and what can't be turned


_Clips = list[tuple[float, Clip]]
_Wedges = list[tuple[float, Wedge]]


@dataclass(frozen=True, eq=False)
class _TightStretches:
    """The stretches that can't be turned, the places to tell, and the smallest radius of all that bulge."""

    stretches: Ints
    places: tuple[Tight, ...]
    least_radius: float

    def any_of(self, stretches: _Stretches) -> Bools:
        out = np.zeros(len(stretches.angle), dtype=bool)
        out[self.stretches] = True
        return out


def _valley_clips(walk: _Walk, met: _Meetings, line: Trimmed, s: float, short: float) -> _Clips:
    """A clip to every hollow corner, from where the raw edges beside it meet."""
    k = np.flatnonzero(walk.corner <= -_CORNER)
    k = k[(k >= walk.begin - 1e-9) & (k + 1 <= walk.end + 1e-9)]
    x = walk.middle[k]
    valley = walk.items.curve[k, 0]
    start = met.point[met.over(x)]
    toward = start - valley
    point = valley + short * toward / cubics.norm(toward)[:, None]
    return _as_clips(walk, line, x, k, point, start, VALLEY)


def _needs_clips(stretches: _Stretches, s: float) -> Bools:
    return np.asarray(~stretches.bulges & (2.0 * s * stretches.angle >= _GIVES))


def _hollow_clips(
    walk: _Walk,
    cells: _Cells,
    stretches: _Stretches,
    met: _Meetings,
    line: Trimmed,
    s: float,
    short: float,
    widest: float,
) -> _Clips:
    """Clips along hollow curves, so near to each other that none opens too wide."""
    which = np.flatnonzero(_needs_clips(stretches, s))
    length = stretches.length[which]
    count = np.maximum(_parts(2.0 * s * stretches.angle[which], widest), _parts(length, _FARTHEST))
    count = np.where(stretches.crowded[which], np.minimum(count, _parts(length, _NEAREST)), count)
    _, cell, t = _spread(walk, cells, stretches, which, count)
    item = cells.item[cell]
    x = item + t
    lost = met.over(x)
    start = walk.raw(x, s)
    start[lost >= 0] = met.point[lost[lost >= 0]]
    return _as_clips(walk, line, x, item, walk.raw(x, short), start, HOLLOW)


def _parts(whole: Array, most: float) -> Ints:
    """Into how many equal parts lengths are parted for none to be longer than `most`: at least one."""
    return np.maximum(np.ceil(whole / most - 1e-9), 1.0).astype(np.intp)


def _point_wedges(walk: _Walk, cells: _Cells, points: _Meetings, line: Trimmed, s: float, short: float) -> _Wedges:
    """A wedge at every corner that bulges; on a fold the half of it that lies on the walk."""
    inside = (points.right > walk.begin + 1e-9) & (points.left < walk.end - 1e-9)
    a, b = np.maximum(points.a[inside], walk.begin), np.minimum(points.b[inside], walk.end)
    item = np.clip(points.left[inside], walk.begin, walk.end - 1.0).astype(np.intp)
    run = cells.run(s)
    width = np.interp(b, cells.x, run) - np.interp(a, cells.x, run)
    x = walk.middle[item]
    mouth = np.stack([walk.raw(a, s), walk.raw(b, s)], axis=1)
    return _as_wedges(walk, line, x, item, walk.raw(x, short), mouth, width)


def _curve_wedges(
    walk: _Walk,
    cells: _Cells,
    stretches: _Stretches,
    turns: Bools,
    line: Trimmed,
    s: float,
    short: float,
    widest: float,
) -> _Wedges:
    """Wedges along curves that bulge, as many and as wide as take out what is too much."""
    total = 2.0 * s * stretches.angle
    which = np.flatnonzero(stretches.bulges & turns & (total >= _GIVES))
    count = _parts(total[which], widest)
    owner, cell, t = _spread(walk, cells, stretches, which, count)
    width = total[owner] / np.repeat(count, count)
    item = cells.item[cell]
    x = item + t
    run = cells.run(s, bulging=True)
    at = run[cell] + _raw_within(walk, cells, cell, t, s)
    bounds = run[stretches.cell[stretches.first[owner]]], run[stretches.cell[stretches.last[owner]] + 1]
    ends = [walk.raw(_along_raw(walk, cells, np.clip(at + h * width, *bounds), run, s), s) for h in (-0.5, 0.5)]
    return _as_wedges(walk, line, x, item, walk.raw(x, short), np.stack(ends, axis=1), width)


def _raw_within(walk: _Walk, cells: _Cells, cell: Ints, t: Array, s: float) -> Array:
    """How long the raw edge is from a cell's beginning to a parameter."""
    item, t0 = cells.item[cell], cells.t0[cell]
    length = walk.items.length(item, t) - walk.items.length(item, t0)
    return np.asarray(length + s * walk.outside * walk.items.turned(item, t0, t))


def _along_raw(walk: _Walk, cells: _Cells, target: Array, run: Array, s: float) -> Array:
    """The places at lengths along the raw edge, by Newton inside a bracket that halves where he leaves it."""
    cell = np.clip(np.searchsorted(run, target, side="right") - 1, 0, len(cells.item) - 1)
    rest, whole = target - run[cell], run[cell + 1] - run[cell]
    low, high = cells.t0[cell].copy(), cells.t1[cell].copy()
    t = low + (high - low) * np.clip(np.divide(rest, whole, out=np.zeros_like(rest), where=whole > 0.0), 0.0, 1.0)
    for _ in range(40):
        miss = _raw_within(walk, cells, cell, t, s) - rest
        if np.abs(miss).max(initial=0.0) <= 1e-11:
            break
        low, high = np.where(miss < 0.0, t, low), np.where(miss < 0.0, high, t)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = t - miss / walk.growth(cells.item[cell], t, s)
        t = np.where((step >= low) & (step <= high), step, 0.5 * (low + high))
    return np.asarray(cells.item[cell] + t)


def _tight(walk: _Walk, cells: _Cells, stretches: _Stretches, line: Trimmed, s: float) -> _TightStretches:
    """Stretches whose least radius is no more than the allowance."""
    use = np.flatnonzero(stretches.bulges[stretches.group] & (walk.corner[cells.item[stretches.cell]] == 0.0))
    if not len(use):
        return _TightStretches(np.zeros(0, dtype=np.intp), (), math.inf)
    cell, group = stretches.cell[use], stretches.group[use]
    t = cells.t0[cell][:, None] + (cells.t1 - cells.t0)[cell][:, None] * _LOOKS
    item = np.repeat(cells.item[cell], len(_LOOKS))
    bent = _bent(walk, item, t.ravel()).reshape(t.shape)
    most = np.zeros(len(stretches.angle))
    np.maximum.at(most, group, bent.max(axis=1))
    turning = 2.0 * s * stretches.angle >= _GIVES
    least = 1.0 / max(float(most[turning].max(initial=0.0)), 1e-12)
    found = np.flatnonzero((most * s >= 1.0 - 1e-9) & turning)
    _, mid_cell, mid_t = _spread(walk, cells, stretches, found, np.ones(len(found), dtype=np.intp))
    mid_bent = _bent(walk, cells.item[mid_cell], mid_t)
    places = []
    for k, middle, m_cell, m_t in zip(found, mid_bent, mid_cell, mid_t, strict=True):
        x = float(cells.item[m_cell] + m_t)
        # Of equally tight places the middle one.
        if middle < most[k] * (1.0 - 1e-6):
            row, column = np.unravel_index(np.argmax(np.where((group == k)[:, None], bent, -1.0)), bent.shape)
            x = float(cells.item[cell[row]] + t[row, column])
        places.append((x, 1.0 / float(most[k])))
    tightest = np.array([place for place, _ in places])
    told = _told(walk, line, tightest, walk.at(tightest)[0], walk.points(tightest)[None])
    return _TightStretches(
        found,
        tuple(
            Tight(point[0], radius, along, scallop)
            for (_, radius), (point, along, scallop) in zip(places, told, strict=True)
        ),
        least,
    )


def _bent(walk: _Walk, item: Ints, t: Array) -> Array:
    """Curvatures, positive where the line bulges."""
    speed, bend = walk.items.rates(item, t)
    return np.divide(walk.outside * bend, speed, out=np.zeros(len(t)), where=speed > 0.0)


# ------------------------------------------------ told in the frame of the turn, with scallop and length


def _as_clips(walk: _Walk, line: Trimmed, x: Array, item: Ints, point: Array, start: Array, kind: str) -> _Clips:
    told = _told(walk, line, x, item, np.stack([point, start]))
    return [
        (float(place), Clip(ends[0], ends[1], s, kind, scallop))
        for place, (ends, s, scallop) in zip(x, told, strict=True)
    ]


def _as_wedges(walk: _Walk, line: Trimmed, x: Array, item: Ints, tip: Array, mouth: Array, width: Array) -> _Wedges:
    told = _told(walk, line, x, item, np.stack([tip, mouth[:, 0], mouth[:, 1]]))
    return [
        (float(place), Wedge(points[0], points[1:], float(wide), s, scallop))
        for place, wide, (points, s, scallop) in zip(x, width, told, strict=True)
    ]


def _told(walk: _Walk, line: Trimmed, x: Array, item: Ints, points: Array) -> list[tuple[Array, float, int]]:
    """For each place its points (m, 2) in the frame of its element's own turn, its length and its scallop."""
    out = np.moveaxis(points, 1, 0).copy()
    owner = walk.items.owner[item]
    turns, kind, scallop = walk.turns[owner], walk.kind[owner], walk.scallop[owner]
    closing = line.course.measured.closing
    foot = walk.points(x)
    for turn in np.unique(turns[turns != 0]):
        back = motion.power(motion.IDENTITY if closing is None else closing, -int(turn))
        here = turns == turn
        out[here], foot[here] = motion.apply(back, out[here]), motion.apply(back, foot[here])
    s = np.where(kind == _SCALLOP, _on_scallops(line, scallop, foot), _on_links(walk, line, owner, x))
    return list(zip(out, s.tolist(), scallop.tolist(), strict=True))


def _on_scallops(line: Trimmed, scallop: Ints, point: Array) -> Array:
    """Lengths along the course below points of scallops, by their place along the base line."""
    row = line.placed.row
    start, chord = row.start[scallop], (row.end - row.start)[scallop]
    share = cubics.dot(point - start, chord) / cubics.dot(chord, chord)
    part = row.part[scallop]
    share = np.where(part == FIRST_HALF, 2.0 * share, np.where(part == SECOND_HALF, 2.0 * share - 1.0, share))
    s0, s1 = row.s_start[scallop], row.s_end[scallop]
    return np.asarray(s0 + np.clip(share, 0.0, 1.0) * (s1 - s0))


def _on_links(walk: _Walk, line: Trimmed, owner: Ints, x: Array) -> Array:
    """Lengths along the course below points of what leads from scallop to scallop, by how far along it they lie."""
    row, m = line.placed.row, line.course.measured
    s_next = np.append(row.s_start[1:], row.s_start[0] + m.length if line.course.loop else m.length)
    scallop, lead = walk.scallop[owner], walk.kind[owner] == _LEAD
    s0, s1 = np.where(lead, 0.0, row.s_end[scallop]), np.where(lead, row.s_start[0], s_next[scallop])
    up_to = np.append(0.0, np.cumsum(walk.items.lengths))
    item, t = walk.at(x)
    reached = up_to[item] + walk.items.length(item, t)
    begin, end = up_to[walk.first[owner]], up_to[walk.first[owner + 1]]
    share = np.divide(reached - begin, end - begin, out=np.zeros(len(owner)), where=end > begin)
    return np.asarray(s0 + np.clip(share, 0.0, 1.0) * (s1 - s0))
