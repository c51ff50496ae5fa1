"""A drawing larger than a page, parted into tiles that are laid edge on edge again.

Each page shows its own tile and, to the right and below, as much of the next ones as pages overlap: there the left and
the upper edge of the next page is laid on the line drawn for it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from .page_sizes import LONGEST, PageSize

# Places on lines are looked at so far apart, mm, to tell which pages hold any of them.
_STEP = 2.0
# Round everything that is printed, mm.
ROUND = 1.0
# Rows are lettered A to Z, then AA; more pages than this are a mistake.
_MOST_PAGES = 2000


@dataclass(frozen=True, eq=False)
class Tile:
    """One page of a tiling.

    Attributes:
        row, column: its place, from 0.
        corner: where in the drawing (2,) its upper left corner lies, mm.
        width, height: what of the drawing it shows, the overlap to the right and below with it, mm.
    """

    row: int
    column: int
    corner: Array
    width: float
    height: float

    @property
    def name(self) -> str:
        """Its row's letter and its column's number, as B3."""
        return f"{row_letters(self.row)}{self.column + 1}"


@dataclass(frozen=True, eq=False)
class Tiling:
    """All pages of a drawing.

    Attributes:
        page: the page.
        margin: what printers leave white on all sides, mm.
        overlap: how far neighbouring pages show the same, mm.
        foot: the strip below each tile for its name, mm.
        rows, columns: how many there would be if none were left out.
        corner: the upper left corner (2,) of what is printed, mm.
        tiles: the pages that hold something, row by row.
    """

    page: PageSize
    margin: float
    overlap: float
    foot: float
    rows: int
    columns: int
    corner: Array
    tiles: tuple[Tile, ...]

    @property
    def step(self) -> tuple[float, float]:
        """From one tile to the next, across and down, mm."""
        return self.page.width - 2.0 * self.margin - self.overlap, self._height - self.overlap

    @property
    def _height(self) -> float:
        return self.page.height - 2.0 * self.margin - self.foot


def row_letters(row: int) -> str:
    """A, B, … Z, AA, AB, … for rows from 0."""
    text, number = "", row + 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def tiling(
    page: PageSize, margin: float, overlap: float, foot: float, lines: Sequence[Array], boxes: Sequence[Array]
) -> Tiling:
    """The pages on which a drawing is printed at full size.

    Args:
        page: the page; one of a roll is made as long as it needs to be.
        margin: what printers leave white, mm.
        overlap: how far neighbouring pages show the same, mm.
        foot: the strip below each tile for its name, mm.
        lines: the curves (n, 4, 2) to be printed, mm.
        boxes: further boxes (2, 2) that must be seen, of texts.

    Raises:
        RequestError: nothing is there to print, the page is too small, or there would be too many.
    """
    extents = ([cubics.bounds(np.concatenate(lines))] if lines else []) + list(boxes)
    if not extents:
        raise RequestError("nothing of the drawing is left to print: choose other layers or pieces, or leave them out")
    low, high = np.min([box[0] for box in extents], axis=0) - ROUND, np.max([box[1] for box in extents], axis=0) + ROUND
    if page.is_roll:
        page = _as_long_as_needed(page, float(high[1] - low[1]) + 2.0 * margin + foot)
        overlap = overlap if page.width - 2.0 * margin < high[0] - low[0] else 0.0
    whole = Tiling(page, margin, overlap, foot, 0, 0, low, ())
    across, down = whole.step
    if across < 10.0 or down < 10.0:
        raise RequestError(
            f"a page of {page.width:g} x {page.height:g} mm has no room beside its margins of {margin:g} mm and an "
            f"overlap of {overlap:g} mm: take a larger page, or less of both"
        )
    columns, rows = (max(1, math.ceil((high[i] - low[i] - overlap) / (across, down)[i] - 1e-9)) for i in (0, 1))
    if rows * columns > _MOST_PAGES:
        raise RequestError(
            f"that would be {rows * columns} pages of {page.name}: the drawing is {high[0] - low[0]:.0f} x "
            f"{high[1] - low[1]:.0f} mm; take a larger page, or fewer pieces"
        )
    used = _used(lines, boxes, low, (across, down), (columns, rows))
    size = across + overlap, down + overlap
    tiles = tuple(
        Tile(row, column, low + np.array([column * across, row * down]), *size)
        for row in range(rows)
        for column in range(columns)
        if used[row, column]
    )
    return Tiling(page, margin, overlap, foot, rows, columns, low, tiles)


def _as_long_as_needed(page: PageSize, length: float) -> PageSize:
    if length > LONGEST:
        raise RequestError(
            f"the drawing needs {length:.0f} mm of a roll, and no PDF page can be longer than {LONGEST:g} mm (200 in): "
            "take a wider roll, sheets, or fewer pieces"
        )
    return PageSize(page.name, page.width, math.ceil(length))


def _used(
    lines: Sequence[Array], boxes: Sequence[Array], low: Array, step: tuple[float, float], count: tuple[int, int]
) -> Array:
    """Which pages hold something of their own, beside what their neighbours show too."""
    used = np.zeros((count[1], count[0]), dtype=bool)
    for curve in lines:
        legs = cubics.norm(np.diff(curve, axis=1)).sum(axis=1)
        points = cubics.point(curve, *cubics.in_steps(np.ceil(legs / _STEP)))
        _mark(used, np.concatenate([points, curve[-1:, 3]]), low, step)
    for box in boxes:
        x, y = (np.linspace(box[0, i], box[1, i], 2 + int((box[1, i] - box[0, i]) / _STEP)) for i in (0, 1))
        _mark(used, np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2), low, step)
    return used


def _mark(used: Array, points: Array, low: Array, step: tuple[float, float]) -> None:
    place = np.floor((points - low) / np.array(step)).astype(np.intp)
    column = np.clip(place[:, 0], 0, used.shape[1] - 1)
    used[np.clip(place[:, 1], 0, used.shape[0] - 1), column] = True
