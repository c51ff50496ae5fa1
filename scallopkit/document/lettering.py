"""Texts set on a drawing so that none covers another one or a line.

Nobody knows the font that a drawing will be seen with, so a text is taken to be as large as in the widest usual
sans-serif. Places and sizes are in the drawing's unit.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Literal

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array, Bools
from .styles import LEADING
from .tables import width as columns_of

_LONGEST = 40
# Where a text is looked for: in rings of half a text's size, and turned from the first direction, in radians. The near
# ones come first, and farther ones before those that turn away more.
_TRIES = sorted(
    product(range(160), (0, 20, -20, 40, -40, 60, -60, 85, -85, 115, -115, 150, -150, 180)),
    key=lambda t: (t[0] + abs(t[1]) / 12.0, abs(t[1]), t[1] < 0),
)
_RINGS, _TURNS = np.array(_TRIES, dtype=float).T * np.array([[1.0], [math.pi / 180.0]])
# A text farther from its place than this, in sizes, needs a line to it.
_FAR = 3.0


@dataclass(frozen=True, eq=False)
class Placed:
    """Where a text has found room.

    Attributes:
        at: the middle of its upper side, (2,).
        leader: the straight line from what it belongs to, to the text (2, 2); None where it lies near enough.
    """

    at: Array
    leader: Array | None


@dataclass(eq=False)
class Lettering:
    """The room that texts of one size have left on a drawing.

    Attributes:
        size: the texts' font size.
    """

    size: float
    _ink: list[Array] = field(default_factory=list)
    _texts: list[Array] = field(default_factory=list)
    _extents: list[Array] = field(default_factory=list)

    def keep_clear(self, curve: Array) -> None:
        """Lets no further text cover a curve (n, 4, 2)."""
        points = cubics.flatten(curve, 0.1 * self.size)
        step = np.hypot(*np.diff(points, axis=0).T)
        s = np.concatenate([[0.0], np.cumsum(step)])
        every = np.arange(0.0, s[-1], 0.4 * self.size)
        self._ink.append(np.stack([np.interp(every, s, points[:, 0]), np.interp(every, s, points[:, 1])], axis=1))
        self.include(np.stack([points.min(axis=0), points.max(axis=0)]))

    def include(self, box: Array) -> None:
        """Counts a box [[x, y], [x, y]] as part of the drawing, though texts may lie on it."""
        self._extents.append(box)

    def reserve(
        self, lines: Sequence[str], at: Array, bold: bool = False, anchor: Literal["start", "middle"] = "middle"
    ) -> None:
        """Takes the room of a text that has to stand where it is told.

        Args:
            lines: the text.
            at: the point (2,) of its upper side from which it is set.
            bold: whether it is bold.
            anchor: whether it begins at `at` or has its middle there.
        """
        width, height = text_extent(lines, self.size, bold)
        left = float(at[0]) - (0.5 * width if anchor == "middle" else 0.0)
        box = np.array([[left, at[1]], [left + width, at[1] + height]])
        self._texts.append(box)
        self.include(box)

    def place(self, lines: Sequence[str], anchor: Array, away: Array, bold: bool = False, upon: bool = False) -> Placed:
        """Finds the nearest room for a text, and takes it.

        The line to it, if it needs one, cuts no more than a corner of another text's box, unless there was no room
        but above everything; to keep later texts off that line too, hand it to `keep_clear`.

        Args:
            lines: the text.
            anchor: the point (2,) that it belongs to.
            away: the unit direction (2,) in which room is looked for first.
            bold: whether it is bold.
            upon: whether it may lie on its point, rather than beside it.
        """
        half = 0.5 * np.array(text_extent(lines, self.size, bold))
        centre, far = self._room(anchor, away, half, upon)
        at = np.array([centre[0], centre[1] - half[1]])
        self.reserve(lines, at, bold)
        leader = np.stack([anchor, np.clip(anchor, centre - half, centre + half)]) if far else None
        return Placed(at, leader)

    def extent(self) -> Array:
        """The box [[x, y], [x, y]] round all there is, of which there has to be something."""
        every = np.array(self._extents)
        return np.stack([every[:, 0].min(axis=0), every[:, 1].max(axis=0)])

    def _room(self, anchor: Array, away: Array, half: Array, upon: bool) -> tuple[Array, bool]:
        """The middle of the nearest free box of a half size, and whether it is far off."""
        taken = half + 0.3 * self.size
        clear = self._clear_of_texts(self._tried(anchor, away, half, upon), taken)
        ink = np.concatenate([np.zeros((0, 2)), *self._ink])
        for some in np.array_split(clear, math.ceil(len(clear) / 16) or 1):
            # Only ink that the outermost of them could reach is looked at.
            low, high = some.min(axis=0, initial=np.inf) - taken, some.max(axis=0, initial=-np.inf) + taken
            near = ink[np.all((ink > low) & (ink < high), axis=1)]
            for centre in some[~_overlap(some - taken, some + taken, np.stack([near, near], axis=1))]:
                to = np.clip(anchor, centre - taken, centre + taken)
                far = float(np.hypot(*(to - anchor))) > _FAR * self.size
                if not far or not self._crosses_texts(anchor, to):
                    return centre, far
        # Farther off than anything there is room, though lines may pass under the line to it.
        return np.array([anchor[0], self.extent()[0, 1] - taken[1] - self.size]), True

    def _tried(self, anchor: Array, away: Array, half: Array, upon: bool) -> Array:
        """The middles (k, 2) of all boxes of a half size that are thought of, the best first."""
        cos, sin = np.cos(_TURNS), np.sin(_TURNS)
        ways = np.stack([cos * away[0] - sin * away[1], sin * away[0] + cos * away[1]], axis=1)
        gaps = (0.6 + 0.5 * _RINGS) * self.size + np.abs(ways) @ half
        beside = anchor + gaps[:, None] * ways
        return np.concatenate([anchor[None], beside]) if upon else beside

    def _clear_of_texts(self, centres: Array, half: Array) -> Array:
        return centres[~_overlap(centres - half, centres + half, self._boxes())]

    def _crosses_texts(self, start: Array, end: Array) -> bool:
        """Whether a line crosses a text."""
        points = start + np.linspace(0.0, 1.0, 100)[:, None] * (end - start)
        return bool(_overlap(points, points, self._boxes()).any())

    def _boxes(self) -> Array:
        return np.array(self._texts).reshape(-1, 2, 2)


def text_extent(lines: Sequence[str], size: float, bold: bool = False) -> tuple[float, float]:
    """The width and the height that a text takes at the most in any plain sans-serif.

    Args:
        lines: the text, at least one line.
        size: its font size; the result is in the same unit.
        bold: whether it is bold.
    """
    widest = max(sum(map(_em, line)) for line in lines)
    return widest * size * (1.12 if bold else 1.0), len(lines) * LEADING * size


def wrapped(text: str, room: float, size: float) -> list[str]:
    """A text in lines about as long as the room, as far as its words can be parted; one line at least.

    Args:
        text: the text.
        room: the length for a line, in the unit of `size`.
        size: the font size.
    """
    return textwrap.wrap(text, max(4, int(room / (0.75 * size))), break_long_words=False) or [text]


def within(text: str, room: float, size: float) -> list[str]:
    """A text in as few lines as surely keep within the room, as far as its words can be parted; one line at least.

    Args:
        text: the text.
        room: the length for a line, in the unit of `size`.
        size: the font size.
    """
    rows = [""]
    for word in text.split():
        longer = f"{rows[-1]} {word}".strip()
        if rows[-1] and text_extent([longer], size)[0] > room:
            rows.append(word)
        else:
            rows[-1] = longer
    return rows


def one_line(text: str) -> str:
    """A name in one line that is not too long; a dash for none."""
    words = " ".join(text.split()) or "-"
    return words if len(words) <= _LONGEST else words[: _LONGEST - 1] + "…"


def _em(letter: str) -> float:
    """A letter's width as a share of the text's size, that of the widest usual sans-serif."""
    columns = columns_of(letter)
    if columns == 0:
        return 0.0
    if columns == 2 or letter in "mwMW@%":
        return 1.05
    if letter in " .,:;'|!ijlI()[]/-":
        return 0.4
    return 0.82 if letter.isupper() else 0.66


def _overlap(low: Array, high: Array, boxes: Array) -> Bools:
    """Which of the boxes from `low` to `high` (k, 2) overlap any of `boxes` (n, 2, 2)."""
    both = (low[:, None] < boxes[:, 1]) & (boxes[:, 0] < high[:, None])
    return np.asarray(np.any(both[..., 0] & both[..., 1], axis=1))
