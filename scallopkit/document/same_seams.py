"""Seams that runs pass over, at both of their ends or several runs at one: they are closed, and counted, once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from ..geometry.cubics import Array, reverse
from ..geometry.length import measure
from ..pattern.joins import DART, SEAM
from ..pattern.laying import Joint
from .runs import Run

# Ends of an edge nearer than this, mm, are one corner.
_SAME = 1e-3


def other_ends(runs: Sequence[Run]) -> dict[tuple[str, str], str]:
    """For joins by the names of their run and their place, the name of the join at the other end of the same seam.

    Two joins are the ends of one seam where an edge that leads from either into the cloth leads to the other.
    """
    found: dict[tuple[str, str], str] = {}
    for (run, at, legs), (_, other, others) in permutations(_seams(runs), 2):
        if any(_one_edge(a, b) for a in legs for b in others):
            found.setdefault((run, at), other)
    return found


def sewn_lengths(runs: Sequence[Run], counted: Sequence[tuple[Array, float]] = ()) -> dict[tuple[str, int], float]:
    """How many mm are sewn, in all copies, at each joint of seams and darts; by the run's name and the joint's number.

    A seam is measured along its edge from the joint to the next corner: along one that leads to a joint at its other
    end, else along the shorter one. Of several joints of one seam those of the run that is sewn most often have its
    length, the others 0.

    Args:
        runs: the runs.
        counted: edges that are counted elsewhere, with the mm that are; only what is sewn beyond that is told.
    """
    found: dict[tuple[str, int], float] = {}
    left = [
        _Crossed(run, k, legs)
        for run in runs
        for k, joint in enumerate(run.laid.joints)
        if joint.kind in (SEAM, DART) and (legs := _legs_at(joint)) is not None
    ]
    while left:
        seam = [left.pop(0)]
        for one in seam:
            met = [other for other in left if any(_alike(a, b) for a in one.legs for b in other.legs)]
            seam += met
            left = [other for other in left if other not in met]
        whole = [a for one, other in permutations(seam, 2) for a in one.legs for b in other.legs if _one_edge(a, b)]
        length = min(measure(leg).length for leg in whole or seam[0].legs)
        # A run meets it at one of its ends, or at both: what it passes at the first is what is sewn.
        ways = [[one for one in seam if one.run is first.run and _one_way(one, first)] for first in seam]
        most = max(ways, key=lambda way: len(way) * way[0].run.copies)
        elsewhere = [mm for curve, mm in counted if any(_alike(curve, leg) for one in seam for leg in one.legs)]
        sewn = max(0.0, length * most[0].run.copies * len(most) - max(elsewhere, default=0.0))
        found |= {(one.run.name, one.joint): sewn / len(most) if one in most else 0.0 for one in seam}
    return found


@dataclass(frozen=True, eq=False)
class _Crossed:
    """A joint of a run, by its number, and the edges that lead from it into the cloth."""

    run: Run
    joint: int
    legs: tuple[Array, Array]


def _one_way(one: _Crossed, other: _Crossed) -> bool:
    """Whether two joints lie at the same end of their seam."""
    return one is other or not any(_one_edge(a, b) for a in one.legs for b in other.legs)


def _seams(runs: Sequence[Run]) -> Iterator[tuple[str, str, tuple[Array, Array]]]:
    for run in runs:
        for joint in run.laid.joints:
            legs = _legs_at(joint) if joint.kind == SEAM else None
            if legs is not None:
                yield run.name, joint.name, legs


def _legs_at(joint: Joint) -> tuple[Array, Array] | None:
    legs = None if joint.meeting is None else joint.meeting.legs
    return legs if legs is not None and legs[0] is not None and legs[1] is not None else None


def _alike(a: Array, b: Array) -> bool:
    """Whether two lines are the same, walked either way."""
    return _one_edge(a, b) or _one_edge(a, reverse(b))


def _one_edge(a: Array, b: Array) -> bool:
    """Whether two lines are the same, walked from its two ends."""
    ends = np.stack([a[0, 0] - b[-1, 3], a[-1, 3] - b[0, 0]])
    return len(a) == len(b) and bool(np.abs(ends).max() < _SAME)
