"""The way back from a run laid flat to the pieces where they lie on the sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import cubics, motion
from ..geometry.cubics import Array, Ints
from ..geometry.nearest import nearest
from ..pattern.laying import LaidRun
from ..pattern.piece import Warn

if TYPE_CHECKING:
    from .runs import Run

# Two fold lines closer to one direction than this are parallel, and an angle this close to a whole share of a half
# turn is meant as one.
_PARALLEL = math.radians(1.0)
# Parallel folds closer than this, mm, are one.
_ONE_LINE = 1.0


def to_sheet(run: LaidRun, part: int, turn: int = 0) -> Array:
    """The map from the flat frame to the part's piece on the sheet, where the part is taken `turn` turns further on."""
    return motion.inverse(motion.compose(run.turned(turn), run.parts[part].motion))


def parts_at(run: Run, points: Array, s: Array) -> tuple[Ints, Ints]:
    """The parts on which points of the flat frame lie, and on which turn of a loop.

    Args:
        run: the run.
        points: places (k, 2) beside the course.
        s: their lengths (k,) along the course.

    Returns:
        Numbers of parts and of turns. Beside a joint its line decides; what lies on the line is with the part before,
        or with the one behind it where only that is drawn.
    """
    laid = run.laid
    along = np.asarray(s, dtype=float) + run.origin
    length = run.course.measured.length
    turns = np.floor(along / length).astype(np.intp) if laid.loop else np.zeros(len(along), dtype=np.intp)
    along = along - turns * length
    ends = np.array([part.end for part in laid.parts])
    parts = np.clip(np.searchsorted(ends, along, side="left"), 0, len(ends) - 1)
    reach = _reach(run)
    for i, (point, at) in enumerate(zip(points, along.tolist(), strict=True)):
        parts[i], turns[i] = _settled(run, point, at, int(parts[i]), int(turns[i]), reach)
    return parts, turns


def _reach(run: Run) -> float:
    """How far along the run a joint may be from what it parts, mm."""
    if run.scallops is not None:
        return 2.0 * float(run.scallops.row.width.max())
    insets = [
        float(np.hypot(*(row.points - run.course.measured.points(row.s)).T).max(initial=0.0)) for row in run.eyelets
    ]
    return 2.0 * max(insets, default=0.0) + 1e-6


def _settled(run: Run, point: Array, along: float, part: int, turn: int, reach: float) -> tuple[int, int]:
    """The part and the turn of a point, moved over the joints beside it until it lies within its part's lines.

    Only joints within reach of the trim have a say, for a line drawn on far enough meets a curved run again.
    """
    laid, length = run.laid, run.course.measured.length
    first = turn

    def beyond(joint: int, on: int) -> bool | None:
        """Whether the point lies beyond a joint on that turn; None where there is no such joint within reach."""
        if not 0 <= joint < len(laid.joints) or abs((on - first) * length + laid.joints[joint].s - along) >= reach:
            return None
        own, following = laid.parts[joint], laid.parts[(joint + 1) % len(laid.parts)]
        prefer_after = own.copy_of is not None and following.copy_of is None
        there = motion.apply(laid.turned(-on), point) - laid.joints[joint].point
        return float(there @ laid.joints[joint].square) > (-1e-6 if prefer_after else 1e-6)

    moved = 0
    while beyond(part, turn) and moved < len(laid.parts):
        part, turn, moved = (part + 1, turn, moved + 1) if part + 1 < len(laid.parts) else (0, turn + 1, moved + 1)
    while not moved or moved < 0:
        before, on = (part - 1, turn) if part > 0 else (len(laid.parts) - 1, turn - 1)
        if (part == 0 and not laid.loop) or beyond(before, on) is not False or moved <= -len(laid.parts):
            break
        part, turn, moved = before, on, moved - 1
    return part, turn


def placed_on_sheet(run: Run, points: Array, s: Array, beside: Array | None = None) -> tuple[Ints, Array]:
    """The parts on which points of the flat frame lie, and the points (k, 2) on the sheet.

    Each is of the part that it lies on itself, or that its place in `beside` (k, 2) lies on.
    """
    if not run.laid.joints:
        return np.zeros(len(points), dtype=np.intp), points
    parts, turns = parts_at(run, points if beside is None else beside, s)
    out = points.copy()
    for part, turn in sorted(set(zip(parts.tolist(), turns.tolist(), strict=True))):
        here = (parts == part) & (turns == turn)
        out[here] = motion.apply(to_sheet(run.laid, part, turn), points[here])
    return parts, out


def on_sheet(run: Run, warnings: Iterable[Warn]) -> tuple[Warn, ...]:
    """Warnings about places of the flat frame, told of the pieces on the sheet."""
    return tuple(_told(run, warning) for warning in warnings)


def _told(run: Run, warning: Warn) -> Warn:
    if not run.laid.joints or warning.x is None or warning.y is None:
        return warning
    point = np.array([(warning.x, warning.y)])
    found = nearest(run.course.measured.curve, point)
    s = run.course.measured.lengths(found.segment, found.t)
    parts, places = placed_on_sheet(run, point, s)
    piece = run.laid.parts[int(parts[0])].edge.piece.name
    return replace(warning, piece=piece, x=float(places[0, 0]), y=float(places[0, 1]))


def opened(run: LaidRun) -> int:
    """How often a run is there once the folds at its ends are opened.

    A piece between two folds opens round the point where they cross: as often as their angle goes into a full turn.
    """
    first, last = run.folds
    if first is None or last is None or run.parts[0].edge.piece is not run.parts[-1].edge.piece:
        return 1 if first is None and last is None else 2
    back = [motion.inverse(part.motion) for part in (run.parts[0], run.parts[-1])]
    a, b = (m[:, :2] @ fold.along for m, fold in zip(back, (first, last), strict=True))
    between = motion.apply(back[1], last.point) - motion.apply(back[0], first.point)
    angle = math.atan2(abs(float(cubics.cross(a, b))), abs(float(cubics.dot(a, b))))
    if angle < _PARALLEL:
        return 2 if abs(float(cubics.cross(a, between))) < _ONE_LINE else 4
    shares = round(math.pi / angle)
    return 2 * shares if abs(math.pi / shares - angle) < _PARALLEL else 4
