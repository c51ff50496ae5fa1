"""Pieces moved about on paper, each as a whole with all that belongs to it, so that they take fewer pages.

A piece on paper is turned by half turns only where it has a grain line, by quarter turns too where it has none. What is
drawn over each other, as the sizes of one piece are, stays together.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..construction.skyline import Item, stacked_on_each
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.winding import winding
from .drawn import DrawnLine, DrawnText

# Between two pieces, mm: room to cut them apart; common practice, no source.
GAP = 10.0
# How closely outlines are looked at to tell what lies on what, mm.
_LOOKED = 1.0
_HALF = motion.scaled(-1.0, -1.0)
_QUARTER = motion.turned(0.5 * math.pi)


@dataclass(frozen=True, eq=False)
class Belonging:
    """Lines and texts that move as one.

    Attributes:
        lines, texts: their numbers.
        curves: all of them as curves (n, 4, 2), texts as their boxes.
        grain: whether a grain line is among them.
    """

    lines: tuple[int, ...]
    texts: tuple[int, ...]
    curves: tuple[Array, ...]
    grain: bool

    @property
    def item(self) -> Item:
        """How it may lie."""
        ways = (motion.IDENTITY, _HALF)
        quarters = (_QUARTER, motion.compose(_HALF, _QUARTER))
        return Item(self.curves, ways if self.grain else (*ways, *quarters))


def belongings(
    lines: Sequence[DrawnLine], texts: Sequence[DrawnText], box_of: Callable[[DrawnText], Array]
) -> list[Belonging]:
    """What is drawn, sorted by what belongs together: by the piece it is told to be of, and by what lies in what.

    Args:
        lines: what is drawn.
        texts: what is written.
        box_of: gives the box (2, 2) of a text.
    """
    boxes = [_frame(box_of(text)) for text in texts]
    curves = [*(line.curve for line in lines), *boxes]
    names = [*(line.piece for line in lines), *(text.piece for text in texts)]
    # Every line and text is of a group, told by the number of one of them.
    group = list(range(len(curves)))

    def root(i: int) -> int:
        while group[i] != i:
            i = group[i]
        return i

    first: dict[str, int] = {}
    for i, name in enumerate(names):
        if name:
            group[root(i)] = root(first.setdefault(name, i))
    points = [cubics.flatten(curve, _LOOKED) for curve in curves]
    extents = [cubics.bounds(curve) for curve in curves]
    for i, line in enumerate(lines):
        if not line.closed:
            continue
        for j in range(len(curves)):
            near = (extents[i][0] <= extents[j][1]).all() and (extents[j][0] <= extents[i][1]).all()
            if root(i) != root(j) and near and (winding(line.curve, points[j]) != 0).any():
                group[root(j)] = root(i)
    found: dict[int, list[int]] = {}
    for i in range(len(curves)):
        found.setdefault(root(i), []).append(i)
    count = len(lines)
    return [
        Belonging(
            tuple(i for i in own if i < count),
            tuple(i - count for i in own if i >= count),
            tuple(curves[i] for i in own),
            any(lines[i].role == "grain" for i in own if i < count),
        )
        for own in found.values()
    ]


def laid_on_each(found: Sequence[Belonging], widths: Iterable[float]) -> Iterator[tuple[Array, ...]]:
    """The motions (2, 3) of all onto strips of several widths, mm; none for a strip that is too narrow for one."""
    for stack in stacked_on_each([one.item for one in found], widths, GAP):
        motions = tuple(by for by in stack.motions if by is not None)
        if len(motions) == len(found):
            yield motions


def moved(
    found: Sequence[Belonging], motions: Sequence[Array], lines: Sequence[DrawnLine], texts: Sequence[DrawnText]
) -> tuple[list[DrawnLine], list[DrawnText]]:
    """The lines and texts where they are moved to, in their order."""
    out_lines, out_texts = list(lines), list(texts)
    for one, by in zip(found, motions, strict=True):
        for i in one.lines:
            out_lines[i] = replace(lines[i], curve=motion.apply(by, lines[i].curve))
        turn = math.atan2(by[1, 0], by[0, 0])
        for i in one.texts:
            rows = tuple((words, motion.apply(by, place)) for words, place in texts[i].rows)
            out_texts[i] = replace(texts[i], rows=rows, angle=texts[i].angle + turn)
    return out_lines, out_texts


def _frame(box: Array) -> Array:
    (left, top), (right, bottom) = box
    return cubics.lines(np.array([(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]))
