"""How many scallops each span takes, chosen over all spans together.

The best choice has the smallest largest departure |width / target - 1|; among equals the smallest spread from the
widest to the narrowest; among those the higher count. A span that comes near the target at no count takes its
own best and has no say: else its departure would excuse any width in the others. Only where the others can't make
up the rest of a given total have all a say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain

import numpy as np

# Departures closer than this are equal, and so are spreads, in targets. Limits are kept within it.
TIE = 1e-9
# The farthest that the nearer of two neighbouring counts can be off: one scallop of 4/3 or two of 2/3 of the target.
FARTHEST = 1.0 / 3.0
# A width that is off by more is no answer to the wish; only a span too short for one scallop may have it.
NEVER = 0.5
# So many counts in a row without a fit end the search for one.
_SEARCH = 12

Option = tuple[float, float]
Options = list[Option]


@dataclass(frozen=True)
class Choice:
    """A count for every span, with its width."""

    counts: tuple[float, ...]
    widths: tuple[float, ...]
    departure: float
    spread: float

    @property
    def total(self) -> float:
        """The count over the whole run."""
        return sum(self.counts)


@dataclass(frozen=True)
class SpanCounts:
    """What one span can take.

    Attributes:
        least: its smallest count; all others are one apart.
        width: from a count to its width, or None where that count has no exact fit. Widths fall as counts grow.
        guess: the count, not whole, that would have the target width.
    """

    least: float
    width: Callable[[float], float | None]
    guess: float

    def near(self, count: float) -> float:
        """The count this span can take that is nearest to `count`."""
        return max(self.least, self.least + round(count - self.least))


@dataclass(frozen=True)
class _Aim:
    """The width wanted and the limits it is kept in, mm."""

    target: float
    least: float
    most: float

    def departure(self, width: float) -> float:
        return abs(width / self.target - 1.0)

    def allows(self, width: float) -> bool:
        return self.least * (1.0 - TIE) <= width <= self.most * (1.0 + TIE)

    def allowed(self) -> float:
        """The allowed width nearest to the target."""
        return min(max(self.target, self.least), self.most)

    def best(self, options: Options) -> Option:
        """The option nearest to the target; of equals the one with the higher count."""
        nearest = min(self.departure(w) for _, w in options)
        return max(option for option in options if self.departure(option[1]) <= nearest + TIE)


def choose(
    spans: list[SpanCounts], target: float, total: float | None = None, least: float = 0.0, most: float = np.inf
) -> Choice | None:
    """The best counts for a target width, or for a given total.

    Args:
        spans: what each span can take.
        target: the width wanted, mm. With a total given, the mean width.
        total: the count over the run, if given.
        least: the smallest width that is allowed at all.
        most: the greatest.

    Returns:
        The choice, or None where no combination fits, or where, without a total, a span long enough for the target
        fits only at widths that nobody asked for.
    """
    aim = _Aim(target, least, most)
    if total is not None and len(spans) == 1:
        return _chosen(_only(spans[0], total, aim), aim)
    beside = [_beside(span, aim) for span in spans]
    if not all(beside):
        return None
    own = [aim.best(found) for found in beside]
    if total is None and any(_unasked(option, span, aim) for option, span in zip(own, spans, strict=True)):
        return None
    near = [i for i, (_, w) in enumerate(own) if aim.departure(w) <= FARTHEST + TIE]
    aside = sum(n for i, (n, _) in enumerate(own) if i not in set(near))
    agreed = _agreed([spans[i] for i in near], [beside[i] for i in near], aim, None if total is None else total - aside)
    if agreed is None:
        return None if total is None else _chosen(_agreed(spans, beside, aim, total) or [], aim)
    for i, option in zip(near, agreed, strict=True):
        own[i] = option
    return _chosen(own, aim)


def _chosen(options: Options, aim: _Aim) -> Choice | None:
    if not options:
        return None
    counts, widths = zip(*options, strict=True)
    return Choice(counts, widths, max(map(aim.departure, widths)), max(widths) - min(widths))


def _only(span: SpanCounts, count: float, aim: _Aim) -> Options:
    """The one count that is asked for, where the span can take it."""
    if count < span.least - TIE or not _whole(count - span.least):
        return []
    w = span.width(count)
    return [(count, w)] if w is not None and aim.allows(w) else []


def _unasked(best: Option, span: SpanCounts, aim: _Aim) -> bool:
    """Whether a span's best width is one that nobody asked for, and not just that of a span too short."""
    count, width = best
    short = count <= span.least and width < aim.target
    return not short and aim.departure(width) > NEVER + TIE


def _whole(count: float) -> bool:
    return abs(count - round(count)) < TIE


# ---------------------------------------------------------------- the counts of one span


def _beside(span: SpanCounts, aim: _Aim) -> Options:
    """The counts next to the allowed width nearest to the target, from low to high: one on either side, if there are.

    The search goes on in growing strides until the width is passed, and then closes in.
    """
    width = aim.allowed()
    here = _nearest_fit(span, span.near(span.guess))
    if here is None:
        return []
    sense = 1.0 if here[1] > width else -1.0
    there: Option | None = None
    stride = 1.0
    while there is None:
        found = _next_fit(span, here[0], sense, stride)
        if found is None and stride == 1.0:
            break
        if found is None:
            stride = 1.0
        elif (found[1] - width) * sense > 0.0:
            here, stride = found, 2.0 * stride
        else:
            here, there = _closed_in(span, here, found, width)
    return sorted(option for option in (here, there) if option is not None and aim.allows(option[1]))


def _closed_in(span: SpanCounts, here: Option, there: Option, width: float) -> tuple[Option, Option]:
    """The last fit before the width is passed and the first after, between one on either side of it."""
    sense = 1.0 if there[0] > here[0] else -1.0
    end = there[0]
    while (end - here[0]) * sense > 1.0:
        middle = here[0] + sense * ((end - here[0]) * sense // 2.0)
        found = _first_fit(span, [middle + sense * k for k in range(int((end - middle) * sense))])
        if found is None:
            end = middle
        elif (found[1] - width) * sense > 0.0:
            here = found
        else:
            there, end = found, middle
    return here, there


def _nearest_fit(span: SpanCounts, count: float) -> Option | None:
    away = chain.from_iterable((count - k, count + k) for k in range(1, _SEARCH))
    return _first_fit(span, [count, *away])


def _next_fit(span: SpanCounts, count: float, sense: float, stride: float = 1.0) -> Option | None:
    """The first fit that is at least a stride away."""
    return _first_fit(span, [count + sense * (stride + k) for k in range(_SEARCH)])


def _first_fit(span: SpanCounts, counts: list[float]) -> Option | None:
    for n in counts:
        w = span.width(n) if n >= span.least else None
        if w is not None:
            return n, w
    return None


class _Side:
    """Counts of a span on one side of the target, from near it to far; each is looked for when it is needed."""

    def __init__(self, span: SpanCounts, known: Options, count: float, sense: float, aim: _Aim, top: float) -> None:
        self._aim = aim
        self._options = chain(known, self._beyond(span, count, sense, top))
        self._ahead: Option | None = None
        self._looked = False

    def _beyond(self, span: SpanCounts, count: float, sense: float, top: float) -> Iterator[Option]:
        found = _next_fit(span, count, sense)
        while found is not None and self._aim.allows(found[1]) and (sense < 0.0 or found[0] <= top):
            yield found
            found = _next_fit(span, found[0], sense)

    def departure(self) -> float:
        """That of the next count; endless where there is none."""
        if not self._looked:
            self._ahead, self._looked = next(self._options, None), True
        return np.inf if self._ahead is None else self._aim.departure(self._ahead[1])

    def take(self, departure: float) -> Options:
        """The next counts that depart by no more than this."""
        taken: Options = []
        while self.departure() <= departure + TIE and self._ahead is not None:
            taken.append(self._ahead)
            own, self._looked = self.departure(), False
            if own >= departure - TIE:
                break
        return taken


# ---------------------------------------------------------------- all spans together


def _agreed(spans: list[SpanCounts], beside: list[Options], aim: _Aim, total: float | None) -> Options | None:
    """The best counts of spans that all have a say, or None where they can't make up the total."""
    if not spans:
        return None if total else []
    if total is not None and len(spans) == 1:
        return _only(spans[0], total, aim) or None
    least = [span.least for span in spans]
    spare = None if total is None else total - sum(least)
    if spare is not None and (spare < -TIE or not _whole(spare)):
        return None
    more = None if spare is None else round(spare)
    kept = _least_departing(spans, beside, aim, more)
    if kept is None:
        return None
    taken = _highest(_narrowest(kept, more, TIE * aim.target), more)
    return [(first + n, w) for first, (n, w) in zip(least, taken, strict=True)]


# From here on a count is told by how much it is above the span's least, so that it is an integer, as is a total.
Steps = list[tuple[int, float]]


def _least_departing(
    spans: list[SpanCounts], beside: list[Options], aim: _Aim, total: int | None
) -> list[Steps] | None:
    """All counts within the smallest departure at which every span, and the total, can be served."""
    sides = [_sides(span, found, aim, total) for span, found in zip(spans, beside, strict=True)]
    kept: list[Steps] = [[] for _ in spans]
    departure = max(aim.departure(aim.best(found)[1]) for found in beside)
    while np.isfinite(departure):
        for span, pair, found in zip(spans, sides, kept, strict=True):
            found.extend((round(n - span.least), w) for side in pair for n, w in side.take(departure))
        if total is None or _makes_up(kept, total):
            return kept
        helpful = _helpful(kept, total)
        departure = min(side.departure() for pair in sides for side in pair[helpful])
    return None


def _sides(span: SpanCounts, beside: Options, aim: _Aim, total: int | None) -> tuple[_Side, ...]:
    """The lower counts and the higher ones, up to what a total leaves for the span."""
    top = np.inf if total is None else span.least + total
    fewer = _Side(span, beside[:1], beside[0][0], -1.0, aim, top)
    return fewer, _Side(span, beside[1:], beside[-1][0], 1.0, aim, top)


def _helpful(kept: list[Steps], total: int) -> slice:
    """Which of the two sides more counts must come from to bring the total nearer."""
    if sum(max(found)[0] for found in kept) < total:
        return slice(1, 2)
    return slice(0, 1) if sum(min(found)[0] for found in kept) > total else slice(0, 2)


def _totals(options: list[Steps], most: int) -> list[int]:
    """Which totals up to `most` the first spans make up, as bits: for none of the spans, for one, ..., for all."""
    made, mask = [1], (2 << most) - 1
    for found in options:
        every = 0
        for n, _ in found:
            every |= made[-1] << n
        made.append(every & mask)
    return made


def _makes_up(options: list[Steps], total: int) -> bool:
    fewest, most = sum(min(found)[0] for found in options), sum(max(found)[0] for found in options)
    return fewest <= total <= most and bool(_totals(options, total)[-1] >> total & 1)


def _highest(options: list[Steps], total: int | None) -> Steps:
    """The highest count of each span, taken back from the last spans on where a total asks for fewer."""
    if total is None:
        return [max(found) for found in options]
    taken: Steps = []
    for found, before in zip(reversed(options), reversed(_totals(options, total)[:-1]), strict=True):
        n, w = min(option for option in found if option[0] <= total and before >> (total - option[0]) & 1)
        taken.append((n, w))
        total -= n
    return taken[::-1]


class _Window:
    """The counts whose widths lie in a window that moves upwards."""

    def __init__(self, spans: int) -> None:
        self.inside: list[Steps] = [[] for _ in range(spans)]
        self.empty = spans
        self.fewest = self.most = self.passed_over = 0

    def add(self, i: int, option: tuple[int, float]) -> None:
        self._count(i, -1)
        self.inside[i].append(option)
        self._count(i, 1)

    def drop(self, i: int, option: tuple[int, float]) -> None:
        self._count(i, -1)
        self.inside[i].remove(option)
        self._count(i, 1)

    def _count(self, i: int, sign: int) -> None:
        own = self.inside[i]
        if not own:
            self.empty += sign
            return
        fewest, most = min(own)[0], max(own)[0]
        self.fewest += sign * fewest
        self.most += sign * most
        self.passed_over += sign * (most - fewest + 1 - len(own))

    def may_hold(self, total: int | None) -> bool:
        """Whether every span has a count, and the total lies between the lowest and the highest."""
        return self.empty == 0 and (total is None or self.fewest <= total <= self.most)

    def holds(self, total: int | None) -> bool:
        """Whether the total is met, too, where counts are passed over."""
        return total is None or self.passed_over == 0 or _makes_up(self.inside, total)


def _narrowest(options: list[Steps], total: int | None, tie: float) -> list[Steps]:
    """What of the options lies in the narrowest window of widths in which every span has a count and the total is met.

    Of windows equally wide it is the one with the highest count.
    """
    events = sorted((w, i, n) for i, found in enumerate(options) for n, w in found)
    window, start = _Window(len(options)), 0
    windows: list[tuple[float, int, float, float]] = []
    narrowest = np.inf
    for w, i, n in events:
        window.add(i, (n, w))
        while window.may_hold(total):
            low, j, gone = events[start]
            if w - low <= narrowest + tie:
                if not window.holds(total):
                    break
                narrowest = min(narrowest, w - low)
                windows.append((w - low, -window.most, low, w))
            window.drop(j, (gone, low))
            start += 1
    *_, low, high = min((own for own in windows if own[0] <= narrowest + tie), key=lambda own: own[1])
    return [[(n, w) for n, w in found if low <= w <= high] for found in options]
