"""Lines drawn inside a piece, such as pockets and yokes, against the depth of its facing.

A facing covers a line, or stays clear of it; where its inner edge runs across the line, or ends beside it, the maker
is told between which depths that is so. Depths are measured square to the edge that is faced.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..construction.facing import Facing, seam_line
from ..geometry import cubics, motion
from ..geometry.cubics import Array, Bools
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..geometry.winding import winding
from ..pattern.edge import find_edge, find_piece
from ..pattern.grain import grain_of
from ..pattern.piece import Pattern, Piece, Warn
from .drawing import Drawing
from .runs import Run
from .sheet import to_sheet
from .wishes import MOTIF

# A line that ends nearer to an inner edge than this, mm, is in its way: two rows of stitching take as much; common
# practice, no source.
_CLEAR = 3.0
# Lines are looked at in places so far apart, mm, and where their curves meet.
_STEP = 1.0
# Places nearer to an edge than this, mm, lie on it: the width of a pencil line; common practice, no source.
_ON = 0.5
# A line lies in a piece of which so much does: what is drawn by hand runs out a little.
_INSIDE = 0.9
# A closed line that takes up more of a piece is no part of it but another size of it, or its stitching line.
_OTHER_SIZE = 0.5
# Sides are drawn on so far, mm, beyond any piece.
_FAR = 5000.0
# Depths are known this well, mm, between the places looked at.
_ROUNDING = 0.01
_NOTHING = np.zeros((0, 4, 2))


@dataclass(frozen=True, eq=False)
class _Field:
    """A part of a facing where its piece lies on the sheet, however deep the facing is.

    Attributes:
        piece: the piece.
        edge: the whole edge that is faced (n, 4, 2), drawn on at its ends.
        sides: the lines on either hand, from the edge inwards; of a ring without joins none.
        strip: the closed line round all that lies between them; of such a ring none.
        turn: +1 where that runs clockwise as seen, -1 where it runs the other way.
    """

    piece: Piece
    edge: Array
    sides: Array
    strip: Array
    turn: int

    def holds(self, points: Array, depths: Array) -> Bools:
        """Which of the points (k, 2) lie in it, at their depths (k,) from its edge, mm."""
        if not len(self.strip):
            return np.ones(len(points), dtype=bool)
        return np.asarray((np.sign(winding(self.strip, points)) == self.turn) | (depths < _ON))

    def beside(self, points: Array) -> Bools:
        """Which of the points lie at its sides, which are seams, darts, folds or ends of the edge."""
        if not len(self.sides):
            return np.zeros(len(points), dtype=bool)
        return np.asarray(nearest(self.sides, points).distance < _CLEAR)


@dataclass(frozen=True, eq=False)
class _Reach:
    """How a line lies to a facing.

    Attributes:
        begin, end: from which depth to which it reaches, mm.
        deepest: how deep the facing could be there, mm.
        met: where it comes nearest to the inner edge (2,) if it is in its way, on the sheet.
        crosses: whether the inner edge runs across it.
    """

    begin: float
    end: float
    deepest: float
    met: Array | None
    crosses: bool

    def joined(self, other: _Reach) -> _Reach:
        """The same of both together."""
        first = other if self.met is None or (other.crosses and not self.crosses) else self
        return _Reach(
            min(self.begin, other.begin),
            max(self.end, other.end),
            max(self.deepest, other.deepest),
            first.met,
            first.crosses,
        )


def crossed_lines(drawing: Drawing, run: Run, facing: Facing, name: str, least: float) -> tuple[Warn, ...]:
    """A warning for each line inside a piece that the inner edge of its facing runs across or comes near the end of.

    Grain lines are none of them, nor the legs of the run's own darts, the line of its motif, what lies along a seam,
    and an inner edge that is drawn already.

    Args:
        drawing: the drawing.
        run: the run.
        facing: a shaped facing of it.
        name: what the facing is called.
        least: the least depth, mm, at which a facing holds.
    """
    known: dict[Piece, list[Piece]] = {}
    found: dict[Piece, tuple[Piece, _Reach]] = {}
    for field in _fields(run, facing):
        piece = field.piece
        if piece not in known:
            known[piece] = list(_inner_lines(drawing.pattern, piece, run))
        for line in known[piece]:
            reach = _reach(field, line, facing.depth)
            if reach is not None:
                found[line] = piece, found[line][1].joined(reach) if line in found else reach
    return tuple(
        _warning(run, facing, name, piece, line, reach, reach.met, least)
        for line, (piece, reach) in found.items()
        if reach.met is not None and not _is_inner_edge(reach, facing.depth)
    )


def _is_inner_edge(reach: _Reach, depth: float) -> bool:
    """Whether a line lies along the inner edge: the maker's own."""
    return reach.begin > depth - _CLEAR and reach.end < depth + _CLEAR


def _warning(
    run: Run, facing: Facing, name: str, piece: Piece, line: Piece, reach: _Reach, met: Array, least: float
) -> Warn:
    how = "crosses" if reach.crosses else "runs beside an end of"
    text = (
        f'"{name}" is {facing.depth:.6g} mm deep and its inner edge {how} "{line.name}", which reaches from '
        f'{_mm(reach.begin)} to {_mm(reach.end)} mm from the edge of "{run.name}": '
    )
    less, more = math.floor(reach.begin - _CLEAR + _ROUNDING), math.ceil(reach.end + _CLEAR - _ROUNDING)
    cures = [f"{less} mm or less stays clear of it"] if less >= least else []
    cures += [f"{more} mm or more covers it"] if more <= reach.deepest else []
    cure = ", ".join(cures) or "no depth stays clear of it, so sew it first and let the facing lie over it"
    return Warn("facing-over-line", text + cure, piece.name, float(met[0]), float(met[1]))


def _mm(depth: float) -> str:
    return f"{abs(round(depth, 1)):.6g}"


# ---------------------------------------------------------------- lines inside a piece


def _inner_lines(pattern: Pattern, piece: Piece, run: Run) -> Iterator[Piece]:
    """The lines that are drawn inside a piece and sewn there."""
    if not piece.closed:
        return
    own = _own_lines(pattern, run)
    low, high = cubics.bounds(piece.curve)
    room = abs(cubics.area(piece.curve))
    for line in pattern.pieces:
        begins, ends = cubics.bounds(line.curve)
        if line in own or (begins > high).any() or (ends < low).any():
            continue
        if line.closed and abs(cubics.area(line.curve)) > _OTHER_SIZE * room:
            continue
        if _lies_in(piece, line) and grain_of(Pattern((piece, line)), piece) is None:
            yield line


def _own_lines(pattern: Pattern, run: Run) -> list[Piece]:
    """The pieces that a run goes along, and the lines that its words name."""
    out = [part.edge.piece for part in run.laid.parts]
    out += [find_edge(pattern, leg).piece for join in run.recipe.joins for leg in join.legs]
    words = run.recipe.scallop
    if words is not None and words.profile.startswith(MOTIF):
        out.append(find_piece(pattern, words.profile.removeprefix(MOTIF)))
    return out


def _lies_in(piece: Piece, line: Piece) -> bool:
    points = _places(line.curve)
    outside = points[winding(piece.curve, points) == 0]
    off = nearest(piece.curve, outside).distance > _ON
    return int(off.sum()) <= (1.0 - _INSIDE) * len(points)


def _places(curve: Array) -> Array:
    """Points (k, 2) along a curve, in order, all its nodes among them."""
    m = measure(curve)
    nodes = m.lengths(np.arange(len(curve)), np.zeros(len(curve)))
    return m.points(np.union1d(np.linspace(0.0, m.length, math.ceil(m.length / _STEP) + 1), nodes))


# ---------------------------------------------------------------- the facing on each of its pieces


def _fields(run: Run, facing: Facing) -> Iterator[_Field]:
    """The parts of a facing on their pieces."""
    laid, m = run.laid, measure(facing.source)
    edge = facing.source if facing.ring else _drawn_on(facing.source, back=True)
    sides, count = _sides(run, facing), len(facing.parts)
    reached = 0.0
    for k, number in enumerate(range(facing.parts[0], facing.parts[0] + count)):
        turn, part = divmod(number, len(laid.parts))
        onto, piece = to_sheet(laid, part, turn), laid.parts[part].edge.piece
        if not sides:
            yield _Field(piece, motion.apply(onto, edge), _NOTHING, _NOTHING, 0)
            continue
        end = laid.parts[part].end + turn * laid.line.measured.length - facing.begin if k + 1 < count else m.length
        # Round a ring the last side is the first part's other one.
        first, last = (sides[k - 1], sides[k]) if facing.ring else (sides[k], sides[k + 1])
        strip = _strip(m.part(reached, end), first, last, facing.cloth)
        seen = -facing.cloth if float(np.linalg.det(onto[:, :2])) > 0.0 else facing.cloth
        hands = np.concatenate([first, last])
        yield _Field(piece, motion.apply(onto, edge), motion.apply(onto, hands), motion.apply(onto, strip), seen)
        reached = end


def _sides(run: Run, facing: Facing) -> list[Array]:
    """What parts a facing's pieces from each other and from what is beside them, each from the edge inwards."""
    joints = len(facing.parts) - 1 + (facing.ring and bool(run.laid.joints))
    # They begin outside the edge.
    seams = [seam_line(run.laid, facing, k)[1:] for k in range(joints)]
    lines = seams if facing.ring else [facing.start, *seams, facing.end]
    return [_drawn_on(line) for line in lines]


def _strip(edge: Array, first: Array, last: Array, cloth: int) -> Array:
    """The closed line along an edge, its last side, far off in the cloth, and back along its first side."""
    m = measure(edge)
    middle = np.array([0.5 * m.length])
    away = m.points(middle)[0] + _FAR * cloth * cubics.left(m.tangents(middle)[0])
    lines = [
        edge,
        cubics.lines([edge[-1, 3], last[0, 0]]),
        last,
        cubics.lines([last[-1, 3], away, first[-1, 3]]),
        cubics.reverse(first),
        cubics.lines([first[0, 0], edge[0, 0]]),
    ]
    return np.concatenate(lines)


def _drawn_on(curve: Array, back: bool = False) -> Array:
    """A curve that goes on straight beyond its end, and beyond its beginning if `back` says so."""
    first, last = cubics.ends_direction(curve)
    before = cubics.lines([curve[0, 0] - _FAR * first, curve[0, 0]]) if back else _NOTHING
    return np.concatenate([before, curve, cubics.lines([curve[-1, 3], curve[-1, 3] + _FAR * last])])


def _reach(field: _Field, line: Piece, depth: float) -> _Reach | None:
    """How a line lies to a part of a facing; None where none of it lies beyond that part of the edge."""
    points = _places(line.curve)
    depths = nearest(field.edge, points).distance
    held = field.holds(points, depths)
    if not held.any():
        return None
    met, crosses, near = None, False, _CLEAR - _ROUNDING
    for some in _stretches(held & ~field.beside(points)):
        least, most = float(depths[some].min()), float(depths[some].max())
        if not crosses and least < depth + near and most > depth - near:
            crosses = least < depth < most
            met = points[some][int(np.argmin(np.abs(depths[some] - depth)))]
    return _Reach(float(depths[held].min()), float(depths[held].max()), _deepest(field), met, crosses)


def _stretches(which: Bools) -> Iterator[slice]:
    """The stretches of places in a row that are meant."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], which, [False]]).astype(int)))
    for begin, end in zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True):
        yield slice(begin, end)


def _deepest(field: _Field) -> float:
    """How far from its edge a piece reaches in a part of a facing, mm."""
    points = _places(field.piece.curve)
    depths = nearest(field.edge, points).distance
    return float(depths[field.holds(points, depths)].max(initial=0.0))
