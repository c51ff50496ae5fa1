"""Alterations: what to let out or take in at which seam so that all scallops get just the width wanted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from ..pattern.joins import SEAM
from ..trim.course import Span
from ..trim.letting import change
from .wishes import wish_of, yes

if TYPE_CHECKING:
    from ..pattern.laying import Joint
    from .drawing import Drawing
    from .runs import Run

# Alterations smaller than this, mm, are none.
_NOTHING = 1e-6
# Reports, tables and sheets tell the same of a run, and each alteration takes several fittings.
_FOUND: WeakKeyDictionary[Run, tuple[Alteration, ...]] = WeakKeyDictionary()


@dataclass(frozen=True)
class Alteration:
    """A change at one end of one span.

    Attributes:
        span: the span's number, from 1 on.
        at: the place that moves.
        piece: the piece that is let out or taken in there.
        add: mm to let out (+) or take in (-) along the edge.
    """

    span: int
    at: str
    piece: str
    add: float


def alterations(drawing: Drawing, run: Run) -> tuple[Alteration, ...]:
    """What makes every span hold its scallops at just the width aimed at.

    A span is altered at the seams at its ends, evenly if there are two, else at a free end; folds, darts and marks
    stay. A span that is exact, or has nothing that may move, is left out.
    """
    if run not in _FOUND:
        _FOUND[run] = _found(drawing, run)
    return _FOUND[run]


def _found(drawing: Drawing, run: Run) -> tuple[Alteration, ...]:
    if run.fit is None or run.recipe.scallop is None:
        return ()
    fitted = run.fit
    wish = wish_of(run.recipe.scallop, drawing.pattern, run.course.measured.length, fitted.target)
    out: list[Alteration] = []
    for i, (span, count) in enumerate(zip(fitted.spans, fitted.counts, strict=True)):
        ends = _movable(run, span)
        made = change(run.course, span, count, fitted.target, replace(wish, width=fitted.target, count=None), ends)
        for at_end, add in enumerate((made.start, made.end) if made is not None else ()):
            if abs(add) > _NOTHING:
                out.append(Alteration(i + 1, *_place(run, span, bool(at_end)), add))
    return tuple(out)


def altered(run: Run) -> bool:
    """Whether the maker will want to know: where she asked for it, and where seams could move."""
    words = run.recipe.scallop
    asked = words is not None and (bool(words.like) or yes(words.same_width, "--same-width"))
    return asked or (len(run.widths) > 1 and any(joint.kind == SEAM for joint in run.laid.joints))


def _movable(run: Run, span: Span) -> tuple[bool, bool]:
    seams = [(joint := _joint_at(run, span, at_end)) is not None and joint.kind == SEAM for at_end in (False, True)]
    if any(seams):
        return seams[0], seams[1]
    length = run.course.measured.length
    free = (span.start.s < _NOTHING, span.end.s > length - _NOTHING) if not run.laid.loop else (False, False)
    return free[0] and not span.start.fold, free[1] and not span.end.fold


def _joint_at(run: Run, span: Span, at_end: bool) -> Joint | None:
    for joint in run.laid.joints:
        if run.is_at(joint, span.end.s if at_end else span.start.s):
            return joint
    return None


def _place(run: Run, span: Span, at_end: bool) -> tuple[str, str]:
    """The name of the place at an end of a span, and the piece on the span's side of it."""
    parts = run.laid.parts
    stop = span.end if at_end else span.start
    joint = _joint_at(run, span, at_end)
    if joint is None:
        return stop.name, parts[-1 if at_end else 0].edge.piece.name
    k = run.laid.joints.index(joint)
    return joint.name, parts[k if at_end else (k + 1) % len(parts)].edge.piece.name
