"""Valleys and overlaps: the angle left open, the greatest depth, the space that cures."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString  # an independent judge of whether two lines cross

from scallopkit.errors import NoFitError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.trim.course import Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.meeting import greatest_share, needed_space, refuse_overlap, valley_warnings, valleys_between
from scallopkit.trim.row import Row
from scallopkit.trim.scallops import Scallops, scallops
from scallopkit.trim.shape import Shape

from ..shapes import circle, course, fan, valley_ends

STRAIGHT = cubics.lines([(0, 0), (200, 0)])


def placed(
    curve: Array, share: float, loop: bool, side: int, count: int, space: float = 0.0, profile: str = "arc"
) -> Scallops:
    c = course(curve, loop, side)
    shape = Shape(profile, "share", share)
    return scallops(fit(c, valley_ends(c), Wish(shape, count=count, space=space)).row, shape, side)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("share", [0.2, 0.4, 0.5])
def test_the_angle_at_a_valley_is_180_less_theta_plus_phi(share: float, side: int) -> None:
    n = 12
    made = placed(circle(60.0), share, True, side, n)
    theta = 4.0 * math.atan(2.0 * share)
    # A clockwise circle has its outside on the left: bulging there, hollow on the other side.
    phi = side * 2.0 * math.pi / n
    assert valleys_between(made, True).open == pytest.approx(np.full(n, math.pi - theta + phi), abs=1e-9)


def test_the_valley_where_a_cone_is_closed_is_as_open_as_the_others() -> None:
    curve, closing = fan(60.0, 2.0)
    c = course(curve, True, closing=closing)
    shape = Shape("arc", "share", 0.2)
    made = scallops(fit(c, valley_ends(c), Wish(shape, count=8)).row, shape, 1, closing=closing)
    expected = math.pi - 4.0 * math.atan(0.4) + 2.0 / 8
    assert valleys_between(made, True).open == pytest.approx(np.full(8, expected), abs=1e-9)


def test_arcs_that_collide_across_the_closing_are_refused_like_all() -> None:
    """Six wide arcs with a space round a fan: all neighbours are as near, the last and the first as well."""
    curve, closing = fan(60.0, 2.0)
    c = course(curve, True, side=-1, closing=closing)
    shape = Shape("arc", "share", 0.9)
    row = fit(c, valley_ends(c), Wish(shape, count=6, space=2.0)).row
    made = scallops(row, shape, -1, closing=closing)
    alone = replace(made, row=_chosen(row, [0, 5]), **{k: getattr(made, k)[[0, 5]] for k in _EACH})
    with pytest.raises(NoFitError, match="across the space"):
        refuse_overlap(alone, True, 2.0)
    refuse_overlap(replace(alone, closing=None), True, 2.0)


_EACH = ("axis", "depth", "radius", "large", "crest")


def _chosen(row: Row, which: list[int]) -> Row:
    return Row(*(getattr(row, f.name)[which] for f in fields(row)))


def overlap_seen(made: Scallops) -> bool:
    # The shared valley itself, where both only touch, is left out.
    lines = [LineString(cubics.flatten(line, 1e-4)[1:-1]) for line in made.curves()]
    return any(a.intersects(b) for a, b in pairwise(lines))


@settings(max_examples=25, deadline=None)
@given(st.floats(0.15, 0.9), st.sampled_from([1, -1]), st.integers(8, 30))
def test_what_is_refused_overlaps_and_what_is_taken_does_not(share: float, side: int, n: int) -> None:
    made = placed(circle(60.0), share, True, side, n)
    margin = valleys_between(made, True).open.min()
    try:
        refuse_overlap(made, True, 0.0)
        refused = False
    except NoFitError:
        refused = True
    assert refused == (margin < 0.0)
    if abs(margin) > 0.05:
        assert overlap_seen(made) == refused


def test_the_greatest_depth_named_just_fits() -> None:
    made = placed(circle(60.0), 0.6, True, -1, 16)
    share = greatest_share(made, True)
    assert share is not None
    w = float(made.row.width[0])
    deepest = share * w
    # theta = 180 degrees - 360 / 16 there.
    assert deepest == pytest.approx(w / 2.0 * math.tan((math.pi - 2.0 * math.pi / 16) / 4.0), rel=1e-6)
    with pytest.raises(NoFitError, match=rf"{int(100.0 * deepest) / 100.0:g} mm"):
        refuse_overlap(made, True, 0.0)
    refuse_overlap(placed(circle(60.0), 0.999 * deepest / w, True, -1, 16), True, 0.0)


def test_the_space_named_just_cures() -> None:
    made = placed(STRAIGHT, 0.7, False, 1, 8)
    space = needed_space(made, False)
    assert space is not None
    r = float(made.radius[0])
    assert space == pytest.approx(2.0 * r - float(made.row.width[0]), rel=1e-9)
    # With the space the scallops are narrower, so what is needed shrinks with them.
    spaced = placed(STRAIGHT, 0.7, False, 1, 8, space=space)
    refuse_overlap(spaced, False, space)
    with pytest.raises(NoFitError, match="space"):
        refuse_overlap(placed(STRAIGHT, 0.7, False, 1, 8, space=0.3 * space), False, 0.3 * space)


def test_sharp_and_touching_valleys_are_told_with_place_and_figure() -> None:
    sharp = valley_warnings(placed(STRAIGHT, 0.45, False, 1, 8), False, math.radians(15.0), "p")
    assert [w.code for w in sharp] == ["sharp-valley"]
    assert "7 valleys" in sharp[0].message
    assert sharp[0].x == pytest.approx(25.0)
    touching = valley_warnings(placed(STRAIGHT, 0.5, False, 1, 8), False, math.radians(15.0), "p")
    assert [w.code for w in touching] == ["scallops-touch"]
    assert valley_warnings(placed(STRAIGHT, 0.4, False, 1, 8), False, math.radians(15.0), "p") == []


def test_other_profiles_are_judged_by_their_own_angles() -> None:
    refuse_overlap(placed(STRAIGHT, 2.0, False, 1, 8, profile="point"), False, 0.0)
    with pytest.raises(NoFitError):
        refuse_overlap(placed(circle(60.0), 0.5, True, -1, 16, profile="half-circle"), True, 0.0)
