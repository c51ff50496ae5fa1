"""Fitting: whole scallops on a course, as many and as wide as its holds allow, valleys on the drawn line."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..errors import NoFitError, RequestError
from ..geometry import dividers
from ..geometry.cubics import Array
from ..geometry.dividers import Chain
from .counts import Choice, SpanCounts, choose
from .course import CREST, VALLEY, WRAP, Course, Span, Stop, Wish, spans_of
from .layout import corner_reach, groups, place, plan, solve, weights_of
from .row import WHOLE, Row, joined

if TYPE_CHECKING:
    from .touching import Touching


@dataclass(frozen=True)
class Alternative:
    """Another count, its mean width, and how far the width that is farthest off departs from the target."""

    count: float
    width: float
    change: float


@dataclass(frozen=True, eq=False)
class Fit:
    """Fitted scallops.

    Attributes:
        row: the scallops.
        spans: the spans, in order.
        counts, widths: for each span.
        count: scallops over the course; a half counts 0.5.
        target: the width aimed at (the mean width where a count was asked).
        residual: largest relative difference of two whole chords within one span.
        alternatives: the next counts down and up.
        several: whether another answer with the same count exists.
        outside_limits: whether no count kept the width within its limits.
        slid: how far beyond a loop's first point its first valley had to move, mm.
    """

    row: Row
    spans: tuple[Span, ...]
    counts: tuple[float, ...]
    widths: tuple[float, ...]
    count: float
    target: float
    residual: float
    alternatives: tuple[Alternative, ...]
    several: bool
    outside_limits: bool
    slid: float

    @property
    def spread(self) -> float:
        """(widest - narrowest) / target over the spans."""
        return (max(self.widths) - min(self.widths)) / self.target


def fit(course: Course, stops: tuple[Stop, ...], wish: Wish) -> Fit:
    """Whole scallops between the stops.

    The stops run from the start of the course to its end, both included; a loop's first stop lies at 0.

    Raises:
        RequestError: the wishes contradict each other or the course.
        NoFitError: no count, or not the asked one, fits; the text names the nearest that do.
    """
    spans = spans_of(course, stops)
    _refuse_impossible(course, spans, wish)
    book = Book(course, spans, wish)
    target = book.target()
    choice, outside = _choose(book, target)
    made = book.together(choice.counts)
    if made is None:
        raise _no_fit(book, target)
    if wish.count is not None:
        # The mean of what came out is what a count aims at; the first guess took the edge for straight.
        target = float(np.mean(made.widths))
    return Fit(
        made.row,
        tuple(spans),
        choice.counts,
        made.widths,
        choice.total + book.corners,
        target,
        _residual(made.row),
        _alternatives(book, target, choice),
        made.several,
        outside,
        made.slid,
    )


def _refuse_impossible(course: Course, spans: list[Span], wish: Wish) -> None:
    if wish.width is None and wish.count is None and wish.least <= 0.0 and wish.most == np.inf:
        raise RequestError("say how wide a scallop is to be (--width 30mm), or how many there are to be (--count 12)")
    if wish.least > wish.most:
        raise RequestError(f"the least width {wish.least:.6g} mm is above the greatest, {wish.most:.6g} mm")
    for span in spans:
        if span.length <= 0.0:
            raise RequestError(
                f'nothing is left between "{span.start.name}" and "{span.end.name}": the gaps take '
                f"{-span.length:.6g} mm more than the edge has"
            )
    length, width = course.measured.length, wish.width
    shortest = spans[0].least if len(spans) == 1 else 1.0
    if width is not None and wish.count is None and length < width * shortest * (1.0 - 1e-9):
        raise RequestError(
            f"the edge is {length:.6g} mm long, shorter than {'half a' if shortest < 1.0 else 'one'} scallop of "
            f"{width:.6g} mm: ask for a width of at most {length / shortest:.6g} mm"
        )
    if wish.along and any(stop.hold == WRAP for span in spans for stop in (span.start, span.end)):
        raise RequestError("a scallop that wraps a corner needs equal chords: leave out --step along or --corner wrap")


@dataclass(frozen=True, eq=False)
class _Alone:
    """Solved spans: their scallops, their widths, whether other widths fit too, and how far a loop's start slid."""

    row: Row
    widths: tuple[float, ...]
    several: bool
    slid: float


# Spans are solved many at a time until there are so many links: then the width each has of its own begins to cost.
_BATCH = 200


class Book:
    """The course with its spans, and the solved widths by count, so that none is solved twice."""

    def __init__(self, course: Course, spans: list[Span], wish: Wish) -> None:
        self.course, self.spans, self.wish = course, spans, wish
        self.length = sum(span.length for span in spans)
        self.corners = sum(span.start.hold == WRAP for span in spans)
        self._widths: dict[tuple[int, float], float | None] = {}
        # Chains that tell the mirror lines of spans with crests.
        self._models: dict[int, Chain | None] = {}
        # The counts from which the choice set out, and how often it went so far from them.
        self._first: list[float] = []
        self._asked: Counter[float] = Counter()

    def asking(self, total: float) -> Book:
        """The same course with another count asked for, its solved widths kept."""
        other = Book(self.course, self.spans, replace(self.wish, count=total + self.corners))
        other._widths, other._models, other._first, other._asked = self._widths, self._models, self._first, self._asked
        return other

    def alone(self, i: int, count: float) -> float | None:
        """The width of span i by itself with that count, or None where it has no exact fit."""
        if (i, count) not in self._widths and self._first:
            away = count - self._first[i]
            self._asked[away] += 1
            # What one span has been asked for, the others soon will be.
            if self._asked[away] == 2 and self.wish.touch == VALLEY and not self.wish.along:
                self._look_ahead([max(n + away, span.least) for n, span in zip(self._first, self.spans, strict=True)])
        if (i, count) not in self._widths:
            self._widths[i, count] = self._width_alone(i, count)
        return self._widths[i, count]

    def _width_alone(self, i: int, count: float) -> float | None:
        if self.wish.touch != VALLEY:
            touching = self._touching([i], [count])
            return None if touching is None else touching.widths[0]
        if self.wish.along:
            solved = solve(self.course, self.spans, [i], [count], self.wish)
            return None if solved is None else float(solved.steps.widths[0])
        chain = self._chain(i, count)
        steps = None if chain is None else dividers.solve(self.course.measured, chain)
        return None if steps is None else float(steps.widths[0])

    def _chain(self, i: int, count: float) -> Chain | None:
        """The links of span i by itself, or None where the count has no room for its halves."""
        span = self.spans[i]
        if self.wish.space > 0.0 or len(self.spans) == 1 or WRAP in (span.start.hold, span.end.hold):
            return self._planned(i, count)
        # Nothing but scallops and their halves: no need of a whole plan but for the mirror lines, which stay.
        weights = weights_of(self.course, self.spans, i, count, self.wish)
        if len(weights) == 0:
            return None
        halved = [k for k, stop in ((0, span.start), (-1, span.end)) if stop.hold == CREST]
        weights[halved] *= 0.5
        chain = dividers.chords_between(self.course.measured, np.array([span.begin, span.finish]), [weights])
        if not halved:
            return chain
        if i not in self._models:
            self._models[i] = self._planned(i, span.least)
        model = self._models[i]
        if model is None:
            return None
        kind, anchor, normal = chain.kind.copy(), chain.anchor.copy(), chain.normal.copy()
        kind[halved], anchor[halved], normal[halved] = model.kind[halved], model.anchor[halved], model.normal[halved]
        return replace(chain, kind=kind, anchor=anchor, normal=normal)

    def _planned(self, i: int, count: float) -> Chain | None:
        made = plan(self.course, self.spans, [i], [count], self.wish)
        return None if made is None else made.chain

    def _look_ahead(self, counts: list[float]) -> None:
        """Solves each span by itself at its count, many at a time; a batch that fails is left for `alone`."""
        batch: list[tuple[int, float, Chain]] = []
        links = 0
        for i, count in enumerate(counts):
            chain = self._chain(i, count)
            if chain is None or links > _BATCH or (batch and batch[-1][2].start[-1] != chain.start[0]):
                self._solve_batch(batch)
                batch, links = [], 0
            if chain is not None:
                batch.append((i, count, chain))
                links += len(chain.kind)
        self._solve_batch(batch)

    def _solve_batch(self, batch: list[tuple[int, float, Chain]]) -> None:
        if len(batch) < 2:
            return
        steps = dividers.solve(self.course.measured, _end_to_end([chain for _, _, chain in batch]))
        if steps is not None:
            for (i, count, _), width in zip(batch, steps.widths, strict=True):
                self._widths.setdefault((i, count), float(width))

    def together(self, counts: tuple[float, ...]) -> _Alone | None:
        """All spans with these counts, as one row in the order of the course."""
        if self.wish.touch != VALLEY:
            return self._solve(list(range(len(counts))), list(counts), thorough=True)
        parts: list[_Alone] = []
        for group in groups(self.spans):
            wanted = [counts[i] for i in group]
            part = self._solve(group, wanted, thorough=True)
            if part is None:
                return None
            parts.append(part)
        return _Alone(
            joined([part.row for part in parts]),
            tuple(w for part in parts for w in part.widths),
            any(part.several for part in parts),
            0.0,
        )

    def has_room(self, counts: tuple[float, ...]) -> bool:
        """Whether every width would be above 0 if the course were straight, so that `together` is worth trying.

        Spans that share scallops at crests may need a narrow one to make up for its neighbours, or none at all.
        """
        if self.wish.touch != VALLEY:
            return True
        for group in groups(self.spans):
            if len(group) == 1 or any(self.spans[i].start.hold == WRAP for i in group):
                continue
            made = plan(self.course, self.spans, group, [counts[i] for i in group], self.wish)
            if made is None:
                return False
            room = np.array([self.spans[i].length for i in group]) - made.shares[:, -1]
            try:
                widths = np.linalg.solve(made.shares[:, :-1], room)
            except np.linalg.LinAlgError:
                return False
            if (widths <= 0.0).any():
                return False
        return True

    def _solve(self, group: list[int], counts: list[float], thorough: bool) -> _Alone | None:
        if self.wish.touch == VALLEY:
            solved = solve(self.course, self.spans, group, counts, self.wish, thorough)
            if solved is None:
                return None
            widths = tuple(float(w) for w in solved.steps.widths)
            return _Alone(place(solved), widths, solved.steps.several, 0.0)
        touching = self._touching(group, counts)
        return None if touching is None else _Alone(touching.row, touching.widths, False, touching.slid)

    def _touching(self, group: list[int], counts: list[float]) -> Touching | None:
        # Loaded only where crests or middles are to touch.
        from .touching import solve_touching

        spans = [self.spans[i] for i in group]
        return solve_touching(self.course, spans, counts, self.wish, slide=len(self.spans) == 1)

    def width(self, i: int, count: float) -> float | None:
        """The width of span i with that count, or None where it has no exact fit."""
        if self.course.loop and len(self.spans) == 1 and self.spans[0].start.hold == VALLEY:
            # Two chords of a loop are one and the same line, there and back.
            too_few = count < 3 and not self.wish.along
            pattern = self.wish.weights.pattern if self.wish.weights.grow_to is None else (1.0,)
            if too_few or count % len(pattern):
                return None
        return self.alone(i, count)

    def mean_weight(self, i: int) -> float:
        """Mean relative size of the scallops of span i."""
        span, whole = self.spans[i], self.course.measured.length
        weights = self.wish.weights
        pieces = len(weights.pattern) if weights.grow_to is None else 101
        return float(np.mean(weights.sizes(pieces, span.begin / whole, span.finish / whole)))

    def guess(self, i: int, width: float) -> float:
        """The count, not whole, at which span i would have that width if the edge were straight."""
        span, space = self.spans[i], self.wish.space
        corners = sum(
            corner_reach(width, stop.turn, self.wish)[0] for stop in (span.start, span.end) if stop.hold == WRAP
        )
        return float((span.length - corners + space) / (width * self.mean_weight(i) + space))

    def target(self) -> float:
        """The width aimed at: as asked, the mean one of a count, or the middle of the limits."""
        wish = self.wish
        if wish.count is not None:
            sizes = sum(self.mean_weight(i) * span.length for i, span in enumerate(self.spans)) / self.length
            room = max(self.length - wish.space * wish.count, 1e-3 * self.length)
            return room / (max(wish.count, 0.5) * sizes)
        if wish.width is not None:
            return wish.width
        return float(np.mean([w for w in (wish.least, wish.most) if 0.0 < w < np.inf]))

    def choose(self, target: float, least: float = 0.0, most: float = np.inf) -> Choice | None:
        """The best counts, or None."""
        spans = [
            SpanCounts(span.least, partial(self.width, i), self.guess(i, target)) for i, span in enumerate(self.spans)
        ]
        total = None if self.wish.count is None else self.wish.count - self.corners
        if total is not None and total <= 0.0:
            return None
        if not self._first:
            self._first.extend(span.near(span.guess) for span in spans)
        return choose(spans, target, total, least, most)


def _end_to_end(chains: list[Chain]) -> Chain:
    """Chains of one width each, of which one starts where the one before it ends, as one chain of as many widths."""
    at = np.cumsum([0, *(len(chain.kind) for chain in chains)])

    def lengths(widths: Array) -> tuple[Array, Array]:
        value, by_width = np.zeros(at[-1]), np.zeros((at[-1], len(chains)))
        for k, chain in enumerate(chains):
            own = slice(at[k], at[k + 1])
            value[own], by_width[own, k : k + 1] = chain.lengths(widths[k : k + 1])
        return value, by_width

    last = chains[-1]
    return Chain(
        np.concatenate([*(chain.start[:-1] for chain in chains), last.start[-1:]]),
        np.concatenate([*(chain.pinned[:-1] for chain in chains), last.pinned[-1:]]),
        np.concatenate([chain.kind for chain in chains]),
        np.concatenate([chain.anchor for chain in chains]),
        np.concatenate([chain.normal for chain in chains]),
        lengths,
        np.concatenate([chain.widths for chain in chains]),
    )


def _choose(book: Book, target: float) -> tuple[Choice, bool]:
    wish = book.wish
    choice = book.choose(target, wish.least, wish.most)
    if choice is not None:
        return choice, False
    choice = book.choose(target)
    if choice is None:
        raise _no_fit(book, target)
    return choice, True


def _alternatives(book: Book, target: float, choice: Choice) -> tuple[Alternative, ...]:
    """The next counts down and up that fit, with their mean widths."""
    found = []
    for sense in (-1, 1):
        for away in (1, 2, 3):
            other = book.asking(choice.total + sense * away)
            taken = other.choose(other.target())
            if taken is not None:
                farthest = max((w / target - 1.0 for w in taken.widths), key=abs)
                found.append(Alternative(taken.total + book.corners, float(np.mean(taken.widths)), farthest))
                break
    return tuple(found)


def _no_fit(book: Book, target: float) -> NoFitError:
    """The refusal, with the nearest counts that do fit."""
    asked = book.wish.count
    guessed = sum(book.guess(i, target) for i in range(len(book.spans)))
    first = asked - book.corners if asked is not None else round(guessed)
    fitting: list[float] = []
    for away in np.arange(0.5, 8.5, 0.5):
        for n in (float(first - away), float(first + away)):
            other = book.asking(n)
            taken = other.choose(other.target()) if len(fitting) < 2 else None
            if taken is not None and other.has_room(taken.counts) and other.together(taken.counts) is not None:
                fitting.append(n + book.corners)
    what = f"scallops of {target:.6g} mm" if asked is None else f"{asked:g} scallop{'s' if asked != 1 else ''}"
    what += f" with a space of {book.wish.space:g} mm" if book.wish.space else ""
    nearest = " or ".join(f"{n:g}" for n in sorted(fitting))
    several = "the nearest counts that fit are" if len(fitting) > 1 else "the nearest count that fits is"
    cure = f"{several} {nearest}" if nearest else "no count near it does; change the width"
    return NoFitError(f"{what} can't be stepped off exactly with these holds: {cure}", tuple(sorted(fitting)))


def _residual(row: Row) -> float:
    """Largest relative difference of two whole chords within one span, their weights taken out."""
    whole = (row.part == WHOLE) & (row.span >= 0)
    if not whole.any():
        return 0.0
    chord = np.hypot(*(row.end - row.start)[whole].T) / row.weight[whole]
    span = row.span[whole]
    begins = np.flatnonzero(np.concatenate([[True], span[1:] != span[:-1]]))
    return float((np.maximum.reduceat(chord, begins) / np.minimum.reduceat(chord, begins) - 1.0).max())
