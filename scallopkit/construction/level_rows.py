"""Level rows: parts on the two edges of an opening that stand at equal heights when both are worn, or half way between.

Both edges are laid as `as_worn` lays them. The height of a part is how far above the start of its edge it then stands.
"""

from __future__ import annotations

import numpy as np

from ..errors import NoFitError, RequestError
from ..geometry.cubics import Array
from ..geometry.length import Measured
from ..geometry.motion import apply
from ..trim.course import Course
from .as_worn import upright

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
    start, end = m.points(np.array([0.0, m.length]))
    return np.asarray(-apply(upright(start, end), points)[:, 1])


def staggered(level: Array) -> Array:
    """Heights (n + 1,) of a row that is staggered against one (n,): level at both ends, half way between elsewhere.

    So one cord winds up through both in a spiral, whose lowest and highest pair are level.

    Raises:
        RequestError: there is a single part, and nothing between.
    """
    if len(level) < 2:
        raise RequestError("a row of a single part has nothing half way between: leave out --staggered")
    return np.concatenate([level[:1], 0.5 * (level[1:] + level[:-1]), level[-1:]])


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
