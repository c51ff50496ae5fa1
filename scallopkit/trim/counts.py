"""How many scallops each span takes, chosen over all spans together.

The best choice has the smallest largest departure |width / target - 1|; among equals the smallest spread from the
widest to the narrowest; among those the higher count. A span that comes near the target at no count takes its
own best and has no say: else its departure would excuse any width in the others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

# Departures closer than this are equal.
TIE = 1e-9
# The farthest that the nearer of two neighbouring counts can be off: one scallop of 4/3 or two of 2/3 of the target.
FARTHEST = 1.0 / 3.0
# A width that is off by more is no answer to the wish; only a span too short for one scallop may have it.
NEVER = 0.5


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


# So far from its first guess a span's count is looked for; a span that fits nowhere there is refused.
_SEARCH = 12


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
        The choice, or None where no combination fits.
    """
    if total is not None and len(spans) == 1:
        options = [_only(spans[0], total, least, most)]
    else:
        options = [_options(span, target, least, most) for span in spans]
    if any(not found for found in options):
        return None
    if total is not None and len(spans) > 1:
        options = [_widened(span, found, least, most) for span, found in zip(spans, options, strict=True)]
    if total is None and any(_never_near(found, span, target) for found, span in zip(options, spans, strict=True)):
        return None
    aside = [_out_of_reach(found, target) for found in options]
    if any(aside) and not all(aside):
        return _with_aside(spans, aside, target, total, (least, most))
    departure = _least_departure(options, target, total)
    if departure is None:
        return None
    if total is None:
        options = [
            _all_within(span, found, target, departure, least, most) for span, found in zip(spans, options, strict=True)
        ]
    kept = [[(n, w) for n, w in found if abs(w / target - 1.0) <= departure + TIE] for found in options]
    best = _smallest_spread(kept, target, total)
    # A span that passes counts over can leave a hole in the totals, which the bounds above do not see.
    return best if best is None or total is None or abs(best.total - total) < TIE else None


Options = list[tuple[float, float]]


def _options(span: SpanCounts, target: float, least: float, most: float) -> Options:
    """The counts next to the target width on both sides, nearest first found."""
    first = span.near(span.guess)
    found: Options = []
    below = above = False
    last = _SEARCH
    for away in range(_SEARCH):
        for n in {first - away, first + away}:
            if n < span.least:
                continue
            w = span.width(n)
            if w is None or not least <= w <= most:
                continue
            found.append((n, w))
            below, above = below or w <= target, above or w >= target
        if found:
            # A little further for the other side of the target: counts between may have no fit.
            last = min(last, away + 3)
        if (below and above) or away >= last:
            break
    return sorted(found)


def _all_within(
    span: SpanCounts, found: Options, target: float, departure: float, least: float, most: float
) -> Options:
    """Every count of the span whose width departs from the target by no more than `departure`."""
    known = dict(found)
    for step in (-1.0, 1.0):
        n = (max(known) if step > 0 else min(known)) + step
        misses = 0
        while n >= span.least and misses < 3:
            w = span.width(n)
            # However far off one span is, no other needs scallops of less than a third of the target.
            if w is not None and (abs(w / target - 1.0) > departure + TIE or w < FARTHEST * target):
                break
            if w is not None and least <= w <= most:
                known[n] = w
            misses = misses + 1 if w is None else 0
            n += step
    return sorted(known.items())


def _out_of_reach(found: Options, target: float) -> tuple[float, float] | None:
    """The best count and width of a span that can't come near the target; None for all others."""
    count, width = min(found, key=lambda option: (abs(option[1] / target - 1.0), -option[0]))
    return (count, width) if abs(width / target - 1.0) > FARTHEST + TIE else None


def _never_near(found: Options, span: SpanCounts, target: float) -> bool:
    """Whether a span long enough for the target fits only at widths that nobody asked for."""
    count, width = min(found, key=lambda option: abs(option[1] / target - 1.0))
    short = count <= span.least and width < target
    return not short and abs(width / target - 1.0) > NEVER


def _with_aside(
    spans: list[SpanCounts],
    aside: list[tuple[float, float] | None],
    target: float,
    total: float | None,
    limits: tuple[float, float],
) -> Choice | None:
    """The choice for the spans that are long enough, those set aside put back in their places."""
    taken = sum(option[0] for option in aside if option is not None)
    rest = [span for span, option in zip(spans, aside, strict=True) if option is None]
    best = choose(rest, target, None if total is None else total - taken, *limits)
    if best is None:
        return None
    others = iter(zip(best.counts, best.widths, strict=True))
    counts, widths = zip(*(next(others) if option is None else option for option in aside), strict=True)
    return Choice(counts, widths, max(abs(w / target - 1.0) for w in widths), max(widths) - min(widths))


def _only(span: SpanCounts, count: float, least: float, most: float) -> Options:
    """The one count that is asked for, where the span can take it."""
    if count < span.least or abs((count - span.least) - round(count - span.least)) > TIE:
        return []
    w = span.width(count)
    return [(count, w)] if w is not None and least <= w <= most else []


def _widened(span: SpanCounts, found: Options, least: float, most: float) -> Options:
    """Counts enough on both sides that a given total can be shared out among the spans."""
    known = dict(found)
    first = span.near(span.guess)
    for n in (first + k for k in range(-2, 3)):
        if n not in known and n >= span.least:
            w = span.width(n)
            if w is not None and least <= w <= most:
                known[n] = w
    return sorted(known.items())


def _least_departure(options: list[Options], target: float, total: float | None) -> float | None:
    """The smallest departure within which every span, and the total, can be served."""
    every = sorted({abs(w / target - 1.0) for found in options for _, w in found})
    low, high = 0, len(every) - 1
    if not _feasible(options, target, every[high], total):
        return None
    while low < high:
        middle = (low + high) // 2
        if _feasible(options, target, every[middle], total):
            high = middle
        else:
            low = middle + 1
    return every[low]


def _feasible(options: list[Options], target: float, departure: float, total: float | None) -> bool:
    least = most = 0.0
    for found in options:
        inside = [n for n, w in found if abs(w / target - 1.0) <= departure + TIE]
        if not inside:
            return False
        least, most = least + min(inside), most + max(inside)
    return total is None or (least <= total + TIE and total <= most + TIE and _whole_apart(options, total))


def _whole_apart(options: list[Options], total: float) -> bool:
    base = sum(found[0][0] for found in options)
    return abs((total - base) - round(total - base)) < TIE


def _smallest_spread(options: list[Options], target: float, total: float | None) -> Choice | None:
    """A window of widths moved upwards: the narrowest in which every span has a count, and the total is met."""
    events = sorted((w, i, n) for i, found in enumerate(options) for n, w in found)
    inside: list[set[float]] = [set() for _ in options]
    empty = len(options)
    best: tuple[float, float, tuple[float, float]] | None = None
    start = 0
    for w, i, n in events:
        empty -= not inside[i]
        inside[i].add(n)
        while empty == 0 and _total_fits(inside, total):
            low = events[start][0]
            count = _count(inside, total)
            key = (w - low, -count)
            if (
                best is None
                or key[0] < best[0] - TIE * target
                or (key[0] < best[0] + TIE * target and key[1] < best[1])
            ):
                best = (*key, (low, w))
            _, j, gone = events[start]
            inside[j].discard(gone)
            empty += not inside[j]
            start += 1
    if best is None:
        return None
    low, high = best[2]
    window = [[(n, w) for n, w in found if low <= w <= high] for found in options]
    return _taken(window, target, total)


def _total_fits(inside: list[set[float]], total: float | None) -> bool:
    if total is None:
        return True
    return sum(map(min, inside)) <= total + TIE and total <= sum(map(max, inside)) + TIE


def _count(inside: list[set[float]], total: float | None) -> float:
    return total if total is not None else sum(max(found) for found in inside)


def _taken(window: list[Options], target: float, total: float | None) -> Choice:
    """The highest counts in the window, taken back from the last spans on where a total asks for fewer."""
    taken = [max(found) for found in window]
    surplus = sum(n for n, _ in taken) - (total if total is not None else sum(n for n, _ in taken))
    for i in range(len(window) - 1, -1, -1):
        for option in sorted(window[i], reverse=True):
            if surplus > TIE and taken[i][0] - option[0] > 0.0 and taken[i][0] - option[0] <= surplus + TIE:
                surplus -= taken[i][0] - option[0]
                taken[i] = option
    counts, widths = zip(*taken, strict=True)
    departure = max(abs(w / target - 1.0) for w in widths)
    return Choice(counts, widths, departure, max(widths) - min(widths))
