"""Strips and bands: straight pieces that finish a trimmed edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import RequestError
from ..geometry.length import measure
from ..trim.scallops import stitched_length
from ..trim.sharing import Trimmed


@dataclass(frozen=True)
class Strip:
    """A straight strip that faces an edge.

    Attributes:
        length: its sewn length, mm.
        depth: its depth, mm.
        joins: where it is pieced, mm from its start.
    """

    length: float
    depth: float
    joins: tuple[float, ...] = ()

    @property
    def pieces(self) -> tuple[float, ...]:
        """The sewn lengths of its pieces, mm."""
        return tuple(b - a for a, b in pairwise([0.0, *self.joins, self.length]))


def strip_facing(length: float, depth: float, crests: Sequence[float], longest: float) -> Strip:
    """The straight strip that faces an edge, pieced where a crest lies, for a join in a valley would be clipped into.

    Args:
        length: sewn length of the edge, mm.
        depth: depth of the strip, mm.
        crests: where the crests between its ends lie along the edge, mm, in order.
        longest: the longest strip that the cloth allows, mm, net.

    Returns:
        The strip, in as few pieces as its joins at crests allow.

    Raises:
        RequestError: a number makes no sense, or the crests are too far apart for strips so short.
    """
    if not all(math.isfinite(x) and x > 0.0 for x in (length, depth, longest)):
        raise RequestError(
            f"a strip {length:g} mm long and {depth:g} mm deep, in pieces of at most {longest:g} mm, can't be cut: "
            "give lengths above 0"
        )
    least = math.ceil(length / longest - 1e-9)
    at = np.array(crests, dtype=float)
    for count in range(least, len(at) + 2):
        wanted = np.arange(1, count) * length / count
        joins = tuple(float(at[np.argmin(np.abs(at - s))]) for s in wanted)
        strip = Strip(length, depth, joins)
        if min(strip.pieces) > 0.0 and max(strip.pieces) <= longest * (1.0 + 1e-9):
            return strip
    raise RequestError(
        f"strips of at most {longest:g} mm can't be joined at crests, which lie up to "
        f"{float(np.diff([0.0, *at, length]).max()):.1f} mm apart: take longer strips"
    )


def band_length(line: Trimmed) -> float:
    """Length of a binding along the trimmed line, mm: its scallops, and what leads on from one to the next."""
    flat = [curve for curve in (line.lead, *line.links) if curve is not None and len(curve)]
    return stitched_length(line.placed) + sum(measure(curve).length for curve in flat)
