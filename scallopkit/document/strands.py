"""The written lines of a run end to end as sewn: rows of nodes, broken only where the trim stops short of a place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ..pattern.joins import FOLD
from ..trim.course import CREST
from ..trim.holds import GAP, PASS
from .recipe import EdgeWords
from .sewing import Complex, Seam, Sewn
from .written import Line, Stroke

# The folds at the start and at the end of a line; None where it ends freely.
Folds = tuple[Seam | None, Seam | None]

# Nodes beside the centre line of a lap that are nearer than this, mm, lie on it; two that are nearer are one.
_ON_LINE = 0.01


@dataclass(frozen=True)
class Node:
    """Where segments meet.

    Attributes:
        flat: its place in the flat frame.
        places: number of a part and place on the sheet; where two halves meet, both.
        cut: whether it is there because a joint parts the line, and may be no valley or crest.
        straight: whether the segment that leads to it is straight.
    """

    flat: complex
    places: tuple[tuple[int, complex], ...]
    cut: bool = False
    straight: bool = False


@dataclass(frozen=True)
class Strand:
    """The nodes of an unbroken line.

    Attributes:
        nodes: in sewing order.
        ring: whether the last is followed by the first, a turn of a loop later.
        half_first: whether it may start with half a scallop, at its crest.
        half_last: whether it may end so.
        folds: the folds that it starts and ends on, over which half a scallop is made whole.
    """

    nodes: tuple[Node, ...]
    ring: bool = False
    half_first: bool = False
    half_last: bool = False
    folds: Folds = (None, None)


def crosses_start(sewn: Sewn, lines: Sequence[Line], words: EdgeWords) -> bool:
    """Whether the line of a loop goes on over its start."""
    if not sewn.loop or sewn.seams:
        return sewn.loop and not sewn.seams[-1].gap
    gaps = [mark for mark, _, kind in (text.rpartition("=") for text in words.hold) if kind.partition(":")[0] == GAP]
    stops = sum(spot.name in gaps for spot in sewn.parts[0].edge.spots)
    return len(lines[0].strokes) > stops


def strands(sewn: Sewn, lines: Sequence[Line], words: EdgeWords) -> list[Strand]:
    """All strands of a run, whose parts have these lines."""
    rows: list[list[Node]] = []
    for k, (part, line) in enumerate(zip(sewn.parts, lines, strict=True)):
        own = [_nodes(k, part.lay.at(stroke.nodes), stroke) for stroke in line.strokes]
        for i, nodes in enumerate(_without_laps(own, sewn, k)):
            if i == 0 and rows and not sewn.seams[k - 1].gap:
                rows[-1] = _joined(rows[-1], nodes, sewn.seams[k - 1])
            else:
                rows.append(nodes)
    if crosses_start(sewn, lines, words):
        closing = sewn.seams[-1] if sewn.seams else None
        if len(rows) == 1:
            return [Strand(tuple(_round(rows[0], sewn, closing)), ring=True)]
        rows[-1] = _joined(rows[-1], _a_turn_on(rows.pop(0), sewn), closing)
    halves = _may_halve(words.start), _may_halve(words.end)
    out = [Strand(tuple(row)) for row in rows]
    out[0] = replace(out[0], half_first=halves[0], folds=(sewn.folds[0], None))
    out[-1] = replace(out[-1], half_last=halves[1], folds=(out[-1].folds[0], sewn.folds[1]))
    return out


def _nodes(part: int, flat: Complex, stroke: Stroke) -> list[Node]:
    straight = [False, *stroke.straight.tolist()]
    each = zip(flat.tolist(), stroke.nodes.tolist(), straight, strict=True)
    return [Node(f, ((part, z),), straight=flag) for f, z, flag in each]


def _a_turn_on(nodes: list[Node], sewn: Sewn) -> list[Node]:
    return [replace(node, flat=sewn.onward(node.flat)) for node in nodes]


def _without_laps(rows: list[list[Node]], sewn: Sewn, k: int) -> list[list[Node]]:
    """A part's rows between the centre lines of the laps beside it; what lies beyond belongs to its neighbours too."""
    after = sewn.seams[k] if k < len(sewn.seams) else None
    before = sewn.seams[k - 1] if k > 0 or (sewn.loop and sewn.seams) else None
    if after is not None and after.lap:
        rows = _short_of(rows, lambda flat: _beyond(flat, after))
    if before is not None and before.lap:
        onward = sewn.onward if k == 0 else complex
        rows = _back(_short_of(_back(rows), lambda flat: -_beyond(onward(flat), before)))
    return rows


def _short_of(rows: list[list[Node]], beyond: Callable[[complex], float]) -> list[list[Node]]:
    """Rows up to the last node that does not lie beyond a line."""
    rows = [list(row) for row in rows]
    while rows and beyond(rows[-1][-1].flat) > _ON_LINE:
        rows[-1].pop()
        if not rows[-1]:
            rows.pop()
    return rows


def _back(rows: list[list[Node]]) -> list[list[Node]]:
    return [row[::-1] for row in rows[::-1]]


def _beyond(flat: complex, seam: Seam) -> float:
    return ((flat - seam.point) / seam.onward).real


def _joined(before: list[Node], after: list[Node], seam: Seam | None) -> list[Node]:
    """Two rows as one."""
    both = _merged(before[-1], after[0], seam)
    return before + after if both is None else [*before[:-1], both, *after[1:]]


def _round(nodes: list[Node], sewn: Sewn, seam: Seam | None) -> list[Node]:
    """A row that is a whole loop, its end joined to its start."""
    both = _merged(nodes[-1], _a_turn_on(nodes[:1], sewn)[0], seam)
    return nodes if both is None else [replace(both, flat=nodes[0].flat), *nodes[1:-1]]


def _merged(end: Node, start: Node, seam: Seam | None) -> Node | None:
    """The node in which two rows meet; None where they were lapped over, and none of them lies on the centre line."""
    lapped = seam is not None and seam.lap > 0.0
    if lapped and abs(end.flat - start.flat) > _ON_LINE:
        return None
    # Where a closed outline starts and where edges lap over, nothing parts the line.
    parted = seam is not None and not lapped
    return Node(0.5 * (end.flat + start.flat), (*end.places, *start.places), parted, end.straight)


def _may_halve(words: str) -> bool:
    """Whether the trim may end with half a scallop at such an end."""
    kind, _, hold = words.partition(":")
    return kind == CREST or (kind == FOLD and hold in ("", CREST, PASS))
