"""Moving what stands on one edge to the edge it is sewn to: by sewn length, through ease and pleats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.cubics import Array, Bools
from .matching import Matched


@dataclass(frozen=True, eq=False)
class Moved:
    """A row on the other edge.

    Attributes:
        s: lengths along the other edge (n,), mm from its start.
        inside: which of them stood on cloth that a pleat takes up, and so lie on the pleat's own place.
    """

    s: Array
    inside: Bools


def moved(pairs: Sequence[Matched], s: Array, from_a: bool = True) -> Moved:
    """Where a row of places comes to lie on the other edge.

    Moved there and back a place is where it was, unless a pleat takes up the cloth that it stands on.

    Args:
        pairs: the two edges by their stretches, in order.
        s: lengths (n,) along one of the edges, mm from its start.
        from_a: whether that is the first edge.
    """
    s = np.asarray(s, dtype=float)
    out, inside = np.empty(len(s)), np.zeros(len(s), dtype=bool)
    starts = np.array([one.stretch.first.a if from_a else one.stretch.first.b for one in pairs])
    which = np.clip(np.searchsorted(starts, s, side="right") - 1, 0, len(pairs) - 1)
    for k, one in enumerate(pairs):
        here, first = which == k, one.stretch.first
        own, other = (first.a, first.b) if from_a else (first.b, first.a)
        if one.stretch.long_a == from_a:
            out[here] = other + one.to_sewn(s[here] - own)
            inside[here] = one.taken_up(s[here] - own)
        else:
            out[here] = other + one.to_long(s[here] - own)
    return Moved(out, inside)
