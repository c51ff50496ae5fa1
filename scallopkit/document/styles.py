"""How the lines of each role look: by dashes and width first, so that they differ in black and white too.

Families: what is cut or holed is solid, what is sewn is dashed, what lies inside is long-dashed, what is folded is
dash-dotted, and what is laid on is dotted. Colour comes on top of that and is never alone. The colours are those of
the palette by Okabe and Ito that stand out from white paper (https://jfly.uni-koeln.de/color/); the steps of width
are those of technical drawing, each about 1.4 times the one before (ISO 128; from memory). Which dashes belong to
which role is our own choice; a solid cutting line and a dashed stitching line are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ..errors import NameUnknownError
from .numbers import decimal

BLACK = "#000000"
BLUE = "#0072B2"
GREEN = "#009E73"
VERMILLION = "#D55E00"
PURPLE = "#CC79A7"
GREY = "#767676"
WHITE = "#FFFFFF"


@dataclass(frozen=True)
class LineStyle:
    """A line's look: stroke colour, width and dashes (on, off, …; empty for solid) in mm of the drawing."""

    colour: str
    width_mm: float
    dashes_mm: tuple[float, ...] = ()

    def phase_mm(self, along: float) -> float:
        """How far into its dashes the line is `along` mm after its start, mm; 0 where it is solid.

        An odd number of dashes comes again only after two rounds, since on and off change places in the second:
        https://www.w3.org/TR/SVG2/painting.html#StrokeDashing
        """
        period = sum(self.dashes_mm) * (1 + len(self.dashes_mm) % 2)
        return along % period if period > 0.0 else 0.0


@dataclass(frozen=True)
class TextStyle:
    """A text's look: its colour and its size in mm of the drawing."""

    colour: str
    size_mm: float


LINES: dict[str, LineStyle] = {
    "cutting": LineStyle(BLACK, 0.7),
    "notch": LineStyle(BLACK, 1.0),
    "eyelet": LineStyle(VERMILLION, 0.5),
    "clip": LineStyle(VERMILLION, 0.35),
    "template": LineStyle(BLACK, 0.25),
    "stitching": LineStyle(BLUE, 0.5, (3.0, 1.5)),
    "wedge": LineStyle(VERMILLION, 0.35, (1.2, 0.6)),
    "pleat": LineStyle(BLUE, 0.35, (5.0, 4.0)),
    "facing": LineStyle(GREEN, 0.5, (9.0, 2.0)),
    "lining": LineStyle(GREEN, 0.5, (9.0, 1.5, 2.0, 1.5)),
    "interlining": LineStyle(GREEN, 0.5, (9.0, 1.5, 2.0, 1.5, 2.0, 1.5)),
    "grain": LineStyle(BLACK, 0.35, (18.0, 2.0)),
    "fold": LineStyle(BLACK, 0.7, (9.0, 2.0, 0.7, 2.0)),
    "true-line": LineStyle(BLUE, 0.35, (3.0, 1.0, 0.5, 1.0)),
    "patch": LineStyle(PURPLE, 0.5, (2.0, 0.8, 2.0, 2.8)),
    "placement": LineStyle(PURPLE, 0.5, (0.5, 1.5)),
    "cord": LineStyle(PURPLE, 1.4),
}

# The role of what is drawn in white under a line along which others run; it is no line to anybody.
CLEAR = "clear"
# How much wider it is than that line, mm.
_WIDER = 0.4

# The same role where it lies out of sight.
HIDDEN: dict[str, LineStyle] = {"cord-under": LineStyle(PURPLE, 1.4, (1.4, 1.4))}

# The same role where a pleat is folded, beside the dashed lines on which its folds are laid; thin, since it is no cut.
# Gathering stitches, which come out again, have short dashes far apart.
FOLDED: dict[str, LineStyle] = {"pleat-fold": LineStyle(BLUE, 0.18), "gather": LineStyle(BLUE, 0.25, (2.0, 2.0))}

# Lines that only the picture of a run laid flat has, beside stitching, eyelets, notches, folds and true-lines.
LAID_FLAT: dict[str, LineStyle] = {
    "edge": LineStyle(BLACK, 0.35),
    "seam": LineStyle(BLACK, 0.7),
    "dart": LineStyle(BLACK, 0.5, (6.0, 3.0)),
    "lap": LineStyle(BLACK, 0.5, (8.0, 1.5, 1.0, 1.5, 1.0, 1.5)),
    "butt": LineStyle(BLACK, 0.7, (0.7, 1.4)),
    "beyond": LineStyle(GREY, 0.35, (1.0, 1.0)),
    "measure": LineStyle(BLACK, 0.25),
}

TEXTS: dict[str, TextStyle] = {"label": TextStyle(BLACK, 4.0)}

ROLES: tuple[str, ...] = (*LINES, *TEXTS)

# From one line of a text to the next, in sizes of the text.
LEADING = 1.25

# Sizes are written to a thousandth of a mm or finer in any usual user unit.
_PLACES = 4


def cleared(line: LineStyle) -> LineStyle:
    """The look of what is drawn in white under a line along which others run, which would fill the gaps in it."""
    return LineStyle(WHITE, line.width_mm + _WIDER)


@lru_cache(maxsize=256)
def style_of(role: str, unit_mm: float) -> str:
    """The text of a `style` attribute for a role in a drawing whose user unit is `unit_mm` mm.

    Raises:
        NameUnknownError: there is no such role.
    """
    if role in TEXTS:
        return text_style(role, unit_mm, TEXTS[role].size_mm)
    line = LINES.get(role) or LAID_FLAT.get(role) or HIDDEN.get(role) or FOLDED.get(role)
    if line is None:
        raise NameUnknownError(f"there is no line style for {role!r}; there is one for {', '.join(ROLES)}")
    return line_style(line, unit_mm)


def line_style(line: LineStyle, unit_mm: float) -> str:
    """The text of a `style` attribute for a look."""
    dashes = ",".join(decimal(part / unit_mm, _PLACES) for part in line.dashes_mm)
    return (
        f"fill:none;stroke:{line.colour};stroke-width:{decimal(line.width_mm / unit_mm, _PLACES)};"
        f"stroke-dasharray:{dashes or 'none'};stroke-linecap:butt;stroke-linejoin:round"
    )


def text_style(role: str, unit_mm: float, size_mm: float, middle: bool = False) -> str:
    """The text of a `style` attribute for a text of a role, `size_mm` mm high, set about its middle where asked."""
    size = decimal(size_mm / unit_mm, _PLACES)
    anchor = ";text-anchor:middle" if middle else ""
    return f"fill:{TEXTS[role].colour};stroke:none;font-family:sans-serif;font-size:{size}px{anchor}"
