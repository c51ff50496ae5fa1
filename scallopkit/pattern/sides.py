"""The sides of an outline: its stretches between corners and marks as they are sewn, with the darts in them closed."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.motion import IDENTITY, apply, compose, turned
from .corners import corners
from .marks import nearby, snap
from .piece import Mark, Piece

# Legs of a dart; what is smaller is a notch cut as a V.
_LEGS_SHARE = 0.02
_LEGS_LEAST = 10.0
_APEX_TURN = math.radians(90.0)
# Closed, a dart leaves an edge that goes on nearly straight; the teeth of a zigzag edge leave a spike.
_MOUTH_LEAST = math.radians(120.0)
# An edge that turns by less where its dart is closed is one edge; the mouths of drafted darts are trued afterwards.
_GOES_ON = math.radians(30.0)
# A V that is wider than this share of its sides, in the middle of a piece with two like halves, is a neckline.
_NECK_SHARE = 0.5
# Lengths of two like halves differ by less, mm: as drawn by hand.
_HALVES = 1.0
_SAME_PLACE = 1e-6


@dataclass(frozen=True)
class Place:
    """A corner or a mark of an outline.

    Attributes:
        number: its number along the outline.
        at: its segment and parameter.
        s: the length from the outline's first point.
        corner: the corner's name, None for a mark between corners.
        turn: how far the corner turns towards the cloth in radians; negative where it points into the piece.
        marks: the marks on it, by the names that no other place of the outline has.
        said: all marks on it, with those whose names are on other places of the outline too.
    """

    number: int
    at: tuple[int, float]
    s: float
    corner: str | None
    turn: float
    marks: tuple[str, ...]
    said: tuple[str, ...]
    x: float
    y: float

    @property
    def inside(self) -> float:
        """The angle that the cloth has there, in radians; half a turn where there is no corner."""
        return math.pi - self.turn

    @property
    def name(self) -> str:
        """What it is called: by its first mark, else by its corner; empty where no name leads to it."""
        return next(iter(self.marks), "") or self.corner or ""


@dataclass(frozen=True)
class Dart:
    """A dart in an outline: the numbers of the places where its edge reaches it and goes on, and of its point.

    `within` says whether the edge goes on beyond it as one edge; else the dart lies at a corner.
    """

    before: int
    apex: int
    after: int
    within: bool


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline with its places, in drawing order."""

    number: int
    piece: Piece
    length: float
    outside: int
    places: tuple[Place, ...]

    @cached_property
    def turning(self) -> tuple[int, ...]:
        """The numbers of the places that are corners."""
        return tuple(place.number for place in self.places if place.corner is not None)

    @property
    def is_marked(self) -> bool:
        """Whether any mark lies on it."""
        return any(place.said for place in self.places)

    @cached_property
    def darts(self) -> tuple[Dart, ...]:
        """The darts, by the corners at their points; two that share a mouth are teeth of the edge, and no darts."""
        n = len(self.turning)
        found = []
        for k in range(n if n > 2 else 0):
            if self._is_dart(k):
                a, apex, b = self.turning[k - 1], self.turning[k], self.turning[(k + 1) % n]
                closed = self.places[a].turn + self.places[b].turn - math.pi
                found.append(Dart(a, apex, b, abs(closed) < _GOES_ON))
        mouths = Counter(place for dart in found for place in (dart.before, dart.after))
        return tuple(dart for dart in found if mouths[dart.before] == mouths[dart.after] == 1)

    def _is_dart(self, k: int) -> bool:
        turning, n = self.turning, len(self.turning)
        a, apex, b = (self.places[turning[(k + step) % n]] for step in (-1, 0, 1))
        if apex.turn > -_APEX_TURN or min(a.turn, b.turn) <= 0.0 or math.tau - a.turn - b.turn < _MOUTH_LEAST:
            return False
        legs = self.way(a.number, apex.number), self.way(apex.number, b.number)
        shorter, longer = min(legs), max(legs)
        wide = math.hypot(a.x - b.x, a.y - b.y)
        return (
            shorter >= _LEGS_LEAST
            and longer - shorter <= _LEGS_SHARE * longer
            and wide < shorter
            and not (wide > _NECK_SHARE * shorter and self._has_like_halves(k))
        )

    def _has_like_halves(self, k: int) -> bool:
        """Whether the sides on either hand of the k-th corner are alike, one after another."""
        ring = self.turning[k:] + self.turning[:k]
        sides = [self.way(i, j) for i, j in zip(ring, ring[1:] + ring[:1], strict=True)]
        return all(abs(one - other) < _HALVES for one, other in zip(sides, reversed(sides), strict=True))

    def way(self, a: int, b: int) -> float:
        """The length along the outline from one place on to another."""
        return (self.places[b].s - self.places[a].s) % self.length


@dataclass(frozen=True, eq=False)
class Side:
    """A stretch of an outline in drawing order, as it is sewn.

    Attributes:
        spans: the numbers of the places between which it lies; several where darts are closed in it.
        darts: the darts between the spans.
    """

    outline: Outline
    spans: tuple[tuple[int, int], ...]
    darts: tuple[Dart, ...] = ()

    @property
    def start(self) -> Place:
        """Where it begins."""
        return self.outline.places[self.spans[0][0]]

    @property
    def end(self) -> Place:
        """Where it ends."""
        return self.outline.places[self.spans[-1][1]]

    @property
    def whole(self) -> bool:
        """Whether it goes from one corner to the next."""
        return self.start.corner is not None and self.end.corner is not None

    @cached_property
    def length(self) -> float:
        """Its sewn length in mm, without the legs of darts."""
        return math.fsum(self.outline.way(a, b) for a, b in self.spans)

    @cached_property
    def drawn(self) -> float:
        """Its length along the outline in mm, the legs of darts counted."""
        return self.outline.way(self.start.number, self.end.number)

    @cached_property
    def parts(self) -> frozenset[tuple[int, int]]:
        """Its parts between neighbouring places, each by its piece's number and its own; no legs of darts."""
        n = len(self.outline.places)
        return frozenset((self.outline.number, (a + k) % n) for a, b in self.spans for k in range((b - a) % n))

    @property
    def order(self) -> tuple[int, int, int]:
        """By piece, by place, the longest first."""
        return self.outline.number, self.start.number, -len(self.parts)

    @cached_property
    def between(self) -> tuple[Place, ...]:
        """The places on the outline between its ends, those of darts too."""
        n, first = len(self.outline.places), self.start.number
        steps = (self.end.number - first) % n
        return tuple(self.outline.places[(first + k) % n] for k in range(1, steps))

    @cached_property
    def at(self) -> dict[str, float]:
        """The sewn length from its start to every mark on it that no other place has."""
        return {name: s for place, s in self._along() for name in place.marks}

    def _along(self) -> Iterator[tuple[Place, float]]:
        n, before = len(self.outline.places), 0.0
        for a, b in self.spans:
            for k in range((b - a) % n + 1):
                place = self.outline.places[(a + k) % n]
                yield place, before + self.outline.way(a, place.number)
            before += self.outline.way(a, b)

    @cached_property
    def bulge(self) -> float:
        """The area between the side and its chord as a share of its length squared, its darts closed.

        Plus where the cloth bulges, minus where it is hollow: a half circle has 1 / (2 pi), a straight edge 0.
        """
        curves, laid = [], IDENTITY
        for k, (a, b) in enumerate(self.spans):
            if k:
                laid = compose(laid, self._closing(self.darts[k - 1]))
            curves.append(apply(laid, self._curve(a, b)))
        return cubics.area(_joined(curves)) * self.outline.outside / self.length**2

    def _closing(self, dart: Dart) -> Array:
        """The turn about its point that lays the dart's second leg on its first."""
        a, apex, b = (self.outline.places[i] for i in (dart.before, dart.apex, dart.after))
        first = math.atan2(a.y - apex.y, a.x - apex.x)
        second = math.atan2(b.y - apex.y, b.x - apex.x)
        return turned(first - second, (apex.x, apex.y))

    def _curve(self, a: int, b: int) -> Array:
        curve, one, other = self.outline.piece.curve, self.outline.places[a], self.outline.places[b]
        if one.s < other.s:
            return cubics.stretch(curve, one.at, other.at)
        n = len(curve) - 1
        tail = cubics.stretch(curve, one.at, (n, 1.0))
        return np.concatenate([tail, cubics.stretch(curve, (0, 0.0), other.at)])


def _joined(curves: list[Array]) -> Array:
    """The curves in one line; where legs are not quite alike, straight across from one to the next."""
    out = [curves[0]]
    for before, after in pairwise(curves):
        out += [cubics.lines([before[-1, 3], after[0, 0]]), after]
    return np.concatenate(out)


def read_outline(number: int, piece: Piece, marks: tuple[Mark, ...]) -> Outline:
    """A closed piece's outline with its corners, and with the marks that belong to it."""
    measured = measure(piece.curve)
    outside = piece.outside
    turning = corners(piece.curve, closed=True)
    snapped = snap(piece, nearby(piece, marks))
    segment = np.array([c.node for c in turning] + [m.segment for m in snapped], dtype=np.intp)
    t = np.array([0.0] * len(turning) + [m.t for m in snapped])
    s = measured.lengths(segment, t)
    # What lies just before the first point lies on it.
    around = measured.length - s < _SAME_PLACE
    segment[around], t[around], s[around] = 0, 0.0, 0.0
    points = cubics.point(piece.curve, segment, t)
    named = Counter([c.name for c in turning] + [m.name for m in snapped])
    places: list[Place] = []
    # Corners come first in the sorting where a mark fell on them, since they stand first.
    for i in sorted(range(len(s)), key=lambda i: round(float(s[i]), 6)):
        corner = turning[i] if i < len(turning) else None
        name = snapped[i - len(turning)].name if corner is None else ""
        said = (name,) if _is_plain(name) else ()
        own = said if named[name] == 1 else ()
        at, x, y = (int(segment[i]), float(t[i])), float(points[i, 0]), float(points[i, 1])
        if places and s[i] - places[-1].s < _SAME_PLACE:
            old = places[-1]
            both = (old.marks + own, old.said + said)
            places[-1] = Place(old.number, old.at, old.s, old.corner, old.turn, *both, old.x, old.y)
        elif corner is not None:
            title = corner.name if named[corner.name] == 1 else ""
            places.append(Place(len(places), at, float(s[i]), title, corner.turn * outside, (), (), x, y))
        elif own:
            places.append(Place(len(places), at, float(s[i]), None, 0.0, own, said, x, y))
    return Outline(number, piece, measured.length, outside, tuple(places))


def _is_plain(name: str) -> bool:
    """Whether a mark's name can stand in an edge's name."""
    return bool(name) and name == name.strip() and ".." not in name


def sides(outline: Outline) -> list[Side]:
    """The sides between neighbouring places, and those between neighbouring corners; legs of darts are none."""
    n = len(outline.places)
    hidden = {(d.before + k) % n for d in outline.darts for k in range(1, (d.after - d.before) % n)}
    hidden |= {place for dart in outline.darts if dart.within for place in (dart.before, dart.after)}
    stops = [i for i in range(n) if i not in hidden]
    turning = [i for i in outline.turning if i not in hidden]
    ends = {pair for ring in (stops, turning) for pair in zip(ring, ring[1:] + ring[:1], strict=True)}
    mouths = {(dart.before, dart.after) for dart in outline.darts if not dart.within}
    return [_side(outline, a, b) for a, b in sorted(ends - mouths) if a != b]


def _side(outline: Outline, a: int, b: int) -> Side:
    n = len(outline.places)
    inside = [dart for dart in outline.darts if dart.within and (dart.after - a) % n <= (b - a) % n]
    inside.sort(key=lambda dart: (dart.before - a) % n)
    stops = [a, *(place for dart in inside for place in (dart.before, dart.after)), b]
    return Side(outline, tuple(zip(stops[::2], stops[1::2], strict=True)), tuple(inside))


def leg(outline: Outline, a: int, b: int) -> Side:
    """The stretch between two places as one span."""
    return Side(outline, ((a, b),))
