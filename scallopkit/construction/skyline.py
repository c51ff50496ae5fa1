"""Shapes laid on a strip one after the other, each as low as it can lie on those before it.

A shape counts as a profile of narrow columns across the strip, from its lowest place to its highest in each of them:
what lies above a hollow is not used for anything else, and no two shapes can ever overlap. It is dropped onto what lies
there already at every place across the strip, in every way it may be turned, and stays where its upper end is lowest.
That is the bottom-left rule of strip packing, from the largest shape on (B. S. Baker, E. G. Coffman, R. L. Rivest:
Orthogonal packings in two dimensions, SIAM Journal on Computing 9, 1980, from memory); it gives no optimum.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from ..geometry import cubics, motion
from ..geometry.cubics import Array

# How wide a column is, mm: a pencil line or two, so that slanting sides lose no more than that.
COLUMN = 2.0
# How closely outlines are followed, mm; profiles are made larger by as much.
_ACCURACY = 0.01
# A line is followed in so many steps a column.
_STEPS = 4
# So few shapes are tried at every place in the order, and so few at its ends, so that it does not take long.
_FEW, _MANY = 12, 40
# Lengths that differ by less, mm, are the same.
_SAME = 1e-6


@dataclass(frozen=True, eq=False)
class Item:
    """A shape to be laid.

    Attributes:
        curves: its lines (n, 4, 2), mm; whatever they bound is taken.
        ways: the maps (2, 3) that turn it as it may lie; each is followed by a move.
        at_edge: whether it must lie with its left side on the left edge of the strip.
    """

    curves: tuple[Array, ...]
    ways: tuple[Array, ...]
    at_edge: bool = False


@dataclass(frozen=True, eq=False)
class Stack:
    """Shapes as they lie.

    Attributes:
        motions: the map of each shape to its place, None where the strip is too narrow for it.
        length: from the beginning of the strip to the end of the farthest shape, mm.
    """

    motions: tuple[Array | None, ...]
    length: float


@dataclass(frozen=True, eq=False)
class _Profile:
    """One way of a shape: its map to x = 0 and y = 0 at the least, its size, and its columns there, mm."""

    motion: Array
    size: Array
    low: Array
    high: Array


def stacked(items: Sequence[Item], width: float, gap: float) -> Stack:
    """The shapes laid on a strip from y = 0 on, x from 0 to its width.

    Of some orders from large to small the shortest is taken; then each shape in turn is tried at other places in it.

    Args:
        items: the shapes.
        width: of the strip, mm.
        gap: how far shapes stay apart at the least, mm.
    """
    return _stacked(items, _profiles(items), width, gap, search=True)


def stacked_on_each(items: Sequence[Item], widths: Iterable[float], gap: float) -> Iterator[Stack]:
    """The shapes laid on strips of several widths, mm, each in the best of some orders from large to small."""
    profiles = _profiles(items)
    return (_stacked(items, profiles, width, gap, search=False) for width in widths)


def _profiles(items: Sequence[Item]) -> list[list[_Profile]]:
    return [[_profile(item.curves, way) for way in item.ways] for item in items]


def _stacked(
    items: Sequence[Item], profiles: Sequence[Sequence[_Profile]], width: float, gap: float, search: bool
) -> Stack:
    sizes = [(float(ways[0].size.prod()), float(ways[0].size[1]), float(ways[0].size[0])) for ways in profiles]
    keys: tuple[Callable[[int], tuple[float, ...]], ...] = (
        lambda i: (-sizes[i][0], i),
        lambda i: (-sizes[i][1], -sizes[i][2], i),
        lambda i: (-sizes[i][2], -sizes[i][1], i),
        lambda i: (not items[i].at_edge, -sizes[i][0], i),
    )
    orders = dict.fromkeys(tuple(sorted(range(len(items)), key=key)) for key in keys)
    strip = _Strip(items, profiles, width, gap)
    order, best = min(((order, strip.laid(order)) for order in orders), key=lambda one: round(one[1].length, 6))
    # Few shapes are tried at all places in the order, more before and after all others.
    ends = len(items) if len(items) <= _FEW else 1
    for i in range(len(items)) if search and len(items) <= _MANY else ():
        for place in sorted({*range(ends), len(items) - 1}):
            others = [k for k in order if k != i]
            tried = (*others[:place], i, *others[place:])
            stack = strip.laid(tried, best.length - _SAME)
            if stack.length < best.length - _SAME:
                order, best = tried, stack
    return best


@dataclass(frozen=True, eq=False)
class _Layer:
    """A strip with some shapes on it: how far its columns are taken, the maps of the shapes, and the length so far."""

    sky: Array
    motions: Mapping[int, Array]
    length: float


class _Strip:
    """Lays shapes in any order; what orders begin with in common is laid once."""

    def __init__(self, items: Sequence[Item], profiles: Sequence[Sequence[_Profile]], width: float, gap: float) -> None:
        self._items, self._profiles, self._width, self._gap = items, profiles, width, gap
        self._known: dict[tuple[int, ...], _Layer] = {(): _Layer(np.zeros(math.ceil(width / COLUMN - _SAME)), {}, 0.0)}

    def laid(self, order: tuple[int, ...], enough: float = math.inf) -> Stack:
        """The shapes laid in the order of their numbers, given up where they come to `enough` mm or more."""
        layer = self._known[()]
        for k in range(len(order)):
            begun = order[: k + 1]
            if begun not in self._known:
                self._known[begun] = self._with_one_more(layer, order[k])
            layer = self._known[begun]
            if layer.length >= enough:
                break
        return Stack(tuple(layer.motions.get(i) for i in range(len(self._items))), layer.length)

    def _with_one_more(self, layer: _Layer, i: int) -> _Layer:
        drops = [_dropped(layer.sky, profile, self._width, self._items[i].at_edge) for profile in self._profiles[i]]
        places = [(drop, k) for k, drop in enumerate(drops) if drop is not None]
        if not places:
            return layer
        (_, _, column, y), k = min(places)
        profile, sky = self._profiles[i][k], layer.sky.copy()
        _raise(sky, profile, column, y, self._gap)
        place = motion.compose(motion.moved(column * COLUMN, y), profile.motion)
        return _Layer(sky, {**layer.motions, i: place}, max(layer.length, y + float(profile.size[1])))


def _dropped(sky: Array, profile: _Profile, width: float, at_edge: bool) -> tuple[float, float, int, float] | None:
    """Where a shape lies lowest: how high it reaches, what is lost below it, its first column and its height."""
    count = len(profile.low)
    room = math.floor((width - float(profile.size[0])) / COLUMN + _SAME) + 1
    if profile.size[0] > width + _SAME or count > len(sky):
        return None
    below = sliding_window_view(sky, count)[: 1 if at_edge else room]
    y = np.maximum((below - profile.low).max(axis=1), 0.0)
    lowest = np.flatnonzero(y <= y.min() + _SAME)
    lost = (y[lowest, None] + profile.low - below[lowest]).sum(axis=1) * COLUMN
    k = int(np.argmin(np.round(lost, 3)))
    column = int(lowest[k])
    # Heights are given by the columns, which are a little lower than the shape: nothing starts below the strip.
    return round(float(y[column] + profile.size[1]), 3), round(float(lost[k]), 3), column, float(y[column])


def _raise(sky: Array, profile: _Profile, column: int, y: float, gap: float) -> None:
    """Takes the room of a shape, and the gap round it, from what is free."""
    wide = math.ceil(gap / COLUMN - _SAME)
    padded = np.pad(profile.high, 2 * wide, constant_values=-np.inf)
    high = sliding_window_view(padded, 2 * wide + 1).max(axis=1)
    first = column - wide
    begin, end = max(first, 0), min(first + len(high), len(sky))
    sky[begin:end] = np.maximum(sky[begin:end], y + high[begin - first : end - first] + gap)


def _profile(curves: Sequence[Array], way: Array) -> _Profile:
    """A shape turned one way, by its columns."""
    turned = [motion.apply(way, curve) for curve in curves]
    boxes = np.array([cubics.bounds(curve) for curve in turned])
    corner, far = boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
    count = max(1, math.ceil((far[0] - corner[0]) / COLUMN - _SAME))
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    for curve in turned:
        points = cubics.flatten(curve, _ACCURACY) - corner
        # A step counts in every column that it touches with all its height: short ones add little to the next.
        step, t = cubics.in_steps(np.ceil(np.abs(np.diff(points[:, 0])) * (_STEPS / COLUMN)))
        points = np.concatenate([points[step] + t[:, None] * (points[step + 1] - points[step]), points[-1:]])
        ends = np.sort(np.stack([points[:-1], points[1:]]), axis=0)
        for x in (ends[0, :, 0] - _ACCURACY, ends[1, :, 0] + _ACCURACY):
            at = np.clip(np.floor(x / COLUMN).astype(np.intp), 0, count - 1)
            np.minimum.at(low, at, ends[0, :, 1] - _ACCURACY)
            np.maximum.at(high, at, ends[1, :, 1] + _ACCURACY)
    return _Profile(motion.compose(motion.moved(*(-corner).tolist()), way), far - corner, low, high)
