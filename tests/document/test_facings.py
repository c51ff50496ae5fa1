"""Facings as drawn and reported: cut from paper and sewn on by the report's own coordinates they meet edge to edge."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from lxml import etree

from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.beside import Item, free_places, taken_by_others
from scallopkit.document.checking import check
from scallopkit.document.cut_pieces import made_pieces
from scallopkit.document.drawing import Drawing
from scallopkit.document.facings import MadeFacing, facing_elements, facing_entry, facing_lines, facings_of
from scallopkit.document.group import Pen, group_of
from scallopkit.document.layer import replace_groups
from scallopkit.document.markup import SVG
from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import (
    EdgeWords,
    EyeletWords,
    FacingWords,
    FinishWords,
    JoinWords,
    NotchWords,
    PieceWords,
    Recipe,
    ScallopWords,
    StretchWords,
)
from scallopkit.document.report import report_of
from scallopkit.document.runs import Run, make_run
from scallopkit.document.workshop import cut, facing, recut, refit, with_runs
from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.edge import find_piece
from scallopkit.pattern.piece import Warn
from tests.construction.test_facing import Place, cuts, hem, laid, placings, ring, segment
from tests.drawings import BOX, LINE, QUARTER, ROUND, UNITS, marks, read

# Promised of parallels, and of what is cut from paper, mm.
PAPER = 0.02
FACED = FinishWords("faced")

few = settings(
    max_examples=6,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow],
)


def made_run(drawing: Drawing, edges: tuple[str, ...] | list[str], *joins: str, **words: Any) -> Run:  # noqa: ANN401  # words of a recipe
    """A faced run; words of its edge and of its scallops."""
    of_edge = {key: words.pop(key) for key in ("start", "end", "side", "times") if key in words}
    finish = words.pop("finish", FACED)
    eyelets = words.pop("eyelets", ())
    scallops = ScallopWords(**({"width": "25mm", "depth": "20%"} | words))
    held = tuple(JoinWords(join.partition(":")[0], join.partition(":")[2]) for join in joins)
    stretches = tuple(StretchWords(edge) for edge in edges)
    recipe = Recipe("hem", EdgeWords(**of_edge), scallops, eyelets, edges=stretches, joins=held, finish=finish)
    return make_run(drawing, recipe)


def of_waistcoat() -> tuple[Drawing, Run]:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    return drawing, made_run(drawing, HEM, *HEM_JOINS, start="fold", width="22mm", depth="35%")


class Sewn:
    """Facings drawn into their drawing, and what the report says of them."""

    def __init__(self, drawing: Drawing, run: Run, words: FacingWords) -> None:
        self.run, self.drawing = run, drawing
        self.made, self.warnings = facings_of(drawing, run, words)
        drawn = [one for one in self.made if one.drawn]
        self.shifts = free_places(drawing, [], [Item(one.low, one.high) for one in drawn])
        group, pen = group_of(run, drawing), Pen(run, drawing)
        for one, shift in zip(drawn, self.shifts, strict=True):
            group.extend(facing_elements(pen, one, shift))
        self.group = group
        self.written = replace_groups(drawing.source, {run.name: group})
        pairs = zip(drawn, self.shifts, strict=True)
        # As a program reads it.
        self.entries = json.loads(json.dumps([facing_entry(drawing, one, shift) for one, shift in pairs]))
        self.report = report_of(drawing, [run])["runs"][0]

    def lines(self, role: str, piece: str) -> list[Array]:
        """The lines of a role on a piece, in mm."""
        found = [e for e in self.group if e.get("data-role") == role and e.get("data-piece") == piece]
        read_in = [read_path(e.get("d", ""), 1e-6) for e in found if e.get("d")]
        return [motion.apply(self.drawing.to_mm, sub.curve) for data in read_in for sub in data.subpaths]

    def mm(self, places: list[dict[str, Any]]) -> Array:
        points = np.array([(place["x"], place["y"]) for place in places]).reshape(-1, 2)
        return motion.apply(self.drawing.to_mm, points)

    def onto(self, entry: dict[str, Any], begin: float = -1.0, end: float = math.inf) -> tuple[Array, Array]:
        """The rigid map that lays a facing on a piece, and what is left over.

        Valleys are laid on valleys by their lengths along the run, those between two lengths.
        """
        there = self.report["valleys"]
        pairs = [
            (k, j)
            for k, valley in enumerate(entry["valleys"])
            for j, other in enumerate(there)
            if abs(valley["s_mm"] - other["s_mm"]) < 1e-5 and begin + 1e-5 < other["s_mm"] < end - 1e-5
        ]
        a, b = self.mm(entry["valleys"])[[k for k, _ in pairs]], self.mm(there)[[j for _, j in pairs]]
        return laid_on(a, b, turned_over=entry["mirrored"]) if len(a) > 1 else (motion.IDENTITY, np.array([]))


def laid_on(a: Array, b: Array, turned_over: bool) -> tuple[Array, Array]:
    """The best rigid map of points a onto b, of the hand that is asked for (Kabsch), and the distances left."""
    u, _, vt = np.linalg.svd((a - a.mean(axis=0)).T @ (b - b.mean(axis=0)))
    hand = -1.0 if turned_over else 1.0
    flip = np.diag([1.0, hand * np.sign(np.linalg.det(u @ vt))])
    linear = (u @ flip @ vt).T
    by = np.concatenate([linear, (b.mean(axis=0) - linear @ a.mean(axis=0))[:, None]], axis=1)
    return by, np.hypot(*(motion.apply(by, a) - b).T)


def dots(curve: Array) -> Array:
    m = measure(curve)
    return m.points(np.linspace(0.0, m.length, 200))


def assert_sewn(sewn: Sewn) -> None:
    """All facings, cut out along their written lines and laid on, meet the written stitching lines of all parts."""
    long = sewn.report["length_mm"]
    places = [0.0, *(join["s_mm"] for join in sewn.report["joins"] if 1e-5 < join["s_mm"] < long - 1e-5), long]
    found = [e for e in sewn.group if e.get("data-role") == "stitching"]
    lines = [(str(e.get("data-piece")), read_path(e.get("d", ""), 1e-6).subpaths[0].curve) for e in found]
    reached = dict.fromkeys((entry["name"] for entry in sewn.entries), 0.0)
    for (piece, drawn), begin, end in zip(lines, places, places[1:], strict=False):
        line = motion.apply(sewn.drawing.to_mm, drawn)
        (entry,) = [one for one in sewn.entries if len(sewn.onto(one, begin, end)[1])]
        assert piece in entry["pieces"]
        by, left = sewn.onto(entry, begin, end)
        assert left.max() < PAPER
        on_it = motion.apply(by, sewn.lines("stitching", entry["name"])[0])
        assert nearest(on_it, dots(line)).distance.max() < PAPER
        reached[entry["name"]] += measure(line).length
    for entry in sewn.entries:
        edge = sewn.lines("stitching", entry["name"])[0]
        assert reached[entry["name"]] == pytest.approx(measure(edge).length, abs=PAPER)
        for point, place in zip(edge[[0, -1], [0, 3]], sewn.mm(entry["corners"])[:2], strict=True):
            assert math.dist(point, place) < 1e-4


# ---------------------------------------------------------------- cut from paper and sewn on


@few
@given(cuts(), placings(3))
def test_sectors_of_a_ring_faced_with_their_seams_or_in_one_piece(
    angles: list[float], placed: list[tuple[Place, Place]]
) -> None:
    drawing, edges = ring((260.0, 150.0), angles, placed)
    run = made_run(drawing, edges, *["seam:pass"] * (len(edges) - 1))
    for words in (FacingWords(depth="40mm"), FacingWords(depth="40mm", across=("all",))):
        sewn = Sewn(drawing, run, words)
        assert sewn.warnings == ()
        assert len(sewn.made) == (1 if words.across else len(edges))
        assert {one.cut for one in sewn.made} <= {"cut 1", "cut 1 (drawn mirrored)"}
        assert_sewn(sewn)
        # A kept seam is faced as deep on one side as on the other.
        for one, other in pairwise(sewn.entries):
            depth = [
                math.dist(sewn.mm(entry["corners"])[k], sewn.mm(entry["corners"])[3 - k])
                for entry, k in ((one, 1), (other, 0))
            ]
            assert depth[0] == pytest.approx(depth[1], abs=0.5)


@pytest.mark.parametrize("unit", UNITS)
def test_a_round_outline_has_a_ring(unit: float) -> None:
    body = ROUND if unit == 1.0 else f'<circle id="round" cx="{200 / unit}" cy="{200 / unit}" r="{100 / unit}"/>'
    drawing = read(body, unit)
    run = made_run(drawing, ["round"], depth="25%", width="39mm")
    sewn = Sewn(drawing, run, FacingWords(depth="30mm"))
    (entry,) = sewn.entries
    assert entry["ends"] == entry["corners"] == []
    # It is its own mirror image.
    assert (entry["mirrored"], entry["cut"]) == (False, "cut 1")
    (edge,) = sewn.lines("stitching", entry["name"])
    by, left = sewn.onto(entry)
    assert left.max() < PAPER
    (line,) = sewn.lines("stitching", "round")
    assert nearest(motion.apply(by, edge), dots(line)).distance.max() < PAPER
    assert len(sewn.lines("facing", entry["name"])) == 2


@pytest.mark.parametrize("across", [(), ("all",), ("hem-side",)])
def test_the_hem_of_the_waistcoat(across: tuple[str, ...]) -> None:
    drawing, run = of_waistcoat()
    names = tuple(entry["at"] for entry in report_of(drawing, [run])["runs"][0]["joins"] if entry["kind"] == "seam")
    sewn = Sewn(drawing, run, FacingWords(across=names if across == ("hem-side",) else across))
    told = [(one.name, one.cut, one.mirrored, one.ends) for one in sewn.made]
    if across:
        assert told == [("hem facing", "cut 1 on the fold", False, ("fold", "free"))]
    else:
        assert told == [
            ("hem facing 1", "cut 1 on the fold", False, ("fold", "seam")),
            ("hem facing 2", "cut 2, a pair", False, ("seam", "free")),
        ]
    assert_sewn(sewn)
    assert all(finding.ok for finding in check(sewn.written, "waistcoat.svg"))
    assert_clear(sewn)
    # Darts are closed in the facing, and marked on both its edges, as is a seam that it goes over; its own has one.
    notched = [len(sewn.lines("notch", one.name)) for one in sewn.made]
    assert notched == ([6] if across else [3, 3])
    assert sum(entry["stay_tape_mm"] for entry in sewn.entries) == pytest.approx(sewn.report["length_mm"], abs=1e-5)


def assert_clear(sewn: Sewn) -> None:
    """Every facing with its label lies in its own free place, and its label and its grain line inside its outline."""
    boxes = []
    for one, shift in zip(sewn.made, sewn.shifts, strict=True):
        assert one.label is not None
        (cutting,) = sewn.lines("facing", one.name)
        points = dots(cutting)
        assert (points > one.low + shift - 1e-3).all()
        assert (points < one.high + shift + 1e-3).all()
        grain = sewn.lines("grain", one.name)[0]
        for place in (*(one.label.box + shift), *grain[0, [0, 3]]):
            assert winds(points, place)
        middle = one.label.centre + shift
        assert not apart(one.label.box + shift, grain)
        assert nearest(cutting, middle[None]).distance[0] > one.label.size
        boxes.append((one.low + shift, one.high + shift))
    for (low, high), (other_low, other_high) in pairwise(boxes):
        assert bool(((low > other_high) | (other_low > high)).any())
    taken = taken_by_others(read_drawing(sewn.written, "a.svg"), [])
    assert len(taken) == len(boxes)


def winds(polygon: Array, place: Array) -> bool:
    z = (polygon - place)[:, 0] + 1j * (polygon - place)[:, 1]
    return abs(float(np.angle(np.roll(z, -1) / z).sum())) > math.pi


def apart(corners: Array, line: Array) -> bool:
    """Whether a straight line passes through a box."""
    points = dots(line)
    return any(winds(corners, point) for point in points)


# ---------------------------------------------------------------- notches


def notched(drawing: Drawing, edges: list[str], *joins: str, at: tuple[str, ...] = ("valleys",), **words: Any) -> Run:  # noqa: ANN401  # words of a recipe
    """A faced run with notches."""
    plain = made_run(drawing, edges, *joins, **words)
    return make_run(drawing, replace(plain.recipe, notches=tuple(NotchWords(at=one) for one in at)))


def assert_same_notches(sewn: Sewn) -> list[int]:
    """On each part of a run the notches of its facing, as drawn, lie on the piece's own; how many on each facing."""
    run, drawing = sewn.run, sewn.drawing
    pieces = made_pieces(drawing, [PieceWords(piece=name) for name in run_pieces(run)], [run])
    marks = [mark for made in pieces for mark in made.marks if mark.run]
    there, s = np.array([mark.foot for mark in marks]), np.array([mark.s for mark in marks])
    long, counts = sewn.report["length_mm"], []
    places = [0.0, *(join["s_mm"] for join in sewn.report["joins"] if 1e-5 < join["s_mm"] < long - 1e-5), long]
    met = np.zeros(len(there), dtype=int)
    for entry in sewn.entries:
        feet = np.array([foot_of(line) for line in sewn.lines("notch", entry["name"])]).reshape(-1, 2)
        assert nearest(np.concatenate(sewn.lines("facing", entry["name"])), feet).distance.max() < PAPER
        counts.append(len(feet))
        for begin, end in pairwise(places):
            by, left = sewn.onto(entry, begin, end)
            if len(left):
                # What lies at a joint is with the part before it.
                here = (s >= begin + 1e-5 * (begin > 0.0)) & (s < end + 1e-5)
                apart = cubics.norm(there[here, None] - motion.apply(by, feet)[None])
                met[here] += (apart < 2.0 * PAPER).sum(axis=1)
    assert (met == 1).all()
    return counts


def foot_of(notch: Array) -> Array:
    """Where a notch stands, of a triangle the middle between its feet."""
    return np.asarray(notch[0, 0] if len(notch) == 1 else 0.5 * (notch[0, 0] + notch[-1, 3]))


def run_pieces(run: Run) -> list[str]:
    return list(dict.fromkeys(part.edge.piece.name for part in run.laid.parts))


@few
@given(cuts(), placings(3))
def test_a_facing_has_the_notches_of_the_pieces_it_is_sewn_to(
    angles: list[float], placed: list[tuple[Place, Place]]
) -> None:
    drawing, edges = ring((260.0, 150.0), angles, placed)
    run = notched(drawing, list(edges), *["seam:pass"] * (len(edges) - 1), at=("parts:13",))
    kept = assert_same_notches(Sewn(drawing, run, FacingWords(depth="40mm")))
    # The first seam that they keep is marked once on either facing, the second twice, and so on.
    assert (len(kept), sum(kept)) == (len(edges), 12 + len(edges) * (len(edges) - 1))
    # In one piece it has besides those of the seams that it goes over, on its edge and on its inner edge.
    assert assert_same_notches(Sewn(drawing, run, FacingWords(depth="40mm", across=("all",)))) == [
        12 + 2 * len(edges) - 2
    ]


@pytest.mark.parametrize("finish", [FACED, FinishWords("faced", cut="straight:10mm")])
@pytest.mark.parametrize("at", ["valleys", "crests", "parts:9"])
def test_a_facing_of_one_straight_edge_lies_on_its_piece_notch_on_notch(at: str, finish: FinishWords) -> None:
    """Where the facing is drawn as it is sewn, before it is moved away, to the last digit."""
    drawing = read(BOX)
    run = notched(drawing, ["box:c0..c1"], at=(at,), weights="2,1,2", finish=finish, times="2")
    (made,), _ = facings_of(drawing, run, FacingWords(depth="60mm"))
    (piece,) = made_pieces(drawing, [PieceWords(piece="box")], [run])
    assert made.shape is not None
    assert not made.mirrored
    own = [mark.line for mark in piece.marks if mark.run]
    assert len(own) == len(run.notches[0])
    assert np.array(made.shape.notches) == pytest.approx(np.array(own), abs=1e-6)


def test_the_notches_of_the_waistcoat_s_hem_and_of_its_facing() -> None:
    drawing, run = of_waistcoat()
    run = make_run(drawing, replace(run.recipe, notches=(NotchWords(at="valleys", every="3"),)))
    across = ("all",)
    on_run = len(run.sewn_notches)
    # Beside those of two darts and a seam, on both edges each.
    one = assert_same_notches(Sewn(drawing, run, FacingWords(across=across)))
    assert one == [on_run + 6]
    assert sum(assert_same_notches(Sewn(drawing, run, FacingWords()))) == on_run + 4 + 2


@settings(max_examples=20, deadline=None)
@given(cuts(), placings(2), st.floats(20.0, 60.0), st.floats(6.0, 25.0))
def test_facings_that_are_sewn_together_have_notches_in_the_same_sewn_place(
    angles: list[float], placed: list[tuple[Place, Place]], depth: float, seam: float
) -> None:
    drawing, edges = ring((260.0, 150.0), angles[:3], placed)
    run = made_run(drawing, list(edges), "seam:pass", width="24mm", depth="30%")
    found, _ = facings_of(drawing, run, FacingWords(depth=f"{depth}mm", seam=f"{seam}mm"))
    places = []
    for one, which in zip(found, (-1, 0), strict=True):
        assert one.shape is not None
        line = one.shape.seams[which]
        (notch,) = one.shape.notches
        # From the cutting line, square to the seam, and no more than half way to it.
        foot = nearest(line, notch)
        assert foot.distance == pytest.approx([seam, seam - min(3.0, 0.5 * seam)], abs=1e-6)
        m = measure(line)
        places.append(float(m.lengths(foot.segment[:1], foot.t[:1])[0]))
        assert places[-1] == pytest.approx(0.5 * m.length, abs=1e-6)
    # Either seam is walked from the trimmed edge inwards.
    assert places[0] == pytest.approx(places[1], abs=1e-6)


@pytest.mark.parametrize(("width", "marks"), [("60mm", 1), ("50mm", 2)])
def test_a_facing_without_a_seam_is_matched_in_the_middle(width: str, marks: int) -> None:
    """Of five scallops the crest of the third is marked, of six those of the third and fourth, on the piece too."""
    drawing = read(BOX)
    run = made_run(drawing, ["box:c0..c1"], width=width)
    found, _ = facings_of(drawing, run, FacingWords(depth="60mm"))
    run = replace(run, facings=found)
    (made,) = found
    assert made.shape is not None
    assert len(made.shape.notches) == marks
    (piece,) = made_pieces(drawing, [PieceWords(piece="box")], [run])
    own = [mark.line for mark in piece.marks if mark.run]
    middle = np.array([one[0] for one in own]).mean(axis=0)
    low, high = cubics.bounds(drawing.pattern.pieces[0].curve)
    assert middle[0] == pytest.approx(0.5 * (low[0] + high[0]), abs=1e-6)
    assert np.array(made.shape.notches) == pytest.approx(np.array(own), abs=1e-6)
    # A piece that is not drawn as it is cut has them in the run's own group.
    drawn = [e for e in group_of(run, drawing).iter() if e.get("data-role") == "notch" and e.get("data-piece") == "box"]
    assert len(drawn) == marks


def test_a_notch_at_a_seam_that_the_facing_goes_over_is_there_once() -> None:
    """A valley lies at the seam, and has the notch of the seam."""
    drawing = read(
        '<path id="l" d="M 10,100 H 160 V 250 H 10 Z"/><path id="r" d="M 300,100 H 450 V 250 H 300 Z"/>', unit=1.0
    )
    run = notched(drawing, ["l:c0..c1", "r:c0..c1"], "seam", width="30mm")
    sewn = Sewn(drawing, run, FacingWords(across=("all",)))
    # Nine valleys inside the run, of which one is at the seam, which is marked on the inner edge too.
    assert assert_same_notches(sewn) == [10]


def test_a_ring_has_the_notches_of_its_outline() -> None:
    drawing = read(ROUND)
    run = notched(drawing, ["round"], at=("parts:4",), depth="25%", width="39mm")
    assert assert_same_notches(Sewn(drawing, run, FacingWords(depth="30mm"))) == [4]


# ---------------------------------------------------------------- which way round, and how many


def test_where_one_is_cut_it_is_drawn_as_its_mirror_image() -> None:
    """Front and back of a sleeveless bodice are cut once; only `times` says that there are two."""
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    words = FacingWords(depth="40mm", across=("all",))
    single = Sewn(drawing, made_run(drawing, ARMHOLE, *ARMHOLE_JOINS, width="16mm"), words)
    pair = Sewn(drawing, made_run(drawing, ARMHOLE, *ARMHOLE_JOINS, width="16mm", times="2"), words)
    six = Sewn(drawing, made_run(drawing, ARMHOLE, *ARMHOLE_JOINS, width="16mm", times="6"), words)
    assert [one.made[0].cut for one in (single, pair, six)] == [
        "cut 1 (drawn mirrored)",
        "cut 2, a pair",
        "cut 6, 3 pairs",
    ]
    assert [one.made[0].mirrored for one in (single, pair, six)] == [True, False, False]
    assert [one.made[0].count for one in (single, pair, six)] == [1, 2, 6]
    for sewn in (single, pair):
        assert_sewn(sewn)
        label = "".join(str(text) for text in sewn.group.itertext())
        assert sewn.made[0].cut in label
    # The mirror line is the grain, so the grain of both lies as the piece's does.
    grain = find_piece(drawing.pattern, "grain-front").curve
    for sewn in (single, pair):
        line = sewn.lines("grain", "hem facing")[0]
        assert abs(cubics.cross(*(cubics.ends_direction(c)[0] for c in (line, grain)))) < 1e-6
    one, two = single.made[0].shape, pair.made[0].shape
    assert one is not None
    assert two is not None
    assert cubics.area(one.cutting[0]) == pytest.approx(-cubics.area(two.cutting[0]), rel=1e-9)


def test_a_straight_hem_is_its_own_mirror_image_unless_its_scallops_are_not() -> None:
    drawing = read(BOX)
    alike = facings_of(drawing, made_run(drawing, ["box:c0..c1"]), FacingWords())[0][0]
    growing = facings_of(drawing, made_run(drawing, ["box:c0..c1"], weights="1..2"), FacingWords())[0][0]
    assert (alike.mirrored, alike.cut) == (False, "cut 1")
    assert (growing.mirrored, growing.cut) == (True, "cut 1 (drawn mirrored)")


def test_folds() -> None:
    drawing = read(QUARTER)
    run = made_run(drawing, ["quarter:c1..c2"], start="fold", end="fold", width="60mm")
    sewn = Sewn(drawing, run, FacingWords(depth="60mm"))
    (one,) = sewn.made
    assert (one.cut, one.mirrored, one.ends) == ("cut 1 on both folds", False, ("fold", "fold"))
    assert len(sewn.lines("fold", one.name)) == 2
    assert_sewn(sewn)
    box = read(BOX)
    two = made_run(box, ["box:c0..c1"], start="fold", times="2")
    assert facings_of(box, two, FacingWords())[0][0].cut == "cut 2 on the fold"


def test_a_run_over_both_halves_of_a_folded_piece_has_a_pair() -> None:
    """Front, half back, and the other half and front beyond the fold: two fronts, and the back once on its fold."""
    drawing, edges = hem([laid(0.0, 0.0, 0.0), laid(300.0, 300.0, 0.4)], [0.0, 160.0, 300.0], [(0.0, 0.0)] * 2)
    edges = [*edges, "p1:c2..c1", "p0:c2..c1"]
    run = made_run(drawing, edges, "seam", "fold", "seam")
    made, _ = facings_of(drawing, run, FacingWords())
    assert [(one.pieces, one.cut) for one in made] == [(("p0",), "cut 2, a pair"), (("p1",), "cut 1 on the fold")]


# ---------------------------------------------------------------- sizes


def test_sizes_of_a_straight_hem() -> None:
    drawing = read(BOX)
    sewn = Sewn(drawing, made_run(drawing, ["box:c0..c1"], width="30mm", depth="40%"), FacingWords(inner="10mm"))
    ((made,), (entry,)) = sewn.made, sewn.entries
    w, h = 30.0, 12.0
    arcs = 10 * segment((0.25 * w * w + h * h) / (2.0 * h), 4.0 * math.atan(2.0 * h / w))
    assert entry["area_mm2"] == pytest.approx(300.0 * 50.0 + arcs, rel=1e-6)
    (cutting,) = sewn.lines("facing", made.name)
    (low, high), parallel = cubics.bounds(cutting), 6.0
    assert (high - low) == pytest.approx((300.0 + 2 * 15.0, 50.0 + 10.0 + h + parallel), abs=PAPER)
    assert [valley["s_mm"] for valley in entry["valleys"]] == pytest.approx([30.0 * k for k in range(11)])
    assert (entry["depth_mm"], entry["length_mm"], entry["count"]) == (50.0, 300.0, 1)
    assert facing_lines(sewn.made) == ["hem facing: shaped, 300.0 mm long, 50 mm deep, cut 1"]


def test_scallops_cut_into_the_cloth_have_their_allowance_outside() -> None:
    drawing = read(BOX)
    run = made_run(
        drawing, ["box:c0..c1"], width="30mm", depth="40%", side="inward", finish=FinishWords("faced", "straight:10mm")
    )
    for kind in ("shaped", "strip"):
        sewn = Sewn(drawing, run, FacingWords(kind))
        low, high = cubics.bounds(sewn.lines("facing", "hem facing")[0])
        assert (high - low) == pytest.approx((330.0, 60.0), abs=PAPER)
    (warning,) = facings_of(drawing, run, FacingWords(depth="26mm"))[1]
    assert (warning.code, "take 27 mm" in warning.message) == ("facing-shallow", True)


def test_the_turn_of_cloth_lowers_crests_and_keeps_valleys() -> None:
    drawing = read(BOX)
    run = made_run(drawing, ["box:c0..c1"], width="30mm", depth="40%")
    whole, lower = (Sewn(drawing, run, FacingWords(turn=turn)) for turn in ("", "1mm"))
    for sewn, height in ((whole, 12.0), (lower, 11.0)):
        edge = sewn.lines("stitching", "hem facing")[0]
        low, high = cubics.bounds(edge)
        assert float((high - low)[1]) == pytest.approx(height, abs=1e-4)
        assert sewn.onto(sewn.entries[0])[1].max() < PAPER
    with pytest.raises(RequestError, match="12 mm deep"):
        facings_of(drawing, run, FacingWords(turn="12mm"))


@pytest.mark.parametrize("kind", ["net", "full"])
def test_interlining(kind: str) -> None:
    drawing = read(BOX)
    sewn = Sewn(drawing, made_run(drawing, ["box:c0..c1"]), FacingWords(interlining=kind))
    lines = sewn.lines("interlining", "hem facing")
    assert len(lines) == (kind == "net")
    if lines:
        assert abs(cubics.area(lines[0])) == pytest.approx(sewn.entries[0]["area_mm2"], rel=1e-4)
    assert "interlining" in "".join(str(text) for text in sewn.group.itertext())
    assert sewn.entries[0]["interlining"] == kind
    named = Sewn(drawing, sewn.run, FacingWords(interlining=kind, interlining_cloth="light fusible"))
    assert "interlining (light fusible)" in " ".join(str(text) for text in named.group.itertext())
    with pytest.raises(RequestError, match="--interlining-cloth light fusible goes with --interlining"):
        facings_of(drawing, sewn.run, FacingWords(interlining_cloth="light fusible"))


# ---------------------------------------------------------------- strips and bands


def test_a_strip_is_as_long_as_the_edge_and_ticked_at_its_valleys() -> None:
    drawing = read(BOX)
    run = made_run(drawing, ["box:c0..c1"], width="30mm", depth="40%", finish=FinishWords("faced", "straight:10mm"))
    sewn = Sewn(drawing, run, FacingWords("strip", "40mm", inner="5mm"))
    ((made,), (entry,)) = sewn.made, sewn.entries
    (cutting,) = sewn.lines("facing", made.name)
    low, high = cubics.bounds(cutting)
    assert (high - low) == pytest.approx((330.0, 40.0 + 5.0 + 12.0 + 10.0), abs=1e-4)
    assert len(sewn.lines("notch", made.name)) == 9
    assert entry["area_mm2"] == pytest.approx(300.0 * 40.0)
    by, left = sewn.onto(entry)
    assert left.max() < PAPER
    assert motion.apply(by, sewn.lines("stitching", made.name)[0])[..., 1] == pytest.approx(20.0, abs=1e-4)
    assert_clear(sewn)


def test_a_strip_is_pieced_at_crests() -> None:
    drawing = read(BOX)
    run = made_run(drawing, ["box:c0..c1"], width="30mm", depth="40%", times="2")
    made, _ = facings_of(drawing, run, FacingWords("strip", longest="200mm"), 3)
    assert [one.name for one in made] == ["hem facing 3", "hem facing 4"]
    assert [one.length for one in made] == pytest.approx([135.0, 165.0]) or [one.length for one in made] == (
        pytest.approx([165.0, 135.0])
    )


def test_the_strip_of_a_loop_meets_at_a_crest() -> None:
    drawing = read(ROUND)
    run = made_run(drawing, ["round"], width="39mm")
    (made,), _ = facings_of(drawing, run, FacingWords("strip"))
    assert made.ends == ("seam", "seam")
    width = made.length / run.count
    assert made.shape is not None
    x = np.sort(made.shape.valleys[:, 0] - made.shape.corners[:, 0].min())
    assert x == pytest.approx([(k + 0.5) * width for k in range(len(x))], abs=1e-6)


def test_a_band_is_as_long_as_the_line_that_it_binds() -> None:
    for end, drawn in ((310.0, True), (1600.0, False)):
        drawing = read(f'<path id="hem" d="M 10,20 H {end}"/>')
        run = made_run(drawing, ["hem"], width="30mm", depth="50%", finish=FinishWords("bound"))
        ((made,), _) = facings_of(drawing, run, FacingWords("band", "32mm"))
        line = sum(measure(curve).length for curve in run.line.curves)
        assert made.length == pytest.approx(line + 20.0, rel=1e-6)
        assert made.drawn == drawn
        assert ("too long" in facing_lines([made])[0]) != drawn
        entry = facing_entry(drawing, made, np.zeros(2))
        assert made.name == "hem band"
        assert (entry["drawn"], entry["depth_mm"], entry["valleys"]) == (drawn, 32.0, [])
        assert (facing_elements(Pen(run, drawing), made, np.zeros(2)) == []) != drawn
    pieces, _ = facings_of(drawing, run, FacingWords("band", longest="600mm"))
    assert sum(one.length for one in pieces) == pytest.approx(made.length)
    assert len(pieces) == math.ceil(made.length / 600.0)


# A back and a front side by side, 200 mm wide; a strip of cloth on folds at both sides; a quarter with a blunt angle.
TWO = '<path id="back" d="M 50,50 h 200 v 350 h -200 z"/><path id="front" d="M 350,50 h 200 v 350 h -200 z"/>'
SHEAR = '<path id="part" d="M 0,0 H 300 A 300 300 0 0 1 {x},{y} Z"/>'


@pytest.mark.parametrize("kind", ["strip", "band"])
@pytest.mark.parametrize("loop", [False, True])
def test_a_lap_opens_so_each_side_has_a_strip_of_its_own(kind: str, loop: bool) -> None:
    """The centre lines lie 20 mm inside the edges that lap, and each strip goes on past its own to the edge."""
    drawing = read(TWO)
    finish = FACED if kind == "strip" else FinishWords("bound")
    joins = (JoinWords("lap", "pass", "20mm"), *([JoinWords("seam", "pass")] if loop else []))
    edges = (StretchWords("back:c0..c1"), StretchWords("front:c0..c1"))
    words = ScallopWords(width="25mm", depth="20%")
    run = make_run(drawing, Recipe("hem", EdgeWords(), words, edges=edges, joins=joins, finish=finish))
    made, _ = facings_of(drawing, run, FacingWords(kind, "40mm"))
    # Round a loop one strip goes from the lap over the seam to the lap again.
    assert [one.pieces for one in made] == ([("front", "back")] if loop else [("back",), ("front",)])
    assert all("free" in one.ends and "seam" not in one.ends for one in made)
    if kind == "strip":
        assert [one.length for one in made] == pytest.approx([400.0] if loop else [200.0, 200.0])
        # 14 scallops over 360 mm: the valley on the centre line is on the strips of both sides.
        assert sum(len(one.valleys_s) for one in made) == (15 if loop else 16)
    else:
        arcs = sum(measure(curve).length for curve in run.line.curves) / run.edge.measured.length
        told = [400.0 * arcs] if loop else [200.0 * arcs] * 2
        assert [one.length - 20.0 for one in made] == pytest.approx(told, rel=0.02)


def test_a_band_over_a_gap_beside_a_lap_is_as_long_as_the_bare_edge() -> None:
    drawing = read(TWO)
    words = ScallopWords(width="20mm", depth="50%", profile="half-circle")
    joins = (JoinWords("lap", "gap:40mm", "20mm"),)
    edges = (StretchWords("back:c0..c1"), StretchWords("front:c0..c1"))
    run = make_run(drawing, Recipe("hem", EdgeWords(), words, edges=edges, joins=joins, finish=FinishWords("bound")))
    made, _ = facings_of(drawing, run, FacingWords("band", "30mm"))
    # 140 mm of half circles, 40 mm bare up to the centre line and 20 mm beyond it, and 20 mm to turn in.
    assert [one.length for one in made] == pytest.approx([70.0 * math.pi + 80.0] * 2, rel=1e-6)


def test_two_folds_that_do_not_close_up_leave_a_seam_at_the_second() -> None:
    box = read(BOX)
    between = made_run(box, ["box:c0..c1"], start="fold", end="fold", times="2")
    for kind in ("shaped", "strip"):
        sewn = Sewn(box, between, FacingWords(kind, "40mm"))
        (one,) = sewn.made
        assert one.ends == ("fold", "seam")
        # Four edges go round a piece between two folds; each strip opens over one of them.
        assert (one.count, one.cut) == (4, 'cut 4 on the fold, with a seam at "c1"')
        assert len(sewn.lines("fold", one.name)) == 1
        low, high = cubics.bounds(sewn.lines("facing", one.name)[0])
        assert float((high - low)[0]) == pytest.approx(300.0 + 15.0, abs=PAPER)
    # Folds at 80 degrees: no share of a half turn.
    blunt = math.radians(80.0)
    drawing = read(SHEAR.format(x=300.0 * math.cos(blunt), y=300.0 * math.sin(blunt)))
    run = made_run(drawing, ["part:c1..c2"], start="fold", end="fold", width="60mm")
    (shaped,), _ = facings_of(drawing, run, FacingWords(depth="60mm"))
    assert (shaped.ends, shaped.cut) == (("fold", "seam"), 'cut 2 on the fold, with a seam at "c2"')


def test_front_and_back_in_one_are_on_one_fold_only() -> None:
    """Half a back and half a front, each on its own fold: sewn together both halves are the whole neckline."""
    drawing = read(TWO)
    run = made_run(drawing, ["back:c0..c1", "front:c0..c1"], "seam:pass", start="fold", end="fold")
    (one,), _ = facings_of(drawing, run, FacingWords(across=("all",)))
    assert (one.ends, one.count) == (("fold", "seam"), 1)
    assert one.cut.startswith("cut 1 on the fold, with a seam at ")


def test_no_piece_of_a_strip_or_a_band_is_longer_than_asked_once_it_is_opened() -> None:
    drawing = read(BOX)
    for kind, finish in (("strip", FACED), ("band", FinishWords("bound"))):
        run = made_run(drawing, ["box:c0..c1"], start="fold", width="20mm", finish=finish)
        made, _ = facings_of(drawing, run, FacingWords(kind, "40mm", longest="250mm"))
        assert [one.ends[0] for one in made] == ["fold", *["seam"] * (len(made) - 1)]
        for one in made:
            assert one.shape is not None
            low, high = cubics.bounds(one.shape.cutting[0])
            assert float((high - low)[0]) * (2 if "fold" in one.ends else 1) <= 250.0 + 1e-6


@pytest.mark.parametrize(("radius", "told"), [(2500.0, ""), (500.0, "11% longer"), (50.0, "many times longer")])
def test_a_straight_strip_on_a_curved_hem_is_told(radius: float, told: str) -> None:
    """A disc of radius r is r / (r - 50) times as long at its edge as 50 mm inside."""
    drawing = read(f'<circle id="round" cx="0" cy="0" r="{radius}"/>')
    run = made_run(drawing, ["round"], count="40", width="", depth="8%", finish=FinishWords("faced", trim="2mm"))
    warnings = {warn.code: warn.message for warn in facings_of(drawing, run, FacingWords("strip"))[1]}
    assert ("strip-stretched" in warnings) == bool(told)
    assert told in warnings.get("strip-stretched", "")


def test_a_straight_strip_on_a_hollow_edge_is_told() -> None:
    # Along a hole of 200 mm radius the cloth is 250 / 200 as long at a depth of 50 mm.
    drawing = read('<path id="neck" d="M 0,0 H 100 A 200 200 0 0 0 500,0 H 600 V 400 H 0 Z"/>')
    run = made_run(drawing, ["neck:c1..c2"])
    warnings = {warn.code: warn.message for warn in facings_of(drawing, run, FacingWords("strip"))[1]}
    assert "the edge is 25% longer at the depth of 50 mm" in warnings["strip-stretched"]


def test_no_straight_strip_goes_round_a_corner() -> None:
    drawing = read(BOX)
    for edges in (["box:c0..c1..c2"], ["box"]):
        run = made_run(drawing, edges)
        with pytest.raises(RequestError, match=r'round the corner of "hem" at "c[01]": take a shaped facing'):
            facings_of(drawing, run, FacingWords("strip"))


def test_the_label_says_which_pieces_it_is_for() -> None:
    drawing, run = of_waistcoat()
    for words, told in (
        (FacingWords(interlining="net"), ["hem facing 1", "cut 1 on the fold", "for back", "50 mm deep"]),
        (FacingWords(across=("all",)), ["hem facing", "cut 1 on the fold", "for back and front", "50 mm deep"]),
        (
            FacingWords("strip", "40mm"),
            ["hem facing", "cut 1 on the fold", "for back and front", "straight strip", "40"],
        ),
    ):
        label = facings_of(drawing, run, words)[0][0].label
        assert label is not None
        text = ", ".join(label.lines)
        assert re.search(".*".join(re.escape(part) for part in told), text)
        assert text.count("hem") == text.count("facing") == 1
        assert ("interlining to the stitching lines" in text) == bool(words.interlining)


def test_the_label_says_the_cloth_and_the_size() -> None:
    drawing, run = of_waistcoat()
    label = facings_of(drawing, run, FacingWords(across=("all",), cloth="silk"))[0][0].label
    assert label is not None
    assert "silk" in label.lines
    with pytest.raises(RequestError, match="--cloth"):
        facings_of(drawing, run, FacingWords(cloth="a\x00b"))


@pytest.mark.parametrize(
    ("own", "cloths", "told"),
    [
        ("", {"front": "linen", "back": "linen"}, ["linen", "size 40"]),
        ("", {"front": "linen", "back": "wool"}, ["size 40"]),
        ("silk", {"front": "linen", "back": "linen"}, ["silk", "size 40"]),
    ],
)
def test_a_facing_takes_its_cloth_from_the_pieces_that_it_faces(
    own: str, cloths: dict[str, str], told: list[str]
) -> None:
    """Whether they are cut before it is drawn or after."""
    drawing, run = of_waistcoat()
    drawing = read_drawing(with_runs(drawing, [run]), drawing.name)
    words: dict[str, Any] = {"run": run.name, "across": ["all"], "cloth": own}

    def cut_out(drawing: Drawing) -> Drawing:
        for piece, cloth in cloths.items():
            made = cut(drawing, piece, cloth=cloth, size="40")
            drawing = read_drawing(with_runs(drawing, [], made), drawing.name)
        return drawing

    def labels(drawing: Drawing) -> list[list[str]]:
        texts = etree.fromstring(drawing.source).iter("{*}text")
        lines = [[line for line in (str(part).strip() for part in text.itertext()) if line] for text in texts]
        return [one for one in lines if one and one[0] == f"{run.name} facing"]

    faced = read_drawing(with_runs(drawing, [facing(drawing, **words)]), drawing.name)
    after = cut_out(faced)
    before = cut_out(drawing)
    before = read_drawing(with_runs(before, [facing(before, **words)]), before.name)
    (lines,) = labels(after)
    assert labels(before) == [lines]
    assert [line for line in lines if line in ("linen", "wool", "silk", "size 40")] == told
    again = refit(after)
    assert with_runs(after, [one.run for one in again], recut(after, [one.run for one in again])) == after.source


# ---------------------------------------------------------------- elements


def test_cloth_and_size_are_written_on_facings() -> None:
    drawing, run = of_waistcoat()
    label = facings_of(drawing, run, FacingWords(depth="40mm", cloth="lining silk", size="40"))[0][0].label
    assert label is not None
    assert {"lining silk", "size 40"} <= set(", ".join(label.lines).split(", "))


def test_every_element_says_what_it_is() -> None:
    drawing, run = of_waistcoat()
    sewn = Sewn(drawing, run, FacingWords(interlining="net"))
    names = {one.name for one in sewn.made}
    own = [element for element in sewn.group if element.get("data-piece") in names]
    assert {e.get("data-role") for e in own} == {
        "facing",
        "stitching",
        "interlining",
        "clear",
        "fold",
        "grain",
        "notch",
        "label",
    }
    assert all(e.get("data-run") == "hem" for e in own)
    cut = [e for e in own if e.get("data-role") == "facing"]
    assert all(re.search(r"Z$", e.get("d", "")) for e in cut)
    # What the run's own stitching is stays what it was.
    stitched = [e for e in sewn.group.iter(f"{{{SVG}}}path") if e.get("data-role") == "stitching"]
    assert {e.get("data-piece") for e in stitched if e.get("data-sewn-for") is None} == {"back", "front"}
    assert {e.get("data-piece") for e in stitched if e.get("data-sewn-for") == "facing"} == names
    texts = [etree.tostring(e) for e in own if e.get("data-role") == "label"]
    assert len(texts) == 2


# ---------------------------------------------------------------- warnings and refusals


def codes(warnings: tuple[Warn, ...]) -> list[str]:
    return [warning.code for warning in warnings]


@pytest.mark.parametrize(("touch", "least"), [("valley", 15.0), ("crest", 27.0), ("middle", 21.0)])
def test_a_facing_hardly_deeper_than_the_scallops(touch: str, least: float) -> None:
    drawing = read(BOX)
    run = made_run(drawing, ["box:c0..c1"], width="30mm", depth="40%", touch=touch)
    assert codes(facings_of(drawing, run, FacingWords(depth=f"{least + 0.1}mm"))[1]) == []
    (warning,) = facings_of(drawing, run, FacingWords(depth=f"{least - 0.5}mm"))[1]
    assert warning.code == "facing-shallow"
    assert f"take {least:g} mm or more" in warning.message
    assert warning.piece == "box"


def test_a_flange_past_the_inner_edge() -> None:
    drawing = read(BOX)
    eyelets = (EyeletWords("8mm", flange="14mm", from_crest="30mm"),)
    run = made_run(drawing, ["box:c0..c1"], width="30mm", depth="40%", eyelets=eyelets)
    # Centres lie 18 mm inside the edge, the flange reaches 7 mm further.
    assert codes(facings_of(drawing, run, FacingWords(depth="25.2mm"))[1]) == []
    (warning,) = facings_of(drawing, run, FacingWords(depth="24mm"))[1]
    assert warning.code == "eyelet-past-facing"
    assert "1.0 mm past" in warning.message
    assert warning.y == pytest.approx(38.0)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (FacingWords("round"), "shaped, strip or band"),
        (FacingWords(depth="0"), "depth"),
        (FacingWords(depth="wide"), "depth"),
        (FacingWords(seam="-3mm"), "seam"),
        (FacingWords(interlining="half"), "net or full"),
        (FacingWords(longest="1m"), "longest"),
        (FacingWords(most_gap="0"), "--most-gap 0 lets a facing go across no seam"),
        (FacingWords(most_gap="-1mm"), "most-gap"),
        (FacingWords("strip", across=("all",)), "across"),
        (FacingWords("band", interlining="net"), "interlining"),
        (FacingWords("strip", longest="10mm"), "apart"),
    ],
)
def test_words_that_are_refused(words: FacingWords, told: str) -> None:
    drawing = read(BOX)
    run = made_run(drawing, ["box:c0..c1"])
    with pytest.raises(RequestError, match=told):
        facings_of(drawing, run, words)


def test_a_facing_needs_an_edge_that_is_faced() -> None:
    drawing = read(BOX)
    for finish in (None, FinishWords("bound"), FinishWords("raw")):
        run = made_run(drawing, ["box:c0..c1"], finish=finish)
        for kind in ("shaped", "strip"):
            with pytest.raises(RequestError, match="the finish faced"):
                facings_of(drawing, run, FacingWords(kind))
        assert len(facings_of(drawing, run, FacingWords("band"))[0]) == 1
    bare = make_run(drawing, Recipe("hem", EdgeWords("box:c0..c1")))
    with pytest.raises(RequestError, match="no scallops"):
        facings_of(drawing, bare, FacingWords())


def test_a_join_that_is_not_there() -> None:
    drawing, run = of_waistcoat()
    with pytest.raises(NameUnknownError, match="hem-side"):
        facings_of(drawing, run, FacingWords(across=("shoulder",)))


def test_a_narrow_facing_is_still_written_on() -> None:
    drawing = read(LINE + marks(m=(50.0, 20.0)))
    run = made_run(drawing, ["hem"], width="15mm", depth="20%")
    (made,), _ = facings_of(drawing, run, FacingWords(depth="12mm"))
    assert isinstance(made, MadeFacing)
    assert made.label is not None
    assert (made.label.box > made.low - 1e-9).all()
    assert (made.label.box < made.high + 1e-9).all()


# ---------------------------------------------------------------- holes

HOLE = "M 200,120 A 80,100 0 0 1 200,320 A 80,100 0 0 1 200,120 Z"
TURNED = "M 200,120 A 80,100 0 0 0 200,320 A 80,100 0 0 0 200,120 Z"


@pytest.mark.parametrize("hole", [HOLE, TURNED])
def test_the_facing_of_a_hole_lies_on_the_cloth_round_it(hole: str) -> None:
    """Scallops fill the hole, and what faces them reaches into the cloth; whichever way round the hole is drawn."""
    drawing = read(f'<path id="body" fill-rule="evenodd" d="M 20,20 H 380 V 460 H 20 Z {hole}"/>')
    run = made_run(drawing, ["body.2"], width="24mm", depth="25%")
    rim = cubics.flatten(drawing.pattern.pieces[1].curve, 0.01)
    inside = shapely.Polygon(rim)
    assert run.scallops is not None
    assert inside.contains(shapely.MultiPoint(run.scallops.crest))
    (made,), warnings = facings_of(drawing, run, FacingWords(depth="40mm"))
    assert not warnings
    assert made.shape is not None
    inner = shapely.Polygon(cubics.flatten(made.shape.inner, 0.01))
    assert inner.contains(inside)
    assert shapely.hausdorff_distance(inner.exterior, inside.exterior) == pytest.approx(40.0, abs=PAPER)


def test_a_facing_that_leaves_the_cloth_round_a_hole_is_told() -> None:
    drawing = read(f'<path id="body" d="M 20,20 H 380 V 460 H 20 Z {HOLE}"/>')
    run = made_run(drawing, ["body.2"], width="24mm", depth="25%")
    assert not facings_of(drawing, run, FacingWords(depth="95mm"))[1]
    (warning,) = facings_of(drawing, run, FacingWords(depth="105mm"))[1]
    assert (warning.code, warning.piece) == ("facing-too-deep", "body.2")


def test_an_island_in_a_hole_is_cloth() -> None:
    drawing = read(
        f'<path id="body" d="M 20,20 H 380 V 460 H 20 Z {HOLE} M 180,200 H 220 V 240 H 180 Z M 400,20 H 460 V 90 Z"/>'
    )
    assert [piece.hole for piece in drawing.pattern.pieces] == [False, True, False, False]
    around = drawing.pattern.pieces[1].around
    assert around is not None
    np.testing.assert_array_equal(around, drawing.pattern.pieces[0].curve)
