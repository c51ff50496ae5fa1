"""What is selected in an editor, in the words that name edges."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.demo_waistcoat import HEM, waistcoat
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import redrawn, scallop
from scallopkit.editors.chosen import Node, chosen, read_node
from scallopkit.errors import RequestError
from scallopkit.pattern.edge import find_edge

# From node 0 to node 1 the front is one arc, which takes many cubics, and goes on without a corner at both.
SHEET = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
  xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"
  width="600mm" height="400mm" viewBox="0 0 600 400">
  <g id="layer1"><path id="front" stroke="black" d="M0 0 A100 100 0 0 1 200 0 L200 100 L100 103 L0 100 z"/>
  <path id="strip" stroke="black" d="M 300,0 h 50 v 60 h 70 v -60"/></g>
  <path id="two" stroke="black" d="M300 200 h 80 v 40 z M 420,200 h 80 v 40 z"/>
  <path id="bent" stroke="black" inkscape:original-d="M 0,300 h 100" d="M0 300 l 50,9 l 50,-9"/>
  <path id="star" stroke="black" sodipodi:type="star" d="M 100 300 l 50 9 l 50 -9 l -50 40 z"/>
  <text id="words" x="200" y="51">here</text><circle id="dot" stroke="black" cx="1" cy="50" r="3"/>
  <text id="far" x="250" y="51">there</text>
  <g id="marks"><circle id="centre" cx="100" cy="103" r="1"/></g>
</svg>"""


@pytest.fixture(scope="module")
def sheet() -> Drawing:
    return read_drawing(SHEET.encode(), "sheet.svg")


def alone(d: str) -> Drawing:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="9cm" height="9cm"><path id="a" stroke="red" d="{}"/></svg>'
    return read_drawing(svg.format(d).encode(), "alone.svg")


def edges(drawing: Drawing, ids: str, *nodes: str) -> tuple[str, ...]:
    return chosen(drawing, ids.split(), [read_node(node) for node in nodes]).edges


def test_objects_come_in_the_order_of_the_selection(sheet: Drawing) -> None:
    assert edges(sheet, "strip front") == ("strip", "front")


def test_a_group_is_all_its_outlines(sheet: Drawing) -> None:
    assert edges(sheet, "layer1") == ("front", "strip")


@pytest.mark.parametrize(
    ("nodes", "edge", "length"),
    [
        # An arc is one curve between two nodes, whatever it takes in cubics: half a circle of radius 100.
        (("front:0:0", "front:0:1"), "front:node0..node1", 314.159265),
        (("front:0:1", "front:0:0"), "front:node1..node0", 314.159265),
        # Three clicked nodes give the way round.
        (("front:0:2", "front:0:0", "front:0:4"), "front:c0..node0..c1", 514.159265),
        # A mark is a better name than a number, and a corner too.
        (("front:0:2", "front:0:3"), "front:c0..centre", 100.044990),
        # Three that follow each other are one stretch, in whatever order they are listed.
        (("front:0:3", "front:0:2", "front:0:4"), "front:c0..centre..c1", 200.089980),
        (("front:0:4", "front:0:3", "front:0:2"), "front:c1..centre..c0", 200.089980),
    ],
)
def test_nodes_name_the_edge_between_them(sheet: Drawing, nodes: tuple[str, ...], edge: str, length: float) -> None:
    assert edges(sheet, "front", *nodes) == (edge,)
    assert find_edge(sheet.pattern, edge).measured.length == pytest.approx(length, abs=1e-5)


def test_a_node_that_is_no_corner_goes_by_its_number() -> None:
    drawing = read_drawing(SHEET.replace('<circle id="centre" cx="100" cy="103" r="1"/>', "").encode(), "sheet.svg")
    assert edges(drawing, "front", "front:0:3", "front:0:4") == ("front:node3..c1",)
    assert find_edge(drawing.pattern, "front:node3..c1").measured.length == pytest.approx(100.04499, abs=1e-5)


def test_four_nodes_in_a_row_are_one_stretch(sheet: Drawing) -> None:
    nodes = ("front:0:0", "front:0:2", "front:0:3", "front:0:1")
    assert edges(sheet, "front", *nodes) == ("front:node0..node1..centre",)


def test_nodes_of_a_second_subpath(sheet: Drawing) -> None:
    assert edges(sheet, "two", "two:1:0", "two:1:1") == ("two", "two.2:c0..c1")


def test_ends_of_an_open_line(sheet: Drawing) -> None:
    assert edges(sheet, "strip", "strip:0:0", "strip:0:2") == ("strip:start..c1",)
    assert edges(sheet, "strip", "strip:0:4", "strip:0:3") == ("strip:end..c2",)


def test_all_nodes_are_the_whole_outline(sheet: Drawing) -> None:
    assert edges(sheet, "front", *(f"front:0:{k}" for k in (3, 0, 2, 1, 4))) == ("front",)


def test_one_node_of_a_closed_outline_is_its_start(sheet: Drawing) -> None:
    made = chosen(sheet, ["front"], [Node("front", 0, 2)])
    assert (made.edges, made.starts) == (("front",), ("c0",))


def test_texts_and_small_shapes_beside_an_outline_are_marks_of_it(sheet: Drawing) -> None:
    assert edges(sheet, "front words dot") == ("front:#words..#dot",)
    assert edges(sheet, "words front dot centre") == ("front:#words..#dot..centre",)
    # On its own a small shape is an outline.
    assert edges(sheet, "dot") == ("dot",)


@given(st.permutations(["words", "dot", "centre", "front"]))
def test_marks_come_in_the_order_of_the_selection(ids: list[str]) -> None:
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    marks = [{"words": "#words", "dot": "#dot"}.get(name, name) for name in ids if name != "front"]
    assert edges(drawing, " ".join(ids)) == (f"front:{'..'.join(marks)}",)


def test_marks_that_two_pieces_share_by_name_are_told_apart() -> None:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    ids = "back back-dart-out back-hem-side front-hem-side front-dart-out front"
    assert edges(drawing, ids) == ("back:dart-out..hem-side", "front:hem-side..dart-out")
    assert edges(drawing, "front-underarm front front-shoulder") == ("front:underarm..shoulder",)
    with pytest.raises(RequestError, match='"hem-side" lies more than 3 mm from the outlines'):
        edges(drawing, "front back-hem-side front-dart-out")


def test_our_own_lines_are_runs(sheet: Drawing) -> None:
    drawing = redrawn(sheet, [scallop(sheet, "front:node1..c0", width=20, name="side")])
    made = chosen(drawing, ["scallopkit-side"])
    assert (made.edges, made.runs) == ((), ("side",))


def test_nothing_selected_is_the_only_outline(sheet: Drawing) -> None:
    one = alone("M0 0h90v90")
    assert chosen(one, []).edges == ("a",)
    with pytest.raises(RequestError, match="no outline is selected: select one"):
        chosen(sheet, [])


@pytest.mark.parametrize(
    ("ids", "nodes", "text"),
    [
        ("words", (), "text words is no outline"),
        ("front far", (), '"#far" lies more than 3 mm from the outlines'),
        ("bent", ("bent:0:0", "bent:0:1"), "path effect: turn it into a path first"),
        ("star", ("star:0:0", "star:0:1"), "shape of the editor: turn it into a path"),
        ("front", ("front:0",), "can't be read"),
    ],
)
def test_what_can_not_be_meant(sheet: Drawing, ids: str, nodes: tuple[str, ...], text: str) -> None:
    with pytest.raises(RequestError, match=text):
        edges(sheet, ids, *nodes)


def test_four_nodes_with_a_gap_between_are_two_edges() -> None:
    drawing = alone("M0 0 h 60 v 60 h 60 v 60 h -60 v 30 h -60 z")
    assert edges(drawing, "a", "a:0:0", "a:0:1", "a:0:5", "a:0:3") == ("a:c0..c1", "a:c5..c3")
    with pytest.raises(RequestError, match=r"5 places .* do not follow each other: select two"):
        edges(drawing, "a", "a:0:0", "a:0:1", "a:0:3", "a:0:5", "a:0:6")


def test_both_sides_of_a_dart_by_marks() -> None:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    back = ["back", *(f"back-{name}" for name in ("hem-fold", "dart-in", "dart-out", "hem-side"))]
    front = ["front", *(f"front-{name}" for name in ("hem-side", "dart-out", "dart-in", "hem-front"))]
    made = chosen(drawing, [*back, *front])
    assert made.edges == made.both == HEM


def test_an_id_names_its_own_element_whatever_others_are_called() -> None:
    ink = 'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
    paths = (
        '<path id="x1" inkscape:label="front" stroke="red" d="M0 0h40v40h-40z"/>'
        '<path id="front" inkscape:label="back" stroke="red" d="M0 60h20v20h-20z"/>'
        '<path id="front.2" stroke="red" d="M60 60h20v20h-20z"/>'
    )
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {ink} width="90mm" height="90mm" viewBox="0 0 90 90">{paths}</svg>'
    drawing = read_drawing(svg.encode(), "named.svg")
    (edge,) = edges(drawing, "front")
    assert find_edge(drawing.pattern, edge).measured.length == pytest.approx(80.0)


def test_two_neighbouring_nodes_are_the_stretch_between_them_though_it_is_the_longer() -> None:
    drawing = alone("M0 0 h 60 v 60 c 0 200 -60 200 -60 0 z")
    (edge,) = edges(drawing, "a", "a:0:2", "a:0:3")
    assert edge == "a:node2..node2+..node3"
    assert find_edge(drawing.pattern, edge).measured.length > 80.0
    (back,) = edges(drawing, "a", "a:0:3", "a:0:2")
    assert find_edge(drawing.pattern, back).measured.length > 80.0
    # Where it is the shorter way its ends are enough.
    assert edges(drawing, "a", "a:0:0", "a:0:1") == ("a:c0..c1",)
