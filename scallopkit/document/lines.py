"""The trimmed line as path text: circular arcs as arcs, everything else as cubics, unbroken where scallops meet."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice, pairwise

import numpy as np

from ..geometry.cubics import Array
from ..geometry.motion import apply
from ..trim.row import FIRST_HALF, SECOND_HALF
from ..trim.sharing import Cut, Share, Trimmed, starts_line, taken
from .numbers import decimals, path_text, places_for

# A radius is written so finely that the crest of a nearly half circle does not move with its last decimal.
_RADIUS_PLACES = 5

# From the number of a turn round a loop to the map from the flat frame to user units.
Maps = Callable[[int], Array]


def stitching_text(line: Trimmed, share: Share, to_user: Maps) -> str:
    """The `d` of one part's share of the trimmed line in user units.

    Each circular scallop is two arcs that meet in its crest: the crest is a node to snap to, and the pair stays
    exact near half a circle, where one arc's height hangs on the last decimals of its chord.

    Args:
        line: the trimmed line.
        share: what of it is drawn.
        to_user: for each turn of a loop the map (2, 3) from the flat frame to user units; it keeps shapes.
    """
    out: list[str] = []
    joined = False
    if line.lead is not None and starts_line(share):
        affine = to_user(0)
        out.append(path_text(apply(affine, line.lead), places_for(1.0 / float(np.hypot(*affine[:, 0])))))
        joined = True
    for turn, begin, end in _turns(share, line.elements):
        text, joined = _one_turn(line, to_user(turn), begin, end, joined)
        out += text
    whole = share.begin.point is None and share.end.point is None
    round_once = line.course.loop and whole and share.end.element - share.begin.element == line.elements
    # A loop's last link leads back to its first point: there is nothing left to draw but the close.
    closed = round_once and all(link is not None for link in line.links) and not _carried_on(line)
    return " ".join([*out, "Z"] if closed else out)


def _carried_on(line: Trimmed) -> bool:
    """Whether a loop's line does not close in its own plane."""
    apart = line.placed.drawn_start[0] - line.placed.drawn_end[-1]
    return line.links[-1] is not None and len(line.links[-1]) == 0 and float(np.hypot(*apart)) > 1e-6


def _turns(share: Share, elements: int) -> Iterator[tuple[int, Cut, Cut]]:
    """The share turn by turn, with the elements of each counted from its own first."""
    first, last = share.begin.element // elements, share.end.element // elements
    for turn in range(first, last + 1):
        back = turn * elements
        begin = _moved(share.begin, back) if turn == first else Cut(0)
        end = _moved(share.end, back) if turn == last else Cut(elements)
        if (begin.element, 0) < (end.element, 1 if end.point is not None else 0):
            yield turn, begin, end


def _moved(cut: Cut, back: int) -> Cut:
    return Cut(cut.element - back, cut.segment, cut.t, cut.point)


def _one_turn(line: Trimmed, to_user: Array, begin: Cut, end: Cut, joined: bool) -> tuple[list[str], bool]:
    """Path text of the elements between two cuts of one turn, and whether the line goes on at its end."""
    ink = _Ink(line, to_user, begin, end)
    out: list[str] = []
    last = end.element if end.point is not None else end.element - 1
    for element in range(begin.element, last + 1):
        cut_in = begin if element == begin.element and begin.point is not None else None
        cut_out = end if element == end.element and end.point is not None else None
        i, is_link = divmod(element, 2)
        text = ink.link(i, cut_in, cut_out) if is_link else ink.scallop(i, cut_in, cut_out)
        if text is None:
            joined = False
            continue
        head, rest = text
        if rest:
            out.append(rest if joined else f"M {head} {rest}")
            joined = True
    return out, joined


class _Ink:
    """The texts of a turn's scallops, the numbers of all of them made at once."""

    def __init__(self, line: Trimmed, to_user: Array, begin: Cut, end: Cut) -> None:
        placed = line.placed
        self.line, self.to_user = line, to_user
        unit = float(np.hypot(*to_user[:, 0]))
        self.places = places_for(1.0 / unit)
        # What leads on from a scallop comes behind it: the first scallop drawn is then the next.
        self.first = (begin.element + 1) // 2
        which = slice(self.first, min(end.element // 2 + 1, len(placed)))
        self.round = not np.isnan(placed.radius).any()
        flips = float(np.linalg.det(to_user[:, :2])) < 0.0
        self.sweep = 1 if (placed.side > 0) != flips else 0
        if self.round:
            self.radius = decimals(placed.radius[which] * unit, self.places + _RADIUS_PLACES)
            self.start, self.crest, self.end = (
                decimals(apply(to_user, points[which]), self.places)
                for points in (placed.row.start, placed.crest, placed.row.end)
            )
        else:
            self.curves = islice(placed.curves(), which.start, which.stop)

    def scallop(self, i: int, cut_in: Cut | None, cut_out: Cut | None) -> tuple[str, str]:
        """Where the scallop's line begins, and the path text that goes on from there."""
        if not self.round:
            return self._curve(next(self.curves), cut_in, cut_out)
        k = i - self.first
        part = int(self.line.placed.row.part[i])
        nodes = [self._pair(self.start, k), self._pair(self.crest, k), self._pair(self.end, k)]
        low, high = (1 if part == SECOND_HALF else 0), (1 if part == FIRST_HALF else 2)
        head, following = nodes[low], nodes[low + 1 : high + 1]
        if cut_out is not None:
            following = [*nodes[low + 1 : cut_out.segment + 1], self._point(cut_out)]
        if cut_in is not None:
            head = self._point(cut_in)
            following = following[cut_in.segment - low :]
        arc = f"A {self.radius[k]} {self.radius[k]} 0 0 {self.sweep} "
        # A cut at the crest leaves an arc without length.
        steps = [node for before, node in pairwise([head, *following]) if node != before]
        return head, " ".join(f"{arc}{node}" for node in steps)

    def link(self, i: int, cut_in: Cut | None, cut_out: Cut | None) -> tuple[str, str] | None:
        """As for a scallop, of what leads on from it; None where the line ends."""
        link = self.line.links[i]
        if link is None:
            return None
        return self._curve(link, cut_in, cut_out) if len(link) else ("", "")

    def _curve(self, curve: Array, cut_in: Cut | None, cut_out: Cut | None) -> tuple[str, str]:
        if cut_in is not None or cut_out is not None:
            curve = taken(curve, cut_in or Cut(0), cut_out or Cut(0))
            if not len(curve):
                return "", ""
        text = path_text(apply(self.to_user, curve), self.places)
        head, _, rest = text[2:].partition(" ")
        return head, rest

    def _point(self, cut: Cut) -> str:
        place = np.zeros(2) if cut.point is None else cut.point
        return self._pair(decimals(apply(self.to_user, place), self.places), 0)

    @staticmethod
    def _pair(numbers: list[str], k: int) -> str:
        return f"{numbers[2 * k]},{numbers[2 * k + 1]}"
