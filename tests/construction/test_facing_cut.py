"""Facings as they are cut: areas in closed form, mirrored ends, and the same cut as the garment's."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Polygon

from scallopkit.construction.facing import Facing, shaped_facings
from scallopkit.construction.facing_cut import FacingCut, facing_cut
from scallopkit.construction.trimmed_edge import (
    SCALLOPED,
    STRAIGHT,
    Cut,
    edge_cuts,
    flat_cut,
    greatest_height,
    outside_of,
    stitching,
)
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
    run: Run, cut: Cut, depth: float = 40.0, inner: float = INNER, turn: float = 0.0
) -> list[tuple[Facing, FacingCut]]:
    found, _ = shaped_facings(run.laid, run.line, run.shares, run.origin, depth, turn=turn)
    stitched = [stitching(run.line, share, run.laid, run.origin, turn) for share in run.shares]
    height = cut.distance + (greatest_height(run.line, outside_of(run.laid, run.line)) if cut.kind == STRAIGHT else 0.0)
    out = []
    for one in found:
        parts = () if one.ring else one.parts
        along = flat_cut(run.laid, run.line, run.shares, run.origin, cut, 40.0, parts, stitched=stitched)
        out.append((one, facing_cut(one, height, SEAM, inner, along)))
    return out


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
        assert nearest(garment.cutting, points).distance.max() < PARALLEL


def test_the_turn_of_cloth_changes_no_more_of_the_cut_than_the_turn() -> None:
    """The allowances at a facing's own seams stay in line with the seam whatever the turn.

    No place of the cutting line moves by more than the turn does, but where the line meets the seam's allowance aslant.
    """
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    run = scallop(drawing, [HEM[1], HEM[2]], join=[HEM_JOINS[1]], width=22, depth="35%")
    plain = made(run, Cut(SCALLOPED, 6.0))
    for turn in (0.01, 0.5):
        for (_, before), (_, after) in zip(plain, made(run, Cut(SCALLOPED, 6.0), turn=turn), strict=True):
            points = cubics.flatten(after.curves[0], 0.01)
            assert 0.5 * turn < nearest(before.curves[0], points).distance.max() < 1.5 * turn + PARALLEL


@pytest.mark.parametrize("turn", [0.0, 0.01, 0.5])
def test_facings_end_alike_at_their_seam_whatever_the_turn_of_cloth(turn: float) -> None:
    """A neckline over a shoulder that slants: along the seam both facings are cut as far beyond the stitching line."""
    text = (
        '<path id="front" d="M 20,120 C 60,120 90,80 100,30 L 190,60 V 300 H 20 Z"/>'
        '<path id="back" d="M 600,60 C 560,62 528,52 510,30 L 420,60 V 300 H 600 Z"/>'
    )
    run = scallop(read(text), ["front:c0..c1", "back:c1..c0"], join=["seam"], width=18, depth="30%", side="outward")
    reaches = []
    for (facing, cut), at_end in zip(made(run, Cut(SCALLOPED, 6.0), turn=turn), (True, False), strict=True):
        stitch = facing.edge[-1, 3] if at_end else facing.edge[0, 0]
        seam = facing.end if at_end else facing.start
        along = cubics.ends_direction(seam)[0]
        place, t = cubics.meets_line(cut.curves[0], stitch, cubics.left(along))
        beyond = (stitch - cubics.point(cut.curves[0], place, t)) @ along
        reaches.append(float(beyond[beyond > 0.0].min()))
    assert 5.0 < reaches[0] < 15.0
    assert reaches[0] == pytest.approx(reaches[1], abs=PARALLEL)
