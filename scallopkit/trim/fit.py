"""Fitting: whole scallops on a course, as many and as wide as its holds allow, valleys on the drawn line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ..errors import NoFitError, RequestError
from .counts import Choice, SpanCounts, choose
from .course import VALLEY, WRAP, Course, Span, Stop, Wish, spans_of
from .layout import corner_reach, groups, place, solve
from .row import WHOLE, Row, joined


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
    book = _Book(course, spans, wish)
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


class _Book:
    """The course with its spans, and the solved widths by count, so that none is solved twice."""

    def __init__(self, course: Course, spans: list[Span], wish: Wish) -> None:
        self.course, self.spans, self.wish = course, spans, wish
        self.length = sum(span.length for span in spans)
        self.corners = sum(span.start.hold == WRAP for span in spans)
        self._solved: dict[tuple[int, float], _Alone | None] = {}

    def asking(self, total: float) -> _Book:
        """The same course with another count asked for, its solved widths kept."""
        other = _Book(self.course, self.spans, replace(self.wish, count=total + self.corners))
        other._solved = self._solved
        return other

    def alone(self, i: int, count: float) -> _Alone | None:
        """Span i by itself."""
        if (i, count) not in self._solved:
            self._solved[i, count] = self._solve([i], [count], thorough=False)
        return self._solved[i, count]

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

    def _solve(self, group: list[int], counts: list[float], thorough: bool) -> _Alone | None:
        if self.wish.touch == VALLEY:
            solved = solve(self.course, self.spans, group, counts, self.wish, thorough)
            if solved is None:
                return None
            widths = tuple(float(w) for w in solved.steps.widths)
            return _Alone(place(solved), widths, solved.steps.several, 0.0)
        # Loaded only where crests or middles are to touch.
        from .touching import solve_touching

        spans = [self.spans[i] for i in group]
        touching = solve_touching(self.course, spans, counts, self.wish, slide=len(self.spans) == 1)
        return None if touching is None else _Alone(touching.row, touching.widths, False, touching.slid)

    def width(self, i: int, count: float) -> float | None:
        """The width of span i with that count, or None where it has no exact fit."""
        if self.course.loop and len(self.spans) == 1 and self.spans[0].start.hold == VALLEY:
            # Two chords of a loop are one and the same line, there and back.
            too_few = count < 3 and not self.wish.along
            pattern = self.wish.weights.pattern if self.wish.weights.grow_to is None else (1.0,)
            if too_few or count % len(pattern):
                return None
        alone = self.alone(i, count)
        return None if alone is None else alone.widths[0]

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
        return choose(spans, target, total, least, most)


def _choose(book: _Book, target: float) -> tuple[Choice, bool]:
    wish = book.wish
    choice = book.choose(target, wish.least, wish.most)
    if choice is not None:
        return choice, False
    choice = book.choose(target)
    if choice is None:
        raise _no_fit(book, target)
    return choice, True


def _alternatives(book: _Book, target: float, choice: Choice) -> tuple[Alternative, ...]:
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


def _no_fit(book: _Book, target: float) -> NoFitError:
    """The refusal, with the nearest counts that do fit."""
    asked = book.wish.count
    guessed = sum(book.guess(i, target) for i in range(len(book.spans)))
    first = asked - book.corners if asked is not None else round(guessed)
    fitting: list[float] = []
    for away in np.arange(0.5, 8.5, 0.5):
        for n in (float(first - away), float(first + away)):
            other = book.asking(n)
            taken = other.choose(other.target()) if len(fitting) < 2 else None
            if taken is not None and other.together(taken.counts) is not None:
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
