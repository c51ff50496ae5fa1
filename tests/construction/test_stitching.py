"""Stitches round scallops: whole ones, that fill each line to the last, and thread for all of them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.construction.stitching import bare_stretches, stitches_an_inch, stitching, thread_length
from scallopkit.construction.strip import band_length
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.trim.course import WRAP, Stop, Weights, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.profiles import PROFILES
from scallopkit.trim.scallops import scallops
from scallopkit.trim.shape import Shape
from scallopkit.trim.sharing import Trimmed, trimmed

from ..shapes import course, crest_ends, rectangle, valley_ends


def line_on(curve: Array, shape: Shape, halves: bool = False, **wish: object) -> Trimmed:
    c = course(curve)
    stops = crest_ends(c) if halves else valley_ends(c)
    row = fit(c, stops, Wish(shape, **wish)).row  # type: ignore[arg-type]
    return trimmed(scallops(row, shape, 1), c, stops)


def straight(length: float, shape: Shape, halves: bool = False, **wish: object) -> Trimmed:
    return line_on(cubics.lines([(0, 0), (length, 0)]), shape, halves, **wish)


def drawn_length(line: Trimmed) -> float:
    return sum(measure(curve).length for curve in [*line.curves, *line.links] if curve is not None and len(curve))


def test_half_circles_of_30_mm() -> None:
    """15 pi = 47.12 mm of line: 1 mm across the valley and 31 stitches of 1.4878 mm (30 would be 1.5375 mm long)."""
    made = stitching(straight(120.0, Shape("half-circle", "share", 0.5), count=4))
    (one,) = made.scallops
    assert one.scallops == (1, 2, 3, 4)
    assert one.arc_mm == pytest.approx(47.12, abs=0.005)
    assert (one.per_scallop, one.across_mm) == (31, 1.0)
    assert one.length_mm == pytest.approx((15.0 * math.pi - 1.0) / 31.0, rel=1e-9)
    # Three valleys with a stitch across, and half of one at each end.
    assert made.stitches == 4 * 31 + 3 + 2 * 0.5
    assert made.length_mm == pytest.approx(60.0 * math.pi, rel=1e-9)


@settings(max_examples=60)
@given(
    st.sampled_from(sorted(PROFILES)),
    st.floats(4.0, 120.0),
    st.floats(0.1, 0.5),
    st.floats(0.5, 4.0),
    st.floats(0.2, 3.0),
)
def test_whole_stitches_fill_each_scallop(
    profile: str, width: float, share: float, wanted: float, across: float
) -> None:
    line = straight(5 * width, Shape(profile, "share", share), count=5)
    made = stitching(line, wanted, across)
    (one,) = made.scallops
    assert isinstance(one.per_scallop, int)
    assert one.per_scallop * one.length_mm + one.across_mm == pytest.approx(one.arc_mm, rel=1e-12)
    assert one.arc_mm == pytest.approx(measure(line.curves[0]).length, rel=1e-7)
    # No other count comes nearer to the wanted length.
    others = [n for n in (one.per_scallop - 1, one.per_scallop + 1) if n > 0]
    room = one.arc_mm - across
    assert all(abs(one.length_mm - wanted) <= abs(room / n - wanted) + 1e-12 for n in others)
    assert made.stitches == 5 * (one.per_scallop + 1)
    assert made.length_mm == pytest.approx(drawn_length(line), rel=1e-7)


def test_sizes_are_told_apart() -> None:
    made = stitching(straight(300.0, Shape("half-circle", "share", 0.5), count=8, weights=Weights((1.0, 2.0))))
    assert [one.scallops for one in made.scallops] == [(1, 3, 5, 7), (2, 4, 6, 8)]
    assert [one.arc_mm for one in made.scallops] == pytest.approx([12.5 * math.pi, 25.0 * math.pi])
    assert made.stitches == 4 * sum(one.per_scallop + 1 for one in made.scallops)


@pytest.mark.parametrize(("space", "count"), [(16.0, 11), (1.2, 1), (0.4, 1)])
def test_a_space_takes_whole_stitches_too(space: float, count: int) -> None:
    """16 mm: 1 mm for half a stitch across at each end, 10 of 1.5 mm between; a space of a stitch is one stitch."""
    line = straight(3 * 30.0 + 2 * space, Shape("half-circle", "share", 0.5), count=3, space=space)
    made = stitching(line)
    assert made.stitches == 3 * (made.scallops[0].per_scallop + 1) + 2 * count
    assert made.length_mm == pytest.approx(45.0 * math.pi + 2 * space, rel=1e-7)


def test_halves_take_half_the_stitches() -> None:
    line = straight(100.0, Shape("arc", "share", 0.4), halves=True, count=5)
    made = stitching(line)
    (one,) = made.scallops
    assert one.scallops == (1, 2, 3, 4, 5, 6)
    assert made.stitches == 5 * (one.per_scallop + 1)
    assert made.length_mm == pytest.approx(5 * one.arc_mm, rel=1e-9) == pytest.approx(drawn_length(line), rel=1e-7)


def test_a_wrapped_corner_has_stitches_of_its_own() -> None:
    c = course(rectangle(420.0, 420.0), loop=True)
    stops = tuple(Stop(f"c{i}", 420.0 * i, WRAP, turn=math.pi / 2.0) for i in range(4))
    shape = Shape("arc", "share", 1.0 / 3.0)
    line = trimmed(scallops(fit(c, stops, Wish(shape, count=56)).row, shape, 1), c)
    made = stitching(line)
    plain, corner = sorted(made.scallops, key=lambda one: one.arc_mm)
    r = line.placed.radius[0]
    # Its arc turns by a right angle more than its neighbours'.
    assert corner.arc_mm - plain.arc_mm == pytest.approx(0.5 * math.pi * r, rel=1e-9)
    assert len(corner.scallops) == 4
    # Round the loop every valley is whole.
    assert made.stitches == 52 * (plain.per_scallop + 1) + 4 * (corner.per_scallop + 1)
    assert made.length_mm == pytest.approx(drawn_length(line), rel=1e-7)


@pytest.mark.parametrize(
    ("stitch", "across", "text"),
    [
        (0.0, 1.0, "a stitch can't be 0 mm long"),
        (1.5, -1.0, "the stitch across a valley can't be -1 mm long"),
        (math.nan, 1.0, "a stitch can't be nan mm long"),
        (1.5, 50.0, "50 mm across each valley leaves nothing of scallop 1, whose line is 47.1 mm long"),
    ],
)
def test_stitches_that_can_not_be(stitch: float, across: float, text: str) -> None:
    line = straight(120.0, Shape("half-circle", "share", 0.5), count=4)
    with pytest.raises(RequestError, match=text):
        stitching(line, stitch, across)


def test_a_scallop_smaller_than_a_stitch_takes_one() -> None:
    made = stitching(straight(6.0, Shape("arc", "share", 0.1), count=3), 4.0)
    assert made.scallops[0].per_scallop == 1


# --- thread -----------------------------------------------------------------------------------------------------------


def test_thread_of_an_inch_of_lockstitch() -> None:
    """T = 0.01, S = 10, type 301: 2.2 inches (problem 2).

    https://www.textilecalculations.com/calculate-amount-of-sewing-thread-consumption/
    """
    assert thread_length(25.4, 0.01 * 25.4, 25.4 / 10.0, waste=0.0) == pytest.approx(2.2 * 25.4)
    # An allowance of 15 % on a seam's thread: 540 cm become 621 cm (http://www.apparelscience.com/measuring-actual-
    # thread-consumption/); the seam is the length that takes 540 cm without it.
    seam = 5400.0 / 2.2
    assert thread_length(seam, 0.254, 2.54) == pytest.approx(6210.0)


def test_stitches_an_inch() -> None:
    """25.4 / 2.5 = 10.16 (https://melgeecrafts.com/to-sew/what-is-the-ideal-length-of-thread-when-doing-hand-stitching.html)."""
    assert stitches_an_inch(2.5) == pytest.approx(10.16)


@pytest.mark.parametrize(
    "figures", [(-1.0, 1.0, 1.5, 0.1), (10.0, -1.0, 1.5, 0.1), (10.0, 1.0, 0.0, 0.1), (10.0, 1.0, 1.5, -0.1)]
)
def test_thread_that_can_not_be(figures: tuple[float, float, float, float]) -> None:
    with pytest.raises(RequestError, match="no thread can be counted"):
        thread_length(*figures)
    with pytest.raises(RequestError, match="no thread can be counted"):
        thread_length(math.nan, *figures[1:])


@pytest.mark.parametrize("loop", [False, True])
def test_the_edge_that_gaps_leave_bare_is_sewn_too(loop: bool) -> None:
    """A straight line of 400 mm, or a square with that much round it: gaps of 40, 15 on either side, and 20 mm."""
    curve = rectangle(100.0, 100.0) if loop else cubics.lines([(0, 0), (400, 0)])
    c = course(curve, loop=loop)
    stops = [Stop("a", 0.0, "valley", gap=40.0), Stop("m", 200.0, "valley", gap=15.0)]
    stops += [] if loop else [Stop("b", 400.0, "valley", gap=20.0)]
    shape = Shape("half-circle", "share", 0.5)
    row = fit(c, tuple(stops), Wish(shape, count=10)).row
    line = trimmed(scallops(row, shape, 1, closing=c.measured.closing), c, tuple(stops))
    bare = 2 * 40.0 + 2 * 15.0 if loop else 40.0 + 2 * 15.0 + 20.0
    arcs = float(0.5 * math.pi * row.width.sum())
    assert sum(end - begin for begin, end in bare_stretches(line)) == pytest.approx(bare, abs=1e-6)
    assert stitching(line).length_mm == pytest.approx(arcs + bare, rel=1e-9)
    assert band_length(line) == pytest.approx(arcs + bare, rel=1e-9)


@pytest.mark.parametrize("stitch", [0.29, 10.1])
def test_stitches_that_no_machine_sews(stitch: float) -> None:
    with pytest.raises(RequestError, match=r"from 0\.3 to 10 mm"):
        stitching(straight(120.0, Shape("half-circle", "share", 0.5), count=4), stitch)
