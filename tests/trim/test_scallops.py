"""Scallops as drawn: congruent where they are equal, crests where they belong, halves on their mirror lines."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import apply
from scallopkit.trim.course import CREST, VALLEY, WRAP, Stop, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.profiles import PROFILES
from scallopkit.trim.scallops import Scallops, crest_lengths, scallops, stitched_length, valleys
from scallopkit.trim.shape import Shape

from ..shapes import circle, course, crest_ends, fan, rectangle, valley_ends, wavy_lines


def placed(curve: Array, shape: Shape, loop: bool = False, side: int = 1, **wish: object) -> Scallops:
    c = course(curve, loop, side)
    return scallops(fit(c, valley_ends(c), Wish(shape, **wish)).row, shape, side)  # type: ignore[arg-type]


@settings(max_examples=20, deadline=None)
@given(wavy_lines(), st.sampled_from(sorted(set(PROFILES) - {"wave"})), st.sampled_from([1, -1]))
def test_one_card_traces_all_scallops_of_a_span(curve: Array, profile: str, side: int) -> None:
    made = placed(curve, Shape(profile, "share", 0.4), side=side, width=15.0)
    cards = []
    for start, axis, line in zip(made.row.start, made.axis, made.curves(), strict=True):
        along = -side * cubics.left(axis)
        cards.append((line - start) @ np.stack([along, axis], axis=1))
    # The nodes of all scallops, each seen from its own base line, are the same points.
    assert np.abs(np.array(cards) - cards[0]).max() <= 1e-6


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("profile", sorted(PROFILES))
def test_drawn_lines_run_from_valley_to_valley_over_the_crest(profile: str, side: int) -> None:
    made = placed(cubics.lines([(0, 0), (100, 0)]), Shape(profile, "share", 0.4), side=side, count=5)
    lines = list(made.curves())
    for i, line in enumerate(lines):
        assert line[0, 0] == pytest.approx(made.row.start[i], abs=1e-9)
        assert line[-1, 3] == pytest.approx(made.row.end[i], abs=1e-9)
        # Left of the walking direction is up on the drawing, where y is small.
        height = -side * np.concatenate(list(lines))[:, :, 1]
        assert height.max() == pytest.approx(made.depth[i], abs=1e-6)
    assert made.crest[:, 1] == pytest.approx(-side * made.depth)


def test_a_wave_runs_on_smoothly_on_a_curved_edge() -> None:
    made = placed(circle(60.0), Shape("wave", "share", 0.3), loop=True, count=13)
    lines = list(made.curves())
    for here, following in zip(lines, lines[1:] + lines[:1], strict=True):
        arriving = cubics.ends_direction(here)[1]
        leaving = cubics.ends_direction(following)[0]
        assert arriving @ leaving == pytest.approx(1.0, abs=1e-9)


def test_halves_end_on_the_fold_with_their_crest() -> None:
    c = course(cubics.lines([(0, 0), (100, 0)]))
    shape = Shape("arc", "share", 0.4)
    made = scallops(fit(c, crest_ends(c), Wish(shape, count=5)).row, shape, 1)
    first, *_, last = list(made.curves())
    assert first[0, 0] == pytest.approx((0.0, -8.0), abs=1e-9)
    assert last[-1, 3] == pytest.approx((100.0, -8.0), abs=1e-9)
    assert made.drawn_start[0] == pytest.approx((0.0, -8.0), abs=1e-9)
    assert made.drawn_end[-1] == pytest.approx((100.0, -8.0), abs=1e-9)
    assert crest_lengths(made.row)[[0, -1]] == pytest.approx([0.0, 100.0])
    points, s = valleys(made.row)
    assert s == pytest.approx([10.0, 30.0, 50.0, 70.0, 90.0])
    assert points[:, 0] == pytest.approx(s)


def on_a_cone(shape: Shape, hold: str) -> Scallops:
    curve, closing = fan(60.0, 2.0)
    c = course(curve, True, closing=closing)
    found = fit(c, (Stop("joint", 0.0, hold),), Wish(shape, count=9))
    return scallops(found.row, shape, 1, closing=closing)


@pytest.mark.parametrize("hold", [VALLEY, CREST])
def test_the_valley_where_a_cone_is_closed_is_listed_once(hold: str) -> None:
    made = on_a_cone(Shape("arc", "share", 0.3), hold)
    points, s = valleys(made.row, made.closing)
    assert len(points) == len(s) == 9
    assert len(valleys(made.row)[0]) == 10
    # A ninth of the arc from one crest to the next; one that is held lies over the joint, at the arc's end.
    crests = crest_lengths(made.row)
    assert np.diff(crests) == pytest.approx(np.full(8, 120.0 / 9.0), rel=1e-9)
    assert crests[-1] == pytest.approx(120.0 if hold == CREST else 120.0 * 17.0 / 18.0, rel=1e-9)


def test_a_wave_runs_on_smoothly_where_a_cone_is_closed() -> None:
    made = on_a_cone(Shape("wave", "share", 0.3), VALLEY)
    lines = list(made.curves())
    assert made.closing is not None
    for here, following in zip(lines, [*lines[1:], apply(made.closing, lines[0])], strict=True):
        assert here[-1, 3] == pytest.approx(following[0, 0], abs=1e-8)
        assert cubics.ends_direction(here)[1] @ cubics.ends_direction(following)[0] == pytest.approx(1.0, abs=1e-9)


def test_a_loops_valleys_are_listed_once() -> None:
    made = placed(circle(60.0), Shape("arc", "share", 0.3), loop=True, count=13)
    points, _ = valleys(made.row)
    assert len(points) == 13


def test_a_wrapped_corner_is_the_same_circle() -> None:
    c = course(rectangle(420.0, 420.0), loop=True)
    stops = tuple(Stop(f"c{i}", 420.0 * i, WRAP, turn=math.pi / 2.0) for i in range(4))
    shape = Shape("arc", "share", 1.0 / 3.0)
    made = scallops(fit(c, stops, Wish(shape, count=56)).row, shape, 1)
    corner = int(np.flatnonzero(made.row.turn)[0])
    assert made.radius[corner] == pytest.approx(made.radius[corner - 1], rel=1e-9)
    line = list(made.curves())[corner]
    w, h, r = made.row.width[corner - 1], made.depth[corner - 1], made.radius[corner]
    # The arc turns by the quarter turn more than its neighbours.
    assert measure(line).length == pytest.approx(r * (4.0 * math.atan(2.0 * h / w) + math.pi / 2.0), rel=1e-9)
    centre = made.crest[corner] - r * made.axis[corner]
    assert np.abs(centre - np.array([420.0, 0.0])) == pytest.approx((r - h, r - h), abs=1e-9)


def test_stitched_length_is_the_length_of_all_lines() -> None:
    for profile in sorted(set(PROFILES) - {"wave"}):
        made = placed(circle(60.0), Shape(profile, "share", 0.3), loop=True, count=13)
        assert stitched_length(made) == pytest.approx(sum(measure(line).length for line in made.curves()), rel=1e-8)


def test_a_depth_or_radius_that_stays() -> None:
    line = cubics.lines([(0, 0), (100, 0)])
    assert placed(line, Shape("arc", "depth", 7.0), count=6).depth == pytest.approx(np.full(6, 7.0))
    assert placed(line, Shape("arc", "radius", 11.0), count=6).radius == pytest.approx(np.full(6, 11.0))
    assert np.isnan(placed(line, Shape("point", "share", 0.4), count=6).radius).all()
