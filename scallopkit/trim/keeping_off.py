"""Keeping a row off seams and darts: where along an edge no part may stand, and how the row is moved off these places.

What is moved is moved as little as possible, all parts taken together, and stays in its order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import NoFitError
from ..geometry.cubics import Array, Ints
from .course import Course

# Places are found to this, mm; less than that is no move.
_ACCURACY = 1e-9
# What rounding may take off a distance, mm.
_ROUNDING = 1e-7
# So many places along the edge are looked at beside each seam, so many times its reach away on either side.
_LOOKS, _BESIDE = 801, 4.0
_HALVINGS = 50
# No more neighbours than this are moved together: the search grows with the square of their number.
_MOST = 1000
# So many neighbours of what stands in the way are looked at first.
_NEIGHBOURS = 2
# Of ways equally short the one with the smaller single moves is taken, then the one towards the middle of the row.
_EVEN, _INWARD = 1e-6, 1e-8


@dataclass(frozen=True, eq=False)
class Seam:
    """A line that crosses a course: a seam, a dart that is closed, or edges laid end to end.

    Attributes:
        name: what the maker calls it.
        s: its length along the course, mm.
        point: where it crosses the course.
        square: its unit normal in the walking direction.
        before, after: how far the allowances pressed there reach on either side of it, mm.
        layers: how many layers such an allowance is, before it and after it.
    """

    name: str
    s: float
    point: Array
    square: Array
    before: float = 0.0
    after: float = 0.0
    layers: tuple[int, int] = (1, 1)


@dataclass(frozen=True)
class Zone:
    """A stretch of a course in which no middle of a part may lie: from `begin` to `end`, mm; named after its seam."""

    name: str
    begin: float
    end: float


def beyond(course: Course, seam: Seam, s: Array, inset: float) -> Array:
    """How far beyond a seam's line lie the places (k,) `inset` mm inside the course at lengths `s`; before it below 0.

    Round a loop `s` may be a turn off; the seam stays where it is.
    """
    m = course.measured
    places = m.points(s) - course.side * inset * m.normals(s)
    return np.asarray((places - seam.point) @ seam.square)


def zones(course: Course, seams: Sequence[Seam], inset: float, clear: float) -> tuple[Zone, ...]:
    """Where along a course the middle of a part comes nearer to a seam, or to what is pressed there, than `clear`.

    Args:
        course: the course.
        seams: what crosses it.
        inset: how far inside the course the middles lie, mm.
        clear: from a middle to the seam, or to the edge of an allowance, mm.
    """
    found = (_zone(course, seam, inset, clear) for seam in seams)
    return tuple(zone for zone in found if zone is not None)


def _zone(course: Course, seam: Seam, inset: float, clear: float) -> Zone | None:
    before, after = clear + seam.before, clear + seam.after
    reach = _BESIDE * (before + after + inset)
    low, high = seam.s - reach, seam.s + reach
    if not course.loop:
        low, high = max(low, 0.0), min(high, course.measured.length)
    s = np.linspace(low, high, _LOOKS)
    away = beyond(course, seam, s, inset)
    near = (away > -before) & (away < after)
    if not near.any():
        return None
    middle = int(np.flatnonzero(near)[np.abs(s[near] - seam.s).argmin()])
    outside = np.flatnonzero(~near)
    first = int(outside[outside < middle].max(initial=-1))
    last = int(outside[outside > middle].min(initial=len(s)))
    # What reaches an end of the course goes on beyond it.
    begin = low - before if first < 0 else _border(course, seam, inset, (before, after), s[first], s[first + 1])
    end = high + after if last == len(s) else _border(course, seam, inset, (before, after), s[last], s[last - 1])
    return Zone(seam.name, float(begin), float(end))


def _border(
    course: Course, seam: Seam, inset: float, room: tuple[float, float], outside: float, inside: float
) -> float:
    """The last place outside the room beside a seam, between one outside and one inside."""
    for _ in range(_HALVINGS):
        half = 0.5 * (outside + inside)
        away = float(beyond(course, seam, np.array([half]), inset)[0])
        if -room[0] < away < room[1]:
            inside = half
        else:
            outside = half
        if abs(outside - inside) < 0.1 * _ACCURACY:
            break
    return outside


# ---------------------------------------------------------------- moving


def kept_off(
    s: Array,
    taken: Sequence[Zone],
    apart: float,
    bounds: tuple[float, float],
    around: float | None = None,
    what: str = "parts",
) -> Array:
    """Places in order, moved off zones as little as possible; the sum of all moves is the smallest there is.

    Args:
        s: the places as they were asked for (n,), growing, mm.
        taken: the zones.
        apart: the least distance of two neighbours along the course, mm, where any has to be moved.
        bounds: the first and the last place where one may stand; of no matter round a loop.
        around: the length of a loop; None for an open course.
        what: what stands there, in the plural, for messages.

    Returns:
        The places (n,) in the same order; round a loop they may lie a little before 0 or beyond its length.

    Raises:
        NoFitError: there is no room for them all; the text tells how many there is room for.
    """
    s = np.asarray(s, dtype=float)
    if not len(s) or not any(_hit(s, zone, around) for zone in taken):
        return s
    try:
        if around is None:
            found = moved_off(s, taken, apart, bounds)
            most = _room(taken, apart, bounds)
        else:
            found, most = _moved_round(s, taken, apart, around)
    except _TooManyError:
        raise NoFitError(
            f"{len(s)} {what} stand so near to each other that more than {_MOST} would have to give way off "
            f"{_listed(taken)}: space them wider, take a smaller margin, or leave them as they fall with --off none"
        ) from None
    if found is None:
        fewer = f"take at most {most}" if most else "take a smaller margin or smaller ones"
        raise NoFitError(f"{len(s)} {what} {apart:.6g} mm apart or more have no room between {_listed(taken)}: {fewer}")
    return found


def _hit(s: Array, zone: Zone, around: float | None) -> bool:
    """Whether any place lies inside a zone."""
    inside = s - zone.begin if around is None else np.mod(s - zone.begin, around)
    return bool(((inside > _ROUNDING) & (inside < zone.end - zone.begin - _ROUNDING)).any())


class _TooManyError(Exception):
    """More parts than _MOST would have to be moved together."""


def moved_off(s: Array, taken: Sequence[Zone], apart: float, bounds: tuple[float, float]) -> Array | None:
    """As `kept_off` on an open course; None where there is no room.

    Only those that stand in the way, and a few neighbours, are moved at first, as if the others were not there. Where
    they then keep clear of the others, which do not move, no way is shorter; else more neighbours are taken in.
    """
    shut = (s < bounds[0] - _ROUNDING) | (s > bounds[1] + _ROUNDING)
    for zone in taken:
        shut |= (s > zone.begin + _ROUNDING) & (s < zone.end - _ROUNDING)
    tight = np.diff(s) < apart - _ROUNDING
    shut[1:] |= tight
    shut[:-1] |= tight
    ways = [(i - _NEIGHBOURS, i + _NEIGHBOURS + 1) for i in np.flatnonzero(shut).tolist()]
    stretches, out = _together(ways, len(s)), s.copy()
    while True:
        wider = []
        for first, last in stretches:
            found = moved_together(s[first:last], taken, apart, bounds)
            if found is None:
                return None
            out[first:last] = found
            near_before = first > 0 and found[0] - s[first - 1] < apart - _ROUNDING
            near_after = last < len(s) and s[last] - found[-1] < apart - _ROUNDING
            more = (last - first) * (near_before or near_after)
            wider.append((first - more, last + more))
        wider = _together(wider, len(s))
        if wider == stretches:
            return out
        stretches = wider


def _together(stretches: Sequence[tuple[int, int]], count: int) -> list[tuple[int, int]]:
    """Stretches of a row, cut off at its ends; those that meet are one."""
    out: list[tuple[int, int]] = []
    for first, last in sorted((max(first, 0), min(last, count)) for first, last in stretches):
        if out and first <= out[-1][1]:
            out[-1] = out[-1][0], max(last, out[-1][1])
        else:
            out.append((first, last))
    return out


def moved_together(s: Array, taken: Sequence[Zone], apart: float, bounds: tuple[float, float]) -> Array | None:
    """As `moved_off` where any of a row may have to move.

    With u_i = t_i - i apart the places t_i stand in order when u grows, so the best way is found place by place over
    the values that u can take: where a place as asked, an end of a zone or a bound sets it.
    """
    n, low, high = len(s), bounds[0], bounds[1]
    if n > _MOST:
        raise _TooManyError
    steps = apart * np.arange(n)
    ends = np.array([low, high, *(end for zone in taken for end in (zone.begin, zone.end))])
    values = np.unique(np.concatenate([s - steps, (ends[None] - steps[:, None]).ravel()]))
    middle = 0.5 * (low + high)
    came = np.zeros((n, len(values)), dtype=np.intp)
    best = np.zeros(len(values))
    for i in range(n):
        t = values + steps[i]
        move = np.abs(t - s[i])
        cost = move * (1.0 + _EVEN * move / apart) + _INWARD * np.abs(t - middle)
        shut = (t < low - _ROUNDING) | (t > high + _ROUNDING)
        for zone in taken:
            shut |= (t > zone.begin + _ROUNDING) & (t < zone.end - _ROUNDING)
        least, came[i] = _least_so_far(best)
        best = np.where(shut, math.inf, least + cost)
    at = int(best.argmin())
    if math.isinf(best[at]):
        return None
    out = np.empty(n)
    for i in range(n - 1, -1, -1):
        out[i] = values[at] + steps[i]
        at = int(came[i, at])
    # What was not moved stays to the last bit.
    return np.where(np.abs(out - s) < _ACCURACY, s, out)


def _least_so_far(values: Array) -> tuple[Array, Ints]:
    """The least value up to each place, and where it stands."""
    least = np.minimum.accumulate(values)
    fresh = np.concatenate([[True], values[1:] < least[:-1]])
    return least, np.maximum.accumulate(np.where(fresh, np.arange(len(values)), 0))


def _moved_round(s: Array, taken: Sequence[Zone], apart: float, around: float) -> tuple[Array | None, int]:
    """As `moved_off` round a loop, opened at its widest zone; and how many there is room for."""
    widest = max(taken, key=lambda zone: zone.end - zone.begin)
    origin, width = widest.end, widest.end - widest.begin
    # A zone narrower than two neighbours need takes the rest of their room from both ends.
    short = max(0.0, 0.5 * (apart - width))
    bounds = (short, around - width - short)
    turned = [
        Zone(zone.name, begin, begin + zone.end - zone.begin)
        for zone in taken
        if zone is not widest
        for begin in _turns(zone, origin, around)
    ]
    most = _room(turned, apart, bounds)
    along = np.mod(s - origin, around)
    order = np.argsort(along, kind="stable")
    inside = int((along > around - width + _ROUNDING).sum())
    best: tuple[float, Array] | None = None
    # Those inside the zone leave it at either end.
    for before in range(inside + 1):
        taking = np.roll(order, before)
        asked = along[taking] - np.where(np.arange(len(s)) < before, around, 0.0)
        found = moved_off(asked, turned, apart, bounds)
        moves = math.inf if found is None else float(np.abs(found - asked).sum())
        if found is not None and (best is None or moves < best[0]):
            placed = np.empty(len(s))
            placed[taking] = s[taking] + (found - asked)
            best = moves, placed
    return (None if best is None else best[1]), most


def _turns(zone: Zone, origin: float, around: float) -> tuple[float, float]:
    """Where a zone begins behind an origin, on this turn and the one before."""
    begin = (zone.begin - origin) % around
    return begin, begin - around


def _room(taken: Sequence[Zone], apart: float, bounds: tuple[float, float]) -> int:
    """How many places there are at the most: each one as early as it can stand."""
    count, at = 0, bounds[0]
    shut = sorted(taken, key=lambda zone: zone.begin)
    while True:
        for zone in shut:
            if zone.begin + _ROUNDING < at < zone.end - _ROUNDING:
                at = zone.end
        if at > bounds[1] + _ROUNDING:
            return count
        count, at = count + 1, at + apart


def _listed(taken: Sequence[Zone]) -> str:
    names = [f'"{name}"' for name in dict.fromkeys(zone.name for zone in taken)]
    return names[0] + " and the ends" if len(names) == 1 else ", ".join(names[:-1]) + f" and {names[-1]}"
