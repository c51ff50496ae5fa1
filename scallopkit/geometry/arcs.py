"""Arcs of circles and ellipses as cubics, from their end points or from their centre.

A part of angle θ leaves the circle by about 2/27 sin⁶(θ/4) / cos²(θ/4) of its radius, always outward
(https://spencermortensen.com/articles/bezier-circle/ gives the case of 90 degrees). An arc is cut into as many equal
parts as keep this under the accuracy asked for and under 1e-10 of the larger radius, about 48 a turn, so
that straight distances measured on the arc are right to 1e-9.
"""

from __future__ import annotations

import math

import numpy as np

from .cubics import Array, Bools, Ints, lines

# Of the larger radius; below the last figure floating point itself is coarser.
_RELATIVE_MOST = 1e-10
_RELATIVE_LEAST = 1e-15
# Where few cubics are wanted none is wider than a quarter of a circle.
_RELATIVE_FEW = 2.7e-4


def elliptical_arc(
    start: tuple[float, float],
    radii: tuple[float, float],
    rotation_rad: float,
    large: bool,
    sweep: bool,
    end: tuple[float, float],
    accuracy: float,
) -> Array:
    """The arc of SVG's `A` command as cubics (n, 4, 2), within `accuracy` of the ellipse.

    Equal ends give an empty curve (0, 4, 2), a zero radius one straight cubic; negative radii count as positive, and
    radii too small to reach are enlarged together. `rotation_rad` turns the ellipse's x axis, clockwise as seen
    (y down). End points are kept to the last bit.
    """
    curve, _ = elliptical_arcs(
        np.array([start], dtype=float),
        np.array([radii], dtype=float),
        np.array([rotation_rad], dtype=float),
        np.array([large]),
        np.array([sweep]),
        np.array([end], dtype=float),
        accuracy,
    )
    return curve


def elliptical_arcs(
    start: Array,
    radii: Array,
    rotation: Array,
    large: Bools,
    sweep: Bools,
    end: Array,
    accuracy: float,
    few: bool = False,
) -> tuple[Array, Ints]:
    """Many arcs at once: the cubics of all of them in order, and how many (k,) belong to each.

    Arguments are those of `elliptical_arc`, stacked: (k, 2) or (k,); `few` as for `ellipse_arc`. Formulas: SVG 2, B.2.4
    and B.2.5, https://www.w3.org/TR/SVG2/implnote.html#ArcImplementationNotes
    """
    radii = np.abs(radii)
    cos, sin = np.cos(rotation), np.sin(rotation)
    half = (start - end) / 2.0
    along = np.stack([cos * half[:, 0] + sin * half[:, 1], cos * half[:, 1] - sin * half[:, 0]], axis=1)
    with np.errstate(all="ignore"):
        need = np.hypot(along[:, 0] / radii[:, 0], along[:, 1] / radii[:, 1])
        radii = radii * np.maximum(need, 1.0)[:, None]
    gone = (start == end).all(axis=1)
    straight = ~gone & ~(np.isfinite(need) & np.isfinite(radii).all(axis=1) & (radii > 0.0).all(axis=1))
    radii = np.where((gone | straight)[:, None], 1.0, radii)

    # From here on in the frame in which the ellipse is the unit circle and the chord's middle the origin.
    chord = along / radii
    reach = np.where(need < 1.0, np.hypot(chord[:, 0], chord[:, 1]), 1.0)
    rise = np.sqrt((1.0 - reach) * (1.0 + reach))
    side = np.where(large != sweep, 1.0, -1.0) * rise / np.where(reach > 0.0, reach, 1.0)
    from_centre = chord - np.stack([side * chord[:, 1], -side * chord[:, 0]], axis=1)
    first = np.arctan2(from_centre[:, 1], from_centre[:, 0])
    small = 2.0 * np.arctan2(reach, rise)
    turn = np.where(large, 2.0 * math.pi - small, small) * np.where(sweep, 1.0, -1.0)

    count = np.where(gone, 0, np.where(straight, 1, _parts(radii.max(axis=1), turn, accuracy, few)))
    curve = _cubics(start, radii, rotation, first, turn, count)
    last = np.cumsum(count) - 1
    curve[last[~gone], 3] = end[~gone]
    curve[last[straight]] = lines(np.stack([start[straight], end[straight]], axis=1).reshape(-1, 2))[::2]
    return curve, count


def ellipse_arc(
    centre: tuple[float, float],
    radii: tuple[float, float],
    rotation: float,
    angle0: float,
    sweep_angle: float,
    accuracy: float,
    few: bool = False,
) -> Array:
    """The arc of an ellipse about `centre` as cubics (n, 4, 2), within `accuracy` of it.

    Angles are radians in the ellipse's own frame, before its x axis is turned by `rotation`; positive ones run
    clockwise as seen (y down). Both radii are positive; no angle gives an empty curve. With `few` the accuracy alone
    says how many cubics there are, and no distance is measured on the arc to 1e-9.
    """
    r, turn = np.array([radii], dtype=float), np.array([sweep_angle], dtype=float)
    x, y = radii[0] * math.cos(angle0), radii[1] * math.sin(angle0)
    c, s = math.cos(rotation), math.sin(rotation)
    start = np.array([[centre[0] + c * x - s * y, centre[1] + s * x + c * y]])
    count = np.where(turn == 0.0, 0, _parts(r.max(axis=1), turn, accuracy, few))
    return _cubics(start, r, np.array([rotation]), np.array([angle0]), turn, count)


def circle_arcs(centre: Array, start: Array, end: Array, turn: Array, accuracy: float) -> Array:
    """Arcs of circles that follow each other, as few cubics (n, 4, 2) as keep within `accuracy` of them.

    Each goes about its `centre` (k, 2) from its `start` (k, 2) by `turn` (k,) radians, positive clockwise as seen (y
    down), and ends exactly at its `end` (k, 2), which lies there but for rounding.
    """
    out = start - centre
    radius = np.hypot(out[:, 0], out[:, 1])
    count = _parts(radius, turn, accuracy, few=True)
    first = np.arctan2(out[:, 1], out[:, 0])
    curve = _cubics(start, np.stack([radius, radius], axis=1), np.zeros(len(turn)), first, turn, count)
    curve[np.cumsum(count) - 1, 3] = end
    return curve


def _parts(radius: Array, turn: Array, accuracy: float, few: bool = False) -> Ints:
    """How many equal parts keep each arc within the accuracy."""
    ratio = np.clip(accuracy / radius, _RELATIVE_LEAST, _RELATIVE_FEW if few else _RELATIVE_MOST)
    # These stand for cos²(θ/4), which is nearer to 1 at every ratio allowed here.
    widest = 4.0 * np.arcsin((13.5 * (0.85 if few else 0.998) * ratio) ** (1.0 / 6.0))
    return np.asarray(np.maximum(np.ceil(np.abs(turn) / widest - 1e-9), 1.0).astype(np.intp))


def _cubics(start: Array, radii: Array, rotation: Array, first: Array, turn: Array, count: Ints) -> Array:
    """Arcs as `count` equal cubics each; nodes are reached from the start point, so a huge radius costs no digits."""
    arc = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(arc)) - np.repeat(np.cumsum(count) - count, count)
    step = turn[arc] / count[arc]
    handle = 4.0 / 3.0 * np.tan(step / 4.0)
    base = first[arc]

    def node(k: Ints) -> tuple[Array, Array]:
        past = k * step
        across = 2.0 * np.sin(past / 2.0)
        mid, at = base + past / 2.0, base + past
        place = np.stack([-np.sin(mid), np.cos(mid)], axis=1) * across[:, None]
        return place, np.stack([-np.sin(at), np.cos(at)], axis=1) * handle[:, None]

    (a, forth), (b, back) = node(number), node(number + 1)
    local = np.stack([a, a + forth, b - back, b], axis=1) * radii[arc][:, None, :]
    c, s = np.cos(rotation)[arc, None], np.sin(rotation)[arc, None]
    turned = np.stack([c * local[..., 0] - s * local[..., 1], s * local[..., 0] + c * local[..., 1]], axis=-1)
    return np.asarray(turned + start[arc][:, None, :])
