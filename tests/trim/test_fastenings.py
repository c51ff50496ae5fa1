"""Buttonholes, buttons and snaps: their sizes, the room they take, and how they look."""

from __future__ import annotations

import numpy as np
import pytest

from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.length import measure
from scallopkit.trim.course import Course
from scallopkit.trim.eyelet_sizes import NAMED, named_size
from scallopkit.trim.eyelets import eyelet_size, eyelet_warnings, eyelets_along
from scallopkit.trim.fastenings import BAR, BUTTON, SNAP, WORKED, buttonhole, round_part
from scallopkit.trim.part_shapes import shapes_of

LINE = Course(measure(cubics.lines([(0.0, 0.0), (300.0, 0.0)])), False, 1)


def test_a_buttonhole_lies_along_or_across() -> None:
    along, across = buttonhole(18.0, 4.0), buttonhole(18.0, 4.0, lies="across")
    assert (along.beside, along.deep) == (22.0 + 2.0 * BAR, WORKED)
    assert (across.beside, across.deep) == (along.deep, along.beside)
    assert along.flange == across.flange == along.beside
    assert buttonhole(18.0).assumed == ("thickness",)
    assert buttonhole(18.0, 4.0).assumed == ()


@pytest.mark.parametrize(("size", "deep"), [(buttonhole(18.0, 4.0), WORKED), (round_part(SNAP, 12.0), 12.0)])
def test_parts_stand_half_their_depth_and_the_margin_inside_the_edge(size: object, deep: float) -> None:
    row = eyelets_along(LINE, size, count=5, margin=3.0)  # type: ignore[arg-type]  # one of the sizes
    # Scallops would bulge to the left, up on the drawing; the cloth is below.
    assert np.allclose(row.points[:, 1], 0.5 * deep + 3.0)


def test_a_buttonhole_s_slit_and_bars_are_drawn_as_it_lies() -> None:
    for lies, step in (("along", (22.0, 0.0)), ("across", (0.0, 22.0))):
        row = eyelets_along(LINE, buttonhole(18.0, 4.0, lies=lies), count=3)
        (shape,) = shapes_of(row, 1)
        slit, *bars = shape.lines
        assert np.allclose(np.abs(slit[-1, 3] - slit[0, 0]), step)
        assert np.allclose(0.5 * (slit[-1, 3] + slit[0, 0]), row.points[1])
        for bar, end in zip(bars, (slit[0, 0], slit[-1, 3]), strict=True):
            assert np.allclose(0.5 * (bar[0, 0] + bar[-1, 3]), end)
            assert np.allclose((bar[-1, 3] - bar[0, 0]) @ (slit[-1, 3] - slit[0, 0]), 0.0)


@pytest.mark.parametrize("lies", ["along", "across"])
def test_a_patch_reaches_so_far_beyond_all_round(lies: str) -> None:
    import shapely

    row = eyelets_along(LINE, buttonhole(18.0, 4.0, lies=lies), count=3)
    row = type(row)(row.points, row.s, row.scallop, row.size, row.into, patch=5.0)
    outline = shapely.Polygon(cubics.flatten(shapes_of(row, 1)[-1].lines[0], 1e-4))
    x, y = row.points[1]
    half = np.array([0.5 * row.size.beside, 0.5 * row.size.deep])
    worked = shapely.box(x - half[0], y - half[1], x + half[0], y + half[1]).buffer(5.0, quad_segs=256)
    # Flattening and the buffer's own corners leave a thousandth.
    assert outline.is_valid
    assert outline.symmetric_difference(worked).area < 1e-2


def test_round_parts_are_one_line_each() -> None:
    for part, lines in ((SNAP, 2), (BUTTON, 3)):
        (shape,) = shapes_of(eyelets_along(LINE, round_part(part, 12.0), count=3), 0)
        assert (shape.role, shape.name, len(shape.lines)) == ("eyelet", part, lines)


def test_buttonholes_side_by_side_are_measured_by_their_own_shape() -> None:
    # 26 mm long and 5 wide: 30 mm apart they leave 4 mm end to end, and 25 mm side by side.
    for lies, told in (("along", True), ("across", False)):
        row = eyelets_along(LINE, buttonhole(18.0, 4.0, lies=lies), count=11, inset=40.0)
        codes = [warning.code for warning in eyelet_warnings(row, [LINE.measured.curve], 6.0)]
        assert (codes == ["eyelets-close"]) is told


@pytest.mark.parametrize("name", NAMED)
def test_named_eyelets_are_sizes(name: str) -> None:
    size = named_size(name)
    assert size.opening == float(name[1:])
    assert size.opening < size.hole < size.barrel < size.flange
    assert set(size.assumed) == {"barrel", "barrel_length", "flange", "hole"}


def test_what_is_no_size_is_refused() -> None:
    with pytest.raises(NameUnknownError, match=r"e5\.5"):
        named_size("e7")
    for wrong in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(RequestError, match="no size"):
            buttonhole(wrong)
        with pytest.raises(RequestError, match="no size"):
            round_part(BUTTON, wrong)
    with pytest.raises(RequestError, match="across"):
        buttonhole(18.0, lies="askew")
    with pytest.raises(ValueError, match="buttonholes"):
        _ = eyelets_along(LINE, eyelet_size(4.0), count=2).slits
