"""Facings as they are cut: areas in closed form, mirrored ends, and the same cut as the garment's."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Polygon

from scallopkit.construction.facing import Facing, shaped_facings
from scallopkit.construction.facing_cut import FacingCut, facing_cut
from scallopkit.construction.trimmed_edge import SCALLOPED, STRAIGHT, Cut, edge_cuts, greatest_height, outside_of
from scallopkit.demo_waistcoat import HEM, HEM_JOINS, waistcoat
from scallopkit.document.reader import read_drawing
from scallopkit.document.runs import Run
from scallopkit.document.workshop import scallop
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.nearest import nearest
from tests.drawings import BOX, QUARTER, ROUND, read

# Promised of parallels, mm.
PARALLEL = 0.02
SEAM, INNER = 15.0, 8.0


def made(
    run: Run, cut: Cut, depth: float = 40.0, merged: tuple[int, ...] = (), inner: float = INNER
) -> list[tuple[Facing, FacingCut]]:
    found, _ = shaped_facings(run.laid, run.line, run.shares, run.origin, depth, merged)
    return [
        (one, facing_cut(one, cut, greatest_height(run.line, outside_of(run.laid, run.line)), SEAM, inner))
        for one in found
    ]


def area(cut: FacingCut) -> float:
    outer, *holes = (cubics.flatten(curve, 1e-3) for curve in cut.curves)
    shape = Polygon(outer, holes)
    assert shape.is_valid
    return float(shape.area)


def test_a_straight_cut_makes_a_rectangle() -> None:
    run = scallop(read(BOX), "box:c0..c1", count=10, depth="40%", side="outward")
    ((facing, cut),) = made(run, Cut(STRAIGHT, 9.5))
    # 30 mm wide scallops, 12 mm deep.
    assert area(cut) == pytest.approx((300.0 + 2 * SEAM) * (40.0 + INNER + 12.0 + 9.5), abs=0.01)
    assert facing.area < area(cut)


def test_a_scalloped_cut_goes_on_as_its_mirror_image_at_the_ends() -> None:
    run = scallop(read(BOX), "box:c0..c1", count=10, depth="40%", side="outward")
    ((_, cut),) = made(run, Cut(SCALLOPED, 6.0))
    w, h = 30.0, 12.0
    r = (0.25 * w * w + h * h) / (2.0 * h)
    big, foot = r + 6.0, r - h

    def under(x: float) -> float:
        """Area under the parallel arc over the base line from its middle to x."""
        return 0.5 * (x * math.sqrt(big * big - x * x) + big * big * math.asin(x / big)) - foot * x

    # Ten scallops' parallels meet over the valleys; half of one more lies over the seam allowance on either side.
    expected = (300.0 + 2 * SEAM) * (40.0 + INNER) + 11 * 2.0 * under(15.0)
    assert area(cut) == pytest.approx(expected, abs=PARALLEL * 330.0)
    points = cubics.flatten(cut.edge, 0.01)
    for x in (10.0, 310.0):
        beyond = points[np.abs(points[:, 0] - x) < SEAM - 0.1]
        image = np.stack([2.0 * x - beyond[:, 0], beyond[:, 1]], axis=1)
        assert nearest(cut.edge, image).distance.max() < PARALLEL


def test_nothing_is_added_on_a_fold() -> None:
    run = scallop(read(QUARTER), "quarter:c1..c2", count=5, depth="25%", start="fold", end="fold")
    ((_, cut),) = made(run, Cut(SCALLOPED, 6.0), depth=60.0, inner=0.0)
    assert cubics.bounds(cut.curves[0])[0] == pytest.approx((0.0, 0.0), abs=1e-6)
    for line, axis in zip(cut.ends, (1, 0), strict=True):
        assert np.abs(line[..., axis]).max() < 1e-6
        assert float(np.ptp(line[..., 1 - axis])) > 60.0


def test_a_ring_is_cut_along_two_lines() -> None:
    run = scallop(read(ROUND), count=16, depth="25%")
    ((facing, cut),) = made(run, Cut(STRAIGHT, 10.0), depth=30.0)
    height = greatest_height(run.line, outside_of(run.laid, run.line))
    assert facing.ring
    assert area(cut) == pytest.approx(math.pi * ((110.0 + height) ** 2 - (70.0 - INNER) ** 2), abs=PARALLEL * 1300.0)


@pytest.mark.parametrize("cut", [Cut(SCALLOPED, 6.0), Cut(STRAIGHT, 9.5)])
def test_a_facing_with_the_garments_seams_is_cut_as_the_garment_is(cut: Cut) -> None:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    run = scallop(drawing, [HEM[1], HEM[2]], join=[HEM_JOINS[1]], width=22, depth="35%")
    own = edge_cuts(run.laid, run.line, run.shares, run.origin, cut, 40.0, {})
    for (facing, made_cut), garment in zip(made(run, cut), own, strict=True):
        to_sheet = motion.inverse(run.laid.parts[facing.parts[0]].motion)
        points = motion.apply(to_sheet, cubics.flatten(made_cut.edge, 0.01))
        # Beside the seam, where the hem dips, the garment's allowance goes by its neighbour's scallops, not by its own.
        away = nearest(garment.cutting, points).distance
        ends = garment.stitching[[0, -1], [0, 3]]
        inside = np.min([np.hypot(*(points - end).T) for end in ends], axis=0) > 25.0
        assert away[inside].max() < PARALLEL
        assert away.max() < 0.6
