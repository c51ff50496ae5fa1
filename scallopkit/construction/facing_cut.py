"""A facing as it is cut: the allowances beyond its stitching lines."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.offset import offset
from .cutting import AFTER, BEFORE, MITRED, TURNED, Corner, Side, cutting_line
from .facing import FOLD, Facing

# Of the true parallel, mm; a quarter of what is promised.
_ACCURACY = 0.005


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


def facing_cut(facing: Facing, height: float, seam: float, inner: float, along: Array) -> FacingCut:
    """The cutting lines of a facing.

    Args:
        facing: the facing.
        height: how far beyond its trimmed edge it is cut, mm.
        seam: allowance at its own seams and free ends, mm; there is none on a fold.
        inner: allowance of its inner edge, mm.
        along: the cutting line beyond its trimmed edge, as `flat_cut` gives it; beyond the ends it goes on as the
            garment's does, so that the allowance of a seam that is pressed open lies under it.

    Raises:
        RequestError: no cutting line can be drawn; the text says where.
    """
    outside = -facing.cloth
    if facing.ring:
        within = cubics.reverse(_parallel(facing.inner, -outside * inner))
        return FacingCut(along, within, (), (along, within))
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


def _parallel(curve: Array, distance: float) -> Array:
    found = offset(curve, distance, closed=True, accuracy=_ACCURACY)
    if not found:
        x, y = curve[0, 0]
        raise RequestError(
            f"no cutting line lies {abs(distance):g} mm beyond the facing's edge that starts at ({x:.1f}, {y:.1f}) mm: "
            "give a smaller allowance"
        )
    return found[0]
