"""Curves put end to end as one curve."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array

# What is drawn as no length at all, mm.
NOTHING = 1e-4


def linked(curves: Sequence[Array], closed: bool = True) -> Array:
    """Curves one after the other, with straight lines from each to the next where they do not meet.

    Args:
        curves: at least one curve (n, 4, 2) in mm, each walked onwards.
        closed: whether the last leads back to the first.
    """
    out = []
    for i, curve in enumerate(curves):
        out.append(curve)
        if i + 1 < len(curves) or closed:
            ends = np.stack([curve[-1, 3], curves[(i + 1) % len(curves)][0, 0]])
            if np.abs(ends[1] - ends[0]).max() > NOTHING:
                out.append(cubics.lines(ends))
    return np.concatenate(out)
