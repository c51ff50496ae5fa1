"""Base lines that carry a point on the curve: valleys off the curve, one raised point over each base line on it.

The valleys V(0) ... V(n) are unknown points. Base line i runs from V(i) to V(i + 1) and has a given length; over a
given place of it, at a given height, its raised point lies on the curve. Seen as a walk, the raised point is where
an opening of the dividers from V(i) meets the curve, and V(i + 1) follows by a fixed turn. So every move of V(i + 1)
is an affine function of the move of V(i) and of the widths, and one prefix scan of 2 x 2 maps gives how all valleys
depend on the first valley and the widths. Newton moves all valleys at once (multiple shooting).

A walk along a straight line turns a valley that lies too near to the line into one too far from it, and so on to
the end. What the conditions at the ends and holds leave open is therefore spent on evenness: of all rows that meet
them, the one whose valleys' distances from the curve change least, in squares, from each to the next.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from . import cubics
from .cubics import Array, Bools, Ints
from .length import Measured

# From sizes (n,) to heights of the raised points over their base lines (n,), and how these grow with the size.
Heights = Callable[[Array], tuple[Array, Array]]

# Residuals, relative to the smallest width: at which the row can't be told from the exact one; what is still accepted
# of lengths and raised points where rounding stops Newton earlier; and of conditions, which may be more than unknowns.
_CLOSE, _ACCEPT, _MET = 1e-12, 1e-10, 1e-9
# A miss of conditions in mm that no one can tell either: a quarter of what halves may part by, and of what a curve may
# stand off the arc that was drawn. A row that closes on the true arc misses by some 1e-7 on that curve.
_UNSEEN = 2.5e-7
# The move along the open freedom, relative to the smallest width, that changes nothing any more.
_STILL = 1e-9
_STEPS = 60
# Conditions that depend on the unknowns more weakly than this, mm by mm, are left out by Newton and only looked at
# afterwards: round a loop an even number of steps returns to its first distance from the curve for any zigzag, to
# first order, so no sound zigzag could mend a row that does not.
_WEAK = 0.02
# How far a row may slide along a loop, in base lines, and how many stretches of that are tried. Half a base line
# would do if they were spaced evenly along the curve.
_SLIDE, _SLIDES = 0.65, 10
# Shifts that differ by less than this share of a step are equally far.
_AS_FAR = 1e-6
# A base line may lean by 35 degrees against the curve at its raised point; beyond that the row only zigzags.
_LEAN = float(np.cos(np.radians(35.0)))
_SAMPLES = 8


@dataclass(frozen=True, eq=False)
class Line:
    """A condition: valley `node` lies on the line through `point` (2,) square to `normal` (2,)."""

    node: int
    point: Array
    normal: Array


@dataclass(frozen=True)
class Peak:
    """A condition: the raised point of base line `base` is the point of the curve at length `s`."""

    base: int
    s: float


@dataclass(frozen=True, eq=False)
class Mirror:
    """A condition: valley `node` belongs to a base line that its mirror line halves, with the raised point on it.

    Attributes:
        node: the valley.
        point: the raised point (2,).
        normal: unit normal of the mirror line in the walking direction (2,).
        sense: +1 where the valley lies beyond the line, -1 where it lies before it.
        share: the size of that whole base line by the widths (k,).
        extra: what lies between the half size and the valley, mm.
    """

    node: int
    point: Array
    normal: Array
    sense: float
    share: Array
    extra: float = 0.0


@dataclass(frozen=True, eq=False)
class Bases:
    """A row of base lines to be laid.

    Attributes:
        side: +1 where the raised points lie to the walker's left of their base lines, -1 to the right.
        closed: whether the curve is a loop and the last valley is the first one a turn later.
        share: sizes by widths, (n, k): size = share @ widths.
        lead, trail: flat stretches of each base line before and after its size, (n,).
        peak: the place of the raised point, as a share of the size.
        heights: heights of the raised points over their base lines, by size.
        start: first guess of the lengths along the curve of the valleys' nearest places, (n + 1,), rising.
        widths: first guess of the widths (k,).
        conditions: what else must hold.
    """

    side: int
    closed: bool
    share: Array
    lead: Array
    trail: Array
    peak: float
    heights: Heights
    start: Array
    widths: Array
    conditions: tuple[Line | Peak | Mirror, ...]


@dataclass(frozen=True, eq=False)
class Raised:
    """A row of base lines as laid.

    Attributes:
        valleys: (n + 1, 2).
        s: lengths along the curve of the raised points (n,); beyond the curve's length where a loop is passed.
        widths: (k,).
        away: distances of the valleys from the curve (n + 1,), positive on the side away from the raised points.
        residual: largest miss of any length, raised point or condition, relative to the smallest width.
    """

    valleys: Array
    s: Array
    widths: Array
    away: Array
    residual: float


def lay(m: Measured, bases: Bases) -> Raised | None:
    """The row with every raised point on the curve and all conditions met, or None where none was found.

    Where the conditions are more than the unknowns (mirrors at both ends), a row is given only if it meets them all.
    """
    found = _newton(m, bases, _first_guess(m, bases))
    if found is None or not _met(found) or not _sound(m, bases, found):
        return None
    return _with_lengths(m, bases, found)


def _met(found: Raised) -> bool:
    """Whether all conditions are met; lengths and raised points are, or the row would not have been found."""
    return found.residual <= _MET or found.residual * float(found.widths.min()) <= _UNSEEN


def lay_sliding(m: Measured, bases: Bases) -> Raised | None:
    """As `lay` round a loop whose only condition is a line at the first valley, which may be moved.

    An even number of base lines closes only from certain starts: where it does not, the last valley lies nearer to
    the curve than the first, or farther from it, and one base line further on it is the other way about. The start
    nearest to the line at which both are one is found between.
    """
    pitch = m.length / max(len(bases.share), 1)
    shifts = pitch * np.linspace(-_SLIDE, _SLIDE, _SLIDES + 1)
    gaps = np.array([_slid(m, bases, shift)[1] for shift in shifts])
    brackets = np.flatnonzero(gaps[:-1] * gaps[1:] < 0.0)
    best: tuple[float, Raised] | None = None
    for i in brackets[np.argsort(np.abs(shifts[brackets] + shifts[brackets + 1]), kind="stable")]:
        # On both sides of the line brackets lie equally far, but not what is in them.
        if best is not None and min(abs(shifts[i]), abs(shifts[i + 1])) > abs(best[0]) + _AS_FAR * pitch:
            break
        found = _closed_between(m, bases, (shifts[i], shifts[i + 1]), (gaps[i], gaps[i + 1]))
        if found is not None and (best is None or _nearer(found[0], best[0], _AS_FAR * pitch)):
            best = found
    return None if best is None else _with_lengths(m, bases, best[1])


def _nearer(shift: float, other: float, as_far: float) -> bool:
    """Whether a shift is the smaller one; of two that are as large, the one onwards."""
    return abs(shift) < abs(other) - as_far or (abs(shift) <= abs(other) + as_far and shift > other)


def _closed_between(
    m: Measured, bases: Bases, shifts: tuple[float, float], gaps: tuple[float, float]
) -> tuple[float, Raised] | None:
    """The shift between two of them, on either side of it, with which the row closes, and that row; None if unsound."""
    (a, b), (at_a, at_b) = shifts, gaps
    # Illinois, as in `feet`. On a nearly round loop the start is hardly told: rows 0.01 mm on close as well.
    for _ in range(30):
        middle = (a * at_b - b * at_a) / (at_b - at_a)
        found, gap = _slid(m, bases, middle)
        if found is None:
            return None
        if abs(gap) <= _ACCEPT * float(found.widths.min()):
            found.valleys[-1] = m.carried(found.valleys[0])
            return (middle, found) if _sound(m, bases, found) else None
        if gap * at_a < 0.0:
            b, at_b, at_a = middle, gap, 0.5 * at_a
        else:
            a, at_a, at_b = middle, gap, 0.5 * at_b
    return None


def _with_lengths(m: Measured, bases: Bases, found: Raised) -> Raised:
    """The row with true lengths in place of the working parameter; pinned ones as asked."""
    s = m.lengths_near(found.s)
    for c in bases.conditions:
        if isinstance(c, Peak):
            s[c.base] = c.s
    return replace(found, s=s)


def _slid(m: Measured, bases: Bases, shift: float) -> tuple[Raised | None, float]:
    """The row once round from a moved line to the same line again, and by how much the ends then differ, mm."""
    at = bases.start[:1] + shift
    place, normal = m.points(at)[0], m.tangents(at)[0]
    later = m.turned(normal)
    lines = (Line(0, place, normal), Line(len(bases.share), m.carried(place), later))
    moved = replace(bases, start=bases.start + shift, closed=False, conditions=lines)
    found = _newton(m, moved, _first_guess(m, moved))
    if found is None:
        return None, float("nan")
    return found, float(bases.side * cubics.left(later) @ (found.valleys[-1] - m.carried(found.valleys[0])))


def feet(m: Measured, points: Array, low: Array, high: Array) -> Array:
    """Lengths (k,) of the places nearest to `points` (k, 2) between the lengths `low` and `high`.

    Of several equally near ones one is given; the bracket is sampled at nine places, so it should be short. On a loop
    lengths may lie below 0 or beyond its length.
    """
    return m.lengths_near(_feet(m, points, low, high))


def _feet(m: Measured, points: Array, low: Array, high: Array) -> Array:
    """As `feet`, from and to the parameter of `Measured.near`, in which this module works."""
    share = np.linspace(0.0, 1.0, _SAMPLES + 1)
    trial = low[:, None] + (high - low)[:, None] * share
    there, _ = m.places(trial.ravel())
    distance = np.hypot(*np.moveaxis(there.reshape(*trial.shape, 2) - points[:, None], -1, 0))
    best = distance.argmin(axis=1)
    row = np.arange(len(points))
    a, b = trial[row, np.maximum(best - 1, 0)], trial[row, np.minimum(best + 1, _SAMPLES)]
    at_a, at_b = _climb(m, points, a), _climb(m, points, b)
    inside = (at_a < 0.0) & (at_b > 0.0)
    last = np.zeros(len(points))
    # Regula falsi that halves an end kept twice (Illinois): https://en.wikipedia.org/wiki/Regula_falsi
    for _ in range(30):
        r = np.where(inside, a - at_a * (b - a) / np.where(inside, at_b - at_a, 1.0), a)
        at_r = _climb(m, points, r)
        if np.abs(at_r[inside]).max(initial=0.0) <= 1e-13 * m.length:
            break
        side = np.sign(at_r)
        again = np.where(side == last, 0.5, 1.0)
        below, last = side < 0.0, side
        at_a, at_b = np.where(below, at_r, again * at_a), np.where(below, again * at_b, at_r)
        a, b = np.where(below, r, a), np.where(below, b, r)
    return np.asarray(np.where(inside, r, trial[row, best]))


def _climb(m: Measured, points: Array, r: Array) -> Array:
    """How fast half the squared distance grows along the curve."""
    there, tangent, _ = _places(m, r)
    return cubics.dot(there - points, tangent)


def _places(m: Measured, r: Array) -> tuple[Array, Array, Array]:
    """Points (k, 2), unit tangents (k, 2) and speeds (k,) at working parameters."""
    points, d = m.places(r)
    speed = np.hypot(d[:, 0], d[:, 1])
    # The parameter follows the length closely: only at a cusp is the speed in it not near 1.
    tangent = d / speed[:, None] if speed.min(initial=np.inf) > 1e-6 else m.directions(r)
    return points, tangent, np.maximum(speed, 0.2)


# ---------------------------------------------------------------- the row as it stands, and how it can move


@dataclass(frozen=True, eq=False)
class _Row:
    valleys: Array
    peaks: Array
    widths: Array


@dataclass(frozen=True, eq=False)
class _View:
    """A row measured.

    `unit` and `up` (n, 2) lie along and across each base line, `tangent` along the curve at its raised point, with
    `speed`; `miss` (n,) and `off` (n, 2) tell how wrong its length and its raised point are; `along` and `height`
    are where the raised point stands over the base line, `growth` is how the height grows with the size.
    """

    unit: Array
    up: Array
    size: Array
    tangent: Array
    speed: Array
    miss: Array
    off: Array
    along: Array
    height: Array
    growth: Array


def _first_guess(m: Measured, bases: Bases) -> _Row:
    """Valleys at the height of the raised points away from the curve, widths from the chords of these."""
    height, _ = bases.heights(bases.share @ bases.widths)
    near = np.concatenate([height[:1], 0.5 * (height[:-1] + height[1:]), height[-1:]]) if len(height) else np.zeros(1)
    place, tangent, _ = _places(m, bases.start)
    away = -bases.side * cubics.left(tangent)
    valleys = place + near[:, None] * away
    for c in bases.conditions:
        if isinstance(c, Line):
            along = -bases.side * cubics.left(c.normal)
            lean = float(along @ away[c.node])
            if lean > 0.3:
                valleys[c.node] = c.point + along * (near[c.node] / lean)
    if bases.closed:
        valleys[-1] = m.carried(valleys[0])
    widths = _widths_of(bases, np.hypot(*np.diff(valleys, axis=0).T))
    for c in bases.conditions:
        if isinstance(c, Mirror):
            valleys[c.node] = _mirrored(bases, c, widths)[0]
    peaks = 0.5 * (bases.start[1:] + bases.start[:-1])
    for c in bases.conditions:
        if isinstance(c, Peak):
            peaks[c.base] = float(m.working(np.array([c.s]))[0])
    return _Row(valleys, peaks, widths)


def _widths_of(bases: Bases, chord: Array) -> Array:
    """The widths that come nearest to the given lengths of the base lines."""
    if len(chord) < len(bases.widths):
        return bases.widths
    widths, *_ = np.linalg.lstsq(bases.share, chord - bases.lead - bases.trail, rcond=None)
    good = (widths > 0.3 * bases.widths) & (widths < 3.0 * bases.widths)
    return np.where(good, widths, bases.widths)


def _view(m: Measured, bases: Bases, row: _Row) -> _View:
    chord = np.diff(row.valleys, axis=0)
    size = np.hypot(chord[:, 0], chord[:, 1])
    unit = chord / np.maximum(size, 1e-300)[:, None]
    up = bases.side * cubics.left(unit)
    asked = bases.share @ row.widths
    height, growth = bases.heights(asked)
    along = bases.lead + bases.peak * asked
    place, tangent, speed = _places(m, row.peaks)
    off = row.valleys[:-1] + along[:, None] * unit + height[:, None] * up - place
    miss = size - (bases.lead + asked + bases.trail)
    return _View(unit, up, size, tangent, speed, miss, off, along, height, growth)


def _moves(bases: Bases, v: _View) -> tuple[Array, Array]:
    """How valleys (n + 1, 2, c) and raised points (n, 2, c) move; columns: 1, the first valley's x, y, the widths.

    A base line changes by a along itself and by b across. The length gives a; that the raised point stays on the
    tangent of the curve gives b.
    """
    k = bases.share.shape[1]
    n = len(v.size)
    normal = bases.side * cubics.left(v.tangent)
    lift, lean = cubics.dot(normal, v.up), cubics.dot(normal, v.unit)
    stretch = np.zeros((n, 3 + k))
    stretch[:, 0], stretch[:, 3:] = -v.miss, bases.share
    forward, upward = np.zeros((n, 3 + k)), np.zeros((n, 3 + k))
    forward[:, 3:], upward[:, 3:] = bases.peak * bases.share, v.growth[:, None] * bases.share
    turn = (v.along[:, None] * v.up - v.height[:, None] * v.unit) / v.size[:, None]
    grip = cubics.dot(normal, turn)
    grip = np.where(np.abs(grip) < 1e-2, np.copysign(1e-2, grip), grip)
    right = -lean[:, None] * forward - lift[:, None] * upward
    right[:, 0] -= cubics.dot(normal, v.off)
    across = v.up / grip[:, None]

    linear = np.eye(2) - across[:, :, None] * normal[:, None, :]
    constant = v.unit[:, :, None] * stretch[:, None] + across[:, :, None] * right[:, None]
    begin = np.zeros((2, 3 + k))
    begin[0, 1] = begin[1, 2] = 1.0
    valleys = _scan(linear, constant, begin)
    b = (right - (normal[:, :, None] * valleys[:-1]).sum(axis=1)) / grip[:, None]
    raised = (
        valleys[:-1]
        + v.unit[:, :, None] * forward[:, None]
        + v.up[:, :, None] * upward[:, None]
        + turn[:, :, None] * b[:, None]
    )
    return valleys, raised


def _scan(linear: Array, constant: Array, begin: Array) -> Array:
    """x[0] = begin, x[i + 1] = linear[i] x[i] + constant[i] for x of shape (2, c), by doubling."""
    if len(linear) == 0:
        return begin[None]
    a, b = linear.copy(), constant.copy()
    b[0] += _times(a[:1], begin[None])[0]
    a[0] = 0.0
    reach = 1
    while reach < len(a):
        b[reach:] += _times(a[reach:], b[:-reach])
        a[reach:] = _times(a[reach:], a[:-reach])
        reach *= 2
    return np.concatenate([begin[None], b])


def _times(a: Array, b: Array) -> Array:
    """Products of 2 x 2 maps (n, 2, 2) with (n, 2, c)."""
    return np.asarray(a[:, :, :1] * b[:, None, 0] + a[:, :, 1:] * b[:, None, 1])


def _mirrored(bases: Bases, c: Mirror, widths: Array) -> tuple[Array, Array]:
    """Where a mirror wants its valley, (2,), and how that moves with the widths, (2, k)."""
    size = c.share @ widths
    height, growth = (float(x[0]) for x in bases.heights(np.array([size])))
    axis = bases.side * cubics.left(c.normal)
    place = c.point - height * axis + c.sense * (0.5 * size + c.extra) * c.normal
    return place, np.outer(0.5 * c.sense * c.normal - growth * axis, c.share)


def _conditions(m: Measured, bases: Bases, row: _Row, v: _View, valleys: Array, raised: Array) -> Array:
    """Misses of the conditions and how they move, one row each, columns as in `_moves`; all in mm."""
    rows: list[Array] = [np.zeros((0, valleys.shape[2]))]
    for c in bases.conditions:
        if isinstance(c, Line):
            line = c.normal @ valleys[c.node]
            line[0] += c.normal @ (row.valleys[c.node] - c.point)
            rows.append(line[None])
        elif isinstance(c, Peak):
            line = v.tangent[c.base] @ raised[c.base]
            line[0] += v.tangent[c.base] @ v.off[c.base]
            rows.append(line[None])
        else:
            place, by_width = _mirrored(bases, c, row.widths)
            pair = valleys[c.node].copy()
            pair[:, 0] += row.valleys[c.node] - place
            pair[:, 3:] -= by_width
            rows.append(pair)
    if bases.closed:
        pair = valleys[-1] - m.turned(valleys[0].T).T
        pair[:, 0] += row.valleys[-1] - m.carried(row.valleys[0])
        rows.append(pair)
    return np.concatenate(rows)


def _misses(m: Measured, bases: Bases, row: _Row, v: _View) -> tuple[float, float]:
    """The largest misses in mm, of lengths and raised points, and of conditions."""
    still = np.zeros((len(row.valleys), 2, 3 + len(row.widths)))
    held = _conditions(m, bases, row, v, still, still[:-1])
    chain = max(np.abs(v.miss).max(initial=0.0), np.abs(v.off).max(initial=0.0))
    return float(chain), float(np.abs(held[:, 0]).max(initial=0.0))


# ---------------------------------------------------------------- Newton


def _newton(m: Measured, bases: Bases, row: _Row) -> Raised | None:
    """The row with all lengths and raised points right, and the conditions as nearly as they can be met."""
    pinned = np.array([c.base for c in bases.conditions if isinstance(c, Peak)], dtype=np.intp)
    best, since = np.inf, 0
    for _ in range(_STEPS):
        v = _view(m, bases, row)
        smallest = float(row.widths.min())
        chain, held = _misses(m, bases, row, v)
        if not np.isfinite(chain):
            return None
        valleys, raised = _moves(bases, v)
        away, uneven = _unevenness(m, bases, row, valleys)
        z, slide, strong = _unknowns(bases, _conditions(m, bases, row, v, valleys, raised), uneven)
        left = max(chain, strong) / smallest
        if not (np.isfinite(left) and np.isfinite(z).all()):
            return None
        since = 0 if left < 0.5 * best else since + 1
        best = min(best, left)
        if (left <= _CLOSE and slide <= _STILL * smallest) or (left <= _ACCEPT and since > 6):
            return Raised(row.valleys, row.peaks, row.widths, away, max(chain, held) / smallest)
        if since > 12:
            return None
        row = _moved(m, bases, row, v, valleys @ z, raised @ z, z[3:], pinned)
    return None


def _unevenness(m: Measured, bases: Bases, row: _Row, valleys: Array) -> tuple[Array, Array]:
    """Distances of the valleys from the curve (n + 1,), and their changes from each to the next, as rows (n, c)."""
    _, away, by_valley = _distances(m, bases, row)
    table = (by_valley[:, :, None] * valleys).sum(axis=1)
    table[:, 0] += away
    return away, np.diff(table, axis=0)


def _unknowns(bases: Bases, conditions: Array, uneven: Array) -> tuple[Array, float, float]:
    """The factors (c,) of the columns, the first being 1.

    The strong conditions are met in least squares; what they leave open makes the unevenness least. Also given are
    how far the open freedom is still used, and by how much the strong conditions are missed, mm.
    """
    # Widths count as often as their base lines, so that all unknowns move the far end alike.
    scale = np.concatenate([[1.0, 1.0], 1.0 / np.maximum(bases.share.sum(axis=0), 1.0)])
    out = np.ones(1 + len(scale))
    try:
        left, values, right = np.linalg.svd(conditions[:, 1:] * scale)
        held = int((values > _WEAK).sum())
        misses = left[:, :held].T @ conditions[:, 0]
        particular = -right[:held].T @ (misses / values[:held])
        free = right[held:].T
        slope = uneven[:, 1:] * scale
        y, *_ = np.linalg.lstsq(slope @ free, -(uneven[:, 0] + slope @ particular), rcond=1e-9)
    except np.linalg.LinAlgError:
        return np.full(len(out), np.nan), np.inf, np.inf
    out[1:] = scale * (particular + free @ y)
    return out, float(np.abs(y).max(initial=0.0)), float(np.abs(misses).max(initial=0.0))


def _distances(m: Measured, bases: Bases, row: _Row) -> tuple[Array, Array, Array]:
    """Nearest places of the valleys, their distances from the curve, and how these grow with the valleys."""
    before, after = _brackets(m, bases, row)
    foot = _feet(m, row.valleys, before, after)
    place, tangent, _ = _places(m, foot)
    away = -bases.side * cubics.left(tangent)
    return foot, cubics.dot(row.valleys - place, away), away


def _brackets(m: Measured, bases: Bases, row: _Row) -> tuple[Array, Array]:
    """Between which places the curve may be nearest to each valley: from one raised point to the next."""
    if len(row.peaks) == 0:
        return np.maximum(bases.start - row.widths[0], 0.0), np.minimum(bases.start + row.widths[0], m.length)
    reach = np.hypot(*np.diff(row.valleys, axis=0).T)
    if bases.closed:
        first, last = row.peaks[-1] - m.length, row.peaks[0] + m.length
    else:
        first, last = row.peaks[0] - reach[0], row.peaks[-1] + reach[-1]
    if m.closing is None:
        first, last = max(first, 0.0), min(last, m.length)
    return np.concatenate([[first], row.peaks]), np.concatenate([row.peaks, [last]])


def _moved(m: Measured, bases: Bases, row: _Row, v: _View, dv: Array, raised: Array, dw: Array, pinned: Ints) -> _Row:
    """The row after a step, shortened where it would upset the order."""
    dp = cubics.dot(v.tangent, raised + v.off) / v.speed
    dp[pinned] = 0.0
    gap, change = np.diff(row.peaks), np.diff(dp)
    swing = np.abs(cubics.dot(v.up, np.diff(dv, axis=0))) / v.size
    shrink = np.concatenate([-change / np.maximum(gap, 1e-300), -dw / row.widths, swing])
    worst = float(shrink.max(initial=0.0))
    part = 1.0 if worst <= 0.6 else 0.6 / worst
    peaks = row.peaks + part * dp
    peaks = np.clip(peaks, 0.0, m.length) if m.closing is None else peaks
    return _Row(row.valleys + part * dv, peaks, row.widths + part * dw)


# ---------------------------------------------------------------- proof


def _sound(m: Measured, bases: Bases, found: Raised) -> bool:
    """Whether the row is in order and every raised point is a first crossing, seen from both its valleys."""
    row = _Row(found.valleys, found.s, found.widths)
    if (np.diff(found.s) <= 0.0).any() or (bases.closed and found.s[-1] - found.s[0] >= m.length):
        return False
    v = _view(m, bases, row)
    if (cubics.dot(v.unit, v.tangent) < _LEAN).any():
        return False
    foot, _, _ = _distances(m, bases, row)
    return bool(
        (_reached(m, row.valleys[:-1], foot[:-1], found.s)).all()
        and (_reached(m, row.valleys[1:], foot[1:], found.s)).all()
    )


def _reached(m: Measured, valley: Array, foot: Array, peak: Array) -> Bools:
    """Whether the curve between a valley's nearest place and a raised point is nowhere farther than that point."""
    share = np.linspace(0.0, 1.0, _SAMPLES + 1)
    trial = foot[:, None] + (peak - foot)[:, None] * share
    there, _ = m.places(trial.ravel())
    distance = np.hypot(*np.moveaxis(there.reshape(*trial.shape, 2) - valley[:, None], -1, 0))
    return np.asarray((distance <= distance[:, -1:] * (1.0 + 1e-9)).all(axis=1))
