"""Pockets, yokes and darts drawn inside a piece against the depth of its facing."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from scallopkit.demo_waistcoat import HEM, HEM_JOINS, waistcoat
from scallopkit.document.drawing import Drawing
from scallopkit.document.facings import facings_of
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import (
    EdgeWords,
    FacingWords,
    FinishWords,
    JoinWords,
    Recipe,
    ScallopWords,
    StretchWords,
)
from scallopkit.document.runs import Run, make_run
from scallopkit.pattern.edge import find_edge
from scallopkit.pattern.piece import Warn

from ..construction.test_facing import Place as Placing
from ..construction.test_facing import at, cuts, pair, placings, sector, sheet
from ..drawings import UNITS, page, read

# A front 300 mm wide and 300 mm high whose upper edge is faced.
FRONT = '<rect id="front" x="10" y="20" width="300" height="300"/>'
POCKET = '<path id="pocket" d="M 60,62 L 150,200"/>'
PATCH = '<rect id="patch" x="60" y="60" width="80" height="90"/>'


def run_on(drawing: Drawing, edges: list[str], *joins: str, **words: str) -> Run:
    """A faced run."""
    return make_run(
        drawing,
        Recipe(
            "neck",
            EdgeWords(start=words.pop("start", "")),
            ScallopWords(**({"width": "25mm", "depth": "20%"} | words)),
            edges=tuple(StretchWords(edge) for edge in edges),
            joins=tuple(JoinWords(join.partition(":")[0], join.partition(":")[2]) for join in joins),
            finish=FinishWords("faced"),
        ),
    )


def told(drawing: Drawing, run: Run, depth: float, across: tuple[str, ...] = ()) -> list[Warn]:
    """The warnings about lines that are in the way of a facing."""
    _, warnings = facings_of(drawing, run, FacingWords(depth=f"{depth!r}mm", across=across))
    return [warning for warning in warnings if warning.code == "facing-over-line"]


def of_front(lines: str, depth: float = 50.0, edge: str = "front:c0..c1", unit: float = 1.0) -> list[Warn]:
    drawing = read_drawing(page(FRONT + lines).encode(), "front.svg") if unit == 1.0 else in_units(FRONT + lines, unit)
    return told(drawing, run_on(drawing, [edge]), depth)


def in_units(body: str, unit: float) -> Drawing:
    """The same drawing in mm, in another user unit."""
    return read(f'<g transform="scale({1.0 / unit!r})">{body}</g>', unit)


def reaches(warning: Warn) -> tuple[float, float]:
    found = re.search(r"which reaches from ([\d.]+) to ([\d.]+) mm", warning.message)
    assert found is not None
    return float(found[1]), float(found[2])


def cures(warning: Warn) -> list[float]:
    return [float(depth) for depth in re.findall(r"([\d.]+) mm or (?:less|more)", warning.message)]


# ---------------------------------------------------------------- what is told


@pytest.mark.parametrize("unit", UNITS)
def test_an_inner_edge_across_a_pocket(unit: float) -> None:
    (warning,) = of_front(POCKET, unit=unit)
    assert warning.message == (
        '"neck facing" is 50 mm deep and its inner edge crosses "pocket", which reaches from 42 to 180 mm from the '
        'edge of "neck": 39 mm or less stays clear of it, 183 mm or more covers it'
    )
    # Where the pocket is 50 mm from the edge, to the next place that is looked at.
    assert warning.piece == "front"
    assert (warning.x, warning.y) == pytest.approx((60.0 + 8.0 * 90.0 / 138.0, 70.0), abs=1.0)


@pytest.mark.parametrize("lines", [POCKET, PATCH, '<ellipse id="welt" cx="160" cy="110" rx="60" ry="40"/>'])
def test_the_depths_that_are_named_help(lines: str) -> None:
    (warning,) = of_front(lines)
    begin, end = reaches(warning)
    less, more = cures(warning)
    for depth in (less, more):
        assert of_front(lines, depth) == []
    # One more, or one less, comes nearer than 3 mm to the line.
    for depth in (less + 1.0, begin + 0.1, end - 0.1, more - 1.0):
        assert len(of_front(lines, depth)) == 1


@pytest.mark.parametrize(
    ("depth", "how"),
    [(36.9, ""), (37.1, "runs beside an end of"), (40.5, "crosses"), (132.9, "runs beside an end of"), (133.1, "")],
)
def test_a_closed_patch_pocket(depth: float, how: str) -> None:
    """It lies from 40 to 130 mm from the edge, and 3 mm are left on either side."""
    warnings = of_front(PATCH, depth)
    assert [re.findall(f'{how} "patch"', warning.message) != [] for warning in warnings] == [True] * bool(how)
    assert all(reaches(warning) == (40.0, 130.0) for warning in warnings)


def test_a_dart_drawn_inside_from_the_edge_can_only_be_covered() -> None:
    (warning,) = of_front('<path id="dart" d="M 140,20 L 150,120 L 160,20"/>')
    assert reaches(warning) == (0.0, 100.0)
    assert cures(warning) == [103.0]
    assert of_front('<path id="dart" d="M 150,80 L 142,150 L 150,220 L 158,150 Z"/>', 50.0) == []
    (warning,) = of_front('<path id="dart" d="M 150,80 L 142,150 L 150,220 L 158,150 Z"/>', 100.0)
    assert (reaches(warning), cures(warning)) == ((60.0, 200.0), [57.0, 203.0])


def test_a_line_from_edge_to_edge_is_sewn_first() -> None:
    (warning,) = of_front('<path id="yoke" d="M 140,20 V 320"/>')
    assert reaches(warning) == (0.0, 300.0)
    assert cures(warning) == []
    assert "sew it first" in warning.message


def test_no_depth_is_named_at_which_scallops_have_no_room() -> None:
    """Scallops 12 mm deep inside the edge want a facing of 27 mm."""
    for top, expected in ((29.0, [103.0]), (31.0, [28.0, 103.0])):
        drawing = read(f'{FRONT}<path id="pocket" d="M 60,{20 + top} V 120"/>')
        run = run_on(drawing, ["front:c0..c1"], width="30mm", depth="40%", touch="crest")
        (warning,) = told(drawing, run, 50.0)
        assert cures(warning) == expected


def test_several_lines_are_told_one_by_one() -> None:
    assert len(of_front(POCKET + PATCH)) == 2


# ---------------------------------------------------------------- what is not


@pytest.mark.parametrize(
    "lines",
    [
        '<path id="covered" d="M 60,30 L 150,66"/>',
        '<path id="clear" d="M 60,74 L 150,200"/>',
        '<path id="the inner edge itself" d="M 10,71 H 310"/>',
        '<path id="grain of front" d="M 100,30 V 300"/>',
        '<path id="beside it" d="M 400,30 V 300"/>',
        '<path id="over its side" d="M 280,75 H 420"/>',
        '<path id="along its side" d="M 10,20 V 320 H 200"/>',
        '<rect id="another size" x="20" y="30" width="280" height="270"/>',
        '<g id="marks"><path id="m" d="M 100,65 V 75"/></g>',
    ],
)
def test_lines_that_are_in_nobody_s_way(lines: str) -> None:
    assert of_front(lines) == []


def test_a_facing_along_a_part_of_an_edge_ends_beside_a_pocket() -> None:
    lines = POCKET + '<g id="marks"><circle id="m" cx="170" cy="20" r="0.1"/></g>'
    assert len(of_front(lines, edge="front:c0..m")) == 1
    assert of_front(lines, edge="front:m..c1") == []


def test_the_run_s_own_darts_and_motif_are_no_lines() -> None:
    legs = '<path id="leg-1" d="M 140,20 L 150,120"/><path id="leg-2" d="M 160,20 L 150,120"/>'
    motif = '<path id="wave" d="M 60,60 C 70,80 75,80 85,60"/>'
    marks = '<g id="marks"><circle id="a" cx="140" cy="20" r="0.1"/><circle id="b" cx="160" cy="20" r="0.1"/></g>'
    drawing = read(FRONT + legs + motif + marks)
    recipe = Recipe(
        "neck",
        EdgeWords(),
        ScallopWords(width="25mm", profile="motif:wave"),
        edges=(StretchWords("front:c0..a"), StretchWords("front:b..c1")),
        joins=(JoinWords("dart", legs=("leg-1", "leg-2")),),
        finish=FinishWords("faced"),
    )
    assert told(drawing, make_run(drawing, recipe), 50.0) == []
    # For another run they are.
    assert len(told(drawing, run_on(drawing, ["front:c0..c1"]), 50.0)) == 3


# ---------------------------------------------------------------- several pieces


@settings(max_examples=8, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(cuts(), placings(3), st.floats(0.2, 0.8), st.integers(30, 90), st.integers(15, 60), st.booleans())
def test_pockets_in_the_sectors_of_a_ring(
    angles: list[float],
    placed: list[tuple[Placing, Placing]],
    where: float,
    begin: int,
    long: int,
    one_piece: bool,
) -> None:
    """In each sector, wherever it lies on the sheet, a pocket on a radius: its depths are known from its radii."""
    outer = 260.0
    pieces, names = [], []
    for k, ((a, b), (place, _)) in enumerate(zip(pairwise(angles), placed, strict=False)):
        names.append(f"sector{k}:c1..c2")
        ends = [place(at(outer - depth, a + where * (b - a))) for depth in (begin, begin + long)]
        pieces += [
            sector(f"sector{k}", (outer, 60.0), (a, b), place),
            f'<path id="pocket{k}" d="M {pair(ends[0])} L {pair(ends[1])}"/>',
        ]
    drawing = sheet(*pieces)
    run = run_on(drawing, names, *["seam:pass"] * (len(names) - 1))
    warnings = told(drawing, run, 60.0, ("all",) if one_piece else ())
    # Pieces may lie on each other on the sheet, and so a pocket on another's piece.
    own = {f"pocket{k}": f"sector{k}" for k in range(len(names))}
    found = [warning for warning in warnings if own[named(warning)] == warning.piece]
    # Whole mm, so that none is in the way by rounding: 63 is not.
    in_the_way = begin < 60.0 + 3.0 and begin + long > 60.0 - 3.0
    assert len(found) == (len(names) if in_the_way else 0)
    for warning in found:
        assert reaches(warning) == pytest.approx((begin, begin + long), abs=0.1)


@pytest.mark.parametrize("across", [(), ("all",)])
@pytest.mark.parametrize("edge", ["front:c0..c1", "front:c1..c0:mirrored"])
def test_a_pocket_on_a_piece_that_is_drawn_face_down(edge: str, across: tuple[str, ...]) -> None:
    """A back and a front side by side; whichever way the front lies, its pocket is 40 to 100 mm from the edge."""
    back, front = (
        f'<path id="{name}" d="M {x},50 h 200 v 350 h -200 z"/>' for name, x in (("back", 50), ("front", 350))
    )
    drawing = read(f'{back}{front}<path id="pocket" d="M 380,90 V 150"/>')
    (warning,) = told(drawing, run_on(drawing, ["back:c0..c1", edge], "seam:pass"), 50.0, across)
    assert (warning.piece, reaches(warning)) == ("front", (40.0, 100.0))
    assert (warning.x, warning.y) == pytest.approx((380.0, 100.0), abs=1.0)


def test_a_line_in_a_disc_and_in_a_ring_of_two_halves() -> None:
    """The disc is faced at its rim, the ring, once its halves are sewn together, round its hole; each in one piece."""
    line = '<path id="line" d="M 200,60 V 90"/>'
    disc = read(f'<circle id="a" cx="200" cy="180" r="140"/>{line}')
    half = "M 60,{0} A 140 140 0 0 {1} 340,{0} H 280 A 80 80 0 0 {2} 120,{0} Z"
    upper, lower = half.format(180, 1, 0), half.format(420, 0, 1)
    ring = read(f'<path id="a" d="{upper}"/><path id="b" d="{lower}"/>{line}')
    for drawing, edges, joins, expected in (
        (disc, ["a"], (), (20.0, 50.0)),
        (ring, ["a:c3..c2", "b:c2..c3"], ("seam:pass", "seam:pass"), (10.0, 40.0)),
    ):
        run, across = run_on(drawing, edges, *joins, width="20mm"), ("all",) if joins else ()
        (warning,) = told(drawing, run, 30.0, across)
        assert (named(warning), reaches(warning)) == ("line", expected)
        assert told(drawing, run, expected[1] + 3.0, across) == []


def named(warning: Warn) -> str:
    found = re.search(r'(?:crosses|end of) "([^"]+)"', warning.message)
    assert found is not None
    return found[1]


def test_pockets_beside_the_dart_of_the_waistcoat() -> None:
    """A line on either side of the front's waist dart, square to the hem; closed, the dart turns one of them."""
    text = waistcoat()
    pattern = read_drawing(text.encode(), "waistcoat.svg").pattern
    drawn = ""
    for name, edge in (("outer", HEM[2]), ("inner", HEM[3])):
        m = find_edge(pattern, edge).measured
        ((x, y),), ((dx, dy),) = m.points(np.array([45.0])), m.tangents(np.array([45.0]))
        # The cloth lies above the hem.
        into = complex(dy, -dx)
        assert into.imag < -0.9
        ends = [complex(x, y) + depth * into for depth in (40.0, 75.0)]
        drawn += f'<path id="{name}" d="M {pair(ends[0])} L {pair(ends[1])}"/>'
    drawing = read_drawing(text.replace("</svg>", f"{drawn}</svg>").encode(), "waistcoat.svg")
    run = run_on(drawing, list(HEM), *HEM_JOINS, start="fold", width="22mm", depth="35%")
    assert told(drawing, run, 36.0) == []
    warnings = told(drawing, run, 50.0)
    assert [(named(warning), warning.piece) for warning in warnings] == [("outer", "front"), ("inner", "front")]
    for warning in warnings:
        # Over 75 mm the hem curves by less than a mm.
        assert reaches(warning) == pytest.approx((40.0, 75.0), abs=1.0)
