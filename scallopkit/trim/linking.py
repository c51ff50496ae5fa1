"""What joins neighbouring scallops: nothing where they share a valley, else the stretch that a space leaves flat."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from .course import VALLEY, Course, Stop
from .scallops import Scallops, following

# Ends nearer than this, mm, are one place.
MEETS = 1e-6
_NONE = np.zeros((0, 4, 2))


def links(placed: Scallops, course: Course, stops: Sequence[Stop] = ()) -> list[Array | None]:
    """For each scallop what leads to the next one: an empty curve, a flat stretch, or None where the line ends.

    The stretch follows the course where the valleys lie on it. Where crests or middles do, it runs on straight from
    one base line and into the next. At a stop that breaks it the line ends, and starts again beyond it.
    """
    row, m = placed.row, course.measured
    # Round a loop the last one leads to the first, a turn later.
    s_next = np.append(row.s_start[1:], row.s_start[:1] + m.length)
    turns = (0, 1) if course.loop else (0,)
    gaps = [stop.s + turn * m.length for stop in stops if stop.breaks for turn in turns]
    apart = np.hypot(*(following(placed.drawn_start, m.closing) - placed.drawn_end).T)
    on_course = np.hypot(*(m.points(row.s_end) - row.end).T) <= MEETS
    start, end = following(row.start, m.closing), following(row.end, m.closing)
    out: list[Array | None] = []
    for i, (a, b) in enumerate(zip(row.s_end.tolist(), s_next.tolist(), strict=True)):
        if (i + 1 == len(row) and not course.loop) or any(a < s < b for s in gaps):
            out.append(None)
        elif apart[i] <= MEETS:
            out.append(_NONE)
        elif on_course[i]:
            out.append(m.part(a, b))
        else:
            out.append(_between_bases(row.start[i], row.end[i], start[i], end[i]))
    return out


def to_fold(placed: Scallops, course: Course, stop: Stop, at_end: bool) -> Array | None:
    """What a space leaves flat between the first or the last scallop and a valley on a fold; None if nothing.

    It follows the course where the valleys lie on it, else it runs on straight to the fold.
    """
    if not stop.fold or stop.hold != VALLEY or stop.mirror is None or course.loop:
        return None
    row, m = placed.row, course.measured
    i = -1 if at_end else 0
    valley, s = (row.end[i], float(row.s_end[i])) if at_end else (row.start[i], float(row.s_start[i]))
    if float(np.hypot(*(m.points(np.array([s]))[0] - valley))) <= MEETS:
        begin, end = (s, m.length) if at_end else (0.0, s)
        return m.part(begin, end) if end - begin > MEETS else None
    along = (row.end[i] - row.start[i]) / np.hypot(*(row.end[i] - row.start[i]))
    normal = np.array(stop.mirror)
    away = float((m.points(np.array([stop.s]))[0] - valley) @ normal / (along @ normal))
    if abs(away) <= MEETS:
        return None
    ends = [valley, valley + away * along]
    return cubics.lines(ends if at_end else ends[::-1])


def _between_bases(before: Array, end: Array, start: Array, after: Array) -> Array:
    """The end of one base line and the beginning of the next, which are equally long."""
    first, second = end - before, after - start
    both = first / np.hypot(*first) + second / np.hypot(*second)
    node = end + first / np.hypot(*first) * (np.hypot(*(start - end)) / np.hypot(*both))
    return cubics.lines([end, node, start])
