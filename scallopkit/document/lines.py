"""Scallops as path text: circular arcs as arcs, everything else as cubics, one unbroken line where they meet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry.cubics import Array
from ..geometry.motion import apply
from ..trim.course import Course, Stop
from ..trim.linking import links
from ..trim.row import FIRST_HALF, SECOND_HALF
from ..trim.scallops import Scallops
from .numbers import decimals, path_text, places_for

# A radius is written so finely that the crest of a nearly half circle does not move with its last decimal.
_RADIUS_PLACES = 5


def stitching_text(scallops: Scallops, course: Course, from_mm: Array, stops: Sequence[Stop] = ()) -> str:
    """The `d` of the scalloped line in user units.

    Each circular scallop is two arcs that meet in its crest: the crest is a node to snap to, and the pair stays
    exact near half a circle, where one arc's height hangs on the last decimals of its chord.

    Args:
        scallops: the scallops in order.
        course: the course they stand on; the spaces between them follow it.
        from_mm: the map from mm to user units; it keeps shapes.
        stops: the holds; the line is broken at those with a gap.
    """
    unit = float(np.hypot(*from_mm[:, 0]))
    places = places_for(1.0 / unit)
    start = apply(from_mm, scallops.drawn_start)
    pieces = _arcs(scallops, from_mm, places) if not np.isnan(scallops.radius).any() else None
    curves = None if pieces is not None else scallops.curves()
    joins = links(scallops, course, stops)
    head = decimals(start, places)
    out: list[str] = []
    for i in range(len(scallops)):
        if i == 0 or joins[i - 1] is None:
            out.append(f"M {head[2 * i]},{head[2 * i + 1]}")
        if pieces is not None:
            out.append(pieces[i])
        elif curves is not None:
            out.append(_after_move(apply(from_mm, next(curves)), places))
        link = joins[i]
        if link is not None and len(link):
            out.append(_after_move(apply(from_mm, link), places))
    # A loop's last link leads back to its first point: there is nothing left to draw but the close.
    closed = course.loop and all(link is not None for link in joins)
    return " ".join([*out, "Z"] if closed else out)


def _arcs(scallops: Scallops, from_mm: Array, places: int) -> list[str]:
    """The arcs of each scallop, without a move before them."""
    unit = float(np.hypot(*from_mm[:, 0]))
    radius = decimals(scallops.radius * unit, places + _RADIUS_PLACES)
    crest = decimals(apply(from_mm, scallops.crest), places)
    end = decimals(apply(from_mm, scallops.row.end), places)
    sweep = 1 if scallops.side > 0 else 0
    out = []
    for i, part in enumerate(scallops.row.part):
        arc = f"A {radius[i]} {radius[i]} 0 0 {sweep} "
        up, down = f"{arc}{crest[2 * i]},{crest[2 * i + 1]}", f"{arc}{end[2 * i]},{end[2 * i + 1]}"
        out.append(up if part == FIRST_HALF else down if part == SECOND_HALF else f"{up} {down}")
    return out


def _after_move(curve: Array, places: int) -> str:
    """Path text of a curve without its first move."""
    text = path_text(curve, places)
    return text[text.index(" ", 2) + 1 :]
