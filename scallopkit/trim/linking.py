"""What joins neighbouring scallops: nothing where they share a valley, else the stretch that a space leaves flat."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import Measured
from .course import Course, Stop
from .scallops import Scallops

# Ends nearer than this, mm, are one place.
MEETS = 1e-6
_NONE = np.zeros((0, 4, 2))


def links(placed: Scallops, course: Course, stops: Sequence[Stop] = ()) -> list[Array | None]:
    """For each scallop what leads to the next one: an empty curve, a flat stretch, or None where the line ends.

    The stretch follows the course where the valleys lie on it. Where crests or middles do, it runs on straight from
    one base line and into the next. At a stop with a gap the line ends, and starts again beyond it.
    """
    row, m = placed.row, course.measured
    s_end = np.where(row.s_end > m.length + MEETS, row.s_end - m.length, row.s_end)
    gaps = [stop.s for stop in stops if stop.gap > 0.0]
    following = np.roll(np.arange(len(row)), -1)
    start, end = placed.drawn_start[following], placed.drawn_end
    apart = np.hypot(*(start - end).T)
    on_course = np.hypot(*(m.points(s_end) - row.end).T) <= MEETS
    out: list[Array | None] = []
    for i, j in enumerate(following):
        begin, end_of_gap = float(s_end[i]), float(row.s_start[j])
        if (j <= i and not course.loop) or any(_lies_between(s, begin, end_of_gap) for s in gaps):
            out.append(None)
        elif apart[i] <= MEETS:
            out.append(_NONE)
        elif on_course[i]:
            out.append(stretch(m, begin, end_of_gap, course.loop))
        else:
            out.append(_between_bases(placed, i, int(j)))
    return out


def _lies_between(s: float, begin: float, end: float) -> bool:
    """Whether a place lies in a stretch, which on a loop may lead through the first point."""
    if abs(begin - end) <= MEETS:
        return False
    return begin < s < end if begin < end else s > begin or s < end


def stretch(m: Measured, begin: float, end: float, loop: bool) -> Array:
    """A part of the course, on a loop also through its first point."""
    if not loop or end > begin:
        return m.part(begin, end)
    parts = [m.part(a, b) for a, b in ((begin, m.length), (0.0, end)) if b - a > MEETS]
    return np.concatenate(parts) if parts else _NONE


def _between_bases(placed: Scallops, i: int, j: int) -> Array:
    """The end of one base line and the beginning of the next, which are equally long."""
    row = placed.row
    end, start = row.end[i], row.start[j]
    first, second = end - row.start[i], row.end[j] - start
    both = first / np.hypot(*first) + second / np.hypot(*second)
    node = end + first / np.hypot(*first) * (np.hypot(*(start - end)) / np.hypot(*both))
    return cubics.lines([end, node, start])
