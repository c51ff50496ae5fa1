"""Sizes of paper, by their names or as told."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from ..errors import RequestError
from .units import parse_length

# Width and height in mm. ISO 216 (https://en.wikipedia.org/wiki/ISO_216); ANSI and Arch sheets in inches
# (graphics-cad.blogspot.com/2009/11/sizes-of-drawings.html).
SIZES: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
    "ANSI-C": (431.8, 558.8),
    "ANSI-D": (558.8, 863.6),
    "ANSI-E": (863.6, 1117.6),
    "Arch-D": (609.6, 914.4),
    "Arch-E": (914.4, 1219.2),
}
# Readers of PDF show no page longer than 200 in; beyond that few can be trusted (PDF 1.7, annex C).
LONGEST = 5080.0
# The pages of a make sheet, which are kept in a folder.
SHEET_PAGES = ("A4", "Letter")
_ROLL = re.compile(r"roll:(.+)", re.IGNORECASE)
_CUSTOM = re.compile(r"(.+?)\s*x\s*(.+)", re.IGNORECASE)


@dataclass(frozen=True)
class PageSize:
    """A page: its name, its width and its height in mm; of a roll the height is as long as it needs to be."""

    name: str
    width: float
    height: float

    @property
    def is_roll(self) -> bool:
        """Whether it is as long as it needs to be."""
        return math.isinf(self.height)

    @property
    def turned(self) -> PageSize:
        """The same page lying on its side; a roll has none."""
        return self if self.is_roll else PageSize(self.name, self.height, self.width)


def page_size(text: str) -> PageSize:
    """The page that a text names: A4, Letter …, roll:610mm, or a width and a height as 30cm x 40cm.

    Raises:
        RequestError: it names none, or it is longer than readers of PDF can show.
    """
    wanted = text.strip()
    for name, (width, height) in SIZES.items():
        if name.lower() == wanted.lower():
            return PageSize(name, width, height)
    roll, custom = _ROLL.fullmatch(wanted), _CUSTOM.fullmatch(wanted)
    if roll:
        return PageSize(wanted, _side(roll[1], text), math.inf)
    if custom:
        return PageSize(wanted, _side(custom[1], text), _side(custom[2], text))
    raise RequestError(
        f"--page {text!r} is no size of paper: write {', '.join(SIZES)}, roll:610mm, or width x height as 30cm x 40cm"
    )


def _side(text: str, whole: str) -> float:
    length = parse_length(text.strip(), f"--page {whole!r}", "positive")
    if length > LONGEST:
        raise RequestError(f"--page {whole!r} is longer than {LONGEST:g} mm (200 in), which no PDF page can be")
    return length
