"""The fitted parallel of single segments, against the definition P + d N."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.geometry.cubics import Array, direction, left, lines, point
from scallopkit.geometry.parallel import Parallel, cut_at_cusps, parallel

NUMBER = st.floats(-100.0, 100.0)
CONTROL = st.lists(st.tuples(NUMBER, NUMBER), min_size=4, max_size=4)


def true_parallel(curve: Array, segment: int, t: Array, distance: float) -> Array:
    number = np.full(len(t), segment)
    return point(curve, number, t) + distance * left(direction(curve, number, t))


def largest_error(curve: Array, found: Parallel, distance: float) -> float:
    """How far the fit leaves the true parallel, measured across it at dense samples of both."""
    worst = 0.0
    for k in range(len(found.pieces)):
        t = np.linspace(found.t0[k], found.t1[k], 1501)
        true = true_parallel(curve, int(found.segment[k]), t, distance)
        fit = point(found.pieces, np.full(24, k), np.linspace(0.0, 1.0, 24))
        # Distance to the segments between the samples, so that their spacing does not count.
        start, step = true[:-1], np.diff(true, axis=0)
        share = ((fit[:, None] - start) * step).sum(axis=2) / np.maximum((step * step).sum(axis=1), 1e-30)
        foot = start + np.clip(share, 0.0, 1.0)[..., None] * step
        worst = max(worst, float(np.hypot(*np.moveaxis(fit[:, None] - foot, 2, 0)).min(axis=1).max()))
    return worst


@settings(max_examples=40, deadline=None)
@given(CONTROL, st.sampled_from([-40.0, -6.0, 0.5, 15.0]), st.sampled_from([0.1, 0.005, 1e-4]))
def test_promised_accuracy(control: list[tuple[float, float]], distance: float, accuracy: float) -> None:
    assume(np.ptp(control, axis=0).max() > 1.0)
    curve = cut_at_cusps(np.array([control]))
    found = parallel(curve, distance, accuracy)
    assert largest_error(curve, found, distance) <= accuracy + 1e-9


@settings(max_examples=40, deadline=None)
@given(CONTROL, st.sampled_from([-40.0, 0.5, 15.0]))
def test_ends_and_end_tangents_are_exact(control: list[tuple[float, float]], distance: float) -> None:
    assume(np.ptp(control, axis=0).max() > 1.0)
    curve = cut_at_cusps(np.array([control]))
    found = parallel(curve, distance, 0.005)
    for t, node, handle in ((found.t0, 0, 1), (found.t1, 3, 2)):
        true = point(curve, found.segment, t) + distance * left(direction(curve, found.segment, t))
        np.testing.assert_allclose(found.pieces[:, node], true, atol=1e-9)
        pull = found.pieces[:, handle] - found.pieces[:, node]
        along = direction(curve, found.segment, t)
        across = pull[:, 0] * along[:, 1] - pull[:, 1] * along[:, 0]
        np.testing.assert_allclose(across, 0.0, atol=1e-9)


def test_few_nodes_and_exact_lines() -> None:
    found = parallel(lines([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]]), 3.0, 0.005)
    np.testing.assert_allclose(found.pieces[:, [0, 3]], [[[0.0, -3.0], [10.0, -3.0]], [[13.0, 0.0], [13.0, 10.0]]])
    quarter = np.array([[[50.0, 0.0], [50.0, 27.614237], [27.614237, 50.0], [0.0, 50.0]]])
    assert len(parallel(quarter, 15.0, 0.01).pieces) == 1


def test_a_cusp_is_a_node() -> None:
    """The parabola y = x²/20 has the radius of curvature 10 (1 + x²/100)^1.5: 20 where 1 + x²/100 = 4^(1/3)."""
    parabola = np.array([[[-30.0, 45.0], [-10.0, -15.0], [10.0, -15.0], [30.0, 45.0]]])
    # On the drawing as seen (y down) it is a hill, walked from left to right: its hollow side is on the right.
    found = parallel(parabola, -20.0, 0.005)
    x = 10.0 * np.sqrt(4.0 ** (1.0 / 3.0) - 1.0)
    cusps = (x * np.array([-1.0, 1.0]) + 30.0) / 60.0
    assert np.abs(found.t0[:, None] - cusps).min(axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert np.abs(parallel(parabola, 20.0, 0.005).t0[:, None] - cusps).min() > 1e-3


def test_cusps_and_folds_become_nodes() -> None:
    cusp = np.array([[[0.0, 0.0], [100.0, 100.0], [0.0, 100.0], [100.0, 0.0]]])
    np.testing.assert_allclose(cut_at_cusps(cusp)[:, [0, 3]], [[[0, 0], [50, 75]], [[50, 75], [100, 0]]], atol=1e-12)
    fold = np.array([[[0.0, 0.0], [50.0, 0.0], [100.0, 0.0], [-50.0, 0.0]]])
    nodes = cut_at_cusps(fold)
    # The speed 150 ((1-t)² + 2 t (1-t) - 3 t²) = 150 (1 - 4 t²) is zero at the middle.
    np.testing.assert_allclose(nodes[0, 3], [50.0, 0.0], atol=1e-12)
    plain = lines([[0.0, 0.0], [10.0, 0.0], [10.0, 5.0]])
    np.testing.assert_array_equal(cut_at_cusps(plain), plain)


def test_what_shrinks_to_a_point_is_left_out() -> None:
    angle = np.linspace(0.0, np.pi / 2.0, 5)
    node = 10.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    pull = 4.0 / 3.0 * np.tan(np.pi / 32.0) * 10.0 * np.stack([-np.sin(angle), np.cos(angle)], axis=1)
    arc = np.stack([node[:-1], node[:-1] + pull[:-1], node[1:] - pull[1:], node[1:]], axis=1)
    assert len(parallel(arc, -10.0, 0.005).pieces) == 0
    assert len(parallel(arc, -9.0, 0.005).pieces) >= 4
