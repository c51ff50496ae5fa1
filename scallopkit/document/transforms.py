"""Transform lists, transform origins and viewports as affine maps (https://www.w3.org/TR/SVG2/coords.html)."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from ..errors import DrawingError
from ..geometry.cubics import Array
from ..geometry.motion import IDENTITY, affine, compose, moved, scaled, turned
from .number_lists import NUMBER, SEPARATOR, SPACE, read_numbers
from .units import MM, RADIANS, SvgLength, svg_length

Size = tuple[float, float]
Box = tuple[float, float, float, float]

_FUNCTION = re.compile(rf"([A-Za-z]+){SPACE}\(([^()]*)\){SEPARATOR}")
_ARGUMENT = re.compile(rf"({NUMBER})([A-Za-z%°]*)")
_BETWEEN = re.compile(SEPARATOR)
# Name: the kinds of its arguments and how many may stand. n a number, l a length, a an angle.
_SHAPES = {
    "matrix": ("nnnnnn", (6,)),
    "translate": ("ll", (1, 2)),
    "translateX": ("l", (1,)),
    "translateY": ("l", (1,)),
    "scale": ("nn", (1, 2)),
    "scaleX": ("n", (1,)),
    "scaleY": ("n", (1,)),
    "rotate": ("all", (1, 3)),
    "skewX": ("a", (1,)),
    "skewY": ("a", (1,)),
    "skew": ("aa", (1, 2)),
}
_ALIGN = {"min": 0.0, "mid": 0.5, "max": 1.0}
_PRESERVE = re.compile(r"(?:defer\s+)?(none|x(min|mid|max)y(min|mid|max))(?:\s+(meet|slice))?", re.IGNORECASE)
_ORIGIN_WORDS = {"left": (0, "0%"), "right": (0, "100%"), "top": (1, "0%"), "bottom": (1, "100%")}


def read_transform(text: str) -> Array:
    """The map (2, 3) of a transform list; the leftmost function is the outermost.

    The attribute's own spelling and that of the CSS property (units px, mm, deg …) are read.

    Raises:
        DrawingError: a function is unknown, has a wrong number of arguments, or the list is broken.
    """
    text = text.strip()
    out = IDENTITY
    place = 0
    if text == "none":
        return out
    while place < len(text):
        match = _FUNCTION.match(text, place)
        if not match:
            raise DrawingError(f"the transform {text!r} cannot be read from {text[place : place + 20]!r} on")
        out = compose(out, _function(match[1], match[2], text))
        place = match.end()
    if text.endswith(","):
        raise DrawingError(f"the transform {text!r} ends with a comma")
    return out


def _function(name: str, arguments: str, text: str) -> Array:
    if name not in _SHAPES:
        raise DrawingError(f"the transform {text!r} has the unknown function {name!r}")
    kinds, counts = _SHAPES[name]
    parts = _ARGUMENT.split(arguments.strip())
    gaps = parts[::3]
    pairs = list(zip(parts[1::3], parts[2::3], strict=True))
    if gaps[0] or gaps[-1] or not all(_BETWEEN.fullmatch(g) for g in gaps) or len(pairs) not in counts:
        raise DrawingError(f"the arguments of {name}({arguments}) in the transform {text!r} are wrong")
    return _map(name, [_argument(k, n, u, text) for k, (n, u) in zip(kinds, pairs, strict=False)])


def _argument(kind: str, number: str, unit: str, text: str) -> float:
    value, unit = float(number), unit.lower()
    if not math.isfinite(value):
        raise DrawingError(f"{number} in the transform {text!r} is too large")
    if kind == "a" and unit in RADIANS:
        return value * RADIANS[unit]
    if kind == "l" and (not unit or unit in MM):
        return SvgLength(value, unit).user(0.0)
    if kind == "n" and not unit:
        return value
    raise DrawingError(f"{number}{unit} in the transform {text!r} has a unit that cannot be used there")


def _map(name: str, v: list[float]) -> Array:
    second = v[1] if len(v) > 1 else 0.0
    if name == "matrix":
        return affine(*v)
    if name == "rotate":
        return turned(v[0], (v[1], v[2]) if len(v) == 3 else (0.0, 0.0))
    if name.startswith("translate"):
        return moved(0.0, v[0]) if name.endswith("Y") else moved(v[0], second)
    if name == "scale":
        return scaled(v[0], v[-1])
    if name.startswith("scale"):
        return scaled(v[0], 1.0) if name.endswith("X") else scaled(1.0, v[0])
    if name == "skewY":
        return affine(1.0, math.tan(v[0]), 0.0, 1.0, 0.0, 0.0)
    return affine(1.0, math.tan(second), math.tan(v[0]), 1.0, 0.0, 0.0)


def element_map(properties: Mapping[str, str], viewport: Size) -> Array:
    """The map of one element from its `transform` and `transform-origin`; `viewport` is what shares in % are of.

    Raises:
        DrawingError: either cannot be read, or the origin hangs on the element's own box.
    """
    own = read_transform(properties.get("transform", ""))
    text = properties.get("transform-origin", "").strip()
    if not text or own is IDENTITY:
        return own
    if properties.get("transform-box", "view-box") != "view-box":
        raise DrawingError("its transform-box is not view-box; apply the transform in the editor")
    x, y = _origin(text, viewport)
    return compose(compose(moved(x, y), own), moved(-x, -y))


def stretches(motion: Array) -> tuple[float, float]:
    """The largest and the smallest factor by which a map changes lengths (its singular values).

    From the parts of the map that turn and that mirror: https://en.wikipedia.org/wiki/Singular_value_decomposition
    """
    (a, c), (b, d) = motion[:, :2].tolist()
    turning, mirroring = math.hypot(a + d, b - c) / 2.0, math.hypot(a - d, b + c) / 2.0
    return turning + mirroring, abs(turning - mirroring)


def _origin(text: str, viewport: Size) -> tuple[float, float]:
    words = text.replace(",", " ").lower().split()
    if not 1 <= len(words) <= 3:
        raise DrawingError(f"the transform-origin {text!r} cannot be read")
    places: list[str | None] = [None, None]
    loose: list[str] = []
    for word in words[:2]:
        if word in _ORIGIN_WORDS:
            axis, share = _ORIGIN_WORDS[word]
            places[axis] = share
        else:
            loose.append("50%" if word == "center" else word)
    for word in loose:
        places[0 if places[0] is None else 1] = word
    x, y = (svg_length(p or "50%").user(whole) for p, whole in zip(places, viewport, strict=True))
    return x, y


def read_view_box(text: str) -> Box:
    """The four numbers of a viewBox.

    Raises:
        DrawingError: it does not hold four numbers, or its width or height is zero or less.
    """
    values, fault = read_numbers(text)
    if fault is not None or len(values) != 4 or not all(map(math.isfinite, values)):
        raise DrawingError(f"the viewBox {text!r} does not hold four numbers")
    x, y, width, height = values
    if width <= 0.0 or height <= 0.0:
        raise DrawingError(f"the viewBox {text!r} has no width or height")
    return x, y, width, height


def viewport_map(width: float, height: float, view_box: Box | None, preserve: str | None) -> Array:
    """The map from the units of a viewBox to those of width and height (px or mm).

    `preserve` is the text of preserveAspectRatio. Without a viewBox the map is the identity. Formulas:
    https://www.w3.org/TR/SVG2/coords.html#ComputingAViewportsTransform

    Raises:
        DrawingError: `preserve` cannot be read.
    """
    if view_box is None:
        return IDENTITY
    x, y, w, h = view_box
    match = _PRESERVE.fullmatch((preserve or "xMidYMid").strip())
    if not match:
        raise DrawingError(f"preserveAspectRatio={preserve!r} cannot be read")
    sx, sy = width / w, height / h
    if match[2] is None:
        return affine(sx, 0.0, 0.0, sy, -x * sx, -y * sy)
    scale = max(sx, sy) if (match[4] or "").lower() == "slice" else min(sx, sy)
    left = _ALIGN[match[2].lower()] * (width - w * scale)
    top = _ALIGN[match[3].lower()] * (height - h * scale)
    return affine(scale, 0.0, 0.0, scale, left - x * scale, top - y * scale)
