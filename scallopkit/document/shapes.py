"""The basic shapes of SVG as curves, with the start points and directions that SVG 2 gives them.

https://www.w3.org/TR/SVG2/shapes.html; a shape of no size draws nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from ..errors import DrawingError
from ..geometry.arcs import ellipse_arc
from ..geometry.cubics import Array, lines, without_points
from .number_lists import read_numbers
from .path_data import PathData, SubPath, read_path
from .transforms import Size
from .units import svg_length

_QUARTER = math.pi / 2.0


def read_shape(
    kind: str, attributes: Mapping[str, str], viewport: Size, accuracy: float, few: bool = False
) -> PathData:
    """What an element draws, in user units; `kind` is its tag: path, rect, circle, ellipse, line, polyline, polygon.

    Curves stay within `accuracy`; `viewport` is what shares in % are of. With `few` the accuracy alone says into how
    many cubics arcs are cut: for what is only drawn again, not measured.

    Raises:
        DrawingError: a length cannot be read or is negative where it must not be.
    """
    if kind == "path":
        return read_path(attributes.get("d", ""), accuracy, few)
    if kind in ("polyline", "polygon"):
        return _through_points(attributes.get("points", ""), kind == "polygon")
    lengths = _Lengths(attributes, viewport)
    if kind == "rect":
        return _drawn(_rect(lengths, accuracy, few), True)
    if kind == "line":
        ends = [[lengths("x1"), lengths("y1")], [lengths("x2"), lengths("y2")]]
        return _drawn(lines(ends), False)
    return _drawn(_ellipse(kind, lengths, accuracy, few), True)


class _Lengths:
    """Looks up lengths of one element in user units."""

    def __init__(self, attributes: Mapping[str, str], viewport: Size) -> None:
        self._attributes = attributes
        width, height = viewport
        self._whole = {"x": width, "y": height, "r": math.hypot(width, height) / math.sqrt(2.0)}

    def __call__(self, name: str) -> float:
        return self.given(name) or 0.0

    def given(self, name: str) -> float | None:
        """The length, or None where it is missing or `auto`."""
        text = self._attributes.get(name, "auto").strip()
        if text == "auto":
            return None
        along = "x" if "x" in name or name == "width" else "y" if "y" in name or name == "height" else "r"
        try:
            return svg_length(text).user(self._whole[along])
        except DrawingError as error:
            raise DrawingError(f"its {name}: {error}") from None

    def size(self, name: str) -> float | None:
        value = self.given(name)
        if value is not None and value < 0.0:
            raise DrawingError(f"its {name} is negative")
        return value


def _drawn(curve: Array, closed: bool) -> PathData:
    whole = without_points(curve)
    return PathData((SubPath(whole, closed),) if len(whole) else (), dropped=len(curve) - len(whole))


def _through_points(text: str, closed: bool) -> PathData:
    values, fault = read_numbers(text)
    finite = [abs(v) <= 1e9 for v in values]
    good = finite.index(False) if False in finite else len(values)
    problem = None
    if fault is not None:
        problem = f"character {fault + 1} of its points is {text[fault : fault + 12]!r}, where a number should stand"
    if good < len(values):
        problem = f"number {good + 1} of its points is {values[good]:g}, where a number should be at most 1e9"
    elif good % 2 and problem is None:
        problem = f"its points end after {good} numbers, where they should come in pairs"
    points = np.array(values[: good - good % 2]).reshape(-1, 2)
    stopped = (float(points[-1, 0]), float(points[-1, 1])) if problem and len(points) else None
    if closed and len(points) > 1 and (points[0] != points[-1]).any():
        points = np.concatenate([points, points[:1]])
    data = _drawn(lines(points), closed)
    return PathData(data.subpaths, problem, stopped, data.dropped)


def _rect(lengths: _Lengths, accuracy: float, few: bool) -> Array:
    x, y = lengths("x"), lengths("y")
    width, height = lengths.size("width") or 0.0, lengths.size("height") or 0.0
    rx, ry = lengths.size("rx"), lengths.size("ry")
    rx, ry = (ry if rx is None else rx) or 0.0, (rx if ry is None else ry) or 0.0
    if width == 0.0 or height == 0.0:
        return np.empty((0, 4, 2))
    rx, ry = min(rx, width / 2.0), min(ry, height / 2.0)
    right, bottom = x + width, y + height
    if rx == 0.0 or ry == 0.0:
        return lines([[x, y], [right, y], [right, bottom], [x, bottom], [x, y]])
    sides = [
        [(x + rx, y), (right - rx, y)],
        [(right, y + ry), (right, bottom - ry)],
        [(right - rx, bottom), (x + rx, bottom)],
        [(x, bottom - ry), (x, y + ry)],
    ]
    centres = [(right - rx, y + ry), (right - rx, bottom - ry), (x + rx, bottom - ry), (x + rx, y + ry)]
    parts = []
    for i in range(4):
        corner = ellipse_arc(centres[i], (rx, ry), 0.0, (i - 1) * _QUARTER, _QUARTER, accuracy, few)
        corner[0, 0], corner[-1, 3] = sides[i][1], sides[(i + 1) % 4][0]
        if sides[i][0] != sides[i][1]:
            parts.append(lines(sides[i]))
        parts.append(corner)
    return np.concatenate(parts)


def _ellipse(kind: str, lengths: _Lengths, accuracy: float, few: bool) -> Array:
    cx, cy = lengths("cx"), lengths("cy")
    if kind == "circle":
        rx = ry = lengths.size("r") or 0.0
    else:
        one, other = lengths.size("rx"), lengths.size("ry")
        rx, ry = (other if one is None else one) or 0.0, (one if other is None else other) or 0.0
    if rx == 0.0 or ry == 0.0:
        return np.empty((0, 4, 2))
    # The four quarter points are nodes, to the last bit.
    nodes = [(cx + rx, cy), (cx, cy + ry), (cx - rx, cy), (cx, cy - ry), (cx + rx, cy)]
    quarters = [ellipse_arc((cx, cy), (rx, ry), 0.0, i * _QUARTER, _QUARTER, accuracy, few) for i in range(4)]
    for quarter, start, end in zip(quarters, nodes, nodes[1:], strict=False):
        quarter[0, 0], quarter[-1, 3] = start, end
    return np.concatenate(quarters)
