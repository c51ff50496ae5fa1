"""The cutting line of a piece: beyond each side of its stitching outline by that side's allowance, corners by kind.

Each side has its line: the parallel at its allowance, or one that is given, drawn on straight beyond both corners. At
each corner two lines are joined as its kind asks. Where the whole then crosses itself, as beside short sides and in
narrow places, what counts is the cloth: the region round which the raw line runs at least once, and the cutting line
is its outer edge (positive winding numbers: Chen and McMains, "Polygon offsetting by computing winding numbers",
ASME IDETC 2005).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import TypeAlias

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.arcs import ellipse_arc
from ..geometry.cubics import Array, Bools, Ints
from ..geometry.intersect import crossings, self_crossings
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from ..geometry.parallel import cut_at_cusps, parallel
from ..geometry.winding import winding

MITRED, SQUARED, TURNED, ROUNDED = "mitred", "squared", "turned", "rounded"
CORNERS = (MITRED, SQUARED, TURNED, ROUNDED)

Overruns: TypeAlias = tuple[tuple[float, float], ...]

# The side before or after a corner.
BEFORE, AFTER = -1, 1

_SMOOTH = math.radians(1.0)  # turns under this are no corners
_HAIRPIN = math.pi - 0.02  # turns this near to right round have no sure hand: they are taken to bulge
_OVERHANG = math.sqrt(2.0)  # of the larger allowance: how far away lines may meet that do so before the corner
_LEAST_EAR = 0.05  # mm; a squared corner that would differ from a mitred one by less is mitred
_CONNECTED = 0.01  # mm; sides whose ends are nearer than this meet
_MEETS = 1e-6  # mm; places nearer than this are one
_SPECK = 1e-9  # mm; what is shorter is rounding
_LINK = 1e-5  # mm; ends of kept parts nearer than this are one place
_BESIDE = 2.5e-5  # mm; how far beside a part it is looked what lies there
_DRAWN_ON = 2.0  # of the distance of their ends: how far from a corner given lines may meet, drawn on
_FAR = 1e4  # mm; longer than any seam drawn on to its allowance's end
# A scallop that begins so near to where the line ends, mm, is no more than a tooth, which nobody cuts: shears turn at a
# valley that turns by so much, radians. Common practice, no source.
_SLIVER, _VALLEY = 3.0, math.radians(15.0)
_STRAY = 0.5  # of the longest; of a side that the outline comes to twice only so much goes to its neighbour
# mm on the allowances, tried in turn where lines lie exactly on each other
_NUDGES = (0.0, 1e-4, -1e-4, 1e-3)


@dataclass(frozen=True, eq=False)
class Side:
    """One side of a piece from corner to corner.

    Attributes:
        stitching: (n, 4, 2) where it is sewn, folded or finished, in outline order; it ends where the next side begins.
        allowance: mm beyond it; 0 at a fold or a raw edge.
        cut: its cutting line where that is no parallel (a scalloped one, an outline drawn with its allowance), walked
            the same way. It may run on past both corners: only what is needed is used; where it stops short it is
            drawn on straight. None: the parallel at `allowance`.
        name: for messages and the maker.
        trimmed: whether `cut` is that of a trimmed edge, which goes on over a seam as its own mirror image.
    """

    stitching: Array
    allowance: float
    cut: Array | None = None
    name: str = ""
    trimmed: bool = False


@dataclass(frozen=True)
class Corner:
    """How the allowances of two sides meet.

    Attributes:
        kind: one of CORNERS.
        turned: BEFORE or AFTER, the side before or after the corner: for TURNED the one whose allowance is turned
            back there; for SQUARED the only one whose allowance ends square, where 0 means both.
    """

    kind: str = MITRED
    turned: int = 0


@dataclass(frozen=True, eq=False)
class Cutting:
    """The cutting line of a piece.

    Attributes:
        sides: the part of it (n, 4, 2) that belongs to each side, each beginning exactly where the one before ends;
            together a closed curve. Empty for a side that its neighbours' allowances swallow.
        measure_overruns: gives `overruns`, which not everyone asks for.
    """

    sides: tuple[Array, ...]
    measure_overruns: Callable[[], Overruns]

    @cached_property
    def overruns(self) -> Overruns:
        """How long the allowance's ends are as seen along the seam, at the start and at the end of each side.

        The distance in mm from the corner, along the side's own stitching line drawn on straight beyond it, to the
        cutting line. At a hollow corner, where that leads into the cloth, it is where the allowances part: negative.
        0 where there is no corner and for a side without a cutting line.
        """
        return self.measure_overruns()

    @property
    def curve(self) -> Array:
        """The whole cutting line, a closed curve (n, 4, 2)."""
        return np.concatenate(self.sides)


def cutting_line(
    sides: Sequence[Side],
    corners: Sequence[Corner],
    outside: int,
    mitre_limit: float = 4.0,
    accuracy: float = 0.005,
) -> Cutting:
    """The cutting line round a piece; `corners[k]` lies between `sides[k - 1]` and `sides[k]`.

    Corners that bulge, by kind:

    - mitred: both cutting lines go straight on until they meet. A tip farther from the corner than `mitre_limit` times
      the larger allowance is cut off square, at the larger allowance. Where unequal allowances make the lines meet
      before the corner, by more than the larger allowance, there is a straight step at the corner instead.
    - squared: each allowance goes on at its full width past the corner, up to where its own stitching line, drawn on
      straight, comes to the neighbour's cutting line (or to the neighbour's square end, where that comes first), and
      is cut there at right angles to its own stitching line. So the end is a x b / sin(angle) whatever hand the corner
      has: two pieces whose corners make up a straight line once sewn have ends that lie exactly on each other. At an
      acute corner this cuts the tip off, at an obtuse one it adds an ear, at a right angle it is the mitred corner.
    - turned: the allowance of the turned side will be folded back along its stitching line. The neighbour's cutting
      line goes on to that line, drawn on straight from the corner, and beyond it is its own mirror image, up to the
      turned side's cutting line. Where the turned side curves within reach the mirror is its tangent at the corner.
      Squared and turned corners whose ends would lie beyond the mitre limit are mitred.
    - rounded: an arc about the corner from one cutting line to the other. Between unequal allowances a part of an
      ellipse, as one cubic within the mitred tip: it leaves the narrower line beside the corner and touches the wider
      one beside the corner too, or, where the outline turns by less than a right angle, farther on, as far beyond the
      mitred tip as an arc with the radius of the smaller allowance would. So it is convex and nowhere nearer to the
      corner than the smaller allowance. Where the wider line is too short for that the corner is mitred.

    At a hollow corner, whatever its kind, the cutting lines are cut where they cross. Under 1 degree is no corner:
    unequal allowances have a straight step there. A side without allowance goes on straight to meet its neighbour
    whatever the kind but turned. A side with a cut of its own meets its neighbours where the lines cross nearest
    to the corner, whatever the kind but turned. Of a trimmed edge's that begins another scallop just before it comes
    to its neighbour's, the sliver is left out: from that valley it goes straight there.

    Args:
        sides: in outline order; one alone is a closed line with one corner or none.
        corners: one before each side.
        outside: +1 where the outside of the cloth lies on the walker's left, -1 on his right.
        mitre_limit: greatest distance of a tip, in larger allowances; squared ends beyond it are mitred.
        accuracy: largest distance in mm from the true parallel.

    Raises:
        RequestError: a number makes no sense, the sides are not connected, or the cutting lines do not meet.
    """
    _check(sides, corners, outside, mitre_limit, accuracy)
    if len(sides) == 1:
        return _round_one_side(sides[0], corners[0], outside, mitre_limit, accuracy)
    reach = _reach(sides, mitre_limit)
    for nudge in _NUDGES:
        drawn = [_line(s, k, outside, nudge * (1.0 + 0.4 * (k % 3)), reach, accuracy) for k, s in enumerate(sides)]
        spots = [_spot(drawn[k - 1], drawn[k], outside, mitre_limit, accuracy) for k in range(len(sides))]
        joins = [_join(drawn[k - 1], drawn[k], corners[k], spots[k]) for k in range(len(sides))]
        outline = _outline(*_raw(drawn, joins), outside)
        if outline is None or not _encloses(outline[0], sides, outside):
            continue
        parts = _by_side(*outline, len(sides))
        if parts is not None:
            return Cutting(tuple(parts), partial(_overruns, parts, drawn, spots))
    x, y = sides[0].stitching[0, 0]
    raise RequestError(
        f"no single cutting line can be drawn round the piece with a corner at ({x:.2f}, {y:.2f}) mm: allowances "
        "of short or hollow sides run across each other; give smaller allowances, or have its corners mitred"
    )


def _check(sides: Sequence[Side], corners: Sequence[Corner], outside: int, limit: float, accuracy: float) -> None:
    if not sides or len(corners) != len(sides):
        raise ValueError("a piece has as many corners as sides, one at least")
    if outside not in (-1, 1) or any(c.kind not in CORNERS or c.turned not in (BEFORE, 0, AFTER) for c in corners):
        raise ValueError(f"the outside is 1 or -1, a corner one of {CORNERS}, its side {BEFORE}, 0 or {AFTER}")
    if any(c.kind == TURNED and c.turned == 0 for c in corners):
        raise ValueError(f"a turned corner says which allowance is turned: {BEFORE} or {AFTER}")
    if not limit >= 1.0:
        raise RequestError(f"a mitre limit of {limit:g} is too small: no tip is nearer than 1; give 1 or more")
    if not (math.isfinite(accuracy) and accuracy > 0.0):
        raise RequestError(f"an accuracy of {accuracy:g} mm cannot be kept; give a number above 0")
    for k, side in enumerate(sides):
        _check_side(side, sides[(k + 1) % len(sides)], k)


def _check_side(side: Side, following: Side, number: int) -> None:
    name = _called(side, number)
    if not (math.isfinite(side.allowance) and side.allowance >= 0.0):
        raise RequestError(f"{name} has an allowance of {side.allowance:g} mm; give 0 or more")
    for curve in (side.stitching, following.stitching, side.cut):
        if curve is not None and not (len(curve) and np.isfinite(curve).all() and np.ptp(curve, axis=(0, 1)).any()):
            raise RequestError(f"{name} is a line without length or with a number missing; draw it or leave it out")
    end, start = side.stitching[-1, 3], following.stitching[0, 0]
    if not cubics.norm(end - start) <= _CONNECTED:
        raise RequestError(
            f"{name} ends at ({end[0]:.2f}, {end[1]:.2f}) mm and the next side begins at ({start[0]:.2f}, "
            f"{start[1]:.2f}) mm, so the outline is not closed; join them"
        )


def _called(side: Side, number: int) -> str:
    return f'"{side.name}"' if side.name else f"side {number + 1}"


def _round_one_side(side: Side, corner: Corner, outside: int, mitre_limit: float, accuracy: float) -> Cutting:
    """The cutting line of a piece with one side, which is taken as two with no corner in its middle."""
    if side.cut is not None:
        if cubics.norm(side.cut[0, 0] - side.cut[-1, 3]) > _CONNECTED:
            x, y = side.cut[-1, 3]
            raise RequestError(f"the cutting line that ends at ({x:.2f}, {y:.2f}) mm does not close; join its ends")
        return Cutting((_linked(side.cut),), lambda: ((0.0, 0.0),))
    half = len(side.stitching) // 2
    middle = (half, 0.5)
    first = cubics.stretch(side.stitching, (0, 0.0), middle)
    second = cubics.stretch(side.stitching, middle, (len(side.stitching) - 1, 1.0))
    halves = [Side(part, side.allowance, None, side.name) for part in (first, second)]
    found = cutting_line(halves, [corner, Corner()], outside, mitre_limit, accuracy)
    return Cutting((found.curve,), lambda: ((found.overruns[0][0], found.overruns[1][1]),))


# ------------------------------------------------ the line of each side


@dataclass(frozen=True, eq=False)
class _Line:
    """The cutting line of a side, a straight piece before it and one after it.

    Attributes:
        curve: all of it; positions on it are the number of the segment plus the parameter.
        stitching: of the side.
        allowance: of the side.
        given: whether it is no parallel.
        called: the side in messages.
        trimmed: whether it is the line of a trimmed edge.
    """

    curve: Array
    stitching: Array
    allowance: float
    given: bool
    called: str
    trimmed: bool

    @property
    def own(self) -> Array:
        """Where the line itself may be met: a given one that stops short goes on straight."""
        return self.curve if self.given else self.curve[1:-1]

    @property
    def own_start(self) -> float:
        """Position on the whole line at which `own` begins."""
        return 0.0 if self.given else 1.0

    @property
    def last(self) -> float:
        """Position where the straight piece after it begins; the one before it ends at 1."""
        return float(len(self.curve) - 1)


def _reach(sides: Sequence[Side], mitre_limit: float) -> float:
    """How far lines are drawn on: beyond every tip."""
    ends = [
        cubics.norm(side.cut[k, 3 * (k < 0)] - side.stitching[k, 3 * (k < 0)])
        for side in sides
        if side.cut is not None
        for k in (0, -1)
    ]
    return (min(mitre_limit, 100.0) + 1.0) * max(s.allowance for s in sides) + 2.0 * float(max(ends, default=0.0)) + 1.0


def _line(side: Side, number: int, outside: int, nudge: float, reach: float, accuracy: float) -> _Line:
    allowance = side.allowance + nudge if side.allowance > 0.0 else 0.0
    curve = side.cut if side.cut is not None else _parallel(side.stitching, outside * allowance, accuracy)
    forth, onward = cubics.ends_direction(curve)
    before = cubics.lines([curve[0, 0] - reach * forth, curve[0, 0]])
    after = cubics.lines([curve[-1, 3], curve[-1, 3] + reach * onward])
    drawn_on = np.concatenate([before, curve, after])
    return _Line(drawn_on, side.stitching, allowance, side.cut is not None, _called(side, number), side.trimmed)


def _parallel(stitching: Array, distance: float, accuracy: float) -> Array:
    """The parallel, clean of loops: it may begin or end short of the normals at the ends where these are hollow.

    Where nothing of it is clean, as in a hollow tighter than the distance, all of it: `_outline` takes the loops away.
    """
    if distance == 0.0:
        return _linked(stitching, closed=False)
    clean = offset(stitching, distance, closed=False, accuracy=accuracy)
    if clean:
        return clean[0]
    feet = _feet(stitching, distance)
    source = cut_at_cusps(_linked(stitching, closed=False))
    raw = parallel(source, distance, accuracy / 3.0)
    if not len(raw.pieces):
        return cubics.lines(feet)
    forth = cubics.direction(source, raw.segment, raw.t1)[:-1]
    onward = cubics.direction(source, raw.segment, raw.t0)[1:]
    links = [_kink(raw.pieces[k, 3], raw.pieces[k + 1, 0], forth[k], onward[k]) for k in range(len(forth))]
    chain = [part for k, link in enumerate(links) for part in (raw.pieces[k : k + 1], link)]
    ends = cubics.lines([feet[0], raw.pieces[0, 0]]), cubics.lines([raw.pieces[-1, 3], feet[1]])
    return _linked(np.concatenate([ends[0], *chain, raw.pieces[-1:], ends[1]]), closed=False)


def _feet(stitching: Array, distance: float) -> Array:
    """The points (2, 2) at the distance to the left of both ends."""
    return np.asarray(stitching[[0, -1], [0, 3]] + distance * cubics.left(np.stack(cubics.ends_direction(stitching))))


def _kink(end: Array, start: Array, forth: Array, onward: Array) -> Array:
    """What lies between the parallels beside a kink within a side: mitred where it bulges, straight where hollow."""
    turn = float(cubics.cross(forth, onward))
    ahead = float(cubics.cross(start - end, onward)) / turn if abs(turn) > _SMOOTH else 0.0
    back = float(cubics.cross(start - end, forth)) / turn if abs(turn) > _SMOOTH else 0.0
    return cubics.lines([end, end + ahead * forth, start] if ahead > 0.0 and back < 0.0 else [end, start])


# ------------------------------------------------ the joins at the corners


@dataclass(frozen=True, eq=False)
class _Spot:
    """A corner and what it needs of both sides.

    Attributes:
        point: of the outline.
        forth, onward: unit directions of the stitching lines that come and go.
        feet: (2, 2) where both lines end: square to the corner at both allowances, but at ends too hollow for these.
        square: whether they do.
        out: (2, 2) unit normals to the outside of both.
        turn: radians by which the outline turns, positive where it bulges.
        widths: both allowances.
        limit: mm that a tip may be away.
        nothing: mm; lines whose ends are no farther apart are one.
    """

    point: Array
    forth: Array
    onward: Array
    feet: Array
    square: bool
    out: Array
    turn: float
    widths: tuple[float, float]
    limit: float
    nothing: float

    @property
    def smooth(self) -> bool:
        return abs(self.turn) < _SMOOTH

    @property
    def widest(self) -> float:
        return max(self.widths)


@dataclass(frozen=True, eq=False)
class _Join:
    """How one line goes over into the next: the positions where it leaves and reaches them, and what lies between.

    `before` belongs to the side before the corner, `after` to the one after it.
    """

    leaves: float
    reaches: float
    before: Array = field(default_factory=lambda: np.zeros((0, 4, 2)))
    after: Array = field(default_factory=lambda: np.zeros((0, 4, 2)))


@dataclass(frozen=True, eq=False)
class _Meeting:
    """Positions on two lines where they cross, and the place."""

    a: float
    b: float
    point: Array


def _spot(a: _Line, b: _Line, outside: int, mitre_limit: float, accuracy: float) -> _Spot:
    _, forth = cubics.ends_direction(a.stitching)
    onward, _ = cubics.ends_direction(b.stitching)
    out = outside * cubics.left(np.stack([forth, onward]))
    turn = outside * math.atan2(float(cubics.cross(forth, onward)), float(forth @ onward))
    turn = abs(turn) if abs(turn) > _HAIRPIN else turn
    point, widths = b.stitching[0, 0], (a.allowance, b.allowance)
    feet = np.stack([a.curve[-1, 0], b.curve[0, 3]])
    square = bool(cubics.norm(feet - point - np.array(widths)[:, None] * out).max() <= _MEETS)
    return _Spot(point, forth, onward, feet, square, out, turn, widths, mitre_limit * max(widths), 0.25 * accuracy)


def _join(a: _Line, b: _Line, corner: Corner, spot: _Spot) -> _Join:
    given = a.given or b.given
    if not given and cubics.norm(spot.feet[1] - spot.feet[0]) <= spot.nothing:
        return _Join(a.last, 1.0)
    if spot.smooth and (given or spot.widths[0] != spot.widths[1]):
        return _stepped(a, b, spot)
    if spot.turn <= 0.0:
        return _hollow(a, b, spot)
    join = None
    if corner.kind == TURNED and not spot.smooth:
        join = _turned(a, b, corner.turned, spot)
    elif spot.square and not (given or spot.smooth or min(spot.widths) <= 0.0):
        if corner.kind == SQUARED:
            join = _squared(a, b, corner.turned, spot)
        elif corner.kind == ROUNDED:
            join = _rounded(a, b, spot)
    return join or _mitred(a, b, spot)


def _mitred(a: _Line, b: _Line, spot: _Spot) -> _Join:
    given = a.given or b.given
    beyond = _beyond_corner(spot)
    if spot.square and not given and min(beyond) >= 0.0:
        tip = spot.feet[0] + beyond[0] * spot.forth
        points = [tip] if cubics.norm(tip - spot.point) <= spot.limit else _cut_off(tip, spot)
        legs = cubics.lines([spot.feet[0], *points, spot.feet[1]])
        return _Join(a.last, 1.0, legs[:1], legs[1:])
    met = _meeting(a.curve, b.curve, spot.point)
    if met is not None and (_is_near(a, b, met, spot) if given else _leaves_both(a, b, met, spot)):
        return _without_sliver(a, b, met, spot) or _Join(met.a, met.b)
    return _stepped(a, b, spot)


def _without_sliver(a: _Line, b: _Line, met: _Meeting, spot: _Spot) -> _Join | None:
    """Where a trimmed line has a valley just before its neighbour: straight from there; None where it has none."""
    hand = math.copysign(1.0, float(spot.out[0] @ cubics.left(spot.forth)))
    if a.trimmed and not b.given:
        valley = _valley_before(a.curve, met.a, met.point, hand, b.allowance)
        if valley is not None:
            there = nearest(b.curve, a.curve[valley, :1, :])
            leg = cubics.lines([a.curve[valley, 0], there.point[0]])
            return _Join(float(valley), float(there.segment[0] + there.t[0]), before=leg)
    if b.trimmed and not a.given:
        back = cubics.reverse(b.curve)
        valley = _valley_before(back, len(back) - met.b, met.point, -hand, a.allowance)
        if valley is not None:
            there = nearest(a.curve, back[valley, :1, :])
            leg = cubics.lines([there.point[0], back[valley, 0]])
            return _Join(float(there.segment[0] + there.t[0]), float(len(back) - valley), after=leg)
    return None


def _valley_before(curve: Array, position: float, place: Array, hand: float, allowance: float) -> int | None:
    """The segment of a line that begins at a valley so near before a place on it that between them is but a sliver."""
    least = min(_SLIVER, 0.5 * allowance)
    for k in range(math.ceil(position) - 1, 0, -1):
        if float(cubics.norm(curve[k, 0] - place)) > least:
            return None
        came, goes = cubics.ends_direction(curve[k - 1 : k])[1], cubics.ends_direction(curve[k : k + 1])[0]
        if hand * math.atan2(float(cubics.cross(came, goes)), float(came @ goes)) < -_VALLEY:
            return k
    return None


def _is_near(a: _Line, b: _Line, met: _Meeting, spot: _Spot) -> bool:
    """Whether given lines meet where they run themselves, or drawn on no farther than at a corner of 60 degrees."""
    if met.a <= a.last and met.b >= 1.0:
        return True
    ends = np.stack([a.curve[-1, 0], b.curve[0, 3]])
    return bool(cubics.norm(met.point - spot.point) <= _DRAWN_ON * cubics.norm(ends - spot.point).max())


def _beyond_corner(spot: _Spot) -> tuple[float, float]:
    """How far beyond the normals at the corner two straight lines meet, along the one and, backward, the other."""
    (a, b), sine, cosine = spot.widths, math.sin(spot.turn), math.cos(spot.turn)
    return (b - a * cosine) / sine, (a - b * cosine) / sine


def _leaves_both(a: _Line, b: _Line, met: _Meeting, spot: _Spot) -> bool:
    """Whether lines that meet before the corner, or one drawn on straight there, take too little away to matter."""
    ahead = met.a >= a.last and met.b <= 1.0
    limit = spot.limit if ahead or min(spot.widths) <= 0.0 else _OVERHANG * spot.widest
    if met.a < 1.0 or met.b > b.last or cubics.norm(met.point - spot.point) > limit:
        return False
    # A fold that is drawn on must not lead through the cloth of its neighbour.
    through = crossings(cubics.lines([spot.point, met.point]), (b if spot.widths[0] <= 0.0 else a).stitching)
    return min(spot.widths) > 0.0 or bool((cubics.norm(through.point - spot.point) <= _CONNECTED).all())


def _cut_off(tip: Array, spot: _Spot) -> list[Array]:
    """The ends of the line that cuts a tip off square, at the larger allowance from the corner."""
    away = float(cubics.norm(tip - spot.point))
    axis = (tip - spot.point) / away
    rest = away - spot.widest
    return [tip - spot.forth * rest / float(spot.forth @ axis), tip - spot.onward * rest / float(spot.onward @ axis)]


def _stepped(a: _Line, b: _Line, spot: _Spot) -> _Join:
    """A straight step square to the corner; given lines that cross beside it meet there instead."""
    if not (a.given or b.given):
        return _Join(a.last, 1.0, cubics.lines(spot.feet))
    axis = spot.out.sum(axis=0)
    through = cubics.lines([spot.point - _FAR * axis, spot.point + _FAR * axis])
    one, other = _meeting(a.curve, through, spot.point), _meeting(b.curve, through, spot.point)
    met = _meeting(a.curve, b.curve, spot.point)
    if one is None or other is None:
        # A scallop may begin in line with its neighbour's edge, and its cutting line lie all to one side of the corner.
        if met is not None and _is_near(a, b, met, spot):
            return _Join(met.a, met.b)
        raise _unmet(a, b, spot)
    width = max(cubics.norm(m.point - spot.point) for m in (one, other))
    if met is not None and cubics.norm(met.point - spot.point) <= 2.0 * width:
        return _Join(met.a, met.b)
    return _Join(one.a, other.a, cubics.lines([one.point, other.point]))


def _hollow(a: _Line, b: _Line, spot: _Spot) -> _Join:
    """The lines cut where they cross; where they do not, both allowances end square at the corner, one on the other."""
    met = _meeting(a.own, b.own, spot.point)
    if met is not None:
        return _Join(met.a + a.own_start, met.b + b.own_start)
    if a.given or b.given:
        met = _meeting(a.curve, b.curve, spot.point)
        return _stepped(a, b, spot) if met is None else _Join(met.a, met.b)
    return _Join(a.last, 1.0, cubics.lines([spot.feet[0], spot.point]), cubics.lines([spot.point, spot.feet[1]]))


def _unmet(a: _Line, b: _Line, spot: _Spot) -> RequestError:
    x, y = spot.point
    return RequestError(
        f"the cutting lines of {a.called} and {b.called} do not meet at the corner at ({x:.2f}, {y:.2f}) mm: draw them "
        "on until they cross, or give other allowances"
    )


def _rounded(a: _Line, b: _Line, spot: _Spot) -> _Join | None:
    """A rounded corner; None where no round line touches both cutting lines."""
    (x, y), start = spot.point, spot.feet[0]
    if spot.widths[0] == spot.widths[1]:
        # Which way is clockwise as seen the outline knows: it bulges.
        sweep = math.copysign(spot.turn, float(cubics.cross(spot.out[0], spot.forth)))
        angle, radius = math.atan2(start[1] - y, start[0] - x), spot.widths[0]
        return _Join(a.last, 1.0, after=ellipse_arc((x, y), (radius, radius), 0.0, angle, sweep, spot.nothing))
    if spot.widths[0] < spot.widths[1]:
        found = _round_to_wider(spot.feet[0], spot.forth, b.curve, spot)
        return None if found is None else _Join(a.last, found[1], after=found[0])
    wider = cubics.reverse(a.curve)
    found = _round_to_wider(spot.feet[1], -spot.onward, wider, spot)
    return None if found is None else _Join(len(wider) - found[1], 1.0, after=cubics.reverse(found[0]))


def _round_to_wider(foot: Array, forth: Array, wider: Array, spot: _Spot) -> tuple[Array, float] | None:
    """A round line (1, 4, 2) from the foot of the narrower line to the wider one, and its position there.

    `forth` is the direction at the foot, the wider line is walked away from the corner. A part of an ellipse that
    touches both sides of a triangle is the image of an arc; it bends no more sharply at the foot than the circle about
    the corner if p² >= w q tan(turn / 2), where p and q are the distances of its ends from the tip and w is the width.
    """
    position = _touched(foot, forth, wider, spot)
    if position is None:
        return None
    segment = np.array([int(position)])
    end, onward = (f(wider, segment, position - segment)[0] for f in (cubics.point, cubics.direction))
    sine, cosine = abs(float(cubics.cross(forth, onward))), float(forth @ onward)
    hand = math.copysign(1.0, float(cubics.cross(forth, onward)))
    p, q = hand * float(cubics.cross(end - foot, onward)), hand * float(cubics.cross(forth, end - foot))
    turn = math.atan2(sine, cosine)
    if min(p, q) <= 0.0 or p * p < min(spot.widths) * q * sine * math.tan(0.5 * turn):
        return None
    handle = 4.0 / 3.0 * math.tan(0.25 * turn) / (math.tan(0.5 * turn) * sine)
    return np.stack([foot, foot + handle * p * forth, end - handle * q * onward, end])[None], position


def _touched(foot: Array, forth: Array, wider: Array, spot: _Spot) -> float | None:
    """Where a rounded corner touches the wider line, which is walked away from the corner."""
    if spot.turn >= 0.5 * math.pi:
        return 1.0
    met = _meeting(cubics.lines([foot, foot + spot.limit * forth]), wider, spot.point)
    if met is None:
        return None
    m, segment = measure(wider), np.array([min(int(met.b), len(wider) - 1)])
    t = met.b - segment
    cosine = float(forth @ cubics.direction(wider, segment, t)[0])
    s = float(m.lengths(segment, t)[0]) + min(spot.widths) * math.sqrt((1.0 - cosine) / (1.0 + cosine))
    first, last = m.lengths(np.array([1, len(wider) - 1]), np.zeros(2)).tolist()
    # The other half may be needed for the next corner.
    if s > 0.5 * (first + last):
        return None
    if s <= first:
        return 1.0
    number, share = m.at(np.array([s]))
    return float(number[0] + share[0])


def _squared(a: _Line, b: _Line, only: int, spot: _Spot) -> _Join | None:
    """A squared corner; None where it is the mitred one, or where an end would be longer than the limit."""
    if abs(math.cos(spot.turn)) * spot.widest <= _LEAST_EAR:
        return None
    if only:
        return _one_square(a, b, only, spot)
    return _both_acute(a, spot) if spot.turn > 0.5 * math.pi else _both_obtuse(a, b, spot)


def _one_square(a: _Line, b: _Line, only: int, spot: _Spot) -> _Join | None:
    line, other = (a, b) if only == BEFORE else (b, a)
    along, out, width = _own_way(only, spot)
    end = _seam_end(other, along, spot)
    if end is None:
        return None
    overrun, place = end
    tip = spot.point + overrun * along + width * out
    if only == BEFORE:
        return _Join(_drawn_on(line, overrun, at_end=True), place, cubics.lines([tip, spot.point + overrun * along]))
    return _Join(place, _drawn_on(line, overrun, at_end=False), after=cubics.lines([spot.point + overrun * along, tip]))


def _both_acute(a: _Line, spot: _Spot) -> _Join | None:
    """Both ends square: the tip is cut off by both, each beyond its own seam."""
    (wide_a, wide_b), sine, cosine = spot.widths, math.sin(spot.turn), -math.cos(spot.turn)
    over_a = min(wide_b / sine, wide_a / (sine * cosine))
    over_b = min(wide_a / sine, wide_b / (sine * cosine))
    if max(over_a, over_b) > spot.limit:
        return None
    tip_a = spot.feet[0] + over_a * spot.forth
    tip_b = spot.feet[1] - over_b * spot.onward
    inner = spot.point + over_a * spot.forth + (over_b - over_a * cosine) / sine * spot.out[0]
    before = cubics.lines([spot.feet[0], tip_a, inner])
    return _Join(a.last, 1.0, before, cubics.lines([inner, tip_b, spot.feet[1]]))


def _both_obtuse(a: _Line, b: _Line, spot: _Spot) -> _Join | None:
    """Both ends square: an ear on each, and between them the notch where the lines cross."""
    end_a, end_b = _seam_end(b, spot.forth, spot), _seam_end(a, -spot.onward, spot)
    met = _meeting(a.curve, b.curve, spot.point)
    if end_a is None or end_b is None or met is None:
        return None
    (over_a, reaches), (over_b, leaves) = end_a, end_b
    tip_a, tip_b = _drawn_on(a, over_a, at_end=True), _drawn_on(b, over_b, at_end=False)
    if not (leaves < met.a < tip_a and tip_b < met.b < reaches):
        return None
    out_of_a, into_b = spot.point - over_b * spot.onward, spot.point + over_a * spot.forth
    up = cubics.lines([out_of_a, out_of_a + spot.widths[1] * spot.out[1]])
    down = cubics.lines([into_b + spot.widths[0] * spot.out[0], into_b])
    before = np.concatenate([up, _between(b.curve, tip_b, met.b)])
    return _Join(leaves, reaches, before, np.concatenate([_between(a.curve, met.a, tip_a), down]))


def _own_way(side: int, spot: _Spot) -> tuple[Array, Array, float]:
    """Of the side before or after: the direction beyond the corner, the normal to the outside, the allowance."""
    if side == BEFORE:
        return spot.forth, spot.out[0], spot.widths[0]
    return -spot.onward, spot.out[1], spot.widths[1]


def _seam_end(other: _Line, along: Array, spot: _Spot) -> tuple[float, float] | None:
    """How far beyond the corner a seam comes to the neighbour's line, and the position there; None beyond the limit."""
    met = _meeting(other.curve, cubics.lines([spot.point, spot.point + spot.limit * along]), spot.point)
    return None if met is None else (float((met.point - spot.point) @ along), met.a)


def _drawn_on(line: _Line, by: float, at_end: bool) -> float:
    """The position on the straight piece of a parallel, `by` mm beyond its end."""
    piece = line.curve[-1 if at_end else 0]
    share = by / float(cubics.norm(piece[3] - piece[0]))
    return line.last + share if at_end else 1.0 - share


def _turned(a: _Line, b: _Line, side: int, spot: _Spot) -> _Join | None:
    """A turned corner; None where nothing is turned back or its lines run on too far before they meet."""
    turned, fold = (b, spot.onward) if side == AFTER else (a, spot.forth)
    # The neighbour is walked towards the corner.
    neighbour = a.curve if side == AFTER else cubics.reverse(b.curve)
    if turned.allowance <= 0.0 and not turned.given:
        return None
    through = cubics.lines([spot.point - 2.0 * spot.limit * fold, spot.point + 2.0 * spot.limit * fold])
    reached = _meeting(neighbour, through, spot.point)
    if reached is None or cubics.norm(reached.point - spot.point) > spot.limit:
        return None
    image = motion.apply(motion.mirrored(spot.point, fold), _between(neighbour, 0.0, reached.a))
    image = cubics.reverse(image)
    found = crossings(image, turned.curve)
    if not len(found):
        x, y = spot.point
        raise RequestError(
            f"the allowance of {turned.called} can't be turned back at the corner at ({x:.2f}, {y:.2f}) mm: the "
            "neighbour's mirrored cutting line never comes to its own; have that corner mitred, or give less allowance"
        )
    path = _between(image, 0.0, float(found.segment_a[0] + found.t_a[0]))
    landing = float(found.segment_b[0] + found.t_b[0])
    if side == AFTER:
        return _Join(reached.a, landing, before=path)
    return _Join(landing, len(neighbour) - reached.a, after=cubics.reverse(path))


def _meeting(a: Array, b: Array, corner: Array) -> _Meeting | None:
    """Where two curves cross nearest to a corner."""
    found = crossings(a, b)
    if not len(found):
        return None
    k = int(np.argmin(cubics.norm(found.point - corner)))
    return _Meeting(float(found.segment_a[k] + found.t_a[k]), float(found.segment_b[k] + found.t_b[k]), found.point[k])


def _between(curve: Array, start: float, end: float) -> Array:
    """The part between two positions, walked backward where the end comes first."""
    if end < start:
        return cubics.reverse(_between(curve, end, start))
    i, j = min(int(start), len(curve) - 1), min(int(end), len(curve) - 1)
    return cubics.stretch(curve, (i, start - i), (j, end - j))


# ------------------------------------------------ the whole line, and what of it counts


def _raw(drawn: Sequence[_Line], joins: Sequence[_Join]) -> tuple[Array, Ints]:
    """The closed curve of all lines and joins, and the number of the side that each segment belongs to."""
    parts = []
    for k, line in enumerate(drawn):
        following = joins[(k + 1) % len(joins)]
        own = _between(line.curve, joins[k].reaches, following.leaves)
        parts.append(np.concatenate([joins[k].after, own, following.before]))
    curve = np.concatenate(parts)
    number = np.repeat(np.arange(len(parts)), [len(part) for part in parts])
    long = np.ptp(curve, axis=1).max(axis=1) > _SPECK
    return _linked(curve[long]), number[long]


def _linked(curve: Array, closed: bool = True) -> Array:
    """The curve with each segment, and its handle, moved to begin exactly where the one before ends."""
    out = curve.copy()
    shift = curve[:-1, 3] - curve[1:, 0]
    out[1:, :2] += shift[:, None]
    out[1:, 0] = curve[:-1, 3]
    if closed:
        out[0, 1] += curve[-1, 3] - curve[0, 0]
        out[0, 0] = curve[-1, 3]
    return out


def _outline(raw: Array, number: Ints, hand: int) -> tuple[Array, Ints] | None:
    """The outer edge of what the raw line encloses, and the numbers of its segments; None where it does not close."""
    found = self_crossings(raw, closed=True)
    if not len(found) and hand * cubics.area(raw) > 0.0:
        return raw, number
    cut_at = np.concatenate([found.segment_a + found.t_a, found.segment_b + found.t_b])
    pieces, source = _cut_up(raw, cut_at)
    order = _walked(pieces, _at_the_edge(pieces, raw, hand), hand)
    if order is None:
        return None
    outer = _linked(pieces[order])
    return (outer, number[source[order]]) if hand * cubics.area(outer) > 0.0 else None


def _cut_up(curve: Array, positions: Array) -> tuple[Array, Ints]:
    """The curve with nodes at the positions, and for each segment the number of the one it comes from."""
    segment = np.minimum(positions.astype(np.intp), len(curve) - 1)
    place = cubics.point(curve, segment, positions - segment)
    inner = (cubics.norm(place - curve[segment, 0]) > 0.1 * _MEETS) & (
        cubics.norm(place - curve[segment, 3]) > 0.1 * _MEETS
    )
    start = np.unique(np.concatenate([np.arange(len(curve)), positions[inner]]))
    source = start.astype(np.intp)
    t0: Array = start - source
    t1 = np.append(t0[1:], 0.0)
    t1 = np.where(t1 == 0.0, 1.0, t1)
    pieces = cubics.cut(curve, source, t0, t1)
    pieces[t0 == 0.0, 0] = curve[source[t0 == 0.0], 0]
    pieces[t1 == 1.0, 3] = curve[source[t1 == 1.0], 3]
    long = np.ptp(pieces, axis=1).max(axis=1) > _SPECK
    return pieces[long], source[long]


def _at_the_edge(pieces: Array, raw: Array, hand: int) -> Bools:
    """Which pieces have cloth on their inner side and none on their outer side."""
    shares = np.array([0.2137, 0.5291, 0.8321])
    piece, t = np.repeat(np.arange(len(pieces)), len(shares)), np.tile(shares, len(pieces))
    place = cubics.point(pieces, piece, t)
    step = (0.05 * np.ptp(pieces, axis=1).max(axis=1)).clip(max=_BESIDE)[piece]
    out = hand * step[:, None] * cubics.left(cubics.direction(pieces, piece, t))
    inner, outer = hand * winding(raw, place - out) >= 1, hand * winding(raw, place + out) >= 1
    return np.asarray((inner & ~outer).reshape(-1, len(shares)).mean(axis=1) > 0.5)


def _walked(pieces: Array, keep: Bools, hand: int) -> Ints | None:
    """The numbers of the kept pieces along the edge that encloses most, in order."""
    free = keep.copy()
    loops = []
    while free.any():
        first = int(np.flatnonzero(free)[0])
        order = _loop(pieces, keep, first, hand)
        free[[first, *order]] = False
        closes = cubics.norm(pieces[order[-1], 3] - pieces[order[0], 0]) <= _LINK
        loops.append((hand * cubics.area(pieces[order]) if closes else 0.0, order))
    size, order = max(loops, key=lambda loop: loop[0], default=(0.0, np.zeros(0, dtype=np.intp)))
    return order if size > 0.0 else None


def _loop(pieces: Array, keep: Bools, first: int, hand: int) -> Ints:
    """The pieces from one on until the first place is reached again; where it branches the outermost is taken."""
    kept = np.flatnonzero(keep)
    order = [first]
    while True:
        onward = kept[cubics.norm(pieces[kept, 0] - pieces[order[-1], 3]) <= _LINK]
        onward = onward[onward != order[-1]]
        following = _outermost(pieces, order[-1], onward, hand) if len(onward) else first
        if following in order:
            # A way in that the loop itself does not use is left off.
            return np.array(order[order.index(following) :], dtype=np.intp)
        order.append(following)


def _outermost(pieces: Array, last: int, onward: Ints, hand: int) -> int:
    """Of the pieces that go on from the last one the one that keeps most to the outside."""
    if len(onward) == 1:
        return int(onward[0])
    _, come = cubics.ends_direction(pieces[last : last + 1])
    go = cubics.direction(pieces, onward, np.zeros(len(onward)))
    turn = hand * np.arctan2(cubics.cross(come, go), go @ come)
    # What turns right back on itself is no way on.
    turn = np.where(np.abs(turn) > math.pi - 1e-6, math.pi, turn)
    least = onward[turn <= turn.min() + 1e-6]
    # Of two that lie on each other the walk stays on its own line, else goes to the later one.
    return last + 1 if last + 1 in least else int(least[-1])


def _encloses(curve: Array, sides: Sequence[Side], hand: int) -> bool:
    """Whether the stitching line of all sides without a line of their own lies within the cutting line."""
    inner = [side.stitching for side in sides if side.cut is None]
    if not inner:
        return True
    stitching = np.concatenate(inner)
    segment, t = np.arange(len(stitching)), np.full(len(stitching), 0.5)
    inward = -hand * _CONNECTED * cubics.left(cubics.direction(stitching, segment, t))
    return bool((hand * winding(curve, cubics.point(stitching, segment, t) + inward) >= 1).all())


def _by_side(curve: Array, number: Ints, count: int) -> list[Array] | None:
    """The outline's part for each side; None where the sides do not follow each other in order.

    Where lines cross to and fro in a small place, no side comes twice: what is short goes with the part before it.
    """
    changes = np.flatnonzero(number != np.roll(number, 1))
    if not len(changes):
        return [curve if k == number[0] else np.zeros((0, 4, 2)) for k in range(count)]
    curve, number = np.roll(curve, -changes[0], axis=0), np.roll(number, -changes[0])
    block = np.cumsum(np.diff(number, prepend=number[0]) != 0)
    side = number[np.searchsorted(block, np.arange(block[-1] + 1))]
    length = np.bincount(block, cubics.norm(np.diff(curve, axis=1)).sum(axis=1))
    longest = np.array([length[side == k].max(initial=0.0) for k in range(count)])
    stray = length < longest[side]
    if (length[stray] > _STRAY * longest[side[stray]]).any():
        return None
    # The walk begins at a part that stays.
    first = int(np.argmin(stray))
    block = np.roll(block, -int(np.searchsorted(block, first)))
    curve = np.roll(curve, -int(np.searchsorted(np.sort(block), first)), axis=0)
    stays = np.maximum.accumulate(np.where(stray[block], 0, np.arange(len(block))))
    number = side[block[stays]]
    order = number[np.flatnonzero(np.diff(number, prepend=-1))]
    if (np.diff(np.roll(order, -int(np.argmin(order)))) <= 0).any():
        return None
    return [_of_side(curve, number, k) for k in range(count)]


def _of_side(curve: Array, number: Ints, side: int) -> Array:
    """The segments of one side, in order also where the curve begins within them."""
    chosen = number == side
    if chosen[0] and chosen[-1] and not chosen.all():
        shift = int(np.flatnonzero(~chosen)[-1]) + 1
        curve, chosen = np.roll(curve, -shift, axis=0), np.roll(chosen, -shift)
    return np.asarray(curve[chosen])


# ------------------------------------------------ how long the ends are


def _overruns(parts: Sequence[Array], drawn: Sequence[_Line], spots: Sequence[_Spot]) -> Overruns:
    count = len(parts)
    return tuple(
        (_overrun(k, AFTER, parts, drawn[k], spots[k]), _overrun(k, BEFORE, parts, drawn[k], spots[(k + 1) % count]))
        for k in range(count)
    )


def _overrun(number: int, side: int, parts: Sequence[Array], line: _Line, spot: _Spot) -> float:
    """How far the side, which comes before or after the corner, is seen to go on beyond it."""
    own = parts[number]
    if spot.smooth or not len(own):
        return 0.0
    along, _, _ = _own_way(side, spot)
    if spot.turn > 0.0:
        # Without allowance the seam's own line is the cutting line: that it lies there is not its end.
        passed = [part for k, part in enumerate(parts) if k != number or line.allowance > 0.0]
        ray = cubics.lines([spot.point - _MEETS * along, spot.point + _FAR * along])
        found = crossings(ray, np.concatenate(passed))
        if len(found):
            return max(float(((found.point - spot.point) @ along).min()), 0.0)
    end = own[-1, 3] if side == BEFORE else own[0, 0]
    return float((end - spot.point) @ along)
