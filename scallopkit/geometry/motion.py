"""Affine maps of the plane as arrays (2, 3): they carry a drawing to millimetres and a piece to its place."""

from __future__ import annotations

import math

import numpy as np

from .cubics import Array

IDENTITY: Array = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


def affine(a: float, b: float, c: float, d: float, e: float, f: float) -> Array:
    """The map x' = a x + c y + e, y' = b x + d y + f (the order in which SVG writes `matrix`)."""
    return np.array([[a, c, e], [b, d, f]], dtype=float)


def moved(x: float, y: float) -> Array:
    """The map that moves by (x, y)."""
    return affine(1.0, 0.0, 0.0, 1.0, x, y)


def scaled(x: float, y: float) -> Array:
    """The map that scales about the origin."""
    return affine(x, 0.0, 0.0, y, 0.0, 0.0)


def turned(angle: float, centre: tuple[float, float] = (0.0, 0.0)) -> Array:
    """The map that turns by `angle` radians about `centre`, clockwise on the drawing as seen (y down)."""
    c, s = math.cos(angle), math.sin(angle)
    x, y = centre
    return affine(c, s, -s, c, x - c * x + s * y, y - s * x - c * y)


def compose(outer: Array, inner: Array) -> Array:
    """The map that does `inner` first and `outer` after it."""
    linear = outer[:, :2] @ inner[:, :2]
    shift = outer[:, :2] @ inner[:, 2] + outer[:, 2]
    return np.concatenate([linear, shift[:, None]], axis=1)


def inverse(motion: Array) -> Array:
    """The map that undoes `motion`; a map that flattens the plane raises numpy's LinAlgError."""
    (a, c, e), (b, d, f) = motion.tolist()
    size = a * d - b * c
    if size == 0.0:
        raise np.linalg.LinAlgError("Singular matrix")
    return affine(d / size, -b / size, -c / size, a / size, (c * f - d * e) / size, (b * e - a * f) / size)


def apply(motion: Array, points: Array) -> Array:
    """Points, or a whole curve, of any shape (..., 2), carried by the map."""
    return np.asarray(points @ motion[:, :2].T + motion[:, 2])


def similarity_scale(motion: Array) -> float | None:
    """The scale of a map that keeps shapes (turns, moves, mirrors, one scale), or None where it distorts.

    The tolerance 1e-6 is what six-digit drawings leave of an exact similarity.
    """
    a, c = motion[0, :2]
    b, d = motion[1, :2]
    first, second = math.hypot(a, b), math.hypot(c, d)
    even = abs(first - second) <= 1e-6 * max(first, second)
    square = abs(a * c + b * d) <= 1e-6 * first * second
    return math.sqrt(first * second) if even and square and first > 0.0 else None


def power(motion: Array, times: int) -> Array:
    """The map done so many times over, in few steps however many; a negative number undoes it."""
    if times in (0, 1):
        return motion if times else IDENTITY
    whole = np.eye(3)
    whole[:2] = motion
    return np.asarray(np.linalg.matrix_power(whole, times)[:2])


def mirrored(point: Array, along: Array) -> Array:
    """The map that mirrors in the straight line through `point` with unit direction `along`."""
    x, y = float(along[0]), float(along[1])
    linear = np.array([[x * x - y * y, 2.0 * x * y], [2.0 * x * y, y * y - x * x]])
    return np.concatenate([linear, (point - linear @ point)[:, None]], axis=1)
