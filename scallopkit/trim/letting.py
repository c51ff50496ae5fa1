"""Letting out and taking in: how far a seam must move for a span to hold whole scallops of just the width wanted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from .course import Course, Span, Wish
from .fit import Book

# Widths closer than this share of the target are the same.
_EXACT = 1e-9
_STEPS = 30


@dataclass(frozen=True)
class Change:
    """What makes one span exact.

    Attributes:
        span: its number.
        start, end: mm to let out (+) or take in (-) at its start and at its end; both 0 where it is exact already.
    """

    span: int
    start: float
    end: float


def change(
    course: Course, span: Span, count: float, width: float, wish: Wish, ends: tuple[bool, bool]
) -> Change | None:
    """How far the ends of a span must move along the edge for its scallops to have just this width.

    Args:
        course: the course.
        span: the span.
        count: its scallops.
        width: the width wanted, mm.
        wish: what was asked for.
        ends: which ends may move; both share the change evenly.

    Returns:
        The change, its `span` 0; beyond the edge's end it goes on straight. None where no end may move, or no length
        near the span's own holds the scallops.
    """
    if not any(ends):
        return None
    # The secant starts from what a straight edge would need.
    low, at_low = 0.0, _departure(course, span, count, width, wish, (0.0, 0.0))
    if at_low is None:
        return None
    step = -at_low * count
    for _ in range(_STEPS):
        if abs(at_low) <= _EXACT * width:
            return Change(0, *_shared(low, ends))
        high = low + step
        at_high = _departure(course, span, count, width, wish, _shared(high, ends))
        if at_high is None:
            # A change that the edge can't take, or at which nothing fits, is taken half.
            step *= 0.5
            continue
        slope = (at_high - at_low) / step if step else 0.0
        if slope == 0.0:
            return None
        low, at_low = high, at_high
        step = -at_high / slope
    return None


def _shared(total: float, ends: tuple[bool, bool]) -> tuple[float, float]:
    each = total / sum(ends)
    return (each if ends[0] else 0.0, each if ends[1] else 0.0)


def _departure(
    course: Course, span: Span, count: float, width: float, wish: Wish, ends: tuple[float, float]
) -> float | None:
    """How much wider than wanted the scallops become once the ends have moved, mm; None where nothing fits."""
    curve = _moved(course, span, ends)
    if curve is None:
        return None
    m = measure(curve)
    start = replace(span.start, s=0.0, gap=0.0)
    end = replace(span.end, s=m.length, gap=0.0)
    alone = Course(m, False, course.side)
    made = Book(alone, [Span(start, end)], wish).alone(0, count)
    return None if made is None else made - width


def _moved(course: Course, span: Span, ends: tuple[float, float]) -> Array | None:
    """The span's own stretch of the course, longer or shorter at its ends."""
    begin, finish = span.begin - min(ends[0], 0.0), span.finish + min(ends[1], 0.0)
    if finish - begin <= 1e-6:
        return None
    curve = course.measured.part(begin, finish)
    leaving, arriving = cubics.ends_direction(curve)
    parts = [curve]
    if ends[0] > 0.0:
        parts.insert(0, cubics.lines([curve[0, 0] - ends[0] * leaving, curve[0, 0]]))
    if ends[1] > 0.0:
        parts.append(cubics.lines([curve[-1, 3], curve[-1, 3] + ends[1] * arriving]))
    return np.concatenate(parts)
