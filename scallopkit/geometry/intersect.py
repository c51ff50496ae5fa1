"""Where two curves, or different places of one curve, meet.

Pairs of pieces whose boxes lie apart are dropped; pairs whose directions differ everywhere meet at most once, and go
to Newton; all others are halved. Boxes are taken along x and y and along both chords (separating axes:
https://en.wikipedia.org/wiki/Hyperplane_separation_theorem), so pieces that run side by side part company quickly.
All pairs are worked at once. Stretches that two curves share are told from crossings by their count, which Bézout's
theorem limits to nine for two cubics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .cubics import (
    Array,
    Bools,
    Ints,
    cross,
    derivative,
    dot,
    norm,
    point,
    point_and_derivative,
    powers,
    second_derivative,
)

_DEPTH = 22  # halvings, after which a piece of 100 mm is 2e-5 mm long: what is left there touches
_STILL = 1e-14  # a step of Newton's method, in parameters, after which no other is taken
_SHARED = 24  # pairs of pieces left between two segments at one level that make a shared stretch likely
_TOUCH = 1e-8  # mm; places nearer than this touch
_SAME = 1e-6  # mm along both curves; crossings nearer than this are one
_STRETCH = 0.1  # mm; curves that are flush for longer share a stretch (those of radius 100 mm that touch: 0.006 mm)
_FEW = 2**12  # pairs of boxes that are sooner looked at each than sorted
_BLOCK = 2**20  # candidate pairs of boxes looked at together


@dataclass(frozen=True)
class Crossings:
    """Places (k) where curves cross or touch, in the order of the first curve.

    `segment_a`, `t_a` and `segment_b`, `t_b` (k,) are the positions on the two curves, `point` (k, 2) the place in mm.
    `overlap` says that the curves share a stretch; of a shared stretch only the ends are among the places.
    """

    segment_a: Ints
    t_a: Array
    segment_b: Ints
    t_b: Array
    point: Array
    overlap: bool

    def __len__(self) -> int:
        return len(self.segment_a)


@dataclass(frozen=True)
class _Pairs:
    """Pairs (r) of pieces: segment numbers, first parameters, the common width in t, control points (r, 4, 2)."""

    i: Ints
    j: Ints
    a0: Array
    b0: Array
    width: float
    a: Array
    b: Array

    def __len__(self) -> int:
        return len(self.i)

    def chosen(self, which: Bools) -> _Pairs:
        return _Pairs(
            self.i[which], self.j[which], self.a0[which], self.b0[which], self.width, self.a[which], self.b[which]
        )

    def halved(self) -> _Pairs:
        half = 0.5 * self.width
        first_a, second_a = _halves(self.a)
        first_b, second_b = _halves(self.b)
        return _Pairs(
            np.tile(self.i, 4),
            np.tile(self.j, 4),
            np.concatenate([self.a0, self.a0, self.a0 + half, self.a0 + half]),
            np.concatenate([self.b0, self.b0 + half, self.b0, self.b0 + half]),
            half,
            np.concatenate([first_a, first_a, second_a, second_a]),
            np.concatenate([first_b, second_b, first_b, second_b]),
        )


@dataclass(frozen=True)
class _Places:
    """Positions found so far on both curves, not yet sorted."""

    i: Ints
    u: Array
    j: Ints
    v: Array


def crossings(a: Array, b: Array) -> Crossings:
    """Where the curves `a` (n, 4, 2) and `b` (m, 4, 2) cross or touch.

    Crossings at an angle are right to 1e-9 mm; places that only touch are found where the gap is at most 1e-8 mm. A
    crossing at a node, or where a closed curve closes, is given once.
    """
    i, j = _box_pairs(a, b)
    places, overlap = _meet(a, b, _whole(a, b, i, j), None)
    return _sorted(a, b, places, overlap)


def self_crossings(curve: Array, closed: bool) -> Crossings:
    """Where different places of one curve cross or touch; position a comes before position b.

    Nodes that two neighbouring segments share are no crossings, nor, of a `closed` curve, the one where it closes. A
    loop within one segment is found; a straight segment that doubles back on itself counts as an overlap.
    """
    i, j = _box_pairs(curve, curve)
    later = i < j
    places, overlap = _meet(curve, curve, _whole(curve, curve, i[later], j[later]), closed)
    loops = _loops(curve, closed)
    both = _joined([_without_shared_nodes(curve, places, closed), loops])
    return _sorted(curve, curve, both, overlap or bool(_doubles_back(curve).any()))


def _box_pairs(a: Array, b: Array) -> tuple[Ints, Ints]:
    """Numbers of the segments whose control boxes meet, by a sweep along the longer side of the drawing."""
    if not (len(a) and len(b)):
        return np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp)
    low_a, high_a = a.min(axis=1) - _TOUCH, a.max(axis=1) + _TOUCH
    low_b, high_b = b.min(axis=1), b.max(axis=1)
    if len(a) * len(b) <= _FEW:
        meets = ((low_a[:, None] <= high_b) & (low_b <= high_a[:, None])).all(axis=2)
        i, j = meets.nonzero()
        return i, j
    axis = int(np.argmax(high_a.max(axis=0) - low_a.min(axis=0)))
    forth = _starts_within(low_a[:, axis], high_a[:, axis], low_b[:, axis], "left")
    back = _starts_within(low_b[:, axis], high_b[:, axis], low_a[:, axis], "right")
    found: list[tuple[Ints, Ints]] = []
    other = 1 - axis
    for pairs, swapped in ((forth, False), (back, True)):
        for one, two in pairs:
            i, j = (two, one) if swapped else (one, two)
            meets = (low_a[i, other] <= high_b[j, other]) & (low_b[j, other] <= high_a[i, other])
            found.append((i[meets], j[meets]))
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def _starts_within(low: Array, high: Array, starts: Array, side: str) -> list[tuple[Ints, Ints]]:
    """Pairs (range number, start number) with the start inside the range, in blocks; `side` left takes ties."""
    order = np.argsort(starts, kind="stable")
    begin = np.searchsorted(starts[order], low, side="left" if side == "left" else "right")
    count = np.maximum(np.searchsorted(starts[order], high, side="right") - begin, 0)
    total = np.cumsum(count)
    blocks = np.searchsorted(total, np.arange(_BLOCK, int(total[-1]) + _BLOCK, _BLOCK), side="right")
    pairs: list[tuple[Ints, Ints]] = []
    first = 0
    for last in sorted({*blocks.tolist(), len(low)}):
        part = np.arange(first, last)
        one = np.repeat(part, count[part])
        run = np.arange(len(one)) - np.repeat(np.cumsum(count[part]) - count[part], count[part])
        pairs.append((one, order[begin[one] + run]))
        first = last
    return pairs


def _whole(a: Array, b: Array, i: Ints, j: Ints) -> _Pairs:
    return _Pairs(i, j, np.zeros(len(i)), np.zeros(len(i)), 1.0, a[i], b[j])


def _meet(a: Array, b: Array, pairs: _Pairs, same_closed: bool | None) -> tuple[_Places, bool]:
    """All places where the pieces meet, and whether some share a stretch; `same_closed` is None for two curves."""
    found: list[_Places] = []
    touches: list[_Places] = []
    overlap = False
    if not len(pairs):
        return _Places(pairs.i, pairs.a0, pairs.j, pairs.b0), False
    for _ in range(_DEPTH):
        if not len(pairs):
            break
        pairs = pairs.chosen(_boxes_meet(pairs.a, pairs.b))
        if same_closed is not None:
            pairs = pairs.chosen(~_goes_on(pairs, len(a), same_closed))
        pairs = _take_transversal(a, b, pairs, found)
        flush, pairs = _take_flush(a, b, pairs, found, touches)
        shared, pairs = _take_shared(a, b, pairs, found)
        overlap |= flush or shared
        pairs = pairs.halved()
    touches.append(_touching(a, b, pairs))
    return _joined([*found, _thinned(a, b, _joined(touches))]), overlap


def _boxes_meet(a: Array, b: Array) -> Bools:
    """Whether the boxes round the control points meet, along x, y and along and across both chords."""
    low, high = a.min(axis=1) - _TOUCH, a.max(axis=1) + _TOUCH
    meets = (low <= b.max(axis=1)).all(axis=1) & (b.min(axis=1) <= high).all(axis=1)
    for chord_of in (a, b):
        near = np.flatnonzero(meets)
        along = chord_of[near, 3] - chord_of[near, 0]
        length = norm(along)
        along /= np.where(length > 0.0, length, 1.0)[:, None]
        across = np.stack([-along[:, 1], along[:, 0]], axis=1)
        origin = a[near, 0]
        axes = np.stack([along, across], axis=2)
        # Taken from a point of the pair, so that the rounding is that of the piece and not of the drawing.
        on_a, on_b = (a[near] - origin[:, None]) @ axes, (b[near] - origin[:, None]) @ axes
        apart = (on_a.min(axis=1) > on_b.max(axis=1) + _TOUCH) | (on_b.min(axis=1) > on_a.max(axis=1) + _TOUCH)
        meets[near[apart.any(axis=1)]] = False
    return np.asarray(meets)


def _goes_on(pairs: _Pairs, count: int, closed: bool) -> Bools:
    """Whether the pair is two pieces, one the continuation of the other, that together run one way throughout.

    Such a pair has nothing in common but the node between. It runs one way if every control leg has a forward part.
    """
    end_a, end_b = pairs.a0 + pairs.width == 1.0, pairs.b0 + pairs.width == 1.0
    onward = (pairs.i + 1 == pairs.j) & end_a & (pairs.b0 == 0.0)
    closing = (pairs.j == count - 1) & (pairs.i == 0) & end_b & (pairs.a0 == 0.0) & closed
    legs = np.diff(np.concatenate([pairs.a, pairs.b], axis=1), axis=1)[:, [0, 1, 2, 4, 5, 6]]
    ahead = (legs * legs.sum(axis=1)[:, None, :]).sum(axis=2)
    forward = ((ahead > 0.0) | (legs == 0.0).all(axis=2)).all(axis=1)
    return np.asarray((onward | closing) & forward)


def _take_transversal(a: Array, b: Array, pairs: _Pairs, found: list[_Places]) -> _Pairs:
    """Move the crossings of pairs that can cross only once to `found`; give the pairs that are left."""
    once = np.flatnonzero(_cross_once(pairs.a, pairs.b))
    if not len(once):
        return pairs
    u, v, good = _newton(pairs.a[once], pairs.b[once])
    done = once[good]
    i, j = pairs.i[done], pairs.j[done]
    u, v = pairs.a0[done] + u[good] * pairs.width, pairs.b0[done] + v[good] * pairs.width
    found.append(_polished(a, b, i, u, j, v))
    left = np.ones(len(pairs), dtype=bool)
    left[done] = False
    return pairs.chosen(left)


def _cross_once(a: Array, b: Array) -> Bools:
    """Whether every direction of one piece lies to the same side of every direction of the other.

    Then no chord of one is parallel to a chord of the other, so the pieces cannot meet twice.
    """
    legs_a, legs_b = np.diff(a, axis=1), np.diff(b, axis=1)
    turn = legs_a[:, :, None, 0] * legs_b[:, None, :, 1] - legs_a[:, :, None, 1] * legs_b[:, None, :, 0]
    sizes = norm(legs_a)[:, :, None] * norm(legs_b)[:, None, :]
    clear = 1e-9 * sizes
    none = sizes == 0.0
    right, left_hand = ((turn > clear) | none).all(axis=(1, 2)), ((turn < -clear) | none).all(axis=(1, 2))
    return np.asarray((right | left_hand) & ~none.all(axis=(1, 2)))


def _newton(a: Array, b: Array) -> tuple[Array, Array, Bools]:
    """Parameters on both pieces where they cross, and whether the crossing was found within both."""
    count = len(a)
    # Both as polynomials from the same nearby origin, one under the other, so that a step is one evaluation.
    c0, c1, c2, c3 = powers(np.concatenate([a, b]) - np.concatenate([a[:, :1], a[:, :1]]))
    twice, thrice = 2.0 * c2, 3.0 * c3
    t = np.full((2 * count, 1), 0.5)
    for _ in range(8):
        place, speed = c0 + t * (c1 + t * (c2 + t * c3)), c1 + t * (twice + t * thrice)
        step = np.concatenate(_step(place[count:] - place[:count], speed[:count], speed[count:]))[:, None]
        # `np.clip` takes twice as long on so few.
        t = np.minimum(np.maximum(t + step, -0.25), 1.25)
        if np.abs(step).max() <= _STILL:
            break
    t = _clipped(t)
    place = c0 + t * (c1 + t * (c2 + t * c3))
    return t[:count, 0], t[count:, 0], norm(place[count:] - place[:count]) <= _TOUCH


def _step(gap: Array, along: Array, other: Array) -> tuple[Array, Array]:
    """The step of Newton's method for a(u) = b(v) from the gap b - a; none where the tangents are parallel."""
    turn = cross(along, other)
    safe = np.where(turn != 0.0, turn, np.inf)
    return cross(gap, other) / safe, cross(gap, along) / safe


def _polished(a: Array, b: Array, i: Ints, u: Array, j: Ints, v: Array) -> _Places:
    """The positions after two more steps on the whole segments, free of the rounding of the halvings."""
    here, along = point_and_derivative(a, i, u)
    there, other = point_and_derivative(b, j, v)
    for _ in range(2):
        du, dv = _step(there - here, along, other)
        u1, v1 = _clipped(u + du), _clipped(v + dv)
        here1, along1 = point_and_derivative(a, i, u1)
        there1, other1 = point_and_derivative(b, j, v1)
        # Where a curve stands still a step may lead astray.
        better = norm(there1 - here1) <= norm(there - here)
        u, v = np.where(better, u1, u), np.where(better, v1, v)
        if not better.any():
            break
        which = better[:, None]
        here, along = np.where(which, here1, here), np.where(which, along1, along)
        there, other = np.where(which, there1, there), np.where(which, other1, other)
    return _Places(i, u, j, v)


def _clipped(t: Array) -> Array:
    return np.asarray(np.minimum(np.maximum(t, 0.0), 1.0))


def _gap(a: Array, i: Ints, u: Array, b: Array, j: Ints, v: Array) -> Array:
    apart = point(a, i, u) - point(b, j, v)
    return norm(apart)


def _take_flush(a: Array, b: Array, pairs: _Pairs, found: list[_Places], touches: list[_Places]) -> tuple[bool, _Pairs]:
    """Move pairs that cannot be told apart by halving, as both lie within the touching distance of one line."""
    legs = np.concatenate([np.diff(pairs.a, axis=1), np.diff(pairs.b, axis=1)], axis=1)
    size = norm(legs)
    # The longest control leg gives the line: the chord of a piece that comes back is none.
    longest = legs[np.arange(len(pairs)), size.argmax(axis=1)]
    along = longest / np.maximum(size.max(axis=1), 1e-300)[:, None]
    both = np.concatenate([pairs.a, pairs.b], axis=1) - pairs.a[:, :1]
    across = cross(along[:, None, :], both)
    flush = np.ptp(across, axis=1) <= 4.0 * _TOUCH
    on = dot(along[:, None, :], both)
    common = np.minimum(on[:, :4].max(axis=1), on[:, 4:].max(axis=1)) - np.maximum(
        on[:, :4].min(axis=1), on[:, 4:].min(axis=1)
    )
    shared = flush & (common > _STRETCH)
    if flush.any():
        found.append(_shared_ends(a, b, pairs.chosen(shared)))
        touches.append(_touching(a, b, pairs.chosen(flush & ~shared)))
    return bool(shared.any()), pairs.chosen(~flush)


def _take_shared(a: Array, b: Array, pairs: _Pairs, found: list[_Places]) -> tuple[bool, _Pairs]:
    """Move the ends of stretches that two segments share to `found`; say whether there are any."""
    if len(pairs) < _SHARED:
        return False, pairs
    _, group, count = np.unique(pairs.i * len(b) + pairs.j, return_inverse=True, return_counts=True)
    many = np.flatnonzero(count[group] >= _SHARED)
    crowd = pairs.i[many], pairs.a0[many] + 0.5 * pairs.width, pairs.j[many], pairs.b0[many] + 0.5 * pairs.width
    _, distance = _dropped(a, crowd[0], crowd[1], b, crowd[2], crowd[3])
    near = np.bincount(group[many], distance <= _SAME, minlength=len(count))
    shared = ((count >= _SHARED) & (near > 0.5 * count))[group]
    if not shared.any():
        return False, pairs
    found.append(_shared_ends(a, b, pairs.chosen(shared)))
    return True, pairs.chosen(~shared)


def _shared_ends(a: Array, b: Array, pairs: _Pairs) -> _Places:
    """The nodes of either segment that lie on the other: there a shared stretch ends."""
    parts = []
    for at_end in (0.0, 1.0):
        on_a = pairs.chosen(pairs.a0 + at_end * pairs.width == at_end)
        u = np.full(len(on_a), at_end)
        v, distance = _dropped(a, on_a.i, u, b, on_a.j, on_a.b0 + 0.5 * pairs.width)
        good = distance <= _SAME
        parts.append(_Places(on_a.i[good], u[good], on_a.j[good], v[good]))
        on_b = pairs.chosen(pairs.b0 + at_end * pairs.width == at_end)
        v = np.full(len(on_b), at_end)
        u, distance = _dropped(b, on_b.j, v, a, on_b.i, on_b.a0 + 0.5 * pairs.width)
        good = distance <= _SAME
        parts.append(_Places(on_b.i[good], u[good], on_b.j[good], v[good]))
    return _joined(parts)


def _dropped(a: Array, i: Ints, u: Array, b: Array, j: Ints, v: Array) -> tuple[Array, Array]:
    """Parameters on `b` of the feet of perpendiculars from a(u), from the start `v`, and their distances."""
    for _ in range(8):
        gap, along = point(a, i, u) - point(b, j, v), derivative(b, j, v)
        before, v = v, np.clip(v + dot(gap, along) / np.maximum(dot(along, along), 1e-300), 0.0, 1.0)
        if (v == before).all():
            break
    return v, _gap(a, i, u, b, j, v)


def _touching(a: Array, b: Array, pairs: _Pairs) -> _Places:
    """Places where the pieces left at the end touch: where the tangents are parallel and the gap is square to them."""
    if not len(pairs):
        return _Places(pairs.i, pairs.a0, pairs.j, pairs.b0)
    u, v = pairs.a0 + 0.5 * pairs.width, pairs.b0 + 0.5 * pairs.width
    start = _Places(pairs.i, u, pairs.j, v)
    for _ in range(6):
        gap = point(a, pairs.i, u) - point(b, pairs.j, v)
        along, other = derivative(a, pairs.i, u), derivative(b, pairs.j, v)
        bend, other_bend = second_derivative(a, pairs.i, u), second_derivative(b, pairs.j, v)
        square, parallel = dot(gap, along), cross(along, other)
        m00, m01 = dot(along, along) + dot(gap, bend), -dot(other, along)
        m10, m11 = cross(bend, other), cross(along, other_bend)
        determinant = m00 * m11 - m01 * m10
        safe = np.where(determinant != 0.0, determinant, np.inf)
        reach = 4.0 * pairs.width
        du = np.clip((m01 * parallel - m11 * square) / safe, -reach, reach)
        dv = np.clip((m10 * square - m00 * parallel) / safe, -reach, reach)
        u, v = np.clip(u + du, 0.0, 1.0), np.clip(v + dv, 0.0, 1.0)
    # Where the pieces meet in another way (a node on a curve, a cusp) the middle of the pieces may be the better.
    both = _joined([_Places(pairs.i, u, pairs.j, v), start])
    good = _gap(a, both.i, both.u, b, both.j, both.v) <= 2.0 * _TOUCH
    return _Places(both.i[good], both.u[good], both.j[good], both.v[good])


def _thinned(a: Array, b: Array, places: _Places) -> _Places:
    """Of each cluster the place with the smallest gap: where curves touch is only as sharp as the root of the gap."""
    if not len(places.i):
        return places
    kept = _one_of_each(a, b, places, _gap(a, places.i, places.u, b, places.j, places.v), _STRETCH)
    return _Places(places.i[kept], places.u[kept], places.j[kept], places.v[kept])


def _loops(curve: Array, closed: bool) -> _Places:
    """Where single segments cross themselves.

    With P(t) = c3 t³ + c2 t² + c1 t + c0, P(s) = P(t) and s not t leave c3 (S² - Q) + c2 S + c1 = 0 for S = s + t and
    Q = s t, two equations for S and Q.
    """
    p0, p1, p2, p3 = np.moveaxis(curve, 1, 0)
    c1, c2, c3 = 3.0 * (p1 - p0), 3.0 * (p2 - 2.0 * p1 + p0), p3 - 3.0 * p2 + 3.0 * p1 - p0
    turn = cross(c3, c2)
    scale = np.ptp(curve, axis=1).max(axis=1)
    can = np.flatnonzero(np.abs(turn) > 1e-12 * scale * scale)
    c1, c2, c3 = c1[can], c2[can], c3[can]
    total = -cross(c3, c1) / turn[can]
    product = total * total + (dot(c2, c3) * total + dot(c1, c3)) / dot(c3, c3)
    spread = np.sqrt(np.maximum(total * total - 4.0 * product, 0.0))
    u, v = 0.5 * (total - spread), 0.5 * (total + spread)
    # Rounding may put an end that lies on the segment a little beyond it.
    inside = (u >= -1e-12) & (v <= 1.0 + 1e-12) & (spread > 1e-7)
    if closed and len(curve) == 1:
        inside &= ~((u < 1e-9) & (v > 1.0 - 1e-9))
    number = can[inside]
    return _Places(number, np.clip(u[inside], 0.0, 1.0), number.copy(), np.clip(v[inside], 0.0, 1.0))


def _doubles_back(curve: Array) -> Bools:
    """Whether a segment is straight and its speed changes sign: it covers a stretch twice."""
    legs = np.diff(curve, axis=1)
    size = norm(legs)
    longest = legs[np.arange(len(curve)), size.argmax(axis=1)]
    straight = (np.abs(cross(legs, longest[:, None, :])) <= 1e-12 * size.max(axis=1)[:, None] ** 2).all(axis=1)
    d0, d1, d2 = np.moveaxis(dot(legs, longest[:, None, :]), 1, 0)
    # The speed d0 (1-t)² + 2 d1 t (1-t) + d2 t² is negative somewhere in between.
    negative = (d0 < 0.0) | (d2 < 0.0) | (d1 < -np.sqrt(np.maximum(d0 * d2, 0.0)))
    return np.asarray(straight & negative & (size.max(axis=1) > 0.0))


def _without_shared_nodes(curve: Array, places: _Places, closed: bool) -> _Places:
    """Without the places that are only the node between two neighbours."""
    n = len(curve)
    here = point(curve, places.i, places.u)
    there = point(curve, places.j, places.v)

    def both_near(node: Array) -> Bools:
        return np.asarray((np.abs(here - node) <= _SAME).all(axis=1) & (np.abs(there - node) <= _SAME).all(axis=1))

    onward = (places.i + 1 == places.j) & both_near(curve[places.j, 0]) & (places.u > 0.5) & (places.v < 0.5)
    closing = (places.i == 0) & (places.j == n - 1) & (places.u < 0.5) & (places.v > 0.5)
    closing &= both_near(curve[places.i, 0])
    keep = ~(onward | (closing & closed))
    return _Places(places.i[keep], places.u[keep], places.j[keep], places.v[keep])


def _joined(parts: list[_Places]) -> _Places:
    return _Places(
        np.concatenate([p.i for p in parts]).astype(np.intp),
        np.concatenate([p.u for p in parts]),
        np.concatenate([p.j for p in parts]).astype(np.intp),
        np.concatenate([p.v for p in parts]),
    )


def _sorted(a: Array, b: Array, places: _Places, overlap: bool) -> Crossings:
    """The places in the order of the first curve, each once."""
    kept = _one_of_each(a, b, places, np.zeros(len(places.i)), _SAME)
    i, u, j, v = places.i[kept], places.u[kept], places.j[kept], places.v[kept]
    order = np.lexsort((v, j, u, i))
    i, u, j, v = i[order], u[order], j[order], v[order]
    return Crossings(i, u, j, v, point(a, i, u), overlap)


def _one_of_each(a: Array, b: Array, places: _Places, cost: Array, reach: float) -> Ints:
    """Numbers of the cheapest, then first, of each cluster of places nearer than `reach` along both curves."""
    if len(places.i) < 2:
        return np.arange(len(places.i))
    on_a, on_b = _along(a, places.i, places.u, reach), _along(b, places.j, places.v, reach)
    order = np.argsort(on_a, kind="stable")
    group = np.empty(len(order), dtype=np.intp)
    group[order] = np.cumsum(np.diff(on_a[order], prepend=-np.inf) > reach)
    order = np.lexsort((on_b, group))
    new = (np.diff(group[order], prepend=0) != 0) | (np.diff(on_b[order], prepend=-np.inf) > reach)
    cluster = np.empty(len(order), dtype=np.intp)
    cluster[order] = np.cumsum(new)
    order = np.lexsort((cost, cluster))
    return np.asarray(order[np.diff(cluster[order], prepend=0) != 0])


def _along(curve: Array, segment: Ints, t: Array, reach: float) -> Array:
    """A measure of the way to a position, in mm (control legs, not arc length).

    Of a closed curve the last `reach` counts from the end backward, so that it adjoins the first.
    """
    legs = np.diff(curve, axis=1)
    length = norm(legs).sum(axis=1)
    before = np.cumsum(length) - length
    way = before[segment] + t * length[segment]
    if len(curve) and (curve[0, 0] == curve[-1, 3]).all():
        way = np.where(way > length.sum() - reach, way - length.sum(), way)
    return np.asarray(way)


def _halves(control: Array) -> tuple[Array, Array]:
    p0, p1, p2, p3 = np.moveaxis(control, 1, 0)
    q0, q1, q2 = 0.5 * (p0 + p1), 0.5 * (p1 + p2), 0.5 * (p2 + p3)
    r0, r1 = 0.5 * (q0 + q1), 0.5 * (q1 + q2)
    middle = 0.5 * (r0 + r1)
    return np.stack([p0, q0, r0, middle], axis=1), np.stack([middle, r1, q2, p3], axis=1)
