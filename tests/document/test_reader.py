"""Drawings read to pieces and marks in mm, and what is said about all that was left aside."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing, read_file
from scallopkit.errors import DrawingError
from scallopkit.geometry.cubics import area, bounds, lines
from scallopkit.pattern.piece import Piece, Warn

NAMESPACES = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" xmlns:sodipodi="http://sodipodi.example.org"'
)
IN_MM = 'width="500mm" height="400mm" viewBox="0 0 500 400"'


def read(body: str, head: str = IN_MM) -> Drawing:
    return read_drawing(f"<svg {NAMESPACES} {head}>{body}</svg>".encode(), "a.svg")


def only(drawing: Drawing) -> Piece:
    assert len(drawing.pattern.pieces) == 1
    return drawing.pattern.pieces[0]


def names(drawing: Drawing) -> list[str]:
    return [piece.name for piece in drawing.pattern.pieces]


def codes(drawing: Drawing) -> list[str]:
    return [warning.code for warning in drawing.pattern.warnings]


def warned(drawing: Drawing, code: str) -> Warn:
    found = [warning for warning in drawing.pattern.warnings if warning.code == code]
    assert len(found) == 1
    return found[0]


# --- units and the page ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "mm", "size"),
    [
        ('width="500mm" height="400mm" viewBox="0 0 500 400"', 1.0, (500.0, 400.0)),
        ('width="50 cm" height="40,0cm" viewBox="0 0 500 400"', 1.0, (500.0, 400.0)),
        ('width="10in" height="5in" viewBox="0 0 254 127"', 1.0, (254.0, 127.0)),
        ('width="10in" height="5in" viewBox="0 0 720 360"', 25.4 / 72.0, (254.0, 127.0)),
        ('width="200mm" viewBox="0 0 100 50"', 2.0, (200.0, 100.0)),
        ('height="100mm" width="auto" viewBox="0 0 100 50"', 2.0, (200.0, 100.0)),
        ('width="500mm" height="400mm"', 25.4 / 96.0, (500.0, 400.0)),
        ('width="200mm" height="200mm" viewBox="0 0 100 50"', 2.0, (200.0, 200.0)),
        ('width="200mm" height="200mm" viewBox="0 0 100 50" preserveAspectRatio="xMinYMin slice"', 4.0, (200.0, 200.0)),
        ('width="200mm" height="100mm" viewBox="0 0 100 50" preserveAspectRatio="none"', 2.0, (200.0, 100.0)),
    ],
)
def test_sizes_with_a_unit(head: str, mm: float, size: tuple[float, float]) -> None:
    drawing = read('<path id="a" d="M0 0h60"/>', head)
    assert "no-units" not in codes(drawing)
    assert np.ptp(only(drawing).curve[:, :, 0]) == pytest.approx(60.0 * mm, rel=1e-14)
    assert drawing.to_mm[0, 0] == pytest.approx(mm, rel=1e-14)
    assert drawing.size_mm == pytest.approx(size, rel=1e-14)


@pytest.mark.parametrize(
    ("head", "size"),
    [
        ("", None),
        ('viewBox="0 0 960 480"', None),
        ('width="100%" height="100%" viewBox="0 0 960 480"', None),
        ('width="960" height="480"', (254.0, 127.0)),
        ('width="960px" height="480px" viewBox="0 0 960 480"', (254.0, 127.0)),
    ],
)
def test_without_a_unit_96_px_are_an_inch_and_it_is_said(head: str, size: tuple[float, float] | None) -> None:
    drawing = read('<path id="a" d="M0 0h96"/>', head)
    assert np.ptp(only(drawing).curve[:, :, 0]) == pytest.approx(25.4, rel=1e-14)
    assert "96 px" in warned(drawing, "no-units").message
    assert drawing.size_mm == (pytest.approx(size) if size else None)


def test_a_box_that_does_not_begin_at_zero() -> None:
    drawing = read('<path id="a" d="M-10 5h90"/>', 'width="100mm" height="100mm" viewBox="-10 5 100 100"')
    assert np.array_equal(only(drawing).curve, lines([[0, 0], [90, 0]]))


def test_an_uneven_scale_is_refused_with_both_scales() -> None:
    with pytest.raises(DrawingError, match=r"a\.svg: .*2 mm across and 4 mm down; make width"):
        read("", 'width="200mm" height="200mm" viewBox="0 0 100 50" preserveAspectRatio="none"')


@pytest.mark.parametrize(
    "head",
    [
        'width="0mm" height="5mm"',
        'width="-5mm" height="5mm"',
        'width="5em" height="5mm"',
        'width="5mm" height="5mm" viewBox="0 0 0 5"',
        'width="5mm" height="5mm" viewBox="0 0 5"',
        'width="5mm" height="5mm" viewBox="0 0 5 5" preserveAspectRatio="odd"',
        'width="5mm" height="5mm" transform="scale(2)"',
    ],
)
def test_a_page_that_cannot_be_is_refused(head: str) -> None:
    with pytest.raises(DrawingError, match=r"^a\.svg: "):
        read("", head)


def test_files(tmp_path: Path) -> None:
    place = tmp_path / "front.svg"
    place.write_bytes(f'<svg {NAMESPACES} {IN_MM}><path id="a" d="M0 0h60"/></svg>'.encode())
    drawing = read_file(place)
    assert drawing.name == "front.svg"
    assert drawing.source == place.read_bytes()
    for missing in (tmp_path / "none.svg", tmp_path, "a\0b"):
        with pytest.raises(DrawingError, match="cannot be read"):
            read_file(missing)


# --- the tree -------------------------------------------------------------------------------------------------------


def test_transforms_compose_down_the_tree() -> None:
    drawing = read(
        '<g transform="translate(100,50)"><a transform="rotate(90)"><switch><path id="a" transform="scale(2)" '
        'd="M0 0L30 10"/></switch></a></g>'
    )
    assert np.allclose(only(drawing).curve, lines([[100, 50], [80, 110]]), rtol=0.0, atol=1e-12)


def test_a_style_transform_and_an_origin() -> None:
    drawing = read('<path id="a" style="transform: rotate(90deg); transform-origin: 10px 20px" d="M10 20h50"/>')
    assert np.allclose(only(drawing).curve, lines([[10, 20], [10, 70]]), rtol=0.0, atol=1e-12)


def test_a_nested_viewport() -> None:
    drawing = read(
        '<svg x="10" y="20" width="100" height="200" viewBox="0 0 10 10" preserveAspectRatio="xMidYMax">'
        '<rect id="a" width="100%" height="50%"/></svg>'
    )
    assert np.allclose(bounds(only(drawing).curve), [[10, 120], [110, 170]])


def test_mirrored_and_stretched_circles_stay_within_a_millionth() -> None:
    drawing = read('<circle id="a" r="1" transform="translate(200 100) matrix(-150 0 20 40 0 0)"/>')
    curve = only(drawing).curve
    t = np.linspace(0.0, 1.0, 9)[None, :, None]
    u = 1.0 - t
    p = curve[:, :, None, :]
    points = u**3 * p[:, 0] + 3 * u**2 * t * p[:, 1] + 3 * u * t**2 * p[:, 2] + t**3 * p[:, 3]
    unit = np.linalg.solve(np.array([[-150.0, 20.0], [0.0, 40.0]]), (points.reshape(-1, 2) - (200, 100)).T)
    # The unit circle's radius stands for at most the map's largest stretch, about 152 mm.
    assert np.abs(np.hypot(*unit) - 1.0).max() * 152.0 < 1e-6
    assert area(curve) == pytest.approx(-math.pi * 150.0 * 40.0, rel=1e-9)


def test_use_draws_its_target_in_its_place_and_names_it() -> None:
    body = (
        '<defs><path id="edge" d="M0 0h50"/><g id="two"><path d="M0 0h50"/><path d="M0 9h50"/></g></defs>'
        '<use id="left" href="#edge" x="10" y="5mm" transform="translate(0 100)"/>'
        '<use id="right" xlink:href="#edge" x="10%"/><use href="#two" id="pair"/><use href="#edge"/>'
    )
    drawing = read(body)
    assert names(drawing) == ["left", "right", "pair", "pair.2", "use-4"]
    left, right = drawing.pattern.pieces[:2]
    assert np.allclose(left.curve[0, 0], (10.0, 100.0 + 5.0 * 96.0 / 25.4))
    assert np.allclose(right.curve[0, 0], (50.0, 0.0))


def test_use_of_a_symbol_has_its_own_viewport() -> None:
    drawing = read(
        '<symbol id="s" viewBox="0 0 10 10"><rect id="r" width="10" height="10"/></symbol>'
        '<use id="u" href="#s" x="5" y="6" width="100" height="100"/>'
    )
    assert np.allclose(bounds(only(drawing).curve), [[5, 6], [105, 106]])


@pytest.mark.parametrize(
    ("body", "why"),
    [
        ('<use id="u" href="#none"/>', "leads to nothing"),
        ('<use id="u" href="other.svg#a"/>', "leads to nothing"),
        ('<use id="u"/>', "leads to nothing"),
        ('<g id="g"><use id="u" href="#g"/></g>', "back to itself"),
        ('<use id="u" href="#v"/><defs><use id="v" href="#w"/><use id="w" href="#v"/></defs>', "back to itself"),
    ],
)
def test_dead_links_and_circles_are_skipped(body: str, why: str) -> None:
    drawing = read(body + '<path id="a" d="M0 0h60"/>')
    assert names(drawing) == ["a"]
    assert [s for s in drawing.pattern.skipped if why in s.why]


def test_clones_that_multiply_without_end_are_refused() -> None:
    groups = "".join(f'<g id="g{i + 1}">{f"""<use href="#g{i}"/>""" * 10}</g>' for i in range(8))
    with pytest.raises(DrawingError, match="unlink the clones"):
        read(f'<defs><path id="g0" d="M0 0h9"/>{groups}</defs><use href="#g8"/>')


def test_deep_clones_end_without_a_traceback() -> None:
    deep = "".join(f'<g id="g{i + 1}"><use href="#g{i}"/></g>' for i in range(400))
    drawing = read(f'<defs><path id="g0" d="M0 0h9"/>{deep}</defs><use href="#g400"/>')
    assert any("too deep" in s.why for s in drawing.pattern.skipped)


# --- what is not drawn ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "what", "why"),
    [
        (
            '<g inkscape:label="Old draft" id="layer2" style="display:none"><path d="M0 0h9"/><path d="M0 0h9"/></g>',
            "group Old draft",
            "hidden",
        ),
        ('<path id="p" display="none" d="M0 0h9"/>', "path p", "hidden"),
        ('<g visibility="hidden"><path id="p" d="M0 0h9"/></g>', "path p", "hidden"),
        ('<path id="p" style="visibility : collapse !important" d="M0 0h9"/>', "path p", "hidden"),
        ('<g fill="none"><path id="p" d="M0 0h9"/></g>', "path p", "neither fill nor stroke"),
        ('<g fill="none" stroke="red"><path id="p" style="stroke:none" d="M0 0h9"/></g>', "path p", "neither"),
        ('<text id="t">Front</text>', "text t", "no outline"),
        ('<image id="i" width="5" height="5"/>', "image i", "picture"),
        ('<foreignObject id="f"/>', "foreignObject f", "foreign"),
        ('<path id="p" transform="scale(0 1)" d="M0 0h9"/>', "path p", "flattened"),
        ('<path id="p" d=""/>', "path p", "nothing"),
        ('<rect id="r" width="5"/>', "rect r", "nothing"),
        ('<video id="v"/>', "video v", "no outline"),
    ],
)
def test_what_is_not_drawn_is_listed_with_its_reason(body: str, what: str, why: str) -> None:
    drawing = read(body)
    assert drawing.pattern.pieces == ()
    skipped = drawing.pattern.skipped
    assert len(skipped) == 1
    assert skipped[0].what == what
    assert why in skipped[0].why


@pytest.mark.parametrize(
    "body",
    [
        '<g visibility="hidden"><path id="a" visibility="visible" d="M0 0h60"/></g>',
        '<g fill="none"><path id="a" fill="red" d="M0 0h60"/></g>',
        '<path id="a" fill="none" style="stroke:#000" d="M0 0h60"/>',
        '<g stroke="blue"><path id="a" style="fill:none;stroke:inherit" d="M0 0h60"/></g>',
        '<path id="a" style="display:inline;fill:url(data:x;none);opacity:0.5" d="M0 0h60"/>',
    ],
)
def test_what_is_drawn_all_the_same(body: str) -> None:
    drawing = read(body)
    assert names(drawing) == ["a"]
    assert drawing.pattern.skipped == ()


def test_definitions_and_the_editors_own_elements_are_no_pieces_and_no_news() -> None:
    drawing = read(
        "<!-- c --><?pi x?><title>t</title><desc>d</desc><metadata><x/></metadata><sodipodi:namedview/>"
        '<defs><path d="M0 0h9"/></defs><symbol><path d="M0 0h9"/></symbol><clipPath><path d="M0 0h9"/></clipPath>'
        '<mask><path d="M0 0h9"/></mask><marker><path d="M0 0h9"/></marker><pattern><path d="M0 0h9"/></pattern>'
        "<style>path { fill: red }</style><text> </text>"
    )
    assert drawing.pattern.pieces == ()
    assert drawing.pattern.skipped == ()
    assert drawing.pattern.warnings == ()


@pytest.mark.parametrize(
    "own",
    ['id="scallopkit"', 'inkscape:label="scallopkit" id="layer9"', 'id="scallopkit-2"', 'data-run="r" data-recipe="x"'],
)
def test_our_own_layer_is_no_piece_and_no_news(own: str) -> None:
    drawing = read(f'<g {own}><path d="M0 0h9"/><text>1</text></g><path id="a" d="M0 0h60"/>')
    assert names(drawing) == ["a"]
    assert drawing.pattern.skipped == ()


@pytest.mark.parametrize(
    "body",
    [
        '<rect id="bad" width="wide" height="5"/>',
        '<circle id="bad" r="-5"/>',
        '<path id="bad" transform="rotat(5)" d="M0 0h9"/>',
        '<g id="bad" transform="rotate(5"><path d="M0 0h9"/></g>',
        '<svg id="bad" viewBox="0 0 0 0"><path d="M0 0h9"/></svg>',
        '<use id="bad" href="#a" x="far"/>',
    ],
)
def test_an_element_that_cannot_be_read_is_skipped_and_warned_of(body: str) -> None:
    drawing = read(f'{body}<path id="a" d="M0 0h60"/>')
    assert names(drawing) == ["a"]
    assert [s.what.split()[1] for s in drawing.pattern.skipped] == ["bad"]
    assert "bad" in warned(drawing, "unreadable").message


@pytest.mark.parametrize(
    ("sheet", "told"),
    [
        (".x{display:none}", True),
        (".x{ VISIBILITY: hidden }", True),
        (".x{transform: scale(2)}", True),
        (".x{fill:red}", False),
    ],
)
def test_style_sheets_that_may_hide_or_move_are_named(sheet: str, told: bool) -> None:
    assert ("style-sheet" in codes(read(f"<style>{sheet}</style>"))) == told


# --- names ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ('id="front"', ("front",)),
        ('inkscape:label="Front piece" id="path1234"', ("Front piece", "path1234")),
        ('inkscape:label="Front piece" id="path12-3-7"', ("Front piece", "path12-3-7")),
        ('inkscape:label="Front piece" id="front"', ("front", "Front piece")),
        ('id="path77"', ("path77",)),
        ('inkscape:label=" Front "', ("Front",)),
        ("", ("path-1",)),
    ],
)
def test_names_of_a_piece(attributes: str, expected: tuple[str, ...]) -> None:
    assert only(read(f'<path {attributes} d="M0 0h60"/>')).names == expected


def test_pieces_without_a_name_are_counted_by_kind_in_document_order() -> None:
    drawing = read(
        '<path id="a" d="M0 0h60"/><circle r="9"/><path display="none" d="M0 0h9"/><path d="M0 0h60"/>'
        '<g><circle id="b" r="5"/><rect width="5" height="5"/><circle r="5"/></g><path d="M0 0h9"/>'
    )
    assert names(drawing) == ["a", "circle-1", "path-2", "b", "rect-1", "circle-3", "path-3"]


def test_subpaths_are_numbered_from_the_second_on() -> None:
    drawing = read('<path id="front" inkscape:label="F" d="M0 0h60M0 9h60M5 5M0 20h9v9z"/>')
    assert [p.names for p in drawing.pattern.pieces] == [("front", "F"), ("front.2", "F.2"), ("front.3", "F.3")]
    assert [p.closed for p in drawing.pattern.pieces] == [False, False, True]


def test_no_two_pieces_share_a_name() -> None:
    drawing = read(
        '<path inkscape:label="front" id="path9" d="M0 0h60"/><path inkscape:label="front" id="path10" d="M0 0h60"/>'
        '<path id="path9" d="M0 0h60"/><path d="M0 0h60"/><path id="path-4" d="M0 0h60"/>'
    )
    every = [name for piece in drawing.pattern.pieces for name in piece.names]
    assert len(every) == len(set(every))
    assert names(drawing) == ["front", "path10", "path-3", "path-4-2", "path-4"]
    assert codes(drawing).count("same-name") == 2


# --- marks ----------------------------------------------------------------------------------------------------------


def test_marks_are_centres_and_anchors() -> None:
    drawing = read(
        '<path id="a" d="M0 0h60"/><g id="Marks" transform="translate(100 0)">'
        '<circle id="cf" cx="1" cy="2" r="2"/><rect inkscape:label="side" id="rect9" x="10" y="10" width="4" height="2"'
        ' transform="rotate(90)"/><path id="shoulder" d="M0 0L4 4M0 4L4 0"/>'
        '<text id="text5" x="7 8" y="9mm" text-anchor="middle"> centre  <tspan>back</tspan></text>'
        '<g><text inkscape:label="dart"><tspan x="3" y="4">D1</tspan></text></g><text x="1" y="1" id="hip"/>'
        '<circle r="1"/></g>'
    )
    assert names(drawing) == ["a"]
    expected = {
        "cf": (101, 2),
        "side": (89, 12),
        "shoulder": (102, 2),
        "centre back": (107, 9 * 96 / 25.4),
        "dart": (103, 4),
        "hip": (101, 1),
        "mark-7": (100, 0),
    }
    assert [m.name for m in drawing.pattern.marks] == list(expected)
    for mark in drawing.pattern.marks:
        assert (mark.x, mark.y) == pytest.approx(expected[mark.name], abs=1e-9)


def test_a_marks_layer_may_be_known_by_its_label() -> None:
    drawing = read('<g inkscape:label="MARKS" id="layer3"><circle id="cf" r="2"/></g>')
    assert [m.name for m in drawing.pattern.marks] == ["cf"]
    assert drawing.pattern.pieces == ()


def test_two_marks_may_share_a_name() -> None:
    drawing = read('<g id="marks"><text x="1">side</text><text x="50">side</text></g>')
    assert [(m.name, m.x) for m in drawing.pattern.marks] == [("side", 1.0), ("side", 50.0)]


@pytest.mark.parametrize("name", ["c0", "c12", "start", "end"])
def test_no_mark_may_be_called_like_a_corner_or_an_end(name: str) -> None:
    with pytest.raises(DrawingError, match=f"no mark may be called '{name}'"):
        read(f'<g id="marks"><text x="1">{name}</text></g>')


def test_hidden_marks_and_large_ones_are_told() -> None:
    drawing = read(
        '<g id="marks"><circle id="x" r="2" visibility="hidden"/><text id="y" visibility="hidden">y</text>'
        '<path id="front" d="M0 0h300v300z"/><circle id="z" r="0"/></g>'
    )
    assert [m.name for m in drawing.pattern.marks] == ["front"]
    assert [s.what for s in drawing.pattern.skipped] == ["circle x", "text y", "circle z"]
    assert "300 mm" in warned(drawing, "large-mark").message


# --- what is said about outlines ------------------------------------------------------------------------------------


def test_a_broken_path_is_kept_and_placed_in_mm() -> None:
    drawing = read('<path id="a" transform="scale(2)" d="M0 0L30 10L50 x"/>')
    warning = warned(drawing, "path-error")
    assert only(drawing).curve.shape == (1, 4, 2)
    assert (warning.piece, warning.x, warning.y) == ("a", 60.0, 20.0)
    assert "character 15" in warning.message
    nothing = read('<path id="a" d="L5 5"/>')
    assert warned(nothing, "path-error").piece == "path a"


def test_an_outline_that_comes_back_is_closed_and_it_is_said() -> None:
    drawing = read('<path id="a" d="M0 0h60v60L0.0006 0.0006"/>')
    piece = only(drawing)
    assert piece.closed
    assert np.array_equal(piece.curve[0, 0], piece.curve[-1, 3])
    assert warned(drawing, "closed-without-z").piece == "a"
    assert not only(read('<path id="a" d="M0 0h60v60L0.002 0"/>')).closed


def test_a_closing_line_that_only_makes_up_for_rounding_is_left_out() -> None:
    drawing = read('<path id="a" d="M0 0h60v60L0.0006 0.0006z"/>')
    assert len(only(drawing).curve) == 3
    assert only(drawing).closed
    assert "0.00085 mm" in warned(drawing, "zero-length").message
    summed = read('<path id="a" d="m.1.1 30.1 0 0 30.2-30.1-30.2z"/>')
    assert len(only(summed).curve) == 3
    assert codes(summed) == []


def test_dropped_segments_are_counted() -> None:
    drawing = read('<path id="a" d="M0 0h0h60v0h9"/>')
    assert "2 segments" in warned(drawing, "zero-length").message
    assert len(only(drawing).curve) == 2


@pytest.mark.parametrize(("width", "told"), [(19.0, True), (21.0, False), (9_999.0, False), (10_001.0, True)])
def test_unlikely_sizes(width: float, told: bool) -> None:
    assert ("unlikely-size" in codes(read(f'<path id="a" d="M0 0h{width}"/>'))) == told


@pytest.mark.parametrize(
    "body",
    [
        '<path id="far" d="M0 0H2e6"/>',
        '<path id="far" transform="scale(1e6)" d="M0 0H20"/>',
        '<g transform="scale(1e300)"><path id="far" transform="scale(1e300)" d="M0 0H20"/></g>',
        '<path id="far" d="M0 0A1e-300 5 0 0 1 10 0"/>',
        '<g id="marks"><circle id="far" cx="2e6" r="1"/></g>',
    ],
)
def test_what_lies_beyond_all_measure_is_refused_by_name(body: str) -> None:
    with pytest.raises(DrawingError, match=r"^a\.svg: .*far .*1 km away"):
        read(body)


@given(
    st.floats(-math.pi, math.pi),
    st.floats(0.2, 5.0),
    st.booleans(),
    st.floats(-300.0, 300.0),
    st.sampled_from(["M0 0C50 0 50 80 0 90A40 30 12 1 0 70 10Q9 9 0 0z", "M0 0h80v50l-9 3z", "M0 0A5 5 0 0 1 60 0"]),
)
@settings(max_examples=60, deadline=None)
def test_moved_turned_mirrored_and_scaled_alike(angle: float, scale: float, mirror: bool, move: float, d: str) -> None:
    c, s = scale * math.cos(angle), scale * math.sin(angle)
    sign = -1.0 if mirror else 1.0
    matrix = np.array([[c, -s * sign, move], [s, c * sign, -move]])
    text = ",".join(map(repr, matrix.T.ravel().tolist()))
    piece = only(read(f'<g transform="matrix({text})"><path id="a" d="{d}"/></g>'))
    plain = only(read(f'<path id="a" d="{d}"/>'))
    assert piece.closed == plain.closed
    assert np.array_equal(piece.curve[1:, 0], piece.curve[:-1, 3])
    # Arcs may be cut into another number of parts, so areas and ends are compared, not nodes.
    ends = plain.curve[[0, -1], [0, 3]] @ matrix[:, :2].T + matrix[:, 2]
    assert np.allclose(piece.curve[[0, -1], [0, 3]], ends, rtol=0.0, atol=1e-9)
    if plain.closed:
        assert area(piece.curve) == pytest.approx(sign * scale**2 * area(plain.curve), rel=1e-6)


@given(st.text("<>/=\"'&; abcdgMmzLl0123456789.-", max_size=80))
@settings(max_examples=200, deadline=None)
def test_any_text_is_a_drawing_or_refused_in_a_sentence(text: str) -> None:
    told = ""
    try:
        read(text)
    except DrawingError as error:
        told = str(error)
    assert "\n" not in told
