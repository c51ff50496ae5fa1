"""What lies round a run's edges on the sheet: the rest of their outlines, cutting lines and other pieces."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import Measured, measure
from ..pattern.joins import FOLD, LAP
from ..pattern.laying import LaidRun
from .drawing import Drawing

if TYPE_CHECKING:
    from .runs import Run


def outlines_near(drawing: Drawing, run: Run, part: int) -> list[tuple[str, Array]]:
    """What the scallops of a part should keep clear of, with its name, as it lies on the sheet.

    That is the rest of the outline, or the cut round it, and the other pieces. A fold is no edge, nor is a seam of the
    run: beyond it the cloth goes on.
    """
    drawn = run.laid.parts[part].drawn
    own = drawn.piece
    others = [(f'the outline of "{p.name}"', p.curve) for p in drawing.pattern.pieces if p is not own]
    carries_allowance = run.laid.parts[part].net and own.closed
    name = f'the cutting line of "{own.name}"' if carries_allowance else f'another edge of "{own.name}"'
    if drawn.rest is None:
        return [(name, own.curve), *others] if carries_allowance else others
    goes_on_before, goes_on_after = _goes_on(run.laid, part)
    first = len(drawn.after) if drawn.after is not None and goes_on_after else 0
    last = len(drawn.rest) - (len(drawn.before) if drawn.before is not None and goes_on_before else 0)
    mine = [(name, drawn.rest[first:last])] if last > first else []
    return [*([(name, drawn.curve)] if carries_allowance else []), *mine, *others]


def _goes_on(run: LaidRun, part: int) -> tuple[bool, bool]:
    """Whether the cloth goes on beyond the start, and the end, of a part."""
    before = part > 0 or run.loop or run.folds[0] is not None
    after = part < len(run.parts) - 1 or run.loop or run.folds[1] is not None
    return before and bool(run.joints or run.folds[0]), after and bool(run.joints or run.folds[1])


def lines_near(drawing: Drawing, run: Run) -> list[Array]:
    """The lines that flanges should keep clear of, in the flat frame: what is near, and the seams that are crossed."""
    if not run.laid.joints:
        return [curve for _, curve in outlines_near(drawing, run, 0)]
    reach = 2.0 * float(run.scallops.depth.max()) if run.scallops is not None else 50.0
    sewn = [joint for joint in run.laid.joints if joint.kind not in (FOLD, LAP)]
    return [cubics.lines([joint.point, joint.point + reach * joint.along]) for joint in sewn]


def cutting_line(run: LaidRun) -> Measured | None:
    """The cutting line along a run in its flat frame; None where all edges are drawn as they are sewn.

    What lies square outside the stitching line of a single edge may be a neighbouring edge's cut, so its whole outline
    counts.
    """
    if not any(part.net for part in run.parts):
        return None
    if not run.joints:
        part = run.parts[0]
        return measure(part.edge.piece.curve if part.edge.piece.closed else part.drawn.curve)
    laid = [motion.apply(part.motion, part.drawn.curve) for part in run.parts]
    bridged = [laid[0]]
    for a, b in pairwise(laid):
        bridged += [cubics.lines([a[-1, 3], b[0, 0]]), b]
    return measure(cubics.without_points(np.concatenate(bridged)))
