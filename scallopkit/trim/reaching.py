"""Scallops that reach where they should not: another edge, another piece, or each other across a hollow."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array, Ints
from ..pattern.piece import Warn

# A scallop may end on the corner where the next edge begins; a crossing this near its ends is that corner.
_END = 0.01
_FLAT = 0.02


def reach_warnings(lines: Sequence[tuple[int, Array]], others: Sequence[tuple[str, Array]], piece: str) -> list[Warn]:
    """A warning for each outline that scallops cross.

    Args:
        lines: the scallops' numbers, from 0 on, and what is drawn of each.
        others: names and curves of the outlines they should keep clear of.
        piece: the piece they belong to.
    """
    boxes = _boxes([curve for _, curve in lines])
    out = []
    for name, outline in others:
        near = _near_outline(boxes, outline)
        found = [(lines[i][0], _crossing(lines[i][1], outline)) for i in near]
        hits = [(number, place) for number, place in found if place is not None]
        if hits:
            text = f"{_which(hits)} {'reach' if len(hits) > 1 else 'reaches'} {name}"
            out.append(
                _warn("crest-reaches", text + ": make the scallops shallower or move the outlines apart", hits, piece)
            )
    return out


def cross_warnings(curves: Sequence[Array], piece: str) -> list[Warn]:
    """A warning for scallops, given by their lines, that cross others which are not their neighbours."""
    pairs = _near_each_other(_boxes(curves))
    hits = [(i, place) for i, j in pairs if (place := _crossing(curves[i], curves[j])) is not None]
    if not hits:
        return []
    text = f"{_which(hits)} run into scallops that are not their neighbours"
    return [_warn("scallops-cross", text + ": the edge is too hollow for this depth", hits, piece)]


def _boxes(curves: Sequence[Array]) -> Array:
    # A box round the control points holds the curve too, and a box that is a little large costs only a closer look.
    return np.array([[curve.min(axis=(0, 1)), curve.max(axis=(0, 1))] for curve in curves]).reshape(-1, 2, 2)


def _which(hits: list[tuple[int, Array]]) -> str:
    numbers = [str(i + 1) for i, _ in hits]
    shown = ", ".join(numbers[:6]) + (f" and {len(numbers) - 6} more" if len(numbers) > 6 else "")
    return f"scallop{'s' if len(hits) > 1 else ''} {shown}"


def _warn(code: str, text: str, hits: list[tuple[int, Array]], piece: str) -> Warn:
    x, y = hits[0][1]
    return Warn(code, text, piece, float(x), float(y))


def _near_outline(boxes: Array, outline: Array) -> Ints:
    """Numbers of the scallops whose boxes meet a straight piece of the flattened outline."""
    points = cubics.flatten(outline, _FLAT)
    low, high = np.minimum(points[:-1], points[1:]), np.maximum(points[:-1], points[1:])
    whole = np.stack([points.min(axis=0), points.max(axis=0)])
    candidates = np.flatnonzero(((boxes[:, 0] <= whole[1]) & (boxes[:, 1] >= whole[0])).all(axis=1))
    near = [i for i in candidates if ((low <= boxes[i, 1]) & (high >= boxes[i, 0])).all(axis=1).any()]
    return np.array(near, dtype=np.intp)


def _near_each_other(boxes: Array) -> list[tuple[int, int]]:
    """Pairs of scallops, not neighbours, whose boxes meet; by a sweep along x."""
    order = np.argsort(boxes[:, 0, 0], kind="stable")
    low, high = boxes[order, 0], boxes[order, 1]
    count = len(boxes)
    pairs: list[tuple[int, int]] = []
    for step in range(1, count):
        meets_in_x = low[step:, 0] <= high[:-step, 0]
        if not meets_in_x.any():
            break
        meets = meets_in_x & (low[step:, 1] <= high[:-step, 1]) & (high[step:, 1] >= low[:-step, 1])
        for k in np.flatnonzero(meets):
            i, j = sorted((int(order[k]), int(order[k + step])))
            if 1 < j - i < count - 1:
                pairs.append((i, j))
    return sorted(pairs)


def _crossing(curve: Array, other: Array) -> Array | None:
    """The first place where a scallop's line crosses the other curve, its own ends left out."""
    # Loaded when a box test has found a candidate, so that an ordinary edge does not wait for it.
    from ..geometry.intersect import crossings

    found = crossings(curve, _beside(curve, other)).point
    ends = np.stack([curve[0, 0], curve[-1, 3]])
    clear = np.hypot(*(found[:, None] - ends[None]).transpose(2, 0, 1)).min(axis=1) > _END
    return found[clear][0] if clear.any() else None


def _beside(curve: Array, other: Array) -> Array:
    """The segments of the other curve whose boxes meet the scallop's."""
    low, high = curve.min(axis=(0, 1)), curve.max(axis=(0, 1))
    return np.asarray(other[((other.min(axis=1) <= high) & (other.max(axis=1) >= low)).all(axis=1)])
