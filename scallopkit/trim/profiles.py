"""Profiles: the shape of one scallop, drawn once at width 1.

A profile is a function from depth (as a share of the width) to cubics from (0, 0) to (1, 0) that bulge to +y, the
highest point at the crest. To add one, write the function here and decorate it; its name in the command line is the
function's, with dashes. The arc is kept as an arc too, since it can be written exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.arcs import ellipse_arc
from ..geometry.cubics import Array
from ..geometry.length import measure

# Three quarters of a circle, 4 atan(2 h / w) = 270 degrees: a deeper arc has hardly a mouth left to turn it through.
DEEPEST_ARC = 0.5 * math.tan(math.radians(270.0) / 4.0)

_ACCURACY = 1e-9


@dataclass(frozen=True, eq=False)
class Motif:
    """One repeat at width 1.

    Attributes:
        curve: cubics from (0, 0) to (1, 0), bulging to +y.
        depth: height of the crest over the base line, as a share of the width.
        crest: x of the crest.
        half: how many cubics lead up to the crest.
        arc: whether the curve is one circular arc.
        smooth: whether neighbours run on into each other without a corner.
    """

    curve: Array
    depth: float
    crest: float = 0.5
    half: int = 0
    arc: bool = False
    smooth: bool = False

    @property
    def symmetric(self) -> bool:
        """Whether the right half mirrors the left one (to a hundred-thousandth of the width)."""
        mirrored = cubics.reverse(self.curve) * [-1.0, 1.0] + [1.0, 0.0]
        here, there = cubics.flatten(self.curve, 1e-4), cubics.flatten(mirrored, 1e-4)
        return here.shape == there.shape and bool(np.abs(here - there).max() < 1e-5)

    @property
    def base_angles(self) -> tuple[float, float]:
        """Angles in radians between the base line and the curve at its first and at its last point."""
        first, last = cubics.ends_direction(self.curve)
        return math.atan2(first[1], first[0]), math.atan2(-last[1], last[0])


Profile = Callable[[float], Motif]
PROFILES: dict[str, Profile] = {}


def profile(function: Profile) -> Profile:
    """Enters a profile under its own name, with dashes."""
    PROFILES[function.__name__.replace("_", "-")] = function
    return function


def arc_radius(width: float, depth: float) -> float:
    """Radius of the circular arc of that width and depth: (w² / 4 + h²) / 2 h (circular segment)."""
    return (width * width / 4.0 + depth * depth) / (2.0 * depth)


def arc_depth(width: float, radius: float) -> float:
    """Depth of the shallow circular arc of that width and radius: r - sqrt(r² - w² / 4)."""
    if radius < width / 2.0:
        raise RequestError(
            f"a radius of {radius:.6g} mm can't span a scallop {width:.6g} mm wide: "
            f"give at least half the width, {width / 2.0:.6g} mm"
        )
    return radius - math.sqrt(radius * radius - width * width / 4.0)


@profile
def arc(depth: float) -> Motif:
    """Part of a circle: the classic scallop, shallow or up to three quarters of a circle."""
    if depth > DEEPEST_ARC * (1.0 + 1e-9):
        raise RequestError(
            f"an arc can be at most three quarters of a circle, which is {DEEPEST_ARC:.0%} of its width deep; "
            f"{depth:.0%} was asked"
        )
    radius = arc_radius(1.0, depth)
    half = 2.0 * math.atan(2.0 * depth)
    left = ellipse_arc((0.5, depth - radius), (radius, radius), 0.0, math.pi / 2 + half, -half, _ACCURACY)
    return _both_halves(left, depth, arc=True)


@profile
def half_circle(depth: float) -> Motif:
    """Half a circle: the depth is always half the width, whatever else is asked."""
    return arc(0.5)


@profile
def pointed_arch(depth: float) -> Motif:
    """Two equal arcs that meet in a point at the crest, at half the slope of the straight-sided point."""
    slope = math.atan(2.0 * depth)
    chord = math.hypot(0.5, depth)
    # The arc leaves its chord by half the slope at each end, so its angle is the slope.
    radius = chord / (2.0 * math.sin(slope / 2.0))
    away = 0.5 * math.pi + 1.5 * slope
    centre = (radius * math.sin(1.5 * slope), -radius * math.cos(1.5 * slope))
    left = ellipse_arc(centre, (radius, radius), 0.0, away, -slope, _ACCURACY)
    return _both_halves(left, depth)


@profile
def double_curve(depth: float) -> Motif:
    """Each side bulges from the valley and hollows towards a point at the crest, like a bracket laid flat."""
    left = np.array([[(0.0, 0.0), (0.0, 0.7 * depth), (0.5, 0.3 * depth), (0.5, depth)]])
    return _both_halves(left, depth)


@profile
def wave(depth: float) -> Motif:
    """Smooth up and down, with no corner at the valley."""
    # Handles of 0.1821 of the width give the curvature of a sine at crest and valley: (1 - 2 / pi) / 2.
    handle = (1.0 - 2.0 / math.pi) / 2.0
    left = np.array([[(0.0, 0.0), (handle, 0.0), (0.5 - handle, depth), (0.5, depth)]])
    return _both_halves(left, depth, smooth=True)


@profile
def point(depth: float) -> Motif:
    """Straight sides that meet in a point: a zigzag edge."""
    return _both_halves(cubics.lines([(0.0, 0.0), (0.5, depth)]), depth)


def own_motif(curve: Array, name: str, depth: float | None = None) -> Motif:
    """A motif drawn by the maker: an open line, laid with its ends on the base line and scaled to width 1.

    It bulges to the side where it reaches farther. Its own depth is kept unless `depth` (a share of the width) is
    given.

    Raises:
        RequestError: the ends coincide, or the line does not rise from its base.
    """
    start, end = curve[0, 0], curve[-1, 3]
    base = end - start
    width = float(np.hypot(*base))
    size = float(np.ptp(curve.reshape(-1, 2), axis=0).max())
    if width <= 1e-3 * size:
        raise RequestError(f'the motif "{name}" ends where it starts: draw it as an open line from valley to valley')
    turn = np.array([[base[0], base[1]], [-base[1], base[0]]]) / (width * width)
    laid = (curve - start) @ turn.T
    low, high = cubics.bounds(laid)[:, 1]
    if high < -low:
        laid, high = laid * [1.0, -1.0], -low
    if high < 1e-4:
        raise RequestError(f'the motif "{name}" is a straight line: draw it so that it rises between its ends')
    if depth is not None:
        laid = laid * [1.0, depth / high]
        high = depth
    laid[0, 0], laid[-1, 3] = (0.0, 0.0), (1.0, 0.0)
    top = cubics.flatten(laid, 1e-5)
    crest = float(top[np.argmax(top[:, 1]), 0])
    m = measure(laid)
    left, right = m.part(0.0, 0.5 * m.length), m.part(0.5 * m.length, m.length)
    return Motif(np.concatenate([left, right]), float(high), crest, len(left))


def _both_halves(left: Array, depth: float, arc: bool = False, smooth: bool = False) -> Motif:
    """A left half, and its mirror image about x = 1/2 after it."""
    left[0, 0], left[-1, 3] = (0.0, 0.0), (0.5, depth)
    curve = np.concatenate([left, cubics.reverse(left) * [-1.0, 1.0] + [1.0, 0.0]])
    return Motif(curve, depth, 0.5, len(left), arc, smooth)
