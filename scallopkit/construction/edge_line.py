"""The trimmed line over one or several parts as one curve without gaps, and parts of curves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import Measured
from ..trim.sharing import Share, Trimmed, share_curves, starts_line

# Places nearer than this, mm, are one: what halves of the trimmed line may part by.
_MEETS = 1e-6
# Segments no larger, mm, are rounding.
_SPECK = 1e-9


def edge_line(line: Trimmed, share: Share, begin: float, end: float, lower: float) -> Array:
    """A share of the trimmed line in one curve; where it has gaps it follows the course.

    Args:
        line: the trimmed line.
        share: what of it is taken.
        begin: where along the course it begins, mm.
        end: where it ends.
        lower: how much lower its scallops are made, mm.
    """
    m = line.course.measured
    chain: list[Array] = []
    covered = begin if share.begin.point is None else None
    for element, curve in share_curves(line, share):
        placed = m.carried(lowered(line, element, curve, lower), element // line.elements)
        lead = line.lead is not None and not chain and starts_line(share)
        since, until = _stands(line, element) if not lead else (begin, float(line.placed.row.s_start[0]))
        if covered is not None and since > covered + _MEETS and not _goes_on(chain, placed):
            chain.append(part_of(m, covered, since))
        chain.append(placed)
        covered = until
    if share.end.point is None and (covered is None or covered < end - _MEETS):
        chain.append(part_of(m, begin if covered is None else covered, end))
    return _connected(chain)


def lowered(line: Trimmed, element: int, curve: Array, lower: float) -> Array:
    """A scallop's curve with all its heights over its base line made less in the same ratio, its crest by `lower` mm.

    Of an element that leads from one scallop to the next nothing is changed.
    """
    i, is_link = divmod(element % line.elements, 2)
    if is_link or lower == 0.0:
        return curve
    axis = line.placed.axis[i]
    height = (curve - line.placed.row.start[i]) @ axis
    return np.asarray(curve - (lower / float(line.placed.depth[i])) * height[..., None] * axis)


def _stands(line: Trimmed, element: int) -> tuple[float, float]:
    """From where to where along the course an element stands."""
    turn, own = divmod(element, line.elements)
    i, is_link = divmod(own, 2)
    row, length = line.placed.row, line.course.measured.length
    since, until = float(row.s_start[i]), float(row.s_end[i])
    if is_link:
        last = i + 1 == len(row)
        onward = length if last and not line.course.loop else float(row.s_start[(i + 1) % len(row)]) + last * length
        since, until = until, onward
    return since + turn * length, until + turn * length


def part_of(m: Measured, begin: float, end: float) -> Array:
    """A part of a curve; segments of mere rounding beside its ends, which have no direction, are left out."""
    return unbroken(m.part(begin, end))


def unbroken(curve: Array) -> Array:
    """A curve without segments of mere rounding, each of which begins where the one before ends, to the last bit."""
    out = curve[np.ptp(curve, axis=1).max(axis=1) > _SPECK]
    out[1:, 0] = out[:-1, 3]
    return np.asarray(out)


def _goes_on(chain: Sequence[Array], curve: Array) -> bool:
    return bool(chain) and float(np.hypot(*(curve[0, 0] - chain[-1][-1, 3]))) <= _MEETS


def _connected(chain: Sequence[Array]) -> Array:
    """Curves as one, with straight lines where they do not meet."""
    parts: list[Array] = []
    for curve in chain:
        onward = curve.copy()
        if _goes_on(parts, onward):
            onward[0, 0] = parts[-1][-1, 3]
        elif parts:
            parts.append(cubics.lines([parts[-1][-1, 3], onward[0, 0]]))
        parts.append(onward)
    return unbroken(np.concatenate(parts))
