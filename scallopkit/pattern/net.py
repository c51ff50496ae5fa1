"""The net edge of an outline drawn with its seam allowance on: the stitching line between its neighbours'."""

from __future__ import annotations

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.intersect import crossings
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from .corners import corners
from .edge import Edge, on_line

_ACCURACY = 0.005


def net_edge(edge: Edge, own: float, at_start: float, at_end: float) -> Edge:
    """The stitching line inside a drawn edge of a closed outline.

    Args:
        edge: the edge as drawn, at the cut.
        own: seam allowance of the edge itself, mm.
        at_start: seam allowance of the edge that meets it at its start; 0 at a fold.
        at_end: seam allowance of the edge that meets it at its end.

    Returns:
        The edge on its stitching line, within 0.02 mm, its ends on the neighbours' stitching lines; marks and corners
        moved to it. An edge of an open line comes back as it is: it has no inside.

    Raises:
        RequestError: the piece is too narrow for its allowance, or its stitching lines do not meet.
    """
    if edge.outside == 0:
        return edge
    inside = -edge.outside
    if edge.loop:
        return _net_outline(edge, inside * own, own)
    curve = (
        edge.curve
        if own <= 0.0
        else _one(offset(edge.curve, inside * own, closed=False, accuracy=_ACCURACY), edge, own)
    )
    before = _beside(edge.before, -inside * at_start, edge, at_start)
    after = _beside(edge.after, inside * at_end, edge, at_end)
    reach = 4.0 * max(own, at_start, at_end)
    curve, before = _met(edge, curve, before, reach, edge.start)
    curve, after = _met(edge, curve, after, reach, edge.end, at_end=True)
    return on_line(edge, curve, before, after, own + max(at_start, at_end))


def _net_outline(edge: Edge, distance: float, own: float) -> Edge:
    if own <= 0.0:
        return edge
    curve = _one(offset(edge.curve, distance, closed=True, accuracy=_ACCURACY), edge, own)
    first = edge.curve[0, 0]
    firm = [curve[c.node, 0] for c in corners(curve, closed=True)]
    at_corner = min(firm, key=lambda p: float(np.hypot(*(p - first))), default=None)
    if at_corner is None or np.hypot(*(at_corner - first)) > 4.0 * own:
        at_corner = first
    place = nearest(curve, np.array([at_corner]))
    segment, t, last = int(place.segment[0]), float(place.t[0]), len(curve) - 1
    parts = [(segment, t), (last, 1.0)], [(0, 0.0), (segment, t)]
    turned = np.concatenate([cubics.stretch(curve, a, b) for a, b in parts if a != b])
    return on_line(edge, turned, None, None, own)


def _one(found: list[Array], edge: Edge, allowance: float) -> Array:
    if len(found) != 1:
        raise RequestError(
            f'"{edge.name}" has no single stitching line {allowance:g} mm inside it: '
            "the piece is too narrow there; give a smaller --allowance"
        )
    return found[0]


def _beside(neighbour: Array | None, distance: float, edge: Edge, allowance: float) -> Array | None:
    """The stitching line of a neighbouring edge, walked away from the corner."""
    if neighbour is None or allowance <= 0.0:
        return neighbour
    return _one(offset(neighbour, distance, closed=False, accuracy=_ACCURACY), edge, allowance)


def _met(
    edge: Edge, curve: Array, neighbour: Array | None, reach: float, name: str, at_end: bool = False
) -> tuple[Array, Array | None]:
    """Both stitching lines cut where they cross beside the corner; without a neighbour nothing changes."""
    if neighbour is None or reach <= 0.0:
        return curve, neighbour
    walked = cubics.reverse(curve) if at_end else curve
    a, b = measure(_longer(walked, reach)), measure(_longer(neighbour, reach))
    found = crossings(a.curve, b.curve)
    corner = edge.curve[-1, 3] if at_end else edge.curve[0, 0]
    if len(found.point) == 0:
        raise RequestError(
            f'the stitching lines beside "{name}" do not meet: the corner is too blunt, or the piece too narrow, '
            "for this --allowance"
        )
    k = int(np.argmin(np.hypot(*(found.point - corner).T)))
    cut = _from(a, found.segment_a[k], found.t_a[k])
    rest = _from(b, found.segment_b[k], found.t_b[k])
    return (cubics.reverse(cut) if at_end else cut), rest


def _from(m: Measured, segment: int, t: float) -> Array:
    return cubics.stretch(m.curve, (int(segment), float(t)), (len(m.curve) - 1, 1.0))


def _longer(curve: Array, by: float) -> Array:
    """The curve with a straight piece before its first point."""
    direction, _ = cubics.ends_direction(curve)
    return np.concatenate([cubics.lines([curve[0, 0] - by * direction, curve[0, 0]]), curve])
