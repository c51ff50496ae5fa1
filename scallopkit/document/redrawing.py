"""What of a pattern is to be redrawn so that a bought trim ends whole: seams and ends moved along the trim's line.

The pattern itself stays as it is. Each side that moves is shown where it would come to lie, by a placement line.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..construction.laid_trim import Inside, Told
from ..construction.repeats import EDGE, NOTHING, SEAMS, Way
from ..errors import NoFitError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from .inside_lines import line_inside, parted
from .runs import Run
from .sheet import to_sheet

# How far a side is shown that goes on without a corner, mm.
_SHOWN = 60.0
# Where labels stand: along a side, and inside a side or an edge, mm.
_LABEL_AT, _LABEL_IN = 25.0, 20.0
# So much of a parallel's change in length, mm for each mm that it moves, lets it take up the difference.
_TURNS = 0.1


@dataclass(frozen=True, eq=False)
class Redrawn:
    """A side of a piece, or its edge, where it would come to lie.

    Attributes:
        at: the joint or the end that is moved; empty for the edge itself.
        piece: the piece.
        add: how far it is let out (+) or taken in (-), mm.
        curve: the line on the sheet, mm.
        label: where its label stands (2,) on the sheet, mm.
    """

    at: str
    piece: str
    add: float
    curve: Array
    label: Array

    @property
    def text(self) -> str:
        """What is done there, in words."""
        return f"{'let out' if self.add > 0.0 else 'take in'} {abs(self.add):.2f} mm"


def redrawn(run: Run, middle: Inside, way: Way) -> tuple[Redrawn, ...]:
    """What is to be redrawn for a way to take up the difference; nothing where the pattern may stay as it is.

    An edge that is to be longer or shorter is moved at its free ends, evenly; one without ends as a whole, where it
    bends enough for that.
    """
    if abs(way.over) <= NOTHING or way.kind not in (SEAMS, EDGE):
        return ()
    adds = {move.at: move.add for move in way.moves}
    if way.kind == EDGE:
        folds, line = run.laid.folds, run.laid.line
        free = (
            []
            if run.laid.loop
            else [name for name, fold in zip((line.start, line.end), folds, strict=True) if not fold]
        )
        if not free:
            return tuple(_whole_edge(run, way.over))
        adds = dict.fromkeys(free, way.over / len(free))
    return tuple(_moved_sides(run, middle, adds))


def _moved_sides(run: Run, middle: Inside, adds: dict[str, float]) -> Iterator[Redrawn]:
    """The sides of pieces at the places that are moved; of two halves of a piece the drawn one."""
    last, long = len(run.laid.parts) - 1, middle.measured.length
    ends = []
    for k, (joint, at) in enumerate(zip(run.laid.joints, middle.joints, strict=True)):
        ends += [(joint.name, k, 1, at), (joint.name, (k + 1) % (last + 1), -1, at if k < last else 0.0)]
    if not run.laid.loop:
        ends += [(run.laid.line.start, 0, -1, 0.0), (run.laid.line.end, last, 1, long)]
    for name, part, hand, at in ends:
        if name in adds and run.laid.parts[part].copy_of is None:
            yield _moved_side(run, middle, (name, part, hand, at), adds[name])


def _moved_side(run: Run, middle: Inside, end: tuple[str, int, int, float], add: float) -> Redrawn:
    name, part, hand, at = end
    edge = run.laid.parts[part].edge
    corner = edge.curve[-1, 3] if hand > 0 else edge.curve[0, 0]
    turned = to_sheet(run.laid, part)[:, :2]
    outward = hand * (turned @ middle.measured.tangents(np.array([at]))[0])
    side = edge.after if hand > 0 else edge.before
    if side is None:
        into = turned @ (-run.course.side * middle.measured.normals(np.array([at]))[0])
        side = cubics.lines([corner, corner + _SHOWN * into])
    moved = side + add * outward
    m = measure(moved)
    label = m.points(np.array([min(_LABEL_AT, 0.5 * m.length)]))[0] - _LABEL_IN * outward
    curve = np.concatenate([cubics.lines([corner, moved[0, 0]]), moved])
    return Redrawn(name, edge.piece.name, add, curve, label)


def _whole_edge(run: Run, over: float) -> Iterator[Redrawn]:
    """The edge as a parallel that is so much longer; nothing where a parallel is hardly longer."""
    bounds, hand = (0.0, run.laid.line.measured.length), -run.course.side
    told = Told("the edge to be redrawn", "take up the difference another way")
    try:
        gained = line_inside(run, bounds, -hand, told).measured.length - bounds[1]
        if abs(gained) < _TURNS:
            return
        out = over / gained
        line = line_inside(run, bounds, -hand * out, told)
    except NoFitError:
        return
    for part, curve in parted(run, line):
        if run.laid.parts[part].copy_of is None:
            back, m = to_sheet(run.laid, part), measure(curve)
            half = np.array([0.5 * m.length])
            label = m.points(half) + _LABEL_IN * hand * m.normals(half)
            name = run.laid.parts[part].edge.piece.name
            yield Redrawn("", name, out, motion.apply(back, curve), motion.apply(back, label)[0])
