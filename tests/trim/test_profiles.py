from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import apply, turned
from scallopkit.trim.profiles import DEEPEST_ARC, PROFILES, arc, arc_depth, arc_radius, own_motif
from scallopkit.trim.shape import Shape


@pytest.mark.parametrize("name", sorted(PROFILES))
@pytest.mark.parametrize("depth", [0.1, 0.4, 0.5, 0.9])
def test_every_profile_spans_its_width_and_reaches_its_depth(name: str, depth: float) -> None:
    motif = PROFILES[name](depth)
    assert motif.curve[0, 0].tolist() == [0, 0]
    assert motif.curve[-1, 3].tolist() == [1, 0]
    low, high = cubics.bounds(motif.curve)[:, 1]
    assert high == pytest.approx(motif.depth, abs=1e-9)
    assert low == pytest.approx(0.0, abs=1e-9)
    assert motif.curve[motif.half, 0] == pytest.approx((0.5, motif.depth))
    assert np.allclose(motif.curve[1:, 0], motif.curve[:-1, 3])
    assert motif.symmetric


@pytest.mark.parametrize("depth", [0.05, 0.3, 0.5, 0.8, 1.2])
def test_the_arc_lies_on_one_circle(depth: float) -> None:
    motif = arc(depth)
    r = arc_radius(1.0, depth)
    points = cubics.flatten(motif.curve, 1e-4)
    assert np.hypot(points[:, 0] - 0.5, points[:, 1] - (depth - r)) == pytest.approx(r, abs=1e-8)
    assert measure(motif.curve).length == pytest.approx(4.0 * math.atan(2.0 * depth) * r, rel=1e-8)
    assert motif.base_angles == pytest.approx((2.0 * math.atan(2.0 * depth),) * 2)


def test_an_arc_of_more_than_three_quarters_is_refused() -> None:
    assert 4.0 * math.atan(2.0 * DEEPEST_ARC) == pytest.approx(math.radians(270.0))
    with pytest.raises(RequestError, match="three quarters"):
        arc(DEEPEST_ARC * 1.001)


def test_a_radius_gives_its_depth_and_back() -> None:
    assert arc_depth(16.0, 25.0 / 3.0) == pytest.approx(6.0)
    assert arc_radius(16.0, 6.0) == pytest.approx(25.0 / 3.0)
    with pytest.raises(RequestError, match="half the width"):
        arc_depth(20.0, 9.9)


def test_the_pointed_ones_have_a_point_and_the_wave_has_none() -> None:
    for name, pointed in (
        ("pointed-arch", True),
        ("double-curve", True),
        ("point", True),
        ("wave", False),
        ("arc", False),
    ):
        motif = PROFILES[name](0.6)
        at = np.array([motif.half - 1, motif.half])
        up, down = cubics.direction(motif.curve, at, np.array([1.0, 0.0]))
        assert (math.degrees(math.acos(min(1.0, float(up @ down)))) > 5.0) == pointed, name
    assert PROFILES["wave"](0.3).base_angles == pytest.approx((0.0, 0.0), abs=1e-9)


def test_a_motif_of_ones_own_is_laid_on_the_base_and_bulges_up() -> None:
    drawn = np.array([[(0.0, 0.0), (0.0, 12.0), (20.0, 12.0), (20.0, 0.0)]])
    motif = own_motif(drawn, "mine")
    assert motif.depth == pytest.approx(9.0 / 20.0)
    assert motif.symmetric
    turned_motif = own_motif(apply(turned(2.2, (5.0, 1.0)), cubics.reverse(drawn)), "mine")
    assert turned_motif.depth == pytest.approx(motif.depth)
    assert own_motif(drawn, "mine", 0.3).depth == pytest.approx(0.3)
    lopsided = np.array([[(0.0, 0.0), (0.0, 12.0), (5.0, 12.0), (20.0, 0.0)]])
    assert not own_motif(lopsided, "mine").symmetric


@pytest.mark.parametrize(
    ("points", "says"),
    [([(0, 0), (5, 5), (0, 0)], "ends where it starts"), ([(0, 0), (5, 0), (9, 0)], "straight line")],
)
def test_a_motif_that_is_none_is_refused(points: list[tuple[float, float]], says: str) -> None:
    with pytest.raises(RequestError, match=says):
        own_motif(cubics.lines(points), "mine")


def test_depth_follows_the_width_or_stays() -> None:
    assert Shape("arc", "share", 0.4).depth(25.0) == pytest.approx(10.0)
    assert Shape("arc", "depth", 12.0).depth(25.0) == 12.0
    assert Shape("arc", "radius", 15.0).depth(30.0) == pytest.approx(15.0)
    assert Shape("half-circle", "share", 0.1).depth(30.0) == pytest.approx(15.0)
    assert Shape("arc", "radius", 20.0).depth_slope(30.0) == pytest.approx(
        15.0 / (2.0 * math.sqrt(400.0 - 225.0)), rel=1e-6
    )
