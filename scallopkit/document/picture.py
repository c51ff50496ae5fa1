"""Drawings as PNG pictures, whole or a region of them."""

from __future__ import annotations

import functools
import os
import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from lxml import etree

from ..errors import DrawingError, RequestError, ScallopkitError
from ..geometry.cubics import Array
from ..geometry.motion import apply, inverse
from .numbers import decimal
from .source import parse_xml
from .transforms import read_view_box
from .units import svg_length

# CSS: 96 px to the inch. The renderer takes none by itself, and then millimetres come to nothing.
_DPI = 96.0
# The renderer ends the whole program when it cannot get the memory.
_MOST_PIXELS = 100_000_000

_FONT_FOLDERS = (
    "/usr/share/fonts",
    "/usr/local/share/fonts",
    "~/.fonts",
    "~/.local/share/fonts",
    "/System/Library/Fonts",
    "/Library/Fonts",
    "~/Library/Fonts",
    "%WINDIR%/Fonts",
)
_FAVOURITES = ("arial.ttf", "liberationsans-regular.ttf", "dejavusans.ttf", "notosans-regular.ttf")


def to_png(svg: bytes, width_px: int | None = None, background: str | None = None) -> bytes:
    """A drawing as the bytes of a PNG picture.

    Texts are drawn in a font of this machine; where there is none, the picture comes without them.

    Args:
        svg: the drawing, or a region of it from `cropped`.
        width_px: the picture's width; None takes the drawing's own size at 96 px to the inch.
        background: a CSS colour, or None for a transparent one.

    Raises:
        RequestError: the width is not positive, or the picture would be too large.
        DrawingError: the drawing or the colour cannot be read.
        ScallopkitError: the library that draws pictures is not installed.
    """
    try:
        from resvg_py import svg_to_bytes
    except ImportError as error:
        raise ScallopkitError("pictures need one more library: pip install resvg_py") from error
    root = parse_xml(svg, "the drawing")
    _set_size(root, width_px)
    family, files = _font()
    try:
        return svg_to_bytes(
            svg_string=etree.tostring(root.getroottree(), encoding="unicode"),
            background=background,
            dpi=_DPI,
            font_family=family,
            serif_family=family,
            sans_serif_family=family,
            monospace_family=family,
            font_files=files,
        )
    except ValueError as error:
        raise DrawingError(f"the drawing cannot be made into a picture: {error}") from error


def cropped(svg: bytes, box_mm: tuple[float, float, float, float], to_mm: Array) -> bytes:
    """A copy of a drawing whose page is one region of it, at full size.

    Args:
        svg: the drawing.
        box_mm: left, top, right and bottom of the region in mm.
        to_mm: the map (2, 3) from the root's user units to mm, without a turn.

    Raises:
        RequestError: the region has no area.
        DrawingError: the drawing cannot be read.
    """
    left, top, right, bottom = box_mm
    if not (right > left and bottom > top):
        raise RequestError(f"the region from ({left}, {top}) to ({right}, {bottom}) mm has no area")
    root = parse_xml(svg, "the drawing")
    (x0, y0), (x1, y1) = apply(inverse(to_mm), np.array([[left, top], [right, bottom]])).tolist()
    root.set("viewBox", " ".join(decimal(value, 9) for value in (x0, y0, x1 - x0, y1 - y0)))
    root.set("width", decimal(right - left, 6) + "mm")
    root.set("height", decimal(bottom - top, 6) + "mm")
    if "preserveAspectRatio" in root.attrib:
        del root.attrib["preserveAspectRatio"]
    return etree.tostring(root.getroottree(), encoding="utf-8", xml_declaration=True)


def _set_size(root: etree._Element, width_px: int | None) -> None:
    """Give the root the picture's size in px; the renderer's own scaling would round the height twice."""
    if width_px is not None and width_px < 1:
        raise RequestError(f"a picture cannot be {width_px} px wide; give 1 or more")
    width, height = _size_px(root)
    scale = width_px / width if width_px is not None and width > 0.0 else 1.0
    if width * height * scale * scale > _MOST_PIXELS:
        raise RequestError(
            f"the picture would have {width * scale:.0f} × {height * scale:.0f} pixels; ask for a smaller width or "
            "a smaller region"
        )
    if width_px is not None:
        if root.get("viewBox") is None:
            root.set("viewBox", f"0 0 {decimal(width, 9)} {decimal(height, 9)}")
        root.set("width", str(width_px))
        root.set("height", decimal(height * scale, 9))


def _size_px(root: etree._Element) -> tuple[float, float]:
    """Width and height of a drawing in px, a share of its viewBox where it says no more."""
    text = root.get("viewBox")
    width, height = (svg_length(root.get(name, "100%")) for name in ("width", "height"))
    if text is None and "%" in (width.unit, height.unit):
        raise DrawingError("the drawing does not say how large it is; give it a width and a height, or a viewBox")
    box = read_view_box(text) if text is not None else (0.0, 0.0, 0.0, 0.0)
    return width.user(box[2]), height.user(box[3])


@functools.lru_cache(maxsize=1)
def _font() -> tuple[str | None, list[str]]:
    """The family and the file of a font of this machine, for texts whose own font is missing.

    The renderer knows `sans-serif` only as one named font, and leaves texts out where that is not installed.
    """
    files = [file for folder in _FONT_FOLDERS for file in _font_files(folder)]
    order = {name: rank for rank, name in enumerate(_FAVOURITES)}
    for file in sorted(files, key=lambda file: (order.get(file.name.lower(), len(order)), str(file))):
        family = _family(file)
        if family:
            return family, [str(file)]
    return None, []


def _font_files(folder: str) -> Iterator[Path]:
    path = Path(os.path.expandvars(folder)).expanduser()
    for file in path.rglob("*") if path.is_dir() else ():
        if file.suffix.lower() in (".ttf", ".otf"):
            yield file


def _family(file: Path) -> str | None:
    """The family's name in an OpenType file, or None where it cannot be read.

    https://learn.microsoft.com/en-us/typography/opentype/spec/name
    """
    try:
        data = file.read_bytes()
        count = struct.unpack_from(">H", data, 4)[0]
        tables = [struct.unpack_from(">4s4xII", data, 12 + 16 * i) for i in range(count)]
        start = next(offset for tag, offset, _ in tables if tag == b"name")
        count, strings = struct.unpack_from(">HH", data, start + 2)
        names: dict[int, str] = {}
        for i in range(count):
            platform, _, _, number, length, offset = struct.unpack_from(">6H", data, start + 6 + 12 * i)
            if platform == 3 and number in (1, 16):
                at = start + strings + offset
                names.setdefault(number, data[at : at + length].decode("utf-16-be"))
        # Number 16 is the name that holds all weights together, where number 1 cannot.
        return names.get(16) or names.get(1)
    except (OSError, struct.error, StopIteration, UnicodeError):
        return None
