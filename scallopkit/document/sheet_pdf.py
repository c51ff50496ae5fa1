"""The make sheet as a PDF: the same headings, tables, steps and pictures as on its page of HTML, block by block.

The page is what there is to say, in a few kinds of blocks; each is set here once, so that whatever comes to stand on
the page stands on paper too.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from html import escape
from typing import Any

from lxml import html

from .page_sizes import SHEET_PAGES, page_size
from .pdf import BOLD, FONT, POINT, known_letters, written_plainly
from .sheet_drawing import Drawing, drawing_of

# Margins, the room of a foot, and the tallest a picture may be, mm.
_MARGIN, _FOOT, _TALL = 15.0, 8.0, 150.0
# Of pictures side by side, how many stand in a row and the tallest, mm.
_A_ROW, _SMALL_TALL = 3, 60.0
# Letters: of texts, of headings by their level, and of what stands small, points.
_TEXT, _SMALL, _CELL = 9.0, 7.5, 8.0
_HEADS = {"h1": 17.0, "h2": 12.0, "h3": 10.0}
_PAD = 3.0
# The border of its own that the library gives the frame in which blocks stand, points.
_INSIDE = 6.0


def sheet_pdf(page: bytes, size: str = SHEET_PAGES[0]) -> tuple[bytes, set[str]]:
    """A make sheet as a PDF.

    Args:
        page: the sheet as HTML.
        size: A4 or Letter.

    Returns:
        The file, the same for the same sheet; and letters that its font has not, for which question marks stand.

    Raises:
        ScallopkitError: the library that writes PDF is not installed.
    """
    known = known_letters()
    from reportlab.platypus import SimpleDocTemplate

    paper = page_size(size)
    root = html.fromstring(page)
    title = str(root.findtext(".//title"))
    setter = _Setter((paper.width - 2.0 * _MARGIN) * POINT, known)
    blocks = list(setter.blocks(root.find("body")))
    out = io.BytesIO()
    document: Any = SimpleDocTemplate(
        out,
        pagesize=(paper.width * POINT, paper.height * POINT),
        leftMargin=_MARGIN * POINT,
        rightMargin=_MARGIN * POINT,
        topMargin=_MARGIN * POINT,
        bottomMargin=(_MARGIN + _FOOT) * POINT,
        title=title,
        creator="scallopkit",
        invariant=1,
        initialFontName=FONT,
    )
    called = setter.letters(title)

    def foot(canvas: Any, made: Any) -> None:  # noqa: ANN401  # the library's own kinds
        canvas.setFont(FONT, _SMALL)
        canvas.drawString(_MARGIN * POINT + _INSIDE, _MARGIN * POINT, called)
        canvas.drawRightString((paper.width - _MARGIN) * POINT - _INSIDE, _MARGIN * POINT, f"page {made.page}")

    with written_plainly():
        document.build(blocks, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue(), setter.unknown


class _Setter:
    """Sets the blocks of a page, and notes the letters that the font has not."""

    def __init__(self, width: float, known: frozenset[int]) -> None:
        self._width = width - 2.0 * _INSIDE
        self._known = known
        self.unknown: set[str] = set()

    def letters(self, text: str) -> str:
        """A text in letters that the font has."""
        missing = {letter for letter in text if ord(letter) not in self._known and not letter.isspace()}
        self.unknown |= missing
        return "".join("?" if letter in missing else letter for letter in " ".join(text.split()))

    def blocks(self, around: Any) -> Iterator[Any]:  # noqa: ANN401  # the libraries' own kinds, here and below
        """Everything in an element, in its order."""
        for element in around:
            kind = element.tag
            if kind in ("header", "main", "section"):
                yield from self.blocks(element)
            elif kind in _HEADS:
                yield self._words(element, _HEADS[kind], bold=True, before=0.7 * _HEADS[kind], keep=True)
            elif kind == "p":
                small, boxed = "small" in element.get("class", ""), "box" in element.get("class", "")
                yield self._words(element, _SMALL if small else _TEXT, boxed=boxed)
            elif kind in ("ol", "ul"):
                yield self._list(element)
            elif kind == "table":
                yield from self._table(element)
            elif kind == "figure":
                yield from self._figure(element)
            elif kind == "div":
                yield from self._side_by_side(element)
            else:
                # What is new on the page must be set here too.
                raise ValueError(f"a make sheet's {kind} can't be set in a PDF")

    def _words(
        self,
        element: Any,  # noqa: ANN401
        size: float,
        bold: bool = False,
        before: float = 0.0,
        keep: bool = False,
        boxed: bool = False,
    ) -> Any:  # noqa: ANN401
        from reportlab.lib.styles import ParagraphStyle
        from reportlab.platypus import Paragraph

        style: dict[str, Any] = {"fontName": BOLD if bold else FONT, "fontSize": size, "leading": 1.3 * size}
        style |= {"spaceBefore": before, "spaceAfter": 0.35 * size, "keepWithNext": int(keep)}
        if boxed:
            style |= {"borderWidth": 1.0, "borderColor": "#111111", "borderPadding": 4.0, "spaceBefore": 6.0}
            style |= {"spaceAfter": 10.0, "leftIndent": 5.0, "rightIndent": 5.0}
        return Paragraph(escape(self.letters(element.text_content())), ParagraphStyle("words", **style))

    def _list(self, element: Any) -> Any:  # noqa: ANN401
        from reportlab.platypus import ListFlowable, ListItem

        items = [ListItem(self._words(item, _TEXT), spaceAfter=2.0) for item in element.findall("li")]
        kind = {"bulletType": "1", "bulletFormat": "%s."} if element.tag == "ol" else {"bulletType": "bullet"}
        return ListFlowable(
            items,
            bulletFontName=FONT,
            bulletFontSize=_TEXT if element.tag == "ol" else 0.7 * _TEXT,
            leftIndent=20,
            **kind,
        )

    def _table(self, element: Any) -> Iterator[Any]:  # noqa: ANN401
        from reportlab.platypus import Table

        rows = [list(row) for row in element.iter("tr")]
        if not rows:
            return
        caption = element.find("caption")
        yield self._words(caption, _TEXT, bold=True, before=5.0, keep=True)
        foot = element.find("tfoot") is not None
        cells = [
            [self._cell(cell, bold=cell.tag == "th" or (foot and row is rows[-1])) for cell in row] for row in rows
        ]
        lines = [("LINEBELOW", (0, 0), (-1, -1), 0.4, "#999999"), ("VALIGN", (0, 0), (-1, -1), "TOP")]
        # Else the library names a font of its own before each table, which would not go with the file.
        lines += [("FONTNAME", (0, 0), (-1, -1), FONT)]
        pads = [(f"{side}PADDING", (0, 0), (-1, -1), _PAD) for side in ("LEFT", "RIGHT")]
        pads += [(f"{side}PADDING", (0, 0), (-1, -1), 1.5) for side in ("TOP", "BOTTOM")]
        yield Table(cells, self._widths(rows), repeatRows=1, hAlign="LEFT", style=[*lines, *pads], spaceAfter=6.0)

    def _cell(self, cell: Any, bold: bool) -> Any:  # noqa: ANN401
        from reportlab.lib.styles import ParagraphStyle
        from reportlab.platypus import Paragraph

        # 2: to the right, as the library counts them.
        right = 2 if "n" in cell.get("class", "").split() else 0
        font = BOLD if bold else FONT
        style = ParagraphStyle("cell", fontName=font, fontSize=_CELL, leading=1.25 * _CELL, alignment=right)
        return Paragraph(escape(self.letters(cell.text_content())), style)

    def _widths(self, rows: Sequence[Sequence[Any]]) -> list[float]:
        """As wide as its longest cell each; where that is too much, those that are widest give way first."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        wanted = [
            max(stringWidth(self.letters(cell.text_content()), BOLD, _CELL) for cell in column) + 2.0 * _PAD + 1.0
            for column in zip(*rows, strict=True)
        ]
        most = max(wanted)
        while sum(min(one, most) for one in wanted) > self._width:
            most *= 0.95
        return [min(one, most) for one in wanted]

    def _figure(self, element: Any) -> Iterator[Any]:  # noqa: ANN401
        from reportlab.platypus import KeepTogether

        parts = [_Picture(drawing_of(svg, self.letters), self._width) for svg in element.findall("svg")]
        captions = [self._words(caption, _SMALL) for caption in element.findall("figcaption")]
        yield KeepTogether([*(part.flowable() for part in parts), *captions])

    def _side_by_side(self, element: Any) -> Iterator[Any]:  # noqa: ANN401
        """Small figures in rows."""
        from reportlab.platypus import Table

        width, figures = self._width / _A_ROW, element.findall("figure")
        shown = [
            [
                _Picture(drawing_of(figure.find("svg"), self.letters), width - 2.0 * _PAD, _SMALL_TALL).flowable(),
                self._words(figure.find("figcaption"), _SMALL),
            ]
            for figure in figures
        ]
        rows = [shown[k : k + _A_ROW] for k in range(0, len(shown), _A_ROW)]
        rows[-1] += [[] for _ in range(_A_ROW - len(rows[-1]))]
        look: list[Any] = [("VALIGN", (0, 0), (-1, -1), "BOTTOM"), ("FONTNAME", (0, 0), (-1, -1), FONT)]
        look += [(f"{side}PADDING", (0, 0), (-1, -1), _PAD) for side in ("LEFT", "RIGHT")]
        yield Table(rows, [width] * _A_ROW, hAlign="LEFT", style=look, spaceAfter=6.0)


class _Picture:
    """A picture as wide as there is room for, and no taller than a page bears, or than so many mm."""

    def __init__(self, drawing: Drawing, width: float, tall: float = 0.0) -> None:
        self._drawing = drawing
        self._scale = min(width / drawing.width, (tall or _TALL) * POINT / drawing.height)

    def flowable(self) -> Any:  # noqa: ANN401
        """As the library takes it."""
        from reportlab.platypus import Flowable

        drawing, scale = self._drawing, self._scale

        class Shown(Flowable):  # type: ignore[misc]  # the library has no types
            def wrap(self, *_: float) -> tuple[float, float]:
                return drawing.width * scale, drawing.height * scale + 4.0

            def draw(self) -> None:
                drawing.draw(self.canv, scale)

        return Shown()
