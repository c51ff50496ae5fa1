"""Rows in pairs: parts on the two edges of an opening that stand at equal heights when both lie facing each other.

Laid facing, the straight line between the ends of each edge is parallel to the centre line, and both edges start at
the same height. The height of a part is how far along that line it stands from the start.
"""

from __future__ import annotations

import numpy as np

from ..errors import NoFitError, RequestError
from ..geometry.cubics import Array
from ..geometry.length import Measured
from .course import Course

# Places are looked for between so many, at the least, along the edge.
_LOOKS = 400
_HALVINGS = 60
# A height as near as this to an end of the edge, mm, is meant for it.
_AT_END = 1e-7


def heights(m: Measured, points: Array) -> Array:
    """Heights (n,) of points beside an edge, mm from its start.

    Raises:
        RequestError: the edge ends where it starts.
    """
    ends = m.points(np.array([0.0, m.length]))
    along = ends[1] - ends[0]
    chord = float(np.hypot(*along))
    if chord < 1e-6 * m.length:
        raise RequestError("an edge that ends where it starts has no heights: name one side of the opening")
    return np.asarray((points - ends[0]) @ (along / chord))


def level_places(course: Course, wanted: Array, inset: float, what: str = "parts") -> Array:
    """Lengths (n,) along an edge at which parts `inset` mm inside it stand at the wanted heights (n,).

    Raises:
        RequestError: the edge turns back, so that a height comes more than once.
        NoFitError: a height lies beyond the edge; the text tells by how much.
    """
    m = course.measured

    def reached(s: Array) -> Array:
        return heights(m, m.points(s) - course.side * inset * m.normals(s))

    grid = np.linspace(0.0, m.length, max(_LOOKS, 16 * len(m.curve)) + 1)
    found = reached(grid)
    if (np.diff(found) <= 0.0).any():
        raise RequestError(
            f"{what} {inset:.6g} mm inside this edge go back somewhere, so their heights are in doubt: "
            f"name a shorter stretch or a smaller inset"
        )
    low, high = float(found[0]), float(found[-1])
    past = np.maximum(low - wanted, wanted - high)
    if len(past) and past.max() > _AT_END:
        i = int(past.argmax())
        raise NoFitError(
            f"number {i + 1} of the row to be level with stands {past[i]:.2f} mm beyond the ends of this edge: "
            f"lengthen the edge, or end that row {past[i]:.2f} mm earlier"
        )
    k = np.clip(np.searchsorted(found, wanted, side="right") - 1, 0, len(grid) - 2)
    below, above = grid[k], grid[k + 1]
    for _ in range(_HALVINGS):
        half = 0.5 * (below + above)
        short = reached(half) < wanted
        below, above = np.where(short, half, below), np.where(short, above, half)
    return 0.5 * (below + above)
