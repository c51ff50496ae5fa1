"""The holds in the picture of a run laid flat: where the trim is told what to do, as signs and names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.cubics import Array
from ..pattern.laying import Joint
from ..trim.course import Stop
from ..trim.holds import GAP, PASS
from .flat_paper import Paper
from .flat_view import View
from .lettering import one_line

# Two places of the edge closer than this, mm, are one.
_SAME = 1e-6


@dataclass(frozen=True, eq=False)
class Hold:
    """A place where the trim is told what to do.

    Attributes:
        kind: what is done there.
        name: of the joint or the mark.
        point: of the edge.
        inward: the unit direction into the cloth there.
        told: whether its name has to be written beside it, being no joint's.
    """

    kind: str
    name: str
    point: Array
    inward: Array
    told: bool


def holds_of(view: View) -> list[Hold]:
    """All holds of a run with scallops, and the joints over which these pass; a loop's end shows at its start too."""
    run = view.run
    total = view.line.length
    joints = [view.joint(0, end=False), *run.laid.joints, run.laid.folds[1]]
    there = [joint for joint in joints if joint is not None]
    out = []
    for stop in run.stops if run.scallops is not None else ():
        s = (stop.s + run.origin) % total if run.laid.loop else stop.s
        ends = [0.0, total] if view.reopens and min(s, total - s) < _SAME else [s]
        out += [_hold(view, stop, at, there) for at in ends]
    for joint in there if run.scallops is not None else ():
        if not any(run.is_at(joint, stop.s) for stop in run.stops):
            out.append(Hold(PASS, joint.name, joint.point, joint.along, False))
    return out


def _hold(view: View, stop: Stop, s: float, joints: Sequence[Joint]) -> Hold:
    kind = GAP if stop.breaks else stop.hold
    for joint in joints:
        if abs(joint.s - s) < _SAME:
            return Hold(kind, joint.name, joint.point, joint.along, False)
    point, inward = view.at(s)
    return Hold(kind, stop.name, point, inward, True)


def _sign_place(view: View, hold: Hold) -> Array:
    return np.asarray(hold.point + (view.below + 1.1 * view.size) * hold.inward)


def draw_holds(paper: Paper, view: View, holds: Sequence[Hold]) -> None:
    """Each hold's sign on the cloth, clear of the scallops."""
    for hold in holds:
        paper.sign("holds", hold.kind, _sign_place(view, hold), hold.inward, f"{hold.kind} at {one_line(hold.name)}")


def name_holds(paper: Paper, view: View, holds: Sequence[Hold]) -> None:
    """The names of the holds at which no joint's name stands."""
    for hold in holds:
        if hold.told:
            paper.name([one_line(hold.name)], _sign_place(view, hold), hold.inward)
