"""The demo's waistcoat: half a back on the fold, and a front laced at its straight edge, as net lines at full size.

Each half is drafted flat, with its waist dart closed, and then cut and turned open, so that what will be sewn together
is true. One thing is left as an evening's drafting leaves it: at the side seam the hem dips. All measurements are
invented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .document.numbers import decimal, path_text
from .geometry import cubics
from .geometry.cubics import Array
from .geometry.intersect import crossings
from .geometry.motion import apply, compose, moved, scaled, turned

# The edges of the hem in sewing order from the fold, those of the armhole from the underarm round, and what joins them.
HEM = ("back:hem-fold..dart-in", "back:dart-out..hem-side", "front:hem-side..dart-out", "front:dart-in..hem-front")
HEM_JOINS = ("dart", "seam", "dart")
ARMHOLE = ("front:underarm..shoulder", "back:shoulder..underarm")
ARMHOLE_JOINS = ("seam", "seam")

_SIDE_SEAM = 204.0
_SHOULDER_SEAM = 100.0
# The hem and the side seam should make 180 degrees of the two halves; these are what the evening left too much.
_UNTRUE = 5.5

_PLACES = 4
_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"\n'
    '     width="1250mm" height="680mm" viewBox="0 0 1250 680">\n'
    "  <title>Waistcoat, back and front, without allowance</title>\n"
    "  <defs>\n"
    '    <marker id="arrow" viewBox="0 0 8 6" refX="8" refY="3" markerWidth="16" markerHeight="12"\n'
    '            orient="auto-start-reverse"><path d="M 0,0 L 8,3 L 0,6 Z"/></marker>\n'
    "  </defs>\n"
)
# Thin, so that no one takes the net line for the cutting line.
_OUTLINE = "fill:none;stroke:#767676;stroke-width:0.35"
_GRAIN = "fill:none;stroke:#000000;stroke-width:0.35;marker-start:url(#arrow);marker-end:url(#arrow)"
_MARK = "fill:#000000;stroke:none"
_LAYER = '  <g id="{name}" inkscape:groupmode="layer" inkscape:label="{name}">\n{body}  </g>\n'


@dataclass(frozen=True)
class _Dart:
    """A dart by its apex, the distance of its legs' ends, and the length along its middle (mm)."""

    apex: tuple[float, float]
    intake: float
    length: float

    @property
    def opening(self) -> float:
        """The angle between the legs."""
        return 2.0 * math.atan2(self.intake / 2.0, self.length)


@dataclass(frozen=True)
class _SideDart:
    """A dart that opens into the side seam.

    Attributes:
        below: length of the side seam from the hem to the dart.
        slant: degrees from the side seam, walked up, to the lower leg.
    """

    below: float
    slant: float
    intake: float
    length: float


@dataclass(frozen=True)
class _Half:
    """What one half is drafted from: x from its straight centre edge to the side, y down from the nape, degrees.

    Attributes:
        neck: top of the shoulder seam; `neck_centre` is where the neckline meets the centre edge.
        neck_handles: how long the neckline keeps its direction at the shoulder and at the centre.
        neck_arrival: direction of the neckline at the centre, from the level.
        slope: of the shoulder seam.
        across: the narrowest place of the armhole, where it runs upright.
        armhole_handles: as for the neck: at the shoulder, before and after `across`, at the underarm.
        lean: of the side seam outwards from upright, at the hem.
        underarm_angle, hem_angle: of the cloth between the side seam and the armhole, and the hem.
    """

    name: str
    neck: tuple[float, float]
    neck_centre: float
    neck_arrival: float
    neck_handles: tuple[float, float]
    slope: float
    across: tuple[float, float]
    armhole_handles: tuple[float, float, float, float]
    underarm_angle: float
    lean: float
    bust: _SideDart | None
    waist: _Dart
    hem_angle: float
    hem_side: tuple[float, float]
    hem_centre: float
    centre: str


_BACK = _Half(
    name="back",
    neck=(82.0, -24.0),
    neck_centre=0.0,
    neck_arrival=0.0,
    neck_handles=(16.0, 50.0),
    slope=18.0,
    across=(162.0, 104.0),
    armhole_handles=(30.0, 25.0, 56.0, 36.0),
    underarm_angle=86.0,
    lean=4.0,
    bust=None,
    waist=_Dart(apex=(92.0, 275.0), intake=24.0, length=130.0),
    hem_angle=88.0 + _UNTRUE / 2.0,
    hem_side=(212.0, 404.0),
    hem_centre=400.0,
    centre="hem-fold",
)
_FRONT = _Half(
    name="front",
    neck=(82.0, -30.0),
    neck_centre=114.0,
    neck_arrival=38.0,
    neck_handles=(48.0, 38.0),
    slope=20.0,
    across=(150.0, 112.0),
    armhole_handles=(36.0, 34.0, 58.0, 48.0),
    underarm_angle=94.0,
    lean=9.0,
    bust=_SideDart(below=142.0, slant=86.0, intake=22.0, length=90.0),
    waist=_Dart(apex=(100.0, 323.0), intake=28.0, length=110.0),
    hem_angle=92.0 + _UNTRUE / 2.0,
    hem_side=(219.0, 426.0),
    hem_centre=430.0,
    centre="hem-front",
)


def waistcoat() -> str:
    """The drawing: pieces `back`, and `front` turned by 7 degrees, with their marks and grain lines."""
    on_left = moved(30.0, 54.0)
    # The front is drafted as the back is, and lies with its straight edge on the other hand.
    on_right = compose(moved(562.0, 58.0), compose(turned(math.radians(7.0)), scaled(-1.0, 1.0)))
    grain = cubics.lines([(48.0, 150.0), (48.0, 330.0)])
    layers = {"pieces": "", "grain": "", "marks": ""}
    for half, to_page in ((_BACK, on_left), (_FRONT, on_right)):
        outline, marks = _draft(half)
        layers["pieces"] += _path(half.name, _OUTLINE, apply(to_page, outline), closed=True)
        layers["grain"] += _path(f"grain-{half.name}", _GRAIN, apply(to_page, grain), closed=False)
        layers["marks"] += "".join(_mark(half.name, name, apply(to_page, at)) for name, at in marks.items())
    return _HEAD + "".join(_LAYER.format(name=name, body=body) for name, body in layers.items()) + "</svg>\n"


def _draft(half: _Half) -> tuple[Array, dict[str, Array]]:
    """The outline of one half, from its centre hem along the hem and round, and its marks."""
    inner, outer = _hem(half)
    side, down = _side_seam(half)
    armhole = _armhole(half, side[-1, 3], down)
    neck = _neckline(half)
    centre = inner[0, 0]
    outline = np.concatenate(
        [
            inner,
            cubics.lines([inner[-1, 3], half.waist.apex, outer[0, 0]]),
            outer,
            side,
            armhole,
            cubics.lines([armhole[-1, 3], neck[0, 0]]),
            neck,
            cubics.lines([neck[-1, 3], centre]),
        ]
    )
    marks = {
        half.centre: centre,
        "dart-in": inner[-1, 3],
        "dart-out": outer[0, 0],
        "hem-side": side[0, 0],
        "underarm": side[-1, 3],
        "shoulder": armhole[-1, 3],
    }
    return outline, marks


def _hem(half: _Half) -> tuple[Array, Array]:
    """The hem on both sides of the waist dart: one smooth curve, cut at the dart's leg, its outer part turned open."""
    dart = half.waist
    opening = math.degrees(dart.opening)
    start, end = np.array([0.0, half.hem_centre]), apply(turned(dart.opening, dart.apex), np.array(half.hem_side))
    arrives = -_turn(_up(half.lean), opening - half.hem_angle)
    third = float(np.hypot(*(end - start))) / 3.0
    closed = _curve(start, np.array([1.0, 0.0]), third, end, arrives, third)
    apex, leg = np.array(dart.apex), 2.0 * dart.length * _up(180.0 + opening / 2.0)
    cut = crossings(closed, cubics.lines([apex, apex + leg]))
    place = (int(cut.segment_a[0]), float(cut.t_a[0]))
    inner, outer = cubics.stretch(closed, (0, 0.0), place), cubics.stretch(closed, place, (0, 1.0))
    return inner, apply(turned(-dart.opening, dart.apex), outer)


def _side_seam(half: _Half) -> tuple[Array, Array]:
    """The side seam from the hem up, straight once its dart is closed, and the direction down it at the underarm."""
    bottom, up = np.array(half.hem_side), _up(half.lean)
    if half.bust is None:
        return cubics.lines([bottom, bottom + _SIDE_SEAM * up]), -up
    lower = bottom + half.bust.below * up
    leg = math.hypot(half.bust.length, half.bust.intake / 2.0)
    apex = lower + leg * _turn(up, -half.bust.slant)
    dart = _Dart((float(apex[0]), float(apex[1])), half.bust.intake, half.bust.length)
    upper = apply(turned(-dart.opening, dart.apex), lower)
    up = _turn(up, -math.degrees(dart.opening))
    return cubics.lines([bottom, lower, apex, upper, upper + (_SIDE_SEAM - half.bust.below) * up]), -up


def _armhole(half: _Half, underarm: Array, down: Array) -> Array:
    """The armhole from the underarm up to the shoulder, which it meets squarely."""
    at_shoulder, at_across_top, at_across_bottom, at_underarm = half.armhole_handles
    along = _shoulder(half)
    tip = np.array(half.neck) + _SHOULDER_SEAM * along
    across, upright = np.array(half.across), np.array([0.0, -1.0])
    lower = _curve(underarm, _turn(down, half.underarm_angle), at_underarm, across, upright, at_across_bottom)
    upper = _curve(across, upright, at_across_top, tip, _turn(along, -90.0), at_shoulder)
    return np.concatenate([lower, upper])


def _neckline(half: _Half) -> Array:
    """The neckline from the shoulder, square to it, to the centre."""
    at_neck, at_centre = half.neck_handles
    leaves, arrives = _turn(_shoulder(half), 90.0), _turn(np.array([-1.0, 0.0]), -half.neck_arrival)
    return _curve(np.array(half.neck), leaves, at_neck, np.array([0.0, half.neck_centre]), arrives, at_centre)


def _shoulder(half: _Half) -> Array:
    return _turn(np.array([1.0, 0.0]), half.slope)


def _up(lean: float) -> Array:
    return _turn(np.array([0.0, -1.0]), lean)


def _turn(direction: Array, degrees: float) -> Array:
    """The direction turned clockwise on the drawing as seen."""
    return apply(turned(math.radians(degrees)), direction)


def _curve(start: Array, leaves: Array, first: float, end: Array, arrives: Array, second: float) -> Array:
    """One cubic between two directions, with the lengths of its handles."""
    return np.array([[start, start + first * leaves, end - second * arrives, end]])


def _path(name: str, style: str, curve: Array, closed: bool) -> str:
    return f'    <path id="{name}" style="{style}"\n          d="{path_text(curve, _PLACES, closed)}"/>\n'


def _mark(piece: str, name: str, at: Array) -> str:
    x, y = (decimal(float(value), _PLACES) for value in at)
    return f'    <circle id="{piece}-{name}" inkscape:label="{name}" cx="{x}" cy="{y}" r="1.5" style="{_MARK}"/>\n'
