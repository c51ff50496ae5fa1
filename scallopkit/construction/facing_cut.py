"""A facing as it is cut: the allowances beyond its stitching lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.offset import offset
from .cutting import AFTER, BEFORE, MITRED, TURNED, Corner, Side, cutting_line
from .facing import FOLD, Facing
from .trimmed_edge import STRAIGHT, Cut

# Of the true parallel, mm; a quarter of what is promised.
_ACCURACY = 0.005
# How far the edge's cutting line goes on beyond its ends, in allowances that it has to cross there.
_BEYOND = 4.0


@dataclass(frozen=True, eq=False)
class FacingCut:
    """The cutting lines of a facing, in the facing's own frame.

    Attributes:
        edge: beyond its trimmed edge, walked in the run's direction.
        inner: beyond its inner edge, walked the other way.
        ends: beyond its start and its end, of which a ring has none.
        curves: the closed lines that it is cut along: one, or of a ring the outer and the inner one.
    """

    edge: Array
    inner: Array
    ends: tuple[Array, ...]
    curves: tuple[Array, ...]


def facing_cut(
    facing: Facing, cut: Cut, crests: float, seam: float, inner: float, along: Array | None = None
) -> FacingCut:
    """The cutting lines of a facing.

    Beyond its ends the trimmed edge goes on as its own mirror image in the line of the end, so that the allowance of
    a seam that is pressed open lies under it.

    Args:
        facing: the facing.
        cut: how its trimmed edge is cut, as the garment's.
        crests: how far the crests lie beyond the run's own line, mm.
        seam: allowance at its own seams and free ends, mm; there is none on a fold.
        inner: allowance of its inner edge, mm.
        along: the garment's own cutting line beyond these parts in the facing's frame, as `flat_cut` gives it, where
            the facing has its stitching line.

    Raises:
        RequestError: no cutting line can be drawn; the text says where.
    """
    outside = -facing.cloth
    height = cut.distance + (crests if cut.kind == STRAIGHT else 0.0)
    sewn = facing.source if cut.kind == STRAIGHT else facing.edge
    if facing.ring:
        edge = _parallel(sewn, outside * height, True) if along is None else along
        within = _parallel(facing.inner, -outside * inner, True)
        return FacingCut(edge, cubics.reverse(within), (), (edge, cubics.reverse(within)))
    if along is None:
        reach = _BEYOND * (seam + height) + 10.0
        drawn_on = cubics.reverse(_mirrored_on(cubics.reverse(sewn), facing.start, reach))
        along = _beyond_edge(sewn, _mirrored_on(drawn_on, facing.end, reach), outside * height)
    beyond = [0.0 if kind == FOLD else seam for kind in facing.ends]
    kinds = [MITRED if kind == FOLD else TURNED for kind in facing.ends]
    sides = (
        Side(facing.edge, height, along, "the facing's trimmed edge"),
        Side(facing.end, beyond[1], None, "the facing's end"),
        Side(cubics.reverse(facing.inner), inner, None, "the facing's inner edge"),
        Side(cubics.reverse(facing.start), beyond[0], None, "the facing's start"),
    )
    corners = (Corner(), Corner(), Corner(kinds[1], BEFORE), Corner(kinds[0], AFTER))
    found = cutting_line(sides, corners, outside)
    return FacingCut(found.sides[0], found.sides[2], (found.sides[3], found.sides[1]), (found.curve,))


def _beyond_edge(sewn: Array, drawn_on: Array, distance: float) -> Array:
    """The parallel of the trimmed edge, drawn on as its mirror image where that does not run over the edge itself."""
    try:
        return _parallel(drawn_on, distance, False)
    except RequestError:
        # A scallop that leans over its end meets its own image there; beyond it the cut goes straight on.
        return _parallel(sewn, distance, False)


def _mirrored_on(curve: Array, end: Array, reach: float) -> Array:
    """A line that goes on beyond its end as its own mirror image in the line that the facing ends along there."""
    m = measure(curve)
    mirror = motion.mirrored(curve[-1, 3], cubics.ends_direction(end)[0])
    image = cubics.reverse(motion.apply(mirror, m.part(max(m.length - reach, 0.0), m.length)))
    image[0, 0] = curve[-1, 3]
    return np.concatenate([curve, image])


def _parallel(curve: Array, distance: float, closed: bool) -> Array:
    found = offset(curve, distance, closed, accuracy=_ACCURACY)
    if not found:
        x, y = curve[0, 0]
        raise RequestError(
            f"no cutting line lies {abs(distance):g} mm beyond the facing's edge that starts at ({x:.1f}, {y:.1f}) mm: "
            "give a smaller allowance"
        )
    return found[0]
