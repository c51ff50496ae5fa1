"""Curves and drawings that several tests use, and hypothesis strategies for them."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY, compose, moved, turned
from scallopkit.pattern.piece import Mark, Pattern, Piece
from scallopkit.trim.course import CREST, VALLEY, Course, Stop


def circle(radius: float) -> Array:
    return ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.0, 2.0 * math.pi, 1e-9)


def smooth(points: Array) -> Array:
    """A smooth chain of cubics through the points, with tangents along neighbouring chords."""
    tangent = np.gradient(points, axis=0) / 3.0
    return np.stack([points[:-1], points[:-1] + tangent[:-1], points[1:] - tangent[1:], points[1:]], axis=1)


@st.composite
def wavy_lines(draw: st.DrawFn) -> Array:
    """Smooth open lines that go up and down while they go on, some 100 to 500 mm long."""
    n = draw(st.integers(2, 8))
    heights = draw(st.lists(st.floats(-25.0, 25.0), min_size=n + 1, max_size=n + 1))
    step = draw(st.floats(30.0, 70.0))
    return smooth(np.stack([np.arange(n + 1) * step, np.array(heights)], axis=1))


def fan(
    radius: float, angle: float, centre: tuple[float, float] = (0.0, 0.0), start: float = 0.3
) -> tuple[Array, Array]:
    """The rim of a cone laid flat, an arc with its outside on the walker's left, and the turn that closes it."""
    arc = ellipse_arc(centre, (radius, radius), 0.0, start, angle, 1e-9)
    return arc, turned(angle, centre)


def closing_of(curve: Array, kink: float = 0.0) -> Array:
    """The motion by which a line goes on from its end as it began, turned by `kink` radians there."""
    first, last = cubics.ends_direction(curve)
    angle = math.atan2(float(cubics.cross(first, last)), float(first @ last)) + kink
    begin, end = curve[0, 0], curve[-1, 3]
    return compose(moved(*(end - begin)), turned(angle, (begin[0], begin[1])))


def pattern(*pieces: Piece, marks: tuple[Mark, ...] = ()) -> Pattern:
    return Pattern(pieces, marks)


def piece(name: str, curve: Array, closed: bool = True) -> Piece:
    return Piece(name, (name,), curve, closed)


def rectangle(width: float, height: float) -> Array:
    return cubics.lines([(0, 0), (width, 0), (width, height), (0, height), (0, 0)])


def course(curve: Array, loop: bool = False, side: int = 1, closing: Array = IDENTITY) -> Course:
    """The line as a course; a loop goes on by `closing`, which an open line has none of."""
    return Course(measure(curve, closing if loop else None), loop, side)


def valley_ends(c: Course) -> tuple[Stop, ...]:
    if c.loop:
        return (Stop("first", 0.0, VALLEY),)
    return Stop("start", 0.0, VALLEY), Stop("end", c.measured.length, VALLEY)


def crest_ends(c: Course) -> tuple[Stop, ...]:
    first, last = c.measured.tangents(np.array([0.0, c.measured.length]))
    return (
        Stop("start", 0.0, CREST, mirror=(float(first[0]), float(first[1])), fold=True),
        Stop("end", c.measured.length, CREST, mirror=(float(last[0]), float(last[1])), fold=True),
    )
