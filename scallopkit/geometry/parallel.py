"""The true parallel of each segment of a curve, fitted with cubics.

With N the unit normal to the left, the parallel is O = P + d N; its derivative is P' (1 + d κ), where the curvature κ
is positive when the curve turns to the right on the drawing as seen. Where 1 + d κ changes sign the parallel has a
cusp and runs backward after it (Farouki and Neff, "Analytic properties of plane offset curves", Computer Aided
Geometric Design 7 (1990)). Segments are cut at the cusps and halved until one cubic with the exact end points and end
tangents fits; its two handle lengths are found by least squares on the distance from the true parallel (Hoschek,
"Spline approximation of offset curves", Computer Aided Geometric Design 5 (1988)).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .cubics import (
    Array,
    Bools,
    Ints,
    along,
    cross,
    cut,
    derivative,
    dot,
    left,
    norm,
    point_and_derivative,
    second_derivative,
)

_DEPTH = 30  # halvings, reached at cusps only, where the pieces shrink with their square
_STEPS = np.linspace(0.0, 1.0, 9)
_WIDEST = 1.8  # radians that one cubic may turn: beyond 100 degrees samples could miss how a curve turns in between
_SHARPEST = 0.6  # radians between samples
_SURE = 0.75  # share of the accuracy that the places looked at may use: between them the error is up to a fifth more
_SPECK = 1e-6  # mm; no drawing means a curve by a bend of this size
_FLAT = 1e-6  # weight that keeps handles as they are where straight ends leave their length open


@dataclass(frozen=True)
class Parallel:
    """Cubics (m, 4, 2) of a parallel, and of each the segment (m,) it accompanies from `t0` to `t1`.

    Pieces of one segment follow each other; where the parallel shrinks to a point, or the segment turns within one,
    there is none.
    """

    pieces: Array
    segment: Ints
    t0: Array
    t1: Array


@dataclass(frozen=True)
class _Frame:
    """Places on the true parallel: points, tangents of the source (k, 2), signed speed, and the source's turning."""

    place: Array
    tangent: Array
    speed: Array
    turning: Array


def parallel(curve: Array, distance: float, accuracy: float) -> Parallel:
    """The parallels at `distance` mm to the left of each segment, each within `accuracy` mm; corners stay open.

    A cusp or fold of the source itself is a corner and must be a node: see `cut_at_cusps`.
    """
    segment = np.arange(len(curve))
    a, b = np.zeros(len(curve)), np.ones(len(curve))
    done: list[tuple[Array, Ints, Array, Array]] = []
    for depth in range(_DEPTH):
        frame = _sampled(curve, segment, a, b, distance)
        gone = _shrunk(curve, segment, a, b, frame, accuracy)
        cusp, at = _cusps(curve, segment, a, b, frame, distance)
        turns = _turns(frame)
        smooth = ~cusp & (np.abs(turns).sum(axis=1) <= _WIDEST) & (np.abs(turns).max(axis=1) <= _SHARPEST)
        pieces, error = _fitted(curve, segment, a, b, frame, distance)
        fits = smooth & (error <= _SURE * accuracy) if depth < _DEPTH - 1 else np.ones(len(a), dtype=bool)
        # What still turns within a speck is a corner of the source: its parallel is left to the join.
        gone |= ~fits & (_extent(curve, segment, a, b) <= _SPECK)
        good = fits & ~gone
        done.append((pieces[good], segment[good], a[good], b[good]))
        more = np.flatnonzero(~fits & ~gone)
        if not len(more):
            break
        middle = np.where(cusp, at, 0.5 * (a + b))[more]
        segment = np.repeat(segment[more], 2)
        a, b = np.stack([a[more], middle], axis=1).ravel(), np.stack([middle, b[more]], axis=1).ravel()
    pieces, number, t0, t1 = (np.concatenate([part[k] for part in done]) for k in range(4))
    order = np.lexsort((t0, number))
    return Parallel(pieces[order], number.astype(np.intp)[order], t0[order], t1[order])


def cut_at_cusps(curve: Array) -> Array:
    """The same curve with nodes where it stands still inside a segment: at cusps and where straight ones turn back."""
    legs = np.diff(curve, axis=1)
    size = norm(legs)
    longest = legs[np.arange(len(curve)), size.argmax(axis=1)]
    d0, d1, d2 = np.moveaxis(dot(legs, longest[:, None, :]), 1, 0)
    # Along the longest leg the speed d0 (1-t)² + 2 d1 t (1-t) + d2 t² is zero there.
    with np.errstate(all="ignore"):
        q = d0 - d1 + np.copysign(np.sqrt(np.maximum(d1 * d1 - d0 * d2, 0.0)), d0 - d1)
        t = np.sort(np.stack([q / (d0 - 2.0 * d1 + d2), d0 / q], axis=1), axis=1)
    number = np.repeat(np.arange(len(curve)), 2)
    inside = np.flatnonzero((t.ravel() > 1e-6) & (t.ravel() < 1.0 - 1e-6))
    number, at = number[inside], t.ravel()[inside]
    speed = derivative(curve, number, at)
    still = norm(speed) <= 1e-7 * size.max(axis=1)[number]
    number, at = number[still], at[still]
    apart = np.diff(number + at, prepend=-1.0) > 1e-6
    number, at = number[apart], at[apart]
    start = np.sort(np.concatenate([np.arange(len(curve)), number + at]))
    segment = start.astype(np.intp)
    t0: Array = start - segment
    t1 = np.append(t0[1:], 0.0)
    out = cut(curve, segment, t0, np.where(t1 == 0.0, 1.0, t1))
    whole = np.bincount(segment)[segment] == 1
    out[whole] = curve[segment[whole]]
    out[t0 == 0.0, 0] = curve[:, 0]
    out[t1 == 0.0, 3] = curve[:, 3]
    out[1:, 0] = out[:-1, 3]
    return out


def _sampled(curve: Array, segment: Ints, a: Array, b: Array, distance: float) -> _Frame:
    """Nine places on each interval, arrays (k, 9, ...)."""
    t = a[:, None] + (b - a)[:, None] * _STEPS
    t[:, -1] = b
    return _frame(curve, segment, t, distance)


def _frame(curve: Array, segment: Ints, t: Array, distance: float) -> _Frame:
    """Places on the parallel at parameters t (k, m)."""
    number, flat = np.repeat(segment, t.shape[1]), t.ravel()
    place, first = point_and_derivative(curve, number, flat)
    tangent = along(curve, number, flat, first)
    place = place + distance * left(tangent)
    size = norm(first)
    legs = np.diff(curve, axis=1)
    scale = norm(legs).max(axis=1)[number]
    # At a retracted handle the curve stands still but goes on turning: the values beside it are taken.
    still = np.flatnonzero(size <= 1e-7 * scale)
    beside = flat.copy()
    beside[still] += np.where(flat[still] < 0.5, 1e-6, -1e-6)
    first[still] = derivative(curve, number[still], beside[still])
    size = np.maximum(norm(first), 1e-100)
    second = second_derivative(curve, number, beside)
    turn = cross(first, second)
    # Below this it is the rounding of straight segments, which would be blown up where they stand still.
    turn[np.abs(turn) <= 1e-13 * scale * (size + norm(second))] = 0.0
    turning = turn / size**2
    shape = t.shape
    speed = (size + distance * turning).reshape(shape)
    return _Frame(place.reshape(*shape, 2), tangent.reshape(*shape, 2), speed, turning.reshape(shape))


def _shrunk(curve: Array, segment: Ints, a: Array, b: Array, frame: _Frame, size: float) -> Bools:
    """Whether the parallel is no more than a point where the source is a good deal longer."""
    extent = np.ptp(frame.place, axis=1).max(axis=1)
    return np.asarray((extent <= size) & (_extent(curve, segment, a, b) > 4.0 * extent))


def _extent(curve: Array, segment: Ints, a: Array, b: Array) -> Array:
    """The longer side of the boxes round the control points of the parts from a to b."""
    return np.asarray(np.ptp(cut(curve, segment, a, b), axis=1).max(axis=1))


def _cusps(curve: Array, segment: Ints, a: Array, b: Array, frame: _Frame, distance: float) -> tuple[Bools, Array]:
    """Whether the parallel has a cusp inside the interval, and the parameter of the first one found."""
    noise = 1e-9 * np.abs(frame.speed).max(axis=1)
    sign = np.where(np.abs(frame.speed) <= noise[:, None], 0.0, np.sign(frame.speed))
    inner = sign[:, 1:-1]
    sign[:, 0], sign[:, -1] = _or(sign[:, 0], inner[:, 0]), _or(sign[:, -1], inner[:, -1])
    changes = (sign[:, :-1] != sign[:, 1:]) & (sign[:, :-1] != 0.0)
    rows = np.flatnonzero(changes.any(axis=1))
    step = changes[rows].argmax(axis=1)
    width = b[rows] - a[rows]
    low, high = a[rows] + width * _STEPS[step], a[rows] + width * _STEPS[step + 1]
    before = sign[rows, step]
    for _ in range(50 if len(rows) else 0):
        middle = 0.5 * (low + high)
        same = np.sign(_frame(curve, segment[rows], middle[:, None], distance).speed[:, 0]) == before
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    at = 0.5 * (a + b)
    at[rows] = 0.5 * (low + high)
    clear = (at - a > 1e-9) & (b - at > 1e-9)
    found = np.zeros(len(a), dtype=bool)
    found[rows] = clear[rows]
    return found, at


def _or(value: Array, other: Array) -> Array:
    return np.where(value == 0.0, other, value)


def _turns(frame: _Frame) -> Array:
    """Angles (k, 8) between the tangents of neighbouring samples, radians."""
    t0, t1 = frame.tangent[:, :-1], frame.tangent[:, 1:]
    return np.asarray(np.arctan2(cross(t0, t1), dot(t0, t1)))


def _fitted(curve: Array, segment: Ints, a: Array, b: Array, frame: _Frame, distance: float) -> tuple[Array, Array]:
    """One cubic an interval with exact ends, and its largest distance from the true parallel at seven places."""
    first, last = frame.place[:, 0], frame.place[:, -1]
    tangent0, tangent1 = frame.tangent[:, 0], frame.tangent[:, -1]
    width = (b - a)[:, None]
    handle0, handle1 = frame.speed[:, :1] * width / 3.0, frame.speed[:, -1:] * width / 3.0
    ends = _BASIS[0] * first[:, None] + _BASIS[3] * last[:, None]
    t = a[:, None] + width * _STEPS[1:-1]
    gap = np.zeros((len(a), 7, 2))
    for step in range(7):
        control0, control1 = first + handle0 * tangent0, last - handle1 * tangent1
        fit = ends + _BASIS[1] * control0[:, None] + _BASIS[2] * control1[:, None]
        at = _frame(curve, segment, t, distance)
        gap = fit - at.place
        if step < 4:
            handle0, handle1 = _better_handles(handle0, handle1, tangent0, tangent1, at, gap)
        if step < 6:
            slide = dot(gap, at.tangent) / np.where(at.speed == 0.0, np.inf, at.speed)
            t = np.clip(t + slide, a[:, None], b[:, None])
    error = norm(gap).max(axis=1)
    way = np.diff(frame.place, axis=1)
    length = norm(way).sum(axis=1)
    forward = np.sign(frame.speed[:, 4])
    for handle in (handle0[:, 0], handle1[:, 0]):
        error[(forward * handle < 0.0) | (np.abs(handle) > length)] = np.inf
    return np.stack([first, first + handle0 * tangent0, last - handle1 * tangent1, last], axis=1), error


def _better_handles(
    handle0: Array, handle1: Array, tangent0: Array, tangent1: Array, at: _Frame, gap: Array
) -> tuple[Array, Array]:
    """Handle lengths after one Gauss-Newton step on the distances across the parallel."""
    normal = left(at.tangent)
    across = dot(gap, normal)
    by0 = _BASIS[1][:, 0] * dot(tangent0[:, None], normal)
    by1 = -_BASIS[2][:, 0] * dot(tangent1[:, None], normal)
    m00, m11 = (by0 * by0).sum(axis=1) + _FLAT, (by1 * by1).sum(axis=1) + _FLAT
    m01 = (by0 * by1).sum(axis=1)
    r0, r1 = (by0 * across).sum(axis=1), (by1 * across).sum(axis=1)
    determinant = m00 * m11 - m01 * m01
    return (
        handle0 - ((m11 * r0 - m01 * r1) / determinant)[:, None],
        handle1 - ((m00 * r1 - m01 * r0) / determinant)[:, None],
    )


def _basis() -> Array:
    """The four Bernstein polynomials at the seven inner steps, each (7, 1)."""
    u = _STEPS[1:-1, None]
    return np.stack([(1.0 - u) ** 3, 3.0 * u * (1.0 - u) ** 2, 3.0 * u**2 * (1.0 - u), u**3])


_BASIS = _basis()
