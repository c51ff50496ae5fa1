"""The names of pieces, corners and ends written beside them, so that edges can be told by name."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from lxml import etree

from ..document.drawing import Drawing
from ..document.group import empty_group
from ..document.ink import Ink
from ..document.layer import replace_groups
from ..document.recipe import NOTES, note_to_text
from ..document.roomy import roomiest
from ..document.surveying import NO_SEAMS
from ..document.units import parse_length
from ..geometry import cubics
from ..geometry.cubics import Array
from ..pattern.corners import corners
from ..pattern.piece import Piece
from ..pattern.survey import Survey, survey
from .effect import Done
from .told import warning_lines

# What the group of names is called.
NAME = NOTES[1]
# How far a name stands from its corner, in sizes of its letters.
_OFF = 1.2


def surveyed(drawing: Drawing, show: bool, size: str) -> Done:
    """The drawing with names beside its pieces, corners and ends, or without them, and what it holds.

    Args:
        drawing: the drawing.
        show: whether names are written; else those that are there are taken out.
        size: how high letters are.

    Raises:
        ScallopkitError: the size is no length above 0.
    """
    height = parse_length(size, "the size of letters", "positive")
    found = survey(drawing.pattern)
    if not show:
        return Done(replace_groups(drawing.source, {}, remove=(NAME,)), _lines(drawing, found))
    ink, group = Ink(NAME, drawing), empty_group(NAME, note_to_text())
    for piece in drawing.pattern.pieces:
        group.extend(_names(ink, piece, height))
    return Done(replace_groups(drawing.source, {NAME: group}), _lines(drawing, found))


def _names(ink: Ink, piece: Piece, height: float) -> Iterator[etree._Element]:
    """A piece's own name in its roomiest place, or along an open line, and those of its corners or ends outside."""
    middle = roomiest(piece.curve) if piece.closed else _beside(piece, *_halfway(piece), 2.0 * height)
    yield ink.text((piece.name,), middle, 1.5 * height, piece.name)
    places = [(corner.name, corner.node, 0.0) for corner in corners(piece.curve, piece.closed)]
    if not piece.closed:
        places += [("start", 0, 0.0), ("end", len(piece.curve) - 1, 1.0)]
    for name, segment, t in places:
        # Letters are about 0.7 of their size high, and stand on their line.
        at = _beside(piece, segment, t, _OFF * height) + np.array([0.0, 0.35 * height])
        yield ink.text((name,), at, height, piece.name)


def _halfway(piece: Piece) -> tuple[int, float]:
    return len(piece.curve) // 2, 0.0 if len(piece.curve) > 1 else 0.5


def _beside(piece: Piece, segment: int, t: float, away: float) -> Array:
    """A place so far from a place of an outline: outside a closed one, to the left of an open one."""
    place = cubics.point(piece.curve, np.array([segment]), np.array([t]))[0]
    onward = cubics.direction(piece.curve, np.array([segment]), np.array([t]))[0]
    before = cubics.direction(piece.curve, np.array([segment - 1]), np.array([1.0]))[0]
    along = onward if t or (not piece.closed and segment == 0) else onward + before
    size = float(np.hypot(*along))
    out = cubics.left(along / size) if size > 1e-6 else onward
    sign = 1.0 if not piece.closed or cubics.area(piece.curve) > 0.0 else -1.0
    return np.asarray(place + sign * away * out)


def _lines(drawing: Drawing, found: Survey) -> list[str]:
    lines = []
    for piece in found.pieces:
        named = [corner.name for corner in piece.corners]
        between = f", corners {named[0]} to {named[-1]}" if len(named) > 1 else ""
        kind = "closed" if piece.closed else "open"
        lines.append(f"{piece.name}: {kind}, {piece.width:.1f} by {piece.height:.1f} mm{between}")
    lines += [
        f"perhaps a {join.kind}: {' + '.join(join.first_parts)}, {join.first_length:.1f} mm, "
        f"with {' + '.join(join.second_parts)}, {join.second_length:.1f} mm"
        for join in found.joins
    ]
    lines += [NO_SEAMS] * found.lacks_seams
    lines += [f"left aside: {one.what}, {one.why}" for one in drawing.pattern.skipped]
    return [*lines, *warning_lines(found.warnings)]
