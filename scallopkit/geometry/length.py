"""Length along a curve, and the way back from a length to the place.

The speed of each segment is expanded in Legendre polynomials from Gauss nodes, on parts that are halved until the
expansion has converged; its integral is then a polynomial on each part, exact to the promise everywhere in it, and
the inverse is a few bracketed Newton steps on that polynomial. (Gauss-Legendre quadrature:
https://dlmf.nist.gov/3.5#v; integral of a Legendre polynomial: https://dlmf.nist.gov/18.17#i.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.polynomial import legendre

from . import cubics
from .cubics import Array, Ints
from .motion import IDENTITY, apply, power

_NODES = 16
# What the last two coefficients may still weigh: relative to the part, or to the whole curve where a part is tiny
# (the parts that close in on a cusp). Both leave the promised 1e-9 a margin of 100.
_TAIL_OF_PART = 1e-11
_TAIL_OF_WHOLE = 1e-13
# Parts shorter than this share of the curve are the rounding of a length.
_ROUNDING = 1e-12
# Knots of the starting table a part: four make the first guess good to about 1e-3 of the part.
_KNOTS = 4


def _expansion() -> tuple[Array, Array, Array, Array]:
    """Gauss nodes and weights, and the matrices values -> Legendre coefficients, -> monomials of the integral."""
    x, weight = legendre.leggauss(_NODES)
    basis = legendre.legvander(x, _NODES - 1)
    to_legendre = (basis * weight[:, None]) * (np.arange(_NODES) + 0.5)
    integral = np.zeros((_NODES, _NODES + 1))
    for degree, row in enumerate(np.eye(_NODES)):
        powers = legendre.leg2poly(legendre.legint(row, lbnd=-1))
        integral[degree, : len(powers)] = powers
    return x, weight, to_legendre, to_legendre @ integral


_X, _WEIGHT, _TO_LEGENDRE, _TO_INTEGRAL = _expansion()


@dataclass(frozen=True, eq=False)
class Measured:
    """A curve with its lengths: places by length, lengths by place, all vectorised.

    Make it with `measure`. Lengths beyond the ends of an open curve are clamped to them. A loop goes on there: a turn
    later it is what its closing makes of it, P(s + length) = closing P(s), any number of turns either way.

    Attributes:
        curve: the curve (n, 4, 2) in mm.
        length: its length in mm.
        closing: the rigid motion (2, 3) by which a loop goes on, the identity for a closed curve; None for an open one.
    """

    curve: Array
    length: float
    _segment: Ints = field(repr=False)
    _t0: Array = field(repr=False)
    _t1: Array = field(repr=False)
    _start: Array = field(repr=False)
    _integral: Array = field(repr=False)
    closing: Array | None = None

    def at(self, s: Array) -> tuple[Ints, Array]:
        """Segment numbers and parameters at the lengths `s` (k,), to 1e-9 of the length."""
        s = self._on_curve(np.asarray(s, dtype=float))
        segment, t, _ = self.near(s)
        part = self._start[1:].searchsorted(s, side="right")
        t0, half = self._t0[part], 0.5 * (self._t1[part] - self._t0[part])
        target = s - self._start[part]
        segment = self._segment[part]
        x = np.clip((t - t0) / half - 1.0, -1.0, 1.0)
        low, high = np.full_like(x, -1.0), np.full_like(x, 1.0)
        coefficients = self._integral[part]
        for _ in range(60):
            miss = _horner(coefficients, x) - target
            low, high = np.where(miss < 0.0, x, low), np.where(miss < 0.0, high, x)
            if np.abs(miss).max(initial=0.0) <= 1e-14 * self.length:
                break
            d = cubics.derivative(self.curve, segment, t0 + half * (x + 1.0))
            speed = np.hypot(d[:, 0], d[:, 1]) * half
            with np.errstate(divide="ignore", invalid="ignore"):
                step = x - miss / speed
            inside = (step > low) & (step < high)
            new = np.where(inside, step, np.where(np.abs(miss) > 0.0, 0.5 * (low + high), x))
            if np.abs(new - x).max(initial=0.0) <= 1e-15:
                x = new
                break
            x = new
        # Nodes are met exactly: the polynomial's own rounding would miss them by a few units of the last place.
        x = np.where(target <= 0.0, -1.0, np.where(s >= self.length, 1.0, x))
        return segment, _within(t0 + half * (x + 1.0), 1.0)

    def lengths(self, segment: Ints, t: Array) -> Array:
        """Lengths from the start to the places (segment, t)."""
        key = segment + _within(t, 1.0)
        part = (self._segment[1:] + self._t0[1:]).searchsorted(key, side="right")
        # A place at t = 1 belongs to the last part of its own segment, not to the first of the next.
        part = np.where(self._segment[part] > segment, part - 1, part)
        x = 2.0 * (t - self._t0[part]) / (self._t1[part] - self._t0[part]) - 1.0
        s = self._start[part] + _horner(self._integral[part], np.clip(x, -1.0, 1.0))
        return _within(s, self.length)

    def near(self, r: Array) -> tuple[Ints, Array, Array]:
        """Places on the curve at the values `r` of a parameter that follows the length closely, and dt/dr.

        It is a monotone cubic through exact knots (Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238), so a
        look-up costs no iteration; solvers work in it and turn to true lengths at the end with `lengths`.
        """
        knots = self._knots
        r = self._on_curve(r)
        j = knots.inside.searchsorted(r, side="right")
        begin, h, t, c1, c2, c3 = knots.cubics[:, j]
        u = (r - begin) / h
        t = t + u * (c1 + u * (c2 + u * c3))
        slope = (c1 + u * (2.0 * c2 + 3.0 * u * c3)) / h
        return knots.segment[j], _within(t, 1.0), slope

    def places(self, r: Array) -> tuple[Array, Array]:
        """Points (k, 2) at the values `r` of the parameter of `near`, and their derivatives by it (k, 2)."""
        segment, t, slope = self.near(r)
        derivative = cubics.derivative(self.curve, segment, t) * slope[:, None]
        return self._moved(cubics.point(self.curve, segment, t), r), self._moved(derivative, r, free=True)

    def directions(self, r: Array) -> Array:
        """Unit tangents (k, 2) at the values `r` of the parameter of `near`, at cusps too."""
        segment, t, _ = self.near(r)
        return self._moved(cubics.direction(self.curve, segment, t), r, free=True)

    def lengths_near(self, r: Array) -> Array:
        """Lengths (k,) at the values `r` of the parameter of `near`."""
        segment, t, _ = self.near(r)
        turns = self._turns(r)
        s = self.lengths(segment, t)
        return s if turns is None else np.asarray(s + turns * self.length)

    def working(self, s: Array) -> Array:
        """The values (k,) of the parameter of `near` at the lengths `s` (k,), from which they differ by little."""
        r = np.asarray(s, dtype=float).copy()
        for _ in range(50):
            miss = s - self.lengths_near(r)
            r = r + miss
            if np.abs(miss).max(initial=0.0) <= 1e-14 * self.length:
                break
        return r

    def points(self, s: Array) -> Array:
        """Points (k, 2) at the lengths `s` (k,)."""
        return self._moved(cubics.point(self.curve, *self.at(s)), s)

    def tangents(self, s: Array) -> Array:
        """Unit tangents (k, 2) in the walking direction."""
        return self._moved(cubics.direction(self.curve, *self.at(s)), s, free=True)

    def normals(self, s: Array) -> Array:
        """Unit normals (k, 2) to the walker's left."""
        return cubics.left(self.tangents(s))

    def curvatures(self, s: Array) -> Array:
        """Curvatures (k,) in 1/mm, positive where the curve turns clockwise on the drawing as seen."""
        segment, t = self.at(s)
        d, e = cubics.derivative(self.curve, segment, t), cubics.second_derivative(self.curve, segment, t)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray((d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0]) / np.hypot(d[:, 0], d[:, 1]) ** 3)

    def part(self, s0: float, s1: float) -> Array:
        """The sub-curve from length s0 to length s1 > s0; round a loop also through its closing."""
        if self.closing is None or (s0 >= 0.0 and s1 <= self.length):
            return self._part(s0, s1)
        pieces = []
        for turn in range(math.floor(s0 / self.length), math.ceil(s1 / self.length)):
            a, b = max(s0 - turn * self.length, 0.0), min(s1 - turn * self.length, self.length)
            # What is shorter is rounding, where an end of the part is the closing itself.
            if b - a > _ROUNDING * self.length:
                pieces.append(self.carried(self._part(a, b), turn))
        return np.concatenate([*pieces, np.zeros((0, 4, 2))])

    @cached_property
    def winds(self) -> bool:
        """Whether it is a loop that ends elsewhere than it began."""
        return self.closing is not None and not np.array_equal(self.closing, IDENTITY)

    def carried(self, points: Array, turns: int = 1) -> Array:
        """Points, or a whole curve, (..., 2), as a loop has them `turns` turns later; unchanged for an open curve."""
        return apply(self._power(turns), points) if self.winds else points

    def turned(self, vectors: Array, turns: int = 1) -> Array:
        """Directions (..., 2) as a loop has them `turns` turns later; unchanged for an open curve."""
        return np.asarray(vectors @ self._power(turns)[:, :2].T) if self.winds else vectors

    def _power(self, turns: int) -> Array:
        return power(IDENTITY if self.closing is None else self.closing, turns)

    def _turns(self, s: Array) -> Array | None:
        """On which turn of a loop each length lies, 0 for both its ends; None where all lie on the curve itself."""
        if self.closing is None or s.size == 0 or (s.min() >= 0.0 and s.max() <= self.length):
            return None
        return np.where((s >= 0.0) & (s <= self.length), 0.0, np.floor(s / self.length))

    def _on_curve(self, s: Array) -> Array:
        """The lengths brought onto the curve itself: by whole turns of a loop, else to the nearer end."""
        turns = self._turns(s)
        return _within(s if turns is None else s - turns * self.length, self.length)

    def _moved(self, values: Array, s: Array, free: bool = False) -> Array:
        """Points, or free vectors, (k, 2) of the curve itself, as they are on the turns on which `s` (k,) lies."""
        turns = self._turns(np.asarray(s, dtype=float)) if self.winds else None
        if turns is None:
            return values
        out = values.copy()
        for turn in np.unique(turns[turns != 0.0]):
            here = turns == turn
            out[here] = (self.turned if free else self.carried)(values[here], int(turn))
        return out

    def _part(self, s0: float, s1: float) -> Array:
        (i, j), (a, b) = (both.tolist() for both in self.at(np.array([s0, s1])))
        # A segment of mere rounding beside a node leads anywhere.
        if i < j and self._short(i, 1.0 - a):
            i, a = i + 1, 0.0
        if i < j and self._short(j, b):
            j, b = j - 1, 1.0
        return cubics.stretch(self.curve, (i, a), (j, b))

    def _short(self, segment: int, share: float) -> bool:
        """Whether so much of a segment's parameter is no more than rounding."""
        return share * float(np.ptp(self.curve[segment], axis=0).max()) <= _ROUNDING * self.length

    @cached_property
    def turning(self) -> tuple[Array, Array, float]:
        """How far the control polygon turns, each bend without its sign, which bounds how far the curve does.

        The turn before each segment (n,), its first node included; that within each segment (n,); and that of the
        whole curve, for a loop with the corner at its closing.
        """
        legs = _legs(self.curve)
        inside = _angle(legs[:, 0], legs[:, 1]) + _angle(legs[:, 1], legs[:, 2])
        corner = np.concatenate([[0.0], _angle(legs[:-1, 2], legs[1:, 0])])
        after = np.cumsum(corner) + np.cumsum(inside)
        closing = 0.0
        if self.closing is not None:
            first = int(np.argmax((legs[:, 0] != 0.0).any(axis=1)))
            closing = float(_angle(legs[-1:, 2], self.turned(legs[first : first + 1, 0]))[0])
        return after - inside, inside, float(after[-1]) + closing

    @cached_property
    def _knots(self) -> _Knots:
        return _starting_table(self)


@dataclass(frozen=True, eq=False)
class _Knots:
    """What lies between neighbouring knots, stretch by stretch.

    Attributes:
        inside: the knots, ends of the curve left out, (n - 1,).
        segment: the segment (n,) on which each stretch lies.
        cubics: by row (6, n): where the stretch begins, its size, and t as a cubic in the share of the stretch that is
            past, lowest degree first.
    """

    inside: Array
    segment: Ints
    cubics: Array


def measure(curve: Array, closing: Array | None = None) -> Measured:
    """The curve with its lengths, to a relative error of at most 1e-9.

    Args:
        curve: cubic segments (n, 4, 2), n >= 1, each starting where the one before it ends.
        closing: for a loop the rigid motion (2, 3), no mirror image, that carries its first point to its last and by
            which it goes on there: the identity for a closed curve. None for an open curve.

    Raises:
        ValueError: the curve has no segment, no length, or a coordinate that is not a finite number.
    """
    if len(curve) == 0 or not np.isfinite(curve).all():
        raise ValueError("a curve needs at least one segment, and finite coordinates")
    segment, t0, t1 = _without_turns_back(curve)
    scale = float(np.hypot(*np.moveaxis(np.diff(curve, axis=1), -1, 0)).sum())
    done: list[tuple[Ints, Array, Array, Array]] = []
    for _ in range(80):
        speed = _speeds(curve, segment, t0, t1)
        tail = np.abs(speed @ _TO_LEGENDRE[:, -2:]).sum(axis=1)
        size = speed.mean(axis=1)
        good = tail <= np.maximum(_TAIL_OF_PART * size, _TAIL_OF_WHOLE * scale)
        done.append((segment[good], t0[good], t1[good], _integrated(speed[good])))
        if good.all():
            break
        segment, a, b = segment[~good], t0[~good], t1[~good]
        middle = 0.5 * (a + b)
        segment, t0, t1 = np.tile(segment, 2), np.concatenate([a, middle]), np.concatenate([middle, b])
    return _assemble(curve, done, closing)


def _without_turns_back(curve: Array) -> tuple[Ints, Array, Array]:
    """Segments as parts that only go forward along their longest leg.

    Where a segment turns back the speed may vanish twice between two nodes of a rule, which would not see it.
    """
    legs = np.diff(curve, axis=1)
    longest = np.argmax(np.hypot(legs[..., 0], legs[..., 1]), axis=1)
    along = np.einsum("nij,nj->ni", legs, legs[np.arange(len(legs)), longest])
    size = np.abs(along).max(axis=1)
    a, b, c = along[:, 0] - 2.0 * along[:, 1] + along[:, 2], 2.0 * (along[:, 1] - along[:, 0]), along[:, 0]
    turning = np.flatnonzero((along.min(axis=1) < 0.0) & (size > 0.0))
    cuts = np.zeros((len(curve), 4))
    cuts[:, 1:] = 1.0
    if len(turning):
        roots = np.stack(cubics.quadratic_roots(a[turning], b[turning], c[turning]), axis=1)
        cuts[turning, 1:3] = np.sort(np.where((roots > 0.0) & (roots < 1.0), roots, 1.0), axis=1)
    begin, end = cuts[:, :-1], cuts[:, 1:]
    number, part = np.nonzero(end > begin)
    return number, begin[number, part], end[number, part]


def _speeds(curve: Array, segment: Ints, t0: Array, t1: Array) -> Array:
    """Speeds (k, nodes) with respect to x in -1..1 at the Gauss nodes of each part."""
    half = 0.5 * (t1 - t0)
    t = t0[:, None] + half[:, None] * (_X + 1.0)
    d = np.diff(curve, axis=1)[segment] * 3.0
    u, v = t[:, :, None], 1.0 - t[:, :, None]
    value = v * v * d[:, None, 0] + 2.0 * u * v * d[:, None, 1] + u * u * d[:, None, 2]
    return np.asarray(np.hypot(value[..., 0], value[..., 1]) * half[:, None])


def _integrated(speed: Array) -> Array:
    """Monomials of the length within each part, scaled so that its end is the plain Gauss sum, which rounds least."""
    integral = speed @ _TO_INTEGRAL
    end = integral.sum(axis=1)
    ratio = np.divide(speed @ _WEIGHT, end, out=np.ones_like(end), where=end > 0.0)
    return np.asarray(integral * ratio[:, None])


def _assemble(curve: Array, done: list[tuple[Ints, Array, Array, Array]], closing: Array | None) -> Measured:
    segment, t0, t1, integral = (np.concatenate(column) for column in zip(*done, strict=True))
    order = np.lexsort((t0, segment))
    segment, t0, t1, integral = segment[order], t0[order], t1[order], integral[order]
    sizes = integral.sum(axis=1)
    keep = sizes > 0.0
    if not keep.any():
        raise ValueError("the curve has no length")
    start = np.concatenate([[0.0], np.cumsum(sizes[keep])])
    return Measured(curve, float(start[-1]), segment[keep], t0[keep], t1[keep], start[:-1], integral[keep], closing)


def _legs(curve: Array) -> Array:
    """The legs of the control polygon (n, 3, 2), those without length replaced by a neighbour's.

    A segment that is a point goes on as the one before it, so that the corner at it is not lost.
    """
    legs = np.diff(curve, axis=1)
    size = np.hypot(legs[..., 0], legs[..., 1])
    whole = size.sum(axis=1, keepdims=True)
    none = size <= 1e-9 * whole
    legs[:, 1] = np.where(none[:, 1, None], np.where(none[:, 0, None], legs[:, 2], legs[:, 0]), legs[:, 1])
    legs[:, 0] = np.where(none[:, 0, None], legs[:, 1], legs[:, 0])
    legs[:, 2] = np.where(none[:, 2, None], legs[:, 1], legs[:, 2])
    point = whole[:, 0] <= 0.0
    if point.any():
        real = np.maximum.accumulate(np.where(point, 0, np.arange(len(legs))))
        legs[point] = legs[real[point], 2:]
    return np.asarray(legs)


def _angle(a: Array, b: Array) -> Array:
    return np.abs(np.arctan2(cubics.cross(a, b), cubics.dot(a, b)))


def _starting_table(m: Measured) -> _Knots:
    fractions = np.arange(_KNOTS) / _KNOTS
    x = 2.0 * fractions - 1.0
    part = np.repeat(np.arange(len(m._segment)), _KNOTS)
    segment = m._segment[part]
    step = (m._t1 - m._t0)[part] / _KNOTS
    t = m._t0[part] + step * np.tile(np.arange(_KNOTS), len(m._segment))
    powers = np.vander(x, m._integral.shape[1], increasing=True)
    s = (m._start[:, None] + m._integral @ powers.T).ravel()
    s = np.maximum.accumulate(np.concatenate([s, [m.length]]))
    grown = np.diff(s) > 0.0
    segment, t, step = segment[grown], t[grown], step[grown]
    s = np.concatenate([s[:-1][grown], [m.length]])
    h = np.diff(s)
    m0 = _inverse_speed(m.curve, segment, t, step / h) * h
    m1 = _inverse_speed(m.curve, segment, t + step, step / h) * h
    c2, c3 = 3.0 * step - 2.0 * m0 - m1, m0 + m1 - 2.0 * step
    return _Knots(s[1:-1], segment, np.stack([s[:-1], h, t, m0, c2, c3]))


def _inverse_speed(curve: Array, segment: Ints, t: Array, secant: Array) -> Array:
    """dt/ds at the knots, held below three secants so that the table stays monotone."""
    d = cubics.derivative(curve, segment, t)
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(np.minimum(1.0 / np.hypot(d[:, 0], d[:, 1]), 3.0 * secant))


def _within(values: Array, most: float) -> Array:
    """Values held between 0 and `most`; on the few at a time of a walk `np.clip` takes twice as long."""
    return np.asarray(np.minimum(np.maximum(values, 0.0), most))


def _horner(coefficients: Array, x: Array) -> Array:
    """Polynomials (k, degree + 1), lowest degree first, each at its own x (k,)."""
    value = coefficients[:, -1].copy()
    for degree in range(coefficients.shape[1] - 2, -1, -1):
        value = value * x + coefficients[:, degree]
    return value
