"""Elements of the drawing: lines, circles and texts of a role, in the drawing's own user units."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from lxml import etree

from ..geometry.cubics import Array
from ..geometry.motion import apply, inverse
from .drawing import Drawing
from .markup import SEWN_FOR, SVG
from .numbers import decimals, path_text, places_for
from .styles import CLEAR, LEADING, LINES, cleared, line_style, style_of, text_style


class Ink:
    """Draws what belongs to one of our groups."""

    def __init__(self, name: str, drawing: Drawing) -> None:
        self.name = name
        self.from_mm: Array = inverse(drawing.to_mm)
        self.unit_mm = float(np.hypot(*drawing.to_mm[:, 0]))
        self.places = places_for(self.unit_mm)

    def in_units(self, curve: Array) -> Array:
        """A curve in mm as a curve in user units."""
        return apply(self.from_mm, curve)

    def line(self, role: str, curve: Array, piece: str, closed: bool = False) -> etree._Element:
        """A line in mm on the sheet."""
        return self.drawn(role, path_text(self.in_units(curve), self.places, closed), piece)

    def folds(self, curves: Sequence[Array], piece: str) -> list[etree._Element]:
        """Folds in mm on the sheet, and before them the white that clears them of the cutting line.

        The cutting line is closed and runs along folds too: it would fill the gaps between their dashes, and somebody
        would cut a fold open.
        """
        out = [self.line("fold", curve, piece) for curve in (*curves, *curves)]
        for under in out[: len(curves)]:
            under.set("data-role", CLEAR)
            under.set("style", line_style(cleared(LINES["fold"]), self.unit_mm))
        return out

    def sewn(self, curve: Array, piece: str, what: str, closed: bool = False) -> etree._Element:
        """A line in mm on the sheet where something else than scallops is stitched: a facing, a lining, a channel."""
        element = self.line("stitching", curve, piece, closed)
        element.set(SEWN_FOR, what)
        return element

    def drawn(self, role: str, d: str, piece: str) -> etree._Element:
        """A path whose data are already in user units."""
        element = self.element("path", role, piece)
        element.set("d", d)
        return element

    def ring(self, role: str, centre: Array, radius: float, piece: str) -> etree._Element:
        """A circle; centre on the sheet and radius in mm."""
        element = self.element("circle", role, piece)
        x, y = decimals(apply(self.from_mm, centre), self.places)
        element.set("cx", x)
        element.set("cy", y)
        element.set("r", decimals(np.array([radius / self.unit_mm]), self.places)[0])
        return element

    def text(self, lines: Sequence[str], at: Array, size: float, piece: str, middle: bool = True) -> etree._Element:
        """A label of several lines, `size` mm high; the first has its middle, or else its start, `at` on the sheet."""
        element = self.element("text", "label", piece)
        element.set("style", text_style("label", self.unit_mm, size, middle=middle))
        for k, line in enumerate(lines):
            row = etree.SubElement(element, f"{{{SVG}}}tspan")
            x, y = decimals(apply(self.from_mm, at + np.array([0.0, k * LEADING * size])), self.places)
            row.set("x", x)
            row.set("y", y)
            row.text = line
        return element

    def element(self, kind: str, role: str, piece: str) -> etree._Element:
        """An element of that role on a piece."""
        element = etree.Element(f"{{{SVG}}}{kind}")
        element.set("data-role", role)
        element.set("data-run", self.name)
        element.set("data-piece", piece)
        if kind != "text":
            element.set("style", style_of(role, self.unit_mm))
        return element
