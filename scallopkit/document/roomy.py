"""The roomiest place inside an outline, for what is written on a piece."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.nearest import nearest
from ..geometry.winding import winding

# So many places are looked at first, more where the outline is long and narrow, then so many across round the best.
_PLACES = 256
_NARROW = 48
_CLOSER = 9
_ROUNDS = 3


def roomiest(outline: Array, others: Sequence[Array] = ()) -> Array:
    """The place (2,) inside a closed outline that lies farthest from it, and from other lines.

    Found on a grid that is made finer around the best place, to about a hundredth of the outline's size.
    """
    box = cubics.bounds(outline)
    near = [curve for curve in others if _meets(cubics.bounds(curve), box)]
    curve = np.concatenate([outline, *near])
    sides = box[1] - box[0]
    cell = max(float(np.sqrt(sides.prod() / _PLACES)), float(sides.max()) / _NARROW)
    grid = _grid(box.mean(axis=0), sides, cell)
    best, room = box.mean(axis=0), -1.0
    for _ in range(_ROUNDS):
        inside = grid[winding(outline, grid) != 0]
        if len(inside):
            away = nearest(curve, inside).distance
            k = int(np.argmax(away))
            if float(away[k]) > room:
                best, room = inside[k], float(away[k])
        grid, cell = _grid(best, np.full(2, 2.0 * cell), 2.0 * cell / _CLOSER), 2.0 * cell / _CLOSER
    return np.asarray(best)


def _grid(centre: Array, sides: Array, cell: float) -> Array:
    """The middles (k, 2) of cells of that size, or a little less, in a box."""
    x, y = (
        side * ((np.arange(n) + 0.5) / n - 0.5) for side, n in zip(sides, np.ceil(sides / cell - 1e-9), strict=True)
    )
    return np.asarray(centre + np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2))


def _meets(a: Array, b: Array) -> bool:
    return bool((a[0] <= b[1]).all() and (b[0] <= a[1]).all())
