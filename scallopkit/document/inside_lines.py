"""Lines inside the edge of a run, laid flat: at a distance all along it, up to what bounds it, parted at the joints."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ..construction.edge_line import part_of
from ..construction.laid_trim import Across, Inside, Side, Told, inside
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import Measured, measure
from .runs import Run

# How far sides and seams are looked for beyond what the line reaches, as a multiple of that.
_BEYOND = 8.0


def line_inside(run: Run, bounds: tuple[float, float], distance: float, told: Told) -> Inside:
    """The line at a distance to the left of the edge of a run laid flat.

    Args:
        run: the run.
        bounds: from where to where along the edge, mm; of no matter round a loop.
        distance: mm; negative to the right.
        told: how messages speak of it.

    Raises:
        NoFitError: there is no single such line; the text says what to do.
    """
    joints = [Across(joint.point, joint.along, joint.square) for joint in run.laid.joints]
    closed = run.laid.loop and not run.laid.joints
    sides = _sides(run, bounds, abs(distance))
    return inside(stretch_of(run, bounds).curve, distance, closed, sides, joints, told)


def stretch_of(run: Run, bounds: tuple[float, float]) -> Measured:
    """The edge of a run laid flat, from one length along it to another."""
    m = run.laid.line.measured
    return m if run.laid.loop or bounds == (0.0, m.length) else measure(m.part(*bounds))


def _sides(run: Run, bounds: tuple[float, float], depth: float) -> tuple[Side, Side]:
    """What the line goes up to: the sides of the piece, the folds, or the joint where a loop closes."""
    laid_flat, line = run.laid, run.laid.line
    if laid_flat.loop:
        if not laid_flat.joints:
            return Side(), Side()
        joint = laid_flat.joints[-1]
        across = cubics.lines([joint.point, joint.point + _BEYOND * depth * joint.along])
        return Side(motion.apply(motion.inverse(laid_flat.closing), across)), Side(across)
    begin, end = bounds
    return Side(line.before if begin == 0.0 else None), Side(line.after if end == line.measured.length else None)


def parted(run: Run, line: Inside) -> Iterator[tuple[int, Array]]:
    """A line inside a run part by part, with the numbers of the parts."""
    m = line.measured
    bounds = [0.0, *line.joints, *([] if len(line.joints) == len(run.laid.parts) else [m.length])]
    for part, (begin, end) in enumerate(pairwise(bounds)):
        yield part, part_of(m, begin, end)
