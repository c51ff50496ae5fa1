"""The lines of two matched edges on the sheet: of pleats and darts, rows of gathering stitches, and edited edges."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..construction.matching import EDIT, GATHERS, Anchor, Matched
from ..construction.pleats import DARTS, Tuck
from ..errors import NoFitError, RequestError
from ..geometry import motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from ..pattern.grain import grain_of
from ..pattern.piece import Piece
from ..trim.notches import square_out
from .drawing import Drawing
from .match_words import GRAIN
from .sheet import to_sheet

if TYPE_CHECKING:
    from .matches import MadeMatch, Place, Side

# Looks of lines, as `styles` has them.
LAID, FOLDED, GATHER, EDITED = "pleat", "pleat-fold", "gather", "placement"

# The first row of gathering stitches stands so far outside the stitching line, mm; common practice, no source. The
# second stands 1/4 in further: ruffles, Utah State University Extension (docslib.org/doc/6241555).
_FIRST_ROW, _ROW_APART = 3.0, 6.35
# So much cloth is left outside the second row, mm, and narrower allowances take no row; common practice, no source.
_LEFT, _LEAST_ALLOWANCE = 2.0, 3.0
# Where allowances are measured, as shares of a stretch: off its ends, beside which other sides are cut.
_SHARES = np.linspace(0.2, 0.8, 7)
# The grain is followed where it leaves the edge by more than this share of a right angle.
_LEAST_SLANT = 0.1
# Places closer than this along an edge, mm, are one.
_SAME = 1e-6


@dataclass(frozen=True, eq=False)
class MatchLine:
    """A line of a pleat, a dart or an edit on the sheet.

    Attributes:
        look: LAID where the cloth is sewn or a fold is laid, FOLDED where it is folded, EDITED where an edge will end.
        piece: the piece.
        points: its corners (k, 2), mm; the first lies on the edge, and of a dart's legs the last too.
        arrow: whether it is part of an arrow.
    """

    look: str
    piece: Piece
    points: Array
    arrow: bool = False


@dataclass(frozen=True, eq=False)
class GatherRow:
    """A row of gathering stitches on the sheet, so far outside the stitching line, mm."""

    piece: Piece
    curve: Array
    off: float


@dataclass(frozen=True)
class EditedEnd:
    """What an edit takes off an end of the longer edge.

    Attributes:
        anchor: the end.
        off: how much, mm.
        u: where the edge will end, mm along it from the start of the stretch.
    """

    anchor: Anchor
    off: float
    u: float


def match_lines(drawing: Drawing, made: MadeMatch) -> list[MatchLine]:
    """The fold lines, placement lines and arrows of all pleats, the legs and folds of darts, and edited ends.

    Raises:
        RequestError, NoFitError: they should follow a grain that is not drawn, or that runs along the edge.
    """
    out: list[MatchLine] = []
    for one in made.pairs:
        side = made.long_side(one)
        for pleat in one.pleats:
            lines: list[MatchLine] = []
            for tuck in pleat.tucks:
                lay = [side.place(made.on_long(one, u)) for u in (tuck.fold, tuck.placement)]
                if all(place.drawn for place in lay):
                    lines += _dart(made, side, one, tuck) if one.kind == DARTS else _folds(drawing, made, tuck, lay)
            # Both folds of an inverted pleat are laid on one line.
            out += [line for k, line in enumerate(lines) if not any(_alike(line, other) for other in lines[:k])]
        for end in edited_ends(made, one):
            place = side.place(made.on_long(one, end.u))
            if place.drawn:
                far = place.point + made.how.length * place.inward
                out.append(MatchLine(EDITED, place.piece, np.stack([place.point, far])))
    return out


def _alike(one: MatchLine, other: MatchLine) -> bool:
    return one.points.shape == other.points.shape and bool(np.abs(one.points - other.points).max() < _SAME)


def _folds(drawing: Drawing, made: MadeMatch, tuck: Tuck, lay: Sequence[Place]) -> Iterator[MatchLine]:
    """The fold, the line that it is laid on, and an arrow from one to the other."""
    ends = [place.point + made.how.length * _way_in(drawing, made, place) for place in lay]
    for look, place, end in zip((FOLDED, LAID), lay, ends, strict=True):
        yield MatchLine(look, place.piece, np.stack([place.point, end]))
    if lay[0].piece is lay[1].piece:
        tail, head = (0.5 * (place.point + end) for place, end in zip(lay, ends, strict=True))
        back = (tail - head) / max(float(np.hypot(*(tail - head))), _SAME)
        barb = min(3.0, 0.4 * tuck.take)
        side = 0.5 * barb * np.array([-back[1], back[0]])
        yield MatchLine(FOLDED, lay[0].piece, np.stack([tail, head]), arrow=True)
        wings = [head + barb * back + side, head, head + barb * back - side]
        yield MatchLine(FOLDED, lay[0].piece, np.stack(wings), arrow=True)


def _way_in(drawing: Drawing, made: MadeMatch, place: Place) -> Array:
    """The direction of lines from an edge into the piece."""
    if made.how.lines != GRAIN:
        return place.inward
    grain = grain_of(drawing.pattern, place.piece)
    if grain is None:
        raise RequestError(f'"{place.piece.name}" has no grain line for --lines {GRAIN}: draw one, or leave that out')
    along = (grain[1] - grain[0]) / np.hypot(*(grain[1] - grain[0]))
    slant = float(along @ place.inward)
    if abs(slant) < _LEAST_SLANT:
        raise NoFitError(f'the grain of "{place.piece.name}" runs along the edge: leave --lines {GRAIN} out')
    return np.asarray(np.sign(slant) * along)


def _dart(made: MadeMatch, side: Side, one: Matched, tuck: Tuck) -> Iterator[MatchLine]:
    """The legs of a dart, and the fold between them."""
    middle = side.place(made.on_long(one, 0.5 * (tuck.begin + tuck.end)))
    apex = middle.point + made.how.dart * middle.inward
    legs = [side.place(made.on_long(one, u)) for u in (tuck.begin, tuck.end)]
    yield MatchLine(LAID, middle.piece, np.stack([legs[0].point, apex, legs[1].point]))
    yield MatchLine(FOLDED, middle.piece, np.stack([middle.point, apex]))


def edited_ends(made: MadeMatch, one: Matched) -> tuple[EditedEnd, ...]:
    """Where an edit takes the excess of a stretch off: at the ends of the seam that it reaches; none between marks."""
    if one.kind != EDIT or made.long_side(one).run.course.loop:
        return ()
    stretch = one.stretch
    free = [
        anchor for anchor, end in ((stretch.first, made.anchors[0]), (stretch.last, made.anchors[-1])) if anchor is end
    ]
    off = stretch.excess / max(1, len(free))
    return tuple(EditedEnd(a, off, off if a is stretch.first else stretch.long - off) for a in free)


# ---------------------------------------------------------------- in the allowance


def allowance_edges(made: MadeMatch, cuttings: Mapping[str, Array]) -> dict[str, Array]:
    """Where pieces are cut, as curves (n, 4, 2) on the sheet: as they are made, or as drawn with their allowance."""
    parts = [part for side in made.sides for part in side.run.laid.parts if part.net and part.edge.piece.closed]
    return {part.edge.piece.name: part.edge.piece.curve for part in parts} | dict(cuttings)


def carried_out(line: MatchLine, edges: Mapping[str, Array]) -> MatchLine:
    """A line carried straight on through the allowance to where its piece is cut, so that it can be notched there."""
    if line.arrow or line.look == EDITED or line.piece.name not in edges:
        return line
    points, cutting = line.points.copy(), edges[line.piece.name]
    for end, beside in ((0, 1), (-1, -2))[: 1 + (len(points) > 2)]:  # legs of darts have two ends
        out = (points[end] - points[beside]) / np.hypot(*(points[end] - points[beside]))
        foot = square_out(cutting, points[end], out)
        if foot is not None and float((foot - points[end]) @ out) > 0.0:
            points[end] = foot
    return replace(line, points=points)


def gather_rows(made: MadeMatch, one: Matched, edges: Mapping[str, Array]) -> list[GatherRow]:
    """The two rows of stitches by which a stretch is gathered, from anchor to anchor, parted at seams.

    They stand in the allowance, the first 3 mm outside the stitching line, the second 1/4 in further; nearer to each
    other where the allowance is narrow. None where there is hardly any.
    """
    if one.kind != GATHERS:
        return []
    side = made.long_side(one)
    m, laid, begin = side.run.edge.measured, side.run.laid, 0.0
    low, high = np.sort(side.along_edge(np.array([made.on_long(one, 0.0), made.on_long(one, one.stretch.long)])))
    out: list[GatherRow] = []
    for k, part in enumerate(laid.parts):
        a, b = max(float(low), begin), min(float(high), part.end)
        begin = part.end
        if b - a < _SAME or part.copy_of is not None:
            continue
        sewn, back = m.part(a, b), to_sheet(laid, k)
        piece = part.edge.piece
        for off in _rows(_allowance(motion.apply(back, sewn), edges.get(piece.name))):
            found = offset(sewn, side.hand * off, closed=False)
            out += [GatherRow(piece, motion.apply(back, curve), off) for curve in found[:1]]
    return out


def _allowance(sewn: Array, cutting: Array | None) -> float | None:
    """The allowance beside a stretch of stitching line, mm; None where it is not known."""
    if cutting is None:
        return None
    m = measure(sewn)
    return float(nearest(cutting, m.points(m.length * _SHARES)).distance.min())


def _rows(allowance: float | None) -> tuple[float, ...]:
    """How far outside the stitching line the rows of stitches stand, mm."""
    if allowance is None or allowance >= _FIRST_ROW + _ROW_APART + _LEFT:
        return (_FIRST_ROW, _FIRST_ROW + _ROW_APART)
    return (allowance / 3.0, 2.0 * allowance / 3.0) if allowance >= _LEAST_ALLOWANCE else ()
