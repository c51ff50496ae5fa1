"""What is proposed for whole drawings, as a dressmaker would sew them: invented pieces, drawn the way of the trade."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.document.reader import read_drawing
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.motion import affine, apply, compose, moved, turned
from scallopkit.pattern.edge import find_edge
from scallopkit.pattern.piece import Mark, Pattern
from scallopkit.pattern.proposing import ProposedJoin, proposed_joins

from ..shapes import circle, pattern, piece, rectangle

Point = tuple[float, float]
MIRRORED = affine(-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Cloth:
    """A piece's outline, and its marks, each with a name; one name may be on several places."""

    name: str
    curve: Array
    marks: tuple[tuple[str, Point], ...] = ()


def outline(*parts: Point | tuple[Point, Point]) -> Array:
    """A closed outline: straight to each point, or after a pair of control points in a curve to the next point."""
    at, curve, control = parts[0], [], None
    for part in (*parts[1:], parts[0]):
        if isinstance(part[0], tuple):
            control = part
            continue
        steps = [at, *control, part] if control else cubics.lines([at, part])[0].tolist()
        curve.append(steps)
        at, control = part, None
    return np.array(curve, dtype=float)


def laid(drawing: tuple[Cloth, ...], ways: tuple[Array, ...] = ()) -> Pattern:
    motions = ways or tuple(moved(1500.0 * i, 0.0) for i in range(len(drawing)))
    pieces, marks = [], []
    for cloth, way in zip(drawing, motions, strict=True):
        pieces.append(piece(cloth.name, apply(way, cloth.curve)))
        marks += [Mark(name, *map(float, apply(way, np.array(at)))) for name, at in cloth.marks]
    return pattern(*pieces, marks=tuple(marks))


def seams(of: Pattern) -> set[frozenset[str]]:
    """What is sewn to what, each side by its parts; whichever way it is walked."""
    return {
        frozenset(" + ".join(sorted(_unturned(part) for part in parts)) for parts in (j.first_parts, j.second_parts))
        for j in checked(of)
        if j.kind == "seam"
    }


def _unturned(name: str) -> str:
    before, stretch = name.rsplit(":", 1)
    return f"{before}:{'..'.join(sorted(stretch.split('..')))}"


def told(*pairs: tuple[str, str]) -> set[frozenset[str]]:
    return {frozenset(pair) for pair in pairs}


def checked(of: Pattern) -> tuple[ProposedJoin, ...]:
    """The proposals, once their parts were found to be as long as they are told, and no part to be used twice."""
    found = proposed_joins(of)
    middles = []
    for join in found:
        for parts, length in ((join.first_parts, join.first_length), (join.second_parts, join.second_length)):
            edges = [find_edge(of, part).measured for part in parts]
            assert sum(edge.length for edge in edges) == pytest.approx(length, rel=1e-9)
            middles += [tuple(np.round(edge.points(np.array([0.5 * edge.length]))[0], 5)) for edge in edges]
    assert len(set(middles)) == len(middles)
    return found


# --- a bodice: the front's side has a bust dart --------------------------------------------------------------------

BACK = Cloth(
    "back",
    outline(
        (0, 20), ((30, 20), (60, 15)), (70, 0), (190, 38), ((170, 90), (170, 190)), (235, 215), (230, 415), (0, 415)
    ),
    (("underarm", (235, 215)), ("hem-side", (230, 415)), ("shoulder", (190, 38)), ("hem-back", (0, 415))),
)
# Its armhole is as long as the back's within a millimetre, its hem within 2: by their marks alone they would be seams.
DARTED_FRONT = Cloth(
    "front",
    outline(
        (0, 110), ((50, 110), (70, 60)), (70, 0), (190, 38), ((170, 90), (170, 190)), (235, 215.5),
        (234, 285.5), (110, 297), (233.5, 309.5), (231, 439.5), (0, 440),
    ),
    (("underarm", (235, 215.5)), ("hem-side", (231, 439.5)), ("shoulder", (190, 38)), ("hem-front", (0, 440))),
)  # fmt: skip
BODICE = (BACK, DARTED_FRONT)
BODICE_SEAMS = told(
    ("back:hem-side..underarm", "front:c4..underarm + front:c6..hem-side"), ("back:c1..shoulder", "front:c1..shoulder")
)


def test_a_bodice_is_sewn_at_the_side_over_its_dart_and_at_the_shoulder() -> None:
    assert seams(laid(BODICE)) == BODICE_SEAMS
    (side,) = [join for join in checked(laid(BODICE)) if join.second_darts]
    assert (side.first_darts, side.second_darts) == ((), ("c5",))
    assert (side.first_length, side.second_length) == pytest.approx((200.06, 200.03), abs=0.01)


def test_a_bodice_without_marks_is_sewn_only_where_its_lengths_leave_no_doubt() -> None:
    """Its armholes and its sides are all 200 mm long, and its hems are alike and might be the seam: none of these."""
    bare = tuple(Cloth(cloth.name, cloth.curve) for cloth in BODICE)
    assert seams(laid(bare)) == told(("back:c1..c2", "front:c1..c2"))


WAISTCOAT = read_drawing(
    (Path(__file__).parents[2] / "gallery" / "waistcoat.svg").read_bytes(), "waistcoat.svg"
).pattern


@pytest.mark.parametrize(
    ("marked", "expected"),
    [
        (
            True,
            told(
                ("back:hem-side..underarm", "front:c5..hem-side + front:c7..underarm"),
                ("back:c7..shoulder", "front:c10..shoulder"),
            ),
        ),
        (False, told(("back:c4..c5", "front:c4..c5 + front:c7..c8"), ("back:c6..c7", "front:c10..c9"))),
    ],
)
def test_the_demo_s_waistcoat_is_sewn_at_the_side_and_the_shoulder(marked: bool, expected: set[frozenset[str]]) -> None:
    of = WAISTCOAT if marked else replace(WAISTCOAT, marks=())
    assert seams(of) == expected
    assert [join.kind for join in checked(of)].count("dart") == 3


def test_a_front_like_its_back_is_sewn_at_the_sides_and_not_along_hem_armhole_and_neck() -> None:
    """A boxy top, both pieces the same: every edge is as long as its like, and every corner bears a name."""
    top = BACK.curve
    marks = (*BACK.marks[:3], ("hem-fold", (0.0, 415.0)), ("neck", (70.0, 0.0)), ("neck-fold", (0.0, 20.0)))
    assert seams(laid((Cloth("p", top, marks), Cloth("q", top, marks)))) == told(
        ("p:hem-side..underarm", "q:hem-side..underarm"), ("p:neck..shoulder", "q:neck..shoulder")
    )


# --- a sleeve ------------------------------------------------------------------------------------------------------


def sleeve(ease: float) -> Cloth:
    """A sleeve whose crown is longer than the bodice's armholes by that share; its two halves are not alike."""
    half = find_edge(laid((BACK,)), "back:shoulder..underarm").measured.length * (1.0 + ease)
    # A straight crown, as wide as its length asks for.
    rise = 110.0
    left, right = -math.sqrt(half**2 - rise**2), math.sqrt((half + 9.0) ** 2 - rise**2)
    shape = outline((left, rise), (0, 0), (right, rise), (right - 35, rise + 330), (left + 35, rise + 330))
    ends = (("underarm", (left, rise)), ("underarm", (right, rise)), ("shoulder", (0.0, 0.0)))
    return Cloth("sleeve", shape, (*ends, ("wrist", (left + 35, rise + 330)), ("wrist", (right - 35, rise + 330))))


# With another front, whose armhole is 9 mm longer than the back's: shoulder and side as before.
WIDE_FRONT = Cloth(
    "front",
    outline(
        (0, 110), ((50, 110), (70, 60)), (70, 0), (190, 38), ((158, 90), (158, 190)), (235, 218), (230, 418), (0, 418)
    ),
    (("underarm", (235, 218)), ("hem-side", (230, 418)), ("shoulder", (190, 38)), ("hem-front", (0, 418))),
)
SLEEVED = (BACK, WIDE_FRONT, sleeve(0.02))
ARMHOLES = told(("back:shoulder..underarm", "sleeve:c0..shoulder"), ("front:shoulder..underarm", "sleeve:c2..shoulder"))
SLEEVED_SEAMS = ARMHOLES | told(
    ("back:hem-side..underarm", "front:hem-side..underarm"),
    ("back:c1..shoulder", "front:c1..shoulder"),
    ("sleeve:c2..c3", "sleeve:c0..c4"),
)


def test_a_sleeve_is_sewn_to_a_tube() -> None:
    assert told(("sleeve:c2..c3", "sleeve:c0..c4")) == seams(laid((sleeve(0.0),)))
    unnamed = Cloth("sleeve", sleeve(0.0).curve)
    assert seams(laid((unnamed,))) == set()
    # Names that would twist it.
    # Names that would twist it: those at its left are the other way round.
    other = {"wrist": "underarm", "underarm": "wrist"}
    twisted = tuple((other.get(name, name) if at[0] < 0 else name, at) for name, at in sleeve(0.0).marks)
    assert seams(laid((Cloth("sleeve", sleeve(0.0).curve, twisted),))) == set()


def test_a_sleeve_is_set_into_the_armholes_with_a_little_ease() -> None:
    assert seams(laid(SLEEVED)) == SLEEVED_SEAMS
    too_long = (BACK, WIDE_FRONT, sleeve(0.12))
    assert seams(laid(too_long)) == SLEEVED_SEAMS - ARMHOLES


# --- skirts --------------------------------------------------------------------------------------------------------

SKIRT_BACK = Cloth(
    "back",
    outline((0, 0), (80, -1), (92, 130), (104, -2), (185, -8), ((215, 90), (225, 160)), (250, 585), (0, 600)),
    (("hem-side", (250, 585)),),
)
SKIRT_FRONT = Cloth(
    "front",
    outline((0, 0), (95, -1), (104, 95), (113, -2), (200, -9), ((230, 89), (240, 159)), (265, 584), (0, 600)),
    (("hem-side", (265, 584)),),
)
SKIRT = (SKIRT_BACK, SKIRT_FRONT)
SKIRT_SEAMS = told(("back:c4..hem-side", "front:c4..hem-side"))


def test_a_skirt_with_waist_darts_is_sewn_at_the_side() -> None:
    """Its folds are as long as each other, and nearly as long as its sides: one mark at the side is needed."""
    assert seams(laid(SKIRT)) == SKIRT_SEAMS
    assert seams(laid(tuple(Cloth(cloth.name, cloth.curve) for cloth in SKIRT))) == set()
    assert sorted(j.first for j in checked(laid(SKIRT)) if j.kind == "dart") == ["back:c1..c2", "front:c1..c2"]


def test_a_waist_is_sewn_to_its_band_with_the_darts_closed() -> None:
    waist = 80.01 + math.hypot(81, 6)
    band = Cloth("band", rectangle(waist + 0.5, 40.0), (("centre", (0.0, 40.0)), ("waist-end", (waist + 0.5, 40.0))))
    back = Cloth("back", SKIRT_BACK.curve, (("centre", (0.0, 0.0)), ("waist-end", (185.0, -8.0))))
    (seam,) = [join for join in checked(laid((back, band))) if join.kind == "seam"]
    assert (seam.first_parts, seam.second) == (("back:centre..c1", "back:c3..waist-end"), "band:centre..waist-end")


def fan(inner: float, outer: float) -> Array:
    """A quarter of a circle skirt."""
    rim = ellipse_arc((0, 0), (outer, outer), 0.0, 0.0, 0.5 * math.pi, 1e-9)
    waist = ellipse_arc((0, 0), (inner, inner), 0.0, 0.5 * math.pi, -0.5 * math.pi, 1e-9)
    down, up = cubics.lines([(0, outer), (0, inner)]), cubics.lines([(inner, 0), (outer, 0)])
    return np.concatenate([rim, down, waist, up])


CIRCLE_SKIRT = tuple(
    Cloth(name, fan(110, 700), (("waist-end", (110, 0)), ("low-end", (700, 0)), ("low", (0, 700)), ("top", (0, 110))))
    for name in ("front", "back")
)
CIRCLE_SEAMS = told(("front:low-end..waist-end", "back:low-end..waist-end"), ("front:low..top", "back:low..top"))


def test_a_circle_skirt_is_sewn_at_its_straight_sides() -> None:
    """All four edges have their like; waists are hollow on both, and hems bulge and go on over the sides."""
    assert seams(laid(CIRCLE_SKIRT)) == CIRCLE_SEAMS


# --- aprons, cloths and what can't be told -------------------------------------------------------------------------

APRON = (
    Cloth("bib", outline((40, 0), (240, 0), (280, 300), (0, 300)), (("bib-left", (0, 300)), ("bib-right", (280, 300)))),
    Cloth(
        "band",
        rectangle(500.0, 50.0),
        (("bib-left", (110, 0)), ("bib-right", (390, 0)), ("skirt-left", (0, 50)), ("skirt-right", (500, 50))),
    ),
    Cloth(
        "skirt",
        outline((20, 0), (520, 0), (560, 480), (-20, 480)),
        (("skirt-left", (20, 0)), ("skirt-right", (520, 0))),
    ),
)
APRON_SEAMS = told(
    ("bib:bib-left..bib-right", "band:bib-left..bib-right"),
    ("band:skirt-left..skirt-right", "skirt:skirt-left..skirt-right"),
)


def test_an_apron_has_its_bib_and_its_skirt_on_the_band() -> None:
    assert seams(laid(APRON)) == APRON_SEAMS


def test_an_apron_without_marks_could_hang_from_either_edge_of_its_band() -> None:
    assert seams(laid(tuple(Cloth(cloth.name, cloth.curve) for cloth in APRON))) == set()


SQUARE = rectangle(420.0, 420.0)
UNCLEAR = {
    "a napkin": (Cloth("napkin", SQUARE),),
    "a round cloth": (Cloth("cloth", circle(800.0)),),
    "a quarter of a cloth on two folds": (Cloth("quarter", fan(1.0, 800.0)),),
    "two equal rectangles": tuple(Cloth(name, rectangle(300.0, 200.0)) for name in "pq"),
    "four squares": tuple(Cloth(name, SQUARE) for name in "pqrs"),
    "a rectangle and one a little longer": (Cloth("p", rectangle(300.0, 200.0)), Cloth("q", rectangle(301.0, 200.5))),
}  # fmt: skip


@pytest.mark.parametrize("name", UNCLEAR)
def test_where_nothing_can_be_told_nothing_is_proposed(name: str) -> None:
    assert checked(laid(UNCLEAR[name])) == ()


def test_halves_are_not_sewn_to_each_other_at_their_folds() -> None:
    """Two half skirts of four corners, each with a name; their waists and hems are alike too."""
    for words in (("waist-fold", "hem-fold"), ("waist-centre", "hem-centre")):
        marks = tuple(zip(("waist-side", "hem-side", *words), ((300, 0), (300, 600), (0, 0), (0, 600)), strict=True))
        drawing = tuple(Cloth(name, rectangle(300.0, 600.0), marks) for name in ("p", "q"))
        assert seams(laid(drawing)) == told(("p:hem-side..waist-side", "q:hem-side..waist-side"))


TROUSERS = (
    Cloth(
        "front",
        outline((20, 0), (220, 0), ((235, 150), (240, 300)), (215, 1000), (35, 1000), ((20, 600), (0, 400)), (-45, 270),
                ((10, 260), (20, 200))),
        (("waist-out", (220, 0)), ("ankle-out", (215, 1000)), ("ankle-in", (35, 1000)), ("crotch", (-45, 270))),
    ),
    Cloth(
        "back",
        outline((40, -30), (245, -1), ((262, 150), (265, 300)), (235, 1000), (15, 1000), ((5, 600), (-30, 420)),
                (-95, 272), ((10, 265), (20, 200))),
        (("waist-out", (245, -1)), ("ankle-out", (235, 1000)), ("ankle-in", (15, 1000)), ("crotch", (-95, 272))),
    ),
)  # fmt: skip
TROUSERS_SEAMS = told(
    ("front:ankle-out..waist-out", "back:ankle-out..waist-out"), ("front:ankle-in..crotch", "back:ankle-in..crotch")
)


def test_trousers_are_sewn_inside_and_outside_the_leg() -> None:
    """The crotches are hollow on both, and hems too unlike."""
    assert seams(laid(TROUSERS)) == TROUSERS_SEAMS


# --- however the pieces lie ----------------------------------------------------------------------------------------

DRAWINGS = {
    "bodice": BODICE,
    "sleeved": SLEEVED,
    "skirt": SKIRT,
    "circle skirt": CIRCLE_SKIRT,
    "apron": APRON,
    "trousers": TROUSERS,
}
SEWN = {name: seams(laid(drawing)) for name, drawing in DRAWINGS.items()}


@pytest.mark.parametrize("name", DRAWINGS)
@given(st.data())
@settings(max_examples=20, deadline=None)
def test_how_pieces_lie_and_in_what_order_says_nothing(name: str, data: st.DataObject) -> None:
    drawing = tuple(data.draw(st.permutations(DRAWINGS[name])))
    ways = []
    for i in range(len(drawing)):
        turn = compose(turned(data.draw(st.floats(0.0, 6.28))), MIRRORED if data.draw(st.booleans()) else turned(0.0))
        ways.append(compose(moved(4000.0 * i + data.draw(st.floats(-500.0, 500.0)), 0.0), turn))
    assert seams(laid(drawing, tuple(ways))) == SEWN[name]
    assert SEWN[name]
