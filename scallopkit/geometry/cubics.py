"""Curves as arrays of cubic segments: made from points, lines and quadratics, evaluated, cut and turned round."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

# numpy.typing costs a fifth of numpy's own import, and only type checkers read it.
if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.intp]
    Bools = npt.NDArray[np.bool_]
else:
    Array = Ints = Bools = np.ndarray


def lines(points: npt.ArrayLike) -> Array:
    """The straight segments through `points` (k, 2) as cubics (k - 1, 4, 2) of even speed."""
    p = np.asarray(points, dtype=float)
    a, b = p[:-1], p[1:]
    return np.stack([a, a + (b - a) / 3.0, b - (b - a) / 3.0, b], axis=1)


def quadratics(control: npt.ArrayLike) -> Array:
    """Quadratic segments (n, 3, 2) raised to the same curves as cubics (n, 4, 2)."""
    q = np.asarray(control, dtype=float)
    a, m, b = q[:, 0], q[:, 1], q[:, 2]
    return np.stack([a, a + (m - a) * (2.0 / 3.0), b + (m - b) * (2.0 / 3.0), b], axis=1)


def point(curve: Array, segment: Ints, t: Array) -> Array:
    """Points (k, 2) at parameters `t` (k,) of the segments numbered `segment` (k,)."""
    p0, p1, p2, p3 = _control(curve, segment)
    u = t[:, None]
    v = 1.0 - u
    return np.asarray(v * v * (v * p0 + 3.0 * u * p1) + u * u * (3.0 * v * p2 + u * p3))


def derivative(curve: Array, segment: Ints, t: Array) -> Array:
    """First derivatives with respect to t, (k, 2), in mm."""
    p0, p1, p2, p3 = _control(curve, segment)
    u = t[:, None]
    v = 1.0 - u
    return np.asarray(3.0 * (v * v * (p1 - p0) + 2.0 * u * v * (p2 - p1) + u * u * (p3 - p2)))


def point_and_derivative(curve: Array, segment: Ints, t: Array) -> tuple[Array, Array]:
    """Both `point` and `derivative` at the same parameters."""
    p0, p1, p2, p3 = _control(curve, segment)
    u = t[:, None]
    v = 1.0 - u
    uu, vv = u * u, v * v
    place = vv * (v * p0 + 3.0 * u * p1) + uu * (3.0 * v * p2 + u * p3)
    return place, 3.0 * (vv * (p1 - p0) + 2.0 * u * v * (p2 - p1) + uu * (p3 - p2))


def second_derivative(curve: Array, segment: Ints, t: Array) -> Array:
    """Second derivatives with respect to t, (k, 2), in mm."""
    p0, p1, p2, p3 = _control(curve, segment)
    u = t[:, None]
    return np.asarray(6.0 * ((1.0 - u) * (p2 - 2.0 * p1 + p0) + u * (p3 - 2.0 * p2 + p1)))


def powers(control: Array) -> tuple[Array, Array, Array, Array]:
    """The coefficients (k, 2) of segments (k, 4, 2) as polynomials of t, lowest degree first.

    They round by the size of the coordinates: move the segments near the origin first.
    """
    p0, p1, p2, p3 = control[:, 0], control[:, 1], control[:, 2], control[:, 3]
    c1 = 3.0 * (p1 - p0)
    c2 = 3.0 * (p2 - p1) - c1
    return p0, c1, c2, p3 - p0 - c1 - c2


def direction(curve: Array, segment: Ints, t: Array) -> Array:
    """Unit tangents (k, 2), in the walking direction.

    Where the derivative vanishes (a handle retracted into its node) the limit of the direction is given: from the
    second, else the third derivative. A segment that is a single point has the direction (1, 0).
    """
    return along(curve, segment, t, derivative(curve, segment, t))


def along(curve: Array, segment: Ints, t: Array, d: Array) -> Array:
    """The same where the first derivatives `d` (k, 2) at these places are known already."""
    size = norm(d)
    # The box round all segments is no smaller than that of any, so most curves need no closer look.
    if len(d) and size.min() <= 1e-7 * (curve.max() - curve.min()):
        scale = np.ptp(curve[segment], axis=1).max(axis=1)
        w = np.flatnonzero(size <= 1e-7 * scale)
        d = d.copy()
        d[w] = _limit_direction(curve, segment[w], t[w], scale[w])
        size = norm(d)
        d[size == 0.0] = (1.0, 0.0)
        size = np.where(size > 0.0, size, 1.0)
    return np.asarray(d / size[:, None])


def _limit_direction(curve: Array, segment: Ints, t: Array, scale: Array) -> Array:
    """Direction of the curve just inside the segment at places where the first derivative vanishes."""
    second = second_derivative(curve, segment, t)
    third = curve[segment] @ np.eye(2)
    third = third[:, 3] - 3.0 * third[:, 2] + 3.0 * third[:, 1] - third[:, 0]
    use_third = np.hypot(second[:, 0], second[:, 1]) <= 1e-7 * scale
    at_end = t > 0.5
    # Just before the end the walk still runs against the second derivative; the third keeps its sign.
    signed = np.where(at_end[:, None], -second, second)
    return np.where(use_third[:, None], third, signed)


def ends_direction(curve: Array) -> tuple[Array, Array]:
    """Unit tangents (2,) at the first and at the last point of the curve."""
    last = len(curve) - 1
    both = direction(curve, np.array([0, last]), np.array([0.0, 1.0]))
    return both[0], both[1]


def left(vectors: Array) -> Array:
    """The vectors turned to the walker's left hand on the drawing as seen (y down): (x, y) becomes (y, -x)."""
    turned = np.empty(vectors.shape)
    turned[..., 0] = vectors[..., 1]
    np.negative(vectors[..., 0], out=turned[..., 1])
    return turned


def dot(a: Array, b: Array) -> Array:
    """The scalar products (...) of vectors (..., 2)."""
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1])


def cross(a: Array, b: Array) -> Array:
    """The products x_a y_b - y_a x_b (...) of vectors (..., 2): positive where b lies to the right of a as seen."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def reverse(curve: Array) -> Array:
    """The same curve walked the other way."""
    return np.ascontiguousarray(curve[::-1, ::-1])


def cut(curve: Array, segment: Ints, t0: Array, t1: Array) -> Array:
    """The parts from t0 to t1 of the named segments, (k, 4, 2), by blossoming (exact)."""
    control = curve[segment]
    a, b = t0[:, None, None], t1[:, None, None]

    def level(points: Array, at: Array) -> Array:
        return np.asarray(points[:, :-1] + (points[:, 1:] - points[:, :-1]) * at)

    by_a = level(control, a)
    by_aa, by_ab, by_bb = level(by_a, a), level(by_a, b), level(level(control, b), b)
    return np.concatenate([level(by_aa, a), level(by_aa, b), level(by_ab, b), level(by_bb, b)], axis=1)


def stretch(curve: Array, start: tuple[int, float], end: tuple[int, float]) -> Array:
    """The part of the curve between two positions (segment, t), the first before the second.

    End points are kept to the last bit where a position is a node. Parts without length are left out.
    """
    (i, a), (j, b) = start, end
    number = np.arange(i, j + 1)
    t0 = np.zeros(len(number))
    t1 = np.ones(len(number))
    t0[0], t1[-1] = a, b
    keep = t1 > t0
    number, t0, t1 = number[keep], t0[keep], t1[keep]
    whole = (t0 == 0.0) & (t1 == 1.0)
    out = curve[number].copy()
    partial = np.flatnonzero(~whole)
    if len(partial):
        out[partial] = cut(curve, number[partial], t0[partial], t1[partial])
        # Nodes stay the very same points: blossoming rounds them.
        at_end, at_start = partial[t1[partial] == 1.0], partial[t0[partial] == 0.0]
        out[at_end, 3], out[at_start, 0] = curve[number[at_end], 3], curve[number[at_start], 0]
    return out


def without_points(curve: Array) -> Array:
    """The curve without the segments all of whose control points coincide."""
    return np.ascontiguousarray(curve[np.ptp(curve, axis=1).max(axis=1) > 0.0])


def area(curve: Array) -> float:
    """Signed area in mm² of a closed curve (exact), positive when it runs clockwise on the drawing as seen.

    A positive area has the outside on the walker's left. From the integral of x dy - y dx over cubics:
    https://en.wikipedia.org/wiki/Green%27s_theorem
    """
    p0, p1, p2, p3 = np.moveaxis(curve - curve[0, 0], 1, 0)

    parts = (
        6.0 * cross(p0, p1)
        + 3.0 * cross(p0, p2)
        + cross(p0, p3)
        + 3.0 * cross(p1, p2)
        + 3.0 * cross(p1, p3)
        + 6.0 * cross(p2, p3)
    )
    return float(parts.sum() / 20.0)


def bounds(curve: Array) -> Array:
    """The exact box [[x least, y least], [x most, y most]] round the curve."""
    a = -curve[:, 0] + 3.0 * curve[:, 1] - 3.0 * curve[:, 2] + curve[:, 3]
    b = 2.0 * (curve[:, 0] - 2.0 * curve[:, 1] + curve[:, 2])
    c = curve[:, 1] - curve[:, 0]
    candidates = [curve[:, 0].reshape(-1, 2), curve[:, 3].reshape(-1, 2)]
    for axis in (0, 1):
        for t in quadratic_roots(a[:, axis], b[:, axis], c[:, axis]):
            inside = np.flatnonzero((t > 0.0) & (t < 1.0))
            candidates.append(point(curve, inside, t[inside]))
    every = np.concatenate(candidates)
    return np.stack([every.min(axis=0), every.max(axis=0)])


def quadratic_roots(a: Array, b: Array, c: Array) -> tuple[Array, Array]:
    """Real roots of a t² + b t + c, nan where there is none; the stable form that never subtracts like numbers."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        q = -0.5 * (b + np.copysign(np.sqrt(b * b - 4.0 * a * c), b))
        return q / a, c / q


def meets_line(curve: Array, place: Array, normal: Array) -> tuple[Ints, Array]:
    """Where a curve meets the straight line through `place` with unit normal `normal`: segments (k,) and parameters."""
    b = (curve - place) @ normal
    power = np.stack([b[:, 3] - 3.0 * b[:, 2] + 3.0 * b[:, 1] - b[:, 0], 3.0 * (b[:, 2] - 2.0 * b[:, 1] + b[:, 0])])
    power = np.concatenate([power, np.stack([3.0 * (b[:, 1] - b[:, 0]), b[:, 0]])])
    near = np.flatnonzero((b.min(axis=1) <= 0.0) & (b.max(axis=1) >= 0.0))
    segment, t = [], []
    for k in near:
        for root in _roots(power[:, k], b[k]):
            segment.append(int(k))
            t.append(_polished(power[:, k], root))
    return np.array(segment, dtype=np.intp), np.clip(np.array(t, dtype=float), 0.0, 1.0)


def _roots(power: Array, control: Array) -> list[float]:
    """The roots of a cubic between 0 and 1, by its coefficients, highest first, and its control values (4,)."""
    first, second, third, last = control.tolist()
    if first < second < third < last or first > second > third > last:
        # It goes one way only, so it has one root, which is halved for; the rest is done by polishing.
        low, high = 0.0, 1.0
        a, b, c, d = power.tolist()
        for _ in range(24):
            middle = 0.5 * (low + high)
            value = ((a * middle + b) * middle + c) * middle + d
            low, high = (middle, high) if (value < 0.0) == (first < last) else (low, middle)
        return [0.5 * (low + high)]
    # Coefficients that are nothing but rounding would make roots of their own.
    found = np.roots(np.where(np.abs(power) > 1e-13 * np.abs(control).max(), power, 0.0))
    return [float(root.real) for root in found if abs(root.imag) < 1e-7 and -1e-9 <= root.real <= 1.0 + 1e-9]


def _polished(power: Array, t: float) -> float:
    """A root of a cubic, highest power first, after two steps of Newton as far as they bring it nearer."""
    a, b, c, d = power.tolist()
    miss = ((a * t + b) * t + c) * t + d
    for _ in range(2):
        slope = (3.0 * a * t + 2.0 * b) * t + c
        nearer = t - miss / slope if slope != 0.0 else t
        left_over = ((a * nearer + b) * nearer + c) * nearer + d
        if abs(left_over) >= abs(miss):
            break
        t, miss = nearer, left_over
    return t


def flatten(curve: Array, accuracy: float) -> Array:
    """Points (k, 2) of a polyline that stays within `accuracy` mm of the curve; both ends are kept.

    The number of steps comes from the bound h²/8 max|P''| on the distance of a chord from a curve, so it holds for
    S-shapes too: https://en.wikipedia.org/wiki/Linear_interpolation#Error_bound
    """
    bend = np.maximum(
        norm(curve[:, 2] - 2.0 * curve[:, 1] + curve[:, 0]), norm(curve[:, 3] - 2.0 * curve[:, 2] + curve[:, 1])
    )
    segment, t = in_steps(np.ceil(np.sqrt(6.0 * bend / (8.0 * accuracy))))
    return np.concatenate([point(curve, segment, t), curve[-1:, 3]])


def in_steps(count: Array) -> tuple[Ints, Array]:
    """Places (segment, t) in even steps of the parameter, `count` (n,) of them on each segment, from its start on."""
    steps = np.maximum(count, 1.0).astype(np.intp)
    segment = np.repeat(np.arange(len(steps)), steps)
    first = np.repeat(np.cumsum(steps) - steps, steps)
    return segment, (np.arange(len(segment)) - first) / steps[segment]


def norm(vectors: Array) -> Array:
    """The lengths (...) of vectors (..., 2)."""
    return np.asarray(np.hypot(vectors[..., 0], vectors[..., 1]))


def _control(curve: Array, segment: Ints) -> tuple[Array, Array, Array, Array]:
    chosen = curve[segment]
    return chosen[:, 0], chosen[:, 1], chosen[:, 2], chosen[:, 3]
