"""The chain of links that a group of spans makes, for given counts, and the row of scallops it solves to.

Spans that meet at a valley have nothing to do with each other. Those that meet at a crest share the scallop there,
and those that meet at a wrapped corner share the corner scallop: they form a group and are solved together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from ..geometry import dividers
from ..geometry.cubics import Array, Ints
from ..geometry.length import Measured
from .course import CREST, VALLEY, WRAP, Course, Span, Stop, Wish
from .row import FIRST_HALF, SECOND_HALF, WHOLE, Row

# How far beside a stop the directions of the course are taken, mm.
_BESIDE = 1e-6

_SPACE, _SCALLOP, _HALF, _INTO_CORNER, _OUT_OF_CORNER, _SHARED = range(6)


@dataclass(frozen=True, eq=False)
class _Block:
    """Some links in a row, all of one sort; lengths are `border` @ widths + `fixed`."""

    kind: int
    what: Ints
    weight: Array
    border: Array
    fixed: Array
    anchor: Array = field(default_factory=lambda: np.zeros(2))
    normal: Array = field(default_factory=lambda: np.zeros(2))
    turn: float = 0.0


@dataclass(frozen=True, eq=False)
class Plan:
    """The chain of a group, and what each of its links stands for.

    `shares` (k, k + 1) tells each span's length by the widths, its last column the fixed part.
    """

    chain: dividers.Chain
    what: Ints
    weight: Array
    span: Ints
    turn: Array
    border: Array
    shares: Array


@dataclass(frozen=True, eq=False)
class Solved:
    """A group with its nodes and widths."""

    measured: Measured
    plan: Plan
    steps: dividers.Steps


def groups(spans: list[Span]) -> list[list[int]]:
    """Numbers of the spans that must be solved together, in order."""
    found = [[0]]
    for i in range(1, len(spans)):
        if spans[i].start.hold == VALLEY:
            found.append([])
        found[-1].append(i)
    return found


def solve(
    course: Course, spans: list[Span], group: list[int], counts: list[float], wish: Wish, thorough: bool = False
) -> Solved | None:
    """The group with these counts, or None where it has no exact fit; `thorough` as in `dividers.solve`."""
    made = plan(course, spans, group, counts, wish)
    if made is None:
        return None
    if wish.along:
        return _along(course, [spans[i] for i in group], made)
    steps = dividers.solve(course.measured, made.chain, thorough)
    return None if steps is None else Solved(course.measured, made, steps)


def plan(course: Course, spans: list[Span], group: list[int], counts: list[float], wish: Wish) -> Plan | None:
    """The chain of a group of spans; None where a count has no room for the halves it must hold.

    A crest at either end of the group becomes a mirror line, square to the course where the course goes on.
    """
    builder = _Builder(course, spans, group, wish)
    sizes = [weights_of(course, spans, i, n, wish) for i, n in zip(group, counts, strict=True)]
    if any(len(g) == 0 for g in sizes):
        return None
    return builder.build(sizes)


def weights_of(course: Course, spans: list[Span], i: int, count: float, wish: Wish) -> Array:
    """Weights of the span's scallops in order, its halves at crests included."""
    span, whole_length = spans[i], course.measured.length
    pieces = count + 0.5 * span.halves
    if pieces < span.halves or abs(pieces - round(pieces)) > 1e-9:
        return np.zeros(0)
    return wish.weights.sizes(round(pieces), span.begin / whole_length, span.finish / whole_length)


class _Builder:
    """Puts the links of a group together, span by span."""

    def __init__(self, course: Course, spans: list[Span], group: list[int], wish: Wish) -> None:
        self.course, self.wish, self.group = course, wish, group
        self.spans = [spans[i] for i in group]
        self.whole = len(group) == len(spans)
        first = self.spans[0].start
        self.round = course.loop and self.whole and first.hold != VALLEY
        self.cyclic = self.round and first.hold == CREST
        self.blocks: list[_Block] = []
        self.ends: list[int] = []

    def build(self, sizes: list[Array]) -> Plan:
        columns = len(self.spans)
        for k, (span, g) in enumerate(zip(self.spans, sizes, strict=True)):
            if k == 0 and not self.cyclic:
                self._begin(span.start, float(g[0]))
            wholes = g[(span.start.hold == CREST) : len(g) - (span.end.hold == CREST)]
            self._scallops(wholes, k, span)
            following = k + 1 if k + 1 < columns else 0 if self.round else None
            if following is None or (following == 0 and not self.cyclic):
                self._finish(span.end, k, float(g[-1]))
            else:
                self._share(span.end, k, following, float(g[-1]), float(sizes[following][0]))
            self.ends.append(sum(len(block.what) for block in self.blocks))
        return self._assemble()

    # -- the links at stops

    def _begin(self, stop: Stop, weight: float) -> None:
        if stop.hold == CREST:
            anchor, normal = self._mirror(stop)
            self._one(dividers.FROM_LINE, _HALF, {0: 0.5 * weight}, weight=weight, anchor=anchor, normal=normal)
        elif stop.hold == WRAP:
            self._one(dividers.CHORD, _OUT_OF_CORNER, self._corner_shares(0), turn=stop.turn)
        elif self._halves_a_space(stop):
            self._one(dividers.CHORD, _SPACE, {}, 0.5 * self.wish.space)

    def _finish(self, stop: Stop, k: int, weight: float) -> None:
        if stop.hold == CREST:
            anchor, normal = self._mirror(stop)
            self._one(dividers.TO_LINE, _HALF, {k: 0.5 * weight}, weight=weight, anchor=anchor, normal=normal)
        elif stop.hold == WRAP:
            self._one(dividers.CHORD, _INTO_CORNER, self._corner_shares(k), turn=stop.turn)
        elif self._halves_a_space(stop):
            self._one(dividers.CHORD, _SPACE, {}, 0.5 * self.wish.space)
        elif self.course.loop and self.wish.space > 0.0 and not stop.gap:
            # Round a loop without a joint the last space is a whole one, so that every space is the same chord.
            self._one(dividers.CHORD, _SPACE, {}, self.wish.space)

    def _share(self, stop: Stop, k: int, following: int, last: float, first: float) -> None:
        """The links at a stop that belongs to two spans of the group."""
        if stop.hold == WRAP:
            both = {k: 0.5, following: 0.5}
            self._one(dividers.CHORD, _INTO_CORNER, both, turn=stop.turn)
            self._one(dividers.CHORD, _OUT_OF_CORNER, both, turn=stop.turn)
            return
        share: dict[int, float] = {k: 0.5 * last}
        share[following] = share.get(following, 0.0) + 0.5 * first
        anchor = self.course.measured.points(np.array([stop.s]))[0]
        self._one(dividers.PIVOT, _SHARED, share, weight=0.5 * (first + last), anchor=anchor)

    def _corner_shares(self, k: int) -> dict[int, float]:
        """Whose width a wrapped corner at the group's end takes: both neighbours' where the course closes there."""
        if self.round and len(self.spans) > 1:
            return {0: 0.5, len(self.spans) - 1: 0.5}
        return {k: 1.0}

    def _halves_a_space(self, stop: Stop) -> bool:
        """Whether scallops stand on both sides of a valley hold, so that half of the space between them is here.

        Where a loop begins they do too, but only a joint there parts the space.
        """
        inside = 1e-9 < stop.s < self.course.measured.length - 1e-9
        return self.wish.space > 0.0 and not stop.gap and (inside or stop.fold or stop.joint)

    def _mirror(self, stop: Stop) -> tuple[Array, Array]:
        m = self.course.measured
        anchor = m.points(np.array([stop.s]))[0]
        if stop.mirror is not None:
            return anchor, np.array(stop.mirror)
        # At a corner square to the bisector, so that the mirror line belongs to both sides.
        beside = np.array([stop.s - _BESIDE, stop.s + _BESIDE])
        tangents = m.tangents(beside)
        both = tangents.sum(axis=0)
        length = float(np.hypot(*both))
        return anchor, both / length if length > 1e-6 else tangents[1]

    # -- the links between stops

    def _scallops(self, weights: Array, k: int, span: Span) -> None:
        space, n = self.wish.space, len(weights)
        if space <= 0.0:
            if n:
                self._row(np.full(n, _SCALLOP), weights, k, 0.0)
            return
        # A space stands between any two neighbours, so also next to the half, or the corner, that opens the span.
        what = np.full(2 * n + 1, _SPACE)
        what[1::2] = _SCALLOP
        sized = np.ones(2 * n + 1)
        sized[1::2] = weights
        first = 1 if span.start.hold == VALLEY else 0
        last = len(what) - 1 if span.end.hold == VALLEY else len(what)
        if first < last:
            self._row(what[first:last], sized[first:last], k, space)

    def _row(self, what: Ints, weights: Array, k: int, space: float) -> None:
        border = np.zeros((len(what), len(self.spans)))
        scallop = what == _SCALLOP
        border[:, k] = np.where(scallop, weights, 0.0)
        self.blocks.append(_Block(dividers.CHORD, what, weights, border, np.where(scallop, 0.0, space)))

    def _one(
        self,
        kind: int,
        what: int,
        share: dict[int, float],
        fixed: float = 0.0,
        *,
        weight: float = 1.0,
        anchor: Array | None = None,
        normal: Array | None = None,
        turn: float = 0.0,
    ) -> None:
        border = np.zeros((1, len(self.spans)))
        for column, factor in share.items():
            border[0, column] += factor
        zero = np.zeros(2)
        self.blocks.append(
            _Block(
                kind,
                np.array([what]),
                np.array([weight]),
                border,
                np.array([fixed]),
                zero if anchor is None else anchor,
                zero if normal is None else normal,
                turn,
            )
        )

    # -- all together

    def _assemble(self) -> Plan:
        blocks = self.blocks
        sizes = [len(block.what) for block in blocks]
        kind = np.repeat([block.kind for block in blocks], sizes)
        turn = np.repeat([block.turn for block in blocks], sizes)
        anchor = np.repeat(np.stack([block.anchor for block in blocks]), sizes, axis=0)
        normal = np.repeat(np.stack([block.normal for block in blocks]), sizes, axis=0)
        what = np.concatenate([block.what for block in blocks])
        weight = np.concatenate([block.weight for block in blocks])
        border = np.concatenate([block.border for block in blocks])
        fixed = np.concatenate([block.fixed for block in blocks])
        widths = np.array([span.length for span in self.spans]) / np.maximum(border.sum(axis=0), 0.5)
        lengths = _lengths(border, fixed, turn, self.wish)
        pinned = np.zeros(len(kind) + 1, dtype=bool)
        pinned[:-1] |= what == _OUT_OF_CORNER
        pinned[1:] |= what == _INTO_CORNER
        if not self.cyclic:
            pinned[[0, -1]] = True
        start = self._guess(lengths(widths)[0], what, pinned)
        chain = dividers.Chain(start, pinned, kind, anchor, normal, lengths, widths, self.cyclic)
        owner = np.repeat(self.group, np.diff([0, *self.ends]))
        owner = np.where(np.isin(what, (_SCALLOP, _HALF, _SPACE)), owner, -1)
        return Plan(chain, what, weight, owner, turn, border, self._span_shares(border, fixed, what))

    def _guess(self, length: Array, what: Ints, pinned: Array) -> Array:
        """Nodes spread by the links' lengths between the places that are known."""
        run = np.concatenate([[0.0], np.cumsum(length)])
        at, s = [], []
        if self.cyclic:
            at.append(-0.5 * length[-1])
            s.append(self.spans[0].start.s)
        else:
            at.append(0.0)
            s.append(self.spans[0].begin)
        for span, end in zip(self.spans, self.ends, strict=True):
            if what[end - 1] == _SHARED:
                at.append(0.5 * (run[end - 1] + run[end]))
            elif what[end - 1] == _OUT_OF_CORNER:
                at.append(run[end - 1])
            else:
                at.append(run[end])
            s.append(span.finish)
        guess = np.interp(run, at, s)
        if self.cyclic:
            guess[-1] = guess[0] + self.course.measured.length
        return np.asarray(guess)

    def _span_shares(self, border: Array, fixed: Array, what: Ints) -> Array:
        """Each span's length by widths, a shared scallop counted half to either side."""
        table = np.concatenate([border, fixed[:, None]], axis=1)
        out = np.zeros((len(self.spans), table.shape[1]))
        begin = 0
        for k, end in enumerate(self.ends):
            rows = table[begin:end].copy()
            shared = what[begin:end] == _SHARED
            rows[shared] *= 0.5
            out[k] += rows.sum(axis=0)
            out[(k + 1) % len(self.spans)] += rows[shared].sum(axis=0)
            begin = end
        return out


def corner_reach(width: float, turn: float, wish: Wish) -> tuple[float, float]:
    """How far from a corner the scallop that wraps it has its valleys, and how much that grows with the width.

    The arcs' centre lies a = r - h inside both edges, so its foot is a tan(turn / 2) from the corner and the valley
    w / 2 further; a = w² / 8 h - h / 2.
    """
    h, slope = wish.shape.depth(width), wish.shape.depth_slope(width)
    a = width * width / (8.0 * h) - 0.5 * h
    growth = width / (4.0 * h) - slope * (width * width / (8.0 * h * h) + 0.5)
    lean = math.tan(0.5 * abs(turn))
    return 0.5 * width + a * lean, 0.5 + growth * lean


def _lengths(border: Array, fixed: Array, turn: Array, wish: Wish) -> dividers.Lengths:
    corners = np.flatnonzero(turn)

    def lengths(widths: Array) -> tuple[Array, Array]:
        value, by_width = border @ widths + fixed, border
        if len(corners):
            by_width = border.copy()
            for i in corners:
                reach, growth = corner_reach(float(value[i]), float(turn[i]), wish)
                value[i], by_width[i] = reach, border[i] * growth
        return value, by_width

    return lengths


def _along(course: Course, spans: list[Span], made: Plan) -> Solved | None:
    """Nodes at equal lengths along the course."""
    chain, shares = made.chain, made.shares
    room = np.array([span.length for span in spans]) - shares[:, -1]
    widths: Array = np.asarray(np.linalg.solve(shares[:, :-1], room), dtype=np.float64)
    if (widths <= 0.0).any():
        return None
    run = np.concatenate([[0.0], np.cumsum(chain.lengths(widths)[0])])
    shift = 0.5 * chain.lengths(widths)[0][-1] if chain.cyclic else 0.0
    s = spans[0].begin + shift + run
    s[-1] = s[0] + course.measured.length if chain.cyclic else spans[-1].finish
    return Solved(course.measured, made, dividers.Steps(s, course.measured.points(s), widths, 0.0))


def place(solved: Solved) -> Row:
    """The row of scallops that the solved chain stands for."""
    m, made, steps = solved.measured, solved.plan, solved.steps
    what, p, s = made.what, steps.points, steps.s
    start, end = p[:-1].copy(), p[1:].copy()
    s_end = s[1:].copy()
    part = np.full(len(what), WHOLE)
    for i in np.flatnonzero(what == _HALF):
        anchor, normal = made.chain.anchor[i], made.chain.normal[i]
        first = made.chain.kind[i] == dividers.FROM_LINE
        valley = end[i] if first else start[i]
        image = valley - 2.0 * ((valley - anchor) @ normal) * normal
        start[i], end[i] = (image, valley) if first else (valley, image)
        part[i] = SECOND_HALF if first else FIRST_HALF
    corner = what == _INTO_CORNER
    for i in np.flatnonzero(corner):
        over_closing = i + 2 >= len(p)
        end[i] = m.carried(p[1]) if over_closing else p[i + 2]
        s_end[i] = s[1] + m.length if over_closing else s[i + 2]
    width = np.hypot(*(end - start).T)
    turn = np.where(corner, made.turn, 0.0)
    keep = np.isin(what, (_SCALLOP, _HALF, _SHARED, _INTO_CORNER))
    return Row(
        start[keep],
        end[keep],
        s[:-1][keep],
        s_end[keep],
        width[keep],
        np.where(corner, made.border @ steps.widths, width)[keep],
        made.weight[keep],
        part[keep],
        made.span[keep],
        turn[keep],
    )
