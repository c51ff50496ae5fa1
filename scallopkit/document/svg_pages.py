"""Pages as one drawing with pages side by side, of which an editor makes a PDF by itself.

For editors whose own Python has no library that writes PDF; the pages are Inkscape's, from its release 1.2 on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from ..geometry.cubics import Array
from .drawn import START
from .markup import INKSCAPE, SODIPODI, SVG
from .numbers import decimal, path_text
from .styles import LineStyle

# Between two pages, mm, and decimals of a mm.
BETWEEN, _PLACES = 20.0, 5


class SvgPages:
    """A drawing of pages in the making."""

    def __init__(self) -> None:
        self._x = self._width = 0.0
        self._first: tuple[float, float] | tuple[()] = ()
        self._pages: list[str] = []
        self._out: list[str] = []
        self._clips = 0
        # An editor finds a font for every letter.
        self.unknown: set[str] = set()

    def begin(self, width: float, height: float) -> None:
        """Begins a page of that size."""
        self._x = self._x + self._width + BETWEEN if self._pages else 0.0
        self._width = width
        self._first = self._first or (width, height)
        place = f'x="{_number(self._x)}" y="0" width="{_number(width)}" height="{_number(height)}"'
        self._pages.append(f'<inkscape:page {place} id="page{len(self._pages) + 1}"/>')
        self._out.append(f'<g transform="translate({_number(self._x)} 0)">')

    def end(self) -> None:
        """Ends the page."""
        self._out.append("</g>")

    def bytes(self) -> bytes:
        """The whole drawing."""
        # The editor takes the drawing's own size for its first page; the others lie beside it.
        width, height = map(_number, self._first)
        head = (
            f'<svg xmlns="{SVG}" xmlns:inkscape="{INKSCAPE}" xmlns:sodipodi="{SODIPODI}" width="{width}mm" '
            f'height="{height}mm" viewBox="0 0 {width} {height}">'
        )
        view = f'<sodipodi:namedview inkscape:document-units="mm">{"".join(self._pages)}</sodipodi:namedview>'
        return "\n".join([head, view, *self._out, "</svg>", ""]).encode("utf-8")

    def clipped(self, x: float, y: float, width: float, height: float) -> None:
        """Keeps what follows within a rectangle, until `unclipped`."""
        self._clips += 1
        place = f'x="{_number(x)}" y="{_number(y)}" width="{_number(width)}" height="{_number(height)}"'
        self._out.append(f'<clipPath id="clip{self._clips}"><rect {place}/></clipPath>')
        self._out.append(f'<g clip-path="url(#clip{self._clips})">')

    def unclipped(self) -> None:
        """Ends what `clipped` began."""
        self._out.append("</g>")

    def curve(self, curve: Array, look: LineStyle, closed: bool = False, along: float = 0.0) -> None:
        """Draws a curve (n, 4, 2) that begins `along` mm after the start of its line, from where dashes are counted."""
        self._out.append(f'<path d="{path_text(curve, _PLACES, closed)}" {_style(look, along)}/>')

    def segments(self, lines: Sequence[tuple[float, float, float, float]], look: LineStyle) -> None:
        """Draws straight lines, each from x, y to x, y."""
        for line in lines:
            x0, y0, x1, y1 = map(_number, line)
            self._out.append(f'<path d="M {x0},{y0} L {x1},{y1}" {_style(look)}/>')

    def rectangle(self, x: float, y: float, width: float, height: float, look: LineStyle) -> None:
        """Draws a rectangle by its upper left corner."""
        place = f'x="{_number(x)}" y="{_number(y)}" width="{_number(width)}" height="{_number(height)}"'
        self._out.append(f"<rect {place} {_style(look)}/>")

    def text(
        self, words: str, x: float, y: float, size: float, anchor: str = START, angle: float = 0.0, bold: bool = False
    ) -> None:
        """Writes a line that stands on y with its start, middle or end at x, turned clockwise by `angle`."""
        at = f'x="{_number(x)}" y="{_number(y)}"'
        turn = f' transform="rotate({_number(math.degrees(angle))} {_number(x)} {_number(y)})"' if angle else ""
        weight = ";font-weight:bold" if bold else ""
        style = f"font-family:sans-serif;font-size:{_number(size)}px;text-anchor:{anchor}{weight}"
        self._out.append(f'<text {at}{turn} style="{style}">{escape(words, quote=False)}</text>')


def _number(value: float) -> str:
    return decimal(value, _PLACES)


def _style(look: LineStyle, along: float = 0.0) -> str:
    dashes = ",".join(_number(part) for part in look.dashes_mm) or "none"
    phase = _number(look.phase_mm(along))
    offset = f";stroke-dashoffset:{phase}" if phase != "0" else ""
    return (
        f'style="fill:none;stroke:{look.colour};stroke-width:{_number(look.width_mm)};stroke-dasharray:{dashes};'
        f'stroke-linejoin:round{offset}"'
    )
