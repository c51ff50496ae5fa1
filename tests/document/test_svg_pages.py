"""Pages as one drawing, of which an editor makes a PDF."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from lxml import etree

from scallopkit.document.drawn import drawn_lines
from scallopkit.document.paper import PaperWish, paper
from scallopkit.document.reader import read_drawing
from scallopkit.document.svg_pages import SvgPages
from scallopkit.document.workshop import redrawn, scallop

SHEET = """<svg xmlns="http://www.w3.org/2000/svg" width="700mm" height="500mm" viewBox="0 0 1400 1000">
  <rect id="cloth" x="20" y="20" width="840" height="600" stroke="black"/>
  <path id="neck" stroke="black" d="M 900 60 C 940 340 1060 420 1180 424"/>
  <text x="1000" y="700" style="font-size:20px" transform="rotate(10 1000 700)">a &lt;note&gt; of mine</text>
</svg>"""
PAGE = "{http://www.inkscape.org/namespaces/inkscape}page"


def test_pages_lie_side_by_side_and_show_the_drawing_at_full_size() -> None:
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    made = paper(drawing, PaperWish(page="A4", way="upright"), SvgPages())
    root = etree.fromstring(made.data)
    pages = [[float(page.get(name) or "nan") for name in ("x", "y", "width", "height")] for page in root.iter(PAGE)]
    assert len(pages) == 1 + len(made.tiling.tiles)
    assert {tuple(page[1:]) for page in pages} == {(0.0, 210.0, 297.0)}
    lefts = [page[0] for page in pages]
    assert all(b - a > 210.0 for a, b in pairwise(lefts))
    assert (root.get("width"), root.get("viewBox")) == ("210mm", "0 0 210 297")
    # Every line is drawn on its page where the tile puts it.
    again = read_drawing(made.data, "pages.svg").pattern.pieces
    for line in drawn_lines(drawing):
        for tile, left in zip(made.tiling.tiles, lefts[1:], strict=True):
            low, high = tile.corner, tile.corner + np.array([tile.width, tile.height])
            if (line.curve[0, 0] > low).all() and (line.curve[0, 0] < high).all():
                wanted = line.curve - tile.corner + made.tiling.margin + np.array([left, 0.0])
                found = [one for one in again if len(one.curve) == len(wanted)]
                assert min(np.abs(one.curve - wanted).max() for one in found) < 1e-4


def test_dashes_go_on_from_page_to_page() -> None:
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    drawing = redrawn(drawing, [scallop(drawing, "cloth:c0..c1", width=30, name="top")])
    root = etree.fromstring(paper(drawing, PaperWish(page="A4", way="upright"), SvgPages()).data)
    styles = [dict(part.split(":") for part in (path.get("style") or "").split(";")) for path in root.iter("{*}path")]
    offsets = [float(style.get("stroke-dashoffset", "0")) for style in styles if style["stroke-dasharray"] == "3,1.5"]
    assert 0.0 in offsets
    assert any(0.0 < offset < 4.5 for offset in offsets)
    assert all(0.0 <= offset <= 4.5 for offset in offsets)


def test_words_of_any_kind_and_their_turn_come_along() -> None:
    made = paper(read_drawing(SHEET.encode(), "sheet.svg"), PaperWish(page="A1"), SvgPages())
    texts = [text for text in etree.fromstring(made.data).iter("{*}text") if text.text == "a <note> of mine"]
    assert texts
    assert (texts[0].get("transform") or "").startswith("rotate(10 ")
    assert made.warnings == ()
