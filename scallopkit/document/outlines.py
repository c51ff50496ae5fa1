"""Outlines as read to pieces: in mm, joined up, named, with what there is to say about each."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from lxml import etree

from ..errors import DrawingError
from ..geometry.cubics import Array, area, bounds
from ..geometry.motion import apply
from ..geometry.winding import winding
from ..pattern.piece import Piece, Warn
from .names import Namer, described, id_of
from .path_data import PathData

# Ends nearer than this, in mm, are one point.
CLOSING_GAP = 1e-3
# Further from the origin than this, in mm, nothing is drawn on purpose.
REACH = 1e6
_LIKELY = (20.0, 10_000.0)
# What is shorter than this, in mm, is rounding.
_ROUNDING = 1e-6


@dataclass(frozen=True, eq=False)
class Outline:
    """What one element draws, in mm, and the element that it is named after."""

    element: etree._Element
    data: PathData
    stopped: Array | None


def in_mm(curve: Array, to_mm: Array, named: etree._Element) -> Array:
    """The curve in mm, its segments still joined to the last bit.

    Raises:
        DrawingError: it lies beyond all measure.
    """
    out = apply(to_mm, curve)
    if not np.abs(out).max() <= REACH:
        raise DrawingError(f"{described(named)} has points more than 1 km away; check its numbers and transforms")
    out[1:, 0] = out[:-1, 3]
    return out


def pieces_of(outlines: list[Outline]) -> tuple[tuple[Piece, ...], list[Warn]]:
    """Pieces with their names, in document order, and what there is to say about them."""
    namer = Namer(outline.element for outline in outlines)
    pieces: list[Piece] = []
    warnings: list[Warn] = []
    for outline in outlines:
        first = len(pieces)
        for sub in outline.data.subpaths:
            names = namer.names(outline.element)
            curve, closed, gap = _joined_up(sub.curve, sub.closed)
            nodes = sub.nodes % len(curve) if closed and sub.nodes is not None else sub.nodes
            pieces.append(Piece(names[0], names, curve, closed, nodes, element=id_of(outline.element)))
            if closed and (not sub.closed or gap > _ROUNDING):
                code = "zero-length" if sub.closed else "closed-without-z"
                warnings.append(Warn(code, _about_gap(names[0], sub.closed, gap), names[0], *map(float, curve[0, 0])))
        pieces[first:] = _with_holes(pieces[first:])
        warnings += about_data(outline, pieces[first].name)
    for name, other in namer.shared:
        message = f"two pieces are called {name!r}; the later one answers to {other!r} only"
        warnings.append(Warn("same-name", message, other))
    return tuple(pieces), warnings


def _with_holes(lines: list[Piece]) -> list[Piece]:
    """The lines of one element, of which every second one inside others bounds a hole (as the rule evenodd has it)."""
    closed = [one for one in lines if one.closed]
    if len(closed) < 2:
        return lines
    out = []
    for one in lines:
        outer = [other for other in closed if other is not one and winding(other.curve, one.curve[:1, 0])[0] != 0]
        hole = one.closed and len(outer) % 2 == 1
        # The nearest of those round it is the least.
        least = min(outer, key=lambda other: abs(area(other.curve)), default=None) if hole else None
        out.append(one if least is None else replace(one, around=least.curve))
    return out


def _about_gap(name: str, closed: bool, gap: float) -> str:
    if closed:
        return f"{name}: a closing line of {gap:.2g} mm left out"
    apart = f"within {gap:.2g} mm of" if gap else "at"
    return f"{name} ends {apart} its start without being closed and is taken as closed; close it in the editor"


def _joined_up(curve: Array, closed: bool) -> tuple[Array, bool, float]:
    """The curve with ends nearer than the closing gap made one, whether it is closed, and how far apart they were."""
    if closed and len(curve) > 1 and float(np.abs(curve[-1] - curve[0, 0]).max()) <= CLOSING_GAP:
        # The closing line of Z only makes up for rounded coordinates: it would give a false corner.
        curve = curve[:-1]
    apart = curve[0, 0] - curve[-1, 3]
    gap = float(np.hypot(*apart))
    if not closed and (gap > CLOSING_GAP or float(np.abs(curve - curve[0, 0]).max()) <= 10.0 * CLOSING_GAP):
        return curve, False, gap
    out = curve.copy()
    out[-1, 2] += apart
    out[-1, 3] = out[0, 0]
    return out, True, gap


def about_data(outline: Outline, name: str) -> list[Warn]:
    """What broke off the element's data, and what was left out of them."""
    out = []
    at = (None, None) if outline.stopped is None else tuple(map(float, outline.stopped))
    if outline.data.problem:
        message = f"{name} is drawn only up to a fault in its data: {outline.data.problem}"
        out.append(Warn("path-error", message, name, *at))
    count = outline.data.dropped
    if count and outline.data.subpaths:
        plural = "s" if count > 1 else ""
        out.append(Warn("zero-length", f"{name}: {count} segment{plural} without length left out", name))
    return out


def about_size(pieces: tuple[Piece, ...]) -> list[Warn]:
    """A warning where all pieces together are no pattern's size."""
    if not pieces:
        return []
    low, high = bounds(np.concatenate([piece.curve for piece in pieces]))
    size = float((high - low).max())
    if _LIKELY[0] <= size <= _LIKELY[1]:
        return []
    return [
        Warn("unlikely-size", f"all pieces together are {size:.4g} mm large; check the drawing's width and viewBox")
    ]
