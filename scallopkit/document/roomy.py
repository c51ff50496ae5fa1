"""The roomiest place inside an outline, for what is written on a piece."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.nearest import nearest
from ..geometry.winding import winding

# So many places across the longer side are looked at first, and then again around the best one.
_STEPS = 24
_ROUNDS = 3


def roomiest(outline: Array, others: Sequence[Array] = ()) -> Array:
    """The place (2,) inside a closed outline that lies farthest from it, and from other lines.

    Found on a grid that is made finer around the best place, to about a hundredth of the outline's size.
    """
    box = cubics.bounds(outline)
    near = [curve for curve in others if _meets(cubics.bounds(curve), box)]
    curve = np.concatenate([outline, *near])
    centre, size = box.mean(axis=0), float((box[1] - box[0]).max())
    best, room = centre, -1.0
    for _ in range(_ROUNDS):
        steps = (np.arange(_STEPS) + 0.5) / _STEPS - 0.5
        grid = centre + size * np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
        inside = grid[winding(outline, grid) != 0]
        if len(inside):
            away = nearest(curve, inside).distance
            k = int(np.argmax(away))
            if float(away[k]) > room:
                best, room = inside[k], float(away[k])
        centre, size = best, size / (0.25 * _STEPS)
    return np.asarray(best)


def _meets(a: Array, b: Array) -> bool:
    return bool((a[0] <= b[1]).all() and (b[0] <= a[1]).all())
