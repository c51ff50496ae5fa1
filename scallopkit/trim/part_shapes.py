"""What each part of a row looks like on the cloth: holes and flanges, slits with bars, buttons, snaps, and patches."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..geometry import cubics
from ..geometry.arcs import ellipse_arc
from ..geometry.cubics import Array
from .eyelets import Eyelets, EyeletSize
from .fastenings import BAR, SNAP, WORKED, Buttonhole

# The cross of a button and the dot of a snap, as shares of their diameter: our own choice.
_CROSS, _DOT = 0.3, 0.08
_ACCURACY = 1e-6


@dataclass(frozen=True, eq=False)
class Shape:
    """One element of a part.

    Attributes:
        role: "eyelet", "placement" (where a flange will lie) or "patch".
        name: what it is.
        radius: of a circle about the part's middle, mm; 0 where it is no circle.
        lines: what else is drawn, cubics in the frame of the course.
    """

    role: str
    name: str
    radius: float = 0.0
    lines: tuple[Array, ...] = ()


def shapes_of(row: Eyelets, i: int) -> tuple[Shape, ...]:
    """The shapes of part `i` of a row."""
    return (*_part(row, i), *((_patch(row, i),) if row.patch else ()))


def _part(row: Eyelets, i: int) -> tuple[Shape, ...]:
    size, centre = row.size, row.points[i]
    if isinstance(size, EyeletSize):
        return Shape("eyelet", "eyelet", 0.5 * size.hole), Shape("placement", "flange", 0.5 * size.flange)
    if isinstance(size, Buttonhole):
        along = row.slits[i]
        ends = [centre - 0.5 * size.length * along, centre + 0.5 * size.length * along]
        half = 0.5 * WORKED * cubics.left(along)
        bars = [cubics.lines([end - half, end + half]) for end in ends]
        return (Shape("eyelet", "buttonhole", lines=(cubics.lines(ends), *bars)),)
    rim = _circle(centre, 0.5 * size.diameter)
    if size.part == SNAP:
        return (Shape("eyelet", "snap", lines=(rim, _circle(centre, _DOT * size.diameter))),)
    reach = _CROSS * size.diameter * np.array([(1.0, 1.0), (1.0, -1.0)]) / math.sqrt(2.0)
    return (Shape("eyelet", "button", lines=(rim, *(cubics.lines([centre - v, centre + v]) for v in reach))),)


def _patch(row: Eyelets, i: int) -> Shape:
    """The outline of a patch, so far beyond the flange all round."""
    size = row.size
    if not isinstance(size, Buttonhole):
        return Shape("patch", "patch", 0.5 * size.flange + row.patch)
    along = row.slits[i]
    across = cubics.left(along)
    long, wide = 0.5 * size.length + BAR, 0.5 * WORKED
    angle = math.atan2(float(along[1]), float(along[0]))
    out: list[Array] = []
    # Clockwise as seen, as angles grow: one rounded corner after the other, with straight sides between them.
    for k, (a, b) in enumerate(((1.0, -1.0), (-1.0, -1.0), (-1.0, 1.0), (1.0, 1.0))):
        corner = row.points[i] + a * long * along + b * wide * across
        quarter = 0.5 * math.pi
        arc = ellipse_arc(
            (float(corner[0]), float(corner[1])), (row.patch, row.patch), 0.0, angle + k * quarter, quarter, _ACCURACY
        )
        out += [cubics.lines([out[-1][-1, 3], arc[0, 0]]), arc] if out else [arc]
    out.append(cubics.lines([out[-1][-1, 3], out[0][0, 0]]))
    return Shape("patch", "patch", lines=(np.concatenate(out),))


def _circle(centre: Array, radius: float) -> Array:
    return ellipse_arc((float(centre[0]), float(centre[1])), (radius, radius), 0.0, 0.0, 2.0 * math.pi, _ACCURACY)
