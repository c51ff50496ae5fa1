"""The make sheet as PDF, read back: all that the page of HTML says, in its order, with pictures and fonts."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from lxml import html
from pypdf import PdfReader

from scallopkit.demo import SCENES
from scallopkit.document.drawing import Drawing
from scallopkit.document.drawn import drawn_lines
from scallopkit.document.reader import read_drawing
from scallopkit.document.sheet_pdf import sheet_pdf
from scallopkit.document.sheeting import MadeSheet, sheet_of
from scallopkit.document.workshop import eyelets, redrawn, scallop
from scallopkit.errors import RequestError

from ..pages import read_pages

TWO = """<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="300mm" viewBox="0 0 500 300">
  <path id="left" stroke="black" d="M 20 20 H 200 V 200 H 20 Z"/>
  <path id="right" stroke="black" d="M 240 20 H 420 V 200 H 240 Z"/></svg>"""


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    sheet = read_drawing(TWO.encode(), "skirt & <top>.svg")
    sheet = redrawn(sheet, [scallop(sheet, ["left:c3..c2", "right:c3..c2"], join="seam", width=30, name="hem")])
    return redrawn(sheet, [eyelets(sheet, run="hem", eyelet="4mm", margin="2mm")])


@pytest.fixture(scope="module")
def made(drawing: Drawing) -> MadeSheet:
    return sheet_of(drawing, prices=["eyelet=0.25", "hour=30"], currency="EUR", without=["eyelet"])


def words(text: str) -> list[str]:
    return re.findall(r"\S+", text)


def told(pages: PdfReader) -> list[str]:
    """The words of all pages, without their feet."""
    out = []
    for page in pages.pages:
        out += words(page.extract_text())
    return out


def test_it_says_all_that_the_page_says(made: MadeSheet) -> None:
    data, unknown = sheet_pdf(made.data)
    assert unknown == set()
    root = html.fromstring(made.data)
    said = set(told(PdfReader(io.BytesIO(data))))
    blocks = ("h1", "h2", "h3", "p", "li", "caption", "th", "td", "figcaption", "tspan")
    wanted = [words(str(element.text_content())) for kind in blocks for element in root.iter(kind)]  # type: ignore[attr-defined]
    assert sum(map(len, wanted)) > 150
    assert {word for one in wanted for word in one} <= said


def test_headings_come_in_the_order_of_the_page(made: MadeSheet) -> None:
    text = " ".join(told(PdfReader(io.BytesIO(sheet_pdf(made.data)[0]))))
    heads = [str(head.text) for head in html.fromstring(made.data).iter("h2")]
    places = [text.index(head) for head in heads]
    assert len(heads) >= 6
    assert places == sorted(places)


@pytest.mark.parametrize(("size", "mm"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_pages_have_their_size_and_number(made: MadeSheet, size: str, mm: tuple[float, float]) -> None:
    data, _ = made.as_file(".pdf", size)
    for k, page in enumerate(read_pages(data)):
        assert (page.width, page.height) == pytest.approx(mm, abs=0.01)
        foot = {text for text, place in page.words if place[1] > page.height - 16.0}
        assert f"page {k + 1}" in foot


def test_nothing_lies_in_the_margins(made: MadeSheet) -> None:
    for page in read_pages(made.as_file(".pdf")[0]):
        for points in page.strokes:
            assert points.min() >= 14.0
            assert points[:, 0].max() <= page.width - 14.0


def test_the_picture_has_the_lines_of_the_drawing(made: MadeSheet, drawing: Drawing) -> None:
    first = read_pages(made.as_file(".pdf")[0])[0]
    (outline, *_) = [line for line in drawn_lines(drawing) if line.role == "outline" and line.piece == "left"]
    sides = len(outline.curve)
    # The pieces are squares of 180 mm beside each other, 220 mm from one to the next: so they are in the picture.
    boxes = [np.ptp(points, axis=0) for points in first.strokes if len(points) >= 3 * sides]
    squares = [box for box in boxes if abs(box[0] - box[1]) < 1e-3 and box[0] > 20.0]
    assert len(squares) >= 2
    corners = sorted({round(float(points[:, 0].min()), 3) for points in first.strokes if _is_square(points)})
    assert (corners[1] - corners[0]) / squares[0][0] == pytest.approx(220.0 / 180.0, abs=1e-3)


def _is_square(points: np.ndarray) -> bool:
    box = np.ptp(points, axis=0)
    return bool(abs(box[0] - box[1]) < 1e-3 and box[0] > 20.0)


def test_fonts_go_with_the_file(made: MadeSheet) -> None:
    for page in PdfReader(io.BytesIO(made.as_file(".pdf")[0])).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            assert "Vera" in str(font.get_object()["/BaseFont"])
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_the_same_sheet_gives_the_same_bytes(made: MadeSheet) -> None:
    assert made.as_file(".pdf") == made.as_file(".pdf")


def test_letters_that_the_font_has_not_are_told(drawing: Drawing) -> None:
    _, warnings = sheet_of(drawing, title="裙 skirt").as_file(".pdf")
    assert [(one.code, "裙" in one.message) for one in warnings] == [("letters-missing", True)]


@pytest.mark.parametrize("scene", [scene.name for scene in SCENES if scene.job])
def test_every_sheet_of_the_demo_can_be_set(scene: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    from scallopkit.document.making import make_job

    folder = tmp_path_factory.mktemp(scene)
    shown = next(one for one in SCENES if one.name == scene)
    (folder / f"{scene}.svg").write_text(shown.draw, encoding="utf-8")
    job = shown.job.replace("[sheet]\n", "")
    job = re.sub(r'\n(title = "Staff waistcoat"\nwithout = "eyelet")', "", job)
    (folder / "job.toml").write_text(job.replace("report =", 'sheet = { pdf = "a.pdf", page = "Letter" }\nreport =', 1))
    made = make_job(folder / "job.toml")
    assert made.ok
    assert len(PdfReader(io.BytesIO((folder / "a.pdf").read_bytes())).pages) >= 2


def test_a_browser_prints_it_on_the_pages_asked_for(made: MadeSheet) -> None:
    # https://www.w3.org/TR/css-page-3/#page-size-prop
    for size in ("A4", "Letter"):
        assert re.findall(r"@page \{ size: (\w+);", made.as_file(".html", size)[0].decode()) == [size]


def test_what_is_refused(made: MadeSheet) -> None:
    for ending in (".pdf", ".html"):
        with pytest.raises(RequestError, match=r"can be A4 or Letter, not 'A3'"):
            made.as_file(ending, "A3")
    with pytest.raises(RequestError, match=r"a make sheet ends in \.html or \.htm or \.pdf, not in '\.odt'"):
        made.as_file(".odt")
    assert made.as_file(".HTML") == (made.data, [])
