"""Beyond a seam the cut of a trimmed edge is its mirror image; no tooth of another scallop is begun at its end."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from scallopkit.demo_apron import apron
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import cut, redrawn, scallop
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array

# The flap's sides as they are drawn, and how far scallops are cut beyond their stitching, mm.
LEFT, RIGHT, SCALLOPED = 637.0, 783.0, 6.0
# Shears turn at no smaller step, mm; common practice, no source.
TOOTH = 3.0


def flap_cut(allowance: float) -> Array:
    """The cutting line of the apron's flap."""
    drawing = read_drawing(apron().encode(), "apron.svg")
    words = {"width": "20mm", "depth": "35%", "finish": "faced", "cut": f"scalloped:{SCALLOPED:g}mm"}
    drawing = redrawn(drawing, [scallop(drawing, "flap:c3..c2", name="flap", **words)])
    (made,) = cut(drawing, "flap", allowance=f"{allowance}mm")
    return made.cut.cutting.curve


def corners_of(curve: Array) -> Array:
    """The places (k, 2) where a closed line turns by more than 15 degrees, in order."""
    out = []
    for before, after in pairwise([curve[-1:], *(curve[k : k + 1] for k in range(len(curve)))]):
        came, goes = cubics.ends_direction(before)[1], cubics.ends_direction(after)[0]
        if abs(np.arctan2(cubics.cross(came, goes), came @ goes)) > np.radians(15.0):
            out.append(after[0, 0])
    return np.array(out)


@pytest.mark.parametrize("allowance", [11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0])
def test_no_tooth_is_cut_where_the_mirror_image_ends(allowance: float) -> None:
    curve = flap_cut(allowance)
    found = corners_of(curve)
    steps = np.hypot(*np.diff(np.concatenate([found, found[:1]]), axis=0).T)
    assert steps.min() >= TOOTH
    # It is as wide as its allowances all the same.
    low, high = cubics.bounds(curve)
    assert (low[0], high[0]) == pytest.approx((LEFT - allowance, RIGHT + allowance), abs=0.02)
    # And alike on both sides.
    turned = found * (-1.0, 1.0) + (LEFT + RIGHT, 0.0)
    assert max(float(np.hypot(*(found - one).T).min()) for one in turned) < 0.02


def test_what_is_more_than_a_tooth_is_cut() -> None:
    # With an inch of allowance the next scallop has room, and its valley is there.
    found = corners_of(flap_cut(25.4))
    valleys = [one for one in found if LEFT - 25.0 < one[0] < LEFT - 2.0 and one[1] > 120.0]
    assert len(valleys) == 1


def test_of_a_tooth_the_line_ends_straight_from_the_valley_to_the_seam_s_cutting_line() -> None:
    curve = flap_cut(12.0)
    found = corners_of(curve)
    (last,) = [one for one in found if abs(one[0] - (LEFT - 12.0)) < 0.02 and one[1] > 120.0]
    # Square to the side, whose cutting line is upright, from the valley 0.7 mm before it.
    nodes = curve[:, 0]
    beside = nodes[np.hypot(*(nodes - last).T) < 2.5]
    assert len(beside) >= 2
    assert np.ptp(beside[:, 1]) < 0.1
