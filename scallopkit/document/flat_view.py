"""A run as the picture of it laid flat sees it: the laid edge, what reaches how far beside it, and the joints."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import Measured
from ..pattern.laying import Joint, Part
from ..trim.course import CREST, VALLEY
from .lettering import one_line
from .runs import Run
from .styles import TEXTS

# Two lines closer than this, mm, are drawn once; a loop whose end is so near its start closes flat.
ONE = 0.05

# Size of the texts, mm: that of labels, or this share of the picture where it would be lost on a large one: it is still
# read where the picture is as wide as a page.
_TEXT, _TEXT_SHARE = TEXTS["label"].size_mm, 0.011
# How deep a band of cloth is shown, mm, or in widths of a scallop where that is more.
_DEPTH, _WIDTHS = 60.0, 2.5
# How far beside a place of the edge its direction is taken, mm.
_STEP = 0.01


@dataclass(frozen=True, eq=False)
class View:
    """A run as its picture sees it; lengths in mm.

    Attributes:
        run: the run.
        line: the laid edge with its lengths; a place is a length along it.
        out: +1 where the cloth ends to the walker's left, -1 to the right.
        width: of the widest scallop; 0 without scallops.
        above, below: how far the scallops reach outside and inside the edge.
        size: of the texts.
        depth: how deep the cloth is shown.
        reopens: whether a loop's end lies elsewhere than its start.
    """

    run: Run
    line: Measured
    out: int
    width: float
    above: float
    below: float
    size: float
    depth: float
    reopens: bool

    def at(self, s: float) -> tuple[Array, Array]:
        """The point of the edge at a length, and the unit direction into the cloth there."""
        # At a corner it is half way between the directions on either side.
        both = self.line.normals(np.array([s - _STEP, s + _STEP])).sum(axis=0)
        return self.line.points(np.array([s]))[0], -self.out * both / float(np.hypot(*both))

    def joint(self, part: int, end: bool) -> Joint | None:
        """The joint at an end of a part, where it lies in the flat frame at that end."""
        laid = self.run.laid
        if end:
            return laid.joints[part] if part < len(laid.joints) else laid.folds[1]
        if part > 0:
            return laid.joints[part - 1]
        if not (laid.loop and laid.joints):
            return laid.folds[0]
        back, joint = motion.inverse(laid.closing), laid.joints[-1]
        along, square = (back[:, :2] @ v for v in (joint.along, joint.square))
        return replace(joint, s=0.0, point=motion.apply(back, joint.point), along=along, square=square)


def view_of(run: Run) -> View:
    """The run as its picture sees it."""
    line = run.laid.line.measured
    out = run.laid.line.outside or run.course.side
    width = depth = 0.0
    if run.scallops is not None:
        width, depth = float(run.scallops.row.width.max()), float(run.scallops.depth.max())
    touch = run.recipe.scallop.touch if run.recipe.scallop is not None else ""
    beyond = {"": 1.0, VALLEY: 1.0, CREST: 0.0}.get(touch, 0.5) * depth
    above, below = (beyond, depth - beyond) if run.course.side == out else (depth - beyond, beyond)
    shown = max(_DEPTH, _WIDTHS * width)
    extent = float(np.ptp(cubics.bounds(line.curve), axis=0).max()) + shown
    size = max(_TEXT, _TEXT_SHARE * extent)
    apart = motion.apply(run.laid.closing, line.curve[0]) - line.curve[0]
    reopens = run.laid.loop and float(np.abs(apart).max()) > ONE
    return View(run, line, out, width, above, below, size, shown, reopens)


def piece_name(part: Part) -> str:
    """The name of a part's piece as the picture writes it."""
    return one_line(part.edge.piece.name) + (", mirrored" if part.copy_of is not None else "")
