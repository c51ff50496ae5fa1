"""What a drawing shows, ours and the maker's, in mm: lines with their look, and texts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from lxml import etree

from ..errors import DrawingError, NameUnknownError
from ..geometry.cubics import Array
from ..geometry.motion import apply, compose
from ..pattern.edge import find_piece
from .drawing import Drawing
from .kept import LEGEND
from .markup import SVG
from .names import kind_of, words_in
from .presentation import declared, is_displayed
from .shapes import read_shape
from .source import parse_xml
from .styles import LineStyle
from .transforms import element_map, stretches
from .units import svg_length
from .viewport import root_viewport

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
# What holds things that are drawn elsewhere, or never.
NOT_DRAWN = frozenset({"defs", "symbol", "clipPath", "mask", "marker", "pattern"})
# The role of the maker's own outlines and texts, which bear none.
OUTLINE = "outline"

# The size of letters that is not told, user units.
# https://www.w3.org/TR/css-fonts-4/#font-size-prop
_LETTERS = 16.0
# Of what arcs may be off, mm.
_ACCURACY = 1e-5
# How the maker's outlines are drawn: as the thinner of the lines of technical drawing (ISO 128; from memory).
_OUTLINE = LineStyle("#000000", 0.35)


@dataclass(frozen=True, eq=False)
class DrawnLine:
    """A line of the drawing.

    Attributes:
        role: what it is for, as in `data-role`; OUTLINE for the maker's own.
        run, piece: whose it is; empty texts where it does not say.
        curve: the line in mm (n, 4, 2).
        closed: whether it ends where it begins.
        look: its colour, width and dashes, mm.
    """

    role: str
    run: str
    piece: str
    curve: Array
    closed: bool
    look: LineStyle


@dataclass(frozen=True, eq=False)
class DrawnText:
    """A text of the drawing.

    Attributes:
        role, run, piece: as for lines.
        rows: its lines, each with the place in mm where it begins, or where its middle is.
        size: of its letters, mm.
        middle: whether rows stand about their places.
        angle: by which it is turned, radians, clockwise as seen.
    """

    role: str
    run: str
    piece: str
    rows: tuple[tuple[str, Array], ...]
    size: float
    middle: bool
    angle: float = 0.0


def drawn_lines(drawing: Drawing) -> list[DrawnLine]:
    """The maker's outlines, then all lines in our layer but for its legend's, in document order.

    Raises:
        DrawingError: a line of ours can't be read.
    """
    root = parse_xml(drawing.source, drawing.name)
    pieces = drawing.pattern.pieces
    lines = [DrawnLine(OUTLINE, "", piece.name, piece.curve, piece.closed, _OUTLINE) for piece in pieces]
    for element in root.iter(f"{{{SVG}}}*"):
        if kind_of(element) in SHAPES and element.get("data-role") and not _in_legend(element) and is_seen(element):
            lines += _lines_of(drawing, root, element)
    return lines


def drawn_texts(drawing: Drawing) -> list[DrawnText]:
    """The texts of a drawing, the maker's and ours, in document order; what can't be placed is left out.

    So is the legend, which is about the sheet as it is and no part of what is on it.
    """
    root = parse_xml(drawing.source, drawing.name)
    seen = [one for one in root.iter(f"{{{SVG}}}text") if is_seen(one) and not _in_legend(one)]
    found = [_text_of(drawing, root, element) for element in seen]
    return [text for text in found if text is not None]


def chosen_lines(
    drawing: Drawing, show: Sequence[str] = (), hide: Sequence[str] = (), pieces: Sequence[str] = ()
) -> tuple[list[DrawnLine], list[DrawnText]]:
    """The lines and texts of the roles and pieces that are named.

    Args:
        drawing: the drawing.
        show: the roles that are wanted; all if none are named.
        hide: the roles that are not.
        pieces: names of pieces; all if none are named.

    Raises:
        NameUnknownError: the drawing has no such lines, or no such piece.
    """
    lines, texts = drawn_lines(drawing), drawn_texts(drawing)
    roles = dict.fromkeys([*(line.role for line in lines), *(text.role for text in texts)])
    for option, named in (("--show", show), ("--hide", hide)):
        for role in named:
            if role not in roles:
                raise NameUnknownError(f"{option} {role}: the drawing has no such lines; it has {', '.join(roles)}")
    wanted = {role for role in show or roles if role not in hide}
    names = {find_piece(drawing.pattern, name).name for name in pieces}
    return (
        [line for line in lines if line.role in wanted and (not names or line.piece in names)],
        [text for text in texts if text.role in wanted and (not names or text.piece in names)],
    )


def _in_legend(element: etree._Element) -> bool:
    return element.get("data-run") == LEGEND


def is_seen(element: etree._Element) -> bool:
    """Whether an element is drawn where it stands: neither hidden, nor kept for use elsewhere."""
    around = list(element.iterancestors())
    kept = any(kind_of(one) in NOT_DRAWN for one in around if isinstance(one.tag, str))
    return not kept and all(is_displayed(declared(one)) for one in (element, *around))


def to_mm(drawing: Drawing, root: etree._Element, element: etree._Element) -> Array:
    """The map from an element's own units to mm.

    Raises:
        DrawingError: a transform on the way can't be read.
    """
    units = root_viewport(root).units
    found = drawing.to_mm
    for one in (*reversed(list(element.iterancestors())), element):
        found = found if one is root else compose(found, element_map(declared(one), units))
    return found


def inherited(element: etree._Element, name: str) -> str:
    """A property of an element, or of the nearest one around it that has it."""
    return next((value for one in (element, *element.iterancestors()) if (value := declared(one).get(name))), "")


def font_size(parts: Sequence[etree._Element]) -> float:
    """The largest size of letters in a text and its parts, in user units."""
    own = [size for part in parts[1:] if (size := declared(part).get("font-size", ""))]
    sizes = [size for size in (inherited(parts[0], "font-size"), *own) if size[:1].isdigit() or size[:1] == "."]
    return max((svg_length(size).user(_LETTERS) for size in sizes), default=_LETTERS)


def anchor(parts: Sequence[etree._Element], axis: str) -> float:
    """Where a text begins: the first x or y that it or a part of it has."""
    words = next((value for part in parts if (value := part.get(axis))), "0").replace(",", " ").split()
    return svg_length(words[0] if words else "0").user(0.0)


def _lines_of(drawing: Drawing, root: etree._Element, element: etree._Element) -> Iterator[DrawnLine]:
    onto = to_mm(drawing, root, element)
    size = stretches(onto)[0]
    data = read_shape(kind_of(element), declared(element), root_viewport(root).units, _ACCURACY / max(size, 1e-12))
    role = element.get("data-role") or ""
    if data.problem:
        raise DrawingError(f"a {role} line of ours can't be read: {data.problem}")
    for sub in data.subpaths:
        curve = apply(onto, sub.curve)
        run, piece = element.get("data-run") or "", element.get("data-piece") or ""
        yield DrawnLine(role, run, piece, curve, sub.closed, _look(element, size))


def _look(element: etree._Element, unit_mm: float) -> LineStyle:
    """How a line looks as it stands in the drawing."""
    width = _number(inherited(element, "stroke-width"), 1.0)
    dashes = [_number(part, 0.0) for part in inherited(element, "stroke-dasharray").replace(",", " ").split()]
    told = tuple(dash * unit_mm for dash in dashes) if any(dashes) else ()
    return LineStyle(inherited(element, "stroke") or "#000000", width * unit_mm, told)


def _number(text: str, usual: float) -> float:
    try:
        return float(text.removesuffix("px"))
    except ValueError:
        return usual


def _text_of(drawing: Drawing, root: etree._Element, element: etree._Element) -> DrawnText | None:
    parts = [element, *element.iter(f"{{{SVG}}}tspan")]
    rows = [part for part in parts[1:] if part.get("y") and words_in(part)] or [element]
    if not words_in(rows[0]):
        return None
    try:
        onto, size = to_mm(drawing, root, element), font_size(parts)
        places = [[anchor([row, *parts], axis) for axis in "xy"] for row in rows]
    except DrawingError:
        return None
    around = {one.get("data-role") for one in (element, *element.iterancestors())} - {None}
    a, b = float(onto[0, 0]), float(onto[1, 0])
    return DrawnText(
        "label" if around else OUTLINE,
        element.get("data-run") or "",
        element.get("data-piece") or "",
        tuple((words_in(row), apply(onto, np.array(place))) for row, place in zip(rows, places, strict=True)),
        size * float(np.hypot(a, b)),
        inherited(element, "text-anchor") == "middle",
        float(np.arctan2(b, a)),
    )
