"""Match notches: the same sewn place on both pieces of a seam, square to it, on the line where the cloth is cut."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from scallopkit.construction.match_marks import MatchMark
from scallopkit.document.cut_pieces import MadePiece
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import cut, redrawn, scallop
from scallopkit.geometry.cubics import Array, flatten, lines
from scallopkit.geometry.length import measure

from ..document.test_runs_sewn import Place, Strip, as_complex, edges_of
from ..drawings import page, path
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
