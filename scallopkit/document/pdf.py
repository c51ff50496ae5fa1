"""PDF pages drawn in mm from their upper left corner, with lines as curves and a font that goes with the file."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from ..errors import ScallopkitError
from ..geometry.cubics import Array
from ..pattern.piece import Warn
from .drawn import END, MIDDLE, START
from .styles import LineStyle

# Points to the mm: a point is 1/72 in (PDF 1.7, 8.3.2.3).
POINT = 72.0 / 25.4
FONT, BOLD = "Vera", "VeraBd"


class Pages:
    """A PDF in the making.

    Raises:
        ScallopkitError: the library that writes PDF is not installed.
    """

    def __init__(self, title: str, dated: bool = False) -> None:
        self._known = known_letters()
        from reportlab.pdfgen.canvas import Canvas

        self._out = io.BytesIO()
        # Without its date the same input gives the same bytes.
        # Each page begins with the canvas's font, which so goes with the file too.
        self._canvas: Any = Canvas(self._out, invariant=0 if dated else 1, pageCompression=1, initialFontName=FONT)
        self._canvas.setTitle(title)
        self._canvas.setCreator("scallopkit")
        self._height = 0.0
        self.unknown: set[str] = set()

    def begin(self, width: float, height: float) -> None:
        """Begins a page of that size."""
        self._height = height
        self._canvas.setPageSize((width * POINT, height * POINT))

    def end(self) -> None:
        """Ends the page."""
        self._canvas.showPage()

    def bytes(self) -> bytes:
        """The whole file."""
        with written_plainly():
            self._canvas.save()
        return self._out.getvalue()

    def clipped(self, x: float, y: float, width: float, height: float) -> None:
        """Keeps what follows within a rectangle, until `unclipped`."""
        self._canvas.saveState()
        path = self._canvas.beginPath()
        path.rect(x * POINT, self._y(y + height), width * POINT, height * POINT)
        self._canvas.clipPath(path, stroke=0, fill=0)

    def unclipped(self) -> None:
        """Ends what `clipped` began."""
        self._canvas.restoreState()

    def curve(self, curve: Array, look: LineStyle, closed: bool = False, along: float = 0.0) -> None:
        """Draws a curve (n, 4, 2) that begins `along` mm after the start of its line, from where dashes are counted."""
        self._look(look, along)
        path = self._canvas.beginPath()
        points = [(x * POINT, self._y(y)) for x, y in curve.reshape(-1, 2).tolist()]
        path.moveTo(*points[0])
        for k in range(0, len(points), 4):
            path.curveTo(*points[k + 1], *points[k + 2], *points[k + 3])
        if closed:
            path.close()
        self._canvas.drawPath(path, stroke=1, fill=0)

    def segments(self, lines: Sequence[tuple[float, float, float, float]], look: LineStyle) -> None:
        """Draws straight lines, each from x, y to x, y."""
        self._look(look)
        for x0, y0, x1, y1 in lines:
            self._canvas.line(x0 * POINT, self._y(y0), x1 * POINT, self._y(y1))

    def rectangle(self, x: float, y: float, width: float, height: float, look: LineStyle) -> None:
        """Draws a rectangle by its upper left corner."""
        self._look(look)
        self._canvas.rect(x * POINT, self._y(y + height), width * POINT, height * POINT, stroke=1, fill=0)

    def text(
        self, words: str, x: float, y: float, size: float, anchor: str = START, angle: float = 0.0, bold: bool = False
    ) -> None:
        """Writes a line that stands on y with its start, middle or end at x, turned clockwise by `angle`."""
        shown = "".join(self._letter(letter) for letter in words)
        self._canvas.saveState()
        self._canvas.setFillColorRGB(0.0, 0.0, 0.0)
        self._canvas.setFont(BOLD if bold else FONT, size * POINT)
        self._canvas.translate(x * POINT, self._y(y))
        self._canvas.rotate(-math.degrees(angle))
        draws = {MIDDLE: self._canvas.drawCentredString, END: self._canvas.drawRightString}
        draws.get(anchor, self._canvas.drawString)(0.0, 0.0, shown)
        self._canvas.restoreState()

    def _letter(self, letter: str) -> str:
        if ord(letter) in self._known:
            return letter
        self.unknown.add(letter)
        return "?"

    def _look(self, look: LineStyle, along: float = 0.0) -> None:
        self._canvas.setStrokeColor(colour_of(look.colour))
        self._canvas.setLineWidth(look.width_mm * POINT)
        # The library writes the phase as it is told, and PDF has no exponents.
        phase = round(look.phase_mm(along) * POINT, 4)
        self._canvas.setDash([part * POINT for part in look.dashes_mm], phase or 0)
        self._canvas.setLineJoin(1)

    def _y(self, y: float) -> float:
        return (self._height - y) * POINT


def known_letters() -> frozenset[int]:
    """Makes the fonts ready that go with our files, and gives the code points that they have letters for.

    Raises:
        ScallopkitError: the library that writes PDF is not installed.
    """
    try:
        import reportlab
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont
    except ImportError as error:
        raise ScallopkitError("pages of paper need one more library: pip install reportlab") from error
    fonts = Path(reportlab.__file__).parent / "fonts"
    for name in (FONT, BOLD):
        pdfmetrics.registerFont(TTFont(name, str(fonts / f"{name}.ttf")))
    return frozenset(pdfmetrics.getFont(FONT).face.charToGlyph)


@contextmanager
def written_plainly() -> Iterator[None]:
    """Files written meanwhile hold bytes as they are: as letters they would take a quarter more room, and time."""
    from reportlab import rl_config

    settings: Any = rl_config
    before = settings.useA85
    settings.useA85 = 0
    try:
        yield
    finally:
        settings.useA85 = before


def letters_missing(unknown: set[str]) -> list[Warn]:
    """A warning of the letters that the font has not."""
    if not unknown:
        return []
    letters = ", ".join(sorted(unknown)[:8])
    return [Warn("letters-missing", f"the font on paper has no letters {letters}: question marks stand for them")]


def colour_of(text: str) -> Any:  # noqa: ANN401  # the library's own kind
    """A colour as SVG names it; black where it can't be read."""
    from reportlab.lib.colors import black, toColor

    try:
        return toColor(text)
    except ValueError:
        return black
