"""Free places on the sheet, where new pieces are drawn beside those of the pattern."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from lxml import etree

from ..errors import DrawingError
from ..geometry.cubics import Array, bounds
from ..geometry.motion import apply
from .drawing import Drawing
from .drawn import SHAPES, anchor, font_size, inherited, is_seen, to_mm
from .lettering import text_extent
from .markup import CLEAR, SVG
from .names import kind_of, words_in
from .presentation import declared
from .recipe import is_strap
from .shapes import read_shape
from .source import parse_xml
from .transforms import stretches
from .viewport import root_viewport

# Roles of what is a piece of its own beside the pattern's.
BESIDE = frozenset({"facing", "interlining", "lining", "template", "cord"})

# What is left round the pattern's own outlines for their allowances, mm: hems of up to 4 cm and a little more.
_ALLOWANCES = 45.0
# Boxes that overlap by less, mm, touch.
_TOUCHING = 1e-9
# Of what arcs may be off, mm.
_ACCURACY = 1e-3
# What of a text lies before its anchor: https://www.w3.org/TR/SVG2/text.html#TextAnchorProperty
_BEFORE = {"middle": 0.5, "end": 1.0}

Box = tuple[Array, Array]


@dataclass(frozen=True, eq=False)
class Item:
    """A thing that wants a place: the corners (2,) of its box in mm, where it would lie before it is moved."""

    low: Array
    high: Array


def free_places(
    drawing: Drawing,
    taken: Sequence[Box],
    items: Sequence[Item],
    margin: float = 10.0,
    allowances: float = _ALLOWANCES,
) -> list[Array]:
    """Where things are drawn so that none lies on another, or on the pattern.

    Each in its turn takes the first free place of the page, looked for row by row from the top left; one for which
    the page has no room goes to the right of the page and the pattern, in columns as high as the page.

    Args:
        drawing: the drawing, whose outlines are kept clear of, with room for their allowances.
        taken: boxes that are kept clear of too, corner and corner, mm.
        items: what is to be placed.
        margin: least distance between any two boxes, and from the page's edges, mm.
        allowances: what is left round the pattern's own outlines besides, mm.

    Returns:
        For each thing the way (2,) that it is moved, mm.
    """
    outlines = [_box_of(piece.curve) for piece in drawing.pattern.pieces]
    boxes = [(low - allowances - margin, high + allowances + margin) for low, high in outlines]
    boxes += [(np.asarray(low) - margin, np.asarray(high) + margin) for low, high in taken]
    corner, top, bottom = _beyond(drawing, outlines, margin)
    shifts = []
    for item in items:
        size = item.high - item.low
        place = None
        if drawing.size_mm is not None:
            place = _first_free(size, np.full(2, margin), np.array(drawing.size_mm) - margin, boxes, across=1)
        if place is None:
            # What is higher than the page stands at its top.
            high = np.array([math.inf, max(bottom, top + float(size[1]))])
            place = _first_free(size, np.array([corner, top]), high, boxes, across=0)
        if place is None:
            raise ValueError("to the right there is room without end")
        boxes.append((place - margin, place + size + margin))
        shifts.append(place - item.low)
    return shifts


def taken_by_others(drawing: Drawing, runs: Collection[str], roles: Collection[str] = BESIDE) -> list[Box]:
    """The boxes of what runs have drawn and written beside the pattern, but for those named, and of the maker's texts.

    Args:
        drawing: the drawing.
        runs: the names of groups that are left out.
        roles: of what is kept clear of.

    Returns:
        Of each box two corners (2,), mm.

    Raises:
        DrawingError: it is no drawing.
    """
    root = parse_xml(drawing.source, drawing.name)
    groups = [
        group
        for group in root.iter(f"{{{SVG}}}g")
        if group.get("data-recipe") is not None and group.get("data-run") not in (None, *runs)
    ]
    found = [_box(drawing, root, element) for group in groups for element in _pieces_in(group, roles)]
    written = [text for group in groups for text in group.iter(f"{{{SVG}}}text") if text.get(CLEAR) is not None]
    found += [_text_box(drawing, root, text) for text in written]
    found += [_text_box(drawing, root, element) for element in root.iter(f"{{{SVG}}}text") if _is_makers(element)]
    return [box for box in found if box is not None]


# ---------------------------------------------------------------- looking for room


def _beyond(drawing: Drawing, outlines: Sequence[Box], margin: float) -> tuple[float, float, float]:
    """Where the room to the right of everything begins, and its top and bottom, mm."""
    every = outlines or [(np.zeros(2), np.zeros(2))]
    low = np.array([box[0] for box in every]).min(axis=0) - _ALLOWANCES
    high = np.array([box[1] for box in every]).max(axis=0) + _ALLOWANCES
    if drawing.size_mm is None:
        return float(high[0]) + margin, float(low[1]), float(high[1])
    width, height = drawing.size_mm
    return max(width, float(high[0])) + margin, margin, height - margin


def _first_free(size: Array, low: Array, high: Array, boxes: Sequence[Box], across: int) -> Array | None:
    """The first free place for a size between two corners; rows are tried for `across` 1, columns for 0."""
    along = 1 - across
    lows, highs = (np.array([box[i] for box in boxes]).reshape(-1, 2) for i in (0, 1))
    # A set, since `np.unique` loads numpy's masked arrays, which cost as much as all the rest of a start.
    starts = sorted({*highs[:, across].tolist(), float(low[across])})
    for start in starts:
        if start < low[across] or start + size[across] > high[across] + _TOUCHING:
            continue
        beside = (lows[:, across] < start + size[across] - _TOUCHING) & (highs[:, across] > start + _TOUCHING)
        at = float(low[along])
        for begin, end in sorted(zip(lows[beside, along].tolist(), highs[beside, along].tolist(), strict=True)):
            if at + size[along] <= begin + _TOUCHING:
                break
            at = max(at, end)
        if at + size[along] <= high[along] + _TOUCHING:
            place = np.empty(2)
            place[across], place[along] = start, at
            return place
    return None


# ---------------------------------------------------------------- what runs have drawn


def _pieces_in(group: etree._Element, wanted: Collection[str]) -> Iterator[etree._Element]:
    """The shapes of a group that have a role, or lie in what has it; all of a strap's."""
    strap = is_strap(group.get("data-recipe", ""))
    for element in group.iter(f"{{{SVG}}}*"):
        if kind_of(element) in SHAPES:
            roles = {one.get("data-role") for one in (element, *element.iterancestors())}
            if strap or not roles.isdisjoint(wanted):
                yield element


def _box(drawing: Drawing, root: etree._Element, element: etree._Element) -> Box | None:
    """The box of a shape in mm; None where somebody has changed it so that it can't be read."""
    units = root_viewport(root).units
    try:
        onto = to_mm(drawing, root, element)
        data = read_shape(kind_of(element), declared(element), units, _ACCURACY / stretches(onto)[0])
    except (DrawingError, ZeroDivisionError):
        return None
    if not data.subpaths:
        return None
    return _box_of(apply(onto, np.concatenate([sub.curve for sub in data.subpaths])))


def _box_of(curve: Array) -> Box:
    low, high = bounds(curve)
    return low, high


# ---------------------------------------------------------------- what the maker has written


def _is_makers(text: etree._Element) -> bool:
    """Whether a text is seen and not ours."""
    return is_seen(text) and all(one.get("data-recipe") is None for one in text.iterancestors())


def _text_box(drawing: Drawing, root: etree._Element, text: etree._Element) -> Box | None:
    """The box of a text in mm, about as large as it is; None where it is empty, or can't be read."""
    parts = [text, *text.iter(f"{{{SVG}}}tspan")]
    rows = [words for one in parts[1:] if one.get("y") or one.get("dy") if (words := words_in(one))]
    lines = rows or [words_in(text)]
    if not lines[0]:
        return None
    try:
        size = font_size(parts)
        width, height = text_extent(lines, size)
        x, y = (anchor(parts, axis) for axis in "xy")
        onto = to_mm(drawing, root, text)
    except DrawingError:
        return None
    left = x - width * _BEFORE.get(inherited(text, "text-anchor"), 0.0)
    corners = np.array([(left + a * width, y - size + b * height) for a in (0.0, 1.0) for b in (0.0, 1.0)])
    placed = apply(onto, corners)
    return placed.min(axis=0), placed.max(axis=0)
