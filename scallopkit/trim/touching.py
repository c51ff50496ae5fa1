"""Scallops that touch the drawn line with their crests, or with the middle of their depth, instead of their valleys.

The base line of each scallop, with half of the space on either side of it, is one straight line; its raised point,
the crest or the point at half depth, lies on the course. Valleys are free points: spans that meet at a hold share
the valley or the scallop there, so all spans are solved together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, raised
from ..geometry.cubics import Array, Ints
from ..geometry.length import Measured
from ..geometry.raised import Bases, Line, Mirror, Peak, Raised
from .course import CREST, VALLEY, WRAP, Course, Span, Stop, Wish
from .layout import weights_of
from .row import FIRST_HALF, SECOND_HALF, WHOLE, Row, joined

# Segments this near to a hold, as a share of the course, meet there.
_BESIDE = 1e-9


@dataclass(frozen=True, eq=False)
class Touching:
    """A fitted row.

    Attributes:
        row: the scallops.
        widths: for each span.
        slid: by how much the first valley of a loop lies beyond the loop's first point, mm; 0 unless `slide`.
    """

    row: Row
    widths: tuple[float, ...]
    slid: float = 0.0


def solve_touching(
    course: Course, spans: list[Span], counts: list[float], wish: Wish, slide: bool = False
) -> Touching | None:
    """Scallops whose crests (`wish.touch` "crest") or middles ("middle") lie on the course.

    Args:
        course: the course.
        spans: all its spans; or one alone, whose inner holds then become mirror lines and end lines.
        counts: scallops of each span, halves at crests included.
        wish: shape, weights, space and touch.
        slide: round a loop an even count closes only from certain starts. With it, a loop whose only hold is the
            valley at its first point may start beside that, where no row starts at it.

    Returns:
        The row, or None where these counts have no sound fit: most of all where crests are held at both ends of an
        edge that is not symmetric, for a row has no freedom left there.

    Raises:
        RequestError: a corner is to be wrapped, or the steps are to be equal along the edge.
    """
    if any(stop.hold == WRAP for span in spans for stop in (span.start, span.end)):
        raise RequestError(
            f"no scallop can wrap a corner while its {wish.touch} touches the edge: "
            "ask for --corner hold, or for --touch valley"
        )
    if wish.along:
        raise RequestError(
            f"scallops whose {wish.touch} touches the edge stand at equal chords: "
            "leave out --step along, or ask for --touch valley"
        )
    weights = [weights_of(course, spans, i, n, wish) for i, n in enumerate(counts)]
    if any(len(g) == 0 for g in weights):
        return None
    rows: list[tuple[int, Row]] = []
    widths, slid = np.zeros(len(spans)), 0.0
    whole = _whole(course, spans)
    for section in _sections(course, spans):
        built = _Section(course, [spans[i] for i in section], [weights[i] for i in section], wish, whole)
        laid = raised.lay(course.measured, built.bases)
        if laid is None and slide and built.may_slide:
            laid = raised.lay_sliding(course.measured, built.bases)
            slid = 0.0 if laid is None else _slid(course, laid)
        if laid is None:
            return None
        widths[section] = laid.widths
        rows.append((section[0], _row(course, section, built, laid, slid)))
    return Touching(_in_order(rows, course.measured), tuple(float(w) for w in widths), slid)


def _whole(course: Course, spans: list[Span]) -> bool:
    """Whether the spans go all round a loop."""
    return course.loop and spans[-1].end.s - spans[0].start.s > course.measured.length * (1.0 - 1e-9)


def _sections(course: Course, spans: list[Span]) -> list[list[int]]:
    """Numbers of the spans that share valleys or scallops.

    A gap ends a section; round a loop the last may run on into the first.
    """
    found = [[0]]
    for i, (a, _) in enumerate(pairwise(spans), start=1):
        if a.end.gap:
            found.append([])
        found[-1].append(i)
    if len(found) > 1 and _whole(course, spans) and not spans[0].start.gap:
        found[0] = found.pop() + found[0]
    return found


class _Section:
    """The base lines of neighbouring spans without a gap between them.

    Attributes:
        bases: for the solver.
        part, weight, owner: what each base line is, as in a row; the owner is a place in the section, -1 for two.
        halves: the mirrored scallops at the ends, with the weights of their wholes.
        held: numbers of the held valleys, with their lengths along the course.
    """

    def __init__(self, course: Course, spans: list[Span], weights: list[Array], wish: Wish, whole: bool) -> None:
        self.course, self.spans, self.wish = course, spans, wish
        self.closed = whole and not any(span.start.gap for span in spans) and _goes_round(course, spans)
        self.halves: list[tuple[Mirror, float]] = []
        self.held: list[tuple[int, float]] = []
        self._share: list[Array] = []
        self._weight: list[Array] = []
        self._owner: list[Ints] = []
        self._conditions: list[Line | Peak | Mirror] = []
        # Lengths run on past the end of a loop.
        self._turns = course.measured.length * np.cumsum([0, *(b.start.s < a.start.s for a, b in pairwise(spans))])
        self._known: list[tuple[float, float]] = []
        self._run = 0.0
        self._widths = np.array(
            [
                max((span.length - wish.space * (len(g) - 1)) / (float(g.sum()) - 0.5 * _half_weights(span, g)), 1e-9)
                for span, g in zip(spans, weights, strict=True)
            ]
        )
        self.bases = self._build(weights)
        self.weight = np.concatenate(self._weight) if self._weight else np.zeros(0)
        self.owner = np.concatenate(self._owner) if self._owner else np.zeros(0, dtype=np.intp)

    def _build(self, weights: list[Array]) -> Bases:
        first, last = self.spans[0].start, self.spans[-1].end
        opens_shared = self.closed and first.hold == CREST
        if first.hold == CREST and not self.closed:
            self._mirror(first, 0, float(weights[0][0]), sense=1.0)
        elif opens_shared:
            share = self._shared(len(self.spans) - 1, 0, weights)
            self._known.append((-0.5 * (float(share @ self._widths) + self.wish.space), 0.0))
        else:
            self._line(first, self.spans[0].begin)
        for k, (span, g) in enumerate(zip(self.spans, weights, strict=True)):
            self._wholes(g[(span.start.hold == CREST) : len(g) - (span.end.hold == CREST)], k)
            turned = float(self._turns[k])
            if k + 1 < len(self.spans) or opens_shared:
                if span.end.hold == CREST:
                    self._peak(k, (k + 1) % len(self.spans), weights, span.end.s + turned)
                else:
                    self._line(span.end, span.end.s, turned)
            elif span.end.hold == CREST:
                self._mirror(last, k, float(g[-1]), sense=-1.0, turned=turned)
            elif self.closed:
                self._known.append((self._run, span.finish + turned))
                self.held.append((self._count, span.finish + turned))
            else:
                self._line(last, span.finish, turned)
        return self._bases(*self._stretches())

    # -- pieces

    def _wholes(self, g: Array, k: int) -> None:
        share = np.zeros((len(g), len(self.spans)))
        share[:, k] = g
        self._add(share, g, k)

    def _peak(self, k: int, following: int, weights: list[Array], s: float) -> None:
        """The scallop at a crest that two spans share."""
        share = self._shared(k, following, weights)
        half = 0.5 * (float(share @ self._widths) + self.wish.space)
        self._conditions.append(Peak(self._count, s))
        self._known.append((self._run + half, s))
        self._add(share[None], np.array([share.sum()]), -1)

    def _add(self, share: Array, weight: Array, owner: int) -> None:
        self._share.append(share)
        self._weight.append(weight)
        self._owner.append(np.full(len(weight), owner))
        self._run += float((share @ self._widths).sum()) + self.wish.space * len(weight)

    def _shared(self, k: int, following: int, weights: list[Array]) -> Array:
        share = np.zeros(len(self.spans))
        share[k] += 0.5 * weights[k][-1]
        share[following] += 0.5 * weights[following][0]
        return share

    def _line(self, stop: Stop, s: float, turned: float = 0.0) -> None:
        """A valley on the line across the course at `s`, the stop's place or where its gap ends."""
        s += turned
        normal = _across(self.course, s) if stop.mirror is None or stop.gap else np.array(stop.mirror)
        self._conditions.append(Line(self._count, self._point(s), normal))
        self._known.append((self._run, s))
        self.held.append((self._count, s))

    def _mirror(self, stop: Stop, k: int, weight: float, sense: float, turned: float = 0.0) -> None:
        """The half scallop at a mirror line."""
        s = stop.s + turned
        normal = _across(self.course, s) if stop.mirror is None else np.array(stop.mirror)
        share = np.zeros(len(self.spans))
        share[k] = weight
        mirror = Mirror(self._count, self._point(s), normal, sense, share, 0.5 * self.wish.space)
        self._conditions.append(mirror)
        self.halves.append((mirror, weight))
        half = 0.5 * (weight * float(self._widths[k]) + self.wish.space)
        self._known.append((self._run - sense * half, s))

    def _point(self, s: float) -> Array:
        return np.asarray(self.course.measured.points(np.array([s]))[0])

    @property
    def may_slide(self) -> bool:
        """Whether nothing is held but the first valley of a loop."""
        return self.closed and len(self._conditions) == 1 and isinstance(self._conditions[0], Line)

    @property
    def _count(self) -> int:
        """How many base lines there are so far, which is the number of the last valley."""
        return sum(len(g) for g in self._weight)

    # -- all together

    def _stretches(self) -> tuple[Array, Array]:
        """Half a space on either side of each base line, but none at a free end."""
        n = self._count
        lead, trail = np.full(n, 0.5 * self.wish.space), np.full(n, 0.5 * self.wish.space)
        if n and not self.closed:
            if self._free(self.spans[0].start):
                lead[0] = 0.0
            if self._free(self.spans[-1].end):
                trail[-1] = 0.0
        return lead, trail

    def _free(self, stop: Stop) -> bool:
        at_end = not self.course.loop and not 1e-9 < stop.s < self.course.measured.length - 1e-9
        return stop.hold == VALLEY and (stop.gap > 0.0 or (at_end and not stop.fold))

    def _bases(self, lead: Array, trail: Array) -> Bases:
        columns = len(self.spans)
        share = np.concatenate([*self._share, np.zeros((0, columns))])
        run = np.concatenate([[0.0], np.cumsum(share @ self._widths + lead + trail)])
        at, s = np.array(self._known).T
        start = np.interp(run, at, s)
        return Bases(
            self.course.side,
            self.closed,
            share,
            lead,
            trail,
            _peak_place(self.wish),
            _heights(self.wish),
            start,
            self._widths,
            tuple(self._conditions),
        )


def _goes_round(course: Course, spans: list[Span]) -> bool:
    return bool(np.isclose(sum(span.end.s - span.start.s for span in spans), course.measured.length, rtol=1e-9))


def _half_weights(span: Span, g: Array) -> float:
    return float((span.start.hold == CREST) * g[0] + (span.end.hold == CREST) * g[-1])


def _peak_place(wish: Wish) -> float:
    """Where the raised point stands over the base line of a scallop, as a share of the width."""
    own = wish.shape.own
    return own.crest if own is not None and wish.touch == CREST else 0.5


def _heights(wish: Wish) -> raised.Heights:
    share = 1.0 if wish.touch == CREST else 0.5
    shape = wish.shape

    def heights(size: Array) -> tuple[Array, Array]:
        different, which = np.unique(size, return_inverse=True)
        try:
            depth = np.array([shape.depth(float(w)) for w in different])
            growth = np.array([shape.depth_slope(float(w)) for w in different])
        except RequestError:
            # A width that the shape can't have: no fit.
            depth = growth = np.full(len(different), np.nan)
        return share * depth[which], share * growth[which]

    return heights


def _across(course: Course, s: float) -> Array:
    """Unit vector in the walking direction that the line across the course at `s` is square to; a corner's mean."""
    m = course.measured
    beside = np.array([s - _BESIDE * m.length, s + _BESIDE * m.length])
    segment, t = m.at(beside)
    if segment[0] == segment[1] and t[0] <= t[1]:
        return np.asarray(m.tangents(np.array([s]))[0])
    before, after = m.tangents(beside)
    mean = before + after
    size = float(np.hypot(*mean))
    return np.asarray(mean / size if size > 1e-6 else before)


# ---------------------------------------------------------------- the row


def _row(course: Course, section: list[int], built: _Section, laid: Raised, slid: float) -> Row:
    """The scallops of a section in order, its halves at mirror lines included."""
    bases, v = built.bases, laid.valleys
    unit = np.diff(v, axis=0) / np.maximum(np.hypot(*np.diff(v, axis=0).T), 1e-300)[:, None]
    size = bases.share @ laid.widths
    start = v[:-1] + bases.lead[:, None] * unit
    end = v[1:] - bases.trail[:, None] * unit
    n = len(size)
    owner = np.where(built.owner < 0, -1, np.array(section)[built.owner])
    s_start, s_end = _lengths(course.measured, built, laid, start, end, slid)
    whole = Row(
        start,
        end,
        s_start,
        s_end,
        np.hypot(*(end - start).T),
        size,
        built.weight,
        np.full(n, WHOLE),
        owner,
        np.zeros(n),
    )
    rows = [whole]
    for mirror, weight in built.halves:
        half = _half(course.measured, built, laid, mirror, weight, section)
        rows = [half, *rows] if mirror.sense > 0.0 else [*rows, half]
    return joined([_widths_set(row) for row in rows if len(row)])


def _widths_set(row: Row) -> Row:
    """The row with the straight distances of its valleys as sizes."""
    return replace(row, size=row.width)


def _lengths(m: Measured, built: _Section, laid: Raised, start: Array, end: Array, slid: float) -> tuple[Array, Array]:
    """Lengths along the course of the places nearest to the ends of the base lines, rising; held ones as asked."""
    bases, n = built.bases, len(start)
    if n == 0:
        return np.zeros(0), np.zeros(0)
    reach = 1.5 * np.hypot(*(end - start).T)
    before = np.concatenate([[laid.s[0] - reach[0]], laid.s[:-1]])
    after = np.concatenate([laid.s[1:], [laid.s[-1] + reach[-1]]])
    if m.closing is None:
        before, after = np.maximum(before, 0.0), np.minimum(after, m.length)
    s = np.stack([raised.feet(m, start, before, laid.s), raised.feet(m, end, laid.s, after)])
    for node, at in built.held:
        if node < n and bases.lead[node] == 0.0:
            s[0, node] = at + slid
        if node > 0 and bases.trail[node - 1] == 0.0:
            s[1, node - 1] = at + slid
    s = np.maximum.accumulate(s.T.ravel())
    return s[0::2], s[1::2]


def _slid(course: Course, laid: Raised) -> float:
    """Length along the course from its first point to the first valley, mm, negative where it lies before."""
    m = course.measured
    reach = float(laid.widths[0])
    return float(raised.feet(m, laid.valleys[:1], laid.s[:1] - 1.5 * reach, laid.s[:1])[0])


def _half(m: Measured, built: _Section, laid: Raised, mirror: Mirror, weight: float, section: list[int]) -> Row:
    """The half scallop at a mirror line."""
    bases = built.bases
    width = float(mirror.share @ laid.widths)
    depth = float(bases.heights(np.array([width]))[0][0])
    foot = mirror.point - depth * bases.side * cubics.left(mirror.normal)
    before, after = foot - 0.5 * width * mirror.normal, foot + 0.5 * width * mirror.normal
    first = mirror.sense > 0.0
    stop = built.spans[0].start if first else built.spans[-1].end
    s = stop.s
    low, high = (s, s + width) if first else (s - width, s)
    if m.closing is None:
        low, high = max(low, 0.0), min(high, m.length)
    end = (after if first else before)[None]
    valley = float(raised.feet(m, end, np.array([low]), np.array([high]))[0])
    one = np.ones(1)
    return Row(
        before[None],
        after[None],
        np.array([s if first else valley]),
        np.array([valley if first else s]),
        width * one,
        width * one,
        weight * one,
        np.array([SECOND_HALF if first else FIRST_HALF]),
        np.array([section[0] if first else section[-1]]),
        0.0 * one,
    )


def _in_order(rows: list[tuple[int, Row]], m: Measured) -> Row:
    """The sections' rows in the order of the spans; what runs on past the end of a loop is taken a turn back."""
    parts: list[tuple[int, Row]] = []
    for first, row in rows:
        back = np.flatnonzero((row.span >= 0) & (row.span < first))
        cut = int(back[0]) if len(back) else len(row)
        parts.append((first, _taken(row, slice(0, cut))))
        if cut < len(row):
            parts.append((-1, _a_turn_back(_taken(row, slice(cut, len(row))), m)))
    return joined([row for _, row in sorted(parts, key=lambda p: p[0])])


def _a_turn_back(row: Row, m: Measured) -> Row:
    return replace(
        row,
        start=m.carried(row.start, -1),
        end=m.carried(row.end, -1),
        s_start=row.s_start - m.length,
        s_end=row.s_end - m.length,
    )


def _taken(row: Row, which: slice) -> Row:
    return Row(*(getattr(row, name)[which] for name in row.__dataclass_fields__))
