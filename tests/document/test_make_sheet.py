"""The make sheet of a real drawing: what stands on it, and that it needs nothing else."""

from __future__ import annotations

import re
from typing import Any

import pytest
from lxml import html

from scallopkit.demo import valance
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.sheeting import sheet_of
from scallopkit.document.workshop import cut, eyelets, facing, redrawn, scallop, strap, with_runs
from scallopkit.errors import RequestError

TWO = """<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="300mm" viewBox="0 0 500 300">
  <path id="left" stroke="black" d="M 20 20 H 200 V 200 H 20 Z"/>
  <path id="right" stroke="black" d="M 240 20 H 420 V 200 H 240 Z"/></svg>"""


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    sheet = read_drawing(TWO.encode(), "skirt & top.svg")
    sheet = redrawn(sheet, [scallop(sheet, ["left:c3..c2", "right:c3..c2"], join="seam", width=30, name="<hem>")])
    sheet = redrawn(sheet, [facing(sheet, "<hem>", depth="40mm")])
    sheet = redrawn(sheet, [eyelets(sheet, run="<hem>", eyelet="4mm", margin="2mm")])
    data = with_runs(sheet, [], cut(sheet, cloth="linen"), [strap(sheet, name="tie", length="300mm", fold="cord")])
    return read_drawing(data, sheet.name)


@pytest.fixture(scope="module")
def page(drawing: Drawing) -> str:
    prices = ["eyelet=0.25", "cloth=20", "hour=30"]
    return sheet_of(drawing, prices=prices, currency="EUR", without=["eyelet"]).data.decode()


def test_a_raw_edge_is_cut_and_not_sewn() -> None:
    sheet = read_drawing(TWO.encode(), "felt.svg")
    sheet = redrawn(sheet, [scallop(sheet, "left:c3..c2", width=30, finish="raw", name="hem")])
    text = sheet_of(sheet, prices=["thread=1", "hour=30"]).data.decode()
    found = tables(text)
    assert "Stitches" not in found
    assert [row[0] for row in found["Minutes"]] == ["what", "scallop", "together"]
    assert [row[0] for row in found["Cost"]] == ["what", "work", "together"]
    assert "Quantities, as sewn" not in found
    assert "hem: cut on the line; nothing is turned." in text
    assert "thread" not in text


def test_a_check_that_is_broken_tells_where_its_limit_comes_from() -> None:
    sheet = read_drawing(TWO.encode(), "felt.svg")
    sheet = redrawn(sheet, [scallop(sheet, "left:c3..c2", width="10mm", finish="faced", name="hem")])
    checks = read_page(sheet_of(sheet).data.decode()).xpath("//section[@aria-labelledby='checks']//li")
    broken = [one.text_content() for one in checks if "turn-radius" in one.text_content()]
    assert len(broken) == 1
    assert broken[0].endswith("; source of the limit of turn-radius: common practice, no source")


def read_page(page: str) -> Any:  # noqa: ANN401  # the library's own kind
    return html.fromstring(page.encode())


def tables(page: str) -> dict[str, list[list[str]]]:
    out = {}
    for table in read_page(page).iter("table"):
        rows = [[cell.text_content() for cell in row] for row in table.iter("tr")]
        out[str(table.findtext("caption"))] = rows
    return out


def test_it_needs_nothing_else(page: str) -> None:
    assert "<script" not in page
    assert not re.search(r'(?:src|href)="(?!#)|url\(|@import', page)
    root = read_page(page)
    # What a reader with a screen reader steers by.
    assert [root.findall(f".//{tag}") != [] for tag in ("header", "main", "h1")] == [True] * 3
    for section in root.iter("section"):
        assert root.get_element_by_id(section.get("aria-labelledby")).tag == "h2"
    assert all(table.find("caption") is not None for table in root.iter("table"))
    assert root.get("lang") == "en"


def test_names_stand_as_they_are(page: str) -> None:
    root = read_page(page)
    assert root.findtext(".//h1") == "skirt & top.svg"
    assert "<hem>" in [heading.text_content() for heading in root.iter("h3")]


def test_what_to_cut_and_to_buy(page: str) -> None:
    found = tables(page)
    pieces = {row[0]: row[1] for row in found["Pieces"][1:]}
    assert {"left", "right"} <= pieces.keys()
    assert any("shaped, 40 mm deep" in how for how in pieces.values())
    assert [row[0] for row in found["Straps, bands and cords"][1:]] == ["tie"]
    assert ["eyelet", "12", ""] in found["Quantities, as sewn: as drawn"]
    assert "eyelet" not in [row[0] for row in found["Quantities, as sewn: without eyelet"]]


def test_totals_are_the_sums_of_their_lines(page: str) -> None:
    found = tables(page)
    minutes, cost = found["Minutes: as drawn"], found["Cost: as drawn"]
    assert float(minutes[-1][-1]) == pytest.approx(sum(float(row[-1]) for row in minutes[1:-1]), abs=0.5)
    assert float(cost[-1][-1]) == pytest.approx(sum(float(row[-1]) for row in cost[1:-1]), abs=0.03)
    eyelet = next(row for row in cost if row[0] == "eyelet")
    assert float(eyelet[-1]) == pytest.approx(12 * 0.25)
    compared = {row[0]: row[1:] for row in found["Two ways compared"][1:]}
    assert float(compared["cost"][1]) - float(compared["cost"][0]) == pytest.approx(
        float(compared["cost"][2]), abs=0.011
    )


def test_without_prices_no_costs_are_compared(drawing: Drawing) -> None:
    found = tables(sheet_of(drawing, without=["eyelet"]).data.decode())
    assert [row[0] for row in found["Two ways compared"]] == ["", "hours"]


def test_it_says_which_seams_are_counted(page: str) -> None:
    assert "Seams are the scalloped lines, matched edges, darts" in page


def test_seams_are_closed_before_the_facing_and_eyelets_set_after_it(page: str) -> None:
    steps = [item.text_content() for item in read_page(page).find(".//ol")]
    closes = next(k for k, step in enumerate(steps) if "close the seam at" in step)
    faces = next(k for k, step in enumerate(steps) if "lay it on, right sides together" in step)
    turns = next(k for k, step in enumerate(steps) if "turn it" in step)
    sets = next(k for k, step in enumerate(steps) if "set 12 eyelets" in step)
    assert closes < faces < turns < sets


def test_the_run_is_shown_as_sewn(page: str) -> None:
    root = read_page(page)
    captions = [caption.text_content() for caption in root.iter("figcaption")]
    assert "<hem> as it will lie once sewn" in captions
    # The whole pattern, four pieces, and the hem.
    assert len(root.findall(".//svg")) == 6


def test_the_same_drawing_gives_the_same_sheet(drawing: Drawing) -> None:
    assert sheet_of(drawing).data == sheet_of(drawing).data


def test_what_is_refused(drawing: Drawing) -> None:
    with pytest.raises(RequestError, match="--without sleeve"):
        sheet_of(drawing, without=["sleeve"])
    # An hour is no thing that could be left out.
    with pytest.raises(RequestError, match="--without hour"):
        sheet_of(drawing, without=["hour"])
    with pytest.raises(RequestError, match="holds no run"):
        sheet_of(read_drawing(valance().encode(), "v.svg"))


def test_each_piece_that_is_cut_has_its_own_picture(page: str) -> None:
    (beside,) = read_page(page).find_class("pieces")
    shown = [figure.findtext("figcaption") for figure in beside.iter("figure")]
    assert sorted(shown) == ["<hem> facing 1", "<hem> facing 2", "left", "right"]
    for figure in beside.iter("figure"):
        (picture,) = figure.iter("svg")
        assert picture.get("aria-label") == f"{figure.findtext('figcaption')} as it is cut"
        # Pieces of 180 mm with their allowance, facings of 180 by 40 mm.
        width = float(picture.get("viewbox").split()[2])
        assert 180.0 < width < 180.0 + 2 * 15.0 + 2 * 8.0 + 20.0


def test_folds_are_cleared_of_the_cutting_line_in_pictures(drawing: Drawing) -> None:
    folded = read_drawing(with_runs(drawing, [], cut(drawing, "left", fold="left:c3..c0")), "sheet.svg")
    shown = read_page(sheet_of(folded).data.decode())
    pictures = [one for one in shown.iter("svg") if one.get("aria-label") == "left as it is cut"]
    (looks,) = ([(path.get("stroke"), path.get("stroke-dasharray")) for path in one.iter("path")] for one in pictures)
    fold = looks.index(("#000000", "9,2,0.7,2"))
    assert looks[fold - 1] == ("#FFFFFF", None)
    assert [colour for colour, _ in looks].count("#FFFFFF") == 1


def test_scallops_and_holes_are_told_by_their_sizes(page: str) -> None:
    found = tables(page)
    # Six each of 30 mm and 40 %: of an arc with chord w and height h the radius is h/2 + w²/8h.
    assert found["Scallops"][1:] == [
        ["1 to 6", "30.00", "12.00", f"{12 / 2 + 30**2 / (8 * 12):.2f}", "left"],
        ["7 to 12", "30.00", "12.00", "15.38", "right"],
    ]
    assert found["Holes"][1:] == [["eyelet", "12", "4", "4.5", "30.0"]]
