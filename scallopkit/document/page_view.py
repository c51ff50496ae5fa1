"""What of a drawing a page shows: the segments of lines that reach into its window, and the texts.

A page that wrote every line whole which comes by would take as long as the drawing, and so would each of a hundred.
Parts of a line that lie apart on a page are stretches; dashes go on along each as if the line had been drawn whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.cubics import Array, Bools, Ints
from ..geometry.length import measure
from .drawn import DrawnLine, DrawnText

# A line is looked for so much farther out than half its width, mm: ends and joins of stretches lie out of sight even
# where printers and programs round, and the white under a fold is wider than the fold.
_BEYOND = 1.0


@dataclass(frozen=True, eq=False)
class Stretch:
    """Segments of a line that follow one another on a page.

    Attributes:
        curve: the segments (n, 4, 2), mm.
        closed: whether they are all segments of a closed line.
        along: how far along its line the stretch begins, mm; 0 for all stretches of a solid line, which need it not.
    """

    curve: Array
    closed: bool
    along: float


@dataclass(frozen=True, eq=False)
class PageView:
    """Lines and texts with the boxes in which they are seen; made by `page_view`."""

    _lines: tuple[DrawnLine, ...]
    _texts: tuple[DrawnText, ...]
    # By segment: whose it is, the box in which it is seen, and how far along its line it begins.
    _owner: Ints
    _boxes: Array
    _along: Array
    # By line: its first segment, and how far it is seen.
    _first: Ints
    _reach: Array
    _text_boxes: Array

    def lines(self, low: Array, high: Array) -> list[tuple[DrawnLine, list[Stretch]]]:
        """The lines that are seen in the window from `low` to `high`, mm, each with the stretches that are."""
        seen = np.flatnonzero(_touch(self._boxes, low, high))
        by_line = _parted(seen, np.diff(self._owner[seen]) > 0)
        owners = [int(self._owner[segments[0]]) for segments in by_line]
        return [
            (self._lines[k], self._stretches(k, segments, low, high))
            for k, segments in zip(owners, by_line, strict=True)
        ]

    def texts(self, low: Array, high: Array) -> list[DrawnText]:
        """The texts that are seen in the window from `low` to `high`, mm."""
        return [self._texts[k] for k in np.flatnonzero(_touch(self._text_boxes, low, high)).tolist()]

    def _stretches(self, k: int, seen: Ints, low: Array, high: Array) -> list[Stretch]:
        line, first, reach = self._lines[k], int(self._first[k]), self._reach[k]
        start = line.curve[0, 0]
        if line.closed and (start >= low - reach).all() and (start <= high + reach).all():
            # Its end is joined to its start there, which only the whole line can be.
            return [Stretch(line.curve, True, 0.0)]
        return [
            Stretch(line.curve[part[0] - first : part[-1] + 1 - first], False, float(self._along[part[0]]))
            for part in _parted(seen, np.diff(seen) > 1)
        ]


def page_view(lines: Sequence[DrawnLine], texts: Sequence[DrawnText], text_boxes: Sequence[Array]) -> PageView:
    """Lines and texts, ready to be asked for what a page shows.

    Args:
        lines: the lines, at least one segment each.
        texts: the texts.
        text_boxes: their boxes (2, 2), mm.
    """
    counts = [len(line.curve) for line in lines]
    owner = np.repeat(np.arange(len(lines)), counts)
    reach = np.array([0.5 * line.look.width_mm + _BEYOND for line in lines])
    curves = np.concatenate([np.zeros((0, 4, 2)), *(line.curve for line in lines)])
    # A cubic lies within the box of its control points.
    boxes = np.stack([curves.min(axis=1), curves.max(axis=1)], axis=1)
    boxes += reach[owner, None, None] * np.array([[-1.0], [1.0]])
    along = np.concatenate([np.zeros(0), *(_lengths_before(line) for line in lines)])
    first = np.cumsum([0, *counts])[:-1]
    # Nobody knows how far a font reaches beyond its usual letters.
    sizes = np.array([text.size for text in texts])
    around = np.array(text_boxes, dtype=float).reshape(-1, 2, 2) + sizes[:, None, None] * np.array([[-1.0], [1.0]])
    return PageView(tuple(lines), tuple(texts), owner, boxes, along, first, reach, around)


def _lengths_before(line: DrawnLine) -> Array:
    """How far along a dashed line each of its segments begins (n,), mm."""
    n = len(line.curve)
    if not line.look.dashes_mm or n == 1 or not np.ptp(line.curve, axis=(0, 1)).any():
        return np.zeros(n)
    return measure(line.curve).lengths(np.arange(n), np.zeros(n))


def _parted(numbers: Ints, after: Bools) -> list[Ints]:
    """Numbers (n,) parted after those that are told (n - 1,); no parts if there are none."""
    return np.split(numbers, np.flatnonzero(after) + 1) if len(numbers) else []


def _touch(boxes: Array, low: Array, high: Array) -> Bools:
    """Which boxes (n, 2, 2) touch the one from `low` to `high`."""
    return np.asarray(((boxes[:, 0] <= high) & (boxes[:, 1] >= low)).all(axis=1))
