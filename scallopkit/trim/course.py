"""What trim is fitted to: a line laid flat, the places where it must behave, and the wishes of the maker."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..geometry.cubics import Array
from ..geometry.length import Measured
from .shape import Shape

VALLEY, CREST, WRAP = "valley", "crest", "wrap"


@dataclass(frozen=True, eq=False)
class Course:
    """A line for trim.

    Attributes:
        measured: the line with its lengths; a loop goes on beyond its end by its closing, which it needs.
        loop: whether it is closed.
        side: +1 where scallops bulge to the walker's left, -1 to the right.
    """

    measured: Measured
    loop: bool
    side: int


@dataclass(frozen=True)
class Stop:
    """A place on the course where the trim is told what to do.

    Attributes:
        name: what the maker calls it.
        s: its length along the course, mm.
        hold: VALLEY, CREST, or WRAP (a corner with a scallop round it).
        gap: how far short of it the trim stops and starts again, mm; only with VALLEY.
        mirror: unit normal of the mirror line in the walking direction, for a CREST at an end of the course.
        turn: how far the course turns here towards the bulging side being outside, radians; for WRAP.
        fold: whether the course goes on beyond it as its own mirror image.
        joint: whether two edges meet here, which each take their half of a space.
        flat: whether the line goes on over the gap, flat as over a space.
    """

    name: str
    s: float
    hold: str
    gap: float = 0.0
    mirror: tuple[float, float] | None = None
    turn: float = 0.0
    fold: bool = False
    joint: bool = False
    flat: bool = False

    @property
    def breaks(self) -> bool:
        """Whether the line ends short of it, and starts again beyond."""
        return self.gap > 0.0 and not self.flat


@dataclass(frozen=True)
class Weights:
    """Relative sizes of the scallops: a pattern that repeats from each hold, or sizes that grow along the course."""

    pattern: tuple[float, ...] = (1.0,)
    grow_to: float | None = None

    def sizes(self, pieces: int, begin: float, end: float) -> Array:
        """Weights (pieces,) of the scallops and halves of a span that covers these shares of the course."""
        if self.grow_to is None:
            return np.resize(np.array(self.pattern), pieces)
        share = np.linspace(begin, end, pieces) if pieces > 1 else np.array([0.5 * (begin + end)])
        return np.asarray(self.pattern[0] + (self.grow_to - self.pattern[0]) * share)


@dataclass(frozen=True)
class Wish:
    """What the maker asked for; lengths in mm.

    Attributes:
        shape: profile and depth.
        width: target width of a scallop of weight 1, or None.
        count: how many over the whole course, or None.
        least, most: limits of the width.
        weights: relative sizes.
        space: flat stretch left between two scallops.
        along: equal lengths along the edge rather than equal chords.
        touch: VALLEY, CREST or "middle": which part of the scallop lies on the course.
    """

    shape: Shape
    width: float | None = None
    count: float | None = None
    least: float = 0.0
    most: float = float("inf")
    weights: Weights = Weights()
    space: float = 0.0
    along: bool = False
    touch: str = VALLEY


@dataclass(frozen=True)
class Span:
    """The part of a course between two stops."""

    start: Stop
    end: Stop

    @property
    def begin(self) -> float:
        """Where its trim begins, mm along the course."""
        return self.start.s + self.start.gap

    @property
    def finish(self) -> float:
        """Where its trim ends, mm along the course."""
        return self.end.s - self.end.gap

    @property
    def length(self) -> float:
        """Length between begin and finish, mm."""
        return self.finish - self.begin

    @property
    def halves(self) -> int:
        """How many of its ends take half a scallop."""
        return (self.start.hold == CREST) + (self.end.hold == CREST)

    @property
    def least(self) -> float:
        """The smallest count it can take: one scallop; half of one with a crest at one end, two halves with two."""
        return (1.0, 0.5, 1.0)[self.halves]


def spans_of(course: Course, stops: tuple[Stop, ...]) -> list[Span]:
    """The spans between neighbouring stops; a loop's last one ends at its first stop, a turn later."""
    rows = list(stops)
    if course.loop:
        rows.append(replace(rows[0], s=course.measured.length, mirror=None))
    return [Span(a, b) for a, b in pairwise(rows)]
