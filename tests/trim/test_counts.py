"""Counts over several spans: the choice is compared with every possible one."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.trim.counts import FARTHEST, TIE, Choice, SpanCounts, choose

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
