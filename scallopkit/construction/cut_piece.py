"""A whole piece as it is cut: its outline in sides, each with its allowance or with the cut of the run it carries."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from ..geometry.winding import winding
from ..pattern.corners import corners
from ..pattern.piece import Piece
from .cutting import Corner, Cutting, Side, cutting_line

# Places on an outline nearer than this, mm, are one.
_SAME = 1e-3
# A segment shorter than this, mm, is a slip of the pen, as for corners.
_STRAY = 0.01
# How closely it is looked whether stitching lies within the cut, mm.
_LOOKED = 0.05
# Ends nearer than this, mm, meet.
_MEETS = 1e-9


@dataclass(frozen=True, eq=False)
class Treated:
    """A stretch of an outline that is cut in its own way.

    Attributes:
        name: what the maker calls it.
        drawn: the stretch as it is drawn (n, 4, 2), walked either way.
        allowance: mm beyond its stitching line.
        stitching: its stitching line where that is not the drawn one.
        cutting: its cutting line where that is no parallel; it may run on past both ends.
        firm: whether its stitching line ends where it must, so that its neighbours are drawn on or shortened to it.
    """

    name: str
    drawn: Array
    allowance: float = 0.0
    stitching: Array | None = None
    cutting: Array | None = None
    firm: bool = False


@dataclass(frozen=True, eq=False)
class CutPiece:
    """A piece as it is cut.

    Attributes:
        piece: the piece.
        sides: its sides in outline order, from one corner or end of a treated stretch to the next.
        cutting: their cutting lines.
    """

    piece: Piece
    sides: tuple[Side, ...]
    cutting: Cutting

    @property
    def hole(self) -> bool:
        """Whether the outline bounds a hole in the cloth, so that allowances lie inside it."""
        return self.piece.hole


@dataclass(frozen=True, eq=False)
class _Stretch:
    """Where a treated stretch lies on the outline, from `begin` on to `end` mm, which may be past the first point."""

    treated: Treated
    begin: float
    end: float


def cut_piece(
    piece: Piece,
    treated: Sequence[Treated],
    allowance: float,
    at_corners: Mapping[str, Corner],
    usual: Corner,
) -> CutPiece:
    """The cutting line of a closed piece.

    Args:
        piece: the piece, by its stitching lines, or, where the drawn line is the cut, with an allowance of 0.
        treated: stretches that are cut in their own ways; they may touch but not overlap.
        allowance: mm beyond all other sides.
        at_corners: the kinds of corners by their names, c0, c1, …
        usual: the kind of all other corners.

    Raises:
        RequestError: the piece is an open line, stretches overlap, a corner with a kind of its own lies within one, or
            no cutting line can be drawn; the text says where.
    """
    if not piece.closed:
        raise RequestError(f'"{piece.name}" is an open line and has no inside to cut: draw its outline closed')
    m = measure(piece.curve)
    found = sorted((_on_outline(m, one) for one in treated), key=lambda stretch: stretch.begin)
    _refuse_overlaps(piece, found, m.length)
    if len(found) == 1 and found[0].treated.cutting is not None and _is_whole(m, found[0].treated):
        _refuse_within(piece, set(at_corners))
        own_cut = found[0].treated.cutting
        return CutPiece(piece, (_side(m, 0.0, m.length, found[0], allowance, piece.name),), _closed(own_cut))
    if piece.hole:
        return _cut_hole(piece, found, at_corners, allowance)
    places = _places(m, piece, found)
    _refuse_within(piece, set(at_corners) - {name for _, name in places})
    sides: list[Side] = []
    kinds: list[Corner] = []
    owns: list[_Stretch | None] = []
    for (begin, name), (end, next_name) in zip(places, [*places[1:], places[0]], strict=True):
        length = (end - begin) % m.length or m.length
        own = next((one for one in found if _apart(m, one.begin, begin) < _SAME), None)
        sides.append(_side(m, begin, length, own, allowance, f"{name}..{next_name}"))
        kinds.append(at_corners.get(name, usual))
        owns.append(own)
    sides = _meeting(sides, [own is not None and own.treated.firm for own in owns])
    by_edge = [_by_its_edge(side, own) for side, own in zip(sides, owns, strict=True)]
    return CutPiece(piece, tuple(sides), cutting_line(by_edge, kinds, piece.outside))


def _cut_hole(piece: Piece, found: Sequence[_Stretch], at_corners: Mapping[str, Corner], allowance: float) -> CutPiece:
    """A hole, whose allowance lies inside it, all round alike."""
    if found or at_corners:
        name = found[0].treated.name if found else min(at_corners)
        raise RequestError(
            f'"{piece.name}" is a hole in its piece, and is cut with one allowance all round: leave out "{name}"'
        )
    side = Side(piece.curve, allowance, None, piece.name)
    rings = offset(piece.curve, piece.outside * allowance, closed=True)
    if not rings:
        raise RequestError(f'"{piece.name}" is a hole with no room for {allowance:g} mm of allowance: give it less')
    return CutPiece(piece, (side,), _closed(rings[0]))


def outside_the_cut(cut: CutPiece) -> Array:
    """Places (k, 2) on the stitching lines that the cutting line leaves outside the cloth; none where all is well."""
    ring = cut.cutting.curve
    points = np.concatenate([cubics.flatten(side.stitching, _LOOKED) for side in cut.sides])
    off = points[(winding(ring, points) == 0) != cut.hole]
    return np.asarray(off[nearest(ring, off).distance > _LOOKED]) if len(off) else off


def _is_whole(m: Measured, treated: Treated) -> bool:
    return abs(measure(treated.drawn).length - m.length) < _SAME


def _closed(curve: Array) -> Cutting:
    """A cutting line that closes by itself."""
    out = curve.copy()
    out[-1, 3] = out[0, 0]
    return Cutting((out,), lambda: ((0.0, 0.0),))


def _on_outline(m: Measured, treated: Treated) -> _Stretch:
    """A treated stretch, turned to be walked as the outline is."""
    drawn = measure(treated.drawn)
    ends = nearest(
        m.curve, np.stack([treated.drawn[0, 0], treated.drawn[-1, 3], drawn.points(np.array([0.5 * drawn.length]))[0]])
    )
    first, last, middle = (float(s) for s in m.lengths(ends.segment, ends.t))
    if (middle - first) % m.length <= (last - first) % m.length or abs(drawn.length - m.length) < _SAME:
        return _Stretch(treated, first, first + ((last - first) % m.length or m.length))
    turned = replace(
        treated,
        drawn=cubics.reverse(treated.drawn),
        stitching=None if treated.stitching is None else cubics.reverse(treated.stitching),
        cutting=None if treated.cutting is None else cubics.reverse(treated.cutting),
    )
    return _Stretch(turned, last, last + ((first - last) % m.length or m.length))


def _refuse_overlaps(piece: Piece, found: Sequence[_Stretch], length: float) -> None:
    for one, other in zip(found, [*found[1:], *found[:1]], strict=True):
        if one is other:
            continue
        onward = (other.begin - one.begin) % length
        if one.end - one.begin > onward + _SAME:
            names = f'"{one.treated.name}" and "{other.treated.name}"'
            raise RequestError(
                f'on "{piece.name}" {names} overlap, and each would be cut in its own way: shorten one, or leave it out'
            )


def _refuse_within(piece: Piece, names: set[str]) -> None:
    if names:
        raise RequestError(
            f'on "{piece.name}" the corner "{min(names)}" lies within a side that is cut in its own way, and is no '
            "corner of the cutting line: leave out its kind"
        )


def _places(m: Measured, piece: Piece, found: Sequence[_Stretch]) -> list[tuple[float, str]]:
    """Where sides begin, along the outline: at corners outside the treated stretches, and at these stretches' ends."""
    turning = corners(piece.curve, closed=True)
    s = m.lengths(np.array([c.node for c in turning], dtype=np.intp), np.zeros(len(turning)))
    out = [
        (float(at), corner.name)
        for at, corner in zip(s, turning, strict=True)
        if not any(_SAME < (float(at) - one.begin) % m.length < one.end - one.begin - _SAME for one in found)
    ]
    for one in found:
        for at, name in ((one.begin, one.treated.name), (one.end, one.treated.name)):
            place = at % m.length
            if not any(_apart(m, place, known) < _SAME for known, _ in out):
                out.append((place, name))
    return sorted(out) or [(0.0, piece.name)]


def _apart(m: Measured, a: float, b: float) -> float:
    """How far two places are apart along the outline, the shorter way round."""
    onward = (a - b) % m.length
    return min(onward, m.length - onward)


def _side(m: Measured, begin: float, length: float, own: _Stretch | None, allowance: float, name: str) -> Side:
    if own is None:
        return Side(_without_strays(_part(m, begin, length)), allowance, None, name)
    treated = own.treated
    stitching = _without_strays(treated.drawn) if treated.stitching is None else treated.stitching
    return Side(stitching, treated.allowance, treated.cutting, treated.name, treated.firm)


def _part(m: Measured, begin: float, length: float) -> Array:
    """The outline from a place on by a length, through its first point where needed."""
    begin = begin if m.length - begin > _SAME else 0.0
    last = len(m.curve) - 1
    beyond = begin + length - m.length
    if beyond <= _SAME:
        return cubics.stretch(m.curve, _position(m, begin), _position(m, begin + length, at_end=True))
    head = cubics.stretch(m.curve, (0, 0.0), _position(m, beyond, at_end=True))
    return np.concatenate([cubics.stretch(m.curve, _position(m, begin), (last, 1.0)), head])


def _position(m: Measured, s: float, at_end: bool = False) -> tuple[int, float]:
    """Segment and parameter at a length; of nodes just there the one that leaves nothing beyond them to a side."""
    nodes = np.append(m.lengths(np.arange(len(m.curve)), np.zeros(len(m.curve))), m.length)
    near = np.flatnonzero(np.abs(nodes - s) < _SAME)
    if len(near):
        k = int(near[0 if at_end else -1])
        return (k, 0.0) if k < len(m.curve) else (k - 1, 1.0)
    segment, t = m.at(np.array([s]))
    return int(segment[0]), float(t[0])


def _without_strays(curve: Array) -> Array:
    """A side without the stray segments at its ends, whose directions say nothing; its ends stay where they are."""
    solid = np.flatnonzero(np.ptp(curve, axis=1).max(axis=1) > _STRAY)
    if not len(solid):
        return curve
    return _with_ends(curve[solid[0] : solid[-1] + 1], curve[0, 0], curve[-1, 3])


def _by_its_edge(side: Side, own: _Stretch | None) -> Side:
    """A side whose corners turn as its drawn edge does: a scallop's first direction says nothing about the piece."""
    if own is None or own.treated.stitching is None:
        return side
    return replace(
        side, stitching=_with_ends(_without_strays(own.treated.drawn), side.stitching[0, 0], side.stitching[-1, 3])
    )


def _with_ends(curve: Array, start: Array, end: Array) -> Array:
    """The curve with other ends, where it keeps its directions."""
    out = curve.copy()
    out[0, :2] += start - out[0, 0]
    out[-1, 2:] += end - out[-1, 3]
    return out


def _meeting(sides: Sequence[Side], firm: Sequence[bool]) -> list[Side]:
    """The sides, those that are not firm drawn on, or shortened, to where their neighbours' stitching lines end."""
    out = list(sides)
    for k in range(len(out)):
        before, after = out[k - 1], out[k]
        end, start = before.stitching[-1, 3], after.stitching[0, 0]
        if len(out) < 2 or float(np.hypot(*(end - start))) <= _MEETS:
            continue
        if firm[k] or (after.cut is not None and not firm[k - 1]):
            out[k - 1] = replace(before, stitching=_ended_at(before.stitching, start))
        else:
            begun = cubics.reverse(_ended_at(cubics.reverse(after.stitching), end))
            out[k] = replace(after, stitching=begun)
    return out


def _ended_at(curve: Array, place: Array) -> Array:
    """A curve up to a place: shortened where the place lies on it, drawn on straight where it lies beyond its end."""
    found = nearest(curve, place[None])
    segment, t = int(found.segment[0]), float(found.t[0])
    if segment == len(curve) - 1 and t >= 1.0:
        return np.concatenate([curve, cubics.lines([curve[-1, 3], place])])
    out = cubics.stretch(curve, (0, 0.0), (segment, t))
    out[-1, 3] = place
    return out
