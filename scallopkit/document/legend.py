"""The legend of a trimmed drawing, with a square to test the scale of a print by: once in our layer, in a free place.

Neither belongs to the pattern: they are made anew whenever a drawing is written, after all else has its place. All of
it has the role of labels, so that nothing takes a sample for the line that it shows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from lxml import etree

from ..errors import DrawingError
from ..geometry import cubics
from ..geometry.cubics import Array
from .beside import BESIDE, Item, free_places, taken_by_others
from .drawing import Drawing
from .ink import Ink
from .kept import LEGEND, run_groups
from .layer import RunGroup, read_groups, replace_groups
from .lettering import text_extent
from .markup import SEWN_FOR, SVG
from .recipe import RAW, from_text, is_legend, is_note, legend_from_text, legend_to_text
from .source import parse_xml
from .styles import LEADING, LINES, text_style

# What the lines mean.
WORDS = {
    "cutting": "cutting line",
    "notch": "notch",
    "eyelet": "hole of an eyelet, or what stands for it",
    "clip": "clip",
    "template": "card to trace scallops by",
    "stitching": "stitching line",
    "wedge": "wedge, to be cut out",
    "pleat": "pleat or dart",
    "facing": "facing, cutting line",
    "lining": "lining, cutting line",
    "interlining": "interlining, cutting line",
    "grain": "grain",
    "fold": "fold",
    "true-line": "smooth line instead",
    "patch": "patch",
    "placement": "where something is laid or sewn on",
    "cord": "cord",
}
# What the line of scallops is where nothing is sewn along it.
TO_CUT_ON = "line to cut on"
# Sides that the test square may have, mm; the first that the page has room for.
_SQUARES = (100.0, 50.0, 20.0)
_ROLE = "label"
# What else is kept clear of than the pattern and the maker's texts: lines that reach beyond these, and pieces beside.
_KEPT_CLEAR = BESIDE | {"stitching", "cutting", "placement"}
_MARGIN = 5.0
# Sizes, mm: letters, from row to row, a sample's length, and what lies between it and its words.
_LETTERS, _ROW, _SAMPLE, _BETWEEN = 3.5, 7.0, 24.0, 3.0


def words_of(drawing: Drawing) -> dict[str, str]:
    """What the lines of a drawing mean, by their roles: where all its runs stay raw, theirs are cut on, not sewn."""
    raw = {group.name for group in run_groups(drawing.source) if _is_raw(group)}
    paths = parse_xml(drawing.source, drawing.name).iter(f"{{{SVG}}}path")
    sewn = [one for one in paths if one.get("data-role") == "stitching"]
    only_cut = raw and all(one.get(SEWN_FOR) is None and one.get("data-run") in raw for one in sewn)
    return WORDS | {"stitching": TO_CUT_ON} if only_cut else WORDS


def _is_raw(group: RunGroup) -> bool:
    try:
        finish = from_text(group.recipe, group.name).finish
    except DrawingError:
        # A damaged recipe is told where the run is made again.
        return False
    return finish is not None and finish.finish == RAW


def with_legend(drawing: Drawing, source: bytes, wanted: bool | None = None) -> bytes:
    """A written drawing with its legend and its test square, or without.

    Args:
        drawing: the drawing as it was read, whose outlines are those of the written one.
        source: the written drawing.
        wanted: whether it is to have them; None leaves it at what was said of this drawing before, else it has them.

    Raises:
        DrawingError: the bytes are no drawing.
    """
    groups = read_groups(source)
    kept = next((group for group in groups if is_legend(group.recipe)), None)
    if all(is_legend(group.recipe) or is_note(group.recipe) for group in groups):
        # Nothing of ours is left that it could explain.
        return source if kept is None else replace_groups(source, {}, [LEGEND])
    if wanted is None:
        wanted = kept is None or legend_from_text(kept.recipe)
    return replace_groups(source, {LEGEND: _group(replace(drawing, source=source), groups, wanted)})


def _group(drawing: Drawing, groups: Sequence[RunGroup], wanted: bool) -> etree._Element:
    ink = Ink(LEGEND, drawing)
    out = etree.Element(f"{{{SVG}}}g")
    out.set("id", LEGEND.replace(" ", "-"))
    out.set("data-run", LEGEND)
    out.set("data-recipe", legend_to_text(wanted))
    if wanted:
        words = words_of(drawing)
        rows = [(role, words[role]) for role in _roles_in(drawing, groups)]
        taken = taken_by_others(drawing, [LEGEND], _KEPT_CLEAR)
        side, shift = _square_place(drawing, taken)
        taken.append((shift, shift + _square_size(side)))
        size = _legend_size([told for _, told in rows])
        at = _free(drawing, taken, size)
        out.extend(_square(ink, side, shift))
        out.extend(_rows(ink, rows, at))
    return out


def _free(drawing: Drawing, taken: Sequence[tuple[Array, Array]], size: Array) -> Array:
    # Cutting lines and scallops are looked at themselves, so no room is left for them besides.
    (at,) = free_places(drawing, taken, [Item(np.zeros(2), size)], _MARGIN, allowances=0.0)
    return at


def _roles_in(drawing: Drawing, groups: Sequence[RunGroup]) -> list[str]:
    """The roles of the lines that our groups draw, in the order of the legend."""
    there = {
        element.get("data-role")
        for group in parse_xml(drawing.source, drawing.name).iter(f"{{{SVG}}}g")
        if group.get("data-run") in {one.name for one in groups} and group.get("data-recipe") is not None
        for element in group.iter(f"{{{SVG}}}*")
    }
    return [role for role in LINES if role in there]


# ---------------------------------------------------------------- the square


def _square_text(side: float) -> str:
    return f"test square: {side:g} mm"


def _square_size(side: float) -> Array:
    width, height = text_extent([_square_text(side)], _LETTERS)
    return np.array([side, side + height] if _is_below(side) else [side + _BETWEEN + width, side])


def _is_below(side: float) -> bool:
    """Whether the text stands below the square rather than beside it, being the shorter."""
    return text_extent([_square_text(side)], _LETTERS)[0] <= side


def _square_place(drawing: Drawing, taken: Sequence[tuple[Array, Array]]) -> tuple[float, Array]:
    """The largest square that the page has room for, and where; else the largest of all beside the page."""
    places = []
    for side in _SQUARES:
        size = _square_size(side)
        at = _free(drawing, taken, size)
        if drawing.size_mm is None or (at + size <= np.array(drawing.size_mm)).all():
            return side, at
        places.append((side, at))
    return places[0]


def _square(ink: Ink, side: float, at: Array) -> Iterator[etree._Element]:
    corners = at + side * np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)])
    yield _as_legend(ink.line("template", cubics.lines(corners), LEGEND, closed=True))
    down = 0.85 * LEADING * _LETTERS
    foot = np.array([0.0, side + down] if _is_below(side) else [side + _BETWEEN, down])
    yield _text(ink, _square_text(side), at + foot)


# ---------------------------------------------------------------- the rows


def _legend_size(words: Sequence[str]) -> Array:
    widest = text_extent(words, _LETTERS)[0]
    return np.array([_SAMPLE + _BETWEEN + widest, len(words) * _ROW])


def _rows(ink: Ink, rows: Sequence[tuple[str, str]], at: Array) -> Iterator[etree._Element]:
    """A sample of each role's line with its words."""
    for k, (role, told) in enumerate(rows):
        left = at + np.array([0.0, (k + 0.5) * _ROW])
        yield _as_legend(_sample(ink, role, left))
        yield _text(ink, told, left + np.array([_SAMPLE + _BETWEEN, 0.35 * _LETTERS]))


def _sample(ink: Ink, role: str, left: Array) -> etree._Element:
    """What a line looks like, from a point rightwards."""
    middle = left + np.array([0.5 * _SAMPLE, 0.0])
    if role == "eyelet":
        return ink.ring(role, middle, 0.3 * _ROW, LEGEND)
    if role == "notch":
        half = np.array([0.0, 0.25 * _ROW])
        return ink.line(role, cubics.lines([middle - half, middle + half]), LEGEND)
    return ink.line(role, cubics.lines([left, left + np.array([_SAMPLE, 0.0])]), LEGEND)


def _text(ink: Ink, words: str, at: Array) -> etree._Element:
    """A text that begins at a point."""
    element = ink.text([words], at, _LETTERS, LEGEND)
    element.set("style", text_style(_ROLE, ink.unit_mm, _LETTERS))
    return element


def _as_legend(element: etree._Element) -> etree._Element:
    element.set("data-role", _ROLE)
    return element
