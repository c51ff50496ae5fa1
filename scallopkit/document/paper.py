"""A drawing on paper at full size: a first page with test squares, a plan and a legend, then the tiles."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Protocol

import numpy as np

from ..errors import RequestError, counted
from ..geometry.cubics import Array
from ..geometry.motion import apply
from ..pattern.piece import Warn
from .arranging import belongings, laid_on_each, moved
from .drawing import Drawing
from .drawn import BEFORE, MARK, MIDDLE, OUTLINE, START, Drawn, DrawnLine, DrawnText, chosen_lines
from .left_out import left_out
from .legend import words_of
from .lettering import one_line, text_extent, within, wrapped
from .page_sizes import PageSize, page_size
from .page_view import PageView, page_view
from .pdf import Pages, letters_missing
from .styles import BLACK, GREY, LineStyle, cleared
from .tiling import ROUND, Tile, Tiling, tiling
from .units import parse_length
from .wishes import one_of

UPRIGHT, LYING, ANY_WAY = "upright", "lying", "any"
WAYS = (ANY_WAY, UPRIGHT, LYING)
BY_ROLE, HAIRLINE = "role", "hairline"
WEIGHTS = (BY_ROLE, HAIRLINE)

# What printers leave white, and how far pages show the same, mm; common practice, no source.
_MARGIN, _OVERLAP = "10mm", "10mm"
# The strip below each tile, and letters in it, mm.
_FOOT, _LETTERS, _HEAD = 8.0, 3.0, 5.0
# From one line of the legend to the next, mm.
_ROW = 5.5
# Wider than so many pages no layout is tried.
_MOST_COLUMNS = 12
# The thinnest line that every printer prints, mm; common practice, no source.
_THIN = 0.1
_SQUARE, _INCHES = 100.0, 4.0 * 25.4
_BAR, _GAP, _MARK = 50.0, 8.0, 4.0
_FAINT = LineStyle(GREY, 0.1, (2.0, 2.0))
_SOLID, _FINE = LineStyle(BLACK, 0.35), LineStyle(BLACK, 0.15)
# What the maker's own lines are; ours are called as in the drawing's legend, and others by their roles.
_CALLED = {OUTLINE: "outline as it was drawn", MARK: "mark"}


@dataclass(frozen=True)
class PaperWish:
    """What is wanted on paper; texts as the maker writes them, empty ones mean the default.

    Attributes:
        page: the page's size.
        way: UPRIGHT, LYING, or ANY_WAY for whichever takes fewer pages.
        margin, overlap: what printers leave white, and how far pages show the same.
        show, hide: the roles of lines that are printed, or are not; all if none are named.
        pieces: names of pieces; all if none are named.
        black: whether all lines are black.
        weight: BY_ROLE, or HAIRLINE for lines as thin as can be.
        title: what is written on the first page; else the file's name.
        dated: the date that is written there, or None.
        arrange: whether pieces are moved about where that takes fewer pages.
    """

    page: str = "A4"
    way: str = ANY_WAY
    margin: str = ""
    overlap: str = ""
    show: tuple[str, ...] = ()
    hide: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    black: bool = False
    weight: str = BY_ROLE
    title: str = ""
    dated: date | None = None
    arrange: bool = False


@dataclass(frozen=True, eq=False)
class Paper:
    """A drawing on paper: the file's bytes, its pages, warnings, and how pieces were arranged where that was asked."""

    data: bytes
    tiling: Tiling
    warnings: tuple[Warn, ...]
    arranged: str = ""


class Sheets(Protocol):
    """What draws pages: a PDF, or a drawing that an editor makes a PDF of."""

    unknown: set[str]

    def begin(self, width: float, height: float) -> None:
        """Begins a page of that size, mm."""

    def end(self) -> None:
        """Ends the page."""

    def bytes(self) -> bytes:
        """The whole file."""

    def clipped(self, x: float, y: float, width: float, height: float) -> None:
        """Keeps what follows within a rectangle, until `unclipped`."""

    def unclipped(self) -> None:
        """Ends what `clipped` began."""

    def curve(self, curve: Array, look: LineStyle, closed: bool = False, along: float = 0.0) -> None:
        """Draws a curve (n, 4, 2) that begins `along` mm after the start of its line, from where dashes are counted."""

    def segments(self, lines: Sequence[tuple[float, float, float, float]], look: LineStyle) -> None:
        """Draws straight lines, each from x, y to x, y."""

    def rectangle(self, x: float, y: float, width: float, height: float, look: LineStyle) -> None:
        """Draws a rectangle by its upper left corner."""

    def text(
        self, words: str, x: float, y: float, size: float, anchor: str = START, angle: float = 0.0, bold: bool = False
    ) -> None:
        """Writes a line that stands on y with its start, middle or end at x, turned clockwise by `angle`."""


def paper(
    drawing: Drawing,
    wish: PaperWish,
    pages: Sheets | None = None,
    everything: Drawn | None = None,
    step: Callable[[int, int, str], None] | None = None,
) -> Paper:
    """The drawing at full size on as many pages as it needs: a PDF, unless other `pages` are given.

    Args:
        drawing: the drawing.
        wish: what is wanted.
        pages: what draws the pages.
        everything: all lines and texts of the drawing, where they were read before.
        step: told how many pages are drawn, of how many, and which is next.

    Raises:
        ScallopkitError: a word can't be read, nothing is left to print, or the pages are too small or too many.
    """
    margin = parse_length(wish.margin or _MARGIN, "--margin", "not-negative")
    overlap = parse_length(wish.overlap or _OVERLAP, "--overlap", "not-negative")
    page = page_size(wish.page)
    one_of(wish.way, WAYS, "--way")
    one_of(wish.weight, WEIGHTS, "--weight")
    lines, texts = chosen_lines(drawing, wish.show, wish.hide, wish.pieces, everything)
    ways = [page.turned] if wish.way == LYING else [page]
    if wish.way == ANY_WAY and not page.is_roll:
        ways.append(page.turned)

    def parted(lines: Sequence[DrawnLine], texts: Sequence[DrawnText], ways: Sequence[PageSize]) -> Tiling:
        curves, boxes = [line.curve for line in lines], [_box(text) for text in texts]
        return min(
            (tiling(one, margin, overlap, _FOOT, curves, boxes) for one in ways),
            key=lambda one: _taken(one, page.is_roll),
        )

    tiles, arranged = parted(lines, texts, ways), ""
    if wish.arrange:
        before, found = tiles, belongings(lines, texts, _box)
        for one in ways:
            for by in laid_on_each(found, _widths(one, before)):
                again = moved(found, by, lines, texts)
                made = parted(*again, [one])
                if _taken(made, page.is_roll) < _taken(tiles, page.is_roll):
                    tiles, best = made, again
        if tiles is not before:
            lines, texts = best
        arranged = _arranged(before, tiles, page.is_roll)
    pages = pages or Pages(wish.title or drawing.name, wish.dated is not None)
    lines = [replace(line, look=_look(line.look, wish)) for line in lines]
    _first_page(pages, drawing, wish, tiles, lines)
    called = wish.title or drawing.name
    # Folds come last.
    folds_last = sorted(lines, key=lambda line: line.role == "fold")
    view = page_view(folds_last, texts, [_box(text) for text in texts])
    for k, tile in enumerate(tiles.tiles):
        if step is not None:
            step(k, len(tiles.tiles), tile.name)
        _page(pages, called, tiles, tile, k, view)
    makers = (not wish.show or OUTLINE in wish.show) and OUTLINE not in wish.hide
    told = (*letters_missing(pages.unknown), *(left_out(drawing) if makers else ()))
    return Paper(pages.bytes(), tiles, told, arranged)


# ---------------------------------------------------------------- pieces arranged


def _taken(tiles: Tiling, roll: bool) -> float:
    """How many pages there are, or of a roll how much of it they take, mm."""
    return len(tiles.tiles) * (tiles.page.height if roll else 1.0)


def _widths(page: PageSize, drawn: Tiling) -> Iterator[float]:
    """How wide one column of pages is, two and so on, mm; a roll has one."""
    if page.is_roll:
        yield page.width - 2.0 * (drawn.margin + ROUND)
        return
    across = replace(drawn, page=page).step[0]
    for columns in range(1, min(len(drawn.tiles), _MOST_COLUMNS) + 1):
        yield columns * across + drawn.overlap - 2.0 * ROUND


def _arranged(before: Tiling, after: Tiling, roll: bool) -> str:
    """What came of arranging, as a sentence."""
    if after is before:
        return f"the pieces are left where they are drawn: moving them saves no {'paper' if roll else 'page'}"
    if roll:
        return f"the pieces are moved: {_taken(after, roll):g} mm of the roll instead of {_taken(before, roll):g} mm"
    return f"the pieces are moved: {counted(len(after.tiles), 'page')} instead of {len(before.tiles)}"


# ---------------------------------------------------------------- what is printed


def _box(text: DrawnText) -> Array:
    """The box of a text, as large as it is at the most."""
    corners = []
    for words, place in text.rows:
        width, height = text_extent((words,), text.size)
        left = -BEFORE[text.anchor] * width
        local = np.array([(left + a * width, b * height) for a in (0.0, 1.0) for b in (-0.8, 0.2)])
        c, s = np.cos(text.angle), np.sin(text.angle)
        corners.append(place + local @ np.array([[c, s], [-s, c]]))
    every = np.concatenate(corners)
    return np.stack([every.min(axis=0), every.max(axis=0)])


def _look(look: LineStyle, wish: PaperWish) -> LineStyle:
    width = _THIN if wish.weight == HAIRLINE else max(look.width_mm, _THIN)
    return LineStyle(BLACK if wish.black else look.colour, width, look.dashes_mm)


# ---------------------------------------------------------------- the tiles


def _page(pages: Sheets, called: str, tiles: Tiling, tile: Tile, k: int, view: PageView) -> None:
    """One tile with its marks and its foot."""
    pages.begin(tiles.page.width, tiles.page.height)
    shift = np.array([tiles.margin, tiles.margin]) - tile.corner
    pages.clipped(tiles.margin, tiles.margin, tile.width, tile.height)
    low, high = tile.corner, tile.corner + np.array([tile.width, tile.height])
    for line, stretches in view.lines(low, high):
        if line.role == "fold":
            # The outline runs along it too, and would fill the gaps of its dashes: nobody may cut there.
            for part in stretches:
                pages.curve(part.curve + shift, cleared(line.look))
        for part in stretches:
            pages.curve(part.curve + shift, line.look, part.closed, part.along)
    for text in view.texts(low, high):
        for words, place in text.rows:
            x, y = place + shift
            pages.text(words, float(x), float(y), text.size, text.anchor, text.angle)
    _joins(pages, tiles, tile)
    pages.unclipped()
    _foot(pages, called, tiles, tile, k)
    pages.end()


def _joins(pages: Sheets, tiles: Tiling, tile: Tile) -> None:
    """The lines on which the next pages are laid, and marks that tell which: no two joins have the same two names."""
    there = {(one.row, one.column): one for one in tiles.tiles}
    across, down = tiles.step
    left, top = tiles.margin, tiles.margin
    for right in (False, True):
        other = there.get((tile.row, tile.column + (1 if right else -1)))
        if other is not None:
            x = left + (across if right else 0.0)
            pages.segments([(x, top, x, top + tile.height)], _FAINT if right else _FINE)
            names = (tile.name, other.name) if right else (other.name, tile.name)
            for share in (0.25, 0.75):
                _mark(pages, x, top + share * down, names, upright=True)
    for below in (False, True):
        other = there.get((tile.row + (1 if below else -1), tile.column))
        if other is not None:
            y = top + (down if below else 0.0)
            pages.segments([(left, y, left + tile.width, y)], _FAINT if below else _FINE)
            names = (tile.name, other.name) if below else (other.name, tile.name)
            for share in (0.25, 0.75):
                _mark(pages, left + share * across, y, names, upright=False)


def _mark(pages: Sheets, x: float, y: float, names: tuple[str, str], upright: bool) -> None:
    """A diamond across a join, with the name of the page on either side of it."""
    m = _MARK
    corners = [(x - m, y), (x, y - m), (x + m, y), (x, y + m)]
    sides = [(*a, *b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    pages.segments([*sides, (x, y - m, x, y + m) if upright else (x - m, y, x + m, y)], _FINE)
    size = 0.45 * m
    places = [(x - 0.45 * m, y), (x + 0.45 * m, y)] if upright else [(x, y - 0.3 * m), (x, y + 0.4 * m)]
    for name, (at_x, at_y) in zip(names, places, strict=True):
        pages.text(name, at_x, at_y + 0.35 * size, size, anchor=MIDDLE)


def _foot(pages: Sheets, called: str, tiles: Tiling, tile: Tile, k: int) -> None:
    """The page's name, its number and a bar to measure."""
    y = tiles.margin + tile.height + _FOOT - 2.0
    pages.text(tile.name, tiles.margin, y, _HEAD, bold=True)
    told = f"page {k + 1} of {len(tiles.tiles)}, {one_line(called)}"
    pages.text(told, tiles.margin + 16.0, y, _LETTERS)
    right = tiles.margin + tile.width
    if tile.width >= _BAR + 100.0:
        ends = [(right - _BAR, y - 3.0, right - _BAR, y), (right, y - 3.0, right, y)]
        pages.segments([(right - _BAR, y - 1.5, right, y - 1.5), *ends], _FINE)
        pages.text("50 mm", right - 0.5 * _BAR, y - 2.0, _LETTERS, anchor=MIDDLE)


# ---------------------------------------------------------------- the first page


def _first_page(pages: Sheets, drawing: Drawing, wish: PaperWish, tiles: Tiling, lines: Sequence[DrawnLine]) -> None:
    """What to measure before anything is cut, which page lies where, and what the lines are for."""
    size = page_size(wish.page) if tiles.page.is_roll or tiles.page.name.lower().startswith("roll") else tiles.page
    width, height = (tiles.page.width, 420.0) if size.is_roll else (tiles.page.width, tiles.page.height)
    left, top = tiles.margin, tiles.margin
    inner, tall = width - 2.0 * tiles.margin, height - 2.0 * tiles.margin
    stacked = tall >= 32.0 + _SQUARE + _GAP + _INCHES
    needed = _INCHES if stacked else _SQUARE + _GAP + _INCHES
    if inner < needed or tall < 20.0 + _INCHES:
        raise RequestError(
            f"a page of {width:g} x {height:g} mm has no room for the test squares of 100 mm and 4 in: take a larger "
            "page, or a smaller --margin"
        )
    pages.begin(width, height)
    pages.text(one_line(wish.title or drawing.name), left, top + 5.0, _HEAD, bold=True)
    told = "Print at 100 %, actual size. Measure both squares before you cut. Cut the left and the upper edge of a page"
    more = "off along its thin line, and lay it on the dashed line of the page before: diamonds tell which two meet."
    if wish.dated is not None:
        told = f"{wish.dated.isoformat()}. {told}"
    for k, line in enumerate(wrapped(f"{told} {more}", inner, _LETTERS)):
        pages.text(line, left, top + 10.0 + 1.25 * _LETTERS * k, _LETTERS)
    y = top + 16.0 + 1.25 * _LETTERS * (len(wrapped(f"{told} {more}", inner, _LETTERS)) - 1)
    _square(pages, left, y, _SQUARE, "100 mm")
    if stacked:
        _square(pages, left, y + _SQUARE + _GAP, _INCHES, "4 in")
    else:
        _square(pages, left + _SQUARE + _GAP, y, _INCHES, "4 in")
    right, below = left + needed + _GAP, y + _GAP + (_SQUARE + _GAP + _INCHES if stacked else _INCHES)
    room = left + inner - right
    told_of = _told(lines, words_of(drawing) | _CALLED, room) if room >= 40.0 else []
    # The plan leaves room for the legend.
    beside = room, min(0.6 * (top + tall - y), top + tall - y - _GAP - _height(told_of))
    # Under both squares it takes the whole width, unless the legend beside them is longer than they are.
    long = not stacked and y + _height(told_of) > below - _GAP
    under = inner - long * (room + _GAP), top + tall - below
    under_them = _scale(tiles, *under) > _scale(tiles, *beside)
    used = 0.0
    if under_them:
        _plan(pages, left, below, *under, tiles, lines)
    elif _scale(tiles, *beside) > 0.0:
        used = _plan(pages, right, y, *beside, tiles, lines) + _GAP
    _legend(pages, right, y + used, room, told_of)
    pages.end()


def _scale(tiles: Tiling, width: float, height: float) -> float:
    """How much smaller a plan of the pages is that has so much room; 0 where there is too little."""
    across, down = tiles.step
    whole = tiles.columns * across + tiles.overlap, tiles.rows * down + tiles.overlap
    return min(width / whole[0], height / whole[1]) if min(width, height) >= 20.0 else 0.0


def _square(pages: Sheets, x: float, y: float, side: float, told: str) -> None:
    pages.rectangle(x, y, side, side, _FINE)
    pages.text(told, x + 0.5 * side, y + 0.5 * side, _HEAD, anchor=MIDDLE)


def _plan(
    pages: Sheets, x: float, y: float, width: float, height: float, tiles: Tiling, lines: Sequence[DrawnLine]
) -> float:
    """All pages small, with their names; gives the height that it takes."""
    across, down = tiles.step
    whole = tiles.columns * across + tiles.overlap, tiles.rows * down + tiles.overlap
    scale = _scale(tiles, width, height)
    onto = np.array([[scale, 0.0, x - scale * tiles.corner[0]], [0.0, scale, y - scale * tiles.corner[1]]])
    pages.clipped(x - 0.5, y - 0.5, scale * whole[0] + 1.0, scale * whole[1] + 1.0)
    for line in lines:
        pages.curve(apply(onto, line.curve), LineStyle(line.look.colour, _THIN), line.closed)
    pages.unclipped()
    letters = min(4.0, 0.35 * scale * min(across, down))
    for tile in tiles.tiles:
        a, b = apply(onto, tile.corner)
        pages.rectangle(float(a), float(b), scale * across, scale * down, _FINE)
        pages.text(tile.name, float(a) + 0.5 * scale * across, float(b) + 0.5 * scale * down, letters, anchor=MIDDLE)
    return float(scale * whole[1])


def _told(lines: Sequence[DrawnLine], words: Mapping[str, str], room: float) -> list[tuple[LineStyle, list[str]]]:
    """What the lines that are there are for, each in rows of words that keep within the room."""
    looks: dict[str, LineStyle] = {}
    for line in lines:
        looks.setdefault(line.role, line.look)
        if line.role == "cord" and not line.look.dashes_mm:
            # It goes under and over; what is told is the part that is seen.
            looks[line.role] = line.look
    beside = room - _sample(room) - 3.0
    return [(look, within(words.get(role, role), beside, _LETTERS)) for role, look in looks.items()]


def _sample(room: float) -> float:
    """How long the piece of line before its words is in the legend, mm."""
    return min(24.0, 0.3 * room)


def _height(told: Sequence[tuple[LineStyle, list[str]]]) -> float:
    """How high the legend is, mm."""
    return sum(_ROW + 1.25 * _LETTERS * (len(rows) - 1) for _, rows in told)


def _legend(pages: Sheets, x: float, y: float, room: float, told: Sequence[tuple[LineStyle, list[str]]]) -> None:
    """What the lines that are there are for."""
    at = y + 0.5 * _ROW
    for look, rows in told:
        pages.segments([(x, at, x + _sample(room), at)], look)
        for k, row in enumerate(rows):
            pages.text(row, x + _sample(room) + 3.0, at + (0.35 + 1.25 * k) * _LETTERS, _LETTERS)
        at += _ROW + 1.25 * _LETTERS * (len(rows) - 1)


def page_names(made: Tiling) -> str:
    """The pages in a line, row by row."""
    rows: dict[int, list[str]] = {}
    for tile in made.tiles:
        rows.setdefault(tile.row, []).append(tile.name)
    return "; ".join(", ".join(names) for names in rows.values())
