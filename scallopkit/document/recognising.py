"""Scallops found again in a written line by their shape alone, whatever was meant when the line was made.

A scallop is a fixed number of segments whose crest stands at one place over the line from valley to valley. As complex
numbers that place is (crest - start) / (end - start), the same for scallops of any size and direction.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import RequestError
from ..geometry.cubics import Array, cross, ends_direction
from ..trim.course import Wish
from ..trim.shape import Shape
from .sewing import mirrored
from .strands import Folds, Node, Strand

# Segments shorter than this, mm, are rounding that no drawing keeps.
_WRITTEN = 1e-5
# Of a scallop whose handles lie farther off their chord, mm, the drawing shows that it is curved.
_SEEN = 0.01
# How far the crest of what counts as a scallop may lie from its place, as a share of the depth.
_CREST_OFF = 0.25
# Round a loop the first scallop is looked for among so many segments more than one has.
_LEAD = 32
# How near to half a space, mm, what a corner leaves of one on either side is drawn.
_HALF_SPACE = 1e-3
# What a segment costs that is part of no scallop: little where spaces lie between them, else more than any scallop.
_SPACE, _NONE = 0.01, 1.0


@dataclass(frozen=True)
class Found:
    """A scallop: its nodes. Of half a one the valley beyond the crest is missing."""

    start: Node | None
    crest: Node
    end: Node | None
    corner: bool = False

    @property
    def chord(self) -> complex | None:
        """From valley to valley; None for half a scallop."""
        return None if self.start is None or self.end is None else self.end.flat - self.start.flat

    @property
    def valleys(self) -> tuple[Node, ...]:
        """The valleys that are drawn."""
        return tuple(node for node in (self.start, self.end) if node is not None)


@dataclass(frozen=True)
class Look:
    """What a scallop looks like.

    Attributes:
        shape: the shape asked for.
        segments: how many segments draw it.
        rising: how many of them lead from valley to crest.
        crest: the node that ends the rise of a scallop `share` deep, (crest - start) / (end - start).
        share: depth over width at which `crest` is told.
        smooth: whether it has no corner at the crest.
        curved: whether the rise, and the fall, has a segment that is not straight.
        corners: whether some may wrap a corner.
        space: the flat stretch between neighbours, mm; 0 where there is none.
        least: width of the narrowest scallop that was made, mm.
    """

    shape: Shape
    segments: int
    rising: int
    crest: complex
    share: float
    smooth: bool
    curved: tuple[bool, bool]
    corners: bool
    space: float
    least: float

    @property
    def spaced(self) -> bool:
        """Whether flat stretches lie between neighbours."""
        return self.space > 0.0

    def at(self, width: float) -> complex | None:
        """The crest of a scallop of that width; None where the shape can't be so wide.

        Nor where that is rather a space: nearer to one in proportion than to any scallop, all of which are far wider.
        """
        if 2.0 * self.space < self.least and width**2 < self.space * self.least:
            return None
        try:
            share = self.shape.depth(width) / width
        except RequestError:
            return None
        return complex(self.crest.real, self.crest.imag * share / self.share)

    def over(self, width: float, x: float, height: float) -> complex:
        """The place at these shares of the width and of the depth, as `crest`."""
        return complex(x, float(np.sign(self.crest.imag)) * height * self.shape.depth(width) / width)


def look_of(wish: Wish, widths: Sequence[float], side: int, corners: bool) -> Look:
    """What scallops of about these widths look like that bulge to the left (`side` +1) or to the right."""
    width = float(np.mean(widths))
    motif = wish.shape.motif(width)
    rising = motif.curve[: motif.half]
    counts = [int((np.ptp(half, axis=1).max(axis=1) * width > _WRITTEN).sum()) for half in (rising, motif.curve)]
    if motif.arc:
        counts = [1, 2]
    x, y = rising[-1, 3].tolist()
    (_, into), (out, _) = ends_direction(rising), ends_direction(motif.curve[motif.half :])
    smooth = bool(abs(into[0] * out[1] - into[1] * out[0]) < 1e-6 and abs(into[1]) < 1e-6)
    weights = (*wish.weights.pattern, wish.weights.grow_to or math.inf)
    least = min(widths) * min(weights)
    crest = complex(x, -side * y)
    curved = _curved(rising, width), _curved(motif.curve[motif.half :], width)
    return Look(wish.shape, counts[1], counts[0], crest, motif.depth, smooth, curved, corners, wish.space, least)


def _curved(half: Array, width: float) -> bool:
    """Whether a half of a motif of that width has a segment that is seen to be curved."""
    chord = half[:, 3] - half[:, 0]
    size = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-300)
    off = np.abs(cross(chord[:, None], half[:, 1:3] - half[:, :1])).max(axis=1) / size
    return bool((off * width > _SEEN).any())


def recognise(strand: Strand, look: Look, onward: Callable[[complex], complex]) -> tuple[list[Found], int]:
    """The scallops of a strand in order, and how many segments are none though no space was asked for.

    Where the first valley lies is not taken on trust: of all ways to share the segments out among scallops the one
    counts that looks most like it. `onward` carries a loop on into its next turn.
    """
    nodes, count = list(strand.nodes), len(strand.nodes)
    if strand.ring:
        for _ in range(2):
            nodes += [replace(node, flat=onward(node.flat)) for node in nodes[-count:]]
        firsts = range(min(count, look.segments + (_LEAD if look.spaced else 1)))
        walks = [(first, first + count) for first in firsts]
    else:
        ends = {way[-1] for way in _ways(nodes, 0, look.rising)} if strand.half_first else set()
        halves = {end for end in ends if _may_be_half(Found(None, nodes[0], nodes[end]), strand.folds, look)}
        walks = [(first, count - 1) for first in sorted({0, *halves})]
    steps = [list(_steps(nodes, i, look)) for i in range(walks[-1][1])]
    if strand.half_last:
        for i in range(max(count - 1 - 2 * look.segments, 0), count - 1):
            half = Found(nodes[i], nodes[-1], None)
            reaches = any(way[-1] == count - 1 for way in _ways(nodes, i, look.rising))
            if reaches and _may_be_half(half, strand.folds, look):
                steps[i].append(_Step(count - 1, 0.0, half))
    walked = [(*_cheapest(steps, first, last), first) for first, last in walks]
    _, taken, first = min(walked, key=lambda walk: walk[0])
    lead = [] if strand.ring or first == 0 else [Found(None, nodes[0], nodes[first])]
    found = [*lead, *(step.found for step in taken if step.found is not None)]
    return found, 0 if look.spaced else sum(step.found is None for step in taken)


@dataclass(frozen=True)
class _Step:
    """One scallop, or a segment that is none, up to the node of that number; the less it looks like one, the dearer."""

    to: int
    cost: float
    found: Found | None


def _steps(nodes: Sequence[Node], i: int, look: Look) -> Iterator[_Step]:
    """What may follow node i."""
    yield _Step(i + 1, _SPACE if look.spaced else _NONE, None)
    for way in _ways(nodes, i, look.segments):
        crest, end = nodes[way[look.rising - 1]], nodes[way[-1]]
        placed = _placed(nodes[i].flat, crest.flat, end.flat, look)
        if placed is None or not _curves(nodes, i, way, look) or _space_round_corner(nodes[i], crest, end, look):
            continue
        place, wanted = placed
        off = _off(place, wanted)
        if off <= _CREST_OFF:
            yield _Step(way[-1], off, Found(nodes[i], crest, end))
        elif look.corners and place.imag / wanted.imag > 1.0 and abs(place.real - 0.5) <= _CREST_OFF:
            yield _Step(way[-1], _SPACE, Found(nodes[i], crest, end, corner=True))


def _placed(start: complex, crest: complex, end: complex, look: Look) -> tuple[complex, complex] | None:
    """Where a crest stands over its valleys, and where it should; None where no scallop is so wide."""
    chord = end - start
    wanted = look.at(abs(chord)) if abs(chord) > _WRITTEN else None
    return None if wanted is None else ((crest - start) / chord, wanted)


def _curves(nodes: Sequence[Node], i: int, way: Sequence[int], look: Look) -> bool:
    """Whether what is curved of a scallop is so here: a space that goes round a corner has straight halves."""
    middle, last = way[look.rising - 1], way[-1]
    halves = nodes[i + 1 : middle + 1], nodes[middle + 1 : last + 1]
    return all(
        not curved or not all(n.straight for n in half) for half, curved in zip(halves, look.curved, strict=True)
    )


def _space_round_corner(start: Node, middle: Node, end: Node, look: Look) -> bool:
    """Whether what looks like a scallop of straight lines is two halves of a space that a corner parts."""
    half = 0.5 * look.space
    if not look.spaced or any(look.curved):
        return False
    return max(abs(abs(middle.flat - start.flat) - half), abs(abs(end.flat - middle.flat) - half)) < _HALF_SPACE


def _off(place: complex, wanted: complex) -> float:
    """How far a crest stands from its place, as a share of the depth."""
    return abs(place - wanted) / abs(wanted.imag)


def _may_be_half(half: Found, folds: Folds, look: Look) -> bool:
    """Whether half a scallop looks like one once it is whole; of one at a free end nothing tells."""
    whole = made_whole(half, folds)
    if whole is None:
        return True
    placed = _placed(*whole, look)
    return placed is not None and _off(*placed) <= _CREST_OFF


def made_whole(found: Found, folds: Folds) -> tuple[complex, complex, complex] | None:
    """Valley, crest and valley of a scallop in the flat frame, a half unfolded; None for a half at a free end."""
    start, end = (None if node is None else node.flat for node in (found.start, found.end))
    if start is None and end is not None and folds[0] is not None:
        start = mirrored(end, folds[0])
    if end is None and start is not None and folds[1] is not None:
        end = mirrored(start, folds[1])
    return None if start is None or end is None else (start, found.crest.flat, end)


def _cheapest(steps: Sequence[Sequence[_Step]], first: int, last: int) -> tuple[float, list[_Step]]:
    """The cheapest steps from one node to another; on from each node they are known before those of the one before."""
    costs, best = [math.inf] * last + [0.0], [steps[0][0]] * last
    for i in range(last - 1, first - 1, -1):
        for step in steps[i]:
            if step.to <= last and step.cost + costs[step.to] < costs[i]:
                costs[i], best[i] = step.cost + costs[step.to], step
    taken, i = [], first
    while i < last:
        taken.append(best[i])
        i = best[i].to
    return costs[first], taken


def _ways(nodes: Sequence[Node], i: int, size: int) -> Iterator[tuple[int, ...]]:
    """The numbers of the nodes that end the next `size` segments after node i; cuts may count or not."""
    if size == 0:
        yield ()
        return
    for j in range(i + 1, len(nodes)):
        for rest in _ways(nodes, j, size - 1):
            yield (j, *rest)
        if not nodes[j].cut:
            return
