"""Match notches: the same sewn place on both pieces of a seam, square to it, on the line where the cloth is cut."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.construction.match_marks import MatchMark
from scallopkit.document.cut_pieces import MadePiece
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import cut, notches, redrawn, scallop
from scallopkit.errors import RequestError
from scallopkit.geometry.cubics import Array, flatten, lines
from scallopkit.geometry.length import measure
from scallopkit.pattern.corners import corners

from ..document.test_runs_sewn import Place, Strip, as_complex, edges_of
from ..drawings import BOX, page, path
from ..shapes import smooth

# mm; what is promised of things that meet once sewn, and of parallels.
MEET, PROMISE = 1e-6, 0.02

WAVE = smooth(np.array([(0.0, 0.0), (90.0, -12.0), (200.0, 6.0), (310.0, -9.0), (400.0, 0.0)]))
HERE = Place(0.0 + 0.0j, 0.0)
PLACINGS = {
    "as they are sewn": (HERE, HERE, HERE),
    "apart": (Place(20 + 300j, 0.0), Place(-500 + 30j, 0.0), Place(700 + 900j, 0.0)),
    "turned": (Place(20 + 300j, 0.4), Place(500 + 30j, 2.8), Place(700 + 900j, -1.2)),
    "one face down": (Place(20 + 300j, 0.4), Place(500 + 30j, 2.8, flipped=True), Place(700 + 900j, -1.2)),
}


def strip(count: int, depth: float = 90.0) -> Strip:
    """A wavy strip cut at slanted seams."""
    m = measure(WAVE)
    cuts = tuple((m.length * np.arange(count + 1) / count).tolist())
    slants = np.exp(1j * np.array([0.1, -0.2, 0.25, 0.0])[: count + 1])
    seams = depth * 1j * as_complex(m.tangents(np.array(cuts))) * slants
    return Strip(WAVE, cuts, tuple(complex(seam) for seam in seams))


def sewn_run(whole: Strip, places: tuple[Place, ...], **words: str) -> Drawing:
    drawing = whole.cut(places[: whole.count])
    joins = ["seam"] * (whole.count - 1)
    return redrawn(drawing, [scallop(drawing, edges_of(whole, places), join=joins, width=22, name="top", **words)])


def by_seam(made: MadePiece) -> dict[str, list[MatchMark]]:
    out: dict[str, list[MatchMark]] = {}
    for mark in made.marks:
        out.setdefault(mark.seam, []).append(mark)
    return out


@pytest.mark.parametrize(("placing", "count"), [("as they are sewn", 2), *((placing, 3) for placing in PLACINGS)])
def test_notches_of_both_pieces_meet_once_sewn(count: int, placing: str) -> None:
    whole, places = strip(count), PLACINGS[placing]
    made = cut(sewn_run(whole, places))
    names = [f"p{k}:c1/p{k + 1}:c0" for k in range(count - 1)]
    for number, name in enumerate(names):
        first, second = by_seam(made[number])[name], by_seam(made[number + 1])[name]
        # The first seam has one, the second two.
        assert len(first) == len(second) == number + 1
        joint = complex(*measure(WAVE).points(np.array([whole.cuts[number + 1]]))[0])
        way = whole.seams[number + 1] / abs(whole.seams[number + 1])
        for a, b in zip(first, second, strict=True):
            assert a.s == b.s
            for mark, place in ((a, places[number]), (b, places[number + 1])):
                back = place.back(complex(*mark.sewn))
                assert abs(back - (joint + mark.s * way)) < MEET
        middle = sum(mark.s for mark in first) / len(first)
        assert middle == pytest.approx(45.0, abs=MEET)
    assert [len(one.marks) for one in made] == ([1, 1] if count == 2 else [1, 3, 2])


@pytest.mark.parametrize(
    ("placing", "allowance", "length"), [("turned", 15.0, 3.0), ("one face down", 10.0, 3.0), ("apart", 4.0, 2.0)]
)
def test_a_notch_goes_inward_from_the_cutting_line_square_to_the_seam(
    placing: str, allowance: float, length: float
) -> None:
    """3 mm, and never more than half of the allowance: a deeper one would come near the stitching."""
    for made in cut(sewn_run(strip(3), PLACINGS[placing]), allowance=allowance):
        edge = shapely.LinearRing(flatten(made.cut.cutting.curve, 1e-3))
        for mark in made.marks:
            outer, inner = mark.line
            assert edge.distance(shapely.Point(outer)) < PROMISE
            assert shapely.Polygon(edge).contains(shapely.Point(inner))
            assert math.hypot(*(outer - inner)) == pytest.approx(length, abs=MEET)
            # Straight on from the cutting line through the notch lies its place on the stitching line.
            assert math.hypot(*(outer - mark.sewn)) == pytest.approx(allowance, abs=MEET)
            assert math.hypot(*(inner - mark.sewn)) == pytest.approx(allowance - length, abs=MEET)


def test_of_seams_of_unlike_length_the_shorter_one_has_them_half_way() -> None:
    text = page('<path id="l" d="M 10,100 H 160 V 250 H 10 Z"/><path id="r" d="M 300,100 H 450 V 170 H 300 Z"/>')
    drawing = read_drawing(text.encode(), "a.svg")
    drawing = redrawn(drawing, [scallop(drawing, ["l:c0..c1", "r:c0..c1"], join="seam", width=30)])
    left, right = cut(drawing)
    assert left.marks[0].sewn == pytest.approx((160.0, 135.0))
    assert right.marks[0].sewn == pytest.approx((300.0, 135.0))


def test_along_a_curved_seam_the_length_is_that_of_the_seam() -> None:
    def half(corner: float, bow: float) -> Array:
        top = np.array([(corner - 150.0, 100.0), (corner, 100.0)])
        seam = smooth(np.array([(corner, 100.0), (corner + 4.0 * bow, 170.0), (corner + bow, 250.0)]))
        rest = np.array([(corner + bow, 250.0), (corner - 150.0, 250.0), (corner - 150.0, 100.0)])
        return np.concatenate([lines(top), seam, lines(rest)])

    right = half(160.0, 5.0)
    mirrored = half(160.0, 5.0) * (-1.0, 1.0) + (700.0, 0.0)
    drawing = read_drawing(page(path(right, "l", closed=True) + path(mirrored, "r", closed=True)).encode(), "a.svg")
    drawing = redrawn(drawing, [scallop(drawing, ["l:c0..c1", "r:c1..c0"], join="seam", width=30, depth="20%")])
    left, other = cut(drawing)
    seam = measure(right[1:3])
    (a,), (b,) = left.marks, other.marks
    assert a.s == b.s == pytest.approx(0.5 * seam.length, abs=MEET)
    (expected,) = seam.points(np.array([a.s]))
    assert a.sewn == pytest.approx(expected, abs=MEET)
    assert b.sewn == pytest.approx(expected * (-1.0, 1.0) + (700.0, 0.0), abs=MEET)


def test_a_seam_too_short_for_its_notches_has_none() -> None:
    """The second seam would take two, 6 mm apart: on 5 mm of seam they would lie beyond its ends."""
    body = "".join(f'<rect id="p{k}" x="{10 + 180 * k}" y="100" width="150" height="5"/>' for k in range(3))
    drawing = read_drawing(page(body).encode(), "a.svg")
    edges = [f"p{k}:c0..c1" for k in range(3)]
    drawing = redrawn(drawing, [scallop(drawing, edges, join=["seam", "seam"], width=30, name="t")])
    assert [len(one.marks) for one in cut(drawing, allowance=4)] == [1, 1, 0]


def test_an_outline_drawn_with_its_allowance_has_the_notches_of_its_stitching_lines() -> None:
    """Drawn as a net, or with 10 mm on: the same sewn places, and notches from the line where the cloth is cut."""
    net = '<path id="l" d="M 10,100 H 160 V 250 H 10 Z"/><path id="r" d="M 300,100 H 450 V 250 H 300 Z"/>'
    on = '<path id="l" d="M 0,90 H 170 V 260 H 0 Z"/><path id="r" d="M 290,90 H 460 V 260 H 290 Z"/>'
    found = []
    for body, words in ((net, {}), (on, {"allowance": "10mm"})):
        drawing = read_drawing(page(body).encode(), "a.svg")
        edges = ["l:c0..c1", "r:c0..c1"]
        drawing = redrawn(drawing, [scallop(drawing, edges, join="seam", width=30, name="t", **words)])
        found.append(cut(drawing, **({} if words else {"allowance": "10mm"})))
    for plain, drawn in zip(*found, strict=True):
        (a,), (b,) = plain.marks, drawn.marks
        # The allowance at the seam's other end is not known, so that the whole 160 mm to the cut are halved.
        assert (a.s, b.s) == pytest.approx((75.0, 80.0), abs=MEET)
        lower = np.array([0.0, 5.0])
        assert b.sewn == pytest.approx(a.sewn + lower, abs=MEET)
        assert b.line == pytest.approx(a.line + lower, abs=MEET)
    left, right = (one.marks[0].sewn - corner for one, corner in zip(found[1], ((160, 100), (300, 100)), strict=True))
    assert left == pytest.approx(right, abs=MEET)


def test_the_other_half_of_a_folded_piece_has_no_notches_of_its_own() -> None:
    """A run from side to side over a fold passes each seam twice, and the drawn half has them once."""
    text = page('<path id="l" d="M 10,100 H 160 V 250 H 10 Z"/><path id="r" d="M 300,100 H 450 V 250 H 300 Z"/>')
    drawing = read_drawing(text.encode(), "a.svg")
    edges = ["l:c0..c1", "r:c0..c1", "r:c1..c0", "l:c1..c0"]
    drawing = redrawn(drawing, [scallop(drawing, edges, join=["seam", "fold", "seam"], width=30, name="t")])
    left, right = cut(drawing)
    assert [len(left.marks), len(right.marks)] == [1, 1]
    assert right.label[1] == "cut 1 on the fold"


def test_a_run_on_one_piece_has_no_seam_to_match() -> None:
    drawing = read_drawing(page(path(strip(2).outline(0, 2), "p", closed=True)).encode(), "a.svg")
    drawing = redrawn(drawing, [scallop(drawing, "p:c0..c1", width=22)])
    (made,) = cut(drawing)
    assert made.marks == ()


# --- the notches of a run along its edge -----------------------------------------------------------------------------


def run_marks_of(made: MadePiece) -> list[MatchMark]:
    return [mark for mark in made.marks if mark.run]


def ring_of(made: MadePiece) -> shapely.LinearRing:
    return shapely.LinearRing(flatten(made.cut.cutting.curve, 1e-3))


def assert_on_the_cut(made: MadePiece, mark: MatchMark) -> None:
    """The notch stands on the cutting line, and what is cut out of the cloth lies within it."""
    ring, line = ring_of(made), shapely.LineString(mark.line)
    assert mark.inside is None
    assert ring.distance(shapely.Point(mark.foot)) < PROMISE
    assert all(ring.distance(shapely.Point(end)) < PROMISE for end in (mark.line[0], *mark.line[2:]))
    assert shapely.Polygon(ring).buffer(PROMISE).contains(line)


@pytest.mark.parametrize("placing", PLACINGS)
@pytest.mark.parametrize("finish", ["scalloped:6mm", "straight:8mm"])
@pytest.mark.parametrize(("at", "kind"), [("valleys", "snip"), ("crests", "snip"), ("parts:11", "v")])
def test_a_hem_s_notches_stand_on_the_cutting_line_of_the_piece_they_are_sewn_on(
    placing: str, finish: str, at: str, kind: str
) -> None:
    whole, places = strip(3), PLACINGS[placing]
    drawing = sewn_run(whole, places, depth="30%", finish="faced", cut=finish)
    run = notches(drawing, run="top", at=at, kind=kind)
    drawing = redrawn(drawing, [run])
    m, long = measure(WAVE), []
    for made, place in zip(cut(drawing), places, strict=True):
        for mark in run_marks_of(made):
            assert_on_the_cut(made, mark)
            # From the cutting line to the tip, and never more than half of the allowance.
            assert math.hypot(*(mark.line[1] - mark.foot)) == pytest.approx(3.0, abs=0.01)
            long.append(mark.s)
            back = place.back(complex(*mark.sewn))
            if at != "crests":
                # Where it is sewn it lies on the strip's own top, at its length along the run.
                assert abs(back - complex(*m.points(np.array([mark.s]))[0])) < MEET
            # Straight out from there it stands: for crests square to the chord of their scallop.
            out = place.back(complex(*mark.foot)) - back
            (along,) = as_complex(m.tangents(np.array([mark.s])))
            assert abs((out / along).real) < (MEET if at != "crests" else 1.0)
            assert (out / along).imag < 0.0
    # Each is there once, none on two pieces.
    assert sorted(long) == pytest.approx(sorted(run.notches[0].s), abs=MEET)


def test_notches_along_both_edges_of_a_seam_meet_once_sewn() -> None:
    """Two runs of notches only, one along each edge: as far from the joint on both, and on both cutting lines."""
    whole, places = strip(2), (Place(20 + 300j, 0.4), Place(700 + 900j, -1.2))
    drawing = whole.cut(places)
    drawing = redrawn(drawing, [notches(drawing, "p0:c1..c2", at="parts:3", name="here")])
    drawing = redrawn(drawing, [notches(drawing, "p1:c0..c3", at="parts:3", name="there")])
    made = cut(drawing, allowance=12)
    joint = complex(*measure(WAVE).points(np.array([whole.cuts[1]]))[0])
    for one, place, name in zip(made, places, ("here", "there"), strict=True):
        marks = sorted(run_marks_of(one), key=lambda mark: mark.s)
        assert {mark.run for mark in marks} == {name}
        for mark, share in zip(marks, (1.0 / 3.0, 2.0 / 3.0), strict=True):
            assert_on_the_cut(one, mark)
            assert abs(place.back(complex(*mark.sewn)) - (joint + share * whole.seams[1])) < MEET
            assert math.hypot(*(mark.foot - mark.sewn)) == pytest.approx(12.0, abs=MEET)


@pytest.mark.parametrize("angle", [60.0, 40.0, 25.0])
def test_in_a_hollow_corner_a_notch_takes_the_nearest_place_or_stays_where_it_is_sewn(angle: float) -> None:
    """Two allowances of 15 mm part at 15 mm / sin(angle / 2) from the corner; beyond twice 15 mm nothing is carried."""
    half = math.radians(0.5 * angle)
    wide, long = 100.0 * math.tan(half), 100.0 / math.cos(half)
    points = f"M 10,100 H {200 - wide} L 200,200 L {200 + wide},100 H 390 V 300 H 10 Z"
    drawing = read_drawing(page(f'<path id="p" d="{points}"/>').encode(), "a.svg")
    drawing = redrawn(drawing, [notches(drawing, "p:c1..c2", at="parts:25", name="leg")])
    (made,) = cut(drawing)
    assert len(run_marks_of(made)) == 24
    told = [warn.message for warn in made.warnings if warn.code == "notches-inside"]
    parted = 15.0 / math.tan(half)
    corner = np.array([200.0, 200.0 - 15.0 / math.sin(half)])
    stayed = 0
    for mark in run_marks_of(made):
        left = long - mark.s
        away = 15.0 if left >= parted else math.hypot(parted - left, 15.0)
        if away > 30.0 + MEET:
            stayed += 1
            assert mark.inside == pytest.approx(away, abs=MEET)
            assert mark.foot == pytest.approx(mark.sewn)
            assert sum(f"{away:.1f} mm from the nearest cutting line" in text for text in told) >= 1
            assert any(f'the notch {mark.s:.6g} mm along "leg"' in text for text in told)
            continue
        assert_on_the_cut(made, mark)
        assert math.hypot(*(mark.foot - mark.sewn)) == pytest.approx(away, abs=MEET)
        if left < parted:
            assert mark.foot == pytest.approx(corner, abs=MEET)
    assert len(told) == stayed
    assert (stayed > 0) is (angle < 60.0)


@pytest.mark.parametrize(("words", "told"), [({"finish": "bound"}, 1), ({"finish": "faced"}, 0)])
def test_a_trimmed_edge_without_allowance_keeps_its_notches_where_they_are_sewn(
    words: dict[str, str], told: int
) -> None:
    drawing = read_drawing(page(BOX).encode(), "a.svg")
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="hem", **words)])
    drawing = redrawn(drawing, [notches(drawing, run="hem", at="parts:3")])
    (made,) = cut(drawing)
    assert [warn.code for warn in made.warnings].count("notches-inside") == told
    for mark in run_marks_of(made):
        assert (mark.inside == 0.0) is bool(told)
        assert np.array_equal(mark.foot, mark.sewn) is bool(told)


@pytest.mark.parametrize("carried", [True, False])
def test_on_an_outline_that_is_drawn_as_it_is_cut_notches_stay_on_it(carried: bool) -> None:
    """Where the drawing carries its allowance, or none is asked for, the drawn line is the cutting line."""
    drawing, words = read_drawing(page(BOX).encode(), "a.svg"), {"allowance": "10mm"} if carried else {}
    if carried:
        drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, **words)])
    drawing = redrawn(drawing, [notches(drawing, "box:c1..c2", at="parts:2", name="side", **words)])
    (made,) = cut(drawing) if carried else cut(drawing, allowance=0)
    (mark,) = run_marks_of(made)
    assert mark.foot == pytest.approx((310.0, 120.0), abs=MEET)
    assert mark.line[1] == pytest.approx((307.0, 120.0), abs=MEET)
    assert "notches-inside" not in [warn.code for warn in made.warnings]


def test_the_notches_of_a_hole_stand_on_its_cutting_line_inside_it() -> None:
    rings = "".join(
        f"M {400 - r},400 A {r} {r} 0 1 1 {400 + r},400 A {r} {r} 0 1 1 {400 - r},400 Z " for r in (300, 100)
    )
    drawing = read_drawing(page(f'<path id="skirt" d="{rings}"/>', size=(800, 800)).encode(), "a.svg")
    drawing = redrawn(drawing, [notches(drawing, "skirt.2", at="parts:4", name="waist")])
    marks = run_marks_of(cut(drawing, allowance=10)[1])
    radii = np.array([[math.hypot(*(place - 400.0)) for place in (mark.sewn, *mark.line)] for mark in marks])
    # On the stitching line, on the cutting line inside the hole, and 3 mm back towards the cloth.
    assert radii == pytest.approx(np.tile([100.0, 90.0, 93.0], (4, 1)), abs=PROMISE)


@pytest.mark.parametrize(("length", "allowance"), [("4mm", "scalloped:6mm"), ("6mm", "straight:10mm")])
def test_a_notch_too_deep_for_the_allowance_is_refused(length: str, allowance: str) -> None:
    drawing = read_drawing(page(BOX).encode(), "a.svg")
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="hem", finish="faced", cut=allowance)])
    drawing = redrawn(drawing, [notches(drawing, run="hem", at="crests", length=length)])
    with pytest.raises(
        RequestError, match=r'the notch 15 mm along "hem" on the cutting line of "box": .* give at most'
    ):
        cut(drawing)
    drawing = redrawn(drawing, [notches(drawing, run="hem", at="crests", length=length, kind="triangle")])
    (made,) = cut(drawing)
    ring = shapely.Polygon(ring_of(made))
    assert not any(ring.contains(shapely.Point(mark.line[1])) for mark in run_marks_of(made))


@given(
    st.lists(st.floats(-40.0, 40.0), min_size=2, max_size=2),
    st.floats(0.3, 2.4),
    st.floats(0.3, 2.4),
    st.floats(2.0, 25.0),
    st.integers(2, 9),
)
@settings(max_examples=25, deadline=None)
def test_along_any_edge_each_notch_stands_on_the_cutting_line_square_to_where_it_is_sewn(
    bow: list[float], left: float, right: float, allowance: float, parts: int
) -> None:
    ends = [np.array([20.0, 200.0]), np.array([320.0, 200.0])]
    feet = [ends[0] + 150.0 * np.array([-math.cos(left), math.sin(left)])]
    feet.append(ends[1] + 150.0 * np.array([math.cos(right), math.sin(right)]))
    assume(feet[1][0] - feet[0][0] > 5.0)
    edge = np.array([[ends[0], (120.0, 200.0 + bow[0]), (220.0, 200.0 + bow[1]), ends[1]]])
    outline = np.concatenate([edge, lines(np.array([ends[1], feet[1], feet[0], ends[0]]))])
    drawing = read_drawing(page(path(outline, "p", closed=True)).encode(), "a.svg")
    names = [corner.name for corner in corners(drawing.pattern.pieces[0].curve, closed=True)]
    try:
        run = notches(drawing, f"p:{names[0]}..{names[1]}", at=f"parts:{parts}", name="edge")
        (made,) = cut(redrawn(drawing, [run]), allowance=allowance)
    except RequestError:
        assume(False)
    assume(len(names) == 4)
    marks = run_marks_of(made)
    assert len(marks) == parts - 1
    m = measure(edge)
    for k, mark in enumerate(marks):
        s = np.array([(k + 1) * m.length / parts])
        assert mark.sewn == pytest.approx(m.points(s)[0], abs=MEET)
        if mark.inside is None:
            assert_on_the_cut(made, mark)
            out = mark.foot - mark.sewn
            beside = abs(float(out @ m.tangents(s)[0]))
            # Square to the edge, or, where its neighbour's allowance takes that place, no farther than twice as far.
            assert beside < MEET or math.hypot(*out) <= 2.0 * allowance + MEET
