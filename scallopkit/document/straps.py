"""Straps, bands, bindings and cords: from the maker's words to pieces beside the pattern, and what is told of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from ..construction.cautions import cautions, checked_wearer
from ..construction.straps import (
    BIAS,
    CORD,
    ENDS,
    FOLDS,
    JOIN,
    SEAM,
    TAIL,
    Broken,
    Making,
    StrapPiece,
    broken_cord,
    broken_off,
    cut_length,
    strap_folds,
    strap_outline,
    strap_pieces,
)
from ..construction.strip import band_length
from ..errors import NameUnknownError, RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..pattern.edge import find_edge
from ..pattern.piece import Warn
from .beside import Item, free_places, taken_by_others
from .caution_notes import caution_lines, note_element, note_extent
from .drawing import Drawing
from .group import empty_group
from .ink import Ink
from .kept import run_groups, strap_group_name
from .layer import replace_groups
from .lettering import one_line, text_extent
from .markup import BROKEN, CLEAR
from .reader import read_drawing
from .recipe import StrapRecipe, StrapWords, strap_to_text
from .runs import Run
from .sheet import opened
from .tables import table
from .units import parse_length
from .wishes import one_of, refuse_unwritable, whole_number, yes

# Letters of labels, mm: as large as there is room for, up to the first and no smaller than the second.
_LABEL, _LEAST_LABEL = 7.0, 2.5
# Longer straps, mm, are drawn with a break mark, so long; and so long are cords.
_LONGEST_DRAWN, _BROKEN, _CORD = 2000.0, 600.0, 300.0
# Straps stand a little farther from other things than these from each other, mm, and see them where they are written,
# so that whatever rounding does to what is written, each finds the same place again.
_MARGIN, _WRITTEN = 11.0, 2
_PLACES = 6


@dataclass(frozen=True, eq=False)
class MadeStrap:
    """A strap, ready to be cut.

    Attributes:
        recipe: what was asked for.
        length: its finished length, mm.
        number: how many are cut.
        making: how it is made.
        pieces: the pieces of one, alike ones together.
        cautions: where it can hurt someone.
    """

    recipe: StrapRecipe
    length: float
    number: int
    making: Making
    pieces: tuple[StrapPiece, ...]
    cautions: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What it is called."""
        return self.recipe.words.name

    def drawn(self, piece: StrapPiece) -> float:
        """How long a piece is drawn, mm: less than it is cut where it is drawn with a break mark."""
        if self.making.fold == CORD:
            return min(piece.cut, _CORD)
        return piece.cut if piece.cut <= _LONGEST_DRAWN else _BROKEN

    @property
    def broken(self) -> bool:
        """Whether any of it is drawn shorter than it is cut."""
        return any(self.drawn(piece) < piece.cut for piece in self.pieces)

    @property
    def total(self) -> float:
        """How much is cut for all of them, mm."""
        return self.number * sum(piece.number * piece.cut for piece in self.pieces)


def made_strap(drawing: Drawing, words: StrapWords, run_called: Callable[[str], Run | None]) -> MadeStrap:
    """A strap.

    Args:
        drawing: the drawing.
        words: what is asked for.
        run_called: gives the run of a name, None where there is none.

    Raises:
        ScallopkitError: a word can't be read or names nothing, or it can't be cut so.
    """
    named = words.name or f"{words.along} strap".strip()
    for option, text in (("--name", named), ("--cloth", words.cloth)):
        refuse_unwritable(text, option)
    if bool(words.length) == bool(words.along):
        raise RequestError("say how long the strap is: give --length, or --along an edge or a run, one of the two")
    making = _making(words)
    length, times = parse_length(words.length, "--length", "positive") if words.length else 0.0, 1
    if words.along:
        length, times = _along(drawing, words.along, run_called, making.fold)
    at_window = yes(words.window, "--window")
    wearer = checked_wearer(words.wearer, "--wearer")
    told = cautions(cord=making.fold == CORD and not at_window, window=at_window, wearer=wearer)
    number = whole_number(words.number, "--number") or times
    recipe = StrapRecipe(replace(words, name=named), {"length_mm": round(length, _PLACES)})
    return MadeStrap(recipe, length, number, making, strap_pieces(length, making), told)


def _making(words: StrapWords) -> Making:
    fold = one_of(words.fold, FOLDS, "--fold")
    if not words.width and fold != CORD:
        raise RequestError("say how wide the strap is when it is finished: --width 30mm")
    if fold == CORD and (words.seam or words.joins or words.longest):
        raise RequestError("a cord is bought in one length: leave out --seam, --joins and --longest")
    # Of a cord only the length is told; how thick it is matters where it is threaded.
    width = parse_length(words.width, "--width", "positive") if words.width else 0.0
    # The edges of a binding are turned in to its middle.
    seam, ends = {BIAS: (width, ENDS), CORD: (0.0, TAIL)}.get(fold, (SEAM, ENDS))
    return Making(
        fold,
        width,
        parse_length(words.seam, "--seam", "not-negative") if words.seam else seam,
        parse_length(words.ends, "--ends", "not-negative") if words.ends else ends,
        parse_length(words.joins, "--joins", "not-negative") if words.joins else JOIN,
        parse_length(words.longest, "--longest", "positive") if words.longest else math.inf,
    )


def _along(drawing: Drawing, name: str, run_called: Callable[[str], Run | None], fold: str) -> tuple[float, int]:
    """The length along a run or an edge, opened where it is folded, and how often it is sewn.

    A binding follows the scallops of a run, everything else its edge.
    """
    run = run_called(name)
    if run is None:
        try:
            return find_edge(drawing.pattern, name).measured.length, 1
        except NameUnknownError as error:
            raise NameUnknownError(f'no run is called "{name}", and as an edge it is unknown: {error}') from None
    sides = opened(run.laid)
    scalloped = fold == BIAS and run.scallops is not None
    return sides * (band_length(run.line) if scalloped else run.laid.line.measured.length), run.copies // sides


# ---------------------------------------------------------------- in the drawing


@dataclass(frozen=True, eq=False)
class _Shape:
    """A piece as it is drawn: its lines with their roles, the label's middle, size and text, and cautions below it."""

    low: Array
    high: Array
    lines: tuple[tuple[str, Array], ...]
    at: Array
    size: float
    label: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    below: Array | None = None


def with_straps(source: bytes, name: str, made: Sequence[MadeStrap]) -> bytes:
    """A drawing's bytes with straps put in, each as a group of its own in free places.

    Args:
        source: the drawing, with its runs and cut pieces as they are now.
        name: its name, for messages.
        made: the straps.

    Raises:
        RequestError: a run is called as the group of a strap is.
    """
    if not made:
        return source
    drawing, groups = read_drawing(source, name), {}
    for strap in made:
        if strap_group_name(strap.name) in (group.name for group in run_groups(source)):
            called = strap_group_name(strap.name)
            raise RequestError(f'"{called}" is what a run is called: give the strap "{strap.name}" another --name')
    for strap, shapes in _placed(drawing, made):
        ink = Ink(strap_group_name(strap.name), drawing)
        group = empty_group(ink.name, strap_to_text(strap.recipe))
        for shape, shift in shapes:
            moved = motion.moved(float(shift[0]), float(shift[1]))
            for role, line in shape.lines:
                closed = bool((line[0, 0] == line[-1, 3]).all())
                group.append(ink.line(role, motion.apply(moved, line), strap.name, closed=closed))
                if role == "cutting" and not closed:
                    group[-1].set(BROKEN, "yes")
            if strap.making.fold == BIAS:
                group.append(ink.line("grain", motion.apply(moved, _bias(shape)), strap.name))
            group.append(ink.text(shape.label, shape.at + shift, shape.size, strap.name))
            if shape.below is not None:
                group[-1].set(CLEAR, "yes")
                group.append(note_element(ink, shape.cautions, shape.below + shift, strap.name))
        groups[ink.name] = group
    return replace_groups(source, groups)


def straps_off_page(source: bytes, name: str, made: Sequence[MadeStrap]) -> list[Warn]:
    """A warning for each strap for which the page of a drawing, written with them, had no room."""
    drawing, out = read_drawing(source, name), []
    if drawing.size_mm is None:
        return []
    for strap, shapes in _placed(drawing, made):
        high = np.max([shape.high + shift for shape, shift in shapes], axis=0)
        if (high > np.array(drawing.size_mm) + 1.0).any():
            width, height = np.maximum(high, np.array(drawing.size_mm))
            text = f'the strap "{strap.name}" found no room on the page: make it {math.ceil(width)} by '
            out.append(Warn("off-page", f"{text}{math.ceil(height)} mm in the editor"))
    return out


def _placed(drawing: Drawing, made: Sequence[MadeStrap]) -> list[tuple[MadeStrap, list[tuple[_Shape, Array]]]]:
    """The straps with their pieces and how far each is moved, mm."""
    taken = taken_by_others(drawing, [strap_group_name(strap.name) for strap in made])
    taken = [(np.round(low, _WRITTEN), np.round(high, _WRITTEN)) for low, high in taken]
    shapes = [(strap, shape) for strap in made for shape in _shapes(strap)]
    shifts = free_places(drawing, taken, [Item(shape.low, shape.high) for _, shape in shapes], _MARGIN)
    own: dict[str, list[tuple[_Shape, Array]]] = {strap.name: [] for strap in made}
    for (strap, shape), shift in zip(shapes, shifts, strict=True):
        own[strap.name].append((shape, shift))
    return [(strap, own[strap.name]) for strap in made]


def _shapes(strap: MadeStrap) -> list[_Shape]:
    shapes = [_cord(strap) if strap.making.fold == CORD else _shape(strap, piece) for piece in strap.pieces]
    if not strap.cautions:
        return shapes
    return [_with_cautions(shapes[0], strap.cautions), *shapes[1:]]


def _with_cautions(shape: _Shape, told: Sequence[str]) -> _Shape:
    """A piece with cautions written below it."""
    lines, below = caution_lines(told), np.array([shape.low[0], shape.high[1] + 0.5 * _LABEL])
    return replace(shape, high=np.maximum(shape.high, below + note_extent(lines)), cautions=lines, below=below)


def _shape(strap: MadeStrap, piece: StrapPiece) -> _Shape:
    making, drawn = strap.making, strap.drawn(piece)
    if drawn == piece.cut:
        whole, folds = strap_outline(piece, making), strap_folds(piece, making)
        lines = [("cutting", whole), *(("fold", fold) for fold in folds)]
    else:
        lines = _broken_lines("cutting", broken_off(piece, making, drawn))
    boxes = np.array([cubics.bounds(line) for role, line in lines if role == "cutting"])
    low, high = boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
    # The label stands in the widest room between two folds, before a break.
    heights = [0.0, *making.folds, making.cut_width]
    rooms = [(b - a, 0.5 * (a + b)) for a, b in pairwise(heights)]
    room, middle = max(rooms, key=lambda one: (round(one[0], _PLACES), -one[1]))
    text = _label(strap, piece)
    width, _ = text_extent((text,), 1.0)
    long, share = (piece.length, 0.5) if drawn == piece.cut else (0.35 * drawn, 0.3)
    size = max(_LEAST_LABEL, min(_LABEL, 0.6 * room, 0.9 * long / width))
    at = np.array([low[0] + share * (high[0] - low[0]), middle + 0.35 * size])
    return _Shape(low, high, tuple(lines), at, size, (text,))


def _cord(strap: MadeStrap) -> _Shape:
    """A cord as a line, below its label; with a break mark where it is longer than that."""
    (piece,) = strap.pieces
    text, long = _label(strap, piece), strap.drawn(piece)
    width, height = text_extent((text,), _LABEL)
    if long < piece.cut:
        lines = _broken_lines("cord", broken_cord(long))
    else:
        lines = [("cord", cubics.lines([(0.0, 0.0), (long, 0.0)]))]
    boxes = np.array([cubics.bounds(line) for _, line in lines])
    low, high = boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
    at = np.array([0.5 * width, low[1] - 0.5 * _LABEL])
    corner = np.array([0.0, low[1] - height - 0.5 * _LABEL])
    return _Shape(corner, np.maximum(high, np.array([width, 0.0])), tuple(lines), at, _LABEL, (text,))


def _broken_lines(role: str, broken: Broken) -> list[tuple[str, Array]]:
    """The lines of what is broken off, with their roles."""
    ends = [(role, line) for line in broken.outlines]
    return [*ends, *(("fold", fold) for fold in broken.folds), *(("placement", line) for line in broken.breaks)]


def _bias(shape: _Shape) -> Array:
    """The grain of what is cut on the bias: across the piece at 45 degrees, beside its label."""
    high = float(shape.high[1])
    x = float(shape.low[0]) + 0.1 * float(shape.high[0] - shape.low[0]) + 0.5 * high
    return cubics.lines([(x, 0.9 * high), (x + 0.8 * high, 0.1 * high)])


def _label(strap: MadeStrap, piece: StrapPiece) -> str:
    count = strap.number * piece.number
    size = f"{piece.cut:.0f} mm" if strap.making.fold == CORD else f"{piece.cut:.0f} x {strap.making.cut_width:g} mm"
    cloth = (one_line(strap.recipe.words.cloth),) if strap.recipe.words.cloth else ()
    shorter = ("drawn shorter",) if strap.drawn(piece) < piece.cut else ()
    return ", ".join((one_line(strap.name), f"cut {count}", size, *cloth, *shorter))


# ---------------------------------------------------------------- told


def strap_entry(made: MadeStrap) -> dict[str, Any]:
    """What the report says of a strap; lengths in mm."""
    making = made.making
    return {
        "name": made.name,
        "along": made.recipe.words.along,
        "fold": making.fold,
        "number": made.number,
        "length_mm": round(made.length, _PLACES),
        "width_mm": round(making.width, _PLACES),
        "ends_mm": round(making.ends, _PLACES),
        "seam_mm": round(making.seam, _PLACES),
        "cut_length_mm": round(cut_length(made.length, making), _PLACES),
        "cut_width_mm": round(making.cut_width, _PLACES),
        "pieces": [
            {"number": piece.number, "length_mm": round(piece.length, _PLACES), "cut_mm": round(piece.cut, _PLACES)}
            for piece in made.pieces
        ],
        "joins": sum(piece.number for piece in made.pieces) - 1,
        "total_mm": round(made.total, _PLACES),
        "drawn": made.making.fold != CORD and not made.broken,
        "broken": made.broken,
        "cautions": list(made.cautions),
    }


def strap_table(made: Sequence[MadeStrap], terminal: bool) -> str:
    """Straps as a table."""
    rows = [
        (
            strap.name,
            strap.making.fold,
            f"{strap.length:.1f}",
            " + ".join(f"{f'{piece.number} x ' if piece.number > 1 else ''}{piece.cut:.1f}" for piece in strap.pieces),
            "" if strap.making.fold == CORD else f"{strap.making.cut_width:g}",
            str(strap.number),
            f"{strap.total:.0f}",
        )
        for strap in made
    ]
    head = ("strap", "fold", "length mm", "cut mm", "cut width mm", "number", "all together mm")
    shorter = [
        f"{strap.name}: drawn shorter, with a break mark; cut it by its figures" for strap in made if strap.broken
    ]
    return "\n".join([table(head, rows, terminal=terminal), *shorter])
