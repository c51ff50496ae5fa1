"""Seams that runs pass over at both of their ends, which are closed once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations

import numpy as np

from ..geometry.cubics import Array
from ..pattern.joins import SEAM
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


def _seams(runs: Sequence[Run]) -> Iterator[tuple[str, str, tuple[Array, Array]]]:
    for run in runs:
        for joint in run.laid.joints:
            legs = joint.meeting.legs if joint.kind == SEAM and joint.meeting is not None else None
            if legs is not None and legs[0] is not None and legs[1] is not None:
                yield run.name, joint.name, legs


def _one_edge(a: Array, b: Array) -> bool:
    """Whether two lines are the same, walked from its two ends."""
    ends = np.stack([a[0, 0] - b[-1, 3], a[-1, 3] - b[0, 0]])
    return len(a) == len(b) and bool(np.abs(ends).max() < _SAME)
