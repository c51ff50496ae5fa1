"""The caps of a run's darts: between the legs of each the line that its pressed intake is cut along."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..construction.cap import TOWARD_START, Cap, dart_cap, downward, pressed_by_default, toward_centre
from ..errors import RequestError
from ..geometry import motion
from ..geometry.cubics import Array
from ..pattern.joins import DART
from ..pattern.laying import LaidRun
from ..pattern.piece import Warn
from .join_words import CENTRE, DOWN, SIDE

if TYPE_CHECKING:
    from .runs import Run


@dataclass(frozen=True, eq=False)
class MadeCap:
    """The cap at one joint of a run; None where there is nothing to cut it by."""

    joint: int
    cap: Cap | None
    warning: Warn | None = None


def caps_of(run: Run) -> tuple[MadeCap, ...]:
    """The caps of all darts that the trim passes over; a dart left open on purpose needs none."""
    if run.scallops is None:
        return ()
    out = []
    for k, joint in enumerate(run.laid.joints):
        left_open = any(stop.breaks and run.is_at(joint, stop.s) for stop in run.stops)
        if joint.kind != DART or left_open or run.laid.parts[k].copy_of is not None:
            continue
        try:
            out.append(MadeCap(k, dart_cap(run.laid, k, _line_beside(run, k), pressed(run, k))))
        except RequestError as error:
            edge = run.laid.parts[k].edge
            x, y = edge.curve[-1, 3]
            out.append(MadeCap(k, None, Warn("no-cap", str(error), edge.piece.name, float(x), float(y))))
    return tuple(out)


def pressed(run: Run, joint: int) -> int:
    """The side to which the dart at a joint is pressed, as asked for or as is usual."""
    word = run.recipe.joins[joint].press
    if not word:
        return pressed_by_default(run.laid, joint)
    if word in (CENTRE, SIDE):
        way = toward_centre(run.laid, joint)
        return way if word == CENTRE else -way
    way = downward(run.laid, joint)
    return way if word == DOWN else -way


def pressed_to(run: Run, joint: int) -> str:
    """The name of the leg's end toward which a dart is pressed."""
    met = run.laid.joints[joint].meeting
    if met is None:
        raise ValueError("only a dart is pressed to a side")
    return met.first.end if pressed(run, joint) == TOWARD_START else met.second.start


def _line_beside(run: Run, joint: int) -> list[Array]:
    """The trimmed line of the part before a joint and of the one behind it, where the part before lies flat."""
    laid = run.laid
    following = (joint + 1) % len(laid.parts)
    onward = laid.closing if joint + 1 == len(laid.parts) else motion.IDENTITY
    return [*_flat(run, joint, motion.IDENTITY), *_flat(run, following, onward)]


def _flat(run: Run, part: int, onward: Array) -> list[Array]:
    laid: LaidRun = run.laid
    to_flat = motion.compose(onward, laid.parts[part].motion)
    return [motion.apply(to_flat, curve) for _, curve in run.share_on_sheet(run.shares[part])]
