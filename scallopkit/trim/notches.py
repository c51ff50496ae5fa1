"""Notches: match marks at the cutting line, at valleys, crests, equal parts of an edge or given marks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array, Ints
from ..geometry.intersect import crossings
from ..geometry.length import Measured
from ..geometry.nearest import nearest
from ..pattern.edge import Edge, Spot, spot_on
from .course import Course
from .scallops import Scallops, crest_lengths, valleys

VALLEYS, CRESTS, PARTS, MARKS = "valleys", "crests", "parts", "marks"
SNIP, V, TRIANGLE = "snip", "v", "triangle"
EDGE, SCALLOPS = "edge", "scallops"

# A clip of 1/8 in, as extension leaflets on sewing give it (the Oregon 4-H series 320-12), rounded to 3 mm.
USUAL = 3.0
# Width of a V or triangle, as a share of its length: common practice, no source.
_WIDTH = 2.0 / 3.0
# A mark as near an end of an edge as this, mm, lies on the end.
_AT_END = 1e-6
# A cutting line nearer than this, mm, leaves no allowance.
_NOTHING = 1e-3
# What a drawing's rounding may take off a cutting line's end, mm.
_ROUNDED = 0.05
# The line square to the stitching line is followed this many times as far as the cutting line is away at the most, and
# into the cloth, where scallops that hang from the edge are cut inside it, so many times.
_FARTHEST, _INWARD = 10.0, 3.0


@dataclass(frozen=True)
class NotchWish:
    """What notches are wanted.

    Attributes:
        at: VALLEYS, CRESTS, PARTS (equal parts of the edge) or MARKS.
        every: 1 for each of them, 2 for every other one, ...
        first: which is the first that gets one, from 1.
        parts: into how many parts the edge is divided, for PARTS.
        ends: whether the ends of an open edge get one too where such a place falls on them.
        on: EDGE, or SCALLOPS where the cloth is cut along the scallops.
        kind: SNIP (a cut into the cloth), V (a V cut out of it) or TRIANGLE (one left standing outside).
        length: how far a notch reaches from the cutting line, mm; None for 3 mm, or half the allowance if that is
            less.
        allowance: distance from the stitching line to the cutting line where it is known, mm.
    """

    at: str
    every: int = 1
    first: int = 1
    parts: int = 4
    ends: bool = False
    on: str = EDGE
    kind: str = SNIP
    length: float | None = None
    allowance: float | None = None

    def __post_init__(self) -> None:
        _refuse_unknown("place for notches", self.at, (VALLEYS, CRESTS, PARTS, MARKS))
        _refuse_unknown("line for notches", self.on, (EDGE, SCALLOPS))
        _refuse_unknown("kind of notch", self.kind, (SNIP, V, TRIANGLE))
        if self.every < 1 or self.first < 1 or self.parts < 1:
            raise RequestError("every, first and parts of notches count from 1: give whole numbers, 1 or more")
        for what, value in (("length", self.length), ("allowance", self.allowance)):
            if value is not None and not (math.isfinite(value) and value > 0.0):
                raise RequestError(f"a notch {what} of {value:g} mm has no meaning: give one above 0, or none")
        if self.on == SCALLOPS and self.at == VALLEYS:
            raise RequestError(
                "a notch at a valley of cloth cut along the scallops would run into the garment: take the crests"
            )
        if self.on == SCALLOPS and self.at != CRESTS:
            raise RequestError(
                f"cloth cut along the scallops takes notches at its crests only, not at {self.at}: take the crests, "
                f"or the drawn edge"
            )


@dataclass(frozen=True, eq=False)
class Notches:
    """Notches in place, as arrays of one entry a notch.

    Attributes:
        points: where they stand on the cutting line (n, 2), mm.
        direction: unit vectors into the piece (n, 2).
        s: the lengths along the course that they mark (n,), mm.
        length: how far they reach from the cutting line, mm.
        kind: SNIP, V or TRIANGLE.
        sewn: the places on the line that is sewn (n, 2), which they mark; mm.
    """

    points: Array
    direction: Array
    s: Array
    length: float
    kind: str
    sewn: Array

    def __len__(self) -> int:
        return len(self.points)

    def curve(self, i: int) -> Array:
        """Notch i as drawn, an open polyline (k, 2): in from the cutting line, or there and back to it.

        The feet of a V or triangle stand on the tangent of the cutting line.
        """
        foot, inwards = self.points[i], self.direction[i]
        if self.kind == SNIP:
            return np.stack([foot, foot + self.length * inwards])
        half = 0.5 * _WIDTH * self.length * cubics.left(inwards)
        reach = self.length if self.kind == V else -self.length
        return np.stack([foot + half, foot + reach * inwards, foot - half])


def notches(
    course: Course,
    wish: NotchWish,
    scallops: Scallops | None = None,
    marks: Sequence[Spot] = (),
    cutting: Measured | None = None,
    outward: int | None = None,
) -> Notches:
    """Notches on an edge.

    Args:
        course: the drawn edge: the stitching line where there is an allowance, else the cutting line too.
        wish: where and of what kind.
        scallops: the scallops on it, for VALLEYS and CRESTS.
        marks: the places, for MARKS, with lengths along the course.
        cutting: the cutting line outside the course where the two differ. A notch stands on it where the line square
            to the course meets it first, and points back to its place on the course.
        outward: +1 where the outside of the piece is on the walker's left, -1 on the right; None for the side of
            the scallops.

    Raises:
        RequestError: something needed is missing, a notch is too long for the allowance, or the cutting line can't
            be found outside the course.
    """
    side = course.side if outward is None else outward
    if wish.on == SCALLOPS:
        row = _needed(scallops, wish.at)
        s = crest_lengths(row.row)
        chosen = _chosen(s, course, wish)
        crest, length = row.crest[chosen], _length(wish, wish.allowance)
        return Notches(crest, -row.axis[chosen], s[chosen], length, wish.kind, crest)
    s = _lengths(course, wish, scallops, marks)
    points, out = course.measured.points(s), side * course.measured.normals(s)
    if cutting is None:
        return Notches(points, -out, s, _length(wish, wish.allowance), wish.kind, points)
    away = _out_to(cutting, points, out, course, s)
    allowance = min([*([wish.allowance] if wish.allowance is not None else []), *away.tolist()], default=None)
    return Notches(points + away[:, None] * out, -out, s, _length(wish, allowance), wish.kind, points)


def marked(edge: Edge, names: Iterable[str], origin: float = 0.0) -> list[Spot]:
    """The named marks or corners of an edge.

    Args:
        edge: the edge.
        names: what they are called.
        origin: where along the edge the course begins, if that is a loop that begins elsewhere.

    Raises:
        NameUnknownError: one is not on the edge; the text lists those that are.
    """
    found = [spot_on(edge, name) for name in names]
    return [replace(spot, s=(spot.s - origin) % edge.measured.length) if edge.loop else spot for spot in found]


# where along the edge


def _lengths(course: Course, wish: NotchWish, scallops: Scallops | None, marks: Sequence[Spot]) -> Array:
    length = course.measured.length
    if wish.at == MARKS:
        s = np.array([spot.s for spot in marks], dtype=float)
        # A mark that was named gets its notch, at an end too.
        return s[wish.first - 1 :: wish.every]
    if wish.at == VALLEYS:
        s = valleys(_needed(scallops, wish.at).row, course.measured.closing)[1]
    elif wish.at == CRESTS:
        s = crest_lengths(_needed(scallops, wish.at).row)
    else:
        s = length * np.arange(wish.parts + (not course.loop)) / wish.parts
    # A cutting line outside a loop goes with the course itself, not with what it is a turn later.
    s = np.mod(s, length) if course.loop else s
    return np.asarray(s[_chosen(s, course, wish)])


def _chosen(s: Array, course: Course, wish: NotchWish) -> Ints:
    """Numbers of the places that get a notch."""
    every = np.arange(wish.first - 1, len(s), wish.every)
    if course.loop or wish.ends:
        return every
    # Which places are counted does not hang on whether the ends are left out.
    inside = (s[every] > _AT_END) & (s[every] < course.measured.length - _AT_END)
    return np.asarray(every[inside])


def _needed(scallops: Scallops | None, at: str) -> Scallops:
    if scallops is None:
        raise RequestError(f"there are no scallops whose {at} could carry notches: fit scallops first, or take parts")
    return scallops


# on the cutting line


def _out_to(cutting: Measured, points: Array, out: Array, course: Course, s: Array) -> Array:
    """How far from each point the cutting line lies in the outward direction (n,)."""
    if not len(points):
        return np.zeros(0)
    near = nearest(cutting.curve, points)
    ray, along, overlap = _met(cutting.curve, points, out, _NOTHING, _FARTHEST * float(near.distance.max()) + 1.0)
    if overlap:
        # Where the cutting line itself runs outward from the place, as along a fold, its corner is meant.
        past = along > 2.0 * _NOTHING
        ray, along = ray[past], along[past]
    away = np.full(len(points), np.inf)
    np.minimum.at(away, ray, along)
    # At its end a cutting line may stop short of the square line by what rounding of the drawing took.
    step = near.point - points
    ahead = (step * out).sum(axis=1)
    beside = np.hypot(*(step - ahead[:, None] * out).T)
    away = np.where(np.isinf(away) & (ahead > _NOTHING) & (beside <= _ROUNDED), ahead, away)
    missing = np.flatnonzero(np.isinf(away))
    if len(missing):
        i = int(missing[0])
        raise RequestError(
            f"the notch {s[i]:.6g} mm along the edge finds no cutting line outside it, at {_at(points[i])}: "
            f"give the outline that belongs to this edge"
        )
    return np.asarray(np.maximum(away, 0.0))


def square_out(cutting: Array, place: Array, outward: Array) -> Array | None:
    """Where the line square to the stitching line at a place meets a cutting line, nearest to the place.

    Args:
        cutting: the cutting line, or the part of it that counts.
        place: the place (2,) on the stitching line.
        outward: unit vector (2,) out of the cloth, square to that line.

    Returns:
        The place (2,) on the cutting line; None where the square line meets it nowhere near.
    """
    away = float(nearest(cutting, place[None]).distance[0])
    _, along, _ = _met(cutting, place[None], outward[None], _INWARD * away + _NOTHING, _FARTHEST * away + 1.0)
    return np.asarray(place + along[np.argmin(np.abs(along))] * outward) if len(along) else None


def _met(cutting: Array, points: Array, out: Array, back: float, reach: float) -> tuple[Ints, Array, bool]:
    """Where straight lines, from so far behind points to so far beyond them, mm, meet a cutting line.

    Returns for each meeting the number of the line and how far along it that is, mm, and whether any runs along it.
    """
    begin, end = points - back * out, points + reach * out
    rays = np.concatenate([cubics.lines(np.stack(ends)) for ends in zip(begin, end, strict=True)])
    met = crossings(rays, cutting)
    ray = met.segment_a
    return ray, ((met.point - points[ray]) * out[ray]).sum(axis=1), met.overlap


def _length(wish: NotchWish, allowance: float | None) -> float:
    return notch_length(wish.kind, wish.length, allowance)


def notch_length(kind: str, asked: float | None, allowance: float | None) -> float:
    """The length asked for, or the usual one; cuts into the cloth end half way to the stitching line at the most.

    Args:
        kind: SNIP, V or TRIANGLE.
        asked: the length that was asked for, mm.
        allowance: distance from the stitching line to the cutting line where it is known, mm.

    Raises:
        RequestError: it is too long for the allowance, or there is none.
    """
    if allowance is None or kind == TRIANGLE:
        return USUAL if asked is None else asked
    if allowance <= _NOTHING:
        raise RequestError(
            "a notch stands where the cutting line meets the stitching line, with no allowance to cut into: "
            "leave that place out, or take triangles"
        )
    greatest = 0.5 * allowance
    if asked is not None and asked > greatest * (1.0 + 1e-9):
        raise RequestError(
            f"a notch of {asked:.6g} mm in an allowance of {allowance:.6g} mm comes too near the stitching "
            f"line: give at most {math.floor(1000.0 * greatest + 1e-6) / 1000.0:g} mm"
        )
    return min(USUAL, greatest) if asked is None else asked


def _at(point: Array) -> str:
    return f"x {point[0]:.1f}, y {point[1]:.1f}"


def _refuse_unknown(what: str, value: str, known: tuple[str, ...]) -> None:
    if value not in known:
        raise RequestError(f'"{value}" is no {what}; there are {", ".join(known)}')
