"""Allowances round outlines that others drew, against a polygon library: a hundred of them, and no loop is left on any.

The outlines are those of the open icon sets that `test_open_outlines` reads. The library's own parallels first simplify
an outline by a hundredth of the distance, which is coarser than what is promised; so the second opinion is a union:
of the outline and of a capsule about each short chord of it, every one of which the library draws exactly.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.offset import offset

from ..apart import apart
from .test_open_outlines import twins

# What is promised of parallels, mm.
PROMISE = 0.02
# How far the flattened outline may leave the true one, and the flattened result too, mm.
FLAT = 0.001
WANTED = 100
DISTANCES = (6.0, 12.0, -3.0)


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


@pytest.mark.parametrize("number", range(WANTED))
def test_an_allowance_is_what_a_polygon_library_draws(number: int) -> None:
    name, curve = outlines()[number]
    distance = DISTANCES[number % len(DISTANCES)]
    outward = 1.0 if cubics.area(curve) > 0.0 else -1.0
    try:
        found = offset(curve, outward * distance, closed=True, join="round")
    except RequestError as error:
        pytest.fail(f"{name}: {error}")
    rings = [shapely.LinearRing(cubics.flatten(one, FLAT)) for one in found]
    assert all(ring.is_simple for ring in rings), name
    ours = _filled(rings, outward)
    theirs = _capsules(curve, distance)
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


def _capsules(curve: Array, distance: float) -> shapely.Geometry:
    """The outline grown by a distance, or, where it is negative, without all that lies nearer to its edge."""
    points = cubics.flatten(curve, FLAT)
    chords = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))
    # 64 chords a quarter lie within 0.0009 mm of a circle of 12 mm.
    edge = shapely.union_all(shapely.buffer(chords, abs(distance), quad_segs=64))
    area = shapely.Polygon(points)
    return area.union(edge) if distance > 0.0 else area.difference(edge)
