"""Cloth to buy: what is cut from which cloth, how long it must be, and what the make sheet shows of it."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from lxml import etree, html

from scallopkit.construction.cloth_layout import FOLDED, SINGLE
from scallopkit.document.cloth_needed import ClothNeeded, ClothWords, cloths_needed
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.sheeting import sheet_of
from scallopkit.document.workshop import cut, facing, recut, redrawn, refit, scallop, strap, strapped, with_runs
from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry import cubics

# A back on the fold with a scalloped hem, a front cut as a pair, and a patch that is never cut; grain lines upright.
THREE = """<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="500mm" viewBox="0 0 900 500">
  <path id="back" stroke="black" d="M 20 20 H 220 V 320 H 20 Z"/>
  <path id="back grain" stroke="black" d="M 120 60 V 200"/>
  <path id="front" stroke="black" d="M 260 20 H 500 V 320 H 260 Z"/>
  <path id="front grain" stroke="black" d="M 300 60 V 200"/>
  <path id="patch" stroke="black" d="M 560 20 H 660 V 120 H 560 Z"/></svg>"""


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    sheet = read_drawing(THREE.encode(), "shirt.svg")
    sheet = redrawn(sheet, [scallop(sheet, "back:c3..c2", width=40, name="hem", start="fold", end="valley")])
    sheet = redrawn(sheet, [facing(sheet, "hem", depth="50mm", cloth="lining silk")])
    pieces = [
        *cut(sheet, "back", cloth="linen", allowance="10mm"),
        *cut(sheet, "front", cloth="linen", allowance="10mm", number="2", lining="0mm"),
    ]
    straps = [strap(sheet, name="tie", length="600mm", width="20mm", number="2", cloth="linen")]
    return read_drawing(with_runs(sheet, [], pieces, straps), sheet.name)


def needed(drawing: Drawing, *width: str, **words: object) -> dict[str, ClothNeeded]:
    runs = [one.run for one in refit(drawing)]
    told = ClothWords(width, **words)  # type: ignore[arg-type]
    return {one.name: one for one in cloths_needed(drawing, runs, recut(drawing, runs), strapped(drawing, runs), told)}


def test_everything_is_laid_on_its_own_cloth(drawing: Drawing) -> None:
    found = needed(drawing, "1400mm", lies=FOLDED)
    laid = {name: sorted(one.name for one in each.layout.placed) for name, each in found.items()}
    assert laid == {
        "linen": ["back", "front", "tie"],
        "lining": ["front lining"],
        "": ["patch"],
        "lining silk": ["hem facing"],
    }
    linen = {one.name: one for one in found["linen"].layout.placed}
    assert linen["back"].on_fold
    assert [linen[name].layers for name in ("back", "front", "tie")] == [2, 2, 2]
    assert found[""].notes[-1] == '"patch" was never cut: it is laid once, as it is drawn, without allowances'


def test_lengths_as_worked_out_by_hand(drawing: Drawing) -> None:
    # As cut, a front is 260 x 320 mm, a tie 620 x 60 mm along the warp: two ties folded double lie on each other once.
    linen = needed(drawing, "linen=1400mm", lies=FOLDED)["linen"]
    assert linen.layout.length == pytest.approx(620.0, abs=0.05)
    sizes = {one.name: one.area for one in linen.layout.placed}
    assert sizes["front"] == pytest.approx(2 * 260.0 * 320.0)
    assert sizes["tie"] == pytest.approx(2 * 620.0 * 60.0)
    # 620 mm shrunk by 5 %: 652.6 mm, rounded up to 10 mm, and asked for by 0.1 m.
    assert (linen.to_buy, linen.metres) == (660.0, "0.7 m")
    assert linen.told.startswith("linen: buy 0.7 m, 1400 mm wide, laid folded; it takes 621 mm")


@pytest.mark.parametrize(("touch", "beyond"), [("valley", 24.0), ("crest", 0.0)])
def test_a_piece_that_is_never_cut_is_laid_with_its_scallops(touch: str, beyond: float) -> None:
    sheet = read_drawing(THREE.encode(), "shirt.svg")
    # Two scallops of 50 mm along the lower edge of the patch, which is 100 by 100 mm, each 24 mm deep.
    run = scallop(sheet, "patch:c3..c2", count=2, depth="24mm", touch=touch, start="valley", end="valley", name="rim")
    sheet = redrawn(sheet, [run])
    found = needed(sheet, "1400mm")[""]
    (patch,) = (one for one in found.layout.placed if one.name == "patch")
    low, high = cubics.bounds(patch.rings[0])
    assert sorted(high - low) == pytest.approx(sorted([100.0, 100.0 + beyond]), abs=0.05)
    assert any(
        note.startswith('"patch" was never cut: it is laid once, as it is drawn with its') for note in found.notes
    )


def test_the_reserve_is_what_shrinking_takes(drawing: Drawing) -> None:
    for share, told in ((0.0, "0%"), (0.05, ""), (0.1, "10%")):
        one = needed(drawing, "1400mm", shrinkage=told)["linen"]
        # What is left after shrinking is enough, and 10 mm less would not be.
        assert one.to_buy * (1.0 - share) >= one.layout.length - 1e-3
        assert (one.to_buy - 10.0) * (1.0 - share) < one.layout.length
        assert one.to_buy % 10.0 == 0.0
        assert float(one.metres.removesuffix(" m")) == pytest.approx(math.ceil(one.to_buy / 100.0 - 1e-9) / 10.0)


def test_unless_told_it_lies_as_it_takes_less(drawing: Drawing) -> None:
    either, folded, single = (needed(drawing, "1400mm", lies=lies)["linen"] for lies in ("", FOLDED, SINGLE))
    assert either.layout.length == pytest.approx(min(folded.layout.length, single.layout.length))
    # Folded the back has no room on 400 mm: it is laid on single cloth.
    assert needed(drawing, "430mm")["linen"].layout.cloth.lies == SINGLE


def test_what_does_not_fit_is_told_with_the_width_it_needs(drawing: Drawing) -> None:
    linen = needed(drawing, "linen=300mm", lies=SINGLE)["linen"]
    # The back is 200 mm and an allowance of 10 mm at one side, twice.
    assert linen.layout.unfit == (
        '"back" does not fit: laid along its grain it needs 420 mm of width, and the cloth is 300 mm wide: take wider '
        "cloth, or join the piece from two",
    )
    page = sheet_of(drawing, cloths=ClothWords(("linen=300mm",), SINGLE))
    assert "does not fit" in page.told
    assert "needs 420 mm of width" in page.data.decode()


def test_only_cloths_whose_width_is_told_are_laid(drawing: Drawing) -> None:
    assert list(needed(drawing, "lining=900mm")) == ["lining"]
    with pytest.raises(NameUnknownError, match='a cloth "wool"; there are "linen", "lining"'):
        needed(drawing, "wool=900mm")


def test_the_sheet_shows_the_layout_and_its_figures(drawing: Drawing) -> None:
    page = sheet_of(drawing, cloths=ClothWords(("linen=1400mm",), FOLDED, one_way=True)).data.decode()
    root: Any = html.fromstring(page.encode())
    (section,) = root.xpath("//section[h2/@id='cloth-to-buy']")
    text = " ".join(section.text_content().split())
    one = needed(drawing, "linen=1400mm", lies=FOLDED, one_way=True)["linen"]
    row = [cell.text_content() for cell in section.find(".//tbody/tr")]
    assert row == [
        "linen",
        "1400",
        "folded, one way",
        f"{math.ceil(one.layout.length)}",
        "5 %",
        f"{one.to_buy:.0f}",
        one.metres,
        f"{100.0 * one.layout.efficiency:.0f} %",
    ]
    assert "A simple layout, no optimum" in text
    (svg,) = re.findall(r"<svg.*?</svg>", page[page.index('id="cloth-to-buy"') :].split("</section>")[0], re.DOTALL)
    drawn = etree.fromstring(svg)
    words = " ".join("".join(map(str, element.itertext())) for element in drawn.iter("{*}text"))
    for told in (
        "back",
        "on the fold",
        "front",
        "both selvages",
        "700 mm, folded",
        f"{math.ceil(one.layout.length)} mm",
    ):
        assert told in words
    # The picture shows the shapes at their own size: as many filled outlines as are placed.
    assert svg.count('fill-rule="evenodd"') == len(one.layout.placed)
    assert "Cloth to buy" not in sheet_of(drawing).data.decode()


def test_the_same_drawing_gives_the_same_layout(drawing: Drawing) -> None:
    words = ClothWords(("1400mm",))
    assert sheet_of(drawing, cloths=words).data == sheet_of(drawing, cloths=words).data


def test_the_cost_is_that_of_the_cloth_to_buy_without_its_lining(drawing: Drawing) -> None:
    page = sheet_of(drawing, prices=["cloth=20"], cloths=ClothWords(("1400mm",))).data
    root: Any = html.fromstring(page)
    (table,) = [one for one in root.iter("table") if (one.findtext("caption") or "") == "Cost"]
    row = [str(cell.text_content()) for cell in table.find(".//tbody/tr")]
    bought = needed(drawing, "1400mm")
    assert {"linen", "lining"} <= set(bought)
    area = sum(one.to_buy * 1400.0 / 1e6 for name, one in bought.items() if name != "lining")
    assert row[-1] == f"{20.0 * area:.2f}"
    assert "without linings and interlinings" in page.decode()


def test_linings_and_interlinings_have_prices_of_their_own(drawing: Drawing) -> None:
    lined = redrawn(drawing, [facing(drawing, "hem", depth="50mm", cloth="lining silk", interlining="full")])
    for words in (ClothWords(("1400mm",)), None):
        page = sheet_of(lined, prices=["interlining=10", "lining=5"], cloths=words).data
        root: Any = html.fromstring(page)
        (table,) = [one for one in root.iter("table") if (one.findtext("caption") or "") == "Cost"]
        costs = {row[0].text_content(): float(row[-1].text_content()) for row in table.findall(".//tbody/tr")}
        bought = needed(lined, "1400mm")
        # As laid, or else what is cut: the lining of two fronts; half a facing, 200 by 50 mm and its scallops, which
        # are 0.35 of 40 mm deep, twice.
        areas = {name: bought[name].to_buy * 1400.0 / 1e6 for name in ("lining", "interlining")}
        if words is None:
            (front,) = (one for one in bought["lining"].layout.placed[:1])
            areas["lining"] = 2.0 * front.area / front.layers / 1e6
            assert 10.0 * 2 * 0.2 * 0.05 < costs["interlining"] < 10.0 * 2 * 0.2 * (0.05 + 0.014)
        else:
            assert costs["interlining"] == pytest.approx(10.0 * areas["interlining"], abs=0.006)
        assert costs["lining"] == pytest.approx(5.0 * areas["lining"], abs=0.006)


def test_the_cut_list_names_the_cloth_of_each_piece(drawing: Drawing) -> None:
    for words in (ClothWords(("1400mm",)), None):
        root: Any = html.fromstring(sheet_of(drawing, cloths=words).data)
        (table,) = [one for one in root.iter("table") if (one.findtext("caption") or "") == "Pieces"]
        rows = {row[0].text_content(): row[2].text_content() for row in table.findall(".//tr")}
        assert rows["piece"] == "cloth"
        names = ("back", "front", "front lining", "hem facing")
        assert [rows[name] for name in names] == ["linen", "linen", "lining", "lining silk"]


def test_what_tells_no_cloth_is_cut_from_the_usual_one(drawing: Drawing) -> None:
    assert "" not in needed(drawing, "1400mm", name="linen")


def test_no_cloth_is_so_wide(drawing: Drawing) -> None:
    with pytest.raises(RequestError, match="no cloth is wider than 10 m"):
        needed(drawing, "1000000m")
