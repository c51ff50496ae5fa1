"""Full-size pages, read back by an independent library."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from reportlab.pdfbase.pdfmetrics import stringWidth

from scallopkit.document.drawing import Drawing
from scallopkit.document.drawn import drawn_lines, drawn_texts
from scallopkit.document.page_sizes import SIZES, page_size
from scallopkit.document.paper import Paper, PaperWish, paper
from scallopkit.document.pdf import FONT
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import cut, redrawn, scallop, with_runs
from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.length import measure

from ..pages import Page, read_pages

# Ten known distances, in mm on the paper, between places that are drawn.
SHEET = """<svg xmlns="http://www.w3.org/2000/svg" width="700mm" height="500mm" viewBox="0 0 1400 1000">
  <g transform="translate(20 20)"><rect id="cloth" x="0" y="0" width="840" height="600" stroke="black"/></g>
  <path id="neck" stroke="black" d="M 900 60 C 940 340 1060 420 1180 424"/>
  <text x="1000" y="700" style="font-size:20px" transform="rotate(10 1000 700)">a note of mine</text>
</svg>"""
# What a point on paper may lie off, mm: a third of the thinnest line.
NEAR = 0.05


@pytest.fixture(scope="module")
def sheet() -> Drawing:
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    return redrawn(drawing, [scallop(drawing, "cloth:c0..c1", width=30, name="top")])


@pytest.fixture(scope="module")
def tiled(sheet: Drawing) -> tuple[Paper, list[Page]]:
    made = paper(sheet, PaperWish(page="A4"))
    return made, read_pages(made.data)


# ---------------------------------------------------------------- pages


@pytest.mark.parametrize("name", SIZES)
def test_pages_are_as_large_as_they_are_called(sheet: Drawing, name: str) -> None:
    made = paper(sheet, PaperWish(page=name, way="upright"))
    box = PdfReader(io.BytesIO(made.data)).pages[1].mediabox
    width, height = SIZES[name]
    # The library that reads them rounds to four decimals of a point.
    assert float(box.width) == pytest.approx(width / 25.4 * 72.0, abs=1e-3)
    assert float(box.height) == pytest.approx(height / 25.4 * 72.0, abs=1e-3)


def test_a_roll_is_as_long_as_it_needs_to_be(sheet: Drawing) -> None:
    made = paper(sheet, PaperWish(page="roll:400mm"))
    _, *pages = read_pages(made.data)
    assert [(round(page.width, 3), round(page.height, 3)) for page in pages] == [(400.0, made.tiling.page.height)] * 2
    low, high = _extent(sheet)
    assert made.tiling.page.height >= high[1] - low[1] + 20.0


def test_pages_of_the_makers_own_size(sheet: Drawing) -> None:
    _, page, *_ = read_pages(paper(sheet, PaperWish(page="11in x 30cm", way="upright")).data)
    assert (page.width, page.height) == pytest.approx((279.4, 300.0), abs=1e-3)


# ---------------------------------------------------------------- at full size


def test_the_test_squares_are_100_mm_and_4_inches(tiled: tuple[Paper, list[Page]]) -> None:
    first = tiled[1][0]
    sides = [np.ptp(points, axis=0) for points in first.strokes if len(points) == 5]
    for wanted in (100.0, 101.6):
        assert sum(1 for side in sides if np.abs(side - wanted).max() < NEAR) == 1
    words = [word for word, _ in first.words]
    assert {"100 mm", "4 in"} <= set(words)


def test_known_distances_on_one_page(sheet: Drawing) -> None:
    (page,) = read_pages(paper(sheet, PaperWish(page="A1", show=("outline",), way="lying")).data)[1:]
    cloth = next(points for points in page.strokes if np.abs(np.ptp(points, axis=0) - (420.0, 300.0)).max() < NEAR)
    neck = min(page.strokes, key=lambda points: np.abs(np.ptp(points, axis=0) - (140.0, 182.0)).max())
    a, b, c, d = cloth[0], cloth[3], cloth[6], cloth[9]
    start, end = neck[0], neck[-1]
    wanted = [
        (a, b, 420.0),
        (b, c, 300.0),
        (c, d, 420.0),
        (d, a, 300.0),
        (a, c, np.hypot(420.0, 300.0)),
        (b, d, np.hypot(420.0, 300.0)),
        (start, end, np.hypot(140.0, 182.0)),
        (b, start, np.hypot(20.0, 20.0)),
        (c, end, np.hypot(160.0, 98.0)),
        (a, end, np.hypot(580.0, 202.0)),
    ]
    for one, other, distance in wanted:
        assert float(np.hypot(*(one - other))) == pytest.approx(distance, abs=NEAR)


def test_tiles_put_together_are_the_drawing(sheet: Drawing, tiled: tuple[Paper, list[Page]]) -> None:
    made, pages = tiled
    seen = []
    for tile, page in zip(made.tiling.tiles, pages[1:], strict=True):
        (window,) = page.windows
        shift = tile.corner - made.tiling.margin
        inside = [points + shift for points in page.strokes]
        seen.append((window + shift, np.concatenate(inside)))
    for line in drawn_lines(sheet):
        nodes = np.concatenate([line.curve[:, 0], line.curve[-1:, 3]])
        for node in nodes:
            there = [points for (low, high), points in seen if (low <= node).all() and (node <= high).all()]
            assert there, f"no page shows {node}"
            for points in there:
                assert cubics.norm(points - node).min() < NEAR


def test_between_nodes_tiles_are_the_drawing_too(sheet: Drawing, tiled: tuple[Paper, list[Page]]) -> None:
    made, pages = tiled
    for tile, page in zip(made.tiling.tiles, pages[1:], strict=True):
        shift = tile.corner - made.tiling.margin
        # A curve is written as its first point and three for each segment.
        curves = [points + shift for points in page.strokes if len(points) > 3 and len(points) % 3 == 1]
        parts = [np.stack([points[k::3][: len(points) // 3] for k in range(4)], axis=1) for points in curves]
        written = np.concatenate([np.full((1, 2), np.inf), *map(_along, parts)])
        low, high = page.windows[0] + shift
        for line in drawn_lines(sheet):
            wanted = _along(line.curve)
            for place in wanted[((wanted >= low) & (wanted <= high)).all(axis=1)]:
                assert cubics.norm(written - place).min() < NEAR


def _along(curve: np.ndarray) -> np.ndarray:
    """Places on each segment of a curve, at the same shares of each."""
    return cubics.point(curve, *cubics.in_steps(np.full(len(curve), 5.0)))


def test_dashes_go_on_from_page_to_page(sheet: Drawing) -> None:
    (stitching,) = [line for line in drawn_lines(sheet) if line.role == "stitching"]
    nodes = stitching.curve[:, 0]
    lengths = measure(stitching.curve).lengths(np.arange(len(nodes)), np.zeros(len(nodes)))
    made = paper(sheet, PaperWish(page="A4", way="upright"))
    begun = []
    for tile, page in zip(made.tiling.tiles, read_pages(made.data)[1:], strict=True):
        for points, (dashes, phase) in zip(page.strokes, page.dashes, strict=True):
            if len(points) > 2 and len(dashes):
                assert dashes == pytest.approx(stitching.look.dashes_mm, abs=1e-3)
                off = cubics.norm(nodes - (points[0] + tile.corner - made.tiling.margin))
                assert off.min() < NEAR
                begun.append(float(lengths[np.argmin(off)]))
                # They come again after 4.5 mm, and may lie no farther off than points may.
                assert (phase - begun[-1] + 2.25) % 4.5 - 2.25 == pytest.approx(0.0, abs=NEAR)
    assert len(begun) >= 3
    assert sum(1 for length in begun if length > 4.5) >= 2


def test_a_page_writes_no_more_of_a_line_than_it_shows() -> None:
    drawing = read_drawing(SHEET.replace('width="840" height="600"', 'width="4000" height="4000"').encode(), "wide.svg")
    drawing = redrawn(drawing, [scallop(drawing, "cloth", width=30, name="round")])
    made = paper(drawing, PaperWish(page="A4"))
    (stitching,) = [line for line in drawn_lines(drawing) if line.role == "stitching"]
    longest = [max(len(points) for points in page.strokes) // 3 for page in read_pages(made.data)[1:]]
    # Only pages that show where the line begins have it whole: four at the most, where they overlap.
    assert 1 <= sum(1 for n in longest if n == len(stitching.curve)) <= 4
    # No page shows more of it than twice its own width and height.
    share = 2.0 * (210.0 + 297.0) / measure(stitching.curve).length
    assert sum(1 for n in longest if n > share * len(stitching.curve)) <= 4


def test_pages_overlap_by_as_much_as_asked(sheet: Drawing) -> None:
    made = paper(sheet, PaperWish(page="A4", overlap="15mm", margin="8mm", way="upright"))
    tiles = {(tile.row, tile.column): tile for tile in made.tiling.tiles}
    left, right = tiles[0, 0], tiles[0, 1]
    assert left.corner[0] + left.width - right.corner[0] == pytest.approx(15.0)
    assert left.width == pytest.approx(210.0 - 16.0)


def test_only_pages_that_hold_something() -> None:
    corners = '<path id="a" stroke="black" d="M0 0h20v20z"/><path id="b" stroke="black" d="M900 900h20v20z"/>'
    far = f'<svg xmlns="http://www.w3.org/2000/svg" width="1m" height="1m" viewBox="0 0 1000 1000">{corners}</svg>'
    drawing = read_drawing(far.replace('"1m"', '"1000mm"').encode(), "far.svg")
    made = paper(drawing, PaperWish(page="A4"))
    assert len(made.tiling.tiles) == 2
    assert made.tiling.rows * made.tiling.columns > 15


def test_joins_tell_which_two_pages_meet_there(tiled: tuple[Paper, list[Page]]) -> None:
    made, pages = tiled
    tiles = made.tiling.tiles
    joins: dict[frozenset[str], list[str]] = {}
    for tile, page in zip(tiles, pages[1:], strict=True):
        names = {other.name for other in tiles}
        marks = [(word, place) for word, place in page.words if word in names]
        for other in tiles:
            if abs(other.row - tile.row) + abs(other.column - tile.column) == 1:
                # Two marks a join, each with both names, beside the name of the page itself in its foot.
                assert sum(1 for word, _ in marks if word == other.name) == 2
                joins.setdefault(frozenset((tile.name, other.name)), []).append(tile.name)
    assert all(sorted(pair) == sorted(told) for pair, told in joins.items())


def test_the_first_page_names_every_page_and_line(tiled: tuple[Paper, list[Page]]) -> None:
    made, pages = tiled
    words = {word for word, _ in pages[0].words}
    assert {tile.name for tile in made.tiling.tiles} <= words
    # In rows that keep within the page.
    told = " ".join(word for word, _ in pages[0].words)
    assert all(line in told for line in ("outline as it was drawn", "stitching line", "sheet.svg"))


def test_the_first_page_says_of_a_raw_line_that_it_is_cut_on() -> None:
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    raw = redrawn(drawing, [scallop(drawing, "cloth:c0..c1", width=30, finish="raw", name="top")])
    words = {word for word, _ in read_pages(paper(raw, PaperWish(page="A4")).data)[0].words}
    assert "line to cut on" in words
    assert "stitching line" not in words


# ---------------------------------------------------------------- words


def test_texts_stand_where_they_do_in_the_drawing(sheet: Drawing) -> None:
    made = paper(sheet, PaperWish(page="A1", way="lying"))
    (page,) = read_pages(made.data)[1:]
    place = next(place for word, place in page.words if word == "a note of mine")
    (text,) = [text for text in drawn_texts(sheet) if text.role == "outline"]
    shift = made.tiling.tiles[0].corner - made.tiling.margin
    assert np.abs(place + shift - text.rows[0][1]).max() < NEAR
    assert np.abs(text.rows[0][1] - (500.0, 350.0)).max() < 1e-6
    assert np.degrees(text.angle) == pytest.approx(10.0)


def test_fonts_go_with_the_file(tiled: tuple[Paper, list[Page]]) -> None:
    found = 0
    for page in PdfReader(io.BytesIO(tiled[0].data)).pages:
        resources: Any = page["/Resources"]
        for font in resources.get("/Font", {}).values():
            # One that has no descriptor, as a reader's own fonts, would not go with it.
            assert "/FontFile2" in font.get_object()["/FontDescriptor"].get_object()
            found += 1
    assert found


@pytest.mark.parametrize(("page", "way"), [("A4", "upright"), ("A4", "lying"), ("Letter", "any"), ("A3", "any")])
def test_the_legend_stays_within_the_margins(page: str, way: str) -> None:
    """The demo's waistcoat has every kind of line; the letters' own font tells how far its words reach."""
    file = Path(__file__).parents[2] / "gallery" / "waistcoat-scalloped.svg"
    drawing = read_drawing(file.read_bytes(), file.name)
    made = paper(drawing, PaperWish(page=page, way=way))
    first = read_pages(made.data)[0]
    told = " ".join(word for word, _ in first.words)
    assert all(
        word in told for word in ("cutting line", "hole of an eyelet", "cord", "notch", "outline as it was drawn")
    )
    for word, place in first.words[1:]:
        reach = place[0] + stringWidth(word, FONT, 3.0)
        # The names of pages in the plan are set about their middles, in smaller letters.
        assert reach < first.width - 10.0 + (0.5 if len(word) > 3 else 10.0)
        assert place[1] < first.height - 10.0


def test_the_same_drawing_gives_the_same_bytes(sheet: Drawing) -> None:
    wish = PaperWish(page="A3")
    assert paper(sheet, wish).data == paper(sheet, wish).data
    dated = read_pages(paper(sheet, PaperWish(page="A3", dated=date(2026, 1, 31))).data)
    assert any("2026-01-31" in word for word, _ in dated[0].words)


def test_letters_that_the_font_has_not_are_told() -> None:
    drawing = read_drawing(SHEET.replace("a note of mine", "裾").encode(), "sheet.svg")
    (warning,) = paper(drawing, PaperWish()).warnings
    assert warning.code == "letters-missing"
    assert "裾" in warning.message


# ---------------------------------------------------------------- what is chosen, what is refused


def test_layers_and_pieces_can_be_chosen(sheet: Drawing) -> None:
    alone = paper(sheet, PaperWish(page="A1", show=("stitching",)))
    (page,) = read_pages(alone.data)[1:]
    # Beside the one line only the bar of 50 mm and its two ends.
    assert [len(points) for points in page.strokes if len(points) > 2] == [
        3 * len(line.curve) + 1 for line in drawn_lines(sheet) if line.role == "stitching"
    ]
    neck = paper(sheet, PaperWish(page="A3", pieces=("neck",), hide=("stitching",)))
    assert len(neck.tiling.tiles) == 1


def test_all_lines_in_black_and_thin(sheet: Drawing) -> None:
    data = paper(sheet, PaperWish(page="A1", black=True, weight="hairline")).data
    contents: Any = PdfReader(io.BytesIO(data)).pages[1].get_contents()
    lines = contents.get_data().decode("latin-1").splitlines()
    widths = {round(float(line.split()[0]) / 72.0 * 25.4, 3) for line in lines if line.endswith(" w")}
    # Lines of the drawing, and those round the page.
    assert widths <= {0.1, 0.15}
    assert {line for line in lines if line.endswith(" RG")} == {"0 0 0 RG"}


@pytest.mark.parametrize(
    ("wish", "error", "text"),
    [
        (PaperWish(page="A9"), RequestError, "is no size of paper"),
        (PaperWish(page="6000mm x 300mm"), RequestError, "no PDF page can be"),
        (PaperWish(page="90mm x 90mm"), RequestError, "no room for the test squares"),
        (PaperWish(page="A4", margin="100mm"), RequestError, "has no room beside its margins"),
        (PaperWish(show=("lace",)), NameUnknownError, "--show lace: the drawing has no such lines; it has outline"),
        (PaperWish(pieces=("sleeve",)), NameUnknownError, 'no piece is called "sleeve"'),
        (PaperWish(pieces=("neck",), show=("stitching",)), RequestError, "nothing of the drawing is left to print"),
    ],
)
def test_what_is_refused(sheet: Drawing, wish: PaperWish, error: type[Exception], text: str) -> None:
    with pytest.raises(error, match=text):
        paper(sheet, wish)


def test_a_hundred_pages() -> None:
    wide = SHEET.replace('width="840" height="600"', 'width="4600" height="4000"')
    made = paper(read_drawing(wide.encode(), "wide.svg"), PaperWish(page="A4"))
    assert made.tiling.rows * made.tiling.columns >= 90
    assert page_size("a4").name == "A4"


def _extent(drawing: Drawing) -> np.ndarray:
    boxes = [cubics.bounds(line.curve) for line in drawn_lines(drawing)]
    return np.stack([np.min([box[0] for box in boxes], axis=0), np.max([box[1] for box in boxes], axis=0)])


def test_a_fold_is_seen_though_the_outline_runs_along_it() -> None:
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    drawing = read_drawing(with_runs(drawing, [], cut(drawing, "cloth", fold="cloth:c3..c0")), "sheet.svg")
    contents: Any = PdfReader(io.BytesIO(paper(drawing, PaperWish(page="A1")).data)).pages[1].get_contents()
    lines = contents.get_data().decode("latin-1").splitlines()
    # Last of the drawing's lines the fold is cleared in white, and drawn over that.
    colours = [line for line in lines if line.endswith(" RG")]
    assert "1 1 1 RG" in colours
    assert colours[colours.index("1 1 1 RG") + 1] == "0 0 0 RG"
    black = paper(drawing, PaperWish(page="A1", black=True, weight="hairline"))
    assert black.warnings == ()
