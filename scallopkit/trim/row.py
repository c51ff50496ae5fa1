"""A row of scallops: where each one stands."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from ..geometry.cubics import Array, Ints

WHOLE, FIRST_HALF, SECOND_HALF = 0, 1, 2


@dataclass(frozen=True, eq=False)
class Row:
    """Scallops in order along a course, as arrays of one entry a scallop.

    Attributes:
        start, end: the ends of each base line, valley to valley, (n, 2); for a half scallop one of them is the
            mirror image of the other.
        s_start, s_end: where its drawn part begins and ends along the course.
        width: straight distance valley to valley, mm.
        size: the width that sets its shape: its own, or for a wrapped corner its neighbours' mean.
        weight: its relative size.
        part: WHOLE, FIRST_HALF (valley up to the crest, at a mirror line behind it) or SECOND_HALF.
        span: the number of its span; -1 for a scallop that belongs to two (a crest hold, a wrapped corner).
        turn: the corner that it wraps, radians; 0 for all others.
    """

    start: Array
    end: Array
    s_start: Array
    s_end: Array
    width: Array
    size: Array
    weight: Array
    part: Ints
    span: Ints
    turn: Array

    def __len__(self) -> int:
        return len(self.width)


def joined(rows: list[Row]) -> Row:
    """Rows one after the other."""
    if len(rows) == 1:
        return rows[0]
    return Row(*(np.concatenate([getattr(row, f.name) for row in rows]) for f in fields(Row)))
