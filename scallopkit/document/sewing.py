"""Pieces sewn together on paper: each edge of a run laid on from the one before by what their join makes of them.

A way to the flat frame of its own, for checks of what was written. It reads outlines and recipe, and works in complex
numbers; with the fitting it shares only what words mean: which edge a text names, where its stitching line lies, and
which direction an edge has at its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from ..errors import NameUnknownError, RequestError, counted
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..pattern.edge import Edge, begin_at, find_edge, find_piece, joint_name, places, same_stretch
from ..pattern.joins import BUTT, DART, FOLD, LAP, SEAM
from ..pattern.net import net_edge
from ..pattern.piece import Pattern
from ..pattern.trueness import firm_direction
from ..trim.holds import GAP
from .flattening import MIRRORED, bare_name
from .recipe import EdgeWords, JoinWords, Recipe
from .units import parse_length
from .wishes import allowances_of

Complex = npt.NDArray[np.complex128]
_Places = TypeVar("_Places", complex, Complex)

# The turn to the walker's left hand, y down.
LEFT = -1j
# Legs of a dart that agree within this, mm, are closed about the apex; else their direction at the edge counts.
_LEGS_AGREE = 0.05
# A shorter line, mm, has its direction at its end rather than that of its chord.
_SHORT = 1.0


@dataclass(frozen=True)
class Lay:
    """The rigid motion that lays a piece flat: z becomes turn z + shift, or turn conj(z) + shift face down."""

    turn: complex = 1.0
    shift: complex = 0.0
    over: bool = False

    def at(self, places: _Places) -> _Places:
        """Places of the sheet in the flat frame."""
        return self.turn * (places.conjugate() if self.over else places) + self.shift

    def along(self, direction: complex) -> complex:
        """A direction of the sheet in the flat frame."""
        return self.turn * (direction.conjugate() if self.over else direction)

    def back(self, places: _Places) -> _Places:
        """Places of the flat frame on the sheet."""
        out = (places - self.shift) / self.turn
        return out.conjugate() if self.over else out


@dataclass(frozen=True, eq=False)
class Part:
    """One edge of a run, laid flat.

    Attributes:
        drawn: the edge as drawn.
        edge: the line that the run follows, on the sheet.
        lay: its motion into the flat frame.
        copy_of: the number of the part that is drawn for it, where it is the same stretch as an earlier one.
        backwards: whether that one is walked the other way.
    """

    drawn: Edge
    edge: Edge
    lay: Lay
    copy_of: int | None = None
    backwards: bool = False


@dataclass(frozen=True, eq=False)
class Seam:
    """Where one part goes on into the next, or into its own mirror image.

    Attributes:
        kind: the join's kind.
        name: the names of the two ends, or of the one place.
        point: where it lies in the flat frame.
        along: the unit direction of the joint's line there.
        onward: the unit normal of that line, in the walking direction.
        lay: the motion of what comes beyond it; round a loop the last seam's is that of its first part, a turn later.
        lap: how far either edge goes beyond it, mm.
        gap: whether the trim stops short of it.
    """

    kind: str
    name: str
    point: complex
    along: complex
    onward: complex
    lay: Lay
    lap: float = 0.0
    gap: bool = False


@dataclass(frozen=True, eq=False)
class Sewn:
    """A run sewn together.

    Attributes:
        parts: the edges in sewing order.
        seams: where they meet; of a loop as many as parts, the last one closing it.
        folds: the mirror lines at the ends of an open run that starts, or ends, at a fold.
        loop: whether the run closes.
    """

    parts: tuple[Part, ...]
    seams: tuple[Seam, ...]
    folds: tuple[Seam | None, Seam | None]
    loop: bool

    @property
    def length(self) -> float:
        """Length of the run, mm."""
        return sum(part.edge.measured.length for part in self.parts)

    @property
    def outside(self) -> int:
        """The hand on which the outside lies: +1 left, -1 right, 0 where all edges are open lines."""
        return next((p.edge.outside * (-1 if p.lay.over else 1) for p in self.parts if p.edge.outside), 0)

    def onward(self, places: _Places) -> _Places:
        """Places of the flat frame as a loop has them a turn later."""
        if not self.seams:
            return places
        first, again = self.parts[0].lay, self.seams[-1].lay
        return again.at(first.back(places))

    def on_sheet(self, part: int, flat: complex) -> tuple[complex, ...]:
        """Where a place of the flat frame may lie on the sheet if it is on that part; of a loop on either turn."""
        lay = self.parts[part].lay
        if not self.loop or not self.seams:
            return (lay.back(flat),)
        first, again = self.parts[0].lay, self.seams[-1].lay
        return lay.back(flat), lay.back(first.at(again.back(flat)))


def sew(pattern: Pattern, recipe: Recipe) -> Sewn:
    """The edges of a recipe as they lie once its joins are closed.

    Raises:
        ScallopkitError: an edge, a mark or a leg is not there any more, or a stitching line can't be found.
    """
    joins, count = recipe.joins, len(recipe.stretches)
    if len(joins) not in (count - 1, count):
        raise RequestError(f"{counted(count, 'edge')} and {counted(len(joins), 'join')} make no run")
    drawn = [_drawn(pattern, stretch.along, recipe.edge) for stretch in recipe.stretches]
    own = [stretch.allowance or recipe.edge.allowance for stretch in recipe.stretches]
    edges = [_stitched(edge, recipe, k, own[k]) for k, edge in enumerate(drawn)]
    for k, join in enumerate(joins):
        if join.kind == LAP:
            width = parse_length(join.width, "the width of a lap", "positive")
            edges[k] = _up_to_centre(edges[k], width, at_end=True)
            edges[(k + 1) % count] = _up_to_centre(edges[(k + 1) % count], width, at_end=False)
    over = _face_down(recipe)
    lays, seams = [Lay(over=over[0])], []
    for k, join in enumerate(joins):
        first, second = edges[k], edges[(k + 1) % count]
        turned = over[0] if k + 1 == count else over[k + 1]
        seams.append(_seam(pattern, first, second, join, lays[k], turned, _stops_short(recipe, first, second, join)))
        lays.append(seams[-1].lay)
    parts = [_part(k, drawn, edge, lay) for k, (edge, lay) in enumerate(zip(edges, lays, strict=False))]
    folds = (_end_fold(recipe.edge.start, parts[0], False), _end_fold(recipe.edge.end, parts[-1], True))
    loop = len(joins) == count or (not joins and edges[0].loop)
    return Sewn(tuple(parts), tuple(seams), folds, loop)


def place(point: Array) -> complex:
    """A point (2,) as a complex number."""
    return complex(float(point[0]), float(point[1]))


def mirrored(places: _Places, seam: Seam) -> _Places:
    """The mirror image of places of the flat frame in the line of a fold."""
    off = (places - seam.point) / seam.along
    return seam.point + seam.along * off.conjugate()


# ---------------------------------------------------------------- edges


def _drawn(pattern: Pattern, along: str, words: EdgeWords) -> Edge:
    edge = find_edge(pattern, bare_name(along) or None)
    return begin_at(edge, words.start_at) if words.start_at else edge


def _stitched(edge: Edge, recipe: Recipe, k: int, allowance: str) -> Edge:
    """The edge on its stitching line, between those of the seams beside it; folds, darts and butts have none."""
    if not allowance:
        return edge
    beside, own = allowances_of(EdgeWords(allowance=allowance))
    before, after = _beside(recipe, k)
    at_start, at_end = (beside if kind in (SEAM, LAP, "") else 0.0 for kind in (before, after))
    if edge.outside != 0:
        return net_edge(edge, own, at_start, at_end)
    # The trim at the free ends of an open line stops short by itself.
    at_start, at_end = at_start if before else 0.0, at_end if after else 0.0
    m = edge.measured
    return edge if at_start + at_end <= 0.0 else replace(edge, curve=m.part(at_start, m.length - at_end))


def _beside(recipe: Recipe, k: int) -> tuple[str, str]:
    """The kinds of join at the start and the end of edge `k`; empty at a free end."""
    kinds, count = [join.kind for join in recipe.joins], len(recipe.stretches)
    if len(kinds) == count:
        return kinds[k - 1], kinds[k]
    first, last = (FOLD if text.startswith(FOLD) else "" for text in (recipe.edge.start, recipe.edge.end))
    around = [first, *kinds, last]
    return around[k], around[k + 1]


def _up_to_centre(edge: Edge, width: float, at_end: bool) -> Edge:
    """An edge that laps over, up to the centre line, which runs `width` inside its free edge and along it."""
    walked = edge.curve if not at_end else cubics.reverse(edge.curve)
    free = _free_edge(edge, at_end)
    inside = complex(*firm_direction(walked)) / free
    into = free * (1j if inside.imag > 0.0 else -1j)
    centre = place(walked[0, 0]) + width * into
    segment, t = cubics.meets_line(walked, np.array([centre.real, centre.imag]), np.array([into.real, into.imag]))
    if not len(segment):
        raise RequestError(f'"{edge.name}" is too short for a lap of {width:g} mm: make the run anew')
    first = int(np.argmin(segment + t))
    kept = cubics.stretch(walked, (int(segment[first]), float(t[first])), (len(walked) - 1, 1.0))
    return replace(edge, curve=cubics.reverse(kept) if at_end else kept)


def _part(k: int, drawn: Sequence[Edge], edge: Edge, lay: Lay) -> Part:
    copy_of = next((i for i in range(k) if same_stretch(drawn[i], drawn[k])), None)
    if copy_of is None:
        return Part(drawn[k], edge, lay)
    starts, other = place(drawn[k].curve[0, 0]), drawn[copy_of].curve
    backwards = abs(starts - place(other[-1, 3])) < abs(starts - place(other[0, 0]))
    return Part(drawn[k], edge, lay, copy_of, backwards)


def _face_down(recipe: Recipe) -> list[bool]:
    """Whether each edge lies face down: drawn so, or beyond a fold, but not both."""
    out, folded = [], False
    for k, stretch in enumerate(recipe.stretches):
        out.append(stretch.along.endswith(MIRRORED) != folded)
        folded ^= k < len(recipe.joins) and recipe.joins[k].kind == FOLD
    return out


# ---------------------------------------------------------------- seams


def _seam(pattern: Pattern, first: Edge, second: Edge, join: JoinWords, lay: Lay, turned: bool, gap: bool) -> Seam:
    leaving, arriving = _leaving(pattern, first, second, join)
    point, along = lay.at(place(first.curve[-1, 3])), lay.along(leaving)
    turn = along / (arriving.conjugate() if turned else arriving)
    turn /= abs(turn)
    start = place(second.curve[0, 0])
    beyond = Lay(turn, point - turn * (start.conjugate() if turned else start), turned)
    name = joint_name(first, second)
    lap = parse_length(join.width, "the width of a lap", "positive") if join.kind == LAP else 0.0
    return Seam(join.kind, name, point, along, _onward(along, first, lay, True), beyond, lap, gap)


def _onward(along: complex, edge: Edge, lay: Lay, at_end: bool) -> complex:
    """The normal of a joint's line that points on, where an edge ends, or starts, on it."""
    curve = edge.curve if at_end else cubics.reverse(edge.curve)
    walking = lay.along(complex(*cubics.ends_direction(curve)[1])) * (1.0 if at_end else -1.0)
    normal = along * LEFT
    return normal if (walking / normal).real > 0.0 else -normal


def _leaving(pattern: Pattern, first: Edge, second: Edge, join: JoinWords) -> tuple[complex, complex]:
    """The directions on the sheet, of the first and the second edge's piece, that lie on each other once sewn."""
    if join.kind == DART:
        return _leg_directions(pattern, first, second, join)
    if join.kind == LAP:
        return _free_edge(first, True), _free_edge(second, False)
    if join.kind == FOLD:
        if first.after is None:
            raise RequestError(f'no edge leaves the end "{first.end}" of "{first.name}" that could be the fold')
        return (_chord(first.after),) * 2
    if join.kind == BUTT or first.after is None or second.before is None:
        return -_direction(cubics.reverse(first.curve)), _direction(second.curve)
    return _direction(first.after), _direction(second.before)


def _free_edge(edge: Edge, at_end: bool) -> complex:
    """The direction of the edge beside the end of one that laps over, away from it; else square to it."""
    beside = edge.after if at_end else edge.before
    if beside is not None:
        return _direction(beside)
    return _direction(cubics.reverse(edge.curve)) * LEFT if at_end else -_direction(edge.curve) * LEFT


def _leg_directions(pattern: Pattern, first: Edge, second: Edge, join: JoinWords) -> tuple[complex, complex]:
    ends = first.curve[-1, 3], second.curve[0, 0]
    if join.legs:
        legs = [_from(find_edge(pattern, leg).curve, end) for leg, end in zip(join.legs, ends, strict=False)]
    elif join.apex:
        legs = [cubics.lines([end, _apex(pattern, join.apex)]) for end in ends]
    else:
        legs = [leg for leg in (first.after, second.before) if leg is not None]
    legs = [leg for leg in legs if len(cubics.without_points(leg))]
    if len(legs) != 2:
        raise RequestError(f'the dart between "{first.name}" and "{second.name}" has not two legs any more')
    lengths = [measure(leg).length for leg in legs]
    if abs(lengths[0] - lengths[1]) > _LEGS_AGREE:
        return _direction(legs[0]), _direction(legs[1])
    a, b = (place(leg[-1, 3] - leg[0, 0]) for leg in legs)
    return a / abs(a), b / abs(b)


def _from(leg: Array, end: Array) -> Array:
    """A leg walked away from the edge."""
    near, far = (abs(place(leg[i, j] - end)) for i, j in ((0, 0), (-1, 3)))
    return leg if near <= far else cubics.reverse(leg)


def _apex(pattern: Pattern, name: str) -> tuple[float, float]:
    """A mark, or a corner written PIECE:CORNER."""
    for mark in pattern.marks:
        if mark.name == name:
            return mark.x, mark.y
    piece, colon, corner = name.rpartition(":")
    if not colon:
        raise NameUnknownError(f'the mark "{name}", the apex of a dart, is not there any more')
    outline = find_piece(pattern, piece)
    found = places(pattern, outline, measure(outline.curve)).get(corner, [])
    if not found:
        raise NameUnknownError(f'"{piece}" has no corner "{corner}" any more, for the apex of a dart')
    x, y = outline.curve[found[0].segment, 0]
    return float(x), float(y)


def _direction(curve: Array) -> complex:
    return complex(*firm_direction(curve))


def _chord(curve: Array) -> complex:
    """The direction from a curve's first to its last point."""
    chord = place(curve[-1, 3] - curve[0, 0])
    return chord / abs(chord) if abs(chord) >= _SHORT else _direction(curve)


def _end_fold(words: str, part: Part, at_end: bool) -> Seam | None:
    if not words.startswith(FOLD):
        return None
    edge, lay = part.edge, part.lay
    beside, i = (edge.after, (-1, 3)) if at_end else (edge.before, (0, 0))
    walked = cubics.reverse(edge.curve) if at_end else edge.curve
    along = lay.along(_chord(beside) if beside is not None else _direction(walked) * LEFT)
    name, point = (edge.end if at_end else edge.start), lay.at(place(edge.curve[i]))
    return Seam(FOLD, name, point, along, _onward(along, edge, lay, at_end), lay)


def _stops_short(recipe: Recipe, first: Edge, second: Edge, join: JoinWords) -> bool:
    """Whether the trim stops short of a joint: a hold at a mark there goes before that of the join."""
    names = {first.end, f"{first.piece.name}:{first.end}", second.start, f"{second.piece.name}:{second.start}"}
    hold = join.hold
    for text in recipe.edge.hold:
        mark, _, kind = text.rpartition("=")
        hold = kind if mark in names else hold
    return hold.partition(":")[0] == GAP
