"""Counts over several spans: the choice is compared with every possible one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial, reduce

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.trim.counts import FARTHEST, TIE, Choice, SpanCounts, choose
from scallopkit.trim.course import CREST, VALLEY, Stop, Wish
from scallopkit.trim.fit import Book, fit
from scallopkit.trim.layout import solve
from scallopkit.trim.shape import Shape

from ..shapes import course, smooth

lengths = st.lists(st.floats(20.0, 400.0), min_size=1, max_size=3)


def straight(length: float, least: float) -> SpanCounts:
    """A straight span: its width is its length over the count."""
    return SpanCounts(least, lambda n: length / n, length / 30.0)


def best_by_trying_all(
    sizes: list[float], starts: list[float], target: float, total: float | None
) -> tuple[float, float, float]:
    """Departure, spread and total of the best of all combinations of up to 60 counts a span.

    Judged are the spans that can come within a third of the target; one that can't takes its own best count.
    """
    short = [size / start < target * (1.0 - FARTHEST) - TIE for size, start in zip(sizes, starts, strict=True)]
    if any(short) and not all(short):
        left = [(size, start) for size, start, s in zip(sizes, starts, short, strict=True) if not s]
        set_aside = sum(start for start, s in zip(starts, short, strict=True) if s)
        rest = None if total is None else total - set_aside
        *judged, count = best_by_trying_all([a for a, _ in left], [b for _, b in left], target, rest)
        return judged[0], judged[1], count + set_aside
    counts = np.meshgrid(*[start + np.arange(60.0) for start in starts], indexing="ij")
    widths = [size / n for size, n in zip(sizes, counts, strict=True)]
    departure = np.max([np.abs(w / target - 1.0) for w in widths], axis=0)
    spread = np.max(widths, axis=0) - np.min(widths, axis=0)
    every = np.sum(counts, axis=0)
    if total is not None:
        departure = np.where(np.abs(every - total) < 1e-9, departure, np.inf)
    least = float(departure.min())
    near = departure <= least + TIE
    narrow = float(spread[near].min())
    return least, narrow, float(every[near & (spread <= narrow + TIE * target)].max())


def judged(choice: Choice, sizes: list[float], starts: list[float], target: float) -> tuple[float, float]:
    """Departure and spread of the spans that are long enough (of all, where none is)."""
    enough = [size / start >= target * (1.0 - FARTHEST) - TIE for size, start in zip(sizes, starts, strict=True)]
    widths = [w for w, long in zip(choice.widths, enough, strict=True) if long or not any(enough)]
    return max(abs(w / target - 1.0) for w in widths), max(widths) - min(widths)


@settings(max_examples=120, deadline=None)
@given(lengths, st.data())
def test_the_choice_is_the_best_of_all(sizes: list[float], data: st.DataObject) -> None:
    starts = [data.draw(st.sampled_from([1.0, 1.5])) for _ in sizes]
    choice = choose([straight(a, b) for a, b in zip(sizes, starts, strict=True)], 30.0)
    assert choice is not None
    departure, spread, total = best_by_trying_all(sizes, starts, 30.0, None)
    assert judged(choice, sizes, starts, 30.0) == pytest.approx((departure, spread), abs=1e-6)
    assert choice.total == total


@settings(max_examples=80, deadline=None)
@given(lengths, st.integers(-3, 3))
def test_a_given_total_is_shared_out_best(sizes: list[float], off: int) -> None:
    starts = [1.0] * len(sizes)
    total = float(max(len(sizes), round(sum(sizes) / 30.0) + off))
    target = sum(sizes) / total
    spans = [SpanCounts(1.0, partial(lambda size, n: size / n, a), a / target) for a in sizes]
    choice = choose(spans, target, total)
    departure, spread, _ = best_by_trying_all(sizes, starts, target, total)
    assert choice is not None
    assert choice.total == total
    assert judged(choice, sizes, starts, target) == pytest.approx((departure, spread), abs=1e-6)


def test_a_span_too_short_does_not_excuse_the_others() -> None:
    # Two sides of 100 mm and a step of 2 mm between holds, scallops of 20 mm.
    spans = [SpanCounts(1.0, partial(lambda size, n: size / n, a), a / 20.0) for a in (100.0, 100.0, 2.0)]
    choice = choose(spans, 20.0)
    assert choice is not None
    assert choice.counts == (5.0, 5.0, 1.0)


def test_of_equals_the_higher_count_is_taken() -> None:
    # 2/3 and 4/3 of the target are equally far from it.
    widths = {1.0: 40.0, 2.0: 20.0}
    choice = choose([SpanCounts(1.0, widths.get, 1.5)], 30.0)
    assert choice is not None
    assert choice.counts == (2.0,)


def test_without_a_say_of_equals_the_higher_count_is_taken() -> None:
    # 1/2 and 3/2 of the target; two scallops would be nearer, but do not fit.
    spans = [SpanCounts(1.0, {1.0: 45.0, 3.0: 15.0}.get, 1.5), straight(300.0, 1.0)]
    choice = choose(spans, 30.0)
    assert choice is not None
    assert choice.counts == (3.0, 10.0)


def test_spans_too_short_do_not_pull_each_other_down() -> None:
    # Six scallops of 2.2 mm would be even with the one of 2 mm, but no one asked for any of them.
    choice = choose([straight(2.0, 1.0), straight(13.0, 1.0)], 20.0)
    assert choice is not None
    assert choice.counts == (1.0, 1.0)


def test_a_width_at_its_limit_is_within_it() -> None:
    widths = {n: (300.0 + 1e-10) / n for n in np.arange(1.0, 40.0)}
    choice = choose([SpanCounts(1.0, widths.get, 10.0)], 30.0, most=30.0)
    assert choice is not None
    assert choice.counts == (10.0,)


def test_a_width_far_from_the_guess_is_found() -> None:
    # A zigzag is much longer than the chords across it.
    asked = []

    def width(n: float) -> float:
        asked.append(n)
        return 600.0 / n

    choice = choose([SpanCounts(1.0, width, 1000.0)], 1.0)
    assert choice is not None
    assert choice.counts == (600.0,)
    assert len(set(asked)) < 30


def test_limits_leave_only_what_is_inside_them() -> None:
    choice = choose([straight(100.0, 1.0)], 30.0, least=18.0, most=21.0)
    assert choice is not None
    assert choice.counts == (5.0,)
    assert choose([straight(100.0, 1.0)], 30.0, least=26.0, most=30.0) is None


def test_counts_without_a_fit_are_passed_over() -> None:
    only_even = SpanCounts(1.0, lambda n: 300.0 / n if n % 2 == 0 else None, 11.0)
    choice = choose([only_even], 300.0 / 11.0)
    assert choice is not None
    assert choice.counts[0] in (10.0, 12.0)


def test_a_total_that_no_span_can_meet_is_none() -> None:
    assert choose([straight(100.0, 1.0)], 30.0, 3.5) is None
    assert choose([straight(100.0, 1.5), straight(80.0, 1.0)], 30.0, 6.0) is None


def test_many_spans_are_chosen_quickly_and_evenly() -> None:
    sizes = np.random.default_rng(4).uniform(50.0, 400.0, 200)
    choice = choose([straight(float(a), 1.0) for a in sizes], 30.0)
    assert choice is not None
    assert len(choice.counts) == 200
    assert choice.departure <= max(abs(a / 30.0 / max(1, round(a / 30.0)) - 1.0) for a in sizes) + 1e-9


@pytest.mark.parametrize("hold", [VALLEY, CREST])
def test_a_fit_of_many_spans_chooses_as_from_widths_found_one_by_one(hold: str) -> None:
    # Uneven spans on a wavy edge, one of them over a spike that only a patient search can step off.
    x = np.linspace(0.0, 900.0, 46)
    curve = smooth(np.stack([x, 12.0 * np.sin(x / 25.0)], axis=1))
    spike = cubics.lines([(900.0, 0.0), (930.0, -60.0), (936.0, 0.0)])
    curve = np.concatenate([curve, cubics.lines([curve[-1, 3], (900.0, 0.0)]), spike])
    c = course(curve)
    at = np.sort(np.random.default_rng(2).uniform(0.0, c.measured.length, 14))
    at = np.concatenate([[0.0], at[np.diff(at, prepend=0.0) > 12.0], [c.measured.length]])
    stops = [Stop(f"hold {i}", float(s), hold if 0 < i < len(at) - 1 else VALLEY) for i, s in enumerate(at)]
    wish = Wish(Shape("arc", "share", 0.3), width=14.0)
    found = fit(c, tuple(stops), wish)

    def width(i: int, n: float) -> float | None:
        solved = solve(c, list(found.spans), [i], [n], wish)
        return None if solved is None else float(solved.steps.widths[0])

    spans = [SpanCounts(s.least, partial(width, i), s.length / 14.0) for i, s in enumerate(found.spans)]
    choice = choose(spans, 14.0)
    assert choice is not None
    assert found.counts == choice.counts
    book = Book(c, list(found.spans), wish)
    book.choose(14.0)
    for i, n in enumerate(found.counts):
        assert book.alone(i, n) == pytest.approx(width(i, n), rel=1e-9)


# ---------------------------------------------------------------- a thousand cases against all combinations


@dataclass(frozen=True)
class Case:
    """Spans with the widths of their counts from the smallest on (nan: no fit), and what is asked of them."""

    spans: tuple[SpanCounts, ...]
    widths: tuple[Array, ...]
    target: float
    total: float | None
    least: float
    most: float


def chord(length: float, turn: float, n: float) -> float:
    """The chord of one of n equal parts of an arc that turns by `turn`; 0 for a straight line."""
    return length / n if turn == 0.0 else 2.0 * length / turn * math.sin(0.5 * turn / n)


def random_case(number: int) -> Case:
    rng = np.random.default_rng(number)
    many = int(rng.integers(1, 5))
    target = float(rng.uniform(5.0, 50.0))
    # From a third of a target up; few and short enough that all combinations can be tried.
    lengths = target * np.exp(rng.uniform(math.log(0.3), math.log((60.0, 30.0, 10.0, 5.0)[many - 1]), many))
    smallest = rng.choice([1.0, 0.5], many)
    alike = rng.random()
    if alike < 0.1:
        lengths[:] = lengths[0]
    elif alike < 0.2:
        # Two counts of every span are equally far from the target, one wider and one narrower.
        k = smallest + rng.integers(0, 3, many)
        lengths = target * 2.0 * k * (k + 1.0) / (2.0 * k + 1.0)
    total = None
    if rng.random() < 0.5:
        about = lengths.sum() / target + rng.integers(-3, 4)
        total = float(smallest.sum() + max(round(about - smallest.sum()), 0))
        if rng.random() < 0.5:
            target = float(lengths.sum() / total)
    least, most = 0.0, math.inf
    if rng.random() < 0.4:
        least = target * rng.uniform(0.3, 1.1) if rng.random() < 0.7 else 0.0
        most = max(target * rng.uniform(0.8, 2.0), 1.05 * least) if rng.random() < 0.7 else math.inf
    top = max(int(lengths.max() / (0.5 * min(target, most))) + 20, int(total or 0.0) + 1)
    # Turns are kept so small that even half a scallop's width falls as counts grow.
    turns = np.where((rng.random(many) < 0.5) | (alike < 0.2), 0.0, rng.uniform(0.0, 1.5, many))
    holes = rng.random((many, top)) < (0.3 if rng.random() < 0.4 else 0.0)
    off = rng.choice([0.6, 0.8, 1.3, 1.6]) if rng.random() < 0.4 else 1.0
    spans, widths = [], []
    for length, first, turn, hole in zip(lengths, smallest, turns, holes, strict=True):
        own = np.array([chord(length, turn, first + k) for k in range(top)])
        own[hole] = np.nan
        widths.append(own)
        spans.append(SpanCounts(float(first), partial(looked_up, float(first), own), float(length / target * off)))
    return Case(tuple(spans), tuple(widths), target, total, float(least), float(most))


def looked_up(first: float, widths: Array, count: float) -> float | None:
    k = round(count - first)
    return None if k >= len(widths) or np.isnan(widths[k]) else float(widths[k])


def all_tried(case: Case) -> tuple[float, float, float, dict[int, float]] | None:
    """Departure, spread and count of the best, and the counts of spans without a say; None where there is none.

    The rules in plain words:

    - A count can be taken if it is the span's smallest or a whole number above it, has a fit, and keeps the limits.
    - The own best of a span is the count nearest to the target; of two equally near ones the higher.
    - Without a total, no one wants a width that is off by more than half of the target, but for a span that is too
      narrow at its smallest count.
    - A span whose own best is off by more than a third takes it, and has no say.
    - For the others the largest departure is as small as can be, then the spread, then the count as high as can be.
      A given total is what they and the spans without a say make up together.
    - Where they can't make it up, all spans have a say.
    """
    counts: list[Array] = []
    widths: list[Array] = []
    for span, every in zip(case.spans, case.widths, strict=True):
        taken = (every >= case.least * (1.0 - TIE)) & (every <= case.most * (1.0 + TIE))
        counts.append((span.least + np.arange(len(every), dtype=np.float64))[taken])
        widths.append(every[taken])
    if any(len(own) == 0 for own in counts):
        return None
    off: list[Array] = [np.abs(own / case.target - 1.0) for own in widths]
    best = [int(np.flatnonzero(own <= own.min() + TIE)[-1]) for own in off]
    aside: dict[int, float] = {}
    for i, k in enumerate(best):
        narrow = counts[i][k] == case.spans[i].least and widths[i][k] < case.target
        if case.total is None and off[i][k] > 0.5 + TIE and not narrow:
            return None
        if off[i][k] > 1.0 / 3.0 + TIE:
            aside[i] = float(counts[i][k])
    near = [i for i in range(len(counts)) if i not in aside]
    rest = None if case.total is None else case.total - sum(aside.values())
    if case.total is None:
        # No count that is farther off than all own bests can be part of the best combination.
        worst = max((off[i][best[i]] for i in near), default=0.0)
        for i in near:
            counts[i], widths[i] = counts[i][off[i] <= worst + TIE], widths[i][off[i] <= worst + TIE]
    found = best_combination([counts[i] for i in near], [widths[i] for i in near], case.target, rest)
    if found is None and case.total is not None:
        near, aside = list(range(len(counts))), {}
        found = best_combination(counts, widths, case.target, case.total)
    return None if found is None else (found[0], found[1], found[2] + sum(aside.values()), aside)


def best_combination(
    counts: list[Array], widths: list[Array], target: float, total: float | None
) -> tuple[float, float, float] | None:
    """Departure, spread and count of the best of all combinations."""
    if not counts:
        return (0.0, 0.0, 0.0) if total in (None, 0.0) else None
    if total is not None:
        # No span takes more than all.
        widths = [own[n <= total + TIE] for n, own in zip(counts, widths, strict=True)]
        counts = [n[n <= total + TIE] for n in counts]
    every, axes = reduce(np.add, np.ix_(*counts)), np.ix_(*widths)
    wide, narrow = reduce(np.maximum, axes), reduce(np.minimum, axes)
    departure = np.maximum(np.abs(wide / target - 1.0), np.abs(narrow / target - 1.0))
    if total is not None:
        departure = np.where(np.abs(every - total) < TIE, departure, np.inf)
    least = float(departure.min(initial=math.inf))
    if math.isinf(least):
        return None
    near = departure <= least + TIE
    spread = float((wide - narrow)[near].min())
    return least, spread, float(every[near & (wide - narrow <= spread + TIE * target)].max())


def test_a_thousand_choices_are_the_best_of_all() -> None:
    """Spans of all sorts: unequal by a factor of ten, shorter than a target, halves, arcs, counts without a fit."""
    refused = with_aside = with_total = 0
    for number in range(1000):
        case = random_case(number)
        choice = choose(list(case.spans), case.target, case.total, case.least, case.most)
        tried = all_tried(case)
        assert (choice is None) == (tried is None), f"case {number}"
        if choice is None or tried is None:
            refused += 1
            continue
        departure, spread, total, aside = tried
        own = [span.width(n) for span, n in zip(case.spans, choice.counts, strict=True)]
        judged = [w for i, w in enumerate(choice.widths) if i not in aside]
        assert list(choice.widths) == own, f"case {number}"
        assert {i: choice.counts[i] for i in aside} == aside, f"case {number}"
        assert choice.total == total == (total if case.total is None else case.total), f"case {number}"
        if judged:
            off = max(abs(w / case.target - 1.0) for w in judged)
            assert off == pytest.approx(departure, abs=2.0 * TIE), f"case {number}"
            assert max(judged) - min(judged) == pytest.approx(spread, abs=2.0 * TIE * case.target), f"case {number}"
        with_aside += bool(aside)
        with_total += case.total is not None
    # Every sort of case must come up often.
    assert min(refused, with_aside, with_total) >= 100
    assert refused <= 400
