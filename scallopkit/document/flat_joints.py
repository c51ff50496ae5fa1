"""The joints in the picture of a run laid flat: the lines on which the parts meet, and what is said of them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..pattern.joins import FOLD, LAP
from ..pattern.laying import Joint, is_true, true_lines
from .flat_bands import Band
from .flat_paper import Paper
from .flat_view import ONE, View, piece_name
from .lettering import one_line


def draw_joints(paper: Paper, view: View, bands: Sequence[Band]) -> None:
    """The lines on which the parts meet, and what would make a joint true."""
    laid = view.run.laid
    before: Array | None = None
    for k, band in enumerate(bands):
        for end in (False, True):
            joint = view.joint(k, end)
            if joint is None:
                continue
            line = _joint_line(view, joint, band.sides[end])
            if before is None or not _alike(line, before):
                paper.stroke("joins", joint.kind, line, f"{joint.kind} {one_line(joint.name)}")
            before = line
    if any(joint.trued for joint in laid.joints):
        return
    for part, curve in true_lines(laid):
        label = f"smooth line on {piece_name(laid.parts[part])}"
        paper.stroke("joins", "true-line", motion.apply(laid.parts[part].motion, curve), label)


def name_joints(paper: Paper, view: View, bands: Sequence[Band]) -> None:
    """What each joint is and does, at the inner end of its line."""
    laid = view.run.laid
    for k, band in enumerate(bands):
        for end in (False, True):
            joint = view.joint(k, end)
            # What is named at one part's end is not named again at the next one's start.
            if joint is None or (not end and (k > 0 or (laid.loop and not view.reopens))):
                continue
            line = _joint_line(view, joint, band.sides[end])
            paper.name(_joint_text(view, joint, k, end), line[-1, 3], joint.along)


def _joint_text(view: View, joint: Joint, part: int, end: bool) -> list[str]:
    laid = view.run.laid
    lines = [joint.kind, one_line(joint.name)]
    if laid.loop and (not end or part + 1 == len(laid.parts)):
        lines.append("closes the loop")
    if joint.meeting is None:
        lines.append("mirror image beyond")
    if joint.lap:
        lines.append(f"{joint.lap:g} mm on each side")
    if not is_true(joint):
        lines.append(f"turns {abs(math.degrees(joint.true.angle)):.1f}°,")
        what = "dips" if joint.true.side * view.out < 0 else "peaks"
        lines.append("smoothed here" if joint.trued else f"{what} by {joint.true.dip:.2f} mm")
    return lines


def _joint_line(view: View, joint: Joint, side: Array) -> Array:
    """A joint's own line: the seam edge beside it; a fold goes on beyond the scallops, a lap's middle is straight."""
    if joint.kind == FOLD:
        return cubics.lines([joint.point - (view.above + 2.0 * view.size) * joint.along, side[-1, 3]])
    if joint.kind == LAP:
        along = float((side[-1, 3] - side[0, 0]) @ joint.along)
        return cubics.lines([joint.point, joint.point + along * joint.along])
    return side


def _alike(a: Array, b: Array) -> bool:
    """Whether two lines from one joint are one line as far as both go."""
    both = measure(a), measure(b)
    s = np.linspace(0.0, min(m.length for m in both), 9)
    return bool(np.abs(both[0].points(s) - both[1].points(s)).max() <= ONE)
