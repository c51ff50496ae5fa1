"""Path data: every spelling of the grammar, and what is kept and said where it is broken."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svgpathtools import Arc, Path, parse_path

from scallopkit.document.path_data import PathData, read_path
from scallopkit.geometry.cubics import Array, lines, point, quadratics


def curve_of(d: str) -> Array:
    data = read_path(d, 1e-9)
    assert data.problem is None
    assert len(data.subpaths) == 1
    return data.subpaths[0].curve


def same(a: PathData, b: PathData) -> bool:
    return len(a.subpaths) == len(b.subpaths) and all(
        s.closed == t.closed and np.array_equal(s.curve, t.curve) for s, t in zip(a.subpaths, b.subpaths, strict=True)
    )


@pytest.mark.parametrize(
    ("compact", "spaced"),
    [
        ("M0.6.5L1 1", "M 0.6 0.5 L 1 1"),
        ("M100-200l5,5", "M 100 -200 L 105 -195"),
        ("M1 2 3 4 5 6", "M 1 2 L 3 4 L 5 6"),
        ("m1 2 3 4 5 6", "M 1 2 L 4 6 L 9 12"),
        ("M1e1 2E+1l3e-1-.5", "M 10 20 L 10.3 19.5"),
        ("M23. 5.L1 1", "M 23 5 L 1 1"),
        ("M0 0H5 6V7 8h1 1v-1-1", "M 0 0 L 5 0 L 6 0 L 6 7 L 6 8 L 7 8 L 8 8 L 8 7 L 8 6"),
        ("M0 0a5 5 0 1110 0", "M 0 0 A 5 5 0 1 1 10 0"),
        ("M0 0a5 5 0 01.5.5", "M 0 0 A 5 5 0 0 1 0.5 0.5"),
        ("M0 0a5 5 0 0110 0 5 5 0 0010 0", "M 0 0 A 5 5 0 0 1 10 0 A 5 5 0 0 0 20 0"),
        ("M0 0a25,25 -30 0,1 50,-25", "M 0 0 A 25 25 330 0 1 50 -25"),
        ("M0 0c1 2 3 4 5 6s1 1 2 2", "M 0 0 C 1 2 3 4 5 6 C 7 8 6 7 7 8"),
        ("M0 0q1 2 3 0t3 0 3 0", "M 0 0 Q 1 2 3 0 Q 5 -2 6 0 Q 7 2 9 0"),
        ("M0 0\n\tL\r\n1\f1 ,2 , 2", "M 0 0 L 1 1 L 2 2"),
        ("M5 5l1 0 0 1zl2 2zm1 1 1 1", "M 5 5 L 6 5 L 6 6 Z M 5 5 L 7 7 Z M 6 6 L 7 7"),
        ("M1 1zM2 2L3 3", "M 2 2 L 3 3"),
        ("M9 9M2 2L3 3M8 8", "M 2 2 L 3 3"),
    ],
)
def test_compact_and_spaced_spelling_are_one(compact: str, spaced: str) -> None:
    one, other = read_path(compact, 1e-9), read_path(spaced, 1e-9)
    assert one.problem is None
    assert other.problem is None
    assert len(one.subpaths) == len(other.subpaths) > 0
    for a, b in zip(one.subpaths, other.subpaths, strict=True):
        assert a.closed == b.closed
        # 10.3 - 10 and .3 differ in the last bit.
        assert np.allclose(a.curve, b.curve, rtol=0.0, atol=1e-13)


def test_lines_and_quadratics_become_cubics_of_the_same_speed() -> None:
    assert np.array_equal(curve_of("M1 2L4 8H9"), lines([[1, 2], [4, 8], [9, 8]]))
    assert np.array_equal(curve_of("M0 0Q5 9 10 0"), quadratics([[[0, 0], [5, 9], [10, 0]]]))


def test_closed_means_ended_by_z() -> None:
    returning, closed = read_path("M0 0L9 0L9 9L0 0", 1e-9), read_path("M0 0L9 0L9 9z", 1e-9)
    assert not returning.subpaths[0].closed
    assert closed.subpaths[0].closed
    assert np.array_equal(returning.subpaths[0].curve, closed.subpaths[0].curve)
    already_there = read_path("M0 0L9 0L9 9L0 0z", 1e-9)
    assert len(already_there.subpaths[0].curve) == 3
    assert already_there.dropped == 0


def test_drawing_goes_on_at_the_first_point_after_z() -> None:
    first, second = read_path("M10 10L10 20L20 10zL100 100", 1e-9).subpaths
    assert first.closed
    assert not second.closed
    assert np.array_equal(second.curve, lines([[10, 10], [100, 100]]))


def test_segments_without_length_are_dropped_and_counted() -> None:
    data = read_path("M1 1L1 1L2 2h0v0L3 3C3 3 3 3 3 3A5 5 0 0 1 3 3L4 4", 1e-9)
    assert data.dropped == 5
    assert np.array_equal(data.subpaths[0].curve, lines([[1, 1], [2, 2], [3, 3], [4, 4]]))
    nothing = read_path("M1 1L1 1z", 1e-9)
    assert nothing.subpaths == ()
    assert nothing.dropped == 1


@pytest.mark.parametrize(
    "d",
    [
        "M0 0C0 0 10 0 10 0",
        "M0 0C10 0 0 0 10 0",
        "M0 0C20 0-10 0 10 0",
        "M0 0Q20 0 10 0",
        "M0 0Q5 5 0 0",
        "M0 0C0 0 0 0 10 0",
    ],
)
def test_straight_and_folded_curves_stay_as_they_are(d: str) -> None:
    curve = curve_of(d)
    assert len(curve) == 1
    other = parse_path(d)[0]
    for t in (0.0, 0.3, 0.5, 0.9, 1.0):
        assert complex(*point(curve, np.array([0]), np.array([t]))[0]) == pytest.approx(other.point(t), abs=1e-12)


@pytest.mark.parametrize("d", ["", "  \n", "none", "M5 5"])
def test_what_draws_nothing_is_no_problem(d: str) -> None:
    data = read_path(d, 1e-9)
    assert data.subpaths == ()
    assert data.problem is None


# Path, the part of it that is kept, the character named, what stood there (empty: the end of the data).
BROKEN = [
    ("L1 1", "", 1, "L1 1"),
    ("x", "", 1, "x"),
    ("M", "", 1, ""),
    ("M1", "", 2, ""),
    ("M,1 1", "", 2, ",1 1"),
    ("M1 1,", "", 5, ","),
    ("M1 1L2 2,,3 3", "M1 1L2 2", 10, ",3 3"),
    ("M1 1L2 2 3", "M1 1L2 2", 10, ""),
    ("M1 1L2 2 3L4 4", "M1 1L2 2", 11, "L4 4"),
    ("M1 1L2 2 x3 3", "M1 1L2 2", 10, "x3 3"),
    ("M1 1h1 1 1#", "M1 1h1 1 1", 11, "#"),
    ("M1 1L2 2L", "M1 1L2 2", 9, ""),
    ("M1 1L2 2z3", "M1 1L2 2z", 10, "3"),
    ("M1 1L2 2zz ,", "M1 1L2 2z", 12, ","),
    ("M1 1C1 2 3 4 5 6 7 8", "M1 1C1 2 3 4 5 6", 20, ""),
    ("M1 1L2 2L1e10 3", "M1 1L2 2", 10, "1e10 3"),
    ("M1 1L2 2L3 -1e999 4 4", "M1 1L2 2", 12, "-1e999 4 4"),
    ("M1 1L2 2 3 nan", "M1 1L2 2", 12, "nan"),
    ("M0 0A5 5 0 2 1 9 9", "", 12, "2 1 9 9"),
    ("M0 0A5 5 0 0-1 9 9", "", 13, "-1 9 9"),
    ("M0 0A5 5 0 0 1 9", "", 16, ""),
    ("M0 0A5 5 0 0 1 9 9,", "M0 0A5 5 0 0 1 9 9", 19, ","),
    ("M0 0A5 5 0 0 1 9 9 5 5 0 0 1 1e99 0", "M0 0A5 5 0 0 1 9 9", 30, "1e99 0"),
    ("M1 1L2 2LL3 3", "M1 1L2 2", 10, "L3 3"),
]


@pytest.mark.parametrize(("d", "kept", "place", "stood"), BROKEN)
def test_what_comes_before_a_fault_is_kept_and_the_fault_is_told(d: str, kept: str, place: int, stood: str) -> None:
    data = read_path(d, 1e-3)
    assert same(data, read_path(kept, 1e-3))
    assert data.problem is not None
    assert f"character {place}" in data.problem
    assert repr(stood)[1:-1] in data.problem if stood else "end after" in data.problem


def test_a_fault_tells_where_the_pen_stopped() -> None:
    assert read_path("M1 1L2 5 x", 1e-9).stopped == (2.0, 5.0)
    assert read_path("x", 1e-9).stopped is None
    assert read_path("M1 1L2 5", 1e-9).stopped is None


def test_a_long_run_of_blanks_takes_no_time() -> None:
    data = read_path("M0 0A5 5 0" + " " * 200_000 + "x", 1e-9)
    assert data.problem is not None
    assert "character 200011" in data.problem


def random_path(chance: random.Random) -> str:
    def number() -> str:
        return f"{chance.uniform(-50.0, 50.0):.3f}"

    parts = [f"M{number()},{number()}"]
    for _ in range(chance.randint(1, 12)):
        kind = chance.choice("LlHhVvCcSsQqTtAaZzMm")
        size = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "M": 2}.get(kind.upper(), 0)
        for _ in range(chance.randint(1, 2)):
            values = [number() for _ in range(size)]
            if kind.upper() == "A":
                radii = [f"{chance.uniform(30.0, 90.0):.2f}" for _ in range(2)]
                values = [*radii, number(), chance.choice("01"), chance.choice("01"), number(), number()]
            parts.append(kind + chance.choice([" ", ","]).join(values))
    return " ".join(parts)


@given(st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_as_another_library_reads_it(chance: random.Random) -> None:
    d = random_path(chance)
    try:
        theirs: Path = parse_path(d)
    except AssertionError:
        # That reader stumbles over an arc that ends where it begins.
        return
    ours = read_path(d, 1e-7)
    assert ours.problem is None
    # Length by a fine polyline of both: an independent reader, the same way of measuring.
    t = np.linspace(0.0, 1.0, 400)
    expected = sum(
        float(np.abs(np.diff([s.point(x) for x in t])).sum())
        for s in theirs
        if abs(s.start - s.end) or not isinstance(s, Arc)
    )
    length = 0.0
    for sub in ours.subpaths:
        number = np.repeat(np.arange(len(sub.curve)), len(t))
        walked = point(sub.curve, number, np.tile(t, len(sub.curve))).reshape(-1, len(t), 2)
        length += float(np.hypot(*np.moveaxis(np.diff(walked, axis=1), -1, 0)).sum())
    # Polylines of 400 steps are short by less than this, and by different amounts where arcs are cut up.
    assert length == pytest.approx(expected, rel=2e-4, abs=1e-6)


@given(st.randoms(use_true_random=False))
@settings(max_examples=100, deadline=None)
def test_unusual_separators_change_nothing(chance: random.Random) -> None:
    d = random_path(chance)
    slow = d.replace(",", "  ,\n ")
    assert same(read_path(d, 1e-6), read_path(slow, 1e-6))


@given(st.text("MmLlZzAaCcHVSQTt0123456789.,-+eE x\n", max_size=60))
@settings(max_examples=500, deadline=None)
def test_any_text_is_read_or_told(d: str) -> None:
    data = read_path(d, 1e-3)
    assert all(np.isfinite(s.curve).all() and len(s.curve) for s in data.subpaths)
    assert data.problem is None or data.problem.startswith(("character ", "the data end"))
    for sub in data.subpaths:
        assert np.array_equal(sub.curve[1:, 0], sub.curve[:-1, 3])
        assert not sub.closed or np.array_equal(sub.curve[0, 0], sub.curve[-1, 3])
