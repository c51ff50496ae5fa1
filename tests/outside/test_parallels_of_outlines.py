"""Allowances round outlines that others drew, against a polygon library: a hundred of them, and no loop is left on any.

The outlines are those of the open icon sets that `test_open_outlines` reads. The library's own parallels first simplify
an outline by a hundredth of the distance, which is coarser than what is promised; so the second opinion is a union:
of the outline and of a capsule about each short chord of it, every one of which the library draws exactly. On every
other outline the corners are mitred, and the union has the library's mitre of each corner by itself, too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
import shapely

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.offset import Join, offset

from ..apart import apart
from .test_open_outlines import twins

# What is promised of parallels, mm.
PROMISE = 0.02
# How far the flattened outline may leave the true one, and the flattened result too, mm.
FLAT = 0.001
WANTED = 100
DISTANCES = (6.0, 12.0, -3.0)
JOINS: tuple[Join, ...] = ("round", "mitre")
# The farthest that a tip lies away, in distances: what parallels take unless told otherwise, and one that many reach.
LIMITS = (4.0, 1.2)
# Turns under this, radians, are no corners; and so far on, in distances, are the legs of one drawn.
SMOOTH, LEGS = math.radians(0.5), 10.0


@cache
def outlines() -> tuple[tuple[str, Array], ...]:
    """Closed outlines that do not cross themselves, of 40 mm and more, each once."""
    found: dict[bytes, tuple[str, Array]] = {}
    for twin in twins()[0]:
        curve = twin.piece.curve
        if not twin.piece.closed or np.ptp(curve.reshape(-1, 2), axis=0).min() < 40.0:
            continue
        if shapely.LinearRing(cubics.flatten(curve, FLAT)).is_simple:
            found.setdefault(np.round(curve - curve[0, 0], 3).tobytes(), (twin.name, curve))
    return tuple(found.values())[:WANTED]


def test_there_are_a_hundred_outlines() -> None:
    assert len(outlines()) == WANTED


@dataclass(frozen=True)
class Asked:
    """At which distance an outline is drawn, how its corners are joined, and how far tips are let out, in distances."""

    distance: float
    join: Join
    limit: float


def asked(number: int) -> Asked:
    """What is asked for the outline of a number."""
    return Asked(
        DISTANCES[number % len(DISTANCES)], JOINS[number % len(JOINS)], LIMITS[number // len(JOINS) % len(LIMITS)]
    )


def test_of_the_mitred_outlines_many_have_tips_and_some_have_them_cut_off() -> None:
    mitred = [(curve, asked(number)) for number, (_, curve) in enumerate(outlines()) if asked(number).join == "mitre"]
    turns = [(_corners(curve, one.distance)[3], one.limit) for curve, one in mitred]
    assert sum(len(turn) > 0 for turn, _ in turns) >= 15
    assert sum(bool((np.cos(0.5 * turn) * limit < 1.0).any()) for turn, limit in turns) >= 4


@pytest.mark.parametrize("number", range(WANTED))
def test_an_allowance_is_what_a_polygon_library_draws(number: int) -> None:
    name, curve = outlines()[number]
    one = asked(number)
    distance = one.distance
    outward = 1.0 if cubics.area(curve) > 0.0 else -1.0
    try:
        found = offset(curve, outward * distance, closed=True, join=one.join, mitre_limit=one.limit)
    except RequestError as error:
        pytest.fail(f"{name}: {error}")
    rings = [shapely.LinearRing(cubics.flatten(ring, FLAT)) for ring in found]
    assert all(ring.is_simple for ring in rings), name
    ours = _filled(rings, outward)
    theirs = _grown(curve, distance, _tips(curve, one) if one.join == "mitre" else [])
    if theirs.is_empty or ours.is_empty:
        # Outlines thinner than what is promised may be left out.
        assert theirs.area + ours.area < PROMISE * (theirs.length + ours.length + 1.0)
        return
    assert apart(ours.boundary, theirs.boundary) < PROMISE, name
    assert shapely.symmetric_difference(ours, theirs).area < PROMISE * theirs.length, name


def _filled(rings: list[shapely.LinearRing], outward: float) -> shapely.Geometry:
    """The cloth within outlines; those that are walked the other way are holes."""
    out = shapely.Polygon()
    for ring in sorted(rings, key=lambda one: -shapely.Polygon(one).area):
        # Clockwise on the drawing, y down, is counter-clockwise to the library.
        hole = ring.is_ccw != (outward > 0.0)
        area = shapely.Polygon(ring)
        out = out.difference(area) if hole else out.union(area)
    return out


def _grown(curve: Array, distance: float, tips: list[shapely.Geometry]) -> shapely.Geometry:
    """The outline grown by a distance, or, where it is negative, without all that lies nearer to its edge."""
    points = cubics.flatten(curve, FLAT)
    chords = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))
    # 64 chords a quarter lie within 0.0009 mm of a circle of 12 mm.
    edge = shapely.union_all([*shapely.buffer(chords, abs(distance), quad_segs=64), *tips])
    area = shapely.Polygon(points)
    return area.union(edge) if distance > 0.0 else area.difference(edge)


def _corners(curve: Array, distance: float) -> tuple[Array, Array, Array, Array]:
    """The corners that bulge as seen from the parallel: places, directions to and from them, turns (radians)."""
    number = np.arange(len(curve))
    forth = cubics.direction(curve, number, np.ones(len(curve)))
    onward = np.roll(cubics.direction(curve, number, np.zeros(len(curve))), -1, axis=0)
    turn = _hand(curve, distance) * np.arctan2(cubics.cross(forth, onward), cubics.dot(forth, onward))
    there = turn >= SMOOTH
    return curve[there, 3], forth[there], onward[there], turn[there]


def _hand(curve: Array, distance: float) -> float:
    """+1 where the parallel lies on the walker's left."""
    return math.copysign(1.0, cubics.area(curve) * distance)


def _tips(curve: Array, asked_for: Asked) -> list[shapely.Geometry]:
    """The library's mitre at each bulging corner, between both squares to the corner."""
    distance, out = abs(asked_for.distance), []
    far = LEGS * distance
    for corner, forth, onward, turn in zip(*_corners(curve, asked_for.distance), strict=True):
        legs = shapely.LineString([corner - far * forth, corner, corner + far * onward])
        # Tips beyond the limit are promised to be cut at the distance itself; the library cuts them at the limit.
        limit = asked_for.limit if asked_for.limit * math.cos(0.5 * turn) > 1.0 else 1.0
        grown = shapely.buffer(legs, distance, cap_style="flat", join_style="mitre", mitre_limit=limit)
        squares = _hand(curve, asked_for.distance) * far * cubics.left(np.stack([forth, onward]))
        wedge = shapely.Polygon([corner, corner + squares[0], corner + squares.sum(axis=0), corner + squares[1]])
        out.append(grown.intersection(wedge))
    return out
