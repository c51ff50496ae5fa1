"""Tables as plain text: aligned columns for a terminal, tabs for the next program in a pipe."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from .numbers import decimal

Cell = str | int | float | None

_NUMBER = re.compile(r"[+\-−]?\d[\d ]*([.,]\d+)?\s?(mm|cm|in|%|°)?")
_GAP = "  "


def table(headers: Sequence[str], rows: Sequence[Sequence[Cell]], *, terminal: bool) -> str:
    """A table as lines, without a line end after the last.

    On a terminal the columns are aligned, with a rule under the headers, and columns that hold numbers only stand to
    the right; wide characters count as two. Otherwise cells are parted by tabs. None is an empty cell, a float has at
    most four decimals, and line ends, tabs and control characters within a cell become blanks.
    """
    lines = [[_plain(cell) for cell in row] for row in (headers, *rows)]
    if not terminal:
        return "\n".join("\t".join(line) for line in lines)
    columns = list(zip(*lines, strict=True))
    widths = [max(map(width, column)) for column in columns]
    right = [_is_numeric(column[1:]) for column in columns]
    lines.insert(1, ["-" * size for size in widths])
    return "\n".join(
        _GAP.join(_padded(*cell) for cell in zip(line, widths, right, strict=True)).rstrip() for line in lines
    )


def width(text: str) -> int:
    """How many columns of a terminal a text takes: two for wide characters, none for marks that combine.

    https://www.unicode.org/reports/tr11/
    """
    return sum(
        0 if unicodedata.category(c) in ("Mn", "Me", "Cf") else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def _plain(cell: Cell) -> str:
    if cell is None:
        return ""
    text = decimal(cell, 4) if isinstance(cell, float) else str(cell)
    # A name comes from the drawing and could hold the codes that steer a terminal.
    return "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in text)


def _is_numeric(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell]
    return bool(filled) and all(_NUMBER.fullmatch(cell) for cell in filled)


def _padded(text: str, size: int, right: bool) -> str:
    blanks = " " * (size - width(text))
    return blanks + text if right else text + blanks
