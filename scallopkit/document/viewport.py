"""How large a drawing and its inner viewports are, and the map from a drawing's units to millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from lxml import etree

from ..errors import DrawingError
from ..geometry.cubics import Array
from ..geometry.motion import compose, moved, scaled, similarity_scale
from ..pattern.piece import Warn
from .transforms import Box, Size, read_transform, read_view_box, viewport_map
from .units import MM_PER_PX, SvgLength, svg_length


@dataclass(frozen=True, eq=False)
class RootViewport:
    """The outermost viewport.

    Attributes:
        to_mm: the map from root user units to mm; it keeps shapes.
        size_mm: width and height of the page, or None where the drawing does not say.
        units: width and height in root user units, which shares in % are of.
        warnings: what had to be supposed.
    """

    to_mm: Array
    size_mm: Size | None
    units: Size
    warnings: tuple[Warn, ...]


def root_viewport(root: etree._Element) -> RootViewport:
    """Read width, height, viewBox and preserveAspectRatio of the outermost element.

    Without a size in a unit of length 96 px are taken for an inch, with a warning.

    Raises:
        DrawingError: an attribute cannot be read, or the scale is not the same both ways.
    """
    text = root.get("transform")
    if text and not np.array_equal(read_transform(text), read_transform("")):
        raise DrawingError(f"its outermost element has the transform {text!r}; move the transform to a group inside")
    box = read_view_box(root.get("viewBox", "")) if root.get("viewBox") else None
    given = [_root_length(root, "width"), _root_length(root, "height")]
    width, height = _completed([g.mm if g else None for g in given], box)
    to_px_or_mm = viewport_map(width, height, box, root.get("preserveAspectRatio"))
    to_mm = to_px_or_mm if box else scaled(MM_PER_PX, MM_PER_PX)
    if similarity_scale(to_mm) is None:
        raise DrawingError(
            f"one unit of the drawing is {to_mm[0, 0]:.6g} mm across and {to_mm[1, 1]:.6g} mm down; "
            "make width : height the same as in the viewBox, or remove preserveAspectRatio"
        )
    known = [g for g in given if g]
    size = (width, height) if len(known) == 2 or (known and box) else None
    units = (box[2], box[3]) if box else (width / MM_PER_PX, height / MM_PER_PX)
    return RootViewport(to_mm, size, units, _supposed(known, to_mm))


def _root_length(root: etree._Element, name: str) -> SvgLength | None:
    """Width or height of the page, or None where it is missing, `auto` or a share of the window."""
    text = (root.get(name) or "").strip()
    if text in ("", "auto"):
        return None
    try:
        length = svg_length(text)
    except DrawingError as error:
        raise DrawingError(f"its {name}: {error}") from None
    if length.unit == "%":
        return None
    if length.number <= 0.0:
        raise DrawingError(f"its {name} is {text!r}; a page must be larger than nothing")
    return length


def _completed(given: list[float | None], box: Box | None) -> Size:
    """Width and height in mm, the missing ones from the viewBox."""
    width, height = given
    _, _, across, down = box or (0.0, 0.0, 300.0, 150.0)
    if width is None and height is None:
        return across * MM_PER_PX, down * MM_PER_PX
    if width is None and height is not None:
        width = height * across / down
    if height is None and width is not None:
        height = width * down / across
    return width or 0.0, height or 0.0


def _supposed(known: list[SvgLength], to_mm: Array) -> tuple[Warn, ...]:
    if known and all(length.unit not in ("", "px") for length in known):
        return ()
    scale = similarity_scale(to_mm) or 0.0
    message = (
        f"the drawing gives no size in mm, cm or in; 96 px are taken for an inch, so that one unit is {scale:.6g} mm"
    )
    return (Warn("no-units", message),)


def inner_viewport(properties: Mapping[str, str], outer: Size, size: Mapping[str, str]) -> tuple[Array, Size]:
    """The map of an inner `svg` or `symbol` to the units around it, and its own size in its own units.

    Args:
        properties: attributes and style of the element.
        outer: size of the viewport around it.
        size: width and height that the `use` which draws it gives.

    Raises:
        DrawingError: an attribute cannot be read, or the size or the viewBox is not larger than nothing.
    """
    x = svg_length(properties.get("x", "0")).user(outer[0])
    y = svg_length(properties.get("y", "0")).user(outer[1])
    width, height = (_inner_length(properties, size, name, outer[i]) for i, name in enumerate(("width", "height")))
    if width <= 0.0 or height <= 0.0:
        raise DrawingError("its width or height is not larger than nothing")
    text = properties.get("viewBox")
    box = read_view_box(text) if text else None
    inner = viewport_map(width, height, box, properties.get("preserveAspectRatio"))
    return compose(moved(x, y), inner), (box[2], box[3]) if box else (width, height)


def _inner_length(properties: Mapping[str, str], size: Mapping[str, str], name: str, whole: float) -> float:
    text = size.get(name, "auto").strip()
    if text == "auto":
        text = properties.get(name, "auto").strip()
    return svg_length("100%" if text == "auto" else text).user(whole)
