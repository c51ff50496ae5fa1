"""What a drawing shows, ours and the maker's, in mm: lines with their look, and texts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from lxml import etree

from ..errors import DrawingError, NameUnknownError, RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.motion import apply, compose
from ..geometry.winding import winding
from ..pattern.edge import find_piece
from ..pattern.grain import grain_of
from ..pattern.marks import snap
from ..pattern.piece import Mark, Piece
from .drawing import Drawing
from .kept import LEGEND
from .markup import BROKEN, SVG
from .names import kind_of, words_in
from .presentation import declared, is_displayed
from .shapes import read_shape
from .source import parse_xml
from .styles import CLEAR, GREY, LINES, LineStyle
from .transforms import element_map, stretches
from .units import svg_length
from .viewport import root_viewport

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
# What holds things that are drawn elsewhere, or never.
NOT_DRAWN = frozenset({"defs", "symbol", "clipPath", "mask", "marker", "pattern"})
# The role of the maker's own outlines and texts, which bear none.
OUTLINE = "outline"
# Where a text stands to its place: https://www.w3.org/TR/SVG2/text.html#TextAnchorProperty
START, MIDDLE, END = "start", "middle", "end"
# What of a text lies before its place.
BEFORE = {START: 0.0, MIDDLE: 0.5, END: 1.0}

# The size of letters that is not told, user units.
# https://www.w3.org/TR/css-fonts-4/#font-size-prop
_LETTERS = 16.0
# Of what arcs may be off, mm.
_ACCURACY = 1e-5
# How the maker's outlines are shown: thin and grey, so that nobody takes them for what is cut, nor for a fold on them.
_OUTLINE = LineStyle(GREY, 0.25)
# The role of the maker's marks: a small cross with its name.
MARK = "mark"
_MARK = LineStyle("#000000", 0.35)
# Heads of the maker's grain lines, half a mark's cross, and the letters of its name, mm.
_HEAD, _CROSS, _LETTERED = 4.0, 2.0, 3.0


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
        anchor: whether rows begin at their places (START), stand about them (MIDDLE), or end there (END).
        angle: by which it is turned, radians, clockwise as seen.
    """

    role: str
    run: str
    piece: str
    rows: tuple[tuple[str, Array], ...]
    size: float
    anchor: str
    angle: float = 0.0


@dataclass(frozen=True, eq=False)
class Drawn:
    """All lines and texts of a drawing."""

    lines: tuple[DrawnLine, ...]
    texts: tuple[DrawnText, ...]


def drawn_lines(drawing: Drawing) -> list[DrawnLine]:
    """The maker's outlines, then all lines in our layer but for its legend's, in document order.

    What is drawn in white under a fold is none: whoever draws folds clears them in his own way.

    Raises:
        DrawingError: a line of ours can't be read.
    """
    root = parse_xml(drawing.source, drawing.name)
    pieces = drawing.pattern.pieces
    lines = [line for piece in pieces for line in _makers(drawing, piece)]
    for mark, piece in _marks(drawing):
        x, y = mark.x, mark.y
        for a, b in (((x - _CROSS, y), (x + _CROSS, y)), ((x, y - _CROSS), (x, y + _CROSS))):
            lines.append(DrawnLine(MARK, "", piece, cubics.lines([a, b]), False, _MARK))
    for element in root.iter(f"{{{SVG}}}*"):
        ours = element.get("data-role") not in (None, "", CLEAR) and not _in_legend(element)
        if ours and kind_of(element) in SHAPES and is_seen(element):
            lines += _lines_of(drawing, root, element)
    return lines


def drawn_texts(drawing: Drawing) -> list[DrawnText]:
    """The texts of a drawing, the maker's and ours, in document order; what can't be placed is left out.

    So is the legend, which is about the sheet as it is and no part of what is on it.
    """
    root = parse_xml(drawing.source, drawing.name)
    seen = [one for one in root.iter(f"{{{SVG}}}text") if is_seen(one) and not _in_legend(one)]
    found = [text_of(drawing, root, element) for element in seen]
    beside = np.array([_CROSS, -_CROSS])
    marks = [
        DrawnText(MARK, "", piece, ((mark.name, np.array([mark.x, mark.y]) + beside),), _LETTERED, START)
        for mark, piece in _marks(drawing)
    ]
    return [*(text for text in found if text is not None and not _is_mark(drawing, text)), *marks]


def _is_mark(drawing: Drawing, text: DrawnText) -> bool:
    """Whether a text of the maker's is one of the marks, which are shown by themselves."""
    words, place = text.rows[0]
    return text.role == OUTLINE and any(
        mark.name == words and abs(mark.x - place[0]) + abs(mark.y - place[1]) < 1e-6 for mark in drawing.pattern.marks
    )


def drawn(drawing: Drawing) -> Drawn:
    """All lines and texts of a drawing."""
    return Drawn(tuple(drawn_lines(drawing)), tuple(drawn_texts(drawing)))


def chosen_lines(
    drawing: Drawing,
    show: Sequence[str] = (),
    hide: Sequence[str] = (),
    pieces: Sequence[str] = (),
    everything: Drawn | None = None,
) -> tuple[list[DrawnLine], list[DrawnText]]:
    """The lines and texts of the roles and pieces that are named.

    Args:
        drawing: the drawing.
        show: the roles that are wanted; all if none are named.
        hide: the roles that are not.
        pieces: names of pieces; all if none are named.
        everything: all lines and texts, where they were read before.

    Raises:
        NameUnknownError: the drawing has no such lines, or no such piece.
    """
    everything = everything or drawn(drawing)
    lines, texts = everything.lines, everything.texts
    roles = dict.fromkeys([*(line.role for line in lines), *(text.role for text in texts)])
    for option, named in (("--show", show), ("--hide", hide)):
        for role in named:
            if role not in roles:
                raise NameUnknownError(f"{option} {role}: the drawing has no such lines; it has {', '.join(roles)}")
    wanted = {role for role in show or roles if role not in hide}
    chosen = [_piece_called(drawing, name) for name in pieces]
    names = {piece.name for piece in chosen}

    def inside(place: Array) -> bool:
        return any(piece.closed and winding(piece.curve, place[None])[0] != 0 for piece in chosen)

    def belongs(role: str, piece: str, place: Array) -> bool:
        # Darts, pockets and words of the maker's bear no piece's name: what lies in a piece goes with it.
        return not names or piece in names or (role in (OUTLINE, MARK, "grain") and inside(place))

    return (
        [line for line in lines if line.role in wanted and belongs(line.role, line.piece, line.curve[0, 0])],
        [text for text in texts if text.role in wanted and belongs(text.role, text.piece, text.rows[0][1])],
    )


def _piece_called(drawing: Drawing, name: str) -> Piece:
    try:
        return find_piece(drawing.pattern, name)
    except (NameUnknownError, RequestError) as error:
        raise type(error)(f"--piece {name}: {error}") from None


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
    return max((_letters(size) for size in sizes), default=_LETTERS)


def _letters(size: str) -> float:
    """A size of letters in user units; one that goes by those around it goes by the usual ones."""
    for ending, share in (("rem", 1.0), ("em", 1.0), ("%", 0.01), ("ex", 0.5)):
        if size.endswith(ending):
            return share * _LETTERS * _number(size.removesuffix(ending), 1.0 / share)
    return svg_length(size).user(_LETTERS)


def anchor(parts: Sequence[etree._Element], axis: str) -> float:
    """Where a text begins: the first x or y that it or a part of it has."""
    words = next((value for part in parts if (value := part.get(axis))), "0").replace(",", " ").split()
    return svg_length(words[0] if words else "0").user(0.0)


def _marks(drawing: Drawing) -> Iterator[tuple[Mark, str]]:
    """The maker's marks, each with the name of the first piece on whose outline it lies."""
    for mark in drawing.pattern.marks:
        yield mark, next((piece.name for piece in drawing.pattern.pieces if snap(piece, (mark,))), "")


def _makers(drawing: Drawing, piece: Piece) -> Iterator[DrawnLine]:
    """An outline of the maker's; a grain line as such, with a head at either end."""
    owner = next((one.name for one in drawing.pattern.pieces if _is_grain_of(drawing, one, piece)), None)
    if owner is None:
        yield DrawnLine(OUTLINE, "", piece.name, piece.curve, piece.closed, _OUTLINE)
        return
    ends = piece.curve[0, 0], piece.curve[-1, 3]
    yield DrawnLine("grain", "", owner, piece.curve, False, LINES["grain"])
    solid = LineStyle(LINES["grain"].colour, LINES["grain"].width_mm)
    for end, other in (ends, ends[::-1]):
        way = (other - end) / float(np.hypot(*(other - end)))
        back, beside = _HEAD * way, 0.35 * _HEAD * cubics.left(way)
        yield DrawnLine("grain", "", owner, cubics.lines([end + back + beside, end, end + back - beside]), False, solid)


def _is_grain_of(drawing: Drawing, piece: Piece, line: Piece) -> bool:
    """Whether a line is the grain line of a piece."""
    found = None if line.closed else grain_of(drawing.pattern, piece)
    return found is not None and bool(np.abs(found - [line.curve[0, 0], line.curve[-1, 3]]).max() < 1e-9)


def _lines_of(drawing: Drawing, root: etree._Element, element: etree._Element) -> Iterator[DrawnLine]:
    onto = to_mm(drawing, root, element)
    size = stretches(onto)[0]
    within = _ACCURACY / max(size, 1e-12)
    data = read_shape(kind_of(element), declared(element), root_viewport(root).units, within, few=True)
    role = "placement" if element.get(BROKEN) is not None else element.get("data-role") or ""
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


def text_of(drawing: Drawing, root: etree._Element, element: etree._Element) -> DrawnText | None:
    """A text with its places, or None if it has no words, runs along a path, or can't be placed."""
    if element.find(f".//{{{SVG}}}textPath") is not None:
        return None
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
        next((kind for kind in (MIDDLE, END) if inherited(element, "text-anchor") == kind), START),
        float(np.arctan2(b, a)),
    )
