"""Pieces moved to save pages, read back from the PDF: every one whole, at true scale, with all that belongs to it."""

from __future__ import annotations

import numpy as np
import pytest

from scallopkit.document.drawing import Drawing
from scallopkit.document.paper import Paper, PaperWish, paper
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import redrawn, scallop
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from tests.pages import Page, read_pages

# Four pieces in the corners of a large sheet, none a mirror image of itself; the first has a grain line, the second a
# pocket that has no name of its own, and both have their words.
SCATTERED = """<svg xmlns="http://www.w3.org/2000/svg" width="1600mm" height="1500mm" viewBox="0 0 1600 1500">
  <path id="yoke" stroke="black" d="M 10 10 H 170 V 80 H 40 Z"/>
  <path id="grain" stroke="black" d="M 50 60 H 127"/>
  <path id="sleeve" stroke="black" d="M 1400 20 H 1580 L 1560 240 H 1400 Z"/>
  <path id="pocket" stroke="black" d="M 1440 80 H 1500 V 150"/>
  <text x="1440" y="200" font-size="8">sleeve of mine</text>
  <path id="cuff" stroke="black" d="M 30 1400 H 230 L 210 1460 H 30 Z"/>
  <path id="strip" stroke="black" d="M 1350 1300 H 1380 L 1370 1485 H 1350 Z"/>
</svg>"""
# What a point on paper may lie off, mm: a third of the thinnest line.
NEAR = 0.05
CORNERS = {
    "yoke": [(10, 10), (170, 10), (170, 80), (40, 80)],
    "sleeve": [(1400, 20), (1580, 20), (1560, 240), (1400, 240)],
    "cuff": [(30, 1400), (230, 1400), (210, 1460), (30, 1460)],
    "strip": [(1350, 1300), (1380, 1300), (1370, 1485), (1350, 1485)],
    "grain": [(50, 60), (127, 60)],
    "pocket": [(1440, 80), (1500, 80), (1500, 150)],
}


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return read_drawing(SCATTERED.encode(), "scattered.svg")


@pytest.fixture(scope="module")
def arranged(drawing: Drawing) -> tuple[Paper, list[Page]]:
    made = paper(drawing, PaperWish(page="A4", arrange=True))
    return made, read_pages(made.data)[1:]


def apart(points: Array) -> Array:
    return np.asarray(np.hypot(*np.moveaxis(points[:, None] - points[None], -1, 0)))


def on_sheet(made: Paper, pages: list[Page], name: str) -> list[Array]:
    """Where the corners of a shape lie on the sheet made of all pages, as each page that shows it has them."""
    corners = np.array(CORNERS[name], dtype=float)
    out = []
    for page, tile in zip(pages, made.tiling.tiles, strict=True):
        for stroke in page.strokes:
            # Every third point is a corner, those between are handles; a closed one ends once more where it began.
            points = stroke[::3][: len(corners)]
            if len(points) == len(corners) and np.abs(apart(points) - apart(corners)).max() < NEAR:
                out.append(points - made.tiling.margin + tile.corner)
    return out


def test_scattered_pieces_take_fewer_pages(drawing: Drawing, arranged: tuple[Paper, list[Page]]) -> None:
    before, after = paper(drawing, PaperWish(page="A4")), arranged[0]
    assert len(after.tiling.tiles) < len(before.tiling.tiles)
    assert after.arranged == (
        f"the pieces are moved: {len(after.tiling.tiles)} pages instead of {len(before.tiling.tiles)}"
    )
    assert len(arranged[1]) == len(after.tiling.tiles)
    assert before.arranged == ""


@pytest.mark.parametrize("name", CORNERS)
def test_each_piece_is_whole_at_true_scale_and_never_turned_over(arranged: tuple[Paper, list[Page]], name: str) -> None:
    made, pages = arranged
    found = on_sheet(made, pages, name)
    assert found
    for points in found[1:]:
        assert np.abs(points - found[0]).max() < NEAR
    # All along its sides some page shows it, within what that page shows of the sheet.
    for a, b in zip(found[0], np.roll(found[0], -1, axis=0), strict=True):
        for share in np.linspace(0.0, 1.0, 21):
            place = a + share * (b - a)
            assert any(
                (place >= tile.corner).all() and (place <= tile.corner + np.array([tile.width, tile.height])).all()
                for tile in made.tiling.tiles
            )
    drawn = np.array(CORNERS[name], dtype=float)
    if len(drawn) > 2:
        turns = [float(cubics.cross(p[1] - p[0], p[2] - p[1])) for p in (drawn, found[0])]
        assert turns[0] * turns[1] > 0.0


def test_what_lies_in_a_piece_goes_with_it(arranged: tuple[Paper, list[Page]]) -> None:
    made, pages = arranged
    for outer, inner in (("yoke", "grain"), ("sleeve", "pocket")):
        both = [on_sheet(made, pages, name)[0] for name in (outer, inner)]
        drawn = np.concatenate([np.array(CORNERS[name], dtype=float) for name in (outer, inner)])
        assert np.abs(apart(np.concatenate(both)) - apart(drawn)).max() < NEAR
    assert any("sleeve of mine" in words for page in pages for words, _ in page.words)


def test_a_piece_with_a_grain_line_is_turned_by_half_turns_only(arranged: tuple[Paper, list[Page]]) -> None:
    a, b = on_sheet(*arranged, "grain")[0]
    assert abs(a[1] - b[1]) < NEAR


def test_pieces_stay_apart(arranged: tuple[Paper, list[Page]]) -> None:
    boxes = [on_sheet(*arranged, name)[0] for name in ("yoke", "sleeve", "cuff", "strip")]
    for i, one in enumerate(boxes):
        for other in boxes[:i]:
            # No nearer than 10 mm: sides are looked at every twentieth of them.
            shares = np.linspace(0.0, 1.0, 21)[:, None, None]
            sides = [(p + shares * (np.roll(p, -1, axis=0) - p)).reshape(-1, 2) for p in (one, other)]
            gaps = np.hypot(*np.moveaxis(sides[0][:, None] - sides[1][None], -1, 0))
            assert gaps.min() >= 10.0 - NEAR


def test_what_is_arranged_already_is_left_where_it_is_and_told(drawing: Drawing) -> None:
    wish = PaperWish(page="A4", pieces=("cuff",))
    told = paper(drawing, PaperWish(page="A4", pieces=("cuff",), arrange=True))
    assert told.arranged == "the pieces are left where they are drawn: moving them saves no page"
    assert told.data == paper(drawing, wish).data


def test_a_roll_is_used_for_less_of_its_length(drawing: Drawing) -> None:
    before, after = (paper(drawing, PaperWish(page="roll:610mm", arrange=arrange)) for arrange in (False, True))
    assert len(after.tiling.tiles) == 1
    assert after.tiling.page.height < 610.0 < before.tiling.page.height
    assert "mm of the roll instead of" in after.arranged


def test_scallops_and_words_go_with_the_piece_they_are_on() -> None:
    sheet = read_drawing(SCATTERED.encode(), "scattered.svg")
    sheet = redrawn(sheet, [scallop(sheet, "sleeve:c0..c1", width=30, name="top")])
    made = paper(sheet, PaperWish(page="A4", arrange=True))
    pages = read_pages(made.data)[1:]
    crosswise = on_sheet(made, pages, "sleeve")[0]
    # The stitching line follows the scalloped side: no point of it farther from that than its depth.
    way = (crosswise[1] - crosswise[0]) / 180.0
    far = [
        np.abs((stroke - made.tiling.margin + tile.corner - crosswise[0]) @ np.array([-way[1], way[0]])).max()
        for page, tile in zip(pages, made.tiling.tiles, strict=True)
        for stroke in page.strokes
        if len(stroke) > 15 and np.ptp(stroke, axis=0).max() > 170.0
    ]
    assert far
    assert max(far) < 15.0
