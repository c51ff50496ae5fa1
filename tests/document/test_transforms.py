"""Transform lists and viewports: composed left to right, and refused where they are broken."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svgpathtools.parser import parse_transform

from scallopkit.document.transforms import element_map, read_transform, read_view_box, viewport_map
from scallopkit.errors import DrawingError
from scallopkit.geometry.motion import IDENTITY, apply

PAGE = (200.0, 100.0)


@pytest.mark.parametrize(
    ("text", "point", "image"),
    [
        ("", (3, 4), (3, 4)),
        ("none", (3, 4), (3, 4)),
        ("matrix(1 2 3 4 5 6)", (1, 1), (9, 12)),
        ("translate(10)", (1, 1), (11, 1)),
        ("translate(10-20)", (1, 1), (11, -19)),
        ("scale(2)", (1, 3), (2, 6)),
        ("scale(2,-1)", (1, 3), (2, -3)),
        ("rotate(90)", (1, 0), (0, 1)),
        ("rotate(90 10 10)", (11, 10), (10, 11)),
        ("rotate(90, 10 , 10)", (11, 10), (10, 11)),
        ("skewX(45)", (0, 1), (1, 1)),
        ("skewY(45)", (1, 0), (1, 1)),
        ("skew(45deg)", (0, 1), (1, 1)),
        ("translate(10,0) scale(2)", (1, 1), (12, 2)),
        ("scale(2),translate(10,0)", (1, 1), (22, 2)),
        ("scale(2)translate(10,0)", (1, 1), (22, 2)),
        (" translate ( 1 , 2 ) \n", (0, 0), (1, 2)),
        ("translate(10px, 1in) rotate(0.25turn)", (1, 0), (10, 97)),
        ("translateX(3px) translateY(4px) scaleX(2) scaleY(3)", (1, 1), (5, 7)),
    ],
)
def test_where_a_point_goes(text: str, point: tuple[float, float], image: tuple[float, float]) -> None:
    assert np.allclose(apply(read_transform(text), np.array(point, dtype=float)), image, rtol=0.0, atol=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "rotat(30)",
        "matrix(1 2 3)",
        "matrix(1 2 3 4 5 6 7)",
        "rotate(1 2)",
        "rotate()",
        "rotate(30",
        "rotate 30",
        "scale(2) and more",
        "scale(2),",
        "scale(2,,3)",
        "scale(2 x)",
        "scale(2px)",
        "translate(50%)",
        "translate(2em)",
        "rotate(30mm)",
        "translate3d(1,2,3)",
        "scale(1e999)",
    ],
)
def test_a_broken_list_is_refused_with_its_text(text: str) -> None:
    with pytest.raises(DrawingError) as caught:
        read_transform(text)
    assert repr(text) in str(caught.value)


@given(st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None)
def test_lists_compose_as_another_library_composes_them(chance: random.Random) -> None:
    sizes = {"matrix": 6, "translate": 2, "scale": 2, "rotate": 3, "skewX": 1, "skewY": 1}
    functions = []
    for _ in range(chance.randint(1, 4)):
        name = chance.choice(sorted(sizes))
        functions.append(f"{name}({', '.join(f'{chance.uniform(-50, 50):.4f}' for _ in range(sizes[name]))})")
    text = " ".join(functions)
    theirs = np.asarray(parse_transform(text))[:2]
    assert np.allclose(read_transform(text), theirs, rtol=1e-9, atol=1e-9 * np.abs(theirs).max())


@pytest.mark.parametrize(
    ("origin", "still"),
    [
        ("10 20", (10, 20)),
        ("10px 1in", (10, 96)),
        ("10", (10, 50)),
        ("center", (100, 50)),
        ("50% 25%", (100, 25)),
        ("right bottom", (200, 100)),
        ("top left", (0, 0)),
        ("top", (100, 0)),
        ("bottom 30px", (30, 100)),
        ("10 20 0", (10, 20)),
    ],
)
def test_the_origin_of_a_transform_stays_where_it_is(origin: str, still: tuple[float, float]) -> None:
    motion = element_map({"transform": "rotate(33) scale(2)", "transform-origin": origin}, PAGE)
    assert np.allclose(apply(motion, np.array(still, dtype=float)), still, rtol=0.0, atol=1e-12)


def test_an_origin_without_a_transform_does_nothing() -> None:
    assert np.array_equal(element_map({"transform-origin": "what ever"}, PAGE), IDENTITY)


@pytest.mark.parametrize("extra", [{"transform-origin": "5em"}, {"transform-origin": "1 2 3 4"}])
def test_a_broken_origin_is_refused(extra: dict[str, str]) -> None:
    with pytest.raises(DrawingError):
        element_map({"transform": "scale(2)", **extra}, PAGE)


def test_an_origin_on_the_elements_own_box_is_refused() -> None:
    with pytest.raises(DrawingError, match="transform-box"):
        element_map({"transform": "scale(2)", "transform-origin": "1 2", "transform-box": "fill-box"}, PAGE)


def test_view_boxes() -> None:
    assert read_view_box("0,-5 , 10\n20") == (0.0, -5.0, 10.0, 20.0)
    for text in ("0 0 10", "0 0 10 20 30", "0 0 ten 20", "", "0 0 1e999 5"):
        with pytest.raises(DrawingError, match="four numbers"):
            read_view_box(text)
    for text in ("0 0 0 5", "0 0 5 0", "0 0 -5 5"):
        with pytest.raises(DrawingError, match="no width or height"):
            read_view_box(text)


@pytest.mark.parametrize("mode", ["meet", "slice"])
@pytest.mark.parametrize(("across", "x"), [("xMin", 0.0), ("xMid", 0.5), ("xMax", 1.0)])
@pytest.mark.parametrize(("down", "y"), [("YMin", 0.0), ("YMid", 0.5), ("YMax", 1.0)])
@pytest.mark.parametrize("size", [(300.0, 100.0), (100.0, 300.0)])
def test_alignments(mode: str, across: str, x: float, down: str, y: float, size: tuple[float, float]) -> None:
    motion = viewport_map(*size, (10.0, 20.0, 50.0, 50.0), f"{across}{down} {mode}")
    scale = (min if mode == "meet" else max)(size) / 50.0
    assert np.allclose(motion[:, :2], scale * np.eye(2))
    # The same share of the box lies on the same share of the viewport.
    place = apply(motion, np.array([10.0 + 50.0 * x, 20.0 + 50.0 * y]))
    assert np.allclose(place, (size[0] * x, size[1] * y))


def test_none_stretches_and_no_box_changes_nothing() -> None:
    motion = viewport_map(300.0, 100.0, (10.0, 20.0, 50.0, 50.0), "none")
    assert np.allclose(apply(motion, np.array([[10.0, 20.0], [60.0, 70.0]])), [[0.0, 0.0], [300.0, 100.0]])
    assert np.array_equal(viewport_map(300.0, 100.0, None, "none"), IDENTITY)
    meet = viewport_map(300.0, 100.0, (0.0, 0.0, 50.0, 50.0), None)
    assert np.array_equal(meet, viewport_map(300.0, 100.0, (0.0, 0.0, 50.0, 50.0), "xMidYMid meet"))


def test_an_alignment_that_cannot_be_read_is_refused() -> None:
    with pytest.raises(DrawingError, match="preserveAspectRatio"):
        viewport_map(1.0, 1.0, (0.0, 0.0, 1.0, 1.0), "middle")


def test_one_unit_is_one_millimetre_to_the_last_bit() -> None:
    motion = viewport_map(svg := 297.0, 210.0, (0.0, 0.0, svg, 210.0), None)
    assert np.array_equal(motion, IDENTITY)
    assert math.isclose(read_transform("rotate(360)")[0, 0], 1.0, rel_tol=1e-15)
