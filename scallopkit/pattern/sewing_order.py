"""Edges in sewing order: each beside those that it will be sewn to, all with their cloth on one hand.

Where two do not meet, the other ways to name them are tried, and the one that cures it is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry.length import measure
from .edge import Edge, end_names, one_mark, walked_back
from .joins import DART, FOLD, LAP, SEAM, Join, meeting, reversed_name

# Outlines of such unlike lengths beside a seam are hardly one seam, if those at the other ends are alike.
_UNLIKE, _ALIKE = 1.1, 1.02
# Legs whose points lie no farther apart, mm, end in one corner.
_ONE_CORNER = 1e-3


@dataclass(frozen=True, eq=False)
class Stretch:
    """One edge of a run.

    Attributes:
        drawn: the edge as drawn.
        edge: the edge that the run follows: the drawn one, or its stitching line.
        mirrored: whether the piece is drawn face down.
        net: whether the edge is a stitching line inside an outline that is drawn with its allowance on.
    """

    drawn: Edge
    edge: Edge
    mirrored: bool = False
    net: bool = False


def turned_over(stretches: Sequence[Stretch], joins: Sequence[Join]) -> list[bool]:
    """Whether each edge lies face down in the flat frame, and at the end whether its next turn would."""
    out, folded = [], False
    for k, stretch in enumerate(stretches):
        out.append(stretch.mirrored != folded)
        folded ^= k < len(joins) and joins[k].kind == FOLD
    return [*out, folded]


def refuse_other_hand(stretches: Sequence[Stretch], over: Sequence[bool]) -> None:
    """Refuses edges that have their cloth on different hands.

    Raises:
        RequestError: one has; the text names it and a cure.
    """
    hands = [s.edge.outside * (-1 if turned else 1) for s, turned in zip(stretches, over, strict=False)]
    known = next((hand for hand in hands if hand), 0)
    for stretch, hand in zip(stretches, hands, strict=True):
        if hand and hand != known:
            edge = stretch.edge
            raise RequestError(
                f'walking "{edge.name}" the cloth of "{edge.piece.name}" lies on the other hand than before: write '
                f'"{reversed_name(edge)}", or "{edge.name}:mirrored" if the piece is drawn face down'
            )


def refuse_unmet(stretches: Sequence[Stretch], joins: Sequence[Join], k: int) -> None:
    """Refuses join `k` where its two ends hardly belong together.

    Raises:
        RequestError: they don't; the text names both ends and what would make them meet.
    """
    join, first, second = joins[k], stretches[k].edge, stretches[(k + 1) % len(stretches)].edge
    ends = f'the end "{first.end}" of "{first.name}" and the start "{second.start}" of "{second.name}"'
    if join.kind == LAP and join.width <= 0.0:
        raise RequestError(
            f"say how far {ends} go beyond the centre line of their lap, with --lap 15mm or in a job file with "
            '{ kind = "lap", width = "15mm" }'
        )
    if join.kind == SEAM and _unlike(first, second):
        a, b = _beside(first, second) or (0.0, 0.0)
        text = f"{ends} do not meet in a seam: beside them the outlines are {a:.1f} and {b:.1f} mm long and differ by "
        cure = _cure(stretches, joins, k) or "if they are sewn together all the same, put a mark of one name at both"
        raise RequestError(f"{text}{abs(a - b):.1f} mm; {cure}")
    if _misses_dart(first, second, join):
        text = f'between {ends} the outline of "{first.piece.name}" does not hold one corner, the apex'
        cure = _cure(stretches, joins, k) or "name the ends of the dart's legs, or give its apex in a job file"
        raise RequestError(f"{text}; {cure}")


def _unlike(first: Edge, second: Edge) -> bool:
    """Whether the sides of a seam are unlike while the other ends of its two edges go together."""
    at_joint = _beside(first, second)
    # A dart in a seam ends its first stretch early, so unlike lengths alone say nothing where one mark is on both.
    if at_joint is None or _ratio(at_joint) <= _UNLIKE or first.end == second.start:
        return False
    elsewhere = _beside(second, first)
    return first.start == second.end or (elsewhere is not None and _ratio(elsewhere) <= _ALIKE)


def _beside(first: Edge, second: Edge) -> tuple[float, float] | None:
    """The lengths of the outlines beside the end of one edge and the start of another, where there are any."""
    if first.after is None or second.before is None:
        return None
    return measure(first.after).length, measure(second.before).length


def _ratio(lengths: tuple[float, float]) -> float:
    return max(lengths) / min(lengths)


def _misses_dart(first: Edge, second: Edge, join: Join) -> bool:
    """Whether the outline is to show a dart between two edges of one piece, and does not."""
    drawn = join.kind == DART and join.apex is None and join.legs is None
    if not drawn or first.piece is not second.piece:
        return False
    if first.after is None or second.before is None:
        return True
    return float(np.hypot(*(first.after[-1, 3] - second.before[-1, 3]))) > _ONE_CORNER


def _cure(stretches: Sequence[Stretch], joins: Sequence[Join], k: int) -> str:
    """What makes the edges beside join `k` meet, found by trying; empty where nothing does."""
    for text, tried, between, at in _other_ways(stretches, joins, k):
        if _all_meet(tried, between, stretches, joins):
            end, start = end_names(tried[at].edge, tried[(at + 1) % len(tried)].edge)
            return f'{text}: the end "{end}" and the start "{start}" would fit'
    return ""


def _other_ways(
    stretches: Sequence[Stretch], joins: Sequence[Join], k: int
) -> Iterator[tuple[str, list[Stretch], list[Join], int]]:
    """What to do, the edges and joins that come of it, and the number of the join between the two edges there."""
    count, following = len(stretches), (k + 1) % len(stretches)
    if count == 1:
        return
    swapped = list(stretches)
    swapped[k], swapped[following] = swapped[following], swapped[k]
    yield "swap the two edges", swapped, list(joins), k
    if count > 2:
        at = count - 2 - k if k < count - 1 else k
        backwards = [*joins[: count - 1][::-1], *joins[count - 1 :]]
        yield "name all the edges in the other order", list(stretches[::-1]), backwards, at
    for i in (following, k):
        stretch, name = stretches[i], reversed_name(stretches[i].edge)
        if name == stretch.edge.name:
            # A whole line has no name the other way round.
            continue
        for mirrored in (stretch.mirrored, not stretch.mirrored):
            turned = list(stretches)
            turned[i] = Stretch(walked_back(stretch.drawn), walked_back(stretch.edge), mirrored)
            face_down = ", if the piece is drawn face down" if mirrored and not stretch.mirrored else ""
            text = f'write "{_written(name, mirrored)}" instead of "{_written(stretch.edge.name, stretch.mirrored)}"'
            yield text + face_down, turned, list(joins), k


def _written(name: str, mirrored: bool) -> str:
    return f"{name}:mirrored" if mirrored else name


def _all_meet(
    tried: Sequence[Stretch], between: Sequence[Join], stretches: Sequence[Stretch], joins: Sequence[Join]
) -> bool:
    """Whether all edges that come to lie beside each other meet, and all have their cloth on one hand."""

    def pairs(edges: Sequence[Stretch], kinds: Sequence[Join]) -> list[tuple[Stretch, Stretch, Join]]:
        return [(edges[i], edges[(i + 1) % len(edges)], join) for i, join in enumerate(kinds)]

    known = {tuple(map(id, pair)) for pair in pairs(stretches, joins)}
    new = [pair for pair in pairs(tried, between) if tuple(map(id, pair)) not in known]
    try:
        refuse_other_hand(tried, turned_over(tried, between))
        for first, second, join in new:
            meeting(first.edge, second.edge, join)
    except RequestError:
        return False
    return bool(new) and all(join.kind != SEAM or _go_together(a.edge, b.edge) for a, b, join in new)


def _go_together(first: Edge, second: Edge) -> bool:
    lengths = _beside(first, second)
    return lengths is None or _ratio(lengths) <= _ALIKE or one_mark(first, second)
